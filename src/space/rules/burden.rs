//! No joint and no grip is asked for more than it gives.

use super::super::burden::{Effort, Squeeze, Strain};
use super::super::sight::tenths;
use super::super::{Stretch, Survey};
use super::Told;
use super::clearance::{goal, place, way};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::geometry::actuator::Side;
use crate::model::procedure::Procedure;
use crate::trace::Trace;

const STATICS: Evidence =
    Evidence::Memory("handbook statics: the torque that holds is the slope of the potential energy; weight times level distance");

/// The front matter of a procedure that starts with a load of 2.1 kg in the jaw.
macro_rules! held {
    () => {
        "+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"60 mm\"\npower = \"off\"\nloads = { cup = \"held\" }\n+++\n\n"
    };
}

/// More than the actuator is rated for.
pub static JOINT_OVERLOADED: Rule = Rule {
    id: "joint-overloaded",
    family: Family::Load,
    severity: Severity::Error,
    physical: true,
    summary: "a joint has to hold more than its actuator is rated for",
    why: "The plate load of an arm is one number; what a pose asks of one joint is another. A joint past its rating sinks, bursts a hose or does not move at all, mostly far out and with the load in the jaw.",
    evidence: STATICS,
    // It takes an arm and a procedure, here and below; the test of all rules has them.
    bad: &[],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder raise to +30 deg`\n")],
};

/// More pressure than there is.
pub static PRESSURE_SHORT: Rule = Rule {
    id: "pressure-short",
    family: Family::Load,
    severity: Severity::Error,
    physical: true,
    summary: "a joint needs more pressure than the supply gives",
    why: "A cylinder between two pins has little lever arm near the ends of its travel: the same load can need three times the pressure there. With less than that at the pump the arm stops on the way and sinks, with what it holds.",
    evidence: Evidence::Memory("handbook hydraulics: F = p A, and the law of cosines for a cylinder between two pins"),
    bad: &[],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder raise to +30 deg`\n")],
};

/// The load slips.
pub static GRIP_SLIPS: Rule = Rule {
    id: "grip-slips-in-motion",
    family: Family::Load,
    severity: Severity::Error,
    physical: true,
    summary: "the grip level does not hold the load as it is tilted and moved",
    why: "A grip that holds a load at rest and upright can lose it on the way: tilted, the weight draws along the closing axis and takes from one pad what friction needs; started and stopped, the load weighs more than it does at rest.",
    evidence: Evidence::Memory("two-jaw grip force per jaw N = m (g + a) S / 2 mu, handbook of grippers"),
    bad: &[Example::procedure(concat!(held!(), "1. `power on arm`\n2. `grip level 2`\n3. `base left to ⟦+20 deg⟧`\n"))],
    good: &[Example::procedure(concat!(held!(), "1. `power on arm`\n2. `grip level 2`\n3. `wrist-pitch raise to +20 deg`\n"))],
};

/// The load is crushed.
pub static CRUSHED: Rule = Rule {
    id: "crushed-in-motion",
    family: Family::Load,
    severity: Severity::Error,
    physical: true,
    summary: "a pad presses the load harder than it bears, as it is tilted and moved",
    why: "Tilted so that it lies on one pad, a load presses that pad with its weight on top of the grip. What was chosen just below the crush limit is then above it.",
    evidence: Evidence::Memory("two-jaw grip with the weight along the closing axis: one pad bears it besides the grip force"),
    bad: &[],
    good: &[Example::procedure(concat!(held!(), "1. `power on arm`\n2. `grip level 2`\n3. `wrist-pitch raise to +20 deg`\n"))],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&JOINT_OVERLOADED, &PRESSURE_SHORT, &GRIP_SLIPS, &CRUSHED];

pub(super) fn check(p: &Procedure, trace: &Trace, survey: &Survey, out: &mut Vec<Diagnostic>) {
    let mut told = Told::default();
    for stretch in &survey.stretches {
        let Some(burden) = &stretch.burden else { continue };
        let strains = burden.strains.iter().flat_map(|s| overloads(p, trace, stretch, s));
        let squeeze = burden.squeeze.iter().flat_map(|s| grip(p, trace, stretch, s));
        for finding in strains.chain(squeeze) {
            // The worst joint of a step says enough: what mends it mends the others, or they are told then.
            if !told.again(finding.rule.id, stretch.row, stretch.entry) {
                told.put(finding.rule.id, stretch.row, stretch.entry, Some(out.len()));
                out.push(finding);
            }
        }
    }
    told.finish(out);
}

fn overloads(p: &Procedure, trace: &Trace, stretch: &Stretch, strain: &Strain) -> Vec<Diagnostic> {
    let (q, step) = place(p, trace, stretch.row);
    let joint = q.arm.joint(strain.joint);
    let name = &joint.name.value;
    let span = goal(step).unwrap_or(step.head);
    let mut out = Vec::new();
    let mut put = |rule: &'static Rule, message: String, numbers: [(&'static str, String); 2], label: crate::text::Span, words: &str| {
        let [a, b] = numbers;
        let finding = rule.at(span, message).number(a.0, a.1).number(b.0, b.1).label(label, words);
        let finding = finding.help("bring the reach in, or the load closer, before this move; another order of the joints may do");
        out.push(finding.step(trace.number(p, stretch.row)).path(way(p, trace, stretch)));
    };
    match &strain.effort {
        Effort::Rating(rating) if strain.torque > *rating => put(
            &JOINT_OVERLOADED,
            format!("{name} may have to hold {} in this move, {}; it is rated for {rating}", strain.torque, at(p, stretch, &strain.at)),
            [("torque", strain.torque.to_string()), ("rating", rating.to_string())],
            joint.span,
            "its actuator",
        ),
        Effort::Toggle(angle) => put(
            &JOINT_OVERLOADED,
            format!("the cylinder of {name} has no lever arm at {}: no pressure holds the joint there", angle.show()),
            [("toggle", angle.show()), ("torque", strain.torque.to_string())],
            joint.span,
            "its pins and the angle between them",
        ),
        Effort::Pressure { needed, side, at: angles, rated } => {
            let side = match side {
                Some(Side::Cap) => " on the cap side",
                Some(Side::Rod) => " on the rod side",
                None => "",
            };
            let asks = format!("{name} may need {needed}{side} in this move, {}", at(p, stretch, angles));
            if needed > rated {
                let numbers = [("pressure", needed.to_string()), ("rated", rated.to_string())];
                put(&JOINT_OVERLOADED, format!("{asks}; its actuator is rated for {rated}"), numbers, joint.span, "its actuator");
            }
            if let Some(supply) = q.arm.supply.filter(|s| *needed > s.value) {
                let numbers = [("pressure", needed.to_string()), ("supply", supply.value.to_string())];
                put(&PRESSURE_SHORT, format!("{asks}; the supply gives {}", supply.value), numbers, supply.span, "what can be counted on");
            }
        }
        Effort::Rating(_) | Effort::Unknown => {}
    }
    out
}

/// "with shoulder at +12 deg and elbow at +90 deg": the joints that move, where it is worst.
fn at(p: &Procedure, stretch: &Stretch, angles: &[i64]) -> String {
    let each =
        stretch.leg.moving.iter().filter_map(|j| Some(format!("{} at {}", p.arm.joint(*j).name.value, tenths(*angles.get(j.at())?))));
    format!("worst with {}", each.collect::<Vec<_>>().join(" and "))
}

fn grip(p: &Procedure, trace: &Trace, stretch: &Stretch, squeeze: &Squeeze) -> Vec<Diagnostic> {
    let (q, step) = place(p, trace, stretch.row);
    let span = goal(step).unwrap_or(step.head);
    let (load, level) = (&q.cell.loads[squeeze.load.at()], &q.arm.jaw.levels[squeeze.level.at()]);
    let done = |finding: Diagnostic| finding.step(trace.number(p, stretch.row)).path(way(p, trace, stretch));
    let mut out = Vec::new();
    if squeeze.needed > squeeze.least {
        let message = format!(
            "the {} may slip in this move: it needs {} per jaw, {}; grip level {} is counted on for {}",
            load.title,
            squeeze.needed,
            at(p, stretch, &squeeze.at),
            level.name.value,
            squeeze.least
        );
        let finding = GRIP_SLIPS.at(span, message).label(level.least.span, "what the level can be counted on for");
        let finding = finding.number("force needed", squeeze.needed.to_string()).number("least force", squeeze.least.to_string());
        out.push(done(finding.help("choose a stronger grip level, or keep the load's closing axis level on the way")));
    }
    if let Some(crush) = squeeze.crush.filter(|c| squeeze.presses > *c) {
        let message = format!(
            "a pad may press the {} with {} in this move, its weight on the lower pad included; it bears {crush}",
            load.title, squeeze.presses
        );
        let finding = CRUSHED.at(span, message).number("force", squeeze.presses.to_string()).number("crush", crush.to_string());
        out.push(done(finding.help("choose a weaker grip level, or keep the load's closing axis level on the way")));
    }
    out
}
