//! Tags of a print: what a reader who does not see the page is told, in which order.

use super::{demo, kept, told};
use crate::library::DEMOS;
use serde_json::Value;

/// The words of the structure, as poppler tells them: white space single.
fn spoken(structure: &str) -> String {
    let words = structure.lines().filter_map(|l| l.trim_start().strip_prefix('"'));
    let words: Vec<&str> = words.map(|l| l.strip_suffix('"').unwrap_or(l)).collect();
    words.join(" ").replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What must be told of each step: its number, then the joint with its direction and the angles of each move.
fn expected(json: &[u8]) -> Vec<(String, Vec<String>)> {
    fn moves(node: &Value, out: &mut Vec<String>) {
        match node {
            // Of two joints the one that leads comes first.
            Value::Object(map) if map.contains_key("motions") => {
                let leads = map.get("first").filter(|f| !f.is_null()).or_else(|| map.get("gates")?.get(0)?.get("until"));
                let mut motions: Vec<&Value> = map["motions"].as_array().expect("moves").iter().collect();
                motions.sort_by_key(|m| leads.is_some_and(|leads| m["joint"] != *leads));
                motions.into_iter().for_each(|m| moves(m, out));
            }
            Value::Object(map) => match (map.get("engraved"), map.get("direction")) {
                (Some(joint), Some(direction)) => {
                    let text = |v: &Value| v.as_str().expect("text").to_owned();
                    out.push(format!("{} {}", text(joint), text(direction).to_uppercase()));
                    if map["ends"] == "target" {
                        out.extend(["target", "low", "high"].map(|k| text(&map[k]["text"])));
                    }
                }
                _ => map.values().for_each(|v| moves(v, out)),
            },
            Value::Array(list) => list.iter().for_each(|v| moves(v, out)),
            _ => {}
        }
    }
    let data: Value = serde_json::from_slice(json).expect("JSON");
    let steps = data["steps"].as_array().expect("steps");
    let one = |step: &Value| {
        let mut out = Vec::new();
        moves(&step["act"], &mut out);
        (step["number"].as_str().expect("a number").to_owned(), out)
    };
    steps.iter().map(one).collect()
}

/// The first thing that is not told behind the one before it.
fn missing(spoken: &str, steps: &[(String, Vec<String>)]) -> Option<String> {
    let mut at = 0;
    for (number, values) in steps {
        for value in std::iter::once(number).chain(values) {
            let Some(found) = spoken[at..].find(value.as_str()) else { return Some(format!("step {number}: {value}")) };
            at += found + value.len();
        }
    }
    None
}

#[test]
fn the_structure_tells_every_step_in_order() {
    for name in DEMOS {
        let (pdf, json) = demo(name);
        let (_folder, path) = kept(&pdf);
        let structure = String::from_utf8(told("pdfinfo", &["-struct-text", "PDF"], &path)).expect("text");
        let (words, steps) = (spoken(&structure), expected(&json));
        assert!(steps.len() >= 9 && steps.iter().any(|s| s.1.len() >= 4), "{name}");
        assert_eq!(missing(&words, &steps), None, "{name}");
        // A print that told two steps the other way round would be noticed.
        let moved = steps.iter().position(|s| s.1.len() >= 4).expect("a move");
        let mut turned = steps.clone();
        turned.swap(0, moved);
        assert!(missing(&words, &turned).is_some(), "{name}");
        // Nothing is told twice: neither running heads nor heads that are repeated on a later page.
        let data: Value = serde_json::from_slice(&json).expect("JSON");
        let title = data["identity"]["title"].as_str().expect("a title");
        assert_eq!(words.matches(title).count(), 1, "{name}: {title}");
        assert!(!words.contains("(continued)"), "{name}");
        let told = String::from_utf8(told("pdfinfo", &["PDF"], &path)).expect("text");
        assert!(told.lines().any(|l| l.starts_with("Tagged:") && l.ends_with("yes")), "{name}: {told}");
        let count = |kind: &str| structure.lines().filter(|l| l.trim_start().split([' ', ':']).next() == Some(kind)).count();
        for kind in ["Sect", "H1", "P", "L", "LI", "Lbl", "LBody", "Table", "TR", "TH", "TD", "Form"] {
            assert!(count(kind) > 0, "{name} has no {kind}");
        }
        assert_eq!(count("Lbl"), steps.len() - panels(&data), "{name}: a number for each row");
    }
}

/// Steps that are boxes, not rows: their number stands in the title.
fn panels(data: &Value) -> usize {
    let boxes = ["hold-point", "witness-point", "verify-after", "repeat", "perform", "turnover"];
    let is_box = |act: &Value| boxes.iter().any(|b| act.as_str() == Some(b) || act.get(b).is_some());
    data["steps"].as_array().expect("steps").iter().filter(|s| is_box(&s["act"])).count()
}
