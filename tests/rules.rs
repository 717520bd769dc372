//! Every rule's own examples, run: a bad one gives exactly that rule at exactly the marked place, a good one
//! gives none of it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use surehand::diag::{Diagnostic, Example, ExampleFile, Rule, Severity};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::session::rules::EXAMPLE_NAME;
use surehand::session::{MemoryWorld, RULES, Session};
use surehand::syntax::front;

/// Rules that one procedure or model cannot show, and the test that shows them.
fn shown_elsewhere(id: &str) -> Option<&'static str> {
    match id {
        "other-models" => Some(include_str!("cli.rs")),
        _ if id.starts_with("template-") => Some(include_str!("print.rs")),
        _ => None,
    }
}

/// The files an example stands for, and the one it speaks of.
struct Project {
    files: BTreeMap<&'static str, String>,
    subject: &'static str,
}

fn assemble(example: &Example) -> Result<Project, String> {
    let mut files = BTreeMap::from([
        ("arm.toml", EXAMPLE_ARM.to_owned()),
        ("cell.toml", EXAMPLE_CELL.to_owned()),
        ("policy.toml", EXAMPLE_POLICY.to_owned()),
        (EXAMPLE_NAME, format!("{}\n1. `view window-1`\n", front::EXAMPLE)),
    ]);
    let subject = match example.file {
        ExampleFile::Steps | ExampleFile::Procedure => EXAMPLE_NAME,
        ExampleFile::Arm => "arm.toml",
        ExampleFile::Cell => "cell.toml",
        ExampleFile::Policy => "policy.toml",
    };
    let text = match example.file {
        ExampleFile::Steps => format!("{}\n{}", front::EXAMPLE, example.text),
        ExampleFile::Procedure => example.text.to_owned(),
        _ => {
            let whole = &files[subject];
            if whole.matches(example.replace).count() != 1 {
                return Err(format!("{:?} must stand exactly once in {subject}", example.replace));
            }
            whole.replace(example.replace, example.text)
        }
    };
    files.insert(subject, text);
    Ok(Project { files, subject })
}

/// Takes the marks out of a text and returns the byte ranges between them.
fn unmark(text: &str) -> (String, Vec<(u32, u32)>) {
    let (mut out, mut open, mut ranges) = (String::new(), 0, Vec::new());
    // A byte order mark is no part of the text that places count in.
    let at = |out: &String| u32::try_from(out.trim_start_matches('\u{feff}').len()).unwrap_or(u32::MAX);
    for c in text.chars() {
        match c {
            '⟦' => open = at(&out),
            '⟧' => ranges.push((open, at(&out))),
            c => out.push(c),
        }
    }
    (out, ranges)
}

struct Outcome {
    findings: Vec<Diagnostic>,
    /// The file name and text that each finding lies in.
    places: Vec<(String, String)>,
}

fn run(project: &Project) -> Result<Outcome, String> {
    let world = project.files.iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(format!("/p/{name}"), unmark(text).0));
    let session = Session::new(&world);
    let compilation = session.compile(&Path::new("/p").join(EXAMPLE_NAME)).map_err(|e| e.to_string())?;
    let place = |d: &Diagnostic| {
        let file = session.files().get(d.span.file);
        (file.name.rsplit('/').next().unwrap_or_default().to_owned(), d.span.of(&file.text).to_owned())
    };
    Ok(Outcome { places: compilation.findings.iter().map(place).collect(), findings: compilation.findings })
}

fn list(outcome: &Outcome) -> String {
    let line = |(d, (file, text)): (&Diagnostic, &(String, String))| {
        format!("      {}[{}] in {file} at {:?} {text:?}: {}\n", d.severity.word(), d.rule.id, (d.span.start, d.span.end), d.message)
    };
    outcome.findings.iter().zip(&outcome.places).map(line).collect()
}

fn judge_bad(rule: &Rule, example: &Example) -> Result<(), String> {
    let project = assemble(example)?;
    let (_, marks) = unmark(&project.files[project.subject]);
    let outcome = run(&project)?;
    let own = |d: &&Diagnostic| d.rule.id == rule.id;
    let found: BTreeSet<_> = outcome.findings.iter().filter(own).map(|d| (d.span.start, d.span.end)).collect();
    let elsewhere = outcome.findings.iter().zip(&outcome.places).any(|(d, (file, _))| d.rule.id == rule.id && file != project.subject);
    if marks.is_empty() || found != marks.iter().copied().collect() || elsewhere {
        return Err(format!("wanted it in {} at {marks:?}, found\n{}", project.subject, list(&outcome)));
    }
    if outcome.findings.iter().any(|d| d.rule.id != rule.id && d.severity == Severity::Error) {
        return Err(format!("shows more than one error\n{}", list(&outcome)));
    }
    Ok(())
}

fn judge_good(rule: &Rule, example: &Example) -> Result<(), String> {
    let project = assemble(example)?;
    if project.files[project.subject].contains(['⟦', '⟧']) {
        return Err("a good example has no marks".into());
    }
    let outcome = run(&project)?;
    if outcome.findings.iter().any(|d| d.rule.id == rule.id) {
        return Err(format!("is refused\n{}", list(&outcome)));
    }
    Ok(())
}

#[test]
fn every_example_shows_its_rule() {
    let mut faults = Vec::new();
    for rule in RULES.iter() {
        for (i, example) in rule.bad.iter().enumerate() {
            faults.extend(judge_bad(rule, example).err().map(|e| format!("{}, bad {}: {e}", rule.id, i + 1)));
        }
        for (i, example) in rule.good.iter().enumerate() {
            faults.extend(judge_good(rule, example).err().map(|e| format!("{}, good {}: {e}", rule.id, i + 1)));
        }
    }
    assert!(faults.is_empty(), "{} faults\n\n{}", faults.len(), faults.join("\n\n"));
}

#[test]
fn every_rule_is_whole() {
    let mut ids = BTreeSet::new();
    let mut faults = Vec::new();
    for rule in RULES.iter() {
        let id = rule.id;
        let kebab = id.split('-').all(|w| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit()));
        let elsewhere = shown_elsewhere(id);
        for (fault, is) in [
            ("declared twice", !ids.insert(id)),
            ("not kebab-case", !kebab),
            ("no summary", rule.summary.is_empty()),
            ("the summary is a phrase without a full stop", rule.summary.ends_with('.')),
            ("no reason", rule.why.len() < 20),
            ("the reason ends in a full stop", !rule.why.ends_with('.')),
            ("no bad example", rule.bad.is_empty() && elsewhere.is_none()),
            ("no good example", rule.good.is_empty() && elsewhere.is_none()),
            ("not in the test that is to show it", elsewhere.is_some_and(|test| !test.contains(id))),
        ] {
            if is {
                faults.push(format!("{id}: {fault}"));
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert!(RULES.len() > 50, "only {} rules were found", RULES.len());
}

/// The judge itself: it must tell a wrong place, a silent rule and a good example that is refused.
#[test]
fn the_judge_is_not_blind() {
    let Some(rule) = surehand::session::rule("unknown-key") else { panic!("no rule unknown-key") };
    let key = |text: &'static str| Example::patch(ExampleFile::Policy, "longest-run = 10", text);
    let right = key("longest-run = 10\n⟦coffee⟧ = 2");
    let (wrong, silent, unmarked) = (key("⟦longest-run⟧ = 10\ncoffee = 2"), key("⟦longest-run⟧ = 10"), key("longest-run = 10\ncoffee = 2"));
    assert_eq!(judge_bad(rule, &right), Ok(()));
    assert!(judge_bad(rule, &wrong).is_err() && judge_bad(rule, &silent).is_err() && judge_bad(rule, &unmarked).is_err());
    assert!(judge_good(rule, &unmarked).is_err() && judge_good(rule, &key("longest-run = 11")).is_ok());
    assert!(
        judge_good(rule, &key("longest-run = 11").clone()).is_ok()
            && judge_bad(rule, &Example::patch(ExampleFile::Arm, "no such text", "")).is_err()
    );
}
