//! What is written beside the drawings of held loads: names, sizes in whole millimetres, the grip. Outlines are not seen.

use super::Differences;
use super::evidence::decimal;
use crate::readback::{Item, plain};
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
        for (id, seen) in items.iter().filter(|i| i.id.starts_with("sketch")).flat_map(|i| &i.values) {
            match wanted.remove(id) {
                Some(want) if plain(&want) == plain(seen) => {}
                Some(want) => self.list.push(format!("{id} is to read {seen:?} and was checked as {want:?}")),
                None => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
            }
        }
        self.list.extend(wanted.into_keys().map(|id| format!("{id} was checked and is not drawn")));
    }
}
