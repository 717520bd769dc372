//! The Markdown events of a procedure with their bytes, and the inline pieces every block shares.
//!
//! Invariant: whoever consumes a `Start` event consumes everything up to its `End`, so that a mistake in a
//! block never shifts the blocks after it.

use super::blocks::rules::*;
use super::characters;
use super::statement::{Walk, looks_like};
use super::tree::{Link, Name, Target};
use crate::diag::Diagnostic;
use crate::text::{FileId, Span, Spanned};
use pulldown_cmark::{Event, LinkType, OffsetIter, Options, Parser, Tag, TagEnd};
use std::ops::Range;

/// What a code span or a fence means where it stands.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Code {
    /// An error if it reads as a statement.
    Judged,
    /// An error whatever it says: only the statement of a step stands in backticks.
    Refused,
    /// Part of something that was reported already.
    Muted,
}

/// The event stream of one file.
pub(super) struct Reader<'t> {
    pub(super) file: FileId,
    pub(super) text: &'t str,
    base: usize,
    events: OffsetIter<'t>,
    pub(super) problems: Vec<Diagnostic>,
    /// Reads one statement after the other.
    pub(super) walk: Walk<'t>,
}

impl<'t> Reader<'t> {
    /// Reads Markdown from byte `base` of `text`.
    pub(super) fn new(file: FileId, text: &'t str, base: usize, problems: Vec<Diagnostic>) -> Self {
        let options = Options::ENABLE_TABLES | Options::ENABLE_HEADING_ATTRIBUTES | Options::ENABLE_GFM;
        let events = Parser::new_ext(&text[base..], options).into_offset_iter();
        Reader { file, text, base, events, problems, walk: Walk::new(file) }
    }
    /// The next event and its bytes in the file.
    pub(super) fn next(&mut self) -> Option<(Event<'t>, Range<usize>)> {
        // Changed in place: an event is large, and moving it costs as much as reading it.
        let mut next = self.events.next();
        if let Some((_, range)) = &mut next {
            range.start += self.base;
            range.end += self.base;
        }
        next
    }
    pub(super) fn span(&self, range: Range<usize>) -> Span {
        Span::new(self.file, range.start, range.end)
    }
    pub(super) fn report(&mut self, problem: Diagnostic) {
        self.problems.push(problem);
    }
    /// A range without the blanks at its ends.
    pub(super) fn trim(&self, range: Range<usize>) -> Range<usize> {
        // Most have none.
        if let Some([first, .., last]) = self.text.as_bytes().get(range.clone())
            && first.is_ascii_graphic()
            && last.is_ascii_graphic()
        {
            return range;
        }
        let body = self.text.get(range.clone()).unwrap_or("");
        let start = range.start + body.len() - body.trim_start().len();
        start..(range.start + body.trim_end().len()).max(start)
    }
    /// The first line of a range, without its line end.
    pub(super) fn first_line(&self, range: Range<usize>) -> Range<usize> {
        let range = self.trim(range);
        let end = self.text[range.clone()].find('\n').map_or(range.end, |i| range.start + i);
        self.trim(range.start..end)
    }

    /// Consumes everything up to the end of the element just started; judges what it passes and collects links.
    pub(super) fn consume(&mut self, code: Code, links: &mut Vec<Link>) {
        let mut depth = 0_usize;
        while let Some((event, range)) = self.next() {
            match event {
                Event::Start(Tag::CodeBlock(_)) => self.fence(range, code),
                Event::Start(Tag::HtmlBlock) => self.html_block(range, code),
                Event::Start(Tag::BlockQuote(kind)) => {
                    depth += 1;
                    if kind.is_some() && code == Code::Judged {
                        let first = self.first_line(range);
                        let problem = MISPLACED_ALERT.at(self.span(first), "an alert stands inside another block");
                        self.report(problem.help("put it unindented before the step it guards"));
                    }
                }
                Event::Start(Tag::Link { link_type, dest_url, .. }) => self.link(link_type, &dest_url, range, code, links),
                Event::Start(tag) => {
                    self.inline_tag(&tag, &range);
                    depth += 1;
                }
                Event::End(_) => match depth.checked_sub(1) {
                    Some(d) => depth = d,
                    None => return,
                },
                event => self.inline(&event, range, code),
            }
        }
    }

    /// An event inside a paragraph that opens nothing.
    pub(super) fn inline(&mut self, event: &Event<'t>, range: Range<usize>, code: Code) {
        match event {
            Event::Code(_) => self.code(range, code),
            Event::Html(_) | Event::InlineHtml(_) if code != Code::Muted => self.raw_html(range),
            Event::Text(words) if code != Code::Muted && words.contains('`') => self.stray_tick(range),
            _ => {}
        }
    }
    fn stray_tick(&mut self, range: Range<usize>) {
        let Some(at) = self.text[range.clone()].find('`').map(|i| range.start + i) else { return };
        // Escaped, it is meant to be printed.
        if self.text[..at].ends_with('\\') {
            return;
        }
        let ticks = self.text[at..range.end].bytes().take_while(|b| *b == b'`').count();
        let problem = STRAY_TICK.at(self.span(at..at + ticks), "this backtick has no partner, so no statement is read here");
        self.report(problem.help("a statement stands between two backticks, at the very start of its numbered item"));
    }
    fn raw_html(&mut self, range: Range<usize>) {
        let range = self.first_line(range);
        let problem = RAW_HTML.at(self.span(range), "raw HTML is not printed");
        self.report(problem.help("write it in Markdown, or leave it out"));
    }
    /// Consumes a block of HTML just started.
    pub(super) fn html_block(&mut self, range: Range<usize>, code: Code) {
        if code != Code::Muted {
            self.raw_html(range);
        }
        self.consume(Code::Muted, &mut Vec::new());
    }
    /// Looks at an inline element that is opened.
    pub(super) fn inline_tag(&mut self, tag: &Tag<'t>, range: &Range<usize>) {
        let Tag::Image { dest_url, .. } = tag else { return };
        if has_scheme(dest_url) {
            let problem = REMOTE_IMAGE.at(self.span(range.clone()), "the picture is not a file beside the procedure");
            self.report(problem.help("put the picture into the folder of the procedure and name it by its relative path"));
        }
    }

    fn code(&mut self, range: Range<usize>, code: Code) {
        let (inside, _) = ticks(self.text, range.clone());
        let shadowed = match code {
            Code::Judged => looks_like(&self.text[inside]),
            Code::Refused => true,
            Code::Muted => false,
        };
        if shadowed {
            let mut problem = SHADOWED_STATEMENT.at(
                self.span(range),
                if code == Code::Refused {
                    "a code span in a step that is not at its very start is not read as a statement"
                } else {
                    "this looks like a statement but is not read as one"
                },
            );
            problem = problem
                .help("a statement stands between backticks right after the number of its step; set other words in plain text or **bold**");
            self.report(problem);
        }
    }

    /// A fence or an indented code block: judged line by line.
    pub(super) fn fence(&mut self, block: Range<usize>, code: Code) {
        let mut found = None;
        for (event, range) in self.events.by_ref() {
            match event {
                Event::End(TagEnd::CodeBlock) => break,
                Event::Text(_) if found.is_none() && code != Code::Muted => {
                    let start = self.base + range.start;
                    let mut at = start;
                    for line in self.text[start..self.base + range.end].split_inclusive('\n') {
                        let bare = line
                            .trim_start_matches(|c: char| c.is_ascii_digit() || " \t.)-*>`".contains(c))
                            .trim_end_matches(|c: char| c.is_whitespace() || c == '`');
                        if !bare.is_empty() && looks_like(bare.trim_end_matches('`')) {
                            let from = at + line.len() - line.trim_start().len();
                            found = Some(from..at + line.trim_end().len());
                            break;
                        }
                        at += line.len();
                    }
                }
                _ => {}
            }
        }
        if let Some(line) = found {
            let problem = SHADOWED_STATEMENT.at(self.span(line), "a statement in a code block is not read as one");
            self.report(problem.help("write it as a numbered item with one code span; check the indentation"));
        } else if code == Code::Refused {
            let first = self.first_line(block);
            self.stray_block(first, "a code block");
        }
    }

    /// Something that has no place in a step.
    pub(super) fn stray_block(&mut self, range: Range<usize>, what: &str) {
        let problem = STRAY_BLOCK.at(self.span(range), format!("{what} stands inside a step"));
        self.report(
            problem.help("a step holds its statement, words, and labelled lines; put anything else before or after it, unindented"),
        );
    }

    /// Reads a link just started, up to its end.
    pub(super) fn link(&mut self, kind: LinkType, url: &str, range: Range<usize>, code: Code, links: &mut Vec<Link>) {
        let mut words: Option<Range<usize>> = None;
        let mut depth = 0_usize;
        while let Some((event, inner)) = self.next() {
            match &event {
                Event::End(_) => match depth.checked_sub(1) {
                    Some(d) => depth = d,
                    None => break,
                },
                Event::Start(tag) => {
                    self.inline_tag(tag, &inner);
                    depth += 1;
                }
                _ => self.inline(&event, inner.clone(), code),
            }
            words = Some(words.map_or(inner.clone(), |w| w.start.min(inner.start)..w.end.max(inner.end)));
        }
        let whole = self.span(range.clone());
        let outside = matches!(kind, LinkType::Autolink | LinkType::Email) || has_scheme(url) || url.starts_with("//");
        if outside {
            if code != Code::Muted {
                let problem = OUTSIDE_LINK.at(whole, format!("the link leads to `{}`, out of the procedure", url.escape_debug()));
                self.report(
                    problem.help("link to a section or a file beside this one; name an outside document by its number, title and section"),
                );
            }
            return;
        }
        let (path, anchor) = match url.split_once('#') {
            Some((path, anchor)) => (path, Some(anchor)),
            None => (url, None),
        };
        let value = match (path, anchor) {
            ("", Some(anchor)) if !anchor.is_empty() => Target::Anchor(anchor.to_string()),
            (path, anchor) if !path.is_empty() && anchor != Some("") => {
                Target::File { path: path.to_string(), anchor: anchor.map(str::to_string) }
            }
            _ => {
                if code != Code::Muted {
                    let problem = OUTSIDE_LINK.at(whole, "the link leads nowhere");
                    self.report(problem.help("write the anchor of a section or step: `[back out](#back-out)`"));
                }
                return;
            }
        };
        // The target of an inline link stands last in its brackets; of another kind the whole link is marked.
        let raw = &self.text[range.clone()];
        let target = match raw.rfind(url).filter(|_| kind == LinkType::Inline) {
            Some(i) => self.span(range.start + i..range.start + i + url.len()),
            None => whole,
        };
        if let (true, problem) = characters::judge(self.file, target.start as usize, target.of(self.text)) {
            self.problems.extend(problem);
            return;
        }
        let words = words.map_or(whole, |w| self.span(w));
        links.push(Link { span: whole, words, target: Spanned::new(value, target) });
    }

    /// An anchor's name, unless a character in it was reported. Whether it is well made and given only once is
    /// judged where links are followed.
    pub(super) fn anchor(&mut self, name: Range<usize>) -> Option<Name> {
        let (unreadable, problem) = characters::judge(self.file, name.start, &self.text[name.clone()]);
        self.problems.extend(problem);
        (!unreadable).then(|| self.span(name))
    }
}

/// Whether a link's target carries a scheme such as `https:` or `javascript:`.
fn has_scheme(url: &str) -> bool {
    url.starts_with("//")
        || url.split_once(':').is_some_and(|(scheme, _)| {
            scheme.starts_with(|c: char| c.is_ascii_alphabetic()) && scheme.chars().all(|c| c.is_ascii_alphanumeric() || "+-.".contains(c))
        })
}

/// The bytes inside the backticks of a code span, and how many backticks there are.
pub(super) fn ticks(text: &str, range: Range<usize>) -> (Range<usize>, usize) {
    let bytes = &text.as_bytes()[range.clone()];
    let count = bytes.iter().take_while(|b| **b == b'`').count();
    if bytes.len() < 2 * count {
        return (range, 0);
    }
    (range.start + count..range.end - count, count)
}
