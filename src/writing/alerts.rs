//! Warnings, cautions and notes: before the step, complete and in order.

use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Alert, AlertKind, Item, Section, Text};

/// An alert after the last step.
pub static LATE_ALERT: Rule = rule(
    "late-alert",
    Family::Alert,
    Severity::Error,
    "an alert stands where no step follows it",
    "An alert read after its step comes too late. It stands before the step it guards, and nowhere else.",
    Evidence::Read("MIL-DTL-87268D 3.2.2.4a: alerts precede the step they apply to"),
    (
        &[Example::steps("1. `read joints`\n\n⟦> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.⟧\n")],
        &[Example::steps("> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.\n\n1. `read joints`\n")],
    ),
);
/// An alert without what happens, or without words.
pub static INCOMPLETE_ALERT: Rule = rule(
    "incomplete-alert",
    Family::Alert,
    Severity::Error,
    "a warning or caution does not say the hazard and its consequence, or a note says nothing",
    "Who reads an alert must know what threatens and what it would do. Without either it is noise, and noise is skipped.",
    Evidence::Read("MIL-DTL-87268D 3.2.2.2: nature of the hazard and consequence"),
    (
        &[Example::steps("⟦> [!CAUTION]\n> Hazard: the hose is near the bench.⟧\n\n1. `read joints`\n")],
        &[Example::steps("> [!CAUTION]\n> Hazard: the hose is near the bench.\n> Consequence: a torn hose.\n\n1. `read joints`\n")],
    ),
);
/// An avoidance that the site does not allow. It takes another policy to show, so `tests/lower.rs` has its example.
pub static AVOID_NOT_ALLOWED: Rule = rule(
    "avoid-not-allowed",
    Family::Alert,
    Severity::Error,
    "an alert says how to avoid the hazard, which the site's scheme keeps out of alerts",
    "Published practices differ on avoidance inside alerts; a site picks one and keeps to it, so that operators know where actions stand.",
    Evidence::Read("MIL-DTL-23618H 3.1.5.3c keeps actions out of alerts; MIL-DTL-87268D 3.2.2.2 lets them say how to avoid the hazard"),
    (&[], &[]),
);
/// Alerts in another order than their weight.
pub static ALERT_ORDER: Rule = rule(
    "alert-order",
    Family::Alert,
    Severity::Error,
    "the alerts before a step are not in the order WARNING, CAUTION, NOTE",
    "The gravest word comes first, so that it is read even if the rest is not.",
    Evidence::Read("MIL-DTL-23618H 3.1.5.3d: warnings, then cautions, then notes"),
    (
        &[Example::steps(
            "> [!NOTE]\n> The pump is loud.\n\n⟦> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.⟧\n\n1. `read joints`\n",
        )],
        &[Example::steps(
            "> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.\n\n> [!NOTE]\n> The pump is loud.\n\n1. `read joints`\n",
        )],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&LATE_ALERT, &INCOMPLETE_ALERT, &AVOID_NOT_ALLOWED, &ALERT_ORDER];

pub(super) fn check(found: &mut Found<'_>, section: &Section) {
    let mut before: Option<&Alert> = None;
    for item in &section.items {
        match item {
            Item::Step(_) => before = None,
            Item::Prose(..) => {}
            Item::Alert(alert) => {
                one(found, alert);
                if let Some(graver) = before.filter(|b| b.kind > alert.kind) {
                    let message = format!("{} stands after {}; the order is WARNING, CAUTION, NOTE", alert.kind.word(), graver.kind.word());
                    found.push(ALERT_ORDER.at(alert.span, message).label(graver.span, "stands before it"));
                }
                before = Some(alert);
            }
        }
    }
}

fn one(found: &mut Found<'_>, alert: &Alert) {
    let word = alert.kind.word();
    if alert.guards.is_none() {
        let problem = LATE_ALERT.at(alert.span, format!("no step of this section follows this {word}"));
        found.push(problem.help("put it before the step it guards"));
        return;
    }
    let text = found.text;
    let says = |t: &Option<Text>| t.as_ref().is_some_and(|t| !t.span.of(text).trim().is_empty());
    let missing = match (alert.kind, says(&alert.hazard), says(&alert.consequence)) {
        (AlertKind::Note, ..) => (alert.words.is_empty() && !says(&alert.hazard) && !says(&alert.consequence)).then_some("nothing"),
        (_, true, true) => None,
        (_, false, true) => Some("no hazard"),
        (_, true, false) => Some("no consequence"),
        (_, false, false) => Some("neither a hazard nor a consequence"),
    };
    if let Some(missing) = missing {
        let problem = INCOMPLETE_ALERT.at(alert.span, format!("this {word} says {missing}"));
        found.push(match alert.kind {
            AlertKind::Note => problem.help("write what is to be known, or take the note out"),
            _ => problem.help("write a line `Hazard: ...` and a line `Consequence: ...`"),
        });
    }
    let scheme = &found.procedure.policy.alerts;
    if let Some(avoid) = &alert.avoid
        && !scheme.avoid_allowed
    {
        let message = format!("the site keeps avoidance out of alerts; this {word} has an `Avoid:` line");
        let problem = AVOID_NOT_ALLOWED.at(avoid.span, message).label(scheme.span, "the alert scheme");
        found.push(problem.help("make it a step before, if it is something to do"));
    }
}
