//! Rules over the files of a project: what a procedure names and cannot have.

use crate::diag::{Evidence, Example, Family, Rule, Severity};

/// Every rule of this floor.
pub static OWN: &[&Rule] = &[&MISSING_FILE, &UNUSABLE_PATH, &BYTE_ORDER_MARK];

/// The name examples are stored under, for those that name themselves.
pub const EXAMPLE_NAME: &str = "example.md";

/// A procedure that performs a section of its own.
const GOOD: &[Example] = &[Example::steps("1. `perform` [the lift](#lift)\n\n# Lift {#lift .on-call}\n\n1. `read joints`\n")];

/// The front matter of a procedure without steps, over an arm.
macro_rules! front_matter {
    ($arm:literal) => {
        concat!(
            "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = ",
            $arm,
            "\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n"
        )
    };
}

const fn rule(id: &'static str, family: Family, severity: Severity) -> Rule {
    Rule { id, family, severity, physical: false, summary: "", why: "", evidence: Evidence::Definition, bad: &[], good: &[] }
}

/// A file that is named does not exist.
pub static MISSING_FILE: Rule = Rule {
    summary: "a file that the procedure or a model names does not exist",
    why: "Without the arm profile, the cell or the policy nothing can be checked against it, and a shape without its mesh file is not there for \
          anything to keep away from. What was not checked is not printed.",
    bad: &[Example::procedure(front_matter!("⟦\"lost.toml\"⟧"))],
    good: GOOD,
    ..rule("missing-file", Family::Reference, Severity::Error)
};

/// A path that may not be followed.
pub static UNUSABLE_PATH: Rule = Rule {
    summary: "a path leads out of the project or means different things on different machines",
    why: "A procedure is checked, approved and archived together with the files it names. A path that leaves the project, or that only one machine \
          understands, names something that nobody can archive.",
    bad: &[
        Example::steps("1. `perform` [elsewhere](⟦../../elsewhere.md⟧)\n"),
        Example::steps("1. `perform` [elsewhere](⟦/etc/elsewhere.md⟧)\n"),
    ],
    good: GOOD,
    ..rule("unusable-path", Family::Reference, Severity::Error)
};

/// A byte order mark was taken off.
pub static BYTE_ORDER_MARK: Rule = Rule {
    summary: "the file begins with a byte order mark",
    why: "The mark is invisible, is not text, and makes other tools fail to see the front matter. It was left out when reading.",
    bad: &[Example::procedure(concat!("\u{feff}⟦⟧", front_matter!("\"arm.toml\"")))],
    good: &[Example::procedure(front_matter!("\"arm.toml\""))],
    ..rule("byte-order-mark", Family::File, Severity::Advice)
};
