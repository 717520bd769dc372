//! What is drawn: runs of words, rules, boxes. Coordinates run from the top left, downwards, in points.

use super::forms::Entry;
use super::galley::Numbers;
use super::setter::Weight;
use super::tags::Tag;
use crate::document::figure::Drawing;
use std::ops::Range;
use std::sync::Arc;

/// Side of the large box to tick.
pub(super) const BIG_TICK: f32 = 19.0;

/// Words set in one look on one baseline.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub x: f32,
    pub y: f32,
    pub size: f32,
    pub weight: Weight,
    pub white: bool,
    /// The value it is part of, by number; 0 for none.
    pub field: u32,
    /// The element it is part of.
    pub tag: Tag,
    /// Into the setter's sequence of words.
    pub words: Range<usize>,
}

/// What is not known before all pages are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Late {
    /// The number of pages.
    Pages,
    /// The page that a line of the contents leads to: into the setter's [`ways`](super::setter::Setter::ways).
    Way(usize),
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    Run(Run),
    /// Words that are put in when they are known.
    Late {
        x: f32,
        y: f32,
        size: f32,
        weight: Weight,
        tag: Tag,
        words: Late,
    },
    /// A frame; the line lies inside the given edges.
    Frame {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        line: f32,
    },
    /// An area that leads to an item, by the number of its id.
    Link {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        to: u32,
        tag: Tag,
    },
    /// A place to fill in; what is drawn round it is a mark of its own.
    Entry {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        entry: Entry,
        tag: Tag,
    },
    /// A black area.
    Fill {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    /// A straight line, level or upright.
    Rule {
        x: f32,
        y: f32,
        to_x: f32,
        to_y: f32,
        line: f32,
    },
    /// A closed shape; white ones lie on black.
    Shape {
        points: Vec<(f32, f32)>,
        line: Option<f32>,
        white: bool,
    },
    /// The lines and areas of one scene of a drawing.
    Scene {
        x: f32,
        y: f32,
        drawing: Arc<Drawing>,
        part: usize,
        tag: Tag,
    },
}

impl Mark {
    /// A box to tick, standing on a baseline.
    pub(super) fn tick(x: f32, baseline: f32, size: f32) -> Mark {
        let side = size * 0.76;
        Mark::Frame { x: x + 0.3, y: baseline - side + size * 0.03, width: side, height: side, line: 0.9 }
    }

    /// The large box of a row.
    pub(super) fn big_tick(x: f32) -> Mark {
        Mark::Frame { x, y: 1.0, width: BIG_TICK, height: BIG_TICK, line: 1.3 }
    }

    /// The bar beside a row that was changed.
    pub(super) fn change_bar(height: f32) -> Mark {
        Mark::Fill { x: -9.0, y: 0.0, width: 3.0, height }
    }

    /// What is filled in within this frame, such as a tick in its box.
    pub(super) fn entry(&self, entry: Entry, tag: Tag) -> Option<Mark> {
        match self {
            Mark::Frame { x, y, width, height, line } if tag != Tag::NONE => {
                Some(Mark::Entry { x: x + line, y: y + line, width: width - 2.0 * line, height: height - 2.0 * line, entry, tag })
            }
            _ => None,
        }
    }

    /// Gives it the numbers that it has in the whole.
    pub(super) fn renumber(&mut self, of: &Numbers<'_>) {
        let field = |number: &mut u32| *number = of.fields[*number as usize];
        match self {
            Mark::Run(run) => {
                field(&mut run.field);
                run.tag = run.tag.moved(of.tags);
                run.words = run.words.start + of.sequence..run.words.end + of.sequence;
            }
            Mark::Late { tag, words, .. } => {
                *tag = tag.moved(of.tags);
                if let Late::Way(at) = words {
                    *at += of.ways;
                }
            }
            Mark::Link { to, tag, .. } => {
                field(to);
                *tag = tag.moved(of.tags);
            }
            Mark::Entry { entry, tag, .. } => {
                field(&mut entry.name);
                field(&mut entry.words);
                *tag = tag.moved(of.tags);
            }
            Mark::Scene { tag, .. } => *tag = tag.moved(of.tags),
            Mark::Frame { .. } | Mark::Fill { .. } | Mark::Rule { .. } | Mark::Shape { .. } => {}
        }
    }

    /// Moves it.
    pub(super) fn shift(&mut self, dx: f32, dy: f32) {
        match self {
            Mark::Run(Run { x, y, .. })
            | Mark::Late { x, y, .. }
            | Mark::Frame { x, y, .. }
            | Mark::Fill { x, y, .. }
            | Mark::Scene { x, y, .. }
            | Mark::Entry { x, y, .. }
            | Mark::Link { x, y, .. } => {
                *x += dx;
                *y += dy;
            }
            Mark::Rule { x, y, to_x, to_y, .. } => {
                *x += dx;
                *y += dy;
                *to_x += dx;
                *to_y += dy;
            }
            Mark::Shape { points, .. } => points.iter_mut().for_each(|p| {
                p.0 += dx;
                p.1 += dy;
            }),
        }
    }
}

/// A filled upright triangle with an exclamation mark cut out, `size` high.
pub(super) fn triangle(x: f32, y: f32, size: f32, white: bool) -> Vec<Mark> {
    let w = size * 1.12;
    let bar = size * 0.09;
    let middle = x + w / 2.0;
    let rect = |x0: f32, y0: f32, x1: f32, y1: f32| Mark::Shape {
        points: vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)],
        line: None,
        white: !white,
    };
    vec![
        Mark::Shape { points: vec![(x, y + size), (middle, y), (x + w, y + size)], line: None, white },
        rect(middle - bar, y + size * 0.36, middle + bar, y + size * 0.70),
        rect(middle - bar, y + size * 0.76, middle + bar, y + size * 0.91),
    ]
}

/// A stop sign's outline, filled, `size` across.
pub(super) fn octagon(x: f32, y: f32, size: f32, white: bool) -> Mark {
    let c = size * 0.293;
    let s = size;
    let points = [(c, 0.0), (s - c, 0.0), (s, c), (s, s - c), (s - c, s), (c, s), (0.0, s - c), (0.0, c)];
    Mark::Shape { points: points.iter().map(|(px, py)| (x + px, y + py)).collect(), line: None, white }
}
