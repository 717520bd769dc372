//! The judgement over one procedure: every floor's rules, the site's severities, the procedure's waivers.
//!
//! Invariant: [`Checked`] is constructed here and nowhere else, and only when no error stands. Whatever was not
//! looked at is said: the lists of what was and was not checked come from what ran.

mod acceptance;
mod compile;
mod coverage;
pub mod estimate;
mod judge;
pub mod sensitivity;
mod validation;

use crate::compiled::{Check, Compiled, Gap};
use crate::diag::{Diagnostic, Family, Rule, Severity, count, gather};
use crate::model::procedure::Procedure;
use crate::space::scene::Lack;
use crate::space::{self, Survey};
use crate::text::Files;
use crate::trace::{self, Trace};
use crate::writing;
pub use crate::writing::questions::QUESTIONS;
pub use acceptance::Accepted;
pub use compile::package::spoken;
use std::sync::Arc;

/// The rules of this floor.
pub static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);
const FAMILIES: &[&[&Rule]] = &[judge::RULES, acceptance::RULES, validation::RULES];

/// A procedure that every rule has looked at.
#[derive(Debug)]
pub struct Examined {
    /// The procedure.
    pub procedure: Arc<Procedure>,
    /// Its trace.
    pub trace: Arc<Trace>,
    /// Where everything is at each step.
    pub survey: Arc<Survey>,
    /// Everything found, by file and place, severities and waivers applied.
    pub findings: Arc<[Diagnostic]>,
    /// The waivers and dispositions that are in force, each with what it is for as indices of `findings`.
    pub accepted: Arc<Accepted>,
    /// What was checked; what is printed of it is [`Self::listed`].
    pub covered: Arc<[Check]>,
    /// What was not.
    pub gaps: Arc<[Gap]>,
    /// The key to an approvable document; none while an error stands.
    pub checked: Option<Checked>,
}

/// A procedure without errors. Only [`examine`] makes one.
#[derive(Clone, Debug)]
#[allow(clippy::manual_non_exhaustive, reason = "the crate itself must not make one elsewhere")]
pub struct Checked {
    /// The procedure.
    pub procedure: Arc<Procedure>,
    /// Its trace.
    pub trace: Arc<Trace>,
    /// Where everything is at each step.
    pub survey: Arc<Survey>,
    /// What was found and stands: warnings, advice, and what was waived.
    pub findings: Arc<[Diagnostic]>,
    /// The waivers and dispositions that are in force, each with what it is for as indices of `findings`.
    pub accepted: Arc<Accepted>,
    /// What was checked; what is printed of it is [`Self::listed`].
    pub covered: Arc<[Check]>,
    /// What was not.
    pub gaps: Arc<[Gap]>,
    /// Why it may not be issued, even approved: demonstration data, or something that must be checked and was not.
    pub not_issuable: Vec<String>,
    /// Keeps the type from being made elsewhere.
    _only_here: (),
}

/// Runs every rule over a lowered procedure.
///
/// `files` are the texts that spans point into, `rules` every rule there is (for names in policy and waivers), `problems`
/// what reading, models and lowering found.
pub fn examine(procedure: Arc<Procedure>, files: &Files, rules: &[&'static Rule], problems: Vec<Diagnostic>) -> Examined {
    let p = &*procedure;
    let trace = trace::trace(p);
    let mut findings = problems;
    findings.extend(writing::check(p, &files.get(p.file).text));
    for callee in trace.callees() {
        findings.extend(writing::check(callee, &files.get(callee.file).text));
    }
    findings.extend(trace::check(p, &trace));
    let survey = if findings.iter().any(unsettles) { Survey::none(Lack::Errors) } else { space::survey(p, &trace) };
    findings.extend(space::check(p, &trace, &survey));
    findings.extend(leaning(p, files, &trace, &survey));
    validation::check(p, &trace, &mut findings);
    let accepted = Arc::new(judge::apply(p, &trace, rules, &mut findings));
    let (covered, gaps) = coverage::of(p, &trace, &survey);
    let (trace, survey, findings): (_, _, Arc<[_]>) = (Arc::new(trace), Arc::new(survey), findings.into());
    let (covered, gaps): (Arc<[_]>, Arc<[_]>) = (covered.into(), gaps.into());
    let checked = findings.iter().all(|f| f.severity != Severity::Error).then(|| Checked {
        procedure: procedure.clone(),
        trace: trace.clone(),
        survey: survey.clone(),
        findings: findings.clone(),
        accepted: accepted.clone(),
        covered: covered.clone(),
        gaps: gaps.clone(),
        not_issuable: coverage::not_issuable(p, &trace, &survey),
        _only_here: (),
    });
    Examined { procedure, trace, survey, findings, accepted, covered, gaps, checked }
}

/// What is called plumb, against how far it leans where its step ends: of all ways to the step the one on which it leans most.
fn leaning(p: &Procedure, files: &Files, trace: &Trace, survey: &Survey) -> Vec<Diagnostic> {
    let Ok(scene) = &survey.scene else { return Vec::new() };
    let mut out = Vec::new();
    for (frame, _) in trace.frames() {
        let q = trace.procedure_of(p, frame);
        for claim in writing::upright::claims(q, &files.get(q.file).text) {
            let Some(row) = trace.row(frame, claim.0) else { continue };
            let leans = survey.of(row).iter().filter_map(|s| space::reach::leans(p, trace, scene, s).ok()?);
            let worst = leans.max_by_key(|(_, [least, _])| *least);
            let found = worst.and_then(|(load, [least, _])| writing::upright::check(q, &claim, load, least));
            out.extend(found.filter(|f| !out.iter().any(|o: &Diagnostic| o.span == f.span)));
        }
    }
    out
}

/// Whether a finding leaves open where the arm is or what there is. What moves comes near to is looked at once that is mended,
/// so that one mistake does not come back as many.
fn unsettles(finding: &Diagnostic) -> bool {
    let about_words = matches!(
        finding.rule.family,
        Family::Hold
            | Family::Alert
            | Family::Document
            | Family::Prose
            | Family::Print
            | Family::Sight
            | Family::Clearance
            | Family::Reach
            | Family::Load
    );
    finding.severity == Severity::Error && !about_words
}

impl Checked {
    /// What was checked and what was not, as it is printed.
    pub fn listed(&self) -> (Vec<Check>, Vec<Gap>) {
        coverage::listed(&self.procedure, &self.trace, &self.survey, (&self.covered, &self.gaps))
    }
}

impl Examined {
    /// What was checked and what was not, as it is printed.
    pub fn listed(&self) -> (Vec<Check>, Vec<Gap>) {
        coverage::listed(&self.procedure, &self.trace, &self.survey, (&self.covered, &self.gaps))
    }
    /// The compiled form, as data. Digests are left to the caller that read the files.
    pub fn compile(&self, files: &Files) -> Compiled {
        compile::compile(self, files, true)
    }
    /// The same without what is told of the steps besides, for those who look at states and numbers alone: that takes sweeps.
    pub fn compile_untold(&self, files: &Files) -> Compiled {
        compile::compile(self, files, false)
    }
}
