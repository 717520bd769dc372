//! Fragments to pages: breaks only where nothing is kept together, heads repeated, nothing ever past the foot.

use super::flow::{AFTER_HEADS, Flow, Fragment, Turn};
use super::marks::Mark;
use crate::error::Error;

/// A page of the body: marks from its top left corner within the margins.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    pub marks: Vec<Mark>,
    /// Marked at the outer edge.
    pub edge: bool,
    /// Lies across.
    pub across: bool,
    /// Items that begin here, with their distance from the top.
    pub items: Vec<(String, f32)>,
    /// Outline entries: level, words, distance from the top.
    pub bookmarks: Vec<(u8, String, f32)>,
}

/// A page filled up to here still takes what would rather start a page.
const MOSTLY_EMPTY: f32 = 0.35;

struct Pager {
    sheets: Vec<Sheet>,
    y: f32,
    height: f32,
}

/// Fills pages of the given height.
pub(super) fn paginate(flow: Flow, height: f32) -> Result<Vec<Sheet>, Error> {
    let Flow { fragments, heads, .. } = flow;
    let mut pager = Pager { sheets: vec![Sheet::default()], y: 0.0, height };
    let chains = chains(fragments);
    let follows = |n: usize| n > 0 && is_hold(&chains[n - 1]);
    let groups: Vec<Option<Group>> = (0..chains.len()).map(|n| follows(n).then(|| Group::below_hold(&chains[n..]))).collect();
    let with_figure: Vec<Option<f32>> = chains.windows(2).map(|pair| drawn(&pair[0], &pair[1])).collect();
    for (n, (chain, group)) in chains.into_iter().zip(groups).enumerate() {
        if let Some(both) = with_figure.get(n).copied().flatten()
            && pager.y + both > height
            && both + above(&chain, &heads, tall) <= height
        {
            pager.turn();
        }
        if group.is_some_and(|g| pager.y > height * MOSTLY_EMPTY && (g.turns || pager.y + g.tall > height)) {
            pager.turn();
        }
        pager.place(chain, &heads)?;
    }
    Ok(pager.sheets)
}

/// What stands on the page of a hold point if any of it does: what comes next is not the last thing on the page, so that
/// nobody reads on over the box to the one step below it.
struct Group {
    tall: f32,
    /// Whether the page ends before all of it was placed.
    turns: bool,
}

impl Group {
    fn below_hold(chains: &[Vec<Fragment>]) -> Group {
        let more = chains.iter().take_while(|c| is_hold(c)).count() + 2;
        let own = &chains[..more.min(chains.len())];
        let turns = own.iter().flatten().any(|f| f.turn != Turn::No) || more > chains.len();
        Group { tall: own.iter().map(|c| tall(c)).sum(), turns }
    }
}

fn is_hold(chain: &[Fragment]) -> bool {
    chain.last().is_some_and(|f| f.hold)
}

/// How tall something is with the drawing behind it: it is seen beside it, and not above what comes next.
fn drawn(chain: &[Fragment], next: &[Fragment]) -> Option<f32> {
    let follows = next.first().is_some_and(|f| f.figure && f.turn == Turn::No);
    (follows && !chain.iter().any(|f| f.figure)).then(|| tall(chain) + tall(next))
}

/// How fragments are counted: [`tall`] or [`least`].
type Size = fn(&[Fragment]) -> f32;

/// What is repeated above something where it starts a page.
fn repeated<'h>(chain: &[Fragment], heads: &'h [Vec<Fragment>]) -> &'h [Fragment] {
    let under = chain.iter().find(|f| f.strip).or(chain.first());
    under.and_then(|f| heads.get(f.head)).map_or(&[], Vec::as_slice)
}

/// How tall that is.
fn above(chain: &[Fragment], heads: &[Vec<Fragment>], size: Size) -> f32 {
    match repeated(chain, heads) {
        [] => 0.0,
        head => size(head) + AFTER_HEADS,
    }
}

/// How tall something is where it starts a page, with what is repeated above it.
fn starting(chain: &[Fragment], heads: &[Vec<Fragment>], size: Size) -> f32 {
    let above = above(chain, heads, size);
    let before = if above == 0.0 { chain.first().map_or(0.0, |f| f.before) } else { 0.0 };
    above + size(chain) - before
}

/// Fragments that stand on one page, together.
fn chains(fragments: Vec<Fragment>) -> Vec<Vec<Fragment>> {
    let mut out = Vec::new();
    let mut chain: Vec<Fragment> = Vec::new();
    for fragment in fragments {
        let keep = fragment.keep;
        chain.push(fragment);
        if !keep {
            out.push(std::mem::take(&mut chain));
        }
    }
    if !chain.is_empty() {
        out.push(chain);
    }
    out
}

fn tall(chain: &[Fragment]) -> f32 {
    chain.iter().map(|f| f.before + f.block.height).sum()
}

/// The same without what can be spared.
pub(super) fn least(chain: &[Fragment]) -> f32 {
    chain.iter().filter(|f| !f.spare).map(|f| f.before + f.block.height).sum()
}

impl Pager {
    /// Places fragments that stand on one page.
    fn place(&mut self, mut chain: Vec<Fragment>, heads: &[Vec<Fragment>]) -> Result<(), Error> {
        let Some(first) = chain.first() else { return Ok(()) };
        let (before, turn) = (first.before, first.turn);
        let lean = starting(&chain, heads, least);
        let fits = |end: &usize| chain[*end - 1].parts && starting(&chain[..*end], heads, least) <= self.height;
        if lean > self.height
            && let Some(end) = (1..chain.len()).rev().find(fits)
        {
            let rest = chain.split_off(end);
            self.place(chain, heads)?;
            return self.place(rest, heads);
        }
        // A drawing that takes a page by itself stands on one by itself: its caption says of what it is.
        let alone = lean > self.height && chain.iter().all(|f| f.figure);
        let fresh = self.y == 0.0;
        let turn = match turn {
            Turn::No => false,
            Turn::Fresh => self.y > self.height * MOSTLY_EMPTY,
            Turn::Always => true,
        };
        if !fresh && (turn || self.y + tall(&chain) > self.height) {
            self.turn();
        }
        if self.y == 0.0 && !alone {
            let spares = starting(&chain, heads, tall) > self.height;
            let head: Vec<&Fragment> = repeated(&chain, heads).iter().filter(|f| !(spares && f.spare)).collect();
            chain.retain(|f| !(spares && f.spare));
            for fragment in &head {
                self.put(fragment.clone_for_head());
            }
            match head.last() {
                Some(last) if last.row => {}
                Some(_) => self.y += AFTER_HEADS,
                None => {}
            }
        }
        let tall = if self.y == 0.0 { tall(&chain) - before } else { tall(&chain) };
        if self.y + tall > self.height {
            let name = chain.last().map_or("", |f| f.name.as_str());
            return Err(Error::Limit {
                place: name.to_owned(),
                what: "with what must stand on its page it is taller than one page; split it into smaller steps, or shorten its alerts and lines".to_owned(),
            });
        }
        chain.into_iter().for_each(|f| self.put(f));
        if alone {
            self.y = self.height;
        }
        Ok(())
    }

    fn turn(&mut self) {
        self.sheets.push(Sheet::default());
        self.y = 0.0;
    }

    fn put(&mut self, mut fragment: Fragment) {
        let Some(sheet) = self.sheets.last_mut() else { return };
        let top = self.y;
        let y = if top == 0.0 { 0.0 } else { top + fragment.before };
        for x in fragment.rails {
            sheet.marks.push(Mark::Rule { x, y: top, to_x: x, to_y: y + fragment.block.height, line: 2.2 });
        }
        if let Some((level, words)) = fragment.bookmark {
            sheet.bookmarks.push((level, words, y));
        }
        sheet.items.extend(fragment.items.into_iter().map(|item| (item, y)));
        sheet.edge |= fragment.edge;
        fragment.block.marks.iter_mut().for_each(|m| m.shift(0.0, y));
        sheet.marks.append(&mut fragment.block.marks);
        self.y = y + fragment.block.height;
    }
}

impl Fragment {
    /// A copy of a repeated head; it makes no second outline entry.
    fn clone_for_head(&self) -> Fragment {
        Fragment {
            block: super::stack::Block { height: self.block.height, marks: self.block.marks.clone() },
            before: self.before,
            edge: self.edge,
            rails: self.rails.clone(),
            ..Fragment::default()
        }
    }
}
