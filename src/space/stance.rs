//! The arm at rest in one state: where the tool point is, what comes near to what, and what every joint has to hold.
//!
//! Invariant: everything holds for all angles the joints can have while the arm rests there: stopping band, hold tolerance and
//! read-out error.

use super::burden::{Burden, Unweighed, Weigher};
use super::clearance::{self, Sweeper, contacts};
use super::leg::{self, Leg, nominal};
use super::sag::{Sag, sag};
use super::scene::Scene;
use super::sight::tool_point;
use crate::geometry::chain::JointBox;
use crate::geometry::sweep::{Clearance, Need, Pair, Question};
use crate::geometry::{Fault, metres, micrometres, reach};
use crate::model::procedure::{Procedure, Step};
use crate::trace::Trace;
use crate::trace::state::State;
use std::sync::Arc;

/// The arm at rest.
#[derive(Clone, Debug)]
pub struct Stance {
    /// The tool point at the printed angles, in micrometres of the cell.
    pub point: [i64; 3],
    /// Where it can be: least and greatest x, y and z.
    pub band: [[i64; 2]; 3],
    /// What moves and what stands in the cell: the pairs that come nearest, nearest first.
    pub nearest: Vec<Near>,
    /// The same of what moves with the arm, among itself.
    pub own: Vec<Near>,
    /// What the joints hold.
    pub burden: Arc<Burden>,
    /// What the arm sinks onto without power; none where no joint drifts, or a mass is missing.
    pub sag: Option<Sag>,
}

/// Two bodies and how near they come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Near {
    /// The body on the inner carrier, by its place in the scene.
    pub a: usize,
    /// The one on the outer.
    pub b: usize,
    /// They come no nearer than this, in micrometres; zero where they may touch.
    pub least: i64,
    /// Whether the step may let them touch.
    pub may_touch: bool,
}

/// How many pairs are told of what moves and what stands in the cell.
const TOLD: usize = 5;
/// The same of what moves, among itself.
const TOLD_OWN: usize = 2;
/// How sharply their clearance is told, in micrometres.
const TOLERANCE: i64 = 500;
/// The most evaluations for one pair.
const CAP: u64 = 20_000;
/// The same for a first look.
const FIRST_CAP: u64 = 32;

/// Looks at the arm at rest in states of one procedure.
pub struct Looker<'a> {
    root: &'a Procedure,
    trace: &'a Trace,
    scene: &'a Scene,
    weigher: Weigher<'a>,
}

impl<'a> Looker<'a> {
    /// One that has looked at nothing yet.
    pub fn new(root: &'a Procedure, trace: &'a Trace, scene: &'a Scene) -> Looker<'a> {
        Looker { root, trace, scene, weigher: Weigher::new(root, scene) }
    }

    /// The arm at rest in a state around a step of `p`; the error says why that cannot be looked at.
    pub fn look(&mut self, p: &Procedure, step: &Step, state: &State) -> Result<Stance, &'static str> {
        let rest = leg::at_rest(&p.arm, state).ok_or("it is not known where a joint stands")?;
        let present = self.scene.present(self.root, self.trace, state).ok_or("the load can lie in the jaw in more than one way")?;
        self.at(p, step, state, rest, &present).map_err(|_| "its numbers are beyond what can be worked out")
    }

    fn at(&mut self, p: &Procedure, step: &Step, state: &State, rest: JointBox, present: &[usize]) -> Result<Stance, Fault> {
        let (chain, angles) = (self.scene.chain(), state.joints().iter().map(nominal).collect::<Vec<_>>());
        let mark = tool_point(self.scene, &p.arm, state.tool);
        let mdeg: Vec<i64> = angles.iter().map(|a| a.0).collect();
        let point = micrometres(chain.place_exact(&mdeg).carriers[mark.carrier].point(metres(mark.point)), "the tool point")?;
        let band = reach::band(chain, &rest, mark.carrier, metres(mark.point))?;
        let still = Leg { moving: Vec::new(), root: rest.clone(), start: angles.clone(), end: angles, region: None, transfer: None };
        // What may touch is told by the motion, where the step has one from here.
        let moving = leg::of(p, step, state).unwrap_or_else(|| still.clone());
        let may_touch = contacts(self.scene, step, &moving, present);
        let touches = |a: usize, b: usize| may_touch.iter().any(|c| (c.a, c.b) == (a.min(b), a.max(b)));
        let (cell, own) = clearance::pairs(self.scene, present, &[]).into_iter().partition::<Vec<_>, _>(|p| {
            let carrier = |i: usize| self.scene.things[i].carrier;
            carrier(p.a) == 0 || carrier(p.b) == 0
        });
        let (nearest, own) = (self.nearest(&rest, &cell, TOLD, &touches)?, self.nearest(&rest, &own, TOLD_OWN, &touches)?);
        let burden = self.weigher.weigh(state, &still, &rest, present)?;
        let sag = sag(&Sweeper::new(self.scene), &p.arm, (&still, &rest), &burden, (present, &may_touch))?;
        Ok(Stance { point, band, nearest, own, burden, sag })
    }

    /// The `told` pairs that come nearest: all are looked at roughly, and those that may be among the nearest sharply.
    fn nearest(&self, rest: &JointBox, pairs: &[Pair], told: usize, touches: &impl Fn(usize, usize) -> bool) -> Result<Vec<Near>, Fault> {
        let mut open: Vec<(i64, bool, usize)> = Vec::new();
        for i in 0..pairs.len() {
            open.push((self.clearance(rest, &pairs[i..=i], FIRST_CAP)?.lower.max(0), false, i));
        }
        open.sort_unstable();
        while let Some(at) = open.iter().take(told).position(|(_, sharp, _)| !sharp) {
            let i = open[at].2;
            open[at] = (self.clearance(rest, &pairs[i..=i], CAP)?.lower.max(0), true, i);
            open.sort_unstable();
        }
        let near = |(least, _, i): (i64, bool, usize)| {
            let (a, b) = (pairs[i].a, pairs[i].b);
            Near { a, b, least, may_touch: touches(a, b) }
        };
        Ok(open.into_iter().take(told).map(near).collect())
    }

    fn clearance(&self, rest: &JointBox, pairs: &[Pair], cap: u64) -> Result<Clearance, Fault> {
        let joints: Vec<usize> = (0..rest.0.len()).collect();
        let question = Question { pairs, root: rest.clone(), splittable: &joints, region: None, cap, need: Need::Verdict };
        self.scene.solids.clearance(&question, TOLERANCE)
    }

    /// What the models leave unsaid, so that loads were not worked out.
    pub fn lacks(self) -> Vec<Unweighed> {
        self.weigher.lacks()
    }
}
