//! The differences between two entries of one model: a survey taken twice by two people, each without sight of the other's.
//!
//! [`compare`] reads both files by the tables that the loaders read by ([`super::keys`]), so that a new key is compared as
//! soon as it can be written. Comments, order of keys and units do not count; values do. Rows are found again by their
//! names, not by their place.
//!
//! Invariant: a value that stands in either file is compared or reported; a file with mistakes is compared as it stands.

mod entry;
mod lists;
mod pair;
mod walk;
mod weigh;
mod words;

pub use weigh::Within;
pub use words::Class;

use super::keys::Table;
use super::{arm, cell, policy, reference};
use crate::diag::Diagnostic;
use crate::syntax::record;
use crate::text::{FileId, Span};
use std::fmt;

/// Which model a file describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// An arm profile.
    Arm,
    /// A cell.
    Cell,
    /// A policy.
    Policy,
}

impl Kind {
    /// All of them, in the order of [`reference::FILES`].
    pub const ALL: [Kind; 3] = [Kind::Arm, Kind::Cell, Kind::Policy];
    /// For messages: "an arm profile".
    pub fn a_name(self) -> &'static str {
        match self {
            Kind::Arm => "an arm profile",
            Kind::Cell => "a cell",
            Kind::Policy => "a policy",
        }
    }
    /// What may be written in it.
    pub fn table(self) -> &'static Table {
        reference::FILES[self as usize].1
    }
    /// What the loader finds wrong with a file of this kind.
    pub fn problems(self, file: FileId, text: &str) -> Vec<Diagnostic> {
        match self {
            Kind::Arm => arm::load(file, text).1,
            Kind::Cell => cell::load(file, text).1,
            Kind::Policy => policy::load(file, text).1,
        }
    }
    /// The kind of a file, by the keys that stand at its top and in no other kind; `None` if they do not tell.
    pub fn of(file: FileId, text: &str) -> Option<Kind> {
        let own = |kind: Kind| {
            let others = move || Kind::ALL.into_iter().filter(move |k| *k != kind).flat_map(|k| k.table().keys);
            kind.table().keys.iter().filter(move |key| !others().any(|o| o.name == key.name))
        };
        let (counts, _) = record::read(file, text, 0..text.len(), "", |r| Kind::ALL.map(|k| own(k).filter(|key| r.has(key.name)).count()));
        let most = counts.into_iter().max().filter(|n| *n > 0)?;
        let mut best = Kind::ALL.into_iter().filter(|k| counts[*k as usize] == most);
        best.next().filter(|_| best.next().is_none())
    }
}

/// One side of a difference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Side {
    /// The value as it is shown; `None` if it is not given.
    pub shown: Option<String>,
    /// Where it stands; what is not given, would stand there.
    pub span: Span,
}

/// In what way the two files differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// Two values, or a value and none.
    Value,
    /// A thing, or an entry of a list, that stands in one file only.
    Item,
    /// The name of a thing whose other values are all equal.
    Renamed,
    /// The spelling of a name.
    Spelling,
    /// The order of things whose order means something.
    Order,
    /// A value that cannot be read in one of the files.
    Unread,
}

/// One difference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// How much hangs on it.
    pub class: Class,
    /// The thing, from the outermost in: `obstacle ...`, `box 1`, `centre x`.
    pub place: Vec<String>,
    /// What the key means, as the reference page says it.
    pub meaning: &'static str,
    /// In what way.
    pub change: Change,
    /// In the first file.
    pub a: Side,
    /// In the second file.
    pub b: Side,
    /// By how much, with its unit.
    pub apart: Option<String>,
    /// What it looks like: a slip of the pen that is seen often.
    pub note: Option<&'static str>,
    /// It is not more than the tolerance of entry.
    pub within: bool,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.place.join(", "))?;
        let shown = |side: &Side| side.shown.clone().unwrap_or_default();
        match (self.change, &self.a.shown, &self.b.shown) {
            (Change::Item, Some(_), _) => f.write_str(": only in A")?,
            (Change::Item, None, _) => f.write_str(": only in B")?,
            (Change::Renamed, ..) => write!(
                f,
                ": called {} in A and {} in B; all else is equal, so it is probably one thing under two names",
                shown(&self.a),
                shown(&self.b)
            )?,
            (Change::Spelling, ..) => write!(f, ": spelt {} in A and {} in B, and taken for one thing", shown(&self.a), shown(&self.b))?,
            (_, Some(a), Some(b)) => write!(f, ": {a} in A, {b} in B")?,
            (_, Some(a), None) => write!(f, ": {a} in A, not given in B")?,
            (_, None, Some(b)) => write!(f, ": not given in A, {b} in B")?,
            (_, None, None) => {}
        }
        if let Some(apart) = &self.apart {
            write!(f, ", {apart} apart")?;
        }
        if let Some(note) = self.note {
            write!(f, " ({note})")?;
        }
        Ok(())
    }
}

/// What a comparison found.
#[derive(Debug)]
pub struct Comparison {
    /// What matters most first, then in the order of the first file.
    pub differences: Vec<Difference>,
    /// Values that stand in at least one of the files.
    pub compared: usize,
    /// Whether each file was valid TOML throughout; of one that was not, parts may be missing.
    pub whole: [bool; 2],
}

/// Compares two files by a table of keys. Differences that `within` covers are marked.
pub fn compare(table: &'static Table, a: (FileId, &str), b: (FileId, &str), within: &Within) -> Comparison {
    let ((node_a, whole_a), (node_b, whole_b)) = (entry::read(a.0, a.1, table), entry::read(b.0, b.1, table));
    let (mut differences, compared) = walk::walk(&node_a, &node_b, within);
    differences.sort_by_key(|d| d.class);
    Comparison { differences, compared, whole: [whole_a, whole_b] }
}
