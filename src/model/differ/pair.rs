//! Which row of one file is which row of the other.
//!
//! Invariant: every row of both files is in exactly one pair or left over. Place in the file decides only between rows
//! that nothing else tells apart.

use super::entry::Node;
use super::walk::Rename;
use super::words;
use crate::diag::suggest;
use crate::model::keys::Table;
use std::collections::BTreeMap;

/// Why two rows are taken for one thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Because {
    /// They have one name, or are of one sort where rows have no names.
    Same,
    /// Their names look alike.
    Alike,
    /// Everything but the name is equal.
    Equal,
}

/// The rows of an array in both files.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    /// Places in the first and the second file, by place in the first.
    pub(super) pairs: Vec<(usize, usize, Because)>,
    pub(super) only_a: Vec<usize>,
    pub(super) only_b: Vec<usize>,
}

/// Where more comparisons than this were needed to tell rows apart, their place decides.
pub(super) const MOST: usize = 10_000;
/// The same for rows within rows that are being told apart.
pub(super) const MOST_WITHIN: usize = 100;

/// Pairs rows; `count` tells in how many values two of them differ, their names left out. A row that bears the name of
/// something else is found again under its new one.
pub(super) fn pair(
    table: &Table,
    a: &[Node],
    b: &[Node],
    renames: &[Rename],
    most: usize,
    count: &impl Fn(&Node, &Node) -> usize,
) -> Pairs {
    let mut out = Pairs { only_a: (0..a.len()).collect(), only_b: (0..b.len()).collect(), ..Pairs::default() };
    let key = words::identity(table).or(words::sort(table));
    let of = |n: &Node| key.and_then(|k| n.text(k.name)).map(str::to_owned);
    let renamed = |n: &Node| {
        of(n).map(|new| match renames.iter().find(|r| r.1 == new) {
            Some((old, _)) if key.is_some_and(|k| k.name != "name") => old.clone(),
            _ => new,
        })
    };
    out.take_same(a, b, (&of, &renamed), most, count);
    if out.only_a.len().saturating_mul(out.only_b.len()) <= most {
        let (left_a, left_b) = (out.only_a.clone(), out.only_b.clone());
        let every = || left_a.iter().flat_map(|i| left_b.iter().map(|j| (*i, *j)));
        if words::identity(table).is_some() {
            // Rows of which nothing but the name is written are equal by chance.
            let equal = every().filter(|(i, j)| a[*i].values.len() > 1 && count(&a[*i], &b[*j]) == 0);
            out.take(equal.map(|(i, j)| (0, i, j)).collect(), Because::Equal);
            let alike = |x: &Node, y: &Node| matches!((of(x), of(y)), (Some(x), Some(y)) if alike(&x, &y));
            let close = every().filter(|(i, j)| alike(&a[*i], &b[*j])).map(|(i, j)| (count(&a[i], &b[j]), i, j));
            out.take(close.collect(), Because::Alike);
        } else {
            // All but the sort is equal.
            let equal = every().filter(|(i, j)| count(&a[*i], &b[*j]) == 1);
            out.take(equal.map(|(i, j)| (0, i, j)).collect(), Because::Same);
        }
    }
    out.pairs.sort_unstable_by_key(|p| p.0);
    out
}

impl Pairs {
    /// Pairs rows of one name or sort; among several those that differ least.
    fn take_same(
        &mut self,
        a: &[Node],
        b: &[Node],
        (of_a, of_b): (&impl Fn(&Node) -> Option<String>, &impl Fn(&Node) -> Option<String>),
        most: usize,
        count: &impl Fn(&Node, &Node) -> usize,
    ) {
        let mut groups: BTreeMap<Option<String>, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
        a.iter().enumerate().for_each(|(i, n)| groups.entry(of_a(n)).or_default().0.push(i));
        b.iter().enumerate().for_each(|(j, n)| groups.entry(of_b(n)).or_default().1.push(j));
        for (of_a, of_b) in groups.values() {
            let fitting = match (of_a.len(), of_b.len()) {
                (1, 1) => vec![(0, of_a[0], of_b[0])],
                (m, n) if m.saturating_mul(n) > most => of_a.iter().zip(of_b).map(|(i, j)| (0, *i, *j)).collect(),
                _ => of_a.iter().flat_map(|i| of_b.iter().map(|j| (count(&a[*i], &b[*j]), *i, *j))).collect(),
            };
            self.take(fitting, Because::Same);
        }
    }
    /// Takes from `fitting` (differences, place, place) the pairs that differ least, each row once, of those left over.
    fn take(&mut self, mut fitting: Vec<(usize, usize, usize)>, because: Because) {
        fitting.sort_unstable_by_key(|(n, i, j)| (*n, i.abs_diff(*j), *i));
        for (_, i, j) in fitting {
            if let (Ok(at_a), Ok(at_b)) = (self.only_a.binary_search(&i), self.only_b.binary_search(&j)) {
                self.only_a.remove(at_a);
                self.only_b.remove(at_b);
                self.pairs.push((i, j, because));
            }
        }
    }
}

/// Whether two names are likely spellings of one: the same digits, and letters that hardly differ.
fn alike(a: &str, b: &str) -> bool {
    let part = |name: &str, digits: bool| -> String {
        name.chars().filter(|c| c.is_alphanumeric() && c.is_ascii_digit() == digits).flat_map(char::to_lowercase).collect()
    };
    let (letters_a, letters_b) = (part(a, false), part(b, false));
    part(a, true) == part(b, true) && (letters_a == letters_b || suggest(&letters_a, [letters_b.as_str()]).is_some())
}

#[cfg(test)]
mod tests {
    use super::alike;

    #[test]
    fn spellings_of_one_name_are_alike_and_neighbours_are_not() {
        for (a, b) in [("drain rack", "drain-rack"), ("Bench", "bench"), ("shoulder", "sholder"), ("window-1", "window 1")] {
            assert!(alike(a, b), "{a} {b}");
        }
        for (a, b) in [("window-1", "window-2"), ("bench", "rack"), ("camera-12", "camera-21")] {
            assert!(!alike(a, b), "{a} {b}");
        }
    }
}
