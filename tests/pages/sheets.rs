//! Data sheets: where readings are written, on which page, and that nothing else is taken for them.

use super::paper::{Page, read};
use std::path::Path;
use surehand::diag::Severity;
use surehand::document::build::{Figures, Instruction, Sources, draft};
use surehand::emit::{Format, Print};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::readback::Said;
use surehand::readback::{Item, agree, check, look};
use surehand::session::{MemoryWorld, Prints, Session, Wish};
use surehand::syntax::front;
use surehand::template::{BUILT_IN, Templates, render};
use surehand::text::Files;
use surehand::words::Words;

fn said() -> Said {
    Said::new(Words::english().entries())
}

/// Two readings done once and one in each of three passes.
const STEPS: &str = "
1. `read dose-rate below 50 uSv/h on RM-2`
2. `record oil-temperature degC`
3. `repeat at most 3 until` No drop falls for 10 s.
   1. `wait at least 20 s, at most 1 min`
   2. `read temperature between 18 degC and 25 degC on TC-1`
   - If not: hold and tell the shift lead.
4. `if` The cup leans.
   - then
     1. `record tilt deg`
   - otherwise: go on
5. `check` The lamp is lit.
";

fn world(data_sheets: &str, steps: &str) -> MemoryWorld {
    let policy = EXAMPLE_POLICY.replacen("paper = ", &format!("{data_sheets}\npaper = "), 1);
    let text = format!("{}\n{steps}", front::EXAMPLE);
    let files = [("procedure.md", text.as_str()), ("arm.toml", EXAMPLE_ARM), ("cell.toml", EXAMPLE_CELL), ("policy.toml", &policy)];
    files.into_iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(Path::new("/p").join(name), text))
}

fn printed(data_sheets: &str, steps: &str, format: &str) -> Vec<u8> {
    let world = world(data_sheets, steps);
    let session = Session::new(&world);
    let compiled = session.compile("/p/procedure.md".as_ref()).expect("compiles");
    match session.print(&compiled, &[format], &Wish { draft: true, ..Wish::default() }).expect("prints") {
        Prints::Made(files) => files.into_iter().next().expect("a file").bytes,
        other => {
            let errors = compiled.findings.iter().filter(|f| f.severity == Severity::Error);
            panic!("{other:?}: {:?}", errors.map(|f| &f.message).collect::<Vec<_>>())
        }
    }
}

const ALWAYS: &str = "data-sheets = \"always\"";

#[test]
fn readings_are_written_on_a_page_that_lies_across_and_not_at_their_steps() {
    let pdf = printed(ALWAYS, STEPS, "pdf");
    let pages = read(&pdf);
    let across: Vec<(usize, &Page)> = pages.iter().enumerate().filter(|(_, p)| p.width > p.height).collect();
    assert_eq!(across.len(), 4, "one sheet, and one for each of three passes");
    assert_eq!(across[0].0 + 4, pages.len(), "behind all else");
    assert!(pages.iter().all(|p| p.width.max(p.height) == pages[0].height && p.width.min(p.height) == pages[0].width));
    let said = |page: &Page| page.words.iter().map(|w| w.text.as_str()).collect::<Vec<_>>().join(" ");
    for (n, (number, page)) in across.iter().enumerate() {
        let text = said(page);
        assert!(text.contains(&format!("Page {} of {}", number + 1, pages.len())) && text.contains("DRAFT"), "{text}");
        assert!(page.words.iter().all(|w| w.left > 20.0 && w.right < page.width - 20.0 && w.bottom < page.height - 18.0));
        if n > 0 {
            assert!(text.contains(&format!("Pass {n} of step 3")) && text.contains("between 18 degC and 25 degC"), "{text}");
        } else {
            assert!(text.contains("below 50 uSv/h") && text.contains("Record oil-temperature") && !text.contains("Pass"), "{text}");
        }
    }
    let blanks = look("pdf", &pdf, &[], &Said::default()).expect("a PDF").blanks;
    let named = |name: &str| blanks.iter().filter(|b| b.name == name).collect::<Vec<_>>();
    for (sheet, lines) in [("d1", 2), ("d2", 1), ("d3", 1), ("d4", 1)] {
        for line in 1..=lines {
            for what in ["actual", "initials"] {
                let found = named(&format!("{sheet}.line-{line}-{what}"));
                assert_eq!(found.len(), 1, "{sheet} line {line} {what}");
                // At least 8 mm, in tenths of a point.
                assert!(found[0].area[3] - found[0].area[1] >= 220, "{:?}", found[0]);
            }
        }
    }
    for step in ["s1", "s2", "s3.2"] {
        assert!(named(&format!("{step}.actual")).is_empty() && named(&format!("{step}.initials")).is_empty(), "{step} is written twice");
        assert_eq!(named(&format!("{step}.tick")).len(), 1, "{step} is ticked");
    }
    // Whether the branch is taken is not known beforehand.
    assert_eq!(named("s4A.1.actual").len(), 1);
    let all = pages.iter().map(said).collect::<Vec<_>>().join(" ");
    for words in ["Write it on data sheet D1, line 2.", "Write it on the data sheet of the pass, D2 to D4, line 1."] {
        assert!(all.contains(words), "{words}");
    }
}

#[test]
fn few_readings_stay_at_their_steps_unless_the_policy_asks() {
    let has_sheet = |policy: &str, steps: &str| String::from_utf8(printed(policy, steps, "text")).expect("UTF-8").contains("Data sheet D1");
    let reads = |n: usize| (1..=n).map(|i| format!("{i}. `record value-{i} degC`\n")).collect::<String>();
    assert!(!has_sheet("", &reads(4)) && has_sheet("", &reads(5)));
    assert!(has_sheet(ALWAYS, &reads(1)) && !has_sheet("data-sheets = \"never\"", &reads(5)));
    assert!(!has_sheet(ALWAYS, "1. `check` The lamp is lit.\n"), "nothing is read");
}

#[test]
fn the_screen_page_has_the_same_sheets() {
    let html = String::from_utf8(printed(ALWAYS, STEPS, "html")).expect("UTF-8");
    assert_eq!(html.matches("<section class=\"sheet\"").count(), 4);
    assert!(html.contains("data-field=\"d3.l1.low\">18 degC<"));
}

/// The instruction of the steps, and what it must show.
fn arranged() -> (Vec<Item>, surehand::compiled::Compiled, Vec<u8>) {
    let world = world(ALWAYS, STEPS);
    let session = Session::new(&world);
    let compilation = session.compile("/p/procedure.md".as_ref()).expect("compiles");
    let examined = compilation.examined.as_ref().expect("is examined");
    let sources = Sources { figures: Figures::None, ..Sources::of(session.files()) };
    let instruction: Instruction = draft(examined, &sources);
    let templates = Templates::new(Vec::new(), &Files::default()).expect("built-in templates");
    let mut pages = render(&instruction, &templates).unwrap_or_else(|e| panic!("{e:#?}"));
    let items: Vec<Item> = std::mem::take(&mut pages.values).into_iter().map(|(id, values)| Item { id, values }).collect();
    let pdf = Format::named("pdf").expect("a format").emit(&Print::new(&pages, (2026, 11, 20))).expect("emits");
    (items, examined.compile(session.files()), pdf)
}

#[test]
fn a_sheet_that_differs_from_what_was_checked_is_refused() {
    let (items, compiled, pdf) = arranged();
    agree(&items, &compiled, &said()).expect("as it was built");
    check("pdf", &pdf, &items, &said()).expect("as it was printed");
    for (id, words) in [
        ("d1.l1.high", "500 uSv/h"),
        ("d1.l1.step", "2"),
        ("d1.l2.function", "Record oil-pressure"),
        ("d2.l1.low", "8 degC"),
        ("d3.pass", "Pass 3 of step 3"),
        ("d4.sheet", "D5"),
        ("s1.sheet", "Write it on data sheet D1, line 2."),
        ("s3.2.sheet", "Write it on data sheet D2, line 1."),
    ] {
        let mut other = items.clone();
        let value = other.iter_mut().flat_map(|i| &mut i.values).find(|(i, _)| i == id).unwrap_or_else(|| panic!("{id} is printed"));
        words.clone_into(&mut value.1);
        assert!(agree(&other, &compiled, &said()).is_err(), "{id} = {words}");
        assert!(check("pdf", &pdf, &other, &said()).is_err(), "{id} = {words} on paper");
    }
    let without: Vec<Item> = items.iter().filter(|i| i.id != "d3").cloned().collect();
    assert!(agree(&without, &compiled, &said()).is_err(), "a pass without a sheet");
    let (name, text) = BUILT_IN.iter().find(|(n, _)| *n == "sheet.html").expect("a template");
    let blank =
        "<div class=\"blanks\"><p data-name=\"line-{{ e.line }}-initials\">{{ text(\"blank.line-initials\", line=e.line) }}</p></div>";
    assert_eq!(text.matches(blank).count(), 1);
    let world = world(ALWAYS, STEPS).with("/t/sheet.html", text.replace(blank, "none"));
    let session = Session::new(&world);
    let compilation = session.compile("/p/procedure.md".as_ref()).expect("compiles");
    let wish = Wish { draft: true, site: Some("/t".as_ref()), ..Wish::default() };
    match session.print(&compilation, &["text"], &wish).expect("is judged") {
        Prints::Refused(found) => assert!(found[0].message.contains("places to write in"), "{name}: {}", found[0].message),
        other => panic!("{other:?}"),
    }
}
