//! What is told of a printed step, over all the states it can start in: the least room, the greatest lever.
//!
//! Angles are by the read-out: what is told as clear is clear with the read-out wrong as far as it can be, and with the joint
//! drifting where it stops.

use super::{Outcome, Told, Way, tell};
use crate::geometry::Fault;
use crate::geometry::chain::JointBox;
use crate::geometry::reach::Lever;
use crate::model::JointId;
use crate::model::arm::{Arm, Joint, OnPowerLoss};
use crate::model::procedure::{Drive, Effect, Label, Procedure, Step};
use crate::space::burden::Weigher;
use crate::space::clearance::{By, Contact, Sweeper, contacts};
use crate::space::leg::{self, Leg, nominal};
use crate::space::pictures::{Pictured, pictures};
use crate::space::reach::{Carry, falls};
use crate::space::sag::{Sag, sag};
use crate::space::scene::Scene;
use crate::space::sight::Sighted;
use crate::space::stops::{Stop, can_stop};
use crate::space::{Stretch, Survey};
use crate::trace::state::State;
use crate::trace::{RowId, Trace};
use crate::units::Angle;
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// What is told of a printed step.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RowTold {
    /// What holds if it is stopped part-way; none where nothing moves.
    pub stop: Option<Stop>,
    /// Where something is touched: how far a degree of the joint moves the tool point, in micrometres, rounded up.
    pub degrees: Vec<(JointId, i64)>,
    /// Joints that take the tool point against their direction word, where the view does not show it, and which way they do.
    pub against: Vec<(JointId, Way)>,
    /// What one of two joints meets alone.
    pub alone: Vec<Lag>,
    /// What a joint meets that runs on beyond its target.
    pub beyond: Vec<RunOn>,
    /// What the pictures of views show of its motions, where that goes the other way round somewhere.
    pub pictures: Vec<Pictured>,
    /// The step that this one may not change places with, and what would meet.
    pub swapped: Option<(RowId, (usize, usize))>,
    /// Something comes within what the policy calls near.
    pub near: bool,
    /// How far a held load can fall at most, in micrometres.
    pub fall: Option<i64>,
    /// What it may meet first, by its place in the scene, with how high it is above that at most in micrometres; the lowest first.
    pub over: Vec<(usize, i64)>,
    /// What a jaw that is not known to hold without power drops, from where the step starts and on its way; none if nothing.
    pub drops: Option<Dropped>,
    /// What the arm sinks onto without power from where the step starts; none if nothing, or a mass or drift is not given, or it drops
    /// its load.
    pub sag: Option<Sag>,
}

/// A load that falls if power is lost.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Dropped {
    /// How far at most, in micrometres; none where that is not known.
    pub fall: Option<i64>,
    /// Onto what, by its place in the scene.
    pub onto: Vec<usize>,
}

/// How far one of two joints may go while the other has not begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lag {
    /// The joint.
    pub joint: JointId,
    /// By its read-out; none if it cannot at all.
    pub clear_to: Option<Angle>,
    /// What meets then, the one that moves first.
    pub pair: (usize, usize),
}

/// How far a joint may run on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RunOn {
    /// The joint.
    pub joint: JointId,
    /// By its read-out.
    pub clear_to: Angle,
    /// What meets then, the one that moves first.
    pub pair: (usize, usize),
    /// Whether the view in force shows it; none if nothing says.
    pub seen: Option<bool>,
}

/// Tells of every printed step that there is something to tell of.
pub fn rows(p: &Procedure, trace: &Trace, survey: &Survey) -> Result<BTreeMap<RowId, RowTold>, Fault> {
    let mut out = BTreeMap::new();
    let Ok(scene) = &survey.scene else { return Ok(out) };
    survey.stretches.par_iter().for_each(|s| _ = survey.near(scene, s));
    let told = tell(p, trace, survey)?;
    let mut pictures = pictures(survey);
    let mut sinking = Sinking { scene, sweeper: Sweeper::new(scene), weigher: Weigher::new(p, scene), known: HashMap::new() };
    for (row, q, step) in crate::space::rows(p, trace) {
        let start = told.partition_point(|t| t.row < row);
        let here = &told[start..start + told[start..].partition_point(|t| t.row == row)];
        let states: Vec<&State> = trace.before(row).map(|e| &e.state).collect();
        let stretches = survey.of(row);
        let mut one = RowTold {
            pictures: pictures.remove(&row).unwrap_or_default(),
            stop: stop(step, states.len(), stretches),
            fall: survey.carries(row).iter().filter_map(|c| c.fall).max(),
            over: over(survey.carries(row)),
            near: survey.tightest(row).is_some_and(|(_, near)| near.room() <= scene.near(q.policy.near)),
            ..RowTold::default()
        };
        for drive in step.drives() {
            one.drive(q, step, drive, here, stretches);
        }
        let swapped = here.iter().filter_map(|t| t.swapped);
        one.swapped = swapped.filter_map(|s| Some((s.next, met(&s.outcome)?.0))).next();
        let dropped = states.iter().filter(|state| drops(&q.arm, state)).map(|state| sinking.dropped(p, trace, q, state));
        let dropped = dropped.collect::<Result<Vec<_>, Fault>>()?;
        if !dropped.is_empty() {
            // On the way it can be higher than where it starts.
            let moves = !survey.carries(row).is_empty();
            let way = moves.then(|| Dropped { fall: one.fall, onto: one.over.iter().map(|(thing, _)| *thing).collect() });
            one.drops = dropped.into_iter().chain(way).reduce(Dropped::or);
        }
        for state in states {
            one.sag = least(one.sag.take(), sinking.look(p, trace, q, step, state)?);
        }
        if one != RowTold::default() {
            out.insert(row, one);
        }
    }
    Ok(out)
}

/// What holds for a step over all its states. Of the jaw on its way nothing was looked at.
fn stop(step: &Step, states: usize, stretches: &[Stretch]) -> Option<Stop> {
    (can_stop(step) && states > 0).then(|| {
        let each = stretches.iter().map(|s| s.stop).reduce(Stop::and);
        each.filter(|_| stretches.len() == states).unwrap_or(Stop::STAY)
    })
}

/// What a load may meet first, the highest above it of all states.
fn over(carries: &[Carry]) -> Vec<(usize, i64)> {
    let mut most: BTreeMap<usize, i64> = BTreeMap::new();
    for (thing, falls) in carries.iter().flat_map(|c| &c.onto) {
        most.entry(*thing).and_modify(|m| *m = (*m).max(*falls)).or_insert(*falls);
    }
    let mut out: Vec<(usize, i64)> = most.into_iter().collect();
    out.sort_by_key(|(thing, height)| (-height, *thing));
    out
}

/// Whether something may be touched at a step: there a degree counts.
fn touches(step: &Step, drive: &Drive) -> bool {
    drive.goal.is_cued()
        || step.effects().into_iter().any(|e| matches!(e, Effect::Leave(..) | Effect::Rest(..)))
        || step.lines.iter().any(|l| l.label == Label::TouchingAllowed)
}

fn met(outcome: &Outcome) -> Option<((usize, usize), Option<Angle>)> {
    match outcome {
        Outcome::Clear => None,
        Outcome::Near { pair, clear_to } => Some((*pair, *clear_to)),
    }
}

/// The last read-out at which a joint that goes up, or down, is clear to a true angle, drift where it stops included.
fn by_readout(joint: &Joint, up: bool, clear_to: Angle) -> Angle {
    let digit = [1000, 100, 10, 1][usize::from(joint.decimals.min(3))];
    let less = joint.readout_error.value + joint.hold.value;
    if up { Angle((clear_to - less).0.div_euclid(digit) * digit) } else { Angle(-(-(clear_to + less).0).div_euclid(digit) * digit) }
}

impl RowTold {
    fn drive(&mut self, q: &Procedure, step: &Step, drive: &Drive, told: &[Told], stretches: &[Stretch]) {
        let (id, up) = (drive.joint.value, drive.positive.value);
        let joint = q.arm.joint(id);
        let first = |a: Angle, b: Angle| if up { a < b } else { a > b };
        let lever = told.iter().filter_map(|t| t.levers.get(id.at())).map(Lever::whole).max();
        self.degrees.extend(lever.filter(|l| *l > 0 && touches(step, drive)).map(|l| (id, l)));
        let pictured = |s: &Stretch| match &s.sight {
            Sighted::Through(look, _) => look.motions.iter().any(|m| m.joint == id && m.is_reversed()),
            Sighted::NoView | Sighted::NoPlace(_) => false,
        };
        if !stretches.iter().any(pictured) {
            let against = told.iter().flat_map(|t| &t.goes).find_map(|g| g.against.filter(|_| g.joint == id));
            self.against.extend(against.map(|named| (id, named.other())));
        }
        let mut lag: Option<Lag> = None;
        for alone in told.iter().flat_map(|t| &t.alone).filter(|a| a.joint == id) {
            let Some((pair, clear_to)) = met(&alone.outcome) else { continue };
            let clear_to = clear_to.map(|a| by_readout(joint, up, a));
            let less = match (lag.map(|l| l.clear_to), clear_to) {
                (None, _) | (Some(Some(_)), None) => true,
                (Some(Some(known)), Some(new)) => first(new, known),
                (Some(None), _) => false,
            };
            if less {
                lag = Some(Lag { joint: id, clear_to, pair });
            }
        }
        self.alone.extend(lag);
        let mut run: Option<RunOn> = None;
        for beyond in told.iter().flat_map(|t| &t.beyond).filter(|b| b.joint == id) {
            // Where it is not clear even where the step ends, that is a finding.
            let Some((pair, Some(clear_to))) = beyond.run_on.as_ref().and_then(met) else { continue };
            let clear_to = by_readout(joint, up, clear_to);
            if run.is_none_or(|r| first(clear_to, r.clear_to)) {
                run = Some(RunOn { joint: id, clear_to, pair, seen: beyond.seen });
            }
        }
        self.beyond.extend(run);
    }
}

/// Of two bodies the one that moves first.
pub(super) fn outer_first(scene: &Scene, (a, b): (usize, usize)) -> (usize, usize) {
    if scene.things[a].carrier >= scene.things[b].carrier { (a, b) } else { (b, a) }
}

/// Whether a load falls if power is lost.
fn drops(arm: &Arm, state: &State) -> bool {
    arm.jaw.on_power_loss != OnPowerLoss::Holds && state.power == Some(true) && state.held().is_some_and(|h| !h.stands())
}

/// The one that meets something sooner.
fn least(a: Option<Sag>, b: Option<Sag>) -> Option<Sag> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.meets.is_some() && (a.meets.is_none() || b.clear < a.clear) { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// What an arm at rest is, as far as what it sinks onto goes.
type Key = (JointBox, Vec<usize>, Vec<Contact>);

/// Looks where the arm sinks to from where it rests, once for each place.
struct Sinking<'a> {
    scene: &'a Scene,
    sweeper: Sweeper<'a>,
    weigher: Weigher<'a>,
    known: HashMap<Key, Option<Sag>>,
}

impl Dropped {
    /// As far as the one or the other.
    fn or(mut self, other: Dropped) -> Dropped {
        self.onto.extend(other.onto);
        self.onto.sort_unstable();
        self.onto.dedup();
        Dropped { fall: self.fall.zip(other.fall).map(|(a, b)| a.max(b)), onto: self.onto }
    }
}

impl Sinking<'_> {
    /// Where the arm rests, with what is there; none where that is not known.
    fn rest(&self, root: &Procedure, trace: &Trace, q: &Procedure, state: &State) -> Option<(JointBox, Vec<usize>)> {
        Some((leg::at_rest(&q.arm, state)?, self.scene.present(root, trace, state)?))
    }

    /// What falls from where the arm rests.
    fn dropped(&self, root: &Procedure, trace: &Trace, q: &Procedure, state: &State) -> Result<Dropped, Fault> {
        let Some((rest, present)) = self.rest(root, trace, q, state) else { return Ok(Dropped::default()) };
        let falls = falls(&q.cell, self.scene, &present, &rest)?.map(|(_, height)| height).unwrap_or_default();
        Ok(Dropped { fall: falls.most, onto: falls.onto.into_iter().map(|(thing, _)| thing).collect() })
    }

    /// None without power, where a load in the jaw still stands or is dropped, and where it is not known where the arm is.
    fn look(&mut self, root: &Procedure, trace: &Trace, q: &Procedure, step: &Step, state: &State) -> Result<Option<Sag>, Fault> {
        let stands = state.held().is_some_and(|h| h.stands());
        let hangs = state.power == Some(true) && !stands && !drops(&q.arm, state);
        let Some((rest, present)) = hangs.then(|| self.rest(root, trace, q, state)).flatten() else { return Ok(None) };
        let angles: Vec<Angle> = state.joints().iter().map(nominal).collect();
        let still = Leg { moving: Vec::new(), root: rest.clone(), start: angles.clone(), end: angles, region: None, transfer: None };
        // What a step allows to touch is met all the same, and the arm hangs there before it as after it.
        let mut contacts = contacts(self.scene, step, &still, &present);
        contacts.retain(|c| c.by == By::Approach);
        let key = (rest, present, contacts);
        if let Some(known) = self.known.get(&key) {
            return Ok(known.clone());
        }
        let (rest, present, contacts) = &key;
        let burden = self.weigher.weigh(state, &still, rest, present)?;
        let mut sag = sag(&self.sweeper, &q.arm, (&still, rest), &burden, (present, contacts))?.filter(|s| s.meets.is_some());
        if let Some(sag) = &mut sag {
            sag.meets = sag.meets.map(|pair| outer_first(self.scene, pair));
        }
        self.known.insert(key, sag.clone());
        Ok(sag)
    }
}
