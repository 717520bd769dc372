//! The printed number of a step: derived from where the step stands, never stored in the source.
//!
//! Steps of ordinary sections count on through the whole procedure: `1`, `2`, ... Steps of an arm carry the
//! arm's letter, `13A.1`; steps of a repeat follow its number, `9.1`. The first contingency section counts
//! `C1.1`, `C1.2`. An on-call section has numbers of its own, `P1.1`, that stand for its source; in print
//! its steps appear at each call under the number of the `perform`, `12.1`.

use std::fmt;
use std::sync::Arc;

/// The number of one step. Cheap to make and to clone: steps of one list share what stands before the last dot.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct StepNumber {
    series: Series,
    ordinal: u32,
}

/// What a number counts within.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Series {
    /// The ordinary sections.
    Main,
    /// The n-th contingency section, of this procedure or of one performed at a step.
    Contingency(Option<Arc<StepNumber>>, u16),
    /// The n-th on-call section.
    OnCall(u16),
    /// A repeat's body, or what a `perform` does.
    Under(Arc<StepNumber>),
    /// An arm of a condition, 0 for A.
    Arm(Arc<StepNumber>, u8),
}

impl StepNumber {
    /// Step `ordinal` of the ordinary sections, from 1.
    pub fn main(ordinal: u32) -> StepNumber {
        StepNumber { series: Series::Main, ordinal }
    }
    /// Step `ordinal` of the contingency section `section`, both from 1.
    pub fn contingency(section: u16, ordinal: u32) -> StepNumber {
        StepNumber { series: Series::Contingency(None, section), ordinal }
    }
    /// Step `ordinal` of the on-call section `section`, both from 1.
    pub fn on_call(section: u16, ordinal: u32) -> StepNumber {
        StepNumber { series: Series::OnCall(section), ordinal }
    }
    /// Step `ordinal` under another: the body of a repeat.
    pub fn under(outer: &Arc<StepNumber>, ordinal: u32) -> StepNumber {
        StepNumber { series: Series::Under(outer.clone()), ordinal }
    }
    /// Step `ordinal` of an arm, 0 for A.
    pub fn in_arm(outer: &Arc<StepNumber>, arm: u8, ordinal: u32) -> StepNumber {
        StepNumber { series: Series::Arm(outer.clone(), arm), ordinal }
    }
    /// The number this step is printed under where the step `call` performs it: `P1.2A.1` performed at 12 is `12.2A.1`.
    #[must_use]
    pub fn performed_at(&self, call: &Arc<StepNumber>) -> StepNumber {
        let again = |outer: &Arc<StepNumber>| Arc::new(outer.performed_at(call));
        let series = match &self.series {
            Series::Main | Series::OnCall(_) => Series::Under(call.clone()),
            Series::Contingency(None, n) => Series::Contingency(Some(call.clone()), *n),
            Series::Contingency(Some(outer), n) => Series::Contingency(Some(again(outer)), *n),
            Series::Under(outer) => Series::Under(again(outer)),
            Series::Arm(outer, arm) => Series::Arm(again(outer), *arm),
        };
        StepNumber { series, ordinal: self.ordinal }
    }
    /// The label of an arm of this step: `13A`.
    pub fn arm(&self, arm: u8) -> String {
        format!("{self}{}", letter(arm))
    }
    /// The number if it is one of the plain series 1, 2, 3 ...
    pub fn plain(&self) -> Option<u32> {
        (self.series == Series::Main).then_some(self.ordinal)
    }
}

fn letter(arm: u8) -> char {
    char::from(b'A' + arm.min(25))
}

impl fmt::Display for StepNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.series {
            Series::Main => {}
            Series::Contingency(None, n) => write!(f, "C{n}.")?,
            Series::Contingency(Some(outer), n) => write!(f, "{outer}.C{n}.")?,
            Series::OnCall(n) => write!(f, "P{n}.")?,
            Series::Under(outer) => write!(f, "{outer}.")?,
            Series::Arm(outer, arm) => write!(f, "{outer}{}.", letter(*arm))?,
        }
        write!(f, "{}", self.ordinal)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_printed_as_people_quote_them() {
        let thirteen = Arc::new(StepNumber::main(13));
        let inner = Arc::new(StepNumber::in_arm(&thirteen, 1, 2));
        assert_eq!(StepNumber::in_arm(&thirteen, 0, 1).to_string(), "13A.1");
        assert_eq!(StepNumber::under(&inner, 3).to_string(), "13B.2.3");
        assert_eq!(StepNumber::contingency(1, 4).to_string(), "C1.4");
        let called = Arc::new(StepNumber::on_call(2, 5));
        assert_eq!(StepNumber::in_arm(&called, 0, 1).to_string(), "P2.5A.1");
        assert_eq!(StepNumber::in_arm(&called, 0, 1).performed_at(&thirteen).to_string(), "13.5A.1");
        assert_eq!(StepNumber::contingency(1, 2).performed_at(&thirteen).to_string(), "13.C1.2");
    }
}
