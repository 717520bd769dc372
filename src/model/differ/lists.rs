//! Lists side by side: rows found again by name, names in no order, sentences in their order.

use super::entry::{Node, Value};
use super::pair::{Because, MOST_WITHIN, pair};
use super::walk::Walk;
use super::words;
use super::{Change, Class, Side};
use crate::model::keys::{Form, Key};
use crate::text::{Span, Spanned};
use std::collections::BTreeMap;

impl Walk<'_> {
    /// What each row of one file is called.
    pub(super) fn counted(&self, key: &'static Key, rows: &[Node]) -> Vec<String> {
        let under = self.keys.last().copied().unwrap_or("");
        let mut met: BTreeMap<String, usize> = BTreeMap::new();
        let mut name = |n: &Node| {
            let at = met.entry(words::row(under, key, n, 1)).or_default();
            *at += 1;
            words::row(under, key, n, *at)
        };
        rows.iter().map(&mut name).collect()
    }
    pub(super) fn rows(&mut self, key: &'static Key, a: &[Node], b: &[Node], spans: (Span, Span)) {
        let Form::Tables(table) = key.form else { return };
        let identity = words::identity(table);
        let count = |x: &Node, y: &Node| {
            let mut walk = Walk::new(self.within, self.renames, MOST_WITHIN.min(self.most));
            walk.under(key.name, None, |w| w.tables_but(x, y, identity));
            walk.found.len()
        };
        let pairs = pair(table, a, b, self.renames, self.most, &count);
        let (names_a, names_b) = (self.counted(key, a), self.counted(key, b));
        for (i, j, because) in &pairs.pairs {
            let (x, y) = (&a[*i], &b[*j]);
            self.under(key.name, Some(names_a[*i].clone()), |w| {
                w.compared += usize::from(identity.is_some());
                if let Some(k) = identity.filter(|_| *because != Because::Same) {
                    w.names(k, *because, x, y);
                }
                w.tables_but(x, y, identity);
            });
        }
        if words::ordered(key) {
            self.order(key, a, b, &pairs.pairs, spans);
        }
        let (lost, new) = (Side { shown: None, span: spans.1 }, Side { shown: None, span: spans.0 });
        let given = |node: &Node| Side { shown: Some("given".into()), span: node.span };
        for i in pairs.only_a {
            self.item(key, &a[i], names_a[i].clone(), given(&a[i]), lost.clone());
        }
        for j in pairs.only_b {
            self.item(key, &b[j], names_b[j].clone(), new.clone(), given(&b[j]));
        }
    }
    /// Two rows that are taken for one thing although what tells rows apart differs.
    fn names(&mut self, key: &'static Key, because: Because, a: &Node, b: &Node) {
        let side = |n: &Node| Side { shown: n.text(key.name).map(|t| format!("`{t}`")), span: n.get(key.name).map_or(n.span, |v| v.span) };
        let class = Class::of_node(&self.keys, a);
        if key.name != "name" {
            self.place.push(words::words("", key));
            self.report(class, key, Change::Value, side(a), side(b));
            self.place.pop();
            return;
        }
        if let (Some(x), Some(y)) = (a.text(key.name), b.text(key.name)) {
            self.seen.push((x.to_owned(), y.to_owned()));
        }
        let change = if because == Because::Equal { Change::Renamed } else { Change::Spelling };
        self.report(class, key, change, side(a), side(b));
    }
    /// Reports an order of rows that is not the same.
    fn order(&mut self, key: &'static Key, a: &[Node], b: &[Node], pairs: &[(usize, usize, Because)], spans: (Span, Span)) {
        self.compared += 1;
        if pairs.is_sorted_by_key(|(_, j, _)| *j) {
            return;
        }
        let mut by_b = pairs.to_vec();
        by_b.sort_unstable_by_key(|p| p.1);
        let name = |n: &Node| words::identity(n.table).and_then(|k| n.text(k.name)).unwrap_or("?").to_owned();
        let shown_a = pairs.iter().map(|(i, ..)| name(&a[*i])).collect::<Vec<_>>().join(", ");
        let shown_b = by_b.iter().map(|(_, j, _)| name(&b[*j])).collect::<Vec<_>>().join(", ");
        self.place.push(format!("order of the {}s", self.words(key)));
        let (a, b) = (Side { shown: Some(shown_a), span: spans.0 }, Side { shown: Some(shown_b), span: spans.1 });
        self.report(Class::Limits, key, Change::Order, a, b);
        self.place.pop();
    }
    pub(super) fn map(&mut self, key: &'static Key, a: &Entries, b: &Entries, spans: (Span, Span)) {
        let what = self.words(key);
        let named = |name: &str| format!("{what} `{name}`");
        let mut left: BTreeMap<&str, (Span, &Spanned<Value>)> = b.iter().map(|(n, v)| (n.value.as_str(), (n.span, v))).collect();
        for (name, x) in a {
            self.compared += 1;
            match left.remove(name.value.as_str()).or_else(|| left.remove(self.as_in_b(&name.value).as_str())) {
                Some((_, y)) => {
                    let gap = self.leaf(&x.value, &y.value);
                    self.gap(key, named(&name.value), gap, (words::show(&x.value), x.span), (words::show(&y.value), y.span));
                }
                None => self.entry(key, named(&name.value), Side { shown: Some(words::show(&x.value)), span: name.span }, spans.1, true),
            }
        }
        for (name, (span, y)) in left {
            self.compared += 1;
            self.entry(key, named(name), Side { shown: Some(words::show(&y.value)), span }, spans.0, false);
        }
    }
    /// An entry of a map that stands in one file.
    fn entry(&mut self, key: &'static Key, what: String, own: Side, other: Span, in_a: bool) {
        let none = Side { shown: None, span: other };
        let (a, b) = if in_a { (own, none) } else { (none, own) };
        let class = Class::of(&self.keys, key);
        self.place.push(what);
        self.report(class, key, Change::Value, a, b);
        self.place.pop();
    }
    pub(super) fn set(&mut self, key: &'static Key, a: &[Spanned<String>], b: &[Spanned<String>], spans: (Span, Span)) {
        self.compared += 1;
        let what = self.words(key);
        let mut left: BTreeMap<&str, Vec<&Spanned<String>>> = BTreeMap::new();
        b.iter().for_each(|n| left.entry(&n.value).or_default().push(n));
        let mut take = |name: &str| left.get_mut(name).is_some_and(|same| same.pop().is_some());
        let only_a: Vec<_> = a.iter().filter(|n| !take(&n.value)).collect();
        let only_a: Vec<_> = only_a.into_iter().filter(|n| !take(&self.as_in_b(&n.value))).collect();
        let mut left: Vec<_> = left.into_values().flatten().collect();
        left.sort_unstable_by_key(|n| n.span);
        let sides = only_a.into_iter().map(|n| (n, true)).chain(left.into_iter().map(|n| (n, false)));
        for (name, in_a) in sides {
            let own = Side { shown: Some(format!("`{}`", name.value)), span: name.span };
            let none = Side { shown: None, span: if in_a { spans.1 } else { spans.0 } };
            let (x, y) = if in_a { (own, none) } else { (none, own) };
            let class = Class::of(&self.keys, key);
            self.place.push(format!("{what}, `{}`", name.value));
            self.report(class, key, Change::Item, x, y);
            self.place.pop();
        }
    }
    /// Sentences in their order: what stands between two that both files have is compared line by line.
    pub(super) fn lines(&mut self, key: &'static Key, a: &[Spanned<String>], b: &[Spanned<String>], spans: (Span, Span)) {
        self.compared += 1;
        let what = self.words(key);
        let class = Class::of(&self.keys, key);
        let mut report = |at: usize, x: Option<&Spanned<String>>, y: Option<&Spanned<String>>| {
            let side = |own: Option<&Spanned<String>>, else_at| match own {
                Some(line) => Side { shown: Some(format!("\"{}\"", line.value)), span: line.span },
                None => Side { shown: None, span: else_at },
            };
            self.place.push(format!("{what}, line {at}"));
            self.report(class, key, Change::Value, side(x, spans.0), side(y, spans.1));
            self.place.pop();
        };
        let mut common = common(a, b);
        common.push((a.len(), b.len()));
        let (mut from_a, mut from_b) = (0, 0);
        for (to_a, to_b) in common {
            let (own, other) = (&a[from_a..to_a], &b[from_b..to_b]);
            for at in 0..own.len().max(other.len()) {
                let line = if at < own.len() { from_a + at + 1 } else { from_b + at + 1 };
                report(line, own.get(at), other.get(at));
            }
            (from_a, from_b) = (to_a + 1, to_b + 1);
        }
    }
}

/// The entries of a map, by name.
type Entries = [(Spanned<String>, Spanned<Value>)];

/// Longer lists than this are compared place by place.
const LONGEST: usize = 500;

/// Places of a longest run of lines, not necessarily next to each other, that both lists have in one order.
fn common(a: &[Spanned<String>], b: &[Spanned<String>]) -> Vec<(usize, usize)> {
    if a.len().max(b.len()) > LONGEST {
        return (0..a.len().min(b.len())).filter(|i| a[*i].value == b[*i].value).map(|i| (i, i)).collect();
    }
    // Longest common runs of what is left from each place on.
    let mut rest = vec![vec![0usize; b.len() + 1]; a.len() + 1];
    for i in (0..a.len()).rev() {
        for j in (0..b.len()).rev() {
            rest[i][j] = if a[i].value == b[j].value { rest[i + 1][j + 1] + 1 } else { rest[i + 1][j].max(rest[i][j + 1]) };
        }
    }
    let (mut i, mut j, mut out) = (0, 0, Vec::new());
    while i < a.len() && j < b.len() {
        if a[i].value == b[j].value {
            out.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if rest[i + 1][j] >= rest[i][j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    out
}
