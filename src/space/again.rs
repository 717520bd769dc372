//! A survey of the same steps over models that differ a little: what cannot have changed is taken over from the earlier one.
//!
//! Invariant: a stretch is taken as clear without a new question only where the earlier certificate leaves more room than anything
//! can have come nearer by: bodies and zones of contact are the same, and each point of the arm is at most its reach times the turn
//! of a joint away from where it could be before. All else is asked again.

use super::Stretch;
use super::Survey;
use super::burden::Burden;
use super::clearance::{self, Contact};
use super::leg::Leg;
use super::reach::{Carry, Meet, Reached, Stand};
use super::scene::{Scene, Thing};
use super::sight::{Sighted, spared};
use crate::geometry::chain::Chain;
use crate::geometry::sweep::{Pair, TOO_CLOSE};
use crate::geometry::{Vec3, metres};
use crate::trace::RowId;
use crate::trace::state::State;
use crate::units::{Angle, radians};
use std::sync::Arc;

/// An earlier survey, all of which was clear, and what is known to be as it was.
#[derive(Clone, Copy, Debug)]
pub struct Earlier<'a> {
    /// The survey.
    pub survey: &'a Survey,
    /// States, masses, frictions, what joints give and how loads lie in the jaw are as they were.
    pub same_weights: bool,
    /// States, joints, stations and bodies are as they were.
    pub same_places: bool,
    /// Only things of the cell are larger than they were. What stands below a load is then no farther from it than it was.
    pub only_larger: bool,
}

/// The earlier survey beside the scene as it is now.
pub(super) struct Kept<'a> {
    earlier: Earlier<'a>,
    old: &'a Scene,
    new: &'a Scene,
    /// By body, whether it is another now.
    changed: Vec<bool>,
    /// By joint, how far any point that it moves can be from its axis, in micrometres.
    reach: Vec<f64>,
}

impl<'a> Kept<'a> {
    /// None where the two scenes do not hold the same things.
    pub(super) fn new(earlier: Earlier<'a>, new: &'a Scene) -> Option<Kept<'a>> {
        let old = earlier.survey.scene.as_deref().ok()?;
        let same = |(a, b): (&Thing, &Thing)| a.what == b.what && a.carrier == b.carrier;
        let as_it_was = old.things.len() == new.things.len() && old.things.iter().zip(&new.things).all(same);
        let (a, b) = (old.solids.bodies(), new.solids.bodies());
        if !as_it_was || old.chain().hinges() != new.chain().hinges() || old.grip != new.grip {
            return None;
        }
        let changed = a.iter().zip(b).map(|(a, b)| a.parts != b.parts || a.closed_mesh != b.closed_mesh).collect();
        Some(Kept { earlier, old, new, changed, reach: reach(new) })
    }

    /// The stretch as it was, if it is of the same bodies under the same allowances of contact, and seen through the same view.
    pub(super) fn stretch(
        &self,
        (row, entry): (RowId, usize),
        state: &State,
        present: &[usize],
        contacts: &[Contact],
    ) -> Option<&'a Stretch> {
        let was = self.earlier.survey.of(row).iter().find(|s| s.entry == entry)?;
        let view = match &was.sight {
            Sighted::NoView => None,
            Sighted::NoPlace(view) => Some(*view),
            Sighted::Through(look, _) => Some(look.view),
        };
        let same = was.present == present && was.contacts == contacts && was.tool == state.tool && view == state.view;
        (same && was.answer.is_clear()).then_some(was)
    }

    /// The pairs of a stretch that have to be asked again; none if it is all of them.
    pub(super) fn doubtful(&self, was: &Stretch, leg: &Leg) -> Option<Vec<Pair>> {
        let same_way = was.leg.root == leg.root;
        if was.leg.region != leg.region || (leg.region.is_some() && !same_way) {
            return None;
        }
        let nearer: f64 = was.leg.root.0.iter().zip(&leg.root.0).zip(&self.reach).map(|((a, b), reach)| turn(*a, *b) * reach).sum();
        let room = was.answer.clearance(self.old).lower as f64 - nearer - TOO_CLOSE * 1e6;
        let before = clearance::pairs(self.old, &was.present, &was.contacts);
        let now = clearance::pairs(self.new, &was.present, &was.contacts);
        let keeps = |(a, b): (&Pair, &Pair)| {
            let bodies = (a.a, a.b) == (b.a, b.b) && !self.changed[b.a] && !self.changed[b.b];
            let zones = b.zones.is_empty() || (same_way && a.zones == b.zones);
            bodies && zones && a.zones.len() == b.zones.len() && room > b.margin as f64
        };
        let same = before.len() == now.len();
        same.then(|| before.iter().zip(now.iter()).filter(|pair| !keeps(*pair)).map(|(_, b)| b.clone()).collect())
    }

    /// What the view in force shows, where nothing that it depends on is another now.
    pub(super) fn sight(&self, was: &Stretch, leg: &Leg) -> Option<Sighted> {
        let as_it_was = |i: &usize| !self.changed[*i] && spared(self.old, *i) == spared(self.new, *i);
        (same_leg(&was.leg, leg) && was.present.iter().all(as_it_was)).then(|| was.sight.clone())
    }

    /// What it asks of joints and jaw, where nothing that it depends on is another now.
    pub(super) fn burden(&self, was: &Stretch, leg: &Leg) -> Option<Arc<Burden>> {
        (self.earlier.same_weights && same_leg(&was.leg, leg)).then(|| was.burden.clone()).flatten()
    }

    /// Where jaw and loads come to, if that is as it was.
    pub(super) fn reached(&self) -> Option<Reached> {
        self.earlier.same_places.then(|| self.earlier.survey.reach.clone())
    }

    /// How the jaw stands at its stations, if that is as it was.
    pub(super) fn stands(&self) -> Option<Vec<Stand>> {
        self.earlier.only_larger.then(|| self.earlier.survey.reach.stands.clone())
    }

    /// The load on its way over a stretch, where that is as it was or no higher.
    pub(super) fn carries(&self, stretch: &Stretch) -> Option<impl Iterator<Item = Carry> + use<'a>> {
        let (row, entry) = (stretch.row, stretch.entry);
        let was = self.earlier.survey.of(row).iter().find(|s| s.entry == entry)?;
        let below = |i: &usize| self.earlier.only_larger && self.new.things[*i].carrier == 0;
        let same = was.present == stretch.present && same_leg(&was.leg, &stretch.leg);
        let all = &self.earlier.survey.reach.carries;
        (same && was.present.iter().all(|i| !self.changed[*i] || below(i)))
            .then(|| all.iter().filter(move |c| (c.row, c.entry) == (row, entry)).cloned())
    }

    /// Where contact comes in a stretch, where that is as it was.
    pub(super) fn meets(&self, stretch: &Stretch) -> Option<impl Iterator<Item = Meet> + use<'a>> {
        let (row, entry) = (stretch.row, stretch.entry);
        let was = self.earlier.survey.of(row).iter().find(|s| s.entry == entry)?;
        let same = was.contacts == stretch.contacts && same_leg(&was.leg, &stretch.leg);
        let all = &self.earlier.survey.reach.meets;
        (same && was.contacts.iter().all(|c| !self.changed[c.a] && !self.changed[c.b]))
            .then(|| all.iter().filter(move |m| (m.row, m.entry) == (row, entry)).cloned())
    }
}

fn same_leg(a: &Leg, b: &Leg) -> bool {
    a.root == b.root && a.region == b.region && a.start == b.start && a.end == b.end && a.moving == b.moving
}

/// By how much an interval reaches beyond another, as an angle in radians.
fn turn(old: [i64; 2], new: [i64; 2]) -> f64 {
    radians(Angle((old[0] - new[0]).max(new[1] - old[1]).max(0)))
}

/// By joint, how far any point that it moves can be from its axis, in micrometres: the joints beyond it stretched out, and the
/// farthest point of any body.
fn reach(scene: &Scene) -> Vec<f64> {
    let chain: &Chain = scene.chain();
    let mut far = vec![0.0_f64; chain.joints()];
    for body in scene.solids.bodies().iter().filter(|b| b.carrier > 0) {
        let own = body.parts.iter().map(|p| p.ball().centre.length() + p.ball().radius).fold(0.0, f64::max);
        let mut out = own;
        for joint in (0..body.carrier).rev() {
            far[joint] = far[joint].max(out);
            let origin: Vec3 = metres(chain.hinges()[joint].origin);
            out += origin.length();
        }
    }
    far.into_iter().map(|m| m * 1e6 + 1.0).collect()
}
