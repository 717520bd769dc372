//! Findings as people read them: one for a rule about wording, with the rest counted. A page of the same warning teaches nobody.
//!
//! Invariant: only what is shown is folded. Waivers, counts and findings as data see every finding at its own place.

use super::{Diagnostic, Family};

/// Further places that are shown with the first.
const SHOWN: usize = 2;

/// Whether a rule speaks about how something is written, so that one example stands for many.
fn is_about_wording(finding: &Diagnostic) -> bool {
    // What a post has taken on is told with its own reason.
    matches!(finding.rule.family, Family::Prose | Family::Document) && finding.accepted.is_none()
}

/// Keeps the first finding of each rule about wording in each file, in the order given. Its further places stand with it: the
/// next few with an excerpt, all by their steps.
pub fn fold(found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut kept: Vec<(Diagnostic, Vec<Diagnostic>)> = Vec::with_capacity(found.len());
    for finding in found {
        let alike = |first: &Diagnostic| {
            first.rule == finding.rule
                && first.severity == finding.severity
                && first.span.file == finding.span.file
                && is_about_wording(first)
        };
        match kept.iter_mut().find(|(first, _)| is_about_wording(&finding) && alike(first)) {
            Some((_, rest)) => rest.push(finding),
            None => kept.push((finding, Vec::new())),
        }
    }
    kept.into_iter().map(whole).collect()
}

fn whole((mut first, rest): (Diagnostic, Vec<Diagnostic>)) -> Diagnostic {
    if rest.is_empty() {
        return first;
    }
    let mut steps: Vec<&str> = rest.iter().filter_map(|d| d.step.as_deref()).collect();
    steps.dedup();
    let count = if rest.len() == 1 { "one more like this".to_string() } else { format!("{} more like this", rest.len()) };
    let word = if steps.len() == 1 { "step" } else { "steps" };
    let note = if steps.is_empty() { count } else { format!("{count}: {word} {}", steps.join(", ")) };
    for other in rest.iter().take(SHOWN) {
        first = first.label(other.span, "and here");
    }
    first.help(note)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Acceptance, Rule, SAMPLE};
    use crate::text::{FileId, Span};

    static WORDING: Rule = Rule { id: "vague-word", family: Family::Prose, ..SAMPLE_COPY };
    const SAMPLE_COPY: Rule = Rule {
        id: "",
        family: Family::Prose,
        severity: crate::diag::Severity::Warning,
        physical: false,
        summary: "",
        why: "",
        evidence: crate::diag::Evidence::Definition,
        bad: &[],
        good: &[],
    };

    #[test]
    fn wording_is_told_once_at_its_first_place_with_the_rest_counted_and_nothing_else_is_folded() {
        let at = |rule: &'static Rule, at: usize, step: u32| rule.at(Span::new(FileId(0), at, at + 1), "x").step(step);
        let found = vec![
            at(&WORDING, 10, 1),
            at(&SAMPLE, 20, 2),
            at(&WORDING, 30, 3),
            at(&SAMPLE, 40, 4),
            at(&WORDING, 50, 5),
            at(&WORDING, 60, 5),
        ];
        let folded = fold(found);
        assert_eq!(folded.iter().map(|d| d.span.start).collect::<Vec<_>>(), [10, 20, 40]);
        assert_eq!(folded[0].labels.len(), 2);
        assert!(folded[0].help.iter().any(|h| h == "3 more like this: steps 3, 5"), "{:?}", folded[0].help);
    }

    #[test]
    fn what_was_waived_stands_by_itself() {
        let at = |at: usize| WORDING.at(Span::new(FileId(0), at, at + 1), "x");
        let waived = at(10).accepted(Acceptance::Waived, Span::new(FileId(0), 0, 1), "waived by Shift lead until 2027-01-01: known");
        assert_eq!(fold(vec![waived, at(20), at(30)]).len(), 2);
    }
}
