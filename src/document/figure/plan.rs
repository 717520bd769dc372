//! The plan of a cell: the arm where the first step finds it, all that stands around it, its stations, and the eyes of windows
//! and cameras with what lies to the right in their pictures.

use super::body::{Body, Side, Stance, Subject};
use super::draw::{Sheet, Size, Where, ring, square};
use super::kind::Kind;
use super::outline::Flat;
use super::scene::{Ink, Path, Point, Scene, Type};
use super::sketch::cross;
use super::view::{Extent, View};
use super::{Drawing, furniture};
use crate::geometry::Vec3;
use crate::geometry::solid::{Form, Solid};
use crate::words::{Words, ids};
use std::collections::BTreeSet;

/// All that a plan shows, in cell coordinates and metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The id of the item: its values stand under it.
    pub item: String,
    /// A point of the axis about which the arm turns on its mount.
    pub foot: Vec3,
    /// Everything there is.
    pub bodies: Vec<Body>,
    /// A point on the axis of each joint, and its direction.
    pub joints: Vec<(Vec3, Vec3)>,
    /// What stations are called, and the grip centre at each.
    pub stations: Vec<(String, Vec3)>,
    /// Windows and cameras that have a place.
    pub eyes: Vec<Eye>,
}

/// The eye of a window or a camera.
#[derive(Debug, Clone, PartialEq)]
pub struct Eye {
    /// What the view is called.
    pub name: String,
    /// Where it is.
    pub at: Vec3,
    /// What stands in the middle of its picture.
    pub looks_at: Option<Vec3>,
    /// What is to the right in its picture, of length 1.
    pub right: Option<Vec3>,
}

/// Width of the sheet, and the most height of the frame in it, in millimetres.
const WIDTH: f64 = 178.0;
const TALLEST: f64 = 172.0;
/// Space kept free along the frame.
const RIM: f64 = 7.0;
/// A wall that would make the plan larger than this, as a multiple, is left out of what must be in the frame.
const FAR: f64 = 1.6;
/// A direction seen shorter than this points up or down.
const END_ON: f64 = 0.3;
/// Length of the arrow to the right in a picture, and of the line of sight, in thousandths of a millimetre.
const ARROW: f64 = 8500.0;
const SIGHT: f64 = 14_000.0;
/// Radius of an eye.
const EYE: i32 = 1000;

/// Draws a plan; none if there is nothing in it.
pub fn plan(plan: &Plan, words: &Words) -> Option<Drawing> {
    let extent = extent(plan)?;
    let room = WIDTH - 2.0 * RIM;
    let scale = extent.scale(room, TALLEST - 2.0 * RIM);
    let body = (extent.high.1 - extent.low.1) * 1000.0 / scale + 2.0 * RIM;
    let subject = Subject {
        item: plan.item.clone(),
        step: String::new(),
        stance: Stance { foot: plan.foot, heading: [1.0, 0.0], side: Side::Right },
        bodies: plan.bodies.clone(),
        swept: Vec::new(),
        path: Vec::new(),
        joints: plan.joints.clone(),
        nearest: None,
        sight: None,
    };
    let mut kinds = BTreeSet::new();
    let mut sheet = Sheet::new((&subject, words), View::PLAN, (extent, Size { width: WIDTH, body }), scale, "plan", false);
    let [title, seen] = [ids::FIGURE_PLAN, ids::FIGURE_ABOVE].map(|t| words.say(t));
    sheet.scene.title = words.fill(ids::FIGURE_SEEN, [title, seen]);
    furniture::ground(&mut sheet);
    for body in sheet.shown() {
        sheet.body(body, &mut kinds);
    }
    sheet.end(&mut kinds);
    if kinds.remove(&Kind::End) {
        kinds.insert(Kind::AtStart);
    }
    // What bears the name of its station is named once.
    sheet.forget(|name| plan.stations.iter().any(|(station, _)| station == name));
    for (name, at) in &plan.stations {
        let at = sheet.frame.paper(View::PLAN.flat(*at));
        cross(&mut sheet.scene, at);
        sheet.board.take(square(at, 1000));
        kinds.insert(Kind::Station);
        sheet.wish(name.clone(), Type::Name, Where::Place(at), Some("station"), 2);
    }
    for eye in &plan.eyes {
        self::eye(&mut sheet, eye, &mut kinds);
    }
    sheet.clip();
    furniture::frame(&mut sheet, title, seen);
    sheet.labels();
    sheet.scene.finish();
    let key = kinds.into_iter().map(|k| furniture::key(k, words)).collect();
    Some(Drawing { views: vec![sheet.scene], key, description: words.say(ids::PLAN_SHOWS).to_owned() })
}

/// Everything that ends somewhere, every eye and station, and the walls that are not far off.
fn extent(plan: &Plan) -> Option<Extent> {
    let view = View::PLAN;
    let parts = || plan.bodies.iter().flat_map(|b| &b.parts);
    let bodies = parts().filter(|s| !s.is_half_space()).map(|s| view.extent(s)).reduce(Extent::and)?;
    let places = plan.eyes.iter().map(|e| e.at).chain(plan.stations.iter().map(|s| s.1)).chain([plan.foot]);
    let all = Extent::around(places.map(|p| view.flat(p))).map_or(bodies, |e| bodies.and(e));
    let size = |e: Extent| (e.high.0 - e.low.0).max(e.high.1 - e.low.1);
    let walls = parts().filter_map(|s| wall(s, plan.foot)).filter_map(|on| Extent::around([on]));
    Some(walls.filter(|wall| size(all.and(*wall)) < FAR * size(all)).fold(all, Extent::and))
}

/// Where a wall passes the foot of the arm; none if it is no wall.
fn wall(solid: &Solid, foot: Vec3) -> Option<Flat> {
    let (Form::HalfSpace { .. }, [point]) = (solid.form(), solid.core()) else { return None };
    let (normal, base) = (solid.direction(), View::PLAN.flat(foot));
    let across = View::PLAN.flat(normal);
    let size = (across.0 * across.0 + across.1 * across.1).sqrt();
    let ahead = normal.dot(*point - foot) / size;
    (size > END_ON).then(|| (base.0 + across.0 / size * ahead, base.1 + across.1 / size * ahead))
}

/// An eye with where it looks and the way that is to the right in its picture.
fn eye(sheet: &mut Sheet<'_>, eye: &Eye, kinds: &mut BTreeSet<Kind>) {
    let flat = |v: Vec3| View::PLAN.flat(v);
    let at = sheet.frame.paper(flat(eye.at));
    let way = |(x, y): Flat, length: f64| {
        let size = (x * x + y * y).sqrt().max(1e-9);
        Point { x: at.x + (x / size * length).round() as i32, y: at.y - (y / size * length).round() as i32 }
    };
    if let Some(to) = eye.looks_at {
        let ahead = flat(to - eye.at);
        let far = sheet.frame.millimetres((ahead.0 * ahead.0 + ahead.1 * ahead.1).sqrt()) * 1000.0;
        if far > f64::from(3 * EYE) {
            let tip = way(ahead, far.min(SIGHT));
            sheet.scene.lines(vec![Path::through([at, tip], false)], Kind::Looks.look().edge);
            sheet.scene.head(tip, (f64::from(tip.x - at.x), f64::from(tip.y - at.y)), 1.8);
            sheet.board.line(at, tip, 60);
            kinds.insert(Kind::Looks);
        }
    }
    if let Some(right) = eye.right.map(flat).filter(|(x, y)| x * x + y * y > END_ON * END_ON) {
        let tip = way(right, ARROW);
        arrow(&mut sheet.scene, at, tip);
        sheet.board.line(at, tip, 1 << 20);
        sheet.board.take(square(tip, 1200));
        kinds.insert(Kind::Right);
    }
    iris(&mut sheet.scene, at);
    sheet.board.take(square(at, EYE + 400));
    kinds.insert(Kind::Eye);
    sheet.wish(eye.name.clone(), Type::Strong, Where::Place(at), Some("view"), 1);
}

/// The mark of an eye: a ring with a black middle.
pub(super) fn iris(scene: &mut Scene, at: Point) {
    scene.fill(vec![ring(at, EYE)], Ink::White);
    scene.lines(vec![ring(at, EYE)], Kind::Eye.look().edge);
    scene.fill(vec![ring(at, EYE / 2)], Ink::Black);
}

/// The arrow to the right in a picture.
pub(super) fn arrow(scene: &mut Scene, from: Point, tip: Point) {
    let along = (f64::from(tip.x - from.x), f64::from(tip.y - from.y));
    let back = |v: f64| (v * (1.0 - 2000.0 / from.distance(tip).max(2001.0))).round() as i32;
    let neck = Point { x: from.x + back(along.0), y: from.y + back(along.1) };
    scene.lines(vec![Path::through([from, neck], false)], Kind::Right.look().edge);
    scene.head(tip, along, 3.4);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::figure::scene::{Mark, Weight};

    #[test]
    fn the_arrow_points_to_the_right_in_the_picture() {
        let plan_of = |right: Vec3| Plan {
            item: "plan".to_owned(),
            foot: Vec3::ZERO,
            bodies: vec![Body {
                name: "base".to_owned(),
                key: "body0".to_owned(),
                role: super::super::Role::End,
                parts: vec![Solid::round(vec![[0, 0, 0]], 200_000).expect("a ball")],
            }],
            joints: Vec::new(),
            stations: vec![("rack".to_owned(), Vec3::new(1.0, -1.0, 0.5))],
            eyes: vec![Eye { name: "window".to_owned(), at: Vec3::new(2.0, 0.0, 1.5), looks_at: Some(Vec3::ZERO), right: Some(right) }],
        };
        for (right, up) in [(Vec3::Y, true), (-Vec3::Y, false)] {
            let drawn = plan(&plan_of(right), Words::english()).expect("drawn");
            let lines = drawn.views[0].marks.iter().filter_map(|m| match m {
                Mark::Lines { paths, pen } if pen.weight == Weight::Medium => paths.first().map(Path::places),
                _ => None,
            });
            let ends: Vec<Vec<Point>> = lines.collect();
            let [line] = ends.as_slice() else { panic!("one arrow: {ends:?}") };
            assert_eq!(line[0].x, line[1].x);
            assert_eq!(line[1].y < line[0].y, up, "paper has its y downwards");
            let words: Vec<String> = drawn.fields().map(|f| f.text).collect();
            assert_eq!(words, ["window", "rack"]);
        }
    }
}
