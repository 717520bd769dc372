//! What an instructor teaches from, before the steps: what can go worst, what to ask at each point, where windows and cameras are.

use super::{Field, Prose, card};
use serde::Serialize;

/// The page for the instructor.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Training {
    /// Always `training`.
    pub item: &'static str,
    /// The worst of what was worked out, a sentence each.
    pub worst: Vec<Prose>,
    /// Every warning with its consequence and the step it guards.
    pub warnings: Vec<Prose>,
    /// Where to look at each step, for whoever watches.
    pub watch: Vec<Prose>,
    /// What is asked at each kind of point there is.
    pub points: Vec<Prose>,
    /// Every window and camera of the cell.
    pub views: Vec<View>,
}

/// A window or a camera.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct View {
    /// What it is called.
    pub name: Field,
    /// A window or a camera, and whether its picture is mirrored.
    pub kind: Field,
    /// Where its eye is, by the axes of the cell.
    pub eye: Field,
    /// The direction of the cell that is to the right in its picture; none where the cell does not tell.
    pub right: Option<Field>,
}

/// The console card of the arm, as a part of a work instruction.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Console {
    /// Always `card`.
    pub item: &'static str,
    /// Its heading, with the arm.
    pub title: Field,
    /// What stands on the card.
    pub blocks: Vec<card::Part>,
}

/// What stands at a point where others sign, in place of what they sign.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Taught {
    /// What the trainee is asked.
    pub asks: Prose,
    /// That it is not signed.
    pub unsigned: Prose,
}
