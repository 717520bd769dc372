//! Approaches by taps: between which read-outs contact comes.

use super::super::Stretch;
use super::super::scene::Scene;
use crate::geometry::{Fault, reach};
use crate::model::procedure::{Effect, Goal, Procedure, Step};
use crate::model::{JointId, StationId};
use crate::text::Span;
use crate::trace::RowId;
use crate::units::{Angle, Length};

/// An approach by taps from one state of one step.
#[derive(Clone, Debug)]
pub struct Meet {
    /// The printed step.
    pub row: RowId,
    /// Which of the states before it.
    pub entry: usize,
    /// The joint.
    pub joint: JointId,
    /// The band of contact as written, the lower angle first.
    pub written: (Angle, Angle),
    /// Where it is written.
    pub spans: (Span, Span),
    /// Where contact comes.
    pub met: Met,
}

/// Where contact comes, by the read-out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Met {
    /// Nothing may touch there, so no contact is declared.
    Undeclared,
    /// No contact can come before the last tap has ended.
    Never,
    /// Not before the first angle; whether before the last tap has ended is not certain.
    Uncertain {
        /// The first angle.
        first: Angle,
        /// The two bodies.
        pair: (usize, usize),
    },
    /// Between two angles, the lower one first.
    Between {
        /// The lower.
        low: Angle,
        /// The higher.
        high: Angle,
        /// The two bodies.
        pair: (usize, usize),
    },
}

pub(super) fn look(q: &Procedure, step: &Step, scene: &Scene, stretch: &Stretch, out: &mut Vec<Meet>) -> Result<(), Fault> {
    for effect in step.effects() {
        let Effect::Drive(drive) = effect else { continue };
        let Goal::Taps { low, high, .. } = &drive.goal else { continue };
        let (near, far) = if low.value <= high.value { (low, high) } else { (high, low) };
        let (joint, rising) = (drive.joint.value, drive.positive.value);
        out.push(Meet {
            row: stretch.row,
            entry: stretch.entry,
            joint,
            written: (near.value, far.value),
            spans: (low.span, high.span),
            met: met(q, scene, stretch, joint, rising)?,
        });
    }
    Ok(())
}

fn met(q: &Procedure, scene: &Scene, stretch: &Stretch, joint: JointId, rising: bool) -> Result<Met, Fault> {
    let bodies = scene.solids.bodies();
    let mut first: Option<(i64, (usize, usize))> = None;
    let mut last: Option<i64> = None;
    let earlier = |a: i64, b: i64| if rising { a < b } else { a > b };
    let mut declared = false;
    for contact in &stretch.contacts {
        let ends = [(contact.a, contact.b), (contact.b, contact.a)];
        let Some((fixed, carried)) = ends.into_iter().find(|(f, c)| bodies[*f].carrier == 0 && bodies[*c].carrier > joint.at()) else {
            continue;
        };
        declared = true;
        let give = contact.around.map_or(0, |(station, _)| give(q, station).0);
        let found = reach::contact(scene.chain(), &stretch.leg.root, (joint.at(), rising), &bodies[carried], &bodies[fixed], give)?;
        if let Some(angle) = found.first.filter(|a| first.is_none_or(|(f, _)| earlier(*a, f))) {
            first = Some((angle, (carried, fixed)));
        }
        last = found.last.filter(|a| last.is_none_or(|l| earlier(*a, l))).or(last);
    }
    let error = q.arm.joint(joint).readout_error.value;
    Ok(match (first, last) {
        (None, _) if declared => Met::Never,
        (None, _) => Met::Undeclared,
        (Some((first, pair)), None) => Met::Uncertain { first: if rising { Angle(first) - error } else { Angle(first) + error }, pair },
        (Some((first, pair)), Some(last)) => {
            Met::Between { low: Angle(first.min(last)) - error, high: Angle(first.max(last)) + error, pair }
        }
    })
}

/// How far a station may really be from its place.
fn give(q: &Procedure, station: StationId) -> Length {
    let station = &q.cell.stations[station.at()];
    station.position_within.or(station.tolerance).map_or(Length::ZERO, |l| l.value)
}
