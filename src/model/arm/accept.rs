//! Whether the record of acceptance holds for the profile as it stands.
//!
//! Invariant: a profile counts as accepted only where nothing was found here. What is wrong with a record is told as a warning,
//! because a profile without one may be used for everything but work.

use super::rules::{OFF_POSE_RECORD, RESIDUAL_BEYOND_BANDS, STALE_ACCEPTANCE, UNPROVEN_DIRECTION};
use super::{Acceptance, Arm, Driven};
use crate::diag::Diagnostic;
use crate::geometry::chain::{Chain, Placed};
use crate::geometry::{Vec3, metres};
use crate::model::mesh::MeshFile;
use crate::model::solid::{chain, um};
use crate::units::{Angle, Length, trig};
use sha2::{Digest as _, Sha256};

/// How far a written residual may be from the one worked out: a residual is written in whole millimetres.
const SAME_RESIDUAL: Length = Length(1000);

/// Everything that is wrong with the record, if there is one.
pub(in crate::model) fn judge(arm: &Arm, text: &str, meshes: &[&MeshFile]) -> Vec<Diagnostic> {
    let Some(record) = &arm.acceptance else { return Vec::new() };
    let mut found = Vec::new();
    stale(arm, record, text, meshes, &mut found);
    directions(arm, record, &mut found);
    match (chain(arm, None), arm.jaw.grip_centre) {
        (Ok(chain), Some(grip)) => {
            let placed = |driven: &Driven| {
                let angles: Vec<i64> = driven.readouts.iter().map(|a| a.value.0).collect();
                chain.place_exact(&angles)
            };
            for driven in &record.driven {
                on_pose(arm, driven, &mut found);
                residual(arm, record, driven, &chain, &placed(driven), metres(um(grip)), &mut found);
            }
        }
        _ => found.push(
            RESIDUAL_BEYOND_BANDS
                .at(record.span, "where the read-outs put the tool point cannot be worked out")
                .help("give every joint its `mounting` and the jaw its `grip-centre`"),
        ),
    }
    found
}

/// SHA-256 of what a record accepts, in hexadecimal digits: the profile's text without the lines of the acceptance table, then
/// for each mesh file in the order they are named its own SHA-256 in hexadecimal digits and a line end.
pub fn digest(text: &str, record: Option<&Acceptance>, meshes: &[&MeshFile]) -> String {
    let mut hash = Sha256::new();
    let start = record.map_or(text.len(), |a| text[..(a.span.start as usize).min(text.len())].rfind('\n').map_or(0, |n| n + 1));
    hash.update(&text[..start]);
    let rest = text[start..].split_inclusive('\n');
    let other_table = |line: &&str| line.starts_with('[') && !line.starts_with("[acceptance") && !line.starts_with("[[acceptance");
    rest.skip_while(|line| !other_table(line)).for_each(|line| hash.update(line));
    for mesh in meshes {
        hash.update(mesh.digest.map_or(String::new(), |d| hex(&d)));
        hash.update("\n");
    }
    hex(&hash.finalize())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn stale(arm: &Arm, record: &Acceptance, text: &str, meshes: &[&MeshFile], found: &mut Vec<Diagnostic>) {
    if record.date.value < arm.date.value {
        let message = format!("accepted on {}, but this file is of {}", record.date.value, arm.date.value);
        let problem = STALE_ACCEPTANCE.at(record.date.span, message).label(arm.date.span, "the date of the file");
        found.push(problem.help("try the changed profile on the arm"));
    }
    if text.get(record.span.start as usize..).is_none_or(|t| !t.starts_with("[acceptance]")) {
        found.push(
            STALE_ACCEPTANCE
                .at(record.span, "the record cannot be told from what it accepts")
                .help("write it as a table of its own, `[acceptance]`, best at the end of the file"),
        );
        return;
    }
    let right = digest(text, Some(record), meshes);
    if record.digest.value != right {
        let problem = STALE_ACCEPTANCE.at(record.digest.span, "the profile is not the one that was accepted");
        found.push(
            problem.help(format!("the digest of the profile as it stands is {right}; write it once this profile was tried on the arm")),
        );
    }
}

fn directions(arm: &Arm, record: &Acceptance, found: &mut Vec<Diagnostic>) {
    let proven = |name: &str| record.directions.value.iter().any(|p| p.value == name);
    let left: Vec<&str> = arm.joints.iter().map(|j| j.name.value.as_str()).filter(|n| !proven(n)).collect();
    if !left.is_empty() {
        found.push(
            UNPROVEN_DIRECTION
                .at(record.directions.span, format!("the direction words were not proven for {}", left.join(", ")))
                .help("move each joint a little both ways and watch from the place its words are seen from"),
        );
    }
}

/// The read-outs are those of the pose they are recorded for.
fn on_pose(arm: &Arm, driven: &Driven, found: &mut Vec<Diagnostic>) {
    let pose = &arm.poses[driven.pose.value.at()];
    for ((joint, target), shown) in arm.joints.iter().zip(&pose.angles).zip(&driven.readouts) {
        let Some(target) = target else { continue };
        if (shown.value - target.value).abs() > pose.band.value {
            let message = format!(
                "the {} showed {}, which is not within {} of {} in the pose \"{}\"",
                joint.name.value,
                shown.value.show(),
                pose.band.value,
                target.value.show(),
                pose.name.value
            );
            found.push(OFF_POSE_RECORD.at(shown.span, message).label(target.span, "the pose"));
        }
    }
}

fn residual(arm: &Arm, record: &Acceptance, driven: &Driven, chain: &Chain, placed: &Placed, grip: Vec3, found: &mut Vec<Diagnostic>) {
    let Some(last) = placed.carriers.get(chain.joints()) else { return };
    let (computed, measured) = (last.point(grip), metres(um(driven.tool_point)));
    let apart = length((measured - computed).length());
    let pose = &arm.poses[driven.pose.value.at()].name.value;
    if (apart - driven.residual.value).abs() > SAME_RESIDUAL {
        let message = format!(
            "at the pose \"{pose}\" the measured tool point lies {apart} from where the read-outs put it, not {}",
            driven.residual.value
        );
        let problem = RESIDUAL_BEYOND_BANDS.at(driven.residual.span, message).number("residual", apart);
        found.push(problem.help(format!("the read-outs put it at {}; check the numbers of the record", place(computed))));
        return;
    }
    let errors: Vec<Angle> = arm.joints.iter().map(|j| j.readout_error.value).collect();
    let most = record.uncertainty.value + length(reach_of_errors(placed, &errors, computed)) + Length(1);
    if apart > most {
        let message = format!(
            "at the pose \"{pose}\" the tool point was found {apart} from where the read-outs put it; their errors and the measuring explain at most {most}"
        );
        let problem = RESIDUAL_BEYOND_BANDS.at(driven.residual.span, message).number("residual", apart).number("most", most);
        found.push(problem.help("the profile does not describe this arm: check mountings, zero marks and the claimed read-out errors"));
    }
}

/// How far the tool point can be, in metres, when every read-out is wrong by up to its error. Turning the innermost joint first,
/// each joint swings the point on a circle about its axis whose radius the joints inside it do not change.
fn reach_of_errors(placed: &Placed, errors: &[Angle], point: Vec3) -> f64 {
    let swing = |(axis, error): (&crate::geometry::chain::Axis, &Angle)| {
        let radius = axis.direction.cross(point - axis.origin).length();
        2.0 * trig::sin(trig::radians(*error) / 2.0) * radius
    };
    placed.axes.iter().zip(errors).map(swing).sum()
}

/// Metres as whole micrometres, up.
fn length(metres: f64) -> Length {
    Length((metres * 1e6).ceil() as i64)
}

fn place(point: Vec3) -> String {
    let mm = [point.x, point.y, point.z].map(|c| format!("{:.1} mm", c * 1e3));
    format!("({})", mm.join(", "))
}
