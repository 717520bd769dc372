//! Runs a small input through reading, lowering and tracing.

use std::sync::Arc;
use surehand::diag::Diagnostic;
use surehand::model::procedure::Procedure;
use surehand::model::{self, EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::proof::{self, Examined};
use surehand::syntax::{self, front};
use surehand::text::{File, FileId, Files};
use surehand::trace::{self, Trace};
use surehand::writing;

/// The standard front matter, open for more.
#[allow(dead_code, reason = "not every test that shares this file writes front matter")]
pub const START: &str = "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n";

/// A procedure and its models as text; files 0 arm, 1 cell, 2 policy, 3 procedure, 4 another procedure that it may perform.
pub struct Case {
    pub texts: [String; 5],
}

impl Case {
    /// Steps under the standard front matter.
    #[allow(dead_code, reason = "not every test that shares this file leaves the front matter as it is")]
    pub fn steps(steps: &str) -> Case {
        Case::procedure(&format!("{}\n{steps}", front::EXAMPLE))
    }
    /// A whole procedure.
    pub fn procedure(text: &str) -> Case {
        Case::new([EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY, text, ""])
    }
    /// With another procedure, called `other.md`.
    #[allow(dead_code, reason = "not every test that shares this file performs another procedure")]
    pub fn performing(mut self, other: &str) -> Case {
        self.texts[4] = other.to_string();
        self
    }
    /// With a piece of a model file changed.
    #[allow(dead_code, reason = "not every test that shares this file changes a model")]
    pub fn patched(mut self, file: usize, old: &str, new: &str) -> Case {
        assert_eq!(self.texts[file].matches(old).count(), 1, "must stand once in the fixture: {old}");
        self.texts[file] = self.texts[file].replace(old, new);
        self
    }
    fn new(texts: [&str; 5]) -> Case {
        Case { texts: texts.map(str::to_string) }
    }
}

/// The procedure of a case, and what was found while it was made.
pub fn procedure(case: &Case) -> (Procedure, Vec<Diagnostic>) {
    let [arm, cell, policy, text, other] = &case.texts;
    let mut found = Vec::new();
    let (arm, more) = model::arm::load(FileId(0), arm);
    found.extend(more);
    let (cell, more) = model::cell::load(FileId(1), cell);
    found.extend(more);
    let (policy, more) = model::policy::load(FileId(2), policy);
    found.extend(more);
    let (Some(arm), Some(cell), Some(policy)) = (arm, cell, policy) else { panic!("models do not load: {found:#?}") };
    let (arm, cell, policy) = (Arc::new(arm), Arc::new(cell), Arc::new(policy));
    let parsed = syntax::parse(FileId(3), text);
    found.extend(parsed.problems.iter().cloned());
    let mut inner = Vec::new();
    let (p, more) = model::lower::lower(&parsed, text, arm.clone(), cell.clone(), policy.clone(), &mut |path, _| {
        (path == "other.md").then(|| {
            let parsed = syntax::parse(FileId(4), other);
            let (p, more) = model::lower::lower(&parsed, other, arm.clone(), cell.clone(), policy.clone(), &mut |_, _| None);
            inner.extend(parsed.problems.iter().cloned());
            inner.extend(more);
            Arc::new(p)
        })
    });
    found.extend(more);
    found.extend(inner);
    (p, found)
}

/// A case taken through the whole judgement.
#[allow(dead_code, reason = "not every test that shares this file goes that far")]
pub fn examine(case: &Case) -> (Examined, Files) {
    let files = Files::default();
    for (name, text) in ["arm.toml", "cell.toml", "policy.toml", "procedure.md", "other.md"].into_iter().zip(&case.texts) {
        files.add(File::new(name, text.clone()));
    }
    let (p, found) = procedure(case);
    let rules = [syntax::RULES, model::RULES, trace::RULES, writing::RULES, proof::RULES].concat();
    (proof::examine(Arc::new(p), &files, &rules, found), files)
}

/// Everything found in a case.
#[allow(dead_code, reason = "not every test that shares this file stops there")]
pub fn run(case: &Case) -> Vec<Diagnostic> {
    let (p, mut found) = procedure(case);
    let t = trace::trace(&p);
    found.extend(trace::check(&p, &t));
    found
}

/// The procedure and its trace; panics if reading or lowering found anything.
#[allow(dead_code, reason = "not every test that shares this file looks at a trace")]
pub fn traced(case: &Case) -> (Procedure, Trace) {
    let (p, found) = procedure(case);
    assert!(found.is_empty(), "{found:#?}");
    let t = trace::trace(&p);
    (p, t)
}
