//! A drive as printed: target, band, from-values, stick, and what the stops leave.

use super::Basis;
use super::place::At;
use super::situation::{angle, direction};
use crate::document::{Field, Goal as Printed, Order, Prose, Push, Travel};
use crate::model::arm::{Joint, Travel as Limits};
use crate::model::procedure::{Drive, DriveTwo, Goal, Pace};
use crate::space::sight::Sighted;
use crate::trace::measure;
use crate::trace::{From, RowId};
use crate::units::Angle;

/// A stop nearer than this beyond the target is printed beside the step.
const NEAR_STOP: Angle = Angle(10_000);

impl Basis<'_> {
    /// One joint's move; `key` is the item with a letter where one step moves two joints.
    pub(super) fn travel(&self, at: At<'_>, row: Option<RowId>, drive: &Drive, key: &str) -> Travel {
        let arm = &at.procedure.arm;
        let joint = arm.joint(drive.joint.value);
        let field = |name: &str, text: String| Field::new(format!("{key}.{name}"), text);
        let from = joined(row.map(|r| self.trace.from_values(r, drive.joint.value)).unwrap_or_default());
        let text = |f: &From| match f {
            From::At(a) => angle(joint, *a),
            From::Between(a, b) => format!("anywhere {} to {}", a.signed(joint.decimals), angle(joint, *b)),
        };
        let pace = match &drive.goal {
            Goal::To { pace: Pace::Slow, .. } => Some("SLOW"),
            Goal::To { pace: Pace::Inch, .. } => Some("INCH"),
            _ => None,
        };
        Travel {
            joint: field("joint", joint.engraved.clone()),
            direction: field("direction", direction(arm, drive.joint.value, drive.positive.value)),
            goal: goal(at, joint, drive, &field),
            crosses_zero: from.iter().any(|f| crosses_zero(*f, drive)),
            from: from.iter().enumerate().map(|(i, f)| field(&format!("from{}", i + 1), text(f))).collect(),
            pace: pace.map(|p| field("pace", p.to_owned())),
            push: arm.console.drive(drive.joint.value).map(|(stick, axis)| {
                let act = if drive.positive.value { &axis.positive } else { &axis.negative };
                Push { stick: field("stick", capital(&stick.name.value)), act: field("push", act.to_uppercase()), seen: None }
            }),
        }
    }

    /// Two joints at once, with what orders them.
    pub(super) fn orders(&self, at: At<'_>, two: &DriveTwo, item: &str) -> Vec<Order> {
        let arm = &at.procedure.arm;
        let mut out = Vec::new();
        if let Some(first) = two.first {
            out.push(Order::First { joint: Field::new(format!("{item}.first"), arm.joint(first.value).engraved.clone()) });
        }
        for (i, gate) in two.gates.iter().enumerate() {
            let field = |name: &str, text: String| Field::new(format!("{item}.gate{}.{name}", i + 1), text);
            let (held, until) = (arm.joint(gate.held.value), arm.joint(gate.until.value));
            out.push(Order::NotPast {
                joint: field("joint", held.engraved.clone()),
                limit: field("limit", angle(held, gate.not_past.value)),
                until: field("until", until.engraved.clone()),
                past: field("past", angle(until, gate.past.value)),
            });
        }
        out
    }

    /// What the eye sees of a motion that goes the other way round in the picture of a view it can be driven by.
    pub(super) fn reversed(&self, at: At<'_>, row: RowId, drive: &Drive) -> Vec<String> {
        let looks = self.survey.of(row).iter().filter_map(|stretch| match &stretch.sight {
            Sighted::Through(look, _) => Some(look),
            Sighted::NoView | Sighted::NoPlace(_) => None,
        });
        let mut out: Vec<String> = Vec::new();
        for look in looks {
            let seen = look.motions.iter().filter(|seen| seen.joint == drive.joint.value);
            let cue = seen.filter_map(|seen| seen.cue(&at.procedure.arm, &at.procedure.cell.views[look.view.at()], drive.positive.value));
            for cue in cue {
                if !out.contains(&cue) {
                    out.push(cue);
                }
            }
        }
        out
    }

    /// "SHOULDER: hard stop at -40.0 deg, 6.0 deg beyond the target", if it is near.
    pub(super) fn stop_note(&self, at: At<'_>, drive: &Drive, id: String) -> Option<Prose> {
        let joint = at.procedure.arm.joint(drive.joint.value);
        let (low, high, what) = match &joint.travel {
            Limits::Stops { low, high } => (low.value, high.value, "hard stop"),
            Limits::Turns { low, high } => (low.value, high.value, "limit of turns"),
        };
        let stop = if drive.positive.value { high } else { low };
        let beyond = (stop - measure::target(drive)).abs();
        (beyond < NEAR_STOP).then(|| {
            Prose::plain(
                id,
                format!(
                    "{}: {what} at {}, {} deg beyond the target.",
                    joint.engraved,
                    angle(joint, stop),
                    beyond.signed(joint.decimals).trim_start_matches('+')
                ),
            )
        })
    }
}

/// The end of a move. The numbers are those the rules judged.
fn goal(at: At<'_>, joint: &Joint, drive: &Drive, field: &impl Fn(&str, String) -> Field) -> Printed {
    let value = |name: &str, a: Angle| field(name, angle(joint, a));
    let low_end = |a: Angle| field("low", a.signed(joint.decimals));
    match &drive.goal {
        Goal::To { .. } | Goal::By { .. } => {
            let (target, band) = (measure::target(drive), measure::band(joint, &drive.goal));
            let (low, high) = measure::accepted(joint, (target - band, target + band));
            Printed::To { target: value("target", target), low: low_end(low), high: value("high", high) }
        }
        Goal::Until { signal, not_past } => {
            let cue = signal.map_or("contact".to_owned(), |s| at.procedure.arm.signals[s.value.at()].cue.clone());
            Printed::Until { cue: field("cue", cue), limit: value("limit", not_past.value) }
        }
        Goal::Taps { tap, at_most, low, high } => {
            let (low, high) = measure::accepted(joint, (low.value.min(high.value), low.value.max(high.value)));
            Printed::Taps {
                tap: field("tap", format!("{} deg", tap.value.abs().signed(joint.decimals).trim_start_matches('+'))),
                most: field("most", at_most.value.to_string()),
                low: low_end(low),
                high: value("high", high),
            }
        }
    }
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
