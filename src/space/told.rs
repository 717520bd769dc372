//! What a print tells of a motion beyond whether it is clear: what a degree does, where the tool goes in the cell, what a
//! joint that runs on would meet, what one of two joints alone would meet, and whether two moves may change places.
//!
//! Worked out on demand: each answer about a stop or an order is a sweep of its own. Nothing here is a finding.

mod row;

use super::clearance::{Contact, Nearest, Sweeper, contacts};
use super::leg::{self, Leg};
use super::scene::Scene;
use super::sight::{seen_gap, tool_point};
use super::{Stretch, Survey};
use crate::geometry::reach::{Lever, levers};
use crate::geometry::{Fault, Vec3, metres};
use crate::model::JointId;
use crate::model::arm::{Arm, Travel};
use crate::model::procedure::{Drive, Effect, Goal, Procedure, Step};
use crate::trace::state::State;
use crate::trace::{RowId, Trace};
use crate::units::{Angle, trig};
use rayon::prelude::*;
pub use row::{Dropped, Lag, RowTold, RunOn, rows};

/// What is told of one stretch of motion.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The printed step.
    pub row: RowId,
    /// Which of the states before it.
    pub entry: usize,
    /// By joint, how a degree of it moves the tool point where the motion ends.
    pub levers: Vec<Lever>,
    /// By joint that moves, where it takes the tool point.
    pub goes: Vec<Goes>,
    /// By joint that moves, what lies beyond its target.
    pub beyond: Vec<Beyond>,
    /// Of a move of two joints, what each of them would do alone.
    pub alone: Vec<Alone>,
    /// What happens if this move and the next one change places; none where the two cannot, or are not clear as they are.
    pub swapped: Option<Swapped>,
}

/// Where a joint takes the tool point, from the start of the motion with the others at rest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Goes {
    /// The joint.
    pub joint: JointId,
    /// Along the cell, the longest part first; parts of less than a third of the longest are left out.
    pub ways: Vec<Way>,
    /// The way that its direction word names, where the tool point goes the other way.
    pub against: Option<Way>,
}

/// A way in the cell; left and right as seen from the mount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Way {
    Up,
    Down,
    TowardArm,
    AwayFromArm,
    Left,
    Right,
}

impl Way {
    /// In words: "the jaw goes up".
    pub fn words(self) -> &'static str {
        match self {
            Way::Up => "up",
            Way::Down => "down",
            Way::TowardArm => "toward the arm",
            Way::AwayFromArm => "away from the arm",
            Way::Left => "to the left, seen from the mount",
            Way::Right => "to the right, seen from the mount",
        }
    }
    fn other(self) -> Way {
        match self {
            Way::Up => Way::Down,
            Way::Down => Way::Up,
            Way::TowardArm => Way::AwayFromArm,
            Way::AwayFromArm => Way::TowardArm,
            Way::Left => Way::Right,
            Way::Right => Way::Left,
        }
    }
    /// The way that a direction word of a joint names, if it names one.
    fn named(word: &str) -> Option<Way> {
        Some(match word {
            "raise" | "up" | "lift" | "hoist" => Way::Up,
            "lower" | "down" => Way::Down,
            "left" => Way::Left,
            "right" => Way::Right,
            "extend" | "out" => Way::AwayFromArm,
            "fold" | "retract" | "in" => Way::TowardArm,
            _ => return None,
        })
    }
}

/// What lies beyond the target of a joint, in its direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beyond {
    /// The joint.
    pub joint: JointId,
    /// From the printed target to the soft limit.
    pub to_limit: Angle,
    /// From the printed target to the stop, or to the end of what the hoses allow.
    pub to_stop: Angle,
    /// What the joint meets if it runs on to the stop; none of a joint without stops.
    pub run_on: Option<Outcome>,
    /// Whether the view in force shows the gap that closes there; none if nothing says.
    pub seen: Option<bool>,
}

/// What one of two joints does while the other stays at its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Alone {
    /// The joint.
    pub joint: JointId,
    /// What it meets.
    pub outcome: Outcome,
}

/// Whether a motion keeps the margin, and if not, what comes too near to what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Everything stays apart.
    Clear,
    /// It does not, or nobody can say.
    Near {
        /// The two bodies that do first, by their place in the scene; the one that moves first.
        pair: (usize, usize),
        /// How far the joint can go and keep the margin: the lag that is permitted. None if not from the start.
        clear_to: Option<Angle>,
    },
}

/// Two moves that change places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Swapped {
    /// The one that follows as written.
    pub next: RowId,
    /// What it would meet first, or this one after it.
    pub outcome: Outcome,
}

/// Tells of every stretch of a survey, in its order.
pub fn tell(p: &Procedure, trace: &Trace, survey: &Survey) -> Result<Vec<Told>, Fault> {
    let Ok(scene) = &survey.scene else { return Ok(Vec::new()) };
    let teller = || Teller { p, trace, survey, scene, sweeper: Sweeper::new(scene) };
    let told: Vec<_> = survey.stretches.par_iter().map_init(teller, |teller, stretch| teller.tell(stretch)).collect();
    // The first fault is told, on whatever thread it was met.
    told.into_iter().collect()
}

struct Teller<'a> {
    p: &'a Procedure,
    trace: &'a Trace,
    survey: &'a Survey,
    scene: &'a Scene,
    sweeper: Sweeper<'a>,
}

impl<'a> Teller<'a> {
    fn tell(&mut self, stretch: &Stretch) -> Result<Told, Fault> {
        let (q, step) = self.place(stretch.row);
        let mark = tool_point(self.scene, &q.arm, stretch.tool);
        let end: Vec<i64> = stretch.leg.end.iter().map(|a| a.0).collect();
        let mut told = Told {
            row: stretch.row,
            entry: stretch.entry,
            levers: levers(self.scene.chain(), &end, mark.carrier, metres(mark.point))?,
            goes: stretch.leg.moving.iter().map(|j| self.goes(&q.arm, stretch, *j)).collect(),
            beyond: Vec::new(),
            alone: Vec::new(),
            swapped: None,
        };
        let Some(before) = self.trace.before(stretch.row).nth(stretch.entry).map(|e| &e.state) else { return Ok(told) };
        for joint in &stretch.leg.moving {
            told.beyond.push(self.beyond(q, step, before, stretch, *joint)?);
        }
        if let [one, other] = stretch.leg.moving[..] {
            for (joint, still) in [(one, other), (other, one)] {
                told.alone.extend(self.alone(&q.arm, before, stretch, joint, still)?);
            }
        }
        told.swapped = self.swapped(q, step, before, stretch)?;
        Ok(told)
    }

    fn place(&self, row: RowId) -> (&'a Procedure, &'a Step) {
        let (frame, step) = self.trace.step_of(row);
        let q = self.trace.procedure_of(self.p, frame);
        (q, q.step(step))
    }

    fn goes(&self, arm: &Arm, stretch: &Stretch, joint: JointId) -> Goes {
        let mark = tool_point(self.scene, arm, stretch.tool);
        let mut angles: Vec<i64> = stretch.leg.start.iter().map(|a| a.0).collect();
        let at = |angles: &[i64]| self.scene.chain().place_exact(angles).carriers[mark.carrier].point(metres(mark.point));
        let from = at(&angles);
        let (start, end) = (stretch.leg.start[joint.at()], stretch.leg.end[joint.at()]);
        angles[joint.at()] = end.0;
        let parts = parts(self.scene.chain().base().at, from, at(&angles));
        let data = arm.joint(joint);
        let word = if end > start { &data.positive.word.value } else { &data.negative.word.value };
        let longest = parts.first().map_or(0.0, |p| p.1);
        let ways: Vec<Way> = parts.iter().filter(|p| p.1 * 3.0 >= longest && p.1 > 0.001).map(|p| p.0).collect();
        let against = Way::named(word).filter(|named| ways.contains(&named.other()));
        Goes { joint, ways, against }
    }

    /// What one joint meets on its way, with the angles at which it does.
    fn judge(&mut self, leg: &Leg, stretch: &Stretch, contacts: &[Contact]) -> Result<(Outcome, Vec<i64>), Fault> {
        let Some(loss) = self.sweeper.loses(leg, &stretch.present, contacts)? else { return Ok((Outcome::Clear, Vec::new())) };
        let pair = row::outer_first(self.scene, loss.pair);
        Ok((Outcome::Near { pair, clear_to: loss.clear_to.map(Angle) }, loss.angles))
    }

    fn beyond(&mut self, q: &Procedure, step: &Step, before: &State, stretch: &Stretch, joint: JointId) -> Result<Beyond, Fault> {
        let arm = &q.arm;
        let data = arm.joint(joint);
        let (target, start) = (stretch.leg.end[joint.at()], stretch.leg.start[joint.at()]);
        let ((soft_low, soft_high), (low, high)) = (data.soft_limits(), data.travel.ends());
        let up = target > start;
        let (limit, stop) = if up { (soft_high, high.value) } else { (soft_low, low.value) };
        let (run_on, seen) = match data.travel {
            Travel::Turns { .. } => (None, None),
            Travel::Stops { .. } => {
                let mut leg = Leg { moving: vec![joint], region: None, ..stretch.leg.clone() };
                leg.root = leg::rest(arm, before, step, &stretch.leg);
                let here = leg.root.0[joint.at()];
                leg.root.0[joint.at()] = if up { [here[0], here[1].max(stop.0)] } else { [here[0].min(stop.0), here[1]] };
                leg.start.clone_from(&stretch.leg.end);
                leg.end[joint.at()] = stop;
                let (outcome, angles) = self.judge(&leg, stretch, &stretch.contacts)?;
                let seen = match (outcome, before.view) {
                    (Outcome::Near { pair: (moves, other), .. }, Some(view)) => {
                        let nearest = Nearest { pair: (other, moves), angles, distance: 0 };
                        seen_gap(self.scene, &q.cell, view, &nearest, &stretch.present)?
                    }
                    _ => None,
                };
                (Some(outcome), seen)
            }
        };
        Ok(Beyond { joint, to_limit: (limit - target).abs(), to_stop: (stop - target).abs(), run_on, seen })
    }

    fn alone(&mut self, arm: &Arm, before: &State, stretch: &Stretch, joint: JointId, still: JointId) -> Result<Option<Alone>, Fault> {
        let Some(rest) = leg::at_rest(arm, before) else { return Ok(None) };
        let mut leg = Leg { moving: vec![joint], region: None, ..stretch.leg.clone() };
        leg.root.0[still.at()] = rest.0[still.at()];
        leg.end[still.at()] = leg.start[still.at()];
        Ok(Some(Alone { joint, outcome: self.judge(&leg, stretch, &stretch.contacts)?.0 }))
    }

    /// Two moves of one joint each, one after the other in one list.
    fn swapped(&mut self, q: &Procedure, step: &Step, before: &State, stretch: &Stretch) -> Result<Option<Swapped>, Fault> {
        let follows = RowId(stretch.row.0 + 1);
        let (frame, id) = self.trace.step_of(stretch.row);
        let Some(next) = q.steps.get(id.at() + 1).filter(|n| (n.parent, n.section) == (step.parent, step.section)) else {
            return Ok(None);
        };
        if self.trace.row(frame, next.id) != Some(follows) || !stretch.answer.is_clear() {
            return Ok(None);
        }
        let after = self.survey.of(follows);
        let (Some(first), Some(second)) = (plain(step), plain(next)) else { return Ok(None) };
        if first.joint.value == second.joint.value || after.is_empty() || !after.iter().all(|s| s.answer.is_clear()) {
            return Ok(None);
        }
        let (Some(ahead), Some(mut behind)) = (leg::of(q, next, before), leg::of(q, step, before)) else { return Ok(None) };
        let moved = second.joint.value.at();
        behind.root.0[moved] = leg::rest(&q.arm, before, next, &ahead).0[moved];
        (behind.start[moved], behind.end[moved]) = (ahead.end[moved], ahead.end[moved]);
        for (leg, step) in [(&ahead, next), (&behind, step)] {
            let contacts = contacts(self.scene, step, leg, &stretch.present);
            let (outcome, _) = self.judge(leg, stretch, &contacts)?;
            if outcome != Outcome::Clear {
                return Ok(Some(Swapped { next: follows, outcome }));
            }
        }
        Ok(Some(Swapped { next: follows, outcome: Outcome::Clear }))
    }
}

/// The drive of a step that does nothing but turn one joint to an angle.
fn plain(step: &Step) -> Option<&Drive> {
    let mut effects = step.effects().into_iter();
    match (effects.next(), effects.next()) {
        (Some(Effect::Drive(drive)), None) if matches!(drive.goal, Goal::To { .. } | Goal::By { .. }) => Some(drive),
        _ => None,
    }
}

/// The parts of a way in the cell, the longest first, in metres.
fn parts(mount: Vec3, from: Vec3, to: Vec3) -> Vec<(Way, f64)> {
    let flat = |p: Vec3| (p.x - mount.x, p.y - mount.y);
    let (a, b) = (flat(from), flat(to));
    let far = |(x, y): (f64, f64)| (x * x + y * y).sqrt();
    let up = to.z - from.z;
    let out = far(b) - far(a);
    let turn = trig::atan2(a.0 * b.1 - a.1 * b.0, a.0 * b.0 + a.1 * b.1);
    let across = turn * (far(a) + far(b)) / 2.0;
    let way = |amount: f64, more: Way| (if amount >= 0.0 { more } else { more.other() }, amount.abs());
    let mut parts = vec![way(up, Way::Up), way(out, Way::AwayFromArm), way(across, Way::Left)];
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    parts
}
