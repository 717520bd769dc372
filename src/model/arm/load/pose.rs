//! Reading a pose: complete, and within what the joints can do.

use super::Known;
use crate::diag::Diagnostic;
use crate::model::arm::keys::*;
use crate::model::arm::rules::*;
use crate::model::arm::{Arm, Joint, Pose, Travel};
use crate::model::keys::{Side, key};
use crate::model::read::Read;
use crate::syntax::record::Record;
use crate::text::Spanned;
use crate::units::{Angle, Dimension};

pub(super) fn pose(r: &Record<'_>, text: &str, known: &Known<'_>) -> Option<Pose> {
    let name = r.name(key!(POSE, "name"));
    let entries = r.get(key!(POSE, "angles")).entries();
    let band = r.quantity::<Angle>(key!(POSE, "band"));
    let safe = r.flag(key!(POSE, "safe"));
    let mut angles: Vec<Option<Option<Spanned<Angle>>>> = known.names.iter().map(|_| None).collect();
    let mut all_known = true;
    for (joint, field) in entries {
        let Some(id) = known.find(r, &joint) else {
            all_known = false;
            continue;
        };
        let joint = known.joints[id.at()];
        let any = field.span().filter(|s| s.of(text) == "\"any\"");
        let angle = match any {
            Some(span) => {
                if let Some(Joint { travel: Travel::Stops { low, .. }, .. }) = joint {
                    let message = format!("the {} has stops and needs an angle in a pose", known.name(id));
                    r.report(ANY_WITH_STOPS.at(span, message).label(low.span, "its stops"));
                }
                Some(None)
            }
            None => field.quantity(Dimension::Angle).map(|q| Some(q.map(|q| Angle(q.base(Side::Nominal.round()))))),
        };
        if let (Some(Some(angle)), Some(joint), Some(band)) = (angle, joint, band) {
            check_reach(r, joint, angle, band);
        }
        // What could not be read is reported and not missing.
        all_known &= angle.is_some();
        angles[id.at()] = angle;
    }
    let missing: Vec<&str> = angles
        .iter()
        .enumerate()
        .filter(|(_, a)| a.is_none())
        .filter_map(|(i, _)| known.names[i].as_ref())
        .map(|n| n.value.as_str())
        .collect();
    if let Some(name) = name.as_ref().filter(|_| all_known && !missing.is_empty()) {
        let message = format!("the pose \"{}\" has no angle for {}", name.value, missing.join(", "));
        r.report(INCOMPLETE_POSE.at(name.span, message).help("give every joint an angle; a joint without stops may say \"any\""));
    }
    if let Some(band) = band {
        // A joint that may stand anywhere needs no band.
        let placed = known.joints.iter().zip(&angles).filter(|(_, a)| matches!(a, Some(Some(_)))).filter_map(|(j, _)| *j);
        narrow(placed, band).into_iter().for_each(|problem| r.report(problem));
    }
    let angles = angles.into_iter().map(Option::flatten).collect();
    Some(Pose { name: name?, span: r.span(), angles, band: band?, safe })
}

fn check_reach(r: &Record<'_>, joint: &Joint, angle: Spanned<Angle>, band: Spanned<Angle>) {
    let (low, high) = joint.travel.ends();
    let (soft_low, soft_high) = joint.soft_limits();
    if soft_low < soft_high && (angle.value - band.value < soft_low || angle.value + band.value > soft_high) {
        let message = format!(
            "{} with its band of {} does not lie within the soft limits of the {}, {} to {}",
            angle.value.show(),
            band.value,
            joint.name.value,
            soft_low.show(),
            soft_high.show()
        );
        let problem = POSE_BEYOND_TRAVEL.at(angle.span, message).label(low.span.to(high.span), "the ends of its travel");
        r.report(problem.number("angle", angle.value.show()).number("low", soft_low.show()).number("high", soft_high.show()));
    }
}

/// Every pose whose band is narrower than where its joints may stand.
pub fn narrow_bands(arm: &Arm) -> Vec<Diagnostic> {
    let of = |pose: &Pose| {
        let placed = arm.joints.iter().zip(&pose.angles).filter(|(_, a)| a.is_some()).map(|(j, _)| j);
        narrow(placed, pose.band)
    };
    arm.poses.iter().filter_map(of).collect()
}

fn narrow<'j>(joints: impl Iterator<Item = &'j Joint>, band: Spanned<Angle>) -> Option<Diagnostic> {
    let needed = |j: &Joint| j.stop_by_readout.value + j.hold.value;
    let joint = joints.max_by_key(|j| needed(j)).filter(|j| needed(j) > band.value)?;
    let message = format!(
        "the band {} is narrower than {}, where the {} may stand after it stopped and drifted",
        band.value,
        needed(joint),
        joint.name.value
    );
    Some(POSE_BAND_TOO_NARROW.at(band.span, message).label(joint.stop_by_readout.span.to(joint.hold.span), "its tolerances"))
}
