//! The independent checker: it accepts the certificates of the worked library and refuses every corrupted one.
//!
//! A corruption is made on pieces of the library's compiled procedures: runs of steps cut out so that they stand alone, each
//! accepted before anything is changed. A change that may leave a valid certificate is passed over only for a reason that is
//! computed here, with the prover's geometry and not with the auditor's, and counted by that reason.

mod common;
#[path = "audit/corrupt.rs"]
mod corrupt;
#[path = "audit/pieces.rs"]
mod pieces;

use corrupt::{KINDS, Random};
use pieces::{Piece, bytes, library, pieces, whole};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;
use surehand::audit::audit;
use surehand::compiled::Compiled;
use surehand::compiled::space::{BodyKind, Node, Part, Plane, Triple};

/// Whether the auditor refuses, and if so what it says first.
fn refusal(bytes: &[u8]) -> Option<String> {
    match audit(bytes, &mut |_, _| {}) {
        Err(what) => Some(what),
        Ok(report) if !report.space => Some("no scene".to_string()),
        Ok(report) => report.refusals.first().map(|r| format!("{:?} {:?} {:?}: {}", r.step, r.state, r.pair, r.reason)),
    }
}

#[test]
fn every_certificate_of_the_library_holds() {
    let mut sweeps = 0;
    for (name, compiled) in library() {
        let report = audit(&bytes(&compiled), &mut |_, _| {}).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(report.refusals, [], "{name}");
        let moving = |s: &&surehand::compiled::Step| !s.sweeps.is_empty();
        let due: usize = compiled.steps.iter().filter(moving).map(|s| s.before.len()).sum();
        assert_eq!(report.sweeps, due as u64, "{name}");
        sweeps += due;
    }
    assert!(sweeps > 100, "{sweeps}");
}

/// How many corrupted certificates are made; more on request: `AUDIT_CASES=1000000 cargo test --release --test audit`.
fn wanted() -> usize {
    std::env::var("AUDIT_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(10_000)
}

#[test]
#[allow(clippy::print_stdout, reason = "the counts are what this test measures")]
fn every_corrupted_certificate_is_refused() {
    let (pieces, wholes) = (pieces(), whole());
    assert!(pieces.len() > 40, "only {} pieces", pieces.len());
    let wanted = wanted();
    // Kinds about the ways between steps are made on whole procedures, which take longer, so fewer of them.
    let quota = wanted.div_ceil(KINDS.iter().filter(|k| !k.whole).count());
    let made: Vec<_> = KINDS
        .par_iter()
        .enumerate()
        .map(|(k, kind)| {
            let on: &[Piece] = if kind.whole { &wholes } else { &pieces };
            let quota = if kind.whole { quota.min(40) } else { quota };
            let (mut seen, mut passed, mut let_through) = (BTreeSet::new(), BTreeMap::<&str, usize>::new(), Vec::new());
            let mut reasons = BTreeMap::<String, usize>::new();
            for draw in 0..quota as u64 * 8 {
                if seen.len() >= quota {
                    break;
                }
                let mut random = Random::new(k as u64, draw);
                let piece = random.of(on);
                let corrupted = match kind.make(piece, &mut random) {
                    Ok(bytes) => bytes,
                    Err(why) => {
                        *passed.entry(why).or_default() += 1;
                        continue;
                    }
                };
                if !seen.insert(digest(&corrupted)) {
                    continue;
                }
                match refusal(&corrupted) {
                    Some(why) => *reasons.entry(why.rsplit(": ").next().unwrap_or_default().to_string()).or_default() += 1,
                    None => let_through.push(format!("{} of {} in draw {draw}", kind.name, piece.name)),
                }
            }
            let most = reasons.into_iter().max_by_key(|(_, n)| *n).map_or_else(String::new, |(why, _)| why);
            (kind.name, seen.len(), passed, let_through, most)
        })
        .collect();
    let total: usize = made.iter().map(|m| m.1).sum();
    for (name, count, passed, _, most) in &made {
        println!("{count:>6} {name} ({most}){}", passed.iter().map(|(why, n)| format!("; passed over {n}: {why}")).collect::<String>());
    }
    println!("{total:>6} corrupted certificates of {} kinds", made.len());
    let let_through: Vec<_> = made.iter().flat_map(|m| &m.3).collect();
    assert!(let_through.is_empty(), "{} let through: {:#?}", let_through.len(), &let_through[..let_through.len().min(20)]);
    assert!(total >= wanted, "only {total} of {wanted} could be made");
    for (name, count, ..) in &made {
        assert!(*count >= 10, "{name}: only {count} were made");
    }
}

fn digest(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3))
}

#[test]
fn what_is_no_compiled_procedure_is_refused_in_its_form() {
    let pieces = pieces();
    let whole = String::from_utf8(bytes(&pieces[0].compiled)).expect("text");
    assert_eq!(refusal(whole.as_bytes()), None);
    for (bad, word) in [
        (String::new(), "JSON"),
        ("{}".to_string(), "no schema"),
        ("[".repeat(100_000), "JSON"),
        (whole.replace("surehand-compiled/2", "surehand-compiled/1"), "surehand-compiled/1"),
        (whole.replacen("\"margin\":", "\"margin\":1.5,\"x\":", 1), "invalid type"),
        (whole.replacen("\"margin\":", "\"margin\":NaN,\"x\":", 1), "JSON"),
        (whole.replacen("\"margin\":", "\"margin\":1e999,\"x\":", 1), "out of range"),
        (whole.replacen("\"margin\":", "\"margin\":99999999999,\"x\":", 1), "too large"),
        (whole.replacen("\"margin\":", "\"margin\":1,\"margin\":", 1), "duplicate"),
        (whole.replacen("\"margin\":", "\"marign\":1,\"margin\":", 1), "unknown field"),
        (whole.replacen("\"number\":", "\"nubmer\":", 1), "unknown field"),
        (whole[..whole.len() / 2].to_string(), "JSON"),
        (format!("{whole}{{}}"), "JSON"),
    ] {
        let said = refusal(bad.as_bytes()).unwrap_or_default();
        assert!(said.contains(word), "wanted {word:?}: {said}");
    }
    // A word with many digits is no number.
    let long = whole.replacen("\"words\":\"", "\"words\":\"123456789012345 \\\" 123456789012345 ", 1);
    assert_eq!(refusal(long.as_bytes()), None);
}

/// The box of a piece's obstacle turned into triangles; its planes then hold each of them.
fn as_mesh(compiled: &Compiled) -> Option<Compiled> {
    let mut out = compiled.clone();
    let space = out.space.as_mut()?;
    let used = |i: usize| {
        compiled.steps.iter().flat_map(|s| &s.sweeps).flat_map(|s| &s.nodes).flat_map(|n| &n.planes).any(|p| p.a == i || p.b == i)
    };
    let at =
        space.bodies.iter().enumerate().position(|(i, b)| {
            used(i) && b.carrier == 0 && matches!(&b.parts[..], [Part::Round { points, radius: 0 }] if points.len() == 8)
        })?;
    let Part::Round { points, .. } = &space.bodies[at].parts[0] else { return None };
    let ends = |k: usize| (points.iter().map(|p| p[k]).min().unwrap_or(0), points.iter().map(|p| p[k]).max().unwrap_or(0));
    let [x, y, z] = [ends(0), ends(1), ends(2)];
    points
        .iter()
        .all(|p| [p[0] == x.0 || p[0] == x.1, p[1] == y.0 || p[1] == y.1, p[2] == z.0 || p[2] == z.1] == [true; 3])
        .then_some(())?;
    space.bodies[at].parts = cuboid(x, y, z).into_iter().map(|t| Part::Round { points: t.to_vec(), radius: 0 }).collect();
    space.bodies[at].mesh = true;
    for plane in out.steps.iter_mut().flat_map(|s| &mut s.sweeps).flat_map(|s| &mut s.nodes).flat_map(|n| &mut n.planes) {
        if plane.a == at {
            plane.a_part = None;
        } else if plane.b == at {
            plane.b_part = None;
        }
    }
    Some(out)
}

/// Twelve triangles, each against the clock as seen from outside.
fn cuboid(x: (i64, i64), y: (i64, i64), z: (i64, i64)) -> Vec<[Triple; 3]> {
    let at = |i: usize| [[x.0, x.1][i & 1], [y.0, y.1][i >> 1 & 1], [z.0, z.1][i >> 2 & 1]];
    let sides = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    sides.iter().flat_map(|[a, b, c, d]| [[at(*a), at(*b), at(*c)], [at(*a), at(*c), at(*d)]]).collect()
}

/// Four frauds on a procedure of three steps, each refused for what it is.
#[test]
fn a_small_procedure_corrupted_by_hand_is_refused() {
    let steps = "1. `power on arm`\n2. `base left to +30 deg`\n3. `elbow extend to 90 deg`\n4. `wrist-pitch lower to -20 deg`\n";
    let (examined, files) = common::examine(&common::Case::steps(steps));
    let good = examined.compile(&files);
    assert_eq!(refusal(&bytes(&good)), None);
    let refused = |how: &dyn Fn(&mut Compiled), why: &str| {
        let mut bad = good.clone();
        how(&mut bad);
        let said = refusal(&bytes(&bad)).unwrap_or_default();
        assert!(said.contains(why), "wanted {why:?}: {said}");
    };
    refused(&|c| c.steps[3].sweeps.clear(), "its motion has no certificate");
    refused(&|c| c.steps[2].sweeps[0].within[2][1] -= 100, "its box is not what follows");
    // The step starts in less than the one before it leaves, its box with it.
    let narrowed = |c: &mut Compiled| {
        c.steps[2].before[0].joints[0].low += 300;
        c.steps[2].sweeps[0].within[0][0] += 300;
    };
    refused(&narrowed, "in a state that it was not checked from");
    let turned = |c: &mut Compiled| {
        let nodes = c.steps.iter_mut().flat_map(|s| &mut s.sweeps).flat_map(|s| &mut s.nodes);
        let plane = nodes.flat_map(|n| &mut n.planes).next().expect("a plane");
        plane.n = plane.n.map(|c| -c);
    };
    refused(&turned, "a plane does not hold them apart");
}

#[test]
fn a_mesh_that_is_open_turned_or_around_the_arm_is_refused() {
    let meshes: Vec<Compiled> = pieces().iter().filter_map(|p| as_mesh(&p.compiled)).filter(|c| refusal(&bytes(c)).is_none()).collect();
    assert!(meshes.len() >= 5, "only {} pieces with a mesh", meshes.len());
    let mut random = Random::new(77, 0);
    let mut refused = 0;
    for mesh in &meshes {
        let change = |how: &dyn Fn(&mut Vec<Part>)| {
            let mut other = mesh.clone();
            let body = other.space.as_mut().and_then(|s| s.bodies.iter_mut().find(|b| b.mesh)).expect("a mesh");
            how(&mut body.parts);
            other
        };
        let n = random.below(12);
        let flip = |parts: &mut Vec<Part>| {
            if let Part::Round { points, .. } = &mut parts[n] {
                points.swap(0, 1);
            }
        };
        let shift = |parts: &mut Vec<Part>| {
            if let Part::Round { points, .. } = &mut parts[n] {
                points[0][0] += 1;
            }
        };
        let open = [
            change(&|parts| drop(parts.remove(n))),
            change(&|parts| parts.push(parts[n].clone())),
            change(&flip),
            change(&shift),
            change(&|parts| parts[n] = Part::Round { points: vec![[0; 3]], radius: 1 }),
        ];
        for other in open {
            let said = refusal(&bytes(&other)).expect("an open surface is refused");
            assert!(said.contains("no closed surface"), "{said}");
            refused += 1;
        }
    }
    assert!(refused >= 25);
    // A closed surface 40 m around everything, with planes that hold each side of it from every part of every other body.
    let mut shell = meshes.iter().find(|m| !m.steps[0].sweeps.is_empty()).expect("a piece that begins with a motion").clone();
    let space = shell.space.as_mut().expect("a scene");
    let at = space.bodies.iter().position(|b| b.mesh).expect("a mesh");
    let far = (-40_000_000, 40_000_000);
    space.bodies[at].parts = cuboid(far, far, far).into_iter().map(|t| Part::Round { points: t.to_vec(), radius: 0 }).collect();
    let normals: Vec<Triple> =
        [[0, 0, 1], [0, 0, -1], [0, 1, 0], [0, -1, 0], [1, 0, 0], [-1, 0, 0]].into_iter().flat_map(|n| [n, n]).collect();
    let there: Vec<usize> =
        (0..space.bodies.len()).filter(|i| space.bodies[*i].carrier > 0 && matches!(space.bodies[*i].kind, BodyKind::Link)).collect();
    let step = &mut shell.steps[0];
    let held = step.before[0].held.as_ref().and_then(|h| h.body);
    let tools = (0..space.bodies.len())
        .filter(|i| matches!(space.bodies[*i].kind, BodyKind::Tool) && Some(&space.bodies[*i].name) == step.before[0].tool.as_ref());
    let moving: Vec<usize> = there.iter().copied().chain(held).chain(tools).collect();
    let planes = |mesh: usize| -> Vec<Plane> {
        let of =
            |i: usize| normals.iter().enumerate().map(move |(side, n)| Plane { a: i, a_part: None, b: mesh, b_part: Some(side), n: *n });
        moving.iter().flat_map(|i| of(*i)).collect()
    };
    shell.steps.truncate(1);
    for sweep in &mut shell.steps[0].sweeps {
        for node in &mut sweep.nodes {
            node.planes.retain(|p| p.a != at && p.b != at);
        }
        sweep.least = space.margin;
        sweep.nodes[0].planes.extend(planes(at));
    }
    assert!(!shell.steps[0].sweeps.is_empty());
    let report = audit(&bytes(&shell), &mut |_, _| {}).expect("a readable file");
    let reasons: BTreeSet<&str> = report.refusals.iter().map(|r| r.reason.as_str()).collect();
    assert_eq!(reasons, BTreeSet::from(["one lies within the closed surface of the other"]), "{:#?}", report.refusals);
}

#[test]
fn a_tree_is_gone_through_to_its_end_whatever_its_shape() {
    // A tree as deep as the file is long does not overflow the stack.
    let mut piece = pieces().into_iter().find(|p| !p.compiled.steps[0].sweeps.is_empty()).expect("a piece").compiled;
    let sweep = &mut piece.steps[0].sweeps[0];
    let joint = (0..sweep.within.len()).max_by_key(|j| sweep.within[*j][1] - sweep.within[*j][0]).expect("a joint");
    let [low, high] = sweep.within[joint];
    let cut = |at| Node { split: Some(surehand::compiled::space::Split { joint, at }), ..Node::default() };
    sweep.nodes = (low + 1..high.min(low + 2_000)).rev().map(cut).collect();
    assert!(refusal(&bytes(&piece)).is_some());
}

fn run(args: &[&str]) -> (Option<i32>, String, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_surehand")).args(args).output().expect("the program");
    let text = |b: &[u8]| String::from_utf8_lossy(b).into_owned();
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}

#[test]
fn the_command_says_what_it_found_and_what_it_took_as_stated() {
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).expect("written");
        path.to_str().expect("a path").to_string()
    };
    let (name, compiled) = library().into_iter().min_by_key(|(_, c)| c.steps.len()).expect("a procedure");
    let good = put("good.json", &bytes(&compiled));
    let models = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures");
    let (code, out, err) = run(&["audit", &good, "--models", models]);
    assert_eq!(code, Some(0), "{out}{err}");
    assert!(err.contains("every move's certificate holds: ") && out.contains("same digest: arm"), "{out}{err}");
    assert!(out.contains("taken as stated: the scene"), "{out}");
    let (code, out, _) = run(&["audit", &good]);
    assert_eq!((code, out.contains("not compared: arm")), (Some(0), true), "{out}");

    // A scene that is smaller everywhere than the model files say has valid certificates; only the procedure tells.
    let source = format!("{models}/{name}.md");
    let (code, out, err) = run(&["audit", &good, "--source", &source]);
    assert!(code == Some(0) && out.contains("same scene") && !out.contains("taken as stated"), "{out}{err}");
    let mut smaller = compiled.clone();
    let wall = smaller.space.as_mut().and_then(|s| s.bodies.iter_mut().find(|b| matches!(b.parts[0], Part::HalfSpace { .. })));
    if let Part::HalfSpace { point, normal } = &mut wall.expect("a wall").parts[0] {
        (0..3).for_each(|k| point[k] -= normal[k].signum() * 1_000_000);
    }
    let smaller = put("smaller.json", &bytes(&smaller));
    assert_eq!(run(&["audit", &smaller]).0, Some(0));
    let (code, out, _) = run(&["audit", &smaller, "--source", &source]);
    assert!(code == Some(1) && out.contains("makes another file") && out.contains("space.bodies["), "{out}");

    let mut bad = compiled.clone();
    let step = bad.steps.iter_mut().find(|s| !s.sweeps.is_empty()).expect("a move");
    step.sweeps.clear();
    let number = step.number.clone();
    let bad = put("bad.json", &bytes(&bad));
    let (code, out, err) = run(&["audit", &bad]);
    assert_eq!(code, Some(1));
    assert!(
        out.contains(&format!("refused: step {number}, state 1: its motion has no certificate")) && err.contains("refused"),
        "{out}{err}"
    );
    let (code, out, _) = run(&["audit", &bad, "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!((code, &json["holds"], &json["schema"]), (Some(1), &false.into(), &"surehand-audit/1".into()));
    assert_eq!(json["report"]["refusals"][0]["step"], number);

    let mut empty = compiled.clone();
    empty.space = None;
    empty.steps.iter_mut().for_each(|s| s.sweeps.clear());
    let empty = put("empty.json", &bytes(&empty));
    let (code, _, err) = run(&["audit", &empty]);
    assert!(code == Some(1) && err.contains("nothing to audit in space"), "{err}");
    assert_eq!(run(&["audit", &empty, "--without-space"]).0, Some(0));

    let mut other = compiled;
    other.models[0].digest = Some("0".repeat(64));
    let other = put("other.json", &bytes(&other));
    let (code, out, _) = run(&["audit", &other, "--models", models]);
    assert!(code == Some(1) && out.contains("no file there has the digest"), "{out}");

    let torn = put("torn.json", b"{\"schema\": \"surehand-compiled/2\"");
    for path in [&torn, "nowhere.json", folder.path().to_str().expect("a path")] {
        let (code, out, err) = run(&["audit", path]);
        assert!(code == Some(3) && out.is_empty() && err.lines().count() == 1, "{path}: {code:?} {err}");
    }
    assert_eq!(run(&["audit", &good, "--models", "nowhere"]).0, Some(3));
}
