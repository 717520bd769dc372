//! The independent checker of what a compiled procedure claims about space: it reads the file alone and works everything out
//! again with its own small arithmetic.
//!
//! What it holds: every motion, from every state its step can start in, has a certificate, and the certificate holds every pair
//! of bodies apart over the whole box of start band, drift, stopping band and read-out error, contacts that are declared set
//! aside; no joint passes a limit; no printed direction disagrees; whatever a step leaves is among the states the next one was
//! checked from, along every way. What it takes from the file as it stands: the scene (chain, shapes, stations, margin) and
//! the tolerances of the joints. What is told with a step beyond its sweep is read and not held.
//!
//! Invariant: it shares nothing with the part that finds certificates, so that a wrong certificate, or one that is missing,
//! can only cause a refusal.

mod drive;
mod flow;
mod frame;
mod read;
mod scene;
mod solid;
mod sweep;

use drive::Drive;
use read::{Document, Step};
use serde::Serialize;
use std::collections::BTreeSet;

/// What an audit came to.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// Number, revision and title of the document.
    pub document: String,
    /// Whether there is a scene; without one nothing in space is claimed and nothing was audited.
    pub space: bool,
    /// Everything that does not hold; none if every certificate does.
    pub refusals: Vec<Refusal>,
    /// Motions from one state each whose certificates hold.
    pub sweeps: u64,
    /// Planes that hold parts apart.
    pub planes: u64,
    /// The model files that the file says it was checked against: kind, name, SHA-256.
    pub models: Vec<(String, String, Option<String>)>,
    /// Loads that are in no sweep because some state does not say where they are.
    pub unplaced: BTreeSet<String>,
}

/// Something that does not hold.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Refusal {
    /// Printed number of the step; none for the scene.
    pub step: Option<String>,
    /// Index of the state before it.
    pub state: Option<usize>,
    /// Names of the two bodies.
    pub pair: Option<(String, String)>,
    /// Why.
    pub reason: String,
}

/// Audits a file; `progress` is told the steps done and how many there are. The error says what is wrong with the file's form.
pub fn audit(bytes: &[u8], progress: &mut dyn FnMut(usize, usize)) -> Result<Report, String> {
    let document = read::document(bytes)?;
    let mut report = Report {
        document: format!("{} {} {}", document.identity.id, document.identity.revision, document.identity.title),
        space: document.space.is_some(),
        refusals: Vec::new(),
        sweeps: 0,
        planes: 0,
        models: document.models.iter().map(|m| (m.kind.clone(), m.name.clone(), m.digest.clone())).collect(),
        unplaced: BTreeSet::new(),
    };
    if steps(&document, &mut report)
        && let Some(space) = &document.space
    {
        match scene::Scene::new(&document, space) {
            Ok(scene) => sweeps(&scene, &mut report, progress),
            Err(faults) => faults.into_iter().for_each(|what| report.refuse(None, None, None, what)),
        }
    }
    Ok(report)
}

impl Report {
    fn refuse(&mut self, step: Option<&Step>, state: Option<usize>, pair: Option<(String, String)>, reason: impl Into<String>) {
        self.refusals.push(Refusal { step: step.map(|s| s.number.clone()), state, pair, reason: reason.into() });
    }
}

/// What needs no scene: limits, directions, the chain. Whether the states have the form they should.
fn steps(document: &Document, report: &mut Report) -> bool {
    let mut faults = Vec::new();
    for step in &document.steps {
        let (motions, states) = (step.act.motions(), || step.before.iter().chain(&step.after));
        let placed = |r: &read::Readout| r.low <= r.high && r.low >= -scene::WIDEST && r.high <= scene::WIDEST;
        let drives = motions.iter().all(|m| m.joint < document.joints.len()) && !matches!(motions, [a, b] if a.joint == b.joint);
        if !drives || motions.len() > 2 || states().any(|s| s.joints.len() != document.joints.len() || !s.joints.iter().all(placed)) {
            report.refuse(Some(step), None, None, "its states do not tell where every joint is, or its joints make no sense");
            return false;
        }
        motions.iter().for_each(|m| drive::motion(document, step, m, &mut faults));
        faults.drain(..).for_each(|what| report.refuse(Some(step), None, None, what));
        for (n, state) in step.before.iter().enumerate() {
            motions.iter().for_each(|m| drive::from(document, state, m, &mut faults));
            faults.drain(..).for_each(|what| report.refuse(Some(step), Some(n), None, what));
        }
    }
    let faults = flow::Flow::new(document).map_or_else(|faults| faults, |flow| flow.follow());
    faults.into_iter().for_each(|(step, state, what)| report.refuse(document.steps.get(step), state, None, what));
    true
}

/// Every motion from every state has a certificate, and it holds.
fn sweeps(scene: &scene::Scene<'_>, report: &mut Report, progress: &mut dyn FnMut(usize, usize)) {
    let document = scene.document;
    for (i, step) in document.steps.iter().enumerate() {
        progress(i, document.steps.len());
        let motions = step.act.motions();
        let due = if motions.is_empty() { 0 } else { step.before.len() };
        let mut has = vec![false; due];
        let unplaced = step.before.iter().flat_map(|s| &s.loads).filter(|(_, at)| at.is_none());
        report.unplaced.extend(unplaced.map(|(load, _)| load.clone()));
        for sweep in &step.sweeps {
            if has.get(sweep.state) != Some(&false) {
                report.refuse(Some(step), None, None, "it has a certificate for what it does not do, or two for one state");
                continue;
            }
            has[sweep.state] = true;
            let drives = motions.iter().map(|m| Drive::of(document, m, &step.before[sweep.state])).collect();
            let faults = sweep::check(scene, step, sweep, drives, &mut report.planes);
            report.sweeps += u64::from(faults.is_empty());
            let name = |i: usize| scene.space.bodies.get(i).map_or_else(|| format!("body {i}"), |b| b.name.clone());
            for (pair, what) in faults {
                report.refuse(Some(step), Some(sweep.state), pair.map(|(a, b)| (name(a), name(b))), what);
            }
        }
        for n in (0..due).filter(|n| !has[*n]) {
            report.refuse(Some(step), Some(n), None, "its motion has no certificate");
        }
    }
}
