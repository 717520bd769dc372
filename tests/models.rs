//! Model files: what their readers refuse, and that the shared fixture is quiet.

use surehand::diag::Diagnostic;
use surehand::model::keys::{Form, Table};
use surehand::model::{self, EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::text::FileId;
use surehand::units::{Quantity, unit};

/// Everything that is said of three model files.
fn findings(arm: &str, cell: &str, policy: &str) -> Vec<Diagnostic> {
    let (arm, mut found) = model::arm::load(FileId(0), arm);
    let (cell, more) = model::cell::load(FileId(1), cell);
    found.extend(more);
    let (policy, more) = model::policy::load(FileId(2), policy);
    found.extend(more);
    if let (Some(arm), Some(cell), Some(policy)) = (arm, cell, policy) {
        found.extend(model::agree(&arm, &cell, &policy));
    }
    found
}

#[test]
fn the_shared_fixture_is_quiet() {
    assert_eq!(findings(EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY), []);
}

#[test]
fn all_mistakes_of_a_file_are_found_at_once() {
    let arm = EXAMPLE_ARM
        .replace("title = \"Example arm\"\n", "titel = \"Example arm\"\n")
        .replace("high = \"170 deg\"", "high = \"-175 deg\"")
        .replace("tolerance = \"2 mm\"", "tolerance = 2")
        .replace("name = \"lamp-2\"", "name = \"contact\"")
        .replace("mass = \"14 kg\"", "mass = \"14 N\"");
    let (made, found) = model::arm::load(FileId(0), &arm);
    assert!(made.is_none(), "nothing is checked against part of an arm");
    let ids: Vec<_> = found.iter().map(|d| d.rule.id).collect();
    assert_eq!(ids, ["unknown-key", "reversed-limits", "bad-quantity", "reserved-name", "bad-quantity"], "{found:#?}");
}

/// What every reader must refuse, each in place of one good value.
#[test]
fn odd_values_are_refused_where_they_stand() {
    let cases = [
        ("most = \"160 mm\"", "most = nan", "bad-quantity"),
        ("most = \"160 mm\"", "most = 160", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"inf mm\"", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"1e2 mm\"", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"160mm\"", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"1,6 m\"", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"160 kg\"", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"160 furlong\"", "bad-quantity"),
        ("most = \"160 mm\"", "most = \"16\u{ff10} mm\"", "confusable-character"),
        ("value = 0.3", "value = 0x1", "bad-quantity"),
        ("value = 0.3", "value = 1_0", "bad-quantity"),
        ("value = 0.3", "value = \"0.3\"", "wrong-type"),
        ("date = \"2026-03-02\"\ninvented", "date = \"2026-02-30\"\ninvented", "bad-date"),
        ("date = \"2026-03-02\"\ninvented", "date = 2026-03-02\ninvented", "wrong-type"),
        ("name = \"hook\"", "name = \"ho\u{43e}k\"", "confusable-character"),
        ("name = \"hook\"", "name = \"ho\u{202e}ok\"", "bidi-mark"),
        ("title = \"Example arm\"", "title = \"Example \u{202e}arm\"", "bidi-mark"),
        ("title = \"Example arm\"", "title = \"Example \u{1b}[2Jarm\"", "control-character"),
        ("[jaw]", "[jaw", "invalid-toml"),
        ("on-power-loss = \"holds\"", "on-power-loss = \"hold\"", "unknown-word"),
        ("decimals = 1\nrate = \"30 deg/s\"", "decimals = 4\nrate = \"30 deg/s\"", "impossible-value"),
    ];
    for (from, to, rule) in cases {
        assert_eq!(EXAMPLE_ARM.matches(from).count(), 1, "{from}");
        let (arm, found) = model::arm::load(FileId(0), &EXAMPLE_ARM.replace(from, to));
        let ids: Vec<_> = found.iter().map(|d| d.rule.id).collect();
        assert_eq!(ids, [rule], "{to}: {found:#?}");
        let start = EXAMPLE_ARM.find(from).unwrap_or(0);
        let at = found[0].span.range();
        assert!(start <= at.start && at.end <= start + to.len() + 1, "{to}: {at:?} is elsewhere");
        assert!(arm.is_none() || rule == "impossible-value", "{to}");
    }
}

/// A file cut off anywhere, or with a line missing, gives findings or a model, and never ends the program.
#[test]
fn torn_files_never_stop_the_reader() {
    let load = |which: usize, text: &str| match which {
        0 => (model::arm::load(FileId(0), text).0.is_some(), model::arm::load(FileId(0), text).1.len()),
        1 => (model::cell::load(FileId(0), text).0.is_some(), model::cell::load(FileId(0), text).1.len()),
        _ => (model::policy::load(FileId(0), text).0.is_some(), model::policy::load(FileId(0), text).1.len()),
    };
    for (which, text) in [EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY].into_iter().enumerate() {
        for cut in (0..text.len()).step_by(13) {
            let (made, found) = load(which, &text[..cut]);
            assert!(made || found > 0, "cut at {cut}");
        }
        let lines: Vec<&str> = text.lines().collect();
        for gone in 0..lines.len() {
            let rest: String = lines.iter().enumerate().filter(|(i, _)| *i != gone).map(|(_, l)| format!("{l}\n")).collect();
            let (made, found) = load(which, &rest);
            assert!(made || found > 0, "without line {}", gone + 1);
        }
    }
    for deep in ["[".repeat(100_000), format!("a={}", "[".repeat(100_000)), format!("a={}", "{a=".repeat(100_000))] {
        assert!(load(0, &deep).1 > 0);
    }
}

#[test]
fn shapes_need_a_place() {
    let arm = EXAMPLE_ARM.replace("mounting = { axis = \"+z\", origin = [\"0 mm\", \"0 mm\", \"300 mm\"] }\n", "");
    let cell = EXAMPLE_CELL.replace("margin = \"25 mm\"\n", "");
    let said: Vec<_> = findings(&arm, &cell, EXAMPLE_POLICY).iter().map(|d| d.message.clone()).collect();
    assert_eq!(said, ["`joint` has no `mounting`", "the cell has no `margin`"]);
}

/// The grip formula against a worked number: 10 kg, factor 2, friction 0.3 needs 10 x 9.80665 x 2 / 0.6 = 326.888... N per jaw
/// (two-jaw grip, N = m g S / 2 mu; formula as in handbooks of grippers, from memory).
#[test]
fn the_force_to_hold_is_rounded_up() {
    use surehand::units::{Force, Mass, Ratio};
    let force = |mass, factor, friction| model::force_to_hold(Mass(mass), Ratio(factor), Ratio(friction));
    assert_eq!(force(10_000_000, 2_000_000, 300_000), Some(Force(326_889)));
    assert_eq!(force(10_000_000, 2_000_000, 0), None);
    assert_eq!(force(0, 2_000_000, 300_000), Some(Force(0)));
}

#[test]
fn converted_values_never_round_towards_acceptance() {
    let arm = EXAMPLE_ARM
        .replace("stops = { low = \"-170 deg\", high = \"170 deg\" }", "stops = { low = \"-3 rad\", high = \"3 rad\" }")
        .replace("tolerance = \"2 mm\"", "tolerance = \"0.001 in\"")
        .replace("least = \"75 N\"\nmost = \"100 N\"", "least = \"17 lbf\"\nmost = \"23 lbf\"");
    let cell =
        EXAMPLE_CELL.replace("mass-at-most = \"2.1 kg\"", "mass-at-most = \"4.7 lb\"").replace("crush = \"120 N\"", "crush = \"27 lbf\"");
    let (arm, found) = model::arm::load(FileId(0), &arm);
    assert_eq!(found, []);
    let (cell, found) = model::cell::load(FileId(1), &cell);
    assert_eq!(found, []);
    let (Some(arm), Some(cell)) = (arm, cell) else { panic!("both load") };
    let (low, high) = arm.joints[0].travel.ends();
    // 3 rad = 171.887338... deg; 0.001 in = 25.4 um; 17 lbf = 75.61976... N, 23 lbf = 102.30909... N;
    // 4.7 lb = 2.131884139 kg; 27 lbf = 120.10198... N (international definitions, worked by hand).
    assert_eq!((low.value.0, high.value.0), (-171_887, 171_887));
    assert_eq!(arm.jaw.tolerance.value.0, 26);
    assert_eq!((arm.jaw.levels[1].least.value.0, arm.jaw.levels[1].most.value.0), (75_619, 102_310));
    assert_eq!(cell.loads[0].mass_at_most.value.0, 2_131_885);
    assert_eq!(cell.loads[0].crush.map(|c| c.value.0), Some(120_101));
}

/// Reads a file of the repository.
fn file(path: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

const LIBRARY: [(&str, &str); 2] =
    [("procedures/arms/heron.toml", "procedures/cells/bay-3.toml"), ("procedures/arms/osprey.toml", "procedures/cells/bay-7.toml")];

#[test]
fn the_worked_library_is_quiet_and_says_that_it_is_invented() {
    let policy = file("procedures/policy.toml");
    for (arm, cell) in LIBRARY {
        let (arm, cell) = (file(arm), file(cell));
        let said: Vec<_> = findings(&arm, &cell, &policy).iter().map(|d| format!("{}: {}", d.rule.id, d.message)).collect();
        assert_eq!(said, Vec::<String>::new());
        assert_eq!(model::arm::load(FileId(0), &arm).0.map(|a| a.standing), Some(model::Standing::Invented));
        assert_eq!(model::cell::load(FileId(0), &cell).0.map(|c| c.standing), Some(model::Standing::Invented));
    }
}

/// Every entry is written in some model file of the repository, with a value of the form it documents. As those
/// files are read without a finding, no entry is documented and not read.
#[test]
fn every_documented_key_is_written_somewhere_with_a_fitting_value() {
    let of =
        |paths: &[&str]| -> Vec<toml::Table> { paths.iter().map(|p| file(p).parse().unwrap_or_else(|e| panic!("{p}: {e}"))).collect() };
    let accepted = "[acceptance]\nby = \"Commissioning lead\"\ndate = \"2026-03-02\"\ndigest = \"0\"\nuncertainty = \"2 mm\"\ndirections = [\"base\"]\n\
        [[acceptance.driven]]\npose = \"home\"\nreadouts = { base = \"0 deg\" }\ntool-point = [\"1 mm\", \"0 mm\", \"0 mm\"]\nresidual = \"1 mm\"\n";
    let extra: toml::Table = format!("{EXAMPLE_ARM}{accepted}").replace("invented = true\n", "").parse().unwrap_or_else(|e| panic!("{e}"));
    let mesh: toml::Table =
        "acceptance = { by = \"Site survey\", date = \"2026-03-02\" }\n[[obstacle]]\n[[obstacle.shape]]\npath = \"pump.stl\"\nunit = \"mm\"\n"
            .parse()
            .unwrap_or_else(|e| panic!("{e}"));
    let mut arms = of(&["procedures/arms/heron.toml", "procedures/arms/osprey.toml", "src/model/example/arm.toml"]);
    arms.push(extra);
    let mut cells = of(&["procedures/cells/bay-3.toml", "procedures/cells/bay-7.toml", "src/model/example/cell.toml"]);
    cells.push(mesh);
    let mut policies = of(&["procedures/policy.toml", "src/model/example/policy.toml"]);
    policies.push("data-sheets = \"always\"\nlanguage = \"de\"\n".parse().unwrap_or_else(|e| panic!("{e}")));
    let mut wrong = Vec::new();
    for ((title, table), files) in model::reference::FILES.iter().zip([arms, cells, policies]) {
        let roots: Vec<&toml::Table> = files.iter().collect();
        visit(title, table, &roots, &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn visit(path: &str, table: &Table, written: &[&toml::Table], wrong: &mut Vec<String>) {
    for key in table.keys {
        let path = format!("{path} / {}", key.name);
        let values: Vec<&toml::Value> = written.iter().filter_map(|t| t.get(key.name)).collect();
        if values.is_empty() {
            wrong.push(format!("{path}: written nowhere"));
        }
        for value in &values {
            if !fits(key.form, value) {
                wrong.push(format!("{path}: {value} is not {:?}", key.form));
            }
        }
        let inner = |v: &&toml::Value| -> Vec<toml::Table> {
            match v {
                toml::Value::Table(t) => vec![t.clone()],
                toml::Value::Array(a) => a.iter().filter_map(|v| v.as_table().cloned()).collect(),
                _ => Vec::new(),
            }
        };
        if let Form::Table(next) | Form::Tables(next) = key.form {
            let rows: Vec<toml::Table> = values.iter().flat_map(inner).collect();
            // Shapes stand in three places; one place need not show every kind.
            let shape = key.name == "shape" && !path.contains("obstacle");
            if !shape {
                visit(&path, next, &rows.iter().collect::<Vec<_>>(), wrong);
            }
        }
    }
}

fn fits(form: Form, value: &toml::Value) -> bool {
    let text = value.as_str();
    let list = |one: &dyn Fn(&toml::Value) -> bool| value.as_array().is_some_and(|a| a.iter().all(one));
    let quantity = |v: &toml::Value| v.as_str().and_then(|t| Quantity::parse(t).ok());
    match form {
        Form::Name | Form::Words => text.is_some(),
        Form::Names | Form::Lines => list(&|v| v.as_str().is_some()),
        Form::Date => text.is_some_and(surehand::syntax::record::is_date),
        Form::Count(least, most) => value.as_integer().is_some_and(|n| (i64::from(least)..=i64::from(most)).contains(&n)),
        Form::Factor(_) => value.is_integer() || value.is_float(),
        Form::Flag => value.is_bool(),
        Form::Word(words) => text.is_some_and(|t| words().contains(&t)),
        Form::Quantity(dimension, ..) => quantity(value).is_some_and(|q| q.unit.dimension == dimension),
        Form::Turn => {
            value.as_array().is_some_and(|a| a.len() == 3)
                && list(&|v| quantity(v).is_some_and(|q| q.unit.dimension == surehand::units::Dimension::Angle))
        }
        Form::Point => value.as_array().is_some_and(|a| a.len() == 3) && list(&|v| quantity(v).is_some()),
        Form::Unit => text.is_some_and(|t| unit(t).is_some()),
        Form::Amount => quantity(value).is_some(),
        Form::Axis => text.is_some_and(|t| ["+x", "-x", "+y", "-y", "+z", "-z"].contains(&t)),
        Form::Pairs => list(&|v| v.as_array().is_some_and(|a| a.len() == 2)),
        Form::Map(_) | Form::Table(_) => value.is_table(),
        Form::Tables(_) => list(&|v| v.is_table()),
    }
}

/// A project in memory around an arm and a cell, with the mesh files of the examples.
fn compiled(arm: &str, cell: &str, meshes: &[(&str, &str)]) -> (surehand::session::Compilation, Vec<String>) {
    use surehand::session::{MemoryWorld, Session};
    let text = format!("{}\n1. `view window-1`\n", surehand::syntax::front::EXAMPLE);
    let files = [("arm.toml", arm), ("cell.toml", cell), ("policy.toml", EXAMPLE_POLICY), ("try.md", text.as_str())];
    let all = files.iter().chain(meshes);
    let world = all.fold(MemoryWorld::default(), |w, (name, text)| w.with(format!("/p/{name}"), *text));
    let session = Session::new(&world);
    let compilation = session.compile(std::path::Path::new("/p/try.md")).unwrap_or_else(|e| panic!("{e}"));
    let own = |d: &&Diagnostic| model::RULES.iter().any(|r| r.id == d.rule.id) || ["missing-file", "unusable-path"].contains(&d.rule.id);
    let said = compilation.findings.iter().filter(own).map(|d| format!("{}: {}", d.rule.id, d.message)).collect();
    (compilation, said)
}

fn standing(compilation: &surehand::session::Compilation) -> Option<model::Standing> {
    compilation.examined.as_ref().map(|e| e.procedure.arm.standing)
}

/// The record is the one a site would write: the digest is taken from the message about a wrong one.
#[test]
fn a_profile_is_accepted_while_it_stands_as_it_was_tried() {
    let record = |digest: &str| {
        format!(
            "\n[acceptance]\nby = \"Commissioning lead\"\ndate = \"2026-03-02\"\ndigest = \"{digest}\"\nuncertainty = \"2 mm\"\n\
             directions = [\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]\n[[acceptance.driven]]\npose = \"home\"\n\
             readouts = {{ base = \"0 deg\", shoulder = \"20 deg\", elbow = \"60 deg\", wrist-pitch = \"0 deg\", wrist-turn = \"0 deg\" }}\n\
             tool-point = [\"917 mm\", \"0 mm\", \"1759 mm\"]\nresidual = \"0.5 mm\"\n"
        )
    };
    let profile = EXAMPLE_ARM.replace("invented = true\n", "");
    let cell = EXAMPLE_CELL.replace("invented = true", "acceptance = { by = \"Site survey\", date = \"2026-03-03\" }");
    let (first, said) = compiled(&format!("{profile}{}", record("none yet")), &cell, &[]);
    assert_eq!(said, ["stale-acceptance: the profile is not the one that was accepted"]);
    assert_eq!(standing(&first), Some(model::Standing::Unaccepted));
    let help = first.findings.iter().find(|d| d.rule.id == "stale-acceptance").map_or(String::new(), |d| d.help.join(" "));
    let digest = help.split(|c: char| !c.is_ascii_hexdigit()).find(|w| w.len() == 64).unwrap_or_else(|| panic!("no digest in {help}"));
    // Outside: sha256sum of what stands before the record.
    assert_eq!(digest, sha256sum(format!("{profile}\n").as_bytes()));

    let (accepted, said) = compiled(&format!("{profile}{}", record(digest)), &cell, &[]);
    assert_eq!((standing(&accepted), said), (Some(model::Standing::Accepted), Vec::new()));
    // One number of the profile changed by one thousandth.
    let changed = profile.replace("radius = \"60 mm\"", "radius = \"60.001 mm\"");
    let (stale, said) = compiled(&format!("{changed}{}", record(digest)), &cell, &[]);
    assert_eq!(standing(&stale), Some(model::Standing::Unaccepted));
    assert_eq!(said, ["stale-acceptance: the profile is not the one that was accepted"]);
    // No record at all.
    assert_eq!(standing(&compiled(&profile, &cell, &[]).0), Some(model::Standing::Unaccepted));
}

/// By the program of the operating system.
fn sha256sum(bytes: &[u8]) -> String {
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    let mut child =
        Command::new("sha256sum").stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap_or_else(|e| panic!("sha256sum: {e}"));
    child.stdin.take().map(|mut i| i.write_all(bytes));
    let out = child.wait_with_output().unwrap_or_else(|e| panic!("{e}"));
    String::from_utf8_lossy(&out.stdout).chars().take(64).collect()
}

#[test]
fn a_mesh_file_is_read_beside_its_model_and_takes_part() {
    let [block, ..] = model::mesh::EXAMPLES;
    let bench = "kind = \"box\"\ncentre = [\"1200 mm\", \"0 mm\", \"-350 mm\"]\nsize = [\"600 mm\", \"1800 mm\", \"100 mm\"]";
    assert_eq!(EXAMPLE_CELL.matches(bench).count(), 1);
    let cell = |path: &str| EXAMPLE_CELL.replace(bench, &format!("kind = \"mesh\"\npath = \"{path}\"\nunit = \"mm\""));
    let (good, said) = compiled(EXAMPLE_ARM, &cell("block.obj"), &[block]);
    assert_eq!(said, Vec::<String>::new());
    let source = good.sources.iter().find(|s| s.inside.as_str() == "block.obj").map(|s| s.digest);
    let hex = source.map(|d| d.iter().map(|b| format!("{b:02x}")).collect::<String>());
    assert_eq!(hex, Some(sha256sum(block.1.as_bytes())));
    let bodies = good.examined.as_ref().map(|e| model::solid::bodies(&e.procedure.cell.obstacles[0].shapes, 0));
    let Some(Ok(bodies)) = bodies else { panic!("no bodies") };
    assert_eq!(bodies.iter().map(|b| (b.parts.len(), b.closed_mesh)).collect::<Vec<_>>(), [(4, true)]);

    assert_eq!(compiled(EXAMPLE_ARM, &cell("blok.obj"), &[block]).1, ["missing-file: there is no file /p/blok.obj"]);
    let (_, said) = compiled(EXAMPLE_ARM, &cell("../../block.obj"), &[block]);
    assert_eq!(said, ["unusable-path: `../../block.obj` cannot be followed: the path leads out of the project"]);
    let (_, said) = compiled(EXAMPLE_ARM, &cell("block.obj"), &[("block.obj", "v 0 0 0\n")]);
    assert_eq!(said, ["unfit-mesh: block.obj has no triangles"]);
}

/// The chain of the worked arms puts the grip centre where the cell's stations say it is.
#[test]
fn the_poses_of_the_worked_library_reach_its_stations() {
    for (arm, cell) in LIBRARY {
        let (arm, cell) = (model::arm::load(FileId(0), &file(arm)).0, model::cell::load(FileId(1), &file(cell)).0);
        let (Some(arm), Some(cell)) = (arm, cell) else { panic!("both load") };
        let chain = model::solid::chain(&arm, cell.mount.as_ref()).unwrap_or_else(|e| panic!("{e}"));
        let grip = arm.jaw.grip_centre.map(model::solid::um).unwrap_or_else(|| panic!("a grip centre"));
        for station in &cell.stations {
            let pose = station.pose.as_ref().and_then(|p| arm.find_pose(&p.value)).map(|p| &arm.poses[p.at()]);
            let (Some(pose), Some(position)) = (pose, station.position) else { panic!("{} has a pose and a place", station.title) };
            let angles: Vec<i64> = pose.angles.iter().map(|a| a.map_or(0, |a| a.value.0)).collect();
            let at = chain.place_exact(&angles).carriers[arm.joints.len()].point(surehand::geometry::metres(grip));
            let apart = (at - surehand::geometry::metres(model::solid::um(position))).length();
            assert!(apart < 0.001, "{}: {apart} m", station.title);
        }
    }
}
