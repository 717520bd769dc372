//! Markdown, front matter and statements, read into a tree.
//!
//! Invariant: parsing never fails and knows no arm. It returns a tree and problems, and recovers at the
//! next step, so that one mistake gives one finding.

pub mod characters;
pub mod front;
pub mod record;
pub mod tree;

use crate::diag::{Evidence, Family, Rule, Severity};

/// The common part of a rule of this floor: an error that follows from the notation's own definition.
const fn error(id: &'static str, family: Family, summary: &'static str, why: &'static str) -> Rule {
    Rule { id, family, severity: Severity::Error, physical: false, summary, why, evidence: Evidence::Definition, bad: &[], good: &[] }
}
