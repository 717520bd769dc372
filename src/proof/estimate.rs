//! How long a procedure takes, from the rates of the joints, its waits, and the times that the policy gives for acts.
//!
//! Invariant: motion is never given out as the time of a task. Where the policy gives no times, the estimate says that it is motion
//! and waits alone.

use crate::model::policy::{Task, Times};
use crate::model::procedure::{Callee, Drive, Goal, Item, Kind, Label, Pace, Procedure, Section, SectionKind, Step};
use crate::model::{SectionId, StepId};
use crate::trace::state::Entry;
use crate::trace::{FrameId, RowId, Trace};
use crate::units::Ratio;
use std::collections::{BTreeMap, BTreeSet};

/// Milliseconds, at least and at most.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Range {
    /// By the shortest way.
    pub least: i64,
    /// By the longest.
    pub most: i64,
}

impl Range {
    fn plus(self, other: Range) -> Range {
        Range { least: self.least.saturating_add(other.least), most: self.most.saturating_add(other.most) }
    }
}

/// The time of a procedure.
#[derive(Debug, Default)]
pub struct Estimate {
    /// Whether the policy gives times of acts; otherwise it is motion and waits alone.
    pub of_acts: bool,
    /// What of the acts has no time in the policy, by the policy's keys.
    pub without: BTreeSet<&'static str>,
    /// Each printed step by itself: its motion, and all of it.
    pub steps: BTreeMap<RowId, (Range, Range)>,
    /// Each section of the procedure itself, what it performs included; contingencies are not in the total.
    pub sections: Vec<(SectionId, Range)>,
    /// From the first step to the last.
    pub total: Range,
    /// Waits without an upper bound, counted at their least.
    pub open: Vec<RowId>,
}

/// Works it out.
pub fn estimate(root: &Procedure, trace: &Trace) -> Estimate {
    let times = root.policy.times.as_ref();
    let mut clock = Clock { root, trace, times, out: Estimate { of_acts: times.is_some(), ..Estimate::default() } };
    for (i, section) in root.sections.iter().enumerate().filter(|(_, s)| s.kind != SectionKind::OnCall) {
        let range = clock.section(FrameId::ROOT, section);
        let id = SectionId(u16::try_from(i).unwrap_or(u16::MAX));
        if section.items.iter().any(|i| matches!(i, Item::Step(_))) {
            clock.out.sections.push((id, range));
        }
        if section.kind == SectionKind::Ordinary {
            clock.out.total = clock.out.total.plus(range);
        }
    }
    clock.out
}

struct Clock<'a> {
    root: &'a Procedure,
    trace: &'a Trace,
    times: Option<&'a Times>,
    out: Estimate,
}

impl<'a> Clock<'a> {
    fn section(&mut self, frame: FrameId, section: &Section) -> Range {
        let steps: Vec<StepId> = section.items.iter().filter_map(|i| if let Item::Step(id) = i { Some(*id) } else { None }).collect();
        self.list(frame, &steps)
    }

    fn list(&mut self, frame: FrameId, steps: &[StepId]) -> Range {
        steps.iter().fold(Range::default(), |sum, step| sum.plus(self.step(frame, *step)))
    }

    fn step(&mut self, frame: FrameId, id: StepId) -> Range {
        let p: &'a Procedure = self.trace.procedure_of(self.root, frame);
        let step = p.step(id);
        let Some(row) = self.trace.row(frame, id) else { return Range::default() };
        let motion = self.motion(p, row, step);
        let own = motion.plus(self.acts(row, step));
        self.out.steps.insert(row, (motion, own));
        let inside = match &step.kind {
            Kind::If { arms } => {
                let each: Vec<Range> = arms.iter().map(|a| self.list(frame, &a.steps)).collect();
                let (least, most) = (each.iter().map(|r| r.least).min(), each.iter().map(|r| r.most).max());
                Range { least: least.unwrap_or(0), most: most.unwrap_or(0) }
            }
            Kind::Repeat { at_most, body } => {
                let once = self.list(frame, body);
                Range { least: once.least, most: once.most.saturating_mul(i64::from(at_most.value)) }
            }
            Kind::Perform(callee) => match (self.trace.callee(row), &callee.value) {
                (Some(inner), Callee::Section(section)) => self.section(inner, p.section(*section)),
                (Some(inner), Callee::Procedure(other)) => {
                    let ordinary = other.sections.iter().filter(|s| s.kind == SectionKind::Ordinary);
                    ordinary.fold(Range::default(), |sum, s| sum.plus(self.section(inner, s)))
                }
                (None, _) => Range::default(),
            },
            _ => Range::default(),
        };
        own.plus(inside)
    }

    /// Waits, and what the site says of the acts.
    fn acts(&mut self, row: RowId, step: &Step) -> Range {
        let mut sum = Range::default();
        if let Kind::Wait { at_least, at_most } = &step.kind {
            let least = at_least.value.0;
            sum = Range { least, most: at_most.map_or(least, |m| m.value.0.max(least)) };
            if at_most.is_none() {
                self.out.open.push(row);
            }
        }
        let Some(times) = self.times else { return sum };
        let second = step.lines.iter().any(|l| l.label == Label::SecondPerson).then_some(Task::SecondPerson);
        for task in [Some(Task::Step), task(&step.kind), second].into_iter().flatten() {
            match times.of(task) {
                Some(time) => sum = sum.plus(Range { least: time.0, most: time.0 }),
                None => drop(self.out.without.insert(task.word())),
            }
        }
        sum
    }

    /// The motion, over all states it can start in.
    fn motion(&self, p: &Procedure, row: RowId, step: &Step) -> Range {
        let drives: Vec<&Drive> = match &step.kind {
            Kind::Move(drive) => vec![drive],
            Kind::Lift(t) | Kind::Lower(t) => vec![&t.drive],
            Kind::Together(two) => two.drives.iter().collect(),
            _ => return Range::default(),
        };
        let mut out: Option<Range> = None;
        for before in self.trace.before(row) {
            for after in self.trace.after(row) {
                let each: Vec<Range> = drives.iter().map(|d| self.drive(p, d, before, after)).collect();
                // Two sticks at once at best, one behind the other at worst.
                let least = each.iter().map(|r| r.least).max().unwrap_or(0);
                let most = each.iter().fold(0_i64, |sum, r| sum.saturating_add(r.most));
                let so_far = out.unwrap_or(Range { least, most });
                out = Some(Range { least: so_far.least.min(least), most: so_far.most.max(most) });
            }
        }
        out.unwrap_or_default()
    }

    fn drive(&self, p: &Procedure, drive: &Drive, before: &Entry, after: &Entry) -> Range {
        let id = drive.joint.value;
        let (joint, from, to) = (p.arm.joint(id), before.state.joint(id), after.state.joint(id));
        let rate = joint.rate.value.0;
        if rate <= 0 || !from.is_known() || !to.is_known() {
            return Range::default();
        }
        let near = (to.low - from.high).0.max((from.low - to.high).0).max(0);
        let far = (to.high - from.low).0.abs().max((from.high - to.low).0.abs());
        let one = Ratio(1_000_000);
        let factor = self.times.map_or(one, |t| match &drive.goal {
            Goal::To { pace: Pace::Slow, .. } => t.slow,
            Goal::To { pace: Pace::Inch, .. } | Goal::Until { .. } | Goal::Taps { .. } => t.inch,
            Goal::To { .. } | Goal::By { .. } => t.full,
        });
        let scaled = |distance: i64| {
            let top = i128::from(distance) * 1000 * i128::from(factor.0);
            i64::try_from(top / (i128::from(rate) * i128::from(one.0))).unwrap_or(i64::MAX)
        };
        // A joint comes from rest and to rest: by a ramp that is one length of it in all.
        let ramp = p.arm.ramp.as_ref().map_or(0, |r| r.value.0);
        Range { least: scaled(near), most: scaled(far).saturating_add(1).saturating_add(ramp) }
    }
}

/// What the site has a time for.
fn task(kind: &Kind) -> Option<Task> {
    Some(match kind {
        Kind::Instruction => Task::Words,
        Kind::Check | Kind::If { .. } => Task::Check,
        Kind::Read(_) | Kind::Record { .. } => Task::Read,
        Kind::ReadJoints | Kind::ExpectPose(_) | Kind::ExpectAt(_) => Task::Compare,
        Kind::GripLevel(_) | Kind::Close(_) | Kind::Jaw { .. } | Kind::LetGo { .. } => Task::Grip,
        Kind::View { .. } => Task::View,
        Kind::Tell(_) => Task::Tell,
        Kind::HoldPoint(_) => Task::Hold,
        Kind::WitnessPoint(_) => Task::Witness,
        Kind::VerifyAfter(_) => Task::Verify,
        Kind::Power(_) => Task::Power,
        Kind::Fit(_) | Kind::PutDown(_) => Task::Tool,
        Kind::Set { .. } => Task::Equipment,
        Kind::Turnover => Task::Turnover,
        Kind::Move(_)
        | Kind::Together(_)
        | Kind::Lift(_)
        | Kind::Lower(_)
        | Kind::Wait { .. }
        | Kind::Repeat { .. }
        | Kind::Perform(_)
        | Kind::GoTo(_)
        | Kind::Broken => return None,
    })
}
