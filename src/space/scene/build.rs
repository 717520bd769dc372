//! Making the scene from the models and a trace.

use super::{Grip, Lack, Meeting, Scene, Spot, Thing, What, grip};
use crate::geometry::apart::{self, Reason};
use crate::geometry::body::Body;
use crate::geometry::chain::Chain;
use crate::geometry::solid::{Form, Solid};
use crate::geometry::{Fault, Frame, metres, micrometres, sweep};
use crate::model::cell::{ObstacleKind, Station};
use crate::model::procedure::Procedure;
use crate::model::shape::Shape;
use crate::model::solid::{self, um};
use crate::model::{LinkId, LoadId, ObstacleId, StationId, ToolId, touch};
use crate::trace::Trace;
use crate::trace::state::Place;
use std::collections::BTreeSet;

/// Tolerance for contact beyond the margin, where the cell does not say: 5 mm.
const CONTACT_TRAVEL: i64 = 5000;

/// A scene in the making.
struct Builder<'a> {
    p: &'a Procedure,
    chain: &'a Chain,
    grip: [i64; 3],
    contact_travel: i64,
    things: Vec<Thing>,
    bodies: Vec<Body>,
    slow: Vec<(ObstacleId, Body)>,
    spots: Vec<Option<Spot>>,
}

/// The scene of everything that happens in a trace.
pub(super) fn build(p: &Procedure, trace: &Trace) -> Result<Scene, Lack> {
    let (arm, cell) = (&*p.arm, &*p.cell);
    if p.front.cell.is_none() || cell.obstacles.is_empty() {
        return Err(Lack::Cell);
    }
    let missing = missing(p);
    if !missing.is_empty() {
        return Err(Lack::Models(missing));
    }
    let (Some(mount), Some(margin), Some(grip)) = (&cell.mount, cell.margin, arm.jaw.grip_centre) else { return Err(Lack::Cell) };
    let broken = |fault: Fault| Lack::Broken(fault.to_string());
    let chain = solid::chain(arm, Some(mount)).map_err(broken)?;
    let contact_travel = cell.contact_travel.map_or(margin.value.0 + CONTACT_TRAVEL, |l| l.value.0);
    let grip = um(grip);
    let (things, bodies, slow, spots) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let builder = Builder { p, chain: &chain, grip, contact_travel, things, bodies, slow, spots };
    builder.scene(trace, margin.value.0).map_err(broken)
}

impl Builder<'_> {
    fn scene(mut self, trace: &Trace, margin: i64) -> Result<Scene, Fault> {
        let found = found(self.p, trace);
        self.fixed()?;
        self.spots = self.p.cell.stations.iter().map(|s| self.spot(s)).collect::<Result<_, _>>()?;
        self.loads(&found)?;
        let meetings = self.meetings()?;
        let with_zones = || self.bodies.iter().cloned().chain(self.slow.iter().map(|(_, body)| body.clone())).collect();
        let zones = (!self.slow.is_empty()).then(|| sweep::Scene::new(self.chain.clone(), with_zones())).transpose()?;
        let solids = sweep::Scene::new(self.chain.clone(), self.bodies)?;
        let (grip, contact_travel) = (self.grip, self.contact_travel);
        let mut scene =
            Scene { solids, margin, contact_travel, grip, things: self.things, slow: self.slow, zones, spots: self.spots, meetings };
        for (i, station) in self.p.cell.stations.iter().enumerate() {
            let support = station.support.iter().flat_map(|o| scene.obstacle(o.value)).collect();
            let touches = self.p.approaches.get(i).map_or(&[][..], Vec::as_slice);
            let approach = scene.pairs(touches.iter().flat_map(touch::Touch::pairs));
            if let Some(spot) = &mut scene.spots[i] {
                (spot.support, spot.approach) = (support, approach);
            }
        }
        Ok(scene)
    }

    /// Links that meet at a point no joint between them moves.
    fn meetings(&self) -> Result<Vec<Meeting>, Fault> {
        let links: Vec<usize> = (0..self.things.len()).filter(|i| matches!(self.things[*i].what, What::Link(_))).collect();
        let mut out = Vec::new();
        for (n, i) in links.iter().copied().enumerate() {
            for j in links[n + 1..].iter().copied() {
                let (a, b) = if self.bodies[i].carrier <= self.bodies[j].carrier { (i, j) } else { (j, i) };
                if let Some(Reason::SharedPoint(point)) = apart::reason(self.chain, &self.bodies[a], &self.bodies[b])? {
                    out.push(Meeting { a, b, point });
                }
            }
        }
        Ok(out)
    }

    /// Links, tools and what stands in the cell.
    fn fixed(&mut self) -> Result<(), Fault> {
        let (p, last) = (self.p, self.chain.joints());
        for (i, link) in (0u16..).zip(&p.arm.links) {
            let carrier = link.joint.map_or(0, |j| j.at() + 1);
            // What never moves stands in the cell where the arm stands.
            let frame = if carrier == 0 { self.chain.base() } else { Frame::IDENTITY };
            self.put(What::Link(LinkId(i)), &link.name.value, 0, carrier, &link.shapes, &frame, 0)?;
        }
        for (i, tool) in (0u16..).zip(&p.arm.tools) {
            self.put(What::Tool(ToolId(i)), &tool.name.value, 0, last, &tool.shapes, &Frame::IDENTITY, 0)?;
        }
        for (i, o) in (0u16..).zip(&p.cell.obstacles) {
            let id = ObstacleId(i);
            let what = match o.kind {
                ObstacleKind::Solid => What::Solid(id),
                ObstacleKind::KeepOut => What::KeepOut(id),
                ObstacleKind::Unsurveyed => What::Unsurveyed(id),
                ObstacleKind::Slow => {
                    for body in bodies(0, &o.shapes, &Frame::IDENTITY, 0)? {
                        self.slow.push((id, body));
                    }
                    continue;
                }
            };
            self.put(what, &o.name.value, o.severity, 0, &o.shapes, &Frame::IDENTITY, 0)?;
        }
        Ok(())
    }

    #[allow(clippy::too_many_arguments, reason = "each is one fact of the body")]
    fn put(
        &mut self,
        what: What,
        title: &str,
        severity: u8,
        carrier: usize,
        shapes: &[Shape],
        frame: &Frame,
        grow: i64,
    ) -> Result<(), Fault> {
        for body in bodies(carrier, shapes, frame, grow)? {
            self.things.push(Thing { what: what.clone(), title: title.to_string(), severity, carrier });
            self.bodies.push(body);
        }
        Ok(())
    }

    /// Where the jaw is at a station, and what may touch there.
    fn spot(&self, station: &Station) -> Result<Option<Spot>, Fault> {
        let Some(frame) = rest(self.chain, self.grip, self.p, station) else { return Ok(None) };
        let point = micrometres(frame.at, "the place of a station")?;
        let within = station.approach_within.map_or(self.contact_travel, |l| l.value.0);
        Ok(Some(Spot { frame, point, approach_within: within, approach: Vec::new(), support: Vec::new() }))
    }

    /// Loads at rest on every station a state has them on, and as they were gripped.
    fn loads(&mut self, found: &Found) -> Result<(), Fault> {
        let (p, last) = (self.p, self.chain.joints());
        let jaw = Frame { at: metres(self.grip), ..Frame::IDENTITY };
        for (load, station) in &found.rests {
            let Some(spot) = &self.spots[station.at()] else { continue };
            let (data, frame) = (&p.cell.loads[load.at()], spot.frame);
            let seating = data.seating.map_or(0, |l| l.value.0);
            self.put(What::Rest(*load, *station), &data.title, 0, 0, &data.shapes, &frame, seating)?;
        }
        for grip in &found.held {
            let data = &p.cell.loads[grip.load.at()];
            let seating = data.seating.map_or(0, |l| l.value.0);
            let in_jaw = match grip.from.and_then(|s| self.spots[s.at()].as_ref()) {
                Some(spot) if !grip.gripped.is_empty() => {
                    let placed = self.chain.place_exact(&grip.gripped);
                    placed.carriers[last].inverse().then(&spot.frame)
                }
                _ => jaw,
            };
            self.put(What::Held(grip.clone()), &data.title, 0, last, &data.shapes, &in_jaw, seating)?;
        }
        Ok(())
    }
}

/// The frame of the grip centre at a station: as surveyed, or where the arm's pose for it brings it.
fn rest(chain: &Chain, grip: [i64; 3], p: &Procedure, station: &Station) -> Option<Frame> {
    if let Some(position) = station.position {
        return Some(Frame::of(um(position), [0, 0, station.heading.map_or(0, |h| h.value.0)]));
    }
    let pose = &p.arm.poses[p.arm.find_pose(&station.pose.as_ref()?.value)?.at()];
    let angles: Vec<i64> = pose.angles.iter().map(|a| a.map_or(0, |a| a.value.0)).collect();
    let last = *chain.place_exact(&angles).carriers.last()?;
    Some(last.then(&Frame { at: metres(grip), ..Frame::IDENTITY }))
}

/// The bodies of shapes, carried by `frame` and grown.
fn bodies(carrier: usize, shapes: &[Shape], frame: &Frame, grow: i64) -> Result<Vec<Body>, Fault> {
    let put = |body: Body| {
        let parts = body.parts.iter().map(|s| placed(s, frame, grow)).collect::<Result<Vec<_>, _>>()?;
        Ok(Body { parts, ..body })
    };
    solid::bodies(shapes, carrier)?.into_iter().map(put).collect()
}

fn placed(solid: &Solid, frame: &Frame, grow: i64) -> Result<Solid, Fault> {
    let grown = match (grow, solid.form()) {
        (0, _) | (_, Form::HalfSpace { .. }) => solid.clone(),
        _ => solid.grown(grow)?,
    };
    grown.moved(frame)
}

/// Where loads are found in a trace.
struct Found {
    rests: BTreeSet<(LoadId, StationId)>,
    held: BTreeSet<Grip>,
}

fn found(p: &Procedure, trace: &Trace) -> Found {
    let mut out = Found { rests: BTreeSet::new(), held: BTreeSet::new() };
    for (frame, _) in trace.frames() {
        for row in trace.rows_of(frame) {
            for entry in trace.before(row).chain(trace.after(row)) {
                for (load, place) in entry.state.places() {
                    if let Place::On(station) = place {
                        out.rests.insert((load, station));
                    }
                }
                out.held.extend(entry.state.held().and_then(|held| grip(p, trace, held)));
            }
        }
    }
    out
}

/// What the models leave unsaid that the proofs in space need.
fn missing(p: &Procedure) -> Vec<String> {
    let (arm, cell) = (&p.arm, &p.cell);
    let mut out = Vec::new();
    let mut need = |said: bool, what: String| {
        if !said {
            out.push(what);
        }
    };
    need(cell.mount.is_some(), "where the arm stands (`mount` of the cell)".into());
    need(cell.margin.is_some(), "the clearance to keep (`margin` of the cell)".into());
    need(arm.jaw.grip_centre.is_some(), "the point between the pads (`grip-centre` of the jaw)".into());
    for joint in arm.joints.iter().filter(|j| j.mounting.is_none()) {
        need(false, format!("where {} sits (`mounting` of the joint)", joint.name.value));
    }
    need(arm.links.iter().any(|l| l.joint.is_some() && !l.shapes.is_empty()), "the shapes of what moves (`link` with `shape`)".into());
    out
}
