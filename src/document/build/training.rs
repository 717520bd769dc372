//! What an instructor teaches from, made from the compiled form: nothing in it is worked out here.

use super::Basis;
use super::card::blocks;
use crate::compiled::{Act, Compiled, Evidence};
use crate::document::training::{Console, Taught, Training};
use crate::document::wording::listed;
use crate::document::{Field, Prose};
use crate::model::procedure::{Kind, Label, Step};
use crate::space::Stretch;
use crate::space::sight::Sighted;
use crate::units::{Round, shown};
use crate::words::ids::{self, Entry};
use std::collections::BTreeSet;

impl Basis<'_> {
    /// The compiled form, in the edition to learn from.
    fn taught(&self) -> Option<&Compiled> {
        self.sources.compiled.filter(|_| self.sources.edition.is_taught())
    }

    /// The page for the instructor.
    pub(super) fn training(&self) -> Option<Training> {
        let compiled = self.taught()?;
        let worst = [self.fall(compiled), self.reversals(compiled), self.closest(compiled)];
        Some(Training {
            item: "training",
            worst: listed("training.worst", worst.into_iter().flatten()),
            points: listed("training.points", self.questions(compiled)),
            views: self.views(),
        })
    }

    /// The console card of the arm.
    pub(super) fn console(&self) -> Option<Console> {
        self.taught()?;
        let (arm, words) = (&self.procedure.arm, self.words());
        let title = Field::new("card.title", words.fill(ids::TRAINING_CARD, [&arm.title]));
        Some(Console { item: "card", title, blocks: blocks(arm, words) })
    }

    /// What stands at a point instead of what is signed there, by the id of its step.
    pub(super) fn point(&self, item: &str, asks: Entry<0>) -> Option<Taught> {
        let said = |name: &str, entry| Prose::plain(format!("{item}.{name}"), self.words().say(entry));
        self.sources.edition.is_taught().then(|| Taught { asks: said("asks", asks), unsigned: said("unsigned", ids::TRAINING_UNSIGNED) })
    }

    /// That no reason is written for a step that moves arm or jaw.
    pub(super) fn no_reason(&self, step: &Step, item: &str) -> Option<Prose> {
        let moves = !step.drives().is_empty() || matches!(step.kind, Kind::Close(_) | Kind::Jaw { .. } | Kind::LetGo { .. });
        let open = self.sources.edition.is_taught() && moves && !step.lines.iter().any(|l| l.label == Label::Why);
        open.then(|| Prose::plain(format!("{item}.no-reason"), self.words().say(ids::TRAINING_NO_REASON)))
    }

    /// The worst fall of a load that is held.
    fn fall(&self, compiled: &Compiled) -> Option<String> {
        let drop = compiled.package.drops.first()?;
        let (words, height) = (self.words(), self.saying(&drop.height));
        Some(match (&drop.onto, &drop.energy) {
            (Some(onto), Some(energy)) => {
                words.fill(ids::TRAINING_FALL_ONTO, [&drop.load, &drop.mass, onto, &height, &self.saying(energy)])
            }
            _ => words.fill(ids::TRAINING_FALL, [&drop.load, &drop.mass, &height]),
        })
    }

    /// The steps at which a picture shows the opposite of the direction word.
    fn reversals(&self, compiled: &Compiled) -> Option<String> {
        self.survey.scene.as_ref().ok()?;
        let words = self.words();
        let is_reversed = |s: &&Stretch| match &s.sight {
            Sighted::Through(look, _) => look.motions.iter().any(|seen| seen.is_against_word()),
            Sighted::NoView | Sighted::NoPlace(_) => false,
        };
        let rows: BTreeSet<_> = self.survey.stretches.iter().filter(is_reversed).map(|s| s.row).collect();
        let numbers: BTreeSet<String> = rows.into_iter().map(|row| self.trace.number(self.procedure, row).to_string()).collect();
        let printed: Vec<String> = compiled.steps.iter().map(|s| &s.number).filter(|n| numbers.contains(*n)).cloned().collect();
        Some(match printed.as_slice() {
            [] => words.say(ids::TRAINING_NOT_REVERSED).to_owned(),
            all => words.fill(ids::TRAINING_REVERSED, [&all.len().to_string(), &self.steps_named(all)]),
        })
    }

    /// "step 4", "steps 4, 9 and 12".
    fn steps_named(&self, numbers: &[String]) -> String {
        match numbers {
            [one] => self.step_named(one),
            all => self.words().fill(ids::STEP_NAMES, [&self.words().list(all, ids::LIST_AND)]),
        }
    }

    /// The two that come nearest to each other, and where.
    fn closest(&self, compiled: &Compiled) -> Option<String> {
        let near = |e: &Evidence| {
            let clearance = e.clearance.as_ref()?;
            Some((clearance.least?, clearance.between.clone()?, e.step.clone()))
        };
        let (least, [one, other], step) = compiled.package.evidence.iter().filter_map(near).min_by_key(|n| n.0)?;
        let words = self.words();
        let distance = words.fill(ids::TOLD_AT_LEAST, [&format!("{} mm", shown(least, 1000, 0, Round::Down))]);
        Some(words.fill(ids::TRAINING_NEAREST, [&words.fill(ids::LIST_AND, [&one, &other]), &distance, &self.step_named(&step)]))
    }

    /// What is asked at each kind of point that there is.
    fn questions(&self, compiled: &Compiled) -> Vec<String> {
        type Is = fn(&Act) -> bool;
        let kinds: [(Is, Entry<0>); 4] = [
            (|act| matches!(act, Act::HoldPoint { .. }), ids::TRAINING_HOLDS),
            (|act| matches!(act, Act::WitnessPoint { .. }), ids::TRAINING_WITNESSES),
            (|act| matches!(act, Act::VerifyAfter { .. }), ids::TRAINING_VERIFIES),
            (|act| matches!(act, Act::Turnover), ids::TRAINING_TURNOVERS),
        ];
        let there = kinds.into_iter().filter(|(is, _)| compiled.steps.iter().any(|s| is(&s.act)));
        there.map(|(_, entry)| self.words().say(entry).to_owned()).collect()
    }
}
