//! What a step does, as data.

use super::Filler;
use crate::compiled::{self as data, Act};
use crate::model::JointId;
use crate::model::arm::Joint;
use crate::model::procedure::{Band, Callee, Destination, Drive, Goal, Kind, Pace, Procedure, Step, Transfer};
use crate::trace::{FrameId, From, RowId, measure};
use crate::units::{Angle, Length};

impl Filler<'_> {
    pub(super) fn act(&mut self, p: &Procedure, frame: FrameId, step: &Step) -> Act {
        let row = self.trace.row(frame, step.id);
        let role = |id: crate::model::RoleId| p.policy.roles[id.at()].name.value.clone();
        let load = |id: crate::model::LoadId| p.cell.loads[id.at()].name.value.clone();
        let station = |id: crate::model::StationId| p.cell.stations[id.at()].name.value.clone();
        let tool = |id: crate::model::ToolId| p.arm.tools[id.at()].name.value.clone();
        let moved = |t: &Transfer| (load(t.load.value), station(t.station.value), self.motion(p, row, &t.drive));
        match &step.kind {
            Kind::Instruction => Act::Instruction,
            Kind::Broken => Act::Broken,
            Kind::Move(drive) => Act::Move(self.motion(p, row, drive)),
            Kind::Together(two) => Act::Together {
                motions: two.drives.iter().map(|d| self.motion(p, row, d)).collect(),
                first: two.first.map(|j| j.value.at()),
                gates: two.gates.iter().map(|g| gate(p, g)).collect(),
            },
            Kind::GripLevel(level) => Act::GripLevel { level: p.arm.jaw.levels[level.value.at()].name.value.clone() },
            Kind::Close(l) => Act::Close { load: load(l.value) },
            Kind::Jaw { open, to } => {
                let (low, high) = opening(p, to.value);
                Act::Jaw { open: *open, to: to.value.0, text: to.value.to_string(), low, high }
            }
            Kind::Lift(t) => {
                let (load, station, motion) = moved(t);
                Act::Lift { load, station, motion }
            }
            Kind::Lower(t) => {
                let (load, station, motion) = moved(t);
                Act::Lower { load, station, motion }
            }
            Kind::LetGo { load: l, station: s, open_to } => {
                let (low, high) = opening(p, open_to.value);
                Act::LetGo {
                    load: load(l.value),
                    station: station(s.value),
                    to: open_to.value.0,
                    text: open_to.value.to_string(),
                    low,
                    high,
                }
            }
            Kind::HoldPoint(r) => Act::HoldPoint { role: role(r.value) },
            Kind::WitnessPoint(r) => Act::WitnessPoint { role: role(r.value) },
            Kind::VerifyAfter(r) => Act::VerifyAfter { role: role(r.value) },
            Kind::Check => Act::Check,
            Kind::Read(reading) => {
                let (low, high) = match reading.band {
                    Band::Between(a, b) => (Some(a.value.to_string()), Some(b.value.to_string())),
                    Band::Below(a) => (None, Some(a.value.to_string())),
                    Band::Above(a) => (Some(a.value.to_string()), None),
                };
                Act::Read {
                    quantity: self.text(reading.quantity),
                    place: reading.place.map(|s| self.text(s)),
                    low,
                    high,
                    instrument: p.cell.instruments[reading.instrument.value.at()].name.value.clone(),
                    unit: p.cell.instruments[reading.instrument.value.at()].unit.value.clone(),
                }
            }
            Kind::Record { name, unit } => Act::Record { name: self.text(*name), unit: self.text(*unit) },
            Kind::ReadJoints => Act::ReadJoints,
            Kind::View { view, monitor } => Act::View {
                view: p.cell.views[view.value.at()].name.value.clone(),
                monitor: monitor.map(|m| p.cell.monitors[m.value.at()].value.clone()),
            },
            Kind::Tell(r) => Act::Tell { role: role(r.value) },
            Kind::Wait { at_least, at_most } => Act::Wait { at_least: at_least.value.0, at_most: at_most.map(|t| t.value.0) },
            Kind::Turnover => Act::Turnover,
            Kind::Power(on) => Act::Power { on: *on },
            Kind::Fit(t) => Act::Tool { tool: tool(t.value), on: true },
            Kind::PutDown(t) => Act::Tool { tool: tool(t.value), on: false },
            Kind::Set { equipment, state } => {
                let e = &p.cell.equipment[equipment.value.at()];
                Act::Set { equipment: e.name.value.clone(), state: e.states[state.value.at()].value.clone() }
            }
            Kind::If { arms } => {
                let number = row.map(|r| self.trace.number(self.root, r));
                let label = |n: usize| number.as_ref().map_or_else(String::new, |x| x.arm(u8::try_from(n).unwrap_or(u8::MAX)));
                Act::If { arms: (0..arms.len()).map(label).collect() }
            }
            Kind::Repeat { at_most, .. } => Act::Repeat { at_most: at_most.value },
            Kind::Perform(callee) => Act::Perform {
                title: match &callee.value {
                    Callee::Section(section) => self.title(p, *section),
                    Callee::Procedure(q) => q.front.title.as_ref().map_or_else(String::new, |t| t.value.clone()),
                },
            },
            Kind::GoTo(to) => Act::GoTo {
                to: match to.value {
                    Destination::Step(step) => self.number(frame, step),
                    Destination::Contingency(section) => self.title(p, section),
                },
            },
            Kind::ExpectPose(pose) => {
                let pose = &p.arm.poses[pose.value.at()];
                Act::ExpectPose { pose: pose.name.value.clone(), within: super::within(pose) }
            }
            Kind::ExpectAt(at) => Act::ExpectAt { station: station(at.value) },
        }
    }

    fn motion(&self, p: &Procedure, row: Option<RowId>, drive: &Drive) -> data::Motion {
        let id = drive.joint.value;
        let joint = p.arm.joint(id);
        let word = if drive.positive.value { &joint.positive } else { &joint.negative };
        let (stick, stick_action, stick_back) = match p.arm.console.drive(id) {
            Some((stick, axis)) => {
                let act = |grows| axis.act(grows).to_owned();
                (stick.name.value.clone(), act(drive.positive.value), act(!drive.positive.value))
            }
            None => Default::default(),
        };
        let target = measure::target(drive);
        let band = measure::band(joint, &drive.goal);
        let (low, high) = match &drive.goal {
            Goal::Taps { low, high, .. } => (low.value.min(high.value), low.value.max(high.value)),
            _ => (target - band, target + band),
        };
        let shown = measure::accepted(joint, (low, high));
        let from = row.map(|r| self.trace.from_values(r, id)).unwrap_or_default();
        let from = from.into_iter().map(|f| match f {
            From::At(a) => data::From::At(angle(joint, a)),
            From::Between(a, b) => data::From::Between(angle(joint, a), angle(joint, b)),
        });
        data::Motion {
            joint: id.at(),
            engraved: joint.engraved.clone(),
            direction: word.word.value.clone(),
            positive: drive.positive.value,
            stick,
            stick_action,
            stick_back,
            pace: match &drive.goal {
                Goal::To { pace: Pace::Slow, .. } => Some("slow".to_string()),
                Goal::To { pace: Pace::Inch, .. } => Some("inch".to_string()),
                _ => None,
            },
            ends: ends(p, joint, &drive.goal),
            target: angle(joint, target),
            low: data::Angle { value: low.0, ..angle(joint, shown.0) },
            high: data::Angle { value: high.0, ..angle(joint, shown.1) },
            from: from.collect(),
        }
    }
}

fn ends(p: &Procedure, joint: &Joint, goal: &Goal) -> data::Ends {
    match goal {
        Goal::To { pace: Pace::Inch, .. } => data::Ends::ByEye,
        Goal::To { .. } | Goal::By { .. } => data::Ends::Target,
        Goal::Until { signal: None, .. } => data::Ends::Contact,
        Goal::Until { signal: Some(s), .. } => {
            let signal = &p.arm.signals[s.value.at()];
            data::Ends::Signal { name: signal.name.value.clone(), cue: signal.cue.clone() }
        }
        Goal::Taps { tap, at_most, low, high } => data::Ends::Taps {
            size: angle(joint, tap.value.abs()),
            most: at_most.value,
            low: angle(joint, low.value.min(high.value)),
            high: angle(joint, low.value.max(high.value)),
        },
    }
}

/// The least and the greatest opening at which the jaw may stop.
fn opening(p: &Procedure, to: Length) -> (String, String) {
    let jaw = &p.arm.jaw;
    let (low, high) = (to - jaw.tolerance.value, to + jaw.tolerance.value);
    (low.max(jaw.least.value).to_string(), high.min(jaw.most.value).to_string())
}

fn gate(p: &Procedure, gate: &crate::model::procedure::Gate) -> data::Gate {
    let on = |id: JointId, a: Angle| angle(p.arm.joint(id), a);
    data::Gate {
        held: gate.held.value.at(),
        not_past: on(gate.held.value, gate.not_past.value),
        until: gate.until.value.at(),
        past: on(gate.until.value, gate.past.value),
    }
}

fn angle(joint: &Joint, a: Angle) -> data::Angle {
    data::Angle { value: a.0, text: a.signed(joint.decimals) }
}
