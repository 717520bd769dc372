//! Findings as data for other programs: one JSON object with a schema name, stable from release to release.
//!
//! Invariant: a fingerprint does not change when lines above the finding are added or removed, when the message
//! is worded differently, or when the tool is started from another folder.

use super::{Acceptance, Diagnostic, Family, Severity};
use crate::text::{File, Files, Span};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// Name and version of the format.
pub const SCHEMA: &str = "surehand-findings/1";

/// Everything one run found.
#[derive(Debug, Serialize)]
pub struct Report {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// In the order they were given.
    pub findings: Vec<Finding>,
    /// Counts.
    pub summary: Summary,
    /// What could not be checked at all, and why: a report with one of these is not a clean one.
    pub failures: Vec<String>,
}

/// How many findings of which weight in how many procedures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Summary {
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Those of them that no post has accepted.
    pub undispositioned: usize,
    /// Advice.
    pub advice: usize,
    /// Procedures checked.
    pub files: usize,
}

impl Summary {
    /// Counts findings over `files` procedures.
    pub fn of<'a>(findings: impl IntoIterator<Item = &'a Diagnostic>, files: usize) -> Summary {
        let mut out = Summary { files, ..Summary::default() };
        for finding in findings {
            match finding.severity {
                Severity::Error => out.errors += 1,
                Severity::Warning => {
                    out.warnings += 1;
                    out.undispositioned += usize::from(finding.accepted.is_none());
                }
                Severity::Advice => out.advice += 1,
            }
        }
        out
    }
    /// Findings at or above a weight.
    pub fn at_least(&self, severity: Severity) -> usize {
        match severity {
            Severity::Error => self.errors,
            Severity::Warning => self.errors + self.warnings,
            Severity::Advice => self.errors + self.warnings + self.advice,
        }
    }
}

/// One finding. Lines and columns count from 1, columns in characters; `start` and `end` are bytes from 0.
#[derive(Debug, Serialize)]
pub struct Finding {
    /// Permanent name of the rule.
    pub rule: &'static str,
    /// Chapter of the rule.
    pub family: Family,
    /// Weight after the policy.
    pub severity: Severity,
    /// What was asked, what is possible.
    pub message: String,
    /// Where.
    #[serde(flatten)]
    pub place: Place,
    /// Printed number of the step.
    pub step: Option<String>,
    /// Path of branches.
    pub path: Option<String>,
    /// The numbers of the message, with their units.
    pub numbers: BTreeMap<&'static str, String>,
    /// Other places.
    pub labels: Vec<Label>,
    /// What to do.
    pub help: Vec<String>,
    /// How a post has taken it on: `waived` or `dispositioned`; the label at the front matter says who and why.
    pub accepted: Option<Acceptance>,
    /// A certain replacement.
    pub fix: Option<Fix>,
    /// 16 hexadecimal digits that stay with the finding from run to run.
    pub fingerprint: String,
}

/// A range of a file.
#[derive(Debug, Serialize)]
#[allow(missing_docs, reason = "the names say it; units stand at `Finding`")]
pub struct Place {
    pub file: String,
    pub line: usize,
    pub column: usize,
    pub end_line: usize,
    pub end_column: usize,
}

impl Place {
    /// The place of a span of `file`.
    pub fn of(file: &File, span: Span) -> Place {
        let (from, to) = (file.position(span.start), file.position(span.end));
        Place { file: file.name.clone(), line: from.line, column: from.column, end_line: to.line, end_column: to.column }
    }
}

/// Another place and what is to be seen there.
#[derive(Debug, Serialize)]
pub struct Label {
    /// What is to be seen.
    pub text: String,
    /// Where.
    #[serde(flatten)]
    pub place: Place,
}

/// A replacement of bytes `start..end` of `file`.
#[derive(Debug, Serialize)]
pub struct Fix {
    /// What it does.
    pub title: String,
    /// What to put there.
    pub text: String,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
    /// Where, as people count.
    #[serde(flatten)]
    pub place: Place,
}

/// The findings of one run over `checked` procedures as data.
pub fn report<'a>(findings: impl IntoIterator<Item = &'a Diagnostic> + Clone, files: &Files, checked: usize) -> Report {
    let summary = Summary::of(findings.clone(), checked);
    let mut seen = BTreeMap::new();
    let findings = findings.into_iter().map(|d| Finding::of(d, files, &mut seen)).collect();
    Report { schema: SCHEMA, findings, summary, failures: Vec::new() }
}

impl Finding {
    fn of(d: &Diagnostic, files: &Files, seen: &mut BTreeMap<[u8; 32], u32>) -> Finding {
        let place = |span: Span| Place::of(&files.get(span.file), span);
        Finding {
            rule: d.rule.id,
            family: d.rule.family,
            severity: d.severity,
            message: d.message.clone(),
            place: place(d.span),
            step: d.step.clone(),
            path: d.path.clone(),
            numbers: d.numbers.iter().cloned().collect(),
            labels: d.labels.iter().map(|l| Label { text: l.text.clone(), place: place(l.span) }).collect(),
            help: d.help.clone(),
            accepted: d.accepted,
            fix: d.fix.as_ref().map(|f| Fix {
                title: f.title.clone(),
                text: f.text.clone(),
                start: f.span.start,
                end: f.span.end,
                place: place(f.span),
            }),
            fingerprint: fingerprint(d, files, seen),
        }
    }
}

/// Rule, file name without folders, the line's words with spacing evened out, and a count where all three are equal.
fn fingerprint(d: &Diagnostic, files: &Files, seen: &mut BTreeMap<[u8; 32], u32>) -> String {
    let file = files.get(d.span.file);
    let name = file.name.rsplit(['/', '\\']).next().unwrap_or(&file.name);
    let line = &file.text[file.line_range(file.position(d.span.start).line)];
    // The number of an item is counted from the steps above it.
    let item = |w: &str| w.strip_suffix(['.', ')']).is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()));
    let mut words = line.split_whitespace().peekable();
    words.next_if(|w| item(w));
    let words = words.collect::<Vec<_>>().join(" ");
    let base: [u8; 32] = Sha256::digest([d.rule.id, name, &words].join("\0")).into();
    let ordinal = seen.entry(base).or_default();
    let hash = Sha256::new().chain_update(base).chain_update(ordinal.to_be_bytes()).finalize();
    *ordinal += 1;
    hash[..8].iter().map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SAMPLE;

    fn prints(name: &str, text: &str) -> Vec<String> {
        let files = Files::default();
        let id = files.add(File::new(name, text));
        let found: Vec<_> = text.match_indices("+105").map(|(at, w)| SAMPLE.at(Span::new(id, at, at + w.len()), "too far")).collect();
        report(&found, &files, 1).findings.into_iter().map(|f| f.fingerprint).collect()
    }

    #[test]
    fn fingerprints_follow_the_line_and_not_its_number() {
        let one = prints("a/b3.md", "x\n3. `elbow raise to +105 deg`\n`elbow raise to +105 deg`\n");
        let moved = prints("b3.md", "x\ny\n\n  14. `elbow raise  to +105 deg`\n`elbow raise to +105 deg`\n");
        assert_eq!(one, moved);
        assert_ne!(one[0], one[1]);
        assert!(one.iter().all(|p| p.len() == 16));
        assert_ne!(one[0], prints("b4.md", "`elbow raise to +105 deg`\n")[0]);
        assert_ne!(one[0], prints("b3.md", "`shoulder raise to +105 deg`\n")[0]);
    }
}
