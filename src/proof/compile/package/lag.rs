//! Joints of two that are driven at once which may not go all the way before the other.

use crate::compiled::{Act, Angle, From, Lag, Motion, Saying, Step};
use crate::model::arm::Arm;

/// The one that may go the least way first.
pub(super) fn lags(arm: &Arm, steps: &[Step]) -> Vec<Lag> {
    let mut out: Vec<(i64, Lag)> = steps.iter().flat_map(|step| of_step(arm, step)).collect();
    out.sort_by_key(|(way, _)| *way);
    out.into_iter().map(|(_, lag)| lag).collect()
}

/// Those of a step, each behind how far it may go, in thousandths of a degree.
fn of_step(arm: &Arm, step: &Step) -> Vec<(i64, Lag)> {
    let (Act::Together { motions, gates, .. }, Some(told)) = (&step.act, &step.told) else { return Vec::new() };
    let one = |alone: &crate::compiled::Alone| {
        let motion = motions.iter().find(|m| m.joint == alone.joint)?;
        let way = alone.clear_to.as_ref().map_or(0, |to| starts(motion).map(|from| (to.value - from).abs()).min().unwrap_or(0));
        let gate = gates.iter().find(|gate| gate.held == alone.joint);
        let lag = Lag {
            step: step.number.clone(),
            joint: motion.engraved.clone(),
            way: match &alone.clear_to {
                Some(to) => Saying::phrase("phrase.lag-to", [("angle", degrees(to)), ("target", degrees(&motion.target))]),
                None => Saying::phrase("phrase.lag-not", [("target", degrees(&motion.target))]),
            },
            meets: alone.meets.join(", "),
            kept: match gate {
                Some(gate) => Saying::phrase(
                    "phrase.lag-gate",
                    [
                        ("angle", degrees(&gate.not_past)),
                        ("other", arm.joints[gate.until].engraved.as_str().into()),
                        ("past", degrees(&gate.past)),
                    ],
                ),
                None => Saying::phrase("phrase.lag-order", []),
            },
        };
        Some((way, lag))
    };
    told.alone.iter().filter_map(one).collect()
}

fn starts(motion: &Motion) -> impl Iterator<Item = i64> {
    motion.from.iter().flat_map(|from| match from {
        From::At(a) => vec![a.value],
        From::Between(a, b) => vec![a.value, b.value],
    })
}

fn degrees(angle: &Angle) -> Saying {
    format!("{} deg", angle.text).into()
}
