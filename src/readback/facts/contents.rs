//! The contents: every section, contingency, hold and witness point that is printed, under its own words, and nothing else.

use super::{Differences, bare};
use crate::compiled::Act;
use crate::readback::{Item, plain};
use std::collections::BTreeMap;

impl Differences<'_> {
    pub(super) fn contents(&mut self, items: &[Item]) {
        let Some(item) = items.iter().find(|i| i.id == "contents") else { return };
        let said = self.said;
        let mut wanted: BTreeMap<String, String> = BTreeMap::new();
        let (mut holds, mut witnessed) = (0, 0);
        for step in &self.compiled.steps {
            let (id, name, role) = match &step.act {
                Act::HoldPoint { role } => {
                    holds += 1;
                    ("contents.hold", format!("H{holds}"), role)
                }
                Act::WitnessPoint { role } => {
                    witnessed += 1;
                    ("contents.witness", format!("W{witnessed}"), role)
                }
                _ => continue,
            };
            wanted.insert(format!("s{}", step.number), said.fill(id, &[("name", &name), ("number", &step.number), ("role", role)]));
        }
        for step in self.compiled.steps.iter().filter(|s| s.number.starts_with('C')) {
            let Some((name, _)) = step.number.split_once('.') else { continue };
            // Its first step stands in it; later ones may stand in a section that it performs.
            let words = || said.fill("contents.contingency", &[("number", name), ("title", &bare(&step.section))]);
            wanted.entry(name.to_owned()).or_insert_with(words);
        }
        for (part, id) in [
            ("record", "page.record"),
            ("start", "page.start"),
            ("training", "training.title"),
            ("plan", "plan.title"),
            ("power", "page.power"),
            ("after", "page.after"),
            ("package", "page.package"),
            ("evidence", "evidence.title"),
            ("safety", "page.safety"),
            ("review", "page.review"),
        ] {
            if items.iter().any(|i| i.id == part) {
                wanted.insert(part.to_owned(), said.say(id).to_owned());
            }
        }
        if items.iter().any(|i| i.id == "card") {
            wanted.insert("card".to_owned(), self.card_title());
        }
        let changes = items.iter().find(|i| i.id == "changes");
        if let Some((_, since)) = changes.and_then(|i| i.values.iter().find(|(id, _)| id == "changes.since")) {
            wanted.insert("changes".to_owned(), said.fill("change.title", &[("since", since)]));
        }
        let charts: Vec<&Item> = items.iter().filter(|i| i.id.starts_with("chart")).collect();
        for chart in &charts {
            let joints = chart.values.iter().any(|(id, _)| id.starts_with("chart-joint"));
            wanted.insert(chart.id.clone(), said.say(if joints { "chart.joints" } else { "chart.shares" }).to_owned());
        }
        for sheet in items {
            if let Some((_, name)) = sheet.values.iter().find(|(id, _)| *id == format!("{}.sheet", sheet.id) && sheet.id.starts_with('d')) {
                wanted.insert(sheet.id.clone(), said.fill("data.title", &[("name", name)]));
            }
        }
        for (id, seen) in &item.values {
            let to = id.strip_prefix("contents.to-").unwrap_or_default();
            // A section of the body is named by its own heading.
            let heading = || {
                let own = items.iter().find(|i| i.id == to)?;
                own.values.iter().find(|(id, _)| *id == format!("{to}.heading")).map(|(_, text)| text.clone())
            };
            match wanted.remove(to).or_else(heading) {
                Some(want) if plain(&want) == plain(seen) => {}
                Some(want) => self.list.push(format!("{id} is to read {seen:?} and was checked as {want:?}")),
                None => self.list.push(format!("{id} is to read {seen:?} and leads nowhere")),
            }
        }
        self.list.extend(wanted.into_keys().map(|to| format!("contents.to-{to} is not among the contents")));
    }
}
