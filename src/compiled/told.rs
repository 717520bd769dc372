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
    /// What the pictures of views show of its motions: of each joint and view of which one shows the opposite at some step.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pictures: Vec<Pictured>,
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
    /// What a jaw that is not known to hold without power drops, from where the step starts and on its way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drops: Option<Dropped>,
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

/// What the picture of a view shows of the motion of a joint.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pictured {
    /// Index of the joint.
    pub joint: usize,
    /// Title of the view.
    pub view: String,
    /// Whether it goes as the direction word says; none if that names no way in a picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub word: Option<Shown>,
    /// The same of what is said at the stick.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stick: Option<Shown>,
    /// Where the jaw goes from start to end, the plainer way first: `right`, `left`, `up`, `down`; none where next to nothing is seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub goes: Vec<String>,
    /// Whether it goes away from the eye or nearer, where that is plain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub away: Option<bool>,
}

/// Whether a picture shows what is said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Shown {
    /// It does.
    Same,
    /// It shows next to nothing along that way.
    Aside,
    /// It shows the opposite.
    Opposite,
    /// It shows the opposite from the one angle to the other and nowhere else, in thousandths of a degree.
    OppositeBetween(i64, i64),
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

/// A load that falls if power is lost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Dropped {
    /// How far at most, in micrometres; none where that is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub falls: Option<i64>,
    /// The titles of what it may meet first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub onto: Vec<String>,
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
