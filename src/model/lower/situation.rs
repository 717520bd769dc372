//! The performer and the declared start and end, with their names resolved.

use super::{Lowering, Problem};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::RoleId;
use crate::model::procedure::Situation;
use crate::syntax::front::{FrontMatter, StateDeclaration};
use crate::text::Spanned;
use crate::units::{Length, Round};

/// A performer that may not drive the arm.
pub static UNFIT_PERFORMER: Rule = Rule {
    id: "unfit-performer",
    family: Family::Document,
    severity: Severity::Error,
    physical: false,
    summary: "the performer is a post that the policy does not let drive the arm",
    why: "Who performs decides who may clear holds and verify. The policy says which posts may drive the arm.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::procedure(
        "+++\nid = \"X-1\"\ntitle = \"Try\"\nrevision = \"A\"\ndate = \"2026-03-02\"\nuse = \"continuous\"\nperformer = ⟦\"Radiation protection\"⟧\n\
         arm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"60 mm\"\npower = \"off\"\n[end]\npose = \"home\"\n+++\n\n\
         # Work\n\n1. `expect pose home`\n",
    )],
    good: &[Example::steps("1. `expect pose home`\n")],
};

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[&UNFIT_PERFORMER];

impl Lowering<'_, '_> {
    /// Who performs the steps.
    pub(super) fn performer(&mut self, front: &FrontMatter) -> Option<RoleId> {
        let policy = self.names.policy;
        let listed = || policy.roles.iter().filter(|r| r.performs).map(|r| r.name.value.as_str()).collect::<Vec<_>>().join(", ");
        // A missing performer was told when the front matter was read.
        let written = front.performer.as_ref()?;
        match self.names.role(&written.value, written.span) {
            Err(problem) => self.found.push(*problem),
            Ok(role) if policy.roles[role.value.at()].performs => return Some(role.value),
            // A policy that lets nobody perform is at fault itself, and its loader said so.
            Ok(_) if !policy.roles.iter().any(|r| r.performs) => {}
            Ok(role) => {
                let message = format!("{} may not drive the arm; {} may", written.value, listed());
                let place = policy.roles[role.value.at()].name.span;
                self.found.push(UNFIT_PERFORMER.at(written.span, message).label(place, "the policy does not let this post perform"));
            }
        }
        None
    }

    /// A declared situation; `None` if a name in it failed, which has been told.
    pub(super) fn situation(&mut self, declared: &StateDeclaration) -> Option<Situation> {
        match self.resolve(declared) {
            Ok(situation) => Some(situation),
            Err(problem) => {
                self.found.push(*problem);
                None
            }
        }
    }

    fn resolve(&self, declared: &StateDeclaration) -> Result<Situation, Problem> {
        let names = self.names;
        let load = |(load, place): &(Spanned<String>, Spanned<String>)| {
            let station = match place.value.as_str() {
                "held" => Spanned::new(None, place.span),
                name => names.station(name, place.span)?.map(Some),
            };
            Ok((names.load(&load.value, load.span)?, station))
        };
        let equipment = |(equipment, state): &(Spanned<String>, Spanned<String>)| {
            let equipment = names.equipment(&equipment.value, equipment.span)?;
            Ok((equipment, names.state(equipment.value, &state.value, state.span)?))
        };
        Ok(Situation {
            span: declared.span,
            pose: declared.pose.as_ref().map(|p| names.pose(&p.value, p.span)).transpose()?,
            // The reader of the front matter takes lengths only.
            jaw: declared.jaw.and_then(|j| Some(Spanned::new(Length::from_quantity(&j.value, Round::Down)?, j.span))),
            power: declared.power,
            tool: declared.tool.as_ref().map(|t| names.tool(&t.value, t.span)).transpose()?,
            view: declared.view.as_ref().map(|v| names.view(&v.value, v.span)).transpose()?,
            loads: declared.loads.iter().map(load).collect::<Result<_, Problem>>()?,
            equipment: declared.equipment.iter().map(equipment).collect::<Result<_, Problem>>()?,
        })
    }
}
