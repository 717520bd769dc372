//! Where carried things are over a box of joint angles, certified: bands of points, how a joint moves them, how they are
//! turned and tilted.
//!
//! Invariant: no angles inside the box bring the thing outside what is said here; whole numbers are rounded outward. How
//! tight it is depends on the box and is never promised.
//!
//! About the middle of the box the joints i inboard of a thing x turn it by L1 L2 ... Lm. Then x(q) - x is the sum of
//! L1 ... L(i-1) (Ri - 1) x, where Ri turns about joint i as it is in the middle. Along a direction n each term is
//! n · (Ri - 1) x, a sine curve whose greatest value is known, and at most chord(i) ρi Σ chord(k) |ak × n| over the joints k
//! inboard of i, where chord is 2 sin(h/2) of half the width h and ρi how far x is from the axis.

mod attitude;
mod contact;
mod height;
#[cfg(test)]
mod tests;
mod top;

pub use attitude::{between, heading, roll, turned};
pub use contact::{Contact, contact};
pub use height::{Height, height};

use super::chain::{Chain, JointBox, Placed};
use super::{FARTHEST, Fault, Vec3, within};
use crate::units::trig;
use std::f64::consts::{FRAC_PI_2, PI};

/// A guard for the rounding of floating point, in metres and radians: far above what it adds up to within 1 km.
pub(super) const GUARD: f64 = 1e-9;

/// The most boxes that one question is cut into.
const MOST_BOXES: usize = 256;

/// Below this, in metres or parts of a unit direction, a bound is tight enough.
const FINE: f64 = 20e-6;

/// Something carried, in its carrier's coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Carried {
    /// A point, in metres.
    Point(Vec3),
    /// A direction, of length one.
    Direction(Vec3),
}

/// A box of angles seen from its middle.
pub(super) struct Middle {
    /// Everything at the middle.
    pub(super) placed: Placed,
    /// Half the width of each interval in radians; more than half a turn counts as that.
    pub(super) half: Vec<f64>,
    /// What half the width comes to, for each joint.
    turns: Vec<Turn>,
}

/// A turn by half the width of an interval.
#[derive(Clone, Copy)]
struct Turn {
    sine: f64,
    cosine: f64,
    /// The chord of twice the turn.
    chord: f64,
}

impl Middle {
    pub(super) fn of(chain: &Chain, root: &JointBox) -> Middle {
        let mut placed = Placed::default();
        chain.place_into(|k| trig::sin_cos_halves(root.0[k][0] + root.0[k][1]), &mut placed);
        let half: Vec<f64> = root.0.iter().map(|[low, high]| ((high - low) as f64 * PI / 360_000.0).min(PI)).collect();
        let turns = half.iter().map(|h| Turn { sine: trig::sin(*h), cosine: trig::cos(*h), chord: chord(*h) }).collect();
        Middle { placed, half, turns }
    }

    /// The thing in the cell, with the angles at the middle.
    pub(super) fn thing(&self, carrier: usize, what: Carried) -> Vec3 {
        match what {
            Carried::Point(p) => self.placed.carriers[carrier].point(p),
            Carried::Direction(d) => self.placed.carriers[carrier].direction(d),
        }
    }

    /// From the axis of a joint to the thing.
    fn arm(&self, joint: usize, what: Carried, thing: Vec3) -> Vec3 {
        match what {
            Carried::Point(_) => thing - self.placed.axes[joint].origin,
            Carried::Direction(_) => thing,
        }
    }

    /// Where the thing is along a direction of the cell, and how far up and down from there it can be.
    pub(super) fn rise(&self, carrier: usize, what: Carried, n: Vec3) -> Rise {
        let thing = self.thing(carrier, what);
        let (mut up, mut down, mut inner) = (0.0, 0.0, 0.0_f64);
        for i in 0..carrier {
            let (axis, turn) = (self.placed.axes[i].direction, self.turns[i]);
            if self.half[i] == 0.0 {
                continue;
            }
            let across = axis.cross(self.arm(i, what, thing));
            let (first, second) = (n.dot(across), n.dot(axis.cross(across)));
            let turned = turn.chord * length(across) * inner.min(2.0);
            up += most_of_wave(first, second, turn) + turned;
            down += most_of_wave(-first, -second, turn) + turned;
            inner += turn.chord * length(axis.cross(n));
        }
        Rise { at: n.dot(thing), up, down }
    }

    /// The greatest sine of the angle between a carried direction and a fixed one.
    fn leaning(&self, carrier: usize, carried: Vec3, fixed: Vec3) -> f64 {
        let u = self.thing(carrier, Carried::Direction(carried));
        let turned = |i: usize| self.turns[i].chord * length(self.placed.axes[i].direction.cross(u));
        (length(fixed.cross(u)) + (0..carrier).map(turned).sum::<f64>()).min(1.0)
    }

    /// The greatest distance of the thing from a fixed point.
    fn away(&self, carrier: usize, what: Carried, from: Vec3) -> f64 {
        let thing = self.thing(carrier, what);
        let (mut swings, mut rest, mut inner) = (Vec::with_capacity(carrier), 0.0, 0.0_f64);
        for i in 0..carrier {
            let (axis, turn) = (self.placed.axes[i].direction, self.turns[i]);
            if self.half[i] == 0.0 {
                continue;
            }
            let across = axis.cross(self.arm(i, what, thing));
            let far = length(across);
            // A turn past a quarter has passed the greatest sine.
            swings.push(across * if self.half[i] >= FRAC_PI_2 { 1.0 } else { turn.sine });
            rest += (1.0 - turn.cosine) * far + turn.chord * far * inner.min(2.0);
            inner += turn.chord;
        }
        farthest(thing - from, &swings) + rest
    }

    /// The joint whose interval is best halved for a thing; none if no interval can be.
    fn widest(&self, root: &JointBox, carrier: usize, what: Carried) -> Option<usize> {
        let thing = self.thing(carrier, what);
        let weight = |i: usize| {
            let across = self.placed.axes[i].direction.cross(self.arm(i, what, thing));
            self.half[i] * (length(across) + 0.1)
        };
        (0..carrier).filter(|i| root.0[*i][1] - root.0[*i][0] > 1).max_by(|a, b| weight(*a).total_cmp(&weight(*b)))
    }

    /// The corner of the box that a first look takes for the highest along `n`.
    fn corner(&self, root: &JointBox, carrier: usize, what: Carried, n: Vec3) -> Vec<i64> {
        let thing = self.thing(carrier, what);
        let side = |i: usize| {
            let across = self.placed.axes[i].direction.cross(self.arm(i, what, thing));
            if n.dot(across) >= 0.0 { root.0[i][1] } else { root.0[i][0] }
        };
        (0..root.0.len()).map(|i| if i < carrier { side(i) } else { root.0[i][0] }).collect()
    }
}

/// Where something is along a direction: at the middle, and the most it can be above and below.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rise {
    pub(super) at: f64,
    pub(super) up: f64,
    pub(super) down: f64,
}

/// The chord of twice half the width.
pub(super) fn chord(h: f64) -> f64 {
    2.0 * trig::sin(h / 2.0)
}

/// The length of a vector, on exact square roots.
pub(super) fn length(v: Vec3) -> f64 {
    v.dot(v).sqrt()
}

/// The greatest value of `first` sin d + `second` (1 - cos d) for d up to a turn either way.
fn most_of_wave(first: f64, second: f64, turn: Turn) -> f64 {
    let far = (first * first + second * second).sqrt();
    // The top of the wave has the cosine -second / far: it is within the turn if that is no less than the turn's own.
    if -second >= turn.cosine * far {
        return second + far;
    }
    first.abs() * turn.sine + second * (1.0 - turn.cosine)
}

/// The greatest length of `from` plus or minus each of the swings: a convex function has its greatest value at a corner.
pub(super) fn farthest(from: Vec3, swings: &[Vec3]) -> f64 {
    if swings.len() > 10 {
        return length(from) + swings.iter().map(|s| length(*s)).sum::<f64>();
    }
    let corner = |signs: usize| {
        let sum = swings.iter().enumerate().fold(from, |sum, (i, s)| if signs >> i & 1 == 0 { sum + *s } else { sum - *s });
        length(sum)
    };
    (0..1 << swings.len()).map(corner).fold(0.0, f64::max)
}

/// What a look at one box says.
pub(super) struct Look {
    /// Nothing in the box is greater.
    pub(super) most: f64,
    /// Something in the box is as great.
    pub(super) reached: f64,
    /// The joint to halve if that is not good enough.
    pub(super) halve: Option<usize>,
}

/// A bound that nothing in the box exceeds, by halving where it is greatest.
pub(super) fn greatest(chain: &Chain, root: &JointBox, fine: f64, cap: usize, look: impl Fn(&Middle, &JointBox) -> Look) -> f64 {
    let at = |part: &JointBox| look(&Middle::of(chain, part), part);
    let mut open = vec![(at(root), root.clone())];
    let mut reached = open[0].0.reached;
    for _ in 0..cap {
        let worst = (0..open.len()).reduce(|a, b| if open[b].0.most > open[a].0.most { b } else { a }).unwrap_or(0);
        let most = open[worst].0.most;
        let Some(joint) = open[worst].0.halve.filter(|_| most - reached > fine) else { return most };
        let whole = open.swap_remove(worst).1;
        let [low, high] = whole.0[joint];
        let middle = low + (high - low) / 2;
        for interval in [[low, middle], [middle, high]] {
            let mut part = whole.clone();
            part.0[joint] = interval;
            let found = at(&part);
            reached = reached.max(found.reached);
            open.push((Look { most: found.most.min(most), ..found }, part));
        }
    }
    open.iter().map(|(l, _)| l.most).fold(f64::NEG_INFINITY, f64::max)
}

fn fits(chain: &Chain, root: &JointBox, carrier: usize, what: Carried) -> Result<(), Fault> {
    root.check(chain)?;
    if carrier > chain.joints() {
        return Err(Fault::Missing("the carrier of a point"));
    }
    match what {
        Carried::Point(p) if !p.is_finite() || p.abs().max_element() > FARTHEST as f64 / 1e6 => Err(Fault::OutOfRange("a carried point")),
        Carried::Direction(d) if !d.is_finite() || (length(d) - 1.0).abs() > 1e-6 => {
            Err(Fault::Degenerate("a carried direction is not of length one"))
        }
        _ => Ok(()),
    }
}

/// The greatest `n` · x over the box, never less than it is: metres for a point, a cosine for a direction. `n` has length one.
pub fn most_along(chain: &Chain, root: &JointBox, carrier: usize, what: Carried, n: Vec3) -> Result<f64, Fault> {
    fits(chain, root, carrier, what)?;
    Ok(highest(chain, root, carrier, what, n))
}

pub(super) fn highest(chain: &Chain, root: &JointBox, carrier: usize, what: Carried, n: Vec3) -> f64 {
    let most = greatest(chain, root, FINE, MOST_BOXES, |middle, part| {
        let rise = middle.rise(carrier, what, n);
        let there = chain.place_exact(&middle.corner(part, carrier, what, n)).carriers[carrier];
        let reached = match what {
            Carried::Point(p) => n.dot(there.point(p)),
            Carried::Direction(d) => n.dot(there.direction(d)),
        };
        Look { most: rise.at + rise.up, reached, halve: middle.widest(part, carrier, what) }
    });
    most + GUARD
}

/// The lowest and the highest x, y and z of a carried point over the box: whole micrometres, outward.
pub fn band(chain: &Chain, root: &JointBox, carrier: usize, point: Vec3) -> Result<[[i64; 2]; 3], Fault> {
    let what = Carried::Point(point);
    fits(chain, root, carrier, what)?;
    let mut out = [[0; 2]; 3];
    for (side, n) in out.iter_mut().zip([Vec3::X, Vec3::Y, Vec3::Z]) {
        let (high, low) = (highest(chain, root, carrier, what, n), -highest(chain, root, carrier, what, -n));
        *side = [(low * 1e6).floor() as i64, (high * 1e6).ceil() as i64];
    }
    Ok(out)
}

/// The greatest distance of a carried point from a fixed one over the box: micrometres, rounded up.
pub fn distance_at_most(chain: &Chain, root: &JointBox, carrier: usize, point: Vec3, from: [i64; 3]) -> Result<i64, Fault> {
    let what = Carried::Point(point);
    fits(chain, root, carrier, what)?;
    within(&from, "a point")?;
    let from = super::metres(from);
    let most = greatest(chain, root, FINE, MOST_BOXES, |middle, part| {
        let toward = middle.thing(carrier, what) - from;
        let n = if length(toward) > 1e-6 { toward / length(toward) } else { Vec3::X };
        let there = chain.place_exact(&middle.corner(part, carrier, what, n)).carriers[carrier].point(point);
        Look { most: middle.away(carrier, what, from), reached: length(there - from), halve: middle.widest(part, carrier, what) }
    });
    Ok(((most + GUARD) * 1e6).ceil() as i64)
}

/// How a joint moves a carried point: micrometres for one degree in the positive direction, to first order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Lever {
    /// Along x, y and z of the cell.
    pub along: [i64; 3],
}

impl Lever {
    /// The horizontal part.
    #[must_use]
    pub fn horizontal(&self) -> i64 {
        let [x, y, _] = self.along.map(|c| c as f64);
        (x * x + y * y).sqrt().round() as i64
    }

    /// The vertical part, upward positive.
    #[must_use]
    pub fn vertical(&self) -> i64 {
        self.along[2]
    }

    /// The whole.
    #[must_use]
    pub fn whole(&self) -> i64 {
        let [x, y, z] = self.along.map(|c| c as f64);
        (x * x + y * y + z * z).sqrt().round() as i64
    }
}

/// How each joint inboard of a carrier moves a point of it, at one set of angles in thousandths of a degree; zero for the
/// joints outboard.
pub fn levers(chain: &Chain, mdeg: &[i64], carrier: usize, point: Vec3) -> Result<Vec<Lever>, Fault> {
    fits(chain, &JointBox::point(mdeg), carrier, Carried::Point(point))?;
    let placed = chain.place_exact(mdeg);
    let thing = placed.carriers[carrier].point(point);
    let lever = |(i, axis): (usize, &super::chain::Axis)| {
        let swing = if i < carrier { axis.direction.cross(thing - axis.origin) * (PI / 180.0 * 1e6) } else { Vec3::ZERO };
        Lever { along: [swing.x, swing.y, swing.z].map(|c| c.round() as i64) }
    };
    Ok(placed.axes.iter().enumerate().map(lever).collect())
}
