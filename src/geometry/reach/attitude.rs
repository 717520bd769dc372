//! How a carried frame is turned over a box of joint angles: tilt, heading, roll, and the turn against another frame.

use super::{Carried, Look, MOST_BOXES, Middle, Rise, farthest, fits, greatest, highest, length};
use crate::geometry::chain::{Chain, JointBox};
use crate::geometry::{Fault, Mat3, Vec3};
use crate::units::trig;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Below this, in radians, a bound of an angle is tight enough: a fiftieth of a degree.
const FINE: f64 = 0.000_35;

/// Directions about a fixed one that the leaning of an axis is measured along.
const SIDES: u32 = 16;

/// A guard in radians for angles from arc functions: they lose half the digits near their ends.
const GUARD: f64 = 1e-7;

/// The least and the greatest angle between a carried axis and a fixed direction over the box, both of length one, in
/// thousandths of a degree, outward. With the vertical it is the tilt.
pub fn between(chain: &Chain, root: &JointBox, carrier: usize, axis: Vec3, fixed: Vec3) -> Result<[i64; 2], Fault> {
    let what = Carried::Direction(axis);
    fits(chain, root, carrier, what)?;
    fits(chain, root, 0, Carried::Direction(fixed))?;
    let sides = sides(fixed);
    let look = |sign: f64| {
        let sides = &sides;
        move |middle: &Middle, part: &JointBox| {
            let [low, high] = lean(middle, carrier, what, fixed, sides);
            let toward = if sign > 0.0 { fixed * -1.0 } else { fixed };
            let is = |corner: &[i64]| {
                let there = chain.place_exact(corner).carriers[carrier].direction(axis);
                sign * trig::atan2(length(fixed.cross(there)), fixed.dot(there))
            };
            // The way from the fixed direction to the axis is the way along which the lean grows.
            let thing = middle.thing(carrier, what);
            let across = thing - fixed * fixed.dot(thing);
            let n = if length(across) > 1e-6 { across * (sign / length(across)) } else { toward };
            let reached = [n, toward].map(|n| is(&middle.corner(part, carrier, what, n)));
            let most = if sign > 0.0 { high } else { -low };
            Look { most, reached: reached[0].max(reached[1]), halve: middle.widest(part, carrier, what) }
        }
    };
    let high = greatest(chain, root, FINE, MOST_BOXES, look(1.0));
    let low = -greatest(chain, root, FINE, MOST_BOXES, look(-1.0));
    Ok([down(low).max(0), up(high).min(180_000)])
}

/// Directions square to a fixed one, all round.
fn sides(fixed: Vec3) -> Vec<Vec3> {
    let [one, other] = square(fixed);
    (0..SIDES)
        .map(|k| {
            let a = TAU * f64::from(k) / f64::from(SIDES);
            one * trig::cos(a) + other * trig::sin(a)
        })
        .collect()
}

/// Two directions square to a third and to each other.
pub(super) fn square(n: Vec3) -> [Vec3; 2] {
    let least = if n.x.abs() <= n.y.abs() && n.x.abs() <= n.z.abs() {
        Vec3::X
    } else if n.y.abs() <= n.z.abs() {
        Vec3::Y
    } else {
        Vec3::Z
    };
    let one = least - n * n.dot(least);
    let one = one / length(one);
    [one, n.cross(one)]
}

/// The least and the greatest angle of a carried direction from a fixed one over a box, by three bounds.
fn lean(middle: &Middle, carrier: usize, what: Carried, fixed: Vec3, sides: &[Vec3]) -> [f64; 2] {
    let thing = middle.thing(carrier, what);
    let at = trig::atan2(length(fixed.cross(thing)), fixed.dot(thing));
    // On the sphere no joint moves the axis farther than along its own circle.
    let way: f64 = (0..carrier)
        .map(|i| {
            let across = length(middle.placed.axes[i].direction.cross(thing)).min(1.0);
            2.0 * trig::asin(middle.turns[i].chord / 2.0 * across)
        })
        .sum();
    let (mut low, mut high) = ((at - way).max(0.0), (at + way).min(PI));
    let rise = middle.rise(carrier, what, fixed);
    let (least, most) = (rise.at - rise.down, rise.at + rise.up);
    high = high.min(trig::acos(least));
    low = low.max(trig::acos(most));
    let aside: Vec<Rise> = sides.iter().map(|n| middle.rise(carrier, what, *n)).collect();
    if least > 0.0 {
        let reach: Vec<f64> = aside.iter().map(|r| r.at + r.up).collect();
        high = high.min(trig::asin(round(&reach)));
    }
    let nearest = aside.iter().map(|r| r.at - r.down).fold(0.0, f64::max);
    low = low.max(trig::asin(nearest));
    [low, high]
}

/// The greatest distance from the middle of a flat set that goes no farther than `reach` along directions spaced evenly all round.
fn round(reach: &[f64]) -> f64 {
    let step = TAU / reach.len() as f64;
    let (sine, cosine) = (trig::sin(step), trig::cos(step));
    let mut most = 0.0_f64;
    for (k, a) in reach.iter().enumerate() {
        let b = reach[(k + 1) % reach.len()];
        // The corner where the two sides meet, at (a, t) seen along the first.
        let t = (b - a * cosine) / sine;
        let ahead = t >= 0.0 && t * cosine <= a * sine;
        most = most.max(if ahead { (a * a + t * t).sqrt() } else { a.max(b) });
    }
    most
}

/// The least and the greatest heading of a carried axis over the box: the angle about the vertical from the cell's x, in
/// thousandths of a degree, outward, within half a turn of the one in the middle. None if the axis can stand upright.
pub fn heading(chain: &Chain, root: &JointBox, carrier: usize, axis: Vec3) -> Result<Option<[i64; 2]>, Fault> {
    let what = Carried::Direction(axis);
    fits(chain, root, carrier, what)?;
    let along = |a: f64| [(what, Vec3::X * trig::cos(a) + Vec3::Y * trig::sin(a))];
    Ok(direction(chain, root, carrier, along))
}

/// How the carried frame is rolled about its own `ahead` axis over the box: the angle from the plane in which `up` is
/// as high as it can be, positive by the right hand about `ahead`. Both axes are square to each other. None if `ahead` can
/// stand upright.
pub fn roll(chain: &Chain, root: &JointBox, carrier: usize, ahead: Vec3, up: Vec3) -> Result<Option<[i64; 2]>, Fault> {
    fits(chain, root, carrier, Carried::Direction(ahead))?;
    fits(chain, root, carrier, Carried::Direction(up))?;
    let aside = up.cross(ahead);
    let along = |a: f64| [(Carried::Direction(up * trig::cos(a) + aside * trig::sin(a)), Vec3::Z)];
    Ok(direction(chain, root, carrier, along))
}

/// The band of the direction of a flat vector whose component along the angle `a` is the sum of what `along(a)` measures.
fn direction<const N: usize>(
    chain: &Chain,
    root: &JointBox,
    carrier: usize,
    along: impl Fn(f64) -> [(Carried, Vec3); N],
) -> Option<[i64; 2]> {
    let middle = Middle::of(chain, root);
    let at = |a: f64| along(a).iter().map(|(what, n)| n.dot(middle.thing(carrier, *what))).sum::<f64>();
    let centre = trig::atan2(at(FRAC_PI_2), at(0.0));
    let most = |a: f64| along(a).iter().map(|(what, n)| highest(chain, root, carrier, *what, *n)).sum::<f64>();
    // Within the half turn about `a` the vector is nowhere behind it.
    let is_bounded = |a: f64| most(a) <= 0.0;
    let (mut left, mut right) = (None, None);
    for k in 0..=9 {
        let wide = FRAC_PI_2 / 10.0 * f64::from(k);
        // Nothing points along centre + wide + 90 deg: all is at most `wide` to the left, or far to the right.
        left = left.or_else(|| is_bounded(centre + wide + FRAC_PI_2).then_some(wide));
        right = right.or_else(|| is_bounded(centre - wide - FRAC_PI_2).then_some(wide));
    }
    let (left, right) = (left?, right?);
    let close = |wide: f64, sign: f64| {
        let (mut out, mut inner) = (wide, (wide - FRAC_PI_2 / 10.0).max(0.0));
        while out - inner > FINE {
            let try_at = (out + inner) / 2.0;
            if is_bounded(centre + sign * (try_at + FRAC_PI_2)) { out = try_at } else { inner = try_at }
        }
        out
    };
    Some([down(centre - close(right, -1.0)), up(centre + close(left, 1.0))])
}

/// The greatest angle between a carried frame and a fixed one over the box, as one turn about whatever axis, in thousandths
/// of a degree, rounded up.
pub fn turned(chain: &Chain, root: &JointBox, carrier: usize, inner: &Mat3, fixed: &Mat3) -> Result<i64, Fault> {
    fits(chain, root, carrier, Carried::Point(Vec3::ZERO))?;
    let apart = |frame: &Mat3| angle(&(fixed.transpose() * *frame * *inner));
    let most = greatest(chain, root, FINE, MOST_BOXES / 4, |middle, part| {
        let at = apart(&middle.placed.carriers[carrier].turn);
        let corner = |side: usize| part.0.iter().map(|i| i[side]).collect::<Vec<_>>();
        let reached = [0, 1].map(|s| apart(&chain.place_exact(&corner(s)).carriers[carrier].turn)).into_iter().fold(at, f64::max);
        let halve = (0..carrier).filter(|i| part.0[*i][1] - part.0[*i][0] > 1).max_by(|a, b| middle.half[*a].total_cmp(&middle.half[*b]));
        Look { most: (at + swing(middle, carrier)).min(PI), reached, halve }
    });
    Ok(up(most).min(180_000))
}

/// The greatest turn from the middle of a box. The way on which all joints turn evenly has the angular velocity
/// Σ di L1 ... L(i-1) ai, so it is no longer than |Σ di ai| + ½ Σ hi Σ hk |ak × ai| over the joints k inboard of i.
fn swing(middle: &Middle, carrier: usize) -> f64 {
    let axis = |i: usize| middle.placed.axes[i].direction;
    let swings: Vec<Vec3> = (0..carrier).map(|i| axis(i) * middle.half[i]).collect();
    let second = |i: usize| (0..i).map(|k| middle.half[k] * length(axis(k).cross(axis(i)))).sum::<f64>() * middle.half[i] / 2.0;
    farthest(Vec3::ZERO, &swings) + (0..carrier).map(second).sum::<f64>()
}

/// The angle of a rotation: from its sine and its cosine, so that it is exact near zero as well.
fn angle(m: &Mat3) -> f64 {
    let twist = Vec3::new(m.y_axis.z - m.z_axis.y, m.z_axis.x - m.x_axis.z, m.x_axis.y - m.y_axis.x);
    trig::atan2(length(twist), m.x_axis.x + m.y_axis.y + m.z_axis.z - 1.0)
}

fn up(radians: f64) -> i64 {
    ((radians + GUARD) * (180_000.0 / PI)).ceil() as i64
}

fn down(radians: f64) -> i64 {
    ((radians - GUARD) * (180_000.0 / PI)).floor() as i64
}
