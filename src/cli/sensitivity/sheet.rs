//! What may be wrong, as a sheet for people.

use crate::compiled::sensitivity::{Failure, Input, Scale, Sensitivity};
use crate::diag::render;
use crate::units::{Angle, Length};
use std::fmt::Write as _;

/// How many are told of unless all are asked for.
const FEW: usize = 5;

/// The sheet.
pub(super) fn text(found: &Sensitivity, all: bool) -> String {
    let mut out = String::new();
    let identity = &found.identity;
    let _ = writeln!(out, "{} {}, revision {}: {}", found.file, identity.id, identity.revision, identity.title);
    let (fail, pass): (Vec<&Input>, Vec<&Input>) = found.inputs.iter().partition(|i| i.fails.is_some());
    let groups: Vec<&[&Input]> = fail.chunk_by(|a, b| is_one(a, b)).collect();
    let told = if all { &groups[..] } else { &groups[..groups.len().min(FEW)] };
    out.push_str("Each input wrong by itself, everything else as the models say.\n\n");
    match (told.len(), groups.len()) {
        (0, _) => out.push_str("No step fails as far as was looked.\n"),
        (n, all) if n < all => _ = writeln!(out, "The {n} least forgiving of {} inputs:", found.inputs.len()),
        _ => out.push_str("What makes a step fail, least forgiving first:\n"),
    }
    for (n, inputs) in (1..).zip(told) {
        let Some((first, failure)) = inputs.first().and_then(|i| Some((i, i.fails.as_ref()?))) else { continue };
        let _ = writeln!(out, "{n:>3}. {}: {}", title(inputs), fails(first, failure));
        let _ = writeln!(out, "     {} passes, {}", amount(&first.scale, first.passes), in_plain(first, &found.scales));
        let _ = writeln!(out, "     {}", failure.message);
        if let Some(refused) = &first.refused {
            let _ = writeln!(out, "     {}", apart(first, refused));
        }
    }
    let rest = found.inputs.len() - told.iter().map(|t| t.len()).sum::<usize>();
    if all {
        nowhere(&mut out, found, &pass);
    } else if rest > 0 {
        let _ = writeln!(out, "{rest} more inputs: --all tells of every one, and of what was not varied.");
    }
    let _ = writeln!(out, "\n{}", ranked(&found.scales));
    out.lines().map(|line| render::clean(line) + "\n").collect()
}

/// Whether two inputs of one joint fail alike, so that one line tells of both.
fn is_one(a: &Input, b: &Input) -> bool {
    let tolerance = |i: &Input| ["stop", "hold", "readout-error"].contains(&i.kind.as_str());
    let how = |f: &Option<Failure>| f.as_ref().map(|f| (f.at, f.rule.clone(), f.step.clone()));
    tolerance(a) && tolerance(b) && a.name == b.name && how(&a.fails) == how(&b.fails) && how(&a.refused) == how(&b.refused)
}

/// "stopping tolerance or hold tolerance of base".
fn title(inputs: &[&Input]) -> String {
    let Some((last, others)) = inputs.split_last() else { return String::new() };
    let of = last.name.as_ref().map_or(String::new(), |name| format!(" of {name}"));
    let short = |i: &&Input| i.title.strip_suffix(&of).unwrap_or(&i.title).to_owned() + " or ";
    others.iter().map(short).collect::<String>() + &last.title
}

/// "11 mm nearer, and step 14 fails (off-station)".
fn fails(input: &Input, failure: &Failure) -> String {
    let step = failure.step.as_deref().unwrap_or("?");
    let others = match &failure.others[..] {
        [] => String::new(),
        [other] => format!(", with step {other}"),
        more => format!(", with {} other steps", more.len()),
    };
    format!("{}, and step {step} fails ({}){others}", far(input, failure), failure.rule)
}

/// What stands before any step fails.
fn apart(input: &Input, refused: &Failure) -> String {
    format!("from {} on, apart from any step ({}): {}", far(input, refused), refused.rule, refused.message)
}

fn far(input: &Input, failure: &Failure) -> String {
    let way = match (&failure.way, input.less) {
        (Some(way), _) => way,
        (None, true) => "less",
        (None, false) => "more",
    };
    format!("{} {way}", amount(&input.scale, failure.at))
}

/// The inputs that make no step fail, and what was not varied.
fn nowhere(out: &mut String, found: &Sensitivity, pass: &[&Input]) {
    for scale in &found.scales {
        for (less, way, most) in [(false, "more or off", scale.most), (true, "less", scale.most_less)] {
            let inputs: Vec<&&Input> = pass.iter().filter(|i| i.scale == scale.scale && i.less == less).collect();
            if inputs.is_empty() {
                continue;
            }
            let _ = writeln!(out, "\nNo step fails even with {} {way}:", amount(&scale.scale, most));
            for input in inputs {
                let _ = writeln!(out, "  {}", input.title);
                if let Some(refused) = &input.refused {
                    let _ = writeln!(out, "     {}", apart(input, refused));
                }
            }
        }
    }
    out.push_str("\nNot varied:\n");
    found.not_varied.iter().for_each(|n| _ = writeln!(out, "  {n}"));
    out.push_str("Not checked at all, so that nothing makes it fail:\n");
    found.not_checked.iter().for_each(|n| _ = writeln!(out, "  {n}"));
}

/// How inputs of different kinds were compared.
fn ranked(scales: &[Scale]) -> String {
    let each = |of: fn(&Scale) -> i64| scales.iter().map(|s| amount(&s.scale, of(s))).collect::<Vec<_>>().join(", ");
    format!(
        "Ranked by how many plain errors pass; a plain error is {}. Looked in steps of {}, as far as {}.",
        each(|s| s.plain),
        each(|s| s.step),
        each(|s| s.most)
    )
}

/// How many plain errors pass, rounded down to tenths.
fn in_plain(input: &Input, scales: &[Scale]) -> String {
    let plain = scales.iter().find(|s| s.scale == input.scale).map_or(String::new(), |s| amount(&s.scale, s.plain));
    let tenths = input.plain_errors / 100;
    format!("{}.{} of a plain error of {plain}", tenths / 10, tenths % 10)
}

/// An amount with its unit.
fn amount(scale: &str, value: i64) -> String {
    match scale {
        "length" => Length(value).to_string(),
        "angle" => Angle(value).to_string(),
        _ => format!("{}.{} %", value / 10, value % 10).replace(".0 ", " "),
    }
}
