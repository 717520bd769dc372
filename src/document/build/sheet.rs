//! Readings that go onto data sheets: they leave their steps, which then name sheet and line.
//!
//! What is done once stands on the first sheet; each pass of a repeat has a sheet of its own. Readings in a branch, in a
//! contingency or in a repeat within a repeat keep the blank at their step: whether they are taken is not known beforehand.

use crate::document::{Act, Band, Block, Entry, Field, Prose, Repeat, SectionKind, Sheet, SignOff};
use crate::model::policy::DataSheets;
use crate::words::{Words, ids};

/// So many readings are gathered on sheets where the policy does not say.
const MANY: usize = 5;

/// Takes the readings out of the blocks; none if there are few and the policy does not ask for it.
pub(super) fn mark(blocks: &mut [Block], policy: Option<DataSheets>, words: &Words) -> Vec<Sheet> {
    let mut count = 0;
    walk(blocks, &mut |block| count += usize::from(!matches!(block, Block::Repeat(_))) + of_repeat(block));
    if count == 0 || !policy.map_or(count >= MANY, |p| p == DataSheets::Always) {
        return Vec::new();
    }
    let mut sheets = Vec::new();
    let mut first = Vec::new();
    walk(blocks, &mut |block| first.extend(entry(block, words)));
    if !first.is_empty() {
        let mut lines = (1..=first.len()).map(|line| words.fill(ids::DATA_WRITE, ["D1", &line.to_string()]));
        walk(blocks, &mut |block| send(block, 1, || lines.next().unwrap_or_default()));
        sheets.push(sheet(1, None, &first));
    }
    walk(blocks, &mut |block| {
        if let Block::Repeat(repeat) = block {
            passes(repeat, &mut sheets, words);
        }
    });
    sheets
}

/// Calls for each reading that is taken once, and for each repeat, in printed order.
fn walk(blocks: &mut [Block], visit: &mut impl FnMut(&mut Block)) {
    for block in blocks {
        match block {
            Block::Section(s) if s.kind == SectionKind::Body => walk(&mut s.blocks, visit),
            Block::Perform(p) => walk(&mut p.blocks, visit),
            Block::Reading(_) | Block::Repeat(_) => visit(block),
            Block::Step(step) if matches!(step.act, Act::Record { .. }) => visit(block),
            _ => {}
        }
    }
}

fn of_repeat(block: &mut Block) -> usize {
    let Block::Repeat(repeat) = block else { return 0 };
    let mut count = 0;
    walk(&mut repeat.blocks, &mut |block| count += usize::from(!matches!(block, Block::Repeat(_))));
    count
}

/// A sheet for each pass of a repeat that takes readings.
fn passes(repeat: &mut Repeat, sheets: &mut Vec<Sheet>, words: &Words) {
    let mut entries = Vec::new();
    walk(&mut repeat.blocks, &mut |block| entries.extend(entry(block, words)));
    if entries.is_empty() {
        return;
    }
    let first = sheets.len() + 1;
    let count = repeat.passes.len();
    for (n, pass) in repeat.passes.iter().enumerate() {
        let of = words.fill(ids::DATA_PASS, [pass, &repeat.number.text]);
        sheets.push(sheet(first + n, Some(of), &entries));
    }
    let (from, to) = (format!("D{first}"), format!("D{}", first + count - 1));
    let mut lines = (1..=entries.len()).map(|line| match count {
        1 => words.fill(ids::DATA_WRITE, [&from, &line.to_string()]),
        _ => words.fill(ids::DATA_WRITE_PASS, [&from, &to, &line.to_string()]),
    });
    walk(&mut repeat.blocks, &mut |block| send(block, first, || lines.next().unwrap_or_default()));
}

/// What a reading puts on a sheet; its ids are given with the sheet.
struct Taken {
    step: String,
    function: String,
    expected: Option<Band>,
    unit: String,
}

fn entry(block: &mut Block, words: &Words) -> Option<Taken> {
    match block {
        Block::Reading(r) => Some(Taken {
            step: r.number.text.clone(),
            function: words.fill(ids::DATA_READ, [&r.quantity.text, &r.instrument.text]),
            expected: Some(r.band.clone()),
            unit: r.unit.clone(),
        }),
        Block::Step(step) => match (&step.act, &step.actual) {
            (Act::Record { name }, Some(actual)) => Some(Taken {
                step: step.number.text.clone(),
                function: words.fill(ids::DATA_RECORD, [&name.text]),
                expected: None,
                unit: actual.unit.clone(),
            }),
            _ => None,
        },
        _ => None,
    }
}

/// Has a step say where its value is written, from which sheet on; the blank and the initials are there.
fn send(block: &mut Block, sheet: usize, words: impl FnOnce() -> String) {
    let lead = |item: &str| Some(Prose::plain(format!("{item}.sheet"), words()).leading(&format!("D{sheet}"), &format!("d{sheet}")));
    match block {
        Block::Reading(r) => r.sheet = lead(&r.item),
        Block::Step(step) if step.actual.is_some() => {
            step.sheet = lead(&step.item);
            (step.actual, step.sign) = (None, SignOff::Tick);
        }
        _ => {}
    }
}

fn sheet(number: usize, pass: Option<String>, taken: &[Taken]) -> Sheet {
    let item = format!("d{number}");
    let entry = |(n, t): (usize, &Taken)| {
        let field = |name: &str, text: &str| Field::new(format!("{item}.l{}.{name}", n + 1), text);
        let expected = t.expected.as_ref().map(|band| match band {
            Band::Between { low, high } => Band::Between { low: field("low", &low.text), high: field("high", &high.text) },
            Band::Below { high } => Band::Below { high: field("high", &high.text) },
            Band::Above { low } => Band::Above { low: field("low", &low.text) },
        });
        Entry { line: n + 1, step: field("step", &t.step), function: field("function", &t.function), expected, unit: t.unit.clone() }
    };
    Sheet {
        name: Field::new(format!("{item}.sheet"), format!("D{number}")),
        pass: pass.map(|words| Prose::plain(format!("{item}.pass"), words)),
        entries: taken.iter().enumerate().map(entry).collect(),
        item,
    }
}
