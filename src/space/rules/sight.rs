//! The view in force shows what moves.

use super::super::scene::Scene;
use super::super::sight::{self, Gap, Look, Lost, Seen, Shows, Sighted, say, tenths};
use super::super::{Stretch, Survey};
use super::clearance::{goal, place, the, way};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::geometry::picture::{Agreement, Way};
use crate::model::procedure::{Drive, Effect, Procedure, Step};
use crate::model::{JointId, ViewId};
use crate::trace::{RowId, Trace};
use std::collections::BTreeSet;

/// The view in force loses the tool point.
pub static VIEW_LOST: Rule = Rule {
    id: "view-lost",
    family: Family::Sight,
    severity: Severity::Error,
    physical: false,
    summary: "the view in force does not show the tool point over the whole move",
    why: "Who drives the arm by a view must see what the step moves until it stops. A tool point behind the forearm, behind a load or past the edge of the picture is driven blind, and the operator learns of a contact from its sound.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `power on arm`\n2. `view window-1`\n3. `base left to ⟦+20 deg⟧`\n")],
    good: &[Example::steps("1. `power on arm`\n2. `view window-2`\n3. `shoulder raise to +30 deg`\n")],
};

/// The picture goes the other way.
pub static MOTION_REVERSED: Rule = Rule {
    id: "motion-reversed",
    family: Family::Sight,
    severity: Severity::Advice,
    physical: false,
    summary: "the picture of the view in force shows the opposite of what word or stick say",
    why: "An operator who looks at a picture answers it: where the jaw goes right in it while the step says left, the hand corrects the wrong way, and every correction makes it worse. A view from the other side, or the cue of what the eye will see, takes that away. The print carries the cue.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `power on arm`\n2. `view camera-1 on monitor-1`\n3. `base ⟦left⟧ to +20 deg`\n")],
    // From the other side, too, but mirrored.
    good: &[Example::steps("1. `power on arm`\n2. `view camera-2 on monitor-1`\n3. `base left to +20 deg`\n")],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&VIEW_LOST, &MOTION_REVERSED];

pub(super) fn check(p: &Procedure, trace: &Trace, survey: &Survey, out: &mut Vec<Diagnostic>) {
    let Ok(scene) = &survey.scene else { return };
    let mut told: BTreeSet<(RowId, ViewId)> = BTreeSet::new();
    let mut turned: BTreeSet<(RowId, ViewId, JointId)> = BTreeSet::new();
    for stretch in &survey.stretches {
        let (look, gap) = match &stretch.sight {
            // What the first page says was not looked at.
            Sighted::NoView | Sighted::NoPlace(_) => continue,
            Sighted::Through(look, gap) => (look, gap),
        };
        if let Shows::Lost(lost) = &look.shows
            && told.insert((stretch.row, look.view))
        {
            match run_into(p, trace, scene, stretch, lost, out) {
                Some(finding) => finding.fold(1),
                None => out.push(view_lost(p, trace, scene, stretch, look, lost)),
            }
        }
        if let Some(gap) = gap.as_ref().filter(|g| !g.seen)
            && told.insert((stretch.row, look.view))
        {
            out.push(gap_hidden(p, trace, scene, stretch, look, gap));
        }
        for seen in look.motions.iter().filter(|s| p.policy.advise_reversed && s.is_reversed()) {
            if turned.insert((stretch.row, look.view, seen.joint)) {
                out.extend(reversed(p, trace, stretch, look, seen));
            }
        }
    }
}

/// What is told already of a step that runs into the very thing that hides the tool point: with it the view comes back, or it is
/// told then.
fn run_into<'d>(
    p: &Procedure,
    trace: &Trace,
    scene: &Scene,
    stretch: &Stretch,
    lost: &Lost,
    out: &'d mut [Diagnostic],
) -> Option<&'d mut Diagnostic> {
    let (near, by) = (stretch.answer.nearest(scene).filter(|_| !stretch.answer.is_clear())?, lost.by?);
    let number = trace.number(p, stretch.row).to_string();
    let is = |d: &&mut Diagnostic| d.rule.family == Family::Clearance && d.step.as_ref() == Some(&number);
    out.iter_mut().find(is).filter(|_| [near.pair.0, near.pair.1].contains(&by))
}

fn view_lost(p: &Procedure, trace: &Trace, scene: &Scene, stretch: &Stretch, look: &Look, lost: &Lost) -> Diagnostic {
    let (q, step) = place(p, trace, stretch.row);
    let view = &q.cell.views[look.view.at()];
    let cause = match lost.by {
        Some(thing) => format!("{} is in the way", the(scene, thing)),
        None => "it leaves the picture".to_owned(),
    };
    let point = if tool_has_point(q, stretch) { "the point of the tool" } else { "the jaw" };
    let angles: Vec<String> =
        stretch.leg.moving.iter().map(|j| format!("{} at {}", q.arm.joint(*j).name.value, tenths(lost.at[j.at()]))).collect();
    let message = match lost.certain {
        true => format!("{} does not show {point} over this whole move: {cause} with {}", view.title, angles.join(" and ")),
        false => format!(
            "whether {} shows {point} over this whole move is too close to call: {cause}, or nearly, with {}",
            view.title,
            angles.join(" and ")
        ),
    };
    let mut finding =
        VIEW_LOST.at(goal(step).unwrap_or(step.head), message).step(trace.number(p, stretch.row)).path(way(p, trace, stretch));
    if let [joint] = stretch.leg.moving[..] {
        let joint = &q.arm.joint(joint).name.value;
        finding = match lost.until {
            Some(angle) => finding
                .help(format!("{point} is in sight while {joint} goes from its start to {}", tenths(angle)))
                .number("in sight to", tenths(angle)),
            None => finding.help(format!("{point} is not in sight where this move starts, bands included")),
        };
    }
    let others = sight::others(scene, &q.arm, &q.cell, stretch.tool, &stretch.leg, &stretch.opaque());
    let names: Vec<String> = others.iter().map(|v| format!("`{}`", q.cell.views[v.at()].name.value)).collect();
    finding = match names.is_empty() {
        true => finding.help("no view of the cell shows it over the whole move: split the move, or take another way"),
        false => finding.help(format!("{} shows it over the whole move: put a `view` step before this one", names.join(" or "))),
    };
    finding.label(view.name.span, "the view in force")
}

fn tool_has_point(p: &Procedure, stretch: &Stretch) -> bool {
    stretch.tool.is_some_and(|t| p.arm.tools[t.at()].point.is_some())
}

fn gap_hidden(p: &Procedure, trace: &Trace, scene: &Scene, stretch: &Stretch, look: &Look, gap: &Gap) -> Diagnostic {
    let (q, step) = place(p, trace, stretch.row);
    let view = &q.cell.views[look.view.at()];
    let (mover, other) = (the(scene, gap.pair.1), the(scene, gap.pair.0));
    let message = format!("{} does not show where {mover} comes nearest to {other} in this move", view.title);
    VIEW_LOST
        .at(goal(step).unwrap_or(step.head), message)
        .help("the policy wants that seen too (`sight = \"nearest-too\"`): choose a view that shows it")
        .label(view.name.span, "the view in force")
        .step(trace.number(p, stretch.row))
        .path(way(p, trace, stretch))
}

fn reversed(p: &Procedure, trace: &Trace, stretch: &Stretch, look: &Look, seen: &Seen) -> Option<Diagnostic> {
    let (q, step) = place(p, trace, stretch.row);
    let view = &q.cell.views[look.view.at()];
    let drive = drive(step, seen.joint)?;
    let joint = q.arm.joint(seen.joint);
    let positive = drive.positive.value;
    let word = if positive { &joint.positive.word.value } else { &joint.negative.word.value };
    let stick = q.arm.console.drive(seen.joint).map_or("", |(_, axis)| axis.act(positive));
    let against = |told: Option<(Way, Agreement)>, name: String| match told? {
        (way, Agreement::Reversed) => Some(format!("{name}, the picture shows {}", opposite(way))),
        (way, Agreement::Partly(from, to)) => {
            Some(format!("{name}, the picture shows {} between {} and {}", opposite(way), tenths(from), tenths(to)))
        }
        (_, Agreement::Agrees | Agreement::Aside) => None,
    };
    let each = [against(seen.word, format!("the word is `{word}`")), against(seen.stick, format!("the stick says \"{stick}\""))];
    let each: Vec<String> = each.into_iter().flatten().collect();
    let shown = seen.words().unwrap_or_else(|| "next to nothing".to_owned());
    let mirrored = if view.mirrored { "; its picture is mirrored" } else { "" };
    let finding = MOTION_REVERSED
        .at(drive.positive.span, format!("in {} this motion goes the other way: {}", view.title, each.join("; ")))
        .help(format!("over the whole move the eye sees the jaw go {shown}{mirrored}; the print says so"))
        .label(view.name.span, "the view in force");
    Some(finding.step(trace.number(p, stretch.row)).path(way(p, trace, stretch)))
}

fn opposite(way: Way) -> &'static str {
    say(match way {
        Way::Left => Way::Right,
        Way::Right => Way::Left,
        Way::Up => Way::Down,
        Way::Down => Way::Up,
    })
}

fn drive(step: &Step, joint: JointId) -> Option<&Drive> {
    step.effects().into_iter().find_map(|effect| match effect {
        Effect::Drive(drive) => Some(drive).filter(|d| d.joint.value == joint),
        Effect::DriveTwo(two) => two.drives.iter().find(|d| d.joint.value == joint),
        _ => None,
    })
}
