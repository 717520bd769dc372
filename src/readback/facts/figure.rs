//! What is written in a figure: its step, the distance it marks, and the names of what is there.

use super::evidence::signed;
use super::{Differences, motions, text};
use crate::compiled::space::{Body, BodyKind, Part};
use crate::compiled::{Readout, State, Step};
use crate::readback::{Item, plain};
use std::collections::BTreeMap;

impl Differences<'_> {
    /// Figures: the step each belongs to, the distance it marks, and its names.
    pub(super) fn figures(&mut self, items: &[Item]) {
        for item in items {
            let Some(number) = item.id.strip_prefix('f').filter(|n| n.starts_with(|c: char| c.is_ascii_digit() || c == 'C')) else {
                continue;
            };
            let Some(step) = self.compiled.steps.iter().find(|s| s.number == number) else {
                self.list.push(format!("{} is drawn and there is no step {number}", item.id));
                continue;
            };
            self.same(&format!("{}.step", item.id), text(item, "step"), &self.said.fill("step.head", &[("number", number)]));
            self.names(item, step);
            self.distance(item, step);
            self.places(item, step);
        }
    }

    /// What is said below the distance: that ways here differ, and at which angle a joint is drawn that may stand elsewhere.
    fn places(&mut self, item: &Item, step: &Step) {
        let mut can_be = vec![plain(self.said.say("figure.several")).into_owned()];
        for (i, joint) in self.compiled.joints.iter().enumerate().filter(|(i, _)| motions(&step.act).iter().all(|m| m.joint != *i)) {
            let readouts: Vec<&Readout> = step.before.iter().filter_map(|s| s.joints.get(i)).collect();
            let open: Vec<String> = readouts
                .iter()
                .filter(|r| r.known.ends_with("range"))
                .map(|r| {
                    // It is drawn in the middle.
                    let angle = format!("{} deg", signed((r.low + r.high).div_euclid(2), joint.decimals, false));
                    plain(&self.said.fill("figure.left-open", &[("joint", &joint.engraved), ("angle", &angle)])).into_owned()
                })
                .collect();
            let told = item.values.iter().any(|(_, words)| open.contains(&plain(words).into_owned()));
            if !open.is_empty() && open.len() == readouts.len() && !told {
                self.list.push(format!("{} does not say where {} is drawn", item.id, joint.engraved));
            }
            can_be.extend(open);
        }
        let more = item.values.iter().filter(|(id, _)| id.contains(".caption") && !id.ends_with(".caption1"));
        let wrong = more.filter(|(_, words)| !can_be.contains(&plain(words).into_owned()));
        self.list.extend(wrong.map(|(id, words)| format!("{id} is to read {words:?}, and nothing checked says so")));
    }

    fn distance(&mut self, item: &Item, step: &Step) {
        let near = step.margins.iter().find_map(|m| match m.of.as_str() {
            "clearance" => Some((self.apart("told.at-least", m.value), &m.subject)),
            "gap" => Some((self.apart("told.as-near", m.value), &m.subject)),
            _ => None,
        });
        let seen: Vec<(&String, &String)> =
            item.values.iter().filter(|(id, _)| id.contains(".distance")).map(|(id, text)| (id, text)).collect();
        let Some((distance, subject)) = near else {
            self.list.extend(seen.iter().map(|(id, text)| format!("{id} is to read {text:?} and was not checked")));
            return;
        };
        seen.iter().for_each(|(id, text)| self.same(id, Some(text.as_str()), &distance));
        let caption = text(item, "caption1").unwrap_or("");
        if !caption.contains(&distance) || !self.pairs(subject).iter().any(|pair| caption.contains(pair.as_str())) {
            self.list.push(format!("{}.caption1 is to read {caption:?} and was checked as {distance} between {subject}", item.id));
        }
    }

    /// A distance in micrometres, rounded down.
    pub(super) fn apart(&self, how: &str, distance: i64) -> String {
        self.said.fill(how, &[("length", &format!("{} mm", distance.max(0) / 1000))])
    }

    /// The two bodies of a margin, `A and B`, as they are printed. The titles themselves may hold an `and`.
    pub(super) fn pairs(&self, subject: &str) -> Vec<String> {
        let cuts = subject.match_indices(" and ");
        let pairs = cuts.map(|(at, cut)| self.said.fill("list.and", &[("rest", &subject[..at]), ("next", &subject[at + cut.len()..])]));
        let pairs: Vec<String> = pairs.collect();
        if pairs.is_empty() { vec![subject.to_owned()] } else { pairs }
    }

    /// A drawing shows the step from one of its states: every name in it is that of the thing that its id tells, which is there
    /// then, and is written in one view no more often than there are things of that name.
    fn names(&mut self, item: &Item, step: &Step) {
        let mut views: BTreeMap<&str, Vec<(&str, &str, String)>> = BTreeMap::new();
        for (id, words) in item.values.iter().filter(|(id, _)| id.contains(".label")) {
            let (view, what) = id.split(".label").next().and_then(|of| of.rsplit_once('.')).unwrap_or(("", ""));
            views.entry(view).or_default().push((id, what, plain(words).into_owned()));
        }
        let strangers = |state: &State| {
            let there = self.there(state);
            let mut out = Vec::new();
            for labels in views.values() {
                let mut left: BTreeMap<&str, usize> = BTreeMap::new();
                there.iter().for_each(|(_, words, times)| *left.entry(words).or_insert(0) += times);
                for (id, what, words) in labels {
                    let named = there.iter().any(|(key, name, _)| key == what && name == words);
                    match left.get_mut(words.as_str()).filter(|_| named) {
                        Some(n) if *n > 0 => *n -= 1,
                        _ => out.push(format!("{id} is to read {words:?}, and that is not the name of what is there")),
                    }
                }
            }
            out
        };
        let off = step.before.iter().map(strangers).min_by_key(Vec::len);
        match off {
            Some(off) => self.list.extend(off),
            None if views.is_empty() => {}
            None => self.list.push(format!("{} is drawn, and nothing leads to its step", item.id)),
        }
    }

    /// What can be named in a drawing of a state, by what its ids call it, and how often: a body once, and once for each of its
    /// plane faces.
    pub(super) fn there(&self, state: &State) -> Vec<(String, String, usize)> {
        let mut out = Vec::new();
        let mut put = |key: &str, words: String, times: usize| out.push((key.to_owned(), plain(&words).into_owned(), times));
        let title = |kind: &str, name: &str| {
            let found = self.compiled.titles.iter().find(|t| t.kind == kind && t.name == name);
            found.map_or_else(String::new, |t| t.title.clone())
        };
        for (i, body) in self.compiled.space.iter().flat_map(|s| s.bodies.iter().enumerate()) {
            let words = match &body.kind {
                BodyKind::Link => body.name.clone(),
                BodyKind::Tool if state.tool.as_ref() == Some(&body.name) => body.name.clone(),
                BodyKind::Rest { station } if is_on(state, &body.name, station) => title("load", &body.name),
                BodyKind::Held { .. } if state.held.as_ref().is_some_and(|h| h.body == Some(i)) => title("load", &body.name),
                BodyKind::Obstacle { when } if when.iter().all(|w| state.equipment.contains(w)) => body.name.clone(),
                BodyKind::KeepOut => self.said.fill("figure.keep-out", &[("name", &body.name)]),
                BodyKind::Unsurveyed => self.said.fill("figure.unsurveyed", &[("name", &body.name)]),
                _ => continue,
            };
            put(&format!("body{i}"), words, times(body));
        }
        // Of a zone to be crossed slowly only the name is told.
        let slow = self.compiled.titles.iter().filter(|t| t.kind == "slow zone");
        slow.for_each(|t| put("slow", self.said.fill("figure.slow", &[("name", &t.title)]), 1 << 20));
        state.view.iter().for_each(|view| put("view", self.said.fill("figure.in-view", &[("view", &self.view_title(view))]), 1));
        out
    }
}

fn is_on(state: &State, load: &str, station: &str) -> bool {
    state.loads.iter().any(|(l, at)| l == load && at.as_deref() == Some(station))
}

fn times(body: &Body) -> usize {
    let faces = body.parts.iter().filter(|p| matches!(p, Part::HalfSpace { .. })).count();
    faces + usize::from(faces < body.parts.len())
}
