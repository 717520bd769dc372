//! What posts have taken on: on the first page, and beside the steps.

use super::Basis;
use super::step::labelled;
use crate::compiled;
use crate::diag::Severity;
use crate::document::{Disposition, Field, Label, Line, Prose, Waiver, wording};
use crate::words::{Words, ids};

impl Basis<'_> {
    /// How many findings stand.
    pub(super) fn standing(&self) -> String {
        let open = self.findings.iter().filter(|f| f.severity == Severity::Warning && f.accepted.is_none()).count();
        wording::standing(self.found(Severity::Error), self.found(Severity::Warning), open, self.words())
    }

    /// What was waived, and why it is not to be issued.
    pub(super) fn reserve(&self) -> String {
        let words = self.words();
        let waiver = |w: &Waiver| words.fill(ids::STANDING_WAIVER, [&w.rule.text, &w.step.text, &w.post.text, &w.expiry.text]);
        let waived: Vec<String> = self.waivers().iter().map(waiver).collect();
        let waived = match waived.as_slice() {
            [] => words.say(ids::STANDING_NOTHING_WAIVED).to_owned(),
            list => words.fill(ids::STANDING_WAIVED, [&words.row(list, ids::LIST_SEMICOLON)]),
        };
        let why = match self.barred().as_slice() {
            [] => String::new(),
            said => format!(" {}", words.fill(ids::STANDING_NOT_ISSUABLE, [&words.row(said, ids::LIST_SEMICOLON)])),
        };
        format!("{waived}{why}")
    }

    /// Why it is not to be issued.
    pub(super) fn barred(&self) -> Vec<String> {
        self.not_issuable.iter().filter_map(|why| self.by_id(&format!("reason.{why}"), &[])).collect()
    }

    /// The waivers in force.
    pub(super) fn waivers(&self) -> Vec<Waiver> {
        let one = |(i, (w, _)): (usize, &(compiled::Waiver, _))| {
            let id = |name: &str| format!("front.waiver{}.{name}", i + 1);
            Waiver {
                rule: Field::new(id("rule"), w.rule.as_str()),
                step: Field::new(id("step"), place(w.step.as_deref(), &w.numbers, self.words())),
                reason: Prose::plain(id("reason"), w.reason.as_str()),
                post: Field::new(id("post"), w.post.as_str()),
                expiry: Field::new(id("expiry"), w.expires.as_str()),
            }
        };
        self.accepted.waivers.iter().enumerate().map(one).collect()
    }

    /// The dispositions in force.
    pub(super) fn dispositions(&self) -> Vec<Disposition> {
        let one = |(i, (d, _)): (usize, &(compiled::Disposition, _))| {
            let id = |name: &str| format!("front.disposition{}.{name}", i + 1);
            Disposition {
                rule: Field::new(id("rule"), d.rule.as_str()),
                step: Field::new(id("step"), place(d.step.as_deref(), &d.numbers, self.words())),
                reason: Prose::plain(id("reason"), d.reason.as_str()),
                post: Field::new(id("post"), d.post.as_str()),
                date: Field::new(id("date"), d.date.as_str()),
            }
        };
        self.accepted.dispositions.iter().enumerate().map(one).collect()
    }

    /// What is waived or accepted at the step of an item.
    pub(super) fn accepted_lines(&self, item: &str) -> Vec<Line> {
        let here = |numbers: &[String]| item.strip_prefix('s').is_some_and(|n| numbers.iter().any(|m| m == n));
        let words = self.words();
        let line = |is, name: &str, n: usize, text: String| labelled(is, Prose::plain(format!("{item}.{name}{n}"), text), words);
        let waived = self.accepted.waivers.iter().map(|w| &w.0).filter(|w| here(&w.numbers));
        let waived = waived.map(|w| words.fill(ids::STANDING_WAIVER_LINE, [&w.rule, &w.reason, &w.post, &w.expires]));
        let accepted = self.accepted.dispositions.iter().map(|d| &d.0).filter(|d| here(&d.numbers));
        let accepted = accepted.map(|d| words.fill(ids::STANDING_ACCEPTED_LINE, [&d.rule, &d.reason, &d.post, &d.date]));
        let waived = (1..).zip(waived).map(|(n, text)| line(Label::Waived, "waived", n, text));
        waived.chain((1..).zip(accepted).map(|(n, text)| line(Label::Accepted, "accepted", n, text))).collect()
    }
}

/// "all steps", "step 12", "steps 12.1, 14.1".
fn place(anchor: Option<&str>, numbers: &[String], words: &Words) -> String {
    match (anchor, numbers) {
        (None, _) => words.say(ids::STANDING_ALL_STEPS).to_owned(),
        (Some(anchor), []) => anchor.to_owned(),
        (Some(_), [one]) => words.fill(ids::STEP_NAME, [one]),
        (Some(_), many) => words.fill(ids::STEP_NAMES, [&words.row(many, ids::LIST_COMMA)]),
    }
}
