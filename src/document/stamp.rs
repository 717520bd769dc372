//! What is laid over the content of one copy: its status and where it is valid.

use super::Field;
use super::build::Edition;
use crate::model::Standing;
use crate::words::{Words, ids};
use serde::{Serialize, Serializer, ser::SerializeStruct};

/// How far a document has come. No template changes its words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Errors stand; written only on request.
    Draft {
        /// How many errors stand.
        errors: usize,
    },
    /// No error stands, nobody has approved it.
    CheckedNotApproved,
    /// A card of an arm: no procedure was checked.
    Card,
}

/// What is laid over the content of one copy. Nobody outside this floor can make one, so a status is always earned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    status: Status,
    standing: Standing,
    said: String,
    banner: Option<String>,
    edition: Option<String>,
    /// Nothing is signed in it.
    training: bool,
    pub(super) issue: Issue,
}

/// What one copy is issued for. Empty until somebody issues it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Issue {
    /// Number of this copy.
    pub copy: Option<String>,
    /// Last day this copy may be used.
    pub valid_to: Option<String>,
    /// The work order it is issued for.
    pub work_order: Option<String>,
}

impl Status {
    /// The words printed on every page.
    pub fn words(self, words: &Words) -> String {
        match self {
            Status::Draft { errors: 1 } => words.fill(ids::STATUS_DRAFT_ONE, ["1"]),
            Status::Draft { errors } => words.fill(ids::STATUS_DRAFT, [&errors.to_string()]),
            Status::CheckedNotApproved => words.say(ids::STATUS_CHECKED).to_owned(),
            Status::Card => words.say(ids::STATUS_CARD).to_owned(),
        }
    }
}

impl Stamp {
    /// A stamp with a status and nothing else.
    pub(super) fn new(status: Status, standing: Standing, edition: Edition, words: &Words) -> Self {
        let banner = match standing {
            // No real model stands behind the document, or one whose profile has no record of acceptance.
            Standing::Invented => Some(ids::STATUS_INVENTED),
            Standing::Unaccepted => Some(ids::STATUS_UNACCEPTED),
            Standing::Accepted => None,
        };
        let training = edition.is_taught();
        let [banner, edition] = [banner, edition.banner()].map(|b| b.map(|b| words.say(b).to_owned()));
        Self { status, standing, said: status.words(words), banner, edition, training, issue: Issue::default() }
    }
    /// Printed on every page.
    pub fn status(&self) -> Status {
        self.status
    }
    /// Whether the models are of something real and accepted. If not, a banner forbids use on every page.
    pub fn standing(&self) -> Standing {
        self.standing
    }
}

impl Serialize for Stamp {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let field = |name: &str, text: &Option<String>| text.as_ref().map(|t| Field::new(format!("stamp.{name}"), t.as_str()));
        let mut out = serializer.serialize_struct("Stamp", 8)?;
        out.serialize_field("status", &Field::new("stamp.status", self.said.as_str()))?;
        out.serialize_field("draft", &matches!(self.status, Status::Draft { .. }))?;
        out.serialize_field("banner", &field("banner", &self.banner))?;
        out.serialize_field("edition", &field("edition", &self.edition))?;
        out.serialize_field("training", &self.training)?;
        out.serialize_field("copy", &field("copy", &self.issue.copy))?;
        out.serialize_field("valid_to", &field("valid-to", &self.issue.valid_to))?;
        out.serialize_field("work_order", &field("work-order", &self.issue.work_order))?;
        out.end()
    }
}
