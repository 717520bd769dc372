//! How sets of states travel: sections in order, branches, repeats, calls, jumps.
//!
//! Invariant: every set is finite and the walk ends: repeats are walked at most twice, expansions and states
//! are counted, contingencies only take in states they have not seen.

mod contingency;

use super::doubt::{Hop, How};
use super::rules::flow as rules;
use super::state::{Elapsed, Entry, PathId, State};
use super::ways::Taken;
use super::{End, Frame, FrameId, MOST_STATES, NONE, Row, Set, Trace, Visit, measure, number, situation, transfer};
use crate::diag::{Diagnostic, Rule};
use crate::model::procedure::{
    Callee, DEEPEST_PERFORM, Destination, Effect, Goal, Item, Kind, Label, Line, LineForm, Procedure, SectionKind, Step,
};
use crate::model::{SectionId, StepId};
use crate::text::Span;
use std::sync::Arc;

/// Most steps an expanded procedure may have.
pub(super) const MOST_ROWS: usize = 20_000;
/// Most states that are held over a whole procedure, so that nested repeats cannot run for ever.
const MOST_ENTRIES: usize = 500_000;

/// Traces from the declared start to every end.
pub(super) fn run(p: &Procedure) -> Trace {
    let trace = Trace {
        pool: Vec::with_capacity(p.steps.len() + 8),
        visits: Vec::with_capacity(p.steps.len() + 8),
        rows: Vec::with_capacity(p.steps.len()),
        frames: Vec::new(),
        ways: Vec::new(),
        hops: Vec::with_capacity(p.steps.len()),
        ends: Vec::new(),
        margins: Vec::with_capacity(4 * p.steps.len()),
        callees: Vec::new(),
        finish: Set::EMPTY,
        problems: Vec::new(),
    };
    let mut walker = Walker { root: p, trace, jumps: Vec::new(), links: Vec::new(), scratch: Vec::new() };
    walker.open_frame(p, None, 0, None);
    let start = walker.trace.push(Entry { state: situation::start(p), path: PathId(0), elapsed: Elapsed::NONE });
    let finish = walker.whole(p, FrameId::ROOT, start);
    walker.trace.finish = finish;
    walker.contingencies();
    rules::unreached(&mut walker.trace, p);
    walker.trace
}

/// States waiting at a step further on.
struct Jump {
    frame: FrameId,
    target: StepId,
    set: Set,
}

/// A line or `go to` that leads out of the printed order.
#[derive(Clone, Copy)]
struct Link {
    /// The frame of the whole procedure whose contingency or step is meant.
    home: FrameId,
    to: Destination,
    span: Span,
    from: Origin,
}

/// Where a link's states come from.
#[derive(Clone, Copy)]
enum Origin {
    /// Before, during and after this visit.
    Visit(u32),
    /// Exactly these, behind a `go to` of this row.
    States(Set),
}

/// The lists around a step: where a `go to` may lead forward.
struct Open<'l> {
    frame: FrameId,
    rest: &'l [StepId],
    up: Option<&'l Open<'l>>,
}

/// A state on its way into the pool, with the one it came from.
struct Coming {
    entry: Entry,
    from: u32,
    how: How,
}

struct Walker<'a> {
    root: &'a Procedure,
    trace: Trace,
    jumps: Vec<Jump>,
    links: Vec<Link>,
    scratch: Vec<Coming>,
}

impl Trace {
    fn push(&mut self, entry: Entry) -> Set {
        let start = self.mark();
        self.pool.push(entry);
        Set { start, end: self.mark() }
    }
    /// Adds a state that came from another one.
    fn take_over(&mut self, entry: Entry, from: u32, how: How) {
        self.hops.push(Hop { entry: self.mark(), from, how });
        self.pool.push(entry);
    }
    fn mark(&self) -> u32 {
        u32::try_from(self.pool.len()).unwrap_or(u32::MAX)
    }
}

impl Walker<'_> {
    fn report(&mut self, finding: Diagnostic) {
        if !self.trace.problems.iter().any(|f| f.rule == finding.rule && f.span == finding.span) {
            self.trace.problems.push(finding);
        }
    }

    /// Reports what would otherwise be said at every step that follows.
    fn report_first(&mut self, finding: Diagnostic) {
        if !self.trace.problems.iter().any(|f| f.rule == finding.rule) {
            self.trace.problems.push(finding);
        }
    }

    fn is_full(&self) -> bool {
        self.trace.pool.len() > MOST_ENTRIES
    }

    /// A finding at a step of a frame.
    fn at(&self, rule: &'static Rule, frame: FrameId, step: &Step, span: Span, message: String) -> Diagnostic {
        let number = self.trace.row(frame, step.id).map(|r| self.trace.number(self.root, r));
        let finding = rule.at(span, message);
        match number {
            Some(n) => finding.step(n),
            None => finding,
        }
    }

    fn open_frame(&mut self, p: &Procedure, caller: Option<(FrameId, StepId)>, procedure: u16, section: Option<SectionId>) -> FrameId {
        let id = FrameId(u32::try_from(self.trace.frames.len()).unwrap_or(u32::MAX));
        let (first_step, steps) = match section {
            None => (0, p.steps.len()),
            Some(section) => {
                let first = p.steps.iter().position(|s| s.section == section).unwrap_or(0);
                (first, p.steps[first..].iter().take_while(|s| s.section == section).count())
            }
        };
        let first_row = self.trace.rows.len();
        let rows = p.steps[first_step..first_step + steps].iter();
        self.trace.rows.extend(rows.map(|s| Row { frame: id, step: s.id, first: NONE, last: NONE, callee: None }));
        self.trace.frames.push(Frame { caller, procedure, section, first_step, first_row, steps });
        id
    }

    /// The ordinary sections of a procedure in order.
    fn whole(&mut self, p: &Procedure, frame: FrameId, set: Set) -> Set {
        let ordinary = p.sections.iter().filter(|s| s.kind == SectionKind::Ordinary);
        let steps: Vec<StepId> = ordinary.flat_map(|s| s.items.iter()).filter_map(step_of).collect();
        self.list(p, frame, &steps, set, None)
    }

    fn list(&mut self, p: &Procedure, frame: FrameId, steps: &[StepId], mut set: Set, up: Option<&Open<'_>>) -> Set {
        for (i, id) in steps.iter().enumerate() {
            if self.is_full() {
                let finding = self.at(&rules::TOO_LONG, frame, p.step(*id), p.step(*id).head, rules::TOO_MUCH.to_string());
                self.report_first(finding);
                return set;
            }
            if !self.jumps.is_empty() {
                set = self.arrive(frame, *id, set);
            }
            if set.is_empty() && self.jumps.is_empty() {
                return Set::EMPTY;
            }
            let open = Open { frame, rest: &steps[i + 1..], up };
            // With nothing here yet, a later step of this list may still be jumped to.
            if !set.is_empty() {
                set = self.step(p, frame, p.step(*id), set, &open);
            }
        }
        set
    }

    /// Joins the states that were sent to a step.
    fn arrive(&mut self, frame: FrameId, step: StepId, set: Set) -> Set {
        let here = |j: &Jump| j.frame == frame && j.target == step;
        if !self.jumps.iter().any(here) {
            return set;
        }
        let mut sets = vec![set];
        sets.extend(self.jumps.iter().filter(|j| here(j)).map(|j| j.set));
        self.jumps.retain(|j| !here(j));
        self.union(frame, step, &sets)
    }

    /// The states of several sets, each once, with all ways to it. More than can be followed are cut and reported.
    fn union(&mut self, frame: FrameId, step: StepId, sets: &[Set]) -> Set {
        let mut full = sets.iter().filter(|s| !s.is_empty());
        let first = full.next().copied().unwrap_or(Set::EMPTY);
        if full.next().is_none() {
            return first;
        }
        self.scratch.clear();
        for set in sets {
            for from in set.start..set.end {
                self.scratch.push(Coming { entry: self.trace.pool[from as usize].clone(), from, how: How::Same });
            }
        }
        self.settle(frame, step)
    }

    /// Puts the scratch entries into the pool, each state once.
    fn settle(&mut self, frame: FrameId, step: StepId) -> Set {
        let start = self.trace.mark();
        let mut too_many = false;
        // States that several ways lead to have a path of their own.
        let mut opened: Vec<usize> = Vec::new();
        let mut scratch = std::mem::take(&mut self.scratch);
        for Coming { entry, from, how } in scratch.drain(..) {
            let first = start as usize;
            let pool = &mut self.trace.pool;
            let at = match pool[first..].iter().position(|e| e.state == entry.state) {
                Some(at) => {
                    let known = first + at;
                    pool[known].elapsed = pool[known].elapsed.hull(entry.elapsed);
                    let path = pool[known].path;
                    if path != entry.path {
                        if !opened.contains(&known) {
                            self.trace.pool[known].path = self.trace.open(path);
                            opened.push(known);
                        }
                        self.trace.join(self.trace.pool[known].path, entry.path);
                    }
                    known
                }
                None if pool.len() - first < MOST_STATES => {
                    pool.push(entry);
                    pool.len() - 1
                }
                None => {
                    too_many = true;
                    continue;
                }
            };
            self.trace.hops.push(Hop { entry: u32::try_from(at).unwrap_or(u32::MAX), from, how });
        }
        self.scratch = scratch;
        let set = Set { start, end: self.trace.mark() };
        if too_many {
            let finding = rules::too_many_states(&self.trace, self.root, frame, step, set);
            self.report(finding);
        }
        set
    }

    /// The same states, one branch further.
    fn branch(&mut self, set: Set, frame: FrameId, step: StepId, taken: Taken) -> Set {
        let start = self.trace.mark();
        for from in set.start..set.end {
            let mut entry = self.trace.pool[from as usize].clone();
            entry.path = self.trace.way(entry.path, frame, step, taken);
            self.trace.take_over(entry, from, How::Same);
        }
        Set { start, end: self.trace.mark() }
    }

    fn visit(&mut self, frame: FrameId, step: StepId, before: Set, after: Set, margins: (u32, u32)) -> u32 {
        let at = u32::try_from(self.trace.visits.len()).unwrap_or(u32::MAX);
        let Some(row) = self.trace.row(frame, step) else { return at };
        self.trace.visits.push(Visit { row: row.0, before, after, margins, next: NONE });
        let row = &mut self.trace.rows[row.0 as usize];
        match row.last {
            NONE => row.first = at,
            last => self.trace.visits[last as usize].next = at,
        }
        row.last = at;
        at
    }

    fn step(&mut self, p: &Procedure, frame: FrameId, step: &Step, set: Set, open: &Open<'_>) -> Set {
        let visit = match &step.kind {
            Kind::If { arms } => {
                let visit = self.visit(frame, step.id, set, Set::EMPTY, (0, 0));
                let mut exits = Vec::with_capacity(arms.len() + 1);
                for (n, arm) in arms.iter().enumerate() {
                    let taken = Taken::Arm(u16::try_from(n).unwrap_or(u16::MAX));
                    let entry = self.branch(set, frame, step.id, taken);
                    exits.push(self.list(p, frame, &arm.steps, entry, Some(open)));
                }
                if !arms.iter().any(|a| a.otherwise) {
                    exits.push(set);
                }
                self.leave(visit, frame, step.id, &exits)
            }
            Kind::Repeat { at_most, body } => {
                let visit = self.visit(frame, step.id, set, Set::EMPTY, (0, 0));
                let exits = self.repeat(p, frame, step, body, at_most.value, set, open);
                self.leave(visit, frame, step.id, &exits)
            }
            Kind::Perform(callee) => {
                let visit = self.visit(frame, step.id, set, Set::EMPTY, (0, 0));
                let exit = self.perform(p, frame, step, &callee.value, callee.span, set, open);
                self.leave(visit, frame, step.id, &[exit])
            }
            Kind::GoTo(to) => {
                let visit = self.visit(frame, step.id, set, Set::EMPTY, (0, 0));
                self.go_to(p, frame, step, to.value, to.span, set, open);
                visit
            }
            Kind::Broken => {
                self.scratch.clear();
                for from in set.start..set.end {
                    let mut entry = self.trace.pool[from as usize].clone();
                    transfer::mute(&mut entry.state);
                    self.scratch.push(Coming { entry, from, how: How::Same });
                }
                let after = self.settle(frame, step.id);
                self.visit(frame, step.id, set, after, (0, 0))
            }
            _ => self.act(p, frame, step, set),
        };
        let inner = self.trace.visits.len();
        for line in &step.lines {
            self.link(frame, line, visit);
            if line.label == Label::StopIf {
                // What stops a branch, a repeat or a call stops every step in it.
                for within in visit as usize + 1..inner {
                    self.link(frame, line, u32::try_from(within).unwrap_or(u32::MAX));
                }
            }
        }
        self.trace.visits[visit as usize].after
    }

    fn leave(&mut self, visit: u32, frame: FrameId, step: StepId, exits: &[Set]) -> u32 {
        self.trace.visits[visit as usize].after = self.union(frame, step, exits);
        visit
    }

    /// Applies a step's effects to every state.
    fn act(&mut self, p: &Procedure, frame: FrameId, step: &Step, set: Set) -> u32 {
        let mut effects = step.effects().into_iter();
        let Some(first) = effects.next() else { return self.visit(frame, step.id, set, set, (0, 0)) };
        let second = effects.next();
        let origin = self.trace.frames[frame.0 as usize].procedure;
        let spare = self.trace.margins.len();
        let start = self.trace.mark();
        self.scratch.clear();
        let how = How::Act(u32::try_from(self.trace.visits.len()).unwrap_or(u32::MAX));
        for (n, from) in (set.start..set.end).enumerate() {
            let mut entry = self.trace.pool[from as usize].clone();
            let n = u16::try_from(n).unwrap_or(u16::MAX);
            let mut one = |effect: &Effect<'_>, entry: &mut Entry| {
                measure::record(p, effect, &entry.state, n, &mut self.trace.margins);
                transfer::apply(p, origin, step, effect, &mut entry.state, &mut entry.elapsed);
            };
            one(&first, &mut entry);
            if let Some(second) = &second {
                one(second, &mut entry);
            }
            if set.range().len() == 1 {
                self.trace.take_over(entry, from, how);
            } else {
                self.scratch.push(Coming { entry, from, how });
            }
        }
        let after = if self.scratch.is_empty() { Set { start, end: self.trace.mark() } } else { self.settle(frame, step.id) };
        let mark = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        self.visit(frame, step.id, set, after, (mark(spare), mark(self.trace.margins.len())))
    }

    fn link(&mut self, frame: FrameId, line: &Line, visit: u32) {
        let (to, span) = match &line.form {
            LineForm::Contingency(section) => (Destination::Contingency(section.value), section.span),
            LineForm::Step(step) => (Destination::Step(step.value), step.span),
            LineForm::Words | LineForm::HoldAndTell(_) | LineForm::SecondPerson { .. } | LineForm::Touching(_) | LineForm::Broken => return,
        };
        let home = number::home(&self.trace, frame);
        self.links.push(Link { home, to, span, from: Origin::Visit(visit) });
    }

    #[allow(clippy::too_many_arguments, reason = "the walk's own context travels with every step")]
    fn repeat(&mut self, p: &Procedure, frame: FrameId, step: &Step, body: &[StepId], most: u32, set: Set, open: &Open<'_>) -> Vec<Set> {
        let second = self.list(p, frame, body, set, Some(open));
        let mut exits = vec![second];
        if most < 2 || second.is_empty() {
            return exits;
        }
        let entry = self.branch(second, frame, step.id, Taken::Pass(2));
        let third = self.list(p, frame, body, entry, Some(open));
        exits.push(third);
        if most > 2 {
            self.trace.ends.extend(self.trace.row(frame, step.id).map(|row| End::Passes(row, second, third)));
        }
        exits
    }

    #[allow(clippy::too_many_arguments, reason = "the walk's own context travels with every step")]
    fn go_to(&mut self, p: &Procedure, frame: FrameId, step: &Step, to: Destination, span: Span, set: Set, open: &Open<'_>) {
        let contingent = p.section(step.section).kind == SectionKind::Contingency;
        let home = number::home(&self.trace, frame);
        let link = Link { home, to, span, from: Origin::States(set) };
        let target = match to {
            Destination::Step(target) if !contingent || p.step(target).section == step.section => target,
            _ => return self.links.push(link),
        };
        // Forward, in this list or one around it, also out of a performed section into what follows its call.
        let mut list = Some(open);
        while let Some(here) = list {
            if here.rest.contains(&target) {
                return self.jumps.push(Jump { frame: here.frame, target, set });
            }
            list = here.up;
        }
        // A jump back is refused over the text. Out of a section that a contingency performs it is like one of the contingency.
        if home != frame {
            self.links.push(link);
        }
    }

    #[allow(clippy::too_many_arguments, reason = "the walk's own context travels with every step")]
    fn perform(&mut self, p: &Procedure, frame: FrameId, step: &Step, callee: &Callee, span: Span, set: Set, open: &Open<'_>) -> Set {
        let depth = std::iter::successors(Some(frame), |f| self.trace.frame(*f).caller.map(|c| c.0)).count();
        if depth > DEEPEST_PERFORM {
            let finding = self.at(&rules::TOO_LONG, frame, step, span, rules::too_long(true, DEEPEST_PERFORM));
            self.report(finding);
            return set;
        }
        if self.trace.rows.len() > MOST_ROWS {
            let finding = self.at(&rules::TOO_LONG, frame, step, span, rules::too_long(false, MOST_ROWS));
            self.report(finding);
            return set;
        }
        let Some(row) = self.trace.row(frame, step.id) else { return set };
        let known = self.trace.callee(row);
        let inner = match callee {
            Callee::Section(section) => {
                let procedure = self.trace.frame(frame).procedure;
                known.unwrap_or_else(|| self.open_frame(p, Some((frame, step.id)), procedure, Some(*section)))
            }
            Callee::Procedure(q) => known.unwrap_or_else(|| {
                let at = self.trace.callees.iter().position(|c| Arc::ptr_eq(c, q)).unwrap_or_else(|| {
                    self.trace.callees.push(q.clone());
                    self.trace.callees.len() - 1
                });
                self.open_frame(q, Some((frame, step.id)), u16::try_from(at + 1).unwrap_or(u16::MAX), None)
            }),
        };
        self.trace.rows[row.0 as usize].callee = Some(inner);
        match callee {
            Callee::Section(section) => {
                let steps: Vec<StepId> = p.section(*section).items.iter().filter_map(step_of).collect();
                self.list(p, inner, &steps, set, Some(open))
            }
            Callee::Procedure(q) => self.whole(q, inner, set),
        }
    }
}

fn step_of(item: &Item) -> Option<StepId> {
    match item {
        Item::Step(step) => Some(*step),
        Item::Alert(_) | Item::Prose(..) => None,
    }
}

/// Taps that meet nothing go on to the last one, which may begin at the far end of the contact band.
fn overshoot(p: &Procedure, step: &Step, after: &mut State) {
    for effect in step.effects() {
        let drives = match effect {
            Effect::Drive(drive) => std::slice::from_ref(drive),
            Effect::DriveTwo(two) => &two.drives[..],
            _ => continue,
        };
        for drive in drives.iter().filter(|d| matches!(d.goal, Goal::Taps { .. })) {
            let (id, joint) = (drive.joint.value, p.arm.joint(drive.joint.value));
            let (is, (low, high)) = (after.joint(id), measure::last_tap(joint, drive));
            after.set_joint(id, super::state::Readout { low: is.low.min(low), high: is.high.max(high), ..is });
        }
    }
}

/// The state part-way through a motion: each moving joint anywhere between its start, drift included, and its end.
fn midway(p: &Procedure, before: &State, after: &State) -> Option<State> {
    let mut hull = before.clone();
    let mut moved = false;
    for (i, (a, b)) in before.joints().iter().zip(after.joints()).enumerate() {
        if a != b && a.is_known() && b.is_known() {
            moved = true;
            let joint = crate::model::JointId(u16::try_from(i).ok()?);
            let start = a.idle(p.arm.joint(joint).hold.value);
            let (low, high) = (start.0.min(b.low), start.1.max(b.high));
            hull.set_joint(
                joint,
                super::state::Readout { low, high, nominal: b.nominal, known: super::state::Known::Range, wound: b.wound },
            );
        }
    }
    moved.then_some(hull)
}
