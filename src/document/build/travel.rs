//! A drive as printed: target, band, from-values, stick, and what the stops leave.

use super::Basis;
use super::place::At;
use super::situation::{angle, direction};
use crate::document::{Field, Gate, Goal as Printed, Prose, Push, Travel};
use crate::geometry::picture::{Agreement, Way};
use crate::model::JointId;
use crate::model::arm::{Joint, Travel as Limits};
use crate::model::procedure::{self as model, Drive, DriveTwo, Goal, Pace, Procedure};
use crate::space::pictures::Pictured;
use crate::space::sight::tenths;
use crate::trace::measure;
use crate::trace::{From, RowId};
use crate::units::Angle;
use crate::words::{Words, ids};

/// A stop nearer than this beyond the target is printed beside the step.
const NEAR_STOP: Angle = Angle(10_000);

impl Basis<'_> {
    /// One joint's move; `key` is the item with a letter where one step moves two joints.
    pub(super) fn travel(&self, at: At<'_>, row: Option<RowId>, drive: &Drive, key: &str) -> Travel {
        let (arm, words) = (&at.procedure.arm, self.words());
        let joint = arm.joint(drive.joint.value);
        let field = |name: &str, text: String| Field::new(format!("{key}.{name}"), text);
        let from = joined(row.map(|r| self.trace.from_values(r, drive.joint.value)).unwrap_or_default());
        let text = |f: &From| match f {
            From::At(a) => angle(joint, *a),
            From::Between(a, b) => words.fill(ids::STEP_ANYWHERE, [&a.signed(joint.decimals), &angle(joint, *b)]),
        };
        let pace = match &drive.goal {
            Goal::To { pace: Pace::Slow, .. } => Some(words.say(ids::STEP_SLOW)),
            Goal::To { pace: Pace::Inch, .. } => Some(words.say(ids::STEP_INCH)),
            _ => None,
        };
        Travel {
            joint: field("joint", joint.engraved.clone()),
            direction: field("direction", direction(arm, drive.joint.value, drive.positive.value)),
            goal: goal(at, joint, drive, words, &field),
            crosses_zero: from.iter().any(|f| crosses_zero(*f, drive)),
            from: from.iter().enumerate().map(|(i, f)| field(&format!("from{}", i + 1), text(f))).collect(),
            pace: pace.map(|p| field("pace", p.to_owned())),
            push: arm.console.drive(drive.joint.value).map(|(stick, axis)| {
                let act = axis.act(drive.positive.value);
                Push { stick: field("stick", capital(&stick.name.value)), act: field("push", act.to_uppercase()), seen: None }
            }),
        }
    }

    /// Where the joint that leads is half way, rounded on, and how far the other may be then, rounded back; none where one of them
    /// starts anywhere or ends on a cue.
    pub(super) fn half_way(&self, at: At<'_>, row: RowId, two: &DriveTwo, id: String) -> Option<Prose> {
        // A gate says it in numbers of its own.
        let leads = two.first.filter(|_| two.gates.is_empty())?.value;
        let half = |leads: bool, drive: &Drive| {
            let joint = at.procedure.arm.joint(drive.joint.value);
            let [From::At(from)] = joined(self.trace.from_values(row, drive.joint.value))[..] else { return None };
            let to = Some(measure::target(drive)).filter(|_| !drive.goal.is_cued())?;
            let unit = 10_i64.pow(3_u32.saturating_sub(u32::from(joint.decimals)));
            // Twice the middle over twice the unit; what grows is rounded up where it is to go on.
            let (twice, up) = (from.0 + to.0, (to.0 > from.0) == leads);
            let steps = if up { -(-twice).div_euclid(2 * unit) } else { twice.div_euclid(2 * unit) };
            Some([joint.engraved.clone(), angle(joint, Angle(steps * unit))])
        };
        let of = |first: bool| two.drives.iter().find(|d| (d.joint.value == leads) == first).and_then(|d| half(first, d));
        let ([lead, there], [other, most]) = (of(true)?, of(false)?);
        Some(Prose::plain(id, self.words().fill(ids::STEP_HALF_WAY, [lead.as_str(), &there, &other, &most])))
    }

    /// Where one of two joints waits for the other.
    pub(super) fn gates(&self, at: At<'_>, two: &DriveTwo, item: &str) -> Vec<Gate> {
        let arm = &at.procedure.arm;
        let gate = |(i, gate): (usize, &model::Gate)| {
            let field = |name: &str, text: String| Field::new(format!("{item}.gate{}.{name}", i + 1), text);
            let (held, until) = (arm.joint(gate.held.value), arm.joint(gate.until.value));
            let toward = |joint: JointId| {
                let positive = two.drives.iter().any(|d| d.joint.value == joint && d.positive.value);
                side(positive, self.words()).to_owned()
            };
            Gate {
                joint: field("joint", held.engraved.clone()),
                side: field("side", toward(gate.held.value)),
                limit: field("limit", angle(held, gate.not_past.value)),
                until: field("until", until.engraved.clone()),
                past_side: field("past-side", toward(gate.until.value)),
                past: field("past", angle(until, gate.past.value)),
            }
        };
        two.gates.iter().enumerate().map(gate).collect()
    }

    /// What the pictures of views show of the motion of a joint, where one of them shows the opposite of word or stick at some step.
    pub(super) fn pictured(&self, at: At<'_>, row: RowId, drive: &Drive, item: &str) -> Vec<Prose> {
        let seen = self.told(row).map_or(&[][..], |told| &told.pictures);
        let mine = (1..).zip(seen).filter(|(_, seen)| seen.joint == drive.joint.value);
        mine.map(|(n, seen)| Prose::led(format!("{item}.picture{n}"), &self.cue(seen, at.procedure, drive.positive.value))).collect()
    }

    fn cue(&self, seen: &Pictured, p: &Procedure, positive: bool) -> String {
        let words = self.words();
        let (joint, view) = (p.arm.joint(seen.joint), &p.cell.views[seen.view.at()].title);
        let word = if positive { &joint.positive.word.value } else { &joint.negative.word.value };
        let stick = p.arm.console.drive(seen.joint).map_or("", |(_, axis)| axis.act(positive));
        let against = |shown: Option<Agreement>, name: &str| match shown? {
            Agreement::Reversed => Some(words.fill(ids::PICTURE_OPPOSITE, [name])),
            Agreement::Partly(from, to) => Some(words.fill(ids::PICTURE_OPPOSITE_BETWEEN, [name, &tenths(from), &tenths(to)])),
            Agreement::Agrees | Agreement::Aside => None,
        };
        let told = against(seen.word, &word.to_uppercase()).or_else(|| against(seen.stick, &words.fill(ids::PICTURE_STICK, [stick])));
        let turns = [seen.word, seen.stick].into_iter().flatten().any(|shown| matches!(shown, Agreement::Partly(..)));
        match (told, self.in_picture(seen)) {
            (Some(told), Some(way)) if turns => words.fill(ids::PICTURE_CUE_TURNS, [&joint.engraved, view, &told, &way]),
            (Some(told), Some(way)) => words.fill(ids::PICTURE_CUE_GOES, [&joint.engraved, view, &told, &way]),
            (Some(told), None) => words.fill(ids::PICTURE_CUE, [&joint.engraved, view, &told]),
            (None, Some(way)) => words.fill(ids::PICTURE_CUE_PLAIN, [&joint.engraved, view, &way]),
            (None, None) => words.fill(ids::PICTURE_CUE_STILL, [&joint.engraved, view]),
        }
    }

    /// What the eye sees: "left and up, away from you"; none if next to nothing.
    fn in_picture(&self, seen: &Pictured) -> Option<String> {
        let words = self.words();
        let name = |way: &Way| match way {
            Way::Right => ids::PICTURE_RIGHT,
            Way::Left => ids::PICTURE_LEFT,
            Way::Up => ids::PICTURE_UP,
            Way::Down => ids::PICTURE_DOWN,
        };
        let ways: Vec<String> = seen.ways.iter().map(|way| words.say(name(way)).to_owned()).collect();
        let deep = seen.away.map(|away| words.say(if away { ids::PICTURE_AWAY } else { ids::PICTURE_NEARER }).to_owned());
        let across = (!ways.is_empty()).then(|| words.row(&ways, ids::LIST_AND));
        match (across, deep) {
            (Some(across), Some(deep)) => Some(words.row(&[across, deep], ids::LIST_COMMA)),
            (across, deep) => across.or(deep),
        }
    }

    /// "SHOULDER: hard stop at -40.0 deg, 6.0 deg beyond the target", if it is near.
    pub(super) fn stop_note(&self, at: At<'_>, drive: &Drive, id: String) -> Option<Prose> {
        let joint = at.procedure.arm.joint(drive.joint.value);
        let (low, high, what) = match &joint.travel {
            Limits::Stops { low, high } => (low.value, high.value, ids::STEP_HARD_STOP),
            Limits::Turns { low, high } => (low.value, high.value, ids::STEP_TURNS),
        };
        let stop = if drive.positive.value { high } else { low };
        let beyond = (stop - measure::target(drive)).abs();
        let far = beyond.signed(joint.decimals);
        let line = [joint.engraved.as_str(), &angle(joint, stop), far.trim_start_matches('+')];
        (beyond < NEAR_STOP).then(|| Prose::plain(id, self.words().fill(what, line)))
    }
}

/// The end of a move. The numbers are those the rules judged.
fn goal(at: At<'_>, joint: &Joint, drive: &Drive, words: &Words, field: &impl Fn(&str, String) -> Field) -> Printed {
    let value = |name: &str, a: Angle| field(name, angle(joint, a));
    let low_end = |a: Angle| field("low", a.signed(joint.decimals));
    let (target, band) = (measure::target(drive), measure::band(joint, &drive.goal));
    let stops_within = || measure::accepted(joint, (target - band, target + band));
    match &drive.goal {
        Goal::To { .. } | Goal::By { .. } => {
            let (low, high) = stops_within();
            Printed::To { target: value("target", target), low: low_end(low), high: value("high", high) }
        }
        Goal::Until { signal, .. } => {
            let cue = signal.map_or(words.say(ids::STEP_CONTACT).to_owned(), |s| at.procedure.arm.signals[s.value.at()].cue.clone());
            let side = field("side", side(drive.positive.value, words).to_owned());
            let (low, high) = stops_within();
            let checked = if drive.positive.value { high } else { low };
            Printed::Until { cue: field("cue", cue), side, limit: value("limit", target), checked: value("checked", checked) }
        }
        Goal::Taps { tap, at_most, low, high } => {
            let (low, high) = measure::accepted(joint, (low.value.min(high.value), low.value.max(high.value)));
            Printed::Taps {
                tap: field("tap", format!("{} deg", tap.value.abs().signed(joint.decimals).trim_start_matches('+'))),
                most: field("most", at_most.value.to_string()),
                low: low_end(low),
                high: value("high", high),
                far: field("far", words.say(if drive.positive.value { ids::STEP_FAR_UPPER } else { ids::STEP_FAR_LOWER }).to_owned()),
            }
        }
    }
}

/// The side to which the angle of a joint goes.
pub(super) fn side(positive: bool, words: &Words) -> &str {
    words.say(if positive { ids::BIND_ABOVE } else { ids::BIND_BELOW })
}

/// A stretch takes in the angles and stretches it overlaps: less to compare with, nothing lost.
fn joined(values: Vec<From>) -> Vec<From> {
    let ends = |f: &From| match f {
        From::At(a) => (*a, *a),
        From::Between(a, b) => (*a, *b),
    };
    let (stretches, mut out): (Vec<From>, Vec<From>) = values.into_iter().partition(|f| matches!(f, From::Between(..)));
    for stretch in stretches {
        let (mut low, mut high) = ends(&stretch);
        while let Some(at) = out.iter().position(|o| ends(o).0 <= high && low <= ends(o).1) {
            let (a, b) = ends(&out.remove(at));
            (low, high) = (low.min(a), high.max(b));
        }
        out.push(From::Between(low, high));
    }
    out
}

fn crosses_zero(from: From, drive: &Drive) -> bool {
    let target = measure::target(drive).0;
    let opposite = |a: Angle| a.0.signum() * target.signum() < 0;
    match from {
        From::At(a) => opposite(a),
        From::Between(a, b) => opposite(a) || opposite(b),
    }
}

/// With a capital first letter.
pub(super) fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}
