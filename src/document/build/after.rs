//! Where each step leaves the joints and the jaw. A step that changes neither has no row: the row above is its own. Where a step is come to
//! from elsewhere than the row above, what it finds has a row of its own.

use super::Basis;
use super::place::At;
use super::situation::{key, opening, stretches};
use crate::document::{After, Field, Left};
use crate::model::arm::Joint;
use crate::trace::state::State;
use crate::trace::{RowId, distinct};
use crate::units::Length;
use crate::words::ids;

/// A step in printed order, with its number.
pub(super) type Passed = (RowId, String);

/// A row as printed: each joint's stretches, the opening of the jaw and what is in it.
#[derive(PartialEq)]
struct Cells {
    joints: Vec<Vec<String>>,
    jaw: String,
    held: String,
}

impl Basis<'_> {
    /// The page of read-outs.
    pub(super) fn after(&self, steps: &[Passed]) -> After {
        let words = self.words();
        let mut rows: Vec<Left> = Vec::new();
        let mut last: Option<Cells> = None;
        for (row, number) in steps.iter().filter(|(row, _)| self.trace.is_reached(*row)) {
            let before = words.fill(ids::AFTER_BEFORE, [number]);
            let after = self.trace.after(*row).map(|e| &e.state).collect::<Vec<_>>();
            let found = (before, self.trace.before(*row).map(|e| &e.state).collect::<Vec<_>>());
            for (step, states) in [found, (number.clone(), after)].into_iter().filter(|(_, states)| !states.is_empty()) {
                let cells = self.left(self.at(self.trace.step_of(*row).0), &states);
                if last.as_ref() != Some(&cells) {
                    rows.push(cells.row(rows.len() + 1, &step));
                    last = Some(cells);
                }
            }
        }
        let joint = |(i, joint): (usize, &Joint)| Field::new(format!("after.j{}", i + 1), joint.engraved.as_str());
        let joints: Vec<Field> = self.procedure.arm.joints.iter().enumerate().map(joint).collect();
        After { item: "after", widths: widths(&joints, &rows), joints, rows }
    }

    fn left(&self, at: At<'_>, states: &[&State]) -> Cells {
        let words = self.words();
        let stretch = |[low, high]: [String; 2]| words.fill(ids::AFTER_ENDS, [&low, &high]);
        let joints = (0..self.procedure.arm.joints.len()).map(|joint| distinct(stretches(at, states, joint).into_iter().map(stretch)));
        let millimetres = |length: Length| length.to_string().trim_end_matches(" mm").to_owned();
        let holding = states.iter().filter(|s| s.held().is_some()).count();
        let jaw = match opening(states) {
            _ if holding == states.len() => words.say(ids::AFTER_ON_LOAD).to_owned(),
            Some((least, most)) if holding == 0 => words.fill(ids::AFTER_ENDS, [&millimetres(least), &millimetres(most)]),
            _ => words.say(ids::SAID_UNKNOWN).to_owned(),
        };
        Cells { joints: joints.collect(), jaw, held: self.held_of(at, states) }
    }
}

impl Cells {
    fn row(&self, n: usize, step: &str) -> Left {
        let id = format!("after.r{n}");
        let of_joint = |(joint, all): (usize, &Vec<String>)| {
            let one = |(n, ends): (usize, &String)| Field::new(format!("{id}.{}", key(joint, n)), ends.as_str());
            all.iter().enumerate().map(one).collect()
        };
        Left {
            step: Field::new(format!("{id}.step"), step),
            joints: self.joints.iter().enumerate().map(of_joint).collect(),
            jaw: Field::new(format!("{id}.jaw"), self.jaw.as_str()),
            held: Field::new(format!("{id}.held"), self.held.as_str()),
        }
    }
}

/// Each column as wide as its longest entry; what is held takes several lines.
fn widths(joints: &[Field], rows: &[Left]) -> String {
    let longest = |texts: &mut dyn Iterator<Item = &str>, least: usize| texts.map(|t| t.chars().count()).fold(least, usize::max);
    let mut out = vec![longest(&mut rows.iter().map(|r| r.step.text.as_str()), 5) + 1];
    for (i, engraved) in joints.iter().enumerate() {
        out.push(longest(&mut rows.iter().flat_map(|r| &r.joints[i]).map(|f| f.text.as_str()), engraved.text.chars().count()) + 1);
    }
    out.extend([12, 26]);
    out.iter().map(usize::to_string).collect::<Vec<_>>().join(" ")
}
