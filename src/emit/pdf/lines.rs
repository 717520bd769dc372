//! Sets paragraphs into lines: words to line breaks, ragged right, never a hyphen, never past the measure.

use super::forms::{Entry, owner};
use super::marks::{BIG_TICK, Late, Mark, Run};
use super::setter::{Setter, Weight};
use super::tags::{Kind, Tag};
use crate::error::Error;
use crate::template::tree::{Inline, plain_text};
use crate::words::ids;
use std::ops::Range;
use unicode_linebreak::{BreakOpportunity, linebreaks};

/// Distance of baselines, in sizes.
pub(super) const LEADING: f32 = 1.3;
/// From the top of a line to its baseline, in sizes.
const ASCENT: f32 = 1.0;
/// A value up to this many characters is kept on one line.
const WHOLE: usize = 24;
/// Stands for a drawn mark in the text that is broken into lines.
const OBJECT: char = '\u{FFFC}';

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

/// How a stretch of text looks, and which value it is part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Look {
    weight: Weight,
    white: bool,
    field: u32,
    link: u32,
    tag: Tag,
}

/// The item whose links tell their pages, wherever they lead.
pub(super) const CONTENTS: &str = "contents";

/// A paragraph as plain text with what lies over it.
#[derive(Default)]
struct Flat {
    text: String,
    stretches: Vec<Stretch>,
    /// Ranges to be kept on one line.
    whole: Vec<Range<usize>>,
}

struct Stretch {
    start: usize,
    look: Look,
    object: Option<Object>,
}

#[derive(Clone, Copy, PartialEq)]
enum Object {
    Tick(Option<(Entry, Tag)>),
    BigTick(Option<(Entry, Tag)>),
    Late(Late),
}

/// A piece of a line: a word, a space or a mark.
#[derive(Clone, Copy)]
struct Piece {
    word: u32,
    look: Look,
    object: Option<Object>,
    width: f32,
    space: bool,
}

impl Flat {
    fn object(&mut self, look: Look, object: Object) {
        self.stretches.push(Stretch { start: self.text.len(), look, object: Some(object) });
        self.text.push(OBJECT);
    }

    fn words(&mut self, look: Look, words: &str) {
        self.stretches.push(Stretch { start: self.text.len(), look, object: None });
        self.text.push_str(words);
    }

    /// The page on which something begins, put in when all is laid out.
    fn late_page(&mut self, to: &str, look: Look, setter: &mut Setter) {
        setter.ways.push((to.to_owned(), look.weight));
        self.words(look, " ");
        self.object(look, Object::Late(Late::Way(setter.ways.len() - 1)));
    }

    fn add(&mut self, inlines: &[Inline], look: Look, setter: &mut Setter) {
        for (i, inline) in inlines.iter().enumerate() {
            match inline {
                Inline::Tick(name) => {
                    let entry = setter.box_of(name.as_deref(), &inlines[i + 1..]);
                    self.object(look, Object::Tick(entry));
                }
                Inline::BigTick => {
                    let done = setter.said.say(ids::PAGE_DONE).to_owned();
                    let entry = setter.place("tick", &done, true);
                    self.object(look, Object::BigTick(entry));
                }
                Inline::Break => self.text.push('\n'),
                Inline::Page | Inline::Pages => match (setter.page, inline) {
                    (Some((page, _)), Inline::Page) => self.words(look, &page.to_string()),
                    (Some((_, pages)), _) => self.words(look, &pages.to_string()),
                    (None, _) => self.object(look, Object::Late(Late::Pages)),
                },
                Inline::Text(text) => self.words(look, text),
                Inline::Field { id, content } => {
                    let start = self.text.len();
                    let field = setter.field(id);
                    self.add(content, Look { field, ..look }, setter);
                    if self.text[start..].chars().count() <= WHOLE {
                        self.whole.push(start..self.text.len());
                    }
                    let mut ways = Vec::new();
                    led_to(content, &mut ways);
                    if setter.item == CONTENTS {
                        ways.truncate(1);
                    }
                    ways.retain(|to| setter.pages_of.contains_key(*to) || setter.item == CONTENTS && setter.contents.contains_key(*to));
                    for to in &ways {
                        if ways.len() > 1 {
                            self.words(look, &format!(" {to}"));
                        }
                        self.late_page(to, look, setter);
                    }
                }
                Inline::Link { to, content } => {
                    // No element, no link: what is repeated was read where it stood first.
                    let tag = setter.tags.add(Kind::Link);
                    let link = if tag == Tag::NONE { 0 } else { setter.field(to) };
                    self.add(content, Look { link, tag, ..look }, setter);
                    // A link within a value has its page behind the value.
                    if look.field == 0 && setter.page_of(to).is_some() {
                        self.late_page(to, look, setter);
                    }
                }
                Inline::Strong(content) => self.add(content, Look { weight: Weight::Bold, ..look }, setter),
                Inline::Plain(content) => self.add(content, Look { weight: Weight::Regular, ..look }, setter),
                Inline::Solid(content) => self.add(content, Look { weight: Weight::Bold, white: true, ..look }, setter),
            }
        }
    }
}

impl Setter {
    /// A place to fill in of the item that is being laid out; none within decoration.
    pub(super) fn place(&mut self, label: &str, words: &str, tick: bool) -> Option<(Entry, Tag)> {
        let tag = self.tags.add(Kind::Form);
        (tag != Tag::NONE).then(|| (self.entry(None, label, words, tick), tag))
    }

    /// A box to tick before these words: of the value that follows, or by its name.
    pub(super) fn box_of(&mut self, name: Option<&str>, behind: &[Inline]) -> Option<(Entry, Tag)> {
        let tag = self.tags.add(Kind::Form);
        if tag == Tag::NONE {
            return None;
        }
        let end = behind.iter().position(|i| matches!(i, Inline::Tick(_) | Inline::BigTick)).unwrap_or(behind.len());
        let behind = &behind[..end];
        let words = plain_text(behind).split_whitespace().collect::<Vec<_>>().join(" ");
        let of = name.is_none().then(|| first_value(behind).map(owner)).flatten();
        let entry = self.entry(of, name.unwrap_or("tick"), &words, true);
        Some((entry, tag))
    }
}

/// The id of the first value among these.
fn first_value(inlines: &[Inline]) -> Option<&str> {
    inlines.iter().find_map(|i| match i {
        Inline::Field { id, .. } => Some(id.as_str()),
        Inline::Strong(content) | Inline::Plain(content) | Inline::Solid(content) | Inline::Link { content, .. } => first_value(content),
        _ => None,
    })
}

/// Where the links among these lead, each once.
pub(super) fn led_to<'a>(inlines: &'a [Inline], out: &mut Vec<&'a str>) {
    for inline in inlines {
        match inline {
            Inline::Link { to, .. } if !out.contains(&to.as_str()) => out.push(to),
            Inline::Field { content, .. } | Inline::Strong(content) | Inline::Plain(content) | Inline::Solid(content) => {
                led_to(content, out);
            }
            _ => {}
        }
    }
}

impl Setter {
    /// Sets a paragraph into lines of at most `width`.
    pub(super) fn lines(&mut self, inlines: &[Inline], setting: Setting, width: f32) -> Result<Vec<Line>, Error> {
        let mut flat = Flat::default();
        let tag = self.tags.current();
        flat.add(inlines, Look { weight: setting.weight, white: setting.white, field: 0, link: 0, tag }, self);
        let breaks: Vec<_> = linebreaks(&flat.text).collect();
        let mut filler = Filler { lines: Vec::new(), pieces: Vec::new(), used: 0.0, width, setting };
        let (mut start, mut next) = (0, 0);
        let free = |(end, kind): &(usize, BreakOpportunity)| {
            *kind == BreakOpportunity::Mandatory
                || !flat.whole.iter().any(|r| r.start < *end && *end < r.end) && !parts_unit(&flat.text[..*end], &flat.text[*end..])
        };
        let mut chunk = Vec::new();
        while let Some(offset) = breaks[next..].iter().position(free) {
            let mut last = next + offset;
            self.pieces(&flat, start..breaks[last].0, setting, &mut chunk)?;
            if solid_width(&chunk) > width && offset > 0 {
                // A value wider than its column is broken where words may be, after all.
                last = next;
                self.pieces(&flat, start..breaks[last].0, setting, &mut chunk)?;
            }
            if solid_width(&chunk) > width {
                for piece in self.split(&chunk, setting, width)? {
                    filler.add(&[piece], self);
                }
            } else {
                filler.add(&chunk, self);
            }
            let (end, kind) = breaks[last];
            (start, next) = (end, last + 1);
            if kind == BreakOpportunity::Mandatory && end < flat.text.len() {
                filler.end_line(self, true);
            }
        }
        filler.end_line(self, false);
        Ok(filler.lines)
    }

    /// The pieces of a stretch of text, in place of what is in `out`.
    fn pieces(&mut self, flat: &Flat, range: Range<usize>, setting: Setting, out: &mut Vec<Piece>) -> Result<(), Error> {
        out.clear();
        let mut at = range.start;
        let mut next = flat.stretches.partition_point(|s| s.start <= at);
        while at < range.end {
            let end = flat.stretches.get(next).map_or(range.end, |s| s.start.min(range.end));
            let mut text = &flat.text[at..end];
            if let Some(stretch) = next.checked_sub(1).and_then(|i| flat.stretches.get(i)) {
                let look = stretch.look;
                if let (Some(object), Some(rest)) = (stretch.object, text.strip_prefix(OBJECT)) {
                    let width = match object {
                        Object::Tick(_) => setting.size * 0.85,
                        Object::BigTick(_) => BIG_TICK,
                        Object::Late(Late::Pages) => 0.0,
                        Object::Late(Late::Way(at)) => {
                            let words = self.way(at)?;
                            words.iter().map(|w| self.words[*w as usize].width).sum::<i32>() as f32 * setting.size / 1000.0
                        }
                    };
                    out.push(Piece { word: 0, look, object: Some(object), width, space: false });
                    text = rest;
                }
                for token in split_spaces(text).filter(|t| *t != "\n") {
                    let space = token.starts_with([' ', '\u{a0}']);
                    let word = self.word(if space { " " } else { token }, look.weight)?;
                    let width = self.words[word as usize].width as f32 * setting.size / 1000.0;
                    out.push(Piece { word, look, object: None, width, space });
                }
            }
            at = end;
            next += 1;
        }
        Ok(())
    }

    /// The words of the page that something leads to; before all is laid out, of one that is as wide as any.
    pub(super) fn way(&mut self, at: usize) -> Result<Vec<u32>, Error> {
        let (to, weight) = &self.ways[at];
        let (Some(page), weight) = (self.page_of(to), *weight) else { return Ok(Vec::new()) };
        let text = self.said.fill(ids::PAGE_AT, [&page.to_string()]);
        split_spaces(&text).map(|token| self.word(if token == "\u{a0}" { " " } else { token }, weight)).collect()
    }

    /// Cuts what is wider than a whole line at any character: the last resort, for long digests.
    fn split(&mut self, pieces: &[Piece], setting: Setting, width: f32) -> Result<Vec<Piece>, Error> {
        let mut out = Vec::new();
        for piece in pieces.iter().copied() {
            if piece.object.is_some() || piece.width <= width {
                out.push(piece);
                continue;
            }
            let text = self.words[piece.word as usize].text.clone();
            for c in text.chars() {
                let word = self.word(c.encode_utf8(&mut [0; 4]), piece.look.weight)?;
                let width = self.words[word as usize].width as f32 * setting.size / 1000.0;
                out.push(Piece { word, width, object: None, space: false, ..piece });
            }
        }
        Ok(out)
    }
}

/// Fills lines with what belongs together.
struct Filler {
    lines: Vec<Line>,
    pieces: Vec<Piece>,
    used: f32,
    width: f32,
    setting: Setting,
}

impl Filler {
    fn add(&mut self, chunk: &[Piece], setter: &mut Setter) {
        if self.used + solid_width(chunk) > self.width && !self.pieces.is_empty() {
            self.end_line(setter, true);
        }
        self.used += chunk.iter().map(|p| p.width).sum::<f32>();
        self.pieces.extend_from_slice(chunk);
    }

    /// Turns the pieces at hand into marks, joining words of one look into one run. Where the paragraph goes on, a space that
    /// nobody sees parts the last word from the next for those who do not read it from the page.
    fn end_line(&mut self, setter: &mut Setter, goes_on: bool) {
        self.used = 0.0;
        let mut pieces = std::mem::take(&mut self.pieces);
        while pieces.last().is_some_and(|p| p.space) {
            pieces.pop();
        }
        if pieces.is_empty() {
            return;
        }
        let Setting { size, align, .. } = self.setting;
        let total: f32 = pieces.iter().map(|p| p.width).sum();
        let mut x = match align {
            Align::Left => 0.0,
            Align::Centre => (self.width - total) / 2.0,
            Align::Right => self.width - total,
        };
        let big = pieces.iter().any(|p| matches!(p.object, Some(Object::BigTick(_))));
        let height = if big { BIG_TICK + 3.0 } else { size * LEADING };
        let baseline = size * ASCENT;
        let mut marks = Vec::new();
        let mut open: Option<(Run, Look, f32)> = None;
        for piece in pieces {
            let extends = piece.object.is_none() && open.as_ref().is_some_and(|(_, look, _)| *look == piece.look);
            if !extends && let Some((run, look, end)) = open.take() {
                self.close(run, look.link, end, &mut marks);
            }
            match piece.object {
                Some(object @ (Object::Tick(entry) | Object::BigTick(entry))) => {
                    let frame = if matches!(object, Object::Tick(_)) { Mark::tick(x, baseline, size) } else { Mark::big_tick(x) };
                    let entry = entry.and_then(|(entry, tag)| frame.entry(entry, tag));
                    marks.push(frame);
                    marks.extend(entry);
                }
                Some(Object::Late(words)) => {
                    marks.push(Mark::Late { x, y: baseline, size, weight: piece.look.weight, tag: piece.look.tag, words });
                }
                None => {
                    let start = setter.sequence.len();
                    setter.sequence.push(piece.word);
                    let Look { weight, white, field, tag, .. } = piece.look;
                    let fresh = Run { x, y: baseline, size, weight, white, field, tag, words: start..start };
                    let (run, _, end) = open.get_or_insert((fresh, piece.look, x));
                    run.words.end = start + 1;
                    *end = x + piece.width;
                }
            }
            x += piece.width;
        }
        if let Some((mut run, look, end)) = open {
            if goes_on
                && run.tag != Tag::NONE
                && let Ok(space) = setter.word(" ", run.weight)
            {
                setter.sequence.push(space);
                run.words.end += 1;
            }
            self.close(run, look.link, end, &mut marks);
        }
        self.lines.push(Line { height, marks, width: total });
    }

    /// Draws the black ground of a white run that does not already stand on black, then the run.
    fn close(&self, run: Run, link: u32, end: f32, marks: &mut Vec<Mark>) {
        if link != 0 {
            marks.push(Mark::Link {
                x: run.x,
                y: run.y - run.size,
                width: end - run.x,
                height: LEADING * run.size,
                to: link,
                tag: run.tag,
            });
        }
        if run.white && !self.setting.white {
            marks.push(Mark::Fill { x: run.x - 2.0, y: run.y - 0.92 * run.size, width: end - run.x + 4.0, height: 1.17 * run.size });
        }
        marks.push(Mark::Run(run));
    }
}

/// Whether a break here would part a number from its unit.
fn parts_unit(before: &str, after: &str) -> bool {
    let unit = after.split(|c: char| !c.is_ascii_alphabetic()).next().unwrap_or("");
    matches!(unit, "deg" | "mm" | "kg" | "N") && before.trim_end_matches(' ').ends_with(|c: char| c.is_ascii_digit())
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
