//! Which thing of the later revision is which of the earlier one.

use super::entry::Entry;
use std::collections::{BTreeSet, HashMap};

/// Most comparisons in one stretch between two sure pairs; in a longer one everything counts as taken out and put in.
const MOST: usize = 4_000_000;

/// Pairs of earlier and later entries, growing in both.
pub(super) fn align(old: &[Entry], new: &[Entry]) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    stretch(old, new, (0, old.len()), (0, new.len()), &mut out);
    out
}

/// The ends that are alike, then what occurs once in both and in the same order, then what is most alike between.
fn stretch(old: &[Entry], new: &[Entry], mut a: (usize, usize), mut b: (usize, usize), out: &mut Vec<(usize, usize)>) {
    while a.0 < a.1 && b.0 < b.1 && old[a.0].key() == new[b.0].key() {
        out.push((a.0, b.0));
        a.0 += 1;
        b.0 += 1;
    }
    let mut tail = Vec::new();
    while a.0 < a.1 && b.0 < b.1 && old[a.1 - 1].key() == new[b.1 - 1].key() {
        a.1 -= 1;
        b.1 -= 1;
        tail.push((a.1, b.1));
    }
    let sure = sure(old, new, a, b);
    if sure.is_empty() {
        alike(old, new, a, b, out);
    } else {
        let (mut from_a, mut from_b) = (a.0, b.0);
        for (i, j) in sure {
            stretch(old, new, (from_a, i), (from_b, j), out);
            out.push((i, j));
            (from_a, from_b) = (i + 1, j + 1);
        }
        stretch(old, new, (from_a, a.1), (from_b, b.1), out);
    }
    out.extend(tail.into_iter().rev());
}

/// What occurs once in each of two stretches: the longest part of it that has the same order in both.
fn sure(old: &[Entry], new: &[Entry], a: (usize, usize), b: (usize, usize)) -> Vec<(usize, usize)> {
    let mut seen: HashMap<&str, (Vec<usize>, Vec<usize>)> = HashMap::new();
    (a.0..a.1).for_each(|i| seen.entry(old[i].key()).or_default().0.push(i));
    (b.0..b.1).for_each(|j| seen.entry(new[j].key()).or_default().1.push(j));
    let once = (a.0..a.1).filter_map(|i| match &seen[old[i].key()] {
        (here, there) if here.len() == 1 && there.len() == 1 => Some((i, there[0])),
        _ => None,
    });
    // Longest growing run by patience: the piles hold the least end of a run of each length.
    let pairs: Vec<(usize, usize)> = once.collect();
    let mut piles: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(pairs.len());
    for (k, (_, j)) in pairs.iter().enumerate() {
        let at = piles.partition_point(|p| pairs[*p].1 < *j);
        before.push(at.checked_sub(1).map(|p| piles[p]));
        if at == piles.len() { piles.push(k) } else { piles[at] = k }
    }
    let mut out = Vec::new();
    let mut at = piles.last().copied();
    while let Some(k) = at {
        out.push(pairs[k]);
        at = before[k];
    }
    out.reverse();
    out
}

/// Pairs with the greatest likeness in all.
fn alike(old: &[Entry], new: &[Entry], a: (usize, usize), b: (usize, usize), out: &mut Vec<(usize, usize)>) {
    let (n, m) = (a.1 - a.0, b.1 - b.0);
    if n == 0 || m == 0 || n.saturating_mul(m) > MOST {
        return;
    }
    let like = Likeness::of(&old[a.0..a.1], &new[b.0..b.1]);
    let width = m + 1;
    let mut best = vec![0_u32; (n + 1) * width];
    for i in (0..n).rev() {
        for j in (0..m).rev() {
            let skip = best[(i + 1) * width + j].max(best[i * width + j + 1]);
            let take = like.score(i, j).map_or(0, |s| s + best[(i + 1) * width + j + 1]);
            best[i * width + j] = skip.max(take);
        }
    }
    let (mut i, mut j) = (0, 0);
    while i < n && j < m {
        let here = best[i * width + j];
        if like.score(i, j).is_some_and(|s| here == s + best[(i + 1) * width + j + 1]) {
            out.push((a.0 + i, b.0 + j));
            i += 1;
            j += 1;
        } else if here == best[(i + 1) * width + j] {
            i += 1;
        } else {
            j += 1;
        }
    }
}

/// How much two things have in common, from the values they print.
struct Likeness<'a> {
    old: Vec<(&'a str, BTreeSet<(&'a str, String)>)>,
    new: Vec<(&'a str, BTreeSet<(&'a str, String)>)>,
}

impl<'a> Likeness<'a> {
    fn of(old: &'a [Entry], new: &'a [Entry]) -> Self {
        let each = |e: &'a Entry| (e.kind.as_str(), e.leaves.iter().map(|(of, leaf)| (of.as_str(), leaf.text())).collect());
        Likeness { old: old.iter().map(each).collect(), new: new.iter().map(each).collect() }
    }

    /// None if they are not to be taken for each other: of two kinds, or less than a third in common.
    fn score(&self, i: usize, j: usize) -> Option<u32> {
        let ((a, old), (b, new)) = (&self.old[i], &self.new[j]);
        if a != b {
            return None;
        }
        let common = old.intersection(new).count();
        let all = old.len().max(new.len());
        (common * 3 >= all).then(|| 1 + (common * 100 / all.max(1)) as u32)
    }
}
