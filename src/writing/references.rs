//! Where steps lead: jumps, calls and contingencies, each reached and each with a way on.

use super::jumps::Jumps;
use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::StepId;
use crate::model::circles::circles;
use crate::model::procedure::{Callee, Destination, Kind, LineForm, SectionKind, Step};
use crate::text::Span;

/// A jump that is not the last step of its branch.
pub static GO_TO_NOT_LAST: Rule = rule(
    "go-to-not-last",
    Family::Flow,
    Severity::Error,
    "steps stand behind a `go to` that are never done",
    "A jump leaves for good. Steps after it in the same list are read, printed and never performed; one of them may be the one that was needed.",
    Evidence::Definition,
    (
        &[Example::steps(
            "1. `if` The lamp is lit, seen in window 2.\n   - then\n     1. ⟦`go to`⟧ [the end](#end)\n     2. `read joints`\n   - otherwise: go on\n2. `turnover`\n3. `turnover` {#end}\n",
        )],
        &[Example::steps(
            "1. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `read joints`\n     2. `go to` [the end](#end)\n   - otherwise: go on\n2. `turnover`\n3. `turnover` {#end}\n",
        )],
    ),
);
/// A jump back.
pub static BACKWARD_GO_TO: Rule = rule(
    "backward-go-to",
    Family::Flow,
    Severity::Error,
    "a step leads back to itself or to an earlier one",
    "A loop made of jumps has no bound, and nobody counts its rounds. Going back is what `repeat at most N until` is for.",
    Evidence::Definition,
    (
        &[Example::steps(
            "1. `turnover` {#start}\n2. `if` The lamp is dark, seen in window 2.\n   - then\n     1. `go to` [the start](⟦#start⟧)\n   - otherwise: go on\n",
        )],
        &[Example::steps(
            "1. `if` The lamp is dark, seen in window 2.\n   - then\n     1. `go to` [the end](#end)\n   - otherwise: go on\n2. `turnover`\n3. `turnover` {#end}\n",
        )],
    ),
);
/// A jump into an arm, a body or another section's middle.
pub static GO_TO_INTO_BRANCH: Rule = rule(
    "go-to-into-branch",
    Family::Flow,
    Severity::Error,
    "a step leads into the middle of a branch, a repeat or a section of another kind",
    "Inside a branch its condition was judged, inside a repeat its passes are counted, inside a contingency its start is known. Who jumps in has none of it.",
    Evidence::Definition,
    (
        &[Example::steps(
            "1. `read joints`\n   - If not: [inside](⟦#inside⟧)\n2. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `turnover` {#inside}\n   - otherwise: go on\n",
        )],
        &[Example::steps(
            "1. `read joints`\n   - If not: [behind](#behind)\n2. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `turnover`\n   - otherwise: go on\n3. `turnover` {#behind}\n",
        )],
    ),
);
/// A path past a hold point.
pub static HOLD_BYPASSED: Rule = rule(
    "hold-bypassed",
    Family::Flow,
    Severity::Error,
    "a path leads past a hold point",
    "Nothing goes beyond a hold point until it is cleared. A jump over it, or a contingency that comes back behind it, goes beyond it.",
    Evidence::Read("10 CFR 50 App. B XIV: inadvertent bypassing of required inspections is prevented"),
    (
        &[
            Example::steps(
                "1. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `go to` [the end](⟦#end⟧)\n   - otherwise: go on\n2. `hold point: Shift lead`\n   - Must be true: the lamp is lit.\n3. `turnover` {#end}\n",
            ),
            Example::steps(
                "1. `read joints`\n   - If not: [back out](#out)\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree.\n3. `turnover` {#end}\n\n# Back out {.contingency #out}\n\n1. `expect pose home`\n2. `go to` [the end](⟦#end⟧)\n",
            ),
            Example::steps(
                "1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree.\n   - If not: [the end](⟦#end⟧)\n3. `turnover` {#end}\n",
            ),
            Example::steps(
                "1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree.\n   - If not: [back out](#out)\n3. `turnover` {#end}\n\n# Back out {.contingency #out}\n\n1. `expect pose home`\n2. `go to` [the end](⟦#end⟧)\n",
            ),
            Example::steps(
                "1. `perform` [the part](#part)\n   - If not: [the end](⟦#end⟧)\n2. `turnover` {#end}\n\n# Part {.on-call #part}\n\n1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree.\n",
            ),
            Example::steps(
                "1. `perform` [the part](#part)\n2. `turnover` {#end}\n\n# Part {.on-call #part}\n\n1. `read joints`\n   - If not: [back out](#out)\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree.\n\n# Back out {.contingency #out}\n\n1. `expect pose home`\n2. `go to` [the end](⟦#end⟧)\n",
            ),
        ],
        &[
            Example::steps(
                "1. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `go to` [the hold](#hold)\n   - otherwise: go on\n2. `turnover`\n3. `hold point: Shift lead` {#hold}\n   - Must be true: the lamp is lit.\n",
            ),
            Example::steps(
                "1. `perform` [the part](#part)\n2. `turnover` {#end}\n\n# Part {.on-call #part}\n\n1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree.\n3. `read joints`\n   - If not: [back out](#out)\n\n# Back out {.contingency #out}\n\n1. `expect pose home`\n2. `go to` [the end](#end)\n",
            ),
        ],
    ),
);
/// A contingency that nothing names.
pub static UNUSED_CONTINGENCY: Rule = rule(
    "unused-contingency",
    Family::Reference,
    Severity::Warning,
    "no step names this contingency",
    "A way out that no step names is never taken; usually the link that should name it is missing.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. `read joints`\n\n⟦# Back out {.contingency #out}⟧\n\n1. `expect pose home`\n")],
        &[Example::steps("1. `read joints`\n   - If not: [back out](#out)\n\n# Back out {.contingency #out}\n\n1. `expect pose home`\n")],
    ),
);
/// An on-call section that nothing performs.
pub static UNUSED_ON_CALL: Rule = rule(
    "unused-on-call",
    Family::Reference,
    Severity::Warning,
    "no step performs this section",
    "A section marked {.on-call} is printed only where it is performed. One that nothing performs is in no print at all.",
    Evidence::Definition,
    (
        &[Example::steps("1. `read joints`\n\n⟦# Look round {.on-call #look}⟧\n\n1. `read joints`\n")],
        &[Example::steps("1. `perform` [look round](#look)\n\n# Look round {.on-call #look}\n\n1. `read joints`\n")],
    ),
);
/// Contingencies that lead to each other for ever.
pub static CONTINGENCY_CIRCLE: Rule = rule(
    "contingency-circle",
    Family::Flow,
    Severity::Error,
    "contingencies lead into each other without an end",
    "A way out that leads back into itself has no safe end, and no count of how often it was tried.",
    Evidence::CommonPractice,
    (
        &[Example::steps(
            "1. `read joints`\n   - If not: [back out](#out)\n\n# Back out {.contingency #out}\n\n1. `read joints`\n   - If not: [back out](⟦#out⟧)\n2. `expect pose home`\n",
        )],
        &[Example::steps(
            "1. `read joints`\n   - If not: [back out](#out)\n\n# Back out {.contingency #out}\n\n1. `read joints`\n   - If not: hold and tell Shift lead\n2. `expect pose home`\n",
        )],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] =
    &[&GO_TO_NOT_LAST, &BACKWARD_GO_TO, &GO_TO_INTO_BRANCH, &HOLD_BYPASSED, &UNUSED_CONTINGENCY, &UNUSED_ON_CALL, &CONTINGENCY_CIRCLE];

/// Every place where a step leads elsewhere: with the step, the link, and where to.
pub(super) fn leads(step: &Step) -> impl Iterator<Item = (Destination, Span)> + '_ {
    let own = match &step.kind {
        Kind::GoTo(destination) => Some((destination.value, destination.span)),
        _ => None,
    };
    let lines = step.lines.iter().filter_map(|l| match &l.form {
        LineForm::Contingency(section) => Some((Destination::Contingency(section.value), section.span)),
        LineForm::Step(step) => Some((Destination::Step(step.value), step.span)),
        _ => None,
    });
    own.into_iter().chain(lines)
}

pub(super) fn check(found: &mut Found<'_>) {
    let procedure = found.procedure;
    // A link that could not be followed may be the one that names a section.
    let broken = procedure.steps.iter().any(|s| s.broken || s.lines.iter().any(|l| matches!(l.form, LineForm::Broken)));
    let mut reached = vec![broken; procedure.sections.len()];
    let mut jumps = false;
    let mut circles_possible = vec![Vec::new(); procedure.sections.len()];
    for step in &procedure.steps {
        if let Kind::Perform(callee) = &step.kind
            && let Callee::Section(section) = callee.value
        {
            reached[section.at()] = true;
        }
        for (destination, _) in leads(step) {
            match destination {
                Destination::Step(_) => jumps = true,
                Destination::Contingency(section) => {
                    reached[section.at()] = true;
                    circles_possible[step.section.at()].push((section.at(), step.id));
                }
            }
        }
        if let Kind::GoTo(destination) = &step.kind {
            not_last(found, step, destination.value);
        }
    }
    for (section, reached) in procedure.sections.iter().zip(&reached) {
        let title = section.title.span.of(found.text);
        match section.kind {
            SectionKind::Contingency if !reached => {
                let problem = UNUSED_CONTINGENCY.at(section.span, format!("no step leads to `{title}`"));
                found.push(problem.help("link to it from the `If not:` or `Stop if:` line of the steps it is for"));
            }
            SectionKind::OnCall if !reached => {
                let problem = UNUSED_ON_CALL.at(section.span, format!("no step performs `{title}`"));
                found.push(problem.help("perform it where it is wanted, or take {.on-call} away if it is done in order"));
            }
            _ => {}
        }
    }
    for (circle, id) in circles(&circles_possible) {
        let step = procedure.step(id);
        let Some(first) = circle.first() else { continue };
        let at =
            leads(step).find(|(d, _)| matches!(d, Destination::Contingency(s) if s.at() == *first)).map_or(step.head, |(_, span)| span);
        let titles: Vec<&str> = circle.iter().chain([first]).map(|s| procedure.sections[*s].title.span.of(found.text)).collect();
        let problem = CONTINGENCY_CIRCLE.at(at, format!("this way out leads back into itself: {}", titles.join(" → ")));
        found.at_step(
            step,
            problem.label(procedure.sections[*first].span, "entered again here").help("end it with `hold and tell`, or in a safe pose"),
        );
    }
    if jumps {
        Jumps::of(procedure).check(found);
    }
}

/// Steps behind a jump that nothing reaches.
fn not_last(found: &mut Found<'_>, step: &Step, destination: Destination) {
    let procedure = found.procedure;
    let list: &[StepId] = match step.parent.map(|p| &procedure.step(p).kind) {
        Some(Kind::If { arms }) => arms.iter().map(|a| a.steps.as_slice()).find(|s| s.contains(&step.id)).unwrap_or(&[]),
        Some(Kind::Repeat { body, .. }) => body,
        // What it stands in is broken, and so is the list.
        Some(_) => return,
        None => {
            let section = procedure.section(step.section);
            let next = super::top(section).find(|id| id.at() > step.id.at());
            // In an ordinary section the next section would follow; a jump in the open leaves out all up to its target.
            let skipped = match (next, section.kind, destination) {
                (Some(next), _, Destination::Step(target)) if next == target => None,
                (None, SectionKind::Ordinary, Destination::Step(target)) => {
                    procedure.steps.iter().find(|s| s.id > step.id && is_ordinary(found, s)).filter(|s| s.id < target).map(|s| s.id)
                }
                (next, ..) => next,
            };
            return never_done(found, step, skipped);
        }
    };
    let next = list.iter().position(|id| *id == step.id).and_then(|i| list.get(i + 1)).copied();
    never_done(found, step, next);
}

fn is_ordinary(found: &Found<'_>, step: &Step) -> bool {
    found.procedure.section(step.section).kind == SectionKind::Ordinary
}

fn never_done(found: &mut Found<'_>, step: &Step, next: Option<StepId>) {
    if let Some(next) = next.map(|id| found.step(id)) {
        let problem = GO_TO_NOT_LAST.at(step.head, format!("step {} behind it is never done", next.number)).label(next.head, "never done");
        found.at_step(step, problem.help("put the `go to` last in its branch"));
    }
}
