//! Reading an arm profile.

use super::keys::*;
use super::rules::*;
use super::*;
use crate::diag::Diagnostic;
use crate::model::keys::{Side, key};
use crate::model::names::{self, For};
use crate::model::read::{self, Read};
use crate::syntax::record::{Field, Record};
use crate::units::Dimension;

/// Reads an arm profile. Every problem is reported; there is an arm only if all of the file could be read.
pub fn load(file: FileId, text: &str) -> (Option<Arm>, Vec<Diagnostic>) {
    read::whole(file, text, "the arm profile", |r| build(r, text))
}

fn build(r: &Record<'_>, text: &str) -> Option<Arm> {
    let name = r.name(key!(ARM, "name"));
    let title = r.words(key!(ARM, "title"));
    let revision = r.words(key!(ARM, "revision"));
    let date = r.date(key!(ARM, "date"));
    let invented = r.flag(key!(ARM, "invented"));
    let origin = r.origin(key!(ARM, "origin"));
    let includes = r.words(key!(ARM, "includes"));
    name.iter().for_each(|n| names::check(r, For::Thing("arm"), n));

    let joints = r.rows(key!(ARM, "joint"), joint);
    let known = Known::of(&joints);
    names::check_all(r, For::Joint, known.names.iter().flatten());
    let console = r.get(key!(ARM, "console")).table(|r| console(r, &known)).flatten();
    let jaw = r.get(key!(ARM, "jaw")).table(jaw).flatten();
    let signals = r.rows(key!(ARM, "signal"), |r| {
        let (name, cue) = (r.name(key!(SIGNAL, "name")), r.words(key!(SIGNAL, "cue")));
        Some(Signal { name: name?, cue: cue?.value })
    });
    let tools = r.rows(key!(ARM, "tool"), |r| {
        let (name, mass) = (r.name(key!(TOOL, "name")), r.quantity(key!(TOOL, "mass")));
        let leaves_jaw_free = r.flag(key!(TOOL, "leaves-jaw-free"));
        Some(Tool { name: name?, mass, leaves_jaw_free })
    });
    let poses = r.rows(key!(ARM, "pose"), |r| pose(r, text, &known));
    let links = r.rows(key!(ARM, "link"), |r| link(r, &known));
    names::check_all(r, For::Signal, signals.iter().flatten().map(|s| &s.name));
    names::check_all(r, For::Thing("tool"), tools.iter().flatten().map(|t| &t.name));
    names::check_all(r, For::Thing("pose"), poses.iter().flatten().map(|p| &p.name));
    let acceptance = r.get(key!(ARM, "acceptance")).table(|r| {
        let poses: Vec<_> = poses.iter().flatten().map(|p| p.name.value.as_str()).collect();
        acceptance(r, invented, date.as_ref(), &poses, &known)
    });
    let acceptance = acceptance.flatten();
    let standing = match (invented, &acceptance) {
        (true, _) => Standing::Invented,
        (false, Some(_)) => Standing::Accepted,
        (false, None) => Standing::Unaccepted,
    };
    Some(Arm {
        file: r.file(),
        name: name?,
        title: title?.value,
        revision: revision?,
        date: date?,
        standing,
        origin: origin?,
        includes: includes?.value,
        joints: joints.into_iter().collect::<Option<_>>()?,
        console: console?,
        jaw: jaw?,
        signals: signals.into_iter().collect::<Option<_>>()?,
        tools: tools.into_iter().collect::<Option<_>>()?,
        poses: poses.into_iter().collect::<Option<_>>()?,
        links: links.into_iter().collect::<Option<_>>()?,
        acceptance,
    })
}

/// The joints so far, by name, whether or not the rest of them could be read.
struct Known<'j> {
    names: Vec<Option<Spanned<String>>>,
    joints: Vec<Option<&'j Joint>>,
}

impl<'j> Known<'j> {
    fn of(joints: &'j [Option<Joint>]) -> Known<'j> {
        Known {
            names: joints.iter().map(|j| j.as_ref().map(|j| j.name.clone())).collect(),
            joints: joints.iter().map(Option::as_ref).collect(),
        }
    }
    fn words(&self) -> impl Iterator<Item = &str> {
        self.names.iter().flatten().map(|n| n.value.as_str())
    }
    /// The joint of a written name. An unknown one is reported, unless a joint could not be read and may have been it.
    fn find(&self, r: &Record<'_>, name: &Spanned<String>) -> Option<JointId> {
        let at = self.names.iter().position(|n| n.as_ref().is_some_and(|n| n.value == name.value));
        if at.is_none() && self.names.iter().all(Option::is_some) {
            r.report(names::unknown(name.span, "joint", &name.value, self.words()));
        }
        at.and_then(|i| u16::try_from(i).ok()).map(JointId)
    }
    fn name(&self, id: JointId) -> &str {
        self.names[id.at()].as_ref().map_or("", |n| &n.value)
    }
}

fn joint(r: &Record<'_>) -> Option<Joint> {
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
    Some(Mounting { axis: axis?, origin: origin? })
}

fn console(r: &Record<'_>, known: &Known<'_>) -> Option<Console> {
    let mut driven: Vec<Spanned<JointId>> = Vec::new();
    let mut complete = true;
    let sticks = r.rows(key!(CONSOLE, "stick"), |r| {
        let stick = stick(r, known, &mut driven);
        complete &= stick.is_some();
        stick
    });
    for (i, joint) in known.names.iter().enumerate().filter(|_| complete) {
        if let Some(joint) = joint
            && !driven.iter().any(|d| d.value.at() == i)
        {
            let message = format!("no axis of a stick drives the {}", joint.value);
            r.report(
                UNDRIVEN_JOINT.at(r.span(), message).label(joint.span, "this joint").help("add a `[[console.stick.axis]]` with this joint"),
            );
        }
    }
    let together = pairs(r, known, &sticks);
    let deflection = r.words(key!(CONSOLE, "deflection"));
    let before_power_on = r.lines(key!(CONSOLE, "before-power-on"));
    let power_on = r.words(key!(CONSOLE, "power-on"));
    let power_off = r.words(key!(CONSOLE, "power-off"));
    let stop_control = r.words(key!(CONSOLE, "stop-control"));
    let on_power_loss = r.words(key!(CONSOLE, "on-power-loss"));
    Some(Console {
        span: r.span(),
        sticks: sticks.into_iter().collect::<Option<_>>()?,
        together,
        deflection: deflection?.value,
        before_power_on,
        power_on: power_on?.value,
        power_off: power_off?.value,
        stop_control: stop_control?.value,
        on_power_loss: on_power_loss?.value,
    })
}

fn stick(r: &Record<'_>, known: &Known<'_>, driven: &mut Vec<Spanned<JointId>>) -> Option<Stick> {
    let name = r.words(key!(STICK, "name"));
    let mut pushes: Vec<Spanned<String>> = Vec::new();
    let axes = r.rows(key!(STICK, "axis"), |r| {
        let joint = r.name(key!(STICK_AXIS, "joint"));
        let (positive, negative) = (r.words(key!(STICK_AXIS, "positive")), r.words(key!(STICK_AXIS, "negative")));
        for push in [&positive, &negative].into_iter().flatten() {
            if let Some(first) = pushes.iter().find(|p| p.value.eq_ignore_ascii_case(&push.value)) {
                let message = format!("\"{}\" of this stick is given for two things", push.value);
                r.report(STICK_DRIVES_TWO.at(push.span, message).label(first.span, "the first"));
            }
            pushes.push(push.clone());
        }
        let joint = joint?;
        let id = Spanned::new(known.find(r, &joint)?, joint.span);
        if let Some(first) = driven.iter().find(|d| d.value == id.value) {
            let message = format!("the {} is driven twice", joint.value);
            r.report(JOINT_DRIVEN_TWICE.at(joint.span, message).label(first.span, "the first"));
        }
        driven.push(id);
        Some(StickAxis { span: r.span(), joint: id.value, positive: positive?.value, negative: negative?.value })
    });
    Some(Stick { name: name?, axes: axes.into_iter().collect::<Option<_>>()? })
}

fn pairs(r: &Record<'_>, known: &Known<'_>, sticks: &[Option<Stick>]) -> Vec<Spanned<(JointId, JointId)>> {
    let pair = |pair: Field<'_>| {
        let span = pair.span()?;
        let names = pair.names();
        let ids: Vec<JointId> = names.iter().filter_map(|n| known.find(r, n)).collect();
        if ids.len() != names.len() {
            return None;
        }
        let &[a, b] = ids.as_slice() else {
            r.report(ODD_PAIR.at(span, format!("a pair names two joints, but {} are written", ids.len())));
            return None;
        };
        if a == b {
            r.report(ODD_PAIR.at(span, format!("the {} cannot move together with itself", known.name(a))));
            return None;
        }
        let on = |j: JointId| sticks.iter().flatten().position(|s| s.axes.iter().any(|x| x.joint == j));
        if let (Some(s), Some(t)) = (on(a), on(b))
            && s == t
            && let Some(stick) = sticks.iter().flatten().nth(s)
        {
            let message = format!("{} and {} both hang on the {}", known.name(a), known.name(b), stick.name.value);
            r.report(PAIR_ON_ONE_STICK.at(span, message).label(stick.name.span, "this stick"));
        }
        Some(Spanned::new((a, b), span))
    };
    r.get(key!(CONSOLE, "together")).array().into_iter().filter_map(pair).collect()
}

fn jaw(r: &Record<'_>) -> Option<Jaw> {
    let engraved = r.words(key!(JAW, "engraved"));
    let least = r.quantity::<Length>(key!(JAW, "least"));
    let most = r.quantity::<Length>(key!(JAW, "most"));
    let tolerance = r.quantity(key!(JAW, "tolerance"));
    let friction = r.friction(key!(JAW, "friction"));
    let levels = r.rows(key!(JAW, "level"), |r| {
        let name = r.name(key!(LEVEL, "name"));
        let (least, most) = (r.quantity::<Force>(key!(LEVEL, "least")), r.quantity::<Force>(key!(LEVEL, "most")));
        if let (Some(least), Some(most)) = (least, most)
            && least.value > most.value
        {
            let message = format!("the greatest force, {}, is below the least, {}", most.value, least.value);
            r.report(GRIP_LEVELS_OUT_OF_ORDER.at(most.span, message).label(least.span, "the least"));
        }
        Some(Level { name: name?, least: least?, most: most? })
    });
    let on_power_loss = r.word(key!(JAW, "on-power-loss"), &[OnPowerLoss::Holds, OnPowerLoss::LetsGo, OnPowerLoss::Unknown]);
    let control = r.words(key!(JAW, "control"));
    if let (Some(least), Some(most)) = (least, most)
        && least.value >= most.value
    {
        let message = format!("the greatest opening, {}, is not above the least, {}", most.value, least.value);
        r.report(REVERSED_LIMITS.at(most.span, message).label(least.span, "the least"));
    }
    names::check_all(r, For::Level, levels.iter().flatten().map(|l| &l.name));
    for pair in levels.windows(2) {
        if let [Some(weak), Some(strong)] = pair
            && weak.least.value <= weak.most.value
            && strong.least.value <= strong.most.value
            && (strong.most.value <= weak.most.value || strong.least.value < weak.least.value)
        {
            let message = format!(
                "level {} ({} to {}) is not stronger than level {} before it ({} to {})",
                strong.name.value, strong.least.value, strong.most.value, weak.name.value, weak.least.value, weak.most.value
            );
            r.report(GRIP_LEVELS_OUT_OF_ORDER.at(strong.name.span, message).label(weak.name.span, "the level before it"));
        }
    }
    Some(Jaw {
        span: r.span(),
        least: least?,
        most: most?,
        tolerance: tolerance?,
        friction,
        levels: levels.into_iter().collect::<Option<_>>()?,
        on_power_loss: on_power_loss?.value,
        control: control?.value,
        engraved: engraved?.value,
    })
}

fn pose(r: &Record<'_>, text: &str, known: &Known<'_>) -> Option<Pose> {
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
        let needed = |j: &&&Joint| j.stop_by_readout.value + j.hold.value;
        if let Some(joint) = known.joints.iter().flatten().max_by_key(|j| needed(j)).filter(|j| needed(j) > band.value) {
            let message = format!(
                "the band {} is narrower than {}, where the {} may stand after it stopped and drifted",
                band.value,
                needed(&joint),
                joint.name.value
            );
            r.report(POSE_BAND_TOO_NARROW.at(band.span, message).label(joint.stop_by_readout.span.to(joint.hold.span), "its tolerances"));
        }
    }
    let angles = angles.into_iter().map(Option::flatten).collect();
    Some(Pose { name: name?, span: r.span(), angles, band: band?, safe })
}

fn check_reach(r: &Record<'_>, joint: &Joint, angle: Spanned<Angle>, band: Spanned<Angle>) {
    let (low, high) = joint.travel.ends();
    let (soft_low, soft_high) = (low.value + joint.soft_margin.value, high.value - joint.soft_margin.value);
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

fn link(r: &Record<'_>, known: &Known<'_>) -> Option<Link> {
    let name = r.words(key!(LINK, "name"));
    let joint = r.name(key!(LINK, "joint"));
    let id = joint.as_ref().and_then(|n| known.find(r, n));
    let (mass, centre) = (r.quantity(key!(LINK, "mass")), r.point(key!(LINK, "centre")));
    let shapes = r.shapes(key!(LINK, "shape"));
    Some(Link { joint: id, name: name?, mass, centre, shapes: shapes? })
}

fn acceptance(r: &Record<'_>, invented: bool, written: Option<&Spanned<String>>, poses: &[&str], known: &Known<'_>) -> Option<Acceptance> {
    let (by, date) = (r.words(key!(ACCEPTANCE, "by")), r.date(key!(ACCEPTANCE, "date")));
    let (driven, proven) = (r.get(key!(ACCEPTANCE, "poses")), r.get(key!(ACCEPTANCE, "directions")));
    let (driven_at, proven_at) = (driven.span(), proven.span());
    let (driven, proven) = (driven.names(), proven.names());
    for pose in driven.iter().filter(|p| !poses.contains(&p.value.as_str())) {
        r.report(names::unknown(pose.span, "pose", &pose.value, poses.iter().copied()));
    }
    let found: Vec<_> = proven.iter().map(|j| known.find(r, j)).collect();
    if invented {
        r.report(
            ACCEPTED_INVENTION
                .at(r.span(), "the file says `invented = true` and carries an acceptance record")
                .help("remove one of the two"),
        );
        return None;
    }
    if let (Some(date), Some(written)) = (&date, written)
        && date.value < written.value
    {
        let message = format!("accepted on {}, but this file is of {}", date.value, written.value);
        r.report(
            STALE_ACCEPTANCE.at(date.span, message).label(written.span, "the date of the file").help("try the changed profile on the arm"),
        );
    }
    if let Some(at) = driven_at.filter(|_| driven.is_empty()) {
        r.report(UNPROVEN_DIRECTION.at(at, "no pose was driven"));
    }
    let left: Vec<&str> = known.words().filter(|w| !proven.iter().any(|p| p.value == *w)).collect();
    if let Some(at) = proven_at.filter(|_| !left.is_empty() && found.iter().all(Option::is_some)) {
        r.report(UNPROVEN_DIRECTION.at(at, format!("the direction words were not proven for {}", left.join(", "))));
    }
    Some(Acceptance { span: r.span(), by: by?, date: date?, poses: driven, directions: proven })
}
