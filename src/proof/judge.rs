//! The site's severities and the procedure's waivers, applied to findings.

use crate::compiled;
use crate::diag::{Diagnostic, Evidence, Example, ExampleFile, Family, Rule, Severity, suggest};
use crate::model::procedure::{Procedure, Waiver};
use crate::text::{Span, Spanned};

const fn rule(
    id: &'static str,
    severity: Severity,
    summary: &'static str,
    why: &'static str,
    bad: &'static [Example],
    good: &'static [Example],
) -> Rule {
    Rule { id, family: Family::Document, severity, physical: true, summary, why, evidence: Evidence::Definition, bad, good }
}

/// Front matter of the examples up to their waiver.
macro_rules! waiver {
    ($rest:literal) => {
        concat!(
            "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"on\"\n[[waiver]]\n",
            $rest,
            "\n+++\n\n# Work\n\n1. `view window-1`\n"
        )
    };
}

/// A policy that softens a physical limit.
pub static SOFTENED_PHYSICAL_RULE: Rule = rule(
    "softened-physical-rule",
    Severity::Error,
    "the policy softens a rule that holds at every site, or lets it be waived",
    "No signature moves a stop or makes a load lighter. Rules over what the arm can do keep their weight at every site, and so do those without which it is not known what was checked: what was not read, and ways that were not followed.",
    &[
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nseverities = { ⟦over-travel⟧ = \"warning\" }"),
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nwaivable = [⟦\"grip-too-weak\"⟧]"),
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nseverities = { ⟦bad-number⟧ = \"warning\" }"),
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nwaivable = [⟦\"backward-go-to\"⟧]"),
    ],
    &[Example::patch(
        ExampleFile::Policy,
        "paper = \"A4\"",
        "paper = \"A4\"\nseverities = { over-travel = \"error\" }\nwaivable = [\"stale-model\"]",
    )],
);

/// A rule that does not exist.
pub static UNKNOWN_RULE: Rule = rule(
    "unknown-rule",
    Severity::Error,
    "the policy or a waiver names a rule that does not exist",
    "A name that matches nothing changes nothing, and whoever wrote it believes that it does.",
    &[
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nseverities = { ⟦open-wat⟧ = \"error\" }"),
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nwaivable = [⟦\"open-wat\"⟧]"),
        Example::procedure(waiver!("rule = ⟦\"open-wat\"⟧\nreason = \"None.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"")),
    ],
    &[Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nseverities = { open-wait = \"error\" }")],
);

/// A waiver that nobody may give.
pub static WAIVER_NOT_ALLOWED: Rule = rule(
    "waiver-not-allowed",
    Severity::Error,
    "a waiver lifts a rule that cannot be waived here, or is given by nobody the site knows",
    "The policy lists the rules that a procedure may waive. Everything else is mended, not waived.",
    &[
        Example::procedure(waiver!("rule = ⟦\"over-travel\"⟧\nreason = \"It fits.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"")),
        Example::procedure(waiver!("rule = ⟦\"open-wait\"⟧\nreason = \"It fits.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"")),
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

/// The rules of this floor.
pub static RULES: &[&Rule] = &[&SOFTENED_PHYSICAL_RULE, &UNKNOWN_RULE, &WAIVER_NOT_ALLOWED, &UNUSED_WAIVER];

/// Applies policy and waivers, and sorts. Returns the waivers in force with what each lifts.
pub(super) fn apply(p: &Procedure, rules: &[&'static Rule], findings: &mut Vec<Diagnostic>) -> Vec<(compiled::Waiver, Vec<usize>)> {
    let known = |id: &str| rules.iter().copied().find(|r| r.id == id);
    for (id, severity) in &p.policy.severities {
        match known(&id.value).map(|rule| (rule, rule.fixed())) {
            None => findings.push(unknown(id, rules)),
            Some((rule, Some(about))) if *severity < rule.severity => findings.push(softened(id, rule, about)),
            Some((rule, _)) => findings.iter_mut().filter(|f| f.rule == rule).for_each(|f| f.severity = *severity),
        }
    }
    for id in &p.policy.waivable {
        match known(&id.value).map(|rule| (rule, rule.fixed())) {
            None => findings.push(unknown(id, rules)),
            Some((rule, Some(about))) => findings.push(softened(id, rule, about)),
            Some((_, None)) => {}
        }
    }
    let mut lifted: Vec<(compiled::Waiver, Span, Vec<Diagnostic>)> = Vec::new();
    for waiver in &p.front.waivers {
        let Some(rule) = known(&waiver.rule.value) else {
            findings.push(unknown(&waiver.rule, rules));
            continue;
        };
        let allowed = !rule.is_fixed() && p.policy.waivable.iter().any(|w| w.value == rule.id);
        if let Some(problem) = refused(p, waiver, rule, allowed) {
            findings.push(problem);
            continue;
        }
        if p.front.date.as_ref().is_some_and(|d| waiver.expires.value < d.value) {
            continue; // told where the document is looked at
        }
        let (taken, rest) = std::mem::take(findings).into_iter().partition(|f| f.rule == rule && covers(p, waiver, f.span));
        *findings = rest;
        let taken: Vec<Diagnostic> = taken;
        if taken.is_empty() {
            findings.push(
                UNUSED_WAIVER
                    .at(waiver.rule.span, format!("nothing of `{}` is found that this waiver could lift", rule.id))
                    .help("take the waiver out"),
            );
        }
        let mark = taken
            .into_iter()
            .map(|mut f| {
                f.severity = Severity::Advice;
                f.label(waiver.span, format!("waived by {} until {}: {}", waiver.post.value, waiver.expires.value, waiver.reason.value))
            })
            .collect();
        lifted.push((as_data(waiver), waiver.span, mark));
    }
    let waivers: Vec<(compiled::Waiver, Span)> = lifted.iter().map(|(w, s, _)| (w.clone(), *s)).collect();
    findings.extend(lifted.into_iter().flat_map(|(_, _, f)| f));
    let own = p.file;
    findings.sort_by(|a, b| {
        let key = |d: &Diagnostic| (d.span.file != own, d.span, d.rule.id);
        key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message))
    });
    findings.dedup();
    let lifts = |span: Span| {
        let by = |f: &Diagnostic| f.labels.iter().any(|l| l.span == span && l.text.starts_with("waived by"));
        findings.iter().enumerate().filter(|(_, f)| by(f)).map(|(i, _)| i).collect()
    };
    waivers.into_iter().map(|(w, span)| (w, lifts(span))).collect()
}

/// Whether a waiver is for the place of a finding: the whole procedure, or the step of its anchor.
fn covers(p: &Procedure, waiver: &Waiver, span: Span) -> bool {
    let Some(anchor) = &waiver.step else { return span.file == p.file };
    let step = p.steps.iter().find(|s| s.anchor.as_ref().is_some_and(|a| a.value == anchor.value));
    step.is_some_and(|s| s.span.file == span.file && s.span.start <= span.start && span.end <= s.span.end)
}

fn refused(p: &Procedure, waiver: &Waiver, rule: &Rule, allowed: bool) -> Option<Diagnostic> {
    if !allowed {
        let why = match rule.fixed() {
            Some(about) => format!("is about {about}, which no signature moves"),
            None => "is not among the rules the policy lets be waived".to_owned(),
        };
        return Some(
            WAIVER_NOT_ALLOWED
                .at(waiver.rule.span, format!("`{}` {why}", rule.id))
                .help("mend what the rule finds, or ask for a change of the policy"),
        );
    }
    p.policy.find_role(&waiver.post.value).is_none().then(|| {
        WAIVER_NOT_ALLOWED
            .at(waiver.post.span, format!("`{}` is not a post of this site", waiver.post.value.escape_debug()))
            .help("name the post that accepts the finding, as the policy lists it")
    })
}

fn unknown(id: &Spanned<String>, rules: &[&'static Rule]) -> Diagnostic {
    let finding = UNKNOWN_RULE.at(id.span, format!("there is no rule `{}`", id.value.escape_debug()));
    match suggest(&id.value, rules.iter().map(|r| r.id)) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding.help("the rule reference lists every rule"),
    }
}

fn softened(id: &Spanned<String>, rule: &Rule, about: &str) -> Diagnostic {
    SOFTENED_PHYSICAL_RULE
        .at(id.span, format!("`{}` is about {about} and stays {} at every site", rule.id, a(rule.severity)))
        .help("take it out of the policy")
}

fn a(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "an error",
        Severity::Warning => "a warning",
        Severity::Advice => "advice",
    }
}

fn as_data(waiver: &Waiver) -> compiled::Waiver {
    compiled::Waiver {
        rule: waiver.rule.value.clone(),
        step: waiver.step.as_ref().map(|s| s.value.clone()),
        reason: waiver.reason.value.clone(),
        post: waiver.post.value.clone(),
        expires: waiver.expires.value.clone(),
    }
}
