//! What is written beside charts: names, limits, the worst of each strip and where, numbers of steps. Where their lines run is
//! not seen.

use super::Differences;
use super::evidence::{decimal, percent, signed};
use crate::compiled::Evidence;
use crate::readback::{Item, plain};
use std::collections::BTreeMap;

impl Differences<'_> {
    pub(super) fn charts(&mut self, items: &[Item]) {
        let charts: Vec<&Item> = items.iter().filter(|i| i.id.starts_with("chart")).collect();
        if charts.is_empty() {
            return;
        }
        let wanted = self.strips_wanted();
        let mut missing: BTreeMap<&str, &str> = wanted.iter().map(|(id, text)| (id.as_str(), text.as_str())).collect();
        for (id, seen) in charts.iter().flat_map(|c| &c.values) {
            let number = id.split_once(".of-at").and_then(|(_, n)| n.parse::<usize>().ok()).and_then(|n| n.checked_sub(1));
            let want = match number {
                Some(n) => self.compiled.package.evidence.get(n).map(|e| e.step.as_str()),
                None => missing.remove(id.as_str()),
            };
            match want {
                Some(want) if plain(want) == plain(seen) => {}
                Some(want) => self.list.push(format!("{id} is to read {seen:?} and was checked as {want:?}")),
                None => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
            }
        }
        self.list.extend(missing.into_keys().map(|id| format!("{id} was checked and is not drawn")));
    }

    fn strips_wanted(&self) -> BTreeMap<String, String> {
        let (said, compiled) = (self.said, self.compiled);
        let evidence = &compiled.package.evidence;
        let mut out = BTreeMap::new();
        let mut put = |kind: &str, n: usize, key: &str, text: String| drop(out.insert(format!("chart-{kind}{n}.of-{key}"), text));
        for (j, joint) in compiled.joints.iter().enumerate() {
            let end = |at, above| said.fill("chart.limit", &[("angle", &signed(at, joint.decimals, above))]);
            put("joint", j + 1, "name", joint.engraved.clone());
            put("joint", j + 1, "top", end(joint.high, false));
            put("joint", j + 1, "bottom", end(joint.low, true));
            let rooms = evidence.iter().flat_map(|e| e.driven.iter().filter(|d| d.joint == j).map(move |d| (d.room, &e.step)));
            if let Some((room, step)) = rooms.reduce(|a, b| if b.0 < a.0 { b } else { a }) {
                put("joint", j + 1, "worst", said.fill("chart.room", &[("room", &decimal(room, 1000, 1, false)), ("number", step)]));
            }
        }
        let apart = evidence.iter().filter_map(|e| Some((e.clearance.as_ref()?.least?, &e.step)));
        if let (Some(space), Some((least, step))) = (&compiled.space, apart.reduce(|a, b| if b.0 < a.0 { b } else { a })) {
            put("share", 1, "name", said.say("evidence.apart").to_owned());
            put("share", 1, "top", said.fill("chart.more", &[("length", &decimal(space.margin * 10, 1000, 0, true))]));
            put("share", 1, "bottom", said.fill("chart.wanted", &[("length", &decimal(space.margin, 1000, 0, true))]));
            put("share", 1, "worst", said.fill("chart.apart", &[("length", &decimal(least, 1000, 0, false)), ("number", step)]));
        }
        type Share = fn(&Evidence) -> Option<[i64; 2]>;
        let kinds: [(&str, Share); 4] = [
            ("evidence.holds", |e| e.grip.as_ref().map(|g| [g.needed, g.available])),
            ("evidence.crushes", |e| e.grip.as_ref().and_then(|g| Some([g.presses, g.bears?]))),
            ("evidence.leans", |e| e.tilt.and_then(|t| Some([t.reached, t.limit?]))),
            ("chart.drive", |e| e.drive.map(|d| [d.needed, d.available])),
        ];
        for (n, (name, share)) in kinds.iter().enumerate().map(|(n, kind)| (n + 2, kind)) {
            // The first of those that use most, in millionths.
            let used =
                |[value, limit]: [i64; 2]| (i128::from(value.max(0)) * 1_000_000 + i128::from(limit) - 1).checked_div(i128::from(limit));
            let all = evidence.iter().filter_map(|e| Some((share(e)?, &e.step)));
            let Some(([value, limit], step)) = all.reduce(|a, b| if used(b.0) > used(a.0) { b } else { a }) else { continue };
            put("share", n, "name", said.say(name).to_owned());
            put("share", n, "top", said.say("chart.allowed").to_owned());
            put("share", n, "bottom", "0 %".to_owned());
            put("share", n, "worst", said.fill("chart.used", &[("percent", &percent(value, limit)), ("number", step)]));
        }
        out
    }
}
