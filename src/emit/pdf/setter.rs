//! Every word of the print once, and the ids of its values.

use super::ahead;
use super::forms::{Entry, spoken};
use super::shape::{Faces, Plans, Weight, Word};
use super::tags::Tags;
use crate::error::Error;
use crate::template::tree::Node;
use crate::words::Words;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Holds every word of the print once, and the ids of its values.
pub(super) struct Setter {
    faces: Faces,
    plans: Plans,
    /// Words shaped already, by weight, that were not met yet.
    ahead: ahead::Words,
    cache: [FxHashMap<String, u32>; 2],
    pub words: Vec<Word>,
    /// Words of all runs, in drawing order.
    pub sequence: Vec<u32>,
    /// Ids of the values printed; the first stands for none.
    pub fields: Vec<String>,
    field_cache: FxHashMap<String, u32>,
    /// What the words are part of.
    pub tags: Tags,
    /// The item that is being laid out.
    pub item: String,
    /// The title of the box that is being laid out, for the words of its fields.
    pub title: String,
    /// This page and the number of pages, while running heads are set.
    pub page: Option<(usize, usize)>,
    /// The page on which each contingency begins, printed behind what leads there.
    pub pages_of: BTreeMap<String, usize>,
    /// Whether such a page was printed.
    pub tells_pages: bool,
    /// The page on which each thing begins that the contents lead to.
    pub contents: BTreeMap<String, usize>,
    /// Where each line of the contents leads, and how its page is set.
    pub ways: Vec<(String, Weight)>,
    /// What is said of pages and boxes.
    pub said: Arc<Words>,
}

impl Setter {
    pub(super) fn new(said: &Arc<Words>) -> Result<Setter, Error> {
        Ok(Setter {
            said: Arc::clone(said),
            faces: Faces::new()?,
            plans: Plans::default(),
            ahead: ahead::Words::default(),
            cache: [FxHashMap::default(), FxHashMap::default()],
            words: Vec::new(),
            sequence: Vec::new(),
            fields: vec![String::new()],
            field_cache: FxHashMap::default(),
            tags: Tags::new(),
            item: String::new(),
            title: String::new(),
            page: None,
            pages_of: BTreeMap::new(),
            tells_pages: false,
            contents: BTreeMap::new(),
            ways: Vec::new(),
        })
    }

    /// Shapes the words of these nodes on all threads, for [`Setter::word`] to find.
    pub(super) fn shape_ahead(&mut self, body: &[Node]) {
        self.ahead = ahead::shape(&self.faces, body);
    }

    pub(super) fn word(&mut self, text: &str, weight: Weight) -> Result<u32, Error> {
        if let Some(id) = self.cache[weight as usize].get(text) {
            return Ok(*id);
        }
        let word = match self.ahead[weight as usize].remove(text) {
            Some(word) => word,
            None => self.faces.shape(&mut self.plans, text, weight)?,
        };
        let id = u32::try_from(self.words.len()).unwrap_or(u32::MAX);
        self.words.push(word);
        self.cache[weight as usize].insert(text.to_owned(), id);
        Ok(id)
    }

    /// A place to fill in, of `of` or else of the item being laid out; `label` gives the rest of its name, `words` what is said of it.
    pub(super) fn entry(&mut self, of: Option<&str>, label: &str, words: &str, tick: bool) -> Entry {
        let said = match (spoken(&self.item, &self.said), self.title.as_str()) {
            (item, "") => item,
            (_, title) => title.to_owned(),
        };
        let words = match said.as_str() {
            "" => words.to_owned(),
            said => format!("{said}: {words}"),
        };
        let name = format!("{}.{label}", of.unwrap_or(&self.item));
        Entry { name: self.field(&name), words: self.field(&words), tick }
    }

    /// The number of a value's id.
    pub(super) fn field(&mut self, id: &str) -> u32 {
        if let Some(known) = self.field_cache.get(id) {
            return *known;
        }
        let number = u32::try_from(self.fields.len()).unwrap_or(u32::MAX);
        self.fields.push(id.to_owned());
        self.field_cache.insert(id.to_owned(), number);
        number
    }
}
