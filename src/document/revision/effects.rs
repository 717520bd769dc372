//! What a revision does to the margins of the steps and to the time: the tables of evidence of two work instructions side by side.

use crate::document::evidence::{Grid, Line};
use crate::document::{Document, Field, Prose, Span};
use crate::words::Words;
use crate::words::ids;
use serde::Serialize;
use std::collections::HashMap;

/// Margins and time, now and before, in the edition for reviewers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Effects {
    /// One line for each value that differs; of steps that stand in both revisions.
    pub rows: Vec<Effect>,
    /// A sentence where nothing differs.
    pub none: Option<Prose>,
}

/// A value that differs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Effect {
    /// The step as it is numbered now, or the whole.
    pub place: Prose,
    /// Which value.
    pub what: Field,
    /// What it is.
    pub is: Field,
    /// What it was.
    pub was: Field,
}

/// The columns that are held against each other, by their place in a row of evidence; with what stands nearest to each other goes
/// how far that is.
const COLUMNS: [(&[usize], ids::Entry<0>); 5] = [
    (&[4], ids::EVIDENCE_ROOM),
    (&[5, 6], ids::EVIDENCE_CLEARANCE),
    (&[7], ids::EVIDENCE_LOAD),
    (&[8], ids::EVIDENCE_GRIP),
    (&[9], ids::EVIDENCE_DRIVE),
];

/// The cells of a step, each with its lines.
type Row = [Vec<Line>];

/// The table of all steps, by their number.
fn steps(document: &Document) -> Option<Vec<(&str, &Row)>> {
    let grid: &Grid = document.package.as_ref()?.evidence.as_ref()?.grids.last()?;
    Some(grid.rows.iter().filter_map(|row| Some((row.first()?.first()?.value.text.as_str(), row.as_slice()))).collect())
}

/// What differs; `now_of` tells the number of an earlier step now. None in an edition without evidence.
pub(super) fn effects(earlier: &Document, now: &Document, now_of: &HashMap<String, String>, words: &Words) -> Option<Effects> {
    let (old, new) = (steps(earlier)?, steps(now)?);
    let before: HashMap<&str, &Row> = old.into_iter().filter_map(|(n, row)| Some((now_of.get(n)?.as_str(), row))).collect();
    let mut rows: Vec<(Prose, String, [String; 2])> = Vec::new();
    let time = |d: &Document| d.record.time.as_ref().map_or_else(|| words.say(ids::CHANGE_NOTHING).to_owned(), |t| t.total.text.clone());
    let times = [time(now), time(earlier)];
    if times[0] != times[1] {
        rows.push((Prose::plain("", words.say(ids::CHANGE_WHOLE)), words.say(ids::CHANGE_TIME).to_owned(), times));
    }
    let lines = |row: &Row, columns: &[usize]| -> Vec<String> {
        columns.iter().filter_map(|c| row.get(*c)).flatten().map(|l| l.value.text.clone()).collect()
    };
    // Of several lines those that are the same in both say nothing here; a distance says nothing without its two ends.
    let said = |row: &Row, other: &Row, columns: &[usize]| {
        let same = if columns.len() > 1 { Vec::new() } else { lines(other, columns) };
        let texts: Vec<String> = lines(row, columns).into_iter().filter(|text| !same.contains(text)).collect();
        if texts.is_empty() { words.say(ids::CHANGE_NOTHING).to_owned() } else { words.row(&texts, ids::LIST_SEMICOLON) }
    };
    for (number, row) in new {
        let Some(was) = before.get(number) else { continue };
        for (columns, head) in COLUMNS {
            if lines(row, columns) != lines(was, columns) {
                let values = [said(row, was, columns), said(was, row, columns)];
                let link = Span::Link { text: words.fill(ids::STEP_HEAD, [number]), to: format!("s{number}") };
                rows.push((Prose { id: String::new(), spans: vec![link] }, words.say(head).to_owned(), values));
            }
        }
    }
    let row = |(i, (place, what, [is, was])): (usize, (Prose, String, [String; 2]))| {
        let id = |name: &str| format!("changes.effect{}.{name}", i + 1);
        let [what, is, was] = [("what", what), ("is", is), ("was", was)].map(|(name, text)| Field::new(id(name), text));
        Effect { place: Prose { id: id("place"), ..place }, what, is, was }
    };
    let none = rows.is_empty().then(|| Prose::plain("changes.no-effect", words.say(ids::CHANGE_NO_EFFECT)));
    Some(Effects { rows: rows.into_iter().enumerate().map(row).collect(), none })
}
