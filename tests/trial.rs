//! A writer's trial: a rack of the worked cell is moved, and the procedure is mended from the findings alone. Held here is what
//! is found first: which rule at which step, how much of it, and that it says what to do.

mod common;
mod library;

use common::{Case, START, examine};
use library::{Found, check, line_of, replace, text};
use surehand::diag::Severity;

const PROCEDURE: &str = "cartridge-change.md";
const CELL: &str = "cells/bay-3.toml";
const ARM: &str = "arms/heron.toml";

/// The cell with its drain rack elsewhere: station and solid alike, in millimetres.
fn moved(by: [i64; 3]) -> String {
    let at = |z: i64| format!("[\"{} mm\", \"{} mm\", \"{} mm\"]", 1509 + by[0], -1057 + by[1], z + by[2]);
    let was = |z: i64| format!("[\"1509 mm\", \"-1057 mm\", \"{z} mm\"]");
    replace(&replace(&text(CELL), &was(638), &at(638)), &was(458), &at(458))
}

/// Each finding as its rule and the step it stands at.
fn said(found: &[Found], procedure: &str) -> Vec<(&'static str, String)> {
    let step = |f: &Found| procedure.lines().nth(f.line - 1).and_then(|l| l.split_once('.')).map_or("", |(n, _)| n).to_owned();
    found.iter().map(|f| (f.rule, if f.file == PROCEDURE { step(f) } else { f.file.clone() })).collect()
}

#[test]
fn a_rack_moved_sideways_is_one_finding_that_says_where_to_go() {
    let found = check(PROCEDURE, &[(CELL, &moved([0, -60, 0]))]);
    assert_eq!(said(&found, &text(PROCEDURE)), [("off-station", "49".to_owned())]);
    assert_eq!(found[0].message, "the jaw can be 105 mm from its place at the drain rack here; 85 mm counts as there");
    assert_eq!(
        found[0].help,
        [
            "the grip centre is aimed at x 1509, y -1057, z 638 mm, 61 mm from the station at x 1509, y -1117, z 638 mm; bands, drift and read-out error take it up to 26, 30, 51 mm off that in x, y, z",
            "with base at -36.5 deg, shoulder at +17.3 deg, elbow at -54.7 deg the aim would be 3 mm from it",
            "pose `at-drain-rack` of the arm is aimed 61 mm from it too: if the station was moved, take the pose anew, then these targets",
            "1 more finding follows from this one and is not shown until it is mended",
        ]
    );
}

#[test]
fn a_rack_moved_up_is_run_into_first() {
    let found = check(PROCEDURE, &[(CELL, &moved([0, 0, 60]))]);
    let steps = [("thin-clearance", "47"), ("off-station", "49"), ("thin-clearance", "49")].map(|(rule, step)| (rule, step.to_owned()));
    assert_eq!(said(&found, &text(PROCEDURE)), steps);
    assert_eq!(found[0].message, "the spent filter cartridge can run into the drain rack here; 20 mm is to be kept");
    assert!(found[1].help.contains(&"with shoulder at +22 deg the aim would be 4 mm from it".to_owned()), "{:#?}", found[1].help);
}

/// The first two joints of the hint do already: the writer turns the base, then the pose and the survey of the rack with it.
#[test]
fn what_the_findings_ask_for_mends_the_procedure() {
    let cell = moved([0, -60, 0]);
    let turned = replace(&text(PROCEDURE), "base left from -75 deg to -35 deg slow", "base left from -75 deg to -37 deg slow");
    let turned = replace(&turned, "base left from -35 deg to +42 deg", "base left from -37 deg to +42 deg");
    let found = check(PROCEDURE, &[(CELL, &cell), (PROCEDURE, &turned)]);
    assert_eq!(said(&found, &turned), [("pose-not-met", "43".to_owned())], "{found:#?}");
    assert!(found[0].help.contains(&"2 more findings follow from this one and are not shown until it is mended".to_owned()));
    let arm = text(ARM).replace("base = \"-35 deg\"", "base = \"-37 deg\"");
    let cell = replace(&cell, "heading = \"-35 deg\"", "heading = \"-37 deg\"");
    assert!(line_of(&arm, "name = \"at-drain-rack\"") > 0);
    assert_eq!(check(PROCEDURE, &[(CELL, &cell), (PROCEDURE, &turned), (ARM, &arm)]), []);
}

#[test]
fn a_place_too_near_to_something_is_told_once_and_not_with_every_move_from_there() {
    let post = "\n[[obstacle]]\nname = \"post\"\nkind = \"solid\"\nseverity = 2\n[[obstacle.shape]]\nkind = \"capsule\"\nfrom = [\"689 mm\", \"507 mm\", \"1480 mm\"]\nto = [\"689 mm\", \"507 mm\", \"1560 mm\"]\nradius = \"10 mm\"\n";
    let steps = "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n";
    let mut case = Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}"));
    case.texts[1] += post;
    let (examined, _) = examine(&case);
    let errors: Vec<_> = examined.findings.iter().filter(|d| d.severity == Severity::Error).collect();
    let [one] = errors[..] else { panic!("{errors:#?}") };
    assert_eq!((one.rule.id, one.step.as_deref()), ("thin-clearance", Some("2")));
    assert_eq!(one.help.last().map(String::as_str), Some("2 more findings follow from this one and are not shown until it is mended"));
    // Where another thing is near, that is told.
    let other = post
        .replace("\"post\"", "\"other post\"")
        .replace("1480 mm", "1620 mm")
        .replace("507 mm", "265 mm")
        .replace("689 mm", "458 mm")
        .replace("1560 mm", "1800 mm");
    case.texts[1] += &other;
    let (examined, _) = examine(&case);
    let steps: Vec<_> = examined.findings.iter().filter(|d| d.severity == Severity::Error).filter_map(|d| d.step.clone()).collect();
    assert_eq!(steps, ["2", "4"], "{:#?}", examined.findings);
}
