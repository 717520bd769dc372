//! Waivers and dispositions: what they are for, what they never do, and where they are printed.

mod common;

use common::{Case, START, examine};
use surehand::diag::{Acceptance, Severity};
use surehand::document::build::{Digests, Figures, Instruction, Sources, build};
use surehand::document::{Block, Label, Line};
use surehand::emit::{FORMATS, Print};
use surehand::proof::Examined;
use surehand::readback::{self, Item};
use surehand::template::{Templates, render};
use surehand::text::Files;
use surehand::words::Words;

fn said() -> readback::Said {
    readback::Said::new(Words::english().entries())
}

const WAITS: &str = "1. `wait at least 30 s` {#bath}\n2. `wait at least 40 s`\n";
const DISPOSITION: &str =
    "[[disposition]]\nrule = \"open-wait\"\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"\n";
const WAIVER: &str =
    "[[waiver]]\nrule = \"open-wait\"\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"\n";

fn case(front: &str, steps: &str) -> Case {
    Case::procedure(&format!("{START}{front}+++\n\n# Work\n\n{steps}"))
}

/// With a policy that lets `open-wait` and `stale-model` be waived, and more.
fn waivable(front: &str, steps: &str, more: &str) -> Case {
    case(front, steps).patched(2, "paper = \"A4\"", &format!("paper = \"A4\"\nwaivable = [\"open-wait\", \"stale-model\"]\n{more}"))
}

fn of<'e>(examined: &'e Examined, rule: &str) -> Vec<&'e surehand::diag::Diagnostic> {
    examined.findings.iter().filter(|f| f.rule.id == rule).collect()
}

fn open(examined: &Examined) -> usize {
    examined.findings.iter().filter(|f| f.severity == Severity::Warning && f.accepted.is_none()).count()
}

fn sources(files: &Files) -> Sources<'_> {
    let digest = |word: &str| word.repeat(4);
    let digests = Digests {
        content: digest("4f1c09aa7d20b3e6"),
        arm: digest("0123456789abcdef"),
        cell: digest("a21077c40e5b61f9"),
        policy: digest("0b9d3c3c8f44d017"),
    };
    Sources { digests, figures: Figures::None, ..Sources::of(files) }
}

fn printed(examined: &Examined, files: &Files) -> Instruction {
    let checked = examined.checked.as_ref().unwrap_or_else(|| panic!("errors stand: {:#?}", examined.findings));
    build(checked, &sources(files))
}

/// The lines of the waits, in order.
fn lines(instruction: &Instruction) -> Vec<Vec<Line>> {
    fn walk(blocks: &[Block], out: &mut Vec<Vec<Line>>) {
        for block in blocks {
            match block {
                Block::Section(s) => walk(&s.blocks, out),
                Block::Perform(p) => walk(&p.blocks, out),
                Block::Wait(w) => out.push(w.lines.clone()),
                _ => {}
            }
        }
    }
    let mut out = Vec::new();
    walk(&instruction.document().blocks, &mut out);
    out
}

fn items(instruction: &Instruction) -> (surehand::template::Pages, Vec<Item>) {
    let templates = Templates::new(Vec::new(), &Files::default()).expect("built-in templates");
    let pages = render(instruction, &templates).unwrap_or_else(|e| panic!("{e:#?}"));
    let items = pages.values.iter().cloned().map(|(id, values)| Item { id, values }).collect();
    (pages, items)
}

#[test]
fn a_disposition_accepts_a_warning_that_stands() {
    let here = DISPOSITION.replace("rule =", "step = \"bath\"\nrule =");
    let (examined, files) = examine(&case(&here, WAITS));
    let waits = of(&examined, "open-wait");
    let each: Vec<_> = waits.iter().map(|f| (f.severity, f.accepted)).collect();
    assert_eq!(each, [(Severity::Warning, Some(Acceptance::Dispositioned)), (Severity::Warning, None)], "the other step is not accepted");
    assert!(waits[0].labels.iter().any(|l| l.text == "accepted by Shift lead on 2026-11-19: The bath may drip for long."));
    assert_eq!(open(&examined), 1);
    let compiled = examined.compile(&files);
    let [disposition] = compiled.dispositions.as_slice() else { panic!("{:?}", compiled.dispositions) };
    assert_eq!((disposition.post.as_str(), disposition.numbers.as_slice()), ("Shift lead", &["1".to_owned()][..]));
    let with: Vec<_> = compiled.findings.iter().filter(|f| f.disposition.as_ref() == Some(disposition)).map(|f| f.step.clone()).collect();
    assert_eq!(with, [Some("1".to_owned())]);

    let (all, _) = examine(&case(DISPOSITION, WAITS));
    assert_eq!(open(&all), 0, "without a step it is for every place");
    let (both, _) = examine(&case(&format!("{here}{DISPOSITION}"), WAITS));
    assert_eq!((open(&both), of(&both, "unused-disposition").len()), (0, 0), "one for a step, one for the rest");
}

#[test]
fn a_disposition_never_lifts_an_error() {
    let error = "severities = { open-wait = \"error\" }\n";
    let (examined, _) = examine(&waivable(DISPOSITION, WAITS, error));
    assert!(examined.checked.is_none());
    assert_eq!(of(&examined, "open-wait").iter().filter(|f| f.severity == Severity::Error && f.accepted.is_none()).count(), 2);
    let refused = of(&examined, "disposition-not-allowed");
    assert!(refused[0].message.contains("a disposition accepts a warning and lifts nothing"), "{:?}", refused[0].message);
    // Nor one that is about a physical limit, whatever the policy says.
    let travel = DISPOSITION.replace("open-wait", "over-travel");
    let steps = "1. `power on arm`\n2. `shoulder raise to +92.5 deg`\n";
    let (examined, _) = examine(&waivable(&travel, steps, "severities = { over-travel = \"warning\" }\n"));
    assert!(examined.checked.is_none());
    assert!(of(&examined, "over-travel").iter().all(|f| f.severity == Severity::Error && f.accepted.is_none()));
    assert_eq!(of(&examined, "disposition-not-allowed").len(), 1);
}

#[test]
fn what_is_wrong_with_a_disposition_is_told_with_its_mending() {
    let one = |from: &str, to: &str| {
        assert!(DISPOSITION.contains(from), "{from}");
        DISPOSITION.replace(from, to)
    };
    let advice = "severities = { open-wait = \"advice\" }\n";
    let cases: [(&str, String, &str, &str, &str); 11] = [
        ("unknown-rule", one("open-wait", "open-wat"), WAITS, "", "there is no rule `open-wat`"),
        ("disposition-without-step", one("rule =", "step = \"tub\"\nrule ="), WAITS, "", "no step has the anchor `tub`"),
        ("disposition-not-allowed", one("Shift lead", "Night watch"), WAITS, "", "`Night watch` is not a post of this site"),
        ("disposition-not-allowed", one("Shift lead", "Operator"), WAITS, "", "`Operator` performs these steps"),
        ("disposition-not-allowed", DISPOSITION.to_owned(), WAITS, advice, "is advice here and asks for no disposition"),
        ("disposition-not-allowed", one("open-wait", "unused-waiver"), WAITS, "", "is about what may be waived or accepted"),
        ("disposition-out-of-date", one("2026-11-19", "2026-11-21"), WAITS, "", "the document is dated 2026-11-20"),
        ("disposition-out-of-date", one("2026-11-19", "2026-01-01"), WAITS, "", "the arm profile is of 2026-03-02"),
        ("unused-disposition", DISPOSITION.to_owned(), "1. `turnover`\n", "", "no warning of `open-wait` is found"),
        ("unused-disposition", format!("{WAIVER}{DISPOSITION}"), WAITS, "", "no warning of `open-wait` is found"),
        ("repeated-acceptance", DISPOSITION.repeat(2), WAITS, "", "`open-wait` is accepted already"),
    ];
    for (rule, front, steps, policy, message) in cases {
        let (examined, _) = examine(&waivable(&front, steps, policy));
        let found = of(&examined, rule);
        let [finding] = found.as_slice() else { panic!("{rule}: {:#?}", examined.findings) };
        assert!(finding.message.contains(message), "{rule}: {}", finding.message);
        assert!(!finding.help.is_empty(), "{rule} says how to mend it");
        let stays = finding.severity == Severity::Error;
        assert_eq!(examined.checked.is_none(), stays, "{rule}");
        if rule != "repeated-acceptance" && !front.contains("waiver]]") && policy.is_empty() && steps == WAITS {
            assert_eq!(examined.accepted.dispositions.len(), 0, "{rule}: it is not in force");
            assert_eq!(open(&examined), 2, "{rule}: the warnings stand without disposition");
        }
    }
}

#[test]
fn a_waiver_lifts_what_stands_in_the_models_too_and_not_by_the_performer() {
    let stale = WAIVER.replace("open-wait", "stale-model");
    let old = |front: &str| {
        waivable(front, "1. `view window-1`\n", "").patched(
            0,
            "revision = \"2\"\ndate = \"2026-03-02\"",
            "revision = \"2\"\ndate = \"2024-03-02\"",
        )
    };
    let (refused, _) = examine(&old(""));
    assert!(refused.checked.is_none() && of(&refused, "stale-model").len() == 1);
    let (waived, _) = examine(&old(&stale));
    assert!(waived.checked.is_some(), "{:#?}", waived.findings);
    assert_eq!(of(&waived, "stale-model")[0].accepted, Some(Acceptance::Waived));
    let (own, _) = examine(&old(&stale.replace("Shift lead", "Operator")));
    assert_eq!(of(&own, "waiver-not-allowed").len(), 1);
    assert!(own.checked.is_none());
    let (twice, _) = examine(&waivable(&WAIVER.repeat(2), WAITS, ""));
    let found = of(&twice, "repeated-acceptance");
    assert_eq!(found.len(), 1);
    assert!(found[0].message.contains("is waived already") && of(&twice, "unused-waiver").is_empty());
}

#[test]
fn both_are_printed_on_the_first_page_and_beside_their_step_and_read_back() {
    let waiver = WAIVER.replace("rule =", "step = \"bath\"\nrule =");
    let second = DISPOSITION.replace("rule =", "step = \"drip\"\nrule =");
    let steps = "1. `wait at least 30 s` {#bath}\n2. `perform` [the drip](#dripping)\n3. `wait at least 20 s`\n\n# Dripping {#dripping .on-call}\n\n1. `wait at least 40 s` {#drip}\n";
    let (examined, files) = examine(&waivable(&format!("{waiver}{second}"), steps, ""));
    let instruction = printed(&examined, &files);
    let front = &instruction.document().front;
    assert_eq!(front.standing.text(), "No error stands. 2 warnings, 1 without disposition.");
    assert!(front.reserve.text().starts_with("Waived: open-wait (step 1) by Shift lead until 2027-01-01."), "{}", front.reserve.text());
    assert_eq!(front.dispositions.iter().map(|d| d.step.text.as_str()).collect::<Vec<_>>(), ["step 2.1"]);
    let lines = lines(&instruction);
    let labels: Vec<Vec<Label>> = lines.iter().map(|l| l.iter().map(|l| l.is).collect()).collect();
    assert_eq!(labels, [vec![Label::Waived], vec![Label::Accepted], vec![]]);
    assert!(lines[1][0].text.text().contains("The bath may drip for long."));

    let (pages, items) = items(&instruction);
    let compiled = examined.compile(&files);
    readback::agree(&items, &compiled, &said()).unwrap_or_else(|e| panic!("{e}"));
    for format in FORMATS {
        let bytes = format.emit(&Print::new(&pages, (2026, 11, 20))).unwrap_or_else(|e| panic!("{e}"));
        readback::check(format.name, &bytes, &items, &said()).unwrap_or_else(|e| panic!("{}: {e}", format.name));
    }
    // Each value that is about them is held to what is in force.
    let about =
        |id: &str| ["front.waiver", "front.disposition", "front.standing", "s1.waived", "s2.1.accepted"].iter().any(|a| id.starts_with(a));
    let mut tried = 0;
    for at in 0..items.len() {
        for value in 0..items[at].values.len() {
            let (id, text) = items[at].values[value].clone();
            if about(&id) {
                let mut other = items.clone();
                // The sentence may be said in other words, but not with another number.
                other[at].values[value].1 = match id.as_str() {
                    "front.standing" => text.replace('1', "0"),
                    _ if text.contains("open-wait") => text.replace("open-wait", "open-wat"),
                    _ => text.replacen(['e', '1', '2'], "x", 1),
                };
                assert!(readback::agree(&other, &compiled, &said()).is_err(), "{id} may read {:?}", other[at].values[value].1);
                tried += 1;
            }
        }
    }
    assert!(tried >= 13, "{tried}");
    let mut without = items;
    without.iter_mut().for_each(|i| i.values.retain(|(id, _)| id != "s2.1.accepted1"));
    assert!(readback::agree(&without, &compiled, &said()).is_err());
}

#[test]
fn what_is_not_in_force_is_not_printed() {
    // The policy does not let it be waived: a draft must not say that it was.
    let (examined, files) = examine(&case(&WAIVER.replace("rule =", "step = \"bath\"\nrule ="), WAITS));
    assert!(examined.checked.is_none());
    let draft = surehand::document::build::draft(&examined, &sources(&files));
    let front = &draft.document().front;
    assert!(front.reserve.text().starts_with("Nothing was waived.") && front.waivers.is_empty());
    assert!(lines(&draft).iter().all(Vec::is_empty));
}
