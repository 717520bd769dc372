//! What every joint has to hold along a motion, what pressure that takes, and whether the jaw keeps its grip on the way.
//!
//! Masses are upper bounds, each counting with any part of it, and centres are taken where they are worst: within what the models
//! say, or anywhere in the shapes where they do not say. Statics, not dynamics: moves are slow; only the grip counts what a
//! move adds by starting and stopping.
//!
//! Invariant: a number here is never below the true one anywhere in the stretch; what could not be worked out for want of data is
//! in [`Weigher::lacks`], never silence.

use super::leg::Leg;
use super::scene::{Grip, Scene, What};
use crate::geometry::actuator::{Linkage, Rotary, Side};
use crate::geometry::chain::JointBox;
use crate::geometry::grip::{Hold, Turning, acceleration, grip_over, lean, lean_over};
use crate::geometry::statics::{Droop, NoPressure, Weight, pressure_over, torque_over};
use crate::geometry::worst::{Worst, radians};
use crate::geometry::{Fault, Frame, Vec3, metres};
use crate::model::arm::{Actuator, Joint};
use crate::model::procedure::Procedure;
use crate::model::solid::{direction, um};
use crate::model::{JointId, LevelId, LoadId, ToolId};
use crate::trace::state::State;
use crate::units::trig::cos;
use crate::units::{Angle, Force, Length, Mass, Pressure, Ratio, Torque};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// A bound is sharp enough within this share of what the joint can give.
const ENOUGH: f64 = 0.005;

/// How sharply the torque at rest is told, Nm: what is less draws no joint down.
const NOTHING: f64 = 0.05;

/// What a stretch asks of the joints and of the jaw.
#[derive(Clone, Debug, PartialEq)]
pub struct Burden {
    /// By joint; empty where a mass is missing.
    pub strains: Vec<Strain>,
    /// On the load in the jaw, if its friction and the jaw's closing axis are known.
    pub squeeze: Option<Squeeze>,
}

/// The worst of one joint over a stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct Strain {
    /// The joint.
    pub joint: JointId,
    /// The greatest torque it may have to give, either way, rounded up.
    pub torque: Torque,
    /// Angles of all joints at which it is, thousandths of a degree.
    pub at: Vec<i64>,
    /// What its actuator makes of it.
    pub effort: Effort,
    /// Which way it goes at the end of the stretch if nothing holds it.
    pub droop: Droop,
}

/// A torque as its actuator feels it.
#[derive(Clone, Debug, PartialEq)]
pub enum Effort {
    /// The arm does not say what drives the joint.
    Unknown,
    /// A rating is all that is known.
    Rating(Torque),
    /// A pressure.
    Pressure {
        /// The greatest that is needed, rounded up.
        needed: Pressure,
        /// The side of the cylinder; none of a rotary actuator.
        side: Option<Side>,
        /// Angles of all joints at which it is.
        at: Vec<i64>,
        /// What the actuator is rated for.
        rated: Pressure,
    },
    /// The cylinder has no lever arm at this angle of the joint, which is within the stretch.
    Toggle(Angle),
}

/// What holds a load over a stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct Squeeze {
    /// The load.
    pub load: LoadId,
    /// The level chosen.
    pub level: LevelId,
    /// The greatest force per jaw that is needed, rounded up.
    pub needed: Force,
    /// Angles of all joints at which it is.
    pub at: Vec<i64>,
    /// How far the closing axis leans from plumb there, in thousandths of a degree.
    pub lean: i64,
    /// The friction that is counted on.
    pub friction: Ratio,
    /// The acceleration that is counted, in micrometres per second squared, rounded up.
    pub acceleration: i64,
    /// The least force per jaw the level can be counted on for.
    pub least: Force,
    /// The greatest force a pad can press with: the level's, and the load itself on the lower pad; rounded up.
    pub presses: Force,
    /// What the load bears.
    pub crush: Option<Force>,
}

#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    root: JointBox,
    rest: JointBox,
    moving: Vec<JointId>,
    held: Option<usize>,
    tool: Option<ToolId>,
    level: Option<LevelId>,
}

/// Something that the models leave unsaid, so that a load, a pressure or a grip in motion was not worked out.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
pub enum Unweighed {
    /// The axis of the jaw.
    #[error("the axis along which the jaw closes")]
    Closing,
    /// How a joint comes to its rate.
    #[error("how fast a joint comes to its rate (`ramp`), for the grip")]
    Ramp,
    /// Where the mass of a thing is.
    #[error("the centre of mass of the {0}")]
    Centre(String),
    /// The mass of a thing.
    #[error("the mass of the {0}")]
    Mass(String),
    /// The supply.
    #[error("the pressure that the supply gives")]
    Supply,
    /// The actuator of a joint.
    #[error("what drives {0}")]
    Drive(String),
}

impl Unweighed {
    fn of(mass: bool, thing: &str) -> Unweighed {
        if mass { Unweighed::Mass(thing.to_owned()) } else { Unweighed::Centre(thing.to_owned()) }
    }
}

/// Weighs the stretches of one scene.
pub struct Weigher<'a> {
    p: &'a Procedure,
    scene: &'a Scene,
    links: Option<Vec<Weight>>,
    lacks: BTreeSet<Unweighed>,
    known: HashMap<Key, Arc<Burden>>,
}

impl<'a> Weigher<'a> {
    /// One that has weighed the links and nothing else.
    pub fn new(p: &'a Procedure, scene: &'a Scene) -> Weigher<'a> {
        let mut out = Weigher { p, scene, links: None, lacks: BTreeSet::new(), known: HashMap::new() };
        out.links = out.links();
        for joint in p.arm.joints.iter().filter(|j| j.actuator.is_none()) {
            out.lacks.insert(Unweighed::Drive(joint.name.value.clone()));
        }
        let hydraulic = |j: &Joint| matches!(j.actuator, Some(Actuator::Linear { .. } | Actuator::Rotary { .. }));
        if p.arm.supply.is_none() && p.arm.joints.iter().any(hydraulic) {
            out.lacks.insert(Unweighed::Supply);
        }
        out
    }

    /// What the models leave unsaid, so that something was not worked out.
    pub fn lacks(self) -> Vec<Unweighed> {
        self.lacks.into_iter().collect()
    }

    /// What a stretch from a state asks.
    pub fn weigh(&mut self, state: &State, leg: &Leg, rest: &JointBox, present: &[usize]) -> Result<Arc<Burden>, Fault> {
        let held = present.iter().copied().find(|i| matches!(self.scene.things[*i].what, What::Held(_)));
        let (root, rest, moving) = (leg.root.clone(), rest.clone(), leg.moving.clone());
        let key = Key { root, rest, moving, held, tool: state.tool, level: state.level };
        if let Some(known) = self.known.get(&key) {
            return Ok(known.clone());
        }
        let load = held.and_then(|i| self.load(i));
        let tool = state.tool.map(|t| self.tool(t));
        let strains = match (&self.links, tool, held.is_some() && load.is_none()) {
            (Some(links), None | Some(Some(_)), false) => {
                let mut weights = links.clone();
                weights.extend(tool.flatten());
                weights.extend(load);
                self.strains(&weights, &key)?
            }
            _ => Vec::new(),
        };
        let squeeze = match (held, load, state.level) {
            (Some(held), Some(load), Some(level)) => self.squeeze(held, &load, level, &key)?,
            _ => None,
        };
        let burden = Arc::new(Burden { strains, squeeze });
        self.known.insert(key, burden.clone());
        Ok(burden)
    }

    /// The weights of all links that move; none if one has no mass.
    fn links(&mut self) -> Option<Vec<Weight>> {
        let mut out = Some(Vec::new());
        for (i, thing) in self.p.arm.links.iter().enumerate().filter(|(_, l)| l.joint.is_some()) {
            let carrier = thing.joint.map_or(0, |j| j.at() + 1);
            let shapes = self.scene.things.iter().position(|t| matches!(t.what, What::Link(id) if id.at() == i));
            let place = thing.centre.map(|c| (metres(um(c)), 0.0)).or_else(|| shapes.map(|s| self.anywhere(s)));
            match (thing.mass, place) {
                (Some(mass), Some((centre, within))) => {
                    let weight = Weight { carrier, mass: kg(mass.value), centre, within };
                    out.iter_mut().for_each(|all: &mut Vec<Weight>| all.push(weight));
                }
                (mass, _) => {
                    self.lacks.insert(Unweighed::of(mass.is_none(), &thing.name.value));
                    out = None;
                }
            }
        }
        out
    }

    fn tool(&mut self, id: ToolId) -> Option<Weight> {
        let tool = &self.p.arm.tools[id.at()];
        let shapes = self.scene.things.iter().position(|t| t.what == What::Tool(id));
        let place = tool.centre.map(|c| (metres(um(c)), 0.0)).or_else(|| shapes.map(|s| self.anywhere(s)));
        let carrier = self.scene.chain().joints();
        let weight = tool.mass.zip(place).map(|(mass, (centre, within))| Weight { carrier, mass: kg(mass.value), centre, within });
        if weight.is_none() {
            self.lacks.insert(Unweighed::of(tool.mass.is_none(), &tool.name.value));
        }
        weight
    }

    /// The load that a held body is.
    fn load(&mut self, held: usize) -> Option<Weight> {
        let What::Held(grip) = &self.scene.things[held].what else { return None };
        let data = &self.p.cell.loads[grip.load.at()];
        let carrier = self.scene.chain().joints();
        let (centre, within) = match data.centre {
            Some(centre) => {
                let play = data.centre_within.map_or(Length::ZERO, |l| l.value) + data.seating.map_or(Length::ZERO, |l| l.value);
                (in_jaw(self.scene, grip).point(metres(um(centre))), m(play))
            }
            None => self.anywhere(held),
        };
        Some(Weight { carrier, mass: kg(data.mass_at_most.value), centre, within })
    }

    /// A ball around all shapes of a body: the centre of mass is somewhere in it.
    fn anywhere(&self, body: usize) -> (Vec3, f64) {
        let parts = &self.scene.solids.bodies()[body].parts;
        let middle = parts.iter().map(|p| p.ball().centre).sum::<Vec3>() / parts.len().max(1) as f64;
        (middle, parts.iter().map(|p| (p.ball().centre - middle).length() + p.ball().radius).fold(0.0, f64::max))
    }

    fn strains(&self, weights: &[Weight], key: &Key) -> Result<Vec<Strain>, Fault> {
        let each = (0u16..).zip(&self.p.arm.joints).map(|(i, joint)| self.strain(JointId(i), joint, weights, key));
        each.collect()
    }

    fn strain(&self, id: JointId, joint: &Joint, weights: &[Weight], key: &Key) -> Result<Strain, Fault> {
        let chain = self.scene.chain();
        let capacity = match &joint.actuator {
            Some(Actuator::Torque { rating: torque } | Actuator::Rotary { torque, .. }) => nm(torque.value),
            _ => 100.0,
        };
        let over = torque_over(chain, weights, id.at(), &key.root, ENOUGH * capacity)?;
        let worse = over.worse();
        let droop = torque_over(chain, weights, id.at(), &key.rest, NOTHING)?.range().droop(NOTHING);
        let torque = Torque(up(worse.most, 1e3));
        let effort = match &joint.actuator {
            None => Effort::Unknown,
            Some(Actuator::Torque { rating }) => Effort::Rating(rating.value),
            Some(Actuator::Rotary { torque, rated }) => {
                let rotary = Rotary { torque: nm(torque.value), rated: pa(rated.value) };
                let needed = Pressure(up(rotary.pressure(worse.most), 1.0));
                Effort::Pressure { needed, side: None, at: worse.at.clone(), rated: rated.value }
            }
            Some(Actuator::Linear { fixed_pin, moving_pin, angle_at_zero, bore, rod, rated }) => {
                let linkage = Linkage {
                    fixed: m(fixed_pin.value),
                    moving: m(moving_pin.value),
                    at_zero: radians(angle_at_zero.value.0),
                    bore: m(bore.value),
                    rod: m(rod.value),
                };
                match pressure_over(chain, weights, id.at(), &key.root, &linkage, ENOUGH * pa(rated.value)) {
                    Ok([cap, rod]) => {
                        let (side, worst) = if rod.most > cap.most { (Side::Rod, rod) } else { (Side::Cap, cap) };
                        let needed = Pressure(up(worst.most, 1.0));
                        Effort::Pressure { needed, side: Some(side), at: worst.at, rated: rated.value }
                    }
                    Err(NoPressure::Toggle(at)) => Effort::Toggle(Angle((at * 180_000.0 / std::f64::consts::PI).round() as i64)),
                    Err(NoPressure::Fault(fault)) => return Err(fault),
                }
            }
        };
        Ok(Strain { joint: id, torque, at: worse.at.clone(), effort, droop })
    }

    fn squeeze(&mut self, held: usize, weight: &Weight, level: LevelId, key: &Key) -> Result<Option<Squeeze>, Fault> {
        let What::Held(grip) = &self.scene.things[held].what else { return Ok(None) };
        let (arm, load) = (&self.p.arm, &self.p.cell.loads[grip.load.at()]);
        let Some(closing) = arm.jaw.closing else {
            self.lacks.insert(Unweighed::Closing);
            return Ok(None);
        };
        // Without a friction the force is not worked out at all, which is told where the load is gripped.
        let Some(friction) = load.friction.as_ref().or(arm.jaw.friction.as_ref()).filter(|f| f.value.value > Ratio(0)) else {
            return Ok(None);
        };
        let (chain, ratio) = (self.scene.chain(), |r: Ratio| r.0 as f64 / 1e6);
        let acceleration = match arm.ramp.filter(|t| t.value.0 > 0) {
            Some(ramp) => {
                let turning = |j: &JointId| {
                    let rate = radians(arm.joint(*j).rate.value.0);
                    Turning { joint: j.at(), rate, ramp: ramp.value.0 as f64 / 1e3 }
                };
                let turning: Vec<Turning> = key.moving.iter().map(turning).collect();
                acceleration(chain, &key.root, &turning, weight.carrier, weight.centre, weight.within)?
            }
            None => {
                self.lacks.insert(Unweighed::Ramp);
                0.0
            }
        };
        let safety = ratio(self.p.policy.grip_factor.value);
        let hold = Hold { mass: weight.mass, friction: ratio(friction.value.value), safety, acceleration };
        let axis = metres(direction(closing.value).map(|c| c * 1_000_000));
        let data = &arm.jaw.levels[level.at()];
        let Worst { most, at, .. } = grip_over(chain, weight.carrier, axis, &key.root, &hold, ENOUGH * newton(data.least.value))?;
        // Along the closing axis the load lies on one pad: most where the axis is nearest to plumb.
        let [least, greatest] = lean_over(chain, weight.carrier, axis, &key.root, 0.01)?;
        let along = hold.along(crate::geometry::statics::G * cos(-least.most).abs().max(cos(greatest.most).abs()));
        let leans = lean(&chain.place_exact(&at), weight.carrier, axis).map_or(0.0, |(lean, _)| lean);
        Ok(Some(Squeeze {
            load: grip.load,
            level,
            needed: Force(up(most, 1e3)),
            at,
            lean: (leans * 180_000.0 / std::f64::consts::PI).round() as i64,
            friction: friction.value.value,
            acceleration: up(acceleration, 1e6),
            least: data.least.value,
            presses: Force(data.most.value.0.saturating_add(up(along, 1e3))),
            crush: load.crush.map(|c| c.value),
        }))
    }
}

/// Where the frame of a held load is in that of the last joint.
fn in_jaw(scene: &Scene, grip: &Grip) -> Frame {
    let spot = grip.from.and_then(|s| scene.spots[s.at()].as_ref());
    match spot.filter(|_| !grip.gripped.is_empty()) {
        Some(spot) => {
            let placed = scene.chain().place_exact(&grip.gripped);
            placed.carriers.last().map_or(Frame::IDENTITY, |last| last.inverse().then(&spot.frame))
        }
        None => Frame { at: metres(scene.grip), ..Frame::IDENTITY },
    }
}

/// In whole units of which `per` make one, away from acceptance.
fn up(value: f64, per: f64) -> i64 {
    let scaled = (value * per).ceil();
    if scaled < 9e15 { scaled as i64 } else { i64::MAX }
}

fn kg(mass: Mass) -> f64 {
    mass.0 as f64 / 1e6
}
fn m(length: Length) -> f64 {
    length.0 as f64 / 1e6
}
fn nm(torque: Torque) -> f64 {
    torque.0 as f64 / 1e3
}
fn pa(pressure: Pressure) -> f64 {
    pressure.0 as f64
}
fn newton(force: Force) -> f64 {
    force.0 as f64 / 1e3
}
