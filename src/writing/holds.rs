//! Hold points, witnesses, verification and the second person: who, on what ground, and for what.

use super::{Found, rule};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Kind, Label, LineForm, Step};
use crate::model::{RoleId, StepId};
use crate::text::Spanned;

/// The performer clears the hold.
pub static SELF_CLEARED_HOLD: Rule = rule(
    "self-cleared-hold",
    Family::Hold,
    Severity::Error,
    "a hold point is cleared by the one who performs the steps",
    "A hold exists so that somebody else looks. Cleared by the performer it holds nothing.",
    Evidence::Read("10 CFR 50 App. B X: inspection by persons other than those who performed the activity"),
    (
        &[Example::steps(
            "1. `read joints`\n2. `hold point: ⟦Operator⟧`\n   - Must be true: the read-outs agree with the printed angles.\n",
        )],
        &[Example::steps(
            "1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree with the printed angles.\n",
        )],
    ),
);
/// A post that may not clear holds.
pub static UNFIT_TO_CLEAR: Rule = rule(
    "unfit-to-clear",
    Family::Hold,
    Severity::Error,
    "a hold point names a post that the policy does not let clear holds",
    "The policy says which posts may clear a hold point; a signature of another post does not count.",
    Evidence::Read("10 CFR 50 App. B X: hold points need the consent of the designated representative"),
    (
        &[Example::steps(
            "1. `read joints`\n2. `hold point: ⟦Second operator⟧`\n   - Must be true: the read-outs agree with the printed angles.\n",
        )],
        &[Example::steps(
            "1. `read joints`\n2. `hold point: Radiation protection`\n   - Must be true: the read-outs agree with the printed angles.\n",
        )],
    ),
);
/// A hold without its criterion.
pub static HOLD_WITHOUT_CRITERION: Rule = rule(
    "hold-without-criterion",
    Family::Hold,
    Severity::Error,
    "a hold point does not say what must be true to clear it",
    "Without a criterion a hold is cleared on trust. What must be true is written, so that two people would decide alike.",
    Evidence::Read("10 CFR 50 App. B V: acceptance criteria for important activities"),
    (
        &[Example::steps("1. `read joints`\n2. ⟦`hold point: Shift lead`⟧\n")],
        &[Example::steps(
            "1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: the read-outs agree with the printed angles.\n",
        )],
    ),
);
/// The performer as witness.
pub static SELF_WITNESSED: Rule = rule(
    "self-witnessed",
    Family::Hold,
    Severity::Error,
    "a witness point invites the one who performs the steps",
    "Nobody witnesses their own work.",
    Evidence::Read("10 CFR 50 App. B X: inspection by persons other than those who performed the activity"),
    (&[Example::steps("1. `witness point: ⟦Operator⟧`\n")], &[Example::steps("1. `witness point: Shift lead`\n")]),
);
/// The performer as verifier.
pub static SELF_VERIFIED: Rule = rule(
    "self-verified",
    Family::Hold,
    Severity::Error,
    "a verification is given to the one who performed the step",
    "Independent verification is done by another person, apart in time. Whoever did the step sees what they meant to do.",
    Evidence::Read("DOE-STD-1036-93: independent verification is separate from the performance"),
    (
        &[Example::steps("1. `read joints`\n2. `verify after: ⟦Operator⟧`\n")],
        &[Example::steps("1. `read joints`\n2. `verify after: Second operator`\n")],
    ),
);
/// The performer as second person.
pub static SELF_AGREED: Rule = rule(
    "self-agreed",
    Family::Hold,
    Severity::Error,
    "the second person of a step is the one who performs it",
    "The second person identifies the thing independently and agrees before the act. One person cannot be two.",
    Evidence::Read("DOE-STD-1036-93: concurrent dual verification takes two persons"),
    (
        &[Example::steps("1. `read joints`\n   - Second person: ⟦Operator⟧, agree before the act.\n")],
        &[Example::steps("1. `read joints`\n   - Second person: Second operator, agree before the act.\n")],
    ),
);
/// A second person who agrees at no stated time.
pub static AGREED_TOO_LATE: Rule = rule(
    "agreed-too-late",
    Family::Hold,
    Severity::Error,
    "a second person is named who does not agree before the act",
    "Where an act cannot be taken back, looking on is no verification: both identify the thing first, then one acts. The line says \"agree before the act\".",
    Evidence::Read("DOE-STD-1036-93: both identify the component before the act"),
    (
        &[Example::steps("1. `read joints`\n   ⟦- Second person: Second operator⟧\n")],
        &[Example::steps("1. `read joints`\n   - Second person: Second operator, agree before the act.\n")],
    ),
);
/// A verification of nothing.
pub static NOTHING_TO_VERIFY: Rule = rule(
    "nothing-to-verify",
    Family::Hold,
    Severity::Error,
    "no step that could be verified stands directly before a `verify after`",
    "A verification belongs to the step before it. At the head of a list, or behind a hold or a message, it verifies nothing.",
    Evidence::Definition,
    (
        &[Example::steps("1. `tell Shift lead`\n   - Say: ready.\n2. ⟦`verify after: Second operator`⟧\n")],
        &[Example::steps("1. `read joints`\n2. `verify after: Second operator`\n")],
    ),
);

/// A criterion that nothing before it observed; found along the flow.
pub static CRITERION_NOT_OBSERVED: Rule = rule(
    "criterion-not-observed",
    Family::Hold,
    Severity::Error,
    "a hold's criterion is not something read, checked or seen before the hold",
    "Whoever clears the hold decides on what is known at that point. Since the last hold something must have been read, checked or proved, and a step that the \
     criterion names must stand before it.",
    Evidence::CommonPractice,
    (
        &[
            Example::steps("1. `power on arm`\n2. `hold point: Shift lead`\n   - Must be true: ⟦the cup stands upright.⟧\n"),
            Example::steps(
                "1. `read joints`\n2. `hold point: Shift lead`\n   - Must be true: ⟦[the reading](#later) is below 50 uSv/h.⟧\n3. `read joints` {#later}\n",
            ),
        ],
        &[
            Example::steps(
                "1. `check` The cup stands upright, seen in window 2.\n2. `hold point: Shift lead`\n   - Must be true: the cup stands upright.\n",
            ),
            Example::steps(
                "1. `read joints` {#first}\n2. `hold point: Shift lead`\n   - Must be true: [the read-outs](#first) agree.\n3. `hold point: Radiation protection`\n   - Must be true: [the read-outs](#first) agree.\n",
            ),
        ],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[
    &SELF_CLEARED_HOLD,
    &UNFIT_TO_CLEAR,
    &HOLD_WITHOUT_CRITERION,
    &CRITERION_NOT_OBSERVED,
    &SELF_WITNESSED,
    &SELF_VERIFIED,
    &SELF_AGREED,
    &AGREED_TOO_LATE,
    &NOTHING_TO_VERIFY,
];

pub(super) fn check(found: &mut Found<'_>, step: &Step) {
    match &step.kind {
        Kind::HoldPoint(role) => hold(found, step, *role),
        Kind::WitnessPoint(role) if performs(found, *role) => {
            let problem = SELF_WITNESSED.at(role.span, format!("{} performs the steps and cannot witness them", name(found, *role)));
            found.at_step(step, others(found, problem, false));
        }
        Kind::VerifyAfter(role) if performs(found, *role) => {
            let problem =
                SELF_VERIFIED.at(role.span, format!("{} performs the steps and cannot verify them independently", name(found, *role)));
            found.at_step(step, others(found, problem, false));
        }
        _ => {}
    }
    let Some(line) = step.line(Label::SecondPerson) else { return };
    match &line.form {
        LineForm::SecondPerson { role, .. } if performs(found, *role) => {
            let problem = SELF_AGREED.at(role.span, format!("{} performs the step and cannot be its second person", name(found, *role)));
            found.at_step(step, others(found, problem, false));
        }
        LineForm::SecondPerson { agree_before: false, .. } => {
            let problem = AGREED_TOO_LATE.at(line.span, "this does not say that the second person agrees before the act");
            found.at_step(
                step,
                problem.help("write `Second person: ROLE, agree before the act that ...`; to look at it later, use `verify after:`"),
            );
        }
        _ => {}
    }
}

fn hold(found: &mut Found<'_>, step: &Step, role: Spanned<RoleId>) {
    let policy = &found.procedure.policy;
    if performs(found, role) {
        let problem = SELF_CLEARED_HOLD.at(role.span, format!("{} performs the steps and cannot clear a hold on them", name(found, role)));
        found.at_step(step, others(found, problem, true));
    } else if let Some(post) = policy.roles.get(role.value.at()).filter(|p| !p.clears) {
        let problem = UNFIT_TO_CLEAR.at(role.span, format!("{} may not clear hold points", post.name.value));
        found.at_step(step, others(found, problem.label(post.name.span, "the policy does not let this post clear"), true));
    }
    if step.line(Label::MustBeTrue).is_none() {
        let problem =
            HOLD_WITHOUT_CRITERION.at(step.head, format!("nothing says what must be true for {} to clear this hold", name(found, role)));
        found.at_step(step, problem.help("write `- Must be true: ...` with the reading or the state that was seen before"));
    }
}

fn performs(found: &Found<'_>, role: Spanned<RoleId>) -> bool {
    found.procedure.performer == Some(role.value)
}

fn name<'a>(found: &Found<'a>, role: Spanned<RoleId>) -> &'a str {
    found.procedure.policy.roles.get(role.value.at()).map_or("", |r| r.name.value.as_str())
}

/// Adds who could do it instead.
fn others(found: &Found<'_>, problem: Diagnostic, clearing: bool) -> Diagnostic {
    let fit = (0u16..)
        .zip(&found.procedure.policy.roles)
        .filter(|(i, r)| found.procedure.performer != Some(RoleId(*i)) && (r.clears || !clearing));
    let names: Vec<&str> = fit.map(|(_, r)| r.name.value.as_str()).collect();
    if names.is_empty() { problem } else { problem.help(format!("name another post: {}", names.join(", "))) }
}

/// What a verification follows.
pub(super) fn check_list(found: &mut Found<'_>, list: &[StepId]) {
    let mut before: Option<&Step> = None;
    for id in list {
        let step = found.step(*id);
        if matches!(step.kind, Kind::VerifyAfter(_)) && !before.is_some_and(can_be_verified) {
            let message = match before {
                None => "no step stands before this verification in its list".to_string(),
                Some(b) => format!("step {} before it is nothing that can be verified", b.number),
            };
            found.at_step(step, NOTHING_TO_VERIFY.at(step.head, message).help("put it directly behind the step it verifies"));
        }
        before = Some(step);
    }
}

fn can_be_verified(step: &Step) -> bool {
    !matches!(
        step.kind,
        Kind::HoldPoint(_)
            | Kind::WitnessPoint(_)
            | Kind::VerifyAfter(_)
            | Kind::Turnover
            | Kind::Tell(_)
            | Kind::GoTo(_)
            | Kind::Wait { .. }
    )
}
