//! The writer's Markdown as runs of one style, with links to steps and sections as their printed numbers.

use super::Basis;
use super::body::spans;
use super::place::At;
use crate::document::field::visible;
use crate::document::{Prose, Span, Table};
use crate::model::procedure::{Section, SectionKind, Step, Text};
use crate::words::ids;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

/// Stands before a paragraph while it is read, so that `5. ...` or `# ...` in it is not taken for a block of its own.
const GUARD: &str = "x ";

impl Basis<'_> {
    /// The words of a run of Markdown.
    pub(super) fn prose(&self, at: At<'_>, id: impl Into<String>, text: &Text) -> Prose {
        let file = self.sources.files.get(text.span.file);
        Prose { id: id.into(), spans: self.inline(at, text.span.of(&file.text)) }
    }

    /// Inline Markdown to spans. Raw HTML is dropped; reading the procedure has already reported it.
    pub(super) fn inline(&self, at: At<'_>, raw: &str) -> Vec<Span> {
        let line = raw.lines().map(|l| l.trim().trim_end_matches('\\').trim_end()).collect::<Vec<_>>().join(" ");
        let source = format!("{GUARD}{line}");
        let mut out = Spans::default();
        for event in Parser::new_ext(&source, Options::ENABLE_GFM) {
            self.take(at, event, &mut out);
        }
        out.finish(GUARD)
    }

    fn take(&self, at: At<'_>, event: Event<'_>, out: &mut Spans) {
        match event {
            Event::Text(text) => out.push(&text, false),
            Event::Code(text) => out.push(&text, true),
            Event::SoftBreak | Event::HardBreak => out.push(" ", false),
            Event::Start(Tag::Strong | Tag::Emphasis) => out.strong += 1,
            Event::End(TagEnd::Strong | TagEnd::Emphasis) => out.strong = out.strong.saturating_sub(1),
            Event::Start(Tag::Link { dest_url, .. }) => out.link = Some((dest_url.to_string(), String::new())),
            Event::End(TagEnd::Link) => {
                if let Some((target, words)) = out.link.take() {
                    out.spans.extend(self.link(at, &target, words));
                }
            }
            _ => {}
        }
    }

    /// A link as printed: its words, then the number of what it leads to. Words that are only a number are replaced.
    fn link(&self, at: At<'_>, target: &str, words: String) -> Vec<Span> {
        let Some((number, to)) = target.strip_prefix('#').and_then(|anchor| self.find(at, anchor)) else {
            return vec![Span::Plain { text: words }];
        };
        let Some(number) = number else { return vec![Span::Link { text: words, to }] };
        if is_number(&words, self.words().fill(ids::STEP_NAME, [""]).trim()) {
            return vec![Span::Link { text: number, to }];
        }
        let link = Span::Link { text: number, to };
        spans(self.words().pieces(ids::STEP_LINKED), &[("words", vec![Span::Plain { text: words }]), ("link", vec![link])])
    }

    /// The printed number and item of an anchor, seen from a step.
    fn find(&self, at: At<'_>, anchor: &str) -> Option<(Option<String>, String)> {
        let named = |a: &Option<crate::text::Spanned<String>>| a.as_ref().is_some_and(|a| a.value == anchor);
        if let Some(step) = at.procedure.steps.iter().find(|s: &&Step| named(&s.anchor)) {
            let (number, item) = self.printed(at.frame, step.id)?;
            return Some((Some(self.step_named(&number)), item));
        }
        let index = at.procedure.sections.iter().position(|s: &Section| named(&s.anchor))?;
        match at.procedure.sections[index].kind {
            SectionKind::Contingency => {
                let number = self.contingency(at, crate::model::SectionId(u16::try_from(index).ok()?));
                Some((Some(number.clone()), number))
            }
            SectionKind::Ordinary => Some((None, self.section_item(self.home(at.frame), index))),
            SectionKind::OnCall => None,
        }
    }

    /// A block of several paragraphs or list entries, one prose each; numbered and dotted entries keep their mark.
    pub(super) fn paragraphs(&self, at: At<'_>, item: &str, text: &Text) -> Vec<Prose> {
        let file = self.sources.files.get(text.span.file);
        let source = dedent(text.span.of(&file.text));
        let mut out: Vec<Vec<Span>> = Vec::new();
        let mut marks: Vec<Option<u64>> = Vec::new();
        let mut spans = Spans::default();
        let mut end = |spans: &mut Spans| {
            let done = std::mem::take(spans).finish("");
            if !done.is_empty() {
                out.push(done);
            }
        };
        for event in Parser::new_ext(&source, Options::ENABLE_GFM | Options::ENABLE_TABLES) {
            match event {
                Event::Start(Tag::List(first)) => {
                    end(&mut spans);
                    marks.push(first);
                }
                Event::End(TagEnd::List(_)) => {
                    end(&mut spans);
                    marks.pop();
                }
                Event::Start(Tag::Item) => {
                    end(&mut spans);
                    let mark = match marks.last_mut() {
                        Some(Some(n)) => {
                            *n += 1;
                            format!("{}. ", *n - 1)
                        }
                        _ => "- ".to_owned(),
                    };
                    spans.push(&mark, false);
                }
                Event::End(TagEnd::Paragraph | TagEnd::Item | TagEnd::CodeBlock | TagEnd::Heading(_)) => end(&mut spans),
                event => self.take(at, event, &mut spans),
            }
        }
        end(&mut spans);
        out.into_iter().enumerate().map(|(i, spans)| Prose { id: format!("{item}.p{}", i + 1), spans }).collect()
    }

    /// A Markdown table.
    pub(super) fn table(&self, at: At<'_>, item: String, text: &Text) -> Table {
        let file = self.sources.files.get(text.span.file);
        let source = dedent(text.span.of(&file.text));
        let (mut head, mut rows, mut row) = (Vec::new(), Vec::new(), Vec::new());
        let mut spans = Spans::default();
        for event in Parser::new_ext(&source, Options::ENABLE_TABLES | Options::ENABLE_GFM) {
            match event {
                Event::Start(Tag::TableCell) => spans = Spans::default(),
                Event::End(TagEnd::TableCell) => {
                    let id = format!("{item}.r{}c{}", rows.len() + usize::from(!head.is_empty()), row.len() + 1);
                    row.push(Prose { id, spans: std::mem::take(&mut spans).finish("") });
                }
                Event::End(TagEnd::TableHead) => head = std::mem::take(&mut row),
                Event::End(TagEnd::TableRow) => rows.push(std::mem::take(&mut row)),
                event => self.take(at, event, &mut spans),
            }
        }
        Table { item, head, rows }
    }
}

/// Whether words say a number of an item and nothing else, such as "step 14", "Step 3.2" or "C1"; or what the print calls a step.
fn is_number(words: &str, step: &str) -> bool {
    let words = words.trim();
    let named = |word: &str| ["step", step].iter().any(|name| word.to_lowercase() == name.to_lowercase());
    let rest = words.split_once(' ').filter(|(word, _)| named(word)).map_or(words, |(_, rest)| rest);
    !rest.contains(' ')
        && rest.starts_with(|c: char| c.is_ascii_digit() || matches!(c, 'C' | 'P'))
        && rest.bytes().any(|b| b.is_ascii_digit())
}

/// A block that stands indented under an item, as if it stood alone.
fn dedent(raw: &str) -> String {
    let indent = raw.lines().skip(1).filter(|l| !l.trim().is_empty()).map(|l| l.len() - l.trim_start().len()).min().unwrap_or(0);
    let mut lines = raw.lines();
    let mut out = lines.next().unwrap_or("").trim_start().to_owned();
    for line in lines {
        out.push('\n');
        out.push_str(line.get(indent.min(line.len())..).unwrap_or_else(|| line.trim_start()));
    }
    out
}

/// Runs being collected; neighbours of one style are joined.
#[derive(Default)]
struct Spans {
    spans: Vec<Span>,
    strong: usize,
    link: Option<(String, String)>,
}

impl Spans {
    fn push(&mut self, text: &str, code: bool) {
        let text = &visible(text.to_owned());
        if let Some((_, words)) = &mut self.link {
            words.push_str(text);
            return;
        }
        let style = match (code, self.strong > 0, self.spans.last_mut()) {
            (false, false, Some(Span::Plain { text: last })) | (false, true, Some(Span::Strong { text: last })) => {
                last.push_str(text);
                return;
            }
            (true, ..) => Span::Code { text: text.to_owned() },
            (false, true, _) => Span::Strong { text: text.to_owned() },
            (false, false, _) => Span::Plain { text: text.to_owned() },
        };
        self.spans.push(style);
    }

    /// The runs without the guard at the front and without white space at the ends.
    fn finish(mut self, guard: &str) -> Vec<Span> {
        if let Some(Span::Plain { text }) = self.spans.first_mut() {
            *text = text.strip_prefix(guard).or_else(|| text.strip_prefix(guard.trim_end())).unwrap_or(text).trim_start().to_owned();
        }
        if let Some(Span::Plain { text }) = self.spans.last_mut() {
            text.truncate(text.trim_end().len());
        }
        self.spans.retain(|s| !s.text().is_empty());
        self.spans
    }
}
