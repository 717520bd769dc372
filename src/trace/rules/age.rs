//! The age of the data that everything is checked against.

use super::Sink;
use crate::diag::{Evidence, Example, ExampleFile, Family, Rule, Severity};
use crate::model::procedure::{Effect, Procedure};
use crate::text::{Span, Spanned};
use crate::units::Time;

const DAY: i64 = 86_400_000;

/// Data older than the site accepts.
pub static STALE_MODEL: Rule = Rule {
    id: "stale-model",
    family: Family::Document,
    severity: Severity::Error,
    physical: false,
    summary: "arm, cell or station data are older than the policy accepts, or younger than the document",
    why: "Things in a cell are moved and arms are adjusted. A station measured long ago is the commonest reason why a step that was right goes wrong.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::patch(ExampleFile::Arm, "revision = \"2\"\ndate = \"2026-03-02\"", "revision = \"2\"\ndate = ⟦\"2024-03-02\"⟧")],
    good: &[Example::patch(ExampleFile::Arm, "revision = \"2\"\ndate = \"2026-03-02\"", "revision = \"2\"\ndate = \"2026-01-02\"")],
};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&STALE_MODEL];

pub(super) fn check(p: &Procedure, sink: &mut Sink<'_>) {
    let (Some(most), Some(date)) = (p.policy.model_age, &p.front.date) else { return };
    let Some(today) = days(&date.value) else { return };
    let most_days = most.value.0 / DAY;
    judge(sink, "the arm profile", &p.arm.date, date.span, today, most);
    if p.front.cell.is_some() {
        judge(sink, "the survey of the cell", &p.cell.surveyed, date.span, today, most);
    }
    // Only the stations this procedure goes to; most are measured with the survey.
    let old = |at: &Spanned<String>| days(&at.value).is_some_and(|d| today - d > most_days || d > today);
    if !p.cell.stations.iter().any(|s| s.measured.as_ref().is_some_and(old)) {
        return;
    }
    for step in &p.steps {
        for effect in step.effects() {
            if let Effect::Leave(_, at) | Effect::Rest(_, at) | Effect::LetGo(_, at, _) | Effect::ExpectAt(at) = effect {
                let station = &p.cell.stations[at.value.at()];
                if let Some(measured) = &station.measured {
                    judge(sink, &format!("station `{}`", station.name.value), measured, date.span, today, most);
                }
            }
        }
    }
}

fn judge(sink: &mut Sink<'_>, what: &str, taken: &Spanned<String>, document: Span, today: i64, most: Spanned<Time>) {
    let Some(then) = days(&taken.value) else { return };
    let (age, most_days) = (today - then, most.value.0 / DAY);
    if age <= most_days && age >= 0 {
        return;
    }
    sink.put(&STALE_MODEL, taken.span, || {
        let how = if age < 0 {
            format!("is dated {}, after the document", taken.value)
        } else {
            format!("is of {}, {age} days before the document; the policy accepts {most_days}", taken.value)
        };
        STALE_MODEL
            .at(taken.span, format!("{what} {how}"))
            .label(document, "the date of the document")
            .label(most.span, "the greatest age")
            .help("measure again, or have the data confirmed, and date them")
            .number("age", format!("{age} d"))
            .number("most", format!("{most_days} d"))
    });
}

/// Days since 1970-01-01 of a `YYYY-MM-DD`; `None` for anything else. Proleptic Gregorian, by the counting of whole 400-year eras.
pub(in crate::trace) fn days(date: &str) -> Option<i64> {
    let mut parts = date.splitn(3, '-').map(|p| p.parse::<i64>().ok().filter(|_| p.bytes().all(|b| b.is_ascii_digit())));
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    if !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let y = if month <= 2 { year - 1 } else { year };
    let (era, of_era) = (y.div_euclid(400), y.rem_euclid(400));
    let of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    Some(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468)
}

#[cfg(test)]
mod tests {
    use super::days;

    #[test]
    fn days_are_counted_over_leap_years_and_eras() {
        // POSIX (IEEE Std 1003.1): 1970-01-01 is day 0; the rest follows from the Gregorian calendar's leap years.
        assert_eq!(days("1970-01-01"), Some(0));
        assert_eq!(days("2000-03-01"), Some(11_017));
        assert_eq!(days("2024-02-29").zip(days("2024-03-01")).map(|(a, b)| b - a), Some(1));
        assert_eq!(days("2100-02-28").zip(days("2100-03-01")).map(|(a, b)| b - a), Some(1));
        assert_eq!(days("2026-3"), None);
        assert_eq!(days("today"), None);
    }
}
