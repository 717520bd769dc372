//! Step by step, what was worked out: tables that lie across, in the edition for reviewers.

use super::Field;
use serde::Serialize;

/// The tables.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Evidence {
    /// Always `evidence`.
    pub item: &'static str,
    /// Its heading.
    pub heading: String,
    /// On what it rests.
    pub about: Vec<String>,
    /// What comes nearest to its limit, then step by step.
    pub grids: Vec<Grid>,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Grid {
    /// Its heading.
    pub heading: String,
    /// What is to be known of it.
    pub about: String,
    /// Widths of the columns, as whole numbers.
    pub widths: &'static str,
    /// Heads of the columns.
    pub head: Vec<String>,
    /// Its rows; in each cell one value a line.
    pub rows: Vec<Vec<Vec<Line>>>,
}

/// A value in a cell.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    /// The value.
    pub value: Field,
    /// Whether it is the worst of its column.
    pub worst: bool,
}
