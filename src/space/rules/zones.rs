//! Zones of the cell that are crossed slowly.

use super::super::{Survey, zones};
use super::Told;
use super::clearance::{goal, place, the, way};
use crate::diag::{Diagnostic, Evidence, Family, Rule, Severity};
use crate::model::procedure::Procedure;
use crate::trace::Trace;

/// A move that comes into a slow zone and is not slow.
pub static FAST_IN_SLOW_ZONE: Rule = Rule {
    id: "fast-in-slow-zone",
    family: Family::Clearance,
    severity: Severity::Error,
    physical: false,
    summary: "a move can come into a zone that is to be crossed slowly, and is not marked slow",
    why: "The survey marks a zone because something there asks for more time to see and to stop: a lane that others use, a hose that hangs differently each day. The operator sees the zone on no screen; the step has to say it.",
    evidence: Evidence::Definition,
    // It takes a cell with such a zone.
    bad: &[],
    good: &[],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&FAST_IN_SLOW_ZONE];

pub(super) fn check(p: &Procedure, trace: &Trace, survey: &Survey, out: &mut Vec<Diagnostic>) {
    let Ok(scene) = &survey.scene else { return };
    let mut told = Told::default();
    for stretch in &survey.stretches {
        let (_, step) = place(p, trace, stretch.row);
        let Some(crossing) = stretch.crossing.filter(|_| !zones::is_slow(step)) else { continue };
        if told.again(FAST_IN_SLOW_ZONE.id, stretch.row, stretch.entry) {
            continue;
        }
        let zone = &p.cell.obstacles[crossing.zone.at()].name;
        let message = format!("{} can come into the {} here, and the move is not slow", the(scene, crossing.thing), zone.value);
        told.put(FAST_IN_SLOW_ZONE.id, stretch.row, stretch.entry, Some(out.len()));
        out.push(
            FAST_IN_SLOW_ZONE
                .at(goal(step).unwrap_or(step.head), message)
                .label(zone.span, "to be crossed slowly")
                .help("write `slow` behind the angle, or `inch`; a move by so many degrees has to name its target for it")
                .step(trace.number(p, stretch.row))
                .path(way(p, trace, stretch)),
        );
    }
    told.finish(out);
}
