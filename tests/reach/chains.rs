//! Random chains and boxes, and where a point is by plain trigonometry.

use surehand::geometry::chain::{Chain, Hinge, JointBox, Mount};

pub type V = [f64; 3];
pub type M = [[f64; 3]; 3];

/// A generator whose numbers are the same everywhere (splitmix64, Steele, Lea and Flood 2014).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed)
    }
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// Between the two, both included.
    pub fn int(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn direction(&mut self) -> V {
        loop {
            let v = [0; 3].map(|_| self.unit() * 2.0 - 1.0);
            let n = norm(v);
            if n > 0.1 && n < 1.0 {
                return v.map(|c| c / n);
            }
        }
    }
}

pub fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
pub fn norm(a: V) -> f64 {
    dot(a, a).sqrt()
}
pub fn minus(a: V, b: V) -> V {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub fn plus(a: V, b: V) -> V {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub fn apply(m: &M, v: V) -> V {
    [dot(m[0], v), dot(m[1], v), dot(m[2], v)]
}
pub fn times(a: &M, b: &M) -> M {
    let column = |k: usize| [b[0][k], b[1][k], b[2][k]];
    [0, 1, 2].map(|i| [0, 1, 2].map(|k| dot(a[i], column(k))))
}
pub const ONE: M = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A turn by degrees about an axis of any length: its three textbook matrices for the coordinate axes, else Rodrigues.
pub fn turn(axis: V, degrees: f64) -> M {
    let a = degrees * std::f64::consts::PI / 180.0;
    let (s, c) = (libm::sin(a), libm::cos(a));
    let k = axis.map(|x| x / norm(axis));
    let cross = [[0.0, -k[2], k[1]], [k[2], 0.0, -k[0]], [-k[1], k[0], 0.0]];
    let square = times(&cross, &cross);
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| ONE[i][j] + s * cross[i][j] + (1.0 - c) * square[i][j]))
}

/// The turn and the place of a carrier at true angles in degrees.
pub fn place(mount: &Mount, hinges: &[Hinge], degrees: &[f64], carrier: usize) -> (M, V) {
    let metres = |p: [i64; 3]| p.map(|c| c as f64 / 1e6);
    let fixed = |t: [i64; 3]| {
        let about = |k: usize, a: i64| turn(ONE[k], a as f64 / 1000.0);
        times(&about(2, t[2]), &times(&about(1, t[1]), &about(0, t[0])))
    };
    let (mut r, mut p) = (fixed(mount.turn), metres(mount.position));
    for (hinge, angle) in hinges.iter().zip(degrees).take(carrier) {
        p = plus(p, apply(&r, metres(hinge.origin)));
        r = times(&r, &fixed(hinge.turn));
        r = times(&r, &turn(hinge.axis.map(|c| c as f64), *angle));
    }
    if carrier == 0 { (ONE, [0.0; 3]) } else { (r, p) }
}

/// A chain as it was made.
pub struct Made {
    pub mount: Mount,
    pub hinges: Vec<Hinge>,
    pub chain: Chain,
}

/// An arm of two to six joints of up to a metre each.
pub fn any_chain(dice: &mut Dice) -> Made {
    let axes = [[1, 0, 0], [0, 1, 0], [0, 0, 1], [-1, 0, 0], [0, -1, 0], [0, 0, -1], [3, -2, 6], [1, 1, 0]];
    let joints = dice.int(2, 6);
    let hinges: Vec<Hinge> = (0..joints)
        .map(|_| Hinge {
            axis: axes[dice.int(0, 7) as usize],
            origin: [0; 3].map(|_| dice.int(-600_000, 600_000)),
            turn: if dice.int(0, 3) == 0 { [0; 3].map(|_| dice.int(-180_000, 180_000)) } else { [0; 3] },
        })
        .collect();
    let mount = Mount { position: [0; 3].map(|_| dice.int(-500_000, 500_000)), turn: [0, 0, dice.int(-180_000, 180_000)] };
    Made { chain: Chain::new(mount, hinges.clone()).unwrap(), mount, hinges }
}

/// A box with joints that idle and one or two that move, or all that idle.
pub fn any_box(dice: &mut Dice, joints: usize, moving: i64) -> JointBox {
    let mut out: Vec<[i64; 2]> = (0..joints)
        .map(|_| {
            let (at, half) = (dice.int(-170_000, 170_000), dice.int(0, 1000));
            [at - half, at + half]
        })
        .collect();
    for _ in 0..dice.int(0, moving) {
        let joint = dice.int(0, joints as i64 - 1) as usize;
        out[joint][1] += dice.int(0, 60_000);
    }
    JointBox(out)
}

/// Angles in degrees somewhere in a box, its corners among them.
pub fn inside(dice: &mut Dice, within: &JointBox) -> Vec<f64> {
    let corner = dice.int(0, 2) == 0;
    within
        .0
        .iter()
        .map(|[low, high]| {
            let share = if corner { (dice.next() & 1) as f64 } else { dice.unit() };
            (*low as f64 + share * (high - low) as f64) / 1000.0
        })
        .collect()
}
