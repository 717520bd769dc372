//! What is told of a step as data.

use crate::compiled as data;
use crate::geometry::picture::Agreement;
use crate::model::procedure::Procedure;
use crate::space::Survey;
use crate::space::pictures::Pictured;
use crate::space::sight::say;
use crate::space::stops::{Back, Stop};
use crate::trace::{RowId, Trace};
use crate::units::Angle;

/// What is told of a printed step of `p`; none where there is nothing to tell.
pub(super) fn told(root: &Procedure, trace: &Trace, survey: &Survey, p: &Procedure, row: RowId) -> Option<data::Told> {
    let scene = survey.scene.as_deref().ok()?;
    let told = survey.told(root, trace).ok()?.get(&row)?;
    let meets = |(a, b): (usize, usize)| [a, b].map(|i| scene.things[i].title.clone());
    let angle = |joint: crate::model::JointId, a: Angle| data::Angle { value: a.0, text: a.signed(p.arm.joint(joint).decimals) };
    Some(data::Told {
        stopped: told.stop.map(stopped),
        degrees: told.degrees.iter().map(|(joint, moves)| data::Degree { joint: joint.at(), moves: *moves }).collect(),
        against: told.against.iter().map(|(joint, way)| data::Against { joint: joint.at(), way: way.words().to_owned() }).collect(),
        alone: told
            .alone
            .iter()
            .map(|l| data::Alone { joint: l.joint.at(), clear_to: l.clear_to.map(|a| angle(l.joint, a)), meets: meets(l.pair) })
            .collect(),
        beyond: told
            .beyond
            .iter()
            .map(|r| data::Beyond { joint: r.joint.at(), clear_to: angle(r.joint, r.clear_to), meets: meets(r.pair), seen: r.seen })
            .collect(),
        pictures: told.pictures.iter().map(|seen| pictured(p, seen)).collect(),
        order: told.swapped.map(|(next, pair)| data::Order { next: trace.number(root, next).to_string(), meets: meets(pair) }),
        falls: told.fall.filter(|_| !told.over.is_empty()),
        over: told.over.iter().map(|(i, height)| data::Over { thing: scene.things[*i].title.clone(), height: *height }).collect(),
        near: told.near,
        drops: told
            .drops
            .as_ref()
            .map(|drops| data::Dropped { falls: drops.fall, onto: drops.onto.iter().map(|i| scene.things[*i].title.clone()).collect() }),
        sag: told.sag.as_ref().map(|s| data::Sinking { clear: s.clear, meets: s.meets.map(meets) }),
    })
}

fn pictured(p: &Procedure, seen: &Pictured) -> data::Pictured {
    let shown = |agrees: Agreement| match agrees {
        Agreement::Agrees => data::Shown::Same,
        Agreement::Aside => data::Shown::Aside,
        Agreement::Reversed => data::Shown::Opposite,
        Agreement::Partly(from, to) => data::Shown::OppositeBetween(from, to),
    };
    data::Pictured {
        joint: seen.joint.at(),
        view: p.cell.views[seen.view.at()].title.clone(),
        word: seen.word.map(shown),
        stick: seen.stick.map(shown),
        goes: seen.ways.iter().map(|way| say(*way).to_owned()).collect(),
        away: seen.away,
    }
}

fn stopped(stop: Stop) -> data::Stopped {
    let last = match stop.back {
        Back::Last(joint) => Some(joint.at()),
        Back::Not | Back::Free => None,
    };
    data::Stopped { on: stop.on, back: stop.back != Back::Not, last, untouched: stop.untouched }
}
