//! What the project publishes, held against programs that were not written here: an ABNF reader, a JSON Schema validator,
//! a second PDF reader; and its geometry against reference libraries. They are Python packages that `tests/run` installs
//! under `target/outside`.

#![allow(clippy::print_stdout, reason = "counts are read in the output of the gate")]

#[path = "common/fill.rs"]
mod fill;
#[path = "outside/imported.rs"]
mod imported;
mod library;
#[path = "outside/references.rs"]
mod references;
#[path = "outside/robots.rs"]
mod robots;
#[path = "outside/solids.rs"]
mod solids;

use library::{DEMOS, folder, text};
use std::path::{Path, PathBuf};
use std::process::Command;
use surehand::session::{DiskWorld, Prints, Session, Wish};
use surehand::syntax;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Runs a script of `tests/outside`; gives what it printed, or fails with what it said.
fn script(name: &str, arguments: &[&Path]) -> Result<String, String> {
    let python = root().join("target/outside/bin/python");
    assert!(python.exists(), "the outside checks need their packages: run tests/run once");
    let run = Command::new(python).arg(root().join("tests/outside").join(name)).args(arguments).output().expect("it starts");
    let said = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    if run.status.success() { Ok(said(&run.stdout)) } else { Err(format!("{}{}", said(&run.stdout), said(&run.stderr))) }
}

fn printed(demo: &str, format: &str) -> Vec<u8> {
    let session = Session::new(&DiskWorld);
    let compiled = session.compile(&folder().join(demo)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    match session.print(&compiled, &[format], &Wish::default()) {
        Ok(Prints::Made(mut outputs)) => outputs.remove(0).bytes,
        other => panic!("{demo}: {other:?}"),
    }
}

fn put(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, bytes).expect("can be written");
    path
}

/// The statements of a procedure: the code spans that open its numbered items.
fn statements(procedure: &str) -> impl Iterator<Item = &str> {
    procedure.lines().filter_map(|line| {
        let (numeral, rest) = line.trim_start().split_once(". `")?;
        numeral.bytes().all(|b| b.is_ascii_digit()).then(|| rest.split('`').next())?
    })
}

/// A small generator of its own, so that a run can be repeated.
fn picks(mut seed: u64) -> impl FnMut(usize) -> usize {
    move |n| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(seed >> 33).expect("fits") % n.max(1)
    }
}

/// RFC 5234 and RFC 7405, read by the PyPI package `abnf`: the grammar file is a grammar, and it describes what the
/// parser reads. Words that are no statement are refused by both.
#[test]
fn an_abnf_reader_agrees_with_the_grammar() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut pick = picks(7);
    let mut good: Vec<String> = (0..400).map(|_| syntax::grammar::sentence(&mut pick)).collect();
    for demo in DEMOS {
        good.extend(statements(&text(demo)).map(str::to_string));
    }
    assert!(good.len() > 550, "{}", good.len());
    let bad = [
        "base left to +42",
        "base left +42 deg",
        "base to +42 deg",
        "grip level",
        "close cup",
        "jaw open to 12 mm wide",
        "base left to 00042 deg",
        "base left to 1e3 deg",
        "hold point Shift lead",
        "wait at least 30",
        "repeat at most 0 until",
        "together: base left to +5 deg",
        "let go of cup on rack",
        "base left by 5 deg",
        "base left to +5. deg",
    ];
    for sentence in bad {
        assert!(syntax::statement::parse(surehand::text::FileId(0), 0, sentence).is_err(), "{sentence}");
    }
    let lines = |all: &[String]| all.iter().map(|s| s.split_whitespace().collect::<Vec<_>>().join(" ") + "\n").collect::<String>();
    let good = put(folder.path(), "good.txt", lines(&good).as_bytes());
    let bad = put(folder.path(), "bad.txt", lines(&bad.map(str::to_string)).as_bytes());
    let said = script("grammar.py", &[&root().join("grammar/notation.abnf"), &good, &bad]).unwrap_or_else(|e| panic!("{e}"));
    println!("{said}");
}

/// JSON Schema 2020-12, by the PyPI package `jsonschema`: the compiled procedures meet the schema that is published, and
/// one that lacks or adds a key does not.
#[test]
fn a_schema_validator_accepts_the_compiled_procedures() {
    let folder = tempfile::tempdir().expect("a folder");
    let schema = root().join("grammar/compiled.schema.json");
    for demo in DEMOS {
        let bytes = printed(demo, "json");
        let whole = put(folder.path(), "whole.json", &bytes);
        script("schema.py", &[&schema, &whole]).unwrap_or_else(|e| panic!("{demo}: {e}"));
        let mut less: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
        less["steps"][0].as_object_mut().expect("a step").remove("number").expect("it has a number");
        let less = put(folder.path(), "less.json", less.to_string().as_bytes());
        assert!(script("schema.py", &[&schema, &less]).is_err(), "{demo}: a step without a number meets the schema");
    }
}

/// The PyPI package `pypdf` extracts from each PDF what the plain text says of each step: its number and its call.
#[test]
fn a_second_reader_extracts_every_step() {
    let folder = tempfile::tempdir().expect("a folder");
    for demo in DEMOS {
        let pdf = put(folder.path(), "print.pdf", &printed(demo, "pdf"));
        let json = put(folder.path(), "print.json", &printed(demo, "json"));
        let said = script("extract.py", &[&pdf, &json]).unwrap_or_else(|e| panic!("{demo}: {e}"));
        println!("{demo}: {said}");
    }
}
