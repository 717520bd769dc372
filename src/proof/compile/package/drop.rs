//! How far each load can fall that is held, and onto what.

use super::Filler;
use crate::compiled::{Drop, Saying, Step};
use crate::model::LoadId;
use crate::model::cell::Load;
use crate::space::reach::Carry;
use crate::trace::distinct;
use crate::units::{Round, shown};

/// Standard gravity in hundred-thousandths of a metre a second squared.
const GRAVITY: i128 = 980_665;

/// What is known of a fall.
enum Fall<'a> {
    /// The greatest, in micrometres, with the step and what is below the load there.
    Known(i64, &'a Step, &'a Carry),
    /// At a step it is not certain that anything is below it.
    Unknown(&'a Step),
    /// At a step nothing was looked at.
    Unseen(&'a Step),
    /// It is never moved while it is held.
    Unmoved,
}

/// Every load that is held, the worst fall first.
pub(super) fn drops(filler: &Filler<'_>, steps: &[Step]) -> Vec<Drop> {
    let p = filler.root;
    let mut out: Vec<(i64, Drop)> = Vec::new();
    for (id, load) in (0u16..).map(LoadId).zip(&p.cell.loads) {
        let name = load.name.value.as_str();
        let is_held = |s: &&Step| s.before.iter().chain(&s.after).any(|s| s.held.as_ref().is_some_and(|h| h.load == name));
        if steps.iter().any(|s| is_held(&s)) {
            out.push(one(filler, load, &fall(filler, steps, id, name)));
        }
    }
    out.sort_by_key(|(energy, _)| std::cmp::Reverse(*energy));
    out.into_iter().map(|(_, drop)| drop).collect()
}

fn fall<'a>(filler: &'a Filler<'_>, steps: &'a [Step], id: LoadId, name: &str) -> Fall<'a> {
    let mut worst = Fall::Unmoved;
    for (row, step) in filler.rows.iter().zip(steps) {
        let states = step.before.iter().filter(|s| s.held.as_ref().is_some_and(|h| h.load == name)).count();
        let (frame, at) = filler.trace.step_of(*row);
        if states == 0 || filler.procedure(frame).step(at).drives().is_empty() {
            continue;
        }
        let carries: Vec<&Carry> = filler.survey.carries(*row).iter().filter(|c| c.load == id).collect();
        if carries.len() < states {
            return Fall::Unseen(step);
        }
        for carry in carries {
            let Some(height) = carry.fall else { return Fall::Unknown(step) };
            if !matches!(worst, Fall::Known(known, ..) if known >= height) {
                worst = Fall::Known(height, step, carry);
            }
        }
    }
    worst
}

/// What is printed of it, behind what it sets free in thousandths of a joule.
fn one(filler: &Filler<'_>, load: &Load, fall: &Fall<'_>) -> (i64, Drop) {
    let number = |step: &Step| ("number", Saying::from(step.number.as_str()));
    let (height, energy, over) = match fall {
        Fall::Known(height, step, carry) => {
            let told = format!("{} mm", shown(*height, 1000, 0, Round::Up));
            let set_free = i128::from(load.mass_at_most.value.0) * i128::from(*height) * GRAVITY;
            let set_free = i64::try_from(-(-set_free).div_euclid(100_000_000_000_000)).unwrap_or(i64::MAX);
            let mut over = carry.over.clone();
            over.sort_by_key(|(thing, height)| (*height, *thing));
            let title = |(thing, _): &(usize, i64)| Some(filler.survey.scene.as_ref().ok()?.things[*thing].title.clone());
            let over = distinct(over.iter().filter_map(title));
            (Saying::phrase("phrase.falls", [("height", told.into()), number(step)]), set_free, over)
        }
        Fall::Unknown(step) => (Saying::phrase("phrase.falls-unknown", [number(step)]), i64::MAX, Vec::new()),
        Fall::Unseen(step) => (Saying::phrase("phrase.falls-unseen", [number(step)]), i64::MAX, Vec::new()),
        Fall::Unmoved => (Saying::phrase("phrase.falls-unmoved", []), 0, Vec::new()),
    };
    let known = matches!(fall, Fall::Known(..));
    let drop = Drop {
        load: load.title.clone(),
        mass: load.mass_at_most.value.to_string(),
        height,
        over,
        bears: load.drop_height.map_or_else(|| Saying::phrase("phrase.no-height", []), |h| h.value.to_string().into()),
        energy: known.then(|| format!("{} J", shown(energy, 1000, 0, Round::Up)).into()),
    };
    (energy, drop)
}
