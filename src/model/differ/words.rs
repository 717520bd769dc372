//! What keys are called when people speak of them, and how much a difference in one matters.
//!
//! Invariant: both answers follow from the key's entry where nothing better is said here, so that a new key has them.

use super::entry::{Node, Value};
use crate::model::keys::{Form, Key, Table};
use crate::units::Dimension;

/// How much hangs on a difference, what matters most first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// Travel, forces, pressures, and which way is which.
    Limits,
    /// Shapes, places and poses.
    Shapes,
    /// Masses and their centres.
    Masses,
    /// Margins to keep, tolerances and bands.
    Margins,
    /// Kinds, names, and what goes with what.
    Kinds,
    /// Words for people, and dates.
    Words,
}

impl Class {
    /// All of them, what matters most first.
    pub const ALL: [Class; 6] = [Class::Limits, Class::Shapes, Class::Masses, Class::Margins, Class::Kinds, Class::Words];
    /// As a heading.
    pub fn title(self) -> &'static str {
        match self {
            Class::Limits => "limits and directions",
            Class::Shapes => "shapes and places",
            Class::Masses => "masses",
            Class::Margins => "margins and tolerances",
            Class::Kinds => "kinds and names",
            Class::Words => "words and dates",
        }
    }
    /// As data: `limits`.
    pub fn name(self) -> &'static str {
        match self {
            Class::Limits => "limits",
            Class::Shapes => "shapes",
            Class::Masses => "masses",
            Class::Margins => "margins",
            Class::Kinds => "kinds",
            Class::Words => "words",
        }
    }
    /// The class of a value: `path` are the keys it stands under, outermost first.
    pub(super) fn of(path: &[&str], key: &Key) -> Class {
        let under = |names: &[&str]| path.iter().any(|p| names.contains(p));
        if under(&["shape", "mounting", "mount"]) {
            return Class::Shapes;
        }
        if under(&["positive", "negative", "stick"]) {
            return Class::Limits;
        }
        let says = |words: &[&str]| words.iter().any(|w| key.name.contains(w));
        match key.form {
            Form::Lines if !in_order(key) => Class::Kinds,
            Form::Words | Form::Lines | Form::Date => Class::Words,
            Form::Name | Form::Names | Form::Word(_) | Form::Flag | Form::Unit => Class::Kinds,
            _ if key.name.starts_with("centre") => Class::Masses,
            Form::Map(_) if !says(&["angle", "readout"]) => Class::Kinds,
            Form::Point | Form::Turn | Form::Axis | Form::Map(_) => Class::Shapes,
            Form::Quantity(Dimension::Mass, ..) => Class::Masses,
            Form::Quantity(..) if says(&["heading", "turn"]) && !says(&["tolerance"]) => Class::Shapes,
            Form::Quantity(..)
                if says(&[
                    "margin",
                    "tolerance",
                    "clearance",
                    "band",
                    "hold",
                    "error",
                    "stop-by",
                    "contact-travel",
                    "seating",
                    "within",
                ]) =>
            {
                Class::Margins
            }
            Form::Quantity(..) | Form::Count(..) | Form::Factor(_) | Form::Amount | Form::Pairs => Class::Limits,
            Form::Table(table) | Form::Tables(table) => {
                let inner: Vec<&str> = path.iter().copied().chain([key.name]).collect();
                table.keys.iter().map(|k| Class::of(&inner, k)).min().unwrap_or(Class::Words)
            }
        }
    }
    /// The class of a whole item: that of what weighs most in it.
    pub(super) fn of_node(path: &[&str], node: &Node) -> Class {
        node.values.iter().map(|(k, _)| Class::of(path, k)).min().unwrap_or(Class::Kinds)
    }
}

/// Keys called otherwise than they are written: the key they stand under (or any), the key, its words.
const WORDS: &[(&str, &str, &str)] = &[
    ("", "stops", "hard stops"),
    ("", "low", "low end"),
    ("", "high", "high end"),
    ("", "stop-by-readout", "stopping tolerance by read-out"),
    ("", "stop-by-eye", "stopping tolerance by eye"),
    ("", "hold", "hold tolerance"),
    ("", "drift-powered", "drift with power"),
    ("", "drift-unpowered", "drift without power"),
    ("", "readout-error", "read-out error"),
    ("", "decimals", "decimals of the read-out"),
    ("", "rate", "speed at full stick"),
    ("positive", "word", "word"),
    ("", "positive", "positive direction"),
    ("", "negative", "negative direction"),
    ("axis", "positive", "stick movement for positive"),
    ("axis", "negative", "stick movement for negative"),
    ("actuator", "torque", "greatest torque"),
    ("actuator", "rated", "rated pressure"),
    ("jaw", "least", "least opening"),
    ("jaw", "most", "greatest opening"),
    ("level", "least", "least force"),
    ("level", "most", "greatest force"),
    ("jaw", "on-power-loss", "on loss of power"),
    ("console", "on-power-loss", "on loss of power"),
    ("console", "together", "joints that may move together"),
    ("", "mass-at-most", "mass at most"),
    ("", "crush", "crush limit"),
    ("load", "tilt", "greatest tilt"),
    ("", "drop-height", "greatest drop height"),
    ("shape", "from", "end `from`"),
    ("shape", "to", "end `to`"),
    ("link", "centre", "centre of mass"),
    ("load", "centre", "centre of mass"),
    ("tool", "centre", "centre of mass"),
    ("", "angles", "angle of"),
    ("", "severities", "severity of"),
    ("", "readouts", "read-out of"),
    ("", "when", "there only with"),
    ("", "severity", "severity class"),
    ("acceptance", "driven", "driven pose"),
    ("acceptance", "directions", "directions tried"),
    ("", "line", "labelled line"),
    ("", "role", "post"),
];

/// What a key is called; `under` is the key of the table it stands in.
pub(super) fn words(under: &str, key: &Key) -> String {
    let said = |at: &str| WORDS.iter().find(|(u, k, _)| *u == at && *k == key.name).map(|w| w.2.to_owned());
    said(under).or_else(|| said("")).unwrap_or_else(|| key.name.replace('-', " "))
}

/// The key that says which row of an array is which: its name, or what it is for.
pub(super) fn identity(table: &Table) -> Option<&'static Key> {
    let named = table.keys.iter().find(|k| k.name == "name");
    named.or_else(|| table.keys.iter().find(|k| k.must && matches!(k.form, Form::Name)))
}

/// The key that says of which sort a row without a name is.
pub(super) fn sort(table: &Table) -> Option<&'static Key> {
    table.keys.iter().find(|k| k.must && matches!(k.form, Form::Word(_)))
}

/// Arrays whose order says something: the chain of the joints, the strength of the levels.
const ORDERED: [&str; 2] = ["joint", "level"];

/// Whether the order of the rows of a key says something.
pub(super) fn ordered(key: &Key) -> bool {
    ORDERED.contains(&key.name)
}

/// Lists of sentences that are names of things, in no order.
const UNORDERED: [&str; 3] = ["approach", "support", "through"];

/// Whether the order of the sentences of a key says something.
pub(super) fn in_order(key: &Key) -> bool {
    !UNORDERED.contains(&key.name)
}

/// What a row is called: "obstacle `drain rack`", "box 2"; `at` is its place among those of its name or sort, from 1.
pub(super) fn row(under: &str, key: &Key, node: &Node, at: usize) -> String {
    let what = words(under, key);
    if let Some(name) = identity(node.table).and_then(|k| node.text(k.name)) {
        let again = if at > 1 { format!(" (number {at} of that name)") } else { String::new() };
        return format!("{what} `{name}`{again}");
    }
    match sort(node.table).and_then(|k| node.text(k.name)) {
        Some(kind) if key.name == "shape" => format!("{kind} {at}"),
        Some(kind) => format!("{what} `{kind}` {at}"),
        None => format!("{what} {at}"),
    }
}

/// What the values along x, y and z, or about them, are called.
pub(super) fn along(what: &str, form: Form, at: usize) -> String {
    match ["x", "y", "z"].get(at) {
        Some(axis) if matches!(form, Form::Turn) => format!("{what} about {axis}"),
        Some(axis) => format!("{what} {axis}"),
        None => format!("{what} {}", at + 1),
    }
}

/// A value as it is shown.
pub(super) fn show(value: &Value) -> String {
    match value {
        Value::Name(name) => format!("`{name}`"),
        Value::Prose(words) => format!("\"{words}\""),
        Value::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        Value::Number(number) => number.to_string(),
        Value::Quantity(q, _) => q.to_string(),
        Value::Along(along, _) => along.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        Value::Names(names) => names.iter().map(|n| format!("`{}`", n.value)).collect::<Vec<_>>().join(", "),
        Value::Lines(lines) => lines.iter().map(|l| format!("\"{}\"", l.value)).collect::<Vec<_>>().join(" "),
        Value::Map(entries) => entries.iter().map(|(n, v)| format!("`{}` {}", n.value, show(&v.value))).collect::<Vec<_>>().join(", "),
        Value::Table(_) => "given".to_owned(),
        Value::Rows(rows) => format!("{} given", rows.len()),
        Value::Unread(raw) => raw.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::reference::FILES;

    /// Every key with the key it stands under.
    fn all(under: &'static str, table: &'static Table, out: &mut Vec<(&'static str, &'static str)>) {
        for key in table.keys {
            out.push((under, key.name));
            if let Form::Table(inner) | Form::Tables(inner) = key.form {
                all(key.name, inner, out);
            }
        }
    }

    #[test]
    fn what_is_said_of_single_keys_is_said_of_keys_that_exist() {
        let mut keys = Vec::new();
        FILES.iter().for_each(|(_, table)| all("", table, &mut keys));
        for (under, key, words) in WORDS {
            assert!(keys.iter().any(|(u, k)| k == key && (under.is_empty() || u == under)), "{under} {key}: {words}");
        }
        for key in ORDERED.iter().chain(&UNORDERED) {
            assert!(keys.iter().any(|(_, k)| k == key), "{key}");
        }
    }
}
