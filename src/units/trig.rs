//! Every trigonometric function of the crate, through one library, so that all platforms agree in the last bit.
//!
//! Whole thousandths of a degree are reduced to an eighth of a turn before they become radians: a quarter turn gives
//! exactly 0 and 1, and many turns lose nothing.

use super::Angle;

/// Half a thousandth of a degree, in a quarter turn: the middle of two whole thousandths is exact in these.
const QUARTER: i64 = 180_000;

/// The angle in radians.
#[must_use]
pub fn radians(angle: Angle) -> f64 {
    angle.0 as f64 * std::f64::consts::PI / 180_000.0
}

/// Sine and cosine of an exact angle.
#[must_use]
pub fn sin_cos(angle: Angle) -> (f64, f64) {
    match angle.0.checked_mul(2) {
        Some(halves) => sin_cos_halves(halves),
        None => sin_cos_halves(angle.0 % (2 * QUARTER) * 2),
    }
}

/// Sine and cosine of so many halves of a thousandth of a degree: the sum of the two ends of an interval gives its middle.
#[must_use]
pub fn sin_cos_halves(halves: i64) -> (f64, f64) {
    let turn = halves.rem_euclid(4 * QUARTER);
    let quarter = (turn + QUARTER / 2) / QUARTER;
    let rest = (turn - quarter * QUARTER) as f64 * std::f64::consts::PI / (2.0 * QUARTER as f64);
    let (s, c) = libm::sincos(rest);
    match quarter {
        1 => (c, -s),
        2 => (-s, -c),
        3 => (-c, s),
        _ => (s, c),
    }
}

/// Sine of radians.
#[must_use]
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of radians.
#[must_use]
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Tangent of radians.
#[must_use]
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// Angle in radians of a sine; a sine beyond one by rounding counts as one.
#[must_use]
pub fn asin(x: f64) -> f64 {
    libm::asin(x.clamp(-1.0, 1.0))
}

/// Angle in radians of a cosine; a cosine beyond one by rounding counts as one.
#[must_use]
pub fn acos(x: f64) -> f64 {
    libm::acos(x.clamp(-1.0, 1.0))
}

/// Angle in radians of the direction `(x, y)`.
#[must_use]
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarter_turns_are_exact_and_turns_lose_nothing() {
        for (deg, want) in [(0, (0.0, 1.0)), (90, (1.0, 0.0)), (180, (0.0, -1.0)), (270, (-1.0, 0.0)), (-90, (-1.0, 0.0))] {
            assert_eq!(sin_cos(Angle(deg * 1000)), want, "{deg}");
        }
        assert_eq!(sin_cos(Angle(12_345)), sin_cos(Angle(12_345 + 360_000 * 1_000_000)));
        assert_eq!(sin_cos(Angle(i64::MAX)), sin_cos(Angle(i64::MAX % 360_000)));
        for mdeg in (-400_000..400_000).step_by(7919) {
            let (s, c) = sin_cos(Angle(mdeg));
            let x = radians(Angle(mdeg));
            assert!((s - sin(x)).abs() < 2e-15 && (c - cos(x)).abs() < 2e-15, "{mdeg}");
        }
    }
}
