//! What a figure is drawn from: convex solids in cell coordinates with the part they play, and what is to be marked.

use crate::document::Field;
use crate::geometry::Vec3;
use crate::geometry::solid::Solid;
use crate::words::{Words, ids};

/// The part a body plays in a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// A space to go slowly in.
    Slow,
    /// What stands in the way.
    Obstacle,
    /// A load at rest on its station.
    Resting,
    /// A space nothing may enter.
    KeepOut,
    /// A space nobody has measured.
    Unsurveyed,
    /// A part of the arm, with its tool, where the step starts.
    Start,
    /// What the jaw holds where the step starts.
    HeldAtStart,
    /// A part of the arm, with its tool, where the step ends.
    End,
    /// What the jaw holds where the step ends.
    Held,
}

impl Role {
    /// Whether it is the arm, or held by it.
    pub(super) fn moves(self) -> bool {
        matches!(self, Role::Start | Role::HeldAtStart | Role::End | Role::Held)
    }
}

/// A body of one or more solids.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// What people call it.
    pub name: String,
    /// What it is, within the ids of the words that name it.
    pub key: String,
    /// Its part.
    pub role: Role,
    /// Its solids.
    pub parts: Vec<Solid>,
}

impl Body {
    /// What stands by it, in words: with what it is, where that is no solid.
    pub(super) fn named(&self, words: &Words) -> String {
        match self.role {
            Role::KeepOut => words.fill(ids::FIGURE_KEEP_OUT, [&self.name]),
            Role::Unsurveyed => words.fill(ids::FIGURE_UNSURVEYED, [&self.name]),
            Role::Slow => words.fill(ids::FIGURE_SLOW, [&self.name]),
            _ => self.name.clone(),
        }
    }
}

/// From where an elevation is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// From the right of the arm: it points to the right on paper.
    Right,
    /// From the left of the arm: it points to the left on paper.
    Left,
}

/// The upright plane in which the arm stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// A point of the axis about which the arm turns on its mount.
    pub foot: Vec3,
    /// Where it reaches, along the floor; of length 1.
    pub heading: [f64; 2],
    /// From which side it is drawn.
    pub side: Side,
}

/// The nearest pair, with the distance that was found for the whole move.
#[derive(Debug, Clone, PartialEq)]
pub struct Nearest {
    /// The place on what moves.
    pub moving: Vec3,
    /// The place on what it comes near to.
    pub other: Vec3,
    /// What the two bodies are called: the one that moves, and the one it comes near to.
    pub bodies: [String; 2],
    /// The distance as printed.
    pub distance: Field,
}

/// What is seen through a window or by a camera.
#[derive(Debug, Clone, PartialEq)]
pub struct Cone {
    /// What it is called.
    pub name: String,
    /// Where the eye is.
    pub eye: Vec3,
    /// What it looks at.
    pub at: Vec3,
    /// Sine and cosine of half the angle it sees; of nothing if that is not known.
    pub half: (f64, f64),
}

/// All that a figure of one step shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// The id of the figure's item: its values stand under it.
    pub item: String,
    /// The printed number of the step.
    pub step: String,
    /// How the arm stands at the end of the step.
    pub stance: Stance,
    /// Everything there is.
    pub bodies: Vec<Body>,
    /// Each moving solid at places along the way, the first at the start and the last at the end.
    pub swept: Vec<Vec<Solid>>,
    /// The way of the tool point.
    pub path: Vec<Vec3>,
    /// A point on the axis of each joint at the end, and its direction: an axis seen end-on is marked.
    pub joints: Vec<(Vec3, Vec3)>,
    /// What comes nearest to what.
    pub nearest: Option<Nearest>,
    /// The view in force.
    pub sight: Option<Cone>,
}
