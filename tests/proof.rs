//! The judgement: severities, waivers, the key to an approvable document, the compiled form.

mod common;

use common::{Case, START, examine};
use surehand::compiled::{Act, Compiled, Ends, SCHEMA, schema};
use surehand::diag::Severity;
use surehand::syntax::front;

const WAIVED: &str =
    "[[waiver]]\nrule = \"open-wait\"\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"\n";

fn waiting(front: &str, steps: &str) -> Case {
    Case::procedure(&format!("{START}{front}+++\n\n# Work\n\n{steps}")).patched(
        2,
        "paper = \"A4\"",
        "paper = \"A4\"\nwaivable = [\"open-wait\", \"stale-model\"]\nseverities = { open-wait = \"error\" }",
    )
}

#[test]
fn a_waiver_lifts_its_finding_and_is_kept_with_it() {
    let steps = "1. `wait at least 30 s`\n";
    let (refused, _) = examine(&waiting("", steps));
    let errors: Vec<_> = refused.findings.iter().filter(|f| f.severity == Severity::Error).map(|f| f.rule.id).collect();
    assert_eq!(errors, ["open-wait"], "the policy makes it an error");
    assert!(refused.checked.is_none());

    let (waived, files) = examine(&waiting(WAIVED, steps));
    assert!(waived.checked.is_some(), "{:#?}", waived.findings);
    let compiled = waived.compile(&files);
    let finding = compiled.findings.iter().find(|f| f.rule == "open-wait");
    let waiver = finding.and_then(|f| f.waiver.as_ref());
    assert_eq!(waiver.map(|w| w.post.as_str()), Some("Shift lead"));
    assert_eq!(finding.map(|f| f.severity.as_str()), Some("advice"));
}

#[test]
fn a_waiver_for_one_step_lifts_no_other() {
    let here = WAIVED.replace("rule =", "step = \"bath\"\nrule =");
    let (examined, _) = examine(&waiting(&here, "1. `wait at least 30 s` {#bath}\n2. `wait at least 40 s`\n"));
    let errors: Vec<_> = examined.findings.iter().filter(|f| f.severity == Severity::Error).map(|f| f.step.clone()).collect();
    assert_eq!(errors, [Some("2".to_string())]);
}

#[test]
fn a_waiver_that_lifts_nothing_or_is_over_is_told() {
    let (unused, _) = examine(&waiting(WAIVED, "1. `view window-1`\n"));
    assert!(unused.findings.iter().any(|f| f.rule.id == "unused-waiver"), "{:#?}", unused.findings);
    let old = WAIVED.replace("2027-01-01", "2026-01-01");
    let (expired, _) = examine(&waiting(&old, "1. `wait at least 30 s`\n"));
    let mut errors: Vec<_> = expired.findings.iter().filter(|f| f.severity == Severity::Error).map(|f| f.rule.id).collect();
    errors.sort_unstable();
    assert_eq!(errors, ["expired-waiver", "open-wait"]);
}

#[test]
fn no_physical_rule_is_softened_by_policy_or_waiver() {
    let steps = Case::steps("1. `power on arm`\n2. `shoulder raise to +92.5 deg`\n");
    let (examined, _) = examine(&steps.patched(2, "paper = \"A4\"", "paper = \"A4\"\nseverities = { over-travel = \"advice\" }"));
    assert!(examined.checked.is_none());
    assert!(examined.findings.iter().any(|f| f.rule.id == "over-travel" && f.severity == Severity::Error));
    // Nor by a policy that says it may be waived, and a waiver for it.
    let waiver = WAIVED.replace("open-wait", "over-travel");
    let both = waiting(&waiver, "1. `power on arm`\n2. `shoulder raise to +92.5 deg`\n").patched(
        2,
        "waivable = [",
        "waivable = [\"over-travel\", ",
    );
    let (examined, _) = examine(&both);
    let mut errors: Vec<_> = examined.findings.iter().filter(|f| f.severity == Severity::Error).map(|f| f.rule.id).collect();
    errors.sort_unstable();
    assert_eq!(errors, ["over-travel", "softened-physical-rule", "waiver-not-allowed"], "{:#?}", examined.findings);
}

fn carry() -> Case {
    Case::steps(
        "# Take\n\n1. `view window-2`\n2. `power on arm`\n3. `base left to +30 deg`\n4. `together: shoulder raise to +25 deg, wrist-pitch lower to -20 deg; shoulder first`\n5. `elbow extend to 90 deg`\n6. `jaw open to 90 mm`\n7. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n8. `grip level 2`\n9. `close on cup`\n10. `read joints`\n11. `hold point: Shift lead`\n    - Must be true: the cup sits square.\n12. `lift cup clear of cradle: shoulder raise to +20 deg`\n13. `perform` [the swing](#swing)\n14. `wrist-pitch lower to -25 deg`\n15. `lower cup onto rack: shoulder lower to -5 deg`\n    - Touching allowed: jaw pads and rack.\n16. `let go of cup on rack, open to 90 mm`\n\n# Swing {#swing .on-call}\n\n1. `base right to -45 deg`\n2. `elbow extend to 100 deg`\n",
    )
    // The cup is carried and set down at other tilts than it was taken at: here it bears that.
    .patched(1, "tilt = \"15 deg\"", "tilt = \"45 deg\"")
    .patched(
        1,
        "pose = \"at-rack\"\nsupports = true\ntolerance = \"40 mm\"\ntolerance-turn = \"5 deg\"",
        "pose = \"at-rack\"\nsupports = true\ntolerance = \"40 mm\"\ntolerance-turn = \"15 deg\"",
    )
}

#[test]
fn a_clean_procedure_is_checked_and_says_what_was_not() {
    let (examined, _) = examine(&carry());
    let Some(checked) = &examined.checked else { panic!("{:#?}", examined.findings) };
    let covered: Vec<_> = checked.covered.iter().map(|c| c.id.as_str()).collect();
    for id in [
        "travel",
        "direction",
        "continuity",
        "two-axis",
        "grip",
        "opening",
        "transfer",
        "station",
        "power",
        "clearance",
        "sight",
        "load",
        "grip-motion",
        "reach",
        "carry",
        "writing",
        "age",
    ] {
        assert!(covered.contains(&id), "{id} ran: {covered:?}");
    }
    let gaps: Vec<_> = checked.gaps.iter().map(|c| c.id.as_str()).collect();
    assert_eq!(gaps, ["drift"]);
    // Without a view, and without a mass, the first page says what was not looked at.
    let steps = "1. `power on arm`\n2. `shoulder raise to +30 deg`\n";
    let (blind, _) = examine(&Case::steps(steps).patched(0, "mass = \"8 kg\"\n", ""));
    let gap = |id: &str| blind.gaps.iter().find(|g| g.id == id).map(|g| g.text.as_str());
    assert_eq!(gap("sight"), Some("What is seen at steps without a view: 2."));
    assert!(gap("load").is_some_and(|t| t.contains("the mass of the forearm")), "{:?}", gap("load"));
    assert!(blind.covered.iter().all(|c| c.id != "sight" && c.id != "load"), "{:?}", blind.covered);
    assert_eq!(checked.not_issuable.len(), 2, "arm and cell are invented");
    // A check that had nothing to look at is not claimed.
    let (still, _) = examine(&Case::steps("1. `view window-1`\n"));
    let covered: Vec<_> = still.covered.iter().map(|c| c.id.clone()).collect();
    assert_eq!(covered, ["continuity", "writing", "age"]);
}

#[test]
fn taps_may_be_printed_but_not_issued() {
    // Without a cell there is nothing that contact could be worked out from.
    let bare = |steps: &str| Case::procedure(&format!("{}\n{steps}", front::EXAMPLE.replace("cell = \"cell.toml\"\n", "")));
    let (examined, _) = examine(&bare(
        "1. `power on arm`\n2. `shoulder lower to -5 deg`\n3. `shoulder lower by taps of 0.5 deg, 14 at most, contact between -9 deg and -11 deg`\n   - If not: hold and tell Shift lead\n",
    ));
    let Some(checked) = &examined.checked else { panic!("{:#?}", examined.findings) };
    assert!(checked.gaps.iter().any(|g| g.id == "taps"));
    assert!(checked.not_issuable.iter().any(|w| w.contains("taps")));
}

#[test]
fn the_compiled_form_holds_what_is_printed() {
    let (examined, files) = examine(&carry());
    let compiled = examined.compile(&files);
    assert_eq!(compiled.schema, SCHEMA);
    let numbers: Vec<_> = compiled.steps.iter().map(|s| s.number.as_str()).collect();
    assert_eq!(numbers, ["1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "13.1", "13.2", "14", "15", "16"]);
    let Act::Move(base) = &compiled.steps[13].act else { panic!("{:?}", compiled.steps[13]) };
    assert_eq!((base.engraved.as_str(), base.direction.as_str(), base.ends.clone()), ("BASE", "right", Ends::Target));
    assert_eq!((base.target.text.as_str(), base.low.text.as_str(), base.high.text.as_str()), ("-45.0", "-45.5", "-44.5"));
    assert_eq!(base.from.len(), 1);
    let held: Vec<_> = compiled.steps.iter().map(|s| s.before[0].held.as_ref().map_or("-", |h| h.phase.as_str())).collect();
    assert_eq!(
        held[9..],
        ["supported", "supported", "supported", "lifted-clear", "lifted-clear", "carried", "carried", "carried", "set-on"]
    );
    let text = serde_json::to_string(&compiled).unwrap_or_default();
    let back: Compiled = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(back, compiled);
    assert_eq!(schema()["title"], "Compiled");
    assert!(schema()["properties"]["not_issuable"].is_object());
}
