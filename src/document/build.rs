//! A checked procedure and its trace to the typed blocks that are printed.
//!
//! Invariant: every number printed here is one the rules judged; the words "checked" and "not checked" come from
//! the proofs that ran. Only [`build`] gives a status above a draft, and it needs a [`Checked`] value; templates take
//! nothing but an [`Instruction`], so no other content can be printed under that status.

mod accepted;
mod after;
mod body;
mod card;
mod chart;
mod code;
mod contents;
mod edition;
mod evidence;
mod figure;
mod front;
mod inline;
mod package;
mod place;
mod plan;
mod review;
mod sheet;
mod situation;
mod sketch;
mod step;
mod told;
mod training;
mod travel;

pub use card::card;
pub use edition::Edition;
pub use figure::{Figures, figure};

use super::figure::square;
use super::{Code, Document, Issue, PowerLost, Stamp, Status, revision, wording};
use crate::compiled::{Check, Compiled, Gap, Saying};
use crate::diag::{Diagnostic, Severity};
use crate::model::Standing;
use crate::model::procedure::{Procedure, Step};
use crate::proof::{Accepted, Checked, Examined};
use crate::space::Survey;
use crate::text::Files;
use crate::trace::{FrameId, Trace};
use crate::words::{Unsaid, Words, ids};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::sync::Arc;

/// What a document is built from besides the procedure.
#[derive(Debug)]
pub struct Sources<'a> {
    /// Every file of the run: the words of a procedure are spans of them.
    pub files: &'a Files,
    /// What identifies the content.
    pub digests: Digests,
    /// Which steps are drawn.
    pub figures: Figures,
    /// For whom it is made.
    pub edition: Edition,
    /// An earlier revision: what differs from it is marked and listed.
    pub since: Option<&'a Document>,
    /// The compiled form, for the tables that are printed from it; none where they are not wanted.
    pub compiled: Option<&'a Compiled>,
    /// The words of the print.
    pub words: &'a Words,
}

impl<'a> Sources<'a> {
    /// The edition for the console in English, without digests, held against nothing earlier.
    pub fn of(files: &'a Files) -> Sources<'a> {
        Sources {
            files,
            digests: Digests::default(),
            figures: Figures::default(),
            edition: Edition::default(),
            since: None,
            compiled: None,
            words: Words::english(),
        }
    }
}

/// Digests as hexadecimal digits.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Digests {
    /// Over sources, models, policy, templates, fonts and the tool's version.
    pub content: String,
    /// Of the arm's file.
    pub arm: String,
    /// Of the cell's file.
    pub cell: String,
    /// Of the policy's file.
    pub policy: String,
}

/// A work instruction with the status it has earned. Content and status cannot be parted or exchanged.
#[derive(Debug)]
pub struct Instruction {
    document: Document,
    stamp: Stamp,
    unsaid: Vec<Unsaid>,
}

impl Instruction {
    /// Any content as a draft, for trying templates out.
    pub fn draft(document: Document, errors: usize, standing: Standing, words: &Words) -> Instruction {
        Instruction { document, stamp: Stamp::new(Status::Draft { errors }, standing, Edition::Operator, words), unsaid: Vec::new() }
    }
    /// The same for one copy.
    #[must_use]
    pub fn issued(mut self, issue: Issue) -> Instruction {
        self.stamp.issue = issue;
        self
    }
    /// The content alone, without the status it has earned.
    pub fn into_document(self) -> Document {
        self.document
    }
    /// The content.
    pub fn document(&self) -> &Document {
        &self.document
    }
    /// What is laid over it.
    pub fn stamp(&self) -> &Stamp {
        &self.stamp
    }
    /// Sentences that could not be said. While there is one, nothing is printed.
    pub fn unsaid(&self) -> &[Unsaid] {
        &self.unsaid
    }
}

/// A trace and what is to be said about it.
struct Basis<'a> {
    procedure: &'a Procedure,
    trace: &'a Trace,
    survey: &'a Survey,
    sources: &'a Sources<'a>,
    covered: Vec<Check>,
    gaps: Vec<Gap>,
    findings: &'a [Diagnostic],
    accepted: &'a Accepted,
    not_issuable: &'a [String],
    unsaid: RefCell<Vec<Unsaid>>,
}

impl<'a> Basis<'a> {
    fn examined(examined: &'a Examined, sources: &'a Sources<'a>) -> Basis<'a> {
        let (covered, gaps) = examined.listed();
        Basis {
            procedure: &examined.procedure,
            trace: &examined.trace,
            survey: &examined.survey,
            sources,
            covered,
            gaps,
            findings: &examined.findings,
            accepted: &examined.accepted,
            not_issuable: examined.checked.as_ref().map_or(&[], |c| &c.not_issuable),
            unsaid: RefCell::default(),
        }
    }
}

impl Basis<'_> {
    /// The words of the print.
    fn words(&self) -> &Words {
        self.sources.words
    }

    /// A sentence by its id; none where there is none. That a value is not given for it is noted, and nothing is printed then.
    fn by_id(&self, id: &str, values: &[(&str, &str)]) -> Option<String> {
        match self.words().by_id(id, values) {
            Err(unsaid @ Unsaid::NoValue { .. }) => {
                self.unsaid.borrow_mut().push(unsaid);
                None
            }
            said => said.ok(),
        }
    }

    /// Words or a sentence of the data. What cannot be said is noted, and nothing is printed then.
    fn saying(&self, saying: &Saying) -> String {
        wording::saying(saying, self.words()).unwrap_or_else(|unsaid| {
            self.unsaid.borrow_mut().push(unsaid);
            String::new()
        })
    }

    /// "step 12"
    fn step_named(&self, number: &str) -> String {
        self.words().fill(ids::STEP_NAME, [number])
    }

    /// The steps of an expansion.
    fn steps(&self, frame: FrameId) -> impl Iterator<Item = &Step> {
        let p = self.trace.procedure_of(self.procedure, frame);
        self.trace.rows_of(frame).map(move |row| p.step(self.trace.step_of(row).1))
    }

    /// How many findings of a severity stand.
    fn found(&self, severity: Severity) -> usize {
        self.findings.iter().filter(|f| f.severity == severity).count()
    }

    fn instruction(&self, status: Status) -> Instruction {
        let mut body = body::Body::new(self);
        let mut blocks = body.all();
        let sheets = sheet::mark(&mut blocks, self.procedure.policy.data_sheets, self.words());
        let codes = code::mark(&mut blocks, self.sources.edition);
        let (front, record) = (self.front(&body), self.record(&body, &codes));
        let power =
            (!body.joints.is_empty()).then(|| PowerLost { item: "power", lines: wording::power_lost(self.procedure, self.words()) });
        let qr = Code { item: "qr", drawing: Arc::new(square(&self.qr_words(), self.words())) };
        let mut document = Document {
            identity: self.identity(),
            front,
            qr,
            contents: None,
            changes: None,
            record,
            training: self.training(&mut blocks),
            plan: self.sources.edition.is_taught().then(|| self.plan()).flatten(),
            console: self.console(),
            start: self.start(),
            power,
            after: (!body.joints.is_empty()).then(|| self.after(&body.passed)),
            blocks,
            sheets,
            package: self.package(),
            summary: self.summary(),
            review: self.review(),
            surveyed: self.survey.lack().is_none(),
            changed: BTreeSet::new(),
        };
        if let Some(earlier) = self.sources.since {
            revision::mark(&mut document, earlier, self.words());
        }
        document.contents = contents::contents(&document, self);
        let stamp = Stamp::new(status, standing(self.procedure), self.sources.edition, self.words());
        Instruction { document, stamp, unsaid: self.unsaid.take() }
    }
}

/// The worse of the standings of arm and cell.
fn standing(p: &Procedure) -> Standing {
    match (p.arm.standing, p.cell.standing) {
        (Standing::Invented, _) | (_, Standing::Invented) => Standing::Invented,
        (Standing::Unaccepted, _) | (_, Standing::Unaccepted) => Standing::Unaccepted,
        (Standing::Accepted, Standing::Accepted) => Standing::Accepted,
    }
}

/// The work instruction of a checked procedure.
pub fn build(checked: &Checked, sources: &Sources<'_>) -> Instruction {
    let (covered, gaps) = checked.listed();
    let basis = Basis {
        procedure: &checked.procedure,
        trace: &checked.trace,
        survey: &checked.survey,
        sources,
        covered,
        gaps,
        findings: &checked.findings,
        accepted: &checked.accepted,
        not_issuable: &checked.not_issuable,
        unsaid: RefCell::default(),
    };
    basis.instruction(Status::CheckedNotApproved)
}

/// The same content whether or not errors stand, marked as a draft on every page.
pub fn draft(examined: &Examined, sources: &Sources<'_>) -> Instruction {
    let basis = Basis::examined(examined, sources);
    let errors = basis.found(Severity::Error);
    basis.instruction(Status::Draft { errors })
}
