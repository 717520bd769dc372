//! The tables of the work package and the estimate of the time, against the compiled data.

use super::evidence::{decimal, of_nearest};
use super::told::{each, mm_up, soonest};
use super::{Differences, text};
use crate::compiled::{Dropped, Saying};
use crate::readback::{Item, plain};
use serde_json::Value;
use std::collections::BTreeMap;

/// Names in ids, the lists of the compiled data that they stand for, and their keys that are printed; without any, all of them.
const LISTS: [(&str, &str, &[&str]); 13] = [
    ("lift", "lifts", &[]),
    ("drop", "drops", &[]),
    ("lag", "lags", &[]),
    ("limit", "limits", &[]),
    ("prerequisite", "prerequisites", &[]),
    ("permit", "permits", &[]),
    ("qualification", "qualifications", &[]),
    ("reference", "references", &[]),
    ("instrument", "instruments", &[]),
    ("validation", "validations", &[]),
    ("point", "points", &[]),
    ("criterion", "criteria", &[]),
    ("exit", "exits", &[]),
];

/// The same of the summary for the safety review.
const SUMMARY: [(&str, &str, &[&str]); 4] =
    [("drop", "drops", &[]), ("act", "irrevocable", &[]), ("limit", "limits", &["limit", "source"]), ("validation", "validations", &[])];

/// Those of which it is said that there is nothing in them.
const TOLD_EMPTY: [&str; 5] = ["limit", "prerequisite", "permit", "criterion", "validation"];

impl Differences<'_> {
    /// Every text of every list is printed, and nothing else.
    pub(super) fn package(&mut self, items: &[Item]) {
        self.time(items);
        self.summary(items);
        let Some(package) = items.iter().find(|i| i.id == "package") else { return };
        let said = self.said;
        let mut wanted = self.lists("package", &LISTS);
        let mut put = |id: String, text: &str| {
            if !text.is_empty() {
                wanted.insert(id, text.to_owned());
            }
        };
        for (n, f) in (1..).zip(&self.compiled.findings) {
            let taken = match (&f.waiver, &f.disposition) {
                (Some(w), _) => said.fill("package.waived", &[("post", &w.post), ("date", &w.expires), ("reason", &w.reason)]),
                (None, Some(d)) => said.fill("package.accepted", &[("post", &d.post), ("date", &d.date), ("reason", &d.reason)]),
                (None, None) => String::new(),
            };
            let (step, severity) = (f.step.as_deref().unwrap_or(""), said.say(&format!("weight.{}", f.severity)));
            for (key, text) in [("rule", &*f.rule), ("severity", severity), ("step", step), ("message", &*f.message), ("taken", &*taken)] {
                put(format!("package.finding{n}.of-{key}"), text);
            }
        }
        self.held_to(&package.values, wanted);
    }

    /// Every text of some lists of the compiled data, by its id under an item; of a list with keys those alone.
    fn lists(&self, item: &str, lists: &[(&str, &str, &[&str])]) -> BTreeMap<String, String> {
        let mut out = BTreeMap::new();
        let mut put = |id: String, text: String| {
            if !text.is_empty() {
                out.insert(id, text);
            }
        };
        let words = |value: &Value| serde_json::from_value(value.clone()).map_or_else(|_| String::new(), |p: Saying| self.said.saying(&p));
        let data = serde_json::to_value(&self.compiled.package).unwrap_or_default();
        for (name, list, keys) in lists {
            // The bound of a reading, which nobody set and nothing comes of, is no stated limit.
            let states = |entry: &Value| *name != "limit" || !(entry["consequence"].is_null() && entry["source"].is_null());
            if TOLD_EMPTY.contains(name) && !data[list].as_array().is_some_and(|all| all.iter().any(states)) {
                put(format!("{item}.{name}-none"), self.said.say(&format!("package.{name}-none")).to_owned());
            }
            for (n, entry) in (1..).zip(data[list].as_array().into_iter().flatten()) {
                if let Value::String(text) = entry {
                    put(format!("{item}.{name}{n}.of-text"), text.clone());
                }
                for (key, value) in entry.as_object().into_iter().flatten().filter(|(k, _)| keys.is_empty() || keys.contains(&k.as_str())) {
                    let id = format!("{item}.{name}{n}.of-{key}");
                    match value {
                        Value::Array(list) => {
                            put(id, self.said.row("list.semicolon", "next", &list.iter().map(words).collect::<Vec<_>>()));
                        }
                        other => put(id, words(other)),
                    }
                }
            }
        }
        out
    }

    /// These values show the wanted texts and nothing else.
    pub(super) fn held_to<'i>(&mut self, values: impl IntoIterator<Item = &'i (String, String)>, mut wanted: BTreeMap<String, String>) {
        for (id, seen) in values {
            match wanted.remove(id) {
                Some(want) if plain(&want) == plain(seen) => {}
                Some(want) => self.list.push(format!("{id} is to read {seen:?} and was checked as {want:?}")),
                None => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
            }
        }
        self.list.extend(wanted.into_keys().map(|id| format!("{id} was checked and is not printed")));
    }

    /// The summary for the safety review: its tables follow from the data, and what it takes over from the first page reads as it
    /// does there.
    fn summary(&mut self, items: &[Item]) {
        let Some(summary) = items.iter().find(|i| i.id == "safety") else {
            if items.iter().any(|i| i.id == "package") {
                self.list.push("the summary for the safety review is not printed".to_owned());
            }
            return;
        };
        let mut wanted = self.lists("safety", &SUMMARY);
        for (n, near) in (1..).zip(self.compiled.package.nearest.iter().take(5)) {
            wanted.extend(of_nearest(near, self.compiled, self.said).map(|(key, text)| (format!("safety.nearest{n}.of-{key}"), text)));
        }
        wanted.insert("safety.meaning".to_owned(), self.said.say("sign.safety").to_owned());
        for (id, text) in items.iter().filter(|i| i.id == "front").flat_map(|i| &i.values) {
            let name = id.strip_prefix("front.").unwrap_or_default();
            let ends = ["caution1", "caution3"].contains(&name);
            if ends || ["standing", "reserve", "unchecked", "assumption"].contains(&name.trim_end_matches(|c: char| c.is_ascii_digit())) {
                wanted.insert(format!("safety.{name}"), text.clone());
            }
        }
        let loaded = self.compiled.steps.iter().filter(|s| s.before.iter().any(|b| b.held.is_some()));
        let dropped = self.compiled.steps.iter().filter_map(|s| Some((s, s.told.as_ref()?.drops.as_ref()?)));
        let far = |drop: &Dropped| drop.falls.unwrap_or(i64::MAX);
        let farthest = dropped.reduce(|a, b| if far(b.1) > far(a.1) { b } else { a });
        if let Some((step, drop)) = farthest {
            let text = match drop.falls {
                Some(most) => {
                    let list = self.said.list("list.or", &each(drop.onto.iter()));
                    self.said.fill("safety.drops-onto", &[("height", &mm_up(most)), ("number", &step.number), ("list", &list)])
                }
                None => self.said.say("safety.drops").to_owned(),
            };
            wanted.insert("safety.power".to_owned(), text);
        } else if let Some((step, clear, [one, other])) = soonest(loaded) {
            let values = [("minutes", &*decimal(clear, 10, 1, false)), ("number", &step.number), ("one", one), ("other", other)];
            wanted.insert("safety.power".to_owned(), self.said.fill("safety.power", &values));
        }
        self.held_to(&summary.values, wanted);
    }

    /// The estimate on the record, where it is printed, and that motion alone is not given out as more.
    fn time(&mut self, items: &[Item]) {
        let Some(record) = items.iter().find(|i| i.id == "record") else { return };
        // Prerequisites and criteria have their blanks in every edition.
        let package = &self.compiled.package;
        let criteria = package.criteria.iter().map(|c| &c.text);
        for (name, texts) in [("prerequisite", package.prerequisites.iter().collect::<Vec<_>>()), ("criterion", criteria.collect())] {
            let printed: Vec<&str> =
                record.values.iter().filter(|(id, _)| id.starts_with(&format!("record.{name}"))).map(|(_, t)| t.as_str()).collect();
            if printed.len() != texts.len() || printed.iter().zip(&texts).any(|(seen, want)| plain(seen) != plain(want)) {
                self.list.push(format!("record.{name} is to read {printed:?} and was checked as {texts:?}"));
            }
        }
        let Some(total) = text(record, "total") else { return };
        let time = &self.compiled.package.time;
        self.same("record.total", Some(total), &self.between(time.least, time.most));
        for (n, section) in (1..).zip(&time.sections) {
            self.same(&format!("record.time{n}.title"), text(record, &format!("time{n}.title")), &section.title);
            let want = self.between(section.least, section.most);
            self.same(&format!("record.time{n}.time"), text(record, &format!("time{n}.time")), &want);
        }
        let printed = record.values.iter().filter(|(id, _)| id.starts_with("record.time")).count();
        if printed != 2 * time.sections.len() {
            self.list.push(format!("the record is to show times of {} sections and there are {}", printed / 2, time.sections.len()));
        }
        let mut basis = self.said.say(if time.of_acts { "estimate.acts" } else { "estimate.motion" }).to_owned();
        for (id, left) in
            [("estimate.without", &time.without), ("estimate.open", &time.open)].into_iter().filter(|(_, left)| !left.is_empty())
        {
            basis.push(' ');
            basis.push_str(&self.said.fill(id, &[("list", &self.said.row("list.comma", "next", left))]));
        }
        self.same("record.basis", text(record, "basis"), &basis);
    }

    /// Both ends of a time: seconds up to two minutes, then whole minutes, never less than it is.
    fn between(&self, least: i64, most: i64) -> String {
        let one = |ms: i64| match ms {
            ..120_000 => format!("{} s", (ms + 999).div_euclid(1000)),
            _ => format!("{} min", (ms + 59_999).div_euclid(60_000)),
        };
        match (one(least), one(most)) {
            (least, most) if least == most => most,
            (least, most) => self.said.fill("estimate.range", &[("least", &least), ("most", &most)]),
        }
    }
}
