//! What a move of two joints together may pass through.
//!
//! Two sticks cannot be kept in step, so a move of two joints may pass through the whole rectangle of both progresses,
//! save what the written order of the two forbids. A box of true angles is left out only if no execution of the order
//! can be in it: each comparison takes the starts, stops and read-outs that speak most for the box, in whole numbers.

use super::Fault;
use super::chain::{Chain, FARTHEST_TURN, JointBox};

/// The course of one of the two joints, in thousandths of a degree of its read-out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Course {
    /// The joint, counted from 0.
    pub joint: usize,
    /// Whether the angle grows.
    pub up: bool,
    /// Where it may start, drift included.
    pub start: [i64; 2],
    /// Where it may stop.
    pub stop: [i64; 2],
    /// How far from an angle it is sent to it may stop.
    pub band: i64,
    /// How far it may drift while it waits.
    pub hold: i64,
    /// How far the read-out may be wrong.
    pub error: i64,
}

/// One joint waits for the other: it goes no further than `at` until the other is past `past`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Gate {
    /// Which of the two courses waits: 0 or 1; it waits for the other.
    pub waits: usize,
    /// How far it may go before, by the read-out, in thousandths of a degree.
    pub at: i64,
    /// What the other must have reached, by the read-out, in thousandths of a degree.
    pub past: i64,
}

/// The order of a move of two joints.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Region {
    /// The two courses.
    pub courses: [Course; 2],
    /// Which course's progress is never less than the other's, if one is written first: 0 or 1.
    pub first: Option<usize>,
    /// Waits.
    pub gates: Vec<Gate>,
}

impl Course {
    /// An interval as seen along the course: what comes first, what comes last.
    fn along(&self, [low, high]: [i64; 2]) -> [i128; 2] {
        let (low, high) = (i128::from(low), i128::from(high));
        if self.up { [low, high] } else { [-high, -low] }
    }

    fn angle(&self, at: i64) -> i128 {
        if self.up { i128::from(at) } else { -i128::from(at) }
    }

    /// How much of the way is done at most, if it is at most at the end of an interval of true angles, and how much there is
    /// at least, both from the earliest start.
    fn most_done(&self, interval: [i64; 2]) -> (i128, i128) {
        let start = self.along(self.start)[0];
        (self.along(interval)[1] + i128::from(self.error + self.hold) - start, self.along(self.stop)[0] - start)
    }

    /// How much of the way is done at least, and how much there is at most, both from the latest start.
    fn least_done(&self, interval: [i64; 2]) -> (i128, i128) {
        let start = self.along(self.start)[1];
        (self.along(interval)[0] - i128::from(self.error + self.hold) - start, self.along(self.stop)[1] - start)
    }

    /// Whether every execution in the interval is beyond an angle it may wait at, or may have started at.
    fn beyond(&self, interval: [i64; 2], at: i64) -> bool {
        let wait = self.angle(at) + i128::from(self.band + self.hold);
        self.along(interval)[0] > wait.max(self.along(self.start)[1]) + i128::from(self.error)
    }

    /// Whether no execution in the interval has come past an angle.
    fn before(&self, interval: [i64; 2], at: i64) -> bool {
        self.along(interval)[1] < self.angle(at) - i128::from(self.error + self.hold)
    }
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
        let bad = |c: &Course| c.start[0] > c.start[1] || c.stop[0] > c.stop[1] || c.band < 0 || c.hold < 0 || c.error < 0;
        if self.courses.iter().any(bad) {
            return Err(Fault::Degenerate("a start, stop, band, drift or error of the region is upside down"));
        }
        let courses = self.courses.iter().flat_map(|c| [c.start[0], c.start[1], c.stop[0], c.stop[1], c.band, c.hold, c.error]);
        let numbers = courses.chain(self.gates.iter().flat_map(|g| [g.at, g.past]));
        let fits = |n: i64| (-FARTHEST_TURN..=FARTHEST_TURN).contains(&n);
        if numbers.into_iter().all(fits) { Ok(()) } else { Err(Fault::OutOfRange("an angle of the region")) }
    }

    /// Whether no execution of the order can be in the box.
    #[must_use]
    pub fn excludes(&self, within: &JointBox) -> bool {
        let at = |k: usize| within.0.get(self.courses[k].joint).copied().unwrap_or([-FARTHEST_TURN, FARTHEST_TURN]);
        let behind = self.first.is_some_and(|x| {
            let y = 1 - x;
            let ((far, least_way), (near, most_way)) = (self.courses[x].most_done(at(x)), self.courses[y].least_done(at(y)));
            // The share of X at most, below the share of Y at least.
            near > 0 && least_way > 0 && most_way > 0 && far * most_way < near * least_way
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
        let course = |joint, up, start, stop| Course { joint, up, start, stop, band: 500, hold: 200, error: 100 };
        Region { courses: [course(0, true, [-200, 200], [9500, 10_500]), course(1, false, [19_800, 20_200], [-500, 500])], first, gates }
    }

    #[test]
    fn a_box_is_left_out_only_where_no_execution_can_be() {
        let first = region(Some(0), vec![]);
        let out = |r: &Region, x, y| r.excludes(&JointBox(vec![x, y]));
        // X (up, 10 deg) has hardly begun, Y (down, 20 deg) is half done.
        assert!(out(&first, [0, 1000], [9000, 10_000]));
        // X has done (1.0 + 0.3 + 0.2) / (9.5 + 0.2) = 0.1546 at most; Y at least (19.8 - y - 0.3) / (19.8 + 0.5): as much at y = 16.361.
        assert!(!out(&first, [0, 1000], [16_000, 16_361]));
        assert!(out(&first, [0, 1000], [16_000, 16_360]));
        // Near its stop X has gone all the way.
        assert!(!out(&first, [9000, 9200], [-800, -400]));
        assert!(!out(&region(None, vec![]), [0, 1000], [9000, 10_000]));
        // Y does not pass 15 deg until X is past 5 deg.
        let gate = region(None, vec![Gate { waits: 1, at: 15_000, past: 5000 }]);
        assert!(out(&gate, [0, 4699], [0, 14_199]));
        assert!(!out(&gate, [0, 4700], [0, 14_199]));
        assert!(!out(&gate, [0, 4699], [0, 14_200]));
        // A joint that starts beyond the gate is there already.
        let late = region(None, vec![Gate { waits: 1, at: 25_000, past: 5000 }]);
        assert!(!out(&late, [0, 4699], [0, 19_700]));
        assert!(out(&late, [0, 4699], [0, 19_699]));
    }
}
