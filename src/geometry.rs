//! Where solids are while joints turn, and whether they stay apart: pure maths in metres and radians.
//!
//! Invariant: knows no procedure and no model. What enters a verdict is whole micrometres ([`Solid`](solid::Solid)) and
//! whole thousandths of a degree ([`JointBox`](chain::JointBox)), so that another program can judge the same question; floating
//! point is derived from those. No verdict depends on the order of a hash, on threads or on the platform's mathematics,
//! and no input makes it panic: what cannot be judged is refused as a [`Fault`].
//!
//! [`chain`] places carriers, [`solid`] and [`body`] say what they carry, [`mesh`] makes parts of triangles, [`apart`] names
//! the links that need no check, [`region`] is what a move of two joints may pass through, and [`sweep`] decides. [`statics`]
//! says what gravity asks of a joint, [`actuator`] what pressure that takes, [`grip`] what a jaw has to press with, each
//! over a box of angles, whose worst point [`worst`] finds and bounds. [`reach`] bounds where carried things are, how they are
//! turned, and when they come onto others. [`sight`] decides whether a point is seen, [`picture`] tells how its motion looks.

pub mod actuator;
pub mod apart;
pub mod body;
pub mod chain;
pub mod grip;
pub mod mesh;
mod nearest;
pub mod picture;
pub mod reach;
pub mod region;
pub mod sight;
pub mod solid;
pub mod statics;
pub mod sweep;
pub mod worst;

use parry3d_f64::glamx::{DMat3, DVec3};

/// A point or a direction, in metres.
pub type Vec3 = DVec3;

/// A rotation; its columns are the turned axes.
pub type Mat3 = DMat3;

/// The greatest coordinate of anything, in micrometres: 1 km. Beyond it the guard for rounding would not hold.
pub const FARTHEST: i64 = 1_000_000_000;

/// Why something cannot be judged.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// A coordinate, radius or angle that is not finite or beyond what arithmetic here bears.
    #[error("{0} is not a number within 1 km, or within a million turns")]
    OutOfRange(&'static str),
    /// A solid without extent where one is needed, such as a cylinder whose ends coincide.
    #[error("{0}")]
    Degenerate(&'static str),
    /// An index of a joint, body, part or carrier that does not exist.
    #[error("{0} does not exist")]
    Missing(&'static str),
    /// A mesh whose surface is not closed or whose triangles are not turned the same way, with the edge at fault.
    #[error("the surface of the mesh is not closed and consistently turned at the edge between vertex {0} and vertex {1}")]
    OpenMesh(u32, u32),
}

/// A place and a rotation: takes points from a carrier's coordinates to the cell's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// The rotation.
    pub turn: Mat3,
    /// Where the origin goes, in metres.
    pub at: Vec3,
}

impl Default for Frame {
    fn default() -> Frame {
        Frame::IDENTITY
    }
}

impl Frame {
    /// The cell itself.
    pub const IDENTITY: Frame = Frame { turn: Mat3::IDENTITY, at: Vec3::ZERO };

    /// Turned by three angles in thousandths of a degree about the fixed axes x, then y, then z, and put at micrometres.
    #[must_use]
    pub fn of(at: [i64; 3], turn: [i64; 3]) -> Frame {
        let [x, y, z] = turn.map(|a| crate::units::sin_cos(crate::units::Angle(a)));
        let about = |axis, (s, c)| rotation(axis, s, c);
        Frame { turn: about(Vec3::Z, z) * about(Vec3::Y, y) * about(Vec3::X, x), at: metres(at) }
    }

    /// A point of the carrier, in the cell.
    #[must_use]
    pub fn point(&self, p: Vec3) -> Vec3 {
        self.turn * p + self.at
    }

    /// A direction of the carrier, in the cell.
    #[must_use]
    pub fn direction(&self, d: Vec3) -> Vec3 {
        self.turn * d
    }

    /// This frame, then `inner` inside it.
    #[must_use]
    pub fn then(&self, inner: &Frame) -> Frame {
        Frame { turn: self.turn * inner.turn, at: self.point(inner.at) }
    }

    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Frame {
        let back = self.turn.transpose();
        Frame { turn: back, at: -(back * self.at) }
    }

    /// Whether every number in it is finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.turn.is_finite() && self.at.is_finite()
    }
}

/// The rotation about a unit axis by the angle whose sine and cosine are given (Rodrigues).
#[must_use]
pub fn rotation(axis: Vec3, sine: f64, cosine: f64) -> Mat3 {
    let (v, k) = (1.0 - cosine, axis);
    Mat3::from_cols(
        Vec3::new(cosine + v * k.x * k.x, v * k.x * k.y + sine * k.z, v * k.x * k.z - sine * k.y),
        Vec3::new(v * k.x * k.y - sine * k.z, cosine + v * k.y * k.y, v * k.y * k.z + sine * k.x),
        Vec3::new(v * k.x * k.z + sine * k.y, v * k.y * k.z - sine * k.x, cosine + v * k.z * k.z),
    )
}

/// Micrometres as metres.
#[must_use]
pub fn metres(um: [i64; 3]) -> Vec3 {
    let [x, y, z] = um.map(|c| c as f64 / 1e6);
    Vec3::new(x, y, z)
}

/// A direction of whole numbers as a unit vector: each component over the root of the sum of squares.
pub fn unit(direction: [i64; 3]) -> Result<Vec3, Fault> {
    let [x, y, z] = direction.map(|c| c as f64);
    let length = (x * x + y * y + z * z).sqrt();
    if length > 0.0 && direction.iter().all(|c| (-FARTHEST..=FARTHEST).contains(c)) {
        Ok(Vec3::new(x / length, y / length, z / length))
    } else {
        Err(Fault::Degenerate("a direction needs three whole numbers that are not all zero, at most a thousand million"))
    }
}

/// The nearest whole micrometres, at most 0.9 um away.
pub fn micrometres(p: Vec3, what: &'static str) -> Result<[i64; 3], Fault> {
    let um = p * 1e6;
    if !um.is_finite() || um.abs().max_element() > FARTHEST as f64 {
        return Err(Fault::OutOfRange(what));
    }
    Ok([um.x, um.y, um.z].map(|c| c.round() as i64))
}

fn within(um: &[i64; 3], what: &'static str) -> Result<(), Fault> {
    if um.iter().all(|c| (-FARTHEST..=FARTHEST).contains(c)) { Ok(()) } else { Err(Fault::OutOfRange(what)) }
}
