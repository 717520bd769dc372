//! Where arms are and what holds them, against pinocchio, and against published worked examples.

use super::references::stored;
use super::{root, script};
use serde_json::Value;
use surehand::geometry::Vec3;
use surehand::geometry::chain::{Chain, Hinge, Mount, Placed};
use surehand::geometry::statics::{G, Weight, holding};
use surehand::model;
use surehand::text::FileId;

/// How far this project and pinocchio may lie apart, in metres, or in torque as a share of the greatest of the pose.
const ALIKE: f64 = 1e-9;

/// One arm of poses.json.
pub(crate) struct Robot {
    pub(crate) name: String,
    pub(crate) chain: Chain,
    pub(crate) weights: Vec<Weight>,
    pub(crate) whole: Value,
}

pub(crate) fn floats(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(|x| x.as_f64().expect("a number")).collect()
}

pub(crate) fn vector(value: &Value) -> Vec3 {
    Vec3::from_slice(&floats(value))
}

fn integers(value: &Value) -> [i64; 3] {
    let list: Vec<i64> = value.as_array().expect("a list").iter().map(|x| x.as_i64().expect("a whole number")).collect();
    list.try_into().expect("three")
}

pub(crate) fn robots(value: &Value) -> Vec<Robot> {
    let arms = value["arms"].as_array().expect("arms").iter();
    let robot = |arm: &Value| {
        let joints = arm["joints"].as_array().expect("joints");
        let hinge = |j: &Value| Hinge { axis: integers(&j["axis"]), origin: integers(&j["origin"]), turn: integers(&j["turn"]) };
        let weight = |(i, j): (usize, &Value)| Weight {
            carrier: i + 1,
            mass: j["mass"].as_f64().expect("a mass"),
            centre: vector(&j["centre"]),
            within: 0.0,
        };
        Robot {
            name: arm["name"].as_str().expect("a name").to_string(),
            chain: Chain::new(Mount::default(), joints.iter().map(hinge).collect()).expect("a chain"),
            weights: if joints[0].get("mass").is_some() { joints.iter().enumerate().map(weight).collect() } else { Vec::new() },
            whole: arm.clone(),
        }
    };
    arms.map(robot).collect()
}

/// The greatest differences of poses and torques from what is stored.
fn apart(robot: &Robot) -> (f64, f64, usize) {
    let (mut place, mut torque, mut poses) = (0.0_f64, 0.0_f64, 0);
    for pose in robot.whole["poses"].as_array().expect("poses") {
        let placed = robot.chain.place(&floats(&pose["angles"]));
        for (frame, origin) in placed.carriers[1..].iter().zip(pose["origins"].as_array().expect("origins")) {
            place = place.max((frame.at - vector(origin)).length());
        }
        // Row by row there, by columns here.
        let turn = placed.carriers.last().expect("a joint").turn.transpose().to_cols_array();
        place = turn.iter().zip(floats(&pose["turn"])).fold(place, |most, (a, b)| most.max((a - b).abs()));
        let theirs = floats(&pose["torque"]);
        let scale = theirs.iter().fold(1.0_f64, |most, t| most.max(t.abs()));
        for (joint, theirs) in theirs.iter().enumerate() {
            torque = torque.max((holding(&placed, &robot.weights, joint) - theirs).abs() / scale);
        }
        poses += 1;
    }
    (place, torque, poses)
}

/// Six open arms (URDF files of the PyPI packages `example-robot-data` and `rtb-data`, and one made for slanted axes),
/// placed and held by pinocchio (PyPI `pin`).
#[test]
fn poses_and_torques_are_those_of_pinocchio() {
    let robots = robots(&stored("poses.py"));
    assert_eq!(robots.len(), 6);
    for robot in robots {
        let (place, torque, poses) = apart(&robot);
        println!("{}: {poses} poses, {place:.1e} m, {torque:.1e} of the torque", robot.name);
        assert!(poses >= 6 && place < ALIKE && torque < ALIKE, "{}: {place:e} {torque:e}", robot.name);
    }
}

/// The arms of the worked procedures, read by `poses.py` with a reader of its own and by the loader of arm profiles here.
#[test]
fn the_worked_arms_stand_as_pinocchio_places_them() {
    for name in ["heron", "osprey"] {
        let path = root().join(format!("procedures/arms/{name}.toml"));
        let text = std::fs::read_to_string(&path).expect("a profile");
        let theirs = script("poses.py", &[&path]).unwrap_or_else(|e| panic!("{name}: {e}"));
        let whole: Value = serde_json::from_str(&theirs).expect("JSON");
        let (arm, _) = model::arm::load(FileId(0), &text);
        let arm = arm.expect("it loads");
        let weight = |link: &model::arm::Link| {
            let centre = Vec3::from_array(link.centre?.map(|c| c.0 as f64 / 1e6));
            Some(Weight { carrier: link.joint?.at() + 1, mass: link.mass?.value.0 as f64 / 1e6, centre, within: 0.0 })
        };
        let robot = Robot {
            name: name.to_string(),
            chain: model::solid::chain(&arm, None).expect("a chain"),
            weights: arm.links.iter().filter_map(weight).collect(),
            whole: whole["arms"][0].clone(),
        };
        assert!(robot.weights.len() >= 5, "{name}");
        let (place, torque, poses) = apart(&robot);
        println!("{name}: {poses} poses, {place:.1e} m, {torque:.1e} of the torque");
        assert!(poses >= 6 && place < ALIKE && torque < ALIKE, "{name}: {place:e} {torque:e}");
    }
}

/// The comparison sees one micrometre and one gram.
#[test]
fn a_slightly_wrong_arm_is_not_that_of_pinocchio() {
    let mut wrong = stored("poses.py");
    wrong["arms"][0]["joints"][2]["origin"][0] = 1.into();
    assert!(apart(&robots(&wrong)[0]).0 > ALIKE);
    let mut wrong = stored("poses.py");
    let mass = &mut wrong["arms"][0]["joints"][2]["mass"];
    *mass = (mass.as_f64().expect("a mass") + 0.001).into();
    assert!(apart(&robots(&wrong)[0]).1 > ALIKE);
}

type Link = ([i64; 3], [i64; 3]);

/// A standard Denavit-Hartenberg table `(d, a, alpha)`, in metres and degrees.
struct Table(&'static [(f64, f64, i64)]);

impl Table {
    /// The chain, and the link frames behind the joints: place in micrometres, turn in thousandths of a degree.
    fn chain(&self) -> (Chain, Vec<Link>) {
        let um = |metres: f64| (metres * 1e6).round() as i64;
        let links: Vec<_> = self.0.iter().map(|(d, a, alpha)| ([um(*a), 0, um(*d)], [alpha * 1000, 0, 0])).collect();
        let hinges = (0..links.len()).map(|k| {
            let (origin, turn) = if k == 0 { ([0; 3], [0; 3]) } else { links[k - 1] };
            Hinge { axis: [0, 0, 1], origin, turn }
        });
        (Chain::new(Mount::default(), hinges.collect()).expect("a chain"), links)
    }

    fn tool(&self, q: &[f64]) -> Vec3 {
        let (chain, links) = self.chain();
        let (at, turn) = *links.last().expect("a link");
        let placed: Placed = chain.place(q);
        placed.carriers.last().expect("a joint").then(&surehand::geometry::Frame::of(at, turn)).at
    }
}

/// Puma 560, without the height of its first joint.
const PUMA: Table = Table(&[(0.0, 0.0, 90), (0.0, 0.4318, 0), (0.15005, 0.0203, -90), (0.4318, 0.0, 90), (0.0, 0.0, -90), (0.0, 0.0, 0)]);

fn radians(degrees: &[f64]) -> Vec<f64> {
    degrees.iter().map(|d| d.to_radians()).collect()
}

/// Puma 560, tool points: Corke, Robotics, Vision and Control (from memory).
#[test]
fn the_puma_stands_where_the_textbook_says() {
    let cases = [
        ([0.0, 0.0, 0.0, 0.0, 0.0, 0.0], [0.4521, -0.15005, 0.4318], 1e-12),
        ([0.0, 90.0, -90.0, 0.0, 0.0, 0.0], [0.0203, -0.15005, 0.8636], 1e-12),
        ([0.0, 0.0, -90.0, 0.0, 0.0, 0.0], [0.8636, -0.15005, -0.0203], 1e-12),
        ([0.0, 45.0, 180.0, 0.0, 45.0, 0.0], [0.596_303, -0.15005, -0.014_354], 5e-7),
    ];
    for (angles, want, near) in cases {
        let tool = PUMA.tool(&radians(&angles));
        assert!((tool - Vec3::from_array(want)).length() < 2.0 * near, "{angles:?}: {tool}");
    }
}

/// roboticstoolbox-python at a pose without zeros; its Puma stands 26.45 in higher. Tables of the toolbox's models.
#[test]
fn four_arms_stand_where_the_toolbox_says() {
    let ur10 = Table(&[(0.1273, 0.0, 90), (0.0, -0.612, 0), (0.0, -0.5723, 0), (0.163_941, 0.0, 90), (0.1157, 0.0, -90), (0.0922, 0.0, 0)]);
    let ur5 =
        Table(&[(0.089_459, 0.0, 90), (0.0, -0.425, 0), (0.0, -0.392_25, 0), (0.109_15, 0.0, 90), (0.094_65, 0.0, -90), (0.0823, 0.0, 0)]);
    let irb140 = Table(&[(0.352, 0.07, -90), (0.0, 0.36, 0), (0.0, 0.0, -90), (0.38, 0.0, 90), (0.0, 0.0, -90), (0.065, 0.0, 0)]);
    let q = [0.3, -0.4, 0.5, -0.6, 0.7, -0.8];
    let cases = [
        ("Puma", PUMA, 26.45 * 0.0254, [0.402_407, -0.032_586, 0.935_349]),
        ("UR10", ur10, 0.0, [-1.116_023, -0.590_647, 0.235_429]),
        ("UR5", ur5, 0.0, [-0.783_769, -0.422_591, 0.158_158]),
        ("IRB140", irb140, 0.0, [0.316_798, 0.073_248, 0.068_073]),
    ];
    for (name, table, height, want) in cases {
        let tool = table.tool(&q) + Vec3::new(0.0, 0.0, height);
        assert!((tool - Vec3::from_array(want)).length() < 1e-6, "{name}: {tool}");
    }
}

/// Gravity torque of the Puma 560 with its toolbox masses at (0, 45, 180, 0, 45, 0) deg: published in the help of the
/// toolbox's `gravload` (from memory), for g = 9.81.
#[test]
fn the_puma_is_held_by_the_torques_of_the_toolbox() {
    let masses = [0.0, 17.4, 4.8, 0.82, 0.34, 0.09];
    let centres = [[0.0; 3], [-0.3638, 0.006, 0.2275], [-0.0203, -0.0141, 0.070], [0.0, 0.019, 0.0], [0.0; 3], [0.0, 0.0, 0.032]];
    let (chain, links) = PUMA.chain();
    let weights: Vec<Weight> = (0..6)
        .map(|k| {
            let link = surehand::geometry::Frame::of(links[k].0, links[k].1);
            Weight { carrier: k + 1, mass: masses[k], centre: link.point(Vec3::from_array(centres[k])), within: 0.0 }
        })
        .collect();
    let placed = chain.place(&radians(&[0.0, 45.0, 180.0, 0.0, 45.0, 0.0]));
    for (joint, want) in [0.0, 31.639_88, 6.035_138, 0.0, 0.028_253, 0.0].into_iter().enumerate() {
        let torque = holding(&placed, &weights, joint) * 9.81 / G;
        assert!((torque - want).abs() < 1e-6 * (1.0 + 10.0 * want), "joint {}: {torque}, {want} is published", joint + 1);
    }
}
