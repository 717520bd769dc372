//! What must be printed against what a template did print: every item once and in order, every value with its exact text,
//! in its place among the others.

mod binding;

use super::rules;
use crate::diag::Rule;
use crate::words::Words;
use minijinja::Value;
use minijinja::value::ValueKind;
use rustc_hash::{FxHashMap, FxHashSet};

/// What a template printed, in output order.
#[derive(Debug, Default)]
pub(super) struct Ledger {
    items: Vec<FoundItem>,
    fields: Vec<FoundField>,
    open: Vec<usize>,
}

#[derive(Debug)]
struct FoundItem {
    id: String,
    at: usize,
    sign: bool,
    actual: bool,
    ticks: usize,
    blanks: usize,
}

#[derive(Debug)]
struct FoundField {
    item: Option<usize>,
    id: String,
    text: String,
    at: usize,
}

impl Ledger {
    pub(super) fn open(&mut self, id: &str, at: usize) {
        self.open.push(self.items.len());
        self.items.push(FoundItem { id: id.to_owned(), at, sign: false, actual: false, ticks: 0, blanks: 0 });
    }

    /// Adds what was noted of what comes next.
    pub(super) fn append(&mut self, next: Ledger) {
        let count = self.items.len();
        self.items.extend(next.items);
        self.fields.extend(next.fields.into_iter().map(|f| FoundField { item: f.item.map(|i| i + count), ..f }));
    }

    /// Notes a box to tick in the item being read.
    pub(super) fn tick(&mut self) {
        if let Some(item) = self.open.last().and_then(|i| self.items.get_mut(*i)) {
            item.ticks += 1;
        }
    }

    /// Notes places to write in, in a table or beside the number of the item being read.
    pub(super) fn blanks(&mut self, count: usize) {
        if let Some(item) = self.open.last().and_then(|i| self.items.get_mut(*i)) {
            item.blanks += count;
        }
    }

    pub(super) fn close(&mut self) {
        self.open.pop();
    }

    /// Notes whether the item just read has places for sign-off and actual value.
    pub(super) fn places_to_fill(&mut self, sign: bool, actual: bool) {
        if let Some(item) = self.open.last().and_then(|i| self.items.get_mut(*i)) {
            item.sign |= sign;
            item.actual |= actual;
        }
    }

    pub(super) fn field(&mut self, id: &str, text: String, at: usize) {
        self.fields.push(FoundField { item: self.open.last().copied(), id: id.to_owned(), text, at });
    }
}

/// What a document demands of its print.
#[derive(Debug, Default)]
pub(super) struct Demand {
    items: Vec<WantedItem>,
}

#[derive(Debug, Default)]
struct WantedItem {
    id: String,
    number: Option<String>,
    sign: bool,
    actual: bool,
    /// Least number of boxes to tick.
    ticks: usize,
    /// Least number of places to write in, in its tables or beside its number.
    blanks: usize,
    fields: Vec<(String, String)>,
}

impl Demand {
    /// Reads the demand off what templates are given of the document, so that no new kind of block can be forgotten here:
    /// an object with an `item` is an item; one with an `id` and a text or spans is a value.
    /// `parts` are the keys of the document behind its identity, in printed order.
    pub(super) fn of(document: &Value, stamp: &Value, parts: &[&str]) -> Demand {
        let mut out = Demand::default();
        let header = out.item(WantedItem { id: "header".to_owned(), ..WantedItem::default() });
        out.visit(&at(document, "identity"), header);
        out.visit(stamp, header);
        for part in parts {
            out.visit(&at(document, part), header);
        }
        out
    }

    /// Ids and texts of all values, by item.
    pub(super) fn values(self) -> Vec<(String, Vec<(String, String)>)> {
        self.items.into_iter().map(|i| (i.id, i.fields)).collect()
    }

    fn item(&mut self, item: WantedItem) -> usize {
        self.items.push(item);
        self.items.len() - 1
    }

    fn visit(&mut self, value: &Value, inside: usize) {
        match value.kind() {
            ValueKind::Seq => each(value).for_each(|v| self.visit(&v, inside)),
            ValueKind::Map => {
                if let Some(id) = at(value, "id").as_str()
                    && let Some(text) = text(value)
                {
                    self.items[inside].fields.push((id.to_owned(), text));
                    return;
                }
                let inside = match at(value, "item").as_str() {
                    Some(id) => self.item(WantedItem::of(id, value)),
                    None => inside,
                };
                // Own values first, nested blocks after: the order in which they are printed.
                let entries = value.as_object().and_then(|o| o.try_iter_pairs()).into_iter().flatten();
                let mut entries: Vec<(Value, Value)> = entries.filter(|(_, v)| v.as_object().is_some()).collect();
                entries.sort_by(|(a, _), (b, _)| order(a).cmp(&order(b)));
                entries.iter().for_each(|(_, v)| self.visit(v, inside));
            }
            _ => {}
        }
    }
}

impl WantedItem {
    fn of(id: &str, item: &Value) -> WantedItem {
        let block = at(item, "block");
        let block = block.as_str().unwrap_or_default();
        let sign = matches!(block, "step" | "hold" | "verify" | "reading" | "wait" | "condition" | "turnover" | "repeat" | "perform");
        let has = |key: &str| matches!(at(item, key), v if !v.is_none() && !v.is_undefined());
        let length = |key: &str| Some(at(item, key)).filter(|list| list.kind() == ValueKind::Seq).and_then(|list| list.len()).unwrap_or(0);
        // Each check, expected read-out, place of a load and tap has a box of its own; a branch has one for taken and one for N/A.
        let boxes = ["checks", "readouts", "places", "taps"].into_iter().map(length).sum::<usize>();
        WantedItem {
            id: id.to_owned(),
            number: text(&at(item, "number")),
            sign: sign && !has("taught"),
            actual: has("actual") || block == "reading" && !has("sheet"),
            ticks: boxes + if at(item, "holds").is_undefined() { 0 } else { 2 },
            // Each entry of a data sheet has room for value and initials, and a step without a reason for that.
            blanks: 2 * length("entries") + usize::from(has("no_reason")),
            fields: Vec::new(),
        }
    }
}

/// Where a key of an item stands among the others: nested blocks behind all, and where one joint waits behind both moves.
fn order(key: &Value) -> (bool, &str) {
    let key = key.as_str().unwrap_or_default();
    (matches!(key, "blocks" | "arms" | "gates"), key)
}

/// What stands at a key; undefined where nothing does.
fn at(value: &Value, key: &str) -> Value {
    value.get_attr(key).unwrap_or_default()
}

/// The entries of a list.
fn each(list: &Value) -> impl Iterator<Item = Value> {
    list.try_iter().into_iter().flatten()
}

/// The words of a value: its text, or those of its spans; none if it is no value.
fn text(value: &Value) -> Option<String> {
    if let Some(text) = at(value, "text").as_str() {
        return Some(text.to_owned());
    }
    let spans = at(value, "spans");
    (!spans.is_undefined()).then(|| each(&spans).filter_map(|span| at(&span, "text").as_str().map(str::to_owned)).collect())
}

/// One way in which a print fails its document.
#[derive(Debug)]
pub(super) struct Failure {
    /// The rule it breaks.
    pub rule: &'static Rule,
    /// Offset in the templates' output, where the nearest item stands.
    pub at: usize,
    /// What is wrong.
    pub what: String,
    /// The step's number, where there is one.
    pub step: Option<String>,
}

/// Compares what was printed with what must be; `output` is what the templates wrote.
pub(super) fn compare(demand: &Demand, ledger: &Ledger, output: &str, words: &Words) -> Vec<Failure> {
    let (mut failures, misplaced) = rayon::join(|| differing(demand, ledger), || binding::misplaced(demand, ledger, output, words));
    failures.extend(misplaced);
    failures
}

/// What is missing, added, altered, or out of order.
fn differing(demand: &Demand, ledger: &Ledger) -> Vec<Failure> {
    let mut failures = Vec::new();
    let mut found: FxHashMap<&str, Vec<usize>> = FxHashMap::default();
    for (i, item) in ledger.items.iter().enumerate() {
        found.entry(if item.id == "footer" { "header" } else { &item.id }).or_default().push(i);
    }
    let mut fields: FxHashMap<(usize, &str), &FoundField> = FxHashMap::default();
    for field in &ledger.fields {
        fields.insert((field.item.unwrap_or(usize::MAX), &field.id), field);
    }
    let mut texts: FxHashMap<&str, &str> = FxHashMap::default();
    let mut last = (0, "header");
    for want in &demand.items {
        texts.extend(want.fields.iter().map(|(id, text)| (id.as_str(), text.as_str())));
        let step = want.number.clone();
        let name = step.as_ref().map_or_else(|| want.id.clone(), |n| format!("{} (step {n})", want.id));
        let mut fail = |rule, at, what| failures.push(Failure { rule, at, what, step: step.clone() });
        let places = found.get(want.id.as_str()).map_or(&[][..], Vec::as_slice);
        let header = want.id == "header";
        let Some(first) = places.first().and_then(|i| ledger.items.get(*i)) else {
            fail(&rules::DROPS_ITEM, last.0, format!("the templates print no {name}; after {} it is missing", last.1));
            continue;
        };
        if let (false, Some(second)) = (header, places.get(1).and_then(|i| ledger.items.get(*i))) {
            fail(&rules::REPEATS_ITEM, second.at, format!("the templates print {name} more than once"));
        }
        if !header && first.at < last.0 {
            fail(&rules::REORDERS, first.at, format!("the templates print {name} before {}, which comes first in the procedure", last.1));
        }
        if want.sign && !first.sign {
            fail(&rules::DROPS_BLANK, first.at, format!("{name} is printed without a place for its sign-off"));
        }
        if want.actual && !first.actual {
            fail(&rules::DROPS_BLANK, first.at, format!("{name} is printed without a blank for its actual value"));
        }
        if first.ticks < want.ticks {
            fail(&rules::DROPS_BLANK, first.at, format!("{name} is printed with {} boxes to tick and needs {}", first.ticks, want.ticks));
        }
        if first.blanks < want.blanks {
            fail(
                &rules::DROPS_BLANK,
                first.at,
                format!("{name} is printed with {} places to write in and needs {}", first.blanks, want.blanks),
            );
        }
        for (id, _) in &want.fields {
            if !places.iter().any(|place| fields.contains_key(&(*place, id.as_str()))) {
                fail(&rules::DROPS_FIELD, first.at, format!("{name} is printed without its value {id}"));
            }
        }
        if !header {
            last = (first.at, &want.id);
        }
    }
    let wanted: FxHashSet<&str> = demand.items.iter().map(|w| w.id.as_str()).collect();
    for item in &ledger.items {
        if item.id != "footer" && !wanted.contains(item.id.as_str()) {
            failures.push(Failure {
                rule: &rules::ADDS_ITEM,
                at: item.at,
                what: format!("the templates print an item {:?} which is not in the procedure", item.id),
                step: None,
            });
        }
    }
    for field in &ledger.fields {
        match texts.get(field.id.as_str()) {
            None => failures.push(Failure {
                rule: &rules::ALTERS_FIELD,
                at: field.at,
                what: format!("the templates print a value {:?} which is not in the procedure", field.id),
                step: None,
            }),
            Some(text) if *text != field.text => failures.push(Failure {
                rule: &rules::ALTERS_FIELD,
                at: field.at,
                what: format!("the value {} is printed as {:?} and must be {text:?}", field.id, field.text),
                step: None,
            }),
            Some(_) => {}
        }
    }
    failures
}
