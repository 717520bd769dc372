//! Lowering and the rules over what is written: numbers of steps, anchors, calls, paths.

use std::sync::Arc;
use surehand::diag::Diagnostic;
use surehand::model::procedure::{Callee, Kind, Procedure};
use surehand::model::{self, EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY, lower};
use surehand::syntax::{self, front};
use surehand::text::{FileId, Span};
use surehand::writing;

/// The three example models, the policy with some of its text replaced.
fn models(policy: &str) -> (Arc<model::arm::Arm>, Arc<model::cell::Cell>, Arc<model::policy::Policy>) {
    let (arm, cell, policy) =
        (model::arm::load(FileId(1), EXAMPLE_ARM), model::cell::load(FileId(2), EXAMPLE_CELL), model::policy::load(FileId(3), policy));
    assert!(arm.1.is_empty() && cell.1.is_empty() && policy.1.is_empty(), "{:?} {:?} {:?}", arm.1, cell.1, policy.1);
    (Arc::new(arm.0.expect("an arm")), Arc::new(cell.0.expect("a cell")), Arc::new(policy.0.expect("a policy")))
}

/// Everything that is said of a procedure, in the order of the floors.
fn read(text: &str, policy: &str, callee: &mut lower::FindProcedure<'_>) -> (Procedure, Vec<Diagnostic>) {
    let (arm, cell, policy) = models(policy);
    let parsed = syntax::parse(FileId(0), text);
    let (procedure, found) = lower::lower(&parsed, text, arm, cell, policy, callee);
    let mut all = parsed.problems;
    all.extend(found);
    all.extend(writing::check(&procedure, text));
    (procedure, all)
}

/// The standard front matter before some steps.
fn under_front(steps: &str) -> String {
    format!("{}\n{steps}", front::EXAMPLE)
}

fn steps(steps: &str) -> (Procedure, Vec<Diagnostic>) {
    read(&under_front(steps), EXAMPLE_POLICY, &mut |_, _| None)
}

/// The rules found, in order, each with the text it marks.
fn ids(text: &str, found: &[Diagnostic]) -> Vec<(&'static str, String)> {
    found.iter().map(|d| (d.rule.id, d.span.of(text).to_string())).collect()
}

fn numbers(procedure: &Procedure) -> Vec<String> {
    procedure.steps.iter().map(|s| s.number.to_string()).collect()
}

#[test]
fn steps_are_numbered_on_through_ordinary_sections() {
    let (procedure, found) = steps(
        "1. `read joints`\n\n# Work\n\n2. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `repeat at most 3 until` the lamp is dark, seen in window 2.\n        1. `read joints`\n        - If not: hold and tell Shift lead\n     2. `turnover`\n   - otherwise\n     1. `turnover`\n3. `perform` [look](#look)\n   - If not: [back out](#out)\n\n# Look {.on-call #look}\n\n1. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `read joints`\n   - otherwise: go on\n\n# Out {.contingency #out}\n\n1. `expect pose home`\n2. `turnover`\n\n# End\n\n4. `turnover`\n",
    );
    assert_eq!(found, [], "{found:#?}");
    let want = ["1", "2", "2A.1", "2A.1.1", "2A.2", "2B.1", "3", "P1.1", "P1.1A.1", "C1.1", "C1.2", "4"];
    assert_eq!(numbers(&procedure), want);
    let inner = &procedure.steps[3];
    assert_eq!(inner.parent.map(|p| procedure.step(p).number.to_string()).as_deref(), Some("2A.1"));
    let call = Arc::new(procedure.steps[6].number.clone());
    assert_eq!(procedure.steps[8].number.performed_at(&call).to_string(), "3.1A.1");
}

#[test]
fn another_procedure_is_performed_whole_and_over_the_same_models() {
    let text = under_front("1. `perform` [the other](sub/other.md)\n");
    let other = Arc::new(steps("1. `read joints`\n").0);
    let mut asked = Vec::new();
    let (arm, cell, policy) = models(EXAMPLE_POLICY);
    let parsed = syntax::parse(FileId(0), &text);
    let mut give = |path: &str, _: Span| {
        asked.push(path.to_string());
        Some(other.clone())
    };
    let (procedure, found) = lower::lower(&parsed, &text, arm.clone(), cell.clone(), policy.clone(), &mut give);
    assert_eq!(found, []);
    assert_eq!(asked, ["sub/other.md"]);
    assert!(matches!(&procedure.steps[0].kind, Kind::Perform(c) if matches!(&c.value, Callee::Procedure(p) if p.steps.len() == 1)));

    let cell_elsewhere = Arc::new(model::cell::load(FileId(9), EXAMPLE_CELL).0.expect("a cell"));
    let parsed_other = syntax::parse(FileId(8), &text);
    let (strange, _) = lower::lower(&parsed_other, &text, arm.clone(), cell_elsewhere, policy.clone(), &mut |_, _| None);
    let strange = Arc::new(strange);
    let (procedure, found) = lower::lower(&parsed, &text, arm, cell, policy, &mut |_, _| Some(strange.clone()));
    assert_eq!(ids(&text, &found), [("other-models", "sub/other.md".to_string())]);
    assert!(found[0].labels.iter().any(|l| l.span.file == FileId(9)), "the other cell is shown");
    assert!(procedure.steps[0].broken);
}

#[test]
fn a_step_whose_name_fails_gives_one_finding_and_mutes_the_rest() {
    // The hold's role is misspelt: neither the missing criterion nor the demand that it would meet is told as well.
    let text = "1. `hold point: Shift laed`\n2. `let go of flask on shelf, open to 120 mm`\n   - Second person: Shift lead, agree before the act that the shelf bears the flask.\n   - Proof: the flask stays upright.\n3. `verify after: Second operator`\n";
    let (_, found) = steps(text);
    assert_eq!(ids(&under_front(text), &found), [("unknown-role", "Shift laed".to_string())]);
    assert!(found[0].help.iter().any(|h| h.contains("Shift lead")), "{:?}", found[0].help);
    assert!(found[0].labels.iter().any(|l| l.span.file == FileId(3) && l.text.contains("Radiation protection")), "{:?}", found[0].labels);
    assert_eq!(found[0].step.as_deref(), Some("1"));
}

/// Sections that perform each other are refused once, and nothing later runs for ever on them.
#[test]
fn circles_are_printed_as_a_chain() {
    let text = "1. `perform` [a](#a)\n\n# A {.on-call #a}\n\n1. `perform` [b](#b)\n\n# B {.on-call #b}\n\n1. `perform` [c](#c)\n\n# C {.on-call #c}\n\n1. `perform` [a](#a)\n2. `perform` [c](#c)\n";
    let (procedure, found) = steps(text);
    let messages: Vec<&str> = found.iter().map(|d| d.message.as_str()).collect();
    assert_eq!(messages, ["this section comes to perform itself: A → B → C → A", "this section comes to perform itself: C → C"]);
    assert_eq!(procedure.steps.iter().filter(|s| s.broken).count(), 2);
}

const HOLD: &str = "`hold point: Shift lead`\n   - Must be true: the flask stands on the shelf.\n";
const ACT: &str = "`let go of flask on shelf, open to 120 mm`\n   - Second person: Shift lead, agree before the act that the shelf bears the flask.\n   - Proof: the flask stays upright.\n";
const VERIFY: &str = "`verify after: Second operator`\n";

/// The rules that speak on steps written one to a line of `list`, numbered.
fn on(list: &[&str]) -> Vec<&'static str> {
    let text: String = (1..).zip(list).map(|(n, s)| format!("{n}. {s}")).collect();
    steps(&text).1.iter().map(|d| d.rule.id).collect()
}

#[test]
fn a_demanded_hold_lies_on_every_path_with_no_motion_between() {
    const SEEN: &str = "`check` The flask stands on the shelf, seen in window 2.\n";
    const MOVE: &str = "`base left to +20 deg`\n";
    let lit = |then: &str, otherwise: &str| format!("`if` The lamp is lit, seen in window 2.\n   - then\n{then}   - otherwise{otherwise}");
    let hold_inside = "     1. `hold point: Shift lead`\n        - Must be true: the flask stands on the shelf.\n";
    let turn_inside = "     1. `turnover`\n";
    assert_eq!(on(&[SEEN, HOLD, ACT, VERIFY]), [""; 0]);
    assert_eq!(on(&[SEEN, HOLD, "`turnover`\n", ACT, VERIFY]), [""; 0]);
    assert_eq!(on(&[SEEN, HOLD, MOVE, ACT, VERIFY]), ["demand-not-met"]);
    assert_eq!(on(&[SEEN, ACT, VERIFY]), ["demand-not-met"]);
    assert_eq!(on(&[SEEN, HOLD, ACT, "`turnover`\n", VERIFY]), ["demand-not-met", "nothing-to-verify"]);
    // In a branch it covers that branch only; in both branches it covers what follows.
    assert_eq!(on(&[SEEN, &lit(hold_inside, ": go on\n"), ACT, VERIFY]), ["demand-not-met"]);
    assert_eq!(on(&[SEEN, &lit(hold_inside, &format!("\n{hold_inside}")), ACT, VERIFY]), [""; 0]);
    assert_eq!(on(&[SEEN, HOLD, &lit(turn_inside, ": go on\n"), ACT, VERIFY]), [""; 0]);
    // A hold of another role is not the one that was wanted.
    assert_eq!(on(&[SEEN, &HOLD.replace("Shift lead", "Radiation protection"), ACT, VERIFY]), ["demand-not-met"]);
}

#[test]
fn what_a_performed_section_gives_counts_for_its_caller_and_the_other_way_round() {
    let look = "\n# Look {.on-call #look}\n\n1. `check` The flask stands on the shelf, seen in window 2.\n2. `hold point: Shift lead`\n   - Must be true: the flask stands on the shelf.\n";
    let (_, found) = steps(&format!("1. `perform` [look](#look)\n2. {ACT}3. {VERIFY}{look}"));
    assert_eq!(found, []);
    let away = look.to_string() + "3. `base left to +20 deg`\n";
    let (_, found) = steps(&format!("1. `perform` [look](#look)\n2. {ACT}3. {VERIFY}{away}"));
    assert_eq!(found.iter().map(|d| d.rule.id).collect::<Vec<_>>(), ["demand-not-met"]);
    // Inside the section: the hold must stand before every call.
    let act = format!("\n# Leave {{.on-call #leave}}\n\n1. {ACT}2. {VERIFY}");
    let seen = "1. `check` The flask stands on the shelf, seen in window 2.\n";
    let (_, found) = steps(&format!("{seen}2. {HOLD}3. `perform` [leave](#leave)\n{act}"));
    assert_eq!(found, []);
    let (_, found) = steps(&format!("{seen}2. {HOLD}3. `perform` [leave](#leave)\n4. `perform` [leave](#leave)\n{act}"));
    assert_eq!(found.iter().map(|d| d.rule.id).collect::<Vec<_>>(), ["demand-not-met"]);
}

#[test]
fn the_sites_own_scheme_and_sections_are_held() {
    let strict = EXAMPLE_POLICY.replace("avoid-allowed = true", "avoid-allowed = false");
    let text =
        under_front("> [!WARNING]\n> Hazard: the flask is hot.\n> Consequence: burns.\n> Avoid: keep clear of it.\n\n1. `turnover`\n");
    assert_eq!(ids(&text, &read(&text, &strict, &mut |_, _| None).1), [("avoid-not-allowed", "keep clear of it.".to_string())]);
    assert_eq!(read(&text, EXAMPLE_POLICY, &mut |_, _| None).1, []);

    let sections = EXAMPLE_POLICY.replace("longest-run = 10", "longest-run = 10\nsections = [\"Before the work\", \"Work\"]");
    let good = under_front("# Before the work\n\n1. `turnover`\n\n# Work\n\n2. `turnover`\n");
    assert_eq!(read(&good, &sections, &mut |_, _| None).1, []);
    let swapped = under_front("# Work\n\n1. `turnover`\n\n# Before the work\n\n2. `turnover`\n");
    assert_eq!(ids(&swapped, &read(&swapped, &sections, &mut |_, _| None).1), [("missing-section", "# Work".to_string())]);
    let (_, found) = read(&under_front("# Work\n\n1. `turnover`\n"), &sections, &mut |_, _| None);
    assert_eq!(found.len(), 1);
    assert!(found[0].rule.id == "missing-section" && found[0].message.contains("Before the work"), "{found:?}");
}

#[test]
fn prose_that_is_no_move_stays_prose() {
    for words in [
        "Lower the cup to the rack.",
        "Check hold and release lamps are lit.",
        "The base of the lamp is 300 mm from the shelf. Left of it hangs the hose.",
        "Raise the lamp at window 2; the shoulder of the flask is to be seen.",
        "Notify the shift lead that the cask lid is seated.",
        "Return flow line is hot, above 40 degC.",
    ] {
        let (_, found) = steps(&format!("1. {words}\n"));
        assert!(found.iter().all(|d| d.rule.id != "move-in-words"), "{words}: {found:#?}");
    }
    for words in ["Base left to 42.", "Turn the base to +42 deg, to the left.", "lower the SHOULDER to -5 deg"] {
        let (_, found) = steps(&format!("1. {words}\n"));
        assert_eq!(found.iter().map(|d| d.rule.id).collect::<Vec<_>>(), ["move-in-words"], "{words}");
    }
}

#[test]
fn numbers_of_steps_in_words_are_told_from_measures() {
    for (words, told) in [
        ("At step 1, 250 mm of room are seen.", &["step-by-number"][..]),
        ("Compare STEP 1, 2, and 9.", &["unknown-step-number"]),
        ("Compare with [the look of step 1](#first).", &["step-by-number"]),
        ("Compare with [step 7](#first) and [the reading](#first).", &[]),
    ] {
        let (_, found) = steps(&format!("1. `read joints` {{#first}}\n2. {words}\n"));
        assert_eq!(found.iter().map(|d| d.rule.id).collect::<Vec<_>>(), told, "{words}");
    }
}

#[test]
fn a_file_of_endless_headings_is_refused() {
    let (procedure, found) = steps(&format!("1. `turnover`\n\n{}", "# Again\n\n".repeat(70_000)));
    assert_eq!(found.iter().map(|d| d.rule.id).collect::<Vec<_>>(), ["over-limit"]);
    assert_eq!(procedure.sections.len(), lower::MOST_SECTIONS + 1);
}

/// A retreat that comes back is judged from every step that can lead into it, through other contingencies and calls too.
#[test]
fn contingencies_come_back_only_to_later_steps_and_past_no_hold() {
    let chain = |target: &str| {
        format!(
            "1. `perform` [look](#look)\n2. `turnover` {{#two}}\n3. `hold point: Shift lead` {{#three}}\n   - Must be true: [the mark](#two) is made.\n4. `turnover` {{#four}}\n\n\
             # Look {{.on-call #look}}\n\n1. `read joints`\n   - If not: [first](#first)\n\n\
             # First {{.contingency #first}}\n\n1. `read joints`\n   - If not: [second](#second)\n2. `expect pose home`\n\n\
             # Second {{.contingency #second}}\n\n1. `expect pose home`\n2. `go to` [on](#{target})\n"
        )
    };
    let ids = |target| steps(&chain(target)).1.iter().map(|d| d.rule.id).collect::<Vec<_>>();
    assert_eq!(ids("two"), [""; 0]);
    assert_eq!(ids("three"), [""; 0]);
    assert_eq!(ids("four"), ["hold-bypassed"]);
    assert_eq!(ids("look"), ["wrong-link"]);
}

/// Damaged text may give many findings, but never a crash, and never silence where a step was broken.
#[test]
fn torn_procedures_are_read_to_the_end() {
    const WHOLE: &str = "1. `power on arm`\n2. `read dose-rate at port-3 below 50 uSv/h on RM-2` {#dose}\n   - If not: [out](#out)\n3. `hold point: Shift lead`\n   - Must be true: [the reading](#dose) is below 50 uSv/h.\n4. `if` The lamp is lit, seen in window 2.\n   - then\n     1. `repeat at most 3 until` the lamp is dark, seen in window 2.\n        1. `base left to +20 deg`\n        2. `read joints`\n        3. `base right to +10 deg`\n        - If not: hold and tell Shift lead\n     2. `go to` [the end](#end)\n   - otherwise\n     1. `perform` [look](#look)\n5. `turnover` {#end}\n6. `shoulder lower by taps of 0.5 deg, 14 at most, contact between -11 deg and -9 deg`\n   - Touching allowed: jaw pads and cradle.\n   - If not: [out](#out)\n\n# Look {.on-call #look}\n\n1. `read joints`\n   - Second person: Second operator, agree before the act.\n2. `verify after: Shift lead`\n\n# Out {.contingency #out}\n\n1. `shoulder raise to +30 deg`\n2. `expect pose home`\n";
    let lines: Vec<&str> = WHOLE.split_inclusive('\n').collect();
    assert_eq!(steps(WHOLE).1, [], "whole, it says nothing");
    let mut broken = 0;
    let mut judge = |text: String| {
        let (procedure, found) = steps(&text);
        if procedure.steps.iter().any(|s| s.broken) {
            broken += 1;
            assert!(found.iter().any(|d| d.severity == surehand::diag::Severity::Error), "silent on {text}");
        }
    };
    for i in 0..lines.len() {
        let without = |j: usize| lines.iter().enumerate().filter(|(k, _)| *k != i && *k != j).map(|(_, l)| *l).collect::<String>();
        judge(without(i));
        judge(without((i + 7) % lines.len()));
        let mut swapped = lines.clone();
        swapped.swap(i, (i + 1) % lines.len());
        judge(swapped.concat());
        // Each word of the line lost in turn.
        for (at, word) in lines[i].split_inclusive(' ').scan(0, |at, w| Some((std::mem::replace(at, *at + w.len()), w))) {
            let torn = lines[i][..at].to_string() + &lines[i][at + word.len()..];
            let mut list = lines.clone();
            list[i] = &torn;
            judge(list.concat());
        }
    }
    assert!(broken > 50, "{broken} of the damaged texts broke a step");
}

#[test]
fn without_a_cell_the_message_asks_for_one() {
    let text = under_front("1. `power on arm`\n2. `close on cup`\n");
    let (arm, _, policy) = models(EXAMPLE_POLICY);
    let cell = Arc::new(model::cell::Cell::none(FileId(7)));
    let parsed = syntax::parse(FileId(0), &text);
    let (_, found) = lower::lower(&parsed, &text, arm, cell, policy, &mut |_, _| None);
    assert_eq!(ids(&text, &found), [("unknown-load", "cup".to_string())]);
    assert!(found[0].labels.is_empty() && found[0].help[0].contains("front matter"), "{found:?}");
}

/// The retreat moves the arm and comes back between the hold and the act it was for.
#[test]
fn a_hold_does_not_outlive_a_retreat() {
    let text = |back: &str| {
        format!(
            "1. `read joints`\n2. {HOLD}3. `check` The flask stands, seen in window 2.\n   - If not: [out](#out)\n4. {ACT}5. {VERIFY}\n# Out {{.contingency #out}}\n\n1. `expect pose home`\n{back}"
        )
    };
    let act = |t: &str| t.replace(ACT, &ACT.replacen('\n', " {#act}\n", 1));
    assert_eq!(steps(&text("")).1, []);
    let (_, found) = steps(&act(&text("2. `base left to +20 deg`\n3. `go to` [the act](#act)\n")));
    assert_eq!(found.iter().map(|d| d.rule.id).collect::<Vec<_>>(), ["demand-not-met"]);
}

/// Nine calls of nine calls, up to twelve deep: counted, never written out.
#[test]
fn calls_of_calls_are_summed_up() {
    let nested = |depth: usize, last: &str| {
        let mut text = "1. `perform` [on](#s0)\n\n".to_string();
        for i in 0..depth {
            let calls: String = (1..10).map(|n| format!("{n}. `perform` [on](#s{})\n", i + 1)).collect();
            text += &format!("# S{i} {{.on-call #s{i}}}\n\n{calls}\n");
        }
        text + &format!("# S{depth} {{.on-call #s{depth}}}\n\n1. `read joints`\n2. {last}\n")
    };
    let ids = |text: &str| steps(text).1.iter().map(|d| d.rule.id).collect::<Vec<_>>();
    assert_eq!(ids(&nested(8, "`hold point: Shift lead`\n   - Must be true: the read-outs agree.")), [""; 0]);
    assert_eq!(ids(&nested(8, "`turnover`")), ["unsigned-run"]);
    assert_eq!(ids(&nested(12, "`turnover`")), ["unsigned-run"]);
}

/// What may touch is resolved to bodies: the jaw to what moves with the last joint, a station to what bears a load there.
#[test]
fn what_may_touch_becomes_pairs_of_bodies() {
    use surehand::model::procedure::LineForm;
    let touching = "1. `power on arm`\n2. `base left to +15 deg`\n   - Touching allowed: the jaw pads and cradle, sample cup and port-plate, hook and bench.\n";
    let (procedure, _) = steps(touching);
    let LineForm::Touching(pairs) = &procedure.steps[1].lines[0].form else { panic!("no pairs") };
    let named = |pair: &model::touch::Touch| -> Vec<(&str, &str)> {
        let title = |body: model::touch::Body| body.title(&procedure.arm, &procedure.cell);
        pair.pairs().map(|(a, b)| (title(a), title(b))).collect()
    };
    let all: Vec<_> = pairs.iter().map(named).collect();
    assert_eq!(all, [vec![("jaw", "cradle plate")], vec![("sample cup", "shut port plate")], vec![("hook", "bench")]]);
    let text = under_front(touching);
    assert_eq!(pairs[0].names.map(|n| n.of(&text).to_string()), ["the jaw pads", "cradle"]);
    let cradle = procedure.cell.find_station("cradle").expect("a cradle");
    assert_eq!(named(&procedure.approaches[cradle.at()][0]), [("jaw", "cradle plate")]);
}
