//! Shapes of links, tools, loads and obstacles, as the model files give them.

use super::arm::Axis;
use super::keys::{SHAPE, key};
use super::mesh::MeshFile;
use super::read::{Read, wanted};
use super::rules::{FLAT_SHAPE, IMPOSSIBLE_VALUE};
use super::solid::convex;
use crate::geometry::Fault;
use crate::syntax::record::Record;
use crate::units::{Angle, Dimension, Length, Round};

/// Three turns in order about the fixed axes x, y and z.
pub type Turn = [Angle; 3];

/// A shape in a local frame. Sizes are full sizes.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// All points within `radius` of the segment.
    Capsule {
        /// One end.
        from: [Length; 3],
        /// The other.
        to: [Length; 3],
        /// Radius.
        radius: Length,
    },
    /// A box.
    Box {
        /// Centre.
        centre: [Length; 3],
        /// Full sizes.
        size: [Length; 3],
        /// How it is turned about its centre.
        turn: Turn,
    },
    /// A cylinder with flat ends.
    Cylinder {
        /// Centre of one end.
        from: [Length; 3],
        /// Centre of the other.
        to: [Length; 3],
        /// Radius.
        radius: Length,
    },
    /// A sphere.
    Sphere {
        /// Centre.
        centre: [Length; 3],
        /// Radius.
        radius: Length,
    },
    /// Everything on the side the normal does not point to.
    HalfSpace {
        /// A point of the plane.
        point: [Length; 3],
        /// The outward normal.
        normal: Axis,
    },
    /// The convex hull of the corners in a mesh file.
    Hull(MeshFile),
    /// What a closed mesh encloses.
    Mesh(MeshFile),
}

/// The mesh files that shapes name.
pub(super) fn mesh_files(shapes: &mut [Shape]) -> impl Iterator<Item = &mut MeshFile> {
    shapes.iter_mut().filter_map(|s| match s {
        Shape::Hull(file) | Shape::Mesh(file) => Some(file),
        _ => None,
    })
}

#[derive(Clone, Copy)]
enum Kind {
    Capsule,
    Box,
    Cylinder,
    Sphere,
    HalfSpace,
    Hull,
    Mesh,
}

/// Reads one shape, and refuses one that geometry cannot bear.
pub(super) fn shape(r: &Record<'_>) -> Option<Shape> {
    let shape = read(r)?;
    let judged = !matches!(shape, Shape::Hull(_) | Shape::Mesh(_));
    if judged && let Err(Fault::OutOfRange(what)) = convex(&shape) {
        r.report(IMPOSSIBLE_VALUE.at(r.span(), format!("{what} lies more than 1 km away")));
    }
    Some(shape)
}

fn read(r: &Record<'_>) -> Option<Shape> {
    let kinds = [Kind::Capsule, Kind::Box, Kind::Cylinder, Kind::Sphere, Kind::HalfSpace, Kind::Hull, Kind::Mesh];
    let Some(kind) = r.word(key!(SHAPE, "kind"), &kinds) else {
        // Which other keys belong to it cannot be known.
        SHAPE.keys.iter().for_each(|k| _ = r.key(k.name));
        return None;
    };
    let point = |key| wanted(r, key).then(|| r.point(key)).flatten();
    let radius = || r.wanted::<Length>(key!(SHAPE, "radius")).map(|l| l.value);
    Some(match kind.value {
        Kind::Capsule | Kind::Cylinder => {
            let (from, to, radius) = (point(key!(SHAPE, "from")), point(key!(SHAPE, "to")), radius());
            let (from, to, radius) = (from?, to?, radius?);
            if from == to {
                let here = r.key("to").span().unwrap_or(r.span());
                r.report(FLAT_SHAPE.at(here, "`from` and `to` of the shape are the same point").help("a round thing is a sphere"));
            }
            match kind.value {
                Kind::Capsule => Shape::Capsule { from, to, radius },
                _ => Shape::Cylinder { from, to, radius },
            }
        }
        Kind::Box => {
            let (centre, turn) = (point(key!(SHAPE, "centre")), r.turn(key!(SHAPE, "turn")));
            let size = r.key(key!(SHAPE, "size").name).needed();
            let here = size.span();
            let size = size.quantities::<3>(Dimension::Length)?.map(|q| Length(q.value.base(Round::Up)));
            if let Some(here) = here.filter(|_| size.iter().any(|s| *s <= Length::ZERO)) {
                r.report(FLAT_SHAPE.at(here, "a size of the box is not above zero").help("`size` gives the full sizes along x, y and z"));
            }
            Shape::Box { centre: centre?, size, turn }
        }
        Kind::Sphere => {
            let (centre, radius) = (point(key!(SHAPE, "centre")), radius());
            Shape::Sphere { centre: centre?, radius: radius? }
        }
        Kind::HalfSpace => {
            let point = point(key!(SHAPE, "point"));
            let normal = wanted(r, key!(SHAPE, "normal")).then(|| r.axis(key!(SHAPE, "normal"))).flatten();
            Shape::HalfSpace { point: point?, normal: normal?.value }
        }
        Kind::Hull => Shape::Hull(MeshFile::read(r, false)?),
        Kind::Mesh => Shape::Mesh(MeshFile::read(r, true)?),
    })
}
