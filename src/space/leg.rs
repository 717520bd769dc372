//! One stretch of motion: the moves of one step from one of its states.
//!
//! Invariant: the box holds every angle each joint can have during the stretch and while the arm rests at its end: the
//! whole way of a joint that moves, the hold tolerance of all, the read-out error on top.

use crate::geometry::chain::JointBox;
use crate::geometry::region::{Course, Gate, Region};
use crate::model::arm::Arm;
use crate::model::procedure::{Drive, DriveTwo, Effect, Procedure, Step};
use crate::model::{JointId, StationId};
use crate::trace::measure;
use crate::trace::state::{Readout, State};
use crate::units::Angle;

/// A stretch of motion.
#[derive(Clone, Debug)]
pub struct Leg {
    /// The joints that are driven, in the order written.
    pub moving: Vec<JointId>,
    /// Every true angle.
    pub root: JointBox,
    /// The read-outs before, as printed.
    pub start: Vec<Angle>,
    /// The read-outs after, as printed.
    pub end: Vec<Angle>,
    /// The order two joints keep.
    pub region: Option<Region>,
    /// The station that a load leaves or comes to rest on with this motion.
    pub transfer: Option<StationId>,
}

impl Leg {
    /// The first carrier that moves.
    pub fn moved(&self) -> usize {
        self.moving.iter().map(|j| j.at() + 1).min().unwrap_or(usize::MAX)
    }
}

/// The motion of a step from a state; none where nothing moves, or where it is not known where a joint stands.
pub fn of(p: &Procedure, step: &Step, before: &State) -> Option<Leg> {
    let mut transfer = None;
    let mut leg = None;
    for effect in step.effects() {
        match effect {
            Effect::Drive(drive) => leg = one(&p.arm, before, drive),
            Effect::DriveTwo(two) => leg = both(&p.arm, before, two),
            Effect::Leave(_, station) | Effect::Rest(_, station) => transfer = Some(station.value),
            _ => {}
        }
    }
    leg.map(|leg: Leg| Leg { transfer, ..leg })
}

/// Where a step's motion leaves the arm: every true angle while it rests there.
pub fn rest(arm: &Arm, before: &State, step: &Step, leg: &Leg) -> JointBox {
    let mut out = leg.root.clone();
    for effect in step.effects() {
        let drives: &[Drive] = match effect {
            Effect::Drive(drive) => std::slice::from_ref(drive),
            Effect::DriveTwo(two) => &two.drives,
            _ => continue,
        };
        for drive in drives {
            let (id, joint) = (drive.joint.value, arm.joint(drive.joint.value));
            let (low, high) = measure::reached(joint, drive, before.joint(id)).idle(joint.hold.value);
            let error = joint.readout_error.value;
            out.0[id.at()] = [(low - error).0, (high + error).0];
        }
    }
    out
}

/// The box of an arm that rests in a state.
pub fn at_rest(arm: &Arm, state: &State) -> Option<JointBox> {
    let each = arm.joints.iter().zip(state.joints()).map(|(joint, r)| {
        let (low, high) = r.idle(joint.hold.value);
        (low <= high).then_some([low.0 - joint.readout_error.value.0, high.0 + joint.readout_error.value.0])
    });
    (!state.is_muted()).then(|| each.collect::<Option<Vec<_>>>()).flatten().map(JointBox)
}

fn one(arm: &Arm, before: &State, drive: &Drive) -> Option<Leg> {
    let mut root = at_rest(arm, before)?;
    let id = drive.joint.value;
    root.0[id.at()] = swept(arm, before.joint(id), drive);
    let start: Vec<Angle> = before.joints().iter().map(nominal).collect();
    let mut end = start.clone();
    end[id.at()] = measure::target(drive);
    Some(Leg { moving: vec![id], root, start, end, region: None, transfer: None })
}

fn both(arm: &Arm, before: &State, two: &DriveTwo) -> Option<Leg> {
    let mut leg = one(arm, before, &two.drives[0])?;
    let second = &two.drives[1];
    let id = second.joint.value;
    leg.root.0[id.at()] = swept(arm, before.joint(id), second);
    leg.end[id.at()] = measure::target(second);
    leg.moving.push(id);
    leg.region = region(arm, before, two);
    Some(leg)
}

/// The true angles a driven joint can have until the next move begins.
fn swept(arm: &Arm, start: Readout, drive: &Drive) -> [i64; 2] {
    let joint = arm.joint(drive.joint.value);
    let (hold, error) = (joint.hold.value, joint.readout_error.value);
    let ((from, till), (low, high)) = (start.idle(hold), measure::far_end(joint, drive));
    [(from.min(low) - error).0, (till.max(high) + error).0]
}

/// The printed angle of a joint; of a range, its middle.
pub fn nominal(r: &Readout) -> Angle {
    if r.is_settled() { r.nominal } else { Angle((r.low.0 + r.high.0).div_euclid(2)) }
}

/// What the order and the gates of a two-axis move leave possible.
fn region(arm: &Arm, before: &State, two: &DriveTwo) -> Option<Region> {
    let course = |drive: &Drive| {
        let joint = arm.joint(drive.joint.value);
        let (start, stop) = (before.joint(drive.joint.value).idle(joint.hold.value), measure::last_tap(joint, drive));
        Course {
            joint: drive.joint.value.at(),
            up: drive.positive.value,
            start: [start.0.0, start.1.0],
            stop: [stop.0.0, stop.1.0],
            band: measure::band(joint, &drive.goal).0.max(joint.stop_by_readout.value.0),
            hold: joint.hold.value.0,
            error: joint.readout_error.value.0,
        }
    };
    let courses = [course(&two.drives[0]), course(&two.drives[1])];
    let which = |joint: JointId| usize::from(courses[1].joint == joint.at());
    let gates = two.gates.iter().map(|g| Gate { waits: which(g.held.value), at: g.not_past.value.0, past: g.past.value.0 }).collect();
    let first = two.first.map(|j| which(j.value));
    (first.is_some() || !two.gates.is_empty()).then_some(Region { courses, first, gates })
}
