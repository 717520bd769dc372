//! What may be written in a model file, as data: the loaders read by these tables, and the reference page
//! `grammar/models.md` is printed from them.
//!
//! Invariant: a key can only be read through its entry, because `Table::key` runs when compiling; so the
//! page cannot miss one. Rounding of converted units stands in the entry too, never in the loader.

use crate::units::{Dimension, Round};

/// One table of a model file.
#[derive(Debug)]
pub struct Table {
    /// As written: `[[joint]]`, or the inline form.
    pub head: &'static str,
    /// What it describes, a sentence.
    pub meaning: &'static str,
    /// Its keys, in the order they are best written.
    pub keys: &'static [Key],
}

/// One key.
#[derive(Debug)]
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// What its value is.
    pub form: Form,
    /// Whether it must be written.
    pub must: bool,
    /// What it means, a sentence.
    pub meaning: &'static str,
}

/// What the value of a key is.
#[derive(Clone, Copy, Debug)]
pub enum Form {
    /// A name of the notation.
    Name,
    /// A list of names.
    Names,
    /// Words for people.
    Words,
    /// A list of sentences.
    Lines,
    /// `YYYY-MM-DD`.
    Date,
    /// A whole number from the first to the second.
    Count(u32, u32),
    /// A plain decimal.
    Factor(Bound),
    /// `true` or `false`.
    Flag,
    /// One of a few words.
    Word(fn() -> Vec<&'static str>),
    /// A quantity with its unit.
    Quantity(Dimension, Side, Bound),
    /// Three lengths: x, y, z.
    Point,
    /// Three angles, turned in order about the fixed axes x, y and z.
    Turn,
    /// A unit's name.
    Unit,
    /// A quantity of the dimension another key names.
    Amount,
    /// `+x` to `-z`.
    Axis,
    /// A list of pairs of names.
    Pairs,
    /// A table of free names, each with a value described in words.
    Map(&'static str),
    /// A table.
    Table(&'static Table),
    /// An array of tables.
    Tables(&'static Table),
}

/// Where a value may lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// Anywhere.
    Any,
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// One or above.
    AtLeastOne,
}

/// Which way a conversion rounds that does not come out even. Never towards acceptance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Down: what can be counted on.
    Down,
    /// Up: what must be allowed for.
    Up,
    /// A nominal value, neither side is safer; held to the next thousandth below.
    Nominal,
}

impl Side {
    /// The rounding.
    pub fn round(self) -> Round {
        match self {
            Side::Up => Round::Up,
            Side::Down | Side::Nominal => Round::Down,
        }
    }
}

/// A key that must be written.
pub(super) const fn must(name: &'static str, form: Form, meaning: &'static str) -> Key {
    Key { name, form, must: true, meaning }
}

/// A key that may be left out.
pub(super) const fn may(name: &'static str, form: Form, meaning: &'static str) -> Key {
    Key { name, form, must: false, meaning }
}

impl Table {
    /// The entry of a key. Only ever called when compiling, where a missing entry is an error.
    pub(super) const fn key(&self, name: &str) -> &'static Key {
        let mut i = 0;
        while i < self.keys.len() {
            if same(self.keys[i].name, name) {
                return &self.keys[i];
            }
            i += 1;
        }
        panic!("the key has no entry in its table")
    }
}

const fn same(a: &str, b: &str) -> bool {
    let (a, b) = (a.as_bytes(), b.as_bytes());
    if a.len() != b.len() {
        return false;
    }
    let mut i = 0;
    while i < a.len() {
        if a[i] != b[i] {
            return false;
        }
        i += 1;
    }
    true
}

/// The entry of a key, found when compiling: `key!(JOINT, "hold")`.
macro_rules! key {
    ($table:ident, $name:literal) => {
        const { $table.key($name) }
    };
}
pub(super) use key;

/// `origin`, in arm and cell.
pub(super) const ORIGIN: Table = Table {
    head: "origin = { ... }",
    meaning: "Where the data come from.",
    keys: &[
        must("source", Form::Words, "Document, measurement or supplier."),
        must("date", Form::Date, "When the data were taken or issued."),
    ],
};

/// `friction`, of jaw and load.
pub(super) const FRICTION: Table = Table {
    head: "friction = { ... }",
    meaning: "Friction between pads and load. There is no default: the site gives the value and says where it has it from.",
    keys: &[
        must("value", Form::Factor(Bound::Positive), "The lowest coefficient that can be counted on."),
        must("source", Form::Words, "The measurement or publication it comes from."),
    ],
};

fn shapes() -> Vec<&'static str> {
    vec!["capsule", "box", "cylinder", "sphere", "half-space", "hull", "mesh"]
}

fn scales() -> Vec<&'static str> {
    vec!["mm", "m", "in"]
}

/// A shape of link, load or obstacle.
pub(super) const SHAPE: Table = Table {
    head: "[[….shape]]",
    meaning: "A shape. Which keys it takes besides `kind` depends on the kind: capsule and cylinder take `from`, `to` and `radius`; \
              box takes `centre`, `size` and perhaps `turn`; sphere takes `centre` and `radius`; half-space takes `point` and `normal`; hull and mesh \
              take `path` and `unit`.",
    keys: &[
        must("kind", Form::Word(shapes), "Which shape."),
        may("from", Form::Point, "One end of the axis."),
        may("to", Form::Point, "The other end of the axis."),
        may("radius", LENGTH_UP, "The radius."),
        may("centre", Form::Point, "The centre."),
        may("size", Form::Point, "The full sizes along x, y and z."),
        may("turn", Form::Turn, "How the box is turned about its centre: three angles, in order about the fixed axes x, y and z."),
        may("point", Form::Point, "A point of the bounding plane."),
        may("normal", Form::Axis, "The outward normal; everything on the other side is solid."),
        may(
            "path",
            Form::Words,
            "An STL or OBJ file, relative to this file. A hull is the convex hull of its corners; a mesh must be closed.",
        ),
        may("unit", Form::Word(scales), "What one unit of that file's numbers is; the file itself does not say it."),
    ],
};

/// A length above zero that must be allowed for.
pub(super) const LENGTH_UP: Form = Form::Quantity(Dimension::Length, Side::Up, Bound::Positive);
