//! Whether bodies stay apart while joints turn: certified over whole boxes of angles, never sampled.
//!
//! A box of true angles is judged at its middle: two parts are apart over the whole box if, along some direction, the gap
//! between them at the middle exceeds the margin by more than anything in the box can move along that direction. What is
//! not decided so is cut in two. The tree of cuts, with the direction found for each pair, is a certificate: another
//! program can go through it with support functions alone. What it must compute stands with [`moment`].
//!
//! Invariants: a verdict of clear rests on support functions and bounds of motion alone. Nearest points from the library
//! only suggest directions and witnesses. Every question ends, at its cap if not before, and an undecided one is
//! [`Verdict::Open`], which is not clear.

mod inside;
mod moment;
mod prove;
mod refine;
mod scene;

pub use refine::Clearance;
pub use scene::Scene;

use super::Vec3;
use super::chain::JointBox;
use super::region::Region;

/// What both sides of a certificate may differ by in rounding, in metres: an auditor demands half of what is demanded here.
pub const GUARD: f64 = 2e-9;

/// Less room than this beyond the margin, in metres, is too close to call.
pub const TOO_CLOSE: f64 = 0.2e-3;

/// The length of the whole-number directions, about.
const DIRECTION: f64 = 1e6;

/// Two bodies to keep apart.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Pair {
    /// Index of the body on the inner carrier.
    pub a: usize,
    /// Index of the body on the outer carrier; on one carrier either comes first.
    pub b: usize,
    /// How far apart, in micrometres.
    pub margin: i64,
    /// Where they may touch.
    pub zones: Vec<Zone>,
}

/// Where two bodies may touch: while a point of the last carrier is near to a place of the cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Zone {
    /// The point, in micrometres, in the frame of the last carrier.
    pub point: [i64; 3],
    /// The place, in micrometres.
    pub centre: [i64; 3],
    /// How near, in micrometres.
    pub within: i64,
}

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// The verdict alone; the tree comes back empty.
    Verdict,
    /// The verdict with its certificate.
    Certificate,
}

/// A question: do all pairs stay apart by their margins over the whole box?
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The pairs; bodies of the scene that stand in none are not there.
    pub pairs: &'a [Pair],
    /// The true angles of all executions.
    pub root: JointBox,
    /// Joints that may be cut, counted from 0: those that move, and idle ones whose tolerance may be halved.
    pub splittable: &'a [usize],
    /// What a move of two joints passes through; all of the root for any other.
    pub region: Option<&'a Region>,
    /// The most evaluations of two parts.
    pub cap: u64,
    /// What is asked for.
    pub need: Need,
}

impl Question<'_> {
    /// Whether an execution of the region can be at the middle of a box.
    fn reaches(&self, within: &JointBox) -> bool {
        !self.region.is_some_and(|region| region.excludes(&JointBox::point(&middles(within))))
    }

    /// The joints between two carriers that can still be cut.
    fn free<'s>(&'s self, from: usize, to: usize, within: &'s JointBox) -> impl Iterator<Item = usize> + 's {
        self.splittable.iter().copied().filter(move |k| (from..to).contains(k) && within.0[*k][1] - within.0[*k][0] > 1)
    }
}

fn middle([low, high]: [i64; 2]) -> i64 {
    (low + high).div_euclid(2)
}

fn middles(within: &JointBox) -> Vec<i64> {
    within.0.iter().map(|ends| middle(*ends)).collect()
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// All pairs keep their margins over the whole box.
    Clear(Clear),
    /// In a set of angles within the box two bodies are certainly nearer than their margin.
    Near(Witness),
    /// Not decided: too close to call, or the cap was reached. Not clear.
    Open(Witness),
}

/// The certificate of a clear box.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Clear {
    /// The box cut in two over and over: each node before its parts, the lower part first.
    pub tree: Vec<Node>,
    /// No pair comes nearer than this anywhere in the box, zones of contact set aside, in micrometres; none without pairs.
    pub least: Option<i64>,
    /// How many evaluations of two parts it took.
    pub evaluations: u64,
}

/// One box of the tree.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Node {
    /// Parts that are held apart over the whole box, and so in all boxes below.
    pub planes: Vec<Plane>,
    /// The joint that is cut (counted from 0) and the angle: the lower part ends there, the higher one begins there.
    pub split: Option<(usize, i64)>,
    /// No execution of a two-axis move comes into the box.
    pub outside: bool,
}

/// A direction along which two parts are held apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plane {
    /// Index of the pair in the question.
    pub pair: usize,
    /// Index of the part of its body `a`.
    pub a: usize,
    /// Index of the part of its body `b`.
    pub b: usize,
    /// From `b` towards `a`, in the cell, with the arm at the middle of the box.
    pub n: [i64; 3],
}

/// Where two bodies come too near, or nearer than could be judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Witness {
    /// Index of the pair in the question.
    pub pair: usize,
    /// Indices of the parts of its bodies `a` and `b`.
    pub parts: (usize, usize),
    /// The angle of every joint, in thousandths of a degree.
    pub angles: Vec<i64>,
    /// A point of body `a` there, in the cell, in metres.
    pub on_a: Vec3,
    /// A point of body `b` there.
    pub on_b: Vec3,
    /// The bodies are no further apart than this there, in micrometres.
    pub distance: i64,
}
