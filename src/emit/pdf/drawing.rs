//! Drawings on the page: views side by side or one below the other, the key below them; and scenes to a content stream.

use super::content::numbers;
use super::lines::{Align, Setting};
use super::marks::Mark;
use super::setter::Weight;
use super::stack::{Block, Maker};
use super::tags::Kind;
use crate::document::figure::{Anchor, Dash, Drawing, Ink, Mark as Drawn, Path, Pen, Scene, Step, Text};
use crate::error::Error;
use crate::template::tree::{Figure, Inline, plain_text};
use std::fmt::Write;
use std::sync::Arc;

/// Points in a thousandth of a millimetre.
const POINTS: f32 = 72.0 / 25_400.0;
/// Space between the views, and above the key.
const GAP: f32 = 8.0;
/// Space between a view and one below it.
const BELOW: f32 = 4.0;
/// Space between entries of the key.
const KEY_GAP: f32 = 10.0;

fn points(thousandths: i32) -> f32 {
    thousandths as f32 * POINTS
}

impl Maker<'_> {
    /// A drawing under its caption, never split.
    pub(super) fn figure(&mut self, figure: &Figure, width: f32) -> Result<Block, Error> {
        let mut out = Block::default();
        for text in &figure.caption {
            let (before, block) = self.text(text, width)?;
            out.add(if out.height == 0.0 { 0.0 } else { before }, 0.0, block);
        }
        out.height += 3.0;
        let outer = self.setter.tags.open(Kind::Figure);
        let words: Vec<String> = figure.caption.iter().map(|t| plain_text(&t.text)).collect();
        self.setter.tags.describe(words.join(" ").split_whitespace().collect::<Vec<_>>().join(" "));
        let drawn = self.scenes(figure, width, &mut out);
        self.setter.tags.enter(outer);
        drawn.map(|()| out)
    }

    /// The views and the key of a drawing.
    fn scenes(&mut self, figure: &Figure, width: f32, out: &mut Block) -> Result<(), Error> {
        let drawing = &figure.drawing;
        let sizes: Vec<(f32, f32)> = drawing.scenes().map(|s| (points(s.width), points(s.height))).collect();
        if let Some((wide, _)) = sizes.iter().find(|(w, _)| *w > width) {
            return Err(Error::Limit {
                place: format!("the figure {}", figure.item),
                what: format!("it is {wide:.0} pt wide and its column {width:.0} pt; give the print narrower margins"),
            });
        }
        let mut at = (0.0_f32, out.height);
        let mut tall: f32 = 0.0;
        // Where the last view begins, and where it ends below.
        let mut last = (0.0, 0.0);
        let views = drawing.views.len();
        for (part, (w, h)) in sizes.into_iter().enumerate() {
            let gap = if part <= views { GAP } else { KEY_GAP };
            let beside = at.0 > 0.0 && at.0 + gap + w > width + 0.1;
            // A low view stands below another low one, where the rest of the row leaves room for both.
            if part < views && beside && last.0 + w <= width + 0.1 && last.1 + BELOW + h <= at.1 + tall + 0.1 {
                let block = self.scene(drawing, part)?;
                out.overlay(last.0, last.1 + BELOW, block);
                last.1 += BELOW + h;
                continue;
            }
            // The key starts a line of its own.
            if part == views || beside {
                at = (0.0, at.1 + tall + if part <= views { BELOW } else { 0.0 });
                tall = 0.0;
            }
            let x = if at.0 > 0.0 { at.0 + gap } else { 0.0 };
            let block = self.scene(drawing, part)?;
            out.overlay(x, at.1, block);
            last = (x, at.1 + h);
            (at.0, tall) = (x + w, tall.max(h));
        }
        out.height = at.1 + tall;
        Ok(())
    }

    /// A scene: its lines as one mark, its words as runs.
    fn scene(&mut self, drawing: &Arc<Drawing>, part: usize) -> Result<Block, Error> {
        let Some(scene) = drawing.scenes().nth(part) else { return Ok(Block::default()) };
        let mut out = Block {
            height: points(scene.height),
            marks: vec![Mark::Scene { x: 0.0, y: 0.0, drawing: Arc::clone(drawing), part, tag: self.setter.tags.current() }],
        };
        for mark in &scene.marks {
            if let Drawn::Text(text) = mark {
                self.words(text, &mut out)?;
            }
        }
        Ok(out)
    }

    fn words(&mut self, text: &Text, out: &mut Block) -> Result<(), Error> {
        let weight = if text.size.bold() { Weight::Bold } else { Weight::Regular };
        let size = text.size.points() as f32;
        let setting = Setting { size, weight, align: Align::Left, white: false };
        for (i, words) in text.lines.iter().enumerate() {
            let words = Inline::Text(words.clone());
            let inline = match &text.field {
                Some(id) => Inline::Field { id: id.clone(), content: vec![words] },
                None => words,
            };
            for line in self.setter.lines(&[inline], setting, f32::INFINITY)? {
                let x = match text.anchor {
                    Anchor::Start => points(text.at.x),
                    Anchor::Middle => points(text.at.x) - line.width / 2.0,
                    Anchor::End => points(text.at.x) - line.width,
                };
                // A line's baseline stands one size below its top.
                let y = points(text.at.y + text.size.leading() * i as i32) - size;
                out.overlay(x, y, Block { height: line.height, marks: line.marks });
            }
        }
        Ok(())
    }
}

/// Writes the lines and areas of a scene whose upper left corner stands here, in points from the lower left of the page.
pub(super) fn write(scene: &Scene, left: f32, top: f32, out: &mut String) {
    let at = |p: crate::document::figure::Point| [left + points(p.x), top - points(p.y)];
    let trace = |paths: &[Path], out: &mut String| {
        for path in paths {
            numbers(out, at(path.start), "m");
            let mut from = path.start;
            for step in &path.steps {
                if let Step::To(to) = step {
                    numbers(out, at(*to), "l");
                }
                for [first, second, to] in step.curves(from) {
                    let ([a, b], [c, d], [e, f]) = (at(first), at(second), at(to));
                    numbers(out, [a, b, c, d, e, f], "c");
                }
                from = step.end();
            }
            if path.closed {
                out.push_str("h\n");
            }
        }
    };
    for mark in &scene.marks {
        match mark {
            Drawn::Lines { paths, pen } => {
                numbers(out, [points(pen.weight.thickness())], "w");
                dashes(*pen, out);
                trace(paths, out);
                out.push_str("S\n");
                if pen.dash != Dash::Solid {
                    out.push_str("[] 0 d\n");
                }
            }
            Drawn::Fill { paths, ink } => {
                if *ink == Ink::White {
                    out.push_str("1 g\n");
                }
                trace(paths, out);
                out.push_str("f\n");
                if *ink == Ink::White {
                    out.push_str("0 g\n");
                }
            }
            Drawn::Text(_) => {}
        }
    }
}

fn dashes(pen: Pen, out: &mut String) {
    if pen.dash != Dash::Solid {
        out.push('[');
        for length in pen.dash.pattern() {
            let _ = write!(out, "{:.2} ", points(*length));
        }
        out.push_str("] 0 d\n");
    }
}
