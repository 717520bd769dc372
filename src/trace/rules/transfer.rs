//! Load transfer: free, touching, gripped and supported, lifted clear, carried, set on, let go, and free again.

use super::super::doubt::Part;
use super::super::situation::{Outside, all_outside, outside, say, say_outside, say_place, say_where};
use super::super::state::{Grasp, Phase, Place};
use super::{Moment, Sink};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::Drive;
use crate::model::{LoadId, StationId};
use crate::text::{Span, Spanned};

const fn rule(id: &'static str, summary: &'static str, why: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule {
        id,
        family: Family::Grip,
        severity: Severity::Error,
        physical: true,
        summary,
        why,
        evidence: Evidence::CommonPractice,
        bad,
        good,
    }
}

/// A second load for a full jaw.
pub static GRIPPED_WHILE_HOLDING: Rule = rule(
    "gripped-while-holding",
    "the jaw closes on a load while it holds another",
    "The jaw holds one thing. Either the load before was never let go of, or the wrong load is named.",
    &[Example::steps(concat!(take_cup!(), "10. `close on ⟦flask⟧`\n    - Second person: Second operator, agree before the act\n"))],
    &[Example::steps(concat!(take_cup!(), "10. `close on cup`\n"))],
);

/// A load that is elsewhere.
pub static LOAD_NOT_THERE: Rule = rule(
    "load-not-there",
    "a step acts on a load that is elsewhere",
    "The load was moved in an earlier step, or never declared to be here. The operator closes on nothing, or on something else.",
    &[Example::steps(concat!(
        take_cup!(),
        "10. `lower cup onto cradle: shoulder lower to -10 deg`\n11. `let go of cup on cradle, open to 90 mm`\n12. `lift ⟦cup⟧ clear of cradle: shoulder raise to +20 deg`\n"
    ))],
    &[Example::steps(concat!(take_cup!(), "10. `lower cup onto cradle: shoulder lower to -10 deg`\n"))],
);

/// The jaw is not where the load is.
pub static JAW_NOT_AT_STATION: Rule = rule(
    "jaw-not-at-station",
    "the jaw takes or leaves a load at a station it is not certain to be at",
    "The pads close beside the load, or the load is let go of beside its station. The arm has to be in the station's pose, within its band, in every way that leads here.",
    &[
        Example::steps("1. `power on arm`\n2. `jaw open to 90 mm`\n3. `grip level 2`\n4. `close on ⟦cup⟧`\n"),
        Example::steps(concat!(take_cup!(), "10. `lower cup onto ⟦rack⟧: shoulder lower to -5 deg`\n")),
    ],
    &[Example::steps(concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n"))],
);

/// A gripped load pulled along its support.
pub static DRAGGED_LOAD: Rule = rule(
    "dragged-load",
    "the arm moves while a gripped load still stands on its station",
    "A load leaves its support with a `lift` step, which says where contact is allowed and checks the way up. Any other motion drags it.",
    &[Example::steps(concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n9. `⟦base⟧ right to 0 deg`\n"))],
    &[Example::steps(concat!(take_cup!(), "10. `base right to 0 deg`\n"))],
);

/// A transfer of what is not held.
pub static NOT_IN_THE_JAW: Rule = rule(
    "not-in-the-jaw",
    "a load is lifted, lowered or let go of that the jaw does not hold",
    "The step that grips it is missing, or another load is meant. The arm would move away without it, or open over nothing.",
    &[
        Example::steps(concat!(at_cup!(), "7. `lift ⟦cup⟧ clear of cradle: shoulder raise to +20 deg`\n")),
        Example::steps(concat!(at_cup!(), "7. `let go of ⟦cup⟧ on cradle, open to 120 mm`\n")),
    ],
    &[Example::steps(take_cup!())],
);

/// A lift off a station the load does not stand on.
pub static LIFTED_FROM_ELSEWHERE: Rule = rule(
    "lifted-from-elsewhere",
    "a load is lifted clear of a station it does not stand on",
    "The step allows contact with a station that is not there, and none with the one that is.",
    &[
        Example::steps(concat!(
            at_cup!(),
            "7. `grip level 2`\n8. `close on cup`\n9. `lift cup clear of ⟦rack⟧: shoulder raise to +20 deg`\n"
        )),
        Example::steps(concat!(take_cup!(), "10. `base right to 0 deg`\n11. `lift cup clear of ⟦cradle⟧: shoulder raise to +30 deg`\n")),
    ],
    &[Example::steps(take_cup!())],
);

/// Let go of with nothing below.
pub static LET_GO_UNSUPPORTED: Rule = rule(
    "let-go-unsupported",
    "a load is let go of that does not stand on the station",
    "It falls. A load is set down with a `lower` step onto the station that the jaw then leaves it on.",
    &[
        Example::steps(concat!(take_cup!(), "10. `let go of cup on ⟦cradle⟧, open to 90 mm`\n")),
        Example::steps(concat!(
            take_cup!(),
            "10. `lower cup onto cradle: shoulder lower to -10 deg`\n11. `let go of cup on ⟦rack⟧, open to 90 mm`\n"
        )),
    ],
    &[Example::steps(concat!(
        take_cup!(),
        "10. `lower cup onto cradle: shoulder lower to -10 deg`\n11. `let go of cup on cradle, open to 90 mm`\n"
    ))],
);

/// A station that cannot take the load.
pub static STATION_UNFIT: Rule = rule(
    "station-unfit",
    "a load is set on a station that does not take it or does not bear it",
    "The station is not made for this load. It can tip, slip or jam.",
    &[Example::procedure(concat!(
        start!("{ flask = \"rack\" }"),
        take_cup!(),
        "10. `base left to +60 deg`\n11. `elbow extend to 110 deg`\n12. `wrist-pitch lower to -30 deg`\n13. `shoulder raise to +40 deg`\n14. `lower cup onto ⟦shelf⟧: shoulder lower to +30 deg`\n"
    ))],
    &[Example::steps(concat!(take_cup!(), "10. `lower cup onto cradle: shoulder lower to -10 deg`\n"))],
);

/// A station where another load stands.
pub static STATION_TAKEN: Rule = rule(
    "station-taken",
    "a load is set on a station where another one stands",
    "Two loads do not fit where one does. The one below is struck, or the one above falls.",
    &[Example::procedure(concat!(
        start!("{ flask = \"rack\" }"),
        take_cup!(),
        "10. `base right to -45 deg`\n11. `elbow extend to 100 deg`\n12. `wrist-pitch lower to -25 deg`\n13. `lower cup onto ⟦rack⟧: shoulder lower to -5 deg`\n"
    ))],
    &[Example::steps(concat!(take_cup!(), "10. `lower cup onto cradle: shoulder lower to -10 deg`\n"))],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[
    &GRIPPED_WHILE_HOLDING,
    &LOAD_NOT_THERE,
    &JAW_NOT_AT_STATION,
    &DRAGGED_LOAD,
    &NOT_IN_THE_JAW,
    &LIFTED_FROM_ELSEWHERE,
    &LET_GO_UNSUPPORTED,
    &STATION_UNFIT,
    &STATION_TAKEN,
];

fn load_name<'a>(m: &Moment<'a>, load: LoadId) -> &'a str {
    &m.p.cell.loads[load.at()].name.value
}

fn station_name<'a>(m: &Moment<'a>, station: StationId) -> &'a str {
    &m.p.cell.stations[station.at()].name.value
}

/// What the jaw holds, in words.
fn in_jaw(m: &Moment<'_>) -> String {
    match m.before.held() {
        Some(held) => format!("the jaw holds `{}`", load_name(m, held.load)),
        None => "the jaw is empty".to_string(),
    }
}

pub(super) fn moves(m: &Moment<'_>, drive: &Drive, sink: &mut Sink<'_>) {
    let Some(held) = m.before.held() else { return };
    super::start::carries(m, held.load, sink);
    let (Phase::Supported(station) | Phase::SetOn(station)) = held.phase else { return };
    let span = drive.joint.span;
    sink.rest(&DRAGGED_LOAD, span, &[Part::Load(held.load)], &[], || {
        let (load, station) = (load_name(m, held.load), station_name(m, station));
        DRAGGED_LOAD
            .at(span, format!("`{load}` is gripped and still stands on `{station}`, so this motion drags it"))
            .help(format!("write `lift {load} clear of {station}: MOVE`, or let go of it first"))
    });
}

pub(super) fn closes(m: &Moment<'_>, load: Spanned<LoadId>, sink: &mut Sink<'_>) {
    match m.before.grasp {
        Grasp::Muted => {}
        // A new grip on the same load.
        Grasp::Held(held) if held.load == load.value => {}
        Grasp::Held(held) => sink.rest(&GRIPPED_WHILE_HOLDING, load.span, &[Part::Load(held.load)], &[], || {
            let (holds, wanted) = (load_name(m, held.load), load_name(m, load.value));
            GRIPPED_WHILE_HOLDING
                .at(load.span, format!("the jaw holds `{holds}` here, so it cannot close on `{wanted}`"))
                .help(format!("let go of `{holds}` on a station first"))
        }),
        Grasp::Free | Grasp::Touching | Grasp::LetGo(..) => match m.before.place(load.value) {
            Place::On(station) => at_station(m, station, load.span, sink),
            Place::Jaw | Place::Unsaid => sink.rest(&LOAD_NOT_THERE, load.span, &[Part::Load(load.value)], &[], || {
                LOAD_NOT_THERE
                    .at(load.span, format!("neither cell nor procedure says where `{}` is", load_name(m, load.value)))
                    .label(m.p.cell.loads[load.value.at()].span, "the load")
                    .help("declare its place under `[start]`: `loads = { LOAD = \"STATION\" }`")
            }),
        },
    }
}

/// Every joint is within the station's pose, if the cell gives one; where it gives none, the print says that this was not checked.
fn at_station(m: &Moment<'_>, station: StationId, span: Span, sink: &mut Sink<'_>) {
    let Some(pose) = super::continuity::station_pose(m.p, station) else { return };
    // Of a joint that is not known, it is said where it became so.
    let off: Vec<Outside> = all_outside(m.p, m.before, pose, false).filter(|o| m.before.joint(o.joint).is_known()).collect();
    if off.is_empty() {
        return;
    }
    sink.rest(&JAW_NOT_AT_STATION, span, &super::continuity::joints(&off), &[], || {
        let name = station_name(m, station);
        let each = |o: &Outside| {
            let (joint, is) = (&m.p.arm.joint(o.joint).name.value, say_where(o.is, o.how));
            format!("{joint} is {is} here, and the station wants it {}", say(o.wanted))
        };
        let finding = JAW_NOT_AT_STATION
            .at(span, format!("the jaw is not certain to be at `{name}`: {}", off.iter().map(each).collect::<Vec<_>>().join("; ")))
            .mark(say_outside(m.p, &off))
            .label(m.p.arm.poses[pose.at()].span, format!("the pose of `{name}`"))
            .label(m.p.cell.stations[station.at()].span, "the station")
            .help("add the missing move before this step");
        off.iter().fold(finding, |f, o| f.number("is", say_where(o.is, o.how)).number("wanted", say(o.wanted)))
    });
}

/// The load that stands where an open jaw is: just let go of, or on a station whose pose the arm is in.
pub(super) fn between_pads(m: &Moment<'_>) -> Option<(LoadId, StationId)> {
    match m.before.grasp {
        Grasp::LetGo(load, station) => Some((load, station)),
        Grasp::Free | Grasp::Touching => m.before.places().find_map(|(load, place)| {
            let Place::On(station) = place else { return None };
            let pose = super::continuity::station_pose(m.p, station)?;
            (!m.before.is_muted() && outside(m.p, m.before, pose, false).is_none()).then_some((load, station))
        }),
        Grasp::Held(_) | Grasp::Muted => None,
    }
}

fn held_or_say(m: &Moment<'_>, load: Spanned<LoadId>, sink: &mut Sink<'_>) -> Option<Phase> {
    match m.before.grasp {
        Grasp::Muted => None,
        Grasp::Held(held) if held.load == load.value => Some(held.phase),
        _ => {
            let (name, part) = (load_name(m, load.value), Part::Load(load.value));
            match m.before.grasp {
                Grasp::LetGo(was, station) if was == load.value => sink.rest(&LOAD_NOT_THERE, load.span, &[part], &[], || {
                    LOAD_NOT_THERE
                        .at(load.span, format!("`{name}` was let go of on `{}` and is no longer in the jaw", station_name(m, station)))
                        .help(format!("write `close on {name}` before it is moved again"))
                }),
                _ => sink.rest(&NOT_IN_THE_JAW, load.span, &[part], &[], || {
                    NOT_IN_THE_JAW
                        .at(load.span, format!("`{name}` is {}; {}", say_place(m.p, m.before.place(load.value)), in_jaw(m)))
                        .help(format!("write `close on {name}` before this step, or name the load that is held"))
                }),
            }
            None
        }
    }
}

pub(super) fn leaves(m: &Moment<'_>, load: Spanned<LoadId>, station: Spanned<StationId>, sink: &mut Sink<'_>) {
    let Some(phase) = held_or_say(m, load, sink) else { return };
    let stands = match phase {
        Phase::Supported(on) | Phase::SetOn(on) | Phase::Leaving(on) => Some(on),
        // A lift that was stopped part-way may be finished.
        Phase::LiftedClear(on) => Some(on),
        Phase::Carried => None,
    };
    if stands != Some(station.value) {
        sink.rest(&LIFTED_FROM_ELSEWHERE, station.span, &[Part::Load(load.value)], &[], || {
            let name = load_name(m, load.value);
            let is = stands.map_or("hangs in the jaw".to_string(), |s| format!("stands on `{}`", station_name(m, s)));
            LIFTED_FROM_ELSEWHERE
                .at(station.span, format!("`{name}` {is} here, so it cannot be lifted clear of `{}`", station_name(m, station.value)))
                .help("name the station it stands on, or write a plain move if it hangs already")
        });
    }
}

pub(super) fn rests(m: &Moment<'_>, load: Spanned<LoadId>, station: Spanned<StationId>, sink: &mut Sink<'_>) {
    if held_or_say(m, load, sink).is_none() {
        return;
    }
    fits(m, load, station, sink);
    at_station(m, station.value, station.span, sink);
}

/// Whether the station takes the load, bears it, and is free.
fn fits(m: &Moment<'_>, load: Spanned<LoadId>, station: Spanned<StationId>, sink: &mut Sink<'_>) {
    let (data, name) = (&m.p.cell.stations[station.value.at()], load_name(m, load.value));
    if !data.supports || !data.has_room_for(name) {
        sink.rest(&STATION_UNFIT, station.span, &[], &[Part::Load(load.value)], || {
            let takes: Vec<&str> = data.takes.iter().map(|t| t.value.as_str()).collect();
            let why = if data.supports { format!("takes only {}", takes.join(", ")) } else { "bears no load".to_string() };
            STATION_UNFIT
                .at(station.span, format!("`{}` {why}, so `{name}` cannot be set on it", data.name.value))
                .label(data.span, "the station")
                .help("choose another station")
        });
    }
    if let Some(other) = m.before.on(station.value).filter(|o| *o != load.value) {
        sink.rest(&STATION_TAKEN, station.span, &[Part::Load(other)], &[], || {
            STATION_TAKEN
                .at(station.span, format!("`{}` stands on `{}` here", load_name(m, other), data.name.value))
                .help("take it away first, or choose another station")
        });
    }
}

pub(super) fn lets_go(m: &Moment<'_>, load: Spanned<LoadId>, station: Spanned<StationId>, sink: &mut Sink<'_>) {
    let Some(phase) = held_or_say(m, load, sink) else { return };
    let on = match phase {
        Phase::Supported(on) | Phase::SetOn(on) => Some(on),
        Phase::Leaving(_) | Phase::LiftedClear(_) | Phase::Carried => None,
    };
    if on != Some(station.value) {
        sink.rest(&LET_GO_UNSUPPORTED, station.span, &[Part::Load(load.value)], &[], || {
            let (name, wanted) = (load_name(m, load.value), station_name(m, station.value));
            let is = on.map_or("hangs in the jaw".to_string(), |s| format!("stands on `{}`", station_name(m, s)));
            LET_GO_UNSUPPORTED
                .at(station.span, format!("`{name}` {is} here, so it cannot be let go of on `{wanted}`"))
                .help(format!("write `lower {name} onto {wanted}: MOVE` before this step"))
        });
        return;
    }
    if !m.p.cell.stations[station.value.at()].supports {
        fits(m, load, station, sink);
    }
    at_station(m, station.value, station.span, sink);
}
