//! The declared start: whether it can be at all, and what it leaves unsaid.

use super::super::Trace;
use super::super::doubt::Part;
use super::super::state::{Place, State};
use super::{Moment, Sink, grip};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::LoadId;
use crate::model::procedure::{Procedure, Situation};
use crate::text::Span;

/// A start that cannot be.
pub static IMPOSSIBLE_START: Rule = Rule {
    id: "impossible-start",
    family: Family::Continuity,
    severity: Severity::Error,
    physical: true,
    summary: "the declared start cannot be",
    why: "Every step is checked from the declared start. If the arm cannot stand so, the steps are checked for nothing, and whoever compares the start with the cell finds out at the console.",
    evidence: Evidence::Definition,
    bad: &[
        Example::procedure(concat!(start!("{ cup = \"rack\", flask = ⟦\"rack\"⟧ }"), "1. `view window-1`\n")),
        Example::procedure(concat!(start!("{ cup = ⟦\"shelf\"⟧, flask = \"rack\" }"), "1. `view window-1`\n")),
        Example::procedure(concat!(start!("\"60 mm\"", "{ cup = \"held\", flask = ⟦\"held\"⟧ }"), "1. `view window-1`\n")),
        Example::procedure(concat!(start!("⟦\"161 mm\"⟧", "{ cup = \"cradle\" }"), "1. `view window-1`\n")),
        Example::procedure(concat!(start!("⟦\"90 mm\"⟧", "{ cup = \"held\" }"), "1. `view window-1`\n")),
    ],
    good: &[
        Example::procedure(concat!(start!("{ cup = \"rack\", flask = \"shelf\" }"), "1. `view window-1`\n")),
        Example::procedure(concat!(start!("\"60 mm\"", "{ cup = \"held\" }"), "1. `view window-1`\n")),
    ],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&IMPOSSIBLE_START];

/// Whether the declared start can be.
pub(super) fn check(p: &Procedure, trace: &Trace, sink: &mut Sink<'_>) {
    let (Some(declared), Some(first)) = (&p.start, trace.pool.first()) else { return };
    loads(p, declared, &first.state, sink);
    let Some(jaw) = declared.jaw else { return };
    let (opening, tolerance) = (&p.arm.jaw, p.arm.jaw.tolerance.value);
    if jaw.value < opening.least.value || jaw.value > opening.most.value {
        let message = format!("the jaw opens from {} to {}, not to {}", opening.least.value, opening.most.value, jaw.value);
        sink.put(&IMPOSSIBLE_START, jaw.span, || IMPOSSIBLE_START.at(jaw.span, message).label(opening.span, "the jaw's range"));
    } else if let Some((load, place)) = declared.loads.iter().find(|(_, place)| place.value.is_none()) {
        let data = &p.cell.loads[load.value.at()];
        let width = data.grip_width.value;
        if width < jaw.value - tolerance || width > jaw.value + tolerance {
            let message = format!("the jaw is {} open here, but holds `{}`, which is {width} wide", jaw.value, data.name.value);
            sink.put(&IMPOSSIBLE_START, jaw.span, || {
                IMPOSSIBLE_START
                    .at(jaw.span, message)
                    .label(place.span, "the load in the jaw")
                    .label(data.grip_width.span, "its width")
                    .help(format!("write `jaw = \"{width}\"`, or say where the load stands"))
            });
        }
    }
}

/// One load in the jaw at most, one on a station, and only on a station that takes it.
fn loads(p: &Procedure, declared: &Situation, state: &State, sink: &mut Sink<'_>) {
    let name = |load: LoadId| &p.cell.loads[load.at()].name.value;
    let mut held = None;
    for (load, place) in &declared.loads {
        let Some(on) = place.value else {
            if let Some(first) = held.replace(load.value) {
                say(sink, place.span, format!("the jaw cannot hold both `{}` and `{}`", name(first), name(load.value)));
            }
            continue;
        };
        let station = &p.cell.stations[on.at()];
        let earlier = |other: LoadId| declared.loads.iter().take_while(|(l, _)| l.value != load.value).any(|(l, _)| l.value == other);
        let unsaid = |other: LoadId| !declared.loads.iter().any(|(l, _)| l.value == other);
        let other = state.places().find(|(l, at)| *at == Place::On(on) && *l != load.value && (earlier(*l) || unsaid(*l)));
        if !station.has_room_for(name(load.value)) {
            say(sink, place.span, format!("`{}` is no station that takes `{}`", station.name.value, name(load.value)));
        } else if let Some((other, _)) = other {
            say(sink, place.span, format!("`{}` and `{}` cannot both stand on `{}`", name(other), name(load.value), station.name.value));
        }
    }
}

fn say(sink: &mut Sink<'_>, span: Span, message: String) {
    sink.put(&IMPOSSIBLE_START, span, || IMPOSSIBLE_START.at(span, message).help("declare where each load is when the work begins"));
}

/// A load that was in the jaw from the start is moved only when its grip level is known.
pub(super) fn carries(m: &Moment<'_>, load: LoadId, sink: &mut Sink<'_>) {
    let from_start = m.p.start.iter().flat_map(|s| &s.loads).find(|(l, place)| l.value == load && place.value.is_none());
    let (Some((_, place)), None) = (from_start, m.before.level) else { return };
    if m.before.is_muted() || m.before.held().is_some_and(|h| h.gripped.is_some()) {
        return;
    }
    let name = &m.p.cell.loads[load.at()].name.value;
    sink.rest(&grip::NO_GRIP_LEVEL, place.span, &[Part::Level], &[], || {
        grip::NO_GRIP_LEVEL
            .at(place.span, format!("`{name}` is held at the start, and no grip level is chosen before step {} moves it", m.step.number))
            .help(format!("write `grip level N` before that step: {}", grip::suits(m, load)))
    });
}
