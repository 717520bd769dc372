//! Whether a point that the arm carries is seen from a fixed eye, over a whole box of joint angles.
//!
//! The line of sight is a convex solid of two points, one of which moves. A body hides nothing over a box if one direction
//! keeps it on the far side of both points however the joints stand; where no direction is found the box is halved, as in
//! the proof of clearance. The same halving holds the point within the cone that the eye takes in.
//!
//! Invariant: [`Verdict::Seen`] is certified for every angle of the box. [`Verdict::Hidden`] names one set of angles at which
//! the line is broken, so that it can be looked at again; whatever lies between the two is [`Verdict::Open`].

use super::body::Body;
use super::chain::{Chain, JointBox, Placed};
use super::nearest::{Core, nearest};
use super::region::Region;
use super::solid::{Form, Solid};
use super::worst::halves;
use super::{Fault, Frame, Vec3, metres, within};
use crate::units::trig::{asin, atan2, cos, sin, sin_cos_halves};
use std::f64::consts::{FRAC_PI_2, PI};

/// What rounding may take away from a certified distance, in metres.
const GUARD: f64 = 2e-9;

/// Below this much motion of anything, in metres, a box is not halved again.
const FINEST: f64 = 2e-4;

/// A point that a carrier moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Mark {
    /// 0 for the cell, k for what moves with joint k - 1.
    pub carrier: usize,
    /// Micrometres in the carrier's coordinates.
    pub point: [i64; 3],
}

/// What an eye takes in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// The point in the middle of the picture, micrometres.
    pub looks_at: [i64; 3],
    /// From there to the edge, radians: half the full angle.
    pub half: f64,
}

/// Something that can be in the way.
#[derive(Clone, Debug)]
pub struct Opaque<'a> {
    /// Its solids and what carries them.
    pub body: &'a Body,
    /// Balls, a centre and a radius in micrometres: while the mark is certain to be in one of them, the body hides nothing. So is a
    /// load that the jaw reaches around.
    pub spared: Vec<([i64; 3], i64)>,
}

/// Whether a mark is seen.
pub struct Question<'a> {
    /// The joints.
    pub chain: &'a Chain,
    /// The eye, micrometres.
    pub eye: [i64; 3],
    /// What it takes in; none if that is not known.
    pub field: Option<Field>,
    /// What is to be seen.
    pub mark: Mark,
    /// What can be in the way.
    pub opaque: &'a [Opaque<'a>],
    /// Every set of angles to be looked at.
    pub root: &'a JointBox,
    /// What the order of two joints leaves possible.
    pub region: Option<&'a Region>,
    /// The most boxes to look at.
    pub cap: usize,
}

/// What breaks the line of sight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The body of that index stands in it.
    Body(usize),
    /// The mark is outside the picture.
    Edge,
}

/// A set of angles, in thousandths of a degree, and what is in the way there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blocked {
    /// What.
    pub by: Cause,
    /// Where.
    pub at: Vec<i64>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Seen at every set of angles.
    Seen,
    /// Not seen at one, at least.
    Hidden(Blocked),
    /// Too close to call: what could not be ruled out, and where.
    Open(Blocked),
}

/// A part that may still be in the way.
type Pair = (usize, usize);

struct Search<'a> {
    question: &'a Question<'a>,
    eye: Vec3,
    point: Vec3,
    ahead: Option<(Vec3, f64)>,
    placed: Placed,
    turns: Vec<Turn>,
}

/// A joint over the box at hand, which reaches `h` to each side of its middle.
#[derive(Clone, Copy, Default)]
struct Turn {
    /// `sin h`; past a quarter turn the chord takes its place.
    sine: f64,
    /// `1 - cos h`; past a quarter turn the chord.
    rest: f64,
    /// `2 sin(h/2)`.
    chord: f64,
}

/// Looks over the whole box.
pub fn judge(question: &Question<'_>) -> Result<Verdict, Fault> {
    question.root.check(question.chain)?;
    within(&question.eye, "the place of an eye")?;
    within(&question.mark.point, "a point to be seen")?;
    if question.mark.carrier > question.chain.joints() {
        return Err(Fault::Missing("the carrier of a point to be seen"));
    }
    question.opaque.iter().try_for_each(|o| o.body.check(question.chain))?;
    let eye = metres(question.eye);
    let ahead = match question.field {
        Some(field) => {
            within(&field.looks_at, "the point that an eye looks at")?;
            let ahead = metres(field.looks_at) - eye;
            if ahead.dot(ahead) < 1e-12 {
                return Err(Fault::Degenerate("an eye looks at the point where it is"));
            }
            Some((ahead.normalize(), field.half))
        }
        None => None,
    };
    let mut search = Search { question, eye, point: metres(question.mark.point), ahead, placed: Placed::default(), turns: Vec::new() };
    Ok(search.run())
}

/// How far a joint can turn from its start, the rest of the box as it is, with the mark certified to be seen all the way, in
/// thousandths of a degree; none if not even at the start. `towards_high` is the way it turns.
pub fn seen_until(question: &Question<'_>, joint: usize, towards_high: bool) -> Result<Option<i64>, Fault> {
    let Some(&[low, high]) = question.root.0.get(joint) else { return Err(Fault::Missing("a joint to be followed")) };
    let seen = |to: i64| {
        let mut root = question.root.clone();
        root.0[joint] = if towards_high { [low, to] } else { [to, high] };
        let asked = Question { root: &root, ..*question };
        judge(&asked).map(|v| v == Verdict::Seen)
    };
    let (start, end) = if towards_high { (low, high) } else { (high, low) };
    if !seen(start)? {
        return Ok(None);
    }
    let (mut good, mut bad) = (start, end);
    if seen(end)? {
        return Ok(Some(end));
    }
    while (bad - good).abs() > 100 {
        let middle = good + (bad - good) / 2;
        *(if seen(middle)? { &mut good } else { &mut bad }) = middle;
    }
    Ok(Some(good))
}

/// Nearly nearest points of two bodies with the joints at these angles, in metres in the cell: one of each. None where no two
/// parts have a nearest point.
#[must_use]
pub fn nearest_points(chain: &Chain, a: &Body, b: &Body, angles: &[i64]) -> Option<[Vec3; 2]> {
    let placed = chain.place_exact(angles);
    let (on_a, on_b) = (placed.carriers.get(a.carrier)?, placed.carriers.get(b.carrier)?);
    let each = a.parts.iter().flat_map(|p| b.parts.iter().map(move |q| (p, q)));
    let found = each.filter_map(|(p, q)| between((p, on_a), (q, on_b)));
    found.min_by(|x, y| (x[0] - x[1]).length().total_cmp(&(y[0] - y[1]).length()))
}

fn between((p, on_p): (&Solid, &Frame), (q, on_q): (&Solid, &Frame)) -> Option<[Vec3; 2]> {
    let core = |s: &Solid, f: &Frame| s.core().iter().map(|x| f.point(*x)).collect::<Vec<_>>();
    match (p.form(), q.form()) {
        (Form::HalfSpace { .. }, Form::HalfSpace { .. }) => None,
        (Form::HalfSpace { .. }, _) => {
            let n = p.direction();
            let low = core(q, on_q).into_iter().min_by(|x, y| n.dot(*x).total_cmp(&n.dot(*y)))? - n * q.r();
            Some([low - n * n.dot(low - p.core()[0]), low])
        }
        (_, Form::HalfSpace { .. }) => between((q, on_q), (p, on_p)).map(|[x, y]| [y, x]),
        _ => {
            let cylinder = |s: &Solid, f: &Frame| (s.form() == Form::Cylinder).then(|| (f.direction(s.direction()), s.r()));
            let (x, y) = (core(p, on_p), core(q, on_q));
            let near = nearest(&Core { points: &x, cylinder: cylinder(p, on_p) }, &Core { points: &y, cylinder: cylinder(q, on_q) })?;
            let round = |s: &Solid| if s.form() == Form::Round { s.r() } else { 0.0 };
            let apart = near.a - near.b;
            let n = if apart.length() > 1e-9 { apart.normalize() } else { Vec3::ZERO };
            Some([near.a - n * round(p), near.b + n * round(q)])
        }
    }
}

impl Search<'_> {
    fn run(&mut self) -> Verdict {
        let every = self.question.opaque.iter().enumerate();
        let all: Vec<Pair> = every.flat_map(|(i, o)| (0..o.body.parts.len()).map(move |k| (i, k))).collect();
        let mut stack = vec![(self.question.root.clone(), all)];
        let mut open = None;
        let mut count = 0;
        while let Some((within, mut pairs)) = stack.pop() {
            if self.question.region.is_some_and(|r| r.excludes(&within)) {
                continue;
            }
            count += 1;
            self.place(&within);
            let at = || within.0.iter().map(|[low, high]| low + (high - low) / 2).collect::<Vec<_>>();
            let blocked = match self.look(&mut pairs) {
                Look::Clear => continue,
                Look::Broken(by) => return Verdict::Hidden(Blocked { by, at: at() }),
                Look::Unsure(by) => Blocked { by, at: at() },
            };
            let split = self.widest(&within, &pairs);
            let Some(joint) = split.filter(|_| count < self.question.cap) else {
                open.get_or_insert(blocked);
                if count >= self.question.cap {
                    break;
                }
                continue;
            };
            let [low, high] = within.0[joint];
            let middle = low + (high - low) / 2;
            for part in [[middle, high], [low, middle]] {
                let mut inner = within.clone();
                inner.0[joint] = part;
                stack.push((inner, pairs.clone()));
            }
        }
        open.map_or(Verdict::Seen, Verdict::Open)
    }

    fn place(&mut self, within: &JointBox) {
        self.question.chain.place_into(|k| sin_cos_halves(within.0[k][0] + within.0[k][1]), &mut self.placed);
        self.turns.clear();
        self.turns.extend(halves(within).map(|h| {
            let chord = 2.0 * sin(h.min(PI) / 2.0);
            if h <= FRAC_PI_2 { Turn { sine: sin(h), rest: 1.0 - cos(h), chord } } else { Turn { sine: 0.0, rest: chord, chord } }
        }));
    }

    /// Looks along the middle of a box; takes out of `pairs` what is certified to be out of the way in all of it.
    fn look(&self, pairs: &mut Vec<Pair>) -> Look {
        let mark = self.placed.carriers[self.question.mark.carrier].point(self.point);
        let sway = self.plain(self.question.mark.carrier, mark);
        let mut unsure = match self.edge(mark, sway) {
            Look::Clear => None,
            Look::Unsure(by) => Some(by),
            broken @ Look::Broken(_) => return broken,
        };
        let spared = |o: &Opaque<'_>| {
            o.spared.iter().any(|(centre, radius)| (metres(*centre) - mark).length() + sway + GUARD <= *radius as f64 / 1e6)
        };
        let mut broken = None;
        pairs.retain(|(i, k)| {
            let opaque = &self.question.opaque[*i];
            if broken.is_some() {
                return true;
            }
            match self.past(opaque.body, &opaque.body.parts[*k], mark, sway) {
                Past::Clear => false,
                _ if spared(opaque) => true,
                Past::Hit => {
                    broken = Some(*i);
                    true
                }
                Past::Unsure => {
                    unsure.get_or_insert(Cause::Body(*i));
                    true
                }
            }
        });
        if let Some(i) = broken {
            return Look::Broken(Cause::Body(i));
        }
        if let Some(by) = unsure {
            return Look::Unsure(by);
        }
        // Past the whole surface of a mesh, the line may still lie inside it.
        let meshes = self.question.opaque.iter().enumerate().filter(|(_, o)| o.body.closed_mesh && !spared(o));
        match meshes.into_iter().find(|(_, o)| self.encloses_eye(o.body)) {
            Some((i, _)) => Look::Broken(Cause::Body(i)),
            None => Look::Clear,
        }
    }

    /// Whether the mark is inside the picture, wherever in the box.
    fn edge(&self, mark: Vec3, sway: f64) -> Look {
        let Some((ahead, half)) = self.ahead.filter(|(_, half)| *half < PI) else { return Look::Clear };
        let line = mark - self.eye;
        let far = line.length();
        if far <= 0.0 {
            return Look::Unsure(Cause::Edge);
        }
        let off = atan2(ahead.cross(line).length(), ahead.dot(line));
        if off > half {
            return Look::Broken(Cause::Edge);
        }
        let turn = if sway < far { asin(sway / far) } else { PI };
        if off + turn + 1e-12 <= half { Look::Clear } else { Look::Unsure(Cause::Edge) }
    }

    /// Whether the line of sight passes a part, wherever in the box.
    fn past(&self, body: &Body, part: &Solid, mark: Vec3, sway: f64) -> Past {
        let frame = &self.placed.carriers[body.carrier];
        if let Form::HalfSpace { .. } = part.form() {
            let n = part.direction();
            let over = |p: Vec3| n.dot(p - part.core()[0]);
            if over(self.eye) < 0.0 || over(mark) < 0.0 {
                return Past::Hit;
            }
            let moves = self.spread(n, self.question.mark.carrier, |k| self.swing(k, mark));
            return if over(self.eye) >= GUARD && over(mark) - moves >= GUARD { Past::Clear } else { Past::Unsure };
        }
        let ball = part.ball();
        let middle = frame.point(ball.centre);
        if off_segment(self.eye, mark, middle) - ball.radius - sway - self.plain(body.carrier, middle) >= GUARD {
            return Past::Clear;
        }
        let core: Vec<Vec3> = part.core().iter().map(|p| frame.point(*p)).collect();
        let cylinder = (part.form() == Form::Cylinder).then(|| (frame.direction(part.direction()), part.r()));
        let ends = [self.eye, mark];
        let Some(near) = nearest(&Core { points: &ends, cylinder: None }, &Core { points: &core, cylinder }) else { return Past::Unsure };
        let round = if cylinder.is_some() { 0.0 } else { part.r() };
        if (near.a - near.b).length() <= round.max(1e-9) {
            return Past::Hit;
        }
        match near.direction {
            Some(n) if self.parts(n, body.carrier, &core, cylinder, part.r(), mark) => Past::Clear,
            _ => Past::Unsure,
        }
    }

    /// Whether a unit direction keeps the part on the far side of eye and mark, wherever in the box.
    fn parts(&self, n: Vec3, carrier: usize, core: &[Vec3], cylinder: Option<(Vec3, f64)>, r: f64, mark: Vec3) -> bool {
        let round = match cylinder {
            // The rim of a flat end turns with the axis.
            Some((axis, r)) => {
                let tilt: f64 = self.turns[..carrier].iter().map(|t| t.chord).sum();
                r * (n.cross(axis).length() + tilt).min(1.0)
            }
            None => r,
        };
        let apart = |from: Vec3, moves: f64, p: Vec3| n.dot(from - p) - moves - round >= GUARD;
        core.iter().all(|p| {
            // Of mark and part, what turns both turns their difference; the eye stands still.
            let eye = self.spread(n, carrier, |k| self.swing(k, *p));
            let both = carrier.max(self.question.mark.carrier);
            let difference = |k: usize| {
                let mut w = Vec3::ZERO;
                if k < self.question.mark.carrier {
                    w += self.swing(k, mark);
                }
                if k < carrier {
                    w -= self.swing(k, *p);
                }
                w
            };
            apart(self.eye, eye, *p) && apart(mark, self.spread(n, both, difference), *p)
        })
    }

    /// The velocity of a place for a unit rate of a joint, at the middle of the box.
    fn swing(&self, joint: usize, p: Vec3) -> Vec3 {
        let axis = &self.placed.axes[joint];
        axis.direction.cross(p - axis.origin)
    }

    /// How far something can move along a unit direction over the box, given its velocity for each of the first joints: the
    /// innermost turned first, each further turn is bent by those before it.
    fn spread(&self, n: Vec3, joints: usize, swing: impl Fn(usize) -> Vec3) -> f64 {
        let (mut along, mut plain, mut before) = (0.0, 0.0, 0.0_f64);
        for (k, turn) in self.turns.iter().enumerate().take(joints) {
            let w = swing(k);
            let rho = w.length();
            along += turn.sine * n.dot(w).abs().min(rho) + turn.rest * rho + turn.chord * rho * before.min(2.0);
            plain += turn.chord * rho;
            before += turn.chord;
        }
        along.min(plain)
    }

    /// How far a place of a carrier can move over the box, any way.
    fn plain(&self, carrier: usize, p: Vec3) -> f64 {
        (0..carrier).map(|k| self.turns[k].chord * self.swing(k, p).length()).sum()
    }

    /// The joint whose interval moves mark and parts most; none where nothing moves enough to matter.
    fn widest(&self, within: &JointBox, pairs: &[Pair]) -> Option<usize> {
        let mark = self.placed.carriers[self.question.mark.carrier].point(self.point);
        let mut best = None;
        let mut most = FINEST;
        for (k, turn) in self.turns.iter().enumerate() {
            if within.0[k][1] - within.0[k][0] < 2 {
                continue;
            }
            let reach = |carrier: usize, p: Vec3, r: f64| if k < carrier { self.swing(k, p).length() + r } else { 0.0 };
            let parts = pairs.iter().map(|(i, part)| {
                let body = self.question.opaque[*i].body;
                let ball = body.parts[*part].ball();
                if body.carrier > k { reach(body.carrier, self.placed.carriers[body.carrier].point(ball.centre), ball.radius) } else { 0.0 }
            });
            let moves = turn.chord * parts.fold(reach(self.question.mark.carrier, mark, 0.0), f64::max);
            if moves > most {
                (best, most) = (Some(k), moves);
            }
        }
        best
    }

    /// Whether the eye is inside a closed mesh: the solid angles of its triangles add up to the whole sphere.
    fn encloses_eye(&self, body: &Body) -> bool {
        let frame = &self.placed.carriers[body.carrier];
        let angle: f64 = body
            .parts
            .iter()
            .map(|t| {
                // Van Oosterom and Strackee, The solid angle of a plane triangle, IEEE Trans. Biomed. Eng. 30 (1983).
                let [a, b, c] = [0, 1, 2].map(|i| frame.point(t.core()[i]) - self.eye);
                let (x, y, z) = (a.length(), b.length(), c.length());
                2.0 * atan2(a.dot(b.cross(c)), x * y * z + a.dot(b) * z + b.dot(c) * x + c.dot(a) * y)
            })
            .sum();
        angle.abs() > 2.0 * PI
    }
}

enum Look {
    Clear,
    Broken(Cause),
    Unsure(Cause),
}

enum Past {
    Clear,
    Hit,
    Unsure,
}

/// The distance of a point from a segment.
fn off_segment(a: Vec3, b: Vec3, p: Vec3) -> f64 {
    let along = b - a;
    let square = along.dot(along);
    let share = if square > 0.0 { ((p - a).dot(along) / square).clamp(0.0, 1.0) } else { 0.0 };
    (a + along * share - p).length()
}
