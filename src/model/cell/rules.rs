//! What can be wrong with a cell.

use crate::diag::ExampleFile::Cell;
use crate::diag::{Example, Rule};
use crate::model::rules::{CELL_AS_IT_STANDS, defect, limit};

/// The rules of this file.
pub(in crate::model) const RULES: &[&Rule] = &[
    &MASS_BOUND_BELOW_MASS,
    &LOAD_OUT_OF_PLACE,
    &STATION_TAKEN_TWICE,
    &UNKNOWN_UNIT,
    &CAMERA_WITHOUT_MONITOR,
    &ODD_APPROACH,
    &UNFIT_ACCEPTANCE,
];

/// An upper bound that is none.
pub static MASS_BOUND_BELOW_MASS: Rule = Rule {
    bad: &[Example::patch(Cell, "mass-at-most = \"2.1 kg\"", "mass-at-most = ⟦\"1.9 kg\"⟧")],
    good: &[Example::patch(Cell, "mass-at-most = \"2.1 kg\"", "mass-at-most = \"2 kg\"")],
    ..limit(
        "mass-bound-below-mass",
        "the upper bound of a load's mass lies below its mass",
        "Every check of grip and lifting uses the bound.",
    )
};

/// A load where it cannot be.
pub static LOAD_OUT_OF_PLACE: Rule = Rule {
    bad: &[Example::patch(Cell, "rests-at = \"cradle\"", "rests-at = ⟦\"shelf\"⟧")],
    good: &[Example::patch(Cell, "rests-at = \"cradle\"", "rests-at = \"rack\"")],
    ..defect(
        "load-out-of-place",
        "a load rests where it cannot",
        "The first step that takes it up would start from a state that cannot be.",
    )
};

/// Two loads in one place.
pub static STATION_TAKEN_TWICE: Rule = Rule {
    bad: &[Example::patch(Cell, "critical = true\nrests-at = \"shelf\"", "critical = true\nrests-at = ⟦\"cradle\"⟧")],
    good: &[CELL_AS_IT_STANDS],
    ..defect(
        "station-taken-twice",
        "two loads rest at one station",
        "A station takes one load; the model does not describe the cell as it stands.",
    )
};

/// A unit that is none.
pub static UNKNOWN_UNIT: Rule = Rule {
    bad: &[Example::patch(Cell, "unit = \"degC\"\nresolution = \"0.1 degC\"", "unit = ⟦\"Celsius\"⟧\nresolution = \"0.1 degC\"")],
    good: &[Example::patch(Cell, "unit = \"uSv/h\"\nresolution = \"1 uSv/h\"", "unit = \"mSv/h\"\nresolution = \"1 uSv/h\"")],
    ..defect(
        "unknown-unit",
        "an instrument's unit is not known",
        "A reading can be compared with a band only where both have a unit that converts.",
    )
};

/// A camera that nobody can see.
pub static CAMERA_WITHOUT_MONITOR: Rule = Rule {
    bad: &[Example::patch(Cell, "monitors = [\"monitor-1\", \"monitor-2\"]", "monitors = ⟦[]⟧")],
    good: &[CELL_AS_IT_STANDS],
    ..defect("camera-without-monitor", "the cell has a camera and no monitor", "The operator cannot look through it.")
};

/// What may touch is said in pairs.
pub static ODD_APPROACH: Rule = Rule {
    bad: &[
        Example::patch(Cell, "approach = [\"jaw pads and cradle\"]", "approach = [⟦\"jaw pads\"⟧]"),
        Example::patch(Cell, "approach = [\"jaw pads and cradle\"]", "approach = [⟦\"jaw pads and cradle and cup\"⟧]"),
    ],
    good: &[Example::patch(Cell, "approach = [\"jaw pads and cradle\"]", "approach = [\"jaw pads and cradle, cup and cradle\"]")],
    ..defect(
        "odd-approach",
        "an entry of `approach` is not a pair of two things",
        "A contact is allowed between two things and no others; with one name, everything else might touch it.",
    )
};

/// Accepted and invented, or accepted before the survey.
pub static UNFIT_ACCEPTANCE: Rule = Rule {
    bad: &[
        Example::patch(Cell, "invented = true", "invented = true\nacceptance = ⟦{ by = \"Site survey\", date = \"2026-03-03\" }⟧"),
        Example::patch(Cell, "invented = true", "acceptance = { by = \"Site survey\", date = ⟦\"2026-03-01\"⟧ }"),
    ],
    good: &[Example::patch(Cell, "invented = true", "acceptance = { by = \"Site survey\", date = \"2026-03-03\" }")],
    ..defect(
        "unfit-acceptance",
        "a survey's acceptance cannot be true of this file",
        "It is dated before the survey, or the cell is said to be invented.",
    )
};
