//! How far each load can fall that is held, and onto what.

use super::Filler;
use crate::compiled::{Drop, Saying, Step};
use crate::model::LoadId;
use crate::model::cell::Load;
use crate::space::reach::Carry;
use crate::units::{Round, shown};
use std::collections::BTreeMap;

/// Standard gravity in hundred-thousandths of a metre a second squared.
const GRAVITY: i128 = 980_665;

/// What is known of the falls of a load.
enum Falls<'a> {
    /// The greatest onto each thing it may meet first, by its place in the scene, in micrometres, with the step.
    Known(BTreeMap<usize, (i64, &'a Step)>),
    /// At a step it is not certain that anything is below it.
    Unknown(&'a Step),
    /// At a step nothing was looked at.
    Unseen(&'a Step),
    /// It is never moved while it is held.
    Unmoved,
}

/// Of a load the fall that sets free most, of those that are known.
pub(super) struct Hardest<'a> {
    /// The load.
    pub load: &'a Load,
    /// Where it falls so.
    pub step: &'a Step,
}

/// A fall with what it sets free in thousandths of a joule, and the step if it is known.
type Fall<'a> = (i64, Option<&'a Step>, Drop);

/// Every load that is held with everything it may fall onto, the worst fall first; and of each load the hardest.
pub(super) fn drops<'a>(filler: &Filler<'a>, steps: &'a [Step]) -> (Vec<Drop>, Vec<Hardest<'a>>) {
    let p = filler.root;
    let mut out: Vec<(&Load, Fall<'_>)> = Vec::new();
    for (id, load) in (0u16..).map(LoadId).zip(&p.cell.loads) {
        let name = load.name.value.as_str();
        let is_held = |s: &&Step| s.before.iter().chain(&s.after).any(|s| s.held.as_ref().is_some_and(|h| h.load == name));
        if steps.iter().any(|s| is_held(&s)) {
            out.extend(of_load(filler, load, &falls(filler, steps, id, name)).into_iter().map(|fall| (load, fall)));
        }
    }
    out.sort_by_key(|(_, (energy, ..))| std::cmp::Reverse(*energy));
    let mut hardest: Vec<Hardest> = Vec::new();
    for (load, (_, step, _)) in &out {
        if let Some(step) = step.filter(|_| hardest.iter().all(|h| !std::ptr::eq(h.load, *load))) {
            hardest.push(Hardest { load, step });
        }
    }
    (out.into_iter().map(|(_, (.., drop))| drop).collect(), hardest)
}

fn falls<'a>(filler: &Filler<'_>, steps: &'a [Step], id: LoadId, name: &str) -> Falls<'a> {
    let mut worst: BTreeMap<usize, (i64, &Step)> = BTreeMap::new();
    for (row, step) in filler.rows.iter().zip(steps) {
        let states = step.before.iter().filter(|s| s.held.as_ref().is_some_and(|h| h.load == name)).count();
        let (frame, at) = filler.trace.step_of(*row);
        if states == 0 || filler.procedure(frame).step(at).drives().is_empty() {
            continue;
        }
        let carries: Vec<&Carry> = filler.survey.carries(*row).iter().filter(|c| c.load == id).collect();
        if carries.len() < states {
            return Falls::Unseen(step);
        }
        if carries.iter().any(|c| c.fall.is_none()) {
            return Falls::Unknown(step);
        }
        for (thing, fall) in carries.iter().flat_map(|c| &c.onto) {
            let known = worst.entry(*thing).or_insert((*fall, step));
            if known.0 < *fall {
                *known = (*fall, step);
            }
        }
    }
    if worst.is_empty() { Falls::Unmoved } else { Falls::Known(worst) }
}

/// What is printed of them.
fn of_load<'a>(filler: &Filler<'_>, load: &Load, falls: &Falls<'a>) -> Vec<Fall<'a>> {
    let number = |step: &Step| ("number", Saying::from(step.number.as_str()));
    let none = Drop {
        load: load.title.clone(),
        mass: load.mass_at_most.value.to_string(),
        height: Saying::phrase("phrase.falls-unmoved", []),
        onto: None,
        bears: load.drop_height.map_or_else(|| Saying::phrase("phrase.no-height", []), |h| h.value.to_string().into()),
        energy: None,
    };
    let onto = |(thing, (height, step)): (&usize, &(i64, &'a Step))| {
        let told = format!("{} mm", shown(*height, 1000, 0, Round::Up));
        let set_free = i128::from(load.mass_at_most.value.0) * i128::from(*height) * GRAVITY;
        let set_free = i64::try_from(-(-set_free).div_euclid(100_000_000_000_000)).unwrap_or(i64::MAX);
        let drop = Drop {
            height: Saying::phrase("phrase.falls", [("height", told.into()), number(step)]),
            onto: filler.survey.scene.as_ref().ok().map(|scene| scene.things[*thing].title.clone()),
            energy: Some(format!("{} J", shown(set_free, 1000, 0, Round::Up)).into()),
            ..none.clone()
        };
        (set_free, Some(*step), drop)
    };
    match falls {
        Falls::Known(worst) => worst.iter().map(onto).collect(),
        Falls::Unknown(step) => vec![(i64::MAX, None, Drop { height: Saying::phrase("phrase.falls-unknown", [number(step)]), ..none })],
        Falls::Unseen(step) => vec![(i64::MAX, None, Drop { height: Saying::phrase("phrase.falls-unseen", [number(step)]), ..none })],
        Falls::Unmoved => vec![(0, None, none)],
    }
}
