//! The printed things of a work instruction in one list, each as the values it prints.

use super::gist::gist;
use super::{Detail, Numbers};
use crate::document::{Block, Document, Field, ModelData, Signal, wording};
use crate::words::Piece::{Slot, Text};
use crate::words::{Words, ids};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// One printed thing that can change by itself.
pub(super) struct Entry {
    /// The item that prints it.
    pub item: String,
    /// Only things of one kind are taken for each other: `step.move`, `alert`.
    pub kind: String,
    /// Its number, if it has one.
    pub number: Option<String>,
    /// Where it stands: "Step 12".
    pub place: String,
    /// What it says, in one line.
    pub gist: String,
    /// Its values by name, in printed order.
    pub leaves: Vec<(String, Leaf)>,
    key: String,
}

/// A printed value, with references to other items kept apart from its words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Leaf(Vec<Piece>);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece {
    Words(String),
    /// A link: what is printed, and the item it leads to.
    To(String, String),
    /// The number behind the word "step".
    Number(String),
}

/// Keys that hold numbers and names that follow from the place of a thing, or what belongs to other things.
const APART: [&str; 9] = ["item", "id", "number", "code", "block_number", "changed", "blocks", "passes", "drawing"];

/// Values that follow from where a thing stands among the others.
const FOLLOWING: [&str; 6] = ["sign", "told", "from", "crosses_zero", "push.seen", "actual"];

/// Values that are there only where the ways of moves were looked at.
const TOLD: [&str; 3] = ["told", "limits", "notes"];

/// Everything of the body that can change, in printed order; with what is `told` of the ways of moves, or without.
pub(super) fn entries(document: &Document, words: &Words, told: bool) -> Vec<Entry> {
    let mut out = Vec::new();
    let walk = Walk { words, counting: Counting::of(words), told };
    walk.add(&document.blocks, &mut out);
    // What has no number stands before the next thing that has one.
    let mut next: Option<String> = None;
    for entry in out.iter_mut().rev() {
        match &entry.number {
            Some(number) => next = Some(number.clone()),
            None => entry.place = wording::before(&entry.place, next.as_deref(), words),
        }
    }
    out
}

/// A walk over a document in the words of its print.
struct Walk<'w> {
    words: &'w Words,
    counting: Counting,
    told: bool,
}

impl Walk<'_> {
    fn add(&self, blocks: &[Block], out: &mut Vec<Entry>) {
        for block in blocks {
            let mut loose = |item: &str, place| out.push(self.entry(block, item, None, self.words.say(place)));
            match block {
                Block::Section(s) => {
                    loose(&s.item, ids::CHANGE_HEADING);
                    self.add(&s.blocks, out);
                }
                Block::Checks(c) => loose(&c.item, ids::STRIP_BEFORE_POWER_ON),
                Block::Alert(a) => loose(&a.item, signal(a.signal)),
                Block::Text { item, .. } => loose(item, ids::CHANGE_TEXT),
                Block::Table(t) => loose(&t.item, ids::CHANGE_TABLE),
                Block::Step(s) => out.push(self.numbered(block, &s.item, &s.number)),
                Block::Hold(h) => out.push(self.numbered(block, &h.item, &h.number)),
                Block::Verify(v) => out.push(self.numbered(block, &v.item, &v.number)),
                Block::Reading(r) => out.push(self.numbered(block, &r.item, &r.number)),
                Block::Wait(w) => out.push(self.numbered(block, &w.item, &w.number)),
                Block::Turnover(t) => out.push(self.numbered(block, &t.item, &t.number)),
                Block::Condition(c) => {
                    out.push(self.numbered(block, &c.item, &c.number));
                    c.arms.iter().for_each(|a| self.add(&a.blocks, out));
                }
                Block::Repeat(r) => {
                    out.push(self.numbered(block, &r.item, &r.number));
                    self.add(&r.blocks, out);
                }
                Block::Perform(p) => {
                    out.push(self.numbered(block, &p.item, &p.number));
                    self.add(&p.blocks, out);
                }
                // What is said below a drawing is said of its step.
                Block::Figure(f) => {
                    if let (true, Some(drawn)) = (self.told, out.last_mut()) {
                        let said = leaves(&value(&f.caption), &[], &self.counting);
                        drawn.leaves.extend(said.into_iter().map(|(of, leaf)| (format!("drawn.{of}"), leaf)));
                    }
                }
                // It follows from the steps.
                Block::Strip(_) => {}
            }
        }
    }

    fn numbered(&self, block: &Block, item: &str, number: &Field) -> Entry {
        self.entry(block, item, Some(&number.text), &self.words.fill(ids::STEP_HEAD, [&number.text]))
    }

    fn entry(&self, block: &Block, item: &str, number: Option<&str>, place: &str) -> Entry {
        let value = value(block);
        let word = |v: Option<&Value>| v.and_then(Value::as_str).unwrap_or_default().to_owned();
        let kind = format!("{}.{}", word(value.get("block")), word(value.get("act").and_then(|a| a.get("act"))));
        // The name of a hold point is its number among them.
        let mut leaves = leaves(&value, &["name"], &self.counting);
        leaves.retain(|(of, _)| self.told || !TOLD.iter().any(|told| of.starts_with(told)));
        let own = leaves.iter().filter(|(of, _)| !FOLLOWING.iter().any(|f| of.starts_with(f) || of.contains(&format!(".{f}"))));
        let key = own.fold(kind.clone(), |mut key, (_, leaf)| {
            let _ = write!(key, "\u{1f}{}", leaf.without_places());
            key
        });
        Entry { item: item.to_owned(), kind, number: number.map(str::to_owned), place: place.to_owned(), gist: gist(block), leaves, key }
    }
}

/// The place of an alert.
fn signal(signal: Signal) -> ids::Entry<0> {
    match signal {
        Signal::Warning => ids::SIGNAL_WARNING,
        Signal::Caution => ids::SIGNAL_CAUTION,
        Signal::Note => ids::SIGNAL_NOTE,
    }
}

impl Entry {
    /// What it says by itself, wherever it stands.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Each value that differs from that of an earlier one, references followed to where they lead now.
    pub fn details(&self, was: &Entry, numbers: &Numbers) -> Vec<Detail> {
        let old: Vec<(&str, &Leaf, Leaf)> = was.leaves.iter().map(|(of, l)| (of.as_str(), l, l.followed(numbers))).collect();
        let mut out = details(&old, &self.leaves);
        for detail in &mut out {
            detail.joint = self.mover(&detail.of).filter(|joint| detail.is.as_ref() != Some(joint));
        }
        out
    }

    /// The joint that a value is of, in a step that moves two.
    fn mover(&self, of: &str) -> Option<String> {
        let (which, _) = of.strip_prefix(MOVES)?.split_once('.')?;
        let name = format!("{MOVES}{which}.joint");
        self.leaves.iter().find(|(of, _)| *of == name).map(|(_, leaf)| leaf.text())
    }
}

/// Where the moves of a step that makes two begin.
const MOVES: &str = "act.moves.";

/// Names of the values that are read first.
const FIRST: [&str; 8] = ["joint", "direction", "target", "cue", "tap", "opening", "limit", "low"];

fn details(old: &[(&str, &Leaf, Leaf)], new: &[(String, Leaf)]) -> Vec<Detail> {
    let mut out = Vec::new();
    for (of, leaf) in new {
        match old.iter().find(|(o, ..)| o == of) {
            Some((_, _, followed)) if followed.target_only() == leaf.target_only() => {}
            Some((_, was, _)) => out.push(Detail { of: of.clone(), joint: None, was: Some(was.text()), is: Some(leaf.text()) }),
            None => out.push(Detail { of: of.clone(), joint: None, was: None, is: Some(leaf.text()) }),
        }
    }
    let gone = old.iter().filter(|(of, ..)| !new.iter().any(|(n, _)| n == of));
    out.extend(gone.map(|(of, was, _)| Detail { of: (*of).to_owned(), joint: None, was: Some(was.text()), is: None }));
    // What is aimed at before what follows from it.
    let rank = |d: &Detail| FIRST.iter().position(|name| d.of.ends_with(name)).unwrap_or(FIRST.len());
    out.sort_by_key(rank);
    out
}

/// What differs before the first step, digests and the document's own revision apart.
pub(super) fn around(earlier: &Document, now: &Document, words: &Words) -> Vec<Detail> {
    let counting = Counting::of(words);
    let of = |d: &Document| {
        let mut out = Vec::new();
        let mut part = |name: &str, value: Value| {
            out.extend(leaves(&value, &["digest"], &counting).into_iter().map(|(of, leaf)| (format!("{name}.{of}"), leaf)));
        };
        part("title", value(&d.identity.title));
        part("use", value(&d.identity.use_level));
        part("purpose", value(&d.front.purpose));
        let model = |m: &ModelData| m.name.id.split('.').nth(1).unwrap_or_default().to_owned();
        d.front.models.iter().for_each(|m| part(&format!("model.{}", model(m)), value(m)));
        d.front.roles.iter().for_each(|r| part(&format!("post.{}", r.name.text), value(&r.name)));
        d.front.waivers.iter().for_each(|w| part(&format!("waiver.{}.{}", w.rule.text, w.step.text), value(&w.reason)));
        part("start", value(&d.start));
        part("power", value(&d.power));
        out
    };
    let (old, new) = (of(earlier), of(now));
    let old: Vec<(&str, &Leaf, Leaf)> = old.iter().map(|(of, l)| (of.as_str(), l, l.clone())).collect();
    details(&old, &new)
}

fn value(printed: &impl Serialize) -> Value {
    serde_json::to_value(printed).unwrap_or(Value::Null)
}

/// Every printed value under its name, those of keys `without` and of [`APART`] left out.
fn leaves(value: &Value, without: &[&str], counting: &Counting) -> Vec<(String, Leaf)> {
    let mut out = Vec::new();
    walk(value, String::new(), (without, counting), &mut out);
    out
}

fn walk(value: &Value, at: String, how: (&[&str], &Counting), out: &mut Vec<(String, Leaf)>) {
    let (without, counting) = how;
    match value {
        Value::Object(object) => {
            let id = object.contains_key("id");
            if let (true, Some(text)) = (id, object.get("text").and_then(Value::as_str)) {
                return out.push((at, Leaf::words(text, counting)));
            }
            if let (true, Some(Value::Array(spans))) = (id, object.get("spans")) {
                return out.push((at, Leaf::prose(spans, counting)));
            }
            for (key, value) in object {
                let below = if at.is_empty() { key.clone() } else { format!("{at}.{key}") };
                // A list of names is not a name of the thing itself.
                let own = at.is_empty() && without.contains(&key.as_str());
                if !own && !APART.contains(&key.as_str()) {
                    walk(value, below, how, out);
                }
            }
        }
        Value::Array(list) => {
            for (i, value) in list.iter().enumerate() {
                walk(value, format!("{at}.{}", i + 1).trim_start_matches('.').to_owned(), how, out);
            }
        }
        Value::Null => {}
        Value::String(text) => out.push((at, Leaf(vec![Piece::Words(text.clone())]))),
        other => out.push((at, Leaf(vec![Piece::Words(other.to_string())]))),
    }
}

impl Leaf {
    fn words(text: &str, counting: &Counting) -> Leaf {
        let mut out = Vec::new();
        counting.numbered(text, &mut out);
        Leaf(out)
    }

    fn prose(spans: &[Value], counting: &Counting) -> Leaf {
        let mut out = Vec::new();
        for span in spans {
            let text = span.get("text").and_then(Value::as_str).unwrap_or_default();
            match span.get("to").and_then(Value::as_str) {
                Some(to) => out.push(Piece::To(text.to_owned(), to.to_owned())),
                None => counting.numbered(text, &mut out),
            }
        }
        Leaf(out)
    }

    /// The words as printed.
    pub fn text(&self) -> String {
        self.0
            .iter()
            .map(|p| match p {
                Piece::Words(t) | Piece::To(t, _) | Piece::Number(t) => t.as_str(),
            })
            .collect()
    }

    /// The words, whatever they refer to.
    fn without_places(&self) -> String {
        self.0.iter().map(|p| if let Piece::Words(t) = p { t.as_str() } else { "\u{1}" }).collect()
    }

    /// The words with where they lead, whatever is printed there.
    fn target_only(&self) -> String {
        let mut out = String::new();
        for piece in &self.0 {
            match piece {
                Piece::Words(t) | Piece::Number(t) => out.push_str(t),
                Piece::To(_, to) => {
                    let _ = write!(out, "\u{1}{to}\u{1}");
                }
            }
        }
        out
    }

    /// The same with references led to where the things stand now; to nothing that exists, where they are gone.
    fn followed(&self, numbers: &Numbers) -> Leaf {
        let gone = |what: &str| format!("\u{1}gone {what}");
        let each = |p: &Piece| match p {
            Piece::Words(_) => p.clone(),
            // What is no step, such as a data sheet, keeps its name.
            Piece::To(text, to) => {
                let now = numbers.items.get(to).map_or_else(|| to.clone(), |now| now.clone().unwrap_or_else(|| gone(to)));
                Piece::To(text.clone(), now)
            }
            Piece::Number(n) => Piece::Number(numbers.numbers.get(n).cloned().unwrap_or_else(|| gone(n))),
        };
        Leaf(self.0.iter().map(each).collect())
    }
}

/// Sentences that name steps by their numbers.
const NAMING: [&str; 10] = [
    "step.name",
    "step.head",
    "step.names",
    "duty.point",
    "duty.verifies-one",
    "duty.verifies",
    "duty.agrees-one",
    "duty.agrees",
    "duty.told-one",
    "duty.told",
];

/// Behind which words numbers of steps stand, in small letters: those of writers and those of the print.
struct Counting {
    steps: BTreeSet<String>,
    joints: BTreeSet<String>,
}

fn bare(word: &str) -> String {
    word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase()
}

impl Counting {
    fn of(words: &Words) -> Counting {
        let before = |id: &&str| {
            let pieces = words.find(id).unwrap_or_default();
            let at = pieces.iter().position(|p| matches!(p, Slot(slot) if ["number", "list"].contains(&slot.as_str())))?;
            let Text(text) = pieces.get(at.checked_sub(1)?)? else { return None };
            text.split_whitespace().next_back().map(bare)
        };
        let steps = NAMING.iter().filter_map(before).chain(["step", "steps"].map(str::to_owned));
        let joints = [ids::BIND_AND, ids::BIND_OR, ids::BIND_RANGE].map(|joint| bare(words.say(joint)));
        Counting { steps: steps.collect(), joints: joints.into_iter().chain(["and", "or", "to"].map(str::to_owned)).collect() }
    }

    /// Words, with the numbers of steps apart: "steps 4, 9 and 12".
    fn numbered(&self, text: &str, out: &mut Vec<Piece>) {
        let mut words = String::new();
        let mut counting = false;
        let mut rest = text;
        while let Some(c) = rest.chars().next() {
            let end = rest.find(|c: char| c.is_whitespace()).unwrap_or(rest.len());
            if end == 0 {
                words.push(c);
                rest = &rest[c.len_utf8()..];
                continue;
            }
            let (token, behind) = rest.split_at(end);
            rest = behind;
            let number = token.trim_end_matches([',', '.', ';', ':', ')', '"']);
            let is_number = number.starts_with(|c: char| c.is_ascii_digit() || c == 'C' || c == 'A')
                && number.contains(|c: char| c.is_ascii_digit())
                && number.chars().all(|c| c.is_ascii_digit() || c.is_ascii_uppercase() || c == '.');
            if counting && is_number {
                out.push(Piece::Words(std::mem::take(&mut words)));
                out.push(Piece::Number(number.to_owned()));
                words.push_str(&token[number.len()..]);
                continue;
            }
            let bare = bare(token);
            counting = self.steps.contains(&bare) || counting && self.joints.contains(&bare);
            words.push_str(token);
        }
        out.push(Piece::Words(words));
    }
}
