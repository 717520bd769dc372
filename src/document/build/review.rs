//! The reviewer's sheet.

use super::Basis;
use crate::document::{Asked, Prose, Review};
use crate::proof::QUESTIONS;
use crate::words::ids;

impl Basis<'_> {
    /// The questions with room for their answers; none in an edition that is not for reviewers.
    pub(super) fn review(&self) -> Option<Review> {
        let words = self.words();
        let said = |id: &str, more: &str, own: &str| self.by_id(&format!("question.{id}{more}"), &[]).unwrap_or_else(|| own.to_owned());
        let signed = [words.say(ids::SIGN_REVIEWED), words.say(ids::SIGN_READ)];
        let asked = |(n, q): (usize, &crate::diag::Question)| Asked {
            words: Prose::plain(format!("review.question{n}"), said(q.id, "", q.words)),
            why: Prose::plain(format!("review.why{n}"), said(q.id, "-why", q.why)),
        };
        self.sources.edition.is_reviewed().then(|| Review {
            item: "review",
            questions: (1..).zip(QUESTIONS).map(asked).collect(),
            signatures: (1..).zip(signed).map(|(n, words)| Prose::plain(format!("review.meaning{n}"), words)).collect(),
        })
    }
}
