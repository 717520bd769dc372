//! What can be wrong inside a statement.

use crate::diag::{Example, Family, Rule};
use crate::syntax::error;

/// Every rule of this file.
pub static RULES: &[&Rule] =
    &[&UNKNOWN_STATEMENT, &UNREADABLE_STATEMENT, &MISSING_UNIT, &WRONG_UNIT, &BAD_NUMBER, &SIGNED_AMOUNT, &ENTITY_IN_STATEMENT];

/// No production starts like this.
pub static UNKNOWN_STATEMENT: Rule = Rule {
    bad: &[
        Example::steps("1. `⟦hodl point⟧: Radiation protection`\n"),
        Example::steps("1. `⟦rotate 20⟧`\n"),
        Example::steps("1. `⟦wait 30⟧ s`\n"),
        Example::steps("1. `⟦power onn⟧ arm`\n"),
        Example::steps("1. `⟦Jaw⟧ open to 120 mm`\n"),
        Example::steps("1. `⟦ ⟧` Look at the jaw.\n"),
    ],
    good: &[Example::steps("1. `hold point: Radiation protection`\n"), Example::steps("1. Rotate the handle.\n")],
    ..error(
        "unknown-statement",
        Family::Notation,
        "a code span at the start of a step is no statement of the notation",
        "A step that is not understood cannot be checked, and everything after it would be checked from a wrong state.",
    )
};

/// A production that was begun and left.
pub static UNREADABLE_STATEMENT: Rule = Rule {
    bad: &[
        Example::steps("1. `base left ⟦42⟧ deg`\n"),
        Example::steps("1. `base left ⟦to⟧`\n"),
        Example::steps("1. `base left to +42 deg ⟦quickly⟧`\n"),
        Example::steps("1. `check ⟦the⟧ lamp`\n"),
        Example::steps("1. `view window ⟦1⟧`\n"),
        Example::steps("1. `base left by 5 ⟦deg⟧`\n"),
        Example::steps("1. `shoulder lower until ⟦contact⟧`\n"),
    ],
    good: &[Example::steps("1. `base left to +42 deg slow`\n"), Example::steps("1. `shoulder lower until contact, not past -12 deg`\n")],
    ..error(
        "unreadable-statement",
        Family::Notation,
        "a statement breaks off or goes on in a way the notation does not have",
        "Half a statement says half of what the arm is to do; nothing is guessed.",
    )
};

/// A number without its unit.
pub static MISSING_UNIT: Rule = Rule {
    bad: &[
        Example::steps("1. `base left to ⟦+42⟧`\n"),
        Example::steps("1. `base left to ⟦+42⟧ within 0.5 deg`\n"),
        Example::steps("1. `jaw open to ⟦120⟧`\n"),
        Example::steps("1. `read dose-rate between ⟦10⟧ and 50 uSv/h on RM-2`\n"),
    ],
    good: &[Example::steps("1. `base left to +42 deg`\n")],
    ..error(
        "missing-unit",
        Family::Notation,
        "a number is written without its unit",
        "Every quantity carries its unit, at both ends of a range: the page is read by people who also work in other units.",
    )
};

/// A unit that does not fit.
pub static WRONG_UNIT: Rule = Rule {
    bad: &[
        Example::steps("1. `base left to +42 ⟦mm⟧`\n"),
        Example::steps("1. `base left to +0.5 ⟦rad⟧`\n"),
        Example::steps("1. `base left to +42 ⟦degrees⟧`\n"),
        Example::steps("1. `record oil-temperature ⟦hot⟧`\n"),
    ],
    good: &[Example::steps("1. `record oil-temperature degC`\n")],
    ..error(
        "wrong-unit",
        Family::Notation,
        "a unit is not known, or does not measure what is asked for",
        "Angles in a procedure are in degrees because the read-outs are; a conversion at the console is a slip waiting to happen.",
    )
};

/// A number outside the number production.
pub static BAD_NUMBER: Rule = Rule {
    bad: &[
        Example::steps("1. `base left to ⟦+045⟧ deg`\n"),
        Example::steps("1. `base left to ⟦1e3⟧ deg`\n"),
        Example::steps("1. `base left to ⟦-0⟧ deg`\n"),
        Example::steps("1. `base left to ⟦4,5⟧ deg`\n"),
        Example::steps("1. `base left to ⟦.5⟧ deg`\n"),
        Example::steps("1. `base left to ⟦+42deg⟧`\n"),
        Example::steps("1. `repeat at most ⟦0⟧ until` The lamp is lit.\n"),
    ],
    good: &[Example::steps("1. `base left to +45.125 deg`\n"), Example::steps("1. `base right to 0 deg`\n")],
    ..error(
        "bad-number",
        Family::Notation,
        "a number is not a plain decimal",
        "Other notations are read differently by different people and programs: 4,5 is a list to one and a decimal to another.",
    )
};

/// A sign on an amount.
pub static SIGNED_AMOUNT: Rule = Rule {
    bad: &[Example::steps("1. `base left by ⟦+5⟧ deg, ending +12 deg`\n"), Example::steps("1. `base left to +42 deg within ⟦-0.5⟧ deg`\n")],
    good: &[Example::steps("1. `base left by 5 deg, ending +12 deg`\n")],
    ..error(
        "signed-amount",
        Family::Notation,
        "an amount or a band carries a sign",
        "The direction word gives the sign of a change and a band goes both ways; a second sign can only contradict.",
    )
};

/// An HTML entity in a statement.
pub static ENTITY_IN_STATEMENT: Rule = Rule {
    bad: &[Example::steps("1. `base right to ⟦&minus;⟧42 deg`\n")],
    good: &[Example::steps("1. `base right to -42 deg` Base &amp; bench.\n")],
    ..error(
        "entity-in-statement",
        Family::Notation,
        "an HTML entity stands in a statement",
        "Markdown shows it as it is written, other programs as the character it names; the two readers would see two statements.",
    )
};
