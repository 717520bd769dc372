//! One finding for a rule, with the rest counted: a page of the same warning teaches nobody anything.

use super::weight;
use crate::diag::Diagnostic;
use crate::model::policy::Writing;

/// Further places that are shown with the first.
const SHOWN: usize = 2;

/// Keeps the first finding of each rule. Its further places stand with it: the next few with an excerpt, all by their steps.
pub(super) fn fold(found: Vec<Diagnostic>, writing: &Writing) -> Vec<Diagnostic> {
    let mut found = found;
    found.sort_by_key(|d| (d.span.start, d.span.end));
    let mut kept: Vec<(Diagnostic, Vec<Diagnostic>)> = Vec::new();
    for finding in found {
        match kept.iter_mut().find(|(first, _)| first.rule == finding.rule) {
            Some((_, rest)) => rest.push(finding),
            None => kept.push((finding, Vec::new())),
        }
    }
    let whole = |(mut first, rest): (Diagnostic, Vec<Diagnostic>)| {
        first.severity = weight(first.rule.severity, writing);
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
        first.number("more", rest.len()).help(note)
    };
    kept.into_iter().map(whole).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Severity;
    use crate::model::policy::Prose;
    use crate::text::{FileId, Span};
    use crate::writing::prose::steps::{CHAINED_ACTIONS, REASON_IN_STEP};

    fn found() -> Vec<Diagnostic> {
        let at = |rule: &'static crate::diag::Rule, at: usize, step: u32| rule.at(Span::new(FileId(0), at, at + 1), "x").step(step);
        vec![at(&CHAINED_ACTIONS, 30, 3), at(&CHAINED_ACTIONS, 10, 1), at(&REASON_IN_STEP, 20, 2), at(&CHAINED_ACTIONS, 40, 4)]
    }

    #[test]
    fn each_rule_is_told_once_at_its_first_place_with_the_rest_counted() {
        let folded = fold(found(), &Writing { prose: Prose::Warning, ..Writing::default() });
        let [chained, reason] = folded.as_slice() else { panic!("{folded:#?}") };
        assert_eq!((chained.span.start, chained.labels.len()), (10, 2));
        assert!(chained.help.iter().any(|h| h == "2 more like this: steps 3, 4"), "{:?}", chained.help);
        assert!(reason.labels.is_empty() && reason.help.is_empty());
    }

    #[test]
    fn the_switch_sets_the_weight() {
        let weights = |writing: Writing| fold(found(), &writing).iter().map(|d| d.severity).collect::<Vec<_>>();
        assert_eq!(weights(Writing { prose: Prose::Advice, ..Writing::default() }), [Severity::Advice; 2]);
        assert_eq!(weights(Writing { prose: Prose::Warning, ..Writing::default() }), [Severity::Warning, Severity::Advice]);
        assert_eq!(weights(Writing { prose: Prose::Warning, strict: true, ..Writing::default() }), [Severity::Error, Severity::Advice]);
    }
}
