//! How far joints go: limits, stops, turns, bands, taps.

use super::super::doubt::Part;
use super::super::measure;
use super::super::state::{Grasp, Known};
use super::super::{RowId, Trace, situation::say};
use super::{Moment, Sink};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::JointId;
use crate::model::arm::{Joint, Travel};
use crate::model::procedure::{Drive, Goal, Pace, Procedure};
use crate::text::{Span, Spanned};
use crate::units::Angle;
use std::collections::BTreeMap;

/// One full turn.
const TURN: Angle = Angle(360_000);

/// A target whose whole interval does not lie inside the soft limits.
pub static OVER_TRAVEL: Rule = Rule {
    id: "over-travel",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "a joint can pass its soft limit",
    why: "The operator stops within a band, not on a point, and an idle joint drifts. The whole of that has to lie inside the soft limits, or the joint can run against its stop, or stop short of the angle the next step starts from.",
    evidence: Evidence::CommonPractice,
    bad: &[
        Example::steps("1. `power on arm`\n2. `shoulder raise to ⟦+92.5 deg⟧`\n"),
        Example::steps("1. `power on arm`\n2. `elbow fold to ⟦11 deg⟧`\n"),
        Example::steps(
            "1. `power on arm`\n2. `shoulder lower until contact, not past ⟦-37 deg⟧`\n   - Watch: the jaw, in window 1.\n   - If not: hold and tell Shift lead\n",
        ),
        Example::steps(
            "1. `power on arm`\n2. `shoulder lower by taps of 1 deg, 58 at most, contact between -34 deg and ⟦-36 deg⟧`\n   - If not: hold and tell Shift lead\n",
        ),
    ],
    good: &[
        Example::steps("1. `power on arm`\n2. `shoulder raise to +92.3 deg`\n"),
        Example::steps("1. `power on arm`\n2. `elbow fold to 12.7 deg`\n"),
    ],
};

/// A target beyond the hard stop.
pub static BEYOND_STOP: Rule = Rule {
    id: "beyond-stop",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "a target lies beyond the joint's hard stop",
    why: "The arm cannot get there. The operator would hold the stick against the stop, and every later step would start from the wrong angle.",
    evidence: Evidence::Definition,
    bad: &[
        Example::steps("1. `power on arm`\n2. `wrist-pitch raise to ⟦+120 deg⟧`\n"),
        Example::steps("1. `power on arm`\n2. `elbow fold to ⟦5 deg⟧`\n"),
    ],
    good: &[Example::steps("1. `power on arm`\n2. `wrist-pitch raise to +70 deg`\n")],
};

/// A written band below the stopping tolerance.
pub static BAND_TOO_TIGHT: Rule = Rule {
    id: "band-too-tight",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "a written band is tighter than the joint can be stopped",
    why: "A band that the operator cannot keep is not kept. What is checked with it is then not what happens.",
    evidence: Evidence::CommonPractice,
    bad: &[
        Example::steps("1. `power on arm`\n2. `base left to +42 deg within ⟦0.2 deg⟧`\n"),
        Example::steps("1. `power on arm`\n2. `base left to +42 deg within ⟦1.999 deg⟧ inch`\n"),
    ],
    good: &[
        Example::steps("1. `power on arm`\n2. `base left to +42 deg within 0.5 deg`\n"),
        Example::steps("1. `power on arm`\n2. `base left to +42 deg within 2 deg inch`\n"),
    ],
};

/// A joint without stops wound past what its hoses allow.
pub static OVER_TURNED: Rule = Rule {
    id: "over-turned",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "a joint without stops is wound past its allowed turns",
    why: "Nothing stops the joint but its hoses and cables. Each turn looks harmless and the sum tears them, so the angle is counted over all steps and never taken modulo a turn.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `power on arm`\n2. `wrist-turn clockwise to ⟦+709.301 deg⟧`\n")],
    good: &[Example::steps("1. `power on arm`\n2. `wrist-turn clockwise to +709.3 deg`\n")],
};

/// Whole turns undone with a load in the jaw.
pub static UNWOUND_WHILE_HOLDING: Rule = Rule {
    id: "unwound-while-holding",
    family: Family::Travel,
    severity: Severity::Error,
    physical: false,
    summary: "whole turns are undone with a load in the jaw",
    why: "Unwinding the hoses turns whatever is held with them. It is done with an empty jaw. Turning a load back by less than a full turn is not unwinding.",
    evidence: Evidence::CommonPractice,
    bad: &[
        Example::steps(concat!(take_cup!(), "10. `wrist-turn clockwise to +400 deg`\n11. `wrist-turn counter-clockwise to ⟦0 deg⟧`\n")),
        // What was turned back in steps counts together.
        Example::steps(concat!(
            take_cup!(),
            "10. `wrist-turn clockwise to +500 deg`\n11. `wrist-turn counter-clockwise to +200 deg`\n12. `wrist-turn counter-clockwise to ⟦+100 deg⟧`\n"
        )),
    ],
    good: &[
        Example::steps(concat!(take_cup!(), "10. `wrist-turn clockwise to +90 deg`\n11. `wrist-turn counter-clockwise to 0 deg`\n")),
        Example::steps("1. `power on arm`\n2. `wrist-turn clockwise to +400 deg`\n3. `wrist-turn counter-clockwise to 0 deg`\n"),
    ],
};

/// Taps that run out before the far end of the contact band.
pub static TAPS_TOO_FEW: Rule = Rule {
    id: "taps-too-few",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "the taps run out before the far end of the contact band",
    why: "The operator counts the taps and stops at the ceiling. If contact is still to be expected there, the step ends in the air and the next one starts in the wrong place.",
    evidence: Evidence::Definition,
    bad: &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower by taps of 0.5 deg, ⟦20⟧ at most, contact between -9 deg and -11 deg`\n   - If not: hold and tell Shift lead\n",
    )],
    good: &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower to -5 deg`\n3. `shoulder lower by taps of 0.5 deg, 14 at most, contact between -9 deg and -11 deg`\n   - If not: hold and tell Shift lead\n",
    )],
};

/// Taps that go on after the far end of the contact band.
pub static TAPS_TOO_MANY: Rule = Rule {
    id: "taps-too-many",
    family: Family::Travel,
    severity: Severity::Warning,
    physical: false,
    summary: "counted to the end, the taps go farther than the contact band",
    why: "The ceiling is what stops an operator who feels nothing and does not look up. It protects only as long as the last tap ends near the far end of the band.",
    evidence: Evidence::Definition,
    bad: &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower to -5 deg`\n3. `shoulder lower by taps of 0.5 deg, ⟦18⟧ at most, contact between -9 deg and -11 deg`\n   - If not: hold and tell Shift lead\n",
    )],
    good: &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower to -5 deg`\n3. `shoulder lower by taps of 0.5 deg, 14 at most, contact between -9 deg and -11 deg`\n   - If not: hold and tell Shift lead\n",
    )],
};

/// A band between two digits of the read-out.
pub static BAND_FINER_THAN_READOUT: Rule = Rule {
    id: "band-finer-than-readout",
    family: Family::Travel,
    severity: Severity::Error,
    physical: true,
    summary: "a joint is to stop where its read-out shows no value",
    why: "The operator stops on the digits there are. A band that lies between two of them cannot be met, or is met by guessing.",
    evidence: Evidence::Definition,
    // It takes a profile with a coarse read-out and a procedure; the test of rules shows it over both files.
    bad: &[],
    good: &[Example::steps("1. `power on arm`\n2. `base left to +42.25 deg`\n")],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[
    &OVER_TRAVEL,
    &BEYOND_STOP,
    &BAND_TOO_TIGHT,
    &BAND_FINER_THAN_READOUT,
    &OVER_TURNED,
    &UNWOUND_WHILE_HOLDING,
    &TAPS_TOO_FEW,
    &TAPS_TOO_MANY,
];

/// The place in the statement that a limit finding is about.
fn goal_span(drive: &Drive) -> Span {
    match &drive.goal {
        Goal::To { to, .. } => to.span,
        Goal::By { ending, .. } => ending.span,
        Goal::Until { not_past, .. } => not_past.span,
        // The end of the band that lies farther in the direction of motion.
        Goal::Taps { low, high, .. } if (high.value > low.value) == drive.positive.value => high.span,
        Goal::Taps { low, .. } => low.span,
    }
}

pub(super) fn drive(m: &Moment<'_>, drive: &Drive, sink: &mut Sink<'_>) {
    let (joint, part) = (m.p.arm.joint(drive.joint.value), Part::Joint(drive.joint.value));
    limits(joint, drive, sink);
    if let Goal::To { within: Some(band), pace, .. } = &drive.goal
        && let (least, how) = tolerance(joint, *pace)
        && band.value < least.value
    {
        sink.rest(&BAND_TOO_TIGHT, band.span, &[], &[part], || {
            let name = &joint.name.value;
            BAND_TOO_TIGHT
                .at(band.span, format!("{name} is to stop within {}, but can only be stopped within {} {how}", band.value, least.value))
                .mark(format!("at least {}", least.value))
                .label(least.span, format!("the stopping tolerance of {name}"))
                .help(format!("write `within {}` or more, or leave the band out", least.value))
                .number("band", band.value)
                .number("stopping tolerance", least.value)
        });
    }
    finer(joint, drive, sink);
    let start = m.before.joint(drive.joint.value);
    if let (Travel::Turns { .. }, Grasp::Held(held)) = (&joint.travel, m.before.grasp)
        && start.is_settled()
    {
        let target = measure::target(drive);
        // Only what lies on the way back towards zero unwinds.
        let far = start.farthest();
        let back = if start.nominal > target && start.nominal > Angle::ZERO {
            far - target.max(Angle::ZERO)
        } else if start.nominal < target && start.nominal < Angle::ZERO {
            target.min(Angle::ZERO) - far
        } else {
            Angle::ZERO
        };
        if back >= TURN {
            let span = goal_span(drive);
            sink.rest(&UNWOUND_WHILE_HOLDING, span, &[part, Part::Load(held.load)], &[], || {
                let load = &m.p.cell.loads[held.load.at()].name.value;
                UNWOUND_WHILE_HOLDING
                    .at(span, format!("{} is unwound by {back} while the jaw holds `{load}`, which turns with it", joint.name.value))
                    .help("let go of the load first, or turn it by less than a full turn")
                    .number("unwound", back)
            });
        }
    }
    if start.is_known()
        && let (Some(spare), Goal::Taps { tap, at_most, .. }) = (measure::taps_spare(joint, drive, start), &drive.goal)
        && spare < Angle::ZERO
        && measure::ahead(joint, drive, start) > Angle::ZERO
    {
        sink.rest(&TAPS_TOO_FEW, at_most.span, &[part], &[part], || {
            let (all, way, enough) = taps(tap.value, at_most.value, spare);
            TAPS_TOO_FEW
                .at(
                    at_most.span,
                    format!(
                        "{} taps of {} make {all}; {} goes from {}, and to the far end of the contact band at {} it can be {way}",
                        at_most.value,
                        tap.value,
                        joint.name.value,
                        say(start.idle(joint.hold.value)),
                        measure::target(drive).show()
                    ),
                )
                .mark(format!("{enough} are needed"))
                .help(format!("write `{enough} at most`, or start nearer"))
                .number("taps", at_most.value)
                .number("needed", enough)
        });
    }
}

/// What all taps make, the way to the far end of the contact band, and how many taps that takes.
fn taps(tap: Angle, at_most: u32, spare: Angle) -> (Angle, Angle, i64) {
    let all = Angle(tap.0.abs().saturating_mul(i64::from(at_most)));
    let (way, size) = (all - spare, tap.0.abs().max(1));
    (all, way, way.0.div_euclid(size) + i64::from(way.0.rem_euclid(size) != 0))
}

/// Taps to spare from the farthest of all states in which their step is begun.
pub(super) fn spare_taps(root: &Procedure, trace: &Trace, sink: &mut Sink<'_>) {
    let mut least: BTreeMap<Span, Option<(RowId, &Drive, Angle)>> = BTreeMap::new();
    for visit in &trace.visits {
        let row = &trace.rows[visit.row as usize];
        let step = trace.procedure_of(root, row.frame).step(row.step);
        let arm = &trace.procedure_of(root, row.frame).arm;
        for drive in step.drives() {
            let Goal::Taps { at_most, .. } = &drive.goal else { continue };
            for entry in trace.entries(visit.before) {
                let joint = arm.joint(drive.joint.value);
                let start = entry.state.joint(drive.joint.value);
                let spare = measure::taps_spare(joint, drive, start).filter(|_| start.is_known() && !entry.state.is_muted());
                let found = spare.map(|spare| (RowId(visit.row), drive, spare));
                // Where one start is not known, nothing is said.
                let least = least.entry(at_most.span).or_insert(found);
                *least = least.zip(found).map(|(a, b)| if b.2 < a.2 { b } else { a });
            }
        }
    }
    for (row, drive, spare) in least.into_values().flatten() {
        let Goal::Taps { tap, at_most, .. } = &drive.goal else { continue };
        let (all, way, enough) = taps(tap.value, at_most.value, spare);
        if i64::from(at_most.value) <= enough + 1 {
            continue;
        }
        sink.row = Some(row);
        sink.put(&TAPS_TOO_MANY, at_most.span, || {
            let message =
                format!("{} taps of {} make {all}; to the far end of the contact band it is {way} at most", at_most.value, tap.value);
            TAPS_TOO_MANY
                .at(at_most.span, message)
                .mark(format!("{enough} are needed"))
                .help(format!("write `{enough} at most`"))
                .number("taps", at_most.value)
                .number("needed", enough)
        });
    }
}

/// The operator stops on a read-out inside the band, so there has to be one.
fn finer(joint: &Joint, drive: &Drive, sink: &mut Sink<'_>) {
    let (target, band) = (measure::target(drive), measure::band(joint, &drive.goal));
    let stops = matches!(drive.goal, Goal::To { .. } | Goal::By { .. });
    if !stops || Angle::shown_within(target - band, target + band, joint.decimals).is_some() {
        return;
    }
    let span = goal_span(drive);
    sink.put(&BAND_FINER_THAN_READOUT, span, || {
        let (name, whole) =
            (&joint.name.value, if joint.decimals == 0 { "whole degrees".into() } else { format!("{} decimals", joint.decimals) });
        BAND_FINER_THAN_READOUT
            .at(
                span,
                format!(
                    "{name} is to stop {}, but its read-out has {whole} and shows nothing in between",
                    say((target - band, target + band))
                ),
            )
            .label(joint.span, "the joint")
            .help("choose a target that the read-out shows, or a wider band")
            .number("target", target.show())
            .number("band", band)
    });
}

/// How near to its target a joint can be stopped at a pace, and by what.
fn tolerance(joint: &Joint, pace: Pace) -> (Spanned<Angle>, &'static str) {
    if pace == Pace::Inch && joint.stop_by_eye.value > joint.stop_by_readout.value {
        (joint.stop_by_eye, "by eye, as it is when inched")
    } else {
        (joint.stop_by_readout, "on its read-out")
    }
}

fn limits(joint: &Joint, drive: &Drive, sink: &mut Sink<'_>) {
    let (target, reach) = (measure::target(drive), measure::far_end(joint, drive));
    let allowed = joint.soft_limits();
    if reach.0 >= allowed.0 && reach.1 <= allowed.1 {
        return;
    }
    let span = goal_span(drive);
    let (name, part) = (&joint.name.value, Part::Joint(drive.joint.value));
    let high = reach.1 > allowed.1;
    let (limit, far) = if high { (allowed.1, reach.1) } else { (allowed.0, reach.0) };
    let band = measure::band(joint, &drive.goal);
    let how = || match &drive.goal {
        Goal::Taps { tap, .. } => format!("one more tap of {}, {} stopping and {} holding", tap.value.abs(), band, joint.hold.value),
        _ => format!("{band} stopping and {} holding", joint.hold.value),
    };
    match &joint.travel {
        Travel::Stops { low, high: top } if target > top.value || target < low.value => {
            let stop = if target > top.value { top } else { low };
            sink.spoil(&BEYOND_STOP, span, part, || {
                BEYOND_STOP
                    .at(span, format!("{name} is asked to go to {}, but its hard stop is at {}", target.show(), stop.value.show()))
                    .mark(format!("beyond the stop at {}", stop.value.show()))
                    .label(stop.span, format!("{name} cannot pass this stop"))
                    .help(within(joint, drive, allowed))
                    .number("target", target.show())
                    .number("stop", stop.value.show())
            });
        }
        Travel::Stops { low, high: top } => {
            let stop = if high { top } else { low };
            sink.spoil(&OVER_TRAVEL, span, part, || {
                OVER_TRAVEL
                    .at(
                        span,
                        format!(
                            "{name} is asked to go to {}; with {} it can come to {}, past its soft limit at {}",
                            target.show(),
                            how(),
                            far.show(),
                            limit.show()
                        ),
                    )
                    .mark(format!("{} past the limit", (far - limit).abs()))
                    .label(stop.span, format!("hard stop at {}; {} are kept free inside it", stop.value.show(), joint.soft_margin.value))
                    .help(within(joint, drive, allowed))
                    .number("target", target.show())
                    .number("limit", limit.show())
                    .number("margin", joint.soft_margin.value)
                    .number("band", band)
                    .number("hold", joint.hold.value)
            });
        }
        Travel::Turns { low, high: top } => {
            let stop = if high { top } else { low };
            sink.spoil(&OVER_TURNED, span, part, || {
                OVER_TURNED
                    .at(
                        span,
                        format!(
                            "{name} is wound to {}; with {} it can come to {}, past its soft limit at {}",
                            target.show(),
                            how(),
                            far.show(),
                            limit.show()
                        ),
                    )
                    .mark(format!("{} too far", (far - limit).abs()))
                    .label(
                        stop.span,
                        format!(
                            "the hoses allow {}, counted over the whole procedure; {} are kept free",
                            stop.value.show(),
                            joint.soft_margin.value
                        ),
                    )
                    .help(within(joint, drive, allowed))
                    .number("target", target.show())
                    .number("allowed", limit.show())
            });
        }
    }
}

/// What would be right.
fn within(joint: &Joint, drive: &Drive, allowed: (Angle, Angle)) -> String {
    let reach = measure::far_end(joint, drive);
    let target = measure::target(drive);
    let (least, most) = (allowed.0 + (target - reach.0), allowed.1 - (reach.1 - target));
    format!("with this band, {} can be sent anywhere from {} to {}", joint.name.value, least.show(), most.show())
}

/// The declared start lies inside the limits too.
pub(super) fn start(p: &Procedure, trace: &Trace, sink: &mut Sink<'_>) {
    let Some(pose) = p.start.as_ref().and_then(|s| s.pose) else { return };
    let Some(first) = trace.pool.first() else { return };
    for (id, (joint, readout)) in (0u16..).zip(p.arm.joints.iter().zip(first.state.joints())) {
        let allowed = joint.soft_limits();
        let (low, high) = readout.idle(joint.hold.value);
        if readout.known == Known::Readout && (low < allowed.0 || high > allowed.1) {
            let part = Part::Joint(JointId(id));
            sink.rest(&OVER_TRAVEL, pose.span, &[part], &[], || {
                OVER_TRAVEL
                    .at(
                        pose.span,
                        format!(
                            "at the start {} can be {}, but its limits are {} and {}",
                            joint.name.value,
                            say((low, high)),
                            allowed.0.show(),
                            allowed.1.show()
                        ),
                    )
                    .label(p.arm.poses[pose.value.at()].span, "the pose")
                    .help("move the pose, or narrow its band, in the arm profile")
            });
        }
    }
}
