//! Vectors, turns and the chain of joints: metres and radians.

use super::read::{Hinge, Mount};

pub(super) type V = [f64; 3];

pub(super) fn add(a: V, b: V) -> V {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub(super) fn sub(a: V, b: V) -> V {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub(super) fn scale(a: V, s: f64) -> V {
    [a[0] * s, a[1] * s, a[2] * s]
}
pub(super) fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
pub(super) fn cross(a: V, b: V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
pub(super) fn norm(a: V) -> f64 {
    dot(a, a).sqrt()
}
/// Metres from micrometres.
pub(super) fn metres(p: [i64; 3]) -> V {
    p.map(length)
}
#[allow(clippy::cast_precision_loss, reason = "sizes are bounded when the file is read, far below 2^53")]
pub(super) fn length(x: i64) -> f64 {
    x as f64 / 1e6
}
/// Radians from thousandths of a degree.
pub(super) fn radians(x: i64) -> f64 {
    length(x) * (std::f64::consts::PI / 0.18)
}
/// The middle of what points span along the axes of their frame.
pub(super) fn middle_of(points: impl Iterator<Item = V> + Clone) -> V {
    let corner = |pick: fn(f64, f64) -> f64| points.clone().reduce(|a, b| [0, 1, 2].map(|i| pick(a[i], b[i]))).unwrap_or_default();
    scale(add(corner(f64::min), corner(f64::max)), 0.5)
}
/// Of length one; none for the null vector.
pub(super) fn unit(n: [i64; 3]) -> Option<V> {
    let n = metres(n);
    let size = norm(n);
    (size > 0.0).then(|| scale(n, 1.0 / size))
}

const AXES: [V; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A frame in the cell: the columns are its axes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) axes: [V; 3],
    pub(super) origin: V,
}

impl Frame {
    pub(super) fn turn(&self, v: V) -> V {
        add(add(scale(self.axes[0], v[0]), scale(self.axes[1], v[1])), scale(self.axes[2], v[2]))
    }
    pub(super) fn point(&self, p: V) -> V {
        add(self.origin, self.turn(p))
    }
    /// Of a point of the cell, its place in the frame.
    pub(super) fn back(&self, p: V) -> V {
        self.axes.map(|axis| dot(axis, sub(p, self.origin)))
    }
    fn then(&self, by: [V; 3]) -> Frame {
        Frame { axes: by.map(|column| self.turn(column)), origin: self.origin }
    }
}

/// The turn about a direction of length one, in the sense of the right hand.
fn about(axis: V, angle: f64) -> [V; 3] {
    let (s, c) = (libm::sin(angle), libm::cos(angle));
    AXES.map(|e| add(add(scale(e, c), scale(cross(axis, e), s)), scale(axis, (1.0 - c) * dot(axis, e))))
}

/// The frames of a configuration: 0 the cell itself, k that of joint k; and each joint's axis through its origin, in the cell.
pub(super) struct Stand {
    pub(super) frames: Vec<Frame>,
    pub(super) axes: Vec<(V, V)>,
}

/// The chain at the angles given in radians; every hinge has an axis.
pub(super) fn stand(mount: &Mount, hinges: &[Hinge], angles: &[f64]) -> Stand {
    let cell = Frame { axes: AXES, origin: [0.0; 3] };
    // About fixed x, then y, then z: the last one stands outermost.
    let turned = |at: Frame, turn: [i64; 3]| [2, 1, 0].iter().fold(at, |at, i| at.then(about(AXES[*i], radians(turn[*i]))));
    let mut at = turned(Frame { origin: metres(mount.position), ..cell }, mount.turn);
    let (mut frames, mut axes) = (vec![cell], Vec::with_capacity(hinges.len()));
    for (hinge, angle) in hinges.iter().zip(angles) {
        at.origin = at.point(metres(hinge.origin));
        at = turned(at, hinge.turn);
        let axis = unit(hinge.axis).unwrap_or_default();
        axes.push((at.turn(axis), at.origin));
        at = at.then(about(axis, *angle));
        frames.push(at);
    }
    Stand { frames, axes }
}
