//! Records of trials, against the posts, the date of the document and the estimate of the time; qualifications, against the posts.

use super::compile::package::{between, spoken};
use super::estimate::estimate;
use super::judge::{front, rule};
use crate::diag::{Diagnostic, Evidence, Example, Rule, Severity};
use crate::model::procedure::Procedure;
use crate::trace::Trace;

/// A record that cannot be.
pub static UNFIT_VALIDATION: Rule = rule(
    "unfit-validation",
    Severity::Error,
    "a record of a trial names a post that the site does not know, or a day after the document",
    "Whoever reads the record asks that post what was seen. A trial after the document was one of something else.",
    &[
        Example::procedure(front!(
            "[[validation]]\nhow = \"mock-up\"\ndate = \"2026-11-18\"\npost = ⟦\"Night watch\"⟧\nresult = \"As written.\"",
            "1. `view window-1`\n"
        )),
        Example::procedure(front!(
            "[[validation]]\nhow = \"dry-run\"\ndate = ⟦\"2026-11-21\"⟧\npost = \"Operator\"\nresult = \"As written.\"",
            "1. `view window-1`\n"
        )),
    ],
    &[Example::procedure(front!(
        "[[validation]]\nhow = \"mock-up\"\ndate = \"2026-11-18\"\npost = \"Operator\"\nelapsed = \"4 min\"\nresult = \"As written.\"",
        "1. `view window-1`\n"
    ))],
);

/// Nobody it could be asked of.
pub static UNFIT_QUALIFICATION: Rule = rule(
    "unfit-qualification",
    Severity::Error,
    "a qualification is asked of a post that the site does not know",
    "Nobody would be looked at for it, and the page would read as if somebody had been.",
    &[Example::procedure(front!("[[qualification]]\npost = ⟦\"Night watch\"⟧\nneeds = \"lifting by arm\"", "1. `view window-1`\n"))],
    &[Example::procedure(front!("[[qualification]]\npost = \"Operator\"\nneeds = \"lifting by arm\"", "1. `view window-1`\n"))],
);

/// A trial that took another time than was worked out.
pub static ELAPSED_OFF_ESTIMATE: Rule = Rule {
    physical: false,
    evidence: Evidence::Read("MIL-STD-2106A 5.2.12.1: a time more than 10 % off the estimate counts as a change that is needed"),
    ..rule(
        "elapsed-off-estimate",
        Severity::Warning,
        "a trial took more than a tenth less or more than the estimate of the procedure",
        "Steps took longer than was thought, or some were not done as written. Either the procedure or the site's times are to be looked at.",
        // It takes a policy with times and a procedure; the tests of the rules show it.
        &[],
        &[],
    )
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&UNFIT_VALIDATION, &UNFIT_QUALIFICATION, &ELAPSED_OFF_ESTIMATE];

pub(super) fn check(p: &Procedure, trace: &Trace, findings: &mut Vec<Diagnostic>) {
    for asked in p.front.qualifications.iter().filter(|q| p.policy.find_role(&q.post.value).is_none()) {
        let message = format!("`{}` is not a post of this site", asked.post.value.escape_debug());
        findings.push(UNFIT_QUALIFICATION.at(asked.post.span, message).help("name a post as the policy lists it"));
    }
    if p.front.validations.is_empty() {
        return;
    }
    let time = estimate(p, trace);
    for record in &p.front.validations {
        if p.policy.find_role(&record.post.value).is_none() {
            let message = format!("`{}` is not a post of this site", record.post.value.escape_debug());
            findings.push(
                UNFIT_VALIDATION.at(record.post.span, message).help("name the post that answers for the trial, as the policy lists it"),
            );
        }
        // Dates are written year first, so the order of their letters is the order of time.
        if let Some(date) = p.front.date.as_ref().filter(|d| d.value < record.date.value) {
            let message = format!("this trial was on {}; the document is dated {}", record.date.value, date.value);
            let problem = UNFIT_VALIDATION.at(record.date.span, message).label(date.span, "the document's date");
            findings.push(problem.help("date the document after its trials"));
        }
        // Motion alone is no time that a trial could be held against, and neither is one that is left open.
        let Some(elapsed) = record.elapsed.filter(|_| time.of_acts && time.without.is_empty() && time.open.is_empty()) else { continue };
        let (took, least, most) = (elapsed.value.0, time.total.least, time.total.most);
        if took.saturating_mul(10) < least.saturating_mul(9) || took.saturating_mul(10) > most.saturating_mul(11) {
            let message =
                format!("the trial took {}; the estimate is {}, and it is more than a tenth off", spoken(took), between(time.total));
            findings.push(
                ELAPSED_OFF_ESTIMATE
                    .at(elapsed.span, message)
                    .help(
                        "find out which steps took another time; change them, or the times in the policy, or accept it with a disposition",
                    )
                    .number("elapsed", format!("{took} ms"))
                    .number("least", format!("{least} ms"))
                    .number("most", format!("{most} ms")),
            );
        }
    }
}
