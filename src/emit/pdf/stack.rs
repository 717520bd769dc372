//! Lays nodes out one below the other into a block of fixed width that is never split: cells, boxes, running heads.

use super::grid::Grid;
use super::lines::{Align, Line, Setting};
use super::marks::{Mark, octagon, triangle};
use super::setter::{Setter, Weight};
use super::tags::{Kind, Tag};
use crate::error::Error;
use crate::template::theme::Theme;
use crate::template::tree::{Blank, Bullet, Frame, Inline, List, Node, Panel, Row, Strip, Style, Table, Text, plain_text};

/// A block laid out: marks from its top left corner.
#[derive(Debug, Default, Clone)]
pub(super) struct Block {
    pub height: f32,
    pub marks: Vec<Mark>,
}

impl Block {
    /// Puts another block below, `gap` apart and `dx` to the right.
    pub(super) fn add(&mut self, gap: f32, dx: f32, other: Block) {
        let dy = self.height + gap;
        self.height = dy + other.height;
        self.overlay(dx, dy, other);
    }

    /// Draws another block over this one, moved.
    pub(super) fn overlay(&mut self, dx: f32, dy: f32, mut other: Block) {
        other.marks.iter_mut().for_each(|m| m.shift(dx, dy));
        match self.marks.is_empty() {
            true => self.marks = other.marks,
            false => self.marks.append(&mut other.marks),
        }
    }

    /// Lines one below the other.
    pub(super) fn of(lines: Vec<Line>) -> Block {
        let mut out = Block::default();
        lines.into_iter().for_each(|line| out.add(0.0, 0.0, Block { height: line.height, marks: line.marks }));
        out
    }
}

/// Line around a numbered row; neighbours share it.
pub(super) const ROW_LINE: f32 = 0.8;
/// Line around a cell of a table; neighbours share it.
pub(super) const TABLE_LINE: f32 = 0.5;
/// Space inside cells of rows.
pub(super) const PAD: f32 = 6.0;
/// Space between the columns of a plain table.
pub(super) const GUTTER: f32 = 12.0;

/// Setter and theme: all that laying out needs.
pub(super) struct Maker<'a> {
    pub setter: &'a mut Setter,
    pub theme: &'a Theme,
}

impl Maker<'_> {
    /// How a style is set: size, weight, place, and the space above it.
    pub(super) fn style(&self, style: Style) -> (Setting, f32) {
        let (weight, before) = match style {
            Style::Body => (Weight::Regular, 4.0),
            Style::Title => (Weight::Bold, 0.0),
            Style::Call => (Weight::Bold, 5.0),
            Style::Band => (Weight::Regular, 1.5),
            Style::Push => (Weight::Regular, 2.5),
            Style::Line => (Weight::Regular, 2.5),
            Style::Small => (Weight::Regular, 1.5),
            Style::Label => (Weight::Bold, 4.0),
            Style::Lead => (Weight::Bold, 6.0),
            Style::Mark => (Weight::Regular, 2.0),
            Style::End => (Weight::Regular, 5.0),
            Style::Struck => (Weight::Bold, 4.0),
        };
        let align = if matches!(style, Style::Mark | Style::Struck) { Align::Centre } else { Align::Left };
        (Setting { size: self.theme.size(style), weight, align, white: false }, before)
    }

    /// Lays out within an element of its own.
    pub(super) fn within<T>(&mut self, kind: Kind, work: impl FnOnce(&mut Self) -> T) -> T {
        let outer = self.setter.tags.open(kind);
        let out = work(self);
        self.setter.tags.enter(outer);
        out
    }

    /// Lays out for an item, whose name the places to fill in have.
    pub(super) fn of_item<T>(&mut self, item: Option<&String>, work: impl FnOnce(&mut Self) -> T) -> T {
        let Some(item) = item else { return work(self) };
        let outer = std::mem::replace(&mut self.setter.item, item.clone());
        let out = work(self);
        self.setter.item = outer;
        out
    }

    /// Words of the element that is open, as one block.
    pub(super) fn paragraph(&mut self, inlines: &[Inline], setting: Setting, width: f32) -> Result<Block, Error> {
        self.setter.lines(inlines, setting, width).map(Block::of)
    }

    pub(super) fn text(&mut self, text: &Text, width: f32) -> Result<(f32, Block), Error> {
        let (setting, before) = self.style(text.style);
        if text.style == Style::Struck {
            return Ok((before, self.struck(text, setting, width)?));
        }
        let block = self.within(Kind::P, |m| m.paragraph(&text.text, setting, width))?;
        Ok((before, block))
    }

    /// A box as high as one to write in, with a line through it on both sides of its words.
    fn struck(&mut self, text: &Text, setting: Setting, width: f32) -> Result<Block, Error> {
        const CLEAR: f32 = 8.0;
        let wide = natural(&self.setter.lines(&text.text, setting, f32::INFINITY)?).min(width - 4.0 * CLEAR);
        let words = self.within(Kind::P, |m| m.paragraph(&text.text, setting, wide + 0.1))?;
        let mut out = Block { height: words.height.max(self.theme.blank) + CLEAR, marks: Vec::new() };
        let (left, middle) = ((width - wide) / 2.0, out.height / 2.0);
        out.overlay(left, (out.height - words.height) / 2.0, words);
        out.marks.push(Mark::Frame { x: 0.0, y: 0.0, width, height: out.height, line: 0.6 });
        for (x, to_x) in [(0.0, left - CLEAR), (left + wide + CLEAR, width)] {
            out.marks.push(Mark::Rule { x, y: middle, to_x, to_y: middle, line: 2.0 });
        }
        Ok(out)
    }

    /// Nodes one below the other.
    pub(super) fn stack(&mut self, nodes: &[Node], width: f32) -> Result<Block, Error> {
        self.stack_with(nodes, &mut [], width)
    }

    /// The same with grids whose cells are laid out already, in their order.
    fn stack_with(&mut self, nodes: &[Node], grids: &mut [Grid<'_>], width: f32) -> Result<Block, Error> {
        let mut out = Block::default();
        let mut grids = grids.iter_mut();
        for (i, node) in nodes.iter().enumerate() {
            let known = if matches!(node, Node::Grid(_)) { grids.next() } else { None };
            let (before, block) = match known {
                Some(grid) => self.grid_block(grid, width)?,
                None => self.node(node, width)?,
            };
            out.add(if i == 0 { 0.0 } else { before }, 0.0, block);
        }
        Ok(out)
    }

    /// One node as a block, with the space it wants above.
    pub(super) fn node(&mut self, node: &Node, width: f32) -> Result<(f32, Block), Error> {
        match node {
            Node::Text(text) => self.text(text, width),
            Node::Heading { level, text } => {
                let setting = Setting { size: self.theme.heading(*level), weight: Weight::Bold, align: Align::Left, white: false };
                let block = self.within(Kind::Heading(*level), |m| m.paragraph(text, setting, width))?;
                Ok((if *level == 1 { 12.0 } else { 9.0 }, block))
            }
            Node::List(list) => {
                let mut out = Block::default();
                for (gap, block) in self.list(list, width)? {
                    out.add(if out.height == 0.0 { 0.0 } else { gap }, 0.0, block);
                }
                Ok((3.0, out))
            }
            Node::Table(table) => self.within(Kind::Table, |m| {
                let mut out = m.table_row(&table.head, table, width, true)?;
                for row in &table.rows {
                    let row = m.table_row(row, table, width, false)?;
                    out.add(if table.ruled && out.height > 0.0 { -TABLE_LINE } else { 0.0 }, 0.0, row);
                }
                Ok((5.0, out))
            }),
            Node::Strip(strip) => Ok((8.0, self.strip(strip, width)?)),
            Node::Row(row) => Ok((0.0, self.within(Kind::Rows, |m| m.row(row, width))?)),
            Node::Panel(panel) => Ok((5.0, self.panel(panel, width)?)),
            Node::Group(group) => Ok((0.0, self.of_item(group.item.as_ref(), |m| m.stack(&group.children, width))?)),
            Node::Blanks(blanks) => Ok((4.0, self.blanks(blanks, width)?)),
            Node::Figure(figure) => Ok((8.0, self.figure(figure, width)?)),
            Node::Grid(cells) => {
                let mut grid = self.grid(cells)?;
                self.grid_block(&mut grid, width)
            }
        }
    }

    /// The entries of a list, with the space above each.
    pub(super) fn list(&mut self, list: &List, width: f32) -> Result<Vec<(f32, Block)>, Error> {
        self.within(Kind::L, |m| m.entries(list, width))
    }

    fn entries(&mut self, list: &List, width: f32) -> Result<Vec<(f32, Block)>, Error> {
        let style = if list.small { Style::Small } else { Style::Body };
        let (setting, _) = self.style(style);
        let (indent, gap) = match list.bullet {
            Bullet::Dot => (setting.size * 0.95, if list.small { 1.0 } else { 2.0 }),
            Bullet::Tick => (setting.size * 1.6, 5.0),
        };
        let mut out = Vec::new();
        for item in &list.items {
            let mut block = Block::default();
            let outer = self.setter.tags.open(Kind::LI);
            self.setter.tags.open(Kind::LBody);
            let tick = if list.bullet == Bullet::Tick { self.setter.box_of(None, item) } else { None };
            let body = self.paragraph(item, setting, width - indent)?;
            self.setter.tags.enter(outer);
            match list.bullet {
                Bullet::Dot => {
                    let side = setting.size * 0.24;
                    block.marks.push(Mark::Fill { x: setting.size * 0.22, y: setting.size * 0.60, width: side, height: side });
                }
                Bullet::Tick => {
                    let side = setting.size * 1.05;
                    let frame = Mark::Frame { x: 0.0, y: setting.size * 0.12, width: side, height: side, line: 1.1 };
                    let entry = tick.and_then(|(entry, tag)| frame.entry(entry, tag));
                    block.marks.push(frame);
                    block.marks.extend(entry);
                }
            }
            block.add(0.0, indent, body);
            out.push((gap, block));
        }
        Ok(out)
    }

    /// One row of a table; empty for an empty head.
    pub(super) fn table_row(&mut self, cells: &[Vec<Node>], table: &Table, width: f32, head: bool) -> Result<Block, Error> {
        self.within(Kind::TR, |m| m.cells(cells, table, width, head))
    }

    fn cells(&mut self, cells: &[Vec<Node>], table: &Table, width: f32, head: bool) -> Result<Block, Error> {
        let mut out = Block::default();
        if cells.is_empty() {
            return Ok(out);
        }
        let total: f32 = table.widths.iter().sum();
        let (pad_x, pad_y) = if table.ruled { (4.0, 2.5) } else { (0.0, 1.0) };
        let gutter = if table.ruled { 0.0 } else { GUTTER };
        let mut edges = Vec::new();
        let mut x = 0.0;
        let mut blocks = Vec::new();
        for (cell, weight) in cells.iter().zip(&table.widths) {
            let column = width * weight / total;
            let block = match (head, cell.as_slice()) {
                (true, _) => self.within(Kind::TH, |m| m.bold(cell, column - 2.0 * pad_x))?,
                // A lone paragraph is the cell.
                (false, [Node::Text(text)]) => {
                    let (setting, _) = self.style(text.style);
                    self.within(Kind::TD, |m| m.paragraph(&text.text, setting, column - 2.0 * pad_x - gutter))?
                }
                (false, _) => self.within(Kind::TD, |m| m.stack(cell, column - 2.0 * pad_x - gutter))?,
            };
            out.height = out.height.max(block.height + 2.0 * pad_y);
            blocks.push((x + pad_x, block));
            x += column;
            edges.push(x);
        }
        for (x, block) in blocks {
            out.overlay(x, pad_y, block);
        }
        if table.ruled {
            let line = TABLE_LINE;
            out.marks.push(Mark::Frame { x: 0.0, y: 0.0, width, height: out.height, line });
            edges.pop();
            for x in edges {
                out.marks.push(Mark::Rule { x, y: 0.0, to_x: x, to_y: out.height, line });
            }
            if head {
                out.marks.push(Mark::Rule { x: 0.0, y: out.height, to_x: width, to_y: out.height, line: 1.4 });
            }
        }
        Ok(out)
    }

    fn bold(&mut self, cell: &[Node], width: f32) -> Result<Block, Error> {
        let mut out = Block::default();
        for node in cell {
            if let Node::Text(text) = node {
                let (setting, _) = self.style(text.style);
                let block = self.paragraph(&text.text, Setting { weight: Weight::Bold, ..setting }, width)?;
                out.add(0.0, 0.0, block);
            }
        }
        Ok(out)
    }

    /// The line below a strip that goes on: to what stands at the head of its block, said there and not again.
    pub(super) fn again(&mut self, strip: &Strip, width: f32) -> Result<Block, Error> {
        let (small, _) = self.style(Style::Small);
        let outer = self.setter.tags.enter(Tag::NONE);
        let line = self.paragraph(&strip.again, small, width - 12.0);
        self.setter.tags.enter(outer);
        let mut out = Block::default();
        out.add(0.0, 6.0, line?);
        Ok(out)
    }

    /// View and load in force, between two heavy rules.
    pub(super) fn strip(&mut self, strip: &Strip, width: f32) -> Result<Block, Error> {
        let (setting, _) = self.style(Style::Label);
        let setting = Setting { weight: Weight::Regular, ..setting };
        let mut cells = Vec::new();
        for cell in &strip.cells {
            let natural = natural(&self.setter.lines(cell, setting, f32::INFINITY)?);
            cells.push((cell, natural));
        }
        let gap = 14.0;
        let free = width - 12.0 - gap * cells.len().saturating_sub(1) as f32;
        let wanted: f32 = cells.iter().map(|c| c.1).sum();
        // Short cells keep their line; the long ones share what is left.
        let fair = free / cells.len().max(1) as f32;
        let short: f32 = cells.iter().map(|c| c.1).filter(|w| *w <= fair).sum();
        let share = if wanted > free { (free - short) / (wanted - short) } else { 1.0 };
        let spare = ((free - wanted) / cells.len().saturating_sub(1).max(1) as f32).max(0.0);
        let mut out = Block { height: 4.0, marks: Vec::new() };
        let mut x = 6.0;
        let mut height: f32 = 0.0;
        for (cell, natural) in cells {
            let column = if natural > fair { natural * share } else { natural };
            let block = self.within(Kind::P, |m| m.paragraph(cell, setting, column + 0.1))?;
            height = height.max(block.height);
            out.overlay(x, 4.0, block);
            x += column + gap + spare;
        }
        out.height += height + 3.0;
        let (small, _) = self.style(Style::Small);
        for line in &strip.lines {
            let block = self.within(Kind::P, |m| m.paragraph(line, small, width - 12.0))?;
            out.add(0.0, 6.0, block);
        }
        if !strip.lines.is_empty() {
            out.height += 3.0;
            out.marks.push(Mark::Rule { x: 0.0, y: 5.5 + height, to_x: width, to_y: 5.5 + height, line: 0.5 });
        }
        out.marks.push(Mark::Rule { x: 0.0, y: 1.0, to_x: width, to_y: 1.0, line: 2.0 });
        out.marks.push(Mark::Rule { x: 0.0, y: out.height - 0.4, to_x: width, to_y: out.height - 0.4, line: 0.8 });
        Ok(out)
    }

    /// Labelled spaces to write in, side by side.
    pub(super) fn blanks(&mut self, blanks: &[Blank], width: f32) -> Result<Block, Error> {
        let setting = Setting { size: 8.0 * self.theme.scale, weight: Weight::Regular, align: Align::Left, white: false };
        let total: f32 = blanks.iter().map(|b| b.weight).sum();
        let mut labels = Vec::new();
        let mut tallest: f32 = 0.0;
        for blank in blanks {
            let column = width * blank.weight / total;
            let words = plain_text(&blank.label).split_whitespace().collect::<Vec<_>>().join(" ");
            let place = self.setter.place(&blank.name, &words, false);
            let outer = self.setter.tags.enter(place.map_or(Tag::NONE, |(_, tag)| tag));
            let label = self.paragraph(&blank.label, setting, column - 5.0)?;
            self.setter.tags.enter(outer);
            tallest = tallest.max(label.height);
            labels.push((column, label, place));
        }
        let mut out = Block { height: tallest + self.theme.blank + 1.0, marks: Vec::new() };
        let mut x = 0.0;
        for (column, label, place) in labels {
            out.overlay(x + 3.0, 0.8, label);
            out.marks.push(Mark::Frame { x, y: 0.0, width: column, height: out.height, line: 0.6 });
            if let Some((entry, tag)) = place {
                // Below the label, so that nothing typed covers it.
                let y = tallest + 1.0;
                out.marks.push(Mark::Entry { x: x + 1.0, y, width: column - 2.0, height: out.height - y - 0.8, entry, tag });
            }
            x += column;
        }
        Ok(out)
    }

    /// A numbered row: number, instruction, actual, sign-off. Blanks stand one above the other, and read-outs run below
    /// the whole row, where that saves height.
    pub(super) fn row(&mut self, row: &Row, width: f32) -> Result<Block, Error> {
        self.of_item(Some(&row.item), |m| m.within(Kind::LI, |m| m.best_row(row, width)))
    }

    fn best_row(&mut self, row: &Row, width: f32) -> Result<Block, Error> {
        let (label, body) = (self.setter.tags.add(Kind::Lbl), self.setter.tags.add(Kind::LBody));
        let outer = self.setter.tags.enter(label);
        let columns = self.columns(row, width, false);
        let number = self.number(&row.number, columns.number - PAD - 2.0)?;
        self.setter.tags.enter(body);
        let grids = row.body.iter().filter_map(|n| if let Node::Grid(cells) = n { Some(cells) } else { None });
        let mut grids = grids.map(|cells| self.grid(cells)).collect::<Result<Vec<_>, Error>>()?;
        let words = self.stack_with(&row.body, &mut grids, columns.body - 2.0 * PAD)?;
        let [actual, sign] = self.signed(row, &columns)?;
        let mut best = columns.row([number.clone(), words, actual.clone(), sign.clone()]);
        if !row.actual.is_empty() && !row.sign.is_empty() {
            let stacked = self.columns(row, width, true);
            let words = self.stack_with(&row.body, &mut grids, stacked.body - 2.0 * PAD)?;
            let [mut both, below] = self.signed(row, &stacked)?;
            both.add(4.0, 0.0, below);
            let stacked = stacked.row([number.clone(), words, Block::default(), both]);
            if stacked.height < best.height {
                best = stacked;
            }
        }
        if let Some(at) = row.body.iter().position(|n| matches!(n, Node::Grid(_))) {
            let (before, below) = row.body.split_at(at);
            let words = self.stack(before, columns.body - 2.0 * PAD)?;
            let mut out = columns.row([number, words, actual, sign]);
            let below = self.stack_with(below, &mut grids, width - 2.0 * PAD)?;
            out.add(PAD, PAD, below);
            out.height += PAD;
            if out.height < best.height {
                let frame = Mark::Frame { x: 0.0, y: 0.0, width, height: out.height, line: ROW_LINE };
                out.marks.push(frame);
                best = out;
            }
        }
        self.setter.tags.enter(outer);
        Ok(best)
    }

    /// How wide the cells of a row are.
    fn columns(&self, row: &Row, width: f32, stacked: bool) -> Columns {
        let (c, scale) = (self.theme.row, self.theme.scale);
        let number = c.number * scale;
        let mut actual = if row.actual.is_empty() { 0.0 } else { c.actual * scale };
        let mut sign = if row.sign.is_empty() { 0.0 } else { c.sign * scale };
        if stacked {
            (actual, sign) = (0.0, actual.max(sign));
        }
        Columns { width, number, body: width - number - actual - sign, actual, sign, stacked }
    }

    /// The blank for an actual value, and the sign-off.
    fn signed(&mut self, row: &Row, columns: &Columns) -> Result<[Block; 2], Error> {
        let actual = if columns.stacked { columns.sign - 8.0 } else { (columns.actual - 8.0).max(0.0) };
        Ok([self.stack(&row.actual, actual)?, self.stack(&row.sign, (columns.sign - 8.0).max(0.0))?])
    }

    /// The number of a row: as large as its column allows, so that 13A.1 is not broken.
    pub(super) fn number(&mut self, nodes: &[Node], width: f32) -> Result<Block, Error> {
        let mut out = Block::default();
        for node in nodes {
            if let Node::Text(text) = node {
                let (mut setting, _) = self.style(text.style);
                setting.size = self.theme.text.number * self.theme.scale;
                let lines = self.setter.lines(&text.text, setting, f32::INFINITY)?;
                let natural = natural(&lines);
                if natural <= width && setting.align == Align::Left {
                    out.add(0.0, 0.0, Block::of(lines));
                    continue;
                }
                let size = if natural > width { (setting.size * width / natural).max(8.0) } else { setting.size };
                let dy = setting.size - size;
                setting.size = size;
                let block = self.paragraph(&text.text, setting, width + 1.0)?;
                out.add(dy, 0.0, block);
            }
        }
        Ok(out)
    }

    /// A framed box. Border weight falls from WARNING over CAUTION to NOTE; a hold point has a double frame.
    pub(super) fn panel(&mut self, panel: &Panel, width: f32) -> Result<Block, Error> {
        let title = plain_text(&panel.title).split_whitespace().collect::<Vec<_>>().join(" ");
        let outer = std::mem::replace(&mut self.setter.title, title);
        let out = self.of_item(panel.item.as_ref(), |m| m.within(Kind::Div, |m| m.panel_of(panel, width)));
        self.setter.title = outer;
        out
    }

    fn panel_of(&mut self, panel: &Panel, width: f32) -> Result<Block, Error> {
        let (line, dark, sign) = match panel.frame {
            Frame::Warning => (3.2, true, true),
            Frame::Caution => (1.8, false, true),
            Frame::Note => (0.6, false, false),
            Frame::Hold => (2.4, true, true),
            Frame::Witness => (1.2, false, false),
            Frame::Plain => (1.0, false, false),
        };
        let alert = matches!(panel.frame, Frame::Warning | Frame::Caution);
        let double = matches!(panel.frame, Frame::Hold | Frame::Witness);
        let inset = line + if double { 3.0 } else { 0.0 };
        let mut setting = self.style(Style::Lead).0;
        setting.white = dark;
        if alert {
            setting.size *= 1.2;
            setting.align = Align::Centre;
        }
        let sign_room = if sign { setting.size * 1.7 } else { 0.0 };
        let left = sign_room;
        let right = if alert { sign_room } else { 0.0 };
        let title = self.within(Kind::P, |m| m.paragraph(&panel.title, setting, width - 2.0 * inset - 16.0 - left - right))?;
        let bar = title.height + 5.0;
        let mut out = Block { height: inset + bar, marks: Vec::new() };
        if dark {
            out.marks.push(Mark::Fill { x: inset, y: inset, width: width - 2.0 * inset, height: bar });
        } else if alert {
            out.marks.push(Mark::Rule { x: inset, y: inset + bar, to_x: width - inset, to_y: inset + bar, line: 1.0 });
        }
        let (top, size) = (inset + 3.4, setting.size * 1.05);
        match panel.frame {
            Frame::Hold => out.marks.push(octagon(inset + 8.0, top, size, true)),
            Frame::Warning | Frame::Caution => {
                let white = panel.frame == Frame::Warning;
                // Beside the words, however long a language has them.
                let natural = natural(&self.setter.lines(&panel.title, setting, f32::INFINITY)?);
                let near = (width / 2.0 - (natural / 2.0 + setting.size * 2.0).max(setting.size * 4.8)).max(inset + size);
                out.marks.extend(triangle(near - size, top, size, white));
                out.marks.extend(triangle(width - near - size * 0.12, top, size, white));
            }
            _ => {}
        }
        out.overlay(inset + 8.0 + left, inset + 2.5, title);
        let inner = width - 2.0 * inset - 16.0;
        let body = self.stack(&panel.children, inner)?;
        if body.height > 0.0 {
            out.add(if dark || alert { 4.0 } else { 0.0 }, inset + 8.0, body);
        }
        out.height += 4.0 + inset;
        out.marks.push(Mark::Frame { x: 0.0, y: 0.0, width, height: out.height, line });
        if double {
            out.marks.push(Mark::Frame {
                x: line + 2.0,
                y: line + 2.0,
                width: width - 2.0 * line - 4.0,
                height: out.height - 2.0 * line - 4.0,
                line: 0.6,
            });
        }
        Ok(out)
    }
}

/// How wide the cells of a numbered row are.
struct Columns {
    /// Of the whole row.
    width: f32,
    number: f32,
    body: f32,
    actual: f32,
    sign: f32,
    /// The blank for an actual value stands over the sign-off.
    stacked: bool,
}

impl Columns {
    /// The row of these cells.
    fn row(&self, [number, body, actual, sign]: [Block; 4]) -> Block {
        let mut cells = vec![(0.0, PAD, number), (self.number, PAD, body)];
        if !self.stacked {
            cells.push((self.number + self.body, 4.0, actual));
        }
        cells.push((self.number + self.body + self.actual, 4.0, sign));
        let height = cells.iter().map(|(_, _, b)| b.height + 2.0 * 5.0).fold(24.0, f32::max);
        let mut out = Block { height, marks: Vec::new() };
        out.marks.push(Mark::Frame { x: 0.0, y: 0.0, width: self.width, height, line: ROW_LINE });
        for (i, (x, pad, block)) in cells.into_iter().enumerate() {
            if i > 0 && !block.marks.is_empty() {
                out.marks.push(Mark::Rule { x, y: 0.0, to_x: x, to_y: height, line: 0.5 });
            }
            out.overlay(x + pad, 5.0, block);
        }
        out
    }
}

/// How wide lines are.
pub(super) fn natural(lines: &[Line]) -> f32 {
    lines.iter().map(|l| l.width).fold(0.0, f32::max)
}
