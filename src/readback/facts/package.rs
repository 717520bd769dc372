//! The tables of the work package and the estimate of the time, against the compiled data.

use super::{Differences, text};
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
                    match value {
                        Value::String(text) => put(id, text),
                        Value::Array(list) => put(id, &list.iter().filter_map(Value::as_str).collect::<Vec<_>>().join("; ")),
                        _ => {}
                    }
                }
            }
        }
        for (n, f) in (1..).zip(&self.compiled.findings) {
            let taken = match (&f.waiver, &f.disposition) {
                (Some(w), _) => format!("{}, until {}: {}", w.post, w.expires, w.reason),
                (None, Some(d)) => format!("{}, {}: {}", d.post, d.date, d.reason),
                (None, None) => String::new(),
            };
            let step = f.step.as_deref().unwrap_or("");
            for (key, text) in
                [("rule", &*f.rule), ("severity", &*f.severity), ("step", step), ("message", &*f.message), ("taken", &*taken)]
            {
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
        self.same("record.total", Some(total), &time.text);
        for (n, section) in (1..).zip(&time.sections) {
            self.same(&format!("record.time{n}.title"), text(record, &format!("time{n}.title")), &section.title);
            self.same(&format!("record.time{n}.time"), text(record, &format!("time{n}.time")), &section.text);
        }
        let printed = record.values.iter().filter(|(id, _)| id.starts_with("record.time")).count();
        if printed != 2 * time.sections.len() {
            self.list.push(format!("the record is to show times of {} sections and there are {}", printed / 2, time.sections.len()));
        }
        let basis = text(record, "basis").unwrap_or("");
        if !time.of_acts && !basis.contains("no time of the task") {
            self.list.push(format!("record.basis is to read {basis:?}, and the times are of motion and waits alone"));
        }
        for left in time.without.iter().chain(&time.open).filter(|w| !basis.contains(w.as_str())) {
            self.list.push(format!("record.basis does not name {left:?}, which is not in the estimate"));
        }
    }
}
