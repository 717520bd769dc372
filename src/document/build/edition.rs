//! For whom a print is made.

use super::Figures;
use crate::document::figure::Size;
use crate::words::ids::{self, Entry};

/// What a print holds besides the steps.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Edition {
    /// What is taken to the console.
    #[default]
    Operator,
    /// The same with what a reviewer looks at and signs, behind the steps, and with margins to write in.
    Review,
    /// To learn from: with console card and plan of the cell, the reason of each step, what is asked in place of signatures, and larger figures.
    Training,
}

impl Edition {
    /// Each with its word and one line on it.
    pub const ALL: [(&'static str, Edition, &'static str); 3] = [
        ("operator", Edition::Operator, "for the console: the steps and the record of the run"),
        ("review", Edition::Review, "the same with margins to write in, and behind it what a reviewer looks at and signs"),
        ("training", Edition::Training, "to learn from: with console card, plan, reasons, questions, and larger figures of every move"),
    ];

    /// The edition of a word.
    pub fn named(word: &str) -> Option<Edition> {
        Edition::ALL.iter().find(|(name, ..)| *name == word).map(|(_, edition, _)| *edition)
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        Edition::ALL.iter().find(|(_, edition, _)| *edition == self).map_or("", |(name, ..)| name)
    }

    /// Printed on every page of an edition that nobody may work from.
    pub fn banner(self) -> Option<Entry<0>> {
        match self {
            Edition::Operator => None,
            Edition::Review => Some(ids::EDITION_REVIEW),
            Edition::Training => Some(ids::EDITION_TRAINING),
        }
    }

    /// Which steps are drawn if nothing is said of it.
    pub fn figures(self) -> Figures {
        if self == Edition::Training { Figures::All } else { Figures::default() }
    }

    /// The size of a view in a figure.
    pub(super) fn size_of_figures(self) -> Size {
        if self == Edition::Training { Size::LARGE } else { Size::USUAL }
    }

    /// Whether the reviewer's sheet and package stand behind the steps.
    pub fn is_reviewed(self) -> bool {
        self == Edition::Review
    }

    /// Whether it is taught from: card and plan stand before the steps, reasons under them, where at the console they are in the way, and
    /// nothing is signed.
    pub fn is_taught(self) -> bool {
        self == Edition::Training
    }
}
