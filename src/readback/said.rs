//! The words of a print as plain data: sentences by id, filled here anew.

use crate::compiled::Saying;
use rustc_hash::FxHashMap;

/// The sentences of the set of words in which a print was made, by id, with their `{slots}`.
#[derive(Debug, Clone, Default)]
pub struct Said(FxHashMap<String, String>);

/// Stands where a set holds no such sentence: no print reads so.
const NOTHING: &str = "\u{0}";

impl Said {
    /// The sentences of a set.
    pub fn new<'i, 'w>(entries: impl IntoIterator<Item = (&'i str, &'w str)>) -> Said {
        Said(entries.into_iter().map(|(id, text)| (id.to_owned(), text.to_owned())).collect())
    }

    /// A sentence, if the set has it.
    pub(super) fn find(&self, id: &str) -> Option<&str> {
        self.0.get(id).map(String::as_str)
    }

    /// A sentence without slots.
    pub(super) fn say(&self, id: &str) -> &str {
        self.find(id).unwrap_or(NOTHING)
    }

    /// A sentence with its slots filled. What is put in is not looked into again.
    pub(super) fn fill(&self, id: &str, values: &[(&str, &str)]) -> String {
        let mut out = String::new();
        let mut rest = self.say(id);
        while let Some((before, behind)) = rest.split_once('{') {
            out.push_str(before);
            let (name, behind) = behind.split_once('}').unwrap_or((behind, ""));
            out.push_str(values.iter().find(|(slot, _)| *slot == name).map_or(NOTHING, |(_, value)| value));
            rest = behind;
        }
        out.push_str(rest);
        out
    }

    /// Words, or a sentence with what stands in its slots.
    pub(super) fn saying(&self, saying: &Saying) -> String {
        match saying {
            Saying::Words(words) => words.clone(),
            Saying::Phrase(phrase) => {
                let with: Vec<(&str, String)> = phrase.with.iter().map(|(slot, inner)| (slot.as_str(), self.saying(inner))).collect();
                self.fill(&phrase.says, &with.iter().map(|(slot, text)| (*slot, text.as_str())).collect::<Vec<_>>())
            }
        }
    }

    /// A list: entries joined two and two by a sentence with the slots `rest` and another.
    pub(super) fn row(&self, id: &str, next: &str, entries: &[String]) -> String {
        let mut all = entries.iter();
        let first = all.next().cloned().unwrap_or_default();
        all.fold(first, |rest, entry| self.fill(id, &[("rest", &rest), (next, entry)]))
    }

    /// "a, b or c" by the sentence that joins the last; nothing of nothing.
    pub(super) fn list(&self, id: &str, entries: &[String]) -> String {
        match entries {
            [] => String::new(),
            [one] => one.clone(),
            [rest @ .., last] => self.fill(id, &[("rest", &self.row("list.comma", "next", rest)), ("next", last)]),
        }
    }
}
