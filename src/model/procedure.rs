//! The procedure with every name resolved: what it does, to which joint, load and station.
//!
//! Invariant: nothing here is text to be looked up again. State rules see [`Effect`]s only; rules over the
//! writing see [`Step`]s; prints read both.

mod effect;

use super::arm::Arm;
use super::cell::Cell;
pub use super::number::StepNumber;
use super::policy::Policy;
use super::touch::Touch;
use super::{
    EquipmentId, InstrumentId, JointId, LevelId, LoadId, MonitorId, PoseId, RoleId, SectionId, SignalId, StateId, StationId, StepId,
    ToolId, ViewId,
};
pub use crate::syntax::front::{Disposition, FrontMatter, Qualification, Reference, UseLevel, Validation, Waiver};
pub use crate::syntax::tree::{AlertKind, Band, Label, Link, Pace, ProseKind, SectionKind, Target, Text};
use crate::text::{FileId, Span, Spanned};
pub use crate::units::{Angle, Length, Time};
pub use effect::{Effect, Effects};
use std::sync::Arc;

/// Deepest nesting of `perform`, sections and procedures together. Who reads a print cannot follow more either.
pub const DEEPEST_PERFORM: usize = 16;

/// A procedure over its models.
#[derive(Clone, Debug)]
pub struct Procedure {
    /// The file.
    pub file: FileId,
    /// Identity and declarations, as written.
    pub front: FrontMatter,
    /// The arm.
    pub arm: Arc<Arm>,
    /// The cell; an empty one if the procedure names none.
    pub cell: Arc<Cell>,
    /// The policy.
    pub policy: Arc<Policy>,
    /// Who performs the steps.
    pub performer: Option<RoleId>,
    /// The declared start, resolved; `None` if a name in it failed.
    pub start: Option<Situation>,
    /// The declared end.
    pub end: Option<Situation>,
    /// What may touch in moves that start or end at a station; a [`StationId`] indexes it.
    pub approaches: Vec<Vec<Touch>>,
    /// Sections in order. The first may be the untitled preamble.
    pub sections: Vec<Section>,
    /// Every step in source order; a [`StepId`] indexes it. Steps of arms and bodies are here too.
    pub steps: Vec<Step>,
}

impl Procedure {
    /// What people call a thing of the cell that is written by its name.
    pub fn title_of(&self, name: &str) -> Option<&str> {
        let bare = ["the ", "The "].iter().find_map(|the| name.strip_prefix(the)).unwrap_or(name);
        let is = |written: &str| written.eq_ignore_ascii_case(bare);
        let cell = &self.cell;
        let stations = cell.stations.iter().map(|s| (&s.name.value, &s.title));
        let loads = cell.loads.iter().map(|l| (&l.name.value, &l.title));
        let title = stations.chain(loads).find(|(name, _)| is(name)).map(|(_, title)| title.as_str());
        title.filter(|t| !t.is_empty())
    }
    /// The step of an index.
    pub fn step(&self, id: StepId) -> &Step {
        &self.steps[id.at()]
    }
    /// The section of an index.
    pub fn section(&self, id: SectionId) -> &Section {
        &self.sections[id.at()]
    }
}

/// What is declared to be so at the start or the end. Fields that were not written are `None`.
#[derive(Clone, Debug, PartialEq)]
pub struct Situation {
    /// The table.
    pub span: Span,
    /// Pose.
    pub pose: Option<Spanned<PoseId>>,
    /// Jaw opening.
    pub jaw: Option<Spanned<Length>>,
    /// Power.
    pub power: Option<Spanned<bool>>,
    /// Tool.
    pub tool: Option<Spanned<ToolId>>,
    /// View.
    pub view: Option<Spanned<ViewId>>,
    /// Loads and where they are; `None` is held.
    pub loads: Vec<(Spanned<LoadId>, Spanned<Option<StationId>>)>,
    /// Equipment states.
    pub equipment: Vec<(Spanned<EquipmentId>, Spanned<StateId>)>,
}

/// A section.
#[derive(Clone, Debug)]
pub struct Section {
    /// Title, empty for the preamble.
    pub title: Text,
    /// Heading level, 0 for the preamble.
    pub level: u8,
    /// Anchor.
    pub anchor: Option<Spanned<String>>,
    /// Kind.
    pub kind: SectionKind,
    /// The heading, or the start of the file.
    pub span: Span,
    /// Content in order.
    pub items: Vec<Item>,
}

/// A piece of a section.
#[derive(Clone, Debug)]
pub enum Item {
    /// A step.
    Step(StepId),
    /// An alert; it guards the next step of the section.
    Alert(Alert),
    /// Words.
    Prose(Text, ProseKind),
}

/// An alert.
#[derive(Clone, Debug)]
pub struct Alert {
    /// Signal word.
    pub kind: AlertKind,
    /// The whole block.
    pub span: Span,
    /// Hazard.
    pub hazard: Option<Text>,
    /// Consequence.
    pub consequence: Option<Text>,
    /// Avoidance.
    pub avoid: Option<Text>,
    /// A note's words.
    pub words: Vec<Text>,
    /// The step it guards.
    pub guards: Option<StepId>,
}

/// One step.
#[derive(Clone, Debug)]
pub struct Step {
    /// Its index.
    pub id: StepId,
    /// Its printed number.
    pub number: StepNumber,
    /// The section it stands in.
    pub section: SectionId,
    /// The `if` or `repeat` whose arm or body it stands in.
    pub parent: Option<StepId>,
    /// Anchor.
    pub anchor: Option<Spanned<String>>,
    /// The whole item.
    pub span: Span,
    /// The code span of the statement, or the start of the words.
    pub head: Span,
    /// What it is.
    pub kind: Kind,
    /// The words after the statement, or the plain instruction.
    pub text: Text,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// A name in it could not be resolved; rules that depend on it stay silent.
    pub broken: bool,
}

/// A labelled line.
#[derive(Clone, Debug)]
pub struct Line {
    /// Which.
    pub label: Label,
    /// The whole line.
    pub span: Span,
    /// Its words.
    pub text: Text,
    /// Where it leads, who is named.
    pub form: LineForm,
}

/// What a labelled line says beyond its words, resolved.
#[derive(Clone, Debug)]
pub enum LineForm {
    /// Words for people.
    Words,
    /// Into a contingency section.
    Contingency(Spanned<SectionId>),
    /// To a step.
    Step(Spanned<StepId>),
    /// Stay and tell.
    HoldAndTell(Span),
    /// A second person.
    SecondPerson {
        /// Who.
        role: Spanned<RoleId>,
        /// Agreed before the act.
        agree_before: bool,
        /// What is agreed.
        that: Option<Span>,
    },
    /// Pairs of things that may touch.
    Touching(Vec<Touch>),
    /// Could not be resolved; reported.
    Broken,
}

/// What a step is. Printing and the rules over writing look at this; state rules look at [`Step::effects`].
#[derive(Clone, Debug)]
pub enum Kind {
    /// Words only.
    Instruction,
    /// One joint.
    Move(Drive),
    /// Two joints.
    Together(Box<DriveTwo>),
    /// Grip level chosen.
    GripLevel(Spanned<LevelId>),
    /// Close on a load.
    Close(Spanned<LoadId>),
    /// Jaw opened (true) or closed on nothing (false) to a length.
    Jaw {
        /// Opening.
        open: bool,
        /// The length.
        to: Spanned<Length>,
    },
    /// Lift a load off a station.
    Lift(Transfer),
    /// Lower a load onto a station.
    Lower(Transfer),
    /// Let go.
    LetGo {
        /// The load.
        load: Spanned<LoadId>,
        /// The station.
        station: Spanned<StationId>,
        /// The opening afterwards.
        open_to: Spanned<Length>,
    },
    /// Hold point.
    HoldPoint(Spanned<RoleId>),
    /// Witness point.
    WitnessPoint(Spanned<RoleId>),
    /// Independent verification of the step before.
    VerifyAfter(Spanned<RoleId>),
    /// Observe.
    Check,
    /// Read a value against a band.
    Read(Reading),
    /// Write a value down.
    Record {
        /// What.
        name: Span,
        /// Unit.
        unit: Span,
    },
    /// Compare all joints with the printed angles.
    ReadJoints,
    /// Look through.
    View {
        /// View.
        view: Spanned<ViewId>,
        /// Monitor.
        monitor: Option<Spanned<MonitorId>>,
    },
    /// Tell a role.
    Tell(Spanned<RoleId>),
    /// Wait.
    Wait {
        /// Lower bound.
        at_least: Spanned<Time>,
        /// Upper bound.
        at_most: Option<Spanned<Time>>,
    },
    /// Crews may change.
    Turnover,
    /// Power on or off.
    Power(bool),
    /// Fit a tool.
    Fit(Spanned<ToolId>),
    /// Put the tool down.
    PutDown(Spanned<ToolId>),
    /// Equipment state.
    Set {
        /// Equipment.
        equipment: Spanned<EquipmentId>,
        /// State.
        state: Spanned<StateId>,
    },
    /// A condition; the text is the observable.
    If {
        /// Arms in order; `otherwise: go on` is an arm without steps.
        arms: Vec<Branch>,
    },
    /// A bounded repeat; the text is the cue.
    Repeat {
        /// Most passes.
        at_most: Spanned<u32>,
        /// Steps.
        body: Vec<StepId>,
    },
    /// Do another section or procedure and come back.
    Perform(Spanned<Callee>),
    /// Leave for another step or a contingency.
    GoTo(Spanned<Destination>),
    /// Assert a pose.
    ExpectPose(Spanned<PoseId>),
    /// Assert being at a station.
    ExpectAt(Spanned<StationId>),
    /// The statement could not be read or a name in it not resolved; reported.
    Broken,
}

/// An arm of a condition.
#[derive(Clone, Debug)]
pub struct Branch {
    /// `otherwise`.
    pub otherwise: bool,
    /// Where.
    pub span: Span,
    /// `go on` was written: nothing is done and the procedure goes on.
    pub go_on: bool,
    /// Steps; empty for `go on`.
    pub steps: Vec<StepId>,
}

/// What `perform` names.
#[derive(Clone, Debug)]
pub enum Callee {
    /// A section of this procedure.
    Section(SectionId),
    /// A whole other procedure over the same models.
    Procedure(Arc<Procedure>),
}

/// Where `go to` leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Destination {
    /// A step.
    Step(StepId),
    /// A contingency section.
    Contingency(SectionId),
}

/// One joint driven. Direction is true for the positive word.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// The joint.
    pub joint: Spanned<JointId>,
    /// Whether the word is the positive one.
    pub positive: Spanned<bool>,
    /// Where to.
    pub goal: Goal,
}

/// Where a drive ends, bands filled in from the profile where not written.
#[derive(Clone, Debug, PartialEq)]
pub enum Goal {
    /// Absolute.
    To {
        /// Claimed start.
        from: Option<Spanned<Angle>>,
        /// Target.
        to: Spanned<Angle>,
        /// Written band.
        within: Option<Spanned<Angle>>,
        /// Pace.
        pace: Pace,
    },
    /// Relative with its end.
    By {
        /// Unsigned change.
        by: Spanned<Angle>,
        /// End.
        ending: Spanned<Angle>,
    },
    /// Guarded.
    Until {
        /// Signal; none is contact.
        signal: Option<Spanned<SignalId>>,
        /// Bound.
        not_past: Spanned<Angle>,
    },
    /// Taps.
    Taps {
        /// One tap.
        tap: Spanned<Angle>,
        /// Ceiling.
        at_most: Spanned<u32>,
        /// Lower end of the contact band.
        low: Spanned<Angle>,
        /// Upper end.
        high: Spanned<Angle>,
    },
}

impl Goal {
    /// Whether the move ends on something seen or felt, wherever that comes.
    pub fn is_cued(&self) -> bool {
        matches!(self, Goal::Until { .. } | Goal::Taps { .. })
    }
}

/// Two joints at once.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveTwo {
    /// Both, absolute.
    pub drives: [Drive; 2],
    /// Which leads.
    pub first: Option<Spanned<JointId>>,
    /// Gates.
    pub gates: Vec<Gate>,
}

/// One joint waits for another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// The one that waits.
    pub held: Spanned<JointId>,
    /// Where.
    pub not_past: Spanned<Angle>,
    /// The other.
    pub until: Spanned<JointId>,
    /// What opens the gate.
    pub past: Spanned<Angle>,
}

/// A load lifted off or lowered onto a station.
#[derive(Clone, Debug, PartialEq)]
pub struct Transfer {
    /// The load.
    pub load: Spanned<LoadId>,
    /// The station.
    pub station: Spanned<StationId>,
    /// The motion.
    pub drive: Drive,
}

/// A value read.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What is read.
    pub quantity: Span,
    /// Where.
    pub place: Option<Span>,
    /// Accepted values.
    pub band: Band,
    /// With what.
    pub instrument: Spanned<InstrumentId>,
}
