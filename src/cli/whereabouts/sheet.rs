//! Whereabouts as a sheet for people.

use crate::compiled::whereabouts::{InSpace, Load, Near, Sag, Stance, Whereabouts};
use crate::compiled::{Held, Joint, Readout, State};
use crate::diag::render;
use crate::units::{Angle, Length};
use std::fmt::Write as _;

/// The sheet.
pub(super) fn text(found: &Whereabouts) -> String {
    let mut out = String::new();
    let identity = &found.identity;
    let _ = writeln!(out, "{} {}, revision {}: {}", found.file, identity.id, identity.revision, identity.title);
    let anchor = found.anchor.as_ref().map_or(String::new(), |a| format!(" (#{a})"));
    let statement = found.statement.as_ref().map_or(String::new(), |s| format!(": {s}"));
    let _ = writeln!(out, "Step {}{anchor}, {}{statement}", found.step, found.section);
    if found.statement.is_none() && !found.words.is_empty() {
        let _ = writeln!(out, "  {}", found.words);
    }
    side(&mut out, found, "Before", &found.before, &[], "no way leads to this step");
    side(&mut out, found, "After", &found.after, &found.before, "no way leads on from this step");
    for why in &found.not_looked_at {
        let _ = writeln!(out, "not worked out: {why}");
    }
    out.lines().map(|line| render::clean(line) + "\n").collect()
}

/// One side of the step; what no state of the other side, `from`, has is marked.
fn side(out: &mut String, found: &Whereabouts, title: &str, stances: &[Stance], from: &[Stance], none: &str) {
    // Ways that come to the same are one state, which keeps the first of them.
    let several = match stances.len() {
        0 | 1 => String::new(),
        n => format!(", {n} states, each under a way that leads to it"),
    };
    let _ = writeln!(out, "\n{title} step {}{several}", found.step);
    if stances.is_empty() {
        let _ = writeln!(out, "  {none}");
    }
    let told = |stances: &[Stance]| -> Vec<Vec<String>> { stances.iter().map(|s| lines(found, s)).collect() };
    let (own, other) = (told(stances), told(from));
    let mark = |line: &String| if !other.is_empty() && !other.iter().any(|o| o.contains(line)) { '*' } else { ' ' };
    let common = |line: &&String| own.iter().all(|o| o.contains(line));
    // What is so in every state is said once.
    if let Some(first) = own.first().filter(|_| own.len() > 1) {
        let _ = writeln!(out, "  in each of them:");
        for line in first.iter().filter(common) {
            let _ = writeln!(out, "  {} {line}", mark(line));
        }
    }
    for (stance, lines) in stances.iter().zip(&own) {
        if own.len() > 1 {
            let way = if stance.state.way.is_empty() { "otherwise" } else { &stance.state.way };
            let _ = writeln!(out, "  {way}:");
        }
        for line in lines.iter().filter(|line| own.len() == 1 || !common(line)) {
            let _ = writeln!(out, "  {} {line}", mark(line));
        }
    }
    if own.iter().flatten().any(|line| mark(line) == '*') {
        out.push_str("  * changed by this step\n");
    }
}

fn lines(found: &Whereabouts, stance: &Stance) -> Vec<String> {
    let state = &stance.state;
    let wide = found.joints.iter().map(|j| j.name.len()).max().unwrap_or(0).max("equipment".len());
    let mut out: Vec<String> = found.joints.iter().zip(&state.joints).map(|(j, r)| joint(j, r, wide)).collect();
    let mut say = |what: &str, is: &str| out.push(format!("{what:<wide$}  {is}"));
    say("jaw", &jaw(state));
    let empty = if state.held_unknown { "not known" } else { "nothing in the jaw" };
    say("load", &state.held.as_ref().map_or(empty.to_owned(), |h| held(found, h)));
    say("tool", state.tool.as_deref().unwrap_or("none"));
    say("view", &state.view.as_ref().map_or("none chosen".to_owned(), |v| title(found, "view", v)));
    say("power", state.power.map_or("not known", |on| if on { "on" } else { "off" }));
    for (load, at) in state.loads.iter().filter(|(_, at)| at.as_deref() != Some("jaw")) {
        let place = at.as_ref().map_or("nobody says where".to_owned(), |s| format!("at the {}", title(found, "station", s)));
        say("rests", &format!("{} {place}", title(found, "load", load)));
    }
    for (equipment, is) in &state.equipment {
        say("equipment", &format!("{equipment} {is}"));
    }
    say("time", &time(state));
    if let Some(space) = &stance.space {
        say("tool point", &tool_point(space));
        space.nearest.iter().for_each(|n| say("near", &near(n)));
        space.nearest_own.iter().for_each(|n| say("own parts", &near(n)));
        for load in space.loads.iter().filter(|l| l.torque > 0) {
            if let Some(joint) = found.joints.get(load.joint) {
                say("holds", &held_up(joint, load));
            }
        }
        if let Some(sag) = &space.sag {
            say("no power", &sinking(&found.joints, sag));
        }
    }
    out
}

fn tool_point(space: &InSpace) -> String {
    let each = space.tool_point.iter().zip(space.tool_point_band).zip(["x", "y", "z"]);
    let axis = |((at, [low, high]), axis): ((&i64, [i64; 2]), &str)| {
        let mm = |um: i64| um.div_euclid(1000);
        format!("{axis} {} mm ({} to {})", (at + 500).div_euclid(1000), mm(low), mm(high + 999))
    };
    each.map(axis).collect::<Vec<_>>().join(", ")
}

fn near(near: &Near) -> String {
    let may = if near.may_touch { "; may touch in this step" } else { "" };
    // What is told is never more than there is.
    let least = near.least.div_euclid(1000);
    if least > 0 {
        format!("{} and {} stay at least {least} mm apart{may}", near.a, near.b)
    } else {
        format!("{} and {} less than 1 mm apart, or touching{may}", near.a, near.b)
    }
}

/// What a joint holds, in whole newton metres and bars, rounded up.
/// What the arm does if power is lost now; whole minutes, rounded down.
fn sinking(joints: &[Joint], sag: &Sag) -> String {
    let names: Vec<&str> = sag.joints.iter().filter_map(|j| Some(joints.get(*j)?.name.as_str())).collect();
    let named = match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    };
    let (sinks, minutes) = (if names.len() == 1 { "sinks" } else { "sink" }, sag.clear.div_euclid(10));
    let met = match &sag.meets {
        None => format!("nothing is met for {minutes} min or more"),
        Some([a, b]) => format!("nothing is met for {minutes} min, then {a} and {b}"),
    };
    format!("{named} {sinks}; {met}")
}

fn held_up(joint: &Joint, load: &Load) -> String {
    let up = |value: i64, per: i64| (value + per - 1).div_euclid(per);
    let mut out = format!("{} up to {} Nm", joint.name, up(load.torque, 1000));
    if let Some(rated) = load.rated_torque {
        out += &format!(" of {} Nm", rated.div_euclid(1000));
    }
    if let (Some(needed), Some(available)) = (load.pressure, load.available_pressure) {
        out += &format!(", {} bar of {} bar", up(needed, 100_000), available.div_euclid(100_000));
    }
    match load.droop.as_str() {
        "falls" => out + "; unheld, it goes " + &joint.negative,
        "grows" => out + "; unheld, it goes " + &joint.positive,
        "either" => out + "; unheld, it may go either way",
        _ => out,
    }
}

fn joint(joint: &Joint, r: &Readout, wide: usize) -> String {
    let angle = |a: i64| Angle(a).signed(joint.decimals);
    let band = format!("may show {} to {} deg", angle(r.low - joint.hold), angle(r.high + joint.hold));
    let name = &joint.name;
    match r.known.as_str() {
        "readout" => format!("{name:<wide$}  {:>8} deg   {band}", angle(r.nominal)),
        "by-eye" => format!("{name:<wide$}  {:>8} deg   {band}; stopped by eye", angle(r.nominal)),
        "range" => format!("{name:<wide$}  {:>8}       {band}; stopped on contact or a signal", "between"),
        "unread" | "unread-range" => format!("{name:<wide$}  {:>8}       not read since power was off; was {band}", "unread"),
        _ => format!("{name:<wide$}  {:>8}", "not known"),
    }
}

fn jaw(state: &State) -> String {
    let opening = match state.jaw {
        Some((low, high)) if low == high => format!("open {}", Length(low)),
        Some((low, high)) => format!("open between {} and {}", Length(low), Length(high)),
        None => "opening not known".to_owned(),
    };
    state.level.as_ref().map_or(opening.clone(), |l| format!("{opening}, grip level {l}"))
}

fn held(found: &Whereabouts, held: &Held) -> String {
    let load = title(found, "load", &held.load);
    let mass = found.titles.iter().find(|t| t.kind == "load" && t.name == held.load).and_then(|t| t.mass.as_ref());
    let mass = mass.map_or(String::new(), |m| format!(", at most {m}"));
    let phase = match held.phase.as_str() {
        "supported" => "gripped, its station still bears it",
        "leaving" => "leaving its station",
        "lifted-clear" => "lifted clear",
        "set-on" => "set on a station, still gripped",
        _ => "carried",
    };
    let from = held.from.as_ref().map_or(String::new(), |s| format!(", taken at the {}", title(found, "station", s)));
    format!("{load}{mass}: {phase}{from}")
}

/// What a thing is called in print.
fn title(found: &Whereabouts, kind: &str, name: &str) -> String {
    let called = found.titles.iter().find(|t| t.kind == kind && t.name == name);
    called.map_or_else(|| name.to_owned(), |t| t.title.clone())
}

/// The time since the start.
fn time(state: &State) -> String {
    let seconds = |ms: i64| {
        let s = ms.div_euclid(1000);
        if s < 60 { format!("{s} s") } else { format!("{} min {} s", s / 60, s % 60) }
    };
    let most = state.elapsed_most.map_or(String::new(), |m| format!(", at most {}", seconds(m)));
    format!("at least {} since the start{most}", seconds(state.elapsed_least))
}
