//! Patterns in values: lamps, units, sums, decimals.

use super::reading::Kind as Token;
use super::{Check, Look, Place, Spot};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::writing::orders::unit_at;
use crate::writing::rule;

/// A lamp that is on.
pub static LAMP_STATE: Rule = rule(
    "lamp-state",
    Family::Prose,
    Severity::Warning,
    "a lamp is said to be on or off",
    "\"On\" can be said of the switch, of the pump and of the lamp. A lamp is lit or out.",
    Evidence::Read("MIL-STD-2106A App. B c: an indicator is lit or out"),
    (
        &[Example::steps("1. `check` The lamp PUMP ⟦is on⟧, seen in window 2.\n")],
        &[Example::steps("1. `check` The lamp PUMP is lit, seen in window 2.\n")],
    ),
);
/// A number of nothing.
pub static NUMBER_WITHOUT_UNIT: Rule = rule(
    "number-without-unit",
    Family::Prose,
    Severity::Advice,
    "a value in plain words has no unit",
    "A bare number is degrees to one reader and millimetres to the next.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. Raise blind B2 to ⟦30⟧.\n")],
        &[Example::steps("1. Raise blind B2 to 30 cm.\n2. Turn switch S2 to position 3.\n")],
    ),
);
/// Two units, or a sum.
pub static TWO_UNITS: Rule = rule(
    "two-units",
    Family::Prose,
    Severity::Warning,
    "a value stands in two units, or the performer is to work one out",
    "Whoever converts or adds at the console errs one time in a hundred. The number on the page is the one on the read-out.",
    Evidence::CommonPractice,
    (
        &[
            Example::steps("1. Leave a gap of ⟦50 mm (2 in⟧) to the wall.\n"),
            Example::steps("1. ⟦Calculate⟧ the difference of both gauges.\n"),
        ],
        &[Example::steps("1. Leave a gap of 50 mm to the wall.\n")],
    ),
);
/// A point at the edge of a number.
pub static NUMBER_FORM: Rule = rule(
    "number-form",
    Family::Prose,
    Severity::Advice,
    "a number begins or ends with its point",
    "The point before or behind a number is the first thing to be lost on a copy: .5 becomes 5, 40. becomes 400 with a speck.",
    Evidence::CommonPractice,
    (&[Example::steps("1. Leave a gap of ⟦.5⟧ mm to the rail.\n")], &[Example::steps("1. Leave a gap of 0.5 mm to the rail.\n")]),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&NUMBER_WITHOUT_UNIT, &TWO_UNITS, &LAMP_STATE, &NUMBER_FORM];

pub(super) const CHECKS: &[Check] = &[without_unit, two_units, lamp, form];

fn states(spot: &Spot<'_, '_>) -> bool {
    matches!(spot.place, Place::Step | Place::Check | Place::Proof | Place::Condition)
}

fn lamp(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let lamps = ["lamp", "lamps", "light", "lights", "indicator", "indicators", "led"];
    if !states(spot) {
        return None;
    }
    for i in 0..s.tokens.len() {
        if !s.at(i).any(&lamps) {
            continue;
        }
        // The name of the lamp may stand between.
        let be = (i + 1..i + 4).find(|n| s.at(*n).any(&["is", "are"]));
        let named = |n: usize| (i + 1..n).all(|k| s.at(k).is_capitals() || s.at(k).is_id());
        let ends = |n: usize| s.at(n).kind == Token::Mark || s.at(n).any(&["and", "or"]);
        if let Some(be) = be.filter(|n| named(*n) && s.at(n + 1).any(&["on", "off"]) && ends(n + 2)) {
            let word = if s.at(be + 1).is("on") { "lit" } else { "out" };
            let message = format!("a lamp is lit or out, not `{}`", s.at(be + 1).text);
            return Some(LAMP_STATE.at(spot.span(be, be + 1), message).help(format!("write `{} {word}`", s.at(be).text)));
        }
    }
    None
}

/// Things that have numbers and no units.
const COUNTED: &[&str] = &[
    "switch", "selector", "position", "level", "page", "channel", "step", "counter", "window", "camera", "monitor", "window", "mark",
    "hook", "peg", "port", "cup", "drawer", "bag", "code", "key", "number", "label", "log", "table", "section", "rack", "panel", "grip",
    "mode", "lamp", "setting", "stop", "call", "count",
];

fn without_unit(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    // "the switch", but not "the blind of the switch".
    let counted = |i: usize| {
        let of = (i.saturating_sub(2)..i).any(|n| s.at(n).any(&["of", "on", "in", "at", "from"]));
        s.at(i).any(COUNTED) && !of
    };
    if !states(spot) || (0..s.tokens.len()).any(counted) {
        return None;
    }
    let before = ["to", "shows", "reads", "below", "above", "exceeds", "than", "and", "under", "over"];
    let ends =
        |i: usize| s.at(i).kind == Token::Mark && s.at(i).text != "%" && s.at(i).text != "\u{b0}" || s.at(i).any(&["and", "or", "then"]);
    let ranged = |i: usize| s.at(i).is("and") && (i.saturating_sub(2)..i).any(|n| s.at(n).is("between") || s.at(n).kind == Token::Number);
    let bare = |i: &usize| {
        let numeral = s.at(*i).kind == Token::Number && s.at(i - 1).any(&before);
        let shared = s.at(i + 1).is("and") && s.at(i + 2).kind == Token::Number;
        let point = s.at(i + 1).text == "." && s.at(i + 2).kind == Token::Word;
        numeral && !point && (!s.at(i - 1).is("and") || ranged(i - 1)) && ends(i + 1) && !shared
    };
    let at = (1..s.tokens.len()).find(bare)?;
    let message = format!("{} of what?", s.at(at).text);
    Some(NUMBER_WITHOUT_UNIT.at(spot.span(at, at), message).help("write the unit, as the read-out or the scale shows it"))
}

fn two_units(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let value = |i: usize| s.at(i).kind == Token::Number && (unit_at(spot, i + 1) || spot.sentence.at(i + 1).is("in"));
    let twice = |i: &usize| value(*i) && matches!(s.at(i + 2).text, "(" | "/" | "=") && value(i + 3);
    if let Some(i) = (0..s.tokens.len()).find(twice) {
        let problem = TWO_UNITS.at(spot.span(i, i + 4), "one value stands here in two units");
        return Some(problem.help("keep the unit that the read-out shows"));
    }
    let head = s.head();
    let sums = s.at(head).any(&["calculate", "convert", "compute", "subtract", "multiply", "divide"]);
    let adds = s.at(head).is("add") && value(head + 1) && s.find(head, &["reading", "value", "result", "number"]).is_some();
    (spot.place == Place::Step && (sums || adds)).then(|| {
        let problem = TWO_UNITS.at(spot.span(head, head), "here the performer is to work out a number");
        problem.help("print the number, or a formula with a blank for each of its values")
    })
}

fn form(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let begins = |i: &usize| s.at(*i).kind == Token::Number && s.at(*i).text.starts_with('.');
    let ends = |i: &usize| s.at(*i).kind == Token::Number && s.at(i + 1).text == "." && s.at(i + 2).kind == Token::Word;
    let at = (0..s.tokens.len()).find(|i| begins(i) || ends(i))?;
    let (last, fix) = if begins(&at) { (at, format!("0{}", s.at(at).text)) } else { (at + 1, s.at(at).text.to_string()) };
    Some(NUMBER_FORM.at(spot.span(at, last), "a point at the edge of a number is lost on a copy").help(format!("write {fix}")))
}
