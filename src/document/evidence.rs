//! Step by step, what was worked out: charts and tables that lie across, in the edition for reviewers.

use super::figure::{self, Drawing};
use super::{Field, Prose};
use serde::Serialize;
use std::sync::Arc;

/// The tables.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Evidence {
    /// Always `evidence`.
    pub item: &'static str,
    /// Its heading.
    pub heading: String,
    /// On what it rests.
    pub about: Vec<Prose>,
    /// What comes nearest to its limit, then step by step.
    pub grids: Vec<Grid>,
}

/// What was worked out over the steps, drawn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Chart {
    /// Its id: `chart1`.
    pub item: String,
    /// Its heading.
    pub title: String,
    /// How it is read.
    pub about: String,
    /// What is drawn; a template is told the values in it, and places it whole.
    #[serde(serialize_with = "figure::values")]
    pub drawing: Arc<Drawing>,
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
