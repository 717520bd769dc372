//! Neighbouring steps that are easily taken for one another.

use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::StepId;
use crate::model::procedure::{Drive, Goal, Kind, Step};

/// Two targets that sound alike.
pub static SOUND_ALIKE: Rule = rule(
    "sound-alike",
    Family::Direction,
    Severity::Warning,
    "the targets of two neighbouring moves sound alike",
    "Numbers are read aloud at the console. Fifteen and fifty, one after the other, are taken for each other.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. `power on arm`\n2. `base left to +15 deg`\n3. `shoulder raise to ⟦+50 deg⟧`\n")],
        &[Example::steps("1. `power on arm`\n2. `base left to +15 deg`\n3. `shoulder raise to +48 deg`\n")],
    ),
);
/// One joint driven both ways in neighbouring steps.
pub static BOTH_WAYS: Rule = rule(
    "both-ways",
    Family::Direction,
    Severity::Warning,
    "one joint is driven both ways in two neighbouring steps",
    "A move and its reverse side by side are needless, or one of them was pasted; and a reader who skips a line drives the wrong one.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. `power on arm`\n2. `base left to +20 deg`\n3. `base ⟦right⟧ to +5 deg`\n")],
        &[Example::steps("1. `power on arm`\n2. `base left to +20 deg`\n3. `read joints`\n4. `base right to +5 deg`\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&SOUND_ALIKE, &BOTH_WAYS];

fn drive(step: &Step) -> Option<&Drive> {
    match &step.kind {
        Kind::Move(drive) => Some(drive),
        _ => None,
    }
}

pub(super) fn check(found: &mut Found<'_>, list: &[StepId]) {
    let mut before: Option<&Drive> = None;
    for id in list {
        let step = found.step(*id);
        let now = drive(step);
        if let (Some(a), Some(b)) = (before, now) {
            pair(found, step, a, b);
        }
        before = now;
    }
}

fn pair(found: &mut Found<'_>, step: &Step, a: &Drive, b: &Drive) {
    let end = |d: &Drive| match &d.goal {
        Goal::To { to, .. } => Some(*to),
        Goal::By { ending, .. } => Some(*ending),
        _ => None,
    };
    let (Some(first), Some(second)) = (end(a), end(b)) else { return };
    if sound_alike(first.value.0, second.value.0) {
        let message = format!("{} and {} sound alike when read aloud", first.value.show(), second.value.show());
        let problem = SOUND_ALIKE
            .at(second.span, message)
            .label(first.span, "the other")
            .help("put a `read joints` between them, or move one target by a degree");
        found.at_step(step, problem);
    }
    if a.joint.value == b.joint.value && a.positive.value != b.positive.value {
        let joint = found.procedure.arm.joint(b.joint.value);
        let word = |positive| if positive { &joint.positive.word.value } else { &joint.negative.word.value };
        let (one, other) = (word(a.positive.value), word(b.positive.value));
        let message =
            format!("{} goes {one} to {} and straight back {other} to {}", joint.name.value, first.value.show(), second.value.show());
        let problem = BOTH_WAYS.at(b.positive.span, message).label(a.positive.span, "the other way");
        found.at_step(step, problem.help("drive to the second angle at once, or put what is done in between on its own step"));
    }
}

/// 13 and 30, 14 and 40, ... 19 and 90: whole degrees whose names differ in the ending only.
fn sound_alike(a: i64, b: i64) -> bool {
    let teen = |teen: i64, ten: i64| teen % 1000 == 0 && (13_000..=19_000).contains(&teen) && (teen - 10_000) * 10 == ten;
    let (a, b) = (a.abs(), b.abs());
    teen(a, b) || teen(b, a)
}

#[cfg(test)]
mod tests {
    use super::sound_alike;

    #[test]
    fn only_the_teens_sound_like_tens() {
        assert!(sound_alike(15_000, -50_000) && sound_alike(30_000, 13_000) && sound_alike(-19_000, 90_000));
        assert!(!sound_alike(12_000, 20_000) && !sound_alike(15_500, 50_000) && !sound_alike(15_000, 60_000) && !sound_alike(0, 0));
    }
}
