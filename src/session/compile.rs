//! One procedure from its path to its findings: sources, models, callees, lowering, proof.
//!
//! Invariant: the same project gives the same findings in the same order, on any number of threads.

use super::rules::{BYTE_ORDER_MARK, MISSING_FILE, UNUSABLE_PATH};
use super::source::{Location, Source};
use super::world::{Inside, Kind};
use super::{Loaded, RULES, Session, Shared, Unit};
use crate::diag::{Diagnostic, suggest};
use crate::error::Error;
use crate::model::arm::Arm;
use crate::model::cell::Cell;
use crate::model::lower::{PERFORM_CYCLE, UNKNOWN_PROCEDURE};
use crate::model::policy::Policy;
use crate::model::procedure::{DEEPEST_PERFORM, Procedure};
use crate::model::{self, ModelFile};
use crate::proof::{self, Examined};
use crate::text::{FileId, Files, Span, Spanned};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Procedures that may take part in one printed procedure.
const MOST_FILES: usize = 64;
/// Source bytes of one procedure with every `perform` written out.
const MOST_EXPANDED: u64 = 16 * 1024 * 1024;

/// A procedure taken as far as it goes.
#[derive(Debug)]
pub struct Compilation {
    /// The procedure's file.
    pub file: FileId,
    /// Everything found, in the procedure itself first, then by file and place.
    pub findings: Vec<Diagnostic>,
    /// What proof made of it; `None` if the models could not be read.
    pub examined: Option<Examined>,
    /// Every file that took part, by its place in the project.
    pub sources: Vec<Source>,
}

/// A procedure with what it costs written out.
#[derive(Clone)]
struct Lowered {
    procedure: Option<Arc<Procedure>>,
    expanded: u64,
}

/// The models of a procedure.
struct Models {
    arm: Arc<Arm>,
    cell: Arc<Cell>,
    policy: Arc<Policy>,
}

struct Run<'s, 'w> {
    session: &'s Session<'w>,
    location: &'s Location,
    /// The procedures being lowered, outermost first.
    stack: Vec<Inside>,
    done: BTreeMap<Inside, Lowered>,
    problems: Vec<Diagnostic>,
    sources: Vec<Source>,
    /// The first failure inside a callback; ends the run.
    failed: Option<Error>,
}

pub(super) fn compile(session: &Session<'_>, location: &Location, unit: &Unit) -> Result<Compilation, Error> {
    let mut run =
        Run { session, location, stack: Vec::new(), done: BTreeMap::new(), problems: Vec::new(), sources: Vec::new(), failed: None };
    let lowered = run.lower(&location.inside, unit)?;
    let Run { problems, mut sources, .. } = run;
    let file = unit.source.file;
    let (mut findings, examined) = match lowered.procedure {
        Some(procedure) => {
            let examined = proof::examine(procedure, &session.files, &RULES, problems);
            (examined.findings.to_vec(), Some(examined))
        }
        None => (problems, None),
    };
    arrange(&mut findings, file, &session.files);
    sources.sort_by(|a, b| a.inside.cmp(&b.inside));
    sources.dedup();
    Ok(Compilation { file, findings, examined, sources })
}

/// Own file first, then by file name and place; equal findings once.
pub(super) fn arrange(findings: &mut Vec<Diagnostic>, own: FileId, files: &Files) {
    findings.sort_by_cached_key(|d| {
        let elsewhere = d.span.file != own;
        (
            elsewhere,
            if elsewhere { files.get(d.span.file).name.clone() } else { String::new() },
            d.span.start,
            d.span.end,
            d.rule.id,
            d.path.clone(),
        )
    });
    findings.dedup();
}

impl Run<'_, '_> {
    fn lower(&mut self, inside: &Inside, unit: &Unit) -> Result<Lowered, Error> {
        self.sources.push(Source::clone(&unit.source));
        self.problems.extend(unit.parsed.problems.iter().cloned());
        if unit.source.marked {
            let start = Span::new(unit.source.file, 0, 0);
            self.problems.push(BYTE_ORDER_MARK.at(start, "the byte order mark in front was left out; save the file without it"));
        }
        let mut lowered = Lowered { procedure: None, expanded: unit.file.text.len() as u64 };
        let Some(models) = self.models(inside, unit)? else { return Ok(lowered) };
        self.stack.push(inside.clone());
        let mut expanded = lowered.expanded;
        let (procedure, problems) =
            model::lower::lower(&unit.parsed, &unit.file.text, models.arm, models.cell, models.policy, &mut |written, span| {
                if self.failed.is_some() {
                    return None;
                }
                match self.callee(inside, written, span) {
                    Ok(callee) => {
                        expanded = expanded.saturating_add(callee.expanded);
                        callee.procedure
                    }
                    Err(error) => {
                        self.failed = Some(error);
                        None
                    }
                }
            });
        self.stack.pop();
        if let Some(error) = self.failed.take() {
            return Err(error);
        }
        if expanded > MOST_EXPANDED {
            return Err(
                self.limit(inside, format!("with every perform written out the procedure has more than {} MiB", MOST_EXPANDED >> 20))
            );
        }
        // Where a path or a circle is the reason, that was said already and says more.
        let said = |p: &Diagnostic| p.rule == &UNKNOWN_PROCEDURE && self.problems.iter().any(|own| own.span == p.span);
        let problems: Vec<_> = problems.into_iter().filter(|p| !said(p)).collect();
        self.problems.extend(problems);
        lowered.procedure = Some(Arc::new(procedure));
        lowered.expanded = expanded;
        Ok(lowered)
    }

    /// Another procedure, named at `span` in the file `from`.
    fn callee(&mut self, from: &Inside, written: &str, span: Span) -> Result<Lowered, Error> {
        let nothing = Lowered { procedure: None, expanded: 0 };
        let Some(inside) = self.follow(from, written, span).filter(|i| self.session.exists(self.location, i)) else { return Ok(nothing) };
        if let Some(at) = self.stack.iter().position(|s| *s == inside) {
            let chain = self.stack[at..].iter().chain([&inside]).map(|i| self.location.shown(i)).collect::<Vec<_>>().join(" -> ");
            let finding = PERFORM_CYCLE.at(span, format!("this procedure comes to perform itself: {chain}")).mark("closes the circle");
            self.problems.push(finding.help("let one of them end instead, or bring the common steps into a section {.on-call}"));
            return Ok(nothing);
        }
        if let Some(done) = self.done.get(&inside) {
            return Ok(done.clone());
        }
        if self.stack.len() > DEEPEST_PERFORM {
            return Err(self.limit(from, format!("procedures perform procedures more than {DEEPEST_PERFORM} deep")));
        }
        if self.done.len() + self.stack.len() >= MOST_FILES {
            return Err(self.limit(from, format!("more than {MOST_FILES} procedures take part")));
        }
        let unit = self.session.unit(self.location, &inside, None)?;
        let lowered = self.lower(&inside, &unit)?;
        self.done.insert(inside, lowered.clone());
        Ok(lowered)
    }

    fn limit(&self, inside: &Inside, what: String) -> Error {
        Error::Limit { place: self.location.shown(inside), what }
    }

    /// The three models, or `None` where the arm or the policy could not be had; that is then reported.
    fn models(&mut self, inside: &Inside, unit: &Unit) -> Result<Option<Models>, Error> {
        let Some(front) = &unit.parsed.front else { return Ok(None) };
        let session = self.session;
        let arm = match &front.arm {
            Some(written) => self.model(&session.arms, inside, written)?,
            None => None,
        };
        let cell = match &front.cell {
            Some(written) => self.model(&session.cells, inside, written)?,
            None => Some(session.no_cell.clone()),
        };
        let policy = match &front.policy {
            Some(written) => self.model(&session.policies, inside, written)?,
            None => None,
        };
        let (Some(arm), Some(cell), Some(policy)) = (arm, cell, policy) else { return Ok(None) };
        if front.cell.is_some() {
            self.problems.extend(model::agree(&arm, &cell, &policy));
        }
        Ok(Some(Models { arm, cell, policy }))
    }

    fn model<T: ModelFile>(
        &mut self,
        cache: &Shared<Option<Loaded<T>>>,
        from: &Inside,
        written: &Spanned<String>,
    ) -> Result<Option<Arc<T>>, Error> {
        let Some(inside) = self.follow(from, &written.value, written.span) else { return Ok(None) };
        let loaded = self.session.model(cache, self.location, &inside)?;
        let Some(loaded) = &*loaded else {
            self.problems.push(missing(self.session, self.location, &inside, written.span));
            return Ok(None);
        };
        self.sources.extend(loaded.sources.iter().cloned());
        self.problems.extend(loaded.problems.iter().cloned());
        Ok(loaded.value.clone())
    }

    /// The file that a path written in `from` means, if it may be followed.
    fn follow(&mut self, from: &Inside, written: &str, span: Span) -> Option<Inside> {
        match from.folder().join(written) {
            Ok(inside) => Some(inside),
            Err(why) => {
                self.problems.push(UNUSABLE_PATH.at(span, format!("`{}` cannot be followed: {why}", written.escape_debug())));
                None
            }
        }
    }
}

/// The finding for a file that is named at `span` and is not there.
pub(super) fn missing(session: &Session<'_>, location: &Location, inside: &Inside, span: Span) -> Diagnostic {
    let finding = MISSING_FILE.at(span, format!("there is no file {}", location.shown(inside)));
    let folder = session.world.list(&location.full(&inside.folder())).unwrap_or_default();
    let name = inside.as_str().rsplit('/').next().unwrap_or_default();
    match suggest(name, folder.iter().filter(|(_, k)| *k == Kind::File).map(|(n, _)| n.as_str())) {
        Some(near) => finding.help(format!("there is a file {near} in that folder")),
        None => finding.help("paths are relative to the folder of the file they stand in"),
    }
}
