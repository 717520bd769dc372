//! Every kind of slip at every place of a procedure where it can be made.

use crate::library::source::{Motion, Source, Step, Words};

/// A procedure with one slip in it.
pub struct Mutant {
    /// What was done, and where.
    pub what: String,
    pub text: String,
    /// The line that was touched, from 1. A refusal stands there or further on.
    pub line: usize,
}

/// One way to spoil a procedure.
pub struct Slip {
    pub name: &'static str,
    pub make: fn(&Source<'_>, &Words) -> Vec<Mutant>,
}

/// Every slip.
pub const SLIPS: &[Slip] = &[
    Slip { name: "direction flipped", make: |s, w| at_motions(s, w, |s, w, m| Some(s.with(m.direction.at.clone(), &opposite(s, w, m)))) },
    Slip { name: "sign dropped", make: |s, _| at_numbers(s, |n| n.strip_prefix(['+', '-']).map(str::to_string)) },
    Slip { name: "sign flipped", make: |s, w| at_targets(s, w, flip_sign) },
    Slip { name: "direction and sign flipped", make: both_flipped },
    Slip { name: "digits transposed", make: |s, w| at_targets(s, w, transpose) },
    Slip { name: "decimal point shifted", make: |s, w| at_targets(s, w, shift) },
    Slip { name: "ten degrees too far", make: |s, w| at_motions(s, w, ten_too_far) },
    Slip { name: "another joint with the same words", make: |s, w| at_motions(s, w, neighbour) },
    Slip { name: "move deleted", make: |s, w| at_moves(s, w, |s, step| Some(s.with_lines(step.line..step.end, &[]))) },
    Slip { name: "move doubled", make: |s, w| at_moves(s, w, doubled) },
    Slip { name: "unit dropped", make: unit_dropped },
    Slip { name: "minus sign U+2212", make: |s, _| at_numbers(s, |n| n.strip_prefix('-').map(|n| format!("\u{2212}{n}"))) },
    Slip { name: "dash U+2013 for a minus", make: |s, _| at_numbers(s, |n| n.strip_prefix('-').map(|n| format!("\u{2013}{n}"))) },
    Slip { name: "not a number", make: |s, _| at_numbers(s, |_| Some("NaN".into())) },
    Slip { name: "1e308", make: |s, _| at_numbers(s, |_| Some("1e308".into())) },
    Slip { name: "look-alike letter in a joint", make: |s, w| at_motions(s, w, look_alike) },
    Slip { name: "another load", make: |s, _| at_names(s, &["spent-cartridge", "fresh-cartridge", "sample-pot"]) },
    Slip { name: "another load, other cell", make: |s, _| at_names(s, &["well-lid", "vial-box", "source-pot"]) },
    Slip { name: "another station", make: |s, _| at_names(s, &["housing", "cradle", "drain-rack", "stand"]) },
    Slip { name: "another station, other cell", make: |s, _| at_names(s, &["well", "bench", "rack", "tray"]) },
    Slip { name: "another pose", make: |s, _| at_names(s, &["over-housing", "over-cradle", "transit", "stowed"]) },
    Slip { name: "another tool", make: |s, _| at_names(s, &["hook", "screwdriver"]) },
    Slip {
        name: "opening in cm for mm",
        make: |s, _| {
            at_steps(s, |t| t.contains(" mm"), |s, step| Some(s.with(step.statement.clone(), &s.statement(step).replace(" mm", " cm"))))
        },
    },
    Slip {
        name: "opening in inches for mm",
        make: |s, _| {
            at_steps(s, |t| t.contains(" mm"), |s, step| Some(s.with(step.statement.clone(), &s.statement(step).replace(" mm", " in"))))
        },
    },
    Slip {
        name: "reading in another unit",
        make: |s, _| {
            at_steps(
                s,
                |t| t.starts_with("read "),
                |s, step| {
                    Some(s.with(
                        step.statement.clone(),
                        &s.statement(step).replace("uSv/h", "mSv/X").replace("mSv/h", "uSv/h").replace("mSv/X", "mSv/h"),
                    ))
                },
            )
        },
    },
    Slip { name: "act deleted", make: |s, _| at_steps(s, is_act, |s, step| Some(s.with_lines(step.line..step.end, &[]))) },
    Slip { name: "hold point deleted", make: |s, _| at_steps(s, is_hold, |s, step| Some(s.with_lines(step.line..step.end, &[]))) },
    Slip { name: "hold point after the act", make: |s, _| at_steps(s, is_hold, behind_the_act) },
    Slip {
        name: "hold point cleared by the performer",
        make: |s, _| at_steps(s, is_hold, |s, step| Some(s.with(step.statement.clone(), "hold point: Operator"))),
    },
    Slip {
        name: "open for close",
        make: |s, _| at_steps(s, |t| t.starts_with("close on"), |s, step| Some(s.with(step.statement.clone(), "jaw open to 130 mm"))),
    },
    Slip {
        name: "grip level one lower",
        make: |s, _| at_steps(s, |t| t.starts_with("grip level"), |s, step| Some(s.with(step.statement.clone(), "grip level 1"))),
    },
    Slip {
        name: "grip level one higher",
        make: |s, _| at_steps(s, |t| t.starts_with("grip level"), |s, step| Some(s.with(step.statement.clone(), "grip level 3"))),
    },
    Slip { name: "caution deleted", make: caution_deleted },
    Slip { name: "caution after its step", make: caution_late },
    Slip { name: "demanded line deleted", make: line_deleted },
    Slip { name: "link leads nowhere", make: link_dangling },
    Slip { name: "statement in a fence", make: |s, _| at_steps(s, is_statement, |s, step| hidden(s, step, "```", "```")) },
    Slip { name: "statement in a quotation", make: |s, _| at_steps(s, is_statement, quoted) },
    Slip { name: "statement in a table", make: |s, _| at_steps(s, is_statement, tabled) },
    Slip { name: "steps joined by a lazy line", make: |s, _| at_steps(s, is_statement, joined) },
    Slip {
        name: "both ticks lost",
        make: |s, _| at_steps(s, is_statement, |s, step| Some(s.with(step.statement.start - 1..step.statement.end + 1, s.statement(step)))),
    },
    Slip {
        name: "tick lost",
        make: |s, _| at_steps(s, is_statement, |s, step| Some(s.with(step.statement.end..step.statement.end + 1, ""))),
    },
];

fn mutant(s: &Source<'_>, text: String, line: usize) -> Option<Mutant> {
    (text != s.text).then(|| Mutant { what: s.line(line).trim().to_string(), text, line: line + 1 })
}

fn at_steps(s: &Source<'_>, wanted: fn(&str) -> bool, change: fn(&Source<'_>, &Step) -> Option<String>) -> Vec<Mutant> {
    let steps = s.steps.iter().filter(|step| wanted(s.statement(step)));
    steps.filter_map(|step| mutant(s, change(s, step)?, step.line)).collect()
}

fn at_moves(s: &Source<'_>, joints: &Words, change: fn(&Source<'_>, &Step) -> Option<String>) -> Vec<Mutant> {
    let steps = s.steps.iter().filter(|step| !s.motions(step, joints).is_empty());
    steps.filter_map(|step| mutant(s, change(s, step)?, step.line)).collect()
}

fn at_motions(s: &Source<'_>, joints: &Words, change: fn(&Source<'_>, &Words, &Motion) -> Option<String>) -> Vec<Mutant> {
    let motions = s.steps.iter().flat_map(|step| s.motions(step, joints));
    motions.filter_map(|m| mutant(s, change(s, joints, &m)?, m.joint.line)).collect()
}

fn at_targets(s: &Source<'_>, joints: &Words, change: fn(&str) -> Option<String>) -> Vec<Mutant> {
    let targets = s.steps.iter().flat_map(|step| s.motions(step, joints)).filter_map(|m| m.target);
    targets.filter_map(|t| mutant(s, s.with(t.at.clone(), &change(&s.text[t.at.clone()])?), t.line)).collect()
}

fn at_numbers(s: &Source<'_>, change: fn(&str) -> Option<String>) -> Vec<Mutant> {
    let numbers = s.steps.iter().flat_map(|step| s.quantities(step));
    numbers.filter_map(|(n, _)| mutant(s, s.with(n.at.clone(), &change(&s.text[n.at.clone()])?), n.line)).collect()
}

fn opposite(s: &Source<'_>, joints: &Words, m: &Motion) -> String {
    let (up, down) = &joints[&s.text[m.joint.at.clone()]];
    if &s.text[m.direction.at.clone()] == up { down.clone() } else { up.clone() }
}

fn flip_sign(number: &str) -> Option<String> {
    match number.split_at_checked(1)? {
        ("+", n) => Some(format!("-{n}")),
        ("-", n) => Some(format!("+{n}")),
        _ => None,
    }
}

fn both_flipped(s: &Source<'_>, joints: &Words) -> Vec<Mutant> {
    at_motions(s, joints, |s, joints, m| {
        let target = m.target.clone()?;
        let number = flip_sign(&s.text[target.at.clone()])?;
        // The target stands behind the direction, so it is changed first.
        let text = s.with(target.at, &number);
        Some(Source::of(&text).with(m.direction.at.clone(), &opposite(s, joints, m)))
    })
}

fn transpose(number: &str) -> Option<String> {
    let (sign, digits) = number.split_at(number.len() - number.trim_start_matches(['+', '-']).len());
    let mut chars: Vec<char> = digits.chars().collect();
    let end = chars.iter().position(|c| !c.is_ascii_digit()).unwrap_or(chars.len());
    if end < 2 || chars[end - 2] == chars[end - 1] {
        return None;
    }
    chars.swap(end - 2, end - 1);
    let text: String = chars.into_iter().collect();
    let text = text.trim_start_matches('0');
    (!text.is_empty()).then(|| format!("{sign}{text}"))
}

fn shift(number: &str) -> Option<String> {
    let digits = number.trim_start_matches(['+', '-']);
    if digits.contains('.') || digits == "0" {
        return None;
    }
    let (head, tail) = number.split_at(number.len() - 1);
    let head = if head.is_empty() || head == "+" || head == "-" { format!("{head}0") } else { head.to_string() };
    Some(format!("{head}.{tail}"))
}

/// Ten degrees further in the printed direction; what ends inside the limits is refused for other reasons.
fn ten_too_far(s: &Source<'_>, joints: &Words, m: &Motion) -> Option<String> {
    let target = m.target.clone()?;
    let number: f64 = s.text[target.at.clone()].parse().ok()?;
    let up = joints[&s.text[m.joint.at.clone()]].0 == s.text[m.direction.at.clone()];
    let (before, after) = (number, if up { number + 10.0 } else { number - 10.0 });
    let signed = s.text[target.at.clone()].starts_with(['+', '-']) || before == 0.0;
    Some(s.with(target.at, &if signed && after != 0.0 { format!("{after:+}") } else { format!("{after}") }))
}

/// A joint that has the same direction word: the other knob of the same name.
fn neighbour(s: &Source<'_>, joints: &Words, m: &Motion) -> Option<String> {
    let (joint, word) = (&s.text[m.joint.at.clone()], &s.text[m.direction.at.clone()]);
    let other = joints.iter().find(|(name, (up, down))| name.as_str() != joint && (up == word || down == word))?;
    Some(s.with(m.joint.at.clone(), other.0))
}

fn doubled(s: &Source<'_>, step: &Step) -> Option<String> {
    let block = s.block(step);
    Some(s.with_lines(step.end..step.end, &block))
}

fn unit_dropped(s: &Source<'_>, _: &Words) -> Vec<Mutant> {
    let units = s.steps.iter().flat_map(|step| s.quantities(step));
    units.filter_map(|(n, unit)| mutant(s, s.with(unit, ""), n.line)).collect()
}

fn look_alike(s: &Source<'_>, _: &Words, m: &Motion) -> Option<String> {
    let joint = &s.text[m.joint.at.clone()];
    // Cyrillic letters that look like Latin ones.
    let (latin, cyrillic) = [('a', '\u{430}'), ('e', '\u{435}'), ('o', '\u{43e}'), ('i', '\u{456}'), ('p', '\u{440}')]
        .into_iter()
        .find(|(l, _)| joint.contains(*l))?;
    Some(s.with(m.joint.at.clone(), &joint.replacen(latin, &cyrillic.to_string(), 1)))
}

fn is_statement(statement: &str) -> bool {
    !statement.is_empty()
}

fn is_hold(statement: &str) -> bool {
    statement.starts_with("hold point")
}

fn is_act(statement: &str) -> bool {
    let acts =
        ["grip level", "close on", "jaw open", "jaw close", "lift ", "lower ", "let go", "power ", "perform", "set ", "fit ", "put down"];
    acts.iter().any(|a| statement.starts_with(a))
}

/// Each of `names` in a statement changed for the next of them.
fn at_names(s: &Source<'_>, names: &[&str]) -> Vec<Mutant> {
    let mut out = Vec::new();
    for step in &s.steps {
        for (start, word) in s.words(step) {
            if let Some(i) = names.iter().position(|n| *n == word) {
                out.extend(mutant(s, s.with(start, names[(i + 1) % names.len()]), step.line));
            }
        }
    }
    out
}

/// A hold moved behind the act it stands before: the next step of its list that is no looking, telling or waiting.
fn behind_the_act(s: &Source<'_>, step: &Step) -> Option<String> {
    let idle = ["view", "check", "read", "record", "tell", "wait", "expect", "hold", "witness", "verify", "turnover"];
    let act = s
        .steps
        .iter()
        .filter(|n| n.line >= step.end && n.indent == step.indent)
        .find(|n| !idle.iter().any(|w| s.statement(n).starts_with(w)))?;
    let lines: Vec<&str> = (step.end..act.end).map(|i| s.line(i)).chain(s.block(step)).collect();
    Some(s.with_lines(step.line..act.end, &lines))
}

/// The warnings and cautions of a text, as ranges of lines. A note guards nothing.
fn alerts(s: &Source<'_>) -> Vec<std::ops::Range<usize>> {
    let starts = (0..s.lines.len()).filter(|i| ["> [!WARNING]", "> [!CAUTION]"].contains(&s.line(*i)));
    starts.map(|i| i..(i..s.lines.len()).find(|j| !s.line(*j).starts_with('>')).unwrap_or(s.lines.len())).collect()
}

/// A mutant of an alert, by its word and its hazard.
fn of_alert(s: &Source<'_>, text: String, alert: &std::ops::Range<usize>) -> Option<Mutant> {
    let whole = mutant(s, text, alert.start)?;
    Some(Mutant { what: format!("{} {}", whole.what, s.line(alert.start + 1).trim_start_matches(['>', ' '])), ..whole })
}

fn caution_deleted(s: &Source<'_>, _: &Words) -> Vec<Mutant> {
    alerts(s).into_iter().filter_map(|a| of_alert(s, s.with_lines(a.start..a.end + 1, &[]), &a)).collect()
}

fn caution_late(s: &Source<'_>, _: &Words) -> Vec<Mutant> {
    let late = |a: std::ops::Range<usize>| {
        let step = s.steps.iter().find(|n| n.line >= a.end)?;
        let mut lines = s.block(step);
        lines.push("");
        lines.extend((a.start..a.end).map(|i| s.line(i)));
        lines.push("");
        of_alert(s, s.with_lines(a.start..step.end, &lines), &a)
    };
    alerts(s).into_iter().filter_map(late).collect()
}

/// The lines without which a step is not whole.
fn line_deleted(s: &Source<'_>, _: &Words) -> Vec<Mutant> {
    let labels = ["Second person:", "Must be true:", "If not:"];
    let of = |i: usize| s.steps.iter().rfind(|step| step.line < i && step.indent < s.indent(i));
    let labelled = |i: &usize| labels.iter().any(|l| s.line(*i).trim_start().strip_prefix("- ").is_some_and(|r| r.starts_with(l)));
    // What is done when read-outs differ stands on page 1; the line under `read joints` only repeats it. Others may have a way out of
    // their own, and nothing demands one.
    let free = ["read joints", "check", "verify after", "perform", "hold point", "grip level", "close on", "lift", "let go of", "tell"];
    let to_an_angle = |said: &str| said.contains(" to ") && !said.starts_with("lower ");
    let may = |i: usize, step: &Step| {
        let said = s.statement(step);
        s.line(i).contains("If not:") && (to_an_angle(said) || free.iter().any(|f| said.starts_with(f)))
    };
    let demanded = |i: &usize| labelled(i) && of(*i).is_some_and(|step| !may(*i, step));
    let cut = |i: usize| {
        let whole = mutant(s, s.with_lines(i..i + 1, &[]), i)?;
        Some(Mutant { line: of(i)?.line + 1, ..whole })
    };
    (0..s.lines.len()).filter(demanded).filter_map(cut).collect()
}

fn link_dangling(s: &Source<'_>, _: &Words) -> Vec<Mutant> {
    let links = s.text.match_indices("](").map(|(i, _)| i + 2);
    links
        .filter_map(|i| {
            let end = i + s.text[i..].find(')')?;
            let at = if s.text[i..].starts_with('#') { end } else { i + s.text[i..end].rfind('.')? };
            mutant(s, s.with(at..at, "x"), s.line_at(i))
        })
        .collect()
}

fn hidden(s: &Source<'_>, step: &Step, before: &str, after: &str) -> Option<String> {
    let pad = " ".repeat(step.indent);
    let lines = [format!("{pad}{before}"), format!("{pad}{}", s.statement(step)), format!("{pad}{after}")];
    let lines: Vec<&str> = std::iter::once("").chain(lines.iter().map(String::as_str)).chain([""]).collect();
    Some(s.with_lines(step.line..step.end, &lines))
}

fn quoted(s: &Source<'_>, step: &Step) -> Option<String> {
    let lines: Vec<String> = s.block(step).iter().map(|l| format!("{}> {}", " ".repeat(step.indent), l.trim_start())).collect();
    let lines: Vec<&str> = std::iter::once("").chain(lines.iter().map(String::as_str)).chain([""]).collect();
    Some(s.with_lines(step.line..step.end, &lines))
}

fn tabled(s: &Source<'_>, step: &Step) -> Option<String> {
    let pad = " ".repeat(step.indent);
    let lines = [format!("{pad}| step | do |"), format!("{pad}|---|---|"), format!("{pad}| x | `{}` |", s.statement(step))];
    let lines: Vec<&str> = std::iter::once("").chain(lines.iter().map(String::as_str)).chain([""]).collect();
    Some(s.with_lines(step.line..step.end, &lines))
}

/// The numeral lost, so that Markdown reads the line as part of the step before.
fn joined(s: &Source<'_>, step: &Step) -> Option<String> {
    let line = s.line(step.line);
    let body = line.trim_start().split_once(". ")?.1;
    let before = step.line.checked_sub(1).filter(|b| !s.line(*b).trim().is_empty())?;
    (s.steps.iter().any(|t| t.line <= before && before < t.end)).then(|| s.with_lines(step.line..step.line + 1, &[body]))
}

/// Exchanges of two neighbouring moves, with whether they are of one joint.
pub fn swaps(s: &Source<'_>, joints: &Words) -> Vec<(Mutant, bool)> {
    let moves: Vec<&Step> = s.steps.iter().filter(|step| !s.motions(step, joints).is_empty()).collect();
    let pairs = moves.windows(2).filter(|p| p[0].indent == p[1].indent && p[0].end == p[1].line);
    pairs
        .filter_map(|p| {
            let names = |step: &Step| -> Vec<&str> { s.motions(step, joints).iter().map(|m| &s.text[m.joint.at.clone()]).collect() };
            let same = names(p[0]).iter().any(|n| names(p[1]).contains(n));
            let lines: Vec<&str> = s.block(p[1]).into_iter().chain(s.block(p[0])).collect();
            Some((mutant(s, s.with_lines(p[0].line..p[1].end, &lines), p[0].line)?, same))
        })
        .collect()
}
