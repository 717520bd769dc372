//! How sections and steps are laid out: numbers and titles where they belong, and nothing alone or too deep.

use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Kind, Label, Section, SectionKind, Step};
use crate::text::Span;

/// A number in a heading.
pub static NUMBERED_HEADING: Rule = rule(
    "numbered-heading",
    Family::Document,
    Severity::Warning,
    "a heading has a number of its own",
    "Numbers are for steps. \"Do number 3\" must mean one thing on the page.",
    Evidence::Read("MIL-STD-2106A App. B: every action is numbered, and nothing else"),
    (&[Example::steps("# ⟦3.⟧ Take the cup\n\n1. `read joints`\n")], &[Example::steps("# Take cup 3\n\n1. `read joints`\n")]),
);
/// A title on a step.
pub static TITLED_STEP: Rule = rule(
    "titled-step",
    Family::Document,
    Severity::Warning,
    "a plain step has a title",
    "A title says once more, in other words, what the step says; under pressure only the title is read.",
    Evidence::Digest("MIL-STD-38784C 4.7.11.5.3: steps carry no titles"),
    (&[Example::steps("1. ⟦**Drawer:**⟧ Open drawer 3.\n")], &[Example::steps("1. Open drawer **3**.\n")]),
);
/// A subsection that stands alone.
pub static LONE_SUBSECTION: Rule = rule(
    "lone-subsection",
    Family::Document,
    Severity::Warning,
    "a section is divided into a single part",
    "Where a reader sees a first part they look for the second, and believe that a page is missing.",
    Evidence::Digest("MIL-STD-38784C 4.7.11.5.3: a division has at least two parts"),
    (
        &[Example::steps("# Take the cup\n\n⟦## Go there⟧\n\n1. `read joints`\n")],
        &[Example::steps("# Take the cup\n\n## Go there\n\n1. `read joints`\n\n## Grip it\n\n2. `read joints`\n")],
    ),
);
/// The fourth level.
pub static FOURTH_LEVEL_STEP: Rule = rule(
    "fourth-level-step",
    Family::Document,
    Severity::Warning,
    "a step stands four levels deep",
    "It can be followed, barely. One level more is refused.",
    Evidence::Digest("MIL-STD-38784C 4.7.11.5.3: at most four levels"),
    (
        &[Example::steps(
            "1. `repeat at most 2 until` the lamp lights, seen in window 2.\n   1. `repeat at most 2 until` the lamp lights, seen in window 2.\n      1. `repeat at most 2 until` the lamp lights, seen in window 2.\n         1. ⟦`read joints`⟧\n         - If not: hold and tell Shift lead\n      - If not: hold and tell Shift lead\n   - If not: hold and tell Shift lead\n",
        )],
        &[Example::steps(
            "1. `repeat at most 2 until` the lamp lights, seen in window 2.\n   1. `read joints`\n   - If not: hold and tell Shift lead\n",
        )],
    ),
);
/// A message without words.
pub static TELL_WITHOUT_WORDS: Rule = rule(
    "tell-without-words",
    Family::Document,
    Severity::Warning,
    "somebody is to be told something, and the words are not there",
    "What is said over a telephone is heard once. Written words are said the same way on every shift, and can be repeated back.",
    Evidence::Read("DOE-STD-1029-92, p. 64, read in part: a notify step names the post and what it is told"),
    (
        &[Example::steps("1. ⟦`tell Shift lead`⟧\n")],
        &[Example::steps(
            "1. `tell Shift lead`\n   - Say: \"Bay 3, the cup stands on the rack.\"\n2. `tell Shift lead` that the cup stands on the rack.\n",
        )],
    ),
);
/// A reading outside its band.
pub static READING_WITHOUT_ANSWER: Rule = rule(
    "reading-without-answer",
    Family::Flow,
    Severity::Error,
    "a value is read against a band, and nothing says what to do when it lies outside",
    "A limit without an answer is a number that is looked at and passed by.",
    Evidence::Read("29 CFR 1910.119(f)(1)(ii): operating limits with the consequence of deviation and the steps to correct or avoid it"),
    (
        &[Example::steps("1. ⟦`read dose-rate below 50 uSv/h on RM-2`⟧\n")],
        &[Example::steps("1. `read dose-rate below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] =
    &[&NUMBERED_HEADING, &TITLED_STEP, &LONE_SUBSECTION, &FOURTH_LEVEL_STEP, &TELL_WITHOUT_WORDS, &READING_WITHOUT_ANSWER];

pub(super) fn sections(found: &mut Found<'_>) {
    let procedure = found.procedure;
    for (at, section) in procedure.sections.iter().enumerate() {
        heading(found, section);
        lone(found, &procedure.sections, at);
    }
}

fn heading(found: &mut Found<'_>, section: &Section) {
    let title = section.title.span.of(found.text);
    let digits = title.bytes().take_while(|b| b.is_ascii_digit() || *b == b'.').count();
    let number = &title[..digits];
    if number.starts_with(|c: char| c.is_ascii_digit()) && (number.contains('.') || title[digits..].starts_with(')')) {
        let start = section.title.span.start as usize;
        let problem = NUMBERED_HEADING.at(Span::new(section.title.span.file, start, start + digits), "only steps have numbers");
        found.push(problem.help("take the number out; the printed page has the order"));
    }
}

fn lone(found: &mut Found<'_>, sections: &[Section], at: usize) {
    let section = &sections[at];
    let of_kind = |s: &&Section| s.kind == SectionKind::Ordinary && s.level > 0;
    if section.level < 2 || !of_kind(&section) {
        return;
    }
    let Some(parent) = sections[..at].iter().rposition(|s| s.level > 0 && s.level < section.level) else { return };
    let within = sections[parent + 1..].iter().take_while(|s| s.level > sections[parent].level);
    if within.filter(of_kind).filter(|s| s.level == section.level).count() == 1 {
        let whole = sections[parent].title.span.of(found.text);
        let problem = LONE_SUBSECTION.at(section.span, format!("`{whole}` has this one part only"));
        found.push(problem.label(sections[parent].span, "divided").help("take the heading out, or divide the section in two"));
    }
}

pub(super) fn step(found: &mut Found<'_>, step: &Step) {
    let levels = std::iter::successors(step.parent, |id| found.step(*id).parent).count() + 1;
    // One with steps inside is too deep, and told as that.
    if levels == 4 && !matches!(step.kind, Kind::If { .. } | Kind::Repeat { .. }) {
        let problem = FOURTH_LEVEL_STEP.at(step.head, format!("step {} stands four levels deep", step.number));
        found.at_step(step, problem.help("put the inner steps in a section marked {.on-call} and perform it"));
    }
    match &step.kind {
        Kind::Instruction => titled(found, step),
        Kind::Tell(_) if step.line(Label::Say).is_none() && step.text.span.start == step.text.span.end => {
            let problem = TELL_WITHOUT_WORDS.at(step.head, "nothing says what is told");
            found.at_step(step, problem.help("write `- Say: \"...\"` under the step, and `- Reply: \"...\"` if it is repeated back"));
        }
        Kind::Read(_) if step.line(Label::IfNot).is_none() => {
            let problem = READING_WITHOUT_ANSWER.at(step.head, "nothing says what to do when the value lies outside the band");
            found.at_step(step, problem.help("write `- If not: [title](#contingency)` or `- If not: hold and tell ROLE`"));
        }
        _ => {}
    }
}

fn titled(found: &mut Found<'_>, step: &Step) {
    let raw = step.text.span.of(found.text);
    let Some(rest) = raw.strip_prefix("**") else { return };
    let Some(end) = rest.find("**") else { return };
    let (inside, behind) = (&rest[..end], &rest[end + 2..]);
    let closed = inside.ends_with([':', '.']) || behind.starts_with([':', '.']);
    if closed && behind.trim_start_matches([':', '.']).trim().len() > 3 {
        let start = step.text.span.start as usize;
        let problem = TITLED_STEP.at(Span::new(step.text.span.file, start, start + end + 4), "a title stands before the order");
        found.at_step(step, problem.help("take the title out; a heading names a group of steps"));
    }
}
