//! What was worked out over the steps as charts: each joint within its limits; clearance, grip, tilt and drive against theirs.

use super::Basis;
use super::evidence::angle;
use crate::compiled::{self, Compiled, Evidence};
use crate::document::evidence::Chart;
use crate::document::figure::Drawing;
use crate::document::figure::chart::{Strip, chart};
use crate::document::figure::console::Value;
use crate::units::{Round, shown};
use crate::words::Words;
use crate::words::ids::{self, Entry};
use std::sync::Arc;

/// The upper edge of the strip of clearances, as a multiple of what is wanted.
const MOST: i64 = 10;
/// Strips of one chart: so many have room on a sheet with a margin to write in.
const STRIPS: usize = 5;

impl Basis<'_> {
    /// The charts; none in an edition that is not for reviewers.
    pub(super) fn charts(&self) -> Vec<Chart> {
        let Some(compiled) = self.sources.compiled.filter(|c| self.sources.edition.is_reviewed() && !c.package.evidence.is_empty()) else {
            return Vec::new();
        };
        let (words, evidence) = (self.words(), &compiled.package.evidence);
        let one = |n: usize, heading: Entry<0>, strips: &[Strip]| {
            let item = format!("chart{n}");
            let title = words.say(heading).to_owned();
            let steps: Vec<Value> =
                (1..).zip(evidence).map(|(i, e)| Value { id: format!("{item}.of-at{i}"), words: e.step.clone() }).collect();
            let scene = chart(&title, strips, &steps);
            let drawing = Arc::new(Drawing { views: vec![scene], key: Vec::new(), description: title.clone() });
            Chart { item, title, about: words.say(ids::CHART_ABOUT).to_owned(), drawing }
        };
        let (joints, shares) = (joints(compiled, words), shares(compiled, words));
        let sets = joints.chunks(STRIPS).map(|strips| (ids::CHART_JOINTS, strips)).chain([(ids::CHART_SHARES, shares.as_slice())]);
        (1..).zip(sets).map(|(n, (heading, strips))| one(n, heading, strips)).collect()
    }
}

fn value(kind: &str, strip: usize, key: &str, words: String) -> Value {
    Value { id: format!("chart-{kind}{strip}.of-{key}"), words }
}

/// Each joint over the steps: wherever it can be before, on the way and behind.
fn joints(compiled: &Compiled, words: &Words) -> Vec<Strip> {
    let evidence = &compiled.package.evidence;
    let one = |(n, (j, joint)): (usize, (usize, &compiled::Joint))| {
        let (low, high) = (joint.low, joint.high);
        let share = |a: i64| (a - low) as f64 / ((high - low).max(1)) as f64;
        let bar = |e: &Evidence| {
            let step = compiled.steps.iter().find(|s| s.number == e.step)?;
            let read = step.before.iter().chain(&step.after).filter_map(|s| s.joints.get(j));
            read.map(|r| [r.low - joint.hold, r.high + joint.hold]).reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]).map(|b| b.map(share))
        };
        let rooms = |e: &Evidence| e.driven.iter().filter(|d| d.joint == j).map(|d| d.room).min();
        let least = evidence.iter().filter_map(|e| Some((rooms(e)?, e))).reduce(|a, b| if b.0 < a.0 { b } else { a });
        let end = |key: &str, at: i64, round| value("joint", n, key, words.fill(ids::CHART_LIMIT, [&angle(at, joint.decimals, round)]));
        Strip {
            name: value("joint", n, "name", joint.engraved.clone()),
            top: end("top", high, Round::Down),
            bottom: end("bottom", low, Round::Up),
            worst: least
                .map(|(room, e)| value("joint", n, "worst", words.fill(ids::CHART_ROOM, [&shown(room, 1000, 1, Round::Down), &e.step]))),
            bars: evidence.iter().map(bar).collect(),
            marked: evidence.iter().map(|e| least.is_some_and(|(_, worst)| worst.step == e.step)).collect(),
            line: None,
        }
    };
    (1..).zip(compiled.joints.iter().enumerate()).map(one).collect()
}

/// Clearance against what is wanted; grip, crushing, tilt and drive as shares of what is allowed.
fn shares(compiled: &Compiled, words: &Words) -> Vec<Strip> {
    let evidence = &compiled.package.evidence;
    let first = |used: &dyn Fn(&Evidence) -> Option<i64>| {
        let all = evidence.iter().filter_map(|e| Some((used(e)?, e)));
        all.reduce(|a, b| if b.0 > a.0 { b } else { a })
    };
    let mut out = Vec::new();
    let apart = |e: &Evidence| e.clearance.as_ref()?.least;
    let wanted = compiled.space.as_ref().map_or(0, |s| s.margin);
    if wanted > 0 && evidence.iter().any(|e| apart(e).is_some()) {
        let top = wanted * MOST;
        let least = first(&|e| apart(e).map(|a| -a));
        out.push(Strip {
            name: value("share", 1, "name", words.say(ids::EVIDENCE_APART).to_owned()),
            top: value("share", 1, "top", words.fill(ids::CHART_MORE, [&shown(top, 1000, 0, Round::Up)])),
            bottom: value("share", 1, "bottom", words.fill(ids::CHART_WANTED, [&shown(wanted, 1000, 0, Round::Up)])),
            worst: least
                .map(|(a, e)| value("share", 1, "worst", words.fill(ids::CHART_APART, [&shown(-a, 1000, 0, Round::Down), &e.step]))),
            bars: evidence.iter().map(|e| apart(e).map(|a| [0.0, a as f64 / top as f64])).collect(),
            marked: evidence.iter().map(|e| least.is_some_and(|(_, worst)| worst.step == e.step)).collect(),
            line: Some(1.0 / MOST as f64),
        });
    }
    type Used = fn(&Evidence) -> Option<i64>;
    let kinds: [(Entry<0>, Used); 4] = [
        (ids::EVIDENCE_HOLDS, |e| e.grip.as_ref().map(|g| compiled::used(g.needed, g.available))),
        (ids::EVIDENCE_CRUSHES, |e| e.grip.as_ref().and_then(|g| Some(compiled::used(g.presses, g.bears?)))),
        (ids::EVIDENCE_LEANS, |e| e.tilt.and_then(|t| Some(compiled::used(t.reached, t.limit?)))),
        (ids::CHART_DRIVE, |e| e.drive.map(|d| compiled::used(d.needed, d.available))),
    ];
    for (n, (name, used)) in (2..).zip(kinds) {
        let Some((most, at)) = first(&used) else { continue };
        out.push(Strip {
            name: value("share", n, "name", words.say(name).to_owned()),
            top: value("share", n, "top", words.say(ids::CHART_ALLOWED).to_owned()),
            bottom: value("share", n, "bottom", "0 %".to_owned()),
            worst: Some(value("share", n, "worst", words.fill(ids::CHART_USED, [&shown(most, 10_000, 0, Round::Up), &at.step]))),
            bars: evidence.iter().map(|e| used(e).map(|u| [0.0, u as f64 / 1e6])).collect(),
            marked: evidence.iter().map(|e| e.step == at.step).collect(),
            line: None,
        });
    }
    out
}
