//! Marks to the bytes of a page's content stream.

use super::drawing;
use super::marks::{Mark, Run};
use super::setter::{Setter, Weight};
use std::collections::BTreeMap;
use std::fmt::Write;
use subsetter::GlyphRemapper;

/// Glyphs used by the print, in each font: old number to new, and the text each stands for.
pub(super) struct Used {
    pub remappers: [GlyphRemapper; 2],
    pub texts: [BTreeMap<u16, String>; 2],
}

impl Used {
    /// Collects every glyph of every word.
    pub(super) fn of(setter: &Setter) -> Used {
        let mut used = Used { remappers: [GlyphRemapper::new(), GlyphRemapper::new()], texts: [BTreeMap::new(), BTreeMap::new()] };
        for word in &setter.words {
            for glyph in &word.glyphs {
                let new = used.remappers[word.weight as usize].remap(glyph.id);
                if !glyph.text.is_empty() {
                    used.texts[word.weight as usize].entry(new).or_insert_with(|| glyph.text.clone());
                }
            }
        }
        used
    }
}

/// Everything needed to write pages; shared between threads.
pub(super) struct Writer<'a> {
    pub words: &'a [super::setter::Word],
    pub sequence: &'a [u32],
    pub used: &'a Used,
    /// Ids of values, by number.
    pub fields: &'a [String],
    /// Height of the sheet, for turning coordinates up.
    pub height: f32,
    /// Digits of the number of pages.
    pub pages: [Vec<u32>; 2],
}

/// Writes a number with at most two decimals.
fn number(out: &mut String, value: f32) {
    let hundredths = (value * 100.0).round() as i64;
    if hundredths < 0 {
        out.push('-');
    }
    let value = hundredths.unsigned_abs();
    let _ = write!(out, "{}", value / 100);
    match value % 100 {
        0 => {}
        f if f % 10 == 0 => drop(write!(out, ".{}", f / 10)),
        f => drop(write!(out, ".{f:02}")),
    }
    out.push(' ');
}

pub(super) fn numbers<const N: usize>(out: &mut String, values: [f32; N], operator: &str) {
    values.into_iter().for_each(|v| number(out, v));
    out.push_str(operator);
    out.push('\n');
}

impl Writer<'_> {
    /// The content stream of a page whose marks are placed from the given corner.
    pub(super) fn page(&self, marks: &[(f32, f32, &[Mark])]) -> String {
        let mut out = String::with_capacity(16 << 10);
        // Areas and lines first, words on top; words in reading order.
        for (dx, dy, marks) in marks {
            for mark in *marks {
                self.shape(&mut out, mark, *dx, *dy);
            }
        }
        out.push_str("BT\n");
        let mut font = (None, 0.0);
        let mut white = false;
        for (dx, dy, marks) in marks {
            for mark in *marks {
                match mark {
                    Mark::Run(run) => self.run(&mut out, run, *dx, *dy, &self.sequence[run.words.clone()], &mut font, &mut white),
                    Mark::Pages { x, y, size, weight } => {
                        let run = Run { x: *x, y: *y, size: *size, weight: *weight, white: false, field: 0, words: 0..0 };
                        self.run(&mut out, &run, *dx, *dy, &self.pages[*weight as usize], &mut font, &mut white);
                    }
                    _ => {}
                }
            }
        }
        out.push_str("ET\n");
        out
    }

    #[allow(clippy::too_many_arguments, reason = "the text state of one stream, used in one place")]
    fn run(&self, out: &mut String, run: &Run, dx: f32, dy: f32, words: &[u32], font: &mut (Option<Weight>, f32), white: &mut bool) {
        if *font != (Some(run.weight), run.size) {
            *font = (Some(run.weight), run.size);
            out.push_str(if run.weight == Weight::Bold { "/B " } else { "/R " });
            numbers(out, [run.size], "Tf");
        }
        if *white != run.white {
            *white = run.white;
            out.push_str(if run.white { "1 g\n" } else { "0 g\n" });
        }
        numbers(out, [1.0, 0.0, 0.0, 1.0, run.x + dx, self.height - run.y - dy], "Tm");
        let remapper = &self.used.remappers[run.weight as usize];
        let texts = &self.used.texts[run.weight as usize];
        // The value's id goes with its words, so that the file can be read back value by value.
        if run.field != 0 {
            out.push_str("/Value <</Id (");
            for c in self.fields[run.field as usize].chars() {
                match c {
                    '(' | ')' | '\\' => drop(write!(out, "\\{c}")),
                    ' '..='~' => out.push(c),
                    c => drop(write!(out, "\\{:03o}", u32::from(c) & 0o377)),
                }
            }
            out.push_str(")>> BDC\n");
        }
        // A glyph that stands for another text here than elsewhere gets its text spelled out.
        let odd = words
            .iter()
            .any(|w| self.words[*w as usize].glyphs.iter().any(|g| remapper.get(g.id).and_then(|id| texts.get(&id)) != Some(&g.text)));
        if odd {
            out.push_str("/Span <</ActualText <FEFF");
            for unit in words.iter().flat_map(|w| self.words[*w as usize].text.encode_utf16()) {
                let _ = write!(out, "{unit:04X}");
            }
            out.push_str(">>> BDC\n");
        }
        out.push_str("[<");
        for word in words {
            for glyph in &self.words[*word as usize].glyphs {
                let id = remapper.get(glyph.id).unwrap_or(0);
                for shift in [12, 8, 4, 0] {
                    out.push(char::from(b"0123456789ABCDEF"[usize::from(id >> shift & 15)]));
                }
                if glyph.kern != 0 {
                    let _ = write!(out, ">{}<", -glyph.kern);
                }
            }
        }
        out.push_str(">]TJ\n");
        if odd {
            out.push_str("EMC\n");
        }
        if run.field != 0 {
            out.push_str("EMC\n");
        }
    }

    fn shape(&self, out: &mut String, mark: &Mark, dx: f32, dy: f32) {
        let up = |y: f32| self.height - y - dy;
        match mark {
            Mark::Run(_) | Mark::Pages { .. } | Mark::Link { .. } => {}
            Mark::Scene { x, y, drawing, part } => {
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
