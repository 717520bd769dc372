//! Rows taller than a page. Numbered ones are broken between their lines, with the number again over each part.
//!
//! Only whole lines are parted: a move keeps its band and what the hand does, a labelled line its words. What is signed
//! stands with the last part. `readback` looks for the same two phrases.

use super::lines::Setting;
use super::marks::Mark;
use super::setter::Weight;
use super::stack::{Block, GUTTER, Maker, PAD, ROW_LINE};
use super::tags::{Kind, Tag};
use crate::error::Error;
use crate::template::tree::{Inline, Node, Row, Style, Table};
use crate::words::ids;

/// Space above and below what stands in a row.
const EDGE: f32 = 5.0;

/// Lines that stay together, with the space above them.
type Unit = (f32, Block);

impl Maker<'_> {
    /// A row in parts of at most the given heights: the first, and each of the others. None if a line of it is taller.
    pub(super) fn row_parts(&mut self, row: &Row, width: f32, rooms: [f32; 2]) -> Result<Option<Vec<Block>>, Error> {
        self.of_item(Some(&row.item), |m| m.within(Kind::LI, |m| m.parts(row, width, rooms)))
    }

    fn parts(&mut self, row: &Row, width: f32, rooms: [f32; 2]) -> Result<Option<Vec<Block>>, Error> {
        let (columns, scale) = (self.theme.row, self.theme.scale);
        let number = columns.number * scale;
        let column = |cell: &[Node], width: f32| if cell.is_empty() { 0.0 } else { width * scale };
        let sign = column(&row.actual, columns.actual).max(column(&row.sign, columns.sign));
        let body = width - number - sign;
        let first = self.within(Kind::Lbl, |m| m.number(&row.number, number - PAD - 2.0))?;
        let outer = self.setter.tags.open(Kind::LBody);
        let units = self.units(&row.body, body - 2.0 * PAD)?;
        let mut signed = self.stack(&row.actual, (sign - 8.0).max(0.0))?;
        let below = self.stack(&row.sign, (sign - 8.0).max(0.0))?;
        signed.add(if row.actual.is_empty() { 0.0 } else { 4.0 }, 0.0, below);
        self.setter.tags.enter(outer);
        let outer = self.setter.tags.enter(Tag::NONE);
        // Over each part but the first, and under each but the last.
        let said = std::sync::Arc::clone(&self.setter.said);
        let (again, more) = (said.say(ids::PAGE_CONTINUED), said.say(ids::PAGE_MORE));
        let notes = (self.note(again, body)?, self.note(more, body)?);
        let Some(parts) = fill(units, rooms, [notes.0.height, notes.1.height]) else {
            self.setter.tags.enter(outer);
            return Ok(None);
        };
        let count = parts.len();
        let (mut first, mut signed) = (Some(first), Some(signed));
        let mut out = Vec::with_capacity(count);
        for (n, units) in parts.into_iter().enumerate() {
            let mut words = Block::default();
            if n > 0 {
                let again = self.note(again, body)?;
                words.add(0.0, 0.0, again);
            }
            for (gap, block) in units {
                words.add(if words.height == 0.0 { 0.0 } else { gap }, 0.0, block);
            }
            if n + 1 < count {
                let more = self.note(more, body)?;
                words.add(EDGE, 0.0, more);
            }
            let number_block = match first.take() {
                Some(block) => block,
                None => self.number(&row.number, number - PAD - 2.0)?,
            };
            let mut cells = vec![(0.0, PAD, number_block), (number, PAD, words)];
            if n + 1 == count {
                cells.extend(signed.take().map(|s| (number + body, 4.0, s)));
            }
            let height = cells.iter().map(|(_, _, b)| b.height + 2.0 * EDGE).fold(24.0, f32::max);
            if height > rooms[n.min(1)] {
                self.setter.tags.enter(outer);
                return Ok(None);
            }
            let mut block = Block { height, marks: Vec::new() };
            block.marks.push(Mark::Frame { x: 0.0, y: 0.0, width, height, line: ROW_LINE });
            for (i, (x, pad, cell)) in cells.into_iter().enumerate() {
                if i > 0 && !cell.marks.is_empty() {
                    block.marks.push(Mark::Rule { x, y: 0.0, to_x: x, to_y: height, line: 0.5 });
                }
                block.overlay(x + pad, EDGE, cell);
            }
            out.push(block);
        }
        self.setter.tags.enter(outer);
        Ok(Some(out))
    }

    /// The lines of a row that are never parted.
    fn units(&mut self, nodes: &[Node], width: f32) -> Result<Vec<Unit>, Error> {
        let mut out: Vec<Unit> = Vec::new();
        let mut ends = true;
        for node in nodes {
            let (gap, block) = self.node(node, width)?;
            let style = match node {
                Node::Text(text) => Some(text.style),
                _ => None,
            };
            // A label leads to what is under it; a band belongs to its call, and so does all that is no line of text.
            let begins = style.is_some_and(|s| !matches!(s, Style::Band | Style::Push));
            match out.last_mut() {
                Some((_, last)) if !begins || !ends => last.add(gap, 0.0, block),
                _ => out.push((gap, block)),
            }
            ends = style != Some(Style::Label);
        }
        Ok(out)
    }

    /// The lines of a row of a plain table, one below the other, for a row that takes more than half a page. None if a cell
    /// holds more than words.
    pub(super) fn row_lines(&mut self, row: &[Vec<Node>], table: &Table, width: f32) -> Result<Option<Vec<Block>>, Error> {
        if table.ruled || !row.iter().all(|cell| matches!(cell.as_slice(), [Node::Text(_)])) {
            return Ok(None);
        }
        let total: f32 = table.widths.iter().sum();
        self.within(Kind::TR, |m| {
            let mut out: Vec<Block> = Vec::new();
            let mut x = 0.0;
            for (text, weight) in row.iter().flatten().zip(&table.widths) {
                let column = width * weight / total;
                let Node::Text(text) = text else { continue };
                let (setting, _) = m.style(text.style);
                let lines = m.within(Kind::TD, |m| m.setter.lines(&text.text, setting, column - GUTTER))?;
                for (n, line) in lines.into_iter().enumerate() {
                    if n == out.len() {
                        out.push(Block::default());
                    }
                    out[n].height = out[n].height.max(line.height);
                    out[n].overlay(x, 0.0, Block { height: line.height, marks: line.marks });
                }
                x += column;
            }
            Ok(Some(out))
        })
    }

    fn note(&mut self, words: &str, width: f32) -> Result<Block, Error> {
        let (setting, _) = self.style(Style::Label);
        self.paragraph(&[Inline::Text(words.to_owned())], Setting { weight: Weight::Bold, ..setting }, width - 2.0 * PAD)
    }
}

/// Shares units out over parts, as many to each as fit; none if one fits nowhere. `notes` are the heights of what stands over
/// all parts but the first, and under all but the last.
fn fill(units: Vec<Unit>, rooms: [f32; 2], [again, more]: [f32; 2]) -> Option<Vec<Vec<Unit>>> {
    let mut parts: Vec<Vec<Unit>> = vec![Vec::new()];
    let mut used = 0.0;
    let count = units.len();
    for (i, unit) in units.into_iter().enumerate() {
        let foot = if i + 1 < count { EDGE + more } else { 0.0 };
        let fits = |n: usize, used: f32| used + unit.0 + unit.1.height + foot + 2.0 * EDGE <= rooms[n.min(1)];
        if !fits(parts.len() - 1, used) {
            if parts.last().is_some_and(Vec::is_empty) || !fits(1, again) {
                return None;
            }
            parts.push(Vec::new());
            used = again;
        }
        used += unit.0 + unit.1.height;
        parts.last_mut()?.push(unit);
    }
    Some(parts)
}
