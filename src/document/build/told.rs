//! What is told of a step, in few words: each only where it differs from what the reader would take for granted.
//!
//! The same sentences are filled anew from the compiled data when a print is read back, so names and numbers alone are put into them.

use super::Basis;
use super::body::Body;
use super::place::At;
use super::situation::{angle, direction};
use super::travel::side;
use crate::document::{Block, Item, Prose};
use crate::model::JointId;
use crate::model::procedure::{Drive, Kind, Label};
use crate::space::near::Near;
use crate::space::stops::{Back, Stop};
use crate::space::told::{Dropped, RowTold, RunOn, Way};
use crate::trace::state::State;
use crate::trace::{RowId, distinct, measure};
use crate::units::{Angle, Length};
use crate::words::Words;
use crate::words::ids::{self, Entry};
use std::collections::{BTreeMap, BTreeSet};

/// A joint that is clear farther beyond its target than this is not told of beside the step, in thousandths of a degree.
const FAR: i64 = 10_000;

/// A time without power that is longer than this is not told, in tenths of a minute.
const LONG: i64 = 300;

/// What strips are told of the steps behind them, by the item of the step.
#[derive(Default)]
pub(super) struct Gathered {
    stops: BTreeMap<String, Stop>,
    /// For how many tenths of a minute nothing is touched without power, and what is then.
    sags: BTreeMap<String, (i64, Option<(usize, usize)>)>,
    /// What falls without power.
    drops: BTreeMap<String, Dropped>,
    /// Where a load in the jaw stands, which is not looked at without power.
    stands: BTreeSet<String>,
}

/// Micrometres, rounded up to whole millimetres.
pub(super) fn up_to_mm(um: i64) -> Length {
    Length((um + 999) / 1000 * 1000)
}

impl Basis<'_> {
    pub(super) fn told(&self, row: RowId) -> Option<&RowTold> {
        // Where nothing can be told, page 1 says so.
        self.survey.told(self.procedure, self.trace).ok()?.get(&row)
    }

    fn title(&self, thing: usize) -> &str {
        self.survey.scene.as_ref().map_or("", |scene| scene.things[thing].title.as_str())
    }

    fn titles(&self, (a, b): (usize, usize)) -> [&str; 2] {
        [a, b].map(|i| self.title(i))
    }

    /// The lines of a step; `drawn` if a figure behind it says what comes nearest.
    pub(super) fn told_lines(&self, at: At<'_>, row: RowId, item: &str, drawn: bool) -> Vec<Prose> {
        let Some(told) = self.told(row) else { return Vec::new() };
        let (arm, words) = (&at.procedure.arm, self.words());
        let name = |joint| arm.joint(joint).engraved.as_str();
        let degrees = |joint, a: Angle| format!("{} deg", a.signed(arm.joint(joint).decimals));
        let mut out = Vec::new();
        // What is looked for when something went wrong is found by its first words.
        let led = ["part-way", "back", "over"];
        let mut say = |key: String, words: String| {
            let id = format!("{item}.{key}");
            out.push(if led.contains(&key.as_str()) { Prose::led(id, &words) } else { Prose::plain(id, words) });
        };
        for (n, (joint, way)) in told.against.iter().enumerate() {
            say(format!("goes{}", n + 1), words.fill(ids::TOLD_GOES, [name(*joint), words.say(in_cell(*way))]));
        }
        for (n, (joint, moves)) in told.degrees.iter().enumerate() {
            say(format!("degree{}", n + 1), words.fill(ids::TOLD_DEGREE, [name(*joint), &up_to_mm(*moves).to_string()]));
        }
        // A gate says sooner how far the one goes before the other.
        let (_, id) = self.trace.step_of(row);
        let gated =
            |joint: JointId| matches!(&at.procedure.step(id).kind, Kind::Together(two) if two.gates.iter().any(|g| g.held.value == joint));
        for (n, lag) in told.alone.iter().filter(|lag| !gated(lag.joint)).enumerate() {
            let [one, other] = self.titles(lag.pair);
            let line = match lag.clear_to {
                Some(a) => words.fill(ids::TOLD_ALONE, [name(lag.joint), &degrees(lag.joint, a), one, other]),
                None => words.fill(ids::TOLD_ALONE_NOT, [name(lag.joint), one, other]),
            };
            say(format!("alone{}", n + 1), line);
        }
        // With a load in the jaw nobody is to look for it at the head of the block.
        if let Some(stop) = told.stop.filter(|stop| !is_free(stop) || self.is_loaded(row)) {
            let ways = match stop.back {
                _ if !stop.on => Some(words.say(ids::TOLD_STOPPED_STAY).to_owned()),
                Back::Not => Some(words.say(ids::TOLD_STOPPED_ON).to_owned()),
                Back::Last(joint) => Some(words.fill(ids::TOLD_STOPPED_LAST, [name(joint)])),
                Back::Free => Some(words.say(ids::TOLD_STOPPED_FREE).to_owned()),
            };
            let touched = (stop.on && stop.untouched).then(|| words.say(ids::TOLD_STOPPED_TOUCHED).to_owned());
            let parts: Vec<String> = ways.into_iter().chain(touched).collect();
            // What a line of the step stops for has its own way out.
            let has_way = at.procedure.step(id).lines.iter().any(|l| l.label == Label::StopIf);
            let line = if has_way { ids::TOLD_STOPPED_ELSE } else { ids::TOLD_STOPPED };
            say("part-way".to_owned(), words.fill(line, [&words.row(&parts, ids::LIST_SEMICOLON)]));
            let ways = ways_back(at, &stop, &at.procedure.step(id).drives(), words);
            if !ways.is_empty() {
                say("back".to_owned(), words.fill(ids::TOLD_BACK, [&words.row(&ways, ids::LIST_SEMICOLON)]));
            }
        }
        if let Some((next, pair)) = told.swapped {
            let next = self.trace.number(self.procedure, next).to_string();
            let [one, other] = self.titles(pair);
            say("order".to_owned(), words.fill(ids::TOLD_ORDER, [&next, one, other]));
        }
        if let (Some(most), false, Ok(scene)) = (told.fall, told.over.is_empty(), &self.survey.scene) {
            let onto = distinct(told.over.iter().map(|(i, _)| scene.things[*i].title.clone()));
            say("over".to_owned(), words.fill(ids::TOLD_OVER, [&up_to_mm(most).to_string(), &words.list(&onto, ids::LIST_OR)]));
        }
        let nearest = self.survey.tightest(row).filter(|_| told.near && !drawn);
        if let Some((near, (pair, _))) = nearest.and_then(|(_, near)| Some((near, near.place()?))) {
            let pair = words.fill(ids::LIST_AND, self.titles(*pair));
            say("nearest".to_owned(), words.fill(ids::TOLD_NEAREST, [&pair, &apart(near, words)]));
        }
        out
    }

    /// How far the joints of a step may run on, where something comes soon. A move that ends on a cue has its own limit, which is
    /// nearer.
    pub(super) fn limits(&self, at: At<'_>, row: RowId, item: &str) -> Vec<Prose> {
        let Some(told) = self.told(row) else { return Vec::new() };
        let (arm, words) = (&at.procedure.arm, self.words());
        let line = |(run, drive): (&RunOn, &Drive)| {
            let line = match run.seen {
                Some(true) => ids::TOLD_BEYOND,
                Some(false) => ids::TOLD_BEYOND_UNSEEN,
                None => ids::TOLD_BEYOND_UNKNOWN,
            };
            let (joint, [one, other]) = (arm.joint(run.joint), self.titles(run.pair));
            words.fill(line, [&joint.engraved, side(drive.positive.value, words), &angle(joint, run.clear_to), one, other])
        };
        let lines = self.run_ons(at, row, told).map(line);
        (1..).zip(lines).map(|(n, line)| Prose::plain(format!("{item}.beyond{n}"), line)).collect()
    }

    /// What runs on to something soon.
    fn run_ons<'t>(&self, at: At<'t>, row: RowId, told: &'t RowTold) -> impl Iterator<Item = (&'t RunOn, &'t Drive)> {
        let (_, id) = self.trace.step_of(row);
        let drives = at.procedure.step(id).drives();
        let soon = |r: &RunOn, d: &Drive| d.joint.value == r.joint && !d.goal.is_cued() && (r.clear_to - measure::target(d)).abs().0 <= FAR;
        told.beyond.iter().filter_map(move |r| Some((r, *drives.iter().find(|d| soon(r, d))?)))
    }
}

impl Body<'_> {
    /// Keeps what the strip of a step's block is told of it.
    pub(super) fn gather(&mut self, row: RowId, item: &str) {
        let powered = self.basis.trace.before(row).map(|e| &e.state).filter(|s| s.power == Some(true));
        if powered.filter_map(State::held).any(|held| held.stands()) {
            self.gathered.stands.insert(item.to_owned());
        }
        let Some(told) = self.basis.told(row) else { return };
        self.gathered.stops.extend(told.stop.map(|stop| (item.to_owned(), stop)));
        self.gathered.drops.extend(told.drops.clone().map(|drops| (item.to_owned(), drops)));
        self.gathered.sags.extend(told.sag.as_ref().map(|sag| (item.to_owned(), (sag.clear, sag.meets))));
    }

    /// How far a load falls that is dropped without power at a step of a block, and onto what; and what is touched first without it
    /// from the start of any other step; none where nothing is told of one of them.
    fn loss(&self, block: &[&(String, Flat)]) -> Option<String> {
        let drops: Vec<_> = block.iter().filter_map(|(item, _)| self.gathered.drops.get(item)).collect();
        let words = self.basis.words();
        let empty = self.sag(block);
        if drops.is_empty() {
            return empty.map(|empty| {
                if block.iter().any(|(item, _)| self.gathered.stands.contains(item)) {
                    words.fill(ids::TOLD_SAG_UNLESS, [&empty])
                } else {
                    empty
                }
            });
        }
        let known: Option<Vec<i64>> = drops.iter().map(|drop| drop.fall).collect();
        let held = match known.and_then(|all| all.into_iter().max()) {
            Some(most) => {
                let onto = distinct(drops.iter().flat_map(|drop| &drop.onto).map(|thing| self.basis.title(*thing).to_owned()));
                words.fill(ids::TOLD_DROPS_ONTO, [&up_to_mm(most).to_string(), &words.list(&onto, ids::LIST_OR)])
            }
            None => words.say(ids::TOLD_DROPS).to_owned(),
        };
        Some(match empty {
            Some(empty) => format!("{held} {}", words.fill(ids::TOLD_SAG_FREE, [&empty])),
            None => held,
        })
    }

    /// What is touched first without power from the start of any step, in those of its states in which nothing is dropped.
    fn sag(&self, block: &[&(String, Flat)]) -> Option<String> {
        let words = self.basis.words();
        let steps = block.iter().filter(|(_, what)| *what != Flat::Opens).map(|(item, _)| item);
        let sags = steps.clone().filter_map(|item| Some((self.gathered.sags.get(item)?, item)));
        let soon = sags.filter_map(|((clear, meets), item)| Some((*clear, (*meets)?, item))).filter(|s| s.0 <= LONG);
        let Some((clear, pair, item)) = soon.min_by_key(|(clear, ..)| *clear) else {
            let mut empty = steps.filter(|item| !self.gathered.drops.contains_key(*item)).peekable();
            let all = empty.peek().is_some() && empty.all(|item| self.gathered.sags.contains_key(item));
            return all.then(|| words.say(ids::TOLD_SAG_NOTHING).to_owned());
        };
        let minutes = if clear < 100 { format!("{}.{}", clear / 10, clear % 10) } else { (clear / 10).to_string() };
        let [one, other] = self.basis.titles(pair);
        Some(words.fill(ids::TOLD_SAG, [&minutes, item.trim_start_matches('s'), one, other]))
    }

    /// What holds for the steps of a block that are stopped part-way, and which of them say their own; none where nothing in it moves.
    fn part_way(&self, block: &[&(String, Flat)]) -> Option<String> {
        let stops = block.iter().filter_map(|(item, _)| Some((item, self.gathered.stops.get(item)?)));
        let (free, own): (Vec<_>, Vec<_>) = stops.partition(|(_, stop)| is_free(stop));
        let words = self.basis.words();
        let steps: Vec<String> = own.iter().map(|(item, _)| item.trim_start_matches('s').to_owned()).collect();
        let steps = words.list(&steps, ids::LIST_AND);
        match (free.as_slice(), own.as_slice()) {
            ([], []) => None,
            (_, []) => Some(words.say(ids::TOLD_STOPS_ALL).to_owned()),
            ([], _) => Some(words.fill(ids::TOLD_STOPS_NONE, [&steps])),
            _ => Some(words.fill(ids::TOLD_STOPS_UNLESS, [&steps])),
        }
    }

    /// Tells each strip of the steps behind it, up to the next block.
    pub(super) fn tell(&self, blocks: &mut [Block]) {
        let mut order = Vec::new();
        flat(blocks, &mut order);
        let mut strips: BTreeMap<String, (Option<Prose>, Option<Prose>)> = BTreeMap::new();
        for (at, (item, _)) in order.iter().enumerate().filter(|(_, (_, what))| *what == Flat::Opens) {
            let block: Vec<&(String, Flat)> = order[at + 1..].iter().take_while(|(_, what)| *what != Flat::Opens).collect();
            let sag = self.loss(&block).map(|line| Prose::plain(format!("{item}.sag"), line));
            let part_way = self.part_way(&block).map(|line| Prose::plain(format!("{item}.part-way"), line));
            strips.insert(item.clone(), (part_way, sag));
        }
        each(blocks, &mut |block| {
            if let Block::Strip(strip) = block
                && let Some((part_way, sag)) = strips.remove(&strip.item)
            {
                (strip.part_way, strip.sag) = (part_way, sag);
            }
        });
    }
}

/// Strips at a block's start and steps, by their items, in printed order.
fn flat(blocks: &mut [Block], out: &mut Vec<(String, Flat)>) {
    each(blocks, &mut |block| {
        if let Block::Strip(strip) = block
            && strip.stopped.is_some()
        {
            out.push((strip.item.clone(), Flat::Opens));
        }
        out.extend(numbered(block).map(|item| (item.clone(), Flat::Step)));
    });
}

/// The item of a block that has a step's number.
pub(super) fn numbered(block: &Block) -> Option<&Item> {
    Some(match block {
        Block::Step(b) => &b.item,
        Block::Hold(b) => &b.item,
        Block::Verify(b) => &b.item,
        Block::Reading(b) => &b.item,
        Block::Wait(b) => &b.item,
        Block::Turnover(b) => &b.item,
        Block::Condition(b) => &b.item,
        Block::Repeat(b) => &b.item,
        Block::Perform(b) => &b.item,
        _ => return None,
    })
}

/// What stands in printed order.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Flat {
    /// A strip at a block's start.
    Opens,
    /// A step.
    Step,
}

/// Every block in printed order, what holds others before those.
pub(super) fn each(blocks: &mut [Block], with: &mut impl FnMut(&mut Block)) {
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

/// Whether both ways are free from wherever a motion is stopped.
fn is_free(stop: &Stop) -> bool {
    stop.on && stop.back == Back::Free && !stop.untouched
}

/// How the joints of a step are driven back, that which must be last at the end; empty where the step may not go back.
fn ways_back(at: At<'_>, stop: &Stop, drives: &[&Drive], words: &Words) -> Vec<String> {
    let last = match stop.back {
        Back::Free if stop.on => None,
        Back::Last(joint) if stop.on => Some(joint),
        _ => return Vec::new(),
    };
    let arm = &at.procedure.arm;
    let way = |drive: &&Drive| {
        let (joint, back) = (drive.joint.value, !drive.positive.value);
        let (stick, axis) = arm.console.drive(joint)?;
        let [direction, act] = [direction(arm, joint, back), axis.act(back).to_uppercase()];
        Some(words.fill(ids::TOLD_BACK_WAY, [&arm.joint(joint).engraved, &direction, &stick.name.value, &act]))
    };
    let (first, then): (Vec<&Drive>, Vec<&Drive>) = drives.iter().partition(|d| Some(d.joint.value) != last);
    first.iter().chain(&then).filter_map(way).collect()
}

/// A way in the cell.
fn in_cell(way: Way) -> Entry<0> {
    match way {
        Way::Up => ids::WAY_UP,
        Way::Down => ids::WAY_DOWN,
        Way::TowardArm => ids::WAY_TOWARD_ARM,
        Way::AwayFromArm => ids::WAY_AWAY_FROM_ARM,
        Way::Left => ids::WAY_LEFT,
        Way::Right => ids::WAY_RIGHT,
    }
}

/// How far the nearest keep apart, or how near they come; rounded down to whole millimetres.
pub(super) fn apart(near: &Near, words: &Words) -> String {
    let millimetres = |um: i64| Length(um.max(0) / 1000 * 1000).to_string();
    match near {
        Near::Nothing => String::new(),
        Near::Apart { least, .. } => words.fill(ids::TOLD_AT_LEAST, [&millimetres(*least)]),
        Near::Close(distance, _) => words.fill(ids::TOLD_AS_NEAR, [&millimetres(*distance)]),
    }
}
