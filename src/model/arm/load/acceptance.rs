//! Reading the record of acceptance. Whether it holds is judged in [`crate::model::arm::accept`].

use super::Known;
use crate::model::PoseId;
use crate::model::arm::keys::*;
use crate::model::arm::rules::ACCEPTED_INVENTION;
use crate::model::arm::{Acceptance, Driven, Pose};
use crate::model::keys::{Side, key};
use crate::model::names;
use crate::model::read::Read;
use crate::syntax::record::Record;
use crate::text::Spanned;
use crate::units::{Angle, Dimension};

pub(super) fn acceptance(r: &Record<'_>, invented: bool, poses: &[Option<Pose>], known: &Known<'_>) -> Option<Acceptance> {
    let (by, date) = (r.words(key!(ACCEPTANCE, "by")), r.date(key!(ACCEPTANCE, "date")));
    let (digest, uncertainty) = (r.words(key!(ACCEPTANCE, "digest")), r.quantity(key!(ACCEPTANCE, "uncertainty")));
    let proven = r.get(key!(ACCEPTANCE, "directions"));
    let proven_at = proven.span();
    let proven = proven.names();
    proven.iter().for_each(|j| _ = known.find(r, j));
    let driven = r.rows(key!(ACCEPTANCE, "driven"), |r| driven(r, poses, known));
    if invented {
        r.report(
            ACCEPTED_INVENTION
                .at(r.span(), "the file says `invented = true` and carries an acceptance record")
                .help("remove one of the two"),
        );
        return None;
    }
    Some(Acceptance {
        span: r.span(),
        by: by?,
        date: date?,
        digest: digest?,
        uncertainty: uncertainty?,
        driven: driven.into_iter().collect::<Option<_>>()?,
        directions: Spanned::new(proven, proven_at?),
    })
}

fn driven(r: &Record<'_>, poses: &[Option<Pose>], known: &Known<'_>) -> Option<Driven> {
    let name = r.name(key!(DRIVEN, "pose"));
    let entries = r.get(key!(DRIVEN, "readouts")).entries();
    let (tool_point, residual) = (r.point(key!(DRIVEN, "tool-point")), r.quantity(key!(DRIVEN, "residual")));
    let pose = name.and_then(|name| {
        let at = poses.iter().position(|p| p.as_ref().is_some_and(|p| p.name.value == name.value));
        if at.is_none() && poses.iter().all(Option::is_some) {
            r.report(names::unknown(name.span, "pose", &name.value, poses.iter().flatten().map(|p| p.name.value.as_str())));
        }
        Some(Spanned::new(PoseId(u16::try_from(at?).ok()?), name.span))
    });
    let mut readouts: Vec<Option<Spanned<Angle>>> = known.names.iter().map(|_| None).collect();
    let mut complete = true;
    for (joint, field) in entries {
        let Some(id) = known.find(r, &joint) else {
            complete = false;
            continue;
        };
        let angle = field.quantity(Dimension::Angle);
        complete &= angle.is_some();
        readouts[id.at()] = angle.map(|q| q.map(|q| Angle(q.base(Side::Nominal.round()))));
    }
    let missing: Vec<&str> = known.words().zip(&readouts).filter(|(_, a)| a.is_none()).map(|(name, _)| name).collect();
    if complete && !missing.is_empty() && known.names.iter().all(Option::is_some) {
        let at = pose.map_or(r.span(), |p| p.span);
        let message = format!("no read-out of {} is written", missing.join(", "));
        r.report(crate::model::arm::rules::INCOMPLETE_POSE.at(at, message).help("write what every joint showed"));
    }
    Some(Driven { pose: pose?, readouts: readouts.into_iter().collect::<Option<_>>()?, tool_point: tool_point?, residual: residual? })
}
