//! What is where: sections, hold points, contingencies and what stands beside the steps, each with the way to it.

use super::Basis;
use crate::document::{Block, Contents, Document, Prose, SectionKind, Span};
use crate::words::Words;
use crate::words::ids;

/// A print of fewer numbered rows is read at a glance, unless a package stands behind it.
const FEW: usize = 20;

/// The contents of a document; none of a short one.
pub(super) fn contents(document: &Document, basis: &Basis<'_>) -> Option<Contents> {
    let words = basis.words();
    let mut out = Walk { words, rows: 0, entries: Vec::new() };
    if let Some(changes) = &document.changes {
        out.put(changes.item, basis.by_id("change.title", &[("since", &changes.since.text)]).unwrap_or_default());
    }
    out.put("record", words.say(ids::PAGE_RECORD).to_owned());
    if let Some(training) = &document.training {
        out.put(training.item, words.say(ids::TRAINING_TITLE).to_owned());
    }
    if let Some(plan) = &document.plan {
        out.put(&plan.item, plan.title.clone());
    }
    if let Some(console) = &document.console {
        out.put(console.item, console.title.text.clone());
    }
    out.put("start", words.say(ids::PAGE_START).to_owned());
    out.blocks(&document.blocks, true);
    if let Some(power) = &document.power {
        out.put(power.item, words.say(ids::PAGE_POWER).to_owned());
    }
    if let Some(after) = &document.after {
        out.put(after.item, words.say(ids::PAGE_AFTER).to_owned());
    }
    for sheet in &document.sheets {
        out.put(&sheet.item, basis.by_id("data.title", &[("name", &sheet.name.text)]).unwrap_or_default());
    }
    if let Some(package) = &document.package {
        out.put(package.item, words.say(ids::PAGE_PACKAGE).to_owned());
        for chart in &package.charts {
            out.put(&chart.item, chart.title.clone());
        }
        if let Some(evidence) = &package.evidence {
            out.put(evidence.item, evidence.heading.clone());
        }
    }
    if let Some(summary) = &document.summary {
        out.put(summary.item, words.say(ids::PAGE_SAFETY).to_owned());
    }
    if let Some(review) = &document.review {
        out.put(review.item, words.say(ids::PAGE_REVIEW).to_owned());
    }
    let wanted = out.rows >= FEW || document.package.is_some();
    wanted.then_some(Contents { item: "contents", lines: out.entries })
}

struct Walk<'w> {
    words: &'w Words,
    rows: usize,
    entries: Vec<Prose>,
}

impl Walk<'_> {
    fn put(&mut self, to: &str, text: String) {
        self.entries.push(Prose { id: format!("contents.to-{to}"), spans: vec![Span::Link { text, to: to.to_owned() }] });
    }

    /// Sections of the procedure itself, and every hold and witness point.
    fn blocks(&mut self, blocks: &[Block], outer: bool) {
        for block in blocks {
            match block {
                Block::Section(s) => {
                    match &s.kind {
                        SectionKind::Contingency { number, .. } => {
                            let text = self.words.fill(ids::CONTENTS_CONTINGENCY, [&number.text, &s.heading.text()]);
                            self.put(&s.item, text);
                        }
                        SectionKind::Body if outer => self.put(&s.item, s.heading.text()),
                        SectionKind::Body => {}
                    }
                    self.blocks(&s.blocks, outer);
                }
                Block::Hold(hold) => {
                    self.rows += 1;
                    let entry = if hold.witness { ids::CONTENTS_WITNESS } else { ids::CONTENTS_HOLD };
                    self.put(&hold.item, self.words.fill(entry, [&hold.name.text, &hold.number.text, &hold.role.text]));
                }
                Block::Condition(c) => c.arms.iter().for_each(|arm| self.blocks(&arm.blocks, false)),
                Block::Repeat(r) => self.blocks(&r.blocks, false),
                Block::Perform(p) => self.blocks(&p.blocks, false),
                Block::Checks(_) | Block::Strip(_) | Block::Alert(_) | Block::Text { .. } | Block::Table(_) | Block::Figure(_) => {}
                Block::Step(_) | Block::Verify(_) | Block::Reading(_) | Block::Wait(_) | Block::Turnover(_) => self.rows += 1,
            }
        }
    }
}
