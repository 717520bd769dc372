//! The arm profile: joints, console, jaw, poses, and the record of their acceptance.

pub mod accept;
pub(super) mod keys;
mod load;
pub mod rules;

pub use load::{load, narrow_bands};

use super::shape::{Shape, Turn};
use super::{JointId, LevelId, LinkId, Origin, PoseId, SignalId, Standing, ToolId};
use crate::text::{FileId, Span, Spanned};
use crate::units::{Angle, AngleRate, Drift, Force, Length, Mass, Pressure, Ratio, Time, Torque};

/// An arm profile.
#[derive(Clone, Debug)]
pub struct Arm {
    /// The file.
    pub file: FileId,
    /// `name`: what `power on NAME` says.
    pub name: Spanned<String>,
    /// `title`: for people.
    pub title: String,
    /// `revision`.
    pub revision: Spanned<String>,
    /// `date`, `YYYY-MM-DD`.
    pub date: Spanned<String>,
    /// Real or invented, accepted or not.
    pub standing: Standing,
    /// Where the data come from.
    pub origin: Origin,
    /// `includes`: what the shapes include, hoses or not, said either way.
    pub includes: String,
    /// `supply`: pressure at the pump that can be counted on.
    pub supply: Option<Spanned<Pressure>>,
    /// `ramp`: shortest time in which a joint comes from rest to its full rate, or from it to rest.
    pub ramp: Option<Spanned<Time>>,
    /// Joints from the mount outward; a [`JointId`] indexes them.
    pub joints: Vec<Joint>,
    /// The console.
    pub console: Console,
    /// The jaw.
    pub jaw: Jaw,
    /// Signals a guarded move can stop on, besides contact.
    pub signals: Vec<Signal>,
    /// Tools that can be fitted.
    pub tools: Vec<Tool>,
    /// Named poses.
    pub poses: Vec<Pose>,
    /// Link shapes and masses, for the proofs in space.
    pub links: Vec<Link>,
    /// The record of acceptance.
    pub acceptance: Option<Acceptance>,
}

/// One joint.
#[derive(Clone, Debug)]
pub struct Joint {
    /// The name in statements.
    pub name: Spanned<String>,
    /// What is engraved on console and read-out.
    pub engraved: String,
    /// The table.
    pub span: Span,
    /// How far it can go.
    pub travel: Travel,
    /// Kept free inside the stops.
    pub soft_margin: Spanned<Angle>,
    /// Stopping tolerance when the operator stops on the read-out.
    pub stop_by_readout: Spanned<Angle>,
    /// Stopping tolerance when the operator stops by eye.
    pub stop_by_eye: Spanned<Angle>,
    /// Bound on the total drift of the idle joint since it last moved.
    pub hold: Spanned<Angle>,
    /// Drift per minute with power.
    pub drift_powered: Option<Spanned<Drift>>,
    /// Drift per minute without power.
    pub drift_unpowered: Option<Spanned<Drift>>,
    /// How far the read-out may be wrong.
    pub readout_error: Spanned<Angle>,
    /// Decimals of the read-out.
    pub decimals: u8,
    /// Speed at full stick.
    pub rate: Spanned<AngleRate>,
    /// Where the zero mark is.
    pub zero_mark: String,
    /// The word for growing angle.
    pub positive: Direction,
    /// The word for falling angle.
    pub negative: Direction,
    /// The rating of its actuator.
    pub actuator: Option<Actuator>,
    /// Where the joint sits in the frame before it, for the proofs in space.
    pub mounting: Option<Mounting>,
}

impl Joint {
    /// The angles the joint may be at: inside the soft margins of its stops, or of the turns its hoses allow.
    pub fn soft_limits(&self) -> (Angle, Angle) {
        let (low, high) = self.travel.ends();
        (low.value + self.soft_margin.value, high.value - self.soft_margin.value)
    }
    /// A joint that has negative angles always takes a written sign.
    pub fn is_signed(&self) -> bool {
        match &self.travel {
            Travel::Stops { low, .. } => low.value < Angle::ZERO,
            Travel::Turns { .. } => true,
        }
    }
}

/// How far a joint can go.
#[derive(Clone, Debug)]
pub enum Travel {
    /// Between hard stops.
    Stops {
        /// The low stop.
        low: Spanned<Angle>,
        /// The high stop.
        high: Spanned<Angle>,
    },
    /// Without stops: cumulative angle within what its hoses allow.
    Turns {
        /// Most negative cumulative angle.
        low: Spanned<Angle>,
        /// Most positive cumulative angle.
        high: Spanned<Angle>,
    },
}

impl Travel {
    /// The ends, low and high.
    pub fn ends(&self) -> (Spanned<Angle>, Spanned<Angle>) {
        match self {
            Travel::Stops { low, high } | Travel::Turns { low, high } => (*low, *high),
        }
    }
}

/// A direction word.
#[derive(Clone, Debug)]
pub struct Direction {
    /// The word in statements and print.
    pub word: Spanned<String>,
    /// The place it is seen from.
    pub seen_from: String,
}

/// What drives a joint.
#[derive(Clone, Debug)]
pub enum Actuator {
    /// A torque rating is all that is known.
    Torque {
        /// Greatest torque.
        rating: Spanned<Torque>,
    },
    /// A cylinder between two pins.
    Linear {
        /// From the joint's axis to the fixed pin.
        fixed_pin: Spanned<Length>,
        /// From the axis to the moving pin.
        moving_pin: Spanned<Length>,
        /// The included angle when the joint reads zero.
        angle_at_zero: Spanned<Angle>,
        /// Bore.
        bore: Spanned<Length>,
        /// Rod diameter.
        rod: Spanned<Length>,
        /// Rated pressure.
        rated: Spanned<Pressure>,
    },
    /// A rotary actuator.
    Rotary {
        /// Torque at the rated pressure.
        torque: Spanned<Torque>,
        /// Rated pressure.
        rated: Spanned<Pressure>,
    },
}

/// Axis and origin of a joint in the frame before it.
#[derive(Clone, Debug)]
pub struct Mounting {
    /// Axis: a signed coordinate axis, `+x` ... `-z`.
    pub axis: Spanned<Axis>,
    /// Origin in the frame before it: x, y, z.
    pub origin: [Length; 3],
    /// How the joint's frame is turned against the frame before it when the joint reads zero.
    pub turn: Turn,
}

/// A signed coordinate axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Axis {
    /// 0 x, 1 y, 2 z.
    pub index: u8,
    /// Along the negative axis.
    pub negative: bool,
}

/// A link.
#[derive(Clone, Debug)]
pub struct Link {
    /// The joint it moves with; none for the base.
    pub joint: Option<JointId>,
    /// Its name in messages: forearm, elbow.
    pub name: Spanned<String>,
    /// Upper bound of its mass.
    pub mass: Option<Spanned<Mass>>,
    /// Centre of mass in the joint's frame.
    pub centre: Option<[Length; 3]>,
    /// Its shapes in the joint's frame.
    pub shapes: Vec<Shape>,
}

/// The console.
#[derive(Clone, Debug)]
pub struct Console {
    /// The table.
    pub span: Span,
    /// Sticks.
    pub sticks: Vec<Stick>,
    /// Pairs of joints that may move together, on different sticks.
    pub together: Vec<Spanned<(JointId, JointId)>>,
    /// What deflection does.
    pub deflection: String,
    /// Checks before power on, each a line for the operator.
    pub before_power_on: Vec<Spanned<String>>,
    /// How power goes on.
    pub power_on: String,
    /// How power goes off.
    pub power_off: String,
    /// Where the stop control is.
    pub stop_control: String,
    /// What the arm does on loss of power.
    pub on_power_loss: String,
}

impl StickAxis {
    /// What the hand does for the angle to grow, or to fall.
    pub fn act(&self, grows: bool) -> &str {
        if grows { &self.positive } else { &self.negative }
    }
}

impl Console {
    /// The stick and axis that drive a joint.
    pub fn drive(&self, joint: JointId) -> Option<(&Stick, &StickAxis)> {
        self.sticks.iter().find_map(|s| s.axes.iter().find(|a| a.joint == joint).map(|a| (s, a)))
    }
    /// Whether two joints may move at once.
    pub fn may_move_together(&self, a: JointId, b: JointId) -> bool {
        self.together.iter().any(|p| p.value == (a, b) || p.value == (b, a))
    }
}

/// A stick.
#[derive(Clone, Debug)]
pub struct Stick {
    /// "left stick".
    pub name: Spanned<String>,
    /// Its axes.
    pub axes: Vec<StickAxis>,
}

/// One axis of a stick.
#[derive(Clone, Debug)]
pub struct StickAxis {
    /// The table.
    pub span: Span,
    /// The joint it drives.
    pub joint: JointId,
    /// What to do for the positive direction word: "push", "pull", "turn clockwise".
    pub positive: String,
    /// What to do for the negative one.
    pub negative: String,
}

/// The jaw.
#[derive(Clone, Debug)]
pub struct Jaw {
    /// The table.
    pub span: Span,
    /// Least opening.
    pub least: Spanned<Length>,
    /// Greatest opening.
    pub most: Spanned<Length>,
    /// Tolerance of an opening.
    pub tolerance: Spanned<Length>,
    /// Friction of the pads, where the load does not say its own.
    pub friction: Option<Friction>,
    /// Grip levels in order.
    pub levels: Vec<Level>,
    /// The middle between the pads, in the frame of the last joint: the tool point of the bare jaw.
    pub grip_centre: Option<[Length; 3]>,
    /// The axis of that frame along which the pads close.
    pub closing: Option<Spanned<Axis>>,
    /// What the jaw does on loss of power, for page 1.
    pub on_power_loss: OnPowerLoss,
    /// Which control works it.
    pub control: String,
    /// What is done with the control to close it.
    pub closes: Option<String>,
    /// What is done with it to open the jaw.
    pub opens: Option<String>,
    /// Which control chooses the grip level.
    pub level_control: Option<String>,
    /// Engraved name.
    pub engraved: String,
}

impl Jaw {
    /// What is done with its control to open or to close it, as far as the profile says.
    #[must_use]
    pub fn work(&self, opens: bool) -> Option<&str> {
        if opens { self.opens.as_deref() } else { self.closes.as_deref() }
    }
}

/// What the jaw does on loss of power.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnPowerLoss {
    /// Keeps its grip.
    Holds,
    /// Lets go.
    LetsGo,
    /// Not known; printed as such.
    Unknown,
}

/// A coefficient of friction; the site gives value and source, there is no default.
#[derive(Clone, Debug, PartialEq)]
pub struct Friction {
    /// Lowest value to be counted on.
    pub value: Spanned<Ratio>,
    /// Where it comes from.
    pub source: String,
}

/// A grip level.
#[derive(Clone, Debug)]
pub struct Level {
    /// Its name or number as engraved.
    pub name: Spanned<String>,
    /// Least force per jaw that can be counted on.
    pub least: Spanned<Force>,
    /// Greatest force per jaw it allows.
    pub most: Spanned<Force>,
}

/// A signal to stop on.
#[derive(Clone, Debug)]
pub struct Signal {
    /// The name in `until NAME`.
    pub name: Spanned<String>,
    /// What the operator sees or hears.
    pub cue: String,
}

/// A tool.
#[derive(Clone, Debug)]
pub struct Tool {
    /// Name.
    pub name: Spanned<String>,
    /// Mass, upper bound.
    pub mass: Option<Spanned<Mass>>,
    /// Whether a load can be gripped while it is fitted.
    pub leaves_jaw_free: bool,
    /// Its shapes in the frame of the last joint.
    pub shapes: Vec<Shape>,
    /// Centre of mass in that frame.
    pub centre: Option<[Length; 3]>,
    /// The point of it that does the work, in that frame: the tool point while it is fitted. Without it the grip centre stays the tool point.
    pub point: Option<[Length; 3]>,
}

/// A named, complete set of angles.
#[derive(Clone, Debug)]
pub struct Pose {
    /// Name.
    pub name: Spanned<String>,
    /// The table.
    pub span: Span,
    /// One angle a joint, in the order of the joints; `None` is `any`.
    pub angles: Vec<Option<Spanned<Angle>>>,
    /// Plus and minus for every joint.
    pub band: Spanned<Angle>,
    /// A contingency may end here.
    pub safe: bool,
}

/// The record that the profile was tried on the arm.
#[derive(Clone, Debug)]
pub struct Acceptance {
    /// The table's header.
    pub span: Span,
    /// By whom (post).
    pub by: Spanned<String>,
    /// When.
    pub date: Spanned<String>,
    /// Of the profile it holds for, see [`accept::digest`].
    pub digest: Spanned<String>,
    /// How far a measured tool point may be wrong by measuring.
    pub uncertainty: Spanned<Length>,
    /// Poses driven.
    pub driven: Vec<Driven>,
    /// Joints whose direction was proven, with the place of the list.
    pub directions: Spanned<Vec<Spanned<String>>>,
}

/// A pose that was driven, and where the tool point was found.
#[derive(Clone, Debug)]
pub struct Driven {
    /// The pose.
    pub pose: Spanned<PoseId>,
    /// What the read-outs showed, one a joint.
    pub readouts: Vec<Spanned<Angle>>,
    /// The measured tool point of the bare jaw, in the coordinates the mount stands in.
    pub tool_point: [Length; 3],
    /// How far it was found from where the read-outs put it.
    pub residual: Spanned<Length>,
}

impl Arm {
    /// The joint of an index.
    pub fn joint(&self, id: JointId) -> &Joint {
        &self.joints[id.at()]
    }
    /// Looks a joint up by its statement name.
    pub fn find_joint(&self, name: &str) -> Option<JointId> {
        find(&self.joints, |j| &j.name.value, name).map(JointId)
    }
    /// The link of an index.
    pub fn link(&self, id: LinkId) -> &Link {
        &self.links[id.at()]
    }
    /// Looks a pose up.
    pub fn find_pose(&self, name: &str) -> Option<PoseId> {
        find(&self.poses, |p| &p.name.value, name).map(PoseId)
    }
    /// Looks a grip level up.
    pub fn find_level(&self, name: &str) -> Option<LevelId> {
        find(&self.jaw.levels, |l| &l.name.value, name).map(LevelId)
    }
    /// Looks a tool up.
    pub fn find_tool(&self, name: &str) -> Option<ToolId> {
        find(&self.tools, |t| &t.name.value, name).map(ToolId)
    }
    /// Looks a signal up.
    pub fn find_signal(&self, name: &str) -> Option<SignalId> {
        find(&self.signals, |s| &s.name.value, name).map(SignalId)
    }
}

/// The index of the item called `name`. Tables are short, so a scan is the fastest look-up.
pub(super) fn find<T>(items: &[T], key: impl Fn(&T) -> &String, name: &str) -> Option<u16> {
    items.iter().position(|i| key(i) == name).and_then(|i| u16::try_from(i).ok())
}
