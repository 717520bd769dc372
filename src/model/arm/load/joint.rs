//! Reading a joint.

use crate::model::arm::keys::*;
use crate::model::arm::rules::*;
use crate::model::arm::{Actuator, Direction, Joint, Mounting, Travel};
use crate::model::keys::key;
use crate::model::names::{self, For};
use crate::model::read::Read;
use crate::syntax::record::Record;
use crate::units::{Angle, Length};

/// `placed`: links are described, so that the joint's place must be known.
pub(super) fn joint(r: &Record<'_>, placed: bool) -> Option<Joint> {
    let name = r.name(key!(JOINT, "name"));
    let engraved = r.words(key!(JOINT, "engraved"));
    let travel = travel(r);
    let soft_margin = r.quantity::<Angle>(key!(JOINT, "soft-margin"));
    let stop_by_readout = r.quantity::<Angle>(key!(JOINT, "stop-by-readout"));
    let stop_by_eye = r.quantity::<Angle>(key!(JOINT, "stop-by-eye"));
    let hold = r.quantity(key!(JOINT, "hold"));
    let drift_powered = r.quantity(key!(JOINT, "drift-powered"));
    let drift_unpowered = r.quantity(key!(JOINT, "drift-unpowered"));
    let readout_error = r.quantity(key!(JOINT, "readout-error"));
    let decimals = r.count(key!(JOINT, "decimals"));
    let rate = r.quantity(key!(JOINT, "rate"));
    let zero_mark = r.words(key!(JOINT, "zero-mark"));
    let positive = r.get(key!(JOINT, "positive")).table(direction).flatten();
    let negative = r.get(key!(JOINT, "negative")).table(direction).flatten();
    let actuator = r.get(key!(JOINT, "actuator")).table(|r| actuator(r, travel.as_ref())).flatten();
    if placed {
        _ = r.key(key!(JOINT, "mounting").name).needed();
    }
    let mounting = r.get(key!(JOINT, "mounting")).table(mounting).flatten();

    if let (Some(travel), Some(margin)) = (&travel, soft_margin) {
        let (low, high) = travel.ends();
        if low.value < high.value && low.value + margin.value >= high.value - margin.value {
            let message =
                format!("a margin of {} at both ends leaves nothing between {} and {}", margin.value, low.value.show(), high.value.show());
            r.report(MARGIN_WITHOUT_ROOM.at(margin.span, message).label(high.span, "the range"));
        }
    }
    if let (Some(eye), Some(readout)) = (stop_by_eye, stop_by_readout)
        && eye.value < readout.value
    {
        let message = format!("stopping by eye ({}) cannot be finer than stopping on the read-out ({})", eye.value, readout.value);
        r.report(EYE_FINER_THAN_READOUT.at(eye.span, message).label(readout.span, "by read-out"));
    }
    if let (Some(readout), Some(decimals)) = (stop_by_readout, decimals) {
        let last = Angle([1000, 100, 10, 1].get(decimals.value as usize).copied().unwrap_or(1));
        if readout.value < last {
            let message = format!("the read-out shows steps of {last}, but the joint is said to stop within {}", readout.value);
            r.report(STOP_FINER_THAN_READOUT.at(readout.span, message).label(decimals.span, "its decimals"));
        }
    }
    if let (Some(p), Some(n)) = (&positive, &negative)
        && p.word.value.eq_ignore_ascii_case(&n.word.value)
    {
        let message = format!("both directions are called \"{}\"", n.word.value);
        r.report(SAME_DIRECTION_WORD.at(n.word.span, message).label(p.word.span, "the other direction"));
    }
    Some(Joint {
        name: name?,
        engraved: engraved?.value,
        span: r.span(),
        travel: travel?,
        soft_margin: soft_margin?,
        stop_by_readout: stop_by_readout?,
        stop_by_eye: stop_by_eye?,
        hold: hold?,
        drift_powered,
        drift_unpowered,
        readout_error: readout_error?,
        decimals: u8::try_from(decimals?.value).unwrap_or(3),
        rate: rate?,
        zero_mark: zero_mark?.value,
        positive: positive?,
        negative: negative?,
        actuator,
        mounting,
    })
}

fn travel(r: &Record<'_>) -> Option<Travel> {
    let range = |r: &Record<'_>| {
        let (low, high) = (r.quantity::<Angle>(key!(RANGE, "low")), r.quantity::<Angle>(key!(RANGE, "high")));
        let (low, high) = (low?, high?);
        if low.value >= high.value {
            let message = format!("the high end, {}, is not above the low end, {}", high.value.show(), low.value.show());
            r.report(REVERSED_LIMITS.at(high.span, message).label(low.span, "the low end"));
        }
        Some((low, high))
    };
    let (stops, turns) = (r.get(key!(JOINT, "stops")), r.get(key!(JOINT, "turns")));
    match (stops.span(), turns.span()) {
        (None, None) => r.report(
            TRAVEL_UNSTATED
                .at(r.span(), "the joint has neither `stops` nor `turns`")
                .help("write `stops = { low = ..., high = ... }`; for a joint without stops, `turns` with what its hoses allow"),
        ),
        (Some(first), Some(second)) => {
            r.report(
                TRAVEL_UNSTATED
                    .at(second, "the joint has both `stops` and `turns`")
                    .label(first, "the stops")
                    .help("keep the one that is true"),
            );
        }
        _ => {}
    }
    let (stops, turns) = (stops.table(range).flatten(), turns.table(range).flatten());
    stops.map(|(low, high)| Travel::Stops { low, high }).or_else(|| turns.map(|(low, high)| Travel::Turns { low, high }))
}

fn direction(r: &Record<'_>) -> Option<Direction> {
    let (word, seen_from) = (r.name(key!(DIRECTION, "word")), r.words(key!(DIRECTION, "seen-from")));
    word.iter().for_each(|w| names::check(r, For::Direction, w));
    Some(Direction { word: word?, seen_from: seen_from?.value })
}

#[derive(Clone, Copy)]
enum Drives {
    Torque,
    Linear,
    Rotary,
}

fn actuator(r: &Record<'_>, travel: Option<&Travel>) -> Option<Actuator> {
    let Some(kind) = r.word(key!(ACTUATOR, "kind"), &[Drives::Torque, Drives::Linear, Drives::Rotary]) else {
        // Which other keys belong to it cannot be known.
        ACTUATOR.keys.iter().for_each(|k| _ = r.key(k.name));
        return None;
    };
    match kind.value {
        Drives::Torque => Some(Actuator::Torque { rating: r.wanted(key!(ACTUATOR, "torque"))? }),
        Drives::Rotary => {
            let (torque, rated) = (r.wanted(key!(ACTUATOR, "torque")), r.wanted(key!(ACTUATOR, "rated")));
            Some(Actuator::Rotary { torque: torque?, rated: rated? })
        }
        Drives::Linear => {
            let (fixed_pin, moving_pin) = (r.wanted(key!(ACTUATOR, "fixed-pin")), r.wanted(key!(ACTUATOR, "moving-pin")));
            let angle_at_zero = r.wanted::<Angle>(key!(ACTUATOR, "angle-at-zero"));
            let (bore, rod) = (r.wanted::<Length>(key!(ACTUATOR, "bore")), r.wanted::<Length>(key!(ACTUATOR, "rod")));
            let rated = r.wanted(key!(ACTUATOR, "rated"));
            if let (Some(bore), Some(rod)) = (bore, rod)
                && rod.value >= bore.value
            {
                r.report(IMPOSSIBLE_CYLINDER.at(rod.span, format!("the rod ({}) does not fit the bore ({})", rod.value, bore.value)));
            }
            if let (Some(zero), Some(travel)) = (angle_at_zero, travel) {
                let (low, high) = travel.ends();
                let (least, most) = (zero.value + low.value, zero.value + high.value);
                if low.value < high.value && (least <= Angle::ZERO || most >= Angle(180_000)) {
                    let message = format!("over the joint's travel the pins include {least} to {most}; it must stay between 0 and 180 deg");
                    r.report(IMPOSSIBLE_CYLINDER.at(zero.span, message).label(low.span.to(high.span), "the travel"));
                }
            }
            Some(Actuator::Linear {
                fixed_pin: fixed_pin?,
                moving_pin: moving_pin?,
                angle_at_zero: angle_at_zero?,
                bore: bore?,
                rod: rod?,
                rated: rated?,
            })
        }
    }
}

fn mounting(r: &Record<'_>) -> Option<Mounting> {
    let (axis, origin) = (r.axis(key!(MOUNTING, "axis")), r.point(key!(MOUNTING, "origin")));
    let turn = r.turn(key!(MOUNTING, "turn"));
    Some(Mounting { axis: axis?, origin: origin?, turn })
}
