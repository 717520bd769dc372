//! Bands, turns, contact and height over random boxes of random arms.

use super::chains::*;
use std::collections::BTreeSet;
use surehand::geometry::body::Body;
use surehand::geometry::chain::JointBox;
use surehand::geometry::reach;
use surehand::geometry::solid::Solid;
use surehand::geometry::{Mat3, Vec3};

const TRIES: usize = 40;

/// Into how many steps a way to contact is cut before it is closed in on.
const STEPS: usize = 200;

fn vec3(v: V) -> Vec3 {
    Vec3::new(v[0], v[1], v[2])
}

fn degrees(radians: f64) -> f64 {
    radians * 180.0 / std::f64::consts::PI
}

#[test]
fn no_point_leaves_its_band_and_narrow_bands_are_tight() {
    let mut dice = Dice::new(1);
    let (mut tight, mut narrow) = (0, 0);
    for case in 0..1200 {
        let made = any_chain(&mut dice);
        let joints = made.hinges.len();
        let root = any_box(&mut dice, joints, i64::from(case % 3 == 0) * 2);
        let carrier = dice.int(1, joints as i64) as usize;
        let point = [0; 3].map(|_| dice.int(-400_000, 400_000) as f64 / 1e6);
        let anchor = [0; 3].map(|_| dice.int(-900_000, 900_000));
        let band = reach::band(&made.chain, &root, carrier, vec3(point)).unwrap();
        let far = reach::distance_at_most(&made.chain, &root, carrier, vec3(point), anchor).unwrap();
        let mut seen = [[f64::INFINITY, f64::NEG_INFINITY]; 3];
        let mut tried = |angles: &[f64]| {
            let (r, p) = place(&made.mount, &made.hinges, angles, carrier);
            let x = plus(p, apply(&r, point));
            for k in 0..3 {
                let um = x[k] * 1e6;
                assert!(
                    band[k][0] as f64 <= um && um <= band[k][1] as f64,
                    "case {case}, axis {k}: {um} outside {:?} over {root:?}",
                    band[k]
                );
                seen[k] = [seen[k][0].min(um), seen[k][1].max(um)];
            }
            let d = norm(minus(x, anchor.map(|c| c as f64 / 1e6))) * 1e6;
            assert!(d <= far as f64, "case {case}: {d} beyond {far}");
        };
        (0..TRIES).for_each(|_| tried(&inside(&mut dice, &root)));
        if root.0.iter().all(|[low, high]| high - low <= 2000) {
            for corner in 0..1usize << joints {
                let at: Vec<f64> = root.0.iter().enumerate().map(|(i, b)| b[corner >> i & 1] as f64 / 1000.0).collect();
                tried(&at);
            }
            narrow += 3;
            tight += (0..3).filter(|k| (band[*k][1] - band[*k][0]) as f64 <= seen[*k][1] - seen[*k][0] + 500.0).count();
        }
    }
    // A corner need not be the farthest where the way turns back inside the box, but nearly always is.
    assert!(narrow > 1500 && tight * 100 > narrow * 95, "{tight} of {narrow} bands are within 0.5 mm of their corners");
}

#[test]
fn no_axis_leaves_its_tilt_heading_roll_or_turn() {
    let mut dice = Dice::new(2);
    let (mut headings, mut rolls) = (0, 0);
    for case in 0..800 {
        let made = any_chain(&mut dice);
        let joints = made.hinges.len();
        let root = any_box(&mut dice, joints, i64::from(case % 4 == 0));
        let carrier = dice.int(1, joints as i64) as usize;
        let axis = if case % 2 == 0 { [0.0, 0.0, 1.0] } else { dice.direction() };
        // Half of the cases are plumb, or nearly, in the middle of their box.
        let middle: Vec<f64> = root.0.iter().map(|[low, high]| (low + high) as f64 / 2000.0).collect();
        let (now, _) = place(&made.mount, &made.hinges, &middle, carrier);
        let fixed = if case % 2 == 0 { apply(&now, axis) } else { [0.0, 0.0, 1.0] };
        let scaled = fixed.map(|c| c / norm(fixed));
        let [low, high] = reach::between(&made.chain, &root, carrier, vec3(axis), vec3(scaled)).unwrap();
        let heading = reach::heading(&made.chain, &root, carrier, vec3(axis)).unwrap();
        let roll = reach::roll(&made.chain, &root, carrier, Vec3::X, Vec3::Z).unwrap();
        let most = reach::turned(&made.chain, &root, carrier, &Mat3::IDENTITY, &Mat3::IDENTITY).unwrap();
        headings += usize::from(heading.is_some());
        rolls += usize::from(roll.is_some());
        let holds = |band: [i64; 2], is: f64, what: &str| {
            let middle = (band[0] + band[1]) as f64 / 2000.0;
            let near = is - 360.0 * ((is - middle) / 360.0).round();
            assert!(band[0] as f64 / 1000.0 <= near && near <= band[1] as f64 / 1000.0, "case {case}: {what} {near} outside {band:?}");
        };
        for _ in 0..TRIES {
            let (r, _) = place(&made.mount, &made.hinges, &inside(&mut dice, &root), carrier);
            let u = apply(&r, axis);
            let across = [u[1] * scaled[2] - u[2] * scaled[1], u[2] * scaled[0] - u[0] * scaled[2], u[0] * scaled[1] - u[1] * scaled[0]];
            let lean = degrees(libm::atan2(norm(across), dot(u, scaled)));
            assert!(low as f64 / 1000.0 <= lean && lean <= high as f64 / 1000.0, "case {case}: {lean} outside {low}..{high}");
            if let Some(band) = heading {
                holds(band, degrees(libm::atan2(u[1], u[0])), "heading");
            }
            if let Some(band) = roll {
                // The heights of the frame's z and y axes.
                holds(band, degrees(libm::atan2(r[2][1], r[2][2])), "roll");
            }
            let cosine = (r[0][0] + r[1][1] + r[2][2] - 1.0) / 2.0;
            let turn = degrees(libm::acos(cosine.clamp(-1.0, 1.0)));
            assert!(turn <= most as f64 / 1000.0 + 1e-5, "case {case}: turned {turn}, at most {most}");
        }
    }
    assert!(headings > 400 && rolls > 400, "{headings} headings, {rolls} rolls were certain");
}

#[test]
fn levers_are_the_slope_of_the_way() {
    let mut dice = Dice::new(3);
    for _ in 0..300 {
        let made = any_chain(&mut dice);
        let carrier = made.hinges.len();
        let at: Vec<i64> = made.hinges.iter().map(|_| dice.int(-180_000, 180_000)).collect();
        let point = [0; 3].map(|_| dice.int(-400_000, 400_000) as f64 / 1e6);
        let found = reach::levers(&made.chain, &at, carrier, vec3(point)).unwrap();
        for (joint, lever) in found.iter().enumerate() {
            let go = |by: f64| {
                let mut angles: Vec<f64> = at.iter().map(|a| *a as f64 / 1000.0).collect();
                angles[joint] += by;
                let (r, p) = place(&made.mount, &made.hinges, &angles, carrier);
                plus(p, apply(&r, point))
            };
            let slope = minus(go(0.01), go(-0.01)).map(|c| c / 0.02 * 1e6);
            for k in 0..3 {
                assert!((slope[k] - lever.along[k] as f64).abs() < 1.0, "joint {joint}: {slope:?} and {:?}", lever.along);
            }
        }
    }
}

/// A box along the axes of the cell.
struct Block {
    low: V,
    high: V,
}

impl Block {
    fn body(&self) -> Body {
        let corner = |i: usize| [0, 1, 2].map(|k| ((if i >> k & 1 == 0 { self.low[k] } else { self.high[k] }) * 1e6).round() as i64);
        Body::new(0, vec![Solid::round((0..8).map(corner).collect(), 0).unwrap()])
    }
    fn distance(&self, p: V) -> f64 {
        norm([0, 1, 2].map(|k| (self.low[k] - p[k]).max(p[k] - self.high[k]).max(0.0)))
    }
}

#[test]
fn contact_comes_between_the_two_angles() {
    let mut dice = Dice::new(4);
    let (mut cases, mut certain) = (0, 0);
    while cases < 300 {
        let made = any_chain(&mut dice);
        let joints = made.hinges.len();
        let joint = dice.int(0, joints as i64 - 1) as usize;
        let rising = dice.int(0, 1) == 1;
        let mut root = JointBox((0..joints).map(|_| dice.int(-170_000, 170_000)).map(|a| [a - 500, a + 500]).collect());
        let balls: Vec<([i64; 3], i64)> =
            (0..dice.int(1, 3)).map(|_| ([0; 3].map(|_| dice.int(-150_000, 150_000)), dice.int(20_000, 60_000))).collect();
        let at = |angles: &[f64], k: usize| {
            let (r, p) = place(&made.mount, &made.hinges, angles, joints);
            plus(p, apply(&r, balls[k].0.map(|c| c as f64 / 1e6)))
        };
        // A block square in the way of the first ball, its face across the way.
        let mut middle: Vec<f64> = root.0.iter().map(|[low, high]| (low + high) as f64 / 2000.0).collect();
        let ahead = if rising { 12.0 } else { -12.0 };
        let before = at(&middle, 0);
        middle[joint] += ahead;
        let after = at(&middle, 0);
        let way = minus(after, before);
        if norm(way) < 0.15 {
            continue;
        }
        let k = (0..3).max_by(|a, b| way[*a].abs().total_cmp(&way[*b].abs())).unwrap();
        let mut block = Block { low: after.map(|c| c - 0.3), high: after.map(|c| c + 0.3) };
        // Short of the middle of the way, and 40 mm thick.
        if way[k] > 0.0 {
            block.high[k] = after[k] + 0.04
        } else {
            block.low[k] = after[k] - 0.04
        }
        if way[k] > 0.0 {
            block.low[k] = after[k]
        } else {
            block.high[k] = after[k]
        }
        block.low = block.low.map(|c| (c * 1e6).round() / 1e6);
        block.high = block.high.map(|c| (c * 1e6).round() / 1e6);
        let far = (ahead * 1000.0) as i64 * 2;
        if rising {
            root.0[joint][1] += far
        } else {
            root.0[joint][0] += far
        }
        let give = dice.int(0, 4000);
        let parts = balls.iter().map(|(p, r)| Solid::round(vec![*p], *r).unwrap()).collect();
        let found = reach::contact(&made.chain, &root, (joint, rising), &Body::new(joints, parts), &block.body(), give).unwrap();
        cases += 1;
        certain += usize::from(found.last.is_some());
        for _ in 0..6 {
            let mut angles = inside(&mut dice, &root);
            let shift = dice.direction().map(|c| c * give as f64 / 1e6 * dice.unit());
            let [low, high] = root.0[joint].map(|a| a as f64 / 1000.0);
            let way = |share: f64| if rising { low + share * (high - low) } else { high - share * (high - low) };
            let mut touches = |share: f64| {
                angles[joint] = way(share);
                (0..balls.len()).any(|k| block.distance(minus(at(&angles, k), shift)) <= balls[k].1 as f64 / 1e6)
            };
            let met = (0..=STEPS).find(|step| touches(*step as f64 / STEPS as f64)).map(|step| {
                // The first touch of this step of the way.
                let (mut out, mut inside) = ((step as f64 - 1.0).max(0.0) / STEPS as f64, step as f64 / STEPS as f64);
                for _ in 0..30 {
                    let middle = (out + inside) / 2.0;
                    if touches(middle) { inside = middle } else { out = middle }
                }
                way(inside)
            });
            let past = |a: f64, b: f64| if rising { a > b } else { a < b };
            if let Some(met) = met {
                let first = found.first.expect("contact was excluded") as f64 / 1000.0;
                assert!(!past(first, if rising { met + 1e-9 } else { met - 1e-9 }), "case {cases}: met at {met}, excluded until {first}");
            }
            if let Some(last) = found.last {
                let met = met.expect("contact was certain");
                let last = last as f64 / 1000.0;
                assert!(!past(met, if rising { last + 1e-9 } else { last - 1e-9 }), "case {cases}: met at {met}, certain by {last}");
            }
        }
    }
    assert!(certain > 150, "contact was certain in {certain} of {cases} cases");
}

#[test]
fn nothing_falls_farther_than_it_says() {
    let mut dice = Dice::new(5);
    let (mut known, mut named, mut met) = (0, 0, BTreeSet::new());
    for case in 0..300 {
        let made = any_chain(&mut dice);
        let joints = made.hinges.len();
        let root = any_box(&mut dice, joints, 1);
        let balls: Vec<([i64; 3], i64)> = (0..2).map(|_| ([0; 3].map(|_| dice.int(-100_000, 100_000)), dice.int(20_000, 60_000))).collect();
        let parts = balls.iter().map(|(p, r)| Solid::round(vec![*p], *r).unwrap()).collect();
        let carried = Body::new(joints, parts);
        let floor = Body::new(0, vec![Solid::half_space([0, 0, -6_000_000], [0, 0, 1]).unwrap()]);
        let blocks: Vec<Block> = (0..4)
            .map(|_| {
                let low = [dice.int(-2_000_000, 1_000_000), dice.int(-2_000_000, 1_000_000), -5_900_000];
                let high = [low[0] + dice.int(300_000, 2_000_000), low[1] + dice.int(300_000, 2_000_000), dice.int(-5_800_000, -4_500_000)];
                Block { low: low.map(|c| c as f64 / 1e6), high: high.map(|c| c as f64 / 1e6) }
            })
            .collect();
        let bodies: Vec<Body> = std::iter::once(floor).chain(blocks.iter().map(Block::body)).collect();
        let found = reach::height(&made.chain, &root, &carried, &bodies.iter().collect::<Vec<_>>(), 0.0).unwrap();
        let most = found.most.expect("there is a floor") as f64 / 1e6;
        let mut seen = 0.0_f64;
        for _ in 0..TRIES {
            let angles = inside(&mut dice, &root);
            let (r, p) = place(&made.mount, &made.hinges, &angles, joints);
            // How far it falls onto each, were it alone: the floor, then the blocks.
            let mut onto = [f64::INFINITY; 5];
            let mut lowest = f64::INFINITY;
            for (at, radius) in &balls {
                let c = plus(p, apply(&r, at.map(|c| c as f64 / 1e6)));
                let radius = *radius as f64 / 1e6;
                lowest = lowest.min(c[2] - radius);
                onto[0] = onto[0].min(c[2] - radius + 6.0);
                for (fall, block) in onto[1..].iter_mut().zip(&blocks) {
                    let aside = block.distance([c[0], c[1], block.high[2]]);
                    if aside <= radius {
                        *fall = fall.min(c[2] - block.high[2] - (radius * radius - aside * aside).sqrt());
                    }
                }
            }
            let (first, fall) = onto.into_iter().enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).expect("five");
            assert!(fall <= most + 1e-6, "case {case}: falls {fall}, at most {most}");
            seen = seen.max(fall);
            let told = found.onto.iter().find(|o| o.0 == first).expect("what is met first is named").1;
            let top = if first == 0 { -6.0 } else { blocks[first - 1].high[2] };
            assert!(fall.min(lowest - top) <= told as f64 / 1e6 + 1e-6, "case {case}: {lowest} above {first}, at most {told}");
            met.insert(first);
        }
        named += found.onto.len();
        known += usize::from(most - seen < 0.1);
    }
    assert!(known > 100, "in {known} of 300 cases the greatest fall was found within 100 mm");
    // Each kind of thing is met first somewhere, and most of the five are never named.
    assert!(met.len() == 5 && named < 300 * 3, "{met:?}, {named} named");
}
