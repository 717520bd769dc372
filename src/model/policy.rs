//! The policy: the site's own rules as data.

pub(super) mod keys;
mod load;
pub mod rules;
mod times;

pub use load::load;
pub use times::{Task, Times};

use super::RoleId;
use super::arm::find;
use crate::diag::Severity;
use crate::syntax::tree::{AlertKind, Label};
use crate::text::{FileId, Span, Spanned};
use crate::units::{Angle, Ratio, Time};

/// A policy file.
#[derive(Debug)]
pub struct Policy {
    /// The file.
    pub file: FileId,
    /// `site`.
    pub site: Spanned<String>,
    /// `revision`.
    pub revision: Spanned<String>,
    /// `date`.
    pub date: Spanned<String>,
    /// The posts that appear in procedures.
    pub roles: Vec<Role>,
    /// The stop word.
    pub stop_word: String,
    /// Titles of sections every procedure must have, in order.
    pub sections: Vec<Spanned<String>>,
    /// The alert scheme.
    pub alerts: AlertScheme,
    /// Labelled lines wanted by kind of act.
    pub lines: Vec<LineDemand>,
    /// What certain acts need before or with them.
    pub demands: Vec<Demand>,
    /// How the words of a procedure are looked at.
    pub writing: Writing,
    /// Longest run of steps without a sign-off.
    pub longest_run: Spanned<u32>,
    /// Safety factor on grip.
    pub grip_factor: Spanned<Ratio>,
    /// What the view in force must show.
    pub sight: Sight,
    /// Whether a motion that a view shows the other way round is a finding.
    pub advise_reversed: bool,
    /// A step that comes within this many margins of something has a figure.
    pub near: Ratio,
    /// Greatest age of model data.
    pub model_age: Option<Spanned<Time>>,
    /// How long acts take; none where the site does not say.
    pub times: Option<Times>,
    /// Severities the site sets, by rule id.
    pub severities: Vec<(Spanned<String>, Severity)>,
    /// Rules that may be waived, by id.
    pub waivable: Vec<Spanned<String>>,
    /// Paper of the print; A4 where none is named.
    pub paper: Option<Paper>,
    /// Sizes of the print; for a reader who holds the page where none are named.
    pub preset: Option<Preset>,
    /// The tag of the language of its prints.
    pub language: Option<Spanned<String>>,
    /// Whether readings are written on sheets of their own; where many are taken, if none is named.
    pub data_sheets: Option<DataSheets>,
}

impl Policy {
    /// The post that decides how the work goes on after a stop.
    pub fn decides(&self) -> Option<&Role> {
        self.roles.iter().find(|r| r.decides)
    }
}

/// A post.
#[derive(Debug)]
pub struct Role {
    /// As written in statements: "Radiation protection".
    pub name: Spanned<String>,
    /// May clear hold points.
    pub clears: bool,
    /// May drive the arm.
    pub performs: bool,
    /// Decides how the work goes on after a stop.
    pub decides: bool,
}

/// Meanings of the signal words at this site; printed on page 1.
#[derive(Debug)]
pub struct AlertScheme {
    /// The table.
    pub span: Span,
    /// Definition of WARNING.
    pub warning: String,
    /// Definition of CAUTION.
    pub caution: String,
    /// Definition of NOTE.
    pub note: String,
    /// Whether an `Avoid:` line may stand in an alert.
    pub avoid_allowed: bool,
}

/// How the words of a procedure are looked at.
#[derive(Debug)]
pub struct Writing {
    /// Whether plain words are looked at, and how much a finding about them weighs.
    pub prose: Prose,
    /// What would be a warning about plain words stands as an error.
    pub strict: bool,
    /// Steps stand without articles.
    pub omit_articles: bool,
    /// Most words of a sentence.
    pub most_words: u32,
    /// A plain step may open with a listed verb only.
    pub listed_only: bool,
    /// Verbs of the site, each with its class, in lower case.
    pub verbs: Vec<(String, VerbClass)>,
    /// One name for a thing, and what it is not to be called.
    pub terms: Vec<Term>,
    /// How far a load may lean that is called plumb.
    pub plumb: Angle,
}

impl Default for Writing {
    fn default() -> Writing {
        Writing {
            prose: Prose::Off,
            strict: false,
            omit_articles: false,
            most_words: 20,
            listed_only: false,
            verbs: Vec::new(),
            terms: Vec::new(),
            plumb: Angle(5000),
        }
    }
}

/// How much a finding about plain words weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Prose {
    /// Plain words are not looked at.
    Off,
    /// Every finding is advice.
    Advice,
    /// A finding weighs what its rule says.
    Warning,
}

/// What a verb asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VerbClass {
    /// Something is moved, opened, switched or changed.
    Manipulate,
    /// Something is looked at or compared.
    Observe,
    /// Something is written down.
    Record,
    /// Somebody is told or asked.
    Communicate,
    /// The reader goes on elsewhere.
    Branch,
    /// Nothing is done until something has happened.
    Hold,
}

impl VerbClass {
    /// Every class.
    pub const ALL: [VerbClass; 6] =
        [VerbClass::Manipulate, VerbClass::Observe, VerbClass::Record, VerbClass::Communicate, VerbClass::Branch, VerbClass::Hold];
}

/// One name for a thing.
#[derive(Debug)]
pub struct Term {
    /// The name.
    pub name: Spanned<String>,
    /// Other names that people use for it, in lower case.
    pub not: Vec<Spanned<String>>,
}

/// Kinds of acts the policy can speak of. One table serves loader, messages and rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs, reason = "see `Act::word`")]
pub enum Act {
    PowerOn,
    Move,
    TwoAxis,
    Guarded,
    Taps,
    Close,
    Lift,
    Lower,
    LetGo,
    Fit,
    PutDown,
    SetEquipment,
    Read,
    Check,
    Wait,
    HoldPoint,
    Tell,
}

impl Act {
    /// All acts.
    pub const ALL: [Act; 17] = [
        Act::PowerOn,
        Act::Move,
        Act::TwoAxis,
        Act::Guarded,
        Act::Taps,
        Act::Close,
        Act::Lift,
        Act::Lower,
        Act::LetGo,
        Act::Fit,
        Act::PutDown,
        Act::SetEquipment,
        Act::Read,
        Act::Check,
        Act::Wait,
        Act::HoldPoint,
        Act::Tell,
    ];
    /// As written in the policy.
    pub fn word(self) -> &'static str {
        match self {
            Act::PowerOn => "power-on",
            Act::Move => "move",
            Act::TwoAxis => "together",
            Act::Guarded => "guarded-move",
            Act::Taps => "taps",
            Act::Close => "close",
            Act::Lift => "lift",
            Act::Lower => "lower",
            Act::LetGo => "let-go",
            Act::Fit => "fit",
            Act::PutDown => "put-down",
            Act::SetEquipment => "set",
            Act::Read => "read",
            Act::Check => "check",
            Act::Wait => "wait",
            Act::HoldPoint => "hold-point",
            Act::Tell => "tell",
        }
    }
}

/// A labelled line the site wants under an act.
#[derive(Debug)]
pub struct LineDemand {
    /// Where the policy says so.
    pub span: Span,
    /// The act.
    pub act: Act,
    /// The label.
    pub label: Label,
}

/// Something the site wants before or with an act.
#[derive(Debug)]
pub struct Demand {
    /// Where the policy says so.
    pub span: Span,
    /// The act.
    pub act: Act,
    /// Only for critical loads.
    pub critical_only: bool,
    /// What is wanted.
    pub needs: Need,
    /// Why, printed in messages.
    pub reason: String,
}

/// What a demand asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// A hold point on every path, with no motion between it and the act.
    Hold(RoleId),
    /// A witness point likewise.
    Witness(RoleId),
    /// `Second person: ..., agree before the act`.
    SecondPerson,
    /// `verify after` directly behind.
    VerifyAfter,
    /// An alert directly before.
    Alert(AlertKind),
}

/// What the view in force must show over a move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sight {
    /// The tool point.
    ToolPoint,
    /// The tool point, and what moves nearest to something.
    NearestToo,
}

/// Paper sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm.
    A4,
    /// 8.5 x 11 in.
    Letter,
}

/// Where readings are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DataSheets {
    /// On sheets of their own.
    Always,
    /// At their steps.
    Never,
}

/// For whom the sizes of a print are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Preset {
    /// A reader who holds the page.
    Reader,
    /// One who stands back.
    StandBack,
    /// A gallery with little light.
    DimGallery,
}

impl Preset {
    /// All presets.
    pub const ALL: [Preset; 3] = [Preset::Reader, Preset::StandBack, Preset::DimGallery];
    /// As written in the policy.
    pub fn word(self) -> &'static str {
        match self {
            Preset::Reader => "reader",
            Preset::StandBack => "stand-back",
            Preset::DimGallery => "dim-gallery",
        }
    }
}

impl Policy {
    /// Looks a role up, without regard to case (a role may start a sentence).
    pub fn find_role(&self, name: &str) -> Option<RoleId> {
        find(&self.roles, |r| &r.name.value, name)
            .or_else(|| self.roles.iter().position(|r| r.name.value.eq_ignore_ascii_case(name)).and_then(|i| u16::try_from(i).ok()))
            .map(RoleId)
    }
}
