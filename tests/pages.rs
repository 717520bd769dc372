//! How pages are filled, judged from the finished PDF by another program: what is kept together, what is repeated, what is
//! broken and how it says so. `SUREHAND_LONG=1` looks at twenty times as many procedures.

#[path = "pages/generate.rs"]
mod generate;
#[path = "pages/judge.rs"]
mod judge;
mod library;
#[path = "bench/generate.rs"]
mod long;
#[path = "pages/paper.rs"]
mod paper;
#[path = "pages/sheets.rs"]
mod sheets;

use generate::{Dice, Generated};
use judge::Book;
use library::{DEMOS, folder};
use rayon::prelude::*;
use surehand::diag::Severity;
use surehand::document::build::Edition;
use surehand::model::{EXAMPLE_ARM, EXAMPLE_POLICY};
use surehand::readback::look;
use surehand::session::{DiskWorld, MemoryWorld, Prints, Session, Wish};
use surehand::template::theme::PRESETS;
use surehand::text::Files;
use surehand::words::Words;

const PAPERS: [&str; 2] = ["A4", "Letter"];

/// Prints a draft, read back by the program itself; or says why there is none.
fn try_print(text: &str, paper: &str, preset: &'static str) -> Result<Vec<u8>, String> {
    print_in(text, paper, preset, None)
}

/// The same in a language.
fn print_in(text: &str, paper: &str, preset: &'static str, language: Option<&str>) -> Result<Vec<u8>, String> {
    assert_eq!(EXAMPLE_POLICY.matches("paper = \"A4\"").count(), 1);
    let policy = EXAMPLE_POLICY.replace("paper = \"A4\"", &format!("paper = \"{paper}\""));
    let world = MemoryWorld::default().with("/p/l.md", text).with("/p/arm.toml", EXAMPLE_ARM).with("/p/policy.toml", policy);
    let session = Session::new(&world);
    let compiled = session.compile("/p/l.md".as_ref()).map_err(|e| e.to_string())?;
    match session
        .print(&compiled, &["pdf"], &Wish { draft: true, preset: Some(preset), language, ..Wish::default() })
        .map_err(|e| e.to_string())?
    {
        Prints::Made(files) => Ok(files.into_iter().next().expect("a file").bytes),
        other => {
            let errors = compiled.findings.iter().filter(|f| f.severity == Severity::Error);
            Err(format!("{other:?}: {:?}", errors.map(|f| &f.message).collect::<Vec<_>>()))
        }
    }
}

/// Numbers of pages have room with any number of digits, whether so many pages were foreseen or not.
#[test]
fn a_thousand_pages_are_numbered_as_few_are() {
    for (steps, preset) in [(3_000, "stand-back"), (5_000, "reader")] {
        let pdf = try_print(&long::procedure(1, steps), "A4", preset).unwrap_or_else(|e| panic!("{steps} steps: {e}"));
        let pages = look("pdf", &pdf, &[], &surehand::readback::Said::default()).expect("a PDF").pages;
        assert!(pages.is_some_and(|pages| pages > 999), "{steps} steps, {pages:?} pages");
    }
}

fn how_many(usual: usize) -> usize {
    if std::env::var("SUREHAND_LONG").is_ok_and(|v| v == "1") { usual * 20 } else { usual }
}

/// Procedures of every shape, on each paper and in each preset.
#[test]
fn pages_keep_together_what_belongs_together() {
    let faults: Vec<String> = (0..how_many(300))
        .into_par_iter()
        .flat_map_iter(|n| {
            let mut dice = Dice::new(n as u64 + 1);
            let steps = 5 + dice.upto(40);
            let generated = Generated::new(&mut dice, steps);
            let (paper, preset) = (PAPERS[n % 2], PRESETS[n / 2 % 3].name);
            let found = match try_print(&generated.text, paper, preset) {
                Ok(pdf) => Book::new(paper::read(&pdf), Words::english()).faults(&generated),
                Err(what) => vec![what],
            };
            found.into_iter().map(move |f| format!("procedure {n} ({paper}, {preset}): {f}"))
        })
        .collect();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults[..faults.len().min(30)].join("\n"));
}

/// A step of several pages, with two alerts before it and one step around it.
fn oversize(lines: usize) -> Generated {
    let mut dice = Dice::new(7);
    let mut out = Generated::empty();
    out.step(&mut dice, 1);
    out.guard(&mut dice);
    out.guard(&mut dice);
    out.long_step(&mut dice, 2, lines);
    out.step(&mut dice, 3);
    out
}

#[test]
fn a_step_taller_than_a_page_goes_over_between_its_lines() {
    let generated = oversize(110);
    for paper in PAPERS {
        for preset in &PRESETS {
            let name = format!("{paper}, {}", preset.name);
            let pdf = try_print(&generated.text, paper, preset.name).unwrap_or_else(|e| panic!("{name}: {e}"));
            let book = Book::new(paper::read(&pdf), Words::english());
            let faults = book.faults(&generated);
            assert!(faults.is_empty(), "{name}: {faults:#?}");
            let parts = book.parts("2");
            assert!(parts.len() >= 4, "{name}: the step stands on pages {parts:?}");
            // What is filled in for the step is there once, with its last part.
            let blanks = look("pdf", &pdf, &[], &surehand::readback::Said::default()).expect("a PDF").blanks;
            let own: Vec<_> = blanks.iter().filter(|b| b.name.starts_with("s2.")).map(|b| (b.name.as_str(), b.page)).collect();
            let last = parts.last().expect("a part") + 1;
            assert_eq!(own, [("s2.actual", last), ("s2.initials", last), ("s2.na", last)], "{name}");
        }
    }
}

/// German is longer: fewer procedures, and the step that is taller than a page.
#[test]
fn german_pages_keep_together_what_belongs_together() {
    let words = Words::load(Some("de"), None, &Files::default()).expect("the German set");
    let mut cases: Vec<(String, Generated)> = vec![("a tall step".to_owned(), oversize(110))];
    cases.extend((0..how_many(18)).map(|n| {
        let mut dice = Dice::new(n as u64 + 5_001);
        let steps = 5 + dice.upto(40);
        (format!("procedure {n}"), Generated::new(&mut dice, steps))
    }));
    let faults: Vec<String> = cases
        .into_par_iter()
        .enumerate()
        .flat_map_iter(|(n, (name, generated))| {
            let (paper, preset) = (PAPERS[n % 2], PRESETS[n / 2 % 3].name);
            let found = match print_in(&generated.text, paper, preset, Some("de")) {
                Ok(pdf) => Book::new(paper::read(&pdf), &words).faults(&generated),
                Err(what) => vec![what],
            };
            found.into_iter().map(move |f| format!("{name} ({paper}, {preset}): {f}"))
        })
        .collect();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults[..faults.len().min(30)].join("\n"));
}

/// For those who do not read it from the page, the step is one: each line once, in one entry of the list.
#[test]
fn a_step_that_goes_over_is_one_in_the_structure() {
    let generated = oversize(110);
    let pdf = try_print(&generated.text, "A4", "reader").expect("prints");
    let text = paper::structure(&pdf);
    let entries: Vec<&str> = text.split("\n        LI").collect();
    let own: Vec<&&str> = entries.iter().filter(|e| e.contains(generated.steps[1].words[0].as_str())).collect();
    assert_eq!(own.len(), 1, "in one entry");
    for word in &generated.steps[1].words {
        assert_eq!(text.matches(word.as_str()).count(), 1, "{word}");
        assert!(own[0].contains(word.as_str()), "{word}");
    }
    assert!(!text.contains("(continued)") && !text.contains("continued on next page"), "what is repeated is read once");
}

#[test]
fn a_line_taller_than_a_page_is_refused() {
    let mut generated = oversize(60);
    let words = vec!["steady"; 2_000].join(" ");
    generated.text.push_str(&format!("\n4. `elbow extend to +90 deg`\n   - Watch: {words}\n"));
    let refusal = try_print(&generated.text, "A4", "reader").expect_err("does not fit");
    assert!(refusal.contains("step 4: limit reached: one line of it") && refusal.contains("shorten that line"), "{refusal}");
}

/// Page 1 names every point that a post clears: hundreds of them go over more than one page.
#[test]
fn a_post_with_hundreds_of_points_is_printed() {
    let mut text = Generated::empty().text;
    for n in 1..=600 {
        text.push_str(&format!("{n}. `hold point: Shift lead`\n"));
    }
    let pdf = try_print(&text, "A4", "reader").unwrap_or_else(|e| panic!("{e}"));
    let pages = paper::read(&pdf);
    let naming: Vec<usize> = (0..pages.len()).filter(|n| pages[*n].words.iter().any(|w| w.text == "(step")).collect();
    assert!(naming.len() >= 2 && naming.windows(2).all(|w| w[0] + 1 == w[1]), "{naming:?}");
    let named = pages.iter().flat_map(|p| p.phrase("(step")).count();
    assert!(named >= 590, "{named} of 600 stand on one line with their step");
}

/// The review edition of a procedure of one step with this front matter beside what it must have.
fn reviewed(keys: &str, tables: &str) -> Vec<paper::Page> {
    let front = "+++\nid = \"T-1\"\ntitle = \"Look\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\npolicy = \"policy.toml\"\n";
    let start = "[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n";
    let text = format!("{front}{keys}{start}{tables}+++\n\n# Work\n\n1. `read joints`\n");
    let world = MemoryWorld::default().with("/p/l.md", text).with("/p/arm.toml", EXAMPLE_ARM).with("/p/policy.toml", EXAMPLE_POLICY);
    let session = Session::new(&world);
    let compiled = session.compile("/p/l.md".as_ref()).expect("read");
    let wish = Wish { draft: true, edition: Edition::Review, ..Wish::default() };
    let Prints::Made(files) = session.print(&compiled, &["pdf"], &wish).expect("printed") else { panic!("{:?}", compiled.findings) };
    paper::read(&files[0].bytes)
}

/// A table of few rows that no page takes whole goes on overleaf.
#[test]
fn a_short_table_of_long_rows_is_printed() {
    let limit = |n: usize| {
        let words = "The scale is empty while the lid is carried over it, and nobody stands in the way. ".repeat(5);
        format!("[[limit]]\nlimit = \"Limit {n}. {words}\"\nconsequence = \"{words}\"\ncorrection = \"{words}\"\nsource = \"{words}\"\n")
    };
    let book = reviewed("", &(1..=5).map(limit).collect::<String>());
    let at = |n: usize| book.iter().position(|page| !page.phrase(&format!("Limit {n}.")).is_empty());
    assert!(at(1).is_some() && at(1) < at(5), "from page {:?} to {:?}", at(1), at(5));
}

/// The words between a heading and its table go where the table goes.
#[test]
fn what_is_to_be_known_of_a_table_stands_above_it() {
    let trial = "[[validation]]\nhow = \"mock-up\"\ndate = \"2026-11-18\"\npost = \"Operator\"\nresult = \"As written.\"\n";
    let pages: Vec<(usize, bool)> = (1..28)
        .into_par_iter()
        .map(|n| {
            let listed = vec!["\"The bench is wiped.\""; n].join(", ");
            let book = reviewed(&format!("prerequisites = [{listed}]\n"), trial);
            let at = book.iter().position(|page| !page.phrase("A desk check").is_empty()).expect("the validation");
            (at, !book[at].phrase("As written.").is_empty())
        })
        .collect();
    assert!(pages.iter().any(|p| p.0 != pages[0].0), "the table comes to the foot of a page: {pages:?}");
    assert!(pages.iter().all(|p| p.1), "{pages:?}");
}

/// What ships with the program prints for every reader, in every size and language.
#[test]
fn every_example_prints_in_every_edition_size_and_language() {
    let world = DiskWorld;
    let refusals: Vec<String> = DEMOS
        .par_iter()
        .flat_map_iter(|demo| {
            let session = Session::new(&world);
            let compiled = session.compile(&folder().join(demo)).expect("compiles");
            let mut out = Vec::new();
            for edition in [Edition::Operator, Edition::Review, Edition::Training] {
                for preset in &PRESETS {
                    for language in ["en", "de"] {
                        let wish = Wish {
                            edition,
                            figures: edition.figures(),
                            preset: Some(preset.name),
                            language: Some(language),
                            ..Wish::default()
                        };
                        if let Err(e) = session.print(&compiled, &["pdf"], &wish) {
                            out.push(format!("{demo}, {edition:?}, {}, {language}: {e}", preset.name));
                        }
                    }
                }
            }
            out
        })
        .collect();
    assert!(refusals.is_empty(), "{refusals:#?}");
}
