//! Shapes words: letters to glyphs of a font, with their advances.

use crate::error::Error;
use rustybuzz::{Direction, Face, Feature, Script, ShapePlan, UnicodeBuffer, script};
use std::ops::Range;

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
#[derive(Debug)]
pub(super) struct Word {
    pub glyphs: Vec<Glyph>,
    /// In thousandths of the size.
    pub width: i32,
    pub weight: Weight,
    pub text: String,
}

/// A glyph of a shaped word, in thousandths of the size.
#[derive(Debug)]
pub(super) struct Glyph {
    pub id: u16,
    /// Extra advance against the font's own: kerning.
    pub kern: i32,
    /// What of its word it stands for; nothing within a cluster.
    pub text: Range<usize>,
}

/// The fonts of the print, opened.
pub(super) struct Faces {
    faces: [Face<'static>; 2],
    features: Vec<Feature>,
}

/// How words of a script are shaped, found once for each font.
#[derive(Default)]
pub(super) struct Plans([Vec<((Script, Direction), ShapePlan)>; 2]);

impl Faces {
    pub(super) fn new() -> Result<Faces, Error> {
        let face = |i: usize| {
            Face::from_slice(FONTS[i].1, 0).ok_or_else(|| Error::Internal(format!("the built-in font {} cannot be read", FONTS[i].0)))
        };
        let feature = |tag: &[u8; 4], value| Feature::new(rustybuzz::ttf_parser::Tag::from_bytes(tag), value, ..);
        // A slashed zero; no ligatures, so that each letter is found again by a search.
        let features = vec![feature(b"zero", 1), feature(b"liga", 0), feature(b"clig", 0)];
        Ok(Faces { faces: [face(0)?, face(1)?], features })
    }

    /// Advance of a glyph in font units; both fonts have 1000 to the em.
    fn advance(&self, weight: Weight, glyph: u16) -> i32 {
        self.faces[weight as usize].glyph_hor_advance(rustybuzz::ttf_parser::GlyphId(glyph)).map_or(0, i32::from)
    }

    pub(super) fn shape(&self, plans: &mut Plans, text: &str, weight: Weight) -> Result<Word, Error> {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let (face, plans) = (&self.faces[weight as usize], &mut plans.0[weight as usize]);
        let of = (buffer.script(), buffer.direction());
        let at = plans.iter().position(|(known, _)| *known == of).unwrap_or_else(|| {
            let script = Some(of.0).filter(|s| *s != script::UNKNOWN);
            plans.push((of, ShapePlan::new(face, of.1, script, None, &self.features)));
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
        Ok(Word { glyphs, width, weight, text: text.to_owned() })
    }
}
