//! Held loads, drawn.

use super::Basis;
use crate::document::evidence::Chart;
use crate::document::figure::console::Value;
use crate::document::figure::sketch::{Load, Notes, sketch};
use crate::geometry::metres;
use crate::model::LoadId;
use crate::model::solid::um;
use crate::space::reach::taken;
use crate::units::{Round, shown};
use crate::words::ids;
use std::sync::Arc;

impl Basis<'_> {
    /// A drawing of each load of the lift data that has a shape; none in an edition that is not for reviewers.
    pub(super) fn sketches(&self) -> Vec<Chart> {
        let (Some(compiled), Ok(scene)) = (self.sources.compiled.filter(|_| self.sources.edition.is_reviewed()), &self.survey.scene) else {
            return Vec::new();
        };
        let (p, words) = (self.procedure, self.words());
        let one = |(n, lift): (usize, &crate::compiled::Lift)| {
            let of = lift.sketch.as_ref()?;
            let at = p.cell.loads.iter().position(|l| l.name.value == lift.name)?;
            let (id, load) = (LoadId(u16::try_from(at).ok()?), &p.cell.loads[at]);
            let taken = taken(scene, p, id)?.ok()?;
            let item = format!("sketch{n}");
            let value = |key: &str, words: String| Value { id: format!("{item}.of-{key}"), words };
            let size = |key: &str, um: i64| value(key, millimetres(um));
            let [ahead, across, up] = of.reaches;
            let notes = Notes {
                name: value("name", lift.title.clone()),
                sizes: [("ahead", ahead), ("across", across), ("up", up)].map(|(key, [low, high])| size(key, high - low)),
                above: (up[1] > 0).then(|| size("above", up[1])),
                below: (up[0] < 0).then(|| size("below", -up[0])),
                pads: value("grip", words.fill(ids::SKETCH_PADS, [&millimetres(of.grip)])),
                centre: value("centre", words.say(if of.centre { ids::SKETCH_CENTRE } else { ids::SKETCH_NO_CENTRE }).to_owned()),
            };
            let (closing, grip) = (taken.closing, load.grip_width.value.0 as f64 / 1e6);
            let centre = load.centre.map(|c| metres(um(c)));
            let drawn = Load { solids: &taken.solids, ahead: taken.ahead, up: taken.up, closing, grip, centre };
            let drawing = Arc::new(sketch(&drawn, &notes, words)?);
            Some(Chart { item, title: lift.title.clone(), about: words.fill(ids::SKETCH_SHOWS, [&lift.title]), drawing })
        };
        (1..).zip(&compiled.package.lifts).filter_map(one).collect()
    }
}

/// To the nearest whole millimetre.
fn millimetres(um: i64) -> String {
    format!("{} mm", shown(um + 500, 1000, 0, Round::Down))
}
