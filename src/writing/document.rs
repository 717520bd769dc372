//! The document as a whole: its sections, what it declares, its waivers.

use super::{Found, rule};
use crate::diag::{Evidence, Example, ExampleFile, Family, Rule, Severity};
use crate::model::procedure::SectionKind;

/// A section that the policy wants.
pub static MISSING_SECTION: Rule = rule(
    "missing-section",
    Family::Document,
    Severity::Error,
    "a section that the policy wants is missing or out of order",
    "Every procedure of a site has the same parts in the same order, so that what is not there is noticed.",
    Evidence::CommonPractice,
    // It takes another policy to show, so `tests/lower.rs` has its example.
    (&[], &[]),
);
/// A procedure without steps.
pub static NO_STEPS: Rule = rule(
    "no-steps",
    Family::Document,
    Severity::Error,
    "the procedure has no steps to perform",
    "A procedure is its steps. Items of an ordered list are steps; bullets and paragraphs are not.",
    Evidence::Definition,
    (&[Example::steps("⟦# Work⟧\n\n- look round\n")], &[Example::steps("# Work\n\n1. Look round the cell through window 1.\n")]),
);
/// A waiver that is over.
pub static EXPIRED_WAIVER: Rule = rule(
    "expired-waiver",
    Family::Document,
    Severity::Error,
    "a waiver has expired before the date of the document",
    "A waiver accepts a finding for a time. After it the finding stands again.",
    Evidence::Definition,
    (
        &[Example {
            file: ExampleFile::Procedure,
            replace: "",
            text: "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n[[waiver]]\nrule = \"open-wait\"\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = ⟦\"2026-11-19\"⟧\n+++\n\n# Work\n\n1. `turnover`\n",
        }],
        &[Example {
            file: ExampleFile::Procedure,
            replace: "",
            text: "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n[[waiver]]\nrule = \"open-wait\"\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = \"2026-11-20\"\n+++\n\n# Work\n\n1. `turnover`\n",
        }],
    ),
);
/// A waiver for a step that is not there.
pub static WAIVER_WITHOUT_STEP: Rule = rule(
    "waiver-without-step",
    Family::Document,
    Severity::Error,
    "a waiver names a step that does not exist",
    "A waiver belongs to one step, by its anchor. When the step is gone the waiver goes too.",
    Evidence::Definition,
    (
        &[Example {
            file: ExampleFile::Procedure,
            replace: "",
            text: "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n[[waiver]]\nrule = \"open-wait\"\nstep = ⟦\"bath\"⟧\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = \"2027-11-19\"\n+++\n\n# Work\n\n1. `turnover`\n",
        }],
        &[Example {
            file: ExampleFile::Procedure,
            replace: "",
            text: "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n[[waiver]]\nrule = \"open-wait\"\nstep = \"bath\"\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = \"2027-11-19\"\n+++\n\n# Work\n\n1. `turnover` {#bath}\n",
        }],
    ),
);

/// A revision that nobody described.
pub static UNRECORDED_REVISION: Rule = rule(
    "unrecorded-revision",
    Family::Document,
    Severity::Error,
    "the revision is not the first, and the record of changes does not say what it changed",
    "Who knows the last revision looks for what is new. Without a record they find it at the console, or not at all.",
    Evidence::Read("MIL-STD-2106A A.2.1.2.2e: every change is described in the record of revisions"),
    (
        &[Example::procedure(
            "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = ⟦\"B\"⟧\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n\n# Work\n\n1. `turnover`\n",
        )],
        &[Example::procedure(
            "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"B\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n[[change]]\nrevision = \"B\"\ndate = \"2026-11-20\"\ntext = \"The jaw opens wider.\"\n+++\n\n# Work\n\n1. `turnover`\n",
        )],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&MISSING_SECTION, &NO_STEPS, &EXPIRED_WAIVER, &WAIVER_WITHOUT_STEP, &UNRECORDED_REVISION];

pub(super) fn check(found: &mut Found<'_>) {
    sections(found);
    revision(found);
    steps(found);
    waivers(found);
}

/// Marks of a first revision.
const FIRST: [&str; 8] = ["A", "0", "00", "1", "01", "0.1", "1.0", "-"];

fn revision(found: &mut Found<'_>) {
    let front = &found.procedure.front;
    let Some(revision) = front.revision.as_ref().filter(|r| !FIRST.contains(&r.value.as_str())) else { return };
    if front.changes.iter().all(|c| c.revision.value != revision.value) {
        let problem = UNRECORDED_REVISION.at(revision.span, format!("no `[[change]]` says what revision {} changed", revision.value));
        found.push(problem.help("add a `[[change]]` with revision, date and what changed and why"));
    }
}

fn sections(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let place = procedure.front.span.unwrap_or(procedure.sections.first().map_or(crate::text::Span::new(procedure.file, 0, 0), |s| s.span));
    let title = |i: usize| procedure.sections[i].title.span.of(found.text).trim();
    let mut problems = Vec::new();
    let mut last: Option<usize> = None;
    for wanted in &procedure.policy.sections {
        let Some(at) = (0..procedure.sections.len()).find(|i| title(*i).eq_ignore_ascii_case(&wanted.value)) else {
            let problem = MISSING_SECTION.at(place, format!("the site wants a section `{}`; this procedure has none", wanted.value));
            problems.push(problem.label(wanted.span, "wanted here").help(format!("write a heading `# {}`", wanted.value)));
            continue;
        };
        match last {
            Some(before) if at < before => {
                let message = format!("the section `{}` stands before `{}`; the site wants it after", title(at), title(before));
                let problem = MISSING_SECTION.at(procedure.sections[at].span, message).label(wanted.span, "the order the site wants");
                problems.push(problem.label(procedure.sections[before].span, "to stand before it"));
            }
            _ => last = Some(at),
        }
    }
    found.list.append(&mut problems);
}

fn steps(found: &mut Found<'_>) {
    let procedure = found.procedure;
    let performed = procedure.sections.iter().filter(|s| s.kind == SectionKind::Ordinary).any(|s| super::top(s).next().is_some());
    if !performed {
        let heading = procedure.sections.iter().find(|s| s.level > 0 && s.kind == SectionKind::Ordinary);
        let place = heading.map(|s| s.span).or(procedure.front.span).unwrap_or(crate::text::Span::new(procedure.file, 0, 0));
        found.push(
            NO_STEPS
                .at(place, "there is no step to perform")
                .help("write each step as an item of an ordered list: `1.` and a statement or an instruction"),
        );
    }
}

fn waivers(found: &mut Found<'_>) {
    let procedure = found.procedure;
    for waiver in &procedure.front.waivers {
        // Dates are written year first, so the order of their letters is the order of time.
        if let Some(date) = procedure.front.date.as_ref().filter(|d| d.value > waiver.expires.value) {
            let message =
                format!("this waiver of `{}` ended on {}; the document is dated {}", waiver.rule.value, waiver.expires.value, date.value);
            found.push(
                EXPIRED_WAIVER
                    .at(waiver.expires.span, message)
                    .label(date.span, "the document's date")
                    .help("mend the finding, or have the waiver renewed"),
            );
        }
        if let Some(step) = &waiver.step
            && !procedure.steps.iter().any(|s| s.anchor.as_ref().is_some_and(|a| a.value == step.value))
        {
            let message = format!("no step has the anchor `{}`", step.value.escape_debug());
            found.push(
                WAIVER_WITHOUT_STEP.at(step.span, message).help("write the anchor at the step that is meant, or take the waiver out"),
            );
        }
    }
}
