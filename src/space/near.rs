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
    /// All that moves keeps apart.
    Apart {
        /// At least this far, in micrometres.
        least: i64,
        /// The two that come nearest, the one that moves first, and the angles at which they do, where they were found.
        place: Option<Place>,
        /// Two that may touch, and come so near that they could, are left out.
        but_touching: bool,
    },
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
            Near::Apart { least, .. } => *least,
            Near::Close(distance, _) => distance.saturating_sub(i64::MAX / 2),
        }
    }

    /// The two, and where.
    pub fn place(&self) -> Option<&Place> {
        match self {
            Near::Nothing => None,
            Near::Apart { place, .. } => place.as_ref(),
            Near::Close(_, place) => Some(place),
        }
    }
}

/// The nearest of those that the stretch moves against each other: a load in the jaw stays where it is to the wrist, however
/// near. Links among themselves are left out: at a joint they are always near, and that would hide everything else. So are the pairs
/// that are `touching`, and links that the motion keeps as far off as they are, unless there are no others; of others that may touch
/// near a station it is told how near they come there too.
pub(super) fn near(scene: &Scene, stretch: &Stretch, touching: &[(usize, usize)]) -> Near {
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
    let mut pairs: Vec<Pair> = answer.pairs.iter().filter(|p| moved(p)).cloned().collect();
    let all = pairs.len();
    pairs.retain(|p| !touching.contains(&(p.a, p.b)));
    let but_touching = pairs.len() < all || stretch.contacts.iter().any(|c| c.around.is_none());
    pairs.iter_mut().for_each(|p| p.zones.clear());
    let (kept, changing): (Vec<Pair>, Vec<Pair>) = pairs.into_iter().partition(|p| keeps(scene, stretch, p));
    let pairs = if changing.is_empty() { kept } else { changing };
    if pairs.is_empty() {
        return Near::Nothing;
    }
    let found = answer.clearance_of(scene, &pairs);
    let place = found.at.and_then(|(pair, angles)| Some((of(pairs.get(pair)?), angles)));
    Near::Apart { least: found.lower, place, but_touching }
}

/// The pairs that may touch near a station and do not keep their margin there.
pub(super) fn touching(scene: &Scene, stretch: &Stretch) -> Vec<(usize, usize)> {
    let answer = &stretch.answer;
    let meets = |pair: &Pair| answer.clearance_of(scene, &[Pair { zones: Vec::new(), ..pair.clone() }]).lower < pair.margin;
    answer.pairs.iter().filter(|p| !p.zones.is_empty() && meets(p)).map(|p| (p.a, p.b)).collect()
}

/// What two directions may be apart and be called one, rad.
const PARALLEL: f64 = 1e-9;

/// Whether a motion leaves a link of the arm as far from a body as it is: the joint at the mount alone turns, and about an axis that
/// stands upright on all that the body is, as on a floor. How low jaw and load hang is told in a turn as well.
fn keeps(scene: &Scene, stretch: &Stretch, pair: &Pair) -> bool {
    let (stands, other) = if scene.things[pair.a].carrier == 0 { (pair.a, pair.b) } else { (pair.b, pair.a) };
    if stretch.leg.moving != [JointId(0)] || scene.things[stands].carrier != 0 || !matches!(scene.things[other].what, What::Link(_)) {
        return false;
    }
    let parts = &scene.solids.bodies()[stands].parts;
    if parts.is_empty() || !parts.iter().all(Solid::is_half_space) {
        return false;
    }
    let angles: Vec<i64> = stretch.leg.start.iter().map(|a| a.0).collect();
    let placed = scene.chain().place_exact(&angles);
    placed.axes.first().is_some_and(|axis| parts.iter().all(|p| p.direction().cross(axis.direction).length() < PARALLEL))
}
