//! Steps: the items of ordered lists, with their statement, words, labelled lines, arms and bodies.

mod lines;
pub(super) mod rules;

pub use rules::*;

use super::blocks::begins_like_label;
use super::reader::{Code, Reader, ticks};
use super::statement;
use super::tree::{Arm, Line, Name, Statement, Step, Text};
use crate::text::{Span, Spanned};
use pulldown_cmark::{Event, Tag, TagEnd};
use std::ops::Range;

/// Deepest nesting of arms and bodies.
const DEEPEST: usize = 16;

/// Counts the steps of one run of numbers as they will be printed.
#[derive(Debug, Default)]
pub(super) struct Numbering {
    printed: u32,
    /// The numeral before, and by how much it was off: one slip shifts all that follow, and is told once.
    last: Option<(u32, i64)>,
}

impl Numbering {
    fn count(&mut self, r: &mut Reader<'_>, numeral: Spanned<u32>) {
        self.printed += 1;
        let off = i64::from(numeral.value) - i64::from(self.printed);
        let told = self.last.is_some_and(|(before, last)| last == off || (before == numeral.value && last != 0));
        self.last = Some((numeral.value, off));
        if off != 0 && !told {
            let printed = self.printed;
            let problem =
                RENUMBERED_STEP.at(numeral.span, format!("this step is printed as {printed} but numbered {} here", numeral.value));
            let problem = problem.help("`surehand fmt` renumbers the whole file; people quote the numbers over the phone");
            r.report(problem.fix(numeral.span, printed.to_string(), format!("write {printed}")));
        }
    }
}

/// What a step is made of while it is read.
#[derive(Default)]
struct Parts {
    statement: Option<Spanned<Statement>>,
    broken: bool,
    lines: Vec<Line>,
    arms: Vec<Arm>,
    body: Vec<Step>,
    substeps_told: bool,
    /// An arm could not be read; that it seems to have no steps is no mistake of its own.
    arm_told: bool,
}

impl Parts {
    fn is(&self, wanted: impl Fn(&Statement) -> bool) -> bool {
        self.broken || self.statement.as_ref().is_some_and(|s| wanted(&s.value))
    }
    fn begun_below(&self) -> bool {
        !(self.lines.is_empty() && self.arms.is_empty() && self.body.is_empty())
    }
}

/// Reads the item just started, up to its end.
pub(super) fn step(r: &mut Reader<'_>, item: Range<usize>, numbering: &mut Numbering, depth: usize) -> Step {
    let (numeral, content) = marker(r, item.clone());
    numbering.count(r, numeral);
    let mut parts = Parts::default();
    let mut links = Vec::new();
    let mut links_refused = false;
    let mut body_numbers = Numbering::default();
    let (mut words_start, mut words_end) = (content, content);
    while let Some((event, range)) = r.next() {
        match &event {
            Event::End(TagEnd::Item) => break,
            Event::Start(Tag::Paragraph) if parts.begun_below() => {
                let first = r.first_line(range);
                r.stray_block(first, "a paragraph after the labelled lines");
                r.consume(Code::Muted, &mut Vec::new());
            }
            Event::Start(Tag::List(None)) => {
                while let Some((Event::Start(Tag::Item), item)) = r.next() {
                    lines::bullet(r, item, &mut parts, depth);
                }
            }
            Event::Start(Tag::List(Some(_))) => substeps(r, range, &mut parts, &mut body_numbers, depth),
            Event::Start(Tag::BlockQuote(kind)) => {
                let first = r.first_line(range);
                if kind.is_some() {
                    let problem = MISPLACED_ALERT.at(r.span(first), "an alert stands inside a step");
                    r.report(problem.help("put it unindented before the step it guards, with an empty line on both sides"));
                } else {
                    r.stray_block(first, "a quotation");
                }
                r.consume(Code::Muted, &mut Vec::new());
            }
            Event::Start(Tag::CodeBlock(_)) => r.fence(range, Code::Refused),
            Event::Start(Tag::HtmlBlock) => r.html_block(range, Code::Refused),
            Event::Start(Tag::Heading { .. }) => stray(r, range, "a heading"),
            Event::Start(Tag::Table(_)) => stray(r, range, "a table"),
            Event::Rule => r.stray_block(range, "a rule"),
            Event::Code(_) if range.start == content => {
                let (inside, _) = ticks(r.text, range.clone());
                let (file, text) = (r.file, r.text);
                match r.walk.read(file, inside.start, &text[inside]) {
                    Ok(statement) => parts.statement = Some(Spanned::new(statement, r.span(range.clone()))),
                    Err(problem) => {
                        parts.broken = true;
                        r.problems.extend(problem.map(|p| *p));
                    }
                }
                (words_start, words_end) = (range.end, range.end);
            }
            Event::Start(Tag::Link { link_type, dest_url, .. }) => {
                words_end = range.end;
                let before = links.len();
                r.link(*link_type, dest_url, range, Code::Refused, &mut links);
                links_refused |= links.len() == before;
            }
            Event::Start(Tag::Paragraph) | Event::End(_) => {}
            Event::Start(tag) => {
                words_end = words_end.max(range.end);
                r.inline_tag(tag, &range);
            }
            _ => {
                words_end = words_end.max(range.end);
                let code = if parts.broken { Code::Judged } else { Code::Refused };
                r.inline(&event, range, code);
            }
        }
    }
    let mut words = r.trim(words_start..words_end);
    let anchor = anchor(r, &mut words);
    stray_line(r, words.clone(), content);
    let span = r.trim(item);
    // Where the link of a jump was refused, nothing more is to be said about the jump.
    let jump = |s: &Spanned<Statement>| matches!(s.value, Statement::Perform | Statement::GoTo);
    if links_refused && parts.statement.as_ref().is_some_and(jump) {
        (parts.statement, parts.broken) = (None, true);
    }
    let step = Step {
        span: r.span(span),
        numeral,
        anchor,
        statement: parts.statement,
        broken: parts.broken,
        text: Text { span: r.span(words), links },
        lines: parts.lines,
        arms: parts.arms,
        body: parts.body,
    };
    complete(r, &step, parts.arm_told);
    step
}

fn stray(r: &mut Reader<'_>, range: Range<usize>, what: &str) {
    let first = r.first_line(range);
    r.stray_block(first, what);
    r.consume(Code::Muted, &mut Vec::new());
}

/// The item's numeral, and where its content starts.
fn marker(r: &Reader<'_>, item: Range<usize>) -> (Spanned<u32>, usize) {
    let bytes = r.text.as_bytes();
    let skip = |mut at: usize, wanted: fn(u8) -> bool| {
        while at < item.end && wanted(bytes[at]) {
            at += 1;
        }
        at
    };
    let start = skip(item.start, |b| b == b' ' || b == b'\t');
    let end = skip(start, |b| b.is_ascii_digit());
    let point = (end + 1).min(item.end);
    let content = skip(point, |b| b == b' ' || b == b'\t');
    let value = r.text[start..end].parse().unwrap_or(0);
    (Spanned::new(value, r.span(start..end)), content)
}

/// Reads a nested ordered list: the body of a `repeat`, or a mistake.
fn substeps(r: &mut Reader<'_>, range: Range<usize>, parts: &mut Parts, numbers: &mut Numbering, depth: usize) {
    let allowed = parts.is(|s| matches!(s, Statement::Repeat(_)));
    if !allowed || depth >= DEEPEST {
        if !parts.substeps_told {
            let first = r.first_line(range);
            let problem = STRAY_SUBSTEPS.at(r.span(first), "numbered items stand directly under a step that is no `repeat`");
            r.report(
                problem.help("make them steps of their own, or put them under `- then` of an `if`, or under a `repeat at most N until`"),
            );
            parts.substeps_told = true;
        }
        r.consume(Code::Muted, &mut Vec::new());
        return;
    }
    while let Some((Event::Start(Tag::Item), item)) = r.next() {
        let inner = step(r, item, numbers, depth + 1);
        parts.body.push(inner);
    }
}

/// Takes `{#name}` off the end of the words.
fn anchor(r: &mut Reader<'_>, words: &mut Range<usize>) -> Option<Name> {
    let raw = &r.text[words.clone()];
    // A single byte is found much faster than two, and most words have none.
    raw.as_bytes().contains(&b'{').then_some(())?;
    let open = raw.rfind("{#")?;
    let start = words.start + open;
    let Some(close) = raw[open..].find('}') else {
        r.report(UNCLOSED_ANCHOR.at(r.span(start..words.end), "the anchor is not closed").help("write it as `{#name}`"));
        return None;
    };
    if start + close + 1 != words.end {
        let problem = MISPLACED_ANCHOR.at(r.span(start..start + close + 1), "an anchor stands in the middle of the words");
        r.report(problem.help("put it at the end of the item's words, before the labelled lines"));
        return None;
    }
    let name = start + 2..start + close;
    *words = r.trim(words.start..start);
    if words.start == words.end {
        *words = start..start;
    }
    r.anchor(name)
}

/// A line of the words of a step that is meant to be one below it: it lacks its dash, or the blanks before that.
fn stray_line(r: &mut Reader<'_>, words: Range<usize>, content: usize) {
    let mut at = words.start;
    let begins = |at: usize| r.text[..at].rfind('\n').map_or(0, |n| n + 1);
    for line in r.text[words].split_inclusive('\n') {
        let body = line.trim();
        let start = at + line.len() - line.trim_start().len();
        at += line.len();
        let first = !r.text[begins(start)..start].trim().is_empty();
        let bullet = ["- ", "* ", "+ "].iter().any(|mark| body.starts_with(mark));
        let label = begins_like_label(body);
        if first || (label.is_none() && !bullet) {
            continue;
        }
        let (whole, here) = (r.span(start..start + body.len()), r.span(start..start));
        let (column, indent) = (content - begins(content), start - begins(start));
        r.report(match label {
            Some(label) => STRAY_LABEL
                .at(whole, format!("`{label}` begins a line of the step's words and is not read as a labelled line"))
                .help("a labelled line is a bullet under its step")
                .fix(here, "- ", "put a dash before it"),
            None => STRAY_LABEL
                .at(whole, "this line is read as words of the step: its dash stands too far left")
                .help(format!("the dash of a line under a step stands below the first letter of the step, {column} blanks in"))
                .fix(here, " ".repeat(column.saturating_sub(indent)), "move it to the right"),
        });
        return;
    }
}

/// A statement without its backticks, standing where an instruction would. A lost tick alone is told where it stands.
fn bare_statement(r: &mut Reader<'_>, words: Span) {
    let first = r.first_line(words.range());
    let bare = &r.text[first.clone()];
    if bare.contains('`') || !statement::is_bare(r.file, bare) {
        return;
    }
    let problem =
        SHADOWED_STATEMENT.at(r.span(first.clone()), "this looks like a statement but has no backticks, so it is not read as one");
    let problem = problem.help("put the statement between backticks; an instruction in words begins with a capital letter");
    let whole = statement::parse(r.file, first.start, bare).is_ok();
    r.report(if whole { problem.fix(r.span(first), format!("`{bare}`"), "put it between backticks") } else { problem });
}

/// What each kind of statement must have with it.
fn complete(r: &mut Reader<'_>, step: &Step, arm_told: bool) {
    let marked = |s: &Spanned<Statement>| s.span;
    let says_nothing = step.text.span.start == step.text.span.end;
    let Some(statement) = &step.statement else {
        if !step.broken && says_nothing {
            let problem = EMPTY_STEP.at(step.numeral.span, "the step says nothing");
            r.report(problem.help("write a statement in backticks or an instruction, or remove the number"));
        } else if !step.broken && !says_nothing {
            bare_statement(r, step.text.span);
        }
        return;
    };
    let at = marked(statement);
    match statement.value {
        Statement::If => {
            if says_nothing {
                r.report(
                    MISSING_WORDS
                        .at(at, "`if` has no condition")
                        .help("write what is to be seen or read, with its value, after the code span"),
                );
            }
            arms(r, step, at, arm_told);
        }
        Statement::Repeat(_) => {
            if says_nothing {
                r.report(
                    MISSING_WORDS.at(at, "`repeat` has no cue that ends it").help("write what is to be seen or read after the code span"),
                );
            }
            if step.body.is_empty() {
                r.report(MISSING_BODY.at(at, "`repeat` has no steps").help("write them as a numbered list, indented under it, from 1"));
            }
        }
        Statement::Check if says_nothing => {
            r.report(
                MISSING_WORDS
                    .at(at, "`check` does not say what")
                    .help("write what is to be seen, and its state or value, after the code span"),
            );
        }
        _ => {}
    }
}

fn arms(r: &mut Reader<'_>, step: &Step, at: Span, told: bool) {
    for otherwise in [false, true] {
        let word = if otherwise { "otherwise" } else { "then" };
        let mut found = step.arms.iter().filter(|a| a.otherwise == otherwise);
        match (found.next(), found.next()) {
            (None, _) => {
                let problem = MISSING_ARM.at(at, format!("`if` has no `{word}`"));
                r.report(problem.help(if otherwise {
                    "write `- otherwise` with its steps, or `- otherwise: go on`"
                } else {
                    "write `- then` under it, with a numbered list from 1"
                }));
            }
            (Some(_), Some(second)) => {
                r.report(
                    STRAY_ARM
                        .at(second.span, format!("`{word}` is written twice under one `if`"))
                        .help("an `if` has one `then` and one `otherwise`"),
                );
            }
            (Some(arm), None) if arm.steps.is_empty() && !arm.go_on && !told => {
                let problem = MISSING_ARM.at(arm.span, format!("`{word}` has no steps"));
                r.report(
                    problem.help("write them as a numbered list, indented under it, from 1; an arm without steps is `- otherwise: go on`"),
                );
            }
            _ => {}
        }
    }
}
