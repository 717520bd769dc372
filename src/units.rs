//! Quantities as exact integers, and the number production they are read by.
//!
//! Invariant: no quantity passes through floating point. Angles are whole thousandths of a degree, lengths
//! whole micrometres, so that they are exact, ordered and hashable. Conversions from other units round in
//! the direction the caller names, which must never be towards acceptance. Trigonometry lives in [`trig`]
//! and nowhere else: geometry is the one floor that leaves exact numbers, and it does so through there.

mod number;
mod quantity;
pub mod trig;

pub use number::{Number, NumberError, shown};
pub use quantity::{Dimension, Quantity, Round, UNITS, Unit, unit};
pub use trig::{radians, sin_cos};

use std::fmt;

macro_rules! scalar {
    ($(#[$doc:meta])* $name:ident, $dimension:ident, $per:literal, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub i64);
        impl $name {
            /// What kind of quantity this is.
            pub const DIMENSION: Dimension = Dimension::$dimension;
            /// Zero.
            pub const ZERO: $name = $name(0);
            /// Reads a quantity of this dimension, rounding as told; `None` for another dimension.
            pub fn from_quantity(q: &Quantity, round: Round) -> Option<$name> {
                (q.unit.dimension == Dimension::$dimension).then(|| $name(q.base(round)))
            }
            /// The magnitude.
            #[must_use]
            pub const fn abs(self) -> $name {
                $name(self.0.abs())
            }
        }
        impl std::ops::Add for $name {
            type Output = $name;
            fn add(self, o: $name) -> $name { $name(self.0 + o.0) }
        }
        impl std::ops::Sub for $name {
            type Output = $name;
            fn sub(self, o: $name) -> $name { $name(self.0 - o.0) }
        }
        impl std::ops::Neg for $name {
            type Output = $name;
            fn neg(self) -> $name { $name(-self.0) }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", Thousandths::of(self.0, $per), $unit)
            }
        }
    };
}

scalar!(/** An angle in thousandths of a degree. */ Angle, Angle, 1000, "deg");
scalar!(/** A length in micrometres; shown in mm. */ Length, Length, 1000, "mm");
scalar!(/** A mass in milligrams; shown in kg. */ Mass, Mass, 1_000_000, "kg");
scalar!(/** A force in millinewtons; shown in N. */ Force, Force, 1000, "N");
scalar!(/** A pressure in pascals; shown in bar. */ Pressure, Pressure, 100_000, "bar");
scalar!(/** A torque in millinewton metres; shown in Nm. */ Torque, Torque, 1000, "Nm");
scalar!(/** A time in milliseconds; shown in s. */ Time, Time, 1000, "s");
scalar!(/** An angular rate in thousandths of a degree a second. */ AngleRate, AngleRate, 1000, "deg/s");
scalar!(/** An angular drift in thousandths of a degree a minute. */ Drift, Drift, 1000, "deg/min");
scalar!(/** A volume in microlitres; shown in L. */ Volume, Volume, 1_000_000, "L");

impl Angle {
    /// With its sign always, at least `decimals` places, without the unit: `-5.0`, `+12.25`, `0.0`.
    pub fn signed(self, decimals: u8) -> String {
        let sign = match self.0.cmp(&0) {
            std::cmp::Ordering::Greater => "+",
            std::cmp::Ordering::Less => "-",
            std::cmp::Ordering::Equal => "",
        };
        let mut shown = format!("{sign}{}.{:03}", self.0.unsigned_abs() / 1000, self.0.unsigned_abs() % 1000);
        let least = shown.len() - 3 + usize::from(decimals).min(3);
        while shown.len() > least && shown.ends_with('0') {
            shown.pop();
        }
        if shown.ends_with('.') {
            shown.pop();
        }
        shown
    }
    /// The lowest and the highest value a read-out with so many decimals shows between two angles; none if it shows none.
    pub fn shown_within(low: Angle, high: Angle, decimals: u8) -> Option<(Angle, Angle)> {
        let digit = [1000, 100, 10, 1][usize::from(decimals.min(3))];
        let (low, high) = (-(-low.0).div_euclid(digit) * digit, high.0.div_euclid(digit) * digit);
        (low <= high).then_some((Angle(low), Angle(high)))
    }
    /// For messages: sign always, no idle zeros, with the unit: `+42 deg`.
    pub fn show(self) -> String {
        self.signed(0) + " deg"
    }
}

/// A unitless factor or ratio in millionths: friction, a factor of the site.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Ratio(pub i64);

impl fmt::Display for Ratio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        Thousandths::of(self.0, 1_000_000).fmt(f)
    }
}

/// A decimal for people: at most three places, rounded half away from zero, no idle zeros.
struct Thousandths(i128);

impl Thousandths {
    fn of(base: i64, per: i64) -> Thousandths {
        let scaled = i128::from(base) * 1000;
        let per = i128::from(per);
        let half = if scaled < 0 { -per / 2 } else { per / 2 };
        Thousandths((scaled + half) / per)
    }
}

impl fmt::Display for Thousandths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, part) = (self.0.abs() / 1000, self.0.abs() % 1000);
        let digits = format!("{part:03}");
        let digits = digits.trim_end_matches('0');
        let point = if digits.is_empty() { "" } else { "." };
        write!(f, "{sign}{whole}{point}{digits}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_show_their_sign_and_no_minus_zero() {
        assert_eq!(Angle(-5000).signed(1), "-5.0");
        assert_eq!(Angle(12_250).signed(1), "+12.25");
        assert_eq!(Angle(0).signed(1), "0.0");
        assert_eq!(Angle(42_000).show(), "+42 deg");
        assert_eq!(Angle::shown_within(Angle(-1500), Angle(1500), 0), Some((Angle(-1000), Angle(1000))));
        assert_eq!(Angle::shown_within(Angle(41_250), Angle(42_750), 1), Some((Angle(41_300), Angle(42_700))));
        assert_eq!(Angle::shown_within(Angle(-42_750), Angle(-41_250), 1), Some((Angle(-42_700), Angle(-41_300))));
        assert_eq!(Angle::shown_within(Angle(12_100), Angle(12_900), 0), None);
        assert_eq!(Length(120_500).to_string(), "120.5 mm");
        assert_eq!(Force(-1).to_string(), "-0.001 N");
    }
}
