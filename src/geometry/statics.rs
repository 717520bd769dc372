//! What gravity asks of every joint: the torque that holds an arm, at a pose and over a whole box of poses.
//!
//! A torque is what the joint must give, positive about its axis: the slope of the potential energy over the joint's angle.
//! Masses are upper bounds and centres are known within a radius, so a torque is an interval: each mass counts with any
//! part of it, wherever that is worse. Nothing here moves: what a move adds by its acceleration is in [`super::grip`].

use super::actuator::{Linkage, Toggle};
use super::chain::{Chain, JointBox, Placed};
use super::worst::{Judged, Worst, radians, worst};
use super::{Fault, Vec3};

/// Standard acceleration of free fall, m/s² (3rd CGPM, 1901).
pub const G: f64 = 9.80665;

/// Torques below this, Nm, are rounding.
const NOTHING: f64 = 1e-6;

/// Something heavy that one carrier moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weight {
    /// The carrier: 0 the cell, k what moves with joint k - 1.
    pub carrier: usize,
    /// Upper bound of its mass, kg.
    pub mass: f64,
    /// Where its centre is said to be, in the carrier's frame, m.
    pub centre: Vec3,
    /// How far from there it may be, m.
    pub within: f64,
}

/// The torques a joint may have to give, Nm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The most negative, or nothing.
    pub low: f64,
    /// The most positive, or nothing.
    pub high: f64,
}

/// Which way a joint goes when nothing holds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Droop {
    /// It stays where it is.
    Stays,
    /// Its angle falls.
    Falls,
    /// Its angle grows.
    Grows,
    /// Either, by where in the box it stands and what the masses really are.
    Either,
}

impl Range {
    /// Which way a joint that has to give these torques goes when it gives none. Torques up to `nothing` count as none:
    /// of a search, what it was to come near to.
    pub fn droop(&self, nothing: f64) -> Droop {
        let nothing = nothing.max(NOTHING);
        match (self.high > nothing, self.low < -nothing) {
            (false, false) => Droop::Stays,
            (true, false) => Droop::Falls,
            (false, true) => Droop::Grows,
            (true, true) => Droop::Either,
        }
    }
}

/// The lever of a weight on a joint: the height its centre gains a radian, m; none where the joint does not move it.
fn lever(placed: &Placed, weight: &Weight, joint: usize) -> Option<f64> {
    let axis = placed.axes.get(joint).filter(|_| weight.carrier > joint)?;
    let centre = placed.carriers.get(weight.carrier)?.point(weight.centre);
    Some(axis.direction.cross(centre - axis.origin).z)
}

/// How much of a direction lies level.
fn level(direction: Vec3) -> f64 {
    (direction.x * direction.x + direction.y * direction.y).sqrt()
}

/// The torque that holds a joint, Nm, every mass whole and every centre where it is said to be.
pub fn holding(placed: &Placed, weights: &[Weight], joint: usize) -> f64 {
    weights.iter().filter_map(|w| Some(w.mass * G * lever(placed, w, joint)?)).sum()
}

/// The torques that may be needed to hold a joint: any part of every mass, its centre anywhere within its radius.
pub fn range(placed: &Placed, weights: &[Weight], joint: usize) -> Range {
    let mut range = Range { low: 0.0, high: 0.0 };
    for w in weights {
        let Some(lever) = lever(placed, w, joint) else { continue };
        let play = w.within * placed.axes.get(joint).map_or(1.0, |a| level(a.direction));
        range.high += w.mass * G * (lever + play).max(0.0);
        range.low += w.mass * G * (lever - play).min(0.0);
    }
    range
}

/// How fast things can change over a box: bounds that hold in all of it.
pub(super) struct Sway {
    /// By joint: the most level any pose in the box has its axis, between 0 and 1.
    pub(super) level: Vec<f64>,
}

impl Sway {
    /// From the centre of a box and half its widths.
    pub(super) fn over(placed: &Placed, half: &[f64]) -> Sway {
        let mut swung = 0.0;
        let mut most = |(k, axis): (usize, &super::chain::Axis)| {
            // The joints inboard of an axis tilt it, each by no more than its own axis is level.
            let most = (level(axis.direction) + swung).min(1.0);
            swung += most * half[k];
            most
        };
        Sway { level: placed.axes.iter().enumerate().map(&mut most).collect() }
    }
}

/// The greatest lever over a box, m, and how much each joint's interval adds to it.
fn lever_over(placed: &Placed, half: &[f64], sway: &Sway, weight: &Weight, joint: usize, sign: f64, score: &mut [f64]) -> f64 {
    let Some(here) = lever(placed, weight, joint) else { return f64::NEG_INFINITY };
    let Some(carrier) = placed.carriers.get(weight.carrier) else { return f64::NEG_INFINITY };
    let (axes, centre) = (&placed.axes, carrier.point(weight.centre));
    // How far the centre can be from each joint at most, whatever the angles are: link by link.
    let mut reach = vec![0.0; weight.carrier];
    let mut from = centre;
    for k in (0..weight.carrier).rev() {
        reach[k] = reach.get(k + 1).copied().unwrap_or(0.0) + (from - axes[k].origin).length();
        from = axes[k].origin;
    }
    let slope = |j: usize| {
        let (inner, outer) = (j.min(joint), j.max(joint));
        axes[inner].direction.cross(axes[outer].direction.cross(centre - axes[outer].origin)).z
    };
    let mut most = sign * here + weight.within * sway.level[joint];
    for j in 0..weight.carrier {
        let mut adds = slope(j).abs() * half[j];
        for i in 0..weight.carrier {
            // Third derivatives of the height: each turn keeps the length, and the innermost has to be about a level axis.
            let bend = reach[j.max(i).max(joint)] * sway.level[j.min(i).min(joint)];
            adds += 0.5 * bend * half[j] * half[i];
        }
        most += adds;
        score[j] += weight.mass * adds;
    }
    most
}

/// The greatest torque of one sign over a box, with the joint whose interval blurs it most.
fn torque_bound(placed: &Placed, half: &[f64], weights: &[Weight], joint: usize, sign: f64) -> Judged {
    let sway = Sway::over(placed, half);
    let mut score = vec![0.0; half.len()];
    let (mut most, mut scale) = (0.0, 0.0);
    for w in weights.iter().filter(|w| w.carrier > joint) {
        let lever = lever_over(placed, half, &sway, w, joint, sign, &mut score);
        most += w.mass * G * lever.max(0.0);
        scale += w.mass * G * lever.abs();
    }
    let here = range(placed, weights, joint);
    let here = if sign > 0.0 { here.high } else { -here.low };
    // Rounding is some 1e-15 of what was added up.
    Judged { here, most: most + 1e-12 * scale, split: widest(&score) }
}

/// The joint with the greatest score above nothing, the first of equals.
pub(super) fn widest(score: &[f64]) -> Option<usize> {
    let mut best = None;
    for (j, s) in score.iter().enumerate() {
        if *s > best.map_or(0.0, |b: usize| score[b]) {
            best = Some(j);
        }
    }
    best
}

/// The greatest torques a joint may have to give over a box, both ways.
#[derive(Clone, Debug, PartialEq)]
pub struct TorqueOver {
    /// The greatest positive torque; nothing where none is needed.
    pub positive: Worst,
    /// The greatest negative torque, by its magnitude.
    pub negative: Worst,
}

impl TorqueOver {
    /// As an interval that holds every torque of the box.
    pub fn range(&self) -> Range {
        Range { low: -self.negative.most, high: self.positive.most }
    }
    /// The greater of the two.
    pub fn worse(&self) -> &Worst {
        if self.negative.most > self.positive.most { &self.negative } else { &self.positive }
    }
}

/// The greatest torques of a joint over a box, to `enough` Nm or two parts in a thousand.
pub fn torque_over(chain: &Chain, weights: &[Weight], joint: usize, within: &JointBox, enough: f64) -> Result<TorqueOver, Fault> {
    let over = |sign| worst(chain, within, enough, |placed, _, half| torque_bound(placed, half, weights, joint, sign));
    Ok(TorqueOver { positive: over(1.0)?, negative: over(-1.0)? })
}

/// Why no pressure can be told.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoPressure {
    /// The box cannot be judged.
    #[error(transparent)]
    Fault(#[from] Fault),
    /// The cylinder has no lever arm at an angle of the box, rad.
    #[error("the cylinder has no lever arm at an angle of the travel")]
    Toggle(f64),
}

impl From<Toggle> for NoPressure {
    fn from(toggle: Toggle) -> NoPressure {
        NoPressure::Toggle(toggle.at)
    }
}

/// The greatest pressures a cylinder needs over a box, Pa: on its cap side, and on its rod side. The torque and the lever
/// arm are both taken along the sweep: the worst point need not be at an end of it.
pub fn pressure_over(
    chain: &Chain,
    weights: &[Weight],
    joint: usize,
    within: &JointBox,
    cylinder: &Linkage,
    enough: f64,
) -> Result<[Worst; 2], NoPressure> {
    within.check(chain)?;
    let travel = |within: &JointBox| within.0.get(joint).map_or([0.0, 0.0], |a| a.map(radians));
    let [low, high] = travel(within);
    cylinder.admit(low, high)?;
    let over = |sign: f64| {
        worst(chain, within, enough, |placed, inner, half| {
            let torque = torque_bound(placed, half, weights, joint, sign);
            let [low, high] = travel(inner);
            // Within what was admitted above.
            let least = cylinder.least_arm(low, high).unwrap_or(0.0);
            let arm = cylinder.arm(cylinder.included((low + high) / 2.0));
            // Where the lever arm blurs the pressure more than the torque does, the joint's own interval is halved.
            let blurred = arm / least - 1.0 > (torque.most - torque.here) / torque.most.max(NOTHING);
            Judged {
                here: cylinder.demand(sign * torque.here, arm).pressure,
                most: cylinder.demand(sign * torque.most, least).pressure,
                split: if blurred { Some(joint) } else { torque.split },
            }
        })
    };
    Ok([over(1.0)?, over(-1.0)?])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::chain::{Hinge, Mount};
    use crate::geometry::worst::{Judged, halves};

    /// Joints that lift with a growing angle.
    fn planar(lengths: &[i64]) -> Chain {
        let mut before = 0;
        let hinges = lengths.iter().map(|l| Hinge { axis: [0, -1, 0], origin: [std::mem::replace(&mut before, *l), 0, 0], turn: [0; 3] });
        Chain::new(Mount::default(), hinges.collect()).expect("a chain")
    }

    fn weight(carrier: usize, mass: f64, x: f64) -> Weight {
        Weight { carrier, mass, centre: Vec3::new(x, 0.0, 0.0), within: 0.0 }
    }

    /// Planar 2R, links of 1 m at (30, 60) deg, 10 kg at the tip: textbook formulas, from memory; 84.957 Nm with g = 9.81.
    #[test]
    fn a_planar_arm_is_held_as_the_textbook_says() {
        let chain = planar(&[1_000_000, 1_000_000]);
        let placed = chain.place_exact(&[30_000, 60_000]);
        let weights = [weight(2, 10.0, 1.0)];
        let tip = placed.carriers[2].point(Vec3::X);
        assert!((tip - Vec3::new(0.866_025_4, 0.0, 1.5)).length() < 1e-7, "{tip}");
        assert!((holding(&placed, &weights, 0) * 9.81 / G - 84.957).abs() < 5e-4);
        assert!(holding(&placed, &weights, 1).abs() < 1e-12);
    }

    #[test]
    fn a_torque_is_an_interval_over_masses_and_centres() {
        let placed = planar(&[1_000_000, 1_000_000]).place_exact(&[0, 0]);
        // A load before the axis and a counterweight behind it; the centre of the load is known to 0.1 m.
        let weights = [Weight { within: 0.1, ..weight(1, 10.0, 0.5) }, weight(1, 4.0, -0.5)];
        let torques = range(&placed, &weights, 0);
        assert!((torques.high - 10.0 * G * 0.6).abs() < 1e-12 && (torques.low + 4.0 * G * 0.5).abs() < 1e-12, "{torques:?}");
        assert_eq!(torques.droop(0.0), Droop::Either);
        assert_eq!(range(&placed, &weights[..1], 0).droop(0.0), Droop::Falls);
        assert_eq!(range(&placed, &weights[1..], 0).droop(0.0), Droop::Grows);
        // What hangs inboard of a joint is no matter to it, nor does an upright axis carry anything.
        assert_eq!(range(&placed, &weights, 1).droop(0.0), Droop::Stays);
        let upright = Chain::new(Mount::default(), vec![Hinge { axis: [0, 0, 1], origin: [0; 3], turn: [0; 3] }]).expect("a chain");
        assert_eq!(range(&upright.place_exact(&[12_000]), &weights, 0).droop(0.0), Droop::Stays);
    }

    /// Five joints with slanted axes and bent links.
    fn bent() -> (Chain, Vec<Weight>) {
        let hinge = |axis, origin, turn| Hinge { axis, origin, turn };
        let hinges = vec![
            hinge([0, 0, 1], [0, 0, 300_000], [0; 3]),
            hinge([0, -1, 0], [120_000, 30_000, 250_000], [0; 3]),
            hinge([0, -3, 1], [800_000, -50_000, 0], [10_000, 20_000, -30_000]),
            hinge([1, 0, 0], [250_000, 0, 40_000], [0; 3]),
            hinge([0, -1, 0], [400_000, 0, 0], [0; 3]),
        ];
        let weights = vec![
            weight(1, 40.0, 0.1),
            weight(2, 38.0, 0.4),
            weight(3, 12.0, -0.2),
            weight(4, 9.0, 0.2),
            Weight { centre: Vec3::new(0.2, 0.1, -0.05), within: 0.03, ..weight(5, 25.0, 0.0) },
        ];
        (Chain::new(Mount::default(), hinges).expect("a chain"), weights)
    }

    fn picks(mut seed: u64) -> impl FnMut(i64) -> i64 {
        move |n| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as i64 % n.max(1)
        }
    }

    /// What a box is tried for: arm, joint, sign, box, and the greatest torque met in it.
    type Check<'a> = dyn FnMut(&Chain, &[Weight], usize, f64, &JointBox, f64) + 'a;

    /// Random boxes, and the greatest torque met in each: on a grid of its joint that moves, at every corner of the others.
    fn tried(check: &mut Check<'_>) {
        let (chain, weights) = bent();
        let mut pick = picks(11);
        for _ in 0..150 {
            let (moving, joint) = (pick(5) as usize, pick(5) as usize);
            let sign = if pick(2) == 0 { 1.0 } else { -1.0 };
            let span = |k: usize, pick: &mut dyn FnMut(i64) -> i64| {
                let from = pick(240_000) - 120_000;
                [from, from + if k == moving { 1 + pick(60_000) } else { pick(1_500) }]
            };
            let within = JointBox((0..5).map(|k| span(k, &mut pick)).collect());
            let mut met = 0.0_f64;
            for corner in 0..32_usize {
                let mut pose: Vec<i64> = (0..5).map(|k| within.0[k][corner >> k & 1]).collect();
                let [low, high] = within.0[moving];
                for i in 0..=30 {
                    pose[moving] = low + (high - low) * i / 30;
                    let torques = range(&chain.place_exact(&pose), &weights, joint);
                    met = met.max(if sign > 0.0 { torques.high } else { -torques.low });
                }
            }
            check(&chain, &weights, joint, sign, &within, met);
        }
    }

    fn bound(chain: &Chain, weights: &[Weight], joint: usize, sign: f64, within: &JointBox, part: f64) -> Judged {
        let half: Vec<f64> = halves(within).map(|h| h * part).collect();
        let middle: Vec<i64> = within.0.iter().map(|[low, high]| low + (high - low) / 2).collect();
        torque_bound(&chain.place_exact(&middle), &half, weights, joint, sign)
    }

    #[test]
    fn no_torque_of_a_box_is_above_its_bound_and_the_search_comes_near_it() {
        tried(&mut |chain, weights, joint, sign, within, met| {
            let once = bound(chain, weights, joint, sign, within, 1.0);
            // The middle of an odd interval is half a thousandth of a degree off here.
            assert!(met <= once.most + 1e-2, "joint {joint} over {within:?}: {met} is above {once:?}");
            let over = torque_over(chain, weights, joint, within, 0.05).expect("a bound");
            let worst = if sign > 0.0 { &over.positive } else { &over.negative };
            assert!(met <= worst.most && worst.found <= worst.most, "{met} is above {worst:?}");
            assert!(worst.most <= met * 1.004 + 0.1, "{worst:?} is far above {met}");
            let there = range(&chain.place_exact(&worst.at), weights, joint);
            let there = if sign > 0.0 { there.high } else { -there.low };
            assert!((there - worst.found).abs() < 1e-2, "{worst:?} is not met there: {there}");
        });
    }

    /// The bound weakened a little is caught: the check above can fail.
    #[test]
    fn a_weakened_bound_lets_torques_through() {
        let mut through = [0.95, 0.9, 0.7, 0.0].map(|part| (part, 0));
        tried(&mut |chain, weights, joint, sign, within, met| {
            for (part, count) in &mut through {
                *count += i32::from(met > bound(chain, weights, joint, sign, within, *part).most + 1e-2);
            }
        });
        assert!(through.iter().all(|(_, count)| *count > 0), "{through:?}");
    }

    #[test]
    fn the_worst_torque_need_not_stand_at_an_end() {
        let chain = planar(&[1_000_000]);
        let over = torque_over(&chain, &[weight(1, 10.0, 1.0)], 0, &JointBox(vec![[-40_000, 60_000]]), 0.01).expect("a bound");
        assert!((over.positive.most - 10.0 * G).abs() < 0.2 && over.positive.at[0].abs() < 3000, "{over:?}");
        assert_eq!(over.range().droop(0.01), Droop::Falls);
        assert_eq!(over.worse(), &over.positive);
    }

    /// Level the load is heaviest, and near the toggle the cylinder has the shortest arm: the worst lies between.
    #[test]
    fn pressure_is_judged_along_the_sweep() {
        let chain = planar(&[1_000_000]);
        let weights = [weight(1, 100.0, 0.9)];
        let cylinder = Linkage { fixed: 0.52, moving: 0.21, at_zero: 85_f64.to_radians(), bore: 0.05, rod: 0.028 };
        let at = |mdeg: i64| {
            let torque = holding(&chain.place_exact(&[mdeg]), &weights, 0);
            cylinder.demand(torque, cylinder.arm(cylinder.included(radians(mdeg))))
        };
        let within = JointBox(vec![[-60_000, 85_000]]);
        let [cap, rod] = pressure_over(&chain, &weights, 0, &within, &cylinder, 1000.0).expect("a pressure");
        let most = (-60_000..=85_000).map(|mdeg| at(mdeg).pressure).fold(0.0, f64::max);
        assert!(cap.most >= most && cap.most < most * 1.004, "{cap:?} {most}");
        assert!(most > 1.3 * at(-60_000).pressure.max(at(85_000).pressure), "the ends tell less");
        assert!(rod.found == 0.0 && rod.most <= 1000.0, "{rod:?}");
        // Beyond upright the load pulls the other way.
        let [_, rod] = pressure_over(&chain, &weights, 0, &JointBox(vec![[88_000, 92_000]]), &cylinder, 1000.0).expect("a pressure");
        assert_eq!(at(92_000).side, crate::geometry::actuator::Side::Rod);
        assert!(rod.most >= at(92_000).pressure && rod.most < at(92_000).pressure * 1.01 + 1000.0, "{rod:?}");
        let toggle = JointBox(vec![[-85_000, 0]]);
        assert!(matches!(pressure_over(&chain, &weights, 0, &toggle, &cylinder, 1000.0), Err(NoPressure::Toggle(_))));
    }
}
