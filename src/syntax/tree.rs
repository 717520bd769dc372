//! What a procedure says, as a tree: no arm, no cell, no meaning yet.
//!
//! Invariant: every node knows its bytes, and names are kept as spans of the source, so that the tree is
//! small and a message can always point at what was written. Nothing here depends on a model.

use crate::diag::Diagnostic;
use crate::text::{FileId, Span, Spanned};
use crate::units::{Angle, Length, Quantity, Time};

/// A name or a phrase in the source: joint, direction, load, role. Read it with [`Span::of`].
pub type Name = Span;

/// A whole procedure file, read without loss. Problems never stop the reading.
#[derive(Debug)]
pub struct Parsed {
    /// The file.
    pub file: FileId,
    /// Front matter, if it could be found.
    pub front: Option<super::front::FrontMatter>,
    /// What stands before the first heading.
    pub preamble: Vec<Block>,
    /// Sections in order; headings are not nested, `level` tells.
    pub sections: Vec<Section>,
    /// What is wrong with the file so far.
    pub problems: Vec<Diagnostic>,
}

impl Parsed {
    /// All blocks of the file in order, the preamble first.
    pub fn blocks(&self) -> impl Iterator<Item = &Block> {
        self.preamble.iter().chain(self.sections.iter().flat_map(|s| &s.blocks))
    }
}

/// A heading and what stands under it.
#[derive(Debug)]
pub struct Section {
    /// The heading's words, without the attribute block.
    pub title: Text,
    /// 1 to 6.
    pub level: u8,
    /// `{#anchor}`, or none.
    pub anchor: Option<Name>,
    /// What kind of section its class says it is.
    pub kind: SectionKind,
    /// The whole heading.
    pub span: Span,
    /// Content.
    pub blocks: Vec<Block>,
}

/// `{.contingency}`, `{.on-call}` or neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SectionKind {
    /// Performed in printed order.
    Ordinary,
    /// Entered only from the steps that name it; must end safe.
    Contingency,
    /// Only performed from elsewhere.
    OnCall,
}

/// A piece of a section.
#[derive(Debug)]
#[allow(clippy::large_enum_variant, reason = "nearly all blocks are steps; a box each would cost more than it saves")]
pub enum Block {
    /// A paragraph, bullet list, table, quotation or fence that is no step: printed as it stands.
    Prose(Prose),
    /// A warning, caution or note before a step.
    Alert(Alert),
    /// One item of an ordered list.
    Step(Step),
}

/// Words between steps.
#[derive(Debug)]
pub struct Prose {
    /// The block's Markdown.
    pub text: Text,
    /// What kind of block it is.
    pub kind: ProseKind,
}

/// The kind of a block of prose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "Markdown's own block names")]
pub enum ProseKind {
    Paragraph,
    List,
    Table,
    Quote,
    Code,
    Rule,
}

/// A run of inline Markdown, kept as source bytes.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// The raw Markdown, possibly over several lines. May be empty.
    pub span: Span,
    /// The links in it, in order.
    pub links: Vec<Link>,
}

/// `[words](target)`.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// The whole link.
    pub span: Span,
    /// The words.
    pub words: Span,
    /// Where it leads.
    pub target: Spanned<Target>,
}

/// The target of a link.
#[derive(Clone, Debug, PartialEq)]
pub enum Target {
    /// `#anchor` in this file.
    Anchor(String),
    /// `other.md` or `other.md#anchor`, relative to this file.
    File {
        /// Relative path.
        path: String,
        /// Section anchor in that file.
        anchor: Option<String>,
    },
}

/// An alert.
#[derive(Debug)]
pub struct Alert {
    /// WARNING, CAUTION or NOTE.
    pub kind: AlertKind,
    /// The whole block.
    pub span: Span,
    /// `Hazard:`.
    pub hazard: Option<Text>,
    /// `Consequence:`.
    pub consequence: Option<Text>,
    /// `Avoid:`.
    pub avoid: Option<Text>,
    /// A note's words, and lines of an alert that carry no field name.
    pub words: Vec<Text>,
}

/// The three signal words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the trade's signal words")]
pub enum AlertKind {
    Warning,
    Caution,
    Note,
}

impl AlertKind {
    /// The signal word as printed.
    pub fn word(self) -> &'static str {
        match self {
            AlertKind::Warning => "WARNING",
            AlertKind::Caution => "CAUTION",
            AlertKind::Note => "NOTE",
        }
    }
}

/// One item of an ordered list.
#[derive(Debug)]
pub struct Step {
    /// The whole item.
    pub span: Span,
    /// The numeral in the source.
    pub numeral: Spanned<u32>,
    /// `{#anchor}` on the item.
    pub anchor: Option<Name>,
    /// The statement, if the item starts with one. `None` also after a mistake in it (see `broken`).
    pub statement: Option<Spanned<Statement>>,
    /// The item starts with a code span that could not be read; its problem is already reported.
    pub broken: bool,
    /// The words after the statement, or the whole plain instruction.
    pub text: Text,
    /// The labelled lines under it.
    pub lines: Vec<Line>,
    /// `then` and `otherwise`.
    pub arms: Vec<Arm>,
    /// The steps of a `repeat`.
    pub body: Vec<Step>,
}

/// An arm of an `if`.
#[derive(Debug)]
pub struct Arm {
    /// `then` or `otherwise`.
    pub otherwise: bool,
    /// The arm's label.
    pub span: Span,
    /// `otherwise: go on`.
    pub go_on: bool,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// A labelled line: `- Proof: ...`.
#[derive(Debug)]
pub struct Line {
    /// Which.
    pub label: Label,
    /// The whole line.
    pub span: Span,
    /// The words after the colon.
    pub text: Text,
    /// What the words say, where the label has a form of its own.
    pub form: LineForm,
}

/// The labels. One table serves parser, messages and completion.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs, reason = "the labels themselves, see `Label::word`")]
pub enum Label {
    Watch,
    Proof,
    StopIf,
    IfNot,
    TouchingAllowed,
    SecondPerson,
    MustBeTrue,
    Say,
    Reply,
    Why,
}

impl Label {
    /// Every label, in the order they are printed.
    pub const ALL: [Label; 10] = [
        Label::MustBeTrue,
        Label::SecondPerson,
        Label::TouchingAllowed,
        Label::Say,
        Label::Reply,
        Label::Watch,
        Label::Proof,
        Label::StopIf,
        Label::IfNot,
        Label::Why,
    ];
    /// As written, without the colon.
    pub fn word(self) -> &'static str {
        match self {
            Label::Watch => "Watch",
            Label::Proof => "Proof",
            Label::StopIf => "Stop if",
            Label::IfNot => "If not",
            Label::TouchingAllowed => "Touching allowed",
            Label::SecondPerson => "Second person",
            Label::MustBeTrue => "Must be true",
            Label::Say => "Say",
            Label::Reply => "Reply",
            Label::Why => "Why",
        }
    }
}

/// What a labelled line says beyond its words.
#[derive(Clone, Debug, PartialEq)]
pub enum LineForm {
    /// Words for people.
    Words,
    /// `If not:` / `Stop if:` with a link to a contingency or a step.
    GoTo(Link),
    /// `If not: hold and tell ROLE` (also `tell ROLE ...`): the operator stays and says so.
    HoldAndTell(Name),
    /// `Second person: ROLE, agree before the act [that ...]`.
    SecondPerson {
        /// Who.
        role: Name,
        /// "agree before the act" was written.
        agree_before: bool,
        /// What is agreed.
        that: Option<Span>,
    },
    /// `Touching allowed: A and B, C and D`: pairs of names that may touch, each name a phrase.
    Touching(Vec<Name>),
}

/// A statement of the notation.
#[derive(Clone, Debug, PartialEq)]
pub enum Statement {
    /// Any motion of one joint.
    Move(Motion),
    /// Two joints at once.
    Together(Box<Together>),
    /// `grip level N`.
    GripLevel(Name),
    /// `close on LOAD`.
    Close(Name),
    /// `jaw open to LENGTH`.
    JawOpen(Spanned<LengthValue>),
    /// `jaw close to LENGTH`: closing on nothing states a length.
    JawClose(Spanned<LengthValue>),
    /// `lift LOAD clear of STATION: MOVE`.
    Lift(Transfer),
    /// `lower LOAD onto STATION: MOVE`.
    Lower(Transfer),
    /// `let go of LOAD on STATION, open to LENGTH`.
    LetGo {
        /// The load.
        load: Name,
        /// Where it stays.
        station: Name,
        /// The opening afterwards.
        open_to: Spanned<LengthValue>,
    },
    /// `hold point: ROLE`.
    HoldPoint(Name),
    /// `witness point: ROLE`.
    WitnessPoint(Name),
    /// `verify after: ROLE`.
    VerifyAfter(Name),
    /// `check`; the observation is the item's text.
    Check,
    /// `read QUANTITY [at PLACE] BAND on INSTRUMENT`.
    Read(Reading),
    /// `record NAME UNIT`.
    Record {
        /// What is written down.
        name: Name,
        /// In which unit.
        unit: Name,
    },
    /// `read joints`.
    ReadJoints,
    /// `view WINDOW-OR-CAMERA [on MONITOR]`.
    View {
        /// Window or camera.
        view: Name,
        /// Monitor.
        monitor: Option<Name>,
    },
    /// `tell ROLE`.
    Tell(Name),
    /// `wait at least TIME[, at most TIME]`.
    Wait {
        /// Lower bound.
        at_least: Spanned<TimeValue>,
        /// Upper bound.
        at_most: Option<Spanned<TimeValue>>,
    },
    /// `turnover`.
    Turnover,
    /// `power on ARM`.
    PowerOn(Name),
    /// `power off ARM`.
    PowerOff(Name),
    /// `fit TOOL`.
    Fit(Name),
    /// `put down TOOL`.
    PutDown(Name),
    /// `set EQUIPMENT STATE`.
    Set {
        /// Which equipment.
        equipment: Name,
        /// Its new state.
        state: Name,
    },
    /// `if`; the condition is the item's text.
    If,
    /// `repeat at most N until`; the cue is the item's text.
    Repeat(Spanned<u32>),
    /// `perform` with the link in the item's text.
    Perform,
    /// `go to` with the link in the item's text.
    GoTo,
    /// `expect pose NAME`.
    ExpectPose(Name),
    /// `expect at STATION`.
    ExpectAt(Name),
}

/// An angle as written and as held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AngleValue {
    /// The exact angle.
    pub angle: Angle,
    /// As written.
    pub written: Quantity,
}

/// A length as written and as held (rounded down; see the written value where the side matters).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LengthValue {
    /// The length.
    pub length: Length,
    /// As written.
    pub written: Quantity,
}

/// A time as written and as held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimeValue {
    /// The time.
    pub time: Time,
    /// As written.
    pub written: Quantity,
}

/// How a move is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pace {
    /// Nothing said.
    Normal,
    /// `slow`.
    Slow,
    /// `inch`.
    Inch,
}

/// One joint in one direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// The joint's name.
    pub joint: Name,
    /// The direction word.
    pub direction: Name,
    /// Where to.
    pub goal: Goal,
}

/// Where a motion ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Goal {
    /// `[from ANGLE] to ANGLE [within BAND] [slow|inch]`.
    To {
        /// Where the writer believes the joint is.
        from: Option<Spanned<AngleValue>>,
        /// The target.
        to: Spanned<AngleValue>,
        /// The band, plus and minus.
        within: Option<Spanned<AngleValue>>,
        /// Pace.
        pace: Pace,
    },
    /// `by ANGLE, ending ANGLE`.
    By {
        /// The change, without sign: the direction word gives it.
        by: Spanned<AngleValue>,
        /// The end, checked.
        ending: Spanned<AngleValue>,
    },
    /// `until contact` or `until SIGNAL`, `not past ANGLE`.
    Until {
        /// `None` is contact; otherwise a signal of the cell or arm.
        signal: Option<Name>,
        /// The bound.
        not_past: Spanned<AngleValue>,
    },
    /// `by taps of ANGLE, N at most, contact between A and B`.
    Taps {
        /// One tap.
        tap: Spanned<AngleValue>,
        /// The ceiling.
        at_most: Spanned<u32>,
        /// One end of the band of expected contact.
        contact_a: Spanned<AngleValue>,
        /// The other.
        contact_b: Spanned<AngleValue>,
    },
}

/// `together: MOVE, MOVE [; JOINT first] [; JOINT not past ANGLE until JOINT past ANGLE]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Both motions, absolute.
    pub moves: [Motion; 2],
    /// `JOINT first`.
    pub first: Option<Name>,
    /// Gates.
    pub gates: Vec<Gate>,
}

/// `JOINT not past ANGLE until JOINT past ANGLE`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// The joint that waits.
    pub held: Name,
    /// Where it waits.
    pub not_past: Spanned<AngleValue>,
    /// The joint it waits for.
    pub until: Name,
    /// The angle that opens the gate.
    pub past: Spanned<AngleValue>,
}

/// A motion that lifts a load off or lowers it onto a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transfer {
    /// The load.
    pub load: Name,
    /// The station.
    pub station: Name,
    /// The motion that does it.
    pub motion: Motion,
}

/// A value read against a band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The quantity's name.
    pub quantity: Name,
    /// `at PLACE`.
    pub place: Option<Name>,
    /// The band.
    pub band: Band,
    /// `on INSTRUMENT`.
    pub instrument: Name,
}

/// The accepted values of a reading, ends included where between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Band {
    /// `between A and B`.
    Between(Spanned<Quantity>, Spanned<Quantity>),
    /// `below A`.
    Below(Spanned<Quantity>),
    /// `above A`.
    Above(Spanned<Quantity>),
}
