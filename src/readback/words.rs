//! Plain text has no ids: numbers of steps, read-outs and the values of moves must stand in it one behind the other, each
//! number at the head of a line; every other value must stand somewhere.
//!
//! The earliest place that fits is taken each time, so that a right print is never refused. A wrong one is found out by
//! the first value that no place is left for: that, not the changed one, is named.

use super::{Item, in_number, order, plain};
use std::collections::BTreeSet;

/// Marks at the start of a line, which belong to the frame around it or are boxes to tick.
const EDGES: [&str; 9] = ["|", "!", "!!", "#", "##", "***", "==", "[", "]"];

/// The first value that does not stand where it must, and all those that stand nowhere.
pub(super) fn differences(bytes: &[u8], items: &[Item]) -> Vec<String> {
    let Ok(text) = std::str::from_utf8(bytes) else { return vec!["it is not UTF-8".to_owned()] };
    let mut words = String::with_capacity(text.len());
    let mut heads = BTreeSet::new();
    for line in text.lines() {
        heads.insert(words.len());
        words.push_str(
            &line.trim_start_matches([' ', '|']).split_whitespace().skip_while(|w| EDGES.contains(w)).collect::<Vec<_>>().join(" "),
        );
        words.push(' ');
    }
    let mut out = Vec::new();
    let mut at = 0;
    for item in items {
        let start = at;
        for (id, value) in order::ranked(item).into_iter().filter(|(id, _)| order::is_ranked(id) && !id.starts_with("doc.")) {
            let value = plain(value);
            let found = if *id == format!("{}.number", item.id) {
                let is_whole = |h: &&usize| words[**h..].strip_prefix(&*value).is_some_and(|rest| rest.starts_with(' '));
                heads.range(at..).find(is_whole).copied()
            } else {
                find(&words, at, &value)
            };
            let Some(found) = found else {
                out.push(format!("{id} must read {value:?} and is not there behind the values before it"));
                return out;
            };
            at = found + value.len();
        }
        for (id, value) in order::ranked(item).into_iter().filter(|(id, _)| !order::is_ranked(id)) {
            let value = plain(value);
            if find(&words, start, &value).or_else(|| find(&words, 0, &value)).is_none() {
                out.push(format!("{id} must read {value:?} and is not there"));
            }
        }
    }
    out
}

/// A value as words of their own from some place on: not the middle of a longer number or word.
fn find(text: &str, from: usize, value: &str) -> Option<usize> {
    let joined = |a: Option<char>, b: Option<char>| {
        let (Some(a), Some(b)) = (a, b) else { return false };
        (a.is_alphanumeric() && b.is_alphanumeric()) || (in_number(a) && b.is_ascii_digit())
    };
    let mut from = from;
    while let Some(found) = text[from..].find(value).map(|f| f + from) {
        let (before, after) = (text[..found].chars().next_back(), text[found + value.len()..].chars().next());
        if !joined(before, value.chars().next()) && !joined(value.chars().next_back(), after) {
            return Some(found);
        }
        from = found + value.chars().next().map_or(1, char::len_utf8);
    }
    None
}
