//! The compiled procedure: plain data that everything after the checks can be held against.
//!
//! It is the only form in which a checked procedure leaves the program as data, under a published schema with a
//! version. Angles are whole thousandths of a degree, lengths whole micrometres, forces whole millinewtons, times
//! whole milliseconds; beside them stand the texts as printed, so that a print can be compared value by value.
//!
//! Invariant: nothing here is looked up again; a reader needs neither arm, cell nor policy.

mod evidence;
mod package;
mod phrase;
mod schema;
pub mod sensitivity;
pub mod space;
mod step;
mod told;
pub mod whereabouts;

pub use evidence::*;
pub use package::*;
pub use phrase::{Phrase, Saying};
pub use schema::schema;
pub use space::{Space, Sweep};
pub use step::*;
pub use told::*;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of the schema; it changes with any change of meaning.
pub const SCHEMA: &str = "surehand-compiled/2";

/// A compiled procedure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Compiled {
    /// `surehand-compiled/2`.
    pub schema: String,
    /// Which document this is.
    pub identity: Identity,
    /// What it was checked against.
    pub models: Vec<Model>,
    /// Digests; the caller that read the files fills them in.
    pub digests: Digests,
    /// What must be so at the start.
    pub start: Option<Situation>,
    /// What is so at the end.
    pub end: Option<Situation>,
    /// The joints, in the order of every list of read-outs.
    pub joints: Vec<Joint>,
    /// What loads, stations and views are called in print.
    pub titles: Vec<Title>,
    /// The scene that the sweeps of the steps are held against; none where nothing was checked in space.
    pub space: Option<Space>,
    /// Every printed step in printed order, performed ones written out.
    pub steps: Vec<Step>,
    /// What was checked.
    pub checked: Vec<Check>,
    /// What was not checked.
    pub not_checked: Vec<Gap>,
    /// What planning and review need beside the steps.
    pub package: Package,
    /// What was found and stands: warnings, advice, and what was waived.
    pub findings: Vec<Finding>,
    /// The waivers in force; each lifts one or more of the findings.
    pub waivers: Vec<Waiver>,
    /// The dispositions in force; each accepts one or more of the warnings.
    pub dispositions: Vec<Disposition>,
    /// Why this may not be issued, such as `arm-invented`; empty if it may be once it is approved.
    pub not_issuable: Vec<String>,
}

/// Identity of the document.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Identity {
    /// Number.
    pub id: String,
    /// Title.
    pub title: String,
    /// Revision.
    pub revision: String,
    /// Date, `YYYY-MM-DD`.
    pub date: String,
    /// Level of use: `continuous`, `reference` or `information`.
    pub use_level: String,
    /// Who performs it.
    pub performer: String,
    /// Who decides how the work goes on after a stop; none where the policy names nobody.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decides: Option<String>,
}

/// A model file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// `arm`, `cell` or `policy`.
    pub kind: String,
    /// Name.
    pub name: String,
    /// Title for people.
    pub title: String,
    /// Revision.
    pub revision: String,
    /// Date of the data.
    pub date: String,
    /// `accepted`, `unaccepted` or `invented`; none for a policy.
    pub standing: Option<String>,
    /// Where the data come from.
    pub source: Option<String>,
    /// SHA-256 of the file, hexadecimal.
    pub digest: Option<String>,
}

/// Digests of what took part.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Digests {
    /// Of sources, models, policy, templates, fonts and tool version together.
    pub content: Option<String>,
    /// Of the source file.
    pub source: Option<String>,
}

/// A joint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// Name in statements.
    pub name: String,
    /// Engraved on console and read-out.
    pub engraved: String,
    /// The word for its angle growing.
    pub positive: String,
    /// The word for its angle falling.
    pub negative: String,
    /// Decimals of its read-out.
    pub decimals: u8,
    /// Lowest angle it may be sent to, margins taken off.
    pub low: i64,
    /// Highest.
    pub high: i64,
    /// Hold tolerance.
    pub hold: i64,
    /// How far from a target it may stop that is approached by the read-out.
    pub stop: i64,
    /// The same for one that is approached by eye.
    pub stop_by_eye: i64,
    /// Read-out error.
    pub error: i64,
}

/// The printed title of something that statements name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Title {
    /// `load`, `station`, `view` or `slow zone`.
    pub kind: String,
    /// Name in statements.
    pub name: String,
    /// In print.
    pub title: String,
    /// Of a load, its greatest mass as printed.
    pub mass: Option<String>,
    /// Of a view, that its picture is mirrored.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub mirrored: bool,
}

/// What is declared at the start or the end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Situation {
    /// Name of the pose.
    pub pose: Option<String>,
    /// Least and greatest read-out of each joint in that pose; none where any will do. Empty without a pose.
    pub joints: Vec<Option<[i64; 2]>>,
    /// Opening of the jaw.
    pub jaw: Option<i64>,
    /// Console power.
    pub power: Option<bool>,
    /// What is fitted.
    pub tool: Option<String>,
    /// View in force.
    pub view: Option<String>,
    /// Load and station; no station is held.
    pub loads: Vec<(String, Option<String>)>,
    /// Equipment and state.
    pub equipment: Vec<(String, String)>,
}

/// Something that was checked, because a rule looked at it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Which, for machines: `travel`.
    pub id: String,
    /// In words, for page 1.
    pub text: String,
    /// How many times it was looked at, over all states.
    pub count: u64,
}

/// Something that was not checked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gap {
    /// Which, for machines: `clearance`.
    pub id: String,
    /// In words, for page 1.
    pub text: String,
    /// Which sentence of a set of words says it, if not that of `id`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// What is named in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<Saying>,
}

/// A finding that stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// The rule.
    pub rule: String,
    /// `error`, `warning` or `advice`.
    pub severity: String,
    /// In words.
    pub message: String,
    /// Number of the step, if it belongs to one.
    pub step: Option<String>,
    /// The waiver that lifts it.
    pub waiver: Option<Waiver>,
    /// The disposition that accepts it.
    pub disposition: Option<Disposition>,
}

/// A waiver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Waiver {
    /// The rule it lifts.
    pub rule: String,
    /// Anchor of the step, or none for the whole procedure.
    pub step: Option<String>,
    /// Every printed number of that step.
    pub numbers: Vec<String>,
    /// Why.
    pub reason: String,
    /// The post that accepts it.
    pub post: String,
    /// `YYYY-MM-DD`.
    pub expires: String,
}

/// A warning that was looked at and accepted. It stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Disposition {
    /// The rule that warns.
    pub rule: String,
    /// Anchor of the step, or none for the whole procedure.
    pub step: Option<String>,
    /// Every printed number of that step.
    pub numbers: Vec<String>,
    /// Why.
    pub reason: String,
    /// The post that accepts it.
    pub post: String,
    /// When, `YYYY-MM-DD`.
    pub date: String,
}
