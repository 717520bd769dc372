//! A second opinion on where things are and how far apart, written without the crate: plain matrices, closed forms, and
//! alternating projections. It samples, so it can show that something is near, never that nothing is.
#![allow(clippy::disallowed_methods, reason = "a second opinion takes the platform's own functions")]

pub type V = [f64; 3];

pub fn add(a: V, b: V) -> V {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub fn sub(a: V, b: V) -> V {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub fn mul(a: V, s: f64) -> V {
    [a[0] * s, a[1] * s, a[2] * s]
}
pub fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
pub fn len(a: V) -> f64 {
    dot(a, a).sqrt()
}

/// A 4 by 4 matrix, row by row.
pub type M = [[f64; 4]; 4];

pub const ONE: M = [[1., 0., 0., 0.], [0., 1., 0., 0.], [0., 0., 1., 0.], [0., 0., 0., 1.]];

pub fn times(a: &M, b: &M) -> M {
    let mut out = ONE;
    for i in 0..3 {
        let row = a[i];
        for j in 0..4 {
            out[i][j] = row[0] * b[0][j] + row[1] * b[1][j] + row[2] * b[2][j] + row[3] * b[3][j];
        }
    }
    out
}

pub fn shift(p: V) -> M {
    [[1., 0., 0., p[0]], [0., 1., 0., p[1]], [0., 0., 1., p[2]], [0., 0., 0., 1.]]
}

/// A turn about x (0), y (1) or z (2).
pub fn about(axis: usize, deg: f64) -> M {
    let (s, c) = (deg.to_radians().sin(), deg.to_radians().cos());
    match axis {
        0 => [[1., 0., 0., 0.], [0., c, -s, 0.], [0., s, c, 0.], [0., 0., 0., 1.]],
        1 => [[c, 0., s, 0.], [0., 1., 0., 0.], [-s, 0., c, 0.], [0., 0., 0., 1.]],
        _ => [[c, -s, 0., 0.], [s, c, 0., 0.], [0., 0., 1., 0.], [0., 0., 0., 1.]],
    }
}

pub fn apply(m: &M, p: V) -> V {
    let q = applied_direction(m, p);
    [q[0] + m[0][3], q[1] + m[1][3], q[2] + m[2][3]]
}

pub fn applied_direction(m: &M, p: V) -> V {
    let row = |r: &[f64; 4]| r[0] * p[0] + r[1] * p[1] + r[2] * p[2];
    [row(&m[0]), row(&m[1]), row(&m[2])]
}

/// A joint of the sampler's own arm: where and how turned, and about which axis of its own it turns.
#[derive(Clone, Debug)]
pub struct Joint {
    fixed: M,
    axis: usize,
    sign: f64,
}

impl Joint {
    /// At a place, turned by degrees about the fixed axes x, then y, then z.
    pub fn new(origin: V, turn: V, axis: usize, sign: f64) -> Joint {
        let turned = times(&times(&about(2, turn[2]), &about(1, turn[1])), &about(0, turn[0]));
        Joint { fixed: times(&shift(origin), &turned), axis, sign }
    }
}

#[derive(Clone, Debug)]
pub struct Arm {
    pub mount: V,
    pub heading: f64,
    pub joints: Vec<Joint>,
}

impl Arm {
    /// The matrices of the cell and of each joint, at angles in degrees.
    pub fn place(&self, deg: &[f64]) -> Vec<M> {
        let mut out = vec![ONE];
        let mut m = times(&shift(self.mount), &about(2, self.heading));
        for (joint, q) in self.joints.iter().zip(deg) {
            m = times(&times(&m, &joint.fixed), &about(joint.axis, joint.sign * q));
            out.push(m);
        }
        out
    }
}

/// A convex shape in the coordinates of its carrier, in metres.
#[derive(Clone, Debug)]
pub enum Shape {
    Ball(V, f64),
    Capsule(V, V, f64),
    Triangle(V, V, V),
    /// Middle, half lengths, three unit axes.
    Block(V, V, [V; 3]),
    Cylinder(V, V, f64),
    /// Point, outward unit normal.
    Half(V, V),
}

impl Shape {
    pub fn placed(&self, m: &M) -> Shape {
        let (p, d) = (|v: V| apply(m, v), |v: V| applied_direction(m, v));
        match *self {
            Shape::Ball(c, r) => Shape::Ball(p(c), r),
            Shape::Capsule(a, b, r) => Shape::Capsule(p(a), p(b), r),
            Shape::Triangle(a, b, c) => Shape::Triangle(p(a), p(b), p(c)),
            Shape::Block(c, h, axes) => Shape::Block(p(c), h, axes.map(d)),
            Shape::Cylinder(a, b, r) => Shape::Cylinder(p(a), p(b), r),
            Shape::Half(a, n) => Shape::Half(p(a), d(n)),
        }
    }

    fn radius(&self) -> f64 {
        match self {
            Shape::Ball(_, r) | Shape::Capsule(_, _, r) => *r,
            _ => 0.0,
        }
    }

    /// The ball around it.
    pub fn around(&self) -> (V, f64) {
        let middle = |a: V, b: V| mul(add(a, b), 0.5);
        match *self {
            Shape::Ball(c, r) => (c, r),
            Shape::Capsule(a, b, r) => (middle(a, b), len(sub(a, b)) / 2.0 + r),
            Shape::Triangle(a, b, c) => {
                let m = mul(add(add(a, b), c), 1.0 / 3.0);
                (m, len(sub(a, m)).max(len(sub(b, m))).max(len(sub(c, m))))
            }
            Shape::Block(c, h, _) => (c, len(h)),
            Shape::Cylinder(a, b, r) => (middle(a, b), (dot(sub(a, b), sub(a, b)) / 4.0 + r * r).sqrt()),
            Shape::Half(a, _) => (a, f64::INFINITY),
        }
    }

    /// The point of the shape, without its radius, that is nearest to x.
    pub fn onto(&self, x: V) -> V {
        match *self {
            Shape::Ball(c, _) => c,
            Shape::Capsule(a, b, _) => {
                let d = sub(b, a);
                let t = (dot(sub(x, a), d) / dot(d, d).max(1e-300)).clamp(0.0, 1.0);
                add(a, mul(d, t))
            }
            Shape::Triangle(a, b, c) => onto_triangle(x, a, b, c),
            Shape::Block(c, h, axes) => {
                let d = sub(x, c);
                (0..3).fold(c, |p, k| add(p, mul(axes[k], dot(d, axes[k]).clamp(-h[k], h[k]))))
            }
            Shape::Cylinder(a, b, r) => {
                let d = sub(b, a);
                let l = len(d);
                let u = mul(d, 1.0 / l);
                let t = dot(sub(x, a), u);
                let side = sub(sub(x, a), mul(u, t));
                let s = len(side);
                let side = if s > r { mul(side, r / s) } else { side };
                add(add(a, mul(u, t.clamp(0.0, l))), side)
            }
            Shape::Half(a, n) => {
                let over = dot(sub(x, a), n);
                if over > 0.0 { sub(x, mul(n, over)) } else { x }
            }
        }
    }
}

/// Ericson's closest point on a triangle (Real-Time Collision Detection, 5.1.5; from memory).
fn onto_triangle(p: V, a: V, b: V, c: V) -> V {
    let (ab, ac, ap) = (sub(b, a), sub(c, a), sub(p, a));
    let (d1, d2) = (dot(ab, ap), dot(ac, ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = sub(p, b);
    let (d3, d4) = (dot(ab, bp), dot(ac, bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return add(a, mul(ab, d1 / (d1 - d3)));
    }
    let cp = sub(p, c);
    let (d5, d6) = (dot(ab, cp), dot(ac, cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return add(a, mul(ac, d2 / (d2 - d6)));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return add(b, mul(sub(c, b), (d4 - d3) / (d4 - d3 + d5 - d6)));
    }
    let w = 1.0 / (va + vb + vc);
    add(a, add(mul(ab, vb * w), mul(ac, vc * w)))
}

/// The distance of two placed shapes, never less than the true one: along a segment by thirds, else by projecting
/// from one onto the other and back. Where it is seen to be beyond `enough`, it is not worked out.
pub fn distance(a: &Shape, b: &Shape, enough: f64) -> f64 {
    let (mut a, mut b) = (a, b);
    if matches!(b, Shape::Capsule(..) | Shape::Ball(..)) {
        std::mem::swap(&mut a, &mut b);
    }
    let less = a.radius() + b.radius();
    let enough = enough + less;
    let found = match *a {
        Shape::Ball(c, _) => len(sub(c, b.onto(c))),
        Shape::Capsule(p, q, _) => along(p, sub(q, p), b, enough),
        _ => back_and_forth(a, b, enough),
    };
    (found - less).max(0.0)
}

fn along(p: V, d: V, b: &Shape, enough: f64) -> f64 {
    let at = |t: f64| {
        let x = [p[0] + d[0] * t, p[1] + d[1] * t, p[2] + d[2] * t];
        len(sub(x, b.onto(x)))
    };
    let (mut low, mut high, mut best) = (0.0, 1.0, at(0.5));
    let whole = len(d);
    while (high - low) * whole > 1e-9 && best - (high - low) * whole < enough {
        let third = (high - low) / 3.0;
        let (s, t) = (at(low + third), at(high - third));
        best = best.min(s).min(t);
        if s < t { high -= third } else { low += third }
    }
    best.min(at(0.0)).min(at(1.0))
}

fn back_and_forth(a: &Shape, b: &Shape, enough: f64) -> f64 {
    let mut x = a.onto(b.around().0);
    let mut found = f64::INFINITY;
    for _ in 0..1000 {
        let y = b.onto(x);
        let now = len(sub(x, y));
        // What is still gained shrinks from round to round.
        if now > found - 1e-10 || now - 200.0 * (found - now) > enough {
            return now.min(found);
        }
        found = now;
        x = a.onto(y);
    }
    found
}

/// A generator of numbers that is the same everywhere (SplitMix64).
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// From 0 to 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    pub fn whole(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }
    pub fn one_in(&mut self, n: u64) -> bool {
        self.next().is_multiple_of(n)
    }
}
