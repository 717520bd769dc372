//! What a print says: typed blocks with a field id on every printed value, before any wording or layout.
//!
//! Content ([`Document`]) is apart from the [`Stamp`] laid over it (status, copy number), so that nothing refers to itself.
//! All text is final here: units, decimals and signs are already written out; templates place it and never compute.

mod act;
mod after;
mod block;
pub mod build;
pub mod card;
pub mod evidence;
mod field;
pub mod figure;
mod front;
pub mod package;
mod review;
pub mod revision;
mod sheet;
mod stamp;
pub mod training;
pub mod wording;

pub use act::{Act, Gate, Goal, Push, Travel};
pub use after::{After, Left};
pub use block::{
    Actual, Alert, Arm, Band, Block, Checks, Condition, Figure, Hold, Item, Label, Line, Perform, Reading, Repeat, Section, SectionKind,
    SignOff, Signal, Step, Strip, Table, Turnover, Verify, Wait,
};
pub use field::{Field, Prose, Span};
pub use front::{
    Abbreviation, Code, Contents, Date, Disposition, Expected, Front, Identity, ModelData, Place, PowerLost, ReadOut, Record, Revision,
    Role, Start, Waiver,
};
pub use review::{Asked, Review};
pub use sheet::{Entry, Sheet};
pub use stamp::{Issue, Stamp, Status};

use serde::Serialize;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A whole work instruction: who it is, its first page, how it starts, and its blocks in printed order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Document {
    /// Printed at the head of every page.
    pub identity: Identity,
    /// The first page, which no template may shorten.
    pub front: Front,
    /// The digest of the content for a machine.
    pub qr: Code,
    /// What is where; none in a short document.
    pub contents: Option<Contents>,
    /// What differs from an earlier revision, where one was named.
    pub changes: Option<revision::Changes>,
    /// What the crew fills in for this run.
    pub record: Record,
    /// What an instructor teaches from, in the edition to learn from.
    pub training: Option<training::Training>,
    /// The plan of the cell.
    pub plan: Option<evidence::Chart>,
    /// The console card of the arm, in the edition to learn from.
    pub console: Option<training::Console>,
    /// What must be true before the first step.
    pub start: Start,
    /// The body in printed order.
    pub blocks: Vec<Block>,
    /// What to do if power is lost; none where nothing moves.
    pub power: Option<PowerLost>,
    /// Where each step leaves the joints; none where none is moved.
    pub after: Option<After>,
    /// Pages on which readings are written.
    pub sheets: Vec<Sheet>,
    /// What planning and review need beside the steps, in the edition for reviewers.
    pub package: Option<package::Package>,
    /// What a safety reviewer signs, in the edition for reviewers.
    pub summary: Option<package::Summary>,
    /// What a reviewer fills in, in the edition for reviewers.
    pub review: Option<Review>,
    /// Whether the ways of its moves were looked at, so that something is told beside its steps.
    #[serde(skip)]
    pub surveyed: bool,
    /// The items that get a bar in the margin: changed since that revision.
    #[serde(skip)]
    pub changed: BTreeSet<Item>,
}

impl Document {
    /// Every drawing with the item that prints it, in printed order.
    pub fn drawings(&self) -> Vec<(&str, &Arc<figure::Drawing>)> {
        fn add<'a>(blocks: &'a [Block], out: &mut Vec<(&'a str, &'a Arc<figure::Drawing>)>) {
            for block in blocks {
                match block {
                    Block::Figure(figure) => out.push((&figure.item, &figure.drawing)),
                    Block::Section(s) => add(&s.blocks, out),
                    Block::Condition(c) => c.arms.iter().for_each(|a| add(&a.blocks, out)),
                    Block::Repeat(r) => add(&r.blocks, out),
                    Block::Perform(p) => add(&p.blocks, out),
                    _ => {}
                }
            }
        }
        let mut out = vec![(self.qr.item, &self.qr.drawing)];
        out.extend(self.plan.iter().map(|c| (c.item.as_str(), &c.drawing)));
        out.extend(self.console.iter().flat_map(|c| card::drawings(&c.blocks)));
        add(&self.blocks, &mut out);
        out.extend(self.package.iter().flat_map(|p| p.bodies.iter().chain(&p.charts)).map(|c| (c.item.as_str(), &c.drawing)));
        out
    }
}
