//! Fixed sentences of every print that no site may take away, and words that belong to meaning, not to a template.
//!
//! Invariant: nothing here says "proved" or "safe". What was checked comes from the proofs that ran, never from here.

use super::Prose;
use super::Signal;
use super::revision::{Change, Detail, Fate};
use crate::model::arm::{Arm, OnPowerLoss};
use crate::model::procedure::Procedure;

/// Printed with every `power off` and on the first page.
pub const NOT_ISOLATION: &str = "Power off at the console is not isolation for entry. Use the site's lock-and-tag.";
/// At the start of each block.
pub const STOPPED: &str = "Hold. Sticks neutral. Compare read-outs. Resume only on the reader's word.";
/// Over the profile's list.
pub const BEFORE_POWER_ON: &str = "Before power on";
/// The meaning of a tick box that is not used.
pub const NOT_APPLICABLE: &str = "Not applicable: the step was not to be done. The reader marks it.";

/// What the signatures under the reviewer's sheet say.
pub const REVIEWED: [&str; 2] = [
    "I have answered each question above for this revision and content digest, and have looked at every finding that stands.",
    "I have read the answers above; each No is resolved in this revision or stands here with what was decided.",
];

/// What a post does in a procedure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Duty {
    /// Drives the arm.
    Performs,
    /// Clears hold points.
    Clears,
    /// Is invited to witness points.
    Invited,
    /// Verifies afterwards.
    Verifies,
    /// Agrees before an act.
    Agrees,
    /// Is told something.
    Told,
}

impl Duty {
    /// Every duty in the order it is printed.
    pub const ALL: [Duty; 6] = [Duty::Performs, Duty::Clears, Duty::Invited, Duty::Verifies, Duty::Agrees, Duty::Told];

    /// "Clears H1 (step 4), H2 (step 9)." Points are named, other steps numbered.
    pub fn sentence(self, at: &[&str]) -> String {
        let list = at.join(", ");
        let steps = if at.len() == 1 { "step" } else { "steps" };
        match self {
            Duty::Performs => "Performs the steps.".to_owned(),
            Duty::Clears => format!("Clears {list}."),
            Duty::Invited => format!("Is invited to {list}."),
            Duty::Verifies => format!("Verifies independently at {steps} {list}."),
            Duty::Agrees => format!("Agrees before the act at {steps} {list}."),
            Duty::Told => format!("Is told at {steps} {list}."),
        }
    }
}

/// How many findings stand: "No error stands. 2 warnings, 1 without disposition."
pub fn standing(errors: usize, warnings: usize, open: usize) -> String {
    let errors_stand = if errors == 0 { "No error stands.".to_owned() } else { format!("Errors that stand: {errors}.") };
    let warned = if warnings == 1 { "1 warning".to_owned() } else { format!("{warnings} warnings") };
    match (errors, warnings, open) {
        (0, 0, _) => "No error or warning stands.".to_owned(),
        (_, 0, _) => format!("{errors_stand} No warning stands."),
        (_, 1, 0) => format!("{errors_stand} {warned}, with disposition."),
        (_, _, 0) => format!("{errors_stand} {warned}, all with disposition."),
        _ => format!("{errors_stand} {warned}, {open} without disposition."),
    }
}

/// What is waived at a step.
pub fn waived(rule: &str, reason: &str, post: &str, until: &str) -> String {
    format!("{rule}, {reason}, by {post}, until {until}")
}

/// Which warning of a step was accepted.
pub fn accepted(rule: &str, reason: &str, post: &str, date: &str) -> String {
    format!("the warning {rule}, {reason}, by {post}, {date}")
}

/// What the shapes stand for, or that there were none. `shapes` tells whether a check of shapes ran.
fn shapes(arm: &Arm, shapes: bool) -> String {
    if shapes {
        format!("Simplified shapes were checked. {} Deflection, and anything not listed in the models, was not checked.", arm.includes)
    } else {
        format!(
            "No shapes were checked: nothing here says that arm, hoses, tool or load stays clear of the cell or of the arm itself. \
             The profile says: {}",
            arm.includes
        )
    }
}

/// What arm and jaw do when power is lost.
pub fn on_power_loss(arm: &Arm) -> String {
    let jaw = match arm.jaw.on_power_loss {
        OnPowerLoss::Holds => "The jaw holds.",
        OnPowerLoss::LetsGo => "THE JAW LETS GO.",
        OnPowerLoss::Unknown => "It is not known whether the jaw holds.",
    };
    format!("{} {jaw}", arm.console.on_power_loss)
}

fn interlock(p: &Procedure) -> &str {
    if p.cell.interlock.is_empty() { "none is stated." } else { &p.cell.interlock }
}

/// The cautions that stay on every first page.
pub fn cautions(p: &Procedure, shapes_checked: bool) -> Vec<Prose> {
    let arm = &p.arm;
    let list = [
        shapes(arm, shapes_checked),
        "A pass does not authorise work. Local codes, licence conditions, site authority and qualified persons govern; this sheet replaces none."
            .to_owned(),
        "Not assessed: dose, criticality, shielding, confinement, fire, chemical hazards, lifting authority, load swing.".to_owned(),
        NOT_ISOLATION.to_owned(),
        format!(
            "Anyone may call stop. The stop word is {}. Stop control: {}. Loss of voice contact means stop.",
            p.policy.stop_word, arm.console.stop_control
        ),
        format!("Do not open the jaw on a stop. If power is lost: {}", on_power_loss(arm)),
        "Compare read-outs at the start and after any stop; stop if one is outside its limits.".to_owned(),
        "If view, sound, pressure or motion is not as written: stop, hold, tell the reader.".to_owned(),
        format!("Nobody inside the cell or under the load. Interlock: {}", interlock(p)),
    ];
    list.into_iter().enumerate().map(|(i, text)| Prose::plain(format!("front.caution{}", i + 1), text)).collect()
}

/// The same in two lines, for pages on which a load is held.
pub fn loaded(p: &Procedure, item: &str) -> Vec<Prose> {
    let lines = [
        format!("Do not open the jaw on a stop. If power is lost: {}", on_power_loss(&p.arm)),
        format!(
            "Models are simplified; no authority to work. Not as written: call {}, hold, tell. Nobody under the load.",
            p.policy.stop_word
        ),
    ];
    lines.into_iter().enumerate().map(|(i, text)| Prose::plain(format!("{item}.caution{}", i + 1), text)).collect()
}

/// What the checks take for granted.
pub fn assumptions(p: &Procedure) -> Vec<Prose> {
    let grip = match p.arm.jaw.on_power_loss {
        OnPowerLoss::Holds => "The jaw keeps its grip when power is lost.",
        OnPowerLoss::LetsGo => "Power stays on while a load is held: the jaw lets go without it, and nothing was checked for that.",
        OnPowerLoss::Unknown => "Power stays on while a load is held: what the jaw does without it is not known.",
    };
    let list = [
        "Each step is done once, as printed, in order; only printed joints move, and stop inside their limits.".to_owned(),
        "The models bound real limits, shapes, masses, hoses.".to_owned(),
        "Read-out error, sag and creep are as in the profile.".to_owned(),
        "Moves are slow; nothing swings.".to_owned(),
        grip.to_owned(),
        format!("The cell is as surveyed on {}.", p.cell.surveyed.value),
        "The reader holds this revision.".to_owned(),
    ];
    list.into_iter().enumerate().map(|(i, text)| Prose::plain(format!("front.assumption{}", i + 1), text)).collect()
}

/// A heading, in a list of changes.
pub const SECTION: &str = "Heading";
/// Sentences outside the steps.
pub const TEXT: &str = "Text";
/// A table outside the steps.
pub const TABLE: &str = "Table";
/// Of a list of changes without a line.
pub const NO_STEP_CHANGED: &str = "No step, alert or hold point prints anything else than in that revision.";

/// An alert, by its signal word.
pub fn signal(signal: Signal) -> &'static str {
    match signal {
        Signal::Warning => "WARNING",
        Signal::Caution => "CAUTION",
        Signal::Note => "NOTE",
    }
}

/// The place of a numbered step.
pub fn step(number: &str) -> String {
    format!("Step {number}")
}

/// The place of what has no number, by the step behind it.
pub fn before(what: &str, next: Option<&str>) -> String {
    next.map_or_else(|| format!("{what} at the end"), |next| format!("{what} before step {next}"))
}

/// A place of the earlier revision.
pub fn place_before(place: &str) -> String {
    format!("{place}, as numbered before")
}

/// What became of something.
pub fn fate(fate: Fate) -> &'static str {
    match fate {
        Fate::Changed => "changed",
        Fate::New => "new",
        Fate::Moved => "moved",
        Fate::Removed => "removed",
    }
}

/// A line of the list of changes: what stands there, and what it was.
pub fn change(change: &Change) -> String {
    let was = |d: &Detail| d.was.as_ref().map_or_else(|| "nothing".to_owned(), |w| format!("\"{w}\""));
    let is = |d: &Detail| d.is.as_ref().map_or_else(|| "nothing".to_owned(), |w| format!("\"{w}\""));
    let details = || {
        let mut out: Vec<String> = change.details.iter().take(DETAILS).map(|d| format!("{}, was {}", is(d), was(d))).collect();
        match change.details.len().saturating_sub(DETAILS) {
            0 => {}
            1 => out.push("1 more value".to_owned()),
            more => out.push(format!("{more} more values")),
        }
        out.join("; ")
    };
    match (change.fate, &change.before) {
        (Fate::Changed, _) => details(),
        (Fate::Moved, Some(before)) if change.details.is_empty() => format!("{}. It was: {before}.", change.gist),
        (Fate::Moved, Some(before)) => format!("{}. It was: {before}. {}", change.gist, details()),
        _ => change.gist.clone(),
    }
}

/// Most values of one step in the list of changes.
const DETAILS: usize = 4;

/// Something that differs before the first step.
pub fn around(d: &Detail) -> String {
    let word = |w: &Option<String>| w.clone().unwrap_or_else(|| "nothing".to_owned());
    let (of, name) = d.of.split_once('.').unwrap_or((&d.of, ""));
    let what = match of {
        "title" => "Title".to_owned(),
        "use" => "Level of use".to_owned(),
        "purpose" => "Purpose".to_owned(),
        "model" => format!("{} ", name.split('.').next().unwrap_or_default()) + name.rsplit('.').next().unwrap_or_default(),
        "post" => "Post".to_owned(),
        "waiver" => "Waiver".to_owned(),
        _ => "Before the first step".to_owned(),
    };
    format!("{what}: {}, was {}.", word(&d.is), word(&d.was))
}

/// The steps that only have other numbers, in runs: "5 to 9 are now 6 to 10".
pub fn renumbered(pairs: &[(String, String)]) -> String {
    let whole = |n: &str| n.parse::<i64>().ok();
    let mut runs: Vec<(String, String, String, String)> = Vec::new();
    for (old, new) in pairs {
        let follows = |a: &str, b: &str| matches!((whole(a), whole(b)), (Some(a), Some(b)) if b == a + 1);
        match runs.last_mut() {
            Some((_, old_end, _, new_end)) if follows(old_end, old) && follows(new_end, new) => {
                (*old_end, *new_end) = (old.clone(), new.clone());
            }
            _ => runs.push((old.clone(), old.clone(), new.clone(), new.clone())),
        }
    }
    let each = |(a, b, c, d): &(String, String, String, String)| {
        if a == b { format!("{a} is now {c}") } else { format!("{a} to {b} are now {c} to {d}") }
    };
    format!("Other numbers, nothing else: {}.", runs.iter().map(each).collect::<Vec<_>>().join("; "))
}

/// The name of a value that differs: the last word of its place in the data that is no number.
pub fn value(of: &str) -> String {
    let mut parts = of.split('.').rev().filter(|p| *p != "text" && p.parse::<usize>().is_err());
    let last = parts.next().unwrap_or(of);
    match (last, parts.next()) {
        ("lines", _) => "labelled line".to_owned(),
        ("label", Some("lines")) => "label".to_owned(),
        ("told", _) => "told beside it".to_owned(),
        ("notes", _) => "note".to_owned(),
        ("low" | "high" | "expected", Some("readouts")) => format!("read-out, {last}"),
        ("revision" | "date" | "name", Some(model)) => format!("{model}, {last}"),
        _ => last.replace('_', " "),
    }
}
