//! What was checked and what was not, counted from what ran.

use crate::compiled::{Check, Gap};
use crate::model::procedure::{Effect, Procedure};
use crate::model::{Standing, StationId};
use crate::trace::{Margin, Trace};

/// How often the rules looked at something.
#[derive(Default)]
struct Tally {
    steps: u64,
    states: u64,
    limits: u64,
    directions: u64,
    pairs: u64,
    forces: u64,
    openings: u64,
    transfers: u64,
    places: u64,
    power: u64,
    /// Stations that are used and have no pose.
    without_pose: Vec<StationId>,
}

/// What was checked, and what was not.
pub(super) fn of(p: &Procedure, trace: &Trace) -> (Vec<Check>, Vec<Gap>) {
    let tally = count(p, trace);
    (checks(p, &tally), gaps(p, trace, &tally))
}

fn count(root: &Procedure, trace: &Trace) -> Tally {
    let mut t = Tally::default();
    for (frame, _) in trace.frames() {
        let p = trace.procedure_of(root, frame);
        for row in trace.rows_of(frame) {
            let states = trace.before(row).count() as u64;
            if states == 0 {
                continue;
            }
            t.steps += 1;
            t.states += states;
            for m in trace.margins(row) {
                match m.margin {
                    Margin::ToLow(_) => t.limits += 1,
                    Margin::Direction(_) => t.directions += 1,
                    Margin::Holds(..) => t.forces += 1,
                    Margin::Opening(_) => t.openings += 1,
                    Margin::ToHigh(_) | Margin::Crush(..) | Margin::Taps(_) => {}
                }
            }
            for effect in p.step(trace.step_of(row).1).effects() {
                tally(&mut t, p, &effect, states);
            }
        }
    }
    t
}

fn tally(t: &mut Tally, p: &Procedure, effect: &Effect<'_>, states: u64) {
    match effect {
        Effect::DriveTwo(_) => t.pairs += states,
        Effect::Power(_) => t.power += states,
        Effect::Grip(_) => t.transfers += states,
        Effect::Leave(_, station) | Effect::Rest(_, station) | Effect::LetGo(_, station, _) => {
            t.transfers += states;
            t.at(p, station.value, states);
        }
        Effect::ExpectAt(station) => t.at(p, station.value, states),
        _ => {}
    }
}

impl Tally {
    fn at(&mut self, p: &Procedure, station: StationId, states: u64) {
        if p.cell.stations[station.at()].pose.is_some() {
            self.places += states;
        } else if !self.without_pose.contains(&station) {
            self.without_pose.push(station);
        }
    }
}

fn checks(p: &Procedure, t: &Tally) -> Vec<Check> {
    let all = [
        ("travel", t.limits, "Each move stays inside the joint's soft limits or allowed turns, stopping band and hold tolerance included."),
        ("direction", t.directions, "Each printed direction agrees with the change of angle from every state the step can start in."),
        (
            "continuity",
            t.states,
            "Each step starts where the steps before it end, through branches, repeats, performed sections and contingencies.",
        ),
        ("console", t.limits, "Each joint that moves is driven by a stick of the console."),
        ("two-axis", t.pairs, "Joints that move together are on different sticks and are allowed to; their gates lie on the way."),
        (
            "grip",
            t.forces,
            "The grip level holds the load's greatest mass with the site's factor, and does not exceed what the load bears.",
        ),
        ("opening", t.openings, "The jaw is open wide enough before it closes on a load."),
        (
            "transfer",
            t.transfers,
            "Loads are gripped, lifted, carried, set down and let go of in that order, on stations that take and bear them.",
        ),
        ("station", t.places, "The arm is in the station's pose, within its band, where a load is set down or let go of."),
        ("power", t.power, "Nothing moves with console power off, or before the read-outs were compared after it."),
        (
            "writing",
            t.steps,
            "Holds, witnesses, second persons, alerts, labelled lines and references are as notation and policy want them.",
        ),
    ];
    let mut out: Vec<Check> =
        all.into_iter().filter(|(_, n, _)| *n > 0).map(|(id, count, text)| Check { id: id.into(), text: text.into(), count }).collect();
    if p.policy.model_age.is_some() {
        let text = "Arm and cell data are no older than the policy accepts.";
        out.push(Check { id: "age".into(), text: text.into(), count: 1 });
    }
    out
}

fn gaps(p: &Procedure, trace: &Trace, t: &Tally) -> Vec<Gap> {
    let mut out = Vec::new();
    let mut gap = |id: &str, text: String| out.push(Gap { id: id.into(), text });
    gap("clearance", "Clearance of arm, tool and load to the cell, to zones and to the arm itself.".into());
    gap("load", "Static load of the joints, and the pressure their actuators need.".into());
    gap("sight", "Whether the view that is named shows what is to be seen.".into());
    gap("drift", "Drift of joints over the time that steps and waits take.".into());
    if p.cell.loads.iter().any(|l| l.tilt.is_some() || l.drop_height.is_some()) {
        gap("tilt", "Tilt of loads from plumb and their height above what is below.".into());
    }
    if trace.has_taps(p) {
        gap("taps", "Whether contact by taps comes inside the band that is written.".into());
    }
    if !t.without_pose.is_empty() {
        let names: Vec<&str> = t.without_pose.iter().map(|s| p.cell.stations[s.at()].name.value.as_str()).collect();
        gap("station-without-pose", format!("Whether the jaw is at its station, for stations without a pose: {}.", names.join(", ")));
    }
    if p.front.cell.is_none() {
        gap("cell", "Anything about the cell: the procedure names none.".into());
    }
    out
}

/// Why a procedure without errors may still not be issued.
pub(super) fn not_issuable(p: &Procedure, trace: &Trace) -> Vec<String> {
    let mut out = Vec::new();
    let cell = p.front.cell.as_ref().map(|_| ("the cell", p.cell.standing));
    for (what, standing) in [Some(("the arm profile", p.arm.standing)), cell].into_iter().flatten() {
        match standing {
            Standing::Accepted => {}
            Standing::Unaccepted => out.push(format!("{what} has no record of acceptance")),
            Standing::Invented => out.push(format!("{what} is invented data")),
        }
    }
    if trace.has_taps(p) {
        out.push("it approaches by taps, and where contact comes was not checked".to_string());
    }
    out
}
