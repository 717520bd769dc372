//! The tables of the work package and the estimate of the time, against the compiled data.

use super::{Differences, text};
use crate::compiled::Saying;
use crate::readback::{Item, plain};
use serde_json::Value;
use std::collections::BTreeMap;

/// Names in ids, and the lists of the compiled data that they stand for.
const LISTS: [(&str, &str); 8] = [
    ("lift", "lifts"),
    ("limit", "limits"),
    ("prerequisite", "prerequisites"),
    ("instrument", "instruments"),
    ("validation", "validations"),
    ("point", "points"),
    ("criterion", "criteria"),
    ("exit", "exits"),
];

impl Differences<'_> {
    /// Every text of every list is printed, and nothing else.
    pub(super) fn package(&mut self, items: &[Item]) {
        self.time(items);
        let Some(package) = items.iter().find(|i| i.id == "package") else { return };
        let said = self.said;
        let mut wanted: BTreeMap<String, String> = BTreeMap::new();
        let mut put = |id: String, text: &str| {
            if !text.is_empty() {
                wanted.insert(id, text.to_owned());
            }
        };
        let data = serde_json::to_value(&self.compiled.package).unwrap_or_default();
        for (name, list) in LISTS {
            for (n, entry) in (1..).zip(data[list].as_array().into_iter().flatten()) {
                if let Value::String(text) = entry {
                    put(format!("package.{name}{n}.of-text"), text);
                }
                for (key, value) in entry.as_object().into_iter().flatten() {
                    let id = format!("package.{name}{n}.of-{key}");
                    let words =
                        |value: &Value| serde_json::from_value(value.clone()).map_or_else(|_| String::new(), |p: Saying| said.saying(&p));
                    match value {
                        Value::Array(list) => put(id, &said.row("list.semicolon", "next", &list.iter().map(words).collect::<Vec<_>>())),
                        other => put(id, &words(other)),
                    }
                }
            }
        }
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
        for (id, seen) in &package.values {
            match wanted.remove(id) {
                Some(want) if plain(&want) == plain(seen) => {}
                Some(want) => self.list.push(format!("{id} is to read {seen:?} and was checked as {want:?}")),
                None => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
            }
        }
        self.list.extend(wanted.into_keys().map(|id| format!("{id} was checked and is not printed")));
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
