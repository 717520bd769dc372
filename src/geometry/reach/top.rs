//! How high a fixed solid stands under a point, seen along any direction.

use crate::geometry::Vec3;
use crate::geometry::solid::{Form, Solid};
use crate::units::trig;
use std::f64::consts::TAU;

/// The most points of a solid whose upper side is looked at.
const MOST_POINTS: usize = 48;

/// The upper side of a solid, seen along a direction: no higher than the solid itself anywhere.
pub(super) struct Top {
    /// Triangles of the upper side of a hull.
    faces: Vec<[Vec3; 3]>,
    more: f64,
    plane: Option<(Vec3, f64)>,
}

/// Three directions square to each other: aside, ahead, and the one that counts as up.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    pub(super) axes: [Vec3; 3],
}

impl View {
    /// Along `up`, of length one.
    pub(super) fn along(up: Vec3) -> View {
        let [a, b] = super::attitude::square(up);
        View { axes: [a, b, up] }
    }

    fn see(&self, p: Vec3) -> Vec3 {
        Vec3::new(self.axes[0].dot(p), self.axes[1].dot(p), self.axes[2].dot(p))
    }
}

impl Top {
    /// None where it is not known: a hull of very many points, a half-space that leans over.
    pub(super) fn of(solid: &Solid, view: &View) -> Option<Top> {
        if solid.is_half_space() {
            let normal = view.see(solid.direction());
            let level = solid.support(solid.direction());
            return (normal.z > 1e-6).then_some(Top { faces: Vec::new(), more: 0.0, plane: Some((normal, level)) });
        }
        let core: Vec<Vec3> = solid.core().iter().map(|p| view.see(*p)).collect();
        let r = solid.r();
        let (points, more) = match solid.form() {
            Form::Cylinder => {
                let [a, b] = super::attitude::square(solid.direction());
                (rims(solid.core(), |k| a * (r * trig::cos(k)) + b * (r * trig::sin(k)), view), 0.0)
            }
            _ if core.len() > 2 || r == 0.0 => (core, r),
            // A ball or a capsule: as far as points on its surface show it.
            _ => {
                let ring = rims(solid.core(), |k| view.axes[0] * (r * trig::cos(k)) + view.axes[1] * (r * trig::sin(k)), view);
                let half = std::f64::consts::FRAC_1_SQRT_2 * r;
                let high = |k| view.axes[0] * (half * trig::cos(k)) + view.axes[1] * (half * trig::sin(k)) + view.axes[2] * half;
                let tips = core.iter().map(|p| *p + Vec3::Z * r);
                (tips.chain(ring).chain(rims(solid.core(), high, view)).collect(), 0.0)
            }
        };
        (points.len() <= MOST_POINTS).then(|| Top { faces: upper(&points), more, plane: None })
    }

    /// The height at a place aside and ahead; none beside the solid.
    fn at(&self, x: f64, y: f64) -> Option<f64> {
        if let Some((n, level)) = self.plane {
            return Some((level - n.x * x - n.y * y) / n.z);
        }
        let mut most: Option<f64> = None;
        for [a, b, c] in &self.faces {
            let area = flat(*a, *b, *c);
            let u = ((x - a.x) * (c.y - a.y) - (c.x - a.x) * (y - a.y)) / area;
            let v = ((b.x - a.x) * (y - a.y) - (x - a.x) * (b.y - a.y)) / area;
            if u >= 0.0 && v >= 0.0 && u + v <= 1.0 {
                let z = a.z + u * (b.z - a.z) + v * (c.z - a.z);
                most = Some(most.map_or(z, |m| m.max(z)));
            }
        }
        most.map(|z| z + self.more)
    }

    /// The least and the greatest height at the corners of a rectangle; none if a corner is beside the solid. The upper side
    /// of a convex solid is nowhere in the rectangle lower than at a corner.
    pub(super) fn under(&self, x: [f64; 2], y: [f64; 2]) -> Option<[f64; 2]> {
        let mut out = [f64::INFINITY, f64::NEG_INFINITY];
        for (a, b) in [(x[0], y[0]), (x[0], y[1]), (x[1], y[0]), (x[1], y[1])] {
            let z = self.at(a, b)?;
            out = [out[0].min(z), out[1].max(z)];
        }
        Some(out)
    }
}

/// Eight points about each of the middles.
fn rims(middles: &[Vec3], out: impl Fn(f64) -> Vec3, view: &View) -> Vec<Vec3> {
    let around = |p: &Vec3| (0..8).map(|k| *p + out(TAU * f64::from(k) / 8.0)).collect::<Vec<_>>();
    middles.iter().flat_map(around).map(|p| view.see(p)).collect()
}

/// Twice the area of a triangle as seen from above.
fn flat(a: Vec3, b: Vec3, c: Vec3) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)
}

/// The triangles of points that no other point is above.
fn upper(points: &[Vec3]) -> Vec<[Vec3; 3]> {
    let mut out = Vec::new();
    for (i, a) in points.iter().enumerate() {
        for (j, b) in points.iter().enumerate().skip(i + 1) {
            for c in &points[j + 1..] {
                let area = flat(*a, *b, *c);
                if area.abs() < 1e-12 {
                    continue;
                }
                let normal = (*b - *a).cross(*c - *a) * area.signum();
                let level = 1e-9 * normal.dot(normal).sqrt();
                if points.iter().all(|p| normal.dot(*p - *a) <= level) {
                    out.push([*a, *b, *c]);
                }
            }
        }
    }
    out
}
