//! What the site's policy demands of an act: holds, witnesses, a second person, verification, alerts, labelled lines.
//!
//! Whether a hold or witness point lies on every path to the act, with no motion between, is found along the [flow](super::flow).

use super::flow::State;
use super::{Found, rule};
use crate::diag::{Evidence, Example, ExampleFile, Family, Rule, Severity};
use crate::model::policy::{Act, Demand, Need, Policy};
use crate::model::procedure::{Item, Kind, Label, LineForm, Procedure, Step};
use crate::model::{LoadId, RoleId, StepId};

/// A hold, witness, verification or alert that the policy wants is not there.
pub static DEMAND_NOT_MET: Rule = rule(
    "demand-not-met",
    Family::Hold,
    Severity::Error,
    "the policy wants a hold, witness, verification or alert at this act, and it is not there on every path",
    "The site decided that this act is not done without it. A hold or witness point counts if it lies on every path to the act with no motion between the \
     two; one in a branch covers that branch only. A verification stands directly behind the act, an alert directly before it.",
    Evidence::CommonPractice,
    (
        &[Example::steps(concat!(
            "> [!WARNING]\n> Hazard: the flask tips.\n> Consequence: it breaks.\n\n",
            "1. ⟦`let go of flask on shelf, open to 120 mm`⟧\n   - Second person: Shift lead, agree before the act that the shelf bears the flask.\n   - Proof: the flask stays upright.\n2. `verify after: Second operator`\n"
        ))],
        &[Example::steps(concat!(
            "1. `check` The flask stands on the shelf, seen in window 2.\n",
            "2. `hold point: Shift lead`\n   - Must be true: the flask stands on the shelf.\n",
            "3. `let go of flask on shelf, open to 120 mm`\n   - Second person: Shift lead, agree before the act that the shelf bears the flask.\n   - Proof: the flask stays upright.\n4. `verify after: Second operator`\n"
        ))],
    ),
);
/// An act that cannot be taken back, done by one person alone.
pub static ACT_WITHOUT_SECOND_PERSON: Rule = rule(
    "act-without-second-person",
    Family::Hold,
    Severity::Error,
    "an act for which the policy wants a second person has none",
    "Where an act cannot be undone, checking it afterwards is too late. A second person identifies the thing independently and agrees before the act.",
    Evidence::Read("DOE-STD-1036-93: concurrent dual verification where an error cannot be undone"),
    (
        &[Example::steps("1. `grip level 2`\n2. ⟦`close on flask`⟧\n")],
        &[Example::steps(
            "1. `grip level 2`\n2. `close on flask`\n   - Second person: Second operator, agree before the act that it is the flask.\n",
        )],
    ),
);
/// A labelled line that the policy wants.
pub static MISSING_LINE: Rule = rule(
    "missing-line",
    Family::Document,
    Severity::Error,
    "a step lacks a labelled line that the policy wants under this act",
    "The site wants this line under every such step, so that the operator finds the same answer at the same place each time.",
    Evidence::CommonPractice,
    (
        &[Example::steps("1. ⟦`set port-plate open`⟧\n")],
        &[Example::steps("1. `set port-plate open`\n   - Proof: the plate stands open, seen in window 2.\n")],
    ),
);
/// Too many steps without a sign-off.
pub static UNSIGNED_RUN: Rule = rule(
    "unsigned-run",
    Family::Hold,
    Severity::Error,
    "more steps follow each other without a sign-off than the policy allows",
    "A place in the procedure is lost between two signatures. Hold points, witness points, verifications and steps with a second person are sign-offs.",
    Evidence::CommonPractice,
    (
        &[Example {
            file: ExampleFile::Steps,
            replace: "",
            text: "1. `turnover`\n2. `turnover`\n3. `turnover`\n4. `turnover`\n5. `turnover`\n6. `turnover`\n7. `turnover`\n8. `turnover`\n9. `turnover`\n10. `turnover`\n11. ⟦`turnover`⟧\n12. `turnover`\n",
        }],
        &[Example::steps(
            "1. `turnover`\n2. `turnover`\n3. `turnover`\n4. `turnover`\n5. `turnover`\n6. `turnover`\n7. `turnover`\n8. `turnover`\n9. `read joints`\n10. `hold point: Shift lead`\n    - Must be true: the read-outs agree.\n11. `turnover`\n",
        )],
    ),
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&DEMAND_NOT_MET, &ACT_WITHOUT_SECOND_PERSON, &MISSING_LINE, &UNSIGNED_RUN];

/// The labelled lines the policy wants under a step. Those every site needs have rules of their own.
pub(super) fn lines(found: &mut Found<'_>, step: &Step) {
    let Some(act) = step.act() else { return };
    let procedure = found.procedure;
    let policy: &Policy = &procedure.policy;
    for demand in policy.lines.iter().filter(|d| d.act == act) {
        let elsewhere =
            matches!((act, demand.label), (Act::HoldPoint, Label::MustBeTrue) | (Act::Guarded | Act::Taps | Act::Read, Label::IfNot));
        if elsewhere || step.line(demand.label).is_some() {
            continue;
        }
        let word = demand.label.word();
        let message = format!("the site wants a `{word}:` line under every `{}`", act.word());
        let problem = MISSING_LINE
            .at(step.head, message)
            .label(demand.span, "the policy wants it here")
            .help(format!("write `- {word}: ...` under the step"));
        found.at_step(step, problem);
    }
}

/// The acts a policy speaks of, and the alerts that stand before steps: looked up once, asked for every step.
pub(super) struct Demands {
    /// By act: whether any demand speaks of it.
    asked: [bool; Act::ALL.len()],
    /// By step, a bit for each signal word that stands before it. Empty if no demand asks for an alert.
    alerts: Vec<u8>,
}

impl Demands {
    pub(super) fn of(procedure: &Procedure) -> Demands {
        let mut asked = [false; Act::ALL.len()];
        let demands = &procedure.policy.demands;
        for demand in demands {
            asked[demand.act as usize] = true;
        }
        let mut alerts = Vec::new();
        if demands.iter().any(|d| matches!(d.needs, Need::Alert(_))) {
            alerts = vec![0; procedure.steps.len()];
            for item in procedure.sections.iter().flat_map(|s| &s.items) {
                if let Item::Alert(alert) = item
                    && let Some(bits) = alert.guards.and_then(|id| alerts.get_mut(id.at()))
                {
                    *bits |= 1 << alert.kind as u8;
                }
            }
        }
        Demands { asked, alerts }
    }

    /// What the policy demands of `step`, reached with `state` on some path and followed by `next` in its list.
    pub(super) fn check(&self, found: &mut Found<'_>, step: &Step, state: &State, next: Option<StepId>) {
        let Some(act) = step.act() else { return };
        if !self.asked[act as usize] {
            return;
        }
        let procedure = found.procedure;
        let policy: &Policy = &procedure.policy;
        let critical = match load(step) {
            Some(load) => is_critical(found.procedure, load),
            None => state.critical,
        };
        for demand in policy.demands.iter().filter(|d| d.act == act && (critical || !d.critical_only)) {
            let post = |role: RoleId| policy.roles.get(role.at()).map_or("", |r| r.name.value.as_str());
            let (missing, help) = match demand.needs {
                Need::Hold(role) if !state.held_for(role) => (
                    format!("a hold point cleared by {} on every path before it, with no motion between", post(role)),
                    format!("write `hold point: {}` as a step directly before it", post(role)),
                ),
                Need::Witness(role) if !state.witnessed_by(role) => (
                    format!("a witness point for {} on every path before it, with no motion between", post(role)),
                    format!("write `witness point: {}` as a step directly before it", post(role)),
                ),
                Need::SecondPerson if step.line(Label::SecondPerson).is_none() => {
                    second_person(found, step, demand);
                    continue;
                }
                Need::VerifyAfter if !next.is_some_and(|id| matches!(found.step(id).kind, Kind::VerifyAfter(_) | Kind::Broken)) => {
                    ("a `verify after` directly behind it".to_string(), "write `verify after: ROLE` as the next step".to_string())
                }
                Need::Alert(kind) if !self.alerted(found, step, kind as u8) => {
                    (format!("a {} directly before it", kind.word()), format!("write a block `> [!{}]` before the step", kind.word()))
                }
                _ => continue,
            };
            let message = format!("the site wants {missing}: {}", demand.reason);
            found.at_step(step, DEMAND_NOT_MET.at(step.head, message).label(demand.span, "the policy demands it here").help(help));
        }
    }

    /// An alert before the step, or before the step whose arm or body it stands in.
    fn alerted(&self, found: &Found<'_>, step: &Step, kind: u8) -> bool {
        let mut at = Some(step);
        while let Some(s) = at {
            if self.alerts.get(s.id.at()).is_some_and(|bits| bits & (1 << kind) != 0) {
                return true;
            }
            at = s.parent.map(|id| found.step(id));
        }
        false
    }
}

fn second_person(found: &mut Found<'_>, step: &Step, demand: &Demand) {
    let message = format!("the site wants a second person who agrees before this act: {}", demand.reason);
    let problem = ACT_WITHOUT_SECOND_PERSON.at(step.head, message).label(demand.span, "the policy demands it here");
    found.at_step(step, problem.help("write `- Second person: ROLE, agree before the act that ...` under the step"));
}

/// The load an act is about.
fn load(step: &Step) -> Option<LoadId> {
    match &step.kind {
        Kind::Close(load) | Kind::LetGo { load, .. } => Some(load.value),
        Kind::Lift(t) | Kind::Lower(t) => Some(t.load.value),
        _ => None,
    }
}

pub(super) fn is_critical(procedure: &Procedure, load: LoadId) -> bool {
    procedure.cell.loads.get(load.at()).is_some_and(|l| l.critical)
}

/// A step at which somebody besides the performer signs, or one that might have been.
pub(super) fn signs_off(step: &Step) -> bool {
    matches!(step.kind, Kind::HoldPoint(_) | Kind::WitnessPoint(_) | Kind::VerifyAfter(_) | Kind::Broken)
        || step.line(Label::SecondPerson).is_some_and(|l| matches!(l.form, LineForm::SecondPerson { .. } | LineForm::Broken))
}
