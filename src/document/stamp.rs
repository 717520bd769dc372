//! What is laid over the content of one copy: its status and where it is valid.

use super::Field;
use super::build::Edition;
use crate::model::Standing;
use serde::{Serialize, Serializer, ser::SerializeStruct};

/// How far a document has come. The words are fixed; no template changes them.
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
    edition: Edition,
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
    pub fn words(self) -> String {
        match self {
            Status::Draft { errors: 1 } => "DRAFT, 1 error".to_owned(),
            Status::Draft { errors } => format!("DRAFT, {errors} errors"),
            Status::CheckedNotApproved => "CHECKED, NOT APPROVED".to_owned(),
            Status::Card => "FROM THE ARM PROFILE, NOT APPROVED".to_owned(),
        }
    }
}

/// Printed on every page when no real model stands behind the document.
pub const INVENTED: &str = "INVENTED DATA, NOT FOR ANY REAL ARM";
/// Printed on every page when the profile has no record of acceptance.
pub const UNACCEPTED: &str = "NOT FOR USE: MODEL DATA NOT ACCEPTED";

impl Stamp {
    /// A stamp with a status and nothing else.
    pub(super) fn new(status: Status, standing: Standing, edition: Edition) -> Self {
        Self { status, standing, edition, issue: Issue::default() }
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
        let banner = match self.standing {
            Standing::Invented => Some(INVENTED),
            Standing::Unaccepted => Some(UNACCEPTED),
            Standing::Accepted => None,
        };
        let mut out = serializer.serialize_struct("Stamp", 7)?;
        out.serialize_field("status", &Field::new("stamp.status", self.status.words()))?;
        out.serialize_field("draft", &matches!(self.status, Status::Draft { .. }))?;
        out.serialize_field("banner", &banner.map(|words| Field::new("stamp.banner", words)))?;
        out.serialize_field("edition", &self.edition.banner().map(|words| Field::new("stamp.edition", words)))?;
        out.serialize_field("copy", &field("copy", &self.issue.copy))?;
        out.serialize_field("valid_to", &field("valid-to", &self.issue.valid_to))?;
        out.serialize_field("work_order", &field("work-order", &self.issue.work_order))?;
        out.end()
    }
}
