//! Strict XHTML to page tree. Anything outside the vocabulary is refused at its place.

use super::ledger::Ledger;
use super::tree::{
    Banner, Blank, Bullet, Figure, Frame, Group, GroupKind, Inline, List, Node, Panel, Row, Running, Strip, Style, Table, Text, Tree,
};
use crate::document::figure::Drawing;
use rayon::prelude::*;
use roxmltree::Node as Xml;
use std::collections::HashMap;
use std::sync::Arc;

/// What is wrong with the markup, at a byte of the template's output.
#[derive(Debug)]
pub(super) struct Refusal {
    /// Offset in the output.
    pub at: usize,
    /// What is wrong.
    pub what: String,
}

type Parsed<T> = Result<T, Refusal>;

/// The drawings of a document, by the item that prints each.
pub(super) type Drawings<'d> = HashMap<&'d str, &'d Arc<Drawing>>;

/// Reads the output of the templates.
pub(super) fn parse(output: &str, drawings: &Drawings<'_>) -> Parsed<(Tree, Ledger)> {
    let xml = roxmltree::Document::parse(output).map_err(|e| {
        let pos = e.pos();
        let line_start: usize = output.split_inclusive('\n').take(pos.row.saturating_sub(1) as usize).map(str::len).sum();
        Refusal {
            at: (line_start + pos.col.saturating_sub(1) as usize).min(output.len()),
            what: format!("not well-formed XHTML: {}", without_position(&e)),
        }
    })?;
    let root = xml.root_element();
    expect(root, &["main"], &[])?;
    // Sections stand by themselves: each is read on its own, and what is noted of them is put together in their order.
    let read = |child: &Xml<'_, '_>| {
        let mut reader = Reader { ledger: Ledger::default(), drawings };
        let part = match child.tag_name().name() {
            "title" => Part::Title(reader.inlines(*child)?),
            "header" => Part::Header(reader.running(*child, "header")?),
            "footer" => Part::Footer(reader.running(*child, "footer")?),
            _ => Part::Body(reader.node(*child)?),
        };
        Ok((part, reader.ledger))
    };
    let children = elements(root)?;
    let parts: Vec<Parsed<(Part, Ledger)>> = children.par_iter().map(read).collect();
    let mut ledger = Ledger::default();
    let (mut title, mut header, mut footer, mut body) = (String::new(), None, None, Vec::new());
    for (child, part) in children.into_iter().zip(parts) {
        let (part, noted) = part?;
        ledger.append(noted);
        match part {
            Part::Title(words) => title = super::tree::plain_text(&words),
            Part::Header(running) if header.is_none() => header = Some(running),
            Part::Footer(running) if footer.is_none() => footer = Some(running),
            Part::Header(_) | Part::Footer(_) => return Err(refuse(child, "a second one; there is one header and one footer")),
            Part::Body(node) => body.push(node),
        }
    }
    match (header, footer) {
        (Some(header), Some(footer)) => Ok((Tree { title, header, footer, body }, ledger)),
        _ => Err(refuse(root, "main needs one header and one footer: they carry identity, status and page number")),
    }
}

/// What stands directly in `main`.
enum Part {
    Title(Vec<Inline>),
    Header(Running),
    Footer(Running),
    Body(Node),
}

/// The parser's message without its line and column, which are those of the output, not of a template.
fn without_position(error: &roxmltree::Error) -> String {
    let text = error.to_string();
    text.rsplit_once(" at ").map_or(text.clone(), |(message, _)| message.to_owned())
}

fn refuse(node: Xml<'_, '_>, what: impl Into<String>) -> Refusal {
    Refusal { at: node.range().start, what: format!("<{}>: {}", node.tag_name().name(), what.into()) }
}

/// Checks the tag and that no attribute outside `allowed` stands on it.
fn expect(node: Xml<'_, '_>, tags: &[&str], allowed: &[&str]) -> Parsed<()> {
    if !tags.contains(&node.tag_name().name()) {
        return Err(refuse(node, format!("not known here; expected {}", tags.join(", "))));
    }
    match node.attributes().find(|a| !allowed.contains(&a.name())) {
        Some(a) => Err(Refusal { at: a.range().start, what: format!("<{}>: unknown attribute {}", node.tag_name().name(), a.name()) }),
        None => Ok(()),
    }
}

fn class<'a>(node: Xml<'a, '_>) -> &'a str {
    node.attribute("class").unwrap_or("")
}

fn unknown_class(node: Xml<'_, '_>) -> Refusal {
    refuse(node, format!("unknown class {:?}", class(node)))
}

/// Child elements; text between them must be blank.
fn elements<'a, 'i>(node: Xml<'a, 'i>) -> Parsed<Vec<Xml<'a, 'i>>> {
    let mut out = Vec::new();
    for child in node.children() {
        if child.is_element() {
            out.push(child);
        } else if child.is_text() && !child.text().unwrap_or("").trim_ascii().is_empty() {
            return Err(Refusal {
                at: child.range().start,
                what: format!("text directly in <{}>; put it in a <p>", node.tag_name().name()),
            });
        }
    }
    Ok(out)
}

struct Reader<'d> {
    ledger: Ledger,
    drawings: &'d Drawings<'d>,
}

impl Reader<'_> {
    /// Opens the item named on the node, reads, and closes it.
    fn item<T>(&mut self, node: Xml<'_, '_>, read: impl FnOnce(&mut Self, Option<String>) -> Parsed<T>) -> Parsed<T> {
        let item = node.attribute("data-item").map(str::to_owned);
        if let Some(id) = &item {
            self.ledger.open(id, node.range().start);
        }
        let value = read(self, item.clone())?;
        if item.is_some() {
            self.ledger.close();
        }
        Ok(value)
    }

    fn running(&mut self, node: Xml<'_, '_>, name: &str) -> Parsed<Running> {
        expect(node, &["header", "footer"], &[])?;
        self.ledger.open(name, node.range().start);
        let mut out = Running::default();
        for child in elements(node)? {
            expect(child, &["p", "div"], &["class"])?;
            match (child.tag_name().name(), class(child)) {
                ("p", "banner") => out.banners.push(Banner { solid: false, text: self.inlines(child)? }),
                ("p", "banner solid") => out.banners.push(Banner { solid: true, text: self.inlines(child)? }),
                ("div", "left") => out.left = self.texts(child)?,
                ("div", "middle") => out.middle = self.texts(child)?,
                ("div", "right") => out.right = self.texts(child)?,
                _ => return Err(unknown_class(child)),
            }
        }
        self.ledger.close();
        Ok(out)
    }

    fn texts(&mut self, node: Xml<'_, '_>) -> Parsed<Vec<Text>> {
        elements(node)?.into_iter().map(|n| self.text(n)).collect()
    }

    fn nodes(&mut self, node: Xml<'_, '_>) -> Parsed<Vec<Node>> {
        elements(node)?.into_iter().map(|n| self.node(n)).collect()
    }

    fn node(&mut self, node: Xml<'_, '_>) -> Parsed<Node> {
        match node.tag_name().name() {
            "h1" => self.heading(node, 1),
            "h2" => self.heading(node, 2),
            "h3" => self.heading(node, 3),
            "p" => self.text(node).map(Node::Text),
            "ul" => self.list(node),
            "table" => self.item(node, |r, item| r.table(node, item)),
            "article" => self.item(node, |r, item| r.row(node, item)),
            "aside" => self.item(node, |r, item| r.panel(node, item)),
            "section" => self.item(node, |r, item| r.group(node, item)),
            "figure" => self.item(node, |r, item| r.figure(node, item)),
            "div" => match class(node) {
                "strip" => self.strip(node),
                "blanks" => self.blanks(node),
                "grid" => {
                    expect(node, &["div"], &["class"])?;
                    let cells = elements(node)?;
                    let cells: Parsed<_> = cells.into_iter().map(|n| expect(n, &["p"], &[]).and_then(|()| self.inlines(n))).collect();
                    Ok(Node::Grid(cells?))
                }
                _ => Err(unknown_class(node)),
            },
            _ => Err(refuse(node, "not an element of the page vocabulary")),
        }
    }

    fn heading(&mut self, node: Xml<'_, '_>, level: u8) -> Parsed<Node> {
        expect(node, &["h1", "h2", "h3"], &[])?;
        Ok(Node::Heading { level, text: self.inlines(node)? })
    }

    fn text(&mut self, node: Xml<'_, '_>) -> Parsed<Text> {
        expect(node, &["p"], &["class"])?;
        let style = match class(node) {
            "" => Style::Body,
            "title" => Style::Title,
            "call" => Style::Call,
            "band" => Style::Band,
            "push" => Style::Push,
            "line" => Style::Line,
            "small" => Style::Small,
            "label" => Style::Label,
            "lead" => Style::Lead,
            "mark" => Style::Mark,
            "end" => Style::End,
            "struck" => Style::Struck,
            _ => return Err(unknown_class(node)),
        };
        Ok(Text { style, text: self.inlines(node)? })
    }

    fn list(&mut self, node: Xml<'_, '_>) -> Parsed<Node> {
        expect(node, &["ul"], &["class"])?;
        let (bullet, small) = match class(node) {
            "" => (Bullet::Dot, false),
            "small" => (Bullet::Dot, true),
            "ticks" => (Bullet::Tick, false),
            _ => return Err(unknown_class(node)),
        };
        let mut items = Vec::new();
        for child in elements(node)? {
            expect(child, &["li"], &[])?;
            items.push(self.inlines(child)?);
            if bullet == Bullet::Tick {
                self.ledger.tick();
            }
        }
        Ok(Node::List(List { bullet, small, items }))
    }

    fn table(&mut self, node: Xml<'_, '_>, item: Option<String>) -> Parsed<Node> {
        expect(node, &["table"], &["class", "data-item", "data-widths"])?;
        let ruled = match class(node) {
            "" => true,
            "plain" => false,
            _ => return Err(unknown_class(node)),
        };
        let (mut head, mut rows) = (Vec::new(), Vec::new());
        for part in elements(node)? {
            expect(part, &["thead", "tbody"], &[])?;
            for row in elements(part)? {
                expect(row, &["tr"], &[])?;
                let mut cells = Vec::new();
                for cell in elements(row)? {
                    expect(cell, &["td", "th"], &[])?;
                    let has_elements = cell.children().any(|c| c.is_element() && !is_inline(c));
                    cells.push(if has_elements {
                        let nodes = self.nodes(cell)?;
                        self.ledger.blanks(nodes.iter().filter(|n| matches!(n, Node::Blanks(_))).count());
                        nodes
                    } else {
                        vec![Node::Text(Text { style: Style::Small, text: self.inlines(cell)? })]
                    });
                }
                if part.tag_name().name() == "thead" {
                    head = cells;
                } else {
                    rows.push(cells);
                }
            }
        }
        let columns = rows.iter().map(Vec::len).max().unwrap_or(head.len());
        let widths: Vec<f32> = match node.attribute("data-widths") {
            None => vec![1.0; columns],
            Some(text) => text
                .split_ascii_whitespace()
                .map(weight)
                .collect::<Option<_>>()
                .ok_or_else(|| refuse(node, "data-widths are whole numbers from 1 to 100"))?,
        };
        if widths.len() != columns || rows.iter().any(|r| r.len() != columns) || (!head.is_empty() && head.len() != columns) {
            return Err(refuse(node, "every row, the head and data-widths need the same number of cells"));
        }
        Ok(Node::Table(Table { item, changed: false, ruled, widths, head, rows }))
    }

    fn strip(&mut self, node: Xml<'_, '_>) -> Parsed<Node> {
        expect(node, &["div"], &["class"])?;
        let mut strip = Strip { cells: Vec::new(), lines: Vec::new(), again: Vec::new() };
        for child in elements(node)? {
            expect(child, &["p"], &["class"])?;
            match class(child) {
                "" => strip.cells.push(self.inlines(child)?),
                "line" => strip.lines.push(self.inlines(child)?),
                "again" if strip.again.is_empty() => strip.again = self.inlines(child)?,
                "again" => return Err(refuse(child, "a second one in the same strip")),
                _ => return Err(unknown_class(child)),
            }
        }
        Ok(Node::Strip(strip))
    }

    fn row(&mut self, node: Xml<'_, '_>, item: Option<String>) -> Parsed<Node> {
        expect(node, &["article"], &["data-item"])?;
        let item = item.ok_or_else(|| refuse(node, "a numbered row needs data-item"))?;
        let mut row = Row { item, changed: false, number: Vec::new(), body: Vec::new(), actual: Vec::new(), sign: Vec::new() };
        for child in elements(node)? {
            expect(child, &["div"], &["class"])?;
            let cell = match class(child) {
                "number" => &mut row.number,
                "body" => &mut row.body,
                "actual" => &mut row.actual,
                "sign" => &mut row.sign,
                _ => return Err(unknown_class(child)),
            };
            if !cell.is_empty() {
                return Err(refuse(child, "a second one in the same row"));
            }
            *cell = self.nodes(child)?;
        }
        self.ledger.places_to_fill(!row.sign.is_empty(), !row.actual.is_empty());
        self.ledger.blanks(row.body.iter().filter(|n| matches!(n, Node::Blanks(_))).count());
        Ok(Node::Row(row))
    }

    fn panel(&mut self, node: Xml<'_, '_>, item: Option<String>) -> Parsed<Node> {
        expect(node, &["aside"], &["class", "data-item"])?;
        let frame = match class(node) {
            "warning" => Frame::Warning,
            "caution" => Frame::Caution,
            "note" => Frame::Note,
            "hold" => Frame::Hold,
            "witness" => Frame::Witness,
            "" => Frame::Plain,
            _ => return Err(unknown_class(node)),
        };
        let (mut title, mut children) = (None, Vec::new());
        for child in elements(node)? {
            if child.tag_name().name() == "h4" && title.is_none() {
                expect(child, &["h4"], &[])?;
                title = Some(self.inlines(child)?);
            } else {
                children.push(self.node(child)?);
            }
        }
        let title = title.ok_or_else(|| refuse(node, "a box needs an <h4>"))?;
        self.ledger.places_to_fill(children.iter().any(|c| matches!(c, Node::Blanks(_))), false);
        Ok(Node::Panel(Panel { item, changed: false, frame, title, children }))
    }

    fn group(&mut self, node: Xml<'_, '_>, item: Option<String>) -> Parsed<Node> {
        expect(node, &["section"], &["class", "data-item"])?;
        let kind = match class(node) {
            "" => GroupKind::Plain,
            "front" => GroupKind::Front,
            "contingency" => GroupKind::Contingency,
            "inset" => GroupKind::Inset,
            "sheet" => GroupKind::Sheet,
            _ => return Err(unknown_class(node)),
        };
        let children = self.nodes(node)?;
        if kind == GroupKind::Inset && !matches!(children.first(), Some(Node::Text(t)) if t.style == Style::Lead) {
            return Err(refuse(node, "an inset section starts with <p class=\"lead\">, which is repeated on every page it reaches"));
        }
        Ok(Node::Group(Group { item, changed: false, kind, children }))
    }

    /// The drawing of an item, with all the values in it.
    fn figure(&mut self, node: Xml<'_, '_>, item: Option<String>) -> Parsed<Node> {
        expect(node, &["figure"], &["data-item"])?;
        let item = item.ok_or_else(|| refuse(node, "a figure needs data-item"))?;
        let caption = self.texts(node)?;
        let drawing = self.drawings.get(item.as_str()).ok_or_else(|| refuse(node, format!("there is no drawing of {item:?}")))?;
        drawing.fields().for_each(|f| self.ledger.field(&f.id, f.text, node.range().start));
        Ok(Node::Figure(Figure { item, drawing: Arc::clone(drawing), caption }))
    }

    fn blanks(&mut self, node: Xml<'_, '_>) -> Parsed<Node> {
        expect(node, &["div"], &["class"])?;
        let mut out = Vec::new();
        for child in elements(node)? {
            expect(child, &["p"], &["data-weight", "data-name"])?;
            let weight = match child.attribute("data-weight") {
                None => 1.0,
                Some(text) => weight(text).ok_or_else(|| refuse(child, "data-weight is a whole number from 1 to 100"))?,
            };
            let name = name(child)?.unwrap_or_else(|| "blank".to_owned());
            out.push(Blank { weight, name, label: self.inlines(child)? });
        }
        if out.is_empty() {
            return Err(refuse(node, "no blank in it"));
        }
        Ok(Node::Blanks(out))
    }

    fn inlines(&mut self, node: Xml<'_, '_>) -> Parsed<Vec<Inline>> {
        let mut out = Vec::new();
        self.push_inlines(node, &mut out)?;
        trim(&mut out);
        Ok(out)
    }

    fn push_inlines(&mut self, node: Xml<'_, '_>, out: &mut Vec<Inline>) -> Parsed<()> {
        for child in node.children() {
            if child.is_text() {
                let text = collapse(child.text().unwrap_or(""));
                if !text.is_empty() {
                    out.push(Inline::Text(text));
                }
            } else if child.is_element() {
                out.push(self.inline(child)?);
            }
        }
        Ok(())
    }

    fn inline(&mut self, node: Xml<'_, '_>) -> Parsed<Inline> {
        let mut content = Vec::new();
        match node.tag_name().name() {
            "span" => {
                expect(node, &["span"], &["class", "data-field"])?;
                if let Some(id) = node.attribute("data-field") {
                    let text: String = node.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect();
                    self.ledger.field(id, text, node.range().start);
                    self.push_inlines(node, &mut content)?;
                    let inner = Inline::Field { id: id.to_owned(), content };
                    return match class(node) {
                        "" => Ok(inner),
                        "solid" => Ok(Inline::Solid(vec![inner])),
                        _ => Err(unknown_class(node)),
                    };
                }
                self.push_inlines(node, &mut content)?;
                match class(node) {
                    "plain" => Ok(Inline::Plain(content)),
                    "solid" => Ok(Inline::Solid(content)),
                    _ => Err(unknown_class(node)),
                }
            }
            "strong" => {
                expect(node, &["strong"], &[])?;
                self.push_inlines(node, &mut content)?;
                Ok(Inline::Strong(content))
            }
            "a" => {
                expect(node, &["a"], &["href"])?;
                let to = node.attribute("href").and_then(|h| h.strip_prefix('#'));
                let to = to.ok_or_else(|| refuse(node, "a link goes to an item of this document: href=\"#s12\""))?.to_owned();
                self.push_inlines(node, &mut content)?;
                Ok(Inline::Link { to, content })
            }
            "i" => {
                expect(node, &["i"], &["class", "data-name"])?;
                match class(node) {
                    "tick" => {
                        self.ledger.tick();
                        Ok(Inline::Tick(name(node)?))
                    }
                    "big tick" => Ok(Inline::BigTick),
                    "page" => Ok(Inline::Page),
                    "pages" => Ok(Inline::Pages),
                    _ => Err(unknown_class(node)),
                }
            }
            "br" => expect(node, &["br"], &[]).map(|()| Inline::Break),
            _ => Err(refuse(node, "not known within a line; expected span, strong, a, i, br")),
        }
    }
}

fn is_inline(node: Xml<'_, '_>) -> bool {
    matches!(node.tag_name().name(), "span" | "strong" | "a" | "i" | "br")
}

/// The name of a place to fill in.
fn name(node: Xml<'_, '_>) -> Parsed<Option<String>> {
    let is_name = |n: &str| !n.is_empty() && n.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    match node.attribute("data-name") {
        Some(name) if !is_name(name) => Err(refuse(node, "data-name is small letters, digits and hyphens")),
        name => Ok(name.map(str::to_owned)),
    }
}

fn weight(text: &str) -> Option<f32> {
    text.parse::<u8>().ok().filter(|w| (1..=100).contains(w)).map(f32::from)
}

/// Runs of ASCII white space become one space, as in HTML; no-break spaces stay.
fn collapse(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut space = false;
    for c in text.chars() {
        if c.is_ascii_whitespace() {
            space = true;
        } else {
            if space {
                out.push(' ');
                space = false;
            }
            out.push(c);
        }
    }
    if space {
        out.push(' ');
    }
    out
}

/// Drops the space before the first word and behind the last.
fn trim(inlines: &mut Vec<Inline>) {
    if let Some(Inline::Text(text)) = inlines.first_mut() {
        text.drain(..text.len() - text.trim_ascii_start().len());
    }
    if let Some(Inline::Text(text)) = inlines.last_mut() {
        text.truncate(text.trim_ascii_end().len());
    }
    inlines.retain(|i| !matches!(i, Inline::Text(t) if t.is_empty()));
}
