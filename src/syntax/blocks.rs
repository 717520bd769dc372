//! Sections, prose and alerts: the blocks of a procedure outside its steps.

pub(super) mod rules;

pub use rules::*;

use super::reader::{Code, Reader};
use super::steps::Numbering;
use super::tree::{Alert, AlertKind, Block, Label, Link, Prose, ProseKind, Section, SectionKind, Text};
use crate::diag::suggest;
use pulldown_cmark::{BlockQuoteKind, CowStr, Event, HeadingLevel, Tag};
use std::ops::Range;

/// What stands before the first heading, and the sections.
pub(super) struct Body {
    pub(super) preamble: Vec<Block>,
    pub(super) sections: Vec<Section>,
}

/// Reads the whole procedure after its front matter.
pub(super) fn body(r: &mut Reader<'_>) -> Body {
    let mut body = Body { preamble: Vec::new(), sections: Vec::new() };
    let mut ordinary = Numbering::default();
    let mut own = Numbering::default();
    while let Some((event, range)) = r.next() {
        let kind = body.sections.last().map_or(SectionKind::Ordinary, |s| s.kind);
        let blocks = match body.sections.last_mut() {
            Some(section) => &mut section.blocks,
            None => &mut body.preamble,
        };
        match event {
            Event::Start(Tag::Heading { level, id, classes, attrs }) => {
                let section = heading(r, level, id, &classes, attrs.len(), range, body.sections.last());
                if section.kind != SectionKind::Ordinary {
                    own = Numbering::default();
                }
                body.sections.push(section);
            }
            Event::Start(Tag::List(Some(_))) => {
                let numbering = if kind == SectionKind::Ordinary { &mut ordinary } else { &mut own };
                while let Some((Event::Start(Tag::Item), item)) = r.next() {
                    let step = super::steps::step(r, item, numbering, 0);
                    if blocks.capacity() == 0 {
                        blocks.reserve(16);
                    }
                    blocks.push(Block::Step(step));
                }
            }
            Event::Start(Tag::BlockQuote(kind)) => blocks.push(quotation(r, kind, range)),
            Event::Start(Tag::CodeBlock(_)) => {
                r.fence(range.clone(), Code::Judged);
                blocks.push(prose(r, ProseKind::Code, range, Vec::new()));
            }
            Event::Start(Tag::HtmlBlock) => r.html_block(range, Code::Judged),
            Event::Start(tag) => {
                let kind = match tag {
                    Tag::List(None) => ProseKind::List,
                    Tag::Table(_) => ProseKind::Table,
                    _ => ProseKind::Paragraph,
                };
                let mut links = Vec::new();
                if kind == ProseKind::List && stray_labels(r, range.clone()) {
                    r.consume(Code::Muted, &mut links);
                } else {
                    r.consume(Code::Judged, &mut links);
                }
                if kind == ProseKind::Paragraph {
                    second_front_matter(r, range.clone());
                }
                blocks.push(prose(r, kind, range, links));
            }
            Event::Rule => blocks.push(prose(r, ProseKind::Rule, range, Vec::new())),
            event => r.inline(&event, range, Code::Judged),
        }
    }
    body
}

fn prose(r: &Reader<'_>, kind: ProseKind, range: Range<usize>, links: Vec<Link>) -> Block {
    let range = if kind == ProseKind::Code { range } else { r.trim(range) };
    Block::Prose(Prose { text: Text { span: r.span(range), links }, kind })
}

fn second_front_matter(r: &mut Reader<'_>, range: Range<usize>) {
    if !r.text[range.clone()].contains("+++") {
        return;
    }
    let mut at = range.start;
    for line in r.text[range].split_inclusive('\n') {
        if line.trim() == "+++" {
            let start = at + line.len() - line.trim_start().len();
            let problem = super::front::SECOND_FRONT_MATTER.at(r.span(start..start + 3), "a second `+++` line stands in the procedure");
            r.report(problem.help("a file has one front matter, at its very beginning"));
            return;
        }
        at += line.len();
    }
}

fn heading(
    r: &mut Reader<'_>,
    level: HeadingLevel,
    id: Option<CowStr<'_>>,
    classes: &[CowStr<'_>],
    attributes: usize,
    range: Range<usize>,
    before: Option<&Section>,
) -> Section {
    let mut links = Vec::new();
    let whole = r.trim(range);
    r.consume(Code::Judged, &mut links);
    let line = r.first_line(whole.clone());
    let raw = &r.text[line.clone()];
    let block = raw.rfind('{').filter(|_| raw.ends_with('}') && (id.is_some() || !classes.is_empty() || attributes > 0));
    let words = raw[..block.unwrap_or(raw.len())].trim_start_matches('#');
    let start = line.start + block.unwrap_or(raw.len()) - words.len();
    let mut title = r.trim(start..start + words.len());
    let closing = r.text[title.clone()].trim_end_matches('#');
    if block.is_none() && closing.ends_with(' ') {
        title = r.trim(title.start..title.start + closing.len());
    }
    let attribute = |word: &str| block.and_then(|b| raw[b..].find(word).map(|i| line.start + b + i));
    let anchor = id.as_deref().and_then(|id| {
        let at = attribute(&format!("#{id}"))? + 1;
        r.anchor(at..at + id.len())
    });
    let mut kind = None;
    for class in classes {
        kind = match &**class {
            "contingency" => Some(SectionKind::Contingency),
            "on-call" => Some(SectionKind::OnCall),
            other => {
                let span = attribute(&format!(".{other}")).map_or(r.span(line.clone()), |at| r.span(at..at + 1 + other.len()));
                let mut problem = UNKNOWN_CLASS.at(span, format!("`.{}` is not a class of a section", other.escape_debug()));
                problem = match suggest(other, ["contingency", "on-call"]) {
                    Some(near) => problem.fix(span, format!(".{near}"), format!("write .{near}")),
                    None => problem.help("a section is `{.contingency}`, `{.on-call}` or has no class"),
                };
                r.report(problem);
                kind
            }
        };
    }
    if attributes > 0 {
        let span = block.map_or(r.span(line.clone()), |b| r.span(line.start + b..line.end));
        r.report(UNKNOWN_CLASS.at(span, "a section takes an anchor and a class, nothing else").help("write `{#anchor .contingency}`"));
    }
    let level = level as u8;
    if kind.is_none()
        && let Some(before) = before
        && before.kind != SectionKind::Ordinary
        && level > before.level
    {
        let problem = SPLIT_SECTION.at(r.span(line.clone()), "a plain heading stands inside a contingency or an on-call section");
        r.report(
            problem
                .label(before.span, "this section")
                .help("the steps under it would be performed in the ordinary order: give it a class of its own, or take the heading out"),
        );
    }
    Section {
        title: Text { span: r.span(title), links },
        level,
        anchor,
        kind: kind.unwrap_or(SectionKind::Ordinary),
        span: r.span(whole),
        blocks: Vec::new(),
    }
}

/// Bullets outside a step that begin like a labelled line or an arm.
fn stray_labels(r: &mut Reader<'_>, range: Range<usize>) -> bool {
    let mut at = range.start;
    for line in r.text[range].split_inclusive('\n') {
        let body = line.trim_start();
        if let Some(item) = body.strip_prefix(['-', '*', '+']).map(str::trim_start)
            && let Some(word) = begins_like_label(item)
        {
            let start = at + line.len() - body.len();
            let span = r.span(start..start + body.trim_end().len());
            let problem = STRAY_LABEL.at(span, format!("a `{word}` line stands outside a step"));
            r.report(
                problem.help(
                    "put its dash under the first character of its step: 3 blanks before it under `1.` to `9.`, 4 under `10.` to `99.`",
                ),
            );
            return true;
        }
        at += line.len();
    }
    false
}

/// The label or arm that a line begins with.
pub(super) fn begins_like_label(line: &str) -> Option<&'static str> {
    let arm = ["then", "otherwise"]
        .into_iter()
        .find(|w| line.strip_prefix(w).is_some_and(|rest| rest.trim().is_empty() || rest.starts_with(':')));
    let label = || Label::ALL.into_iter().map(Label::word).find(|w| line.strip_prefix(w).is_some_and(|rest| rest.starts_with(':')));
    arm.or_else(label)
}

fn quotation(r: &mut Reader<'_>, kind: Option<BlockQuoteKind>, range: Range<usize>) -> Block {
    let mut links = Vec::new();
    let whole = r.trim(range);
    r.consume(Code::Judged, &mut links);
    let kind = match kind {
        Some(BlockQuoteKind::Warning) => AlertKind::Warning,
        Some(BlockQuoteKind::Caution) => AlertKind::Caution,
        Some(BlockQuoteKind::Note) => AlertKind::Note,
        other => {
            let line = r.first_line(whole.clone());
            let body = r.text[line.clone()].trim_start_matches(['>', ' ']);
            if other.is_some() || body.starts_with("[!") {
                let word = body.trim_start_matches("[!").split(']').next().unwrap_or("");
                let start = line.end - body.len();
                let problem = UNKNOWN_ALERT.at(r.span(start..line.end), format!("`{}` is not a signal word", word.escape_debug()));
                r.report(problem.help("the signal words are WARNING, CAUTION and NOTE: `> [!WARNING]`"));
            } else if let Some(word) = signal_word(body) {
                let at = line.end - body.len();
                let problem =
                    UNKNOWN_ALERT.at(r.span(at..line.end), format!("this quotation begins with {word} but is not read as an alert"));
                r.report(problem.help(format!("write `> [!{word}]` on a line of its own, and what is to be said on the lines under it")));
            }
            return prose(r, ProseKind::Quote, whole, links);
        }
    };
    alert(r, kind, whole, links)
}

/// The signal word that a quotation begins with, as people write one who do not know the form.
fn signal_word(line: &str) -> Option<&'static str> {
    let line = line.trim_start_matches(['*', '_']);
    let end = line.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(line.len());
    let (word, rest) = line.split_at(end);
    let heads = rest.trim_start_matches(['*', '_']).starts_with([':', '!']) || word.chars().all(|c| c.is_ascii_uppercase());
    let kinds = [AlertKind::Warning, AlertKind::Caution, AlertKind::Note].map(AlertKind::word);
    kinds.into_iter().find(|k| heads && k.eq_ignore_ascii_case(word))
}

/// Which field of an alert the lines being read belong to.
#[derive(Clone, Copy, PartialEq)]
enum AlertField {
    Hazard,
    Consequence,
    Avoid,
    Words,
}

fn alert(r: &Reader<'_>, kind: AlertKind, whole: Range<usize>, links: Vec<Link>) -> Block {
    let mut alert = Alert { kind, span: r.span(whole.clone()), hazard: None, consequence: None, avoid: None, words: Vec::new() };
    let mut current: Option<(AlertField, Range<usize>)> = None;
    let mut done: Vec<(AlertField, Range<usize>)> = Vec::new();
    let mut at = whole.start;
    for (i, line) in r.text[whole].split_inclusive('\n').enumerate() {
        let body = line.trim_start_matches([' ', '>']);
        let start = at + line.len() - body.len();
        at += line.len();
        let words = body.trim_end();
        let end = start + words.len();
        if i == 0 {
            continue;
        }
        let fields = [("Hazard:", AlertField::Hazard), ("Consequence:", AlertField::Consequence), ("Avoid:", AlertField::Avoid)];
        let named = fields.iter().find(|(word, _)| words.starts_with(word));
        match (named, &mut current) {
            (Some((word, field)), current) => done.extend(current.replace((*field, r.trim(start + word.len()..end)))),
            (None, current) if words.is_empty() => done.extend(current.take()),
            (None, Some((_, range))) => range.end = end,
            (None, current) => *current = Some((AlertField::Words, start..end)),
        }
    }
    done.extend(current);
    for (field, range) in done {
        let span = r.span(range);
        let inside = links.iter().filter(|l| l.span.start >= span.start && l.span.end <= span.end);
        let text = Text { span, links: inside.cloned().collect() };
        let place = match field {
            AlertField::Hazard => &mut alert.hazard,
            AlertField::Consequence => &mut alert.consequence,
            AlertField::Avoid => &mut alert.avoid,
            AlertField::Words => {
                alert.words.push(text);
                continue;
            }
        };
        // One alert is one hazard: a field given twice stays visible among the words.
        match place {
            None => *place = Some(text),
            Some(_) => alert.words.push(text),
        }
    }
    Block::Alert(alert)
}
