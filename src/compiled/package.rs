//! What planning and review need beside the steps. What a print says in its own words is a [`Saying`]: which sentence, and its values.

use super::{Evidence, Nearest, Saying};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Matter of the work package.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Package {
    /// How long it takes.
    pub time: Time,
    /// Every load that is held.
    pub lifts: Vec<Lift>,
    /// How far each of them can fall, the worst first.
    pub drops: Vec<Drop>,
    /// What must not be exceeded: what the front matter states, then the bands of the readings.
    pub limits: Vec<Limit>,
    /// What must be so before the work begins.
    pub prerequisites: Vec<String>,
    /// Permits that must be there.
    pub permits: Vec<Permit>,
    /// What a post must be qualified for.
    pub qualifications: Vec<Qualification>,
    /// Documents that are referred to.
    pub references: Vec<Reference>,
    /// What is read on.
    pub instruments: Vec<Instrument>,
    /// Where the procedure was tried out.
    pub validations: Vec<Validation>,
    /// Hold points, witness points, verifications and second persons.
    pub points: Vec<Point>,
    /// Steps that let go of a load, those before which the site wants a hold point, and that of the hardest fall, with who stands before
    /// them.
    pub irrevocable: Vec<Irrevocable>,
    /// Joints of two driven at once that may not go all the way before the other, the one that may go least first.
    pub lags: Vec<Lag>,
    /// What makes the result acceptable.
    pub criteria: Vec<Criterion>,
    /// Every way out of the order of steps, and where it ends.
    pub exits: Vec<Exit>,
    /// What was worked out, step by step, in printed order.
    pub evidence: Vec<Evidence>,
    /// What comes nearest to its limit, the nearest first: one entry for each joint, pair and load, at most ten.
    pub nearest: Vec<Nearest>,
}

/// An estimate of the time, never a limit. Milliseconds.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Time {
    /// Whether the policy gives times of acts. If not, all of it is motion at full stick and waits, and no time of a task.
    pub of_acts: bool,
    /// What of the acts has no time in the policy and is not in it, by the policy's keys.
    pub without: Vec<String>,
    /// Numbers of the waits without an upper bound, which count at their least.
    pub open: Vec<String>,
    /// By the shortest way from the first step to the last.
    pub least: i64,
    /// By the longest.
    pub most: i64,
    /// Both in words, in English.
    pub text: String,
    /// By section; what a section performs is in it. Contingencies are not in the total.
    pub sections: Vec<SectionTime>,
    /// By printed step, what is inside it left out.
    pub steps: Vec<StepTime>,
}

/// The time of a section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SectionTime {
    /// Its title.
    pub title: String,
    /// Entered only from steps that name it.
    pub contingency: bool,
    /// At least.
    pub least: i64,
    /// At most.
    pub most: i64,
    /// Both in words, in English.
    pub text: String,
}

/// The time of a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepTime {
    /// Its number.
    pub step: String,
    /// Motion alone, at least and at most.
    pub motion: [i64; 2],
    /// All of it.
    pub whole: [i64; 2],
}

/// A load that is held.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lift {
    /// Name in statements.
    pub name: String,
    /// In print.
    pub title: String,
    /// Mass as stated.
    pub mass: String,
    /// The upper bound that checks use.
    pub at_most: String,
    /// Centre of mass from the grip centre, in the jaw's frame.
    pub centre: Option<Saying>,
    /// What it bears and may not suffer.
    pub bears: Vec<Saying>,
    /// Where the grip has least to spare: force needed and force counted on, and the step.
    pub grip: Option<Saying>,
    /// Where a joint gives most of what it is rated for, and the step.
    pub arm: Option<Saying>,
    /// How it is drawn; none where there is no scene, or it has no shape with an end.
    pub sketch: Option<Sketch>,
}

/// A load as it stands where it is first taken, in micrometres from the grip centre.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sketch {
    /// From where to where it reaches along its own level axis, across that, and up.
    pub reaches: [[i64; 2]; 3],
    /// Between the pads.
    pub grip: i64,
    /// Whether it is declared where its centre of gravity is.
    pub centre: bool,
}

/// How far a held load can fall onto one thing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Drop {
    /// In print.
    pub load: String,
    /// Its mass at most.
    pub mass: String,
    /// The greatest height of its lowest point above that where it may meet it first, and the first step where it is that high; or why
    /// none is told.
    pub height: Saying,
    /// What it may meet first; none where no height is told.
    pub onto: Option<String>,
    /// What it bears, as declared, or that nothing is.
    pub bears: Saying,
    /// What the fall sets free, rounded up; none where no height is told.
    pub energy: Option<Saying>,
}

/// A joint of two that are driven at once which may not go all the way before the other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lag {
    /// Number of the step.
    pub step: String,
    /// The joint, as engraved.
    pub joint: String,
    /// How far it may go, and where it is driven to.
    pub way: Saying,
    /// What meets then; `-` where it may go all the way.
    pub meets: String,
    /// What keeps it from going there: a gate, or nothing but the order in which the step is read; of one that may go all the way, the
    /// gate that the check does not need.
    pub kept: Saying,
}

/// A limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// What is limited, and to what.
    pub limit: Saying,
    /// What comes of exceeding it; none where nobody wrote it.
    pub consequence: Option<String>,
    /// What is done then.
    pub correction: Option<String>,
    /// What sets it; none where nobody wrote it.
    pub source: Option<String>,
}

/// A permit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Permit {
    /// For what.
    pub name: String,
    /// Who gives it.
    pub by: String,
}

/// What a post must be qualified for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Qualification {
    /// The post.
    pub post: String,
    /// What whoever holds it must have.
    pub needs: String,
}

/// A document that is referred to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Its number.
    pub number: String,
    /// Its title.
    pub title: String,
    /// Its revision.
    pub revision: String,
}

/// An instrument that a step reads on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// Its name; that no instrument is named, where something is written down without one.
    pub name: Saying,
    /// What it reads, in its unit.
    pub reads: Saying,
    /// The steps that read on it.
    pub steps: String,
}

/// A record of a trial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Validation {
    /// At a mock-up, as a dry run or walked through.
    pub how: Saying,
    /// When.
    pub date: String,
    /// By which post.
    pub post: String,
    /// How long it took, beside the estimate.
    pub elapsed: Option<Saying>,
    /// What came of it.
    pub result: String,
}

/// A point at which another post takes part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// Number of the step.
    pub step: String,
    /// A hold point, a witness point, a verification or a second person.
    pub kind: Saying,
    /// The post.
    pub role: String,
    /// What must be true, or what is agreed.
    pub criterion: Option<String>,
    /// Its name beside the step: `H1`, `W1`; none of a verification or a second person.
    pub name: Option<String>,
    /// That the post is the performer; none where it is another one.
    pub apart: Option<Saying>,
}

/// A step that is not to be done before somebody has looked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Irrevocable {
    /// Number of the step.
    pub step: String,
    /// What is done.
    pub act: Saying,
    /// The hold point directly before it and its second person, or that there is neither.
    pub before: Vec<Saying>,
}

/// A criterion of acceptance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Criterion {
    /// What must have been reached.
    pub text: String,
    /// The requirement that asks for it.
    pub source: String,
}

/// A way out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Exit {
    /// Arm, contingency or line: "13A", "C1, Back out", "step 8, If not".
    pub way: Saying,
    /// Where it ends.
    pub ends: Saying,
}
