//! What can be wrong with an arm profile.

use crate::diag::ExampleFile::Arm;
use crate::diag::{Evidence, Example, Rule, Severity};
use crate::model::rules::{ARM_AS_IT_STANDS, defect, limit};

/// The rules of this file.
pub(in crate::model) const RULES: &[&Rule] = &[
    &REVERSED_LIMITS,
    &MARGIN_WITHOUT_ROOM,
    &TRAVEL_UNSTATED,
    &EYE_FINER_THAN_READOUT,
    &STOP_FINER_THAN_READOUT,
    &SAME_DIRECTION_WORD,
    &IMPOSSIBLE_CYLINDER,
    &JOINT_DRIVEN_TWICE,
    &STICK_DRIVES_TWO,
    &UNDRIVEN_JOINT,
    &ODD_PAIR,
    &PAIR_ON_ONE_STICK,
    &GRIP_LEVELS_OUT_OF_ORDER,
    &INCOMPLETE_POSE,
    &POSE_BEYOND_TRAVEL,
    &POSE_BAND_TOO_NARROW,
    &ANY_WITH_STOPS,
    &ACCEPTED_INVENTION,
    &STALE_ACCEPTANCE,
    &UNPROVEN_DIRECTION,
    &OFF_POSE_RECORD,
    &RESIDUAL_BEYOND_BANDS,
];

/// A low end that is not below the high end.
pub static REVERSED_LIMITS: Rule = Rule {
    bad: &[
        Example::patch(Arm, "stops = { low = \"-170 deg\", high = \"170 deg\" }", "stops = { low = \"-170 deg\", high = ⟦\"-171 deg\"⟧ }"),
        Example::patch(Arm, "least = \"0 mm\"\nmost = \"160 mm\"", "least = \"170 mm\"\nmost = ⟦\"160 mm\"⟧"),
    ],
    good: &[ARM_AS_IT_STANDS],
    ..limit("reversed-limits", "a range of the arm ends before it begins", "Between such limits no target is right.")
};

/// Nothing is left between the soft limits.
pub static MARGIN_WITHOUT_ROOM: Rule = Rule {
    bad: &[Example::patch(
        Arm,
        "stops = { low = \"-170 deg\", high = \"170 deg\" }\nsoft-margin = \"2 deg\"",
        "stops = { low = \"-170 deg\", high = \"170 deg\" }\nsoft-margin = ⟦\"170 deg\"⟧",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..limit(
        "margin-without-room",
        "the soft margins leave a joint no travel",
        "No target fits between the soft limits, so the margin is not the one meant.",
    )
};

/// Neither stops nor turns, or both.
pub static TRAVEL_UNSTATED: Rule = Rule {
    bad: &[
        Example::patch(
            Arm,
            "[[joint]]\nname = \"base\"\nengraved = \"BASE\"\nstops = { low = \"-170 deg\", high = \"170 deg\" }",
            "⟦[[joint]]⟧\nname = \"base\"\nengraved = \"BASE\"",
        ),
        Example::patch(
            Arm,
            "stops = { low = \"-170 deg\", high = \"170 deg\" }",
            "stops = { low = \"-170 deg\", high = \"170 deg\" }\nturns = ⟦{ low = \"-400 deg\", high = \"400 deg\" }⟧",
        ),
    ],
    good: &[ARM_AS_IT_STANDS],
    ..limit(
        "travel-unstated",
        "a joint does not say how far it can go, or says it twice",
        "A joint with stops and one whose hoses limit its turns are checked differently; a joint with neither could not be checked at all.",
    )
};

/// By eye better than by read-out.
pub static EYE_FINER_THAN_READOUT: Rule = Rule {
    evidence: Evidence::CommonPractice,
    bad: &[Example::patch(
        Arm,
        "turns = { low = \"-720 deg\", high = \"720 deg\" }\nsoft-margin = \"10 deg\"\nstop-by-readout = \"0.5 deg\"\nstop-by-eye = \"3 deg\"",
        "turns = { low = \"-720 deg\", high = \"720 deg\" }\nsoft-margin = \"10 deg\"\nstop-by-readout = \"0.5 deg\"\nstop-by-eye = ⟦\"0.3 deg\"⟧",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "eye-finer-than-readout",
        "stopping by eye is said to be finer than stopping on the read-out",
        "Every move by eye would be checked with too small a band. Most likely the two values were exchanged.",
    )
};

/// Finer than the read-out can show.
pub static STOP_FINER_THAN_READOUT: Rule = Rule {
    severity: Severity::Warning,
    bad: &[Example::patch(
        Arm,
        "stop-by-readout = \"0.5 deg\"\nstop-by-eye = \"3 deg\"\nhold = \"0.2 deg\"\nreadout-error = \"0.1 deg\"\ndecimals = 1",
        "stop-by-readout = ⟦\"0.5 deg\"⟧\nstop-by-eye = \"3 deg\"\nhold = \"0.2 deg\"\nreadout-error = \"0.1 deg\"\ndecimals = 0",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "stop-finer-than-readout",
        "the stopping tolerance is finer than the last digit of the read-out",
        "The operator cannot see on the read-out whether the joint stopped within the tolerance that every check relies on.",
    )
};

/// One word for both directions.
pub static SAME_DIRECTION_WORD: Rule = Rule {
    bad: &[Example::patch(
        Arm,
        "word = \"extend\", seen-from = \"the arm's left side\" }\nnegative = { word = \"fold\"",
        "word = \"extend\", seen-from = \"the arm's left side\" }\nnegative = { word = ⟦\"Extend\"⟧",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..limit("same-direction-word", "both directions of a joint have one word", "The word is there to catch a wrong sign; this one cannot.")
};

/// A cylinder that cannot be built or that stands at its toggle.
pub static IMPOSSIBLE_CYLINDER: Rule = Rule {
    bad: &[
        Example::patch(Arm, "bore = \"50 mm\", rod = \"28 mm\"", "bore = \"50 mm\", rod = ⟦\"50 mm\"⟧"),
        Example::patch(Arm, "angle-at-zero = \"60 deg\"", "angle-at-zero = ⟦\"35 deg\"⟧"),
        Example::patch(Arm, "angle-at-zero = \"60 deg\"", "angle-at-zero = ⟦\"85 deg\"⟧"),
    ],
    good: &[Example::patch(Arm, "angle-at-zero = \"60 deg\"", "angle-at-zero = \"1.2 rad\"")],
    ..limit(
        "impossible-cylinder",
        "the cylinder of a joint cannot be as described",
        "Where cylinder and pins come to lie in one line the cylinder has no leverage: the joint cannot hold anything there, at any pressure.",
    )
};

/// Two sticks for one joint.
pub static JOINT_DRIVEN_TWICE: Rule = Rule {
    bad: &[Example::patch(
        Arm,
        "joint = \"wrist-pitch\"\npositive = \"push right\"\nnegative = \"push left\"\n",
        "joint = \"wrist-pitch\"\npositive = \"push right\"\nnegative = \"push left\"\n[[console.stick.axis]]\njoint = ⟦\"base\"⟧\npositive = \"turn right\"\nnegative = \"turn left\"\n",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "joint-driven-twice",
        "two axes of the console drive one joint",
        "The page could name only one of them, perhaps not the one in hand.",
    )
};

/// One push for two joints, or for both directions.
pub static STICK_DRIVES_TWO: Rule = Rule {
    bad: &[
        Example::patch(Arm, "joint = \"wrist-pitch\"\npositive = \"push right\"", "joint = \"wrist-pitch\"\npositive = ⟦\"push forward\"⟧"),
        Example::patch(Arm, "negative = \"press the left half\"", "negative = ⟦\"press the right half\"⟧"),
    ],
    good: &[ARM_AS_IT_STANDS],
    ..limit(
        "stick-drives-two",
        "one movement of a stick is given for two things",
        "The printed words would tell the operator to do the same for two different motions of the arm.",
    )
};

/// No stick for a joint.
pub static UNDRIVEN_JOINT: Rule = Rule {
    bad: &[Example::patch(
        Arm,
        "[console]\ntogether = [[\"shoulder\", \"wrist-pitch\"]]\ndeflection = \"The farther a stick is pushed, the faster the joint moves.\"\nbefore-power-on = [\"Sticks neutral.\", \"Stop control pulled out and in reach.\"]\npower-on = \"Turn the key on the console to ON.\"\npower-off = \"Turn the key on the console to OFF.\"\nstop-control = \"red mushroom button, right of the sticks\"\non-power-loss = \"The joints lock; shoulder and elbow sink slowly.\"\n\n[[console.stick]]\nname = \"rocker\"\n[[console.stick.axis]]\njoint = \"wrist-turn\"\npositive = \"press the right half\"\nnegative = \"press the left half\"\n\n",
        "⟦[console]⟧\ntogether = [[\"shoulder\", \"wrist-pitch\"]]\ndeflection = \"The farther a stick is pushed, the faster the joint moves.\"\nbefore-power-on = [\"Sticks neutral.\", \"Stop control pulled out and in reach.\"]\npower-on = \"Turn the key on the console to ON.\"\npower-off = \"Turn the key on the console to OFF.\"\nstop-control = \"red mushroom button, right of the sticks\"\non-power-loss = \"The joints lock; shoulder and elbow sink slowly.\"\n\n",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..defect("undriven-joint", "no axis of the console drives a joint", "A step that moves the joint could not say which stick to use.")
};

/// No pair of two joints.
pub static ODD_PAIR: Rule = Rule {
    bad: &[
        Example::patch(Arm, "together = [[\"shoulder\", \"wrist-pitch\"]]", "together = [⟦[\"shoulder\", \"shoulder\"]⟧]"),
        Example::patch(Arm, "together = [[\"shoulder\", \"wrist-pitch\"]]", "together = [⟦[\"shoulder\"]⟧]"),
    ],
    good: &[ARM_AS_IT_STANDS],
    ..defect("odd-pair", "an entry of `together` is not a pair of two joints", "Two joints move at once, never one or three.")
};

/// Both joints of a pair on one stick.
pub static PAIR_ON_ONE_STICK: Rule = Rule {
    evidence: Evidence::CommonPractice,
    bad: &[Example::patch(Arm, "together = [[\"shoulder\", \"wrist-pitch\"]]", "together = [⟦[\"shoulder\", \"base\"]⟧]")],
    good: &[Example::patch(Arm, "together = [[\"shoulder\", \"wrist-pitch\"]]", "together = [[\"base\", \"elbow\"]]")],
    ..limit(
        "pair-on-one-stick",
        "two joints that may move together hang on one stick",
        "One stick moves one joint at a time, so the operator could not do what the step says.",
    )
};

/// Grip levels out of order.
pub static GRIP_LEVELS_OUT_OF_ORDER: Rule = Rule {
    bad: &[
        Example::patch(Arm, "least = \"140 N\"\nmost = \"180 N\"", "least = \"140 N\"\nmost = ⟦\"130 N\"⟧"),
        Example::patch(Arm, "name = \"3\"\nleast = \"140 N\"", "name = ⟦\"3\"⟧\nleast = \"60 N\""),
    ],
    good: &[Example::patch(Arm, "least = \"75 N\"", "least = \"70 N\"")],
    ..limit(
        "grip-levels-out-of-order",
        "a grip level's least force is above its greatest, or the levels do not grow",
        "A load is held or crushed by the force behind the number; levels that do not grow with their place in the list were most likely mistyped.",
    )
};

/// A joint without an angle.
pub static INCOMPLETE_POSE: Rule = Rule {
    bad: &[Example::patch(Arm, "name = \"stowed\"\nangles = { base = \"-90 deg\", ", "name = ⟦\"stowed\"⟧\nangles = { ")],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "incomplete-pose",
        "a pose has no angle for a joint",
        "A pose is where every joint is; a joint left out would be checked nowhere.",
    )
};

/// A pose that cannot be reached.
pub static POSE_BEYOND_TRAVEL: Rule = Rule {
    bad: &[
        Example::patch(Arm, "base = \"-90 deg\", shoulder = \"80 deg\"", "base = \"-90 deg\", shoulder = ⟦\"92.5 deg\"⟧"),
        Example::patch(Arm, "wrist-pitch = \"-60 deg\", wrist-turn = \"0 deg\"", "wrist-pitch = \"-60 deg\", wrist-turn = ⟦\"800 deg\"⟧"),
    ],
    good: &[Example::patch(Arm, "base = \"-90 deg\", shoulder = \"80 deg\"", "base = \"-90 deg\", shoulder = \"92 deg\"")],
    ..limit(
        "pose-beyond-travel",
        "an angle of a pose with its band lies outside a joint's soft limits",
        "No step may go there, so the pose can never be taken up.",
    )
};

/// A band that no stop can meet.
pub static POSE_BAND_TOO_NARROW: Rule = Rule {
    bad: &[Example::patch(
        Arm,
        "wrist-pitch = \"-60 deg\", wrist-turn = \"0 deg\" }\nband = \"1 deg\"",
        "wrist-pitch = \"-60 deg\", wrist-turn = \"0 deg\" }\nband = ⟦\"0.6 deg\"⟧",
    )],
    good: &[Example::patch(
        Arm,
        "wrist-pitch = \"-60 deg\", wrist-turn = \"0 deg\" }\nband = \"1 deg\"",
        "wrist-pitch = \"-60 deg\", wrist-turn = \"0 deg\" }\nband = \"0.7 deg\"",
    )],
    ..defect(
        "pose-band-too-narrow",
        "the band of a pose is narrower than a joint's stopping tolerance and drift",
        "A joint that stopped on its target would still not count as being in the pose.",
    )
};

/// `any` where stops are.
pub static ANY_WITH_STOPS: Rule = Rule {
    bad: &[Example::patch(Arm, "base = \"-90 deg\", shoulder = \"80 deg\"", "base = \"-90 deg\", shoulder = ⟦\"any\"⟧")],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "any-with-stops",
        "a pose leaves a joint with stops open",
        "Only a joint that turns without stops may stand anywhere in a pose.",
    )
};

/// Accepted and invented.
pub static ACCEPTED_INVENTION: Rule = Rule {
    bad: &[Example::patch(
        Arm,
        "[[signal]]",
        "⟦[acceptance]⟧\nby = \"Commissioning lead\"\ndate = \"2026-03-02\"\ndigest = \"none\"\nuncertainty = \"2 mm\"\ndirections = []\n[[acceptance.driven]]\npose = \"home\"\nreadouts = { base = \"0.1 deg\", shoulder = \"20 deg\", elbow = \"60 deg\", wrist-pitch = \"0 deg\", wrist-turn = \"0 deg\" }\ntool-point = [\"917 mm\", \"0 mm\", \"1760 mm\"]\nresidual = \"2 mm\"\n[[signal]]",
    )],
    good: &[ARM_AS_IT_STANDS],
    ..defect(
        "accepted-invention",
        "invented data carry an acceptance record",
        "An arm that does not exist was not tried; one of the two statements is wrong.",
    )
};

/// Stands for the digest of the example arm, which changes with every change of it; the test of the examples puts it in.
pub const RIGHT_DIGEST: &str = "(the digest of this profile)";

// From `invented` to the first joint, with a record between.
macro_rules! accepted {
    ($date:literal, $digest:literal, $directions:literal, $turned:literal, $point:literal, $residual:literal) => {
        Example::patch(
            Arm,
            "invented = true\norigin = { source = \"invented for the examples of the rules\", date = \"2026-03-02\" }\nincludes = \"Shapes include the wrist's hoses, not the hoses between mount and shoulder.\"\nsupply = \"150 bar\"\nramp = \"0.3 s\"\n",
            concat!(
                "origin = { source = \"invented for the examples of the rules\", date = \"2026-03-02\" }\nincludes = \"Shapes include the wrist's hoses, not the hoses between mount and shoulder.\"\nsupply = \"150 bar\"\nramp = \"0.3 s\"\n\n",
                "[acceptance]\nby = \"Commissioning lead\"\ndate = ",
                $date,
                "\ndigest = ",
                $digest,
                "\nuncertainty = \"2 mm\"\ndirections = ",
                $directions,
                "\n[[acceptance.driven]]\npose = \"home\"\nreadouts = { base = ",
                $turned,
                ", shoulder = \"20 deg\", elbow = \"60 deg\", wrist-pitch = \"0 deg\", wrist-turn = \"0 deg\" }\ntool-point = ",
                $point,
                "\nresidual = ",
                $residual,
                "\n"
            ),
        )
    };
}
const ACCEPTED: Example = accepted!(
    "\"2026-03-02\"",
    "\"(the digest of this profile)\"",
    "[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]",
    "\"0.1 deg\"",
    "[\"917 mm\", \"0 mm\", \"1760 mm\"]",
    "\"2 mm\""
);

/// Accepted before it was written, or as something else.
pub static STALE_ACCEPTANCE: Rule = Rule {
    severity: Severity::Warning,
    bad: &[
        accepted!(
            "⟦\"2026-03-01\"⟧",
            "\"(the digest of this profile)\"",
            "[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]",
            "\"0.1 deg\"",
            "[\"917 mm\", \"0 mm\", \"1760 mm\"]",
            "\"2 mm\""
        ),
        accepted!(
            "\"2026-03-02\"",
            "⟦\"0000000000000000000000000000000000000000000000000000000000000000\"⟧",
            "[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]",
            "\"0.1 deg\"",
            "[\"917 mm\", \"0 mm\", \"1760 mm\"]",
            "\"2 mm\""
        ),
    ],
    good: &[ACCEPTED],
    ..defect(
        "stale-acceptance",
        "the profile is not the one that was accepted",
        "What was tried on the arm is not what is written now. The digest is SHA-256 of the file without the lines of its acceptance table, \
         then the SHA-256 of each mesh file it names.",
    )
};

/// Accepted without every direction.
pub static UNPROVEN_DIRECTION: Rule = Rule {
    severity: Severity::Warning,
    bad: &[accepted!(
        "\"2026-03-02\"",
        "\"(the digest of this profile)\"",
        "⟦[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\"]⟧",
        "\"0.1 deg\"",
        "[\"917 mm\", \"0 mm\", \"1760 mm\"]",
        "\"2 mm\""
    )],
    good: &[ACCEPTED],
    ..defect(
        "unproven-direction",
        "an acceptance record leaves out a joint's direction",
        "A sign that is wrong in the profile is wrong in every step, and no check of the steps can find it.",
    )
};

/// Driven somewhere else.
pub static OFF_POSE_RECORD: Rule = Rule {
    severity: Severity::Warning,
    bad: &[accepted!(
        "\"2026-03-02\"",
        "\"(the digest of this profile)\"",
        "[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]",
        "⟦\"2.1 deg\"⟧",
        "[\"916 mm\", \"34 mm\", \"1759 mm\"]",
        "\"1 mm\""
    )],
    good: &[ACCEPTED],
    ..defect(
        "off-pose-record",
        "an acceptance record shows a read-out that is not within the pose it names",
        "The pose was not driven, or the record belongs to another one.",
    )
};

/// Where the arm was is not where the profile says.
pub static RESIDUAL_BEYOND_BANDS: Rule = Rule {
    severity: Severity::Warning,
    bad: &[
        accepted!(
            "\"2026-03-02\"",
            "\"(the digest of this profile)\"",
            "[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]",
            "\"0.1 deg\"",
            "[\"917 mm\", \"0 mm\", \"1780 mm\"]",
            "⟦\"21 mm\"⟧"
        ),
        accepted!(
            "\"2026-03-02\"",
            "\"(the digest of this profile)\"",
            "[\"base\", \"shoulder\", \"elbow\", \"wrist-pitch\", \"wrist-turn\"]",
            "\"0.1 deg\"",
            "[\"917 mm\", \"0 mm\", \"1780 mm\"]",
            "⟦\"2 mm\"⟧"
        ),
    ],
    good: &[ACCEPTED],
    ..defect(
        "residual-beyond-bands",
        "a measured tool point does not agree with the profile",
        "Every proof in space rests on the profile's lengths, zero marks and read-out errors. Where the arm itself is farther off than \
         these allow, no clearance that is computed means anything.",
    )
};
