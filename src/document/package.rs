//! Matter of the work package: tables behind the steps, in the edition for reviewers; and the estimate of the time on the record.

use super::evidence::{Chart, Evidence};
use super::{Field, Prose};
use serde::Serialize;

/// The package.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Package {
    /// Always `package`.
    pub item: &'static str,
    /// Its tables, in printed order.
    pub parts: Vec<Part>,
    /// Behind them, each held load, drawn.
    pub bodies: Vec<Chart>,
    /// What was worked out as charts.
    pub charts: Vec<Chart>,
    /// The same step by step.
    pub evidence: Option<Evidence>,
}

/// What a safety reviewer signs, on one page: taken from other pages of the print.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Summary {
    /// Always `safety`.
    pub item: &'static str,
    /// What is nearest to its limit, loads that can fall, acts that want a hold point, limits, trials.
    pub parts: Vec<Part>,
    /// How many findings stand.
    pub standing: Prose,
    /// What was waived, and why it is not to be issued.
    pub reserve: Prose,
    /// What was not checked.
    pub unchecked: Vec<Prose>,
    /// Of the cautions of the first page those that say where checking ends.
    pub cautions: Vec<Prose>,
    /// What happens soonest if power is lost while something is held; none where nothing tells.
    pub power: Option<Prose>,
    /// What is taken for granted.
    pub assumptions: Vec<Prose>,
    /// What the signature says.
    pub signature: Prose,
}

/// A table with its heading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Its heading.
    pub heading: String,
    /// What is to be known of it.
    pub about: Option<String>,
    /// That there is nothing in it; then it has no rows.
    pub none: Option<Prose>,
    /// Widths of the columns, as whole numbers.
    pub widths: String,
    /// Heads of the columns.
    pub head: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<Cell>>,
}

/// A cell: values, or a blank with its label.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Cell {
    /// One a line.
    pub values: Vec<Field>,
    /// To be filled in: the key of its label among the blanks.
    pub blank: Option<&'static str>,
}

/// The estimate of the time, with room for what it took.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Estimate {
    /// What is in it, and that it is no limit.
    pub basis: Prose,
    /// By section.
    pub sections: Vec<SectionTime>,
    /// In all.
    pub total: Field,
}

/// A section with its time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SectionTime {
    /// Its title.
    pub title: Field,
    /// The estimate.
    pub time: Field,
}
