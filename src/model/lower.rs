//! From the tree to the procedure: every name becomes the thing it names, every step gets its number.
//!
//! Invariant: a name that cannot be resolved gives exactly one finding, and the step or line that holds it is
//! marked broken, so that no later rule speaks about it and none falls silent without reason. Nothing after
//! this looks a name up again.

mod anchors;
mod kinds;
mod lines;
mod names;
mod situation;

pub use anchors::{
    ANCHORS_DIFFER_BY_CASE, DANGLING_ANCHOR, DUPLICATE_ANCHOR, INVALID_ANCHOR, MISSING_LINK, OTHER_MODELS, PERFORM_CYCLE,
    PERFORMED_CONTINGENCY, UNKNOWN_PROCEDURE, WRONG_LINK,
};

use super::arm::Arm;
use super::cell::Cell;
use super::number::StepNumber;
use super::policy::Policy;
use super::procedure::{Alert, Branch, Item, Kind, Procedure, Section, Step};
use super::{SectionId, StepId, touch};
use crate::diag::{Diagnostic, Rule, count, gather};
use crate::syntax::scan::OVER_LIMIT;
use crate::syntax::tree::{self, Block, Parsed, SectionKind, Text};
use crate::text::{Span, Spanned};
use anchors::Anchors;
use names::Names;
use std::sync::Arc;

const FAMILIES: &[&[&Rule]] = &[names::RULES, kinds::RULES, anchors::RULES, lines::RULES, situation::RULES];

/// The rules lowering speaks through.
pub static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);

/// A finding on its way out of a look-up; boxed because it is rare and large.
type Problem = Box<Diagnostic>;

/// Gives the procedure of a path relative to the calling file, or nothing if there is none that can be used.
pub type FindProcedure<'f> = dyn FnMut(&str, Span) -> Option<Arc<Procedure>> + 'f;

/// Most sections that are read; what is left out is told, and no document is built from it.
pub const MOST_SECTIONS: usize = 1000;

/// Resolves every name of `parsed`. `text` is the file's text, of at most [`u16::MAX`] steps (longer files are refused before).
/// `callee` is asked for each procedure of another file that a `perform` names; where it gives none, the finding is made here.
pub fn lower(
    parsed: &Parsed,
    text: &str,
    arm: Arc<Arm>,
    cell: Arc<Cell>,
    policy: Arc<Policy>,
    callee: &mut FindProcedure<'_>,
) -> (Procedure, Vec<Diagnostic>) {
    let names = Names { arm: &arm, cell: &cell, policy: &policy };
    let plan = Plan::of(parsed);
    let (anchors, found) = Anchors::collect(parsed, text, &plan);
    let mut lowering = Lowering { text, names, anchors, callee, steps: Vec::with_capacity(plan.steps), found };
    let front = parsed.front.clone().unwrap_or_default();
    let performer = lowering.performer(&front);
    let start = front.start.as_ref().and_then(|s| lowering.situation(s));
    let end = front.end.as_ref().and_then(|s| lowering.situation(s));
    let sections = lowering.sections(parsed, &plan);
    let Lowering { mut steps, mut found, .. } = lowering;
    if let Some(section) = parsed.sections.get(MOST_SECTIONS) {
        let message = format!("the file has {} sections; at most {MOST_SECTIONS} are read", parsed.sections.len());
        found.push(OVER_LIMIT.at(section.span, message).help("divide it into procedures"));
    }
    anchors::break_cycles(text, &sections, &mut steps, &mut found);
    let approaches = touch::approaches(&arm, &cell);
    (Procedure { file: parsed.file, front, performer, start, end, approaches, sections, steps, arm, cell, policy }, found)
}

/// What is known of the sections before their steps are read: links may lead forward.
struct Plan {
    /// All steps, those of arms and bodies too.
    steps: usize,
    sections: Vec<SectionPlan>,
}

struct SectionPlan {
    kind: SectionKind,
    title: Span,
    /// Where a link to the section leads.
    first: Option<StepId>,
}

impl Plan {
    fn of(parsed: &Parsed) -> Plan {
        let mut steps = 0;
        let mut plan = |kind, title, blocks: &[Block]| {
            let mut first = None;
            for block in blocks {
                if let Block::Step(step) = block {
                    first.get_or_insert(step_id(steps));
                    steps += size(step);
                }
            }
            SectionPlan { kind, title, first }
        };
        let start = Span::new(parsed.file, 0, 0);
        let mut sections = vec![plan(SectionKind::Ordinary, start, &parsed.preamble)];
        sections.extend(read_sections(parsed).iter().map(|s| plan(s.kind, s.title.span, &s.blocks)));
        Plan { steps, sections }
    }
}

fn read_sections(parsed: &Parsed) -> &[tree::Section] {
    &parsed.sections[..parsed.sections.len().min(MOST_SECTIONS)]
}

/// How many steps a step is, with those in its arms and its body.
fn size(step: &tree::Step) -> usize {
    let inner = step.arms.iter().flat_map(|a| &a.steps).chain(&step.body);
    1 + inner.map(size).sum::<usize>()
}

fn step_id(index: usize) -> StepId {
    StepId(u16::try_from(index).unwrap_or(u16::MAX))
}

fn section_id(index: usize) -> SectionId {
    SectionId(u16::try_from(index).unwrap_or(u16::MAX))
}

/// Lowering under way.
struct Lowering<'a, 'f> {
    text: &'a str,
    names: Names<'a>,
    anchors: Anchors<'a>,
    callee: &'a mut FindProcedure<'f>,
    steps: Vec<Step>,
    found: Vec<Diagnostic>,
}

/// Counts within the three kinds of sections.
#[derive(Default)]
struct Counters {
    main: u32,
    contingencies: u16,
    on_call: u16,
}

impl<'a> Lowering<'a, '_> {
    fn sections(&mut self, parsed: &'a Parsed, plan: &Plan) -> Vec<Section> {
        let mut counters = Counters::default();
        let start = Span::new(parsed.file, 0, 0);
        let mut sections = Vec::with_capacity(plan.sections.len());
        let preamble = Section {
            title: Text { span: start, links: Vec::new() },
            level: 0,
            anchor: None,
            kind: SectionKind::Ordinary,
            span: start,
            items: self.items(&parsed.preamble, SectionKind::Ordinary, SectionId(0), &mut counters),
        };
        sections.push(preamble);
        for section in read_sections(parsed) {
            self.links(&section.title);
            let items = self.items(&section.blocks, section.kind, section_id(sections.len()), &mut counters);
            sections.push(Section {
                title: section.title.clone(),
                level: section.level,
                anchor: self.anchor(section.anchor),
                kind: section.kind,
                span: section.span,
                items,
            });
        }
        sections
    }

    fn anchor(&self, anchor: Option<Span>) -> Option<Spanned<String>> {
        anchor.map(|a| Spanned::new(a.of(self.text).to_string(), a))
    }

    fn items(&mut self, blocks: &'a [Block], kind: SectionKind, section: SectionId, counters: &mut Counters) -> Vec<Item> {
        match kind {
            SectionKind::Ordinary => {}
            SectionKind::Contingency => counters.contingencies += 1,
            SectionKind::OnCall => counters.on_call += 1,
        }
        let mut local = 0;
        let mut items = Vec::with_capacity(blocks.len());
        // Alerts wait here, by their place in `items`, for the step they guard.
        let mut waiting = Vec::new();
        for block in blocks {
            match block {
                Block::Prose(prose) => {
                    self.links(&prose.text);
                    items.push(Item::Prose(prose.text.clone(), prose.kind));
                }
                Block::Alert(alert) => {
                    waiting.push(items.len());
                    items.push(Item::Alert(self.alert(alert)));
                }
                Block::Step(step) => {
                    local += 1;
                    let number = match kind {
                        SectionKind::Ordinary => {
                            counters.main += 1;
                            StepNumber::main(counters.main)
                        }
                        SectionKind::Contingency => StepNumber::contingency(counters.contingencies, local),
                        SectionKind::OnCall => StepNumber::on_call(counters.on_call, local),
                    };
                    let id = self.step(step, number, section, None);
                    for place in waiting.drain(..) {
                        if let Some(Item::Alert(alert)) = items.get_mut(place) {
                            alert.guards = Some(id);
                        }
                    }
                    items.push(Item::Step(id));
                }
            }
        }
        items
    }

    fn alert(&mut self, alert: &'a tree::Alert) -> Alert {
        for text in alert.hazard.iter().chain(&alert.consequence).chain(&alert.avoid).chain(&alert.words) {
            self.links(text);
        }
        Alert {
            kind: alert.kind,
            span: alert.span,
            hazard: alert.hazard.clone(),
            consequence: alert.consequence.clone(),
            avoid: alert.avoid.clone(),
            words: alert.words.clone(),
            guards: None,
        }
    }

    fn step(&mut self, step: &'a tree::Step, number: StepNumber, section: SectionId, parent: Option<StepId>) -> StepId {
        let id = step_id(self.steps.len());
        let kind = match &step.statement {
            None if step.broken => Kind::Broken,
            None => {
                self.links(&step.text);
                Kind::Instruction
            }
            Some(statement) => {
                if !matches!(statement.value, tree::Statement::Perform | tree::Statement::GoTo) {
                    self.links(&step.text);
                }
                self.kind(step, &statement.value).unwrap_or_else(|problem| {
                    self.found.push(problem.step(&number));
                    Kind::Broken
                })
            }
        };
        let lines = self.lines(&step.lines, &number);
        self.steps.push(Step {
            id,
            number: number.clone(),
            section,
            parent,
            anchor: self.anchor(step.anchor),
            span: step.span,
            head: step.statement.as_ref().map_or(step.text.span, |s| s.span),
            broken: matches!(kind, Kind::Broken),
            kind,
            text: step.text.clone(),
            lines,
        });
        if !step.arms.is_empty() || !step.body.is_empty() {
            self.inside(step, &Arc::new(number), section, id);
        }
        id
    }

    /// The steps of arms and body. Those of a broken statement are still read, so that their own mistakes are told too.
    fn inside(&mut self, step: &'a tree::Step, number: &Arc<StepNumber>, section: SectionId, id: StepId) {
        for (letter, arm) in (0u8..).zip(&step.arms) {
            let inner = (1u32..).zip(&arm.steps);
            let steps = inner.map(|(n, s)| self.step(s, StepNumber::in_arm(number, letter, n), section, Some(id))).collect();
            let branch = Branch { otherwise: arm.otherwise, span: arm.span, go_on: arm.go_on, steps };
            if let Some(Step { kind: Kind::If { arms }, .. }) = self.steps.get_mut(id.at()) {
                arms.push(branch);
            }
        }
        for (n, inner) in (1u32..).zip(&step.body) {
            let inner = self.step(inner, StepNumber::under(number, n), section, Some(id));
            if let Some(Step { kind: Kind::Repeat { body, .. }, .. }) = self.steps.get_mut(id.at()) {
                body.push(inner);
            }
        }
    }
}
