//! Reads a finished file back and compares it, value by value, with what was checked.
//!
//! It shares nothing with the floors that made the file. [`agree`] holds the values a print must show to the compiled
//! procedure; [`check`] holds the bytes to those values. A print whose reading differs is withheld; that is a fault of
//! the tool, never of the writer.
//!
//! The words of the print it is given as data ([`Said`]), sentence by sentence, and puts names and numbers into them itself.
//!
//! In pages for paper it sees: every value, its text as glyphs show it, its place on the sheet, what lies under and over
//! it, the words that bind it (`between`, `and`, `from`, in the language of the print), order and number of steps and pages, the
//! running head on every page, and that a step which goes over to another page says so on both. In a screen page it sees the same but for places: it holds the file to the one style sheet and the fonts
//! of the program, and to elements and attributes that cannot hide. In plain text, which has no ids, it sees every value
//! of every item in its order. Of a drawing it sees the words, on paper with what lies under and over them: the distance, and names
//! that must be those of things that are there in the step.
//!
//! Places to fill in are seen too: none may lie over words, and in a fresh print none may hold anything.
//!
//! It does not see: the template's own words where no value is bound by them (`LIFT`, `HOLD POINT`, labels of lines and
//! blanks), frames drawn round places to fill in, what the lines of a drawing show, outline, links and tags, and whether a
//! value is legible where its curves are right but the viewer's are not. Attachments are compared by the session, in a print
//! that was found. Sentences are compared with the document, not with the compiled data.

mod facts;
mod html;
mod order;
mod pdf;
mod said;
mod split;
mod words;

pub use facts::agree;
pub use said::Said;

use crate::error::Error;
use rustc_hash::{FxHashMap, FxHashSet};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What must be printed for one item, in printed order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The item's id; `header` stands on every page.
    pub id: String,
    /// Ids and exact texts of its values.
    pub values: Vec<(String, String)>,
}

/// The item whose values stand on every page.
const RUNNING: &str = "header";

/// A piece of a value as found in a file, in the file's order.
#[derive(Debug, Clone, PartialEq)]
struct Found {
    id: String,
    text: String,
    /// Words since the value before, with an end of line where one stands between them.
    before: String,
    /// Where it stands, on paper.
    place: Option<Place>,
    /// Where what was drawn before it stands, on the same page.
    behind: Option<Place>,
    /// Whether it stands behind or below the value before, and all words between them do so too.
    follows: bool,
}

/// A place on paper, in points from the lower left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    page: usize,
    left: f32,
    right: f32,
    baseline: f32,
    size: f32,
}

/// What a file shows.
struct Reading {
    /// How many pages it has, where it has pages.
    pages: Option<usize>,
    found: Vec<Found>,
    /// Width and height of each page, in tenths of a point.
    sizes: Vec<(i32, i32)>,
    /// The words behind the last value of each page.
    tails: Vec<String>,
    /// Its places to fill in.
    blanks: Vec<Blank>,
    /// What is wrong with single pages.
    problems: Vec<String>,
}

/// Most differences named in a message.
const NAMED: usize = 5;

/// A place to fill in, as found in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// Its name, such as `s12.actual`.
    pub name: String,
    /// Its page, from 1.
    pub page: usize,
    /// Left, bottom, right and top in tenths of a point.
    pub area: [i32; 4],
    /// What stands in it; none if it is empty and shows nothing.
    pub value: Option<String>,
}

/// What a finished file was found to be.
#[derive(Debug, Default)]
pub struct Findings {
    /// Its pages, where the format has pages.
    pub pages: Option<usize>,
    /// Its places to fill in, in the order of pages.
    pub blanks: Vec<Blank>,
    /// Each way in which it differs, by the id of the value.
    pub differences: Vec<String>,
}

/// Reads `bytes` back in the format of this name and holds it to `items`, printed in the words of `said`. Returns the number of pages where the format
/// has pages.
pub fn check(format: &str, bytes: &[u8], items: &[Item], said: &Said) -> Result<Option<usize>, Error> {
    let Findings { pages, blanks, mut differences } = look(format, bytes, items, said)?;
    let filled = blanks.iter().filter(|b| b.value.is_some());
    differences.extend(filled.map(|b| format!("the blank {} on page {} is filled in", b.name, b.page)));
    refuse(differences, &format!("{format} file does not read back")).map(|()| pages)
}

/// The same for a file that may have been made long ago: says what differs, and fails only where there is no such format.
pub fn look(format: &str, bytes: &[u8], items: &[Item], said: &Said) -> Result<Findings, Error> {
    let read = match format {
        "pdf" => pdf::read(bytes),
        "html" => html::read(bytes, said),
        "text" => return Ok(Findings { differences: words::differences(bytes, items), ..Findings::default() }),
        other => return Err(Error::Internal(format!("there is no reader for the format {other}"))),
    };
    Ok(match read {
        Ok(reading) => {
            let differences = compare(&reading, items, said);
            Findings { pages: reading.pages, blanks: reading.blanks, differences }
        }
        Err(what) => Findings { differences: vec![what], ..Findings::default() },
    })
}

/// The files that a PDF carries, by name. The error says what is wrong with the bytes.
pub fn attachments(pdf: &[u8]) -> Result<BTreeMap<String, Vec<u8>>, String> {
    pdf::attached::read(pdf)
}

fn refuse(differences: Vec<String>, what: &str) -> Result<(), Error> {
    if differences.is_empty() {
        return Ok(());
    }
    let more = differences.len().saturating_sub(NAMED);
    let mut list = differences.into_iter().take(NAMED).collect::<Vec<_>>().join("; ");
    if more > 0 {
        list = format!("{list}; and {more} more");
    }
    Err(Error::Internal(format!("the {what} as what was checked: {list}")))
}

/// Text with one kind of white space, single, and none at the ends. Most texts are so.
fn plain(text: &str) -> Cow<'_, str> {
    let mut at_gap = true;
    let odd = |c: char| {
        let gap = c.is_whitespace();
        (std::mem::replace(&mut at_gap, gap) || c != ' ') && gap
    };
    match text.chars().any(odd) || text.ends_with(' ') {
        true => Cow::Owned(text.split_whitespace().collect::<Vec<_>>().join(" ")),
        false => Cow::Borrowed(text),
    }
}

/// A value as it stands in a file, whole.
struct Whole<'f> {
    id: &'f str,
    /// Its first piece.
    start: usize,
    /// Its item, by number.
    item: usize,
    /// The page on which it begins, and that on which it ends.
    pages: [usize; 2],
}

/// A value may be found in several pieces, one a line, and in several places; each place must show all of it.
fn compare(reading: &Reading, items: &[Item], said: &Said) -> Vec<String> {
    let mut differences = reading.problems.clone();
    let mut wanted: FxHashMap<&str, (usize, Cow<'_, str>)> = FxHashMap::default();
    for (i, item) in items.iter().enumerate() {
        wanted.extend(item.values.iter().map(|(id, text)| (id.as_str(), (i, plain(text)))));
    }
    let mut whole: Vec<Whole<'_>> = Vec::new();
    let page = |f: &Found| f.place.map_or(0, |p| p.page);
    // What is left of a value, and whether a line may end where it was left.
    let mut open: FxHashMap<&str, (&str, usize, bool)> = FxHashMap::default();
    for (at, piece) in reading.found.iter().enumerate() {
        let id = piece.id.as_str();
        let Some((item, text)) = wanted.get(id) else {
            differences.push(format!("{:?} is printed under the unknown id {id}", piece.text));
            continue;
        };
        let (rest, start, may_break) = open.remove(id).unwrap_or((text.as_ref(), at, true));
        if !may_break && !joins(piece) && order::is_ranked(id) {
            differences.push(format!("{id} is broken before {:?}", piece.text));
        }
        let seen = plain(&piece.text);
        match rest.strip_prefix(&*seen) {
            Some("") => whole.push(Whole { id, start, item: *item, pages: [page(&reading.found[start]), page(piece)] }),
            Some(left) if piece.place.is_some() && !seen.is_empty() => {
                open.insert(id, (left.trim_start(), start, can_break(&seen, left)));
            }
            _ => differences.push(format!("{id} reads {:?} and must read {text:?}", piece.text)),
        }
    }
    let seen: FxHashSet<&str> = reading.found.iter().map(|f| f.id.as_str()).collect();
    // A value cut off at its end, in the order of the items.
    for (id, text) in items.iter().flat_map(|i| &i.values) {
        if let Some((left, ..)) = open.get(id.as_str()) {
            differences.push(format!("{id} ends before {left:?}"));
        } else if !text.trim().is_empty() && !seen.contains(id.as_str()) {
            differences.push(format!("{id} must read {text:?} and is not there"));
        }
    }
    whole.sort_by_key(|w| w.start);
    differences.extend(order::differences(reading, items, &whole, said));
    differences
}

/// Whether a line may end here: never inside a number, or between a sign and its number.
fn can_break(before: &str, after: &str) -> bool {
    !(before.ends_with(in_number) && after.starts_with(in_number))
}

/// Whether a character can be part of a number.
fn in_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}')
}

/// Whether a piece stands on the line of the one before it, without a gap.
fn joins(piece: &Found) -> bool {
    let (Some(here), Some(there)) = (piece.place, piece.behind) else { return false };
    (here.baseline - there.baseline).abs() < 0.6 && (here.left - there.right).abs() < 0.15 * here.size
}
