//! The Heron arm in bay 3, posed at exact angles, as subjects of figures. The nearest pair is found by a small iteration of
//! its own: for pictures, not for verdicts.

use surehand::document::figure::{Body, Cone, Nearest, Role, Side, Stance, Subject, distance};
use surehand::geometry::Vec3;
use surehand::geometry::chain::{Chain, Placed};
use surehand::geometry::solid::{Form, Solid};
use surehand::geometry::{Frame, metres};
use surehand::model::LinkId;
use surehand::model::arm::{self, Arm};
use surehand::model::cell::{self, Cell, ObstacleKind};
use surehand::model::solid::{bodies, carrier, chain, um};
use surehand::text::FileId;
use surehand::units::{Angle, sin_cos};

pub type Angles = [i64; 5];

pub struct Bay {
    arm: Arm,
    cell: Cell,
    chain: Chain,
}

fn placed(solids: &[Solid], frame: &Frame) -> Vec<Solid> {
    solids.iter().map(|s| s.moved(frame).expect("within range")).collect()
}

impl Bay {
    pub fn new() -> Bay {
        let (arm, _) = arm::load(FileId(0), include_str!("../../procedures/arms/heron.toml"));
        let (cell, _) = cell::load(FileId(1), include_str!("../../procedures/cells/bay-3.toml"));
        let (arm, cell) = (arm.expect("the arm loads"), cell.expect("the cell loads"));
        let chain = chain(&arm, cell.mount.as_ref()).expect("mountings");
        Bay { arm, cell, chain }
    }

    /// Name, carrier and solids of each link.
    fn links(&self, at: &Placed) -> Vec<(String, usize, Vec<Solid>)> {
        let each = self.arm.links.iter().enumerate().map(|(i, link)| {
            let on = carrier(&self.arm, LinkId(i as u16));
            let parts = bodies(&link.shapes, on).expect("shapes").into_iter().flat_map(|b| b.parts).collect::<Vec<_>>();
            (link.name.value.clone(), on, placed(&parts, &at.carriers[on]))
        });
        each.collect()
    }

    fn tool(&self, at: &Placed) -> Frame {
        let last = at.carriers[5];
        let grip = self.arm.jaw.grip_centre.map_or(Vec3::new(0.16, 0.0, 0.0), |p| metres(um(p)));
        last.then(&Frame { at: grip, ..Frame::IDENTITY })
    }

    fn held(&self, load: &str, at: &Placed) -> Vec<Solid> {
        let load = self.cell.loads.iter().find(|l| l.name.value == load).expect("a load");
        let parts: Vec<Solid> = bodies(&load.shapes, 5).expect("shapes").into_iter().flat_map(|b| b.parts).collect();
        placed(&parts, &self.tool(at))
    }

    /// A step from one set of angles to another, in degrees.
    pub fn step(&self, number: &str, from: Angles, to: Angles, held: Option<&str>, view: Option<&str>) -> Subject {
        let mut all: Vec<Body> = Vec::new();
        for o in &self.cell.obstacles {
            let role = match o.kind {
                ObstacleKind::Solid => Role::Obstacle,
                ObstacleKind::KeepOut => Role::KeepOut,
                ObstacleKind::Unsurveyed => Role::Unsurveyed,
                ObstacleKind::Slow => Role::Slow,
            };
            let parts = bodies(&o.shapes, 0).expect("shapes").into_iter().flat_map(|b| b.parts).collect();
            all.push(Body { name: o.name.value.clone(), key: "body".to_owned(), role, parts });
        }
        let moved = (0..5).filter(|i| from[*i] != to[*i]).min().unwrap_or(5);
        let at = |angles: [i64; 5]| self.chain.place_exact(&angles);
        let (start, end) = (at(from.map(|a| a * 1000)), at(to.map(|a| a * 1000)));
        for (role, at) in [(Role::Start, &start), (Role::End, &end)] {
            for (name, on, parts) in self.links(at) {
                if role == Role::End || on > moved {
                    all.push(Body { name, key: "body".to_owned(), role, parts });
                }
            }
        }
        if let Some(load) = held {
            let title = self.cell.loads.iter().find(|l| l.name.value == load).expect("a load").title.clone();
            all.push(Body { name: title.clone(), key: "body".to_owned(), role: Role::HeldAtStart, parts: self.held(load, &start) });
            all.push(Body { name: title, key: "body".to_owned(), role: Role::Held, parts: self.held(load, &end) });
        }
        let most = (0..5).map(|i| (to[i] - from[i]).abs()).max().unwrap_or(0);
        let samples = (most / 4).max(1);
        let mut swept: Vec<Vec<Solid>> = Vec::new();
        let mut path = Vec::new();
        for k in 0..=samples {
            let here = at([0, 1, 2, 3, 4].map(|i| from[i] * 1000 + (to[i] - from[i]) * 1000 * k / samples));
            let mut solids: Vec<Solid> = self.links(&here).into_iter().filter(|l| l.1 > moved).flat_map(|l| l.2).collect();
            solids.extend(held.iter().flat_map(|l| self.held(l, &here)));
            swept.resize(solids.len(), Vec::new());
            swept.iter_mut().zip(solids).for_each(|(list, s)| list.push(s));
            path.push(self.tool(&here).at);
        }
        let (sine, cosine) = sin_cos(Angle(to[0] * 1000));
        let item = format!("f{number}");
        let nearest = nearest(&all, &item);
        let sight = view.map(|name| {
            let view = self.cell.views.iter().find(|v| v.name.value == name).expect("a view");
            let (s, c) = sin_cos(Angle(20_000));
            Cone {
                name: view.title.split(',').next().unwrap_or("").to_owned(),
                eye: metres(um(view.position.expect("a place"))),
                at: self.tool(&end).at,
                half: (s, c),
            }
        });
        Subject {
            item,
            step: number.to_owned(),
            stance: Stance { foot: self.chain.base().at, heading: [cosine, sine], side: Side::Right },
            bodies: all,
            swept,
            path,
            joints: end.axes.iter().map(|a| (a.origin, a.direction)).collect(),
            nearest,
            sight,
        }
    }
}

/// The nearest pair at the end of the step, but for the foot of the arm.
fn nearest(all: &[Body], item: &str) -> Option<Nearest> {
    let mut best: Option<(f64, Vec3, Vec3, [String; 2])> = None;
    let moving: Vec<&Body> = all.iter().filter(|b| matches!(b.role, Role::End | Role::Held) && !b.name.starts_with("pedestal")).collect();
    for other in all.iter().filter(|b| matches!(b.role, Role::Obstacle | Role::KeepOut | Role::Unsurveyed)) {
        for (name, a, b) in
            moving.iter().flat_map(|m| m.parts.iter().map(|a| (&m.name, a))).flat_map(|(n, a)| other.parts.iter().map(move |b| (n, a, b)))
        {
            let (d, p, q) = gap(a, b);
            if best.as_ref().is_none_or(|best| d < best.0) {
                best = Some((d, p, q, [name.clone(), other.name.clone()]));
            }
        }
    }
    let (d, moving, other, bodies) = best?;
    let text = format!("{:.0} mm", (d * 1000.0).floor());
    Some(Nearest { moving, other, bodies, distance: distance(item, text) })
}

/// The place of a solid that lies farthest along a direction.
fn farthest(s: &Solid, n: Vec3) -> Vec3 {
    let p = s.core().iter().copied().max_by(|a, b| a.dot(n).total_cmp(&b.dot(n))).expect("a point");
    match s.form() {
        Form::Cylinder => {
            let side = n - s.direction() * s.direction().dot(n);
            p + side / side.length().max(1e-12) * s.r()
        }
        _ => p + n * s.r(),
    }
}

/// Distance and nearest places of two convex solids; zero where they overlap.
fn gap(a: &Solid, b: &Solid) -> (f64, Vec3, Vec3) {
    if b.is_half_space() {
        let p = farthest(a, -b.direction());
        let d = (p - b.core()[0]).dot(b.direction());
        return (d.max(0.0), p, p - b.direction() * d);
    }
    let (mut p, mut q) = (farthest(a, Vec3::X), farthest(b, Vec3::NEG_X));
    for _ in 0..2000 {
        let d = p - q;
        if d.length() < 1e-6 {
            return (0.0, p, q);
        }
        let n = -d / d.length();
        let (s, t) = (farthest(a, n), farthest(b, -n));
        let step = (s - t) - d;
        let share = (-d.dot(step) / step.dot(step).max(1e-18)).clamp(0.0, 1.0);
        if share < 1e-9 {
            break;
        }
        (p, q) = (p + (s - p) * share, q + (t - q) * share);
    }
    ((p - q).length(), p, q)
}
