//! Plain words: against the verdicts of published guides, against labelled lines, and as a writer meets the findings.

mod common;
mod library;
#[path = "prose/measure.rs"]
mod measure;

use common::{Case, START, examine};
use measure::{Line, found, is_invented, lines, measured};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use surehand::diag::fold::fold;
use surehand::diag::{Diagnostic, Family, Severity};
use surehand::document::build::Figures;
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::session::{DiskWorld, MemoryWorld, Prints, RULES, Session, Wish};
use surehand::syntax::front;
use surehand::writing::prose;
use surehand::writing::questions::QUESTIONS;

/// What is found in steps over the example models, patterns included.
fn judged(steps: &str) -> Vec<Diagnostic> {
    let mut case = Case::steps(steps);
    case.texts[2] += prose::EXAMPLE;
    examine(&case).0.findings.to_vec()
}

fn ids(found: &[Diagnostic]) -> Vec<&'static str> {
    found.iter().map(|d| d.rule.id).collect()
}

#[test]
fn published_lines_have_their_published_verdicts() {
    let mut faults = Vec::new();
    let published: Vec<Line> = lines().into_iter().filter(|l| !is_invented(l)).collect();
    for line in &published {
        let found = found(line);
        let good = line.expected.iter().all(|id| RULES.iter().any(|r| r.id == *id && r.severity == Severity::Advice));
        let refused: Vec<_> = found.iter().filter(|(_, s)| **s > Severity::Advice).collect();
        let right = if good { refused.is_empty() } else { line.expected.iter().all(|id| found.contains_key(id)) };
        if !right {
            faults.push(format!("{:?} ({}): wanted {:?}, found {found:?}", line.text, line.from, line.expected));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(published.len() >= 38, "only {} published lines are left", published.len());
}

/// The published examples that are not a line: where things stand, and who does them.
#[test]
fn published_arrangements_have_their_published_verdicts() {
    // MIL-STD-38784C 4.7.11.5.3, by a quotation: a. without b.
    assert!(ids(&judged("1. Open drawer 3.\n   1. Take key K2.\n")).contains(&"stray-substeps"));
    // DOE-EM-STD-5505-96 6.16.5: a caution behind its step.
    let late = "1. `read joints`\n\n> [!CAUTION]\n> Hazard: the plate is hot.\n> Consequence: the pads melt.\n";
    assert!(ids(&judged(late)).contains(&"late-alert"));
    // DOE-STD-1036-93: the verifier watched, and signs as independent.
    let watched = "1. `read joints`\n   - Second person: Second operator, agree before the act.\n2. `verify after: Second operator`\n";
    assert!(ids(&judged(watched)).contains(&"watched-then-verified"));
    // The guides disagree on avoidance: the site picks, and the same line passes one scheme and not the other.
    let avoid = "> [!WARNING]\n> Hazard: the bus bars are live.\n> Consequence: electrocution.\n> Avoid: do not touch the bus bars.\n\n1. `read joints`\n";
    let under = |allowed: &str| {
        let mut case = Case::steps(avoid).patched(2, "avoid-allowed = true", allowed);
        case.texts[2] += prose::EXAMPLE;
        ids(&examine(&case).0.findings).contains(&"avoid-not-allowed")
    };
    assert!(!under("avoid-allowed = true") && under("avoid-allowed = false"));
}

#[test]
fn a_rule_weighs_what_its_precision_bears() {
    let scores = measure::scores();
    let weak = |r: &&'static surehand::diag::Rule| r.severity > Severity::Advice && scores[r.id][1].precision() < 0.9;
    let weak: Vec<_> = measured().into_iter().filter(weak).map(|r| (r.id, scores[r.id][1].precision())).collect();
    assert!(weak.is_empty(), "to be made advice: {weak:?}");
    let spoken: u32 = scores.values().map(|[_, held]| held.right).sum();
    assert!(spoken >= 100, "the half that was not tuned on shows only {spoken} right findings");
}

#[test]
fn the_page_on_precision_is_current() {
    let page = measure::page();
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/prose.md");
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(&file, &page).unwrap_or_else(|e| panic!("{e}"));
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(kept == page, "grammar/prose.md is not what the measure prints: run the tests with UPDATE_MANUAL=1");
}

#[test]
fn the_labelled_lines_are_whole() {
    let lines = lines();
    let known: BTreeSet<_> = measured().iter().map(|r| r.id).collect();
    let texts: BTreeSet<_> = lines.iter().map(|l| (l.place, l.text)).collect();
    assert_eq!(texts.len(), lines.len(), "a line stands twice");
    assert!(lines.len() >= 400, "only {} lines", lines.len());
    for line in &lines {
        assert!(line.expected.iter().all(|id| known.contains(id)), "{}: {:?}", line.text, line.expected);
    }
    let expected: BTreeSet<_> = lines.iter().flat_map(|l| &l.expected).collect();
    let never: Vec<_> = known.iter().filter(|id| !expected.contains(id)).collect();
    assert!(never.is_empty(), "no line is labelled with {never:?}");
}

/// A table row of the ledger as text by key.
fn ledger() -> Vec<BTreeMap<String, Vec<String>>> {
    let text = include_str!("prose/rows.toml");
    let words = |value: &str| value.split('"').skip(1).step_by(2).map(str::to_owned).collect::<Vec<_>>();
    let row = |row: &str| {
        let pairs = row.lines().filter(|l| !l.starts_with('#')).filter_map(|l| l.split_once(" = "));
        pairs.map(|(key, value)| (key.to_owned(), words(value))).collect()
    };
    text.split("[[row]]").skip(1).map(row).collect()
}

#[test]
fn every_row_of_the_published_guidance_is_accounted_for() {
    let rows = ledger();
    let ids: BTreeSet<_> = rows.iter().flat_map(|r| &r["id"]).collect();
    assert_eq!((rows.len(), ids.len()), (100, 100));
    let mut faults = Vec::new();
    let keys = ["id", "part", "rules", "tests", "question", "not", "note", "lacks"];
    let source = |test: &str| {
        let (file, name) = test.split_once("::").unwrap_or_default();
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/{file}.rs"));
        std::fs::read_to_string(path).unwrap_or_default().contains(&format!("fn {name}()"))
    };
    for row in &rows {
        let id = &row["id"][0];
        let of = |key: &str| row.get(key).map(Vec::as_slice).unwrap_or_default();
        let stands = ["rules", "tests", "question", "not"].iter().any(|k| !of(k).is_empty());
        faults.extend((!stands).then(|| format!("{id}: nothing stands for it")));
        faults.extend(row.keys().filter(|k| !keys.contains(&k.as_str())).map(|k| format!("{id}: no such key: {k}")));
        faults.extend(of("rules").iter().filter(|n| RULES.iter().all(|r| r.id != **n)).map(|n| format!("{id}: no such rule: {n}")));
        faults.extend(of("tests").iter().filter(|t| !source(t)).map(|t| format!("{id}: no such test: {t}")));
        faults.extend(
            of("question").iter().filter(|q| QUESTIONS.iter().all(|k| k.id != **q)).map(|q| format!("{id}: no such question: {q}")),
        );
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    // The other way round: nothing about wording is made up without a row that asks for it.
    let named: BTreeSet<_> = rows.iter().flat_map(|r| r.get("rules").into_iter().flatten()).map(String::as_str).collect();
    let house = ["article-in-step"];
    let stray: Vec<_> = measured().iter().map(|r| r.id).filter(|id| !named.contains(id) && !house.contains(id)).collect();
    assert!(stray.is_empty(), "no row names {stray:?}");
    let asked: BTreeSet<_> = rows.iter().flat_map(|r| r.get("question").into_iter().flatten()).map(String::as_str).collect();
    let unasked: Vec<_> = QUESTIONS.iter().map(|q| q.id).filter(|id| !asked.contains(id) && *id != "wrong-detail").collect();
    assert!(unasked.is_empty(), "no row asks {unasked:?}");
}

/// A badly written procedure, and the findings in the order in which its writer meets them.
fn unpractised() -> Vec<Diagnostic> {
    let mut case = Case::procedure(include_str!("prose/unpractised.md"));
    case.texts[2] += prose::EXAMPLE;
    fold(examine(&case).0.findings.to_vec())
}

#[test]
fn a_badly_written_procedure_is_taught_each_thing_once() {
    let found = unpractised();
    let wording: Vec<_> = found.iter().filter(|d| measured().contains(&d.rule)).collect();
    let of_family = |f: Family| found.iter().filter(|d| d.rule.family == f).map(|d| d.rule.id).collect::<Vec<_>>();
    // Every pattern speaks but those that a site asks for by themselves, and two that are shown elsewhere; each speaks once.
    let mut patterns = of_family(Family::Prose);
    patterns.sort_unstable();
    let mut all: Vec<_> =
        RULES.iter().filter(|r| r.family == Family::Prose && !["article-in-step", "unlisted-verb"].contains(&r.id)).map(|r| r.id).collect();
    all.sort_unstable();
    let missing: Vec<_> = all.iter().filter(|id| !patterns.contains(id)).collect();
    assert_eq!(missing, [&"look-up-in-alert", &"number-form"], "{patterns:#?}");
    let once: BTreeSet<_> = patterns.iter().collect();
    assert_eq!(once.len(), patterns.len(), "a pattern is told twice: {patterns:?}");
    for finding in &wording {
        assert!(!finding.help.is_empty(), "{} does not say what to do", finding.rule.id);
        assert!(finding.message.len() < 110, "{}: {}", finding.rule.id, finding.message);
    }
    // What is hidden behind the first of its kind is counted.
    let chained = found.iter().find(|d| d.rule.id == "vague-word");
    assert_eq!(chained.and_then(|d| d.step.clone()).as_deref(), Some("6"));
    // A page of findings, not a wall: fewer than two to a step.
    assert!(found.len() < 60, "{} findings on 30 steps", found.len());
}

#[test]
fn what_comes_again_is_counted_with_the_first() {
    let steps: String = (1..=12).map(|n| format!("{n}. Tighten screw S{n} properly.\n")).collect();
    let all = judged(&steps);
    assert_eq!(ids(&all).iter().filter(|id| **id == "vague-word").count(), 12, "as data each stands at its own place");
    let found = fold(all);
    let vague: Vec<_> = found.iter().filter(|d| d.rule.id == "vague-word").collect();
    let [first] = vague.as_slice() else { panic!("{vague:#?}") };
    assert_eq!((first.step.as_deref(), first.labels.len()), (Some("1"), 2));
    let help = "11 more like this: steps 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12";
    assert!(first.help.iter().any(|h| h == help), "{:?}", first.help);
}

#[test]
fn the_policy_switches_patterns_and_leaves_what_is_exact() {
    let steps = "1. Tighten screw S4 properly.\n2. The hatch is opened.\n";
    let with = |writing: &str| {
        let mut case = Case::steps(steps);
        case.texts[2] += writing;
        let found = examine(&case).0.findings;
        found.iter().map(|d| (d.rule.id, d.severity)).collect::<Vec<_>>()
    };
    let exact = ("step-not-an-order", Severity::Error);
    assert_eq!(with(""), [exact]);
    assert_eq!(with("\n[writing]\nprose = \"off\"\n"), [exact]);
    assert_eq!(with("\n[writing]\nprose = \"advice\"\n"), [("vague-word", Severity::Advice), exact]);
    assert_eq!(with("\n[writing]\nprose = \"warning\"\n"), [("vague-word", Severity::Warning), exact]);
    assert_eq!(with("\n[writing]\nprose = \"warning\"\nstrict = true\n"), [("vague-word", Severity::Error), exact]);
}

#[test]
fn a_waiver_for_one_step_leaves_the_wording_of_the_others() {
    let waiver = "[[waiver]]\nrule = \"vague-word\"\nstep = \"first\"\nreason = \"The word stands on the panel.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"\n";
    let steps = "1. Tighten screw S1 properly. {#first}\n2. Tighten screw S2 properly.\n";
    let mut case = Case::procedure(&format!("{START}{waiver}+++\n\n# Work\n\n{steps}"));
    case = case.patched(2, "paper = \"A4\"", "paper = \"A4\"\nwaivable = [\"vague-word\"]");
    case.texts[2] += prose::EXAMPLE;
    let found = examine(&case).0.findings;
    let weights: Vec<_> = found.iter().map(|d| (d.rule.id, d.step.as_deref(), d.severity)).collect();
    assert_eq!(weights, [("vague-word", Some("1"), Severity::Advice), ("vague-word", Some("2"), Severity::Warning)]);
}

#[test]
fn a_site_adds_its_verbs_and_its_longest_sentence() {
    let with = |writing: &str| {
        let mut case = Case::steps("1. Snip wire W3 beside the blue clamp of the second terminal block.\n");
        case.texts[2] += writing;
        ids(&examine(&case).0.findings)
    };
    let on = "\n[writing]\nprose = \"warning\"\n";
    assert_eq!(with(on), [""; 0]);
    assert_eq!(with(&format!("{on}listed-verbs-only = true\n")), ["unlisted-verb"]);
    assert_eq!(with(&format!("{on}listed-verbs-only = true\nverbs = {{ manipulate = [\"snip\"] }}\n")), [""; 0]);
    assert_eq!(with(&format!("{on}longest-sentence = 8\n")), ["long-sentence"]);
}

/// Words under a statement, and whether they contradict it.
#[test]
fn words_that_contradict_their_statement_are_told_from_words_that_go_with_it() {
    let lower = "`shoulder lower to -5 deg`";
    let both = "`together: shoulder lower to -5 deg, elbow extend to 90 deg; shoulder first`";
    let against = [
        (lower, "Raise the shoulder with the left stick."),
        (lower, "The shoulder raises."),
        (lower, "Extend the elbow at the same rate."),
        (lower, "The read-out SHOULDER shows between 5 and 15 deg."),
        (lower, "The shoulder stops at -50 deg."),
        ("`base left to +42 deg`", "The base right of the stop."),
        ("`base left to +42 deg`", "Turn the base to +24 deg."),
        ("`wrist-pitch raise by 16 deg, ending +16 deg`", "The wrist pitch lowers by 16 deg."),
        (both, "Fold the elbow behind the shoulder."),
        ("`close on cup`", "The flask hangs in the jaw."),
        ("`close on cup`", "The shielded flask stays in the jaw."),
    ];
    let with = [
        (lower, "The elbow comes down with the shoulder."),
        (lower, "Lower the shoulder with the left stick."),
        (lower, "The pads lower onto both sides of the cup."),
        (lower, "The hose stays left of the base."),
        (lower, "The shoulder does not raise again."),
        (lower, "The read-out SHOULDER shows between -5.5 deg and -4.5 deg."),
        (lower, "The wrist-pitch read-out stays at 0 deg."),
        (lower, "The jaw stays within 10 deg of level."),
        (lower, "The shoulder is lowered until the read-out is at -5 deg."),
        ("`base left to +42 deg`", "The elbow passes right of window 2."),
        ("`base left to +42 deg`", "The base comes to +42 deg."),
        ("`base left from 0 deg to +42 deg`", "The base turns by 42 deg."),
        ("`wrist-pitch raise by 16 deg, ending +16 deg`", "The jaw is raised by 16 deg."),
        (both, "Lower the shoulder and extend the elbow."),
        ("`close on cup`", "The cup is held, and the flask beside it stands."),
        ("`close on cup`", "Both pads lie flat on the rim."),
    ];
    let contradicts = |statement: &str, words: &str| {
        let spoken = |text: String| ids(&judged(&text)).contains(&"words-against-statement");
        let start = if statement.starts_with("`close") { "1. `grip level 2`" } else { "1. `power on arm`" };
        (spoken(format!("{start}\n2. {statement} {words}\n")), spoken(format!("{start}\n2. {statement}\n   - Proof: {words}\n")))
    };
    let mut faults = Vec::new();
    for (statement, words, wanted) in against.iter().map(|(s, w)| (s, w, true)).chain(with.iter().map(|(s, w)| (s, w, false))) {
        let found = contradicts(statement, words);
        faults.extend((found != (wanted, wanted)).then(|| format!("{statement}: {words}: {found:?}")));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn torn_words_are_read_to_the_end() {
    let text = include_str!("prose/unpractised.md");
    let strange = ["\u{b5}", "\u{2019}", "\u{1f9be}", "..", "((", "'", "-", ".5.", "%\u{b0}"];
    let cuts = (text.len() / 2..text.len()).filter(|i| text.is_char_boundary(*i)).step_by(23);
    for (n, cut) in cuts.enumerate() {
        let mut case = Case::procedure(&format!("{}{} {}", &text[..cut], strange[n % strange.len()], &text[cut..]));
        case.texts[2] += prose::EXAMPLE;
        let (p, _) = common::procedure(&case);
        for finding in surehand::writing::check(&p, &case.texts[3]) {
            assert!(case.texts[3].get(finding.span.range()).is_some(), "{}: {:?}", finding.rule.id, finding.span);
        }
    }
}

#[test]
fn the_library_and_the_starter_are_written_well() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let session = Session::new(&DiskWorld);
    let demos = library::DEMOS.iter().map(|d| format!("procedures/{d}"));
    for path in demos.chain(["templates/starter/first.md".to_string()]) {
        let compiled = session.compile(&root.join(&path)).unwrap_or_else(|e| panic!("{path}: {e}"));
        let examined = compiled.examined.as_ref().expect("models that read");
        assert_eq!(examined.procedure.policy.writing.prose, surehand::model::policy::Prose::Warning, "{path}");
        // A warning stands only with the post that accepted it.
        let open: Vec<_> = compiled.findings.iter().filter(|f| f.accepted.is_none()).cloned().collect();
        assert!(open.is_empty(), "{path}: {:#?}", ids(&open));
    }
}

/// A procedure that moves nothing and has a step of each kind that is signed or filled in.
const SIGNED: &str = "> [!CAUTION]
> Hazard: the hose is near the bench.
> Consequence: a torn hose.

1. `read dose-rate at port-3 below 50 uSv/h on RM-2`
   - If not: hold and tell Shift lead
2. `hold point: Radiation protection`
   - Must be true: the reading of step 1 is below 50 uSv/h.

> [!WARNING]
> Hazard: the flask is hot.
> Consequence: burns.

3. `check` The cell door lamp is lit, seen in window 2.
4. `verify after: Second operator`
5. `record dose-rate uSv/h`
6. `repeat at most 3 until` No drop falls for 10 s, seen in window 2.
   1. `wait at least 20 s, at most 1 min`
   - If not: hold and tell Shift lead
7. `witness point: Shift lead`
";

/// Its text print.
fn printed() -> String {
    let models = [("arm.toml", EXAMPLE_ARM), ("cell.toml", EXAMPLE_CELL), ("policy.toml", EXAMPLE_POLICY)];
    let world = models.iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(format!("/p/{name}"), *text));
    let world = world.with("/p/signed.md", format!("{}\n# Work\n\n{SIGNED}", front::EXAMPLE));
    let session = Session::new(&world);
    let compiled = session.compile(Path::new("/p/signed.md")).expect("it is read");
    match session.print(&compiled, &["text"], &Wish { figures: Figures::None, ..Wish::default() }) {
        Ok(Prints::Made(outputs)) => String::from_utf8(outputs.into_iter().next().expect("a print").bytes).expect("text"),
        other => panic!("{other:?}, {:#?}", compiled.findings),
    }
}

/// The lines from the one that holds `what` to the next empty one.
fn block<'p>(page: &'p str, what: &str) -> &'p str {
    let start = page.find(what).unwrap_or_else(|| panic!("`{what}` is not printed"));
    page[start..].split("\n\n").next().unwrap_or_default()
}

#[test]
fn what_the_print_gives_room_for() {
    let page = printed();
    // A hold stands at its place with what must be true and room for the one who clears it; a witness point is another thing.
    let hold = block(&page, "HOLD POINT H1");
    for words in ["Stop here.", "Must be true:", "Printed name: ____", "Signature: ____", "Date: ____", "Time: ____"] {
        assert!(hold.contains(words), "{words}: {hold}");
    }
    // A witness was there or was not; nobody signs for both.
    let witness = block(&page, "WITNESS POINT W1");
    for words in ["Work may go on", "[ ] Present, and looked.", "[ ] Invited in time and not present"] {
        assert!(witness.contains(words), "{words}: {witness}");
    }
    assert!(block(&page, "VERIFY step 3, independently").contains("Signature: ____"));
    // Each signature says what it means.
    for (place, meaning) in [
        ("HOLD POINT H1", "I found true what must be true"),
        ("WITNESS POINT W1", "it was as the marked box says"),
        ("VERIFY step 3, independently", "I verified this by myself"),
    ] {
        let signed = block(&page, place);
        assert!(signed.contains("Signing means") && signed.contains(meaning), "{place}: {signed}");
    }
    // The models are invented, so nobody is asked to approve; the reasons stand there.
    let barred = block(&page, "NO APPROVAL CAN BE GIVEN");
    assert!(barred.contains("the arm profile is invented data") && barred.contains("the cell is invented data"), "{barred}");
    assert!(!page.contains("Approved for use") && !page.contains("Approved by"), "no place for an approval");
    // A mark for each pass, blanks for the times of a wait, a blank for what is read, in the unit of the instrument.
    let repeat = block(&page, "REPEAT at most 3 times");
    assert!(["Pass 1", "Pass 2", "Pass 3"].iter().all(|p| repeat.contains(p)), "{repeat}");
    let wait = block(&page, "WAIT at least 20 s");
    assert!(wait.contains("Start time: ____") && wait.contains("End time: ____"), "{wait}");
    assert!(block(&page, "RECORD dose-rate").contains("Actual, uSv/h: ____"));
    // Each step has its mark behind its words.
    let check = block(&page, "CHECK The cell door lamp");
    assert!(check.trim_end().ends_with("Initials: ________ [ ] N/A"), "{check}");
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("CONTINUOUS USE") && flat.contains("Instruments and calibration due: ____"), "{flat}");
}

#[test]
fn alerts_are_printed_without_numbers_under_one_heading() {
    let page = printed();
    let heads: Vec<&str> = page.lines().filter(|l| l.starts_with("! ") || l.starts_with("!! ")).collect();
    let signals: Vec<_> = heads.iter().filter(|l| l.ends_with("WARNING") || l.ends_with("CAUTION")).collect();
    assert_eq!(signals.len(), 2, "{signals:?}");
    for head in &heads {
        let words = head.trim_start_matches(['!', ' ']);
        assert!(!words.starts_with(|c: char| c.is_ascii_digit()), "an alert has a number: {head}");
    }
    let one = block(&page, "! CAUTION");
    assert_eq!(one.matches("CAUTION").count(), 1, "{one}");
}
