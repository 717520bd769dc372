//! The spatial part of the answer: the arm at rest in each state, as data.

use crate::compiled::whereabouts::{InSpace, Load, Near, Sag};
use crate::geometry::statics::Droop;
use crate::proof::Examined;
use crate::space::burden::{Effort, Strain};
use crate::space::scene::{Lack, Scene};
use crate::space::stance::{Looker, Stance};
use crate::trace::RowId;
use crate::trace::state::State;
use crate::units::Pressure;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Both sides of a step in space: what was worked out for each state before and after it, and why something was not.
pub(super) struct Sides {
    pub(super) before: Vec<Option<InSpace>>,
    pub(super) after: Vec<Option<InSpace>>,
    pub(super) lacks: Vec<String>,
}

/// Looks at every state around a step.
pub(super) fn look(examined: &Examined, row: RowId) -> Sides {
    let (root, trace) = (&*examined.procedure, &*examined.trace);
    let (frame, id) = trace.step_of(row);
    let p = trace.procedure_of(root, frame);
    let step = p.step(id);
    let (before, after) = (trace.before(row), trace.after(row));
    // Where an error keeps the moves from being looked at, the states still can be.
    let scene = match &examined.survey.scene {
        Err(Lack::Errors) => Scene::of(root, trace).map(Arc::new),
        known => known.clone(),
    };
    let scene = match scene {
        Ok(scene) => scene,
        Err(lack) => return Sides { before: before.map(|_| None).collect(), after: after.map(|_| None).collect(), lacks: why(&lack) },
    };
    let mut looker = Looker::new(root, trace, &scene);
    let mut blind = BTreeSet::new();
    let mut each = |state: &State| match looker.look(p, step, state) {
        Ok(stance) => Some(data(&scene, &stance, root.arm.supply.map(|s| s.value))),
        Err(why) => {
            blind.insert(why.to_owned());
            None
        }
    };
    let before = before.map(|e| each(&e.state)).collect();
    let after = after.map(|e| each(&e.state)).collect();
    let lacks = blind.into_iter().chain(looker.lacks().into_iter().map(|l| format!("{l} is not given"))).collect();
    Sides { before, after, lacks }
}

/// Why nothing was looked at.
pub(super) fn why(lack: &Lack) -> Vec<String> {
    match lack {
        Lack::Errors => vec!["an error leaves open where the arm is".to_owned()],
        Lack::Cell => vec!["the procedure names no cell in which something stands in the way".to_owned()],
        Lack::Models(missing) => missing.iter().map(|m| format!("{m} is not given")).collect(),
        Lack::Broken(what) => vec![what.clone()],
    }
}

fn data(scene: &Scene, stance: &Stance, supply: Option<Pressure>) -> InSpace {
    let title = |i: usize| scene.things[i].title.clone();
    let near = |n: &crate::space::stance::Near| Near { a: title(n.a), b: title(n.b), least: n.least, may_touch: n.may_touch };
    InSpace {
        tool_point: stance.point,
        tool_point_band: stance.band,
        nearest: stance.nearest.iter().map(near).collect(),
        nearest_own: stance.own.iter().map(near).collect(),
        loads: stance.burden.strains.iter().map(|s| load(s, supply)).collect(),
        sag: stance.sag.as_ref().map(|sag| Sag {
            joints: sag.joints.iter().map(|(joint, _)| joint.at()).collect(),
            clear: sag.clear,
            meets: sag.meets.map(|(a, b)| [title(a), title(b)]),
        }),
    }
}

fn load(strain: &Strain, supply: Option<Pressure>) -> Load {
    let (mut rated_torque, mut pressure, mut available_pressure) = (None, None, None);
    match &strain.effort {
        Effort::Rating(torque) => rated_torque = Some(torque.0),
        Effort::Pressure { needed, rated, .. } => {
            (pressure, available_pressure) = (Some(needed.0), Some(supply.map_or(*rated, |s| s.min(*rated)).0));
        }
        Effort::Unknown | Effort::Toggle(_) => {}
    }
    let droop = match strain.droop {
        Droop::Stays => "stays",
        Droop::Falls => "falls",
        Droop::Grows => "grows",
        Droop::Either => "either",
    };
    Load { joint: strain.joint.at(), torque: strain.torque.0, rated_torque, pressure, available_pressure, droop: droop.to_owned() }
}
