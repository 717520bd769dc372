//! Identity, first page and start conditions.

use super::figure::{self, Drawing};
use super::{Field, Prose};
use serde::{Serialize, Serializer, ser::SerializeStruct};
use std::fmt;
use std::sync::Arc;

/// Who the document is. Printed at the head of every page.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Identity {
    /// `doc.number`, such as "B3-014".
    pub number: Field,
    /// `doc.title`.
    pub title: Field,
    /// `doc.revision`, such as "C".
    pub revision: Field,
    /// `doc.date`; also the date inside the file, which is never the clock's.
    pub date: Date,
    /// `doc.use`, such as "CONTINUOUS USE".
    pub use_level: Field,
    /// `doc.digest`: the short code of the content digest, for every page.
    pub code: Field,
}

/// A calendar day, printed as in `2026-11-20`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Date {
    /// Four digits.
    pub year: u16,
    /// 1 to 12.
    pub month: u8,
    /// 1 to 31.
    pub day: u8,
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut out = serializer.serialize_struct("Date", 2)?;
        out.serialize_field("id", "doc.date")?;
        out.serialize_field("text", &self.to_string())?;
        out.end()
    }
}

/// The first page. Every sentence on it has an id, so a template that leaves one out is refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Front {
    /// Always `front`.
    pub item: &'static str,
    /// What the task achieves.
    pub purpose: Vec<Prose>,
    /// What was checked, from the proofs that ran.
    pub checked: Vec<Prose>,
    /// What was not checked.
    pub unchecked: Vec<Prose>,
    /// How many findings stand, and how many warnings nobody has accepted.
    pub standing: Prose,
    /// What was waived, and why it may not be issued.
    pub reserve: Prose,
    /// Why it may not be issued, each reason by itself; they stand where the approvals would. Empty if it may be.
    pub barred: Vec<Prose>,
    /// What the checks take for granted.
    pub assumptions: Vec<Prose>,
    /// The cautions that stay on every first page.
    pub cautions: Vec<Prose>,
    /// Arm, cell, policy and load data with their dates and digests.
    pub models: Vec<ModelData>,
    /// Who takes part.
    pub roles: Vec<Role>,
    /// What was waived, by whom.
    pub waivers: Vec<Waiver>,
    /// Which warnings were accepted, by whom.
    pub dispositions: Vec<Disposition>,
    /// What the signal words and short forms mean.
    pub abbreviations: Vec<Abbreviation>,
    /// What changed when, newest last.
    pub revisions: Vec<Revision>,
    /// `doc.content`: the full content digest.
    pub digest: Field,
}

/// One model the checks ran against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ModelData {
    /// "Arm", "Cell", "Policy", ...
    pub what: String,
    /// Its name.
    pub name: Field,
    /// Its revision.
    pub revision: Field,
    /// Its date: surveyed, measured or accepted.
    pub date: Field,
    /// Its digest.
    pub digest: Field,
}

/// A post that takes part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Role {
    /// The post.
    pub name: Field,
    /// What the post does here.
    pub duty: Prose,
}

/// A rule set aside, by whom and until when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Waiver {
    /// The rule's id.
    pub rule: Field,
    /// Where it was waived.
    pub step: Field,
    /// Why.
    pub reason: Prose,
    /// The post that answers for it.
    pub post: Field,
    /// Last day it holds.
    pub expiry: Field,
}

/// A warning that stands, and who accepted it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Disposition {
    /// The rule's id.
    pub rule: Field,
    /// Where it warns.
    pub step: Field,
    /// Why it is accepted.
    pub reason: Prose,
    /// The post that answers for it.
    pub post: Field,
    /// The day it was accepted.
    pub date: Field,
}

/// An entry of the revision record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Revision {
    /// The revision.
    pub revision: Field,
    /// Its date.
    pub date: Field,
    /// What changed and why.
    pub text: Prose,
}

/// A short form and what it stands for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Abbreviation {
    /// The short form or signal word.
    pub short: Field,
    /// Its meaning.
    pub meaning: Prose,
}

/// A square that a machine reads.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Code {
    /// Always `qr`.
    pub item: &'static str,
    /// The square.
    #[serde(serialize_with = "figure::values")]
    pub drawing: Arc<Drawing>,
}

/// What is where, in printed order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Contents {
    /// Always `contents`.
    pub item: &'static str,
    /// Each leads to the item that its id names: `contents.to-s12`.
    pub lines: Vec<Prose>,
}

/// The cover of the record of a run: who takes part, what interrupted it, how it ended. All of it is filled in by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Record {
    /// Always `record`.
    pub item: &'static str,
    /// The post that performs the steps; none where none is known.
    pub performer: Option<Field>,
    /// The post that decides how the work goes on after a stop; none where the policy names none.
    pub decides: Option<Field>,
    /// The posts that take part, each with room for a name.
    pub posts: Vec<Field>,
    /// The check value of each block, in printed order: "2 K7TX".
    pub codes: Vec<Field>,
    /// What must be so before the work, each with room for initials.
    pub prerequisites: Vec<Prose>,
    /// What makes the result acceptable, each with room for initials.
    pub criteria: Vec<Prose>,
    /// How long it takes by estimate, with room for what it took.
    pub time: Option<super::package::Estimate>,
}

/// What must be found before the first step; each line gets a box to tick.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Start {
    /// Always `start`.
    pub item: &'static str,
    /// Name of the starting pose.
    pub pose: Field,
    /// Every joint's expected read-out.
    pub readouts: Vec<ReadOut>,
    /// The arm whose console and card must be at hand.
    pub arm: Field,
    /// The revision of its profile.
    pub profile: Field,
    /// Jaw opening.
    pub jaw: Field,
    /// Tool fitted.
    pub tool: Option<Field>,
    /// Power at the console.
    pub power: Field,
    /// Where each load and piece of equipment is.
    pub places: Vec<Place>,
}

/// What to do if power is lost, on a page that is found without reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PowerLost {
    /// Always `power`.
    pub item: &'static str,
    /// What to do, in order; each line gets a box to tick.
    pub lines: Vec<Prose>,
}

/// What a read-out is expected to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expected {
    /// One angle, within its limits.
    Angle,
    /// Any angle between the limits: the joint stopped somewhere.
    Range,
    /// Any angle of its travel: the pose leaves the joint free.
    Any,
    /// Nothing is known.
    Unknown,
}

/// A joint's expected read-out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadOut {
    /// What is expected, for templates.
    pub is: Expected,
    /// The engraved name.
    pub joint: Field,
    /// The expected value.
    pub expected: Field,
    /// Lowest accepted value.
    pub low: Field,
    /// Highest accepted value.
    pub high: Field,
}

/// Where a load rests, or the state of a piece of equipment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The load or equipment.
    pub what: Field,
    /// The station or state.
    pub is: Field,
}
