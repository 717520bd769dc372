//! Travel of a joint as a dial of its read-out: stops, the band that targets keep to, zero, and which way it grows as it is seen.
//!
//! Invariant: a way of turning is drawn only where it follows from the axis of the joint; otherwise the words stand alone.

use super::console::Value;
use super::letters::{self, hyphenated, width, wrapped};
use super::scene::{Anchor, Mark, Path, Pen, Point, Scene, Text, Type, Weight, thousandths};
use crate::units::trig;
use crate::words::{Words, ids};

/// What a dial shows; angles are degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    /// The engraved name.
    pub name: Value,
    /// From where it is seen, and whether the angle grows counter-clockwise there.
    pub seen: Option<(Value, bool)>,
    /// Zero stands at the right instead of at the top.
    pub level: bool,
    /// The ends of the travel.
    pub ends: [f64; 2],
    /// The ends between which targets keep.
    pub soft: [f64; 2],
    /// The ends as printed.
    pub labels: [Value; 2],
    /// What is written in the middle of a dial without stops.
    pub endless: Option<Value>,
    /// The word for growing angle, then the other.
    pub words: [Word; 2],
    /// What else is to be known, a line or a few each.
    pub notes: Vec<Value>,
}

/// A direction word.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// The word with its sign.
    pub word: Value,
    /// From where it is true.
    pub place: Value,
}

/// Radius of a dial, in millimetres.
const RADIUS: f64 = 7.0;
/// Least width of a sheet: what the notes below a dial read well in.
const LEAST: f64 = 25.0;
/// Room left of the words for their arrow.
const ARROW: f64 = 6.0;

/// Distance of the numbers from the middle.
const NUMBERS: f64 = RADIUS + 2.5;
/// How far beside the middle a dial reaches with its marks.
const REACH: f64 = RADIUS + 1.5;
/// A mark this steep has its number over or under the dial, where it may stand nearer to the middle than the mark does: a sine.
const STEEP: f64 = 0.5;

impl Dial {
    /// The way from the middle to an angle: to the right, and up.
    fn way(&self, angle: f64) -> (f64, f64) {
        let sign = if self.seen.as_ref().is_none_or(|s| s.1) { 1.0 } else { -1.0 };
        let from = if self.level { 0.0 } else { 90.0 };
        let turn = (from + sign * angle).to_radians();
        (trig::cos(turn), trig::sin(turn))
    }

    /// To which side the number of an angle stands: beside its mark, over or under it.
    fn side(&self, angle: f64) -> f64 {
        let (right, _) = self.way(angle);
        if right.abs() < 0.02 { 0.0 } else { right.signum() }
    }

    /// How far it reaches to the left and to the right of its middle, with the numbers that stand beside it.
    fn reach(&self) -> [f64; 2] {
        let mut reach = [REACH; 2];
        for (angle, label) in self.ends.into_iter().zip(&self.labels).filter(|_| self.endless.is_none()) {
            let (right, up) = self.way(angle);
            if up.abs() < STEEP {
                let side = &mut reach[usize::from(right > 0.0)];
                *side = side.max(NUMBERS * right.abs() + 0.5 + wide(&label.words) + 0.5);
            }
        }
        reach
    }

    /// The width that it needs, in millimetres.
    fn wanted(&self) -> f64 {
        let widest = |words: &str, size: Type| f64::from(letters::pieces(words).map(|w| width(w, size)).max().unwrap_or(0)) / 1000.0;
        let word = |w: &Word| widest(&w.word.words, Type::Strong).max(widest(&w.place.words, Type::Name)) + ARROW + 1.0;
        let numbers = self.labels.iter().map(|l| wide(&l.words)).sum::<f64>() + 2.0;
        let name = widest(&self.name.words, Type::Call) + 2.0;
        self.words.iter().map(word).chain([name, numbers, self.reach().iter().sum()]).fold(LEAST, f64::max)
    }
}

/// The width of a number, in millimetres.
fn wide(number: &str) -> f64 {
    f64::from(width(number, Type::Name)) / 1000.0
}

/// The widths of dials that share rows of this width with this gap: as wide as each needs where one row takes them all, or else all alike.
fn widths(dials: &[Dial], row: f64, gap: f64) -> Vec<f64> {
    let wanted: Vec<f64> = dials.iter().map(Dial::wanted).collect();
    let spare = row - wanted.iter().sum::<f64>() - gap * (dials.len() as f64 - 1.0);
    if spare >= 0.0 {
        let more = spare / dials.len() as f64;
        return wanted.into_iter().map(|w| w + more).collect();
    }
    let widest = wanted.into_iter().fold(0.0, f64::max);
    let count = ((row + gap) / (widest + gap)).floor().max(1.0);
    vec![((row + gap) / count - gap).max(widest); dials.len()]
}

/// The lines of where a dial is seen from, on a sheet of this width.
fn place(dial: &Dial, sheet: f64) -> Vec<String> {
    dial.seen.as_ref().map_or_else(Vec::new, |(seen, _)| hyphenated(&seen.words, Type::Name, thousandths(sheet - 1.0)))
}

/// Draws dials that share rows of this width with this gap.
pub fn dials(dials: &[Dial], row: f64, gap: f64, words: &Words) -> Vec<Scene> {
    let widths = widths(dials, row, gap);
    // All circles stand at one height.
    let lines = |(d, wide): (&Dial, &f64)| (wrapped(&d.name.words, Type::Call, thousandths(wide - 1.0)).len(), place(d, *wide).len());
    let most = dials.iter().zip(&widths).map(lines).fold((1, 1), |a, b| (a.0.max(b.0), a.1.max(b.1)));
    dials.iter().zip(&widths).map(|(d, wide)| dial(d, *wide, most, words)).collect()
}

/// Draws a dial on a sheet of this width, below room for this many lines of its name and of where it is seen from.
fn dial(dial: &Dial, sheet: f64, most: (usize, usize), words: &Words) -> Scene {
    let mut scene = Scene { width: thousandths(sheet), title: words.fill(ids::CARD_DIAL_TITLE, [&dial.name.words]), ..Scene::default() };
    let mut top = 0.0;
    let put = |scene: &mut Scene, at: (f64, f64), anchor, size, lines: Vec<String>, field: Option<&Value>| {
        let at = Point::mm(at.0, at.1);
        scene.marks.push(Mark::Text(Text { at, anchor, size, lines, field: field.map(|v| v.id.clone()) }));
    };
    let middle = sheet / 2.0;
    let name = wrapped(&dial.name.words, Type::Call, thousandths(sheet - 1.0));
    put(&mut scene, (middle, 4.0), Anchor::Middle, Type::Call, name, Some(&dial.name));
    top += most.0 as f64 * f64::from(Type::Call.leading()) / 1000.0 + 1.5;
    if let Some((seen, _)) = &dial.seen {
        put(&mut scene, (middle, top + 2.2), Anchor::Middle, Type::Name, place(dial, sheet), Some(seen));
    }
    top += (most.1 as f64 - 1.0) * f64::from(Type::Name.leading()) / 1000.0 + 3.0;
    let [left, right] = dial.reach();
    let centre = (middle.max(left).min(sheet - right), top + 5.0 + RADIUS);
    let on = |angle: f64, r: f64| {
        let (right, up) = dial.way(angle);
        (centre.0 + r * right, centre.1 - r * up)
    };
    let run = |from: f64, to: f64, r: f64| {
        let count = ((to - from).abs() / 3.0).ceil().max(1.0) as usize;
        let places = (0..=count).map(|i| on(from + (to - from) * i as f64 / count as f64, r));
        Path::through(places.map(|(x, y)| Point::mm(x, y)), false)
    };
    let spoke = |angle: f64, from: f64, to: f64| {
        let (a, b) = (on(angle, from), on(angle, to));
        Path::through([Point::mm(a.0, a.1), Point::mm(b.0, b.1)], false)
    };
    let [low, high] = dial.ends;
    if let Some(endless) = &dial.endless {
        scene.lines(vec![run(0.0, 360.0, RADIUS)], Pen::solid(Weight::Thick));
        let lines = hyphenated(&endless.words, Type::Name, thousandths(RADIUS * 1.6));
        let up = (lines.len() as f64 - 1.0) * f64::from(Type::Name.leading()) / 2000.0;
        put(&mut scene, (centre.0, centre.1 + 1.0 - up), Anchor::Middle, Type::Name, lines, Some(endless));
    } else {
        scene.lines(vec![run(0.0, 360.0, RADIUS)], Pen::solid(Weight::Fine));
        scene.lines(vec![run(dial.soft[0], dial.soft[1], RADIUS)], Pen::solid(Weight::Thick));
        scene.lines(vec![spoke(low, RADIUS - 2.0, RADIUS + 1.5), spoke(high, RADIUS - 2.0, RADIUS + 1.5)], Pen::solid(Weight::Medium));
    }
    if low <= 0.0 && high >= 0.0 {
        scene.lines(vec![spoke(0.0, RADIUS - 1.5, RADIUS)], Pen::solid(Weight::Thin));
        let at = on(0.0, RADIUS - 3.2);
        if dial.endless.is_none() {
            put(&mut scene, (at.0, at.1 + 1.0), Anchor::Middle, Type::Name, vec!["0".to_owned()], None);
        }
    }
    for (angle, label) in [low, high].into_iter().zip(&dial.labels) {
        if dial.endless.is_some() {
            continue;
        }
        // Words beside a mark stand at its height, words over or under it clear of it.
        let ((x, y), side, (_, up)) = (on(angle, NUMBERS), dial.side(angle), dial.way(angle));
        let anchor = if side > 0.0 {
            Anchor::Start
        } else if side < 0.0 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        let (wide, x, y) = (wide(&label.words), x + side * 0.5, y - up);
        let (least, most) = match anchor {
            Anchor::Start => (0.5, sheet - 0.5 - wide),
            Anchor::End => (0.5 + wide, sheet - 0.5),
            _ => (0.5 + wide / 2.0, sheet - 0.5 - wide / 2.0),
        };
        // What the sheet does not take beside the mark stands over or under the dial.
        let at = if (least..=most).contains(&x) { (x, y) } else { (x.clamp(least, most), centre.1 - up.signum() * (RADIUS + 3.2)) };
        put(&mut scene, (at.0, at.1 + 1.0), anchor, Type::Name, vec![label.words.clone()], Some(label));
    }
    let mut foot = centre.1 + RADIUS + 5.0;
    if dial.endless.is_some() {
        let words = [&dial.labels[0], &dial.labels[1]];
        put(&mut scene, (middle - 1.0, foot - 0.5), Anchor::End, Type::Name, vec![words[0].words.clone()], Some(words[0]));
        put(&mut scene, (middle + 1.0, foot - 0.5), Anchor::Start, Type::Name, vec![words[1].words.clone()], Some(words[1]));
    }
    foot += 3.0;
    for (i, word) in dial.words.iter().enumerate() {
        let grows = i == 0;
        let counter = dial.seen.as_ref().map(|s| s.1 == grows);
        if let Some(counter) = counter {
            curl(&mut scene, (2.9, foot - 0.4), counter);
        }
        for (value, size) in [(&word.word, Type::Strong), (&word.place, Type::Name)] {
            let lines = hyphenated(&value.words, size, thousandths(sheet - ARROW));
            let tall = lines.len() as f64 * f64::from(size.leading()) / 1000.0;
            put(&mut scene, (ARROW, foot), Anchor::Start, size, lines, Some(value));
            foot += tall;
        }
        foot += 1.2;
    }
    for note in &dial.notes {
        let lines = hyphenated(&note.words, Type::Name, thousandths(sheet - 1.5));
        let tall = lines.len() as f64 * f64::from(Type::Name.leading()) / 1000.0;
        put(&mut scene, (0.8, foot), Anchor::Start, Type::Name, lines, Some(note));
        foot += tall + 0.4;
    }
    scene.height = thousandths(foot - 1.0);
    scene.finish();
    scene
}

/// A curved arrow about this place.
fn curl(scene: &mut Scene, (x, y): (f64, f64), counter: bool) {
    let r = 1.8;
    let side = if counter { -1.0 } else { 1.0 };
    let at = |degrees: f64| {
        let t: f64 = degrees.to_radians();
        (x + side * r * trig::sin(t), y - r * trig::cos(t))
    };
    let places = (0..=24).map(|i| at(-130.0 + 10.0 * f64::from(i))).map(|(x, y)| Point::mm(x, y));
    scene.lines(vec![Path::through(places, false)], Pen::solid(Weight::Medium));
    let (tip, before) = (at(150.0), at(105.0));
    scene.head(Point::mm(tip.0, tip.1), (tip.0 - before.0, tip.1 - before.1), 2.2);
}
