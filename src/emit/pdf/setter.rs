//! Shapes words. Each different word is shaped once for the whole print.

use super::forms::{Entry, spoken};
use super::tags::Tags;
use crate::error::Error;
use crate::words::Words;
use rustc_hash::FxHashMap;
use rustybuzz::{Direction, Face, Feature, Script, ShapePlan, UnicodeBuffer, script};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// Font files of the print, by weight.
pub(in crate::emit) static FONTS: [(&str, &[u8]); 2] = [
    ("IBMPlexSans", include_bytes!("../../../templates/fonts/IBMPlexSans-Regular.ttf")),
    ("IBMPlexSans-Bold", include_bytes!("../../../templates/fonts/IBMPlexSans-Bold.ttf")),
];

/// Regular or bold: an index into [`FONTS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Weight {
    Regular = 0,
    Bold = 1,
}

/// A shaped word.
#[derive(Debug, Clone)]
pub(super) struct Word {
    pub glyphs: Vec<Glyph>,
    /// In thousandths of the size.
    pub width: i32,
    pub weight: Weight,
    pub text: String,
}

/// A glyph of a shaped word, in thousandths of the size.
#[derive(Debug, Clone)]
pub(super) struct Glyph {
    pub id: u16,
    /// Extra advance against the font's own: kerning.
    pub kern: i32,
    /// What of its word it stands for; nothing within a cluster.
    pub text: Range<usize>,
}

/// How words of each script are shaped in one font.
type Plans = Vec<((Script, Direction), Arc<ShapePlan>)>;

/// Holds every word of the print once, and the ids of its values.
pub(super) struct Setter {
    faces: [Face<'static>; 2],
    features: Vec<Feature>,
    /// How words of a script are shaped, found once for each font.
    plans: [Plans; 2],
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
    /// Stands for a number of a page until it is known, and is as wide as any.
    pub any_page: usize,
    /// This page and the number of pages, while running heads are set.
    pub page: Option<(usize, usize)>,
    /// The page on which each contingency and sheet begins, printed behind what leads there.
    pub pages_of: BTreeMap<String, usize>,
    /// The page on which each thing begins that the contents or the line below a strip lead to.
    pub contents: BTreeMap<String, usize>,
    /// Where each of those leads, and how its page is set.
    pub ways: Vec<(String, Weight)>,
    /// What is said of pages and boxes.
    pub said: Arc<Words>,
}

impl Setter {
    pub(super) fn new(said: &Arc<Words>) -> Result<Setter, Error> {
        let face = |i: usize| {
            Face::from_slice(FONTS[i].1, 0).ok_or_else(|| Error::Internal(format!("the built-in font {} cannot be read", FONTS[i].0)))
        };
        let feature = |tag: &[u8; 4], value| Feature::new(rustybuzz::ttf_parser::Tag::from_bytes(tag), value, ..);
        // A slashed zero; no ligatures, so that each letter is found again by a search.
        let features = vec![feature(b"zero", 1), feature(b"liga", 0), feature(b"clig", 0)];
        Ok(Setter::with(said, [face(0)?, face(1)?], features, Default::default()))
    }

    /// One that has set nothing yet, in the same fonts, with what is led to.
    pub(super) fn fork(&self) -> Setter {
        let blank = Setter::with(&self.said, self.faces.clone(), self.features.clone(), self.plans.clone());
        Setter { any_page: self.any_page, pages_of: self.pages_of.clone(), contents: self.contents.clone(), ..blank }
    }

    fn with(said: &Arc<Words>, faces: [Face<'static>; 2], features: Vec<Feature>, plans: [Plans; 2]) -> Setter {
        Setter {
            said: Arc::clone(said),
            faces,
            features,
            plans,
            cache: Default::default(),
            words: Vec::new(),
            sequence: Vec::new(),
            fields: vec![String::new()],
            field_cache: FxHashMap::default(),
            tags: Tags::new(),
            item: String::new(),
            title: String::new(),
            any_page: 0,
            page: None,
            pages_of: BTreeMap::new(),
            contents: BTreeMap::new(),
            ways: Vec::new(),
        }
    }

    /// Begins the pages anew; words and values keep their numbers.
    pub(super) fn restart(&mut self) {
        self.sequence.clear();
        self.ways.clear();
        self.tags = Tags::new();
    }

    /// Advance of a glyph in font units; both fonts have 1000 to the em.
    pub(super) fn advance(&self, weight: Weight, glyph: u16) -> i32 {
        self.faces[weight as usize].glyph_hor_advance(rustybuzz::ttf_parser::GlyphId(glyph)).map_or(0, i32::from)
    }

    pub(super) fn word(&mut self, text: &str, weight: Weight) -> Result<u32, Error> {
        if let Some(id) = self.cache[weight as usize].get(text) {
            return Ok(*id);
        }
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let (face, plans) = (&self.faces[weight as usize], &mut self.plans[weight as usize]);
        let of = (buffer.script(), buffer.direction());
        let at = plans.iter().position(|(known, _)| *known == of).unwrap_or_else(|| {
            let script = Some(of.0).filter(|s| *s != script::UNKNOWN);
            plans.push((of, Arc::new(ShapePlan::new(face, of.1, script, None, &self.features))));
            plans.len() - 1
        });
        let shaped = rustybuzz::shape_with_plan(face, &plans[at].1, buffer);
        let infos = shaped.glyph_infos();
        let mut glyphs = Vec::with_capacity(infos.len());
        let mut width = 0;
        for (i, (info, position)) in infos.iter().zip(shaped.glyph_positions()).enumerate() {
            let cluster = info.cluster as usize;
            let first = i == 0 || infos[i - 1].cluster != info.cluster;
            let end = infos[i..].iter().map(|g| g.cluster as usize).find(|c| *c != cluster).unwrap_or(text.len());
            let covered = text.get(cluster..end.max(cluster)).unwrap_or("");
            let id = u16::try_from(info.glyph_id).unwrap_or(0);
            if id == 0 {
                let c = covered.chars().next().unwrap_or(char::REPLACEMENT_CHARACTER);
                return Err(Error::Limit {
                    place: format!("the word {text:?}"),
                    what: format!("the print font has no shape for U+{:04X}; write it in other characters", u32::from(c)),
                });
            }
            if position.x_offset != 0 || position.y_offset != 0 {
                return Err(Error::Limit {
                    place: format!("the word {text:?}"),
                    what: "it needs marks placed over letters, which this print does not do; write it with single characters".to_owned(),
                });
            }
            let kern = position.x_advance - self.advance(weight, id);
            width += position.x_advance;
            glyphs.push(Glyph { id, kern, text: if first { cluster..cluster + covered.len() } else { 0..0 } });
        }
        Ok(self.keep(Word { glyphs, width, weight, text: text.to_owned() }))
    }

    /// The page on which something begins that is led to.
    pub(super) fn page_of(&self, item: &str) -> Option<usize> {
        self.contents.get(item).or_else(|| self.pages_of.get(item)).copied()
    }

    /// The number of a word that another has shaped.
    pub(super) fn known(&mut self, word: &Word) -> u32 {
        match self.cache[word.weight as usize].get(&word.text) {
            Some(id) => *id,
            None => self.keep(word.clone()),
        }
    }

    fn keep(&mut self, word: Word) -> u32 {
        let id = u32::try_from(self.words.len()).unwrap_or(u32::MAX);
        self.cache[word.weight as usize].insert(word.text.clone(), id);
        self.words.push(word);
        id
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
