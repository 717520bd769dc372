//! What a thing of the body says, in one line.

use crate::document::{Act, Alert, Band, Block, Field, Goal, Prose, Travel};

/// Longest, in letters.
const LONGEST: usize = 90;

pub(super) fn gist(block: &Block) -> String {
    let mut out = match block {
        Block::Section(s) => s.heading.text(),
        Block::Checks(c) => join(c.checks.iter().map(Prose::text)),
        Block::Alert(a) => alert(a),
        Block::Step(s) => act(&s.act),
        Block::Hold(h) => format!("{} {}", h.name.text, h.role.text),
        Block::Verify(v) => format!("{} {}", v.of.text, v.role.text),
        Block::Reading(r) => {
            let band: Vec<&Field> = match &r.band {
                Band::Between { low, high } => vec![low, high],
                Band::Below { high } => vec![high],
                Band::Above { low } => vec![low],
            };
            join([&r.quantity, &r.instrument].into_iter().chain(band).map(|f| f.text.clone()))
        }
        Block::Wait(w) => join([Some(&w.least), w.most.as_ref()].into_iter().flatten().map(|f| f.text.clone())),
        Block::Condition(c) => c.text.text(),
        Block::Repeat(r) => r.until.text(),
        Block::Perform(p) => p.of.text(),
        Block::Turnover(t) => t.held.text.clone(),
        Block::Text { paragraphs, .. } => join(paragraphs.iter().map(Prose::text)),
        Block::Table(t) => join(t.rows.iter().flatten().map(Prose::text)),
        Block::Strip(_) | Block::Figure(_) => String::new(),
    };
    if let Some((end, _)) = out.char_indices().nth(LONGEST) {
        out.truncate(end);
        out.push_str(" ...");
    }
    out
}

fn join(parts: impl IntoIterator<Item = String>) -> String {
    parts.into_iter().collect::<Vec<_>>().join(" ")
}

fn alert(a: &Alert) -> String {
    join([&a.hazard, &a.consequence, &a.avoid].into_iter().flatten().chain(&a.text).map(Prose::text))
}

fn travel(t: &Travel) -> String {
    let end = match &t.goal {
        Goal::To { target, .. } => target,
        Goal::Until { cue, .. } => cue,
        Goal::Taps { tap, .. } => tap,
    };
    join([&t.joint, &t.direction, end].map(|f| f.text.clone()))
}

fn act(act: &Act) -> String {
    let words = |fields: &[&Field]| join(fields.iter().map(|f| f.text.clone()));
    match act {
        Act::Move(t) => travel(t),
        Act::Together { moves, .. } => moves.iter().map(travel).collect::<Vec<_>>().join(", "),
        Act::Lift { load, station, travel: t } | Act::Lower { load, station, travel: t } => {
            format!("{}, {}", words(&[load, station]), travel(t))
        }
        Act::Grip { level } => words(&[level]),
        Act::Close { load } => words(&[load]),
        Act::Jaw { word, opening, .. } => words(&[word, opening]),
        Act::LetGo { load, station, opening, .. } => words(&[load, station, opening]),
        Act::Power { state } => words(&[state]),
        Act::View { view, monitor } => join([Some(view), monitor.as_ref()].into_iter().flatten().map(|f| f.text.clone())),
        Act::Tell { role } => words(&[role]),
        Act::ReadJoints { readouts } => readouts.iter().map(|r| words(&[&r.joint, &r.expected])).collect::<Vec<_>>().join(", "),
        Act::Expect { at, .. } => words(&[at]),
        Act::Fit { tool } | Act::PutDown { tool } => words(&[tool]),
        Act::Set { equipment, state } => words(&[equipment, state]),
        Act::Record { name } => words(&[name]),
        Act::Check { what } => what.as_ref().map(Prose::text).unwrap_or_default(),
        Act::Instruction { text } | Act::GoTo { to: text } => text.text(),
    }
}
