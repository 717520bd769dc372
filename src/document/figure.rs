//! Drawings of a step: a plan and an elevation, as lines, areas and words on paper.
//!
//! Invariant: what is drawn is a projection of the very solids that were checked, at one scale in both views, and no
//! word lies on another or on a line. Emitters know a [`Scene`] alone; how it came about is settled here.

mod area;
mod body;
mod draw;
mod furniture;
mod kind;
mod label;
mod letters;
mod outline;
mod scene;
mod view;

pub use body::{Body, Cone, Nearest, Role, Side, Stance, Subject};
pub use draw::{distance, draw};
pub use outline::{Outline, Piece, silhouette};
pub use scene::{Anchor, Area, Dash, Ink, Mark, Path, Pen, Point, Scene, Step, Text, Type, Weight};
pub use view::View;

use super::Field;
use serde::{Serialize, Serializer};

/// The two views of one step, with what explains them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// Seen from above.
    pub plan: Scene,
    /// Seen level, from a side of the arm.
    pub elevation: Scene,
    /// What the kinds of line and hatch stand for: a small scene each.
    pub key: Vec<Scene>,
    /// What is seen, in a sentence, for those who do not see it.
    pub description: String,
}

impl Drawing {
    /// All scenes: plan, elevation, key.
    pub fn scenes(&self) -> impl Iterator<Item = &Scene> {
        [&self.plan, &self.elevation].into_iter().chain(&self.key)
    }

    /// The values drawn, in drawing order: a print must show each of them.
    pub fn fields(&self) -> impl Iterator<Item = Field> {
        self.scenes().flat_map(|s| &s.marks).filter_map(|mark| match mark {
            Mark::Text(text) => text.field.as_ref().map(|id| Field::new(id.as_str(), text.words())),
            _ => None,
        })
    }
}

/// Templates place a drawing and cannot alter it; they are told the values in it.
impl Serialize for Drawing {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.fields())
    }
}
