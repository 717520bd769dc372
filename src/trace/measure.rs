//! The numbers rules judge and prints show, each computed in one place.
//!
//! Invariant: whole numbers only, rounded away from acceptance.

use super::state::{Known, Opening, Readout, State};
use crate::model::arm::{Arm, Joint, Level};
use crate::model::cell::Load;
use crate::model::procedure::{Drive, Effect, Goal, Pace, Procedure};
use crate::model::{JointId, LevelId, LoadId};
use crate::units::{Angle, Force, Length};

/// Standard gravity in units of 0.00001 m/s2: 9.80665 m/s2 (third General Conference on Weights and Measures, 1901).
const GRAVITY: i128 = 980_665;

/// The target of a drive as printed. A relative move's is its written end; a guarded move's its bound; taps end anywhere in
/// the contact band, whose far end stands for it.
pub fn target(drive: &Drive) -> Angle {
    match &drive.goal {
        Goal::To { to, .. } => to.value,
        Goal::By { ending, .. } => ending.value,
        Goal::Until { not_past, .. } => not_past.value,
        Goal::Taps { low, high, .. } => {
            let (low, high) = (low.value.min(high.value), low.value.max(high.value));
            if drive.positive.value { high } else { low }
        }
    }
}

/// How far from its target a drive may stop: the written band, else the stopping tolerance. A move that is inched or stops on
/// a cue is stopped by eye.
pub fn band(joint: &Joint, goal: &Goal) -> Angle {
    match goal {
        Goal::To { within: Some(band), .. } => band.value,
        Goal::To { pace: Pace::Inch, .. } => joint.stop_by_eye.value.max(joint.stop_by_readout.value),
        Goal::To { .. } | Goal::By { .. } => joint.stop_by_readout.value,
        Goal::Until { .. } | Goal::Taps { .. } => joint.stop_by_eye.value.max(joint.stop_by_readout.value),
    }
}

/// The lowest and the highest read-out that is accepted between two angles: no digit the read-out does not show, and
/// nothing outside what was checked. A stretch that shows none is refused before it is printed as it is.
pub fn accepted(joint: &Joint, (low, high): (Angle, Angle)) -> (Angle, Angle) {
    Angle::shown_within(low, high, joint.decimals).unwrap_or((low, high))
}

/// Where a drive leaves its joint.
pub fn reached(joint: &Joint, drive: &Drive, start: Readout) -> Readout {
    let (t, b) = (target(drive), band(joint, &drive.goal));
    match &drive.goal {
        Goal::To { pace: Pace::Inch, .. } => Readout::at(t, b, Known::ByEye),
        Goal::To { .. } | Goal::By { .. } => Readout::at(t, b, Known::Readout),
        Goal::Until { .. } => {
            // The cue may come at once, or not before the bound.
            let (low, high) = if start.is_known() { start.idle(joint.hold.value) } else { (t, t) };
            let (low, high) = if drive.positive.value { (low, high.max(t + b)) } else { (low.min(t - b), high) };
            Readout { low, high, nominal: t, known: Known::Range, wound: Angle::ZERO }
        }
        Goal::Taps { low, high, .. } => {
            Readout { low: low.value.min(high.value), high: low.value.max(high.value), nominal: t, known: Known::Range, wound: Angle::ZERO }
        }
    }
}

/// What a read-out must show where all joints are compared with their printed angles; otherwise the operator stops.
///
/// A joint that was inched is held to the band of its read-out there, one that was without power to the band it was left in,
/// any other to where it can be.
pub fn compared(joint: &Joint, readout: Readout) -> (Angle, Angle) {
    let (low, high) = readout.idle(joint.hold.value);
    let band = joint.stop_by_readout.value;
    match readout.known {
        Known::ByEye => (low.max(readout.nominal - band), high.min(readout.nominal + band)),
        Known::Unread | Known::UnreadRange => (readout.low, readout.high),
        Known::Readout | Known::Range | Known::Muted => (low, high),
    }
}

/// Where a joint is once it has been compared. One that did not move since may drift back by its hold tolerance; one that
/// could move without power starts anew from what it shows.
pub fn settled(joint: &Joint, readout: Readout) -> Readout {
    let ((low, high), hold) = (compared(joint, readout), joint.hold.value);
    match readout.known {
        Known::ByEye => Readout { low: readout.low.max(low - hold), high: readout.high.min(high + hold), known: Known::Readout, ..readout },
        Known::Unread => Readout { known: Known::Readout, ..readout },
        Known::UnreadRange => Readout { known: Known::Range, ..readout },
        Known::Readout | Known::Range | Known::Muted => readout,
    }
}

/// The interval that the end of a drive and the idle time after it can reach: what limits are checked against.
pub fn far_end(joint: &Joint, drive: &Drive) -> (Angle, Angle) {
    let ((low, high), hold) = (last_tap(joint, drive), joint.hold.value);
    (low - hold, high + hold)
}

/// The interval of a drive's end; of taps, with the one that begins at the far end of the contact band and meets nothing.
pub fn last_tap(joint: &Joint, drive: &Drive) -> (Angle, Angle) {
    let (t, b) = (target(drive), band(joint, &drive.goal));
    let past = match &drive.goal {
        Goal::Taps { tap, .. } => tap.value.abs(),
        _ => Angle::ZERO,
    };
    if drive.positive.value { (t - b, t + b + past) } else { (t - b - past, t + b) }
}

/// How far the near edge of the target lies beyond the start, in the printed direction; negative disagrees with it.
pub fn ahead(joint: &Joint, drive: &Drive, start: Readout) -> Angle {
    let (low, high) = start.idle(joint.hold.value);
    let near = match &drive.goal {
        Goal::Taps { low, high, .. } if drive.positive.value => low.value.min(high.value),
        Goal::Taps { low, high, .. } => low.value.max(high.value),
        _ => target(drive),
    };
    if drive.positive.value { near - high } else { low - near }
}

/// The least force per jaw that holds a load: S m g / (2 mu), rounded up; `None` without a friction value. Two pads share the
/// weight (friction grip between parallel pads, handbook formula).
pub fn force_needed(procedure: &Procedure, load: &Load) -> Option<Force> {
    let friction = load.friction.as_ref().or(procedure.arm.jaw.friction.as_ref())?.value.value.0;
    let top = i128::from(procedure.policy.grip_factor.value.0) * i128::from(load.mass_at_most.value.0) * GRAVITY;
    let bottom = 2 * i128::from(friction) * 100_000_000;
    if bottom <= 0 {
        return Some(Force(i64::MAX));
    }
    let up = top.div_euclid(bottom) + i128::from(top.rem_euclid(bottom) != 0);
    Some(Force(i64::try_from(up).unwrap_or(i64::MAX)))
}

/// Whether a level holds a load and does not crush it.
pub fn level_suits(procedure: &Procedure, level: &Level, load: &Load) -> bool {
    force_needed(procedure, load).is_some_and(|f| level.least.value >= f) && load.crush.is_none_or(|c| level.most.value <= c.value)
}

/// How wide the jaw must be to go over a load.
pub fn width_needed(load: &Load) -> Length {
    load.grip_width.value + load.grip_clearance.map_or(Length::ZERO, |c| c.value)
}

/// The time a drive takes at full rate, rounded down, in milliseconds.
pub fn least_time(joint: &Joint, from: Readout, to: Readout) -> i64 {
    let rate = joint.rate.value.0;
    if rate <= 0 || !from.is_known() {
        return 0;
    }
    let gap = (to.low - from.high).0.max((from.low - to.high).0).max(0);
    gap.saturating_mul(1000) / rate
}

/// What a margin is a margin of. The value's unit follows: thousandths of a degree, micrometres or millinewtons.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Margin {
    /// Angle left to the low limit, bands and hold tolerance taken off.
    ToLow(JointId),
    /// Angle left to the high limit.
    ToHigh(JointId),
    /// Angle by which the printed direction is certain.
    Direction(JointId),
    /// Force by which the level holds the load.
    Holds(LoadId, LevelId),
    /// Force left to crushing.
    Crush(LoadId, LevelId),
    /// Length by which the jaw goes over the load.
    Opening(LoadId),
    /// Angle by which the taps reach beyond the contact band.
    Taps(JointId),
}

/// A margin of one step in one of its states.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// Which of the visit's states before the step, counted from 0.
    pub entry: u16,
    /// What.
    pub margin: Margin,
    /// How much; negative is refused.
    pub value: i64,
}

/// Records what an effect leaves to spare from `before`.
pub(super) fn record(p: &Procedure, effect: &Effect<'_>, before: &State, entry: u16, out: &mut Vec<Recorded>) {
    let mut put = |margin, value| out.push(Recorded { entry, margin, value });
    match effect {
        Effect::Drive(drive) => record_drive(&p.arm, drive, before, &mut put),
        Effect::DriveTwo(two) => two.drives.iter().for_each(|d| record_drive(&p.arm, d, before, &mut put)),
        Effect::Grip(load) => {
            let data = &p.cell.loads[load.value.at()];
            if let (Opening::Between(low, _), None) = (before.jaw, before.held()) {
                put(Margin::Opening(load.value), (low - width_needed(data)).0);
            }
            if let Some(level) = before.level {
                record_force(p, level, load.value, &mut put);
            }
        }
        Effect::Level(level) => {
            if let Some(held) = before.held() {
                record_force(p, level.value, held.load, &mut put);
            }
        }
        _ => {}
    }
}

fn record_force(p: &Procedure, id: LevelId, load: LoadId, put: &mut impl FnMut(Margin, i64)) {
    let (level, data) = (&p.arm.jaw.levels[id.at()], &p.cell.loads[load.at()]);
    if let Some(needed) = force_needed(p, data) {
        put(Margin::Holds(load, id), level.least.value.0.saturating_sub(needed.0));
    }
    if let Some(crush) = data.crush {
        put(Margin::Crush(load, id), (crush.value - level.most.value).0);
    }
}

fn record_drive(arm: &Arm, drive: &Drive, before: &State, put: &mut impl FnMut(Margin, i64)) {
    let id = drive.joint.value;
    let (joint, start) = (arm.joint(id), before.joint(id));
    let ((low, high), (from, to)) = (joint.soft_limits(), far_end(joint, drive));
    put(Margin::ToLow(id), (from - low).0);
    put(Margin::ToHigh(id), (high - to).0);
    if start.is_known() {
        put(Margin::Direction(id), ahead(joint, drive, start).0);
        if let Some(spare) = taps_spare(joint, drive, start) {
            put(Margin::Taps(id), spare.0);
        }
    }
}

/// By how much all the taps reach beyond the far end of the contact band from the farthest start.
pub fn taps_spare(joint: &Joint, drive: &Drive, start: Readout) -> Option<Angle> {
    let Goal::Taps { tap, at_most, .. } = &drive.goal else { return None };
    let (low, high) = start.idle(joint.hold.value);
    let far = target(drive);
    let way = if drive.positive.value { far - low } else { high - far };
    Some(Angle(tap.value.0.abs().saturating_mul(i64::from(at_most.value))) - way)
}
