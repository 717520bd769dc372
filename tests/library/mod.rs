//! The worked library as test input: read from disk, changed in memory, compiled like any project.

#![allow(dead_code, reason = "each test uses a part of it")]

pub mod source;

use source::Words;
use std::path::{Path, PathBuf};
use surehand::diag::Severity;
use surehand::model::arm::{self, Arm};
use surehand::session::{DiskWorld, MemoryWorld, Session};
use surehand::text::FileId;

/// The procedures of the library, as paths beneath its folder.
pub const DEMOS: [&str; 5] = ["cartridge-change.md", "lid-lift.md", "stow-heron.md", "swab-survey.md", "tool-exchange.md"];

/// The folder of the library.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures")
}

/// A file of the library.
pub fn text(path: &str) -> String {
    std::fs::read_to_string(folder().join(path)).unwrap_or_else(|e| panic!("procedures/{path}: {e}"))
}

/// The arm that a procedure names.
pub fn profile(procedure: &str) -> Arm {
    let path = procedure.lines().find_map(|l| l.strip_prefix("arm = \"")).and_then(|l| l.strip_suffix('"')).expect("the arm");
    let profile = std::fs::read_to_string(folder().join(path)).expect("the profile");
    arm::load(FileId(0), &profile).0.expect("loads")
}

/// The direction words of an arm, by joint.
pub fn words(arm: &Arm) -> Words {
    let word = |d: &arm::Direction| d.word.value.clone();
    arm.joints.iter().map(|j| (j.name.value.clone(), (word(&j.positive), word(&j.negative)))).collect()
}

/// A finding, as a person sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    pub rule: &'static str,
    pub severity: Severity,
    /// Beneath the library's folder.
    pub file: String,
    /// 1 for the first line.
    pub line: usize,
    pub message: String,
    pub help: Vec<String>,
}

impl Found {
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// What `surehand check procedures/PATH` finds, but for warnings that a disposition accepts, after `changes`: files of the library by path, with what they hold instead.
pub fn check(path: &str, changes: &[(&str, &str)]) -> Vec<Found> {
    let world = changes.iter().fold(MemoryWorld::over(DiskWorld), |w, (file, text)| w.with(folder().join(file), text.as_bytes()));
    let session = Session::new(&world);
    let compiled = session.compile(&folder().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"));
    let found = |d: &surehand::diag::Diagnostic| {
        let file = session.files().get(d.span.file);
        Found {
            rule: d.rule.id,
            severity: d.severity,
            line: file.position(d.span.start).line,
            file: file.name.rsplit_once("procedures/").map_or(file.name.as_str(), |(_, beneath)| beneath).to_string(),
            message: d.message.clone(),
            help: d.help.clone(),
        }
    };
    let accepted: Vec<_> = compiled
        .examined
        .iter()
        .flat_map(|e| e.accepted.dispositions.iter().flat_map(|(_, of)| of).map(|i| &e.findings[*i]))
        .map(|d| (d.rule.id, d.span))
        .collect();
    compiled.findings.iter().filter(|d| !accepted.contains(&(d.rule.id, d.span))).map(found).collect()
}

/// The number of the one line that begins with `what`, else of the one line that holds it.
pub fn line_of(text: &str, what: &str) -> usize {
    let begins = text.lines().any(|l| l.starts_with(what));
    let mut lines = text.lines().enumerate().filter(|(_, l)| if begins { l.starts_with(what) } else { l.contains(what) });
    let first = lines.next().unwrap_or_else(|| panic!("`{what}` stands nowhere"));
    assert!(lines.next().is_none(), "`{what}` stands on several lines");
    first.0 + 1
}

/// `text` with `old`, which must occur exactly once, replaced by `new`.
pub fn replace(text: &str, old: &str, new: &str) -> String {
    assert_eq!(text.matches(old).count(), 1, "`{old}` must occur exactly once");
    assert_ne!(old, new, "a change that changes nothing");
    text.replacen(old, new, 1)
}
