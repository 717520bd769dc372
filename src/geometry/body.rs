//! A body: solids that one carrier moves together.

use super::Fault;
use super::chain::Chain;
use super::solid::Solid;

/// Solids on one carrier, in its coordinates; they may overlap.
#[derive(Clone, Debug)]
pub struct Body {
    /// 0 for the cell, k for what moves with joint k - 1.
    pub carrier: usize,
    /// Its convex parts.
    pub parts: Vec<Solid>,
    /// Whether the parts are the triangles of a closed surface, whose inside is solid too.
    pub closed_mesh: bool,
}

impl Body {
    /// A body of convex parts.
    #[must_use]
    pub fn new(carrier: usize, parts: Vec<Solid>) -> Body {
        Body { carrier, parts, closed_mesh: false }
    }

    /// Refuses a carrier that does not exist, a body without parts, a half-space that would move, and a mesh whose parts
    /// are not triangles.
    pub fn check(&self, chain: &Chain) -> Result<(), Fault> {
        if self.carrier > chain.joints() {
            return Err(Fault::Missing("the carrier of a body"));
        }
        if self.parts.is_empty() {
            return Err(Fault::Degenerate("a body needs a part"));
        }
        if self.carrier > 0 && self.parts.iter().any(Solid::is_half_space) {
            return Err(Fault::Degenerate("a half-space belongs to the cell and cannot be carried"));
        }
        let triangle = |s: &Solid| s.points().len() == 3 && s.form() == super::solid::Form::Round;
        if self.closed_mesh && !self.parts.iter().all(triangle) {
            return Err(Fault::Degenerate("a part of a mesh is not a triangle"));
        }
        Ok(())
    }
}
