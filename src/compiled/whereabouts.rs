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
    /// Why something was not worked out in space.
    pub not_looked_at: Vec<String>,
}

/// One of the ways the arm can stand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stance {
    /// Read-outs, jaw, load, tool, view, power, with the way that leads here.
    pub state: State,
    /// What that is in space; none where it could not be looked at.
    pub space: Option<InSpace>,
}

/// The arm at rest in space, over all angles the joints can have there. Lengths in micrometres, in the cell's coordinates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InSpace {
    /// The tool point at the printed angles: x, y, z.
    pub tool_point: [i64; 3],
    /// Where it can be: least and greatest x, y and z.
    pub tool_point_band: [[i64; 2]; 3],
    /// What moves with the arm and what stands in the cell: the pairs that come nearest, nearest first.
    pub nearest: Vec<Near>,
    /// The same of what moves with the arm, among itself.
    pub nearest_own: Vec<Near>,
    /// What the joints hold; empty where a mass is not given.
    pub loads: Vec<Load>,
    /// What happens if power is lost now; none where no joint drifts without power.
    pub sag: Option<Sag>,
}

/// The arm without power.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sag {
    /// Indices of the joints that sink.
    pub joints: Vec<usize>,
    /// Tenths of a minute for which nothing is met.
    pub clear: i64,
    /// The two that meet then, or nearly; none if nothing does for as long as was looked.
    pub meets: Option<[String; 2]>,
}

/// Two bodies and how near they come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Near {
    /// The one nearer to the mount.
    pub a: String,
    /// The other.
    pub b: String,
    /// They come no nearer than this; zero where they may touch.
    pub least: i64,
    /// The step lets them touch here.
    pub may_touch: bool,
}

/// What a joint holds against gravity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// Index of the joint.
    pub joint: usize,
    /// The greatest torque it may have to give, either way, in thousandths of a newton metre.
    pub torque: i64,
    /// The torque it is rated for, where that is all that is known.
    pub rated_torque: Option<i64>,
    /// The greatest pressure it needs, in pascals, where it is driven by one.
    pub pressure: Option<i64>,
    /// The pressure there is: the supply's, or what its actuator is rated for if that is less.
    pub available_pressure: Option<i64>,
    /// Which way it goes if nothing holds it: `stays`, `falls`, `grows` (its angle) or `either`.
    pub droop: String,
}

/// The schema, as a JSON value of the 2020-12 dialect.
pub fn schema() -> serde_json::Value {
    serde_json::Value::from(schemars::schema_for!(Whereabouts))
}
