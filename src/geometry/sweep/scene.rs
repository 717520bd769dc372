//! A scene made ready for many questions: parts in rows, and for each body a tree of balls over its parts.

use super::super::body::Body;
use super::super::chain::Chain;
use super::super::solid::{Ball, Form};
use super::super::{FARTHEST, Fault, Vec3};
use super::{Pair, Question};

/// A chain and everything it or the cell may carry. Which bodies are there, a question's pairs say.
#[derive(Clone, Debug)]
pub struct Scene {
    pub(super) chain: Chain,
    pub(super) bodies: Vec<Body>,
    pub(super) parts: Vec<Part>,
    /// Core points of all parts, in the coordinates of their carriers.
    pub(super) points: Vec<Vec3>,
    pub(super) balls: Vec<Group>,
    /// By body, its topmost ball.
    pub(super) roots: Vec<usize>,
    /// By body, the index of its first part in the row.
    pub(super) first: Vec<usize>,
    /// By body, parts of which one point each tells whether the body is inside another: every part, or of a mesh one
    /// triangle of each connected set.
    pub(super) seeds: Vec<Vec<usize>>,
}

/// A convex part of a body.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    /// Index within its body.
    pub(super) index: usize,
    pub(super) carrier: usize,
    pub(super) form: Form,
    /// Its points: from, and how many.
    pub(super) first: usize,
    pub(super) count: usize,
    pub(super) r: f64,
    /// Axis of a cylinder, normal of a half-space, in the coordinates of the carrier.
    pub(super) direction: Vec3,
}

/// A ball over one part or over two groups of parts of one body.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    pub(super) centre: Vec3,
    pub(super) radius: f64,
    pub(super) carrier: usize,
    pub(super) holds: Holds,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Holds {
    Part(usize),
    Groups(usize, usize),
}

impl Scene {
    /// Makes a scene ready; refuses bodies that the chain cannot carry.
    pub fn new(chain: Chain, bodies: Vec<Body>) -> Result<Scene, Fault> {
        let mut scene = Scene {
            chain,
            bodies: Vec::new(),
            parts: Vec::new(),
            points: Vec::new(),
            balls: Vec::new(),
            roots: Vec::new(),
            first: Vec::new(),
            seeds: Vec::new(),
        };
        for body in &bodies {
            body.check(&scene.chain)?;
            scene.add(body);
        }
        scene.bodies = bodies;
        Ok(scene)
    }

    /// The chain.
    #[must_use]
    pub fn chain(&self) -> &Chain {
        &self.chain
    }

    /// The bodies.
    #[must_use]
    pub fn bodies(&self) -> &[Body] {
        &self.bodies
    }

    /// Two bodies to keep apart everywhere, in the order that a question wants.
    #[must_use]
    pub fn pair(&self, a: usize, b: usize, margin: i64) -> Pair {
        let carrier = |k: usize| self.bodies.get(k).map_or(0, |body| body.carrier);
        let (a, b) = if carrier(a) <= carrier(b) { (a, b) } else { (b, a) };
        Pair { a, b, margin, zones: Vec::new() }
    }

    /// Refuses a question that does not fit the scene.
    pub(super) fn check(&self, question: &Question<'_>) -> Result<(), Fault> {
        question.root.check(&self.chain)?;
        if question.splittable.iter().any(|k| *k >= self.chain.joints()) {
            return Err(Fault::Missing("a joint to cut"));
        }
        if let Some(region) = question.region {
            region.check(&self.chain)?;
        }
        for pair in question.pairs {
            let (Some(a), Some(b)) = (self.bodies.get(pair.a), self.bodies.get(pair.b)) else {
                return Err(Fault::Missing("a body of a pair"));
            };
            if a.carrier > b.carrier || pair.a == pair.b {
                return Err(Fault::Degenerate("a pair names two bodies, that on the inner carrier first"));
            }
            if b.carrier == 0 {
                return Err(Fault::Degenerate("both bodies of a pair belong to the cell and never move"));
            }
            if !(0..=FARTHEST).contains(&pair.margin) {
                return Err(Fault::OutOfRange("a margin"));
            }
            let fits = |zone: &super::Zone| {
                let near = |c: &i64| (-FARTHEST..=FARTHEST).contains(c);
                zone.point.iter().chain(&zone.centre).all(near) && (0..=FARTHEST).contains(&zone.within)
            };
            if !pair.zones.iter().all(fits) {
                return Err(Fault::OutOfRange("a zone of contact"));
            }
        }
        Ok(())
    }

    /// Two groups that are not both single parts, the greater taken in two.
    pub(super) fn halves(&self, a: usize, b: usize) -> [(usize, usize); 2] {
        match (self.balls[a].holds, self.balls[b].holds) {
            (Holds::Groups(left, right), Holds::Part(_)) => [(left, b), (right, b)],
            (Holds::Groups(left, right), _) if self.balls[a].radius >= self.balls[b].radius => [(left, b), (right, b)],
            (_, Holds::Groups(left, right)) => [(a, left), (a, right)],
            (Holds::Part(_), Holds::Part(_)) => [(a, b), (a, b)],
        }
    }

    fn add(&mut self, body: &Body) {
        let first = self.parts.len();
        let mut leaves = Vec::with_capacity(body.parts.len());
        for (index, solid) in body.parts.iter().enumerate() {
            let part = Part {
                index,
                carrier: body.carrier,
                form: solid.form(),
                first: self.points.len(),
                count: solid.core().len(),
                r: solid.r(),
                direction: solid.direction(),
            };
            self.points.extend_from_slice(solid.core());
            let Ball { centre, radius } = solid.ball();
            let radius = if solid.is_half_space() { f64::INFINITY } else { radius };
            leaves.push(self.balls.len());
            self.balls.push(Group { centre, radius, carrier: body.carrier, holds: Holds::Part(self.parts.len()) });
            self.parts.push(part);
        }
        let root = self.gather(&mut leaves);
        self.roots.push(root);
        self.first.push(first);
        self.seeds.push(if body.closed_mesh { connected(body) } else { (0..body.parts.len()).collect() });
    }

    /// A tree over some balls: halved along the longest side of their centres, ties by their order.
    fn gather(&mut self, leaves: &mut [usize]) -> usize {
        if let [one] = leaves {
            return *one;
        }
        let (mut low, mut high) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
        for leaf in leaves.iter() {
            low = low.min(self.balls[*leaf].centre);
            high = high.max(self.balls[*leaf].centre);
        }
        let side = high - low;
        let axis = (0..3).fold(0, |best, k| if side[k] > side[best] { k } else { best });
        leaves.sort_by(|a, b| self.balls[*a].centre[axis].total_cmp(&self.balls[*b].centre[axis]).then(a.cmp(b)));
        let (left, right) = leaves.split_at_mut(leaves.len() / 2);
        let (left, right) = (self.gather(left), self.gather(right));
        let centre = (low + high) / 2.0;
        let reach = |g: usize| (self.balls[g].centre - centre).length() + self.balls[g].radius;
        // Rounding must not leave a ball outside the one over it.
        let radius = reach(left).max(reach(right)) * (1.0 + 1e-12) + 1e-12;
        let carrier = self.balls[left].carrier;
        self.balls.push(Group { centre, radius, carrier, holds: Holds::Groups(left, right) });
        self.balls.len() - 1
    }
}

/// One triangle of each set that hangs together by vertices.
fn connected(body: &Body) -> Vec<usize> {
    let mut corners: Vec<([i64; 3], usize)> =
        body.parts.iter().enumerate().flat_map(|(i, part)| part.points().iter().map(move |p| (*p, i))).collect();
    corners.sort_unstable();
    let mut head: Vec<usize> = (0..body.parts.len()).collect();
    fn find(head: &mut [usize], mut i: usize) -> usize {
        while head[i] != i {
            head[i] = head[head[i]];
            i = head[i];
        }
        i
    }
    for pair in corners.windows(2).filter(|pair| pair[0].0 == pair[1].0) {
        let (a, b) = (find(&mut head, pair[0].1), find(&mut head, pair[1].1));
        head[a.max(b)] = a.min(b);
    }
    (0..body.parts.len()).filter(|i| head[*i] == *i).collect()
}
