//! A load by itself: from above and from the side, as it stands where it is taken, with its sizes, where the jaw grips it, and its
//! centre of gravity.
//!
//! Invariant: outlines are those of the shapes in the model; words stand outside them, and each size is a value with its id.

use super::Drawing;
use super::area::bounds;
use super::console::Value;
use super::draw::ring;
use super::letters;
use super::outline::{Outline, merged, silhouette};
use super::scene::{Anchor, Area, Dash, Ink, Mark, Path, Pen, Point, Scene, Step, Text, Type, Weight, thousandths};
use super::view::{Extent, Frame, View};
use crate::geometry::Vec3;
use crate::geometry::solid::Solid;
use crate::words::{Words, ids};

/// A load about the grip centre, in metres.
#[derive(Debug, Clone, Copy)]
pub struct Load<'a> {
    /// Its shapes.
    pub solids: &'a [Solid],
    /// Level, to the right on paper.
    pub ahead: Vec3,
    /// Plumb.
    pub up: Vec3,
    /// The way on which the pads close.
    pub closing: Option<Vec3>,
    /// Between the pads.
    pub grip: f64,
    /// Its centre of gravity.
    pub centre: Option<Vec3>,
}

/// What is written in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notes {
    /// The name of the load.
    pub name: Value,
    /// Its sizes ahead, across and up.
    pub sizes: [Value; 3],
    /// From the grip centre up to its top, where that is above.
    pub above: Option<Value>,
    /// From the grip centre down to its foot, where that is below.
    pub below: Option<Value>,
    /// What the bars stand for.
    pub pads: Value,
    /// What the round mark stands for, or that there is none.
    pub centre: Value,
}

/// Width of a view, and where the load is drawn in it, in millimetres.
const WIDE: f64 = 71.0;
const LEFT: f64 = 18.0;
const RIGHT: f64 = 53.0;
const TOP: f64 = 11.0;
const FOOT: f64 = 47.0;
/// Height of a view.
const HIGH: f64 = 56.0;
/// From the outline to the line of a size.
const OFF: i32 = 5500;
/// More outlines than this are those of a mesh: only what they cover together is drawn.
const PARTS: usize = 24;
/// Half the length of a bar for a pad, in millimetres on paper.
const PAD: f64 = 2.5;
/// A way seen shorter than this points at the viewer.
const END_ON: f64 = 0.3;
/// Radius of the mark of the centre of gravity.
const MARK: i32 = 1300;

/// Draws a load; none if it has no shape with an end.
pub fn sketch(load: &Load<'_>, notes: &Notes, words: &Words) -> Option<Drawing> {
    let across = load.up.cross(load.ahead);
    let plan = View { right: load.ahead, up: across, near: load.up };
    let level = View { right: load.ahead, up: load.up, near: load.ahead.cross(load.up) };
    let extent = |view: &View| {
        let solid = |s: &Solid| {
            let [r, u, l, d] = [view.right, view.up, -view.right, -view.up].map(|n| s.support(n));
            Extent { low: (-l, -d), high: (r, u) }
        };
        load.solids.iter().filter(|s| !s.is_half_space()).map(solid).reduce(Extent::and)
    };
    let extents = [extent(&plan)?, extent(&level)?];
    let scale = extents.iter().map(|e| e.scale(RIGHT - LEFT, FOOT - TOP)).fold(0.0, f64::max);
    let sheet = |view: View, extent: Extent, title| Sheet::new(load, view, extent, 1000.0 / scale, words.say(title));
    let mut above = sheet(plan, extents[0], ids::FIGURE_PLAN);
    above.wide(&notes.sizes[0]);
    above.high(&notes.sizes[1]);
    above.named(&notes.name, words.say(ids::FIGURE_PLAN));
    let mut beside = sheet(level, extents[1], ids::SKETCH_SIDE);
    beside.high(&notes.sizes[2]);
    beside.about_grip(notes.above.as_ref(), notes.below.as_ref());
    let views = [above, beside].map(|mut sheet| {
        sheet.scene.finish();
        sheet.scene
    });
    let key = vec![
        key(&notes.pads.words, Some(&notes.pads.id), load.closing.is_some(), |scene, at| pad(scene, at, (1.0, 0.0))),
        key(words.say(ids::SKETCH_GRIP_CENTRE), None, true, cross),
        key(&notes.centre.words, Some(&notes.centre.id), load.centre.is_some(), gravity),
    ];
    Some(Drawing { views: views.into(), key, description: words.fill(ids::SKETCH_SHOWS, [&notes.name.words]) })
}

/// One view being drawn.
struct Sheet {
    scene: Scene,
    frame: Frame,
    /// What the load covers on paper.
    covered: Area,
    /// Places on its edge.
    edge: Vec<Point>,
}

/// A place of the edge this near to the farthest is as far, in thousandths of a millimetre.
const AS_FAR: i32 = 60;

impl Sheet {
    fn new(load: &Load<'_>, view: View, extent: Extent, metre: f64, title: &str) -> Sheet {
        let area = Area { left: thousandths(LEFT), top: thousandths(TOP), right: thousandths(RIGHT), bottom: thousandths(FOOT) };
        let middle = ((extent.low.0 + extent.high.0) / 2.0, (extent.low.1 + extent.high.1) / 2.0);
        let frame = Frame { area, metre, middle };
        let mut scene = Scene { width: thousandths(WIDE), height: thousandths(HIGH), title: title.to_owned(), ..Scene::default() };
        let outlines: Vec<Outline> = load.solids.iter().filter_map(|s| silhouette(s, &view)).collect();
        let region = merged(&outlines, &frame);
        let covered = bounds(region.0.iter().flatten().copied()).unwrap_or(area);
        let paths: Vec<Path> = outlines.iter().map(|o| o.path(&frame)).collect();
        let whole = Pen::solid(Weight::Medium);
        match paths.len() {
            1 => scene.lines(paths, whole),
            parts => {
                if parts <= PARTS {
                    scene.lines(paths, Pen::solid(Weight::Fine));
                }
                scene.lines(region.paths(), whole);
            }
        }
        let grip = frame.paper(view.flat(Vec3::ZERO));
        if let Some(closing) = load.closing {
            let (x, y) = view.flat(closing);
            if (x * x + y * y).sqrt() > END_ON {
                for side in [-0.5, 0.5] {
                    pad(&mut scene, frame.paper(view.flat(closing * (side * load.grip))), (x, -y));
                }
            }
        }
        cross(&mut scene, grip);
        if let Some(centre) = load.centre {
            gravity(&mut scene, frame.paper(view.flat(centre)));
        }
        scene.marks.push(text(Point::mm(0.3, 3.5), Anchor::Start, Type::Strong, title, None));
        Sheet { scene, frame, covered, edge: region.0.into_iter().flatten().collect() }
    }

    /// The name of the load behind the title of the view.
    fn named(&mut self, name: &Value, title: &str) {
        let left = thousandths(2.0) + letters::width(title, Type::Strong);
        let lines = letters::wrapped(&name.words, Type::Name, thousandths(WIDE - 2.0) - left);
        let at = Point { x: left, y: Point::mm(0.0, 3.5).y };
        self.scene.marks.push(Mark::Text(Text { at, anchor: Anchor::Start, size: Type::Name, lines, field: Some(name.id.clone()) }));
    }

    /// A size below.
    fn wide(&mut self, size: &Value) {
        let Area { left, right, bottom, .. } = self.covered;
        let below = bottom + OFF;
        let p = |x: i32, y: i32| Point { x, y };
        self.extension([left, right].map(|x| (p(x, self.lowest(x)), p(x, below + 900))));
        self.dimension(p(left, below), p(right, below));
        let middle = p((left + right) / 2, below + 1400 + Type::Name.height());
        self.scene.marks.push(text(middle, Anchor::Middle, Type::Name, &size.words, Some(&size.id)));
    }

    /// A size at the right.
    fn high(&mut self, size: &Value) {
        let Area { top, right, bottom, .. } = self.covered;
        let beside = right + OFF;
        let p = |x: i32, y: i32| Point { x, y };
        self.extension([top, bottom].map(|y| (p(self.ends(y)[1], y), p(beside + 900, y))));
        self.dimension(p(beside, top), p(beside, bottom));
        let middle = p(beside + 1600, (top + bottom) / 2 + Type::Name.height() / 2);
        self.scene.marks.push(text(middle, Anchor::Start, Type::Name, &size.words, Some(&size.id)));
    }

    /// At the left, from the grip centre to top and foot.
    fn about_grip(&mut self, above: Option<&Value>, below: Option<&Value>) {
        let grip = self.grip();
        let Area { left, top, bottom, .. } = self.covered;
        let beside = left - OFF;
        let p = |x: i32, y: i32| Point { x, y };
        let half = Type::Name.height() / 2;
        self.extension([(p(grip.x - 2200, grip.y), p(beside - 900, grip.y))]);
        if let Some(above) = above {
            self.extension([(p(self.ends(top)[0], top), p(beside - 900, top))]);
            self.dimension(p(beside, grip.y), p(beside, top));
            let at = p(beside - 1600, ((top + grip.y) / 2 + half).min(grip.y - 700));
            self.scene.marks.push(text(at, Anchor::End, Type::Name, &above.words, Some(&above.id)));
        }
        if let Some(below) = below {
            self.extension([(p(self.ends(bottom)[0], bottom), p(beside - 900, bottom))]);
            self.dimension(p(beside, grip.y), p(beside, bottom));
            let at = p(beside - 1600, ((bottom + grip.y) / 2 + half).max(grip.y + 700 + Type::Name.height()));
            self.scene.marks.push(text(at, Anchor::End, Type::Name, &below.words, Some(&below.id)));
        }
    }

    /// The places farthest left and right at a height.
    fn ends(&self, y: i32) -> [i32; 2] {
        let here = || self.edge.iter().filter(|p| (p.y - y).abs() <= AS_FAR).map(|p| p.x);
        [here().min().unwrap_or(self.covered.left), here().max().unwrap_or(self.covered.right)]
    }

    /// The lowest place at one side.
    fn lowest(&self, x: i32) -> i32 {
        self.edge.iter().filter(|p| (p.x - x).abs() <= AS_FAR).map(|p| p.y).max().unwrap_or(self.covered.bottom)
    }

    fn grip(&self) -> Point {
        self.frame.paper((0.0, 0.0))
    }

    fn extension<const N: usize>(&mut self, lines: [(Point, Point); N]) {
        let paths = lines.map(|(a, b)| Path::through([a, b], false)).into();
        self.scene.lines(paths, Pen::solid(Weight::Fine));
    }

    fn dimension(&mut self, a: Point, b: Point) {
        let apart = a.distance(b);
        let (dx, dy) = (f64::from(b.x - a.x), f64::from(b.y - a.y));
        self.scene.lines(vec![Path::through([a, b], false)], Pen::solid(Weight::Fine));
        let head = (apart / 2500.0).min(2.0);
        self.scene.head(a, (-dx, -dy), head);
        self.scene.head(b, (dx, dy), head);
    }
}

fn text(at: Point, anchor: Anchor, size: Type, words: &str, id: Option<&str>) -> Mark {
    Mark::Text(Text { at, anchor, size, lines: vec![words.to_owned()], field: id.map(str::to_owned) })
}

/// A bar across the way on which a pad closes.
fn pad(scene: &mut Scene, at: Point, (x, y): (f64, f64)) {
    let size = (x * x + y * y).sqrt().max(1e-9);
    let (dx, dy) = (thousandths(-y / size * PAD), thousandths(x / size * PAD));
    let ends = [Point { x: at.x + dx, y: at.y + dy }, Point { x: at.x - dx, y: at.y - dy }];
    scene.lines(vec![Path::through(ends, false)], Pen { weight: Weight::Thick, dash: Dash::Solid });
}

pub(super) fn cross(scene: &mut Scene, at: Point) {
    let arm = 1600;
    let line = |dx: i32, dy: i32| Path::through([Point { x: at.x - dx, y: at.y - dy }, Point { x: at.x + dx, y: at.y + dy }], false);
    scene.lines(vec![line(arm, 0), line(0, arm)], Pen::solid(Weight::Thin));
}

/// A ring with two of its quarters black.
fn gravity(scene: &mut Scene, at: Point) {
    scene.fill(vec![ring(at, MARK)], Ink::White);
    let p = |dx: i32, dy: i32| Point { x: at.x + dx, y: at.y + dy };
    let quarter = |from: Point, to: Point| Path { start: at, steps: vec![Step::To(from), Step::Arc { to, radius: MARK }], closed: true };
    scene.fill(vec![quarter(p(MARK, 0), p(0, -MARK)), quarter(p(-MARK, 0), p(0, MARK))], Ink::Black);
    scene.lines(vec![ring(at, MARK)], Pen::solid(Weight::Thin));
}

/// A mark with what it stands for; without the mark where it is not drawn.
fn key(words: &str, id: Option<&str>, drawn: bool, mark: impl Fn(&mut Scene, Point)) -> Scene {
    let (swatch, height) = (if drawn { 6000 } else { 0 }, 5600);
    let mut scene = Scene { title: words.to_owned(), height, ..Scene::default() };
    if drawn {
        mark(&mut scene, Point { x: 3000, y: height / 2 });
    }
    scene.width = swatch + letters::width(words, Type::Name) + 1500;
    let at = Point { x: swatch + 300, y: height / 2 + Type::Name.height() / 2 };
    scene.marks.push(text(at, Anchor::Start, Type::Name, words, id));
    scene.finish();
    scene
}
