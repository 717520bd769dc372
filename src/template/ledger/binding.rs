//! Where a value stands among those of its move, and behind which words: a low end behind "and" would be read as a high.
//!
//! Low and high, target and start, a joint and the one moved with it are told apart by a reader through order and words
//! alone. So the order is fixed, and the words are those of the set in force, whatever else a site rewords.

use super::{Demand, Failure, FoundField, Ledger, rules};
use crate::words::{Words, ids};
use rustc_hash::{FxHashMap, FxHashSet};

/// Values of one move, band, gate or step, in the order in which they stand.
const ORDER: &[&str] = &[
    "number",
    "name",
    "quantity",
    "instrument",
    "equipment",
    "load",
    "station",
    "word",
    "joint",
    "direction",
    "target",
    "cue",
    "tap",
    "opening",
    "level",
    "expected",
    "low",
    "high",
    "side",
    "limit",
    "checked",
    "least",
    "most",
    "until",
    "past-side",
    "past",
    "from",
];

/// `s8.a.from2` as the move `s8.a` and the place `from`.
fn place(id: &str) -> (&str, &str) {
    let (of, name) = id.rsplit_once('.').unwrap_or(("", id));
    (of, name.trim_end_matches(|c: char| c.is_ascii_digit()))
}

/// What must be read directly before a value, and before further ones of the same name; an empty phrase: no word since the
/// value before.
fn binding<'w>(name: &str, first: bool, beside: &FxHashSet<&str>, words: &'w Words) -> Vec<&'w str> {
    let (expected, low, high) = (beside.contains("expected"), beside.contains("low"), beside.contains("high"));
    let entry = match name {
        "direction" | "expected" | "limit" | "past" => return vec![""],
        "target" | "opening" => ids::BIND_TO,
        "cue" | "until" => ids::BIND_UNTIL,
        "tap" => ids::BIND_TAP,
        "level" => ids::BIND_LEVEL,
        "side" => ids::BIND_LIMIT,
        "past-side" => ids::BIND_PAST,
        "least" => ids::BIND_LEAST,
        "most" if !beside.contains("tap") => ids::BIND_MOST,
        "low" if expected => return vec![""],
        "low" if high => ids::BIND_BETWEEN,
        "low" => ids::BIND_ABOVE,
        "high" if expected => ids::BIND_RANGE,
        "high" if low => ids::BIND_AND,
        "high" => ids::BIND_BELOW,
        "from" if beside.contains("direction") && first => ids::BIND_FROM,
        "from" if beside.contains("direction") => return vec!["", words.say(ids::BIND_OR)],
        _ => return Vec::new(),
    };
    vec![words.say(entry)]
}

/// The words of markup, without its tags and references.
fn spoken(markup: &str) -> Vec<&str> {
    let parts = markup.split('<').enumerate();
    let outside = parts.map(|(i, part)| if i == 0 { part } else { part.split_once('>').map_or("", |(_, words)| words) });
    outside
        .flat_map(|text| text.split(|c: char| c.is_whitespace() || c == '&' || c == ';'))
        .map(|w| w.trim_matches(|c: char| !c.is_alphanumeric() && c != '#'))
        .filter(|w| w.contains(|c: char| c.is_alphanumeric()) && !w.starts_with('#'))
        .collect()
}

/// Whether words end in a phrase, in small or capital letters; an empty one: whether there are none.
fn ends_in(words: &[&str], phrase: &str) -> bool {
    let mut phrase = phrase.split_whitespace().rev().peekable();
    if phrase.peek().is_none() {
        return words.is_empty();
    }
    let mut words = words.iter().rev();
    phrase.all(|p| words.next().is_some_and(|w| w.chars().flat_map(char::to_lowercase).eq(p.chars().flat_map(char::to_lowercase))))
}

/// Every value that stands in another's place.
pub(super) fn misplaced(demand: &Demand, ledger: &Ledger, output: &str, words: &Words) -> Vec<Failure> {
    // The moves and gates of a step in their order.
    let mut parts: FxHashMap<&str, usize> = FxHashMap::default();
    let mut beside: FxHashMap<&str, FxHashSet<&str>> = FxHashMap::default();
    let mut steps: FxHashMap<&str, Option<&String>> = FxHashMap::default();
    for (id, item) in demand.items.iter().filter(|i| i.id != "header").flat_map(|i| i.fields.iter().map(move |(id, _)| (id, i))) {
        let (of, name) = place(id);
        let next = parts.len();
        parts.entry(of).or_insert(next);
        beside.entry(of).or_default().insert(name);
        steps.insert(id, item.number.as_ref());
    }
    let mut out = Vec::new();
    let mut reached: FxHashMap<&str, (usize, &str)> = FxHashMap::default();
    let mut seen: FxHashSet<&str> = FxHashSet::default();
    let mut left: FxHashSet<&str> = FxHashSet::default();
    let mut current = "";
    let mut end = 0;
    for field in &ledger.fields {
        let before = output.get(end..field.at).unwrap_or("");
        end = field.at + output.get(field.at..).and_then(|rest| rest.find("</span>")).map_or(0, |n| n + "</span>".len());
        let FoundField { id, at, .. } = field;
        let (Some(step), (of, name)) = (steps.get(id.as_str()), place(id)) else { continue };
        let Some(rank) = ORDER.iter().position(|o| *o == name) else { continue };
        let mut fail = |what: String| out.push(Failure { rule: &rules::MISPLACES_FIELD, at: *at, what, step: step.cloned() });
        // Number and name of a step may head what belongs to it once more.
        if !seen.insert(id) {
            if name != "number" && name != "name" {
                fail(format!("the value {id} is printed a second time"));
            }
            continue;
        }
        let earlier = reached.insert(of, (rank, id));
        if let Some((_, earlier)) = earlier.filter(|(earlier, _)| *earlier > rank) {
            fail(format!("the value {id} stands behind {earlier} and must stand before it"));
        }
        let is_sibling = current.rsplit_once('.').map(|c| c.0) == of.rsplit_once('.').map(|o| o.0);
        if of.contains('.') && is_sibling && parts.get(of) < parts.get(current) {
            fail(format!("the value {id} stands behind those of {current} and must stand before them"));
        }
        if of != current && !of.starts_with(current) {
            left.insert(current);
        }
        if of.contains('.') && left.remove(of) {
            fail(format!("the value {id} stands among those of {current}"));
        }
        current = of;
        let phrases = binding(name, earlier.is_none_or(|(earlier, _)| earlier != rank), &beside[of], words);
        if phrases.is_empty() {
            continue;
        }
        let spoken = spoken(before);
        if !phrases.iter().any(|phrase| ends_in(&spoken, phrase)) {
            let last = spoken[spoken.len().saturating_sub(3)..].join(" ").to_lowercase();
            fail(match phrases[0] {
                "" => format!("the value {id} stands behind the words {last:?} and must follow the value before it"),
                phrase => format!("the value {id} stands behind the words {last:?} and must stand behind {phrase:?}"),
            });
        }
    }
    out
}
