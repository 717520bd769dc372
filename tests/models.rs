//! Every rule over model files: its examples, and that the shared fixture is quiet.

use surehand::diag::{Diagnostic, Example, ExampleFile, Family, Rule};
use surehand::model::{self, EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::text::FileId;

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

/// What an example gives, and the marked place.
fn run(example: &Example) -> (Vec<Diagnostic>, Option<(u32, usize, usize)>, String) {
    let (id, fixture) = match example.file {
        ExampleFile::Arm => (0, EXAMPLE_ARM),
        ExampleFile::Cell => (1, EXAMPLE_CELL),
        ExampleFile::Policy => (2, EXAMPLE_POLICY),
        ExampleFile::Steps | ExampleFile::Procedure => panic!("not a model file"),
    };
    assert_eq!(fixture.matches(example.replace).count(), 1, "must stand once in the fixture: {}", example.replace);
    let marked = fixture.replace(example.replace, example.text);
    let text = marked.replace(['⟦', '⟧'], "");
    let span = marked.find('⟦').map(|start| {
        let end = marked.find('⟧').unwrap_or_else(|| panic!("a mark without its end: {}", example.text));
        (id, start, end - '⟦'.len_utf8())
    });
    let pick = |own, fixture| if id == own { text.as_str() } else { fixture };
    (findings(pick(0, EXAMPLE_ARM), pick(1, EXAMPLE_CELL), pick(2, EXAMPLE_POLICY)), span, text.clone())
}

fn is_model(example: &Example) -> bool {
    matches!(example.file, ExampleFile::Arm | ExampleFile::Cell | ExampleFile::Policy)
}

#[test]
fn every_rule_speaks_exactly_where_its_examples_say() {
    let mut wrong = Vec::new();
    let rules: Vec<&Rule> = model::RULES.iter().copied().filter(|r| r.family == Family::Model).collect();
    assert!(rules.len() > 30, "the rules over model files are listed");
    for rule in rules {
        if rule.bad.is_empty() || rule.good.is_empty() {
            wrong.push(format!("{} has no bad or no good example", rule.id));
        }
        for example in rule.bad {
            let (found, span, text) = run(example);
            let got: Vec<_> = found.iter().map(|d| (d.rule.id, (d.span.file.0, d.span.start as usize, d.span.end as usize))).collect();
            let want = span.map(|s| (rule.id, s));
            if got.as_slice() != want.as_slice() {
                let list: Vec<_> = found.iter().map(|d| format!("{} at {}: {}", d.rule.id, d.span.of(&text), d.message)).collect();
                wrong.push(format!("{}: {} gave {list:#?}", rule.id, example.text));
            }
        }
        for example in rule.good.iter().filter(|e| is_model(e)) {
            let (found, _, _) = run(example);
            if found.iter().any(|d| d.rule == rule) {
                wrong.push(format!("{} speaks on its good example {}", rule.id, example.text));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
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
    assert_eq!(ids, ["missing-key", "unknown-key", "reversed-limits", "bad-quantity", "reserved-name", "bad-quantity"], "{found:#?}");
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

#[test]
fn the_reference_page_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/models.md");
    let page = model::reference::page();
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/grammar")).unwrap_or_else(|e| panic!("{e}"));
        std::fs::write(path, &page).unwrap_or_else(|e| panic!("{e}"));
    }
    let written = std::fs::read_to_string(path).unwrap_or_default();
    assert!(written == page, "grammar/models.md is stale: run the tests with UPDATE_MANUAL=1");
}
