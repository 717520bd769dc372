//! What was worked out step by step, against the compiled data: numbers rounded here anew, never to the better.

use super::Differences;
use crate::compiled::{Compiled, Evidence, Margined, Nearest};
use crate::readback::{Item, Said};
use std::collections::BTreeMap;

/// A decimal that is not above, or not below, `value` thousandths of `thousand` units.
pub(super) fn decimal(value: i64, per: i64, decimals: u32, above: bool) -> String {
    let scale = 10_i128.pow(decimals);
    let (top, per) = (i128::from(value) * scale, i128::from(per));
    let down = top.div_euclid(per);
    let whole = if above && down * per != top { down + 1 } else { down };
    let (sign, size) = (if whole < 0 { "-" } else { "" }, whole.unsigned_abs());
    let scale = scale.unsigned_abs();
    match decimals {
        0 => format!("{sign}{size}"),
        n => format!("{sign}{}.{:0n$}", size / scale, size % scale, n = n as usize),
    }
}

pub(super) fn signed(value: i64, decimals: u8, above: bool) -> String {
    let text = decimal(value, 1000, u32::from(decimals), above);
    if value < 0 { text } else { format!("+{text}") }
}

/// A share of a limit in whole hundredths, never less than it is.
pub(super) fn percent(value: i64, limit: i64) -> String {
    let hundredths =
        if limit <= 0 { i128::from(i64::MAX) } else { (i128::from(value.max(0)) * 100 + i128::from(limit) - 1) / i128::from(limit) };
    hundredths.to_string()
}

impl Differences<'_> {
    /// Every value of every row is printed as it was worked out, and none besides.
    pub(super) fn evidence(&mut self, items: &[Item]) {
        let Some(item) = items.iter().find(|i| i.id == "evidence") else {
            if items.iter().any(|i| i.id == "package") && !self.compiled.package.evidence.is_empty() {
                self.list.push("what was worked out step by step is not printed".to_owned());
            }
            return;
        };
        let mut wanted: BTreeMap<String, String> = BTreeMap::new();
        for (n, id) in (1..).zip(["inputs", "left-out", "sum", "rounded"]) {
            wanted.insert(format!("evidence.about{n}"), self.said.say(&format!("evidence.{id}")).to_owned());
        }
        for (n, e) in (1..).zip(&self.compiled.package.evidence) {
            wanted.extend(of_step(e, self.compiled, self.said).into_iter().map(|(key, text)| (format!("evidence.step{n}.of-{key}"), text)));
        }
        for (n, near) in (1..).zip(&self.compiled.package.nearest) {
            wanted.extend(of_nearest(near, self.compiled, self.said).map(|(key, text)| (format!("evidence.nearest{n}.of-{key}"), text)));
        }
        self.held_to(&item.values, wanted);
    }
}

fn of_step(e: &Evidence, compiled: &Compiled, said: &Said) -> Vec<(String, String)> {
    let mut out = vec![("step".to_owned(), e.step.clone())];
    let mut put = |key: &str, text: String| out.push((key.to_owned(), text));
    let pair = |[a, b]: &[String; 2]| said.fill("evidence.pair", &[("a", a), ("b", b)]);
    let unseen = said.say("evidence.not-looked-at");
    for (n, d) in e.driven.iter().enumerate().map(|(n, d)| (n + 1, d)) {
        let Some(joint) = compiled.joints.get(d.joint) else { continue };
        let span = |[low, high]: [i64; 2]| {
            said.fill("evidence.span", &[("low", &signed(low, joint.decimals, false)), ("high", &signed(high, joint.decimals, true))])
        };
        put(&format!("joint{n}"), joint.engraved.clone());
        put(&format!("from{n}"), d.from.map_or_else(|| said.say("evidence.unknown").to_owned(), span));
        put(&format!("to{n}"), span(d.to));
        let end = if d.high { "evidence.to-high" } else { "evidence.to-low" };
        put(&format!("room{n}"), said.fill(end, &[("room", &decimal(d.room, 1000, 1, false))]));
    }
    if e.driven.is_empty() {
        put("jaw", said.say("evidence.jaw").to_owned());
        if let Some([low, high]) = e.jaw {
            let ends = [("low", &*decimal(low, 1000, 0, false)), ("high", &*decimal(high, 1000, 0, true))];
            put("opening", said.fill("evidence.opening", &ends));
        }
    }
    match &e.clearance {
        None => put("clearance", unseen.to_owned()),
        Some(c) => {
            if let Some(two) = &c.between {
                put("between", pair(two));
            }
            if let Some(at) = &c.at {
                put("at", said.say(&format!("evidence.at-{at}")).to_owned());
            }
            put(
                "clearance",
                match c.least {
                    Some(least) => {
                        let ends = [("least", &*decimal(least, 1000, 0, false)), ("wanted", &*decimal(c.wanted, 1000, 0, true))];
                        said.fill("evidence.clear", &ends)
                    }
                    None => said.say("evidence.nothing").to_owned(),
                },
            );
            if !c.may_touch.is_empty() {
                let pairs: Vec<String> = c.may_touch.iter().map(pair).collect();
                put("touch", said.fill("evidence.touch", &[("pairs", &said.row("list.comma", "next", &pairs))]));
            }
        }
    }
    for (n, name) in e.held.iter().enumerate().map(|(n, name)| (n + 1, name)) {
        let title = compiled.titles.iter().find(|t| t.kind == "load" && t.name == *name);
        put(
            &format!("load{n}"),
            title.map_or_else(
                || name.clone(),
                |t| said.fill("evidence.held", &[("load", &t.title), ("mass", t.mass.as_deref().unwrap_or(""))]),
            ),
        );
    }
    if let Some(tilt) = e.tilt {
        let reached = decimal(tilt.reached, 1000, 1, true);
        put(
            "tilt",
            match tilt.limit {
                Some(limit) => said.fill("evidence.tilt-of", &[("angle", &reached), ("limit", &decimal(limit, 1000, 1, false))]),
                None => said.fill("evidence.tilt", &[("angle", &reached)]),
            },
        );
    } else if !e.driven.is_empty() && !e.held.is_empty() {
        put("tilt", said.say("evidence.tilt-unseen").to_owned());
    }
    if let Some(g) = &e.grip {
        let (needed, available) = (decimal(g.needed, 1000, 0, true), decimal(g.available, 1000, 0, false));
        let id = if g.moving { "evidence.grip-moving" } else { "evidence.grip-resting" };
        let share = percent(g.needed, g.available);
        put("grip", said.fill(id, &[("level", &g.level), ("needed", &needed), ("available", &available), ("percent", &share)]));
        let (factor, friction) = (decimal(g.factor, 1_000_000, 2, true), decimal(g.friction, 1_000_000, 2, false));
        let (a, lean) = (decimal(g.acceleration, 1_000_000, 2, true), g.lean.map(|lean| decimal(lean, 1000, 1, false)));
        let mut values = vec![("factor", &*factor), ("friction", &*friction)];
        values.extend(lean.iter().flat_map(|lean| [("acceleration", &*a), ("lean", lean)]));
        put("inputs", said.fill(if lean.is_some() { "evidence.grip-swayed" } else { "evidence.grip-still" }, &values));
        if let Some(bears) = g.bears {
            let ends = [("force", &*decimal(g.presses, 1000, 0, true)), ("limit", &*decimal(bears, 1000, 0, false))];
            put("presses", said.fill("evidence.presses", &ends));
        }
    } else if !e.held.is_empty() {
        put("grip", unseen.to_owned());
    }
    match &e.drive {
        Some(d) => {
            let (needed, available) = effort(d.pressure, d.needed, d.available);
            let joint = compiled.joints.get(d.joint).map_or("", |j| &j.engraved);
            let share = percent(d.needed, d.available);
            put(
                "drive",
                said.fill("evidence.effort", &[("joint", joint), ("needed", &needed), ("available", &available), ("percent", &share)]),
            );
        }
        None => put("drive", unseen.to_owned()),
    }
    out
}

fn effort(pressure: bool, needed: i64, available: i64) -> (String, String) {
    match pressure {
        true => (decimal(needed, 100_000, 1, true), format!("{} bar", decimal(available, 100_000, 1, false))),
        false => (decimal(needed, 1000, 0, true), format!("{} Nm", decimal(available, 1000, 0, false))),
    }
}

/// Up to four steps by their numbers, or three and how many more.
fn steps(numbers: &[String], said: &Said) -> String {
    if numbers.len() <= 4 {
        return said.list("list.and", numbers);
    }
    let list = said.row("list.comma", "next", &numbers[..3]);
    said.fill("evidence.more", &[("list", &list), ("count", &(numbers.len() - 3).to_string())])
}

pub(super) fn of_nearest(near: &Nearest, compiled: &Compiled, said: &Said) -> [(&'static str, String); 6] {
    let both = |per, decimals, unit: &str| {
        [format!("{} {unit}", decimal(near.value, per, decimals, true)), format!("{} {unit}", decimal(near.limit, per, decimals, false))]
    };
    let left =
        |decimals, unit: &str| said.fill("evidence.left", &[("value", &format!("{} {unit}", decimal(near.value, 1000, decimals, false)))]);
    let (kind, [reached, allowed]) = match near.of {
        Margined::Travel => {
            ("evidence.travel", [left(1, "deg"), said.fill("evidence.half", &[("value", &decimal(near.limit, 1000, 1, false))])])
        }
        Margined::Clearance => {
            ("evidence.apart", [left(0, "mm"), said.fill("evidence.wanted", &[("value", &decimal(near.limit, 1000, 0, true))])])
        }
        Margined::Tilt => ("evidence.leans", both(1000, 1, "deg")),
        Margined::Grip => ("evidence.holds", both(1000, 0, "N")),
        Margined::Crush => ("evidence.crushes", both(1000, 0, "N")),
        Margined::Pressure => ("evidence.pressure", both(100_000, 1, "bar")),
        Margined::Torque => ("evidence.torque", both(1000, 0, "Nm")),
    };
    let name = |name: &String| {
        let joint = compiled.joints.iter().find(|j| j.name == *name).map(|j| j.engraved.clone());
        let load = compiled.titles.iter().find(|t| t.kind == "load" && t.name == *name).map(|t| t.title.clone());
        match near.of {
            Margined::Travel | Margined::Pressure | Margined::Torque => joint,
            _ => load,
        }
        .unwrap_or_else(|| name.clone())
    };
    let subject = match (near.of, near.subject.as_slice()) {
        (Margined::Clearance, [a, b]) => said.fill("evidence.pair", &[("a", a), ("b", b)]),
        (_, names) => said.row("list.comma", "next", &names.iter().map(name).collect::<Vec<_>>()),
    };
    [
        ("kind", said.say(kind).to_owned()),
        ("subject", subject),
        ("step", steps(&near.steps, said)),
        ("reached", reached),
        ("allowed", allowed),
        ("used", format!("{} %", decimal(near.used, 10_000, 0, true))),
    ]
}
