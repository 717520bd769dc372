//! Editions of one procedure: for the console, for a reviewer, to learn from. Each says on every page what it is.

mod library;

use library::{folder, text};
use surehand::document::build::{Edition, Figures};
use surehand::session::{DiskWorld, Prints, Session, Wish};
use surehand::words::Words;

const DEMO: &str = "lid-lift.md";

fn printed(edition: Edition, format: &str) -> Vec<u8> {
    let session = Session::new(&DiskWorld);
    let compiled = session.compile(&folder().join(DEMO)).expect("compiles");
    let wish = Wish { edition, figures: Figures::None, ..Wish::default() };
    match session.print(&compiled, &[format], &wish).expect("prints") {
        Prints::Made(files) => files.into_iter().next().expect("a file").bytes,
        other => panic!("{other:#?}"),
    }
}

fn words(edition: Edition) -> String {
    let text = String::from_utf8(printed(edition, "text")).expect("text");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Reasons are for the class room: at the console they are in the way.
#[test]
fn reasons_stand_in_the_training_edition_alone() {
    let source = text(DEMO);
    let reasons: Vec<&str> = source.lines().filter_map(|l| l.trim_start().strip_prefix("- Why: ")).collect();
    assert!(!reasons.is_empty(), "{DEMO} gives reasons");
    let [operator, review, training] = [Edition::Operator, Edition::Review, Edition::Training].map(words);
    for reason in reasons {
        assert!(training.contains(&format!("Why: {reason}")), "{reason}");
        assert!(!operator.contains(reason) && !review.contains(reason), "{reason}");
    }
}

/// Every page of an edition that nobody may work from says so; those for the console say nothing of the kind.
#[test]
fn an_edition_is_named_on_every_page() {
    for (_, edition, _) in Edition::ALL {
        let pdf = printed(edition, "pdf");
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("print.pdf");
        std::fs::write(&path, pdf).expect("written");
        let out = std::process::Command::new("pdftotext").arg(&path).arg("-").output().expect("pdftotext is needed (tests/run)");
        let text = String::from_utf8_lossy(&out.stdout).into_owned();
        let pages: Vec<&str> = text.split('\u{c}').filter(|p| !p.trim().is_empty()).collect();
        assert!(pages.len() > 3);
        for (n, page) in pages.iter().enumerate() {
            match edition.banner() {
                Some(banner) => assert!(page.contains(Words::english().say(banner)), "page {}", n + 1),
                None => assert!(!page.contains("NOT FOR WORK"), "page {}", n + 1),
            }
        }
    }
}

/// A template that leaves the name of the edition out is refused.
#[test]
fn no_template_takes_the_name_of_the_edition_away() {
    let site = tempfile::tempdir().expect("a folder");
    let built_in =
        std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/instruction.html")).expect("there");
    let line = "{%- if stamp.edition %}<p class=\"banner\">{{ stamp.edition|field }}</p>{% endif -%}\n";
    assert_eq!(built_in.matches(line).count(), 1);
    std::fs::write(site.path().join("instruction.html"), built_in.replace(line, "")).expect("written");
    let session = Session::new(&DiskWorld);
    let compiled = session.compile(&folder().join(DEMO)).expect("compiles");
    let wish = Wish { edition: Edition::Training, site: Some(site.path()), ..Wish::default() };
    match session.print(&compiled, &["text"], &wish).expect("judged") {
        Prints::Refused(problems) => assert!(problems.iter().any(|p| p.message.contains("stamp.edition")), "{problems:#?}"),
        other => panic!("{other:#?}"),
    }
}
