//! Contingencies: entered wherever a line links to them, from before, during and after the step; ended safe.

use super::super::doubt::{Hop, How};
use super::super::rules::flow as rules;
use super::super::state::Entry;
use super::super::ways::Taken;
use super::super::{End, FrameId, MOST_STATES, Set, When, transfer};
use super::{Coming, Link, Origin, Walker, midway, overshoot, step_of};
use crate::model::procedure::{Destination, Procedure};
use crate::model::{SectionId, StepId};
use std::sync::Arc;

/// What has entered a contingency so far.
struct Entered {
    home: FrameId,
    section: SectionId,
    /// Places in the pool.
    states: Vec<u32>,
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
        let at = match link.from {
            Origin::States(set) => return set,
            Origin::Visit(visit) => visit,
        };
        let visit = self.trace.visits[at as usize];
        let row = self.trace.rows[visit.row as usize];
        self.scratch.clear();
        for (when, set) in [(When::Before, visit.before), (When::After, visit.after)] {
            for from in set.start..set.end {
                let mut entry = self.trace.pool[from as usize].clone();
                if visit.before != visit.after {
                    entry.path = self.trace.way(entry.path, row.frame, row.step, Taken::Entered(when));
                }
                self.scratch.push(Coming { entry, from, how: How::Same });
            }
        }
        self.with(row.frame, |walker, p| walker.during(p, row.frame, row.step, at));
        self.settle(row.frame, row.step)
    }

    /// Adds the states in which the motion of a step can be stopped.
    fn during(&mut self, p: &Procedure, frame: FrameId, step: StepId, visit: u32) {
        let (step, origin) = (p.step(step), self.trace.frames[frame.0 as usize].procedure);
        let before = self.trace.visits[visit as usize].before;
        for from in before.start..before.end {
            let Entry { state, path, mut elapsed } = self.trace.pool[from as usize].clone();
            let mut after = state.clone();
            for effect in step.effects() {
                transfer::apply(p, origin, step, &effect, &mut after, &mut elapsed);
            }
            overshoot(p, step, &mut after);
            if let Some(state) = midway(p, &state, &after) {
                let path = self.trace.way(path, frame, step.id, Taken::Entered(When::During));
                self.scratch.push(Coming { entry: Entry { state, path, elapsed }, from, how: How::During(visit) });
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
        for from in set.start..set.end {
            let trace = &mut self.trace;
            let mut entry = trace.pool[from as usize].clone();
            if let Some(known) = entered[at].states.iter().find(|i| trace.pool[**i as usize].state == entry.state) {
                trace.hops.push(Hop { entry: *known, from, how: How::Again });
                trace.join(trace.pool[*known as usize].path, entry.path);
                continue;
            }
            if entered[at].states.len() == MOST_STATES {
                full = true;
                break;
            }
            entered[at].states.push(trace.mark());
            // Other ways into it may be met once its steps have been followed.
            entry.path = trace.open(entry.path);
            trace.take_over(entry, from, How::Same);
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
            walker.trace.ends.push(End::Contingency(link.home, section, exit));
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

    /// A step that is gone to from elsewhere.
    fn rejoin(&mut self, link: Link, set: Set) {
        let Destination::Step(target) = link.to else { return };
        let row = self.trace.row(link.home, target);
        self.trace.ends.extend(row.map(|row| End::Rejoined(row, link.span, set)));
    }
}
