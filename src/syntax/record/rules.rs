//! What can be wrong with a TOML record, whatever it describes.

use crate::diag::{Example, Family, Rule};
use crate::syntax::{error, front};

/// Every rule of this file.
pub static RULES: &[&Rule] =
    &[&INVALID_TOML, &DUPLICATE_KEY, &UNKNOWN_KEY, &MISSING_KEY, &WRONG_TYPE, &UNKNOWN_WORD, &BAD_QUANTITY, &BAD_DATE];

const GOOD: &[Example] = &[Example::procedure(front::EXAMPLE)];

/// The standard front matter with one part written otherwise.
macro_rules! front_matter {
    (id $id:literal) => {
        front_matter!($id, "title = \"Move a test piece\"\n", "date = \"2026-11-20\"\n", "jaw = \"50 mm\"\n")
    };
    (title $title:literal) => {
        front_matter!("id = \"T-1\"\n", $title, "date = \"2026-11-20\"\n", "jaw = \"50 mm\"\n")
    };
    (date $date:literal) => {
        front_matter!("id = \"T-1\"\n", "title = \"Move a test piece\"\n", $date, "jaw = \"50 mm\"\n")
    };
    (jaw $jaw:literal) => {
        front_matter!("id = \"T-1\"\n", "title = \"Move a test piece\"\n", "date = \"2026-11-20\"\n", $jaw)
    };
    ($id:literal, $title:literal, $date:literal, $jaw:literal) => {
        Example::procedure(concat!(
            "+++\n",
            $id,
            $title,
            "revision = \"A\"\n",
            $date,
            "use = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\n",
            $jaw,
            "power = \"off\"\n+++\n"
        ))
    };
}

/// The text is no TOML.
pub static INVALID_TOML: Rule = Rule {
    bad: &[front_matter!(title "title = ⟦Move a test piece⟧\n")],
    good: GOOD,
    ..error(
        "invalid-toml",
        Family::File,
        "the front matter or a model file is not valid TOML",
        "Nothing after the mistake can be trusted to mean what it seems to mean.",
    )
};

/// A key twice in one table.
pub static DUPLICATE_KEY: Rule = Rule {
    bad: &[front_matter!(id "id = \"T-1\"\n⟦id⟧ = \"T-2\"\n")],
    good: GOOD,
    ..error(
        "duplicate-key",
        Family::File,
        "a key is written twice in one table",
        "With two values for one thing nobody can know which of them was checked.",
    )
};

/// A key that means nothing here.
pub static UNKNOWN_KEY: Rule = Rule {
    bad: &[
        front_matter!(title "⟦titel⟧ = \"Move\"\n"),
        front_matter!(title "title = \"Move a test piece\"\n⟦titel⟧ = \"Move\"\n"),
        front_matter!(jaw "jaw = \"50 mm\"\n⟦jaws⟧ = 2\n"),
    ],
    good: GOOD,
    ..error(
        "unknown-key",
        Family::File,
        "a key is not known in its table",
        "A misspelt key would be passed over in silence, and what it was meant to limit would not be limited.",
    )
};

/// A key that must be there.
pub static MISSING_KEY: Rule = Rule {
    bad: &[Example::procedure(
        "+++\n⟦title = \"Move a test piece\"⟧\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
    )],
    good: GOOD,
    ..error(
        "missing-key",
        Family::File,
        "a key that must be written is not there",
        "What is not stated cannot be checked, and nothing is assumed in its place.",
    )
};

/// A value of another type.
pub static WRONG_TYPE: Rule = Rule {
    bad: &[
        front_matter!(title "title = ⟦true⟧\n"),
        front_matter!(id "id = ⟦\"\"⟧\n"),
        front_matter!(date "date = ⟦2026-11-20⟧\n"),
        front_matter!(id "id = ⟦\" T-1\"⟧\n"),
    ],
    good: GOOD,
    ..error(
        "wrong-type",
        Family::File,
        "a value is not of the kind its key takes",
        "A value that has to be guessed into shape can be guessed wrong.",
    )
};

/// A word that is none of the few allowed.
pub static UNKNOWN_WORD: Rule = Rule {
    bad: &[Example::procedure(
        "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = ⟦\"continous\"⟧\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n",
    )],
    good: GOOD,
    ..error("unknown-word", Family::File, "a value is none of the words its key takes", "Only the listed words have a meaning.")
};

/// A quantity that cannot be read.
pub static BAD_QUANTITY: Rule = Rule {
    bad: &[
        front_matter!(jaw "jaw = ⟦50⟧\n"),
        front_matter!(jaw "jaw = ⟦\"50\"⟧\n"),
        front_matter!(jaw "jaw = ⟦\"50 kg\"⟧\n"),
        front_matter!(jaw "jaw = ⟦\"1e2 mm\"⟧\n"),
    ],
    good: GOOD,
    ..error(
        "bad-quantity",
        Family::File,
        "a quantity is not a plain decimal with a unit of its kind",
        "A bare number can be millimetres to one reader and inches to the next; so can a number in an unusual notation.",
    )
};

/// A date that is none.
pub static BAD_DATE: Rule = Rule {
    bad: &[front_matter!(date "date = ⟦\"2026-02-30\"⟧\n"), front_matter!(date "date = ⟦\"20.11.2026\"⟧\n")],
    good: GOOD,
    ..error(
        "bad-date",
        Family::File,
        "a date is not a day of the calendar written YYYY-MM-DD",
        "Day and month are easily swapped in every other form.",
    )
};
