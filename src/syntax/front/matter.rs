//! What the front matter says for planning and review: prerequisites, permits, posts, references, limits, criteria, trials.

use super::read::prose;
use crate::syntax::record::Record;
use crate::text::{Span, Spanned};
use crate::units::{Dimension, Round, Time};

/// A limit of the work, with what comes of exceeding it.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// What is limited, and to what.
    pub limit: Spanned<String>,
    /// What comes of exceeding it.
    pub consequence: Spanned<String>,
    /// What is done then.
    pub correction: Spanned<String>,
    /// What sets it.
    pub source: Option<Spanned<String>>,
}

/// A permit that must be there.
#[derive(Clone, Debug, PartialEq)]
pub struct Permit {
    /// For what.
    pub name: Spanned<String>,
    /// Who gives it.
    pub by: Spanned<String>,
}

/// What whoever holds a post must be qualified for.
#[derive(Clone, Debug, PartialEq)]
pub struct Qualification {
    /// The post.
    pub post: Spanned<String>,
    /// What they must have.
    pub needs: Spanned<String>,
}

/// A document that is referred to.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// Its number.
    pub number: Spanned<String>,
    /// Its title.
    pub title: Spanned<String>,
    /// The revision that was meant.
    pub revision: Spanned<String>,
}

/// What makes the result acceptable.
#[derive(Clone, Debug, PartialEq)]
pub struct Criterion {
    /// What must have been reached.
    pub text: Spanned<String>,
    /// The requirement that asks for it.
    pub source: Spanned<String>,
}

/// How a procedure was tried out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trial {
    /// At a mock-up.
    MockUp,
    /// In the cell, without what is to be handled.
    DryRun,
    /// Step by step at the console, without moving.
    WalkThrough,
}

impl Trial {
    /// Every kind, with its word.
    const ALL: [(&'static str, Trial); 3] = [("mock-up", Trial::MockUp), ("dry-run", Trial::DryRun), ("walk-through", Trial::WalkThrough)];
    /// As written.
    pub fn word(self) -> &'static str {
        Trial::ALL.iter().find(|(_, trial)| *trial == self).map_or("", |(word, _)| word)
    }
}

/// A record of a trial.
#[derive(Clone, Debug, PartialEq)]
pub struct Validation {
    /// The table.
    pub span: Span,
    /// How.
    pub how: Spanned<Trial>,
    /// When, `YYYY-MM-DD`.
    pub date: Spanned<String>,
    /// The post that answers for it.
    pub post: Spanned<String>,
    /// How long it took.
    pub elapsed: Option<Spanned<Time>>,
    /// What came of it.
    pub result: Spanned<String>,
}

pub(super) fn limit(r: &Record<'_>) -> Option<Limit> {
    let limit = prose(r, r.key("limit").needed());
    let (consequence, correction) = (prose(r, r.key("consequence").needed()), prose(r, r.key("correction").needed()));
    let source = prose(r, r.key("source"));
    Some(Limit { limit: limit?, consequence: consequence?, correction: correction?, source })
}

pub(super) fn permit(r: &Record<'_>) -> Option<Permit> {
    let (name, by) = (prose(r, r.key("name").needed()), prose(r, r.key("by").needed()));
    Some(Permit { name: name?, by: by? })
}

pub(super) fn qualification(r: &Record<'_>) -> Option<Qualification> {
    let (post, needs) = (r.key("post").needed().name(), prose(r, r.key("needs").needed()));
    Some(Qualification { post: post?, needs: needs? })
}

pub(super) fn reference(r: &Record<'_>) -> Option<Reference> {
    let (number, title) = (prose(r, r.key("number").needed()), prose(r, r.key("title").needed()));
    let revision = prose(r, r.key("revision").needed());
    Some(Reference { number: number?, title: title?, revision: revision? })
}

pub(super) fn criterion(r: &Record<'_>) -> Option<Criterion> {
    let (text, source) = (prose(r, r.key("text").needed()), prose(r, r.key("source").needed()));
    Some(Criterion { text: text?, source: source? })
}

pub(super) fn validation(r: &Record<'_>) -> Option<Validation> {
    let how = r.key("how").needed().choice(&Trial::ALL);
    let (date, post) = (r.key("date").needed().date(), r.key("post").needed().name());
    let elapsed = r.key("elapsed").quantity(Dimension::Time);
    let elapsed = elapsed.and_then(|q| Some(Spanned::new(Time::from_quantity(&q.value, Round::Up)?, q.span)));
    let result = prose(r, r.key("result").needed());
    Some(Validation { span: r.span(), how: how?, date: date?, post: post?, elapsed, result: result? })
}

/// A list of sentences.
pub(super) fn sentences(r: &Record<'_>, key: &'static str) -> Vec<Spanned<String>> {
    r.key(key).array().into_iter().filter_map(|field| prose(r, field)).collect()
}
