//! Nearest points of two convex sets, by the library's Gilbert–Johnson–Keerthi routine.
//!
//! Invariant: what comes back is a hint. A direction found here is judged by support functions elsewhere, and a pair of
//! points is one of each set, so that their distance is never below the true one: a wrong answer can cost a verdict, not
//! make one.

use super::Vec3;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::gjk::{CsoPoint, GJKResult, VoronoiSimplex, closest_points};
use parry3d_f64::shape::SupportMap;

/// The library's tolerances suit lengths of about one: it is asked in millimetres.
const SCALE: f64 = 1000.0;

/// A convex set in the cell's coordinates: the hull of points, or a flat-ended cylinder about two of them.
pub(super) struct Core<'a> {
    /// Metres.
    pub(super) points: &'a [Vec3],
    /// Unit axis and radius in metres.
    pub(super) cylinder: Option<(Vec3, f64)>,
}

impl Core<'_> {
    fn middle(&self) -> Vec3 {
        self.points.iter().sum::<Vec3>() / self.points.len().max(1) as f64
    }
}

impl SupportMap for Core<'_> {
    fn local_support_point(&self, toward: Vector) -> Vector {
        let (mut best, mut most) = (Vec3::ZERO, f64::NEG_INFINITY);
        for p in self.points {
            let along = p.dot(toward);
            if along > most {
                (best, most) = (*p, along);
            }
        }
        if let Some((axis, radius)) = self.cylinder {
            let across = toward - axis * toward.dot(axis);
            let length = across.dot(across).sqrt();
            if length > 1e-12 {
                best += across * (radius / length);
            }
        }
        best * SCALE
    }
}

/// A point of `a`, a point of `b`, and the unit direction from the one of `b` to that of `a`, where it is known.
#[derive(Clone, Copy, Debug)]
pub(super) struct Nearest {
    pub(super) a: Vec3,
    pub(super) b: Vec3,
    pub(super) direction: Option<Vec3>,
}

/// Nearly nearest points; `None` where the routine did not come to an end.
pub(super) fn nearest(a: &Core<'_>, b: &Core<'_>) -> Option<Nearest> {
    let first = b.middle() - a.middle();
    let toward = if first.dot(first) > 1e-18 { first } else { Vec3::X };
    let mut simplex = VoronoiSimplex::new();
    simplex.reset(CsoPoint::new(a.local_support_point(toward), b.local_support_point(-toward)));
    match closest_points(&Pose::IDENTITY, a, b, f64::MAX, true, &mut simplex) {
        GJKResult::ClosestPoints(on_a, on_b, away) => {
            let (on_a, on_b) = (on_a / SCALE, on_b / SCALE);
            if !on_a.is_finite() || !on_b.is_finite() {
                return None;
            }
            let apart = on_a - on_b;
            let length = apart.dot(apart).sqrt();
            // Where the points nearly coincide, the routine's own last direction is the better one.
            let direction = if length > 1e-7 { Some(apart / length) } else { Some(-away).filter(|d| d.is_finite()) };
            Some(Nearest { a: on_a, b: on_b, direction })
        }
        GJKResult::Intersection => common(&simplex),
        GJKResult::Proximity(_) | GJKResult::NoIntersection(_) => None,
    }
}

/// One point of each set that nearly coincide, from the simplex that holds the origin.
fn common(simplex: &VoronoiSimplex) -> Option<Nearest> {
    let n = simplex.dimension() + 1;
    let corner = |i: usize| simplex.point(i);
    let share = match n {
        1 => [1.0, 0.0, 0.0, 0.0],
        4 => {
            let [p, q, r, s] = [0, 1, 2, 3].map(|i| corner(i).point);
            let volume = |a: Vec3, b: Vec3, c: Vec3| a.dot(b.cross(c));
            let parts = [volume(q, r, s), -volume(p, r, s), volume(p, q, s), -volume(p, q, r)];
            let sum: f64 = parts.iter().sum();
            parts.map(|v| v / sum)
        }
        // A flat simplex that passes through the origin: the coordinates of its last projection.
        _ => {
            let mut share = [0.0; 4];
            (0..n).for_each(|i| share[i] = simplex.proj_coord(i));
            share
        }
    };
    if share.iter().any(|s| !s.is_finite() || *s < 0.0) || (share.iter().sum::<f64>() - 1.0).abs() > 1e-12 {
        return None;
    }
    let mix = |of: fn(&CsoPoint) -> Vector| (0..n).map(|i| of(corner(i)) * share[i]).sum::<Vec3>() / SCALE;
    Some(Nearest { a: mix(|c| c.orig1), b: mix(|c| c.orig2), direction: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hull(points: &[[f64; 3]]) -> Vec<Vec3> {
        points.iter().map(|p| Vec3::from_array(*p)).collect()
    }

    #[test]
    fn segments_and_cylinders_have_their_textbook_distance() {
        let (a, b) = (hull(&[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]), hull(&[[0.5, -1.0, 0.3], [0.5, 1.0, 0.3]]));
        let found = nearest(&Core { points: &a, cylinder: None }, &Core { points: &b, cylinder: None }).unwrap();
        assert!(((found.a - found.b).length() - 0.3).abs() < 1e-9);
        assert!((found.direction.unwrap() - Vec3::new(0.0, 0.0, -1.0)).length() < 1e-6);
        // The rim of a cylinder of radius 0.1 along x, against a point off its end: 0.2 ahead and 0.4 - 0.1 aside.
        let point = hull(&[[1.2, 0.4, 0.0]]);
        let found = nearest(&Core { points: &a, cylinder: Some((Vec3::X, 0.1)) }, &Core { points: &point, cylinder: None }).unwrap();
        assert!(((found.a - found.b).length() - (0.2_f64 * 0.2 + 0.3 * 0.3).sqrt()).abs() < 1e-6);
    }

    #[test]
    fn sets_that_meet_give_a_point_they_share() {
        let a = hull(&[[-1.0, -1.0, -1.0], [1.0, -1.0, -1.0], [0.0, 1.0, -1.0], [0.0, 0.0, 1.0]]);
        for at in [[0.0, 0.0, 0.0], [0.3, -0.2, -0.1], [0.0, 0.0, -0.9]] {
            let b: Vec<Vec3> = a.iter().map(|p| *p * 0.05 + Vec3::from_array(at)).collect();
            let found = nearest(&Core { points: &a, cylinder: None }, &Core { points: &b, cylinder: None }).unwrap();
            assert!((found.a - found.b).length() < 1e-9, "{at:?}");
        }
    }
}
