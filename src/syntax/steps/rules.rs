//! What can be wrong with a step around its statement.

pub use crate::syntax::blocks::rules::{MISPLACED_ALERT, SHADOWED_STATEMENT, STRAY_LABEL, UNCLOSED_ANCHOR};

use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::syntax::error;

/// Every rule of this file.
pub static RULES: &[&Rule] = &[
    &RENUMBERED_STEP,
    &EMPTY_STEP,
    &MISPLACED_ANCHOR,
    &UNKNOWN_LABEL,
    &UNREADABLE_LINE,
    &STRAY_ARM,
    &UNREADABLE_ARM,
    &MISSING_ARM,
    &MISSING_BODY,
    &MISSING_WORDS,
    &STRAY_SUBSTEPS,
];

/// The source number is another than the printed one.
pub static RENUMBERED_STEP: Rule = Rule {
    severity: Severity::Warning,
    evidence: Evidence::CommonPractice,
    bad: &[
        Example::steps("1. `view window-2`\n⟦3⟧. `power on arm`\n4. `read joints`\n"),
        Example::steps("1. `view window-2`\n\n> [!NOTE]\n> The hatch is closed.\n\n⟦1⟧. `power on arm`\n"),
    ],
    good: &[Example::steps("1. `view window-2`\n\n> [!NOTE]\n> The hatch is closed.\n\n2. `power on arm`\n")],
    ..error(
        "renumbered-step",
        Family::Document,
        "a step's number in the source is not the number that will be printed",
        "People quote step numbers over the phone: one of them reads the file, the other the page.",
    )
};

/// Nothing in the item.
pub static EMPTY_STEP: Rule = Rule {
    bad: &[Example::steps("1. `view window-2`\n⟦2⟧.\n3. `power on arm`\n")],
    good: &[Example::steps("1. Look at the jaw.\n")],
    ..error(
        "empty-step",
        Family::Notation,
        "a numbered item says nothing",
        "An empty row on the page is a lost instruction until somebody finds out that it is not.",
    )
};

/// An anchor inside the words.
pub static MISPLACED_ANCHOR: Rule = Rule {
    bad: &[Example::steps("1. `view window-2` ⟦{#look}⟧ Look at the jaw.\n")],
    good: &[Example::steps("1. `view window-2` Look at the jaw. {#look}\n   - Watch: the jaw.\n")],
    ..error(
        "misplaced-anchor",
        Family::Notation,
        "an anchor does not stand at the end of the step's words",
        "In the middle it would be printed as words, or be lost.",
    )
};

/// A bullet whose label is not known.
pub static UNKNOWN_LABEL: Rule = Rule {
    bad: &[
        Example::steps("1. `view window-2`\n   - ⟦Wacth⟧: the jaw.\n"),
        Example::steps("1. `view window-2`\n   - ⟦proof⟧: the jaw is open.\n"),
        Example::steps("1. `view window-2`\n   - ⟦the jaw is open⟧\n"),
        Example::steps("1. `if` The lamp is lit.\n   - ⟦Then⟧\n     1. `read joints`\n   - otherwise: go on\n"),
        Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - ⟦otherwse⟧: go on\n"),
    ],
    good: &[Example::steps("1. `view window-2`\n   - Watch: the jaw.\n")],
    ..error(
        "unknown-label",
        Family::Notation,
        "a bullet under a step begins with none of the labels",
        "What a line is for decides where it is printed and whether it is checked; a misspelt label would turn a stop condition into small print.",
    )
};

/// A line whose label has a form that its words do not have.
pub static UNREADABLE_LINE: Rule = Rule {
    bad: &[
        Example::steps("1. `view window-2`\n   ⟦- Watch:⟧\n"),
        Example::steps("1. `view window-2`\n   - If not: ⟦carry on carefully⟧\n"),
        Example::steps(
            "1. `view window-2`\n   - If not: ⟦[a](#a) or [b](#b)⟧\n\n# A {.contingency #a}\n\n1. `expect pose home`\n\n# B {.contingency #b}\n\n1. `expect pose home`\n",
        ),
        Example::steps("1. `view window-2`\n   - Second person: ⟦Second operator, looks on⟧\n"),
        Example::steps("1. `view window-2`\n   - Touching allowed: ⟦jaw pads⟧\n"),
    ],
    good: &[
        Example::steps("1. `view window-2`\n   - If not: hold and tell the shift lead.\n"),
        Example::steps("1. `view window-2`\n   - If not: tell the shift lead and stay out.\n"),
        Example::steps(
            "1. `close on cartridge`\n   - Second person: Second operator, agree before the act that the pads sit below the rim.\n   - Touching allowed: jaw pads and cradle, jaw pads and cartridge.\n",
        ),
    ],
    ..error(
        "unreadable-line",
        Family::Notation,
        "a labelled line does not have the form of its label",
        "These lines decide what happens when something goes wrong, who must agree, and what may touch: they are checked, so they must be read.",
    )
};

/// An arm without its `if`.
pub static STRAY_ARM: Rule = Rule {
    bad: &[
        Example::steps("1. `view window-2`\n   - ⟦then⟧\n     1. `read joints`\n"),
        Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - otherwise: go on\n   - ⟦otherwise: go on⟧\n"),
    ],
    good: &[Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - otherwise: go on\n")],
    ..error(
        "stray-arm",
        Family::Flow,
        "`then` or `otherwise` stands where no `if` can take it",
        "Nobody could say under which condition these steps are done.",
    )
};

/// An arm with something else beside it.
pub static UNREADABLE_ARM: Rule = Rule {
    bad: &[
        Example::steps("1. `if` The lamp is lit.\n   - ⟦then: go back⟧\n     1. `read joints`\n   - otherwise: go on\n"),
        Example::steps("1. `if` The lamp is lit.\n   - ⟦then: go back⟧\n   - otherwise: go on\n"),
        Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - ⟦otherwise: stay⟧\n"),
        Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - otherwise: go on\n     ⟦1. `turnover`⟧\n"),
    ],
    good: &[Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - otherwise\n     1. `turnover`\n")],
    ..error(
        "unreadable-arm",
        Family::Flow,
        "an arm says something besides its steps",
        "An arm is its steps, or `go on`; words beside it would be printed and not done.",
    )
};

/// An `if` without one of its arms.
pub static MISSING_ARM: Rule = Rule {
    bad: &[
        Example::steps("1. ⟦`if`⟧ The lamp is lit.\n   - then\n     1. `read joints`\n"),
        Example::steps("1. ⟦`if`⟧ The lamp is lit.\n   - otherwise: go on\n"),
        Example::steps("1. `if` The lamp is lit.\n   - ⟦then⟧\n   - otherwise: go on\n"),
    ],
    good: &[Example::steps("1. `if` The lamp is lit.\n   - then\n     1. `read joints`\n   - otherwise: go on\n")],
    ..error(
        "missing-arm",
        Family::Flow,
        "an `if` lacks one of its arms or the steps of one",
        "What is done when the condition does not hold is said, not guessed: `otherwise: go on` says it.",
    )
};

/// A `repeat` without steps.
pub static MISSING_BODY: Rule = Rule {
    bad: &[Example::steps("1. ⟦`repeat at most 3 until`⟧ The lamp is lit.\n")],
    good: &[Example::steps("1. `repeat at most 3 until` The lamp is lit.\n   1. `read joints`\n")],
    ..error(
        "missing-body",
        Family::Flow,
        "a `repeat` has no steps under it",
        "There is nothing to repeat; most likely the indentation was lost.",
    )
};

/// A statement whose words carry its meaning, without words.
pub static MISSING_WORDS: Rule = Rule {
    bad: &[Example::steps("1. ⟦`check`⟧\n"), Example::steps("1. ⟦`repeat at most 3 until`⟧\n   1. `read joints`\n")],
    good: &[Example::steps("1. `check` The lamp is lit.\n")],
    ..error(
        "missing-words",
        Family::Notation,
        "the words that a statement needs after it are not there",
        "A check of nothing in particular is always passed.",
    )
};

/// Numbered items under a step that cannot have them.
pub static STRAY_SUBSTEPS: Rule = Rule {
    bad: &[Example::steps("1. `view window-2`\n   ⟦1. `read joints`⟧\n")],
    good: &[Example::steps("1. `repeat at most 2 until` The lamp is lit.\n   1. `read joints`\n")],
    ..error(
        "stray-substeps",
        Family::Flow,
        "numbered items stand under a step that has no steps of its own",
        "It cannot be told whether they are done after the step, as part of it, or only sometimes.",
    )
};
