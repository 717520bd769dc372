//! Facts of the trade (common practice, no source), each in a fixture of its own: the fixture loads, and what it forbids is refused.

use std::path::Path;
use surehand::diag::Severity;
use surehand::model::arm::{Arm, Travel};
use surehand::model::{self, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::session::{MemoryWorld, Session};
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

/// What is found in a procedure of these steps over a fixture alone: each rule with the text it marks.
fn steps(name: &str, start: &str, steps: &str) -> Vec<(&'static str, String)> {
    let front = "+++\nid = \"P-1\"\ntitle = \"Try\"\nrevision = \"A\"\ndate = \"2026-03-03\"\nuse = \"continuous\"\nperformer = \"Operator\"\n\
                 arm = \"arm.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"rest\"\njaw = \"50 mm\"\npower = \"on\"\n+++\n";
    // The fixture's one pose is where the steps begin.
    let profile = text(name).replace("17 deg", start).replace("\"any\"", &format!("\"{start}\""));
    let world = MemoryWorld::default()
        .with("/p/arm.toml", profile)
        .with("/p/policy.toml", EXAMPLE_POLICY)
        .with("/p/a.md", format!("{front}\n# Work\n\n{steps}"));
    let session = Session::new(&world);
    let compiled = session.compile(Path::new("/p/a.md")).unwrap_or_else(|e| panic!("{name}: {e}"));
    let marked = |d: &surehand::diag::Diagnostic| (d.rule.id, d.span.of(&session.files().get(d.span.file).text).to_string());
    compiled.findings.iter().filter(|d| d.severity == Severity::Error).map(marked).collect()
}

/// One statement that must give one finding at one place, or none.
fn statement(name: &str, start: &str, statement: &str, expected: Option<(&'static str, &str)>) {
    let found = steps(name, start, &format!("1. `{statement}`\n"));
    let expected: Vec<_> = expected.into_iter().map(|(rule, at)| (rule, at.to_string())).collect();
    assert_eq!(found, expected, "{statement}");
}

// In every fixture a joint stops within 0.7 and holds within 0.1 deg, and no soft margin is kept: what is
// accepted is the stop less 0.8 deg.

#[test]
fn a_step_pitches_a_wrist_to_90_deg_less_its_band_and_no_further() {
    statement("wrist-pitch", "17 deg", "wrist-pitch raise to 89.2 deg", None);
    statement("wrist-pitch", "17 deg", "wrist-pitch raise to 89.3 deg", Some(("over-travel", "89.3 deg")));
    statement("wrist-pitch", "17 deg", "wrist-pitch raise to 90 deg", Some(("over-travel", "90 deg")));
    statement("wrist-pitch", "17 deg", "wrist-pitch raise to 91 deg", Some(("beyond-stop", "91 deg")));
    statement("wrist-pitch", "17 deg", "wrist-pitch lower to -1 deg", Some(("beyond-stop", "-1 deg")));
    statement("wrist-pitch", "17 deg", "wrist-pitch lower to 0.8 deg", None);
    statement("wrist-pitch", "17 deg", "wrist-pitch lower to 0.7 deg", Some(("over-travel", "0.7 deg")));
}

#[test]
fn a_step_raises_a_shoulder_to_104_deg_less_its_band_and_no_further() {
    statement("shoulder", "17 deg", "shoulder raise to +103.2 deg", None);
    statement("shoulder", "17 deg", "shoulder raise to +103.3 deg", Some(("over-travel", "+103.3 deg")));
    statement("shoulder", "17 deg", "shoulder raise to +105 deg", Some(("beyond-stop", "+105 deg")));
    statement("shoulder", "17 deg", "shoulder lower to -23.2 deg", None);
    statement("shoulder", "17 deg", "shoulder lower to -25 deg", Some(("beyond-stop", "-25 deg")));
    statement("shoulder", "17 deg", "shoulder raise to +99 deg within 5 deg", Some(("over-travel", "+99 deg")));
}

#[test]
fn a_step_turns_a_base_180_deg_either_way_less_its_band() {
    statement("base", "17 deg", "base left to +179.2 deg", None);
    statement("base", "17 deg", "base right to -179.2 deg", None);
    statement("base", "17 deg", "base left to +190 deg", Some(("beyond-stop", "+190 deg")));
}

#[test]
fn a_wrong_direction_word_is_marked() {
    statement("shoulder", "17 deg", "shoulder lower to +40 deg", Some(("wrong-direction", "lower")));
    statement("base", "-90 deg", "base right to -45 deg", Some(("wrong-direction", "right")));
    statement("base", "17 deg", "base raise to +45 deg", Some(("unknown-direction", "raise")));
    statement("wrist-pitch", "17 deg", "wrist-pitch lower to 45 deg", Some(("wrong-direction", "lower")));
}

#[test]
fn steps_move_two_joints_of_two_sticks_and_never_two_of_one() {
    statement("sticks", "17 deg", "together: tilt forth to +30 deg, dip up to +30 deg", None);
    statement(
        "sticks",
        "17 deg",
        "together: tilt forth to +30 deg, reach out to +30 deg",
        Some(("same-stick", "`together: tilt forth to +30 deg, reach out to +30 deg`")),
    );
}

#[test]
fn steps_turn_a_jaw_past_360_deg_and_count_on() {
    statement("jaw-turn", "0 deg", "jaw-turn clockwise to +725 deg", None);
    let twice = "1. `jaw-turn clockwise to +1000 deg`\n2. `jaw-turn clockwise by 1000 deg, ending +2000 deg`\n";
    assert_eq!(steps("jaw-turn", "0 deg", twice), [("over-turned", "+2000 deg".to_string())]);
}

#[test]
fn steps_open_a_parallel_jaw_to_6_in_less_its_tolerance() {
    statement("parallel-jaw", "17 deg", "jaw open to 151 mm", None);
    statement("parallel-jaw", "17 deg", "jaw open to 153 mm", Some(("opening-out-of-range", "153 mm")));
}
