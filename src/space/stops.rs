//! What holds for a motion that is stopped part-way: whether it may go on from there, and whether it may go back.
//!
//! The box of a sweep takes in every angle between start and target, bands and drift included, so from wherever a motion is
//! stopped the rest of it lies in what was looked at: of one joint always, of two as long as the written order is kept, counted
//! from where the step started. The way back lies in it too, if the joint comes to rest within the band it started from; two
//! joints that keep an order come back in the opposite one. A push is taken to bring a joint at least to where it stood before it
//! drifted; less is no part of the way. What a touch changes is in no model, so after one nothing is said.
//!
//! Invariant: nothing is said of a stretch without a certificate, and each claim is about angles inside its box.

use super::leg::Leg;
use super::scene::Scene;
use super::{Contact, Stretch};
use crate::geometry::{metres, reach};
use crate::model::JointId;
use crate::model::arm::Arm;
use crate::model::procedure::{Drive, Effect, Step};
use crate::trace::state::State;

/// What holds once a motion is stopped between its start and its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stop {
    /// The rest of the motion was looked at.
    pub on: bool,
    /// Whether the way back was.
    pub back: Back,
    /// Either holds only as long as nothing has touched.
    pub untouched: bool,
}

/// Whether a motion may go back to where it started.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Back {
    /// Nothing was looked at.
    Not,
    /// It may.
    Free,
    /// It may, if this joint of the two comes back last.
    Last(JointId),
}

impl Stop {
    /// Stay and tell.
    pub const STAY: Stop = Stop { on: false, back: Back::Not, untouched: false };

    /// What holds from two states alike.
    #[must_use]
    pub fn and(self, other: Stop) -> Stop {
        let back = if self.back == other.back { self.back } else { Back::Not };
        Stop { on: self.on && other.on, back, untouched: self.untouched || other.untouched }
    }
}

/// Whether a step moves something that can be stopped part-way: a joint, or the jaw.
pub fn can_stop(step: &Step) -> bool {
    let moves =
        |e: Effect<'_>| matches!(e, Effect::Drive(_) | Effect::DriveTwo(_) | Effect::Jaw { .. } | Effect::Grip(_) | Effect::LetGo(..));
    step.effects().into_iter().any(moves)
}

/// What holds of a stretch from a state of its step.
pub(super) fn part_way(scene: &Scene, arm: &Arm, step: &Step, before: &State, stretch: &Stretch) -> Stop {
    if !stretch.answer.is_clear() {
        return Stop::STAY;
    }
    let drives = step.drives();
    // The way back of a lift would set the load down.
    let lifts = step.effects().into_iter().any(|e| matches!(e, Effect::Leave(..)));
    let cued = drives.iter().any(|d| d.goal.is_cued());
    let returns = !lifts && drives.iter().all(|d| comes_back(arm, before, d));
    Stop {
        on: true,
        back: if returns { order(&stretch.leg) } else { Back::Not },
        untouched: !lifts && (cued || can_touch(scene, &stretch.leg, &stretch.contacts)),
    }
}

/// Whether a joint that is sent back to its printed start stops where the step could have found it.
fn comes_back(arm: &Arm, before: &State, drive: &Drive) -> bool {
    let (r, stop) = (before.joint(drive.joint.value), arm.joint(drive.joint.value).stop_by_readout.value);
    r.is_settled() && r.low <= r.nominal - stop && r.nominal + stop <= r.high
}

/// How two joints come back: the one that leads must not be overtaken on the way back either. Where each waits for the other
/// somewhere, no simple order does.
fn order(leg: &Leg) -> Back {
    let Some(region) = &leg.region else { return Back::Free };
    let mut leaders = region.first.into_iter().chain(region.gates.iter().map(|g| 1 - g.waits));
    let Some(leader) = leaders.next() else { return Back::Free };
    match leaders.all(|l| l == leader).then(|| leg.moving.iter().find(|j| j.at() == region.courses[leader].joint)) {
        Some(Some(joint)) => Back::Last(*joint),
        _ => Back::Not,
    }
}

/// Whether the motion comes to where a contact is allowed.
fn can_touch(scene: &Scene, leg: &Leg, contacts: &[Contact]) -> bool {
    let mut places: Vec<_> = contacts.iter().map(|c| c.around).collect();
    places.sort_unstable();
    places.dedup();
    if places.is_empty() || places.contains(&None) {
        return !places.is_empty();
    }
    let Ok(band) = reach::band(scene.chain(), &leg.root, scene.chain().joints(), metres(scene.grip)) else { return true };
    places.into_iter().flatten().any(|(station, within)| {
        let Some(spot) = &scene.spots[station.at()] else { return true };
        let away = |(side, at): (&[i64; 2], &i64)| i128::from((side[0] - at).max(at - side[1]).max(0));
        let square: i128 = band.iter().zip(&spot.point).map(away).map(|d| d * d).sum();
        square <= i128::from(within) * i128::from(within)
    })
}
