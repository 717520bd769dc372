//! The notation as a whole: every rule's examples, the grammar file, generated sentences, formatting, and hostile input.

use surehand::diag::{Diagnostic, Example, ExampleFile};
use surehand::syntax::{self, front};
use surehand::text::{File, FileId};

/// The procedure of an example: front matter where it has none of its own, and the marks taken out.
fn assemble(example: &Example) -> (String, Option<std::ops::Range<usize>>) {
    let marked = match example.file {
        ExampleFile::Steps => format!("{}\n{}", front::EXAMPLE, example.text),
        ExampleFile::Procedure => example.text.to_string(),
        other => panic!("{other:?} is no example of this floor"),
    };
    let Some(start) = marked.find('⟦') else { return (marked, None) };
    let text = marked.replacen('⟦', "", 1);
    let end = text.find('⟧').unwrap_or_else(|| panic!("no ⟧ in {marked}"));
    (text.replacen('⟧', "", 1), Some(start..end))
}

fn show(text: &str, problems: &[Diagnostic]) -> String {
    let file = File::new("example.md", text);
    let line = |p: &Diagnostic| {
        let at = file.position(p.span.start);
        format!("{}:{} {} [{}] {} {:?}\n", at.line, at.column, p.rule.id, p.span.of(text).escape_debug(), p.message, p.help)
    };
    problems.iter().map(line).collect()
}

#[test]
fn every_rule_speaks_on_its_bad_examples_and_only_there() {
    let mut wrong = String::new();
    for rule in syntax::RULES {
        assert!(!rule.bad.is_empty() && !rule.good.is_empty(), "{} has no examples", rule.id);
        for example in rule.bad {
            let (text, span) = assemble(example);
            let parsed = syntax::parse(FileId(0), &text);
            let span = span.unwrap_or_else(|| panic!("{}: no mark in {:?}", rule.id, example.text));
            let right = parsed.problems.len() == 1 && parsed.problems[0].rule == *rule && parsed.problems[0].span.range() == span;
            if !right {
                wrong += &format!("== {} at {:?} in {:?}\n{}", rule.id, &text[span.clone()], example.text, show(&text, &parsed.problems));
            }
        }
        for example in rule.good {
            let (text, _) = assemble(example);
            let parsed = syntax::parse(FileId(0), &text);
            if !parsed.problems.is_empty() {
                wrong += &format!("== good for {}: {:?}\n{}", rule.id, example.text, show(&text, &parsed.problems));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn rule_ids_are_unique_kebab_case_and_every_rule_says_why() {
    let mut ids: Vec<&str> = syntax::RULES.iter().map(|r| r.id).collect();
    ids.sort_unstable();
    for pair in ids.windows(2) {
        assert_ne!(pair[0], pair[1]);
    }
    for rule in syntax::RULES {
        assert!(rule.id.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'), "{}", rule.id);
        assert!(!rule.summary.is_empty() && !rule.why.is_empty(), "{}", rule.id);
    }
}

/// The worked example of the notation.
const SAMPLE: &str = include_str!("fixtures/syntax/cartridge.md");

#[test]
fn the_worked_example_reads_without_a_finding() {
    let parsed = syntax::parse(FileId(0), SAMPLE);
    assert!(parsed.problems.is_empty(), "{}", show(SAMPLE, &parsed.problems));
    let front = parsed.front.as_ref().expect("front matter");
    assert_eq!(front.id.as_ref().map(|i| i.value.as_str()), Some("B3-014"));
    assert_eq!(parsed.sections.len(), 3);
    let steps: Vec<_> = parsed.blocks().filter(|b| matches!(b, syntax::tree::Block::Step(_))).collect();
    assert_eq!(steps.len(), 26);
}
