//! What is told of a step beyond what it does, as it is printed with it. None of it is a claim that something is clear beyond
//! the sweeps of the step, save where an angle or a time says how far.

use super::Angle;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is told of a step, over all states it can start in. Two bodies that meet are named by their titles, the one that moves
/// first; angles are by the read-out, with its error and the drift of the joint taken off.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Told {
    /// What holds if it is stopped part-way; none where nothing moves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stopped: Option<Stopped>,
    /// Where something is touched: how far a degree of a joint moves the tool point.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub degrees: Vec<Degree>,
    /// Joints that take the tool point against their direction word, where the view in force does not show it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub against: Vec<Against>,
    /// How far one of two joints is clear while the other has not begun, where it is not all the way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub alone: Vec<Alone>,
    /// How far a joint is clear that runs on beyond its target, where it is not as far as its stop. Printed within ten degrees.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beyond: Vec<Beyond>,
    /// The next step, if something would come too near were it done first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<Order>,
    /// How far a held load can fall at most, in micrometres. Printed in whole millimetres, rounded up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub falls: Option<i64>,
    /// What it may meet first, the lowest first, with the height of its lowest point above that.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub over: Vec<Over>,
    /// Whether the `clearance` among the margins is what the policy calls near.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub near: bool,
    /// What the arm sinks onto where the step starts if power is lost. The shortest of a block is printed, within half an hour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sag: Option<Sinking>,
}

/// What was looked at of a motion that is stopped between its start and its end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stopped {
    /// The rest of it.
    pub on: bool,
    /// The way back to where it started.
    pub back: bool,
    /// Index of the joint of two that must come back last.
    pub last: Option<usize>,
    /// Only as long as nothing has touched.
    pub untouched: bool,
}

/// A lever.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Degree {
    /// Index of the joint.
    pub joint: usize,
    /// Micrometres for one degree, where the motion ends; the most of all states.
    pub moves: i64,
}

/// A joint against its word.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Against {
    /// Index of the joint.
    pub joint: usize,
    /// Where the tool point goes, in words.
    pub way: String,
}

/// One of two joints alone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Alone {
    /// Index of the joint.
    pub joint: usize,
    /// How far it is clear; none if not from the start.
    pub clear_to: Option<Angle>,
    /// What meets then.
    pub meets: [String; 2],
}

/// A joint that runs on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Beyond {
    /// Index of the joint.
    pub joint: usize,
    /// How far it is clear.
    pub clear_to: Angle,
    /// What meets then.
    pub meets: [String; 2],
    /// Whether the view in force shows it; none if that is not known.
    pub seen: Option<bool>,
}

/// A thing that a held load passes over, or can with every band.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Over {
    /// Its title.
    pub thing: String,
    /// The most that the lowest point of the load can be above its highest, in micrometres.
    pub height: i64,
}

/// Steps that must not change places.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// Number of the next step.
    pub next: String,
    /// What would meet.
    pub meets: [String; 2],
}

/// What happens without power.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sinking {
    /// Tenths of a minute for which nothing touches, at least.
    pub clear: i64,
    /// What meets then, or nearly; none if nothing does for as long as was looked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meets: Option<[String; 2]>,
}
