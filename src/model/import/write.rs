//! The skeleton as text. What must be added is taken from the tables the loader reads by, so that no key can be missed.

use super::blank::Blanks;
use super::chain::{Arm, Part, Turning, angles};
use super::{Skeleton, Trouble};
use crate::geometry::Vec3;
use crate::model::arm::keys::ARM;
use crate::model::names;
use std::f64::consts::PI;
use std::fmt::Write as _;
use urdf_rs::{Geometry, JointType};

/// What no table can ask: whether the description means what a profile means.
const SETTLE: [&str; 4] = [
    "settle for every joint: whether the description's zero is the zero mark, and its growing angle the one the read-out shows; the words \
     `positive` and `negative` depend on it",
    "settle for every joint: whether the limits are those of the hard stops; a description often has those of a drive",
    "settle for every link: whether the mass is an upper bound, with hoses, covers and fittings; a description has nominal masses",
    "settle for every link: whether the shapes hold all of it, hoses included; a description has what its author drew",
];

/// The file of an arm that a description in `file` describes.
pub(super) fn write(arm: &Arm<'_>, file: &str) -> Result<Skeleton, Trouble> {
    let mut names: Vec<String> = Vec::new();
    for turning in &arm.joints {
        names.push(names::fit_joint(&turning.joint.name, &names));
    }
    let mut blanks = Blanks::new(&names);
    let mut out = String::new();
    let shown = comment(file);
    _ = writeln!(out, "# The skeleton of an arm profile, from the robot description {shown} (robot `{}`).", comment(arm.name));
    out += "# A description is no measurement. Lines that begin with `#?` must be added: fill in what stands for `...`, then take\n\
            # `#?` away. The end of this file lists them, and what else has to be settled.\n\n";
    _ = writeln!(out, "name = {}", quoted(&names::fit_joint(arm.name, &[])));
    _ = writeln!(out, "title = {}", quoted(arm.name));
    out += "invented = true                    # until every value here was measured on the arm; nothing over it can be approved\n";
    let source = format!("imported from {file}; nothing of it was measured");
    out += &blanks.with(&ARM, "", "origin", &[("source", quoted(&source))]);
    out += &blanks.keys(&ARM, "", &["name", "title", "invented", "origin"]);
    out += "\n# From the mount outward.\n";
    for (turning, name) in arm.joints.iter().zip(&names) {
        joint(&mut out, &mut blanks, turning, name)?;
    }
    out += "\n# In the frame of the joint each moves with, which is that of the description unless the joint says otherwise.\n";
    let mut links = 0;
    for part in arm.links.iter().filter(|p| p.mass.is_some() || !p.shapes.is_empty()) {
        link(&mut out, &mut blanks, part, &names)?;
        links += 1;
    }
    out += &blanks.tables(&ARM, "", &["joint"]);
    let mut to_add = blanks.listed();
    to_add.extend(SETTLE.map(str::to_string));
    out += "\n# To be added or settled:\n";
    for line in &to_add {
        _ = writeln!(out, "# - {line}");
    }
    out += "\n# May be added; some proofs need it and say so where it is missing:\n";
    let joint = Blanks::optional(Blanks::table(&ARM, "joint"), "joint", &["stops", "turns", "mounting"]);
    let jaw = Blanks::optional(Blanks::table(&ARM, "jaw"), "jaw", &[]);
    for line in Blanks::optional(&ARM, "", &["invented", "link"]).into_iter().chain(joint).chain(jaw) {
        _ = writeln!(out, "# - {line}");
    }
    Ok(Skeleton { text: out, to_add, joints: names.len(), links })
}

fn joint(out: &mut String, blanks: &mut Blanks, turning: &Turning<'_>, name: &str) -> Result<(), Trouble> {
    let joint = turning.joint;
    _ = writeln!(out, "\n[[joint]]\nname = {}", quoted(name));
    if joint.name != name {
        _ = writeln!(out, "# `{}` in the description.", comment(&joint.name));
    }
    let mut given = vec!["name"];
    let (low, high) = (mdeg(joint.limit.lower).ceil(), mdeg(joint.limit.upper).floor());
    if joint.joint_type == JointType::Continuous {
        *out += "#? turns = { low = \"... deg\", high = \"... deg\" }\n";
        blanks.note(format!("joint `{name}` turns without stops: `turns`, the cumulative angle its hoses allow"));
    } else if low < high && fits(low) && fits(high) {
        _ = writeln!(out, "stops = {{ low = {}, high = {} }}", number(low, "deg", &joint.name)?, number(high, "deg", &joint.name)?);
    } else {
        *out += "#? stops = { low = \"... deg\", high = \"... deg\" }\n";
        blanks.note(format!("joint `{name}` has no limits in the description that a profile can have: `stops`, or `turns` without them"));
    }
    let (rate, torque) = (mdeg(joint.limit.velocity).ceil(), (joint.limit.effort * 1000.0).floor());
    if rate > 0.0 && fits(rate) {
        _ = writeln!(out, "rate = {}", number(rate, "deg/s", &joint.name)?);
        given.push("rate");
    }
    if torque > 0.0 && fits(torque) {
        _ = writeln!(out, "actuator = {{ kind = \"torque\", torque = {} }}", number(torque, "Nm", &joint.name)?);
    }
    if turning.slanted {
        let axis = joint.axis.xyz;
        _ = writeln!(
            out,
            "# Its axis lies along ({}, {}, {}) of the description's frame; this frame is turned to have it along z, and all in it.",
            axis[0], axis[1], axis[2]
        );
    }
    let turn = angles(&turning.frame.turn);
    _ = write!(out, "mounting = {{ axis = \"{}\", origin = {}", turning.axis, point(turning.frame.at, &joint.name)?);
    if whole(turn) != [0.0; 3] {
        _ = write!(out, ", turn = {}", turns(turn, &joint.name)?);
    }
    *out += " }\n";
    *out += &blanks.keys(Blanks::table(&ARM, "joint"), "joint", &given);
    Ok(())
}

fn link(out: &mut String, blanks: &mut Blanks, part: &Part<'_>, names: &[String]) -> Result<(), Trouble> {
    _ = writeln!(out, "\n[[link]]\nname = {}", quoted(&part.name.replace('_', " ")));
    if let Some(joint) = part.joint.and_then(|j| names.get(j)) {
        _ = writeln!(out, "joint = {}", quoted(joint));
    }
    match part.mass {
        Some((mass, centre)) => {
            _ = writeln!(out, "mass = {}", number((mass * 1000.0).ceil(), "kg", part.name)?);
            _ = writeln!(out, "centre = {}", point(centre, part.name)?);
        }
        None => {
            *out += "#? mass = \"... kg\"\n#? centre = [\"... mm\", \"... mm\", \"... mm\"]\n";
            blanks.note(format!("link `{}` has no mass in the description: `mass`, `centre`", part.name));
        }
    }
    if part.shapes.is_empty() {
        blanks.note(format!("link `{}` has no shape in the description; without one nothing is kept clear of it: `shape`", part.name));
    }
    for (collision, frame) in &part.shapes {
        *out += "[[link.shape]]\n";
        let along = frame.turn.z_axis;
        let name = part.name;
        match &collision.geometry {
            Geometry::Box { size } => {
                let (size, turn) = (Vec3::from_array(**size).abs(), angles(&frame.turn));
                // Turning to whole thousandths of a degree moves a corner by at most this.
                let turned = whole(turn) != [0.0; 3];
                let grown = if turned { size.length() * 1.5 * PI / 180_000.0 } else { 0.0 };
                let size = size + Vec3::splat(grown + 1e-6);
                _ = write!(out, "kind = \"box\"\ncentre = {}\nsize = {}\n", point(frame.at, name)?, point(size, name)?);
                if turned {
                    _ = writeln!(out, "turn = {}", turns(turn, name)?);
                }
            }
            Geometry::Cylinder { radius, length } => {
                // One micrometre longer and wider: rounding an end leaves nothing outside.
                let half = along * (length.abs() / 2.0 + 1e-6);
                rod(out, "cylinder", [frame.at - half, frame.at + half], *radius, name)?;
            }
            Geometry::Capsule { radius, length } => {
                let half = along * (length.abs() / 2.0);
                rod(out, "capsule", [frame.at - half, frame.at + half], *radius, name)?;
            }
            Geometry::Sphere { radius } => {
                _ = write!(out, "kind = \"sphere\"\ncentre = {}\nradius = {}\n", point(frame.at, name)?, grown(*radius, name)?);
            }
            Geometry::Mesh { filename, scale } => {
                let scale = scale.map_or([1.0; 3], |s| *s);
                let unit = [("m", 1.0), ("mm", 0.001), ("in", 0.0254)].into_iter().find(|(_, s)| scale == [*s; 3]).map(|(unit, _)| unit);
                let stands = whole(angles(&frame.turn)) == [0.0; 3] && frame.at.abs().max_element() < 5e-7;
                *out += "kind = \"hull\"\n";
                if stands && unit.is_some() {
                    _ = writeln!(out, "path = {}", quoted(filename));
                } else {
                    _ = writeln!(out, "#? path = {}", quoted(filename));
                    let place = format!("moved by {} after being turned by {}", point(frame.at, name)?, turns(angles(&frame.turn), name)?);
                    blanks.note(format!(
                        "link `{name}`: the corners in `{}` must first be {place} and scaled by {scale:?}",
                        comment(filename)
                    ));
                }
                match unit {
                    Some(unit) => _ = writeln!(out, "unit = \"{unit}\""),
                    None => *out += "#? unit = \"mm|m|in\"\n",
                }
                blanks.note(format!("link `{name}`: the mesh `{}` as an STL or OBJ file beside the profile", comment(filename)));
            }
        }
    }
    Ok(())
}

fn rod(out: &mut String, kind: &str, ends: [Vec3; 2], radius: f64, name: &str) -> Result<(), Trouble> {
    let [from, to] = ends;
    _ = write!(out, "kind = \"{kind}\"\nfrom = {}\nto = {}\nradius = {}\n", point(from, name)?, point(to, name)?, grown(radius, name)?);
    Ok(())
}

/// Radians in thousandths of a degree.
fn mdeg(angle: f64) -> f64 {
    angle * 180_000.0 / PI
}

fn whole(turn: [f64; 3]) -> [f64; 3] {
    // Not minus zero: it would be written as such.
    turn.map(|a| mdeg(a).round() + 0.0)
}

/// Whether so many thousandths can be written: at most four digits before the point.
fn fits(thousandths: f64) -> bool {
    thousandths.abs() < 1e7
}

/// Thousandths of a unit as a quantity.
fn number(thousandths: f64, unit: &str, of: &str) -> Result<String, Trouble> {
    if !fits(thousandths) {
        let what = format!("`{}` has {} {unit}: a profile has at most four digits before the point", comment(of), thousandths / 1000.0);
        return Err(Trouble::new(what));
    }
    let thousandths = thousandths as i64;
    let (sign, size) = (if thousandths < 0 { "-" } else { "" }, thousandths.unsigned_abs());
    let digits = format!("{sign}{}.{:03}", size / 1000, size % 1000);
    Ok(format!("\"{} {unit}\"", digits.trim_end_matches('0').trim_end_matches('.')))
}

/// Three lengths, each to the nearest micrometre.
fn point(metres: Vec3, of: &str) -> Result<String, Trouble> {
    let each = metres.to_array().map(|x| number((x * 1e6).round(), "mm", of));
    let [x, y, z] = each;
    Ok(format!("[{}, {}, {}]", x?, y?, z?))
}

fn turns(radians: [f64; 3], of: &str) -> Result<String, Trouble> {
    let [x, y, z] = whole(radians).map(|a| number(a, "deg", of));
    Ok(format!("[{}, {}, {}]", x?, y?, z?))
}

/// A radius, grown by the micrometre that rounding the points may take.
fn grown(radius: f64, of: &str) -> Result<String, Trouble> {
    number((radius.abs() * 1e6).ceil() + 1.0, "mm", of)
}

/// Words as a TOML text.
fn quoted(words: &str) -> String {
    let mut out = String::from("\"");
    for c in words.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => _ = write!(out, "\\u{:04X}", u32::from(c)),
            c => out.push(c),
        }
    }
    out + "\""
}

/// Words inside a comment or a sentence: one line.
fn comment(words: &str) -> String {
    words.escape_debug().to_string()
}
