//! What a print says in the words of its language: which sentence, and what is put into it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Words as somebody wrote them, or a sentence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Saying {
    /// A name, a number, words of a source.
    Words(String),
    /// A sentence of the set of words.
    Phrase(Phrase),
}

/// A sentence of the set of words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Phrase {
    /// Its id, as in `templates/words.toml`.
    pub says: String,
    /// What stands in its slots.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub with: BTreeMap<String, Saying>,
}

impl Saying {
    /// A sentence with what is put into it.
    pub fn phrase<const N: usize>(says: impl Into<String>, with: [(&str, Saying); N]) -> Saying {
        Saying::Phrase(Phrase { says: says.into(), with: with.into_iter().map(|(slot, part)| (slot.to_owned(), part)).collect() })
    }
}

impl From<String> for Saying {
    fn from(words: String) -> Saying {
        Saying::Words(words)
    }
}

impl From<&str> for Saying {
    fn from(words: &str) -> Saying {
        Saying::Words(words.to_owned())
    }
}
