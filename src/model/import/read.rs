//! The description as a library reads it, after a look at what that library lets pass: numbers that are none, lists of the
//! wrong length, elements nested without end.

use super::Trouble;
use roxmltree::{Document, Node};
use std::collections::BTreeMap;
use urdf_rs::Robot;

/// Elements inside elements, at most.
const DEEPEST: usize = 32;

/// Links, and joints, at most.
const MOST: usize = 500;

/// How many numbers an attribute holds, by the name of the attribute.
const NUMBERS: [(&str, usize); 9] =
    [("xyz", 3), ("rpy", 3), ("size", 3), ("scale", 3), ("radius", 1), ("length", 1), ("lower", 1), ("upper", 1), ("velocity", 1)];

/// A description and where its joints stand in the file.
pub(super) struct Description {
    pub(super) robot: Robot,
    lines: BTreeMap<String, u32>,
}

impl Description {
    /// A problem of one joint.
    pub(super) fn joint(&self, name: &str, what: impl Into<String>) -> Trouble {
        Trouble { line: self.lines.get(name).copied(), what: what.into() }
    }
}

pub(super) fn read(text: &str) -> Result<Description, Trouble> {
    let document = Document::parse(text).map_err(|e| {
        let plain = e.to_string();
        // The library says the place in its message too.
        let what = plain.rsplit_once(" at ").map_or(plain.as_str(), |(what, _)| what);
        Trouble::at(e.pos().row, format!("this is no XML: {what}"))
    })?;
    let root = document.root_element();
    if root.tag_name().name() != "robot" {
        let what = format!("the outermost element is `{}`; a robot description (URDF) begins with `robot`", root.tag_name().name());
        return Err(Trouble::at(line(root), what));
    }
    for kind in ["link", "joint"] {
        if let Some(one) = root.children().filter(|n| n.has_tag_name(kind)).nth(MOST) {
            return Err(Trouble::at(line(one), format!("there are more than {MOST} elements `{kind}`")));
        }
    }
    check(root)?;
    let lines = root.children().filter(|n| n.has_tag_name("joint")).filter_map(|n| Some((n.attribute("name")?.to_string(), line(n))));
    let lines = lines.collect();
    match urdf_rs::read_from_string(text) {
        Ok(robot) => Ok(Description { robot, lines }),
        Err(e) => Err(Trouble::new(format!("this cannot be read as a robot description (URDF): {}", e.to_string().replace('\n', " ")))),
    }
}

fn line(node: Node<'_, '_>) -> u32 {
    node.document().text_pos_at(node.range().start).row
}

/// Refuses what the reader of descriptions would take in silence.
fn check(root: Node<'_, '_>) -> Result<(), Trouble> {
    for node in root.descendants().filter(Node::is_element) {
        if node.ancestors().nth(DEEPEST).is_some() {
            return Err(Trouble::at(line(node), format!("elements stand inside elements more than {DEEPEST} deep")));
        }
        let name = node.tag_name().name();
        if node.tag_name().namespace().is_some_and(|n| n.contains("xacro")) {
            let what = format!("`{name}` is an instruction of xacro, not of a description; expand the file with xacro first");
            return Err(Trouble::at(line(node), what));
        }
        let described = node.ancestors().any(|a| a.parent() == Some(root) && (a.has_tag_name("link") || a.has_tag_name("joint")));
        if !described {
            continue;
        }
        for attribute in node.attributes() {
            let wanted = NUMBERS.iter().find(|(key, _)| *key == attribute.name()).map(|(_, count)| *count);
            let wanted = wanted.or((name == "mass" && attribute.name() == "value" || attribute.name() == "effort").then_some(1));
            let Some(wanted) = wanted else { continue };
            let numbers: Vec<&str> = attribute.value().split_whitespace().collect();
            if numbers.len() != wanted || !numbers.iter().all(|n| is_number(n)) {
                let count = if wanted == 1 { "a number" } else { "three numbers" };
                let what = format!("`{}` of `{name}` is to be {count}, not \"{}\"", attribute.name(), attribute.value().escape_debug());
                return Err(Trouble::at(line(node), what));
            }
        }
    }
    Ok(())
}

/// A plain decimal, perhaps with an exponent, and finite.
fn is_number(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b)) && text.parse::<f64>().is_ok_and(f64::is_finite)
}
