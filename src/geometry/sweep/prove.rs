//! The search for a certificate: depth first, the lower half first, each box asked only what its parent left open.

use super::super::chain::JointBox;
use super::super::solid::Form;
use super::super::{FARTHEST, Fault, Vec3, unit};
use super::moment::Moment;
use super::scene::{Holds, Scene};
use super::{Clear, DIRECTION, GUARD, Need, Node, Plane, Question, TOO_CLOSE, Verdict, Witness, middle, middles};

/// Two groups of parts that are not yet known to be apart.
#[derive(Clone, Copy, Debug)]
struct Item {
    pair: usize,
    a: usize,
    b: usize,
    /// The direction that nearly held them apart, if one was found.
    n: Option<Direction>,
}

/// A direction of whole numbers, and what it is as a unit vector.
#[derive(Clone, Copy, Debug)]
pub(super) struct Direction {
    whole: [i64; 3],
    pub(super) unit: Vec3,
}

impl Direction {
    /// The direction as an auditor will read it.
    pub(super) fn round(n: Vec3) -> Option<Direction> {
        let scaled = n * DIRECTION;
        if !scaled.is_finite() {
            return None;
        }
        let whole = [scaled.x, scaled.y, scaled.z].map(|c| c.round() as i64);
        unit(whole).ok().map(|unit| Direction { whole, unit })
    }
}

/// Why a search ends before it is done.
pub(super) enum Stop {
    Near(Witness),
    Open(Witness),
}

struct Search<'a, 'q> {
    scene: &'a Scene,
    question: &'a Question<'q>,
    moment: Moment<'a>,
    within: JointBox,
    /// What each box of the branch left open, one box after another.
    open: Vec<Item>,
    /// Pairs with a mesh that have not been seen to be outside one another, one box after another.
    unseen: Vec<usize>,
    todo: Vec<Item>,
    tree: Vec<Node>,
    /// By pair, whether it may touch in the box.
    touching: Vec<bool>,
    zoned: bool,
    least: f64,
    evaluations: u64,
    nodes: u64,
    too_close: Option<Witness>,
}

impl Scene {
    /// Judges a question.
    pub fn judge(&self, question: &Question<'_>) -> Result<Verdict, Fault> {
        self.judge_scaled(question, 1.0)
    }

    /// Judges a question with every bound of motion multiplied: below 1 its answers are wrong. It is there so that a test
    /// can show that it would notice.
    #[doc(hidden)]
    pub fn judge_scaled(&self, question: &Question<'_>, factor: f64) -> Result<Verdict, Fault> {
        self.check(question)?;
        let mut search = Search {
            scene: self,
            question,
            moment: Moment::new(self, factor),
            within: question.root.clone(),
            open: Vec::with_capacity(question.pairs.len() * 2),
            unseen: Vec::new(),
            todo: Vec::new(),
            tree: Vec::new(),
            touching: vec![false; question.pairs.len()],
            zoned: question.pairs.iter().any(|pair| !pair.zones.is_empty()),
            least: f64::INFINITY,
            evaluations: 0,
            nodes: 0,
            too_close: None,
        };
        for (pair, asked) in question.pairs.iter().enumerate() {
            search.open.push(Item { pair, a: self.roots[asked.a], b: self.roots[asked.b], n: None });
            if self.bodies[asked.a].closed_mesh || self.bodies[asked.b].closed_mesh {
                search.unseen.push(pair);
            }
        }
        let (open, unseen) = ((0, search.open.len()), (0, search.unseen.len()));
        Ok(match search.visit(open, unseen) {
            Err(Stop::Near(witness)) => Verdict::Near(witness),
            Err(Stop::Open(witness)) => Verdict::Open(search.too_close.unwrap_or(witness)),
            Ok(()) => match search.too_close {
                Some(witness) => Verdict::Open(witness),
                None => Verdict::Clear(Clear {
                    tree: search.tree,
                    least: search.least.is_finite().then(|| (search.least * 1e6).floor() as i64),
                    evaluations: search.evaluations,
                }),
            },
        })
    }
}

impl Search<'_, '_> {
    /// Judges the box, given what its parent left open.
    fn visit(&mut self, open: (usize, usize), unseen: (usize, usize)) -> Result<(), Stop> {
        let node = self.tree.len();
        self.nodes += 1;
        let excluded = self.question.region.is_some_and(|region| region.excludes(&self.within));
        if self.question.need == Need::Certificate {
            self.tree.push(Node { outside: excluded, ..Node::default() });
        }
        if excluded {
            return Ok(());
        }
        self.moment.set(&self.within);
        if self.zoned {
            for (touching, pair) in self.touching.iter_mut().zip(self.question.pairs) {
                *touching = self.moment.touching(&pair.zones);
            }
        }
        let (left, unlooked) = (self.open.len(), self.unseen.len());
        let asked = self.ask_all(node, open, unseen, left);
        let done = match asked? {
            Asked::GivenUp => Ok(()),
            Asked::All if self.open.len() == left => Ok(()),
            Asked::All => match self.cut(left) {
                None => self.give_up(self.open[left]),
                Some((joint, at)) => self.halve(node, joint, at, (left, self.open.len()), (unlooked, self.unseen.len())),
            },
        };
        self.open.truncate(left);
        self.unseen.truncate(unlooked);
        done
    }

    fn ask_all(&mut self, node: usize, open: (usize, usize), unseen: (usize, usize), left: usize) -> Result<Asked, Stop> {
        for i in open.0..open.1 {
            let item = self.open[i];
            if !self.touching[item.pair] && self.ask(node, item)? == Asked::GivenUp {
                return Ok(Asked::GivenUp);
            }
        }
        for i in unseen.0..unseen.1 {
            let pair = self.unseen[i];
            if self.touching[pair] {
                continue;
            }
            if self.open[left..].iter().any(|item| item.pair == pair) {
                self.unseen.push(pair);
            } else {
                self.look_inside(pair)?;
            }
        }
        Ok(Asked::All)
    }

    fn halve(&mut self, node: usize, joint: usize, at: i64, open: (usize, usize), unseen: (usize, usize)) -> Result<(), Stop> {
        if let Some(node) = self.tree.get_mut(node) {
            node.split = Some((joint, at));
        }
        let [low, high] = self.within.0[joint];
        self.within.0[joint] = [low, at];
        self.visit(open, unseen)?;
        self.within.0[joint] = [at, high];
        self.visit(open, unseen)?;
        self.within.0[joint] = [low, high];
        Ok(())
    }

    /// Asks whether two groups are apart over the box; what stays open is put aside for the halves.
    fn ask(&mut self, node: usize, item: Item) -> Result<Asked, Stop> {
        let margin = self.question.pairs[item.pair].margin as f64 / 1e6;
        self.todo.push(item);
        while let Some(item) = self.todo.pop() {
            let (a, b) = (self.scene.balls[item.a], self.scene.balls[item.b]);
            if self.balls_apart(item, margin) {
                continue;
            }
            match (a.holds, b.holds) {
                (Holds::Part(first), Holds::Part(second)) => {
                    if self.ask_parts(node, item, (first, second), margin)? == Asked::GivenUp {
                        self.todo.clear();
                        return Ok(Asked::GivenUp);
                    }
                }
                // While the motion is greater than the groups, halving the box says more than taking them apart.
                _ if self.moves(item) > a.radius + b.radius => self.open.push(item),
                _ => self.todo.extend(self.scene.halves(item.a, item.b).into_iter().rev().map(|(a, b)| Item { a, b, ..item })),
            }
        }
        Ok(Asked::All)
    }

    /// Whether the balls over two groups are apart over the box.
    fn balls_apart(&mut self, item: Item, margin: f64) -> bool {
        let (a, b) = (self.scene.balls[item.a], self.scene.balls[item.b]);
        let more = if matches!(b.holds, Holds::Groups(..)) { b.radius } else { 0.0 };
        let (centre, plain) = self.moment.ball(item.b, a.carrier, more);
        let over = b.radius + plain;
        if let Holds::Part(part) = a.holds
            && let Form::HalfSpace { .. } = self.scene.parts[part].form
        {
            let height = (centre - a.centre).dot(self.scene.parts[part].direction) - over;
            let apart = height >= margin + GUARD;
            if apart {
                self.least = self.least.min(height);
            }
            return apart;
        }
        let over = over + a.radius;
        let between = centre - self.moment.centre(item.a);
        let square = between.dot(between);
        let wanted = over + margin + GUARD;
        if square < wanted * wanted {
            return false;
        }
        if square < (over + self.least) * (over + self.least) {
            self.least = square.sqrt() - over;
        }
        true
    }

    fn moves(&mut self, item: Item) -> f64 {
        self.moment.moves(item.a, item.b, self.question, &self.within)
    }

    /// Asks of two parts; the direction that their parent's box left comes first, a new one only if it fails.
    fn ask_parts(&mut self, node: usize, item: Item, parts: (usize, usize), margin: f64) -> Result<Asked, Stop> {
        if let Form::HalfSpace { normal } = self.scene.parts[parts.0].form {
            let n = Direction { whole: normal.map(|c| -c), unit: -self.scene.parts[parts.0].direction };
            if self.apart(node, item, parts, n, margin)? {
                return Ok(Asked::All);
            }
        } else if let Some(n) = item.n
            && self.apart(node, item, parts, n, margin)?
        {
            return Ok(Asked::All);
        }
        let between = self.moment.centre(item.b) - self.moment.centre(item.a);
        let hopeless = self.moves(item);
        if hopeless * hopeless > between.dot(between) {
            self.open.push(item);
            return Ok(Asked::All);
        }
        self.count(item)?;
        let Some(found) = self.moment.nearest(parts.0, parts.1) else {
            self.open.push(item);
            return Ok(Asked::All);
        };
        if (found.on_a - found.on_b).length() < margin + TOO_CLOSE && self.counts(item.pair) {
            let witness = self.witness(item.pair, parts);
            if witness.distance < self.question.pairs[item.pair].margin {
                return Err(Stop::Near(witness));
            }
            return self.leave(witness).map(|()| Asked::GivenUp);
        }
        let n = found.n.and_then(Direction::round);
        match n {
            Some(n) if self.apart(node, item, parts, n, margin)? => {}
            _ => self.open.push(Item { n: n.or(item.n), ..item }),
        }
        Ok(Asked::All)
    }

    /// Whether two parts are apart along a direction over the box; if so, that goes on record.
    fn apart(&mut self, node: usize, item: Item, (a, b): (usize, usize), n: Direction, margin: f64) -> Result<bool, Stop> {
        self.count(item)?;
        let from = self.scene.parts[a].carrier;
        let gap = self.moment.least(a, n.unit) - self.moment.reach(b, from, n.unit);
        if gap.is_nan() || gap < margin + GUARD {
            return Ok(false);
        }
        self.least = self.least.min(gap);
        if let Some(node) = self.tree.get_mut(node) {
            let index = |p: usize| self.scene.parts[p].index;
            node.planes.push(Plane { pair: item.pair, a: index(a), b: index(b), n: n.whole });
        }
        Ok(true)
    }

    fn count(&mut self, item: Item) -> Result<(), Stop> {
        self.evaluations += 1;
        if self.evaluations + self.nodes > self.question.cap {
            return Err(Stop::Open(self.witness(item.pair, self.some_parts(item))));
        }
        Ok(())
    }

    /// Which joint to cut, and where: the joint that moves most.
    fn cut(&mut self, left: usize) -> Option<(usize, i64)> {
        let mut best: Option<(usize, f64)> = None;
        for item in &self.open[left..] {
            let n = item.n.map(|n| n.unit);
            if let Some(next) = self.moment.mover(item.a, item.b, n, self.question, &self.within)
                && best.is_none_or(|(_, most)| next.1 > most)
            {
                best = Some(next);
            }
        }
        best.map(|(k, _)| (k, middle(self.within.0[k])))
    }

    /// A closed mesh and what is clear of its surface: neither may be within the other.
    fn look_inside(&mut self, pair: usize) -> Result<(), Stop> {
        let asked = &self.question.pairs[pair];
        let Some((parts, point)) = self.scene.one_inside_other(&mut self.moment, asked.a, asked.b) else { return Ok(()) };
        let witness = Witness { on_a: point, on_b: point, distance: 0, ..self.witness(pair, parts) };
        let near = asked.margin > 0 && self.counts(pair);
        Err(if near { Stop::Near(witness) } else { Stop::Open(witness) })
    }

    /// Whether the middle of the box is a place where a pair must be apart.
    fn counts(&self, pair: usize) -> bool {
        self.question.reaches(&self.within) && !self.moment.may_touch_at_middle(&self.question.pairs[pair].zones)
    }

    fn give_up(&mut self, item: Item) -> Result<(), Stop> {
        let parts = self.some_parts(item);
        let witness = self.witness(item.pair, parts);
        self.leave(witness)
    }

    /// Leaves the box undecided: with a certificate asked for, the search still looks for a certain violation elsewhere.
    fn leave(&mut self, witness: Witness) -> Result<(), Stop> {
        if self.question.need == Need::Verdict {
            return Err(Stop::Open(witness));
        }
        self.too_close.get_or_insert(witness);
        Ok(())
    }

    fn some_parts(&self, item: Item) -> (usize, usize) {
        let first = |mut g: usize| loop {
            match self.scene.balls[g].holds {
                Holds::Part(p) => return p,
                Holds::Groups(left, _) => g = left,
            }
        };
        (first(item.a), first(item.b))
    }

    /// Two points of two parts near the middle of the box, at whole angles, with what their distance certainly is not above.
    fn witness(&self, pair: usize, parts: (usize, usize)) -> Witness {
        let angles = middles(&self.within);
        let mut moment = Moment::new(self.scene, 1.0);
        moment.set(&JointBox::point(&angles));
        let (on_a, on_b) = match moment.nearest(parts.0, parts.1) {
            Some(found) => (found.on_a, found.on_b),
            None => (moment.points(parts.0)[0], moment.points(parts.1)[0]),
        };
        let distance = (((on_a - on_b).length() + GUARD) * 1e6).ceil().min(2.0 * FARTHEST as f64) as i64;
        let parts = (self.scene.parts[parts.0].index, self.scene.parts[parts.1].index);
        Witness { pair, parts, angles, on_a, on_b, distance }
    }
}

/// How far the questions of one box came.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asked {
    All,
    GivenUp,
}
