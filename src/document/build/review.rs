//! The reviewer's sheet.

use super::Basis;
use crate::document::{Asked, Prose, Review, wording};
use crate::proof::QUESTIONS;

impl Basis<'_> {
    /// The questions with room for their answers; none in an edition that is not for reviewers.
    pub(super) fn review(&self) -> Option<Review> {
        let asked = |(n, q): (usize, &crate::diag::Question)| Asked {
            words: Prose::plain(format!("review.question{n}"), q.words),
            why: Prose::plain(format!("review.why{n}"), q.why),
        };
        self.sources.edition.is_reviewed().then(|| Review {
            item: "review",
            questions: (1..).zip(QUESTIONS).map(asked).collect(),
            signatures: (1..).zip(wording::REVIEWED).map(|(n, words)| Prose::plain(format!("review.meaning{n}"), words)).collect(),
        })
    }
}
