//! Where the arm is before and after one printed step, as data under a schema of its own.

use super::{Identity, Joint, State, Title};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of the schema; it changes with any change of meaning.
pub const SCHEMA: &str = "surehand-where/1";

/// Where the arm is around one step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Whereabouts {
    /// `surehand-where/1`.
    pub schema: String,
    /// Which document.
    pub identity: Identity,
    /// Its file, as named on the command line.
    pub file: String,
    /// Line of the step in the file it is written in.
    pub line: usize,
    /// Printed number of the step.
    pub step: String,
    /// The author's anchor.
    pub anchor: Option<String>,
    /// Title of the section it stands in.
    pub section: String,
    /// The statement as written; none for a plain instruction.
    pub statement: Option<String>,
    /// The words beside it, Markdown as written.
    pub words: String,
    /// Errors that stand in the procedure; while there are any, nothing here is checked.
    pub errors: usize,
    /// The joints, in the order of every list of read-outs.
    pub joints: Vec<Joint>,
    /// What loads, stations and views are called in print.
    pub titles: Vec<Title>,
    /// Where the arm can be before the step; nothing if no way leads to it.
    pub before: Vec<Stance>,
    /// Where it can be after the step; nothing if no way leads on from it.
    pub after: Vec<Stance>,
}

/// One of the ways the arm can stand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stance {
    /// Read-outs, jaw, load, tool, view, power, with the way that leads here.
    pub state: State,
}

/// The schema, as a JSON value of the 2020-12 dialect.
pub fn schema() -> serde_json::Value {
    serde_json::Value::from(schemars::schema_for!(Whereabouts))
}
