//! Printed numbers of expanded steps, and ways in words.

use super::state::PathId;
use super::{FrameId, RowId, Taken, Trace, When};
use crate::model::procedure::{Procedure, StepNumber};
use std::sync::Arc;

/// The number of a row: the step's own, or in an expansion under the number of the step that performs it.
pub(super) fn of(trace: &Trace, root: &Procedure, row: RowId) -> StepNumber {
    let (frame, step) = trace.step_of(row);
    let own = &trace.procedure_of(root, frame).step(step).number;
    match trace.frame(frame).caller.and_then(|(up, caller)| trace.row(up, caller)) {
        Some(call) => own.performed_at(&Arc::new(of(trace, root, call))),
        None => own.clone(),
    }
}

/// A way in words, outermost branch first.
pub(super) fn path(trace: &Trace, root: &Procedure, path: PathId) -> String {
    let mut parts = Vec::new();
    let mut at = path;
    while let Some(way) = at.0.checked_sub(1).and_then(|i| trace.ways.get(i as usize)) {
        if let Some(number) = trace.row(way.frame, way.step).map(|r| of(trace, root, r)) {
            parts.push(match way.taken {
                Taken::Arm(n) => format!("if {} was taken", number.arm(u8::try_from(n).unwrap_or(u8::MAX))),
                Taken::Pass(n) => format!("in pass {n} of step {number}"),
                Taken::Entered(When::Before) => format!("entered before step {number} was done"),
                Taken::Entered(When::During) => format!("entered part-way through step {number}"),
                Taken::Entered(When::After) => format!("entered after step {number}"),
            });
        }
        at = way.up;
    }
    parts.reverse();
    parts.join(", ")
}

/// The frame whose contingencies a frame's steps lead into: the nearest whole procedure.
pub(super) fn home(trace: &Trace, mut frame: FrameId) -> FrameId {
    while trace.frame(frame).section.is_some() {
        let Some((up, _)) = trace.frame(frame).caller else { break };
        frame = up;
    }
    frame
}
