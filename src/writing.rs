//! Rules over what is written: holds, alerts, references, conditions, what the site's policy demands, and words.
//!
//! Invariant: this floor sees the lowered procedure and its text, never states: what depends on where the arm is
//! belongs to the trace. A step or line that is broken was reported before; no rule here speaks about it again.

mod agree;
mod alerts;
mod conditions;
mod demands;
mod document;
mod flow;
mod holds;
mod jumps;
mod layout;
mod neighbours;
mod orders;
pub mod prose;
pub mod questions;
mod references;
pub mod upright;
mod verify;
mod words;

use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity, count, gather};
use crate::model::StepId;
use crate::model::procedure::{Item, Kind, Procedure, Section, Step};

const FAMILIES: &[&[&Rule]] = &[
    holds::RULES,
    verify::RULES,
    demands::RULES,
    alerts::RULES,
    references::RULES,
    conditions::RULES,
    neighbours::RULES,
    words::RULES,
    agree::RULES,
    document::RULES,
    layout::RULES,
    orders::RULES,
    prose::RULES,
    upright::RULES,
];

/// The rules of this floor.
pub static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);

/// Everything the rules of this floor have to say about `procedure`, whose own file's text is `text`, in the order of the text.
pub fn check(procedure: &Procedure, text: &str) -> Vec<Diagnostic> {
    let mut found = Found { procedure, text, list: Vec::new() };
    document::check(&mut found);
    references::check(&mut found);
    flow::check(&mut found);
    words::check(&mut found);
    prose::check(&mut found);
    layout::sections(&mut found);
    alerts::check_all(&mut found);
    agree::names(&mut found);
    let mut lists = Lists::default();
    for section in &procedure.sections {
        alerts::check(&mut found, section);
        lists.top(section);
        in_list(&mut found, &lists.ids);
    }
    for step in &procedure.steps {
        conditions::check(&mut found, step);
        holds::check(&mut found, step);
        demands::lines(&mut found, step);
        layout::step(&mut found, step);
        agree::step(&mut found, step);
        match &step.kind {
            Kind::If { arms } => arms.iter().for_each(|arm| in_list(&mut found, &arm.steps)),
            Kind::Repeat { body, .. } => in_list(&mut found, body),
            _ => {}
        }
    }
    let mut list = found.list;
    list.sort_by_key(|d| (d.span.start, d.span.end));
    list
}

/// What is looked at step by step along one list.
fn in_list(found: &mut Found<'_>, list: &[StepId]) {
    neighbours::check(found, list);
    holds::check_list(found, list);
    verify::check_list(found, list);
}

/// Findings being gathered, and what the rules look at.
struct Found<'a> {
    procedure: &'a Procedure,
    text: &'a str,
    list: Vec<Diagnostic>,
}

impl<'a> Found<'a> {
    fn push(&mut self, problem: Diagnostic) {
        self.list.push(problem);
    }
    /// A finding about a step.
    fn at_step(&mut self, step: &Step, problem: Diagnostic) {
        self.list.push(problem.step(&step.number));
    }
    fn step(&self, id: StepId) -> &'a Step {
        self.procedure.step(id)
    }
}

/// A list of steps, its memory used again from section to section.
#[derive(Default)]
struct Lists {
    ids: Vec<StepId>,
}

impl Lists {
    fn top(&mut self, section: &Section) {
        self.ids.clear();
        self.ids.extend(top(section));
    }
}

/// The steps of a section that stand in no arm or body.
fn top(section: &Section) -> impl Iterator<Item = StepId> + '_ {
    section.items.iter().filter_map(|i| match i {
        Item::Step(id) => Some(*id),
        _ => None,
    })
}

/// A rule of this floor; none of them is a physical limit.
const fn rule(
    id: &'static str,
    family: Family,
    severity: Severity,
    summary: &'static str,
    why: &'static str,
    evidence: Evidence,
    examples: (&'static [Example], &'static [Example]),
) -> Rule {
    Rule { id, family, severity, physical: false, summary, why, evidence, bad: examples.0, good: examples.1 }
}
