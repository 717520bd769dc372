//! `surehand explain`: the page of a rule, and the index of all rules.

use super::show;
use crate::diag::render::clean;
use crate::diag::{Evidence, Example, ExampleFile, Family, Question, Rule, suggest};
use crate::error::Error;
use crate::session::{RULES, rule};
use crate::writing::prose;
use crate::writing::questions::QUESTIONS;
use std::fmt::Write as _;

/// Tell why a rule exists, where it comes from, and what it refuses and accepts
///
/// Without a rule, lists every rule by chapter, and the questions that no rule can decide.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The rule's name, as findings show it in brackets
    rule: Option<String>,
}

/// Columns of a page.
const WIDTH: usize = 96;

pub(super) fn run(args: &Args) -> Result<u8, Error> {
    let text = match &args.rule {
        None => index(&RULES),
        Some(id) => match QUESTIONS.iter().find(|q| q.id == id) {
            Some(question) => asked(question),
            None => page(rule(id).ok_or_else(|| unknown(id))?),
        },
    };
    show::output(&text).map(|()| 0)
}

/// The rule reference, as it stands in `grammar/rules.md`.
pub fn reference() -> String {
    let mut out = String::from(
        "# Rules\n\n<!-- Printed from the rules themselves. Do not edit: run the tests with UPDATE_MANUAL=1. -->\n\n\
         Every finding names its rule. `surehand explain RULE` shows the same pages. Sources are what a rule is informed by; none is \
         claimed to be complied with.\n",
    );
    for family in Family::ALL {
        let mut rules: Vec<_> = RULES.iter().filter(|r| r.family == family).collect();
        rules.sort_by_key(|r| r.id);
        for (i, rule) in rules.into_iter().enumerate() {
            if i == 0 {
                let _ = write!(out, "\n## {}\n", family.title());
            }
            if i == 0 && family == Family::Prose {
                let _ = write!(
                    out,
                    "\nThese look for patterns and can be wrong; [prose.md](prose.md) says how often each is right. A policy asks for them \
                     ([models.md](models.md)); the examples stand under this one:\n\n```toml\n{}\n```\n",
                    prose::EXAMPLE.trim()
                );
            }
            let _ = write!(out, "\n### {}\n\n```text\n{}\n```\n", rule.id, page(rule).trim_end());
        }
    }
    out.push_str("\n## Questions to the reviewer\n\nNo rule can decide these. A reviewer answers them with a signature.\n");
    for question in QUESTIONS {
        let _ = write!(out, "\n### {}\n\n```text\n{}\n```\n", question.id, asked(question).trim_end());
    }
    out
}

/// The page of a question.
fn asked(question: &Question) -> String {
    let why = wrapped(question.why);
    format!("{}: {}\n\nWhy no rule decides it\n{why}\nSource\n{}", question.id, question.words, wrapped(&source(question.evidence)))
}

fn unknown(id: &str) -> Error {
    let near = suggest(id, RULES.iter().map(|r| r.id).chain(QUESTIONS.iter().map(|q| q.id)))
        .map_or_else(|| "`surehand explain` lists all rules".into(), |near| format!("did you mean {near}?"));
    Error::Usage(format!("there is no rule {id}; {near}"))
}

fn index(rules: &[&Rule]) -> String {
    let wide = rules.iter().map(|r| r.id.len()).max().unwrap_or(0);
    let mut out = String::new();
    for family in Family::ALL {
        let mut rules: Vec<_> = rules.iter().filter(|r| r.family == family).collect();
        rules.sort_by_key(|r| r.id);
        if !rules.is_empty() {
            let _ = writeln!(out, "{}", family.title());
        }
        for rule in &rules {
            let _ = writeln!(out, "  {:<wide$}  {:<7}  {}", rule.id, rule.severity.word(), rule.summary);
        }
        if !rules.is_empty() {
            out.push('\n');
        }
    }
    out += "Questions to the reviewer, which no rule can decide\n";
    for question in QUESTIONS {
        let _ = writeln!(out, "  {:<wide$}  {}", question.id, question.words);
    }
    out
}

fn page(rule: &Rule) -> String {
    let weight = rule.severity.word();
    let fixed = rule.fixed().map_or(String::new(), |about| format!("; {about}: no policy softens it and no waiver lifts it"));
    let mut out = format!("{}: {}\n({weight}; {}{fixed})\n\n", rule.id, rule.summary, rule.family.title());
    let mut item = |title: &str, text: &str| {
        let _ = writeln!(out, "{title}\n{}", wrapped(text));
    };
    item("Why", rule.why);
    item("Source", &source(rule.evidence));
    for (title, examples) in [("Refused", rule.bad), ("Accepted", rule.good)] {
        for example in examples {
            let _ = writeln!(out, "{title}{}\n{}", place(example), marked(example.text));
        }
    }
    out
}

/// Where a rule comes from and how sure that is.
fn source(evidence: Evidence) -> String {
    match evidence {
        Evidence::Read(clause) => format!("{clause}. The clause was read in a public copy."),
        Evidence::Digest(clause) => format!("{clause}. Known through another author's digest, not read in the original."),
        Evidence::Memory(clause) => format!("{clause}. From memory, not verified."),
        Evidence::CommonPractice => "Common practice of the trade, without a published source.".into(),
        Evidence::Definition => "Follows from the definition of the notation.".into(),
    }
}

fn place(example: &Example) -> String {
    let model = match example.file {
        ExampleFile::Steps | ExampleFile::Procedure => return String::new(),
        ExampleFile::Arm => "arm profile",
        ExampleFile::Cell => "cell",
        ExampleFile::Policy => "policy",
    };
    format!(", in the {model}")
}

/// Text broken into lines of at most [`WIDTH`] columns, indented.
fn wrapped(text: &str) -> String {
    let (mut out, mut column) = (String::new(), 0);
    for word in text.split_whitespace() {
        let len = word.chars().count();
        if column == 0 || column + 1 + len > WIDTH {
            out += if out.is_empty() { "  " } else { "\n  " };
            column = 2 + len;
        } else {
            out.push(' ');
            column += 1 + len;
        }
        out += word;
    }
    out.push('\n');
    out
}

/// An example, indented, with carets under what lies between the marks; what cannot be seen is shown by its code point.
fn marked(text: &str) -> String {
    let (mut out, mut inside) = (String::new(), false);
    for line in text.lines() {
        let (mut shown, mut carets) = (String::new(), String::new());
        for c in line.chars() {
            match c {
                '⟦' | '⟧' => {
                    // An empty mark still shows where it stands.
                    if inside && !carets.ends_with('^') {
                        carets.push('^');
                    }
                    inside = c == '⟦';
                }
                c => {
                    shown += &clean(c.encode_utf8(&mut [0; 4]));
                    while carets.chars().count() < shown.chars().count() {
                        carets.push(if inside { '^' } else { ' ' });
                    }
                }
            }
        }
        out += format!("    {shown}").trim_end();
        out.push('\n');
        if carets.contains('^') {
            let _ = writeln!(out, "    {}", carets.trim_end());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn carets_stand_under_the_marked_words() {
        assert_eq!(marked("1. `base ⟦left⟧ to -5 deg`\n"), "    1. `base left to -5 deg`\n             ^^^^\n");
        assert_eq!(marked("⟦a\nb⟧c\n"), "    a\n    ^\n    bc\n    ^\n");
        assert_eq!(marked("x⟦⟧\n"), "    x\n     ^\n");
        assert_eq!(marked("a⟦\0⟧b\n"), "    aU+0000b\n     ^^^^^^\n");
    }

    #[test]
    fn every_rule_has_a_page_and_a_line_of_the_index() {
        let index = index(&RULES);
        for rule in RULES.iter() {
            assert!(index.contains(&format!("  {} ", rule.id)), "{} is not in the index", rule.id);
            let page = page(rule);
            assert!(page.lines().all(|l| l.chars().count() < 190), "{}: a line is too long\n{page}", rule.id);
        }
    }

    #[test]
    fn an_unknown_rule_is_answered_with_the_nearest() {
        let near = RULES.first().map_or("", |r| r.id);
        assert!(unknown(&format!("{near}x")).to_string().contains(near));
    }
}
