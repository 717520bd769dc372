//! The differences of two entries as a sheet to work through, and as data.

use crate::cli::show::count;
use crate::diag::json::{self as findings, Place};
use crate::diag::{Diagnostic, Severity, render};
use crate::error::Error;
use crate::model::differ::{Change, Class, Difference, Kind, Side, Within};
use crate::session::Compared;
use crate::text::{File, Files, Span};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Name and version of the format.
const SCHEMA: &str = "surehand-differences/1";

/// The sheet.
pub(super) fn text(compared: &Compared, files: &Files, within: Option<&Within>) -> String {
    let names = compared.sources.each_ref().map(|s| files.get(s.file).name.clone());
    let mut out = format!("A: {}\nB: {}\n", names[0], names[1]);
    for remark in remarks(compared) {
        let _ = writeln!(out, "{remark}");
    }
    let all = &compared.comparison.differences;
    for class in Class::ALL {
        let own: Vec<&Difference> = all.iter().filter(|d| d.class == class && !d.within).collect();
        section(&mut out, class.title(), &own, files);
    }
    let small: Vec<&Difference> = all.iter().filter(|d| d.within).collect();
    let title = within.map_or(String::new(), |w| format!("no more than the tolerance of entry, {w}"));
    section(&mut out, &title, &small, files);
    let _ = write!(out, "\n{}\n", total(compared));
    if let Some(advice) = advice(compared) {
        let _ = writeln!(out, "{advice}");
    }
    out.lines().map(|line| render::clean(line) + "\n").collect()
}

fn section(out: &mut String, title: &str, differences: &[&Difference], files: &Files) {
    if differences.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{title}: {}", differences.len());
    for d in differences {
        let _ = writeln!(out, "  {d}\n      A {}   B {}", place(files, d.a.span), place(files, d.b.span));
    }
}

fn place(files: &Files, span: Span) -> String {
    let file = files.get(span.file);
    let at = file.position(span.start);
    format!("{}:{}", file.name, at.line)
}

/// What has to be known about the files before their differences are believed.
fn remarks(compared: &Compared) -> Vec<String> {
    let mut out = Vec::new();
    if compared.sources[0].digest == compared.sources[1].digest {
        out.push("The two files are equal byte for byte: a copy is no second entry.".to_owned());
    }
    for (i, problems) in compared.problems.iter().enumerate() {
        let name = ["A", "B"][i];
        let errors = problems.iter().filter(|p| p.severity == Severity::Error).count();
        if !compared.comparison.whole[i] {
            out.push(format!("{name} is not valid TOML: what stands after the mistake may be missing here. Mend it and compare again."));
        } else if errors > 0 {
            let errors = count(errors, "error", "errors");
            out.push(format!("{name} has {errors}; what cannot be read is compared as it is written."));
        }
    }
    out
}

/// "12 differences in 214 values compared: limits and directions 2, ...".
fn total(compared: &Compared) -> String {
    let all = &compared.comparison.differences;
    let values = count(compared.comparison.compared, "value", "values");
    if all.is_empty() {
        let part = if compared.comparison.whole.contains(&false) { " in what could be read" } else { "" };
        return format!("no difference in {values} compared{part}");
    }
    let kinds: Vec<String> = counts(all).into_iter().map(|(class, n)| format!("{} {n}", class.title())).collect();
    let small = all.iter().filter(|d| d.within).count();
    let within = if small > 0 { format!("; {small} of them within the tolerance of entry") } else { String::new() };
    format!("{} in {values} compared: {}{within}", count(all.len(), "difference", "differences"), kinds.join(", "))
}

fn counts(all: &[Difference]) -> Vec<(Class, usize)> {
    let of = |class: Class| (class, all.iter().filter(|d| d.class == class).count());
    Class::ALL.map(of).into_iter().filter(|(_, n)| *n > 0).collect()
}

/// What to do now.
fn advice(compared: &Compared) -> Option<String> {
    let all = &compared.comparison.differences;
    if all.is_empty() {
        return None;
    }
    let mut out = match compared.kind {
        Kind::Policy => "Ask whoever decides the rule, and correct the entry that is wrong.".to_owned(),
        Kind::Arm | Kind::Cell if all.iter().all(|d| d.class == Class::Words) => {
            "Look each of them up at its source, and correct the entry that is wrong.".to_owned()
        }
        Kind::Arm | Kind::Cell => "Measure again what differs, or look it up at its source, without either entry in hand; then correct \
                                   the entry that is wrong. Do not average: the mean of a right and a wrong value is wrong."
            .to_owned(),
    };
    if all.iter().any(|d| d.within) {
        out += " What lies within the tolerance of entry still needs one value in both files: take the one that leaves less room.";
    }
    if all.iter().any(|d| d.change == Change::Renamed) {
        out += " Where only a name differs, agree on one first and compare again.";
    }
    Some(out)
}

#[derive(Serialize)]
struct Report<'c> {
    schema: &'static str,
    kind: Kind,
    a: Entry,
    b: Entry,
    within: Option<String>,
    compared: usize,
    counts: BTreeMap<&'static str, usize>,
    differences: Vec<Shown<'c>>,
    advice: Option<String>,
    remarks: Vec<String>,
}

#[derive(Serialize)]
struct Entry {
    file: String,
    sha256: String,
    valid_toml: bool,
    problems: Vec<findings::Finding>,
}

#[derive(Serialize)]
struct Shown<'c> {
    class: Class,
    change: Change,
    place: &'c [String],
    meaning: &'static str,
    message: String,
    a: Value<'c>,
    b: Value<'c>,
    apart: Option<&'c str>,
    note: Option<&'static str>,
    within: bool,
}

#[derive(Serialize)]
struct Value<'c> {
    value: Option<&'c str>,
    #[serde(flatten)]
    place: Place,
}

/// The differences as one JSON object.
pub(super) fn json(compared: &Compared, files: &Files, within: Option<&Within>) -> Result<String, Error> {
    let entry = |i: usize| {
        let source = &compared.sources[i];
        let problems: &[Diagnostic] = &compared.problems[i];
        let sha256 = source.digest.iter().map(|b| format!("{b:02x}")).collect();
        let problems = findings::report(problems, files, 0).findings;
        Entry { file: files.get(source.file).name.clone(), sha256, valid_toml: compared.comparison.whole[i], problems }
    };
    let all = &compared.comparison.differences;
    let report = Report {
        schema: SCHEMA,
        kind: compared.kind,
        a: entry(0),
        b: entry(1),
        within: within.map(ToString::to_string),
        compared: compared.comparison.compared,
        counts: counts(all).into_iter().map(|(class, n)| (class.name(), n)).collect(),
        differences: all.iter().map(|d| shown(d, files)).collect(),
        advice: advice(compared),
        remarks: remarks(compared),
    };
    serde_json::to_string_pretty(&report).map(|t| t + "\n").map_err(|e| Error::Internal(e.to_string()))
}

fn shown<'c>(d: &'c Difference, files: &Files) -> Shown<'c> {
    let value = |side: &'c Side| {
        let file: &File = &files.get(side.span.file);
        Value { value: side.shown.as_deref(), place: Place::of(file, side.span) }
    };
    Shown {
        class: d.class,
        change: d.change,
        place: &d.place,
        meaning: d.meaning,
        message: d.to_string(),
        a: value(&d.a),
        b: value(&d.b),
        apart: d.apart.as_deref(),
        note: d.note,
        within: d.within,
    }
}
