//! The site's severities, applied to findings, and then the procedure's waivers and dispositions.

use super::acceptance::{self, Accepted};
use crate::diag::{Diagnostic, Evidence, Example, ExampleFile, Family, Rule, Severity, suggest};
use crate::model::procedure::Procedure;
use crate::text::Spanned;
use crate::trace::Trace;

pub(super) const fn rule(
    id: &'static str,
    severity: Severity,
    summary: &'static str,
    why: &'static str,
    bad: &'static [Example],
    good: &'static [Example],
) -> Rule {
    Rule { id, family: Family::Document, severity, physical: true, summary, why, evidence: Evidence::Definition, bad, good }
}

/// A procedure of the examples: what its front matter ends in, and its steps.
macro_rules! front {
    ($rest:literal, $steps:literal) => {
        concat!(
            "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"on\"\n",
            $rest,
            "\n+++\n\n# Work\n\n",
            $steps
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
    "the policy, a waiver or a disposition names a rule that does not exist",
    "A name that matches nothing changes nothing, and whoever wrote it believes that it does.",
    &[
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nseverities = { ⟦open-wat⟧ = \"error\" }"),
        Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nwaivable = [⟦\"open-wat\"⟧]"),
        Example::procedure(front!(
            "[[waiver]]\nrule = ⟦\"open-wat\"⟧\nreason = \"None.\"\npost = \"Shift lead\"\nexpires = \"2027-01-01\"",
            "1. `view window-1`\n"
        )),
        Example::procedure(front!(
            "[[disposition]]\nrule = ⟦\"open-wat\"⟧\nreason = \"None.\"\npost = \"Shift lead\"\ndate = \"2026-11-19\"",
            "1. `view window-1`\n"
        )),
    ],
    &[Example::patch(ExampleFile::Policy, "paper = \"A4\"", "paper = \"A4\"\nseverities = { open-wait = \"error\" }")],
);

pub(super) use front;

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&SOFTENED_PHYSICAL_RULE, &UNKNOWN_RULE];

/// Applies policy, waivers and dispositions, and sorts. Returns what is in force of the latter.
pub(super) fn apply(p: &Procedure, trace: &Trace, rules: &[&'static Rule], findings: &mut Vec<Diagnostic>) -> Accepted {
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
    let accepted = acceptance::apply(p, trace, rules, findings);
    let own = p.file;
    findings.sort_by(|a, b| {
        let key = |d: &Diagnostic| (d.span.file != own, d.span, d.rule.id);
        key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message))
    });
    findings.dedup();
    accepted.settled(findings)
}

pub(super) fn unknown(id: &Spanned<String>, rules: &[&'static Rule]) -> Diagnostic {
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
