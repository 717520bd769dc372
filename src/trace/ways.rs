//! The ways that lead to a state: branches, passes and entries, and where several of them lead to the same one.
//!
//! Invariant: what is said of a state holds by every way to it that was followed. A branch is named only if the state hangs on
//! it: where all arms lead to it, or going past them does too, nothing is said.

use super::number;
use super::state::PathId;
use super::{FrameId, RowId, Trace, When};
use crate::model::StepId;
use crate::model::procedure::{Kind, Procedure, StepNumber};
use std::collections::HashMap;

/// A branch, pass, call or entry on the way to a state, or several ways to it.
#[derive(Clone, Debug)]
pub(super) enum Way {
    One { up: PathId, frame: FrameId, step: StepId, taken: Taken },
    Either(Vec<PathId>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Taken {
    Arm(u16),
    Pass(u32),
    Entered(When),
}

/// Most ways that are told apart; of more it is said that there are others.
const MOST_WAYS: usize = 12;
/// Most pieces of ways that are looked at for one state.
const MOST_LOOKS: usize = 20_000;

/// One thing that is so on a way: one of these was taken.
type Choice = Vec<(FrameId, StepId, Taken)>;

/// Ways to a state, each with all that is so on it.
#[derive(Clone, Default)]
struct Ways {
    each: Vec<Vec<Choice>>,
    /// There are others.
    more: bool,
}

impl Trace {
    pub(super) fn way(&mut self, up: PathId, frame: FrameId, step: StepId, taken: Taken) -> PathId {
        self.put(Way::One { up, frame, step, taken })
    }

    /// A place for more ways than the one a state is first reached by.
    pub(super) fn open(&mut self, path: PathId) -> PathId {
        self.put(Way::Either(vec![path]))
    }

    /// Another way to a state with an open path.
    pub(super) fn join(&mut self, open: PathId, path: PathId) {
        if let Some(Way::Either(list)) = open.0.checked_sub(1).and_then(|i| self.ways.get_mut(i as usize))
            && open != path
            && !list.contains(&path)
        {
            list.push(path);
        }
    }

    fn put(&mut self, way: Way) -> PathId {
        self.ways.push(way);
        PathId(u32::try_from(self.ways.len()).unwrap_or(u32::MAX))
    }

    fn at(&self, path: PathId) -> Option<&Way> {
        self.ways.get(path.0.checked_sub(1)? as usize)
    }

    /// The rows of the conditions on the ways to a state.
    pub(super) fn conditions(&self, path: PathId, rows: &mut Vec<RowId>) {
        let (mut open, mut seen) = (vec![path], Vec::new());
        while let Some(at) = open.pop().filter(|_| seen.len() < MOST_LOOKS) {
            match self.at(at).filter(|_| !seen.contains(&at)) {
                Some(Way::One { up, frame, step, taken }) => {
                    open.push(*up);
                    rows.extend(self.row(*frame, *step).filter(|_| matches!(taken, Taken::Arm(_))));
                }
                Some(Way::Either(list)) => open.extend(list),
                None => continue,
            }
            seen.push(at);
        }
    }
}

/// The ways to a state in words, outermost branch first.
pub(super) fn words(trace: &Trace, root: &Procedure, path: PathId) -> String {
    let mut reader = Reader { trace, root, known: HashMap::new(), open: Vec::new(), looks: 0 };
    let ways = reader.ways(path);
    let say = |way: &Vec<Choice>| way.iter().map(|c| reader.say(c)).collect::<Vec<_>>().join(", ");
    let mut said: Vec<String> = ways.each.iter().map(say).collect();
    if ways.more {
        said.push("in other ways".to_owned());
    }
    said.join("; or ")
}

struct Reader<'a> {
    trace: &'a Trace,
    root: &'a Procedure,
    known: HashMap<PathId, Ways>,
    /// What is being read: a way that comes back to where it began is no other way to get there.
    open: Vec<PathId>,
    looks: usize,
}

impl Reader<'_> {
    fn ways(&mut self, path: PathId) -> Ways {
        let Some(way) = self.trace.at(path) else { return Ways { each: vec![Vec::new()], more: false } };
        if let Some(known) = self.known.get(&path) {
            return known.clone();
        }
        self.looks += 1;
        if self.open.contains(&path) || self.looks > MOST_LOOKS {
            return Ways { each: Vec::new(), more: self.looks > MOST_LOOKS };
        }
        self.open.push(path);
        let found = match way {
            Way::One { up, frame, step, taken } => {
                let mut ways = self.ways(*up);
                ways.each.iter_mut().for_each(|w| w.push(vec![(*frame, *step, *taken)]));
                ways
            }
            Way::Either(list) => {
                let mut all = Ways::default();
                for path in list {
                    let one = self.ways(*path);
                    all.each.extend(one.each);
                    all.more |= one.more;
                    self.settle(&mut all);
                }
                all
            }
        };
        self.open.pop();
        self.known.insert(path, found.clone());
        found
    }

    /// Leaves out what follows from the rest: a way that another one takes in, ways that differ in one choice.
    fn settle(&self, ways: &mut Ways) {
        loop {
            let each = &mut ways.each;
            let takes_in = |a: &[Choice], b: &[Choice]| a.iter().all(|x| b.iter().any(|y| y.iter().all(|c| x.contains(c))));
            let mut at = 0;
            while at < each.len() {
                let gone = (0..each.len()).any(|i| i != at && takes_in(&each[i], &each[at]) && (i < at || !takes_in(&each[at], &each[i])));
                if gone { drop(each.remove(at)) } else { at += 1 }
            }
            let pairs = (0..each.len()).flat_map(|b| (0..b).map(move |a| (a, b)));
            let Some((a, b, joined)) = pairs.filter_map(|(a, b)| Some((a, b, self.joined(&each[a], &each[b])?))).next() else { break };
            each[a] = joined;
            each.remove(b);
        }
        if ways.each.len() > MOST_WAYS {
            ways.each.truncate(MOST_WAYS);
            ways.more = true;
        }
    }

    /// Two ways that differ in one choice, as one.
    fn joined(&self, a: &[Choice], b: &[Choice]) -> Option<Vec<Choice>> {
        let differ: Vec<usize> = (0..a.len()).filter(|i| b.get(*i) != Some(&a[*i])).collect();
        let [at] = differ[..] else { return None };
        let alike = |x: &(FrameId, StepId, Taken), y: &(FrameId, StepId, Taken)| match (x.2, y.2) {
            (Taken::Arm(_), Taken::Arm(_)) | (Taken::Pass(_), Taken::Pass(_)) => x.0 == y.0 && x.1 == y.1,
            (Taken::Entered(_), Taken::Entered(_)) => true,
            _ => false,
        };
        (a.len() == b.len() && alike(a[at].first()?, b[at].first()?)).then(|| {
            let mut both = [&a[at][..], &b[at][..]].concat();
            both.sort_unstable();
            both.dedup();
            let mut way = a.to_vec();
            if self.is_all(&both) {
                drop(way.remove(at))
            } else {
                way[at] = both
            }
            way
        })
    }

    /// Whether a choice leaves nothing out: every arm of a condition that has one for each case.
    fn is_all(&self, choice: &Choice) -> bool {
        let [(frame, step, Taken::Arm(_)), ..] = choice[..] else { return false };
        match &self.trace.procedure_of(self.root, frame).step(step).kind {
            Kind::If { arms } => arms.iter().any(|a| a.otherwise) && choice.len() == arms.len(),
            _ => false,
        }
    }

    fn number(&self, frame: FrameId, step: StepId) -> Option<StepNumber> {
        self.trace.row(frame, step).map(|r| number::of(self.trace, self.root, r))
    }

    fn say(&self, choice: &Choice) -> String {
        let Some((frame, step, first)) = choice.first() else { return String::new() };
        let number = |(f, s): (FrameId, StepId)| self.number(f, s).map_or_else(String::new, |n| n.to_string());
        let here = number((*frame, *step));
        match first {
            Taken::Arm(_) => {
                let arm = |n: u16| self.number(*frame, *step).map(|s| s.arm(u8::try_from(n).unwrap_or(u8::MAX)).to_string());
                let arms: Vec<String> = choice.iter().filter_map(|c| if let Taken::Arm(n) = c.2 { arm(n) } else { None }).collect();
                match &arms[..] {
                    [one] => format!("if {one} was taken"),
                    _ => format!("whichever of {} was taken", listed(&arms, "and")),
                }
            }
            Taken::Pass(_) => {
                let passes = choice.iter().filter_map(|c| if let Taken::Pass(n) = c.2 { Some(n.to_string()) } else { None });
                format!("in pass {} of step {here}", listed(&passes.collect::<Vec<_>>(), "or"))
            }
            Taken::Entered(_) => {
                // Steps that are entered from at the same moments are told together.
                let mut moments: Vec<((FrameId, StepId), Vec<When>)> = Vec::new();
                for (f, s, taken) in choice {
                    let Taken::Entered(when) = taken else { continue };
                    match moments.iter_mut().find(|m| m.0 == (*f, *s)) {
                        Some(m) => m.1.push(*when),
                        None => moments.push(((*f, *s), vec![*when])),
                    }
                }
                let mut groups: Vec<(Vec<When>, Vec<String>)> = Vec::new();
                for (at, when) in moments {
                    match groups.iter_mut().find(|g| g.0 == when) {
                        Some(g) => g.1.push(number(at)),
                        None => groups.push((when, vec![number(at)])),
                    }
                }
                groups.iter().map(|(when, steps)| entered(when, steps)).collect::<Vec<_>>().join(", or ")
            }
        }
    }
}

/// "entered before or after step 12 or 14".
fn entered(when: &[When], steps: &[String]) -> String {
    if let ([When::Before], [one]) = (when, steps) {
        return format!("entered before step {one} was done");
    }
    let words = |w: &When| match w {
        When::Before => "before",
        When::During => "part-way through",
        When::After => "after",
    };
    let when: Vec<String> = when.iter().map(|w| words(w).to_owned()).collect();
    format!("entered {} step {}", listed(&when, "or"), listed(steps, "or"))
}

/// "a, b and c".
fn listed(items: &[String], last: &str) -> String {
    match items {
        [rest @ .., end] if !rest.is_empty() => format!("{} {last} {end}", rest.join(", ")),
        _ => items.concat(),
    }
}
