//! The jaw itself: opening, grip level, force, tool.

use super::super::doubt::Part;
use super::super::measure;
use super::super::state::{Grasp, Opening};
use super::{Moment, Sink};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::{LevelId, LoadId, ToolId};
use crate::text::{Span, Spanned};
use crate::units::Length;

const fn rule(
    id: &'static str,
    physical: bool,
    evidence: Evidence,
    summary: &'static str,
    why: &'static str,
    bad: &'static [Example],
    good: &'static [Example],
) -> Rule {
    Rule { id, family: Family::Grip, severity: Severity::Error, physical, summary, why, evidence, bad, good }
}

/// How the grip force is found.
const FORCE: Evidence = Evidence::Memory("friction grip of two parallel pads, N = S m g / (2 mu) per jaw; handbook formula");

/// Closing without a level.
pub static NO_GRIP_LEVEL: Rule = rule(
    "no-grip-level",
    true,
    Evidence::CommonPractice,
    "a load is gripped or carried before a grip level was chosen",
    "The level left from the task before is used then. It may be too weak for this load or may crush it.",
    &[
        Example::steps(concat!(at_cup!(), "7. `close on ⟦cup⟧`\n")),
        Example::procedure(concat!(start!("\"60 mm\"", "{ cup = ⟦\"held\"⟧ }"), "1. `power on arm`\n2. `base left to +30 deg`\n")),
    ],
    &[
        Example::steps(concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n")),
        Example::procedure(concat!(
            start!("\"60 mm\"", "{ cup = \"held\" }"),
            "1. `power on arm`\n2. `grip level 2`\n3. `base left to +30 deg`\n"
        )),
    ],
);

/// A level that does not hold the load.
pub static GRIP_TOO_WEAK: Rule = rule(
    "grip-too-weak",
    true,
    FORCE,
    "the chosen grip level may not hold the load",
    "The load slips out of the jaw when it is lifted or moved. The least force of the level must hold the greatest mass with the site's factor at the lowest friction.",
    &[Example::steps(concat!(at_cup!(), "7. `grip level 1`\n8. `close on ⟦cup⟧`\n"))],
    &[Example::steps(concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n"))],
);

/// A level that crushes the load.
pub static GRIP_CRUSHES: Rule = rule(
    "grip-crushes",
    true,
    Evidence::Definition,
    "the chosen grip level may crush the load",
    "The greatest force the level allows is more than the load bears. Levels are often left high from a heavier load.",
    &[
        Example::steps(concat!(at_cup!(), "7. `grip level 3`\n8. `close on ⟦cup⟧`\n")),
        Example::steps(concat!(take_cup!(), "10. `grip level ⟦4⟧`\n")),
    ],
    &[Example::steps(concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n"))],
);

/// The jaw does not go over the load.
pub static OPENING_TOO_NARROW: Rule = rule(
    "opening-too-narrow",
    true,
    Evidence::Definition,
    "the jaw is not certain to be open wide enough for the load",
    "The pads come down on the load instead of beside it, or drag it along when they leave.",
    &[
        Example::steps(
            "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 81 mm`\n6. `shoulder lower to -10 deg`\n7. `grip level 2`\n8. `close on ⟦cup⟧`\n",
        ),
        Example::steps(concat!(
            take_cup!(),
            "10. `lower cup onto cradle: shoulder lower to -10 deg`\n11. `let go of cup on cradle, open to ⟦70 mm⟧`\n"
        )),
    ],
    &[
        Example::steps(concat!(at_cup!(), "7. `grip level 2`\n8. `close on cup`\n")),
        Example::steps(concat!(
            take_cup!(),
            "10. `lower cup onto cradle: shoulder lower to -10 deg`\n11. `let go of cup on cradle, open to 90 mm`\n"
        )),
    ],
);

/// An opening the jaw cannot have.
pub static OPENING_OUT_OF_RANGE: Rule = rule(
    "opening-out-of-range",
    true,
    Evidence::Definition,
    "an opening is asked for that the jaw cannot have",
    "The operator would press the lever against the end of the jaw's travel and wait for a read-out that never comes.",
    &[Example::steps("1. `power on arm`\n2. `jaw open to ⟦170 mm⟧`\n")],
    &[Example::steps("1. `power on arm`\n2. `jaw open to 150 mm`\n")],
);

/// Open that closes, close that opens.
pub static JAW_WRONG_WAY: Rule = rule(
    "jaw-wrong-way",
    true,
    Evidence::Definition,
    "the jaw is told to open to less, or to close to more, than it is open",
    "The operator acts on the word first. The other way round it takes hold of something, or lets go of it.",
    &[Example::steps("1. `power on arm`\n2. ⟦`jaw open to 40 mm`⟧\n"), Example::steps("1. `power on arm`\n2. ⟦`jaw close to 60 mm`⟧\n")],
    &[Example::steps("1. `power on arm`\n2. `jaw open to 60 mm`\n3. `jaw close to 40 mm`\n")],
);

/// Opened or closed with a load in it.
pub static OPENED_WHILE_HOLDING: Rule = rule(
    "opened-while-holding",
    true,
    Evidence::Definition,
    "the jaw is opened or closed to a length while it holds a load",
    "Opening a jaw that holds something drops it. The step that lets go of a load says so, names the load, and says where it stands.",
    &[Example::steps(concat!(take_cup!(), "10. ⟦`jaw open to 120 mm`⟧\n"))],
    &[Example::steps("1. `power on arm`\n2. `jaw open to 120 mm`\n")],
);

/// Closed to a length with a load between the pads.
pub static CLOSED_ON_UNNAMED: Rule = rule(
    "closed-on-unnamed",
    true,
    Evidence::Definition,
    "the jaw closes to a length while a load stands between its pads",
    "The pads come down on the load before they reach the length, with no level chosen for it, and whatever moves next takes it along. The step that takes hold of a load says so and names it.",
    &[
        Example::steps(concat!(at_cup!(), "7. ⟦`jaw close to 60 mm`⟧\n")),
        Example::steps(concat!(
            at_cup!(),
            "7. `grip level 2`\n8. `close on cup`\n9. `let go of cup on cradle, open to 90 mm`\n10. ⟦`jaw close to 50 mm`⟧\n"
        )),
    ],
    &[
        Example::steps(concat!(at_cup!(), "7. `jaw close to 70 mm`\n")),
        Example::steps(concat!(at_cup!(), "7. `shoulder raise to +20 deg`\n8. `jaw close to 50 mm`\n")),
    ],
);

/// A tool where the load should go, or the other way round.
pub static TOOL_IN_THE_WAY: Rule = rule(
    "tool-in-the-way",
    true,
    Evidence::Definition,
    "a tool is fitted, missing or in the way where the step needs it otherwise",
    "A tool that fills the jaw leaves no room for a load, and a tool that is not fitted cannot be put down. The writer had another state of the arm in mind.",
    &[
        Example::steps(
            "1. `power on arm`\n2. `fit hook`\n3. `base left to +30 deg`\n4. `wrist-pitch lower to -20 deg`\n5. `elbow extend to 90 deg`\n6. `jaw open to 90 mm`\n7. `shoulder lower to -10 deg`\n8. `grip level 2`\n9. `close on ⟦cup⟧`\n",
        ),
        Example::steps("1. `power on arm`\n2. `put down ⟦hook⟧`\n"),
        Example::steps("1. `power on arm`\n2. `fit hook`\n3. `fit ⟦hook⟧`\n"),
    ],
    &[Example::steps("1. `power on arm`\n2. `fit hook`\n3. `put down hook`\n")],
);

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[
    &NO_GRIP_LEVEL,
    &GRIP_TOO_WEAK,
    &GRIP_CRUSHES,
    &OPENING_TOO_NARROW,
    &OPENING_OUT_OF_RANGE,
    &JAW_WRONG_WAY,
    &OPENED_WHILE_HOLDING,
    &CLOSED_ON_UNNAMED,
    &TOOL_IN_THE_WAY,
];

fn say_opening(opening: Opening) -> String {
    match opening {
        Opening::Between(low, high) if low == high => low.to_string(),
        Opening::Between(low, high) => format!("between {low} and {high}"),
        Opening::Undeclared | Opening::Muted => "not known".to_string(),
    }
}

pub(super) fn opens(m: &Moment<'_>, open: bool, to: Spanned<Length>, sink: &mut Sink<'_>) {
    if let Grasp::Held(held) = m.before.grasp {
        let span = m.step.head;
        sink.rest(&OPENED_WHILE_HOLDING, span, &[Part::Load(held.load)], &[], || {
            let load = &m.p.cell.loads[held.load.at()].name.value;
            OPENED_WHILE_HOLDING
                .at(span, format!("the jaw holds `{load}` here"))
                .help(format!("to put it down, write `let go of {load} on STATION, open to {}`", to.value))
        });
        return;
    }
    range(m, to, sink);
    if !open && let Some((load, station)) = super::transfer::between_pads(m) {
        let data = &m.p.cell.loads[load.at()];
        if to.value - m.p.arm.jaw.tolerance.value < data.grip_width.value {
            let (span, name, on) = (m.step.head, &data.name.value, &m.p.cell.stations[station.at()].name.value);
            return sink.put(&CLOSED_ON_UNNAMED, span, || {
                CLOSED_ON_UNNAMED
                    .at(span, format!("`{name}` stands on `{on}` between the pads here, and is {} wide", data.grip_width.value))
                    .label(data.grip_width.span, "the width of the load")
                    .help(format!("write `close on {name}`, or move the jaw away before it closes"))
                    .number("asked", to.value)
                    .number("grip width", data.grip_width.value)
            });
        }
    }
    let Opening::Between(low, high) = m.before.jaw else { return };
    let wrong = if open { to.value <= high } else { to.value >= low };
    if wrong {
        let span = m.step.head;
        sink.rest(&JAW_WRONG_WAY, span, &[Part::Opening], &[Part::Opening], || {
            let (word, other) = if open { ("open", "close") } else { ("close", "open") };
            JAW_WRONG_WAY
                .at(span, format!("the jaw is {} open here, so it cannot {word} to {}", say_opening(m.before.jaw), to.value))
                .help(format!("write `jaw {other} to {}`, or correct the length", to.value))
                .number("opening", say_opening(m.before.jaw))
                .number("asked", to.value)
        });
    }
}

fn range(m: &Moment<'_>, to: Spanned<Length>, sink: &mut Sink<'_>) {
    let jaw = &m.p.arm.jaw;
    if to.value >= jaw.least.value && to.value <= jaw.most.value {
        return;
    }
    sink.rest(&OPENING_OUT_OF_RANGE, to.span, &[], &[Part::Opening], || {
        OPENING_OUT_OF_RANGE
            .at(to.span, format!("the jaw opens from {} to {}, not to {}", jaw.least.value, jaw.most.value, to.value))
            .label(jaw.span, "the jaw's range")
            .help(format!("choose an opening from {} to {}", jaw.least.value, jaw.most.value))
            .number("asked", to.value)
            .number("least", jaw.least.value)
            .number("most", jaw.most.value)
    });
}

pub(super) fn level(m: &Moment<'_>, level: Spanned<LevelId>, sink: &mut Sink<'_>) {
    if let Some(held) = m.before.held() {
        force(m, level.value, held.load, level.span, sink);
    }
}

pub(super) fn closes(m: &Moment<'_>, load: Spanned<LoadId>, sink: &mut Sink<'_>) {
    let data = &m.p.cell.loads[load.value.at()];
    if m.before.held().is_some_and(|h| h.load != load.value) {
        return; // the wrong load altogether
    }
    match m.before.level {
        Some(level) => force(m, level, load.value, load.span, sink),
        None if m.before.grasp == Grasp::Muted => {}
        None => sink.rest(&NO_GRIP_LEVEL, load.span, &[Part::Level], &[], || {
            NO_GRIP_LEVEL
                .at(load.span, format!("no grip level was chosen before the jaw closes on `{}`", data.name.value))
                .help(suits(m, load.value))
        }),
    }
    if m.before.held().is_some() {
        return;
    }
    let needed = measure::width_needed(data);
    let wide = match m.before.jaw {
        Opening::Between(low, _) => low >= needed,
        Opening::Undeclared => false,
        Opening::Muted => true,
    };
    if !wide {
        sink.rest(&OPENING_TOO_NARROW, load.span, &[Part::Opening], &[], || {
            OPENING_TOO_NARROW
                .at(
                    load.span,
                    format!(
                        "the jaw's opening is {} here; to go over `{}` it must be at least {needed}",
                        say_opening(m.before.jaw),
                        data.name.value
                    ),
                )
                .mark(format!("needs {needed}"))
                .label(data.grip_width.span, format!("grip width {}", data.grip_width.value))
                .help(format!("open the jaw to {} or more before the arm comes down", needed + m.p.arm.jaw.tolerance.value))
                .number("needed", needed)
        });
    }
    if let Some(tool) = m.before.tool.filter(|t| !m.p.arm.tools[t.at()].leaves_jaw_free) {
        sink.rest(&TOOL_IN_THE_WAY, load.span, &[Part::Tool], &[], || {
            let tool = &m.p.arm.tools[tool.at()].name;
            TOOL_IN_THE_WAY
                .at(load.span, format!("`{}` is fitted and leaves no room for `{}` in the jaw", tool.value, data.name.value))
                .label(tool.span, "the tool")
                .help(format!("put a step `put down {}` before this one", tool.value))
        });
    }
}

pub(super) fn lets_go(m: &Moment<'_>, load: Spanned<LoadId>, to: Spanned<Length>, sink: &mut Sink<'_>) {
    range(m, to, sink);
    let data = &m.p.cell.loads[load.value.at()];
    let needed = measure::width_needed(data);
    let tolerance = m.p.arm.jaw.tolerance.value;
    if to.value - tolerance < needed && to.value <= m.p.arm.jaw.most.value {
        sink.rest(&OPENING_TOO_NARROW, to.span, &[], &[Part::Opening], || {
            OPENING_TOO_NARROW
                .at(
                    to.span,
                    format!("open to {} the jaw may still touch `{}`, which needs {needed} to come free", to.value, data.name.value),
                )
                .mark(format!("at least {}", needed + tolerance))
                .label(data.grip_width.span, format!("grip width {}", data.grip_width.value))
                .number("asked", to.value)
                .number("needed", needed)
        });
    }
}

fn force(m: &Moment<'_>, id: LevelId, load: LoadId, span: Span, sink: &mut Sink<'_>) {
    let (level, data) = (&m.p.arm.jaw.levels[id.at()], &m.p.cell.loads[load.at()]);
    // A load and a jaw without friction are the models' own fault, told there.
    let Some(needed) = measure::force_needed(m.p, data) else { return };
    if level.least.value < needed {
        sink.rest(&GRIP_TOO_WEAK, span, &[Part::Level], &[Part::Level], || {
            GRIP_TOO_WEAK
                .at(
                    span,
                    format!(
                        "grip level {} holds with at least {}, but `{}` of up to {} needs {needed} per jaw",
                        level.name.value, level.least.value, data.name.value, data.mass_at_most.value
                    ),
                )
                .label(level.least.span, format!("the least force of level {}", level.name.value))
                .label(data.mass_at_most.span, "the greatest mass")
                .help(suits(m, load))
                .number("least force", level.least.value)
                .number("needed", needed)
        });
    }
    if let Some(crush) = data.crush.filter(|c| level.most.value > c.value) {
        sink.rest(&GRIP_CRUSHES, span, &[Part::Level], &[Part::Level], || {
            GRIP_CRUSHES
                .at(
                    span,
                    format!(
                        "grip level {} can press with {}, but `{}` bears {}",
                        level.name.value, level.most.value, data.name.value, crush.value
                    ),
                )
                .label(crush.span, "what the load bears")
                .label(level.most.span, format!("the greatest force of level {}", level.name.value))
                .help(suits(m, load))
                .number("most force", level.most.value)
                .number("crush", crush.value)
        });
    }
}

/// Which levels would do.
pub(super) fn suits(m: &Moment<'_>, load: LoadId) -> String {
    let data = &m.p.cell.loads[load.at()];
    let levels: Vec<&str> =
        m.p.arm.jaw.levels.iter().filter(|l| measure::level_suits(m.p, l, data)).map(|l| l.name.value.as_str()).collect();
    match levels[..] {
        [] => format!("no grip level of this arm both holds `{}` and does not crush it", data.name.value),
        [one] => format!("grip level {one} would do"),
        _ => format!("grip levels {} would do", levels.join(", ")),
    }
}

pub(super) fn tool(m: &Moment<'_>, tool: Spanned<ToolId>, on: bool, sink: &mut Sink<'_>) {
    let name = &m.p.arm.tools[tool.value.at()].name.value;
    let part = m.before.held().map_or(Part::Tool, |h| Part::Load(h.load));
    let problem = match (on, m.before.tool, m.before.held()) {
        (_, _, Some(held)) => {
            format!("the jaw holds `{}` here, so no tool can be fitted or put down", m.p.cell.loads[held.load.at()].name.value)
        }
        (true, Some(other), _) => format!("`{}` is fitted already", m.p.arm.tools[other.at()].name.value),
        (false, Some(other), _) if other != tool.value => format!("`{}` is fitted, not `{name}`", m.p.arm.tools[other.at()].name.value),
        (false, None, _) => format!("`{name}` is not fitted, so it cannot be put down"),
        _ => return,
    };
    if m.before.grasp != Grasp::Muted {
        sink.rest(&TOOL_IN_THE_WAY, tool.span, &[part], &[], || {
            TOOL_IN_THE_WAY.at(tool.span, problem).help("correct the steps before this one")
        });
    }
}
