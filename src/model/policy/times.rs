//! How long acts take, for the estimate of a procedure's time.

use super::keys::TIMES;
use crate::model::keys::{Key, key};
use crate::model::read::Read;
use crate::syntax::record::Record;
use crate::units::{Ratio, Time};

/// What takes time besides motion and waits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "see the table of keys")]
pub enum Task {
    Step,
    Words,
    Check,
    Read,
    Compare,
    Grip,
    View,
    Tell,
    SecondPerson,
    Hold,
    Witness,
    Verify,
    Power,
    Tool,
    Equipment,
    Turnover,
}

impl Task {
    /// All of them, each with its key.
    const ALL: [(Task, &'static Key); 16] = [
        (Task::Step, key!(TIMES, "step")),
        (Task::Words, key!(TIMES, "instruction")),
        (Task::Check, key!(TIMES, "check")),
        (Task::Read, key!(TIMES, "read")),
        (Task::Compare, key!(TIMES, "compare")),
        (Task::Grip, key!(TIMES, "grip")),
        (Task::View, key!(TIMES, "view")),
        (Task::Tell, key!(TIMES, "tell")),
        (Task::SecondPerson, key!(TIMES, "second-person")),
        (Task::Hold, key!(TIMES, "hold")),
        (Task::Witness, key!(TIMES, "witness")),
        (Task::Verify, key!(TIMES, "verify")),
        (Task::Power, key!(TIMES, "power")),
        (Task::Tool, key!(TIMES, "tool")),
        (Task::Equipment, key!(TIMES, "equipment")),
        (Task::Turnover, key!(TIMES, "turnover")),
    ];

    /// Its key in the policy.
    pub fn word(self) -> &'static str {
        Task::ALL.iter().find(|(task, _)| *task == self).map_or("", |(_, key)| key.name)
    }
}

/// The site's times. What is left out is not known.
#[derive(Debug)]
pub struct Times {
    /// How many times longer than at full stick a move takes.
    pub full: Ratio,
    /// The same for a move marked `slow`.
    pub slow: Ratio,
    /// The same for one that is inched, guarded or made in taps.
    pub inch: Ratio,
    of: Vec<(Task, Time)>,
}

impl Times {
    /// How long something takes, if the site says.
    pub fn of(&self, task: Task) -> Option<Time> {
        self.of.iter().find(|(t, _)| *t == task).map(|(_, time)| *time)
    }
}

pub(super) fn times(r: &Record<'_>) -> Times {
    let factor = |key| r.factor(key).map_or(Ratio(1_000_000), |f| f.value);
    let (full, slow, inch) = (factor(key!(TIMES, "full")), factor(key!(TIMES, "slow")), factor(key!(TIMES, "inch")));
    let of = Task::ALL.into_iter().filter_map(|(task, key)| r.quantity(key).map(|t| (task, t.value))).collect();
    Times { full, slow, inch, of }
}
