//! What can be so at one moment: read-outs, jaw, load, tool, power, view, scene.
//!
//! Invariant: a state is exact (whole thousandths, no hulls of other states), so that two states merge only
//! where they are the same in every field. Elapsed time and the path that led here stand beside it in
//! [`Entry`], because they differ between paths that are otherwise one.

use crate::model::{EquipmentId, JointId, LevelId, LoadId, StateId, StationId, StepId, ToolId, ViewId};
use crate::units::{Angle, Length};
use std::sync::Arc;

/// How a read-out is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Known {
    /// The last move stopped on the read-out, or a pose was asserted.
    Readout,
    /// The last move was inched: short pushes of the stick while looking at the jaw, not at the read-out.
    ByEye,
    /// Anywhere in the interval: a guarded move or taps ended on a cue.
    Range,
    /// Power was off since; the interval is what was left behind.
    Unread,
    /// The same, and it was only known as a range before.
    UnreadRange,
    /// The start is not declared, or a statement that could not be read may have moved it; that is reported, and rules
    /// stay silent.
    Muted,
}

/// The read-outs one joint can show. A turning joint counts its angle cumulatively.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Readout {
    /// Lowest, as settled: hold tolerance not included.
    pub low: Angle,
    /// Highest, as settled.
    pub high: Angle,
    /// The printed angle. After a guarded move, its bound.
    pub nominal: Angle,
    /// How it is known.
    pub known: Known,
    /// Of a joint without stops, while the jaw holds: the cumulative angle farthest from zero since it took the load, on the
    /// side the joint is on. Zero otherwise.
    pub wound: Angle,
}

impl Readout {
    /// Settled at an angle with a band.
    pub fn at(nominal: Angle, band: Angle, known: Known) -> Readout {
        Readout { low: nominal - band, high: nominal + band, nominal, known, wound: Angle::ZERO }
    }
    /// The angle from which unwinding counts: the farthest one on the side the joint is on.
    pub fn farthest(self) -> Angle {
        let same_side = self.wound.0.signum() == self.nominal.0.signum();
        if same_side && self.wound.abs() > self.nominal.abs() { self.wound } else { self.nominal }
    }
    /// The interval of an idle joint: `hold` bounds its whole drift since it last moved and is never accumulated.
    pub fn idle(self, hold: Angle) -> (Angle, Angle) {
        (self.low - hold, self.high + hold)
    }
    /// Whether there is one printed angle to start from.
    pub fn is_settled(self) -> bool {
        matches!(self.known, Known::Readout | Known::ByEye)
    }
    /// Whether the joint could move without power and nobody looked since.
    pub fn is_unread(self) -> bool {
        matches!(self.known, Known::Unread | Known::UnreadRange)
    }
    /// Whether the interval says where the joint is.
    pub fn is_known(self) -> bool {
        self.is_settled() || self.known == Known::Range
    }
}

/// The opening of the jaw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Opening {
    /// Between two lengths.
    Between(Length, Length),
    /// Not declared.
    Undeclared,
    /// Made unknown by a statement that could not be read.
    Muted,
}

/// What the jaw has to do with a load: free, touching, gripped and supported, lifted clear, carried, set on, let go, and free again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Grasp {
    /// Empty and clear.
    Free,
    /// Empty; the last motion ended on contact.
    Touching,
    /// Holding.
    Held(Held),
    /// Open around a load that stands on a station.
    LetGo(LoadId, StationId),
    /// Made unknown by a statement that could not be read.
    Muted,
}

/// A held load, symbolically: its orientation in the jaw follows from the step that took it and the station it was taken from.
/// Closing on it again, or lifting it off another station without letting go, changes neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Held {
    /// Which.
    pub load: LoadId,
    /// The step that took it, with the procedure it stands in (0 is the outermost); none if held from the start.
    pub gripped: Option<(u16, StepId)>,
    /// Where it was taken.
    pub from: Option<StationId>,
    /// Where in the transfer it is.
    pub phase: Phase,
}

impl Held {
    /// Whether a station bears it.
    pub fn stands(&self) -> bool {
        matches!(self.phase, Phase::Supported(_) | Phase::SetOn(_))
    }
}

/// Where in a transfer a held load is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Phase {
    /// Gripped, its station still bears it.
    Supported(StationId),
    /// Told to leave its station with the motion that follows in the same step.
    Leaving(StationId),
    /// Lifted clear of its station by the last motion.
    LiftedClear(StationId),
    /// Carried.
    Carried,
    /// Set on a station, still gripped.
    SetOn(StationId),
}

/// Where a load is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// On a station.
    On(StationId),
    /// In the jaw.
    Jaw,
    /// Neither cell nor procedure says.
    Unsaid,
}

/// Loads' places and equipment states: changes rarely, so it is shared.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Scene {
    pub(super) loads: Box<[Place]>,
    pub(super) equipment: Box<[StateId]>,
}

/// A state. Cheap to clone: the tables are shared until they change.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct State {
    pub(super) joints: Arc<[Readout]>,
    pub(super) scene: Arc<Scene>,
    /// The jaw.
    pub jaw: Opening,
    /// The grip level chosen.
    pub level: Option<LevelId>,
    /// The jaw and its load.
    pub grasp: Grasp,
    /// What is fitted.
    pub tool: Option<ToolId>,
    /// Power at the console; `None` is muted.
    pub power: Option<bool>,
    /// What the operator looks through.
    pub view: Option<ViewId>,
}

impl State {
    pub(super) fn new(joints: Vec<Readout>, loads: Vec<Place>, equipment: Vec<StateId>) -> State {
        State {
            joints: joints.into(),
            scene: Arc::new(Scene { loads: loads.into(), equipment: equipment.into() }),
            jaw: Opening::Undeclared,
            level: None,
            grasp: Grasp::Free,
            tool: None,
            power: Some(false),
            view: None,
        }
    }
    /// One joint.
    pub fn joint(&self, id: JointId) -> Readout {
        self.joints[id.at()]
    }
    /// All joints in order.
    pub fn joints(&self) -> &[Readout] {
        &self.joints
    }
    pub(super) fn set_joint(&mut self, id: JointId, readout: Readout) {
        Arc::make_mut(&mut self.joints)[id.at()] = readout;
    }
    pub(super) fn map_joints(&mut self, change: impl Fn(usize, Readout) -> Readout) {
        for (i, r) in Arc::make_mut(&mut self.joints).iter_mut().enumerate() {
            *r = change(i, *r);
        }
    }
    /// Where a load is.
    pub fn place(&self, load: LoadId) -> Place {
        self.scene.loads[load.at()]
    }
    /// Every load and where it is.
    pub fn places(&self) -> impl Iterator<Item = (LoadId, Place)> {
        (0u16..).zip(self.scene.loads.iter()).map(|(i, p)| (LoadId(i), *p))
    }
    pub(super) fn set_place(&mut self, load: LoadId, place: Place) {
        if self.place(load) != place {
            Arc::make_mut(&mut self.scene).loads[load.at()] = place;
        }
    }
    /// The load that stands on a station.
    pub fn on(&self, station: StationId) -> Option<LoadId> {
        let at = self.scene.loads.iter().position(|p| *p == Place::On(station))?;
        u16::try_from(at).ok().map(LoadId)
    }
    /// The state of a piece of equipment.
    pub fn equipment(&self, id: EquipmentId) -> StateId {
        self.scene.equipment[id.at()]
    }
    /// The state of every piece of equipment, in the order of the cell.
    pub fn equipment_states(&self) -> impl Iterator<Item = StateId> {
        self.scene.equipment.iter().copied()
    }
    pub(super) fn set_equipment(&mut self, id: EquipmentId, state: StateId) {
        Arc::make_mut(&mut self.scene).equipment[id.at()] = state;
    }
    /// The load in the jaw.
    pub fn held(&self) -> Option<Held> {
        match self.grasp {
            Grasp::Held(held) => Some(held),
            _ => None,
        }
    }
    /// Whether nobody can say what is in the jaw, as a statement could not be read.
    pub fn is_held_unknown(&self) -> bool {
        self.grasp == Grasp::Muted
    }
    /// Whether every execution of `self` is one of `other`: intervals inside, all else the same but the view.
    pub fn lies_in(&self, other: &State) -> bool {
        let jaw = match (self.jaw, other.jaw) {
            (Opening::Between(a, b), Opening::Between(c, d)) => a >= c && b <= d,
            (a, b) => a == b,
        };
        let joints = self.joints.iter().zip(other.joints.iter()).all(|(a, b)| {
            let same = a.known == b.known && a.nominal == b.nominal || b.known == Known::Range && a.is_known();
            same && a.low >= b.low && a.high <= b.high
        });
        jaw && joints
            && self.scene == other.scene
            && (self.grasp == other.grasp || matches!((self.grasp, other.grasp), (Grasp::Touching | Grasp::LetGo(..), Grasp::Free)))
            && (self.level, self.tool, self.power) == (other.level, other.tool, other.power)
    }
}

/// How long the way here took, in milliseconds: at least (waits, and motions at full rate), and at most where bounded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Elapsed {
    /// At least.
    pub least: i64,
    /// At most; `None` once a step without an upper bound was passed.
    pub most: Option<i64>,
}

impl Elapsed {
    pub(super) const NONE: Elapsed = Elapsed { least: 0, most: Some(0) };
    pub(super) fn plus(self, least: i64, most: Option<i64>) -> Elapsed {
        Elapsed { least: self.least.saturating_add(least), most: self.most.zip(most).map(|(a, b)| a.saturating_add(b)) }
    }
    pub(super) fn hull(self, other: Elapsed) -> Elapsed {
        Elapsed { least: self.least.min(other.least), most: self.most.zip(other.most).map(|(a, b)| a.max(b)) }
    }
}

/// A state with the way that led to it first.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The state.
    pub state: State,
    /// The branches taken, see [`super::Trace::path`].
    pub path: PathId,
    /// The time it took.
    pub elapsed: Elapsed,
}

/// A way through the branches; 0 is the way without any.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PathId(pub(super) u32);
