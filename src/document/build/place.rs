//! Where a step is printed: its number and item id in the expansion it stands in.

use super::Basis;
use crate::model::procedure::{Procedure, SectionKind, Step};
use crate::model::{SectionId, StepId};
use crate::trace::{FrameId, RowId};

/// An expansion of steps with the procedure they stand in.
#[derive(Clone, Copy)]
pub(super) struct At<'a> {
    pub(super) frame: FrameId,
    pub(super) procedure: &'a Procedure,
}

impl<'a> Basis<'a> {
    /// The expansion of a frame.
    pub(super) fn at(&self, frame: FrameId) -> At<'a> {
        At { frame, procedure: self.trace.procedure_of(self.procedure, frame) }
    }

    /// The row of a step of this very expansion.
    pub(super) fn row(&self, at: At<'_>, step: StepId) -> Option<RowId> {
        self.trace.row(at.frame, step)
    }

    /// The number of a step printed in this very expansion.
    pub(super) fn number(&self, at: At<'_>, step: &Step) -> String {
        self.row(at, step.id).map_or_else(|| step.number.to_string(), |row| self.trace.number(self.procedure, row).to_string())
    }

    /// The number and item of a step, seen from an expansion: there, or in what performs it. A step that is printed only
    /// where its section is performed has none from elsewhere.
    pub(super) fn printed(&self, mut frame: FrameId, step: StepId) -> Option<(String, String)> {
        let procedure = self.trace.frame(frame).procedure;
        loop {
            let f = self.trace.frame(frame);
            if f.procedure != procedure {
                return None;
            }
            if let Some(row) = self.trace.row(frame, step) {
                let p = self.trace.procedure_of(self.procedure, frame);
                if f.section.is_none() && p.section(p.step(step).section).kind == SectionKind::OnCall {
                    return None;
                }
                let number = self.trace.number(self.procedure, row).to_string();
                let item = format!("s{number}");
                return Some((number, item));
            }
            frame = f.caller?.0;
        }
    }

    /// The whole procedure an expansion belongs to: its contingencies are meant.
    pub(super) fn home(&self, mut frame: FrameId) -> FrameId {
        while let (Some(_), Some((up, _))) = (self.trace.frame(frame).section, self.trace.frame(frame).caller) {
            frame = up;
        }
        frame
    }

    /// "C1", or "12.C1" in a procedure performed at step 12. It is the item's id too.
    pub(super) fn contingency(&self, at: At<'_>, section: SectionId) -> String {
        let before = &at.procedure.sections[..=section.at()];
        let n = before.iter().filter(|s| s.kind == SectionKind::Contingency).count();
        match self.caller(self.home(at.frame)) {
            Some(call) => format!("{call}.C{n}"),
            None => format!("C{n}"),
        }
    }

    /// The number of the step that performs an expansion.
    pub(super) fn caller(&self, frame: FrameId) -> Option<String> {
        let (up, step) = self.trace.frame(frame).caller?;
        self.trace.row(up, step).map(|row| self.trace.number(self.procedure, row).to_string())
    }

    /// The id of a section that is printed under its own heading.
    pub(super) fn section_item(&self, frame: FrameId, index: usize) -> String {
        match self.caller(frame) {
            Some(call) => format!("sec{call}-{}", index + 1),
            None => format!("sec{}", index + 1),
        }
    }
}
