//! Nodes to fragments: the smallest things that are never split, with what keeps them together.

use super::lines::Setting;
use super::marks::Mark;
use super::paginate::least;
use super::setter::{Setter, Weight};
use super::stack::{Block, Maker, ROW_LINE, TABLE_LINE};
use super::tags::{Kind, Tag};
use crate::error::Error;
use crate::template::theme::Theme;
use crate::template::tree::{Frame, Group, GroupKind, Inline, Node, Panel, Row, Style, plain_text};
use crate::words::ids;
use std::rc::Rc;

/// A thing that is never split over pages.
#[derive(Debug, Default)]
pub(super) struct Fragment {
    pub block: Block,
    /// Space above, unless it starts a page.
    pub before: f32,
    /// Stands on the page of the next fragment.
    pub keep: bool,
    /// The end of a paragraph in the head of a block: it is parted from what comes next where no page takes both, and the
    /// last one before any other.
    pub parts: bool,
    /// Whether it starts a page.
    pub turn: Turn,
    /// Marked at the outer edge of its page.
    pub edge: bool,
    /// What is repeated above it when it starts a page: into [`Flow::heads`].
    pub head: usize,
    /// Rails of the insets it stands in, at these distances from the left.
    pub rails: Vec<f32>,
    /// Items that begin with it, for links.
    pub items: Vec<String>,
    /// A line of the outline.
    pub bookmark: Option<(u8, String)>,
    /// A numbered row or a table head: it shares its border with the next.
    pub row: bool,
    /// A hold point: what comes next is not the last thing below it on its page.
    pub hold: bool,
    /// The drawing of what stands before it.
    pub figure: bool,
    /// The strip of a block: it takes the place of the one repeated until here.
    pub strip: bool,
    /// Left out where the page does not take it beside the rest.
    pub spare: bool,
    /// For messages.
    pub name: String,
}

/// Whether a fragment starts a page.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) enum Turn {
    /// Where it fits.
    #[default]
    No,
    /// On a fresh page, unless this one is still mostly empty.
    Fresh,
    /// Always.
    Always,
}

impl Turn {
    /// Of what comes behind a node that stands at this one.
    pub(super) fn behind(self, node: &Node) -> Turn {
        let Node::Group(group) = node else { return Turn::No };
        Turn::behind_group(group.kind).unwrap_or_else(|| group.children.iter().fold(self, Turn::behind))
    }

    /// Of what comes behind a group; none where that hangs on what is in it.
    fn behind_group(kind: GroupKind) -> Option<Turn> {
        match kind {
            GroupKind::Front => Some(Turn::Fresh),
            GroupKind::Contingency | GroupKind::Sheet => Some(Turn::Always),
            GroupKind::Plain | GroupKind::Inset => None,
        }
    }
}

/// All fragments of a print.
#[derive(Debug, Default)]
pub(super) struct Flow {
    pub fragments: Vec<Fragment>,
    /// Sets of repeated heads; the first is empty.
    pub heads: Vec<Vec<Fragment>>,
    /// Items begun since the last fragment.
    pub items: Vec<String>,
}

impl Flow {
    /// Goes on with what comes next.
    pub(super) fn append(&mut self, mut next: Flow) {
        let before = self.heads.len();
        next.fragments.iter_mut().for_each(|f| f.head += before);
        match next.fragments.first_mut() {
            Some(first) => _ = first.items.splice(0..0, std::mem::replace(&mut self.items, next.items)),
            None => self.items.append(&mut next.items),
        }
        self.fragments.append(&mut next.fragments);
        self.heads.append(&mut next.heads);
    }
}

/// A head that is repeated, as it looks above what goes on.
struct Repeated {
    block: Block,
    left: f32,
    what: Head,
    spare: bool,
}

/// What is repeated.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Head {
    Strip,
    /// The head of a table shares its border with the rows below.
    Table {
        ruled: bool,
    },
    Lead,
}

struct Place {
    left: f32,
    rails: Vec<f32>,
    edge: bool,
}

/// Space between a strip and the line below it.
const AFTER_STRIP: f32 = 1.5;

/// Space below repeated heads.
pub(super) const AFTER_HEADS: f32 = 4.0;
/// A table of up to this many rows, and no taller than half a page, stays on one page.
const SMALL_TABLE: usize = 6;
/// Distance of an inset from what it stands in.
const INSET: f32 = 16.0;

/// Lays out for pages of this width and height.
pub(super) fn flow(body: &[Node], turn: Turn, setter: &mut Setter, theme: &Theme, (width, height): (f32, f32)) -> Result<Flow, Error> {
    let mut flower = Flower {
        maker: Maker { setter, theme },
        width,
        height,
        alerts: Vec::new(),
        out: Flow::default(),
        heads: Vec::new(),
        name: "the first page".to_owned(),
        turn,
        opens: false,
        rows: Tag::NONE,
    };
    flower.out.heads.push(Vec::new());
    let mut place = Place { left: 0.0, rails: Vec::new(), edge: false };
    flower.nodes(body, &mut place)?;
    Ok(flower.out)
}

struct Flower<'a, 'm> {
    maker: Maker<'m>,
    width: f32,
    height: f32,
    /// The alerts directly before what comes next.
    alerts: Vec<&'a Panel>,
    out: Flow,
    heads: Vec<Rc<Repeated>>,
    name: String,
    turn: Turn,
    /// Whether the strip that comes next opens its block: what is said of all its steps follows.
    opens: bool,
    /// The list that the rows before this node are part of.
    rows: Tag,
}

impl<'a> Flower<'a, '_> {
    fn nodes(&mut self, nodes: &'a [Node], place: &mut Place) -> Result<(), Error> {
        for (i, node) in nodes.iter().enumerate() {
            self.node(node, place)?;
            // What is to be known of a table stands between it and its heading, and goes with both.
            let around = nodes[i.saturating_sub(1)..].get(..3).unwrap_or_default();
            let heads = matches!(around, [Node::Heading { .. }, Node::Text(_), Node::Table(_)]);
            // What is signed stands with what signing it means.
            let signed = matches!(nodes[i..], [Node::Text(_), Node::Blanks(_), ..]);
            if (heads || signed)
                && let Some(last) = self.out.fragments.last_mut()
            {
                last.keep = true;
            }
        }
        Ok(())
    }

    fn node(&mut self, node: &'a Node, place: &mut Place) -> Result<(), Error> {
        let first = self.out.fragments.len();
        self.node_of(node, place)?;
        let changed = match node {
            Node::Row(row) => row.changed,
            Node::Panel(panel) => panel.changed,
            Node::Table(table) => table.changed,
            Node::Group(group) => group.changed,
            _ => false,
        };
        if changed {
            for fragment in &mut self.out.fragments[first..] {
                fragment.block.overlay(place.left, 0.0, Block { height: 0.0, marks: vec![Mark::change_bar(fragment.block.height)] });
            }
        }
        Ok(())
    }

    fn node_of(&mut self, node: &'a Node, place: &mut Place) -> Result<(), Error> {
        let width = self.width - place.left;
        match node {
            Node::Heading { level, text } => {
                let (before, mut block) = self.maker.node(node, width)?;
                if *level == 1 {
                    let y = block.height + 1.0;
                    block.marks.push(Mark::Rule { x: 0.0, y, to_x: width, to_y: y, line: 1.2 });
                    block.height += 3.0;
                }
                self.push(block, before, true, place);
                if let Some(last) = self.out.fragments.last_mut() {
                    last.bookmark = Some((*level, plain_text(text).split_whitespace().collect::<Vec<_>>().join(" ")));
                }
            }
            Node::Text(text) if text.style != Style::Struck => {
                let (setting, before) = self.maker.style(text.style);
                let lead = matches!(text.style, Style::Label | Style::Lead);
                if let Some(last) = self.out.fragments.last_mut().filter(|_| text.style == Style::End) {
                    last.keep = true;
                }
                let outer = self.maker.setter.tags.open(Kind::P);
                self.paragraph(&text.text, setting, before, lead, place, width)?;
                self.maker.setter.tags.enter(outer);
            }
            Node::List(list) => {
                let items = self.maker.list(list, width)?;
                let count = items.len();
                for (i, (gap, block)) in items.into_iter().enumerate() {
                    self.push(block, if i == 0 { 3.0 } else { gap }, i == 0 && count > 1, place);
                }
            }
            Node::Table(table) => {
                let outer = self.maker.setter.tags.open(Kind::Table);
                let head = self.maker.table_row(&table.head, table, width, true)?;
                let has_head = head.height > 0.0;
                let depth = self.heads.len();
                if has_head {
                    self.push(head, 5.0, true, place);
                    self.repeat(node, place)?;
                }
                let rows = table.rows.iter().map(|row| self.maker.table_row(row, table, width, false)).collect::<Result<Vec<_>, _>>()?;
                let is_small = rows.len() <= SMALL_TABLE && rows.iter().map(|b| b.height).sum::<f32>() <= self.height / 2.0;
                for (i, (row, block)) in table.rows.iter().zip(rows).enumerate() {
                    let shared = if table.ruled { -TABLE_LINE } else { 0.0 };
                    let together = is_small && i + 1 < table.rows.len();
                    let before = if i == 0 && !has_head { 5.0 } else { shared };
                    let lines = if block.height > self.height / 2.0 { self.maker.row_lines(row, table, width)? } else { None };
                    let Some(lines) = lines else {
                        self.push(block, before, together, place);
                        continue;
                    };
                    let count = lines.len();
                    for (n, line) in lines.into_iter().enumerate() {
                        self.push(line, if n == 0 { before } else { 0.0 }, n == 0 || n + 2 == count, place);
                    }
                }
                if has_head {
                    self.heads.truncate(depth);
                    self.snapshot(place);
                }
                self.maker.setter.tags.enter(outer);
            }
            Node::Strip(strip) => {
                let block = self.maker.strip(strip, width)?;
                // A page that starts with this strip does not repeat the one before.
                self.heads.retain(|h| h.what != Head::Strip);
                self.snapshot(place);
                self.push(block, 7.0, true, place);
                if let Some(last) = self.out.fragments.last_mut() {
                    last.strip = true;
                }
                self.repeat(node, place)?;
                let again = self.heads.last().filter(|h| h.spare && !self.opens).map(|h| h.block.clone());
                if let Some(again) = again {
                    self.push(again, AFTER_STRIP, true, place);
                    if let Some(last) = self.out.fragments.last_mut() {
                        last.spare = true;
                    }
                }
            }
            Node::Row(row) => {
                self.name = format!("step {}", row.item.trim_start_matches('s'));
                self.out.items.push(row.item.clone());
                // Rows share their border, and are one list.
                let after_row = self.out.fragments.last().is_some_and(|f| f.row && f.rails == place.rails);
                if !after_row || self.rows == Tag::NONE {
                    self.rows = self.maker.setter.tags.add(Kind::Rows);
                }
                let outer = self.maker.setter.tags.enter(self.rows);
                let block = self.maker.row(row, width)?;
                let (first, above) = self.above(false);
                let before = if after_row { -ROW_LINE } else { 4.0 };
                if above + before.max(0.0) + block.height > self.height {
                    self.oversize(row, first, above, place)?;
                } else {
                    self.push(block, before, false, place);
                    if let Some(last) = self.out.fragments.last_mut() {
                        last.row = true;
                    }
                }
                self.maker.setter.tags.enter(outer);
                self.alerts.clear();
            }
            Node::Panel(panel) => {
                let alert = matches!(panel.frame, Frame::Warning | Frame::Caution | Frame::Note) && panel.item.is_some();
                if alert {
                    self.alerts.push(panel);
                } else {
                    self.alerts.clear();
                }
                self.name = panel.item.clone().unwrap_or_else(|| plain_text(&panel.title));
                self.out.items.extend(panel.item.clone());
                let (before, block) = self.maker.node(node, width)?;
                self.push(block, before, alert, place);
                if let Some(last) = self.out.fragments.last_mut() {
                    last.hold = panel.frame == Frame::Hold;
                }
            }
            Node::Group(group) => self.group(group, place)?,
            Node::Figure(figure) => {
                self.name = format!("the figure {}", figure.item);
                self.out.items.push(figure.item.clone());
                let (before, block) = self.maker.node(node, width)?;
                self.push(block, before, false, place);
                if let Some(last) = self.out.fragments.last_mut() {
                    last.figure = true;
                }
            }
            Node::Blanks(_) | Node::Text(_) => {
                let (before, block) = self.maker.node(node, width)?;
                self.push(block, before, false, place);
            }
            Node::Grid(cells) => {
                let mut grid = self.maker.grid(cells)?;
                let rows = self.maker.grid_rows(&mut grid, width)?;
                let count = rows.len();
                for (i, block) in rows.into_iter().enumerate() {
                    self.push(block, if i == 0 { 4.0 } else { 0.0 }, i + 1 < count, place);
                }
            }
        }
        Ok(())
    }

    fn group(&mut self, group: &'a Group, place: &mut Place) -> Result<(), Error> {
        let outer = self.maker.setter.tags.current();
        match (group.kind, group.children.first()) {
            (GroupKind::Inset, _) => drop(self.maker.setter.tags.open(Kind::Div)),
            (GroupKind::Plain, first) if !matches!(first, Some(Node::Heading { .. })) => {}
            _ => drop(self.maker.setter.tags.open(Kind::Sect)),
        }
        let item = group.item.clone().map(|item| std::mem::replace(&mut self.maker.setter.item, item));
        // A list of rows ends where a section does.
        self.rows = Tag::NONE;
        self.group_of(group, place)?;
        self.rows = Tag::NONE;
        if let Some(item) = item {
            self.maker.setter.item = item;
        }
        self.maker.setter.tags.enter(outer);
        Ok(())
    }

    fn group_of(&mut self, group: &'a Group, place: &mut Place) -> Result<(), Error> {
        let heads = self.heads.clone();
        self.out.items.extend(group.item.clone());
        match group.kind {
            // A strip at a block start stands in a group of its own and goes on behind it.
            GroupKind::Plain => {
                let strip = matches!(group.children.first(), Some(Node::Strip(_)));
                let first = self.out.fragments.len();
                self.opens = strip && group.children.len() > 1;
                self.nodes(&group.children, place)?;
                if strip {
                    for fragment in &mut self.out.fragments[first..] {
                        fragment.parts = !fragment.keep;
                        fragment.keep = true;
                    }
                    if let Some(last) = self.out.fragments[first..].last_mut() {
                        last.parts = true;
                    }
                }
                return Ok(());
            }
            GroupKind::Front => {
                // What is repeated above the steps ends where matter that is no step begins.
                self.heads.clear();
                self.turn = Turn::Fresh;
                self.snapshot(place);
                self.nodes(&group.children, place)?;
            }
            GroupKind::Sheet => {
                self.turn = Turn::Always;
                self.nodes(&group.children, place)?;
            }
            GroupKind::Contingency => {
                self.turn = Turn::Always;
                self.heads.clear();
                self.snapshot(place);
                let outer = std::mem::replace(&mut place.edge, true);
                // Title and where it is entered from stand on the page of its first step.
                let first = self.out.fragments.len();
                let title = group.children.iter().take_while(|n| matches!(n, Node::Heading { .. } | Node::Text(_))).count();
                self.nodes(&group.children[..title], place)?;
                self.out.fragments[first..].iter_mut().for_each(|f| f.keep = true);
                self.nodes(&group.children[title..], place)?;
                place.edge = outer;
            }
            GroupKind::Inset => {
                let left = place.left;
                place.rails.push(left + 4.0);
                place.left += INSET;
                if let Some(lead) = group.children.first() {
                    self.node(lead, place)?;
                    if group.children.len() == 1
                        && let Some(last) = self.out.fragments.last_mut()
                    {
                        last.keep = false;
                    }
                    self.repeat(lead, place)?;
                    self.nodes(&group.children[1..], place)?;
                }
                place.left = left;
                place.rails.pop();
            }
        }
        self.turn = Turn::behind_group(group.kind).unwrap_or(self.turn);
        self.heads = heads;
        self.snapshot(place);
        Ok(())
    }

    /// Lines of a paragraph; the first two and the last two stay together.
    fn paragraph(&mut self, text: &[Inline], setting: Setting, before: f32, keep: bool, place: &Place, width: f32) -> Result<(), Error> {
        let lines = self.maker.setter.lines(text, setting, width)?;
        let count = lines.len();
        for (i, line) in lines.into_iter().enumerate() {
            let keep = keep || i == 0 && count > 1 || i + 2 == count;
            self.push(Block { height: line.height, marks: line.marks }, if i == 0 { before } else { 0.0 }, keep, place);
        }
        Ok(())
    }

    fn push(&mut self, block: Block, before: f32, keep: bool, place: &Place) {
        let mut moved = Block { height: block.height, marks: Vec::new() };
        moved.overlay(place.left, 0.0, block);
        self.out.fragments.push(Fragment {
            block: moved,
            before,
            keep,
            turn: std::mem::take(&mut self.turn),
            edge: place.edge,
            head: self.out.heads.len() - 1,
            rails: place.rails.clone(),
            items: std::mem::take(&mut self.out.items),
            bookmark: None,
            row: false,
            hold: false,
            figure: false,
            strip: false,
            spare: false,
            parts: false,
            name: self.name.clone(),
        });
    }

    /// The first of the fragments that stand on the page of the next one, and the height of all that stands above it there; `parted`
    /// from the head of its block, if it is.
    fn above(&self, parted: bool) -> (usize, f32) {
        let chain = self.out.fragments.iter().rev().take_while(|f| f.keep && !(parted && f.parts)).count();
        let first = self.out.fragments.len() - chain;
        let chain = &self.out.fragments[first..];
        let heads = chain.iter().find(|f| f.strip).or(chain.first()).map_or(self.out.heads.len() - 1, |f| f.head);
        (first, least(&self.out.heads[heads]) + AFTER_HEADS + least(chain))
    }

    /// A step that no page takes whole: it starts a page with what must stand above it, and goes on at the head of the next
    /// with its alerts printed again.
    fn oversize(&mut self, row: &Row, first: usize, above: f32, place: &Place) -> Result<(), Error> {
        let width = self.width - place.left;
        let mut heads = self.in_force(place);
        heads.retain(|f| !f.spare);
        let outer = self.maker.setter.tags.enter(Tag::NONE);
        for panel in std::mem::take(&mut self.alerts) {
            let block = self.maker.panel(panel, width)?;
            let mut moved = Block { height: block.height, marks: Vec::new() };
            moved.overlay(place.left, 0.0, block);
            heads.push(Fragment { block: moved, before: 4.0, edge: place.edge, rails: place.rails.clone(), ..Fragment::default() });
        }
        self.maker.setter.tags.enter(outer);
        let again = heads.iter().map(|f| f.before + f.block.height).sum::<f32>() + AFTER_HEADS;
        let mut parts = self.maker.row_parts(row, width, [self.height - above, self.height - again])?;
        if parts.is_none() {
            parts = self.maker.row_parts(row, width, [self.height - self.above(true).1, self.height - again])?;
        }
        let parts = parts.ok_or_else(|| Error::Limit {
            place: self.name.clone(),
            what: "one line of it, with what must stand above it, is taller than one page; shorten that line or the alerts before the step"
                .to_owned(),
        })?;
        let mut heads = Some(heads);
        for (n, block) in parts.into_iter().enumerate() {
            if n > 0 {
                self.out.heads.extend(heads.take());
                self.turn = Turn::Always;
            }
            self.push(block, 0.0, false, place);
            if let Some(last) = self.out.fragments.last_mut() {
                last.row = true;
            }
        }
        self.out.fragments[first].turn = Turn::Always;
        self.snapshot(place);
        Ok(())
    }

    /// From here on a node, or its head, stands above what starts a page.
    fn repeat(&mut self, node: &Node, place: &Place) -> Result<(), Error> {
        let width = self.width - place.left;
        // What is repeated was read where it stood first.
        let outer = self.maker.setter.tags.enter(Tag::NONE);
        let mut again = None;
        let head = match node {
            Node::Strip(strip) => {
                again = if strip.again.is_empty() { None } else { Some(self.maker.again(strip, width)?) };
                Some((self.maker.strip(strip, width)?, Head::Strip))
            }
            Node::Table(table) => Some((self.maker.table_row(&table.head, table, width, true)?, Head::Table { ruled: table.ruled })),
            Node::Text(text) => {
                let (setting, _) = self.maker.style(text.style);
                let mut words = text.text.clone();
                let again = format!(" {}", self.maker.setter.said.say(ids::PAGE_CONTINUED));
                words.push(Inline::Plain(vec![Inline::Text(again)]));
                Some((self.maker.paragraph(&words, Setting { weight: Weight::Bold, ..setting }, width)?, Head::Lead))
            }
            _ => None,
        };
        self.maker.setter.tags.enter(outer);
        let left = place.left;
        self.heads.extend(head.map(|(block, what)| Rc::new(Repeated { block, left, what, spare: false })));
        self.heads.extend(again.map(|block| Rc::new(Repeated { block, left, what: Head::Strip, spare: true })));
        self.snapshot(place);
        Ok(())
    }

    /// Keeps the heads now in force, for fragments that start a page.
    fn snapshot(&mut self, place: &Place) {
        let heads = self.in_force(place);
        self.out.heads.push(heads);
    }

    fn in_force(&self, place: &Place) -> Vec<Fragment> {
        let one = |head: &Rc<Repeated>| {
            let mut block = head.block.clone();
            block.marks.iter_mut().for_each(|m| m.shift(head.left, 0.0));
            let rails = place.rails.iter().copied().filter(|r| *r < head.left).collect();
            let joins = head.what == Head::Table { ruled: true };
            let before = if head.spare { AFTER_STRIP } else { 4.0 };
            Fragment { block, before, edge: place.edge, rails, row: joins, spare: head.spare, ..Fragment::default() }
        };
        self.heads.iter().map(one).collect()
    }
}
