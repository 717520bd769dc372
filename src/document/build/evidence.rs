//! What was worked out step by step as tables, from the compiled form. Every number is rounded away from acceptance.

use super::Basis;
use crate::compiled::{self, Compiled, Margined};
use crate::document::Field;
use crate::document::evidence::{Evidence, Grid, Line};
use crate::document::wording::listed;
use crate::units::{Round, shown};
use crate::words::Words;
use crate::words::ids::{self, Entry};

/// Columns that have a worst value.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Column {
    Room,
    Clearance,
    Tilt,
    Grip,
    Presses,
    Drive,
}

/// A value before its id is given: key, words, and what it uses of its limit where its column has a worst.
type Cell = (String, String, Option<(Column, i64)>);

impl Basis<'_> {
    /// The tables; none in an edition that is not for reviewers.
    pub(super) fn evidence(&self) -> Option<Evidence> {
        let compiled = self.sources.compiled.filter(|_| self.sources.edition.is_reviewed())?;
        let words = self.words();
        let steps = &compiled.package.evidence;
        if steps.is_empty() {
            return None;
        }
        let said = |entries: &[Entry<0>]| entries.iter().map(|e| words.say(*e).to_owned()).collect::<Vec<_>>();
        let near_of = |n, near| nearest("evidence", n, near, compiled, words);
        let close = |values: [Field; 6]| values.map(|value| vec![Line { value, worst: false }]).into();
        let closest = Grid {
            heading: words.say(ids::EVIDENCE_NEAREST).to_owned(),
            about: words.say(ids::EVIDENCE_NEAREST_ABOUT).to_owned(),
            widths: "5 14 4 8 9 4",
            head: said(&NEAREST),
            rows: (1..).zip(&compiled.package.nearest).map(|(n, near)| close(near_of(n, near))).collect(),
        };
        let cells: Vec<Vec<Vec<Cell>>> = steps.iter().map(|e| row(e, compiled, words)).collect();
        let worst = |column| cells.iter().flatten().flatten().filter_map(|c| c.2.filter(|(of, _)| *of == column)).map(|c| c.1).max();
        let is_worst = |rank: Option<(Column, i64)>| rank.is_some_and(|(column, used)| worst(column) == Some(used));
        let rows = (1..).zip(&cells).map(|(n, row)| {
            let line = |(key, text, rank): &Cell| Line {
                value: Field::new(format!("evidence.step{n}.of-{key}"), text.as_str()),
                worst: is_worst(*rank),
            };
            row.iter().map(|cell| cell.iter().map(line).collect()).collect()
        });
        let by_step = Grid {
            heading: words.say(ids::EVIDENCE_STEPS).to_owned(),
            about: words.say(ids::EVIDENCE_STEPS_ABOUT).to_owned(),
            widths: "4 7 8 8 6 10 7 9 11 10",
            head: said(&[
                ids::EVIDENCE_STEP,
                ids::EVIDENCE_JOINT,
                ids::EVIDENCE_FROM,
                ids::EVIDENCE_TO,
                ids::EVIDENCE_ROOM,
                ids::EVIDENCE_BETWEEN,
                ids::EVIDENCE_CLEARANCE,
                ids::EVIDENCE_LOAD,
                ids::EVIDENCE_GRIP,
                ids::EVIDENCE_DRIVE,
            ]),
            rows: rows.collect(),
        };
        Some(Evidence {
            item: "evidence",
            heading: words.say(ids::EVIDENCE_TITLE).to_owned(),
            about: listed(
                "evidence.about",
                said(&[ids::EVIDENCE_INPUTS, ids::EVIDENCE_LEFT_OUT, ids::EVIDENCE_SUM, ids::EVIDENCE_ROUNDED]),
            ),
            grids: vec![closest, by_step],
        })
    }
}

/// "+19.4" in the decimals of a read-out, outwards.
pub(super) fn angle(value: i64, decimals: u8, round: Round) -> String {
    let text = shown(value, 1000, u32::from(decimals), round);
    if value >= 0 { format!("+{text}") } else { text }
}
fn span(low: i64, high: i64, decimals: u8, words: &Words) -> String {
    words.fill(ids::EVIDENCE_SPAN, [&angle(low, decimals, Round::Down), &angle(high, decimals, Round::Up)])
}
fn mm(value: i64, round: Round) -> String {
    shown(value, 1000, 0, round)
}
fn newton(value: i64, round: Round) -> String {
    shown(value, 1000, 0, round)
}
fn percent(used: i64) -> String {
    shown(used, 10_000, 0, Round::Up)
}
fn used(value: i64, limit: i64) -> i64 {
    compiled::used(value, limit)
}

fn row(e: &compiled::Evidence, compiled: &Compiled, words: &Words) -> Vec<Vec<Cell>> {
    let plain = |key: &str, text: String| -> Cell { (key.to_owned(), text, None) };
    let unseen = || words.say(ids::EVIDENCE_NOT_LOOKED_AT).to_owned();
    let [mut joint, mut from, mut to, mut room, mut between] = [const { Vec::new() }; 5];
    for (n, d) in (1..).zip(&e.driven) {
        let Some(of) = compiled.joints.get(d.joint) else { continue };
        joint.push(plain(&format!("joint{n}"), of.engraved.clone()));
        let start = d.from.map_or_else(|| words.say(ids::EVIDENCE_UNKNOWN).to_owned(), |[low, high]| span(low, high, of.decimals, words));
        from.push(plain(&format!("from{n}"), start));
        to.push(plain(&format!("to{n}"), span(d.to[0], d.to[1], of.decimals, words)));
        let left = shown(d.room, 1000, 1, Round::Down);
        let entry = if d.high { ids::EVIDENCE_TO_HIGH } else { ids::EVIDENCE_TO_LOW };
        room.push((format!("room{n}"), words.fill(entry, [&left]), Some((Column::Room, -d.room))));
    }
    if e.driven.is_empty() {
        joint.push(plain("jaw", words.say(ids::EVIDENCE_JAW).to_owned()));
        to.extend(
            e.jaw.map(|[low, high]| plain("opening", words.fill(ids::EVIDENCE_OPENING, [&mm(low, Round::Down), &mm(high, Round::Up)]))),
        );
    }
    let mut clearance = Vec::new();
    match &e.clearance {
        None => clearance.push(plain("clearance", unseen())),
        Some(c) => {
            between.extend(c.between.as_ref().map(|[a, b]| plain("between", words.fill(ids::EVIDENCE_PAIR, [a, b]))));
            between.extend(c.at.as_ref().map(|at| plain("at", words.say(along(at)).to_owned())));
            clearance.push(match c.least {
                Some(least) => {
                    let text = words.fill(ids::EVIDENCE_CLEAR, [&mm(least, Round::Down), &mm(c.wanted, Round::Up)]);
                    ("clearance".to_owned(), text, Some((Column::Clearance, -least)))
                }
                None => plain("clearance", words.say(ids::EVIDENCE_NOTHING).to_owned()),
            });
            let pairs: Vec<String> = c.may_touch.iter().map(|[a, b]| words.fill(ids::EVIDENCE_PAIR, [a, b])).collect();
            if !pairs.is_empty() {
                between.push(plain("touch", words.fill(ids::EVIDENCE_TOUCH, [&words.row(&pairs, ids::LIST_COMMA)])));
            }
        }
    }
    let mut load = Vec::new();
    for (n, name) in (1..).zip(&e.held) {
        let title = compiled.titles.iter().find(|t| t.kind == "load" && t.name == *name);
        let text = title.map_or_else(|| name.clone(), |t| words.fill(ids::EVIDENCE_HELD, [&t.title, t.mass.as_deref().unwrap_or("")]));
        load.push(plain(&format!("load{n}"), text));
    }
    match e.tilt {
        Some(t) => {
            let reached = shown(t.reached, 1000, 1, Round::Up);
            load.push(match t.limit {
                Some(limit) => {
                    let text = words.fill(ids::EVIDENCE_TILT_OF, [&reached, &shown(limit, 1000, 1, Round::Down)]);
                    ("tilt".to_owned(), text, Some((Column::Tilt, used(t.reached, limit))))
                }
                None => plain("tilt", words.fill(ids::EVIDENCE_TILT, [&reached])),
            });
        }
        None if !e.driven.is_empty() && !e.held.is_empty() => load.push(plain("tilt", words.say(ids::EVIDENCE_TILT_UNSEEN).to_owned())),
        None => {}
    }
    let mut grip = Vec::new();
    match &e.grip {
        Some(g) => {
            let share = used(g.needed, g.available);
            let entry = if g.moving { ids::EVIDENCE_GRIP_MOVING } else { ids::EVIDENCE_GRIP_RESTING };
            let text = words.fill(entry, [&g.level, &newton(g.needed, Round::Up), &newton(g.available, Round::Down), &percent(share)]);
            grip.push(("grip".to_owned(), text, Some((Column::Grip, share))));
            let [factor, friction] =
                [(g.factor, Round::Up), (g.friction, Round::Down)].map(|(value, round)| shown(value, 1_000_000, 2, round));
            grip.push(plain(
                "inputs",
                match g.lean {
                    Some(lean) => {
                        let (acceleration, lean) = (shown(g.acceleration, 1_000_000, 2, Round::Up), shown(lean, 1000, 1, Round::Down));
                        words.fill(ids::EVIDENCE_GRIP_SWAYED, [&factor, &friction, &acceleration, &lean])
                    }
                    None => words.fill(ids::EVIDENCE_GRIP_STILL, [&factor, &friction]),
                },
            ));
            if let Some(bears) = g.bears {
                let text = words.fill(ids::EVIDENCE_PRESSES, [&newton(g.presses, Round::Up), &newton(bears, Round::Down)]);
                grip.push(("presses".to_owned(), text, Some((Column::Presses, used(g.presses, bears)))));
            }
        }
        None if !e.held.is_empty() => grip.push(plain("grip", unseen())),
        None => {}
    }
    let drive = match &e.drive {
        Some(d) => {
            let share = used(d.needed, d.available);
            let name = compiled.joints.get(d.joint).map_or("", |j| &j.engraved);
            let (needed, available) = effort(d.pressure, d.needed, d.available);
            let text = words.fill(ids::EVIDENCE_EFFORT, [name, &needed, &available, &percent(share)]);
            ("drive".to_owned(), text, Some((Column::Drive, share)))
        }
        None => plain("drive", unseen()),
    };
    vec![vec![plain("step", e.step.clone())], joint, from, to, room, between, clearance, load, grip, vec![drive]]
}

/// "40.2", "85.0 bar"; torques in whole newton metres.
fn effort(pressure: bool, needed: i64, available: i64) -> (String, String) {
    let (per, decimals, unit) = if pressure { (100_000, 1, "bar") } else { (1000, 0, "Nm") };
    (shown(needed, per, decimals, Round::Up), format!("{} {unit}", shown(available, per, decimals, Round::Down)))
}

/// Where on the way of a step something is nearest.
pub(super) fn along(at: &str) -> Entry<0> {
    match at {
        "start" => ids::EVIDENCE_AT_START,
        "end" => ids::EVIDENCE_AT_END,
        _ => ids::EVIDENCE_AT_WAY,
    }
}

/// Numbers of steps, the first three of many.
fn some(steps: &[String], words: &Words) -> String {
    match steps {
        [a, b, c, _, rest @ ..] if !rest.is_empty() => {
            let first = words.row(&[a.clone(), b.clone(), c.clone()], ids::LIST_COMMA);
            words.fill(ids::EVIDENCE_MORE, [&first, &(rest.len() + 1).to_string()])
        }
        few => words.list(few, ids::LIST_AND),
    }
}

/// The heads of what is nearest to its limit.
pub(super) const NEAREST: [Entry<0>; 6] =
    [ids::EVIDENCE_WHAT, ids::EVIDENCE_SUBJECT, ids::EVIDENCE_STEP, ids::EVIDENCE_REACHED, ids::EVIDENCE_ALLOWED, ids::EVIDENCE_USED];

/// One line of it under an item, a value for each head.
pub(super) fn nearest(item: &str, n: usize, near: &compiled::Nearest, compiled: &Compiled, words: &Words) -> [Field; 6] {
    let joint = |name: &String| compiled.joints.iter().find(|j| j.name == *name).map_or_else(|| name.clone(), |j| j.engraved.clone());
    let load = |name: &String| {
        compiled.titles.iter().find(|t| t.kind == "load" && t.name == *name).map_or_else(|| name.clone(), |t| t.title.clone())
    };
    let (value, limit, reached) = (near.value, near.limit, near.reached());
    let (kind, [reached, allowed]) = match near.of {
        Margined::Travel => (
            ids::EVIDENCE_TRAVEL,
            [
                words.fill(ids::EVIDENCE_LEFT, [&format!("{reached} deg")]),
                words.fill(ids::EVIDENCE_HALF, [&shown(limit, 1000, 1, Round::Down)]),
            ],
        ),
        Margined::Clearance => (
            ids::EVIDENCE_APART,
            [words.fill(ids::EVIDENCE_LEFT, [&format!("{reached} mm")]), words.fill(ids::EVIDENCE_WANTED, [&mm(limit, Round::Up)])],
        ),
        Margined::Tilt => (ids::EVIDENCE_LEANS, [format!("{reached} deg"), format!("{} deg", shown(limit, 1000, 1, Round::Down))]),
        Margined::Grip => (ids::EVIDENCE_HOLDS, [format!("{reached} N"), format!("{} N", newton(limit, Round::Down))]),
        Margined::Crush => (ids::EVIDENCE_CRUSHES, [format!("{reached} N"), format!("{} N", newton(limit, Round::Down))]),
        Margined::Pressure => (ids::EVIDENCE_PRESSURE, [format!("{reached} bar"), effort(true, value, limit).1]),
        Margined::Torque => (ids::EVIDENCE_TORQUE, [format!("{reached} Nm"), effort(false, value, limit).1]),
    };
    let subject = match (near.of, near.subject.as_slice()) {
        (Margined::Clearance, [a, b]) => words.fill(ids::EVIDENCE_PAIR, [a, b]),
        (Margined::Travel | Margined::Pressure | Margined::Torque, [name]) => joint(name),
        (_, names) => words.row(&names.iter().map(load).collect::<Vec<_>>(), ids::LIST_COMMA),
    };
    [
        ("kind", words.say(kind).to_owned()),
        ("subject", subject),
        ("step", some(&near.steps, words)),
        ("reached", reached),
        ("allowed", allowed),
        ("used", format!("{} %", percent(near.used))),
    ]
    .map(|(key, text)| Field::new(format!("{item}.nearest{n}.of-{key}"), text))
}
