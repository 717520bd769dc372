//! What a step does to the state, and to which joints and jaw.

use super::{Drive, DriveTwo, Goal, Kind, Label, Line, Step};
use crate::model::arm::Jaw;
use crate::model::policy::Act;
use crate::model::{EquipmentId, LevelId, LoadId, PoseId, RoleId, StateId, StationId, ToolId, ViewId};
use crate::text::Spanned;
use crate::units::{Length, Time};

/// What a step does to the state: a small closed set, so that the transfer function can be exhaustive.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect<'a> {
    /// One joint moves.
    Drive(&'a Drive),
    /// Two joints move.
    DriveTwo(&'a DriveTwo),
    /// The jaw opens or closes on nothing.
    Jaw {
        /// Opens.
        open: bool,
        /// To.
        to: Spanned<Length>,
    },
    /// A grip level is chosen.
    Level(Spanned<LevelId>),
    /// The jaw closes on a load.
    Grip(Spanned<LoadId>),
    /// A held load leaves a station with the motion that follows.
    Leave(Spanned<LoadId>, Spanned<StationId>),
    /// A held load came to rest on a station with the motion before.
    Rest(Spanned<LoadId>, Spanned<StationId>),
    /// The jaw lets go of a load on a station and opens.
    LetGo(Spanned<LoadId>, Spanned<StationId>, Spanned<Length>),
    /// Power.
    Power(bool),
    /// Every joint is compared with its printed angle.
    Settle,
    /// Something was observed.
    Observe,
    /// A hold was cleared.
    Clear(Spanned<RoleId>),
    /// A role was invited to witness.
    Invite(Spanned<RoleId>),
    /// Somebody verified the step before.
    Verify(Spanned<RoleId>),
    /// The operator looks through a view.
    Look(Spanned<ViewId>),
    /// Time passes.
    Pass {
        /// At least.
        least: Time,
        /// At most.
        most: Option<Time>,
    },
    /// Crews may change.
    ChangeCrew,
    /// A tool comes on (true) or off.
    Tool(Spanned<ToolId>, bool),
    /// The scene changes.
    Scene(Spanned<EquipmentId>, Spanned<StateId>),
    /// A pose is asserted.
    ExpectPose(Spanned<PoseId>),
    /// A station is asserted.
    ExpectAt(Spanned<StationId>),
}

impl Step {
    /// The joints it drives.
    pub fn drives(&self) -> Vec<&Drive> {
        let mut out = Vec::new();
        for effect in self.effects() {
            match effect {
                Effect::Drive(drive) => out.push(drive),
                Effect::DriveTwo(two) => out.extend(&two.drives),
                _ => {}
            }
        }
        out
    }
    /// Whether it opens the jaw (true) or closes it; none if it does not work it.
    pub fn works_jaw(&self) -> Option<bool> {
        match &self.kind {
            Kind::Close(_) => Some(false),
            Kind::Jaw { open, .. } => Some(*open),
            Kind::LetGo { .. } => Some(true),
            _ => None,
        }
    }
    /// Which control of the jaw is worked, and what is done with it as far as the profile says; none if none is.
    pub fn jaw_work<'a>(&self, jaw: &'a Jaw) -> Option<(&'a str, Option<&'a str>)> {
        match &self.kind {
            Kind::GripLevel(level) => Some((jaw.level_control.as_deref()?, Some(&jaw.levels[level.value.at()].name.value))),
            _ => self.works_jaw().map(|opens| (jaw.control.as_str(), jaw.work(opens))),
        }
    }
    /// What the step does to the state, in order. Control flow (`If`, `Repeat`, `Perform`, `GoTo`) has no effect of its own.
    pub fn effects(&self) -> Effects<'_> {
        use Effect as E;
        let two = |a, b| Effects([Some(a), Some(b)]);
        let one = |a| Effects([Some(a), None]);
        match &self.kind {
            Kind::Instruction | Kind::If { .. } | Kind::Repeat { .. } | Kind::Perform(_) | Kind::GoTo(_) | Kind::Broken | Kind::Tell(_) => {
                Effects([None, None])
            }
            Kind::Move(drive) => one(E::Drive(drive)),
            Kind::Together(drives) => one(E::DriveTwo(drives)),
            Kind::GripLevel(level) => one(E::Level(*level)),
            Kind::Close(load) => one(E::Grip(*load)),
            Kind::Jaw { open, to } => one(E::Jaw { open: *open, to: *to }),
            Kind::Lift(t) => two(E::Leave(t.load, t.station), E::Drive(&t.drive)),
            Kind::Lower(t) => two(E::Drive(&t.drive), E::Rest(t.load, t.station)),
            Kind::LetGo { load, station, open_to } => one(E::LetGo(*load, *station, *open_to)),
            Kind::HoldPoint(role) => one(E::Clear(*role)),
            Kind::WitnessPoint(role) => one(E::Invite(*role)),
            Kind::VerifyAfter(role) => one(E::Verify(*role)),
            Kind::Check | Kind::Read(_) | Kind::Record { .. } => one(E::Observe),
            Kind::ReadJoints => one(E::Settle),
            Kind::View { view, .. } => one(E::Look(*view)),
            Kind::Wait { at_least, at_most } => one(E::Pass { least: at_least.value, most: at_most.map(|t| t.value) }),
            Kind::Turnover => one(E::ChangeCrew),
            Kind::Power(on) => one(E::Power(*on)),
            Kind::Fit(tool) => one(E::Tool(*tool, true)),
            Kind::PutDown(tool) => one(E::Tool(*tool, false)),
            Kind::Set { equipment, state } => one(E::Scene(*equipment, *state)),
            Kind::ExpectPose(pose) => one(E::ExpectPose(*pose)),
            Kind::ExpectAt(station) => one(E::ExpectAt(*station)),
        }
    }

    /// The kind of act for the policy, if it is one the policy can speak of.
    pub fn act(&self) -> Option<Act> {
        let by_goal = |goal: &Goal| match goal {
            Goal::To { .. } | Goal::By { .. } => Act::Move,
            Goal::Until { .. } => Act::Guarded,
            Goal::Taps { .. } => Act::Taps,
        };
        Some(match &self.kind {
            Kind::Move(drive) => by_goal(&drive.goal),
            Kind::Together(_) => Act::TwoAxis,
            Kind::Close(_) => Act::Close,
            Kind::Lift(_) => Act::Lift,
            Kind::Lower(_) => Act::Lower,
            Kind::LetGo { .. } => Act::LetGo,
            Kind::HoldPoint(_) => Act::HoldPoint,
            Kind::Check => Act::Check,
            Kind::Read(_) => Act::Read,
            Kind::Tell(_) => Act::Tell,
            Kind::Wait { .. } => Act::Wait,
            Kind::Power(true) => Act::PowerOn,
            Kind::Fit(_) => Act::Fit,
            Kind::PutDown(_) => Act::PutDown,
            Kind::Set { .. } => Act::SetEquipment,
            _ => return None,
        })
    }

    /// The first labelled line of a kind.
    pub fn line(&self, label: Label) -> Option<&Line> {
        self.lines.iter().find(|l| l.label == label)
    }
}

/// At most two effects, in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Effects<'a>([Option<Effect<'a>>; 2]);

impl<'a> IntoIterator for Effects<'a> {
    type Item = Effect<'a>;
    type IntoIter = std::iter::Flatten<std::array::IntoIter<Option<Effect<'a>>, 2>>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter().flatten()
    }
}
