//! How far convex solids stand apart, against coal.

use super::references::stored;
use serde_json::Value;
use std::collections::BTreeMap;
use surehand::geometry::Vec3;
use surehand::geometry::body::Body;
use surehand::geometry::chain::{Chain, Hinge, JointBox, Mount};
use surehand::geometry::solid::{Form, Solid};
use surehand::geometry::sweep::{Need, Question, Scene, Verdict};
use surehand::units::trig;

/// How far a closed form may lie from the reference, in metres.
const ALIKE: f64 = 1e-9;

/// One pair of distances.json, with the library's direction from the first to the second where they stand apart.
pub(crate) struct Pair {
    pub(crate) kinds: (String, String),
    pub(crate) solids: [Solid; 2],
    pub(crate) distance: f64,
    pub(crate) normal: Option<Vec3>,
    /// The true distance is at most this much less.
    pub(crate) short: f64,
}

fn solid(value: &Value) -> Solid {
    let triple = |v: &Value| -> [i64; 3] {
        let list: Vec<i64> = v.as_array().expect("a list").iter().map(|x| x.as_i64().expect("a whole number")).collect();
        list.try_into().expect("three")
    };
    let points: Vec<[i64; 3]> = value["points"].as_array().expect("points").iter().map(triple).collect();
    let radius = value["radius"].as_i64().expect("a radius");
    match value["kind"].as_str().expect("a kind") {
        "cylinder" => Solid::cylinder(points[0], points[1], radius),
        "half-space" => Solid::half_space(points[0], triple(&value["normal"])),
        _ => Solid::round(points, radius),
    }
    .expect("a solid")
}

pub(crate) fn pairs() -> Vec<Pair> {
    let pair = |p: &Value| Pair {
        kinds: (p["a"]["kind"].as_str().expect("a kind").into(), p["b"]["kind"].as_str().expect("a kind").into()),
        solids: [solid(&p["a"]), solid(&p["b"])],
        distance: p["distance"].as_f64().expect("a distance"),
        normal: p.get("normal").map(super::robots::vector),
        short: p.get("short").and_then(Value::as_f64).unwrap_or(0.0),
    };
    stored("distances.py")["pairs"].as_array().expect("pairs").iter().map(pair).collect()
}

/// Along the direction that coal (PyPI `coal`) gives, the support functions leave exactly its distance between two solids;
/// and along no other direction more than it.
#[test]
fn supports_leave_the_distance_of_coal() {
    let (mut kinds, mut most, mut apart) = (BTreeMap::new(), 0.0_f64, 0);
    for pair in pairs() {
        let [a, b] = &pair.solids;
        *kinds.entry(pair.kinds.clone()).or_insert(0) += 1;
        let gap = |n: Vec3| -b.support(-n) - a.support(n);
        // A half-space is bounded along its own normal only, to the last bit.
        let tilted = |n: Vec3| if b.is_half_space() { -b.direction() } else { n };
        if let Some(n) = pair.normal {
            let off = (gap(tilted(n)) - pair.distance).abs();
            assert!(off < pair.short + ALIKE, "{:?}: {off:e} from {}", pair.kinds, pair.distance);
            (most, apart) = (most.max(off), apart + 1);
        }
        for i in 0..200 {
            let (u, v) = (f64::from(i) * 0.618_033_988_75 % 1.0 * 2.0 - 1.0, f64::from(i) * 2.399_963);
            let level = (1.0 - u * u).sqrt();
            let n = tilted(Vec3::new(level * trig::cos(v), level * trig::sin(v), u));
            assert!(gap(n) <= pair.distance + ALIKE, "{:?}: {n} leaves {} of {}", pair.kinds, gap(n), pair.distance);
        }
    }
    assert_eq!(kinds.len(), 27);
    println!("{apart} pairs apart, {} overlapping, most {most:.1e} m off", pairs().len() - apart);
}

/// A solid as it looks from a frame that is turned a quarter about z.
fn turned_back(solid: &Solid) -> Solid {
    let back = |[x, y, z]: [i64; 3]| [y, -x, z];
    let points: Vec<[i64; 3]> = solid.points().iter().map(|p| back(*p)).collect();
    match solid.form() {
        Form::Round => Solid::round(points, solid.radius()),
        Form::Cylinder => Solid::cylinder(points[0], points[1], solid.radius()),
        Form::HalfSpace { normal } => Solid::half_space(points[0], back(normal)),
    }
    .expect("a solid")
}

/// What is certified of two solids, one carried by a joint that stands at a quarter turn: the clearance is never above the
/// distance of coal and at most 10 um below it; at a margin a micrometre above it nothing passes, and 0.3 mm below it all.
#[test]
fn certified_clearances_are_never_above_the_distance_of_coal() {
    let (mut below, mut closed, mut clear, mut refused) = (0.0_f64, 0.0_f64, 0, 0);
    for pair in pairs() {
        let [a, b] = &pair.solids;
        // What is endless belongs to the cell.
        let (fixed, moved) = if b.is_half_space() { (b, a) } else { (a, b) };
        let hinge = Hinge { axis: [0, 0, 1], origin: [0; 3], turn: [0; 3] };
        let chain = Chain::new(Mount::default(), vec![hinge]).expect("a chain");
        let bodies = vec![Body::new(0, vec![fixed.clone()]), Body::new(1, vec![turned_back(moved)])];
        let scene = Scene::new(chain, bodies).expect("a scene");
        let judged = |margin: i64| {
            let asked = [scene.pair(0, 1, margin)];
            let root = JointBox::point(&[90_000]);
            let question = Question { pairs: &asked, root, splittable: &[0], region: None, cap: 1000, need: Need::Certificate };
            let room = scene.clearance(&question, 0).expect("a clearance");
            (room, scene.judge(&question).expect("a verdict"))
        };
        let um = (pair.distance * 1e6).max(0.0);
        let (room, at_all) = judged(um.ceil() as i64 + 1);
        assert!(!matches!(at_all, Verdict::Clear(_)), "{:?}: passed above {um} um", pair.kinds);
        refused += 1;
        let lower = room.lower as f64;
        assert!(lower <= um + 1e-3, "{:?}: {lower} um of {um} um", pair.kinds);
        if pair.normal.is_some() {
            assert!(lower >= um - 10.0 && room.upper as f64 >= um - pair.short * 1e6 - 1e-3, "{:?}: {room:?} of {um} um", pair.kinds);
            below = below.max(um - lower);
            let flat = |kind: &str| ["capsule", "sphere", "half-space"].contains(&kind);
            if flat(&pair.kinds.0) && flat(&pair.kinds.1) {
                closed = closed.max(um - lower);
            }
            if um > 400.0 {
                let (_, verdict) = judged(um as i64 - 300);
                assert!(matches!(verdict, Verdict::Clear(_)), "{:?} at {um} um: {verdict:?}", pair.kinds);
                clear += 1;
            }
        }
    }
    assert!(clear > 130 && refused == 162, "{clear} {refused}");
    println!("{refused} pairs refused above, {clear} passed below; at most {below:.2} um short, closed forms {closed:.2} um");
}
