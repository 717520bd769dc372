//! Documents built from Markdown procedures over the example models: what is printed against what was traced.

use serde_json::Value;
use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};
use surehand::document::build::{Digests, Instruction, Sources, build, draft};
use surehand::document::{Act, Block, Goal, Label, SectionKind, Step, Strip, Travel};
use surehand::emit::{FORMATS, Print};
use surehand::error::Error;
use surehand::model::procedure::{self as model, Kind, SectionKind as Kept};
use surehand::model::{self as floor, EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::proof::{Examined, examine};
use surehand::readback::{self, Item, Said};
use surehand::template::{Pages, Templates, render};
use surehand::text::{File, Files, Span};
use surehand::words::Words;
use surehand::{session, syntax};

/// A whole procedure with every kind of act, clean over the example arm in an open cell. Invented.
const TRANSFER: &str = include_str!("document/transfer.md");

const FRONT: &str = syntax::front::EXAMPLE;

/// The example cell with nothing that stands in the way: what a print holds is looked at here, and its moves need no room.
static OPEN_CELL: LazyLock<String> = LazyLock::new(|| {
    let cell = EXAMPLE_CELL.split("[[obstacle]]").next().expect("a cell");
    let kept = cell.lines().filter(|l| !["support =", "through ="].iter().any(|key| l.starts_with(key)));
    kept.map(|l| format!("{l}\n")).collect()
});

/// Files of a case.
struct Case<'t> {
    arm: &'t str,
    cell: &'t str,
    text: &'t str,
    other: &'t str,
}

struct Made {
    examined: Examined,
    files: Files,
}

impl<'t> Case<'t> {
    fn new(text: &'t str) -> Case<'t> {
        Case { arm: EXAMPLE_ARM, cell: &OPEN_CELL, text, other: "" }
    }

    fn examine(&self) -> Made {
        let files = Files::default();
        let texts = [
            ("arm.toml", self.arm),
            ("cell.toml", self.cell),
            ("policy.toml", EXAMPLE_POLICY),
            ("p.md", self.text),
            ("other.md", self.other),
        ];
        let ids = texts.map(|(name, text)| files.add(File::new(name, text)));
        let arm = Arc::new(floor::arm::load(ids[0], self.arm).0.expect("an arm"));
        let cell = Arc::new(floor::cell::load(ids[1], self.cell).0.expect("a cell"));
        let policy = Arc::new(floor::policy::load(ids[2], EXAMPLE_POLICY).0.expect("a policy"));
        let mut found = Vec::new();
        let parsed = syntax::parse(ids[3], self.text);
        found.extend(parsed.problems.iter().cloned());
        let mut callee = |path: &str, _: Span| {
            let parsed = syntax::parse(ids[4], self.other);
            let lower = || floor::lower::lower(&parsed, self.other, arm.clone(), cell.clone(), policy.clone(), &mut |_, _| None).0;
            (path == "other.md").then(|| Arc::new(lower()))
        };
        let (p, more) = floor::lower::lower(&parsed, self.text, arm.clone(), cell.clone(), policy.clone(), &mut callee);
        found.extend(more);
        Made { examined: examine(Arc::new(p), &files, &session::RULES, found), files }
    }
}

impl Made {
    fn sources(&self) -> Sources<'_> {
        let digest = |word: &str| word.repeat(4);
        let digests = Digests {
            content: digest("4f1c09aa7d20b3e6"),
            arm: digest("0123456789abcdef"),
            cell: digest("a21077c40e5b61f9"),
            policy: digest("0b9d3c3c8f44d017"),
        };
        Sources { digests, ..Sources::of(&self.files) }
    }

    fn findings(&self) -> String {
        let line = |f: &surehand::diag::Diagnostic| {
            let file = self.files.get(f.span.file);
            format!("{}:{}: {}: {}\n", file.name, file.position(f.span.start).line, f.rule.id, f.message)
        };
        self.examined.findings.iter().map(line).collect()
    }

    /// The instruction of a clean case.
    fn clean(&self) -> Instruction {
        let checked = self.examined.checked.as_ref().unwrap_or_else(|| panic!("errors stand:\n{}", self.findings()));
        build(checked, &self.sources())
    }

    fn draft(&self) -> Instruction {
        draft(&self.examined, &self.sources())
    }
}

fn json(instruction: &Instruction) -> Value {
    serde_json::to_value(instruction.document()).expect("plain data")
}

fn pages(instruction: &Instruction) -> Pages {
    let files = Files::default();
    let templates = Templates::new(Vec::new(), &files).expect("built-in templates");
    let say = |list: Vec<surehand::diag::Diagnostic>| list.into_iter().map(|d| d.message.to_string()).collect::<Vec<_>>().join("\n");
    render(instruction, &templates).map_err(say).unwrap_or_else(|e| panic!("{e}"))
}

/// Whether what is printed agrees with what was compiled, and every format reads back.
fn read_back(made: &Made, instruction: &Instruction) -> Result<(), Error> {
    let pages = pages(instruction);
    let items: Vec<Item> = pages.values.iter().cloned().map(|(id, values)| Item { id, values }).collect();
    let said = Said::new(Words::english().entries());
    readback::agree(&items, &made.examined.compile(&made.files), &said)?;
    let print = Print::new(&pages, (2026, 11, 20));
    FORMATS.iter().try_for_each(|f| readback::check(f.name, &f.emit(&print)?, &items, &said).map(drop))
}

/// Every block in printed order, nested ones too.
fn blocks(instruction: &Instruction) -> Vec<&Block> {
    fn walk<'b>(list: &'b [Block], out: &mut Vec<&'b Block>) {
        for block in list {
            out.push(block);
            match block {
                Block::Section(s) => walk(&s.blocks, out),
                Block::Condition(c) => c.arms.iter().for_each(|a| walk(&a.blocks, out)),
                Block::Repeat(r) => walk(&r.blocks, out),
                Block::Perform(p) => walk(&p.blocks, out),
                _ => {}
            }
        }
    }
    let mut out = Vec::new();
    walk(&instruction.document().blocks, &mut out);
    out
}

fn steps(instruction: &Instruction) -> Vec<&Step> {
    blocks(instruction).into_iter().filter_map(|b| if let Block::Step(s) = b { Some(&**s) } else { None }).collect()
}

fn step<'i>(instruction: &'i Instruction, number: &str) -> &'i Step {
    steps(instruction).into_iter().find(|s| s.number.text == number).unwrap_or_else(|| panic!("no step {number}"))
}

fn strips(instruction: &Instruction) -> Vec<&Strip> {
    blocks(instruction).into_iter().filter_map(|b| if let Block::Strip(s) = b { Some(s) } else { None }).collect()
}

fn travels(act: &Act) -> Vec<&Travel> {
    match act {
        Act::Move(t) | Act::Lift { travel: t, .. } | Act::Lower { travel: t, .. } => vec![t],
        Act::Together { moves, .. } => moves.iter().collect(),
        _ => Vec::new(),
    }
}

fn from(instruction: &Instruction, number: &str) -> Vec<String> {
    travels(&step(instruction, number).act).iter().flat_map(|t| &t.from).map(|f| f.text.clone()).collect()
}

/// Ids of items, and ids of values and sentences.
fn ids(value: &Value, items: &mut Vec<String>, values: &mut Vec<String>) {
    match value {
        Value::Array(list) => list.iter().for_each(|v| ids(v, items, values)),
        Value::Object(map) => {
            if let Some(Value::String(item)) = map.get("item") {
                items.push(item.clone());
            }
            if let Some(Value::String(id)) = map.get("id") {
                values.push(id.clone());
            }
            map.values().for_each(|v| ids(v, items, values));
        }
        _ => {}
    }
}

fn thousandths(text: &str) -> i64 {
    let number = text.trim_end_matches(" deg");
    let (number, sign) = number.strip_prefix('-').map_or((number.trim_start_matches('+'), 1), |n| (n, -1));
    let (whole, part) = number.split_once('.').unwrap_or((number, "0"));
    sign * (whole.parse::<i64>().expect("digits") * 1000 + format!("{part:0<3}").parse::<i64>().expect("digits"))
}

#[test]
fn ids_are_unique_and_the_print_is_complete() {
    let made = Case::new(TRANSFER).examine();
    let instruction = made.clean();
    let (mut items, mut values) = (Vec::new(), Vec::new());
    ids(&json(&instruction), &mut items, &mut values);
    for list in [&items, &values] {
        let mut seen = BTreeSet::new();
        for id in list {
            assert!(seen.insert(id), "{id} stands twice");
        }
        assert!(list.len() > 40);
    }
    // The templates' own ledger refuses a print that lacks an item or a value.
    let pages = pages(&instruction);
    for format in FORMATS {
        assert!(!format.emit(&Print::new(&pages, (2026, 11, 20))).expect(format.name).is_empty());
    }
    read_back(&made, &instruction).expect("reads back");
}

#[test]
fn every_step_is_printed_once() {
    let made = Case::new(TRANSFER).examine();
    let instruction = made.clean();
    let (p, trace) = (&made.examined.procedure, &made.examined.trace);
    let mut expected = BTreeSet::new();
    for (frame, f) in trace.frames() {
        for row in trace.rows_of(frame) {
            let section = p.section(p.step(trace.step_of(row).1).section);
            // An on-call section is printed where it is performed.
            if f.section.is_some() || section.kind != Kept::OnCall {
                expected.insert(format!("s{}", trace.number(p, row)));
            }
        }
    }
    let (mut items, mut values) = (Vec::new(), Vec::new());
    ids(&json(&instruction), &mut items, &mut values);
    let printed: Vec<String> =
        items.into_iter().filter(|i| i.starts_with('s') && !i.starts_with("sec") && i != "start" && !i.ends_with(['A', 'B'])).collect();
    assert_eq!(printed.len(), expected.len());
    assert_eq!(printed.into_iter().collect::<BTreeSet<_>>(), expected);
    assert!(expected.contains("s14A.1") && expected.contains("s16.1") && expected.contains("s25.2") && expected.contains("sC1.8"));
}

#[test]
fn bands_are_those_of_the_trace() {
    let made = Case::new(TRANSFER).examine();
    let instruction = made.clean();
    let (p, trace) = (&made.examined.procedure, &made.examined.trace);
    let mut compared = 0;
    for (frame, f) in trace.frames() {
        for row in trace.rows_of(frame) {
            let source = p.step(trace.step_of(row).1);
            if f.section.is_none() && p.section(source.section).kind == Kept::OnCall {
                continue;
            }
            let drives: Vec<&model::Drive> = match &source.kind {
                Kind::Move(d) => vec![d],
                Kind::Lift(t) | Kind::Lower(t) => vec![&t.drive],
                Kind::Together(t) => t.drives.iter().collect(),
                _ => continue,
            };
            let number = trace.number(p, row).to_string();
            for (drive, travel) in drives.into_iter().zip(travels(&step(&instruction, &number).act)) {
                let (Goal::To { low, high, .. } | Goal::Taps { low, high, .. }) = &travel.goal else { panic!("{number} is guarded") };
                for entry in trace.after(row) {
                    let r = entry.state.joint(drive.joint.value);
                    assert_eq!((r.low.0, r.high.0), (thousandths(&low.text), thousandths(&high.text)), "step {number}");
                    compared += 1;
                }
            }
        }
    }
    assert!(compared >= 20, "{compared}");
}

#[test]
fn every_start_of_a_move_is_printed() {
    let instruction = Case::new(TRANSFER).examine().clean();
    assert_eq!(from(&instruction, "15"), ["-10.0 deg", "-20.0 deg"]);
    assert_eq!(from(&instruction, "12"), ["anywhere -10.8 to -9.2 deg"]);
    // From where the move began, drift included, to where the last tap may end if nothing is met.
    assert_eq!(from(&instruction, "C1.2"), ["anywhere -13.3 to +21.2 deg"]);
    let crossing = |n: &str| travels(&step(&instruction, n).act)[0].crosses_zero;
    assert!(crossing("8") && crossing("12") && !crossing("9"));
}

#[test]
fn a_performed_section_is_printed_at_each_call_with_its_own_starts() {
    let text = format!(
        "{FRONT}
# Work

1. `power on arm`
2. `shoulder raise to +30 deg`
3. `perform` [up](#up)
4. `shoulder lower to +10 deg`
5. `perform` [up](#up)

# Up {{.on-call #up}}

1. `shoulder raise to +40 deg`
2. `base left to +5 deg` {{#left}}
3. `base right to 0 deg`
   - Watch: the base, as in [step 2](#left).
"
    );
    let instruction = Case::new(&text).examine().draft();
    assert_eq!((from(&instruction, "3.1"), from(&instruction, "5.1")), (vec!["+30.0 deg".to_owned()], vec!["+10.0 deg".to_owned()]));
    assert_eq!(step(&instruction, "3.3").lines[0].text.text(), "the base, as in step 3.2.");
    assert_eq!(step(&instruction, "5.3").lines[0].text.text(), "the base, as in step 5.2.");
    assert_eq!(steps(&instruction).len(), 3 + 2 * 3);
}

#[test]
fn a_performed_procedure_brings_its_sections_and_contingencies() {
    let other = format!(
        "{}
# Reach

1. `shoulder lower until contact, not past -8 deg`
   - If not: [back off](#off)
2. `shoulder raise to +20 deg`

# Back off {{.contingency #off}}

1. Hold and tell the shift lead.
",
        FRONT.replace("power = \"off\"", "power = \"on\"")
    );
    let text = format!("{FRONT}\n# Work\n\n1. `power on arm`\n2. `perform` [reach](other.md)\n");
    let made = Case { other: &other, ..Case::new(&text) }.examine();
    let instruction = made.draft();
    assert_eq!(from(&instruction, "2.1"), ["+20.0 deg"]);
    let sections: Vec<_> =
        blocks(&instruction).into_iter().filter_map(|b| if let Block::Section(s) = b { Some(s) } else { None }).collect();
    let last = sections.last().expect("sections");
    let SectionKind::Contingency { number, from, .. } = &last.kind else { panic!("contingencies come last") };
    assert_eq!((number.text.as_str(), from[0].text().as_str()), ("2.C1", "From step 2.1 (If not)."));
    assert_eq!(step(&instruction, "2.1").lines[0].text.text(), "go to 2.C1, Back off");
    pages(&instruction);
}

#[test]
fn contingencies_say_where_they_are_entered() {
    let instruction = Case::new(TRANSFER).examine().clean();
    let Some(Block::Section(last)) = instruction.document().blocks.last() else { panic!("a section is last") };
    let SectionKind::Contingency { number, from, .. } = &last.kind else { panic!("the contingency is last") };
    assert_eq!((number.text.as_str(), from[0].text().as_str()), ("C1", "From step 8 (If not), step 9 (If not)."));
    assert_eq!(step(&instruction, "8").lines.last().map(|l| (l.is, l.text.text())), Some((Label::IfNot, "go to C1, Back out".to_owned())));
    let first = strips(&instruction)[0].stopped.as_ref().map(surehand::document::Prose::text).unwrap_or_default();
    assert!(first.ends_with("on the reader's word. Way out where step 8 or 9 says so: C1."), "{first}");
}

#[test]
fn a_draft_has_the_same_content_and_says_so() {
    let made = Case::new(TRANSFER).examine();
    assert_eq!(made.clean().document(), made.draft().document());
    assert_eq!(made.clean().stamp().status().words(Words::english()), "CHECKED, NOT APPROVED");
    let wrong = TRANSFER.replace("`base left to +30 deg`", "`base right to +30 deg`");
    let made = Case::new(&wrong).examine();
    assert!(made.examined.checked.is_none());
    let errors = made.examined.findings.iter().filter(|f| f.severity == surehand::diag::Severity::Error).count();
    assert!(errors > 0);
    let words = made.draft().stamp().status().words(Words::english());
    assert_eq!(words, if errors == 1 { "DRAFT, 1 error".to_owned() } else { format!("DRAFT, {errors} errors") });
    assert!(made.draft().document().front.standing.text().starts_with(&format!("Errors that stand: {errors}.")));
}

#[test]
fn what_is_printed_as_checked_ran() {
    let made = Case::new(TRANSFER).examine();
    let front = &made.clean().document().front.clone();
    let covered: Vec<&str> = made.examined.covered.iter().map(|c| c.text.as_str()).collect();
    assert!(made.examined.covered.iter().all(|c| c.count > 0));
    assert_eq!(front.checked.iter().map(surehand::document::Prose::text).collect::<Vec<_>>(), covered);
    assert_eq!(front.unchecked.len(), made.examined.gaps.len());
    assert!(made.examined.gaps.iter().any(|g| g.id == "clearance"));
    assert!(front.cautions[0].text().starts_with("No shapes were checked"), "{}", front.cautions[0].text());
    // A procedure that grips nothing says nothing of grip.
    let text = format!("{FRONT}\n# Work\n\n1. `power on arm`\n2. `shoulder raise to +30 deg`\n");
    let plain = Case::new(&text).examine().draft().document().front.checked.iter().map(surehand::document::Prose::text).collect::<String>();
    assert!(!plain.contains("rip level"), "{plain}");
}

#[test]
fn cautions_come_from_the_models() {
    let said = |made: &Made| made.draft().document().front.cautions.iter().map(|c| c.text() + "\n").collect::<String>();
    let text = said(&Case::new(TRANSFER).examine());
    for words in [
        "does not authorise work",
        "Not assessed: dose, criticality, shielding",
        "not isolation for entry",
        "The stop word is STOP",
        "red mushroom button, right of the sticks",
        "Do not open the jaw on a stop",
        "The jaw holds.",
        "Cell door locked while console power is on.",
        "qualified persons govern",
    ] {
        assert!(text.contains(words), "{words} is not in\n{text}");
    }
    for forbidden in ["safe", "proved", "proven", "complies"] {
        assert!(!text.to_lowercase().contains(forbidden), "{forbidden}");
    }
    let arm = EXAMPLE_ARM.replace("on-power-loss = \"holds\"", "on-power-loss = \"lets-go\"");
    assert!(said(&Case { arm: &arm, ..Case::new(TRANSFER) }.examine()).contains("THE JAW LETS GO."));
}

#[test]
fn the_banner_follows_the_models() {
    let banner = |arm: &str, cell: &str| {
        let stamp = serde_json::to_value(Case { arm, cell, ..Case::new(TRANSFER) }.examine().draft().stamp()).expect("plain data");
        stamp["banner"]["text"].as_str().unwrap_or("").to_owned()
    };
    assert_eq!(banner(EXAMPLE_ARM, EXAMPLE_CELL), "INVENTED DATA, NOT FOR ANY REAL ARM");
    let (arm, cell) = (EXAMPLE_ARM.replace("invented = true\n", ""), EXAMPLE_CELL.replace("invented = true\n", ""));
    assert_eq!(banner(&arm, &cell), "NOT FOR USE: MODEL DATA NOT ACCEPTED");
    assert_eq!(banner(&arm, EXAMPLE_CELL), "INVENTED DATA, NOT FOR ANY REAL ARM");
}

#[test]
fn strips_tell_view_and_load_and_are_never_far() {
    let instruction = Case::new(TRANSFER).examine().clean();
    let (mut run, mut opened) = (0, false);
    for block in blocks(&instruction) {
        match block {
            Block::Strip(s) if s.stopped.is_some() => (run, opened) = (0, true),
            Block::Step(_) | Block::Hold(_) | Block::Verify(_) | Block::Reading(_) | Block::Wait(_) | Block::Turnover(_) => run += 1,
            Block::Condition(_) | Block::Repeat(_) | Block::Perform(_) => run += 1,
            _ => {}
        }
        assert!(run <= 10 && (opened || run == 0), "{run} steps since a block began");
    }
    let strips = strips(&instruction);
    assert!(strips.iter().all(|s| s.cautions.is_empty() == (s.held.text == "empty")));
    let held = strips.iter().find(|s| !s.cautions.is_empty()).expect("a loaded strip");
    assert_eq!((held.view.text.as_str(), held.held.text.as_str()), ("window 2", "sample cup max 2.1 kg, grip 2"));
    assert_eq!(held.cautions.len(), 2);
    let last = strips.iter().rfind(|s| !s.block_number.text.starts_with('C')).expect("strips");
    let (number, total) = last.block_number.text.trim_start_matches("BLOCK ").split_once(" of ").expect("BLOCK n of m");
    assert_eq!(number, total, "blocks are counted right");
}

#[test]
fn contact_steps_and_steps_beside_holds_have_a_blank() {
    let instruction = Case::new(TRANSFER).examine().clean();
    let blank = |n: &str| step(&instruction, n).actual.as_ref().map(|a| a.unit.clone());
    let expected =
        [("5", Some("deg")), ("6", None), ("7", None), ("9", Some("deg")), ("11", Some("mm")), ("12", Some("deg")), ("21", Some("mm"))];
    for (number, unit) in expected {
        assert_eq!(blank(number).as_deref(), unit, "step {number}");
    }
    assert_eq!(blank("24").as_deref(), Some("mL"), "a record keeps its own unit");
}

#[test]
fn an_alert_stands_directly_before_its_step() {
    let text = format!(
        "{FRONT}\n# Work\n\n1. `view window-1`\n\n> [!WARNING]\n> Hazard: the arm moves when power comes on.\n> Consequence: a person is hit.\n\n2. `power on arm`\n3. `shoulder raise to +30 deg`\n"
    );
    let instruction = Case::new(&text).examine().draft();
    let list = blocks(&instruction);
    let at = list.iter().position(|b| matches!(b, Block::Alert(_))).expect("an alert");
    assert!(matches!(list[at + 1], Block::Step(s) if s.number.text == "2"));
    assert!(matches!(list[at - 1], Block::Checks(c) if c.checks.len() == 2), "the checks before power on stand before the alert");
}

#[test]
fn markdown_is_kept_and_links_carry_printed_numbers() {
    let text = format!(
        "{FRONT}
Read **aloud**, 5. of the list; <b>never</b> silently.

- first
- second

# Work

1. `power on arm`
2. `shoulder raise to +30 deg` {{#up}}
   - Watch: 3. the forearm, see [step 9](#up) and [the lift](#up).
"
    );
    let instruction = Case::new(&text).examine().draft();
    let words: Vec<String> = blocks(&instruction)
        .into_iter()
        .filter_map(|b| if let Block::Text { paragraphs, .. } = b { Some(paragraphs) } else { None })
        .flatten()
        .map(surehand::document::Prose::text)
        .collect();
    assert_eq!(words, ["Read aloud, 5. of the list; never silently.", "- first", "- second"]);
    let line = &step(&instruction, "2").lines[0].text;
    assert_eq!(line.text(), "3. the forearm, see step 2 and the lift (step 2).");
    assert_eq!(serde_json::to_value(&line.spans).expect("plain data")[1]["to"], "s2");
    pages(&instruction);
}

#[test]
fn bands_are_printed_in_the_digits_of_the_read_out_and_never_wider() {
    let old = "hold = \"0.2 deg\"\nreadout-error = \"0.1 deg\"\ndecimals = 1\nrate = \"12 deg/s\"";
    assert_eq!(EXAMPLE_ARM.matches(old).count(), 1);
    let arm = EXAMPLE_ARM.replace(old, &old.replace("decimals = 1", "decimals = 0"));
    let text = format!("{FRONT}\n# Work\n\n1. `power on arm`\n2. `base left to +42 deg within 1.5 deg`\n");
    let instruction = Case { arm: &arm, ..Case::new(&text) }.examine().draft();
    let Goal::To { target, low, high } = &travels(&step(&instruction, "2").act)[0].goal else { panic!("a target") };
    assert_eq!([&target.text, &low.text, &high.text], ["+42 deg", "+41", "+43 deg"]);
}

#[test]
fn what_may_touch_is_printed_under_its_title() {
    let text = format!("{FRONT}\n# Work\n\n1. `power on arm`\n2. `base left to +42 deg`\n   - Touching allowed: jaw pads and cup.\n");
    let instruction = Case::new(&text).examine().draft();
    assert_eq!(step(&instruction, "2").lines[0].text.text(), "jaw pads and sample cup.");
}

#[test]
fn a_near_stop_is_printed() {
    let text = format!("{FRONT}\n# Work\n\n1. `power on arm`\n2. `shoulder lower to -34 deg`\n3. `shoulder raise to +84 deg`\n");
    let instruction = Case::new(&text).examine().draft();
    assert_eq!(step(&instruction, "2").notes[0].text(), "SHOULDER: hard stop at -40.0 deg, 6.0 deg beyond the target.");
    assert!(step(&instruction, "3").notes.is_empty(), "11 deg are left");
}

#[test]
fn every_broken_example_still_prints_as_a_draft() {
    use surehand::diag::ExampleFile;
    let mut printed = 0;
    let mut faults = Vec::new();
    for example in session::RULES.iter().flat_map(|r| r.bad.iter().chain(r.good)) {
        let text = match example.file {
            ExampleFile::Steps => format!("{FRONT}\n{}", example.text),
            ExampleFile::Procedure => example.text.to_owned(),
            ExampleFile::Arm | ExampleFile::Cell | ExampleFile::Policy => continue,
        };
        let text = text.replace(['⟦', '⟧'], "");
        let made = Case::new(&text).examine();
        let instruction = made.draft();
        let (mut items, mut values) = (Vec::new(), Vec::new());
        ids(&json(&instruction), &mut items, &mut values);
        for list in [&items, &values] {
            assert_eq!(list.len(), list.iter().collect::<BTreeSet<_>>().len(), "an id stands twice in the document of:\n{text}");
        }
        if let Err(e) = read_back(&made, &instruction) {
            faults.push(format!("{e}\n{text}"));
        }
        printed += 1;
    }
    assert!(faults.is_empty(), "{} of {printed} do not read back:\n{}", faults.len(), faults.join("\n\n"));
    assert!(printed > 100, "{printed}");
}

#[test]
fn a_draft_shows_hidden_characters() {
    let text = format!("{FRONT}\n# Work\n\n1. `power on arm`\n2. Look at the \u{202e}lamp.\n")
        .replace("Move a test piece", "Move a \u{200b}piece");
    let instruction = Case::new(&text).examine().draft();
    assert!(matches!(&step(&instruction, "2").act, Act::Instruction { text } if text.text() == "Look at the [U+202E]lamp."));
    assert_eq!(instruction.document().identity.title.text, "Move a [U+200B]piece");
}

#[test]
fn a_draft_does_not_call_a_jaw_empty_that_nobody_knows_of() {
    let text = format!(
        "{FRONT}\n# Work\n\n1. `power on arm`\n2. `base left to +10 deg`\n3. `jaw opne to 60 mm`\n\n# More\n\n4. `base left to +20 deg`\n"
    );
    let made = Case::new(&text).examine();
    let instruction = made.draft();
    let held: Vec<&str> = strips(&instruction).iter().map(|s| s.held.text.as_str()).collect();
    assert!(held.first() == Some(&"empty") && held.last() == Some(&"not known"), "{held:?}");
    let rows = &instruction.document().after.as_ref().expect("a page of read-outs").rows;
    assert!(rows.iter().any(|r| r.held.text == "empty") && rows.last().is_some_and(|r| r.held.text == "not known"), "{rows:#?}");
    read_back(&made, &instruction).unwrap_or_else(|e| panic!("{e}"));
}
