//! What posts have taken on: on the first page, and beside the steps.

use super::Basis;
use crate::compiled;
use crate::diag::Severity;
use crate::document::{Disposition, Field, Label, Line, Prose, Waiver, wording};

impl Basis<'_> {
    /// How many findings stand.
    pub(super) fn standing(&self) -> String {
        let open = self.findings.iter().filter(|f| f.severity == Severity::Warning && f.accepted.is_none()).count();
        wording::standing(self.found(Severity::Error), self.found(Severity::Warning), open)
    }

    /// What was waived, and why it is not to be issued.
    pub(super) fn reserve(&self) -> String {
        let waived: Vec<String> = self
            .waivers()
            .iter()
            .map(|w| format!("{} ({}) by {} until {}", w.rule.text, w.step.text, w.post.text, w.expiry.text))
            .collect();
        let waived = if waived.is_empty() { "Nothing was waived.".to_owned() } else { format!("Waived: {}.", waived.join("; ")) };
        let why =
            if self.not_issuable.is_empty() { String::new() } else { format!(" Not to be issued: {}.", self.not_issuable.join("; ")) };
        format!("{waived}{why}")
    }

    /// The waivers in force.
    pub(super) fn waivers(&self) -> Vec<Waiver> {
        let one = |(i, (w, _)): (usize, &(compiled::Waiver, _))| {
            let id = |name: &str| format!("front.waiver{}.{name}", i + 1);
            Waiver {
                rule: Field::new(id("rule"), w.rule.as_str()),
                step: Field::new(id("step"), place(w.step.as_deref(), &w.numbers)),
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
                step: Field::new(id("step"), place(d.step.as_deref(), &d.numbers)),
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
        let line = |label, name: &str, n: usize, text: String| Line { label, text: Prose::plain(format!("{item}.{name}{n}"), text) };
        let waived = self.accepted.waivers.iter().map(|w| &w.0).filter(|w| here(&w.numbers));
        let waived = waived.map(|w| wording::waived(&w.rule, &w.reason, &w.post, &w.expires));
        let accepted = self.accepted.dispositions.iter().map(|d| &d.0).filter(|d| here(&d.numbers));
        let accepted = accepted.map(|d| wording::accepted(&d.rule, &d.reason, &d.post, &d.date));
        let waived = (1..).zip(waived).map(|(n, text)| line(Label::Waived, "waived", n, text));
        waived.chain((1..).zip(accepted).map(|(n, text)| line(Label::Accepted, "accepted", n, text))).collect()
    }
}

/// "all steps", "step 12", "steps 12.1, 14.1".
fn place(anchor: Option<&str>, numbers: &[String]) -> String {
    match (anchor, numbers) {
        (None, _) => "all steps".to_owned(),
        (Some(anchor), []) => anchor.to_owned(),
        (Some(_), [one]) => format!("step {one}"),
        (Some(_), many) => format!("steps {}", many.join(", ")),
    }
}
