//! Two revisions of a procedure, for people and as data.

use super::Format;
use crate::cli::show::{self, count};
use crate::diag::render;
use crate::document::build::{Edition, Figures};
use crate::document::revision::{self, Change, Detail, Difference, Fate};
use crate::document::{Identity, wording};
use crate::error::Error;
use crate::session::Session;
use crate::words::Words;
use serde::Serialize;
use std::fmt::Write as _;
use std::path::Path;

/// Name and version of the format.
const SCHEMA: &str = "surehand-revisions/1";

#[derive(Serialize)]
struct Data<'a> {
    schema: &'static str,
    earlier: Which<'a>,
    later: Which<'a>,
    #[serde(flatten)]
    difference: &'a Difference,
}

#[derive(Serialize)]
struct Which<'a> {
    id: &'a str,
    revision: &'a str,
    date: String,
}

impl<'a> Which<'a> {
    fn of(i: &'a Identity) -> Which<'a> {
        Which { id: &i.number.text, revision: &i.revision.text, date: i.date.to_string() }
    }
}

pub(super) fn run(session: &Session<'_>, a: &Path, b: &Path, format: Format) -> Result<u8, Error> {
    let words = Words::english();
    let [earlier, later] = [session.revision(a)?, session.revision(b)?].map(|r| r.document(words, Edition::default(), Figures::None));
    let difference = revision::difference(&earlier, &later, words);
    let [was, is] = [&earlier.identity, &later.identity];
    if was.number != is.number {
        show::message(&format!("{} and {} are two procedures: one is compared with the other", was.number.text, is.number.text));
    }
    let text = match format {
        Format::Text => text(&difference, was, is),
        Format::Json => {
            let data = Data { schema: SCHEMA, earlier: Which::of(was), later: Which::of(is), difference: &difference };
            serde_json::to_string_pretty(&data).map_err(|e| Error::Internal(e.to_string()))? + "\n"
        }
    };
    show::output(&text)?;
    Ok(u8::from(!difference.is_empty()))
}

fn text(difference: &Difference, was: &Identity, is: &Identity) -> String {
    let mut out = String::new();
    for (name, i) in [("Earlier", was), ("Later", is)] {
        let _ = writeln!(out, "{name}: {}, revision {}, {}", i.number.text, i.revision.text, i.date);
    }
    if difference.untold {
        out.push_str("\nOf one of them no way was looked at, for errors stand in it or it has no cell: what is told beside steps of stops, falls, limits and pictures is not compared.\n");
    }
    if !difference.around.is_empty() {
        out.push_str("\nBefore the first step\n");
        difference.around.iter().for_each(|d| detail(&mut out, d));
    }
    if !difference.changes.is_empty() {
        out.push_str("\nStep by step\n");
    }
    difference.changes.iter().for_each(|c| change(&mut out, c));
    if !difference.renumbered.is_empty() {
        let _ = writeln!(out, "\n{}", wording::renumbered(&difference.renumbered, Words::english()));
    }
    let number = |fate: Fate| difference.changes.iter().filter(|c| c.fate == fate).count();
    let all =
        [Fate::Changed, Fate::New, Fate::Moved, Fate::Removed].map(|f| format!("{} {}", number(f), wording::fate(f, Words::english())));
    let total = if difference.is_empty() { "Nothing that is printed differs, numbers aside.".to_owned() } else { all.join(", ") + "." };
    let _ = writeln!(out, "\n{total}");
    out.lines().map(|line| render::clean(line) + "\n").collect()
}

fn change(out: &mut String, c: &Change) {
    let place = match (&c.now, &c.before) {
        (Some(now), Some(before)) if now != before => format!("{now} (was {})", lower(before)),
        (Some(place), _) | (None, Some(place)) => place.clone(),
        (None, None) => String::new(),
    };
    let _ = writeln!(out, "  {place}: {}. {}", wording::fate(c.fate, Words::english()), c.gist);
    c.details.iter().take(MOST).for_each(|d| detail(out, d));
    if let Some(more) = c.details.len().checked_sub(MOST).filter(|n| *n > 0) {
        let _ = writeln!(out, "      and {}", count(more, "value more", "values more"));
    }
}

/// Most values of one step that are written.
const MOST: usize = 20;

fn lower(place: &str) -> String {
    place.strip_prefix("Step").map_or_else(|| place.to_owned(), |rest| format!("step{rest}"))
}

fn detail(out: &mut String, d: &Detail) {
    let value = |v: &Option<String>| v.as_ref().map_or_else(|| "nothing".to_owned(), |t| format!("\"{t}\""));
    let _ = writeln!(out, "      {}: {}, was {}", wording::value(&d.of), value(&d.is), value(&d.was));
}
