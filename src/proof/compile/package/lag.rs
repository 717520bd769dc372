//! Joints of two that are driven at once: how far each may go before the other, and what keeps it from going farther.

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
    let Act::Together { motions, gates, .. } = &step.act else { return Vec::new() };
    // Where not every start was looked at, nothing is known of a joint by itself.
    if step.sweeps.is_empty() || step.sweeps.len() != step.before.len() {
        return Vec::new();
    }
    let one = |motion: &Motion| {
        let alone = step.told.iter().flat_map(|told| &told.alone).find(|alone| alone.joint == motion.joint);
        let target = ("target", degrees(&motion.target));
        let (way, said) = match alone.map(|alone| &alone.clear_to) {
            Some(Some(to)) => {
                let way = starts(motion).map(|from| (to.value - from).abs()).min().unwrap_or(0);
                (way, Saying::phrase("phrase.lag-to", [("angle", degrees(to)), target]))
            }
            Some(None) => (0, Saying::phrase("phrase.lag-not", [target])),
            None => (i64::MAX, Saying::phrase("phrase.lag-free", [target])),
        };
        let gate = gates.iter().find(|gate| gate.held == motion.joint).map(|gate| {
            let other = arm.joints[gate.until].engraved.as_str().into();
            Saying::phrase("phrase.lag-gate", [("angle", degrees(&gate.not_past)), ("other", other), ("past", degrees(&gate.past))])
        });
        let kept = match (gate, alone) {
            (Some(gate), Some(_)) => gate,
            (Some(gate), None) => Saying::phrase("phrase.lag-spare", [("gate", gate)]),
            (None, Some(_)) => Saying::phrase("phrase.lag-order", []),
            (None, None) => Saying::phrase("phrase.lag-none", []),
        };
        let meets = alone.map_or_else(|| "-".to_owned(), |alone| alone.meets.join(", "));
        (way, Lag { step: step.number.clone(), joint: motion.engraved.clone(), way: said, meets, kept })
    };
    motions.iter().map(one).collect()
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
