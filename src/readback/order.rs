//! Order and binding of values: which stands behind which, after which words, at which place, on which page.

use super::{Item, Place, RUNNING, Reading, Said, Whole, split};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// Values of one move, band or gate in the order in which they must stand.
const RANK: [&str; 26] = [
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
    "least",
    "most",
    "until",
    "past-side",
    "past",
    "from",
];

/// `s8.a.from2` as its group `s8.a` and its name `from`.
fn parts(id: &str) -> (&str, &str) {
    let (group, name) = id.rsplit_once('.').unwrap_or(("", id));
    (group, name.trim_end_matches(|c: char| c.is_ascii_digit()))
}

fn rank(name: &str) -> Option<usize> {
    RANK.iter().position(|r| *r == name)
}

/// Whether a value has a place of its own in a move, band or gate.
pub(super) fn is_ranked(id: &str) -> bool {
    rank(parts(id).1).is_some()
}

/// The values of an item that are not blank: the sentences, then move by move those with a place of their own, in its order.
pub(super) fn ranked(item: &Item) -> Vec<(&str, &str)> {
    let mut out: Vec<(&str, &str)> =
        item.values.iter().filter(|(_, v)| !v.trim().is_empty()).map(|(id, v)| (id.as_str(), v.as_str())).collect();
    // The step itself, then its parts as they come.
    let mut groups: FxHashMap<&str, usize> = FxHashMap::default();
    for group in std::iter::once(item.id.as_str()).chain(item.values.iter().map(|(id, _)| parts(id).0)) {
        let next = groups.len();
        groups.entry(group).or_insert(next);
    }
    let place = |id: &str| rank(parts(id).1).map(|r| (groups.get(parts(id).0), r));
    out.sort_by_cached_key(|(id, _)| place(id));
    out
}

/// The words that must stand directly before a value; none if anything may.
fn lead<'w>(name: &str, first: bool, beside: &FxHashSet<&str>, said: &'w Said) -> Option<Vec<&'w str>> {
    let has = |n: &str| beside.contains(n);
    let id = match name {
        "direction" | "expected" | "limit" | "past" => return Some(vec![""]),
        "target" | "opening" => "bind.to",
        "cue" | "until" => "bind.until",
        "tap" => "bind.tap",
        "side" => "bind.limit",
        "past-side" => "bind.past",
        "low" if has("expected") => return Some(vec![""]),
        "low" if has("high") => "bind.between",
        "low" => "bind.above",
        "high" if has("expected") => "bind.range",
        "high" if has("low") => "bind.and",
        "high" => "bind.below",
        "level" => "bind.level",
        "least" => "bind.least",
        "most" if !has("tap") => "bind.most",
        "from" if has("direction") && first => "bind.from",
        "from" if has("direction") => return Some(vec!["", said.say("bind.or")]),
        _ => return None,
    };
    Some(vec![said.say(id)])
}

/// Whether the words end in a phrase; an empty one: whether there are none.
fn ends_in(words: &str, phrase: &str) -> bool {
    let mut words = words.rsplit(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
    let mut phrase = phrase.split_whitespace().rev().peekable();
    if phrase.peek().is_none() {
        return words.next().is_none();
    }
    phrase.all(|p| words.next().is_some_and(|w| w.to_lowercase() == p.to_lowercase()))
}

/// Every way in which order, words or places differ from what they must be.
pub(super) fn differences(reading: &Reading, items: &[Item], whole: &[Whole<'_>], said: &Said) -> Vec<String> {
    let mut out = Vec::new();
    let running = items.iter().position(|i| i.id == RUNNING);
    let body: Vec<&Whole<'_>> = whole.iter().filter(|w| Some(w.item) != running).collect();
    let repeats = split::repeats(&body, reading, items, said, &mut out);
    let once: Vec<&Whole<'_>> = body.iter().copied().filter(|w| !repeats.contains(&w.start)).collect();
    let order = || {
        let mut out = Vec::new();
        sequence(&once, items, &mut out);
        groups(&once, reading, items, said, &mut out);
        out
    };
    let places = || {
        let mut out = Vec::new();
        strangers(&once, reading, &mut out);
        if let (Some(item), Some(pages)) = (running, reading.pages) {
            heads(reading, &items[item], whole, pages, &mut out);
        }
        heights(&body, reading, items, &mut out);
        if reading.pages.is_some() {
            contents(whole, reading, items, said, &mut out);
        }
        out
    };
    let (order, places) = rayon::join(order, places);
    out.extend(order.into_iter().chain(places));
    out
}

/// Behind each line of the contents stands the page on which the first value or place to fill in of what it leads to is found.
fn contents(whole: &[Whole<'_>], reading: &Reading, items: &[Item], said: &Said, out: &mut Vec<String>) {
    let behind = |line: &Whole<'_>| {
        let next = reading.found[line.start..].iter().find(|f| f.id != line.id);
        super::plain(next.map_or("", |f| f.before.as_str()))
    };
    let lines = || whole.iter().filter_map(|w| Some((w, w.id.strip_prefix("contents.to-")?)));
    let mut begins: FxHashMap<&str, usize> = FxHashMap::default();
    for w in whole {
        begins.entry(items[w.item].id.as_str()).or_insert(w.pages[0]);
    }
    for blank in &reading.blanks {
        if let Some(page) = begins.get_mut(parts(&blank.name).0) {
            *page = blank.page.min(*page);
        }
    }
    for (line, to) in lines() {
        let Some(page) = begins.get(to) else {
            out.push(format!("{} leads to what is not printed", line.id));
            continue;
        };
        let behind = behind(line);
        let want = said.fill("page.at", &[("page", &page.to_string())]);
        if !behind.starts_with(&*super::plain(&want)) {
            out.push(format!("{} stands before {behind:?} and leads to page {page}", line.id));
        }
    }
}

/// Items follow each other in their order and none comes back; at the head of a later page a strip may, and the line that
/// names a repeat, a branch or a performed section.
fn sequence(body: &[&Whole<'_>], items: &[Item], out: &mut Vec<String>) {
    let mut last: Option<&Whole<'_>> = None;
    let mut page = 0;
    let mut at_head = true;
    for w in body {
        if w.pages[0] != page {
            (page, at_head) = (w.pages[0], true);
        }
        let has = |names: [&str; 3]| items[w.item].values.iter().any(|(id, _)| names.contains(&parts(id).1));
        let heads = || {
            (has(["block", "of", "most"]) || items[w.item].values.len() == 1)
                && ["block", "code", "view", "held", "caution", "number", "of"].contains(&parts(w.id).1)
        };
        match last {
            Some(l) if w.item < l.item && at_head && heads() => continue,
            Some(l) if w.item < l.item => out.push(format!("{} is printed after {}, which comes later", w.id, items[l.item].id)),
            _ => last = Some(w),
        }
        at_head = false;
    }
}

/// Values of one move or band stand together, once, in their order, each behind its words.
fn groups(body: &[&Whole<'_>], reading: &Reading, items: &[Item], said: &Said, out: &mut Vec<String>) {
    let mut names: FxHashMap<&str, FxHashSet<&str>> = FxHashMap::default();
    for w in body {
        let (group, name) = parts(w.id);
        names.entry(group).or_default().insert(name);
    }
    let mut order: FxHashMap<&str, usize> = FxHashMap::default();
    for (n, (id, _)) in items.iter().flat_map(|i| &i.values).enumerate() {
        order.entry(parts(id).0).or_insert(n);
    }
    let mut seen: FxHashSet<&str> = FxHashSet::default();
    let mut reached: FxHashMap<&str, (usize, &str)> = FxHashMap::default();
    let mut done: FxHashSet<&str> = FxHashSet::default();
    let mut current = "";
    for w in body {
        let (group, name) = parts(w.id);
        let Some(rank) = rank(name) else { continue };
        let first = seen.insert(w.id);
        let again = names[group].contains("of") || names[group].contains("most") || names[group].len() == 1;
        if !first && (name == "name" || name == "number" && again) {
            continue;
        }
        if !first {
            out.push(format!("{} is printed twice", w.id));
        }
        let earlier = reached.insert(group, (rank, w.id));
        if let Some((_, id)) = earlier.filter(|(before, _)| *before > rank) {
            out.push(format!("{} is printed behind {id} and must stand before it", w.id));
        }
        let is_sibling = current.rsplit_once('.').map(|c| c.0) == group.rsplit_once('.').map(|g| g.0);
        if group.contains('.') && is_sibling && order.get(group) < order.get(current) {
            out.push(format!("{} is printed behind the values of {current} and must stand before them", w.id));
        }
        // A part of a step, such as its second move, is left for good once another is begun.
        if group != current && !current.is_empty() && !group.starts_with(current) {
            done.insert(current);
        }
        if group.contains('.') && done.remove(group) {
            out.push(format!("{} is printed among the values of {current}", w.id));
        }
        let piece = &reading.found[w.start];
        current = group;
        let Some(phrases) = lead(name, earlier.is_none_or(|(before, _)| before != rank), &names[group], said) else { continue };
        if !phrases.iter().any(|p| ends_in(&piece.before, p)) {
            out.push(format!("{} is printed behind the words {:?} and must stand behind {:?}", w.id, piece.before.trim(), phrases[0]));
        }
        if !piece.follows {
            out.push(format!("{} does not stand behind the words before it", w.id));
        }
    }
}

/// A number that is no value would be read with the values of its line.
fn strangers(body: &[&Whole<'_>], reading: &Reading, out: &mut Vec<String>) {
    let placed: FxHashSet<&str> = body.iter().map(|w| w.id).filter(|id| is_ranked(id)).collect();
    let has_number =
        |line: Option<&str>| line.is_some_and(|l| l.contains(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}')));
    for (piece, next) in reading.found.iter().zip(reading.found.iter().skip(1)) {
        for (id, line) in [(&piece.id, next.before.split('\n').next()), (&next.id, next.before.rsplit('\n').next())] {
            if placed.contains(id.as_str()) && has_number(line) {
                out.push(format!("beside {id} stands an unknown number: {:?}", line.unwrap_or("").trim()));
            }
        }
    }
}

/// Every page carries the running words, whole and at one place.
fn heads(reading: &Reading, item: &Item, whole: &[Whole<'_>], pages: usize, out: &mut Vec<String>) {
    let (wide, tall) = reading.sizes.first().copied().unwrap_or_default();
    if let Some(page) = reading.sizes.iter().position(|s| *s != (wide, tall) && *s != (tall, wide)) {
        out.push(format!("page {} has another size", page + 1));
    }
    let key = |p: Place| ((p.left * 10.0).round() as i32, (p.baseline * 10.0).round() as i32);
    for (id, _) in item.values.iter().filter(|(_, text)| !text.trim().is_empty()) {
        let mut places: BTreeMap<usize, FxHashSet<(i32, i32)>> = BTreeMap::new();
        for w in whole.iter().filter(|w| w.id == id) {
            places.entry(w.pages[0]).or_default().extend(reading.found[w.start].place.map(key));
        }
        if let Some(page) = (1..=pages).find(|n| !places.contains_key(n)) {
            out.push(format!("{id} is not on page {page}"));
            continue;
        }
        // Pages that lie across have their own place for it.
        let mut common: BTreeMap<(i32, i32), FxHashSet<(i32, i32)>> = BTreeMap::new();
        for (page, own) in places {
            let size = reading.sizes.get(page - 1).copied().unwrap_or_default();
            common.entry(size).and_modify(|all| all.retain(|p| own.contains(p))).or_insert(own);
        }
        if common.values().any(FxHashSet::is_empty) {
            out.push(format!("{id} does not stand at one place on every page"));
        }
    }
}

/// On a page, items stand one below the other.
fn heights(body: &[&Whole<'_>], reading: &Reading, items: &[Item], out: &mut Vec<String>) {
    let of: FxHashMap<&str, usize> = body.iter().map(|w| (w.id, w.item)).collect();
    let mut last: Option<(usize, usize, f32)> = None;
    let mut floor = f32::INFINITY;
    for piece in &reading.found {
        let (Some(item), Some(place)) = (of.get(piece.id.as_str()), piece.place) else { continue };
        match last {
            Some((page, before, lowest)) if page == place.page => {
                if before != *item {
                    floor = lowest;
                }
                if place.baseline > floor - 0.1 {
                    out.push(format!("{} stands beside or above {}", piece.id, items[before].id));
                }
                last = Some((page, *item, if before == *item { lowest.min(place.baseline) } else { place.baseline }));
            }
            _ => {
                floor = f32::INFINITY;
                last = Some((place.page, *item, place.baseline));
            }
        }
    }
}
