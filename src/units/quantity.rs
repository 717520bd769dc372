//! A number with its unit, and the table of units.

use super::Number;
use std::fmt;

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Dimension {
    Angle,
    Length,
    Mass,
    Force,
    Pressure,
    Torque,
    Time,
    AngleRate,
    Drift,
    DoseRate,
    Dose,
    Temperature,
    Volume,
    Speed,
    Activity,
    Voltage,
    Current,
    Percent,
}

impl Dimension {
    /// For messages: "an angle".
    pub fn a_name(self) -> &'static str {
        match self {
            Dimension::Angle => "an angle",
            Dimension::Length => "a length",
            Dimension::Mass => "a mass",
            Dimension::Force => "a force",
            Dimension::Pressure => "a pressure",
            Dimension::Torque => "a torque",
            Dimension::Time => "a time",
            Dimension::AngleRate => "an angular rate",
            Dimension::Drift => "a drift",
            Dimension::DoseRate => "a dose rate",
            Dimension::Dose => "a dose",
            Dimension::Temperature => "a temperature",
            Dimension::Volume => "a volume",
            Dimension::Speed => "a speed",
            Dimension::Activity => "an activity",
            Dimension::Voltage => "a voltage",
            Dimension::Current => "a current",
            Dimension::Percent => "a percentage",
        }
    }
    /// The units that may be written for it, for messages: `mm, cm, m or in`.
    pub fn units(self) -> String {
        let names: Vec<&str> = UNITS.iter().filter(|u| u.dimension == self).map(|u| u.name).collect();
        match names.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
            Some((last, _)) => (*last).to_string(),
            None => String::new(),
        }
    }
}

/// One unit: base units of the dimension in one of it, as a fraction.
#[derive(Debug, PartialEq, Eq)]
pub struct Unit {
    /// As written, in ASCII.
    pub name: &'static str,
    /// Other accepted spellings (one canonical code point each).
    pub aliases: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// Numerator of base units in one unit.
    pub numerator: i64,
    /// Denominator.
    pub denominator: i64,
}

const fn exact(name: &'static str, dimension: Dimension, numerator: i64) -> Unit {
    Unit { name, aliases: &[], dimension, numerator, denominator: 1 }
}

/// Every unit that can be written. Conversions: the international foot-pound definitions (1959), pi to 13 places.
pub const UNITS: &[Unit] = &[
    Unit { name: "deg", aliases: &["\u{b0}"], dimension: Dimension::Angle, numerator: 1000, denominator: 1 },
    Unit { name: "rad", aliases: &[], dimension: Dimension::Angle, numerator: 1_800_000_000_000_000_000, denominator: 31_415_926_535_898 },
    exact("mm", Dimension::Length, 1000),
    exact("cm", Dimension::Length, 10_000),
    exact("m", Dimension::Length, 1_000_000),
    exact("in", Dimension::Length, 25_400),
    exact("g", Dimension::Mass, 1000),
    exact("kg", Dimension::Mass, 1_000_000),
    Unit { name: "lb", aliases: &[], dimension: Dimension::Mass, numerator: 45_359_237, denominator: 100 },
    exact("N", Dimension::Force, 1000),
    exact("kN", Dimension::Force, 1_000_000),
    Unit { name: "lbf", aliases: &[], dimension: Dimension::Force, numerator: 44_482_216_152_605, denominator: 10_000_000_000 },
    exact("bar", Dimension::Pressure, 100_000),
    exact("kPa", Dimension::Pressure, 1000),
    exact("MPa", Dimension::Pressure, 1_000_000),
    Unit { name: "psi", aliases: &[], dimension: Dimension::Pressure, numerator: 6_894_757_293_168, denominator: 1_000_000_000 },
    exact("Nm", Dimension::Torque, 1000),
    Unit { name: "lbf.ft", aliases: &[], dimension: Dimension::Torque, numerator: 13_558_179_483_314_004, denominator: 10_000_000_000_000 },
    exact("s", Dimension::Time, 1000),
    exact("min", Dimension::Time, 60_000),
    exact("h", Dimension::Time, 3_600_000),
    exact("d", Dimension::Time, 86_400_000),
    Unit { name: "deg/s", aliases: &["\u{b0}/s"], dimension: Dimension::AngleRate, numerator: 1000, denominator: 1 },
    Unit { name: "deg/min", aliases: &["\u{b0}/min"], dimension: Dimension::Drift, numerator: 1000, denominator: 1 },
    Unit { name: "uSv/h", aliases: &["\u{b5}Sv/h"], dimension: Dimension::DoseRate, numerator: 1000, denominator: 1 },
    exact("mSv/h", Dimension::DoseRate, 1_000_000),
    exact("Sv/h", Dimension::DoseRate, 1_000_000_000),
    Unit { name: "uSv", aliases: &["\u{b5}Sv"], dimension: Dimension::Dose, numerator: 1000, denominator: 1 },
    exact("mSv", Dimension::Dose, 1_000_000),
    Unit { name: "degC", aliases: &["\u{b0}C"], dimension: Dimension::Temperature, numerator: 1000, denominator: 1 },
    exact("mL", Dimension::Volume, 1000),
    exact("L", Dimension::Volume, 1_000_000),
    exact("mm/s", Dimension::Speed, 1000),
    exact("Bq", Dimension::Activity, 1000),
    exact("kBq", Dimension::Activity, 1_000_000),
    exact("MBq", Dimension::Activity, 1_000_000_000),
    exact("V", Dimension::Voltage, 1000),
    exact("A", Dimension::Current, 1000),
    exact("mA", Dimension::Current, 1),
    exact("%", Dimension::Percent, 1000),
];

/// The unit of a written name, in ASCII or its one accepted other spelling.
pub fn unit(name: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|u| u.name == name || u.aliases.contains(&name))
}

/// Which way a conversion that is not exact goes. Callers choose the side that never helps acceptance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Round {
    /// Towards minus infinity.
    Down,
    /// Towards plus infinity.
    Up,
}

/// A number as written, with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quantity {
    /// The number as written.
    pub number: Number,
    /// Its unit.
    pub unit: &'static Unit,
}

impl Quantity {
    /// The value in base units of its dimension, rounded as told.
    pub fn base(&self, round: Round) -> i64 {
        let top = i128::from(self.number.thousandths) * i128::from(self.unit.numerator);
        let bottom = i128::from(self.unit.denominator) * 1000;
        let down = top.div_euclid(bottom);
        let value = if round == Round::Up && top.rem_euclid(bottom) != 0 { down + 1 } else { down };
        i64::try_from(value).unwrap_or(if value < 0 { i64::MIN } else { i64::MAX })
    }

    /// Reads a whole text such as `"15 deg/s"`: a number, one space, a unit.
    pub fn parse(text: &str) -> Result<Quantity, String> {
        let (number, used) = Number::read(text).map_err(|(e, _)| e.to_string())?;
        let rest = &text[used..];
        let name = rest.strip_prefix(' ').unwrap_or(rest);
        if name.is_empty() {
            return Err(format!("the unit is missing after {number}"));
        }
        if name.starts_with(' ') || (rest == name && name.starts_with(|c: char| c.is_ascii_alphanumeric())) {
            return Err(format!("write one space between number and unit: \"{number} {}\"", name.trim()));
        }
        let unit = unit(name).ok_or_else(|| format!("`{}` is not a unit known here", name.escape_debug()))?;
        Ok(Quantity { number, unit })
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number, self.unit.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Angle, Length, Mass, Pressure};

    #[test]
    fn conversions_round_outward_as_told() {
        let q = |t: &str| Quantity::parse(t).unwrap_or_else(|e| panic!("{t}: {e}"));
        // 1 in = 25.4 mm exactly; 1 lb = 0.45359237 kg exactly (international definitions, 1959).
        assert_eq!(Length::from_quantity(&q("1.5 in"), Round::Down), Some(Length(38_100)));
        assert_eq!(Mass::from_quantity(&q("1 lb"), Round::Down), Some(Mass(453_592)));
        assert_eq!(Mass::from_quantity(&q("1 lb"), Round::Up), Some(Mass(453_593)));
        assert_eq!(Angle::from_quantity(&q("1 rad"), Round::Down), Some(Angle(57_295)));
        assert_eq!(Angle::from_quantity(&q("-1 rad"), Round::Down), Some(Angle(-57_296)));
        assert_eq!(Pressure::from_quantity(&q("100 psi"), Round::Down), Some(Pressure(689_475)));
        assert_eq!(Length::from_quantity(&q("1 kg"), Round::Down), None);
    }

    #[test]
    fn a_quantity_needs_number_space_and_unit() {
        for bad in ["5", "5mm", "5  mm", "5 furlong", "mm", "5 mm ", "nan mm", "1e3 mm"] {
            assert!(Quantity::parse(bad).is_err(), "{bad}");
        }
    }
}
