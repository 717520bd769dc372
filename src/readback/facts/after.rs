//! The page of read-outs after each step, made anew from every state that a step can find and leave.

use super::state::{ends, joint, millimetres, opening, shown, thousandths};
use super::{Differences, motions, text};
use crate::compiled::{Act, Joint, Readout, State};
use crate::readback::Item;

/// A row: its key, what it is of, the stretches of each joint in thousandths of a degree, how wide the jaw stands and what is in it.
struct Row<'i> {
    key: &'i str,
    of: &'i str,
    joints: Vec<Vec<(i64, i64)>>,
    jaw: Option<&'i str>,
    held: Option<&'i str>,
}

impl Differences<'_> {
    /// What every step finds and leaves stands in its own row, or in the one above where nothing changes.
    pub(super) fn after(&mut self, items: &[Item]) {
        let compiled = self.compiled;
        let Some(item) = items.iter().find(|i| i.id == "after") else {
            if compiled.steps.iter().any(|s| !motions(&s.act).is_empty()) {
                self.list.push("the read-outs after each step are not printed".to_owned());
            }
            return;
        };
        for (i, joint) in compiled.joints.iter().enumerate() {
            self.same(&format!("after.j{}", i + 1), text(item, &format!("j{}", i + 1)), &joint.engraved);
        }
        let rows = self.rows_after(item);
        let mut next = rows.iter().peekable();
        let mut row = None;
        let single = |act: &Act| !matches!(act, Act::Perform { .. } | Act::Repeat { .. } | Act::If { .. });
        for step in compiled.steps.iter().filter(|s| single(&s.act)) {
            let before = self.said.fill("after.before", &[("step", &step.number)]);
            for (of, states) in [(&before, &step.before), (&step.number, &step.after)].into_iter().filter(|(_, s)| !s.is_empty()) {
                row = next.next_if(|r| r.of == of).or(row);
                match row {
                    Some(row) => self.stands(row, of, states),
                    None => self.list.push(format!("after has no read-outs for {of:?}")),
                }
            }
        }
        self.list.extend(next.map(|r| format!("after.{}.step is to read {:?}, and nothing is found there", r.key, r.of)));
    }

    fn rows_after<'i>(&mut self, item: &'i Item) -> Vec<Row<'i>> {
        let mut rows: Vec<Row<'i>> = Vec::new();
        let between = self.said.fill("after.ends", &[("low", "\0"), ("high", "\0")]);
        let mut parts = between.split('\0');
        let (before, middle) = (parts.next().unwrap_or_default().to_owned(), parts.next().unwrap_or_default().to_owned());
        for (id, words) in &item.values {
            let Some((key, name)) = id.strip_prefix("after.").and_then(|rest| rest.split_once('.')) else { continue };
            if rows.last().is_none_or(|r| r.key != key) {
                let joints = vec![Vec::new(); self.compiled.joints.len()];
                rows.push(Row { key, of: "", joints, jaw: None, held: None });
            }
            let Some(row) = rows.last_mut() else { continue };
            match name {
                "step" => row.of = words,
                "jaw" => row.jaw = Some(words),
                "held" => row.held = Some(words),
                _ => {}
            }
            let Some((at, _)) = joint(&format!("{name}.")) else { continue };
            let ends = words.strip_prefix(before.as_str()).and_then(|rest| rest.split_once(middle.as_str()));
            match (ends.and_then(|(low, high)| Some((thousandths(low)?, thousandths(high)?))), row.joints.get_mut(at)) {
                (Some(ends), Some(stretches)) => stretches.push(ends),
                // Nothing is known where an error was muted.
                _ if words.contains('-') && !words.contains(|c: char| c.is_ascii_digit()) => {}
                _ => self.list.push(format!("{id} is to read {words:?}, which is no stretch of angles")),
            }
        }
        rows
    }

    fn stands(&mut self, row: &Row<'_>, of: &str, states: &[State]) {
        for (i, (joint, printed)) in self.compiled.joints.iter().zip(&row.joints).enumerate() {
            let readouts: Vec<&Readout> = states.iter().filter_map(|s| s.joints.get(i)).collect();
            // Nothing is known where an error was muted; then nothing is issued either.
            if readouts.iter().any(|r| r.known == "unknown") {
                continue;
            }
            let (mut printed, wanted) = (printed.clone(), stretches(&readouts, joint));
            printed.sort_unstable();
            if printed != wanted {
                let (key, name) = (&row.key, &joint.engraved);
                self.list.push(format!("after.{key} prints {printed:?} for {name}, and {of:?} has {wanted:?}"));
            }
        }
        let holding = states.iter().filter(|s| s.held.is_some()).count();
        let jaw = match opening(states) {
            _ if holding == states.len() => self.said.say("after.on-load").to_owned(),
            Some((low, high)) if holding == 0 => self.said.fill("after.ends", &[("low", &millimetres(low)), ("high", &millimetres(high))]),
            _ => self.said.say("said.unknown").to_owned(),
        };
        let [open, held] = ["jaw", "held"].map(|name| format!("after.{}.{name}", row.key));
        self.same(&open, row.jaw, &jaw);
        match row.held {
            Some(_) => self.held(&held, row.held, states),
            None => self.list.push(format!("{held} is not printed")),
        }
    }
}

/// The stretches in which a joint must be found, in order: a joint left within a stretch takes in what lies in it.
fn stretches(readouts: &[&Readout], joint: &Joint) -> Vec<(i64, i64)> {
    let is_range = |r: &&&Readout| r.known.ends_with("range");
    let at = |r: &&Readout| ends(r, joint, true);
    let mut out: Vec<(i64, i64)> = readouts.iter().filter(|r| !is_range(r)).map(at).collect();
    for mut range in readouts.iter().filter(is_range).map(at) {
        while let Some(other) = out.iter().position(|o| o.0 <= range.1 && range.0 <= o.1) {
            let (low, high) = out.swap_remove(other);
            range = (range.0.min(low), range.1.max(high));
        }
        out.push(range);
    }
    let mut out: Vec<(i64, i64)> = out.into_iter().map(|stretch| shown(stretch, joint.decimals)).collect();
    out.sort_unstable();
    out.dedup();
    out
}
