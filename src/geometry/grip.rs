//! What a jaw must press with: a load between two pads, tilted along a sweep and accelerated by it.
//!
//! Two pads press with `N` each. Across their closing axis friction alone carries, on both pads: `2µN`, with a safety
//! factor `S` on `m (g_t + a)` gives `N = S m (g_t + a) / 2µ`, the two-jaw formula of the handbooks (from memory). Along
//! the closing axis one pad carries `m (g_n + a)` and the other is relieved of it, so that much is added to what each must
//! press with. `g_t` and `g_n` are the parts of gravity across and along that axis; `a` counts in both, since a sweep can
//! accelerate any way.

use super::chain::{Chain, JointBox, Placed};
use super::statics::{G, Sway, widest};
use super::worst::{Judged, Worst, halves, worst};
use super::{Fault, Vec3};
use crate::units::trig::{atan2, cos, sin};
use std::f64::consts::PI;

/// A load between two pads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// Upper bound of its mass, kg.
    pub mass: f64,
    /// The friction that can be counted on.
    pub friction: f64,
    /// The safety factor on what friction carries.
    pub safety: f64,
    /// The greatest acceleration, m/s².
    pub acceleration: f64,
}

impl Hold {
    /// The force per jaw that friction asks for, N, where so much of gravity, m/s², lies across the closing axis.
    pub fn across(&self, gravity: f64) -> f64 {
        self.safety * self.mass * (gravity + self.acceleration) / (2.0 * self.friction)
    }

    /// The force that one pad carries and the other is relieved of, N, where so much of gravity lies along the closing axis.
    pub fn along(&self, gravity: f64) -> f64 {
        self.mass * (gravity + self.acceleration)
    }

    /// The force per jaw, N, with the closing axis leaning so far from plumb, rad.
    pub fn force(&self, lean: f64) -> f64 {
        self.across(G * sin(lean)) + self.along(G * cos(lean).abs())
    }

    /// The greatest force per jaw over a range of leans, rad. Up to a right angle the force is a sine and a cosine with
    /// positive factors: it rises to one crest and falls from there. Beyond, the same mirrored.
    fn most(&self, low: f64, high: f64) -> f64 {
        let crest = atan2(self.safety / (2.0 * self.friction), 1.0);
        [low, high, crest, PI - crest]
            .into_iter()
            .filter(|lean| (low..=high).contains(lean))
            .map(|lean| self.force(lean))
            .fold(0.0, f64::max)
    }
}

/// By how much a direction of a carrier can lean otherwise than at the centre of a box, rad, and what each joint adds.
fn swing(placed: &Placed, half: &[f64], carrier: usize, direction: Vec3, score: &mut [f64]) -> f64 {
    let sway = Sway::over(placed, half);
    let mut outboard = 0.0;
    let mut swing = 0.0;
    for k in (0..carrier.min(placed.axes.len())).rev() {
        // Turned about an axis that lies along it, a direction stays; the joints between may bend the two apart.
        let apart = (placed.axes[k].direction.cross(direction).length() + outboard).min(1.0);
        score[k] = sway.level[k].min(apart) * half[k];
        swing += score[k];
        outboard += half[k];
    }
    swing
}

/// How far a direction of a carrier leans from plumb up at a place, rad (0 straight up, pi straight down), and that direction in the
/// cell; none without such a carrier.
pub fn lean(placed: &Placed, carrier: usize, direction: Vec3) -> Option<(f64, Vec3)> {
    let direction = placed.carriers.get(carrier)?.direction(direction);
    let level = (direction.x * direction.x + direction.y * direction.y).sqrt();
    Some((atan2(level, direction.z), direction))
}

/// The greatest force per jaw over a box, N, for a closing axis (a unit direction of the carrier), to `enough` N or two
/// parts in a thousand.
pub fn grip_over(chain: &Chain, carrier: usize, closing: Vec3, within: &JointBox, hold: &Hold, enough: f64) -> Result<Worst, Fault> {
    judged(chain, carrier, closing, within, enough, |lean, swing| {
        (hold.force(lean), hold.most((lean - swing).max(0.0), (lean + swing).min(PI)))
    })
}

/// How far a direction of a carrier leans from plumb up over a box, rad: the least, negated, and the greatest.
pub fn lean_over(chain: &Chain, carrier: usize, direction: Vec3, within: &JointBox, enough: f64) -> Result<[Worst; 2], Fault> {
    let least = judged(chain, carrier, direction, within, enough, |lean, swing| (-lean, -(lean - swing).max(0.0)))?;
    let most = judged(chain, carrier, direction, within, enough, |lean, swing| (lean, (lean + swing).min(PI)))?;
    Ok([least, most])
}

fn judged(
    chain: &Chain,
    carrier: usize,
    direction: Vec3,
    within: &JointBox,
    enough: f64,
    value: impl Fn(f64, f64) -> (f64, f64),
) -> Result<Worst, Fault> {
    if carrier > chain.joints() {
        return Err(Fault::Missing("the carrier of a direction"));
    }
    let mut score = Vec::new();
    worst(chain, within, enough, |placed, _, half| {
        score.clear();
        score.resize(half.len(), 0.0);
        let Some((angle, in_cell)) = lean(placed, carrier, direction) else {
            return Judged { here: f64::NAN, most: f64::INFINITY, split: None };
        };
        let swing = swing(placed, half, carrier, in_cell, &mut score);
        // An angle is good to some 1e-15.
        let (here, most) = value(angle, swing + 1e-12);
        Judged { here, most, split: widest(&score) }
    })
}

/// A joint that moves in a sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turning {
    /// Its index.
    pub joint: usize,
    /// Its greatest rate, rad/s.
    pub rate: f64,
    /// The shortest time from rest to that rate, s.
    pub ramp: f64,
}

/// The greatest acceleration, m/s², that turning joints give to what is within a radius of a point of a carrier, anywhere
/// in a box: along the circle by the ramp, and towards its axis by the rate. Of several joints the sum counts, with the
/// coupled parts.
pub fn acceleration(chain: &Chain, within: &JointBox, turning: &[Turning], carrier: usize, point: Vec3, radius: f64) -> Result<f64, Fault> {
    within.check(chain)?;
    let placed = chain.place_exact(&within.0.iter().map(|[low, high]| low + (high - low) / 2).collect::<Vec<_>>());
    let half: Vec<f64> = halves(within).collect();
    let Some(frame) = placed.carriers.get(carrier) else { return Err(Fault::Missing("the carrier of a point")) };
    let centre = frame.point(point);
    let mut moving: Vec<(usize, f64, &Turning)> = Vec::new();
    for turns in turning {
        if turns.joint >= placed.axes.len() {
            return Err(Fault::Missing("a joint that turns"));
        }
        if turns.joint < carrier {
            moving.push((turns.joint, radius + arm_over(&placed, &half, turns.joint, carrier, centre), turns));
        }
    }
    moving.sort_by_key(|m| m.0);
    let along: f64 = moving.iter().map(|(_, arm, t)| arm * t.rate / t.ramp).sum();
    let inward: f64 = moving
        .iter()
        .enumerate()
        .flat_map(|(i, (_, _, a))| moving.iter().enumerate().map(move |(j, (_, _, b))| (i.max(j), a.rate * b.rate)))
        .map(|(outer, rates)| rates * moving[outer].1)
        .sum();
    // Of one joint the two stand square to each other.
    Ok(if moving.len() == 1 { (along * along + inward * inward).sqrt() } else { along + inward })
}

/// The greatest distance of a point of a carrier from the axis of a joint inboard of it, over a box, m.
fn arm_over(placed: &Placed, half: &[f64], joint: usize, carrier: usize, point: Vec3) -> f64 {
    let axis = placed.axes[joint];
    let mut arm = axis.direction.cross(point - axis.origin).length();
    let mut reach = 0.0;
    let mut from = point;
    for k in (joint + 1..carrier).rev() {
        reach += (from - placed.axes[k].origin).length();
        // Half a unit of the last thousandth of a degree, for a middle between two whole ones.
        arm += reach * (half[k] + 1e-5);
        from = placed.axes[k].origin;
    }
    arm.min(reach + (from - axis.origin).length())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::chain::{Hinge, Mount};
    use std::f64::consts::FRAC_PI_2;

    /// Handbook example (from memory): 10 kg, a = 1 m/s2, friction 0.3, safety 2 take 360.3 N per jaw with g = 9.81.
    #[test]
    fn a_level_closing_axis_takes_the_force_of_the_handbook() {
        let hold = Hold { mass: 10.0, friction: 0.3, safety: 2.0, acceleration: 1.0 };
        assert!((hold.across(9.81) - 360.3).abs() < 0.05, "{}", hold.across(9.81));
        assert!((hold.force(FRAC_PI_2) - hold.across(G) - 10.0).abs() < 1e-9);
        // Upright, one pad carries the load and friction only its acceleration.
        assert!((hold.force(0.0) - (2.0 * 10.0 / 0.6 + 10.0 * (G + 1.0))).abs() < 1e-9);
    }

    #[test]
    fn the_greatest_force_of_a_range_is_at_its_crest_or_its_ends() {
        for (friction, acceleration) in [(0.1, 0.0), (0.3, 0.5), (0.9, 2.0)] {
            let hold = Hold { mass: 7.0, friction, safety: 2.5, acceleration };
            for low in 0..30 {
                for high in low..31 {
                    let (low, high) = (f64::from(low) * PI / 30.0, f64::from(high) * PI / 30.0);
                    let met = (0..=2000).map(|i| hold.force(low + (high - low) * f64::from(i) / 2000.0)).fold(0.0, f64::max);
                    let most = hold.most(low, high);
                    assert!(met <= most + 1e-9 && most <= met * (1.0 + 1e-5), "{low} {high}: {met} {most}");
                }
            }
        }
    }

    /// Base, shoulder, wrist turn; the pads close along y of the last.
    fn arm() -> Chain {
        let hinge = |axis, origin, turn| Hinge { axis, origin, turn };
        let hinges = vec![
            hinge([0, 0, 1], [0, 0, 300_000], [0; 3]),
            hinge([0, -1, 0], [100_000, 0, 200_000], [0, 0, 5_000]),
            hinge([1, 0, 0], [800_000, 0, 0], [0; 3]),
        ];
        Chain::new(Mount::default(), hinges).expect("a chain")
    }

    fn poses(within: &JointBox, steps: i64) -> impl Iterator<Item = Vec<i64>> + '_ {
        (0..(steps + 1).pow(3)).map(move |i| {
            let part = [i % (steps + 1), i / (steps + 1) % (steps + 1), i / (steps + 1).pow(2)];
            within.0.iter().zip(part).map(|([low, high], part)| low + (high - low) * part / steps).collect()
        })
    }

    #[test]
    fn lean_and_force_hold_over_every_box() {
        let (chain, hold) = (arm(), Hold { mass: 20.0, friction: 0.25, safety: 2.0, acceleration: 0.3 });
        let boxes = [
            [[-20_000, 60_000], [10_000, 10_400], [5_000, 5_800]],
            [[0, 400], [-30_000, 80_000], [-200, 200]],
            [[0, 400], [20_000, 20_500], [-100_000, 150_000]],
            [[0, 0], [0, 40_000], [10_000, 60_000]],
        ];
        for within in boxes.map(|b| JointBox(b.to_vec())) {
            for direction in [Vec3::Y, Vec3::X, Vec3::new(0.6, 0.0, 0.8)] {
                let [least, most] = lean_over(&chain, 3, direction, &within, 1e-3).expect("a bound");
                let force = grip_over(&chain, 3, direction, &within, &hold, 0.1).expect("a bound");
                let (mut low, mut high, mut press) = (PI, 0.0_f64, 0.0_f64);
                for pose in poses(&within, 24) {
                    let (angle, _) = lean(&chain.place_exact(&pose), 3, direction).expect("a carrier");
                    (low, high, press) = (low.min(angle), high.max(angle), press.max(hold.force(angle)));
                }
                assert!(-least.most <= low && low <= -least.most + 0.05, "{within:?} {direction}: {low} {least:?}");
                assert!(high <= most.most && most.most <= high * 1.01 + 0.03, "{within:?} {direction}: {high} {most:?}");
                assert!(press <= force.most && force.most <= press * 1.01 + 1.0, "{within:?} {direction}: {press} {force:?}");
            }
        }
    }

    /// One joint: the ramp along the circle, the rate towards the axis. Two: measured by differences of places in time.
    #[test]
    fn acceleration_is_that_of_turning_joints() {
        let chain = arm();
        let (rate, ramp) = (0.2, 0.4);
        let still = JointBox::point(&[0, 0, 0]);
        let lone = [Turning { joint: 1, rate, ramp }];
        let lone = acceleration(&chain, &still, &lone, 3, Vec3::ZERO, 0.0).expect("an acceleration");
        let (along, inward) = (0.8 * rate / ramp, 0.8 * rate * rate);
        assert!((lone - (along * along + inward * inward).sqrt()).abs() < 1e-5, "{lone}");
        let point = Vec3::new(0.3, 0.05, 0.02);
        let within = JointBox(vec![[0, 30_000], [-20_000, 50_000], [0, 0]]);
        let both = [Turning { joint: 0, rate: 0.3, ramp: 0.5 }, Turning { joint: 1, rate, ramp }];
        let bound = acceleration(&chain, &within, &both, 3, point, 0.0).expect("an acceleration");
        let mut met = 0.0_f64;
        for [sign_a, sign_b] in [[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0]] {
            for i in 0..400 {
                let start = [f64::from(i % 20) / 20.0 * 0.52, f64::from(i / 20) / 20.0 * 1.2 - 0.35];
                let at = |t: f64| {
                    let q = [start[0] + 0.3 * t + sign_a * 0.6 * t * t / 2.0, start[1] + sign_b * (rate * t + 0.5 * t * t / 2.0), 0.0];
                    chain.place(&q).carriers[3].point(point)
                };
                let step = 1e-4;
                met = met.max(((at(step) + at(-step) - at(0.0) * 2.0) / (step * step)).length());
            }
        }
        assert!(met <= bound && bound < 2.0 * met, "{met} {bound}");
        assert!(acceleration(&chain, &within, &[Turning { joint: 2, rate, ramp }], 3, Vec3::ZERO, 0.0).expect("none") < 1e-6);
        assert!(acceleration(&chain, &within, &[Turning { joint: 3, rate, ramp }], 3, Vec3::ZERO, 0.0).is_err());
    }
}
