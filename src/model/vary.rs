//! What of the models may be wrong, and the models as they would be then.
//!
//! Each [`Input`] is wrong in its bad direction only: tolerances, masses and obstacles grow, frictions, pressures and ratings
//! shrink, the margin to keep grows, a station is not where it was measured. Amounts count in steps of [`Scale::step`].
//!
//! Invariant: a model with an amount of zero is the model itself; what a rule of the model files themselves would say of the
//! changed values is in [`Varied::problems`].

mod shift;

use super::arm::{Actuator, Arm, narrow_bands};
use super::cell::{Cell, ObstacleKind};
use super::policy::Policy;
use super::procedure::{Callee, Kind, Procedure};
use super::shape::Shape;
use super::{JointId, LoadId, ObstacleId, StationId, agree};
use crate::diag::Diagnostic;
use crate::text::Spanned;
use crate::units::{Angle, Length, Mass, Pressure, Ratio, Torque};
pub use shift::{Plane, Shift};
use std::sync::Arc;

/// By what an input is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scale {
    /// A length, in micrometres.
    Length,
    /// An angle, in thousandths of a degree.
    Angle,
    /// A share of the value, in thousandths of it.
    Share,
}

impl Scale {
    /// All of them.
    pub const ALL: [Scale; 3] = [Scale::Length, Scale::Angle, Scale::Share];

    /// A plain error of this kind: what inputs of different kinds are compared by. 10 mm, 1 deg, 10 %.
    #[must_use]
    pub fn plain(self) -> i64 {
        match self {
            Scale::Length => 10_000,
            Scale::Angle => 1000,
            Scale::Share => 100,
        }
    }
    /// How finely is looked: a fiftieth of a plain error.
    #[must_use]
    pub fn step(self) -> i64 {
        self.plain() / 50
    }
    /// How far is looked, in steps: ten plain errors, of a share that shrinks nine.
    #[must_use]
    pub fn most(self, shrinks: bool) -> i64 {
        if shrinks { 450 } else { 500 }
    }
}

/// One number of the models that may be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Input {
    /// The clearance to keep.
    Margin,
    /// How well a joint is stopped, by read-out and by eye.
    Stop(JointId),
    /// How far an idle joint drifts.
    Hold(JointId),
    /// How far its read-out is wrong.
    Readout(JointId),
    /// What its actuator gives.
    Rating(JointId),
    /// What the supply gives.
    Supply,
    /// Where a station is, level or plumb; what stands on it is moved with it, what bears it is not.
    Station(StationId, Plane),
    /// How large something that stands in the way is on every side, or how far it stands from its place.
    Obstacle(ObstacleId),
    /// The upper bound of a load's mass.
    Mass(LoadId),
    /// The friction of the pads against loads that do not state their own.
    PadFriction,
    /// The friction that a load states.
    Friction(LoadId),
}

/// Models that are wrong somewhere.
#[derive(Debug)]
pub struct Varied {
    /// The arm.
    pub arm: Arc<Arm>,
    /// The cell.
    pub cell: Arc<Cell>,
    /// What the rules over the model files say of what was changed.
    pub problems: Vec<Diagnostic>,
}

/// Every input of a procedure that can be varied, and in words what cannot be.
#[must_use]
pub fn inputs(p: &Procedure) -> (Vec<Input>, Vec<String>) {
    let (arm, cell) = (&*p.arm, &*p.cell);
    let (mut out, mut not) = (Vec::new(), Vec::new());
    for (id, joint) in (0u16..).map(JointId).zip(&arm.joints) {
        out.extend([Input::Stop(id), Input::Hold(id), Input::Readout(id)]);
        match &joint.actuator {
            Some(_) => out.push(Input::Rating(id)),
            None => not.push(format!("the rating of {}: the arm does not say what drives it", joint.name.value)),
        }
    }
    match arm.supply {
        Some(_) => out.push(Input::Supply),
        None => not.push("the supply pressure: the arm does not state it".to_owned()),
    }
    match arm.jaw.friction {
        Some(_) => out.push(Input::PadFriction),
        None => not.push("the friction of the pads: the arm does not state it".to_owned()),
    }
    match cell.margin {
        Some(_) => out.push(Input::Margin),
        None => not.push("the margin: the cell states none".to_owned()),
    }
    for (id, station) in (0u16..).map(StationId).zip(&cell.stations) {
        match station.position {
            Some(_) => out.extend([Plane::Level, Plane::Plumb].map(|plane| Input::Station(id, plane))),
            None => not.push(format!("the place of the {}: its pose alone says where it is", station.title)),
        }
    }
    for (id, load) in (0u16..).map(LoadId).zip(&cell.loads) {
        out.push(Input::Mass(id));
        out.extend(load.friction.is_some().then_some(Input::Friction(id)));
    }
    for (id, obstacle) in (0u16..).map(ObstacleId).zip(&cell.obstacles) {
        let mesh = obstacle.shapes.iter().any(|s| matches!(s, Shape::Hull(_) | Shape::Mesh(_)));
        match (obstacle.kind, mesh) {
            (ObstacleKind::Slow, _) => not.push(format!("the {}: a zone to be crossed slowly is not held away from", obstacle.name.value)),
            (_, true) => not.push(format!("the size of the {}: its shape is a file", obstacle.name.value)),
            _ => out.push(Input::Obstacle(id)),
        }
    }
    (out, not)
}

impl Input {
    /// By what it is wrong.
    #[must_use]
    pub fn scale(self) -> Scale {
        match self {
            Input::Margin | Input::Station(..) | Input::Obstacle(_) => Scale::Length,
            Input::Stop(_) | Input::Hold(_) | Input::Readout(_) => Scale::Angle,
            Input::Rating(_) | Input::Supply | Input::Mass(_) | Input::PadFriction | Input::Friction(_) => Scale::Share,
        }
    }
    /// Whether it is bad when it is less.
    #[must_use]
    pub fn shrinks(self) -> bool {
        matches!(self, Input::Rating(_) | Input::Supply | Input::PadFriction | Input::Friction(_))
    }
    /// The ways it can be wrong: those of a station's plane, one of everything else.
    #[must_use]
    pub fn ways(self, cell: &Cell) -> Vec<Option<Shift>> {
        match self {
            Input::Station(id, plane) => Shift::all(cell, id, plane).into_iter().map(Some).collect(),
            _ => vec![None],
        }
    }
    /// What it is, for people.
    #[must_use]
    pub fn title(self, p: &Procedure) -> String {
        let (arm, cell) = (&p.arm, &p.cell);
        let joint = |id: JointId| &arm.joint(id).name.value;
        let load = |id: LoadId| &cell.loads[id.at()].title;
        match self {
            Input::Margin => "margin to keep".to_owned(),
            Input::Stop(id) => format!("stopping tolerance of {}", joint(id)),
            Input::Hold(id) => format!("hold tolerance of {}", joint(id)),
            Input::Readout(id) => format!("read-out error of {}", joint(id)),
            Input::Rating(id) => match arm.joint(id).actuator {
                Some(Actuator::Linear { .. }) => format!("rated pressure of {}", joint(id)),
                _ => format!("rated torque of {}", joint(id)),
            },
            Input::Supply => "supply pressure".to_owned(),
            Input::Station(id, Plane::Level) => format!("place of the {}, level", cell.stations[id.at()].title),
            Input::Station(id, Plane::Plumb) => format!("height of the {}", cell.stations[id.at()].title),
            Input::Obstacle(id) => format!("size of the {}", cell.obstacles[id.at()].name.value),
            Input::Mass(id) => format!("mass of the {}", load(id)),
            Input::PadFriction => "friction of the pads".to_owned(),
            Input::Friction(id) => format!("friction of the {}", load(id)),
        }
    }
    /// In one word, for data.
    #[must_use]
    pub fn kind(self) -> &'static str {
        match self {
            Input::Margin => "margin",
            Input::Stop(_) => "stop",
            Input::Hold(_) => "hold",
            Input::Readout(_) => "readout-error",
            Input::Rating(_) => "rating",
            Input::Supply => "supply",
            Input::Station(_, Plane::Level) => "station",
            Input::Station(_, Plane::Plumb) => "station-height",
            Input::Obstacle(_) => "obstacle",
            Input::Mass(_) => "mass",
            Input::PadFriction | Input::Friction(_) => "friction",
        }
    }
    /// The name in its model file of what it belongs to; none of what there is only one of.
    #[must_use]
    pub fn name(self, p: &Procedure) -> Option<&str> {
        Some(match self {
            Input::Margin | Input::Supply | Input::PadFriction => return None,
            Input::Stop(id) | Input::Hold(id) | Input::Readout(id) | Input::Rating(id) => &p.arm.joint(id).name.value,
            Input::Station(id, _) => &p.cell.stations[id.at()].name.value,
            Input::Obstacle(id) => &p.cell.obstacles[id.at()].name.value,
            Input::Mass(id) | Input::Friction(id) => &p.cell.loads[id.at()].name.value,
        })
    }

    /// The models with this input wrong by `steps` steps, a station the way of `shift`.
    #[must_use]
    pub fn vary(self, steps: i64, shift: Option<&Shift>, arm: &Arc<Arm>, cell: &Arc<Cell>, policy: &Policy) -> Varied {
        let amount = steps * self.scale().step();
        let (mut arm, mut cell) = (arm.clone(), cell.clone());
        let mut problems = Vec::new();
        match self {
            Input::Stop(_) | Input::Hold(_) | Input::Readout(_) | Input::Rating(_) | Input::Supply | Input::PadFriction => {
                let mut changed = Arm::clone(&arm);
                self.change_arm(&mut changed, amount);
                problems = narrow_bands(&changed);
                arm = Arc::new(changed);
            }
            _ => {
                let mut changed = Cell::clone(&cell);
                self.change_cell(&mut changed, amount, shift);
                cell = Arc::new(changed);
            }
        }
        problems.extend(agree(&arm, &cell, policy));
        Varied { arm, cell, problems }
    }

    fn change_arm(self, arm: &mut Arm, amount: i64) {
        let wider = |a: &mut Spanned<Angle>| a.value.0 += amount;
        match self {
            Input::Stop(id) => {
                let joint = &mut arm.joints[id.at()];
                wider(&mut joint.stop_by_readout);
                wider(&mut joint.stop_by_eye);
            }
            Input::Hold(id) => wider(&mut arm.joints[id.at()].hold),
            Input::Readout(id) => wider(&mut arm.joints[id.at()].readout_error),
            Input::Rating(id) => match &mut arm.joints[id.at()].actuator {
                Some(Actuator::Torque { rating: torque } | Actuator::Rotary { torque, .. }) => {
                    torque.value = Torque(less(torque.value.0, amount))
                }
                Some(Actuator::Linear { rated, .. }) => rated.value = Pressure(less(rated.value.0, amount)),
                None => {}
            },
            Input::Supply => arm.supply.iter_mut().for_each(|s| s.value = Pressure(less(s.value.0, amount))),
            Input::PadFriction => arm.jaw.friction.iter_mut().for_each(|f| f.value.value = Ratio(less(f.value.value.0, amount))),
            _ => {}
        }
    }

    fn change_cell(self, cell: &mut Cell, amount: i64, shift: Option<&Shift>) {
        match self {
            Input::Margin => cell.margin.iter_mut().for_each(|m| m.value.0 += amount),
            Input::Station(id, _) => {
                if let (Some(place), Some(shift)) = (&mut cell.stations[id.at()].position, shift) {
                    let by = shift.by(amount);
                    (0..3).for_each(|k| place[k].0 += by[k]);
                }
            }
            Input::Obstacle(id) => cell.obstacles[id.at()].shapes.iter_mut().for_each(|s| grow(s, amount)),
            Input::Mass(id) => {
                let mass = &mut cell.loads[id.at()].mass_at_most.value;
                *mass = Mass(more(mass.0, amount));
            }
            Input::Friction(id) => {
                cell.loads[id.at()].friction.iter_mut().for_each(|f| f.value.value = Ratio(less(f.value.value.0, amount)));
            }
            _ => {}
        }
    }
}

/// A value less by thousandths of it, rounded down.
fn less(value: i64, thousandths: i64) -> i64 {
    share(value, 1000 - thousandths).0
}

/// A value more by thousandths of it, rounded up.
fn more(value: i64, thousandths: i64) -> i64 {
    let (down, rest) = share(value, 1000 + thousandths);
    down + i64::from(rest)
}

fn share(value: i64, thousandths: i64) -> (i64, bool) {
    let product = i128::from(value) * i128::from(thousandths);
    (i64::try_from(product.div_euclid(1000)).unwrap_or(i64::MAX), product.rem_euclid(1000) != 0)
}

/// More of a shape on every side, as it would be written. It holds the shape moved by as much, any way.
fn grow(shape: &mut Shape, by: i64) {
    match shape {
        Shape::Capsule { radius, .. } | Shape::Sphere { radius, .. } => radius.0 += by,
        Shape::Box { size, .. } => size.iter_mut().for_each(|s| s.0 += 2 * by),
        Shape::Cylinder { from, to, radius } => {
            radius.0 += by;
            let out = shift::along(*from, *to, by);
            for k in 0..3 {
                from[k] = from[k] - Length(out[k]);
                to[k] = to[k] + Length(out[k]);
            }
        }
        Shape::HalfSpace { point, normal } => {
            let out = if normal.negative { -by } else { by };
            point[usize::from(normal.index.min(2))].0 += out;
        }
        Shape::Hull(_) | Shape::Mesh(_) => {}
    }
}

/// The procedure, and those it performs, over other models.
#[must_use]
pub fn over(p: &Procedure, arm: &Arc<Arm>, cell: &Arc<Cell>) -> Procedure {
    let mut out = p.clone();
    (out.arm, out.cell) = (arm.clone(), cell.clone());
    for step in &mut out.steps {
        if let Kind::Perform(Spanned { value: Callee::Procedure(inner), .. }) = &mut step.kind {
            *inner = Arc::new(over(inner, arm, cell));
        }
    }
    out
}
