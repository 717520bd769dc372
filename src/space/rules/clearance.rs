//! What moves keeps its distance.

use super::super::clearance::{Cause, Nearest, Sweeper};
use super::super::scene::{Lack, Scene, What};
use super::super::sight::{Sighted, sees};
use super::super::{Stretch, Survey};
use super::Told;
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::geometry::Vec3;
use crate::geometry::sight::nearest_points;
use crate::model::procedure::{Procedure, Step};
use crate::text::Span;
use crate::trace::{RowId, Trace};
use crate::units::{Angle, Length};
use std::collections::BTreeMap;

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule {
        id,
        family: Family::Clearance,
        severity: Severity::Error,
        physical: true,
        summary,
        why,
        evidence: Evidence::Definition,
        bad,
        good,
    }
}

/// Something comes nearer than the margin.
pub static THIN_CLEARANCE: Rule = rule(
    "thin-clearance",
    "something that moves comes nearer than the margin to something else",
    "The arm is heavy and the window is not. The whole way counts and not only its ends, and so does everything the operator cannot hold exactly: where the joints stand within their bands, how far they drift, how wrong the read-outs are.",
    &[Example::steps("1. `power on arm`\n2. `base right to ⟦-150 deg⟧`\n")],
    &[Example::steps("1. `power on arm`\n2. `base right to -30 deg`\n")],
);

/// A question that stays open.
pub static TOO_CLOSE_TO_CALL: Rule = rule(
    "too-close-to-call",
    "it cannot be decided whether the margin is kept",
    "The clearance is within a fraction of a millimetre of the margin, or the motion is too wide to be decided with the effort that is allowed. Either way nobody has shown that it is kept, so it counts as not kept.",
    // It takes a cell made for it; the tests of the floor show it.
    &[],
    &[],
);

/// A motion that could not be looked at.
pub static MOTION_NOT_LOOKED_AT: Rule = rule(
    "motion-not-looked-at",
    "the clearance of a motion could not be looked at",
    "Where it is not known how a joint stands, or how a load lies in the jaw, nothing can be said of what the motion comes near to.",
    &[],
    &[],
);

/// Models that geometry cannot work with.
pub static SCENE_NOT_USABLE: Rule = rule(
    "scene-not-usable",
    "arm and cell say too little, or too much, to look at what moves comes near to",
    "The cell lists what stands in the way so that clearance can be looked at. Without the place of the arm, the shape of its links and the margin to keep, the list protects nothing.",
    &[],
    &[],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&THIN_CLEARANCE, &TOO_CLOSE_TO_CALL, &MOTION_NOT_LOOKED_AT, &SCENE_NOT_USABLE];

/// What is told of a step once, by whichever of the rules.
const CLEARANCE: &str = "clearance";

pub(super) fn check(p: &Procedure, trace: &Trace, survey: &Survey, out: &mut Vec<Diagnostic>) {
    let scene = match &survey.scene {
        Ok(scene) => scene,
        Err(lack) => return out.extend(unusable(p, lack)),
    };
    for (row, why) in &survey.blind {
        let (_, step) = place(p, trace, *row);
        let span = goal(step).unwrap_or(step.head);
        let finding = MOTION_NOT_LOOKED_AT.at(span, format!("what this motion comes near to was not looked at: {why}"));
        out.push(
            finding
                .help("put `read joints` or an absolute move before it, so that there is one angle to start from")
                .step(trace.number(p, *row)),
        );
    }
    let mut told = Told::default();
    let mut lost: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for stretch in &survey.stretches {
        if stretch.answer.is_clear() {
            continue;
        }
        // One finding a step: what is nearest in the first state is mended first, and the rest is looked at again.
        if told.again(CLEARANCE, stretch.row, stretch.entry) {
            continue;
        }
        let pair = stretch.answer.nearest(scene).map(|n| n.pair);
        // What is too near where a move starts came there with an earlier one, and was told with that.
        if let Some(at) = pair.and_then(|pair| lost.get(&pair)).filter(|_| starts_near(scene, stretch)) {
            told.put(CLEARANCE, stretch.row, stretch.entry, None);
            out[*at].fold(1);
            continue;
        }
        let Some(finding) = near(p, trace, scene, stretch) else { continue };
        told.put(CLEARANCE, stretch.row, stretch.entry, Some(out.len()));
        lost.extend(pair.map(|pair| (pair, out.len())));
        out.push(finding);
    }
    told.finish(out);
}

pub(super) fn place<'a>(p: &'a Procedure, trace: &'a Trace, row: RowId) -> (&'a Procedure, &'a Step) {
    let (frame, step) = trace.step_of(row);
    let p = trace.procedure_of(p, frame);
    (p, p.step(step))
}

/// The target of a step's motion, as written.
pub(super) fn goal(step: &Step) -> Option<Span> {
    use crate::model::procedure::{Effect, Goal};
    step.effects().into_iter().find_map(|effect| {
        let drive = match effect {
            Effect::Drive(drive) => drive,
            Effect::DriveTwo(two) => &two.drives[0],
            _ => return None,
        };
        Some(match &drive.goal {
            Goal::To { to, .. } => to.span,
            Goal::By { ending, .. } => ending.span,
            Goal::Until { not_past, .. } => not_past.span,
            Goal::Taps { low, high, .. } => {
                if drive.positive.value {
                    high.span
                } else {
                    low.span
                }
            }
        })
    })
}

/// Whether a move of one joint does not keep the margin where it starts.
fn starts_near(scene: &Scene, stretch: &Stretch) -> bool {
    stretch.leg.moving.len() == 1
        && Sweeper::new(scene).farthest(&stretch.leg, &stretch.present, &stretch.contacts).is_ok_and(|farthest| farthest.is_none())
}

fn near(p: &Procedure, trace: &Trace, scene: &Scene, stretch: &Stretch) -> Option<Diagnostic> {
    let (q, step) = place(p, trace, stretch.row);
    let span = goal(step).unwrap_or(step.head);
    let margin = Length(scene.margin);
    let nearest = stretch.answer.nearest(scene).filter(|_| !stretch.answer.is_clear())?;
    let certain = nearest.distance < scene.margin;
    let rule = if certain { &THIN_CLEARANCE } else { &TOO_CLOSE_TO_CALL };
    let inner = &scene.things[nearest.pair.0];
    let (mover, other) = (the(scene, nearest.pair.1), the(scene, nearest.pair.0));
    let gap = Length(nearest.distance.max(0));
    let message = match certain {
        true if gap == Length::ZERO => format!("{mover} can run into {other} here; {margin} is to be kept"),
        true => format!("{mover} can come within {} of {other} here; {margin} is to be kept", rough(gap)),
        false => format!("whether {margin} is kept between {mover} and {other} here cannot be decided; {} is left, or nearly", rough(gap)),
    };
    let mut finding = rule.at(span, message);
    let angles: Vec<String> =
        stretch.leg.moving.iter().map(|j| format!("{} at {}", q.arm.joint(*j).name.value, Angle(nearest.angles[j.at()]).show())).collect();
    finding = finding.mark(angles.join(", "));
    let sweeper = Sweeper::new(scene);
    if let Some(words) = sweeper.cause(&stretch.leg, &stretch.present, &stretch.contacts).ok().and_then(why) {
        finding = finding.help(words);
    }
    let bodies = scene.solids.bodies();
    if let Some([on_inner, on_outer]) = nearest_points(scene.chain(), &bodies[nearest.pair.0], &bodies[nearest.pair.1], &nearest.angles) {
        let [x, y, z] = on_inner.to_array().map(|m| (m * 1000.0).round() as i64);
        let place = format!("x {x} mm, y {y} mm, z {z} mm");
        let seen = in_view(q, scene, stretch, &nearest, (on_inner + on_outer) / 2.0).unwrap_or_default();
        finding = finding.help(format!("nearest at {place} in the cell{seen}")).number("point", place);
    }
    if let [joint] = stretch.leg.moving[..] {
        let name = &q.arm.joint(joint).name.value;
        let farthest = sweeper.farthest(&stretch.leg, &stretch.present, &stretch.contacts);
        finding = match farthest.ok().flatten() {
            Some(angle) => finding
                .help(format!("{name} can go to {} from here and keep the margin", Angle(angle).show()))
                .number("clear to", Angle(angle).show()),
            None => finding.help("the margin is not kept where this move starts: mend the steps before it first"),
        };
    }
    if let What::Solid(id) | What::KeepOut(id) | What::Unsurveyed(id) = &inner.what {
        let obstacle = &q.cell.obstacles[id.at()];
        finding = finding.label(
            obstacle.name.span,
            match inner.what {
                What::KeepOut(_) => "nothing may enter this zone",
                What::Unsurveyed(_) => "nobody surveyed this space; it counts as occupied",
                _ => "it stands in the way",
            },
        );
    }
    let finding =
        finding.number("least distance", gap).number("margin", margin).step(trace.number(p, stretch.row)).path(way(p, trace, stretch));
    Some(finding)
}

/// Whether the view in force shows a place, in words; none if that cannot be told, or the two bodies are in one another.
fn in_view(p: &Procedure, scene: &Scene, stretch: &Stretch, nearest: &Nearest, place: Vec3) -> Option<String> {
    let Sighted::Through(look, _) = &stretch.sight else { return None };
    let title = &p.cell.views[look.view.at()].title;
    let seen = sees(scene, &p.cell, look.view, place, &nearest.angles, &stretch.present).ok().flatten().filter(|_| nearest.distance > 0)?;
    Some(if seen { format!("; {title} shows the place") } else { format!("; {title} does not show the place") })
}

/// What there is to say of where the margin is lost.
fn why(cause: Cause) -> Option<&'static str> {
    match cause {
        Cause::Ends => None,
        Cause::Way => Some("where the move starts and where it ends the margin is kept; it is lost on the way between"),
        Cause::Bands => Some(
            "at the printed angles the margin is kept; bands, drift and read-out error use it up: a tighter `within`, or `read joints` after a move by eye, gives some of it back",
        ),
    }
}

/// A distance for people: whole millimetres, rounded down.
fn rough(gap: Length) -> String {
    format!("{} mm", gap.0.div_euclid(1000))
}

pub(super) fn the(scene: &Scene, at: usize) -> String {
    let thing = &scene.things[at];
    let named = ["the ", "The "].iter().any(|the| thing.title.starts_with(the));
    if named { thing.title.clone() } else { format!("the {}", thing.title) }
}

pub(super) fn way(p: &Procedure, trace: &Trace, stretch: &Stretch) -> String {
    trace.before(stretch.row).nth(stretch.entry).map_or_else(String::new, |e| trace.path(p, e.path))
}

fn unusable(p: &Procedure, lack: &Lack) -> Option<Diagnostic> {
    let span = p.front.cell.as_ref().map(|c| c.span)?;
    match lack {
        Lack::Cell | Lack::Errors => None,
        Lack::Models(missing) => Some(
            SCENE_NOT_USABLE
                .at(span, "the cell lists what stands in the way, but what moves comes near to cannot be looked at")
                .help(format!("give {}", missing.join("; "))),
        ),
        Lack::Broken(why) => Some(SCENE_NOT_USABLE.at(span, format!("arm and cell do not make a scene: {why}"))),
    }
}
