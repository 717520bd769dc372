//! The page tree: what a template has arranged, typed. HTML, PDF and text are all written from it.

use crate::document::figure::Drawing;
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A whole print: running heads and body.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// The file's title.
    pub title: String,
    /// Printed at the head of every page.
    pub header: Running,
    /// Printed at the foot of every page.
    pub footer: Running,
    /// The body in order.
    pub body: Vec<Node>,
}

impl Tree {
    /// Marks what prints these items as changed. No template has a say in it.
    pub fn mark(&mut self, changed: &BTreeSet<String>) {
        if !changed.is_empty() {
            self.body.iter_mut().for_each(|n| n.mark(changed));
        }
    }
}

impl Node {
    fn mark(&mut self, changed: &BTreeSet<String>) {
        let has = |item: &Option<String>| item.as_ref().is_some_and(|i| changed.contains(i));
        match self {
            Node::Row(row) => row.changed = changed.contains(&row.item),
            Node::Panel(panel) => panel.changed |= has(&panel.item),
            Node::Table(table) => table.changed = has(&table.item),
            Node::Group(group) => {
                let words = group.children.iter().all(|c| matches!(c, Node::Text(_) | Node::List(_)));
                group.changed = words && has(&group.item);
                // The box that opens a repeat or a performed section stands for it; its steps have marks of their own.
                if let (true, Some(Node::Panel(panel))) = (has(&group.item), group.children.first_mut()) {
                    panel.changed = true;
                }
                group.children.iter_mut().for_each(|c| c.mark(changed));
            }
            _ => {}
        }
    }
}

/// A running head or foot.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Running {
    /// Full-width lines: status and banners.
    pub banners: Vec<Banner>,
    /// Left lines.
    pub left: Vec<Text>,
    /// Middle lines.
    pub middle: Vec<Text>,
    /// Right lines.
    pub right: Vec<Text>,
}

impl Running {
    /// Whether it says the number of its page, or of pages.
    pub fn counts(&self) -> bool {
        let mut texts = [&self.left, &self.middle, &self.right].into_iter().flatten().map(|t| &t.text);
        texts.any(|t| counts(t)) || self.banners.iter().any(|b| counts(&b.text))
    }
}

/// Whether a number of pages stands among these.
fn counts(inlines: &[Inline]) -> bool {
    inlines.iter().any(|i| match i {
        Inline::Page | Inline::Pages => true,
        Inline::Field { content, .. } | Inline::Link { content, .. } => counts(content),
        Inline::Strong(content) | Inline::Plain(content) | Inline::Solid(content) => counts(content),
        Inline::Text(_) | Inline::Tick(_) | Inline::BigTick | Inline::Break => false,
    })
}

/// A full-width line of a running head.
#[derive(Debug, Clone, PartialEq)]
pub struct Banner {
    /// White on black instead of framed.
    pub solid: bool,
    /// The words.
    pub text: Vec<Inline>,
}

/// One thing in the flow of pages.
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// A heading, 1 to 3.
    Heading {
        /// Its level.
        level: u8,
        /// The words.
        text: Vec<Inline>,
    },
    /// A paragraph or a line of a step.
    Text(Text),
    /// A list.
    List(List),
    /// A table whose head is repeated on every page it reaches.
    Table(Table),
    /// The strip of view and load, repeated at the head of every page until the next one.
    Strip(Strip),
    /// A numbered row; never split.
    Row(Row),
    /// A framed box; never split.
    Panel(Panel),
    /// Nodes that belong together.
    Group(Group),
    /// A row of labelled spaces to write in.
    Blanks(Vec<Blank>),
    /// Ticked cells side by side, such as expected read-outs.
    Grid(Vec<Vec<Inline>>),
    /// A drawing under its caption; never split.
    Figure(Figure),
}

/// A paragraph in one style.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Its style.
    pub style: Style,
    /// Its words.
    pub text: Vec<Inline>,
}

/// Styles of paragraphs; sizes are the theme's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Style {
    /// Running text.
    Body,
    /// The document's title on page 1.
    Title,
    /// The line that is called out.
    Call,
    /// Band and from-values.
    Band,
    /// What the hand does.
    Push,
    /// A labelled line.
    Line,
    /// A small print line.
    Small,
    /// A heading inside a box.
    Label,
    /// The heading of an arm, repeat or performed section.
    Lead,
    /// A mark to be made, centred.
    Mark,
    /// What closes a section; it stands on the page of what comes before it.
    End,
    /// A box that is struck through, with words in the line: nothing is written in it.
    Struck,
}

/// How a list is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bullet {
    /// A dot.
    Dot,
    /// A box to tick.
    Tick,
}

/// A list.
#[derive(Debug, Clone, PartialEq)]
pub struct List {
    /// Its marks.
    pub bullet: Bullet,
    /// Small print.
    pub small: bool,
    /// Its entries.
    pub items: Vec<Vec<Inline>>,
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The item printed by it, if any.
    pub item: Option<String>,
    /// Marked as changed in the margin.
    pub changed: bool,
    /// Ruled, or plain columns.
    pub ruled: bool,
    /// Relative widths of the columns.
    pub widths: Vec<f32>,
    /// Head cells; may be empty.
    pub head: Vec<Vec<Node>>,
    /// Rows of cells.
    pub rows: Vec<Vec<Vec<Node>>>,
}

/// View and load in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Side by side.
    pub cells: Vec<Vec<Inline>>,
    /// Full-width lines below: the cautions of loaded pages.
    pub lines: Vec<Vec<Inline>>,
    /// Below it on pages on which its block goes on: to what stands on an earlier one.
    pub again: Vec<Inline>,
}

/// A numbered row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The item printed by it.
    pub item: String,
    /// Marked as changed in the margin.
    pub changed: bool,
    /// The number.
    pub number: Vec<Node>,
    /// The instruction.
    pub body: Vec<Node>,
    /// The blank for an actual value.
    pub actual: Vec<Node>,
    /// The sign-off.
    pub sign: Vec<Node>,
}

/// What a box is; borders differ in weight, so that they are told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Frame {
    /// Heaviest.
    Warning,
    /// Middle.
    Caution,
    /// Lightest.
    Note,
    /// Double.
    Hold,
    /// A witness point.
    Witness,
    /// An independent verification, a turnover.
    Plain,
}

/// A framed box.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// The item printed by it, if any.
    pub item: Option<String>,
    /// Marked as changed in the margin.
    pub changed: bool,
    /// Its frame.
    pub frame: Frame,
    /// Its title line.
    pub title: Vec<Inline>,
    /// What stands in it.
    pub children: Vec<Node>,
}

/// What a group is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GroupKind {
    /// Pages of their own before the body.
    Front,
    /// No mark.
    Plain,
    /// Pages of their own with a mark at the outer edge.
    Contingency,
    /// A page of its own, lying across.
    Sheet,
    /// Set in, with a rail at the left; its first line is repeated on every page it reaches.
    Inset,
}

/// Nodes that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The item printed by it, if any.
    pub item: Option<String>,
    /// Marked as changed in the margin.
    pub changed: bool,
    /// What it is.
    pub kind: GroupKind,
    /// What stands in it.
    pub children: Vec<Node>,
}

/// A drawing under its caption.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The item printed by it.
    pub item: String,
    /// What is drawn.
    pub drawing: Arc<Drawing>,
    /// Its caption.
    pub caption: Vec<Text>,
}

/// A space to write in.
#[derive(Debug, Clone, PartialEq)]
pub struct Blank {
    /// Relative width.
    pub weight: f32,
    /// Its name, the same in every language.
    pub name: String,
    /// The words in its corner.
    pub label: Vec<Inline>,
}

/// A run of text or a small mark within it.
#[derive(Debug, Clone, PartialEq)]
pub enum Inline {
    /// Words.
    Text(String),
    /// A printed value or sentence with its id.
    Field {
        /// The id.
        id: String,
        /// What is printed.
        content: Vec<Inline>,
    },
    /// Bold.
    Strong(Vec<Inline>),
    /// Regular within bold.
    Plain(Vec<Inline>),
    /// White on black.
    Solid(Vec<Inline>),
    /// A reference to an item.
    Link {
        /// The item.
        to: String,
        /// What is printed.
        content: Vec<Inline>,
    },
    /// A box to tick, with its name where no value behind it gives one.
    Tick(Option<String>),
    /// A large box to tick.
    BigTick,
    /// The end of a line.
    Break,
    /// The number of this page.
    Page,
    /// The number of pages.
    Pages,
}

/// What a medium without pages shows: the lines that count pages fall away.
pub fn unpaged(inlines: &[Inline]) -> Cow<'_, [Inline]> {
    let counts = |line: &[Inline]| line.iter().any(|i| matches!(i, Inline::Page | Inline::Pages));
    if !counts(inlines) {
        return Cow::Borrowed(inlines);
    }
    let lines: Vec<&[Inline]> = inlines.split(|i| matches!(i, Inline::Break)).filter(|line| !counts(line)).collect();
    Cow::Owned(lines.join(&Inline::Break))
}

/// The words of a run of inlines; boxes as `[ ]`, page numbers as on a single page, so that nothing is lost.
pub fn plain_text(inlines: &[Inline]) -> String {
    let mut out = String::new();
    push_text(inlines, &mut out);
    out
}

fn push_text(inlines: &[Inline], out: &mut String) {
    for inline in inlines {
        match inline {
            Inline::Text(text) => out.push_str(text),
            Inline::Field { content, .. } | Inline::Link { content, .. } => push_text(content, out),
            Inline::Strong(content) | Inline::Plain(content) | Inline::Solid(content) => push_text(content, out),
            Inline::Tick(_) | Inline::BigTick => out.push_str("[ ]"),
            Inline::Break => out.push('\n'),
            Inline::Page | Inline::Pages => out.push('1'),
        }
    }
}
