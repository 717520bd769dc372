//! Reading one statement: a walk over the table of productions.
//!
//! The lexemes are nom parsers; the walk tries the parts of a production in order and remembers the furthest
//! place at which something else was expected, because that is where the writer went wrong.
//!
//! Invariant: one statement gives a value or exactly one finding, and never allocates unless it has gates.

pub(super) mod build;
mod rules;
mod trouble;

pub use rules::*;

use super::characters;
use super::grammar::{Kind, MOVE, PRODUCTIONS, Part, Production, Slot};
use super::tree::{AngleValue, LengthValue, Statement, TimeValue};
use crate::diag::Diagnostic;
use crate::text::{FileId, Span, Spanned};
use crate::units::{Angle, Dimension, Length, Number, NumberError, Quantity, Round, Time, Unit, unit};
use nom::bytes::complete::{tag, take_while1};
use nom::combinator::{fail, recognize, verify};
use nom::multi::many0_count;
use nom::sequence::{pair, preceded};
use nom::{IResult, Parser};
pub use trouble::expected_at;
use trouble::{Specific, Trouble};

/// A value that a slot held.
#[derive(Clone, Copy, Debug)]
pub(super) enum Value {
    Nothing,
    Flag(&'static str),
    Name,
    Angle(AngleValue),
    Length(LengthValue),
    Time(TimeValue),
    Quantity(Quantity),
    Count(u32),
}

/// One slot's value with its place.
#[derive(Clone, Copy, Debug)]
struct Capture {
    slot: Option<Slot>,
    value: Value,
    start: u32,
    end: u32,
}

/// Enough for `together:` with everything it can carry.
const MOST: usize = 24;

/// What was read, in order; the builders take it off the front.
pub(super) struct Captures<'t> {
    file: FileId,
    base: usize,
    text: &'t str,
    list: [Capture; MOST],
    len: usize,
    next: usize,
}

impl<'t> Captures<'t> {
    fn new(file: FileId) -> Self {
        let empty = Capture { slot: None, value: Value::Nothing, start: 0, end: 0 };
        Captures { file, base: 0, text: "", list: [empty; MOST], len: 0, next: 0 }
    }
    fn push(&mut self, slot: Option<Slot>, value: Value, start: usize, end: usize) {
        // Statements are at most one line of 16 KiB, so offsets fit.
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        if let Some(place) = self.list.get_mut(self.len) {
            *place = Capture { slot, value, start: small(start), end: small(end) };
            self.len += 1;
        }
    }
    fn span(&self, c: &Capture) -> Span {
        Span::new(self.file, self.base + c.start as usize, self.base + c.end as usize)
    }
    fn take(&mut self, slot: Slot) -> Option<(Value, Span)> {
        let c = self.list[..self.len].get(self.next)?;
        if c.slot != Some(slot) {
            return None;
        }
        let taken = (c.value, self.span(c));
        self.next += 1;
        Some(taken)
    }
    pub(super) fn at(&self, slot: Slot) -> bool {
        self.list[..self.len].get(self.next).is_some_and(|c| c.slot == Some(slot))
    }
    pub(super) fn flag(&mut self, word: &str) -> bool {
        let found = matches!(self.list[..self.len].get(self.next), Some(Capture { value: Value::Flag(w), .. }) if *w == word);
        self.next += usize::from(found);
        found
    }
    pub(super) fn flag_after(&self, word: &str) -> bool {
        matches!(self.list[..self.len].get(self.next + 1), Some(Capture { value: Value::Flag(w), .. }) if *w == word)
    }
    pub(super) fn name(&mut self, slot: Slot) -> Option<Span> {
        self.take(slot).map(|(_, span)| span)
    }
    pub(super) fn angle(&mut self, slot: Slot) -> Option<Spanned<AngleValue>> {
        match self.take(slot)? {
            (Value::Angle(v), span) => Some(Spanned::new(v, span)),
            _ => None,
        }
    }
    pub(super) fn length(&mut self, slot: Slot) -> Option<Spanned<LengthValue>> {
        match self.take(slot)? {
            (Value::Length(v), span) => Some(Spanned::new(v, span)),
            _ => None,
        }
    }
    pub(super) fn time(&mut self, slot: Slot) -> Option<Spanned<TimeValue>> {
        match self.take(slot)? {
            (Value::Time(v), span) => Some(Spanned::new(v, span)),
            _ => None,
        }
    }
    pub(super) fn quantity(&mut self, slot: Slot) -> Option<Spanned<Quantity>> {
        match self.take(slot)? {
            (Value::Quantity(v), span) => Some(Spanned::new(v, span)),
            _ => None,
        }
    }
    pub(super) fn count(&mut self, slot: Slot) -> Option<Spanned<u32>> {
        match self.take(slot)? {
            (Value::Count(v), span) => Some(Spanned::new(v, span)),
            _ => None,
        }
    }
}

// The lexemes read bytes: each ends at one of the ASCII alphabet, so that what is read is always whole characters.

type Read<'a> = IResult<&'a [u8], &'a [u8]>;

fn in_word(b: u8) -> bool {
    b.is_ascii_alphanumeric() || b == b'-' || b == b'_'
}
fn blank(c: char) -> bool {
    matches!(c, ' ' | '\n' | '\r' | '\t')
}
fn is_blank(b: u8) -> bool {
    blank(char::from(b))
}
/// How many blanks a text begins with.
fn blanks(i: &[u8]) -> usize {
    i.iter().take_while(|b| is_blank(**b)).count()
}
/// `name`
fn name(i: &[u8]) -> Read<'_> {
    verify(take_while1(in_word), |n: &[u8]| n[0].is_ascii_alphabetic()).parse_complete(i)
}
/// `level`
fn level(i: &[u8]) -> Read<'_> {
    verify(take_while1(in_word), |n: &[u8]| n[0].is_ascii_alphanumeric()).parse_complete(i)
}
/// `phrase`
fn phrase(i: &[u8]) -> Read<'_> {
    recognize(pair(name, many0_count(preceded(take_while1(is_blank), level)))).parse_complete(i)
}
/// `unit`
fn unit_word(i: &[u8]) -> Read<'_> {
    take_while1(|b| !is_blank(b) && !matches!(b, b',' | b';' | b':' | b'`' | b')')).parse_complete(i)
}
/// Fixed words, whole; between them any blanks.
fn fixed<'a>(words: &'static str, i: &'a [u8]) -> Read<'a> {
    let mut at = 0;
    for wanted in words.bytes() {
        let step = if wanted == b' ' { blanks(&i[at..]) } else { usize::from(i.get(at) == Some(&wanted)) };
        if step == 0 {
            return fail().parse_complete(i);
        }
        at += step;
    }
    if i.get(at).is_some_and(|b| in_word(*b)) {
        return fail().parse_complete(i);
    }
    let (read, rest) = i.split_at(at);
    Ok((rest, read))
}

/// Reads statements, one after the other, in one place.
pub(super) struct Walk<'t> {
    captures: Captures<'t>,
    trouble: Trouble,
}

impl<'t> Walk<'t> {
    fn rest(&self, at: usize) -> &'t [u8] {
        &self.captures.text.as_bytes()[at..]
    }
    /// Where the next lexeme starts: blanks are free between lexemes, and one is enough.
    fn skip(&self, at: usize) -> usize {
        at + blanks(self.rest(at))
    }
    fn consumed(&self, result: Read<'t>) -> Option<usize> {
        result.ok().map(|(rest, _)| self.captures.text.len() - rest.len())
    }

    fn words(&self, at: usize, words: &'static str) -> Option<(usize, usize)> {
        let start = self.skip(at);
        self.consumed(fixed(words, self.rest(start))).map(|end| (start, end))
    }

    fn sequence(&mut self, parts: &'static [Part], mut at: usize) -> Option<usize> {
        for part in parts {
            at = self.part(part, at)?;
        }
        Some(at)
    }

    /// Tries parts that may be left out; on failure nothing has been read.
    fn attempt(&mut self, parts: &'static [Part], at: usize) -> Option<usize> {
        let len = self.captures.len;
        let end = self.sequence(parts, at);
        if end.is_none() {
            self.captures.len = len;
        }
        end
    }

    fn part(&mut self, part: &'static Part, at: usize) -> Option<usize> {
        match part {
            Part::Words(words) => match self.words(at, words) {
                Some((_, end)) => Some(end),
                None => self.trouble.expected(self.skip(at), part),
            },
            Part::Flag(words) => match self.words(at, words) {
                Some((start, end)) => {
                    self.captures.push(None, Value::Flag(words), start, end);
                    Some(end)
                }
                None => self.trouble.expected(self.skip(at), part),
            },
            Part::Mark(mark) => {
                let start = self.skip(at);
                match self.consumed(tag(mark.as_bytes()).parse_complete(self.rest(start))) {
                    Some(end) => Some(end),
                    None => self.trouble.expected(start, part),
                }
            }
            Part::Slot(slot) => self.slot(*slot, part, at),
            Part::Maybe(parts) => Some(self.attempt(parts, at).unwrap_or(at)),
            Part::UpTo(most, parts) => {
                let mut end = at;
                for _ in 0..*most {
                    match self.attempt(parts, end) {
                        Some(next) => end = next,
                        None => break,
                    }
                }
                Some(end)
            }
            Part::Choice(choices) => choices.iter().find_map(|parts| self.attempt(parts, at)),
            Part::Named(named) => self.sequence(named.parts, at),
        }
    }

    fn slot(&mut self, slot: Slot, part: &'static Part, at: usize) -> Option<usize> {
        let start = self.skip(at);
        let rest = self.rest(start);
        let value = match slot.kind() {
            Kind::Name => self.consumed(name(rest)).map(|end| (Value::Name, end)),
            Kind::Level => self.consumed(level(rest)).map(|end| (Value::Name, end)),
            Kind::Phrase => self.consumed(phrase(rest)).map(|end| (Value::Name, end)),
            Kind::Unit => match self.consumed(unit_word(rest)) {
                Some(end) if unit(&self.captures.text[start..end]).is_some() => Some((Value::Name, end)),
                Some(end) => return self.trouble.specific(start, end, Specific::UnknownUnit(None)),
                None => None,
            },
            Kind::Count => return self.count(slot, part, start),
            Kind::Angle | Kind::Amount | Kind::Of(_) | Kind::Quantity => return self.quantity(slot, part, start),
        };
        match value {
            Some((value, end)) => {
                self.captures.push(Some(slot), value, start, end);
                Some(end)
            }
            None => self.trouble.expected(start, part),
        }
    }

    fn count(&mut self, slot: Slot, part: &'static Part, start: usize) -> Option<usize> {
        match Number::read(&self.captures.text[start..]) {
            Ok((n, used)) if n.decimals == 0 && !n.signed && n.thousandths > 0 => {
                let count = u32::try_from(n.thousandths / 1000).unwrap_or(u32::MAX);
                self.captures.push(Some(slot), Value::Count(count), start, start + used);
                Some(start + used)
            }
            Ok((_, used)) => self.trouble.specific(start, start + used, Specific::NoCount),
            Err((NumberError::Missing, _)) => self.trouble.expected(start, part),
            Err((why, used)) => self.trouble.specific(start, start + used, Specific::Number(why)),
        }
    }

    fn quantity(&mut self, slot: Slot, part: &'static Part, start: usize) -> Option<usize> {
        let (number, used) = match Number::read(&self.captures.text[start..]) {
            Ok(read) => read,
            Err((NumberError::Missing, _)) => return self.trouble.expected(start, part),
            Err((why, used)) => return self.trouble.specific(start, start + used, Specific::Number(why)),
        };
        let after = start + used;
        if slot.kind() == Kind::Amount && number.signed {
            return self.trouble.specific(start, after, Specific::SignedAmount(slot));
        }
        let from = self.skip(after);
        let glued = from == after;
        let end = self.consumed(unit_word(self.rest(from))).unwrap_or(from);
        let written = &self.captures.text[from..end];
        let Some(found) = unit(written) else {
            let missing = written.is_empty() || trouble::is_keyword(written);
            return if missing {
                self.trouble.specific(start, after, Specific::MissingUnit(slot, number))
            } else {
                self.trouble.specific(from, end, Specific::UnknownUnit(Some(slot)))
            };
        };
        if glued && written.starts_with(|c: char| c.is_ascii_alphanumeric()) {
            return self.trouble.specific(start, end, Specific::GluedUnit(after));
        }
        let Some(value) = convert(slot.kind(), number, found) else {
            return self.trouble.specific(from, end, Specific::WrongUnit(slot, found));
        };
        self.captures.push(Some(slot), value, start, end);
        Some(end)
    }
}

fn convert(kind: Kind, number: Number, unit: &'static Unit) -> Option<Value> {
    let written = Quantity { number, unit };
    match kind {
        Kind::Quantity => Some(Value::Quantity(written)),
        // Procedures use degrees only: the thousandths of the number are the angle, exactly.
        Kind::Angle | Kind::Amount => {
            (unit.name == "deg").then_some(Value::Angle(AngleValue { angle: Angle(number.thousandths), written }))
        }
        Kind::Of(Dimension::Length) => {
            Length::from_quantity(&written, Round::Down).map(|length| Value::Length(LengthValue { length, written }))
        }
        Kind::Of(Dimension::Time) => Time::from_quantity(&written, Round::Down).map(|time| Value::Time(TimeValue { time, written })),
        _ => None,
    }
}

/// Reads the statement in `text`, whose first byte stands at `base` in `file`. On a mistake: the finding, or
/// nothing where the unreadable character was reported already.
pub fn parse(file: FileId, base: usize, text: &str) -> Result<Statement, Option<Box<Diagnostic>>> {
    Walk::new(file).read(file, base, text)
}

impl<'t> Walk<'t> {
    pub(super) fn new(file: FileId) -> Self {
        Walk { captures: Captures::new(file), trouble: Trouble::default() }
    }

    /// See [`parse`].
    pub(super) fn read(&mut self, file: FileId, base: usize, text: &'t str) -> Result<Statement, Option<Box<Diagnostic>>> {
        if let (true, problem) = characters::judge(file, base, text) {
            return Err(problem.map(Box::new));
        }
        self.begin(base, text);
        let start = self.skip(0);
        let first = self.consumed(name(self.rest(start))).map_or("", |end| &text[start..end]);
        let mut begun = false;
        for production in PRODUCTIONS.iter().filter(|p| p.starts_with_word(first)) {
            begun = true;
            if let Some(statement) = self.whole(production.parts, production.build) {
                return Ok(statement);
            }
        }
        // A joint may bear a name that also starts a statement only where no such statement was begun.
        if !begun && let Some(statement) = self.whole(MOVE.parts, build::moving) {
            return Ok(statement);
        }
        Err(Some(Box::new(self.trouble.explain(file, base, text, begun))))
    }

    fn begin(&mut self, base: usize, text: &'t str) {
        (self.captures.base, self.captures.text) = (base, text);
        self.trouble.begin();
    }

    fn whole(&mut self, parts: &'static [Part], build: fn(&mut Captures<'_>) -> Option<Statement>) -> Option<Statement> {
        self.captures.len = 0;
        self.captures.next = 0;
        let end = self.sequence(parts, 0)?;
        let end = self.skip(end);
        if end < self.captures.text.len() {
            self.trouble.end(end);
            return None;
        }
        build(&mut self.captures)
    }
}

/// Whether `text` starts with the fixed words of a production.
fn starts(text: &str, keyword: &'static str) -> bool {
    fixed(keyword, text.as_bytes()).is_ok()
}

/// Whether a text that has no backticks is a statement all the same: it can be read as one up to some word, behind which are
/// words for people, or begins letter by letter with one that takes such words. "Lower the load" is none: instructions begin
/// with a capital.
pub fn is_bare(file: FileId, text: &str) -> bool {
    let takes_words = |p: &Production| matches!(p.parts, [Part::Words(_)]) || p.id == "repeat";
    let ends = || text.char_indices().filter(|(_, c)| blank(*c)).map(|(at, _)| at).chain([text.len()]);
    let reads = || ends().any(|end| parse(file, 0, &text[..end]).is_ok());
    PRODUCTIONS.iter().any(|p| starts(text, p.keyword()) && (takes_words(p) || reads()))
}

/// Whether a text would be taken for a statement by a reader: it starts with the words of one, or moves a joint.
pub fn looks_like(text: &str) -> bool {
    let text = text.trim_matches(blank);
    if PRODUCTIONS.iter().any(|p| starts(text, p.keyword())) {
        return true;
    }
    let mut words = text.split(blank).filter(|w| !w.is_empty());
    let (Some(joint), Some(direction), Some(how)) = (words.next(), words.next(), words.next()) else { return false };
    let named = |w: &str| name(w.as_bytes()).is_ok_and(|(rest, _)| rest.is_empty());
    let number =
        words.next().is_some_and(|w| w.trim_start_matches(['+', '-', '\u{2212}', '\u{2013}']).starts_with(|c: char| c.is_ascii_digit()));
    named(joint) && named(direction) && (matches!(how, "from" | "to") && number || how == "by" || how == "until")
}
