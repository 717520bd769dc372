//! Reading TOML as records whose every value knows its place: front matter here, models elsewhere.
//!
//! [`read`] parses a text and hands a [`Record`] to a closure. The closure asks for keys; each key is
//! read through a [`Field`] that checks the type and reports what is wrong. When the closure returns,
//! every key that nobody asked for is reported as unknown, so a record cannot forget to refuse one.
//!
//! ```
//! use surehand::{syntax::record, text::FileId, units::Dimension};
//! let text = "name = \"crate\"\nmass = \"12 kg\"\nmas = 3\n";
//! let (load, problems) = record::read(FileId(0), text, 0..text.len(), "a load", |r| {
//!     let name = r.key("name").needed().name();
//!     let mass = r.key("mass").needed().quantity(Dimension::Mass);
//!     (name, mass)
//! });
//! assert_eq!(load.1.map(|m| m.value.to_string()).as_deref(), Some("12 kg"));
//! assert_eq!(problems[0].rule.id, "unknown-key");
//! ```
//!
//! Invariant: all problems are collected, in the order of the text; a value that was reported reads as
//! `None`. Quantities are strings read by the project's own number production, never TOML floats.

mod rules;

pub use rules::*;

use super::characters;
use crate::diag::{Diagnostic, suggest};
use crate::text::{FileId, Span, Spanned};
use crate::units::{Dimension, Number, Quantity};
use std::cell::{Cell, RefCell};
use std::ops::Range;
use toml::Spanned as TomlSpanned;
use toml::de::{DeTable, DeValue};

/// What all records of one text share.
struct Shared<'a> {
    file: FileId,
    text: &'a str,
    base: usize,
    problems: RefCell<Vec<Diagnostic>>,
    /// The text was not valid TOML: what seems missing may only be unread.
    torn: Cell<bool>,
}

impl Shared<'_> {
    fn span(&self, range: Range<usize>) -> Span {
        Span::new(self.file, self.base + range.start, self.base + range.end)
    }
    fn report(&self, problem: Diagnostic) {
        self.problems.borrow_mut().push(problem);
    }
    /// A key that is missing because it is misspelt is one mistake, told at the misspelt key.
    fn found_misspelt(&self, missing: &str) {
        let mut problems = self.problems.borrow_mut();
        if let Some(at) = problems.iter().rposition(|p| p.rule == &MISSING_KEY && p.message == missing) {
            problems.remove(at);
        }
    }
}

fn missing(owner: Owner<'_>, name: &str) -> String {
    format!("{owner} has no `{name}`")
}

/// Parses the TOML in bytes `range` of `text` and reads it with `build`. `what` names the whole for
/// messages: "the front matter", "the arm profile". Returns what `build` made and every problem.
pub fn read<T>(file: FileId, text: &str, range: Range<usize>, what: &str, build: impl FnOnce(&Record<'_>) -> T) -> (T, Vec<Diagnostic>) {
    let source = text.get(range.clone()).unwrap_or("");
    let shared = Shared { file, text, base: range.start, problems: RefCell::default(), torn: Cell::new(false) };
    let (table, errors) = DeTable::parse_recoverable(source);
    let mut last_line = None;
    for error in &errors {
        let at = error.span().unwrap_or(0..source.len());
        let line = source.get(..at.start).map_or(0, |t| t.matches('\n').count());
        shared.torn.set(true);
        if last_line.replace(line) == Some(line) {
            continue;
        }
        let span = shared.span(widen(source, at));
        shared.report(if error.message().starts_with("duplicate key") {
            DUPLICATE_KEY.at(span, format!("`{}` is written twice; keep one", span.of(text).trim()))
        } else {
            INVALID_TOML.at(span, format!("this is not valid TOML: {}", error.message()))
        });
    }
    let whole = Record {
        shared: &shared,
        table: table.get_ref(),
        owner: Owner::Whole(what),
        span: shared.span(0..source.len()),
        asked: RefCell::default(),
    };
    let made = build(&whole);
    whole.finish();
    let mut problems = shared.problems.into_inner();
    problems.sort_by_key(|p| (p.span.start, p.span.end));
    (made, problems)
}

/// A finding marks at least one character and never cuts one in two.
fn widen(text: &str, range: Range<usize>) -> Range<usize> {
    let start = text.floor_char_boundary(range.start.min(text.len()));
    let end = text.ceil_char_boundary(range.end.min(text.len()));
    if end > start {
        return start..end;
    }
    match text[start..].chars().next() {
        Some(c) if c != '\n' => start..start + c.len_utf8(),
        _ => text[..start].char_indices().next_back().map_or(0, |(i, _)| i)..start,
    }
}

/// How messages call a record; put into words only when there is something to say.
#[derive(Clone, Copy)]
enum Owner<'a> {
    Whole(&'a str),
    Table(&'a str),
}

impl std::fmt::Display for Owner<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Owner::Whole(what) => f.write_str(what),
            Owner::Table(name) => write!(f, "`{}`", name.escape_debug()),
        }
    }
}

/// A table of the text, being read.
pub struct Record<'a> {
    shared: &'a Shared<'a>,
    table: &'a DeTable<'a>,
    owner: Owner<'a>,
    span: Span,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a> Record<'a> {
    /// Where the table is written; for a `[header]` table this is the header.
    pub fn span(&self) -> Span {
        self.span
    }
    /// The file.
    pub fn file(&self) -> FileId {
        self.shared.file
    }
    /// How messages call this record.
    pub fn what(&self) -> String {
        self.owner.to_string()
    }
    /// The text was not valid TOML as a whole, so that absences mean nothing.
    pub fn torn(&self) -> bool {
        self.shared.torn.get()
    }
    /// Adds a finding of the caller's own.
    pub fn report(&self, problem: Diagnostic) {
        self.shared.report(problem);
    }
    /// Asks for a key, present or not. A key never asked for is an unknown key.
    pub fn key(&self, name: &'static str) -> Field<'a> {
        self.asked.borrow_mut().push(name);
        let found = self.table.get_key_value(name);
        Field {
            shared: self.shared,
            owner: self.owner,
            within: self.span,
            element: None,
            name,
            name_span: found.map(|(k, _)| self.shared.span(k.span())),
            value: found.map(|(_, v)| v),
        }
    }
    /// The keys that nobody asked for so far, in the order of the text.
    pub fn unasked(&self) -> Vec<(Spanned<String>, Field<'a>)> {
        let asked = self.asked.borrow();
        let mut rest: Vec<_> = self.table.iter().filter(|(k, _)| !asked.contains(&k.get_ref().as_ref())).collect();
        rest.sort_by_key(|(k, _)| k.span().start);
        let field = |(key, value): (&'a TomlSpanned<_>, _)| {
            let span = self.shared.span(key.span());
            let name: &'a std::borrow::Cow<'a, str> = key.get_ref();
            let (shared, owner) = (self.shared, self.owner);
            let field = Field { shared, owner, within: self.span, element: None, name, name_span: Some(span), value: Some(value) };
            (Spanned::new(name.to_string(), span), field)
        };
        rest.into_iter().map(field).collect()
    }
    /// Whether a key is written.
    pub fn has(&self, name: &str) -> bool {
        self.table.contains_key(name)
    }

    fn finish(&self) {
        let asked = self.asked.borrow();
        for (key, _) in self.table {
            let name = key.get_ref().as_ref();
            if asked.contains(&name) {
                continue;
            }
            let span = self.shared.span(key.span());
            if characters::report(self.shared.text, span, &mut self.shared.problems.borrow_mut()) {
                continue;
            }
            let mut problem = UNKNOWN_KEY.at(span, format!("`{}` is not a key of {}", name.escape_debug(), self.owner));
            if let Some(near) = suggest(name, asked.iter().copied()) {
                self.shared.found_misspelt(&missing(self.owner, near));
                problem = problem.help(format!("did you mean `{near}`?")).fix(span, near, format!("write `{near}`"));
            } else {
                let mut known = asked.clone();
                known.sort_unstable();
                problem = problem.help(format!("keys are: {}", known.join(", ")));
            }
            self.shared.report(problem);
        }
    }
}

/// The value of a key or an element of an array, perhaps absent, being read.
#[derive(Clone, Copy)]
pub struct Field<'a> {
    shared: &'a Shared<'a>,
    owner: Owner<'a>,
    within: Span,
    /// Which element of the value, from 1.
    element: Option<usize>,
    name: &'a str,
    name_span: Option<Span>,
    value: Option<&'a TomlSpanned<DeValue<'a>>>,
}

impl<'a> Field<'a> {
    /// Reports the key as missing if it is not there.
    #[must_use]
    pub fn needed(self) -> Self {
        self.missing(|name| format!("add a line `{name} = ...`"))
    }
    /// Like [`Field::needed`], for a table with a header of its own.
    #[must_use]
    pub fn needed_table(self) -> Self {
        self.missing(|name| format!("add a table `[{name}]`"))
    }
    fn missing(self, help: impl Fn(&str) -> String) -> Self {
        if self.value.is_none() && !self.shared.torn.get() {
            let whole = self.within.start as usize == self.shared.base;
            let at = if whole { first_line(self.shared.text, self.within) } else { self.within };
            self.shared.report(MISSING_KEY.at(at, missing(self.owner, self.name)).help(help(self.name)));
        }
        self
    }
    fn what(&self) -> String {
        let element = self.element.map_or(String::new(), |i| format!("element {i} of "));
        format!("{element}`{}` of {}", self.name.escape_debug(), self.owner)
    }
    /// Whether it is written.
    pub fn present(&self) -> bool {
        self.value.is_some()
    }
    /// The key's name and place.
    pub fn name_span(&self) -> Option<Span> {
        self.name_span
    }
    /// Where the value is written.
    pub fn span(&self) -> Option<Span> {
        self.value.map(|v| self.shared.span(v.span()))
    }
    /// The type's name, if present: for keys that accept several shapes.
    pub fn shape(&self) -> Option<&'static str> {
        self.value.map(|v| v.get_ref().type_str())
    }
    fn wrong(&self, value: &TomlSpanned<DeValue<'_>>, wanted: &str) {
        let span = self.shared.span(value.span());
        let got = value.get_ref().type_str();
        let an = if got.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        self.shared.report(WRONG_TYPE.at(span, format!("{} must be {wanted}, but {an} {got} is written", self.what())));
    }

    fn string(self, wanted: &str) -> Option<(Self, Spanned<&'a str>)> {
        let value = self.value?;
        let Some(text) = value.get_ref().as_str() else {
            self.wrong(value, wanted);
            return None;
        };
        let span = self.shared.span(value.span());
        if text.trim().is_empty() {
            self.shared.report(WRONG_TYPE.at(span, format!("{} is empty", self.what())).help("write it or leave the key out"));
            return None;
        }
        Some((self, Spanned::new(text, span)))
    }
    /// Words for people: any characters that are not refused everywhere.
    pub fn prose(self) -> Option<Spanned<String>> {
        self.string("a text in quotes").map(|(_, s)| s.map(str::to_string))
    }
    /// A name or identifier: characters that look like others are refused with a fix.
    pub fn name(self) -> Option<Spanned<String>> {
        let (field, text) = self.string("a name in quotes")?;
        if characters::report(field.shared.text, text.span, &mut field.shared.problems.borrow_mut()) {
            return None;
        }
        if text.value.trim() != text.value {
            let message = format!("{} has a blank at its {}", field.what(), if text.value.starts_with(' ') { "start" } else { "end" });
            field.shared.report(WRONG_TYPE.at(text.span, message).help("remove the blank: names are compared letter by letter"));
        }
        Some(text.map(str::to_string))
    }
    /// A quantity such as `"15 deg/s"` of one dimension.
    pub fn quantity(self, dimension: Dimension) -> Option<Spanned<Quantity>> {
        let what = self.what();
        let shared = self.shared;
        let read = self.any_quantity(&format!("{} in quotes, with its unit ({})", dimension.a_name(), dimension.units()))?;
        if read.value.unit.dimension == dimension {
            return Some(read);
        }
        let message = format!("{what} must be {}, but {} is {}", dimension.a_name(), read.value, read.value.unit.dimension.a_name());
        shared.report(BAD_QUANTITY.at(read.span, message).help(format!("its unit is {}", dimension.units())));
        None
    }
    /// A quantity of any dimension; `wanted` is for the message.
    pub fn any_quantity(self, wanted: &str) -> Option<Spanned<Quantity>> {
        if let Some(value) = self.value
            && matches!(value.get_ref(), DeValue::Integer(_) | DeValue::Float(_))
        {
            let span = self.shared.span(value.span());
            let written = span.of(self.shared.text);
            let message = format!("{} must be {wanted}, but the bare number {written} is written", self.what());
            self.shared.report(BAD_QUANTITY.at(span, message).help(format!("write it as a text with its unit: \"{written} ...\"")));
            return None;
        }
        let (field, text) = self.string(wanted)?;
        if characters::report(field.shared.text, text.span, &mut field.shared.problems.borrow_mut()) {
            return None;
        }
        match Quantity::parse(text.value) {
            Ok(q) => Some(Spanned::new(q, text.span)),
            Err(why) => {
                field.shared.report(BAD_QUANTITY.at(text.span, format!("{}: {why}", field.what())).help(format!("write {wanted}")));
                None
            }
        }
    }
    /// A plain decimal without unit, such as a friction or a direction component, read by the own number production.
    pub fn number(self) -> Option<Spanned<Number>> {
        let value = self.value?;
        if !matches!(value.get_ref(), DeValue::Integer(_) | DeValue::Float(_)) {
            self.wrong(value, "a plain number");
            return None;
        }
        let span = self.shared.span(value.span());
        let written = span.of(self.shared.text);
        match Number::read(written) {
            Ok((number, used)) if used == written.len() => Some(Spanned::new(number, span)),
            Ok(_) => {
                self.shared.report(BAD_QUANTITY.at(span, format!("{}: {}", self.what(), crate::units::NumberError::Notation)));
                None
            }
            Err((why, _)) => {
                self.shared.report(BAD_QUANTITY.at(span, format!("{}: {why}", self.what())));
                None
            }
        }
    }
    /// A whole number from 0 to 9999.
    pub fn count(self) -> Option<Spanned<u32>> {
        let (shared, what) = (self.shared, self.what());
        let number = self.number()?;
        let n = number.value;
        if n.decimals > 0 || n.signed || n.thousandths < 0 {
            shared.report(BAD_QUANTITY.at(number.span, format!("{what} must be a whole number without sign")));
            return None;
        }
        u32::try_from(n.thousandths / 1000).ok().map(|c| Spanned::new(c, number.span))
    }
    /// `true` or `false`.
    pub fn flag(self) -> Option<Spanned<bool>> {
        let value = self.value?;
        match value.get_ref() {
            DeValue::Boolean(b) => Some(Spanned::new(*b, self.shared.span(value.span()))),
            _ => {
                self.wrong(value, "true or false, without quotes");
                None
            }
        }
    }
    /// One of a few words.
    pub fn choice<T: Copy>(self, words: &[(&str, T)]) -> Option<Spanned<T>> {
        let list = words.iter().map(|w| format!("\"{}\"", w.0)).collect::<Vec<_>>().join(", ");
        let (field, text) = self.string(&format!("one of {list}"))?;
        if let Some((_, value)) = words.iter().find(|w| w.0 == text.value) {
            return Some(Spanned::new(*value, text.span));
        }
        if characters::report(field.shared.text, text.span, &mut field.shared.problems.borrow_mut()) {
            return None;
        }
        let mut problem = UNKNOWN_WORD.at(text.span, format!("{} is one of {list}, not \"{}\"", field.what(), text.value.escape_debug()));
        if let Some(near) = suggest(text.value, words.iter().map(|w| w.0)) {
            problem = problem.fix(text.span, format!("\"{near}\""), format!("write \"{near}\""));
        }
        field.shared.report(problem);
        None
    }
    /// A calendar date `YYYY-MM-DD` in quotes.
    pub fn date(self) -> Option<Spanned<String>> {
        let value = self.value?;
        if matches!(value.get_ref(), DeValue::Datetime(_)) {
            let span = self.shared.span(value.span());
            let written = span.of(self.shared.text);
            let problem = WRONG_TYPE.at(span, format!("{} must be a date in quotes", self.what()));
            self.shared.report(problem.fix(span, format!("\"{written}\""), "put the date in quotes"));
            return None;
        }
        let (field, text) = self.string("a date in quotes, YYYY-MM-DD")?;
        if is_date(text.value) {
            return Some(text.map(str::to_string));
        }
        if !characters::report(field.shared.text, text.span, &mut field.shared.problems.borrow_mut()) {
            let message = format!("{}: \"{}\" is not a day of the calendar", field.what(), text.value.escape_debug());
            field.shared.report(BAD_DATE.at(text.span, message).help("write year, month and day as YYYY-MM-DD, such as \"2026-11-20\""));
        }
        None
    }
    /// The elements of an array; empty if absent.
    pub fn array(self) -> Vec<Field<'a>> {
        let Some(value) = self.value else { return Vec::new() };
        let Some(items) = value.get_ref().as_array() else {
            self.wrong(value, "a list in square brackets");
            return Vec::new();
        };
        let element = |(i, v): (usize, &'a TomlSpanned<DeValue<'a>>)| Field {
            shared: self.shared,
            owner: self.owner,
            within: self.within,
            element: Some(i + 1),
            name: self.name,
            name_span: None,
            value: Some(v),
        };
        items.iter().enumerate().map(element).collect()
    }
    /// A list of names; what was reported is left out.
    pub fn names(self) -> Vec<Spanned<String>> {
        self.array().into_iter().filter_map(Field::name).collect()
    }
    /// A fixed number of quantities of one dimension, such as the three coordinates of a point.
    pub fn quantities<const N: usize>(self, dimension: Dimension) -> Option<[Spanned<Quantity>; N]> {
        let (shared, what, span) = (self.shared, self.what(), self.span()?);
        let before = shared.problems.borrow().len();
        let read: Vec<_> = self.array().into_iter().map(|f| f.quantity(dimension)).collect();
        if read.len() != N && shared.problems.borrow().len() == before {
            shared.report(WRONG_TYPE.at(span, format!("{what} needs {N} values, but {} are written", read.len())));
        }
        let read: Vec<_> = read.into_iter().collect::<Option<_>>()?;
        read.try_into().ok()
    }
    /// A table, read by `build`.
    pub fn table<T>(self, build: impl FnOnce(&Record<'a>) -> T) -> Option<T> {
        let value = self.value?;
        let Some(table) = value.get_ref().as_table() else {
            self.wrong(value, "a table");
            return None;
        };
        let record = Record {
            shared: self.shared,
            table,
            owner: Owner::Table(self.name),
            span: self.shared.span(value.span()),
            asked: RefCell::default(),
        };
        let made = build(&record);
        record.finish();
        Some(made)
    }
    /// An array of tables (`[[name]]`), each read by `build`.
    pub fn tables<T>(self, mut build: impl FnMut(&Record<'a>) -> T) -> Vec<T> {
        self.array().into_iter().filter_map(|f| f.table(&mut build)).collect()
    }
    /// The entries of a table whose keys are free names, in the order of the text.
    pub fn entries(self) -> Vec<(Spanned<String>, Field<'a>)> {
        let Some(value) = self.value else { return Vec::new() };
        let Some(table) = value.get_ref().as_table() else {
            self.wrong(value, "a table");
            return Vec::new();
        };
        let mut entries = Vec::with_capacity(table.len());
        for (key, value) in table {
            let span = self.shared.span(key.span());
            if characters::report(self.shared.text, span, &mut self.shared.problems.borrow_mut()) {
                continue;
            }
            let name = key.get_ref().as_ref();
            let field = Field {
                shared: self.shared,
                owner: Owner::Table(self.name),
                within: span,
                element: None,
                name,
                name_span: Some(span),
                value: Some(value),
            };
            entries.push((Spanned::new(name.to_string(), span), field));
        }
        entries.sort_by_key(|(k, _)| k.span.start);
        entries
    }
}

fn first_line(text: &str, span: Span) -> Span {
    let body = span.of(text);
    let skip = body.len() - body.trim_start().len();
    let line = body[skip..].lines().next().unwrap_or("");
    let start = span.start as usize + skip;
    Span::new(span.file, start, start + line.len())
}

/// Whether a text is a day of the Gregorian calendar in the extended form of ISO 8601.
pub fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    let shaped = bytes.len() == 10 && bytes.iter().enumerate().all(|(i, b)| if i == 4 || i == 7 { *b == b'-' } else { b.is_ascii_digit() });
    if !shaped {
        return false;
    }
    let part = |r: Range<usize>| text[r].parse::<u32>().unwrap_or(0);
    let (year, month, day) = (part(0..4), part(5..7), part(8..10));
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        _ => 0,
    };
    year > 0 && (1..=days).contains(&day)
}
