//! Where each step leaves the joints and the jaw. A step that changes neither has no row: the row above is its own.

use super::Basis;
use super::situation::When;
use crate::document::{After, Field, Left};
use crate::trace::RowId;
use crate::units::Length;
use crate::words::ids;

/// A step in printed order, with its number.
pub(super) type Passed = (RowId, String);

impl Basis<'_> {
    /// The page of read-outs; none where no joint is moved.
    pub(super) fn after(&self, steps: &[Passed]) -> After {
        let words = self.words();
        let mut rows: Vec<Left> = Vec::new();
        let mut last: Option<(Vec<Vec<String>>, [String; 2])> = None;
        for (row, number) in steps.iter().filter(|(row, _)| self.trace.after(*row).next().is_some()) {
            let at = self.at(self.trace.step_of(*row).0);
            let stands = |joint| {
                self.stretches(at, *row, joint, When::Left).into_iter().map(|[low, high]| words.fill(ids::AFTER_ENDS, [&low, &high]))
            };
            let joints: Vec<Vec<String>> = (0..self.procedure.arm.joints.len()).map(|joint| stands(joint).collect()).collect();
            let jaw = if self.trace.after(*row).any(|e| e.state.held().is_some()) {
                words.say(ids::AFTER_ON_LOAD).to_owned()
            } else {
                let millimetres = |length: Length| length.to_string().trim_end_matches(" mm").to_owned();
                let ends = |(least, most)| words.fill(ids::AFTER_ENDS, [&millimetres(least), &millimetres(most)]);
                self.opening(*row).map_or_else(|| words.say(ids::SAID_UNKNOWN).to_owned(), ends)
            };
            let left = (joints, [jaw, self.left_in_jaw(at, *row)]);
            if last.as_ref() == Some(&left) {
                continue;
            }
            let id = format!("after.r{}", rows.len() + 1);
            let of_joint = |(joint, all): (usize, &Vec<String>)| {
                let one = |(n, ends): (usize, &String)| Field::new(format!("{id}.{}", super::situation::key(joint, n)), ends.as_str());
                all.iter().enumerate().map(one).collect()
            };
            rows.push(Left {
                step: Field::new(format!("{id}.step"), number.as_str()),
                joints: left.0.iter().enumerate().map(of_joint).collect(),
                jaw: Field::new(format!("{id}.jaw"), left.1[0].as_str()),
                held: Field::new(format!("{id}.held"), left.1[1].as_str()),
            });
            last = Some(left);
        }
        let joints: Vec<String> = self.procedure.arm.joints.iter().map(|j| j.engraved.clone()).collect();
        After { item: "after", widths: widths(&joints, &rows), joints, rows }
    }
}

/// Each column as wide as its longest entry; what is held takes several lines.
fn widths(joints: &[String], rows: &[Left]) -> String {
    let longest = |texts: &mut dyn Iterator<Item = &str>, least: usize| texts.map(|t| t.chars().count()).fold(least, usize::max);
    let mut out = vec![longest(&mut rows.iter().map(|r| r.step.text.as_str()), 5) + 1];
    for (i, engraved) in joints.iter().enumerate() {
        out.push(longest(&mut rows.iter().flat_map(|r| &r.joints[i]).map(|f| f.text.as_str()), engraved.chars().count()) + 1);
    }
    out.extend([12, 26]);
    out.iter().map(usize::to_string).collect::<Vec<_>>().join(" ")
}
