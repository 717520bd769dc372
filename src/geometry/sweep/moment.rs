//! Everything about one box of angles: where things are at its middle, and how far they can move from there.
//!
//! For joint k with axis a through o, half width h and middle m, all at the middle of the box:
//! `chord = 2 sin(min(h, pi) / 2)`, and for a point p on an outer carrier `w = a x (p - o)`, `rho = |w|`. Only the joints
//! between the two carriers count. Turning the outermost joint alone moves p along n by at most
//! `lin = sin h |n.w| + (1 - cos h) rho` (`chord rho` for h beyond a quarter turn); each joint inside it then turns that
//! step by no more than its own chord. So along a unit n the point moves by at most
//!
//! `m(p) = min( sum lin + sum chord rho min(2, sum of the chords of the joints inside it), sum chord rho )`.
//!
//! The reach of a round part is the greatest `n.p + m(p)` over its points, plus its radius. A cylinder's is that over the
//! two ends of its axis u, plus `r min(1, |n x u| + sum chord)`: the rim also tilts. A ball moves as its centre does, by
//! `sum chord rho`. At the middle a part b is apart from a part a along n, from b to a, by the support of a less the reach of b.

use super::super::chain::{JointBox, Placed};
use super::super::nearest::{Core, nearest};
use super::super::solid::Form;
use super::super::{Frame, Vec3, metres};
use super::scene::{Part, Scene};
use super::{Question, Zone};
use crate::units::trig::sin_cos_halves;
use std::f64::consts::FRAC_PI_2;

/// How far one point moves.
#[derive(Clone, Copy, Debug, Default)]
struct Motion {
    /// In any direction.
    plain: f64,
    /// Along a direction, beyond what `along` gives.
    rest: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct BallAt {
    stamp: u64,
    centre: Vec3,
    /// Motion of the centre against the cell.
    plain: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct PartAt {
    stamp: u64,
    moved: u64,
    from: usize,
    direction: Vec3,
}

/// A box of angles at its middle; used again from box to box.
pub(super) struct Moment<'a> {
    scene: &'a Scene,
    stamp: u64,
    pub(super) placed: Placed,
    pub(super) chord: Vec<f64>,
    sine: Vec<f64>,
    versine: Vec<f64>,
    steep: Vec<bool>,
    balls: Vec<BallAt>,
    parts: Vec<PartAt>,
    points: Vec<Vec3>,
    motions: Vec<Motion>,
    /// `sin h w` by point and joint.
    along: Vec<Vec3>,
    /// What every bound of motion is multiplied by: 1, save where a test wants to see that a wrong bound is caught.
    factor: f64,
}

impl<'a> Moment<'a> {
    pub(super) fn new(scene: &'a Scene, factor: f64) -> Moment<'a> {
        let joints = scene.chain.joints();
        Moment {
            scene,
            stamp: 0,
            placed: Placed::default(),
            chord: vec![0.0; joints],
            sine: vec![0.0; joints],
            versine: vec![0.0; joints],
            steep: vec![false; joints],
            balls: vec![BallAt::default(); scene.balls.len()],
            parts: vec![PartAt::default(); scene.parts.len()],
            points: scene.points.clone(),
            motions: vec![Motion::default(); scene.points.len()],
            along: vec![Vec3::ZERO; scene.points.len() * joints],
            factor,
        }
    }

    /// Goes to another box.
    pub(super) fn set(&mut self, within: &JointBox) {
        self.stamp += 1;
        for (k, [low, high]) in within.0.iter().enumerate() {
            let width = high - low;
            // A half width in halves of a thousandth is the width; the chord takes half of that again.
            let quarter = width as f64 * (std::f64::consts::PI / 180_000.0) / 4.0;
            let half = crate::units::trig::sin(quarter.min(FRAC_PI_2));
            let (sine, cosine) = sin_cos_halves(width);
            self.chord[k] = 2.0 * half;
            self.steep[k] = width > 180_000;
            self.sine[k] = sine;
            self.versine[k] = 1.0 - cosine;
        }
        let middle = |k: usize| within.0.get(k).map_or((0.0, 1.0), |[low, high]| sin_cos_halves(low + high));
        self.scene.chain.place_into(middle, &mut self.placed);
    }

    fn frame(&self, carrier: usize) -> &Frame {
        &self.placed.carriers[carrier]
    }

    /// Whether some zone holds over the whole box.
    pub(super) fn touching(&self, zones: &[Zone]) -> bool {
        zones.iter().any(|zone| {
            let (far, plain) = self.off(zone);
            far + plain <= zone.within as f64 / 1e6
        })
    }

    /// Whether some zone holds, or nearly holds, near the middle of the box.
    pub(super) fn may_touch_at_middle(&self, zones: &[Zone]) -> bool {
        // Witnesses stand at whole angles, up to half a thousandth of a degree from the middle.
        zones.iter().any(|zone| self.off(zone).0 <= zone.within as f64 / 1e6 + 1e-4)
    }

    /// How far the point of a zone is from its place at the middle, and how far it moves in the box.
    fn off(&self, zone: &Zone) -> (f64, f64) {
        let last = self.scene.chain.joints();
        let point = self.frame(last).point(metres(zone.point));
        ((point - metres(zone.centre)).length(), self.plain(point, 0.0, 0, last))
    }

    /// The sum of the chords of the joints between two carriers.
    pub(super) fn turning(&self, from: usize, to: usize) -> f64 {
        self.chord[from..to].iter().sum()
    }

    /// How far a point of carrier `to`, given in the cell, moves against carrier `from` in any direction; `more` from its axes.
    fn plain(&self, p: Vec3, more: f64, from: usize, to: usize) -> f64 {
        let mut sum = 0.0;
        for k in from..to {
            let axis = &self.placed.axes[k];
            let w = axis.direction.cross(p - axis.origin);
            sum += self.chord[k] * (w.dot(w).sqrt() + more);
        }
        sum * self.factor
    }

    /// The centre of a ball and how far it moves against a carrier; `more` as in [`Moment::plain`].
    pub(super) fn ball(&mut self, g: usize, from: usize, more: f64) -> (Vec3, f64) {
        let group = self.scene.balls[g];
        if group.carrier == 0 {
            return (group.centre, 0.0);
        }
        if self.balls[g].stamp != self.stamp {
            let centre = self.frame(group.carrier).point(group.centre);
            let plain = self.plain(centre, 0.0, 0, group.carrier);
            self.balls[g] = BallAt { stamp: self.stamp, centre, plain };
        }
        let BallAt { centre, plain, .. } = self.balls[g];
        let plain = if from == 0 && more == 0.0 { plain } else { self.plain(centre, more, from, group.carrier) };
        (centre, plain)
    }

    /// The centre of a ball in the cell.
    pub(super) fn centre(&mut self, g: usize) -> Vec3 {
        self.ball(g, 0, 0.0).0
    }

    /// The points of a part in the cell.
    pub(super) fn points(&mut self, p: usize) -> &[Vec3] {
        let part = &self.scene.parts[p];
        if part.carrier > 0 && self.parts[p].stamp != self.stamp {
            let frame = self.placed.carriers[part.carrier];
            for i in part.first..part.first + part.count {
                self.points[i] = frame.point(self.scene.points[i]);
            }
            self.parts[p].direction = frame.direction(part.direction);
            self.parts[p].stamp = self.stamp;
        }
        &self.points[part.first..part.first + part.count]
    }

    /// The axis of a cylinder or the normal of a half-space in the cell.
    pub(super) fn direction(&mut self, p: usize) -> Vec3 {
        let part = &self.scene.parts[p];
        if part.carrier == 0 {
            return part.direction;
        }
        let _ = self.points(p);
        self.parts[p].direction
    }

    /// The least `n . x` over a part at the middle of the box.
    pub(super) fn least(&mut self, p: usize, n: Vec3) -> f64 {
        let part = self.scene.parts[p];
        let least = self.points(p).iter().map(|x| x.dot(n)).fold(f64::INFINITY, f64::min);
        match part.form {
            Form::Round => least - part.r,
            Form::Cylinder => least - part.r * across(n, self.direction(p)),
            Form::HalfSpace { .. } => least,
        }
    }

    /// The greatest `n . x` over a part anywhere in the box, as seen from a carrier inside it.
    pub(super) fn reach(&mut self, p: usize, from: usize, n: Vec3) -> f64 {
        let part = self.scene.parts[p];
        let joints = part.carrier - from;
        if self.parts[p].moved != self.stamp || self.parts[p].from != from {
            self.move_points(p, &part, from);
        }
        let mut most = f64::NEG_INFINITY;
        for i in 0..part.count {
            let at = part.first + i;
            let Motion { plain, rest } = self.motions[at];
            let row = at * self.chord.len();
            let along: f64 = self.along[row..row + joints].iter().map(|w| w.dot(n).abs()).sum();
            most = most.max(self.points[at].dot(n) + self.factor * plain.min(along + rest));
        }
        most + match part.form {
            Form::Round => part.r,
            Form::Cylinder => part.r * (across(n, self.direction(p)) + self.factor * self.turning(from, part.carrier)).min(1.0),
            Form::HalfSpace { .. } => f64::INFINITY,
        }
    }

    fn move_points(&mut self, p: usize, part: &Part, from: usize) {
        let _ = self.points(p);
        let joints = self.chord.len();
        for at in part.first..part.first + part.count {
            let x = self.points[at];
            let (mut plain, mut rest, mut inside) = (0.0, 0.0, 0.0);
            for k in from..part.carrier {
                let axis = &self.placed.axes[k];
                let w = axis.direction.cross(x - axis.origin);
                let rho = w.dot(w).sqrt();
                let step = self.chord[k] * rho;
                plain += step;
                rest += step * f64::min(2.0, inside) + if self.steep[k] { step } else { self.versine[k] * rho };
                inside += self.chord[k];
                self.along[at * joints + k - from] = if self.steep[k] { Vec3::ZERO } else { w * self.sine[k] };
            }
            self.motions[at] = Motion { plain, rest };
        }
        self.parts[p].moved = self.stamp;
        self.parts[p].from = from;
    }

    /// How far joint k alone can move a point of a part's ball along n, or in any direction.
    pub(super) fn share(&mut self, g: usize, k: usize, n: Option<Vec3>) -> f64 {
        let (centre, _) = self.ball(g, 0, 0.0);
        let axis = &self.placed.axes[k];
        let w = axis.direction.cross(centre - axis.origin);
        match n {
            Some(n) if !self.steep[k] => self.sine[k] * w.dot(n).abs() + self.versine[k] * w.length(),
            _ => self.chord[k] * w.length(),
        }
    }

    /// How much of the motion of ball b against ball a halving could take away.
    pub(super) fn moves(&mut self, a: usize, b: usize, question: &Question<'_>, within: &JointBox) -> f64 {
        let (from, to) = (self.scene.balls[a].carrier, self.scene.balls[b].carrier);
        question.free(from, to, within).map(|k| self.share(b, k, None)).sum()
    }

    /// The joint whose halving takes most away, of those that can be cut, and how much.
    pub(super) fn mover(
        &mut self,
        a: usize,
        b: usize,
        n: Option<Vec3>,
        question: &Question<'_>,
        within: &JointBox,
    ) -> Option<(usize, f64)> {
        let (from, to) = (self.scene.balls[a].carrier, self.scene.balls[b].carrier);
        let shares = question.free(from, to, within).map(|k| (k, self.share(b, k, n)));
        shares.reduce(|best, next| if next.1 > best.1 { next } else { best })
    }

    /// Points of two parts at the middle of the box that are nearly nearest, and the direction from `b` to `a`.
    pub(super) fn nearest(&mut self, a: usize, b: usize) -> Option<Meeting> {
        let _ = self.points(a);
        let _ = self.points(b);
        let (first, second) = (self.scene.parts[a], self.scene.parts[b]);
        if let Form::HalfSpace { .. } = first.form {
            let n = -first.direction;
            let reach = |x: &Vec3| x.dot(n);
            let far = self.points(b).iter().copied().reduce(|m, x| if reach(&x) > reach(&m) { x } else { m })?;
            let over = match second.form {
                Form::Cylinder => {
                    let side = n - self.direction(b) * self.direction(b).dot(n);
                    side * (second.r / side.length().max(1e-12))
                }
                _ => n * second.r,
            };
            let on_b = far + over;
            let depth = on_b.dot(n) - self.points[first.first].dot(n);
            return Some(Meeting { on_a: if depth < 0.0 { on_b - n * depth } else { on_b }, on_b, n: Some(n) });
        }
        let core = |p: usize, part: &Part| Core {
            points: &self.points[part.first..part.first + part.count],
            cylinder: matches!(part.form, Form::Cylinder)
                .then(|| (if part.carrier == 0 { part.direction } else { self.parts[p].direction }, part.r)),
        };
        let found = nearest(&core(a, &first), &core(b, &second))?;
        let radius = |part: &Part| if matches!(part.form, Form::Cylinder) { 0.0 } else { part.r };
        let (ra, rb, apart) = (radius(&first), radius(&second), (found.a - found.b).length());
        let (on_a, on_b) = match found.direction {
            Some(n) if apart > ra + rb => (found.a - n * ra, found.b + n * rb),
            _ if apart <= ra + rb && ra + rb > 0.0 => {
                let shared = found.a + (found.b - found.a) * (ra / (ra + rb));
                (shared, shared)
            }
            _ => (found.a, found.b),
        };
        Some(Meeting { on_a, on_b, n: found.direction })
    }
}

/// A point of each of two parts, and a direction that may hold them apart.
pub(super) struct Meeting {
    pub(super) on_a: Vec3,
    pub(super) on_b: Vec3,
    pub(super) n: Option<Vec3>,
}

/// The length of the part of unit `n` across unit `u`.
fn across(n: Vec3, u: Vec3) -> f64 {
    let c = n.cross(u);
    c.dot(c).sqrt()
}
