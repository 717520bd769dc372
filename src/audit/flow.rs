//! The chain: what each step leaves must lie within a state that the next one was checked from.
//!
//! Which step may follow which is read from the printed numbers and the acts alone: `13A.1` is the first step of the first
//! arm of step 13, `9.1` of what step 9 repeats or performs, `C1.1` of the first contingency. A line that leads somewhere is
//! followed from before, during and after its step.

use super::drive::{Drive, idle, inside, is_known};
use super::read::{Act, Document, Held, Kind, Readout, State, Step};
use std::collections::{BTreeMap, HashSet};

/// What stands above a list: nothing, or a contingency of what a step performs; an arm; a repeat or something performed.
#[derive(Clone, Copy, PartialEq)]
enum Above<'a> {
    Home(&'a str),
    Arm(&'a str),
    Under(&'a str),
}

fn above(list: &str) -> Above<'_> {
    let (home, last) = list.rsplit_once('.').unwrap_or(("", list));
    match last.strip_prefix('C') {
        Some(n) if n.bytes().all(|b| b.is_ascii_digit()) => Above::Home(home),
        _ if list.is_empty() => Above::Home(""),
        _ => list.strip_suffix(|c: char| c.is_ascii_uppercase()).map_or(Above::Under(list), Above::Arm),
    }
}

/// The steps as they can follow each other.
pub(super) struct Flow<'a> {
    document: &'a Document,
    numbers: BTreeMap<&'a str, usize>,
    lists: BTreeMap<&'a str, Vec<usize>>,
    /// Of each step its list and place there.
    places: Vec<(&'a str, usize)>,
}

/// A way to a step, the state it is taken in, and which repeats of two passes are in the second one.
struct Way {
    to: usize,
    left: State,
    passes: u64,
    how: &'static str,
}

/// What is wrong, at which step and state.
pub(super) type Fault = (usize, Option<usize>, String);

impl<'a> Flow<'a> {
    /// The faults say where the numbers of the steps make no sense.
    pub(super) fn new(document: &'a Document) -> Result<Flow<'a>, Vec<Fault>> {
        let mut flow = Flow { document, numbers: BTreeMap::new(), lists: BTreeMap::new(), places: Vec::new() };
        let mut faults = Vec::new();
        for (i, step) in document.steps.iter().enumerate() {
            let list = step.number.rsplit_once('.').map_or("", |(list, _)| list);
            let own: &mut Vec<usize> = flow.lists.entry(list).or_default();
            let last = own.last().map(|i| ordinal_of(&document.steps[*i]));
            own.push(i);
            flow.places.push((list, own.len() - 1));
            let act = |number| flow.numbers.get(number).map(|i| &document.steps[*i].act);
            let performs = |number| matches!(act(number), Some(Act::Perform { .. }));
            let stands = match above(list) {
                Above::Home(home) => home.is_empty() || performs(home),
                Above::Arm(up) => matches!(act(up), Some(Act::If { arms }) if arms.iter().any(|a| a == list)),
                Above::Under(up) => performs(up) || matches!(act(up), Some(Act::Repeat { .. })),
            };
            let counts = ordinal_of(step).is_some_and(|n| last.map_or(n == 1, |last| last.is_some_and(|l| n == l + 1)));
            let fresh = flow.numbers.insert(&step.number, i).is_none();
            if !stands || !counts || !fresh || step.number.len() > 200 || step.act == Act::Broken {
                faults.push((i, None, "its number does not follow from those before it, or it was not read".to_string()));
            }
        }
        if faults.is_empty() { Ok(flow) } else { Err(faults) }
    }
    /// Follows every way from the declared start and says where one leads to a state that was not checked.
    pub(super) fn follow(&self) -> Vec<Fault> {
        let Some(start) = self.start() else {
            return vec![(0, None, "the declared start is not among the states it was checked from".to_string())];
        };
        let (mut faults, mut seen, mut told, mut todo) = (Vec::new(), HashSet::new(), HashSet::new(), vec![(0, start, 0)]);
        while let Some((step, state, passes)) = todo.pop() {
            if !seen.insert((step, state, passes)) {
                continue;
            }
            let (ways, mut wrong) = self.ways(step, state, passes);
            for way in ways {
                match self.arrive(&way) {
                    Ok(at) => todo.push((way.to, at, way.passes)),
                    Err(what) => wrong.push(what),
                }
            }
            wrong.retain(|what| told.insert((step, what.clone())));
            faults.extend(wrong.into_iter().map(|what| (step, Some(state), what)));
        }
        let reached: HashSet<usize> = seen.into_iter().map(|(step, ..)| step).collect();
        let lost = (0..self.places.len()).filter(|i| !reached.contains(i) && !self.document.steps[*i].before.is_empty());
        faults.extend(lost.map(|i| (i, None, "it was checked, and no way leads to it".to_string())));
        faults
    }
    fn start(&self) -> Option<usize> {
        let (start, first) = (self.document.start.as_ref()?, self.document.steps.first()?);
        let declared = |s: &State| {
            let poses = start.joints.iter().zip(&self.document.joints).map(|(pose, j)| pose.unwrap_or([j.low, j.high]));
            let rests = |(load, at): &(String, Option<String>)| {
                s.loads.contains(&(load.clone(), Some(at.clone().unwrap_or_else(|| "jaw".to_string()))))
            };
            let equipped = start.tool == s.tool && start.equipment.iter().all(|e| s.equipment.contains(e));
            poses.eq(s.joints.iter().filter(|r| is_known(r)).map(|r| [r.low, r.high])) && start.loads.iter().all(rests) && equipped
        };
        first.before.iter().position(declared).filter(|_| self.places[0].0.is_empty())
    }
    /// The state of a step that holds all of what is left.
    fn arrive(&self, Way { to, left, how, .. }: &Way) -> Result<usize, String> {
        let (step, d) = (&self.document.steps[*to], self.document);
        let holds = step.before.iter().enumerate().filter(|(_, s)| differs(d, s, left).is_empty());
        holds.min_by_key(|(_, s)| differs(d, left, s).len()).map(|(i, _)| i).ok_or_else(|| {
            let off = step.before.iter().map(|s| differs(d, s, left)).min_by_key(Vec::len).map(|off| off.join(", "));
            let off = off.unwrap_or_else(|| "there is none".to_string());
            format!("{how} leads to step {} in a state that it was not checked from: {off}", step.number)
        })
    }
    /// Every way on from a state of a step, and what is wrong with the step itself.
    fn ways(&self, at: usize, state: usize, passes: u64) -> (Vec<Way>, Vec<String>) {
        let (step, before) = (&self.document.steps[at], &self.document.steps[at].before[state]);
        let (mut out, mut faults) = (Vec::new(), Vec::new());
        let mut put = |to, left: &State, passes, how| out.push(Way { to, left: left.clone(), passes, how });
        let first = |list: &str| self.lists.get(list).map(|l| l[0]);
        let (mut after, mut midway, mut on) = (None, None, false);
        match &step.act {
            Act::If { arms } => {
                arms.iter().filter_map(|a| first(a)).for_each(|to| put(to, before, passes, "the branch"));
                on = arms.len() < 2 || arms.iter().any(|a| first(a).is_none());
            }
            Act::Repeat { .. } | Act::Perform { .. } => match first(&step.number) {
                Some(body) => put(body, before, passes & !self.bit(at), "it"),
                None => on = true,
            },
            Act::GoTo { to } => match self.destination(at, to) {
                Some(target) => put(target, before, 0, "the jump"),
                None => faults.push(format!("it goes to {to:?}, which is not there")),
            },
            _ => match self.leave(step, before) {
                Ok((left, part)) => {
                    if !step.after.iter().any(|s| differs(self.document, s, &left).is_empty()) {
                        faults.push("what it leaves is not among the states after it".to_string());
                    }
                    (after, midway, on) = (Some(left), part, true);
                }
                Err(what) => faults.push(what),
            },
        }
        if on {
            let left = after.as_ref().unwrap_or(before);
            self.on(at, passes).into_iter().for_each(|(to, passes)| put(to, left, passes, "it"));
        }
        let (lines, done) = self.links(at);
        let before = (Some(before), "before it is done, a line");
        let states = [before, (midway.as_ref(), "part-way in it, a line"), (after.as_ref(), "after it, a line")];
        for (link, skipped) in lines.into_iter().map(|l| (l, 0)).chain(done.into_iter().map(|l| (l, 2))) {
            match self.destination(at, link) {
                Some(to) => states[skipped..].iter().for_each(|(left, how)| left.iter().for_each(|left| put(to, left, 0, how))),
                None => faults.push(format!("a line leads to {link:?}, which is not there")),
            }
        }
        (out, faults)
    }
    /// Where lines lead from a step, those of `Stop if` above it included; and those that hold once what stands above it is
    /// done, because the step is the last there.
    fn links(&self, at: usize) -> (Vec<&'a str>, Vec<&'a str>) {
        let own = |at: usize, stops: bool| {
            let lines = self.document.steps[at].lines.iter().filter(move |l| !stops || l.label == "Stop if");
            lines.filter_map(|l| l.leads_to.as_deref())
        };
        let (mut here, mut done): (Vec<_>, Vec<_>) = (own(at, false).collect(), Vec::new());
        let (mut up, mut last) = (at, true);
        while let Some(parent) = self.parent(up) {
            last &= self.lists[self.places[up].0].last() == Some(&up);
            here.extend(own(parent, true));
            done.extend(own(parent, false).filter(|_| last));
            up = parent;
        }
        (here, done)
    }
    fn parent(&self, at: usize) -> Option<usize> {
        match above(self.places[at].0) {
            Above::Arm(up) | Above::Under(up) => self.numbers.get(up).copied(),
            Above::Home(_) => None,
        }
    }
    /// A repeat of two passes has a bit of its own, the first 64 of them: only these need tell their passes apart.
    fn bit(&self, at: usize) -> u64 {
        let twice = |s: &Step| s.act == Act::Repeat { at_most: 2 };
        let before = self.document.steps[..at].iter().filter(|s| twice(s)).count();
        if twice(&self.document.steps[at]) && before < 64 { 1 << before } else { 0 }
    }
    /// The steps that come after one in the printed order.
    fn on(&self, mut at: usize, mut passes: u64) -> Vec<(usize, u64)> {
        let mut out = Vec::new();
        loop {
            let (list, place) = self.places[at];
            if let Some(next) = self.lists[list].get(place + 1) {
                out.push((*next, passes));
                return out;
            }
            let Some(parent) = self.parent(at) else { return out };
            let bit = self.bit(parent);
            let again = matches!(self.document.steps[parent].act, Act::Repeat { at_most } if at_most > 1 && passes & bit == 0);
            out.extend(again.then(|| (self.lists[list][0], passes | bit)));
            (at, passes) = (parent, passes & !bit);
        }
    }
    /// The first step of the nearest contingency of a title, or the step of a number.
    fn destination(&self, from: usize, to: &str) -> Option<usize> {
        let number = &self.document.steps[from].number;
        let nearest = self.lists.iter().filter_map(|(list, steps)| match above(list) {
            Above::Home(home) if !list.is_empty() && self.document.steps[steps[0]].section == to => {
                let mine = home.is_empty() || number.strip_prefix(home).is_some_and(|rest| rest.starts_with('.'));
                mine.then_some((home.len(), steps[0]))
            }
            _ => None,
        });
        nearest.max_by_key(|(home, _)| *home).map(|(_, step)| step).or_else(|| self.numbers.get(to).copied())
    }
    /// What a step leaves of a state, and the state part-way in its motion.
    fn leave(&self, step: &Step, before: &State) -> Result<(State, Option<State>), String> {
        let (document, mut after, mut midway) = (self.document, before.clone(), None);
        let place = |state: &mut State, load: &String, at: &str| {
            state.loads.iter_mut().filter(|(l, _)| l == load).for_each(|(_, is)| *is = Some(at.to_string()));
        };
        let held = before.held.as_ref().map(|h| &h.load);
        match &step.act {
            Act::Lift { load, .. } | Act::Lower { load, .. } | Act::LetGo { load, .. } if held != Some(load) => {
                return Err(format!("{load} is not held"));
            }
            Act::Jaw { .. } if held.is_some() => return Err("the jaw moves while it holds".to_string()),
            Act::Close { load } if held.is_some_and(|h| h != load) => return Err(format!("it closes on {load} while it holds")),
            Act::Move(_) | Act::Together { .. } | Act::Lift { .. } | Act::Lower { .. } => {
                if let Some((_, joint)) = before.joints.iter().zip(&document.joints).find(|(r, _)| !is_known(r)) {
                    return Err(format!("nobody knows where {} is", joint.name));
                }
                let mut part = before.clone();
                for motion in step.act.motions() {
                    let drive = Drive::of(document, motion, before);
                    let Drive { joint, stop: [low, high], nominal, known, .. } = drive;
                    after.joints[joint] = Readout { low, high, nominal, known: known.to_string() };
                    part.joints[joint] = drive.midway();
                }
                midway = Some(part);
            }
            Act::Close { load } => {
                if held.is_none() {
                    let from = before.loads.iter().find(|(l, _)| l == load).and_then(|(_, at)| at.clone()).filter(|at| at != "jaw");
                    let printed =
                        |r: &Readout| if matches!(&r.known[..], "readout" | "by-eye") { r.nominal } else { (r.low + r.high).div_euclid(2) };
                    let gripped = before.joints.iter().map(printed).filter(|_| from.is_some()).collect();
                    let kind = Kind::Held { station: from.clone(), gripped };
                    let body = document.space.iter().flat_map(|s| &s.bodies).position(|b| b.name == *load && b.kind == kind);
                    after.held = Some(Held { load: load.clone(), phase: String::new(), from, body });
                }
                place(&mut after, load, "jaw");
            }
            Act::LetGo { load, station, .. } => {
                place(&mut after, load, station);
                after.held = None;
            }
            Act::Tool { tool, on } => after.tool = on.then(|| tool.clone()),
            Act::Set { equipment, state } => {
                after.equipment.iter_mut().filter(|(e, _)| e == equipment).for_each(|(_, is)| is.clone_from(state));
            }
            Act::Power { on: false } => after.joints.iter_mut().for_each(|r| match &r.known[..] {
                "readout" | "by-eye" => r.known = "unread".to_string(),
                "range" => r.known = "unread-range".to_string(),
                _ => {}
            }),
            Act::ReadJoints => after.joints.iter_mut().zip(&document.joints).for_each(|(r, joint)| {
                if r.known == "by-eye" {
                    // Held to the band of its read-out there and then; it may have drifted within what it was left in.
                    let [low, high] = idle(joint, r);
                    r.low = r.low.max(low.max(r.nominal - joint.stop) - joint.hold);
                    r.high = r.high.min(high.min(r.nominal + joint.stop) + joint.hold);
                }
                r.known = if r.known.ends_with("range") { "range".to_string() } else { "readout".to_string() };
            }),
            Act::ExpectPose { within, .. } => after.joints.iter_mut().zip(within).for_each(|(r, pose)| {
                if let (false, Some([low, high])) = (is_known(r), pose) {
                    *r = Readout { low: *low, high: *high, nominal: i64::midpoint(*low, *high), known: "readout".to_string() };
                }
            }),
            _ => {}
        }
        Ok((after, midway))
    }
}

fn ordinal_of(step: &Step) -> Option<u32> {
    step.number.rsplit('.').next().filter(|n| n.bytes().all(|b| b.is_ascii_digit()))?.parse().ok()
}

/// What can be so in `left`, as far as space goes, and cannot in `given`.
fn differs(document: &Document, given: &State, left: &State) -> Vec<String> {
    let around = |a: &Readout, b: &Readout| {
        let same = (a.nominal == b.nominal && a.known == b.known) || (a.known == "range" && is_known(b));
        same && inside([b.low, b.high], [a.low, a.high])
    };
    let joints = given.joints.iter().zip(&left.joints).zip(&document.joints);
    let mut out: Vec<String> = joints.filter(|((a, b), _)| !around(a, b)).map(|(_, j)| format!("{} is elsewhere", j.name)).collect();
    let held = |s: &State| s.held.clone().map(|h| (h.load, h.from, h.body));
    let scene = held(given) == held(left) && given.tool == left.tool && given.loads == left.loads && given.equipment == left.equipment;
    out.extend((!scene).then(|| "the load, the tool or the equipment differs".to_string()));
    out
}
