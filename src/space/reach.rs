//! Where the jaw and what it holds come to: at stations, on the way with a load, and where taps meet something.
//!
//! Invariant: every number holds over the whole box of true angles and is rounded away from acceptance.

mod carry;
mod meet;
mod stand;
mod taken;

pub use carry::{Carry, falls, leans};
pub use meet::{Meet, Met};
pub use stand::{Aside, Lying, Moment, Stand};
pub use taken::{Taken, taken};

use super::Stretch;
use super::again::Kept;
use super::scene::{Grip, Scene, What};
use crate::geometry::{Fault, Mat3, Vec3};
use crate::model::cell::Load;
use crate::model::procedure::Procedure;
use crate::model::shape::Shape;
use crate::model::solid::um;
use crate::trace::{RowId, Trace};
use rayon::prelude::*;

/// What was recorded.
#[derive(Clone, Debug, Default)]
pub struct Reached {
    /// The jaw at stations, by row and state.
    pub stands: Vec<Stand>,
    /// Loads on their way, by row and state.
    pub carries: Vec<Carry>,
    /// Approaches by taps, by row and state.
    pub meets: Vec<Meet>,
    /// Rows of which a number could not be worked out.
    pub blind: Vec<RowId>,
}

/// Looks at every station, carried load and approach by taps of a traced procedure.
pub fn survey(p: &Procedure, trace: &Trace, scene: &Scene, stretches: &[Stretch]) -> Reached {
    again(p, trace, scene, stretches, None)
}

/// The same with what is known of an earlier survey.
pub(super) fn again(p: &Procedure, trace: &Trace, scene: &Scene, stretches: &[Stretch], earlier: Option<&Kept<'_>>) -> Reached {
    if let Some(reached) = earlier.and_then(Kept::reached) {
        return reached;
    }
    let mut out = Reached::default();
    let kept = |row, found: Result<(), Fault>| found.is_err().then_some(row);
    let mut blind = Vec::new();
    match earlier.and_then(Kept::stands) {
        Some(stands) => out.stands = stands,
        None => {
            for (row, q, step) in super::rows(p, trace) {
                for (at, entry) in trace.before(row).enumerate() {
                    let found = stand::look(&stand::Look { p, q, trace, scene, step, row, entry: at }, &entry.state, &mut out.stands);
                    blind.extend(kept(row, found));
                }
            }
        }
    }
    let of_stretch = |stretch: &Stretch| {
        let (frame, step) = trace.step_of(stretch.row);
        let q = trace.procedure_of(p, frame);
        let (mut carries, mut meets, mut blind) = (Vec::new(), Vec::new(), None);
        match earlier.and_then(|e| e.carries(stretch)) {
            Some(known) => carries.extend(known),
            None => blind = blind.or(kept(stretch.row, carry::look(&q.cell, scene, stretch, &mut carries))),
        }
        match earlier.and_then(|e| e.meets(stretch)) {
            Some(known) => meets.extend(known),
            None => blind = blind.or(kept(stretch.row, meet::look(q, q.step(step), scene, stretch, &mut meets))),
        }
        (carries, meets, blind)
    };
    // In the order of the stretches, on whatever thread each was looked at.
    let found: Vec<_> = stretches.par_iter().map(of_stretch).collect();
    for (carries, meets, lost) in found {
        out.carries.extend(carries);
        out.meets.extend(meets);
        blind.extend(lost);
    }
    blind.sort_unstable();
    blind.dedup();
    out.blind = blind;
    out
}

/// How a load lies in the jaw: from its own coordinates to those of the last carrier.
fn lie(scene: &Scene, grip: &Grip) -> Mat3 {
    match grip.from.and_then(|s| scene.spots[s.at()].as_ref()) {
        Some(spot) if !grip.gripped.is_empty() => jaw(scene, grip).transpose() * spot.frame.turn,
        _ => Mat3::IDENTITY,
    }
}

/// The upright axis of a load at rest, in its own coordinates.
fn upright(scene: &Scene, grip: &Grip) -> Vec3 {
    match grip.from.and_then(|s| scene.spots[s.at()].as_ref()) {
        Some(spot) if !grip.gripped.is_empty() => spot.frame.turn.transpose() * Vec3::Z,
        _ => Vec3::Z,
    }
}

fn jaw(scene: &Scene, grip: &Grip) -> Mat3 {
    scene.chain().place_exact(&grip.gripped).carriers[scene.chain().joints()].turn
}

/// The held load of a stretch: its body and how it is gripped.
fn held<'s>(scene: &'s Scene, present: &[usize]) -> Vec<(usize, &'s Grip)> {
    let of = |i: &usize| match &scene.things[*i].what {
        What::Held(grip) => Some((*i, grip)),
        _ => None,
    };
    present.iter().filter_map(of).collect()
}

/// Whether a load looks the same however it is turned about its upright axis.
fn is_round(load: &Load, up: Vec3) -> bool {
    let on_axis = |p| {
        let p = crate::geometry::metres(um(p));
        let aside = p - up * up.dot(p);
        aside.dot(aside) < 1e-12
    };
    load.shapes.iter().all(|shape| match shape {
        Shape::Sphere { centre, .. } => on_axis(*centre),
        Shape::Capsule { from, to, .. } | Shape::Cylinder { from, to, .. } => on_axis(*from) && on_axis(*to),
        Shape::Box { .. } | Shape::HalfSpace { .. } | Shape::Hull(_) | Shape::Mesh(_) => false,
    })
}
