//! What only the edition to learn from prints, made anew from the compiled data: the page for the instructor, the plan, the console
//! card, and what stands at a step in place of a signature or a reason. Where the lines of the plan run is not seen.

use super::{Differences, Want, arm, motions, text};
use crate::compiled::{Act, Joint, Shown, Step};
use crate::readback::{Item, Said, plain};
use std::collections::BTreeMap;

/// Whether a print says on its pages that it is to learn from.
pub(super) fn is_taught(items: &[Item], said: &Said) -> bool {
    items.iter().flat_map(|i| &i.values).any(|(id, text)| id == "stamp.edition" && text == said.say("edition.training"))
}

/// Before the number of a warning in the page for the instructor.
const WARNING: &str = "training.warning";
/// Ids of what the watcher is told begin so.
const WATCH: &str = "training.watch";

/// Words without their spaces: a drawing breaks lines behind hyphens too.
fn tight(words: &str) -> String {
    words.split_whitespace().collect()
}

/// A value by its id.
fn value<'i>(items: &'i [Item], id: &str) -> Option<&'i str> {
    items.iter().flat_map(|i| &i.values).find(|(of, _)| of == id).map(|(_, text)| text.as_str())
}

/// Thousandths as a number with this many places, or as many more as it takes.
fn places(thousandths: i64, least: usize) -> String {
    let all = format!("{:03}", thousandths.unsigned_abs() % 1000);
    let digits = all.trim_end_matches('0').len().max(least.min(3));
    let point = if digits > 0 { "." } else { "" };
    format!("{}{}{point}{}", if thousandths < 0 { "-" } else { "" }, thousandths.unsigned_abs() / 1000, &all[..digits])
}

/// Thousandths with a sign, which naught has not.
pub(super) fn with_sign(thousandths: i64, least: usize) -> String {
    format!("{}{}", if thousandths > 0 { "+" } else { "" }, places(thousandths, least))
}

impl Differences<'_> {
    /// What stands at a step in place of a signature, or of a reason that nobody wrote.
    pub(super) fn taught_of(&mut self, step: &Step, item: &Item, want: &mut BTreeMap<String, Want>) {
        if !self.taught {
            return;
        }
        let asks = match &step.act {
            Act::HoldPoint { .. } => Some("training.ask-hold"),
            Act::WitnessPoint { .. } => Some("training.ask-witness"),
            Act::VerifyAfter { .. } => Some("training.ask-verify"),
            Act::Turnover => Some("training.ask-turnover"),
            _ => None,
        };
        if let Some(asks) = asks {
            want.insert("asks".to_owned(), Want::Text(self.said.say(asks).to_owned()));
            want.insert("unsigned".to_owned(), Want::Text(self.said.say("training.unsigned").to_owned()));
        }
        let moves = !motions(&step.act).is_empty() || matches!(step.act, Act::Close { .. } | Act::Jaw { .. } | Act::LetGo { .. });
        let reasons = step.lines.iter().filter(|l| l.label == "Why").count();
        if moves && reasons == 0 {
            want.insert("no-reason".to_owned(), Want::Text(self.said.say("training.no-reason").to_owned()));
        }
        for n in (1..=reasons).filter(|n| text(item, &format!("why{n}")).is_none()) {
            self.list.push(format!("{}.why{n} was written and is not printed", item.id));
        }
    }

    /// The pages before the steps.
    pub(super) fn training(&mut self, items: &[Item]) {
        let find = |id: &str| items.iter().find(|i| i.id == id);
        let (page, card, plan) = (find("training"), find("card"), find("plan"));
        let wanted = [("training", page.is_some(), true), ("card", card.is_some(), true), ("plan", plan.is_some(), self.has_plan())];
        for (id, there, want) in wanted {
            match (there, self.taught && want) {
                (false, true) => self.list.push(format!("{id} is to be printed in the edition to learn from and is not there")),
                (true, false) => self.list.push(format!("{id} is printed and does not belong in this edition")),
                _ => {}
            }
        }
        if let Some(page) = page {
            self.page(page);
            self.warned(page, items);
            self.watched(page, items);
        }
        if card.is_some() {
            self.card(items);
        }
        if let Some(plan) = plan {
            self.plan(plan);
        }
    }

    fn has_plan(&self) -> bool {
        self.compiled.space.is_some() && self.compiled.steps.iter().any(|s| !s.before.is_empty())
    }

    /// The worst, the questions, the names of windows and cameras.
    fn page(&mut self, page: &Item) {
        let (said, compiled) = (self.said, self.compiled);
        let mut worst = Vec::new();
        if compiled.steps.iter().any(|s| s.told.as_ref().is_some_and(|told| told.drops.is_some())) {
            worst.push(said.say("training.drops").to_owned());
        }
        if let Some(drop) = compiled.package.drops.first() {
            let height = said.saying(&drop.height);
            let mut values = vec![("load", &*drop.load), ("mass", &*drop.mass), ("height", &*height)];
            let energy = drop.energy.as_ref().map(|e| said.saying(e));
            let met = drop.onto.as_deref().zip(energy.as_deref());
            values.extend(met.iter().flat_map(|(thing, energy)| [("thing", *thing), ("energy", *energy)]));
            worst.push(said.fill(if met.is_some() { "training.fall-onto" } else { "training.fall" }, &values));
        }
        if compiled.space.is_some() {
            let opposite = |shown: &Option<Shown>| matches!(shown, Some(Shown::Opposite | Shown::OppositeBetween(..)));
            let pictures = |s: &&Step| s.told.iter().flat_map(|told| &told.pictures).any(|p| opposite(&p.word) || opposite(&p.stick));
            let numbers: Vec<String> = compiled.steps.iter().filter(pictures).map(|s| s.number.clone()).collect();
            worst.push(match numbers.len() {
                0 => said.say("training.not-reversed").to_owned(),
                count => said.fill("training.reversed", &[("count", &count.to_string()), ("steps", &self.steps_named(&numbers))]),
            });
        }
        let apart = || {
            compiled.package.evidence.iter().filter_map(|e| {
                let clearance = e.clearance.as_ref()?;
                Some((clearance.least?, clearance.between.as_ref()?, &e.step, clearance.at.as_ref()?))
            })
        };
        if let Some((least, nearest, ..)) = apart().reduce(|a, b| if b.0 < a.0 { b } else { a }) {
            let distance = self.apart("told.at-least", least);
            let alike = apart().filter(|(um, pair, ..)| *pair == nearest && self.apart("told.at-least", *um) == distance);
            let named = |step: &str, at: &str| {
                let at = said.say(&format!("evidence.at-{at}"));
                said.fill("training.at", &[("step", &self.step_named(step)), ("where", at)])
            };
            let steps: Vec<String> = alike.map(|(.., step, at)| named(step, at)).collect();
            let pair = said.fill("list.and", &[("rest", &nearest[0]), ("next", &nearest[1])]);
            let values = [("pair", &*pair), ("distance", &*distance), ("step", &*said.row("list.semicolon", "next", &steps))];
            worst.push(said.fill("training.nearest", &values));
        }
        type Is = fn(&Act) -> bool;
        let kinds: [(&str, Is); 4] = [
            ("training.holds", |act| matches!(act, Act::HoldPoint { .. })),
            ("training.witnesses", |act| matches!(act, Act::WitnessPoint { .. })),
            ("training.verifies", |act| matches!(act, Act::VerifyAfter { .. })),
            ("training.turnovers", |act| matches!(act, Act::Turnover)),
        ];
        let driven = compiled.steps.iter().filter(|s| matches!(s.act, Act::Move(_) | Act::Together { .. }));
        let first: Vec<String> = driven.take(3).map(|s| s.number.clone()).collect();
        let first = (!first.is_empty()).then(|| said.fill("training.first-moves", &[("steps", &self.steps_named(&first))]));
        let always = ["stop", "wrong-way", "view-lost"].map(|id| said.say(&format!("training.{id}")).to_owned());
        let power = said.fill("training.power-lost", &[("place", said.say("page.power"))]);
        let asked = kinds.iter().filter(|(_, is)| compiled.steps.iter().any(|s| is(&s.act))).map(|(id, _)| said.say(id).to_owned());
        let views = compiled.titles.iter().filter(|t| t.kind == "view").map(|t| t.title.clone());
        let mut wanted: BTreeMap<String, String> = BTreeMap::new();
        wanted.extend((1..).zip(worst).map(|(n, text)| (format!("training.worst{n}"), text)));
        wanted.extend(
            (1..).zip(first.into_iter().chain(always).chain([power]).chain(asked)).map(|(n, text)| (format!("training.points{n}"), text)),
        );
        wanted.extend((1..).zip(views).map(|(n, text)| (format!("training.view{n}.of-name"), text)));
        // Where an eye is and what it sees to the right is not in the compiled data.
        let told = |id: &str| {
            [".of-kind", ".of-eye", ".of-right"].iter().any(|end| id.ends_with(end)) || id.starts_with(WARNING) || id.starts_with(WATCH)
        };
        self.held_to(page.values.iter().filter(|(id, _)| !told(id)), wanted);
    }

    /// Each warning reads as an alert before a step does, and they come in the order of those. Which alerts are warnings is not in the
    /// compiled data.
    fn warned(&mut self, page: &Item, items: &[Item]) {
        let alert = |(at, alert): (usize, &Item)| {
            let [hazard, harm] = ["hazard", "consequence"].map(|name| text(alert, name));
            (hazard.is_some() || harm.is_some()).then_some(())?;
            let step = items[at..].iter().find_map(|i| self.compiled.steps.iter().find(|s| i.id == format!("s{}", s.number)))?;
            let [hazard, harm] = [hazard, harm].map(|part| part.unwrap_or_else(|| self.said.say("said.undeclared")));
            Some(self.said.fill("training.warning", &[("step", &self.step_named(&step.number)), ("hazard", hazard), ("consequence", harm)]))
        };
        let mut alerts = items.iter().enumerate().filter_map(alert);
        let warnings = page.values.iter().filter(|(id, _)| id.starts_with(WARNING));
        let strange = warnings.filter(|(_, seen)| !alerts.any(|want| plain(&want) == plain(seen)));
        let strange = strange.map(|(id, seen)| format!("{id} is to read {seen:?}, and no alert says that before a step"));
        let strange: Vec<String> = strange.collect();
        self.list.extend(strange);
    }

    /// What the watcher is told is what the steps say, all of it and in their order.
    fn watched(&mut self, page: &Item, items: &[Item]) {
        let lines = |item: &Item, number: &str| -> Vec<String> {
            let step = self.said.fill("step.head", &[("number", number)]);
            let own = item.values.iter().filter(|(id, _)| id.strip_prefix(&item.id).is_some_and(|rest| rest.starts_with(".watch")));
            own.map(|(_, watch)| self.said.fill("training.watch", &[("step", &step), ("watch", watch)])).collect()
        };
        let want: Vec<String> = items.iter().filter_map(|i| Some((i, i.id.strip_prefix('s')?))).flat_map(|(i, n)| lines(i, n)).collect();
        let seen: Vec<&(String, String)> = page.values.iter().filter(|(id, _)| id.starts_with(WATCH)).collect();
        let differs = (0..want.len().max(seen.len())).find(|n| want.get(*n).map(|w| plain(w)) != seen.get(*n).map(|(_, s)| plain(s)));
        if let Some(n) = differs {
            self.list.push(format!("{WATCH}{} is to read {:?} and reads {:?}", n + 1, want.get(n), seen.get(n).map(|(_, s)| s)));
        }
    }

    /// "step 4", "steps 4, 9 and 12".
    fn steps_named(&self, numbers: &[String]) -> String {
        match numbers {
            [one] => self.step_named(one),
            all => self.said.fill("step.names", &[("list", &self.said.list("list.and", all))]),
        }
    }

    /// "Console card, Heron"
    pub(super) fn card_title(&self) -> String {
        let arm = arm(self.compiled).map_or("", |m| m.title.as_str());
        self.said.fill("training.card", &[("arm", arm)])
    }

    /// The card: every way of a stick that the steps ask for, every joint with its words and limits, every grip level that is used.
    fn card(&mut self, items: &[Item]) {
        let want = self.card_title();
        self.same("card.title", value(items, "card.title"), &want);
        for (n, joint) in (1..).zip(&self.compiled.joints) {
            self.dial(n, joint, items);
        }
        let all = |item: &str, end: &str| -> Vec<(String, String)> {
            let values = items.iter().filter(|i| i.id == item).flat_map(|i| &i.values);
            values.filter_map(|(id, text)| Some((id.strip_suffix(end)?.to_owned(), text.clone()))).collect()
        };
        let (arms, levels) = (all("sticks", ".arm"), all("controls", ".engraved"));
        for m in self.compiled.steps.iter().flat_map(|s| motions(&s.act)).filter(|m| !m.stick.is_empty()) {
            let act = format!("{} {}", m.engraved, m.direction.to_uppercase());
            let reads = |id: String, want: &str| value(items, &id).is_some_and(|seen| tight(seen) == tight(want));
            let shown = arms.iter().filter(|(_, text)| tight(text) == tight(&act)).any(|(id, _)| {
                let stick = id.split('.').take(2).collect::<Vec<_>>().join(".");
                reads(format!("{id}.hand"), &m.stick_action) && reads(format!("{stick}.stick"), &m.stick)
            });
            if !shown {
                self.list.push(format!("the card does not show that {:?} at the {} is {act}", m.stick_action, m.stick));
            }
        }
        for step in &self.compiled.steps {
            let Act::GripLevel { level } = &step.act else { continue };
            if !levels.iter().any(|(_, text)| text == level) {
                self.list.push(format!("the card does not show the grip level {level} of step {}", step.number));
            }
        }
    }

    /// The travel of a joint: its words, its limits, how near it stops.
    fn dial(&mut self, n: usize, joint: &Joint, items: &[Item]) {
        let signed = |mdeg: i64| with_sign(mdeg, usize::from(joint.decimals));
        let degrees = |mdeg: i64| format!("{} deg", places(mdeg, 0));
        let wanted = [
            ("engraved", joint.engraved.clone()),
            ("grows", format!("{} +", joint.positive.to_uppercase())),
            ("falls", format!("{} -", joint.negative.to_uppercase())),
            ("targets", self.said.fill("card.targets", &[("low", &signed(joint.low)), ("high", &signed(joint.high))])),
            ("stops", self.said.fill("card.stops", &[("readout", &degrees(joint.stop)), ("eye", &degrees(joint.stop_by_eye))])),
        ];
        for (name, want) in wanted {
            let id = format!("travel.{n}.{name}");
            let seen = value(items, &id);
            if seen.is_none_or(|seen| tight(seen) != tight(&want)) {
                self.same(&id, seen, &want);
            }
        }
    }

    /// Names in the plan are those of what is there before the first step, of the stations and of the views of the cell.
    fn plan(&mut self, plan: &Item) {
        let Some(state) = self.compiled.steps.iter().find_map(|s| s.before.first()) else { return };
        let mut there: Vec<(String, String)> = self.there(state).into_iter().map(|(key, words, _)| (key, words)).collect();
        let titled = self.compiled.titles.iter().filter(|t| t.kind == "view" || t.kind == "station");
        there.extend(titled.map(|t| (t.kind.clone(), plain(&t.title).into_owned())));
        let mut seen: Vec<(&str, &str)> = Vec::new();
        for (id, words) in &plan.values {
            let what = id.split(".label").next().and_then(|of| of.rsplit_once('.')).map_or("", |(_, what)| what);
            if !there.iter().any(|(key, name)| key == what && *name == plain(words)) {
                self.list.push(format!("{id} is to read {words:?}, and that is not the name of what is there"));
            }
            seen.push((what, words));
        }
        for title in self.compiled.titles.iter().filter(|t| t.kind == "view") {
            if seen.iter().filter(|(what, words)| *what == "view" && *words == title.title).count() > 1 {
                self.list.push(format!("plan names {:?} twice", title.title));
            }
        }
    }
}
