//! Parts of the body that stand by themselves are laid out side by side, and put together as if one had been laid out after the other:
//! the numbers of words, values and elements are the same as then, however many threads there are.

use super::Paper;
use super::flow::{Flow, Turn, flow};
use super::setter::Setter;
use crate::error::Error;
use crate::template::theme::Theme;
use crate::template::tree::{GroupKind, Node};

/// A part of the body with the setter that lays it out.
pub(super) struct Galley<'t> {
    nodes: &'t [Node],
    pub across: bool,
    /// Whether the part before has it start a page.
    turn: Turn,
    setter: Setter,
}

impl<'t> Galley<'t> {
    /// Cuts nodes that lie one way into parts: where nothing that is repeated above pages goes on from one into the next.
    pub(super) fn cut(nodes: &'t [Node], across: bool, setter: &Setter) -> Vec<Galley<'t>> {
        let first = nodes.iter().position(has_strip).unwrap_or(nodes.len());
        let last = nodes.iter().rposition(|n| !has_own_heads(n)).map_or(0, |at| at + 1);
        let parted = |at: usize| matches!((&nodes[at - 1], &nodes[at]), (Node::Group(_), Node::Group(_))) && (at <= first || at >= last);
        let mut cuts: Vec<usize> = (1..nodes.len()).filter(|at| parted(*at)).collect();
        cuts.insert(0, 0);
        cuts.push(nodes.len());
        let part = |ends: &[usize]| Galley {
            nodes: &nodes[ends[0]..ends[1]],
            across,
            turn: nodes[..ends[0]].iter().fold(Turn::No, Turn::behind),
            setter: setter.fork(),
        };
        cuts.windows(2).map(part).collect()
    }

    /// Lays it out.
    pub(super) fn flow(&mut self, theme: &Theme, paper: &Paper) -> Result<Flow, Error> {
        flow(self.nodes, self.turn, &mut self.setter, theme, (paper.width, paper.bottom - paper.top))
    }

    /// Takes what it was laid out with into the whole, and gives all that is drawn its number there.
    pub(super) fn join(&mut self, whole: &mut Setter, flow: &mut Flow) {
        let setter = &mut self.setter;
        let words: Vec<u32> = setter.words.iter().map(|word| whole.known(word)).collect();
        // The first stands for none.
        let fields: Vec<u32> = setter.fields.iter().enumerate().map(|(n, id)| if n == 0 { 0 } else { whole.field(id) }).collect();
        let numbers =
            Numbers { sequence: whole.sequence.len(), ways: whole.ways.len(), tags: whole.tags.append(&setter.tags), fields: &fields };
        whole.sequence.extend(setter.sequence.iter().map(|word| words[*word as usize]));
        whole.ways.append(&mut setter.ways);
        let blocks = flow.fragments.iter_mut().chain(flow.heads.iter_mut().flatten()).map(|f| &mut f.block);
        blocks.flat_map(|b| &mut b.marks).for_each(|mark| mark.renumber(&numbers));
    }
}

/// What the numbers of a part are in the whole.
pub(super) struct Numbers<'g> {
    /// Where its words begin in the sequence.
    pub sequence: usize,
    /// Where its lines of contents begin.
    pub ways: usize,
    /// How many elements come before its own.
    pub tags: u32,
    /// The number of each of its values.
    pub fields: &'g [u32],
}

/// Whether a strip stands in it, which then stands above all pages until the next.
fn has_strip(node: &Node) -> bool {
    match node {
        Node::Strip(_) => true,
        Node::Group(group) => group.kind == GroupKind::Plain && group.children.iter().any(has_strip),
        _ => false,
    }
}

/// Whether nothing from before it is repeated above its pages.
fn has_own_heads(node: &Node) -> bool {
    matches!(node, Node::Group(group) if matches!(group.kind, GroupKind::Front | GroupKind::Contingency))
}
