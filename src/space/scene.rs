//! What there is in space: the chain of joints, every body that can be there, and where loads rest.
//!
//! Invariant: a body is made once, of whole micrometres; which of them are there follows from a state and from nothing
//! else.

mod build;

use super::leg::nominal;
use crate::geometry::body::Body;
use crate::geometry::chain::{Chain, Placed};
use crate::geometry::{Frame, Vec3, metres, sweep};
use crate::model::cell::Cell;
use crate::model::procedure::Procedure;
use crate::model::{EquipmentId, LinkId, LoadId, ObstacleId, StateId, StationId, ToolId, touch};
use crate::trace::Trace;
use crate::trace::state::{Held, Place, State};
use crate::units::Ratio;
use std::collections::BTreeSet;

/// What a body of the scene is; with it, when it is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// Part of the arm.
    Link(LinkId),
    /// A tool, while it is fitted.
    Tool(ToolId),
    /// A load at rest on a station.
    Rest(LoadId, StationId),
    /// A load in the jaw.
    Held(Grip),
    /// Part of the cell.
    Solid(ObstacleId),
    /// A zone nothing may enter.
    KeepOut(ObstacleId),
    /// Space that nobody surveyed; counts as occupied.
    Unsurveyed(ObstacleId),
}

/// How a load lies in the jaw.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Grip {
    /// The load.
    pub load: LoadId,
    /// Where it was taken from.
    pub from: Option<StationId>,
    /// The printed angles, in thousandths of a degree, at which it was taken; empty if it was held from the start.
    pub gripped: Vec<i64>,
}

/// One body of the scene.
#[derive(Clone, Debug)]
pub struct Thing {
    /// What it is.
    pub what: What,
    /// What people call it.
    pub title: String,
    /// Severity class of touching it.
    pub severity: u8,
    /// What carries it: 0 the cell, k what moves with joint k.
    pub carrier: usize,
}

/// Where the jaw is when it is at a station.
#[derive(Clone, Debug)]
pub struct Spot {
    /// The grip centre's frame in the cell.
    pub frame: Frame,
    /// Its origin in whole micrometres.
    pub point: [i64; 3],
    /// How near to it things that are named in the approach may touch.
    pub approach_within: i64,
    /// Pairs of bodies that may touch there.
    pub approach: Vec<(usize, usize)>,
    /// The bodies that bear a load there.
    pub support: Vec<usize>,
}

/// The scene of a procedure.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The chain of joints and the solids of every body, in the order of `things`.
    pub solids: sweep::Scene,
    /// Clearance to keep, in micrometres.
    pub margin: i64,
    /// How near to a station things that may touch there may touch, in micrometres.
    pub contact_travel: i64,
    /// The point between the pads, in the frame of the last joint.
    pub grip: [i64; 3],
    /// Every body.
    pub things: Vec<Thing>,
    /// Zones to be crossed slowly.
    pub slow: Vec<(ObstacleId, Body)>,
    /// The same chain and bodies with these zones behind them; none without such a zone.
    pub zones: Option<sweep::Scene>,
    /// By station: where it is; none if the cell does not say.
    pub spots: Vec<Option<Spot>>,
    /// Links that meet at a point no joint between them moves.
    pub meetings: Vec<Meeting>,
}

/// Two links that meet at a point no joint between them moves, so that they always touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meeting {
    /// The link on the lower carrier.
    pub a: usize,
    /// The one on the higher carrier.
    pub b: usize,
    /// The point, in micrometres, in the frame of the lower carrier.
    pub point: [i64; 3],
}

/// Why there is no scene to look at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lack {
    /// An error stands that leaves open where the arm is.
    Errors,
    /// The procedure names no cell, or the cell holds nothing that stands in the way.
    Cell,
    /// What the models do not say.
    Models(Vec<String>),
    /// A number that geometry cannot work with.
    Broken(String),
}

impl Scene {
    /// The scene of everything that happens in a trace.
    pub fn of(p: &Procedure, trace: &Trace) -> Result<Scene, Lack> {
        build::build(p, trace)
    }

    /// What comes this near, in micrometres, is near by a policy's count of margins.
    pub fn near(&self, margins: Ratio) -> i64 {
        self.margin.saturating_mul(margins.0) / 1_000_000
    }

    /// The joints.
    pub fn chain(&self) -> &Chain {
        self.solids.chain()
    }

    /// The bodies of an obstacle.
    pub fn obstacle(&self, id: ObstacleId) -> impl Iterator<Item = usize> {
        let is = move |t: &&Thing| matches!(t.what, What::Solid(o) | What::KeepOut(o) | What::Unsurveyed(o) if o == id);
        self.things.iter().enumerate().filter(move |(_, t)| is(t)).map(|(i, _)| i)
    }

    /// Every pair of bodies of the scene that two named things can be.
    pub fn pairs(&self, named: impl Iterator<Item = (touch::Body, touch::Body)>) -> Vec<(usize, usize)> {
        let mut out = BTreeSet::new();
        for (a, b) in named {
            for i in self.named(a) {
                out.extend(self.named(b).into_iter().filter(|j| *j != i).map(|j| (i.min(j), i.max(j))));
            }
        }
        out.into_iter().collect()
    }

    fn named(&self, body: touch::Body) -> Vec<usize> {
        let is = |t: &Thing| match (&t.what, body) {
            (What::Link(a), touch::Body::Link(b)) => *a == b,
            (What::Tool(a), touch::Body::Tool(b)) => *a == b,
            (What::Rest(a, _), touch::Body::Load(b)) => *a == b,
            (What::Held(grip), touch::Body::Load(b)) => grip.load == b,
            (What::Solid(a) | What::KeepOut(a) | What::Unsurveyed(a), touch::Body::Obstacle(b)) => *a == b,
            _ => false,
        };
        self.things.iter().enumerate().filter(|(_, t)| is(t)).map(|(i, _)| i).collect()
    }

    /// The bodies that are there in a state. None if it is not clear how a held load lies in the jaw.
    pub fn present(&self, p: &Procedure, trace: &Trace, state: &State) -> Option<Vec<usize>> {
        let grip = match state.held() {
            Some(held) => Some(grip(p, trace, held)?),
            None => None,
        };
        let there = |what: &What| match what {
            What::Link(_) => true,
            What::Tool(tool) => state.tool == Some(*tool),
            What::Rest(load, station) => state.place(*load) == Place::On(*station),
            What::Held(g) => grip.as_ref() == Some(g),
            What::Solid(id) | What::KeepOut(id) | What::Unsurveyed(id) => stands(&p.cell, *id, state),
        };
        Some((0..self.things.len()).filter(|i| there(&self.things[*i].what)).collect())
    }

    /// The body of a held load.
    pub fn held(&self, p: &Procedure, trace: &Trace, held: Held) -> Option<usize> {
        let grip = grip(p, trace, held)?;
        self.things.iter().position(|t| t.what == What::Held(grip.clone()))
    }

    /// The grip centre of a placed arm, in the cell.
    pub fn grip_centre(&self, placed: &Placed) -> Vec3 {
        placed.carriers[self.chain().joints()].point(metres(self.grip))
    }
}

/// Whether an obstacle is there in a state.
pub(super) fn stands(cell: &Cell, id: ObstacleId, state: &State) -> bool {
    let all: &[(_, _)] = &cell.obstacles[id.at()].when;
    all.iter().all(|(e, s): &(crate::text::Spanned<EquipmentId>, crate::text::Spanned<StateId>)| state.equipment(e.value) == s.value)
}

/// How a held load lies in the jaw: as it was taken, whatever closed on it again since. None if it could have been taken at
/// different angles.
fn grip(p: &Procedure, trace: &Trace, held: Held) -> Option<Grip> {
    let Some((origin, step)) = held.gripped else {
        return Some(Grip { load: held.load, from: held.from, gripped: Vec::new() });
    };
    let mut angles: Option<Vec<i64>> = None;
    let frames = trace.frames().filter(|(_, f)| f.procedure == origin);
    for row in frames.filter_map(|(id, _)| trace.row(id, step)) {
        for entry in trace.before(row).filter(|e| e.state.held().is_none_or(|h| h.load != held.load)) {
            let here: Vec<i64> = entry.state.joints().iter().map(|r| nominal(r).0).collect();
            match &angles {
                None => angles = Some(here),
                Some(known) if *known == here => {}
                Some(_) => return None,
            }
        }
    }
    let _ = p;
    Some(Grip { load: held.load, from: held.from, gripped: angles? })
}
