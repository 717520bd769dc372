//! Grids: ticked cells side by side, such as expected read-outs. Each cell is laid out once, and placed for every width that is tried.

use super::marks::Mark;
use super::stack::{Block, Maker, natural};
use super::tags::Kind;
use crate::error::Error;
use crate::template::tree::{Inline, Style};
use std::borrow::Cow;

/// Space left and right inside cells.
const CELL: f32 = 5.0;

/// A grid: its cells as they stand, and with three lines each once that was tried.
pub(super) struct Grid<'n> {
    wide: Cells<'n>,
    slim: Option<Cells<'n>>,
}

/// Cells of a grid, with how wide each wants to be and what it then looks like.
struct Cells<'n> {
    words: Cow<'n, [Vec<Inline>]>,
    laid: Vec<(f32, Block)>,
}

impl Maker<'_> {
    /// The cells of a grid, each as wide as it wants to be.
    pub(super) fn grid<'n>(&mut self, cells: &'n [Vec<Inline>]) -> Result<Grid<'n>, Error> {
        Ok(Grid { wide: self.natural_cells(Cow::Borrowed(cells))?, slim: None })
    }

    fn natural_cells<'n>(&mut self, words: Cow<'n, [Vec<Inline>]>) -> Result<Cells<'n>, Error> {
        let (setting, _) = self.style(Style::Line);
        let mut laid = Vec::with_capacity(words.len());
        for cell in words.iter() {
            let lines = self.within(Kind::P, |m| m.setter.lines(cell, setting, f32::INFINITY))?;
            laid.push((natural(&lines), Block::of(lines)));
        }
        Ok(Cells { words, laid })
    }

    /// Cells side by side, as many as fit; each row is a block. Cells of three lines are taken where they save height.
    pub(super) fn grid_rows(&mut self, grid: &mut Grid<'_>, width: f32) -> Result<Vec<Block>, Error> {
        let wide = self.rows_of(&grid.wide, width)?;
        if wide.len() < 2 {
            return Ok(wide);
        }
        let slim = match grid.slim.take() {
            Some(slim) => slim,
            None => self.natural_cells(grid.wide.words.iter().map(|c| slim(c)).collect())?,
        };
        let slim = self.rows_of(grid.slim.insert(slim), width)?;
        let tall = |rows: &[Block]| rows.iter().map(|r| r.height).sum::<f32>();
        Ok(if tall(&slim) < tall(&wide) { slim } else { wide })
    }

    /// The same as one block, with the space it wants above.
    pub(super) fn grid_block(&mut self, grid: &mut Grid<'_>, width: f32) -> Result<(f32, Block), Error> {
        let mut out = Block::default();
        self.grid_rows(grid, width)?.into_iter().for_each(|row| out.add(0.0, 0.0, row));
        Ok((4.0, out))
    }

    fn rows_of(&mut self, cells: &Cells<'_>, width: f32) -> Result<Vec<Block>, Error> {
        let (setting, _) = self.style(Style::Line);
        let count = cells.laid.len();
        let widest = cells.laid.iter().map(|(natural, _)| *natural).fold(60.0, f32::max);
        let columns = ((width / (widest + 2.0 * CELL)) as usize).clamp(1, count.max(1));
        // Even rows: six cells become three and three, not four and two.
        let rows = count.div_ceil(columns);
        let columns = count.div_ceil(rows.max(1)).max(1);
        let column = width / columns as f32;
        let room = column - 2.0 * CELL + 0.1;
        let mut out = Vec::new();
        for row in cells.words.iter().zip(&cells.laid).collect::<Vec<_>>().chunks(columns) {
            let mut block = Block::default();
            let mut laid = Vec::new();
            for (words, (natural, cell)) in row {
                let cell = match *natural <= room {
                    true => cell.clone(),
                    false => self.within(Kind::P, |m| m.paragraph(words, setting, room))?,
                };
                block.height = block.height.max(cell.height + 6.0);
                laid.push(cell);
            }
            for (i, cell) in laid.into_iter().enumerate() {
                let x = column * i as f32;
                block.overlay(x + CELL, 2.5, cell);
                block.marks.push(Mark::Frame { x, y: 0.0, width: column, height: block.height, line: 0.5 });
            }
            out.push(block);
        }
        Ok(out)
    }
}

/// A cell of a grid with its first value on a line of its own.
fn slim(cell: &[Inline]) -> Vec<Inline> {
    let mut out = Vec::with_capacity(cell.len() + 1);
    let mut rest = cell.iter();
    for inline in rest.by_ref() {
        out.push(inline.clone());
        if matches!(inline, Inline::Field { .. }) {
            out.push(Inline::Break);
            break;
        }
    }
    match rest.clone().next() {
        Some(Inline::Text(text)) => {
            out.push(Inline::Text(text.trim_start().to_owned()));
            out.extend(rest.skip(1).cloned());
        }
        _ => out.extend(rest.cloned()),
    }
    out
}
