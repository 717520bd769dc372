//! The ways a station may be beside its place, as people say them who look from the arm's mount.

use super::Cell;
use crate::model::StationId;
use crate::model::solid::um;
use crate::units::Length;

/// Level or plumb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Plane {
    /// Any level way.
    Level,
    /// Up or down.
    Plumb,
}

/// One way.
#[derive(Clone, Debug, PartialEq)]
pub struct Shift {
    /// In words: "nearer".
    pub words: &'static str,
    /// A unit direction in the cell.
    direction: [f64; 3],
}

/// Eight level ways: how much away from the mount and how much to the left each goes.
const LEVEL: [(&str, f64, f64); 8] = [
    ("nearer", -1.0, 0.0),
    ("farther", 1.0, 0.0),
    ("to the left", 0.0, 1.0),
    ("to the right", 0.0, -1.0),
    ("nearer and to the left", -1.0, 1.0),
    ("nearer and to the right", -1.0, -1.0),
    ("farther and to the left", 1.0, 1.0),
    ("farther and to the right", 1.0, -1.0),
];

impl Shift {
    /// The ways of a plane that a station may be beside its place.
    pub(super) fn all(cell: &Cell, station: StationId, plane: Plane) -> Vec<Shift> {
        if plane == Plane::Plumb {
            return vec![Shift { words: "lower", direction: [0.0, 0.0, -1.0] }, Shift { words: "higher", direction: [0.0, 0.0, 1.0] }];
        }
        let mount = cell.mount.as_ref().map_or([0; 3], |m| um(m.position));
        let place = cell.stations[station.at()].position.map_or([0; 3], um);
        let [x, y] = [0, 1].map(|k| (place[k] - mount[k]) as f64);
        let far = (x * x + y * y).sqrt();
        // Right above the mount no way is nearer; the axes of the cell serve.
        let away = if far > 0.0 { [x / far, y / far] } else { [1.0, 0.0] };
        let way = |(words, out, left): (&'static str, f64, f64)| {
            let [x, y] = [out * away[0] - left * away[1], out * away[1] + left * away[0]];
            let long = (x * x + y * y).sqrt();
            Shift { words, direction: [x / long, y / long, 0.0] }
        };
        LEVEL.into_iter().map(way).collect()
    }

    /// So many micrometres that way.
    #[must_use]
    pub fn by(&self, amount: i64) -> [i64; 3] {
        self.direction.map(|d| (d * amount as f64).round() as i64)
    }
}

/// `by` micrometres from one point towards another, each coordinate rounded away from zero: never less.
pub(super) fn along(from: [Length; 3], to: [Length; 3], by: i64) -> [i64; 3] {
    let d = [0, 1, 2].map(|k| (to[k].0 - from[k].0) as f64);
    let long = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
    d.map(|d| {
        let out = d / long * by as f64;
        (if out < 0.0 { out.floor() } else { out.ceil() }) as i64
    })
}
