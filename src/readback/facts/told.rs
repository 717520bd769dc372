//! What is told with steps and blocks beyond what they do, made anew from the compiled data.

use super::evidence::decimal;
use super::taught::with_sign;
use super::{Differences, Want, motions, side, text};
use crate::compiled::{Act, Angle, Dropped, Ends, From, Held, Motion, Pictured, Shown, Step, Stopped};
use crate::readback::Item;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// A joint that is clear farther beyond its target than this is not told of beside the step, in thousandths of a degree.
const FAR: i64 = 10_000;

/// A time without power that is longer than this is not told, in tenths of a minute.
const LONG: i64 = 300;

/// What else the lines of steps hang on.
pub(super) struct Lines {
    /// Steps that have a figure, which says what comes nearest.
    drawn: FxHashSet<String>,
}

impl Differences<'_> {
    /// Holds what the strips say of the steps behind them; returns what is to be printed with the steps themselves.
    pub(super) fn told(&mut self, items: &[Item]) -> Lines {
        let by_number: FxHashMap<&str, &Step> = self.compiled.steps.iter().map(|s| (s.number.as_str(), s)).collect();
        // Which items are strips, and which of these open a block.
        let strips: Vec<bool> = items.iter().map(|i| text(i, "block").is_some()).collect();
        let opens: Vec<bool> = items.iter().zip(&strips).map(|(i, strip)| *strip && text(i, "stopped").is_some()).collect();
        let drawn = items.iter().filter_map(|i| i.id.strip_prefix('f')).map(|n| format!("s{n}")).collect();
        let lines = Lines { drawn };
        for (at, strip) in items.iter().enumerate().filter(|(at, _)| strips[*at]) {
            let (part_way, sag) = if opens[at] {
                let block = items[at + 1..].iter().zip(&opens[at + 1..]).take_while(|(_, opens)| !**opens);
                let steps: Vec<&Step> = block.filter_map(|(i, _)| by_number.get(i.id.strip_prefix('s')?).copied()).collect();
                (self.part_way(&steps), self.loss(&steps))
            } else {
                (None, None)
            };
            for (name, want) in [("part-way", part_way), ("sag", sag)] {
                let (id, seen) = (format!("{}.{name}", strip.id), text(strip, name));
                match (want, seen) {
                    (Some(want), seen) => self.same(&id, seen, &want),
                    (None, Some(seen)) => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
                    (None, None) => {}
                }
            }
        }
        lines
    }

    /// What holds for the steps of a block that are stopped part-way.
    fn part_way(&self, steps: &[&Step]) -> Option<String> {
        let stops = steps.iter().filter_map(|s| Some((&s.number, s.told.as_ref()?.stopped.as_ref()?)));
        let (free, own): (Vec<_>, Vec<_>) = stops.partition(|(_, stop)| is_free(stop));
        let own: Vec<String> = own.into_iter().map(|(number, _)| number.clone()).collect();
        let steps = self.said.list("list.and", &own);
        Some(match (free.is_empty(), own.is_empty()) {
            (true, true) => return None,
            (false, true) => self.said.say("told.stops-all").to_owned(),
            (true, false) => self.said.fill("told.stops-none", &[("steps", &steps)]),
            (false, false) => self.said.fill("told.stops-unless", &[("steps", &steps)]),
        })
    }

    /// How the motions of a step are driven back, the one that must be last at the end.
    fn ways_back(&self, stop: &Stopped, motions: &[Motion]) -> Vec<String> {
        let back = motions.iter().filter(|m| stop.on && stop.back && !m.stick_back.is_empty());
        let mut back: Vec<&Motion> = back.collect();
        back.sort_by_key(|m| Some(m.joint) == stop.last);
        let way = |m: &Motion| {
            let joint = self.compiled.joints.get(m.joint);
            let word = joint.map_or("", |j| if m.positive { &j.negative } else { &j.positive }).to_uppercase();
            let values = [("joint", m.engraved.as_str()), ("direction", &word), ("stick", &m.stick), ("act", &m.stick_back.to_uppercase())];
            self.said.fill("told.back-way", &values)
        };
        back.into_iter().map(way).collect()
    }

    fn engraved(&self, joint: usize) -> &str {
        self.compiled.joints.get(joint).map_or("", |j| j.engraved.as_str())
    }

    /// The lines of a step.
    pub(super) fn told_of(&self, step: &Step, lines: &Lines, want: &mut BTreeMap<String, Want>) {
        let item = format!("s{}", step.number);
        let mut put = |name: String, words: String| drop(want.insert(name, Want::Text(words)));
        let Some(told) = &step.told else { return };
        let degrees = |a: &Angle| format!("{} deg", a.text);
        for (n, a) in (1..).zip(&told.against) {
            put(
                format!("goes{n}"),
                self.said.fill("told.goes", &[("joint", self.engraved(a.joint)), ("way", self.said.say(&format!("way.{}", way(&a.way))))]),
            );
        }
        for (n, seen) in (1..).zip(&told.pictures) {
            put(format!("picture{n}"), self.picture(step, seen));
        }
        for (n, d) in (1..).zip(&told.degrees) {
            put(format!("degree{n}"), self.said.fill("told.degree", &[("joint", self.engraved(d.joint)), ("length", &mm_up(d.moves))]));
        }
        let gates = if let Act::Together { gates, .. } = &step.act { &gates[..] } else { &[] };
        let alone = told.alone.iter().filter(|a| gates.iter().all(|g| g.held != a.joint));
        for (n, a) in (1..).zip(alone) {
            let (name, [one, other]) = (self.engraved(a.joint), &a.meets);
            let mut values = vec![("joint", name), ("one", one), ("other", other)];
            let angle = a.clear_to.as_ref().map(degrees);
            values.extend(angle.as_ref().map(|angle| ("angle", angle.as_str())));
            put(format!("alone{n}"), self.said.fill(if angle.is_some() { "told.alone" } else { "told.alone-not" }, &values));
        }
        let loaded = step.before.iter().any(|s| s.held.is_some());
        if let Some(stop) = told.stopped.as_ref().filter(|s| !is_free(s) || loaded) {
            let ways = match stop.last {
                _ if !stop.on => Some(self.said.say("told.stopped-stay").to_owned()),
                _ if !stop.back => Some(self.said.say("told.stopped-on").to_owned()),
                Some(joint) => Some(self.said.fill("told.stopped-last", &[("joint", self.engraved(joint))])),
                None => Some(self.said.say("told.stopped-free").to_owned()),
            };
            let touched = (stop.on && stop.untouched).then(|| self.said.say("told.stopped-touched").to_owned());
            let parts: Vec<String> = ways.into_iter().chain(touched).collect();
            let line = if step.lines.iter().any(|l| l.label == "Stop if") { "told.stopped-else" } else { "told.stopped" };
            put("part-way".to_owned(), self.said.fill(line, &[("what", &self.said.row("list.semicolon", "next", &parts))]));
            let ways = self.ways_back(stop, motions(&step.act));
            if !ways.is_empty() {
                put("back".to_owned(), self.said.fill("told.back", &[("ways", &self.said.row("list.semicolon", "next", &ways))]));
            }
        }
        let toward = |joint: usize, to: i64| {
            let mut driven = motions(&step.act).iter().filter(|m| matches!(m.ends, Ends::Target | Ends::ByEye));
            driven.find(|m| m.joint == joint && (m.target.value - to).abs() <= FAR).map(|m| side(m.positive, self.said))
        };
        // A move that ends on a cue has a limit of its own.
        let soon = told.beyond.iter().filter_map(|b| Some((b, toward(b.joint, b.clear_to.value)?)));
        for (n, (b, side)) in (1..).zip(soon) {
            let [one, other] = &b.meets;
            let id = match b.seen {
                Some(true) => "told.beyond",
                Some(false) => "told.beyond-unseen",
                None => "told.beyond-unknown",
            };
            let angle = degrees(&b.clear_to);
            let values = [("joint", self.engraved(b.joint)), ("side", &side), ("angle", &angle), ("one", one), ("other", other)];
            put(format!("beyond{n}"), self.said.fill(id, &values));
        }
        if let Some(order) = &told.order {
            let [one, other] = &order.meets;
            put("order".to_owned(), self.said.fill("told.order", &[("number", &order.next), ("one", one), ("other", other)]));
        }
        if let Some(most) = told.falls {
            let list = self.said.list("list.or", &each(told.over.iter().map(|over| &over.thing)));
            put("over".to_owned(), self.said.fill("told.over", &[("height", &mm_up(most)), ("list", &list)]));
        }
        let near = step.margins.iter().find_map(|m| match m.of.as_str() {
            "clearance" => Some(("told.at-least", m)),
            "gap" => Some(("told.as-near", m)),
            _ => None,
        });
        if let Some((how, m)) = near.filter(|(_, m)| told.near && !m.subject.is_empty() && !lines.drawn.contains(&item)) {
            let distance = self.apart(how, m.value);
            let lines = self.pairs(&m.subject).into_iter();
            let lines = lines.map(|pair| self.said.fill("told.nearest", &[("pair", &pair), ("distance", &distance)]));
            want.insert("nearest".to_owned(), Want::OneOf(lines.collect()));
        }
    }

    /// What a picture shows of the motion of a joint.
    fn picture(&self, step: &Step, seen: &Pictured) -> String {
        let Some(motion) = motions(&step.act).iter().find(|m| m.joint == seen.joint) else { return String::new() };
        let tenths = |thousandths: i64| format!("{} deg", with_sign((thousandths + 50).div_euclid(100) * 100, 0));
        let against = |shown: &Option<Shown>, name: &str| match shown.as_ref()? {
            Shown::Opposite => Some(self.said.fill("picture.opposite", &[("name", name)])),
            Shown::OppositeBetween(low, high) => {
                Some(self.said.fill("picture.opposite-between", &[("name", name), ("low", &tenths(*low)), ("high", &tenths(*high))]))
            }
            Shown::Same | Shown::Aside => None,
        };
        let stick = self.said.fill("picture.stick", &[("stick", &motion.stick_action)]);
        let told = against(&seen.word, &motion.direction.to_uppercase()).or_else(|| against(&seen.stick, &stick));
        let turns = [&seen.word, &seen.stick].into_iter().flatten().any(|shown| matches!(shown, Shown::OppositeBetween(..)));
        let ways: Vec<String> = seen.goes.iter().map(|way| self.said.say(&format!("picture.{way}")).to_owned()).collect();
        let across = (!ways.is_empty()).then(|| self.said.row("list.and", "next", &ways));
        let deep = seen.away.map(|away| self.said.say(if away { "picture.away" } else { "picture.nearer" }).to_owned());
        let parts: Vec<String> = across.into_iter().chain(deep).collect();
        let way = (!parts.is_empty()).then(|| self.said.row("list.comma", "next", &parts));
        let id = match (&told, &way) {
            (Some(_), Some(_)) if turns => "picture.cue-turns",
            (Some(_), Some(_)) => "picture.cue-goes",
            (Some(_), None) => "picture.cue",
            (None, Some(_)) => "picture.cue-plain",
            (None, None) => "picture.cue-still",
        };
        let mut values = vec![("joint", self.engraved(seen.joint)), ("view", seen.view.as_str())];
        values.extend(told.as_deref().map(|told| ("told", told)));
        values.extend(way.as_deref().map(|way| ("way", way)));
        self.said.fill(id, &values)
    }

    /// Where the joint that leads is half way, and how far the other may be then: from one angle each to a read-out.
    pub(super) fn half_way(&self, motions: &[Motion], leads: usize) -> Option<String> {
        let half = |m: &Motion| {
            let [From::At(from)] = &m.from[..] else { return None };
            let joint = self.compiled.joints.get(m.joint).filter(|_| matches!(m.ends, Ends::Target | Ends::ByEye))?;
            let digit = 10_i64.pow(3 - u32::from(joint.decimals.min(3)));
            let (sum, double) = (from.value + m.target.value, 2 * digit);
            // Rounded to what is farther for the joint that leads, and to what is less far for the other.
            let shown = if m.positive == (m.joint == leads) { (sum + double - 1).div_euclid(double) } else { sum.div_euclid(double) };
            Some((joint.engraved.clone(), format!("{} deg", with_sign(shown * digit, usize::from(joint.decimals)))))
        };
        let of = |first: bool| motions.iter().find(|m| (m.joint == leads) == first).and_then(half);
        let ((first, there), (other, most)) = (of(true)?, of(false)?);
        Some(self.said.fill("step.half-way", &[("first", &first), ("there", &there), ("other", &other), ("most", &most)]))
    }

    /// What is printed of the loss of power beside a strip: how far a load falls that is dropped, and the shortest time of other steps.
    fn loss(&self, steps: &[&Step]) -> Option<String> {
        let dropped: Vec<&Dropped> = steps.iter().filter_map(|s| s.told.as_ref()?.drops.as_ref()).collect();
        let empty = self.sag(steps);
        if dropped.is_empty() {
            // What stands in the jaw was not looked at; what hangs in one that holds was.
            let held = || steps.iter().flat_map(|s| &s.before).filter(|b| b.power == Some(true)).filter_map(|b| b.held.as_ref());
            let stands = |h: &Held| matches!(h.phase.as_str(), "supported" | "set-on");
            return empty.map(|empty| if held().any(stands) { self.said.fill("told.sag-unless", &[("empty", &empty)]) } else { empty });
        }
        let known: Option<Vec<i64>> = dropped.iter().map(|drop| drop.falls).collect();
        let held = match known.and_then(|all| all.into_iter().max()) {
            Some(most) => {
                let onto = self.said.list("list.or", &each(dropped.iter().flat_map(|drop| &drop.onto)));
                self.said.fill("told.drops-onto", &[("height", &mm_up(most)), ("list", &onto)])
            }
            None => self.said.say("told.drops").to_owned(),
        };
        Some(match empty {
            Some(empty) => format!("{held} {}", self.said.fill("told.sag-free", &[("empty", &empty)])),
            None => held,
        })
    }

    /// The shortest time of steps; that nothing is touched where it holds of all at which nothing is dropped.
    fn sag(&self, steps: &[&Step]) -> Option<String> {
        let Some((step, clear, [one, other])) = soonest(steps.iter().copied()).filter(|(_, clear, _)| *clear <= LONG) else {
            let mut other = steps.iter().filter(|s| s.told.as_ref().is_none_or(|t| t.drops.is_none())).peekable();
            let all = other.peek().is_some() && other.all(|s| s.told.as_ref().is_some_and(|t| t.sag.is_some()));
            return all.then(|| self.said.say("told.sag-nothing").to_owned());
        };
        let tenths = if clear < 100 { format!(".{}", clear % 10) } else { String::new() };
        let minutes = format!("{}{tenths}", clear / 10);
        Some(self.said.fill("told.sag", &[("minutes", &minutes), ("number", &step.number), ("one", one), ("other", other)]))
    }
}

/// Micrometres as whole millimetres, rounded up.
pub(super) fn mm_up(um: i64) -> String {
    format!("{} mm", decimal(um, 1000, 0, true))
}

/// Names, each once.
pub(super) fn each<'n>(names: impl Iterator<Item = &'n String>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for name in names {
        if !out.contains(name) {
            out.push(name.clone());
        }
    }
    out
}

/// The step at whose start the arm touches something soonest without power, in how many tenths of a minute, and what meets.
pub(super) fn soonest<'s>(steps: impl Iterator<Item = &'s Step>) -> Option<(&'s Step, i64, &'s [String; 2])> {
    let sinks = steps.filter_map(|step| {
        let sag = step.told.as_ref()?.sag.as_ref()?;
        Some((step, sag.clear, sag.meets.as_ref()?))
    });
    sinks.min_by_key(|(_, clear, _)| *clear)
}

/// Whether both ways are free from wherever a motion is stopped.
fn is_free(stop: &Stopped) -> bool {
    stop.on && stop.back && stop.last.is_none() && !stop.untouched
}

/// The name of a way among the sentences.
fn way(words: &str) -> &str {
    match words {
        "toward the arm" => "toward-arm",
        "away from the arm" => "away-from-arm",
        "to the left, seen from the mount" => "left",
        "to the right, seen from the mount" => "right",
        plain => plain,
    }
}
