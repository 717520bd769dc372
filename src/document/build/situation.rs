//! What is in force at a step, in words: view, jaw, expected read-outs.

use super::Basis;
use super::place::At;
use crate::document::{Expected, Field, Prose, ReadOut};
use crate::model::arm::{Arm, Joint};
use crate::model::cell::View;
use crate::model::{JointId, ViewId};
use crate::trace::state::{Known, Opening, Readout, State};
use crate::trace::{RowId, distinct, measure};
use crate::units::{Angle, Length};
use crate::words::{Words, ids};

/// An angle as the joint's read-out shows it, sign always.
pub(super) fn angle(joint: &Joint, angle: Angle) -> String {
    format!("{} deg", angle.signed(joint.decimals))
}

/// The same without the unit, for limits beside a value that carries it.
fn bare(joint: &Joint, angle: Angle) -> String {
    angle.signed(joint.decimals)
}

/// "a", "a or b", "a, b or c".
pub(super) fn either(entries: &[String], words: &Words) -> String {
    if entries.is_empty() { words.say(ids::SAID_UNKNOWN).to_owned() } else { words.list(entries, ids::LIST_OR) }
}

/// How an expected read-out is to be found.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum When {
    /// As left by the steps before.
    Before,
    /// As it must be where all read-outs are compared.
    Compared,
}

/// A view by its title, with that its picture is mirrored.
pub(super) fn view_title(view: &View, words: &Words) -> String {
    if view.mirrored { words.fill(ids::STRIP_MIRRORED, [&view.title]) } else { view.title.clone() }
}

impl Basis<'_> {
    /// What the operator looks through before a row.
    pub(super) fn view_words(&self, at: At<'_>, row: RowId) -> String {
        let words = self.words();
        let title = |v: &Option<ViewId>| match v {
            Some(v) => view_title(&at.procedure.cell.views[v.at()], words),
            None => words.say(ids::STRIP_NO_VIEW).to_owned(),
        };
        either(&self.trace.views(row).iter().map(title).collect::<Vec<_>>(), words)
    }

    /// What is in the jaw before a row.
    pub(super) fn held_words(&self, at: At<'_>, row: RowId) -> String {
        self.held_of(at, &self.trace.before(row).map(|e| &e.state).collect::<Vec<_>>())
    }

    /// What is in the jaw in one of these states.
    pub(super) fn held_of(&self, at: At<'_>, states: &[&State]) -> String {
        either(&distinct(states.iter().map(|state| self.held_in(at, state))), self.words())
    }

    /// How wide the empty jaw stands before a row; none where it holds something or nothing is known of it.
    pub(super) fn jaw(&self, row: RowId, id: String) -> Option<Prose> {
        let states: Vec<&State> = self.trace.before(row).map(|e| &e.state).collect();
        let (least, most) = opening(&states).filter(|_| states.iter().all(|s| s.held().is_none()))?;
        Some(Prose::plain(id, self.words().fill(ids::STRIP_JAW, [&least.to_string(), &most.to_string()])))
    }

    /// Whether a load can be in the jaw before a row.
    pub(super) fn is_loaded(&self, row: RowId) -> bool {
        self.trace.held(row).iter().any(Option::is_some)
    }

    /// Whether a tool can be fitted before a row.
    pub(super) fn has_tool(&self, row: RowId) -> bool {
        self.trace.before(row).any(|e| e.state.tool.is_some())
    }

    fn held_in(&self, at: At<'_>, state: &State) -> String {
        let words = self.words();
        let Some(held) = state.held() else {
            return match state.tool {
                _ if state.is_held_unknown() => words.say(ids::SAID_UNKNOWN).to_owned(),
                Some(tool) => words.fill(ids::STRIP_TOOL, [&at.procedure.arm.tools[tool.at()].name.value]),
                None => words.say(ids::STRIP_EMPTY).to_owned(),
            };
        };
        let load = &at.procedure.cell.loads[held.load.at()];
        let level = match state.level {
            Some(l) => words.fill(ids::STRIP_GRIP, [&at.procedure.arm.jaw.levels[l.at()].name.value]),
            None => words.say(ids::STRIP_GRIP_NOT_SET).to_owned(),
        };
        words.fill(ids::STRIP_HELD, [&load.title, &load.mass_at_most.value.to_string(), &level])
    }

    /// Every joint's expected read-out at a row, hold tolerance included. A joint that can be in several places has a line for each.
    pub(super) fn read_outs(&self, at: At<'_>, row: RowId, item: &str, when: When) -> Vec<ReadOut> {
        let states: Vec<&State> = self.trace.before(row).map(|e| &e.state).collect();
        let mut out = Vec::new();
        for (i, joint) in at.procedure.arm.joints.iter().enumerate() {
            for (n, value) in places_of(i, joint, &states, when).iter().enumerate() {
                out.push(expected(joint, &format!("{item}.{}", key(i, n)), n > 0, *value, self.words()));
            }
        }
        out
    }
}

fn places_of(joint: usize, of: &Joint, states: &[&State], when: When) -> Vec<Readout> {
    let shown = |state: &&State| {
        let r = state.joints()[joint];
        let (low, high) = match when {
            // Where power was off nothing else says where a joint is: what it must show is the same wherever it is printed.
            When::Before if !r.is_unread() => r.idle(of.hold.value),
            _ => measure::compared(of, r),
        };
        Readout { low, high, ..r }
    };
    joined(distinct(states.iter().map(shown)))
}

/// Each stretch in which the read-out of a joint must be found in one of these states, lower and higher end.
pub(super) fn stretches(at: At<'_>, states: &[&State], joint: usize) -> Vec<[String; 2]> {
    let of = &at.procedure.arm.joints[joint];
    places_of(joint, of, states, When::Compared).iter().map(|value| ends(of, *value)).collect()
}

/// How wide the jaw stands in these states; none where that is not known.
pub(super) fn opening(states: &[&State]) -> Option<(Length, Length)> {
    let stands = |state: &&State| if let Opening::Between(least, most) = state.jaw { Some((least, most)) } else { None };
    let all: Option<Vec<_>> = states.iter().map(stands).collect();
    all?.into_iter().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

/// A range takes in what it overlaps, so that a joint stopped part-way has one line.
fn joined(mut values: Vec<Readout>) -> Vec<Readout> {
    let is_range = |r: &Readout| matches!(r.known, Known::Range | Known::UnreadRange);
    let mut out: Vec<Readout> = values.iter().copied().filter(|r| !is_range(r)).collect();
    values.retain(is_range);
    for mut range in values {
        while let Some(at) = out.iter().position(|o| o.known != Known::Muted && o.low <= range.high && range.low <= o.high) {
            let other = out.remove(at);
            (range.low, range.high) = (range.low.min(other.low), range.high.max(other.high));
        }
        out.push(range);
    }
    out
}

pub(super) fn key(joint: usize, alternative: usize) -> String {
    match alternative {
        0 => format!("j{}", joint + 1),
        n => format!("j{}or{n}", joint + 1),
    }
}

fn expected(joint: &Joint, id: &str, alternative: bool, value: Readout, words: &Words) -> ReadOut {
    let (is, what) = match value.known {
        Known::Muted => (Expected::Unknown, words.say(ids::SAID_UNKNOWN).to_owned()),
        Known::Range | Known::UnreadRange => (Expected::Range, words.say(ids::READOUT_RANGE).to_owned()),
        Known::Readout | Known::ByEye | Known::Unread => (Expected::Angle, angle(joint, value.nominal)),
    };
    let name = if alternative { words.fill(ids::READOUT_OR, [&joint.engraved]) } else { joint.engraved.clone() };
    read_out(id, name, (is, what), ends(joint, value))
}

/// The ends of a read-out as printed.
fn ends(joint: &Joint, value: Readout) -> [String; 2] {
    let (low, high) = measure::accepted(joint, (value.low, value.high));
    if value.known == Known::Muted { ["-".to_owned(), "-".to_owned()] } else { [bare(joint, low), bare(joint, high)] }
}

/// One expected read-out.
fn read_out(id: &str, name: String, (is, expected): (Expected, String), [low, high]: [String; 2]) -> ReadOut {
    ReadOut {
        is,
        joint: Field::new(format!("{id}.joint"), name),
        expected: Field::new(format!("{id}.expected"), expected),
        low: Field::new(format!("{id}.low"), low),
        high: Field::new(format!("{id}.high"), high),
    }
}

/// The read-outs of a pose, with the pose's band. A joint that may be anywhere has its travel.
pub(super) fn pose(arm: &Arm, id: crate::model::PoseId, item: &str, words: &Words) -> Vec<ReadOut> {
    let pose = &arm.poses[id.at()];
    let band = pose.band.value;
    let line = |(i, (joint, value)): (usize, (&Joint, &Option<crate::text::Spanned<Angle>>))| {
        let id = format!("{item}.{}", key(i, 0));
        match value {
            Some(a) => {
                let (low, high) = measure::accepted(joint, (a.value - band, a.value + band));
                read_out(&id, joint.engraved.clone(), (Expected::Angle, angle(joint, a.value)), [bare(joint, low), bare(joint, high)])
            }
            None => {
                let (low, high) = measure::accepted(joint, joint.soft_limits());
                let any = words.say(ids::READOUT_ANY).to_owned();
                read_out(&id, joint.engraved.clone(), (Expected::Any, any), [bare(joint, low), bare(joint, high)])
            }
        }
    };
    arm.joints.iter().zip(&pose.angles).enumerate().map(line).collect()
}

/// The direction of a joint's motion as its word in capitals.
pub(super) fn direction(arm: &Arm, joint: JointId, positive: bool) -> String {
    let joint = arm.joint(joint);
    let word = if positive { &joint.positive.word } else { &joint.negative.word };
    word.value.to_uppercase()
}
