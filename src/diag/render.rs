//! Findings as text: the full form with source excerpts for a terminal, and the short form of one line each.
//!
//! Invariant: what the author wrote never reaches a terminal as a command. Control, bidirectional and
//! invisible characters of excerpts and messages are shown as `U+XXXX`, with the marks still in place.

use super::{Diagnostic, Severity};
use crate::text::{File, Files, Span};
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{Annotation, AnnotationKind, Element, Group, Level, Patch, Renderer, Snippet};
use std::fmt::Write as _;
use std::ops::Range;

/// How findings are drawn; the caller knows the terminal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Colours.
    pub colour: bool,
    /// Columns available.
    pub width: usize,
}

impl Style {
    /// For files and tests.
    pub const PLAIN: Style = Style { colour: false, width: 140 };
}

/// Marks further apart than this many lines are drawn as separate excerpts.
const NEAR: usize = 40;

/// A finding with its source excerpts, ending in a line feed.
pub fn full(finding: &Diagnostic, files: &Files, style: Style) -> String {
    let level = level(finding.severity);
    let mut main = level
        .primary_title(clean(&finding.message))
        .id(finding.rule.id)
        .elements(places(finding, files).into_iter().map(|place| Element::from(place.snippet(finding.span, files))));
    if let Some(path) = &finding.path {
        let step = finding.step.as_ref().map_or(String::new(), |s| format!("at step {s}, "));
        main = main.element(Level::NOTE.message(clean(&format!("{step}{path}"))));
    }
    for help in &finding.help {
        main = main.element(Level::HELP.message(clean(help)));
    }
    let mut groups = vec![main];
    if let Some(fix) = &finding.fix {
        let file = files.get(fix.span.file);
        let excerpt = Excerpt::of(&file, lines(&file, fix.span));
        let patch = Patch::new(excerpt.range(fix.span), fix_text(&fix.text));
        let snippet = Snippet::source(excerpt.text).line_start(excerpt.first).path(clean(&file.name)).patch(patch);
        groups.push(Group::with_title(Level::HELP.secondary_title(clean(&fix.title))).element(snippet));
    }
    let renderer = if style.colour { Renderer::styled() } else { Renderer::plain() };
    let mut out = renderer.decor_style(DecorStyle::Ascii).term_width(style.width).render(&groups);
    out.push('\n');
    out
}

/// `file:line:column: error[rule]: message`, ending in a line feed.
pub fn short(finding: &Diagnostic, files: &Files) -> String {
    let file = files.get(finding.span.file);
    let at = file.position(finding.span.start);
    let path = finding.path.as_ref().map_or(String::new(), |p| format!(" ({p})"));
    clean(&format!("{}:{}:{}: {}[{}]: {}{path}", file.name, at.line, at.column, finding.severity.word(), finding.rule.id, finding.message))
        + "\n"
}

/// Text safe to show on one line of a terminal: controls, bidirectional and invisible characters become
/// `U+XXXX`, line breaks become spaces.
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\t' => out.push(' '),
            c => push_visible(&mut out, c),
        }
    }
    out
}

/// The replacement of a fix, safe to show, its line breaks kept.
fn fix_text(text: &str) -> String {
    text.split('\n').map(clean).collect::<Vec<_>>().join("\n")
}

fn push_visible(out: &mut String, c: char) {
    if is_hidden(c) {
        let _ = write!(out, "U+{:04X}", u32::from(c));
    } else {
        out.push(c);
    }
}

/// Characters that act on a terminal or on the reading order, or that cannot be seen.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}')
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Advice => Level::INFO.with_name(Severity::Advice.word()),
    }
}

/// Marks of one file that stand near each other, and the lines (from 1) that show them.
struct Place<'a> {
    lines: Range<usize>,
    marks: Vec<(Span, &'a str)>,
}

/// The finding's own place first, then the other places in order, near ones together.
fn places<'a>(finding: &'a Diagnostic, files: &Files) -> Vec<Place<'a>> {
    let place = |span: Span, text: &'a str| Place { lines: lines(&files.get(span.file), span), marks: vec![(span, text)] };
    let mut out = vec![place(finding.span, &finding.mark)];
    for label in &finding.labels {
        let new = place(label.span, &label.text);
        match out.iter_mut().find(|old| {
            old.marks[0].0.file == label.span.file && old.lines.start < new.lines.end + NEAR && new.lines.start < old.lines.end + NEAR
        }) {
            Some(old) => {
                old.lines = old.lines.start.min(new.lines.start)..old.lines.end.max(new.lines.end);
                old.marks.extend(new.marks);
            }
            None => out.push(new),
        }
    }
    out
}

impl Place<'_> {
    fn snippet(&self, own: Span, files: &Files) -> Snippet<'static, Annotation<'static>> {
        let file = files.get(self.marks[0].0.file);
        let excerpt = Excerpt::of(&file, self.lines.clone());
        let annotations: Vec<_> = self
            .marks
            .iter()
            .enumerate()
            .map(|(i, (span, text))| {
                let kind = if i == 0 && *span == own { AnnotationKind::Primary } else { AnnotationKind::Context };
                let annotation = kind.span(excerpt.range(*span));
                if text.is_empty() { annotation } else { annotation.label(clean(text)) }
            })
            .collect();
        Snippet::source(excerpt.text).line_start(excerpt.first).path(clean(&file.name)).annotations(annotations)
    }
}

/// The lines (from 1) that a span touches.
fn lines(file: &File, span: Span) -> Range<usize> {
    let first = file.position(span.start).line;
    let last = file.position(if span.end > span.start { span.end - 1 } else { span.end }).line;
    first..last.max(first) + 1
}

/// Whole lines of a file, made safe to show, with the way from source bytes to shown bytes.
struct Excerpt {
    text: String,
    /// Number of the first line.
    first: usize,
    /// Source byte of the first shown byte.
    from: usize,
    /// For each source byte from `from` to one past the last, the shown byte.
    shown: Vec<usize>,
}

impl Excerpt {
    fn of(file: &File, lines: Range<usize>) -> Excerpt {
        let (from, to) = (file.line_range(lines.start).start, file.line_range(lines.end - 1).end);
        let source = &file.text[from..to];
        let mut text = String::with_capacity(source.len());
        let mut shown = Vec::with_capacity(source.len() + 1);
        let mut rest = source.chars().peekable();
        while let Some(c) = rest.next() {
            shown.extend(std::iter::repeat_n(text.len(), c.len_utf8()));
            match c {
                '\r' if rest.peek() == Some(&'\n') => {}
                '\n' | '\t' => text.push(c),
                c => push_visible(&mut text, c),
            }
        }
        shown.push(text.len());
        Excerpt { text, first: lines.start, from, shown }
    }
    fn range(&self, span: Span) -> Range<usize> {
        let at = |byte: u32| self.shown[(byte as usize).saturating_sub(self.from).min(self.shown.len() - 1)];
        at(span.start)..at(span.end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SAMPLE;

    fn span(files: &Files, id: crate::text::FileId, word: &str) -> Span {
        let start = files.get(id).text.find(word).unwrap_or(usize::MAX);
        Span::new(id, start, start + word.len())
    }

    #[test]
    fn marks_stand_under_the_word_after_a_degree_sign_and_an_emoji() {
        let files = Files::default();
        let step = files.add(File::new("b3.md", "# Take\n\n7. 5\u{b0} \u{1f9be} `shoulder raise to +105 deg`\n"));
        let arm = files.add(File::new("arms/heron.toml", "[[joint]]\nname = \"shoulder\"\nhigh = \"90 deg\"\n"));
        let finding = SAMPLE
            .at(span(&files, step, "+105 deg"), "shoulder +105 deg lies beyond its soft limit of +88 deg")
            .mark("17 deg too far")
            .label(span(&files, arm, "\"90 deg\""), "the stop; the soft limit is 2 deg inside")
            .path("if 5A was taken")
            .step("7")
            .help("the farthest target with a band of 0.5 deg is +87.5 deg")
            .fix(span(&files, step, "+105 deg"), "+87.5 deg", "stop at the soft limit");
        let shown = full(&finding, &files, Style::PLAIN);
        let expected = "\
error[over-travel]: shoulder +105 deg lies beyond its soft limit of +88 deg
 --> b3.md:3:28
  |
3 | 7. 5\u{b0} \u{1f9be} `shoulder raise to +105 deg`
  |                             ^^^^^^^^ 17 deg too far
  |
 ::: arms/heron.toml:3:8
  |
3 | high = \"90 deg\"
  |        -------- the stop; the soft limit is 2 deg inside
  |
  = note: at step 7, if 5A was taken
  = help: the farthest target with a band of 0.5 deg is +87.5 deg
help: stop at the soft limit
  |
3 - 7. 5\u{b0} \u{1f9be} `shoulder raise to +105 deg`
3 + 7. 5\u{b0} \u{1f9be} `shoulder raise to +87.5 deg`
  |
";
        assert_eq!(shown, expected, "\n{shown}");
        assert_eq!(
            short(&finding, &files),
            "b3.md:3:28: error[over-travel]: shoulder +105 deg lies beyond its soft limit of +88 deg (if 5A was taken)\n"
        );
        assert!(full(&finding, &files, Style { colour: true, width: 80 }).contains("\u{1b}["));
    }

    #[test]
    fn nothing_an_author_wrote_acts_on_the_terminal() {
        let files = Files::default();
        let id = files.add(File::new("\u{1b}]0;x.md", "\u{1b}[2Jone \u{202e}two\u{202c} three\r\nfour\n"));
        let finding =
            SAMPLE.at(span(&files, id, "three"), "bad \u{202e}word\u{7}").help("\u{9b}1m").label(span(&files, id, "two"), "\u{200b}");
        for text in [full(&finding, &files, Style::PLAIN), short(&finding, &files)] {
            assert!(text.chars().all(|c| c == '\n' || !is_hidden(c)), "{text:?}");
            assert!(text.contains("U+202E") && text.contains("U+0007"), "{text}");
        }
        let shown = full(&finding, &files, Style::PLAIN);
        let mut rows = shown.lines();
        let source = rows.find(|l| l.contains("three")).unwrap_or("");
        let marks = rows.next().unwrap_or("");
        assert_eq!(source.find("three"), marks.find("^^^^^"), "{shown}");
    }

    #[test]
    fn a_finding_in_an_empty_file_and_at_the_end_of_a_file_can_be_shown() {
        let files = Files::default();
        for text in ["", "one", "one\n"] {
            let id = files.add(File::new("e.md", text));
            let shown = full(&SAMPLE.at(Span::new(id, text.len(), text.len()), "nothing here"), &files, Style::PLAIN);
            assert!(shown.contains("nothing here") && shown.contains("e.md"), "{shown}");
        }
    }
}
