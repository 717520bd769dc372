//! Reading a cell file.

use super::keys::*;
use super::rules::*;
use super::*;
use crate::diag::Diagnostic;
use crate::model::complete;
use crate::model::keys::{Side, key};
use crate::model::names::{self, For};
use crate::model::read::{self, Read};
use crate::syntax::record::{BAD_QUANTITY, Field, Record};
use crate::units::{Quantity, UNITS};

/// Reads a cell file. Every problem is reported; there is a cell only if all of the file could be read.
pub fn load(file: FileId, text: &str) -> (Option<Cell>, Vec<Diagnostic>) {
    read::whole(file, text, "the cell", build)
}

fn build(r: &Record<'_>) -> Option<Cell> {
    let name = r.name(key!(CELL, "name"));
    let title = r.words(key!(CELL, "title"));
    let revision = r.words(key!(CELL, "revision"));
    let surveyed = r.date(key!(CELL, "surveyed"));
    let invented = r.flag(key!(CELL, "invented"));
    let origin = r.origin(key!(CELL, "origin"));
    let mount = r.get(key!(CELL, "mount")).table(mount).flatten();
    let margin = r.quantity(key!(CELL, "margin"));
    let contact_travel = r.quantity(key!(CELL, "contact-travel"));
    let monitors = r.get(key!(CELL, "monitors"));
    let monitors_at = monitors.span();
    let monitors = monitors.names();
    let places = r.get(key!(CELL, "places")).names();
    let interlock = r.words(key!(CELL, "interlock"));
    let equipment = r.rows(key!(CELL, "equipment"), equipment);
    let obstacles = r.rows(key!(CELL, "obstacle"), |r| obstacle(r, &equipment));
    let stations = r.rows(key!(CELL, "station"), |r| station(r, &obstacles));
    let loads = r.rows(key!(CELL, "load"), load_record);
    let views = r.rows(key!(CELL, "view"), |r| view(r, &obstacles));
    let instruments = r.rows(key!(CELL, "instrument"), instrument);
    if !obstacles.is_empty() {
        _ = r.key(key!(CELL, "mount").name).needed();
        _ = r.key(key!(CELL, "margin").name).needed();
    }
    let accepted = r.get(key!(CELL, "acceptance")).table(|r| acceptance(r, invented, surveyed.as_ref())).is_some();

    name.iter().for_each(|n| names::check(r, For::Thing("cell"), n));
    names::check_all(r, For::Thing("monitor"), &monitors);
    names::check_all(r, For::Thing("place"), &places);
    names::check_all(r, For::Station, stations.iter().flatten().map(|s| &s.name));
    names::check_all(r, For::Thing("load"), loads.iter().flatten().map(|l| &l.name));
    names::check_all(r, For::Thing("view"), views.iter().flatten().map(|v| &v.name));
    names::check_all(r, For::Thing("instrument"), instruments.iter().flatten().map(|i| &i.name));
    names::check_all(r, For::Thing("piece of equipment"), equipment.iter().flatten().map(|e| &e.name));
    check_places(r, &stations, &loads);
    if let Some(camera) = views.iter().flatten().find(|v| v.camera)
        && monitors.is_empty()
    {
        let message = format!("{} is a camera, but the cell has no monitors", camera.title);
        r.report(
            CAMERA_WITHOUT_MONITOR
                .at(monitors_at.unwrap_or(camera.name.span), message)
                .help("add `monitors = [\"...\"]` above the first `[[...]]` of the cell"),
        );
    }
    let standing = match (invented, accepted) {
        (true, _) => Standing::Invented,
        (false, true) => Standing::Accepted,
        (false, false) => Standing::Unaccepted,
    };
    let cell = Cell {
        file: r.file(),
        name: name?,
        title: title?.value,
        revision: revision?,
        surveyed: surveyed?,
        standing,
        origin: origin?,
        mount,
        margin,
        contact_travel,
        stations: stations.into_iter().collect::<Option<_>>()?,
        loads: loads.into_iter().collect::<Option<_>>()?,
        views: views.into_iter().collect::<Option<_>>()?,
        monitors,
        instruments: instruments.into_iter().collect::<Option<_>>()?,
        places,
        equipment: equipment.into_iter().collect::<Option<_>>()?,
        obstacles: obstacles.into_iter().collect::<Option<_>>()?,
        interlock: interlock?.value,
    };
    complete::cell(&cell).into_iter().for_each(|gap| r.report(gap));
    Some(cell)
}

fn acceptance(r: &Record<'_>, invented: bool, surveyed: Option<&Spanned<String>>) {
    r.words(key!(ACCEPTANCE, "by"));
    let date = r.date(key!(ACCEPTANCE, "date"));
    if invented {
        r.report(
            UNFIT_ACCEPTANCE.at(r.span(), "the file says `invented = true` and carries an acceptance record").help("remove one of the two"),
        );
    } else if let (Some(date), Some(surveyed)) = (date, surveyed)
        && date.value < surveyed.value
    {
        let message = format!("accepted on {}, but surveyed on {}", date.value, surveyed.value);
        r.report(UNFIT_ACCEPTANCE.at(date.span, message).label(surveyed.span, "the survey"));
    }
}

fn mount(r: &Record<'_>) -> Option<Mount> {
    let (position, heading) = (r.point(key!(MOUNT, "position")), r.quantity::<Angle>(key!(MOUNT, "heading")));
    Some(Mount { position: position?, heading: heading?.value })
}

fn station(r: &Record<'_>, obstacles: &[Option<Obstacle>]) -> Option<Station> {
    let name = r.name(key!(STATION, "name"));
    let title = r.words(key!(STATION, "title"));
    let pose = r.name(key!(STATION, "pose"));
    let takes = r.get(key!(STATION, "takes")).names();
    let supports = r.flag(key!(STATION, "supports"));
    let approach = r.lines(key!(STATION, "approach")).into_iter().flat_map(|line| pairs(r, &line)).collect();
    let measured = r.date(key!(STATION, "measured"));
    let (position, heading) = (r.point(key!(STATION, "position")), r.quantity(key!(STATION, "heading")));
    let (tolerance, tolerance_turn) = (r.quantity(key!(STATION, "tolerance")), r.quantity(key!(STATION, "tolerance-turn")));
    let position_within = r.quantity(key!(STATION, "position-within"));
    let approach_within = r.quantity(key!(STATION, "approach-within"));
    let support = named(r, r.lines(key!(STATION, "support")), obstacles);
    Some(Station {
        name: name?,
        title: title?.value,
        span: r.span(),
        pose,
        takes,
        supports,
        approach,
        position,
        heading,
        position_within,
        tolerance,
        tolerance_turn,
        approach_within,
        support: support?,
        measured,
    })
}

fn load_record(r: &Record<'_>) -> Option<Load> {
    let name = r.name(key!(LOAD, "name"));
    let title = r.words(key!(LOAD, "title"));
    let mass = r.quantity::<Mass>(key!(LOAD, "mass"));
    let mass_at_most = r.quantity::<Mass>(key!(LOAD, "mass-at-most"));
    if let (Some(mass), Some(most)) = (mass, mass_at_most)
        && most.value < mass.value
    {
        let message = format!("the mass is {}, but at most {} is stated", mass.value, most.value);
        r.report(MASS_BOUND_BELOW_MASS.at(most.span, message).label(mass.span, "the mass"));
    }
    let grip_width = r.quantity(key!(LOAD, "grip-width"));
    let grip_clearance = r.quantity(key!(LOAD, "grip-clearance"));
    let friction = r.friction(key!(LOAD, "friction"));
    let crush = r.quantity(key!(LOAD, "crush"));
    let tilt = r.quantity(key!(LOAD, "tilt"));
    let drop_height = r.quantity(key!(LOAD, "drop-height"));
    let critical = r.flag(key!(LOAD, "critical"));
    let shapes = r.shapes(key!(LOAD, "shape"));
    let (centre, centre_within) = (r.point(key!(LOAD, "centre")), r.quantity(key!(LOAD, "centre-within")));
    let seating = r.quantity(key!(LOAD, "seating"));
    let rests_at = r.name(key!(LOAD, "rests-at"));
    Some(Load {
        name: name?,
        title: title?.value,
        span: r.span(),
        mass: mass?,
        mass_at_most: mass_at_most?,
        grip_width: grip_width?,
        grip_clearance,
        friction,
        crush,
        tilt,
        drop_height,
        critical,
        shapes: shapes?,
        centre,
        centre_within,
        seating,
        rests_at,
    })
}

fn view(r: &Record<'_>, obstacles: &[Option<Obstacle>]) -> Option<View> {
    let (name, title) = (r.name(key!(VIEW, "name")), r.words(key!(VIEW, "title")));
    let camera = r.word(key!(VIEW, "kind"), &[false, true]);
    let mirrored = r.flag(key!(VIEW, "mirrored"));
    let position = r.point(key!(VIEW, "position"));
    let (looks_at, field) = (r.point(key!(VIEW, "looks-at")), r.quantity(key!(VIEW, "field")));
    let up = r.axis(key!(VIEW, "up"));
    let through = named(r, r.lines(key!(VIEW, "through")), obstacles);
    Some(View { name: name?, title: title?.value, camera: camera?.value, mirrored, position, looks_at, field, up, through: through? })
}

fn instrument(r: &Record<'_>) -> Option<Instrument> {
    let (name, reads) = (r.name(key!(INSTRUMENT, "name")), r.name(key!(INSTRUMENT, "reads")));
    reads.iter().for_each(|n| names::check(r, For::Reading, n));
    let written = r.words(key!(INSTRUMENT, "unit"));
    let resolution = r.get(key!(INSTRUMENT, "resolution")).any_quantity("the smallest step it shows, in quotes, with its unit");
    let unit = written.as_ref().and_then(|u| crate::units::unit(&u.value));
    if let (Some(written), None) = (&written, unit) {
        let known = UNITS.iter().map(|u| u.name);
        let mut problem = UNKNOWN_UNIT.at(written.span, format!("`{}` is not a unit known here", written.value.escape_debug()));
        match crate::diag::suggest(&written.value, known.clone()) {
            Some(near) => problem = problem.help(format!("did you mean `{near}`?")),
            None => problem = problem.help(format!("units are: {}", known.collect::<Vec<_>>().join(", "))),
        }
        r.report(problem);
    }
    let dimension = unit?.dimension;
    if let Some(step) = resolution {
        check_resolution(r, &step, dimension);
    }
    Some(Instrument { name: name?, reads: reads?, dimension, unit: written?, resolution })
}

fn check_resolution(r: &Record<'_>, step: &Spanned<Quantity>, dimension: Dimension) {
    if step.value.unit.dimension != dimension {
        let message = format!("the instrument shows {}, but {} is {}", dimension.a_name(), step.value, step.value.unit.dimension.a_name());
        r.report(BAD_QUANTITY.at(step.span, message).help(format!("its unit is {}", dimension.units())));
    } else if step.value.base(Side::Up.round()) <= 0 {
        r.report(
            crate::model::rules::IMPOSSIBLE_VALUE
                .at(step.span, format!("a smallest step must be above zero, but {} is written", step.value)),
        );
    }
}

fn equipment(r: &Record<'_>) -> Option<Equipment> {
    let name = r.name(key!(EQUIPMENT, "name"));
    let states = r.get(key!(EQUIPMENT, "states")).names();
    let initial = r.name(key!(EQUIPMENT, "initial"));
    names::check_all(r, For::State, &states);
    let initial = initial?;
    let Some(at) = states.iter().position(|s| s.value == initial.value) else {
        r.report(names::unknown(initial.span, "state", &initial.value, states.iter().map(|s| s.value.as_str())));
        return None;
    };
    Some(Equipment { name: name?, initial: Spanned::new(StateId(u16::try_from(at).ok()?), initial.span), states })
}

fn obstacle(r: &Record<'_>, equipment: &[Option<Equipment>]) -> Option<Obstacle> {
    use ObstacleKind::{KeepOut, Slow, Solid, Unsurveyed};
    let name = r.words(key!(OBSTACLE, "name"));
    let kind = r.word(key!(OBSTACLE, "kind"), &[Solid, KeepOut, Slow, Unsurveyed]);
    let severity = r.count(key!(OBSTACLE, "severity"));
    let shapes = r.shapes(key!(OBSTACLE, "shape"));
    let when = r.get(key!(OBSTACLE, "when")).entries().into_iter().map(|(name, state)| condition(r, &name, state, equipment));
    let when: Option<Vec<_>> = when.collect();
    let severity = u8::try_from(severity?.value).unwrap_or(u8::MAX);
    Some(Obstacle { name: name?, kind: kind?.value, severity, shapes: shapes?, when: when? })
}

/// The pairs of an entry of `approach`.
fn pairs(r: &Record<'_>, line: &Spanned<String>) -> Vec<[Spanned<String>; 2]> {
    // Inside its quotes the text stands as it is, unless it has escapes.
    let plain = (line.span.end - line.span.start) as usize == line.value.len() + 2;
    let name = |at: usize, written: &str| {
        let start = line.span.start as usize + 1 + at + (written.len() - written.trim_start().len());
        let span = if plain { Span::new(line.span.file, start, start + written.trim().len()) } else { line.span };
        Spanned::new(written.trim().to_string(), span)
    };
    let (mut pairs, mut at) = (Vec::new(), 0);
    for pair in line.value.split_inclusive(',') {
        let written = pair.trim_end_matches(',');
        match written.split_once(" and ") {
            Some((a, b)) if !b.contains(" and ") => pairs.push([name(at, a), name(at + written.len() - b.len(), b)]),
            _ => r.report(
                ODD_APPROACH
                    .at(line.span, format!("\"{}\" is not a pair of two things", written.trim().escape_debug()))
                    .help("write \"jaw pads and cradle\", with commas between pairs"),
            ),
        }
        at += pair.len();
    }
    pairs
}

/// One entry of `when`.
fn condition(
    r: &Record<'_>,
    name: &Spanned<String>,
    state: Field<'_>,
    equipment: &[Option<Equipment>],
) -> Option<(Spanned<EquipmentId>, Spanned<StateId>)> {
    let state = state.name()?;
    let Some((at, thing)) =
        equipment.iter().enumerate().find_map(|(i, e)| e.as_ref().filter(|e| e.name.value == name.value).map(|e| (i, e)))
    else {
        if equipment.iter().all(Option::is_some) {
            r.report(names::unknown(name.span, "equipment", &name.value, equipment.iter().flatten().map(|e| e.name.value.as_str())));
        }
        return None;
    };
    let Some(which) = thing.states.iter().position(|s| s.value == state.value) else {
        r.report(names::unknown(state.span, "state", &state.value, thing.states.iter().map(|s| s.value.as_str())));
        return None;
    };
    let (at, which) = (u16::try_from(at).ok()?, u16::try_from(which).ok()?);
    Some((Spanned::new(EquipmentId(at), name.span), Spanned::new(StateId(which), state.span)))
}

/// The obstacles of these names; an unknown one is reported, unless an obstacle could not be read and may have been it.
fn named(r: &Record<'_>, written: Vec<Spanned<String>>, obstacles: &[Option<Obstacle>]) -> Option<Vec<Spanned<ObstacleId>>> {
    let one = |name: Spanned<String>| {
        let at = obstacles.iter().position(|o| o.as_ref().is_some_and(|o| o.name.value == name.value));
        if at.is_none() && obstacles.iter().all(Option::is_some) {
            r.report(names::unknown(name.span, "obstacle", &name.value, obstacles.iter().flatten().map(|o| o.name.value.as_str())));
        }
        Some(Spanned::new(ObstacleId(u16::try_from(at?).ok()?), name.span))
    };
    written.into_iter().map(one).collect()
}

/// Loads rest where they can, and stations name loads that exist.
fn check_places(r: &Record<'_>, stations: &[Option<Station>], loads: &[Option<Load>]) {
    let complete = stations.iter().all(Option::is_some) && loads.iter().all(Option::is_some);
    let (stations, loads): (Vec<_>, Vec<_>) = (stations.iter().flatten().collect(), loads.iter().flatten().collect());
    if !complete {
        return;
    }
    for take in stations.iter().flat_map(|s| &s.takes) {
        if !loads.iter().any(|l| l.name.value == take.value) {
            r.report(names::unknown(take.span, "load", &take.value, loads.iter().map(|l| l.name.value.as_str())));
        }
    }
    let mut taken: Vec<(&str, Span)> = Vec::new();
    for (load, rests) in loads.iter().filter_map(|l| l.rests_at.as_ref().map(|s| (l, s))) {
        let Some(station) = stations.iter().find(|s| s.name.value == rests.value) else {
            r.report(names::unknown(rests.span, "station", &rests.value, stations.iter().map(|s| s.name.value.as_str())));
            continue;
        };
        if !station.takes.is_empty() && !station.takes.iter().any(|t| t.value == load.name.value) {
            let message = format!("the {} does not take the {}", station.title, load.title);
            r.report(LOAD_OUT_OF_PLACE.at(rests.span, message).label(station.name.span, "see `takes` of this station"));
        } else if !station.supports {
            let message = format!("the {} does not support a load by itself", station.title);
            r.report(LOAD_OUT_OF_PLACE.at(rests.span, message).label(station.name.span, "add `supports = true` if it does"));
        } else if let Some((_, first)) = taken.iter().find(|t| t.0 == rests.value) {
            let message = format!("the {} is to rest at the {}, where another load is", load.title, station.title);
            r.report(STATION_TAKEN_TWICE.at(rests.span, message).label(*first, "the other load"));
        } else {
            taken.push((&rests.value, rests.span));
        }
    }
}
