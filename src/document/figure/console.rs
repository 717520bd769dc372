//! The sticks of a console, from above: what each way of moving one does.
//!
//! Invariant: an arrow is drawn only where the profile's words name a way on the panel (left, right, forward, back, clockwise,
//! counter-clockwise); anything else is written out below, never guessed.

use super::letters::{self, hyphenated, width};
use super::scene::{Anchor, Ink, Mark, Path, Pen, Point, Scene, Step, Text, Type, Weight, thousandths};
use crate::words::{Words, ids};

/// A value to be drawn, with the id by which it is read back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Value {
    /// Its id.
    pub id: String,
    /// Its words.
    pub words: String,
}

/// A stick and what it drives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stick {
    /// Its name.
    pub name: Value,
    /// What can be done with it.
    pub acts: Vec<Act>,
}

/// One way of moving a stick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Act {
    /// What the hand does: "push left".
    pub hand: Value,
    /// What the arm does then: "BASE LEFT".
    pub arm: Value,
}

/// A way on the panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Forward,
    Back,
    Left,
    Right,
    CounterClockwise,
    Clockwise,
}

/// The way that words name; none if they name none or more than one.
fn way(words: &str) -> Option<Way> {
    let words: Vec<String> = words.split_whitespace().map(|w| w.trim_matches(',').to_lowercase()).collect();
    let has = |names: &[&str]| words.iter().any(|w| names.contains(&w.as_str()));
    let turns = has(&["turn", "twist", "rotate"]);
    let named = [
        (has(&["clockwise"]), Way::Clockwise),
        (has(&["counter-clockwise", "anticlockwise", "anti-clockwise", "counterclockwise"]), Way::CounterClockwise),
        (has(&["left"]), if turns { Way::CounterClockwise } else { Way::Left }),
        (has(&["right"]), if turns { Way::Clockwise } else { Way::Right }),
        (has(&["forward", "forwards", "ahead", "away"]), Way::Forward),
        (has(&["back", "backward", "backwards", "toward", "towards"]), Way::Back),
    ];
    let mut found = named.into_iter().filter(|n| n.0).map(|n| n.1);
    match (found.next(), found.next()) {
        (Some(way), None) => Some(way),
        (None, _) if words == ["push"] => Some(Way::Forward),
        (None, _) if words == ["pull"] => Some(Way::Back),
        _ => None,
    }
}

/// Radius of the knob, where arrows begin and where they end.
const KNOB: f64 = 4.5;
const FROM: f64 = 6.0;
const TO: f64 = 12.0;
/// Where words over an arrow to the side start, clear of the knob.
const CLEAR: f64 = KNOB + 0.4;
/// Their room on a sheet of this width.
fn beside(sheet: f64) -> f64 {
    sheet / 2.0 - CLEAR - 0.4
}

/// Whether every word of a stick has room on a sheet of this width.
pub fn fits(stick: &Stick, sheet: f64) -> bool {
    let room = thousandths(beside(sheet));
    let has_room = |words: &str, size: Type| letters::pieces(words).all(|p| width(p, size) <= room);
    stick.acts.iter().all(|a| has_room(&a.arm.words, Type::Strong) && has_room(&a.hand.words, Type::Name))
}

/// Foot of the line that names the stick.
const NAME: f64 = 5.0;

/// Words of an act in lines: what the arm does, then what the hand does.
struct Label {
    size: Type,
    arm: Vec<String>,
    hand: Vec<String>,
}

impl Label {
    /// Large where every word has room and they take two lines at most.
    fn of(act: &Act, room: f64) -> Label {
        let room = thousandths(room);
        let fits = letters::pieces(&act.arm.words).all(|w| width(w, Type::Call) <= room);
        let size = if fits && hyphenated(&act.arm.words, Type::Call, room).len() <= 2 { Type::Call } else { Type::Strong };
        Label { size, arm: hyphenated(&act.arm.words, size, room), hand: hyphenated(&act.hand.words, Type::Name, room) }
    }

    /// Heights of the two, in millimetres.
    fn heights(&self) -> (f64, f64) {
        let tall = |lines: &[String], size: Type| f64::from(lines.len() as i32 * size.leading()) / 1000.0;
        (tall(&self.arm, self.size), tall(&self.hand, Type::Name))
    }

    fn height(&self) -> f64 {
        let (arm, hand) = self.heights();
        arm + hand
    }

    /// Puts what the arm does with its upper edge at one place, and what the hand does at another.
    fn put(self, act: &Act, x: f64, tops: (f64, f64), anchor: Anchor, scene: &mut Scene) {
        for (lines, size, value, top) in [(self.arm, self.size, &act.arm, tops.0), (self.hand, Type::Name, &act.hand, tops.1)] {
            let at = Point { x: thousandths(x), y: thousandths(top) + size.height() };
            scene.marks.push(Mark::Text(Text { at, anchor, size, lines, field: Some(value.id.clone()) }));
        }
    }
}

/// Draws a stick on a sheet of this width, in millimetres.
pub fn stick(stick: &Stick, sheet: f64, words: &Words) -> Scene {
    let mut scene = Scene { width: thousandths(sheet), title: words.fill(ids::CARD_STICK, [&stick.name.words]), ..Scene::default() };
    let (mut drawn, mut listed): (Vec<(Way, &Act)>, Vec<&Act>) = (Vec::new(), Vec::new());
    for act in &stick.acts {
        match way(&act.hand.words).filter(|w| drawn.iter().all(|(other, _)| other != w)) {
            Some(way) => drawn.push((way, act)),
            None => listed.push(act),
        }
    }
    let label = |way: Way| {
        let room = if matches!(way, Way::Forward | Way::Back) { sheet - 10.0 } else { beside(sheet) };
        drawn.iter().find(|(w, _)| *w == way).map(|(_, act)| Label::of(act, room))
    };
    let heights = |way: Way| label(way).map_or((0.0, 0.0), |l| l.heights());
    let tall = |way: Way| label(way).map_or(0.0, |l| l.height());
    // Of the words beside the knob: over the arrows and under them.
    let over = heights(Way::Left).0.max(heights(Way::Right).0) + 2.0;
    let under = heights(Way::Left).1.max(heights(Way::Right).1) + 3.0;
    let bows = tall(Way::Clockwise).max(tall(Way::CounterClockwise));
    // What bows say stands over what sideways arrows say.
    let bows_at = over.max(KNOB + 4.5);
    let forward_at = if bows > 0.0 { bows_at + bows } else { over }.max(TO) + 1.5;
    let above = if tall(Way::Forward) > 0.0 { forward_at + tall(Way::Forward) } else { over.max(bows_at + bows) };
    let back_at = under.max(TO) + 1.0;
    let below = if tall(Way::Back) > 0.0 { back_at + tall(Way::Back) } else { under.max(KNOB + 1.0) };
    let (x, y) = (sheet / 2.0, NAME + 2.0 + above.max(KNOB + 1.0));
    let mut foot = y + below;
    scene.marks.push(Mark::Text(Text {
        at: Point::mm(x, NAME - 1.0),
        anchor: Anchor::Middle,
        size: Type::Strong,
        lines: vec![stick.name.words.clone()],
        field: Some(stick.name.id.clone()),
    }));
    knob(&mut scene, x, y);
    // In the order written, so that a print has one order.
    for (way, act) in &drawn {
        let Some(label) = label(*way) else { continue };
        let (arm, hand) = label.heights();
        match way {
            Way::Forward => {
                arrow(&mut scene, (x, y), (0.0, -1.0), forward_at - 1.5);
                let top = y - forward_at - arm - hand;
                label.put(act, x, (top, top + arm), Anchor::Middle, &mut scene);
            }
            Way::Back => {
                arrow(&mut scene, (x, y), (0.0, 1.0), back_at - 1.0);
                label.put(act, x, (y + back_at, y + back_at + arm), Anchor::Middle, &mut scene);
            }
            Way::Left | Way::Right => {
                let (side, anchor) = if *way == Way::Left { (-1.0, Anchor::End) } else { (1.0, Anchor::Start) };
                arrow(&mut scene, (x, y), (side, 0.0), TO);
                label.put(act, x + side * CLEAR, (y - 2.0 - arm, y + 2.2), anchor, &mut scene);
            }
            Way::CounterClockwise | Way::Clockwise => {
                let (side, anchor) = if *way == Way::Clockwise { (1.0, Anchor::Start) } else { (-1.0, Anchor::End) };
                bow(&mut scene, (x, y), side);
                let top = y - bows_at - arm - hand;
                label.put(act, x + side * 3.0, (top, top + arm), anchor, &mut scene);
            }
        }
    }
    // What is no way on the panel stands below, two and two.
    for pair in listed.chunks(2) {
        let half = sheet / pair.len() as f64;
        let labels: Vec<Label> = pair.iter().map(|act| Label::of(act, half - 2.0)).collect();
        let tall = labels.iter().map(Label::height).fold(0.0, f64::max);
        for (i, (label, act)) in labels.into_iter().zip(pair).enumerate() {
            let (arm, _) = label.heights();
            label.put(act, half * (i as f64 + 0.5), (foot + 1.5, foot + 1.5 + arm), Anchor::Middle, &mut scene);
        }
        foot += tall + 1.5;
    }
    scene.height = thousandths(foot + 1.0);
    let corner = |x: i32, y: i32| Point { x, y };
    let (w, h) = (scene.width, scene.height);
    scene.lines(vec![Path::through([corner(0, 0), corner(w, 0), corner(w, h), corner(0, h)], true)], Pen::solid(Weight::Fine));
    scene.finish();
    scene
}

fn knob(scene: &mut Scene, x: f64, y: f64) {
    let radius = thousandths(KNOB);
    let (right, left) = (Point::mm(x + KNOB, y), Point::mm(x - KNOB, y));
    let circle = Path { start: right, steps: vec![Step::Arc { to: left, radius }, Step::Arc { to: right, radius }], closed: true };
    scene.fill(vec![circle.clone()], Ink::White);
    scene.lines(vec![circle], Pen::solid(Weight::Thick));
}

fn arrow(scene: &mut Scene, (x, y): (f64, f64), (dx, dy): (f64, f64), to: f64) {
    let (from, tip) = (Point::mm(x + dx * FROM, y + dy * FROM), Point::mm(x + dx * to, y + dy * to));
    let neck = Point::mm(x + dx * (to - 2.0), y + dy * (to - 2.0));
    scene.lines(vec![Path::through([from, neck], false)], Pen::solid(Weight::Thick));
    scene.head(tip, (dx, dy), 4.0);
}

/// A curved arrow over the knob; side 1 clockwise.
fn bow(scene: &mut Scene, (x, y): (f64, f64), side: f64) {
    let r = KNOB + 3.0;
    let (dx, dy) = (r * std::f64::consts::FRAC_1_SQRT_2, r * std::f64::consts::FRAC_1_SQRT_2);
    let (top, end) = (Point::mm(x, y - r), Point::mm(x + side * dx, y - dy));
    // An arc keeps its centre to the left as one goes along.
    let path = if side > 0.0 {
        Path { start: end, steps: vec![Step::Arc { to: top, radius: thousandths(r) }], closed: false }
    } else {
        Path { start: top, steps: vec![Step::Arc { to: end, radius: thousandths(r) }], closed: false }
    };
    scene.lines(vec![path], Pen::solid(Weight::Thick));
    let tip = Point::mm(x + side * (dx + 2.0), y - dy + 2.0);
    scene.head(tip, (side, 1.0), 4.0);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_words_that_name_one_way_are_drawn() {
        for (words, expected) in [
            ("push left", Some(Way::Left)),
            ("push", Some(Way::Forward)),
            ("push forward", Some(Way::Forward)),
            ("pull back", Some(Way::Back)),
            ("press right", Some(Way::Right)),
            ("turn clockwise", Some(Way::Clockwise)),
            ("twist left", Some(Way::CounterClockwise)),
            ("twist up", None),
            ("push left and forward", None),
            ("squeeze", None),
        ] {
            assert_eq!(way(words), expected, "{words}");
        }
    }
}
