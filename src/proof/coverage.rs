//! What was checked and what was not, counted from what ran.

use crate::compiled::{Check, Gap, Saying};
use crate::model::procedure::{Effect, Goal, Procedure};
use crate::model::{LoadId, Standing, StationId, ViewId};
use crate::space::Survey;
use crate::space::burden::{Effort, Unweighed};
use crate::space::scene::Lack;
use crate::space::sight::Sighted;
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
    sweeps: u64,
    zones: u64,
    sights: u64,
    strains: u64,
    squeezes: u64,
    stands: u64,
    carries: u64,
    meets: u64,
    stops: u64,
    /// Stations that are used and have no pose.
    without_pose: Vec<StationId>,
    /// Stations that are used and have no tolerance.
    without_tolerance: Vec<StationId>,
}

/// What was checked, and what was not.
pub(super) fn of(p: &Procedure, trace: &Trace, survey: &Survey) -> (Vec<Check>, Vec<Gap>) {
    let mut tally = count(p, trace);
    tally.sweeps = survey.stretches.len() as u64;
    tally.zones = survey.scene.as_ref().map_or(0, |scene| if scene.zones.is_some() { tally.sweeps } else { 0 });
    for stretch in &survey.stretches {
        tally.stops += u64::from(stretch.stop.on);
        tally.sights += u64::from(matches!(stretch.sight, Sighted::Through(..)));
        if let Some(burden) = &stretch.burden {
            tally.strains += burden.strains.iter().filter(|s| s.effort != Effort::Unknown).count() as u64;
            tally.squeezes += u64::from(burden.squeeze.is_some());
        }
    }
    // Where nothing is said that could be exceeded, nothing was checked.
    let told = |row| &trace.procedure_of(p, trace.step_of(row).0).cell;
    let within = |row, station: StationId| told(row).stations[station.at()].tolerance.is_some();
    tally.stands = survey.reach.stands.iter().filter(|s| within(s.row, s.station)).count() as u64;
    for stand in survey.reach.stands.iter().filter(|s| !within(s.row, s.station)) {
        if !tally.without_tolerance.contains(&stand.station) {
            tally.without_tolerance.push(stand.station);
        }
    }
    let limited = |row, load: LoadId| {
        let load = &told(row).loads[load.at()];
        load.tilt.is_some() || load.drop_height.is_some()
    };
    tally.carries = survey.reach.carries.iter().filter(|c| c.tilt.is_some() && limited(c.row, c.load)).count() as u64;
    tally.meets = survey.reach.meets.len() as u64;
    (checks(p, &tally), gaps(p, trace, survey, &tally))
}

/// The same as it is printed, with what is told beside the steps: where that could not be worked out, nothing of it is listed as
/// checked.
pub(super) fn listed(p: &Procedure, trace: &Trace, survey: &Survey, (covered, gaps): (&[Check], &[Gap])) -> (Vec<Check>, Vec<Gap>) {
    let (mut covered, mut gaps) = (covered.to_vec(), gaps.to_vec());
    if let Err(why) = survey.told(p, trace) {
        covered.retain(|c| c.id != "stops");
        let text = format!("Stops part-way, loss of power, what lies beyond a target, the order of moves: {why}.");
        gaps.push(Gap { id: "told".into(), text, says: None, names: Vec::new() });
    }
    (covered, gaps)
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
    // For the first page: each fits one line of half a page.
    let all = [
        ("travel", t.limits, "Travel inside soft limits, bands included."),
        ("direction", t.directions, "Direction words agree with the change of angle."),
        ("continuity", t.states, "Each step starts where those before it end."),
        ("console", t.limits, "Each joint that moves has its stick."),
        ("two-axis", t.pairs, "Joints moved together: sticks, permission, gates."),
        ("grip", t.forces, "Grip level holds and does not crush the load."),
        ("opening", t.openings, "The jaw is open wide enough to take the load."),
        ("transfer", t.transfers, "Grip, lift, carry, set down, let go: in order."),
        ("station", t.places, "Arm in the station's pose at set-down and let-go."),
        ("power", t.power, "No move without power or compared read-outs."),
        ("clearance", t.sweeps, "Clearance over the whole way, bands included."),
        ("slow-zone", t.zones, "Moves in zones to be crossed slowly are slow."),
        ("sight", t.sights, "The view in force shows the tool point all the way."),
        ("load", t.strains, "Static load of joints; actuator pressure."),
        ("grip-motion", t.squeezes, "The grip holds as the load is tilted and moved."),
        ("reach", t.stands, "Jaw at its stations in space, room for the pads."),
        ("carry", t.carries, "Tilt of held loads, height above what is below."),
        ("taps", t.meets, "Contact by taps comes inside its band."),
        ("stops", t.stops, "Stops part-way: going on, and back as printed."),
        ("writing", t.steps, "Holds, alerts, persons, references: by policy."),
    ];
    let mut out: Vec<Check> =
        all.into_iter().filter(|(_, n, _)| *n > 0).map(|(id, count, text)| Check { id: id.into(), text: text.into(), count }).collect();
    if p.policy.model_age.is_some() {
        let text = "Age of arm and cell data, by policy.";
        out.push(Check { id: "age".into(), text: text.into(), count: 1 });
    }
    out
}

/// What was not checked, as it comes together.
#[derive(Default)]
struct Open(Vec<Gap>);

impl Open {
    fn gap(&mut self, id: &str, text: &str) {
        self.0.push(Gap { id: id.into(), text: text.into(), says: None, names: Vec::new() });
    }

    /// The same with a sentence of its own, and names behind it.
    fn said(&mut self, id: &str, says: &str, text: String, names: Vec<Saying>) {
        let says = (says != id).then(|| says.to_owned());
        self.0.push(Gap { id: id.into(), text, says, names });
    }

    fn named(&mut self, id: &str, says: &str, what: &str, names: Vec<String>) {
        let text = format!("{what}: {}.", names.join(", "));
        self.said(id, says, text, names.into_iter().map(Saying::from).collect());
    }
}

fn gaps(p: &Procedure, trace: &Trace, survey: &Survey, t: &Tally) -> Vec<Gap> {
    const ERRORS: &str = "looked at once the errors are mended";
    let mut open = Open::default();
    match survey.lack() {
        None => {}
        Some(Lack::Cell | Lack::Models(_) | Lack::Broken(_)) => open.gap("clearance", "Clearance to cell, zones and the arm itself."),
        Some(Lack::Errors) => open.said("clearance", "clearance-errors", format!("Clearance: {ERRORS}."), Vec::new()),
    }
    if let Some(lack) = survey.lack() {
        for (id, what) in [
            ("stops", "Whether a move that is stopped part-way may go on or back"),
            ("load", "Static load of joints; actuator pressure"),
            ("sight", "Whether the named view shows what is to be seen"),
        ] {
            match lack {
                Lack::Errors => open.said(id, &format!("{id}-errors"), format!("{what}: {ERRORS}."), Vec::new()),
                _ => open.gap(id, &format!("{what}.")),
            }
        }
    } else {
        if !survey.unweighed.is_empty() {
            let what = "Load of joints, pressure and grip in motion, as far as these are not known";
            let list = survey.unweighed.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
            open.said("load", "unweighed", format!("{what}: {list}."), survey.unweighed.iter().map(unweighed).collect());
        }
        unseen(p, trace, survey, &mut open);
    }
    open.gap("drift", "Drift of joints over the time of steps and waits.");
    let limited = p.cell.loads.iter().any(|l| l.tilt.is_some() || l.drop_height.is_some());
    if limited && (survey.lack().is_some() || !survey.reach.blind.is_empty()) {
        open.gap("tilt", "Tilt of loads, and height above what is below.");
    }
    if p.start.as_ref().is_some_and(|s| s.loads.iter().any(|(_, at)| at.value.is_none())) {
        open.gap("held-at-start", "The grip and the tilt of a load that is held from the start.");
    }
    if trace.has_taps(p) && !meets_are_known(p, trace, survey) {
        open.gap("taps", "Whether contact by taps comes inside its band.");
    }
    let stations = |list: &[StationId]| list.iter().map(|s| p.cell.stations[s.at()].name.value.clone()).collect::<Vec<_>>();
    for (id, what, list) in [
        ("station-without-pose", "Whether the jaw is at its station, for stations without a pose", &t.without_pose),
        ("station-without-tolerance", "How far the jaw is off its station, for stations without a tolerance", &t.without_tolerance),
    ] {
        if !list.is_empty() {
            open.named(id, id, what, stations(list));
        }
    }
    if !survey.reach.blind.is_empty() {
        open.gap("reach", "Jaw at its stations in space: some numbers are too large to work with.");
    }
    if p.front.cell.is_none() {
        open.gap("cell", "Anything about the cell: the procedure names none.");
    }
    open.0
}

/// The same as a name on the first page.
fn unweighed(what: &Unweighed) -> Saying {
    match what {
        Unweighed::Closing => Saying::phrase("lack.closing", []),
        Unweighed::Ramp => Saying::phrase("lack.ramp", []),
        Unweighed::Centre(thing) => Saying::phrase("lack.centre", [("thing", thing.as_str().into())]),
        Unweighed::Mass(thing) => Saying::phrase("lack.mass", [("thing", thing.as_str().into())]),
        Unweighed::Supply => Saying::phrase("lack.supply", []),
        Unweighed::Drive(joint) => Saying::phrase("lack.drives", [("joint", joint.as_str().into())]),
    }
}

/// What of the moves no view was looked through for.
fn unseen(p: &Procedure, trace: &Trace, survey: &Survey, open: &mut Open) {
    let (mut blind, mut placeless, mut edgeless) = (Vec::new(), Vec::new(), Vec::new());
    let title = |view: &ViewId| p.cell.views[view.at()].title.clone();
    for stretch in &survey.stretches {
        match &stretch.sight {
            Sighted::NoView => put(&mut blind, trace.number(p, stretch.row).to_string()),
            Sighted::NoPlace(view) => put(&mut placeless, title(view)),
            Sighted::Through(look, _) if !look.edge => put(&mut edgeless, title(&look.view)),
            Sighted::Through(..) => {}
        }
    }
    for (says, what, list) in [
        ("blind", "What is seen at steps without a view", blind),
        ("placeless", "What is seen in views without a place", placeless),
        ("edgeless", "Whether it is inside the picture of", edgeless),
    ] {
        if !list.is_empty() {
            open.named("sight", says, what, list);
        }
    }
}

fn put(list: &mut Vec<String>, name: String) {
    if !list.contains(&name) {
        list.push(name);
    }
}

/// Why a procedure without errors may still not be issued: ids of sentences.
pub(super) fn not_issuable(p: &Procedure, trace: &Trace, survey: &Survey) -> Vec<String> {
    let mut out = Vec::new();
    let cell = p.front.cell.as_ref().map(|_| ("cell", p.cell.standing, false));
    for (what, standing, recorded) in [Some(("arm", p.arm.standing, p.arm.acceptance.is_some())), cell].into_iter().flatten() {
        match standing {
            Standing::Accepted => {}
            Standing::Unaccepted if recorded => out.push(format!("{what}-lapsed")),
            Standing::Unaccepted => out.push(format!("{what}-unaccepted")),
            Standing::Invented => out.push(format!("{what}-invented")),
        }
    }
    if trace.has_taps(p) && !meets_are_known(p, trace, survey) {
        out.push("taps".to_owned());
    }
    out
}

/// Whether it was worked out for every approach by taps, from every state, where contact comes. Whether that is in the written
/// band is a finding.
fn meets_are_known(p: &Procedure, trace: &Trace, survey: &Survey) -> bool {
    let taps = |row| {
        let (frame, step) = trace.step_of(row);
        trace
            .procedure_of(p, frame)
            .step(step)
            .effects()
            .into_iter()
            .any(|e| matches!(e, Effect::Drive(d) if matches!(d.goal, Goal::Taps { .. })))
    };
    let rows = trace.frames().flat_map(|(frame, _)| trace.rows_of(frame)).filter(|row| taps(*row));
    survey.lack().is_none()
        && rows.into_iter().all(|row| {
            let met = survey.reach.meets.iter().filter(|m| m.row == row).count();
            met == trace.before(row).count() && !survey.reach.blind.contains(&row)
        })
}
