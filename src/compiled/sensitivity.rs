//! How wrong each input of a procedure may be, as data under a schema of its own.

use super::Identity;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of the schema; it changes with any change of meaning.
pub const SCHEMA: &str = "surehand-sensitivity/1";

/// How wrong each input may be, alone, before an error stands. Lengths in micrometres, angles in thousandths of a degree, shares
/// in thousandths of the value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sensitivity {
    /// `surehand-sensitivity/1`.
    pub schema: String,
    /// Which document.
    pub identity: Identity,
    /// Its file, as named on the command line.
    pub file: String,
    /// What inputs of different kinds are compared by.
    pub scales: Vec<Scale>,
    /// The inputs, the least forgiving first: by how many plain errors pass.
    pub inputs: Vec<Input>,
    /// What was not varied, and why.
    pub not_varied: Vec<String>,
    /// What is not checked in the procedure at all, so that no input can make it fail.
    pub not_checked: Vec<String>,
}

/// A kind of amount.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scale {
    /// `length`, `angle` or `share`.
    pub scale: String,
    /// A plain error: what inputs are compared by.
    pub plain: i64,
    /// How finely was looked.
    pub step: i64,
    /// How far was looked.
    pub most: i64,
    /// How far was looked at what is bad when it is less.
    pub most_less: i64,
}

/// One input.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// `margin`, `stop`, `hold`, `readout-error`, `rating`, `supply`, `station`, `station-height`, `obstacle`, `mass` or `friction`.
    pub kind: String,
    /// The name of joint, station, obstacle or load in its model file; none of what there is only one of.
    pub name: Option<String>,
    /// What people call it.
    pub title: String,
    /// `length`, `angle` or `share`.
    pub scale: String,
    /// Whether it is worse when it is less.
    pub less: bool,
    /// With an error of so much no step fails.
    pub passes: i64,
    /// Thousandths of a plain error that pass.
    pub plain_errors: i64,
    /// The step that fails with a little more; none if no step fails as far as was looked.
    pub fails: Option<Failure>,
    /// What stands before any step fails, apart from the steps: arm, cell and the declared end no longer agree.
    pub refused: Option<Failure>,
}

/// What fails first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Failure {
    /// With an error of so much.
    pub at: i64,
    /// Of a station: which way, in words, as seen from the mount of the arm.
    pub way: Option<String>,
    /// Of a station: that in the coordinates of the cell.
    pub shift: Option<[i64; 3]>,
    /// The rule that fails.
    pub rule: String,
    /// Printed number of the earliest step that fails; none apart from any step.
    pub step: Option<String>,
    /// What the rule says.
    pub message: String,
    /// Other steps that fail with it, in the order of the print.
    pub others: Vec<String>,
}

/// The schema, as a JSON value of the 2020-12 dialect.
pub fn schema() -> serde_json::Value {
    serde_json::Value::from(schemars::schema_for!(Sensitivity))
}
