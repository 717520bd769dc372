//! Verification: by somebody who did not watch, not of what can no longer be taken back, and against something.

use super::demands::is_critical;
use super::{Found, rule};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::StepId;
use crate::model::procedure::{Kind, Label, LineForm, Step};

/// The verifier watched.
pub static WATCHED_THEN_VERIFIED: Rule = rule(
    "watched-then-verified",
    Family::Hold,
    Severity::Error,
    "a step is verified afterwards by the post that agreed before it and watched",
    "Who has watched an act sees afterwards what they saw then. Independent verification is apart in time and place; agreeing before the act is the other kind.",
    Evidence::Read("DOE-STD-1036-93: a verifier who watched the performance does not verify independently"),
    (
        &[Example::steps(
            "1. `read joints`\n   - Second person: Second operator, agree before the act.\n2. `verify after: ⟦Second operator⟧`\n",
        )],
        &[Example::steps("1. `read joints`\n   - Second person: Second operator, agree before the act.\n2. `verify after: Shift lead`\n")],
    ),
);
/// Afterwards is too late.
pub static VERIFIED_TOO_LATE: Rule = rule(
    "verified-too-late",
    Family::Hold,
    Severity::Error,
    "letting go of a critical load is verified afterwards and agreed by nobody before",
    "Once the jaw is open a mistake is on the floor. Where an act cannot be taken back, both identify the thing first and then one acts.",
    Evidence::Read(
        "DOE-STD-1036-93: concurrent dual verification where checking afterwards is impossible or harmful; that letting go is such an act is our own reading",
    ),
    (
        &[Example::steps(
            "1. `check` The flask stands on the shelf, seen in window 2.\n2. `hold point: Shift lead`\n   - Must be true: the flask stands on the shelf.\n3. `let go of flask on shelf, open to 120 mm`\n   - Proof: the flask stays upright.\n4. ⟦`verify after: Second operator`⟧\n",
        )],
        &[Example::steps(
            "1. `check` The flask stands on the shelf, seen in window 2.\n2. `hold point: Shift lead`\n   - Must be true: the flask stands on the shelf.\n3. `let go of flask on shelf, open to 120 mm`\n   - Second person: Shift lead, agree before the act that the shelf bears the flask.\n   - Proof: the flask stays upright.\n4. `verify after: Second operator`\n",
        )],
    ),
);
/// Verified against nothing.
pub static VERIFIED_AGAINST_NOTHING: Rule = rule(
    "verified-against-nothing",
    Family::Hold,
    Severity::Error,
    "a verification follows a step that states neither a value nor what proves it",
    "The verifier must know what is to be so. Without it they sign that a step was done, which they did not see.",
    Evidence::Read("10 CFR 50 App. B V: important activities have acceptance criteria"),
    (
        &[Example::steps("1. Lock drawer 3.\n2. ⟦`verify after: Second operator`⟧\n")],
        &[Example::steps("1. Lock drawer 3.\n   - Proof: the red mark on the lock is seen.\n2. `verify after: Second operator`\n")],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&WATCHED_THEN_VERIFIED, &VERIFIED_TOO_LATE, &VERIFIED_AGAINST_NOTHING];

/// What stands before each verification of a list.
pub(super) fn check_list(found: &mut Found<'_>, list: &[StepId]) {
    for pair in list.windows(2) {
        let (before, step) = (found.step(pair[0]), found.step(pair[1]));
        if let Kind::VerifyAfter(role) = &step.kind {
            watched(found, before, step, *role);
            judged(found, before, step);
        }
    }
}

fn watched(found: &mut Found<'_>, before: &Step, step: &Step, verifier: crate::text::Spanned<crate::model::RoleId>) {
    let agreed = before.line(Label::SecondPerson).map(|l| &l.form);
    match agreed {
        Some(LineForm::SecondPerson { role, .. }) if role.value == verifier.value => {
            let name = found.procedure.policy.roles.get(role.value.at()).map_or("", |r| r.name.value.as_str());
            let problem = WATCHED_THEN_VERIFIED
                .at(
                    verifier.span,
                    format!("{name} agrees before step {} and watches it, and cannot verify it independently", before.number),
                )
                .label(role.span, "agrees before the act");
            found.at_step(step, problem.help("name another post, or take the verification out: the second person is one already"));
        }
        None => {
            if let Kind::LetGo { load, .. } = &before.kind
                && is_critical(found.procedure, load.value)
            {
                let problem = VERIFIED_TOO_LATE
                    .at(step.head, format!("when this is verified the jaw of step {} is open", before.number))
                    .label(before.head, "cannot be taken back");
                found.at_step(step, problem.help("write `- Second person: ROLE, agree before the act that ...` under the act"));
            }
        }
        _ => {}
    }
}

fn judged(found: &mut Found<'_>, before: &Step, step: &Step) {
    let acts =
        matches!(before.kind, Kind::Instruction | Kind::Close(_) | Kind::LetGo { .. } | Kind::Fit(_) | Kind::PutDown(_) | Kind::Set { .. });
    if acts && before.line(Label::Proof).is_none() {
        let problem = VERIFIED_AGAINST_NOTHING
            .at(step.head, format!("step {} does not say what is to be so", before.number))
            .label(before.head, "verified");
        found.at_step(step, problem.help("write `- Proof: ...` under it, with the state or value and where it is seen"));
    }
}
