//! The tables of the work package, and the estimate of the time, from the compiled form.

use super::Basis;
use crate::compiled::{Compiled, Time};
use crate::document::package::{Cell, Estimate, Package, Part, SectionTime};
use crate::document::{Field, Prose};

/// A column: values by their keys in the compiled form, or a blank with its label. A blank stands too where all values are missing
/// and the column says what is to be written then.
struct Column {
    head: &'static str,
    keys: &'static [&'static str],
    blank: Option<&'static str>,
}

const fn values(head: &'static str, keys: &'static [&'static str]) -> Column {
    Column { head, keys, blank: None }
}
const fn or_blank(head: &'static str, keys: &'static [&'static str], blank: &'static str) -> Column {
    Column { head, keys, blank: Some(blank) }
}

/// A table: its name in ids, its list in the compiled form, heading, what is to be known of it, widths, columns.
struct Plan {
    name: &'static str,
    list: &'static str,
    heading: &'static str,
    about: Option<&'static str>,
    widths: &'static str,
    columns: &'static [Column],
    /// Rows to be filled in, behind those with data.
    open: usize,
}

const PLANS: [Plan; 9] = [
    Plan {
        name: "finding",
        list: "findings",
        heading: "Findings that stand",
        about: Some("The first page says what was looked at and what was not."),
        widths: "4 2 8 6",
        columns: &[
            values("Rule, weight", &["rule", "severity"]),
            values("Step", &["step"]),
            values("What was found", &["message"]),
            or_blank("Taken on by, when, why", &["taken"], "Disposition"),
        ],
        open: 0,
    },
    Plan {
        name: "lift",
        list: "lifts",
        heading: "Lift data",
        about: Some("Masses and centres are those of the model. The shares are the worst over the whole procedure, at rest."),
        widths: "4 3 4 4 5 6",
        columns: &[
            values("Load", &["title", "name"]),
            values("Mass, and at most", &["mass", "at_most"]),
            values("Centre from the grip centre", &["centre"]),
            values("Bears", &["bears"]),
            values("Grip, worst", &["grip"]),
            values("Arm, worst", &["arm"]),
        ],
        open: 0,
    },
    Plan {
        name: "limit",
        list: "limits",
        heading: "Limits",
        about: None,
        widths: "6 5 6",
        columns: &[
            values("Limit", &["limit"]),
            or_blank("If it is exceeded", &["consequence"], "Consequence"),
            or_blank("What is done then", &["correction"], "Correction"),
        ],
        open: 0,
    },
    Plan {
        name: "prerequisite",
        list: "prerequisites",
        heading: "Prerequisites",
        about: None,
        widths: "12 3 3",
        columns: &[
            values("What must be so before the work", &["text"]),
            or_blank("Met", &[], "Initials"),
            or_blank("When", &[], "Date, time"),
        ],
        open: 0,
    },
    Plan {
        name: "instrument",
        list: "instruments",
        heading: "Instruments",
        about: None,
        widths: "4 4 3 4 4",
        columns: &[
            values("Instrument", &["name"]),
            values("Reads", &["reads"]),
            values("At steps", &["steps"]),
            or_blank("Which one", &[], "Number"),
            or_blank("Calibrated", &[], "Due"),
        ],
        open: 0,
    },
    Plan {
        name: "point",
        list: "points",
        heading: "Hold points and verifications",
        about: Some("Posts are compared; that other persons hold them is for the shift to see to."),
        widths: "2 4 4 8 4",
        columns: &[
            values("Step", &["step"]),
            values("Kind", &["kind"]),
            values("Post", &["role"]),
            values("What must be true, or is agreed", &["criterion"]),
            values("The post is", &["apart"]),
        ],
        open: 0,
    },
    Plan {
        name: "criterion",
        list: "criteria",
        heading: "Acceptance criteria",
        about: None,
        widths: "9 6 3",
        columns: &[values("Criterion", &["text"]), values("Asked for by", &["source"]), or_blank("Met", &[], "Initials")],
        open: 0,
    },
    Plan {
        name: "exit",
        list: "exits",
        heading: "Branches and ways out",
        about: Some("Arms by their numbers, lines by their steps, contingencies by theirs."),
        widths: "8 9",
        columns: &[values("Way", &["way"]), values("Where it ends", &["ends"])],
        open: 0,
    },
    Plan {
        name: "validation",
        list: "validations",
        heading: "Validation",
        about: Some("Trials of this procedure at a mock-up, with an empty cell, or walked through. A desk check is none."),
        widths: "3 4 4 8",
        columns: &[
            or_blank("How", &["how"], "How"),
            or_blank("When, by which post", &["date", "post"], "Date, post"),
            or_blank("It took", &["elapsed"], "Time"),
            or_blank("Result", &["result"], "Result, deviations"),
        ],
        open: 1,
    },
];

impl Basis<'_> {
    /// The tables; none in an edition that is not for reviewers.
    pub(super) fn package(&self) -> Option<Package> {
        let compiled = self.sources.compiled.filter(|_| self.sources.edition.is_reviewed())?;
        let data = as_lists(compiled);
        Some(Package { item: "package", parts: PLANS.iter().filter_map(|plan| part(plan, &data[plan.list])).collect() })
    }

    /// The estimate of the time.
    pub(super) fn estimate(&self) -> Option<Estimate> {
        let time = &self.sources.compiled?.package.time;
        let section = |(n, s): (usize, &crate::compiled::SectionTime)| SectionTime {
            title: Field::new(format!("record.time{n}.title"), s.title.as_str()),
            time: Field::new(format!("record.time{n}.time"), s.text.as_str()),
        };
        Some(Estimate {
            basis: Prose::plain("record.basis", basis(time)),
            sections: (1..).zip(&time.sections).map(section).collect(),
            total: Field::new("record.total", time.text.as_str()),
        })
    }
}

/// What is in an estimate.
fn basis(time: &Time) -> String {
    let mut out = if time.of_acts {
        "Estimate, not a limit: motion, waits and the site's times for acts, by the shortest and by the longest way; contingencies apart."
            .to_owned()
    } else {
        "Motion at full stick and waits alone, by the shortest and by the longest way: the policy gives no times for acts, so this is no time of the task."
            .to_owned()
    };
    if !time.without.is_empty() {
        out.push_str(&format!(" Not in it, for want of a time in the policy: {}.", time.without.join(", ")));
    }
    if !time.open.is_empty() {
        out.push_str(&format!(" Without an upper bound, counted at its least: step {}.", time.open.join(", ")));
    }
    out
}

/// The lists of the package as plain data; findings with who took them on.
fn as_lists(compiled: &Compiled) -> serde_json::Value {
    let mut data = serde_json::to_value(&compiled.package).unwrap_or_default();
    let finding = |f: &crate::compiled::Finding| {
        let waived = f.waiver.as_ref().map(|w| format!("{}, until {}: {}", w.post, w.expires, w.reason));
        let accepted = f.disposition.as_ref().map(|d| format!("{}, {}: {}", d.post, d.date, d.reason));
        serde_json::json!({
            "rule": f.rule, "severity": f.severity, "step": f.step, "message": f.message, "taken": waived.or(accepted),
        })
    };
    data["findings"] = compiled.findings.iter().map(finding).collect();
    data
}

fn part(plan: &Plan, list: &serde_json::Value) -> Option<Part> {
    let rows: Vec<Vec<Cell>> = list.as_array()?.iter().enumerate().map(|(n, entry)| row(plan, n + 1, entry)).collect();
    let open =
        (0..plan.open).map(|_| plan.columns.iter().map(|c| Cell { values: Vec::new(), blank: c.blank.map(str::to_owned) }).collect());
    let rows: Vec<_> = rows.into_iter().chain(open).collect();
    (!rows.is_empty()).then(|| Part {
        heading: plan.heading.to_owned(),
        about: plan.about.map(str::to_owned),
        widths: plan.widths.to_owned(),
        head: plan.columns.iter().map(|c| c.head.to_owned()).collect(),
        rows,
    })
}

fn row(plan: &Plan, n: usize, entry: &serde_json::Value) -> Vec<Cell> {
    let value = |key: &&str| {
        let text = match entry {
            serde_json::Value::String(text) => text.clone(),
            entry => match &entry[key] {
                serde_json::Value::String(text) => text.clone(),
                serde_json::Value::Array(list) => list.iter().filter_map(|v| v.as_str()).collect::<Vec<_>>().join("; "),
                _ => String::new(),
            },
        };
        (!text.is_empty()).then(|| Field::new(format!("package.{}{n}.of-{key}", plan.name), text))
    };
    let cell = |column: &Column| {
        let values: Vec<Field> = column.keys.iter().filter_map(value).collect();
        let blank = column.blank.filter(|_| values.is_empty()).map(str::to_owned);
        Cell { values, blank }
    };
    plan.columns.iter().map(cell).collect()
}
