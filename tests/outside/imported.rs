//! Open robot descriptions made into profiles here, against where and how heavy pinocchio says those robots are.

use super::fill::fill;
use super::references::stored;
use super::robots::{floats, vector};
use super::root;
use serde_json::Value;
use std::path::PathBuf;
use surehand::geometry::Vec3;
use surehand::geometry::statics::{Weight, holding};
use surehand::model;
use surehand::model::import::skeleton;
use surehand::text::FileId;

/// Where the file of a description is: in a Python package, or beside the scripts.
fn description(path: &str) -> PathBuf {
    let libraries = root().join("target/outside/lib");
    let pythons = std::fs::read_dir(&libraries).expect("the outside checks need their packages: run tests/run once");
    let packages = pythons.map(|p| p.expect("an entry").path().join("site-packages").join(path));
    packages.chain([root().join("tests/outside").join(path)]).find(|p| p.exists()).unwrap_or_else(|| panic!("no {path}"))
}

/// Half a micrometre each way, and half a thousandth of a degree about each of three axes.
const PLACE: f64 = 0.87e-6;
const TURN: f64 = 1.5 * std::f64::consts::PI / 180_000.0;

/// The joints of an imported arm stand where pinocchio puts those of the description, but for the rounding of each joint
/// inboard; and it is as heavy, but for a gram a link.
#[test]
fn imported_arms_stand_where_their_descriptions_say() {
    for arm in stored("poses.py")["arms"].as_array().expect("arms") {
        let path = description(arm["path"].as_str().expect("a path"));
        let name = arm["name"].as_str().expect("a name");
        let text = std::fs::read_to_string(&path).expect("a description");
        let made = skeleton(&text, "arm.urdf").unwrap_or_else(|e| panic!("{name}: {e}"));
        let (loaded, problems) = model::arm::load(FileId(0), &fill(&made.text));
        let loaded = loaded.unwrap_or_else(|| panic!("{name}: {problems:#?}"));
        let chain = model::solid::chain(&loaded, None).expect("a chain");
        let weights: Vec<Weight> = loaded
            .links
            .iter()
            .filter_map(|link| {
                let centre = Vec3::from_array(link.centre?.map(|c| c.0 as f64 / 1e6));
                Some(Weight { carrier: link.joint?.at() + 1, mass: link.mass?.value.0 as f64 / 1e6, centre, within: 0.0 })
            })
            .collect();
        let theirs: f64 = arm["joints"].as_array().expect("joints").iter().map(|j| j["mass"].as_f64().expect("a mass")).sum();
        let ours: f64 = weights.iter().map(|w| w.mass).sum();
        let described = theirs > 0.0;
        if described {
            assert!(ours >= theirs - 1e-9 && ours <= theirs + 0.001 * weights.len() as f64, "{name}: {ours} kg, not {theirs} kg");
        }
        let (mut most, mut share, mut torque) = (0.0_f64, 0.0_f64, 0.0_f64);
        for pose in arm["poses"].as_array().expect("poses") {
            let placed = chain.place(&floats(&pose["angles"]));
            let origins: Vec<Vec3> = pose["described"]["origins"].as_array().expect("origins").iter().map(vector).collect();
            assert_eq!(placed.axes.len(), origins.len(), "{name}");
            for (k, origin) in origins.iter().enumerate() {
                let allowed: f64 = origins[..=k].iter().map(|inner| PLACE + TURN * (*origin - *inner).length()).sum();
                let off = (placed.axes[k].origin - *origin).length();
                assert!(off <= allowed, "{name}, joint {}: {off:e} of {allowed:e} m", k + 1);
                (most, share) = (most.max(off), share.max(off / allowed));
            }
            let wanted: Value = pose["described"]["torque"].clone();
            let scale = floats(&wanted).iter().fold(1.0_f64, |most, t| most.max(t.abs()));
            for (joint, theirs) in floats(&wanted).into_iter().enumerate().filter(|_| described) {
                torque = torque.max((holding(&placed, &weights, joint) - theirs).abs() / scale);
            }
        }
        assert!(torque < 2e-3, "{name}: {torque:e} of the torque");
        println!("{name}: {:.1} um, {share:.2} of what rounding allows; torque to {torque:.1e}", most * 1e6);
    }
}

/// A gripper's sliding fingers are no hinges: the Panda of `example-robot-data` is refused by the name of one.
#[test]
fn an_arm_with_sliding_fingers_is_refused() {
    let path = description("cmeel.prefix/share/example-robot-data/robots/panda_description/urdf/panda.urdf");
    let trouble = skeleton(&std::fs::read_to_string(path).expect("a description"), "panda.urdf").expect_err("it has fingers");
    assert!(trouble.what.contains("joint `panda_finger_joint1` is prismatic"), "{trouble}");
    assert!(trouble.line.is_some_and(|l| l > 100), "{:?}", trouble.line);
}
