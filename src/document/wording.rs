//! Cautions and assumptions of every print, and what posts do. A set of words says them in its language; none is left out.
//!
//! Invariant: what was checked comes from the proofs that ran, never from here.

use super::Prose;
use super::revision::{Change, Detail, Fate};
use crate::compiled::Saying;
use crate::model::arm::{Arm, OnPowerLoss};
use crate::model::procedure::{Kind, Procedure};
use crate::trace::distinct;
use crate::units::Angle;
use crate::words::{Unsaid, Words, ids};

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
    pub fn sentence(self, at: &[&str], words: &Words) -> String {
        let list = words.list(&at.iter().map(|a| (*a).to_owned()).collect::<Vec<_>>(), ids::LIST_COMMA);
        let (one, many) = match self {
            Duty::Performs => return words.say(ids::DUTY_PERFORMS).to_owned(),
            Duty::Clears => (ids::DUTY_CLEARS, ids::DUTY_CLEARS),
            Duty::Invited => (ids::DUTY_INVITED, ids::DUTY_INVITED),
            Duty::Verifies => (ids::DUTY_VERIFIES_ONE, ids::DUTY_VERIFIES),
            Duty::Agrees => (ids::DUTY_AGREES_ONE, ids::DUTY_AGREES),
            Duty::Told => (ids::DUTY_TOLD_ONE, ids::DUTY_TOLD),
        };
        words.fill(if at.len() == 1 { one } else { many }, [&list])
    }
}

/// How many findings stand: "No error stands. 2 warnings, 1 without disposition."
pub fn standing(errors: usize, warnings: usize, open: usize, words: &Words) -> String {
    let (e, w, o) = (errors.to_string(), warnings.to_string(), open.to_string());
    let first = if errors == 0 { words.say(ids::STANDING_NO_ERROR).to_owned() } else { words.fill(ids::STANDING_ERRORS, [&e]) };
    let warned = words.fill(if warnings == 1 { ids::STANDING_WARNED_ONE } else { ids::STANDING_WARNED }, [&w]);
    let second = match (warnings, open) {
        (0, _) if errors == 0 => return words.say(ids::STANDING_NONE).to_owned(),
        (0, _) => words.say(ids::STANDING_NO_WARNING).to_owned(),
        (1, 0) => words.fill(ids::STANDING_ONE_ACCEPTED, [&warned]),
        (_, 0) => words.fill(ids::STANDING_ALL_ACCEPTED, [&warned]),
        _ => words.fill(ids::STANDING_OPEN, [&warned, &o]),
    };
    format!("{first} {second}")
}

/// Words as somebody wrote them, or a sentence with what stands in its slots.
pub fn saying(saying: &Saying, words: &Words) -> Result<String, Unsaid> {
    let phrase = match saying {
        Saying::Words(words) => return Ok(words.clone()),
        Saying::Phrase(phrase) => phrase,
    };
    let with = phrase.with.iter().map(|(slot, inner)| Ok((slot.as_str(), self::saying(inner, words)?)));
    let with: Vec<(&str, String)> = with.collect::<Result<_, Unsaid>>()?;
    let with: Vec<(&str, &str)> = with.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
    words.by_id(&phrase.says, &with)
}

/// What arm and jaw do when power is lost.
pub fn on_power_loss(arm: &Arm, words: &Words) -> String {
    let jaw = words.say(match arm.jaw.on_power_loss {
        OnPowerLoss::Holds => ids::CAUTION_JAW_HOLDS,
        OnPowerLoss::LetsGo => ids::CAUTION_JAW_LETS_GO,
        OnPowerLoss::Unknown => ids::CAUTION_JAW_UNKNOWN,
    });
    format!("{} {jaw}", arm.console.on_power_loss)
}

fn interlock<'a>(p: &'a Procedure, words: &'a Words) -> &'a str {
    if p.cell.interlock.is_empty() { words.say(ids::CAUTION_NO_INTERLOCK) } else { &p.cell.interlock }
}

/// Texts under one id, each with its number behind it.
pub fn listed(id: &str, texts: impl IntoIterator<Item = impl Into<String>>) -> Vec<Prose> {
    (1..).zip(texts).map(|(n, text)| Prose::plain(format!("{id}{n}"), text)).collect()
}

/// The cautions that stay on every first page. `shapes` tells whether a check of shapes ran.
pub fn cautions(p: &Procedure, shapes: bool, words: &Words) -> Vec<Prose> {
    let arm = &p.arm;
    let list = [
        words.fill(if shapes { ids::CAUTION_SHAPES } else { ids::CAUTION_NO_SHAPES }, [&arm.includes]),
        words.say(ids::CAUTION_AUTHORITY).to_owned(),
        words.say(ids::CAUTION_NOT_ASSESSED).to_owned(),
        words.say(ids::CAUTION_ISOLATION).to_owned(),
        words.fill(ids::CAUTION_STOP, [&p.policy.stop_word, &arm.console.stop_control]),
        jaw_on_stop(p, words),
        words.say(ids::CAUTION_COMPARE).to_owned(),
        words.say(ids::CAUTION_NOT_AS_WRITTEN).to_owned(),
        words.fill(ids::CAUTION_RUN_PAST, [charge(p, words)]),
        words.fill(ids::CAUTION_NOBODY_INSIDE, [interlock(p, words)]),
    ];
    listed("front.caution", list)
}

/// Places of the cautions on shapes and on what was not assessed.
const NOT_LOOKED_AT: [usize; 2] = [0, 2];

/// Of the cautions those that say where checking ends, under the summary for the safety review.
pub fn not_looked_at(p: &Procedure, shapes: bool, words: &Words) -> Vec<Prose> {
    let ends = cautions(p, shapes, words).into_iter().enumerate().filter(|(i, _)| NOT_LOOKED_AT.contains(i));
    ends.map(|(i, line)| Prose::plain(format!("safety.caution{}", i + 1), line.text())).collect()
}

/// The same in two lines, for pages on which a load is held.
pub fn loaded(p: &Procedure, item: &str, words: &Words) -> Vec<Prose> {
    let lines = [jaw_on_stop(p, words), words.fill(ids::CAUTION_LOADED, [&p.policy.stop_word])];
    listed(&format!("{item}.caution"), lines)
}

/// The first of them, for pages on which a tool is fitted.
pub fn with_tool(p: &Procedure, item: &str, words: &Words) -> Vec<Prose> {
    listed(&format!("{item}.caution"), [jaw_on_stop(p, words)])
}

fn jaw_on_stop(p: &Procedure, words: &Words) -> String {
    words.fill(ids::CAUTION_JAW_ON_STOP, [&on_power_loss(&p.arm, words)])
}

/// Who decides how the work goes on after a stop.
fn charge<'a>(p: &'a Procedure, words: &'a Words) -> &'a str {
    p.policy.decides().map_or_else(|| words.say(ids::CAUTION_CHARGE), |r| &r.name.value)
}

/// What to do where the motion stopped.
pub fn stopped(p: &Procedure, words: &Words) -> String {
    words.fill(ids::CAUTION_STOPPED, [p.policy.stop_word.as_str(), charge(p, words)])
}

/// What to do if power is lost.
pub fn power_lost(p: &Procedure, words: &Words) -> Vec<Prose> {
    let charge = charge(p, words);
    let told = p.steps.iter().filter_map(|s| if let Kind::Tell(role) = s.kind { Some(role.value) } else { None });
    let others = distinct(told.map(|role| p.policy.roles[role.at()].name.value.clone()).filter(|name| *name != charge));
    let others = (!others.is_empty()).then(|| words.fill(ids::POWER_OTHERS, [charge, &words.list(&others, ids::LIST_AND)]));
    let keeps = p.arm.jaw.on_power_loss == OnPowerLoss::Holds;
    let after = words.say(ids::PAGE_AFTER);
    let list = [
        Some(words.fill(ids::POWER_HANDS_OFF, [&p.policy.stop_word])),
        Some(words.fill(ids::POWER_HAPPENS, [&on_power_loss(&p.arm, words)])),
        Some(words.say(ids::POWER_WATCH).to_owned()),
        Some(words.say(ids::POWER_NOBODY_INSIDE).to_owned()),
        Some(words.fill(ids::POWER_TELL, [charge])),
        others,
        (!keeps).then(|| words.fill(ids::POWER_LET_GO, [charge])),
        sinks(&p.arm, words).map(|list| words.fill(ids::POWER_SINKS, [&list])),
        Some(words.fill(ids::POWER_BACK, [after])),
        Some(words.fill(ids::POWER_RESUME, [charge])),
    ];
    listed("power.line", list.into_iter().flatten()).into_iter().map(|line| line.leading(after, "after")).collect()
}

/// How far each joint may go by itself in a minute without power; none where none does.
fn sinks(arm: &Arm, words: &Words) -> Option<String> {
    let drifts = arm.joints.iter().filter_map(|j| Some((j, j.drift_unpowered.as_ref()?.value))).filter(|(_, drift)| drift.0 > 0);
    let each: Vec<String> =
        drifts.map(|(j, drift)| words.fill(ids::POWER_JOINT, [j.engraved.as_str(), &Angle(drift.0).to_string()])).collect();
    (!each.is_empty()).then(|| words.list(&each, ids::LIST_AND))
}

/// What the checks take for granted.
pub fn assumptions(p: &Procedure, words: &Words) -> Vec<Prose> {
    let grip = match p.arm.jaw.on_power_loss {
        OnPowerLoss::Holds => ids::ASSUMED_GRIP_HOLDS,
        OnPowerLoss::LetsGo => ids::ASSUMED_GRIP_LETS_GO,
        OnPowerLoss::Unknown => ids::ASSUMED_GRIP_UNKNOWN,
    };
    let list = [
        words.say(ids::ASSUMED_ORDER),
        words.say(ids::ASSUMED_MODELS),
        words.say(ids::ASSUMED_ERRORS),
        words.say(ids::ASSUMED_SLOW),
        words.say(grip),
        &words.fill(ids::ASSUMED_SURVEYED, [&p.cell.surveyed.value]),
        words.say(ids::ASSUMED_REVISION),
    ];
    listed("front.assumption", list)
}

/// The place of what has no number, by the step behind it.
pub fn before(what: &str, next: Option<&str>, words: &Words) -> String {
    next.map_or_else(|| words.fill(ids::CHANGE_AT_END, [what]), |next| words.fill(ids::CHANGE_BEFORE_STEP, [what, next]))
}

/// What became of something.
pub fn fate(fate: Fate, words: &Words) -> &str {
    words.say(match fate {
        Fate::Changed => ids::CHANGE_CHANGED,
        Fate::New => ids::CHANGE_NEW,
        Fate::Moved => ids::CHANGE_MOVED,
        Fate::Removed => ids::CHANGE_REMOVED,
    })
}

/// A value that is there or not.
fn or_nothing(value: Option<&String>, quoted: bool, words: &Words) -> String {
    match value {
        Some(value) if quoted => words.fill(ids::CHANGE_QUOTED, [value]),
        Some(value) => value.clone(),
        None => words.say(ids::CHANGE_NOTHING).to_owned(),
    }
}

/// A line of the list of changes: what stands there, and what it was.
pub fn change(change: &Change, words: &Words) -> String {
    let details = || {
        let value = |v: &Option<String>| or_nothing(v.as_ref(), true, words);
        let one = |d: &Detail| {
            let detail = words.fill(ids::CHANGE_DETAIL, [&value(&d.is), &value(&d.was)]);
            let name = part(&d.of).map(|entry| words.say(entry));
            [name, d.joint.as_deref()].into_iter().flatten().fold(detail, |said, name| words.fill(ids::CHANGE_NAMED, [name, &said]))
        };
        let mut out: Vec<String> = change.details.iter().take(DETAILS).map(one).collect();
        match change.details.len().saturating_sub(DETAILS) {
            0 => {}
            1 => out.push(words.say(ids::CHANGE_MORE_ONE).to_owned()),
            more => out.push(words.fill(ids::CHANGE_MORE, [&more.to_string()])),
        }
        words.row(&out, ids::LIST_SEMICOLON)
    };
    let moved = |before: &String| words.fill(ids::CHANGE_MOVED_FROM, [&change.gist, before]);
    match (change.fate, &change.before) {
        (Fate::Changed, _) => details(),
        (Fate::Moved, Some(before)) if change.details.is_empty() => moved(before),
        (Fate::Moved, Some(before)) => format!("{} {}", moved(before), details()),
        _ => change.gist.clone(),
    }
}

/// The name of a value of a move, which is a bare number or word without it.
fn part(of: &str) -> Option<ids::Entry<0>> {
    let last = of.strip_prefix("act.")?.rsplit('.').find(|p| p.parse::<usize>().is_err())?;
    Some(match last {
        "target" => ids::CHANGE_TARGET,
        "low" => ids::CHANGE_LOW,
        "high" => ids::CHANGE_HIGH,
        "from" => ids::CHANGE_FROM,
        "pace" => ids::CHANGE_PACE,
        _ => return None,
    })
}

/// Most values of one step in the list of changes.
const DETAILS: usize = 4;

/// Something that differs before the first step.
pub fn around(d: &Detail, words: &Words) -> String {
    let (of, name) = d.of.split_once('.').unwrap_or((&d.of, ""));
    let what = match of {
        "title" => words.say(ids::CHANGE_OF_TITLE).to_owned(),
        "use" => words.say(ids::CHANGE_OF_USE).to_owned(),
        "purpose" => words.say(ids::CHANGE_OF_PURPOSE).to_owned(),
        "model" => {
            let (model, value) = name.split_once('.').unwrap_or((name, ""));
            let said = |id: String| words.by_id(&id, &[]).unwrap_or_default();
            words.fill(ids::CHANGE_OF_MODEL, [&said(format!("model.{model}")), &said(format!("front.{value}"))])
        }
        "post" => words.say(ids::CHANGE_OF_POST).to_owned(),
        "waiver" => words.say(ids::CHANGE_OF_WAIVER).to_owned(),
        _ => words.say(ids::PAGE_START).to_owned(),
    };
    words.fill(ids::CHANGE_AROUND, [&what, &or_nothing(d.is.as_ref(), false, words), &or_nothing(d.was.as_ref(), false, words)])
}

/// The steps that only have other numbers, in runs: "5 to 9 are now 6 to 10".
pub fn renumbered(pairs: &[(String, String)], words: &Words) -> String {
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
        if a == b { words.fill(ids::CHANGE_NOW, [a, c]) } else { words.fill(ids::CHANGE_NOW_ALL, [a, b, c, d]) }
    };
    words.fill(ids::CHANGE_RENUMBERED, [&words.row(&runs.iter().map(each).collect::<Vec<_>>(), ids::LIST_SEMICOLON)])
}

/// The name of a value that differs, for the terminal: the last word of its place in the data that is no number.
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
