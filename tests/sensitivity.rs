//! How wrong an input may be: known by hand on procedures made for it, and on the worked library written into the model files
//! and checked like any project.

mod library;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use surehand::compiled::sensitivity::{Failure, Input, Sensitivity};
use surehand::diag::{Diagnostic, Severity};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY, vary};
use surehand::session::{DiskWorld, MemoryWorld, Session};
use surehand::syntax::front;

/// Drives the base alone, over a plate.
const TURN: &str = "1. `power on arm`\n2. `base right to -30 deg`\n3. `base left to 0 deg`\n4. `power off arm`\n";

/// Brings the jaw to the cradle and closes it on the cup.
const CLOSE: &str = "\
1. `power on arm`
2. `base left to +30 deg within 0.5 deg`
3. `wrist-pitch lower to -20 deg within 0.5 deg`
4. `elbow extend to 90 deg within 0.5 deg`
5. `jaw open to 120 mm`
6. `shoulder lower to -10 deg within 0.5 deg`
   - Touching allowed: jaw pads and cup.
7. `grip level 2`
8. `close on cup`
";

/// A plate under the mast, whose lowest point is a ball of 80 mm about z = 300 mm wherever the joints are: at 220 mm.
fn plate(z: &str) -> String {
    format!(
        "{EXAMPLE_CELL}\n[[obstacle]]\nname = \"plate\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"half-space\"\n\
         point = [\"0 mm\", \"0 mm\", \"{z}\"]\nnormal = \"+z\"\n"
    )
}

/// The example project with these steps, arm and cell.
fn found(steps: &str, arm: &str, cell: &str) -> Sensitivity {
    let text = format!("{}\n{steps}", front::EXAMPLE);
    let files = [("arm.toml", arm), ("cell.toml", cell), ("policy.toml", EXAMPLE_POLICY), ("a.md", &text)];
    let at = |name: &str| Path::new("/project").join(name);
    let world = files.into_iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(at(name), text));
    let session = Session::new(&world);
    let compilation = session.compile(&at("a.md")).unwrap_or_else(|e| panic!("{e}"));
    session.sensitivity(&compilation, |_| true, |_| {}, || {}).unwrap_or_else(|| panic!("{:#?}", compilation.findings))
}

fn of<'s>(found: &'s Sensitivity, kind: &str, name: Option<&str>) -> &'s Input {
    let mut all = found.inputs.iter().filter(|i| i.kind == kind && i.name.as_deref() == name);
    all.next().unwrap_or_else(|| panic!("no {kind} of {name:?}"))
}

fn fails(input: &Input) -> &Failure {
    input.fails.as_ref().unwrap_or_else(|| panic!("nothing fails: {input:?}"))
}

/// How much passes, which step fails then, and by which rule.
fn told(input: &Input) -> (i64, Option<&str>, &str) {
    let failure = fails(input);
    (input.passes, failure.step.as_deref(), &failure.rule)
}

#[test]
fn an_obstacle_and_the_margin_have_the_room_that_there_is_beyond_the_margin() {
    // 220 mm less the margin of 25 mm less the plate at 182.7 mm: 12.3 mm. Looked at in steps of 0.2 mm.
    let found = found(TURN, EXAMPLE_ARM, &plate("182.7 mm"));
    assert_eq!(told(of(&found, "obstacle", Some("plate"))), (12_200, Some("2"), "thin-clearance"));
    assert_eq!(told(of(&found, "margin", None)), (12_200, Some("2"), "thin-clearance"));
    assert_eq!(of(&found, "margin", None).plain_errors, 1220);
    // Least forgiving first, and what fails nowhere last.
    let ratios: Vec<i64> = found.inputs.iter().filter(|i| i.fails.is_some()).map(|i| i.plain_errors).collect();
    assert!(ratios.is_sorted() && ratios[0] == 1220, "{ratios:?}");
    assert!(found.inputs.iter().skip(ratios.len()).all(|i| i.fails.is_none()));
    let far = of(&found, "obstacle", Some("back wall"));
    assert_eq!((far.passes, &far.fails, &far.refused), (100_000, &None, &None));
}

#[test]
fn a_rating_has_the_torque_that_there_is_beyond_what_gravity_asks() {
    // Forearm 8 kg at 0.3 m and 5 kg at its end, 0.65 m, then 2 kg at 0.075 m and 3 kg at 0.21 m on the wrist; shoulder, elbow and wrist
    // are each up to 1.3 deg (pose, hold, read-out) nearer to level than 20, 60 and 0 deg.
    let elbow = 5.65 * libm::cos(77.4_f64.to_radians()) + 0.78 * libm::cos(76.1_f64.to_radians());
    let torque = elbow * 9.80665;
    let found = found(TURN, &EXAMPLE_ARM.replace("\"300 Nm\"", "\"20 Nm\""), &plate("100 mm"));
    let (passes, step, rule) = told(of(&found, "rating", Some("elbow")));
    assert_eq!((step, rule), (Some("2"), "joint-overloaded"));
    // The torque is known from above, within 0.5 % of what the joint can give.
    let most = (1.0 - torque / 20.0) * 1000.0;
    assert!(passes as f64 <= most && passes as f64 > most - 5.0 - 2.0, "{passes} of {most}");
    assert_eq!(of(&found, "rating", Some("base")).fails, None);
}

#[test]
fn mass_and_friction_have_what_the_formula_of_the_two_jaw_grip_leaves() {
    let found = found(CLOSE, EXAMPLE_ARM, EXAMPLE_CELL);
    // 2.1 kg x 9.80665 x 2 / (2 x 0.3) = 68.65 N of the 75 N of level 2.
    let needed = 2.1 * 9.80665 * 2.0 / (2.0 * 0.3);
    let down = |share: f64| (share * 500.0).floor() as i64 * 2;
    assert_eq!(told(of(&found, "mass", Some("cup"))), (down(75.0 / needed - 1.0), Some("8"), "grip-too-weak"));
    assert_eq!(told(of(&found, "friction", None)), (down(1.0 - needed / 75.0), Some("8"), "grip-too-weak"));
    // A band that is as narrow as the joint stops has nothing to spare.
    assert_eq!(told(of(&found, "stop", Some("base"))), (0, Some("2"), "band-too-tight"));
    // The other load is not in this procedure: no step fails, but from 75 N on no level suits it, and its own file says so.
    let flask = of(&found, "mass", Some("flask"));
    assert_eq!(flask.fails, None);
    let policy = flask.refused.as_ref().map(|r| r.rule.as_str());
    assert_eq!(policy, None, "a warning at this site is no error");
}

#[test]
fn a_station_is_as_far_from_its_place_as_its_tolerance_leaves_and_by_the_way_that_fails_first() {
    let found = found(CLOSE, EXAMPLE_ARM, EXAMPLE_CELL);
    let cradle = of(&found, "station", Some("cradle"));
    let failure = fails(cradle);
    assert_eq!((failure.step.as_deref(), failure.rule.as_str()), (Some("8"), "off-station"));
    let [x, y, z] = failure.shift.unwrap_or_default();
    let long = libm::hypot(x as f64, y as f64);
    assert!((long - failure.at as f64).abs() < 2.0 && z == 0, "{failure:?}");
    assert!(failure.way.as_deref().is_some_and(|w| w.contains("nearer") && w.contains("right")), "{failure:?}");
    let height = fails(of(&found, "station-height", Some("cradle")));
    assert_eq!((height.way.as_deref(), height.shift), (Some("higher"), Some([0, 0, height.at])));
    // Pads and tolerance: the station may be off by what the jaw is not. The way that is told is the worst of all ways looked at.
    let written = cell_with("position = [\"910 mm\", \"525 mm\", \"1311 mm\"]", &place([910_000 + x, 525_000 + y, 1_311_000]));
    assert!(errors(CLOSE, &written).contains(&"off-station"));
    let shorter = [x, y].map(|c| c * cradle.passes / failure.at);
    let written =
        cell_with("position = [\"910 mm\", \"525 mm\", \"1311 mm\"]", &place([910_000 + shorter[0], 525_000 + shorter[1], 1_311_000]));
    assert_eq!(errors(CLOSE, &written), Vec::<&str>::new());
}

fn place([x, y, z]: [i64; 3]) -> String {
    let mm = |um: i64| format!("\"{}\"", surehand::units::Length(um));
    format!("position = [{}, {}, {}]", mm(x), mm(y), mm(z))
}

fn cell_with(old: &str, new: &str) -> String {
    library::replace(EXAMPLE_CELL, old, new)
}

/// The rules of the errors that stand in the example project.
fn errors(steps: &str, cell: &str) -> Vec<&'static str> {
    let text = format!("{}\n{steps}", front::EXAMPLE);
    let files = [("arm.toml", EXAMPLE_ARM), ("cell.toml", cell), ("policy.toml", EXAMPLE_POLICY), ("a.md", &text)];
    let at = |name: &str| Path::new("/project").join(name);
    let world = files.into_iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(at(name), text));
    let session = Session::new(&world);
    let compilation = session.compile(&at("a.md")).unwrap_or_else(|e| panic!("{e}"));
    let is_error = |d: &&Diagnostic| d.severity == Severity::Error;
    compilation.findings.iter().filter(is_error).map(|d| d.rule.id).collect()
}

/// A model file with one input wrong, written as a person would write it.
fn written(text: &str, input: &Input, amount: i64, shift: Option<[i64; 3]>) -> String {
    let thousandths = if input.less { 1000 - amount } else { 1000 + amount };
    let share = |value: f64| value * thousandths as f64 / 1000.0;
    let table = |head: &str| Table { head: head.to_owned(), name: input.name.clone().unwrap_or_default() };
    match input.kind.as_str() {
        "margin" => edit(text, None, "margin", &|n, v| first(n, v + amount as f64 / 1000.0)),
        "hold" => edit(text, Some(&table("joint")), "hold", &|n, v| first(n, v + amount as f64 / 1000.0)),
        "readout-error" => edit(text, Some(&table("joint")), "readout-error", &|n, v| first(n, v + amount as f64 / 1000.0)),
        "stop" => {
            let text = edit(text, Some(&table("joint")), "stop-by-readout", &|n, v| first(n, v + amount as f64 / 1000.0));
            edit(&text, Some(&table("joint")), "stop-by-eye", &|n, v| first(n, v + amount as f64 / 1000.0))
        }
        "supply" => edit(text, None, "supply", &|n, v| first(n, share(v))),
        "mass" => edit(text, Some(&table("load")), "mass-at-most", &|n, v| first(n, share(v))),
        "friction" => edit(text, Some(&table("load")), "friction", &|n, v| first(n, share(v))),
        "rating" => {
            // A cylinder names its rated pressure last, the others their torque first.
            edit(text, Some(&table("joint")), "actuator", &|n, v| match n {
                0 => share(v),
                _ => v,
            })
        }
        "station" | "station-height" => {
            let by = shift.unwrap_or_default();
            edit(text, Some(&table("station")), "position", &|n, v| v + by[n] as f64 / 1000.0)
        }
        "obstacle" => edit(text, Some(&table("obstacle")), "size", &|_, v| v + 2.0 * amount as f64 / 1000.0),
        other => panic!("{other} is not written here"),
    }
}

fn first(n: usize, value: f64) -> f64 {
    assert_eq!(n, 0, "one number stands there");
    value
}

struct Table {
    head: String,
    name: String,
}

/// The text with the numbers of one key, of the table of one name, changed.
fn edit(text: &str, table: Option<&Table>, key: &str, change: &dyn Fn(usize, f64) -> f64) -> String {
    let (mut inside, mut head, mut done, mut out) = (table.is_none(), false, 0, String::new());
    for line in text.lines() {
        if let Some(t) = table {
            if line.starts_with('[') && !line.starts_with(&format!("[[{}.", t.head)) && !line.starts_with(&format!("[{}.", t.head)) {
                (inside, head) = (false, line.starts_with(&format!("[[{}]]", t.head)));
            } else if head && line.starts_with(&format!("name = \"{}\"", t.name)) {
                inside = true;
            }
        }
        if inside && line.split_once('=').is_some_and(|(k, _)| k.trim() == key) && done == 0 {
            done += 1;
            out += &numbers(line, change);
        } else {
            out += line;
        }
        out.push('\n');
    }
    assert_eq!(done, 1, "`{key}` stands once");
    out
}

/// A line with each number before a unit, or alone, changed; three decimals, which is as fine as a file may say.
fn numbers(line: &str, change: &dyn Fn(usize, f64) -> f64) -> String {
    let (line, comment) = line.split_once(" #").map_or((line, ""), |(l, c)| (l, c));
    let (key, value) = line.split_once('=').unwrap_or((line, ""));
    let (mut out, mut n, mut rest) = (format!("{key}="), 0, value);
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit() || c == '-') {
        let end = at + rest[at..].find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(rest[at..].len());
        out += &rest[..at];
        match rest[at..end].parse::<f64>() {
            Ok(number) => {
                let written = change(n, number);
                out += &format!("{written:.3}");
                assert!((written * 1000.0 - (written * 1000.0).round()).abs() < 1e-6, "{written} takes more than three decimals");
                n += 1;
            }
            Err(_) => out += &rest[at..end],
        }
        rest = &rest[end..];
    }
    let comment = if comment.is_empty() { String::new() } else { format!(" #{comment}") };
    out + rest + &comment
}

/// What `check` says of a demo with one input written wrong in its model file: the errors.
fn checked(demo: &str, input: &Input, amount: i64, shift: Option<[i64; 3]>) -> Vec<Diagnostic> {
    let path = match input.kind.as_str() {
        "stop" | "hold" | "readout-error" | "rating" | "supply" => "arms/osprey.toml",
        _ => "cells/bay-7.toml",
    };
    let text = written(&library::text(path), input, amount, shift);
    let world = MemoryWorld::over(DiskWorld).with(library::folder().join(path), text);
    let session = Session::new(&world);
    let compilation = session.compile(&library::folder().join(demo)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    compilation.findings.into_iter().filter(|d| d.severity == Severity::Error).collect()
}

/// Holds what is told of a demo against what `check` says once it is written into a model file: what passes, what fails, and with
/// which words. Gives the inputs, and the kinds of those that made a step fail as told.
fn held(demo: &str, wanted: impl Fn(&vary::Input) -> bool) -> (Vec<Input>, Vec<String>) {
    let session = Session::new(&DiskWorld);
    let compilation = session.compile(&library::folder().join(demo)).unwrap_or_else(|e| panic!("{e}"));
    // Of an actuator the first number is written here; the rated pressure of a cylinder is the last.
    let found = session.sensitivity(&compilation, wanted, |_| {}, || {}).expect("no error stands in the library");
    let inputs: Vec<Input> = found.inputs.into_iter().filter(|i| !i.title.starts_with("rated pressure")).collect();
    let mut kinds = Vec::new();
    for input in &inputs {
        let Some(failure) = &input.fails else { continue };
        // Of a station the place that passes is on the way that fails.
        let at = |steps: i64| failure.shift.map(|by| by.map(|c| c * steps / failure.at));
        let passing = checked(demo, input, input.passes, at(input.passes));
        let allowed = |e: &Diagnostic| input.refused.as_ref().is_some_and(|r| r.rule == e.rule.id);
        assert!(passing.iter().all(allowed), "{} by {} passes: {passing:#?}", input.title, input.passes);
        let failing = checked(demo, input, failure.at, failure.shift);
        let is_told = |e: &&Diagnostic| e.rule.id == failure.rule && e.step == failure.step && e.message == failure.message;
        let told = failing.iter().filter(is_told).count();
        assert!(failure.others.iter().all(|n| failing.iter().any(|e| e.step.as_ref() == Some(n))) || told == 0, "{failing:#?}");
        match &input.refused {
            // Where arm and cell no longer agree, what moves come near to is not looked at any more.
            Some(refused) if told == 0 => assert!(failing.iter().any(|e| e.rule.id == refused.rule), "{}: {failing:#?}", input.title),
            _ => {
                assert_eq!(told, 1, "{} by {}: {failure:?}, but {failing:#?}", input.title, failure.at);
                kinds.push(input.kind.clone());
            }
        }
    }
    kinds.sort_unstable();
    kinds.dedup();
    (inputs, kinds)
}

#[test]
fn what_is_told_of_a_demo_is_so_when_it_is_written_into_its_model_files() {
    let demo = "swab-survey.md";
    let (inputs, kinds) = held(demo, |_| true);
    assert_eq!(kinds, ["hold", "margin", "obstacle", "rating", "readout-error", "stop", "supply"], "what was written and failed");
    // What fails nowhere does not fail at the end of the search either.
    let boxes = ["work bench", "source rack", "scale", "filter bank"];
    let written = |i: &&Input| i.kind == "rating" || (i.kind == "obstacle" && i.name.as_deref().is_some_and(|n| boxes.contains(&n)));
    let nowhere: Vec<&Input> = inputs.iter().filter(|i| i.fails.is_none()).filter(written).collect();
    assert!(nowhere.len() > 4, "{inputs:#?}");
    for input in nowhere {
        assert!(checked(demo, input, input.passes, None).is_empty(), "{}", input.title);
    }
}

#[test]
fn what_is_told_of_a_load_and_its_stations_is_so_too() {
    use surehand::model::{LoadId, ObstacleId, StationId};
    let wanted = |input: &vary::Input| match input {
        vary::Input::Mass(load) => *load == LoadId(1),
        vary::Input::Station(station, _) => *station == StationId(0),
        vary::Input::Obstacle(obstacle) => *obstacle == ObstacleId(5),
        _ => false,
    };
    let (inputs, kinds) = held("lid-lift.md", wanted);
    assert_eq!(kinds, ["mass", "obstacle", "station", "station-height"]);
    let named: Vec<_> = inputs.iter().map(|i| (i.kind.as_str(), i.name.as_deref().unwrap_or(""))).collect();
    for one in [("mass", "well-lid"), ("station", "bench"), ("station-height", "bench"), ("obstacle", "work bench")] {
        assert!(named.contains(&one), "{named:?}");
    }
}

/// A folder with the example models and these steps.
fn project(steps: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    let text = format!("{}\n{steps}", front::EXAMPLE);
    for (name, text) in [("arm.toml", EXAMPLE_ARM), ("cell.toml", &plate("182.7 mm")), ("policy.toml", EXAMPLE_POLICY), ("a.md", &text)] {
        fs::write(folder.path().join(name), text).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    folder
}

fn run(folder: &Path, args: &[&str]) -> Output {
    let program = PathBuf::from(env!("CARGO_BIN_EXE_surehand"));
    let mut command = Command::new(program);
    command.current_dir(folder).arg("sensitivity").args(args).stdin(Stdio::null());
    command.output().unwrap_or_else(|e| panic!("the program did not start: {e}"))
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn the_sheet_tells_five_and_how_they_were_ranked() {
    let folder = project(CLOSE);
    let done = run(folder.path(), &["a.md"]);
    assert_eq!((done.status.code(), text(&done.stderr)), (Some(0), String::new()));
    let sheet = text(&done.stdout);
    for line in [
        "a.md T-1, revision A: Move a test piece",
        "  1. stopping tolerance of base: 0.02 deg more, and step 2 fails (band-too-tight)",
        "     0 deg passes, 0.0 of a plain error of 1 deg",
        "Ranked by how many plain errors pass; a plain error is 10 mm, 1 deg, 10 %. Looked in steps of 0.2 mm, 0.02 deg, 0.2 %, as far as 100 mm, 10 deg, 100 %.",
    ] {
        assert!(sheet.lines().any(|l| l == line), "`{line}` is not in\n{sheet}");
    }
    assert!(sheet.contains("  5. ") && !sheet.contains("  6. ") && sheet.contains("--all tells of every one"), "{sheet}");
    let all = text(&run(folder.path(), &["a.md", "--all"]).stdout);
    for line in [
        "No step fails even with 100 mm more or off:",
        "  size of the back wall",
        "Not varied:",
        "  the place of the drain rack: its pose alone says where it is",
        "Not checked at all, so that nothing makes it fail:",
    ] {
        assert!(all.lines().any(|l| l == line), "`{line}` is not in\n{all}");
    }
    assert!(all.contains("friction of the pads: 8.6 % less, and step 8 fails (grip-too-weak)"), "{all}");
}

#[test]
fn as_data_it_tells_the_same() {
    let folder = project(TURN);
    let done = run(folder.path(), &["a.md", "--format", "json"]);
    let data: Sensitivity = serde_json::from_slice(&done.stdout).unwrap_or_else(|e| panic!("{e}: {}", text(&done.stderr)));
    assert_eq!(data, found_as(&data.file));
    assert_eq!(data.schema, "surehand-sensitivity/1");
}

fn found_as(file: &str) -> Sensitivity {
    Sensitivity { file: file.to_owned(), ..found(TURN, EXAMPLE_ARM, &plate("182.7 mm")) }
}

#[test]
fn a_procedure_with_errors_is_refused_and_one_that_is_not_there_is_told() {
    let folder = project(&TURN.replace("right to -30", "left to -30"));
    let done = run(folder.path(), &["a.md"]);
    assert_eq!((done.status.code(), text(&done.stdout)), (Some(1), String::new()));
    let said = text(&done.stderr);
    let expected =
        "a.md: 1 error stands in the procedure; how wrong its inputs may be can be told once it is mended: see `surehand check`\n";
    assert_eq!(said, expected);
    assert_eq!(run(folder.path(), &["b.md"]).status.code(), Some(3));
    assert_eq!(run(folder.path(), &["a.md", "--format", "svg"]).status.code(), Some(2));
}
