//! What is known at each step along every path of the text: holds cleared, witnesses invited, things observed, steps
//! since the last sign-off.
//!
//! Where paths meet, only what holds on both is kept. A section that others perform is judged from what is known at
//! all its calls together; what a call does to the caller's knowledge is summed up once, since the knowledge of holds
//! only ever gains what the section gives and loses what its motions void.

use super::demands::{Demands, UNSIGNED_RUN, is_critical, signs_off};
use super::holds::CRITERION_NOT_OBSERVED;
use super::{Found, top};
use crate::diag::Diagnostic;
use crate::model::circles::order;
use crate::model::procedure::{Branch, Callee, Destination, Kind, Label, LineForm, Procedure, SectionKind, Step, Target};
use crate::model::{RoleId, StepId};
use crate::text::Span;

/// What is known before a step, on every path to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct State {
    /// Roles whose hold points were cleared since the last motion, a bit each.
    holds: u64,
    /// Roles invited to witness since the last motion.
    witnesses: u64,
    /// Something was read, checked or seen that a hold can rest on.
    observed: bool,
    /// A hold was cleared on what was observed.
    cleared: bool,
    /// A critical load may be held.
    pub(super) critical: bool,
    /// Steps since the last sign-off.
    run: u32,
    /// The run was already found too long.
    told: bool,
    /// No path leads here; everything counts as known, so that nothing is said.
    dead: bool,
}

impl State {
    const COLD: State =
        State { holds: 0, witnesses: 0, observed: false, cleared: false, critical: false, run: 0, told: false, dead: false };
    const DEAD: State =
        State { holds: u64::MAX, witnesses: u64::MAX, observed: true, cleared: false, critical: false, run: 0, told: true, dead: true };

    fn bit(role: RoleId) -> u64 {
        // A policy has few roles; beyond 64 a demand is never met, which errs on the strict side.
        1u64.checked_shl(u32::from(role.0)).unwrap_or(0)
    }
    pub(super) fn held_for(&self, role: RoleId) -> bool {
        self.holds & State::bit(role) != 0
    }
    pub(super) fn witnessed_by(&self, role: RoleId) -> bool {
        self.witnesses & State::bit(role) != 0
    }
    fn join(self, other: State) -> State {
        match (self.dead, other.dead) {
            (true, _) => other,
            (_, true) => self,
            _ => State {
                holds: self.holds & other.holds,
                witnesses: self.witnesses & other.witnesses,
                observed: self.observed && other.observed,
                cleared: self.cleared || other.cleared,
                critical: self.critical || other.critical,
                run: self.run.max(other.run),
                told: self.told || other.told,
                dead: false,
            },
        }
    }
}

/// What a section does to the knowledge of its caller.
#[derive(Clone, Copy)]
struct Summary {
    /// From nothing known.
    cold: State,
    /// From everything known.
    warm: State,
    /// Steps on its longest path without any sign-off, if it has such a path.
    unsigned: Option<u32>,
}

/// A run longer than any that is written, to see whether it lives through a section.
const LONG_RUN: u32 = 1 << 30;

impl Summary {
    fn apply(&self, before: State) -> State {
        if before.dead {
            return before;
        }
        State {
            holds: self.cold.holds | (before.holds & self.warm.holds),
            witnesses: self.cold.witnesses | (before.witnesses & self.warm.witnesses),
            observed: self.cold.observed || (before.observed && self.warm.observed),
            cleared: self.cold.cleared || (before.cleared && self.warm.cleared),
            critical: before.critical || self.cold.critical,
            run: self.unsigned.map_or(0, |n| before.run.saturating_add(n)).max(self.cold.run),
            told: before.told && self.unsigned.is_some(),
            dead: self.cold.dead,
        }
    }
}

struct Walk<'a, 'f> {
    found: &'f mut Found<'a>,
    demands: Demands,
    summaries: Vec<Option<Summary>>,
    /// By section: what is known at all its calls.
    calls: Vec<Option<State>>,
    /// Forward jumps under way: where they land, and with what.
    jumps: Vec<(StepId, State)>,
    /// Findings are made only in the pass that knows everything.
    speaks: bool,
    /// Criteria that name a step which comes later: the hold, the step, the line.
    early: Vec<(StepId, StepId, Span)>,
}

pub(super) fn check(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let edges = calls(procedure);
    let sections = procedure.sections.len();
    let demands = Demands::of(procedure);
    let mut walk = Walk {
        found,
        demands,
        summaries: vec![None; sections],
        calls: vec![None; sections],
        jumps: Vec::new(),
        speaks: false,
        early: Vec::new(),
    };
    let mut called = vec![false; sections];
    edges.iter().flatten().for_each(|(to, _)| called[*to] = true);
    let callers_first = if edges.iter().all(Vec::is_empty) { Vec::new() } else { order(&edges) };
    for section in callers_first.iter().rev().filter(|s| called[**s]) {
        walk.sum_up(*section);
    }
    walk.speaks = true;
    let mut state = State { critical: critical_at_start(procedure), ..State::COLD };
    let of_kind = |kind| procedure.sections.iter().enumerate().filter(move |(_, s)| s.kind == kind).map(|(i, _)| i);
    // Contingencies first: where one comes back, the step there must know what is known on that way too.
    for i in of_kind(SectionKind::Contingency) {
        // Entered on what was just seen, part-way through anything, with anything held.
        walk.section(i, State { observed: true, critical: procedure.cell.loads.iter().any(|l| l.critical), ..State::COLD });
    }
    for i in of_kind(SectionKind::Ordinary) {
        // A section that is also performed starts with what its callers can be sure of: nothing.
        if called[i] {
            state = state.join(State { observed: state.observed, run: state.run, ..State::COLD });
        }
        state = walk.section(i, state);
    }
    for i in callers_first {
        if procedure.sections[i].kind == SectionKind::OnCall {
            let entry = walk.calls[i].unwrap_or(State::DEAD);
            walk.section(i, entry);
        }
    }
    walk.name_too_early();
}

/// Which section performs which, and where.
pub(super) fn calls(procedure: &Procedure) -> Vec<Vec<(usize, StepId)>> {
    let mut edges = vec![Vec::new(); procedure.sections.len()];
    for step in &procedure.steps {
        if let Kind::Perform(callee) = &step.kind
            && let Callee::Section(to) = callee.value
        {
            edges[step.section.at()].push((to.at(), step.id));
        }
    }
    edges
}

fn critical_at_start(procedure: &Procedure) -> bool {
    procedure
        .start
        .as_ref()
        .is_some_and(|s| s.loads.iter().any(|(load, place)| place.value.is_none() && is_critical(procedure, load.value)))
}

impl Walk<'_, '_> {
    fn sum_up(&mut self, section: usize) {
        let jumps = self.jumps.len();
        let cold = self.section(section, State::COLD);
        let warm = State { holds: u64::MAX, witnesses: u64::MAX, observed: true, cleared: true, run: LONG_RUN, ..State::COLD };
        let warm = self.section(section, warm);
        self.jumps.truncate(jumps);
        self.summaries[section] = Some(Summary { cold, warm, unsigned: warm.run.checked_sub(LONG_RUN) });
    }

    fn section(&mut self, section: usize, mut state: State) -> State {
        let procedure = self.found.procedure;
        let mut ids = top(&procedure.sections[section]).peekable();
        while let Some(id) = ids.next() {
            state = self.step(id, ids.peek().copied(), state);
        }
        state
    }

    fn list(&mut self, ids: &[StepId], mut state: State) -> State {
        for (i, id) in ids.iter().enumerate() {
            state = self.step(*id, ids.get(i + 1).copied(), state);
        }
        state
    }

    fn step(&mut self, id: StepId, next: Option<StepId>, mut state: State) -> State {
        if !self.jumps.is_empty() {
            self.jumps.retain(|(target, carried)| {
                if *target == id {
                    state = state.join(*carried);
                }
                *target != id
            });
        }
        let step = self.found.step(id);
        if signs_off(step) {
            (state.run, state.told) = (0, false);
        } else if !state.dead {
            state.run = state.run.saturating_add(1);
        }
        if self.speaks && !state.dead {
            self.run_length(step, &mut state);
            self.demands.check(self.found, step, &state, next);
        }
        self.act(step, state)
    }

    fn run_length(&mut self, step: &Step, state: &mut State) {
        let longest = self.found.procedure.policy.longest_run;
        if state.run > longest.value && !state.told {
            state.told = true;
            let message =
                format!("step {} makes {} steps in a row without a sign-off; the site allows {}", step.number, state.run, longest.value);
            let problem = UNSIGNED_RUN.at(step.head, message).label(longest.span, "the policy's longest run");
            let help = "put a hold point, a witness point, a verification or a second person before it";
            self.found.at_step(step, problem.help(help).number("run", state.run).number("allowed", longest.value));
        }
    }

    /// What a step changes.
    fn act(&mut self, step: &Step, mut state: State) -> State {
        match &step.kind {
            Kind::HoldPoint(role) => {
                if self.speaks {
                    self.criterion(step, &state);
                }
                state.holds |= State::bit(role.value);
                state.cleared = true;
            }
            Kind::WitnessPoint(role) => state.witnesses |= State::bit(role.value),
            Kind::Move(_) | Kind::Together(_) | Kind::Lift(_) | Kind::Lower(_) | Kind::Jaw { .. } | Kind::Fit(_) | Kind::PutDown(_) => {
                state = moved(state);
            }
            Kind::Close(load) => {
                state = moved(state);
                state.critical |= is_critical(self.found.procedure, load.value);
            }
            Kind::LetGo { .. } => {
                state = moved(state);
                state.critical = false;
            }
            Kind::Power(_) | Kind::Set { .. } | Kind::GripLevel(_) => state = acted(state),
            Kind::If { arms } => {
                state.observed = true;
                state = self.arms(arms, state);
            }
            Kind::Repeat { body, .. } => state = self.repeat(body, state),
            Kind::Perform(callee) => state = self.perform(&callee.value, state),
            Kind::GoTo(destination) => {
                if let Destination::Step(target) = destination.value
                    && !state.dead
                {
                    self.jumps.push((target, state));
                }
                state = State::DEAD;
            }
            // What it was meant to be is not known; it may have been what is missed later.
            Kind::Broken => state = State { holds: u64::MAX, witnesses: u64::MAX, observed: true, ..state },
            Kind::Instruction | Kind::Check | Kind::Read(_) | Kind::Record { .. } | Kind::ReadJoints => state.observed = true,
            Kind::VerifyAfter(_) | Kind::ExpectPose(_) | Kind::ExpectAt(_) => state.observed = true,
            Kind::View { .. } | Kind::Tell(_) | Kind::Wait { .. } | Kind::Turnover => {}
        }
        if !step.lines.is_empty() {
            self.lines(step, &mut state);
        }
        state
    }

    fn lines(&mut self, step: &Step, state: &mut State) {
        for line in &step.lines {
            match (&line.form, line.label) {
                (LineForm::Step(target), _) if !state.dead => self.jumps.push((target.value, *state)),
                (_, Label::Proof | Label::Reply) => state.observed = true,
                _ => {}
            }
        }
    }

    fn arms(&mut self, arms: &[Branch], before: State) -> State {
        let complete = arms.iter().any(|a| a.otherwise) && arms.iter().any(|a| !a.otherwise);
        let mut after = if complete { State::DEAD } else { before };
        for arm in arms {
            after = after.join(self.list(&arm.steps, before));
        }
        after
    }

    /// The first pass starts from what was known before, later ones from what the body leaves too.
    fn repeat(&mut self, body: &[StepId], before: State) -> State {
        if !self.speaks {
            return self.list(body, before);
        }
        self.speaks = false;
        let again = self.list(body, before);
        self.speaks = true;
        let entry = State { run: before.run, told: before.told, ..before.join(again) };
        self.list(body, entry)
    }

    fn perform(&mut self, callee: &Callee, before: State) -> State {
        match callee {
            Callee::Section(section) => {
                let at = section.at();
                if self.speaks {
                    self.calls[at] = Some(self.calls[at].unwrap_or(State::DEAD).join(before));
                }
                self.summaries[at].map_or(before, |s| s.apply(before))
            }
            // Another procedure was checked by itself; what it leaves is not relied on.
            Callee::Procedure(_) => State { observed: true, critical: before.critical, ..State::COLD },
        }
    }

    fn criterion(&mut self, step: &Step, state: &State) {
        let Some(line) = step.line(Label::MustBeTrue) else { return };
        let words = line.text.span.of(self.found.text);
        if words.trim().is_empty() {
            return;
        }
        let named = named_steps(self.found.procedure, words, &line.text.links);
        let later = named.iter().find(|id| id.at() >= step.id.at());
        if let Some(id) = later {
            self.early.push((step.id, *id, line.text.span));
        } else if !state.observed && named.is_empty() {
            let message = "nothing was read, checked or seen since the last hold that this criterion could rest on";
            self.found.at_step(step, CRITERION_NOT_OBSERVED.at(line.text.span, message).help(CHECK_FIRST));
        }
    }

    /// A step put in or taken out shifts every number that follows it, so criteria that name too late a step are told
    /// together; each by itself where the site lets the rule be softened or waived.
    fn name_too_early(&mut self) {
        let policy = &self.found.procedure.policy;
        let id = CRITERION_NOT_OBSERVED.id;
        let apart = policy.waivable.iter().any(|w| w.value == id) || policy.severities.iter().any(|(rule, _)| rule.value == id);
        self.early.sort_by_key(|(.., span)| *span);
        let all = std::mem::take(&mut self.early);
        let number = |id: StepId| &self.found.step(id).number;
        let says = |named: StepId| format!("the criterion names step {}, which does not come before this hold", number(named));
        let groups: Vec<_> = if apart { all.chunks(1).collect() } else { all.chunks(all.len().max(1)).collect() };
        let mut problems = Vec::new();
        for ((hold, named, span), others) in groups.into_iter().filter_map(|g| g.split_first()) {
            let problem = CRITERION_NOT_OBSERVED.at(*span, says(*named)).help(CHECK_FIRST);
            let labelled = |p: Diagnostic, (_, named, at): &(StepId, StepId, Span)| p.label(*at, format!("step {} too", number(*named)));
            problems.push((*hold, others.iter().fold(problem, labelled)));
        }
        for (hold, problem) in problems {
            let problem = if problem.labels.is_empty() { problem } else { problem.help(RENUMBER) };
            self.found.at_step(self.found.step(hold), problem);
        }
    }
}

const CHECK_FIRST: &str = "put a `check` or `read` of it before the hold, and name that step in the criterion";
const RENUMBER: &str = "if a step was put in or taken out, name the steps by their new numbers";

/// Every act after a hold uses up what the hold rested on.
fn acted(state: State) -> State {
    if state.cleared { State { observed: false, cleared: false, ..state } } else { state }
}

/// A motion voids holds and invitations too.
fn moved(state: State) -> State {
    if state.dead {
        return state;
    }
    State { holds: 0, witnesses: 0, ..acted(state) }
}

/// The steps that a criterion names: by link, or as "step 3".
fn named_steps(procedure: &Procedure, words: &str, links: &[crate::model::procedure::Link]) -> Vec<StepId> {
    let anchored = links.iter().filter_map(|l| match &l.target.value {
        Target::Anchor(name) => procedure.steps.iter().find(|s| s.anchor.as_ref().is_some_and(|a| a.value == *name)).map(|s| s.id),
        Target::File { .. } => None,
    });
    let has = |number: &str| procedure.steps.iter().find(|s| s.number.to_string() == number).map(|s| s.id);
    anchored.chain(super::words::mentioned(words).into_iter().filter_map(has)).collect()
}
