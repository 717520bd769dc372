//! Declared situations: the state a procedure starts in, and whether a state meets a declaration.

use super::doubt::Part;
use super::measure;
use super::state::{Grasp, Held, Known, Opening, Phase, Place, Readout, State};
use crate::model::procedure::{Procedure, Situation};
use crate::model::{JointId, PoseId};
use crate::text::Span;
use crate::units::Angle;

/// The state the declared start describes. A start or pose that is missing or could not be read is reported elsewhere and muted.
pub(super) fn start(p: &Procedure) -> State {
    let Some(situation) = &p.start else { return blank(p, true) };
    let mut state = blank(p, situation.pose.is_none());
    if let Some(pose) = situation.pose {
        let pose = &p.arm.poses[pose.value.at()];
        state.map_joints(|i, _| match pose.angles.get(i).copied().flatten() {
            Some(angle) => Readout::at(angle.value, pose.band.value, Known::Readout),
            None => anywhere(p, i),
        });
    }
    if let Some(jaw) = situation.jaw {
        let tolerance = p.arm.jaw.tolerance.value;
        state.jaw = Opening::Between(jaw.value - tolerance, jaw.value + tolerance);
    }
    state.power = Some(situation.power.is_some_and(|p| p.value));
    state.tool = situation.tool.map(|t| t.value);
    state.view = situation.view.map(|v| v.value);
    for (load, place) in &situation.loads {
        match place.value {
            Some(station) => state.set_place(load.value, Place::On(station)),
            None => {
                state.set_place(load.value, Place::Jaw);
                state.grasp = Grasp::Held(Held { load: load.value, gripped: None, from: None, phase: Phase::Carried });
                let width = p.cell.loads[load.value.at()].grip_width.value;
                state.jaw = Opening::Between(width, width);
            }
        }
    }
    for (equipment, to) in &situation.equipment {
        state.set_equipment(equipment.value, to.value);
    }
    state
}

/// A state in which joints are anywhere and loads rest where the cell says.
fn blank(p: &Procedure, muted: bool) -> State {
    let joints = (0..p.arm.joints.len()).map(|i| anywhere(p, i)).collect();
    let rests = |name: &str| p.cell.find_station(name).map_or(Place::Unsaid, Place::On);
    let loads = p.cell.loads.iter().map(|l| l.rests_at.as_ref().map_or(Place::Unsaid, |n| rests(&n.value))).collect();
    let mut state = State::new(joints, loads, p.cell.equipment.iter().map(|e| e.initial.value).collect());
    if muted {
        super::transfer::mute(&mut state);
    }
    state
}

/// A joint somewhere within what it may do.
fn anywhere(p: &Procedure, joint: usize) -> Readout {
    let (low, high) = p.arm.joints[joint].soft_limits();
    Readout { low, high, nominal: low, known: Known::Range, wound: Angle::ZERO }
}

/// The first joint that is not certain to be in a pose, with the interval it can be in and the interval wanted.
pub(super) struct Outside {
    pub(super) joint: JointId,
    pub(super) is: (Angle, Angle),
    pub(super) wanted: (Angle, Angle),
    pub(super) how: Known,
    pub(super) mend: Mend,
}

/// What would bring a joint into a pose.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mend {
    /// A move.
    Move,
    /// Comparing its read-out, since it was stopped by eye.
    Read,
    /// A narrower band of the move before, or a wider one of the pose: its printed angle lies in it.
    Band,
}

/// Whether every joint is certain to be within a pose. A joint left behind at power off counts where it was left if
/// `left_behind`; muted joints are passed over.
pub(super) fn outside(p: &Procedure, state: &State, pose: PoseId, left_behind: bool) -> Option<Outside> {
    all_outside(p, state, pose, left_behind).next()
}

/// Every joint that is not certain to be in a pose, from the mount outward; else as for [`outside`].
pub(super) fn all_outside<'a>(p: &'a Procedure, state: &'a State, pose: PoseId, left_behind: bool) -> impl Iterator<Item = Outside> + 'a {
    let pose = &p.arm.poses[pose.at()];
    state.joints().iter().zip(&pose.angles).enumerate().filter_map(move |(i, (readout, angle))| {
        let angle = angle.as_ref()?;
        let unread = readout.is_unread();
        if readout.known == Known::Muted || (unread && left_behind && inside(p, i, *readout, angle.value, pose.band.value)) {
            return None;
        }
        let certain = readout.is_known() && inside(p, i, *readout, angle.value, pose.band.value);
        (!certain).then(|| Outside {
            joint: JointId(u16::try_from(i).unwrap_or(u16::MAX)),
            is: readout.idle(p.arm.joints[i].hold.value),
            wanted: (angle.value - pose.band.value, angle.value + pose.band.value),
            how: readout.known,
            mend: match readout.known {
                Known::ByEye if inside(p, i, measure::settled(&p.arm.joints[i], *readout), angle.value, pose.band.value) => Mend::Read,
                Known::ByEye | Known::Readout if (readout.nominal - angle.value).abs() <= pose.band.value => Mend::Band,
                _ => Mend::Move,
            },
        })
    })
}

fn inside(p: &Procedure, joint: usize, readout: Readout, angle: Angle, band: Angle) -> bool {
    // A joint that was declared to be in this pose and has not moved is in it.
    let (low, high) = readout.idle(p.arm.joints[joint].hold.value);
    (readout.low, readout.high) == (angle - band, angle + band) || (low >= angle - band && high <= angle + band)
}

/// What of a declaration a state does not meet.
pub(super) struct Unmet {
    /// The entry.
    pub(super) place: Span,
    /// What is so instead.
    pub(super) words: String,
    /// What of the state it is about.
    pub(super) parts: Vec<Part>,
}

/// All of a declaration that a state does not meet.
pub(super) fn unmet(p: &Procedure, declared: &Situation, state: &State) -> Vec<Unmet> {
    let mut out = Vec::new();
    let mut put = |place, words, part: Option<Part>| out.push(Unmet { place, words, parts: part.into_iter().collect() });
    if let (Some(jaw), Opening::Between(low, high)) = (declared.jaw, state.jaw) {
        let tolerance = p.arm.jaw.tolerance.value;
        if low < jaw.value - tolerance || high > jaw.value + tolerance {
            put(jaw.span, format!("the jaw is open between {low} and {high}"), Some(Part::Opening));
        }
    }
    if let (Some(jaw), Opening::Undeclared) = (declared.jaw, state.jaw) {
        put(jaw.span, "the opening of the jaw is not known".to_string(), Some(Part::Opening));
    }
    if let (Some(power), Some(is)) = (declared.power, state.power)
        && power.value != is
    {
        put(power.span, format!("power is {}", if is { "on" } else { "off" }), Some(Part::Power));
    }
    // A declaration that names no tool says that none is fitted.
    if !state.is_muted() && state.tool != declared.tool.map(|t| t.value) {
        let place = declared.tool.map_or(declared.span, |t| t.span);
        let is = state.tool.map_or("no tool".to_string(), |t| format!("`{}`", p.arm.tools[t.at()].name.value));
        put(place, format!("{is} is fitted"), Some(Part::Tool));
    }
    if let Some(view) = declared.view
        && state.view != Some(view.value)
    {
        let is = state.view.map_or("no view".to_string(), |v| format!("`{}`", p.cell.views[v.at()].name.value));
        put(view.span, format!("{is} is in force"), None);
    }
    if state.grasp != Grasp::Muted {
        for (load, place) in &declared.loads {
            let is = state.place(load.value);
            if is != place.value.map_or(Place::Jaw, Place::On) {
                let words = format!("`{}` is {}", p.cell.loads[load.value.at()].name.value, say_place(p, is));
                put(place.span, words, Some(Part::Load(load.value)));
            }
        }
    }
    for (equipment, to) in &declared.equipment {
        let is = state.equipment(equipment.value);
        if is != to.value {
            let e = &p.cell.equipment[equipment.value.at()];
            put(to.span, format!("`{}` is {}", e.name.value, e.states[is.at()].value), None);
        }
    }
    let off: Vec<Outside> = declared.pose.iter().flat_map(|pose| all_outside(p, state, pose.value, true)).collect();
    if let (Some(pose), false) = (declared.pose, off.is_empty()) {
        let each = |o: &Outside| format!("{} is {}, wanted {}", p.arm.joint(o.joint).name.value, say_where(o.is, o.how), say(o.wanted));
        let words = off.iter().map(each).collect::<Vec<_>>().join("; ");
        out.insert(0, Unmet { place: pose.span, words, parts: off.iter().map(|o| Part::Joint(o.joint)).collect() });
    }
    out
}

/// "between -5.2 and -4.8 deg".
pub(super) fn say((low, high): (Angle, Angle)) -> String {
    if low == high { low.show() } else { format!("between {} and {}", low.signed(0), high.show()) }
}

pub(super) fn say_where(interval: (Angle, Angle), how: Known) -> String {
    match how {
        Known::Unread | Known::UnreadRange => "not known, because power was off".to_string(),
        Known::Range => format!("anywhere {}", say(interval)),
        _ => say(interval),
    }
}

/// "base is at +42 deg, elbow is between +30 and +50 deg".
pub(super) fn say_outside(p: &Procedure, off: &[Outside]) -> String {
    let each = |o: &Outside| format!("{} is {}", p.arm.joint(o.joint).name.value, say_where(o.is, o.how));
    off.iter().map(each).collect::<Vec<_>>().join(", ")
}

/// "on the rack", "in the jaw".
pub(super) fn say_place(p: &Procedure, place: Place) -> String {
    match place {
        Place::On(station) => format!("on `{}`", p.cell.stations[station.at()].name.value),
        Place::Jaw => "in the jaw".to_string(),
        Place::Unsaid => "nowhere known".to_string(),
    }
}
