//! Loops, waits and guarded moves: each with an end, and an answer where the cue does not come.

use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::StepId;
use crate::model::procedure::{Goal, Kind, Label, Step, Time, Transfer};
use crate::text::Spanned;

/// A `repeat` that does not repeat, or without an end in sight.
pub static REPEAT_COUNT: Rule = rule(
    "repeat-count",
    Family::Flow,
    Severity::Error,
    "a repeat of one pass, or of more than 1000",
    "A repeat of one pass is a plain list; one of thousands has no end anyone will wait for.",
    Evidence::Definition,
    (
        &[Example::steps(
            "1. `repeat at most ⟦1⟧ until` the cup stands still, seen in window 2.\n   1. `read joints`\n   - If not: hold and tell Shift lead\n",
        )],
        &[Example::steps(
            "1. `repeat at most 3 until` the cup stands still, seen in window 2.\n   1. `read joints`\n   - If not: hold and tell Shift lead\n",
        )],
    ),
);
/// No answer where a bounded wait for something can fail.
pub static MISSING_IF_NOT: Rule = rule(
    "missing-if-not",
    Family::Flow,
    Severity::Error,
    "a guarded move, taps or a repeat do not say what to do when the cue does not come",
    "The limit reached without contact, the last tap, the last pass: the operator stands there with the arm out and must know what is next.",
    Evidence::CommonPractice,
    (
        &[Example::steps(
            "1. `power on arm`\n2. ⟦`shoulder lower until contact, not past -11 deg`⟧\n   - Touching allowed: jaw and cradle\n",
        )],
        &[Example::steps(
            "1. `power on arm`\n2. `shoulder lower until contact, not past -11 deg`\n   - Touching allowed: jaw and cradle\n   - If not: hold and tell Shift lead\n",
        )],
    ),
);
/// A wait whose bounds exclude each other.
pub static IMPOSSIBLE_WAIT: Rule = rule(
    "impossible-wait",
    Family::Flow,
    Severity::Error,
    "a wait is to last at least longer than at most",
    "No time is both. One of the two numbers, or its unit, is wrong.",
    Evidence::Definition,
    (&[Example::steps("1. `wait at least 3 min, at most ⟦2 min⟧`\n")], &[Example::steps("1. `wait at least 30 s, at most 2 min`\n")]),
);
/// A wait without an upper bound.
pub static OPEN_WAIT: Rule = rule(
    "open-wait",
    Family::Flow,
    Severity::Warning,
    "a wait has no upper bound",
    "The arm drifts and the grip warms while nobody moves. A wait says when it has become too long.",
    Evidence::CommonPractice,
    (&[Example::steps("1. ⟦`wait at least 30 s`⟧\n")], &[Example::steps("1. `wait at least 30 s, at most 2 min`\n")]),
);
/// Steps nested too deep.
pub static DEEP_STEP: Rule = rule(
    "deep-step",
    Family::Document,
    Severity::Error,
    "a step stands more than four levels deep",
    "A number such as 9.2A.1B.3 is not found again on a page, nor said over a telephone.",
    Evidence::Digest("MIL-STD-38784C 4.7.11.5.3: at most four levels"),
    (
        &[Example::steps(
            "1. `repeat at most 2 until` the lamp lights, seen in window 2.\n   1. `repeat at most 2 until` the lamp lights, seen in window 2.\n      1. `repeat at most 2 until` the lamp lights, seen in window 2.\n         1. `repeat at most 2 until` the lamp lights, seen in window 2.\n            1. ⟦`read joints`⟧\n            - If not: hold and tell Shift lead\n         - If not: hold and tell Shift lead\n      - If not: hold and tell Shift lead\n   - If not: hold and tell Shift lead\n",
        )],
        &[Example::steps(
            "1. `repeat at most 2 until` the lamp lights, seen in window 2.\n   1. `repeat at most 2 until` the lamp lights, seen in window 2.\n      1. `read joints`\n      - If not: hold and tell Shift lead\n   - If not: hold and tell Shift lead\n",
        )],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&REPEAT_COUNT, &MISSING_IF_NOT, &IMPOSSIBLE_WAIT, &OPEN_WAIT, &DEEP_STEP];

/// Most passes of a repeat.
const MOST_PASSES: u32 = 1000;

pub(super) fn check(found: &mut Found<'_>, step: &Step) {
    if let Some(parent) = step.parent {
        depth(found, step, parent);
    }
    match &step.kind {
        Kind::Repeat { at_most, .. } => {
            passes(found, step, *at_most);
            if_not(found, step, &format!("the cue has not come after {} passes", at_most.value));
        }
        Kind::Move(drive) | Kind::Lift(Transfer { drive, .. }) | Kind::Lower(Transfer { drive, .. }) => match &drive.goal {
            Goal::Until { not_past, .. } => if_not(found, step, &format!("{} is reached without the cue", not_past.value.show())),
            Goal::Taps { at_most, .. } => {
                if_not(found, step, &format!("contact does not come within {} taps or lies outside the band", at_most.value));
            }
            _ => {}
        },
        Kind::Wait { at_least, at_most } => wait(found, step, *at_least, *at_most),
        _ => {}
    }
}

fn wait(found: &mut Found<'_>, step: &Step, at_least: Spanned<Time>, at_most: Option<Spanned<Time>>) {
    let least = at_least.span.of(found.text);
    match at_most {
        None => {
            let problem = OPEN_WAIT.at(step.head, format!("this waits at least {least}, and nothing says when that is too long"));
            found.at_step(step, problem.help(format!("write `wait at least {least}, at most ...`")));
        }
        Some(most) if most.value < at_least.value => {
            let problem = IMPOSSIBLE_WAIT.at(most.span, format!("no wait lasts at least {least} and at most {}", most.span.of(found.text)));
            found.at_step(step, problem.label(at_least.span, "at least this").help("mend the number or the unit that is wrong"));
        }
        Some(_) => {}
    }
}

fn depth(found: &mut Found<'_>, step: &Step, parent: StepId) {
    let mut levels = 2;
    let mut outer = found.step(parent);
    while let Some(next) = outer.parent {
        levels += 1;
        outer = found.step(next);
    }
    // The first level that is too deep is told; what stands inside it is deep for the same reason.
    if levels == 5 {
        let problem = DEEP_STEP.at(step.head, format!("step {} stands {levels} levels deep; at most 4 can be followed", step.number));
        found.at_step(step, problem.help("put the inner steps in a section marked {.on-call} and perform it"));
    }
}

fn passes(found: &mut Found<'_>, step: &Step, at_most: Spanned<u32>) {
    let message = match at_most.value {
        n @ 0..2 => format!("a repeat of at most {n} does not repeat"),
        n if n > MOST_PASSES => format!("{n} passes are more than anyone will make; the most is {MOST_PASSES}"),
        _ => return,
    };
    found.at_step(step, REPEAT_COUNT.at(at_most.span, message).help("write the number of passes after which somebody is told"));
}

fn if_not(found: &mut Found<'_>, step: &Step, case: &str) {
    if step.line(Label::IfNot).is_none() {
        let problem = MISSING_IF_NOT.at(step.head, format!("nothing says what to do if {case}"));
        found.at_step(step, problem.help("write `- If not: [title](#contingency)` or `- If not: hold and tell ROLE`"));
    }
}
