//! Words that say a load hangs plumb, against how far it was worked out to lean. Where it is at a step this floor is told.

use super::rule;
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Label, Procedure, Step};
use crate::model::{LoadId, StepId};
use crate::text::Span;

/// Called plumb and worked out to lean.
pub static LEANS_IN_FACT: Rule = rule(
    "leans-in-fact",
    Family::Document,
    Severity::Warning,
    "a line `Proof:` calls a held load plumb, level or upright that leans there wherever the arm stops in its bands",
    "The line says what is seen when the step went well. A load that leans every time teaches the operator to pass over the line, or stops the work \
     for nothing. What may still be called plumb is the policy's `plumb`.",
    Evidence::CommonPractice,
    (
        &[Example::steps(concat!(
            "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 120 mm`\n6. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n7. `grip level 2`\n8. `close on cup`\n",
            "9. `lift cup clear of cradle: shoulder raise to -2 deg`\n   - Proof: the cup hangs ⟦plumb⟧ above the cradle.\n"
        ))],
        &[
            Example::steps(concat!(
                "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 120 mm`\n6. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n7. `grip level 2`\n8. `close on cup`\n",
                "9. `lift cup clear of cradle: shoulder raise to -2 deg`\n   - Proof: the cup leans to the arm, and the bench is level.\n"
            )),
            Example::steps("1. `power on arm`\n2. `base left to +30 deg`\n   - Proof: the jaw is level.\n"),
        ],
    ),
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&LEANS_IN_FACT];

/// Words that say it.
const PLUMB: [&str; 3] = ["plumb", "level", "upright"];
/// Words that it is said with.
const SAID_WITH: [&str; 14] =
    ["is", "are", "hangs", "hang", "stands", "stand", "stays", "stay", "sits", "sit", "lies", "lie", "remains", "remain"];
/// Words of a title that name nothing.
const SMALL: [&str; 5] = ["of", "the", "and", "for", "with"];

/// Steps with a line that says of something that it is plumb, each with the words before that and where it is said.
pub fn claims(p: &Procedure, text: &str) -> Vec<(StepId, Vec<String>, Span)> {
    p.steps.iter().filter_map(|step| claim(step, text).map(|(before, at)| (step.id, before, at))).collect()
}

fn claim(step: &Step, text: &str) -> Option<(Vec<String>, Span)> {
    let span = step.lines.iter().find(|l| l.label == Label::Proof)?.text.span;
    let line = span.of(text);
    let mut words: Vec<String> = Vec::new();
    let mut at = 0;
    for piece in line.split_inclusive(|c: char| !c.is_alphanumeric() && c != '-') {
        let word = piece.trim_end_matches(|c: char| !c.is_alphanumeric() && c != '-').to_lowercase();
        let is_said = words.last().is_some_and(|w| SAID_WITH.contains(&w.as_str())) && !words.iter().any(|w| w == "not");
        if PLUMB.contains(&word.as_str()) && is_said {
            let start = span.start as usize + at;
            return Some((words, Span::new(span.file, start, start + word.len())));
        }
        at += piece.len();
        if !word.is_empty() {
            words.push(word);
        }
        // Another sentence or clause speaks of something else.
        if piece.ends_with([',', ';', '.']) {
            words.clear();
        }
    }
    None
}

/// What is found of a claim, where the load in the jaw leans at least so far (thousandths of a degree) where the step ends.
pub fn check(p: &Procedure, (step, before, at): &(StepId, Vec<String>, Span), load: LoadId, least: i64) -> Option<Diagnostic> {
    let data = p.cell.loads.get(load.at())?;
    let title = data.title.to_lowercase();
    let names: Vec<&str> = title.split(|c: char| !c.is_alphanumeric()).filter(|w| w.len() > 2 && !SMALL.contains(w)).collect();
    let is_named = before.iter().any(|w| names.contains(&w.as_str()) || *w == data.name.value || w == "load");
    if least <= p.policy.writing.plumb.0 || !is_named {
        return None;
    }
    let down = format!("{}.{} deg", least / 1000, least % 1000 / 100);
    let message = format!("the {} leans at least {down} from plumb here, wherever the arm stops in its bands", data.title);
    let finding = LEANS_IN_FACT
        .at(*at, message)
        .help("turn the wrist back until it hangs plumb, or write how it is seen to lean")
        .number("lean", down)
        .number("plumb", p.policy.writing.plumb.show());
    Some(finding.step(&p.step(*step).number))
}
