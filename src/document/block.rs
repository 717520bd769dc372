//! The blocks of the body. Each printed item has an id in `item`; a template must print every one once, in this order.

use super::figure::{self, Drawing};
use super::training::Taught;
use super::{Act, Field, Prose, ReadOut};
use crate::words::{Words, ids};
use serde::Serialize;
use std::sync::Arc;

/// The id of a printed item, such as `s12`, `s13A.1`, `a3`, `h2`.
pub type Item = String;

/// One block of the body.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "block", rename_all = "kebab-case")]
pub enum Block {
    /// A heading and what follows under it.
    Section(Section),
    /// The checks the arm asks for before power on.
    Checks(Checks),
    /// The view in force and what is in the jaw, at a block start and on change.
    Strip(Strip),
    /// An alert, directly before the step it guards.
    Alert(Alert),
    /// A numbered step.
    Step(Box<Step>),
    /// A point that nothing passes until a post has cleared it, or to which a post is invited.
    Hold(Hold),
    /// Independent verification of the step before.
    Verify(Verify),
    /// A value read against a band.
    Reading(Reading),
    /// A time to wait.
    Wait(Wait),
    /// A choice on what is observed.
    Condition(Condition),
    /// Steps done more than once.
    Repeat(Repeat),
    /// A section used here, printed in full.
    Perform(Perform),
    /// A point where crews may change.
    Turnover(Turnover),
    /// Sentences outside the steps.
    Text {
        /// Its id.
        item: Item,
        /// One sentence or paragraph each.
        paragraphs: Vec<Prose>,
    },
    /// A table outside the steps.
    Table(Table),
    /// A drawing of the step before.
    Figure(Figure),
}

/// A section of the procedure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Section {
    /// Its id.
    pub item: Item,
    /// Its heading.
    pub heading: Prose,
    /// How it is entered.
    pub kind: SectionKind,
    /// 1 for a chapter, 2 and 3 below it.
    pub level: u8,
    /// What stands under the heading.
    pub blocks: Vec<Block>,
}

/// How a section is entered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum SectionKind {
    /// In order.
    Body,
    /// Only from the steps that name it; edge-marked, on its own pages.
    Contingency {
        /// "C1".
        number: Field,
        /// Where it is entered from.
        from: Vec<Prose>,
        /// Its last step leads to another.
        goes_on: bool,
    },
}

/// A list of things to find true, each with a box.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Checks {
    /// Its id.
    pub item: Item,
    /// What the list is for.
    pub heading: Prose,
    /// The checks.
    pub checks: Vec<Prose>,
}

/// The strip at a block start and on change of view or load. Repeated at the head of every page of the block.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Strip {
    /// Its id.
    pub item: Item,
    /// The strip at the start of its block: itself, or the one before.
    pub opens: Item,
    /// "BLOCK 2 of 5".
    pub block_number: Field,
    /// The same for a list: "2", or "C1 2" in a contingency.
    #[serde(skip)]
    pub short: String,
    /// Four characters over all that the block prints; at a block start only.
    pub code: Option<Field>,
    /// The view in force.
    pub view: Field,
    /// What is in the jaw, its mass and grip level.
    pub held: Field,
    /// The cautions for loaded pages, two lines at most; empty when the jaw is empty.
    pub cautions: Vec<Prose>,
    /// Every expected read-out, at a block start only.
    pub readouts: Vec<ReadOut>,
    /// How wide the empty jaw stands, beside the read-outs; none where it holds something or nothing is known.
    pub jaw: Option<Prose>,
    /// What to do when stopped part-way in this block.
    pub stopped: Option<Prose>,
    /// At which of its steps going on or back was checked; none where nothing in the block moves, or nothing was looked at.
    pub part_way: Option<Prose>,
    /// The shortest time for which the arm touches nothing without power, of all its steps, and what then; none if nothing tells.
    pub sag: Option<Prose>,
}

/// Signal word of an alert, in falling order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Signal {
    /// WARNING.
    Warning,
    /// CAUTION.
    Caution,
    /// NOTE.
    Note,
}

/// An alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Alert {
    /// Its id.
    pub item: Item,
    /// Its signal word.
    pub signal: Signal,
    /// What can do harm.
    pub hazard: Option<Prose>,
    /// What the harm is.
    pub consequence: Option<Prose>,
    /// What to keep to.
    pub avoid: Option<Prose>,
    /// Free text, of a note.
    pub text: Vec<Prose>,
}

/// What stands at the right of a row for the reader to fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SignOff {
    /// A box to tick and a box for N/A.
    Tick,
    /// Initials and a box for N/A.
    Initials,
}

/// A blank for an actual value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Actual {
    /// Unit printed behind the blank.
    pub unit: String,
}

/// A numbered step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Its id.
    pub item: Item,
    /// "12", "13A.1", "C1.1".
    pub number: Field,
    /// What to do.
    pub act: Act,
    /// Labelled lines in the writer's order.
    pub lines: Vec<Line>,
    /// That no reason is written where something moves, in the edition to learn from.
    pub no_reason: Option<Prose>,
    /// Words of the step, and what arm and cell say of its act.
    pub notes: Vec<Prose>,
    /// How far beyond its end it may run on at most, and what is met there.
    pub limits: Vec<Prose>,
    /// What is told of it: a lever, how far one joint may lead, what holds part-way.
    pub told: Vec<Prose>,
    /// Numbers of the taps that are counted in boxes; empty without taps, in a repeat, or where there are too many.
    pub taps: Vec<String>,
    /// A blank, where an actual value is wanted.
    pub actual: Option<Actual>,
    /// The data sheet and line on which the value is written, instead of at the step.
    pub sheet: Option<Prose>,
    /// What the reader fills in.
    pub sign: SignOff,
    /// Numbers of the passes that are marked apart; empty outside a repeat, or where there are too many.
    pub passes: Vec<String>,
}

/// What a line under a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Label {
    /// What to watch during the act.
    Watch,
    /// What proves it done.
    Proof,
    /// What ends it at once.
    StopIf,
    /// What to do if the proof fails.
    IfNot,
    /// What may touch what.
    TouchingAllowed,
    /// Who agrees before the act.
    SecondPerson,
    /// What must hold.
    MustBeTrue,
    /// What to say.
    Say,
    /// What to hear back.
    Reply,
    /// The reason; training edition only.
    Why,
    /// A waiver that touches this step.
    Waived,
    /// A warning of this step that was accepted.
    Accepted,
}

impl Label {
    /// In words.
    pub fn said(self, words: &Words) -> &str {
        words.say(match self {
            Label::Watch => ids::LABEL_WATCH,
            Label::Proof => ids::LABEL_PROOF,
            Label::StopIf => ids::LABEL_STOP_IF,
            Label::IfNot => ids::LABEL_IF_NOT,
            Label::TouchingAllowed => ids::LABEL_TOUCHING_ALLOWED,
            Label::SecondPerson => ids::LABEL_SECOND_PERSON,
            Label::MustBeTrue => ids::LABEL_MUST_BE_TRUE,
            Label::Say => ids::LABEL_SAY,
            Label::Reply => ids::LABEL_REPLY,
            Label::Why => ids::LABEL_WHY,
            Label::Waived => ids::LABEL_WAIVED,
            Label::Accepted => ids::LABEL_ACCEPTED,
        })
    }
}

/// A labelled line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    /// What it is, for templates.
    pub is: Label,
    /// Its label as printed.
    pub label: String,
    /// Its sentence.
    pub text: Prose,
}

/// A hold point or a witness point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hold {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// "H2", "W1".
    pub name: Field,
    /// Work may go on after notice.
    pub witness: bool,
    /// The post.
    pub role: Field,
    /// What must be true.
    pub criteria: Vec<Prose>,
    /// Other labelled lines.
    pub lines: Vec<Line>,
    /// Of a hold point, none of them says what is done if it is not cleared.
    pub silent: bool,
    /// Other words of the step.
    pub notes: Vec<Prose>,
    /// What stands in place of the signatures, in the edition to learn from.
    pub taught: Option<Taught>,
}

/// Independent verification after an act.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Verify {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// The step verified, as printed.
    pub of: Field,
    /// The post.
    pub role: Field,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// Other words of the step.
    pub notes: Vec<Prose>,
    /// What stands in place of the signatures, in the edition to learn from.
    pub taught: Option<Taught>,
}

/// A value read on an instrument.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// What is read, and where.
    pub quantity: Field,
    /// The instrument.
    pub instrument: Field,
    /// The accepted band.
    pub band: Band,
    /// Unit printed behind the blank.
    pub unit: String,
    /// The data sheet and line on which it is written, instead of at the step.
    pub sheet: Option<Prose>,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// Other words of the step.
    pub notes: Vec<Prose>,
}

/// An accepted band.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "band", rename_all = "kebab-case")]
pub enum Band {
    /// Between two values.
    Between {
        /// Lowest.
        low: Field,
        /// Highest.
        high: Field,
    },
    /// Below a value.
    Below {
        /// The value.
        high: Field,
    },
    /// Above a value.
    Above {
        /// The value.
        low: Field,
    },
}

/// A wait.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Wait {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// Shortest time.
    pub least: Field,
    /// Longest time.
    pub most: Option<Field>,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// Other words of the step.
    pub notes: Vec<Prose>,
}

/// A choice; each arm has a box for "taken".
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Condition {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// The observable condition.
    pub text: Prose,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// The arms, in order.
    pub arms: Vec<Arm>,
}

/// One arm of a choice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Arm {
    /// Its id.
    pub item: Item,
    /// "13A".
    pub number: Field,
    /// "then" or "otherwise".
    pub holds: bool,
    /// Empty: go on.
    pub blocks: Vec<Block>,
}

/// A bounded repeat; each pass has a box.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Repeat {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// Most passes.
    pub most: Field,
    /// What ends it.
    pub until: Prose,
    /// One mark each.
    pub passes: Vec<String>,
    /// Labelled lines: what to do when it is not met.
    pub lines: Vec<Line>,
    /// The steps of one pass.
    pub blocks: Vec<Block>,
}

/// A section used at this place, printed in full.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Perform {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// The section's heading.
    pub of: Prose,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// Its steps, numbered from here.
    pub blocks: Vec<Block>,
}

/// A point where crews may change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Turnover {
    /// Its id.
    pub item: Item,
    /// Step number.
    pub number: Field,
    /// Expected read-outs.
    pub readouts: Vec<ReadOut>,
    /// What is in the jaw.
    pub held: Field,
    /// Labelled lines.
    pub lines: Vec<Line>,
    /// Other words of the step.
    pub notes: Vec<Prose>,
    /// What stands in place of the signatures, in the edition to learn from.
    pub taught: Option<Taught>,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Table {
    /// Its id.
    pub item: Item,
    /// Column heads.
    pub head: Vec<Prose>,
    /// Rows of cells.
    pub rows: Vec<Vec<Prose>>,
}

/// A drawing of a step, from above and from the side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// Its id.
    pub item: Item,
    /// "Step 12".
    pub step: Field,
    /// What it shows, a sentence each.
    pub caption: Vec<Prose>,
    /// What is drawn; a template is told the values in it, and places it whole.
    #[serde(serialize_with = "figure::values")]
    pub drawing: Arc<Drawing>,
}
