//! What a revision changes: two work instructions set side by side, step by step.
//!
//! What is compared is what is printed, not how it was written: reworded source that prints the same is no change, and a
//! model that moves a limit is one. Numbers do not count: a step that is only renumbered is the same step, and what refers
//! to it is followed to where it stands now.

mod align;
mod effects;
mod entry;
mod gist;

use super::{Document, Field, Prose, Span, wording};
use crate::words::{Words, ids};
use align::align;
use effects::{Effects, effects};
use entry::{Entry, entries};
use serde::Serialize;
use std::collections::{BTreeSet, HashMap};

/// What became of something between two revisions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// It prints something else than before.
    Changed,
    /// It was not there.
    New,
    /// It is the same at another place among the others.
    Moved,
    /// It is not there any more.
    Removed,
}

/// A value that is printed in one of two revisions, or differently in both.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Detail {
    /// Which: `act.travel.goal.target`.
    pub of: String,
    /// Of which joint, as engraved, where a step moves more than one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joint: Option<String>,
    /// What it was.
    pub was: Option<String>,
    /// What it is.
    pub is: Option<String>,
}

/// One difference.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// What became of it.
    pub fate: Fate,
    /// Where it stands in the later revision: "Step 12", "Alert before step 12".
    pub now: Option<String>,
    /// Where it stood in the earlier one.
    pub before: Option<String>,
    /// What it says, or said, in one line.
    pub gist: String,
    /// Each value that differs.
    pub details: Vec<Detail>,
    /// The item that prints it now.
    #[serde(skip)]
    pub item: Option<String>,
}

/// Everything in which a work instruction differs from an earlier one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// In printed order; what is removed stands where it stood.
    pub changes: Vec<Change>,
    /// What differs before the first step: what must be found there, models, posts, purpose.
    pub around: Vec<Detail>,
    /// Steps that are the same under another number: number before, number now.
    pub renumbered: Vec<(String, String)>,
    /// The number now of every earlier step that still stands.
    #[serde(skip)]
    pub now_of: HashMap<String, String>,
    /// Of one of the two no way was looked at, so what is told beside steps of their ways is not compared.
    pub untold: bool,
}

impl Difference {
    /// Whether nothing that is printed differs, numbers aside.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty() && self.around.is_empty()
    }
}

/// The changes since an earlier revision, as they are printed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Changes {
    /// Always `changes`.
    pub item: &'static str,
    /// Revision and date of the earlier one.
    pub since: Field,
    /// A sentence where no step differs.
    pub nothing: Option<Prose>,
    /// One line each.
    pub lines: Vec<ChangeLine>,
    /// What differs before the first step.
    pub around: Vec<Prose>,
    /// Which numbers are others.
    pub renumbered: Option<Prose>,
    /// What follows for margins and time; none in an edition that does not print them.
    pub effects: Option<Effects>,
}

/// A line of the list of changes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChangeLine {
    /// Where.
    pub place: Prose,
    /// What became of it.
    pub fate: Field,
    /// What it is, and what it was.
    pub what: Prose,
}

/// What differs between two work instructions that are made in the same words.
pub fn difference(earlier: &Document, now: &Document, words: &Words) -> Difference {
    let untold = earlier.surveyed != now.surveyed;
    let (old, new) = (entries(earlier, words, !untold), entries(now, words, !untold));
    let pairs = align(&old, &new);
    let mut of_new: Vec<Option<usize>> = vec![None; new.len()];
    let mut of_old: Vec<Option<usize>> = vec![None; old.len()];
    for (o, n) in pairs {
        of_new[n] = Some(o);
        of_old[o] = Some(n);
    }
    // What is the same word for word elsewhere has moved.
    let mut homeless: HashMap<&str, Vec<usize>> = HashMap::new();
    for (i, e) in old.iter().enumerate().filter(|(i, _)| of_old[*i].is_none()) {
        homeless.entry(e.key()).or_default().push(i);
    }
    let mut moved = BTreeSet::new();
    for (i, e) in new.iter().enumerate() {
        if of_new[i].is_none()
            && let Some(o) = homeless.get_mut(e.key()).filter(|v| !v.is_empty()).map(|v| v.remove(0))
        {
            of_new[i] = Some(o);
            of_old[o] = Some(i);
            moved.insert(i);
        }
    }
    let numbers = Numbers::of(&old, &new, &of_old);
    let mut changes = Vec::new();
    let removed = |from: usize, to: usize, out: &mut Vec<Change>| {
        out.extend(old[from..to].iter().zip(&of_old[from..to]).filter(|(_, n)| n.is_none()).map(|(e, _)| Change {
            fate: Fate::Removed,
            now: None,
            before: Some(e.place.clone()),
            gist: e.gist.clone(),
            details: Vec::new(),
            item: None,
        }));
    };
    let mut done = 0;
    let mut renumbered = Vec::new();
    for (i, e) in new.iter().enumerate() {
        let Some(o) = of_new[i] else {
            changes.push(Change {
                fate: Fate::New,
                now: Some(e.place.clone()),
                before: None,
                gist: e.gist.clone(),
                details: Vec::new(),
                item: Some(e.item.clone()),
            });
            continue;
        };
        if !moved.contains(&i) {
            removed(done, o, &mut changes);
            done = done.max(o);
        }
        let was = &old[o];
        let details = e.details(was, &numbers);
        if let (Some(a), Some(b)) = (&was.number, &e.number)
            && a != b
        {
            renumbered.push((a.clone(), b.clone()));
        }
        let fate = match (moved.contains(&i), details.is_empty()) {
            (true, _) => Fate::Moved,
            (false, false) => Fate::Changed,
            (false, true) => continue,
        };
        changes.push(Change {
            fate,
            now: Some(e.place.clone()),
            before: Some(was.place.clone()),
            gist: e.gist.clone(),
            details,
            item: Some(e.item.clone()),
        });
    }
    removed(done, old.len(), &mut changes);
    Difference { changes, around: entry::around(earlier, now, words), renumbered, now_of: numbers.numbers, untold }
}

/// Marks in `now` what differs from an earlier revision, and adds the list of it.
pub(super) fn mark(now: &mut Document, earlier: &Document, words: &Words) {
    let difference = difference(earlier, now, words);
    now.changed = difference.changes.iter().filter_map(|c| c.item.clone()).collect();
    let effects = effects(earlier, now, &difference.now_of, words);
    now.changes = Some(printed(&difference, effects, earlier, words));
}

/// The list as it is printed.
fn printed(difference: &Difference, effects: Option<Effects>, earlier: &Document, words: &Words) -> Changes {
    let identity = &earlier.identity;
    let line = |(i, c): (usize, &Change)| {
        let id = |name: &str| format!("changes.{}.{name}", i + 1);
        let place = match (&c.now, &c.item) {
            (Some(place), Some(item)) => Prose { id: id("place"), spans: vec![Span::Link { text: place.clone(), to: item.clone() }] },
            _ => Prose::plain(id("place"), words.fill(ids::CHANGE_AS_BEFORE, [c.before.as_deref().unwrap_or_default()])),
        };
        let (fate, what) = (Field::new(id("fate"), wording::fate(c.fate, words)), Prose::plain(id("what"), wording::change(c, words)));
        ChangeLine { place, fate, what }
    };
    let lines: Vec<ChangeLine> = difference.changes.iter().enumerate().map(line).collect();
    let around = difference.around.iter().enumerate();
    Changes {
        item: "changes",
        since: Field::new("changes.since", words.fill(ids::CHANGE_SINCE, [&identity.revision.text, &identity.date.to_string()])),
        nothing: lines.is_empty().then(|| Prose::plain("changes.nothing", words.say(ids::CHANGE_NONE))),
        lines,
        around: around.map(|(i, d)| Prose::plain(format!("changes.around{}", i + 1), wording::around(d, words))).collect(),
        renumbered: (!difference.renumbered.is_empty())
            .then(|| Prose::plain("changes.renumbered", wording::renumbered(&difference.renumbered, words))),
        effects,
    }
}

/// Where the steps of an earlier revision stand now.
struct Numbers {
    numbers: HashMap<String, String>,
    /// For each earlier item the one that it is now; none where it is gone.
    items: HashMap<String, Option<String>>,
}

impl Numbers {
    fn of(old: &[Entry], new: &[Entry], of_old: &[Option<usize>]) -> Numbers {
        let mut out = Numbers { numbers: HashMap::new(), items: HashMap::new() };
        for (o, n) in old.iter().zip(of_old.iter().map(|n| n.map(|n| &new[n]))) {
            out.items.insert(o.item.clone(), n.map(|n| n.item.clone()));
            if let (Some(a), Some(b)) = (&o.number, n.and_then(|n| n.number.as_ref())) {
                out.numbers.insert(a.clone(), b.clone());
            }
        }
        out
    }
}
