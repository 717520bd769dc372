//! Data sheets: the readings of a procedure on pages of their own, to be filled in there and nowhere else.

use super::{Band, Field, Item, Prose};
use serde::Serialize;

/// A data sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sheet {
    /// Its id, such as `d1`.
    pub item: Item,
    /// "D1".
    pub name: Field,
    /// Of which pass of which repeat it is; none for what is done once.
    pub pass: Option<Prose>,
    /// One reading each.
    pub entries: Vec<Entry>,
}

/// A reading on a data sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Entry {
    /// Its line on the sheet, from 1.
    pub line: usize,
    /// The number of the step that takes it.
    pub step: Field,
    /// What is read, where and on what.
    pub function: Field,
    /// The accepted band; none for what is only written down.
    pub expected: Option<Band>,
    /// Unit of what is written.
    pub unit: String,
}
