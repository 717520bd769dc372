//! For whom a print is made.

/// What a print holds besides the steps.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Edition {
    /// What is taken to the console.
    #[default]
    Operator,
    /// The same with what a reviewer looks at and signs, behind the steps.
    Review,
}

impl Edition {
    /// Each with its word and one line on it.
    pub const ALL: [(&'static str, Edition, &'static str); 2] = [
        ("operator", Edition::Operator, "for the console: the steps and the record of the run"),
        ("review", Edition::Review, "the same, and behind it what a reviewer looks at and signs"),
    ];

    /// The edition of a word.
    pub fn named(word: &str) -> Option<Edition> {
        Edition::ALL.iter().find(|(name, ..)| *name == word).map(|(_, edition, _)| *edition)
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        Edition::ALL.iter().find(|(_, edition, _)| *edition == self).map_or("", |(name, ..)| name)
    }

    /// Whether the reviewer's sheet and package stand behind the steps.
    pub fn is_reviewed(self) -> bool {
        self == Edition::Review
    }
}
