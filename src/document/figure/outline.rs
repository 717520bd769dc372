//! Silhouettes: the outline that a convex solid shows in a view, exactly, with its round ends as arcs.

use super::area::Region;
use super::scene::{Path, Point, Step, thousandths};
use super::view::{Frame, View};
use crate::geometry::Vec3;
use crate::geometry::solid::{Form, Solid};

/// A place in a view, in metres: to the right and up.
pub type Flat = (f64, f64);

/// A piece of an outline, run through with the solid to its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Piece {
    /// A straight line to here.
    Line(Flat),
    /// Part of an ellipse `centre + first cos t + second sin t`, at most half of it, with growing `t`.
    Arc {
        /// Its centre.
        centre: Flat,
        /// One half axis.
        first: Flat,
        /// The other, a quarter turn to the left of the first.
        second: Flat,
        /// Cosine and sine where it begins.
        from: Flat,
        /// Cosine and sine where it ends.
        to: Flat,
    },
}

/// A closed outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Where it starts and ends.
    pub start: Flat,
    /// Its pieces, in turn.
    pub pieces: Vec<Piece>,
}

/// Places nearer than this are one, in metres.
const SAME: f64 = 1e-9;
/// A corner rounded by less than this on paper, in thousandths of a millimetre, is drawn sharp: solids that were carried
/// elsewhere are rounded by a micrometre.
const SHARP: i32 = 40;
/// How far a line may run beside the arc it stands for, in thousandths of a millimetre on paper.
const FLATNESS: f64 = 15.0;

fn add(a: Flat, b: Flat) -> Flat {
    (a.0 + b.0, a.1 + b.1)
}

fn sub(a: Flat, b: Flat) -> Flat {
    (a.0 - b.0, a.1 - b.1)
}

fn scale(a: Flat, by: f64) -> Flat {
    (a.0 * by, a.1 * by)
}

fn length(a: Flat) -> f64 {
    (a.0 * a.0 + a.1 * a.1).sqrt()
}

fn cross(a: Flat, b: Flat) -> f64 {
    a.0 * b.1 - a.1 * b.0
}

fn left_of(a: Flat) -> Flat {
    (-a.1, a.0)
}

/// The outline of a convex solid in a view; none for a half-space, which has no end.
pub fn silhouette(solid: &Solid, view: &View) -> Option<Outline> {
    match (solid.form(), solid.core()) {
        (Form::Round, points) => Some(round(&hull(points.iter().map(|p| view.flat(*p)).collect()), solid.r())),
        (Form::Cylinder, [a, b]) => Some(cylinder(view, *a, *b, solid.r())),
        _ => None,
    }
}

/// The convex hull, with the inside to the left; corners only.
pub(super) fn hull(mut points: Vec<Flat>) -> Vec<Flat> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    points.dedup_by(|a, b| length(sub(*a, *b)) < SAME);
    if points.len() < 3 {
        return points;
    }
    let half = |list: &mut dyn Iterator<Item = Flat>| {
        let mut out: Vec<Flat> = Vec::new();
        for p in list {
            while out.len() > 1 && cross(sub(out[out.len() - 1], out[out.len() - 2]), sub(p, out[out.len() - 1])) <= SAME * SAME {
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut out = half(&mut points.iter().copied());
    out.extend(half(&mut points.iter().rev().copied()));
    out
}

/// A hull grown by a radius.
fn round(hull: &[Flat], radius: f64) -> Outline {
    let n = hull.len();
    let corner = |i: usize| hull[i % n];
    if n == 1 {
        let c = hull[0];
        let (first, second) = ((radius, 0.0), (0.0, radius));
        let half = |from, to| Piece::Arc { centre: c, first, second, from, to };
        return Outline { start: add(c, first), pieces: vec![half((1.0, 0.0), (-1.0, 0.0)), half((-1.0, 0.0), (1.0, 0.0))] };
    }
    // To the right of each edge lies the outside.
    let outward = |i: usize| {
        let d = sub(corner(i + 1), corner(i));
        scale(left_of(d), -1.0 / length(d))
    };
    let start = add(corner(0), scale(outward(0), radius));
    let mut pieces = Vec::new();
    for i in 0..n {
        pieces.push(Piece::Line(add(corner(i + 1), scale(outward(i), radius))));
        if radius > 0.0 {
            let (first, second) = ((radius, 0.0), (0.0, radius));
            pieces.push(Piece::Arc { centre: corner(i + 1), first, second, from: outward(i), to: outward((i + 1) % n) });
        }
    }
    Outline { start, pieces }
}

/// A flat-ended cylinder: the hull of its two ends, each seen as an ellipse.
fn cylinder(view: &View, a: Vec3, b: Vec3, radius: f64) -> Outline {
    let (from, to) = (view.flat(a), view.flat(b));
    let run = sub(to, from);
    let whole = a.distance(b);
    if length(run) < SAME.max(1e-6 * whole) {
        return round(&[from], radius);
    }
    let along = scale(run, 1.0 / length(run));
    let side = scale(left_of(along), radius);
    // An end is as wide as the axis comes towards the viewer.
    let deep = (1.0 - (length(run) / whole).powi(2)).max(0.0).sqrt();
    let depth = scale(along, radius * deep);
    let end = |centre: Flat, from: Flat, to: Flat| match deep > 1e-6 {
        true => Piece::Arc { centre, first: depth, second: side, from, to },
        false => Piece::Line(add(centre, scale(side, to.1))),
    };
    let (right, left) = ((0.0, -1.0), (0.0, 1.0));
    let pieces = vec![Piece::Line(sub(to, side)), end(to, right, left), Piece::Line(add(from, side)), end(from, left, right)];
    Outline { start: sub(from, side), pieces }
}

impl Outline {
    /// Its path on paper. Arcs of circles stay arcs; of an ellipse each quarter becomes a curve, a three-thousandth of its
    /// size off at most.
    pub(super) fn path(&self, frame: &Frame) -> Path {
        let mut steps = Vec::new();
        for piece in &self.pieces {
            match *piece {
                Piece::Line(to) => steps.push(Step::To(frame.paper(to))),
                Piece::Arc { centre, first, second, from, to } if (length(first) - length(second)).abs() > SAME => {
                    curves(from, to, &mut |[a, b, c]| {
                        let at = |e| frame.paper(on(centre, first, second, e));
                        steps.push(Step::Curve { first: at(a), second: at(b), to: at(c) });
                    });
                }
                Piece::Arc { centre, first, second, to, .. } => {
                    let radius = thousandths(frame.millimetres(length(first)));
                    let to = frame.paper(on(centre, first, second, to));
                    steps.push(if radius < SHARP { Step::To(to) } else { Step::Arc { to, radius } });
                }
            }
        }
        let start = frame.paper(self.start);
        // Ends that fell together on paper.
        let mut last = start;
        steps.retain(|step| std::mem::replace(&mut last, step.end()) != step.end());
        if steps.last() == Some(&Step::To(start)) {
            steps.pop();
        }
        Path { start, steps, closed: true }
    }

    /// Its edge on paper in straight pieces, with the last place before the first left out.
    pub(super) fn ring(&self, frame: &Frame) -> Vec<Point> {
        let mut out = vec![frame.paper(self.start)];
        for piece in &self.pieces {
            match *piece {
                Piece::Line(to) => out.push(frame.paper(to)),
                Piece::Arc { centre, first, second, from, to } => {
                    let size = frame.millimetres(length(first).max(length(second))) * 1000.0;
                    halve(from, to, size, &mut |e| out.push(frame.paper(on(centre, first, second, e))));
                }
            }
        }
        out.dedup();
        if out.len() > 1 && out.last() == out.first() {
            out.pop();
        }
        out
    }
}

fn on(centre: Flat, first: Flat, second: Flat, e: Flat) -> Flat {
    add(centre, add(scale(first, e.0), scale(second, e.1)))
}

/// Control points and ends of the cubic curves that stand for an arc of the unit circle, a quarter of it at most each.
fn curves(from: Flat, to: Flat, out: &mut dyn FnMut([Flat; 3])) {
    let sum = add(from, to);
    // Twice the cosine of half the angle.
    if length(sum) < std::f64::consts::SQRT_2 - 1e-9 {
        let middle = if length(sum) > 1e-3 { scale(sum, 1.0 / length(sum)) } else { left_of(from) };
        curves(from, middle, out);
        curves(middle, to, out);
        return;
    }
    let half = length(sum) / 2.0;
    let pull = 4.0 / 3.0 * (((1.0 - half) / 2.0).max(0.0) / ((1.0 + half) / 2.0)).sqrt();
    out([add(from, scale(left_of(from), pull)), sub(to, scale(left_of(to), pull)), to]);
}

/// Places along an arc of a circle of the given size behind `from`, `to` included.
fn halve(from: Flat, to: Flat, size: f64, out: &mut dyn FnMut(Flat)) {
    let sum = add(from, to);
    let middle = if length(sum) > 1e-3 { scale(sum, 1.0 / length(sum)) } else { left_of(from) };
    // The rise of the arc over its chord.
    let rise = size * (1.0 - length(sum) / 2.0);
    if rise <= FLATNESS || size <= 0.0 {
        out(to);
    } else {
        halve(from, middle, size, out);
        halve(middle, to, size, out);
    }
}

/// The areas of several outlines as one.
pub(super) fn merged(outlines: &[Outline], frame: &Frame) -> Region {
    Region::union(&outlines.iter().map(|o| o.ring(frame)).collect::<Vec<_>>())
}
