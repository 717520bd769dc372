//! Steps that let go of a load or want a hold point, and that of the hardest fall of each load, and who stands before them.

use super::drop::Hardest;
use super::{Filler, names, plain};
use crate::compiled::{Act, Irrevocable, Saying, Step};
use crate::model::policy::Need;
use crate::trace::RowId;

pub(super) fn irrevocable(filler: &Filler<'_>, steps: &[Step], hardest: &[Hardest<'_>]) -> Vec<Irrevocable> {
    let names = names(steps);
    let falls = |step: &Step| hardest.iter().find(|fall| fall.step.number == step.number);
    let wanted = filler.rows.iter().zip(steps).enumerate();
    let wanted = wanted.filter(|(_, (row, step))| falls(step).is_some() || is_irrevocable(filler, **row, step));
    let one = |(at, (_, step)): (usize, (&RowId, &Step))| Irrevocable {
        step: step.number.clone(),
        act: match falls(step) {
            Some(fall) => Saying::phrase("phrase.act-carry", [("load", fall.load.title.as_str().into())]),
            None => act(filler, step),
        },
        before: before(steps, &names, at),
    };
    wanted.map(one).collect()
}

fn is_irrevocable(filler: &Filler<'_>, row: RowId, step: &Step) -> bool {
    let (frame, id) = filler.trace.step_of(row);
    let p = filler.procedure(frame);
    let load = match &step.act {
        Act::LetGo { .. } => return true,
        Act::Close { load } | Act::Lift { load, .. } | Act::Lower { load, .. } => Some(load),
        _ => None,
    };
    let critical = load.is_some_and(|name| p.cell.loads.iter().any(|l| l.name.value == *name && l.critical));
    let act = p.step(id).act();
    p.policy.demands.iter().any(|d| Some(d.act) == act && matches!(d.needs, Need::Hold(_)) && (critical || !d.critical_only))
}

/// What is done, in few words; as the step says it in plain words where it is another act.
fn act(filler: &Filler<'_>, step: &Step) -> Saying {
    let cell = &filler.root.cell;
    let load = |name: &String| {
        let found = cell.loads.iter().find(|l| l.name.value == *name);
        ("load", Saying::from(found.map_or(name.as_str(), |l| l.title.as_str())))
    };
    let station = |name: &String| {
        let found = cell.stations.iter().find(|s| s.name.value == *name);
        ("station", Saying::from(found.map_or(name.as_str(), |s| s.title.as_str())))
    };
    match &step.act {
        Act::LetGo { load: l, station: s, .. } => Saying::phrase("phrase.act-let-go", [load(l), station(s)]),
        Act::Lift { load: l, station: s, .. } => Saying::phrase("phrase.act-lift", [load(l), station(s)]),
        Act::Lower { load: l, station: s, .. } => Saying::phrase("phrase.act-lower", [load(l), station(s)]),
        Act::Close { load: l } => Saying::phrase("phrase.act-close", [load(l)]),
        Act::Power { .. } => Saying::phrase("phrase.act-power", []),
        Act::Set { equipment, state } => {
            Saying::phrase("phrase.act-set", [("equipment", equipment.as_str().into()), ("state", state.as_str().into())])
        }
        Act::Tool { tool, on } => {
            Saying::phrase(if *on { "phrase.act-fit" } else { "phrase.act-put-down" }, [("tool", tool.as_str().into())])
        }
        _ if step.words.is_empty() => Saying::phrase("phrase.act-as-written", []),
        _ => plain(&step.words).into(),
    }
}

/// The list that a step stands in, by its number.
pub(super) fn list(number: &str) -> &str {
    number.rsplit_once('.').map_or("", |(list, _)| list)
}

/// The last hold point on the way to a step, whether or not there is motion between the two, and the second person of the step.
fn before(steps: &[Step], names: &[Option<String>], at: usize) -> Vec<Saying> {
    let step = &steps[at];
    let moves = |s: &Step| matches!(s.act, Act::Move(_) | Act::Together { .. } | Act::Lift { .. } | Act::Lower { .. });
    // One in a branch does not stand before what comes behind the branch.
    let around = |s: &Step| match (list(&s.number), list(&step.number)) {
        // What is performed, repeated or done in an arm lies within the steps of the main list; a contingency does not.
        ("", _) => !step.number.contains('C'),
        (outer, inner) => inner == outer || inner.starts_with(&format!("{outer}.")),
    };
    let hold = (0..at).rev().filter(|i| around(&steps[*i])).find_map(|i| match (&steps[i].act, &names[i]) {
        (Act::HoldPoint { role }, Some(name)) => Some((i, name, role)),
        _ => None,
    });
    let cleared = hold.map(|(i, name, role)| {
        let with = [("name", name.as_str().into()), ("role", role.as_str().into()), ("number", steps[i].number.as_str().into())];
        Saying::phrase(if steps[i..at].iter().any(moves) { "phrase.cleared-earlier" } else { "phrase.cleared-before" }, with)
    });
    let second = step.lines.iter().find(|l| l.label == "Second person").and_then(|l| l.role.as_ref());
    let agreed = second.map(|role| Saying::phrase("phrase.agreed-before", [("role", role.as_str().into())]));
    let out: Vec<Saying> = cleared.into_iter().chain(agreed).collect();
    if out.is_empty() { vec![Saying::phrase("phrase.nobody-before", [])] } else { out }
}
