//! Words under a statement against the statement: another direction, another angle, another joint, another load. And one
//! name for one thing.
//!
//! Invariant: mild. It speaks where words and statement cannot both be right, shows both, and is silent where in doubt.

use super::prose::reading::{Kind as TokenKind, Reading, Token};
use super::{Found, rule};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::arm::{Arm, Joint};
use crate::model::procedure::{Angle, Drive, Goal, Item, Kind, Label, LineForm, ProseKind, Step, Text};
use crate::text::{Span, Spanned};

/// Words that contradict their statement.
pub static WORDS_AGAINST_STATEMENT: Rule = rule(
    "words-against-statement",
    Family::Document,
    Severity::Warning,
    "words under a statement name another direction, angle, joint or load than the statement",
    "Both are printed in one row. One of them was pasted or forgotten when the other was changed, and the reader calls whichever comes first.",
    Evidence::CommonPractice,
    (
        &[
            Example::steps("1. `power on arm`\n2. `shoulder lower to -5 deg`\n   - Watch: the hose while the ⟦shoulder raises⟧.\n"),
            Example::steps(
                "1. `power on arm`\n2. `base left to +42 deg`\n   - Proof: the read-out BASE shows between ⟦24 deg⟧ and 44 deg.\n",
            ),
            Example::steps("1. `power on arm`\n2. `base left to +42 deg` ⟦Turn the shoulder⟧ with one hand.\n"),
            Example::steps("1. `grip level 2`\n2. `close on cup`\n   - Proof: the ⟦flask⟧ stays in the jaw.\n"),
        ],
        &[
            Example::steps(
                "1. `power on arm`\n2. `shoulder lower to -5 deg`\n   - Watch: the elbow, lowered with the shoulder, window 2.\n   - Proof: the read-out SHOULDER shows between -5.5 deg and -4.5 deg.\n",
            ),
            Example::steps(
                "1. `grip level 2`\n2. `close on cup`\n   - Proof: the cup stays in the jaw and the flask beside it does not move.\n",
            ),
        ],
    ),
);
/// Two names.
pub static TWO_NAMES: Rule = rule(
    "two-names",
    Family::Document,
    Severity::Warning,
    "words call one thing by two names of the models",
    "One thing with two names becomes two things for whoever did not write the page.",
    Evidence::Read("MIL-STD-2106A 4.4.1e: one term for a thing"),
    // It takes a model whose title is another word than its name; the tests of prose show it.
    (&[], &[]),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&WORDS_AGAINST_STATEMENT, &TWO_NAMES];

pub(super) fn step(found: &mut Found<'_>, step: &Step) {
    if step.broken
        || !matches!(step.kind, Kind::Move(_) | Kind::Together(_) | Kind::Lift(_) | Kind::Lower(_) | Kind::Close(_) | Kind::LetGo { .. })
    {
        return;
    }
    let mut spans: Vec<(Span, bool)> = vec![(step.text.span, true)];
    for line in &step.lines {
        match (line.label, &line.form) {
            (Label::Proof, _) => spans.push((line.text.span, true)),
            (Label::Watch, _) => spans.push((line.text.span, false)),
            (_, LineForm::SecondPerson { that: Some(that), .. }) => spans.push((*that, true)),
            _ => {}
        }
    }
    for (span, states) in spans.into_iter().filter(|(s, _)| s.start < s.end) {
        let reading = Reading::of(span.of(found.text), false);
        for tokens in reading.sentences() {
            let words = Words { arm: &found.procedure.arm, tokens, span, states };
            if let Some(problem) = words.against(found, step) {
                found.at_step(step, problem);
            }
        }
    }
}

/// One sentence under a statement.
struct Words<'a, 't> {
    arm: &'a Arm,
    tokens: &'t [Token<'t>],
    span: Span,
    /// It says what is so or to be done, and not only where to look.
    states: bool,
}

/// What a joint of the statement is driven by.
fn drives(step: &Step) -> &[Drive] {
    match &step.kind {
        Kind::Move(drive) => std::slice::from_ref(drive),
        Kind::Together(two) => &two.drives,
        Kind::Lift(t) | Kind::Lower(t) => std::slice::from_ref(&t.drive),
        _ => &[],
    }
}

/// A direction word in a form that words use: raise, raises, raised, raising.
fn is_form(word: &str, of: &str) -> bool {
    let word = word.to_ascii_lowercase();
    let stem = of.strip_suffix('e').unwrap_or(of);
    word == of
        || word.strip_prefix(of).is_some_and(|e| matches!(e, "s" | "es" | "ed" | "ing"))
        || word.strip_prefix(stem).is_some_and(|e| matches!(e, "ed" | "ing"))
}

impl Words<'_, '_> {
    fn at(&self, i: usize) -> Token<'_> {
        self.tokens.get(i).copied().unwrap_or(Token { text: "", at: 0, kind: TokenKind::Mark })
    }
    fn place(&self, from: usize, to: usize) -> Span {
        let start = self.span.start as usize;
        Span::new(self.span.file, start + self.at(from).at, start + self.at(to).end())
    }
    /// How many tokens of the name stand at `i`; a hyphen may be a blank. None if it is not there.
    fn named(&self, i: usize, name: &str) -> Option<usize> {
        if self.at(i).is(name) {
            return Some(1);
        }
        let parts = name.split(['-', ' ']);
        let count = parts.clone().count();
        (count > 1 && parts.enumerate().all(|(n, p)| self.at(i + n).is(p))).then_some(count)
    }
    fn find(&self, name: &str) -> Option<(usize, usize)> {
        (0..self.tokens.len()).find_map(|i| self.named(i, name).map(|n| (i, i + n - 1)))
    }
    fn mentions(&self, joint: &Joint) -> Option<(usize, usize)> {
        self.find(&joint.name.value).or_else(|| self.find(&joint.engraved))
    }
    /// Words after which a contrary word is no mistake.
    fn hedged(&self) -> bool {
        let words =
            ["not", "never", "no", "before", "after", "until", "instead", "then", "if", "otherwise", "would", "than", "back", "again"];
        self.tokens.iter().any(|t| t.any(&words))
    }

    fn against(&self, found: &Found<'_>, step: &Step) -> Option<Diagnostic> {
        let drives = drives(step);
        let problem = self
            .direction(drives)
            .or_else(|| self.joint(drives))
            .or_else(|| self.angle(step, drives))
            .or_else(|| self.load(found, step))?;
        Some(problem.help("mend the one that is wrong: words and statement are printed in one row"))
    }

    fn direction(&self, drives: &[Drive]) -> Option<Diagnostic> {
        if self.hedged() {
            return None;
        }
        for drive in drives {
            let joint = self.arm.joint(drive.joint.value);
            let (own, other) = match drive.positive.value {
                true => (&joint.positive.word.value, &joint.negative.word.value),
                false => (&joint.negative.word.value, &joint.positive.word.value),
            };
            let Some((from, to)) = self.mentions(joint) else { continue };
            if self.tokens.iter().any(|t| is_form(t.text, own)) {
                continue;
            }
            let behind = is_form(self.at(to + 1).text, other).then_some((from, to + 1));
            let ahead = |n: usize| from >= n && is_form(self.at(from - n).text, other) && (n == 1 || self.at(from - 1).is("the"));
            let ahead = [1, 2].into_iter().find(|n| ahead(*n)).map(|n| (from - n, to));
            if let Some((a, b)) = behind.or(ahead) {
                let message = format!("the words say `{other}`, and the statement says `{own}`");
                return Some(WORDS_AGAINST_STATEMENT.at(self.place(a, b), message).label(drive.positive.span, "the statement"));
            }
        }
        None
    }

    fn joint(&self, drives: &[Drive]) -> Option<Diagnostic> {
        let first = drives.first().filter(|_| self.states && !self.hedged())?;
        let named = |joint: &Joint| {
            let (from, to) = (1..3).find_map(|i| self.named(i, &joint.name.value).map(|n| (i, i + n - 1)))?;
            (from == 1 || self.at(1).is("the")).then_some(to)
        };
        let moves = ["move", "turn", "drive", "swing", "rotate", "bring"];
        let directs = |j: &Joint| [&j.positive, &j.negative].iter().any(|d| is_form(self.at(0).text, &d.word.value));
        if !self.at(0).any(&moves) && !self.arm.joints.iter().any(directs) {
            return None;
        }
        for joint in &self.arm.joints {
            let driven = drives.iter().any(|d| self.arm.joint(d.joint.value).name.value == joint.name.value);
            if let Some(to) = named(joint).filter(|_| !driven) {
                let own = &self.arm.joint(first.joint.value).name.value;
                let message = format!("the words move {}, and the statement moves {own}", joint.name.value);
                return Some(WORDS_AGAINST_STATEMENT.at(self.place(0, to), message).label(first.joint.span, "the statement"));
            }
        }
        None
    }

    fn angle(&self, step: &Step, drives: &[Drive]) -> Option<Diagnostic> {
        let first = drives.first().filter(|_| self.states && !self.hedged())?;
        let other = |j: &Joint| !drives.iter().any(|d| self.arm.joint(d.joint.value).name.value == j.name.value);
        if self.arm.joints.iter().filter(|j| other(j)).any(|j| self.mentions(j).is_some()) {
            return None;
        }
        let ends = angles(step);
        let to = match &first.goal {
            Goal::To { to, .. } => *to,
            Goal::By { ending, .. } => *ending,
            _ => return None,
        };
        for i in 1..self.tokens.len() {
            if self.at(i).kind != TokenKind::Number || !self.at(i + 1).any(&["deg", "degrees", "\u{b0}"]) {
                continue;
            }
            let signed = self.at(i - 1).text == "-" || self.at(i - 1).text == "+";
            let before = self.at(if signed { i.saturating_sub(2) } else { i - 1 });
            let banded = before.is("between") || before.is("and") && (i.saturating_sub(6)..i).any(|n| self.at(n).is("between"));
            if !banded && !before.any(&["to", "at", "by", "is", "shows", "reads"]) {
                continue;
            }
            let Some(thousandths) = thousandths(self.at(i).text) else { continue };
            // A band around the end may be written out; two degrees are more than any stopping tolerance.
            let room = if banded { 5_000 } else { 0 };
            let near = |a: &i64| (a.abs() - thousandths).abs() <= room;
            if !ends.iter().any(near) {
                let from = if signed { i - 1 } else { i };
                let written = format!("{} deg", self.at(i).text);
                let message = format!("the words say {written}, and the statement ends at {}", to.value.show());
                return Some(WORDS_AGAINST_STATEMENT.at(self.place(from, i + 1), message).label(to.span, "the statement"));
            }
        }
        None
    }

    fn load(&self, found: &Found<'_>, step: &Step) -> Option<Diagnostic> {
        let load = match &step.kind {
            Kind::Close(load) | Kind::LetGo { load, .. } => *load,
            Kind::Lift(t) | Kind::Lower(t) => t.load,
            _ => return None,
        };
        let cell = &found.procedure.cell;
        let names = |i: usize| cell.loads.get(i).map(|l| [l.name.value.as_str(), l.title.as_str()]).unwrap_or_default();
        let here = |i: usize| names(i).into_iter().filter(|n| !n.is_empty()).find_map(|n| self.find(n));
        if !self.states || here(load.value.at()).is_some() {
            return None;
        }
        let (other, (from, to)) = (0..cell.loads.len()).filter(|i| *i != load.value.at()).find_map(|i| here(i).map(|p| (i, p)))?;
        let message = format!("the words name {}, and the statement is about {}", names(other)[0], names(load.value.at())[0]);
        Some(WORDS_AGAINST_STATEMENT.at(self.place(from, to), message).label(load.span, "the statement"))
    }
}

/// Every angle of a step in thousandths of a degree, and how far its moves go.
fn angles(step: &Step) -> Vec<i64> {
    let mut out = Vec::new();
    let mut add = |a: &Spanned<Angle>| out.push(a.value.0);
    for drive in drives(step) {
        match &drive.goal {
            Goal::To { from, to, within, .. } => from.iter().chain([to]).chain(within).for_each(&mut add),
            Goal::By { by, ending } => [by, ending].into_iter().for_each(&mut add),
            Goal::Until { not_past, .. } => add(not_past),
            Goal::Taps { tap, low, high, .. } => [tap, low, high].into_iter().for_each(&mut add),
        }
    }
    if let Kind::Together(two) = &step.kind {
        two.gates.iter().flat_map(|g| [&g.not_past, &g.past]).for_each(&mut add);
    }
    for drive in drives(step) {
        if let Goal::To { from: Some(from), to, .. } = &drive.goal {
            out.push(to.value.0 - from.value.0);
        }
    }
    out
}

/// A plain decimal in thousandths.
fn thousandths(number: &str) -> Option<i64> {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let digits = |s: &str| s.len() < 5 && s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(part) || part.len() > 3 {
        return None;
    }
    let part = format!("{part:0<3}");
    Some(whole.parse::<i64>().ok()? * 1000 + part.parse::<i64>().ok()?)
}

/// One thing by two names, over all words of the procedure.
pub(super) fn names(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let cell = &procedure.cell;
    let loads = cell.loads.iter().map(|l| (l.name.value.as_str(), l.title.as_str()));
    let stations = cell.stations.iter().map(|s| (s.name.value.as_str(), s.title.as_str()));
    let joints = procedure.arm.joints.iter().map(|j| (j.name.value.as_str(), j.engraved.as_str()));
    let apart: Vec<(&str, &str)> = loads.chain(stations).chain(joints).filter(|(a, b)| are_apart(a, b)).collect();
    if apart.is_empty() {
        return;
    }
    let mut texts: Vec<(&Text, Option<&Step>)> = Vec::new();
    for item in procedure.sections.iter().flat_map(|s| &s.items) {
        if let Item::Prose(text, ProseKind::Paragraph | ProseKind::List | ProseKind::Table) = item {
            texts.push((text, None));
        }
    }
    for step in &procedure.steps {
        texts.extend([&step.text].into_iter().chain(step.lines.iter().map(|l| &l.text)).map(|t| (t, Some(step))));
    }
    texts.sort_by_key(|(t, _)| t.span.start);
    for (name, title) in apart {
        let mut first: [Option<Span>; 2] = [None, None];
        for (text, step) in &texts {
            let reading = Reading::of(text.span.of(found.text), false);
            for tokens in reading.sentences() {
                let words = Words { arm: &procedure.arm, tokens, span: text.span, states: true };
                for (slot, called) in [name, title].into_iter().enumerate() {
                    let Some((from, to)) = words.find(called).filter(|_| first[slot].is_none()) else { continue };
                    let place = words.place(from, to);
                    first[slot] = Some(place);
                    if let Some(other) = first[1 - slot] {
                        let message = format!("`{name}` and `{title}` are one thing, and the words call it both");
                        let problem = TWO_NAMES.at(place, message).label(other, "its other name").help("keep to one of the two");
                        found.push(match step {
                            Some(step) => problem.step(&step.number),
                            None => problem,
                        });
                    }
                }
            }
        }
    }
}

/// Whether two names of a thing share no word: one may otherwise be short for the other.
fn are_apart(name: &str, title: &str) -> bool {
    let words = |s: &str| s.to_ascii_lowercase().split([' ', '-', ',']).map(|w| w.trim_end_matches('s').to_string()).collect::<Vec<_>>();
    let (a, b) = (words(name), words(title));
    !title.is_empty() && !a.iter().any(|w| b.contains(w))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_words_are_read_exactly() {
        assert_eq!(thousandths("42"), Some(42_000));
        assert_eq!(thousandths("4.05"), Some(4_050));
        assert_eq!(thousandths(".5"), None);
        assert_eq!(thousandths("1,000"), None);
    }

    #[test]
    fn a_name_and_its_short_form_are_one_name() {
        assert!(!are_apart("cradle", "inlet cradle") && !are_apart("wrist-pitch", "WRIST PITCH") && !are_apart("stand", ""));
        assert!(are_apart("base", "SLEW") && are_apart("pot", "sample cup"));
    }

    #[test]
    fn forms_of_a_direction_word_are_known() {
        assert!(["raise", "Raises", "raised", "raising"].iter().all(|w| is_form(w, "raise")));
        assert!(is_form("folds", "fold") && is_form("lowering", "lower") && !is_form("raisin", "raise"));
    }
}
