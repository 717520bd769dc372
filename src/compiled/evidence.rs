//! Step by step, what was worked out: for each step that drives a joint or the jaw, or changes how a load is held.
//!
//! Every number is the worst over all states the step can start in, with its stopping, hold and read-out tolerances, and is rounded
//! away from acceptance; what a step asks of joints and jaw is taken over the whole way.

use crate::units::{Round, shown};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What was worked out for one step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// Number of the step.
    pub step: String,
    /// The joints it drives, in the order written; empty where none is driven.
    pub driven: Vec<Driven>,
    /// The least and greatest opening of the jaw accepted behind it, in micrometres; none where the jaw is left alone or closes on a load.
    pub jaw: Option<[i64; 2]>,
    /// How near anything comes that it moves; none where that was not looked at.
    pub clearance: Option<Clearance>,
    /// Loads in the jaw by their names: before it where a joint is driven, else behind it; empty where nothing is.
    pub held: Vec<String>,
    /// How far a load leans; none where none is carried or nothing says how it hangs.
    pub tilt: Option<Tilt>,
    /// What the jaw has to hold with; none where nothing is held or it was not worked out.
    pub grip: Option<Grip>,
    /// The joint that gives most of what it can; none where no joint is driven or it was not worked out.
    pub drive: Option<Effort>,
}

/// A joint that is driven. Thousandths of a degree.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Driven {
    /// Index of the joint.
    pub joint: usize,
    /// The least and greatest read-out before, hold tolerance counted; none where it is not known.
    pub from: Option<[i64; 2]>,
    /// The same behind it.
    pub to: [i64; 2],
    /// Whether the high limit is the nearer one.
    pub high: bool,
    /// What is left to that limit at least, margins of the profile taken off.
    pub room: i64,
}

/// How near anything comes, in micrometres. Left out are links of the arm among themselves, pairs that may touch and do not keep their
/// margin, and links that a turn about an upright axis leaves as high above a floor as they are, unless there are no others.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Clearance {
    /// What moves, and what it comes nearest to; none where nothing has to keep apart, or no two were named.
    pub between: Option<[String; 2]>,
    /// Where they do: `start`, `way` or `end`; at an end if every joint driven is within a fiftieth of its way of it, or beyond.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// They come no nearer, by certificate; none where nothing has to keep apart.
    pub least: Option<i64>,
    /// How far apart they must stay.
    pub wanted: i64,
    /// Pairs that may touch by a line under the step, or since a load is lifted off or set down; what a station's approach names is not repeated here.
    pub may_touch: Vec<[String; 2]>,
}

/// How far a load leans from plumb, in thousandths of a degree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tilt {
    /// At most.
    pub reached: i64,
    /// What it bears; none where nobody said.
    pub limit: Option<i64>,
}

/// What the jaw has to hold with, in millinewtons per jaw: each of its two pads presses with so much.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Grip {
    /// The level chosen.
    pub level: String,
    /// Needed at most, the policy's factor counted.
    pub needed: i64,
    /// What the level can be counted on for.
    pub available: i64,
    /// Whether starting and stopping is counted; if not, the arm is at rest.
    pub moving: bool,
    /// The policy's factor on what friction carries, in millionths.
    pub factor: i64,
    /// The friction that is counted on, in millionths.
    pub friction: i64,
    /// The acceleration that is counted, in micrometres per second squared; naught at rest.
    pub acceleration: i64,
    /// How far the closing axis leans from plumb where most is needed, in thousandths of a degree; none at rest, where it is taken as
    /// level.
    pub lean: Option<i64>,
    /// What a pad presses with at most.
    pub presses: i64,
    /// What the load bears; none where nobody said.
    pub bears: Option<i64>,
}

/// What a joint gives at rest, wherever it is on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Effort {
    /// Index of the joint.
    pub joint: usize,
    /// Whether it is a pressure, in pascals; if not, a torque in thousandths of a newton metre.
    pub pressure: bool,
    /// Needed at most.
    pub needed: i64,
    /// What there is: the supply's pressure, or what the actuator is rated for if that is less.
    pub available: i64,
}

/// Something and its limit, of all steps where it comes nearest to it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Nearest {
    /// Of what kind.
    pub of: Margined,
    /// The joint by its index, the load by its name, or the two bodies.
    pub subject: Vec<String>,
    /// Numbers of the steps where as many hundredths of what is allowed are used and as much is reached, as both are printed.
    pub steps: Vec<String>,
    /// What is reached, in the unit of its kind; of travel and clearance what is left.
    pub value: i64,
    /// What is allowed; of travel from the middle to the limit.
    pub limit: i64,
    /// What is used of it, in millionths, rounded up; more than a million does not pass.
    pub used: i64,
}

impl Nearest {
    /// What is reached or left as it is printed, rounded to the unfavourable side: degrees, millimetres, newtons, newton metres or
    /// bar.
    pub fn reached(&self) -> String {
        let (per, decimals, round) = match self.of {
            Margined::Travel => (1000, 1, Round::Down),
            Margined::Tilt => (1000, 1, Round::Up),
            Margined::Clearance => (1000, 0, Round::Down),
            Margined::Grip | Margined::Crush | Margined::Torque => (1000, 0, Round::Up),
            Margined::Pressure => (100_000, 1, Round::Up),
        };
        shown(self.value, per, decimals, round)
    }
}

/// Kinds of margins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Margined {
    /// A joint within its limits; thousandths of a degree.
    Travel,
    /// Two bodies; micrometres.
    Clearance,
    /// A load from plumb; thousandths of a degree.
    Tilt,
    /// A grip that holds; millinewtons.
    Grip,
    /// A grip that does not crush; millinewtons.
    Crush,
    /// A pressure; pascals.
    Pressure,
    /// A torque; thousandths of a newton metre.
    Torque,
}

/// What is used of a limit, in millionths, rounded up.
pub fn used(value: i64, limit: i64) -> i64 {
    if limit <= 0 {
        return if value <= 0 { 0 } else { i64::MAX };
    }
    let share = i128::from(value.max(0)) * 1_000_000;
    let up = share.div_euclid(i128::from(limit)) + i128::from(share.rem_euclid(i128::from(limit)) != 0);
    i64::try_from(up).unwrap_or(i64::MAX)
}
