//! Anchors and the links that lead to them.

use super::{Lowering, Plan, Problem, read_sections, section_id, step_id};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity, suggest};
use crate::model::circles::circles;
use crate::model::procedure::{Callee, Destination, Kind, Section, Step};
use crate::model::{SectionId, StepId};
use crate::syntax::tree::{self, Block, Link, Parsed, SectionKind, Target, Text};
use crate::text::{Span, Spanned};
use std::cmp::Ordering;

const fn reference(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule {
        id,
        family: Family::Reference,
        severity: Severity::Error,
        physical: true,
        summary,
        why,
        evidence: Evidence::Definition,
        bad,
        good,
    }
}

/// Every anchor apart and every link with an end.
const FOLLOWED: &[Example] = &[Example::steps(
    "1. `read joints` {#grip-cup}\n   - If not: [back out](#back-out)\n2. `perform` [the check](#check)\n\n# Check {.on-call #check}\n\n1. `read joints`\n\n\
     # Back out {.contingency #back-out}\n\n1. `expect pose home`\n",
)];

/// Two anchors of one name.
pub static DUPLICATE_ANCHOR: Rule = reference(
    "duplicate-anchor",
    "an anchor is given twice",
    "A link to an anchor that stands at two places may lead the operator to the wrong one.",
    &[Example::steps("1. `read joints` {#twice}\n2. `turnover` {#⟦twice⟧}\n")],
    &[Example::steps("1. `read joints` {#once}\n2. `turnover` {#again}\n")],
);
/// Two anchors that differ only in the case of letters.
pub static ANCHORS_DIFFER_BY_CASE: Rule = reference(
    "anchors-differ-by-case",
    "two anchors differ only in the case of letters",
    "Read aloud, or printed small, the two names are one.",
    &[Example::steps("1. `read joints` {#grip-cup}\n2. `turnover` {#⟦Grip-cup⟧}\n")],
    FOLLOWED,
);
/// An anchor of other characters.
pub static INVALID_ANCHOR: Rule = reference(
    "invalid-anchor",
    "an anchor is not made of letters, digits and hyphens",
    "Anchors identify steps across revisions and in the register; they keep to characters that every system carries unchanged.",
    &[Example::steps("1. `read joints` {#⟦grip.cup⟧}\n")],
    &[Example::steps("1. `read joints` {#grip-cup-2}\n")],
);
/// A link to an anchor that is nowhere.
pub static DANGLING_ANCHOR: Rule = reference(
    "dangling-anchor",
    "a link leads to an anchor that does not exist",
    "In print a link becomes the number of a step or the title of a section. One that leads nowhere leaves the operator without the next step.",
    &[
        Example::steps(
            "1. `read joints`\n   - If not: [back out](⟦#back-ot⟧)\n\n# Back out {.contingency #back-out}\n\n1. `expect pose home`\n",
        ),
        Example::steps("1. `read joints`\n   - Second person: Shift lead, agree before the act that all is as at [the start](⟦#strat⟧).\n"),
    ],
    FOLLOWED,
);
/// A `perform` or `go to` without its link.
pub static MISSING_LINK: Rule = reference(
    "missing-link",
    "`perform` and `go to` take exactly one link",
    "The link says where to. Without it, or with two, the way on is a guess.",
    &[Example::steps("1. ⟦`perform`⟧ the usual retreat\n")],
    &[Example::steps("1. `perform` [the check](#check)\n\n# Check {.on-call #check}\n\n1. `read joints`\n")],
);
/// A link to something the statement cannot use.
pub static WRONG_LINK: Rule = reference(
    "wrong-link",
    "a link leads to something this statement cannot use",
    "`perform` does a section or a procedure and comes back; `go to`, `If not:` and `Stop if:` leave for a step or a contingency of this procedure.",
    &[
        Example::steps("1. `read joints` {#start}\n2. `perform` [the start](⟦#start⟧)\n"),
        Example::steps(
            "1. `read joints`\n   - If not: [the check](⟦#check⟧)\n2. `perform` [the check](#check)\n\n# Check {.on-call #check}\n\n1. `read joints`\n",
        ),
    ],
    FOLLOWED,
);
/// A contingency performed.
pub static PERFORMED_CONTINGENCY: Rule = reference(
    "performed-contingency",
    "a contingency is performed like an ordinary section",
    "A contingency is entered from part-way states and ends safe; nobody comes back from it to the next step.",
    &[Example::steps(
        "1. `read joints`\n   - If not: [back out](#back-out)\n2. `perform` [back out](⟦#back-out⟧)\n\n# Back out {.contingency #back-out}\n\n1. `expect pose home`\n",
    )],
    &[Example::steps(
        "1. `read joints`\n   - If not: [back out](#back-out)\n\n# Back out {.contingency #back-out}\n\n1. `expect pose home`\n",
    )],
);
/// A section or procedure that comes to perform itself.
pub static PERFORM_CYCLE: Rule = reference(
    "perform-cycle",
    "a section or a procedure performs itself, directly or through others",
    "Steps are printed expanded at each call; what performs itself has no end.",
    &[
        Example::steps(
            "1. `perform` [one](#one)\n\n# One {.on-call #one}\n\n1. `perform` [two](#two)\n\n# Two {.on-call #two}\n\n1. `perform` [one](⟦#one⟧)\n",
        ),
        Example::steps("1. `perform` [again](⟦example.md⟧)\n"),
    ],
    &[Example::steps("1. `perform` [one](#one)\n2. `perform` [one](#one)\n\n# One {.on-call #one}\n\n1. `read joints`\n")],
);
/// A procedure that cannot be had.
pub static UNKNOWN_PROCEDURE: Rule = reference(
    "unknown-procedure",
    "the procedure to be performed cannot be read",
    "What another procedure does is checked from the state in which it is called; without it nothing after the call can be checked.",
    &[Example::steps("1. `perform` [the other](⟦nowhere.md⟧)\n")],
    FOLLOWED,
);
/// A procedure over other models. It takes two procedure files to show, so `tests/lower.rs` has its example.
pub static OTHER_MODELS: Rule = reference(
    "other-models",
    "the procedure to be performed is written for another arm, cell or policy",
    "The state that one procedure leaves has a meaning only for the same arm in the same cell; and the site's rules must be the same all through.",
    &[],
    &[],
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[
    &DUPLICATE_ANCHOR,
    &ANCHORS_DIFFER_BY_CASE,
    &INVALID_ANCHOR,
    &DANGLING_ANCHOR,
    &MISSING_LINK,
    &WRONG_LINK,
    &PERFORMED_CONTINGENCY,
    &PERFORM_CYCLE,
    &UNKNOWN_PROCEDURE,
    &OTHER_MODELS,
];

/// What an anchor stands at.
#[derive(Clone, Copy)]
enum Place {
    Section(SectionId),
    Step(StepId),
}

/// All anchors by name.
pub(super) struct Anchors<'a> {
    list: Vec<(&'a str, Span, Place)>,
    sections: Vec<(SectionKind, Span, Option<StepId>)>,
}

/// By letters without regard to case, then as written, then by place: alike names come to lie side by side.
fn order(a: (&str, Span), b: (&str, Span)) -> Ordering {
    let fold = a.0.bytes().map(|c| c.to_ascii_lowercase()).cmp(b.0.bytes().map(|c| c.to_ascii_lowercase()));
    fold.then_with(|| a.0.cmp(b.0)).then_with(|| a.1.start.cmp(&b.1.start))
}

impl<'a> Anchors<'a> {
    pub(super) fn collect(parsed: &Parsed, text: &'a str, plan: &Plan) -> (Anchors<'a>, Vec<Diagnostic>) {
        let mut list = Vec::new();
        let mut next = 0;
        gather(&parsed.preamble, text, &mut next, &mut list);
        for (i, section) in read_sections(parsed).iter().enumerate() {
            if let Some(anchor) = section.anchor {
                list.push((anchor.of(text), anchor, Place::Section(section_id(i + 1))));
            }
            gather(&section.blocks, text, &mut next, &mut list);
        }
        list.sort_by(|a, b| order((a.0, a.1), (b.0, b.1)));
        let mut found = Vec::new();
        for (name, span, _) in &list {
            if !(name.starts_with(|c: char| c.is_ascii_alphabetic()) && name.bytes().all(|c| c.is_ascii_alphanumeric() || c == b'-')) {
                let message = format!("the anchor `{}` may hold letters, digits and hyphens only, a letter first", name.escape_debug());
                found.push(INVALID_ANCHOR.at(*span, message).help("write it as {#grip-cup}"));
            }
        }
        for pair in list.windows(2) {
            let [(a, first, _), (b, second, _)] = pair else { continue };
            let (first, second) = if first.start <= second.start { (*first, *second) } else { (*second, *first) };
            if a == b {
                let problem = DUPLICATE_ANCHOR.at(second, format!("the anchor `{a}` is given twice")).label(first, "first given here");
                found.push(problem.help("give one of them another name and follow the links that meant it"));
            } else if a.eq_ignore_ascii_case(b) {
                let message = format!("the anchors `{}` and `{}` differ only in the case of letters", first.of(text), second.of(text));
                found.push(ANCHORS_DIFFER_BY_CASE.at(second, message).label(first, "the other").help("give one of them another name"));
            }
        }
        let sections = plan.sections.iter().map(|s| (s.kind, s.title, s.first)).collect();
        (Anchors { list, sections }, found)
    }

    fn find(&self, name: &str) -> Option<(Span, Place)> {
        let at = self.list.partition_point(|e| order((e.0, e.1), (name, Span { start: 0, ..e.1 })) == Ordering::Less);
        self.list.get(at).filter(|e| e.0 == name).map(|e| (e.1, e.2))
    }

    fn resolve(&self, name: &str, span: Span) -> Result<(Span, Place), Problem> {
        self.find(name).ok_or_else(|| {
            let problem =
                DANGLING_ANCHOR.at(span, format!("there is no anchor `{}` in this procedure", name.escape_debug())).mark("leads nowhere");
            Box::new(match suggest(name, self.list.iter().map(|e| e.0)) {
                Some(near) => problem.help(format!("did you mean `#{near}`?")),
                None => problem.help(format!("write {{#{name}}} at the step or heading that is meant")),
            })
        })
    }
}

fn gather<'a>(blocks: &[Block], text: &'a str, next: &mut usize, list: &mut Vec<(&'a str, Span, Place)>) {
    fn step<'a>(s: &tree::Step, text: &'a str, next: &mut usize, list: &mut Vec<(&'a str, Span, Place)>) {
        if let Some(anchor) = s.anchor {
            list.push((anchor.of(text), anchor, Place::Step(step_id(*next))));
        }
        *next += 1;
        for inner in s.arms.iter().flat_map(|a| &a.steps).chain(&s.body) {
            step(inner, text, next, list);
        }
    }
    for block in blocks {
        if let Block::Step(s) = block {
            step(s, text, next, list);
        }
    }
}

impl<'a> Lowering<'a, '_> {
    /// Checks links in words for people: those to anchors must lead somewhere.
    pub(super) fn links(&mut self, text: &Text) {
        for link in &text.links {
            if let Target::Anchor(name) = &link.target.value
                && let Err(problem) = self.anchors.resolve(name, link.target.span)
            {
                self.found.push(*problem);
            }
        }
    }

    /// The one link of a `perform` or `go to`.
    pub(super) fn only_link<'s>(&self, step: &'s tree::Step) -> Result<&'s Link, Problem> {
        match step.text.links.as_slice() {
            [link] => Ok(link),
            links => {
                let head = step.statement.as_ref().map_or(step.span, |s| s.span);
                let message = match links.len() {
                    0 => format!("{} needs a link that says where", head.of(self.text)),
                    n => format!("{} has {n} links; it takes one", head.of(self.text)),
                };
                Err(Box::new(MISSING_LINK.at(head, message).help("write it as [title](#anchor)")))
            }
        }
    }

    /// Where a `go to`, `If not:` or `Stop if:` link leads.
    pub(super) fn destination(&self, link: &Link) -> Result<Spanned<Destination>, Problem> {
        let span = link.target.span;
        let wrong = |message: String, at: Span, label: &str, help: &str| {
            let problem = WRONG_LINK.at(span, message).help(help);
            Err(Box::new(if label.is_empty() { problem } else { problem.label(at, label) }))
        };
        let name = match &link.target.value {
            Target::Anchor(name) => name,
            Target::File { path, .. } => {
                return wrong(
                    format!("`{path}` is another file; a step can be left for this procedure only"),
                    span,
                    "",
                    "use `perform`, which comes back",
                );
            }
        };
        let (at, place) = self.anchors.resolve(name, span)?;
        let section = match place {
            Place::Step(step) => return Ok(Spanned::new(Destination::Step(step), span)),
            Place::Section(section) => section,
        };
        match self.anchors.sections.get(section.at()) {
            Some((SectionKind::Contingency, ..)) => Ok(Spanned::new(Destination::Contingency(section), span)),
            Some((SectionKind::Ordinary, _, Some(first))) => Ok(Spanned::new(Destination::Step(*first), span)),
            Some((SectionKind::OnCall, title, _)) => {
                let message = format!("`{}` is only performed; nobody comes back from a step left for it", title.of(self.text));
                wrong(message, at, "an on-call section", "use `perform`, or mark the section {.contingency}")
            }
            _ => wrong(format!("the section `#{name}` has no step to go to"), at, "no steps here", "link to a step"),
        }
    }

    /// What a `perform` does.
    pub(super) fn callee(&mut self, step: &tree::Step) -> Result<Spanned<Callee>, Problem> {
        let link = self.only_link(step)?;
        let span = link.target.span;
        match &link.target.value {
            Target::Anchor(name) => match self.anchors.resolve(name, span)? {
                (at, Place::Step(_)) => Err(Box::new(
                    WRONG_LINK
                        .at(span, format!("`#{name}` is a step; `perform` does a whole section"))
                        .label(at, "a step")
                        .help("give the section's heading an anchor and link to that, or use `go to`"),
                )),
                (at, Place::Section(section)) => match self.anchors.sections.get(section.at()) {
                    Some((SectionKind::Contingency, title, _)) => Err(Box::new(
                        PERFORMED_CONTINGENCY
                            .at(span, format!("`{}` is a contingency; nobody comes back from it", title.of(self.text)))
                            .label(at, "a contingency")
                            .help("use `go to`, or put the steps both need in a section marked {.on-call}"),
                    )),
                    _ => Ok(Spanned::new(Callee::Section(section), span)),
                },
            },
            Target::File { path, anchor: Some(anchor) } => Err(Box::new(
                WRONG_LINK
                    .at(span, format!("`{path}#{anchor}` is a part of another procedure; only a whole one can be performed"))
                    .help("link to the file, or copy the section here"),
            )),
            Target::File { path, anchor: None } => {
                let Some(procedure) = (self.callee)(path, span) else {
                    let message = format!("`{}` could not be read as a procedure", path.escape_debug());
                    return Err(Box::new(UNKNOWN_PROCEDURE.at(span, message).help("the path is relative to this file")));
                };
                let Lowering { names, .. } = self;
                let differs = [
                    ("arm", names.arm.name.span, procedure.arm.name.span),
                    ("cell", names.cell.name.span, procedure.cell.name.span),
                    ("policy", names.policy.site.span, procedure.policy.site.span),
                ];
                match differs.into_iter().find(|(_, here, there)| here.file != there.file) {
                    None => Ok(Spanned::new(Callee::Procedure(procedure), span)),
                    Some((what, here, there)) => Err(Box::new(
                        OTHER_MODELS
                            .at(span, format!("`{path}` is written for another {what} than this procedure"))
                            .label(here, format!("the {what} here"))
                            .label(there, format!("the {what} there")),
                    )),
                }
            }
        }
    }
}

/// Breaks every `perform` that closes a circle, so that nothing later can go round for ever.
pub(super) fn break_cycles(text: &str, sections: &[Section], steps: &mut [Step], found: &mut Vec<Diagnostic>) {
    let mut calls: Vec<Vec<(usize, StepId)>> = vec![Vec::new(); sections.len()];
    for step in steps.iter() {
        if let Kind::Perform(Spanned { value: Callee::Section(to), .. }) = step.kind
            && let Some(list) = calls.get_mut(step.section.at())
        {
            list.push((to.at(), step.id));
        }
    }
    if calls.iter().all(Vec::is_empty) {
        return;
    }
    for (circle, id) in circles(&calls) {
        let titles: Vec<&str> = circle.iter().chain(circle.first()).map(|s| sections[*s].title.span.of(text)).collect();
        if let Some(step) = steps.get_mut(id.at())
            && let Kind::Perform(callee) = &step.kind
        {
            let message = format!("this section comes to perform itself: {}", titles.join(" → "));
            let first = circle.first().map_or(step.span, |s| sections[*s].span);
            found.push(
                PERFORM_CYCLE
                    .at(callee.span, message)
                    .mark("closes the circle")
                    .label(first, "performed again here")
                    .help("write the steps out where they are wanted, or use `repeat at most N until`")
                    .step(&step.number),
            );
            step.kind = Kind::Broken;
            step.broken = true;
        }
    }
}
