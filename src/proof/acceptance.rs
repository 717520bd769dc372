//! What posts take on: waivers lift a finding for a time, dispositions accept a warning that stands.
//!
//! Invariant: both are judged by the dates of the document and of the models, never by the clock, so that the same files give
//! the same verdict on any day. A disposition changes no weight.

use super::judge::{self, front, rule};
use crate::compiled;
use crate::diag::{Acceptance, Diagnostic, Example, Family, Rule, Severity};
use crate::model::procedure::{Disposition, Procedure, SectionKind, Waiver};
use crate::text::{Span, Spanned};
use crate::trace::Trace;

/// A waiver that nobody may give.
pub static WAIVER_NOT_ALLOWED: Rule = rule(
    "waiver-not-allowed",
    Severity::Error,
    "a waiver lifts a rule that cannot be waived here, or is given by a post that may not give it",
    "The policy lists the rules that a procedure may waive. Everything else is mended, not waived. Who performs the steps does not also lift what was found in them.",
    &[
        Example::procedure(front!(
            "[[waiver]]\nrule = ⟦\"over-travel\"⟧\nreason = \"It fits.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"",
            "1. `view window-1`\n"
        )),
        Example::procedure(front!(
            "[[waiver]]\nrule = ⟦\"open-wait\"⟧\nreason = \"It fits.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"",
            "1. `view window-1`\n"
        )),
    ],
    &[Example::steps("1. `view window-1`\n")],
);

/// A waiver that lifts nothing.
pub static UNUSED_WAIVER: Rule = rule(
    "unused-waiver",
    Severity::Warning,
    "a waiver lifts no finding",
    "What it was given for has been mended, or was never there. A waiver that stays behind will lift something else one day.",
    // It takes a policy that lets a rule be waived and a procedure; the tests of proof show it.
    &[],
    &[],
);

/// A disposition that nobody may give.
pub static DISPOSITION_NOT_ALLOWED: Rule = rule(
    "disposition-not-allowed",
    Severity::Error,
    "a disposition is for what is no warning here, or is given by a post that may not give it",
    "A disposition says that somebody has looked at a warning and accepts it. An error is mended, or waived where the policy lets it be. Who performs the steps does not also accept what was found in them.",
    &[
        Example::procedure(front!(
            "[[disposition]]\nrule = ⟦\"over-travel\"⟧\nreason = \"It fits.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"",
            "1. `view window-1`\n"
        )),
        Example::procedure(front!(
            "[[disposition]]\nrule = \"open-wait\"\nreason = \"The bath may drip for long.\"\npost = ⟦\"Night watch\"⟧\ndate = \"2026-11-19\"",
            "1. `view window-1`\n"
        )),
        Example::procedure(front!(
            "[[disposition]]\nrule = \"open-wait\"\nreason = \"The bath may drip for long.\"\npost = ⟦\"Operator\"⟧\ndate = \"2026-11-19\"",
            "1. `view window-1`\n"
        )),
    ],
    GOOD,
);

/// A disposition that accepts nothing.
pub static UNUSED_DISPOSITION: Rule = rule(
    "unused-disposition",
    Severity::Warning,
    "a disposition accepts no warning",
    "What it was given for has been mended, was waived, or was never there. One that stays behind will accept something else one day that nobody has looked at.",
    &[Example::procedure(front!(
        "[[disposition]]\nrule = ⟦\"open-wait\"⟧\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"",
        "1. `view window-1`\n"
    ))],
    GOOD,
);

/// A disposition from before the models, or from after the document.
pub static DISPOSITION_OUT_OF_DATE: Rule = rule(
    "disposition-out-of-date",
    Severity::Error,
    "a disposition is older than the arm or cell data, or younger than the document",
    "A warning was accepted over the data of its day. When arm or cell are measured anew it has to be looked at again; and nobody has accepted on a day after the document what the document says.",
    &[
        Example::procedure(front!(
            "[[disposition]]\nrule = \"open-wait\"\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = ⟦\"2026-11-21\"⟧",
            "1. `view window-1`\n"
        )),
        Example::procedure(front!(
            "[[disposition]]\nrule = \"open-wait\"\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = ⟦\"2025-01-07\"⟧",
            "1. `view window-1`\n"
        )),
    ],
    GOOD,
);

/// A disposition for a step that is not there.
pub static DISPOSITION_WITHOUT_STEP: Rule = rule(
    "disposition-without-step",
    Severity::Error,
    "a disposition names a step that does not exist",
    "A disposition belongs to one step, by its anchor. When the step is gone the disposition goes too.",
    &[Example::procedure(front!(
        "[[disposition]]\nrule = \"open-wait\"\nstep = ⟦\"bath\"⟧\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"",
        "1. `view window-1`\n"
    ))],
    GOOD,
);

/// The same finding taken on twice.
pub static REPEATED_ACCEPTANCE: Rule = rule(
    "repeated-acceptance",
    Severity::Error,
    "the same rule is waived, or its warning accepted, twice for the same place",
    "Two posts, two reasons or two dates for one finding: whoever looks it up later does not know which holds.",
    &[Example::procedure(front!(
        "[[disposition]]\nrule = \"open-wait\"\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"\n[[disposition]]\nrule = ⟦\"open-wait\"⟧\nreason = \"Nobody waits.\"\npost = \"Radiation protection\"\ndate = \"2026-11-18\"",
        "1. `wait at least 30 s`\n"
    ))],
    GOOD,
);

/// A wait without an upper limit, accepted.
const GOOD: &[Example] = &[Example::procedure(front!(
    "[[disposition]]\nrule = \"open-wait\"\nstep = \"bath\"\nreason = \"The bath may drip for long.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"",
    "1. `wait at least 30 s` {#bath}\n"
))];

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[
    &WAIVER_NOT_ALLOWED,
    &UNUSED_WAIVER,
    &DISPOSITION_NOT_ALLOWED,
    &UNUSED_DISPOSITION,
    &DISPOSITION_OUT_OF_DATE,
    &DISPOSITION_WITHOUT_STEP,
    &REPEATED_ACCEPTANCE,
];

/// Waivers and dispositions in force, each with the findings it is for, as indices.
#[derive(Debug, Default)]
pub struct Accepted {
    /// What was lifted.
    pub waivers: Vec<(compiled::Waiver, Vec<usize>)>,
    /// What was accepted and stands.
    pub dispositions: Vec<(compiled::Disposition, Vec<usize>)>,
    /// Where each is written.
    places: (Vec<Span>, Vec<Span>),
}

/// A waiver or a disposition, as far as both say the same.
struct Taken<'a> {
    rule: &'a Spanned<String>,
    step: Option<&'a Spanned<String>>,
}

impl<'a> From<&'a Waiver> for Taken<'a> {
    fn from(w: &'a Waiver) -> Taken<'a> {
        Taken { rule: &w.rule, step: w.step.as_ref() }
    }
}

impl<'a> From<&'a Disposition> for Taken<'a> {
    fn from(d: &'a Disposition) -> Taken<'a> {
        Taken { rule: &d.rule, step: d.step.as_ref() }
    }
}

/// Applies the waivers of the front matter to `findings`, then its dispositions to what is left.
pub(super) fn apply(p: &Procedure, trace: &Trace, rules: &[&'static Rule], findings: &mut Vec<Diagnostic>) -> Accepted {
    let known = |id: &str| rules.iter().copied().find(|r| r.id == id);
    let mut out = Accepted::default();
    let mut told = Vec::new();
    for (n, waiver) in p.front.waivers.iter().enumerate() {
        let Some(rule) = known(&waiver.rule.value) else {
            told.push(judge::unknown(&waiver.rule, rules));
            continue;
        };
        let before = p.front.waivers[..n].iter().map(Taken::from);
        if let Some(problem) = repeated(&waiver.into(), before, "waived").or_else(|| not_waivable(p, waiver, rule)) {
            told.push(problem);
            continue;
        }
        if p.front.date.as_ref().is_some_and(|d| waiver.expires.value < d.value) {
            continue; // told where the document is looked at
        }
        let mut used = false;
        for finding in findings.iter_mut().filter(|f| f.rule == rule && f.accepted.is_none() && covers(p, &waiver.into(), f.span)) {
            used = true;
            let words = format!("waived by {} until {}: {}", waiver.post.value, waiver.expires.value, waiver.reason.value);
            *finding = finding.clone().accepted(Acceptance::Waived, waiver.span, words);
            finding.severity = Severity::Advice;
        }
        if used {
            out.waivers.push((waived(p, trace, waiver), Vec::new()));
            out.places.0.push(waiver.span);
        } else {
            let message = format!("nothing of `{}` is found that this waiver could lift", rule.id);
            told.push(UNUSED_WAIVER.at(waiver.rule.span, message).help("take the waiver out"));
        }
    }
    findings.append(&mut told);
    for (n, disposition) in p.front.dispositions.iter().enumerate() {
        let Some(rule) = known(&disposition.rule.value) else {
            told.push(judge::unknown(&disposition.rule, rules));
            continue;
        };
        let before = p.front.dispositions[..n].iter().map(Taken::from);
        let of_rule = |f: &&mut Diagnostic| f.rule == rule && covers(p, &disposition.into(), f.span);
        let is_error = findings.iter_mut().filter(of_rule).any(|f| f.severity == Severity::Error);
        let problem = repeated(&disposition.into(), before, "accepted")
            .or_else(|| not_acceptable(p, disposition, rule, is_error))
            .or_else(|| without_step(p, disposition))
            .or_else(|| out_of_date(p, disposition));
        if let Some(problem) = problem {
            told.push(problem);
            continue;
        }
        let mut used = false;
        let open = |f: &&mut Diagnostic| f.severity == Severity::Warning && f.accepted.is_none();
        for finding in findings.iter_mut().filter(of_rule).filter(open) {
            used = true;
            let words = format!("accepted by {} on {}: {}", disposition.post.value, disposition.date.value, disposition.reason.value);
            *finding = finding.clone().accepted(Acceptance::Dispositioned, disposition.span, words);
        }
        if used {
            out.dispositions.push((accepted(p, trace, disposition), Vec::new()));
            out.places.1.push(disposition.span);
        } else {
            let message = format!("no warning of `{}` is found that this disposition could accept", rule.id);
            told.push(UNUSED_DISPOSITION.at(disposition.rule.span, message).help("take the disposition out"));
        }
    }
    findings.append(&mut told);
    out
}

impl Accepted {
    /// With the findings in their final order: which each is for.
    pub(super) fn settled(mut self, findings: &[Diagnostic]) -> Accepted {
        let of = |how: Acceptance, span: &Span| {
            let by = |f: &Diagnostic| f.accepted == Some(how) && f.labels.iter().any(|l| l.span == *span);
            findings.iter().enumerate().filter(|(_, f)| by(f)).map(|(i, _)| i).collect()
        };
        for ((_, lifts), span) in self.waivers.iter_mut().zip(&self.places.0) {
            *lifts = of(Acceptance::Waived, span);
        }
        for ((_, accepts), span) in self.dispositions.iter_mut().zip(&self.places.1) {
            *accepts = of(Acceptance::Dispositioned, span);
        }
        self
    }
}

/// Whether it is for the place of a finding: everything this procedure is checked over, or the step of its anchor.
fn covers(p: &Procedure, taken: &Taken<'_>, span: Span) -> bool {
    let Some(anchor) = taken.step else { return true };
    let step = p.steps.iter().find(|s| s.anchor.as_ref().is_some_and(|a| a.value == anchor.value));
    step.is_some_and(|s| s.span.file == span.file && s.span.start <= span.start && span.end <= s.span.end)
}

fn repeated<'a>(taken: &Taken<'_>, mut before: impl Iterator<Item = Taken<'a>>, how: &str) -> Option<Diagnostic> {
    let step = |t: &Taken<'_>| t.step.map(|s| s.value.clone());
    let first = before.find(|t| t.rule.value == taken.rule.value && step(t) == step(taken))?;
    let place = taken.step.map_or_else(String::new, |s| format!(" at `{}`", s.value.escape_debug()));
    let message = format!("`{}`{place} is {how} already", taken.rule.value.escape_debug());
    Some(REPEATED_ACCEPTANCE.at(taken.rule.span, message).label(first.rule.span, "the first").help("keep the one that holds"))
}

fn not_waivable(p: &Procedure, waiver: &Waiver, rule: &Rule) -> Option<Diagnostic> {
    if !rule.is_fixed() && p.policy.waivable.iter().any(|w| w.value == rule.id) {
        return unfit_post(p, &waiver.post, &WAIVER_NOT_ALLOWED);
    }
    let why = match rule.fixed() {
        Some(about) => format!("is about {about}, which no signature moves"),
        None => "is not among the rules the policy lets be waived".to_owned(),
    };
    let problem = WAIVER_NOT_ALLOWED.at(waiver.rule.span, format!("`{}` {why}", rule.id));
    Some(problem.help("mend what the rule finds, or ask for a change of the policy"))
}

fn not_acceptable(p: &Procedure, disposition: &Disposition, rule: &Rule, is_error: bool) -> Option<Diagnostic> {
    let weight = p.policy.severities.iter().find(|(id, _)| id.value == rule.id).map_or(rule.severity, |(_, s)| *s);
    let why = match weight {
        _ if rule.family == Family::Document && rule.physical => "is about what may be waived or accepted, and is mended",
        _ if is_error => "finds an error here; a disposition accepts a warning and lifts nothing",
        Severity::Error => "is an error wherever it is found; a disposition accepts a warning and lifts nothing",
        Severity::Advice => "is advice here and asks for no disposition",
        Severity::Warning => return unfit_post(p, &disposition.post, &DISPOSITION_NOT_ALLOWED),
    };
    let problem = DISPOSITION_NOT_ALLOWED.at(disposition.rule.span, format!("`{}` {why}", rule.id));
    Some(problem.help("mend what the rule finds, and take the disposition out"))
}

/// A post that is not known, or that performs the steps itself.
fn unfit_post(p: &Procedure, post: &Spanned<String>, by: &'static Rule) -> Option<Diagnostic> {
    let name = post.value.escape_debug();
    let message = match p.policy.find_role(&post.value) {
        None => format!("`{name}` is not a post of this site"),
        id if id == p.performer => format!("`{name}` performs these steps and cannot take on what was found in them"),
        Some(_) => return None,
    };
    Some(by.at(post.span, message).help("name the post that takes the finding on, as the policy lists it"))
}

fn without_step(p: &Procedure, disposition: &Disposition) -> Option<Diagnostic> {
    let step = disposition.step.as_ref()?;
    let there = p.steps.iter().any(|s| s.anchor.as_ref().is_some_and(|a| a.value == step.value));
    (!there).then(|| {
        let problem = DISPOSITION_WITHOUT_STEP.at(step.span, format!("no step has the anchor `{}`", step.value.escape_debug()));
        problem.help("write the anchor at the step that is meant, or take the disposition out")
    })
}

/// Dates are written year first, so the order of their letters is the order of time.
fn out_of_date(p: &Procedure, disposition: &Disposition) -> Option<Diagnostic> {
    let given = &disposition.date;
    let problem = |message: String| DISPOSITION_OUT_OF_DATE.at(given.span, message);
    if let Some(date) = p.front.date.as_ref().filter(|d| d.value < given.value) {
        let message = format!("this disposition is of {}; the document is dated {}", given.value, date.value);
        return Some(problem(message).label(date.span, "the document's date").help("date the document when its warnings are accepted"));
    }
    let cell = p.front.cell.as_ref().map(|_| ("the survey of the cell", &p.cell.surveyed));
    let newer = [Some(("the arm profile", &p.arm.date)), cell].into_iter().flatten().find(|(_, date)| given.value < date.value);
    newer.map(|(what, date)| {
        let message = format!("this disposition is of {}; {what} is of {}", given.value, date.value);
        problem(message).label(date.span, "the newer data").help("look at the warning again, and give the day of that")
    })
}

/// Every printed number of the step with an anchor.
fn numbers(p: &Procedure, trace: &Trace, anchor: Option<&Spanned<String>>) -> Vec<String> {
    let Some(anchor) = anchor else { return Vec::new() };
    let Some(step) = p.steps.iter().find(|s| s.anchor.as_ref().is_some_and(|a| a.value == anchor.value)) else { return Vec::new() };
    // A section that is only performed is printed where it is performed, never at its own place.
    let on_call = p.section(step.section).kind == SectionKind::OnCall;
    let own = trace.frames().filter(|(id, f)| trace.procedure_of(p, *id).file == p.file && (f.section.is_some() || !on_call));
    own.filter_map(|(frame, _)| trace.row(frame, step.id)).map(|row| trace.number(p, row).to_string()).collect()
}

fn waived(p: &Procedure, trace: &Trace, waiver: &Waiver) -> compiled::Waiver {
    compiled::Waiver {
        rule: waiver.rule.value.clone(),
        step: waiver.step.as_ref().map(|s| s.value.clone()),
        numbers: numbers(p, trace, waiver.step.as_ref()),
        reason: waiver.reason.value.clone(),
        post: waiver.post.value.clone(),
        expires: waiver.expires.value.clone(),
    }
}

fn accepted(p: &Procedure, trace: &Trace, disposition: &Disposition) -> compiled::Disposition {
    compiled::Disposition {
        rule: disposition.rule.value.clone(),
        step: disposition.step.as_ref().map(|s| s.value.clone()),
        numbers: numbers(p, trace, disposition.step.as_ref()),
        reason: disposition.reason.value.clone(),
        post: disposition.post.value.clone(),
        date: disposition.date.value.clone(),
    }
}
