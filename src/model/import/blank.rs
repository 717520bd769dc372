//! Lines for what a description cannot say: each key that must be written and is not, with the form of its value.

use crate::model::keys::{Form, Key, Table};
use crate::units::UNITS;
use std::fmt::Write as _;

/// Lines to fill in, and the list of them.
pub(super) struct Blanks {
    joints: Vec<String>,
    list: Vec<String>,
}

impl Blanks {
    /// For an arm with these joints.
    pub(super) fn new(joints: &[String]) -> Blanks {
        Blanks { joints: joints.to_vec(), list: Vec::new() }
    }

    /// Something to be added that no table asks for.
    pub(super) fn note(&mut self, what: String) {
        self.list.push(what);
    }

    /// All that must be added, each once.
    pub(super) fn listed(&self) -> Vec<String> {
        self.list.clone()
    }

    /// What may be added: the keys of a table that need not be written, save those given.
    pub(super) fn optional(table: &'static Table, path: &str, given: &[&str]) -> Vec<String> {
        let free = table.keys.iter().filter(|k| !k.must && !given.contains(&k.name));
        free.map(|key| sentence(key, path)).collect()
    }

    /// The table of a key.
    pub(super) fn table(table: &'static Table, key: &str) -> &'static Table {
        match table.keys.iter().find(|k| k.name == key).map(|k| k.form) {
            Some(Form::Table(inner) | Form::Tables(inner)) => inner,
            _ => table,
        }
    }

    /// A line for each key of a table that must be written, is no table of its own, and is not among those given.
    pub(super) fn keys(&mut self, table: &'static Table, path: &str, given: &[&str]) -> String {
        let missing = table.keys.iter().filter(|k| k.must && !given.contains(&k.name) && !is_block(k));
        missing.map(|key| self.line(key, path)).collect()
    }

    /// A table in one line, of which some values are known.
    pub(super) fn with(&mut self, table: &'static Table, path: &str, key: &str, known: &[(&str, String)]) -> String {
        let Some(key) = table.keys.iter().find(|k| k.name == key) else { return String::new() };
        self.list(key, path);
        let Form::Table(inner) = key.form else { return String::new() };
        let value = |k: &Key| known.iter().find(|(name, _)| *name == k.name).map_or_else(|| self.value(k), |(_, value)| value.clone());
        let values: Vec<String> = inner.keys.iter().filter(|k| k.must).map(|k| format!("{} = {}", k.name, value(k))).collect();
        format!("#? {} = {{ {} }}\n", key.name, values.join(", "))
    }

    /// A block for each table that must be written and is not among those given, with the blocks inside it.
    pub(super) fn tables(&mut self, table: &'static Table, path: &str, given: &[&str]) -> String {
        let mut out = String::new();
        for key in table.keys.iter().filter(|k| k.must && !given.contains(&k.name) && is_block(k)) {
            let inner_path = if path.is_empty() { key.name.to_string() } else { format!("{path}.{}", key.name) };
            let (inner, head) = match key.form {
                Form::Tables(inner) => (inner, format!("#? [[{inner_path}]]\n")),
                Form::Table(inner) => (inner, format!("#? [{inner_path}]\n")),
                _ => continue,
            };
            // A stick drives joints, each by an axis of its own.
            let axes = inner.keys.iter().any(|k| k.name == "joint" && k.must);
            if path.is_empty() {
                out += "\n";
            }
            for joint in if axes { self.joints.clone() } else { vec![String::new()] } {
                out += &head;
                let given: &[&str] = if axes { &["joint"] } else { &[] };
                if axes {
                    _ = writeln!(out, "#? joint = \"{joint}\"");
                }
                out += &self.keys(inner, &inner_path, given);
                out += &self.tables(inner, &inner_path, given);
            }
        }
        out
    }

    fn line(&mut self, key: &Key, path: &str) -> String {
        self.list(key, path);
        format!("#? {} = {}\n", key.name, self.value(key))
    }

    fn list(&mut self, key: &Key, path: &str) {
        let line = sentence(key, path);
        if !self.list.contains(&line) {
            self.list.push(line);
        }
    }

    /// The form of a value.
    fn value(&self, key: &Key) -> String {
        let unit = |dimension| UNITS.iter().find(|u| u.dimension == dimension).map_or("", |u| u.name);
        match key.form {
            Form::Name | Form::Words | Form::Unit | Form::Amount => "\"...\"".into(),
            Form::Names | Form::Lines => "[\"...\"]".into(),
            Form::Pairs => "[[\"...\", \"...\"]]".into(),
            Form::Date => "\"YYYY-MM-DD\"".into(),
            Form::Count(..) | Form::Factor(_) | Form::Flag => "...".into(),
            Form::Word(words) => format!("\"{}\"", words().join("|")),
            Form::Quantity(dimension, ..) => format!("\"... {}\"", unit(dimension)),
            Form::Point => "[\"... mm\", \"... mm\", \"... mm\"]".into(),
            Form::Turn => "[\"... deg\", \"... deg\", \"... deg\"]".into(),
            Form::Axis => "\"+x|-x|+y|-y|+z|-z\"".into(),
            Form::Map(_) => {
                let angles: Vec<String> = self.joints.iter().map(|j| format!("{j} = \"... deg\"")).collect();
                format!("{{ {} }}", angles.join(", "))
            }
            Form::Table(inner) => {
                let values: Vec<String> = inner.keys.iter().filter(|k| k.must).map(|k| format!("{} = {}", k.name, self.value(k))).collect();
                format!("{{ {} }}", values.join(", "))
            }
            Form::Tables(_) => "...".into(),
        }
    }
}

fn sentence(key: &Key, path: &str) -> String {
    let space = if path.is_empty() { "" } else { " " };
    format!("{path}{space}`{}`: {}", key.name, key.meaning)
}

/// Whether a key is a block of its own, not a line.
fn is_block(key: &Key) -> bool {
    match key.form {
        Form::Tables(_) => true,
        Form::Table(inner) => inner.head.starts_with('['),
        _ => false,
    }
}
