//! What may be written in a cell file.

use crate::model::keys::{Bound, FRICTION, Form, LENGTH_UP, ORIGIN, SHAPE, Side, Table, may, must};
use crate::units::Dimension;

const MASS: Form = Form::Quantity(Dimension::Mass, Side::Up, Bound::Positive);

pub(in crate::model) const CELL: Table = Table {
    head: "",
    meaning: "One cell: stations, loads, views, instruments, equipment, and what stands in the way.",
    keys: &[
        must("name", Form::Name, "Its short name."),
        must("title", Form::Words, "For people."),
        must("revision", Form::Words, "Revision of this file."),
        must("surveyed", Form::Date, "Date of the survey."),
        may("invented", Form::Flag, "`true` for data of no real cell; what is printed says so and can never be approved."),
        must("origin", Form::Table(&ORIGIN), "Where the data come from."),
        may("mount", Form::Table(&MOUNT), "Where the arm stands; needed where obstacles are described."),
        may(
            "margin",
            Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative),
            "Clearance to keep; needed where obstacles are described.",
        ),
        may(
            "contact-travel",
            Form::Quantity(Dimension::Length, Side::Down, Bound::NotNegative),
            "How far the grip centre may travel with things touching that are allowed to touch, next to the start or end of a move; \
             left out, the margin and 5 mm.",
        ),
        may("monitors", Form::Names, "Monitors that cameras can be put on."),
        may("places", Form::Names, "Places at which readings are taken."),
        must("interlock", Form::Words, "The area interlock, as printed on page 1."),
        may("station", Form::Tables(&STATION), "Where loads rest."),
        may("load", Form::Tables(&LOAD), "What can be held."),
        may("view", Form::Tables(&VIEW), "Windows and cameras."),
        may("instrument", Form::Tables(&INSTRUMENT), "Instruments that are read."),
        may("equipment", Form::Tables(&EQUIPMENT), "Equipment with states."),
        may("obstacle", Form::Tables(&OBSTACLE), "What stands in the way, for the proofs in space."),
        may("acceptance", Form::Table(&ACCEPTANCE), "The record that the survey was accepted. Without it nothing can be approved."),
    ],
};

pub(super) const ACCEPTANCE: Table = Table {
    head: "[acceptance]",
    meaning: "The record that the survey was accepted.",
    keys: &[must("by", Form::Words, "The post that accepted it."), must("date", Form::Date, "When; not before the survey.")],
};

pub(super) const MOUNT: Table = Table {
    head: "mount = { ... }",
    meaning: "Where the arm's first frame is, in cell coordinates; z is up.",
    keys: &[
        must("position", Form::Point, "Its origin."),
        must("heading", Form::Quantity(Dimension::Angle, Side::Nominal, Bound::Any), "Its turn about the vertical."),
    ],
};

pub(super) const STATION: Table = Table {
    head: "[[station]]",
    meaning: "A place where a load can rest.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("title", Form::Words, "For people: \"inlet cradle\"."),
        may("pose", Form::Name, "The pose of the arm at which the jaw is there."),
        may("takes", Form::Names, "The loads it can take; left out, any."),
        may("supports", Form::Flag, "`true` if a load can be let go there."),
        may("approach", Form::Lines, "What may touch in moves that start or end here, in pairs: \"jaw pads and cradle\"."),
        may("position", Form::Point, "Where the grip centre is with the jaw at the station; left out, where the pose brings it."),
        may("heading", Form::Quantity(Dimension::Angle, Side::Nominal, Bound::Any), "The turn of the jaw about the vertical there."),
        may(
            "position-within",
            Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative),
            "How far the station may really be from its place, for approaches by taps; left out, `tolerance`.",
        ),
        may(
            "tolerance",
            Form::Quantity(Dimension::Length, Side::Down, Bound::Positive),
            "How far from its place the grip centre may be and still be at the station.",
        ),
        may(
            "tolerance-turn",
            Form::Quantity(Dimension::Angle, Side::Down, Bound::Positive),
            "How far the jaw may be turned or tilted against the station and still be at it.",
        ),
        may(
            "approach-within",
            Form::Quantity(Dimension::Length, Side::Down, Bound::Positive),
            "How near to its place the grip centre must be for the things of `approach` to touch; left out, the cell's `contact-travel`.",
        ),
        may("support", Form::Lines, "The obstacles that bear a load there."),
        may("measured", Form::Date, "When it was taught or measured."),
    ],
};

pub(super) const LOAD: Table = Table {
    head: "[[load]]",
    meaning: "A thing that can be held.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("title", Form::Words, "For people: \"filter cartridge\"."),
        must("mass", MASS, "The mass as stated."),
        must("mass-at-most", MASS, "Its upper bound, which the checks use."),
        must("grip-width", LENGTH_UP, "Width between the pads when gripped."),
        may(
            "grip-clearance",
            Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative),
            "How much wider the jaw must be to go over it.",
        ),
        may("friction", Form::Table(&FRICTION), "Friction against the pads, if it differs from the jaw's."),
        may("crush", Form::Quantity(Dimension::Force, Side::Down, Bound::Positive), "The greatest force per jaw it bears."),
        may("tilt", Form::Quantity(Dimension::Angle, Side::Down, Bound::NotNegative), "Greatest tilt from plumb."),
        may("drop-height", Form::Quantity(Dimension::Length, Side::Down, Bound::NotNegative), "Greatest height above what is below it."),
        may("critical", Form::Flag, "`true` if dropping it is in the worst class."),
        may("shape", Form::Tables(&SHAPE), "Its shapes, in the jaw's frame moved to the grip centre."),
        may("centre", Form::Point, "Its centre of mass in that frame."),
        may("centre-within", Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative), "How far the true centre may be from it."),
        may(
            "seating",
            Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative),
            "How far it may sit off its place in the jaw; its shapes are grown by it.",
        ),
        may("rests-at", Form::Name, "The station where it rests unless a procedure says otherwise."),
    ],
};

fn views() -> Vec<&'static str> {
    vec!["window", "camera"]
}

pub(super) const VIEW: Table = Table {
    head: "[[view]]",
    meaning: "What the operator can look through.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("title", Form::Words, "For people: \"window 2\"."),
        must("kind", Form::Word(views), "A camera is looked at on a monitor."),
        may("mirrored", Form::Flag, "`true` if the picture is mirrored."),
        may("position", Form::Point, "Eye or lens, in cell coordinates."),
        may("looks-at", Form::Point, "The point in the middle of the picture."),
        may("field", Form::Quantity(Dimension::Angle, Side::Down, Bound::Positive), "The full angle of what is seen."),
        may("up", Form::Axis, "What is up in the picture; left out, the cell's z."),
        may("through", Form::Lines, "Obstacles it looks through: the wall of its window."),
    ],
};

pub(super) const INSTRUMENT: Table = Table {
    head: "[[instrument]]",
    meaning: "An instrument that is read.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("reads", Form::Name, "What it reads: \"dose-rate\"."),
        must("unit", Form::Unit, "The unit on its face; a `read` step must use one of the same dimension."),
        may("resolution", Form::Amount, "The smallest step it shows."),
    ],
};

pub(super) const EQUIPMENT: Table = Table {
    head: "[[equipment]]",
    meaning: "Equipment that has states.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("states", Form::Names, "Its states."),
        must("initial", Form::Name, "The state at the start unless a procedure says otherwise."),
    ],
};

fn kinds() -> Vec<&'static str> {
    vec!["solid", "keep-out", "slow", "unsurveyed"]
}

pub(super) const OBSTACLE: Table = Table {
    head: "[[obstacle]]",
    meaning: "Something not to be touched. Unsurveyed space counts as occupied.",
    keys: &[
        must("name", Form::Words, "Its name in messages."),
        must("kind", Form::Word(kinds), "A solid thing, a zone nothing may enter, a zone to be crossed slowly, or unsurveyed space."),
        must("severity", Form::Count(0, 4), "Severity class of touching it: 0 none, 4 worst."),
        may("when", Form::Map("a state for a piece of equipment"), "It is there only while each of these is in its state."),
        must("shape", Form::Tables(&SHAPE), "Its shapes, in cell coordinates."),
    ],
};
