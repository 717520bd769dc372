//! What is written beside the drawings of held loads: names, sizes in whole millimetres, the grip. Outlines are not seen.

use super::Differences;
use super::evidence::decimal;
use crate::readback::Item;
use std::collections::BTreeMap;

impl Differences<'_> {
    pub(super) fn sketches(&mut self, items: &[Item]) {
        if !items.iter().any(|i| i.id == "package") {
            return;
        }
        let said = self.said;
        let mm = |um: i64| format!("{} mm", decimal(um + 500, 1000, 0, false));
        let mut wanted: BTreeMap<String, String> = BTreeMap::new();
        for (n, lift) in (1..).zip(&self.compiled.package.lifts) {
            let Some(sketch) = &lift.sketch else { continue };
            let mut put = |key: &str, text: String| drop(wanted.insert(format!("sketch{n}.of-{key}"), text));
            put("name", lift.title.clone());
            for (key, [low, high]) in ["ahead", "across", "up"].into_iter().zip(sketch.reaches) {
                put(key, mm(high - low));
            }
            let [foot, top] = sketch.reaches[2];
            if top > 0 {
                put("above", mm(top));
            }
            if foot < 0 {
                put("below", mm(-foot));
            }
            put("grip", said.fill("sketch.pads", &[("length", &mm(sketch.grip))]));
            put("centre", said.say(if sketch.centre { "sketch.centre" } else { "sketch.no-centre" }).to_owned());
        }
        self.held_to(items.iter().filter(|i| i.id.starts_with("sketch")).flat_map(|i| &i.values), wanted);
    }
}
