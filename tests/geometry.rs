//! Sweeps against the outside: a second opinion by dense sampling, bounds that are made wrong on purpose, and relations that
//! must hold between questions. `SUREHAND_LONG=1` asks a hundred times as much.

#![allow(clippy::print_stdout, reason = "what was counted is worth seeing: run with --no-capture")]

#[path = "geometry/sampler.rs"]
mod sampler;
#[path = "geometry/worlds.rs"]
mod worlds;

use sampler::Dice;
use surehand::geometry::body::Body;
use surehand::geometry::chain::{Chain, Hinge, JointBox, Mount};
use surehand::geometry::mesh::Mesh;
use surehand::geometry::region::{Course, Gate, Region};
use surehand::geometry::solid::Solid;
use surehand::geometry::sweep::{Clearance, Need, Pair, Question, Scene, Verdict, Zone};
use surehand::geometry::{Fault, Frame, Vec3, metres};
use worlds::{World, at, invented};

const MARGIN: i64 = 20_000;

/// Room beyond the margin, in metres, that must suffice for a certificate.
const ROOM: f64 = 0.002;

fn many(usual: usize) -> usize {
    if std::env::var("SUREHAND_LONG").is_ok_and(|v| v == "1") { usual * 100 } else { usual }
}

/// What is asked of a move: the joint that moves, and the box of true angles.
struct Move {
    joint: usize,
    root: JointBox,
}

fn a_move(world: &World, dice: &mut Dice) -> Move {
    let joints = world.scene.chain().joints();
    let joint = dice.whole(0, joints as i64 - 1) as usize;
    let tolerance = if dice.one_in(4) { 0 } else { dice.whole(0, 500) };
    let mut root = JointBox((0..joints).map(|_| dice.whole(-120_000, 120_000)).map(|a| [a - tolerance, a + tolerance]).collect());
    let length = match dice.whole(0, 4) {
        0 => 0,
        1 => dice.whole(1, 3000),
        _ => dice.whole(3000, 70_000),
    };
    root.0[joint][1] += length;
    Move { joint, root }
}

fn every(world: &World) -> Vec<usize> {
    (0..world.scene.chain().joints()).collect()
}

fn ask<'a>(pairs: &'a [Pair], root: &JointBox, splittable: &'a [usize]) -> Question<'a> {
    Question { pairs, root: root.clone(), splittable, region: None, cap: 50_000, need: Need::Certificate }
}

fn is_clear(world: &World, question: &Question<'_>) -> bool {
    matches!(world.scene.judge(question).unwrap(), Verdict::Clear(_))
}

/// The least distance among samples of a box and around the nearest of them: along the moving joint in steps, the idle ones
/// in the middle and at corners of their tolerance.
fn sampled(world: &World, m: &Move, steps: usize, corners: usize, dice: &mut Dice, enough: f64) -> f64 {
    let joints = m.root.0.len();
    let mut best = (enough, vec![0.5; joints]);
    let look = |share: Vec<f64>, best: &mut (f64, Vec<f64>)| {
        let found = world.nearest(&at(&m.root, |k| share[k]), best.0);
        if found < best.0 {
            *best = (found, share);
        }
    };
    for step in 0..=steps {
        let t = step as f64 / steps as f64;
        for corner in 0..corners {
            let bits = dice.next();
            let idle = |k: usize| if corner == 0 { 0.5 } else { (bits >> k & 1) as f64 };
            look((0..joints).map(|k| if k == m.joint { t } else { idle(k) }).collect(), &mut best);
        }
    }
    if best.0 < enough {
        for halved in 1..12 {
            for k in 0..joints {
                let step = 0.5_f64.powi(halved) / if k == m.joint { steps as f64 } else { 0.5 };
                for way in [-step, step] {
                    let mut share = best.1.clone();
                    share[k] = (share[k] + way).clamp(0.0, 1.0);
                    look(share, &mut best);
                }
            }
        }
    }
    best.0
}

#[derive(Debug, Default)]
struct Tally {
    clear: usize,
    near: usize,
    open: usize,
    lost: usize,
    evaluations: u64,
}

/// Judges a move and holds the verdict to the sampler: nothing cleared may be near, nothing may be called near that is not,
/// and what is not cleared is counted if there was room.
fn hold_to_samples(world: &World, m: &Move, question: &Question<'_>, effort: (usize, usize), dice: &mut Dice, tally: &mut Tally) {
    let margin = question.pairs[0].margin as f64 / 1e6;
    let judged = world.scene.judge(question).unwrap();
    if let Verdict::Clear(clear) = &judged {
        let found = sampled(world, m, effort.0, effort.1, dice, margin + 0.05);
        let least = clear.least.map_or(f64::INFINITY, |um| um as f64 / 1e6);
        assert!(found >= margin && found >= least.min(margin + 0.05), "cleared at {least}, sampled {found}: {:?}", m.root);
        tally.clear += 1;
        tally.evaluations += clear.evaluations;
    } else if let Verdict::Near(witness) = &judged {
        let deg: Vec<f64> = witness.angles.iter().map(|a| *a as f64 / 1000.0).collect();
        // A micrometre and a half for solids that were rounded and grown. Of bodies that lie nearly along each other the sampler may
        // stop before it has come down to the distance: then the two points must be on the bodies.
        let found = world.nearest(&deg, 1e3);
        let pair = &question.pairs[witness.pair];
        let off = world.off(&deg, pair.a, witness.on_a).max(world.off(&deg, pair.b, witness.on_b));
        let shown = off < 1.5e-6 && (witness.on_a - witness.on_b).length() < margin + 1.5e-6;
        assert!(found < margin + 1.5e-6 || shown, "said to be near, sampled {found}, points off by {off}: {witness:?}");
        assert!(question.root.contains(&JointBox::point(&witness.angles)));
        tally.near += 1;
    } else {
        tally.open += 1;
        let found = sampled(world, m, 4 * effort.0, 32, dice, margin + 0.05);
        tally.lost += usize::from(found > margin + ROOM);
    }
}

fn random_moves(seed: u64) {
    let mut dice = Dice(seed);
    let mut tally = Tally::default();
    for _ in 0..many(100) {
        let world = invented(&mut dice, 6, MARGIN);
        let all = every(&world);
        for _ in 0..50 {
            let m = a_move(&world, &mut dice);
            hold_to_samples(&world, &m, &ask(&world.pairs, &m.root, &all), (12, 2), &mut dice, &mut tally);
        }
    }
    println!("{tally:?}");
    assert!(tally.clear > many(1500) && tally.near > many(800), "the moves are too easy or too hard: {tally:?}");
    assert!(tally.lost * 200 <= tally.clear, "more than one in 200 moves with room is refused: {tally:?}");
}

#[test]
fn random_moves_agree_with_dense_samples() {
    random_moves(1);
}

#[test]
fn other_random_moves_agree_with_dense_samples() {
    random_moves(2);
}

/// A move whose least clearance is between nothing and a quarter of a metre, and what the sampler makes of it.
fn near_moves(dice: &mut Dice, count: usize, mut look: impl FnMut(&World, &Move, f64, &mut Dice)) {
    let mut seen = 0;
    while seen < count {
        let world = invented(dice, 8, MARGIN);
        for _ in 0..6 {
            let m = a_move(&world, dice);
            let found = sampled(&world, &m, 24, 6, dice, 0.25);
            if found > 0.003 && found < 0.25 {
                look(&world, &m, found, dice);
                seen += 1;
            }
        }
    }
}

#[test]
fn the_edge_of_acceptance_lies_where_samples_put_it() {
    let (mut lost, mut asked) = (0, 0);
    near_moves(&mut Dice(3), many(2000), |world, m, found, _| {
        let all = every(world);
        let um = (found * 1e6) as i64;
        // A micrometre for solids that were rounded and grown.
        for beyond in [2, 100, 10_000] {
            let pairs = world.with_margin(um + beyond);
            assert!(!is_clear(world, &ask(&pairs, &m.root, &all)), "cleared {beyond} um beyond {found}: {:?}", m.root);
        }
        let pairs = world.with_margin(um - 2000);
        asked += 1;
        lost += usize::from(!is_clear(world, &ask(&pairs, &m.root, &all)));
    });
    println!("{lost} of {asked} refused with 2 mm of room");
    assert!(lost * 200 <= asked, "{lost} of {asked} moves with 2 mm of room are refused");
}

#[test]
fn clearance_is_bounded_from_both_sides() {
    near_moves(&mut Dice(4), many(150), |world, m, found, _| {
        let all = every(world);
        let mut question = ask(&world.pairs, &m.root, &all);
        let mut got = world.scene.clearance(&question, 500).unwrap();
        assert!(got.lower as f64 / 1e6 <= found + 1e-9, "{got:?}, sampled {found}");
        // Half a millimetre, or a hundredth of what there is.
        let wide = |got: &Clearance| got.upper - got.lower > 502.max(got.upper / 100 + 2);
        if wide(&got) {
            // The cap may end it before; one as high as this never should.
            question.cap *= 100;
            got = world.scene.clearance(&question, 500).unwrap();
        }
        assert!(!wide(&got), "{got:?}");
        let (_, angles) = got.at.clone().unwrap();
        let deg: Vec<f64> = angles.iter().map(|a| *a as f64 / 1000.0).collect();
        // The angles are whole, the middle of a box may lie half a thousandth of a degree beside.
        assert!(world.nearest(&deg, 1e3) <= got.upper as f64 / 1e6 + 1e-4, "{got:?}");
    });
}

#[test]
fn the_farthest_clear_angle_is_clear_and_beyond_it_verdicts_hold() {
    let mut dice = Dice(5);
    let mut tally = Tally::default();
    let mut stopped = 0;
    while stopped < many(50) {
        let world = invented(&mut dice, 6, MARGIN);
        let all = every(&world);
        for _ in 0..6 {
            let mut m = a_move(&world, &mut dice);
            let (from, towards) = (m.root.0[m.joint][0], m.root.0[m.joint][0] + 70_000);
            let question = Question { cap: 4000, ..ask(&world.pairs, &m.root, &all) };
            let Some(last) = world.scene.farthest_clear(&question, m.joint, from, towards).unwrap() else { continue };
            for to in [last, last + 1, last + 100, last + 10_000] {
                m.root.0[m.joint] = [from, to];
                let question = ask(&world.pairs, &m.root, &all);
                assert!(to != last || is_clear(&world, &question));
                hold_to_samples(&world, &m, &question, (40, 3), &mut dice, &mut tally);
            }
            stopped += usize::from(last < towards);
        }
    }
    println!("{tally:?}");
}

#[test]
fn moves_of_two_joints_agree_with_executions_drawn_at_random() {
    let mut dice = Dice(6);
    let (mut clear, mut helped, mut hits) = (0, 0, 0);
    for _ in 0..many(60) {
        let world = invented(&mut dice, 3, MARGIN);
        let all = every(&world);
        for _ in 0..10 {
            let mut m = a_move(&world, &mut dice);
            let other = (m.joint + 1) % m.root.0.len();
            let courses = [m.joint, other].map(|joint| {
                let (from, up) = (dice.whole(-100_000, 100_000), dice.one_in(2));
                let to = from + if up { 1 } else { -1 } * dice.whole(2000, 40_000);
                let (band, hold, error) = (dice.whole(100, 500), dice.whole(0, 100), dice.whole(0, 100));
                Course { joint, up, start: [from - 150, from + 150], stop: [to - band, to + band], band, hold, error }
            });
            for c in &courses {
                let more = c.error + c.hold;
                m.root.0[c.joint] = [c.start[0].min(c.stop[0]) - more, c.start[1].max(c.stop[1]) + more];
            }
            let share = |c: &Course, t: f64| c.start[0] + ((c.stop[0] - c.start[0]) as f64 * t) as i64;
            let mut gates = Vec::new();
            if dice.one_in(2) {
                let (wait, past) = (dice.unit(), dice.unit());
                gates.push(Gate { waits: 1, at: share(&courses[1], wait), past: share(&courses[0], past) });
            }
            let region = Region { courses, first: (!dice.one_in(3)).then_some(0), gates };
            // A ball where the last carrier would be if the second joint went all the way before the first.
            let [first, second] = &region.courses;
            let mut early: Vec<f64> = at(&m.root, |_| 0.5);
            early[first.joint] = (first.start[0] + first.start[1]) as f64 / 2000.0;
            early[second.joint] = (second.stop[0] + second.stop[1]) as f64 / 2000.0;
            let spot = sampler::apply(&world.arm.place(&early)[m.root.0.len()], [0.0, 0.0, 0.1]);
            let world = world.and_ball(spot, 30_000, MARGIN);
            let question = Question { region: Some(&region), ..ask(&world.pairs, &m.root, &all) };
            let Verdict::Clear(_) = world.scene.judge(&question).unwrap() else { continue };
            clear += 1;
            helped += usize::from(!is_clear(&world, &ask(&world.pairs, &m.root, &all)));
            for _ in 0..60 {
                let deg = execution(&region, &m.root, &mut dice);
                let found = world.nearest(&deg, 1.0);
                assert!(found >= MARGIN as f64 / 1e6, "an execution at {deg:?} comes to {found}: {region:?}");
            }
            // The same draws see what is wrong where the order is not kept.
            let free = Region { first: None, gates: Vec::new(), ..region.clone() };
            let mut met = || world.nearest(&execution(&free, &m.root, &mut dice), 1.0) < MARGIN as f64 / 1e6;
            hits += usize::from((0..60).any(|_| met()));
        }
    }
    println!("{clear} cleared, {helped} of them by their order, {hits} seen to meet something without it");
    assert!(clear >= many(25) && helped >= many(25));
    assert!(hits > many(10), "without their order hardly any of them would have met the ball: {hits}");
}

/// True angles in degrees at some moment of one execution that keeps to the order.
fn execution(region: &Region, root: &JointBox, dice: &mut Dice) -> Vec<f64> {
    loop {
        let mut angles: Vec<f64> = root.0.iter().map(|[low, high]| dice.within(*low as f64, *high as f64)).collect();
        let (mut start, mut shown, mut done) = ([0.0; 2], [0.0; 2], [0.0; 2]);
        for (k, c) in region.courses.iter().enumerate() {
            // The read-out it starts from and the one it stops at; the true angle is off by an error, and by drift where it waits.
            start[k] = dice.within(c.start[0] as f64, c.start[1] as f64);
            let stop = dice.within(c.stop[0] as f64, c.stop[1] as f64);
            done[k] = if dice.one_in(3) { dice.whole(0, 1) as f64 } else { dice.unit() };
            shown[k] = start[k] + (stop - start[k]) * done[k];
            let off = (c.error + c.hold) as f64;
            angles[c.joint] = shown[k] + dice.within(-off, off);
        }
        let behind = |x: usize| done[x] < done[1 - x];
        let waits = |gate: &Gate| {
            let (y, x) = (gate.waits, 1 - gate.waits);
            let way = |k: usize| if region.courses[k].up { 1.0 } else { -1.0 };
            let beyond = (shown[y] - gate.at as f64) * way(y) > region.courses[y].band as f64 && shown[y] != start[y];
            beyond && (shown[x] - gate.past as f64) * way(x) < 0.0
        };
        if !region.first.is_some_and(behind) && !region.gates.iter().any(waits) {
            return angles.iter().map(|a| a / 1000.0).collect();
        }
    }
}

/// The largest margin in micrometres that is certified, with bounds of motion multiplied.
fn largest_margin(world: &World, m: &Move, most: i64, factor: f64) -> i64 {
    let all = every(world);
    let (mut good, mut bad) = (0, most);
    while bad - good > 20 {
        let middle = (good + bad) / 2;
        let pairs = world.with_margin(middle);
        let question = Question { need: Need::Verdict, ..ask(&pairs, &m.root, &all) };
        match world.scene.judge_scaled(&question, factor).unwrap() {
            Verdict::Clear(_) => good = middle,
            _ => bad = middle,
        }
    }
    good
}

#[test]
fn a_bound_of_motion_that_is_too_small_would_be_seen() {
    let factors = [1.0, 0.95, 0.9, 0.7, 0.0];
    let mut caught = [0; 5];
    let mut seen = 0;
    near_moves(&mut Dice(7), many(80), |world, m, _, dice| {
        let mut m = Move { joint: m.joint, root: m.root.clone() };
        let [low, high] = m.root.0[m.joint];
        m.root.0[m.joint] = [low, high.min(low + dice.whole(200, 9000))];
        let dense = sampled(world, &m, 1000, 1, dice, 0.3).min(sampled(world, &m, 20, 20, dice, 0.3));
        if dense > 0.29 {
            return;
        }
        seen += 1;
        let um = (dense * 1e6).ceil() as i64;
        for (caught, factor) in caught.iter_mut().zip(factors) {
            *caught += usize::from(largest_margin(world, &m, um + 50_000, factor) > um + 2);
        }
    });
    println!("of {seen} moves the dense minimum was passed by {caught:?} with bounds times {factors:?}");
    assert_eq!(caught[0], 0, "a true bound was passed");
    assert!(caught[1..].iter().all(|c| *c >= 5), "a wrong bound went unseen: {caught:?}");
}

#[test]
fn less_asked_stays_clear() {
    let (mut asked, mut capped) = (0, 0);
    near_moves(&mut Dice(8), many(120), |world, m, found, dice| {
        let all = every(world);
        let um = ((found - ROOM) * 1e6).max(300.0) as i64;
        let pairs = world.with_margin(um);
        if !is_clear(world, &ask(&pairs, &m.root, &all)) {
            return;
        }
        // What is clear may still lie within what is too close to call of the margin: that much less is asked.
        let less = world.with_margin(um - 201);
        // Another way of halving may reach the cap; one as high as this never should be.
        let mut clear = |pairs: &[Pair], root: &JointBox| {
            let question = ask(pairs, root, &all);
            asked += 1;
            is_clear(world, &question) || {
                capped += 1;
                is_clear(world, &Question { cap: question.cap * 100, ..question })
            }
        };
        assert!(clear(&less, &m.root), "a smaller margin");
        let fewer: Vec<Pair> = less.iter().filter(|_| !dice.one_in(3)).cloned().collect();
        assert!(clear(&fewer, &m.root), "fewer obstacles");
        let tighter = JointBox(m.root.0.iter().map(|[low, high]| [low + (high - low) / 5, high - (high - low) / 3]).collect());
        assert!(clear(&less, &tighter), "smaller tolerances");
        let [low, high] = m.root.0[m.joint];
        let cut = dice.whole(low, high);
        let part = |interval: [i64; 2]| {
            let mut root = m.root.clone();
            root.0[m.joint] = interval;
            root
        };
        assert!(clear(&less, &part([low, cut])) && clear(&less, &part([cut, high])), "a move in two parts");
    });
    println!("{capped} of {asked} questions met the cap");
    assert!(capped * 1000 <= asked, "{capped} of {asked} questions met the cap");
}

#[test]
fn the_same_scene_seen_otherwise_has_the_same_answers() {
    near_moves(&mut Dice(9), many(60), |world, m, found, _| {
        let all = every(world);
        let um = (found * 1e6) as i64;
        for mirrored in [false, true] {
            let scene = worlds::seen_otherwise(world, mirrored);
            for margin in [um - 2500, um + 500] {
                let pairs = world.with_margin(margin.max(0));
                let question = ask(&pairs, &m.root, &all);
                let clear = |v: Verdict| matches!(v, Verdict::Clear(_));
                let (one, two) = (world.scene.judge(&question).unwrap(), scene.judge(&question).unwrap());
                assert_eq!(clear(one), clear(two), "mirrored: {mirrored}, margin {margin}, sampled {found}: {:?}", m.root);
            }
        }
    });
}

#[test]
fn the_answer_does_not_depend_on_the_thread() {
    let mut dice = Dice(10);
    let world = invented(&mut dice, 6, MARGIN);
    let moves: Vec<Move> = (0..30).map(|_| a_move(&world, &mut dice)).collect();
    let all = every(&world);
    let judge = || moves.iter().map(|m| world.scene.judge(&ask(&world.pairs, &m.root, &all)).unwrap()).collect::<Vec<_>>();
    let here = judge();
    std::thread::scope(|scope| {
        let others: Vec<_> = (0..3).map(|_| scope.spawn(judge)).collect();
        others.into_iter().for_each(|other| assert_eq!(other.join().unwrap(), here));
    });
}

/// One joint about y that lifts what it carries (a positive angle lowers it); links are left out.
fn lever(carried: Body, fixed: Body) -> Scene {
    let chain = Chain::new(Mount::default(), vec![Hinge { axis: [0, 1, 0], origin: [0; 3], turn: [0; 3] }]).unwrap();
    Scene::new(chain, vec![fixed, carried]).unwrap()
}

fn judged(scene: &Scene, pair: Pair, root: [i64; 2]) -> Verdict {
    scene.judge(&ask(&[pair], &JointBox(vec![root]), &[0])).unwrap()
}

#[test]
fn a_touch_is_allowed_in_its_zone_alone() {
    // A can 100 mm high stands on a table, 1 m out; the lever lifts it.
    let can = Body::new(1, vec![Solid::cylinder([1_000_000, 0, 0], [1_000_000, 0, 100_000], 30_000).unwrap()]);
    let table = Body::new(0, vec![Solid::half_space([0; 3], [0, 0, 1]).unwrap()]);
    let scene = lever(can, table);
    let pair = |zones| Pair { zones, ..scene.pair(0, 1, 10_000) };
    let foot = [1_000_000, 0, 0];
    let zone = |within| Zone { point: foot, centre: foot, within };
    assert!(matches!(judged(&scene, pair(vec![]), [-20_000, 0]), Verdict::Near(w) if w.distance < 10_000));
    // The near rim is 0.97 m out: where the foot is 12 mm up it is 11.6 mm up, where that is 9 mm up it is 8.7 mm up.
    assert!(matches!(judged(&scene, pair(vec![zone(12_000)]), [-20_000, 0]), Verdict::Clear(_)));
    assert!(!matches!(judged(&scene, pair(vec![zone(9000)]), [-20_000, 0]), Verdict::Clear(_)));
}

#[test]
fn what_is_within_a_closed_mesh_is_not_clear_of_it() {
    let globe = worlds::globe(1.0, 40, 80);
    let small = |at: [i64; 3]| Body::new(1, vec![Solid::round(vec![at], 50_000).unwrap()]);
    let fixed = || globe.surface(0, &Frame::IDENTITY).unwrap();
    let verdict = |scene: &Scene, margin| judged(scene, scene.pair(0, 1, margin), [-90_000, 90_000]);
    assert!(matches!(verdict(&lever(small([500_000, 0, 0]), fixed()), 20_000), Verdict::Near(w) if w.distance == 0));
    assert!(matches!(verdict(&lever(small([1_500_000, 0, 0]), fixed()), 20_000), Verdict::Clear(c) if c.least.unwrap() < 451_000));
    // A mesh within a mesh, the other way round, and a mesh whose other half lies outside.
    let pea = worlds::globe(0.05, 12, 24);
    let carried = |at: [i64; 3]| pea.surface(1, &Frame::of(at, [0; 3])).unwrap();
    assert!(!matches!(verdict(&lever(carried([500_000, 0, 0]), fixed()), 20_000), Verdict::Clear(_)));
    let shell = globe.surface(1, &Frame::of([200_000, 0, 0], [0; 3])).unwrap();
    assert!(!matches!(verdict(&lever(shell, pea.surface(0, &Frame::of([0; 3], [0; 3])).unwrap()), 20_000), Verdict::Clear(_)));
    let both = Body { parts: [carried([500_000, 0, 0]).parts, carried([1_500_000, 0, 0]).parts].concat(), ..carried([0; 3]) };
    assert!(!matches!(verdict(&lever(both, fixed()), 20_000), Verdict::Clear(_)));
    // Open, inside out.
    let mut open = globe.clone();
    open.triangles.pop();
    assert!(matches!(open.check_closed(), Err(Fault::OpenMesh(..))));
    let mut turned = globe.clone();
    turned.triangles.iter_mut().for_each(|t| t.reverse());
    assert!(matches!(turned.check_closed(), Err(Fault::Degenerate(_))));
}

#[test]
fn large_meshes_are_asked_only_where_they_are_near() {
    // Two globes of 20,400 triangles each that pass at 0.1 m: 416 million pairs of triangles.
    let globe = worlds::globe(0.5, 103, 100);
    let scene = lever(
        globe.surface(1, &Frame::of([1_500_000, 0, 0], [0; 3])).unwrap(),
        globe.surface(0, &Frame::of([1_500_000, 1_100_000, 0], [0; 3])).unwrap(),
    );
    match judged(&scene, scene.pair(0, 1, 50_000), [-10_000, 10_000]) {
        Verdict::Clear(clear) => {
            println!("{} triangles, {} evaluations", globe.triangles.len(), clear.evaluations);
            assert!(clear.evaluations < 20_000, "{}", clear.evaluations);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_hull_holds_every_vertex_and_little_more() {
    let globe = worlds::globe(0.3, 24, 30);
    let hull = globe.hull().unwrap();
    for n in [Vec3::X, Vec3::new(0.6, 0.0, -0.8), Vec3::new(-0.48, 0.6, 0.64)] {
        let most = globe.vertices.iter().map(|v| metres(*v).dot(n)).fold(f64::MIN, f64::max);
        let over = hull.support(n) - most;
        assert!((-1e-12..2e-6).contains(&over), "{over}");
    }
    assert_eq!(hull.points().len(), globe.vertices.len());
    // Points within, on faces, in one plane, in one place: nothing is lost and nothing fails.
    let mut cube = worlds::box_mesh([100_000, 200_000, 1]);
    cube.vertices.extend([[0, 0, 0], [100_000, 3, 0], [99_999, 199_999, 0], [100_000, 200_000, 1]]);
    assert_eq!(cube.hull().unwrap().points().len(), 8);
    let one = Mesh { vertices: vec![[5, 5, 5]; 3], triangles: vec![[0, 1, 2]] };
    assert_eq!(one.hull().unwrap().points(), [[5, 5, 5]]);
}

#[test]
fn solids_that_are_moved_lose_nothing() {
    let mut dice = Dice(11);
    for _ in 0..2000 {
        let mut triple = |by: i64| [0; 3].map(|_| dice.whole(-by, by));
        let (at, turn, a, b) = (triple(2_000_000), triple(180_000), triple(300_000), triple(300_000));
        let radius = dice.whole(1, 200_000);
        let frame = Frame::of(at, turn);
        let solids =
            [Solid::round(vec![a, b], radius), Solid::cylinder(a, b, radius), Solid::cylinder([0; 3], [0, 0, 1 + radius / 1000], radius)];
        for solid in solids.into_iter().flatten() {
            let moved = solid.moved(&frame).unwrap();
            let n = Vec3::new(dice.within(-1.0, 1.0), dice.within(-1.0, 1.0), dice.within(-1.0, 1.0)).normalize();
            let back = frame.inverse().direction(n);
            let over = moved.support(n) - frame.at.dot(n) - solid.support(back);
            assert!(over > -1e-9, "{over}: {solid:?}");
        }
    }
}

#[test]
fn what_cannot_be_judged_is_refused() {
    let far = 1_000_000_001;
    assert!(matches!(Solid::round(vec![], 5), Err(Fault::Degenerate(_))));
    assert!(matches!(Solid::round(vec![[0, far, 0]], 5), Err(Fault::OutOfRange(_))));
    assert!(matches!(Solid::round(vec![[i64::MIN, 0, 0]], 5), Err(Fault::OutOfRange(_))));
    assert!(matches!(Solid::round(vec![[0; 3]], -1), Err(Fault::OutOfRange(_))));
    assert!(matches!(Solid::cylinder([1; 3], [1; 3], 5), Err(Fault::Degenerate(_))));
    assert!(matches!(Solid::half_space([0; 3], [0; 3]), Err(Fault::Degenerate(_))));
    let nowhere = Frame { at: Vec3::new(f64::NAN, 0.0, 0.0), ..Frame::IDENTITY };
    assert!(matches!(Solid::round(vec![[0; 3]], 5).unwrap().moved(&nowhere), Err(Fault::OutOfRange(_))));
    assert!(matches!(Chain::new(Mount::default(), vec![Hinge { axis: [0; 3], origin: [0; 3], turn: [0; 3] }]), Err(Fault::Degenerate(_))));
    let ball = |carrier| Body::new(carrier, vec![Solid::round(vec![[0; 3]], 5).unwrap()]);
    let scene = lever(ball(1), ball(0));
    assert!(Scene::new(scene.chain().clone(), vec![ball(2)]).is_err());
    let floor = Solid::half_space([0; 3], [0, 0, 1]).unwrap();
    assert!(Scene::new(scene.chain().clone(), vec![Body::new(1, vec![floor])]).is_err());
    let pair = [scene.pair(0, 1, 10)];
    let refused = |pairs: &[Pair], root: Vec<[i64; 2]>| scene.judge(&ask(pairs, &JointBox(root), &[0])).is_err();
    assert!(!refused(&pair, vec![[0, 10]]));
    assert!(refused(&pair, vec![]) && refused(&pair, vec![[10, 0]]) && refused(&pair, vec![[0, i64::MAX]]));
    assert!(refused(&[scene.pair(0, 7, 10)], vec![[0, 10]]) && refused(&[scene.pair(0, 0, 10)], vec![[0, 10]]));
    assert!(refused(&[scene.pair(0, 1, -1)], vec![[0, 10]]));
    assert!(scene.judge(&ask(&pair, &JointBox(vec![[0, 10]]), &[1])).is_err());
    assert!(scene.farthest_clear(&ask(&pair, &JointBox(vec![[0, 10]]), &[0]), 3, 0, 10).is_err());
}
