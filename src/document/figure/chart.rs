//! Values over the steps of a procedure: one strip below the other, each between its limits.
//!
//! Invariant: words stand beside the strips and never in them, so that no line lies under a word; each is a value with its id.

use super::console::Value;
use super::letters;
use super::scene::{Anchor, Dash, Ink, Mark, Path, Pen, Point, Scene, Text, Type, Weight, thousandths};

/// One strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// What is shown.
    pub name: Value,
    /// What the upper edge stands for.
    pub top: Value,
    /// What the lower edge stands for.
    pub bottom: Value,
    /// The worst of it, and where; none where nothing was looked at.
    pub worst: Option<Value>,
    /// Of each step the lowest and the highest, as shares of the strip from its lower edge; none where there is nothing.
    pub bars: Vec<Option<[f64; 2]>>,
    /// Steps whose bar is the worst.
    pub marked: Vec<bool>,
    /// A line across, as a share of the strip.
    pub line: Option<f64>,
}

/// Width of the sheet, in millimetres: it lies across the page, with room for a margin to write in.
const WIDE: f64 = 240.0;
/// Where the strips begin and end.
const LEFT: f64 = 34.0;
const RIGHT: f64 = 180.0;
/// Height of a strip: three lines have room beside it.
const HEIGHT: f64 = 10.0;
/// Room between strips.
const GAP: f64 = 4.0;

fn words(scene: &mut Scene, x: f64, y: f64, anchor: Anchor, size: Type, value: &Value, most: f64) {
    let lines = letters::hyphenated(&value.words, size, thousandths(most));
    scene.marks.push(Mark::Text(Text { at: Point::mm(x, y), anchor, size, lines, field: Some(value.id.clone()) }));
}

/// Draws strips over the numbers of their steps.
pub fn chart(title: &str, strips: &[Strip], steps: &[Value]) -> Scene {
    let mut scene = Scene { width: thousandths(WIDE), title: title.to_owned(), ..Scene::default() };
    let pitch = (RIGHT - LEFT) / steps.len().max(1) as f64;
    let middle = |n: usize| LEFT + (n as f64 + 0.5) * pitch;
    let mut top = 1.0;
    for strip in strips {
        let at = |share: f64| top + HEIGHT * (1.0 - share.clamp(0.0, 1.0));
        let box_of = |left: f64, right: f64, low: f64, high: f64| {
            Path::through(
                [Point::mm(left, at(high)), Point::mm(right, at(high)), Point::mm(right, at(low)), Point::mm(left, at(low))],
                true,
            )
        };
        let half = (pitch * 0.35).clamp(0.15, 1.2);
        let bars: Vec<(usize, [f64; 2])> = strip.bars.iter().enumerate().filter_map(|(n, b)| Some((n, (*b)?))).collect();
        // What is one value is drawn as thick as a line.
        let least = 0.35 / HEIGHT;
        let path = |(n, [low, high]): &(usize, [f64; 2])| {
            let grown = ((high - low).max(least) - (high - low)) / 2.0;
            box_of(middle(*n) - half, middle(*n) + half, low - grown, high + grown)
        };
        scene.lines(vec![box_of(LEFT, RIGHT, 0.0, 1.0)], Pen::solid(Weight::Medium));
        scene.fill(bars.iter().map(path).collect(), Ink::Black);
        if let Some(line) = strip.line {
            let across = Path::through([Point::mm(LEFT, at(line)), Point::mm(RIGHT, at(line))], false);
            scene.lines(vec![across], Pen { weight: Weight::Thin, dash: Dash::Long });
        }
        // An arrow from below at what is worst.
        for (n, _) in strip.marked.iter().enumerate().filter(|(_, m)| **m) {
            scene.head(Point::mm(middle(n), top + HEIGHT + 0.4), (0.0, -1.0), 2.4);
        }
        words(&mut scene, LEFT - 2.0, top + HEIGHT / 2.0 + 1.0, Anchor::End, Type::Strong, &strip.name, LEFT - 3.0);
        let beside = RIGHT + 2.0;
        words(&mut scene, beside, top + 2.0, Anchor::Start, Type::Name, &strip.top, WIDE - beside - 1.0);
        if let Some(worst) = &strip.worst {
            words(&mut scene, beside, top + HEIGHT / 2.0 + 1.0, Anchor::Start, Type::Strong, worst, WIDE - beside - 1.0);
        }
        words(&mut scene, beside, top + HEIGHT, Anchor::Start, Type::Name, &strip.bottom, WIDE - beside - 1.0);
        top += HEIGHT + GAP;
    }
    // As many numbers as have room.
    let mut free = f64::NEG_INFINITY;
    for (n, step) in steps.iter().enumerate() {
        let wide = f64::from(letters::width(&step.words, Type::Name)) / 1000.0;
        if middle(n) - wide / 2.0 < free {
            continue;
        }
        free = middle(n) + wide / 2.0 + 1.5;
        scene.lines(
            vec![Path::through([Point::mm(middle(n), top - GAP), Point::mm(middle(n), top - GAP + 1.2)], false)],
            Pen::solid(Weight::Fine),
        );
        words(&mut scene, middle(n), top + 1.8, Anchor::Middle, Type::Name, step, WIDE);
    }
    scene.height = thousandths(top + 3.0);
    scene.finish();
    scene
}
