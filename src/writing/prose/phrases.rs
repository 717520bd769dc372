//! Patterns in single words: vague, too long, with an exception, with two negations, by another name.

use super::grammar::Expect;
use super::reading::Kind as Token;
use super::{Check, Look, Place, Spot};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::policy::VerbClass;
use crate::writing::rule;

/// A condition behind its action, in lower case.
pub static LATE_CONDITION: Rule = rule(
    "late-condition",
    Family::Prose,
    Severity::Advice,
    "\"if\" or \"when\" stands behind the action it decides on",
    "Who reads \"stop the pump\" stops the pump, and reads afterwards when.",
    Evidence::Read("a research-backed writers' guide, action steps G2: the condition stands before the action"),
    (
        &[Example::steps("1. Stop pump P1 ⟦when⟧ tank 2 is empty.\n")],
        &[Example::steps("1. Check if the lamp is lit.\n2. Tell the reader when the lamp is lit.\n")],
    ),
);
/// Vague.
pub static VAGUE_WORD: Rule = rule(
    "vague-word",
    Family::Prose,
    Severity::Warning,
    "a step or an observation uses a word that everybody reads in their own way",
    "How slow is slowly, and what is adequate? Two crews do two things, and both followed the procedure.",
    Evidence::Read("MIL-STD-2106A 4.4.1: no vague and ambiguous words; NUREG-0899, by a digest"),
    (&[Example::steps("1. Tighten screw S4 ⟦properly⟧.\n")], &[Example::steps("1. Tighten screw S4 by half a turn.\n")]),
);
/// All but.
pub static EXCEPTION_IN_STEP: Rule = rule(
    "exception-in-step",
    Family::Prose,
    Severity::Warning,
    "a step or a condition says what is left out",
    "\"All except\" makes the performer work out the rest. Naming each thing leaves nothing to work out.",
    Evidence::Read("a research-backed writers' guide, action steps G1: positive wording; an audit sheet: no double negatives"),
    (&[Example::steps("1. Open all valves ⟦except⟧ VAL1 and VAL2.\n")], &[Example::steps("1. Open valve VAL3.\n")]),
);
/// Two negations.
pub static DOUBLE_NEGATIVE: Rule = rule(
    "double-negative",
    Family::Prose,
    Severity::Warning,
    "a step or an observation negates twice",
    "\"Not unlocked\" takes a moment too long, and half of those in a hurry get it wrong.",
    Evidence::Read("an audit sheet in the manner of HSG48: no double negatives"),
    (
        &[Example::steps("1. `check` The door is ⟦not unlatched⟧, seen in window 2.\n")],
        &[Example::steps("1. `check` The door is latched, seen in window 2.\n2. `check` The union nut is not loose, seen in window 2.\n")],
    ),
);
/// Nothing to be seen.
pub static UNOBSERVABLE_CONDITION: Rule = rule(
    "unobservable-condition",
    Family::Prose,
    Severity::Advice,
    "a condition does not say where it is seen, read or heard",
    "A branch is taken on what is observed. \"The cup is in order\" is decided by whoever is in a hurry.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. `if` ⟦The cup is in order⟧.\n   - then\n     1. `read joints`\n   - otherwise: go on\n")],
        &[Example::steps("1. `if` The cup leans, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n")],
    ),
);
/// Too long.
pub static LONG_SENTENCE: Rule = rule(
    "long-sentence",
    Family::Prose,
    Severity::Warning,
    "a sentence is longer than the policy allows",
    "A sentence is called aloud and repeated back in one breath.",
    Evidence::Read("ASD-STE100 5.1: at most 20 words in a sentence; MIL-DTL-81927C: 20 on average"),
    (
        &[Example::steps(
            "1. ⟦Take the long brush with the blue handle from the third hook on the left wall of gallery 2 behind the black door⟧.\n",
        )],
        &[Example::steps("1. Take the long brush with the blue handle from hook 3.\n")],
    ),
);
/// Another name.
pub static OTHER_NAME: Rule = rule(
    "other-name",
    Family::Prose,
    Severity::Warning,
    "a thing is called by a name that the site does not use",
    "One thing with two names becomes two things for whoever did not write the page.",
    Evidence::Read("MIL-STD-2106A 4.4.1e: one term for a thing"),
    (&[Example::steps("1. Put the ⟦pot⟧ on rack R2.\n")], &[Example::steps("1. Put the cup on rack R2.\n2. Read label POT 4 aloud.\n")]),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] =
    &[&LATE_CONDITION, &OTHER_NAME, &EXCEPTION_IN_STEP, &DOUBLE_NEGATIVE, &VAGUE_WORD, &UNOBSERVABLE_CONDITION, &LONG_SENTENCE];

pub(super) const CHECKS: &[Check] = &[late_condition, other_name, exception, negative, vague, unobservable, long];

/// Where somebody acts, looks or decides by these words.
fn decides(spot: &Spot<'_, '_>) -> bool {
    matches!(spot.place, Place::Step | Place::Check | Place::Proof | Place::Condition)
}

fn late_condition(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let (head, verb) = s.opening(Expect::Order).filter(|_| spot.place == Place::Step)?;
    let asks = matches!(verb.class, VerbClass::Observe | VerbClass::Record | VerbClass::Communicate);
    if asks && !s.at(head).any(&["call", "write"]) || s.at(head).any(&["repeat", "wait"]) {
        return None;
    }
    let noun = |i: usize| s.at(i + 1).any(&["the", "a", "an", "lamp", "both", "all", "it"]) || s.at(i + 1).is_id();
    let late = |i: &usize| {
        let t = s.at(*i);
        let word = matches!(t.text, "if" | "whenever") || t.text == "when" && !s.at(head).is("write") || t.text == "once" && noun(*i);
        let vague = s.at(i + 1).any(&["necessary", "required", "needed", "possible", "so"]);
        word && !vague && !s.at(i - 1).any(&["even", "as", "time"])
    };
    let at = (head + 2..s.tokens.len()).find(late)?;
    let message = format!("what stands behind `{}` is read after the action", s.at(at).text);
    Some(LATE_CONDITION.at(spot.span(at, at), message).help("write it as an `if` statement, or put the condition in a step before"))
}

const VAGUE: &[&str] = &[
    "slowly",
    "quickly",
    "rapidly",
    "carefully",
    "cautiously",
    "gently",
    "properly",
    "correctly",
    "adequate",
    "adequately",
    "sufficient",
    "sufficiently",
    "suitable",
    "suitably",
    "appropriate",
    "appropriately",
    "approximately",
    "roughly",
    "frequently",
    "periodically",
    "regularly",
    "occasionally",
    "normally",
    "reasonable",
    "reasonably",
    "excessive",
    "excessively",
    "minimal",
    "etc",
    "promptly",
    "thoroughly",
    "securely",
    "satisfactorily",
    "slightly",
    "somewhat",
    "acceptable",
    "immediately",
];
const VAGUE_PHRASES: &[&[&str]] = &[
    &["as", "necessary"],
    &["as", "required"],
    &["as", "needed"],
    &["if", "necessary"],
    &["if", "required"],
    &["if", "needed"],
    &["where", "necessary"],
    &["as", "soon", "as", "possible"],
    &["as", "appropriate"],
    &["and", "so", "on"],
    &["as", "applicable"],
    &["if", "possible"],
];

fn vague(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !decides(spot) {
        return None;
    }
    let word = (0..s.tokens.len()).find(|i| s.at(*i).any(VAGUE) && !s.at(*i).is_capitals()).map(|i| (i, i));
    let phrase = || VAGUE_PHRASES.iter().find_map(|p| s.phrase(p).map(|i| (i, i + p.len() - 1)));
    let (from, to) = word.or_else(phrase)?;
    let said = (from..=to).map(|i| s.at(i).text).collect::<Vec<_>>().join(" ");
    let problem = VAGUE_WORD.at(spot.span(from, to), format!("`{said}` is read by everybody in their own way"));
    Some(problem.help("write the value, the state or the cue that is meant, or take the word out"))
}

fn exception(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !decides(spot) {
        return None;
    }
    let whole = |i: usize| (i.saturating_sub(4)..i).any(|n| s.at(n).any(&["all", "every", "everything", "each"]));
    let phrase = |words: &[&str]| s.phrase(words).map(|i| (i, i + words.len() - 1));
    let word = (0..s.tokens.len()).find(|i| {
        let t = s.at(*i);
        t.any(&["except", "excepting", "excluding", "unless"]) || t.any(&["but", "save"]) && *i > 0 && whole(*i)
    });
    let (from, to) = word
        .map(|i| (i, i))
        .or_else(|| phrase(&["other", "than"]))
        .or_else(|| phrase(&["apart", "from"]))
        .or_else(|| phrase(&["with", "the", "exception", "of"]))?;
    let problem = EXCEPTION_IN_STEP.at(spot.span(from, to), "this says what is left out, and not what is meant");
    Some(problem.help("name each thing that is meant, or write the condition as an `if`"))
}

fn negative(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !decides(spot) {
        return None;
    }
    let reversed = |i: usize| {
        let word = s.at(i).text.to_ascii_lowercase();
        let undone = word.strip_prefix("un").is_some_and(|rest| s.verbs.ed(rest).is_some() || rest == "done" || rest == "seated");
        undone || word == "without" || word == "out" && s.at(i - 1).is("not")
    };
    let nots = ["not", "no", "never", "cannot", "nothing"];
    for i in 0..s.tokens.len() {
        if s.at(i).any(&nots) {
            let second = (i + 1..(i + 5).min(s.tokens.len())).find(|n| reversed(*n) || s.at(*n).is("not"));
            if let Some(second) = second.filter(|n| *n < s.clause_end(i)) {
                let problem = DOUBLE_NEGATIVE.at(spot.span(i, second), "two negations make a riddle");
                return Some(problem.help("say how it must be: locked, seated, lit"));
            }
        }
    }
    None
}

/// Words by which a condition says where it is observed.
const OBSERVED: &[&str] = &[
    "seen",
    "heard",
    "read",
    "reads",
    "reading",
    "shows",
    "show",
    "read-out",
    "read-outs",
    "lit",
    "lamp",
    "lamps",
    "light",
    "monitor",
    "window",
    "camera",
    "gauge",
    "needle",
    "counter",
    "display",
    "tone",
    "step",
    "said",
    "says",
    "felt",
    "indicator",
    "scale",
    "label",
];

fn unobservable(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if spot.place != Place::Condition || !spot.alone || s.find(0, OBSERVED).is_some() {
        return None;
    }
    let problem = UNOBSERVABLE_CONDITION.at(spot.whole(), "nothing says where this is seen, read or heard");
    Some(problem.help("name the state or value and where it is observed: `The cup leans, seen in window 2.`"))
}

fn long(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let (words, most) = (spot.sentence.words(), look.policy.writing.most_words as usize);
    (words > most).then(|| {
        LONG_SENTENCE
            .at(spot.whole(), format!("this sentence has {words} words; {most} can be called and repeated back"))
            .number("words", words)
            .help("say it in two sentences, or in two steps")
    })
}

fn other_name(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    for term in &look.policy.writing.terms {
        for wrong in &term.not {
            let words: Vec<&str> = wrong.value.split_ascii_whitespace().collect();
            let last = words.len().checked_sub(1)?;
            let is = |i: usize| {
                let word = |n: usize| {
                    let t = s.at(i + n);
                    t.is(words[n]) || n == last && t.text.strip_suffix('s').is_some_and(|t| t.eq_ignore_ascii_case(words[n]))
                };
                (0..words.len()).all(|n| word(n) && s.at(i + n).kind == Token::Word && !s.at(i + n).is_capitals())
            };
            if let Some(at) = (0..s.tokens.len()).find(|i| is(*i)) {
                let message = format!("this site says `{}` and not `{}`", term.name.value, wrong.value);
                let problem = OTHER_NAME.at(spot.span(at, at + last), message).label(wrong.span, "not to be used");
                return Some(problem.help(format!("write `{}`", term.name.value)));
            }
        }
    }
    None
}
