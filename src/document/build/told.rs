//! What is told of a step, in few words: each only where it differs from what the reader would take for granted.
//!
//! The words are made anew from the compiled data when a print is read back, so they carry nothing but names and numbers.

use super::Basis;
use super::body::Body;
use super::place::At;
use crate::document::{Block, Prose};
use crate::model::JointId;
use crate::model::procedure::Drive;
use crate::space::stops::{Back, Stop};
use crate::space::told::{RowTold, RunOn};
use crate::trace::{RowId, measure};
use crate::units::{Angle, Length};
use std::collections::BTreeMap;

/// A joint that is clear farther beyond its target than this is not told of beside the step, in thousandths of a degree.
const FAR: i64 = 10_000;

/// A time without power that is longer than this is not told, in tenths of a minute.
const LONG: i64 = 300;

/// What a block is told of a step.
pub(super) struct Stopped {
    number: String,
    stop: Stop,
    /// The engraved name of the joint that comes back last.
    last: Option<String>,
}

/// What strips are told of the steps behind them, by the item of the step.
#[derive(Default)]
pub(super) struct Gathered {
    stops: BTreeMap<String, Stopped>,
    sags: BTreeMap<String, (String, bool)>,
}

/// Micrometres, rounded up to whole millimetres.
fn up_to_mm(um: i64) -> Length {
    Length((um + 999) / 1000 * 1000)
}

impl Basis<'_> {
    fn told(&self, row: RowId) -> Option<&RowTold> {
        // Where nothing can be told, page 1 says so.
        self.survey.told(self.procedure, self.trace).ok()?.get(&row)
    }

    fn titles(&self, (a, b): (usize, usize)) -> [&str; 2] {
        [a, b].map(|i| self.survey.scene.as_ref().map_or("", |scene| scene.things[i].title.as_str()))
    }

    /// The titles of two bodies that meet.
    fn meets(&self, pair: (usize, usize)) -> String {
        self.titles(pair).join(", ")
    }

    /// The lines of a step; `drawn` if a figure behind it says what comes nearest.
    pub(super) fn told_lines(&self, at: At<'_>, row: RowId, item: &str, drawn: bool) -> Vec<Prose> {
        let Some(told) = self.told(row) else { return Vec::new() };
        let arm = &at.procedure.arm;
        let name = |joint| arm.joint(joint).engraved.as_str();
        let degrees = |joint, a: Angle| format!("{} deg", a.signed(arm.joint(joint).decimals));
        let mut out = Vec::new();
        let mut say = |key: String, words: String| out.push(Prose::plain(format!("{item}.{key}"), words));
        for (n, (joint, way)) in told.against.iter().enumerate() {
            say(format!("goes{}", n + 1), format!("{}: the tool point goes {}.", name(*joint), way.words()));
        }
        for (n, (joint, moves)) in told.degrees.iter().enumerate() {
            say(format!("degree{}", n + 1), format!("1 deg of {} moves the tool point {}.", name(*joint), up_to_mm(*moves)));
        }
        for (n, lag) in told.alone.iter().enumerate() {
            let meets = self.meets(lag.pair);
            let words = match lag.clear_to {
                Some(a) => format!("{} alone: clear to {}, then {meets}.", name(lag.joint), degrees(lag.joint, a)),
                None => format!("{} alone: not clear from its start, {meets}.", name(lag.joint)),
            };
            say(format!("alone{}", n + 1), words);
        }
        for (n, run) in self.run_ons(at, row, told).enumerate() {
            let hidden = match run.seen {
                Some(true) => "",
                Some(false) => " (unseen)",
                None => " (not known if seen)",
            };
            let words =
                format!("{} not clear past {}: {}{hidden}.", name(run.joint), degrees(run.joint, run.clear_to), self.meets(run.pair));
            say(format!("beyond{}", n + 1), words);
        }
        if let Some((next, pair)) = told.swapped {
            let next = self.trace.number(self.procedure, next);
            say("order".to_owned(), format!("Do not change places with step {next}: {}.", self.meets(pair)));
        }
        if let (false, Ok(scene)) = (told.over.is_empty(), &self.survey.scene) {
            let each = told.over.iter().map(|(i, height)| format!("{} {}", scene.things[*i].title, up_to_mm(*height)));
            say("over".to_owned(), format!("The load passes above, by at most: {}.", each.collect::<Vec<_>>().join(", ")));
        }
        let nearest = self.survey.tightest(row).zip(self.survey.scene.as_deref().ok()).map(|(stretch, scene)| stretch.near(scene));
        if let Some((near, (pair, _))) = nearest.filter(|_| told.near && !drawn).and_then(|n| Some((n, n.place()?))) {
            say("nearest".to_owned(), format!("Nearest: {}: {}.", self.titles(*pair).join(" and "), near.words()));
        }
        out
    }

    /// What runs on to something soon.
    fn run_ons<'t>(&self, at: At<'_>, row: RowId, told: &'t RowTold) -> impl Iterator<Item = &'t RunOn> {
        let (_, id) = self.trace.step_of(row);
        let end = |d: &Drive| (d.joint.value, measure::target(d));
        let ends: Vec<(JointId, Angle)> = at.procedure.step(id).drives().into_iter().map(end).collect();
        let soon = move |r: &&RunOn| ends.iter().any(|(joint, end)| *joint == r.joint && (r.clear_to - *end).abs().0 <= FAR);
        told.beyond.iter().filter(soon)
    }
}

impl Body<'_> {
    /// Keeps what the strip of a step's block is told of it.
    pub(super) fn gather(&mut self, at: At<'_>, row: RowId, item: &str) {
        let Some(told) = self.basis.told(row) else { return };
        if let Some(stop) = told.stop {
            let last = match stop.back {
                Back::Last(joint) => Some(at.procedure.arm.joint(joint).engraved.clone()),
                Back::Not | Back::Free => None,
            };
            let number = item.trim_start_matches('s').to_owned();
            self.gathered.stops.insert(item.to_owned(), Stopped { number, stop, last });
        }
        if let Some((clear, pair)) = told.sag.as_ref().filter(|s| s.clear <= LONG).and_then(|s| Some((s.clear, s.meets?))) {
            let minutes = if clear < 100 { format!("{}.{}", clear / 10, clear % 10) } else { (clear / 10).to_string() };
            let words = format!("touches nothing for {minutes} min, then {}.", self.basis.meets(pair));
            self.gathered.sags.insert(item.to_owned(), (words, self.basis.is_loaded(row)));
        }
    }

    /// Tells each strip of the steps behind it, up to the next block; and steps with a load of what changes without power.
    pub(super) fn tell(&self, blocks: &mut [Block]) {
        let mut order = Vec::new();
        flat(blocks, &mut order);
        let mut lines: BTreeMap<String, Prose> = BTreeMap::new();
        let mut strips: BTreeMap<String, (Option<Prose>, Option<Prose>)> = BTreeMap::new();
        for (at, (item, _)) in order.iter().enumerate().filter(|(_, (_, what))| *what == Flat::Opens) {
            let block: Vec<&(String, Flat)> = order[at + 1..].iter().take_while(|(_, what)| *what != Flat::Opens).collect();
            let stops: Vec<&Stopped> = block.iter().filter_map(|(i, _)| self.gathered.stops.get(i)).collect();
            let mut shown: Option<&str> = None;
            let mut first = None;
            for (n, (step, what)) in block.iter().enumerate() {
                let Some((words, loaded)) = self.gathered.sags.get(step) else { continue };
                if n == 0 {
                    first = Some(Prose::plain(format!("{item}.sag"), words.as_str()));
                } else if *what == Flat::Told && *loaded && shown != Some(words) {
                    lines.insert(step.clone(), Prose::plain(format!("{step}.sag"), format!("If power is lost at its start: {words}")));
                } else {
                    continue;
                }
                shown = Some(words);
            }
            let part_way = part_way(&stops).map(|words| Prose::plain(format!("{item}.part-way"), words));
            strips.insert(item.clone(), (part_way, first));
        }
        each(blocks, &mut |block| match block {
            Block::Strip(strip) => {
                if let Some((part_way, sag)) = strips.remove(&strip.item) {
                    (strip.part_way, strip.sag) = (part_way, sag);
                }
            }
            other => {
                if let Some((item, lists)) = told_in(other) {
                    lists.extend(lines.remove(item.as_str()));
                }
            }
        });
    }
}

/// A block in printed order.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Flat {
    /// A strip at a block's start.
    Opens,
    /// A step with a place for what is told of it.
    Told,
    /// One without.
    Plain,
}

/// Where a step is told of, and its item.
fn told_in(block: &mut Block) -> Option<(&String, &mut Vec<Prose>)> {
    Some(match block {
        Block::Step(step) => (&step.item, &mut step.told),
        Block::Hold(b) => (&b.item, &mut b.notes),
        Block::Verify(b) => (&b.item, &mut b.notes),
        Block::Reading(b) => (&b.item, &mut b.notes),
        Block::Wait(b) => (&b.item, &mut b.notes),
        Block::Turnover(b) => (&b.item, &mut b.notes),
        _ => return None,
    })
}

fn flat(blocks: &mut [Block], out: &mut Vec<(String, Flat)>) {
    each(blocks, &mut |block| match block {
        Block::Strip(strip) if strip.stopped.is_some() => out.push((strip.item.clone(), Flat::Opens)),
        Block::Condition(b) => out.push((b.item.clone(), Flat::Plain)),
        Block::Repeat(b) => out.push((b.item.clone(), Flat::Plain)),
        Block::Perform(b) => out.push((b.item.clone(), Flat::Plain)),
        other => out.extend(told_in(other).map(|(item, _)| (item.clone(), Flat::Told))),
    });
}

/// Every block in printed order, what holds others before those.
fn each(blocks: &mut [Block], with: &mut impl FnMut(&mut Block)) {
    for block in blocks {
        with(block);
        match block {
            Block::Section(b) => each(&mut b.blocks, with),
            Block::Condition(b) => b.arms.iter_mut().for_each(|arm| each(&mut arm.blocks, with)),
            Block::Repeat(b) => each(&mut b.blocks, with),
            Block::Perform(b) => each(&mut b.blocks, with),
            _ => {}
        }
    }
}

/// What holds for the steps of a block that are stopped part-way; none where nothing in it moves.
fn part_way(stops: &[&Stopped]) -> Option<String> {
    let list = |ways: bool, which: &dyn Fn(&Stop) -> bool| {
        let name = |s: &Stopped| match &s.last {
            Some(joint) if ways => format!("{} ({joint} back last)", s.number),
            _ => s.number.clone(),
        };
        let numbers: Vec<String> = stops.iter().filter(|s| which(&s.stop)).map(|s| name(s)).collect();
        (!numbers.is_empty()).then(|| numbers.join(", "))
    };
    let both = |s: &Stop| s.on && s.back != Back::Not;
    if stops.is_empty() {
        return None;
    }
    if stops.iter().all(|s| both(&s.stop) && !s.stop.untouched && s.last.is_none()) {
        return Some("Checked: going on, and back to the step's start, at every move.".to_owned());
    }
    let each = [
        ("Checked, going on and back to the step's start: ", list(true, &both)),
        ("Checked, going on only: ", list(false, &|s| s.on && s.back == Back::Not)),
        ("But stay and tell if something has touched: ", list(false, &|s| s.on && s.untouched)),
        ("Stay and tell: ", list(false, &|s| !s.on)),
    ];
    Some(each.into_iter().filter_map(|(words, list)| list.map(|l| format!("{words}{l}."))).collect::<Vec<_>>().join(" "))
}
