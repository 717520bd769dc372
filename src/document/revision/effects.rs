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

/// The columns of evidence that are held against each other, under the head of the last; a distance says nothing without its two ends.
const COLUMNS: [&[ids::Entry<0>]; 5] = [
    &[ids::EVIDENCE_ROOM],
    &[ids::EVIDENCE_BETWEEN, ids::EVIDENCE_CLEARANCE],
    &[ids::EVIDENCE_LOAD],
    &[ids::EVIDENCE_GRIP],
    &[ids::EVIDENCE_DRIVE],
];

/// The cells of a step, each with its lines.
type Row = [Vec<Line>];

/// The table of all steps.
fn table(document: &Document) -> Option<&Grid> {
    document.package.as_ref()?.evidence.as_ref()?.grids.last()
}

/// Its rows, by the number of the step.
fn steps(table: &Grid) -> impl Iterator<Item = (&str, &Row)> {
    table.rows.iter().filter_map(|row| Some((row.first()?.first()?.value.text.as_str(), row.as_slice())))
}

/// What differs; `now_of` tells the number of an earlier step now. None in an edition without evidence.
pub(super) fn effects(earlier: &Document, now: &Document, now_of: &HashMap<String, String>, words: &Words) -> Option<Effects> {
    let (old, new) = (table(earlier)?, table(now)?);
    let before: HashMap<&str, &Row> = steps(old).filter_map(|(n, row)| Some((now_of.get(n)?.as_str(), row))).collect();
    let mut rows: Vec<Effect> = Vec::new();
    let mut put = |place: Span, what: &str, [is, was]: [String; 2]| {
        let id = format!("changes.effect{}", rows.len() + 1);
        let field = |name: &str, text: String| Field::new(format!("{id}.{name}"), text);
        rows.push(Effect {
            place: Prose { id: format!("{id}.place"), spans: vec![place] },
            what: field("what", what.to_owned()),
            is: field("is", is),
            was: field("was", was),
        });
    };
    let nothing = || words.say(ids::CHANGE_NOTHING).to_owned();
    let [is, was] = [now, earlier].map(|d| d.record.time.as_ref().map_or_else(nothing, |t| t.total.text.clone()));
    if is != was {
        put(Span::Plain { text: words.say(ids::CHANGE_WHOLE).to_owned() }, words.say(ids::CHANGE_TIME), [is, was]);
    }
    // The heads of both are those of this program, in these words.
    let columns =
        COLUMNS.map(|heads| heads.iter().filter_map(|h| new.head.iter().position(|head| head == words.say(*h))).collect::<Vec<_>>());
    for (number, row) in steps(new) {
        let Some(was) = before.get(number) else { continue };
        for columns in columns.iter().filter(|columns| !columns.is_empty()) {
            let lines =
                |row: &Row| -> Vec<String> { columns.iter().filter_map(|c| row.get(*c)).flatten().map(|l| l.value.text.clone()).collect() };
            let [is, was] = [lines(row), lines(was)];
            if is == was {
                continue;
            }
            // Of the lines of one column those that are the same in both say nothing here.
            let apart = |lines: &[String], other: &[String]| {
                let apart: Vec<String> = lines.iter().filter(|l| columns.len() > 1 || !other.contains(l)).cloned().collect();
                if apart.is_empty() { nothing() } else { words.row(&apart, ids::LIST_SEMICOLON) }
            };
            let link = Span::Link { text: words.fill(ids::STEP_HEAD, [number]), to: format!("s{number}") };
            let what = columns.last().map_or("", |c| &new.head[*c]);
            put(link, what, [apart(&is, &was), apart(&was, &is)]);
        }
    }
    let none = rows.is_empty().then(|| Prose::plain("changes.no-effect", words.say(ids::CHANGE_NO_EFFECT)));
    Some(Effects { rows, none })
}
