//! Puts labels where they cover no other label and as little of the drawing as can be, the same way every time.

use super::area::Region;
use super::letters;
use super::scene::{Area, Point, Type};

/// Side of a square of the board, in thousandths of a millimetre.
const SQUARE: i32 = 500;
/// Distance of places that are tried.
const TRY: i32 = 1500;
/// A line under a label that counts as a reason to look elsewhere; labels and arrow heads are never covered.
const TAKEN: u32 = 1 << 20;
/// Room around a label that nothing of the drawing shows in.
pub(super) const HALO: i32 = 350;
/// What a label costs that stands in what another one names: as much as any leader.
const STRANGE: u64 = 2000;
/// What stands this near to what a leader leads to belongs to it: an arrow head, a ring.
const OWN: f64 = 2200.0;
/// The widest line of a label before it is broken.
const WIDEST: i32 = 27_000;
/// The farthest a label stands from what it names.
const FARTHEST: i32 = 28_000;

/// What is drawn so far, as ink on squares.
pub(super) struct Board {
    area: Area,
    columns: usize,
    rows: usize,
    ink: Vec<u32>,
    /// Sums of the ink above and to the left.
    sums: Vec<u64>,
    stale: bool,
    /// The areas that are named.
    pub named: Vec<Region>,
}

/// What a label names.
pub(super) enum Target<'a> {
    /// An area: the label may stand in it.
    Region(&'a Region),
    /// A line of straight pieces, with a place on the side of it where the label belongs, if on one.
    Line(&'a [Point], Option<Point>),
    /// A place.
    Place(Point),
}

/// Where a label stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Placed {
    pub lines: Vec<String>,
    /// Its ground, with its halo.
    pub ground: Area,
    /// First baseline, in the middle of the lines.
    pub at: Point,
    /// From the label to what it names, where they stand apart.
    pub leader: Option<(Point, Point)>,
}

impl Board {
    pub(super) fn new(area: Area) -> Board {
        let columns = ((area.right - area.left) / SQUARE + 1) as usize;
        let rows = ((area.bottom - area.top) / SQUARE + 1) as usize;
        Board { area, columns, rows, ink: vec![0; columns * rows], sums: Vec::new(), stale: true, named: Vec::new() }
    }

    fn square(&self, p: Point) -> Option<usize> {
        if !self.area.has(p) {
            return None;
        }
        let (x, y) = (((p.x - self.area.left) / SQUARE) as usize, ((p.y - self.area.top) / SQUARE) as usize);
        Some((y.min(self.rows - 1)) * self.columns + x.min(self.columns - 1))
    }

    /// Notes a line; the heavier, the less it should be covered.
    pub(super) fn line(&mut self, a: Point, b: Point, weight: u32) {
        self.stale = true;
        let mut last = None;
        along(a, b, SQUARE / 2, &mut |p| {
            let square = self.square(p);
            if let Some(i) = square.filter(|_| square != last) {
                self.ink[i] = self.ink[i].saturating_add(weight).min(TAKEN);
            }
            last = square;
        });
    }

    /// Notes ground that no label may stand on.
    pub(super) fn take(&mut self, area: Area) {
        self.stale = true;
        for y in 0..self.rows {
            for x in 0..self.columns {
                let (left, top) = (self.area.left + x as i32 * SQUARE, self.area.top + y as i32 * SQUARE);
                if area.meets(Area { left, top, right: left + SQUARE, bottom: top + SQUARE }) {
                    self.ink[y * self.columns + x] = TAKEN;
                }
            }
        }
    }

    fn settle(&mut self) {
        if !std::mem::take(&mut self.stale) {
            return;
        }
        let wide = self.columns + 1;
        self.sums = vec![0; wide * (self.rows + 1)];
        for y in 0..self.rows {
            let mut row = 0_u64;
            for x in 0..self.columns {
                row += u64::from(self.ink[y * self.columns + x]);
                self.sums[(y + 1) * wide + x + 1] = self.sums[y * wide + x + 1] + row;
            }
        }
    }

    /// The ink within an area.
    pub(super) fn under(&mut self, area: Area) -> u64 {
        self.settle();
        let column = |x: i32| (((x - self.area.left).max(0) / SQUARE) as usize).min(self.columns);
        let row = |y: i32| (((y - self.area.top).max(0) / SQUARE) as usize).min(self.rows);
        let (left, top) = (column(area.left), row(area.top));
        let (right, bottom) = (column(area.right + SQUARE - 1), row(area.bottom + SQUARE - 1));
        let wide = self.columns + 1;
        let at = |x: usize, y: usize| self.sums[y * wide + x];
        (at(right, bottom) + at(left, top)).saturating_sub(at(left, bottom) + at(right, top))
    }

    /// A place for some words; none where there is no room. Their ground is taken.
    pub(super) fn place(&mut self, words: &str, size: Type, target: &Target<'_>) -> Option<Placed> {
        // A distance is read at one glance: never broken.
        let mut settings = vec![if size.bold() { vec![words.to_owned()] } else { letters::wrapped(words, size, WIDEST) }];
        let slim = letters::wrapped(words, size, WIDEST / 2);
        if !size.bold() && slim != settings[0] && slim.len() < 5 {
            settings.push(slim);
        }
        let mut spots = target.spots(self.area);
        // A leader does not run under another label.
        if !matches!(target, Target::Place(_)) {
            spots.retain(|p| self.square(*p).is_some_and(|s| self.ink[s] < TAKEN));
        }
        if spots.is_empty() {
            return None;
        }
        let mut best: Option<(u64, Placed)> = None;
        for lines in settings {
            let width = lines.iter().map(|l| letters::width(l, size)).max().unwrap_or(0) + 2 * HALO;
            let height = size.height() + size.tail() + size.leading() * (lines.len() as i32 - 1) + 2 * HALO;
            let mut top = self.area.top + HALO;
            while top + height < self.area.bottom - HALO {
                let mut left = self.area.left + HALO;
                while left + width < self.area.right - HALO {
                    let ground = Area { left, top, right: left + width, bottom: top + height };
                    left += TRY;
                    let ink = self.under(ground);
                    if ink >= u64::from(TAKEN) || !target.admits(ground) || best.as_ref().is_some_and(|b| b.0 <= ink) {
                        continue;
                    }
                    let Some((price, leader)) = self.price(ground, target, &spots) else { continue };
                    let better = |price: u64| best.as_ref().is_none_or(|b| price < b.0);
                    let price = price + ink;
                    if !better(price) {
                        continue;
                    }
                    let price = price + self.strange(ground, target);
                    if better(price) {
                        let at = Point { x: (ground.left + ground.right) / 2, y: ground.top + HALO + size.height() };
                        best = Some((price, Placed { lines: lines.clone(), ground, at, leader }));
                    }
                }
                top += TRY;
            }
        }
        let (_, placed) = best?;
        self.take(placed.ground);
        if let Some((a, b)) = placed.leader {
            self.line(a, b, 40);
        }
        Some(placed)
    }

    /// What a label costs that names one area and stands in another: it would be read as the name of that.
    fn strange(&self, ground: Area, target: &Target<'_>) -> u64 {
        let Target::Region(own) = target else { return 0 };
        let places = ground.places();
        let other = self.named.iter().any(|r| r != *own && places.iter().any(|p| r.has(*p)));
        if other && !places.iter().all(|p| own.has(*p)) { STRANGE } else { 0 }
    }

    /// What a place costs by its distance, and the leader it needs.
    fn price(&self, ground: Area, target: &Target<'_>, spots: &[Point]) -> Option<(u64, Option<(Point, Point)>)> {
        if let Target::Region(region) = target
            && ground.places().into_iter().all(|p| region.has(p))
        {
            return Some((0, None));
        }
        let gap = |p: Point| {
            let dx = (ground.left - p.x).max(p.x - ground.right).max(0);
            let dy = (ground.top - p.y).max(p.y - ground.bottom).max(0);
            i64::from(dx) * i64::from(dx) + i64::from(dy) * i64::from(dy)
        };
        let spot = spots.iter().copied().min_by_key(|p| (gap(*p), *p))?;
        let far = (gap(spot) as f64).sqrt() as i32;
        if !(500..=FARTHEST).contains(&far) {
            return None;
        }
        let from = Point { x: spot.x.clamp(ground.left, ground.right), y: spot.y.clamp(ground.top, ground.bottom) };
        let near = if matches!(target, Target::Place(_)) { 1600 } else { 900 };
        if far < near {
            return Some((u64::from(far.unsigned_abs()) / 100, None));
        }
        // What the leader crosses, but for what it leads to.
        let mut crossed = 0_u64;
        let steps = far / SQUARE;
        for i in 1..steps - 1 {
            let share = |a: i32, b: i32| a + ((i64::from(b) - i64::from(a)) * i64::from(i) / i64::from(steps)) as i32;
            let p = Point { x: share(from.x, spot.x), y: share(from.y, spot.y) };
            if p.distance(spot) < OWN {
                break;
            }
            let ink = self.square(p).map_or(0, |s| self.ink[s]);
            if ink >= TAKEN {
                return None;
            }
            crossed += u64::from(ink);
        }
        Some((30 + u64::from(far.unsigned_abs()) / 60 + 2 * crossed, Some((from, spot))))
    }
}

impl Target<'_> {
    /// Whether a label may stand there at all.
    fn admits(&self, ground: Area) -> bool {
        let Target::Line([a, .., b], Some(inside)) = self else { return true };
        let side = |p: Point| {
            let [x, y] = [[a.x, b.x, p.x], [a.y, b.y, p.y]].map(|[a, b, p]| (i64::from(b) - i64::from(a), i64::from(p) - i64::from(a)));
            (x.0 * y.1 - y.0 * x.1).signum()
        };
        side(*inside) == 0 || ground.corners().into_iter().all(|c| side(c) == side(*inside))
    }

    /// Places on its edge that a leader can go to.
    fn spots(&self, frame: Area) -> Vec<Point> {
        let inside = frame.grown(-400);
        let mut out = Vec::new();
        let mut add = |p: Point| {
            if inside.has(p) {
                out.push(p);
            }
        };
        match self {
            Target::Region(region) => region.edges().for_each(|(a, b)| along(a, b, 1000, &mut add)),
            Target::Line(line, _) => line.windows(2).for_each(|w| along(w[0], w[1], 1000, &mut add)),
            Target::Place(p) => add(*p),
        }
        out
    }
}

/// Places on a straight piece, evenly, its ends included.
fn along(a: Point, b: Point, step: i32, out: &mut dyn FnMut(Point)) {
    let count = (a.distance(b) / f64::from(step)).ceil().clamp(1.0, 4000.0) as i64;
    for i in 0..=count {
        let share = |a: i32, b: i32| a + ((i64::from(b) - i64::from(a)) * i / count) as i32;
        out(Point { x: share(a.x, b.x), y: share(a.y, b.y) });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_apart_and_off_heavy_lines() {
        let area = Area { left: 0, top: 0, right: 60_000, bottom: 60_000 };
        let mut board = Board::new(area);
        board.line(Point { x: 0, y: 30_000 }, Point { x: 60_000, y: 30_000 }, 50);
        let target = Target::Place(Point { x: 30_000, y: 30_000 });
        let mut grounds: Vec<Area> = Vec::new();
        for name in ["bench with inlet cradle", "drain rack", "lamp above the bench", "far wall"] {
            let placed = board.place(name, Type::Name, &target).expect("room enough");
            assert_eq!(placed.lines.join(" "), name);
            assert!(area.holds(placed.ground) && grounds.iter().all(|g| !g.meets(placed.ground)), "{name}");
            assert!(placed.ground.bottom <= 30_000 || placed.ground.top >= 30_000, "{name} is off the line: {placed:?}");
            grounds.push(placed.ground);
        }
    }

    #[test]
    fn a_full_board_takes_no_label() {
        let area = Area { left: 0, top: 0, right: 20_000, bottom: 20_000 };
        let mut board = Board::new(area);
        board.take(area);
        assert_eq!(board.place("rack", Type::Name, &Target::Place(Point { x: 10_000, y: 10_000 })), None);
    }

    #[test]
    fn the_name_of_a_line_stands_on_the_side_where_it_belongs() {
        let area = Area { left: 0, top: 0, right: 60_000, bottom: 60_000 };
        let line = [Point { x: 20_000, y: 0 }, Point { x: 40_000, y: 60_000 }];
        for inside in [Point { x: 5_000, y: 50_000 }, Point { x: 55_000, y: 10_000 }] {
            let placed = Board::new(area).place("in view of camera 4", Type::Name, &Target::Line(&line, Some(inside))).expect("room");
            let left = |p: Point| p.x - 20_000 < p.y / 3;
            assert!(placed.ground.corners().into_iter().all(|c| left(c) == left(inside)), "{placed:?}");
        }
    }

    #[test]
    fn a_name_stands_in_nothing_else_that_is_named() {
        let ring = |x: i32, y: i32, size: i32| {
            [(0, 0), (size, 0), (size, size), (0, size)].map(|(dx, dy)| Point { x: x + dx, y: y + dy }).to_vec()
        };
        let (lid, well) = (Region::union(&[ring(28_000, 25_000, 4_000)]), Region::union(&[ring(15_000, 29_000, 30_000)]));
        let area = Area { left: 0, top: 0, right: 60_000, bottom: 60_000 };
        let middle = |p: &Placed| p.ground.places()[4];
        // The well is the only place without lines: the name of the lid went there.
        let mut board = Board::new(area);
        (0..29).for_each(|y| board.line(Point { x: 0, y: y * 1000 }, Point { x: 60_000, y: y * 1000 }, 20));
        let before = board.place("lid", Type::Name, &Target::Region(&lid)).expect("room");
        assert!(well.has(middle(&before)), "{before:?}");
        let mut board = Board::new(area);
        (0..29).for_each(|y| board.line(Point { x: 0, y: y * 1000 }, Point { x: 60_000, y: y * 1000 }, 20));
        board.named = vec![lid.clone(), well.clone()];
        let after = board.place("lid", Type::Name, &Target::Region(&lid)).expect("room");
        assert!(after.ground.corners().into_iter().all(|c| !well.has(c)), "{after:?}");
        // Its own area it may fill.
        let name = board.place("well", Type::Name, &Target::Region(&well)).expect("room");
        assert!(well.has(middle(&name)) && name.leader.is_none(), "{name:?}");
    }
}
