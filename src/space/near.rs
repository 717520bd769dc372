//! What comes nearest to what in a stretch of motion, for print: of all pairs that the motion moves against each other, the
//! links of the arm among themselves left out.

use super::Stretch;
use super::scene::{Scene, What};
use crate::geometry::solid::Solid;
use crate::geometry::sweep::Pair;
use crate::model::JointId;

/// What comes nearest to what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Near {
    /// Nothing has to keep apart.
    Nothing,
    /// All that moves keeps at least this far apart, in micrometres; the two that come nearest, the one that moves first, and
    /// the angles at which they do, where they were found.
    Apart(i64, Option<Place>),
    /// These two come as near as this, or it could not be decided whether they do.
    Close(i64, Place),
}

/// Two bodies and the angles of the joints.
pub type Place = ((usize, usize), Vec<i64>);

impl Near {
    /// How near anything comes, in micrometres; where no certificate stands, less than any other.
    pub fn room(&self) -> i64 {
        match self {
            Near::Nothing => i64::MAX,
            Near::Apart(lower, _) => *lower,
            Near::Close(distance, _) => distance.saturating_sub(i64::MAX / 2),
        }
    }

    /// The two, and where.
    pub fn place(&self) -> Option<&Place> {
        match self {
            Near::Nothing => None,
            Near::Apart(_, place) => place.as_ref(),
            Near::Close(_, place) => Some(place),
        }
    }
}

/// The nearest of those that the stretch moves against each other: a load in the jaw stays where it is to the wrist, however
/// near. Links among themselves are left out: at a joint they are always near, and that would hide everything else. So are pairs
/// that the motion brings neither nearer nor farther, unless there are no others.
pub(super) fn near(scene: &Scene, stretch: &Stretch) -> Near {
    let answer = &stretch.answer;
    let carrier = |i: usize| scene.things[i].carrier;
    let is_link = |i: usize| matches!(scene.things[i].what, What::Link(_));
    let of = |pair: &Pair| if carrier(pair.a) >= carrier(pair.b) { (pair.a, pair.b) } else { (pair.b, pair.a) };
    let moved = |pair: &Pair| {
        let (outer, inner) = (carrier(pair.a).max(carrier(pair.b)), carrier(pair.a).min(carrier(pair.b)));
        !(is_link(pair.a) && is_link(pair.b)) && stretch.leg.moving.iter().any(|j| (inner + 1..=outer).contains(&(j.at() + 1)))
    };
    if answer.pairs.is_empty() {
        return Near::Nothing;
    }
    if !answer.is_clear() {
        let outer_first = |(a, b): (usize, usize)| if carrier(a) >= carrier(b) { (a, b) } else { (b, a) };
        return answer.nearest(scene).map_or(Near::Nothing, |n| Near::Close(n.distance, (outer_first(n.pair), n.angles)));
    }
    let all: Vec<Pair> = answer.pairs.iter().filter(|p| moved(p)).cloned().collect();
    if all.is_empty() {
        return Near::Nothing;
    }
    let changing: Vec<Pair> = all.iter().filter(|p| !keeps(scene, stretch, p)).cloned().collect();
    let pairs = if changing.is_empty() { all } else { changing };
    let found = answer.clearance_of(scene, &pairs);
    let place = found.at.and_then(|(pair, angles)| Some((of(pairs.get(pair)?), angles)));
    Near::Apart(found.lower, place)
}

/// What two directions may be apart and be called one, rad.
const PARALLEL: f64 = 1e-9;

/// Whether a motion leaves two bodies as far apart as they are: the joint at the mount alone turns, and about an axis that stands
/// upright on all that one of them is, as on a floor.
fn keeps(scene: &Scene, stretch: &Stretch, pair: &Pair) -> bool {
    if stretch.leg.moving != [JointId(0)] {
        return false;
    }
    let angles: Vec<i64> = stretch.leg.start.iter().map(|a| a.0).collect();
    let placed = scene.chain().place_exact(&angles);
    let Some(axis) = placed.axes.first() else { return false };
    let upright = |i: usize| {
        let parts = &scene.solids.bodies()[i].parts;
        let on = |p: &Solid| p.is_half_space() && p.direction().cross(axis.direction).length() < PARALLEL;
        scene.things[i].carrier == 0 && !parts.is_empty() && parts.iter().all(on)
    };
    upright(pair.a) || upright(pair.b)
}
