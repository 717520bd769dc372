//! Attacks from outside: concrete executions drawn at random, written from the promise alone, and relations that a
//! verdict must keep. Nothing here uses the transfer of the trace.

use crate::common::{Case, procedure};
use surehand::diag::Severity;
use surehand::model::arm::{Pose, Travel};
use surehand::model::procedure::{Drive, Goal, Item, Kind, Label, LineForm, Pace, Procedure, SectionKind};
use surehand::model::{LoadId, SectionId, StationId, StepId};
use surehand::text::Spanned;
use surehand::trace::state::{Entry, Opening};
use surehand::trace::{FrameId, Trace, check, trace};
use surehand::units::Angle;

/// A small generator of numbers (xorshift, Marsaglia 2003), so that a failure repeats.
struct Dice(u64);

impl Dice {
    fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
    fn below(&mut self, n: u64) -> u64 {
        (self.next() >> 11) % n.max(1)
    }
    /// Between two numbers, ends included and favoured.
    fn between(&mut self, low: i64, high: i64) -> i64 {
        match self.below(4) {
            0 => low,
            1 => high,
            _ => low + i64::try_from(self.below(u64::try_from(high - low + 1).unwrap_or(1))).unwrap_or(0),
        }
    }
    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
}

/// A concrete arm: where each joint settled and how far it has drifted since.
struct Real<'a> {
    p: &'a Procedure,
    t: &'a Trace,
    dice: Dice,
    settled: Vec<i64>,
    drift: Vec<i64>,
    moved: Vec<bool>,
    /// Joints inched last, with the angle that is printed for them.
    inched: Vec<Option<i64>>,
    jaw: i64,
    held: Option<LoadId>,
    /// The station a held load rests on.
    rests: Option<StationId>,
    at: Vec<Option<StationId>>,
    power: bool,
    level: Option<usize>,
    violations: Vec<String>,
}

/// What a list of steps did.
enum Went {
    On,
    /// A read-out was not as printed; the work stops.
    Stopped,
    To(StepId),
}

impl<'a> Real<'a> {
    fn new(p: &'a Procedure, t: &'a Trace, seed: u64) -> Real<'a> {
        let mut dice = Dice::new(seed);
        let start = p.start.as_ref().and_then(|s| s.pose).unwrap_or_else(|| panic!("a start pose"));
        let pose = &p.arm.poses[start.value.at()];
        let settled = pose.angles.iter().map(|a| {
            let nominal = a.map_or(0, |a| a.value.0);
            dice.between(nominal - pose.band.value.0, nominal + pose.band.value.0)
        });
        let settled: Vec<i64> = settled.collect();
        let rests = p.cell.loads.iter().map(|l| l.rests_at.as_ref().and_then(|n| p.cell.find_station(&n.value)));
        Real {
            p,
            t,
            drift: vec![0; settled.len()],
            moved: vec![false; settled.len()],
            inched: vec![None; settled.len()],
            settled,
            jaw: p.start.as_ref().and_then(|s| s.jaw).map_or(0, |j| j.value.0),
            held: None,
            rests: None,
            at: rests.collect(),
            power: false,
            level: None,
            violations: Vec::new(),
            dice,
        }
    }

    fn read(&self, joint: usize) -> i64 {
        self.settled[joint] + self.drift[joint]
    }

    fn wrong(&mut self, step: StepId, what: &str) {
        self.violations.push(format!("step {}: {what}", self.p.step(step).number));
    }

    fn inside(&mut self, step: StepId) {
        for (i, joint) in self.p.arm.joints.iter().enumerate() {
            let (low, high) = match &joint.travel {
                Travel::Stops { low, high } => (low.value.0 + joint.soft_margin.value.0, high.value.0 - joint.soft_margin.value.0),
                Travel::Turns { low, high } => (low.value.0, high.value.0),
            };
            if self.read(i) < low || self.read(i) > high {
                let what = format!("{} is at {} outside {low} to {high}", joint.name.value, self.read(i));
                self.wrong(step, &what);
            }
        }
    }

    /// Idle joints wander anywhere within their hold tolerance since they last moved.
    fn wander(&mut self) {
        for i in 0..self.drift.len() {
            let hold = self.p.arm.joints[i].hold.value.0;
            self.drift[i] = self.dice.between(-hold, hold);
        }
    }

    /// The trace must know the state the arm really is in.
    fn known(&mut self, step: StepId) {
        let Some(row) = self.t.row(FrameId::ROOT, step) else { return };
        let jaw = self.jaw;
        let covers = |e: &Entry| {
            let joints = e.state.joints().iter().enumerate().all(|(i, r)| {
                let hold = self.p.arm.joints[i].hold.value.0;
                r.low.0 - hold <= self.read(i) && self.read(i) <= r.high.0 + hold
            });
            let opening = match e.state.jaw {
                Opening::Between(low, high) => low.0 <= jaw && jaw <= high.0,
                Opening::Undeclared | Opening::Muted => true,
            };
            joints && opening && e.state.held().map(|h| h.load) == self.held && e.state.power == Some(self.power)
        };
        if !self.t.before(row).any(covers) {
            self.wrong(step, "the trace does not know this state");
        }
    }

    fn drive(&mut self, step: StepId, drive: &Drive) {
        let i = drive.joint.value.at();
        let joint = &self.p.arm.joints[i];
        if !self.power {
            self.wrong(step, "moved without power");
        }
        let start = self.read(i);
        let (target, stop) = match &drive.goal {
            Goal::To { to, within, pace, .. } => {
                let tolerance = if *pace == Pace::Inch { joint.stop_by_eye } else { joint.stop_by_readout };
                let band = within.unwrap_or(tolerance).value.0;
                (to.value.0, self.dice.between(to.value.0 - band, to.value.0 + band))
            }
            Goal::By { ending, .. } => {
                let band = joint.stop_by_readout.value.0;
                (ending.value.0, self.dice.between(ending.value.0 - band, ending.value.0 + band))
            }
            Goal::Until { not_past, .. } => {
                let bound = not_past.value.0 + if drive.positive.value { joint.stop_by_eye.value.0 } else { -joint.stop_by_eye.value.0 };
                (not_past.value.0, self.dice.between(start.min(bound), start.max(bound)))
            }
            Goal::Taps { low, high, tap, at_most } => {
                let (low, high) = (low.value.0.min(high.value.0), low.value.0.max(high.value.0));
                let far = if drive.positive.value { high } else { low };
                if (far - start).abs() > tap.value.0.abs() * i64::from(at_most.value) {
                    self.wrong(step, "the taps run out before contact");
                }
                let stop = self.dice.between(low, high);
                // The near edge has to lie ahead.
                (if drive.positive.value { low } else { high }, stop)
            }
        };
        if (drive.positive.value && target <= start) || (!drive.positive.value && target >= start) {
            let what = format!(
                "the word says {} and the read-out goes from {start} to {target}",
                if drive.positive.value { "up" } else { "down" }
            );
            self.wrong(step, &what);
        }
        if let (true, Some(_)) = (self.held.is_some() && self.rests.is_some(), self.held) {
            self.wrong(step, "a supported load was dragged");
        }
        (self.settled[i], self.drift[i], self.moved[i]) = (stop, 0, true);
        self.inched[i] = matches!(drive.goal, Goal::To { pace: Pace::Inch, within: None, .. }).then_some(target);
        self.wander();
        self.inside(step);
    }

    /// Within a pose. What has not moved since the start was declared to be in its band; its drift comes on top.
    fn is_in(&self, pose: &Pose) -> bool {
        let close = |(i, a): (usize, &Option<Spanned<Angle>>)| {
            let drift = if self.moved[i] { 0 } else { self.p.arm.joints[i].hold.value.0 };
            a.is_none_or(|a| (self.read(i) - a.value.0).abs() <= pose.band.value.0 + drift)
        };
        pose.angles.iter().enumerate().all(close)
    }

    fn near(&self, station: StationId) -> bool {
        let Some(pose) = self.p.cell.stations[station.at()].pose.as_ref().and_then(|n| self.p.arm.find_pose(&n.value)) else { return true };
        self.is_in(&self.p.arm.poses[pose.at()])
    }

    fn act(&mut self, step: StepId) -> Went {
        self.known(step);
        let escape = self.p.step(step).lines.iter().find_map(|l| match (l.label, &l.form) {
            (Label::StopIf, LineForm::Contingency(section)) => Some(section.value),
            _ => None,
        });
        let Some(section) = escape.filter(|_| self.dice.one_in(2)) else { return self.perform(step) };
        match (self.dice.below(4), &self.p.step(step).kind) {
            (0, _) => {}
            (1, _) => drop(self.perform(step)),
            // Stopped anywhere on the way.
            (_, Kind::Move(drive)) => {
                let i = drive.joint.value.at();
                let start = self.read(i);
                self.drive(step, drive);
                let end = self.settled[i];
                self.settled[i] = self.dice.between(start.min(end), start.max(end));
                self.inched[i] = None;
            }
            _ => {}
        }
        self.flee(step, section);
        Went::Stopped
    }

    /// Through a contingency, which has to end in a pose marked safe.
    fn flee(&mut self, step: StepId, section: SectionId) {
        let items = &self.p.section(section).items;
        let steps: Vec<StepId> = items.iter().filter_map(|i| if let Item::Step(s) = i { Some(*s) } else { None }).collect();
        if !matches!(self.list(&steps), Went::On) {
            return;
        }
        let safe = self.p.arm.poses.iter().filter(|p| p.safe).any(|pose| self.is_in(pose));
        if !safe {
            self.wrong(step, "the contingency did not end safe");
        }
    }

    fn perform(&mut self, step: StepId) -> Went {
        let p = self.p;
        match &p.step(step).kind {
            Kind::Move(drive) => self.drive(step, drive),
            Kind::Together(two) => two.drives.iter().for_each(|d| self.drive(step, d)),
            Kind::Power(on) => self.power = *on,
            Kind::ReadJoints => {
                let off =
                    |(i, n): (usize, &Option<i64>)| n.is_some_and(|n| (self.read(i) - n).abs() > p.arm.joints[i].stop_by_readout.value.0);
                if self.inched.iter().enumerate().any(off) {
                    return Went::Stopped;
                }
            }
            Kind::GripLevel(level) => self.level = Some(level.value.at()),
            Kind::Jaw { open, to } => {
                if self.held.is_some() {
                    self.wrong(step, "a held load was dropped");
                }
                if (*open && to.value.0 <= self.jaw) || (!*open && to.value.0 >= self.jaw) {
                    self.wrong(step, "the jaw goes the other way");
                }
                let tolerance = p.arm.jaw.tolerance.value.0;
                self.jaw = self.dice.between(to.value.0 - tolerance, to.value.0 + tolerance);
            }
            Kind::Close(load) => self.close(step, load.value),
            Kind::Lift(lift) => {
                if self.held != Some(lift.load.value) || self.rests != Some(lift.station.value) {
                    self.wrong(step, "lifted what is not gripped there");
                }
                self.rests = None;
                self.drive(step, &lift.drive);
            }
            Kind::Lower(lower) => {
                if self.held != Some(lower.load.value) {
                    self.wrong(step, "lowered what is not held");
                }
                self.drive(step, &lower.drive);
                let free = self.at.iter().enumerate().all(|(i, s)| *s != Some(lower.station.value) || i == lower.load.value.at());
                if !self.near(lower.station.value) || !free {
                    self.wrong(step, "set down beside its station or on another load");
                }
                self.rests = Some(lower.station.value);
            }
            Kind::LetGo { load, station, open_to } => {
                if self.held != Some(load.value) || self.rests != Some(station.value) {
                    self.wrong(step, "let go of in the air");
                }
                self.at[load.value.at()] = Some(station.value);
                (self.held, self.rests) = (None, None);
                self.jaw = open_to.value.0;
            }
            Kind::If { arms } => {
                let n = usize::try_from(self.dice.below(arms.len() as u64)).unwrap_or(0);
                return self.list(&arms[n].steps);
            }
            Kind::Repeat { at_most, body } => {
                for _ in 0..=self.dice.below(u64::from(at_most.value)) {
                    match self.list(body) {
                        Went::On => {}
                        left => return left,
                    }
                }
            }
            Kind::GoTo(to) => {
                if let surehand::model::procedure::Destination::Step(target) = to.value {
                    return Went::To(target);
                }
            }
            _ => {}
        }
        Went::On
    }

    fn close(&mut self, step: StepId, load: LoadId) {
        let (p, data) = (self.p, &self.p.cell.loads[load.at()]);
        if self.held.is_some_and(|h| h != load) {
            self.wrong(step, "gripped with another load in the jaw");
        }
        if self.held.is_none() {
            let needed = data.grip_width.value.0 + data.grip_clearance.map_or(0, |c| c.value.0);
            let place = self.at[load.at()];
            if self.jaw < needed || !place.is_some_and(|s| self.near(s)) {
                self.wrong(step, "the pads come down on the load or beside it");
            }
            self.rests = place;
        }
        match self.level.map(|l| &p.arm.jaw.levels[l]) {
            Some(level) => {
                // In floating point on purpose: another arithmetic than the rule's.
                let friction = p.arm.jaw.friction.as_ref().map_or(0.3, |f| f.value.value.0 as f64 / 1e6);
                let weight = data.mass_at_most.value.0 as f64 / 1e6 * 9.80665;
                let force = p.policy.grip_factor.value.0 as f64 / 1e6 * weight / (2.0 * friction);
                if (level.least.value.0 as f64) < force * 1000.0 - 0.5 || data.crush.is_some_and(|c| c.value < level.most.value) {
                    self.wrong(step, "the load slips or is crushed");
                }
            }
            None => self.wrong(step, "gripped at a level nobody chose"),
        }
        self.held = Some(load);
        self.at[load.at()] = None;
        self.jaw = data.grip_width.value.0;
    }

    fn list(&mut self, steps: &[StepId]) -> Went {
        let mut i = 0;
        while let Some(step) = steps.get(i) {
            i += 1;
            match self.act(*step) {
                Went::On => {}
                Went::Stopped => return Went::Stopped,
                Went::To(target) => match steps.iter().position(|s| *s == target) {
                    Some(at) => i = at,
                    None => return Went::To(target),
                },
            }
        }
        Went::On
    }

    fn run(mut self) -> Vec<String> {
        let ordinary = self.p.sections.iter().filter(|s| s.kind == SectionKind::Ordinary).flat_map(|s| &s.items);
        let steps: Vec<StepId> = ordinary.filter_map(|i| if let Item::Step(s) = i { Some(*s) } else { None }).collect();
        self.list(&steps);
        self.violations
    }
}

/// Whether the rules over states accept a procedure; `None` if it could not be read.
fn judged(case: &Case) -> Option<(Procedure, Trace, bool)> {
    let (p, found) = procedure(case);
    if found.iter().any(|f| f.severity == Severity::Error) {
        return None;
    }
    let t = trace(&p);
    let accepted = check(&p, &t).iter().all(|f| f.severity != Severity::Error);
    Some((p, t, accepted))
}

const JOINTS: [(&str, &str, &str, i64, i64, bool); 5] = [
    ("base", "left", "right", -168, 168, true),
    ("shoulder", "raise", "lower", -38, 93, true),
    ("elbow", "extend", "fold", 12, 148, false),
    ("wrist-pitch", "raise", "lower", -78, 78, true),
    ("wrist-turn", "clockwise", "counter-clockwise", -720, 720, true),
];

/// Thousandths of a degree as written.
fn written(angle: i64, signed: bool) -> String {
    let sign = if angle < 0 {
        "-"
    } else if signed && angle > 0 {
        "+"
    } else {
        ""
    };
    let (whole, part) = (angle.abs() / 1000, angle.abs() % 1000);
    if part == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part:03}") }
}

/// A move whose direction is mostly right and whose target is often near an edge.
fn a_move(dice: &mut Dice, angles: &mut [i64; 5]) -> String {
    let j = usize::try_from(dice.below(5)).unwrap_or(0);
    let (name, up, down, low, high, signed) = JOINTS[j];
    let target = match dice.below(6) {
        0 => dice.between(high * 1000 - 1500, high * 1000 + 200),
        1 => dice.between(low * 1000 - 200, low * 1000 + 1500),
        2 => angles[j] + dice.between(-2000, 2000),
        _ => dice.between(low * 1000 + 1000, high * 1000 - 1000),
    };
    let grows = (target > angles[j]) != dice.one_in(25);
    let word = if grows { up } else { down };
    angles[j] = target;
    let at = written(target, signed);
    match dice.below(12) {
        0 => format!("`{name} {word} until contact, not past {at} deg`\n   - If not: hold and tell Shift lead"),
        1 => format!("`{name} {word} to {at} deg within {} deg`", written(dice.between(500, 2000), false)),
        2 => format!("`{name} {word} to {at} deg inch`"),
        _ => format!("`{name} {word} to {at} deg`"),
    }
}

/// Indents the lines below the first.
fn item(numeral: usize, text: &str, indent: usize) -> String {
    let pad = " ".repeat(indent);
    let inner = format!("\n{pad}{}", " ".repeat(numeral.to_string().len() + 2));
    format!("{pad}{numeral}. {}\n", text.replace("\n   ", &inner))
}

/// Steps with branches and repeats, at random.
fn random_steps(dice: &mut Dice) -> String {
    let mut angles = [0, 20_000, 60_000, 0, 0];
    let mut out = String::from("1. `power on arm`\n");
    for i in 2..=2 + usize::try_from(dice.below(7)).unwrap_or(0) {
        match dice.below(6) {
            0 => {
                let then = item(1, &a_move(dice, &mut angles), 5);
                out.push_str(&item(i, &format!("`if` Lamp 1 is lit, seen in window 1.\n   - then\n{then}   - otherwise: go on"), 0));
            }
            1 => {
                let n = 1 + dice.below(4);
                let (first, second) = (item(1, &a_move(dice, &mut angles), 3), item(2, &a_move(dice, &mut angles), 3));
                out.push_str(&item(
                    i,
                    &format!(
                        "`repeat at most {n} until` Lamp 1 is lit, seen in window 1.\n   - If not: hold and tell Shift lead\n{first}{}",
                        second.trim_end()
                    ),
                    0,
                ));
            }
            2 => out.push_str(&item(i, "`read joints`", 0)),
            _ => out.push_str(&item(i, &a_move(dice, &mut angles), 0)),
        }
    }
    out
}

/// Draws executions of what is accepted; none may break the promise. Returns how many were accepted and refused.
fn attack(cases: impl Iterator<Item = (u64, String)>, draws: u64) -> (u32, u32, u32) {
    let (mut accepted, mut refused, mut caught) = (0, 0, 0);
    for (seed, steps) in cases {
        let Some((p, t, fine)) = judged(&Case::steps(&steps)) else { continue };
        let found = (0..draws).find_map(|d| {
            let wrong = Real::new(&p, &t, seed * 1000 + d).run();
            (!wrong.is_empty()).then_some(wrong)
        });
        match (fine, found) {
            (true, Some(wrong)) => panic!("accepted, and yet {wrong:#?}\n{steps}"),
            (true, None) => accepted += 1,
            (false, found) => {
                refused += 1;
                caught += u32::from(found.is_some());
            }
        }
    }
    (accepted, refused, caught)
}

#[test]
fn no_execution_of_an_accepted_procedure_breaks_the_promise() {
    let cases = (1..=1500).map(|seed| (seed, random_steps(&mut Dice::new(seed))));
    let (accepted, refused, caught) = attack(cases, 40);
    assert!(accepted > 150 && refused > 150, "both happen: {accepted} accepted, {refused} refused");
    // The executor is not blind: it finds for itself why most of what is refused is refused.
    assert!(caught * 2 > refused, "{caught} of {refused}");
}

/// Moves that can be stopped, and a way to the stowed pose from wherever they are stopped.
fn stoppable_steps(dice: &mut Dice) -> String {
    let mut angles = [0, 20_000, 60_000, 0, 0];
    let mut out = String::from("1. `power on arm`\n");
    for i in 2..=2 + usize::try_from(dice.below(4)).unwrap_or(0) {
        let mut text = loop {
            let step = a_move(dice, &mut angles);
            if !step.contains("wrist-turn") && !step.contains("until") {
                break step;
            }
        };
        if i == 2 || dice.one_in(2) {
            text.push_str("\n   - Stop if: the lamp goes out: [back out](#back-out)");
        }
        out.push_str(&item(i, &text, 0));
    }
    out.push_str("\n# Back out {#back-out .contingency}\n\n");
    let mut way =
        vec!["`base right to -90 deg`", "`shoulder raise to +80 deg`", "`elbow fold to 30 deg`", "`wrist-pitch lower to -60 deg`"];
    match dice.below(12) {
        0 => drop(way.pop()),
        1 => way[0] = "`base left to -90 deg`",
        2 => way[2] = "`elbow fold to 31 deg`",
        _ => {}
    }
    out.push_str(&way.iter().enumerate().map(|(i, s)| item(i + 1, s, 0)).collect::<String>());
    out
}

#[test]
fn no_stop_part_way_leads_out_of_what_was_checked() {
    let cases = (1..=1500).map(|seed| (seed, stoppable_steps(&mut Dice::new(seed))));
    let (accepted, refused, caught) = attack(cases, 30);
    assert!(accepted > 150 && refused > 150, "both happen: {accepted} accepted, {refused} refused");
    assert!(caught * 2 > refused, "{caught} of {refused}");
}

const CARRY: [&str; 15] = [
    "`power on arm`",
    "`base left to +30 deg`",
    "`wrist-pitch lower to -20 deg`",
    "`elbow extend to 90 deg`",
    "`jaw open to 90 mm`",
    "`shoulder lower to -10 deg`",
    "`grip level 2`",
    "`close on cup`",
    "`lift cup clear of cradle: shoulder raise to +20 deg`",
    "`base right to -45 deg`",
    "`elbow extend to 100 deg`",
    "`wrist-pitch lower to -25 deg`",
    "`lower cup onto rack: shoulder lower to -5 deg`",
    "`let go of cup on rack, open to 90 mm`",
    "`shoulder raise to +20 deg`",
];

/// A task with one or two defects: a step deleted, doubled, swapped with its neighbour, or another number or word in it.
fn spoilt(dice: &mut Dice) -> String {
    let mut steps: Vec<String> = CARRY.iter().map(|s| (*s).to_string()).collect();
    for _ in 0..dice.below(3) {
        let i = usize::try_from(dice.below(steps.len() as u64 - 1)).unwrap_or(0);
        let swap = |s: &str, a: &str, b: &str| if s.contains(a) { s.replace(a, b) } else { s.replace(b, a) };
        match dice.below(7) {
            0 => drop(steps.remove(i)),
            1 => steps.insert(i, steps[i].clone()),
            2 => steps.swap(i, i + 1),
            3 => steps[i] = swap(&steps[i], " rack", " cradle"),
            4 => steps[i] = steps[i].replace("level 2", if dice.one_in(2) { "level 1" } else { "level 3" }),
            5 => steps[i] = swap(&steps[i], "90 mm", "70 mm"),
            _ => steps[i] = swap(&steps[i], "20 deg", "21 deg"),
        }
    }
    steps.iter().enumerate().map(|(i, s)| item(i + 1, s, 0)).collect()
}

#[test]
fn no_execution_of_an_accepted_task_drops_or_crushes_a_load() {
    let cases = (1..=1500).map(|seed| (seed, spoilt(&mut Dice::new(seed))));
    let (accepted, refused, caught) = attack(cases, 30);
    assert!(accepted > 300 && refused > 300, "both happen: {accepted} accepted, {refused} refused");
    assert!(caught * 2 > refused, "{caught} of {refused}");
}

fn accepts(steps: &str) -> Option<bool> {
    judged(&Case::steps(steps)).map(|(_, _, fine)| fine)
}

#[test]
fn a_verdict_survives_splitting_a_move() {
    let mut split = 0;
    for seed in 1..=400 {
        let mut dice = Dice::new(seed);
        let target = dice.between(-175_000, 175_000);
        let word = if (target > 0) != dice.one_in(6) { "left" } else { "right" };
        let whole = format!("1. `power on arm`\n2. `base {word} to {} deg`\n", written(target, true));
        let half = target / 2;
        if half.abs() < 3000 {
            continue; // too near to be two moves
        }
        let halves = format!(
            "1. `power on arm`\n2. `base {word} to {} deg`\n3. `base {word} to {} deg`\n",
            written(half, true),
            written(target, true)
        );
        assert_eq!(accepts(&whole), accepts(&halves), "{whole}{halves}");
        split += 1;
    }
    assert!(split > 300);
}

#[test]
fn a_verdict_is_monotone_in_bands_and_limits() {
    let (mut changed, mut same) = (0, 0);
    for seed in 1..=200 {
        let mut dice = Dice::new(seed);
        let target = if dice.one_in(4) { dice.between(1_000, 168_000) } else { dice.between(165_500, 167_000) };
        let band = dice.between(500, 1000);
        let wider = band + dice.between(1, 2000);
        let steps = |b: i64| {
            format!(
                "1. `power on arm`\n2. `base left to {} deg within {} deg`\n3. `elbow extend to 90 deg`\n4. `base right to -90 deg`\n",
                written(target, true),
                written(b, false)
            )
        };
        let (narrow, wide) = (accepts(&steps(band)), accepts(&steps(wider)));
        assert!(wide != Some(true) || narrow == Some(true), "a wider band made it right: {}", steps(wider));
        let tighter = |case: Case| {
            case.patched(0, "stops = { low = \"-170 deg\", high = \"170 deg\" }", "stops = { low = \"-170 deg\", high = \"168 deg\" }")
        };
        let near = judged(&tighter(Case::steps(&steps(band)))).map(|(_, _, fine)| fine);
        assert!(near != Some(true) || narrow == Some(true), "a nearer stop made it right: {}", steps(band));
        if narrow == wide { same += 1 } else { changed += 1 }
    }
    assert!(changed > 20 && same > 20, "both happen: {changed}, {same}");
}
