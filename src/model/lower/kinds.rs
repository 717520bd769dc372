//! Statements with their names and numbers resolved.

use super::names::{Found, Names};
use super::{Lowering, Problem};
use crate::diag::{Evidence, Example, Family, Rule, Severity};
use crate::model::procedure::{Drive, DriveTwo, Gate, Goal, Kind, Reading, Transfer};
use crate::model::{JointId, LoadId, StationId};
use crate::syntax::tree::{self, AngleValue, Band, Statement};
use crate::text::{Span, Spanned};
use crate::units::{Angle, Quantity, Round, unit};

/// A direction word that is not one of the joint's two.
pub static UNKNOWN_DIRECTION: Rule = Rule {
    id: "unknown-direction",
    family: Family::Direction,
    severity: Severity::Error,
    physical: true,
    summary: "the joint has no such direction word",
    why: "Each joint has exactly two direction words, fixed by the arm profile together with what the hand does at the stick. A word of another \
          joint, or of everyday language, leaves the operator to guess the sign, and a wrong sign drives the arm the wrong way.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `power on arm`\n2. `shoulder ⟦left⟧ to -5 deg`\n")],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder lower to -5 deg`\n")],
};

/// An angle of a signed joint without its sign.
pub static UNSIGNED_ANGLE: Rule = Rule {
    id: "unsigned-angle",
    family: Family::Notation,
    severity: Severity::Error,
    physical: true,
    summary: "an angle of a joint with negative angles is written without its sign",
    why: "On a joint that reads negative as well as positive angles a bare number is half a target: the sign may have been left out or lost in copying. \
          Only zero stands without a sign.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `power on arm`\n2. `shoulder raise to ⟦32 deg⟧`\n")],
    good: &[Example::steps("1. `power on arm`\n2. `shoulder raise to +32 deg`\n")],
};

/// A camera without a monitor, or a window with one.
pub static VIEW_WITHOUT_MONITOR: Rule = Rule {
    id: "view-without-monitor",
    family: Family::Console,
    severity: Severity::Error,
    physical: false,
    summary: "a camera is named without the monitor it is shown on, or a window with one",
    why: "A camera picture is seen only where it is switched to. Without the monitor two operators may look at two different pictures.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `view ⟦camera-1⟧`\n")],
    good: &[Example::steps("1. `view camera-1 on monitor-1`\n")],
};

/// A reading in another unit than the face of its instrument.
pub static UNIT_NOT_ON_INSTRUMENT: Rule = Rule {
    id: "unit-not-on-instrument",
    family: Family::Notation,
    severity: Severity::Error,
    physical: true,
    summary: "a value is written in another unit than the instrument shows",
    why: "The person who reads the instrument should compare, not convert. A conversion in the head is where a factor of a thousand gets lost.",
    evidence: Evidence::Read("a research-backed audit sheet for procedures: units as on the display, no conversion by the reader"),
    bad: &[Example::steps("1. `read dose-rate below ⟦0.05 mSv/h⟧ on RM-2`\n   - If not: hold and tell Shift lead\n")],
    good: &[Example::steps("1. `read dose-rate below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
};

/// An instrument asked for what it does not read.
pub static WRONG_QUANTITY: Rule = Rule {
    id: "wrong-quantity",
    family: Family::Reference,
    severity: Severity::Error,
    physical: true,
    summary: "the instrument does not read this quantity",
    why: "An instrument read for another quantity gives a number that means something else.",
    evidence: Evidence::CommonPractice,
    bad: &[Example::steps("1. `read ⟦pressure⟧ below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
    good: &[Example::steps("1. `read dose-rate below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
};

/// A band that contains nothing.
pub static EMPTY_BAND: Rule = Rule {
    id: "empty-band",
    family: Family::Notation,
    severity: Severity::Error,
    physical: false,
    summary: "the two ends of a band are the same or in the wrong order",
    why: "A reading can never be between 60 and 50. Ends in the wrong order usually mean that one of the numbers is wrong.",
    evidence: Evidence::Definition,
    bad: &[
        Example::steps("1. `read dose-rate between ⟦60 uSv/h and 50 uSv/h⟧ on RM-2`\n   - If not: hold and tell Shift lead\n"),
        Example::steps(
            "1. `power on arm`\n2. `shoulder lower by taps of 0.5 deg, 8 at most, contact between ⟦-9 deg and -9 deg⟧`\n   - If not: hold and tell Shift lead\n",
        ),
    ],
    good: &[Example::steps("1. `read dose-rate between 5 uSv/h and 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
};

/// A gate or lead that names a joint the step does not move, or one joint moved twice.
pub static STRAY_GATE: Rule = Rule {
    id: "stray-gate",
    family: Family::Notation,
    severity: Severity::Error,
    physical: true,
    summary: "a move of two joints names one joint twice, or lets a joint lead or wait that it does not move",
    why: "The words after the semicolon order the two joints that move. A third joint there orders nothing, so the order that was meant is not kept.",
    evidence: Evidence::Definition,
    bad: &[Example::steps("1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg; ⟦base⟧ first`\n")],
    good: &[Example::steps("1. `power on arm`\n2. `together: shoulder lower to -5 deg, wrist-pitch raise to +12 deg; shoulder first`\n")],
};

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] =
    &[&UNKNOWN_DIRECTION, &UNSIGNED_ANGLE, &VIEW_WITHOUT_MONITOR, &UNIT_NOT_ON_INSTRUMENT, &WRONG_QUANTITY, &EMPTY_BAND, &STRAY_GATE];

impl Names<'_> {
    fn angle(&self, joint: JointId, at: Spanned<AngleValue>) -> Found<Angle> {
        let AngleValue { angle, written } = at.value;
        let profile = self.arm.joint(joint);
        if written.number.signed || angle == Angle::ZERO || !profile.is_signed() {
            return Ok(Spanned::new(angle, at.span));
        }
        let (name, number) = (&profile.name.value, written.number);
        let message = format!("{name} has negative angles too, so {written} needs its sign");
        Err(Box::new(
            UNSIGNED_ANGLE
                .at(at.span, message)
                .mark("+ or -?")
                .label(profile.name.span, format!("{name} is a joint with both signs"))
                .help(format!(
                    "write +{number} deg if the read-out shall stand above zero, -{number} deg if below; the words here do not decide it"
                ))
                .help(format!("`{}` drives towards +, `{}` towards -", profile.positive.word.value, profile.negative.word.value))
                .number("written", written),
        ))
    }

    fn drive(&self, text: &str, motion: &tree::Motion) -> Result<Drive, Problem> {
        let joint = self.joint(motion.joint.of(text), motion.joint)?;
        let profile = self.arm.joint(joint.value);
        let word = motion.direction.of(text);
        let positive = if word == profile.positive.word.value {
            true
        } else if word == profile.negative.word.value {
            false
        } else {
            let (name, up, down) = (&profile.name.value, &profile.positive.word, &profile.negative.word);
            let message = format!("{name} does not go `{word}`: it goes {} (towards +) or {} (towards -)", up.value, down.value);
            return Err(Box::new(
                UNKNOWN_DIRECTION
                    .at(motion.direction, message)
                    .mark(format!("{} or {}", up.value, down.value))
                    .label(up.span, format!("towards + is `{}`, seen from {}", up.value, profile.positive.seen_from))
                    .label(down.span, format!("towards - is `{}`", down.value)),
            ));
        };
        let angle = |at| self.angle(joint.value, at);
        let plain = |at: Spanned<AngleValue>| at.map(|a| a.angle);
        let goal = match motion.goal {
            tree::Goal::To { from, to, within, pace } => {
                Goal::To { from: from.map(angle).transpose()?, to: angle(to)?, within: within.map(plain), pace }
            }
            tree::Goal::By { by, ending } => Goal::By { by: plain(by), ending: angle(ending)? },
            tree::Goal::Until { signal, not_past } => {
                Goal::Until { signal: signal.map(|s| self.signal(s.of(text), s)).transpose()?, not_past: angle(not_past)? }
            }
            tree::Goal::Taps { tap, at_most, contact_a, contact_b } => {
                let (a, b) = (angle(contact_a)?, angle(contact_b)?);
                if a.value == b.value {
                    let message = format!("the band of expected contact from {} to {} is a single angle", a.value.show(), b.value.show());
                    return Err(Box::new(
                        EMPTY_BAND
                            .at(a.span.to(b.span), message)
                            .help("give the two angles between which contact is expected, all tolerances counted"),
                    ));
                }
                let (low, high) = if a.value < b.value { (a, b) } else { (b, a) };
                Goal::Taps { tap: plain(tap), at_most, low, high }
            }
        };
        Ok(Drive { joint, positive: Spanned::new(positive, motion.direction), goal })
    }

    fn drive_two(&self, text: &str, both: &tree::Together) -> Result<DriveTwo, Problem> {
        let drives = [self.drive(text, &both.moves[0])?, self.drive(text, &both.moves[1])?];
        let [a, b] = [drives[0].joint, drives[1].joint];
        let name = |j: JointId| self.arm.joint(j).name.value.as_str();
        if a.value == b.value {
            let message = format!("{} is moved twice in one step; `together:` moves two different joints", name(a.value));
            return Err(Box::new(STRAY_GATE.at(b.span, message).mark("the same joint again").label(a.span, "moved here already")));
        }
        let one_of_them = |joint: Spanned<JointId>| {
            if joint.value == a.value || joint.value == b.value {
                return Ok(joint);
            }
            let message = format!("this step moves {} and {}; {} does not move in it", name(a.value), name(b.value), name(joint.value));
            Err(Box::new(STRAY_GATE.at(joint.span, message).mark("does not move here").help(format!(
                "name {} or {}",
                name(a.value),
                name(b.value)
            ))))
        };
        let joint = |span: Span| self.joint(span.of(text), span).and_then(one_of_them);
        let first = both.first.map(joint).transpose()?;
        let gate = |g: &tree::Gate| {
            let (held, until) = (joint(g.held)?, joint(g.until)?);
            if held.value == until.value {
                let message = format!("{} cannot wait for itself", name(held.value));
                return Err(Box::new(STRAY_GATE.at(until.span, message).label(held.span, "the joint that waits")));
            }
            Ok(Gate { held, not_past: self.angle(held.value, g.not_past)?, until, past: self.angle(until.value, g.past)? })
        };
        Ok(DriveTwo { first, gates: both.gates.iter().map(gate).collect::<Result<_, _>>()?, drives })
    }

    fn load_and_station(&self, text: &str, load: Span, station: Span) -> Result<(Spanned<LoadId>, Spanned<StationId>), Problem> {
        Ok((self.load(load.of(text), load)?, self.station(station.of(text), station)?))
    }

    fn transfer(&self, text: &str, t: &tree::Transfer) -> Result<Transfer, Problem> {
        let (load, station) = self.load_and_station(text, t.load, t.station)?;
        Ok(Transfer { load, station, drive: self.drive(text, &t.motion)? })
    }

    fn reading(&self, text: &str, r: &tree::Reading) -> Result<Reading, Problem> {
        let instrument = self.instrument(r.instrument.of(text), r.instrument)?;
        let model = &self.cell.instruments[instrument.value.at()];
        let (name, asked) = (&model.name.value, r.quantity.of(text));
        if asked != model.reads.value {
            let message = format!("{name} reads {}, not {asked}", model.reads.value);
            let readers: Vec<&str> =
                self.cell.instruments.iter().filter(|i| i.reads.value == asked).map(|i| i.name.value.as_str()).collect();
            let help = match readers.as_slice() {
                [] => format!("no instrument of this cell reads {asked}"),
                readers => format!("{asked} is read on {}", readers.join(" or ")),
            };
            let problem = WRONG_QUANTITY.at(r.quantity, message).mark(format!("{name} does not read this"));
            return Err(Box::new(problem.label(model.reads.span, "what it reads").help(help)));
        }
        let place = r.place.map(|p| self.place(p.of(text), p)).transpose()?;
        let on_face = |q: Spanned<Quantity>| {
            if unit(&model.unit.value) == Some(q.value.unit) {
                return Ok(());
            }
            let message = if q.value.unit.dimension == model.dimension {
                format!("{name} shows {}; {} would have to be converted in the head", model.unit.value, q.value)
            } else {
                format!(
                    "{name} shows {} ({}); {} is {}",
                    model.unit.value,
                    model.dimension.a_name(),
                    q.value,
                    q.value.unit.dimension.a_name()
                )
            };
            Err(Box::new(
                UNIT_NOT_ON_INSTRUMENT
                    .at(q.span, message)
                    .mark(format!("not in {}", model.unit.value))
                    .label(model.unit.span, "the unit on its face")
                    .help(format!("write the value in {}, as it is read", model.unit.value)),
            ))
        };
        match r.band {
            Band::Below(q) | Band::Above(q) => on_face(q)?,
            Band::Between(a, b) => {
                on_face(a)?;
                on_face(b)?;
                if a.value.base(Round::Down) >= b.value.base(Round::Down) {
                    let message = format!("no reading is between {} and {}", a.value, b.value);
                    return Err(Box::new(EMPTY_BAND.at(a.span.to(b.span), message).help("write the smaller value first")));
                }
            }
        }
        Ok(Reading { quantity: r.quantity, place, band: r.band, instrument })
    }

    fn record(&self, text: &str, name: Span, shown: Span) -> Result<Kind, Problem> {
        let mut readers = self.cell.instruments.iter().filter(|i| i.reads.value == name.of(text)).peekable();
        let written = unit(shown.of(text));
        if let Some(&first) = readers.peek()
            && !readers.any(|i| unit(&i.unit.value) == written)
        {
            let message = format!("{} shows {} in {}, not in {}", first.name.value, name.of(text), first.unit.value, shown.of(text));
            return Err(Box::new(
                UNIT_NOT_ON_INSTRUMENT
                    .at(shown, message)
                    .label(first.unit.span, "the unit on its face")
                    .help(format!("record it in {}, as it is read", first.unit.value)),
            ));
        }
        Ok(Kind::Record { name, unit: shown })
    }

    fn look(&self, text: &str, view: Span, monitor: Option<Span>) -> Result<Kind, Problem> {
        let found = self.view(view.of(text), view)?;
        let monitor = monitor.map(|m| self.monitor(m.of(text), m)).transpose()?;
        let model = &self.cell.views[found.value.at()];
        let name = &model.name.value;
        match (model.camera, monitor) {
            (true, None) if !self.cell.monitors.is_empty() => {
                let names: Vec<&str> = self.cell.monitors.iter().map(|m| m.value.as_str()).collect();
                Err(Box::new(
                    VIEW_WITHOUT_MONITOR
                        .at(view, format!("{name} is a camera; say on which monitor it is seen"))
                        .mark("on which monitor?")
                        .label(model.name.span, "a camera")
                        .help(format!("write `view {name} on {}`", names.join("` or `on "))),
                ))
            }
            (false, Some(m)) => Err(Box::new(
                VIEW_WITHOUT_MONITOR
                    .at(m.span, format!("{name} is a window: it is looked through, not shown on a monitor"))
                    .label(model.name.span, "a window")
                    .help(format!("write `view {name}`")),
            )),
            _ => Ok(Kind::View { view: found, monitor }),
        }
    }
}

impl Lowering<'_, '_> {
    /// What a statement is, with its names resolved. `If` and `Repeat` get their steps from the caller.
    pub(super) fn kind(&mut self, step: &tree::Step, statement: &Statement) -> Result<Kind, Problem> {
        let (text, names) = (self.text, self.names);
        Ok(match statement {
            Statement::Move(motion) => Kind::Move(names.drive(text, motion)?),
            Statement::Together(both) => Kind::Together(Box::new(names.drive_two(text, both)?)),
            Statement::GripLevel(level) => Kind::GripLevel(names.level(level.of(text), *level)?),
            Statement::Close(load) => Kind::Close(names.load(load.of(text), *load)?),
            Statement::JawOpen(to) => Kind::Jaw { open: true, to: to.map(|l| l.length) },
            Statement::JawClose(to) => Kind::Jaw { open: false, to: to.map(|l| l.length) },
            Statement::Lift(t) => Kind::Lift(names.transfer(text, t)?),
            Statement::Lower(t) => Kind::Lower(names.transfer(text, t)?),
            Statement::LetGo { load, station, open_to } => {
                let (load, station) = names.load_and_station(text, *load, *station)?;
                Kind::LetGo { load, station, open_to: open_to.map(|l| l.length) }
            }
            Statement::HoldPoint(role) => Kind::HoldPoint(names.role(role.of(text), *role)?),
            Statement::WitnessPoint(role) => Kind::WitnessPoint(names.role(role.of(text), *role)?),
            Statement::VerifyAfter(role) => Kind::VerifyAfter(names.role(role.of(text), *role)?),
            Statement::Check => Kind::Check,
            Statement::Read(reading) => Kind::Read(names.reading(text, reading)?),
            Statement::Record { name, unit } => names.record(text, *name, *unit)?,
            Statement::ReadJoints => Kind::ReadJoints,
            Statement::View { view, monitor } => names.look(text, *view, *monitor)?,
            Statement::Tell(role) => Kind::Tell(names.role(role.of(text), *role)?),
            Statement::Wait { at_least, at_most } => {
                Kind::Wait { at_least: at_least.map(|t| t.time), at_most: at_most.map(|t| t.map(|t| t.time)) }
            }
            Statement::Turnover => Kind::Turnover,
            Statement::PowerOn(arm) => names.this_arm(arm.of(text), *arm).map(|()| Kind::Power(true))?,
            Statement::PowerOff(arm) => names.this_arm(arm.of(text), *arm).map(|()| Kind::Power(false))?,
            Statement::Fit(tool) => Kind::Fit(names.tool(tool.of(text), *tool)?),
            Statement::PutDown(tool) => Kind::PutDown(names.tool(tool.of(text), *tool)?),
            Statement::Set { equipment, state } => {
                let equipment = names.equipment(equipment.of(text), *equipment)?;
                Kind::Set { equipment, state: names.state(equipment.value, state.of(text), *state)? }
            }
            Statement::If => Kind::If { arms: Vec::with_capacity(step.arms.len()) },
            Statement::Repeat(at_most) => Kind::Repeat { at_most: *at_most, body: Vec::with_capacity(step.body.len()) },
            Statement::Perform => Kind::Perform(self.callee(step)?),
            Statement::GoTo => {
                let link = self.only_link(step)?;
                Kind::GoTo(self.destination(link)?)
            }
            Statement::ExpectPose(pose) => Kind::ExpectPose(names.pose(pose.of(text), *pose)?),
            Statement::ExpectAt(station) => Kind::ExpectAt(names.station(station.of(text), *station)?),
        })
    }
}
