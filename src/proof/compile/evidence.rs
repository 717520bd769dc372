//! Step by step, what was worked out, from trace and survey; and what of it comes nearest to its limit.

use super::Filler;
use crate::compiled::{self as data, Evidence, Margined, Nearest, used};
use crate::model::LoadId;
use crate::model::procedure::{Drive, Effect, Procedure, Step};
use crate::space::burden::{Effort, Squeeze};
use crate::space::clearance::By;
use crate::space::leg::Leg;
use crate::space::near::Near;
use crate::trace::{Margin, RowId, distinct, measure};
use crate::units::{Angle, Length, Round, shown};
use std::cmp::Reverse;

/// Most entries of what comes nearest to its limit.
const NEAREST: usize = 10;

impl Filler<'_> {
    /// What was worked out for the printed steps.
    pub(super) fn evidence(&self) -> Vec<Evidence> {
        self.rows.iter().zip(&self.steps).filter_map(|(row, step)| self.of_step(*row, step)).collect()
    }

    fn of_step(&self, row: RowId, printed: &data::Step) -> Option<Evidence> {
        let (frame, id) = self.trace.step_of(row);
        let p = self.trace.procedure_of(self.root, frame);
        let step = p.step(id);
        let effects: Vec<Effect<'_>> = step.effects().into_iter().collect();
        let tells = |e: &Effect<'_>| {
            matches!(
                e,
                Effect::Drive(_) | Effect::DriveTwo(_) | Effect::Jaw { .. } | Effect::Level(_) | Effect::Grip(_) | Effect::LetGo(..)
            )
        };
        if !effects.iter().any(tells) {
            return None;
        }
        let driven = self.driven(p, row, step);
        // A step of the jaw alone leaves behind what it takes, and holds nothing that it lets go of.
        let states = if driven.is_empty() { &printed.after } else { &printed.before };
        let held = distinct(states.iter().filter_map(|s| s.held.as_ref()).map(|h| h.load.clone()));
        Some(Evidence {
            step: printed.number.clone(),
            jaw: effects.iter().find_map(|e| match e {
                Effect::Jaw { to, .. } | Effect::LetGo(_, _, to) => Some(opening(p, to.value)),
                _ => None,
            }),
            clearance: self.clearance(row),
            tilt: self.tilt(p, row),
            grip: self.grip(p, row),
            drive: self.effort(p, row),
            driven,
            held,
        })
    }

    fn driven(&self, p: &Procedure, row: RowId, step: &Step) -> Vec<data::Driven> {
        let margins = self.trace.least_margins(row);
        let least = |margin: Margin| margins.iter().find(|(m, _)| *m == margin).map(|(_, value)| *value);
        let one = |drive: &Drive| {
            let (id, joint) = (drive.joint.value, p.arm.joint(drive.joint.value));
            let before: Vec<_> = self.trace.before(row).map(|e| e.state.joint(id)).collect();
            let after = self.trace.before(row).map(|e| measure::reached(joint, drive, e.state.joint(id)).idle(joint.hold.value));
            let to = after.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
            let from = before.iter().map(|r| r.idle(joint.hold.value)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
            // Over the whole way: what a move leads away from can be nearer than what it leads to.
            let (start, ends) = (from, joint.soft_limits());
            let (low, high) = (least(Margin::ToLow(id))?.min((start.0 - ends.0).0), least(Margin::ToHigh(id))?.min((ends.1 - start.1).0));
            Some(data::Driven {
                joint: id.at(),
                from: before.iter().all(|r| r.is_known()).then_some([from.0.0, from.1.0]),
                to: [to.0.0, to.1.0],
                high: high < low,
                room: low.min(high),
            })
        };
        step.effects()
            .into_iter()
            .flat_map(|effect| match effect {
                Effect::Drive(drive) => std::slice::from_ref(drive),
                Effect::DriveTwo(two) => &two.drives,
                _ => &[],
            })
            .filter_map(one)
            .collect()
    }

    /// Whether every state before a step was looked at in space.
    fn is_surveyed(&self, row: RowId) -> bool {
        let stretches = self.survey.of(row);
        !stretches.is_empty() && stretches.len() == self.trace.before(row).count()
    }

    fn clearance(&self, row: RowId) -> Option<data::Clearance> {
        let scene = self.survey.scene.as_deref().ok().filter(|_| self.is_surveyed(row))?;
        let title = |i: &usize| scene.things[*i].title.clone();
        let (stretch, near) = self.survey.tightest(row)?;
        // What a station's approach lets touch is the same for every step.
        let contacts = self.survey.of(row).iter().flat_map(|s| &s.contacts).filter(|c| c.by != By::Approach);
        let may_touch = distinct(contacts.map(|c| [title(&c.a), title(&c.b)]));
        let least = match near {
            Near::Nothing => None,
            Near::Apart { least, .. } => Some(*least),
            // Without a certificate nothing is told: an error stands, and the draft says so.
            Near::Close(..) => return None,
        };
        let between = near.place().map(|((moving, other), _)| [title(moving), title(other)]);
        let at = near.place().map(|(_, angles)| along(&stretch.leg, angles).to_owned());
        Some(data::Clearance { between, at, least, wanted: scene.margin, may_touch })
    }

    /// Of loads with a limit the one that uses most of it; else the one that leans most.
    fn tilt(&self, p: &Procedure, row: RowId) -> Option<data::Tilt> {
        let of = |load: LoadId, tilt: Option<[i64; 2]>| {
            tilt.map(|[_, most]| data::Tilt { reached: most, limit: p.cell.loads[load.at()].tilt.map(|t| t.value.0) })
        };
        let all: Option<Vec<data::Tilt>> = self.survey.carries(row).iter().map(|c| of(c.load, c.tilt)).collect();
        all?.into_iter().max_by_key(|t| (t.limit.map(|limit| used(t.reached, limit)), t.reached))
    }

    fn grip(&self, p: &Procedure, row: RowId) -> Option<data::Grip> {
        let worst = |grips: Vec<data::Grip>| grips.into_iter().max_by_key(|g| used(g.needed, g.available));
        if !self.survey.of(row).is_empty() {
            let holds = self.trace.before(row).filter(|e| e.state.held().is_some()).count();
            let squeezes: Vec<&Squeeze> =
                self.survey.of(row).iter().filter_map(|s| s.burden.as_ref().and_then(|b| b.squeeze.as_ref())).collect();
            let in_motion = |q: &&Squeeze| data::Grip {
                level: p.arm.jaw.levels[q.level.at()].name.value.clone(),
                needed: q.needed.0,
                available: q.least.0,
                factor: p.policy.grip_factor.value.0,
                friction: q.friction.0,
                acceleration: q.acceleration,
                lean: Some(q.lean),
                moving: p.arm.ramp.is_some_and(|r| r.value.0 > 0),
                presses: q.presses.0,
                bears: q.crush.map(|c| c.0),
            };
            return (squeezes.len() == holds).then(|| worst(squeezes.iter().map(in_motion).collect())).flatten();
        }
        let at_rest = |(margin, _): (Margin, i64)| {
            let Margin::Holds(load, level) = margin else { return None };
            let (load, level) = (&p.cell.loads[load.at()], &p.arm.jaw.levels[level.at()]);
            Some(data::Grip {
                level: level.name.value.clone(),
                needed: measure::force_needed(p, load)?.0,
                available: level.least.value.0,
                moving: false,
                factor: p.policy.grip_factor.value.0,
                friction: load.friction.as_ref().or(p.arm.jaw.friction.as_ref())?.value.value.0,
                acceleration: 0,
                lean: None,
                presses: level.most.value.0,
                bears: load.crush.map(|c| c.value.0),
            })
        };
        worst(self.trace.least_margins(row).into_iter().filter_map(at_rest).collect())
    }

    fn effort(&self, p: &Procedure, row: RowId) -> Option<data::Effort> {
        let strains = |s: &crate::space::Stretch| s.burden.as_ref().map(|b| b.strains.clone()).filter(|s| !s.is_empty());
        let all: Vec<_> = self.survey.of(row).iter().map(strains).collect::<Option<Vec<_>>>().filter(|_| self.is_surveyed(row))?;
        let of = |strain: crate::space::burden::Strain| {
            let (pressure, needed, available) = match strain.effort {
                Effort::Rating(rated) => (false, strain.torque.0, rated.0),
                Effort::Pressure { needed, rated, .. } => (true, needed.0, p.arm.supply.map_or(rated, |supply| supply.value.min(rated)).0),
                Effort::Unknown | Effort::Toggle(_) => return None,
            };
            Some(data::Effort { joint: strain.joint.at(), pressure, needed, available })
        };
        all.into_iter().flatten().filter_map(of).max_by_key(|e| (used(e.needed, e.available), Reverse(e.joint)))
    }
}

/// Where on its way a motion has these angles.
fn along(leg: &Leg, angles: &[i64]) -> &'static str {
    let all = |from: &[Angle], to: &[Angle]| {
        leg.moving.iter().map(|joint| joint.at()).all(|j| {
            let way = to[j].0 - from[j].0;
            (angles[j] - from[j].0) * way.signum() * 50 <= way.abs()
        })
    };
    match (all(&leg.start, &leg.end), all(&leg.end, &leg.start)) {
        (true, _) => "start",
        (false, true) => "end",
        (false, false) => "way",
    }
}

/// The least and greatest opening that is accepted.
fn opening(p: &Procedure, to: Length) -> [i64; 2] {
    let (jaw, play) = (&p.arm.jaw, p.arm.jaw.tolerance.value);
    [(to - play).max(jaw.least.value).0, (to + play).min(jaw.most.value).0]
}

/// What comes nearest to its limit.
pub(super) fn nearest(p: &Procedure, evidence: &[Evidence]) -> Vec<Nearest> {
    let mut out: Vec<Nearest> = Vec::new();
    let joint = |i: usize| p.arm.joints[i].name.value.clone();
    for e in evidence {
        let mut put = |of, subject: Vec<String>, value, limit, used| {
            let found = Nearest { of, subject, steps: vec![e.step.clone()], value, limit, used };
            let Some(worst) = out.iter_mut().find(|n| n.of == found.of && n.subject == found.subject) else { return out.push(found) };
            let worse = worst.used < found.used;
            // Steps that read alike in print are all named: who looks at the worst must not miss its like.
            let read = |n: &Nearest| (shown(n.used, 10_000, 0, Round::Up), n.reached());
            if read(worst) == read(&found) {
                worst.steps.extend(found.steps);
                if worse {
                    (worst.value, worst.limit, worst.used) = (value, limit, used);
                }
            } else if worse {
                *worst = found;
            }
        };
        for d in &e.driven {
            let (low, high) = p.arm.joints[d.joint].soft_limits();
            let half = (high - low).0 / 2;
            put(Margined::Travel, vec![joint(d.joint)], d.room, half, used(half - d.room, half));
        }
        if let Some(data::Clearance { between: Some(pair), least: Some(least), wanted, .. }) = &e.clearance {
            put(Margined::Clearance, pair.to_vec(), *least, *wanted, used(*wanted, *least));
        }
        if let Some(data::Tilt { reached, limit: Some(limit) }) = e.tilt {
            put(Margined::Tilt, e.held.clone(), reached, limit, used(reached, limit));
        }
        if let Some(grip) = &e.grip {
            put(Margined::Grip, e.held.clone(), grip.needed, grip.available, used(grip.needed, grip.available));
            if let Some(bears) = grip.bears {
                put(Margined::Crush, e.held.clone(), grip.presses, bears, used(grip.presses, bears));
            }
        }
        if let Some(drive) = &e.drive {
            let of = if drive.pressure { Margined::Pressure } else { Margined::Torque };
            put(of, vec![joint(drive.joint)], drive.needed, drive.available, used(drive.needed, drive.available));
        }
    }
    out.sort_by_key(|n| Reverse(n.used));
    out.truncate(NEAREST);
    out
}
