//! Markdown, front matter and statements, read into a tree.
//!
//! Invariant: parsing never fails and knows no arm. It returns a tree and problems, and recovers at the
//! next step, so that one mistake gives one finding.

pub mod front;
pub mod tree;
