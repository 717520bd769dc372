//! The front matter of a procedure: typed, each value with its place.

mod matter;
mod read;

pub use matter::{Criterion, Limit, Permit, Qualification, Reference, Trial, Validation};
pub use read::*;

use crate::text::{Span, Spanned};

/// The block between `+++` lines. Missing mandatory keys are reported and stand as `None`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FrontMatter {
    /// The whole block, for messages about what is missing.
    pub span: Option<Span>,
    /// `id`: the document number.
    pub id: Option<Spanned<String>>,
    /// `title`, at most 120 characters.
    pub title: Option<Spanned<String>>,
    /// `revision`.
    pub revision: Option<Spanned<String>>,
    /// `date`, `YYYY-MM-DD`: every date of the print comes from here.
    pub date: Option<Spanned<String>>,
    /// `use`: `continuous`, `reference` or `information`.
    pub use_level: Option<Spanned<UseLevel>>,
    /// `purpose`: one or two sentences for the first page.
    pub purpose: Option<Spanned<String>>,
    /// `performer`: the role that does the steps.
    pub performer: Option<Spanned<String>>,
    /// `arm`: path of the arm profile, relative to the procedure.
    pub arm: Option<Spanned<String>>,
    /// `cell`: path of the cell.
    pub cell: Option<Spanned<String>>,
    /// `policy`: path of the policy.
    pub policy: Option<Spanned<String>>,
    /// `[start]`.
    pub start: Option<StateDeclaration>,
    /// `[end]`.
    pub end: Option<StateDeclaration>,
    /// `[[waiver]]`.
    pub waivers: Vec<Waiver>,
    /// `[[disposition]]`.
    pub dispositions: Vec<Disposition>,
    /// `prerequisites`: what must be so before the work.
    pub prerequisites: Vec<Spanned<String>>,
    /// `[[permit]]`.
    pub permits: Vec<Permit>,
    /// `[[qualification]]`.
    pub qualifications: Vec<Qualification>,
    /// `[[reference]]`.
    pub references: Vec<Reference>,
    /// `[[limit]]`.
    pub limits: Vec<Limit>,
    /// `[[criterion]]`.
    pub criteria: Vec<Criterion>,
    /// `[[validation]]`.
    pub validations: Vec<Validation>,
    /// `[[change]]`: the revision record, newest last.
    pub changes: Vec<Change>,
}

/// Level of use (practice of written procedures): how the page is held while working.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UseLevel {
    /// In hand, every step marked.
    Continuous,
    /// At hand, looked at before each section.
    Reference,
    /// For information.
    Information,
}

/// `[start]` or `[end]`: what is so before or after the procedure.
#[derive(Clone, Debug, PartialEq)]
pub struct StateDeclaration {
    /// The table.
    pub span: Span,
    /// `pose`.
    pub pose: Option<Spanned<String>>,
    /// `jaw`: a length, kept as written.
    pub jaw: Option<Spanned<crate::units::Quantity>>,
    /// `power`: on or off.
    pub power: Option<Spanned<bool>>,
    /// `tool`: what is fitted; none if absent.
    pub tool: Option<Spanned<String>>,
    /// `view`: what the operator looks through at the start.
    pub view: Option<Spanned<String>>,
    /// `loads`: load to station, or `"held"`.
    pub loads: Vec<(Spanned<String>, Spanned<String>)>,
    /// `equipment`: equipment to state, where it differs from the cell's.
    pub equipment: Vec<(Spanned<String>, Spanned<String>)>,
}

/// A finding that a responsible person accepts for a reason and a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiver {
    /// The table.
    pub span: Span,
    /// Rule id.
    pub rule: Spanned<String>,
    /// Anchor of the step, or none for the whole procedure.
    pub step: Option<Spanned<String>>,
    /// Why.
    pub reason: Spanned<String>,
    /// The post that accepts it.
    pub post: Spanned<String>,
    /// `YYYY-MM-DD`.
    pub expires: Spanned<String>,
}

/// A warning that a responsible person has looked at and accepts. It lifts nothing: the warning stands, with who accepted it.
#[derive(Clone, Debug, PartialEq)]
pub struct Disposition {
    /// The table.
    pub span: Span,
    /// Rule id.
    pub rule: Spanned<String>,
    /// Anchor of the step, or none for every place of the procedure.
    pub step: Option<Spanned<String>>,
    /// Why.
    pub reason: Spanned<String>,
    /// The post that accepts it.
    pub post: Spanned<String>,
    /// The day it was accepted, `YYYY-MM-DD`.
    pub date: Spanned<String>,
}

/// One entry of the revision record.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Revision.
    pub revision: Spanned<String>,
    /// Date.
    pub date: Spanned<String>,
    /// What changed and why.
    pub text: Spanned<String>,
}

/// The standard front matter that examples stand under.
pub const EXAMPLE: &str = "+++
id = \"T-1\"
title = \"Move a test piece\"
revision = \"A\"
date = \"2026-11-20\"
use = \"continuous\"
performer = \"Operator\"
arm = \"arm.toml\"
cell = \"cell.toml\"
policy = \"policy.toml\"
[start]
pose = \"home\"
jaw = \"50 mm\"
power = \"off\"
+++
";
