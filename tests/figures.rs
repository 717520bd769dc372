//! Figures: silhouettes, labels, frames, and what is read back out of them.

#[path = "figures/posed.rs"]
mod posed;

use posed::Bay;
use surehand::document::figure::draw;
use surehand::emit::svg;

/// Steps of the worked procedures and what is held in them.
fn steps(bay: &Bay) -> Vec<surehand::document::figure::Subject> {
    vec![
        bay.step("18", [-75.0, 55.0, -60.0, 40.0, 0.0], [-75.0, 36.0, -60.0, 40.0, 0.0], None, Some("window-1")),
        bay.step("25", [-75.0, 36.0, -60.0, 24.0, 0.0], [-75.0, 24.0, -60.0, 40.0, 0.0], None, Some("camera-1")),
        bay.step("31", [-75.0, 20.0, -60.0, 40.0, 0.0], [-75.0, 23.0, -60.0, 40.0, 0.0], Some("spent-cartridge"), Some("camera-1")),
        bay.step("40", [-75.0, 36.0, -60.0, 24.0, 0.0], [-35.0, 36.0, -60.0, 24.0, 0.0], Some("spent-cartridge"), Some("window-1")),
        bay.step("41", [-35.0, 36.0, -60.0, 24.0, 0.0], [-35.0, 20.0, -60.0, 40.0, 0.0], Some("spent-cartridge"), Some("camera-1")),
        bay.step("52", [42.0, 40.0, -65.0, 25.0, 0.0], [42.0, 25.0, -65.0, 40.0, 0.0], None, Some("window-2")),
        bay.step("60", [0.0, 75.0, -130.0, 0.0, 0.0], [0.0, 75.0, -95.0, 0.0, 0.0], None, None),
        bay.step("61", [5.0, 45.0, -75.0, 30.0, 0.0], [5.0, 30.0, -75.0, 45.0, 0.0], Some("sample-pot"), Some("window-2")),
    ]
}

/// Writes the pictures into a folder named in the environment, to be looked at.
#[test]
fn pictures() {
    let Ok(folder) = std::env::var("FIGURES") else { return };
    let bay = Bay::new();
    for subject in steps(&bay) {
        let t = std::time::Instant::now();
        let drawing = draw(&subject).expect("an arm");
        eprintln!("{} {:?}", subject.item, t.elapsed());
        for (name, scene) in [("plan", &drawing.plan), ("elevation", &drawing.elevation)] {
            std::fs::write(format!("{folder}/{}-{name}.svg", subject.item), svg::file(scene, &drawing.description)).expect("written");
        }
        for (i, scene) in drawing.key.iter().enumerate() {
            std::fs::write(format!("{folder}/{}-key{i}.svg", subject.item), svg::file(scene, "")).expect("written");
        }
    }
}
