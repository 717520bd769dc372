//! Plain steps and expected values: what is known of them without guessing, and so is always looked at.

use super::prose::grammar::Expect;
use super::prose::reading::Kind as Token;
use super::prose::{Check, Look, Place, Spot};
use super::rule;
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::Label;

/// A plain step that tells instead of ordering.
pub static STEP_NOT_AN_ORDER: Rule = rule(
    "step-not-an-order",
    Family::Document,
    Severity::Error,
    "a plain step opens with an article, a pronoun, a post or an -ing form, or says what shall or must be done",
    "Read aloud, \"the hatch shall be opened\" tells what somebody will do at some time. A step orders its performer to act now, and opens with the verb.",
    Evidence::Read(
        "MIL-STD-2106A App. B; a research-backed writers' guide, action steps G3 and G4: a step opens with its verb, in the active voice",
    ),
    (
        &[
            Example::steps("1. ⟦The⟧ hatch of the gallery is opened.\n"),
            Example::steps("1. ⟦Second operator⟧ opens drawer 3.\n"),
            Example::steps("1. ⟦Opening⟧ drawer 3, look for dust.\n"),
            Example::steps("1. Cover plate ⟦shall be removed⟧.\n"),
        ],
        &[
            Example::steps("1. Open drawer 3.\n2. Second operator: read label 4 aloud.\n"),
            Example::steps("1. Tell the shift lead that the lid must be lifted again.\n"),
        ],
    ),
);
/// IF after the action.
pub static CONDITION_AFTER_ACTION: Rule = rule(
    "condition-after-action",
    Family::Document,
    Severity::Error,
    "the condition of a plain step stands behind its action",
    "Who reads the action first may have done it before the condition is read.",
    Evidence::Read("a research-backed writers' guide, action steps G2: the condition stands before the action"),
    (&[Example::steps("1. Close VAL3 ⟦IF⟧ the tank is empty.\n")], &[Example::steps("1. IF the tank is empty THEN close VAL3.\n")]),
);
/// A condition in lower case.
pub static UNMARKED_CONDITION: Rule = rule(
    "unmarked-condition",
    Family::Document,
    Severity::Warning,
    "a plain step opens with \"if\" or \"when\" like any other sentence",
    "A condition that looks like a sentence is passed over, and only the `if` statement is followed both ways.",
    Evidence::Digest("DOE-STD-1029-92: IF, WHEN and THEN are emphasised and kept for logic"),
    (
        &[Example::steps("1. ⟦If⟧ the tank is empty, close VAL3.\n")],
        &[Example::steps("1. `if` The tank is empty, seen in window 2.\n   - then\n     1. Close VAL3.\n   - otherwise: go on\n")],
    ),
);
/// No end of a repetition.
pub static ENDLESS_REPEAT: Rule = rule(
    "endless-repeat",
    Family::Document,
    Severity::Error,
    "a plain step repeats or monitors and does not say until when",
    "Who is told to watch and not when to stop either stops too early or watches while the next step waits.",
    Evidence::Read("DOE-STD-1029-92, repeated steps: the step says until what, how often or how long"),
    (
        &[Example::steps("1. ⟦Monitor⟧ the pressure of tank 2.\n")],
        &[Example::steps("1. Monitor the pressure of tank 2 until lamp L4 is lit.\n")],
    ),
);
/// In any order.
pub static ANY_ORDER_IN_WORDS: Rule = rule(
    "any-order-in-words",
    Family::Document,
    Severity::Error,
    "words let steps or actions be done in any order",
    "Everything is checked in the order in which it stands. An order that the performer chooses is one that nobody looked at.",
    Evidence::Read("HF good-practice note B 1: steps are sequential unless a block before them says otherwise"),
    (&[Example::steps("1. Close D1, D2 and D3 ⟦in any order⟧.\n")], &[Example::steps("1. Close D1, D2 and D3.\n")]),
);
/// A limit in time without an answer.
pub static TIME_LIMIT_WITHOUT_ANSWER: Rule = rule(
    "time-limit-without-answer",
    Family::Document,
    Severity::Error,
    "a step sets a limit in time and does not say what to do when it is missed",
    "The time is missed one day, and then the page must have the answer.",
    Evidence::Read("DOE-STD-1029-92, time-dependent steps: the action if the time is missed"),
    (
        &[Example::steps("1. Close hatch H2 ⟦within 5 min⟧.\n")],
        &[Example::steps("1. Close hatch H2 within 5 min.\n   - If not: hold and tell Shift lead\n")],
    ),
);
/// A value without its band.
pub static BARE_VALUE: Rule = rule(
    "bare-value",
    Family::Document,
    Severity::Error,
    "an expected value stands without a band",
    "A value without a tolerance means exactly that value, and no instrument shows it twice. Two people must come to the same result.",
    Evidence::Read("MIL-STD-2106A App. B c: an expected value has its tolerance; a bare one means exactly that"),
    (
        &[Example::steps("1. `check` The gap is ⟦12 mm⟧, seen in window 2.\n"), Example::steps("1. Verify gauge P2 shows ⟦1.2 bar⟧.\n")],
        &[Example::steps("1. `check` The gap is between 10 and 14 mm, seen in window 2.\n2. Verify gauge P2 shows 1.2 bar or less.\n")],
    ),
);
/// Three or four conditions.
pub static MANY_CONDITIONS: Rule = rule(
    "many-conditions",
    Family::Document,
    Severity::Warning,
    "a condition joins three or four others",
    "Three things at once are not kept in mind under a mask. `if` statements one inside the other, or checks before them, are read one at a time.",
    Evidence::Digest("DOE-STD-1029-92 and NUREG-0899: three conditions or more are set out otherwise than as a sentence"),
    (
        &[Example::steps(
            "1. `if` L1 is lit ⟦AND⟧ L2 is lit AND L3 is lit, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n",
        )],
        &[Example::steps("1. `if` L1 is lit AND L2 is lit, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n")],
    ),
);
/// Five conditions or more.
pub static TOO_MANY_CONDITIONS: Rule = rule(
    "too-many-conditions",
    Family::Document,
    Severity::Error,
    "a condition joins five others or more",
    "Nobody holds five conditions in mind; one of them is taken for true.",
    Evidence::Digest("NUREG-0899: no more than four conditions are joined in a sentence"),
    (
        &[Example::steps(
            "1. `if` ⟦L1 is lit AND L2 is lit AND L3 is lit AND L4 is lit AND L5 is lit, seen in window 2⟧.\n   - then\n     1. `read joints`\n   - otherwise: go on\n",
        )],
        &[Example::steps("1. `if` L1 is lit AND L2 is lit, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[
    &STEP_NOT_AN_ORDER,
    &CONDITION_AFTER_ACTION,
    &UNMARKED_CONDITION,
    &ENDLESS_REPEAT,
    &ANY_ORDER_IN_WORDS,
    &TIME_LIMIT_WITHOUT_ANSWER,
    &BARE_VALUE,
    &MANY_CONDITIONS,
    &TOO_MANY_CONDITIONS,
];

/// Those that already say that the step does not open as it should.
pub(super) static ABOUT_VERB: &[&Rule] = &[&STEP_NOT_AN_ORDER, &UNMARKED_CONDITION];

pub(super) const CHECKS: &[Check] =
    &[not_an_order, condition_after_action, unmarked_condition, endless_repeat, any_order, time_limit, bare_value, conditions];

const NO_OPENING: &[&str] = &[
    "the", "a", "an", "this", "these", "those", "it", "you", "we", "they", "he", "she", "there", "our", "your", "their", "its", "his",
    "her",
];

fn not_an_order(look: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if spot.place != Place::Step {
        return None;
    }
    let head = s.at(0);
    let help = "open with the verb, in the form of an order: `Open hatch H2.`";
    if head.any(NO_OPENING) {
        let message = format!("this step opens with `{}` and not with what is to be done", head.text);
        return Some(STEP_NOT_AN_ORDER.at(spot.span(0, 0), message).help(help));
    }
    let words = |name: &str| name.split_ascii_whitespace().count();
    let opens = |name: &str| name.split_ascii_whitespace().enumerate().all(|(i, w)| s.at(i).is(w));
    let post = look.policy.roles.iter().map(|r| r.name.value.as_str()).filter(|n| opens(n)).max_by_key(|n| words(n));
    if let Some(post) = post
        && s.at(words(post)).text != ":"
    {
        let message = format!("this step tells what {post} does, and orders nothing");
        let problem = STEP_NOT_AN_ORDER.at(spot.span(0, words(post) - 1), message);
        return Some(problem.help(format!("write `{post}:` and the order, or `tell {post}` as a step")));
    }
    if spot.first && s.verbs.ing(head.text).is_some() {
        let message = format!("this step opens with `{}`, which orders nothing", head.text);
        return Some(STEP_NOT_AN_ORDER.at(spot.span(0, 0), message).help(help));
    }
    let (from, to) = s.demand().filter(|_| s.opening(Expect::Order).is_none())?;
    if !s.at(from).any(&["must", "shall", "should"]) || head.any(&["if", "when"]) {
        return None;
    }
    Some(STEP_NOT_AN_ORDER.at(spot.span(from, to), "this step says what is to be so and does not order it").help(help))
}

fn condition_after_action(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let keyword = |i: &usize| matches!(s.at(*i).text, "IF" | "WHEN" | "UNLESS") && !s.at(i + 1).is_capitals();
    let at = (1..s.tokens.len()).find(keyword).filter(|_| spot.place == Place::Step && !s.at(0).any(&["if", "when"]))?;
    let message = format!("the condition behind `{}` is read after the action", s.at(at).text);
    Some(CONDITION_AFTER_ACTION.at(spot.span(at, at), message).help("write it as an `if` statement, or put it first: `IF ... THEN ...`"))
}

fn unmarked_condition(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let head = spot.sentence.at(0);
    if spot.place != Place::Step || !spot.first || !matches!(head.text, "If" | "When" | "if" | "when") {
        return None;
    }
    let message = format!("a condition opens this step with `{}` like any other sentence", head.text);
    Some(UNMARKED_CONDITION.at(spot.span(0, 0), message).help("write it as an `if` statement with `then` and `otherwise`"))
}

fn endless_repeat(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let head = s.head();
    if spot.place != Place::Step || !s.at(head).any(&["repeat", "monitor"]) || s.at(head + 1).any(&["back", "aloud"]) {
        return None;
    }
    let ends = ["until", "for", "while", "times", "twice", "once", "till", "during"];
    s.find(head, &ends).is_none().then(|| {
        let message = format!("`{}` has no end here", s.at(head).text);
        ENDLESS_REPEAT.at(spot.span(head, head), message).help("say until what is seen or read, how many times, or for how long")
    })
}

fn any_order(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let at = spot.sentence.phrase(&["in", "any", "order"]).or_else(|| spot.sentence.phrase(&["in", "any", "sequence"]))?;
    Some(
        ANY_ORDER_IN_WORDS
            .at(spot.span(at, at + 2), "nothing is checked for an order that is left open")
            .help("write the order that is meant, one step each"),
    )
}

const TIMES: &[&str] = &["s", "sec", "second", "seconds", "min", "minute", "minutes", "h", "hour", "hours"];

fn time_limit(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if !matches!(spot.place, Place::Step | Place::Check) || spot.step.is_some_and(|s| s.line(Label::IfNot).is_some()) {
        return None;
    }
    let timed = |i: usize| s.at(i).kind == Token::Number && s.at(i + 1).any(TIMES);
    let within = (0..s.tokens.len()).find(|i| s.at(*i).is("within") && timed(i + 1)).map(|i| (i, i + 2));
    let later = s.phrase(&["no", "later", "than"]).filter(|i| timed(i + 3)).map(|i| (i, i + 4));
    let (from, to) = within.or(later)?;
    let problem = TIME_LIMIT_WITHOUT_ANSWER.at(spot.span(from, to), "nothing says what to do when this time is missed");
    Some(problem.help("write `- If not: [title](#contingency)` or `- If not: hold and tell ROLE` under the step"))
}

/// Units that may stand behind a number in plain words.
pub(super) const UNITS: &[&str] = &[
    "deg",
    "degrees",
    "mm",
    "cm",
    "m",
    "in",
    "ft",
    "yd",
    "yds",
    "s",
    "min",
    "h",
    "kg",
    "g",
    "t",
    "lb",
    "N",
    "kN",
    "Nm",
    "bar",
    "mbar",
    "psi",
    "Pa",
    "kPa",
    "MPa",
    "Sv/h",
    "mSv/h",
    "uSv/h",
    "\u{b5}Sv/h",
    "V",
    "mV",
    "kV",
    "A",
    "mA",
    "W",
    "kW",
    "Hz",
    "C",
    "K",
    "%",
    "l",
    "ml",
    "l/min",
    "rpm",
    "minutes",
    "seconds",
    "hours",
];

/// A unit at `i`, which "in" is only where nothing follows that it could begin.
pub(super) fn unit_at(spot: &Spot<'_, '_>, i: usize) -> bool {
    let t = spot.sentence.at(i);
    let next = spot.sentence.at(i + 1);
    UNITS.contains(&t.text) && !(t.text == "in" && next.kind == Token::Word) || t.text == "\u{b0}"
}

fn bare_value(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    let expects = match spot.place {
        Place::Check | Place::Proof | Place::Condition => true,
        Place::Step => s.at(s.head()).any(&["verify", "check", "confirm", "ensure", "observe"]),
        _ => false,
    };
    let exact = ["is", "are", "shows", "show", "reads", "read", "at", "equals", "measures", "weighs"];
    let banded = |i: usize| matches!(s.at(i).text, "\u{b1}" | "+") || s.at(i).any(&["or", "to", "plus"]);
    let bare = |i: &usize| s.at(*i).kind == Token::Number && unit_at(spot, i + 1) && s.at(i - 1).any(&exact) && !banded(i + 2);
    let at = (1..s.tokens.len()).find(bare).filter(|_| expects)?;
    let value = format!("{} {}", s.at(at).text, s.at(at + 1).text);
    let problem = BARE_VALUE.at(spot.span(at, at + 1), format!("{value} without a band means exactly {value}"));
    Some(problem.help("write `between A and B`, `at least A`, `below A`, or the value with its tolerance"))
}

fn conditions(_: &Look<'_>, spot: &Spot<'_, '_>) -> Option<Diagnostic> {
    let s = spot.sentence;
    if spot.place != Place::Condition && !(spot.place == Place::Step && s.at(0).is("if")) {
        return None;
    }
    let joins: Vec<usize> = (0..s.tokens.len()).filter(|i| matches!(s.at(*i).text, "AND" | "OR")).collect();
    let mixed = joins.iter().any(|i| s.at(*i).text != s.at(joins[0]).text);
    let help = "write one `if` inside another, or check what must be so in steps before";
    match joins.len() + 1 {
        // AND with OR is told by itself.
        _ if mixed => None,
        n @ 3..5 => Some(MANY_CONDITIONS.at(spot.span(joins[0], joins[0]), format!("{n} conditions are joined here")).help(help)),
        n @ 5.. => Some(TOO_MANY_CONDITIONS.at(spot.whole(), format!("{n} conditions are joined here")).help(help)),
        _ => None,
    }
}
