//! Patterns in plain steps and observations: one action each, active, with an end, without reasons.

use super::grammar::Expect;
use super::reading::Kind as Token;
use super::verbs::is_participle;
use super::{Check, Look, Place, Spot};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::policy::VerbClass;
use crate::writing::rule;

/// Two actions in one step.
pub static CHAINED_ACTIONS: Rule = rule(
    "chained-actions",
    Family::Prose,
    Severity::Warning,
    "a plain step joins two actions",
    "A step has one mark. After an interruption in the middle of it nobody can tell which half was done.",
    Evidence::Read("MIL-STD-2106A App. B: one complete action or observation per step; NUREG-0899, by a digest: no chained actions"),
    (
        &[Example::steps("1. Open VAL3 ⟦and close⟧ VAL4.\n"), Example::steps("1. Unlock drawer 3⟦; take⟧ the key out.\n")],
        &[
            Example::steps("1. Open VAL3.\n2. Close VAL4.\n"),
            Example::steps("1. Check hold and release lamps are lit.\n2. Record the pressure and lift height.\n"),
        ],
    ),
);
/// Two hands at once.
pub static SIMULTANEOUS_ACTIONS: Rule = rule(
    "simultaneous-actions",
    Family::Prose,
    Severity::Warning,
    "a plain step asks for two actions at the same time",
    "Two motions at once are checked only where the notation says so, with `together`. In words nobody says who does which.",
    Evidence::Read("HF good-practice note B 3: simultaneous actions are declared, with who does each"),
    (&[Example::steps("1. Pull the lever ⟦while turning⟧ the wheel.\n")], &[Example::steps("1. Open VAL3 while watching gauge P2.\n")]),
);
/// A passive.
pub static PASSIVE_STEP: Rule = rule(
    "passive-step",
    Family::Prose,
    Severity::Advice,
    "a plain step is in the passive, or says what can or needs to be done",
    "\"Gloves are changed at the door\" can be read as a description of what others do. An order cannot.",
    Evidence::Read("a research-backed writers' guide, action steps G4: active voice; HF good-practice note A 1a"),
    (&[Example::steps("1. Gloves ⟦are changed⟧ at door 2.\n")], &[Example::steps("1. Change the gloves at door 2.\n")]),
);
/// A verb that is not listed, or none.
pub static UNLISTED_VERB: Rule = rule(
    "unlisted-verb",
    Family::Prose,
    Severity::Warning,
    "a plain step does not open with a listed verb, and the site wants listed ones only",
    "One verb for one kind of action is what crews know by heart. A new word is either a mistake or belongs into the site's list.",
    Evidence::Read("MIL-STD-2106A App. B: a step opens with its verb; a list of verbs is practice"),
    // It takes another policy to show; the tests of rules have its example.
    (&[], &[]),
);
/// Raise, without how far.
pub static AMOUNT_UNSTATED: Rule = rule(
    "amount-unstated",
    Family::Prose,
    Severity::Warning,
    "a plain step raises, lowers or adjusts something and does not say how far",
    "Where the end is not written every crew finds its own.",
    Evidence::Digest("DOE-STD-1029-92, list of verbs: raise, lower and adjust take a value or an end"),
    (&[Example::steps("1. ⟦Increase⟧ the flow.\n")], &[Example::steps("1. Increase the flow until lamp L4 is lit.\n")]),
);
/// The reason.
pub static REASON_IN_STEP: Rule = rule(
    "reason-in-step",
    Family::Prose,
    Severity::Advice,
    "a plain step explains itself",
    "The reason is read while the hands wait. A `Why:` line keeps it for the training edition.",
    Evidence::Read("MIL-STD-2106A 4.4.1a: no theory in the steps"),
    (&[Example::steps("1. Close the drain ⟦because⟧ cup 2 drips.\n")], &[Example::steps("1. Close the drain.\n   - Why: cup 2 drips.\n")]),
);
/// A reference out of the page.
pub static SENT_ELSEWHERE: Rule = rule(
    "sent-elsewhere",
    Family::Prose,
    Severity::Warning,
    "a plain step sends its performer to another document",
    "The other document is not at the console, may have another revision, and nothing in it is checked with this one. A procedure beside this one is performed with `perform`.",
    Evidence::Read("MIL-STD-2106A 5.2.9.1 and DOE-EM-STD-5505-96 6.16.5: the steps stand in the procedure itself"),
    (&[Example::steps("1. Fill tank 2 ⟦in accordance with⟧ B3-002.\n")], &[Example::steps("1. Take form B3-014 from the drawer.\n")]),
);
/// An article, where the site leaves them out.
pub static ARTICLE_IN_STEP: Rule = rule(
    "article-in-step",
    Family::Prose,
    Severity::Warning,
    "a step has an article, and the site's steps stand without",
    "Published guides disagree on articles. A site picks one way, so that a page reads alike from top to bottom.",
    Evidence::Read("MIL-STD-2106A 4.4.1f leaves articles out; ASD-STE100 2.x, in an old edition, keeps them"),
    // It takes another policy to show; the tests of rules have its example.
    (&[], &[]),
);
/// Look, without for what.
pub static CHECK_WITHOUT_CRITERION: Rule = rule(
    "check-without-criterion",
    Family::Prose,
    Severity::Warning,
    "something is to be checked, and it is not said what must be so",
    "\"Verify clearance\" is passed by everybody. What is to be seen, and its state or value, makes two people answer alike.",
    Evidence::Read("10 CFR 50 App. B V: important activities have acceptance criteria"),
    (
        &[Example::steps("1. ⟦Verify the seal of the port⟧.\n"), Example::steps("1. `check` ⟦Clearance of the hose⟧.\n")],
        &[Example::steps("1. Verify the seal of the port is whole.\n2. `check` The hose is dry, seen in window 2.\n")],
    ),
);
/// An act inside an observation.
pub static ACTION_IN_CHECK: Rule = rule(
    "action-in-check",
    Family::Prose,
    Severity::Warning,
    "a `check` orders an action",
    "A check compares and changes nothing. An action inside one is not expected by whoever signs beside it.",
    Evidence::Read("DOE-STD-1029-92, p. 64: a check compares, without manipulation"),
    (
        &[Example::steps("1. `check` ⟦Open⟧ the hatch.\n")],
        &[Example::steps("1. Open the hatch.\n2. `check` The hatch is open, seen in window 2.\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[
    &CHAINED_ACTIONS,
    &SIMULTANEOUS_ACTIONS,
    &ACTION_IN_CHECK,
    &CHECK_WITHOUT_CRITERION,
    &AMOUNT_UNSTATED,
    &PASSIVE_STEP,
    &SENT_ELSEWHERE,
    &ARTICLE_IN_STEP,
    &REASON_IN_STEP,
    &UNLISTED_VERB,
];

pub(super) const CHECKS: &[Check] =
    &[chained, simultaneous, action_in_check, criterion, amount, passive, elsewhere, article, reason, unlisted];

fn is_step(spot: &Spot<'_, '_>) -> bool {
    spot.place == Place::Step
}

fn chained(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !is_step(spot) || s.phrase(&["one", "of", "the", "following"]).is_some() {
        return None;
    }
    // Behind IF ... THEN the action begins.
    let from = if s.at(0).any(&["if", "when"]) { s.find(1, &["then"])? + 1 } else { s.opening(Expect::Order)?.0 };
    let (joiner, verb, _) = s.joined_order(from)?;
    let message = format!("`{}` begins a second action", s.at(verb).text);
    Some(CHAINED_ACTIONS.at(spot.span(joiner, verb), message).help("make it a step of its own, with its own number and mark"))
}

fn simultaneous(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let first = s.opening(Expect::Order).filter(|_| is_step(spot))?;
    let acts = |i: usize| {
        let verb = s.verbs.order(s.at(i).text).or_else(|| s.verbs.ing(s.at(i).text));
        verb.filter(|v| v.class == VerbClass::Manipulate).map(|_| i)
    };
    let (from, verb) = if let Some(i) = s.find(first.0, &["simultaneously"]) {
        (i, acts(i + 1)?)
    } else if let Some(i) = s.phrase(&["at", "the", "same", "time"]) {
        (i, acts(i + 4)?)
    } else {
        let i = s.find(first.0, &["while"])?;
        let at = if s.at(i + 1).any(&["you"]) { i + 2 } else { i + 1 };
        let ordered = s.at(i + 1).is("you") || s.verbs.ing(s.at(at).text).is_some();
        (i, acts(at).filter(|_| ordered)?)
    };
    if first.1.class != VerbClass::Manipulate {
        return None;
    }
    let problem = SIMULTANEOUS_ACTIONS.at(spot.span(from, verb), "two actions are to be done at the same time");
    Some(problem.help("use `together:` for two joints; for two people say who does which, one step each"))
}

fn action_in_check(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let (at, verb) = spot.sentence.opening(Expect::Statement).filter(|_| spot.place == Place::Check)?;
    let word = spot.sentence.at(at).text;
    (verb.class == VerbClass::Manipulate).then(|| {
        ACTION_IN_CHECK
            .at(spot.span(at, at), format!("`{word}` orders an action inside a check"))
            .help("make the action a step before, and let the check say what is then to be seen")
    })
}

/// Words that say how a thing is.
const SAYS_HOW: &[&str] = &[
    "that", "for", "with", "against", "if", "whether", "open", "closed", "shut", "lit", "out", "off", "on", "empty", "free", "clear",
    "whole", "dry", "level", "upright", "locked", "below", "above", "between", "no", "not", "within", "clean", "full", "how", "which",
    "what", "where",
];

fn criterion(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let from = match spot.place {
        Place::Step if spot.alone && s.at(s.head()).any(&["verify", "check", "confirm", "inspect", "ensure"]) => s.head() + 1,
        Place::Check if spot.alone && s.opening(Expect::Statement).is_none() => 0,
        _ => return None,
    };
    let says = |i: usize| {
        let t = s.at(i);
        let words = t.any(SAYS_HOW) || s.verbs.finite(t.text) || is_participle(t.text) || s.verbs.third_person(t.text);
        words && !t.is_capitals() || t.kind == Token::Number && unit_behind(spot, i)
    };
    if (from..s.tokens.len()).any(says) {
        return None;
    }
    let problem = CHECK_WITHOUT_CRITERION.at(spot.whole(), "nothing says what must be so");
    Some(problem.help("say what is to be seen and its state or value: `the seal of the port is whole`"))
}

fn unit_behind(spot: &Spot<'_, '_>, i: usize) -> bool {
    crate::writing::orders::unit_at(spot, i + 1)
}

fn amount(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let head = s.head();
    let verbs = ["raise", "lower", "increase", "decrease", "reduce", "adjust", "throttle"];
    if !is_step(spot) || !s.at(head).any(&verbs) || s.stated(head) {
        return None;
    }
    let ends = [
        "to",
        "until",
        "by",
        "onto",
        "into",
        "below",
        "above",
        "fully",
        "through",
        "over",
        "at",
        "on",
        "off",
        "between",
        "within",
        "till",
        "completely",
        "half",
        "so",
    ];
    let number = s.tokens.iter().any(|t| t.kind == Token::Number);
    let question = s.find(head, &["alarm", "question", "voice", "hand"]).is_some();
    (!number && !question && s.find(head, &ends).is_none()).then(|| {
        AMOUNT_UNSTATED
            .at(spot.span(head, head), format!("`{}` does not say how far", s.at(head).text))
            .help("add the value, the mark or stop, or `until` and what is then seen")
    })
}

fn passive(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !is_step(spot) || s.opening(Expect::Order).is_some() || s.at(0).any(&["if", "when", "do", "never"]) {
        return None;
    }
    let be = ["is", "are", "was", "were", "be", "been", "being", "get", "gets"];
    let by = |i: &usize| {
        let skip = usize::from(s.at(i + 1).text.ends_with("ly"));
        s.at(*i).any(&be) && is_participle(s.at(i + 1 + skip).text)
    };
    let be_at = (1..s.clause_end(0).min(s.tokens.len())).find(by)?;
    let skip = usize::from(s.at(be_at + 1).text.ends_with("ly"));
    let modal = (1..be_at).find(|i| s.at(*i).any(&["can", "may", "needs", "need", "have", "has", "are", "is"]));
    let problem =
        PASSIVE_STEP.at(spot.span(modal.unwrap_or(be_at), be_at + 1 + skip), "this step describes an action and does not order it");
    Some(problem.help("open with the verb, in the form of an order"))
}

const DOCUMENTS: &[&str] =
    &["manual", "procedure", "instruction", "instructions", "section", "table", "chapter", "page", "appendix", "drawing", "standard"];

fn elsewhere(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !is_step(spot) {
        return None;
    }
    let document = |i: usize| (i..i + 3).any(|n| s.at(n).any(DOCUMENTS)) || is_number_of_document(s.at(i).text);
    let phrase =
        |words: &[&str], check: bool| s.phrase(words).filter(|i| !check || document(i + words.len())).map(|i| (i, i + words.len() - 1));
    let found = phrase(&["in", "accordance", "with"], false)
        .or_else(|| phrase(&["according", "to"], false))
        .or_else(|| phrase(&["refer", "to"], false))
        .or_else(|| phrase(&["as", "described", "in"], false))
        .or_else(|| phrase(&["follow", "the", "instructions"], false))
        .or_else(|| phrase(&["see"], true))
        .or_else(|| phrase(&["per"], true));
    let (from, to) = found?;
    let problem = SENT_ELSEWHERE.at(spot.span(from, to), "what is to be done stands in another document");
    Some(problem.help("write the steps here, or `perform` a procedure of this project; elsewhere name number, title and section"))
}

/// "B3-002", "WI-44": capitals and digits with a dash between.
pub(super) fn is_number_of_document(word: &str) -> bool {
    let parts = word.split_once('-');
    parts.is_some_and(|(a, b)| a.starts_with(|c: char| c.is_ascii_uppercase()) && b.bytes().all(|b| b.is_ascii_digit()) && b.len() > 1)
}

fn article(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !is_step(spot) || !look.policy.writing.omit_articles {
        return None;
    }
    let observes = s.opening(Expect::Order).is_some_and(|(_, v)| v.class == VerbClass::Observe);
    let at = (0..s.tokens.len()).find(|i| s.at(*i).any(&["the", "a", "an"]) && !s.at(*i).is_id() || observes && s.at(*i).is("that"))?;
    let message = format!("`{}` stands in a step, and steps of this site do without", s.at(at).text);
    Some(ARTICLE_IN_STEP.at(spot.span(at, at), message).help("leave it out"))
}

fn reason(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !is_step(spot) {
        return None;
    }
    let since = || {
        let i = s.find(1, &["since"])?;
        let clause = s.at(i + 1).any(&["it", "they", "this", "the"]) && !s.at(i + 2).any(&["last", "first"]);
        (clause && s.stated(i)).then_some((i, i))
    };
    let phrase = |words: &[&str]| s.phrase(words).filter(|i| *i > 0).map(|i| (i, i + words.len() - 1));
    let (from, to) = phrase(&["because"])
        .or_else(|| phrase(&["in", "order", "to"]))
        .or_else(|| phrase(&["so", "that"]))
        .or_else(|| phrase(&["due", "to"]))
        .or_else(|| phrase(&["owing", "to"]))
        .or_else(|| phrase(&["to", "prevent"]))
        .or_else(|| phrase(&["to", "avoid"]))
        .or_else(since)?;
    Some(REASON_IN_STEP.at(spot.span(from, to), "here the step begins to explain itself").help("move the reason to a `Why:` line"))
}

fn unlisted(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let head = s.head();
    let word = s.at(head);
    if !look.policy.writing.listed_only || !is_step(spot) || !spot.first || word.kind != Token::Word || passive(look, spot).is_some() {
        return None;
    }
    let post = s.tokens.iter().take(5).any(|t| t.text == ":");
    if post || word.any(&["if", "when", "do", "never", "avoid", "be"]) || s.verbs.order(word.text).is_some() {
        return None;
    }
    let message = format!("`{}` is no verb that is known here", word.text);
    Some(UNLISTED_VERB.at(spot.span(head, head), message).help("use a verb of the list, or add it to `[writing.verbs]` in the policy"))
}
