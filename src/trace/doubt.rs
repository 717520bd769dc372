//! Which part of a state is in doubt because of an error found on the way to it.
//!
//! The trace goes on after an error as if the step had done what it says, so one slip is met again wherever the part it
//! spoiled is looked at. Here is kept which finding spoiled what, so that the rest need not be told one by one.
//!
//! Invariant: where ways meet, a part is in doubt only if it is in doubt by every way; a part that a step sets anew is
//! sound again, whatever was found before.

use super::{NONE, Trace};
use crate::model::procedure::{Drive, Effect, Goal, Procedure};
use crate::model::{JointId, LoadId};
use std::collections::{HashMap, HashSet};

/// A part of a state that one step sets and later ones rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Part {
    Joint(JointId),
    Opening,
    Level,
    /// Where a load is: on a station or in the jaw.
    Load(LoadId),
    Tool,
    Power,
}

/// How a state came from another one of the pool.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hop {
    pub(super) entry: u32,
    pub(super) from: u32,
    pub(super) how: How,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum How {
    /// Taken over as it is.
    Same,
    /// The same as one that was followed before: another way to it.
    Again,
    /// By the act of a visit.
    Act(u32),
    /// Stopped during the act of a visit.
    During(u32),
}

/// A finding, by its place among those of the run.
pub(super) type Root = usize;

/// The parts in doubt, by state.
pub(super) struct Doubts<'a> {
    trace: &'a Trace,
    root: &'a Procedure,
    /// States reached soundly by a way that is only met after they were judged.
    sound: &'a HashSet<(u32, Part)>,
    next: usize,
    last: Option<u32>,
    of: HashMap<u32, Vec<(Part, Root)>>,
    /// What an act leaves in doubt, by visit and the state it began in.
    left: HashMap<(u32, u32), Vec<(Part, Root)>>,
    pub(super) late: Vec<(u32, Part)>,
}

impl<'a> Doubts<'a> {
    pub(super) fn new(trace: &'a Trace, root: &'a Procedure, sound: &'a HashSet<(u32, Part)>) -> Doubts<'a> {
        Doubts { trace, root, sound, next: 0, last: None, of: HashMap::new(), left: HashMap::new(), late: Vec::new() }
    }
    /// What put a part of a state in doubt.
    pub(super) fn of(&self, entry: u32, part: Part) -> Option<Root> {
        find(self.of.get(&entry)?, part)
    }
    /// What put in doubt a part that an act sets.
    pub(super) fn left(&self, visit: u32, entry: u32, part: Part) -> Option<Root> {
        find(self.left.get(&(visit, entry))?, part)
    }
    /// Puts a part of a state in doubt.
    pub(super) fn doubt(&mut self, entry: u32, part: Part, root: Root) {
        add(self.of.entry(entry).or_default(), part, root);
    }
    /// Puts in doubt what an act makes of a part.
    pub(super) fn leave(&mut self, visit: u32, entry: u32, part: Part, root: Root) {
        add(self.left.entry((visit, entry)).or_default(), part, root);
    }
    /// Follows the ways to every state before `end`; what happens in the visits on them has been judged.
    pub(super) fn follow(&mut self, end: u32) {
        while let Some(hop) = self.trace.hops.get(self.next).copied().filter(|h| h.entry < end) {
            self.next += 1;
            let first = self.last.is_none_or(|last| hop.entry > last);
            if first {
                self.last = Some(hop.entry);
            }
            if self.of.is_empty() && self.left.is_empty() {
                continue;
            }
            let brought = self.brought(hop);
            if first {
                let brought: Vec<_> = brought.into_iter().filter(|(part, _)| !self.sound.contains(&(hop.entry, *part))).collect();
                if !brought.is_empty() {
                    self.of.insert(hop.entry, brought);
                }
            } else if let Some(here) = self.of.get_mut(&hop.entry) {
                let (kept, lost): (Vec<_>, Vec<_>) = here.iter().partition(|(part, _)| find(&brought, *part).is_some());
                *here = kept;
                if matches!(hop.how, How::Again) {
                    let lost = lost.into_iter().map(|(part, _)| (hop.entry, part));
                    self.late.extend(lost.filter(|known| !self.sound.contains(known)));
                }
            }
        }
    }
    fn brought(&self, hop: Hop) -> Vec<(Part, Root)> {
        let mut parts = self.of.get(&hop.from).cloned().unwrap_or_default();
        let (How::Act(visit) | How::During(visit)) = hop.how else { return parts };
        if let How::Act(_) = hop.how {
            let row = &self.trace.rows[self.trace.visits[visit as usize].row as usize];
            let step = self.trace.procedure_of(self.root, row.frame).step(row.step);
            let set: Vec<Part> = step.effects().into_iter().flat_map(|e| set_anew(&e)).collect();
            parts.retain(|(part, _)| !set.contains(part));
        }
        for (part, root) in self.left.get(&(visit, hop.from)).into_iter().flatten() {
            add(&mut parts, *part, *root);
        }
        parts
    }
    /// Follows the ways to every state there is.
    pub(super) fn follow_all(&mut self) {
        self.follow(NONE);
    }
}

fn find(parts: &[(Part, Root)], part: Part) -> Option<Root> {
    parts.iter().find(|(p, _)| *p == part).map(|(_, root)| *root)
}

fn add(parts: &mut Vec<(Part, Root)>, part: Part, root: Root) {
    if find(parts, part).is_none() {
        parts.push((part, root));
    }
}

/// The parts that an effect sets, whatever they were before.
pub(super) fn set_anew(effect: &Effect<'_>) -> Vec<Part> {
    match effect {
        Effect::Drive(drive) => turned(drive).into_iter().collect(),
        Effect::DriveTwo(two) => two.drives.iter().filter_map(turned).collect(),
        Effect::Jaw { .. } => vec![Part::Opening],
        Effect::Level(_) => vec![Part::Level],
        Effect::Grip(load) | Effect::LetGo(load, ..) => vec![Part::Opening, Part::Load(load.value)],
        Effect::Leave(load, _) | Effect::Rest(load, _) => vec![Part::Load(load.value)],
        Effect::Power(_) => vec![Part::Power],
        Effect::Tool(..) => vec![Part::Tool],
        // Compared and asserted read-outs stay what they are.
        Effect::Settle | Effect::ExpectPose(_) | Effect::ExpectAt(_) => Vec::new(),
        Effect::Observe
        | Effect::Clear(_)
        | Effect::Invite(_)
        | Effect::Verify(_)
        | Effect::Look(_)
        | Effect::Pass { .. }
        | Effect::ChangeCrew
        | Effect::Scene(..) => Vec::new(),
    }
}

/// The joint of a move whose end does not hang on its start. A guarded move can end where it began.
fn turned(drive: &Drive) -> Option<Part> {
    (!matches!(drive.goal, Goal::Until { .. })).then_some(Part::Joint(drive.joint.value))
}
