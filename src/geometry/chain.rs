//! The chain of joints: from the angles of the joints to where each carrier is.

use super::{Fault, Frame, Vec3, rotation, unit, within};
use crate::units::trig;

/// The most joints of a chain.
pub const MOST_JOINTS: usize = 16;

/// The greatest angle, in thousandths of a degree: a million turns.
pub const FARTHEST_TURN: i64 = 360_000_000_000;

/// Where the arm is fixed: micrometres in the cell, and three angles in thousandths of a degree about the fixed axes x, y, z.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Mount {
    /// Micrometres.
    pub position: [i64; 3],
    /// Thousandths of a degree about the fixed axes x, then y, then z; a heading is the third.
    pub turn: [i64; 3],
}

/// One joint: on the carrier before it at `origin`, its own axes turned by `turn`, turning about `axis` of those.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hinge {
    /// Direction of the axis after `turn`; the joint turns positively about it (right hand).
    pub axis: [i64; 3],
    /// Micrometres in the carrier before it.
    pub origin: [i64; 3],
    /// Thousandths of a degree about the fixed axes x, then y, then z of the carrier before it.
    pub turn: [i64; 3],
}

/// Joints from the mount outward. Carrier 0 is the cell, carrier k moves with joint k - 1 of the list.
#[derive(Clone, Debug)]
pub struct Chain {
    mount: Mount,
    hinges: Vec<Hinge>,
    base: Frame,
    steps: Vec<(Frame, Vec3)>,
}

/// The axis of a joint in the cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// A point on it, in metres.
    pub origin: Vec3,
    /// Its unit direction.
    pub direction: Vec3,
}

/// Where everything is for one set of angles.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Placed {
    /// By carrier: the cell itself first, then one a joint.
    pub carriers: Vec<Frame>,
    /// By joint.
    pub axes: Vec<Axis>,
}

/// For every joint the lowest and the highest angle, in thousandths of a degree.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct JointBox(pub Vec<[i64; 2]>);

impl JointBox {
    /// A box of one single set of angles.
    #[must_use]
    pub fn point(mdeg: &[i64]) -> JointBox {
        JointBox(mdeg.iter().map(|a| [*a, *a]).collect())
    }

    /// Refuses a box that does not fit the chain, is empty, or has angles beyond a million turns.
    pub fn check(&self, chain: &Chain) -> Result<(), Fault> {
        if self.0.len() != chain.hinges.len() {
            return Err(Fault::Missing("an interval for every joint"));
        }
        if self.0.iter().any(|[low, high]| low > high) {
            return Err(Fault::Degenerate("an interval ends below its start"));
        }
        let fits = |a: &i64| (-FARTHEST_TURN..=FARTHEST_TURN).contains(a);
        if self.0.iter().flatten().all(fits) { Ok(()) } else { Err(Fault::OutOfRange("an angle")) }
    }

    /// Whether `other` lies wholly inside.
    #[must_use]
    pub fn contains(&self, other: &JointBox) -> bool {
        self.0.len() == other.0.len() && self.0.iter().zip(&other.0).all(|(a, b)| a[0] <= b[0] && b[1] <= a[1])
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn hull(&self, other: &JointBox) -> JointBox {
        JointBox(self.0.iter().zip(&other.0).map(|(a, b)| [a[0].min(b[0]), a[1].max(b[1])]).collect())
    }
}

impl Chain {
    /// A chain; refuses an axis of length zero, a coordinate beyond 1 km and more than [`MOST_JOINTS`] joints.
    pub fn new(mount: Mount, hinges: Vec<Hinge>) -> Result<Chain, Fault> {
        if hinges.len() > MOST_JOINTS {
            return Err(Fault::Degenerate("a chain has at most 16 joints"));
        }
        within(&mount.position, "the place of the mount")?;
        let mut steps = Vec::with_capacity(hinges.len());
        for hinge in &hinges {
            within(&hinge.origin, "the origin of a joint")?;
            steps.push((Frame::of(hinge.origin, hinge.turn), unit(hinge.axis)?));
        }
        Ok(Chain { base: Frame::of(mount.position, mount.turn), mount, hinges, steps })
    }

    /// How many joints.
    #[must_use]
    pub fn joints(&self) -> usize {
        self.hinges.len()
    }

    /// The joints as given.
    #[must_use]
    pub fn hinges(&self) -> &[Hinge] {
        &self.hinges
    }

    /// The mount as given.
    #[must_use]
    pub fn mount(&self) -> Mount {
        self.mount
    }

    /// Where the arm's own base coordinates are in the cell.
    #[must_use]
    pub fn base(&self) -> Frame {
        self.base
    }

    /// Everything at angles in radians; a missing angle counts as zero. Non-finite angles give non-finite places.
    #[must_use]
    pub fn place(&self, q: &[f64]) -> Placed {
        let mut placed = Placed::default();
        self.place_into(|k| q.get(k).map_or((0.0, 1.0), |a| (trig::sin(*a), trig::cos(*a))), &mut placed);
        placed
    }

    /// Everything at exact angles in thousandths of a degree; a missing angle counts as zero.
    #[must_use]
    pub fn place_exact(&self, mdeg: &[i64]) -> Placed {
        let mut placed = Placed::default();
        self.place_into(|k| mdeg.get(k).map_or((0.0, 1.0), |a| crate::units::sin_cos(crate::units::Angle(*a))), &mut placed);
        placed
    }

    /// Everything at the sines and cosines `turns(joint)`, into a place that is used again.
    pub fn place_into(&self, turns: impl Fn(usize) -> (f64, f64), out: &mut Placed) {
        out.carriers.clear();
        out.axes.clear();
        out.carriers.push(Frame::IDENTITY);
        let mut frame = self.base;
        for (k, (step, axis)) in self.steps.iter().enumerate() {
            let joint = frame.then(step);
            let (sine, cosine) = turns(k);
            out.axes.push(Axis { origin: joint.at, direction: joint.direction(*axis) });
            frame = Frame { turn: joint.turn * rotation(*axis, sine, cosine), at: joint.at };
            out.carriers.push(frame);
        }
    }
}
