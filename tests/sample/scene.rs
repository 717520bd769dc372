//! A small arm over a bench, by hand, in whole millimetres: what a figure of one step is drawn from. Invented.

use std::sync::Arc;
use surehand::document::figure::{Body, Cone, Nearest, Role, Side, Size, Stance, Subject, distance, draw};
use surehand::document::{Block, Field, Figure, Prose};
use surehand::geometry::Vec3;
use surehand::geometry::solid::Solid;
use surehand::words::Words;

fn um(p: [i64; 3]) -> [i64; 3] {
    p.map(|c| c * 1000)
}

fn metres(p: [i64; 3]) -> Vec3 {
    Vec3::from_array(p.map(|c| c as f64 / 1000.0))
}

pub fn capsule(a: [i64; 3], b: [i64; 3], radius: i64) -> Solid {
    Solid::round(vec![um(a), um(b)], radius * 1000).expect("a capsule")
}

pub fn cuboid(low: [i64; 3], high: [i64; 3]) -> Solid {
    let corner = |i: usize| um([0, 1, 2].map(|k| if i >> k & 1 == 0 { low[k] } else { high[k] }));
    Solid::round((0..8).map(corner).collect(), 0).expect("a box")
}

pub fn cylinder(a: [i64; 3], b: [i64; 3], radius: i64) -> Solid {
    Solid::cylinder(um(a), um(b), radius * 1000).expect("a cylinder")
}

fn body(name: &str, role: Role, parts: Vec<Solid>) -> Body {
    Body { name: name.to_owned(), key: "body".to_owned(), role, parts }
}

/// A shoulder at 600 mm, its arm and forearm, with the wrist coming down from 900 to 700 mm over a bench.
pub fn subject(item: &str, step: &str) -> Subject {
    let arm = |wrist: i64| {
        vec![
            capsule([0, 0, 600], [700, 0, 1000], 80),
            capsule([700, 0, 1000], [1200, 0, wrist], 60),
            cuboid([1180, -90, wrist - 30], [1380, 90, wrist + 30]),
        ]
    };
    let cup = |wrist: i64| vec![cylinder([1330, 0, wrist - 120], [1330, 0, wrist + 40], 45)];
    let mut bodies = vec![
        body("bench with the inlet cradle", Role::Obstacle, vec![cuboid([1000, -400, 420], [1700, 500, 500])]),
        body("far wall", Role::Obstacle, vec![Solid::half_space(um([1900, 0, 0]), [-1, 0, 0]).expect("a wall")]),
        body("floor", Role::Obstacle, vec![Solid::half_space([0; 3], [0, 0, 1]).expect("a floor")]),
        body("lamp", Role::KeepOut, vec![Solid::round(vec![um([1500, 300, 1500])], 150_000).expect("a ball")]),
        body("pipe corner", Role::Unsurveyed, vec![cuboid([1500, -700, 0], [1800, -450, 900])]),
        body("pedestal", Role::End, vec![cylinder([0, 0, 0], [0, 0, 600], 150)]),
    ];
    bodies.extend(arm(900).into_iter().map(|s| body("arm", Role::Start, vec![s])));
    bodies.extend(arm(700).into_iter().map(|s| body("arm", Role::End, vec![s])));
    bodies.push(body("settling cup", Role::HeldAtStart, cup(900)));
    bodies.push(body("settling cup", Role::Held, cup(700)));
    let along: Vec<i64> = vec![900, 850, 800, 750, 700];
    let mut swept: Vec<Vec<Solid>> = Vec::new();
    for wrist in &along {
        let solids: Vec<Solid> = arm(*wrist).into_iter().chain(cup(*wrist)).collect();
        swept.resize(solids.len(), Vec::new());
        swept.iter_mut().zip(solids).for_each(|(list, s)| list.push(s));
    }
    Subject {
        item: item.to_owned(),
        step: step.to_owned(),
        stance: Stance { foot: Vec3::ZERO, heading: [1.0, 0.0], side: Side::Right },
        bodies,
        swept,
        path: along.iter().map(|wrist| metres([1330, 0, *wrist])).collect(),
        joints: [[0, 0, 600], [700, 0, 1000], [1200, 0, 700]].map(|p| (metres(p), Vec3::NEG_Y)).to_vec(),
        nearest: Some(Nearest {
            moving: metres([1330, 0, 580]),
            other: metres([1330, 0, 500]),
            bodies: ["settling cup".to_owned(), "bench with the inlet cradle".to_owned()],
            distance: distance(item, "at least 79 mm"),
        }),
        sight: Some(Cone {
            name: "window 2".to_owned(),
            eye: metres([1300, 1200, 1500]),
            at: metres([1330, 0, 700]),
            half: (0.342, 0.940),
        }),
    }
}

/// The figure of a step, as a block.
#[allow(dead_code, reason = "not every test that shares this file prints")]
pub fn figure(step: &str) -> Block {
    let item = format!("f{step}");
    let drawing = draw(&subject(&item, step), Size::USUAL, Words::english()).expect("there is an arm");
    Block::Figure(Figure {
        step: Field::new(format!("{item}.step"), format!("Step {step}")),
        caption: vec![Prose::plain(
            format!("{item}.caption1"),
            "Nearest: the bench with the inlet cradle, at least 79 mm over the whole move.",
        )],
        drawing: Arc::new(drawing),
        item,
    })
}
