//! Plain words: what is always known about them, and patterns that are looked at where the policy asks for it.
//!
//! A pattern can be wrong where the notation cannot. So patterns are warnings or advice, and `tests/prose` measures how often each is right; one that is right less than nine times in ten is advice.

mod alerts;
pub(super) mod grammar;
mod phrases;
pub(super) mod reading;
mod steps;
mod values;
pub(super) mod verbs;

use super::{Found, orders};
use crate::diag::{Diagnostic, Rule, Severity, count, gather};
use crate::model::policy::{Policy, Prose};
use crate::model::procedure::{Alert, AlertKind, Item, Kind, Label, ProseKind, Section, Step, StepNumber, Text};
use crate::text::{FileId, Span};
use grammar::Sentence;
use reading::Reading;
use verbs::Verbs;

const FAMILIES: &[&[&Rule]] = &[steps::RULES, alerts::RULES, phrases::RULES, values::RULES];

/// Every rule over patterns in plain words, the most important of a subject first.
pub(super) static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);

/// What the examples of these rules stand under, after the policy they share.
pub const EXAMPLE: &str = "\n[writing]\nprose = \"warning\"\n[[writing.term]]\nuse = \"cup\"\nnot = [\"pot\", \"beaker\"]\n";

/// Where a text stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Place {
    /// A plain instruction.
    Step,
    /// What a `check` looks for.
    Check,
    /// What proves a step, or clears a hold.
    Proof,
    /// The condition of an `if`, the cue of a `repeat`.
    Condition,
    /// Any other words under a step.
    Line,
    /// An alert.
    Alert(AlertKind),
    /// Words outside of steps.
    Prose,
}

/// What the rules look at besides the sentence.
pub(super) struct Look<'a> {
    /// The site's rules.
    pub policy: &'a Policy,
    /// The verbs in force.
    pub verbs: Verbs<'a>,
    /// The policy takes CAUTION for injury too.
    injury_in_caution: bool,
}

/// A sentence at its place.
pub(super) struct Spot<'s, 't> {
    /// Where.
    pub place: Place,
    /// The sentence.
    pub sentence: Sentence<'s, 't>,
    /// The step it stands in.
    pub step: Option<&'s Step>,
    /// It is the first of its text.
    pub first: bool,
    /// It is the only one.
    pub alone: bool,
    file: FileId,
    base: usize,
}

impl Spot<'_, '_> {
    /// The place of tokens `from..=to`.
    pub fn span(&self, from: usize, to: usize) -> Span {
        let (a, b) = (self.sentence.at(from), self.sentence.at(to));
        Span::new(self.file, self.base + a.at, self.base + b.end().max(a.end()))
    }
    /// The whole sentence, without its full stop.
    pub fn whole(&self) -> Span {
        let tokens = self.sentence.tokens;
        let last = tokens.len() - usize::from(tokens.len() > 1 && tokens[tokens.len() - 1].text == ".");
        self.span(0, last - 1)
    }
    fn number(&self) -> Option<&StepNumber> {
        self.step.map(|s| &s.number)
    }
}

/// A rule's view of one sentence.
pub(super) type Check = fn(&Look<'_>, &Spot<'_, '_>) -> Option<Diagnostic>;

pub(super) fn check(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let policy: &Policy = &procedure.policy;
    let hurts = ["person", "people", "injur", "hurt", "dose"];
    let caution = policy.alerts.caution.to_ascii_lowercase();
    let look = Look { policy, verbs: Verbs::of(&policy.writing.verbs), injury_in_caution: hurts.iter().any(|w| caution.contains(w)) };
    let mut pass = Pass { look, prose: Vec::new() };
    for section in &procedure.sections {
        pass.section(found, section);
    }
    for step in &procedure.steps {
        pass.step(found, step);
    }
    found.list.extend(pass.prose.into_iter().map(|mut d| {
        d.severity = weight(d.severity, &policy.writing);
        d
    }));
}

struct Pass<'a> {
    look: Look<'a>,
    prose: Vec<Diagnostic>,
}

impl Pass<'_> {
    fn on(&self) -> bool {
        self.look.policy.writing.prose != Prose::Off
    }

    fn section(&mut self, found: &mut Found<'_>, section: &Section) {
        for item in &section.items {
            match item {
                Item::Prose(text, kind @ (ProseKind::Paragraph | ProseKind::List | ProseKind::Table)) => {
                    self.text(found, text, Place::Prose, None, *kind != ProseKind::Paragraph);
                }
                Item::Alert(alert) if self.on() => self.alert(found, alert),
                _ => {}
            }
        }
    }

    fn alert(&mut self, found: &mut Found<'_>, alert: &Alert) {
        for text in alert.hazard.iter().chain(&alert.consequence).chain(&alert.words) {
            self.text(found, text, Place::Alert(alert.kind), None, false);
        }
    }

    fn step(&mut self, found: &mut Found<'_>, step: &Step) {
        let place = match &step.kind {
            Kind::Instruction => Place::Step,
            Kind::Check => Place::Check,
            Kind::If { .. } | Kind::Repeat { .. } => Place::Condition,
            _ => Place::Line,
        };
        self.text(found, &step.text, place, Some(step), false);
        for line in &step.lines {
            let place = match line.label {
                Label::Proof | Label::MustBeTrue => Place::Proof,
                Label::Watch => Place::Line,
                _ => continue,
            };
            self.text(found, &line.text, place, Some(step), false);
        }
    }

    fn text(&mut self, found: &mut Found<'_>, text: &Text, place: Place, step: Option<&Step>, by_line: bool) {
        if text.span.start == text.span.end || place == Place::Line && !self.on() {
            return;
        }
        let raw = text.span.of(found.text);
        let reading = Reading::of(raw, by_line);
        let alone = reading.sentences().count() == 1;
        for (n, tokens) in reading.sentences().enumerate() {
            let sentence = Sentence { tokens, verbs: &self.look.verbs };
            let spot = Spot { place, sentence, step, first: n == 0, alone, file: text.span.file, base: text.span.start as usize };
            let report = |list: &mut Vec<Diagnostic>, problem: Diagnostic| {
                list.push(match spot.number() {
                    Some(number) => problem.step(number),
                    None => problem,
                });
            };
            let before = found.list.len();
            for rule in orders::CHECKS {
                if let Some(problem) = rule(&self.look, &spot) {
                    report(&mut found.list, problem);
                }
            }
            if !self.on() {
                continue;
            }
            // What is no order at all is not told once more for its verb.
            let told = found.list[before..].iter().any(|d| orders::ABOUT_VERB.contains(&d.rule));
            let own = steps::CHECKS.iter().filter(|_| !told).chain(alerts::CHECKS).chain(phrases::CHECKS).chain(values::CHECKS);
            for rule in own {
                if let Some(problem) = rule(&self.look, &spot) {
                    report(&mut self.prose, problem);
                }
            }
        }
    }
}

/// The weight of a finding under the policy's switch.
fn weight(own: Severity, writing: &crate::model::policy::Writing) -> Severity {
    match (writing.prose, own) {
        (Prose::Off | Prose::Advice, _) => Severity::Advice,
        (Prose::Warning, Severity::Warning) if writing.strict => Severity::Error,
        (Prose::Warning, own) => own,
    }
}
