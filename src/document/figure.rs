//! Drawings as lines, areas and words on paper: of a step a plan and an elevation, of a console its sticks and dials.
//!
//! Invariant: what is drawn is a projection of the very solids that were checked, at one scale in both views, and no
//! word lies on another or on a line. Emitters know a [`Scene`] alone; how it came about is settled here.

mod area;
mod body;
pub mod chart;
pub mod console;
pub mod dial;
mod draw;
mod furniture;
mod kind;
mod label;
mod letters;
mod outline;
pub mod plan;
mod scene;
pub mod sketch;
mod square;
mod view;

pub use body::{Body, Cone, Nearest, Role, Side, Stance, Subject};
pub use draw::{Size, distance, draw};
pub use outline::{Outline, Piece, silhouette};
pub use scene::{Anchor, Area, Dash, Ink, Mark, Path, Pen, Point, Scene, Step, Text, Type, Weight};
pub use square::square;
pub use view::View;

use super::Field;
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// The views of one thing, with what explains them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// What is shown, side by side where the page is wide enough: of a step the plan, then the elevation.
    pub views: Vec<Scene>,
    /// What the kinds of line and hatch stand for: a small scene each.
    pub key: Vec<Scene>,
    /// What is seen, in a sentence, for those who do not see it.
    pub description: String,
}

impl Drawing {
    /// All scenes: views, key.
    pub fn scenes(&self) -> impl Iterator<Item = &Scene> {
        self.views.iter().chain(&self.key)
    }

    /// Everything on one sheet: the views side by side, the key below them.
    pub fn sheet(&self) -> Scene {
        const GAP: i32 = 3000;
        let mut out = Scene::default();
        let mut right = 0;
        for view in &self.views {
            out.lay(view, Point { x: right, y: 0 });
            right += view.width + GAP;
        }
        let wide = (right - GAP).max(0);
        let (mut x, mut y) = (0, out.height + GAP);
        for entry in &self.key {
            if x > 0 && x + entry.width > wide {
                (x, y) = (0, out.height);
            }
            out.lay(entry, Point { x, y });
            x += entry.width + GAP;
        }
        out.title = self.views.iter().map(|v| v.title.as_str()).collect::<Vec<_>>().join("; ");
        out.finish();
        out
    }

    /// The values drawn, in drawing order: a print must show each of them.
    pub fn fields(&self) -> impl Iterator<Item = Field> {
        self.scenes().flat_map(|s| &s.marks).filter_map(|mark| match mark {
            Mark::Text(text) => text.field.as_ref().map(|id| Field::new(id.as_str(), text.words())),
            _ => None,
        })
    }
}

/// A drawing that is shared, for those who serialise it.
pub(super) fn values<S: Serializer>(drawing: &Arc<Drawing>, serializer: S) -> Result<S::Ok, S::Error> {
    drawing.as_ref().serialize(serializer)
}

/// Templates place a drawing and cannot alter it; they are told the values in it.
impl Serialize for Drawing {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.fields())
    }
}
