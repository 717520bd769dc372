//! A model file as it was entered: every value by its key, with its place, whether or not it makes sense.
//!
//! Invariant: nothing that stands in the file is left out. What its key's form cannot read is kept as it is written, and
//! so is a key that no table knows.

use crate::model::keys::{Form, Key, Table};
use crate::syntax::record::{self, Field, Record};
use crate::text::{FileId, Span, Spanned};
use crate::units::{Number, Quantity, Round};

/// A table of the file.
#[derive(Debug)]
pub(super) struct Node {
    pub(super) table: &'static Table,
    pub(super) span: Span,
    /// What is written, by key, in the order of the table's keys.
    pub(super) values: Vec<(&'static Key, Spanned<Value>)>,
    /// Keys that the table does not know, each with its value as written.
    pub(super) strange: Vec<(String, Spanned<Value>)>,
}

/// A value as its key's form reads it.
#[derive(Debug)]
pub(super) enum Value {
    /// A name or one of a few words: letter by letter.
    Name(String),
    /// Words for people.
    Prose(String),
    Flag(bool),
    Number(Number),
    Quantity(Quantity, Round),
    /// Quantities along x, y and z.
    Along(Vec<Quantity>, Round),
    /// Names in no order.
    Names(Vec<Spanned<String>>),
    /// Sentences in their order.
    Lines(Vec<Spanned<String>>),
    Map(Vec<(Spanned<String>, Spanned<Value>)>),
    Table(Node),
    Rows(Vec<Node>),
    /// What cannot be read, as written.
    Unread(String),
}

impl Node {
    /// The value of a key, if it is written.
    pub(super) fn get(&self, name: &str) -> Option<&Spanned<Value>> {
        self.values.iter().find(|(k, _)| k.name == name).map(|(_, v)| v)
    }
    /// The value of a key that holds a name or words.
    pub(super) fn text(&self, name: &str) -> Option<&str> {
        match &self.get(name)?.value {
            Value::Name(text) | Value::Prose(text) | Value::Unread(text) => Some(text),
            _ => None,
        }
    }
}

impl Value {
    /// Whether leaving it out would say the same.
    pub(super) fn says_nothing(&self) -> bool {
        match self {
            Value::Flag(flag) => !flag,
            Value::Names(list) | Value::Lines(list) => list.is_empty(),
            Value::Map(entries) => entries.is_empty(),
            _ => false,
        }
    }
}

/// Reads a whole file by a table of keys; `true` if it is valid TOML throughout.
pub(super) fn read(file: FileId, text: &str, table: &'static Table) -> (Node, bool) {
    let ((node, whole), _) = record::read(file, text, 0..text.len(), "", |r| (node(r, table, text), !r.torn()));
    (node, whole)
}

fn node(r: &Record<'_>, table: &'static Table, text: &str) -> Node {
    let mut values = Vec::new();
    for key in table.keys {
        let field = r.key(key.name);
        if let Some(span) = field.span() {
            values.push((key, Spanned::new(value(field, key.form, text), span)));
        }
    }
    let strange = r.unasked().into_iter().filter_map(|(name, field)| {
        let span = field.span()?;
        Some((name.value, Spanned::new(Value::Unread(span.of(text).to_owned()), span)))
    });
    let strange = strange.collect();
    Node { table, span: r.span(), values, strange }
}

fn value(field: Field<'_>, form: Form, text: &str) -> Value {
    let read = match form {
        Form::Name | Form::Word(_) | Form::Unit | Form::Axis => field.name().map(|n| Value::Name(n.value)),
        Form::Words | Form::Date => field.prose().map(|w| Value::Prose(even(&w.value))),
        Form::Flag => field.flag().map(|f| Value::Flag(f.value)),
        Form::Count(..) | Form::Factor(_) => field.number().map(|n| Value::Number(n.value)),
        Form::Quantity(dimension, side, _) => field.quantity(dimension).map(|q| Value::Quantity(q.value, side.round())),
        Form::Amount => field.any_quantity("").map(|q| Value::Quantity(q.value, Round::Up)),
        Form::Point | Form::Turn => each(field, |f| f.any_quantity("").map(|q| q.value)).map(|v| Value::Along(v, Round::Down)),
        Form::Names => each(field, Field::name).map(Value::Names),
        Form::Lines => each(field, |f| f.prose().map(|w| w.map(|w| even(&w)))).map(Value::Lines),
        Form::Pairs => each(field, pair).map(Value::Names),
        Form::Map(_) => (field.shape() == Some("table")).then(|| {
            let entries = field.entries().into_iter();
            Value::Map(entries.filter_map(|(name, f)| Some((name, Spanned::new(free(f, text), f.span()?)))).collect())
        }),
        Form::Table(table) => field.table(|r| node(r, table, text)).map(Value::Table),
        Form::Tables(table) => each(field, |f| f.table(|r| node(r, table, text))).map(Value::Rows),
    };
    read.unwrap_or_else(|| Value::Unread(field.span().map_or(String::new(), |s| even(s.of(text)))))
}

/// The value of a free name: a quantity or quantities where it reads as such.
fn free(field: Field<'_>, text: &str) -> Value {
    if let Some(q) = field.any_quantity("") {
        return Value::Quantity(q.value, Round::Down);
    }
    let along = || (field.shape() == Some("array")).then(|| each(field, |f| f.any_quantity("").map(|q| q.value))).flatten();
    let name = || (field.shape() == Some("string")).then(|| field.prose()).flatten();
    match (name(), along()) {
        (Some(name), _) => Value::Name(name.value),
        (None, Some(along)) => Value::Along(along, Round::Down),
        (None, None) => Value::Unread(field.span().map_or(String::new(), |s| even(s.of(text)))),
    }
}

/// Every element of an array, or nothing if one cannot be read.
fn each<'a, T>(field: Field<'a>, read: impl FnMut(Field<'a>) -> Option<T>) -> Option<Vec<T>> {
    if field.shape() != Some("array") {
        return None;
    }
    field.array().into_iter().map(read).collect()
}

/// What stands between the names of a pair.
pub(super) const BETWEEN: &str = "` with `";

/// A pair of names; which stands first means nothing.
fn pair(field: Field<'_>) -> Option<Spanned<String>> {
    let span = field.span()?;
    let mut names: Vec<String> = each(field, Field::name)?.into_iter().map(|n| n.value).collect();
    names.sort_unstable();
    Some(Spanned::new(names.join(BETWEEN), span))
}

/// Words without their line breaks: where a line ends is formatting.
fn even(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}
