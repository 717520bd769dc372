//! Rules that hold for every model file, whatever it describes.

use crate::diag::ExampleFile::{Arm, Cell, Policy};
use crate::diag::{Evidence, Example, Family, Rule, Severity};

/// The rules of this file.
pub(super) const RULES: &[&Rule] =
    &[&IMPOSSIBLE_VALUE, &FLAT_SHAPE, &BAD_NAME, &RESERVED_NAME, &DUPLICATE_NAME, &ALIKE_NAMES, &UNKNOWN_MODEL_NAME];

/// The common part of a rule of this floor: an error that follows from what the value means.
pub(super) const fn defect(id: &'static str, summary: &'static str, why: &'static str) -> Rule {
    Rule {
        id,
        family: Family::Model,
        severity: Severity::Error,
        physical: false,
        summary,
        why,
        evidence: Evidence::Definition,
        bad: &[],
        good: &[],
    }
}

/// The same for a physical limit.
pub(super) const fn limit(id: &'static str, summary: &'static str, why: &'static str) -> Rule {
    Rule { physical: true, ..defect(id, summary, why) }
}

/// The fixtures as they stand.
pub(super) const ARM_AS_IT_STANDS: Example = Example::patch(Arm, "revision = \"2\"", "revision = \"2\"");
/// The fixtures as they stand.
pub(super) const CELL_AS_IT_STANDS: Example = Example::patch(Cell, "revision = \"1\"", "revision = \"1\"");
/// The fixtures as they stand.
pub(super) const POLICY_AS_IT_STANDS: Example = Example::patch(Policy, "revision = \"1\"", "revision = \"1\"");

/// Outside what the value can be.
pub static IMPOSSIBLE_VALUE: Rule = Rule {
    bad: &[
        Example::patch(Cell, "mass = \"2 kg\"", "mass = ⟦\"0 kg\"⟧"),
        Example::patch(Arm, "friction = { value = 0.3,", "friction = { value = ⟦-0.3⟧,"),
        Example::patch(Arm, "tolerance = \"2 mm\"", "tolerance = ⟦\"0 mm\"⟧"),
        Example::patch(Cell, "severity = 2", "severity = ⟦5⟧"),
        Example::patch(Policy, "longest-run = 10", "longest-run = ⟦0⟧"),
        Example::patch(Policy, "grip-factor = 2", "grip-factor = ⟦0.9⟧"),
        Example::patch(
            Cell,
            "[[obstacle.shape]]\nkind = \"box\"\ncentre = [\"1200 mm\", \"0 mm\", \"-350 mm\"]\nsize = [\"600 mm\", \"1800 mm\", \"100 mm\"]",
            "⟦shape⟧ = []",
        ),
    ],
    good: &[
        Example::patch(Arm, "least = \"0 mm\"", "least = \"5 mm\""),
        Example::patch(Policy, "grip-factor = 2", "grip-factor = 1"),
        Example::patch(Cell, "mass = \"2 kg\"", "mass = \"4.5 lb\""),
    ],
    ..limit(
        "impossible-value",
        "a value of a model lies outside what such a value can be",
        "A mass of nothing or a negative friction passes every comparison that it should fail.",
    )
};

/// A shape without extent.
pub static FLAT_SHAPE: Rule = Rule {
    bad: &[
        Example::patch(Cell, "size = [\"600 mm\", \"1800 mm\", \"100 mm\"]", "size = ⟦[\"600 mm\", \"0 mm\", \"100 mm\"]⟧"),
        Example::patch(Arm, "to = [\"800 mm\", \"0 mm\", \"0 mm\"]", "to = ⟦[\"0 mm\", \"0 mm\", \"0 mm\"]⟧"),
    ],
    good: &[CELL_AS_IT_STANDS],
    ..limit("flat-shape", "a shape has no extent", "A shape without extent is touched by nothing and so would never stop a move.")
};

/// No name of the notation.
pub static BAD_NAME: Rule = Rule {
    bad: &[
        Example::patch(Arm, "name = \"lamp-2\"", "name = ⟦\"lamp 2\"⟧"),
        Example::patch(Cell, "name = \"cup\"", "name = ⟦\"2-cup\"⟧"),
        Example::patch(Policy, "name = \"Second operator\"", "name = ⟦\"Second  operator\"⟧"),
    ],
    good: &[Example::patch(Arm, "name = \"lamp-2\"", "name = \"lamp-2b\"")],
    ..defect(
        "bad-name",
        "a name of a model cannot be written in a statement",
        "A name is read out of a statement letter by letter: a letter, then letters, digits, - and _. A post may have several such words, \
         a grip level may be a number.",
    )
};

/// A word that has a meaning of its own.
pub static RESERVED_NAME: Rule = Rule {
    bad: &[
        Example::patch(Arm, "word = \"clockwise\"", "word = ⟦\"to\"⟧"),
        Example::patch(Arm, "name = \"lamp-2\"", "name = ⟦\"contact\"⟧"),
        Example::patch(Cell, "states = [\"open\", \"shut\"]\ninitial = \"shut\"", "states = [⟦\"until\"⟧, \"shut\"]\ninitial = \"shut\""),
    ],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "reserved-name",
        "a name of a model is a word of the notation",
        "A statement with that name in it could be read in two ways, by the compiler and by the person who hears it read aloud.",
    )
};

/// One name for two things.
pub static DUPLICATE_NAME: Rule = Rule {
    bad: &[
        Example::patch(Arm, "name = \"stowed\"", "name = ⟦\"home\"⟧"),
        Example::patch(Cell, "name = \"TC-1\"", "name = ⟦\"RM-2\"⟧"),
        Example::patch(Policy, "name = \"Second operator\"", "name = ⟦\"Operator\"⟧"),
        Example::patch(Cell, "states = [\"open\", \"shut\"]", "states = [\"open\", \"shut\", ⟦\"open\"⟧]"),
    ],
    good: &[CELL_AS_IT_STANDS],
    ..defect("duplicate-name", "two things of one kind have the same name", "A step that names it could mean either.")
};

/// Two names that differ only for a careful eye.
pub static ALIKE_NAMES: Rule = Rule {
    bad: &[
        Example::patch(Cell, "name = \"window-2\"", "name = ⟦\"Window-1\"⟧"),
        Example::patch(Cell, "name = \"window-2\"", "name = ⟦\"window-l\"⟧"),
    ],
    good: &[CELL_AS_IT_STANDS],
    ..defect(
        "alike-names",
        "two names of one kind differ only in case or in characters that look alike",
        "On paper and over the phone they are one name.",
    )
};

/// A name that nothing has.
pub static UNKNOWN_MODEL_NAME: Rule = Rule {
    bad: &[
        Example::patch(Arm, "together = [[\"shoulder\", \"wrist-pitch\"]]", "together = [[\"shoulder\", ⟦\"wrist-pich\"⟧]]"),
        Example::patch(Cell, "rests-at = \"cradle\"", "rests-at = ⟦\"cradel\"⟧"),
        Example::patch(Cell, "takes = [\"flask\"]", "takes = [\"flask\", ⟦\"jug\"⟧]"),
        Example::patch(Cell, "initial = \"shut\"", "initial = ⟦\"closed\"⟧"),
        Example::patch(Cell, "approach = [\"jaw pads and cradle\"]", "approach = [\"jaw pads and ⟦cradel⟧\"]"),
        Example::patch(Cell, "support = [\"rack plate\"]", "support = [⟦\"rack plat\"⟧]"),
        Example::patch(Cell, "through = [\"back wall\"]", "through = [⟦\"front wall\"⟧]"),
        Example::patch(Cell, "when = { port-plate = \"shut\" }", "when = { ⟦port-plat⟧ = \"shut\" }"),
        Example::patch(Cell, "when = { port-plate = \"shut\" }", "when = { port-plate = ⟦\"closed\"⟧ }"),
        Example::patch(Cell, "pose = \"at-rack\"", "pose = ⟦\"at-rock\"⟧"),
        Example::patch(Policy, "needs = \"hold\"\nrole = \"Shift lead\"", "needs = \"hold\"\nrole = ⟦\"Shift leader\"⟧"),
        Example::patch(Arm, "base = \"-90 deg\", shoulder", "base = \"-90 deg\", ⟦sholder⟧ = \"80 deg\", shoulder"),
    ],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "unknown-model-name",
        "a model file names something that is not described",
        "What a limit or a place belongs to must be certain; a misspelt name would leave the limit out.",
    )
};
