//! Marks to the bytes of a page's content stream.

use super::drawing;
use super::forms::Entry;
use super::marks::{Late, Mark, Run};
use super::setter::{Setter, Weight, Word};
use super::tags::{Tag, Tags};
use std::collections::BTreeMap;
use std::fmt::Write;
use subsetter::GlyphRemapper;

/// Glyphs used by the print, in each font: old number to new, and the text each stands for.
pub(super) struct Used {
    pub remappers: [GlyphRemapper; 2],
    pub texts: [BTreeMap<u16, String>; 2],
    /// Each word as it stands between the signs of a shown text, and whether a glyph of it stands for another text elsewhere.
    shown: Vec<(String, bool)>,
}

impl Used {
    /// Collects every glyph of every word.
    pub(super) fn of(setter: &Setter) -> Used {
        let mut used = Used {
            remappers: [GlyphRemapper::new(), GlyphRemapper::new()],
            texts: [BTreeMap::new(), BTreeMap::new()],
            shown: Vec::with_capacity(setter.words.len()),
        };
        for word in &setter.words {
            for glyph in &word.glyphs {
                let new = used.remappers[word.weight as usize].remap(glyph.id);
                if !glyph.text.is_empty() {
                    used.texts[word.weight as usize].entry(new).or_insert_with(|| word.text[glyph.text.clone()].to_owned());
                }
            }
        }
        let shown = setter.words.iter().map(|word| used.word(word)).collect();
        used.shown = shown;
        used
    }

    fn word(&self, word: &Word) -> (String, bool) {
        let (remapper, texts) = (&self.remappers[word.weight as usize], &self.texts[word.weight as usize]);
        let mut out = String::with_capacity(4 * word.glyphs.len());
        let mut odd = false;
        for glyph in &word.glyphs {
            let id = remapper.get(glyph.id);
            odd |= id.and_then(|id| texts.get(&id)).map(String::as_str) != Some(&word.text[glyph.text.clone()]);
            for shift in [12, 8, 4, 0] {
                out.push(char::from(b"0123456789ABCDEF"[usize::from(id.unwrap_or(0) >> shift & 15)]));
            }
            if glyph.kern != 0 {
                let _ = write!(out, ">{}<", -glyph.kern);
            }
        }
        (out, odd)
    }
}

/// Everything needed to write pages; shared between threads.
#[derive(Clone, Copy)]
pub(super) struct Writer<'a> {
    pub words: &'a [Word],
    pub sequence: &'a [u32],
    pub used: &'a Used,
    /// Ids of values, by number.
    pub fields: &'a [String],
    /// Height of the sheet, for turning coordinates up.
    pub height: f32,
    /// Digits of the number of pages.
    pub pages: &'a [Vec<u32>; 2],
    /// The page that each line of the contents leads to.
    pub ways: &'a [Vec<u32>],
    pub tags: &'a Tags,
}

/// A page written.
pub(super) struct Content {
    pub stream: String,
    /// What belongs to which element, in reading order.
    pub belongs: Pieces,
}

/// Pieces of a page with the element each belongs to.
pub(super) type Pieces = Vec<(Tag, Piece)>;

/// What a page has that belongs to an element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Piece {
    /// Words or lines, by their number on the page.
    Content(usize),
    /// A place to fill in: left, bottom, right, top.
    Entry(Entry, [f32; 4]),
    /// An area that leads to an item, by the number of its id.
    Link(u32, [f32; 4]),
}

/// The text state of a stream.
#[derive(Default)]
struct State {
    font: Option<(Weight, f32)>,
    white: bool,
    /// The element whose content is open; none if none is.
    tag: Option<Tag>,
}

/// Opens what only decorates the page.
const ARTIFACT: &str = "/Artifact BMC\n";

/// Writes a number with at most two decimals.
fn number(out: &mut String, value: f32) {
    let hundredths = (value * 100.0).round() as i64;
    if hundredths < 0 {
        out.push('-');
    }
    let value = hundredths.unsigned_abs();
    whole(out, value / 100);
    let (tenth, hundredth) = ((value / 10 % 10) as u8, (value % 10) as u8);
    if tenth != 0 || hundredth != 0 {
        out.push('.');
        out.push(char::from(b'0' + tenth));
    }
    if hundredth != 0 {
        out.push(char::from(b'0' + hundredth));
    }
    out.push(' ');
}

/// Writes a whole number. There are a hundred to a step; the machinery of formats takes three times as long.
pub(super) fn whole(out: &mut String, value: u64) {
    if value >= 10 {
        whole(out, value / 10);
    }
    out.push(char::from(b'0' + (value % 10) as u8));
}

pub(super) fn numbers<const N: usize>(out: &mut String, values: [f32; N], operator: &str) {
    values.into_iter().for_each(|v| number(out, v));
    out.push_str(operator);
    out.push('\n');
}

impl Writer<'_> {
    /// The content of a page whose marks are placed from the given corner.
    pub(super) fn page(&self, marks: &[(f32, f32, &[Mark])]) -> Content {
        let mut out = String::with_capacity(16 << 10);
        let mut count = 0;
        // Pieces with the place of their mark: lines are drawn before words and read among them.
        let mut belongs: Vec<(usize, Tag, Piece)> = Vec::new();
        let placed = || marks.iter().flat_map(|(dx, dy, marks)| marks.iter().map(move |m| (*dx, *dy, m))).enumerate();
        // Areas and lines first, words on top; words in reading order.
        out.push_str(ARTIFACT);
        for (at, (dx, dy, mark)) in placed() {
            match mark {
                Mark::Scene { tag, .. } if *tag != Tag::NONE => {
                    out.push_str("EMC\n");
                    self.open(&mut out, *tag, count, None);
                    belongs.push((at, *tag, Piece::Content(count)));
                    count += 1;
                    self.shape(&mut out, mark, dx, dy);
                    out.push_str("EMC\n");
                    out.push_str(ARTIFACT);
                }
                Mark::Entry { x, y, width, height, entry, tag } => {
                    let (left, top) = (x + dx, self.height - y - dy);
                    belongs.push((at, *tag, Piece::Entry(*entry, [left, top - height, left + width, top])));
                }
                Mark::Link { x, y, width, height, to, tag } if *tag != Tag::NONE => {
                    let (left, top) = (x + dx, self.height - y - dy);
                    belongs.push((at, *tag, Piece::Link(*to, [left, top - height, left + width, top])));
                }
                _ => self.shape(&mut out, mark, dx, dy),
            }
        }
        out.push_str("EMC\nBT\n");
        let mut state = State::default();
        for (at, (dx, dy, mark)) in placed() {
            let (run, words) = match mark {
                Mark::Run(run) => (run, &self.sequence[run.words.clone()]),
                Mark::Late { x, y, size, weight, tag, words } => {
                    let run = Run { x: *x, y: *y, size: *size, weight: *weight, white: false, field: 0, tag: *tag, words: 0..0 };
                    let words = match words {
                        Late::Pages => &self.pages[*weight as usize],
                        Late::Way(at) => &self.ways[*at],
                    };
                    (&run.clone(), words.as_slice())
                }
                _ => continue,
            };
            let spelled = self.spelled(words);
            // Not one within the other: some readers take what is left when an inner one ends for nothing.
            if state.tag != Some(run.tag) || spelled.is_some() {
                if state.tag.is_some() {
                    out.push_str("EMC\n");
                }
                state.tag = if spelled.is_some() { None } else { Some(run.tag) };
                if let (Tag::NONE, Some(text)) = (run.tag, &spelled) {
                    let _ = writeln!(out, "/Span <</ActualText {text}>> BDC");
                } else if run.tag == Tag::NONE {
                    out.push_str(ARTIFACT);
                } else {
                    self.open(&mut out, run.tag, count, spelled.as_deref());
                    belongs.push((at, run.tag, Piece::Content(count)));
                    count += 1;
                }
            }
            self.run(&mut out, run, dx, dy, words, &mut state);
            if spelled.is_some() {
                out.push_str("EMC\n");
            }
        }
        if state.tag.is_some() {
            out.push_str("EMC\n");
        }
        out.push_str("ET\n");
        belongs.sort_by_key(|(at, ..)| *at);
        Content { stream: out, belongs: belongs.into_iter().map(|(_, tag, piece)| (tag, piece)).collect() }
    }

    /// Opens content that belongs to an element; with its text spelled out, if it is read otherwise than by its glyphs.
    fn open(&self, out: &mut String, tag: Tag, number: usize, spelled: Option<&str>) {
        let _ = match spelled {
            Some(text) => writeln!(out, "/Span <</MCID {number}/ActualText {text}>> BDC"),
            None => writeln!(out, "/{} <</MCID {number}>> BDC", self.tags.name(tag)),
        };
    }

    /// The text of a run with a glyph that stands for another text here than elsewhere.
    fn spelled(&self, words: &[u32]) -> Option<String> {
        words.iter().any(|w| self.used.shown[*w as usize].1).then(|| {
            let mut out = "<FEFF".to_owned();
            for unit in words.iter().flat_map(|w| self.words[*w as usize].text.encode_utf16()) {
                let _ = write!(out, "{unit:04X}");
            }
            out + ">"
        })
    }

    fn run(&self, out: &mut String, run: &Run, dx: f32, dy: f32, words: &[u32], state: &mut State) {
        if state.font != Some((run.weight, run.size)) {
            state.font = Some((run.weight, run.size));
            out.push_str(if run.weight == Weight::Bold { "/B " } else { "/R " });
            numbers(out, [run.size], "Tf");
        }
        if state.white != run.white {
            state.white = run.white;
            out.push_str(if run.white { "1 g\n" } else { "0 g\n" });
        }
        numbers(out, [1.0, 0.0, 0.0, 1.0, run.x + dx, self.height - run.y - dy], "Tm");
        // The value's id stands before its words, so that the file can be read back value by value.
        if run.field != 0 {
            out.push_str("/Value <</Id (");
            for c in self.fields[run.field as usize].chars() {
                match c {
                    '(' | ')' | '\\' => drop(write!(out, "\\{c}")),
                    ' '..='~' => out.push(c),
                    c => drop(write!(out, "\\{:03o}", u32::from(c) & 0o377)),
                }
            }
            out.push_str(")>> DP\n");
        }
        out.push_str("[<");
        words.iter().for_each(|w| out.push_str(&self.used.shown[*w as usize].0));
        out.push_str(">]TJ\n");
    }

    fn shape(&self, out: &mut String, mark: &Mark, dx: f32, dy: f32) {
        let up = |y: f32| self.height - y - dy;
        match mark {
            Mark::Run(_) | Mark::Late { .. } | Mark::Link { .. } | Mark::Entry { .. } => {}
            Mark::Scene { x, y, drawing, part, .. } => {
                if let Some(scene) = drawing.scenes().nth(*part) {
                    drawing::write(scene, x + dx, up(*y), out);
                }
            }
            Mark::Frame { x, y, width, height, line } => {
                let half = line / 2.0;
                numbers(out, [*line], "w");
                numbers(out, [x + dx + half, up(y + height - half), width - line, height - line], "re S");
            }
            Mark::Fill { x, y, width, height } => numbers(out, [x + dx, up(y + height), *width, *height], "re f"),
            Mark::Rule { x, y, to_x, to_y, line } => {
                numbers(out, [*line], "w");
                numbers(out, [x + dx, up(*y)], "m");
                numbers(out, [to_x + dx, up(*to_y)], "l S");
            }
            Mark::Shape { points, line, white } => {
                if *white {
                    out.push_str("1 g\n");
                }
                for (i, (x, y)) in points.iter().enumerate() {
                    numbers(out, [x + dx, up(*y)], if i == 0 { "m" } else { "l" });
                }
                match line {
                    Some(line) => {
                        numbers(out, [*line], "w");
                        out.push_str("s\n");
                    }
                    None => out.push_str("h f\n"),
                }
                if *white {
                    out.push_str("0 g\n");
                }
            }
        }
    }
}
