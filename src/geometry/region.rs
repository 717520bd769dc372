//! What a move of two joints together may pass through.
//!
//! Two sticks cannot be kept in step, so a move of two joints may pass through the whole rectangle of both progresses,
//! save what the written order of the two forbids. A box of true angles is left out only if no execution of the order
//! can be in it: each comparison takes the starts, stops and read-outs that speak most for the box, in whole numbers.

use super::Fault;
use super::chain::{Chain, FARTHEST_TURN, JointBox};

/// The course of one of the two joints, in thousandths of a degree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Course {
    /// The joint, counted from 0.
    pub joint: usize,
    /// The true angles it may start from: read-out, drift and read-out error included.
    pub start: [i64; 2],
    /// The angle it is sent to.
    pub target: i64,
    /// How far from the target it may stop, by the read-out.
    pub band: i64,
    /// How far the read-out may be wrong.
    pub error: i64,
}

/// One joint waits for the other: it goes no further than `at` until the other is past `past`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gate {
    /// Which of the two courses waits: 0 or 1; it waits for the other.
    pub waits: usize,
    /// How far it may go before, by the read-out, in thousandths of a degree.
    pub at: i64,
    /// What the other must have reached, by the read-out, in thousandths of a degree.
    pub past: i64,
}

/// The order of a move of two joints.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Region {
    /// The two courses.
    pub courses: [Course; 2],
    /// Which course's progress is never less than the other's, if one is written first: 0 or 1.
    pub first: Option<usize>,
    /// Waits.
    pub gates: Vec<Gate>,
}

/// A share of the way, as a fraction with a positive bottom.
type Share = (i128, i128);

impl Course {
    /// 1 for a course upwards from every start, -1 for one downwards from every start, 0 for neither.
    fn sign(&self) -> i64 {
        match (self.target > self.start[1], self.target < self.start[0]) {
            (true, _) => 1,
            (_, true) => -1,
            _ => 0,
        }
    }

    /// An interval as seen along the course: what comes first, what comes last.
    fn along(&self, [low, high]: [i64; 2]) -> [i64; 2] {
        if self.sign() < 0 { [-high, -low] } else { [low, high] }
    }

    /// The greatest progress any execution can have had in the interval; within the stopping band counts as all of it.
    fn greatest(&self, interval: [i64; 2]) -> Share {
        let (start, target) = (self.along(self.start)[0], self.target * self.sign());
        let far = self.along(interval)[1] + self.error;
        if self.sign() == 0 || far >= target - self.band { (1, 1) } else { clamp(far - start, target - start) }
    }

    /// The least progress any execution can have had in the interval.
    fn least(&self, interval: [i64; 2]) -> Share {
        let (start, target) = (self.along(self.start)[1], self.target * self.sign());
        if self.sign() == 0 { (0, 1) } else { clamp(self.along(interval)[0] - self.error - start, target - start) }
    }

    /// Whether the whole interval is beyond an angle of the read-out, stopping band and error included.
    fn beyond(&self, interval: [i64; 2], at: i64) -> bool {
        self.sign() != 0 && self.along(interval)[0] > at * self.sign() + self.band + self.error
    }

    /// Whether no execution in the interval has reached an angle of the read-out.
    fn before(&self, interval: [i64; 2], at: i64) -> bool {
        self.sign() != 0 && self.along(interval)[1] < at * self.sign() - self.error
    }
}

fn clamp(done: i64, whole: i64) -> Share {
    (i128::from(done.clamp(0, whole)), i128::from(whole))
}

impl Region {
    /// Refuses joints that do not exist or are one, an interval upside down, and numbers out of range.
    pub fn check(&self, chain: &Chain) -> Result<(), Fault> {
        let [x, y] = &self.courses;
        if x.joint == y.joint || x.joint.max(y.joint) >= chain.joints() {
            return Err(Fault::Missing("a joint of the region"));
        }
        if self.first.is_some_and(|k| k > 1) || self.gates.iter().any(|g| g.waits > 1) {
            return Err(Fault::Missing("a course of the region"));
        }
        let bad = |c: &Course| c.start[0] > c.start[1] || c.band < 0 || c.error < 0;
        if self.courses.iter().any(bad) {
            return Err(Fault::Degenerate("a start, band or error of the region is upside down"));
        }
        let courses = self.courses.iter().flat_map(|c| [c.start[0], c.start[1], c.target, c.band, c.error]);
        let numbers = courses.chain(self.gates.iter().flat_map(|g| [g.at, g.past]));
        if numbers.into_iter().any(|n| n.abs() > FARTHEST_TURN) { Err(Fault::OutOfRange("an angle of the region")) } else { Ok(()) }
    }

    /// Whether no execution of the order can be in the box.
    #[must_use]
    pub fn excludes(&self, within: &JointBox) -> bool {
        let at = |k: usize| within.0.get(self.courses[k].joint).copied().unwrap_or([-FARTHEST_TURN, FARTHEST_TURN]);
        let behind = self.first.is_some_and(|x| {
            let y = 1 - x;
            let (far, near) = (self.courses[x].greatest(at(x)), self.courses[y].least(at(y)));
            far.0 * near.1 < near.0 * far.1
        });
        let waiting = |gate: &Gate| {
            let (y, x) = (gate.waits, 1 - gate.waits);
            self.courses[y].beyond(at(y), gate.at) && self.courses[x].before(at(x), gate.past)
        };
        behind || self.gates.iter().any(waiting)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn region(first: Option<usize>, gates: Vec<Gate>) -> Region {
        let course = |joint, start, target| Course { joint, start, target, band: 500, error: 100 };
        Region { courses: [course(0, [-200, 200], 10_000), course(1, [19_800, 20_200], 0)], first, gates }
    }

    #[test]
    fn a_box_is_left_out_only_where_no_execution_can_be() {
        let first = region(Some(0), vec![]);
        let out = |r: &Region, x, y| r.excludes(&JointBox(vec![x, y]));
        // X (up, 10 deg) has hardly begun, Y (down, 20 deg) is half done.
        assert!(out(&first, [0, 1000], [9000, 10_000]));
        // Y counts from its nearest start and with its error: (19.8 - 18.0 - 0.1) / 19.8 = 0.0859; X reaches (1.0 + 0.1 + 0.2) / 10.2.
        assert!(!out(&first, [0, 1000], [17_000, 18_000]));
        // Within its band X has gone all the way.
        assert!(!out(&first, [9000, 9400], [-600, -400]));
        assert!(out(&first, [9000, 9399], [-600, -400]));
        assert!(!out(&region(None, vec![]), [0, 1000], [9000, 10_000]));
        // Y does not pass 15 deg until X is past 5 deg.
        let gate = region(None, vec![Gate { waits: 1, at: 15_000, past: 5000 }]);
        assert!(out(&gate, [0, 4899], [0, 14_399]));
        assert!(!out(&gate, [0, 4900], [0, 14_399]));
        assert!(!out(&gate, [0, 4899], [0, 14_400]));
    }
}
