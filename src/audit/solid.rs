//! Convex solids: how far they reach along a direction, how far they can move while the joints stay in a box, and whether a
//! point lies in one.
//!
//! The bound of a motion. Let a point p of a body be carried by joints 1 to m, all at the middle of the box, each free to turn
//! by h_k either way. Turn the innermost joint first, then the next: p' - p = sum over k of R_1 .. R_(k-1) (R_k p - p), with p
//! at its place in the middle throughout. With a_k the axis, r_k from the axis to p and rho_k = |a_k x r_k|, a term is at most
//! 2 sin(h_k/2) rho_k long. Along a direction n it is at most sin h_k |n . (a_k x r_k)| + (1 - cos h_k) rho_k for k = 1; for
//! later ones comes the turn of the term by the joints before it, at most 2 sin(h_k/2) rho_k min(2, sum before of 2 sin(h_i/2)).
//! A ball moves as its middle does; the rim of a flat-ended cylinder also tilts, by the sum of the chords at most.

use super::frame::{Frame, Stand, V, add, cross, dot, length, metres, middle_of, norm, scale, sub, unit};
use super::read::Part;
use std::f64::consts::{FRAC_PI_2, PI};

/// A part in metres, in the frame of its carrier.
#[derive(Clone, Debug)]
pub(super) struct Solid {
    pub(super) points: Vec<V>,
    pub(super) radius: f64,
    /// Of a cylinder.
    pub(super) flat: bool,
    /// Of a half-space, out of the solid.
    pub(super) normal: Option<V>,
    /// A ball that holds it.
    centre: V,
    reach: f64,
}

/// A solid in the cell, with the arm at the middle of a box.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) points: Vec<V>,
    centre: V,
    normal: Option<V>,
}

/// A box: the arm at its middle, and by how much each joint can turn from there.
pub(super) struct Middle {
    pub(super) stand: Stand,
    pub(super) half: Vec<f64>,
}

/// The chord of a turn by `h` at a radius of one.
fn chord(h: f64) -> f64 {
    2.0 * libm::sin(h.min(PI) / 2.0)
}

impl Middle {
    /// How far a point can move against the frame of joint `inboard` (0: the cell) while joints up to `outboard` turn.
    pub(super) fn plain(&self, p: V, inboard: usize, outboard: usize) -> f64 {
        (inboard..outboard).map(|k| self.arm(k, p).1 * chord(self.half[k])).sum()
    }
    /// The same along a direction of length one.
    fn along(&self, p: V, n: V, inboard: usize, outboard: usize) -> f64 {
        let (mut sum, mut turned) = (0.0, 0.0);
        for k in inboard..outboard {
            let ((speed, rho), h) = (self.arm(k, p), self.half[k]);
            let c = chord(h);
            let straight = if h <= FRAC_PI_2 { libm::sin(h) * dot(n, speed).abs() + (1.0 - libm::cos(h)) * rho } else { c * rho };
            sum += straight + c * rho * f64::min(2.0, turned);
            turned += c;
        }
        sum.min(self.plain(p, inboard, outboard))
    }
    /// Of a point and a joint, counted from 0: a x r and its length.
    pub(super) fn arm(&self, joint: usize, p: V) -> (V, f64) {
        let (axis, origin) = self.stand.axes[joint];
        let speed = cross(axis, sub(p, origin));
        (speed, norm(speed))
    }
}

impl Solid {
    /// The error says why it is none.
    pub(super) fn new(part: &Part) -> Result<Solid, &'static str> {
        let (points, radius, flat, normal) = match part {
            Part::Round { points, radius } => (points.iter().map(|p| metres(*p)).collect::<Vec<_>>(), *radius, false, None),
            Part::Cylinder { a, b, radius } => (vec![metres(*a), metres(*b)], *radius, true, None),
            Part::HalfSpace { point, normal } => (vec![metres(*point)], 0, false, Some(unit(*normal).ok_or("its normal is null")?)),
        };
        if points.is_empty() || radius < 0 || (flat && (radius == 0 || points[0] == points[1])) {
            return Err("it has no points, no radius or no length");
        }
        let (centre, radius) = (middle_of(points.iter().copied()), length(radius));
        let farthest = points.iter().map(|p| norm(sub(*p, centre))).fold(0.0, f64::max);
        let reach = if flat { libm::hypot(farthest, radius) } else { farthest + radius };
        Ok(Solid { points, radius, flat, normal, centre, reach: if normal.is_some() { f64::INFINITY } else { reach } })
    }
    pub(super) fn place(&self, frame: &Frame) -> Placed {
        let points = self.points.iter().map(|p| frame.point(*p)).collect();
        Placed { points, centre: frame.point(self.centre), normal: self.normal.map(|n| frame.turn(n)) }
    }
    /// How much of the radius it reaches along `n` beyond its core points: all of it, save where the ends are flat.
    fn rim(&self, at: &Placed, n: V) -> f64 {
        if !self.flat {
            return 1.0;
        }
        let axis = sub(at.points[1], at.points[0]);
        norm(cross(n, axis)) / norm(axis)
    }
    /// Whether a point of its frame lies in it or nearer than `slack` to it.
    pub(super) fn holds(&self, p: V, slack: f64) -> bool {
        if self.flat {
            let (from, to) = (sub(p, self.points[0]), sub(self.points[1], self.points[0]));
            let (size, along) = (norm(to), dot(from, to) / norm(to));
            return along >= -slack && along <= size + slack && norm(sub(from, scale(to, along / size))) <= self.radius + slack;
        }
        // Walk from vertex to vertex towards the point; where it stands is always a point of the hull.
        let mut at = self.points[0];
        for _ in 0..2_000 {
            let d = sub(p, at);
            if norm(d) <= self.radius + slack {
                return true;
            }
            let Some(best) = self.points.iter().max_by(|a, b| dot(**a, d).total_cmp(&dot(**b, d))) else { return false };
            let step = sub(*best, at);
            let (gain, size) = (dot(step, d), dot(step, step));
            if gain <= 0.0 || size == 0.0 {
                return false;
            }
            at = add(at, scale(step, (gain / size).min(1.0)));
        }
        false
    }
}

/// Two parts at the middle of a box: `inner` on the inboard carrier, `outer` on the outboard one.
pub(super) struct Facing<'a> {
    pub(super) inner: (&'a Solid, &'a Placed, usize),
    pub(super) outer: (&'a Solid, &'a Placed, usize),
}

impl Facing<'_> {
    /// A clearance over the whole box that the bounding balls are sure of: a ball moves as its middle does.
    pub(super) fn by_balls(&self, middle: &Middle) -> f64 {
        let ((a, at_a, inboard), (b, at_b, outboard)) = (self.inner, self.outer);
        let between = match at_a.normal {
            Some(normal) => dot(normal, sub(at_b.centre, at_a.points[0])),
            None => norm(sub(at_a.centre, at_b.centre)) - a.reach,
        };
        between - b.reach - middle.plain(at_b.centre, inboard, outboard)
    }
    /// A clearance over the whole box along `n`, which points from the inner part to the outer one.
    pub(super) fn along(&self, n: V, middle: &Middle) -> f64 {
        let ((a, at_a, inboard), (b, at_b, outboard)) = (self.inner, self.outer);
        let far = |at: &Placed, n: V| at.points.iter().map(|p| dot(*p, n)).fold(f64::NEG_INFINITY, f64::max);
        let inner = match at_a.normal {
            Some(normal) if norm(sub(normal, n)) < 1e-9 => dot(at_a.points[0], normal),
            Some(_) => f64::INFINITY,
            None => far(at_a, n) + a.radius * a.rim(at_a, n),
        };
        let n = at_a.normal.unwrap_or(n);
        let near = at_b.points.iter().map(|p| dot(*p, n) - middle.along(*p, n, inboard, outboard)).fold(f64::INFINITY, f64::min);
        let tilt: f64 = middle.half[inboard..outboard].iter().map(|h| chord(*h)).sum();
        near - b.radius * (b.rim(at_b, n) + tilt).min(1.0) - inner
    }
}

/// How often the surface of a mesh winds about a point: about 0 outside, about 1 inside.
pub(super) fn winding<'a>(triangles: impl Iterator<Item = &'a [V]>, p: V) -> f64 {
    let mut whole = 0.0;
    for t in triangles {
        let [a, b, c] = [0, 1, 2].map(|i| sub(t[i], p));
        let [la, lb, lc] = [a, b, c].map(norm);
        let top = dot(a, cross(b, c));
        let bottom = la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb;
        // The solid angle of a triangle (Van Oosterom and Strackee, 1983).
        whole += 2.0 * libm::atan2(top, bottom);
    }
    whole / (4.0 * PI)
}
