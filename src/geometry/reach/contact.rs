//! The angles of one joint between which a carried body first meets a fixed one.
//!
//! Before the first of the two angles no angles of the other joints let the bodies touch; the second one is only passed
//! after they have touched, whatever the angles of the others. Both count the fixed body as anywhere within a given distance of
//! its place.

use super::top::{Top, View};
use super::{Carried, GUARD, Middle, length};
use crate::geometry::body::Body;
use crate::geometry::chain::{Chain, JointBox};
use crate::geometry::nearest::{Core, nearest};
use crate::geometry::solid::{Form, Solid};
use crate::geometry::{Fault, Vec3};

/// Where contact comes, in thousandths of a degree of true angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Contact {
    /// Not before; none if it cannot come at all.
    pub first: Option<i64>,
    /// Not later; none if that is not certain.
    pub last: Option<i64>,
}

/// The most boxes that the other joints are cut into.
const MOST_PARTS: usize = 32;

/// Solids carried to whole micrometres are known no better than this, in metres.
const ROUNDED: f64 = 2e-6;

/// What is asked.
struct Approach<'a> {
    chain: &'a Chain,
    joint: usize,
    rising: bool,
    carried: &'a Body,
    fixed: &'a Body,
    /// Metres.
    give: f64,
}

/// Where a joint that runs through its interval of `root`, upward if `rising`, first brings a carried body to a fixed one: over
/// all the other angles of `root`, and for the fixed body anywhere within `give` micrometres of its place.
pub fn contact(
    chain: &Chain,
    root: &JointBox,
    (joint, rising): (usize, bool),
    carried: &Body,
    fixed: &Body,
    give: i64,
) -> Result<Contact, Fault> {
    root.check(chain)?;
    carried.check(chain)?;
    fixed.check(chain)?;
    if fixed.carrier != 0 || carried.carrier <= joint {
        return Err(Fault::Missing("a joint between the two bodies"));
    }
    if !(0..=crate::geometry::FARTHEST).contains(&give) {
        return Err(Fault::OutOfRange("how far a body is from its place"));
    }
    let asked = Approach { chain, joint, rising, carried, fixed, give: give as f64 / 1e6 };
    let Some(first) = asked.first(root) else { return Ok(Contact { first: None, last: None }) };
    Ok(Contact { first: Some(first), last: asked.last(root, first) })
}

impl Approach<'_> {
    /// The part of the box between two angles on the way.
    fn stretch(&self, root: &JointBox, from: i64, to: i64) -> JointBox {
        let mut part = root.clone();
        part.0[self.joint] = [from.min(to), from.max(to)];
        part
    }

    fn ends(&self, root: &JointBox) -> (i64, i64) {
        let [low, high] = root.0[self.joint];
        if self.rising { (low, high) } else { (high, low) }
    }

    fn on(&self, from: i64, by: i64) -> i64 {
        if self.rising { from + by } else { from - by }
    }

    /// As far as the way is certainly clear; none if all of it is.
    fn first(&self, root: &JointBox) -> Option<i64> {
        let (mut at, end) = self.ends(root);
        let mut step = (end - at).abs().max(1);
        loop {
            let left = (end - at).abs();
            let to = self.on(at, step.min(left));
            if self.is_clear(&self.stretch(root, at, to)) {
                if to == end {
                    return None;
                }
                (at, step) = (to, step * 2);
            } else if step.min(left) <= 1 {
                return Some(at);
            } else {
                step = step.min(left) / 2;
            }
        }
    }

    /// Whether the bodies stay apart over a box; cuts it where a look does not settle that.
    fn is_clear(&self, root: &JointBox) -> bool {
        let mut open = vec![root.clone()];
        let mut looks = 0;
        while let Some(part) = open.pop() {
            looks += 1;
            let middle = Middle::of(self.chain, &part);
            let Some((a, b)) = self.doubtful(&middle) else { continue };
            if looks > MOST_PARTS || self.is_met(&middle, a, b) {
                return false;
            }
            let carrier = self.carried.carrier;
            let at = Carried::Point(a.ball().centre);
            let Some(joint) = middle.widest(&part, carrier, at) else { return false };
            open.extend(halves(&part, joint));
        }
        true
    }

    /// A pair of solids that one look does not show to be apart.
    fn doubtful(&self, middle: &Middle) -> Option<(&Solid, &Solid)> {
        for a in &self.carried.parts {
            for b in &self.fixed.parts {
                let by_balls = !b.is_half_space() && {
                    let between = middle.thing(self.carried.carrier, Carried::Point(a.ball().centre)) - b.ball().centre;
                    let far = length(between);
                    far > 1e-6 && {
                        let n = between / far;
                        let rise = middle.rise(self.carried.carrier, Carried::Point(a.ball().centre), n);
                        rise.at - rise.down - n.dot(b.ball().centre) - a.ball().radius - b.ball().radius > self.give + GUARD
                    }
                };
                let apart = || {
                    let n = self.direction(middle, a, b)?;
                    Some(self.lowest(middle, a, n) - b.support(n) > self.give + GUARD)
                };
                if !by_balls && apart() != Some(true) {
                    return Some((a, b));
                }
            }
        }
        None
    }

    /// From the fixed solid to the carried one, with the angles at the middle.
    fn direction(&self, middle: &Middle, a: &Solid, b: &Solid) -> Option<Vec3> {
        if b.is_half_space() {
            return Some(b.direction());
        }
        let n = self.near(middle, a, b)?.direction?;
        let far = length(n);
        (far > 0.5).then(|| n / far)
    }

    fn near(&self, middle: &Middle, a: &Solid, b: &Solid) -> Option<crate::geometry::nearest::Nearest> {
        let frame = &middle.placed.carriers[self.carried.carrier];
        let points: Vec<Vec3> = a.core().iter().map(|p| frame.point(*p)).collect();
        let round = |s: &Solid, direction: Vec3| (s.form() == Form::Cylinder).then(|| (direction, s.r()));
        nearest(
            &Core { points: &points, cylinder: round(a, frame.direction(a.direction())) },
            &Core { points: b.core(), cylinder: round(b, b.direction()) },
        )
    }

    /// Whether the solids meet with the angles at the middle, the fixed one where it is worst placed.
    fn is_met(&self, middle: &Middle, a: &Solid, b: &Solid) -> bool {
        if b.is_half_space() {
            let n = b.direction();
            let low = a.core().iter().map(|p| n.dot(middle.thing(self.carried.carrier, Carried::Point(*p)))).fold(f64::INFINITY, f64::min);
            return a.form() == Form::Round && low - a.r() - b.support(n) <= self.give;
        }
        let radius = |s: &Solid| if s.form() == Form::Cylinder { 0.0 } else { s.r() };
        self.near(middle, a, b).is_some_and(|f| length(f.a - f.b) <= radius(a) + radius(b) + self.give)
    }

    /// The lowest the carried solid comes along `n` over the box. The rims of a flat-ended cylinder reach below its ends by the
    /// radius times the sine of how far its axis can stand off `n`.
    fn lowest(&self, middle: &Middle, a: &Solid, n: Vec3) -> f64 {
        let low = |p: &Vec3| {
            let rise = middle.rise(self.carried.carrier, Carried::Point(*p), n);
            rise.at - rise.down
        };
        let reach = match a.form() {
            Form::Cylinder => a.r() * middle.leaning(self.carried.carrier, a.direction(), n),
            _ => a.r(),
        };
        a.core().iter().map(low).fold(f64::INFINITY, f64::min) - reach
    }

    /// Where contact has come for certain: over parts of the box, each with the point that tells it first.
    fn last(&self, root: &JointBox, first: i64) -> Option<i64> {
        let (_, end) = self.ends(root);
        let mut parts = vec![root.clone()];
        while parts.len() < MOST_PARTS / 2 {
            let middle = Middle::of(self.chain, &self.stretch(&parts[0], first, first));
            let what = Carried::Point(self.carried.parts[0].ball().centre);
            let part = self.stretch(&parts[0], first, first);
            let Some(joint) = middle.widest(&part, self.carried.carrier, what) else { break };
            let whole = parts.remove(0);
            parts.extend(halves(&whole, joint));
        }
        let mut last = first;
        for part in &parts {
            let mut soonest: Option<i64> = None;
            for a in &self.carried.parts {
                for b in &self.fixed.parts {
                    let found = self.certain(part, (first, soonest.unwrap_or(end)), a, b);
                    soonest = found.or(soonest);
                }
            }
            last = if self.rising { last.max(soonest?) } else { last.min(soonest?) };
        }
        Some(last)
    }

    /// The angle by which a point of `a` has certainly come onto `b`, no later than the end of the way.
    fn certain(&self, part: &JointBox, (first, end): (i64, i64), a: &Solid, b: &Solid) -> Option<i64> {
        let middle = Middle::of(self.chain, &self.stretch(part, first, first));
        let n = self.direction(&middle, a, b)?;
        let view = View::along(n);
        let top = Top::of(b, &view)?;
        let round = a.form() == Form::Round;
        let mut points: Vec<(Vec3, f64)> = a.core().iter().map(|p| (*p, if round { a.r() } else { 0.0 })).collect();
        if let Some(near) = self.near(&middle, a, b) {
            let local = middle.placed.carriers[self.carried.carrier].inverse().point(near.a);
            points.push((local, if round { a.r() } else { 0.0 }));
        }
        let mut soonest: Option<i64> = None;
        for (p, r) in points {
            let end = soonest.unwrap_or(end);
            soonest = self.arrives(part, (first, end), &view, (p, r), b, &top).or(soonest);
        }
        soonest
    }

    /// The angle by which a ball about a carried point has certainly come onto `b`: it started above it, kept over it, and would
    /// be inside it.
    fn arrives(&self, part: &JointBox, (first, end): (i64, i64), view: &View, ball: (Vec3, f64), b: &Solid, top: &Top) -> Option<i64> {
        let n = view.axes[2];
        let (what, r) = (Carried::Point(ball.0), ball.1);
        let range = |from: i64, to: i64, n: Vec3| {
            let rise = Middle::of(self.chain, &self.stretch(part, from, to)).rise(self.carried.carrier, what, n);
            [rise.at - rise.down - GUARD, rise.at + rise.up + GUARD]
        };
        let (start, _) = self.ends(part);
        let highest = b.support(n) + self.give;
        // Back to where the point is certainly above.
        let mut above = first;
        let mut back = 16;
        while range(above, above, n)[0] < highest {
            if above == start {
                return None;
            }
            let step = back.min((above - start).abs());
            (above, back) = (self.on(above, -step), back * 2);
        }
        let is_inside = |at: i64| {
            let aside = |axis: Vec3| {
                let [low, high] = range(above, at, axis);
                [low - self.give, high + self.give]
            };
            let under = top.under(aside(view.axes[0]), aside(view.axes[1]));
            under.is_some_and(|[least, _]| range(at, at, n)[1] - r + self.give <= least + ROUNDED)
        };
        if !is_inside(end) {
            return None;
        }
        let (mut out, mut inside) = (first, end);
        while (inside - out).abs() > 1 {
            let middle = out + (inside - out) / 2;
            if is_inside(middle) { inside = middle } else { out = middle }
        }
        Some(inside)
    }
}

fn halves(whole: &JointBox, joint: usize) -> [JointBox; 2] {
    let [low, high] = whole.0[joint];
    let middle = low + (high - low) / 2;
    [[low, middle], [middle, high]].map(|interval| {
        let mut part = whole.clone();
        part.0[joint] = interval;
        part
    })
}
