//! Markdown, front matter and statements, read into a tree.
//!
//! The way of a text: `scan` (limits and forbidden characters) → `front` (TOML) → Markdown events in `reader`
//! → `blocks` and `steps` → `statement`, which walks the productions of `grammar`.
//!
//! Invariant: parsing never fails and knows no arm. It returns a tree and problems, and recovers at the
//! next step, so that one mistake gives one finding.

pub mod blocks;
pub mod characters;
mod format;
pub mod front;
pub mod grammar;
mod reader;
pub mod record;
pub mod scan;
pub mod statement;
pub mod steps;
pub mod tree;

pub use format::format;
pub use scan::limits;

use crate::diag::{self, Evidence, Family, Rule, Severity};
use crate::text::FileId;
use tree::Parsed;

/// Every rule of this floor.
pub static RULES: &[&Rule] = &diag::gather::<{ diag::count(FAMILIES) }>(FAMILIES);

const FAMILIES: &[&[&Rule]] = &[scan::RULES, characters::RULES, front::RULES, record::RULES, blocks::RULES, steps::RULES, statement::RULES];

/// Reads a procedure. What is wrong stands in [`Parsed::problems`], in the order of the text; where a limit was
/// passed ([`scan::OVER_LIMIT`]) nothing else was read.
pub fn parse(file: FileId, text: &str) -> Parsed {
    let mut parsed = Parsed { file, front: None, preamble: Vec::new(), sections: Vec::new(), problems: Vec::new() };
    let scan = scan::scan(file, text);
    parsed.problems = scan.problems;
    if let Some(limit) = scan.limit {
        parsed.problems = vec![limit];
        return parsed;
    }
    let split = front::split(file, text);
    parsed.problems.extend(split.problem);
    if let Some(toml) = split.toml {
        let (front, problems) = front::read(file, text, toml);
        parsed.front = Some(front);
        parsed.problems.extend(problems);
    }
    let Some(body_start) = split.body else { return parsed };
    let mut reader = reader::Reader::new(file, text, body_start, std::mem::take(&mut parsed.problems));
    let body = blocks::body(&mut reader);
    (parsed.preamble, parsed.sections, parsed.problems) = (body.preamble, body.sections, reader.problems);
    parsed.problems.sort_by_key(|p| (p.span.start, p.span.end));
    parsed
}

/// The common part of a rule of this floor: an error that follows from the notation's own definition.
const fn error(id: &'static str, family: Family, summary: &'static str, why: &'static str) -> Rule {
    Rule { id, family, severity: Severity::Error, physical: false, summary, why, evidence: Evidence::Definition, bad: &[], good: &[] }
}
