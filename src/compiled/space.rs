//! What was checked in space, as data: the scene, and for every sweep a certificate that another program can verify.
//!
//! Lengths are whole micrometres, angles whole thousandths of a degree; a direction is three whole numbers of any
//! length but zero. What can be worked out from the steps and their states is not repeated here: which joints a step moves,
//! which bodies are there, what a two-axis move leaves out. Solids that were derived by calculation (a held load, a load at
//! rest, the vertices of a mesh) are rounded to micrometres and their radius is grown by one.
//!
//! Invariant: a certificate speaks of the numbers in this file and of nothing else.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A position, micrometres, or a direction.
pub type Triple = [i64; 3];

/// The scene of all steps.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Space {
    /// Where the arm stands in the cell.
    pub mount: Mount,
    /// One hinge for each joint, from the mount outwards. Read-out errors and hold tolerances stand with the joints.
    pub hinges: Vec<Hinge>,
    /// The point between the pads, in the frame of the last joint.
    pub grip_centre: Triple,
    /// The least clearance to keep.
    pub margin: i64,
    /// How near to a station's point the grip centre must be for a declared contact.
    pub contact_travel: i64,
    /// Everything solid, and every volume that counts as solid.
    pub bodies: Vec<Body>,
    /// Links that are left out against each other because they meet at a point that no joint between them moves. Links of
    /// one carrier and of neighbouring ones are left out without being named.
    pub meeting: Vec<Meeting>,
    /// Where loads rest.
    pub stations: Vec<Station>,
}

/// The mount.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mount {
    /// Position of the first frame in the cell.
    pub position: Triple,
    /// Its turns about the fixed x, then y, then z axis of the cell; a heading is part of the third.
    pub turn: Triple,
}

/// A hinge: frame k is frame k-1, moved by `origin`, turned by `turn`, then turned by the joint's angle about `axis`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hinge {
    /// In the frame before it.
    pub origin: Triple,
    /// Turns about the fixed x, then y, then z axis of the frame before it.
    pub turn: Triple,
    /// Direction in the turned frame; the angle grows about it in the sense of the right hand.
    pub axis: Triple,
}

/// A solid or a volume that counts as one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Body {
    /// Name in the model file: of the link, the tool, the load or the obstacle.
    pub name: String,
    /// What it is; with it, when it is there.
    pub kind: BodyKind,
    /// What carries it: 0 the cell, k the frame of joint k.
    pub carrier: usize,
    /// Convex parts, in the frame of the carrier.
    pub parts: Vec<Part>,
    /// The parts are the triangles of a closed surface, each seen from outside in the sense against the clock; what lies
    /// within the surface is solid too.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub mesh: bool,
}

/// What a body is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum BodyKind {
    /// Part of the arm; always there.
    Link,
    /// There while it is fitted.
    Tool,
    /// A load at rest, there while the load is on the station.
    Rest {
        /// Name of the station.
        station: String,
    },
    /// A load in the jaw, there while a state names this body as held.
    Held {
        /// Name of the station it was taken from.
        station: Option<String>,
        /// The printed angles of all joints where it was gripped; where it lies in the jaw follows from them.
        gripped: Vec<i64>,
    },
    /// Part of the cell.
    Obstacle {
        /// Equipment and the state in which it stands there; all of them. Empty if it always does.
        when: Vec<(String, String)>,
    },
    /// Nothing may enter it.
    KeepOut,
    /// Nobody knows what is in it.
    Unsurveyed,
}

/// A convex solid.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Part {
    /// The hull of balls of one radius about points: a sphere, a capsule, a triangle, a box, a hull.
    Round {
        /// At least one.
        points: Vec<Triple>,
        /// Zero or more.
        radius: i64,
    },
    /// A cylinder with flat ends.
    Cylinder {
        /// Middle of one end.
        a: Triple,
        /// Middle of the other end.
        b: Triple,
        /// More than zero.
        radius: i64,
    },
    /// Everything on the far side of a plane.
    HalfSpace {
        /// A point of the plane.
        point: Triple,
        /// Out of the solid.
        normal: Triple,
    },
}

/// Two links that meet at a point.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Meeting {
    /// Index of the link on the lower carrier.
    pub a: usize,
    /// Index of the link on the higher carrier.
    pub b: usize,
    /// A point of both, on the axis of every joint between them, in the frame of the carrier of `a`.
    pub point: Triple,
}

/// Where a load can rest, and what may be touched there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Name.
    pub name: String,
    /// Least and greatest read-out of each joint at which the jaw is at the station; none where any will do. Empty if the
    /// station has no pose.
    pub pose: Vec<Option<[i64; 2]>>,
    /// The grip centre there, in the cell; none if the cell does not say where the station is.
    pub point: Option<Triple>,
    /// How near to that point the grip centre must be for the pairs of `approach` to touch.
    pub approach_within: i64,
    /// Indices of the bodies that bear a load there.
    pub support: Vec<usize>,
    /// Pairs of bodies that may touch near the station, the lower index first.
    pub approach: Vec<[usize; 2]>,
}

/// The certificate of one motion from one state.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sweep {
    /// Index of the state among those before the step.
    pub state: usize,
    /// Of each joint the least and greatest true angle: a moving one from its start, drift included, to the band it ends in,
    /// any other where it is, drift included; all widened by the read-out error.
    pub within: Vec<[i64; 2]>,
    /// Pairs of bodies that may touch.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub contacts: Vec<Contact>,
    /// The box cut in two over and over, each node before its parts, the lower part first.
    pub nodes: Vec<Node>,
    /// No pair comes nearer than this, contacts within their zones set aside; at least the margin.
    pub least: i64,
    /// Distances that were evaluated to find the certificate.
    pub distances: u64,
}

/// A contact that is allowed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    /// Index of a body.
    pub a: usize,
    /// Index of another one.
    pub b: usize,
    /// Why.
    pub by: Allowed,
    /// Where; none over the whole motion.
    pub around: Option<Around>,
}

/// Near a station: the pair may touch over a box in which the grip centre is certain to be this near to the station's point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Around {
    /// Index of the station.
    pub station: usize,
    /// How near.
    pub within: i64,
}

/// Why a contact is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Allowed {
    /// A line under the step names the pair. Around the stations the bodies belong to, within `contact_travel`; over the whole
    /// motion if they belong to none. A load belongs to the station it stands on, was taken from or is set on, an obstacle to
    /// the stations it bears a load at.
    Line,
    /// The load is lifted off its station or lowered onto it, and the other body bears it there: within `contact_travel`.
    Transfer,
    /// The station's approach names the pair: within its `approach_within`, in every motion.
    Approach,
}

/// One box of a sweep.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Node {
    /// Pairs of parts that are held apart over the whole box; its parts inherit them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub planes: Vec<Plane>,
    /// Where it is cut. A box that is not cut is clear as a whole, by the planes and by bounding spheres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub split: Option<Split>,
    /// No execution of a two-axis move comes into the box.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub outside: bool,
}

/// A direction along which two parts are held apart.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plane {
    /// Index of a body.
    pub a: usize,
    /// Index of its part; none for all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub a_part: Option<usize>,
    /// Index of another body.
    pub b: usize,
    /// Index of its part; none for all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub b_part: Option<usize>,
    /// From `b` towards `a`, in the cell, with the arm at the middle of the box.
    pub n: Triple,
}

/// A cut.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Split {
    /// Index of the joint.
    pub joint: usize,
    /// The angle: the lower part ends there, the higher one begins there.
    pub at: i64,
}
