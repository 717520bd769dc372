//! The bullets under a step: labelled lines and arms.

use super::*;
use crate::diag::suggest;
use crate::syntax::characters;
use crate::syntax::tree::{Label, LineForm};

/// Reads the bullet just started, up to its end.
pub(super) fn bullet(r: &mut Reader<'_>, item: Range<usize>, parts: &mut Parts, depth: usize) {
    let item = r.trim(item);
    let content = item.start + r.text[item.clone()].trim_start_matches(['-', '*', '+']).trim_start_matches([' ', '\t']).len();
    let content = item.end + item.start - content;
    let raw = &r.text[content..item.end];
    let label = raw.split_once(':').and_then(|(word, _)| Label::ALL.into_iter().find(|l| l.word() == word));
    if let Some(label) = label {
        let line = line(r, label, item, content + label.word().len() + 1);
        if parts.lines.is_empty() {
            parts.lines.reserve_exact(2);
        }
        parts.lines.push(line);
        return;
    }
    let word = raw.split(|c: char| !c.is_ascii_alphanumeric()).next().unwrap_or("");
    if word == "then" || word == "otherwise" {
        arm(r, item, content..content + word.len(), word == "otherwise", parts, depth);
        return;
    }
    // A misspelt arm is still read as one, so that its steps are kept and the `if` does not miss it.
    if parts.is(|s| matches!(s, Statement::If))
        && let Some(near) = suggest(&word.to_ascii_lowercase(), ["then", "otherwise"])
    {
        let written = content..content + word.len();
        let span = r.span(written.clone());
        let problem = UNKNOWN_LABEL.at(span, format!("`{word}` is not an arm of an `if`")).help(format!("did you mean `{near}`?"));
        r.report(problem.fix(span, near, format!("write `{near}`")));
        arm(r, item, written, near == "otherwise", parts, depth);
        return;
    }
    unknown(r, item.clone(), content, parts);
    r.consume(Code::Muted, &mut Vec::new());
}

fn unknown(r: &mut Reader<'_>, item: Range<usize>, content: usize, parts: &Parts) {
    let first = r.first_line(content..item.end);
    let raw = &r.text[first.clone()];
    let word = raw.split(':').next().unwrap_or("").trim_end();
    if raw.contains(':') && !word.is_empty() && word.len() <= 24 {
        let span = r.span(first.start..first.start + word.len());
        if let (true, problem) = characters::judge(r.file, first.start, word) {
            r.problems.extend(problem);
            return;
        }
        let lower = word.to_ascii_lowercase();
        let near = Label::ALL
            .into_iter()
            .map(Label::word)
            .find(|w| w.eq_ignore_ascii_case(&lower))
            .or_else(|| suggest(word, Label::ALL.map(Label::word)));
        let problem = UNKNOWN_LABEL.at(span, format!("`{}` is not a label of a line under a step", word.escape_debug()));
        r.report(match near {
            Some(near) => problem.help(format!("did you mean `{near}`?")).fix(span, near, format!("write `{near}`")),
            None if ["warning", "caution", "note", "danger"].contains(&lower.as_str()) => {
                problem.help("an alert stands before its step, with an empty line on both sides: `> [!WARNING]`")
            }
            None => problem.help(labels()),
        });
        return;
    }
    let problem = UNKNOWN_LABEL.at(r.span(first), "a bullet under a step begins with a label and a colon");
    let branches = parts.is(|s| matches!(s, Statement::If));
    r.report(problem.help(if branches { "under `if` stand `- then` and `- otherwise`".to_string() } else { labels() }));
}

fn labels() -> String {
    let words: Vec<&str> = Label::ALL.map(Label::word).to_vec();
    format!("labels are: {}", words.join(", "))
}

fn arm(r: &mut Reader<'_>, item: Range<usize>, written: Range<usize>, otherwise: bool, parts: &mut Parts, depth: usize) {
    let first = r.first_line(written.start..item.end);
    let word = if otherwise { "otherwise" } else { "then" };
    let rest = r.text[written.end..first.end].trim();
    let go_on = matches!(rest, ": go on" | ": go on.");
    let span = r.span(first.clone());
    let mut arm = Arm { otherwise, span, go_on: go_on && otherwise, steps: Vec::new() };
    let known = rest.is_empty() || rest == ":" || (go_on && otherwise);
    if !parts.is(|s| matches!(s, Statement::If)) {
        let problem = STRAY_ARM.at(span, format!("`{word}` stands under a step that is no `if`"));
        r.report(problem.help("arms belong to an `if` step"));
        r.consume(Code::Muted, &mut Vec::new());
        return;
    }
    if !known {
        let form = if otherwise { "`- otherwise` or `- otherwise: go on`" } else { "`- then`" };
        r.report(UNREADABLE_ARM.at(span, format!("an arm is written {form}")).help("its steps stand under it as a numbered list, from 1"));
        arm.go_on = otherwise;
        parts.arm_told |= !otherwise;
    }
    let mut numbers = Numbering::default();
    while let Some((event, range)) = r.next() {
        match event {
            Event::End(TagEnd::Item) => break,
            Event::Start(Tag::List(Some(_))) if depth < DEEPEST && !arm.go_on => {
                while let Some((Event::Start(Tag::Item), item)) = r.next() {
                    let inner = step(r, item, &mut numbers, depth + 1);
                    arm.steps.push(inner);
                }
            }
            Event::Start(Tag::List(_)) if arm.go_on => {
                let first = r.first_line(range);
                if known {
                    r.report(
                        UNREADABLE_ARM
                            .at(r.span(first), "steps stand under `otherwise: go on`")
                            .help("write `- otherwise` to have steps in it"),
                    );
                }
                r.consume(Code::Muted, &mut Vec::new());
            }
            Event::Start(Tag::Paragraph) | Event::End(_) => {}
            Event::Start(Tag::Link { link_type, dest_url, .. }) => r.link(link_type, &dest_url, range, Code::Muted, &mut Vec::new()),
            Event::Start(Tag::HtmlBlock) => r.html_block(range, Code::Judged),
            Event::Start(tag) if is_block(&tag) => stray(r, range, "another block"),
            Event::Start(tag) => r.inline_tag(&tag, &range),
            event => r.inline(&event, range, if known { Code::Refused } else { Code::Muted }),
        }
    }
    parts.arms.push(arm);
}

fn is_block(tag: &Tag<'_>) -> bool {
    matches!(tag, Tag::List(_) | Tag::BlockQuote(_) | Tag::CodeBlock(_) | Tag::Heading { .. } | Tag::Table(_))
}

fn line(r: &mut Reader<'_>, label: Label, item: Range<usize>, start: usize) -> Line {
    let mut links = Vec::new();
    let mut end = start;
    let mut whole = item.end;
    while let Some((event, range)) = r.next() {
        match &event {
            Event::End(TagEnd::Item) => break,
            Event::Start(Tag::Paragraph) | Event::End(_) => {}
            Event::Start(Tag::Link { link_type, dest_url, .. }) => {
                end = end.max(range.end);
                r.link(*link_type, dest_url, range, Code::Judged, &mut links);
            }
            Event::Start(Tag::HtmlBlock) => r.html_block(range, Code::Judged),
            Event::Start(tag) if is_block(tag) => {
                whole = whole.min(range.start);
                if let Tag::BlockQuote(Some(_)) = tag {
                    let first = r.first_line(range);
                    let problem = MISPLACED_ALERT.at(r.span(first), "an alert stands inside a step");
                    r.report(problem.help("put it unindented before the step it guards, with an empty line on both sides"));
                    r.consume(Code::Muted, &mut Vec::new());
                } else {
                    stray(r, range, "another block");
                }
            }
            Event::Start(tag) => {
                end = end.max(range.end);
                r.inline_tag(tag, &range);
            }
            _ => {
                end = end.max(range.end);
                r.inline(&event, range, Code::Judged);
            }
        }
    }
    let words = r.trim(start..end.max(start));
    let whole = r.trim(item.start..whole);
    let text = Text { span: r.span(words.clone()), links };
    let form = if words.is_empty() {
        let problem = UNREADABLE_LINE.at(r.span(whole.clone()), format!("`{}` says nothing", label.word()));
        r.report(problem.help("write it after the colon, or remove the line"));
        LineForm::Words
    } else {
        form(r, label, &text)
    };
    Line { label, span: r.span(whole), text, form }
}

/// What the words of a line say beyond being words.
fn form(r: &mut Reader<'_>, label: Label, text: &Text) -> LineForm {
    match label {
        Label::IfNot | Label::StopIf => answer(r, label, text),
        Label::SecondPerson => second_person(r, text),
        Label::TouchingAllowed => touching(r, text),
        _ => LineForm::Words,
    }
}

fn answer(r: &mut Reader<'_>, label: Label, text: &Text) -> LineForm {
    match text.links.as_slice() {
        [] => {}
        [link] => return LineForm::GoTo(link.clone()),
        _ => {
            let problem = UNREADABLE_LINE.at(text.span, format!("`{}` leads to more than one place", label.word()));
            r.report(problem.help("one answer has one link; use `if` for a choice"));
            return LineForm::Words;
        }
    }
    let words = text.span.of(r.text);
    let mut rest = words;
    for lead in ["hold and ", "Hold and "] {
        rest = rest.strip_prefix(lead).unwrap_or(rest);
    }
    if let Some(told) = rest.strip_prefix("tell ").or_else(|| rest.strip_prefix("Tell ")) {
        let told = told.strip_prefix("the ").unwrap_or(told);
        let start = text.span.end as usize - told.len();
        if let Some(role) = phrase(r, start, told, &[" and ", " that ", "\n"]) {
            return role.map_or(LineForm::Words, LineForm::HoldAndTell);
        }
    }
    if label == Label::IfNot && text.links.is_empty() {
        // A link that was refused has told already.
        let refused = r.problems.last().is_some_and(|p| p.span.start >= text.span.start && p.span.end <= text.span.end);
        if !refused {
            let problem = UNREADABLE_LINE.at(text.span, "`If not` does not say where to go or whom to tell");
            r.report(problem.help("write a link, `[back out](#back-out)`, or `hold and tell ROLE`"));
        }
    }
    LineForm::Words
}

fn second_person(r: &mut Reader<'_>, text: &Text) -> LineForm {
    let words = text.span.of(r.text);
    let start = text.span.start as usize;
    let (role, rest) = match words.split_once(',') {
        Some((role, rest)) => (role, rest.trim()),
        None => (words, ""),
    };
    let agreed = rest.strip_prefix("agree before the act");
    let that = agreed.map(|a| a.trim_end_matches('.').trim_start()).filter(|a| !a.is_empty());
    let known = match (agreed, that) {
        (None, _) => rest.trim_end_matches('.').is_empty(),
        (Some(_), Some(that)) => that.starts_with("that "),
        (Some(_), None) => true,
    };
    let role = phrase(r, start, role, &[]);
    let told = matches!(role, Some(None));
    match (role.flatten(), known) {
        (Some(role), true) => {
            let that = that.and_then(|t| t.strip_prefix("that ")).map(|t| {
                let t = t.trim_start();
                let from = start + (t.as_ptr() as usize).saturating_sub(words.as_ptr() as usize);
                r.span(from..from + t.len())
            });
            LineForm::SecondPerson { role, agree_before: agreed.is_some(), that }
        }
        _ => {
            if !told {
                let problem = UNREADABLE_LINE.at(text.span, "`Second person` names a role and what is agreed");
                r.report(problem.help("write `Second person: ROLE, agree before the act that ...`"));
            }
            LineForm::Words
        }
    }
}

fn touching(r: &mut Reader<'_>, text: &Text) -> LineForm {
    let words = text.span.of(r.text);
    let mut names = Vec::new();
    let mut at = text.span.start as usize;
    for pair in words.split_inclusive(',') {
        let body = pair.trim_end_matches([',', '.']);
        let halves = body.split_once(" and ").map(|(a, b)| (a, b, at + body.len() - b.len()));
        let read = halves.and_then(|(a, b, b_at)| Some((phrase(r, at, a, &[])?, phrase(r, b_at, b, &[])?)));
        match read {
            Some((Some(a), Some(b))) => names.extend([a, b]),
            Some(_) => return LineForm::Words,
            None => {
                let span = r.trim(at..at + body.len());
                let span = if span.is_empty() { text.span } else { r.span(span) };
                let problem = UNREADABLE_LINE.at(span, "`Touching allowed` names pairs of things that may touch");
                r.report(problem.help("write `jaw pads and cradle`, with commas between pairs"));
                return LineForm::Words;
            }
        }
        at += pair.len();
    }
    LineForm::Touching(names)
}

/// A phrase at the start of `text`, up to a mark or one of `ends`: `None` if there is none, `Some(None)` if a
/// character in it was reported.
fn phrase(r: &mut Reader<'_>, start: usize, text: &str, ends: &[&str]) -> Option<Option<Name>> {
    let marks = text.find([',', ';', '.', ':', '(']);
    let end = ends.iter().filter_map(|e| text.find(e)).chain(marks).min().unwrap_or(text.len());
    let range = r.trim(start..start + end);
    let written = &r.text[range.clone()];
    if let (true, problem) = characters::judge(r.file, range.start, written) {
        r.problems.extend(problem);
        return Some(None);
    }
    let good =
        written.starts_with(|c: char| c.is_ascii_alphabetic()) && written.chars().all(|c| c.is_ascii_alphanumeric() || "-_ ".contains(c));
    good.then(|| Some(r.span(range)))
}
