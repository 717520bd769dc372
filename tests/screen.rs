//! Screen pages in a real Chromium: axe-core's rules of WCAG 2 A and AA over every worked procedure and the card, and marks that
//! are kept, asked for, stopped by hold points and never shown on another revision.
//!
//! The script beside this file drives the browser; its packages come with `tests/run`.

#![allow(clippy::print_stdout, reason = "the counts are the result")]

mod library;

use library::{DEMOS, folder, text};
use std::path::Path;
use std::process::Command;
use surehand::session::{DiskWorld, MemoryWorld, Prints, Session, Wish, World};

/// The procedure on which marks are tried: it has branches, a repeat, hold points and contingencies.
const MARKED: &str = "cartridge-change.md";

fn page(world: &dyn World, demo: &str, language: Option<&str>) -> Vec<u8> {
    let session = Session::new(world);
    let compiled = session.compile(&folder().join(demo)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    match session.print(&compiled, &["html"], &Wish { language, ..Wish::default() }) {
        Ok(Prints::Made(mut outputs)) => outputs.remove(0).bytes,
        other => panic!("{demo}: {other:?}"),
    }
}

#[test]
fn pages_are_open_to_everyone_and_marks_do_what_they_say() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = root.join("target/outside/bin/python");
    assert!(python.exists(), "the outside checks need their packages: run tests/run once");
    let place = tempfile::tempdir().expect("a folder");
    let put = |name: &str, bytes: &[u8]| std::fs::write(place.path().join(name), bytes).expect("written");
    for demo in DEMOS {
        let name = if demo == MARKED { "marked.html".to_owned() } else { demo.replace(".md", ".html") };
        put(&name, &page(&DiskWorld, demo, None));
    }
    put("german.html", &page(&DiskWorld, "stow-heron.md", Some("de")));
    let policy = text("policy.toml") + "\n# another byte\n";
    put("revised.html", &page(&MemoryWorld::over(DiskWorld).with(folder().join("policy.toml"), policy.as_bytes()), MARKED, None));
    let card = Command::new(env!("CARGO_BIN_EXE_surehand"))
        .args(["card", "arms/heron.toml", "--format", "html", "-o"])
        .arg(place.path().join("card.html"))
        .current_dir(folder())
        .status();
    assert!(card.expect("runs").success());
    let run = Command::new(python).arg(root.join("tests/outside/screen.py")).arg(place.path()).output().expect("it starts");
    let said = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    println!("{}", said(&run.stdout));
    assert!(run.status.success(), "{}{}", said(&run.stdout), said(&run.stderr));
    let pages = said(&run.stdout).lines().filter(|l| l.contains(": no violation, ")).count();
    assert_eq!(pages, DEMOS.len() + 3, "every page was looked at");
    assert!(said(&run.stdout).contains("german.html: its bar speaks German"), "{}", said(&run.stdout));
}
