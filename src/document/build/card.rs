//! An arm profile to its console card.

use super::Edition;
use super::front::{SHORT, date, grouped};
use super::situation::direction;
use crate::document::card::{Card, Content, Controls, Drawn, Identity, Level, Part};
use crate::document::figure::Drawing;
use crate::document::figure::console::{self, Act, Stick, Value};
use crate::document::figure::dial::{self, Dial, Word};
use crate::document::{Field, Prose, Stamp, Status, wording};
use crate::geometry::Vec3;
use crate::geometry::chain::Chain;
use crate::model::JointId;
use crate::model::arm::{Arm, Direction, Joint, Travel};
use crate::model::solid;
use crate::units::Angle;
use std::sync::Arc;

/// Width of a row of dials, and the space between them, in millimetres: the text of an A4 or Letter page.
const ROW: f64 = 179.0;
const GAP: f64 = 2.9;

/// Beyond this an axis counts as upright, level or lengthwise: its cosine.
const PLAIN: f64 = 0.999;

/// The card of an arm; `digest` is its file's, in hexadecimal digits.
pub fn card(arm: &Arm, digest: &str) -> Card {
    let blocks = vec![Part::Drawn(sticks(arm)), Part::Drawn(travel(arm)), Part::Controls(Box::new(controls(arm)))];
    let identity = Identity {
        title: Field::new("doc.title", arm.title.as_str()),
        revision: Field::new("doc.revision", arm.revision.value.as_str()),
        date: date(Some(&arm.date)),
        code: Field::new("doc.digest", grouped(digest, SHORT)),
    };
    Card { content: Content { identity, blocks }, stamp: Stamp::new(Status::Card, arm.standing, Edition::Operator) }
}

fn value(id: String, words: String) -> Value {
    let field = Field::new(id, words);
    Value { id: field.id, words: field.text }
}

fn sticks(arm: &Arm) -> Drawn {
    let act = |s: usize, a: usize, way: &str, joint: JointId, positive: bool, hand: &str| {
        let id = |name: &str| format!("sticks.{}.{}{way}.{name}", s + 1, a + 1);
        let arm_words = format!("{} {}", arm.joint(joint).engraved, direction(arm, joint, positive));
        Act { hand: value(id("hand"), hand.to_owned()), arm: value(id("arm"), arm_words) }
    };
    let views = arm.console.sticks.iter().enumerate().map(|(s, stick)| {
        let acts = stick.axes.iter().enumerate().flat_map(|(a, axis)| {
            [act(s, a, "up", axis.joint, true, &axis.positive), act(s, a, "down", axis.joint, false, &axis.negative)]
        });
        Stick { name: value(format!("sticks.{}.stick", s + 1), stick.name.value.clone()), acts: acts.collect() }
    });
    let views: Vec<Stick> = views.collect();
    let share = |count: usize| (ROW + GAP) / count as f64 - GAP;
    let count = (1..=views.len().clamp(1, 3)).rev().find(|n| views.iter().all(|v| console::fits(v, share(*n)))).unwrap_or(1);
    let together = arm.console.together.iter().map(|pair| {
        let (a, b) = pair.value;
        format!("{} with {}", arm.joint(a).engraved, arm.joint(b).engraved)
    });
    let together: Vec<String> = together.collect();
    let together = if together.is_empty() {
        "No two joints may move at once.".to_owned()
    } else {
        format!("May move at once: {}. No others.", together.join("; "))
    };
    Drawn {
        item: "sticks".to_owned(),
        notes: vec![Prose::plain("sticks.deflection", arm.console.deflection.as_str()), Prose::plain("sticks.together", together)],
        drawing: Arc::new(Drawing {
            views: views.iter().map(|v| console::stick(v, share(count))).collect(),
            key: Vec::new(),
            description: "The sticks from above, and what each way of moving one does.".to_owned(),
        }),
    }
}

fn travel(arm: &Arm) -> Drawn {
    let seen = sides(arm);
    let dials: Vec<Dial> = arm.joints.iter().zip(seen).enumerate().map(|(i, (joint, seen))| of(i, joint, seen)).collect();
    let wanted = dials.iter().map(Dial::wanted).fold(0.0, f64::max);
    let count = ((ROW + GAP) / (wanted + GAP)).floor().max(1.0);
    let sheet = ((ROW + GAP) / count - GAP).max(wanted);
    let description = dials.iter().map(spoken).collect::<Vec<_>>().join(" ");
    Drawn {
        item: "travel".to_owned(),
        notes: vec![Prose::plain(
            "travel.note",
            "Degrees of the read-out: stops at the long marks, targets keep to the thick line. Other joints at 0.",
        )],
        drawing: Arc::new(Drawing { views: dials.iter().map(|d| dial::dial(d, sheet)).collect(), key: Vec::new(), description }),
    }
}

/// A dial in words, for those who do not see it.
fn spoken(dial: &Dial) -> String {
    let turns = dial.seen.as_ref().map_or(String::new(), |(place, counter)| {
        let way = if *counter { "counter-clockwise" } else { "clockwise" };
        format!(" Seen {}, {} turns {way}.", place.words, dial.words[0].word.words)
    });
    format!("{}: {} to {} deg.{turns}", dial.name.words, dial.labels[0].words, dial.labels[1].words)
}

/// From where each joint's turning is seen plainly, with whether its angle grows counter-clockwise there and whether zero stands
/// level; none where no such place is.
fn sides(arm: &Arm) -> Vec<Option<(&'static str, bool, bool)>> {
    let Ok(chain) = solid::chain(arm, None) else { return vec![None; arm.joints.len()] };
    axes(&chain)
        .into_iter()
        .map(|axis| {
            Some(match axis {
                a if a.z.abs() > PLAIN => ("from above", a.z > 0.0, false),
                // From the right of the arm, forward is to the right of the page.
                a if a.y.abs() > PLAIN => ("from the right of the arm", a.y < 0.0, true),
                a if a.x.abs() > PLAIN => ("from behind", a.x < 0.0, false),
                _ => return None,
            })
        })
        .collect()
}

/// The axes of the joints with all of them at zero, as the mount sees them.
fn axes(chain: &Chain) -> Vec<Vec3> {
    let placed = chain.place_exact(&vec![0; chain.joints()]);
    (0..chain.joints()).map(|i| placed.axes[i].direction).collect()
}

fn of(i: usize, joint: &Joint, seen: Option<(&'static str, bool, bool)>) -> Dial {
    let id = |name: &str| format!("travel.{}.{name}", i + 1);
    let degrees = |a: Angle| a.0 as f64 / 1000.0;
    let (low, high) = joint.travel.ends();
    let (soft_low, soft_high) = joint.soft_limits();
    let endless = matches!(joint.travel, Travel::Turns { .. });
    let word = |name: &str, direction: &Direction, sign: &str| Word {
        word: value(id(name), format!("{} {sign}", direction.word.value.to_uppercase())),
        place: value(id(&format!("{name}-place")), format!("seen from {}", direction.seen_from)),
    };
    Dial {
        name: value(id("engraved"), joint.engraved.clone()),
        seen: seen.map(|(from, counter, _)| (value(id("seen"), from.to_owned()), counter)),
        level: seen.is_some_and(|s| s.2),
        ends: [degrees(low.value), degrees(high.value)],
        soft: [degrees(soft_low), degrees(soft_high)],
        labels: [value(id("first"), low.value.signed(joint.decimals)), value(id("last"), high.value.signed(joint.decimals))],
        endless: endless.then(|| value(id("endless"), "no stops".to_owned())),
        words: [word("grows", &joint.positive, "+"), word("falls", &joint.negative, "-")],
        notes: vec![
            value(id("targets"), format!("targets {} to {}", soft_low.signed(joint.decimals), soft_high.signed(joint.decimals))),
            value(id("stops"), format!("stops within {}, by eye within {}", joint.stop_by_readout.value, joint.stop_by_eye.value)),
            value(id("zero"), format!("zero mark: {}", joint.zero_mark)),
        ],
    }
}

fn controls(arm: &Arm) -> Controls {
    let (console, jaw) = (&arm.console, &arm.jaw);
    let levels = jaw.levels.iter().enumerate().map(|(i, level)| {
        let field = |name: &str, text: String| Field::new(format!("controls.{}.{name}", i + 1), text);
        let (least, most) = (level.least.value, level.most.value);
        Level { engraved: field("engraved", level.name.value.clone()), force: field("force", format!("{least} to {most}")) }
    });
    let checks = console.before_power_on.iter().enumerate();
    let prose = |name: &str, text: &str| Prose::plain(format!("controls.{name}"), text);
    Controls {
        item: "controls",
        checks: checks.map(|(i, c)| prose(&format!("check{}", i + 1), &c.value)).collect(),
        on: prose("on", &console.power_on),
        off: vec![prose("off", &console.power_off), prose("isolation", wording::NOT_ISOLATION)],
        stop: prose("stop", &console.stop_control),
        loss: prose("loss", &wording::on_power_loss(arm)),
        jaw: Field::new("controls.jaw", jaw.engraved.as_str()),
        control: prose("control", &jaw.control),
        range: Field::new("controls.range", format!("{} to {}", jaw.least.value, jaw.most.value)),
        levels: levels.collect(),
    }
}
