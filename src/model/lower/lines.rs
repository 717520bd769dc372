//! Labelled lines with their names resolved.

use super::{Lowering, Problem};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::number::StepNumber;
use crate::model::procedure::{Destination, Line, LineForm};
use crate::model::touch::Touch;
use crate::syntax::tree;
use crate::text::Span;

/// A label written twice under one step.
pub static REPEATED_LINE: Rule = Rule {
    id: "repeated-line",
    family: Family::Notation,
    severity: Severity::Error,
    physical: false,
    summary: "a step has two lines of a label that has one answer",
    why: "Two answers to one question leave the operator to choose: two `If not:` lines may lead to two places, two `Must be true:` lines to two criteria.",
    evidence: Evidence::Definition,
    bad: &[Example::steps(
        "1. `read dose-rate below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n   ⟦- If not: hold and tell Radiation protection⟧\n",
    )],
    good: &[Example::steps("1. `power on arm`\n2. `base left to +15 deg`\n   - Watch: the elbow.\n   - Watch: the hose.\n")],
};

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&REPEATED_LINE];

impl<'a> Lowering<'a, '_> {
    pub(super) fn lines(&mut self, lines: &'a [tree::Line], number: &StepNumber) -> Vec<Line> {
        lines
            .iter()
            .enumerate()
            .map(|(i, line)| {
                use tree::Label as L;
                if matches!(line.label, L::IfNot | L::MustBeTrue | L::SecondPerson | L::Proof)
                    && let Some(first) = lines[..i].iter().find(|l| l.label == line.label)
                {
                    let message = format!("`{}:` is written twice under one step", line.label.word());
                    let problem =
                        REPEATED_LINE.at(line.span, message).label(first.span, "the first").help("keep one line, or split the step in two");
                    self.found.push(problem.step(number));
                }
                let form = self.form(line).unwrap_or_else(|problem| {
                    self.found.push(problem.step(number));
                    LineForm::Broken
                });
                Line { label: line.label, span: line.span, text: line.text.clone(), form }
            })
            .collect()
    }

    fn form(&mut self, line: &'a tree::Line) -> Result<LineForm, Problem> {
        let (names, text) = (self.names, self.text);
        Ok(match &line.form {
            tree::LineForm::Words => {
                self.links(&line.text);
                LineForm::Words
            }
            tree::LineForm::GoTo(link) => {
                let destination = self.destination(link)?;
                match destination.value {
                    Destination::Contingency(section) => LineForm::Contingency(destination.map(|_| section)),
                    Destination::Step(step) => LineForm::Step(destination.map(|_| step)),
                }
            }
            tree::LineForm::HoldAndTell(role) => {
                self.links(&line.text);
                names.role(role.of(text), *role)?;
                LineForm::HoldAndTell(*role)
            }
            tree::LineForm::SecondPerson { role, agree_before, that } => {
                self.links(&line.text);
                LineForm::SecondPerson { role: names.role(role.of(text), *role)?, agree_before: *agree_before, that: *that }
            }
            tree::LineForm::Touching(parts) => {
                let bodies = |name: &Span| names.bodies(name.of(text), *name);
                let pairs = parts.as_chunks::<2>().0.iter();
                let touch = |[a, b]: &[Span; 2]| Ok::<_, Problem>(Touch { names: [*a, *b], bodies: [bodies(a)?, bodies(b)?] });
                LineForm::Touching(pairs.map(touch).collect::<Result<_, _>>()?)
            }
        })
    }
}
