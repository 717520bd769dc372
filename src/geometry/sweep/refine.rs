//! Questions answered by many boxes: how far a joint can go, and how much room there is.

use super::super::chain::JointBox;
use super::super::solid::Form;
use super::super::{Fault, Vec3};
use super::moment::Moment;
use super::prove::Direction;
use super::scene::{Holds, Scene};
use super::{Need, Question, Verdict, middle, middles};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// How much room there is.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// No two bodies of a pair come nearer than this anywhere in the box, in micrometres.
    pub lower: i64,
    /// Somewhere in the box two come as near as this, in micrometres; with both the same where they touch.
    pub upper: i64,
    /// Where that is: the pair and the angles, in thousandths of a degree. None if nothing was found near.
    pub at: Option<(usize, Vec<i64>)>,
}

impl Scene {
    /// The angle nearest to `towards`, in thousandths of a degree, such that all pairs keep their margins over the question's
    /// box with the joint's interval replaced by all that lies between `from` and there. `None` if it is not clear at `from`.
    pub fn farthest_clear(&self, question: &Question<'_>, joint: usize, from: i64, towards: i64) -> Result<Option<i64>, Fault> {
        if joint >= question.root.0.len() {
            return Err(Fault::Missing("a joint"));
        }
        let mut asked = Question { need: Need::Verdict, ..question.clone() };
        let mut clear = |to: i64| {
            asked.root.0[joint] = [from.min(to), from.max(to)];
            Ok(matches!(self.judge(&asked)?, Verdict::Clear(_)))
        };
        if clear(towards)? {
            return Ok(Some(towards));
        }
        if !clear(from)? {
            return Ok(None);
        }
        let (mut good, mut bad) = (from, towards);
        while (good - bad).abs() > 1 {
            let middle = good + (bad - good) / 2;
            if clear(middle)? {
                good = middle;
            } else {
                bad = middle;
            }
        }
        Ok(Some(good))
    }

    /// How near any pair comes within the box, zones of contact set aside: refined until the two bounds are within `tolerance`
    /// micrometres of each other, or a hundredth of what there is if that is more, or the cap is reached. The margins of the pairs
    /// play no part.
    pub fn clearance(&self, question: &Question<'_>, tolerance: i64) -> Result<Clearance, Fault> {
        self.check(question)?;
        let mut refine = Refine {
            scene: self,
            question,
            moment: Moment::new(self, 1.0),
            tolerance: tolerance.max(0) as f64 / 1e6,
            upper: f64::INFINITY,
            lower: f64::INFINITY,
            at: None,
            evaluations: 0,
        };
        Ok(refine.run())
    }
}

/// The share of a distance that need not be told.
const SHARE: f64 = 0.01;

/// A box still to be halved.
struct Pending {
    lower: f64,
    /// Ties are taken in the order they came.
    number: u64,
    within: JointBox,
    items: Vec<Item>,
    unseen: Vec<usize>,
}

#[derive(Clone, Copy)]
struct Item {
    pair: usize,
    a: usize,
    b: usize,
    lower: f64,
    n: Option<Vec3>,
}

impl PartialEq for Pending {
    fn eq(&self, other: &Pending) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Pending {}
impl PartialOrd for Pending {
    fn partial_cmp(&self, other: &Pending) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Pending {
    fn cmp(&self, other: &Pending) -> Ordering {
        other.lower.total_cmp(&self.lower).then(other.number.cmp(&self.number))
    }
}

struct Refine<'a, 'q> {
    scene: &'a Scene,
    question: &'a Question<'q>,
    moment: Moment<'a>,
    tolerance: f64,
    upper: f64,
    /// The least bound of boxes that are done with.
    lower: f64,
    at: Option<(usize, Vec<i64>)>,
    evaluations: u64,
}

impl Refine<'_, '_> {
    fn run(&mut self) -> Clearance {
        let pairs = self.question.pairs;
        let item = |pair: usize| Item {
            pair,
            a: self.scene.roots[pairs[pair].a],
            b: self.scene.roots[pairs[pair].b],
            lower: f64::NEG_INFINITY,
            n: None,
        };
        let meshed = |pair: &usize| [pairs[*pair].a, pairs[*pair].b].iter().any(|body| self.scene.bodies[*body].closed_mesh);
        let items: Vec<Item> = (0..pairs.len()).map(item).collect();
        let unseen: Vec<usize> = (0..pairs.len()).filter(meshed).collect();
        let mut heap = BinaryHeap::new();
        let mut number = 0;
        if let Some(first) = self.box_of(self.question.root.clone(), &items, &unseen, number) {
            heap.push(first);
        }
        while let Some(top) = heap.pop() {
            let cut = self.cut(&top).filter(|_| self.evaluations + number < self.question.cap);
            let Some((joint, at)) = cut.filter(|_| top.lower < (self.upper - self.tolerance).min(self.upper * (1.0 - SHARE))) else {
                // The least of all that is left: nothing can come out lower.
                self.lower = self.lower.min(top.lower);
                break;
            };
            let [low, high] = top.within.0[joint];
            for half in [[low, at], [at, high]] {
                number += 1;
                let mut within = top.within.clone();
                within.0[joint] = half;
                if let Some(pending) = self.box_of(within, &top.items, &top.unseen, number) {
                    heap.push(pending);
                }
            }
            if self.upper <= 0.0 {
                break;
            }
        }
        let um = |m: f64| m.clamp(0.0, 4e3) * 1e6;
        let lower = self.lower.min(self.upper);
        Clearance { lower: um(lower).floor() as i64, upper: um(self.upper).ceil() as i64, at: self.at.take() }
    }

    /// Bounds what can come near in a box; `None` if nothing can come nearer there than elsewhere.
    fn box_of(&mut self, within: JointBox, items: &[Item], unseen: &[usize], number: u64) -> Option<Pending> {
        if self.question.region.is_some_and(|region| region.excludes(&within)) {
            return None;
        }
        self.moment.set(&within);
        let pairs = self.question.pairs;
        let touching: Vec<bool> = pairs.iter().map(|pair| self.moment.touching(&pair.zones)).collect();
        let mut todo: Vec<Item> = items.iter().rev().copied().filter(|item| !touching[item.pair]).collect();
        let mut kept = Vec::new();
        while let Some(item) = todo.pop() {
            let (a, b) = (self.scene.balls[item.a], self.scene.balls[item.b]);
            let lower = self.ball_gap(item).max(item.lower);
            if lower >= self.upper {
                self.lower = self.lower.min(lower);
                continue;
            }
            let item = Item { lower, ..item };
            match (a.holds, b.holds) {
                (Holds::Part(first), Holds::Part(second)) => {
                    let item = self.parts_gap(item, (first, second), &within);
                    if item.lower < self.upper { kept.push(item) } else { self.lower = self.lower.min(item.lower) }
                }
                _ if self.moves(item, &within) > a.radius + b.radius => kept.push(item),
                _ => todo.extend(self.scene.halves(item.a, item.b).into_iter().rev().map(|(a, b)| Item { a, b, ..item })),
            }
        }
        let mut still = Vec::new();
        for &pair in unseen.iter().filter(|pair| !touching[**pair]) {
            if kept.iter().any(|item| item.pair == pair && item.lower <= 0.0) {
                still.push(pair);
            } else if self.counts(pair, &within) && self.is_inside(pair) {
                self.upper = 0.0;
                self.at = Some((pair, middles(&within)));
                return None;
            }
        }
        let lower = kept.iter().map(|item| item.lower).fold(f64::INFINITY, f64::min);
        (lower < f64::INFINITY).then_some(Pending { lower, number, within, items: kept, unseen: still })
    }

    fn ball_gap(&mut self, item: Item) -> f64 {
        let (a, b) = (self.scene.balls[item.a], self.scene.balls[item.b]);
        let more = if matches!(b.holds, Holds::Groups(..)) { b.radius } else { 0.0 };
        let (centre, plain) = self.moment.ball(item.b, a.carrier, more);
        match a.holds {
            Holds::Part(p) if matches!(self.scene.parts[p].form, Form::HalfSpace { .. }) => {
                (centre - a.centre).dot(self.scene.parts[p].direction) - b.radius - plain
            }
            _ => (centre - self.moment.centre(item.a)).length() - a.radius - b.radius - plain,
        }
    }

    fn parts_gap(&mut self, item: Item, (a, b): (usize, usize), within: &JointBox) -> Item {
        let between = self.moment.centre(item.b) - self.moment.centre(item.a);
        if self.moves(item, within) > between.length() {
            return item;
        }
        self.evaluations += 1;
        let Some(found) = self.moment.nearest(a, b) else { return item };
        let distance = (found.on_a - found.on_b).length();
        if distance < self.upper && self.counts(item.pair, within) {
            self.upper = distance;
            self.at = Some((item.pair, middles(within)));
        }
        let Some(n) = found.n.and_then(Direction::round) else { return item };
        let from = self.scene.parts[a].carrier;
        let gap = self.moment.least(a, n.unit) - self.moment.reach(b, from, n.unit);
        Item { lower: item.lower.max(gap), n: Some(n.unit), ..item }
    }

    /// Whether the middle of the box that is looked at is a place where a pair must be apart.
    fn counts(&self, pair: usize, within: &JointBox) -> bool {
        self.question.reaches(within) && !self.moment.may_touch_at_middle(&self.question.pairs[pair].zones)
    }

    fn moves(&mut self, item: Item, within: &JointBox) -> f64 {
        self.moment.moves(item.a, item.b, self.question, within)
    }

    /// Where to halve a box: the joint that moves the nearest pair most.
    fn cut(&mut self, top: &Pending) -> Option<(usize, i64)> {
        let item = top.items.iter().min_by(|a, b| a.lower.total_cmp(&b.lower))?;
        // The moment is that of another box by now; for the choice of a joint that of this one counts.
        self.moment.set(&top.within);
        let best = self.moment.mover(item.a, item.b, item.n, self.question, &top.within);
        best.map(|(k, _)| (k, middle(top.within.0[k])))
    }

    fn is_inside(&mut self, pair: usize) -> bool {
        self.scene.one_inside_other(&mut self.moment, self.question.pairs[pair].a, self.question.pairs[pair].b).is_some()
    }
}
