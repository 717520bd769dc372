//! What each effect does to a state: one exhaustive match, so that a new effect cannot be ignored.
//!
//! Invariant: the transfer never refuses. After a mistake, which the rules report from the state before, it
//! goes on as if the step had done what it says, so that one mistake gives one finding.

use super::measure;
use super::state::{Elapsed, Grasp, Held, Known, Opening, Phase, Place, Readout, State};
use crate::model::LoadId;
use crate::model::arm::Travel;
use crate::model::procedure::{Drive, Effect, Goal, Procedure, Step};
use crate::units::{Angle, Length};

/// Applies one effect of `step`; `origin` is the index of the procedure it stands in.
pub(super) fn apply(p: &Procedure, origin: u16, step: &Step, effect: &Effect<'_>, state: &mut State, time: &mut Elapsed) {
    match effect {
        Effect::Drive(drive) => {
            move_begins(p, state);
            *time = time.plus(turn(p, drive, state), None);
        }
        Effect::DriveTwo(two) => {
            move_begins(p, state);
            let [a, b] = [turn(p, &two.drives[0], state), turn(p, &two.drives[1], state)];
            *time = time.plus(a.max(b), None);
        }
        Effect::Jaw { to, .. } => {
            if let Grasp::Held(held) = state.grasp {
                drop_where_it_is(state, held);
            }
            open(p, state, to.value);
            if matches!(state.grasp, Grasp::Held(_) | Grasp::Muted) {
                empty(state);
                state.grasp = Grasp::Free;
            }
            powered(state);
            *time = time.plus(0, None);
        }
        Effect::Level(level) => state.level = Some(level.value),
        Effect::Grip(load) => {
            let take = |place| {
                let (from, phase) = taken_from(place);
                Held { load: load.value, gripped: Some((origin, step.id)), from, phase }
            };
            let held = match (state.grasp, state.place(load.value)) {
                // Closing on the held load presses anew and leaves it as it lies in the jaw.
                (Grasp::Held(held), _) if held.load == load.value => held,
                (Grasp::Held(held), place) => {
                    empty(state);
                    drop_where_it_is(state, held);
                    take(place)
                }
                (_, place) => take(place),
            };
            state.set_place(load.value, Place::Jaw);
            state.grasp = Grasp::Held(held);
            let width = p.cell.loads[load.value.at()].grip_width.value;
            state.jaw = Opening::Between(width, width);
            powered(state);
            *time = time.plus(0, None);
        }
        Effect::Leave(load, station) => {
            hold(state, load.value, Phase::Leaving(station.value));
        }
        Effect::Rest(load, station) => {
            hold(state, load.value, Phase::SetOn(station.value));
        }
        Effect::LetGo(load, station, to) => {
            state.set_place(load.value, Place::On(station.value));
            empty(state);
            state.grasp = Grasp::LetGo(load.value, station.value);
            open(p, state, to.value);
            powered(state);
            *time = time.plus(0, None);
        }
        Effect::Power(on) => {
            if !on {
                state.map_joints(|_, r| match r.known {
                    Known::Readout | Known::ByEye => Readout { known: Known::Unread, ..r },
                    Known::Range => Readout { known: Known::UnreadRange, ..r },
                    _ => r,
                });
            }
            state.power = Some(*on);
            *time = time.plus(0, None);
        }
        Effect::Settle => {
            state.map_joints(|i, r| measure::settled(&p.arm.joints[i], r));
            *time = time.plus(0, None);
        }
        // Holds, invitations and observations are followed over the text; they change nothing here.
        Effect::Observe | Effect::Clear(_) | Effect::Invite(_) | Effect::Verify(_) | Effect::ChangeCrew => *time = time.plus(0, None),
        Effect::Look(view) => state.view = Some(view.value),
        Effect::Pass { least, most } => *time = time.plus(least.0, most.map(|t| t.0)),
        Effect::Tool(tool, on) => {
            state.tool = on.then_some(tool.value);
            *time = time.plus(0, None);
        }
        Effect::Scene(equipment, to) => {
            state.set_equipment(equipment.value, to.value);
            *time = time.plus(0, None);
        }
        Effect::ExpectPose(pose) => {
            // The assertion tells where a joint is that was not known; it narrows nothing that is.
            let pose = &p.arm.poses[pose.value.at()];
            if state.joints().iter().any(|r| !r.is_known()) {
                state.map_joints(|i, r| match pose.angles.get(i).copied().flatten() {
                    Some(angle) if !r.is_known() => Readout::at(angle.value, pose.band.value, Known::Readout),
                    _ => r,
                });
            }
        }
        Effect::ExpectAt(_) => {}
    }
}

/// A statement that could not be read may have done anything: what it may have touched is muted.
pub(super) fn mute(state: &mut State) {
    state.map_joints(|_, r| Readout { known: Known::Muted, ..r });
    (state.jaw, state.grasp, state.power) = (Opening::Muted, Grasp::Muted, None);
}

/// The station a gripped load still stands on; a load from nowhere is taken as carried.
fn taken_from(place: Place) -> (Option<crate::model::StationId>, Phase) {
    match place {
        Place::On(station) => (Some(station), Phase::Supported(station)),
        Place::Jaw | Place::Unsaid => (None, Phase::Carried),
    }
}

/// The load in the jaw, as it was taken, comes to another part of its transfer.
fn hold(state: &mut State, load: LoadId, phase: Phase) {
    let before = state.held().filter(|h| h.load == load);
    state.set_place(load, Place::Jaw);
    state.grasp = Grasp::Held(Held { load, gripped: before.and_then(|h| h.gripped), from: before.and_then(|h| h.from), phase });
}

/// A load that the jaw lost by mistake: on the station that bore it, or nowhere known.
fn drop_where_it_is(state: &mut State, held: Held) {
    let place = match held.phase {
        Phase::Supported(station) | Phase::SetOn(station) | Phase::Leaving(station) => Place::On(station),
        Phase::LiftedClear(_) | Phase::Carried => Place::Unsaid,
    };
    state.set_place(held.load, place);
}

/// What is held next has not been turned yet.
fn empty(state: &mut State) {
    if state.joints().iter().any(|r| r.wound != Angle::ZERO) {
        state.map_joints(|_, r| Readout { wound: Angle::ZERO, ..r });
    }
}

fn open(p: &Procedure, state: &mut State, to: Length) {
    let tolerance = p.arm.jaw.tolerance.value;
    state.jaw = Opening::Between(to - tolerance, to + tolerance);
}

/// Something moved, so power is on, or that has been reported.
fn powered(state: &mut State) {
    state.power = state.power.map(|_| true);
}

/// What any motion does besides moving: it ends contact and carries what is held.
fn move_begins(p: &Procedure, state: &mut State) {
    powered(state);
    if state.joints().iter().any(|r| r.is_unread()) {
        // Reported once; from here on as if they had been read.
        state.map_joints(|i, r| match r.known {
            Known::Unread | Known::UnreadRange => measure::settled(&p.arm.joints[i], r),
            _ => r,
        });
    }
    state.grasp = match state.grasp {
        Grasp::Held(held) => {
            let phase = match held.phase {
                Phase::Leaving(station) => Phase::LiftedClear(station),
                _ => Phase::Carried,
            };
            Grasp::Held(Held { phase, ..held })
        }
        Grasp::Touching | Grasp::LetGo(..) => Grasp::Free,
        other => other,
    };
}

/// Moves one joint; returns the least time in milliseconds.
fn turn(p: &Procedure, drive: &Drive, state: &mut State) -> i64 {
    let joint = p.arm.joint(drive.joint.value);
    let before = state.joint(drive.joint.value);
    let mut after = measure::reached(joint, drive, before);
    if state.held().is_some() && matches!(joint.travel, Travel::Turns { .. }) {
        after.wound = before.farthest();
        after.wound = after.farthest();
    }
    state.set_joint(drive.joint.value, after);
    let contact = matches!(drive.goal, Goal::Until { signal: None, .. } | Goal::Taps { .. });
    if contact && state.grasp == Grasp::Free {
        state.grasp = Grasp::Touching;
    }
    measure::least_time(joint, before, after)
}
