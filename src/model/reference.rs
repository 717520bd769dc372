//! The reference page of the model files, printed from the entries that the loaders read by.

use super::keys::{Bound, FRICTION, Form, Key, ORIGIN, SHAPE, Side, Table};
use super::{arm, cell, policy};
use crate::units::{Dimension, UNITS};
use std::fmt::Write;

/// The three files: what each is called, and its entries.
pub const FILES: [(&str, &Table); 3] = [("Arm profile", &arm::keys::ARM), ("Cell", &cell::keys::CELL), ("Policy", &policy::keys::POLICY)];

/// Tables that stand in several places; printed once, at the end.
const SHARED: [&Table; 3] = [&ORIGIN, &FRICTION, &SHAPE];

const INTRODUCTION: &str = "\
# Model files

<!-- Printed from the tables the loaders read by (src/model/*/keys.rs). Do not edit: run the tests with UPDATE_MANUAL=1. -->

A procedure is checked against three TOML files: the arm with its console, the cell, and the site's policy.

- A quantity is a text with number and unit, one blank between them: `\"-24 deg\"`, `\"2.1 kg\"`. The number is a plain decimal: at most four
  digits before the point and three after it. Counts, factors and severity classes are bare numbers.
- Other units of the same kind convert. What does not come out even is rounded to the side that never helps acceptance; the column *value* says
  which: *down* for what is counted on, *up* for what is allowed for. A *nominal* value has no safer side and is held to the next thousandth below.
- A key that is not listed here is an error. A file that cannot be read completely gives no model: nothing is checked against part of one.
- There are no presets and no defaults for anything that a real arm or load would have to be measured for.
";

/// The page.
pub fn page() -> String {
    let mut page = INTRODUCTION.to_string();
    let _ = writeln!(page, "\n| kind | units |\n|---|---|");
    let mut kinds: Vec<Dimension> = Vec::new();
    for unit in UNITS {
        if !kinds.contains(&unit.dimension) {
            kinds.push(unit.dimension);
            let _ = writeln!(page, "| {} | {} |", bare(unit.dimension), unit.dimension.units());
        }
    }
    for (title, file) in FILES {
        let _ = writeln!(page, "\n## {title}");
        table(&mut page, file);
    }
    let _ = writeln!(page, "\n## In several places");
    SHARED.iter().for_each(|t| table(&mut page, t));
    page
}

/// A table and those inside it, each where it is first met.
fn table(page: &mut String, table: &Table) {
    if !table.head.is_empty() {
        let _ = writeln!(page, "\n### `{}`", table.head);
    }
    let _ = writeln!(page, "\n{}\n\n| key | value | must | meaning |\n|---|---|---|---|", table.meaning);
    for key in table.keys {
        let _ = writeln!(page, "| `{}` | {} | {} | {} |", key.name, form(key), if key.must { "yes" } else { "" }, key.meaning);
    }
    let mut done: Vec<&str> = SHARED.iter().map(|t| t.head).collect();
    for key in table.keys {
        if let Form::Table(inner) | Form::Tables(inner) = key.form
            && !done.contains(&inner.head)
        {
            done.push(inner.head);
            self::table(page, inner);
        }
    }
}

fn bare(dimension: Dimension) -> &'static str {
    let name = dimension.a_name();
    name.strip_prefix("an ").or(name.strip_prefix("a ")).unwrap_or(name)
}

fn form(key: &Key) -> String {
    let bound = |bound| match bound {
        Bound::Any => "",
        Bound::Positive => " above zero",
        Bound::NotNegative => ", zero or above",
        Bound::AtLeastOne => ", one or above",
    };
    match key.form {
        Form::Name => "name".to_string(),
        Form::Names => "list of names".to_string(),
        Form::Words => "text".to_string(),
        Form::Lines => "list of texts".to_string(),
        Form::Date => "date, `\"YYYY-MM-DD\"`".to_string(),
        Form::Count(least, most) => format!("whole number, {least} to {most}"),
        Form::Factor(b) => format!("number{}", bound(b)),
        Form::Flag => "`true` or `false`".to_string(),
        Form::Word(words) => words().iter().map(|w| format!("`\"{w}\"`")).collect::<Vec<_>>().join(" "),
        Form::Quantity(dimension, side, b) => {
            let side = match side {
                Side::Down => "down",
                Side::Up => "up",
                Side::Nominal => "nominal",
            };
            format!("{}{}; {side}", bare(dimension), bound(b))
        }
        Form::Point => "three lengths, `[x, y, z]`".to_string(),
        Form::Turn => "three angles, about x, y, z; nominal".to_string(),
        Form::Unit => "unit".to_string(),
        Form::Amount => "quantity of that unit's kind".to_string(),
        Form::Axis => "`\"+x\"` `\"-x\"` `\"+y\"` `\"-y\"` `\"+z\"` `\"-z\"`".to_string(),
        Form::Pairs => "list of pairs of names".to_string(),
        Form::Map(entries) => format!("table: {entries}"),
        Form::Table(_) => "table".to_string(),
        Form::Tables(_) => "tables".to_string(),
    }
}
