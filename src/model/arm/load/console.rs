//! Reading the console: which stick drives what, and what may move together.

use super::Known;
use crate::model::JointId;
use crate::model::arm::keys::*;
use crate::model::arm::rules::*;
use crate::model::arm::{Console, Stick, StickAxis};
use crate::model::keys::key;
use crate::model::read::Read;
use crate::syntax::record::{Field, Record};
use crate::text::Spanned;

pub(super) fn console(r: &Record<'_>, known: &Known<'_>) -> Option<Console> {
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
