//! Data sheets against the compiled procedure: each entry is a reading of its step, and each step names where it is written.

use super::{Differences, Item, Said, capital, plain, text};
use crate::compiled::{Act, Step};
use std::collections::BTreeMap;

fn is_sheet(item: &Item) -> bool {
    item.id.strip_prefix('d').is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
}

/// What is read, where and on what; lowest and highest.
fn wanted<'s>(step: &'s Step, said: &Said) -> Option<(String, Option<&'s str>, Option<&'s str>)> {
    match &step.act {
        Act::Read { quantity, place, low, high, instrument, .. } => {
            let what = match place {
                Some(place) => said.fill("step.reading", &[("quantity", quantity), ("place", place)]),
                None => quantity.clone(),
            };
            let words = said.fill("data.read", &[("quantity", &what), ("instrument", instrument)]);
            Some((words, low.as_deref(), high.as_deref()))
        }
        Act::Record { name, .. } => Some((said.fill("data.record", &[("name", name)]), None, None)),
        _ => None,
    }
}

impl Differences<'_> {
    /// Holds every sheet to what was checked; gives the sentence of each step whose value is written on one.
    pub(super) fn sheets(&mut self, items: &[Item]) -> BTreeMap<String, String> {
        // Sheets and line of each step.
        let mut places: BTreeMap<String, (Vec<String>, usize)> = BTreeMap::new();
        let mut passes: Vec<String> = Vec::new();
        for item in items.iter().filter(|i| is_sheet(i)) {
            let name = capital(&item.id);
            self.same(&format!("{}.sheet", item.id), text(item, "sheet"), &name);
            passes.extend(text(item, "pass").map(str::to_owned));
            let mut known = 1 + usize::from(text(item, "pass").is_some());
            for line in 1.. {
                let Some(number) = text(item, &format!("l{line}.step")) else { break };
                known += 1;
                let step = self.compiled.steps.iter().find(|s| s.number == number);
                let Some((function, low, high)) = step.and_then(|s| wanted(s, self.said)) else {
                    self.list.push(format!("{}.l{line}.step names step {number}, which takes no reading", item.id));
                    continue;
                };
                for (key, want) in [("function", Some(function.as_str())), ("low", low), ("high", high)] {
                    let id = format!("l{line}.{key}");
                    let seen = text(item, &id);
                    known += usize::from(seen.is_some());
                    if seen.map(plain) != want.map(plain) {
                        self.list.push(format!("{}.{id} is to read {seen:?} and was checked as {want:?}", item.id));
                    }
                }
                let place = places.entry(number.to_owned()).or_insert((Vec::new(), line));
                place.0.push(name.clone());
                if place.1 != line {
                    self.list.push(format!("step {number} stands on different lines of its data sheets"));
                }
            }
            if known != item.values.len() {
                self.list.push(format!("{} has values that were not checked", item.id));
            }
        }
        // All passes of each repeat that has sheets, one behind the other.
        let repeats =
            self.compiled.steps.iter().filter_map(|s| if let Act::Repeat { at_most } = s.act { Some((&s.number, at_most)) } else { None });
        for (number, most) in repeats {
            let one = |n: u32| self.said.fill("data.pass", &[("pass", &n.to_string()), ("number", number)]);
            let all: Vec<String> = (1..=most).map(one).collect();
            let seen: Vec<String> = passes.iter().filter(|p| all.contains(p)).cloned().collect();
            passes.retain(|p| !all.contains(p));
            if !seen.is_empty() && seen != all {
                self.list.push(format!("data sheets are to be printed for {seen:?} and were checked for {all:?}"));
            }
        }
        self.list
            .extend(passes.into_iter().map(|pass| format!("a data sheet is to be printed for {pass:?}, which is no pass of a repeat")));
        places.into_iter().map(|(step, (sheets, line))| (step, sentence(self.said, &sheets, &line.to_string()))).collect()
    }
}

fn sentence(said: &Said, sheets: &[String], line: &str) -> String {
    match sheets {
        [first, .., last] => said.fill("data.write-pass", &[("first", first), ("last", last), ("line", line)]),
        _ => said.fill("data.write", &[("sheet", &sheets.concat()), ("line", line)]),
    }
}
