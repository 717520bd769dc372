//! How far two values are apart, and what that looks like.
//!
//! Invariant: two quantities are the same where the loader would hold the same value for both, whatever units they are
//! written in.

use crate::units::{Dimension, Number, Quantity, Ratio, Round, UNITS, Unit};

/// The tolerance of entry: for some dimensions, how far apart two readings of one thing may be, in base units.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Within(Vec<Quantity>);

impl Within {
    /// Reads quantities with commas between them, at most one of each dimension. The error says what is wrong.
    pub fn parse(text: &str) -> Result<Within, String> {
        let mut read: Vec<Quantity> = Vec::new();
        for part in text.split(',').map(str::trim) {
            let quantity = Quantity::parse(part)?;
            if quantity.number.thousandths < 0 {
                return Err(format!("a tolerance is not below zero, but {quantity} is written"));
            }
            if let Some(first) = read.iter().find(|q| q.unit.dimension == quantity.unit.dimension) {
                return Err(format!("{first} and {quantity} are both {}; give one tolerance of each kind", first.unit.dimension.a_name()));
            }
            read.push(quantity);
        }
        Ok(Within(read))
    }
    /// Whether values of `dimension` that are `apart` base units apart lie within it.
    fn covers(&self, dimension: Dimension, apart: u64) -> bool {
        let own = self.0.iter().find(|q| q.unit.dimension == dimension);
        own.is_some_and(|q| u64::try_from(q.base(Round::Down)).is_ok_and(|t| apart <= t))
    }
}

impl std::fmt::Display for Within {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0.iter().map(ToString::to_string).collect::<Vec<_>>().join(" and "))
    }
}

/// How two values differ.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Gap {
    /// By how much, with the unit.
    pub(super) apart: Option<String>,
    /// What the two look like.
    pub(super) note: Option<&'static str>,
    /// Not more than the tolerance of entry.
    pub(super) within: bool,
    /// It is between writings, because a value cannot be read.
    pub(super) unread: bool,
}

impl Gap {
    /// The gap between two writings of which at least one cannot be read.
    pub(super) fn unread(note: &'static str) -> Gap {
        Gap { note: Some(note), unread: true, ..Gap::default() }
    }
}

/// The gap between two quantities; `None` if they are the same.
pub(super) fn quantities(a: &Quantity, b: &Quantity, round: Round, within: &Within) -> Option<Gap> {
    if a.unit.dimension != b.unit.dimension {
        return Some(Gap { note: Some("units of another kind"), ..Gap::default() });
    }
    let (x, y) = (a.base(round), b.base(round));
    let apart = x.abs_diff(y);
    let within = within.covers(a.unit.dimension, apart);
    (apart > 0).then(|| Gap { apart: Some(in_unit(apart, a.unit, b.unit)), note: note(a, b, (x, y)), within, unread: false })
}

/// The gap between two plain numbers.
pub(super) fn numbers(a: &Number, b: &Number) -> Option<Gap> {
    let apart = a.thousandths.abs_diff(b.thousandths);
    let note = shape(a, b, (a.thousandths, b.thousandths));
    (apart > 0).then(|| Gap { apart: Some(thousandths(apart).to_string()), note, ..Gap::default() })
}

fn note(a: &Quantity, b: &Quantity, base: (i64, i64)) -> Option<&'static str> {
    if a.unit == b.unit {
        return shape(&a.number, &b.number, base);
    }
    (a.number.thousandths == b.number.thousandths)
        .then_some("the same figure in another unit")
        .or_else(|| shape(&a.number, &b.number, base))
}

/// The slips of the pen that are seen most.
fn shape(a: &Number, b: &Number, (x, y): (i64, i64)) -> Option<&'static str> {
    if x == -y {
        return Some("the same figure with the other sign");
    }
    let shifted = |x: i64, y: i64| [10, 100, 1000].iter().any(|by| x.checked_mul(*by) == Some(y));
    if x != 0 && y != 0 && (shifted(x, y) || shifted(y, x)) {
        return Some("the decimal point stands elsewhere");
    }
    let digits = |n: &Number| n.thousandths.unsigned_abs().to_string().into_bytes();
    let (a, b) = (digits(a), digits(b));
    let differ: Vec<usize> = (0..a.len()).filter(|i| b.get(*i) != Some(&a[*i])).collect();
    let swapped = a.len() == b.len() && matches!(differ[..], [i, j] if j == i + 1 && a[i] == b[j] && a[j] == b[i]);
    swapped.then_some("two digits have changed places")
}

/// A distance in base units, in the unit of either value that shows it exactly, else in the finest there is.
fn in_unit(apart: u64, a: &'static Unit, b: &'static Unit) -> String {
    let size = |u: &Unit| i128::from(u.numerator) / i128::from(u.denominator);
    let others = UNITS.iter().filter(|u| u.dimension == a.dimension);
    let fine = others.clone().min_by_key(|u| size(u)).unwrap_or(a);
    let own = if size(b) < size(a) { [b, a] } else { [a, b] };
    let shown = |unit: &Unit| {
        let top = i128::from(apart) * 1000 * i128::from(unit.denominator);
        (top % i128::from(unit.numerator) == 0).then(|| top / i128::from(unit.numerator))
    };
    let exact = own.into_iter().chain(others).find_map(|u| shown(u).map(|n| (n, u)));
    let (n, unit) = exact.unwrap_or_else(|| {
        let (top, bottom) = (i128::from(apart) * 1000 * i128::from(fine.denominator), i128::from(fine.numerator));
        (top / bottom + i128::from(top % bottom != 0), fine)
    });
    format!("{} {}", thousandths(u64::try_from(n).unwrap_or(u64::MAX)), unit.name)
}

fn thousandths(n: u64) -> Ratio {
    Ratio(i64::try_from(n).unwrap_or(i64::MAX).saturating_mul(1000))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gap(a: &str, b: &str) -> Option<Gap> {
        let q = |t: &str| Quantity::parse(t).unwrap_or_else(|e| panic!("{t}: {e}"));
        let within = Within::parse("2 mm, 0.1 deg").unwrap_or_else(|e| panic!("{e}"));
        quantities(&q(a), &q(b), Round::Up, &within)
    }

    #[test]
    fn values_count_and_not_how_they_are_written() {
        for (a, b) in [("25 mm", "0.025 m"), ("1 in", "25.4 mm"), ("90 deg", "90.000 deg"), ("1 h", "60 min")] {
            assert_eq!(gap(a, b), None, "{a} {b}");
        }
        // 1 lb = 0.45359237 kg exactly; the next milligram above is what a loader would hold for it.
        assert_eq!(gap("1 lb", "453.593 g"), None);
    }

    #[test]
    fn a_gap_says_how_far_in_a_unit_that_shows_it_and_what_it_looks_like() {
        let says = |a, b, apart: &str, note: Option<&'static str>, within: bool| {
            assert_eq!(gap(a, b), Some(Gap { apart: Some(apart.into()), note, within, unread: false }), "{a} {b}");
        };
        says("1509 mm", "1569 mm", "60 mm", None, false);
        says("1509 mm", "1590 mm", "81 mm", Some("two digits have changed places"), false);
        says("-24 deg", "24 deg", "48 deg", Some("the same figure with the other sign"), false);
        says("25 mm", "25 cm", "225 mm", Some("the same figure in another unit"), false);
        says("2.5 m", "2501 mm", "1 mm", None, true);
        says("12 mm", "10 mm", "2 mm", None, true);
        says("12.001 mm", "10 mm", "2.001 mm", None, false);
        says("6 kg", "60 kg", "54 kg", Some("the decimal point stands elsewhere"), false);
        says("1 m", "1000.001 mm", "0.001 mm", None, true);
        says("1 lb", "453.594 g", "0.001 g", None, false);
        assert_eq!(gap("1 mm", "1 kg").and_then(|g| g.note), Some("units of another kind"));
    }

    #[test]
    fn a_tolerance_of_entry_is_read_strictly() {
        assert_eq!(Within::parse("2 mm,0.1 deg").map(|w| w.to_string()), Ok("2 mm and 0.1 deg".into()));
        for bad in ["", "2", "2 mm,", "2 mm, 1 cm", "-1 mm", "2 furlong"] {
            assert!(Within::parse(bad).is_err(), "{bad}");
        }
    }
}
