//! Words that have no place in a step: references that move, results that say nothing, and moves hidden in prose.
//!
//! Each text is read once, word by word; a table of first letters lets most words pass at a glance.

use super::{Found, rule};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::arm::Arm;
use crate::model::procedure::{Item, Kind, Label, ProseKind, Step, StepNumber, Text};
use crate::text::Span;

/// A reference that depends on where it stands.
pub static VAGUE_REFERENCE: Rule = rule(
    "vague-reference",
    Family::Reference,
    Severity::Warning,
    "a step is referred to as previous, above or below",
    "After the next revision, or on another page, another step is meant. A link to an anchor keeps its step.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. `read joints`\n2. Compare with the ⟦previous step⟧.\n")],
        &[Example::steps("1. `read joints` {#first}\n2. Compare with [the reading](#first) before the next step.\n")],
    ),
);
/// A number that no step has.
pub static UNKNOWN_STEP_NUMBER: Rule = rule(
    "unknown-step-number",
    Family::Reference,
    Severity::Warning,
    "the words name a step number that this procedure does not have",
    "Numbers move when steps are added. A link to an anchor keeps its step, and prints the right number.",
    Evidence::CommonPractice,
    (
        &[
            Example::steps("1. `read joints`\n2. Compare with the reading of ⟦step 12⟧.\n"),
            Example::steps("1. `read joints`\n2. Compare with the reading of ⟦step C1.3⟧.\n"),
        ],
        &[Example::steps("1. `read joints` {#first}\n2. Compare with [the reading](#first).\n")],
    ),
);
/// A step named by its number alone.
pub static STEP_BY_NUMBER: Rule = rule(
    "step-by-number",
    Family::Reference,
    Severity::Warning,
    "the words name a step by a number that nothing keeps",
    "A step put in before it moves all numbers behind; the words then name another step, a hold is cleared on the wrong reading, and nothing tells. A link to an anchor keeps its step, and prints the right number.",
    Evidence::CommonPractice,
    (
        &[
            Example::steps("1. `read joints`\n2. Compare with the reading of ⟦step 1⟧.\n"),
            Example::steps("1. `turnover`\n2. `read joints`\n3. Compare the readings of ⟦steps 1 and 2⟧.\n"),
            Example::steps("1. `read joints` {#first}\n2. Compare with [the reading of ⟦step 1⟧](#first).\n"),
        ],
        &[Example::steps(
            "1. `read joints` {#first}\n2. Compare with [step 1](#first).\n3. Compare with [the reading](#first) once more.\n",
        )],
    ),
);
/// A result that says nothing.
pub static ACCEPTANCE_WORD: Rule = rule(
    "acceptance-word",
    Family::Document,
    Severity::Error,
    "an expected result is given as SAT, UNSAT, OK or satisfactory",
    "Two people must come to the same result. \"Satisfactory\" leaves it to each of them; the value or the state does not.",
    Evidence::Read("MIL-STD-2106A App. B: an expected result is never SAT or UNSAT"),
    (
        &[Example::steps("1. `set port-plate open`\n   - Proof: plate ⟦OK⟧.\n")],
        &[Example::steps("1. `set port-plate open`\n   - Proof: the plate stands open, seen in window 2.\n")],
    ),
);
/// Something left to be filled in.
pub static OPEN_POINT: Rule = rule(
    "open-point",
    Family::Document,
    Severity::Error,
    "the words hold something still to be decided",
    "What is still to be decided is not a step.",
    Evidence::CommonPractice,
    (&[Example::steps("1. Set the lamp to ⟦TBD⟧.\n")], &[Example::steps("1. Set the lamp to half.\n")]),
);
/// AND with OR.
pub static MIXED_AND_OR: Rule = rule(
    "mixed-and-or",
    Family::Document,
    Severity::Error,
    "a condition joins with AND and with OR",
    "\"A AND B OR C\" is read in two ways. Two conditions, one inside the other, are read in one.",
    Evidence::Digest("NUREG-0899 and DOE-STD-1029-92: AND and OR are not mixed in one condition"),
    (
        &[Example::steps(
            "1. `if` The lamp is lit AND the plate is open ⟦OR⟧ the pump runs, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n",
        )],
        &[Example::steps(
            "1. `if` The lamp is lit AND the plate is open, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n",
        )],
    ),
);
/// A move written as prose.
pub static MOVE_IN_WORDS: Rule = rule(
    "move-in-words",
    Family::Notation,
    Severity::Error,
    "a joint, one of its direction words and a number stand together in words that nothing checks",
    "It reads like a move and will be driven like one, but no limit, no direction and no continuity was checked. Moves are statements.",
    Evidence::Definition,
    (
        &[
            Example::steps("1. Drive the ⟦base left to +42⟧ deg.\n"),
            Example::steps("1. `read joints`\n   - Watch: the hose, while ⟦base left⟧ to +42 deg.\n"),
            Example::steps("- Drive the ⟦shoulder up, that is raise it to 30⟧ deg.\n\n1. `read joints`\n"),
        ],
        &[Example::steps("1. Lower the cup to the rack, 20 mm from the base of the lamp.\n2. Look at the base, left of window 2.\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] =
    &[&VAGUE_REFERENCE, &UNKNOWN_STEP_NUMBER, &STEP_BY_NUMBER, &ACCEPTANCE_WORD, &OPEN_POINT, &MIXED_AND_OR, &MOVE_IN_WORDS];

/// What a text is, for the rules that hold in some places only.
#[derive(Clone, Copy, Default)]
struct Place {
    /// Instructions and prose: a move has no place here.
    instructs: bool,
    /// An expected result.
    expects: bool,
    /// A condition.
    decides: bool,
    /// Line ends end sentences: lists and tables.
    by_line: bool,
}

/// The words the rules look for, and what a word can be by its first letter and its length: most are none of them.
struct Words<'a> {
    joints: Vec<[&'a str; 3]>,
    shapes: [[u8; LONGEST + 1]; 256],
    /// The steps that words may name.
    steps: &'a [Step],
}

/// Words of this length and longer are told apart by their first letter alone.
const LONGEST: usize = 15;

/// What a word can be: a bit each.
const JOINT: u8 = 1;
const DIRECTION: u8 = 1 << 1;
const NUMBER: u8 = 1 << 2;
const REFERENCE: u8 = 1 << 3;
const RESULT: u8 = 1 << 4;
const PLACEHOLDER: u8 = 1 << 5;
const JOIN: u8 = 1 << 6;

/// What a byte is to a reader of words.
#[derive(Clone, Copy, PartialEq)]
enum Class {
    Letter,
    /// Belongs to a word if more of it follows.
    Hyphen,
    /// May end a sentence, or begin what is passed over.
    Mark,
    Blank,
}

static CLASSES: [Class; 256] = {
    let mut table = [Class::Blank; 256];
    let mut b = 0;
    while b < 256 {
        table[b] = match b as u8 {
            b'0'..=b'9' | b'A'..=b'Z' | b'a'..=b'z' => Class::Letter,
            b'-' | b'.' | b'_' | b'/' => Class::Hyphen,
            b'`' | b']' | b'!' | b'?' | b'\n' => Class::Mark,
            _ => Class::Blank,
        };
        b += 1;
    }
    table
};

fn class(b: u8) -> Class {
    CLASSES[usize::from(b)]
}

/// Where the word ends that begins at `start`.
fn word_end(bytes: &[u8], start: usize) -> usize {
    let mut at = start;
    loop {
        at += bytes[at..].iter().take_while(|b| class(**b) == Class::Letter).count();
        match bytes[at..] {
            [hyphen, next, ..] if class(hyphen) == Class::Hyphen && class(next) == Class::Letter => at += 1,
            _ => return at,
        }
    }
}

/// What may stand behind a number that is no angle, and before one that counts things.
const OTHER_UNITS: [&str; 18] =
    ["mm", "cm", "m", "in", "s", "min", "h", "kg", "g", "lb", "N", "kN", "bar", "psi", "uSv/h", "mSv/h", "times", "minutes"];
const COUNTED: [&str; 11] = ["step", "steps", "window", "camera", "monitor", "lamp", "page", "level", "table", "figure", "port"];
const RESULTS: [&str; 6] = ["SAT", "UNSAT", "SAT/UNSAT", "UNSAT/SAT", "OK", "satisfactory"];
const PLACEHOLDERS: [&str; 4] = ["TBD", "TBC", "TBA", concat!("TO", "DO")];
/// How the goal of a move begins.
const GOALS: [&str; 4] = ["to", "by", "from", "until"];
const SAY_IT: &str = "make it a step of its own with its statement between backticks, right after the number, or say it without a number";
const BEFORE_STEP: [&str; 5] = ["previous", "preceding", "above", "earlier", "prior"];

impl<'a> Words<'a> {
    fn of(arm: &'a Arm, steps: &'a [Step]) -> Words<'a> {
        let joints: Vec<[&str; 3]> =
            arm.joints.iter().map(|j| [j.name.value.as_str(), j.positive.word.value.as_str(), j.negative.word.value.as_str()]).collect();
        let mut shapes = [[0; LONGEST + 1]; 256];
        let mut note = |words: &[&str], what: u8, any_case: bool| {
            for word in words {
                let Some(first) = word.bytes().next() else { continue };
                let firsts = if any_case { [first.to_ascii_lowercase(), first.to_ascii_uppercase()] } else { [first; 2] };
                firsts.iter().for_each(|b| shapes[usize::from(*b)][word.len().min(LONGEST)] |= what);
            }
        };
        for [joint, directions @ ..] in &joints {
            note(&[joint], JOINT, true);
            note(directions, DIRECTION, true);
        }
        note(&["step", "steps", "above", "below"], REFERENCE, true);
        note(&RESULTS, RESULT, true);
        note(&PLACEHOLDERS, PLACEHOLDER, false);
        note(&["AND", "OR"], JOIN, false);
        shapes[usize::from(b'0')..=usize::from(b'9')].fill([NUMBER; LONGEST + 1]);
        Words { joints, shapes, steps }
    }
}

pub(super) fn check(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let words = Words::of(&procedure.arm, &procedure.steps);
    let instructs = Place { instructs: true, ..Place::default() };
    for section in &procedure.sections {
        words.read(found, &section.title, Place::default(), None);
        for item in &section.items {
            match item {
                Item::Prose(_, ProseKind::Code | ProseKind::Rule) | Item::Step(_) => {}
                Item::Prose(text, kind) => {
                    let by_line = matches!(kind, ProseKind::List | ProseKind::Table);
                    words.read(found, text, Place { by_line, ..instructs }, None);
                }
                Item::Alert(alert) => {
                    for text in alert.hazard.iter().chain(&alert.consequence).chain(&alert.avoid).chain(&alert.words) {
                        words.read(found, text, instructs, None);
                    }
                }
            }
        }
    }
    for step in &procedure.steps {
        words.step(found, step);
    }
    let front = &procedure.front;
    let limits = front.limits.iter().flat_map(|l| [&l.limit, &l.consequence, &l.correction]);
    for text in front.prerequisites.iter().chain(limits).chain(front.criteria.iter().map(|c| &c.text)) {
        let problem = words.unknown(mentioned(&text.value).into_iter(), text.span);
        found.list.extend(problem.map(|p| p.help("write the number that the step is printed with")));
    }
}

/// One text being read.
struct Reading<'t> {
    raw: &'t str,
    base: usize,
    place: Place,
    /// The word before, as a range of `raw`.
    before: (usize, usize),
    /// What the sentence held so far: joints, and joints whose direction word stood in it, a bit each.
    joints: u32,
    directions: u32,
    number: bool,
    from: usize,
    told: bool,
    and: bool,
    or: bool,
}

impl Words<'_> {
    fn step(&self, found: &mut Found<'_>, step: &Step) {
        let place = match &step.kind {
            Kind::Instruction => Place { instructs: true, decides: true, ..Place::default() },
            Kind::If { .. } | Kind::Repeat { .. } => Place { decides: true, ..Place::default() },
            Kind::Check => Place { expects: true, ..Place::default() },
            _ => Place::default(),
        };
        self.read(found, &step.text, place, Some(&step.number));
        for line in &step.lines {
            let place = match line.label {
                Label::Proof | Label::MustBeTrue => Place { expects: true, ..Place::default() },
                Label::StopIf => Place { decides: true, ..Place::default() },
                _ => Place::default(),
            };
            self.read(found, &line.text, place, Some(&step.number));
        }
    }

    fn read(&self, found: &mut Found<'_>, text: &Text, place: Place, number: Option<&StepNumber>) {
        let raw = text.span.of(found.text);
        let base = text.span.start as usize;
        let mut reading = Reading {
            raw,
            base,
            place,
            before: (0, 0),
            joints: 0,
            directions: 0,
            number: false,
            from: usize::MAX,
            told: false,
            and: false,
            or: false,
        };
        // Where nothing is instructed a joint counts only before its direction word.
        let wanted = if place.instructs { !0 } else { !JOINT };
        let bytes = raw.as_bytes();
        let mut i = 0;
        while let Some(&b) = bytes.get(i) {
            match class(b) {
                Class::Letter => {
                    let end = word_end(bytes, i);
                    let what = self.shapes[usize::from(b)][(end - i).min(LONGEST)] & wanted;
                    if what != 0 {
                        self.word(found, &mut reading, (i, end), what, number);
                    }
                    reading.before = (i, end);
                    i = end;
                    continue;
                }
                Class::Blank => {}
                Class::Hyphen | Class::Mark => match b {
                    b'`' => i += bytes[i + 1..].iter().position(|b| *b == b'`').map_or(0, |n| n + 1),
                    b']' if bytes.get(i + 1) == Some(&b'(') => i += bytes[i..].iter().position(|b| *b == b')').unwrap_or(0),
                    b'.' | b'!' | b'?' if bytes.get(i + 1).is_none_or(u8::is_ascii_whitespace) => reading.end_sentence(),
                    b'\n' if place.by_line || bytes.get(i + 1) == Some(&b'\n') => reading.end_sentence(),
                    _ => {}
                },
            }
            i += 1;
        }
    }

    /// Looks at the word at `start..end`, which can be `what`.
    fn word(&self, found: &mut Found<'_>, reading: &mut Reading<'_>, (start, end): (usize, usize), what: u8, number: Option<&StepNumber>) {
        let is = |kind: u8| what & kind != 0;
        let word = &reading.raw[start..end];
        let before = &reading.raw[reading.before.0..reading.before.1];
        let (file, base) = (found.procedure.file, reading.base);
        let span = |from: usize| Span::new(file, base + from, base + end);
        let report = |found: &mut Found<'_>, problem: Diagnostic| {
            found.push(match number {
                Some(number) => problem.step(number),
                None => problem,
            });
        };
        if is(NUMBER) {
            let counted = COUNTED.iter().any(|c| c.eq_ignore_ascii_case(before));
            let numeral = word.bytes().all(|b| b.is_ascii_digit() || b == b'.');
            if numeral && !counted && !other_unit(&reading.raw[end..]) {
                reading.number = true;
                self.hidden(found, reading, start, end, number);
            }
            return;
        }
        if is(JOINT | DIRECTION) && self.note(reading, word, start) {
            self.hidden(found, reading, start, end, number);
            if !reading.place.instructs && self.shaped_like_move(before, word, &reading.raw[end..]) {
                let problem =
                    MOVE_IN_WORDS.at(span(reading.before.0), format!("this has the shape of a move of {before}, and nothing checks it"));
                report(found, problem.help(SAY_IT));
            }
        }
        let a_step = |w: &str| w.eq_ignore_ascii_case("step") || w.eq_ignore_ascii_case("steps");
        if is(REFERENCE) && a_step(word) && !is_in_link(reading.raw, start) {
            let named = named(&reading.raw[end..]);
            if let Some((_, to)) = named.last() {
                let place = Span::new(file, base + start, base + end + to);
                let by_number = || STEP_BY_NUMBER.at(place, "a step put in before it makes this the number of another step");
                let problem = self.unknown(named.iter().map(|n| n.0), place).unwrap_or_else(by_number);
                report(found, problem.help("give the step an anchor, {#reading}, and link to it: [the reading](#reading)"));
            }
        }
        let vague = is(REFERENCE) && a_step(word) && BEFORE_STEP.iter().any(|b| b.eq_ignore_ascii_case(before));
        let turned = is(REFERENCE) && matches!(word, "above" | "below") && a_step(before);
        if vague || turned {
            let problem = VAGUE_REFERENCE.at(span(reading.before.0), format!("`{before} {word}` means another step once steps are added"));
            report(found, problem.help("give the step an anchor, {#name}, and link to it: [the reading](#name)"));
        }
        if is(RESULT) && reading.place.expects && (RESULTS.contains(&word) || word.eq_ignore_ascii_case("ok")) {
            let problem = ACCEPTANCE_WORD.at(span(start), format!("`{word}` does not say what is to be seen"));
            report(found, problem.help("write the value with its band, or the state and where it is seen"));
        }
        if is(PLACEHOLDER) && PLACEHOLDERS.contains(&word) {
            report(found, OPEN_POINT.at(span(start), format!("`{word}` is still to be decided")));
        }
        if is(JOIN) && reading.place.decides {
            let was_mixed = reading.and && reading.or;
            reading.and |= word == "AND";
            reading.or |= word == "OR";
            if reading.and && reading.or && !was_mixed {
                let problem = MIXED_AND_OR.at(span(start), "this condition joins with AND and with OR, and can be read in two ways");
                report(found, problem.help("write two conditions, one inside the other"));
            }
        }
    }

    /// Numbers that no step has.
    fn unknown<'n>(&self, numbers: impl Iterator<Item = &'n str>, place: Span) -> Option<Diagnostic> {
        let unknown: Vec<&str> = numbers.filter(|n| !self.has(n)).collect();
        let says = || UNKNOWN_STEP_NUMBER.at(place, format!("this procedure has no step {}", unknown.join(", ")));
        (!unknown.is_empty()).then(says)
    }

    /// A step is printed with this number, or may be by the step that performs it.
    fn has(&self, number: &str) -> bool {
        self.steps.iter().any(|s| {
            let rest = number.strip_prefix(s.number.to_string().as_str());
            rest.is_some_and(|rest| rest.is_empty() || (matches!(s.kind, Kind::Perform(_)) && rest.starts_with('.')))
        })
    }

    /// A joint and its own direction word side by side with a target: a statement but for the marks around it.
    fn shaped_like_move(&self, joint: &str, direction: &str, rest: &str) -> bool {
        let own =
            self.joints.iter().any(|[j, p, n]| j.eq_ignore_ascii_case(joint) && [p, n].iter().any(|w| w.eq_ignore_ascii_case(direction)));
        own && rest.split_ascii_whitespace().next().is_some_and(|next| GOALS.contains(&next))
    }

    /// Notes a joint or direction word; says whether it was one.
    fn note(&self, reading: &mut Reading<'_>, word: &str, start: usize) -> bool {
        let mut any = false;
        for (i, [joint, positive, negative]) in self.joints.iter().enumerate().take(32) {
            let bit = 1 << i;
            if joint.eq_ignore_ascii_case(word) {
                reading.joints |= bit;
                any = true;
            } else if positive.eq_ignore_ascii_case(word) || negative.eq_ignore_ascii_case(word) {
                reading.directions |= bit;
                any = true;
            }
        }
        if any && reading.from == usize::MAX {
            reading.from = start;
        }
        any
    }

    /// Speaks once a sentence holds a joint, one of its direction words and a number.
    fn hidden(&self, found: &mut Found<'_>, reading: &mut Reading<'_>, start: usize, end: usize, number: Option<&StepNumber>) {
        let both = reading.joints & reading.directions;
        if !reading.place.instructs || !reading.number || both == 0 || reading.told {
            return;
        }
        reading.told = true;
        let joint = self.joints.get(both.trailing_zeros() as usize).map_or("", |j| j[0]);
        let from = reading.from.min(start);
        let span = Span::new(found.procedure.file, reading.base + from, reading.base + end);
        let problem = MOVE_IN_WORDS.at(span, format!("this reads like a move of {joint}, and nothing checks it"));
        let problem = problem.help(SAY_IT);
        found.push(match number {
            Some(number) => problem.step(number),
            None => problem,
        });
    }
}

impl Reading<'_> {
    fn end_sentence(&mut self) {
        (self.joints, self.directions, self.number, self.from, self.told) = (0, 0, false, usize::MAX, false);
    }
}

/// The word at a place begins the words of a link that are a number of a step and nothing else: print puts the right one there.
fn is_in_link(raw: &str, at: usize) -> bool {
    raw[..at].ends_with('[') && raw[at..].split_once("](#").is_some_and(|(words, _)| words.split_ascii_whitespace().count() == 2)
}

/// The numbers of the steps that a text names by them and not by a link.
pub(super) fn mentioned(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(n) = text[at..].find(|c: char| c.is_ascii_alphanumeric()) {
        let start = at + n;
        at = word_end(text.as_bytes(), start);
        if ["step", "steps"].iter().any(|w| w.eq_ignore_ascii_case(&text[start..at])) && !is_in_link(text, start) {
            found.extend(named(&text[at..]).into_iter().map(|n| n.0));
        }
    }
    found
}

/// The numbers of steps behind the word that says so, one or several, each with the place where it ends.
fn named(rest: &str) -> Vec<(&str, usize)> {
    let mut found = Vec::new();
    let mut at = 0;
    loop {
        let Some(blanks) = rest[at..].find(|c: char| !c.is_ascii_whitespace()).filter(|n| *n > 0) else { return found };
        let start = at + blanks;
        let end = word_end(rest.as_bytes(), start);
        let number = &rest[start..end];
        let digits = number.strip_prefix('C').unwrap_or(number);
        let measures = || other_unit(&rest[end..]) || rest[end..].starts_with(" deg");
        if !digits.starts_with(|c: char| c.is_ascii_digit()) || !found.is_empty() && measures() {
            return found;
        }
        found.push((number, end));
        let Some(join) = [", and", ", or", ",", " and", " or", " to"].iter().find(|j| rest[end..].starts_with(*j)) else { return found };
        at = end + join.len();
    }
}

/// What follows a number is a unit other than degrees.
fn other_unit(rest: &str) -> bool {
    let rest = rest.trim_start();
    let end = rest.find(|c: char| !(c.is_ascii_alphanumeric() || c == '/')).unwrap_or(rest.len());
    OTHER_UNITS.contains(&&rest[..end])
}
