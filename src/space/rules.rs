//! The rules over what the survey recorded, by family.
//!
//! Invariant: a fault seen from several states of one step is one finding, with the first way that leads to it.

mod burden;
mod carry;
mod clearance;
mod sight;
mod stations;

use super::Survey;
use crate::diag::{Diagnostic, Rule, count, gather};
use crate::model::procedure::Procedure;
use crate::trace::Trace;
use crate::units::Angle;

const FAMILIES: &[&[&Rule]] = &[clearance::RULES, sight::RULES, burden::RULES, stations::RULES, carry::RULES];

/// Every rule of this floor.
pub static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);

/// Applies every rule of this floor.
pub fn check(p: &Procedure, trace: &Trace, survey: &Survey) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    clearance::check(p, trace, survey, &mut out);
    sight::check(p, trace, survey, &mut out);
    burden::check(p, trace, survey, &mut out);
    stations::check(p, trace, survey, &mut out);
    carry::check(p, trace, survey, &mut out);
    out
}

/// A lean or a turn that is not exceeded, for people: tenths of a degree, rounded up.
fn at_most(mdeg: i64) -> Angle {
    Angle((mdeg + 99).div_euclid(100) * 100)
}
