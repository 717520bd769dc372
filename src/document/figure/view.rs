//! Directions of sight, and the frame on paper that a view is drawn in.

use super::outline::Flat;
use super::scene::{Area, Point, thousandths};
use crate::geometry::Vec3;
use crate::geometry::solid::Solid;

/// A direction of sight: cell coordinates to what lies right, up and near. The three are square to each other and of length 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// What points to the right on paper.
    pub right: Vec3,
    /// What points up on paper.
    pub up: Vec3,
    /// What points to the viewer.
    pub near: Vec3,
}

impl View {
    /// From above: x to the right, y up, as the cell has them.
    pub const PLAN: View = View { right: Vec3::X, up: Vec3::Y, near: Vec3::Z };

    /// Level, with a direction of the floor (of length 1) to the right.
    pub fn level(right: [f64; 2]) -> View {
        View { right: Vec3::new(right[0], right[1], 0.0), up: Vec3::Z, near: Vec3::new(right[1], -right[0], 0.0) }
    }

    /// Where a place of the cell is seen.
    pub fn flat(&self, p: Vec3) -> Flat {
        (self.right.dot(p), self.up.dot(p))
    }

    /// What a solid takes up.
    pub(super) fn extent(&self, solid: &Solid) -> Extent {
        let [r, u, l, d] = [self.right, self.up, -self.right, -self.up].map(|n| solid.support(n));
        Extent { low: (-l, -d), high: (r, u) }
    }
}

/// Scales a drawing may have, 1 to so many: a decade of the preferred numbers R20 of ISO 3, as often as it is needed.
const SCALES: [f64; 20] = [1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5, 2.8, 3.15, 3.55, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0];

/// A stretch of the view, in metres, from its lower left to its upper right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extent {
    pub low: Flat,
    pub high: Flat,
}

impl Extent {
    /// Around some places; none for none.
    pub(super) fn around(points: impl IntoIterator<Item = Flat>) -> Option<Extent> {
        points.into_iter().fold(None, |e: Option<Extent>, p| {
            Some(e.map_or(Extent { low: p, high: p }, |e| Extent {
                low: (e.low.0.min(p.0), e.low.1.min(p.1)),
                high: (e.high.0.max(p.0), e.high.1.max(p.1)),
            }))
        })
    }

    /// With another.
    pub(super) fn and(self, other: Extent) -> Extent {
        Extent {
            low: (self.low.0.min(other.low.0), self.low.1.min(other.low.1)),
            high: (self.high.0.max(other.high.0), self.high.1.max(other.high.1)),
        }
    }

    /// The first scale at which it fits a sheet of this size in millimetres.
    pub(super) fn scale(self, width: f64, height: f64) -> f64 {
        let needed = ((self.high.0 - self.low.0) * 1000.0 / width).max((self.high.1 - self.low.1) * 1000.0 / height);
        let decades = [1.0, 10.0, 100.0, 1000.0].into_iter().flat_map(|d| SCALES.map(|s| s * d));
        decades.into_iter().find(|s| *s >= needed).unwrap_or(needed)
    }
}

/// Where a view lies on paper, and at which scale.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// Its edges on paper.
    pub area: Area,
    /// One metre of the cell, in millimetres on paper.
    pub metre: f64,
    /// What is seen in the middle.
    pub middle: Flat,
}

impl Frame {
    /// Where a place of the view stands on paper.
    pub(super) fn paper(&self, p: Flat) -> Point {
        let (x, y) = (f64::from(self.area.left + self.area.right) / 2000.0, f64::from(self.area.top + self.area.bottom) / 2000.0);
        Point { x: thousandths(x + (p.0 - self.middle.0) * self.metre), y: thousandths(y - (p.1 - self.middle.1) * self.metre) }
    }

    /// A length of the cell, on paper in millimetres.
    pub(super) fn millimetres(&self, metres: f64) -> f64 {
        metres * self.metre
    }
}
