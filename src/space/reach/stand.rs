//! The jaw at a station: where it is expected, takes a load, lifts it off, sets it down and lets it go.

use super::super::leg;
use super::super::scene::{Scene, Spot, What};
use super::{is_round, lie, upright};
use crate::geometry::chain::JointBox;
use crate::geometry::{Fault, Mat3, Vec3, metres, reach, unit};
use crate::model::procedure::{Effect, Procedure, Step};
use crate::model::solid::direction;
use crate::model::{LoadId, StationId};
use crate::text::Span;
use crate::trace::state::{Opening, Place, State};
use crate::trace::{RowId, Trace};
use crate::units::Length;

/// Why the jaw is at a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// The step says that it is there.
    Expected,
    /// It closes on the load that stands there.
    Taken(LoadId),
    /// It lifts the load off.
    Lifted(LoadId),
    /// It has set the load down.
    SetDown(LoadId),
    /// It lets the load go.
    LetGo(LoadId),
}

/// The jaw at a station, from one state of one step.
#[derive(Clone, Debug)]
pub struct Stand {
    /// The printed step.
    pub row: RowId,
    /// Which of the states before it.
    pub entry: usize,
    /// The station.
    pub station: StationId,
    /// Why it is there.
    pub moment: Moment,
    /// Where the step names station or load.
    pub span: Span,
    /// The true angles there.
    pub within: JointBox,
    /// The lowest and the highest x, y and z of the grip centre, in micrometres.
    pub band: [[i64; 2]; 3],
    /// How far the grip centre can be from the place of the station, in micrometres.
    pub off: i64,
    /// How far the jaw can be turned against the station, in thousandths of a degree; only how far it can point elsewhere
    /// where the last joint may be at any angle.
    pub turned: i64,
    /// How the open jaw is about the load it closes on.
    pub aside: Option<Aside>,
    /// How the load that is set down or let go lies.
    pub lying: Option<Lying>,
}

/// The open jaw about a load, in micrometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Aside {
    /// Half of what the least opening is wider than the load.
    pub room: i64,
    /// How far the grip centre can be off the middle of the load along the way of the pads.
    pub off: i64,
}

/// How a load lies on a station, in thousandths of a degree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lying {
    /// The load.
    pub load: LoadId,
    /// The greatest tilt from plumb.
    pub tilt: i64,
    /// The greatest turn against how it would lie there.
    pub turned: i64,
    /// Whether it is round about its upright axis, so that a turn about that does not matter.
    pub round: bool,
}

/// One step from one of its states.
pub(super) struct Look<'a> {
    pub(super) p: &'a Procedure,
    pub(super) q: &'a Procedure,
    pub(super) trace: &'a Trace,
    pub(super) scene: &'a Scene,
    pub(super) step: &'a Step,
    pub(super) row: RowId,
    pub(super) entry: usize,
}

pub(super) fn look(l: &Look<'_>, before: &State, out: &mut Vec<Stand>) -> Result<(), Fault> {
    if l.step.broken {
        return Ok(());
    }
    let Some(rest) = leg::at_rest(&l.q.arm, before) else { return Ok(()) };
    let mut now = rest;
    for effect in l.step.effects() {
        let (station, moment, span) = match effect {
            Effect::Drive(_) => {
                let Some(motion) = leg::of(l.q, l.step, before) else { return Ok(()) };
                now = leg::rest(&l.q.arm, before, l.step, &motion);
                continue;
            }
            Effect::ExpectAt(station) => (station.value, Moment::Expected, station.span),
            Effect::Grip(load) => match before.place(load.value) {
                Place::On(station) => (station, Moment::Taken(load.value), load.span),
                _ => continue,
            },
            Effect::Leave(load, station) => (station.value, Moment::Lifted(load.value), station.span),
            Effect::Rest(load, station) => (station.value, Moment::SetDown(load.value), station.span),
            Effect::LetGo(load, station, _) => (station.value, Moment::LetGo(load.value), station.span),
            _ => continue,
        };
        let Some(spot) = &l.scene.spots[station.at()] else { continue };
        out.push(stand(l, before, (station, spot), moment, span, now.clone())?);
    }
    Ok(())
}

fn stand(
    l: &Look<'_>,
    before: &State,
    (station, spot): (StationId, &Spot),
    moment: Moment,
    span: Span,
    within: JointBox,
) -> Result<Stand, Fault> {
    let (chain, last) = (l.scene.chain(), l.scene.chain().joints());
    let grip = metres(l.scene.grip);
    let band = reach::band(chain, &within, last, grip)?;
    let off = reach::distance_at_most(chain, &within, last, grip, spot.point)?;
    let turned = turned(l, station, spot, &within)?;
    let aside = match (moment, before.jaw) {
        (Moment::Taken(load), Opening::Between(least, _)) => aside(l, load, least, spot, &within, off)?,
        _ => None,
    };
    let lying = match moment {
        Moment::SetDown(load) | Moment::LetGo(load) => lying(l, before, load, spot, &within)?,
        _ => None,
    };
    Ok(Stand { row: l.row, entry: l.entry, station, moment, span, within, band, off, turned, aside, lying })
}

/// Whether the pose of a station leaves the last joint free.
fn is_free_to_turn(q: &Procedure, station: StationId) -> bool {
    let pose = q.cell.stations[station.at()].pose.as_ref().and_then(|name| q.arm.find_pose(&name.value));
    pose.is_some_and(|pose| q.arm.poses[pose.at()].angles.last().is_some_and(Option::is_none))
}

fn turned(l: &Look<'_>, station: StationId, spot: &Spot, within: &JointBox) -> Result<i64, Fault> {
    let (chain, last) = (l.scene.chain(), l.scene.chain().joints());
    match chain.hinges().last() {
        Some(hinge) if is_free_to_turn(l.q, station) => {
            let axis = unit(hinge.axis)?;
            Ok(reach::between(chain, within, last, axis, spot.frame.direction(axis))?[1])
        }
        _ => reach::turned(chain, within, last, &Mat3::IDENTITY, &spot.frame.turn),
    }
}

/// How far the grip centre can be off the place of the load along the way of the pads. With the jaw as it is in the middle of
/// the box that is a range along a fixed direction; turned from there by an angle it changes by the whole distance times the chord of it.
fn aside(l: &Look<'_>, load: LoadId, least: Length, spot: &Spot, within: &JointBox, off: i64) -> Result<Option<Aside>, Fault> {
    let Some(closing) = l.q.arm.jaw.closing else { return Ok(None) };
    let (chain, last) = (l.scene.chain(), l.scene.chain().joints());
    let closing = unit(direction(closing.value))?;
    let middle: Vec<i64> = within.0.iter().map(|[low, high]| (low + high).div_euclid(2)).collect();
    let n = chain.place_exact(&middle).carriers[last].direction(closing);
    let grip = reach::Carried::Point(metres(l.scene.grip));
    let place = metres(spot.point).dot(n);
    let far = (reach::most_along(chain, within, last, grip, n)? - place).max(reach::most_along(chain, within, last, grip, -n)? + place);
    let leans = reach::between(chain, within, last, closing, n)?[1];
    let more = off as f64 * 2.0 * crate::units::trig::sin(crate::units::radians(crate::units::Angle(leans)) / 2.0);
    let room = (least.0 - l.q.cell.loads[load.at()].grip_width.value.0).div_euclid(2);
    Ok(Some(Aside { room, off: (far * 1e6 + more).ceil() as i64 }))
}

fn lying(l: &Look<'_>, before: &State, load: LoadId, spot: &Spot, within: &JointBox) -> Result<Option<Lying>, Fault> {
    let body = before.held().filter(|h| h.load == load).and_then(|h| l.scene.held(l.p, l.trace, h));
    let Some(What::Held(grip)) = body.map(|b| &l.scene.things[b].what) else { return Ok(None) };
    let (chain, last) = (l.scene.chain(), l.scene.chain().joints());
    let (inner, up) = (lie(l.scene, grip), upright(l.scene, grip));
    let tilt = reach::between(chain, within, last, inner * up, Vec3::Z)?[1];
    let turned = reach::turned(chain, within, last, &inner, &spot.frame.turn)?;
    Ok(Some(Lying { load, tilt, turned, round: is_round(&l.q.cell.loads[load.at()], up) }))
}
