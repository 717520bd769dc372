//! The notation's productions as data.
//!
//! The parser walks this table, and so do the grammar file, the sentence generator, completion and the messages:
//! a word that is not in the table cannot be read, printed or suggested. What a table cannot say in one line (the
//! number production, the forms of labelled lines) is code beside the table and text in the grammar file.
//!
//! Invariant: choices are tried in order and the first that fits is taken; a longer form stands before its prefix.

mod abnf;
pub mod manual;
mod sentence;

pub use abnf::abnf;
pub use sentence::sentence;

use super::statement::{Captures, build};
use super::tree::Statement;
use crate::units::Dimension;

/// One piece of a production.
#[derive(Debug)]
pub enum Part {
    /// Fixed words, one blank between them.
    Words(&'static str),
    /// Fixed words that are also kept, because they decide something.
    Flag(&'static str),
    /// `,` `:` or `;`, without a blank before it.
    Mark(&'static str),
    /// Something the writer chooses.
    Slot(Slot),
    /// May be left out.
    Maybe(&'static [Part]),
    /// May be repeated up to so many times, or left out.
    UpTo(usize, &'static [Part]),
    /// One of several.
    Choice(&'static [&'static [Part]]),
    /// A production with a name of its own.
    Named(&'static Named),
}

/// A part of several productions.
#[derive(Debug)]
pub struct Named {
    /// Its name in the grammar.
    pub id: &'static str,
    /// What it consists of.
    pub parts: &'static [Part],
}

/// One kind of statement.
pub struct Production {
    /// Its name in the grammar.
    pub id: &'static str,
    /// What it is for, in a few words.
    pub about: &'static str,
    /// What it consists of.
    pub parts: &'static [Part],
    /// An example.
    pub example: &'static str,
    /// Makes the statement from what was read.
    pub(super) build: fn(&mut Captures<'_>) -> Option<Statement>,
    keyword: &'static str,
    first: &'static str,
    initial: u8,
}

impl std::fmt::Debug for Production {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.id)
    }
}

/// What a slot holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A letter, then letters, digits, `-` and `_`.
    Name,
    /// A name or a number that serves as one.
    Level,
    /// Names with one blank between them, up to the end of the statement.
    Phrase,
    /// A number, one blank, `deg`; with its sign or without.
    Angle,
    /// An angle that never takes a sign, because a direction or a plus-and-minus gives it.
    Amount,
    /// A number and a unit of this dimension.
    Of(Dimension),
    /// A number and any unit.
    Quantity,
    /// A whole number from 1.
    Count,
    /// A unit.
    Unit,
}

macro_rules! slots {
    ($($slot:ident $name:literal $kind:expr, $wanted:literal;)*) => {
        /// Something the writer chooses, by the part it plays.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[allow(missing_docs, reason = "`Slot::wanted` says what each is")]
        pub enum Slot { $($slot),* }
        impl Slot {
            /// Every slot.
            pub const ALL: &[Slot] = &[$(Slot::$slot),*];
            /// Its name in the grammar.
            pub fn name(self) -> &'static str {
                match self { $(Slot::$slot => $name),* }
            }
            /// What may stand in it.
            pub fn kind(self) -> Kind {
                match self { $(Slot::$slot => $kind),* }
            }
            /// What is wanted, for messages.
            pub fn wanted(self) -> &'static str {
                match self { $(Slot::$slot => $wanted),* }
            }
        }
    };
}

slots! {
    Joint "joint" Kind::Name, "a joint";
    Direction "direction" Kind::Name, "a direction word of the arm";
    From "from" Kind::Angle, "an angle such as +12 deg";
    To "target" Kind::Angle, "an angle such as +12 deg";
    Within "band" Kind::Amount, "a band such as 0.5 deg, without sign";
    By "change" Kind::Amount, "an amount such as 5 deg, without sign";
    Ending "ending" Kind::Angle, "the angle at the end, such as +12 deg";
    NotPast "bound" Kind::Angle, "an angle such as +12 deg";
    Past "gate-angle" Kind::Angle, "an angle such as +12 deg";
    Signal "signal" Kind::Name, "`contact` or the name of a signal";
    Tap "tap" Kind::Amount, "the size of a tap such as 0.5 deg, without sign";
    Times "times" Kind::Count, "a whole number from 1";
    ContactA "contact-from" Kind::Angle, "an angle such as -11 deg";
    ContactB "contact-to" Kind::Angle, "an angle such as -9 deg";
    Level "level" Kind::Level, "a grip level of the arm";
    Load "load" Kind::Name, "a load";
    Station "station" Kind::Name, "a station";
    Opening "opening" Kind::Of(Dimension::Length), "a length such as 120 mm";
    Role "role" Kind::Phrase, "a role";
    Quantity "quantity" Kind::Name, "the name of what is read, such as dose-rate";
    Place "place" Kind::Name, "a place";
    Low "low" Kind::Quantity, "a value with its unit, such as 50 uSv/h";
    High "high" Kind::Quantity, "a value with its unit, such as 50 uSv/h";
    Instrument "instrument" Kind::Name, "an instrument";
    Record "record-name" Kind::Name, "the name of what is written down";
    Unit "in-unit" Kind::Unit, "a unit";
    View "seen-in" Kind::Name, "a window or a camera";
    Monitor "monitor" Kind::Name, "a monitor";
    AtLeast "at-least" Kind::Of(Dimension::Time), "a time such as 30 s";
    AtMost "at-most" Kind::Of(Dimension::Time), "a time such as 2 min";
    Arm "arm" Kind::Name, "the arm";
    Tool "tool" Kind::Name, "a tool";
    Equipment "equipment" Kind::Name, "a piece of equipment";
    State "state" Kind::Name, "its new state";
    Pose "pose" Kind::Name, "a pose of the arm";
}

use Part::{Choice, Flag, Mark, Maybe, Named as Sub, Slot as S, UpTo, Words as W};

/// A move to an angle, the only kind that two axes may do together.
pub static ABSOLUTE: Named = Named {
    id: "absolute",
    parts: &[
        Maybe(&[W("from"), S(Slot::From)]),
        W("to"),
        S(Slot::To),
        Maybe(&[W("within"), S(Slot::Within)]),
        Maybe(&[Choice(&[&[Flag("slow")], &[Flag("inch")]])]),
    ],
};
static TAPS: Named = Named {
    id: "taps",
    parts: &[
        W("by taps of"),
        S(Slot::Tap),
        Mark(","),
        S(Slot::Times),
        W("at most"),
        Mark(","),
        W("contact between"),
        S(Slot::ContactA),
        W("and"),
        S(Slot::ContactB),
    ],
};
static RELATIVE: Named = Named { id: "relative", parts: &[W("by"), S(Slot::By), Mark(","), W("ending"), S(Slot::Ending)] };
static GUARDED: Named = Named {
    id: "guarded",
    parts: &[W("until"), Choice(&[&[Flag("contact")], &[S(Slot::Signal)]]), Mark(","), W("not past"), S(Slot::NotPast)],
};
static AXIS: Named = Named { id: "axis-move", parts: &[S(Slot::Joint), S(Slot::Direction), Sub(&ABSOLUTE)] };
/// Any move of one joint.
pub static MOVE: Named = Named {
    id: "move",
    parts: &[S(Slot::Joint), S(Slot::Direction), Choice(&[&[Sub(&ABSOLUTE)], &[Sub(&TAPS)], &[Sub(&RELATIVE)], &[Sub(&GUARDED)]])],
};
static GATE: Named =
    Named { id: "gate", parts: &[S(Slot::Joint), W("not past"), S(Slot::NotPast), W("until"), S(Slot::Joint), W("past"), S(Slot::Past)] };

macro_rules! productions {
    ($($id:literal $about:literal, [$($part:expr),*], $example:literal, $build:path;)*) => {
        &[$({
            const PARTS: &[Part] = &[$($part),*];
            Production { id: $id, about: $about, parts: PARTS, example: $example, build: $build, keyword: keyword(PARTS), first: first(keyword(PARTS)), initial: keyword(PARTS).as_bytes()[0] }
        }),*]
    };
}

/// Every statement that starts with a fixed word, in the order they are tried. A statement that starts with none
/// of these words is a [`MOVE`].
pub static PRODUCTIONS: &[Production] = productions! {
    "together" "two axes at once",
        [W("together"), Mark(":"), Sub(&AXIS), Mark(","), Sub(&AXIS), Maybe(&[Mark(";"), S(Slot::Joint), Flag("first")]), UpTo(2, &[Mark(";"), Sub(&GATE)])],
        "together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg; shoulder first", build::together;
    "grip-level" "choose the grip level", [W("grip level"), S(Slot::Level)], "grip level 2", build::grip_level;
    "close" "close the jaw on a load", [W("close on"), S(Slot::Load)], "close on cartridge", build::close;
    "jaw-open" "open the empty jaw", [W("jaw open to"), S(Slot::Opening)], "jaw open to 120 mm", build::jaw_open;
    "jaw-close" "close the empty jaw", [W("jaw close to"), S(Slot::Opening)], "jaw close to 20 mm", build::jaw_close;
    "lift" "lift a load off its station", [W("lift"), S(Slot::Load), W("clear of"), S(Slot::Station), Mark(":"), Sub(&MOVE)],
        "lift cartridge clear of cradle: shoulder raise to -8 deg", build::lift;
    "lower" "set a load on a station", [W("lower"), S(Slot::Load), W("onto"), S(Slot::Station), Mark(":"), Sub(&MOVE)],
        "lower cartridge onto drain-rack: shoulder lower to -12 deg", build::lower;
    "let-go" "let go of a supported load",
        [W("let go of"), S(Slot::Load), W("on"), S(Slot::Station), Mark(","), W("open to"), S(Slot::Opening)],
        "let go of cartridge on drain-rack, open to 120 mm", build::let_go;
    "hold-point" "nothing beyond it until the role has cleared it", [W("hold point"), Mark(":"), S(Slot::Role)],
        "hold point: Radiation protection", build::hold_point;
    "witness-point" "the role is invited to watch", [W("witness point"), Mark(":"), S(Slot::Role)], "witness point: Quality", build::witness_point;
    "verify-after" "independent verification, apart in time", [W("verify after"), Mark(":"), S(Slot::Role)],
        "verify after: Second operator", build::verify_after;
    "check" "observe; the words say what", [W("check")], "check", build::check;
    "read-joints" "compare all joints with the printed angles", [W("read joints")], "read joints", build::read_joints;
    "read" "take a value against a band",
        [
            W("read"), S(Slot::Quantity), Maybe(&[W("at"), S(Slot::Place)]),
            Choice(&[
                &[W("between"), S(Slot::Low), W("and"), S(Slot::High)],
                &[Flag("below"), S(Slot::High)],
                &[Flag("above"), S(Slot::Low)]
            ]),
            W("on"), S(Slot::Instrument)
        ],
        "read dose-rate at port-3 below 50 uSv/h on RM-2", build::read;
    "record" "write a value down", [W("record"), S(Slot::Record), S(Slot::Unit)], "record oil-temperature degC", build::record;
    "view" "what the operator looks through from here on", [W("view"), S(Slot::View), Maybe(&[W("on"), S(Slot::Monitor)])], "view window-2", build::view;
    "tell" "communication; `Say:` gives the words", [W("tell"), S(Slot::Role)], "tell Shift lead", build::tell;
    "wait" "let time pass", [W("wait at least"), S(Slot::AtLeast), Maybe(&[Mark(","), W("at most"), S(Slot::AtMost)])],
        "wait at least 30 s, at most 2 min", build::wait;
    "turnover" "crews may change here", [W("turnover")], "turnover", build::turnover;
    "power-on" "console power on", [W("power on"), S(Slot::Arm)], "power on arm", build::power_on;
    "power-off" "console power off", [W("power off"), S(Slot::Arm)], "power off arm", build::power_off;
    "fit" "take a tool up at its station", [W("fit"), S(Slot::Tool)], "fit hook", build::fit;
    "put-down" "put a tool down at its station", [W("put down"), S(Slot::Tool)], "put down hook", build::put_down;
    "set" "bring equipment into a state", [W("set"), S(Slot::Equipment), S(Slot::State)], "set hatch-2 closed", build::set;
    "if" "a branch on the observable condition in the words", [W("if")], "if", build::branch;
    "repeat" "a bounded loop on the cue in the words", [W("repeat at most"), S(Slot::Times), W("until")], "repeat at most 3 until", build::repeat;
    "perform" "do a section and come back", [W("perform")], "perform", build::perform;
    "go-to" "leave for another step", [W("go to")], "go to", build::go_to;
    "expect-pose" "assert where the arm is", [W("expect pose"), S(Slot::Pose)], "expect pose stowed", build::expect_pose;
    "expect-at" "assert where the jaw is", [W("expect at"), S(Slot::Station)], "expect at cradle", build::expect_at;
};

/// An example of a move, for messages.
pub const MOVE_EXAMPLE: &str = "base left to +42 deg";

impl Production {
    /// The fixed words it starts with.
    pub fn keyword(&self) -> &'static str {
        self.keyword
    }
    /// The first of them.
    pub fn first_word(&self) -> &'static str {
        self.first
    }
    /// Whether that is `word`; one byte tells most of them apart.
    pub(super) fn starts_with_word(&self, word: &str) -> bool {
        word.as_bytes().first() == Some(&self.initial) && self.first == word
    }
}

const fn keyword(parts: &[Part]) -> &'static str {
    match parts {
        [W(words) | Flag(words), ..] => words,
        _ => panic!("a production starts with fixed words"),
    }
}

const fn first(words: &'static str) -> &'static str {
    let mut end = 0;
    while end < words.len() && words.as_bytes()[end] != b' ' {
        end += 1;
    }
    words.split_at(end).0
}

/// Words that start a statement and therefore cannot be the name of a joint.
pub fn reserved() -> impl Iterator<Item = &'static str> {
    PRODUCTIONS.iter().map(Production::first_word)
}

/// A production as people read it: fixed words as they are, slots in capitals, what may be left out in brackets.
pub fn pattern(parts: &[Part]) -> String {
    let mut out = String::new();
    for part in parts {
        let (text, attached) = match part {
            W(w) | Flag(w) => ((*w).to_string(), false),
            Mark(m) => ((*m).to_string(), true),
            S(slot) => (slot.name().to_uppercase(), false),
            Maybe(inner) | UpTo(_, inner) => (format!("[{}]", pattern(inner)), matches!(inner.first(), Some(Mark(_)))),
            Choice(choices) => (choices.iter().map(|c| pattern(c)).collect::<Vec<_>>().join("|"), false),
            Sub(named) => (named.id.to_uppercase(), false),
        };
        if !out.is_empty() && !attached {
            out.push(' ');
        }
        out.push_str(&text);
    }
    out
}

/// Every fixed word of the notation.
pub fn words_of() -> impl Iterator<Item = &'static str> {
    let all = PRODUCTIONS.iter().map(|p| p.parts).chain([MOVE.parts]);
    all.flat_map(phrases).flat_map(|w| w.split(' '))
}

fn phrases(parts: &'static [Part]) -> Vec<&'static str> {
    parts
        .iter()
        .flat_map(|part| match part {
            W(w) | Flag(w) => vec![*w],
            Mark(_) | S(_) => Vec::new(),
            Maybe(inner) | UpTo(_, inner) => phrases(inner),
            Choice(choices) => choices.iter().flat_map(|c| phrases(c)).collect(),
            Sub(named) => phrases(named.parts),
        })
        .collect()
}
