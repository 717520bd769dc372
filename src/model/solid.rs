//! Arm and shapes as geometry: the joints as a chain, shapes as bodies on its carriers.
//!
//! Invariant: what comes out covers what was written. Whole micrometres stay as they are; what cannot be halved or turned
//! exactly is grown, never shrunk.

use super::arm::{Arm, Axis};
use super::cell;
use super::shape::Shape;
use super::{JointId, LinkId};
use crate::geometry::body::Body;
use crate::geometry::chain::{Chain, Hinge, Mount};
use crate::geometry::solid::Solid;
use crate::geometry::{Fault, Frame};
use crate::units::{Angle, Length};

/// The joints of an arm that stands at `mount`, or at the origin. Refused where a joint has no mounting.
pub fn chain(arm: &Arm, mount: Option<&cell::Mount>) -> Result<Chain, Fault> {
    let hinge = |joint: &super::arm::Joint| {
        let mounting = joint.mounting.as_ref().ok_or(Fault::Missing("the mounting of a joint"))?;
        Ok(Hinge { axis: direction(mounting.axis.value), origin: um(mounting.origin), turn: mdeg(mounting.turn) })
    };
    let mount = mount.map(|m| Mount { position: um(m.position), turn: [0, 0, m.heading.0] });
    Chain::new(mount.unwrap_or_default(), arm.joints.iter().map(hinge).collect::<Result<_, _>>()?)
}

/// What a link is carried by: 0 is the cell, k + 1 what moves with joint k.
pub fn carrier(arm: &Arm, link: LinkId) -> usize {
    arm.link(link).joint.map_or(0, |j| j.at() + 1)
}

/// The joint that carries jaw, tools and held loads.
pub fn last_joint(arm: &Arm) -> Option<JointId> {
    arm.joints.len().checked_sub(1).and_then(|j| u16::try_from(j).ok()).map(JointId)
}

/// Shapes as bodies of one carrier, in its coordinates: all convex ones together, and one for each closed mesh. Refused where a
/// mesh file was not read.
pub fn bodies(shapes: &[Shape], carrier: usize) -> Result<Vec<Body>, Fault> {
    let (mut parts, mut bodies) = (Vec::new(), Vec::new());
    for shape in shapes {
        match shape {
            Shape::Mesh(file) => {
                let mesh = file.mesh.as_ref().ok_or(Fault::Missing("the content of a mesh file"))?;
                bodies.push(mesh.surface(carrier, &Frame::IDENTITY)?);
            }
            other => parts.push(convex(other)?),
        }
    }
    if !parts.is_empty() {
        bodies.insert(0, Body::new(carrier, parts));
    }
    Ok(bodies)
}

/// A shape that is convex by itself.
pub(super) fn convex(shape: &Shape) -> Result<Solid, Fault> {
    match shape {
        Shape::Capsule { from, to, radius } => Solid::round(vec![um(*from), um(*to)], radius.0),
        Shape::Sphere { centre, radius } => Solid::round(vec![um(*centre)], radius.0),
        Shape::Cylinder { from, to, radius } => Solid::cylinder(um(*from), um(*to), radius.0),
        Shape::HalfSpace { point, normal } => Solid::half_space(um(*point), direction(*normal)),
        Shape::Box { centre, size, turn } => {
            let (centre, half) = (um(*centre), size.map(|s| (s.0 + 1).div_euclid(2)));
            if *turn == [Angle::ZERO; 3] {
                let corner = |i: usize| [0, 1, 2].map(|k| if i >> k & 1 == 0 { centre[k] - half[k] } else { centre[k] + half[k] });
                return Solid::round((0..8).map(corner).collect(), 0);
            }
            Solid::cuboid(half, &Frame::of(centre, mdeg(*turn)))
        }
        Shape::Hull(file) => {
            let mesh = file.mesh.as_ref().ok_or(Fault::Missing("the content of a mesh file"))?;
            Solid::round(mesh.vertices.clone(), 0)
        }
        Shape::Mesh(_) => Err(Fault::Degenerate("a closed mesh is not convex by itself")),
    }
}

/// A point in micrometres.
pub fn um(point: [Length; 3]) -> [i64; 3] {
    point.map(|c| c.0)
}

fn mdeg(turn: [Angle; 3]) -> [i64; 3] {
    turn.map(|a| a.0)
}

/// An axis as a direction of whole numbers.
pub fn direction(axis: Axis) -> [i64; 3] {
    let mut direction = [0; 3];
    direction[usize::from(axis.index.min(2))] = if axis.negative { -1 } else { 1 };
    direction
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Vec3;

    fn mm(point: [i64; 3]) -> [Length; 3] {
        point.map(|c| Length(c * 1000))
    }

    #[test]
    fn a_box_keeps_its_corners_and_a_turned_one_covers_them() {
        let plain = Shape::Box { centre: mm([10, 0, 0]), size: [Length(3), Length(2000), Length(2000)], turn: [Angle::ZERO; 3] };
        let solid = convex(&plain).unwrap_or_else(|e| panic!("{e}"));
        let xs: Vec<i64> = solid.points().iter().map(|p| p[0]).collect();
        // 3 um cannot be halved: outward, 2 um on either side.
        assert_eq!((xs.iter().min(), xs.iter().max(), solid.radius()), (Some(&9998), Some(&10_002), 0));
        // Turned by 90 deg about z the long side lies along y. Worked by hand.
        let turned = Shape::Box { centre: mm([0, 0, 0]), size: mm([400, 20, 20]), turn: [Angle::ZERO, Angle::ZERO, Angle(90_000)] };
        let solid = convex(&turned).unwrap_or_else(|e| panic!("{e}"));
        assert!((solid.support(Vec3::Y) - 0.2).abs() < 3e-6 && solid.support(Vec3::Y) >= 0.2);
        assert!((solid.support(Vec3::X) - 0.01).abs() < 3e-6 && solid.support(Vec3::X) >= 0.01);
    }

    #[test]
    fn shapes_of_one_carrier_are_one_body_and_an_unread_mesh_is_none() {
        let ball = |x| Shape::Sphere { centre: mm([x, 0, 0]), radius: Length(5000) };
        let made = bodies(&[ball(0), ball(20)], 2).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(made.iter().map(|b| (b.carrier, b.parts.len(), b.closed_mesh)).collect::<Vec<_>>(), [(2, 2, false)]);
        assert_eq!(bodies(&[], 0).map(|b| b.len()), Ok(0));
    }
}
