//! Two entries side by side, key by key.

use super::entry::{BETWEEN, Node, Value};
use super::pair::MOST;
use super::weigh::{self, Gap, Within};
use super::words;
use super::{Change, Class, Difference, Side};
use crate::model::keys::{Form, Key};
use crate::text::{Span, Spanned};

/// Every difference, key by key in the order of the tables, and how many values were compared.
pub(super) fn walk(a: &Node, b: &Node, within: &Within) -> (Vec<Difference>, usize) {
    let mut renames = Vec::new();
    let mut round = 1;
    loop {
        let mut walk = Walk::new(within, &renames, MOST);
        walk.tables(a, b);
        let (found, compared, seen) = (walk.found, walk.compared, walk.seen);
        if round == MOST_ROUNDS || seen == renames {
            return (found, compared);
        }
        // What was renamed is named elsewhere too; with each new name known more is seen to be equal.
        renames = seen;
        round += 1;
    }
}

/// A name that leads to a name that leads to a name: more than this is not followed.
const MOST_ROUNDS: usize = 4;

/// A name in the first file and what it is called in the second.
pub(super) type Rename = (String, String);

pub(super) struct Walk<'r> {
    pub(super) within: &'r Within,
    /// Names known to be two for one thing.
    pub(super) renames: &'r [Rename],
    /// The same, as found on the way.
    pub(super) seen: Vec<Rename>,
    pub(super) found: Vec<Difference>,
    pub(super) compared: usize,
    /// The keys on the way down, and what they are called.
    pub(super) keys: Vec<&'static str>,
    pub(super) place: Vec<String>,
    /// More comparisons than this are not made to tell the rows of one array apart.
    pub(super) most: usize,
}

/// A table's key whose two names are not compared again: the pairing has spoken of them.
type Skip<'k> = Option<&'k Key>;

impl<'r> Walk<'r> {
    pub(super) fn new(within: &'r Within, renames: &'r [Rename], most: usize) -> Walk<'r> {
        Walk { within, renames, seen: Vec::new(), found: Vec::new(), compared: 0, keys: Vec::new(), place: Vec::new(), most }
    }
    pub(super) fn report(&mut self, class: Class, key: &'static Key, change: Change, a: Side, b: Side) -> &mut Difference {
        let (place, meaning) = (self.place.clone(), key.meaning);
        self.found.push(Difference { class, place, meaning, change, a, b, apart: None, note: None, within: false });
        let last = self.found.len() - 1;
        &mut self.found[last]
    }
    /// Runs `work` one step further down.
    pub(super) fn under<T>(&mut self, key: &'static str, place: Option<String>, work: impl FnOnce(&mut Self) -> T) -> T {
        let deep = self.place.len();
        self.keys.push(key);
        self.place.extend(place);
        let done = work(self);
        self.keys.pop();
        self.place.truncate(deep);
        done
    }
    fn tables(&mut self, a: &Node, b: &Node) {
        self.tables_but(a, b, None);
    }
    pub(super) fn tables_but(&mut self, a: &Node, b: &Node, skip: Skip<'_>) {
        for key in a.table.keys {
            if skip.is_some_and(|s| s.name == key.name) {
                continue;
            }
            match (a.get(key.name), b.get(key.name)) {
                (None, None) => {}
                (Some(x), Some(y)) => self.both(key, x, y),
                (Some(x), None) => self.one(key, x, b.span, true),
                (None, Some(y)) => self.one(key, y, a.span, false),
            }
        }
        self.strange(a, b);
    }
    /// Keys that no table knows: all that can be said is how they are written.
    fn strange(&mut self, a: &Node, b: &Node) {
        const STRANGE: Key = Key { name: "", form: Form::Words, must: false, meaning: "Not a key of this table." };
        let raw = |node: &Node, name: &str| {
            let own = node.strange.iter().find(|(n, _)| n == name);
            own.map_or(Side { shown: None, span: node.span }, |(_, v)| Side { shown: Some(words::show(&v.value)), span: v.span })
        };
        let names = a.strange.iter().map(|(n, _)| n).chain(b.strange.iter().map(|(n, _)| n).filter(|n| raw(a, n).shown.is_none()));
        for name in names {
            self.compared += 1;
            let (x, y) = (raw(a, name), raw(b, name));
            if x.shown != y.shown {
                self.place.push(format!("`{name}` (no key of this table)"));
                self.report(Class::Limits, const { &STRANGE }, Change::Unread, x, y);
                self.place.pop();
            }
        }
    }
    pub(super) fn words(&self, key: &Key) -> String {
        words::words(self.keys.last().copied().unwrap_or(""), key)
    }
    /// A key that stands in one file only; `span` is where the other would have it.
    fn one(&mut self, key: &'static Key, value: &Spanned<Value>, span: Span, in_a: bool) {
        let sides = |own: Side| {
            let none = Side { shown: None, span };
            if in_a { (own, none) } else { (none, own) }
        };
        if let Value::Rows(rows) = &value.value {
            let what = self.counted(key, rows);
            for (row, name) in rows.iter().zip(what) {
                let (a, b) = sides(Side { shown: Some("given".into()), span: row.span });
                self.item(key, row, name, a, b);
            }
            return;
        }
        self.compared += 1;
        // A flag left out says no; an empty list says as much as none.
        if value.value.says_nothing() {
            return;
        }
        let (mut a, mut b) = sides(Side { shown: Some(words::show(&value.value)), span: value.span });
        let change = if matches!(value.value, Value::Table(_)) { Change::Item } else { Change::Value };
        if matches!(value.value, Value::Flag(true)) {
            for side in [&mut a, &mut b] {
                side.shown.get_or_insert_with(|| "no".into());
            }
        }
        let class = match &value.value {
            Value::Table(node) => self.under(key.name, None, |w| Class::of_node(&w.keys, node)),
            _ => Class::of(&self.keys, key),
        };
        self.place.push(self.words(key));
        self.report(class, key, change, a, b);
        self.place.pop();
    }
    pub(super) fn item(&mut self, key: &'static Key, node: &Node, name: String, a: Side, b: Side) {
        self.compared += 1;
        self.under(key.name, Some(name), |w| {
            let class = Class::of_node(&w.keys, node);
            w.report(class, key, Change::Item, a, b);
        });
    }
    fn both(&mut self, key: &'static Key, a: &Spanned<Value>, b: &Spanned<Value>) {
        let what = self.words(key);
        match (&a.value, &b.value) {
            (Value::Table(x), Value::Table(y)) => self.under(key.name, Some(what), |w| w.tables(x, y)),
            (Value::Rows(x), Value::Rows(y)) => self.rows(key, x, y, (a.span, b.span)),
            (Value::Map(x), Value::Map(y)) => self.map(key, x, y, (a.span, b.span)),
            (Value::Names(x), Value::Names(y)) => self.set(key, x, y, (a.span, b.span)),
            (Value::Lines(x), Value::Lines(y)) if !words::in_order(key) => self.set(key, x, y, (a.span, b.span)),
            (Value::Lines(x), Value::Lines(y)) => self.lines(key, x, y, (a.span, b.span)),
            (Value::Along(x, round), Value::Along(y, _)) if x.len() == y.len() => {
                for (at, (x, y)) in x.iter().zip(y).enumerate() {
                    self.compared += 1;
                    let gap = weigh::quantities(x, y, *round, self.within);
                    self.gap(key, words::along(&what, key.form, at), gap, (x.to_string(), a.span), (y.to_string(), b.span));
                }
            }
            (x, y) => {
                self.compared += 1;
                let gap = self.leaf(x, y);
                self.gap(key, what, gap, (words::show(x), a.span), (words::show(y), b.span));
            }
        }
    }
    /// The gap between two single values; `None` if they are the same.
    pub(super) fn leaf(&self, a: &Value, b: &Value) -> Option<Gap> {
        let differ = |differ: bool| differ.then(Gap::default);
        match (a, b) {
            (Value::Quantity(x, round), Value::Quantity(y, _)) => weigh::quantities(x, y, *round, self.within),
            (Value::Number(x), Value::Number(y)) => weigh::numbers(x, y),
            (Value::Name(x), Value::Name(y)) => differ(!self.same_name(x, y)),
            (Value::Prose(x), Value::Prose(y)) => differ(x != y),
            (Value::Flag(x), Value::Flag(y)) => differ(x != y),
            (Value::Along(x, round), Value::Along(y, _)) => {
                let same = |(x, y)| weigh::quantities(x, y, *round, self.within).is_none();
                differ(x.len() != y.len() || !x.iter().zip(y).all(same))
            }
            (Value::Unread(x), Value::Unread(y)) => (x != y).then(|| Gap::unread("cannot be read in A or in B")),
            (Value::Unread(_), _) => Some(Gap::unread("cannot be read in A")),
            (_, Value::Unread(_)) => Some(Gap::unread("cannot be read in B")),
            _ => Some(Gap::default()),
        }
    }
    fn same_name(&self, a: &str, b: &str) -> bool {
        a == b || !self.renames.is_empty() && self.as_in_b(a) == sorted(b.split(BETWEEN))
    }
    /// A name, or a pair of names, of the first file as the second calls it.
    pub(super) fn as_in_b(&self, name: &str) -> String {
        sorted(name.split(BETWEEN).map(|part| self.renames.iter().find(|r| r.0 == part).map_or(part, |r| r.1.as_str())))
    }
    pub(super) fn gap(&mut self, key: &'static Key, what: String, gap: Option<Gap>, a: (String, Span), b: (String, Span)) {
        let Some(gap) = gap else { return };
        let class = Class::of(&self.keys, key);
        self.place.push(what);
        let side = |(shown, span): (String, Span)| Side { shown: Some(shown), span };
        let change = if gap.unread { Change::Unread } else { Change::Value };
        let made = self.report(class, key, change, side(a), side(b));
        (made.apart, made.note, made.within) = (gap.apart, gap.note, gap.within);
        self.place.pop();
    }
}

/// The names of a pair in the order that pairs are kept in.
fn sorted<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let mut names: Vec<&str> = names.collect();
    names.sort_unstable();
    names.join(BETWEEN)
}
