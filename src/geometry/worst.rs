//! The greatest value of a function over a box of joint angles: found by halving, bounded at every step.
//!
//! Invariant: [`Worst::most`] is never less than the function anywhere in the box, wherever the search stopped.

use super::Fault;
use super::chain::{Chain, JointBox, Placed};
use crate::units::trig;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// The most boxes one search judges. Beyond it the bound stands as it is: sound, only less sharp.
pub const MOST_BOXES: usize = 4096;

/// The search ends where bound and found value differ by at most this share of the bound.
pub const SHARP: f64 = 0.002;

/// The greatest value over a box.
#[derive(Clone, Debug, PartialEq)]
pub struct Worst {
    /// No value in the box is greater.
    pub most: f64,
    /// The greatest value that was met.
    pub found: f64,
    /// The angles it was met at, thousandths of a degree.
    pub at: Vec<i64>,
}

/// What is known of a function over one box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// Its value at the centre.
    pub here: f64,
    /// It is nowhere greater.
    pub most: f64,
    /// The joint whose interval matters most.
    pub split: Option<usize>,
}

struct Open {
    most: f64,
    /// Earlier boxes first where bounds are alike, so that every run takes the same way.
    number: usize,
    split: Option<usize>,
    within: JointBox,
}

impl Ord for Open {
    fn cmp(&self, o: &Open) -> Ordering {
        self.most.total_cmp(&o.most).then(o.number.cmp(&self.number))
    }
}
impl PartialOrd for Open {
    fn partial_cmp(&self, o: &Open) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl PartialEq for Open {
    fn eq(&self, o: &Open) -> bool {
        self.cmp(o) == Ordering::Equal
    }
}
impl Eq for Open {}

/// Half the width of every interval, rad.
pub fn halves(within: &JointBox) -> impl Iterator<Item = f64> + '_ {
    within.0.iter().map(|[low, high]| radians(high - low) / 2.0)
}

/// Thousandths of a degree in radians.
pub fn radians(mdeg: i64) -> f64 {
    crate::units::radians(crate::units::Angle(mdeg))
}

/// Searches. `judge` gets where everything is at the centre of a box, the box, and half its widths in radians; `enough` is
/// how near the bound has to come to a value that was met, besides [`SHARP`].
pub fn worst(
    chain: &Chain,
    within: &JointBox,
    enough: f64,
    mut judge: impl FnMut(&Placed, &JointBox, &[f64]) -> Judged,
) -> Result<Worst, Fault> {
    within.check(chain)?;
    let mut best = Worst { most: f64::NEG_INFINITY, found: f64::NEG_INFINITY, at: Vec::new() };
    let (mut placed, mut half, mut boxes) = (Placed::default(), Vec::new(), BinaryHeap::new());
    let mut number = 0;
    let mut meet = |within: JointBox, best: &mut Worst, boxes: &mut BinaryHeap<Open>| {
        half.clear();
        half.extend(halves(&within));
        chain.place_into(|k| trig::sin_cos_halves(within.0[k][0] + within.0[k][1]), &mut placed);
        let judged = judge(&placed, &within, &half);
        if judged.here > best.found {
            best.found = judged.here;
            best.at = within.0.iter().map(|[low, high]| low + (high - low) / 2).collect();
        }
        number += 1;
        let split = judged.split.filter(|j| within.0[*j][1] - within.0[*j][0] >= 2);
        boxes.push(Open { most: judged.most, number, split, within });
        number
    };
    meet(within.clone(), &mut best, &mut boxes);
    while let Some(top) = boxes.pop() {
        best.most = top.most;
        let near = top.most - best.found <= enough.max(SHARP * top.most.abs());
        let Some(joint) = top.split.filter(|_| !near) else { break };
        let [low, high] = top.within.0[joint];
        let middle = low + (high - low) / 2;
        let mut count = 0;
        for part in [[low, middle], [middle, high]] {
            let mut inner = top.within.clone();
            inner.0[joint] = part;
            count = meet(inner, &mut best, &mut boxes);
        }
        if count >= MOST_BOXES {
            best.most = boxes.peek().map_or(top.most, |b| b.most);
            break;
        }
    }
    Ok(best)
}
