//! Jumps between steps: forward, not into a branch, and past no hold point, from wherever they can be taken.
//!
//! A jump of a contingency is judged from every step that can lead there; one of an on-call section from every call.

use super::Found;
use super::flow::calls;
use super::references::{BACKWARD_GO_TO, GO_TO_INTO_BRANCH, HOLD_BYPASSED, leads};
use crate::model::StepId;
use crate::model::circles::order;
use crate::model::procedure::{Callee, Destination, Kind, Procedure, SectionKind, Step};
use crate::text::Span;

/// The first and last step of the ordinary sections at which something can be entered.
type Reach = Option<(StepId, StepId)>;

fn widen(reach: &mut Reach, (first, last): (StepId, StepId)) -> bool {
    let wider = reach.map_or((first, last), |(a, b)| (a.min(first), b.max(last)));
    reach.replace(wider) != Some(wider)
}

pub(super) struct Jumps<'a> {
    procedure: &'a Procedure,
    /// By section that is not ordinary: from where it can be entered.
    reach: Vec<Reach>,
    /// Steps of ordinary sections that are hold points or perform some.
    holds: Vec<StepId>,
    /// Of those that perform, the ones that can be left for a contingency before the last hold in them.
    left_early: Vec<StepId>,
    /// By step: which arm of its parent it stands in.
    arm: Vec<u8>,
}

/// Whether a procedure has hold points, its own or of one it performs.
fn holds_within(procedure: &Procedure) -> bool {
    procedure.steps.iter().any(|s| match &s.kind {
        Kind::HoldPoint(_) => true,
        Kind::Perform(callee) => matches!(&callee.value, Callee::Procedure(q) if holds_within(q)),
        _ => false,
    })
}

impl<'a> Jumps<'a> {
    pub(super) fn of(procedure: &'a Procedure) -> Jumps<'a> {
        let edges = calls(procedure);
        let callers_first = order(&edges);
        let own = |s: &&Step| match &s.kind {
            Kind::HoldPoint(_) => true,
            Kind::Perform(callee) => matches!(&callee.value, Callee::Procedure(q) if holds_within(q)),
            _ => false,
        };
        // By section: the last step in it that holds, and whether a line leads away up to there.
        let mut last = vec![None; procedure.sections.len()];
        for step in procedure.steps.iter().filter(own) {
            last[step.section.at()] = Some(step.id);
        }
        let mut early = vec![false; procedure.sections.len()];
        for section in callers_first.iter().rev() {
            for (to, id) in &edges[*section] {
                last[*section] = last[*section].max(last[*to].map(|_| *id));
            }
        }
        for step in &procedure.steps {
            early[step.section.at()] |= last[step.section.at()].is_some_and(|l| step.id <= l) && leads(step).next().is_some();
        }
        for section in callers_first.iter().rev() {
            early[*section] |= edges[*section].iter().any(|(to, _)| early[*to]);
        }
        let ordinary = |s: &Step| procedure.section(s.section).kind == SectionKind::Ordinary;
        let mut holds: Vec<StepId> = procedure.steps.iter().filter(|s| ordinary(s) && own(s)).map(|s| s.id).collect();
        let performs = edges.iter().flatten().filter(|(to, id)| last[*to].is_some() && ordinary(procedure.step(*id)));
        holds.extend(performs.clone().map(|(_, id)| *id));
        holds.sort();
        let left_early = performs.filter(|(to, _)| early[*to]).map(|(_, id)| *id).collect();
        let mut arm = vec![0; procedure.steps.len()];
        for step in &procedure.steps {
            if let Kind::If { arms } = &step.kind {
                (0u8..).zip(arms).flat_map(|(n, a)| a.steps.iter().map(move |id| (n, id))).for_each(|(n, id)| arm[id.at()] = n);
            }
        }
        let mut jumps = Jumps { procedure, reach: vec![None; procedure.sections.len()], holds, left_early, arm };
        jumps.spread(&edges, &callers_first);
        jumps
    }

    /// Finds from where each section can be entered, until nothing changes.
    fn spread(&mut self, edges: &[Vec<(usize, StepId)>], callers_first: &[usize]) {
        let leading: Vec<(&Step, usize)> = self
            .procedure
            .steps
            .iter()
            .flat_map(|s| {
                leads(s).filter_map(move |(d, _)| match d {
                    Destination::Contingency(section) => Some((s, section.at())),
                    Destination::Step(_) => None,
                })
            })
            .collect();
        let mut changed = true;
        while changed {
            changed = false;
            for section in callers_first {
                for (to, id) in &edges[*section] {
                    if let Some(from) = self.entries(self.procedure.step(*id)) {
                        changed |= widen(&mut self.reach[*to], from);
                    }
                }
            }
            for (step, to) in &leading {
                if let Some(from) = self.entries(step) {
                    changed |= widen(&mut self.reach[*to], from);
                }
            }
        }
    }

    /// Where in the ordinary sections the arm's work stands when `step` is done.
    fn entries(&self, step: &Step) -> Reach {
        match self.procedure.section(step.section).kind {
            SectionKind::Ordinary => Some((step.id, step.id)),
            _ => self.reach[step.section.at()],
        }
    }

    pub(super) fn check(&self, found: &mut Found<'_>) {
        for step in &self.procedure.steps {
            for (destination, span) in leads(step) {
                if let Destination::Step(target) = destination {
                    self.jump(found, step, self.procedure.step(target), span);
                }
            }
        }
    }

    fn jump(&self, found: &mut Found<'_>, step: &Step, target: &Step, span: Span) {
        let kind = |s: &Step| self.procedure.section(s.section).kind;
        let inside = match (kind(step), kind(target)) {
            (SectionKind::Ordinary, SectionKind::Ordinary) => None,
            (SectionKind::Contingency, SectionKind::Ordinary) => self.reach[step.section.at()],
            _ if step.section == target.section => None,
            (_, SectionKind::Contingency) => return self.into(found, step, target, span, "a contingency"),
            (_, SectionKind::OnCall) => return self.into(found, step, target, span, "a section that is only performed"),
            (SectionKind::OnCall, _) => {
                return self.into(found, step, target, span, "another section, out of one that is performed and comes back");
            }
        };
        if step.section != target.section || kind(step) == SectionKind::Ordinary {
            let Some((first, last)) = inside.or_else(|| self.entries(step)) else { return };
            // From a contingency the way is judged from the steps that lead there.
            let (early, late) = (self.procedure.step(first), self.procedure.step(last));
            if !self.open(if inside.is_some() { early } else { step }, target) {
                return self.into(found, step, target, span, "a branch or a repeat");
            }
            if target.id <= last {
                return backward(found, step, late, target, span);
            }
            // Only a line leads away from a hold point itself, and it does so while nobody has cleared it; one of a
            // step that performs some does so before they are.
            let uncleared = |s: &Step| match s.kind {
                Kind::HoldPoint(_) => true,
                Kind::Perform(_) => (s.id == step.id && self.holds.contains(&s.id)) || self.left_early.contains(&s.id),
                _ => false,
            };
            if let Some(hold) = [step, early].into_iter().find(|s| uncleared(s)) {
                return bypassed(found, step, hold, span);
            }
            self.past_holds(found, step, early, target, span);
        } else if !self.open(step, target) {
            self.into(found, step, target, span, "a branch or a repeat");
        } else if target.id <= step.id {
            backward(found, step, step, target, span);
        } else {
            let between = self.procedure.steps[step.id.at() + 1..target.id.at()].iter();
            let hold = between.filter(|s| matches!(s.kind, Kind::HoldPoint(_))).find(|h| !self.on_another_arm(step, h));
            if let Some(hold) = hold {
                bypassed(found, step, hold, span);
            }
        }
    }

    /// The arm or body a step stands in, and those around it: the step that has it, and which arm.
    fn around(&self, step: &Step) -> impl Iterator<Item = (StepId, u8)> + '_ {
        let mut inner = step.id;
        std::iter::from_fn(move || {
            let outer = self.procedure.step(inner).parent?;
            let arm = self.arm[inner.at()];
            inner = outer;
            Some((outer, arm))
        })
    }

    /// Everything around the target is around the start too.
    fn open(&self, from: &Step, target: &Step) -> bool {
        self.around(target).all(|place| self.around(from).any(|p| p == place))
    }

    /// `other` stands in another arm of a condition that `step` is in, so the way never led through it.
    fn on_another_arm(&self, step: &Step, other: &Step) -> bool {
        self.around(other).any(|(id, arm)| self.around(step).any(|(i, a)| i == id && a != arm))
    }

    fn past_holds(&self, found: &mut Found<'_>, step: &Step, from: &Step, target: &Step, span: Span) {
        let start = self.holds.partition_point(|h| *h <= from.id);
        let between = self.holds[start..].iter().take_while(|h| **h < target.id).map(|h| self.procedure.step(*h));
        if let Some(hold) = between.into_iter().find(|h| !self.on_another_arm(from, h)) {
            bypassed(found, step, hold, span);
        }
    }

    fn into(&self, found: &mut Found<'_>, step: &Step, target: &Step, span: Span, what: &str) {
        let message = format!("step {} leads into the middle of {what}, to step {}", step.number, target.number);
        let problem = GO_TO_INTO_BRANCH.at(span, message).label(target.head, "leads here");
        found.at_step(step, problem.help("lead to a step before or after it"));
    }
}

fn backward(found: &mut Found<'_>, step: &Step, from: &Step, target: &Step, span: Span) {
    let message = if from.id == step.id {
        format!("step {} leads back to step {}", step.number, target.number)
    } else {
        format!("entered from step {}, step {} leads back to step {}", from.number, step.number, target.number)
    };
    let problem = BACKWARD_GO_TO.at(span, message).label(target.head, "leads back here");
    found.at_step(step, problem.help("lead forward, or write `repeat at most N until` around the steps that are tried again"));
}

fn bypassed(found: &mut Found<'_>, step: &Step, hold: &Step, span: Span) {
    let what = match hold.kind {
        Kind::HoldPoint(_) => "the hold point at",
        _ => "the hold points performed at",
    };
    let problem = HOLD_BYPASSED.at(span, format!("this leads past {what} step {}", hold.number)).label(hold.head, "bypassed");
    found.at_step(step, problem.help("lead to the hold point or to a step before it"));
}
