//! The words of a print, shaped on all threads before it is laid out on one.
//!
//! How a word will be set is guessed from where it stands. What is guessed wrong is shaped when it is met, and what is not met is not
//! printed: the print is the same with and without.

use super::shape::{Faces, Plans, Weight, Word};
use super::stack::plain;
use crate::template::tree::{Inline, Node, Style};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use unicode_linebreak::linebreaks;

/// Shaped words by weight.
pub(super) type Words = [FxHashMap<String, Word>; 2];

/// Words so few that shaping them takes no longer than waking a thread for them.
const FEW: usize = 64;

/// Shapes the words of these nodes; what cannot be shaped is left to be told of when it is met.
pub(super) fn shape(faces: &Faces, body: &[Node]) -> Words {
    let mut found = Found::default();
    found.nodes(body);
    let share = (found.order.len() / rayon::current_num_threads() + 1).max(FEW);
    let shaped: Vec<Vec<Word>> = found
        .order
        .par_chunks(share)
        .map(|words| {
            let mut plans = Plans::default();
            words.iter().filter_map(|(word, weight)| faces.shape(&mut plans, word, *weight).ok()).collect()
        })
        .collect();
    let mut out = Words::default();
    for word in shaped.into_iter().flatten() {
        out[word.weight as usize].insert(word.text.clone(), word);
    }
    out
}

/// Different words in the order in which they are met.
#[derive(Default)]
struct Found<'t> {
    known: FxHashSet<(&'t str, Weight)>,
    order: Vec<(&'t str, Weight)>,
}

impl<'t> Found<'t> {
    fn nodes(&mut self, nodes: &'t [Node]) {
        for node in nodes {
            match node {
                Node::Heading { text, .. } => self.inlines(text, Weight::Bold),
                Node::Text(text) => self.inlines(&text.text, plain(text.style).0),
                Node::List(list) => list.items.iter().for_each(|item| self.inlines(item, Weight::Regular)),
                Node::Table(table) => [&table.head].into_iter().chain(&table.rows).flatten().for_each(|cell| self.nodes(cell)),
                Node::Strip(strip) => strip.cells.iter().chain(&strip.lines).for_each(|line| self.inlines(line, Weight::Regular)),
                Node::Row(row) => [&row.number, &row.body, &row.actual, &row.sign].into_iter().for_each(|part| self.nodes(part)),
                Node::Panel(panel) => {
                    self.inlines(&panel.title, plain(Style::Lead).0);
                    self.nodes(&panel.children);
                }
                Node::Group(group) => self.nodes(&group.children),
                Node::Blanks(blanks) => blanks.iter().for_each(|blank| self.inlines(&blank.label, Weight::Regular)),
                Node::Grid(cells) => cells.iter().for_each(|cell| self.inlines(cell, plain(Style::Line).0)),
                Node::Figure(figure) => figure.caption.iter().for_each(|text| self.inlines(&text.text, plain(text.style).0)),
            }
        }
    }

    fn inlines(&mut self, inlines: &'t [Inline], weight: Weight) {
        for inline in inlines {
            match inline {
                Inline::Text(text) => self.text(text, weight),
                Inline::Field { content, .. } | Inline::Link { content, .. } => self.inlines(content, weight),
                Inline::Strong(content) | Inline::Solid(content) => self.inlines(content, Weight::Bold),
                Inline::Plain(content) => self.inlines(content, Weight::Regular),
                Inline::Tick(_) | Inline::BigTick | Inline::Break | Inline::Page | Inline::Pages => {}
            }
        }
    }

    fn text(&mut self, text: &'t str, weight: Weight) {
        for word in text.split([' ', '\u{a0}', '\n']).filter(|w| !w.is_empty()) {
            if word.bytes().all(|b| b.is_ascii_alphanumeric()) {
                self.word(word, weight);
                continue;
            }
            let mut start = 0;
            for (end, _) in linebreaks(word) {
                self.word(&word[start..end], weight);
                start = end;
            }
        }
    }

    fn word(&mut self, word: &'t str, weight: Weight) {
        if self.known.insert((word, weight)) {
            self.order.push((word, weight));
        }
    }
}
