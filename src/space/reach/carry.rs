//! A load on its way: how it tilts, what it passes over, how far it could fall.

use super::super::scene::{Grip, Scene, What};
use super::super::{Stretch, leg};
use super::{held, lie, upright};
use crate::geometry::chain::JointBox;
use crate::geometry::reach::{self, Height};
use crate::geometry::{Fault, Vec3};
use crate::model::LoadId;
use crate::model::cell::Cell;
use crate::model::procedure::Procedure;
use crate::trace::{RowId, Trace};

/// A load over one stretch of motion.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carry {
    /// The printed step.
    pub row: RowId,
    /// Which of the states before it.
    pub entry: usize,
    /// The load.
    pub load: LoadId,
    /// The least and the greatest tilt from plumb, in thousandths of a degree; none of a load that is held from the start, for
    /// nothing says how it hangs.
    pub tilt: Option<[i64; 2]>,
    /// The greatest fall before it meets something, in micrometres; none if nothing is certain to be below it somewhere.
    pub fall: Option<i64>,
    /// What it may meet first, by its place in the scene, with the greatest height of its lowest point above that where it may, in
    /// micrometres; nothing where the fall is not known. What lies so low that something else is met before is not in it.
    pub onto: Vec<(usize, i64)>,
}

/// The least and the greatest tilt from plumb of what is held where a stretch ends; none where nothing is, or nothing says how it
/// hangs.
pub fn leans(p: &Procedure, trace: &Trace, scene: &Scene, stretch: &Stretch) -> Result<Option<(LoadId, [i64; 2])>, Fault> {
    let (frame, id) = trace.step_of(stretch.row);
    let q = trace.procedure_of(p, frame);
    let Some(before) = trace.before(stretch.row).nth(stretch.entry) else { return Ok(None) };
    let Some((_, grip)) = held(scene, &stretch.present).into_iter().find(|(_, grip)| !grip.gripped.is_empty()) else { return Ok(None) };
    let end = leg::rest(&q.arm, &before.state, q.step(id), &stretch.leg);
    Ok(Some((grip.load, tilt(scene, grip, &end)?)))
}

/// The least and the greatest tilt from plumb of what is held, over a box of angles.
fn tilt(scene: &Scene, grip: &Grip, root: &JointBox) -> Result<[i64; 2], Fault> {
    let up = lie(scene, grip) * upright(scene, grip);
    reach::between(scene.chain(), root, scene.chain().joints(), up, Vec3::Z)
}

pub(super) fn look(cell: &Cell, scene: &Scene, stretch: &Stretch, out: &mut Vec<Carry>) -> Result<(), Fault> {
    let Some((grip, falls)) = falls(cell, scene, &stretch.present, &stretch.leg.root)? else { return Ok(()) };
    let tilt = match grip.gripped.is_empty() {
        true => None,
        false => Some(tilt(scene, grip, &stretch.leg.root)?),
    };
    out.push(Carry { row: stretch.row, entry: stretch.entry, load: grip.load, tilt, fall: falls.most, onto: falls.onto });
    Ok(())
}

/// How far what is held can fall from anywhere in a box of angles, and by what it is held; none where nothing is. Things are told by
/// their places in the scene.
pub fn falls<'s>(cell: &Cell, scene: &'s Scene, present: &[usize], root: &JointBox) -> Result<Option<(&'s Grip, Height)>, Fault> {
    let chain = scene.chain();
    let mut found: Option<(&Grip, Height)> = None;
    for (body, grip) in held(scene, present) {
        // What stands there bears a load; a zone does not.
        let bears = |i: &usize| matches!(scene.things[*i].what, What::Solid(_) | What::Rest(..)) && scene.things[*i].carrier == 0;
        let below: Vec<usize> = present.iter().copied().filter(bears).collect();
        let bodies = scene.solids.bodies();
        // Loads stand in the scene grown by what their seating can be off, all round: the one above can be that much higher than
        // it should be and not lower, the one below that much lower.
        let play = |load: LoadId| 2 * cell.loads[load.at()].seating.map_or(0, |l| l.value.0);
        let rests = below.iter().map(|i| match scene.things[*i].what {
            What::Rest(load, _) => play(load),
            _ => 0,
        });
        let lower = play(grip.load) + rests.max().unwrap_or(0);
        let under: Vec<_> = below.iter().map(|i| &bodies[*i]).collect();
        let height = reach::height(chain, root, &bodies[body], &under, lower as f64 / 1e6)?;
        let onto = height.onto.iter().map(|(i, height)| (below[*i], *height)).collect();
        // A load of several bodies falls no farther than its first one to land.
        found = Some(match found.take() {
            Some((grip, so_far)) => (grip, Height { most: least(so_far.most, height.most), onto: joined(so_far.onto, onto) }),
            None => (grip, Height { most: height.most, onto }),
        });
    }
    if let Some((_, height)) = &mut found {
        match height.most {
            Some(fall) => height.onto.iter_mut().for_each(|(_, most)| *most = fall.min(*most)),
            None => height.onto.clear(),
        }
    }
    Ok(found)
}

fn least(a: Option<i64>, b: Option<i64>) -> Option<i64> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

fn joined(mut a: Vec<(usize, i64)>, b: Vec<(usize, i64)>) -> Vec<(usize, i64)> {
    for (thing, most) in b {
        match a.iter_mut().find(|o| o.0 == thing) {
            Some(o) => o.1 = o.1.max(most),
            None => a.push((thing, most)),
        }
    }
    a.sort_unstable();
    a
}
