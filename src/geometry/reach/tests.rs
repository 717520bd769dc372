//! Closed forms on an arm of two links in a plane.

use super::*;
use crate::geometry::body::Body;
use crate::geometry::chain::{Hinge, Mount};
use crate::geometry::solid::Solid;

/// Two links of 1 m and 0.5 m; positive angles raise, as both turn about -y.
fn planar() -> Chain {
    let hinge = |x| Hinge { axis: [0, -1, 0], origin: [x, 0, 0], turn: [0; 3] };
    Chain::new(Mount::default(), vec![hinge(0), hinge(1_000_000)]).unwrap()
}

fn tip() -> Vec3 {
    Vec3::new(0.5, 0.0, 0.0)
}

#[test]
fn a_band_of_a_planar_arm_is_its_closed_form() {
    // Stretched out and level: only the links' own sines raise the tip, and only cosines draw it in.
    let root = JointBox(vec![[-1000, 1000], [-1000, 1000]]);
    let [x, y, z] = band(&planar(), &root, 2, tip()).unwrap();
    let (s1, s2) = (trig::sin(PI / 180.0), trig::sin(PI / 90.0));
    let (c1, c2) = (trig::cos(PI / 180.0), trig::cos(PI / 90.0));
    let high = (s1 + 0.5 * s2) * 1e6;
    assert!(z[1] as f64 >= high && (z[1] as f64) < high + 40.0 && z[0] == -z[1], "{z:?} {high}");
    assert!((1_500_000..=1_500_021).contains(&x[1]), "{x:?}");
    let near = (c1 + 0.5 * c2) * 1e6;
    assert!(x[0] as f64 <= near && (x[0] as f64) > near - 40.0, "{x:?} {near}");
    assert!(y[0] >= -1 && y[1] <= 1);
}

#[test]
fn a_degree_moves_the_tip_by_its_lever() {
    let found = levers(&planar(), &[0, 90_000], 2, tip()).unwrap();
    // About the first joint the tip is at (1, 0.5): a degree moves it 17.453 mm up and 8.727 mm back.
    assert_eq!(found[0].along, [-8727, 0, 17_453]);
    assert_eq!(found[1].along, [-8727, 0, 0]);
    assert_eq!((found[0].horizontal(), found[0].vertical(), found[1].whole()), (8727, 17_453, 8727));
}

#[test]
fn tilt_heading_and_turn_add_up_over_parallel_joints() {
    let root = JointBox(vec![[-1000, 1000], [29_000, 31_000]]);
    let [low, high] = between(&planar(), &root, 2, Vec3::Z, Vec3::Z).unwrap();
    assert!((27_970..=28_000).contains(&low) && (32_000..=32_030).contains(&high), "{low} {high}");
    let against = turned(&planar(), &root, 2, &super::super::Mat3::IDENTITY, &super::super::Mat3::IDENTITY).unwrap();
    assert!((32_000..=32_030).contains(&against), "{against}");
    assert_eq!(heading(&planar(), &root, 2, Vec3::X).unwrap().map(|b| b.map(|a| a.abs() <= 21)), Some([true, true]));
    assert_eq!(heading(&planar(), &JointBox(vec![[59_000, 61_000], [30_000, 30_000]]), 2, Vec3::X).unwrap(), None);
    let upside = roll(&planar(), &root, 2, Vec3::X, Vec3::Z).unwrap().unwrap();
    assert!(upside.iter().all(|a| a.abs() <= 21), "{upside:?}");
}

#[test]
fn a_ball_comes_down_on_a_floor_between_two_sines() {
    let ball = Body::new(2, vec![Solid::round(vec![[500_000, 0, 0]], 100_000).unwrap()]);
    let floor = Body::new(0, vec![Solid::half_space([0, 0, -500_000], [0, 0, 1]).unwrap()]);
    // The elbow is straight to within half a degree: the lowest point is at sin a + sin(a + e) / 2 - 0.1.
    let root = JointBox(vec![[-40_000, 0], [-500, 500]]);
    let found = contact(&planar(), &root, (0, false), &ball, &floor, 5000).unwrap();
    let height = |a: f64, e: f64| trig::sin(a * PI / 180.0) + 0.5 * trig::sin((a + e) * PI / 180.0) - 0.1 + 0.5;
    let (first, last) = (found.first.unwrap() as f64 / 1000.0, found.last.unwrap() as f64 / 1000.0);
    assert!(height(first, -0.5) > 0.005 && height(first - 0.01, -0.5) < 0.005, "{first}");
    assert!(height(last, 0.5) <= -0.005 + 3e-6 && height(last + 0.02, 0.5) > -0.005, "{last}");
    let root = JointBox(vec![[-5_000, 0], [-500, 500]]);
    let none = Contact { first: None, last: None };
    assert_eq!(contact(&planar(), &root, (0, false), &ball, &floor, 5000).unwrap(), none);
}

#[test]
fn a_load_falls_onto_the_highest_thing_that_is_certain_to_be_below_it() {
    let ball = Body::new(2, vec![Solid::round(vec![[500_000, 0, 0]], 100_000).unwrap()]);
    let floor = Body::new(0, vec![Solid::half_space([0, 0, -1_000_000], [0, 0, 1]).unwrap()]);
    let corners = |x: [i64; 2]| (0..8).map(|i| [x[i & 1], [-200_000, 200_000][i >> 1 & 1], [-700_000, -600_000][i >> 2]]).collect();
    let wide = Body::new(0, vec![Solid::round(corners([1_400_000, 1_600_000]), 0).unwrap()]);
    let aside = Body::new(0, vec![Solid::round(corners([1_800_000, 1_900_000]), 0).unwrap()]);
    let level = JointBox(vec![[-100, 100], [0, 0]]);
    let found = height(&planar(), &level, &ball, &[&floor, &wide, &aside], 0.0).unwrap();
    // 0.5 m above the table and 2.6 mm for the tenth of a degree.
    assert!((502_618..=503_700).contains(&found.most.unwrap()), "{found:?}");
    // The floor is 0.4 m below the table: never met first, unless the table may lie as much lower.
    let [(1, above)] = found.onto[..] else { panic!("{found:?}") };
    assert!((502_618..=found.most.unwrap()).contains(&above), "{found:?}");
    let loose = height(&planar(), &level, &ball, &[&floor, &wide, &aside], 0.41).unwrap();
    assert_eq!(loose.onto.iter().map(|o| o.0).collect::<Vec<_>>(), [0, 1]);
    assert_eq!(loose.most.unwrap() - found.most.unwrap(), 410_000);
    assert_eq!(height(&planar(), &level, &ball, &[&aside], 0.0).unwrap(), Height { most: None, onto: vec![] });
    // Raised by 40 deg it is no longer above the table, and 1.5 sin 40 deg + 0.9 m above the floor.
    let swept = JointBox(vec![[0, 40_000], [0, 0]]);
    let swept = height(&planar(), &swept, &ball, &[&floor, &wide], 0.0).unwrap();
    assert!((1_864_181..=1_866_000).contains(&swept.most.unwrap()), "{swept:?}");
    // Onto the floor from the highest; onto the table from as high as it may still be above it, which is less.
    let [(0, floor), (1, table)] = swept.onto[..] else { panic!("{swept:?}") };
    assert!(floor == swept.most.unwrap() && table < floor && table > 502_618, "{swept:?}");
}

#[test]
fn a_load_that_may_already_stand_on_a_thing_falls_no_farther_than_onto_it() {
    let ball = Body::new(2, vec![Solid::round(vec![[500_000, 0, 0]], 100_000).unwrap()]);
    let floor = Body::new(0, vec![Solid::half_space([0, 0, -1_000_000], [0, 0, 1]).unwrap()]);
    let slab = |z: [i64; 2]| {
        let corners = (0..8).map(|i| [[1_300_000, 1_700_000][i & 1], [-200_000, 200_000][i >> 1 & 1], z[i >> 2]]).collect();
        Body::new(0, vec![Solid::round(corners, 0).unwrap()])
    };
    // Raised by 10 deg it is 1.5 sin 10 deg - 0.1 - 0.04 m above the table; level it would be a little in it, and stands on it.
    let raised = JointBox(vec![[0, 10_000], [0, 0]]);
    let found = height(&planar(), &raised, &ball, &[&floor, &slab([-300_000, 40_000])], 0.0).unwrap();
    assert!((120_472..=122_500).contains(&found.most.unwrap()), "{found:?}");
    assert_eq!(found.onto.iter().map(|o| o.0).collect::<Vec<_>>(), [1]);
    // Nor does what hangs above it hold it up, or a box that it is deep in and that must be hollow there.
    let level = JointBox(vec![[-100, 100], [0, 0]]);
    let found = height(&planar(), &level, &ball, &[&floor, &slab([-300_000, 200_000])], 0.0).unwrap();
    assert!((902_618..=903_700).contains(&found.most.unwrap()), "{found:?}");
    let found = height(&planar(), &level, &ball, &[&floor, &slab([200_000, 300_000])], 0.0).unwrap();
    assert!((902_618..=903_700).contains(&found.most.unwrap()), "{found:?}");
}
