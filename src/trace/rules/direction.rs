//! Printed directions against the change of angle.

use super::super::doubt::Part;
use super::super::measure;
use super::super::situation::say;
use super::super::state::Known;
use super::{Moment, Sink};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Drive, Goal};
use crate::text::Span;
use crate::units::Angle;

/// The printed word disagrees with the change of angle.
pub static WRONG_DIRECTION: Rule = Rule {
    id: "wrong-direction",
    family: Family::Direction,
    severity: Severity::Error,
    physical: true,
    summary: "the printed direction disagrees with the change of angle",
    why: "The operator acts on the word first and looks at the read-out second. A word or a sign that is wrong drives the arm away from its target, towards whatever is there.",
    evidence: Evidence::CommonPractice,
    bad: &[
        Example::steps("1. `power on arm`\n2. `shoulder ⟦raise⟧ to -5 deg`\n"),
        Example::steps("1. `power on arm`\n2. `base ⟦left⟧ to -42 deg`\n"),
        Example::steps("1. `power on arm`\n2. `shoulder ⟦raise⟧ until contact, not past -5 deg`\n   - If not: hold and tell Shift lead\n"),
        Example::steps(
            "1. `power on arm`\n2. `if` Lamp 1 is lit, seen in window 1.\n   - then\n     1. `base left to +40 deg`\n   - otherwise: go on\n3. `base ⟦left⟧ to +20 deg`\n",
        ),
    ],
    good: &[
        Example::steps("1. `power on arm`\n2. `shoulder lower to -5 deg`\n"),
        Example::steps("1. `power on arm`\n2. `base right to -42 deg`\n"),
    ],
};

/// The target lies where the joint already is.
pub static NEEDLESS_MOVE: Rule = Rule {
    id: "needless-move",
    family: Family::Direction,
    severity: Severity::Error,
    physical: true,
    summary: "the target lies where the joint is or may already be",
    why: "A joint that can be on either side of the target may have to go against the printed word. A move that is not needed is read twice and trusted less.",
    evidence: Evidence::Definition,
    bad: &[
        Example::steps("1. `power on arm`\n2. `shoulder raise to ⟦+20 deg⟧`\n"),
        Example::steps(
            "1. `power on arm`\n2. `shoulder lower until contact, not past -10 deg`\n   - If not: hold and tell Shift lead\n3. `shoulder raise to ⟦+5 deg⟧`\n",
        ),
    ],
    good: &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower until contact, not past -10 deg`\n   - If not: hold and tell Shift lead\n3. `shoulder raise to +30 deg`\n",
    )],
};

/// Start and target bands overlap.
pub static DIRECTION_IN_DOUBT: Rule = Rule {
    id: "direction-in-doubt",
    family: Family::Direction,
    severity: Severity::Warning,
    physical: false,
    summary: "start and target are so near that their bands overlap",
    why: "The joint may already stand inside the band of its target, so the operator sees the move done before it began, or has to drive against the printed word.",
    evidence: Evidence::Definition,
    bad: &[Example::steps("1. `power on arm`\n2. `shoulder raise to ⟦+21.5 deg⟧`\n")],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder raise to +22 deg`\n")],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&WRONG_DIRECTION, &NEEDLESS_MOVE, &DIRECTION_IN_DOUBT];

/// What has to lie ahead: the near edge for taps, else the target, and where it is written.
fn wanted(drive: &Drive) -> (Angle, Span) {
    match &drive.goal {
        Goal::To { to, .. } => (to.value, to.span),
        Goal::By { ending, .. } => (ending.value, ending.span),
        Goal::Until { not_past, .. } => (not_past.value, not_past.span),
        Goal::Taps { low, high, .. } => {
            let near = if (low.value < high.value) == drive.positive.value { low } else { high };
            (near.value, near.span)
        }
    }
}

pub(super) fn drive(m: &Moment<'_>, drive: &Drive, sink: &mut Sink<'_>) {
    let joint = m.p.arm.joint(drive.joint.value);
    let start = m.before.joint(drive.joint.value);
    // A relative move from a range, or whose written end is wrong, has its own finding.
    let relative = matches!(drive.goal, Goal::By { .. });
    if !start.is_known() || (relative && (!start.is_settled() || super::continuity::relative_end(drive, start).is_some())) {
        return;
    }
    let (target, span) = wanted(drive);
    // A wrong `from` is told on its own; with it the word may be right.
    if let Goal::To { from: Some(from), .. } = &drive.goal
        && start.is_settled()
        && from.value != start.nominal
        && target != from.value
        && (target > from.value) == drive.positive.value
    {
        return;
    }
    let (low, high) = start.idle(joint.hold.value);
    let (word, other) = if drive.positive.value { (&joint.positive, &joint.negative) } else { (&joint.negative, &joint.positive) };
    let (name, part) = (&joint.name.value, Part::Joint(drive.joint.value));
    let ahead = measure::ahead(joint, drive, start);
    let is = || {
        if start.known == Known::Range { format!("anywhere {}", say((low, high))) } else { format!("at {}", start.nominal.show()) }
    };
    if ahead > Angle::ZERO {
        let band = measure::band(joint, &drive.goal);
        if matches!(drive.goal, Goal::To { .. } | Goal::By { .. }) && ahead <= band {
            sink.rest(&DIRECTION_IN_DOUBT, span, &[part], &[], || {
                DIRECTION_IN_DOUBT
                    .at(
                        span,
                        format!(
                            "{name} starts {} and stops {}: the two overlap, so it may be there before it moves",
                            say((low, high)),
                            say((target - band, target + band))
                        ),
                    )
                    .mark(format!("starts {}", is()))
                    .help("leave the move out, or make the difference larger than the bands")
                    .number("start", start.nominal.show())
                    .number("target", target.show())
            });
        }
        return;
    }
    // Seen from this state it is wrong, from another only in doubt: one fault.
    sink.drop(&DIRECTION_IN_DOUBT, span);
    if target >= low && target <= high {
        sink.rest(&NEEDLESS_MOVE, span, &[part], &[part], || {
            let message = if start.is_settled() && start.nominal == target {
                format!("{name} is at {} here already", target.show())
            } else {
                format!("{name} is {} here, so `{}` to {} can be the wrong way", is(), word.word.value, target.show())
            };
            let finding = NEEDLESS_MOVE
                .at(span, message)
                .mark(format!("it can be {}", say((low, high))))
                .number("start", start.nominal.show())
                .number("target", target.show());
            if start.known == Known::Range {
                finding.help("after a guarded move or taps, choose a target outside the range the joint can be in")
            } else {
                finding.help("leave the move out, or correct the target")
            }
        });
        return;
    }
    sink.rest(&WRONG_DIRECTION, drive.positive.span, &[part], &[part], || {
        WRONG_DIRECTION
            .at(
                drive.positive.span,
                format!(
                    "{name} is {} here and {} to {}, so its angle {}, but the word says `{}`",
                    is(),
                    goes(drive),
                    target.show(),
                    changes(!drive.positive.value),
                    word.word.value
                ),
            )
            .mark(format!("{} {} this way", name, changes(drive.positive.value)))
            .label(word.word.span, format!("`{}` means that the angle {}", word.word.value, changes(drive.positive.value)))
            .help(format!("write `{}` if {} is right; otherwise correct the angle or its sign", other.word.value, target.show()))
            .number("start", start.nominal.show())
            .number("target", target.show())
    });
}

fn goes(drive: &Drive) -> &'static str {
    match drive.goal {
        Goal::Until { .. } => "may go",
        Goal::Taps { .. } => "is tapped",
        _ => "goes",
    }
}

fn changes(grows: bool) -> &'static str {
    if grows { "grows" } else { "falls" }
}
