//! How a load stands where it is taken, in its own coordinates: for those who draw it.

use super::{lie, upright};
use crate::geometry::solid::Solid;
use crate::geometry::{Fault, Vec3, unit};
use crate::model::LoadId;
use crate::model::procedure::Procedure;
use crate::model::solid::{bodies, direction};
use crate::space::scene::{Scene, What};

/// A load by itself, about the grip centre.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// Its shapes as declared, without what their seating can be off.
    pub solids: Vec<Solid>,
    /// Along its own x, level; along its own y where x stands upright. Of length one.
    pub ahead: Vec3,
    /// Plumb where it is taken.
    pub up: Vec3,
    /// The way on which the pads close, if the arm says it.
    pub closing: Option<Vec3>,
}

/// The first way in which a load is held; none if it never is.
pub fn taken(scene: &Scene, p: &Procedure, load: LoadId) -> Option<Result<Taken, Fault>> {
    let grip = scene.things.iter().find_map(|t| match &t.what {
        What::Held(grip) if grip.load == load => Some(grip),
        _ => None,
    })?;
    let up = upright(scene, grip);
    let own = if up.dot(Vec3::X).abs() < 0.9 { Vec3::X } else { Vec3::Y };
    let level = own - up * up.dot(own);
    let closing = p.arm.jaw.closing.map(|axis| unit(direction(axis.value))).transpose();
    let solids = bodies(&p.cell.loads[load.at()].shapes, 0).map(|all| all.into_iter().flat_map(|b| b.parts).collect());
    Some(solids.and_then(|solids| {
        Ok(Taken { solids, ahead: level / level.length(), up, closing: closing?.map(|axis| lie(scene, grip).transpose() * axis) })
    }))
}

impl Taken {
    /// Level, to the left of ahead as seen from above.
    pub fn across(&self) -> Vec3 {
        self.up.cross(self.ahead)
    }

    /// From where to where it reaches ahead, across and up, in whole micrometres from the grip centre; none if it has no end.
    pub fn extent(&self) -> Option<[[i64; 2]; 3]> {
        let most = |n: Vec3| self.solids.iter().map(|s| s.support(n)).fold(f64::NEG_INFINITY, f64::max);
        let reach = [self.ahead, self.across(), self.up].map(|n| [-most(-n), most(n)]);
        let whole = |metres: f64| (metres * 1e6).round() as i64;
        reach.iter().flatten().all(|m| m.is_finite()).then(|| reach.map(|r| r.map(whole)))
    }
}
