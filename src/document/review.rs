//! What a reviewer fills in and signs: the questions that no rule can decide.

use super::Prose;
use serde::Serialize;

/// The sheet of a review. Answers and signatures are written by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Review {
    /// Always `review`.
    pub item: &'static str,
    /// What is asked, each with room for Yes, No and a comment.
    pub questions: Vec<Asked>,
    /// Those who sign, each with what the signature says.
    pub signatures: Vec<Prose>,
}

/// A question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Asked {
    /// As it is put, with its question mark.
    pub words: Prose,
    /// Why no rule answers it.
    pub why: Prose,
}
