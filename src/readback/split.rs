//! Steps that go over to another page: said at the foot of one page and at the head of the next, and nothing else again.

use super::{Item, RUNNING, Reading, Said, Whole};
use rustc_hash::FxHashSet;
use std::ops::Range;

/// The first pieces of values that are printed again because their step goes on: its number, and the alerts before it.
pub(super) fn repeats(body: &[&Whole<'_>], reading: &Reading, items: &[Item], said: &Said, out: &mut Vec<String>) -> FxHashSet<usize> {
    // What stands behind the number of a step that goes on, and under a part that is not the last.
    let (goes_on, more) = (said.say("page.continued"), said.say("page.more"));
    let mut repeats = FxHashSet::default();
    for w in body.iter().filter(|w| w.pages[0] != w.pages[1]) {
        if is_step(&items[w.item]) {
            out.push(format!("{} is broken over two pages", w.id));
        }
    }
    let pages: Vec<&[&Whole<'_>]> = body.chunk_by(|a, b| a.pages[0] == b.pages[0]).collect();
    for pair in pages.windows(2) {
        let [before, here] = pair else { continue };
        let (Some(end), Some(start)) = (before.last(), here.first()) else { continue };
        let (last, page) = (end.item, start.pages[0]);
        if !is_step(&items[last]) || !here.iter().any(|w| w.item == last && !names_inset(w.id, &items[last])) {
            continue;
        }
        let number = format!("{}.number", items[last].id);
        // In the order in which they stand where they were printed first.
        let alerts = alerts(items, last);
        let count = items[alerts.clone()].iter().map(|i| i.shown().count()).sum();
        let first = body.iter().filter(|w| alerts.contains(&w.item)).take(count);
        let wanted: Vec<&str> = first.map(|w| w.id).chain([number.as_str()]).collect();
        // A strip or the line that names a repeat may stand above.
        let above = here.iter().take_while(|w| w.item < last && !is_alert(&items[w.item])).count();
        let again = &here[above..(above + wanted.len()).min(here.len())];
        let is_said = again.iter().map(|w| w.id).eq(wanted.iter().copied())
            && here
                .get(above + again.len())
                .is_some_and(|w| w.item == last && reading.found[w.start].before.trim_start().starts_with(goes_on))
            && reading.below(end.pages[0], items).contains(more);
        if is_said {
            repeats.extend(again.iter().map(|w| w.start));
        } else {
            out.push(format!("{} goes over to page {page} and does not say so with its number and its alerts", items[last].id));
        }
    }
    repeats
}

/// Whether an item is a numbered row of the procedure.
fn is_step(item: &Item) -> bool {
    item.id.strip_prefix('s').is_some_and(|n| n.starts_with(|c: char| c.is_ascii_digit() || c == 'C'))
}

fn is_alert(item: &Item) -> bool {
    item.id.strip_prefix('a').is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
}

/// The alerts directly before an item.
fn alerts(items: &[Item], of: usize) -> Range<usize> {
    let count = items[..of].iter().rev().take_while(|i| is_alert(i)).count();
    of - count..of
}

/// Whether a value is of the line that names a repeat or a performed section above its steps.
fn names_inset(id: &str, item: &Item) -> bool {
    let is = |id: &str, names: [&str; 2]| id.rsplit('.').next().is_some_and(|name| names.contains(&name));
    is(id, ["number", "of"]) && item.values.iter().any(|(v, _)| is(v, ["of", "most"]))
}

impl Item {
    /// Ids of its values that show anything.
    fn shown(&self) -> impl Iterator<Item = &str> {
        self.values.iter().filter(|(_, text)| !text.trim().is_empty()).map(|(id, _)| id.as_str())
    }
}

impl Reading {
    /// The words below the last value of a page's body, the foot with them.
    fn below(&self, page: usize, items: &[Item]) -> String {
        let running: FxHashSet<&str> = items.iter().filter(|i| i.id == RUNNING).flat_map(Item::shown).collect();
        let mut words = String::new();
        for found in self.found.iter().filter(|f| f.place.is_some_and(|p| p.page == page)) {
            if running.contains(found.id.as_str()) {
                words.push_str(&found.before);
            } else {
                words.clear();
            }
        }
        words + self.tails.get(page - 1).map_or("", String::as_str)
    }
}
