//! A printed step as data.

use super::{Sweep, Told};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A step as printed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Printed number.
    pub number: String,
    /// The author's anchor.
    pub anchor: Option<String>,
    /// Title of the section it stands in.
    pub section: String,
    /// What is done.
    pub act: Act,
    /// How the jaw is worked, where the step opens or closes it or chooses its grip level.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jaw: Option<JawWork>,
    /// The words beside the statement, Markdown as written.
    pub words: String,
    /// Labelled lines, in the order written.
    pub lines: Vec<Line>,
    /// Each state the step can start in.
    pub before: Vec<State>,
    /// Each state it can leave.
    pub after: Vec<State>,
    /// The least there was to spare, over all states.
    pub margins: Vec<Margin>,
    /// Pairs of bodies of the scene, by index, that its lines allow to touch.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub touching: Vec<[usize; 2]>,
    /// A certificate for each state that its motion can start in; empty where nothing moves or nothing was checked in space.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sweeps: Vec<Sweep>,
    /// What is told beyond what it does; none where there is nothing to tell, or nothing was checked in space.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<Told>,
}

/// How the jaw is worked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JawWork {
    /// Which control.
    pub control: String,
    /// What is done with it; none where the profile does not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub action: Option<String>,
}

/// A labelled line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// The label: `Proof`.
    pub label: String,
    /// The words, Markdown as written.
    pub words: String,
    /// The post that is named.
    pub role: Option<String>,
    /// Number of the step or title of the contingency it leads to.
    pub leads_to: Option<String>,
}

/// An angle with its text as printed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Angle {
    /// Thousandths of a degree.
    pub value: i64,
    /// With sign, in the decimals of the read-out, without the unit, which is always `deg`.
    pub text: String,
}

/// One joint driven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Motion {
    /// Index of the joint.
    pub joint: usize,
    /// As engraved on console and read-out.
    pub engraved: String,
    /// The direction word of the arm.
    pub direction: String,
    /// Whether the angle grows.
    pub positive: bool,
    /// The stick that drives it.
    pub stick: String,
    /// What to do with the stick.
    pub stick_action: String,
    /// What to do with it to go the other way.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub stick_back: String,
    /// `slow` or `inch`.
    pub pace: Option<String>,
    /// What ends the motion.
    pub ends: Ends,
    /// The target; of a guarded move its bound; of taps the far end of the contact band.
    pub target: Angle,
    /// Lowest read-out it may stop at.
    pub low: Angle,
    /// Highest read-out it may stop at.
    pub high: Angle,
    /// Every angle it can start from.
    pub from: Vec<From>,
}

/// Where a motion starts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum From {
    /// At one angle.
    At(Angle),
    /// Anywhere between two.
    Between(Angle, Angle),
}

/// What ends a motion.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ends {
    /// The read-out shows the target.
    Target,
    /// The target, inched to by eye.
    ByEye,
    /// Contact.
    Contact,
    /// A signal, and how it is told.
    Signal {
        /// Its name in statements.
        name: String,
        /// What is seen or read.
        cue: String,
    },
    /// Contact, in taps.
    Taps {
        /// Size of one tap.
        size: Angle,
        /// Most of them.
        most: u32,
        /// Where contact is expected, low end.
        low: Angle,
        /// High end.
        high: Angle,
    },
}

/// A gate of a two-axis move.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// Index of the joint that waits.
    pub held: usize,
    /// Where.
    pub not_past: Angle,
    /// Index of the joint it waits for.
    pub until: usize,
    /// What opens the gate.
    pub past: Angle,
}

/// What is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs, reason = "the fields are the statement's own words")]
pub enum Act {
    /// Words only.
    Instruction,
    /// One joint.
    Move(Motion),
    /// Two joints.
    Together { motions: Vec<Motion>, first: Option<usize>, gates: Vec<Gate> },
    /// A grip level is chosen.
    GripLevel { level: String },
    /// The jaw closes on a load.
    Close { load: String },
    /// The jaw opens or closes to a length, in micrometres; the texts of the least and greatest opening accepted.
    Jaw { open: bool, to: i64, text: String, low: String, high: String },
    /// A load is lifted off a station.
    Lift { load: String, station: String, motion: Motion },
    /// A load is lowered onto a station.
    Lower { load: String, station: String, motion: Motion },
    /// A load is let go of.
    LetGo { load: String, station: String, to: i64, text: String, low: String, high: String },
    /// Hold point.
    HoldPoint { role: String },
    /// Witness point.
    WitnessPoint { role: String },
    /// Independent verification of the step before.
    VerifyAfter { role: String },
    /// An observation.
    Check,
    /// A value read against a band, as written.
    Read { quantity: String, place: Option<String>, low: Option<String>, high: Option<String>, instrument: String, unit: String },
    /// A value written down.
    Record { name: String, unit: String },
    /// All read-outs compared.
    ReadJoints,
    /// View.
    View { view: String, monitor: Option<String> },
    /// Communication.
    Tell { role: String },
    /// Waiting, in milliseconds.
    Wait { at_least: i64, at_most: Option<i64> },
    /// Crews may change.
    Turnover,
    /// Console power.
    Power { on: bool },
    /// A tool comes on or off.
    Tool { tool: String, on: bool },
    /// Equipment.
    Set { equipment: String, state: String },
    /// A condition; arms by their printed labels (`13A`).
    If { arms: Vec<String> },
    /// A repeat.
    Repeat { at_most: u32 },
    /// What is performed, written out under this step's number.
    Perform { title: String },
    /// A jump to the step of a number, or into the contingency of a title.
    GoTo { to: String },
    /// A pose is asserted; the least and greatest read-out of each joint in it, none where any will do.
    ExpectPose { pose: String, within: Vec<Option<[i64; 2]>> },
    /// A station is asserted.
    ExpectAt { station: String },
    /// A statement that could not be read; never in a checked procedure.
    Broken,
}

/// One state.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct State {
    /// The way that led here first: "if 13A was taken"; empty where there was no branch.
    pub way: String,
    /// Every read-out, in the order of the joints.
    pub joints: Vec<Readout>,
    /// Least and greatest opening of the jaw; none if not known.
    pub jaw: Option<(i64, i64)>,
    /// Grip level chosen.
    pub level: Option<String>,
    /// Load in the jaw and where in its transfer it is.
    pub held: Option<Held>,
    /// Whether it is not known what is in the jaw; never in a checked procedure.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub held_unknown: bool,
    /// What is fitted.
    pub tool: Option<String>,
    /// Console power; none if not known.
    pub power: Option<bool>,
    /// View in force.
    pub view: Option<String>,
    /// Every load and where it is: a station, `jaw`, or none if nothing says.
    pub loads: Vec<(String, Option<String>)>,
    /// Every piece of equipment and its state.
    pub equipment: Vec<(String, String)>,
    /// Milliseconds since the start, at least.
    pub elapsed_least: i64,
    /// And at most, where every step is bounded.
    pub elapsed_most: Option<i64>,
}

/// A read-out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Readout {
    /// Lowest as settled; the hold tolerance comes on top.
    pub low: i64,
    /// Highest as settled.
    pub high: i64,
    /// The printed angle.
    pub nominal: i64,
    /// `readout`, `by-eye`, `range` or `unknown`; `unread` or `unread-range` where the joint could move without power since.
    pub known: String,
}

/// A held load.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Held {
    /// The load.
    pub load: String,
    /// `supported`, `leaving`, `lifted-clear`, `carried` or `set-on`.
    pub phase: String,
    /// The station it was taken from.
    pub from: Option<String>,
    /// Index of the body that it is in the scene; none where nothing was checked in space.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub body: Option<usize>,
}

/// A margin.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Margin {
    /// `to-low-limit`, `to-high-limit`, `direction`, `holds`, `crush`, `opening` or `taps`; `clearance`: all that the step moves
    /// against each other, but for what the evidence leaves out of a clearance, stays this far apart; `gap`: two come as near as this, and no certificate stands.
    pub of: String,
    /// The joint or load, or the two bodies that come nearest.
    pub subject: String,
    /// How much, in the base unit of its kind; never negative in a checked procedure.
    pub value: i64,
}
