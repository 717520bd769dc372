//! The jaw is at the station it works at, and what it sets down stands as it should.

use super::super::Survey;
use super::super::reach::{Moment, Stand};
use super::super::scene::{Scene, Spot};
use super::{Told, at_most};
use crate::diag::{Diagnostic, Evidence, Example, ExampleFile, Family, Rule, Severity};
use crate::geometry::chain::JointBox;
use crate::geometry::{Mat3, Vec3, metres, reach};
use crate::model::StationId;
use crate::model::cell::Station;
use crate::model::procedure::Procedure;
use crate::text::Span;
use crate::trace::Trace;
use crate::units::{Angle, Length};
use std::collections::HashMap;

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule { id, family: Family::Reach, severity: Severity::Error, physical: true, summary, why, evidence: Evidence::Definition, bad, good }
}

/// Steps that bring the open jaw to the cradle of the example cell, no joint closer than a written band.
macro_rules! at_cradle {
    ($band:literal) => {
        concat!(
            "1. `power on arm`\n2. `base left to +30 deg within ",
            $band,
            "`\n3. `wrist-pitch lower to -20 deg within ",
            $band,
            "`\n4. `elbow extend to 90 deg within ",
            $band,
            "`\n5. `jaw open to 120 mm`\n6. `shoulder lower to -10 deg within ",
            $band,
            "`\n   - Touching allowed: jaw pads and cup.\n"
        )
    };
}

/// The jaw may be beside the station.
pub static OFF_STATION: Rule = rule(
    "off-station",
    "the jaw can be farther from a station than counts as being there",
    "Every joint stops within a band, and a degree far out is many millimetres. If all of them stop on the wrong side, the jaw is beside the load it should close on, or lets it go beside its cradle.",
    &[Example::steps(concat!(at_cradle!("0.8 deg"), "7. `expect at ⟦cradle⟧`\n"))],
    &[Example::steps(concat!(at_cradle!("0.5 deg"), "7. `expect at cradle`\n"))],
);

/// The jaw may be turned against the station.
pub static TURNED_AT_STATION: Rule = rule(
    "turned-at-station",
    "the jaw can be turned or tilted against a station by more than counts as being there",
    "A jaw at the right place and at the wrong angle takes a load by its edge, or sets it down on one.",
    // It takes a station with a narrow tolerance; the tests of the floor show it.
    &[],
    &[Example::steps(concat!(at_cradle!("0.5 deg"), "7. `expect at cradle`\n"))],
);

/// Two places for one station.
pub static STATION_DISAGREES: Rule = rule(
    "station-disagrees",
    "the pose of a station does not bring the jaw to where the survey puts it",
    "A station is known twice: by the angles at which the jaw was there, and by the survey of the cell. If the two are farther apart than its tolerance, one of them is of another day or another cell, and every clearance there is checked around the wrong place.",
    &[Example::patch(ExampleFile::Cell, "pose = \"at-cradle\"", "pose = ⟦\"at-rack\"⟧")],
    &[Example::steps("1. `view window-1`\n")],
);

/// Out of plumb on its station.
pub static SET_DOWN_OUT_OF_PLUMB: Rule = rule(
    "set-down-out-of-plumb",
    "a load can be set down out of plumb by more than its station bears",
    "A set-down out of plumb touches nothing it should not and still spills, tips or jams. What was gripped upright in one pose is upright only where the joints add up to the same tilt.",
    // It takes a station with a narrow tolerance; the tests of the floor show it.
    &[],
    &[Example::steps(concat!(at_cradle!("0.5 deg"), "7. `grip level 2`\n8. `close on cup`\n"))],
);

/// Turned on its station.
pub static SET_DOWN_TURNED: Rule = Rule {
    id: "set-down-turned",
    severity: Severity::Warning,
    physical: false,
    ..rule(
        "set-down-turned",
        "a load that is not round can be set down turned against how it stands on its station",
        "A load that was taken at one heading and set down at another goes into its slots crosswise, or with its label to the wall.",
        &[],
        &[Example::steps(concat!(at_cradle!("0.5 deg"), "7. `grip level 2`\n8. `close on cup`\n"))],
    )
};

/// Little room for the pads.
pub static TIGHT_JAW: Rule = Rule {
    id: "tight-jaw",
    severity: Severity::Warning,
    physical: false,
    ..rule(
        "tight-jaw",
        "the jaw can be farther off the middle of the load than its pads have room",
        "Open wide enough is not enough: if the joints may stop so far to one side that a pad stands over the load, it comes down on it.",
        &[Example::steps(concat!(
            "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 90 mm`\n6. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n",
            "7. `grip level 2`\n8. `close on ⟦cup⟧`\n"
        ))],
        &[Example::steps(concat!(at_cradle!("0.5 deg"), "7. `grip level 2`\n8. `close on cup`\n"))],
    )
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] =
    &[&OFF_STATION, &TURNED_AT_STATION, &STATION_DISAGREES, &SET_DOWN_OUT_OF_PLUMB, &SET_DOWN_TURNED, &TIGHT_JAW];

pub(super) fn check(p: &Procedure, trace: &Trace, survey: &Survey, out: &mut Vec<Diagnostic>) {
    let Ok(scene) = &survey.scene else { return };
    (0u16..).zip(&p.cell.stations).for_each(|(i, station)| out.extend(disagrees(p, scene, StationId(i), station)));
    let mut told = Told::default();
    let mut there: HashMap<(&str, StationId, &JointBox), usize> = HashMap::new();
    for stand in &survey.reach.stands {
        let at_station = [
            off(p, trace, scene, stand),
            turned(p, trace, stand),
            plumb(p, trace, stand),
            heading(p, trace, stand),
            tight(p, trace, stand),
        ];
        for finding in at_station.into_iter().flatten() {
            let rule = finding.rule.id;
            if told.again(rule, stand.row, stand.entry) {
                continue;
            }
            // Where the arm has not moved since, it is the same fault.
            if let Some(at) = there.get(&(rule, stand.station, &stand.within)) {
                told.put(rule, stand.row, stand.entry, None);
                out[*at].fold(1);
                continue;
            }
            there.insert((rule, stand.station, &stand.within), out.len());
            told.put(rule, stand.row, stand.entry, Some(out.len()));
            let way = trace.before(stand.row).nth(stand.entry).map_or_else(String::new, |e| trace.path(p, e.path));
            out.push(finding.step(trace.number(p, stand.row)).path(way));
        }
    }
    told.finish(out);
}

fn station<'a>(p: &'a Procedure, trace: &'a Trace, stand: &Stand) -> &'a Station {
    let (frame, _) = trace.step_of(stand.row);
    &trace.procedure_of(p, frame).cell.stations[stand.station.at()]
}

/// Whole millimetres, rounded up.
fn up(um: i64) -> String {
    format!("{} mm", um.div_euclid(1000) + i64::from(um.rem_euclid(1000) != 0))
}

fn off(p: &Procedure, trace: &Trace, scene: &Scene, stand: &Stand) -> Option<Diagnostic> {
    let station = station(p, trace, stand);
    let tolerance = station.tolerance.filter(|t| stand.off > t.value.0)?;
    let spot = scene.spots[stand.station.at()].as_ref()?;
    let wide = stand.band.map(|[low, high]| ((high - low) as f64 / 2000.0).ceil());
    let middle: Vec<i64> = stand.within.0.iter().map(|[low, high]| (low + high).div_euclid(2)).collect();
    let (aim, beside) = aimed(scene, &middle, spot);
    let finding = OFF_STATION
        .at(
            stand.span,
            format!("the jaw can be {} from its place at {} here; {} counts as there", up(stand.off), title(station), tolerance.value),
        )
        .mark(format!("up to {} off", up(stand.off)))
        .label(tolerance.span, "what counts as there")
        .help(format!(
            "the grip centre is aimed at {}, {} from the station at {}; bands, drift and read-out error take it up to {}, {}, {} mm off that in x, y, z",
            place(aim),
            up(beside),
            place(metres(spot.point)),
            wide[0],
            wide[1],
            wide[2]
        ));
    // Where the aim is good, it is the bands; else the targets.
    let finding = match 2 * beside > tolerance.value.0 {
        false => finding.help("bring the joints in with tighter bands (`within`), the ones nearest the mount first"),
        true => mended(p, trace, scene, stand, &middle, spot)
            .into_iter()
            .chain(taught(p, scene, station, spot))
            .fold(finding, |finding, words| finding.help(words)),
    };
    Some(finding.number("off", Length(stand.off)).number("aim", Length(beside)).number("tolerance", tolerance.value))
}

/// Where the grip centre is at some angles, and how far that is from a station, in micrometres.
fn aimed(scene: &Scene, angles: &[i64], spot: &Spot) -> (Vec3, i64) {
    let aim = scene.grip_centre(&scene.chain().place_exact(angles));
    (aim, ((aim - metres(spot.point)).length() * 1e6).round() as i64)
}

fn place(p: Vec3) -> String {
    let [x, y, z] = p.to_array().map(|m| (m * 1000.0).round() as i64);
    format!("x {x}, y {y}, z {z} mm")
}

/// The joints that aim the jaw at the station, as few as take away more than half, and the angles at which they do. What has a
/// short lever would turn the jaw more than it moves it.
fn mended(p: &Procedure, trace: &Trace, scene: &Scene, stand: &Stand, middle: &[i64], spot: &Spot) -> Option<String> {
    let (frame, _) = trace.step_of(stand.row);
    let joints = &trace.procedure_of(p, frame).arm.joints;
    let placed = scene.chain().place_exact(middle);
    let (aim, beside) = aimed(scene, middle, spot);
    let wanted = metres(spot.point) - aim;
    let lever = |k: usize| placed.axes[k].direction.cross(aim - placed.axes[k].origin);
    let turned = |turns: &[(usize, f64)]| {
        let mut angles = middle.to_vec();
        for (k, by) in turns {
            // In the digits of the read-out.
            let digit = 10_i64.pow(3 - u32::from(joints[*k].decimals.min(3)));
            let to = angles[*k] as f64 + by * 180_000.0 / std::f64::consts::PI;
            angles[*k] = (to / digit as f64).round() as i64 * digit;
        }
        let each = turns.iter().map(|(k, _)| format!("{} at {}", joints[*k].name.value, Angle(angles[*k]).show()));
        let words = each.collect::<Vec<_>>().join(", ");
        (aimed(scene, &angles, spot).1, words)
    };
    let alone = |k: usize| vec![(k, wanted.dot(lever(k)) / lever(k).dot(lever(k)).max(1e-9))];
    let both = |k: usize, m: usize| {
        // Least squares over the two levers.
        let (a, b) = (lever(k), lever(m));
        let det = a.dot(a) * b.dot(b) - a.dot(b) * a.dot(b);
        let part = |x: Vec3, y: Vec3| (wanted.dot(x) * y.dot(y) - wanted.dot(y) * x.dot(y)) / det;
        (det > 1e-6).then(|| vec![(k, part(a, b)), (m, part(b, a))])
    };
    let three = |k: usize, m: usize, n: usize| {
        let (a, b, c) = (lever(k), lever(m), lever(n));
        let det = a.dot(b.cross(c));
        (det.abs() > 1e-3).then(|| {
            let parts = [(k, b.cross(c)), (m, c.cross(a)), (n, a.cross(b))];
            parts.map(|(joint, across)| (joint, wanted.dot(across) / det)).to_vec()
        })
    };
    let longest = (0..joints.len()).map(|k| lever(k).length()).fold(0.0, f64::max);
    let long: Vec<usize> = (0..joints.len()).filter(|k| 2.0 * lever(*k).length() > longest).collect();
    let each = |turns: &mut dyn Iterator<Item = Vec<(usize, f64)>>| turns.map(|t| turned(&t)).min().filter(|(left, _)| 2 * left < beside);
    let pairs = || long.iter().flat_map(|k| long.iter().filter(move |m| *m > k).map(move |m| (*k, *m)));
    let one = each(&mut long.iter().map(|k| alone(*k)));
    let two = || each(&mut pairs().filter_map(|(k, m)| both(k, m)));
    let all = || each(&mut pairs().flat_map(|(k, m)| long.iter().filter(move |n| **n > m).filter_map(move |n| three(k, m, *n))));
    let (left, words) = one.or_else(two).or_else(all)?;
    Some(format!("with {words} the aim would be {} from it", up(left)))
}

/// What there is to say of the pose in which the arm is at a station.
fn taught(p: &Procedure, scene: &Scene, station: &Station, spot: &Spot) -> Option<String> {
    let (pose, tolerance) = (station.pose.as_ref()?, station.tolerance?);
    let angles = &p.arm.poses[p.arm.find_pose(&pose.value)?.at()].angles;
    let (_, beside) = aimed(scene, &angles.iter().map(|a| a.map_or(0, |a| a.value.0)).collect::<Vec<_>>(), spot);
    (2 * beside > tolerance.value.0).then(|| {
        format!(
            "pose `{}` of the arm is aimed {} from it too: if the station was moved, take the pose anew, then these targets",
            pose.value,
            up(beside)
        )
    })
}

fn turned(p: &Procedure, trace: &Trace, stand: &Stand) -> Option<Diagnostic> {
    let station = station(p, trace, stand);
    let tolerance = station.tolerance_turn.filter(|t| stand.turned > t.value.0)?;
    Some(
        TURNED_AT_STATION
            .at(
                stand.span,
                format!(
                    "the jaw can be turned by {} against {} here; {} counts as there",
                    at_most(stand.turned),
                    title(station),
                    tolerance.value
                ),
            )
            .mark(format!("up to {}", at_most(stand.turned)))
            .label(tolerance.span, "what counts as there")
            .help("correct the targets of the wrist, or bring the joints in with tighter bands (`within`)")
            .number("turned", Angle(stand.turned).show())
            .number("tolerance", tolerance.value),
    )
}

fn plumb(p: &Procedure, trace: &Trace, stand: &Stand) -> Option<Diagnostic> {
    let (station, lying) = (station(p, trace, stand), stand.lying?);
    let tolerance = station.tolerance_turn.filter(|t| lying.tilt > t.value.0)?;
    let load = &p.cell.loads[lying.load.at()];
    Some(
        SET_DOWN_OUT_OF_PLUMB
            .at(
                stand.span,
                format!(
                    "{} can stand {} out of plumb on {} here; {} is borne",
                    load_title(load),
                    at_most(lying.tilt),
                    title(station),
                    tolerance.value
                ),
            )
            .label(tolerance.span, "what the station bears")
            .help("set it down at the tilt at which it was gripped: the angles of the joints that raise and lower must add up to the same")
            .number("tilt", Angle(lying.tilt).show())
            .number("tolerance", tolerance.value),
    )
}

fn heading(p: &Procedure, trace: &Trace, stand: &Stand) -> Option<Diagnostic> {
    let (station, lying) = (station(p, trace, stand), stand.lying?);
    let tolerance = station.tolerance_turn.filter(|t| !lying.round && lying.turned > t.value.0 && lying.tilt <= t.value.0)?;
    let load = &p.cell.loads[lying.load.at()];
    Some(
        SET_DOWN_TURNED
            .at(
                stand.span,
                format!(
                    "{} can stand turned by {} on {} here; {} is borne",
                    load_title(load),
                    at_most(lying.turned),
                    title(station),
                    tolerance.value
                ),
            )
            .label(tolerance.span, "what the station bears")
            .help("turn the wrist back to how the load was taken, seen from the station")
            .number("turned", Angle(lying.turned).show())
            .number("tolerance", tolerance.value),
    )
}

fn tight(p: &Procedure, trace: &Trace, stand: &Stand) -> Option<Diagnostic> {
    let (Moment::Taken(load), Some(aside)) = (stand.moment, stand.aside) else { return None };
    if aside.off <= aside.room || aside.room < 0 {
        return None; // a jaw that is too narrow altogether is told where openings are looked at
    }
    let (frame, _) = trace.step_of(stand.row);
    let q = trace.procedure_of(p, frame);
    let name = load_title(&q.cell.loads[load.at()]);
    let finding = TIGHT_JAW
        .at(
            stand.span,
            format!("the pads have {} on each side of {name}, and the jaw can be {} off its middle", Length(aside.room), up(aside.off)),
        )
        .mark(format!("up to {} off", up(aside.off)))
        .number("room", Length(aside.room))
        .number("off", Length(aside.off));
    let wanted = q.cell.loads[load.at()].grip_width.value.0 + 2 * aside.off + q.arm.jaw.tolerance.value.0;
    Some(match wanted <= q.arm.jaw.most.value.0 {
        true => finding.help(format!("open the jaw to {} or more before the approach", up(wanted))),
        false => finding.help("the jaw does not open wide enough for that: bring the joints in with tighter bands (`within`)"),
    })
}

/// A station of which pose and survey bring the jaw to different places.
fn disagrees(p: &Procedure, scene: &Scene, id: StationId, station: &Station) -> Option<Diagnostic> {
    let (Some(pose), Some(_), Some(spot)) = (&station.pose, station.position, &scene.spots[id.at()]) else { return None };
    let angles = &p.arm.poses[p.arm.find_pose(&pose.value)?.at()].angles;
    let at = JointBox::point(&angles.iter().map(|a| a.map_or(0, |a| a.value.0)).collect::<Vec<_>>());
    let last = scene.chain().joints();
    let off = reach::distance_at_most(scene.chain(), &at, last, metres(scene.grip), spot.point).ok()?;
    let turned = match scene.chain().hinges().last() {
        Some(hinge) if angles.last().is_some_and(Option::is_none) => {
            let axis = crate::geometry::unit(hinge.axis).ok()?;
            reach::between(scene.chain(), &at, last, axis, spot.frame.direction(axis)).ok()?[1]
        }
        _ => reach::turned(scene.chain(), &at, last, &Mat3::IDENTITY, &spot.frame.turn).ok()?,
    };
    let far = station.tolerance.filter(|t| off > t.value.0);
    let leans = station.tolerance_turn.filter(|t| turned > t.value.0);
    let (what, span): (String, Span) = match (far, leans) {
        (Some(t), _) => (format!("{} away from where the survey puts it; {} counts as there", up(off), t.value), t.span),
        (None, Some(t)) => (format!("at the place of the survey, but turned by {}; {} counts as there", at_most(turned), t.value), t.span),
        (None, None) => return None,
    };
    Some(
        STATION_DISAGREES
            .at(pose.span, format!("pose `{}` brings the jaw {what}", pose.value))
            .label(span, "what counts as there")
            .help("drive the pose again and survey the station again: one of the two is not of this cell as it is")
            .number("off", Length(off))
            .number("turned", Angle(turned).show()),
    )
}

fn title(station: &Station) -> String {
    the(if station.title.is_empty() { &station.name.value } else { &station.title })
}

fn load_title(load: &crate::model::cell::Load) -> String {
    the(if load.title.is_empty() { &load.name.value } else { &load.title })
}

fn the(name: &str) -> String {
    if ["the ", "The "].iter().any(|the| name.starts_with(the)) { name.to_owned() } else { format!("the {name}") }
}
