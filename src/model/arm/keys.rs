//! What may be written in an arm profile.

use crate::model::keys::{Bound, FRICTION, Form, LENGTH_UP, ORIGIN, SHAPE, Side, Table, may, must};
use crate::units::Dimension;

const TOLERANCE: Form = Form::Quantity(Dimension::Angle, Side::Up, Bound::Positive);
const ALLOWANCE: Form = Form::Quantity(Dimension::Angle, Side::Up, Bound::NotNegative);
const LOW: Form = Form::Quantity(Dimension::Angle, Side::Up, Bound::Any);
const HIGH: Form = Form::Quantity(Dimension::Angle, Side::Down, Bound::Any);
const DRIFT: Form = Form::Quantity(Dimension::Drift, Side::Up, Bound::NotNegative);
const RATED: Form = Form::Quantity(Dimension::Pressure, Side::Down, Bound::Positive);
const TORQUE: Form = Form::Quantity(Dimension::Torque, Side::Down, Bound::Positive);
const MASS: Form = Form::Quantity(Dimension::Mass, Side::Up, Bound::Positive);

pub(in crate::model) const ARM: Table = Table {
    head: "",
    meaning: "One arm with its console and jaw. Every number carries its unit in a text.",
    keys: &[
        must("name", Form::Name, "What `power on NAME` says."),
        must("title", Form::Words, "For people."),
        must("revision", Form::Words, "Revision of this file."),
        must("date", Form::Date, "Date of this revision."),
        may("invented", Form::Flag, "`true` for data of no real arm; what is printed says so and can never be approved."),
        must("origin", Form::Table(&ORIGIN), "Where the data come from."),
        must("includes", Form::Words, "What the shapes include: hoses and cables or not, said either way."),
        may(
            "supply",
            Form::Quantity(Dimension::Pressure, Side::Down, Bound::Positive),
            "The pressure at the pump that can be counted on; needed where a joint has an actuator with a rated pressure.",
        ),
        may(
            "ramp",
            Form::Quantity(Dimension::Time, Side::Down, Bound::Positive),
            "The shortest time in which a joint comes from rest to its full rate, or from it to rest.",
        ),
        must("joint", Form::Tables(&JOINT), "The joints, from the mount outward."),
        must("console", Form::Table(&CONSOLE), "The console."),
        must("jaw", Form::Table(&JAW), "The jaw."),
        may("signal", Form::Tables(&SIGNAL), "Signals a guarded move can stop on, besides contact."),
        may("tool", Form::Tables(&TOOL), "Tools that can be fitted."),
        must("pose", Form::Tables(&POSE), "Named poses."),
        may("link", Form::Tables(&LINK), "Shapes and masses of the links, for the proofs in space."),
        may(
            "acceptance",
            Form::Table(&ACCEPTANCE),
            "The record that the profile was tried on the arm. Without it nothing can be approved.",
        ),
    ],
};

pub(in crate::model::arm) const JOINT: Table = Table {
    head: "[[joint]]",
    meaning: "One joint. Exactly one of `stops` and `turns` is written.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("engraved", Form::Words, "What is engraved on console and read-out."),
        may("stops", Form::Table(&RANGE), "The hard stops."),
        may("turns", Form::Table(&RANGE), "For a joint without stops: the cumulative angle its hoses allow."),
        must("soft-margin", ALLOWANCE, "What is kept free inside both ends."),
        must("stop-by-readout", TOLERANCE, "Stopping tolerance, plus and minus, when the operator stops on the read-out."),
        must("stop-by-eye", TOLERANCE, "The same when the operator stops by eye."),
        must("hold", ALLOWANCE, "Bound on the whole drift of the idle joint since it last moved."),
        may("drift-powered", DRIFT, "Drift a minute with power."),
        may("drift-unpowered", DRIFT, "Drift a minute without power."),
        must("readout-error", ALLOWANCE, "How far the read-out may be wrong."),
        must("decimals", Form::Count(0, 3), "Decimals of the read-out."),
        must("rate", Form::Quantity(Dimension::AngleRate, Side::Up, Bound::Positive), "Speed at full stick."),
        must("zero-mark", Form::Words, "Where the zero mark is, or that there is none."),
        must("positive", Form::Table(&DIRECTION), "The word for growing angle."),
        must("negative", Form::Table(&DIRECTION), "The word for falling angle."),
        may("actuator", Form::Table(&ACTUATOR), "What drives it."),
        may(
            "mounting",
            Form::Table(&MOUNTING),
            "Where it sits in the frame before it, for the proofs in space; needed where links are described.",
        ),
    ],
};

pub(in crate::model::arm) const RANGE: Table = Table {
    head: "stops = { ... }, turns = { ... }",
    meaning: "The range of a joint.",
    keys: &[must("low", LOW, "The most negative angle."), must("high", HIGH, "The most positive angle.")],
};

pub(in crate::model::arm) const DIRECTION: Table = Table {
    head: "positive = { ... }, negative = { ... }",
    meaning: "A direction word and the place it is seen from.",
    keys: &[
        must("word", Form::Name, "The word in statements and print."),
        must("seen-from", Form::Words, "The place from which the word is true: \"behind the arm\"."),
    ],
};

fn actuators() -> Vec<&'static str> {
    vec!["torque", "linear", "rotary"]
}

pub(in crate::model::arm) const ACTUATOR: Table = Table {
    head: "actuator = { ... }",
    meaning: "What drives a joint. `torque` takes `torque`; `rotary` takes `torque` and `rated`; `linear` takes the other keys.",
    keys: &[
        must("kind", Form::Word(actuators), "How much is known of it."),
        may("torque", TORQUE, "Greatest torque; of a rotary actuator, at its rated pressure."),
        may("rated", RATED, "Rated pressure."),
        may("fixed-pin", Form::Quantity(Dimension::Length, Side::Nominal, Bound::Positive), "From the joint's axis to the fixed pin."),
        may("moving-pin", Form::Quantity(Dimension::Length, Side::Nominal, Bound::Positive), "From the axis to the moving pin."),
        may(
            "angle-at-zero",
            Form::Quantity(Dimension::Angle, Side::Nominal, Bound::Any),
            "The angle between the two when the joint reads zero; it grows with the joint's angle.",
        ),
        may("bore", Form::Quantity(Dimension::Length, Side::Down, Bound::Positive), "Bore of the cylinder."),
        may("rod", LENGTH_UP, "Diameter of its rod."),
    ],
};

pub(in crate::model::arm) const MOUNTING: Table = Table {
    head: "mounting = { ... }",
    meaning: "Axis and origin of a joint in the frame before it.",
    keys: &[
        must("axis", Form::Axis, "The axis; a growing angle turns by the right-hand rule about it."),
        must("origin", Form::Point, "The origin of the joint's frame."),
        may(
            "turn",
            Form::Turn,
            "How the frame is turned when the joint reads zero: three angles, in order about the fixed axes x, y and z.",
        ),
    ],
};

pub(in crate::model::arm) const CONSOLE: Table = Table {
    head: "[console]",
    meaning: "The console. A joint is driven by exactly one axis of one stick.",
    keys: &[
        must("stick", Form::Tables(&STICK), "The sticks."),
        may(
            "together",
            Form::Pairs,
            "Pairs of joints that may move at once; on different sticks, since one stick moves one joint at a time.",
        ),
        must("deflection", Form::Words, "What deflecting a stick does."),
        must("before-power-on", Form::Lines, "Checks before power on, each a line for the operator."),
        must("power-on", Form::Words, "How power goes on."),
        must("power-off", Form::Words, "How power goes off."),
        must("stop-control", Form::Words, "Where the stop control is."),
        must("on-power-loss", Form::Words, "What the joints do when power is lost; the jaw has a key of its own."),
    ],
};

pub(in crate::model::arm) const STICK: Table = Table {
    head: "[[console.stick]]",
    meaning: "A stick, rocker or wheel.",
    keys: &[
        must("name", Form::Words, "As the operator calls it: \"left stick\"."),
        must("axis", Form::Tables(&STICK_AXIS), "What its axes drive."),
    ],
};

pub(in crate::model::arm) const STICK_AXIS: Table = Table {
    head: "[[console.stick.axis]]",
    meaning: "One axis of a stick.",
    keys: &[
        must("joint", Form::Name, "The joint it drives."),
        must("positive", Form::Words, "What to do for the positive direction word: \"push left\"."),
        must("negative", Form::Words, "What to do for the negative one."),
    ],
};

fn losses() -> Vec<&'static str> {
    vec!["holds", "lets-go", "unknown"]
}

pub(in crate::model::arm) const JAW: Table = Table {
    head: "[jaw]",
    meaning: "The jaw. Forces are per jaw, not the sum of both pads.",
    keys: &[
        must("engraved", Form::Words, "Its engraved name."),
        must("least", Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative), "Least opening."),
        must("most", Form::Quantity(Dimension::Length, Side::Down, Bound::Positive), "Greatest opening."),
        must("tolerance", LENGTH_UP, "Tolerance of an opening, plus and minus."),
        may("friction", Form::Table(&FRICTION), "Friction of the pads where a load does not say its own."),
        must("level", Form::Tables(&LEVEL), "Grip levels, weakest first."),
        may("grip-centre", Form::Point, "The middle between the pads, in the frame of the last joint: the tool point."),
        may("closing", Form::Axis, "The axis of that frame along which the pads close."),
        must("on-power-loss", Form::Word(losses), "What the jaw does when power is lost."),
        must("control", Form::Words, "Which control works it: \"trigger of the right stick\"."),
        may("closes", Form::Words, "What is done with the control to close it, printed at each step that does: \"squeeze\"."),
        may("opens", Form::Words, "What is done with it to open the jaw: \"push\"."),
        may(
            "level-control",
            Form::Words,
            "Which control chooses the grip level, printed at each step that does: \"thumb wheel of the right stick\".",
        ),
    ],
};

pub(in crate::model::arm) const LEVEL: Table = Table {
    head: "[[jaw.level]]",
    meaning: "A grip level.",
    keys: &[
        must("name", Form::Name, "As engraved, a name or a number."),
        must("least", Form::Quantity(Dimension::Force, Side::Down, Bound::NotNegative), "The force per jaw that can be counted on."),
        must("most", Form::Quantity(Dimension::Force, Side::Up, Bound::Positive), "The greatest force per jaw it allows."),
    ],
};

pub(in crate::model::arm) const SIGNAL: Table = Table {
    head: "[[signal]]",
    meaning: "A signal a guarded move can stop on.",
    keys: &[must("name", Form::Name, "Its name in `until NAME`."), must("cue", Form::Words, "What the operator sees or hears.")],
};

pub(in crate::model::arm) const TOOL: Table = Table {
    head: "[[tool]]",
    meaning: "A tool that can be fitted.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        may("mass", MASS, "Upper bound of its mass."),
        may("leaves-jaw-free", Form::Flag, "`true` if a load can be gripped while it is fitted."),
        may("centre", Form::Point, "Its centre of mass, in the frame of the last joint."),
        may("point", Form::Point, "The point of it that does the work, in the same frame; left out, the grip centre stays the tool point."),
        may("shape", Form::Tables(&SHAPE), "Its shapes, in the same frame."),
    ],
};

pub(in crate::model::arm) const POSE: Table = Table {
    head: "[[pose]]",
    meaning: "A named, complete set of angles.",
    keys: &[
        must("name", Form::Name, "Its name in statements."),
        must("angles", Form::Map("an angle for every joint; a joint without stops may say `\"any\"`"), "The angles, by joint."),
        must("band", TOLERANCE_DOWN, "Plus and minus for every joint."),
        may("safe", Form::Flag, "`true` if a contingency may end here."),
    ],
};

const TOLERANCE_DOWN: Form = Form::Quantity(Dimension::Angle, Side::Down, Bound::Positive);

pub(in crate::model::arm) const LINK: Table = Table {
    head: "[[link]]",
    meaning: "A link, in the frame of the joint it moves with.",
    keys: &[
        must("name", Form::Words, "Its name in messages: \"forearm\"."),
        may("joint", Form::Name, "The joint it moves with; left out for what never moves."),
        may("mass", MASS, "Upper bound of its mass."),
        may("centre", Form::Point, "Its centre of mass."),
        may("shape", Form::Tables(&SHAPE), "Its shapes."),
    ],
};

pub(in crate::model::arm) const ACCEPTANCE: Table = Table {
    head: "[acceptance]",
    meaning: "The record that the profile was tried on the arm. Where it does not hold, the profile counts as not accepted.",
    keys: &[
        must("by", Form::Words, "The post that accepted it."),
        must("date", Form::Date, "When; not before the date of this file."),
        must(
            "digest",
            Form::Words,
            "SHA-256 of what was accepted: this file without the lines of this table (its header, its keys and its `[[acceptance.driven]]`), \
             then for each mesh file that is named, in order, its own SHA-256 as 64 hexadecimal digits and a line end. A wrong one is told with the right one.",
        ),
        must(
            "uncertainty",
            Form::Quantity(Dimension::Length, Side::Down, Bound::NotNegative),
            "How far a measured tool point may be wrong by measuring.",
        ),
        must("directions", Form::Names, "The joints whose direction words were proven: all of them."),
        must("driven", Form::Tables(&DRIVEN), "The poses that were driven."),
    ],
};

pub(in crate::model::arm) const DRIVEN: Table = Table {
    head: "[[acceptance.driven]]",
    meaning: "A pose that was driven with a bare jaw, and where the tool point was found.",
    keys: &[
        must("pose", Form::Name, "The pose."),
        must("readouts", Form::Map("an angle for every joint"), "What the read-outs showed."),
        must("tool-point", Form::Point, "The measured middle between the pads, in the coordinates the mount stands in."),
        must(
            "residual",
            Form::Quantity(Dimension::Length, Side::Up, Bound::NotNegative),
            "How far that is from where the read-outs put it; worked out here too and compared.",
        ),
    ],
};
