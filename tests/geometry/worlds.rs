//! Invented arms and cells for the tests of geometry, each made twice: for the crate in whole micrometres, and for the
//! sampler in its own shapes.

use crate::sampler::{Arm, Dice, Joint, Shape, V, about, applied_direction, apply, distance, len, times};
use surehand::geometry::apart::reason;
use surehand::geometry::body::Body;
use surehand::geometry::chain::{Chain, Hinge, JointBox, Mount};
use surehand::geometry::mesh::Mesh;
use surehand::geometry::solid::{Form, Solid};
use surehand::geometry::sweep::{Pair, Scene};
use surehand::geometry::{Frame, Vec3};

/// An arm and a cell.
pub struct World {
    pub arm: Arm,
    pub scene: Scene,
    /// What the sampler knows of the bodies, in the same order: carrier and shapes.
    pub shapes: Vec<(usize, Vec<Shape>)>,
    /// The bodies of the cell again, each shape with its ball.
    fixed: Vec<Vec<(Shape, V, f64)>>,
    pub pairs: Vec<Pair>,
}

pub fn m(um: [i64; 3]) -> V {
    um.map(|c| c as f64 / 1e6)
}

struct Maker {
    bodies: Vec<Body>,
    shapes: Vec<(usize, Vec<Shape>)>,
}

impl Maker {
    fn add(&mut self, carrier: usize, parts: Vec<(Solid, Shape)>) {
        let (solids, shapes) = parts.into_iter().unzip();
        self.bodies.push(Body::new(carrier, solids));
        self.shapes.push((carrier, shapes));
    }
}

pub fn ball(at: [i64; 3], r: i64) -> (Solid, Shape) {
    (Solid::round(vec![at], r).unwrap(), Shape::Ball(m(at), r as f64 / 1e6))
}

pub fn capsule(a: [i64; 3], b: [i64; 3], r: i64) -> (Solid, Shape) {
    (Solid::round(vec![a, b], r).unwrap(), Shape::Capsule(m(a), m(b), r as f64 / 1e6))
}

pub fn cylinder(a: [i64; 3], b: [i64; 3], r: i64) -> (Solid, Shape) {
    (Solid::cylinder(a, b, r).unwrap(), Shape::Cylinder(m(a), m(b), r as f64 / 1e6))
}

pub fn triangle(p: [[i64; 3]; 3]) -> (Solid, Shape) {
    (Solid::round(p.to_vec(), 0).unwrap(), Shape::Triangle(m(p[0]), m(p[1]), m(p[2])))
}

pub fn half(at: [i64; 3], normal: [i64; 3]) -> (Solid, Shape) {
    let n = normal.map(|c| c as f64);
    (Solid::half_space(at, normal).unwrap(), Shape::Half(m(at), n.map(|c| c / len(n))))
}

pub fn block(at: [i64; 3], half: [i64; 3], turn: [i64; 3]) -> (Solid, Shape) {
    let solid = Solid::cuboid(half, &Frame::of(at, turn)).unwrap();
    let [x, y, z] = turn.map(|a| a as f64 / 1000.0);
    let turned = times(&times(&about(2, z), &about(1, y)), &about(0, x));
    let axes = [[1., 0., 0.], [0., 1., 0.], [0., 0., 1.]].map(|a| applied_direction(&turned, a));
    (solid, Shape::Block(m(at), m(half), axes))
}

/// The twelve triangles of a box.
pub fn box_mesh(half: [i64; 3]) -> Mesh {
    let vertices = (0..8).map(|i| [0, 1, 2].map(|k| if i >> k & 1 == 0 { -half[k] } else { half[k] })).collect();
    let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    Mesh { vertices, triangles: faces.iter().flat_map(|f: &[u32; 4]| [[f[0], f[1], f[2]], [f[0], f[2], f[3]]]).collect() }
}

/// A ball of triangles: rings from pole to pole.
pub fn globe(radius: f64, rings: u32, around: u32) -> Mesh {
    let mut vertices = vec![[0, 0, (radius * 1e6) as i64]];
    for ring in 1..rings {
        let (s, c) = surehand::units::trig::sin_cos_halves(360_000 * i64::from(ring) / i64::from(rings));
        for k in 0..around {
            let (t, d) = surehand::units::trig::sin_cos_halves(720_000 * i64::from(k) / i64::from(around));
            vertices.push([radius * s * d, radius * s * t, radius * c].map(|x| (x * 1e6).round() as i64));
        }
    }
    vertices.push([0, 0, -(radius * 1e6) as i64]);
    let at = |ring: u32, k: u32| 1 + (ring - 1) * around + k % around;
    let last = vertices.len() as u32 - 1;
    let mut triangles = Vec::new();
    for k in 0..around {
        triangles.push([0, at(1, k), at(1, k + 1)]);
        triangles.push([last, at(rings - 1, k + 1), at(rings - 1, k)]);
        for ring in 1..rings - 1 {
            triangles.push([at(ring, k), at(ring + 1, k), at(ring + 1, k + 1)]);
            triangles.push([at(ring, k), at(ring + 1, k + 1), at(ring, k + 1)]);
        }
    }
    Mesh { vertices, triangles }
}

/// A random arm of four to six joints in a random cell with some obstacles.
pub fn invented(dice: &mut Dice, obstacles: usize, margin: i64) -> World {
    let joints = dice.whole(4, 6) as usize;
    let mount = Mount {
        position: [dice.whole(-300_000, 300_000), dice.whole(-300_000, 300_000), dice.whole(0, 500_000)],
        turn: [0, 0, dice.whole(-180_000, 180_000)],
    };
    let mut hinges = Vec::new();
    let mut own = Vec::new();
    let mut reach = 0.0;
    for k in 0..joints {
        let axis = dice.whole(0, 2) as usize;
        let sign = if dice.one_in(4) { -1 } else { 1 };
        let origin =
            if k == 0 { [0, 0, 300_000] } else { [dice.whole(-30, 30) * 1000, dice.whole(-30, 30) * 1000, dice.whole(80, 700) * 1000] };
        let turn = [0, 0, 0].map(|_| if dice.one_in(3) { dice.whole(-90_000, 90_000) } else { 0 });
        let mut direction = [0; 3];
        direction[axis] = sign;
        hinges.push(Hinge { axis: direction, origin, turn });
        own.push(Joint::new(m(origin), turn.map(|t| t as f64 / 1000.0), axis, sign as f64));
        reach += len(m(origin));
    }
    let mut maker = Maker { bodies: Vec::new(), shapes: Vec::new() };
    for (k, hinge) in hinges.iter().enumerate().skip(1) {
        let to = hinge.origin;
        let r = dice.whole(25, 70) * 1000;
        let link = match dice.whole(0, 4) {
            0 => cylinder([0, 0, 0], to, r),
            1 => block([0, 0, to[2] / 2], [r, r / 2, to[2] / 2], [0; 3]),
            _ => capsule([0, 0, 0], to, r),
        };
        let side = dice.whole(-150, 150) * 1000;
        let parts = if dice.one_in(3) { vec![link, capsule([0, 0, 50_000], [side, 0, 50_000], 20_000)] } else { vec![link] };
        maker.add(k, parts);
    }
    // The jaw, and often something held: a box, a can, a thin rod at full reach, a mesh.
    maker.add(joints, vec![capsule([0, 0, 0], [0, 0, 120_000], 35_000), ball([30_000, 0, 150_000], 15_000)]);
    let held = [0, 0, 200_000];
    match dice.whole(0, 5) {
        0 => maker.add(joints, vec![block(held, [dice.whole(10, 120) * 1000, 40_000, 60_000], [dice.whole(-90_000, 90_000), 0, 30_000])]),
        1 => maker.add(joints, vec![cylinder([0, 0, 150_000], [0, 0, 150_000 + dice.whole(20, 300) * 1000], dice.whole(20, 90) * 1000)]),
        2 => maker.add(joints, vec![capsule([0, 0, 150_000], [200_000, 0, dice.whole(300, 1500) * 1000], dice.whole(1, 4) * 1000)]),
        3 => {
            let half = [dice.whole(10, 100) * 1000, 50_000, 30_000];
            maker.bodies.push(box_mesh(half).surface(joints, &Frame::of(held, [0, 25_000, 0])).unwrap());
            maker.shapes.push((joints, vec![block(held, half, [0, 25_000, 0]).1]));
        }
        _ => {}
    }
    let moving = maker.bodies.len();
    reach += 0.5;
    let arm = Arm { mount: m(mount.position), heading: mount.turn[2] as f64 / 1000.0, joints: own };
    for _ in 0..obstacles {
        // Near some point of the arm in some set of angles: where moves come close.
        let deg: Vec<f64> = (0..joints).map(|_| dice.within(-120.0, 120.0)).collect();
        let carrier = dice.whole(2, joints as i64) as usize;
        let spot = apply(&arm.place(&deg)[carrier], [0.0, 0.0, dice.within(0.0, 0.3)]);
        let at = spot.map(|c| (c * 1e6) as i64 + dice.whole(-300_000, 300_000));
        let near = |dice: &mut Dice, by: i64| at.map(|c| c + dice.whole(-by, by));
        let size = dice.whole(20, 200) * 1000;
        match dice.whole(0, 8) {
            0 => maker.add(0, vec![ball(at, size)]),
            1 => maker.add(0, vec![capsule(at, near(dice, 600_000), dice.whole(1, 60) * 1000)]),
            2 => maker.add(0, vec![triangle([at, near(dice, 400_000), near(dice, 400_000)])]),
            3 | 4 => {
                let half = [0; 3].map(|_| dice.whole(5, 250) * 1000);
                let turn = [0; 3].map(|_| dice.whole(-180_000, 180_000));
                maker.add(0, vec![block(at, half, turn)]);
            }
            5 => maker.add(0, vec![cylinder(at, near(dice, 400_000).map(|c| c + 1000), size / 2)]),
            6 => {
                let half = [0; 3].map(|_| dice.whole(30, 250) * 1000);
                let turn = [0; 3].map(|_| dice.whole(-180_000, 180_000));
                maker.bodies.push(box_mesh(half).surface(0, &Frame::of(at, turn)).unwrap());
                maker.shapes.push((0, vec![block(at, half, turn).1]));
            }
            7 => {
                let normal = [dice.whole(-3, 3), dice.whole(-3, 3), dice.whole(3, 9)];
                let n = normal.map(|c| c as f64);
                let down = reach * 0.9;
                let at = [0, 1, 2].map(|k| mount.position[k] - (down * n[k] / len(n) * 1e6) as i64);
                maker.add(0, vec![half(at, normal)]);
            }
            _ => {
                let tip = [at[0], at[1], at[2] + 800_000];
                maker.add(0, vec![capsule(at, tip, dice.whole(1, 5) * 1000)]);
            }
        }
    }
    finish(arm, Chain::new(mount, hinges).unwrap(), maker.bodies, maker.shapes, moving, margin, dice.one_in(3))
}

pub fn finish(arm: Arm, chain: Chain, bodies: Vec<Body>, shapes: Vec<(usize, Vec<Shape>)>, moving: usize, margin: i64, own: bool) -> World {
    let mut ends = Vec::new();
    for b in 0..moving {
        ends.extend((moving..bodies.len()).map(|a| (a, b)));
        let touch = |a: usize| reason(&chain, &bodies[a], &bodies[b]).unwrap().is_some();
        ends.extend((0..b).filter(|a| own && !touch(*a)).map(|a| (a, b)));
    }
    let scene = Scene::new(chain, bodies).unwrap();
    let pairs = ends.into_iter().map(|(a, b)| scene.pair(a, b, margin)).collect();
    let ready = |shape: &Shape| (shape.clone(), shape.around().0, shape.around().1);
    let fixed = shapes.iter().map(|(k, shapes)| if *k == 0 { shapes.iter().map(ready).collect() } else { Vec::new() }).collect();
    World { arm, scene, shapes, fixed, pairs }
}

impl World {
    /// The least distance of any pair at angles in degrees, or `enough` if none is below that.
    pub fn nearest(&self, deg: &[f64], enough: f64) -> f64 {
        let carriers = self.arm.place(deg);
        let ready = |shape: Shape| {
            let (centre, radius) = shape.around();
            (shape, centre, radius)
        };
        let placed: Vec<Vec<(Shape, V, f64)>> = self
            .shapes
            .iter()
            .map(|(carrier, shapes)| match carrier {
                0 => Vec::new(),
                k => shapes.iter().map(|s| ready(s.placed(&carriers[*k]))).collect(),
            })
            .collect();
        let of = |body: usize| if self.shapes[body].0 == 0 { &self.fixed[body] } else { &placed[body] };
        let mut least = enough;
        for pair in &self.pairs {
            for (a, ca, ra) in of(pair.a) {
                for (b, cb, rb) in of(pair.b) {
                    let d = [ca[0] - cb[0], ca[1] - cb[1], ca[2] - cb[2]];
                    let apart = least + ra + rb;
                    if d[0] * d[0] + d[1] * d[1] + d[2] * d[2] < apart * apart {
                        least = least.min(distance(a, b, least));
                    }
                }
            }
        }
        least
    }

    /// How far a place is from a body.
    pub fn off(&self, deg: &[f64], body: usize, place: Vec3) -> f64 {
        let (carrier, shapes) = &self.shapes[body];
        let (carriers, p) = (self.arm.place(deg), [place.x, place.y, place.z]);
        let ball = Shape::Ball(p, 0.0);
        shapes.iter().map(|s| distance(&ball, &s.placed(&carriers[*carrier]), f64::INFINITY)).fold(f64::INFINITY, f64::min)
    }

    /// The world with a ball more in the cell.
    pub fn and_ball(&self, at: V, radius: i64, margin: i64) -> World {
        let (solid, shape) = ball(at.map(|c| (c * 1e6) as i64), radius);
        let (mut bodies, mut shapes) = (self.scene.bodies().to_vec(), self.shapes.clone());
        bodies.push(Body::new(0, vec![solid]));
        shapes.push((0, vec![shape]));
        let moving = bodies.iter().filter(|b| b.carrier > 0).count();
        finish(self.arm.clone(), self.scene.chain().clone(), bodies, shapes, moving, margin, false)
    }

    /// The same pairs with another margin.
    pub fn with_margin(&self, margin: i64) -> Vec<Pair> {
        self.pairs.iter().map(|p| Pair { margin, ..p.clone() }).collect()
    }
}

/// Angles in degrees within a box: each joint at a share of its interval.
pub fn at(within: &JointBox, share: impl Fn(usize) -> f64) -> Vec<f64> {
    within.0.iter().enumerate().map(|(k, [low, high])| (*low as f64 + share(k) * (high - low) as f64) / 1000.0).collect()
}

/// The scene seen otherwise: turned by a quarter about the vertical and moved, or mirrored across the plane of x and z.
pub fn seen_otherwise(world: &World, mirrored: bool) -> Scene {
    let go = |[x, y, z]: [i64; 3]| if mirrored { [x, -y, z] } else { [-y + 1_234_567, x - 765_432, z + 222_222] };
    let way = |[x, y, z]: [i64; 3]| if mirrored { [x, -y, z] } else { [-y, x, z] };
    let chain = world.scene.chain();
    let mount = chain.mount();
    let [tx, ty, tz] = mount.turn;
    let turn = if mirrored { [-tx, ty, -tz] } else { [tx, ty, tz + 90_000] };
    let mount = Mount { position: go(mount.position), turn };
    // A mirror turns an axis of rotation as it does not turn a direction.
    let flip = |[x, y, z]: [i64; 3]| if mirrored { [-x, y, -z] } else { [x, y, z] };
    let side = |[x, y, z]: [i64; 3]| if mirrored { [x, -y, z] } else { [x, y, z] };
    let hinge = |h: &Hinge| Hinge { axis: flip(h.axis), origin: side(h.origin), turn: flip(h.turn) };
    let chain = Chain::new(mount, chain.hinges().iter().map(hinge).collect()).unwrap();
    let part = |carrier: usize, solid: &Solid| {
        let place = |p: [i64; 3]| if carrier == 0 { go(p) } else { side(p) };
        let points: Vec<[i64; 3]> = solid.points().iter().map(|p| place(*p)).collect();
        match solid.form() {
            Form::Round => Solid::round(points, solid.radius()),
            Form::Cylinder => Solid::cylinder(points[0], points[1], solid.radius()),
            Form::HalfSpace { normal } => Solid::half_space(points[0], way(normal)),
        }
        .unwrap()
    };
    let body = |b: &Body| {
        // A mirrored triangle is turned the other way round again.
        let turned = |solid: Solid| {
            let mut points = solid.points().to_vec();
            points.reverse();
            if mirrored && b.closed_mesh { Solid::round(points, solid.radius()).unwrap() } else { solid }
        };
        Body { parts: b.parts.iter().map(|s| turned(part(b.carrier, s))).collect(), ..*b }
    };
    Scene::new(chain, world.scene.bodies().iter().map(body).collect()).unwrap()
}
