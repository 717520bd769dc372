//! What is printed from the code is current, and what the README tells a reader to run does run.

use std::path::{Path, PathBuf};
use std::process::Command;
use surehand::{cli, compiled, model, syntax, template};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Holds a page of the repository against what the code prints, or rewrites it when told to.
fn current(path: &str, page: &str) {
    let file = root().join(path);
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(&file, page).unwrap_or_else(|e| panic!("{path}: {e}"));
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(kept == page, "{path} is not what the code prints: run the tests with UPDATE_MANUAL=1");
}

#[test]
fn the_grammar_is_current() {
    current("grammar/notation.abnf", &syntax::grammar::abnf());
}

#[test]
fn the_page_on_writing_a_procedure_is_current() {
    current("grammar/notation.md", &syntax::grammar::manual::page());
}

#[test]
fn the_reference_of_the_model_files_is_current() {
    current("grammar/models.md", &model::reference::page());
}

#[test]
fn the_reference_of_the_templates_is_current() {
    current("grammar/templates.md", &template::manual::page());
}

#[test]
fn the_reference_of_the_rules_is_current() {
    current("grammar/rules.md", &cli::explain::reference());
}

#[test]
fn the_schema_of_the_compiled_procedure_is_current() {
    let schema = serde_json::to_string_pretty(&compiled::schema()).expect("it is JSON");
    current("grammar/compiled.schema.json", &(schema + "\n"));
}

#[test]
fn the_schema_of_whereabouts_is_current() {
    let schema = serde_json::to_string_pretty(&compiled::whereabouts::schema()).expect("it is JSON");
    current("grammar/where.schema.json", &(schema + "\n"));
}

#[test]
fn the_schema_of_sensitivity_is_current() {
    let schema = serde_json::to_string_pretty(&compiled::sensitivity::schema()).expect("it is JSON");
    current("grammar/sensitivity.schema.json", &(schema + "\n"));
}

/// The blocks of the README marked `sh`, line by line, run in one folder after another as they stand, with the program
/// built for this test in place of the release build.
#[test]
fn the_commands_of_the_readme_run() {
    let readme = std::fs::read_to_string(root().join("README.md")).expect("the README");
    let folder = tempfile::tempdir().expect("a folder");
    let at: PathBuf = folder.path().to_path_buf();
    for name in ["procedures", "templates"] {
        copy(&root().join(name), &at.join(name));
    }
    let (mut ran, mut block) = (Vec::new(), false);
    for line in readme.lines() {
        match line {
            "```sh" => block = true,
            "```" => block = false,
            // The gate runs this test; it cannot run itself.
            _ if block && !line.starts_with('#') && !line.contains("tests/run") => {
                let (command, expected) = match line.split_once("   # exit ") {
                    Some((command, code)) => (command, code.trim().parse().expect("an exit code")),
                    None => (line, 0),
                };
                let command = command.replacen("cargo run --release --", "surehand", 1);
                let path = Path::new(env!("CARGO_BIN_EXE_surehand")).parent().expect("a folder");
                let search = format!("{}:{}", path.display(), std::env::var("PATH").unwrap_or_default());
                let run = Command::new("sh").args(["-ec", &command]).current_dir(&at).env("PATH", search).output().expect("a shell");
                let said = String::from_utf8_lossy(&run.stderr);
                assert_eq!(run.status.code(), Some(expected), "{line}\n{said}");
                ran.push(line);
            }
            _ => {}
        }
    }
    assert!(ran.len() >= 8, "the README lost its commands: {ran:?}");
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for entry in std::fs::read_dir(from).expect("a folder").map(|e| e.expect("an entry")) {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).expect("copies");
        }
    }
}
