//! The Heron arm in bay 3, posed by a small kinematics of its own, as subjects of figures.
#![allow(clippy::disallowed_methods, reason = "an independent kinematics for pictures; no verdict depends on it")]

use surehand::document::Field;
use surehand::document::figure::{Body, Cone, Nearest, Role, Side, Solid, Stance, Subject, distance};
use surehand::model::arm::{self, Arm, Axis, Shape};
use surehand::model::cell::{self, Cell, ObstacleKind};
use surehand::text::FileId;
use surehand::units::Length;

type Vec3 = [f64; 3];

/// A rotation by rows, and a place.
#[derive(Clone, Copy)]
struct Frame {
    turn: [Vec3; 3],
    at: Vec3,
}

impl Frame {
    fn point(&self, p: Vec3) -> Vec3 {
        [0, 1, 2].map(|i| self.at[i] + (0..3).map(|k| self.turn[i][k] * p[k]).sum::<f64>())
    }

    fn turned(&self, axis: Axis, degrees: f64) -> Frame {
        let a = degrees.to_radians() * if axis.negative { -1.0 } else { 1.0 };
        let (s, c) = a.sin_cos();
        let (i, j) = [(1, 2), (2, 0), (0, 1)][usize::from(axis.index)];
        let turn = self.turn.map(|row| {
            let mut out = row;
            out[i] = row[i] * c + row[j] * s;
            out[j] = row[j] * c - row[i] * s;
            out
        });
        Frame { turn, at: self.at }
    }
}

fn metres(p: [Length; 3]) -> Vec3 {
    p.map(|l| l.0 as f64 / 1e6)
}

fn solid(shape: &Shape, frame: &Frame) -> Solid {
    let at = |p: [Length; 3]| frame.point(metres(p));
    let radius = |r: &Length| r.0 as f64 / 1e6;
    match shape {
        Shape::Capsule { from, to, radius: r } => Solid::Round { points: vec![at(*from), at(*to)], radius: radius(r) },
        Shape::Sphere { centre, radius: r } => Solid::Round { points: vec![at(*centre)], radius: radius(r) },
        Shape::Cylinder { from, to, radius: r } => Solid::Cylinder { a: at(*from), b: at(*to), radius: radius(r) },
        Shape::Box { centre, size } => {
            let (c, s) = (metres(*centre), metres(*size));
            let corner = |i: usize| [0, 1, 2].map(|k| c[k] + s[k] / 2.0 * if i >> k & 1 == 0 { -1.0 } else { 1.0 });
            Solid::Round { points: (0..8).map(|i| frame.point(corner(i))).collect(), radius: 0.0 }
        }
        Shape::HalfSpace { point, normal } => {
            let mut n = [0.0; 3];
            n[usize::from(normal.index)] = if normal.negative { -1.0 } else { 1.0 };
            Solid::HalfSpace { point: metres(*point), normal: n }
        }
        _ => panic!("a shape the sample does not use"),
    }
}

pub struct Bay {
    arm: Arm,
    cell: Cell,
}

impl Bay {
    pub fn new() -> Bay {
        let (arm, _) = arm::load(FileId(0), include_str!("../../procedures/arms/heron.toml"));
        let (cell, _) = cell::load(FileId(1), include_str!("../../procedures/cells/bay-3.toml"));
        Bay { arm: arm.expect("the arm loads"), cell: cell.expect("the cell loads") }
    }

    /// Frames of the carriers: the mount, then one a joint.
    fn frames(&self, angles: &[f64; 5]) -> Vec<Frame> {
        let mount = self.cell.mount.as_ref().expect("a mount");
        let turn = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let base = Frame { turn, at: metres(mount.position) }.turned(Axis { index: 2, negative: false }, mount.heading.0 as f64 / 1000.0);
        let mut out = vec![base];
        for (joint, angle) in self.arm.joints.iter().zip(angles) {
            let m = joint.mounting.as_ref().expect("a mounting");
            let last = out[out.len() - 1];
            let here = Frame { turn: last.turn, at: last.point(metres(m.origin)) };
            out.push(here.turned(m.axis.value, *angle));
        }
        out
    }

    fn links(&self, angles: &[f64; 5]) -> Vec<(String, usize, Vec<Solid>)> {
        let frames = self.frames(angles);
        let of = |l: &arm::Link| l.joint.map_or(0, |j| j.at() + 1);
        self.arm.links.iter().map(|l| (l.name.value.clone(), of(l), l.shapes.iter().map(|s| solid(s, &frames[of(l)])).collect())).collect()
    }

    fn held(&self, load: &str, angles: &[f64; 5]) -> Vec<Solid> {
        let frames = self.frames(angles);
        let grip = Frame { at: frames[5].point([0.16, 0.0, 0.0]), ..frames[5] };
        let load = self.cell.loads.iter().find(|l| l.name.value == load).expect("a load");
        load.shapes.iter().map(|s| solid(s, &grip)).collect()
    }

    /// A step from one set of angles to another.
    pub fn step(&self, number: &str, from: [f64; 5], to: [f64; 5], held: Option<&str>, window: Option<&str>) -> Subject {
        let mut bodies: Vec<Body> = Vec::new();
        for o in &self.cell.obstacles {
            let role = match o.kind {
                ObstacleKind::Solid => Role::Obstacle,
                ObstacleKind::KeepOut => Role::KeepOut,
                ObstacleKind::Unsurveyed => Role::Unsurveyed,
                ObstacleKind::Slow => Role::Slow,
            };
            let still = Frame { turn: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], at: [0.0; 3] };
            bodies.push(Body { name: o.name.value.clone(), role, parts: o.shapes.iter().map(|s| solid(s, &still)).collect() });
        }
        let moved = (0..5).filter(|i| from[*i] != to[*i]).min().unwrap_or(5);
        for (role, angles) in [(Role::Start, &from), (Role::End, &to)] {
            for (name, carrier, parts) in self.links(angles) {
                if role == Role::End || carrier > moved {
                    bodies.push(Body { name, role, parts });
                }
            }
        }
        if let Some(load) = held {
            let title = self.cell.loads.iter().find(|l| l.name.value == load).expect("a load").title.clone();
            bodies.push(Body { name: title.clone(), role: Role::HeldAtStart, parts: self.held(load, &from) });
            bodies.push(Body { name: title, role: Role::Held, parts: self.held(load, &to) });
        }
        let most = (0..5).map(|i| (to[i] - from[i]).abs()).fold(0.0, f64::max);
        let samples = (most / 4.0).ceil().max(1.0) as usize;
        let share = |k: usize| [0, 1, 2, 3, 4].map(|i| from[i] + (to[i] - from[i]) * k as f64 / samples as f64);
        let mut swept: Vec<Vec<Solid>> = Vec::new();
        let mut path = Vec::new();
        for k in 0..=samples {
            let angles = share(k);
            let mut solids: Vec<Solid> = self.links(&angles).into_iter().filter(|l| l.1 > moved).flat_map(|l| l.2).collect();
            solids.extend(held.iter().flat_map(|l| self.held(l, &angles)));
            swept.resize(solids.len(), Vec::new());
            swept.iter_mut().zip(solids).for_each(|(list, s)| list.push(s));
            path.push(self.frames(&angles)[5].point([0.2, 0.0, 0.0]));
        }
        let frames = self.frames(&to);
        let heading = (to[0] + self.cell.mount.as_ref().expect("a mount").heading.0 as f64 / 1000.0).to_radians();
        let item = format!("f{number}");
        let nearest = self.nearest(&bodies, &item);
        let sight = window.map(|w| {
            let view = self.cell.views.iter().find(|v| v.name.value == w).expect("a view");
            let half = 20.0_f64.to_radians();
            Cone {
                name: view.title.split(',').next().unwrap_or("").to_owned(),
                eye: metres(view.position.expect("a place")),
                at: frames[5].point([0.2, 0.0, 0.0]),
                half: half.sin_cos(),
            }
        });
        Subject {
            item,
            step: number.to_owned(),
            stance: Stance { foot: frames[0].at, heading: [heading.cos(), heading.sin()], side: Side::Right },
            bodies,
            swept,
            path,
            joints: frames[2..5].iter().map(|f| f.at).collect(),
            nearest,
            sight,
        }
    }

    /// The nearest pair at the end of the step: for pictures, found by iteration.
    fn nearest(&self, bodies: &[Body], item: &str) -> Option<Nearest> {
        let mut best: Option<(f64, Vec3, Vec3, String)> = None;
        let moving: Vec<&Body> = bodies.iter().filter(|b| matches!(b.role, Role::End | Role::Held) && b.name != "pedestal").collect();
        for other in bodies.iter().filter(|b| matches!(b.role, Role::Obstacle | Role::KeepOut | Role::Unsurveyed)) {
            for a in moving.iter().flat_map(|b| &b.parts) {
                for b in &other.parts {
                    let (d, p, q) = gap(a, b);
                    if best.as_ref().is_none_or(|best| d < best.0) {
                        best = Some((d, p, q, other.name.clone()));
                    }
                }
            }
        }
        let (d, moving, other, body) = best?;
        let text = format!("{:.0} mm", (d * 1000.0).floor());
        Some(Nearest { moving, other, body, distance: distance(item, text) })
    }
}

fn support(s: &Solid, n: Vec3) -> Vec3 {
    let dot = |a: Vec3, b: Vec3| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    match s {
        Solid::Round { points, radius } => {
            let p = *points.iter().max_by(|a, b| dot(**a, n).total_cmp(&dot(**b, n))).expect("a point");
            [0, 1, 2].map(|i| p[i] + n[i] * radius)
        }
        Solid::Cylinder { a, b, radius } => {
            let axis = [0, 1, 2].map(|i| b[i] - a[i]);
            let length = dot(axis, axis).sqrt();
            let axis = axis.map(|c| c / length);
            let p = if dot(axis, n) > 0.0 { *b } else { *a };
            let side = [0, 1, 2].map(|i| n[i] - axis[i] * dot(axis, n));
            let l = dot(side, side).sqrt().max(1e-12);
            [0, 1, 2].map(|i| p[i] + side[i] / l * radius)
        }
        Solid::HalfSpace { .. } => unreachable!("handled by its plane"),
    }
}

/// Distance and nearest places of two convex solids; zero where they overlap.
fn gap(a: &Solid, b: &Solid) -> (f64, Vec3, Vec3) {
    let dot = |a: Vec3, b: Vec3| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let sub = |a: Vec3, b: Vec3| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    if let Solid::HalfSpace { point, normal } = b {
        let p = support(a, normal.map(|c| -c));
        let d = dot(sub(p, *point), *normal);
        return (d.max(0.0), p, [0, 1, 2].map(|i| p[i] - normal[i] * d));
    }
    let mut n = [1.0, 0.0, 0.0];
    let (mut p, mut q) = (support(a, n), support(b, n));
    for _ in 0..3000 {
        let d = sub(p, q);
        let length = dot(d, d).sqrt();
        if length < 1e-6 {
            return (0.0, p, q);
        }
        n = d.map(|c| -c / length);
        let (s, t) = (support(a, n), support(b, n.map(|c| -c)));
        let step = sub(sub(s, t), d);
        let t_best = (-dot(d, step) / dot(step, step).max(1e-18)).clamp(0.0, 1.0);
        if t_best < 1e-9 {
            break;
        }
        p = [0, 1, 2].map(|i| p[i] + (s[i] - p[i]) * t_best);
        q = [0, 1, 2].map(|i| q[i] + (t[i] - q[i]) * t_best);
    }
    let d = sub(p, q);
    (dot(d, d).sqrt(), p, q)
}

/// The id and text of the marked distance.
pub fn marked(subject: &Subject) -> &Field {
    &subject.nearest.as_ref().expect("a nearest pair").distance
}
