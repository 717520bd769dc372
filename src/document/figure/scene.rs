//! The drawing primitives: paths with a pen, filled areas, words. Lengths are thousandths of a millimetre on paper, from the
//! upper left corner, x to the right and y down.

use super::letters;

/// A place on paper, in thousandths of a millimetre.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Point {
    /// To the right.
    pub x: i32,
    /// Down.
    pub y: i32,
}

impl Point {
    /// At millimetres from the corner.
    pub fn mm(x: f64, y: f64) -> Point {
        Point { x: thousandths(x), y: thousandths(y) }
    }

    /// The same place, moved.
    #[must_use]
    pub fn moved(self, by: Point) -> Point {
        Point { x: self.x + by.x, y: self.y + by.y }
    }

    /// The distance to another place.
    pub fn distance(self, other: Point) -> f64 {
        let (dx, dy) = (f64::from(other.x) - f64::from(self.x), f64::from(other.y) - f64::from(self.y));
        (dx * dx + dy * dy).sqrt()
    }
}

/// Farthest from the corner that anything is put: far beyond any sheet, and well within what areas are computed in.
const FARTHEST: f64 = 200_000_000.0;

/// Millimetres to thousandths.
pub(super) fn thousandths(mm: f64) -> i32 {
    (mm * 1000.0).round().clamp(-FARTHEST, FARTHEST) as i32
}

/// Thickness of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Hatches and leaders: 0.2 mm.
    Fine,
    /// What stands in the way, and what moves: 0.3 mm.
    Thin,
    /// Frames and walls: 0.5 mm.
    Medium,
    /// The arm at the end of the step: 0.6 mm.
    Thick,
}

impl Weight {
    /// In thousandths of a millimetre.
    pub fn thickness(self) -> i32 {
        match self {
            Weight::Fine => 200,
            Weight::Thin => 300,
            Weight::Medium => 500,
            Weight::Thick => 600,
        }
    }
}

/// How a line is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    Solid,
    /// Strokes.
    Dashed,
    /// Dots.
    Dotted,
    /// Stroke and dot.
    Chain,
    /// Long strokes.
    Long,
}

impl Dash {
    /// Strokes and gaps in turn, in thousandths of a millimetre; none for an unbroken line.
    pub fn pattern(self) -> &'static [i32] {
        match self {
            Dash::Solid => &[],
            Dash::Dashed => &[2000, 900],
            Dash::Dotted => &[350, 800],
            Dash::Chain => &[3600, 800, 400, 800],
            Dash::Long => &[6000, 1400],
        }
    }
}

/// A line's thickness and breaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pen {
    /// Its thickness.
    pub weight: Weight,
    /// Its breaks.
    pub dash: Dash,
}

impl Pen {
    /// An unbroken line.
    pub const fn solid(weight: Weight) -> Pen {
        Pen { weight, dash: Dash::Solid }
    }
}

/// Black or white: a drawing is legible without any grey.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Black.
    Black,
    /// White: it takes away what was drawn under it.
    White,
}

/// A piece of a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// A straight line to here.
    To(Point),
    /// Part of a circle, at most half of it, the centre to the left as one goes along.
    Arc {
        /// Its end.
        to: Point,
        /// Its radius.
        radius: i32,
    },
    /// A cubic curve.
    Curve {
        /// Where it heads for at first.
        first: Point,
        /// Where it comes from at last.
        second: Point,
        /// Its end.
        to: Point,
    },
}

impl Step {
    /// Where it ends.
    pub fn end(self) -> Point {
        match self {
            Step::To(to) | Step::Arc { to, .. } | Step::Curve { to, .. } => to,
        }
    }

    /// The cubic curves that stand for it where it starts at `from`, an eighth of a thousandth of its size off at most: two
    /// control points and an end each. None for a straight line.
    pub fn curves(self, from: Point) -> Vec<[Point; 3]> {
        match self {
            Step::To(_) => Vec::new(),
            Step::Curve { first, second, to } => vec![[first, second, to]],
            Step::Arc { to, radius } => {
                let (dx, dy) = (f64::from(to.x) - f64::from(from.x), f64::from(to.y) - f64::from(from.y));
                let chord = (dx * dx + dy * dy).sqrt();
                let r = f64::from(radius).max(chord / 2.0);
                // Ends that fell together on paper leave nothing of an arc.
                if chord < 1.0 {
                    return Vec::new();
                }
                let rise = (r * r - chord * chord / 4.0).max(0.0).sqrt() / chord;
                // To the left as one goes along, y down.
                let c = (f64::from(from.x) + dx / 2.0 + dy * rise, f64::from(from.y) + dy / 2.0 - dx * rise);
                let out_of = |p: Point| ((f64::from(p.x) - c.0) / r, (f64::from(p.y) - c.1) / r);
                let mut out = Vec::new();
                bend(out_of(from), out_of(to), &mut |e| {
                    out.push(e.map(|(x, y)| Point { x: (c.0 + x * r).round() as i32, y: (c.1 + y * r).round() as i32 }));
                });
                if let Some(last) = out.last_mut() {
                    last[2] = to;
                }
                out
            }
        }
    }
}

/// Control points and ends of the cubic curves that stand for an arc of the unit circle, run through to the left as seen with
/// y down, a quarter of it at most each.
fn bend(from: (f64, f64), to: (f64, f64), out: &mut dyn FnMut([(f64, f64); 3])) {
    let left = |e: (f64, f64)| (e.1, -e.0);
    let sum = (from.0 + to.0, from.1 + to.1);
    // Twice the cosine of half the angle.
    let length = (sum.0 * sum.0 + sum.1 * sum.1).sqrt();
    if length < std::f64::consts::SQRT_2 - 1e-6 {
        let middle = if length > 1e-3 { (sum.0 / length, sum.1 / length) } else { left(from) };
        bend(from, middle, out);
        bend(middle, to, out);
        return;
    }
    let half = length / 2.0;
    let pull = 4.0 / 3.0 * ((1.0 - half).max(0.0) / (1.0 + half)).sqrt();
    let (a, b) = (left(from), left(to));
    out([(from.0 + a.0 * pull, from.1 + a.1 * pull), (to.0 - b.0 * pull, to.1 - b.1 * pull), to]);
}

/// A line of straight pieces and arcs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Path {
    /// Where it starts.
    pub start: Point,
    /// How it goes on.
    pub steps: Vec<Step>,
    /// Whether it returns to its start.
    pub closed: bool,
}

impl Path {
    /// Straight pieces through some points; nothing for none.
    pub fn through(points: impl IntoIterator<Item = Point>, closed: bool) -> Path {
        let mut points = points.into_iter();
        let start = points.next().unwrap_or_default();
        Path { start, steps: points.map(Step::To).collect(), closed }
    }

    /// Places along it, near enough to each other that straight pieces between them stand for it; back to its start if it is
    /// closed.
    pub fn places(&self) -> Vec<Point> {
        const PIECES: i64 = 8;
        let mut from = self.start;
        let mut out = vec![from];
        for step in &self.steps {
            let mut start = from;
            for [a, b, c] in step.curves(from) {
                for i in 1..=PIECES {
                    let (t, s) = (i, PIECES - i);
                    let weights = [s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t];
                    let at = |f: fn(Point) -> i32| {
                        let sum: i64 = [start, a, b, c].into_iter().zip(weights).map(|(p, w)| i64::from(f(p)) * w).sum();
                        (sum / (PIECES * PIECES * PIECES)) as i32
                    };
                    out.push(Point { x: at(|p| p.x), y: at(|p| p.y) });
                }
                start = c;
            }
            if let Step::To(to) = step {
                out.push(*to);
            }
            from = step.end();
        }
        if self.closed {
            out.push(self.start);
        }
        out
    }
}

/// Sizes of words; lengths are thousandths of a millimetre.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Type {
    /// Names and units: 8 points.
    Name,
    /// The marked distance, start and end, the titles of the views: 8 points, bold.
    Strong,
    /// What is called out on a card: 12 points, bold.
    Call,
}

impl Type {
    /// The size in points of 72 to the inch.
    pub const fn points(self) -> i32 {
        match self {
            Type::Name | Type::Strong => 8,
            Type::Call => 12,
        }
    }

    /// From line to line of the font's square.
    pub const fn size(self) -> i32 {
        self.points() * 25_400 / 72
    }

    /// From one baseline to the next.
    pub const fn leading(self) -> i32 {
        self.size() * 11 / 10
    }

    /// From the baseline to the top of the capitals and figures.
    pub const fn height(self) -> i32 {
        self.size() * 72 / 100
    }

    /// From the baseline to the foot of the tails.
    pub const fn tail(self) -> i32 {
        self.size() * 22 / 100
    }

    /// Whether it is bold.
    pub const fn bold(self) -> bool {
        matches!(self, Type::Strong | Type::Call)
    }
}

/// Which end of the words stands at their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The first letter.
    Start,
    /// The middle.
    Middle,
    /// The last letter.
    End,
}

/// Words, in one line or in a few.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    /// Where the first baseline is anchored.
    pub at: Point,
    /// By which end.
    pub anchor: Anchor,
    /// How large.
    pub size: Type,
    /// The lines.
    pub lines: Vec<String>,
    /// The id of the value they print; none for words every drawing has.
    pub field: Option<String>,
}

impl Text {
    /// The words in one line.
    pub fn words(&self) -> String {
        self.lines.join(" ")
    }

    /// Left edge of a line of it, and its width.
    pub fn line(&self, line: &str) -> (i32, i32) {
        let width = letters::width(line, self.size);
        let left = match self.anchor {
            Anchor::Start => self.at.x,
            Anchor::Middle => self.at.x - width / 2,
            Anchor::End => self.at.x - width,
        };
        (left, width)
    }

    /// The area it covers.
    pub fn area(&self) -> Area {
        let mut area = Area { left: i32::MAX, top: self.at.y - self.size.height(), right: i32::MIN, bottom: self.at.y };
        for line in &self.lines {
            let (left, width) = self.line(line);
            area.left = area.left.min(left);
            area.right = area.right.max(left + width);
        }
        area.bottom += self.size.tail() + self.size.leading() * self.lines.len().saturating_sub(1) as i32;
        area
    }
}

/// An upright rectangle on paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    /// Its left edge.
    pub left: i32,
    /// Its upper edge.
    pub top: i32,
    /// Its right edge.
    pub right: i32,
    /// Its lower edge.
    pub bottom: i32,
}

impl Area {
    /// Whether it shares ground with another.
    pub fn meets(self, other: Area) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    /// Whether another lies within.
    pub fn holds(self, other: Area) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }

    /// Whether a place lies within.
    pub fn has(self, p: Point) -> bool {
        self.left <= p.x && p.x <= self.right && self.top <= p.y && p.y <= self.bottom
    }

    /// The same, larger on every side.
    #[must_use]
    pub fn grown(self, by: i32) -> Area {
        Area { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// Its corners, around.
    pub fn corners(self) -> [Point; 4] {
        let p = |x, y| Point { x, y };
        [p(self.left, self.top), p(self.right, self.top), p(self.right, self.bottom), p(self.left, self.bottom)]
    }

    /// Its corners and its middle, as places by which it is known in what it lies.
    pub fn places(self) -> [Point; 5] {
        let [a, b, c, d] = self.corners();
        [a, b, c, d, Point { x: (self.left + self.right) / 2, y: (self.top + self.bottom) / 2 }]
    }
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mark {
    /// Lines of one pen.
    Lines {
        /// The lines.
        paths: Vec<Path>,
        /// Their pen.
        pen: Pen,
    },
    /// An area without an edge; holes run the other way round.
    Fill {
        /// Its edges.
        paths: Vec<Path>,
        /// Its ink.
        ink: Ink,
    },
    /// Words.
    Text(Text),
}

/// A drawing on its own sheet. Words stand after all lines and areas.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Scene {
    /// Width of the sheet.
    pub width: i32,
    /// Height of the sheet.
    pub height: i32,
    /// What it shows, for a list of contents.
    pub title: String,
    /// What is drawn, in this order.
    pub marks: Vec<Mark>,
}

impl Scene {
    /// Lines of one pen.
    pub(super) fn lines(&mut self, paths: Vec<Path>, pen: Pen) {
        if !paths.is_empty() {
            self.marks.push(Mark::Lines { paths, pen });
        }
    }

    /// An area.
    pub(super) fn fill(&mut self, paths: Vec<Path>, ink: Ink) {
        if !paths.is_empty() {
            self.marks.push(Mark::Fill { paths, ink });
        }
    }

    /// An arrow head with its tip here, pointing along a direction on paper.
    pub(super) fn head(&mut self, tip: Point, along: (f64, f64), length: f64) {
        let size = (along.0 * along.0 + along.1 * along.1).sqrt();
        if size == 0.0 {
            return;
        }
        let (ux, uy) = (along.0 / size * length * 1000.0, along.1 / size * length * 1000.0);
        let at = |back: f64, side: f64| Point {
            x: tip.x + (ux * back - uy * side).round() as i32,
            y: tip.y + (uy * back + ux * side).round() as i32,
        };
        self.fill(vec![Path::through([tip, at(-1.0, 0.22), at(-1.0, -0.22)], true)], Ink::Black);
    }

    /// Lays another sheet on this one, which grows to hold it.
    pub(super) fn lay(&mut self, other: &Scene, at: Point) {
        let moved = |path: &Path| Path {
            start: path.start.moved(at),
            steps: path
                .steps
                .iter()
                .map(|step| match *step {
                    Step::To(to) => Step::To(to.moved(at)),
                    Step::Arc { to, radius } => Step::Arc { to: to.moved(at), radius },
                    Step::Curve { first, second, to } => Step::Curve { first: first.moved(at), second: second.moved(at), to: to.moved(at) },
                })
                .collect(),
            closed: path.closed,
        };
        let all = |paths: &[Path]| paths.iter().map(moved).collect();
        self.marks.extend(other.marks.iter().map(|mark| match mark {
            Mark::Lines { paths, pen } => Mark::Lines { paths: all(paths), pen: *pen },
            Mark::Fill { paths, ink } => Mark::Fill { paths: all(paths), ink: *ink },
            Mark::Text(text) => Mark::Text(Text { at: text.at.moved(at), ..text.clone() }),
        }));
        self.width = self.width.max(at.x + other.width);
        self.height = self.height.max(at.y + other.height);
    }

    /// Moves the words behind everything else, as emitters expect them.
    pub(super) fn finish(&mut self) {
        self.marks.sort_by_key(|m| matches!(m, Mark::Text(_)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_stand_for_their_arc() {
        let p = |x, y| Point { x, y };
        // Half a circle of 10 mm about the origin, from right to left over the top: to the left as one goes along.
        let half = Step::Arc { to: p(-10_000, 0), radius: 10_000 };
        let curves = half.curves(p(10_000, 0));
        assert_eq!(curves.iter().map(|c| c[2]).collect::<Vec<_>>(), [p(0, -10_000), p(-10_000, 0)]);
        let path = Path { start: p(10_000, 0), steps: vec![half], closed: false };
        for place in path.places() {
            let off = place.distance(p(0, 0)) - 10_000.0;
            assert!(off.abs() < 4.0, "{place:?} is {off} off the circle");
        }
        // A quarter, whose centre lies where the radius says; and nothing where the ends fell together.
        assert_eq!(Step::Arc { to: p(0, -5000), radius: 5000 }.curves(p(5000, 0)).len(), 1);
        assert!(Step::Arc { to: p(7, 7), radius: 100 }.curves(p(7, 7)).is_empty());
        assert!(Step::To(p(1, 1)).curves(p(0, 0)).is_empty());
    }
}
