//! What an instructor teaches from, made from the compiled form: nothing in it is worked out here.

use super::Basis;
use super::card::blocks;
use super::evidence::along;
use super::told::{each, numbered};
use crate::compiled::{self, Act, Compiled, Pictured, Shown};
use crate::document::training::{Console, Taught, Training};
use crate::document::wording::listed;
use crate::document::{Block, Field, Prose, Signal};
use crate::model::procedure::{Label, Step};
use crate::units::{Round, shown};
use crate::words::ids::{self, Entry};

impl Basis<'_> {
    /// The compiled form, in the edition to learn from.
    fn taught(&self) -> Option<&Compiled> {
        self.sources.compiled.filter(|_| self.sources.edition.is_taught())
    }

    /// The page for the instructor.
    pub(super) fn training(&self, blocks: &mut [Block]) -> Option<Training> {
        let compiled = self.taught()?;
        let worst = [self.drops(compiled), self.fall(compiled), self.reversals(compiled), self.closest(compiled)];
        Some(Training {
            item: "training",
            worst: listed("training.worst", worst.into_iter().flatten()),
            warnings: listed("training.warning", self.warnings(blocks)),
            watch: listed("training.watch", self.watch(blocks)),
            points: self.questions(compiled),
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
        let moves = !step.drives().is_empty() || step.works_jaw().is_some();
        let open = self.sources.edition.is_taught() && moves && !step.lines.iter().any(|l| l.label == Label::Why);
        open.then(|| Prose::plain(format!("{item}.no-reason"), self.words().say(ids::TRAINING_NO_REASON)))
    }

    /// That a load falls without power.
    fn drops(&self, compiled: &Compiled) -> Option<String> {
        let drops = compiled.steps.iter().any(|s| s.told.as_ref().is_some_and(|told| told.drops.is_some()));
        drops.then(|| self.words().say(ids::TRAINING_DROPS).to_owned())
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

    /// The steps at which a picture shows the opposite of the direction word or of what is said at the stick.
    fn reversals(&self, compiled: &Compiled) -> Option<String> {
        compiled.space.as_ref()?;
        let words = self.words();
        let opposite = |shown: &Shown| matches!(shown, Shown::Opposite | Shown::OppositeBetween(..));
        let turns = |seen: &Pictured| [&seen.word, &seen.stick].into_iter().flatten().any(opposite);
        let told = compiled.steps.iter().filter(|s| s.told.as_ref().is_some_and(|told| told.pictures.iter().any(turns)));
        let printed: Vec<String> = told.map(|step| step.number.clone()).collect();
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

    /// The two that come nearest to each other, and every step where they read as near.
    fn closest(&self, compiled: &Compiled) -> Option<String> {
        let all = || {
            compiled.package.evidence.iter().filter_map(|e| {
                let clearance = e.clearance.as_ref()?;
                Some((clearance.least?, clearance.between.as_ref()?, e.step.as_str(), along(clearance.at.as_deref()?)))
            })
        };
        let (least, pair, ..) = all().min_by_key(|n| n.0)?;
        let alike = |um: i64| shown(um, 1000, 0, Round::Down);
        let words = self.words();
        let at = |step: &str, at| words.fill(ids::TRAINING_AT, [&self.step_named(step), words.say(at)]);
        let steps: Vec<String> = all().filter(|n| n.1 == pair && alike(n.0) == alike(least)).map(|n| at(n.2, n.3)).collect();
        let [one, other] = pair;
        let distance = words.fill(ids::TOLD_AT_LEAST, [&format!("{} mm", alike(least))]);
        Some(
            words.fill(
                ids::TRAINING_NEAREST,
                [&words.fill(ids::LIST_AND, [one, other]), &distance, &words.row(&steps, ids::LIST_SEMICOLON)],
            ),
        )
    }

    /// Every warning, before the step that it guards.
    fn warnings(&self, blocks: &mut [Block]) -> Vec<String> {
        let (mut out, mut open) = (Vec::new(), Vec::new());
        each(blocks, &mut |block| {
            if let Block::Alert(alert) = block
                && alert.signal == Signal::Warning
            {
                let said = |part: &Option<Prose>| part.as_ref().map_or_else(|| self.undeclared().to_owned(), Prose::text);
                open.push([&alert.hazard, &alert.consequence].map(said));
            }
            let Some(item) = numbered(block) else { return };
            let step = self.step_named(item.trim_start_matches('s'));
            out.extend(open.drain(..).map(|[hazard, harm]| self.words().fill(ids::TRAINING_WARNING, [&step, &hazard, &harm])));
        });
        out
    }

    /// The lines that say where to look, with their steps.
    fn watch(&self, blocks: &mut [Block]) -> Vec<String> {
        let (mut out, words) = (Vec::new(), self.words());
        each(blocks, &mut |block| {
            let Some(number) = numbered(block).map(|item| item.trim_start_matches('s').to_owned()) else { return };
            let lines = match block {
                Block::Step(b) => &b.lines,
                Block::Hold(b) => &b.lines,
                Block::Verify(b) => &b.lines,
                Block::Reading(b) => &b.lines,
                Block::Wait(b) => &b.lines,
                Block::Turnover(b) => &b.lines,
                Block::Condition(b) => &b.lines,
                Block::Repeat(b) => &b.lines,
                Block::Perform(b) => &b.lines,
                _ => return,
            };
            let watched = lines.iter().filter(|line| line.is == crate::document::Label::Watch).map(|line| line.text.text());
            out.extend(watched.map(|watch| words.fill(ids::TRAINING_WATCH, [&words.fill(ids::STEP_HEAD, [&number]), &watch])));
        });
        out
    }

    /// What is driven first, and what is asked: of stops, and at each kind of point that there is.
    fn questions(&self, compiled: &Compiled) -> Vec<Prose> {
        type Is = fn(&Act) -> bool;
        let kinds: [(Is, Entry<0>); 4] = [
            (|act| matches!(act, Act::HoldPoint { .. }), ids::TRAINING_HOLDS),
            (|act| matches!(act, Act::WitnessPoint { .. }), ids::TRAINING_WITNESSES),
            (|act| matches!(act, Act::VerifyAfter { .. }), ids::TRAINING_VERIFIES),
            (|act| matches!(act, Act::Turnover), ids::TRAINING_TURNOVERS),
        ];
        let there = kinds.into_iter().filter(|(is, _)| compiled.steps.iter().any(|s| is(&s.act)));
        let always = [ids::TRAINING_STOP, ids::TRAINING_WRONG_WAY, ids::TRAINING_VIEW_LOST];
        let page = self.words().say(ids::PAGE_POWER);
        let power = self.words().fill(ids::TRAINING_POWER_LOST, [page]);
        let moved = |step: &&compiled::Step| matches!(step.act, Act::Move(_) | Act::Together { .. });
        let first: Vec<String> = compiled.steps.iter().filter(moved).take(3).map(|s| s.number.clone()).collect();
        let first = (!first.is_empty()).then(|| self.words().fill(ids::TRAINING_FIRST_MOVES, [&self.steps_named(&first)]));
        let said = |entry| self.words().say(entry).to_owned();
        let asked = always.map(said).into_iter().chain([power]).chain(there.map(|(_, entry)| said(entry)));
        listed("training.points", first.into_iter().chain(asked)).into_iter().map(|line| line.leading(page, "power")).collect()
    }
}
