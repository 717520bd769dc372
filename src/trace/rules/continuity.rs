//! Each step starts where the steps before it end.

use super::super::doubt::Part;
use super::super::situation::{Mend, Outside, all_outside, say, say_outside, say_where, unmet};
use super::super::state::{Entry, Known, Readout};
use super::super::{FrameId, RowId, Set, Trace, Visit};
use super::{Moment, Sink};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::arm::Joint;
use crate::model::procedure::{Drive, Effect, Goal, Procedure, Step};
use crate::model::{JointId, PoseId, StationId};
use crate::text::{Span, Spanned};
use crate::units::Angle;

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule {
        id,
        family: Family::Continuity,
        severity: Severity::Error,
        physical: true,
        summary,
        why,
        evidence: Evidence::Definition,
        bad,
        good,
    }
}

/// A written start that is not so.
pub static FROM_MISMATCH: Rule = rule(
    "from-mismatch",
    "the written start of a move is not where the joint is",
    "A step that was copied from elsewhere often still says where it started there. The angle the writer had in mind and the angle the arm has are then two.",
    &[
        Example::steps("1. `power on arm`\n2. `shoulder lower from ⟦+30 deg⟧ to -5 deg`\n"),
        Example::steps(
            "1. `power on arm`\n2. `shoulder lower until contact, not past -10 deg`\n   - If not: hold and tell Shift lead\n3. `shoulder raise from ⟦-10 deg⟧ to +30 deg`\n",
        ),
    ],
    &[Example::steps("1. `power on arm`\n2. `shoulder lower from +20 deg to -5 deg`\n")],
);

/// A relative move whose written end is not its start plus its change.
pub static RELATIVE_END_MISMATCH: Rule = rule(
    "relative-end-mismatch",
    "the end of a relative move is not its start plus its change",
    "The operator reads the end and the writer meant the change, or the other way round. Both are printed, so both have to be true.",
    &[Example::steps("1. `power on arm`\n2. `shoulder lower by 5 deg, ending ⟦+10 deg⟧`\n")],
    &[Example::steps("1. `power on arm`\n2. `shoulder lower by 5 deg, ending +15 deg`\n")],
);

/// A relative move from a start that is not one angle.
pub static RELATIVE_AFTER_RANGE: Rule = rule(
    "relative-after-range",
    "a relative move starts from more than one angle",
    "After a guarded move, taps, or branches that end differently, there is no one angle to count from, so no one end can be printed.",
    &[
        Example::steps(
            "1. `power on arm`\n2. `shoulder lower until contact, not past -10 deg`\n   - If not: hold and tell Shift lead\n3. `shoulder raise by ⟦5 deg⟧, ending -5 deg`\n",
        ),
        Example::steps(
            "1. `power on arm`\n2. `if` Lamp 1 is lit, seen in window 1.\n   - then\n     1. `base left to +40 deg`\n   - otherwise: go on\n3. `base left by ⟦10 deg⟧, ending +50 deg`\n",
        ),
    ],
    &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower until contact, not past -10 deg`\n   - If not: hold and tell Shift lead\n3. `shoulder raise to +30 deg`\n4. `shoulder raise by 5 deg, ending +35 deg`\n",
    )],
);

/// A motion while a joint is not known.
pub static UNSETTLED_JOINT: Rule = rule(
    "unsettled-joint",
    "the arm moves while it is not known where a joint stands",
    "With power off a joint can sink or be moved. Until the read-outs have been compared with the printed angles, nothing that follows starts where it says.",
    &[Example::steps("1. `power on arm`\n2. `power off arm`\n3. `power on arm`\n4. `⟦shoulder⟧ lower to -5 deg`\n")],
    &[
        Example::steps("1. `power on arm`\n2. `power off arm`\n3. `power on arm`\n4. `read joints`\n5. `shoulder lower to -5 deg`\n"),
        Example::steps("1. `power on arm`\n2. `power off arm`\n3. `power on arm`\n4. `expect pose home`\n5. `shoulder lower to -5 deg`\n"),
    ],
);

/// An asserted pose that is not certain.
pub static POSE_NOT_MET: Rule = rule(
    "pose-not-met",
    "a pose is expected that the arm is not certain to be in",
    "The step tells the operator that the arm is in a pose. In at least one way through the steps before it, it is not.",
    &[
        Example::steps("1. `power on arm`\n2. `base left to +42 deg`\n3. `expect pose ⟦home⟧`\n"),
        Example::steps("1. `power on arm`\n2. `base left to +42 deg`\n3. `power off arm`\n4. `power on arm`\n5. `expect pose ⟦home⟧`\n"),
    ],
    &[Example::steps("1. `power on arm`\n2. `base left to +42 deg`\n3. `base right to 0 deg`\n4. `expect pose home`\n")],
);

/// An asserted station that is not certain.
pub static STATION_NOT_MET: Rule = rule(
    "station-not-met",
    "the jaw is expected at a station it is not certain to be at",
    "The step tells the operator that the jaw is at a station. In at least one way through the steps before it, it is not.",
    &[Example::steps("1. `power on arm`\n2. `expect at ⟦cradle⟧`\n")],
    &[Example::steps(
        "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `shoulder lower to -10 deg`\n6. `expect at cradle`\n",
    )],
);

/// A station that cannot be compared.
pub static STATION_WITHOUT_POSE: Rule = Rule {
    id: "station-without-pose",
    family: Family::Continuity,
    severity: Severity::Warning,
    physical: false,
    summary: "the jaw is expected at a station for which the cell gives no pose",
    why: "Without a pose there is nothing to compare the read-outs with, so the step checks nothing.",
    evidence: Evidence::Definition,
    bad: &[],
    good: &[],
};

/// A performed procedure that starts elsewhere.
pub static START_NOT_MET: Rule = rule(
    "start-not-met",
    "what is performed starts elsewhere than the step that performs it",
    "A procedure is checked from its declared start. Performed from anywhere else, its checks say nothing.",
    &[],
    &[],
);

/// A declared end that is not reached.
pub static END_NOT_MET: Rule = rule(
    "end-not-met",
    "the steps do not end where the procedure says they end",
    "Whoever comes next relies on the declared end: the next task, the next crew, or the procedure that performs this one.",
    &[Example::procedure(
        "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"on\"\n[end]\npose = ⟦\"home\"⟧\n+++\n\n# Move\n\n1. `shoulder lower to -5 deg`\n",
    )],
    &[Example::procedure(
        "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"on\"\n[end]\npose = \"home\"\n+++\n\n# Move\n\n1. `shoulder lower to -5 deg`\n2. `shoulder raise to +20 deg`\n",
    )],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[
    &FROM_MISMATCH,
    &RELATIVE_END_MISMATCH,
    &RELATIVE_AFTER_RANGE,
    &UNSETTLED_JOINT,
    &POSE_NOT_MET,
    &STATION_NOT_MET,
    &STATION_WITHOUT_POSE,
    &START_NOT_MET,
    &END_NOT_MET,
];

/// What the end of a relative move should be, if it is written otherwise.
pub(super) fn relative_end(drive: &Drive, start: Readout) -> Option<Angle> {
    let Goal::By { by, ending } = &drive.goal else { return None };
    let end = if drive.positive.value { start.nominal + by.value } else { start.nominal - by.value };
    (start.is_settled() && end != ending.value).then_some(end)
}

pub(super) fn drive(m: &Moment<'_>, drive: &Drive, sink: &mut Sink<'_>) {
    let joint = m.p.arm.joint(drive.joint.value);
    let start = m.before.joint(drive.joint.value);
    let (name, part) = (&joint.name.value, Part::Joint(drive.joint.value));
    match &drive.goal {
        Goal::To { from: Some(from), .. } if start.is_known() && (!start.is_settled() || from.value != start.nominal) => {
            sink.rest(&FROM_MISMATCH, from.span, &[part], &[], || {
                let is = if start.is_settled() { start.nominal.show() } else { say_where(start.idle(joint.hold.value), start.known) };
                FROM_MISMATCH
                    .at(from.span, format!("the step says that {name} starts at {}, but it is {is} here", from.value.show()))
                    .mark(format!("it is {is}"))
                    .help("correct the start, or the steps before it; `from` may be left out")
                    .number("written", from.value.show())
                    .number("start", is)
            });
        }
        Goal::By { by, .. } if start.known == Known::Range => {
            sink.rest(&RELATIVE_AFTER_RANGE, by.span, &[part], &[], || {
                RELATIVE_AFTER_RANGE
                    .at(
                        by.span,
                        format!(
                            "{name} is {} here, so no end can be counted from it",
                            say_where(start.idle(joint.hold.value), start.known)
                        ),
                    )
                    .help("write the target: `to ANGLE`")
            });
        }
        Goal::By { by, ending } => {
            if let Some(end) = relative_end(drive, start) {
                sink.rest(&RELATIVE_END_MISMATCH, ending.span, &[part], &[part], || {
                    RELATIVE_END_MISMATCH
                        .at(
                            ending.span,
                            format!(
                                "{name} is at {} here; {} by {} ends at {}, not at {}",
                                start.nominal.show(),
                                word(joint, drive),
                                by.value,
                                end.show(),
                                ending.value.show()
                            ),
                        )
                        .mark(format!("{} by the change", end.show()))
                        .help(format!("write `ending {}` if the change is right", end.show()))
                        .number("start", start.nominal.show())
                        .number("change", by.value)
                        .number("written", ending.value.show())
                });
            }
        }
        _ => {}
    }
}

fn word<'a>(joint: &'a Joint, drive: &Drive) -> &'a str {
    if drive.positive.value { &joint.positive.word.value } else { &joint.negative.word.value }
}

/// Every state a relative move starts in has the same printed angle.
pub(super) fn shared_start(p: &Procedure, first: &Effect<'_>, second: Option<&Effect<'_>>, entries: &[Entry], sink: &mut Sink<'_>) {
    for effect in [Some(first), second].into_iter().flatten() {
        let Effect::Drive(drive) = effect else { continue };
        let Goal::By { by, .. } = &drive.goal else { continue };
        let mut starts: Vec<Angle> = Vec::new();
        for r in entries.iter().map(|e| e.state.joint(drive.joint.value)).filter(|r| r.is_settled()) {
            if !starts.contains(&r.nominal) {
                starts.push(r.nominal);
            }
        }
        if let [a, b, ..] = starts[..] {
            sink.put(&RELATIVE_AFTER_RANGE, by.span, || {
                let name = &p.arm.joint(drive.joint.value).name.value;
                RELATIVE_AFTER_RANGE
                    .at(by.span, format!("{name} is at {} or at {} here, so the move has more than one end", a.show(), b.show()))
                    .help("write the target: `to ANGLE`")
            });
            // Its ends cannot all be right; that is the same fault.
            if let Goal::By { ending, .. } = &drive.goal {
                sink.hush(&RELATIVE_END_MISMATCH, ending.span);
            }
        }
    }
}

/// No motion while a joint's place is not known.
pub(super) fn settled(m: &Moment<'_>, span: Span, sink: &mut Sink<'_>) {
    let lost = |r: &Readout| r.is_unread();
    if m.before.power == Some(false) || !m.before.joints().iter().any(lost) {
        return;
    }
    sink.put(&UNSETTLED_JOINT, span, || {
        let names: Vec<&str> =
            m.p.arm.joints.iter().zip(m.before.joints()).filter(|(_, r)| lost(r)).map(|(j, _)| j.name.value.as_str()).collect();
        UNSETTLED_JOINT
            .at(span, format!("the arm moves here, but power was off, and where {} stand has not been checked since", list(&names)))
            .help("put `read joints` or `expect pose` before this step")
    });
}

fn list(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_string(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

pub(super) fn pose(m: &Moment<'_>, pose: Spanned<PoseId>, sink: &mut Sink<'_>) {
    // What power off left unknown is what the assertion is there to tell.
    let mut known = m.before.clone();
    if known.joints().iter().any(|r| !r.is_known()) {
        known.map_joints(|_, r| if r.is_known() { r } else { Readout { known: Known::Muted, ..r } });
    }
    let off: Vec<Outside> = all_outside(m.p, &known, pose.value, false).collect();
    if off.is_empty() {
        return left_elsewhere(m, pose, sink);
    }
    sink.rest(&POSE_NOT_MET, pose.span, &joints(&off), &[], || {
        let data = &m.p.arm.poses[pose.value.at()];
        not_there(&POSE_NOT_MET, m.p, pose.span, &format!("pose `{}`", data.name.value), &off).label(data.span, "the pose")
    });
}

/// A joint that does not sink without power is where it was left, read or not.
fn left_elsewhere(m: &Moment<'_>, pose: Spanned<PoseId>, sink: &mut Sink<'_>) {
    let data = &m.p.arm.poses[pose.value.at()];
    for (id, (joint, (readout, angle))) in (0u16..).zip(m.p.arm.joints.iter().zip(m.before.joints().iter().zip(&data.angles))) {
        let (Some(angle), None, Known::Unread | Known::UnreadRange) = (angle, &joint.drift_unpowered, readout.known) else { continue };
        let (was, wanted) = (readout.idle(joint.hold.value), (angle.value - data.band.value, angle.value + data.band.value));
        if was.0 <= wanted.1 && was.1 >= wanted.0 {
            continue;
        }
        let name = &joint.name.value;
        return sink.rest(&POSE_NOT_MET, pose.span, &[Part::Joint(JointId(id))], &[], || {
            POSE_NOT_MET
                .at(pose.span, format!("pose `{}` wants {name} {}, but power went off with it {}", data.name.value, say(wanted), say(was)))
                .mark(format!("{name} was left {}", say(was)))
                .label(data.span, "the pose")
                .label(joint.span, format!("{name} has no drift without power"))
                .help("name the pose the arm was left in, or write `read joints`; if the joint sinks, give its `drift-unpowered`")
                .number("is", say(was))
                .number("wanted", say(wanted))
        });
    }
}

/// The joints that are elsewhere, as what a finding rests on.
pub(super) fn joints(off: &[Outside]) -> Vec<Part> {
    off.iter().map(|o| Part::Joint(o.joint)).collect()
}

fn not_there(rule: &'static Rule, p: &Procedure, span: Span, what: &str, off: &[Outside]) -> Diagnostic {
    let each = |o: &Outside| format!("wants {}, but it is {} here", say_wanted(p, o), say_where(o.is, o.how));
    let help = match off.iter().map(|o| o.mend).reduce(|a, b| if a == b { a } else { Mend::Move }) {
        Some(Mend::Read) => "put `read joints` before this step: by its read-out the joint is there, by eye alone it need not be",
        Some(Mend::Band) => "write a narrower band with the move before (`within`), or give the pose a wider one",
        Some(Mend::Move) | None => "add the missing move before this step, or name the pose the arm is in",
    };
    let said = off.iter().map(each).collect::<Vec<_>>().join("; it ");
    let finding = rule.at(span, format!("{what} {said}")).mark(say_outside(p, off)).help(help);
    off.iter().fold(finding, |f, o| f.number("is", say_where(o.is, o.how)).number("wanted", say(o.wanted)))
}

fn say_wanted(p: &Procedure, o: &Outside) -> String {
    format!("{} {}", p.arm.joint(o.joint).name.value, say(o.wanted))
}

/// The pose of a station, if the cell gives one that the arm knows.
pub(super) fn station_pose(p: &Procedure, station: StationId) -> Option<PoseId> {
    p.cell.stations[station.at()].pose.as_ref().and_then(|name| p.arm.find_pose(&name.value))
}

pub(super) fn station(m: &Moment<'_>, station: Spanned<StationId>, sink: &mut Sink<'_>) {
    let data = &m.p.cell.stations[station.value.at()];
    let Some(pose) = station_pose(m.p, station.value) else {
        sink.put(&STATION_WITHOUT_POSE, station.span, || {
            STATION_WITHOUT_POSE
                .at(station.span, format!("the cell gives no pose for `{}`, so being there cannot be checked", data.name.value))
                .label(data.span, "the station")
                .help("give the station a `pose`, or use `expect pose`")
        });
        return;
    };
    let off: Vec<Outside> = all_outside(m.p, m.before, pose, false).collect();
    if !off.is_empty() {
        sink.rest(&STATION_NOT_MET, station.span, &joints(&off), &[], || {
            not_there(&STATION_NOT_MET, m.p, station.span, &format!("being at `{}`", data.name.value), &off).label(data.span, "the station")
        });
    }
}

/// A performed procedure starts in states inside its declared start.
pub(super) fn start(trace: &Trace, root: &Procedure, callee: FrameId, step: &Step, set: Set, sink: &mut Sink<'_>) {
    if trace.frame(callee).section.is_some() {
        return;
    }
    let p = trace.procedure_of(root, callee);
    let Some(declared) = &p.start else { return };
    for (at, entry) in (set.start..).zip(trace.entries(set)).filter(|(_, e)| !e.state.is_muted()) {
        (sink.way, sink.entry) = (entry.path, at);
        for unmet in unmet(p, declared, &entry.state) {
            sink.rest(&START_NOT_MET, step.head, &unmet.parts, &[], || {
                START_NOT_MET
                    .at(step.head, format!("what is performed here starts elsewhere: {}", unmet.words))
                    .label(unmet.place, "it starts from this")
                    .help("bring arm, jaw and loads to that start before this step")
            });
        }
    }
}

/// A performed procedure ends as it declares.
pub(super) fn returned(root: &Procedure, trace: &Trace, visit: &Visit, sink: &mut Sink<'_>) {
    sink.row = Some(RowId(visit.row));
    if let Some(callee) = trace.callee(RowId(visit.row)).filter(|c| trace.frame(*c).section.is_none()) {
        ends(trace.procedure_of(root, callee), trace, visit.after, sink);
    }
}

/// The procedure ends as it declares.
pub(super) fn end(p: &Procedure, trace: &Trace, sink: &mut Sink<'_>) {
    ends(p, trace, trace.finish, sink);
}

fn ends(p: &Procedure, trace: &Trace, set: Set, sink: &mut Sink<'_>) {
    let Some(declared) = &p.end else { return };
    for (at, entry) in (set.start..).zip(trace.entries(set)).filter(|(_, e)| !e.state.is_muted()) {
        (sink.way, sink.entry) = (entry.path, at);
        for unmet in unmet(p, declared, &entry.state) {
            sink.rest(&END_NOT_MET, unmet.place, &unmet.parts, &[], || {
                END_NOT_MET
                    .at(unmet.place, format!("the procedure declares another end than its steps reach: {}", unmet.words))
                    .mark("declared here")
                    .help("add the missing steps at the end, or correct the declaration")
            });
        }
    }
}
