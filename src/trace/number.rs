//! Printed numbers of expanded steps.

use super::{FrameId, RowId, Trace};
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

/// The frame whose contingencies a frame's steps lead into: the nearest whole procedure.
pub(super) fn home(trace: &Trace, mut frame: FrameId) -> FrameId {
    while trace.frame(frame).section.is_some() {
        let Some((up, _)) = trace.frame(frame).caller else { break };
        frame = up;
    }
    frame
}
