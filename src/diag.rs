//! Findings: what is wrong with what a person wrote, where, with which numbers, and how to mend it.
//!
//! Invariant: a [`Diagnostic`] can only be made through a [`Rule`], so every finding has a declared,
//! documented and tested rule behind it. The environment's failures are [`crate::error::Error`], never this.

use crate::text::Span;

pub mod fold;
pub mod json;
pub mod render;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Worth a look; never stops anything.
    Advice,
    /// Probably wrong; can be dispositioned.
    Warning,
    /// Wrong: nothing that could be approved is printed while one stands.
    Error,
}

impl Severity {
    /// As shown and as written on the command line and in a policy.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Advice => "advice",
        }
    }
}

/// What a rule looks at; the chapters of the rule reference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs, reason = "the names are the documentation; each chapter has a title below")]
pub enum Family {
    File,
    Notation,
    Model,
    Reference,
    Travel,
    Direction,
    Continuity,
    Console,
    Clearance,
    Reach,
    Load,
    Sight,
    Grip,
    Power,
    Hold,
    Alert,
    Document,
    Prose,
    Flow,
    Print,
}

impl Family {
    /// Every chapter, in the order of the rule reference.
    pub const ALL: [Family; 20] = [
        Family::File,
        Family::Notation,
        Family::Model,
        Family::Reference,
        Family::Travel,
        Family::Direction,
        Family::Continuity,
        Family::Console,
        Family::Clearance,
        Family::Reach,
        Family::Load,
        Family::Sight,
        Family::Grip,
        Family::Power,
        Family::Hold,
        Family::Alert,
        Family::Document,
        Family::Prose,
        Family::Flow,
        Family::Print,
    ];
    /// The chapter's title.
    pub fn title(self) -> &'static str {
        match self {
            Family::File => "Files and characters",
            Family::Notation => "Notation",
            Family::Model => "Arm, cell and policy files",
            Family::Reference => "Names, anchors and links",
            Family::Travel => "Travel and turns",
            Family::Direction => "Directions",
            Family::Continuity => "Start, end and joins",
            Family::Console => "Console",
            Family::Clearance => "Clearance",
            Family::Reach => "Reach, stations and tilt",
            Family::Load => "Loads on joints and grip in motion",
            Family::Sight => "What the views show",
            Family::Grip => "Jaw and loads",
            Family::Power => "Power",
            Family::Hold => "Hold points and verifications",
            Family::Alert => "Alerts",
            Family::Document => "Sections, lines and wording",
            Family::Prose => "Plain words (looked at if the policy asks for it)",
            Family::Flow => "Branches, repeats and calls",
            Family::Print => "Print and templates",
        }
    }
}

/// How well the reason for a rule is founded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// The clause itself was read in a public copy.
    Read(&'static str),
    /// Known only through another author's digest.
    Digest(&'static str),
    /// From memory, not verified.
    Memory(&'static str),
    /// Practice of the trade, without a published source.
    CommonPractice,
    /// Follows from the notation's own definition.
    Definition,
}

/// Which file an example changes, starting from the small fixture all examples share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExampleFile {
    /// The steps under the standard front matter; the text is Markdown after the front matter.
    Steps,
    /// A whole procedure with its own front matter.
    Procedure,
    /// A patch of the arm profile.
    Arm,
    /// A patch of the cell.
    Cell,
    /// A patch of the policy.
    Policy,
}

/// A small input that shows a rule. In `bad` examples `⟦` and `⟧` mark the exact span of the finding.
#[derive(Clone, Copy, Debug)]
pub struct Example {
    /// Which file the text belongs to.
    pub file: ExampleFile,
    /// For patches, the text of the fixture that `text` takes the place of (must occur exactly once).
    pub replace: &'static str,
    /// The text.
    pub text: &'static str,
}

impl Example {
    /// Steps under the standard front matter.
    pub const fn steps(text: &'static str) -> Example {
        Example { file: ExampleFile::Steps, replace: "", text }
    }
    /// A whole procedure.
    pub const fn procedure(text: &'static str) -> Example {
        Example { file: ExampleFile::Procedure, replace: "", text }
    }
    /// A patch of one of the model files.
    pub const fn patch(file: ExampleFile, replace: &'static str, text: &'static str) -> Example {
        Example { file, replace, text }
    }
}

/// A rule, declared once. Reference pages, `explain` and the tests all come from this value.
#[derive(Debug)]
pub struct Rule {
    /// Permanent kebab-case name of the *defect*, such as `over-travel`.
    pub id: &'static str,
    /// Chapter.
    pub family: Family,
    /// Weight unless the policy says otherwise.
    pub severity: Severity,
    /// Holds at every site, as a physical limit does. See [`Rule::fixed`].
    pub physical: bool,
    /// One line: what is wrong when this rule speaks.
    pub summary: &'static str,
    /// Why it matters at the console, in a few sentences.
    pub why: &'static str,
    /// Where the rule comes from.
    pub evidence: Evidence,
    /// Inputs that must give exactly this rule at exactly the marked span.
    pub bad: &'static [Example],
    /// Inputs on which this rule must stay silent.
    pub good: &'static [Example],
}

impl Rule {
    /// A rule on what makes a print: an error that nothing softens, without examples, as these are files of a site.
    pub const fn of_print(id: &'static str, summary: &'static str, why: &'static str) -> Rule {
        Rule {
            id,
            family: Family::Print,
            severity: Severity::Error,
            physical: true,
            summary,
            why,
            evidence: Evidence::Definition,
            bad: &[],
            good: &[],
        }
    }
    /// What it is about, where no policy softens it and no waiver lifts it: a physical limit, or an error that leaves open
    /// what the files say or which way the steps go. Behind such a one nothing was checked that could be signed for.
    pub fn fixed(&self) -> Option<&'static str> {
        let basis = matches!(self.family, Family::File | Family::Notation | Family::Model | Family::Reference | Family::Flow);
        match self.family {
            _ if basis && (self.physical || self.severity == Severity::Error) => Some("what the files say or which way the steps go"),
            _ if !self.physical => None,
            Family::Print => Some("what a print must carry"),
            Family::Document => Some("what may be softened or waived"),
            _ => Some("a physical limit"),
        }
    }
    /// Whether no policy softens it and no waiver lifts it.
    pub fn is_fixed(&self) -> bool {
        self.fixed().is_some()
    }
    /// A finding of this rule at `span`. `message` says what was asked and what is possible, with numbers.
    pub fn at(&'static self, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            rule: self,
            severity: self.severity,
            message: message.into(),
            span,
            mark: String::new(),
            labels: Vec::new(),
            help: Vec::new(),
            fix: None,
            numbers: Vec::new(),
            step: None,
            path: None,
            accepted: None,
        }
    }
}

impl PartialEq for Rule {
    fn eq(&self, other: &Rule) -> bool {
        self.id == other.id
    }
}

/// What no rule can decide and a reviewer is asked instead, declared once like a rule.
#[derive(Debug)]
pub struct Question {
    /// Permanent kebab-case name.
    pub id: &'static str,
    /// As it is put to the reviewer, with its question mark.
    pub words: &'static str,
    /// Why no rule can answer it.
    pub why: &'static str,
    /// Where the question comes from.
    pub evidence: Evidence,
}

/// How many rules several lists hold.
pub const fn count(families: &[&[&'static Rule]]) -> usize {
    let (mut n, mut i) = (0, 0);
    while i < families.len() {
        n += families[i].len();
        i += 1;
    }
    n
}

/// The rules of several lists in one, at compile time: a floor's list is made of its families', so that none is forgotten.
/// `N` is what [`count`] says.
pub const fn gather<const N: usize>(families: &[&[&'static Rule]]) -> [&'static Rule; N] {
    let mut all = [families[0][0]; N];
    let (mut n, mut i) = (0, 0);
    while i < families.len() {
        let mut j = 0;
        while j < families[i].len() {
            all[n] = families[i][j];
            n += 1;
            j += 1;
        }
        i += 1;
    }
    all
}

/// A second place that explains the finding, possibly in another file.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What is to be seen there.
    pub text: String,
}

/// A replacement that is certain to be what was meant.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// The bytes to replace.
    pub span: Span,
    /// What to put there.
    pub text: String,
    /// What the fix does, as an order: "write the minus sign as -".
    pub title: String,
}

/// A number of a message as data, with its unit: `("target", "+105 deg")`.
pub type Number = (&'static str, String);

/// One finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// The rule that speaks.
    pub rule: &'static Rule,
    /// Weight after the policy was applied.
    pub severity: Severity,
    /// What was asked, what is possible, from which state.
    pub message: String,
    /// The place to mend.
    pub span: Span,
    /// A few words under the marked place; may be empty.
    pub mark: String,
    /// Other places that explain it.
    pub labels: Vec<Label>,
    /// What to do.
    pub help: Vec<String>,
    /// A certain replacement.
    pub fix: Option<Fix>,
    /// The message's numbers as data.
    pub numbers: Vec<Number>,
    /// The printed number of the step, where there is one.
    pub step: Option<String>,
    /// The path of branches that leads here ("if 13A was taken"), where it matters.
    pub path: Option<String>,
    /// How a post has taken it on, in the front matter.
    pub accepted: Option<Acceptance>,
}

/// How a finding is taken on by a post.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Acceptance {
    /// A waiver has lifted it.
    Waived,
    /// It stands as a warning, with a disposition.
    Dispositioned,
}

impl Diagnostic {
    /// Adds the words under the marked place.
    #[must_use]
    pub fn mark(mut self, text: impl Into<String>) -> Self {
        self.mark = text.into();
        self
    }
    /// Adds another place.
    #[must_use]
    pub fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into() });
        self
    }
    /// Adds advice.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }
    /// Adds a certain replacement.
    #[must_use]
    pub fn fix(mut self, span: Span, text: impl Into<String>, title: impl Into<String>) -> Self {
        self.fix = Some(Fix { span, text: text.into(), title: title.into() });
        self
    }
    /// Adds a number as data.
    #[must_use]
    pub fn number(mut self, name: &'static str, value: impl ToString) -> Self {
        self.numbers.push((name, value.to_string()));
        self
    }
    /// Names the printed step.
    #[must_use]
    pub fn step(mut self, number: impl ToString) -> Self {
        self.step = Some(number.to_string());
        self
    }
    /// Names the path of branches.
    #[must_use]
    pub fn path(mut self, path: impl Into<String>) -> Self {
        let path = path.into();
        self.path = if path.is_empty() { None } else { Some(path) };
        self
    }

    /// Says how it is taken on, and where that is written.
    #[must_use]
    pub fn accepted(mut self, how: Acceptance, span: Span, words: impl Into<String>) -> Self {
        self.accepted = Some(how);
        self.label(span, words)
    }

    /// Counts findings that follow from this one and are not shown, with those counted before.
    pub fn fold(&mut self, more: usize) {
        const COUNT: &str = "more findings";
        const WORDS: &str = "not shown until it is mended";
        let before = self.numbers.iter().position(|(name, _)| *name == COUNT);
        let n = more + before.map_or(0, |at| self.numbers.remove(at).1.parse().unwrap_or(0));
        self.help.retain(|h| !h.ends_with(WORDS));
        let (what, are) = if n == 1 { ("finding follows", "is") } else { ("findings follow", "are") };
        self.help.push(format!("{n} more {what} from this one and {are} {WORDS}"));
        self.numbers.push((COUNT, n.to_string()));
    }
}

/// The candidate nearest to `word`, if near enough to be a slip of the keyboard.
pub fn suggest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    candidates
        .into_iter()
        .map(|c| (strsim::damerau_levenshtein(word, c), c))
        .filter(|(d, c)| *d <= 1.max(c.chars().count() / 3))
        .min_by_key(|(d, c)| (*d, *c))
        .map(|(_, c)| c)
}

/// The rule that the tests of this floor speak with.
#[cfg(test)]
static SAMPLE: Rule = Rule {
    id: "over-travel",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "",
    why: "",
    evidence: Evidence::Definition,
    bad: &[],
    good: &[],
};
