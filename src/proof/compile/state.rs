//! States and margins as data.

use crate::compiled as data;
use crate::model::procedure::Procedure;
use crate::space::Survey;
use crate::trace::state::{Entry, Held, Known, Opening, Phase, Place};
use crate::trace::{Margin, Trace};

pub(super) fn state(trace: &Trace, survey: &Survey, root: &Procedure, p: &Procedure, entry: &Entry) -> data::State {
    let s = &entry.state;
    let place = |place: Place| match place {
        Place::On(station) => Some(p.cell.stations[station.at()].name.value.clone()),
        Place::Jaw => Some("jaw".to_string()),
        Place::Unsaid => None,
    };
    let joints = s.joints().iter().map(|r| data::Readout {
        low: r.low.0,
        high: r.high.0,
        nominal: r.nominal.0,
        known: match r.known {
            Known::Readout => "readout",
            Known::ByEye => "by-eye",
            Known::Range => "range",
            Known::Unread => "unread",
            Known::UnreadRange => "unread-range",
            Known::Muted => "unknown",
        }
        .to_string(),
    });
    data::State {
        way: trace.path(root, entry.path),
        joints: joints.collect(),
        jaw: match s.jaw {
            Opening::Between(low, high) => Some((low.0, high.0)),
            Opening::Undeclared | Opening::Muted => None,
        },
        level: s.level.map(|l| p.arm.jaw.levels[l.at()].name.value.clone()),
        held: s.held().map(|h| held(trace, survey, root, p, h)),
        held_unknown: s.is_held_unknown(),
        tool: s.tool.map(|t| p.arm.tools[t.at()].name.value.clone()),
        power: s.power,
        view: s.view.map(|v| p.cell.views[v.at()].name.value.clone()),
        loads: s.places().map(|(load, at)| (p.cell.loads[load.at()].name.value.clone(), place(at))).collect(),
        equipment: p
            .cell
            .equipment
            .iter()
            .zip(s.equipment_states())
            .map(|(e, at)| (e.name.value.clone(), e.states[at.at()].value.clone()))
            .collect(),
        elapsed_least: entry.elapsed.least,
        elapsed_most: entry.elapsed.most,
    }
}

fn held(trace: &Trace, survey: &Survey, root: &Procedure, p: &Procedure, held: Held) -> data::Held {
    data::Held {
        load: p.cell.loads[held.load.at()].name.value.clone(),
        phase: match held.phase {
            Phase::Supported(_) => "supported",
            Phase::Leaving(_) => "leaving",
            Phase::LiftedClear(_) => "lifted-clear",
            Phase::Carried => "carried",
            Phase::SetOn(_) => "set-on",
        }
        .to_string(),
        from: held.from.map(|s| p.cell.stations[s.at()].name.value.clone()),
        body: survey.scene.as_ref().ok().and_then(|scene| scene.held(root, trace, held)),
    }
}

pub(super) fn margin(p: &Procedure, margin: Margin, value: i64) -> data::Margin {
    let (of, subject) = match margin {
        Margin::ToLow(j) => ("to-low-limit", &p.arm.joint(j).name.value),
        Margin::ToHigh(j) => ("to-high-limit", &p.arm.joint(j).name.value),
        Margin::Direction(j) => ("direction", &p.arm.joint(j).name.value),
        Margin::Taps(j) => ("taps", &p.arm.joint(j).name.value),
        Margin::Holds(l, _) => ("holds", &p.cell.loads[l.at()].name.value),
        Margin::Crush(l, _) => ("crush", &p.cell.loads[l.at()].name.value),
        Margin::Opening(l) => ("opening", &p.cell.loads[l.at()].name.value),
    };
    data::Margin { of: of.to_string(), subject: subject.clone(), value }
}
