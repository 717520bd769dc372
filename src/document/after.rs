//! Read-outs after each step, for whoever comes back to the arm in the middle of a block.

use super::Field;
use serde::Serialize;

/// The page of read-outs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct After {
    /// Always `after`.
    pub item: &'static str,
    /// Widths of the columns, as whole numbers: step, joints, opening, what is held.
    pub widths: String,
    /// The joints as engraved, in the order of the columns.
    pub joints: Vec<Field>,
    /// A row behind each step that changes a read-out or what is held, and one before a step that is come to from elsewhere.
    pub rows: Vec<Left>,
}

/// What a step leaves, or finds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Left {
    /// The step's number, or that it is before that step.
    pub step: Field,
    /// For each joint the stretches in which its read-out can be, each "lower to higher".
    pub joints: Vec<Vec<Field>>,
    /// How wide the empty jaw stands, in millimetres.
    pub jaw: Field,
    /// What is in the jaw.
    pub held: Field,
}
