//! From what the walk read to a statement: one function a production, taking captures in the order of its parts.

use super::Captures;
use crate::syntax::grammar::Slot;
use crate::syntax::tree::{Band, Gate, Goal, Motion, Pace, Reading, Statement, Together, Transfer};

type Built = Option<Statement>;

fn motion(c: &mut Captures<'_>) -> Option<Motion> {
    let (joint, direction) = (c.name(Slot::Joint)?, c.name(Slot::Direction)?);
    let goal = if c.at(Slot::Tap) {
        Goal::Taps {
            tap: c.angle(Slot::Tap)?,
            at_most: c.count(Slot::Times)?,
            contact_a: c.angle(Slot::ContactA)?,
            contact_b: c.angle(Slot::ContactB)?,
        }
    } else if c.at(Slot::By) {
        Goal::By { by: c.angle(Slot::By)?, ending: c.angle(Slot::Ending)? }
    } else if c.flag("contact") {
        Goal::Until { signal: None, not_past: c.angle(Slot::NotPast)? }
    } else if c.at(Slot::Signal) {
        Goal::Until { signal: c.name(Slot::Signal), not_past: c.angle(Slot::NotPast)? }
    } else {
        let (from, to, within) = (c.angle(Slot::From), c.angle(Slot::To)?, c.angle(Slot::Within));
        let pace = match (c.flag("slow"), c.flag("inch")) {
            (true, _) => Pace::Slow,
            (_, true) => Pace::Inch,
            _ => Pace::Normal,
        };
        Goal::To { from, to, within, pace }
    };
    Some(Motion { joint, direction, goal })
}

pub(in crate::syntax) fn moving(c: &mut Captures<'_>) -> Built {
    motion(c).map(Statement::Move)
}
pub(in crate::syntax) fn together(c: &mut Captures<'_>) -> Built {
    let moves = [motion(c)?, motion(c)?];
    let first = if c.flag_after("first") { c.name(Slot::Joint) } else { None };
    c.flag("first");
    let mut gates = Vec::new();
    while let Some(held) = c.name(Slot::Joint) {
        gates.push(Gate { held, not_past: c.angle(Slot::NotPast)?, until: c.name(Slot::Joint)?, past: c.angle(Slot::Past)? });
    }
    Some(Statement::Together(Box::new(Together { moves, first, gates })))
}
pub(in crate::syntax) fn grip_level(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Level).map(Statement::GripLevel)
}
pub(in crate::syntax) fn close(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Load).map(Statement::Close)
}
pub(in crate::syntax) fn jaw_open(c: &mut Captures<'_>) -> Built {
    c.length(Slot::Opening).map(Statement::JawOpen)
}
pub(in crate::syntax) fn jaw_close(c: &mut Captures<'_>) -> Built {
    c.length(Slot::Opening).map(Statement::JawClose)
}
fn transfer(c: &mut Captures<'_>) -> Option<Transfer> {
    Some(Transfer { load: c.name(Slot::Load)?, station: c.name(Slot::Station)?, motion: motion(c)? })
}
pub(in crate::syntax) fn lift(c: &mut Captures<'_>) -> Built {
    transfer(c).map(Statement::Lift)
}
pub(in crate::syntax) fn lower(c: &mut Captures<'_>) -> Built {
    transfer(c).map(Statement::Lower)
}
pub(in crate::syntax) fn let_go(c: &mut Captures<'_>) -> Built {
    Some(Statement::LetGo { load: c.name(Slot::Load)?, station: c.name(Slot::Station)?, open_to: c.length(Slot::Opening)? })
}
pub(in crate::syntax) fn hold_point(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Role).map(Statement::HoldPoint)
}
pub(in crate::syntax) fn witness_point(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Role).map(Statement::WitnessPoint)
}
pub(in crate::syntax) fn verify_after(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Role).map(Statement::VerifyAfter)
}
pub(in crate::syntax) fn check(_: &mut Captures<'_>) -> Built {
    Some(Statement::Check)
}
pub(in crate::syntax) fn read_joints(_: &mut Captures<'_>) -> Built {
    Some(Statement::ReadJoints)
}
pub(in crate::syntax) fn read(c: &mut Captures<'_>) -> Built {
    let (quantity, place) = (c.name(Slot::Quantity)?, c.name(Slot::Place));
    let band = if c.flag("below") {
        Band::Below(c.quantity(Slot::High)?)
    } else if c.flag("above") {
        Band::Above(c.quantity(Slot::Low)?)
    } else {
        Band::Between(c.quantity(Slot::Low)?, c.quantity(Slot::High)?)
    };
    Some(Statement::Read(Reading { quantity, place, band, instrument: c.name(Slot::Instrument)? }))
}
pub(in crate::syntax) fn record(c: &mut Captures<'_>) -> Built {
    Some(Statement::Record { name: c.name(Slot::Record)?, unit: c.name(Slot::Unit)? })
}
pub(in crate::syntax) fn view(c: &mut Captures<'_>) -> Built {
    Some(Statement::View { view: c.name(Slot::View)?, monitor: c.name(Slot::Monitor) })
}
pub(in crate::syntax) fn tell(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Role).map(Statement::Tell)
}
pub(in crate::syntax) fn wait(c: &mut Captures<'_>) -> Built {
    Some(Statement::Wait { at_least: c.time(Slot::AtLeast)?, at_most: c.time(Slot::AtMost) })
}
pub(in crate::syntax) fn turnover(_: &mut Captures<'_>) -> Built {
    Some(Statement::Turnover)
}
pub(in crate::syntax) fn power_on(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Arm).map(Statement::PowerOn)
}
pub(in crate::syntax) fn power_off(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Arm).map(Statement::PowerOff)
}
pub(in crate::syntax) fn fit(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Tool).map(Statement::Fit)
}
pub(in crate::syntax) fn put_down(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Tool).map(Statement::PutDown)
}
pub(in crate::syntax) fn set(c: &mut Captures<'_>) -> Built {
    Some(Statement::Set { equipment: c.name(Slot::Equipment)?, state: c.name(Slot::State)? })
}
pub(in crate::syntax) fn branch(_: &mut Captures<'_>) -> Built {
    Some(Statement::If)
}
pub(in crate::syntax) fn repeat(c: &mut Captures<'_>) -> Built {
    c.count(Slot::Times).map(Statement::Repeat)
}
pub(in crate::syntax) fn perform(_: &mut Captures<'_>) -> Built {
    Some(Statement::Perform)
}
pub(in crate::syntax) fn go_to(_: &mut Captures<'_>) -> Built {
    Some(Statement::GoTo)
}
pub(in crate::syntax) fn expect_pose(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Pose).map(Statement::ExpectPose)
}
pub(in crate::syntax) fn expect_at(c: &mut Captures<'_>) -> Built {
    c.name(Slot::Station).map(Statement::ExpectAt)
}
