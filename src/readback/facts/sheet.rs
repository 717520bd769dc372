//! Data sheets against the compiled procedure: each entry is a reading of its step, and each step names where it is written.

use super::{Differences, Item, capital, plain, text};
use crate::compiled::{Act, Step};
use std::collections::BTreeMap;

fn is_sheet(item: &Item) -> bool {
    item.id.strip_prefix('d').is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
}

/// What is read, where and on what; lowest and highest.
fn wanted(step: &Step) -> Option<(String, Option<&str>, Option<&str>)> {
    match &step.act {
        Act::Read { quantity, place, low, high, instrument, .. } => {
            let place = place.as_ref().map_or_else(String::new, |p| format!(" at {p}"));
            Some((format!("Read {quantity}{place} on {instrument}"), low.as_deref(), high.as_deref()))
        }
        Act::Record { name, .. } => Some((format!("Record {name}"), None, None)),
        _ => None,
    }
}

impl Differences<'_> {
    /// Holds every sheet to what was checked; gives the sentence of each step whose value is written on one.
    pub(super) fn sheets(&mut self, items: &[Item]) -> BTreeMap<String, String> {
        // Sheets and line of each step.
        let mut places: BTreeMap<String, (Vec<String>, usize)> = BTreeMap::new();
        let mut passes: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for item in items.iter().filter(|i| is_sheet(i)) {
            let name = capital(&item.id);
            self.same(&format!("{}.sheet", item.id), text(item, "sheet"), &name);
            if let Some(pass) = text(item, "pass") {
                let of = pass.rsplit_once("step ").map_or("", |(_, n)| n);
                passes.entry(of.to_owned()).or_default().push(pass.to_owned());
            }
            let mut known = 1 + usize::from(text(item, "pass").is_some());
            for line in 1.. {
                let Some(number) = text(item, &format!("l{line}.step")) else { break };
                known += 1;
                let step = self.compiled.steps.iter().find(|s| s.number == number);
                let Some((function, low, high)) = step.and_then(wanted) else {
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
        for (of, seen) in passes {
            let most = self.compiled.steps.iter().find_map(|s| match &s.act {
                Act::Repeat { at_most } if s.number == of => Some(*at_most),
                _ => None,
            });
            let all: Vec<String> = (1..=most.unwrap_or(0)).map(|n| format!("Pass {n} of step {of}")).collect();
            if seen != all {
                self.list.push(format!("data sheets are to be printed for {seen:?} and were checked for {all:?}"));
            }
        }
        places.into_iter().map(|(step, (sheets, line))| (step, sentence(&sheets, line))).collect()
    }
}

fn sentence(sheets: &[String], line: usize) -> String {
    match sheets {
        [first, .., last] => format!("Write it on the data sheet of the pass, {first} to {last}, line {line}."),
        _ => format!("Write it on data sheet {}, line {line}.", sheets.concat()),
    }
}
