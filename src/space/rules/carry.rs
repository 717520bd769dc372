//! What a load may not suffer on its way, and where taps meet something.

use super::super::Survey;
use super::super::reach::{Carry, Meet, Met};
use super::super::scene::Scene;
use super::clearance::{goal, place};
use super::{Told, at_most};
use crate::diag::{Diagnostic, Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::Procedure;
use crate::trace::{RowId, Trace};
use crate::units::{Angle, Length};

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule { id, family: Family::Reach, severity: Severity::Error, physical: true, summary, why, evidence: Evidence::Definition, bad, good }
}

/// Steps that grip the cup of the example cell on its cradle.
macro_rules! grip_cup {
    () => {
        "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 120 mm`\n6. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n7. `grip level 2`\n8. `close on cup`\n"
    };
}

/// A load tilts too far.
pub static LOAD_TILTED: Rule = rule(
    "load-tilted",
    "a held load can tilt farther from plumb than it bears",
    "A load in the jaw tilts with every joint that raises or lowers, by as much as the joint turns. It was upright where it was gripped; what it bears counts from plumb, over the whole way and with every band.",
    &[Example::steps(concat!(grip_cup!(), "9. `lift cup clear of cradle: shoulder raise to ⟦+20 deg⟧`\n"))],
    &[Example::steps(concat!(grip_cup!(), "9. `lift cup clear of cradle: shoulder raise to -2 deg`\n"))],
);

/// A load too high up.
pub static DROP_TOO_HIGH: Rule = rule(
    "drop-too-high",
    "a held load can be higher above what is below it than it bears to fall",
    "A grip can fail. How far the load falls then is decided by the way it is carried: low over the bench, or high over the floor.",
    // It takes a way with a load that says its height; the tests of the floor show it.
    &[],
    &[Example::steps(concat!(grip_cup!(), "9. `lift cup clear of cradle: shoulder raise to -2 deg`\n"))],
);

/// Contact elsewhere than written.
pub static CONTACT_OUTSIDE_BAND: Rule = rule(
    "contact-outside-band",
    "contact by taps can come outside the band that is written for it",
    "The operator taps until contact and believes it only inside the written band. The bands of all joints, and where the thing really stands, decide where contact can come; a band that leaves some of that out calls a good contact a wrong one, or a wrong one good.",
    &[Example::steps(
        "1. `power on arm`\n2. `shoulder lower to -5 deg`\n3. `shoulder lower by taps of 0.5 deg, 14 at most, contact between -9 deg and ⟦-11 deg⟧`\n   - If not: hold and tell Shift lead\n",
    )],
    &[],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&LOAD_TILTED, &DROP_TOO_HIGH, &CONTACT_OUTSIDE_BAND];

pub(super) fn check(p: &Procedure, trace: &Trace, survey: &Survey, out: &mut Vec<Diagnostic>) {
    let Ok(scene) = &survey.scene else { return };
    let mut told = Told::default();
    let mut put = |row: RowId, entry: usize, finding: Option<Diagnostic>| {
        let Some(finding) = finding.filter(|f| !told.again(f.rule.id, row, entry)) else { return };
        told.put(finding.rule.id, row, entry, Some(out.len()));
        let way = trace.before(row).nth(entry).map_or_else(String::new, |e| trace.path(p, e.path));
        out.push(finding.step(trace.number(p, row)).path(way));
    };
    for carry in &survey.reach.carries {
        put(carry.row, carry.entry, tilted(p, trace, carry));
        put(carry.row, carry.entry, too_high(p, trace, scene, carry));
    }
    for meet in &survey.reach.meets {
        put(meet.row, meet.entry, elsewhere(p, trace, scene, meet));
    }
    told.finish(out);
}

fn tilted(p: &Procedure, trace: &Trace, carry: &Carry) -> Option<Diagnostic> {
    let (q, step) = place(p, trace, carry.row);
    let load = &q.cell.loads[carry.load.at()];
    let [least, most] = carry.tilt?;
    let limit = load.tilt.filter(|t| most > t.value.0)?;
    Some(
        LOAD_TILTED
            .at(
                goal(step).unwrap_or(step.head),
                format!("the {} can tilt {} from plumb here; it bears {}", load.title, at_most(most), limit.value),
            )
            .mark(format!("between {} and {}", Angle(least.div_euclid(100) * 100), at_most(most)))
            .label(limit.span, "what the load bears")
            .help("turn the wrist back by as much as the arm raises or lowers, in smaller moves one after the other")
            .number("tilt", Angle(most).show())
            .number("limit", limit.value),
    )
}

fn too_high(p: &Procedure, trace: &Trace, scene: &Scene, carry: &Carry) -> Option<Diagnostic> {
    let (q, step) = place(p, trace, carry.row);
    let load = &q.cell.loads[carry.load.at()];
    let limit = load.drop_height.filter(|h| carry.fall.is_none_or(|fall| fall > h.value.0))?;
    let span = goal(step).unwrap_or(step.head);
    let message = match carry.fall {
        Some(fall) => {
            let mm = fall.div_euclid(1000) + i64::from(fall.rem_euclid(1000) != 0);
            format!("the {} can fall {mm} mm here before it meets something; it bears {}", load.title, limit.value)
        }
        None => format!("the {} bears a fall of {}, and on this way it is not certain that anything is below it", load.title, limit.value),
    };
    let finding = DROP_TOO_HIGH.at(span, message).label(limit.span, "what the load bears");
    let below: Vec<String> =
        carry.onto.iter().map(|(i, most)| format!("{} {} mm below", scene.things[*i].title, most.div_euclid(1000))).collect();
    let finding = match &below[..] {
        [] => finding.help("give the cell its floor, if there is one"),
        below => finding.help(format!("it passes over: {}", below.join(", "))),
    };
    let fall = carry.fall.map_or_else(|| "not known".to_owned(), |f| Length(f).to_string());
    Some(finding.help("carry it lower, or over something nearer").number("fall", fall).number("limit", limit.value))
}

fn elsewhere(p: &Procedure, trace: &Trace, scene: &Scene, meet: &Meet) -> Option<Diagnostic> {
    let (q, _) = place(p, trace, meet.row);
    let name = &q.arm.joint(meet.joint).name.value;
    let (low, high) = meet.written;
    let written = format!("{} and {}", low.show(), high.show());
    let both = |(a, b): (usize, usize)| format!("{} and {}", scene.things[a].title, scene.things[b].title);
    let at = |message: String| CONTACT_OUTSIDE_BAND.at(meet.spans.0, message).label(meet.spans.1, "the other end of the written band");
    let finding = match meet.met {
        Met::Between { low: from, high: to, .. } if low <= from && to <= high => return None,
        Met::Between { low: from, high: to, pair } => {
            let (from, to) = (outward(from, false), outward(to, true));
            at(format!(
                "contact of {} comes with {name} between {} and {}; the step says between {written}",
                both(pair),
                from.show(),
                to.show()
            ))
            .help(format!("write `contact between {} and {}`, or tighten the bands of the moves before", from.show(), to.show()))
            .number("contact from", from.show())
            .number("contact to", to.show())
        }
        Met::Uncertain { first, pair } => at(format!(
            "contact of {} can come from {} on, but that it comes before the taps end is not certain; the step says between {written}",
            both(pair),
            first.show()
        ))
        .help("let the taps go farther, or bring the jaw in so that it cannot pass beside what it should meet")
        .number("contact from", first.show()),
        Met::Never => at(format!("nothing that may touch here meets before the taps end; the step says contact between {written}"))
            .help("correct the band of contact, or the moves before"),
        Met::Undeclared => at(format!("the step says contact between {written}, but nothing may touch here"))
            .help("name what touches in a line `Touching allowed:`, or in the approach of the station"),
    };
    Some(finding.number("written from", low.show()).number("written to", high.show()))
}

/// To the tenth of a degree that lies outside.
fn outward(angle: Angle, up: bool) -> Angle {
    let down = angle.0.div_euclid(100) * 100;
    Angle(if up && down != angle.0 { down + 100 } else { down })
}
