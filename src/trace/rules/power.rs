//! Power at the console, and who may take over when.
//!
//! The checks that the profile wants before power on are printed with the `power on` step itself, so no step of the
//! procedure has to repeat them.

use super::super::doubt::Part;
use super::super::state::Phase;
use super::{Moment, Sink};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::text::Span;

/// Motion without power.
pub static POWER_NOT_ON: Rule = Rule {
    id: "power-not-on",
    family: Family::Power,
    severity: Severity::Error,
    physical: true,
    summary: "the arm or the jaw is to move with console power off",
    why: "Nothing moves without power. Either the step that switches it on is missing, together with the checks that belong before it, or the steps are in the wrong order.",
    evidence: Evidence::Definition,
    bad: &[
        Example::steps("1. `⟦shoulder⟧ lower to -5 deg`\n"),
        Example::steps("1. `power on arm`\n2. `power off arm`\n3. ⟦`jaw open to 90 mm`⟧\n"),
    ],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder lower to -5 deg`\n")],
};

/// Power switched to what it is.
pub static POWER_ALREADY: Rule = Rule {
    id: "power-already",
    family: Family::Power,
    severity: Severity::Error,
    physical: false,
    summary: "power is switched on while it is on, or off while it is off",
    why: "The writer believed the arm to be in another condition than it is. The steps around this one were written for that other condition.",
    evidence: Evidence::Definition,
    bad: &[Example::steps("1. `power on arm`\n2. ⟦`power on arm`⟧\n"), Example::steps("1. ⟦`power off arm`⟧\n")],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder lower to -5 deg`\n3. `power off arm`\n")],
};

/// Power switched off with a load in the air.
pub static POWER_OFF_WHILE_HOLDING: Rule = Rule {
    id: "power-off-while-holding",
    family: Family::Power,
    severity: Severity::Error,
    physical: false,
    summary: "power goes off while a load hangs in the jaw",
    why: "Without power the arm can sink and the jaw may or may not keep its grip. A load that hangs then comes down where nobody planned it.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps(concat!(take_cup!(), "10. ⟦`power off arm`⟧\n"))],
    good: &[Example::steps("1. `power on arm`\n2. `power off arm`\n")],
};

/// A crew change with a load in the jaw.
pub static TURNOVER_WHILE_HOLDING: Rule = Rule {
    id: "turnover-while-holding",
    family: Family::Power,
    severity: Severity::Warning,
    physical: false,
    summary: "crews may change while a load is in the jaw",
    why: "The crew that comes on did not see the load gripped, and does not know how it sits. A turnover is planned with an empty jaw, or its reason is written down.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps(concat!(take_cup!(), "10. ⟦`turnover`⟧\n"))],
    good: &[Example::steps("1. `power on arm`\n2. `turnover`\n")],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&POWER_NOT_ON, &POWER_ALREADY, &POWER_OFF_WHILE_HOLDING, &TURNOVER_WHILE_HOLDING];

pub(super) fn needs_power(m: &Moment<'_>, span: Span, sink: &mut Sink<'_>) {
    if m.before.power != Some(false) {
        return;
    }
    sink.rest(&POWER_NOT_ON, span, &[Part::Power], &[], || {
        POWER_NOT_ON
            .at(span, "this step moves the arm or the jaw, but console power is off here")
            .help(format!("put `power on {}` before this step", m.p.arm.name.value))
    });
}

pub(super) fn switches(m: &Moment<'_>, on: bool, sink: &mut Sink<'_>) {
    let span = m.step.head;
    if m.before.power == Some(on) {
        sink.rest(&POWER_ALREADY, span, &[Part::Power], &[], || {
            let word = if on { "on" } else { "off" };
            POWER_ALREADY
                .at(span, format!("console power is already {word} here"))
                .help("leave the step out, or correct `power` under `[start]`")
        });
    }
    if !on
        && let Some(held) = m.before.held()
        && !matches!(held.phase, Phase::SetOn(_) | Phase::Supported(_))
    {
        sink.rest(&POWER_OFF_WHILE_HOLDING, span, &[Part::Load(held.load)], &[], || {
            let load = &m.p.cell.loads[held.load.at()].name.value;
            POWER_OFF_WHILE_HOLDING
                .at(span, format!("power goes off while `{load}` hangs in the jaw"))
                .help("set the load down and let go of it first")
        });
    }
}

pub(super) fn turnover(m: &Moment<'_>, sink: &mut Sink<'_>) {
    let (Some(held), span) = (m.before.held(), m.step.head) else { return };
    sink.rest(&TURNOVER_WHILE_HOLDING, span, &[Part::Load(held.load)], &[], || {
        let load = &m.p.cell.loads[held.load.at()].name.value;
        TURNOVER_WHILE_HOLDING
            .at(span, format!("crews may change here while the jaw holds `{load}`"))
            .help("plan the turnover before the load is gripped or after it is let go")
    });
}
