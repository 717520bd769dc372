//! What a figure is drawn from: convex solids in cell coordinates with the part they play, and what is to be marked.

use crate::document::Field;

/// A convex solid in cell coordinates, in metres.
#[derive(Debug, Clone, PartialEq)]
pub enum Solid {
    /// All within a radius of the hull of some points: ball, capsule, box, rounded hull.
    Round {
        /// The points; at least one.
        points: Vec<[f64; 3]>,
        /// The radius.
        radius: f64,
    },
    /// A flat-ended cylinder.
    Cylinder {
        /// The middle of one end.
        a: [f64; 3],
        /// The middle of the other.
        b: [f64; 3],
        /// The radius.
        radius: f64,
    },
    /// All that lies on one side of a plane, such as what is behind a wall.
    HalfSpace {
        /// A point of the plane.
        point: [f64; 3],
        /// Away from the solid; of length 1.
        normal: [f64; 3],
    },
}

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
    /// Its part.
    pub role: Role,
    /// Its solids.
    pub parts: Vec<Solid>,
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
    pub foot: [f64; 3],
    /// Where it reaches, along the floor; of length 1.
    pub heading: [f64; 2],
    /// From which side it is drawn.
    pub side: Side,
}

/// The nearest pair, with the distance that was found for the whole move.
#[derive(Debug, Clone, PartialEq)]
pub struct Nearest {
    /// The place on what moves.
    pub moving: [f64; 3],
    /// The place on what it comes near to.
    pub other: [f64; 3],
    /// The body it comes near to: its name among the bodies, if it is one of them.
    pub body: String,
    /// The distance as printed.
    pub distance: Field,
}

/// What is seen through a window or by a camera.
#[derive(Debug, Clone, PartialEq)]
pub struct Cone {
    /// What it is called.
    pub name: String,
    /// Where the eye is.
    pub eye: [f64; 3],
    /// What it looks at.
    pub at: [f64; 3],
    /// Sine and cosine of half the angle it sees.
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
    pub path: Vec<[f64; 3]>,
    /// The axes of the joints at the end, as points, to be marked on the arm.
    pub joints: Vec<[f64; 3]>,
    /// What comes nearest to what.
    pub nearest: Option<Nearest>,
    /// The view in force.
    pub sight: Option<Cone>,
}

impl Solid {
    /// How far it goes along a direction of length 1, at most; infinitely for a half-space.
    pub(super) fn support(&self, n: [f64; 3]) -> f64 {
        let along = |p: &[f64; 3]| p[0] * n[0] + p[1] * n[1] + p[2] * n[2];
        match self {
            Solid::Round { points, radius } => points.iter().map(along).fold(f64::NEG_INFINITY, f64::max) + radius,
            Solid::Cylinder { a, b, radius } => {
                let axis = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
                let length = axis.iter().map(|c| c * c).sum::<f64>().sqrt();
                let deep = if length > 0.0 { along(&axis) / length } else { 0.0 };
                along(a).max(along(b)) + radius * (1.0 - deep * deep).max(0.0).sqrt()
            }
            Solid::HalfSpace { .. } => f64::INFINITY,
        }
    }
}
