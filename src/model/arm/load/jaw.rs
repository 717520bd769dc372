//! Reading the jaw and its grip levels.

use crate::model::arm::keys::*;
use crate::model::arm::rules::*;
use crate::model::arm::{Jaw, Level, OnPowerLoss};
use crate::model::keys::key;
use crate::model::names::{self, For};
use crate::model::read::Read;
use crate::syntax::record::Record;
use crate::units::{Force, Length};

pub(super) fn jaw(r: &Record<'_>) -> Option<Jaw> {
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
    let grip_centre = r.point(key!(JAW, "grip-centre"));
    let closing = r.axis(key!(JAW, "closing"));
    let on_power_loss = r.word(key!(JAW, "on-power-loss"), &[OnPowerLoss::Holds, OnPowerLoss::LetsGo, OnPowerLoss::Unknown]);
    let control = r.words(key!(JAW, "control"));
    let (closes, opens) = (r.words(key!(JAW, "closes")), r.words(key!(JAW, "opens")));
    let level_control = r.words(key!(JAW, "level-control"));
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
        grip_centre,
        closing,
        on_power_loss: on_power_loss?.value,
        control: control?.value,
        closes: closes.map(|words| words.value),
        opens: opens.map(|words| words.value),
        level_control: level_control.map(|words| words.value),
        engraved: engraved?.value,
    })
}
