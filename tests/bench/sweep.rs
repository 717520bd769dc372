//! How long a certified sweep of one joint takes, on one core: half a degree of tolerance on every joint, 8 to 12 moving shapes,
//! 30 mixed obstacles. Beside it the same halving through the Python interface of pinocchio and coal, where
//! `target/outside` has them (`tests/run` puts them there), or another Python that `SUREHAND_PYTHON` names.
#![allow(clippy::print_stdout, reason = "a benchmark prints what it measured")]

#[path = "../geometry/sampler.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod sampler;

use sampler::Dice;
use serde_json::json;
use std::time::Instant;
use surehand::geometry::Frame;
use surehand::geometry::body::Body;
use surehand::geometry::chain::{Chain, Hinge, JointBox, Mount};
use surehand::geometry::solid::Solid;
use surehand::geometry::sweep::{Need, Pair, Question, Scene, Verdict};

const MARGIN: i64 = 20_000;
const WORLDS: usize = 20;
const SWEEPS: usize = 100;
const ROUNDS: usize = 5;

struct World {
    scene: Scene,
    pairs: Vec<Pair>,
    sweeps: Vec<JointBox>,
    told: serde_json::Value,
}

/// An invented arm of six joints that reaches 2.3 m, with 8 to 12 shapes, among 30 obstacles.
fn world(dice: &mut Dice) -> World {
    let joint = |axis: usize, x: i64, z: i64| {
        let mut direction = [0; 3];
        direction[axis] = 1;
        (Hinge { axis: direction, origin: [x, 0, z], turn: [0; 3] }, axis)
    };
    let joints = [
        joint(2, 0, 400_000),
        joint(1, 0, 100_000),
        joint(1, 0, 900_000),
        joint(0, 0, 200_000),
        joint(1, 0, 600_000),
        joint(2, 0, 200_000),
    ];
    let (mut bodies, mut told) = (Vec::new(), Vec::new());
    let mut add = |carrier: usize, form: &str, solid: Solid| {
        told.push(json!({ "carrier": carrier, "form": form, "points": solid.points(), "radius": solid.radius() }));
        bodies.push(Body::new(carrier, vec![solid]));
    };
    for (carrier, length, r) in [(1, 100, 120), (2, 900, 90), (3, 200, 80), (4, 600, 60), (5, 200, 50), (6, 150, 40)] {
        add(carrier, "round", Solid::round(vec![[0; 3], [0, 0, length * 1000]], r * 1000).unwrap());
    }
    for k in 0..dice.whole(2, 6) {
        let carrier = [2, 4, 6, 6, 4, 2][k as usize];
        let spot = [dice.whole(-100, 100) * 1000, dice.whole(-100, 100) * 1000, dice.whole(50, 250) * 1000];
        add(carrier, "round", Solid::round(vec![spot, spot.map(|c| c + dice.whole(-90, 90) * 1000 + 1)], 25_000).unwrap());
    }
    for k in 0..30 {
        // Around the arm, out of its own column.
        let (aside, far) = (dice.whole(0, 359_999), dice.whole(500, 2300));
        let (s, c) = surehand::units::trig::sin_cos_halves(2 * aside);
        let at = [(c * far as f64 * 1e3) as i64, (s * far as f64 * 1e3) as i64, dice.whole(-200, 2200) * 1000];
        let end = at.map(|c| c + dice.whole(-300, 300) * 1000 + 1);
        match k % 4 {
            0 => add(0, "round", Solid::round(vec![at], dice.whole(30, 150) * 1000).unwrap()),
            1 => add(0, "round", Solid::round(vec![at, end], dice.whole(20, 80) * 1000).unwrap()),
            2 => add(0, "cylinder", Solid::cylinder(at, end, dice.whole(20, 80) * 1000).unwrap()),
            _ => {
                let half = [0; 3].map(|_| dice.whole(30, 200) * 1000);
                add(0, "box", Solid::cuboid(half, &Frame::of(at, [0; 3])).unwrap());
            }
        }
    }
    let hinges = joints.iter().map(|(hinge, axis)| json!({ "origin": hinge.origin, "axis": axis })).collect::<Vec<_>>();
    let chain = Chain::new(Mount::default(), joints.iter().map(|(hinge, _)| *hinge).collect()).unwrap();
    let scene = Scene::new(chain, bodies).unwrap();
    let carried = |k: &usize| scene.bodies()[*k].carrier > 0;
    let (moving, fixed): (Vec<usize>, Vec<usize>) = (0..scene.bodies().len()).partition(carried);
    let pairs: Vec<Pair> = moving.iter().flat_map(|b| fixed.iter().map(|a| scene.pair(*a, *b, MARGIN))).collect();
    // Only sweeps that are clear: how long the others take depends on when one stops to look.
    let clear = |root: &JointBox| matches!(scene.judge(&ask(&pairs, root, Need::Verdict)), Ok(Verdict::Clear(_)));
    let sweeps: Vec<JointBox> = std::iter::repeat_with(|| sweep(dice)).filter(clear).take(SWEEPS).collect();
    let boxes: Vec<_> = sweeps.iter().map(|s| &s.0).collect();
    let told = json!({ "hinges": hinges, "parts": told, "margin": MARGIN, "sweeps": boxes });
    World { scene, pairs, sweeps, told }
}

/// From somewhere, 5 to 45 deg of one joint, half a degree of tolerance on all.
fn sweep(dice: &mut Dice) -> JointBox {
    let mut root = JointBox((0..6).map(|_| dice.whole(-90_000, 90_000)).map(|a| [a - 500, a + 500]).collect());
    root.0[dice.whole(0, 5) as usize][1] += dice.whole(5000, 45_000);
    root
}

fn ask<'a>(pairs: &'a [Pair], root: &JointBox, need: Need) -> Question<'a> {
    Question { pairs, root: root.clone(), splittable: &[0, 1, 2, 3, 4, 5], region: None, cap: 20_000, need }
}

/// Microseconds a sweep, how many were clear, how many evaluations those took.
fn run(worlds: &[World], need: Need) -> (f64, usize, u64) {
    let (mut clear, mut evaluations) = (0, 0);
    let started = Instant::now();
    for world in worlds {
        for root in &world.sweeps {
            if let Ok(Verdict::Clear(found)) = world.scene.judge(&ask(&world.pairs, root, need)) {
                clear += 1;
                evaluations += found.evaluations;
            }
        }
    }
    (started.elapsed().as_secs_f64() * 1e6 / (worlds.len() * SWEEPS) as f64, clear, evaluations)
}

fn peers(worlds: &[World]) -> Option<serde_json::Value> {
    let top = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = std::env::var("SUREHAND_PYTHON").unwrap_or_else(|_| top.join("target/outside/bin/python").display().to_string());
    let scenes = top.join("target/sweeps.json");
    let told: Vec<_> = worlds.iter().map(|w| &w.told).collect();
    std::fs::write(&scenes, serde_json::to_vec(&told).ok()?).ok()?;
    let script = top.join("tests/bench/sweep.py");
    let output = std::process::Command::new(python).arg(script).arg(scenes).env("OMP_NUM_THREADS", "1").output().ok()?;
    if !output.status.success() {
        println!("{}", String::from_utf8_lossy(&output.stderr));
    }
    serde_json::from_slice(&output.stdout).ok()
}

fn main() {
    let mut dice = Dice(12);
    let worlds: Vec<World> = (0..WORLDS).map(|_| world(&mut dice)).collect();
    let (mut verdicts, mut certificates) = (Vec::new(), Vec::new());
    let mut beside = Vec::new();
    let mut counts = (0, 0);
    for _ in 0..ROUNDS {
        let (us, clear, evaluations) = run(&worlds, Need::Verdict);
        counts = (clear, evaluations);
        verdicts.push(us);
        certificates.push(run(&worlds, Need::Certificate).0);
        beside.extend(peers(&worlds));
    }
    let middle = |times: &mut Vec<f64>| {
        times.sort_by(f64::total_cmp);
        times[times.len() / 2]
    };
    let (verdict, certificate) = (middle(&mut verdicts), middle(&mut certificates));
    let (clear, evaluations) = counts;
    println!("{} clear sweeps, medians of {ROUNDS} rounds, one core", WORLDS * SWEEPS);
    println!("surehand, verdict       {verdict:8.1} us a sweep, {clear} clear, {:.1} evaluations each", evaluations as f64 / clear as f64);
    println!("surehand, certificate   {certificate:8.1} us a sweep");
    match beside.last() {
        None => println!("pinocchio and coal are not there: tests/run installs them"),
        Some(last) => {
            let mut times: Vec<f64> = beside.iter().filter_map(|b| b["us"].as_f64()).collect();
            let us = middle(&mut times);
            println!("pinocchio and coal      {us:8.1} us a sweep, {} clear, {} distances", last["clear"], last["asked"]);
            println!("ratio {:.0} (verdict), {:.0} (certificate)", us / verdict, us / certificate);
        }
    }
}
