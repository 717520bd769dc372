//! Sets words and lines: shaping, line breaks, ragged right, never a hyphen. Each different word is shaped once.

use super::marks::{Mark, Run};
use crate::error::Error;
use crate::template::tree::Inline;
use rustybuzz::{Face, Feature, UnicodeBuffer};
use std::collections::HashMap;
use unicode_linebreak::{BreakOpportunity, linebreaks};

/// Font files of the print, by weight.
pub(super) static FONTS: [(&str, &[u8]); 2] = [
    ("IBMPlexSans", include_bytes!("../../../templates/fonts/IBMPlexSans-Regular.ttf")),
    ("IBMPlexSans-Bold", include_bytes!("../../../templates/fonts/IBMPlexSans-Bold.ttf")),
];

/// Regular or bold: an index into [`FONTS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Weight {
    Regular = 0,
    Bold = 1,
}

/// Distance of baselines, in sizes.
pub(super) const LEADING: f32 = 1.3;
/// From the top of a line to its baseline, in sizes.
const ASCENT: f32 = 1.0;
/// A value up to this many characters is never broken over lines.
const WHOLE: usize = 24;
/// Stands for a drawn mark in the text that is broken into lines.
const OBJECT: char = '\u{FFFC}';

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
    /// The text it stands for; empty within a cluster.
    pub text: String,
}

/// One way of setting a paragraph.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    pub size: f32,
    pub weight: Weight,
    pub align: Align,
    pub white: bool,
}

/// Where lines stand in their width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Left,
    Centre,
    Right,
}

/// A set line: its height and what is drawn, from its top left corner.
#[derive(Debug, Default)]
pub(super) struct Line {
    pub height: f32,
    pub marks: Vec<Mark>,
    pub width: f32,
}

/// Shapes and breaks. Holds every word of the print once.
pub(super) struct Setter {
    faces: [Face<'static>; 2],
    features: Vec<Feature>,
    cache: [HashMap<String, u32>; 2],
    pub words: Vec<Word>,
    /// Words of all runs, in drawing order.
    pub sequence: Vec<u32>,
    /// This page and the number of pages, while running heads are set.
    pub page: Option<(usize, usize)>,
}

/// A stretch of a paragraph in one look.
struct Stretch {
    start: usize,
    weight: Weight,
    white: bool,
    object: Option<Object>,
}

#[derive(Clone, Copy, PartialEq)]
enum Object {
    Tick,
    BigTick,
    Pages,
}

/// A piece of a line: a word, a space or a mark.
struct Piece {
    word: u32,
    weight: Weight,
    white: bool,
    object: Option<Object>,
    width: f32,
    space: bool,
}

impl Setter {
    pub(super) fn new() -> Result<Setter, Error> {
        let face = |i: usize| {
            Face::from_slice(FONTS[i].1, 0).ok_or_else(|| Error::Internal(format!("the built-in font {} cannot be read", FONTS[i].0)))
        };
        let feature = |tag: &[u8; 4], value| Feature::new(rustybuzz::ttf_parser::Tag::from_bytes(tag), value, ..);
        Ok(Setter {
            faces: [face(0)?, face(1)?],
            // A slashed zero; no ligatures, so that each letter is found again by a search.
            features: vec![feature(b"zero", 1), feature(b"liga", 0), feature(b"clig", 0)],
            cache: [HashMap::new(), HashMap::new()],
            words: Vec::new(),
            sequence: Vec::new(),
            page: None,
        })
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
        let shaped = rustybuzz::shape(&self.faces[weight as usize], &self.features, buffer);
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
            glyphs.push(Glyph { id, kern, text: if first { covered.to_owned() } else { String::new() } });
        }
        let id = u32::try_from(self.words.len()).unwrap_or(u32::MAX);
        self.words.push(Word { glyphs, width, weight, text: text.to_owned() });
        self.cache[weight as usize].insert(text.to_owned(), id);
        Ok(id)
    }

    /// Sets a paragraph into lines of at most `width`.
    pub(super) fn lines(&mut self, inlines: &[Inline], setting: Setting, width: f32) -> Result<Vec<Line>, Error> {
        let mut text = String::new();
        let mut stretches = Vec::new();
        let mut whole = Vec::new();
        self.flatten(inlines, setting.weight, setting.white, &mut text, &mut stretches, &mut whole);
        let mut lines = Vec::new();
        let mut pieces: Vec<Piece> = Vec::new();
        let mut used = 0.0;
        let breaks: Vec<_> = linebreaks(&text).collect();
        let mut start = 0;
        let mut next = 0;
        while let Some((offset, (end, kind))) = breaks[next..].iter().copied().enumerate().find(|(_, (end, kind))| {
            *kind == BreakOpportunity::Mandatory || !whole.iter().any(|r: &(usize, usize)| r.0 < *end && end < &r.1)
        }) {
            let mut chunk = self.pieces(&text, start..end, &stretches, setting)?;
            let mut solid = solid_width(&chunk);
            let (mut end, mut kind, mut taken) = (end, kind, offset + 1);
            if solid > width && offset > 0 {
                // A value wider than its column is broken where words may be, after all.
                (end, kind) = breaks[next];
                taken = 1;
                chunk = self.pieces(&text, start..end, &stretches, setting)?;
                solid = solid_width(&chunk);
            }
            start = end;
            next += taken;
            if used + solid > width && !pieces.is_empty() {
                lines.push(self.line(std::mem::take(&mut pieces), setting, width));
                used = 0.0;
            }
            let chunk = if solid > width { self.split(chunk, setting, width)? } else { chunk };
            for piece in chunk {
                if solid > width && used + piece.width > width && !pieces.is_empty() {
                    lines.push(self.line(std::mem::take(&mut pieces), setting, width));
                    used = 0.0;
                }
                used += piece.width;
                pieces.push(piece);
            }
            if kind == BreakOpportunity::Mandatory && end < text.len() {
                lines.push(self.line(std::mem::take(&mut pieces), setting, width));
                used = 0.0;
            }
        }
        if !pieces.is_empty() {
            lines.push(self.line(pieces, setting, width));
        }
        Ok(lines)
    }

    fn flatten(
        &self,
        inlines: &[Inline],
        weight: Weight,
        white: bool,
        text: &mut String,
        out: &mut Vec<Stretch>,
        whole: &mut Vec<(usize, usize)>,
    ) {
        let object = |object, text: &mut String, out: &mut Vec<Stretch>| {
            out.push(Stretch { start: text.len(), weight, white, object: Some(object) });
            text.push(OBJECT);
        };
        for inline in inlines {
            match inline {
                Inline::Tick => object(Object::Tick, text, out),
                Inline::BigTick => object(Object::BigTick, text, out),
                Inline::Break => text.push('\n'),
                Inline::Page | Inline::Pages => match (self.page, inline) {
                    (Some((page, _)), Inline::Page) => self.flatten(&[Inline::Text(page.to_string())], weight, white, text, out, whole),
                    (Some((_, pages)), _) => self.flatten(&[Inline::Text(pages.to_string())], weight, white, text, out, whole),
                    (None, _) => object(Object::Pages, text, out),
                },
                Inline::Text(t) => {
                    out.push(Stretch { start: text.len(), weight, white, object: None });
                    text.push_str(t);
                }
                Inline::Field { content, .. } => {
                    let start = text.len();
                    self.flatten(content, weight, white, text, out, whole);
                    if text[start..].chars().count() <= WHOLE {
                        whole.push((start, text.len()));
                    }
                }
                Inline::Link { content, .. } => self.flatten(content, weight, white, text, out, whole),
                Inline::Strong(content) => self.flatten(content, Weight::Bold, white, text, out, whole),
                Inline::Plain(content) => self.flatten(content, Weight::Regular, white, text, out, whole),
                Inline::Solid(content) => self.flatten(content, Weight::Bold, true, text, out, whole),
            }
        }
    }

    fn pieces(&mut self, text: &str, range: std::ops::Range<usize>, stretches: &[Stretch], setting: Setting) -> Result<Vec<Piece>, Error> {
        let mut out = Vec::new();
        let mut at = range.start;
        let mut next = stretches.partition_point(|s| s.start <= at);
        while at < range.end {
            let end = stretches.get(next).map_or(range.end, |s| s.start.min(range.end));
            if let Some(stretch) = next.checked_sub(1).and_then(|i| stretches.get(i)) {
                let (weight, white) = (stretch.weight, stretch.white);
                if let Some(object) = stretch.object.filter(|_| text[at..end].starts_with(OBJECT)) {
                    let width = match object {
                        Object::Tick => setting.size * 0.85,
                        Object::BigTick => super::marks::BIG_TICK,
                        Object::Pages => 0.0,
                    };
                    out.push(Piece { word: 0, weight, white, object: Some(object), width, space: false });
                    at += OBJECT.len_utf8();
                    if at >= end {
                        next += 1;
                    }
                    continue;
                }
                for token in split_spaces(&text[at..end]) {
                    let space = token.starts_with([' ', '\u{a0}']);
                    let token = if space { " " } else { token };
                    if token == "\n" {
                        continue;
                    }
                    let word = self.word(token, weight)?;
                    let width = self.words[word as usize].width as f32 * setting.size / 1000.0;
                    out.push(Piece { word, weight, white, object: None, width, space });
                }
            }
            at = end;
            next += 1;
        }
        Ok(out)
    }

    /// Cuts what is wider than a whole line at any character: the last resort, for long digests.
    fn split(&mut self, pieces: Vec<Piece>, setting: Setting, width: f32) -> Result<Vec<Piece>, Error> {
        let mut out = Vec::new();
        for piece in pieces {
            if piece.object.is_some() || piece.width <= width {
                out.push(piece);
                continue;
            }
            let text = self.words[piece.word as usize].text.clone();
            for c in text.chars() {
                let word = self.word(c.encode_utf8(&mut [0; 4]), piece.weight)?;
                let width = self.words[word as usize].width as f32 * setting.size / 1000.0;
                out.push(Piece { word, width, object: None, space: false, ..piece });
            }
        }
        Ok(out)
    }

    /// Turns pieces into marks, joining words of one look into one run.
    fn line(&mut self, mut pieces: Vec<Piece>, setting: Setting, width: f32) -> Line {
        while pieces.last().is_some_and(|p| p.space) {
            pieces.pop();
        }
        let size = setting.size;
        let total: f32 = pieces.iter().map(|p| p.width).sum();
        let mut x = match setting.align {
            Align::Left => 0.0,
            Align::Centre => (width - total) / 2.0,
            Align::Right => width - total,
        };
        let big = pieces.iter().any(|p| p.object == Some(Object::BigTick));
        let height = if big { super::marks::BIG_TICK + 3.0 } else { size * LEADING };
        let baseline = size * ASCENT;
        let mut line = Line { height, marks: Vec::new(), width: total };
        let mut run: Option<(Run, f32)> = None;
        for piece in pieces {
            let extends = piece.object.is_none() && run.as_ref().is_some_and(|(r, _)| r.weight == piece.weight && r.white == piece.white);
            if !extends {
                if let Some((done, end)) = run.take() {
                    close(done, end, size, baseline, setting, &mut line.marks);
                }
                match piece.object {
                    Some(Object::Tick) => line.marks.push(Mark::tick(x, baseline, size)),
                    Some(Object::BigTick) => line.marks.push(Mark::big_tick(x)),
                    Some(Object::Pages) => line.marks.push(Mark::Pages { x, y: baseline, size, weight: piece.weight }),
                    None => {
                        let start = self.sequence.len();
                        run = Some((Run { x, y: baseline, size, weight: piece.weight, white: piece.white, words: start..start }, x));
                    }
                }
            }
            if piece.object.is_none()
                && let Some((open, end)) = run.as_mut()
            {
                self.sequence.push(piece.word);
                open.words.end = self.sequence.len();
                *end = x + piece.width;
            }
            x += piece.width;
        }
        if let Some((done, end)) = run {
            close(done, end, size, baseline, setting, &mut line.marks);
        }
        line
    }
}

/// Draws the black ground of a white run that does not already stand on black, then the run.
fn close(run: Run, end: f32, size: f32, baseline: f32, setting: Setting, marks: &mut Vec<Mark>) {
    if run.white && !setting.white {
        marks.push(Mark::Fill { x: run.x - 2.0, y: baseline - 0.92 * size, width: end - run.x + 4.0, height: 1.17 * size });
    }
    marks.push(Mark::Run(run));
}

/// Width without the spaces behind.
fn solid_width(pieces: &[Piece]) -> f32 {
    let spaces = pieces.iter().rev().take_while(|p| p.space).count();
    pieces[..pieces.len() - spaces].iter().map(|p| p.width).sum()
}

/// Words and single spaces, each by itself.
fn split_spaces(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = text;
    std::iter::from_fn(move || {
        let first = rest.chars().next()?;
        let is_space = |c: char| matches!(c, ' ' | '\u{a0}' | '\n');
        let end = if is_space(first) { first.len_utf8() } else { rest.find(is_space).unwrap_or(rest.len()) };
        let (token, tail) = rest.split_at(end);
        rest = tail;
        Some(token)
    })
}
