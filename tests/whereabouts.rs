//! Where the arm is around a step: the states of the trace under the number people quote.

mod library;

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use surehand::compiled::whereabouts::Whereabouts;
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::session::{DiskWorld, Session};
use surehand::syntax::front;

const STEPS: &str = "\
# Work

1. `view window-1`
2. `power on arm`
3. `base left from 0 deg to +30 deg`
   - If not: [back out](#back-out)
4. `if` The lamp is lit, seen in window 1.
   - then
     1. `base left to +40 deg` {#farther}
   - otherwise: go on
5. `perform` [the look](#look)
6. `verify after: Second operator`
7. `base right to 0 deg`
8. `perform` [the look](#look)
9. `power off arm`

# The look {#look .on-call}

1. `read joints`
2. `view window-2` {#nod}

# Back out {#back-out .contingency}

1. `base right to -10 deg`
2. `base left to 0 deg`
";

/// The example cell with nothing that stands in the way.
fn empty_cell() -> String {
    let cell = EXAMPLE_CELL.split("[[obstacle]]").next().unwrap_or("");
    let kept = cell.lines().filter(|l| !["support =", "approach =", "through ="].iter().any(|k| l.starts_with(k)));
    kept.map(|l| format!("{l}\n")).collect()
}

fn project(steps: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    let text = format!("{}\n{steps}", front::EXAMPLE);
    for (name, text) in [("arm.toml", EXAMPLE_ARM), ("cell.toml", &empty_cell()), ("policy.toml", EXAMPLE_POLICY), ("a.md", &text)] {
        fs::write(folder.path().join(name), text).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    folder
}

fn run(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surehand"));
    command.current_dir(folder).arg("where").args(args).stdin(Stdio::null());
    command.output().unwrap_or_else(|e| panic!("the program did not start: {e}"))
}

fn text(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}
fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn found(folder: &Path, step: &str) -> Whereabouts {
    let done = run(folder, &["a.md", step, "--format", "json"]);
    serde_json::from_slice(&done.stdout).unwrap_or_else(|e| panic!("{step}: {e}: {}", said(&done)))
}

#[test]
fn a_step_is_found_under_the_number_that_is_printed() {
    let folder = project(STEPS);
    let base = |f: &Whereabouts| -> (Vec<i64>, Vec<i64>) {
        let nominal = |s: &[surehand::compiled::whereabouts::Stance]| s.iter().map(|s| s.state.joints[0].nominal).collect();
        (nominal(&f.before), nominal(&f.after))
    };
    for (asked, number, before, after) in [
        ("3", "3", &[0][..], &[30_000][..]),
        ("3.", "3", &[0], &[30_000]),
        ("4A.1", "4A.1", &[30_000], &[40_000]),
        ("4a.1", "4A.1", &[30_000], &[40_000]),
        ("#farther", "4A.1", &[30_000], &[40_000]),
        ("5.2", "5.2", &[40_000, 30_000], &[40_000, 30_000]),
        ("8.2", "8.2", &[0], &[0]),
        ("7", "7", &[40_000, 30_000], &[0]),
    ] {
        let found = found(folder.path(), asked);
        let mut angles = base(&found);
        angles.0.sort_unstable();
        angles.1.sort_unstable();
        let sorted = |a: &[i64]| {
            let mut a = a.to_vec();
            a.sort_unstable();
            a
        };
        assert_eq!((found.step.as_str(), angles), (number, (sorted(before), sorted(after))), "{asked}");
    }
    let found = found(folder.path(), "C1.1");
    assert_eq!(found.statement.as_deref(), Some("base right to -10 deg"));
    assert!(found.before.iter().any(|s| s.state.way == "entered part-way through step 3"), "{:?}", found.before);
}

#[test]
fn the_sheet_says_what_is_so_and_what_the_step_changes() {
    let folder = project(STEPS);
    let done = run(folder.path(), &["a.md", "3"]);
    assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    let text = text(&done);
    let lines: Vec<String> = text.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    let after = lines.iter().position(|l| l == "After step 3").unwrap_or(0);
    let (before, after) = lines.split_at(after);
    for (side, line) in [
        (before, "Step 3, Work: base left from 0 deg to +30 deg"),
        // The band of the pose is 1 deg, the hold tolerance 0.2 deg.
        (before, "base 0.0 deg may show -1.2 to +1.2 deg"),
        (before, "view window 1"),
        (before, "power on"),
        (before, "rests sample cup at the inlet cradle"),
        (before, "equipment port-plate shut"),
        // It stops within 0.5 deg by the read-out.
        (after, "* base +30.0 deg may show +29.3 to +30.7 deg"),
        (after, "shoulder +20.0 deg may show +18.8 to +21.2 deg"),
        (after, "* changed by this step"),
    ] {
        assert!(side.iter().any(|l| l == line), "{line}\n{text}");
    }
    // Two ways: what both have in common is said once.
    let done = run(folder.path(), &["a.md", "7"]);
    let text = String::from_utf8_lossy(&done.stdout);
    assert!(text.contains("Before step 7, 2 states, each under a way that leads to it\n  in each of them:\n    shoulder"), "{text}");
    for way in ["4A", "4B"] {
        assert_eq!(text.matches(&format!("  if {way} was taken:\n    base ")).count(), 1, "{text}");
    }
    assert!(text.contains("After step 7\n  * base "), "{text}");
}

#[test]
fn an_unknown_step_is_answered_with_those_near_it() {
    let folder = project(STEPS);
    for (asked, says) in [
        ("99", "there is no step 99; the steps are 1 to 9, and C1.1, C1.2"),
        ("5.9", "there is no step 5.9; there are 5.1, 5.2"),
        ("4.7", "there is no step 4.7; near it there are 3, 4, 4A.1, 5, 5.1, 5.2"),
        ("C1.7", "there is no step C1.7; there are C1.1, C1.2"),
        ("P1.2", "step P1.2 is printed where it is performed: 5.2, 8.2"),
        ("#nod", "#nod is printed as steps 5.2, 8.2; name one of them"),
        ("#father", "did you mean #farther?"),
        ("#x-y-z", "there are #farther, #nod"),
        ("", "there is no step"),
    ] {
        let done = run(folder.path(), &["a.md", asked]);
        assert_eq!((done.status.code(), text(&done).as_str()), (Some(2), ""), "{asked}");
        assert!(said(&done).contains(says), "{asked}: {}", said(&done));
    }
    assert_eq!(run(folder.path(), &["gone.md", "1"]).status.code(), Some(3));
}

#[test]
fn while_an_error_stands_that_is_said() {
    let folder = project(&STEPS.replace("base left from 0 deg", "base right from 0 deg"));
    let done = run(folder.path(), &["a.md", "3"]);
    assert_eq!(done.status.code(), Some(1));
    assert!(said(&done).contains("nothing of this is checked"), "{}", said(&done));
    assert!(found(folder.path(), "3").errors > 0);
    fs::write(folder.path().join("arm.toml"), "name = 3\n").unwrap_or_else(|e| panic!("{e}"));
    let done = run(folder.path(), &["a.md", "3"]);
    assert_eq!((done.status.code(), text(&done).as_str()), (Some(1), ""));
    assert!(said(&done).contains("arm.toml:1:") && said(&done).contains("could not be read"), "{}", said(&done));
}

/// The example arm with simple solids: a post, two beams, and a ball of 50 mm about the grip centre, 150 mm ahead of the last
/// joint; each link with its mass at its origin or half-way along. In the cell a ball and nothing else.
fn in_space() -> tempfile::TempDir {
    let arm = EXAMPLE_ARM.split("[[link]]").next().unwrap_or("");
    let links = [
        ("post", "base", "20 kg", "0 mm", "sphere", "centre = [\"0 mm\", \"0 mm\", \"0 mm\"]\nradius = \"100 mm\""),
        (
            "upper beam",
            "shoulder",
            "10 kg",
            "400 mm",
            "capsule",
            "from = [\"200 mm\", \"0 mm\", \"0 mm\"]\nto = [\"700 mm\", \"0 mm\", \"0 mm\"]\nradius = \"50 mm\"",
        ),
        (
            "fore beam",
            "elbow",
            "6 kg",
            "325 mm",
            "capsule",
            "from = [\"100 mm\", \"0 mm\", \"0 mm\"]\nto = [\"600 mm\", \"0 mm\", \"0 mm\"]\nradius = \"40 mm\"",
        ),
        ("wrist", "wrist-pitch", "2 kg", "0 mm", "sphere", "centre = [\"0 mm\", \"0 mm\", \"0 mm\"]\nradius = \"40 mm\""),
        ("jaw ball", "wrist-turn", "2 kg", "0 mm", "sphere", "centre = [\"150 mm\", \"0 mm\", \"0 mm\"]\nradius = \"50 mm\""),
    ];
    let links: String = links
        .iter()
        .map(|(name, joint, mass, x, kind, shape)| {
            let head =
                format!("[[link]]\nname = \"{name}\"\njoint = \"{joint}\"\nmass = \"{mass}\"\ncentre = [\"{x}\", \"0 mm\", \"0 mm\"]\n");
            head + &format!("[[link.shape]]\nkind = \"{kind}\"\n{shape}\n")
        })
        .collect();
    let ball = "[[obstacle]]\nname = \"buoy\"\nkind = \"solid\"\nseverity = 2\n[[obstacle.shape]]\nkind = \"sphere\"\n\
                centre = [\"1400 mm\", \"0 mm\", \"1808 mm\"]\nradius = \"100 mm\"\n";
    let folder = project(STEPS);
    for (name, text) in [("arm.toml", format!("{arm}{links}")), ("cell.toml", format!("{}\n{ball}", empty_cell()))] {
        fs::write(folder.path().join(name), text).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    folder
}

#[test]
fn the_tool_point_the_nearest_bodies_and_the_loads_are_those_worked_out_by_hand() {
    let folder = in_space();
    let found = found(folder.path(), "3");
    assert_eq!(found.not_looked_at.iter().filter(|w| !w.contains("drives")).collect::<Vec<_>>(), Vec::<&String>::new());
    let (Some(before), Some(after)) = (found.before[0].space.as_ref(), found.after[0].space.as_ref()) else { panic!("{found:?}") };
    // Shoulder +20 deg, elbow +60 deg, wrist straight: 800 mm at 20 deg, then 650 + 150 + 150 mm at 80 deg, from a shoulder
    // 550 mm up. cos 20 = 0.939693, sin 20 = 0.342020, cos 80 = 0.173648, sin 80 = 0.984808.
    let (out, up) = (800.0 * 0.939_693 + 950.0 * 0.173_648, 550.0 + 800.0 * 0.342_020 + 950.0 * 0.984_808);
    let near = |um: i64, mm: f64| (um as f64 / 1000.0 - mm).abs() < 0.01;
    let [x, y, z] = before.tool_point;
    assert!(near(x, out) && near(y, 0.0) && near(z, up), "{before:?}");
    // Base at +30 deg: cos 30 = 0.866025, sin 30 = 0.5.
    let [x, y, z] = after.tool_point;
    assert!(near(x, out * 0.866_025) && near(y, out * 0.5) && near(z, up), "{after:?}");
    for (at, [low, high]) in before.tool_point.iter().zip(before.tool_point_band) {
        // A degree or so at two metres is some tens of millimetres.
        assert!(low < at - 10_000 && at + 10_000 < high && high - low < 300_000, "{before:?}");
    }
    // The jaw ball and the buoy, from centre to centre, less both radii; bands bring them nearer.
    let straight = ((1400.0 - out) * (1400.0 - out) + (1808.0 - up) * (1808.0 - up)).sqrt() - 150.0;
    let first = &before.nearest[0];
    assert_eq!((first.a.as_str(), first.b.as_str(), first.may_touch), ("buoy", "jaw ball", false), "{before:?}");
    let least = first.least as f64 / 1000.0;
    assert!(least < straight && least > straight - 100.0, "{least} {straight}");
    assert!(before.nearest.len() == 5 && before.nearest.is_sorted_by_key(|n| n.least), "{before:?}");
    let same = after.nearest.iter().find(|n| (&n.a, &n.b) == (&first.a, &first.b));
    assert!(same.is_none_or(|n| n.least > first.least), "{after:?}");
    assert!(before.nearest_own.iter().all(|n| n.a != "buoy" && n.b != "buoy"), "{before:?}");
    // The shoulder holds 10 kg at 400 mm, and 6, 2 and 2 kg beyond the elbow; g = 9.80665 m/s2.
    let arm = |along: f64| 0.8 * 0.939_693 + along * 0.173_648;
    let torque = 9.806_65 * (10.0 * 0.4 * 0.939_693 + 6.0 * arm(0.325) + 2.0 * arm(0.65) + 2.0 * arm(0.8));
    let shoulder = before.loads.iter().find(|l| l.joint == 1).map_or(0, |l| l.torque) as f64 / 1000.0;
    assert!(shoulder >= torque && shoulder < torque * 1.05, "{shoulder} {torque}");
    let base = before.loads.iter().find(|l| l.joint == 0).map_or(i64::MAX, |l| l.torque);
    assert!(base < 10, "a vertical axis holds nothing: {base}");
    // Shoulder and elbow drift without power and lean outward; with the mast upright nothing draws the base.
    let sag = before.sag.as_ref();
    assert!(sag.is_some_and(|s| s.joints == [1, 2] && s.clear > 0), "{sag:?}");

    let text = text(&run(folder.path(), &["a.md", "3"]));
    for line in [
        "tool point",
        "near         buoy and jaw ball stay at least",
        "holds        shoulder up to",
        "; unheld, it goes lower\n",
        "no power     shoulder and elbow sink; nothing is met for ",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
}

#[test]
fn what_cannot_be_looked_at_in_space_is_said() {
    let folder = in_space();
    let path = folder.path().join("arm.toml");
    let arm = fs::read_to_string(&path).unwrap_or_default();
    fs::write(&path, arm.replace("mass = \"6 kg\"\n", "")).unwrap_or_else(|e| panic!("{e}"));
    let found = found(folder.path(), "3");
    let space = found.before[0].space.as_ref();
    assert!(space.is_some_and(|s| s.loads.is_empty() && !s.nearest.is_empty()), "{space:?}");
    assert!(found.not_looked_at.iter().any(|w| w == "the mass of the fore beam is not given"), "{:?}", found.not_looked_at);
    fs::write(&path, arm.lines().filter(|l| !l.starts_with("grip-centre")).collect::<Vec<_>>().join("\n"))
        .unwrap_or_else(|e| panic!("{e}"));
    let done = run(folder.path(), &["a.md", "3"]);
    assert!(text(&done).contains("\nnot worked out: ") && text(&done).contains("grip-centre"), "{}", text(&done));
    assert!(!text(&done).contains("tool point"), "{}", text(&done));
}

#[test]
fn a_step_is_drawn_on_request_or_it_is_said_why_not() {
    let run = |step: &str| {
        let procedure = library::folder().join("stow-heron.md");
        let out = Command::new(env!("CARGO_BIN_EXE_surehand")).args(["where", "--format", "svg"]).arg(&procedure).arg(step).output();
        let out = out.expect("runs");
        (out.status.code(), String::from_utf8_lossy(&out.stdout).into_owned(), String::from_utf8_lossy(&out.stderr).into_owned())
    };
    let text = library::text("stow-heron.md");
    // The steps are numbered as they stand; the first that moves, and the first that does not.
    let numbered: Vec<&str> = text.lines().filter(|l| l.split_once(". ").is_some_and(|(n, _)| n.parse::<u32>().is_ok())).collect();
    let number = |line: &str| line.split_once('.').expect("a number").0.to_owned();
    let moving = number(numbered.iter().find(|l| l.contains(" to ") && l.contains("deg`")).expect("a move"));
    let still = number(numbered.iter().find(|l| l.contains("`read joints`")).expect("a step that moves nothing"));
    let (code, file, said) = run(&moving);
    assert_eq!((code, said.as_str()), (Some(0), ""));
    let drawing = roxmltree::Document::parse(&file).expect("well-formed");
    let words: Vec<String> = drawing
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| n.descendants().filter(|d| d.is_text()).filter_map(|d| d.text()).collect())
        .collect();
    assert!(["PLAN", "ELEVATION A", "start", "end"].iter().all(|w| words.iter().any(|seen| seen == w)), "{words:?}");
    // All of it stands on the sheet.
    let root = drawing.root_element();
    let sheet: Vec<f64> = root.attribute("viewBox").expect("a sheet").split(' ').map(|n| n.parse().expect("a number")).collect();
    for text in drawing.descendants().filter(|n| n.has_tag_name("text")) {
        let at = |key: &str| text.attribute(key).and_then(|v| v.parse::<f64>().ok()).expect("a place");
        assert!((0.0..=sheet[2]).contains(&at("x")) && (0.0..=sheet[3]).contains(&at("y")), "{:?}", text.text());
    }
    let (code, file, said) = run(&still);
    assert!(code == Some(1) && file.is_empty() && said.contains(&format!("step {still} moves no joint")), "{said}");
    let (code, _, said) = run("999");
    assert!(code == Some(2) && said.contains("999"), "{said}");
}

/// The two that a print names as nearest come no nearer where the arm stands before and after the step, also where they may touch for
/// what their station says.
#[test]
fn what_is_told_as_nearest_holds_where_the_arm_stands() {
    let mut seen = 0;
    for name in ["lid-lift", "swab-survey"] {
        let session = Session::new(&DiskWorld);
        let made = session.compile(&Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("procedures/{name}.md")));
        let made = made.unwrap_or_else(|e| panic!("{e}"));
        let compiled = made.examined.as_ref().map(|e| e.compile_untold(session.files())).unwrap_or_else(|| panic!("{name}"));
        for step in &compiled.steps {
            let Some(margin) = step.margins.iter().find(|m| m.of == "clearance") else { continue };
            let found = session.whereabouts(&made, &step.number).unwrap_or_else(|e| panic!("{e}"));
            let found = found.unwrap_or_else(|| panic!("no step {}", step.number));
            for near in found.before.iter().chain(&found.after).filter_map(|s| s.space.as_ref()).flat_map(|s| &s.nearest) {
                let (a, b) = (&near.a, &near.b);
                if [format!("{a} and {b}"), format!("{b} and {a}")].contains(&margin.subject) {
                    seen += 1;
                    // Each is known to half a millimetre.
                    assert!(
                        near.least + 1000 > margin.value,
                        "{name} {}: {} at {} and {}",
                        step.number,
                        margin.subject,
                        near.least,
                        margin.value
                    );
                }
            }
        }
    }
    assert!(seen > 40, "{seen}");
}
