//! Where each step leaves the joints and the jaw. A step that changes neither has no row: the row above is its own.

use super::Basis;
use super::situation::When;
use crate::document::{After, Field, Left};
use crate::trace::RowId;
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
            let opening = self.opening(*row).map(|(least, most)| words.fill(ids::AFTER_ENDS, [&least.to_string(), &most.to_string()]));
            let jaw = opening.unwrap_or_else(|| words.say(ids::SAID_UNKNOWN).to_owned());
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
        After { item: "after", joints: self.procedure.arm.joints.iter().map(|j| j.engraved.clone()).collect(), rows }
    }
}
