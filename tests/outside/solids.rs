//! How far convex solids stand apart, against coal.

use super::references::stored;
use serde_json::Value;
use std::collections::BTreeMap;
use surehand::geometry::Vec3;
use surehand::geometry::solid::Solid;
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
