//! What every view has: frame, title, scale bar, axes, the mark of the other view; and the key.

use super::area::Region;
use super::draw::{HEAD, Sheet, ring};
use super::kind::Kind;
use super::letters;
use super::plan::{arrow, iris};
use super::scene::{Anchor, Area, Ink, Mark, Path, Pen, Point, Scene, Text, Type, Weight};
use super::sketch::cross;
use super::view::View;
use crate::words::Words;

/// Lengths of a scale bar, in millimetres of the cell.
const BARS: [u32; 9] = [50, 100, 200, 250, 500, 1000, 2000, 2500, 5000];
/// Side of the mark of the axes.
const AXES: i32 = 9500;

fn text(scene: &mut Scene, at: Point, anchor: Anchor, size: Type, words: &str) {
    scene.marks.push(Mark::Text(Text { at, anchor, size, lines: vec![words.to_owned()], field: None }));
}

/// The white sheet of the view.
pub(super) fn ground(sheet: &mut Sheet<'_>) {
    let area = sheet.frame.area;
    sheet.scene.fill(vec![Path::through(area.corners(), true)], Ink::White);
}

/// Frame, title above, scale bar below, axes in the corner with the least in it.
pub(super) fn frame(sheet: &mut Sheet<'_>, title: &str, seen: &str) {
    let area = sheet.frame.area;
    let base = Point::mm(0.3, HEAD - 1.5);
    text(&mut sheet.scene, base, Anchor::Start, Type::Strong, title);
    let behind = Point { x: base.x + letters::width(title, Type::Strong) + 1800, y: base.y };
    text(&mut sheet.scene, behind, Anchor::Start, Type::Name, seen);
    axes(sheet);
    sheet.scene.lines(vec![Path::through(area.grown(-125).corners(), true)], Pen::solid(Weight::Thin));
    bar(sheet);
}

/// A value for which there is no room in the view, at the right above it.
pub(super) fn above(scene: &mut Scene, words: &str, field: Option<String>) {
    let at = Point { x: scene.width - 300, y: Point::mm(0.0, HEAD - 1.5).y };
    scene.marks.push(Mark::Text(Text { at, anchor: Anchor::End, size: Type::Strong, lines: vec![words.to_owned()], field }));
}

fn bar(sheet: &mut Sheet<'_>) {
    let metre = sheet.frame.metre;
    let on_paper = |mm: u32| f64::from(mm) / 1000.0 * metre;
    let length = BARS.into_iter().rev().find(|mm| on_paper(*mm) <= 32.0).unwrap_or(BARS[0]);
    let top = f64::from(sheet.frame.area.bottom) / 1000.0 + 1.6;
    let (left, width, height) = (0.3, on_paper(length), 1.3);
    let rectangle = |from: f64, to: f64| {
        Path::through([Point::mm(from, top), Point::mm(to, top), Point::mm(to, top + height), Point::mm(from, top + height)], true)
    };
    let scene = &mut sheet.scene;
    scene.fill(vec![rectangle(left, left + width / 2.0)], Ink::Black);
    scene.lines(vec![rectangle(left + 0.15, left + width - 0.15)], Pen::solid(Weight::Thin));
    let base = top + height + 0.45;
    text(scene, Point::mm(left + width + 1.2, base), Anchor::Start, Type::Name, &format!("{length} mm"));
}

fn axes(sheet: &mut Sheet<'_>) {
    let (right, up) = if sheet.is_plan() { ("x", "y") } else { ("", "z") };
    let area = sheet.frame.area.grown(-700);
    let corner = |left: bool, top: bool| {
        let x = if left { area.left } else { area.right - AXES };
        let y = if top { area.top } else { area.bottom - AXES };
        Area { left: x, top: y, right: x + AXES, bottom: y + AXES }
    };
    let corners = [corner(true, false), corner(false, false), corner(false, true), corner(true, true)];
    let Some(place) = corners.into_iter().min_by_key(|c| sheet.board.under(*c)) else { return };
    sheet.board.take(place);
    let scene = &mut sheet.scene;
    scene.fill(vec![Path::through(place.corners(), true)], Ink::White);
    let (x, y) = (place.left + 1400, place.bottom - 1400);
    let o = Point { x, y };
    let (to_right, to_up) = (Point { x: x + 5000, y }, Point { x, y: y - 5000 });
    let pen = Pen::solid(Weight::Thin);
    if right.is_empty() {
        scene.lines(vec![Path::through([o, to_up], false)], pen);
    } else {
        scene.lines(vec![Path::through([to_up, o, to_right], false)], pen);
        scene.head(to_right, (1.0, 0.0), 1.9);
        text(scene, Point { x: to_right.x + 700, y: to_right.y + 700 }, Anchor::Start, Type::Name, right);
    }
    scene.head(to_up, (0.0, -1.0), 1.9);
    text(scene, Point { x: to_up.x + 900, y: to_up.y + 900 }, Anchor::Start, Type::Name, up);
}

/// In the plan: from where the elevation is seen.
pub(super) fn sight_line(sheet: &mut Sheet<'_>, level: &View) {
    let area = sheet.frame.area.grown(-2500);
    let foot = sheet.foot();
    // Along the way to the viewer, as far as the frame.
    let (dx, dy) = (level.near.x, -level.near.y);
    let room = |d: f64, from: i32, low: i32, high: i32| {
        if d > 1e-9 {
            f64::from(high - from) / d
        } else if d < -1e-9 {
            f64::from(low - from) / d
        } else {
            f64::INFINITY
        }
    };
    let far = room(dx, foot.x, area.left, area.right).min(room(dy, foot.y, area.top, area.bottom));
    if !far.is_finite() || far < 9000.0 {
        return;
    }
    let at = |t: f64| Point { x: foot.x + (dx * t).round() as i32, y: foot.y + (dy * t).round() as i32 };
    let (tail, tip) = (at(far), at(far - 6000.0));
    sheet.scene.lines(vec![Path::through([tail, tip], false)], Pen::solid(Weight::Medium));
    sheet.scene.head(tip, (-dx, -dy), 2.8);
    sheet.board.line(tail, tip, 1 << 20);
    sheet.beside("A", at(far - 2000.0));
}

/// The swatch of a kind of line or hatch, with its words.
pub(super) fn key(kind: Kind, words: &Words) -> Scene {
    let words = words.say(kind.words());
    let (swatch, height) = (if matches!(kind, Kind::Near | Kind::Station | Kind::Eye) { 3600 } else { 9000 }, 4200);
    let width = swatch + 1200 + letters::width(words, Type::Name) + 600;
    let mut scene = Scene { width, height, title: words.to_owned(), marks: Vec::new() };
    let area = Area { left: 200, top: 500, right: swatch, bottom: height - 500 };
    let middle = Point { x: (area.left + area.right) / 2, y: (area.top + area.bottom) / 2 };
    let level = vec![Path::through([Point { x: area.left, y: middle.y }, Point { x: area.right, y: middle.y }], false)];
    let look = kind.look();
    match kind {
        Kind::Near => scene.lines(vec![ring(middle, 1400)], look.edge),
        Kind::Start | Kind::End | Kind::AtStart | Kind::Sight | Kind::Looks => scene.lines(level, look.edge),
        Kind::Station => cross(&mut scene, middle),
        Kind::Eye => iris(&mut scene, middle),
        Kind::Right => arrow(&mut scene, Point { x: area.left, y: middle.y }, Point { x: area.right, y: middle.y }),
        Kind::Solid | Kind::Load | Kind::KeepOut | Kind::Unsurveyed | Kind::Slow | Kind::Swept => {
            let region = Region::union(&[area.corners().to_vec()]);
            for (along, gap, pen) in look.hatches {
                scene.lines(region.hatch(*along, *gap), *pen);
            }
            scene.lines(region.paths(), look.edge);
        }
    }
    let base = Point { x: swatch + 1200, y: middle.y + Type::Name.height() / 2 };
    text(&mut scene, base, Anchor::Start, Type::Name, words);
    scene.finish();
    scene
}
