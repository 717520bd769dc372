//! The page of read-outs after each step, against every state that a step can leave.

use super::state::{joint, length, shown, thousandths};
use super::{Differences, text};
use crate::compiled::{Act, State};
use crate::readback::Item;

/// A row: its key, the number of its step, and the stretches of each joint in thousandths of a degree.
struct Row {
    key: String,
    step: String,
    joints: Vec<Vec<(i64, i64)>>,
}

impl Differences<'_> {
    /// Every step that can be come back to has its read-outs in its own row, or in the one above where it changes none.
    pub(super) fn after(&mut self, items: &[Item]) {
        let Some(item) = items.iter().find(|i| i.id == "after") else { return };
        let rows = self.rows_after(item);
        let compiled = self.compiled;
        let single = |act: &Act| !matches!(act, Act::Perform { .. } | Act::Repeat { .. } | Act::If { .. });
        let mut next = rows.iter().peekable();
        let mut row = None;
        for step in compiled.steps.iter().filter(|s| single(&s.act)) {
            let own = next.next_if(|r| r.step == step.number);
            row = own.or(row);
            match row {
                Some(row) => self.stands(item, row, &step.number, &step.after),
                None if step.after.is_empty() => {}
                None => self.list.push(format!("the read-outs after step {} are not printed", step.number)),
            }
        }
        self.list.extend(next.map(|r| format!("after.{}.step is to read {:?}, and no step stands there", r.key, r.step)));
    }

    fn rows_after(&mut self, item: &Item) -> Vec<Row> {
        let mut rows: Vec<Row> = Vec::new();
        let between = self.said.fill("after.ends", &[("low", "\0"), ("high", "\0")]);
        let mut parts = between.split('\0');
        let (before, middle) = (parts.next().unwrap_or_default().to_owned(), parts.next().unwrap_or_default().to_owned());
        for (id, words) in &item.values {
            let Some((key, name)) = id.strip_prefix("after.").and_then(|rest| rest.split_once('.')) else { continue };
            if rows.last().is_none_or(|r| r.key != key) {
                let joints = vec![Vec::new(); self.compiled.joints.len()];
                rows.push(Row { key: key.to_owned(), step: String::new(), joints });
            }
            if let Some(row) = rows.last_mut().filter(|_| name == "step") {
                row.step.clone_from(words);
            }
            let Some((at, _)) = joint(&format!("{name}.")) else { continue };
            let ends = words.strip_prefix(before.as_str()).and_then(|rest| rest.split_once(middle.as_str()));
            let ends = ends.and_then(|(low, high)| Some((thousandths(low)?, thousandths(high)?)));
            match (ends, rows.last_mut().and_then(|r| r.joints.get_mut(at))) {
                (Some(ends), Some(stretches)) => stretches.push(ends),
                _ => self.list.push(format!("{id} is to read {words:?}, which is no stretch of angles")),
            }
        }
        rows
    }

    fn stands(&mut self, item: &Item, row: &Row, step: &str, states: &[State]) {
        for (i, (joint, printed)) in self.compiled.joints.iter().zip(&row.joints).enumerate() {
            let left: Vec<_> = states.iter().filter_map(|s| s.joints.get(i)).collect();
            // Nothing is known where an error was muted; then nothing is issued either.
            if left.iter().any(|r| r.known == "unknown") {
                continue;
            }
            let left: Vec<(i64, i64)> = left.iter().map(|r| shown((r.low - joint.hold, r.high + joint.hold), joint.decimals)).collect();
            let inside = |(low, high): &(i64, i64)| printed.iter().any(|(l, h)| l <= low && high <= h);
            let is_end = |(low, high): &(i64, i64)| left.iter().any(|(l, _)| l == low) && left.iter().any(|(_, h)| h == high);
            if !(left.is_empty() || left.iter().all(inside) && printed.iter().all(is_end)) {
                let (key, name) = (&row.key, &joint.engraved);
                self.list.push(format!("after.{key} prints {printed:?} for {name}, and step {step} leaves {left:?}"));
            }
        }
        let open: Option<Vec<(i64, i64)>> = states.iter().map(|s| s.jaw).collect();
        let ends = open.and_then(|all| Some((all.iter().map(|o| o.0).min()?, all.iter().map(|o| o.1).max()?)));
        let millimetres = |um| length(um).trim_end_matches(" mm").to_owned();
        let jaw = match ends {
            _ if states.iter().any(|s| s.held.is_some()) => self.said.say("after.on-load").to_owned(),
            Some((low, high)) => self.said.fill("after.ends", &[("low", &millimetres(low)), ("high", &millimetres(high))]),
            None => self.said.say("said.unknown").to_owned(),
        };
        if !states.is_empty() {
            self.same(&format!("after.{}.jaw", row.key), text(item, &format!("{}.jaw", row.key)), &jaw);
        }
        if !states.is_empty() && text(item, &format!("{}.held", row.key)).is_some() {
            self.held(item, &format!("{}.held", row.key), states);
        }
    }
}
