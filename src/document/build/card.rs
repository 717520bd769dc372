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
use crate::model::arm::{Arm, Direction, Jaw, Joint, Travel};
use crate::model::solid;
use crate::units::Angle;
use crate::words::Words;
use crate::words::ids::{self, Entry};
use std::sync::Arc;

/// Width of a row of dials, and the space between them, in millimetres: the text of an A4 or Letter page.
const ROW: f64 = 179.0;
const GAP: f64 = 2.9;

/// Beyond this an axis counts as upright, level or lengthwise: its cosine.
const PLAIN: f64 = 0.999;

/// The card of an arm; `digest` is its file's, in hexadecimal digits.
pub fn card(arm: &Arm, digest: &str, words: &Words) -> Card {
    let identity = Identity {
        title: Field::new("doc.title", arm.title.as_str()),
        revision: Field::new("doc.revision", arm.revision.value.as_str()),
        date: date(Some(&arm.date)),
        code: Field::new("doc.digest", grouped(digest, SHORT)),
    };
    Card {
        content: Content { identity, blocks: blocks(arm, words) },
        stamp: Stamp::new(Status::Card, arm.standing, Edition::Operator, words),
    }
}

/// What stands on the card.
pub(super) fn blocks(arm: &Arm, words: &Words) -> Vec<Part> {
    vec![Part::Drawn(sticks(arm, words)), Part::Drawn(travel(arm, words)), Part::Controls(Box::new(controls(arm, words)))]
}

fn value(id: String, words: String) -> Value {
    let field = Field::new(id, words);
    Value { id: field.id, words: field.text }
}

fn sticks(arm: &Arm, words: &Words) -> Drawn {
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
        words.fill(ids::CARD_PAIR, [&arm.joint(a).engraved, &arm.joint(b).engraved])
    });
    let together: Vec<String> = together.collect();
    let together = if together.is_empty() {
        words.say(ids::CARD_TOGETHER_NONE).to_owned()
    } else {
        words.fill(ids::CARD_TOGETHER, [&words.row(&together, ids::LIST_SEMICOLON)])
    };
    Drawn {
        item: "sticks".to_owned(),
        notes: vec![Prose::plain("sticks.deflection", arm.console.deflection.as_str()), Prose::plain("sticks.together", together)],
        drawing: Arc::new(Drawing {
            views: views.iter().map(|v| console::stick(v, share(count), words)).collect(),
            key: Vec::new(),
            description: words.say(ids::CARD_STICKS).to_owned(),
        }),
    }
}

fn travel(arm: &Arm, words: &Words) -> Drawn {
    let seen = sides(arm);
    let dials: Vec<Dial> = arm.joints.iter().zip(seen).enumerate().map(|(i, (joint, seen))| of(i, joint, seen, words)).collect();
    let description = dials.iter().map(|d| spoken(d, words)).collect::<Vec<_>>().join(" ");
    Drawn {
        item: "travel".to_owned(),
        notes: vec![Prose::plain("travel.note", words.say(ids::CARD_TRAVEL))],
        drawing: Arc::new(Drawing { views: dial::dials(&dials, ROW, GAP, words), key: Vec::new(), description }),
    }
}

/// A dial in words, for those who do not see it.
fn spoken(dial: &Dial, words: &Words) -> String {
    let (name, [low, high]) = (&dial.name.words, [&dial.labels[0].words, &dial.labels[1].words]);
    match &dial.seen {
        Some((place, counter)) => {
            let way = words.say(if *counter { ids::CARD_COUNTER_CLOCKWISE } else { ids::CARD_CLOCKWISE });
            words.fill(ids::CARD_DIAL_TURNS, [name, low, high, &place.words, &dial.words[0].word.words, way])
        }
        None => words.fill(ids::CARD_DIAL, [name, low, high]),
    }
}

/// From where each joint's turning is seen plainly, with whether its angle grows counter-clockwise there and whether zero stands
/// level; none where no such place is.
fn sides(arm: &Arm) -> Vec<Option<(Entry<0>, bool, bool)>> {
    let Ok(chain) = solid::chain(arm, None) else { return vec![None; arm.joints.len()] };
    axes(&chain)
        .into_iter()
        .map(|axis| {
            Some(match axis {
                a if a.z.abs() > PLAIN => (ids::CARD_ABOVE, a.z > 0.0, false),
                // From the right of the arm, forward is to the right of the page.
                a if a.y.abs() > PLAIN => (ids::CARD_RIGHT, a.y < 0.0, true),
                a if a.x.abs() > PLAIN => (ids::CARD_BEHIND, a.x < 0.0, false),
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

fn of(i: usize, joint: &Joint, seen: Option<(Entry<0>, bool, bool)>, words: &Words) -> Dial {
    let id = |name: &str| format!("travel.{}.{name}", i + 1);
    let degrees = |a: Angle| a.0 as f64 / 1000.0;
    let (low, high) = joint.travel.ends();
    let (soft_low, soft_high) = joint.soft_limits();
    let endless = matches!(joint.travel, Travel::Turns { .. });
    let word = |name: &str, direction: &Direction, sign: &str| Word {
        word: value(id(name), format!("{} {sign}", direction.word.value.to_uppercase())),
        place: value(id(&format!("{name}-place")), words.fill(ids::CARD_SEEN_FROM, [&direction.seen_from])),
    };
    Dial {
        name: value(id("engraved"), joint.engraved.clone()),
        seen: seen.map(|(from, counter, _)| (value(id("seen"), words.say(from).to_owned()), counter)),
        level: seen.is_some_and(|s| s.2),
        ends: [degrees(low.value), degrees(high.value)],
        soft: [degrees(soft_low), degrees(soft_high)],
        labels: [value(id("first"), low.value.signed(joint.decimals)), value(id("last"), high.value.signed(joint.decimals))],
        endless: endless.then(|| value(id("endless"), words.say(ids::CARD_NO_STOPS).to_owned())),
        words: [word("grows", &joint.positive, "+"), word("falls", &joint.negative, "-")],
        notes: vec![
            value(id("targets"), words.fill(ids::CARD_TARGETS, [&soft_low.signed(joint.decimals), &soft_high.signed(joint.decimals)])),
            value(
                id("stops"),
                words.fill(ids::CARD_STOPS, [&joint.stop_by_readout.value.to_string(), &joint.stop_by_eye.value.to_string()]),
            ),
            value(id("zero"), words.fill(ids::CARD_ZERO, [&joint.zero_mark])),
        ],
    }
}

/// The control of the jaw, with what is done with it as far as the profile says.
fn jaw_control(jaw: &Jaw, words: &Words) -> String {
    let ways = [(jaw.closes.as_ref(), ids::CARD_JAW_CLOSES), (jaw.opens.as_ref(), ids::CARD_JAW_OPENS)];
    let ways: Vec<String> = ways.into_iter().filter_map(|(action, entry)| Some(words.fill(entry, [action?]))).collect();
    let control = match ways.is_empty() {
        true => jaw.control.clone(),
        false => words.fill(ids::CARD_JAW, [&jaw.control, &words.row(&ways, ids::LIST_COMMA)]),
    };
    let level = jaw.level_control.as_ref().map(|by| words.fill(ids::CARD_LEVEL_BY, [by]));
    words.row(&[control].into_iter().chain(level).collect::<Vec<_>>(), ids::LIST_SEMICOLON)
}

fn controls(arm: &Arm, words: &Words) -> Controls {
    let (console, jaw) = (&arm.console, &arm.jaw);
    let levels = jaw.levels.iter().enumerate().map(|(i, level)| {
        let field = |name: &str, text: String| Field::new(format!("controls.{}.{name}", i + 1), text);
        let (least, most) = (level.least.value, level.most.value);
        Level {
            engraved: field("engraved", level.name.value.clone()),
            force: field("force", words.fill(ids::CARD_RANGE, [&least.to_string(), &most.to_string()])),
        }
    });
    let checks = console.before_power_on.iter().enumerate();
    let prose = |name: &str, text: &str| Prose::plain(format!("controls.{name}"), text);
    Controls {
        item: "controls",
        checks: checks.map(|(i, c)| prose(&format!("check{}", i + 1), &c.value)).collect(),
        on: prose("on", &console.power_on),
        off: vec![prose("off", &console.power_off), prose("isolation", words.say(ids::CAUTION_ISOLATION))],
        stop: prose("stop", &console.stop_control),
        loss: prose("loss", &wording::on_power_loss(arm, words)),
        jaw: Field::new("controls.jaw", jaw.engraved.as_str()),
        control: prose("control", &jaw_control(jaw, words)),
        range: Field::new("controls.range", words.fill(ids::CARD_RANGE, [&jaw.least.value.to_string(), &jaw.most.value.to_string()])),
        levels: levels.collect(),
    }
}
