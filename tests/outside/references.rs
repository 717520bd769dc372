//! Reference values that other libraries computed, and that they still compute them.
//!
//! Each file is the output of the script of the same name. `UPDATE_OUTSIDE=1` writes it anew.

use super::{root, script};
use serde_json::Value;

/// The scripts, how far two runs of one may lie apart (of the value, or of one where it is smaller), and how many numbers
/// are in each at least. coal stops where its next step would be some 1e-12.
const SCRIPTS: [(&str, f64, usize); 2] = [("poses.py", 1e-12, 2000), ("distances.py", 1e-9, 4000)];

/// The stored output of `NAME.py`.
pub(crate) fn stored(name: &str) -> Value {
    let path = root().join("tests/outside").join(name).with_extension("json");
    serde_json::from_str(&std::fs::read_to_string(path).expect("it is stored")).expect("JSON")
}

/// How many numbers two trees share; or the place where they differ.
fn same(a: &Value, b: &Value, near: f64, at: &str) -> Result<usize, String> {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) if a.keys().eq(b.keys()) => {
            a.iter().zip(b.values()).map(|((key, a), b)| same(a, b, near, &format!("{at}.{key}"))).sum()
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().map(|(i, (a, b))| same(a, b, near, &format!("{at}[{i}]"))).sum()
        }
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().expect("a double"), y.as_f64().expect("a double"));
            if (x - y).abs() <= near * x.abs().max(1.0) { Ok(1) } else { Err(format!("{at}: {x} is stored, {y} comes out")) }
        }
        _ if a == b => Ok(0),
        _ => Err(format!("{at}: {a} is stored, {b} comes out")),
    }
}

/// pinocchio (PyPI `pin`) and coal (PyPI `coal`) still give the values that are stored.
#[test]
fn reference_values_come_out_again() {
    for (name, near, least) in SCRIPTS {
        let said = script(name, &[]).unwrap_or_else(|e| panic!("{name}: {e}"));
        if std::env::var_os("UPDATE_OUTSIDE").is_some() {
            std::fs::write(root().join("tests/outside").join(name).with_extension("json"), &said).expect("can be written");
        }
        let fresh: Value = serde_json::from_str(&said).expect("JSON");
        let count = same(&stored(name), &fresh, near, "").unwrap_or_else(|e| panic!("{name}: {e} (UPDATE_OUTSIDE=1 stores it)"));
        assert!(count > least, "{name}: {count} numbers");
        println!("{name}: {count} numbers to {near:e}");
    }
}

/// The comparison sees one digit, one name and one element too many.
#[test]
fn a_changed_reference_is_seen() {
    let whole = serde_json::json!({"a": [1.0, 2.0], "b": {"c": "x", "d": 4e3}});
    assert_eq!(same(&whole, &whole, 1e-12, ""), Ok(3));
    for changed in [
        serde_json::json!({"a": [1.0, 2.000_000_000_01], "b": {"c": "x", "d": 4e3}}),
        serde_json::json!({"a": [1.0, 2.0, 3.0], "b": {"c": "x", "d": 4e3}}),
        serde_json::json!({"a": [1.0, 2.0], "b": {"c": "y", "d": 4e3}}),
        serde_json::json!({"a": [1.0, 2.0], "b": {"c": "x", "e": 4e3}}),
    ] {
        assert!(same(&whole, &changed, 1e-12, "").is_err(), "{changed}");
    }
}
