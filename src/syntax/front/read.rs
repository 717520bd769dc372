//! From the text of a procedure to its front matter.

use super::matter;
use super::{Change, Disposition, FrontMatter, StateDeclaration, UseLevel, Waiver};
use crate::diag::{Diagnostic, Example, Family, Rule};
use crate::syntax::error;
use crate::syntax::record::{self, Field, Record};
use crate::text::{FileId, Span, Spanned};
use crate::units::Dimension;
use std::ops::Range;

/// Every rule of this file.
pub static RULES: &[&Rule] = &[
    &EMPTY_FILE,
    &NO_FRONT_MATTER,
    &UNTERMINATED_FRONT_MATTER,
    &SECOND_FRONT_MATTER,
    &BAD_IDENTIFIER,
    &BAD_REVISION,
    &LONG_TITLE,
    &PLACEHOLDER,
];

const GOOD: &[Example] = &[Example::procedure(super::EXAMPLE)];

/// Nothing in the file.
pub static EMPTY_FILE: Rule = Rule {
    bad: &[Example::procedure("⟦⟧"), Example::procedure("⟦ \n\n⟧")],
    good: GOOD,
    ..error(
        "empty-file",
        Family::File,
        "the file holds nothing",
        "An empty procedure would pass every check; most likely the file was lost while it was saved.",
    )
};

/// The file does not begin with `+++`.
pub static NO_FRONT_MATTER: Rule = Rule {
    bad: &[
        Example::procedure("⟦# Take the cartridge⟧\n\n1. `power on arm`\n"),
        Example::procedure(
            "\n⟦+++⟧\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
        ),
    ],
    good: GOOD,
    ..error(
        "no-front-matter",
        Family::File,
        "the file does not begin with its front matter",
        "Without number, revision, arm and start state there is nothing to check the steps against.",
    )
};

/// The closing `+++` is not there.
pub static UNTERMINATED_FRONT_MATTER: Rule = Rule {
    bad: &[Example::procedure("⟦+++⟧\nid = \"T-1\"\n\n# Take the cartridge\n")],
    good: GOOD,
    ..error(
        "unterminated-front-matter",
        Family::File,
        "the front matter has no closing `+++` line",
        "It cannot be told where the front matter ends and the procedure begins.",
    )
};

/// A line `+++` in the procedure itself.
pub static SECOND_FRONT_MATTER: Rule = Rule {
    bad: &[Example::steps("⟦+++⟧\nid = \"T-2\"\n+++\n")],
    good: &[Example::steps("1. Press the + key.\n")],
    ..error(
        "second-front-matter",
        Family::File,
        "a `+++` line stands after the front matter",
        "A second block would be printed as words although its writer believed that it says something to the compiler.",
    )
};

/// `id` has another shape.
pub static BAD_IDENTIFIER: Rule = Rule {
    bad: &[Example::procedure(
        "+++\nid = ⟦\"T 1\"⟧\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
    )],
    good: GOOD,
    ..error(
        "bad-identifier",
        Family::Document,
        "the document number is not made of letters, digits, `-`, `.`, `_` and `/`",
        "The number is spoken, typed and used in file names; a blank in it is lost on the way.",
    )
};

/// `revision` has another shape.
pub static BAD_REVISION: Rule = Rule {
    bad: &[Example::procedure(
        "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = ⟦\"draft two\"⟧\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
    )],
    good: GOOD,
    ..error(
        "bad-revision",
        Family::Document,
        "the revision is not a short mark such as `C` or `2.1`",
        "The revision stands on every page beside the number and is compared with the one in force.",
    )
};

/// `title` over 120 characters.
pub static LONG_TITLE: Rule = Rule {
    bad: &[Example::procedure(
        "+++\nid = \"T-1\"\ntitle = ⟦\"Move the test piece from the inlet cradle to the drain rack and back again by way of the bench while the second operator watches it from window 2\"⟧\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
    )],
    good: GOOD,
    severity: crate::diag::Severity::Warning,
    evidence: crate::diag::Evidence::Read("MIL-STD-2106A, A.4.1.1c: a title of at most 120 characters"),
    ..error(
        "long-title",
        Family::Document,
        "the title is longer than 120 characters",
        "The title stands in the head of every page and is read aloud.",
    )
};

/// TBD and the like.
pub static PLACEHOLDER: Rule = Rule {
    bad: &[Example::procedure(
        "+++\nid = \"T-1\"\ntitle = ⟦\"Move a test piece TBD\"⟧\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
    )],
    good: GOOD,
    ..error(
        "placeholder",
        Family::Document,
        "a word such as TBD stands where something is still to be decided",
        "What is still open cannot be performed.",
    )
};

/// Where the parts of a procedure stand.
pub struct Split {
    /// The bytes of the front matter's TOML; none where it could not be found.
    pub toml: Option<Range<usize>>,
    /// Where the procedure begins; none where that cannot be told.
    pub body: Option<usize>,
    /// What is wrong with the frame.
    pub problem: Option<Diagnostic>,
}

/// Finds the front matter.
pub fn split(file: FileId, text: &str) -> Split {
    let skip = text.len() - text.trim_start().len();
    if skip == text.len() {
        let problem =
            EMPTY_FILE.at(Span::new(file, 0, text.len()), "the file is empty").help("start from a new procedure or restore the file");
        return Split { toml: None, body: None, problem: Some(problem) };
    }
    let mut lines = Lines { text, at: skip };
    let (first, _) = lines.next().unwrap_or_default();
    let at = Span::new(file, skip, skip + first.len());
    if first != "+++" {
        let problem = NO_FRONT_MATTER.at(at, "the file does not begin with a `+++` line");
        let problem = problem.help("begin with the front matter: `+++`, then lines such as `id = \"B3-014\"`, then `+++` again");
        return Split { toml: None, body: Some(0), problem: Some(problem) };
    }
    let start = lines.at;
    while let Some((line, end)) = lines.next() {
        if line == "+++" {
            let late =
                NO_FRONT_MATTER.at(at, "something empty stands before the `+++` line").help("the `+++` line is the very first of the file");
            return Split { toml: Some(start..end), body: Some(lines.at), problem: (skip > 0).then_some(late) };
        }
    }
    let problem = UNTERMINATED_FRONT_MATTER.at(at, "the front matter that begins here is never closed");
    Split { toml: None, body: None, problem: Some(problem.help("write a line `+++` after its last key")) }
}

/// Lines with their offsets, without line ends and trailing blanks.
struct Lines<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Iterator for Lines<'t> {
    type Item = (&'t str, usize);
    fn next(&mut self) -> Option<Self::Item> {
        let rest = &self.text[self.at..];
        if rest.is_empty() {
            return None;
        }
        let length = rest.find('\n').map_or(rest.len(), |i| i + 1);
        let at = self.at;
        self.at += length;
        Some((rest[..length].trim_end(), at))
    }
}

/// Reads the TOML in bytes `range` of a procedure.
pub fn read(file: FileId, text: &str, range: Range<usize>) -> (FrontMatter, Vec<Diagnostic>) {
    let whole = Span::new(file, 0, text[range.end..].find('\n').map_or(text.len(), |i| range.end + i));
    record::read(file, text, range, "the front matter", |r| front_matter(r, whole))
}

fn front_matter(r: &Record<'_>, whole: Span) -> FrontMatter {
    let start = r.key("start").needed_table();
    let start_at = start.span();
    FrontMatter {
        span: Some(whole),
        id: identifier(r, r.key("id").needed(), &BAD_IDENTIFIER),
        title: title(r),
        revision: identifier(r, r.key("revision").needed(), &BAD_REVISION),
        date: r.key("date").needed().date(),
        use_level: r.key("use").needed().choice(&[
            ("continuous", UseLevel::Continuous),
            ("reference", UseLevel::Reference),
            ("information", UseLevel::Information),
        ]),
        purpose: prose(r, r.key("purpose")),
        performer: r.key("performer").needed().name().and_then(|t| settled(r, t)),
        arm: r.key("arm").needed().name(),
        cell: r.key("cell").name(),
        policy: r.key("policy").needed().name(),
        start: start.table(|t| state(t, start_at, true)),
        end: {
            let end = r.key("end");
            let at = end.span();
            end.table(|t| state(t, at, false))
        },
        waivers: r.key("waiver").tables(waiver).into_iter().flatten().collect(),
        dispositions: r.key("disposition").tables(disposition).into_iter().flatten().collect(),
        prerequisites: matter::sentences(r, "prerequisites"),
        permits: r.key("permit").tables(matter::permit).into_iter().flatten().collect(),
        qualifications: r.key("qualification").tables(matter::qualification).into_iter().flatten().collect(),
        references: r.key("reference").tables(matter::reference).into_iter().flatten().collect(),
        limits: r.key("limit").tables(matter::limit).into_iter().flatten().collect(),
        criteria: r.key("criterion").tables(matter::criterion).into_iter().flatten().collect(),
        validations: r.key("validation").tables(matter::validation).into_iter().flatten().collect(),
        changes: r.key("change").tables(change).into_iter().flatten().collect(),
    }
}

/// Words that say that something is still to be written.
const OPEN: [&str; 4] = ["TBD", "TBC", concat!("TO", "DO"), "XXX"];

/// Refuses a text that says it is not finished.
fn settled(r: &Record<'_>, text: Spanned<String>) -> Option<Spanned<String>> {
    let open = text.value.split(|c: char| !c.is_ascii_alphanumeric()).find(|w| OPEN.contains(w));
    let Some(word) = open else { return Some(text) };
    r.report(
        PLACEHOLDER.at(text.span, format!("`{word}` says that this is not settled yet")).help("settle it before the procedure is checked"),
    );
    None
}

pub(super) fn prose(r: &Record<'_>, field: Field<'_>) -> Option<Spanned<String>> {
    field.prose().and_then(|t| settled(r, t))
}

fn title(r: &Record<'_>) -> Option<Spanned<String>> {
    let title = prose(r, r.key("title").needed())?;
    let length = title.value.chars().count();
    if length > 120 {
        r.report(LONG_TITLE.at(title.span, format!("the title has {length} characters; at most 120 fit the head of a page")));
    }
    Some(title)
}

fn identifier(r: &Record<'_>, field: Field<'_>, rule: &'static Rule) -> Option<Spanned<String>> {
    let name = field.name().and_then(|t| settled(r, t))?;
    let (most, example) = if rule == &BAD_REVISION { (8, "`C` or `2.1`") } else { (40, "`B3-014`") };
    let good = |c: char| c.is_ascii_alphanumeric() || "-._/".contains(c);
    // A name with a blank at its edge was reported as such already.
    if name.value.trim() == name.value && (!name.value.chars().all(good) || name.value.len() > most) {
        let message = format!("\"{}\" is not a mark of at most {most} letters, digits, `-`, `.`, `_` and `/`", name.value.escape_debug());
        r.report(rule.at(name.span, message).help(format!("write it like {example}")));
        return None;
    }
    Some(name)
}

fn state(r: &Record<'_>, at: Option<Span>, needed: bool) -> StateDeclaration {
    let ask = |key: &'static str| if needed { r.key(key).needed() } else { r.key(key) };
    let pairs = |key: &'static str| {
        let entries = r.key(key).entries();
        entries.into_iter().filter_map(|(name, field)| field.name().map(|value| (name, value))).collect()
    };
    StateDeclaration {
        span: at.unwrap_or(r.span()),
        pose: ask("pose").name(),
        jaw: ask("jaw").quantity(Dimension::Length),
        power: ask("power").choice(&[("on", true), ("off", false)]),
        tool: r.key("tool").name(),
        view: r.key("view").name(),
        loads: pairs("loads"),
        equipment: pairs("equipment"),
    }
}

fn waiver(r: &Record<'_>) -> Option<Waiver> {
    // Every key is read before any is given up, so that all of them are judged.
    let (rule, step) = (r.key("rule").needed().name(), r.key("step").name());
    let (reason, post) = (prose(r, r.key("reason").needed()), r.key("post").needed().name());
    let expires = r.key("expires").needed().date();
    Some(Waiver { span: r.span(), rule: rule?, step, reason: reason?, post: post?, expires: expires? })
}

fn disposition(r: &Record<'_>) -> Option<Disposition> {
    let (rule, step) = (r.key("rule").needed().name(), r.key("step").name());
    let (reason, post) = (prose(r, r.key("reason").needed()), r.key("post").needed().name());
    let date = r.key("date").needed().date();
    Some(Disposition { span: r.span(), rule: rule?, step, reason: reason?, post: post?, date: date? })
}

fn change(r: &Record<'_>) -> Option<Change> {
    let (revision, date) = (r.key("revision").needed().name(), r.key("date").needed().date());
    let text = prose(r, r.key("text").needed());
    Some(Change { revision: revision?, date: date?, text: text? })
}
