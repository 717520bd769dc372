//! What the console can drive, alone and together.

use super::super::doubt::Part;
use super::super::measure;
use super::{Moment, Sink};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::JointId;
use crate::model::procedure::{Drive, DriveTwo, Gate};
use crate::units::Angle;

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule {
        id,
        family: Family::Console,
        severity: Severity::Error,
        physical: true,
        summary,
        why,
        evidence: Evidence::CommonPractice,
        bad,
        good,
    }
}

/// A joint that no stick drives.
pub static NOT_DRIVEN: Rule = rule(
    "not-driven",
    "a step moves a joint that no stick of the console drives",
    "The print tells the operator which stick to take and which way. For this joint there is nothing to tell.",
    &[],
    &[],
);

/// Two joints on one stick.
pub static SAME_STICK: Rule = rule(
    "same-stick",
    "two joints of one stick are to move together",
    "One stick moves one joint at a time. Pushed aslant, it moves either joint, and nobody can say how far.",
    &[Example::steps("1. `power on arm`\n2. ⟦`together: base left to +20 deg, shoulder lower to +10 deg`⟧\n")],
    &[Example::steps("1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg`\n")],
);

/// Two joints that the profile does not let move together.
pub static NOT_ALLOWED_TOGETHER: Rule = rule(
    "not-allowed-together",
    "two joints are to move together that the arm profile does not list as a pair",
    "Two axes at once cannot be synchronised by hand and share the supply. Which pairs may be driven together is settled for the arm, not in a procedure.",
    &[Example::steps("1. `power on arm`\n2. ⟦`together: base left to +20 deg, elbow extend to 80 deg`⟧\n")],
    &[Example::steps("1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg`\n")],
);

/// A gate that is never met or never opens.
pub static GATE_OUT_OF_RANGE: Rule = rule(
    "gate-out-of-range",
    "a gate of a two-axis move lies outside the angles its joint passes",
    "A gate that the waiting joint never comes to holds nothing back, and a gate that the other joint never passes never opens. Either way the order that was meant is not kept.",
    &[
        Example::steps(
            "1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg; wrist-pitch not past ⟦+40 deg⟧ until shoulder past +2 deg`\n",
        ),
        Example::steps(
            "1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg; wrist-pitch not past +6 deg until shoulder past ⟦-20 deg⟧`\n",
        ),
    ],
    &[Example::steps(
        "1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg; shoulder first; wrist-pitch not past +6 deg until shoulder past +2 deg`\n",
    )],
);

/// Two gates that wait for each other.
pub static GATES_LOCK: Rule = rule(
    "gates-lock",
    "two gates of a two-axis move can wait for each other",
    "Each joint stands at its gate until the other one passes an angle it is not let to. The operator can only go on against the instruction.",
    &[Example::steps(
        "1. `power on arm`\n2. `together: shoulder lower to 0 deg, wrist-pitch raise to +9 deg; wrist-pitch not past +6 deg until shoulder past +2 deg; shoulder not past ⟦+5 deg⟧ until wrist-pitch past +8 deg`\n",
    )],
    &[Example::steps(
        "1. `power on arm`\n2. `together: shoulder lower to 0 deg, wrist-pitch raise to +9 deg; wrist-pitch not past +6 deg until shoulder past +7 deg; shoulder not past +5 deg until wrist-pitch past +4 deg`\n",
    )],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&NOT_DRIVEN, &SAME_STICK, &NOT_ALLOWED_TOGETHER, &GATE_OUT_OF_RANGE, &GATES_LOCK];

pub(super) fn drive(m: &Moment<'_>, drive: &Drive, sink: &mut Sink<'_>) {
    let id = drive.joint.value;
    if m.p.arm.console.drive(id).is_some() {
        return;
    }
    sink.put(&NOT_DRIVEN, drive.joint.span, || {
        NOT_DRIVEN
            .at(drive.joint.span, format!("no stick of the console drives {}", m.p.arm.joint(id).name.value))
            .label(m.p.arm.console.span, "the console")
            .help("give a stick axis this joint in the arm profile")
    });
}

pub(super) fn together(m: &Moment<'_>, two: &DriveTwo, sink: &mut Sink<'_>) {
    let [a, b] = &two.drives;
    let (arm, console) = (&m.p.arm, &m.p.arm.console);
    let (x, y) = (a.joint.value, b.joint.value);
    let (first, second) = (&arm.joint(x).name.value, &arm.joint(y).name.value);
    let sticks = console.drive(x).zip(console.drive(y));
    if let Some(((stick, axis), _)) = sticks.filter(|((s, _), (t, _))| std::ptr::eq(*s, *t)) {
        sink.put(&SAME_STICK, m.step.head, || {
            SAME_STICK
                .at(m.step.head, format!("{first} and {second} are both on the {}, which moves one joint at a time", stick.name.value))
                .label(axis.span, format!("the {} drives {first} here", stick.name.value))
                .help("write two steps, one for each joint")
        });
    } else if !console.may_move_together(x, y) {
        sink.put(&NOT_ALLOWED_TOGETHER, m.step.head, || {
            NOT_ALLOWED_TOGETHER
                .at(m.step.head, format!("the arm profile does not let {first} and {second} move together"))
                .label(console.span, "`together` lists the pairs that may")
                .help("write two steps, one for each joint")
        });
    }
    gates_lock(m, two, sink);
    for gate in &two.gates {
        for (joint, angle, what) in [(gate.held, gate.not_past, "waits"), (gate.until, gate.past, "opens the gate")] {
            let Some(drive) = two.drives.iter().find(|d| d.joint.value == joint.value) else { continue };
            let start = m.before.joint(joint.value);
            if !start.is_known() {
                continue;
            }
            let data = arm.joint(joint.value);
            let (low, high) = start.idle(data.hold.value);
            let target = measure::target(drive);
            let band = measure::band(data, &drive.goal);
            // Strictly between: at its start a gate is met already, and inside the band of the target it may never be passed.
            let inside = if drive.positive.value {
                angle.value > high && angle.value < target - band
            } else {
                angle.value < low && angle.value > target + band
            };
            if !inside {
                let make = || {
                    let name = &data.name.value;
                    GATE_OUT_OF_RANGE
                        .at(
                            angle.span,
                            format!(
                                "{name} {what} at {}, but it moves from {} to {} here",
                                angle.value.show(),
                                start.nominal.show(),
                                target.show()
                            ),
                        )
                        .help(format!("choose an angle that {name} is certain to pass on the way"))
                        .number("gate", angle.value.show())
                        .number("start", start.nominal.show())
                        .number("target", target.show())
                };
                let part = Part::Joint(joint.value);
                // A move the wrong way passes no gate.
                match sink.is_spoilt(part) {
                    true => sink.spoil(&GATE_OUT_OF_RANGE, angle.span, part, make),
                    false => sink.rest(&GATE_OUT_OF_RANGE, angle.span, &[part], &[], make),
                }
            }
        }
    }
}

/// Each of two gates stops its joint before the angle the other one waits for.
fn gates_lock(m: &Moment<'_>, two: &DriveTwo, sink: &mut Sink<'_>) {
    let before = |joint: JointId, a: Angle, b: Angle| {
        two.drives.iter().find(|d| d.joint.value == joint).is_some_and(|d| if d.positive.value { a <= b } else { a >= b })
    };
    for (n, gate) in two.gates.iter().enumerate() {
        let locks = |other: &&Gate| {
            other.held.value == gate.until.value
                && gate.held.value == other.until.value
                && before(gate.held.value, gate.not_past.value, other.past.value)
                && before(other.held.value, other.not_past.value, gate.past.value)
        };
        let Some(other) = two.gates[..n].iter().find(locks) else { continue };
        let name = |joint: JointId| &m.p.arm.joint(joint).name.value;
        let (held, until) = (name(gate.held.value), name(gate.until.value));
        let span = gate.not_past.span;
        sink.put(&GATES_LOCK, span, || {
            GATES_LOCK
                .at(
                    span,
                    format!(
                        "{held} waits here at {} for {until} to pass {}, and {until} waits at {} for {held} to pass {}",
                        gate.not_past.value.show(),
                        gate.past.value.show(),
                        other.not_past.value.show(),
                        other.past.value.show()
                    ),
                )
                .label(other.not_past.span, "the other gate")
                .help("let one of the two open before the other joint has to wait")
        });
    }
}
