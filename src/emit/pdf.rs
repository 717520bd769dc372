//! Pages for paper: the page tree laid out, fonts cut to what is used, the same bytes for the same input.

mod attach;
mod content;
mod drawing;
mod file;
mod flow;
mod fonts;
mod forms;
mod galley;
mod grid;
mod lines;
mod marks;
mod objects;
mod oversize;
mod paginate;
mod setter;
mod stack;
mod tags;
mod xmp;

use super::Print;
use crate::error::Error;
use crate::template::theme::{Margin, Theme};
use crate::template::tree::{GroupKind, Inline, Node, Running, Text, Tree};
use content::{Used, Writer};
use flow::Flow;
use fonts::Fonts;
use galley::Galley;
use lines::{Align, Setting};
use marks::Mark;
use objects::deflate;
use paginate::Sheet;
use rayon::prelude::*;
pub(super) use setter::FONTS;
use setter::{Setter, Weight};
use stack::{Block, Maker};
use std::collections::{BTreeMap, HashMap};
use tags::Tag;

/// Space between running head or foot and the body.
const GAP: f32 = 7.0;

/// Lays out and writes a PDF.
pub(super) fn write(print: &Print<'_>) -> Result<Vec<u8>, Error> {
    let (laid, packed) = rayon::join(|| Laid::out(print), || attach::pack(print.attachments));
    laid?.write(print, packed?)
}

/// Pages laid out, with their running heads and feet.
struct Laid {
    setter: Setter,
    upright: Paper,
    across: Paper,
    sheets: Vec<Sheet>,
    frames: Vec<(Block, Block)>,
}

/// From so many rows on there are likely more than 999 pages.
const MANY_ROWS: usize = 4_000;

impl Laid {
    /// With room for page numbers of as many digits as there are.
    fn out(print: &Print<'_>) -> Result<Laid, Error> {
        let mut digits = if rows(&print.pages.tree.body) < MANY_ROWS { 3 } else { 4 };
        loop {
            let laid = Laid::with_room(print, digits)?;
            let wanted = laid.sheets.len().to_string().len();
            if wanted <= digits {
                return Ok(laid);
            }
            digits = wanted;
        }
    }

    fn with_room(print: &Print<'_>, digits: usize) -> Result<Laid, Error> {
        let theme = &print.pages.theme;
        let tree = &print.pages.tree;
        let mut setter = Setter::new(&print.pages.words)?;
        setter.any_page = (0..digits).fold(0, |page, _| 10 * page + 8);
        // Running heads and feet decorate: they are the same on every page.
        let body = setter.tags.enter(Tag::NONE);
        let upright = Paper::new(theme.paper.size(), theme.margin).within(tree, &mut setter, theme)?;
        let across = match tree.body.iter().any(is_across) {
            true => Paper::across(theme).within(tree, &mut setter, theme)?,
            false => upright,
        };
        let paper = |across_page: bool| if across_page { &across } else { &upright };
        setter.tags.enter(body);
        let sheets = sheets(&tree.body, &mut setter, theme, paper)?;
        let count = sheets.len();
        let mut frames = Vec::with_capacity(count);
        setter.tags.enter(Tag::NONE);
        // What says no number is the same on all pages of one size.
        let mut same: [[Option<Block>; 2]; 2] = Default::default();
        for (i, sheet) in sheets.iter().enumerate() {
            setter.page = Some((i + 1, count));
            let width = paper(sheet.across).width;
            let mut part = |part: &Running, is_head: bool| -> Result<Block, Error> {
                let known = &mut same[usize::from(sheet.across)][usize::from(is_head)];
                if let Some(block) = known {
                    return Ok(block.clone());
                }
                let block = running(part, &mut setter, theme, width, is_head)?;
                if !part.counts() {
                    *known = Some(block.clone());
                }
                Ok(block)
            };
            frames.push((part(&tree.header, true)?, part(&tree.footer, false)?));
        }
        Ok(Laid { setter, upright, across, sheets, frames })
    }

    fn write(mut self, print: &Print<'_>, attachments: Vec<attach::Packed<'_>>) -> Result<Vec<u8>, Error> {
        let tree = &print.pages.tree;
        let count = self.sheets.len();
        let mut total = |weight| self.setter.word(&count.to_string(), weight);
        let pages = [total(Weight::Regular)?, total(Weight::Bold)?];
        let ways: Vec<Vec<u32>> = (0..self.setter.ways.len()).map(|at| self.setter.way(at)).collect::<Result<_, _>>()?;
        let Laid { setter, upright, across, sheets, frames } = &self;
        let paper = |across_page: bool| if across_page { across } else { upright };
        let used = Used::of(setter);
        let writer = Writer {
            words: &setter.words,
            sequence: &setter.sequence,
            used: &used,
            fields: &setter.fields,
            height: 0.0,
            pages: &[vec![pages[0]], vec![pages[1]]],
            ways: &ways,
            tags: &setter.tags,
        };
        let page = |(sheet, (head, foot)): (&Sheet, &(Block, Block))| {
            let paper = paper(sheet.across);
            let edge = if sheet.edge { edge_marks(paper) } else { Vec::new() };
            let writer = Writer { height: paper.size.1, ..writer };
            let content = writer.page(&[
                (0.0, 0.0, &edge),
                (paper.margin.left, paper.margin.top, &head.marks),
                (paper.margin.left, paper.top, &sheet.marks),
                // At one place on every page, also where the number of the page takes two lines on some.
                (paper.margin.left, paper.bottom + GAP, &foot.marks),
            ]);
            Ok((deflate(content.stream.as_bytes())?, content.belongs))
        };
        let pages = || sheets.par_iter().zip(frames).map(page).collect::<Result<Vec<_>, Error>>();
        let (fonts, written) = rayon::join(|| Fonts::cut(&used), pages);
        // A little above what it leads to.
        let height = |sheet: &Sheet, y: f32| paper(sheet.across).size.1 - paper(sheet.across).top - y + 6.0;
        let outline = sheets
            .iter()
            .enumerate()
            .flat_map(|(page, sheet)| {
                let entry = move |(level, words, y): &(u8, String, f32)| file::Entry {
                    level: *level,
                    words: words.clone(),
                    page,
                    y: height(sheet, *y),
                };
                sheet.bookmarks.iter().map(entry)
            })
            .collect();
        let mut places = HashMap::new();
        for (page, sheet) in sheets.iter().enumerate() {
            for (item, y) in &sheet.items {
                places.entry(item.as_str()).or_insert((page, height(sheet, *y)));
            }
        }
        let made = file::assemble(file::Parts {
            about: xmp::About { title: &tree.title, subject: print.subject, date: print.date, language: print.pages.words.language() },
            sizes: sheets.iter().map(|s| paper(s.across).size).collect(),
            pages: written?,
            fonts: fonts?,
            outline,
            places,
            setter,
            attachments,
        });
        // Letting go of it takes a while, and nothing waits for that.
        rayon::spawn(|| drop(self));
        made
    }
}

/// A sheet of paper with what of it the body has.
#[derive(Clone, Copy)]
struct Paper {
    size: (f32, f32),
    margin: Margin,
    width: f32,
    top: f32,
    bottom: f32,
}

impl Paper {
    fn new(size: (f32, f32), margin: Margin) -> Paper {
        Paper { size, margin, width: size.0 - margin.left - margin.right, top: margin.top, bottom: size.1 - margin.bottom }
    }

    /// The same sheet turned, bound at the same edge.
    fn across(theme: &Theme) -> Paper {
        let ((width, height), m) = (theme.paper.size(), theme.margin);
        Paper::new((height, width), Margin { top: m.left, right: m.top, bottom: m.right, left: m.bottom })
    }

    /// Takes off the room of running head and foot.
    fn within(mut self, tree: &Tree, setter: &mut Setter, theme: &Theme) -> Result<Paper, Error> {
        setter.page = Some((setter.any_page, setter.any_page));
        self.top += running(&tree.header, setter, theme, self.width, true)?.height + GAP;
        self.bottom -= running(&tree.footer, setter, theme, self.width, false)?.height + GAP;
        setter.page = None;
        Ok(self)
    }
}

/// How many numbered rows there are.
fn rows(nodes: &[Node]) -> usize {
    let count = |node: &Node| match node {
        Node::Row(_) => 1,
        Node::Group(group) => rows(&group.children),
        _ => 0,
    };
    nodes.iter().map(count).sum()
}

/// Whether a part of the body lies across the page.
fn is_across(node: &Node) -> bool {
    matches!(node, Node::Group(group) if group.kind == GroupKind::Sheet)
}

/// The pages of the body. The numbers of those that something leads to are put in when all is laid out.
fn sheets<'p>(body: &[Node], setter: &mut Setter, theme: &Theme, paper: impl Fn(bool) -> &'p Paper + Sync) -> Result<Vec<Sheet>, Error> {
    with_own_pages(body, setter.any_page, &mut setter.pages_of);
    with_late_pages(body, false, setter.any_page, &mut setter.contents);
    setter.restart();
    let ways = body.chunk_by(|a, b| is_across(a) == is_across(b));
    let mut galleys: Vec<Galley<'_>> = ways.flat_map(|nodes| Galley::cut(nodes, is_across(&nodes[0]), setter)).collect();
    let lay = |galley: &mut Galley<'_>| galley.flow(theme, paper(galley.across));
    let mut flows = galleys.par_iter_mut().with_max_len(1).map(lay).collect::<Vec<_>>().into_iter();
    let mut sheets = Vec::new();
    for galleys in galleys.chunk_by_mut(|a, b| a.across == b.across) {
        let across = galleys[0].across;
        let mut whole = Flow::default();
        for (galley, flow) in galleys.iter_mut().zip(&mut flows) {
            let mut flow = flow?;
            galley.join(setter, &mut flow);
            whole.append(flow);
        }
        let Paper { top, bottom, .. } = paper(across);
        let made = paginate::paginate(whole, bottom - top)?;
        sheets.extend(made.into_iter().map(|sheet| Sheet { across, ..sheet }));
    }
    // What goes over to another page is where it begins.
    let mut begins: HashMap<&str, usize> = HashMap::new();
    for (i, sheet) in sheets.iter().enumerate() {
        for (item, _) in &sheet.items {
            begins.entry(item).or_insert(i + 1);
        }
    }
    for pages in [&mut setter.pages_of, &mut setter.contents] {
        pages.retain(|item, page| {
            begins.get(item.as_str()).is_some_and(|at| {
                *page = *at;
                true
            })
        });
    }
    Ok(sheets)
}

/// What the contents and the strips lead to, each with a page number as wide as any.
fn with_late_pages(nodes: &[Node], in_contents: bool, any: usize, out: &mut BTreeMap<String, usize>) {
    let mut add = |text: &[Inline]| {
        let mut ways = Vec::new();
        lines::led_to(text, &mut ways);
        for way in ways {
            if !out.contains_key(way) {
                out.insert(way.to_owned(), any);
            }
        }
    };
    for node in nodes {
        match node {
            Node::Text(text) if in_contents => add(&text.text),
            Node::Strip(strip) => add(&strip.again),
            _ => {}
        }
    }
    for node in nodes {
        if let Node::Group(group) = node {
            with_late_pages(&group.children, group.item.as_deref() == Some(lines::CONTENTS), any, out);
        }
    }
}

/// What a value may lead to that has pages of its own, contingencies and sheets, each with a page number as wide as any.
fn with_own_pages(nodes: &[Node], any: usize, out: &mut BTreeMap<String, usize>) {
    for node in nodes {
        if let Node::Group(group) = node {
            if let (GroupKind::Contingency | GroupKind::Sheet, Some(item)) = (group.kind, &group.item) {
                out.insert(item.clone(), any);
            }
            with_own_pages(&group.children, any, out);
        }
    }
}

/// A running head (with a rule below) or foot (with a rule above).
fn running(part: &Running, setter: &mut Setter, theme: &Theme, width: f32, head: bool) -> Result<Block, Error> {
    let mut out = Block::default();
    let mut maker = Maker { setter, theme };
    for banner in &part.banners {
        let setting = Setting { size: 11.0 * theme.scale, weight: Weight::Bold, align: Align::Centre, white: banner.solid };
        let words = maker.paragraph(&banner.text, setting, width - 8.0)?;
        let mut bar = Block { height: words.height + 3.0, marks: Vec::new() };
        bar.marks.push(match banner.solid {
            true => Mark::Fill { x: 0.0, y: 0.0, width, height: bar.height },
            false => Mark::Frame { x: 0.0, y: 0.0, width, height: bar.height, line: 1.0 },
        });
        bar.overlay(4.0, 1.2, words);
        out.add(0.0, 0.0, bar);
        out.height += 3.0;
    }
    if !head {
        out.marks.push(Mark::Rule { x: 0.0, y: out.height + 0.4, to_x: width, to_y: out.height + 0.4, line: 0.8 });
        out.height += 3.0;
    }
    let mut column = |texts: &[Text], align, width: f32| -> Result<Block, Error> {
        let mut block = Block::default();
        for text in texts {
            let (mut setting, _) = maker.style(text.style);
            if setting.weight == Weight::Regular {
                setting.size = theme.text.running * theme.scale;
            } else {
                setting.size = (theme.text.running + 2.5) * theme.scale;
            }
            setting.align = align;
            let words = maker.paragraph(&text.text, setting, width)?;
            block.add(0.0, 0.0, words);
        }
        Ok(block)
    };
    // A title is longer than the check value below, and a page of hundreds longer than a date.
    let (left, middle) = if head { (width * 0.47, width * 0.31) } else { (width * 0.40, width * 0.32) };
    let columns = [
        (0.0, column(&part.left, Align::Left, left - 6.0)?),
        (left, column(&part.middle, Align::Centre, middle)?),
        (left + middle + 6.0, column(&part.right, Align::Right, width - left - middle - 6.0)?),
    ];
    let tallest = columns.iter().map(|(_, b)| b.height).fold(0.0, f32::max);
    for (x, block) in columns {
        out.overlay(x, out.height, block);
    }
    out.height += tallest;
    if head {
        out.height += 3.0;
        out.marks.push(Mark::Rule { x: 0.0, y: out.height, to_x: width, to_y: out.height, line: 0.8 });
    }
    Ok(out)
}

/// Blocks along the outer edge, to be found with the pages closed.
fn edge_marks(paper: &Paper) -> Vec<Mark> {
    let (step, height) = (30.0, 18.0);
    let count = ((paper.bottom - paper.top) / step) as usize;
    (0..count).map(|i| Mark::Fill { x: paper.size.0 - 22.0, y: paper.top + step * i as f32, width: 10.0, height }).collect()
}
