//! Motions of the library stopped part-way, then gone on with or taken back as the print says they may: every angle on the way
//! must lie in the certificate of the step.
//!
//! The executor reads the compiled data alone. It draws starts, stops, drift and read-out errors, and keeps the written order of
//! two joints by comparing read-outs; a push takes a joint at least to where it stood before it drifted. It knows nothing of how
//! the certificates were found.

#![allow(clippy::print_stdout, reason = "the counts are the result")]

mod library;
#[path = "geometry/sampler.rs"]
#[allow(dead_code, reason = "only its dice are thrown here")]
mod sampler;

use library::{DEMOS, folder};
use sampler::Dice;
use surehand::compiled::space::Node;
use surehand::compiled::{Act, Compiled, Ends, Motion, State, Step, Sweep};
use surehand::session::{DiskWorld, Session};

fn compiled(demo: &str) -> Compiled {
    let session = Session::new(&DiskWorld);
    let compilation = session.compile(&folder().join(demo)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    compilation.examined.as_ref().expect("is examined").compile(session.files())
}

/// Whether the certificate holds the bodies apart at these true angles: inside the box, in a part that is not left out.
fn holds(sweep: &Sweep, angles: &[i64]) -> bool {
    /// The node behind a whole subtree.
    fn behind(nodes: &[Node], at: usize) -> usize {
        if nodes[at].split.is_some() { behind(nodes, behind(nodes, at + 1)) } else { at + 1 }
    }
    let inside = angles.iter().zip(&sweep.within).all(|(a, [low, high])| low <= a && a <= high);
    let mut at = 0;
    while let Some(split) = &sweep.nodes[at].split {
        // On the cut itself either part will do; the lower is taken.
        at = if angles[split.joint] <= split.at { at + 1 } else { behind(&sweep.nodes, at + 1) };
    }
    inside && !sweep.nodes[at].outside
}

/// A joint on its way.
#[derive(Clone, Debug)]
struct Course {
    joint: usize,
    up: bool,
    from: i64,
    to: i64,
    nominal: i64,
}

impl Course {
    /// How far along, from 0 to 1 by this execution's own start and end.
    fn share(&self, at: i64) -> f64 {
        (at - self.from) as f64 / (self.to - self.from) as f64
    }
    fn past(&self, at: i64, mark: i64) -> bool {
        if self.up { at > mark } else { at < mark }
    }
}

/// One execution: read-outs as they are, and errors of the read-outs.
struct Run<'a> {
    data: &'a Compiled,
    step: &'a Step,
    sweep: &'a Sweep,
    dice: Dice,
    /// Where each joint came to rest, and how far it has drifted since.
    rest: Vec<i64>,
    drift: Vec<i64>,
    error: Vec<i64>,
    bad: Vec<String>,
    seen: u64,
}

fn motions(act: &Act) -> &[Motion] {
    match act {
        Act::Move(m) | Act::Lift { motion: m, .. } | Act::Lower { motion: m, .. } => std::slice::from_ref(m),
        Act::Together { motions, .. } => motions,
        _ => &[],
    }
}

impl<'a> Run<'a> {
    fn new(data: &'a Compiled, step: &'a Step, sweep: &'a Sweep, seed: u64) -> Run<'a> {
        let mut dice = Dice(seed);
        let state: &State = &step.before[sweep.state];
        let end = |dice: &mut Dice, low, high| {
            if dice.one_in(2) { *[low, high].get(usize::from(dice.one_in(2))).expect("two") } else { dice.whole(low, high) }
        };
        let rest = state.joints.iter().map(|r| end(&mut dice, r.low, r.high)).collect();
        let error = data.joints.iter().map(|j| end(&mut dice, -j.error, j.error)).collect();
        let drift = vec![0; data.joints.len()];
        Run { data, step, sweep, dice, rest, drift, error, bad: Vec::new(), seen: 0 }
    }

    /// Either end as often as all between.
    fn draw(&mut self, low: i64, high: i64) -> i64 {
        let (low, high) = (low.min(high), low.max(high));
        match self.dice.whole(0, 3) {
            0 => low,
            1 => high,
            _ => self.dice.whole(low, high),
        }
    }

    /// What a read-out shows.
    fn shown(&self, joint: usize) -> i64 {
        self.rest[joint] + self.drift[joint]
    }

    /// Looks at read-outs, every idle joint drifted anywhere it may.
    fn look(&mut self, what: &str, moving: Option<usize>) {
        for k in 0..self.rest.len() {
            let hold = if moving == Some(k) { 0 } else { self.data.joints[k].hold };
            self.drift[k] = self.draw(-hold, hold);
        }
        let angles: Vec<i64> = (0..self.rest.len()).map(|k| self.shown(k) + self.error[k]).collect();
        self.seen += 1;
        if !holds(self.sweep, &angles) {
            self.bad.push(format!("{}: step {}, {what}: {angles:?}", self.data.identity.id, self.step.number));
        }
    }

    fn course(&mut self, m: &Motion) -> Course {
        let j = &self.data.joints[m.joint];
        let band = match m.ends {
            // A written band is not repeated as a number beside the stopping tolerance; what is printed lies within it.
            Ends::Target => (m.high.value - m.target.value).min(m.target.value - m.low.value).max(j.stop),
            _ => j.stop_by_eye.max(j.stop),
        };
        let to = m.target.value + self.dice.whole(-band, band);
        Course {
            joint: m.joint,
            up: m.positive,
            from: self.shown(m.joint),
            to,
            nominal: self.step.before[self.sweep.state].joints[m.joint].nominal,
        }
    }

    /// Moves a joint to a read-out, looking on the way.
    fn go(&mut self, joint: usize, to: i64, what: &str) {
        let from = self.shown(joint);
        for _ in 0..2 {
            self.rest[joint] = self.draw(from, to);
            self.look(what, Some(joint));
        }
        self.rest[joint] = to;
        self.look(what, None);
    }

    /// Part of the way of one joint, or all of it, or of two in their order.
    fn forth(&mut self, courses: &[Course], whole: bool, what: &str) {
        if let [c] = courses {
            let to = if whole { c.to } else { self.draw(self.rest[c.joint], c.to) };
            self.go(c.joint, to, what);
            return;
        }
        let Act::Together { first, gates, .. } = &self.step.act else { panic!("two joints move together") };
        for _ in 0..if whole { 60 } else { self.dice.whole(1, 12) } {
            if courses.iter().all(|c| self.rest[c.joint] == c.to) {
                return;
            }
            let k = usize::from(self.dice.one_in(2));
            let (c, other) = (&courses[k], &courses[1 - k]);
            let mut to = if whole && self.dice.one_in(3) { c.to } else { self.draw(self.rest[c.joint], c.to) };
            for gate in gates.iter().filter(|g| g.held == c.joint) {
                // Where it waits it stops as near as it can stop.
                let band = self.data.joints[c.joint].stop;
                let wait = gate.not_past.value + self.dice.whole(-band, band);
                if !other.past(self.shown(other.joint), gate.past.value) && c.past(to, wait) {
                    to = if c.past(self.rest[c.joint], wait) { self.rest[c.joint] } else { wait };
                }
            }
            let ahead = |leader: &Course, at: i64, follower: &Course, behind: i64| leader.share(at) >= follower.share(behind);
            let kept = match first {
                Some(f) if *f == c.joint => ahead(c, to, other, self.shown(other.joint)),
                Some(_) => ahead(other, self.shown(other.joint), c, to),
                None => true,
            };
            if kept && to != self.rest[c.joint] {
                self.go(c.joint, to, what);
            }
        }
    }

    /// Back to the printed start, one joint after the other.
    fn back(&mut self, courses: &[Course], last: Option<usize>, wide: i64) {
        let mut order: Vec<&Course> = courses.iter().collect();
        match last {
            Some(last) => order.sort_by_key(|c| c.joint == last),
            None if self.dice.one_in(2) => order.reverse(),
            None => {}
        }
        for c in order {
            let stop = self.data.joints[c.joint].stop * wide;
            let to = self.draw(c.nominal - stop, c.nominal + stop);
            self.go(c.joint, to, "on the way back");
        }
    }
}

/// What is tried beyond what is told.
#[derive(Clone, Copy, PartialEq)]
enum Wrong {
    Nothing,
    /// The joint that is to come back last comes first.
    Order,
    /// It comes back three times as far off as it may stop.
    Wide,
}

/// Runs every motion that may go on or back; returns what left its certificate, and how many places were looked at.
fn runs(data: &Compiled, wrong: Wrong, each: u64) -> (Vec<String>, u64, u64) {
    let (mut bad, mut seen, mut steps) = (Vec::new(), 0, 0);
    for (n, step) in (0..).zip(&data.steps) {
        let Some(stopped) = step.told.as_ref().and_then(|t| t.stopped.as_ref()).filter(|s| s.on) else { continue };
        steps += 1;
        for sweep in &step.sweeps {
            for seed in 0..each {
                let mut run = Run::new(data, step, sweep, (n << 32) ^ (seed << 8) ^ sweep.state as u64);
                run.look("at the start", None);
                let courses: Vec<Course> = motions(&step.act).iter().map(|m| run.course(m)).collect();
                run.forth(&courses, false, "on the way");
                if stopped.back && seed % 2 == 0 {
                    let last = match wrong {
                        Wrong::Order => stopped.last.and_then(|l| courses.iter().map(|c| c.joint).find(|j| *j != l)),
                        Wrong::Nothing | Wrong::Wide => stopped.last,
                    };
                    run.back(&courses, last, if wrong == Wrong::Wide { 3 } else { 1 });
                } else {
                    run.forth(&courses, true, "going on");
                }
                seen += run.seen;
                bad.append(&mut run.bad);
            }
        }
    }
    (bad, seen, steps)
}

#[test]
fn what_goes_on_or_back_stays_in_its_certificate() {
    let (mut looked, mut moves) = (0, 0);
    for demo in DEMOS {
        let data = compiled(demo);
        let (bad, seen, steps) = runs(&data, Wrong::Nothing, 40);
        assert!(bad.is_empty(), "{demo}: {} of {seen}: {:#?}", bad.len(), &bad[..bad.len().min(5)]);
        (looked, moves) = (looked + seen, moves + steps);
    }
    println!("{looked} places of {moves} motions stopped part-way, all in their certificates");
    assert!(moves > 90 && looked > 30_000, "{moves} motions, {looked} places");
}

/// The executor must be able to see a claim that goes too far.
#[test]
fn what_goes_back_otherwise_leaves_its_certificate() {
    let data = compiled("cartridge-change.md");
    let (bad, ..) = runs(&data, Wrong::Order, 40);
    assert!(!bad.is_empty(), "the joint that leads comes back first, and nobody sees it");
    let (bad, ..) = runs(&data, Wrong::Wide, 40);
    assert!(!bad.is_empty(), "a joint comes back too far off, and nobody sees it");
}

#[test]
fn nothing_is_told_of_a_motion_without_a_certificate() {
    for demo in DEMOS {
        let data = compiled(demo);
        for step in &data.steps {
            let Some(stopped) = step.told.as_ref().and_then(|t| t.stopped.as_ref()) else {
                assert!(motions(&step.act).is_empty() || step.before.is_empty(), "{demo}: nothing is told of step {}", step.number);
                continue;
            };
            let swept = !step.sweeps.is_empty() && step.sweeps.len() == step.before.len();
            assert!(swept || !stopped.on && !stopped.back, "{demo}: step {}", step.number);
            let jaw = matches!(step.act, Act::Close { .. } | Act::Jaw { .. } | Act::LetGo { .. });
            let lifts = matches!(step.act, Act::Lift { .. });
            assert!(!(jaw || lifts) || !stopped.back, "{demo}: step {} may go back", step.number);
            let cued = motions(&step.act).iter().any(|m| !matches!(m.ends, Ends::Target | Ends::ByEye));
            assert!(!cued || stopped.untouched, "{demo}: step {} is told after a touch", step.number);
        }
    }
}
