//! The tables of the work package, and the estimate of the time, from the compiled form.

use super::Basis;
use super::evidence;
use super::told::up_to_mm;
use crate::compiled::{self, Compiled, Saying, Time};
use crate::document::package::{Cell, Estimate, Package, Part, SectionTime, Summary};
use crate::document::wording::{self, listed};
use crate::document::{Field, Prose};
use crate::proof::spoken;
use crate::trace::distinct;
use crate::words::Words;
use crate::words::ids::{self, Entry};

/// A column: values by their keys in the compiled form, or a blank by its name. A blank stands too where all values are missing
/// and the column says what is to be written then.
struct Column {
    head: Entry<0>,
    keys: &'static [&'static str],
    blank: Option<&'static str>,
}

const fn values(head: Entry<0>, keys: &'static [&'static str]) -> Column {
    Column { head, keys, blank: None }
}
const fn or_blank(head: Entry<0>, keys: &'static [&'static str], blank: &'static str) -> Column {
    Column { head, keys, blank: Some(blank) }
}

/// A table: its name in ids, its list in the compiled form, heading, what is to be known of it, widths, columns.
struct Plan {
    name: &'static str,
    list: &'static str,
    heading: Entry<0>,
    about: Option<Entry<0>>,
    widths: &'static str,
    columns: &'static [Column],
    /// Which entries of the list stand in it; all without it.
    only: Option<fn(&serde_json::Value) -> bool>,
    /// What is said where there are no rows; without it the whole table is left out then.
    none: Option<Entry<0>>,
}

/// A table with nothing but what its columns show.
const TABLE: Plan =
    Plan { name: "", list: "", heading: ids::PACKAGE_FINDING, about: None, widths: "", columns: &[], only: None, none: None };

/// So many of what is nearest to its limit are in the summary.
const CLOSEST: usize = 5;

/// What is told of a load that can fall.
const FALLS: [Column; 5] = [
    values(ids::PACKAGE_LIFT_LOAD, &["load", "mass"]),
    values(ids::PACKAGE_DROP_ONTO, &["onto"]),
    values(ids::PACKAGE_DROP_HEIGHT, &["height"]),
    values(ids::PACKAGE_DROP_BEARS, &["bears"]),
    values(ids::PACKAGE_DROP_ENERGY, &["energy"]),
];

/// What is told of a trial.
const TRIALS: [Column; 4] = [
    values(ids::PACKAGE_VALIDATION_HOW, &["how"]),
    values(ids::PACKAGE_VALIDATION_WHEN, &["date", "post"]),
    values(ids::PACKAGE_VALIDATION_TOOK, &["elapsed"]),
    values(ids::PACKAGE_VALIDATION_RESULT, &["result"]),
];

const PLANS: [Plan; 15] = [
    Plan {
        name: "finding",
        list: "findings",
        heading: ids::PACKAGE_FINDING,
        about: Some(ids::PACKAGE_FINDING_ABOUT),
        widths: "4 2 8 6",
        columns: &[
            values(ids::PACKAGE_FINDING_RULE, &["rule", "severity"]),
            values(ids::PACKAGE_FINDING_STEP, &["step"]),
            values(ids::PACKAGE_FINDING_FOUND, &["message"]),
            or_blank(ids::PACKAGE_FINDING_TAKEN, &["taken"], "disposition"),
        ],
        ..TABLE
    },
    Plan {
        name: "lift",
        list: "lifts",
        heading: ids::PACKAGE_LIFT,
        about: Some(ids::PACKAGE_LIFT_ABOUT),
        widths: "4 3 4 4 5 6",
        columns: &[
            values(ids::PACKAGE_LIFT_LOAD, &["title", "name"]),
            values(ids::PACKAGE_LIFT_MASS, &["mass", "at_most"]),
            values(ids::PACKAGE_LIFT_CENTRE, &["centre"]),
            values(ids::PACKAGE_LIFT_BEARS, &["bears"]),
            values(ids::PACKAGE_LIFT_GRIP, &["grip"]),
            values(ids::PACKAGE_LIFT_ARM, &["arm"]),
        ],
        ..TABLE
    },
    Plan {
        name: "drop",
        list: "drops",
        heading: ids::PACKAGE_DROP,
        about: Some(ids::PACKAGE_DROP_ABOUT),
        widths: "6 5 5 3 3",
        columns: &FALLS,
        ..TABLE
    },
    Plan {
        name: "lag",
        list: "lags",
        heading: ids::PACKAGE_LAG,
        about: Some(ids::PACKAGE_LAG_ABOUT),
        widths: "3 4 6 7 7",
        columns: &[
            values(ids::PACKAGE_POINT_STEP, &["step"]),
            values(ids::PACKAGE_LAG_JOINT, &["joint"]),
            values(ids::PACKAGE_LAG_WAY, &["way"]),
            values(ids::PACKAGE_LAG_MEETS, &["meets"]),
            values(ids::PACKAGE_LAG_KEPT, &["kept"]),
        ],
        ..TABLE
    },
    Plan {
        name: "limit",
        list: "limits",
        heading: ids::PACKAGE_LIMIT,
        widths: "6 5 6 4",
        columns: &[
            values(ids::PACKAGE_LIMIT_LIMIT, &["limit"]),
            values(ids::PACKAGE_LIMIT_CONSEQUENCE, &["consequence"]),
            values(ids::PACKAGE_LIMIT_CORRECTION, &["correction"]),
            values(ids::PACKAGE_LIMIT_SOURCE, &["source"]),
        ],
        only: Some(is_stated),
        none: Some(ids::PACKAGE_LIMIT_NONE),
        ..TABLE
    },
    Plan {
        name: "limit",
        list: "limits",
        heading: ids::PACKAGE_BOUND,
        widths: "8 9",
        columns: &[values(ids::PACKAGE_LIMIT_LIMIT, &["limit"]), values(ids::PACKAGE_LIMIT_CORRECTION, &["correction"])],
        only: Some(is_bound),
        ..TABLE
    },
    Plan {
        name: "prerequisite",
        list: "prerequisites",
        heading: ids::PACKAGE_PREREQUISITE,
        widths: "1",
        columns: &[values(ids::PACKAGE_PREREQUISITE_TEXT, &["text"])],
        none: Some(ids::PACKAGE_PREREQUISITE_NONE),
        ..TABLE
    },
    Plan {
        name: "permit",
        list: "permits",
        heading: ids::PACKAGE_PERMIT,
        widths: "8 5 3 3",
        columns: &[
            values(ids::PACKAGE_PERMIT_NAME, &["name"]),
            values(ids::PACKAGE_PERMIT_BY, &["by"]),
            or_blank(ids::PACKAGE_PERMIT_NUMBER, &[], "number"),
            or_blank(ids::PACKAGE_PERMIT_UNTIL, &[], "date-time"),
        ],
        none: Some(ids::PACKAGE_PERMIT_NONE),
        ..TABLE
    },
    Plan {
        name: "qualification",
        list: "qualifications",
        heading: ids::PACKAGE_QUALIFICATION,
        about: Some(ids::PACKAGE_QUALIFICATION_ABOUT),
        widths: "4 9 5",
        columns: &[
            values(ids::PACKAGE_POINT_ROLE, &["post"]),
            values(ids::PACKAGE_QUALIFICATION_NEEDS, &["needs"]),
            or_blank(ids::PACKAGE_QUALIFICATION_WHO, &[], "name"),
        ],
        ..TABLE
    },
    Plan {
        name: "reference",
        list: "references",
        heading: ids::PACKAGE_REFERENCE,
        about: Some(ids::PACKAGE_REFERENCE_ABOUT),
        widths: "4 9 3 3",
        columns: &[
            values(ids::PACKAGE_REFERENCE_NUMBER, &["number"]),
            values(ids::PACKAGE_REFERENCE_TITLE, &["title"]),
            values(ids::PACKAGE_REFERENCE_REVISION, &["revision"]),
            or_blank(ids::PACKAGE_REFERENCE_CURRENT, &[], "initials"),
        ],
        ..TABLE
    },
    Plan {
        name: "instrument",
        list: "instruments",
        heading: ids::PACKAGE_INSTRUMENT,
        widths: "4 4 3 4 4",
        columns: &[
            values(ids::PACKAGE_INSTRUMENT_NAME, &["name"]),
            values(ids::PACKAGE_INSTRUMENT_READS, &["reads"]),
            values(ids::PACKAGE_INSTRUMENT_STEPS, &["steps"]),
            or_blank(ids::PACKAGE_INSTRUMENT_WHICH, &[], "number"),
            or_blank(ids::PACKAGE_INSTRUMENT_CALIBRATED, &[], "due"),
        ],
        ..TABLE
    },
    Plan {
        name: "point",
        list: "points",
        heading: ids::PACKAGE_POINT,
        about: Some(ids::PACKAGE_POINT_ABOUT),
        widths: "5 9 9 24",
        columns: &[
            values(ids::PACKAGE_POINT_STEP, &["step", "name"]),
            values(ids::PACKAGE_POINT_KIND, &["kind"]),
            values(ids::PACKAGE_POINT_ROLE, &["role", "apart"]),
            values(ids::PACKAGE_POINT_CRITERION, &["criterion"]),
        ],
        ..TABLE
    },
    Plan {
        name: "criterion",
        list: "criteria",
        heading: ids::PACKAGE_CRITERION,
        widths: "9 6",
        columns: &[values(ids::PACKAGE_CRITERION_TEXT, &["text"]), values(ids::PACKAGE_CRITERION_SOURCE, &["source"])],
        none: Some(ids::PACKAGE_CRITERION_NONE),
        ..TABLE
    },
    Plan {
        name: "exit",
        list: "exits",
        heading: ids::PACKAGE_EXIT,
        about: Some(ids::PACKAGE_EXIT_ABOUT),
        widths: "8 9",
        columns: &[values(ids::PACKAGE_EXIT_WAY, &["way"]), values(ids::PACKAGE_EXIT_ENDS, &["ends"])],
        ..TABLE
    },
    Plan {
        name: "validation",
        list: "validations",
        heading: ids::PACKAGE_VALIDATION,
        about: Some(ids::PACKAGE_VALIDATION_ABOUT),
        widths: "3 4 4 8",
        columns: &TRIALS,
        none: Some(ids::PACKAGE_VALIDATION_NONE),
        ..TABLE
    },
];

/// The tables of the summary for the safety review.
const SUMMARY: [Plan; 5] = [
    Plan { name: "drop", list: "drops", heading: ids::SAFETY_DROP, widths: "6 5 5 3 3", columns: &FALLS, ..TABLE },
    Plan {
        name: "act",
        list: "irrevocable",
        heading: ids::SAFETY_ACT,
        widths: "2 7 9",
        columns: &[
            values(ids::PACKAGE_POINT_STEP, &["step"]),
            values(ids::SAFETY_ACT_ACT, &["act"]),
            values(ids::SAFETY_ACT_BEFORE, &["before"]),
        ],
        ..TABLE
    },
    Plan {
        name: "limit",
        list: "limits",
        heading: ids::PACKAGE_LIMIT,
        widths: "11 7",
        columns: &[values(ids::PACKAGE_LIMIT_LIMIT, &["limit"]), values(ids::PACKAGE_LIMIT_SOURCE, &["source"])],
        only: Some(is_stated),
        none: Some(ids::PACKAGE_LIMIT_NONE),
        ..TABLE
    },
    Plan {
        name: "limit",
        list: "limits",
        heading: ids::PACKAGE_BOUND,
        widths: "1",
        columns: &[values(ids::PACKAGE_LIMIT_LIMIT, &["limit"])],
        only: Some(is_bound),
        ..TABLE
    },
    Plan {
        name: "validation",
        list: "validations",
        heading: ids::PACKAGE_VALIDATION,
        widths: "3 4 4 8",
        columns: &TRIALS,
        none: Some(ids::PACKAGE_VALIDATION_NONE),
        ..TABLE
    },
];

/// A limit that somebody set, and not the bound of a reading alone.
fn is_stated(limit: &serde_json::Value) -> bool {
    ["consequence", "source"].iter().any(|key| !limit[key].is_null())
}

/// The bound of a reading, which its step says.
fn is_bound(limit: &serde_json::Value) -> bool {
    !is_stated(limit)
}

impl Basis<'_> {
    /// What a safety reviewer signs; none in an edition that is not for reviewers.
    pub(super) fn summary(&self) -> Option<Summary> {
        let compiled = self.sources.compiled.filter(|_| self.sources.edition.is_reviewed())?;
        let (data, words) = (as_lists(compiled), self.words());
        let of_plan = |plan: &Plan| self.part("safety", plan, &data[plan.list]);
        Some(Summary {
            item: "safety",
            parts: self.nearest_part(compiled).into_iter().chain(SUMMARY.iter().filter_map(of_plan)).collect(),
            standing: Prose::plain("safety.standing", self.standing()),
            reserve: Prose::plain("safety.reserve", self.reserve()),
            unchecked: listed("safety.unchecked", self.unchecked_list()),
            cautions: wording::not_looked_at(self.procedure, self.covered.iter().any(|c| c.id == "clearance"), words),
            power: self.power(compiled).map(|line| Prose::plain("safety.power", line)),
            assumptions: listed("safety.assumption", wording::assumptions(self.procedure, words).iter().map(Prose::text)),
            signature: Prose::plain("safety.meaning", words.say(ids::SIGN_SAFETY)),
        })
    }

    /// Of all limits those that most is used of; none where nothing was worked out.
    fn nearest_part(&self, compiled: &Compiled) -> Option<Part> {
        let row = |(n, near)| evidence::nearest("safety", n, near, compiled, self.words());
        let cell = |value| Cell { values: vec![value], blank: None };
        let nearest = (1..).zip(&compiled.package.nearest).take(CLOSEST);
        let rows: Vec<Vec<Cell>> = nearest.map(|near| row(near).into_iter().map(cell).collect()).collect();
        (!rows.is_empty()).then(|| Part {
            heading: self.words().say(ids::EVIDENCE_NEAREST).to_owned(),
            about: Some(self.words().say(ids::SAFETY_NEAREST_ABOUT).to_owned()),
            none: None,
            widths: "4 9 4 5 6 3".to_owned(),
            head: evidence::NEAREST.iter().map(|head| self.words().say(*head).to_owned()).collect(),
            rows,
        })
    }

    /// How far a load falls that is dropped without power; else what is touched first, of all the steps at whose start something is
    /// held.
    fn power(&self, compiled: &Compiled) -> Option<String> {
        let dropped = compiled.steps.iter().filter_map(|s| Some((s, s.told.as_ref()?.drops.as_ref()?)));
        // Where a fall is not known, none is named as the greatest.
        if let Some((step, drop)) = dropped.rev().max_by_key(|(_, drop)| drop.falls.unwrap_or(i64::MAX)) {
            let Some(most) = drop.falls else { return Some(self.words().say(ids::SAFETY_DROPS).to_owned()) };
            let onto = distinct(drop.onto.iter().cloned());
            let (height, onto) = (up_to_mm(most).to_string(), self.words().list(&onto, ids::LIST_OR));
            return Some(self.words().fill(ids::SAFETY_DROPS_ONTO, [&height, &step.number, &onto]));
        }
        let loaded = compiled.steps.iter().filter(|s| s.before.iter().any(|b| b.held.is_some()));
        let sinks = loaded.filter_map(|s| Some((s, s.told.as_ref()?.sag.as_ref()?)));
        let (step, sag) = sinks.filter(|(_, sag)| sag.meets.is_some()).min_by_key(|(_, sag)| sag.clear)?;
        let [one, other] = sag.meets.as_ref()?;
        let minutes = format!("{}.{}", sag.clear / 10, sag.clear % 10);
        Some(self.words().fill(ids::SAFETY_POWER, [&minutes, &step.number, one, other]))
    }

    /// The tables; none in an edition that is not for reviewers.
    pub(super) fn package(&self) -> Option<Package> {
        let compiled = self.sources.compiled.filter(|_| self.sources.edition.is_reviewed())?;
        let data = as_lists(compiled);
        let parts = PLANS.iter().filter_map(|plan| self.part("package", plan, &data[plan.list])).collect();
        Some(Package { item: "package", bodies: self.sketches(), charts: self.charts(), evidence: self.evidence(), parts })
    }

    /// The estimate of the time.
    pub(super) fn estimate(&self) -> Option<Estimate> {
        let (time, words) = (&self.sources.compiled?.package.time, self.words());
        let section = |(n, s): (usize, &compiled::SectionTime)| SectionTime {
            title: Field::new(format!("record.time{n}.title"), s.title.as_str()),
            time: Field::new(format!("record.time{n}.time"), between(s.least, s.most, words)),
        };
        Some(Estimate {
            basis: Prose::plain("record.basis", basis(time, words)),
            sections: (1..).zip(&time.sections).map(section).collect(),
            total: Field::new("record.total", between(time.least, time.most, words)),
        })
    }

    fn part(&self, item: &str, plan: &Plan, list: &serde_json::Value) -> Option<Part> {
        let entries = (1..).zip(list.as_array()?).filter(|(_, entry)| plan.only.is_none_or(|stands| stands(entry)));
        let rows: Vec<Vec<Cell>> = entries.map(|(n, entry)| self.cells(item, plan, n, entry)).collect();
        let said = |entry| self.words().say(entry).to_owned();
        let none = plan.none.filter(|_| rows.is_empty()).map(|entry| Prose::plain(format!("{item}.{}-none", plan.name), said(entry)));
        (!rows.is_empty() || none.is_some()).then(|| Part {
            heading: said(plan.heading),
            about: plan.about.map(said),
            none,
            widths: plan.widths.to_owned(),
            head: plan.columns.iter().map(|c| said(c.head)).collect(),
            rows,
        })
    }

    fn cells(&self, item: &str, plan: &Plan, n: usize, entry: &serde_json::Value) -> Vec<Cell> {
        let said = |value: &serde_json::Value| serde_json::from_value(value.clone()).map_or_else(|_| String::new(), |p| self.saying(&p));
        let value = |key: &&str| {
            let text = match entry {
                serde_json::Value::String(text) => text.clone(),
                entry => match &entry[key] {
                    serde_json::Value::Array(list) => self.words().row(&list.iter().map(said).collect::<Vec<_>>(), ids::LIST_SEMICOLON),
                    other => said(other),
                },
            };
            (!text.is_empty()).then(|| Field::new(format!("{item}.{}{n}.of-{key}", plan.name), text))
        };
        let cell = |column: &Column| {
            let values: Vec<Field> = column.keys.iter().filter_map(value).collect();
            let blank = column.blank.filter(|_| values.is_empty());
            Cell { values, blank }
        };
        plan.columns.iter().map(cell).collect()
    }
}

/// "3 min", "12 min to 18 min".
fn between(least: i64, most: i64, words: &Words) -> String {
    let (least, most) = (spoken(least), spoken(most));
    if least == most { most } else { words.fill(ids::ESTIMATE_RANGE, [&least, &most]) }
}

/// What is in an estimate.
fn basis(time: &Time, words: &Words) -> String {
    let mut out = words.say(if time.of_acts { ids::ESTIMATE_ACTS } else { ids::ESTIMATE_MOTION }).to_owned();
    for (list, entry) in [(&time.without, ids::ESTIMATE_WITHOUT), (&time.open, ids::ESTIMATE_OPEN)] {
        if !list.is_empty() {
            out.push(' ');
            out.push_str(&words.fill(entry, [&words.row(list, ids::LIST_COMMA)]));
        }
    }
    out
}

/// The lists of the package as plain data; findings with who took them on.
fn as_lists(compiled: &Compiled) -> serde_json::Value {
    let mut data = serde_json::to_value(&compiled.package).unwrap_or_default();
    let taken = |says: &str, post: &str, date: &str, reason: &str| {
        Saying::phrase(says, [("post", post.into()), ("date", date.into()), ("reason", reason.into())])
    };
    let finding = |f: &compiled::Finding| {
        let waived = f.waiver.as_ref().map(|w| taken("package.waived", &w.post, &w.expires, &w.reason));
        let accepted = f.disposition.as_ref().map(|d| taken("package.accepted", &d.post, &d.date, &d.reason));
        serde_json::json!({
            "rule": f.rule, "severity": Saying::phrase(format!("weight.{}", f.severity), []), "step": f.step, "message": f.message,
            "taken": waived.or(accepted),
        })
    };
    data["findings"] = compiled.findings.iter().map(finding).collect();
    data
}
