//! Contingencies: entered wherever a line links to them, from before, during and after the step; ended safe.

use super::super::rules::flow as rules;
use super::super::state::Entry;
use super::super::{FrameId, MOST_STATES, Set, Taken, When, situation, transfer};
use super::{Link, Origin, Walker, midway, overshoot, step_of};
use crate::model::procedure::{Destination, Procedure};
use crate::model::{PoseId, SectionId, StepId};
use crate::text::Span;
use std::sync::Arc;

/// What has entered a contingency so far.
struct Entered {
    home: FrameId,
    section: SectionId,
    states: Vec<Entry>,
    full: bool,
}

impl Walker<'_> {
    /// Follows every link until no contingency is entered in a state it has not been entered in before.
    pub(super) fn contingencies(&mut self) {
        let mut entered: Vec<Entered> = Vec::new();
        let mut returns: Vec<(Link, Set)> = Vec::new();
        while !self.links.is_empty() {
            for link in std::mem::take(&mut self.links) {
                if self.is_full() {
                    let finding = rules::too_much(link.span);
                    self.report(finding);
                    return;
                }
                let set = self.partway(link);
                match link.to {
                    Destination::Step(_) => returns.push((link, set)),
                    Destination::Contingency(section) => self.enter(&mut entered, link, section, set),
                }
            }
        }
        for (link, set) in returns {
            self.rejoin(link, set);
        }
    }

    /// The states a link can be followed in.
    fn partway(&mut self, link: Link) -> Set {
        let visit = match link.from {
            Origin::States(set) => return set,
            Origin::Visit(visit) => self.trace.visits[visit as usize],
        };
        let row = self.trace.rows[visit.row as usize];
        self.scratch.clear();
        for (when, set) in [(When::Before, visit.before), (When::After, visit.after)] {
            for i in set.range() {
                let mut entry = self.trace.pool[i].clone();
                if visit.before != visit.after {
                    entry.path = self.trace.way(entry.path, row.frame, row.step, Taken::Entered(when));
                }
                self.scratch.push(entry);
            }
        }
        self.with(row.frame, |walker, p| walker.during(p, row.frame, row.step, visit.before));
        self.settle(row.frame, row.step)
    }

    /// Adds the states in which the motion of a step can be stopped.
    fn during(&mut self, p: &Procedure, frame: FrameId, step: StepId, before: Set) {
        let (step, origin) = (p.step(step), self.trace.frames[frame.0 as usize].procedure);
        for i in before.range() {
            let Entry { state, path, mut elapsed } = self.trace.pool[i].clone();
            let mut after = state.clone();
            for effect in step.effects() {
                transfer::apply(p, origin, step, &effect, &mut after, &mut elapsed);
            }
            overshoot(p, step, &mut after);
            if let Some(state) = midway(p, &state, &after) {
                let path = self.trace.way(path, frame, step.id, Taken::Entered(When::During));
                self.scratch.push(Entry { state, path, elapsed });
            }
        }
    }

    fn enter(&mut self, entered: &mut Vec<Entered>, link: Link, section: SectionId, set: Set) {
        let at = entered.iter().position(|e| e.home == link.home && e.section == section).unwrap_or_else(|| {
            entered.push(Entered { home: link.home, section, states: Vec::new(), full: false });
            entered.len() - 1
        });
        let start = self.trace.mark();
        let mut full = false;
        for i in set.range() {
            let entry = &self.trace.pool[i];
            if entered[at].states.iter().any(|e| e.state == entry.state) {
                continue;
            }
            if entered[at].states.len() == MOST_STATES {
                full = true;
                break;
            }
            let entry = entry.clone();
            entered[at].states.push(entry.clone());
            self.trace.pool.push(entry);
        }
        let fresh = Set { start, end: self.trace.mark() };
        if full && !entered[at].full {
            entered[at].full = true;
            let finding = rules::crowded_contingency(link.span);
            self.report(finding);
        }
        if fresh.is_empty() {
            return;
        }
        self.with(link.home, |walker, p| {
            let steps: Vec<StepId> = p.section(section).items.iter().filter_map(step_of).collect();
            let exit = walker.list(p, link.home, &steps, fresh, None);
            walker.ends_safe(p, section, exit);
        });
    }

    /// Runs with the procedure of a frame, whichever owns it.
    fn with(&mut self, frame: FrameId, run: impl FnOnce(&mut Self, &Procedure)) {
        match usize::from(self.trace.frames[frame.0 as usize].procedure) {
            0 => {
                let root = self.root;
                run(self, root);
            }
            n => {
                let callee = Arc::clone(&self.trace.callees[n - 1]);
                run(self, &callee);
            }
        }
    }

    /// Every state that walks out of the end of a contingency is in a pose marked safe.
    fn ends_safe(&mut self, p: &Procedure, section: SectionId, exit: Set) {
        let safe: Vec<PoseId> = (0u16..).zip(&p.arm.poses).filter(|(_, pose)| pose.safe).map(|(i, _)| PoseId(i)).collect();
        let unsafe_end = exit.range().find(|i| {
            let state = &self.trace.pool[*i].state;
            !state.is_muted() && !safe.iter().any(|pose| situation::outside(p, state, *pose, true).is_none())
        });
        if let Some(i) = unsafe_end {
            let finding = rules::not_safe(&self.trace, self.root, p, section, &self.trace.pool[i], &safe);
            self.report(finding);
        }
    }

    /// A step that is gone to from elsewhere takes only states it is entered in anyway.
    fn rejoin(&mut self, link: Link, set: Set) {
        let Destination::Step(target) = link.to else { return };
        let Some(row) = self.trace.row(link.home, target) else { return };
        let stranger = set.range().find(|i| {
            let state = &self.trace.pool[*i].state;
            !state.is_muted() && !self.trace.before(row).any(|e| e.state.is_muted() || state.lies_in(&e.state))
        });
        if let Some(i) = stranger {
            let finding = self.stranger(link.span, row, i);
            self.report(finding);
        }
    }

    fn stranger(&self, span: Span, row: super::super::RowId, entry: usize) -> crate::diag::Diagnostic {
        rules::stranger(&self.trace, self.root, span, row, &self.trace.pool[entry])
    }
}
