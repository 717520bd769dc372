//! Zones that are to be crossed slowly: which of them a motion can come into.

use super::leg::Leg;
use super::scene::Scene;
use crate::geometry::Fault;
use crate::geometry::sweep::{Need, Pair, Question, Verdict};
use crate::model::ObstacleId;
use crate::model::cell::Cell;
use crate::model::procedure::{Drive, Goal, Pace, Step};
use crate::trace::state::State;

/// The most evaluations of one motion.
const CAP: u64 = 20_000;

/// What of a motion may come into a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Crossing {
    /// What moves, by its place in the scene.
    pub thing: usize,
    /// The zone.
    pub zone: ObstacleId,
}

/// Whether every joint that a step drives goes slowly: written so, or tapped, or watched until a cue.
pub fn is_slow(step: &Step) -> bool {
    let slow = |drive: &Drive| match drive.goal {
        Goal::To { pace, .. } => matches!(pace, Pace::Slow | Pace::Inch),
        Goal::By { .. } => false,
        Goal::Until { .. } | Goal::Taps { .. } => true,
    };
    step.drives().into_iter().all(slow)
}

/// The first that is not certain to stay outside; none if all that the motion moves does. What stands still in a zone crosses
/// nothing.
pub(super) fn crossing(scene: &Scene, cell: &Cell, state: &State, leg: &Leg, present: &[usize]) -> Result<Option<Crossing>, Fault> {
    let Some(zones) = &scene.zones else { return Ok(None) };
    let inner = leg.moved();
    let moved: Vec<usize> = present.iter().copied().filter(|i| scene.things[*i].carrier >= inner).collect();
    let joints: Vec<usize> = (0..scene.chain().joints()).collect();
    for (n, (zone, _)) in scene.slow.iter().enumerate().filter(|(_, (zone, _))| super::scene::stands(cell, *zone, state)) {
        let pairs: Vec<Pair> = moved.iter().map(|i| zones.pair(*i, scene.things.len() + n, 0)).collect();
        let (region, need) = (leg.region.as_ref(), Need::Verdict);
        let question = Question { pairs: &pairs, root: leg.root.clone(), splittable: &joints, region, cap: CAP, need };
        match zones.judge(&question)? {
            Verdict::Clear(_) => {}
            Verdict::Near(w) | Verdict::Open(w) => {
                // The cell's body stands first in a pair.
                return Ok(pairs.get(w.pair).map(|pair| Crossing { thing: pair.b, zone: *zone }));
            }
        }
    }
    Ok(None)
}
