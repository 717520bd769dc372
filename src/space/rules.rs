//! The rules over what the survey recorded, by family.
//!
//! Invariant: a fault seen from several states of one step is one finding, with the first way that leads to it and the number of
//! the others.

mod burden;
mod carry;
mod clearance;
mod sight;
mod stations;
mod zones;

use super::Survey;
use crate::diag::{Diagnostic, Rule, count, gather};
use crate::model::procedure::Procedure;
use crate::trace::{RowId, Trace};
use crate::units::Angle;
use std::collections::{BTreeMap, BTreeSet};

const FAMILIES: &[&[&Rule]] = &[clearance::RULES, sight::RULES, burden::RULES, stations::RULES, carry::RULES, zones::RULES];

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
    zones::check(p, trace, survey, &mut out);
    out
}

/// What has been told, by rule and step. The same from another state is counted.
#[derive(Default)]
struct Told(BTreeMap<(&'static str, RowId), Once>);

/// One fault of one step.
struct Once {
    /// Its finding; none if it is folded into another one.
    at: Option<usize>,
    /// The states it is seen from.
    seen: BTreeSet<usize>,
}

impl Told {
    /// Whether a rule has spoken of a step.
    fn again(&mut self, rule: &'static str, row: RowId, entry: usize) -> bool {
        self.0.get_mut(&(rule, row)).map(|once| once.seen.insert(entry)).is_some()
    }
    /// It speaks of it now: by the finding at a place, or folded into another one.
    fn put(&mut self, rule: &'static str, row: RowId, entry: usize, at: Option<usize>) {
        self.0.insert((rule, row), Once { at, seen: BTreeSet::from([entry]) });
    }
    /// Says how many ways besides the first lead there.
    fn finish(self, out: &mut [Diagnostic]) {
        for Once { at, seen } in self.0.into_values() {
            let others = seen.len() - 1;
            if let (1.., Some(path)) = (others, at.and_then(|at| out[at].path.as_mut())) {
                path.push_str(&format!(" (and {others} other{})", if others == 1 { "" } else { "s" }));
            }
        }
    }
}

/// A lean or a turn that is not exceeded, for people: tenths of a degree, rounded up.
fn at_most(mdeg: i64) -> Angle {
    Angle((mdeg + 99).div_euclid(100) * 100)
}
