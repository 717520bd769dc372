//! Pairs of the arm's own links that need no check, because they must touch.

use super::body::Body;
use super::chain::Chain;
use super::nearest::{Core, nearest};
use super::solid::{Form, Solid};
use super::{Fault, Vec3, micrometres};

/// Why a pair is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Both belong to the cell: they never move against each other.
    BothFixed,
    /// They are on one carrier, or on neighbours: the joint between them is where they meet.
    Adjacent,
    /// They share a point that lies on every axis between them, so that no turning takes them apart: micrometres in the
    /// coordinates of the inner carrier.
    SharedPoint([i64; 3]),
}

/// How near a point must be to an axis or a solid to count as on it, in metres: the rounding of coordinates.
const ON: f64 = 2e-6;

/// Why two links of the arm need no check against each other, if so. Loads and tools are not links.
pub fn reason(chain: &Chain, a: &Body, b: &Body) -> Result<Option<Reason>, Fault> {
    a.check(chain)?;
    b.check(chain)?;
    let (inner, outer) = if a.carrier <= b.carrier { (a, b) } else { (b, a) };
    if outer.carrier == 0 {
        return Ok(Some(Reason::BothFixed));
    }
    if outer.carrier - inner.carrier <= 1 {
        return Ok(Some(Reason::Adjacent));
    }
    // A point on all axes between stays where it is, whatever the angles: any one set of angles decides.
    let placed = chain.place_exact(&[]);
    let axes = &placed.axes[inner.carrier..outer.carrier];
    let off = |p: Vec3, k: usize| (p - axes[k].origin).cross(axes[k].direction).length();
    let mut points: Vec<Vec3> = axes.iter().map(|axis| axis.origin).collect();
    for pair in axes.windows(2) {
        // The point of the second axis that is nearest to the first.
        let (u, v, w) = (pair[0].direction, pair[1].direction, pair[0].origin - pair[1].origin);
        let across = 1.0 - u.dot(v) * u.dot(v);
        if across > 1e-9 {
            points.push(pair[1].origin + v * ((w.dot(v) - w.dot(u) * u.dot(v)) / across));
        }
    }
    let holds = |body: &Body, p: Vec3| {
        let local = placed.carriers[body.carrier].inverse().point(p);
        body.parts.iter().any(|part| within(part, local))
    };
    let shared = points.into_iter().find(|p| (0..axes.len()).all(|k| off(*p, k) < ON) && holds(inner, *p) && holds(outer, *p));
    let local = |p| micrometres(placed.carriers[inner.carrier].inverse().point(p), "a point that two links share");
    shared.map(|p| local(p).map(Reason::SharedPoint)).transpose()
}

fn within(part: &Solid, p: Vec3) -> bool {
    if part.is_half_space() {
        return part.direction().dot(p) <= part.support(part.direction()) + ON;
    }
    let (cylinder, radius) = match part.form() {
        Form::Cylinder => (Some((part.direction(), part.r())), 0.0),
        _ => (None, part.r()),
    };
    nearest(&Core { points: part.core(), cylinder }, &Core { points: &[p], cylinder: None })
        .is_some_and(|found| (found.a - found.b).length() <= radius + ON)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::chain::{Hinge, Mount};

    fn ball(carrier: usize, at: [i64; 3], radius: i64) -> Body {
        Body::new(carrier, vec![Solid::round(vec![at], radius).unwrap()])
    }

    #[test]
    fn links_that_meet_in_the_middle_of_a_wrist_are_left_out_and_others_are_not() {
        // Three axes through one point 1 m up, then a fourth joint 0.2 m on.
        let hinge = |axis, z| Hinge { axis, origin: [0, 0, z], turn: [0; 3] };
        let chain = Chain::new(
            Mount::default(),
            vec![hinge([0, 0, 1], 1_000_000), hinge([0, 1, 0], 0), hinge([0, 0, 1], 0), hinge([0, 1, 0], 200_000)],
        )
        .unwrap();
        let why = |a: &Body, b: &Body| reason(&chain, a, b).unwrap();
        let base = ball(0, [0, 0, 1_000_000], 50_000);
        assert_eq!(why(&base, &ball(0, [0; 3], 1)), Some(Reason::BothFixed));
        assert_eq!(why(&ball(3, [0; 3], 1), &ball(2, [0; 3], 1)), Some(Reason::Adjacent));
        assert_eq!(why(&base, &ball(3, [0; 3], 40_000)), Some(Reason::SharedPoint([0, 0, 1_000_000])));
        assert_eq!(why(&base, &ball(3, [0, 0, 60_000], 40_000)), None);
        assert_eq!(why(&base, &ball(4, [0, 0, -200_000], 40_000)), None);
    }
}
