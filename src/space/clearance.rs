//! Clearance of each stretch of motion: which pairs of bodies count, which may touch, and what the sweep gave.

use super::leg::Leg;
use super::scene::{Scene, Thing, What};
use crate::geometry::Fault;
use crate::geometry::chain::JointBox;
use crate::geometry::region::Region;
use crate::geometry::sweep::{Clearance, Need, Pair, Question, Verdict, Zone};
use crate::model::StationId;
use crate::model::procedure::{LineForm, Step};
use crate::model::touch::Touch;
use crate::units::Angle;
use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

/// Two bodies that may come nearer than the margin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Contact {
    /// One, the lower index.
    pub a: usize,
    /// The other.
    pub b: usize,
    /// Why.
    pub by: By,
    /// While the grip centre is this near to the station, in micrometres; over the whole motion if none.
    pub around: Option<(StationId, i64)>,
}

/// Why bodies may touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum By {
    /// A line under the step says so.
    Line,
    /// The load is lifted off what bears it, or lowered onto it.
    Transfer,
    /// The station's approach says so.
    Approach,
}

/// The most evaluations one stretch may take.
const CAP: u64 = 20_000;

/// How near to the least clearance of a stretch the printed one comes, in micrometres.
const TOLERANCE: i64 = 500;

/// A sweep, kept so that the same question is answered once.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    root: JointBox,
    region: Option<Region>,
    present: Vec<usize>,
    contacts: Vec<Contact>,
}

/// The answer to a question, with the pairs it names by their place.
#[derive(Debug)]
pub struct Answer {
    /// The pairs of bodies that were asked for, the one on the inner carrier first.
    pub pairs: Vec<Pair>,
    /// What the sweep gave.
    pub verdict: Verdict,
    root: JointBox,
    region: Option<Region>,
    /// How near anything comes; no verdict waits for it.
    clearance: OnceLock<Clearance>,
}

impl Answer {
    /// Whether everything stays apart.
    pub fn is_clear(&self) -> bool {
        matches!(self.verdict, Verdict::Clear(_))
    }
    /// How near anything comes, of these pairs or of all; nothing is known of it where it cannot be worked out.
    fn room(&self, scene: &Scene, pairs: &[Pair]) -> Clearance {
        let joints: Vec<usize> = (0..scene.chain().joints()).collect();
        let question = question(&self.root, self.region.as_ref(), pairs, &joints, Need::Verdict);
        scene.solids.clearance(&question, TOLERANCE).unwrap_or(Clearance { lower: 0, upper: i64::MAX, at: None })
    }
    /// How near anything comes; worked out when it is first asked for.
    pub fn clearance(&self, scene: &Scene) -> &Clearance {
        self.clearance.get_or_init(|| self.room(scene, &self.pairs))
    }
    /// How near some of the pairs come.
    pub fn clearance_of(&self, scene: &Scene, pairs: &[Pair]) -> Clearance {
        if pairs == self.pairs { self.clearance(scene).clone() } else { self.room(scene, pairs) }
    }
    /// Where two bodies come nearest; none if nothing was found near anything.
    pub fn nearest(&self, scene: &Scene) -> Option<Nearest> {
        let clearance = self.clearance(scene);
        let found = clearance.at.as_ref().map(|(pair, angles)| (*pair, angles, clearance.upper));
        let witness = match &self.verdict {
            Verdict::Clear(_) => None,
            Verdict::Near(w) | Verdict::Open(w) => Some((w.pair, &w.angles, w.distance)),
        };
        let (pair, angles, distance) = found.into_iter().chain(witness).min_by_key(|(_, _, distance)| *distance)?;
        let pair = self.pairs.get(pair)?;
        // What is clear is told by what it keeps, what is not by what was found.
        let distance = if self.is_clear() { clearance.lower } else { distance };
        Some(Nearest { pair: (pair.a, pair.b), angles: angles.clone(), distance })
    }
}

/// Where two bodies come nearest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Nearest {
    /// The two, the one on the inner carrier first.
    pub pair: (usize, usize),
    /// The angles, in thousandths of a degree.
    pub angles: Vec<i64>,
    /// Where they keep the margin, they come no nearer than this, in micrometres; else they come at least as near.
    pub distance: i64,
}

/// Where a single joint loses the margin on its way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loss {
    /// How far it can go from its start and keep the margin, in thousandths of a degree; none if it is not kept at the start.
    pub clear_to: Option<i64>,
    /// The two that come too near there, the one on the inner carrier first.
    pub pair: (usize, usize),
    /// Where.
    pub angles: Vec<i64>,
}

/// How sharply it is told where a margin is lost, in thousandths of a degree.
const ROUGH: i64 = 50;

/// The most evaluations of one look for it.
const ROUGH_CAP: u64 = 4_000;

/// What it takes to lose a margin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// It is lost at a printed angle where the motion starts or ends.
    Ends,
    /// It is kept at both, and lost at a printed angle between them.
    Way,
    /// It is kept at every printed angle; bands, drift and read-out error use it up.
    Bands,
}

/// Answers questions about one scene.
pub struct Sweeper<'a> {
    scene: &'a Scene,
    joints: Vec<usize>,
    need: Need,
    known: HashMap<Key, Arc<Answer>>,
}

impl<'a> Sweeper<'a> {
    /// One that has answered nothing yet.
    pub fn new(scene: &'a Scene) -> Sweeper<'a> {
        Sweeper { scene, joints: (0..scene.chain().joints()).collect(), need: Need::Certificate, known: HashMap::new() }
    }

    /// One that gives verdicts alone, without certificates.
    pub fn of_verdicts(scene: &'a Scene) -> Sweeper<'a> {
        Sweeper { need: Need::Verdict, ..Sweeper::new(scene) }
    }

    /// Whether everything that is there stays apart over a stretch.
    pub fn judge(&mut self, leg: &Leg, present: &[usize], contacts: &[Contact]) -> Result<Arc<Answer>, Fault> {
        let key = Key { root: leg.root.clone(), region: leg.region.clone(), present: present.to_vec(), contacts: contacts.to_vec() };
        if let Some(known) = self.known.get(&key) {
            return Ok(known.clone());
        }
        let answer = self.judge_pairs(leg, pairs(self.scene, present, contacts))?;
        self.known.insert(key, answer.clone());
        Ok(answer)
    }

    /// Whether some pairs stay apart over a stretch.
    pub fn judge_pairs(&self, leg: &Leg, pairs: Vec<Pair>) -> Result<Arc<Answer>, Fault> {
        let question = self.question(leg, &pairs, self.need);
        let verdict = self.scene.solids.judge(&question)?;
        let (root, region) = (leg.root.clone(), leg.region.clone());
        Ok(Arc::new(Answer { pairs, verdict, root, region, clearance: OnceLock::new() }))
    }

    /// How far a single joint can go from its start and keep the margin; none if the margin is not kept at the start.
    pub fn farthest(&self, leg: &Leg, present: &[usize], contacts: &[Contact]) -> Result<Option<i64>, Fault> {
        let [joint] = leg.moving[..] else { return Ok(None) };
        let pairs = pairs(self.scene, present, contacts);
        let question = self.question(leg, &pairs, Need::Verdict);
        let [low, high] = leg.root.0[joint.at()];
        let up = leg.end[joint.at()] > leg.start[joint.at()];
        let (from, towards) = if up { (low, high) } else { (high, low) };
        self.scene.solids.farthest_clear(&question, joint.at(), from, towards)
    }

    /// Where a single joint first loses the margin, or may; none if it keeps it all the way. No finding rests on it, so it is
    /// asked less sharply than a motion that is written.
    pub fn loses(&self, leg: &Leg, present: &[usize], contacts: &[Contact]) -> Result<Option<Loss>, Fault> {
        let [joint] = leg.moving[..] else { return Ok(None) };
        let pairs = pairs(self.scene, present, contacts);
        let mut question = Question { cap: ROUGH_CAP, ..self.question(leg, &pairs, Need::Verdict) };
        let mut meets = |a: i64, b: i64| {
            question.root.0[joint.at()] = [a.min(b), a.max(b)];
            Ok(match self.scene.solids.judge(&question)? {
                Verdict::Clear(_) => None,
                Verdict::Near(w) | Verdict::Open(w) => pairs.get(w.pair).map(|p| ((p.a, p.b), w.angles)),
            })
        };
        let [low, high] = leg.root.0[joint.at()];
        let (from, towards) = if leg.end[joint.at()] > leg.start[joint.at()] { (low, high) } else { (high, low) };
        let Some(mut met) = meets(from, towards)? else { return Ok(None) };
        let (mut good, mut bad) = (from, towards);
        let clear_to = match meets(from, from)? {
            Some(there) => {
                met = there;
                None
            }
            None => {
                while (good - bad).abs() > ROUGH {
                    let middle = good + (bad - good) / 2;
                    match meets(from, middle)? {
                        Some(there) => (bad, met) = (middle, there),
                        None => good = middle,
                    }
                }
                // What is met there, not what is met deepest on the way to it.
                met = meets(good, bad)?.unwrap_or(met);
                Some(good)
            }
        };
        let (pair, angles) = met;
        Ok(Some(Loss { clear_to, pair, angles }))
    }

    /// What of the arm, its tool and its load comes nearest to something that stands in the cell: the two, the angles, and how
    /// near at least, in micrometres.
    pub fn nearest_in_cell(&self, leg: &Leg, present: &[usize], contacts: &[Contact]) -> Result<Option<Nearest>, Fault> {
        let stands = |p: &Pair| self.scene.things[p.a].carrier == 0;
        let pairs: Vec<Pair> = pairs(self.scene, present, contacts).into_iter().filter(stands).collect();
        let found = self.scene.solids.clearance(&self.question(leg, &pairs, Need::Verdict), TOLERANCE)?;
        let pair = |(pair, angles): (usize, Vec<i64>)| pairs.get(pair).map(|p| Nearest { pair: (p.a, p.b), angles, distance: found.lower });
        Ok(found.at.and_then(pair))
    }

    /// Two bodies that meet within a stretch, or may: margins set aside, what may touch as declared.
    pub fn meets(&self, leg: &Leg, present: &[usize], contacts: &[Contact]) -> Result<Option<(usize, usize)>, Fault> {
        let pairs: Vec<Pair> = pairs(self.scene, present, contacts).into_iter().map(|p| Pair { margin: 0, ..p }).collect();
        Ok(match self.scene.solids.judge(&self.question(leg, &pairs, Need::Verdict))? {
            Verdict::Clear(_) => None,
            Verdict::Near(w) | Verdict::Open(w) => pairs.get(w.pair).map(|p| (p.a, p.b)),
        })
    }

    /// What it takes to lose the margin that a stretch does not keep.
    pub fn cause(&self, leg: &Leg, present: &[usize], contacts: &[Contact]) -> Result<Cause, Fault> {
        let pairs = pairs(self.scene, present, contacts);
        let clear = |root: JointBox| {
            let question = Question { root, ..self.question(leg, &pairs, Need::Verdict) };
            Ok::<_, Fault>(matches!(self.scene.solids.judge(&question)?, Verdict::Clear(_)))
        };
        let printed = |angles: &[Angle]| JointBox(angles.iter().map(|a| [a.0, a.0]).collect());
        let (start, end) = (printed(&leg.start), printed(&leg.end));
        if clear(start.hull(&end))? {
            return Ok(Cause::Bands);
        }
        Ok(if clear(start)? && clear(end)? { Cause::Way } else { Cause::Ends })
    }

    fn question<'q>(&'q self, leg: &'q Leg, pairs: &'q [Pair], need: Need) -> Question<'q> {
        question(&leg.root, leg.region.as_ref(), pairs, &self.joints, need)
    }
}

/// What is asked of every stretch, with the cap that every stretch has.
fn question<'q>(root: &JointBox, region: Option<&'q Region>, pairs: &'q [Pair], joints: &'q [usize], need: Need) -> Question<'q> {
    Question { pairs, root: root.clone(), splittable: joints, region, cap: CAP, need }
}

/// Every pair of bodies that has to stay apart.
pub(super) fn pairs(scene: &Scene, present: &[usize], contacts: &[Contact]) -> Vec<Pair> {
    let mut out = Vec::new();
    for (n, i) in present.iter().copied().enumerate() {
        for j in present[n + 1..].iter().copied() {
            let (a, b) = (&scene.things[i], &scene.things[j]);
            if a.carrier == b.carrier || is_left_out(scene, (i, a), (j, b)) {
                continue;
            }
            let mut pair = scene.solids.pair(i, j, scene.margin);
            let declared = contacts.iter().filter(|c| (c.a, c.b) == (i.min(j), i.max(j)));
            let places: Vec<_> = declared.map(|c| c.around).collect();
            if places.contains(&None) {
                continue;
            }
            let zone = |(station, within): (StationId, i64)| {
                let spot = scene.spots[station.at()].as_ref()?;
                Some(Zone { point: scene.grip, centre: spot.point, within })
            };
            pair.zones = places.into_iter().flatten().filter_map(zone).collect();
            out.push(pair);
        }
    }
    out
}

/// Links that share a joint, with what is bolted to one; and links that meet at a point no joint between them moves.
fn is_left_out(scene: &Scene, (i, a): (usize, &Thing), (j, b): (usize, &Thing)) -> bool {
    let links = [a, b].iter().all(|t| matches!(t.what, What::Link(_) | What::Tool(_)));
    links && (a.carrier.abs_diff(b.carrier) <= 1 || scene.meetings.iter().any(|m| (m.a, m.b) == (i, j) || (m.a, m.b) == (j, i)))
}

/// What may touch during a step from a state with these bodies there.
pub fn contacts(scene: &Scene, step: &Step, leg: &Leg, present: &[usize]) -> Vec<Contact> {
    let there = |i: usize| present.binary_search(&i).is_ok();
    let mut out = Vec::new();
    let mut put = |(a, b): (usize, usize), by, around| {
        if there(a) && there(b) {
            out.push(Contact { a: a.min(b), b: a.max(b), by, around });
        }
    };
    for (station, spot) in stations(scene) {
        spot.approach.iter().for_each(|pair| put(*pair, By::Approach, Some((station, spot.approach_within))));
    }
    let lines = step.lines.iter().filter_map(|l| match &l.form {
        LineForm::Touching(touches) => Some(touches),
        _ => None,
    });
    for pair in scene.pairs(lines.flatten().flat_map(Touch::pairs)) {
        let (one, other) = (belongs(scene, leg, pair.0), belongs(scene, leg, pair.1));
        let both: Vec<StationId> = one.iter().copied().filter(|s| other.contains(s)).collect();
        let places = if both.is_empty() { [one, other].concat() } else { both };
        if places.is_empty() {
            put(pair, By::Line, None);
        }
        places.iter().for_each(|s| put(pair, By::Line, Some((*s, scene.contact_travel))));
    }
    if let Some(station) = leg.transfer
        && let Some(spot) = &scene.spots[station.at()]
    {
        for held in present.iter().copied().filter(|i| matches!(scene.things[*i].what, What::Held(_))) {
            spot.support.iter().for_each(|s| put((held, *s), By::Transfer, Some((station, scene.contact_travel))));
        }
    }
    out.sort_unstable();
    out.dedup();
    out
}

/// The stations whose place is known.
pub fn stations(scene: &Scene) -> impl Iterator<Item = (StationId, &super::scene::Spot)> {
    (0u16..).zip(&scene.spots).filter_map(|(i, s)| Some((StationId(i), s.as_ref()?)))
}

/// The stations a body belongs to: where a load stands, was taken from or is set on, or where it bears a load.
fn belongs(scene: &Scene, leg: &Leg, body: usize) -> Vec<StationId> {
    match &scene.things[body].what {
        What::Rest(_, station) => vec![*station],
        What::Held(grip) => leg.transfer.or(grip.from).into_iter().collect(),
        What::Solid(_) | What::KeepOut(_) | What::Unsurveyed(_) => {
            stations(scene).filter(|(_, spot)| spot.support.contains(&body)).map(|(id, _)| id).collect()
        }
        What::Link(_) | What::Tool(_) => Vec::new(),
    }
}
