//! What the arm, the jaw and the loads can be doing at each step: the abstract interpretation of a procedure.
//!
//! Every step is visited with the set of states it can start in; `transfer` says what each of its effects does
//! to a state, `flow` how sets travel through branches, loops, calls and contingencies, and [`measure`]
//! what there is to spare. The same [`Trace`] feeds the rules, the print and the review.
//!
//! Invariant: sets of states are never hulled; a finding from any one state of a set counts.

mod doubt;
mod flow;
pub mod measure;
mod number;
pub mod rules;
mod situation;
pub mod state;
mod transfer;
mod ways;

use crate::diag::Diagnostic;
use crate::model::procedure::{Kind, Procedure, StepNumber};
use crate::model::{JointId, SectionId, StepId, ViewId};
use crate::text::Span;
use crate::units::Angle;
use doubt::Hop;
pub use measure::{Margin, Recorded};
pub use rules::{RULES, check};
use state::{Entry, Held, Known, PathId, State};
use std::sync::Arc;

/// Most states a step can have; beyond that the branches are to be untied.
pub const MOST_STATES: usize = 64;

/// Traces a procedure. Always ends; what stood in the way is among the findings of [`check`].
pub fn trace(procedure: &Procedure) -> Trace {
    flow::run(procedure)
}

/// A set of states: a range of the trace's pool.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
struct Set {
    start: u32,
    end: u32,
}

impl Set {
    const EMPTY: Set = Set { start: 0, end: 0 };
    fn is_empty(self) -> bool {
        self.start == self.end
    }
    fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// One expansion of steps: the procedure itself (0), or one `perform` of a section or another procedure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FrameId(pub u32);

impl FrameId {
    /// The procedure itself.
    pub const ROOT: FrameId = FrameId(0);
}

/// A `perform`, or the procedure itself.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The calling step and the frame it stands in; none for the procedure itself.
    pub caller: Option<(FrameId, StepId)>,
    /// Which procedure: 0 is the outermost, others are [`Trace::callee`].
    pub procedure: u16,
    /// The section performed; none for a whole procedure.
    pub section: Option<SectionId>,
    first_step: usize,
    first_row: usize,
    steps: usize,
}

/// A step as printed: one of a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RowId(pub u32);

/// What is known of a printed step.
#[derive(Clone, Copy, Debug)]
struct Row {
    frame: FrameId,
    step: StepId,
    first: u32,
    last: u32,
    callee: Option<FrameId>,
}

/// One walk over a step: several where it stands in a repeat or a contingency.
#[derive(Clone, Copy, Debug)]
struct Visit {
    row: u32,
    before: Set,
    after: Set,
    margins: (u32, u32),
    next: u32,
}

const NONE: u32 = u32::MAX;

/// When a contingency was entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum When {
    Before,
    During,
    After,
}

/// A traced procedure: for each printed step the states before and after it, and what there was to spare.
#[derive(Debug)]
pub struct Trace {
    pool: Vec<Entry>,
    visits: Vec<Visit>,
    rows: Vec<Row>,
    frames: Vec<Frame>,
    ways: Vec<ways::Way>,
    hops: Vec<Hop>,
    ends: Vec<End>,
    margins: Vec<Recorded>,
    callees: Vec<Arc<Procedure>>,
    finish: Set,
    problems: Vec<Diagnostic>,
}

/// A set of states that has to be judged where it is, apart from any step.
#[derive(Clone, Copy, Debug)]
enum End {
    /// Out of a contingency of a frame.
    Contingency(FrameId, SectionId, Set),
    /// At a row that is gone to from a place in the source.
    Rejoined(RowId, Span, Set),
    /// What passes two and three of a repeat start in.
    Passes(RowId, Set, Set),
}

/// A start angle of a move, for print.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum From {
    /// One printed angle.
    At(Angle),
    /// Anywhere between two.
    Between(Angle, Angle),
}

/// The read-outs to be expected at one place, over all states.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expected {
    /// The joint.
    pub joint: JointId,
    /// Lowest, hold tolerance included.
    pub low: Angle,
    /// Highest, hold tolerance included.
    pub high: Angle,
    /// The printed angle, if there is only one.
    pub nominal: Option<Angle>,
    /// Whether it is known in every state.
    pub known: bool,
}

impl Trace {
    /// The printed step of a frame.
    pub fn row(&self, frame: FrameId, step: StepId) -> Option<RowId> {
        let f = &self.frames[frame.0 as usize];
        let at = step.at().checked_sub(f.first_step).filter(|i| *i < f.steps)? + f.first_row;
        u32::try_from(at).ok().map(RowId)
    }
    /// The step and frame of a row.
    pub fn step_of(&self, row: RowId) -> (FrameId, StepId) {
        let row = &self.rows[row.0 as usize];
        (row.frame, row.step)
    }
    /// A frame.
    pub fn frame(&self, id: FrameId) -> &Frame {
        &self.frames[id.0 as usize]
    }
    /// Every frame; the procedure itself is first.
    pub fn frames(&self) -> impl Iterator<Item = (FrameId, &Frame)> {
        self.frames.iter().enumerate().map(|(i, f)| (FrameId(u32::try_from(i).unwrap_or(u32::MAX)), f))
    }
    /// The rows of a frame in source order.
    pub fn rows_of(&self, frame: FrameId) -> impl Iterator<Item = RowId> + use<> {
        let f = &self.frames[frame.0 as usize];
        (f.first_row..f.first_row + f.steps).filter_map(|i| u32::try_from(i).ok().map(RowId))
    }
    /// The procedure a frame's steps stand in.
    pub fn procedure_of<'a>(&'a self, root: &'a Procedure, frame: FrameId) -> &'a Procedure {
        match usize::from(self.frames[frame.0 as usize].procedure) {
            0 => root,
            n => &self.callees[n - 1],
        }
    }
    /// The other procedures that are performed, in the order met.
    pub fn callees(&self) -> &[Arc<Procedure>] {
        &self.callees
    }
    /// The expansion a `perform` leads to.
    pub fn callee(&self, row: RowId) -> Option<FrameId> {
        self.rows[row.0 as usize].callee
    }
    /// The frame of the whole procedure that a frame's steps belong to.
    pub fn home(&self, frame: FrameId) -> FrameId {
        number::home(self, frame)
    }
    /// Whether any execution reaches a row.
    pub fn is_reached(&self, row: RowId) -> bool {
        self.visits_of(row).next().is_some()
    }
    fn visits_of(&self, row: RowId) -> impl Iterator<Item = &Visit> {
        let mut at = self.rows[row.0 as usize].first;
        std::iter::from_fn(move || {
            let visit = self.visits.get(at as usize)?;
            at = visit.next;
            Some(visit)
        })
    }
    fn entries(&self, set: Set) -> &[Entry] {
        &self.pool[set.range()]
    }
    /// The states a row can start in, with the ways that lead there.
    pub fn before(&self, row: RowId) -> impl Iterator<Item = &Entry> {
        self.visits_of(row).flat_map(|v| self.entries(v.before))
    }
    /// The states a row can leave; none behind a `go to`.
    pub fn after(&self, row: RowId) -> impl Iterator<Item = &Entry> {
        self.visits_of(row).flat_map(|v| self.entries(v.after))
    }
    /// What there was to spare at a row, over all its states.
    pub fn margins(&self, row: RowId) -> impl Iterator<Item = &Recorded> {
        self.visits_of(row).flat_map(|v| &self.margins[v.margins.0 as usize..v.margins.1 as usize])
    }
    /// The least value of each kind of margin at a row, in the order first met.
    pub fn least_margins(&self, row: RowId) -> Vec<(Margin, i64)> {
        let mut out: Vec<(Margin, i64)> = Vec::new();
        for m in self.margins(row) {
            match out.iter_mut().find(|(k, _)| *k == m.margin) {
                Some((_, least)) => *least = (*least).min(m.value),
                None => out.push((m.margin, m.value)),
            }
        }
        out
    }
    /// The states the procedure can end in.
    pub fn finish(&self) -> &[Entry] {
        self.entries(self.finish)
    }
    /// The distinct angles a move of `joint` starts from ("from +12 or +35 deg"), in falling order of use.
    pub fn from_values(&self, row: RowId, joint: JointId) -> Vec<From> {
        let mut out = Vec::new();
        for entry in self.before(row) {
            let r = entry.state.joint(joint);
            let from = match r.known {
                Known::Readout | Known::ByEye => From::At(r.nominal),
                Known::Range => From::Between(r.low, r.high),
                Known::Unread | Known::UnreadRange | Known::Muted => continue,
            };
            if !out.contains(&from) {
                out.push(from);
            }
        }
        out
    }
    /// What each read-out can show before a row, hold tolerance included.
    pub fn expected(&self, root: &Procedure, row: RowId) -> Vec<Expected> {
        let (frame, _) = self.step_of(row);
        let arm = &self.procedure_of(root, frame).arm;
        let mut out: Vec<Expected> = Vec::new();
        for entry in self.before(row) {
            for (i, r) in entry.state.joints().iter().enumerate() {
                let (low, high) = r.idle(arm.joints[i].hold.value);
                let nominal = r.is_settled().then_some(r.nominal);
                match out.get_mut(i) {
                    Some(e) => {
                        (e.low, e.high) = (e.low.min(low), e.high.max(high));
                        e.known &= r.is_known();
                        if e.nominal != nominal {
                            e.nominal = None;
                        }
                    }
                    None => {
                        out.push(Expected { joint: JointId(u16::try_from(i).unwrap_or(u16::MAX)), low, high, nominal, known: r.is_known() })
                    }
                }
            }
        }
        out
    }
    /// The views the operator can be looking through before a row.
    pub fn views(&self, row: RowId) -> Vec<Option<ViewId>> {
        distinct(self.before(row).map(|e| e.state.view))
    }
    /// What can be in the jaw before a row.
    pub fn held(&self, row: RowId) -> Vec<Option<Held>> {
        distinct(self.before(row).map(|e| e.state.held()))
    }
    /// The branches that lead to a state, for a message: "if 13A was taken"; empty where it hangs on none.
    pub fn path(&self, root: &Procedure, path: PathId) -> String {
        ways::words(self, root, path)
    }
    /// The printed number of a row: the step's own, or under the number of the step that performs it (`12.1`).
    pub fn number(&self, root: &Procedure, row: RowId) -> StepNumber {
        number::of(self, root, row)
    }
    /// Whether any state of the trace rests on an approach by taps, whose contact band takes shapes to be proved.
    pub fn has_taps(&self, root: &Procedure) -> bool {
        use crate::model::procedure::{Drive, Goal};
        let taps = |d: &Drive| matches!(d.goal, Goal::Taps { .. });
        self.rows.iter().filter(|r| r.first != NONE).any(|r| match &self.procedure_of(root, r.frame).step(r.step).kind {
            Kind::Move(d) => taps(d),
            Kind::Lift(t) | Kind::Lower(t) => taps(&t.drive),
            Kind::Together(t) => t.drives.iter().any(taps),
            _ => false,
        })
    }
}

/// Each item once, in the order first met.
pub(crate) fn distinct<T: PartialEq>(items: impl Iterator<Item = T>) -> Vec<T> {
    let mut out = Vec::new();
    for item in items {
        if !out.contains(&item) {
            out.push(item);
        }
    }
    out
}

impl State {
    /// Whether the statement that made something unknown was not read; rules stay silent then.
    pub fn is_muted(&self) -> bool {
        self.joints().iter().any(|r| r.known == Known::Muted) || self.power.is_none()
    }
}
