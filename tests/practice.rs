//! Facts of the trade (common practice, no source), each in a fixture of its own: the fixture loads, and what it forbids is refused.

use surehand::model::arm::{Arm, Travel};
use surehand::model::{self, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::text::FileId;

fn text(name: &str) -> String {
    let path = format!("{}/tests/fixtures/practice/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn arm(name: &str) -> Arm {
    let (arm, found) = model::arm::load(FileId(0), &text(name));
    assert_eq!(found, [], "{name}");
    arm.unwrap_or_else(|| panic!("{name} loads"))
}

/// The rules that speak after a change of the fixture.
fn refused(name: &str, from: &str, to: &str) -> Vec<&'static str> {
    let text = text(name);
    assert_eq!(text.matches(from).count(), 1, "{from}");
    model::arm::load(FileId(0), &text.replace(from, to)).1.iter().map(|d| d.rule.id).collect()
}

fn ends(name: &str) -> (i64, i64) {
    let (low, high) = arm(name).joints[0].travel.ends();
    (low.value.0, high.value.0)
}

#[test]
fn a_shoulder_from_minus_24_to_104_deg_refuses_105() {
    assert_eq!(ends("shoulder"), (-24_000, 104_000));
    assert_eq!(refused("shoulder", "shoulder = \"17 deg\"", "shoulder = \"103 deg\""), Vec::<&str>::new());
    assert_eq!(refused("shoulder", "shoulder = \"17 deg\"", "shoulder = \"105 deg\""), ["pose-beyond-travel"]);
    assert_eq!(refused("shoulder", "shoulder = \"17 deg\"", "shoulder = \"-25 deg\""), ["pose-beyond-travel"]);
}

#[test]
fn a_wrist_pitch_from_0_to_90_deg_refuses_91() {
    assert_eq!(ends("wrist-pitch"), (0, 90_000));
    assert!(!arm("wrist-pitch").joints[0].is_signed(), "it has no negative angles");
    assert_eq!(refused("wrist-pitch", "wrist-pitch = \"17 deg\"", "wrist-pitch = \"91 deg\""), ["pose-beyond-travel"]);
}

#[test]
fn a_base_of_180_deg_either_way_refuses_181() {
    assert_eq!(ends("base"), (-180_000, 180_000));
    assert_eq!(refused("base", "base = \"17 deg\"", "base = \"181 deg\""), ["pose-beyond-travel"]);
}

#[test]
fn a_jaw_that_turns_without_stops_counts_on_past_360_deg() {
    assert!(matches!(arm("jaw-turn").joints[0].travel, Travel::Turns { .. }));
    assert_eq!(refused("jaw-turn", "jaw-turn = \"any\"", "jaw-turn = \"725 deg\""), Vec::<&str>::new());
    assert_eq!(refused("jaw-turn", "jaw-turn = \"any\"", "jaw-turn = \"1901 deg\""), ["pose-beyond-travel"]);
}

#[test]
fn one_stick_moves_one_joint_and_two_sticks_two() {
    let arm = arm("sticks");
    let [tilt, reach, twist, dip] = ["tilt", "reach", "twist", "dip"].map(|n| arm.find_joint(n).unwrap_or_else(|| panic!("{n}")));
    assert!(arm.console.may_move_together(tilt, dip) && arm.console.may_move_together(twist, reach));
    assert!(!arm.console.may_move_together(tilt, reach) && !arm.console.may_move_together(twist, dip));
    assert_eq!(refused("sticks", "[\"tilt\", \"dip\"]", "[\"tilt\", \"reach\"]"), ["pair-on-one-stick"]);
}

#[test]
fn a_parallel_jaw_of_6_in_refuses_what_is_wider() {
    let arm = arm("parallel-jaw");
    // 1 in = 25.4 mm (international definition).
    assert_eq!(arm.jaw.most.value.0, 152_400);
    let agree = |width: &str| -> Vec<&str> {
        let cell = EXAMPLE_CELL
            .replace("grip-width = \"60 mm\"\ngrip-clearance = \"20 mm\"", &format!("grip-width = \"{width}\""))
            .replace("pose = \"at-cradle\"", "pose = \"rest\"")
            .replace("pose = \"at-rack\"", "pose = \"rest\"")
            .replace("pose = \"at-shelf\"", "pose = \"rest\"");
        let (cell, policy) = (model::cell::load(FileId(1), &cell).0, model::policy::load(FileId(2), EXAMPLE_POLICY).0);
        let (Some(cell), Some(policy)) = (cell, policy) else { panic!("both load") };
        model::agree(&arm, &cell, &policy).iter().map(|d| d.rule.id).filter(|id| *id == "load-wider-than-jaw").collect()
    };
    assert_eq!(agree("152.4 mm"), Vec::<&str>::new());
    assert_eq!(agree("152.5 mm"), ["load-wider-than-jaw"]);
}

#[test]
fn four_grip_settings_cap_the_grip() {
    let caps: Vec<_> = arm("grip-levels").jaw.levels.iter().map(|l| l.most.value).collect();
    assert_eq!(caps.len(), 4);
    assert!(caps.is_sorted_by(|a, b| a < b));
    assert_eq!(refused("grip-levels", "most = \"99 N\"", "most = \"199 N\""), ["grip-levels-out-of-order"]);
}
