//! Findings of the walk itself: branches, repeats, jumps, calls, contingencies.

use super::super::doubt::{Part, Root};
use super::super::situation::{Outside, all_outside, outside, say, say_where};
use super::super::state::{Entry, PathId, State};
use super::super::{End, FrameId, MOST_STATES, RowId, Set, Trace};
use super::Sink;
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Item, Kind, LineForm, Procedure, Section, SectionKind};
use crate::model::{JointId, PoseId, SectionId, StepId};
use crate::text::Span;

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule { id, family: Family::Flow, severity: Severity::Error, physical: true, summary, why, evidence: Evidence::Definition, bad, good }
}

/// More states than are followed.
pub static TOO_MANY_STATES: Rule = rule(
    "too-many-states",
    "branches leave more states at a step than are followed",
    "Every way through the branches is checked on its own. Where many conditions leave the arm in different states, nobody can oversee them either.",
    &[],
    &[],
);

/// A repeat that does not come back to where it began.
pub static LOOP_NOT_SETTLED: Rule = rule(
    "loop-not-settled",
    "a repeat starts its third pass elsewhere than its second",
    "The steps of a repeat are printed once, so they must be right in every pass. That is so only if each pass ends where it began.",
    &[Example::steps(
        "1. `power on arm`\n2. ⟦`repeat at most 3 until`⟧ The lamp is lit, seen in window 1.\n   - If not: hold and tell Shift lead\n   1. `if` The cup is in sight, seen in window 1.\n      - then\n        1. `view window-2`\n      - otherwise\n        1. `grip level 2`\n",
    )],
    &[
        Example::steps(
            "1. `power on arm`\n2. `repeat at most 3 until` The lamp is lit, seen in window 1.\n   - If not: hold and tell Shift lead\n   1. `shoulder lower to -5 deg`\n   2. `shoulder raise to +20 deg`\n",
        ),
        Example::steps(
            "1. `power on arm`\n2. `repeat at most 2 until` The lamp is lit, seen in window 1.\n   - If not: hold and tell Shift lead\n   1. `if` The cup is in sight, seen in window 1.\n      - then\n        1. `view window-2`\n      - otherwise\n        1. `grip level 2`\n",
        ),
    ],
);

/// An expansion without bound.
pub static TOO_LONG: Rule = rule(
    "too-long",
    "a procedure is too long, or performs too deep, when every `perform` is printed out",
    "Performed sections are printed at every call. What is longer than a person can follow is also longer than is checked.",
    &[],
    &[],
);

/// A contingency that does not end safe.
pub static CONTINGENCY_NOT_SAFE: Rule = rule(
    "contingency-not-safe",
    "a contingency does not end in a safe pose in every state it can be entered in",
    "A contingency is entered when something has gone wrong, from wherever the arm is just then, part-way included. It has to lead to a place where the arm can be left.",
    &[Example::steps(
        "1. `power on arm`\n2. `base left to +42 deg`\n   - Stop if: the lamp goes out: [back out](#back-out)\n\n# ⟦Back out⟧ {#back-out .contingency}\n\n1. `shoulder raise to +60 deg`\n",
    )],
    &[Example::steps(
        "1. `power on arm`\n2. `base left to +42 deg`\n   - Stop if: the lamp goes out: [back out](#back-out)\n\n# Back out {#back-out .contingency}\n\n1. `base right to -90 deg`\n2. `shoulder raise to +80 deg`\n3. `elbow fold to 30 deg`\n4. `wrist-pitch lower to -60 deg`\n5. `expect pose stowed`\n",
    )],
);

/// A step entered from a contingency in a state it is not entered in otherwise.
pub static ENTRY_STATE_DIFFERS: Rule = rule(
    "entry-state-differs",
    "a step is gone to from elsewhere in a state that it does not otherwise start in",
    "The step was checked and printed for the states that the printed order brings. Entered in another one its start angles are wrong.",
    &[Example::steps(
        "1. `power on arm`\n2. `base left to +42 deg`\n   - Stop if: the lamp goes out: [back out](#back-out)\n3. `shoulder lower to -5 deg` {#on}\n\n# Back out {#back-out .contingency}\n\n1. `shoulder raise to +60 deg`\n2. `go to` [the next step](⟦#on⟧)\n",
    )],
    &[Example::steps(
        "1. `power on arm`\n2. `base left to +42 deg`\n   - Stop if: the lamp goes out: [back out](#back-out)\n3. `base right to 0 deg`\n4. `base right to -42 deg` {#on}\n\n# Back out {#back-out .contingency}\n\n1. `base left to +60 deg`\n2. `base right to 0 deg`\n3. `go to` [the next step](#on)\n",
    )],
);

/// Printed and never done.
pub static UNREACHED_STEP: Rule = rule(
    "unreached-step",
    "no way through the procedure leads to a step",
    "The step is printed but was never checked in any state, and nobody can say when it is to be done.",
    &[Example::steps(
        "1. `power on arm`\n2. `if` Lamp 1 is lit, seen in window 1.\n   - then\n     1. `go to` [the end](#end)\n   - otherwise\n     1. `go to` [the end](#end)\n3. ⟦`base left to +42 deg`⟧\n4. `turnover` {#end}\n",
    )],
    &[Example::steps(
        "1. `power on arm`\n2. `if` Lamp 1 is lit, seen in window 1.\n   - then\n     1. `go to` [the end](#end)\n   - otherwise: go on\n3. `base left to +42 deg`\n4. `turnover` {#end}\n",
    )],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] =
    &[&TOO_MANY_STATES, &LOOP_NOT_SETTLED, &TOO_LONG, &CONTINGENCY_NOT_SAFE, &ENTRY_STATE_DIFFERS, &UNREACHED_STEP];

/// A step could be started in more states than are followed.
pub(in crate::trace) fn too_many_states(trace: &Trace, root: &Procedure, frame: FrameId, step: StepId, set: Set) -> Diagnostic {
    let mut rows: Vec<RowId> = Vec::new();
    for entry in trace.entries(set) {
        trace.conditions(entry.path, &mut rows);
    }
    rows.sort_unstable();
    rows.dedup();
    let conditions: Vec<String> = rows.into_iter().map(|r| trace.number(root, r).to_string()).collect();
    let p = trace.procedure_of(root, frame);
    let span = p.step(step).head;
    let mut finding = TOO_MANY_STATES
        .at(span, format!("more than {MOST_STATES} states lead on from here; they come from the conditions at {}", conditions.join(", ")))
        .help("bring the arm to one known state after each condition, or split the procedure");
    if let Some(row) = trace.row(frame, step) {
        finding = finding.step(trace.number(root, row));
    }
    finding
}

/// A contingency is entered in more states than are followed.
pub(in crate::trace) fn crowded_contingency(span: Span) -> Diagnostic {
    TOO_MANY_STATES
        .at(span, format!("the contingency named here can be entered in more than {MOST_STATES} states"))
        .help("use several contingencies, each for a part of the procedure")
}

/// The states that stand apart from any step: out of a contingency, into a step gone to, round a repeat.
pub(super) fn ends(root: &Procedure, trace: &Trace, end: &End, sink: &mut Sink<'_>) {
    sink.row = None;
    match *end {
        End::Contingency(frame, section, set) => ends_safe(trace, trace.procedure_of(root, frame), section, set, sink),
        End::Rejoined(row, span, set) => rejoined(trace, root, span, row, set, sink),
        End::Passes(row, second, third) => settled(trace, root, row, (second, third), sink),
    }
}

/// What keeps a repeat from settling: the sets that passes two and three start in have to be one. Turns are no exception: each
/// move prints the angle it ends at, so a joint cannot wind on from pass to pass without a finding of its own.
fn settled(trace: &Trace, root: &Procedure, row: RowId, (second, third): (Set, Set), sink: &mut Sink<'_>) {
    let (a, b) = (trace.entries(second), trace.entries(third));
    if a.iter().chain(b).any(|e| e.state.is_muted()) {
        return;
    }
    let only_in = |x: &[Entry], y: &[Entry]| x.iter().find(|e| y.iter().all(|o| e.state != o.state)).map(|e| e.state.clone());
    let (lost, gained) = (only_in(a, b), only_in(b, a));
    if lost.is_none() && gained.is_none() {
        return;
    }
    let (Some(x), Some(y)) = (lost.as_ref().or(a.first().map(|e| &e.state)), gained.as_ref().or(b.first().map(|e| &e.state))) else {
        return;
    };
    let (frame, step) = trace.step_of(row);
    let p = trace.procedure_of(root, frame);
    let what = difference(p, x, y).unwrap_or_else(|| "the states differ".to_string());
    sink.row = Some(row);
    sink.way = PathId(0);
    let head = p.step(step).head;
    sink.put(&LOOP_NOT_SETTLED, head, || {
        LOOP_NOT_SETTLED
            .at(head, format!("pass 3 does not start where pass 2 starts: {what}"))
            .help("let the last step of the repeat bring everything back to where its first step begins")
    });
    sink.row = None;
}

/// The parts in which two states differ; none if they differ in something else too.
fn differing(a: &State, b: &State) -> Vec<Part> {
    if (a.view, a.scene.equipment.as_ref()) != (b.view, b.scene.equipment.as_ref()) {
        return Vec::new();
    }
    let joints = (0u16..).zip(a.joints().iter().zip(b.joints()));
    let mut parts: Vec<Part> = joints.filter(|(_, (x, y))| x != y).map(|(i, _)| Part::Joint(JointId(i))).collect();
    let loads = a.places().zip(b.places());
    parts.extend(loads.filter(|(x, y)| x != y).map(|((load, _), _)| Part::Load(load)));
    if a.grasp != b.grasp {
        parts.extend([a, b].into_iter().filter_map(State::held).map(|h| Part::Load(h.load)));
    }
    let others = [(a.jaw != b.jaw, Part::Opening), (a.level != b.level, Part::Level), (a.tool != b.tool, Part::Tool)];
    parts.extend(others.into_iter().filter(|(differs, _)| *differs).map(|(_, part)| part));
    parts.extend((a.power != b.power).then_some(Part::Power));
    parts
}

/// What put every one of some parts in doubt, in one or another of two states that were compared.
fn in_doubt(sink: &Sink<'_>, parts: &[Part], entries: &[u32]) -> Option<Root> {
    let roots: Option<Vec<Root>> = parts.iter().map(|part| entries.iter().find_map(|e| sink.doubts.of(*e, *part))).collect();
    roots?.first().copied()
}

/// The first thing in which two states differ, in words.
fn difference(p: &Procedure, a: &State, b: &State) -> Option<String> {
    for (joint, (x, y)) in p.arm.joints.iter().zip(a.joints().iter().zip(b.joints())) {
        if x != y {
            let of = |r: &super::super::state::Readout| say_where((r.low, r.high), r.known);
            return Some(format!("{} is {} in pass 2 and {} in pass 3", joint.name.value, of(x), of(y)));
        }
    }
    let differs = [
        (a.grasp != b.grasp, "what the jaw holds, or where it took it,"),
        (a.jaw != b.jaw, "the opening of the jaw"),
        (a.level != b.level, "the grip level"),
        (a.tool != b.tool, "the tool"),
        (a.power != b.power, "console power"),
        (a.view != b.view, "the view"),
        (a.scene != b.scene, "the place of a load or the state of equipment"),
    ];
    differs.iter().find(|(d, _)| *d).map(|(_, what)| format!("{what} differs"))
}

/// Too many states in all, in words.
pub(in crate::trace) const TOO_MUCH: &str =
    "branches and repeats within each other make more states than are followed; nothing from here on was looked at";

/// Too many states in all, met at a line that leads to a contingency.
pub(in crate::trace) fn too_much(span: Span) -> Diagnostic {
    TOO_LONG.at(span, TOO_MUCH).help("split the procedure")
}

/// An expansion without bound, in words.
pub(in crate::trace) fn too_long(deep: bool, most: usize) -> String {
    if deep {
        format!("sections and procedures perform each other more than {most} deep")
    } else {
        format!("printed out, the procedure has more than {most} steps")
    }
}

/// Every state that walks out of the end of a contingency is in a pose marked safe.
fn ends_safe(trace: &Trace, p: &Procedure, section: SectionId, exit: Set, sink: &mut Sink<'_>) {
    let safe: Vec<PoseId> = (0u16..).zip(&p.arm.poses).filter(|(_, pose)| pose.safe).map(|(i, _)| PoseId(i)).collect();
    for (at, entry) in (exit.start..).zip(trace.entries(exit)) {
        if entry.state.is_muted() || safe.iter().any(|pose| outside(p, &entry.state, *pose, true).is_none()) {
            continue;
        }
        (sink.way, sink.entry) = (entry.path, at);
        // The pose most joints are in is the one that was meant.
        let off = |pose: &PoseId| all_outside(p, &entry.state, *pose, true).collect::<Vec<Outside>>();
        let meant = safe.iter().map(|pose| (*pose, off(pose))).min_by_key(|(_, off)| off.len());
        // Were what is in doubt right, the arm could be in a safe pose: then that is all that is wrong.
        let mut ways = safe.iter().map(|pose| super::continuity::joints(&off(pose)));
        let parts = ways.find(|parts| parts.iter().all(|part| sink.doubt(*part).is_some()));
        let parts = parts.or(meant.as_ref().map(|(_, off)| super::continuity::joints(off))).unwrap_or_default();
        let span = p.section(section).title.span;
        sink.rest(&CONTINGENCY_NOT_SAFE, span, &parts, &[], || {
            let message = match meant.as_ref().and_then(|(pose, off)| Some((pose, off.first()?))) {
                Some((pose, o)) => format!(
                    "the contingency can end with {} {}; in pose `{}` it is {}",
                    p.arm.joint(o.joint).name.value,
                    say_where(o.is, o.how),
                    p.arm.poses[pose.at()].name.value,
                    say(o.wanted)
                ),
                None => "the arm profile marks no pose as safe, so no contingency can end".to_string(),
            };
            let names: Vec<&str> = safe.iter().map(|s| p.arm.poses[s.at()].name.value.as_str()).collect();
            CONTINGENCY_NOT_SAFE.at(span, message).help(format!(
                "let it end in a pose marked safe ({}), or with `go to` a step that starts in the same states",
                names.join(", ")
            ))
        });
    }
}

/// A step that is gone to from elsewhere takes only states it is entered in anyway.
fn rejoined(trace: &Trace, root: &Procedure, span: Span, row: RowId, set: Set, sink: &mut Sink<'_>) {
    let (frame, step) = trace.step_of(row);
    let p = trace.procedure_of(root, frame);
    let number = trace.number(root, row);
    let usual = trace.visits_of(row).flat_map(|v| v.before.start..v.before.end).next();
    for (at, entry) in (set.start..).zip(trace.entries(set)) {
        if entry.state.is_muted() || trace.before(row).any(|e| e.state.is_muted() || entry.state.lies_in(&e.state)) {
            continue;
        }
        sink.way = entry.path;
        // Either the state that comes, or the one that the printed order brings, may follow from an error.
        let root = usual.and_then(|u| in_doubt(sink, &differing(&entry.state, &trace.pool[u as usize].state), &[at, u]));
        sink.tell(&ENTRY_STATE_DIFFERS, span, root, || {
            let what = match usual {
                Some(u) => unlike(p, &entry.state, &trace.pool[u as usize].state),
                None => "no other way leads there".to_string(),
            };
            ENTRY_STATE_DIFFERS
                .at(span, format!("step {number} is entered here in a state it does not otherwise start in: {what}"))
                .label(p.step(step).head, "the step that is gone to")
                .help("bring the arm, the jaw and the loads to where that step starts, then go to it")
        });
    }
}

fn unlike(p: &Procedure, is: &State, usual: &State) -> String {
    for (joint, (x, y)) in p.arm.joints.iter().zip(is.joints().iter().zip(usual.joints())) {
        if x.low < y.low || x.high > y.high || x.is_settled() != y.is_settled() {
            let of = |r: &super::super::state::Readout| say_where((r.low, r.high), r.known);
            return format!("{} is {}, otherwise {}", joint.name.value, of(x), of(y));
        }
    }
    if is.grasp != usual.grasp {
        return "what the jaw holds, or where it took it, differs".to_string();
    }
    "jaw, grip level, tool, power or the place of a load differs".to_string()
}

/// Steps that are printed and never reached. A list is reported at its first such step; sections nobody enters are
/// reported where links are looked at.
pub(in crate::trace) fn unreached(trace: &mut Trace, root: &Procedure) {
    if root.steps.iter().any(|s| s.broken || s.lines.iter().any(|l| matches!(l.form, LineForm::Broken))) {
        return; // the way there may be what could not be read
    }
    let reached = |step: StepId| trace.row(FrameId::ROOT, step).is_some_and(|r| trace.is_reached(r));
    let mut found = Vec::new();
    let of = |kind: SectionKind| root.sections.iter().filter(move |s| s.kind == kind);
    let steps =
        |s: &Section| -> Vec<StepId> { s.items.iter().filter_map(|i| if let Item::Step(s) = i { Some(*s) } else { None }).collect() };
    let ordinary: Vec<StepId> = of(SectionKind::Ordinary).flat_map(steps).collect();
    below(root, &ordinary, &reached, &mut found);
    for list in of(SectionKind::Contingency).map(steps).filter(|l| l.iter().any(|s| reached(*s))) {
        below(root, &list, &reached, &mut found);
    }
    trace.problems.extend(found);
}

fn below(p: &Procedure, steps: &[StepId], reached: &impl Fn(StepId) -> bool, found: &mut Vec<Diagnostic>) {
    let mut told = false;
    for id in steps {
        let step = p.step(*id);
        if !reached(*id) {
            if !told {
                found.push(
                    UNREACHED_STEP
                        .at(step.head, format!("no way leads to step {}", step.number))
                        .help("the steps before it always leave; remove it, or make one of them conditional")
                        .step(&step.number),
                );
                told = true;
            }
            continue;
        }
        match &step.kind {
            Kind::If { arms } => arms.iter().for_each(|a| below(p, &a.steps, reached, found)),
            Kind::Repeat { body, .. } => below(p, body, reached, found),
            _ => {}
        }
    }
}
