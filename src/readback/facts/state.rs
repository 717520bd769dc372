//! Expected read-outs, view and load of a strip or a turnover, against the states a step can start in.

use super::evidence::decimal;
use super::{Differences, text};
use crate::compiled::{Joint, Readout, State, Step, Title};
use crate::readback::{Item, plain};
use rustc_hash::FxHashMap;

/// Whether a name is part of a list of read-outs: `j3.low`, `j3or1.expected`.
pub(super) fn is_read_out(name: &str) -> bool {
    joint(name).is_some()
}

/// One printed read-out, in thousandths of a degree where it is a number.
struct Line {
    joint: usize,
    key: String,
    low: Option<i64>,
    expected: Option<i64>,
    high: Option<i64>,
}

/// The joint of a read-out, counted from 0, and the key before the point.
pub(super) fn joint(name: &str) -> Option<(usize, &str)> {
    let (key, _) = name.rsplit_once('.')?;
    let digits = key.strip_prefix('j')?.split("or").next()?;
    Some((digits.parse::<usize>().ok()?.checked_sub(1)?, key))
}

/// "+12.5 deg" in thousandths of a degree.
pub(super) fn thousandths(text: &str) -> Option<i64> {
    let number = text.strip_suffix(" deg").or_else(|| text.strip_suffix("\u{a0}deg")).unwrap_or(text);
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    (part.len() <= 3).then_some(())?;
    format!("{whole}{part:0<3}").parse().ok()
}

/// What a read-out of so many decimals shows between two angles, the ends where it shows nothing.
pub(super) fn shown((low, high): (i64, i64), decimals: u8) -> (i64, i64) {
    let digit = 10_i64.pow(3 - u32::from(decimals.min(3)));
    let (up, down) = ((low + digit - 1).div_euclid(digit) * digit, high.div_euclid(digit) * digit);
    if up <= down { (up, down) } else { (low, high) }
}

/// Between which angles a read-out can be; where all are `compared`, must be.
pub(super) fn ends(r: &Readout, joint: &Joint, compared: bool) -> (i64, i64) {
    let (low, high) = (r.low - joint.hold, r.high + joint.hold);
    match r.known.as_str() {
        // A joint that could move without power must be where it was left; where all are compared, an angle reached by eye comes into
        // the band of the read-out.
        "unread" | "unread-range" => (r.low, r.high),
        "by-eye" if compared => (low.max(r.nominal - joint.stop), high.min(r.nominal + joint.stop)),
        _ => (low, high),
    }
}

/// Micrometres as printed in millimetres: "20", "12.5".
pub(super) fn millimetres(um: i64) -> String {
    decimal(um, 1000, 3, false).trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// How wide the jaw stands in these states, in micrometres; none where that is not known.
pub(super) fn opening(states: &[State]) -> Option<(i64, i64)> {
    let all: Option<Vec<(i64, i64)>> = states.iter().map(|s| s.jaw).collect();
    all?.into_iter().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

/// The short name of a block by the id of its strip: `b2` is "2", `C1-b2` is "C1 2".
fn short(item: &str) -> String {
    match item.rsplit_once("-b") {
        Some((series, number)) => format!("{series} {number}"),
        None => item.trim_start_matches('b').to_owned(),
    }
}

impl Differences<'_> {
    /// A view by its title, with that its picture is mirrored; empty where there is none of this name.
    pub(super) fn view_title(&self, name: &str) -> String {
        let view = self.compiled.titles.iter().find(|t| t.kind == "view" && t.name == name);
        let shown = |t: &Title| if t.mirrored { self.said.fill("strip.mirrored", &[("view", &t.title)]) } else { t.title.clone() };
        view.map_or_else(String::new, shown)
    }

    /// The check values at the heads of blocks are those that the record lists, block by block.
    pub(super) fn codes(&mut self, items: &[Item]) {
        let heads = items.iter().filter_map(|item| {
            let code = text(item, "block").and_then(|_| text(item, "code"))?;
            Some((item, code))
        });
        let mut listed = items.iter().filter(|i| i.id == "record").flat_map(|i| &i.values).filter(|(id, _)| id.starts_with("record.code"));
        // Strips within a block have the value of its head.
        let mut there = "";
        for (item, code) in heads {
            let (id, name) = (format!("{}.code", item.id), short(&item.id));
            let opens = text(item, "stopped").is_some();
            if opens {
                there = listed.next().map_or("", |(_, text)| text.as_str());
            }
            let block = if opens { name.as_str() } else { name.rsplit_once('-').map_or("", |(block, _)| block) };
            let head = format!("{block} {code}");
            if there != head {
                self.list.push(format!("{id} makes {head:?} of its block and the record lists {there:?}"));
            }
        }
        if let Some((id, text)) = listed.next() {
            self.list.push(format!("{id} reads {text:?} and no block has it"));
        }
    }

    /// The strips, each held to the step behind it.
    pub(super) fn strips(&mut self, items: &[Item]) {
        let compiled = self.compiled;
        let by_number: FxHashMap<&str, &Step> = compiled.steps.iter().map(|s| (s.number.as_str(), s)).collect();
        for (at, item) in items.iter().enumerate().filter(|(_, i)| text(i, "block").is_some()) {
            let next = items[at..].iter().find_map(|i| by_number.get(i.id.strip_prefix('s')?).copied());
            let Some(step) = next else {
                self.list.push(format!("{} is printed and no step follows it", item.id));
                continue;
            };
            self.read_outs(item, &step.before, false);
            let views = step.before.iter().map(|s| match &s.view {
                Some(view) => self.view_title(view),
                None => self.said.say("strip.no-view").to_owned(),
            });
            self.choice(&format!("{}.view", item.id), text(item, "view"), views.collect());
            self.jaw(item, &step.before);
        }
    }

    /// The printed read-outs of an item: each state's within one of them, and none that no state has.
    pub(super) fn read_outs(&mut self, item: &Item, states: &[State], compared: bool) {
        let mut lines: Vec<Line> = Vec::new();
        let value = |key: &str, name: &str| text(item, &format!("{key}.{name}"));
        for (id, _) in &item.values {
            let Some((i, key)) = id.strip_prefix(item.id.as_str()).and_then(|r| r.strip_prefix('.')).and_then(joint) else { continue };
            if lines.iter().any(|l| l.key == key) {
                continue;
            }
            let number = |name: &str| value(key, name).and_then(thousandths);
            lines.push(Line { joint: i, key: key.to_owned(), low: number("low"), expected: number("expected"), high: number("high") });
            let words = value(key, "expected").unwrap_or("");
            let range =
                states.iter().any(|s| s.joints.get(i).is_some_and(|r| matches!(r.known.as_str(), "range" | "unread-range" | "unknown")));
            if number("expected").is_none() && !(range && ["readout.range", "said.unknown"].iter().any(|id| words == self.said.say(id))) {
                self.list.push(format!("{}.{key}.expected is to read {words:?}, which is no angle", item.id));
            }
            let engraved = self.compiled.joints.get(i).map_or("", |j| j.engraved.as_str());
            let name = value(key, "joint").unwrap_or("");
            let other = self.said.fill("readout.or", &[("joint", engraved)]);
            if ![engraved, &other].iter().any(|n| plain(n) == plain(name)) {
                self.list.push(format!("{}.{key}.joint is to read {name:?} and is {engraved:?}", item.id));
            }
        }
        self.held(&format!("{}.held", item.id), text(item, "held"), states);
        if lines.is_empty() && text(item, "block").is_some() {
            return;
        }
        for (i, joint) in self.compiled.joints.iter().enumerate() {
            // Nothing is known where an error was muted; then nothing is issued either.
            let known: Vec<&Readout> = states.iter().filter_map(|s| s.joints.get(i)).filter(|r| r.known != "unknown").collect();
            if known.len() < states.len() {
                continue;
            }
            let ends = |r: &Readout| shown(ends(r, joint, compared), joint.decimals);
            for r in &known {
                let (low, high) = ends(r);
                let fits = |l: &&Line| {
                    let (Some(a), Some(b)) = (l.low, l.high) else { return false };
                    let whole =
                        if l.expected.is_none() { a <= low && high <= b } else { l.expected == Some(r.nominal) && (a, b) == (low, high) };
                    l.joint == i && whole
                };
                if !lines.iter().any(|l| fits(&l)) {
                    self.list.push(format!(
                        "{}.j{} shows no read-out from {low} to {high} thousandths about {}",
                        item.id,
                        i + 1,
                        r.nominal
                    ));
                }
            }
            for line in lines.iter().filter(|l| l.joint == i) {
                let from_a_state = known.iter().any(|r| line.expected.is_none_or(|n| n == r.nominal))
                    && known.iter().any(|r| line.low == Some(ends(r).0))
                    && known.iter().any(|r| line.high == Some(ends(r).1));
                if !from_a_state {
                    self.list.push(format!("{}.{} shows a read-out that no state has", item.id, line.key));
                }
            }
        }
    }

    /// How wide the empty jaw stands, where the read-outs are printed.
    fn jaw(&mut self, item: &Item, states: &[State]) {
        let seen = text(item, "jaw");
        let with_read_outs = item.values.iter().any(|(id, _)| id.ends_with(".j1.expected"));
        let ends = opening(states).filter(|_| with_read_outs && states.iter().all(|s| s.held.is_none()));
        let length = |um: i64| format!("{} mm", millimetres(um));
        match (ends.map(|(low, high)| self.said.fill("strip.jaw", &[("least", &length(low)), ("most", &length(high))])), seen) {
            (Some(want), seen) => self.same(&format!("{}.jaw", item.id), seen, &want),
            (None, Some(seen)) => self.list.push(format!("{}.jaw is to read {seen:?} and was not checked", item.id)),
            (None, None) => {}
        }
    }

    /// What is in the jaw, with its greatest mass and the grip.
    pub(super) fn held(&mut self, id: &str, seen: Option<&str>, states: &[State]) {
        let titles = &self.compiled.titles;
        let words = states.iter().map(|s| {
            let Some(held) = &s.held else {
                return match &s.tool {
                    _ if s.held_unknown => self.said.say("said.unknown").to_owned(),
                    Some(tool) => self.said.fill("strip.tool", &[("tool", tool)]),
                    None => self.said.say("strip.empty").to_owned(),
                };
            };
            let load = titles.iter().find(|t| t.kind == "load" && t.name == held.load);
            let grip = match &s.level {
                Some(level) => self.said.fill("strip.grip", &[("level", level)]),
                None => self.said.say("strip.grip-not-set").to_owned(),
            };
            load.map_or_else(String::new, |l| {
                self.said.fill("strip.held", &[("load", &l.title), ("mass", l.mass.as_deref().unwrap_or("")), ("grip", &grip)])
            })
        });
        self.choice(id, seen, words.collect());
    }

    /// A value that names all of several things, in any order: "a, b or c".
    fn choice(&mut self, id: &str, seen: Option<&str>, words: Vec<String>) {
        let Some(seen) = seen else { return };
        let mut distinct: Vec<String> = Vec::new();
        for word in words.iter().map(|w| plain(w).into_owned()).filter(|w| !w.is_empty()) {
            if !distinct.contains(&word) {
                distinct.push(word);
            }
        }
        // In whatever order: as long as the list is in one order, and with every entry in it.
        if distinct.is_empty() {
            return;
        }
        let length = plain(&self.said.list("list.or", &distinct)).len();
        let seen = plain(seen);
        if seen.len() != length || distinct.iter().any(|w| !seen.contains(w.as_str())) {
            self.list.push(format!("{id} is to read {seen:?} and was checked as {:?}", distinct.join(" or ")));
        }
    }
}
