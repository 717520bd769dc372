//! The scene: whether it is one at all, and which bodies of it are there in a state.

use super::frame::{Stand, V, cross, metres, middle_of, norm, radians, stand, sub, unit};
use super::read::{Body, Document, Hinge, Joint, Kind, Part, Space, State, Station};
use super::solid::{Middle, Placed, Solid, winding};
use std::collections::BTreeSet;

/// No angle is larger: a hundred turns.
pub(super) const WIDEST: i64 = 36_000_000;
/// How far a point that two links share may lie off the one or the other, and off an axis, metres.
const MEETING: f64 = 10e-6;
/// How far calculated coordinates of a load may differ, metres.
const ROUNDING: f64 = 3e-6;

/// A body in metres.
pub(super) struct Thing {
    pub(super) carrier: usize,
    pub(super) parts: Vec<Solid>,
    pub(super) mesh: bool,
    /// A ball about all parts.
    pub(super) ball: Option<(V, f64)>,
    /// Where its parts are, if it does not move.
    fixed: Vec<Placed>,
}

impl Thing {
    /// Where its parts are at the middle of a box, if it moves.
    pub(super) fn place(&self, middle: &Middle) -> Vec<Placed> {
        let moving = self.parts.iter().filter(|_| self.carrier > 0);
        moving.map(|p| p.place(&middle.stand.frames[self.carrier])).collect()
    }
    pub(super) fn at<'p>(&'p self, moved: &'p [Placed]) -> &'p [Placed] {
        if self.carrier > 0 { moved } else { &self.fixed }
    }
    /// Whether its surface winds about a point of its frame.
    pub(super) fn winds_about(&self, p: V) -> bool {
        winding(self.parts.iter().map(|t| &t.points[..]), p).abs() > 0.5
    }
}

/// The scene of a document, checked.
pub(super) struct Scene<'a> {
    pub(super) document: &'a Document,
    pub(super) space: &'a Space,
    pub(super) things: Vec<Thing>,
}

impl<'a> Scene<'a> {
    /// The errors say what is wrong with the scene; then nothing can be said about any sweep.
    pub(super) fn new(document: &'a Document, space: &'a Space) -> Result<Scene<'a>, Vec<String>> {
        if !numbers(document, space) {
            return Err(vec!["the chain, the joints or the margin make no sense".to_string()]);
        }
        let mut faults = Vec::new();
        let rest = stand(&space.mount, &space.hinges, &vec![0.0; space.hinges.len()]);
        let mut scene = Scene { document, space, things: Vec::new() };
        for body in &space.bodies {
            let parts: Result<Vec<Solid>, _> = body.parts.iter().map(Solid::new).collect();
            let parts = parts.unwrap_or_else(|what| {
                faults.push(format!("{}: a part of it is no solid: {what}", body.name));
                Vec::new()
            });
            let fixed = parts.iter().map(|p| p.place(&rest.frames[0])).collect();
            scene.things.push(Thing { carrier: body.carrier, ball: ball(&parts), parts, mesh: body.mesh, fixed });
        }
        scene.bodies(&mut faults);
        if faults.is_empty() {
            scene.meetings(&rest, &mut faults);
            scene.loads(&mut faults);
        }
        if faults.is_empty() { Ok(scene) } else { Err(faults) }
    }
    fn bodies(&self, faults: &mut Vec<String>) {
        let last = self.space.hinges.len();
        for body in &self.space.bodies {
            let mut put = |wrong: bool, what: &str| faults.extend(wrong.then(|| format!("{}: {what}", body.name)));
            put(body.parts.is_empty(), "it has no parts");
            let carried = match body.kind {
                Kind::Link => body.carrier <= last,
                Kind::Tool | Kind::Held { .. } => body.carrier == last,
                Kind::Rest { .. } | Kind::Obstacle { .. } | Kind::KeepOut | Kind::Unsurveyed => body.carrier == 0,
            };
            put(!carried, "it cannot be carried by that frame");
            let half_space = body.parts.iter().any(|p| matches!(p, Part::HalfSpace { .. }));
            put(half_space && body.carrier > 0, "it moves, so it cannot be a half-space");
            put(body.mesh && !closed(body), "it is no closed surface of triangles");
        }
        for k in (1..=last).filter(|k| !self.space.bodies.iter().any(|b| b.kind == Kind::Link && b.carrier == *k)) {
            faults.push(format!("no link moves with joint {k}"));
        }
        let names: BTreeSet<&String> = self.space.stations.iter().map(|s| &s.name).collect();
        let known = |s: &Station| s.support.iter().all(|i| self.space.bodies.get(*i).is_some_and(|b| b.carrier == 0));
        if names.len() != self.space.stations.len() || !self.space.stations.iter().all(known) {
            faults.push("the stations are not what they should be".to_string());
        }
    }
    /// Links that are left out against each other share a point that no joint between them moves.
    fn meetings(&self, rest: &Stand, faults: &mut Vec<String>) {
        for m in &self.space.meeting {
            let (Some(a), Some(b)) = (self.space.bodies.get(m.a), self.space.bodies.get(m.b)) else {
                return faults.push("a meeting of links names a body that is not there".to_string());
            };
            let mut put = |wrong: bool, what: &str| faults.extend(wrong.then(|| format!("{} and {} {what}", a.name, b.name)));
            if a.kind != Kind::Link || b.kind != Kind::Link || a.carrier >= b.carrier {
                put(true, "are no two links, inboard one first");
                continue;
            }
            let point = rest.frames[a.carrier].point(metres(m.point));
            let off = |(axis, origin): &(V, V)| norm(cross(*axis, sub(point, *origin))) > MEETING;
            put(rest.axes[a.carrier..b.carrier].iter().any(off), "are left out, but a joint between them moves their point");
            for thing in [&self.things[m.a], &self.things[m.b]] {
                let local = rest.frames[thing.carrier].back(point);
                let within = thing.parts.iter().any(|p| p.holds(local, MEETING)) || (thing.mesh && thing.winds_about(local));
                put(!within, "are left out, but the point is not in both");
            }
        }
    }
    /// A load in the jaw is the load at rest, carried along from where it was gripped.
    fn loads(&self, faults: &mut Vec<String>) {
        let of = |name: &String, kind: &Kind| {
            let same = self.space.bodies.iter().zip(&self.things).filter(|(b, _)| b.name == *name && b.kind == *kind);
            same.map(|(_, thing)| thing).collect::<Vec<_>>()
        };
        for held in &self.space.bodies {
            let Kind::Held { station: Some(station), gripped } = &held.kind else { continue };
            let angles: Vec<f64> = gripped.iter().map(|a| radians(*a)).collect();
            let frames = stand(&self.space.mount, &self.space.hinges, &angles).frames;
            let jaw = frames.get(held.carrier).filter(|_| gripped.len() == self.space.hinges.len());
            let same = |(a, b): (&Solid, &Solid)| {
                // The ends of a cylinder lie so far out that its rim is covered however its axis is rounded.
                let off = if a.flat { ROUNDING * (1.0 + a.radius / norm(sub(a.points[1], a.points[0]))) } else { ROUNDING };
                let near = |(p, q): (&V, &V)| jaw.is_some_and(|f| norm(sub(f.point(*p), *q)) <= off);
                let form = (a.flat, a.points.len()) == (b.flat, b.points.len()) && a.radius >= b.radius - ROUNDING;
                form && a.points.iter().zip(&b.points).all(near)
            };
            let whole =
                |(a, b): (&&Thing, &&Thing)| (a.parts.len(), a.mesh) == (b.parts.len(), b.mesh) && a.parts.iter().zip(&b.parts).all(same);
            let (here, there) = (of(&held.name, &held.kind), of(&held.name, &Kind::Rest { station: station.clone() }));
            if here.len() != there.len() || !here.iter().zip(&there).all(whole) {
                faults.push(format!("{} in the jaw is not what was gripped at rest, carried along", held.name));
            }
        }
    }
    /// The pairs of bodies that are to be held apart in a state, the inboard one first; the error says what is not told.
    pub(super) fn pairs(&self, state: &State) -> Result<Vec<(usize, usize)>, &'static str> {
        let bodies = &self.space.bodies;
        let held = state.held.as_ref().map(|h| (&h.load, h.body.and_then(|i| bodies.get(i)).map(|b| (&b.name, &b.kind))));
        let there = |body: &Body| match &body.kind {
            Kind::Link | Kind::KeepOut | Kind::Unsurveyed => true,
            // It is there unless the state says otherwise.
            Kind::Obstacle { when } => when.iter().all(|w| state.equipment.iter().all(|e| e.0 != w.0 || e.1 == w.1)),
            Kind::Tool => state.tool.as_ref() == Some(&body.name),
            Kind::Rest { station } => state.loads.iter().any(|(l, at)| *l == body.name && at.as_ref() == Some(station)),
            Kind::Held { .. } => held == Some((&body.name, Some((&body.name, &body.kind)))),
        };
        let present: Vec<usize> = (0..bodies.len()).filter(|i| there(&bodies[*i])).collect();
        let is = |kind: &Kind, name: &String| present.iter().any(|i| bodies[*i].kind == *kind && bodies[*i].name == *name);
        let rests = |(load, at): &(String, Option<String>)| match at {
            Some(at) if at == "jaw" => held.is_some_and(|(l, _)| l == load),
            Some(at) => is(&Kind::Rest { station: at.clone() }, load),
            None => true,
        };
        if !held.is_none_or(|(_, body)| body.is_some_and(|(name, kind)| matches!(kind, Kind::Held { .. }) && is(kind, name))) {
            return Err("the load in the jaw has no body");
        } else if !state.loads.iter().all(rests) {
            return Err("a load rests where it has no body");
        } else if !state.tool.iter().all(|t| is(&Kind::Tool, t)) {
            return Err("the tool that is fitted has no body");
        }
        let each = present.iter().flat_map(|a| present.iter().map(move |b| (*a, *b)));
        Ok(each.filter(|(a, b)| bodies[*a].carrier < bodies[*b].carrier && !self.left_out(*a, *b)).collect())
    }
    /// Links that share a joint, or meet at a point that no joint between them moves. A fitted tool counts as one.
    fn left_out(&self, a: usize, b: usize) -> bool {
        let (x, y) = (&self.space.bodies[a], &self.space.bodies[b]);
        let met = || self.space.meeting.iter().any(|m| (m.a, m.b) == (a, b));
        [x, y].iter().all(|b| matches!(b.kind, Kind::Link | Kind::Tool)) && (y.carrier - x.carrier == 1 || met())
    }
}

/// A ball about all parts; none about a half-space. Twice the radius covers the corners of a cylinder as well.
fn ball(parts: &[Solid]) -> Option<(V, f64)> {
    let centre = middle_of(parts.iter().flat_map(|p| p.points.iter().copied()));
    let far = |s: &Solid| s.points.iter().map(|p| norm(sub(*p, centre)) + 2.0 * s.radius).fold(0.0, f64::max);
    parts.iter().all(|p| p.normal.is_none()).then(|| (centre, parts.iter().map(far).fold(0.0, f64::max)))
}

/// Whether every edge of a surface belongs to two triangles, once in each sense.
fn closed(body: &Body) -> bool {
    let mut edges = BTreeSet::new();
    let once = body.parts.iter().all(|part| match part {
        Part::Round { points, .. } if points.len() == 3 => {
            (0..3).all(|i| points[i] != points[(i + 1) % 3] && edges.insert((points[i], points[(i + 1) % 3])))
        }
        _ => false,
    });
    once && edges.iter().all(|(a, b)| edges.contains(&(*b, *a)))
}

/// Counts, axes, angles that can be reckoned with.
fn numbers(document: &Document, space: &Space) -> bool {
    let joint = |j: &Joint| {
        let sizes = [j.hold, j.stop, j.stop_by_eye, j.error].iter().all(|s| (0..=360_000).contains(s));
        j.low < j.high && j.low >= -WIDEST && j.high <= WIDEST && sizes
    };
    let turned = |h: &Hinge| unit(h.axis).is_some() && h.turn.iter().all(|a| a.abs() <= WIDEST);
    let arm = document.joints.iter().all(joint) && space.hinges.iter().all(turned) && space.mount.turn.iter().all(|a| a.abs() <= WIDEST);
    let counts = space.hinges.len() == document.joints.len() && !space.hinges.is_empty();
    arm && counts && space.margin >= 0 && space.contact_travel >= 0
}
