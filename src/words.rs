//! The printed words: every sentence of a print that no writer and no model wrote, from one set a language.
//!
//! Invariant: a [`Words`] holds every sentence there is, judged: none is missing or empty, each has its slots, none claims what
//! no check can claim, and what binds a value to its place cannot be mistaken. So a sentence that the program asks for cannot miss.
//! What writers and models say stays as they wrote it, in any language; so do numbers, units and the names of findings.

pub mod ids;
mod judge;
mod read;
pub mod rules;

use crate::diag::Diagnostic;
use crate::text::{FileId, Files};
use ids::{Declared, Entry};
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

/// A language whose set is built in.
#[derive(Debug)]
pub struct Language {
    /// Its tag (BCP 47), as in the files it is printed in.
    pub tag: &'static str,
    /// Its name, in English.
    pub name: &'static str,
    /// The file of its set, below the project's top.
    pub path: &'static str,
    text: &'static str,
}

/// Every language that is built in; the first is printed where none is asked for.
pub const LANGUAGES: &[Language] = &[
    Language { tag: "en", name: "English", path: "templates/words.toml", text: include_str!("../templates/words.toml") },
    Language { tag: "de", name: "German", path: "templates/words.de.toml", text: include_str!("../templates/words.de.toml") },
];

/// The built-in language of a tag.
pub fn language(tag: &str) -> Option<&'static Language> {
    LANGUAGES.iter().find(|l| l.tag == tag)
}

/// Every sentence there is, as each set must hold it.
pub fn declared() -> impl Iterator<Item = &'static Declared> {
    ids::SPOKEN.iter().chain(ids::REVIEWED).chain(ids::TAUGHT).chain(ids::PAGED)
}

/// The language that a site's file of words names.
pub fn named(text: &str) -> Option<String> {
    read::language_of(text)
}

static PLACES: LazyLock<HashMap<&'static str, usize>> = LazyLock::new(|| declared().enumerate().map(|(at, d)| (d.id, at)).collect());

/// A piece of a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// Words.
    Text(String),
    /// A place for what is put in, by its name.
    Slot(String),
    /// Bold begins or ends here.
    Bold,
    /// Light begins or ends here.
    Light,
}

/// Why a sentence that is asked for by its id cannot be said.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unsaid {
    /// No set has it.
    #[error("there is no sentence {0:?} to say")]
    NoSentence(String),
    /// Nothing is given for one of its slots.
    #[error("the sentence {sentence:?} is said without its {slot}")]
    NoValue {
        /// Its id.
        sentence: String,
        /// The slot.
        slot: String,
    },
}

#[derive(Debug, Clone, Default)]
struct Sentence {
    text: String,
    pieces: Vec<Piece>,
}

/// A whole set of words in one language.
#[derive(Debug, Clone)]
pub struct Words {
    language: String,
    /// In the order of [`declared`].
    sentences: Vec<Sentence>,
}

/// A site's own file of words.
#[derive(Debug, Clone, Copy)]
pub struct Own<'a> {
    /// The file, for messages.
    pub file: FileId,
    /// Its text.
    pub text: &'a str,
}

static ENGLISH: LazyLock<Arc<Words>> = LazyLock::new(|| {
    // The built-in set is whole; a test holds that. Were it not, no sentence would be said rather than a wrong one.
    let nothing = |_| Words { language: "en".to_owned(), sentences: declared().map(|_| Sentence::default()).collect() };
    Arc::new(Words::load(None, None, &Files::default()).unwrap_or_else(nothing))
});

impl Words {
    /// The built-in English set, read once a run.
    pub fn english() -> &'static Arc<Words> {
        &ENGLISH
    }

    /// The set of a language (a tag; the first built-in one if none is asked for) with a site's own file laid over it. A file that
    /// names another language is a set of its own.
    pub fn load(tag: Option<&str>, own: Option<Own<'_>>, files: &Files) -> Result<Words, Vec<Diagnostic>> {
        read::load(tag, own, files)
    }

    /// The tag of its language.
    pub fn language(&self) -> &str {
        &self.language
    }

    fn sentence(&self, at: usize) -> &Sentence {
        // As long as the list of all declared ones, which places come from.
        &self.sentences[at]
    }

    /// A sentence without slots.
    pub fn say(&self, entry: Entry<0>) -> &str {
        &self.sentence(entry.at).text
    }

    /// A sentence with its slots filled, in the order in which they are declared.
    pub fn fill<const N: usize>(&self, entry: Entry<N>, values: [&str; N]) -> String {
        let slots = ids::slots(entry);
        let mut out = String::new();
        for piece in &self.sentence(entry.at).pieces {
            match piece {
                Piece::Text(text) => out.push_str(text),
                Piece::Slot(name) => out.push_str(slots.iter().position(|s| s == name).map_or("", |i| values[i])),
                Piece::Bold | Piece::Light => {}
            }
        }
        out
    }

    /// The pieces of a sentence that the program says, for what is more than words in its slots.
    pub fn pieces<const N: usize>(&self, entry: Entry<N>) -> &[Piece] {
        &self.sentence(entry.at).pieces
    }

    /// The pieces of a sentence by its id; none if there is no such sentence.
    pub fn find(&self, id: &str) -> Option<&[Piece]> {
        PLACES.get(id).map(|at| self.sentence(*at).pieces.as_slice())
    }

    /// A sentence by its id with its slots filled. A value for a slot that it does not have is left out.
    pub fn by_id(&self, id: &str, values: &[(&str, &str)]) -> Result<String, Unsaid> {
        let mut out = String::new();
        for piece in self.find(id).ok_or_else(|| Unsaid::NoSentence(id.to_owned()))? {
            match piece {
                Piece::Text(text) => out.push_str(text),
                Piece::Slot(name) => {
                    let without = || Unsaid::NoValue { sentence: id.to_owned(), slot: name.clone() };
                    out.push_str(values.iter().find(|(slot, _)| slot == name).ok_or_else(without)?.1);
                }
                Piece::Bold | Piece::Light => {}
            }
        }
        Ok(out)
    }

    /// Entries of a list joined two and two: all but the last with commas, the last with another joint.
    pub fn list(&self, entries: &[String], last: Entry<2>) -> String {
        let Some((end, rest)) = entries.split_last() else { return String::new() };
        let Some((first, rest)) = rest.split_first() else { return end.clone() };
        let joined = rest.iter().fold(first.clone(), |all, next| self.fill(ids::LIST_COMMA, [&all, next]));
        self.fill(last, [&joined, end])
    }

    /// Entries joined alike all along.
    pub fn row(&self, entries: &[String], joint: Entry<2>) -> String {
        let Some((first, rest)) = entries.split_first() else { return String::new() };
        rest.iter().fold(first.clone(), |all, next| self.fill(joint, [&all, next]))
    }

    /// Every sentence with its id, in the order in which they are declared.
    pub fn entries(&self) -> impl Iterator<Item = (&'static str, &str)> {
        declared().zip(&self.sentences).map(|(d, s)| (d.id, s.text.as_str()))
    }
}
