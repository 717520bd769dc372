//! What an actuator needs to give a torque: the pressure on which of its sides, at the angle it stands at.
//!
//! A cylinder between two pins is a triangle of the two pin distances `a` and `b` and its own length `L`; with `t` the
//! angle between `a` and `b`, `L² = a² + b² - 2ab cos t` and its lever arm is `ab sin t / L` (law of cosines; the area of
//! the triangle taken twice). Where `t` is 0 or 180 deg the arm is nothing: the toggle, which no travel may reach.

use crate::units::trig::sin;
use std::f64::consts::PI;

/// Nearer to a toggle than this, rad, counts as there: half a thousandth of a degree.
const AT_TOGGLE: f64 = PI / 360_000.0;

/// A cylinder between two pins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linkage {
    /// From the joint's axis to the fixed pin, m.
    pub fixed: f64,
    /// From the axis to the moving pin, m.
    pub moving: f64,
    /// The included angle when the joint reads zero, rad; it grows with the joint's angle.
    pub at_zero: f64,
    /// Bore, m.
    pub bore: f64,
    /// Rod diameter, m.
    pub rod: f64,
}

/// The side of a piston that must be under pressure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The full bore: the cylinder pushes.
    Cap,
    /// The ring around the rod: the cylinder pulls.
    Rod,
}

/// A pressure and where it must stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// The side.
    pub side: Side,
    /// Pa.
    pub pressure: f64,
}

/// The travel reaches an angle at which the cylinder has no lever arm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Toggle {
    /// The joint's angle there, rad.
    pub at: f64,
}

impl Linkage {
    /// The angle between the two pins as seen from the axis, rad, at a joint angle.
    pub fn included(&self, joint: f64) -> f64 {
        self.at_zero + joint
    }

    /// The cylinder from pin to pin, m, at an included angle.
    pub fn length(&self, included: f64) -> f64 {
        let (a, b) = (self.fixed, self.moving);
        // As (a - b)² + 2ab(1 - cos t), which loses no digits where a and b are alike.
        let half = sin(included / 2.0);
        ((a - b) * (a - b) + 4.0 * a * b * half * half).sqrt()
    }

    /// The lever arm of the cylinder about the axis, m, at an included angle.
    pub fn arm(&self, included: f64) -> f64 {
        self.fixed * self.moving * sin(included) / self.length(included)
    }

    /// The area under pressure, m².
    pub fn area(&self, side: Side) -> f64 {
        let bore = self.bore * self.bore;
        PI / 4.0 * if side == Side::Cap { bore } else { bore - self.rod * self.rod }
    }

    /// Whether a travel of the joint, rad, keeps clear of both toggles. The angle named is the one within the travel.
    pub fn admit(&self, low: f64, high: f64) -> Result<(), Toggle> {
        if self.included(low) < AT_TOGGLE {
            return Err(Toggle { at: -self.at_zero });
        }
        if self.included(high) > PI - AT_TOGGLE {
            return Err(Toggle { at: PI - self.at_zero });
        }
        Ok(())
    }

    /// The least lever arm over a travel of the joint, m. The arm grows up to where `cos t` is the ratio of the shorter to
    /// the longer pin distance, and falls from there: it is least at an end.
    pub fn least_arm(&self, low: f64, high: f64) -> Result<f64, Toggle> {
        self.admit(low, high)?;
        Ok(self.arm(self.included(low)).min(self.arm(self.included(high))))
    }

    /// The pressure that gives a torque, Nm, with a lever arm, m. A positive torque opens the angle: the cylinder pushes.
    pub fn demand(&self, torque: f64, arm: f64) -> Demand {
        let side = if torque < 0.0 { Side::Rod } else { Side::Cap };
        Demand { side, pressure: torque.abs() / (arm * self.area(side)) }
    }
}

/// A rotary actuator: its torque grows with the pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rotary {
    /// Torque at the rated pressure, Nm.
    pub torque: f64,
    /// The rated pressure, Pa.
    pub rated: f64,
}

impl Rotary {
    /// The pressure that gives a torque, Pa.
    pub fn pressure(&self, torque: f64) -> f64 {
        torque.abs() / self.torque * self.rated
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BAR: f64 = 100_000.0;
    const DEG: f64 = PI / 180.0;

    /// Pins at 0.60 and 0.25 m, bore 50, rod 28 mm.
    const CYLINDER: Linkage = Linkage { fixed: 0.60, moving: 0.25, at_zero: 0.0, bore: 0.050, rod: 0.028 };

    /// The law of cosines and F = pA, textbook formulas from memory; the figures by hand.
    #[test]
    fn a_pinned_cylinder_needs_the_pressure_of_the_handbook() {
        for (angle, length, arm, cap, rod) in [(45.0, 458.66, 231.25, 33.0, 48.1), (160.0, 839.29, 61.13, 125.0, 182.1)] {
            let t = angle * DEG;
            assert!((CYLINDER.length(t) * 1000.0 - length).abs() < 0.005, "{angle}: {}", CYLINDER.length(t));
            assert!((CYLINDER.arm(t) * 1000.0 - arm).abs() < 0.005, "{angle}: {}", CYLINDER.arm(t));
            let push = CYLINDER.demand(1500.0, CYLINDER.arm(t));
            let pull = CYLINDER.demand(-1500.0, CYLINDER.arm(t));
            assert_eq!((push.side, pull.side), (Side::Cap, Side::Rod));
            assert!((push.pressure / BAR - cap).abs() < 0.05, "{angle}: {push:?}");
            assert!((pull.pressure / BAR - rod).abs() < 0.05, "{angle}: {pull:?}");
        }
    }

    /// The arm is the rate at which the length grows with the angle (virtual work).
    #[test]
    fn the_arm_is_the_slope_of_the_length() {
        for tenth in 1..1800_i32 {
            let (t, step) = (f64::from(tenth) * 0.1 * DEG, 1e-6);
            let slope = (CYLINDER.length(t + step) - CYLINDER.length(t - step)) / (2.0 * step);
            assert!((slope - CYLINDER.arm(t)).abs() < 1e-8, "{tenth}: {slope} {}", CYLINDER.arm(t));
        }
    }

    #[test]
    fn a_travel_that_reaches_the_toggle_is_refused() {
        let linkage = Linkage { at_zero: 58.0 * DEG, ..CYLINDER };
        assert_eq!(linkage.admit(-38.0 * DEG, 92.0 * DEG), Ok(()));
        let toggle = linkage.admit(-58.0 * DEG, 0.0).expect_err("0 deg between the pins");
        assert!((toggle.at + 58.0 * DEG).abs() < 1e-12);
        let toggle = linkage.admit(0.0, 122.0 * DEG).expect_err("180 deg between the pins");
        assert!((toggle.at - 122.0 * DEG).abs() < 1e-12);
        assert!(linkage.least_arm(0.0, 130.0 * DEG).is_err());
    }

    #[test]
    fn the_arm_is_least_at_an_end_of_the_travel() {
        let sampled = |low: i32, high: i32| (low..=high).map(|t| CYLINDER.arm(f64::from(t) * DEG)).fold(f64::MAX, f64::min);
        for (low, high) in [(5, 175), (5, 60), (70, 170), (60, 70), (20, 150)] {
            let least = CYLINDER.least_arm(f64::from(low) * DEG, f64::from(high) * DEG).expect("clear of the toggle");
            assert!((least - sampled(low, high)).abs() < 1e-12, "{low} {high}");
        }
    }

    /// Published example: 5000 lb.in from two 4 in pistons on a pinion of 2 in radius take 99.47 psi (Fluid Power Journal).
    #[test]
    fn a_rack_and_pinion_actuator_needs_the_published_pressure() {
        let (inch, psi) = (0.0254, 6_894.757_293_168);
        let pound_inch = 4.448_221_615_260_5 * inch;
        let rated = 1000.0 * psi;
        let torque = 2.0 * PI / 4.0 * (4.0 * inch) * (4.0 * inch) * (2.0 * inch) * rated;
        let actuator = Rotary { torque, rated };
        assert!((actuator.pressure(5000.0 * pound_inch) / psi - 99.47).abs() < 0.005);
        assert!((actuator.pressure(-5000.0 * pound_inch) / psi - 99.47).abs() < 0.005);
    }
}
