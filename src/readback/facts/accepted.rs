//! Waivers and dispositions, on the first page and beside their steps, against the compiled data.

use super::{Differences, Want, text};
use crate::compiled::Step;
use crate::readback::{Item, plain};
use std::collections::BTreeMap;

/// Whether a text names all of these, one behind the other.
pub(super) fn names(text: &str, parts: &[String]) -> bool {
    let mut rest = text;
    parts.iter().all(|part| {
        let part = plain(part);
        let Some(at) = rest.find(&*part) else { return false };
        rest = &rest[at + part.len()..];
        true
    })
}

impl Differences<'_> {
    /// What must stand beside a step.
    pub(super) fn accepted_of(&self, step: &Step, want: &mut BTreeMap<String, Want>) {
        let here = |numbers: &[String]| numbers.contains(&step.number);
        let naming = |rule: &str, reason: &str, post: &str, day: &str| Want::Naming([rule, reason, post, day].map(str::to_owned).to_vec());
        for (n, w) in (1..).zip(self.compiled.waivers.iter().filter(|w| here(&w.numbers))) {
            want.insert(format!("waived{n}"), naming(&w.rule, &w.reason, &w.post, &w.expires));
        }
        for (n, d) in (1..).zip(self.compiled.dispositions.iter().filter(|d| here(&d.numbers))) {
            want.insert(format!("accepted{n}"), naming(&d.rule, &d.reason, &d.post, &d.date));
        }
    }

    /// The tables of the first page, and the sentence that counts what stands.
    pub(super) fn accepted(&mut self, items: &[Item]) {
        let Some(front) = items.iter().find(|i| i.id == "front") else { return };
        let c = self.compiled;
        let waivers = c.waivers.iter().map(|w| (&w.step, &w.numbers, [&w.rule, &w.reason, &w.post, &w.expires]));
        let dispositions = c.dispositions.iter().map(|d| (&d.step, &d.numbers, [&d.rule, &d.reason, &d.post, &d.date]));
        let mut wanted: Vec<String> = Vec::new();
        for (n, (key, day, (step, numbers, texts))) in
            (1..).zip(waivers.map(|w| ("waiver", "expiry", w))).chain((1..).zip(dispositions.map(|d| ("disposition", "date", d))))
        {
            for (name, want) in ["rule", "reason", "post", day].into_iter().zip(texts) {
                let name = format!("{key}{n}.{name}");
                self.same(&format!("front.{name}"), text(front, &name), want);
                wanted.push(name);
            }
            let name = format!("{key}{n}.step");
            let places = match (step, numbers.as_slice()) {
                (None, _) => self.said.say("standing.all-steps").to_owned(),
                (Some(anchor), []) => anchor.clone(),
                (Some(_), [one]) => self.step_named(one),
                (Some(_), many) => self.said.fill("step.names", &[("list", &self.said.row("list.comma", "next", many))]),
            };
            self.same(&format!("front.{name}"), text(front, &name), &places);
            wanted.push(name);
        }
        for (id, seen) in &front.values {
            let name = id.strip_prefix("front.").unwrap_or(id);
            if (name.starts_with("waiver") || name.starts_with("disposition")) && !wanted.iter().any(|w| w == name) {
                self.list.push(format!("{id} is to read {seen:?} and nothing of it is in force"));
            }
        }
        self.standing(front);
    }

    /// How many errors and warnings stand, and how many of these nobody has accepted.
    fn standing(&mut self, front: &Item) {
        let of = |severity: &str| self.compiled.findings.iter().filter(|f| f.severity == severity).count();
        let open = self.compiled.findings.iter().filter(|f| f.severity == "warning" && f.disposition.is_none()).count();
        let numbers = [of("error"), of("warning"), open].map(|n| n.to_string());
        let seen = plain(text(front, "standing").unwrap_or(""));
        let said: Vec<&str> = seen.split(|c: char| !c.is_ascii_digit()).filter(|w| !w.is_empty()).collect();
        let wanted: Vec<&str> = numbers.iter().map(String::as_str).filter(|n| *n != "0").collect();
        if said != wanted {
            let what = numbers.join(", ");
            self.list.push(format!("front.standing is to read {seen:?}; errors, warnings and those without disposition are {what}"));
        }
    }
}
