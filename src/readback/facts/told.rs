//! What is told with steps and blocks beyond what they do, made anew from the compiled data.

use super::{Differences, Want};
use crate::compiled::{Act, Angle, Step, Stopped};
use crate::readback::{Item, plain};
use std::collections::{BTreeMap, HashMap, HashSet};

/// A joint that is clear farther beyond its target than this is not told of beside the step, in thousandths of a degree.
const FAR: i64 = 10_000;

/// A time without power that is longer than this is not told, in tenths of a minute.
const LONG: i64 = 300;

/// Lines that are printed with steps, by the id of the step, and beside the strips.
pub(super) struct Lines {
    /// What happens without power.
    sags: HashMap<String, String>,
    /// Steps that have a figure, which says what comes nearest.
    drawn: HashSet<String>,
}

impl Differences<'_> {
    /// Holds what the strips say of the steps behind them; returns what is to be printed with the steps themselves.
    pub(super) fn told(&mut self, items: &[Item]) -> Lines {
        let by_number: HashMap<&str, &Step> = self.compiled.steps.iter().map(|s| (s.number.as_str(), s)).collect();
        let value = |item: &Item, name: &str| {
            let id = format!("{}.{name}", item.id);
            item.values.iter().find(|(other, _)| *other == id).map(|(_, text)| text.clone())
        };
        let opens = |item: &Item| value(item, "block").is_some() && value(item, "stopped").is_some();
        let drawn = items.iter().filter_map(|i| i.id.strip_prefix('f')).map(|n| format!("s{n}")).collect();
        let mut lines = Lines { sags: HashMap::new(), drawn };
        for (at, strip) in items.iter().enumerate().filter(|(_, i)| value(i, "block").is_some()) {
            let block = items[at + 1..].iter().take_while(|i| !opens(i));
            let steps: Vec<&Step> = block.filter_map(|i| by_number.get(i.id.strip_prefix('s')?).copied()).collect();
            let (part_way, sag) = if opens(strip) { (self.part_way(&steps), sags(&steps, &mut lines)) } else { (None, None) };
            for (name, want) in [("part-way", part_way), ("sag", sag)] {
                let (id, seen) = (format!("{}.{name}", strip.id), value(strip, name));
                match (want, seen) {
                    (Some(want), seen) => self.same(&id, seen.as_deref(), &want),
                    (None, Some(seen)) => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
                    (None, None) => {}
                }
            }
        }
        lines
    }

    /// What holds for the steps of a block that are stopped part-way.
    fn part_way(&self, steps: &[&Step]) -> Option<String> {
        let stops: Vec<(&str, &Stopped)> =
            steps.iter().filter_map(|s| Some((s.number.as_str(), s.told.as_ref()?.stopped.as_ref()?))).collect();
        if stops.is_empty() {
            return None;
        }
        if stops.iter().all(|(_, s)| s.on && s.back && s.last.is_none() && !s.untouched) {
            return Some("Checked: going on, and back to the step's start, at every move.".to_owned());
        }
        let numbers = |which: fn(&Stopped) -> bool, ways: bool| {
            let each = stops.iter().filter(|(_, s)| which(s)).map(|(number, s)| match s.last {
                Some(joint) if ways => format!("{number} ({} back last)", self.engraved(joint)),
                _ => (*number).to_owned(),
            });
            each.collect::<Vec<_>>().join(", ")
        };
        let mut out = String::new();
        for (words, list) in [
            ("Checked, going on and back to the step's start: ", numbers(|s| s.on && s.back, true)),
            ("Checked, going on only: ", numbers(|s| s.on && !s.back, false)),
            ("But stay and tell if something has touched: ", numbers(|s| s.on && s.untouched, false)),
            ("Stay and tell: ", numbers(|s| !s.on, false)),
        ] {
            if !list.is_empty() {
                out.push_str(&format!("{words}{list}. "));
            }
        }
        Some(plain(&out))
    }

    fn engraved(&self, joint: usize) -> &str {
        self.compiled.joints.get(joint).map_or("", |j| j.engraved.as_str())
    }

    /// The lines of a step.
    pub(super) fn told_of(&self, step: &Step, lines: &Lines, want: &mut BTreeMap<String, Want>) {
        let item = format!("s{}", step.number);
        let mut put = |name: String, words: String| drop(want.insert(name, Want::Text(words)));
        if let Some(words) = lines.sags.get(&item) {
            put("sag".to_owned(), format!("If power is lost at its start: {words}"));
        }
        let Some(told) = &step.told else { return };
        let degrees = |a: &Angle| format!("{} deg", a.text);
        for (n, a) in (1..).zip(&told.against) {
            put(format!("goes{n}"), format!("{}: the tool point goes {}.", self.engraved(a.joint), a.way));
        }
        for (n, d) in (1..).zip(&told.degrees) {
            put(format!("degree{n}"), format!("1 deg of {} moves the tool point {} mm.", self.engraved(d.joint), (d.moves + 999) / 1000));
        }
        for (n, a) in (1..).zip(&told.alone) {
            let (name, [one, other]) = (self.engraved(a.joint), &a.meets);
            put(
                format!("alone{n}"),
                match &a.clear_to {
                    Some(to) => format!("{name} alone: clear to {}, then {one}, {other}.", degrees(to)),
                    None => format!("{name} alone: not clear from its start, {one}, {other}."),
                },
            );
        }
        let soon = |joint: usize, to: i64| {
            let motions = match &step.act {
                Act::Move(m) | Act::Lift { motion: m, .. } | Act::Lower { motion: m, .. } => std::slice::from_ref(m),
                Act::Together { motions, .. } => motions,
                _ => &[],
            };
            motions.iter().any(|m| m.joint == joint && (m.target.value - to).abs() <= FAR)
        };
        for (n, b) in (1..).zip(told.beyond.iter().filter(|b| soon(b.joint, b.clear_to.value))) {
            let [one, other] = &b.meets;
            let seen = match b.seen {
                Some(true) => "",
                Some(false) => " (unseen)",
                None => " (not known if seen)",
            };
            put(format!("beyond{n}"), format!("{} not clear past {}: {one}, {other}{seen}.", self.engraved(b.joint), degrees(&b.clear_to)));
        }
        if let Some(order) = &told.order {
            let [one, other] = &order.meets;
            put("order".to_owned(), format!("Do not change places with step {}: {one}, {other}.", order.next));
        }
        if !told.over.is_empty() {
            let each = told.over.iter().map(|o| format!("{} {} mm", o.thing, (o.height + 999) / 1000));
            put("over".to_owned(), format!("The load passes above, by at most: {}.", each.collect::<Vec<_>>().join(", ")));
        }
        let near = step.margins.iter().find_map(|m| match m.of.as_str() {
            "clearance" => Some(("at least", m)),
            "gap" => Some(("as near as", m)),
            _ => None,
        });
        if let Some((how, m)) = near.filter(|(_, m)| told.near && !m.subject.is_empty() && !lines.drawn.contains(&item)) {
            put("nearest".to_owned(), format!("Nearest: {}: {how} {} mm.", m.subject, m.value.max(0) / 1000));
        }
    }
}

/// What is printed of the loss of power: beside a strip for its first step, and with a step that has a load where it changes.
fn sags(steps: &[&Step], lines: &mut Lines) -> Option<String> {
    let (mut first, mut shown) = (None, None);
    for (n, step) in steps.iter().enumerate() {
        let Some(sag) = step.told.as_ref().and_then(|t| t.sag.as_ref()).filter(|s| s.clear <= LONG) else { continue };
        let [one, other] = &sag.meets;
        let tenths = if sag.clear < 100 { format!(".{}", sag.clear % 10) } else { String::new() };
        let words = format!("touches nothing for {}{tenths} min, then {one}, {other}.", sag.clear / 10);
        let told_with = !matches!(step.act, Act::If { .. } | Act::Repeat { .. } | Act::Perform { .. });
        let loaded = step.before.iter().any(|s| s.held.is_some());
        if n == 0 {
            first = Some(words.clone());
        } else if told_with && loaded && shown.as_ref() != Some(&words) {
            lines.sags.insert(format!("s{}", step.number), words.clone());
        } else {
            continue;
        }
        shown = Some(words);
    }
    first
}
