//! Figures: silhouettes against support functions, labels that keep apart, nothing outside the frame, the same structure.

#[path = "figures/posed.rs"]
mod posed;
#[path = "sample/scene.rs"]
mod scene;

use posed::Bay;
use surehand::document::figure::{Anchor, Area, Drawing, Mark, Outline, Path, Piece, Scene, Size, Subject, View, draw, silhouette};
use surehand::emit::svg;
use surehand::geometry::Vec3;
use surehand::geometry::solid::Solid;
use surehand::words::Words;

/// Steps of the worked procedures and what is held in them.
fn steps() -> Vec<Subject> {
    let bay = Bay::new();
    vec![
        bay.step("18", [-75, 55, -60, 40, 0], [-75, 36, -60, 40, 0], None, Some("window-1")),
        bay.step("25", [-75, 36, -60, 24, 0], [-75, 24, -60, 40, 0], None, Some("camera-1")),
        bay.step("31", [-75, 20, -60, 40, 0], [-75, 23, -60, 40, 0], Some("spent-cartridge"), Some("camera-1")),
        bay.step("40", [-75, 36, -60, 24, 0], [-35, 36, -60, 24, 0], Some("spent-cartridge"), Some("window-1")),
        bay.step("41", [-35, 36, -60, 24, 0], [-35, 20, -60, 40, 0], Some("spent-cartridge"), Some("camera-1")),
        bay.step("52", [42, 40, -65, 25, 0], [42, 25, -65, 40, 0], None, Some("window-2")),
        bay.step("60", [0, 75, -130, 0, 0], [0, 75, -95, 0, 0], None, None),
        bay.step("61", [5, 45, -75, 30, 0], [5, 30, -75, 45, 0], Some("sample-pot"), Some("window-2")),
        scene::subject("f8", "8"),
    ]
}

/// How far an outline goes along a direction: worked out from its pieces, exactly.
fn reach(outline: &Outline, n: (f64, f64)) -> f64 {
    let along = |p: (f64, f64)| p.0 * n.0 + p.1 * n.1;
    let mut most = along(outline.start);
    for piece in &outline.pieces {
        match *piece {
            Piece::Line(to) => most = most.max(along(to)),
            Piece::Arc { centre, first, second, from, to } => {
                let at = |e: (f64, f64)| along(centre) + along(first) * e.0 + along(second) * e.1;
                most = most.max(at(from)).max(at(to));
                // The farthest place of the whole ellipse, if the arc comes by.
                let (c, s) = (along(first), along(second));
                let size = (c * c + s * s).sqrt();
                let top = (c / size, s / size);
                let turned = |a: (f64, f64), b: (f64, f64)| a.0 * b.1 - a.1 * b.0;
                let within = turned(from, top) >= -1e-12 && turned(top, to) >= -1e-12;
                if within && (turned(from, to) > 1e-12 || from.0 * to.0 + from.1 * to.1 < 0.0) {
                    most = most.max(along(centre) + size);
                }
            }
        }
    }
    most
}

#[test]
fn silhouettes_are_exact() {
    let view = View::level([0.8, 0.6]);
    let tilted = View { right: Vec3::new(0.8, 0.6, 0.0), up: Vec3::new(-0.36, 0.48, 0.8), near: Vec3::new(0.48, -0.64, 0.6) };
    let ball = Solid::round(vec![[100_000, 200_000, 300_000]], 50_000).expect("a ball");
    let solids = [
        ball,
        scene::capsule([0, 0, 0], [300, 400, 120], 60),
        scene::capsule([10, 20, 0], [10, 20, 500], 60),
        scene::cuboid([-100, -50, 0], [200, 70, 90]),
        Solid::round(vec![[0, 0, 0], [400_000, 0, 0], [0, 300_000, 100_000]], 20_000).expect("a rounded triangle"),
        scene::cylinder([0, 0, 0], [0, 0, 400], 110),
        scene::cylinder([0, 0, 0], [300, 0, 0], 110),
        scene::cylinder([50, -40, 10], [350, 160, 260], 75),
    ];
    let mut checks = 0;
    for solid in &solids {
        for view in [View::PLAN, view, tilted] {
            let outline = silhouette(solid, &view).expect("a solid with an end");
            for (x, y) in (-12..=12).flat_map(|x| (-12..=12).map(move |y| (x, y))).filter(|p| *p != (0, 0)) {
                let (x, y) = (f64::from(x), f64::from(y));
                let size = (x * x + y * y).sqrt();
                let n = (x / size, y / size);
                let (seen, wanted) = (reach(&outline, n), solid.support(view.right * n.0 + view.up * n.1));
                assert!((seen - wanted).abs() < 1e-9, "{solid:?} along {n:?}: {seen} and not {wanted}");
                checks += 1;
            }
        }
    }
    assert_eq!(checks, 8 * 3 * 624);
    assert_eq!(silhouette(&Solid::half_space([0; 3], [0, 0, 1]).expect("a floor"), &View::PLAN), None);
}

#[test]
fn simple_solids_have_simple_outlines() {
    let arcs = |o: &Outline| o.pieces.iter().filter(|p| matches!(p, Piece::Arc { .. })).count();
    let of = |solid: &Solid| silhouette(solid, &View::PLAN).expect("an outline");
    // A capsule: two straight sides and two round ends; a box: four sides; an upright cylinder: a circle; one lying: a
    // rectangle.
    let capsule = of(&scene::capsule([0, 0, 0], [300, 0, 0], 60));
    assert_eq!((capsule.pieces.len(), arcs(&capsule)), (4, 2));
    let cuboid = of(&scene::cuboid([0, 0, 0], [300, 200, 100]));
    assert_eq!((cuboid.pieces.len(), arcs(&cuboid)), (4, 0));
    let upright = of(&scene::cylinder([0, 0, 0], [0, 0, 300], 50));
    assert_eq!((upright.pieces.len(), arcs(&upright)), (2, 2));
    let lying = of(&scene::cylinder([0, 0, 0], [300, 0, 0], 50));
    assert_eq!((lying.pieces.len(), arcs(&lying)), (4, 0));
}

/// The area of a line of words, with its own width.
fn lines(scene: &Scene) -> Vec<(String, Area)> {
    let mut out = Vec::new();
    for mark in &scene.marks {
        let Mark::Text(text) = mark else { continue };
        for (i, line) in text.lines.iter().enumerate() {
            let (left, width) = text.line(line);
            let base = text.at.y + text.size.leading() * i as i32;
            out.push((
                line.clone(),
                Area { left, top: base - text.size.height(), right: left + width, bottom: base + text.size.tail() / 2 },
            ));
        }
    }
    out
}

fn scenes(drawing: &Drawing) -> impl Iterator<Item = &Scene> {
    drawing.scenes()
}

#[test]
fn no_label_lies_on_another() {
    let mut seen = 0;
    for subject in steps() {
        let drawing = draw(&subject, Size::USUAL, Words::english()).expect("an arm");
        for scene in scenes(&drawing) {
            let lines = lines(scene);
            for (i, (words, area)) in lines.iter().enumerate() {
                seen += 1;
                for (other, ground) in &lines[i + 1..] {
                    assert!(!area.meets(*ground), "{}, {}: {words:?} lies on {other:?}", subject.item, scene.title);
                }
            }
        }
    }
    assert!(seen > 150, "{seen} lines of words");
}

/// The frame of a view: the first wide rectangle of four corners that is drawn in a single line.
fn frame(scene: &Scene) -> Area {
    let corners = scene.marks.iter().filter_map(|m| match m {
        Mark::Lines { paths, .. } => paths.first().filter(|p| p.closed && p.steps.len() == 3),
        _ => None,
    });
    let mut widths = corners.map(Path::places).filter(|p| p[1].x - p[0].x > scene.width * 9 / 10);
    let corners = widths.next().expect("a frame");
    Area { left: 0, top: corners[0].y - 125, right: scene.width, bottom: corners[2].y + 125 }
}

#[test]
fn nothing_lies_outside_its_frame() {
    for subject in steps() {
        let drawing = draw(&subject, Size::USUAL, Words::english()).expect("an arm");
        for scene in scenes(&drawing) {
            let sheet = Area { left: 0, top: 0, right: scene.width, bottom: scene.height };
            let is_view = scene.title.contains("seen");
            let frame = if is_view { frame(scene) } else { sheet };
            let below = Area { top: frame.bottom, ..sheet };
            for mark in &scene.marks {
                match mark {
                    Mark::Lines { paths, .. } | Mark::Fill { paths, .. } => {
                        // In the frame; the scale bar below it.
                        let holds = |path: &Path, area: Area| path.places().iter().all(|p| area.has(*p));
                        let out = paths.iter().find(|p| !(holds(p, frame) || is_view && holds(p, below)));
                        assert_eq!(out, None, "{}, {}: {mark:?}", subject.item, scene.title);
                    }
                    Mark::Text(text) => {
                        assert!(sheet.grown(50).holds(text.area()), "{}, {}: {text:?}", subject.item, scene.title);
                        assert!(text.anchor == Anchor::Start || text.field.is_some() || !text.lines.is_empty());
                    }
                }
            }
        }
    }
}

#[test]
fn a_drawing_names_what_is_near_and_marks_the_distance() {
    for subject in steps() {
        let drawing = draw(&subject, Size::USUAL, Words::english()).expect("an arm");
        let fields: Vec<(String, String)> = drawing.fields().map(|f| (f.id, f.text)).collect();
        let near = subject.nearest.as_ref().expect("a nearest pair");
        let marked: Vec<_> = fields.iter().filter(|(id, _)| *id == near.distance.id).collect();
        assert_eq!(marked.len(), 1, "{}: {fields:?}", subject.item);
        assert_eq!(marked[0].1, near.distance.text);
        for body in &near.bodies {
            assert!(fields.iter().any(|(_, text)| text.ends_with(body)), "{}: {body} is not named in {fields:?}", subject.item);
        }
        let mut ids: Vec<&String> = fields.iter().map(|(id, _)| id).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), fields.len(), "{}: an id stands twice", subject.item);
    }
}

/// One line for each element of a drawing: its class, how many paths it holds and of what, or its words.
fn structure(scene: &Scene) -> String {
    let text = svg::file(scene, "");
    let file = roxmltree::Document::parse(&text).expect("well-formed");
    let mut out = String::new();
    for node in file.descendants().filter(|n| n.is_element()) {
        let class = node.attribute("class").unwrap_or("");
        match node.tag_name().name() {
            "path" => {
                let d = node.attribute("d").expect("a path");
                let of = |c: char| d.matches(c).count();
                out.push_str(&format!("{class}: M{} L{} A{} C{} Z{}\n", of('M'), of('L'), of('A'), of('C'), of('Z')));
            }
            "text" => {
                let words: String = node.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect();
                out.push_str(&format!("text {class} {}: {words}\n", node.attribute("data-field").unwrap_or("-")));
            }
            _ => {}
        }
    }
    out
}

#[test]
fn the_same_scene_gives_the_same_structure() {
    let drawing = draw(&scene::subject("f8", "8"), Size::USUAL, Words::english()).expect("an arm");
    for (scene, golden) in
        [(&drawing.views[0], include_str!("figures/plan.txt")), (&drawing.views[1], include_str!("figures/elevation.txt"))]
    {
        assert_eq!(structure(scene), golden, "{}", scene.title);
    }
}

#[test]
fn a_file_stands_alone_and_says_what_it_shows() {
    let drawing = draw(&scene::subject("f8", "8"), Size::USUAL, Words::english()).expect("an arm");
    let file = svg::file(&drawing.views[0], &drawing.description);
    let xml = roxmltree::Document::parse(&file).expect("well-formed");
    let root = xml.root_element();
    assert_eq!((root.attribute("role"), root.attribute("viewBox")), (Some("img"), Some("0 0 85 66")));
    let of = |name: &str| root.children().find(|n| n.has_tag_name(name)).and_then(|n| n.text().map(str::to_owned)).expect("there");
    assert_eq!(of("title"), "PLAN, seen from above");
    assert!(of("desc").contains("at least 79 mm") && of("desc").contains("settling cup"));
    assert!(!file.contains("http://") || file.matches("http://").count() == file.matches("http://www.w3.org/2000/svg").count());
}

/// Writes the pictures into a folder named in the environment, to be looked at.
#[test]
fn pictures() {
    let Ok(folder) = std::env::var("FIGURES") else { return };
    for subject in steps() {
        let drawing = draw(&subject, Size::USUAL, Words::english()).expect("an arm");
        for (name, scene) in [("plan", &drawing.views[0]), ("elevation", &drawing.views[1])] {
            std::fs::write(format!("{folder}/{}-{name}.svg", subject.item), svg::file(scene, &drawing.description)).expect("written");
            std::fs::write(format!("{folder}/{}-{name}.txt", subject.item), structure(scene)).expect("written");
        }
        for (i, scene) in drawing.key.iter().enumerate() {
            std::fs::write(format!("{folder}/{}-key{i}.svg", subject.item), svg::file(scene, "")).expect("written");
        }
    }
}
