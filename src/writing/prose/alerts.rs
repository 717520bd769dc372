//! Patterns in alerts, notes and the words outside of steps: no hidden action, no look-up, plain, with the right word.

use super::grammar::Expect;
use super::reading::Kind as Token;
use super::steps::is_number_of_document;
use super::{Check, Look, Place, Spot};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::AlertKind;
use crate::writing::orders::unit_at;
use crate::writing::rule;

/// An order in an alert or a note.
pub static ACTION_IN_ALERT: Rule = rule(
    "action-in-alert",
    Family::Prose,
    Severity::Warning,
    "an alert or a note asks for an action",
    "An alert has no number and no mark. What it asks for is done by some and not by others, and nobody can see which.",
    Evidence::Read("MIL-DTL-23618H 3.1.5.3c, and NUREG-0899 by a digest: no action in an alert; ASD-STE100 5.5: a note informs"),
    (
        &[
            Example::steps(
                "> [!WARNING]\n> Hazard: before lifting, ⟦set⟧ speed to LOW.\n> Consequence: the load swings.\n\n1. `read joints`\n",
            ),
            Example::steps("> [!NOTE]\n> Operators ⟦need to obtain⟧ a permit.\n\n1. `read joints`\n"),
        ],
        &[Example::steps(
            "> [!WARNING]\n> Hazard: lift of the lid exposes the source.\n> Consequence: people take a dose.\n> Avoid: stay behind the red line.\n\n1. `read joints`\n",
        )],
    ),
);
/// An order outside of the steps.
pub static ACTION_OUTSIDE_STEPS: Rule = rule(
    "action-outside-steps",
    Family::Prose,
    Severity::Warning,
    "words outside of the steps ask for an action",
    "What has no number is not called, not marked and not done. Precautions say what is so; what is to be done is a step.",
    Evidence::Digest("DOE-STD-1029-92: precautions and limitations hold no action"),
    (
        &[Example::steps("⟦Remove⟧ the key from panel 3.\n\n1. `read joints`\n")],
        &[Example::steps("Anyone may call the stop word.\n\n1. Remove the key from panel 3.\n")],
    ),
);
/// A value that only a note gives.
pub static VALUE_IN_NOTE: Rule = rule(
    "value-in-note",
    Family::Prose,
    Severity::Warning,
    "a note gives a value or a tolerance",
    "Notes are skipped by those who know the job. A value that matters stands in the step that needs it.",
    Evidence::Read("MIL-DTL-87268D 3.2.2.3: tolerances and clearances are not given in notes"),
    (
        &[Example::steps("> [!NOTE]\n> The gap at the rim is ⟦12 mm⟧.\n\n1. `read joints`\n")],
        &[Example::steps("> [!NOTE]\n> The gap at the rim is narrow.\n\n1. `check` The gap is between 10 and 14 mm, seen in window 2.\n")],
    ),
);
/// A look-up.
pub static LOOK_UP_IN_ALERT: Rule = rule(
    "look-up-in-alert",
    Family::Prose,
    Severity::Warning,
    "an alert sends its reader elsewhere",
    "Nobody leafs through another document with a load in the jaw. What an alert has to say it says itself.",
    Evidence::Read("MIL-DTL-87268D 3.2.2.2: an alert needs no look-up elsewhere"),
    (
        &[Example::steps(
            "> [!CAUTION]\n> Hazard: hot parts, ⟦refer to⟧ manual M-12.\n> Consequence: the pads melt.\n\n1. `read joints`\n",
        )],
        &[Example::steps("> [!CAUTION]\n> Hazard: the plate is hot.\n> Consequence: the pads melt.\n\n1. `read joints`\n")],
    ),
);
/// Injury under CAUTION.
pub static INJURY_UNDER_CAUTION: Rule = rule(
    "injury-under-caution",
    Family::Prose,
    Severity::Advice,
    "a CAUTION speaks of injury, which the site's scheme keeps for WARNING",
    "The word is read first and decides how the rest is read. A hurt person under the word for equipment is taken for a scratch.",
    Evidence::Read("MIL-DTL-23618H 3.1.5.3e: CAUTION is for equipment; other published schemes differ, and the policy says which holds"),
    (
        &[Example::steps(
            "> [!CAUTION]\n> Hazard: a ⟦person⟧ under the boom is crushed.\n> Consequence: the boom bends.\n\n1. `read joints`\n",
        )],
        &[Example::steps("> [!WARNING]\n> Hazard: a person under the boom is crushed.\n> Consequence: death.\n\n1. `read joints`\n")],
    ),
);
/// Shouting.
pub static LOUD_ALERT: Rule = rule(
    "loud-alert",
    Family::Prose,
    Severity::Advice,
    "an alert shouts",
    "The signal word says how grave it is. Exclamation marks and capitals on top are soon read past.",
    Evidence::Read("MIL-DTL-87268D 3.2.2.2: alerts are plain and not exaggerated"),
    (
        &[Example::steps("> [!WARNING]\n> Hazard: the lid can fall⟦!⟧\n> Consequence: crushed hands.\n\n1. `read joints`\n")],
        &[Example::steps("> [!WARNING]\n> Hazard: the lid can fall.\n> Consequence: crushed hands.\n\n1. `read joints`\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] =
    &[&ACTION_IN_ALERT, &ACTION_OUTSIDE_STEPS, &INJURY_UNDER_CAUTION, &VALUE_IN_NOTE, &LOOK_UP_IN_ALERT, &LOUD_ALERT];

pub(super) const CHECKS: &[Check] = &[action, injury, value, look_up, loud];

/// What the site may let an alert say: what to keep from, and what to keep to.
const AVOIDS: &[&str] = &["do", "never", "keep", "stay", "avoid", "not", "don't"];

fn action(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let alert = matches!(spot.place, Place::Alert(_));
    if !alert && spot.place != Place::Prose {
        return None;
    }
    let avoids = s.at(s.head()).any(AVOIDS) && (!alert || look.policy.alerts.avoid_allowed);
    let urged = || {
        let i = s.phrase(&["make", "sure"]).or_else(|| s.phrase(&["be", "sure"])).or_else(|| s.phrase(&["remember", "to"]))?;
        Some((i, i + 1))
    };
    let verb = |(at, _)| (at, at);
    let comma = || {
        // "Stand back and call the shift lead."
        let (_, at, _) = s.joined_order(0).filter(|_| s.verbs.order(s.at(0).text).is_some() && !s.stated(0))?;
        Some((at, at))
    };
    let opening = s.opening(Expect::Statement).map(verb).filter(|_| !avoids);
    let (from, to) =
        opening.or_else(|| s.behind_opener().map(verb)).or_else(urged).or_else(|| s.demand()).or_else(|| comma().filter(|_| !avoids))?;
    let what = s.at(to).text;
    Some(if alert {
        ACTION_IN_ALERT
            .at(spot.span(from, to), format!("`{what}` asks for an action, and an alert has no number and no mark"))
            .help("make the action a step before; let the alert say what threatens and what it would do")
    } else {
        ACTION_OUTSIDE_STEPS
            .at(spot.span(from, to), format!("`{what}` asks for an action outside of the steps"))
            .help("make it a step, with its number and its mark")
    })
}

fn value(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if spot.place != Place::Alert(AlertKind::Note) {
        return None;
    }
    let at = (0..s.tokens.len()).find(|i| s.at(*i).kind == Token::Number && unit_at(spot, i + 1))?;
    let problem = VALUE_IN_NOTE.at(spot.span(at, at + 1), "a value that is only in a note is missed by those who skip notes");
    Some(problem.help("give it in the step that needs it: a band, a `check`, a `read`"))
}

const DOCUMENTS: &[&str] =
    &["table", "section", "page", "manual", "sheet", "figure", "legend", "appendix", "chapter", "procedure", "drawing", "list"];

fn look_up(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !matches!(spot.place, Place::Alert(_)) {
        return None;
    }
    let document = |i: usize| (i..i + 4).any(|n| s.at(n).any(DOCUMENTS) || is_number_of_document(s.at(n).text));
    let phrase = |words: &[&str]| s.phrase(words).filter(|i| document(i + words.len())).map(|i| (i, i + words.len() - 1));
    let (from, to) = phrase(&["see"])
        .or_else(|| phrase(&["refer", "to"]))
        .or_else(|| phrase(&["refers", "to"]))
        .or_else(|| phrase(&["given", "in"]))
        .or_else(|| phrase(&["described", "in"]))
        .or_else(|| phrase(&["listed", "in"]))
        .or_else(|| phrase(&["according", "to"]))
        .or_else(|| phrase(&["in", "accordance", "with"]))?;
    Some(LOOK_UP_IN_ALERT.at(spot.span(from, to), "this alert is whole only with another document").help("say here what is to be known"))
}

fn injury(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if spot.place != Place::Alert(AlertKind::Caution) || look.injury_in_caution {
        return None;
    }
    let strong = ["injury", "injuries", "injures", "injured", "hurt", "hurts", "death", "fatal", "kills", "killed"];
    let body = [
        "person",
        "persons",
        "people",
        "operator",
        "operators",
        "crew",
        "hand",
        "hands",
        "finger",
        "fingers",
        "eye",
        "eyes",
        "skin",
        "head",
        "arm's",
        "somebody",
    ];
    let harms = [
        "burn", "burns", "burned", "crushed", "crushes", "crush", "pinched", "pinches", "cut", "cuts", "harm", "harms", "exposes",
        "exposed", "dose", "scalds", "scalded", "struck", "trapped",
    ];
    let part = || {
        let i = s.find(0, &body)?;
        (s.find(0, &harms).is_some() && !s.at(i + 1).is("wheel") && !s.at(i + 1).is("lever")).then_some(i)
    };
    let at = s.find(0, &strong).or_else(part)?;
    let problem = INJURY_UNDER_CAUTION.at(spot.span(at, at), "this CAUTION speaks of harm to people").help("write `> [!WARNING]`");
    Some(problem.label(look.policy.alerts.span, "what the words mean at this site"))
}

fn loud(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !matches!(spot.place, Place::Alert(_)) {
        return None;
    }
    let mark = s.tokens.iter().position(|t| t.text == "!");
    let words = s.tokens.iter().filter(|t| t.kind == Token::Word).count();
    let shouted = words > 3 && s.tokens.iter().filter(|t| t.kind == Token::Word).all(|t| t.is_capitals() || t.text == "A");
    let grave = s.find(0, &["extremely", "horribly", "terribly"]);
    let (from, to) = match (mark.or(grave), shouted) {
        (Some(at), _) => (at, at),
        (None, true) => (0, s.tokens.len() - 1),
        (None, false) => return None,
    };
    Some(LOUD_ALERT.at(spot.span(from, to), "the signal word already says how grave this is").help("say it plainly"))
}
