//! Areas with holes: union, what of them lies in a frame, and hatching.
//!
//! Computed in whole thousandths of a millimetre by a polygon library, so that the same drawing comes out everywhere.

use super::scene::{Area, Path, Point};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::Overlay;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

/// The edges of an area: outer ones run one way round, holes the other.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Region(pub(super) Vec<Vec<Point>>);

type Contour = Vec<IntPoint<i32>>;

fn contour(ring: &[Point]) -> Contour {
    ring.iter().map(|p| IntPoint::new(p.x, p.y)).collect()
}

fn region(shapes: Vec<Vec<Contour>>) -> Region {
    Region(shapes.into_iter().flatten().map(|c| c.into_iter().map(|p| Point { x: p.x, y: p.y }).collect()).collect())
}

impl Region {
    /// One area out of many that may lie over each other, each with its edge either way round.
    pub(super) fn union(rings: &[Vec<Point>]) -> Region {
        // Every ring the same way round: an overlap then counts as inside, never as a hole.
        let contours: Vec<Contour> = rings
            .iter()
            .filter(|r| r.len() > 2)
            .map(|r| {
                let mut c = contour(r);
                if twice_area(r) < 0 {
                    c.reverse();
                }
                c
            })
            .collect();
        region(Overlay::from_subj(&contours).overlay(OverlayRule::Subject, FillRule::NonZero))
    }

    fn with(&self, other: &Region, rule: OverlayRule) -> Region {
        let contours = |r: &Region| r.0.iter().map(|ring| contour(ring)).collect::<Vec<Contour>>();
        region(Overlay::from_subj_and_clip(&contours(self), &contours(other)).overlay(rule, FillRule::NonZero))
    }

    /// What of it lies in a frame.
    pub(super) fn within(&self, frame: Area) -> Region {
        self.with(&Region(vec![frame.corners().to_vec()]), OverlayRule::Intersect)
    }

    /// Its edges, to be drawn or filled.
    pub(super) fn paths(&self) -> Vec<Path> {
        self.0.iter().map(|ring| Path::through(ring.iter().copied(), true)).collect()
    }

    /// Whether a place lies in it.
    pub(super) fn has(&self, p: Point) -> bool {
        let mut inside = false;
        for (a, b) in self.edges() {
            if (a.y > p.y) != (b.y > p.y) {
                let (dy, dx) = (i64::from(b.y) - i64::from(a.y), i64::from(b.x) - i64::from(a.x));
                let side = (i64::from(p.x) - i64::from(a.x)) * dy - dx * (i64::from(p.y) - i64::from(a.y));
                if (side < 0) == (dy > 0) && side != 0 {
                    inside = !inside;
                }
            }
        }
        inside
    }

    /// Its edges, one straight piece each.
    pub(super) fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.0.iter().flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])))
    }

    /// How much of the sheet it covers, in square millimetres.
    pub(super) fn size(&self) -> f64 {
        self.0.iter().map(|r| twice_area(r)).sum::<i64>().unsigned_abs() as f64 / 2e6
    }

    /// Parallel lines through it, `gap` apart, along a direction of length one; they pass through the corner of the sheet, so
    /// that the hatches of neighbours are in step.
    pub(super) fn hatch(&self, along: (f64, f64), gap: i32) -> Vec<Path> {
        let normal = (-along.1, along.0);
        let across = |p: Point| f64::from(p.x) * normal.0 + f64::from(p.y) * normal.1;
        let ahead = |p: Point| f64::from(p.x) * along.0 + f64::from(p.y) * along.1;
        let gap = f64::from(gap);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for p in self.0.iter().flatten() {
            (low, high) = (low.min(across(*p)), high.max(across(*p)));
        }
        if low > high {
            return Vec::new();
        }
        let mut out = Vec::new();
        let (first, last) = ((low / gap).ceil() as i64, (high / gap).floor() as i64);
        for k in first..=last {
            // A little off the round number: no line runs exactly along an edge or through a corner.
            let c = k as f64 * gap + 0.37;
            let mut cuts: Vec<f64> = Vec::new();
            for (a, b) in self.edges() {
                let (ca, cb) = (across(a), across(b));
                if (ca > c) != (cb > c) {
                    cuts.push(ahead(a) + (ahead(b) - ahead(a)) * (c - ca) / (cb - ca));
                }
            }
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                let at = |t: f64| Point { x: (along.0 * t + normal.0 * c).round() as i32, y: (along.1 * t + normal.1 * c).round() as i32 };
                if pair[1] - pair[0] > 150.0 {
                    out.push(Path::through([at(pair[0]), at(pair[1])], false));
                }
            }
        }
        out
    }
}

/// Twice the signed area of a ring.
fn twice_area(ring: &[Point]) -> i64 {
    let n = ring.len();
    (0..n)
        .map(|i| {
            let (a, b) = (ring[i], ring[(i + 1) % n]);
            i64::from(a.x) * i64::from(b.y) - i64::from(b.x) * i64::from(a.y)
        })
        .sum()
}

/// The smallest upright rectangle around some places.
pub(super) fn bounds(points: impl IntoIterator<Item = Point>) -> Option<Area> {
    points.into_iter().fold(None, |area: Option<Area>, p| {
        Some(area.map_or(Area { left: p.x, top: p.y, right: p.x, bottom: p.y }, |a| Area {
            left: a.left.min(p.x),
            top: a.top.min(p.y),
            right: a.right.max(p.x),
            bottom: a.bottom.max(p.y),
        }))
    })
}

/// What of a straight piece lies in a frame.
pub(super) fn cut(a: Point, b: Point, frame: Area) -> Option<(Point, Point)> {
    let (ax, ay) = (f64::from(a.x), f64::from(a.y));
    let (dx, dy) = (f64::from(b.x) - ax, f64::from(b.y) - ay);
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (p, q) in [
        (-dx, ax - f64::from(frame.left)),
        (dx, f64::from(frame.right) - ax),
        (-dy, ay - f64::from(frame.top)),
        (dy, f64::from(frame.bottom) - ay),
    ] {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            from = from.max(q / p);
        } else {
            to = to.min(q / p);
        }
    }
    if from >= to {
        return None;
    }
    let at = |t: f64| Point { x: (ax + dx * t).round() as i32, y: (ay + dy * t).round() as i32 };
    Some((if from == 0.0 { a } else { at(from) }, if to == 1.0 { b } else { at(to) }))
}

/// A line of straight pieces, as far as it lies in a frame.
pub(super) fn trimmed(points: &[Point], frame: Area) -> Vec<Path> {
    let mut out: Vec<Vec<Point>> = Vec::new();
    for (a, b) in points.windows(2).filter_map(|w| cut(w[0], w[1], frame)) {
        match out.last_mut() {
            Some(line) if line.last() == Some(&a) => line.push(b),
            _ => out.push(vec![a, b]),
        }
    }
    out.into_iter().map(|line| Path::through(line, false)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: i32, y: i32, side: i32) -> Vec<Point> {
        Area { left: x, top: y, right: x + side, bottom: y + side }.corners().to_vec()
    }

    #[test]
    fn a_union_has_no_inner_lines_whichever_way_its_parts_run() {
        let mut other = square(5000, 5000, 10_000);
        other.reverse();
        let both = Region::union(&[square(0, 0, 10_000), other]);
        assert_eq!((both.0.len(), both.size()), (1, 175.0));
        assert_eq!(both.0[0].len(), 8);
        assert!(both.has(Point { x: 7000, y: 7000 }) && !both.has(Point { x: 12_000, y: 2000 }));
    }

    #[test]
    fn a_hole_stays_a_hole() {
        let ring = [(0, 0, 30_000, 10_000), (0, 20_000, 30_000, 30_000), (0, 0, 10_000, 30_000), (20_000, 0, 30_000, 30_000)];
        let rings: Vec<_> = ring.iter().map(|(l, t, r, b)| Area { left: *l, top: *t, right: *r, bottom: *b }.corners().to_vec()).collect();
        let frame = Region::union(&rings);
        assert_eq!((frame.0.len(), frame.size()), (2, 800.0));
        assert!(!frame.has(Point { x: 15_000, y: 15_000 }));
        // No hatch crosses the hole.
        for path in frame.hatch((1.0, 0.0), 1000) {
            let (a, b) = (path.start, path.steps[0].end());
            let through = a.y > 10_000 && a.y < 20_000 && a.x < 15_000 && b.x > 15_000;
            assert!(!through, "{a:?} {b:?}");
        }
    }

    #[test]
    fn lines_end_at_the_frame() {
        let frame = Area { left: 0, top: 0, right: 10_000, bottom: 10_000 };
        let p = |x, y| Point { x, y };
        assert_eq!(cut(p(-5000, 5000), p(15_000, 5000), frame), Some((p(0, 5000), p(10_000, 5000))));
        assert_eq!(cut(p(-5000, -1), p(15_000, -1), frame), None);
        assert_eq!(cut(p(2000, 3000), p(4000, 3000), frame), Some((p(2000, 3000), p(4000, 3000))));
        let pieces = trimmed(&[p(5000, 5000), p(15_000, 5000), p(15_000, 8000), p(5000, 8000)], frame);
        assert_eq!(pieces.len(), 2);
        assert_eq!(pieces[1], Path::through([p(10_000, 8000), p(5000, 8000)], false));
    }
}
