//! One self-contained page for a screen: nothing fetched, fonts in the file, the same content as on paper.
//!
//! A page with steps also carries the bar and the script that keep marks; it reads the same without them.

use super::{Print, svg};
use crate::error::Error;
use crate::template::escape;
use crate::template::tree::{
    Blank, Bullet, Figure, Frame, Group, GroupKind, Inline, Node, Panel, Row, Running, Style, Table, Text, Tree, plain_text, unpaged,
};
use crate::words::{Piece, Words, ids};
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::ops::{Deref, DerefMut};

const CSS: &str = include_str!("../../templates/screen.css");
const BAR: &str = include_str!("../../templates/screen.html");
const SCRIPT: &str = include_str!("../../templates/screen.js");
const REGULAR: &[u8] = include_bytes!("../../templates/fonts/IBMPlexSans-Regular.woff2");
const BOLD: &[u8] = include_bytes!("../../templates/fonts/IBMPlexSans-Bold.woff2");

/// What goes into every page beside its content.
pub(super) const EMBEDDED: [(&str, &[u8]); 6] = [
    ("screen.css", CSS.as_bytes()),
    ("screen.html", BAR.as_bytes()),
    ("screen.js", SCRIPT.as_bytes()),
    ("figure.css", svg::CSS.as_bytes()),
    ("IBMPlexSans-Regular.woff2", REGULAR),
    ("IBMPlexSans-Bold.woff2", BOLD),
];

pub(super) fn write(print: &Print<'_>) -> Result<Vec<u8>, Error> {
    let tree = &print.pages.tree;
    let words = &print.pages.words;
    let style = style(tree, words);
    let digest = |text: &str| format!("'sha256-{}'", BASE64_STANDARD.encode(Sha256::digest(text.as_bytes())));
    let marks = has_rows(&tree.body);
    let script = if marks { format!("script-src {}; ", digest(SCRIPT)) } else { String::new() };
    let mut out = Page { text: String::with_capacity(style.len() + (256 << 10)), words };
    out.push_str("<!DOCTYPE html>\n<html lang=\"");
    out.push_str(words.language());
    out.push_str("\">\n<head>\n<meta charset=\"utf-8\"/>\n");
    let _ = writeln!(
        out,
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src {}; {script}font-src data:; base-uri 'none'; form-action 'none'\"/>",
        digest(&style)
    );
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>");
    escape(&tree.title, &mut out);
    out.push_str("</title>\n<style>");
    out.push_str(&style);
    out.push_str("</style>\n</head>\n<body>\n");
    running(&tree.header, "header", &mut out);
    if marks {
        bar(&mut out)?;
    }
    out.push_str("<main>\n");
    // Sections stand by themselves.
    let part = |n: &Node| {
        let mut part = Page { text: String::new(), words };
        node(n, &mut part);
        part.text
    };
    let parts: Vec<String> = tree.body.par_iter().map(part).collect();
    parts.iter().for_each(|part| out.push_str(part));
    out.push_str("</main>\n");
    running(&tree.footer, "footer", &mut out);
    if marks {
        let _ = writeln!(out, "<script>{SCRIPT}</script>");
    }
    out.push_str("</body>\n</html>\n");
    Ok(out.text.into_bytes())
}

/// The bar for marks: a sentence at each `{id slot ...}`, its slots numbered as the script fills them.
fn bar(out: &mut Page<'_>) -> Result<(), Error> {
    let mut rest = BAR;
    while let Some((before, behind)) = rest.split_once('{') {
        out.push_str(before);
        let (place, behind) = behind.split_once('}').unwrap_or((behind, ""));
        let mut names = place.split(' ');
        let id = names.next().unwrap_or_default();
        let numbers: Vec<(&str, String)> = names.zip(1..).map(|(slot, n)| (slot, format!("%{n}"))).collect();
        let numbers: Vec<(&str, &str)> = numbers.iter().map(|(slot, n)| (*slot, n.as_str())).collect();
        let said = out.words.by_id(id, &numbers).map_err(|e| Error::Internal(format!("the bar of the screen page: {e}")))?;
        escape(&said, &mut out.text);
        rest = behind;
    }
    out.push_str(rest);
    Ok(())
}

/// A page being written.
struct Page<'w> {
    text: String,
    words: &'w Words,
}

impl Deref for Page<'_> {
    type Target = String;
    fn deref(&self) -> &String {
        &self.text
    }
}

impl DerefMut for Page<'_> {
    fn deref_mut(&mut self) -> &mut String {
        &mut self.text
    }
}

/// Whether there is something to mark.
fn has_rows(list: &[Node]) -> bool {
    list.iter().any(|n| match n {
        Node::Row(_) => true,
        Node::Group(g) => has_rows(&g.children),
        _ => false,
    })
}

/// The style sheet with fonts and, for those who print the screen page, the running words of each sheet.
fn style(tree: &Tree, words: &Words) -> String {
    let mut out = faces();
    let numbers = words.pieces(ids::PAGE_OF).iter().filter_map(|piece| match piece {
        Piece::Text(text) => Some(css_string(text)),
        Piece::Slot(name) => Some(format!("counter({name})")),
        Piece::Bold | Piece::Light => None,
    });
    let numbers: Vec<String> = numbers.collect();
    let said = |texts: &[Text]| texts.iter().map(|t| plain_text(&t.text)).collect::<Vec<_>>().join("  ");
    let banners: Vec<String> = tree.header.banners.iter().map(|b| plain_text(&b.text)).collect();
    let middle = [said(&tree.header.middle), banners.join("  ")].join("  ");
    let _ = writeln!(
        out,
        "@page{{margin:22mm 14mm 16mm 18mm;@top-left{{content:{}}}@top-center{{content:{}}}@top-right{{content:{}}}@bottom-right{{content:{}}}}}",
        css_string(&said(&tree.header.left)),
        css_string(&middle),
        css_string(&said(&tree.header.right)),
        numbers.join(" "),
    );
    out.push_str(CSS);
    out.push_str(svg::CSS);
    out
}

/// The fonts, as part of a style sheet.
pub(super) fn faces() -> String {
    let mut out = String::new();
    for (weight, font) in [(400, REGULAR), (700, BOLD)] {
        let _ = writeln!(
            out,
            "@font-face{{font-family:\"Print Sans\";font-weight:{weight};src:url(data:font/woff2;base64,{}) format(\"woff2\")}}",
            BASE64_STANDARD.encode(font)
        );
    }
    out
}

/// A CSS string; everything but plain letters and digits is written as a code point.
fn css_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        if c.is_ascii_alphanumeric() || c == ' ' {
            out.push(c);
        } else {
            let _ = write!(out, "\\{:06x}", u32::from(c));
        }
    }
    out.push('"');
    out
}

fn running(part: &Running, tag: &str, out: &mut Page<'_>) {
    let _ = writeln!(out, "<{tag}>");
    for banner in &part.banners {
        out.push_str(if banner.solid { "<p class=\"banner solid\">" } else { "<p class=\"banner\">" });
        inlines(&banner.text, out);
        out.push_str("</p>\n");
    }
    out.push_str("<div class=\"columns\">\n");
    for column in [&part.left, &part.middle, &part.right] {
        out.push_str("<div>");
        column.iter().for_each(|t| text(t, out));
        out.push_str("</div>\n");
    }
    let _ = writeln!(out, "</div>\n</{tag}>");
}

fn nodes(list: &[Node], out: &mut Page<'_>) {
    list.iter().for_each(|n| node(n, out));
}

fn wrap(open: &str, list: &[Inline], close: &str, out: &mut Page<'_>) {
    out.push_str(open);
    inlines(list, out);
    out.push_str(close);
}

fn node(node: &Node, out: &mut Page<'_>) {
    match node {
        Node::Heading { level, text } => {
            let _ = write!(out, "<h{level}>");
            inlines(text, out);
            let _ = writeln!(out, "</h{level}>");
        }
        Node::Text(t) => text(t, out),
        Node::List(list) => {
            out.push_str(match (list.bullet, list.small) {
                (Bullet::Tick, _) => "<ul class=\"ticks\">\n",
                (Bullet::Dot, true) => "<ul class=\"small\">\n",
                (Bullet::Dot, false) => "<ul>\n",
            });
            for item in &list.items {
                out.push_str("<li>");
                if list.bullet == Bullet::Tick {
                    tick("tick", out);
                    out.push(' ');
                }
                wrap("", item, "</li>\n", out);
            }
            out.push_str("</ul>\n");
        }
        Node::Table(t) => table(t, out),
        Node::Strip(strip) => {
            out.push_str("<div class=\"strip\"><div class=\"cells\">");
            strip.cells.iter().for_each(|c| wrap("<p>", c, "</p>", out));
            out.push_str("</div>");
            strip.lines.iter().for_each(|l| wrap("<p class=\"small\">", l, "</p>", out));
            out.push_str("</div>\n");
        }
        Node::Row(r) => row(r, out),
        Node::Panel(p) => panel(p, out),
        Node::Group(g) => group(g, out),
        Node::Blanks(b) => blanks(b, out),
        Node::Grid(cells) => {
            out.push_str("<div class=\"grid\">");
            cells.iter().for_each(|c| wrap("<p>", c, "</p>", out));
            out.push_str("</div>\n");
        }
        Node::Figure(f) => figure(f, out),
    }
}

fn text(t: &Text, out: &mut Page<'_>) {
    let class = match t.style {
        Style::Body => "",
        Style::Title => " class=\"title\"",
        Style::Call => " class=\"call\"",
        Style::Band => " class=\"band\"",
        Style::Push => " class=\"push\"",
        Style::Line => " class=\"line\"",
        Style::Small => " class=\"small\"",
        Style::Label => " class=\"label\"",
        Style::Lead => " class=\"lead\"",
        Style::Mark => " class=\"mark\"",
        Style::End => " class=\"end\"",
        Style::Struck => " class=\"struck\"",
    };
    let _ = write!(out, "<p{class}>");
    inlines(&t.text, out);
    out.push_str("</p>\n");
}

fn id(item: Option<&str>, out: &mut Page<'_>) {
    if let Some(item) = item {
        out.push_str(" id=\"");
        escape(item, out);
        out.push('"');
    }
}

fn table(t: &Table, out: &mut Page<'_>) {
    out.push_str(match (t.ruled, t.changed) {
        (true, false) => "<table",
        (true, true) => "<table class=\"changed\"",
        (false, false) => "<table class=\"plain\"",
        (false, true) => "<table class=\"plain changed\"",
    });
    id(t.item.as_deref(), out);
    out.push_str(">\n<colgroup>");
    let total: f32 = t.widths.iter().sum();
    for weight in &t.widths {
        let _ = write!(out, "<col width=\"{:.0}%\"/>", weight / total * 100.0);
    }
    out.push_str("</colgroup>\n");
    let cells = |row: &[Vec<Node>], tag: &str, out: &mut Page<'_>| {
        out.push_str("<tr>");
        for cell in row {
            let _ = write!(out, "<{tag}>");
            nodes(cell, out);
            let _ = write!(out, "</{tag}>");
        }
        out.push_str("</tr>\n");
    };
    if !t.head.is_empty() {
        out.push_str("<thead>");
        cells(&t.head, "th", out);
        out.push_str("</thead>\n");
    }
    out.push_str("<tbody>\n");
    t.rows.iter().for_each(|r| cells(r, "td", out));
    out.push_str("</tbody></table>\n");
}

fn row(r: &Row, out: &mut Page<'_>) {
    out.push_str(if r.changed { "<article class=\"changed\"" } else { "<article" });
    id(Some(&r.item), out);
    out.push_str(">\n");
    for (class, cell) in [("number", &r.number), ("body", &r.body), ("actual", &r.actual), ("sign", &r.sign)] {
        if !cell.is_empty() {
            let _ = write!(out, "<div class=\"{class}\">");
            nodes(cell, out);
            out.push_str("</div>\n");
        }
    }
    out.push_str("</article>\n");
}

fn panel(p: &Panel, out: &mut Page<'_>) {
    let class = match p.frame {
        Frame::Warning => "warning",
        Frame::Caution => "caution",
        Frame::Note => "note",
        Frame::Hold => "hold",
        Frame::Witness => "witness",
        Frame::Plain => "plain",
    };
    let changed = if p.changed { " changed" } else { "" };
    let _ = write!(out, "<aside class=\"{class}{changed}\"");
    id(p.item.as_deref(), out);
    wrap(">\n<h4>", &p.title, "</h4>\n<div>", out);
    nodes(&p.children, out);
    out.push_str("</div></aside>\n");
}

/// A drawing under its caption: the views, and the key.
fn figure(f: &Figure, out: &mut Page<'_>) {
    out.push_str("<figure");
    id(Some(&f.item), out);
    out.push_str(">\n");
    f.caption.iter().for_each(|t| text(t, out));
    out.push_str("<div class=\"views\">");
    for (i, view) in f.drawing.views.iter().enumerate() {
        svg::inline(view, &format!("{}.view{}", f.item, i + 1), Some(&f.drawing.description), out);
    }
    out.push_str("</div>\n<div class=\"key\">");
    for (i, entry) in f.drawing.key.iter().enumerate() {
        svg::inline(entry, &format!("{}.key{}", f.item, i + 1), None, out);
    }
    out.push_str("</div></figure>\n");
}

fn group(g: &Group, out: &mut Page<'_>) {
    out.push_str(match g.kind {
        GroupKind::Front => "<section class=\"front\"",
        GroupKind::Plain if g.changed => "<section class=\"changed\"",
        GroupKind::Plain => "<section",
        GroupKind::Contingency => "<section class=\"contingency\"",
        GroupKind::Inset => "<section class=\"inset\"",
        GroupKind::Sheet => "<section class=\"sheet\"",
    });
    id(g.item.as_deref(), out);
    out.push_str(">\n");
    nodes(&g.children, out);
    out.push_str("</section>\n");
}

fn blanks(list: &[Blank], out: &mut Page<'_>) {
    out.push_str("<div class=\"blanks\">");
    for blank in list {
        // Weights are whole numbers from 1 to 100; classes keep style attributes out of the page.
        wrap(&format!("<p class=\"w{}\">", (blank.weight as u32).min(9)), &blank.label, "</p>", out);
    }
    out.push_str("</div>\n");
}

/// A box to tick, small or big.
fn tick(class: &str, out: &mut Page<'_>) {
    let _ = write!(out.text, "<span class=\"{class}\" role=\"img\" aria-label=\"");
    escape(out.words.say(ids::PAGE_BOX), &mut out.text);
    out.push_str("\"></span>");
}

fn inlines(list: &[Inline], out: &mut Page<'_>) {
    for inline in unpaged(list).iter() {
        match inline {
            Inline::Text(text) => escape(text, out),
            Inline::Field { id, content } => {
                out.push_str("<span data-field=\"");
                escape(id, out);
                wrap("\">", content, "</span>", out);
            }
            Inline::Strong(content) => wrap("<strong>", content, "</strong>", out),
            Inline::Plain(content) => wrap("<span class=\"plain\">", content, "</span>", out),
            Inline::Solid(content) => wrap("<span class=\"solid\">", content, "</span>", out),
            Inline::Link { to, content } => {
                out.push_str("<a href=\"#");
                escape(to, out);
                wrap("\">", content, "</a>", out);
            }
            Inline::Tick(_) => tick("tick", out),
            Inline::BigTick => tick("big tick", out),
            Inline::Break => out.push_str("<br/>"),
            // Not on a screen.
            Inline::Page | Inline::Pages => {}
        }
    }
}
