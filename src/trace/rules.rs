//! The rules over states, by family, and the run that applies them.
//!
//! Invariant: every rule looks at each state a step can start in; a fault seen from several states is one
//! finding, with the first way that leads to it. Rules look at effects, never at the kinds of steps.

/// Steps that bring the open jaw down around the cup of the example cell.
macro_rules! at_cup {
    () => {
        "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 90 mm`\n6. `shoulder lower to -10 deg`\n"
    };
}

/// Steps that take the cup off its cradle.
macro_rules! take_cup {
    () => {
        concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n9. `lift cup clear of cradle: shoulder raise to +20 deg`\n")
    };
}

/// The standard front matter of examples with places of loads and the opening of the jaw, up to the first section.
macro_rules! start {
    ($loads:literal) => {
        start!("\"50 mm\"", $loads)
    };
    ($jaw:literal, $loads:literal) => {
        concat!("+++\nid = \"T-1\"\ntitle = \"Move a test piece\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\nperformer = \"Operator\"\narm = \"arm.toml\"\ncell = \"cell.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = ", $jaw, "\npower = \"off\"\nloads = ", $loads, "\n+++\n\n# Work\n\n")
    };
}

mod age;
mod console;
mod continuity;
mod direction;
pub(super) mod flow;
mod grip;
mod power;
mod start;
mod transfer;
mod travel;

use super::doubt::{Doubts, Part, Root, set_anew};
use super::state::{PathId, State};
use super::{RowId, Trace, Visit};
use crate::diag::{Diagnostic, Rule, Severity, count, gather};
use crate::model::procedure::{Drive, Effect, Procedure, Step};
use crate::text::Span;
use std::collections::{BTreeMap, HashMap, HashSet};

const FAMILIES: &[&[&Rule]] = &[
    travel::RULES,
    direction::RULES,
    continuity::RULES,
    start::RULES,
    console::RULES,
    grip::RULES,
    transfer::RULES,
    power::RULES,
    flow::RULES,
    age::RULES,
];

/// Every rule of this floor.
pub static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);

/// One state at one effect of one step.
#[derive(Clone, Copy)]
struct Moment<'a> {
    p: &'a Procedure,
    step: &'a Step,
    before: &'a State,
}

/// Collects findings: one for each rule and place, however many states show it, and none that follows from another.
struct Sink<'a> {
    trace: &'a Trace,
    root: &'a Procedure,
    row: Option<RowId>,
    way: PathId,
    /// The visit and the state that are looked at, by their places in the trace.
    visit: u32,
    entry: u32,
    /// What the first effect of the step has set when the second one is looked at.
    set: Vec<Part>,
    doubts: Doubts<'a>,
    /// What this visit puts in doubt for those that follow.
    doubted: Vec<(u32, Part, Root)>,
    findings: Vec<Option<Diagnostic>>,
    seen: HashMap<(&'static str, Span), (usize, u32)>,
    /// What is not told, because it follows from a finding.
    folded: BTreeMap<(&'static str, Span), Root>,
}

impl Sink<'_> {
    /// Makes a finding, unless this rule has already spoken at this place.
    fn put(&mut self, rule: &'static Rule, span: Span, make: impl FnOnce() -> Diagnostic) {
        self.rest(rule, span, &[], &[], make);
    }
    /// Makes a finding that rests on parts of the state, and puts in doubt them and what the step makes of `spoilt`.
    ///
    /// Where an error has put all that it rests on in doubt already, it follows from that one and is counted there.
    fn rest(&mut self, rule: &'static Rule, span: Span, on: &[Part], spoilt: &[Part], make: impl FnOnce() -> Diagnostic) {
        let roots: Option<Vec<Root>> = on.iter().map(|part| self.doubt(*part)).collect();
        let root = roots.and_then(|r| r.first().copied());
        let Some(told) = self.tell(rule, span, root, make) else { return };
        for part in on {
            match self.set.contains(part) {
                true => self.doubts.leave(self.visit, self.entry, *part, told),
                // Two findings of one step do not follow from each other.
                false => self.doubted.push((self.entry, *part, told)),
            }
        }
        for part in spoilt {
            self.doubts.leave(self.visit, self.entry, *part, told);
        }
    }
    /// Makes a finding on what the step makes of a part, whatever it was before. Of two on one target the first is told.
    fn spoil(&mut self, rule: &'static Rule, span: Span, part: Part, make: impl FnOnce() -> Diagnostic) {
        let root = self.doubts.left(self.visit, self.entry, part);
        if let Some(told) = self.tell(rule, span, root, make) {
            self.doubts.leave(self.visit, self.entry, part, told);
        }
    }
    /// Whether what the step makes of a part is in doubt.
    fn is_spoilt(&self, part: Part) -> bool {
        self.doubts.left(self.visit, self.entry, part).is_some()
    }
    /// What has put a part in doubt here.
    fn doubt(&self, part: Part) -> Option<Root> {
        match self.set.contains(&part) {
            true => self.doubts.left(self.visit, self.entry, part),
            false => self.doubts.of(self.entry, part),
        }
    }
    /// Makes a finding or counts it with its root. Returns it if others may follow from it: it is an error that no policy
    /// softens and no waiver lifts, so nothing can be approved while it hides others.
    fn tell(&mut self, rule: &'static Rule, span: Span, root: Option<Root>, make: impl FnOnce() -> Diagnostic) -> Option<Root> {
        let id = match self.seen.get_mut(&(rule.id, span)) {
            Some((id, others)) => {
                *others += 1;
                *id
            }
            None if root.is_some() => {
                self.folded.extend(root.map(|root| ((rule.id, span), root)));
                return None;
            }
            None => {
                let mut finding = make();
                if let Some(row) = self.row {
                    finding = finding.step(self.trace.number(self.root, row));
                }
                finding = finding.path(self.trace.path(self.root, self.way));
                self.findings.push(Some(finding));
                self.seen.insert((rule.id, span), (self.findings.len() - 1, 0));
                self.findings.len() - 1
            }
        };
        let stands = id != HUSHED && rule.severity == Severity::Error && rule.is_fixed();
        (root.is_none() && stands).then_some(id)
    }
    /// Keeps a rule silent at a place where another one has said what is wrong.
    fn hush(&mut self, rule: &'static Rule, span: Span) {
        self.seen.entry((rule.id, span)).or_insert((HUSHED, 0));
    }
    /// Takes back what a rule has said at a place and keeps it silent there, where another one has more to say.
    fn drop(&mut self, rule: &'static Rule, span: Span) {
        if let Some((at, _)) = self.seen.insert((rule.id, span), (HUSHED, 0))
            && let Some(finding) = self.findings.get_mut(at)
        {
            *finding = None;
        }
    }
    fn finish(mut self) -> Vec<Diagnostic> {
        for (at, others) in self.seen.values().copied().collect::<BTreeMap<_, _>>() {
            if let (true, Some(Some(path))) = (others > 0, self.findings.get_mut(at).map(|f| f.as_mut().and_then(|f| f.path.as_mut()))) {
                path.push_str(&format!(" (and {others} other{})", if others == 1 { "" } else { "s" }));
            }
        }
        let mut hidden: BTreeMap<Root, usize> = BTreeMap::new();
        for root in self.folded.iter().filter(|(place, _)| !self.seen.contains_key(place)).map(|(_, root)| *root) {
            *hidden.entry(root).or_default() += 1;
        }
        for (root, n) in hidden {
            if let Some(Some(finding)) = self.findings.get_mut(root) {
                finding.fold(n);
            }
        }
        self.findings.into_iter().flatten().collect()
    }
}

/// The place of a finding that is kept silent.
const HUSHED: usize = usize::MAX;

/// Applies every rule of this floor to a traced procedure.
pub fn check(p: &Procedure, trace: &Trace) -> Vec<Diagnostic> {
    let mut sound = HashSet::new();
    loop {
        let (findings, late) = run(p, trace, &sound);
        if late.is_empty() {
            return findings;
        }
        // A sound way into a contingency was only met after its steps were judged.
        sound.extend(late);
    }
}

fn run(p: &Procedure, trace: &Trace, sound: &HashSet<(u32, Part)>) -> (Vec<Diagnostic>, Vec<(u32, Part)>) {
    let mut sink = Sink {
        trace,
        root: p,
        row: None,
        way: PathId(0),
        visit: 0,
        entry: 0,
        set: Vec::new(),
        doubts: Doubts::new(trace, p, sound),
        doubted: Vec::new(),
        findings: trace.problems.iter().cloned().map(Some).collect(),
        seen: HashMap::new(),
        folded: BTreeMap::new(),
    };
    travel::start(p, trace, &mut sink);
    start::check(p, trace, &mut sink);
    age::check(p, &mut sink);
    for (i, visit) in (0u32..).zip(&trace.visits) {
        sink.doubts.follow(visit.before.end);
        sink.visit = i;
        visited(p, trace, visit, &mut sink);
        for (entry, part, root) in std::mem::take(&mut sink.doubted) {
            sink.doubts.doubt(entry, part, root);
        }
    }
    sink.doubts.follow_all();
    for visit in &trace.visits {
        continuity::returned(p, trace, visit, &mut sink);
    }
    travel::spare_taps(p, trace, &mut sink);
    sink.row = None;
    continuity::end(p, trace, &mut sink);
    for end in &trace.ends {
        flow::ends(p, trace, end, &mut sink);
    }
    let late = std::mem::take(&mut sink.doubts.late);
    (sink.finish(), late)
}

fn visited(root: &Procedure, trace: &Trace, visit: &Visit, sink: &mut Sink<'_>) {
    let row = &trace.rows[visit.row as usize];
    let p = trace.procedure_of(root, row.frame);
    let step = p.step(row.step);
    sink.row = Some(RowId(visit.row));
    if let Some(callee) = row.callee {
        continuity::start(trace, root, callee, step, visit.before, sink);
    }
    let mut effects = step.effects().into_iter();
    let (Some(first), false) = (effects.next(), step.broken) else { return };
    let second = effects.next();
    let entries = trace.entries(visit.before);
    if entries.len() > 1 {
        continuity::shared_start(p, &first, second.as_ref(), entries, sink);
    }
    let origin = trace.frame(row.frame).procedure;
    for (at, entry) in (visit.before.start..).zip(entries) {
        (sink.way, sink.entry) = (entry.path, at);
        judge(&Moment { p, step, before: &entry.state }, &first, sink);
        if let Some(second) = &second {
            let (mut state, mut elapsed) = (entry.state.clone(), entry.elapsed);
            super::transfer::apply(p, origin, step, &first, &mut state, &mut elapsed);
            sink.set = set_anew(&first);
            judge(&Moment { p, step, before: &state }, second, sink);
            sink.set.clear();
        }
    }
    sink.way = PathId(0);
}

/// The rules that speak of an effect.
fn judge(m: &Moment<'_>, effect: &Effect<'_>, sink: &mut Sink<'_>) {
    match effect {
        Effect::Drive(drive) => {
            power::needs_power(m, drive.joint.span, sink);
            motion(m, drive, sink);
            continuity::settled(m, drive.joint.span, sink);
            transfer::moves(m, drive, sink);
        }
        Effect::DriveTwo(two) => {
            power::needs_power(m, two.drives[0].joint.span, sink);
            two.drives.iter().for_each(|d| motion(m, d, sink));
            console::together(m, two, sink);
            continuity::settled(m, two.drives[0].joint.span, sink);
            transfer::moves(m, &two.drives[0], sink);
        }
        Effect::Jaw { open, to } => {
            power::needs_power(m, m.step.head, sink);
            grip::opens(m, *open, *to, sink);
        }
        Effect::Level(level) => grip::level(m, *level, sink),
        Effect::Grip(load) => {
            power::needs_power(m, load.span, sink);
            grip::closes(m, *load, sink);
            transfer::closes(m, *load, sink);
        }
        Effect::Leave(load, station) => transfer::leaves(m, *load, *station, sink),
        Effect::Rest(load, station) => transfer::rests(m, *load, *station, sink),
        Effect::LetGo(load, station, to) => {
            power::needs_power(m, load.span, sink);
            grip::lets_go(m, *load, *to, sink);
            transfer::lets_go(m, *load, *station, sink);
        }
        Effect::Power(on) => power::switches(m, *on, sink),
        Effect::ChangeCrew => power::turnover(m, sink),
        Effect::Tool(tool, on) => grip::tool(m, *tool, *on, sink),
        Effect::ExpectPose(pose) => continuity::pose(m, *pose, sink),
        Effect::ExpectAt(station) => continuity::station(m, *station, sink),
        // Observations and the scene narrow nothing and forbid nothing by themselves.
        Effect::Settle
        | Effect::Observe
        | Effect::Clear(_)
        | Effect::Invite(_)
        | Effect::Verify(_)
        | Effect::Look(_)
        | Effect::Pass { .. }
        | Effect::Scene(..) => {}
    }
}

fn motion(m: &Moment<'_>, drive: &Drive, sink: &mut Sink<'_>) {
    direction::drive(m, drive, sink);
    continuity::drive(m, drive, sink);
    travel::drive(m, drive, sink);
    console::drive(m, drive, sink);
}
