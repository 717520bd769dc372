//! How long the arm can stay where a motion left it once power is lost, before it sinks onto something.
//!
//! Every joint that drifts without power goes the way its load draws it, each at its own rate and all at once, up to its
//! stop. The whole of what they can pass through is one box, which is looked at as a sweep is; so a time that is told is
//! certified, and the true one may be longer.

use super::burden::Burden;
use super::clearance::{Contact, Sweeper};
use super::leg::Leg;
use crate::geometry::Fault;
use crate::geometry::chain::JointBox;
use crate::geometry::statics::Droop;
use crate::model::JointId;
use crate::model::arm::{Arm, Travel};

/// The longest time that is looked at, in minutes.
pub const LONGEST: i64 = 120;

/// What happens after a loss of power.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sag {
    /// The joints that sink, and which way: true where the angle grows; none where it can be either.
    pub joints: Vec<(JointId, Option<bool>)>,
    /// Tenths of a minute for which nothing is met; [`LONGEST`] minutes at most.
    pub clear: i64,
    /// What meets then, or nearly: two bodies by their place in the scene. None if nothing does for as long as was looked.
    pub meets: Option<(usize, usize)>,
}

/// What the arm sinks onto from where a stretch left it; none where no joint drifts without power.
pub fn sag(
    sweeper: &Sweeper<'_>,
    arm: &Arm,
    (leg, rest): (&Leg, &JointBox),
    burden: &Burden,
    (present, contacts): (&[usize], &[Contact]),
) -> Result<Option<Sag>, Fault> {
    let sinks = |s: &super::burden::Strain| {
        let drift = arm.joint(s.joint).drift_unpowered.map(|d| d.value.0).filter(|d| *d > 0)?;
        let way = match s.droop {
            Droop::Stays => return None,
            Droop::Falls => Some(false),
            Droop::Grows => Some(true),
            Droop::Either => None,
        };
        Some((s.joint, way, drift))
    };
    let sinking: Vec<_> = burden.strains.iter().filter_map(sinks).collect();
    if sinking.is_empty() {
        return Ok(None);
    }
    let after = |tenths: i64| {
        let mut out = rest.clone();
        for (joint, way, drift) in &sinking {
            // Rounded up: a part of a thousandth counts as one.
            let by = (drift * tenths + 9).div_euclid(10);
            let [low, high] = &mut out.0[joint.at()];
            let (least, most) = match &arm.joint(*joint).travel {
                Travel::Stops { low, high } => (low.value.0, high.value.0),
                Travel::Turns { .. } => (i64::MIN, i64::MAX),
            };
            if *way != Some(true) {
                *low = (*low).min((*low - by).max(least));
            }
            if *way != Some(false) {
                *high = (*high).max((*high + by).min(most));
            }
        }
        out
    };
    let joints = sinking.iter().map(|(joint, way, _)| (*joint, *way)).collect();
    let meets = |tenths: i64| sweeper.meets(&Leg { root: after(tenths), region: None, ..leg.clone() }, present, contacts);
    let (mut clear, mut met) = (0, LONGEST * 10);
    let Some(mut pair) = meets(met)? else { return Ok(Some(Sag { joints, clear: met, meets: None })) };
    while met - clear > 1 {
        let middle = clear + (met - clear) / 2;
        match meets(middle)? {
            Some(found) => (met, pair) = (middle, found),
            None => clear = middle,
        }
    }
    Ok(Some(Sag { joints, clear, meets: Some(pair) }))
}
