//! A subject to its two views: what is drawn over what, in which pen, and what is named.

use super::Drawing;
use super::area::{Region, bounds, cut, trimmed};
use super::body::{Body, Nearest, Role, Side, Subject};
use super::furniture;
use super::kind::{Kind, SOLID};
use super::label::{Board, HALO, Placed, Target};
use super::outline::{Flat, Outline, hull, merged, silhouette};
use super::scene::{Anchor, Area, Dash, Ink, Mark, Path, Pen, Point, Scene, Text, Type, Weight};
use super::view::{Extent, Frame, View};
use crate::document::Field;
use crate::geometry::Vec3;
use crate::geometry::solid::{Form, Solid};
use crate::words::{Words, ids};
use std::collections::BTreeSet;

/// The frame of a view, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Width of the sheet.
    pub width: f64,
    /// Height of the frame in it.
    pub body: f64,
}

impl Size {
    /// Two views side by side.
    pub const USUAL: Size = Size { width: 85.0, body: 55.0 };
    /// One below the other, a third wider, so that step and figure fit on a page.
    pub const LARGE: Size = Size { width: 113.0, body: 66.0 };
}

/// Height of the line above a view.
pub(super) const HEAD: f64 = 5.0;
/// Height of the line below a view.
pub(super) const FOOT: f64 = 6.0;
/// Space kept free along the frame.
const RIM: f64 = 3.0;
/// Space below the lowest in a level view.
const GROUND: f64 = 5.0;
/// Less than this of a body, in square millimetres, is not drawn.
const SLIVER: f64 = 2.0;
/// Depth of the hatch along a wall, in millimetres.
const BAND: f64 = 2.6;
/// How far beside the arm a body may stand and still be drawn in the elevation, in metres.
const BESIDE: f64 = 0.30;
/// Of a distance, the share that a view must show for it to be marked there.
const SHOWN: f64 = 0.7;
/// An axis is seen end-on if it points this nearly at the viewer.
const END_ON: f64 = 0.9;
/// A plane seen nearer to face-on than this is not drawn.
const FACE_ON: f64 = 0.3;

/// Draws a subject in views of a size; none if there is nothing of the arm in it.
pub fn draw(subject: &Subject, size: Size, words: &Words) -> Option<Drawing> {
    let heading = subject.stance.heading;
    let (right, seen_from) = match subject.stance.side {
        Side::Right => (heading, words.say(ids::FIGURE_RIGHT)),
        Side::Left => ([-heading[0], -heading[1]], words.say(ids::FIGURE_LEFT)),
    };
    let level = View::level(right);
    let (room_x, room_y) = (size.width - 2.0 * RIM, size.body - 2.0 * RIM);
    let extents = [extent(subject, &View::PLAN)?, extent(subject, &level)?];
    let scale = extents.iter().map(|e| e.scale(room_x, room_y)).fold(0.0, f64::max);
    let mut kinds = BTreeSet::new();
    let better = better_view(subject, &level);
    let sheet = |n: usize, view: View, name| Sheet::new((subject, words), view, (extents[n], size), scale, name, better == Some(n));
    let titles = [ids::FIGURE_PLAN, ids::FIGURE_ELEVATION].map(|t| words.say(t));
    let plan = sheet(0, View::PLAN, "plan").draw(&mut kinds, titles[0], words.say(ids::FIGURE_ABOVE), Some(&level));
    let elevation = sheet(1, level, "elevation").draw(&mut kinds, titles[1], seen_from, None);
    let description = description(subject, seen_from, words);
    Some(Drawing { views: vec![plan, elevation], key: kinds.into_iter().map(|k| furniture::key(k, words)).collect(), description })
}

fn description(subject: &Subject, seen_from: &str, words: &Words) -> String {
    let mut out = words.fill(ids::FIGURE_ABOUT, [&subject.step, seen_from]);
    let held: Vec<String> = subject.bodies.iter().filter(|b| b.role == Role::Held).map(|b| b.name.clone()).collect();
    if !held.is_empty() {
        out = format!("{out} {}", words.fill(ids::FIGURE_ABOUT_HELD, [&words.row(&held, ids::LIST_COMMA)]));
    }
    if let Some(n) = &subject.nearest {
        let pair = words.fill(ids::LIST_AND, [&n.bodies[0], &n.bodies[1]]);
        out = format!("{out} {}", words.fill(ids::FIGURE_ABOUT_NEAR, [&pair, &n.distance.text]));
    }
    out
}

/// What of a view must be in the frame: the arm, its way, and what it comes nearest to.
fn extent(subject: &Subject, view: &View) -> Option<Extent> {
    let solid = |s: &Solid| view.extent(s);
    let arm = subject.bodies.iter().filter(|b| b.role.moves()).flat_map(|b| &b.parts).chain(subject.swept.iter().flatten());
    let all = arm.map(solid).reduce(Extent::and)?;
    let places = subject.path.iter().chain(subject.nearest.iter().flat_map(|n| [&n.moving, &n.other]));
    let all = Extent::around(places.map(|p| view.flat(*p))).map_or(all, |e| all.and(e));
    // The nearest body as a whole, where that costs no more than a third of the scale.
    let near = subject.nearest.iter().flat_map(|n| subject.bodies.iter().filter(|b| b.name == n.bodies[1] && !b.role.moves()));
    let near = near.flat_map(|b| &b.parts).filter(|s| !s.is_half_space()).map(solid).reduce(Extent::and);
    let size = |e: Extent| (e.high.0 - e.low.0).max(e.high.1 - e.low.1);
    Some(near.map(|e| all.and(e)).filter(|e| size(*e) < 1.35 * size(all)).unwrap_or(all))
}

/// The view that shows the nearest distance longest: 0 the plan, 1 the elevation.
fn better_view(subject: &Subject, level: &View) -> Option<usize> {
    let near = subject.nearest.as_ref()?;
    let seen = |v: &View| {
        let (a, b) = (v.flat(near.moving), v.flat(near.other));
        (a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)
    };
    Some(usize::from(seen(level) >= seen(&View::PLAN)))
}

/// One view being drawn.
pub(super) struct Sheet<'a> {
    subject: &'a Subject,
    words: &'a Words,
    view: View,
    pub(super) frame: Frame,
    pub(super) scene: Scene,
    pub(super) board: Board,
    /// Before the ids of the values in it.
    prefix: String,
    names: usize,
    /// Whether the distance is marked here.
    measured: bool,
    wishes: Vec<Wish>,
}

/// A label to be placed once all lines are known.
struct Wish {
    words: String,
    size: Type,
    place: Where,
    id: Option<String>,
    /// The lower, the earlier.
    rank: u8,
}

pub(super) enum Where {
    Region(Region),
    /// And a place on the side where its name belongs, if on one.
    Line(Vec<Point>, Option<Point>),
    Place(Point),
}

impl<'a> Sheet<'a> {
    pub(super) fn new(
        (subject, words): (&'a Subject, &'a Words),
        view: View,
        (extent, size): (Extent, Size),
        scale: f64,
        name: &str,
        measured: bool,
    ) -> Sheet<'a> {
        let area = Area {
            left: 0,
            top: (HEAD * 1000.0) as i32,
            right: (size.width * 1000.0) as i32,
            bottom: ((HEAD + size.body) * 1000.0) as i32,
        };
        let metre = 1000.0 / scale;
        // Level views stand on their foot: what is above the arm is seen rather than what is under the floor.
        let height =
            if view == View::PLAN { (extent.low.1 + extent.high.1) / 2.0 } else { extent.low.1 + (size.body / 2.0 - GROUND) / metre };
        let middle = ((extent.low.0 + extent.high.0) / 2.0, height);
        let frame = Frame { area, metre, middle };
        let scene = Scene { width: area.right, height: area.bottom + (FOOT * 1000.0) as i32, title: String::new(), marks: Vec::new() };
        let prefix = format!("{}.{name}", subject.item);
        Sheet { subject, words, view, frame, scene, board: Board::new(area), prefix, names: 0, measured, wishes: Vec::new() }
    }

    fn draw(mut self, kinds: &mut BTreeSet<Kind>, title: &str, seen: &str, across: Option<&View>) -> Scene {
        self.scene.title = self.words.fill(ids::FIGURE_SEEN, [title, seen]);
        furniture::ground(&mut self);
        for body in self.shown() {
            self.body(body, kinds);
        }
        self.swept(kinds);
        self.start(kinds);
        self.end(kinds);
        self.path();
        self.nearest(kinds);
        self.sight(kinds);
        if let Some(level) = across {
            furniture::sight_line(&mut self, level);
        }
        self.clip();
        furniture::frame(&mut self, title, seen);
        self.labels();
        self.scene.finish();
        self.scene
    }

    /// Cuts off what was drawn beyond the frame.
    pub(super) fn clip(&mut self) {
        let area = self.frame.area;
        let inside = |path: &Path| path.places().iter().all(|p| area.has(*p));
        for mark in &mut self.scene.marks {
            match mark {
                Mark::Lines { paths, .. } if !paths.iter().all(inside) => {
                    let cut = |path: &Path| if inside(path) { vec![path.clone()] } else { trimmed(&path.places(), area) };
                    *paths = paths.iter().flat_map(cut).collect();
                }
                Mark::Fill { paths, .. } if !paths.iter().all(inside) => {
                    *paths = Region(paths.iter().map(Path::places).collect()).within(area).paths();
                }
                _ => {}
            }
        }
        self.scene.marks.retain(|m| !matches!(m, Mark::Lines { paths, .. } | Mark::Fill { paths, .. } if paths.is_empty()));
    }

    /// What stands around the arm, farthest first.
    pub(super) fn shown(&self) -> Vec<&'a Body> {
        let subject = self.subject;
        let away = -self.view.near;
        let reach = |s: &Solid| (-s.support(away), s.support(self.view.near));
        let arm = subject.bodies.iter().filter(|b| b.role.moves()).flat_map(|b| &b.parts).chain(subject.swept.iter().flatten());
        let slab = arm.map(reach).fold((f64::INFINITY, f64::NEG_INFINITY), |a, b| (a.0.min(b.0), a.1.max(b.1)));
        let nearest = subject.nearest.as_ref().map(|n| n.bodies[1].as_str());
        let beside = |b: &Body| {
            let (low, high) = b.parts.iter().map(reach).fold((f64::INFINITY, f64::NEG_INFINITY), |a, b| (a.0.min(b.0), a.1.max(b.1)));
            low <= slab.1 + BESIDE && high >= slab.0 - BESIDE
        };
        // From above everything is drawn; from the side what stands by the arm.
        let mut out: Vec<&Body> = subject
            .bodies
            .iter()
            .filter(|b| !b.role.moves() && (self.view == View::PLAN || nearest == Some(b.name.as_str()) || beside(b)))
            .collect();
        let depth = |b: &Body| {
            let solids = b.parts.iter().filter(|s| !s.is_half_space());
            solids.map(|s| s.support(self.view.near)).fold(f64::NEG_INFINITY, f64::max)
        };
        out.sort_by(|a, b| depth(a).total_cmp(&depth(b)).then(a.role.cmp(&b.role)));
        out
    }

    fn outlines(&self, parts: &[Solid]) -> Vec<Outline> {
        parts.iter().filter_map(|s| silhouette(s, &self.view)).collect()
    }

    pub(super) fn body(&mut self, body: &Body, kinds: &mut BTreeSet<Kind>) {
        for part in &body.parts {
            if let (Form::HalfSpace { .. }, [point]) = (part.form(), part.core()) {
                self.wall(body, *point, part.direction(), kinds);
            }
        }
        let outlines = self.outlines(&body.parts);
        let region = merged(&outlines, &self.frame).within(self.frame.area);
        let nearest = self.subject.nearest.as_ref().is_some_and(|n| n.bodies[1] == body.name);
        if region.size() < if nearest { 0.05 } else { SLIVER } {
            return;
        }
        let kind = Kind::of(body.role);
        kinds.insert(kind);
        if matches!(body.role, Role::Obstacle | Role::Resting) {
            self.scene.fill(region.paths(), Ink::White);
        }
        self.hatched(&region, kind);
        self.edge(&outlines, &region, kind.look().edge, 12);
        self.wish(body.named(self.words), Type::Name, Where::Region(region), Some(&body.key), if nearest { 1 } else { 4 });
    }

    fn hatched(&mut self, region: &Region, kind: Kind) {
        for (along, gap, pen) in kind.look().hatches {
            self.scene.lines(region.hatch(*along, *gap), *pen);
        }
    }

    /// The edge of what lies behind a plane, hatched on the solid side.
    fn wall(&mut self, body: &Body, point: Vec3, normal: Vec3, kinds: &mut BTreeSet<Kind>) {
        let across: Flat = (normal.dot(self.view.right), normal.dot(self.view.up));
        let size = (across.0 * across.0 + across.1 * across.1).sqrt();
        if size < FACE_ON {
            return;
        }
        // Cut by the plane of the arm, or by the level of its foot.
        let foot = self.subject.stance.foot;
        let ahead = normal.dot(point - foot) / size;
        let unit = (across.0 / size, across.1 / size);
        let base = self.view.flat(foot);
        let on = (base.0 + unit.0 * ahead, base.1 + unit.1 * ahead);
        let along = (-unit.1, unit.0);
        let far = 1000.0 / self.frame.metre * 4.0 + ahead.abs();
        let at = |t: f64, back: f64| self.frame.paper((on.0 + along.0 * t - unit.0 * back, on.1 + along.1 * t - unit.1 * back));
        let deep = BAND / self.frame.metre;
        let Some((a, b)) = cut(at(-far, 0.0), at(far, 0.0), self.frame.area) else { return };
        let band = Region::union(&[vec![at(-far, 0.0), at(far, 0.0), at(far, deep), at(-far, deep)]]).within(self.frame.area);
        let kind = Kind::of(body.role);
        kinds.insert(kind);
        let (along, gap, pen) = SOLID;
        self.scene.lines(band.hatch(along, gap), pen);
        self.scene.lines(vec![Path::through([a, b], false)], Pen { weight: Weight::Medium, dash: kind.look().edge.dash });
        self.board.line(a, b, 30);
        let nearest = self.subject.nearest.as_ref().is_some_and(|n| n.bodies[1] == body.name);
        self.wish(body.named(self.words), Type::Name, Where::Line(vec![a, b], None), Some(&body.key), if nearest { 1 } else { 5 });
    }

    /// The outlines themselves where they lie in the frame and apart, else the edge of their area as far as it does.
    fn edge(&mut self, outlines: &[Outline], region: &Region, pen: Pen, weight: u32) {
        let rings: Vec<Vec<Point>> = outlines.iter().map(|o| o.ring(&self.frame)).collect();
        let whole = rings.iter().all(|r| bounds(r.iter().copied()).is_some_and(|b| self.frame.area.grown(-200).holds(b)));
        let paths = if whole && outlines.len() == 1 {
            outlines.iter().map(|o| o.path(&self.frame)).collect()
        } else if whole {
            region.paths()
        } else {
            // The frame cuts an area, but its own line is not drawn twice.
            merged(outlines, &self.frame).0.iter().flat_map(|ring| trimmed(&closed(ring), self.frame.area.grown(-150))).collect()
        };
        for (a, b) in region.edges() {
            self.board.line(a, b, weight);
        }
        self.scene.lines(paths, pen);
    }

    /// All that moving solids pass through, as one area.
    fn swept(&mut self, kinds: &mut BTreeSet<Kind>) {
        let mut rings = Vec::new();
        for places in &self.subject.swept {
            let seen: Vec<Vec<Point>> = places.iter().filter_map(|s| silhouette(s, &self.view)).map(|o| o.ring(&self.frame)).collect();
            match seen.as_slice() {
                [one] => rings.push(one.clone()),
                many => rings.extend(many.windows(2).map(|w| {
                    let both = w[0].iter().chain(&w[1]).map(|p| (f64::from(p.x), f64::from(p.y))).collect();
                    hull(both).into_iter().map(|(x, y)| Point { x: x as i32, y: y as i32 }).collect()
                })),
            }
        }
        let region = Region::union(&rings).within(self.frame.area);
        if region.size() < 0.5 {
            return;
        }
        kinds.insert(Kind::Swept);
        self.hatched(&region, Kind::Swept);
        self.scene.lines(region.paths(), Kind::Swept.look().edge);
        for (a, b) in region.edges() {
            self.board.line(a, b, 3);
        }
    }

    /// The arm where the step starts: one dashed line around it.
    fn start(&mut self, kinds: &mut BTreeSet<Kind>) {
        let subject = self.subject;
        let parts = |role: Role| subject.bodies.iter().filter(move |b| b.role == role).flat_map(|b| &b.parts);
        let arm: Vec<Solid> = parts(Role::Start).cloned().collect();
        let held: Vec<Solid> = parts(Role::HeldAtStart).cloned().collect();
        for (solids, weight) in [(arm, Weight::Thin), (held, Weight::Fine)] {
            let outlines = self.outlines(&solids);
            let region = merged(&outlines, &self.frame);
            if region.size() < 0.05 {
                continue;
            }
            kinds.insert(Kind::Start);
            self.edge(&outlines, &region.within(self.frame.area), Pen { weight, dash: Dash::Dashed }, 6);
        }
    }

    /// The arm where the step ends: each part over the one behind it.
    pub(super) fn end(&mut self, kinds: &mut BTreeSet<Kind>) {
        let subject = self.subject;
        let mut parts: Vec<(Role, &[Solid])> = Vec::new();
        for body in subject.bodies.iter().filter(|b| matches!(b.role, Role::End | Role::Held)) {
            // A mesh is one thing; other parts show how they join.
            let is_mesh = body.parts.iter().all(|s| s.core().len() == 3 && s.r() == 0.0);
            parts.extend(body.parts.chunks(if is_mesh { body.parts.len().max(1) } else { 1 }).map(|c| (body.role, c)));
        }
        let middle = |part: &[Solid]| {
            let most = |n: Vec3| part.iter().map(|s| s.support(n)).fold(f64::NEG_INFINITY, f64::max);
            most(self.view.near) - most(-self.view.near)
        };
        parts.sort_by(|a, b| middle(a.1).total_cmp(&middle(b.1)));
        for (role, part) in parts {
            let outlines = self.outlines(part);
            let region = merged(&outlines, &self.frame).within(self.frame.area);
            self.scene.fill(region.paths(), Ink::White);
            if role == Role::Held {
                kinds.insert(Kind::Load);
                self.hatched(&region, Kind::Load);
            } else {
                kinds.insert(Kind::End);
            }
            self.edge(&outlines, &region, Kind::End.look().edge, 250);
        }
        for (on, axis) in &subject.joints {
            let at = self.frame.paper(self.view.flat(*on));
            if axis.dot(self.view.near).abs() > END_ON && self.frame.area.grown(-1500).has(at) {
                self.scene.lines(vec![ring(at, 550)], Pen::solid(Weight::Fine));
            }
        }
        // What is held is named, and what of the arm comes nearest to something.
        let near = |b: &&Body| b.role == Role::End && subject.nearest.as_ref().is_some_and(|n| n.bodies.contains(&b.name));
        for body in subject.bodies.iter().filter(|b| b.role == Role::Held || near(b)) {
            let region = merged(&self.outlines(&body.parts), &self.frame).within(self.frame.area);
            let rank = if body.role == Role::Held { 2 } else { 3 };
            self.wish(body.name.clone(), Type::Name, Where::Region(region), Some(&body.key), rank);
        }
    }

    /// The way of the tool point, with the words start and end.
    fn path(&mut self) {
        let line: Vec<Point> = self.subject.path.iter().map(|p| self.frame.paper(self.view.flat(*p))).collect();
        let (Some(first), Some(last)) = (line.first().copied(), line.last().copied()) else { return };
        let length: f64 = line.windows(2).map(|w| w[0].distance(w[1])).sum();
        if length > 1500.0 {
            self.scene.lines(trimmed(&line, self.frame.area), Pen::solid(Weight::Thin));
            for w in line.windows(2) {
                self.board.line(w[0], w[1], 25);
            }
            // The head points along the last two millimetres.
            let back = line.iter().rev().copied().find(|p| p.distance(last) > 2000.0).unwrap_or(first);
            self.scene.head(last, (f64::from(last.x - back.x), f64::from(last.y - back.y)), 2.2);
        }
        let inside = self.frame.area.grown(-400);
        if length > 4000.0 {
            if inside.has(first) {
                self.scene.fill(vec![ring(first, 500)], Ink::Black);
                self.board.take(square(first, 700));
                self.wish(self.words.say(ids::FIGURE_START).to_owned(), Type::Strong, Where::Place(first), None, 3);
            }
            if inside.has(last) {
                self.board.take(square(last, 700));
                self.wish(self.words.say(ids::FIGURE_END).to_owned(), Type::Strong, Where::Place(last), None, 3);
            }
        }
    }

    /// The nearest pair, marked as a dimension where a view shows it in length; a ring where neither does.
    fn nearest(&mut self, kinds: &mut BTreeSet<Kind>) {
        let Some(Nearest { moving, other, distance, .. }) = &self.subject.nearest else { return };
        let (a, b) = (self.frame.paper(self.view.flat(*moving)), self.frame.paper(self.view.flat(*other)));
        if !self.frame.area.has(a) || !self.frame.area.has(b) {
            if self.measured {
                furniture::above(&mut self.scene, &distance.text, Some(distance.id.clone()));
            }
            return;
        }
        let middle = Point { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
        let true_length = moving.distance(*other) * self.frame.metre * 1000.0;
        let in_length = a.distance(b) > SHOWN * true_length && a.distance(b) > 100.0;
        if in_length {
            self.dimension(a, b);
        } else {
            kinds.insert(Kind::Near);
            self.scene.lines(vec![ring(middle, 1400)], Pen::solid(Weight::Thin));
            self.board.take(square(middle, 1500));
        }
        // Its value stands once in each view that shows it, and in one at least.
        let id = match self.measured {
            true => distance.id.clone(),
            false if in_length => format!("{}-again", distance.id),
            false => return,
        };
        self.wishes.push(Wish { words: distance.text.clone(), size: Type::Strong, place: Where::Place(middle), id: Some(id), rank: 0 });
    }

    /// Two arrow heads on a distance: within it if there is room, else from outside.
    fn dimension(&mut self, a: Point, b: Point) {
        let apart = a.distance(b);
        let (dx, dy) = (f64::from(b.x - a.x) / apart, f64::from(b.y - a.y) / apart);
        let off = |p: Point, by: f64| Point { x: p.x + (dx * by).round() as i32, y: p.y + (dy * by).round() as i32 };
        let pen = Pen::solid(Weight::Thin);
        let (from, to) = if apart > 7000.0 {
            self.scene.head(a, (-dx, -dy), 2.2);
            self.scene.head(b, (dx, dy), 2.2);
            (a, b)
        } else {
            self.scene.head(a, (dx, dy), 2.2);
            self.scene.head(b, (-dx, -dy), 2.2);
            (off(a, -5500.0), off(b, 5500.0))
        };
        if let Some((from, to)) = cut(from, to, self.frame.area) {
            self.scene.lines(vec![Path::through([from, to], false)], pen);
            self.board.line(from, to, 80);
        }
        self.board.take(square(a, 900));
        self.board.take(square(b, 900));
    }

    /// What the view in force sees, as the two edges of its field.
    fn sight(&mut self, kinds: &mut BTreeSet<Kind>) {
        let Some(cone) = &self.subject.sight else { return };
        let (eye, at) = (self.view.flat(cone.eye), self.view.flat(cone.at));
        let d = (at.0 - eye.0, at.1 - eye.1);
        let length = (d.0 * d.0 + d.1 * d.1).sqrt();
        if length < 0.2 {
            return;
        }
        let (ux, uy) = (d.0 / length, d.1 / length);
        // The edge of a cone that does not lie flat in the view is seen wider: its sine grows as its axis is seen shorter.
        let sine = cone.half.0 * cone.eye.distance(cone.at) / length;
        if sine >= 1.0 {
            return;
        }
        let cosine = (1.0 - sine * sine).sqrt();
        let reach = length * 20.0 + 10.0;
        let from = self.frame.paper(eye);
        let mut seen = Vec::new();
        for side in if sine > 0.0 { &[1.0, -1.0][..] } else { &[1.0][..] } {
            let along = (ux * cosine - uy * sine * side, uy * cosine + ux * sine * side);
            let to = self.frame.paper((eye.0 + along.0 * reach, eye.1 + along.1 * reach));
            if let Some((a, b)) = cut(from, to, self.frame.area.grown(-150)) {
                self.scene.lines(vec![Path::through([a, b], false)], Kind::Sight.look().edge);
                self.board.line(a, b, 8);
                seen.push([a, b]);
            }
        }
        let Some(first) = seen.first() else { return };
        kinds.insert(Kind::Sight);
        let line = first.to_vec();
        if self.frame.area.grown(-1500).has(from) {
            self.scene.fill(vec![ring(from, 900)], Ink::Black);
            self.board.take(square(from, 1000));
        }
        let inside = self.frame.paper((eye.0 + ux * reach, eye.1 + uy * reach));
        self.wish(cone.name.clone(), Type::Name, Where::Line(line, Some(inside)), Some("view"), 5);
    }

    /// Whether it is seen from above.
    pub(super) fn is_plan(&self) -> bool {
        self.view == View::PLAN
    }

    /// The foot of the arm on paper.
    pub(super) fn foot(&self) -> Point {
        self.frame.paper(self.view.flat(self.subject.stance.foot))
    }

    /// Words beside a place, to be put there before most others.
    pub(super) fn beside(&mut self, words: &str, at: Point) {
        self.wish(words.to_owned(), Type::Strong, Where::Place(at), None, 0);
    }

    pub(super) fn wish(&mut self, words: String, size: Type, place: Where, what: Option<&str>, rank: u8) {
        self.names += usize::from(what.is_some());
        let id = what.map(|what| format!("{}.{what}.label{}", self.prefix, self.names));
        self.wishes.push(Wish { words, size, place, id, rank });
    }

    /// Takes back what was to be named so.
    pub(super) fn forget(&mut self, named: impl Fn(&str) -> bool) {
        self.wishes.retain(|w| !named(&w.words));
    }

    /// Places the labels, the most wanted first; one for which there is no room is left out.
    pub(super) fn labels(&mut self) {
        let mut wishes = std::mem::take(&mut self.wishes);
        wishes.sort_by_key(|w| w.rank);
        self.board.named = wishes.iter().filter_map(|w| if let Where::Region(r) = &w.place { Some(r.clone()) } else { None }).collect();
        for wish in wishes {
            let target = match &wish.place {
                Where::Region(region) => Target::Region(region),
                Where::Line(line, side) => Target::Line(line, *side),
                Where::Place(p) => Target::Place(*p),
            };
            match self.board.place(&wish.words, wish.size, &target) {
                Some(placed) => self.label(placed, wish.size, wish.id),
                // The distance is never left out: above the view there is room.
                None if wish.rank == 0 && wish.id.is_some() => furniture::above(&mut self.scene, &wish.words, wish.id),
                None => {}
            }
        }
    }

    fn label(&mut self, placed: Placed, size: Type, field: Option<String>) {
        let Placed { lines, ground, at, leader } = placed;
        if let Some((a, b)) = leader {
            self.scene.lines(vec![Path::through([a, b], false)], Pen::solid(Weight::Fine));
            self.scene.fill(vec![ring(b, 350)], Ink::Black);
            self.board.take(square(b, 600));
        }
        self.scene.fill(vec![Path::through(ground.grown(-HALO / 4).corners(), true)], Ink::White);
        self.scene.marks.push(Mark::Text(Text { at, anchor: Anchor::Middle, size, lines, field }));
    }
}

/// A circle on paper.
pub(super) fn ring(at: Point, radius: i32) -> Path {
    use super::scene::Step;
    let (right, left) = (Point { x: at.x + radius, y: at.y }, Point { x: at.x - radius, y: at.y });
    Path { start: right, steps: vec![Step::Arc { to: left, radius }, Step::Arc { to: right, radius }], closed: true }
}

pub(super) fn square(at: Point, half: i32) -> Area {
    Area { left: at.x - half, top: at.y - half, right: at.x + half, bottom: at.y + half }
}

fn closed(ring: &[Point]) -> Vec<Point> {
    ring.iter().chain(ring.first()).copied().collect()
}

/// The value of the marked distance of a figure.
pub fn distance(item: &str, text: impl Into<String>) -> Field {
    Field::new(format!("{item}.distance"), text)
}
