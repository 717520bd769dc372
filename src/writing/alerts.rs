//! Warnings, cautions and notes: before the step, complete and in order.

use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Alert, AlertKind, Item, Section, Text};
use crate::text::Span;

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

/// Something to do or to fill in.
pub static ALERT_HOLDS_STEP: Rule = rule(
    "alert-holds-step",
    Family::Alert,
    Severity::Error,
    "an alert holds a link to follow, or a blank to fill in",
    "An alert has no number and no mark. Taken out, it must leave a whole procedure behind: what is to be done or filled in is a step.",
    Evidence::Read("MIL-DTL-23618H 3.1.5.3c: alerts hold no action; without its alerts a procedure is still whole"),
    (
        &[
            Example::steps("> [!NOTE]\n> Go on at ⟦[the end](#end)⟧.\n\n1. `read joints`\n2. `turnover` {#end}\n"),
            Example::steps("> [!NOTE]\n> Time of the reading: ⟦____⟧\n\n1. `read joints`\n"),
        ],
        &[Example::steps("> [!NOTE]\n> The pump is loud.\n\n1. `read joints`\n2. `record pressure bar`\n")],
    ),
);
/// An alert given again and again.
pub static REPEATED_ALERT: Rule = rule(
    "repeated-alert",
    Family::Alert,
    Severity::Advice,
    "the same alert stands three times or more",
    "What is read at every third step is not read any more. A general hazard is said once, where it begins.",
    Evidence::Digest("S1000D, warning element: a general alert may precede; repeated ones are raised to the parent"),
    (
        &[Example::steps(concat!(
            "> [!NOTE]\n> The pump is loud.\n\n1. `read joints`\n\n> [!NOTE]\n> The pump is loud.\n\n2. `turnover`\n\n",
            "⟦> [!NOTE]\n> The pump is loud.⟧\n\n3. `read joints`\n"
        ))],
        &[Example::steps("> [!NOTE]\n> The pump is loud.\n\n1. `read joints`\n\n> [!NOTE]\n> The pump is loud.\n\n2. `turnover`\n")],
    ),
);
/// One hazard in two alerts.
pub static SPLIT_ALERT: Rule = rule(
    "split-alert",
    Family::Alert,
    Severity::Advice,
    "two alerts before one step threaten the same",
    "Two boxes with one consequence are read as one thing said twice. One box names both sources.",
    Evidence::Read("MIL-DTL-87268D 3.2.3: one alert may cover one hazard from several sources"),
    (
        &[Example::steps(concat!(
            "> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.\n\n",
            "⟦> [!WARNING]\n> Hazard: the hose is hot.\n> Consequence: burns.⟧\n\n1. `read joints`\n"
        ))],
        &[Example::steps("> [!WARNING]\n> Hazard: flask and hose are hot.\n> Consequence: burns.\n\n1. `read joints`\n")],
    ),
);
/// Said in front already.
pub static ALERT_SAID_IN_FRONT: Rule = rule(
    "alert-said-in-front",
    Family::Alert,
    Severity::Warning,
    "words before the first step repeat an alert of a step",
    "A hazard read on page 1 is forgotten at step 40, and one read at both places looks as if the second were not meant. General hazards stand in front, those of a step before it.",
    Evidence::Read("MIL-STD-38784A 4.5.2: general hazards once in front, not a list of the alerts of steps"),
    (
        &[Example::steps(
            "⟦The flask is hot. The hose is long.⟧\n\n> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.\n\n1. `read joints`\n",
        )],
        &[Example::steps("The hose is long.\n\n> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.\n\n1. `read joints`\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[
    &LATE_ALERT,
    &INCOMPLETE_ALERT,
    &AVOID_NOT_ALLOWED,
    &ALERT_ORDER,
    &ALERT_HOLDS_STEP,
    &REPEATED_ALERT,
    &SPLIT_ALERT,
    &ALERT_SAID_IN_FRONT,
];

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
                if let Some(other) = before.filter(|b| b.kind == alert.kind && same(found, &b.consequence, &alert.consequence)) {
                    let problem = SPLIT_ALERT.at(alert.span, "this threatens the same as the alert before it");
                    found.push(problem.label(other.span, "the other").help("name both sources in one alert"));
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
    holds_step(found, alert);
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

/// Words evened out for comparing: lower case, single blanks, no full stop.
fn plain(found: &Found<'_>, text: &Text) -> String {
    let words = text.span.of(found.text).to_ascii_lowercase();
    words
        .split(|c: char| c.is_whitespace() || c == '>')
        .filter(|w| !w.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
        .trim_end_matches('.')
        .to_string()
}

fn same(found: &Found<'_>, a: &Option<Text>, b: &Option<Text>) -> bool {
    matches!((a, b), (Some(a), Some(b)) if plain(found, a) == plain(found, b))
}

fn texts(alert: &Alert) -> impl Iterator<Item = &Text> {
    alert.hazard.iter().chain(&alert.consequence).chain(&alert.avoid).chain(&alert.words)
}

fn holds_step(found: &mut Found<'_>, alert: &Alert) {
    let word = alert.kind.word();
    for text in texts(alert) {
        let raw = text.span.of(found.text);
        let blank = raw.find("___").or_else(|| raw.find("[ ]"));
        let span = match (text.links.first(), blank) {
            (Some(link), _) => link.span,
            (None, Some(at)) => {
                let length = raw[at..].find(|c| !"_[ ]".contains(c)).unwrap_or(raw.len() - at);
                let start = text.span.start as usize + at;
                Span::new(text.span.file, start, start + raw[at..at + length].trim_end().len())
            }
            (None, None) => continue,
        };
        let problem = ALERT_HOLDS_STEP.at(span, format!("this {word} asks its reader to go somewhere or to fill something in"));
        found.push(problem.help("make it a step: `go to`, `perform`, `record`, `read`"));
    }
}

/// What only shows over the whole procedure: alerts that come again, or that the front says already.
pub(super) fn check_all(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let mut seen: Vec<(String, Vec<&Alert>)> = Vec::new();
    let mut front: Vec<(&Text, String)> = Vec::new();
    let mut begun = false;
    for item in procedure.sections.iter().flat_map(|s| &s.items) {
        match item {
            Item::Step(_) => begun = true,
            Item::Prose(text, _) if !begun => front.push((text, plain(found, text))),
            Item::Prose(..) => {}
            Item::Alert(alert) => {
                let Some(first) = texts(alert).next() else { continue };
                let words = plain(found, first);
                match seen.iter_mut().find(|(w, _)| *w == words) {
                    Some((_, all)) => all.push(alert),
                    None => seen.push((words, vec![alert])),
                }
            }
        }
    }
    for (words, all) in &seen {
        if let [first, _, third, ..] = all.as_slice() {
            let problem = REPEATED_ALERT.at(third.span, format!("this stands {} times in the procedure", all.len()));
            found.push(
                problem
                    .label(first.span, "the first")
                    .help("say it once before the first of these steps, or in the words before the steps"),
            );
        }
        let said = |(_, front): &&(&Text, String)| words.split(' ').count() > 3 && front.contains(words.as_str());
        if let (Some((text, _)), Some(first)) = (front.iter().find(said), all.first()) {
            let problem = ALERT_SAID_IN_FRONT.at(text.span, "an alert of a step says this again");
            found.push(problem.label(first.span, "the alert").help("keep it at the step, where it is needed"));
        }
    }
}
