//! Reading a record by the entries of [`super::keys`].
//!
//! Invariant: conversion, rounding and bounds are those of the entry. A value that was reported reads as `None`.

use super::Origin;
use super::arm::{Axis, Friction};
use super::keys::{Bound, FRICTION, Form, Key, ORIGIN, Side, key};
use super::rules::IMPOSSIBLE_VALUE;
use super::shape::{Shape, Turn, shape};
use crate::diag::{Diagnostic, Family, Severity};
use crate::syntax::characters;
use crate::syntax::record::{self, Field, Record};
use crate::text::{FileId, Span, Spanned};
use crate::units::{Angle, AngleRate, Dimension, Drift, Force, Length, Mass, Pressure, Quantity, Ratio, Round, Time, Torque};

/// Reads a whole file. What could not be read completely gives no model: nothing is ever checked against part of one.
pub(super) fn whole<T>(file: FileId, text: &str, what: &str, build: impl FnOnce(&Record<'_>) -> Option<T>) -> (Option<T>, Vec<Diagnostic>) {
    let (made, mut problems) = record::read(file, text, 0..text.len(), what, build);
    let refused = text
        .char_indices()
        .filter_map(|(at, c)| characters::refused(c).map(|rule| characters::refuse(rule, c, Span::new(file, at, at + c.len_utf8()))));
    let refused: Vec<Diagnostic> = refused.collect();
    // After a mistake in the TOML itself everything else is guesswork: only the cause is told.
    if let Some(torn) = problems.iter().position(|p| p.rule == &record::INVALID_TOML) {
        problems = if refused.is_empty() { vec![problems.swap_remove(torn)] } else { Vec::new() };
    }
    problems.extend(refused);
    problems.sort_by_key(|p| (p.span.start, p.span.end));
    let unread = problems.iter().any(|p| p.severity == Severity::Error && p.rule.family != Family::Model);
    (made.filter(|_| !unread), problems)
}

/// A quantity type that can be read.
pub(super) trait Measure: Copy + Sized {
    /// Its dimension.
    const DIMENSION: Dimension;
    /// From base units.
    fn from_base(base: i64) -> Self;
}

macro_rules! measures {
    ($($name:ident),*) => {$(
        impl Measure for $name {
            const DIMENSION: Dimension = $name::DIMENSION;
            fn from_base(base: i64) -> Self { $name(base) }
        }
    )*};
}
measures!(Angle, Length, Mass, Force, Pressure, Torque, Time, AngleRate, Drift);

/// So that every index fits and no file makes the checks endless.
const MOST_ROWS: usize = 10_000;

/// Reading by entry.
pub(super) trait Read<'a> {
    /// The field of a key, reported if it must be there and is not.
    fn get(&self, key: &'static Key) -> Field<'a>;
    /// A name.
    fn name(&self, key: &'static Key) -> Option<Spanned<String>>;
    /// Words for people.
    fn words(&self, key: &'static Key) -> Option<Spanned<String>>;
    /// A list of sentences.
    fn lines(&self, key: &'static Key) -> Vec<Spanned<String>>;
    /// A date.
    fn date(&self, key: &'static Key) -> Option<Spanned<String>>;
    /// A flag; absent is false.
    fn flag(&self, key: &'static Key) -> bool;
    /// A whole number within the entry's bounds.
    fn count(&self, key: &'static Key) -> Option<Spanned<u32>>;
    /// A plain decimal within the entry's bounds.
    fn factor(&self, key: &'static Key) -> Option<Spanned<Ratio>>;
    /// One of the entry's words; `values` in the same order.
    fn word<T: Copy>(&self, key: &'static Key, values: &[T]) -> Option<Spanned<T>>;
    /// A quantity, rounded and bounded by the entry.
    fn quantity<T: Measure>(&self, key: &'static Key) -> Option<Spanned<T>>;
    /// A quantity that this kind of record needs, though not every kind does.
    fn wanted<T: Measure>(&self, key: &'static Key) -> Option<Spanned<T>>;
    /// An array of tables, each read by `build`; at most 10 000.
    fn rows<T>(&self, key: &'static Key, build: impl FnMut(&Record<'a>) -> Option<T>) -> Vec<Option<T>>;
    /// Three lengths.
    fn point(&self, key: &'static Key) -> Option<[Length; 3]>;
    /// Three turns about fixed x, y and z; absent is none.
    fn turn(&self, key: &'static Key) -> Turn;
    /// A signed coordinate axis.
    fn axis(&self, key: &'static Key) -> Option<Spanned<Axis>>;
    /// `origin`.
    fn origin(&self, key: &'static Key) -> Option<Origin>;
    /// `friction`.
    fn friction(&self, key: &'static Key) -> Option<Friction>;
    /// `shape` tables; `None` if one of them could not be read.
    fn shapes(&self, key: &'static Key) -> Option<Vec<Shape>>;
}

impl<'a> Read<'a> for Record<'a> {
    fn get(&self, key: &'static Key) -> Field<'a> {
        let field = self.key(key.name);
        if key.must { field.needed() } else { field }
    }
    fn name(&self, key: &'static Key) -> Option<Spanned<String>> {
        self.get(key).name()
    }
    fn words(&self, key: &'static Key) -> Option<Spanned<String>> {
        self.get(key).prose()
    }
    fn lines(&self, key: &'static Key) -> Vec<Spanned<String>> {
        self.get(key).array().into_iter().filter_map(Field::prose).collect()
    }
    fn date(&self, key: &'static Key) -> Option<Spanned<String>> {
        self.get(key).date()
    }
    fn flag(&self, key: &'static Key) -> bool {
        self.get(key).flag().is_some_and(|f| f.value)
    }
    fn count(&self, key: &'static Key) -> Option<Spanned<u32>> {
        let read = self.get(key).count()?;
        if let Form::Count(least, most) = key.form
            && !(least..=most).contains(&read.value)
        {
            let message = format!("`{}` of {} must be from {least} to {most}, but {} is written", key.name, self.what(), read.value);
            self.report(IMPOSSIBLE_VALUE.at(read.span, message));
        }
        Some(read)
    }
    fn factor(&self, key: &'static Key) -> Option<Spanned<Ratio>> {
        let read = self.get(key).number()?;
        if let Form::Factor(bound) = key.form {
            bounded(self, key, bound, read.value.thousandths, read.span, &read.value.to_string());
        }
        Some(read.map(|n| Ratio(n.thousandths * 1000)))
    }
    fn word<T: Copy>(&self, key: &'static Key, values: &[T]) -> Option<Spanned<T>> {
        let Form::Word(words) = key.form else { return None };
        let table: Vec<(&str, T)> = words().into_iter().zip(values.iter().copied()).collect();
        self.get(key).choice(&table)
    }
    fn quantity<T: Measure>(&self, key: &'static Key) -> Option<Spanned<T>> {
        let read = self.get(key).quantity(T::DIMENSION)?;
        let Form::Quantity(_, side, bound) = key.form else { return None };
        let value = read.value.base(side.round());
        bounded(self, key, bound, read.value.number.thousandths, read.span, &read.value.to_string());
        Some(Spanned::new(T::from_base(value), read.span))
    }
    fn wanted<T: Measure>(&self, key: &'static Key) -> Option<Spanned<T>> {
        wanted(self, key).then(|| self.quantity(key)).flatten()
    }
    fn rows<T>(&self, key: &'static Key, build: impl FnMut(&Record<'a>) -> Option<T>) -> Vec<Option<T>> {
        let field = self.get(key);
        let span = field.name_span().unwrap_or(self.span());
        let rows = field.tables(build);
        if rows.len() > MOST_ROWS {
            self.report(IMPOSSIBLE_VALUE.at(span, format!("there are {} of `{}`, but at most {MOST_ROWS} can be", rows.len(), key.name)));
            return vec![None];
        }
        if rows.is_empty() && key.must && self.has(key.name) {
            self.report(IMPOSSIBLE_VALUE.at(span, format!("{} needs at least one `{}`", self.what(), key.name)));
        }
        rows
    }
    fn point(&self, key: &'static Key) -> Option<[Length; 3]> {
        self.get(key).quantities::<3>(Dimension::Length).map(nominal)
    }
    fn turn(&self, key: &'static Key) -> Turn {
        let read = self.get(key).quantities::<3>(Dimension::Angle);
        read.map_or([Angle::ZERO; 3], |a| a.map(|q| Angle(q.value.base(Side::Nominal.round()))))
    }
    fn axis(&self, key: &'static Key) -> Option<Spanned<Axis>> {
        const AXES: [(&str, Axis); 6] = [
            ("+x", Axis { index: 0, negative: false }),
            ("-x", Axis { index: 0, negative: true }),
            ("+y", Axis { index: 1, negative: false }),
            ("-y", Axis { index: 1, negative: true }),
            ("+z", Axis { index: 2, negative: false }),
            ("-z", Axis { index: 2, negative: true }),
        ];
        self.get(key).choice(&AXES)
    }
    fn origin(&self, key: &'static Key) -> Option<Origin> {
        self.get(key)
            .table(|r| {
                let (source, date) = (r.words(key!(ORIGIN, "source")), r.date(key!(ORIGIN, "date")));
                Some(Origin { source: source?.value, date: date?.value })
            })
            .flatten()
    }
    fn friction(&self, key: &'static Key) -> Option<Friction> {
        self.get(key)
            .table(|r| {
                let (value, source) = (r.factor(key!(FRICTION, "value")), r.words(key!(FRICTION, "source")));
                Some(Friction { value: value?, source: source?.value })
            })
            .flatten()
    }
    fn shapes(&self, key: &'static Key) -> Option<Vec<Shape>> {
        self.rows(key, shape).into_iter().collect()
    }
}

fn nominal(read: [Spanned<Quantity>; 3]) -> [Length; 3] {
    read.map(|q| Length(q.value.base(Round::Down)))
}

fn bounded(r: &Record<'_>, key: &Key, bound: Bound, thousandths: i64, span: Span, written: &str) {
    let (fits, must) = match bound {
        Bound::Any => (true, ""),
        Bound::Positive => (thousandths > 0, "above zero"),
        Bound::NotNegative => (thousandths >= 0, "zero or above"),
        Bound::AtLeastOne => (thousandths >= 1000, "one or above"),
    };
    if !fits {
        r.report(IMPOSSIBLE_VALUE.at(span, format!("`{}` of {} must be {must}, but {written} is written", key.name, r.what())));
    }
}

/// Whether a key that the kind of shape needs is there; reported if not.
pub(super) fn wanted(r: &Record<'_>, key: &Key) -> bool {
    r.key(key.name).needed().present()
}
