//! Plain text for a terminal or a pipe: the same tree, 78 columns, nothing left out.

use super::Print;
use crate::error::Error;
use crate::template::tree::{
    Blank, Bullet, Figure, Frame, Group, GroupKind, Inline, Node, Panel, Row, Running, Style, Table, plain_text, unpaged,
};
use crate::words::{Words, ids};
use std::sync::Arc;

/// Columns of the text.
const WIDTH: usize = 78;
/// Columns of the number of a step.
const NUMBER: usize = 8;

pub(super) fn write(print: &Print<'_>) -> Result<Vec<u8>, Error> {
    let tree = &print.pages.tree;
    let said = Arc::clone(&print.pages.words);
    let mut out = Out { text: String::new(), indent: String::new(), status: status(&tree.header), said };
    out.running(&tree.header);
    out.rule('=');
    tree.body.iter().for_each(|n| out.node(n));
    out.rule('=');
    out.paragraph("", &out.status.clone());
    out.running(&tree.footer);
    Ok(out.text.into_bytes())
}

struct Out {
    text: String,
    indent: String,
    /// Said again above every chapter: a text has no pages that could carry it.
    status: String,
    said: Arc<Words>,
}

/// "[DRAFT, 1 error | INVENTED DATA]"
fn status(header: &Running) -> String {
    let label = header.middle.iter().filter(|t| t.style == Style::Label).map(|t| words(&t.text));
    let parts: Vec<String> = label.chain(header.banners.iter().map(|b| words(&b.text))).collect();
    if parts.is_empty() { String::new() } else { format!("[{}]", parts.join(" | ")) }
}

/// The words. No-break spaces stay until lines are filled: the gaps they make keep values apart.
fn words(inlines: &[Inline]) -> String {
    plain_text(&unpaged(inlines))
}

fn is_blank_line(text: &str) -> bool {
    text.is_empty() || text.ends_with("\n\n")
}

impl Out {
    fn gap(&mut self) {
        if !is_blank_line(&self.text) {
            self.text.push('\n');
        }
    }

    fn rule(&mut self, c: char) {
        self.gap();
        self.text.push_str(&self.indent);
        self.text.extend(std::iter::repeat_n(c, WIDTH - self.indent.chars().count()));
        self.text.push('\n');
    }

    /// One paragraph, wrapped; `first` stands before its first line, spaces before the others.
    fn paragraph(&mut self, first: &str, text: &str) {
        let hang: String = " ".repeat(first.chars().count());
        let mut lead = first;
        for line in text.split('\n') {
            let mut used = 0;
            let mut open = false;
            for word in line.split(' ').filter(|w| !w.is_empty()) {
                let length = word.chars().count();
                let room = WIDTH.saturating_sub(self.indent.chars().count() + hang.len());
                if open && used + 1 + length > room {
                    self.text.push('\n');
                    open = false;
                }
                if open {
                    self.text.push(' ');
                    used += 1 + length;
                } else {
                    self.text.push_str(&self.indent);
                    self.text.push_str(lead);
                    lead = &hang;
                    used = length;
                    open = true;
                }
                self.text.extend(word.chars().map(|c| if c == '\u{a0}' { ' ' } else { c }));
            }
            if open {
                self.text.push('\n');
            }
        }
    }

    fn within(&mut self, more: &str, write: impl FnOnce(&mut Self)) {
        let outer = self.indent.len();
        self.indent.push_str(more);
        write(self);
        self.indent.truncate(outer);
    }

    fn running(&mut self, part: &Running) {
        for banner in &part.banners {
            self.paragraph("*** ", &format!("{} ***", words(&banner.text)));
        }
        for column in [&part.left, &part.middle, &part.right] {
            let lines: Vec<String> = column.iter().map(|t| words(&t.text)).filter(|t| !t.is_empty()).collect();
            self.paragraph("", &lines.join("  "));
        }
    }

    fn node(&mut self, node: &Node) {
        match node {
            Node::Heading { level, text } => {
                self.gap();
                if *level == 1 {
                    self.paragraph("", &self.status.clone());
                }
                let text = words(text);
                let length = text.chars().count().min(WIDTH);
                self.paragraph("", &text);
                let under = if *level == 1 { "=" } else { "-" };
                self.paragraph("", &under.repeat(length));
            }
            Node::Text(text) => {
                if matches!(text.style, Style::Title | Style::Lead | Style::Label) {
                    self.gap();
                }
                self.paragraph("", &words(&text.text));
            }
            Node::List(list) => {
                let mark = if list.bullet == Bullet::Tick { "[ ] " } else { "- " };
                list.items.iter().for_each(|i| self.paragraph(mark, &words(i)));
            }
            Node::Table(table) => self.table(table),
            Node::Strip(strip) => {
                self.gap();
                let cells: Vec<String> = strip.cells.iter().map(|c| words(c)).collect();
                self.paragraph("== ", &format!("{} ==", cells.join(" | ")));
                strip.lines.iter().for_each(|l| self.paragraph("   ", &words(l)));
            }
            Node::Row(row) => self.row(row),
            Node::Panel(panel) => self.panel(panel),
            Node::Group(group) => self.group(group),
            Node::Blanks(blanks) => self.blanks(blanks),
            Node::Figure(figure) => self.figure(figure),
            Node::Grid(cells) => cells.iter().for_each(|c| self.paragraph("", &words(c).replace('\n', " \u{a0}\u{a0} "))),
        }
    }

    fn blanks(&mut self, blanks: &[Blank]) {
        let cells: Vec<String> = blanks.iter().map(|b| format!("{}: ________", words(&b.label))).collect();
        self.paragraph("", &cells.join("   "));
    }

    fn table(&mut self, table: &Table) {
        self.gap();
        let cell = |nodes: &Vec<Node>| -> String {
            let mut inner = Out { text: String::new(), indent: String::new(), status: String::new(), said: Arc::clone(&self.said) };
            nodes.iter().for_each(|n| inner.node(n));
            inner.text.trim_end().to_owned()
        };
        let rows: Vec<Vec<String>> =
            std::iter::once(&table.head).filter(|h| !h.is_empty()).chain(&table.rows).map(|r| r.iter().map(cell).collect()).collect();
        if rows.iter().flatten().any(|c| c.contains('\n')) {
            // A row a block: each value behind the head of its column.
            let heads = if table.head.is_empty() { &[][..] } else { &rows[0] };
            for row in &rows[usize::from(!table.head.is_empty())..] {
                for (i, cell) in row.iter().enumerate() {
                    let head = heads.get(i).filter(|h| !h.is_empty()).map_or(String::new(), |h| format!("{}: ", h.replace('\n', " ")));
                    for (n, line) in cell.lines().enumerate() {
                        let (hang, head) = if n == 0 { ("", head.as_str()) } else { ("  ", "") };
                        self.paragraph(hang, &format!("{head}{line}"));
                    }
                }
                self.gap();
            }
            return;
        }
        let columns = table.widths.len();
        let widths: Vec<usize> =
            (0..columns).map(|i| rows.iter().filter_map(|r| r.get(i)).map(|c| c.chars().count()).max().unwrap_or(0)).collect();
        for (i, row) in rows.iter().enumerate() {
            let line: Vec<String> = row.iter().zip(&widths).map(|(c, w)| format!("{c:<w$}")).collect();
            self.text.push_str(&self.indent);
            self.text.push_str(line.join(" | ").trim_end());
            self.text.push('\n');
            if i == 0 && !table.head.is_empty() {
                self.text.push_str(&self.indent);
                self.text.push_str(&"-".repeat(widths.iter().sum::<usize>() + 3 * columns.saturating_sub(1)));
                self.text.push('\n');
            }
        }
    }

    fn row(&mut self, row: &Row) {
        self.gap();
        let number: Vec<String> =
            row.number.iter().filter_map(|n| if let Node::Text(t) = n { Some(words(&t.text)) } else { None }).collect();
        let start = self.text.len();
        let pad = " ".repeat(NUMBER);
        self.within(&pad, |out| {
            row.body.iter().for_each(|n| out.node(n));
            let mut marks = Out { text: String::new(), indent: String::new(), status: String::new(), said: Arc::clone(&out.said) };
            row.actual.iter().chain(&row.sign).for_each(|n| marks.node(n));
            // The large box stands for the step, the small one for its not being applicable.
            let done = format!("[ ] {}", out.said.say(ids::PAGE_DONE));
            let marks: Vec<&str> =
                marks.text.lines().filter(|l| !l.is_empty()).map(|l| if l == "[ ]" { done.as_str() } else { l }).collect();
            out.paragraph("", &marks.join("   "));
        });
        // The number takes the place of the first indent; a changed step is marked before it.
        let column = start + self.indent.len();
        let mut label =
            format!("{}{:<width$}", if row.changed { "|" } else { "" }, number.join(" "), width = NUMBER - usize::from(row.changed));
        // The number of a step deep inside others fills its column: it must not run into the act.
        if !label.ends_with(' ') {
            label.push(' ');
        }
        if self.text.is_char_boundary(column + NUMBER) {
            self.text.replace_range(column..column + NUMBER, &label);
        }
    }

    fn panel(&mut self, panel: &Panel) {
        self.gap();
        let edge = match panel.frame {
            Frame::Warning => "!! ",
            Frame::Caution => "! ",
            Frame::Hold => "# ",
            Frame::Note | Frame::Witness | Frame::Plain => "| ",
        };
        let hold = panel.frame == Frame::Hold;
        if hold {
            self.rule('#');
        }
        self.within(edge, |out| {
            out.paragraph(if panel.changed { "| " } else { "" }, &words(&panel.title));
            panel.children.iter().for_each(|n| out.node(n));
        });
        if hold {
            self.paragraph("", &"#".repeat(WIDTH - self.indent.chars().count()));
        }
    }

    /// What a drawing says: its caption and the words in it.
    fn figure(&mut self, figure: &Figure) {
        self.gap();
        figure.caption.iter().for_each(|t| self.paragraph("", &words(&t.text)));
        let mut drawn: Vec<String> = Vec::new();
        for field in figure.drawing.fields() {
            if !drawn.contains(&field.text) {
                drawn.push(field.text);
            }
        }
        if drawn.is_empty() {
            return;
        }
        let said = Arc::clone(&self.said);
        self.paragraph("", &said.fill(ids::PAGE_DRAWN, [&said.row(&drawn, ids::LIST_SEMICOLON)]));
    }

    fn group(&mut self, group: &Group) {
        match group.kind {
            GroupKind::Inset => self.within("  ", |out| group.children.iter().for_each(|n| out.node(n))),
            GroupKind::Contingency => {
                self.rule('#');
                group.children.iter().for_each(|n| self.node(n));
                self.rule('#');
            }
            GroupKind::Front | GroupKind::Plain | GroupKind::Sheet => group.children.iter().for_each(|n| self.node(n)),
        }
    }
}
