//! What the pictures of views show of the motions of each step.
//!
//! Invariant: a joint that goes the other way round in a picture somewhere is told of at each of its moves through that
//! view, so that nobody takes silence beside a reversed move for a picture that agrees.

use super::Survey;
use super::sight::Sighted;
use crate::geometry::picture::{Agreement, Way};
use crate::model::{JointId, ViewId};
use crate::trace::RowId;
use std::collections::{BTreeMap, BTreeSet};

/// What one picture shows of the motion of one joint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pictured {
    /// The joint.
    pub joint: JointId,
    /// Whose picture.
    pub view: ViewId,
    /// Whether it goes as the direction word says; none if that names no way in a picture.
    pub word: Option<Agreement>,
    /// The same of what is said at the stick.
    pub stick: Option<Agreement>,
    /// Where the jaw goes in it, the plainer way first.
    pub ways: Vec<Way>,
    /// Whether it goes away from the eye or nearer, where that is plain.
    pub away: Option<bool>,
}

/// The motions to be told of, by printed row and in the order in which they are driven.
pub(super) fn pictures(survey: &Survey) -> BTreeMap<RowId, Vec<Pictured>> {
    let seen = || {
        survey.stretches.iter().flat_map(|stretch| match &stretch.sight {
            Sighted::Through(look, _) => look.motions.iter().map(|seen| (stretch.row, look.view, seen)).collect(),
            Sighted::NoView | Sighted::NoPlace(_) => Vec::new(),
        })
    };
    let turned: BTreeSet<_> = seen().filter(|(.., seen)| seen.is_reversed()).map(|(_, view, seen)| (view, seen.joint)).collect();
    let mut out: BTreeMap<RowId, Vec<Pictured>> = BTreeMap::new();
    for (row, view, seen) in seen().filter(|(_, view, seen)| turned.contains(&(*view, seen.joint))) {
        let agrees = |said: &Option<(Way, Agreement)>| said.map(|(_, agrees)| agrees);
        let one = Pictured {
            joint: seen.joint,
            view,
            word: agrees(&seen.word),
            stick: agrees(&seen.stick),
            ways: seen.motion.ways(),
            away: seen.motion.recedes(),
        };
        let known = out.entry(row).or_default();
        if !known.contains(&one) {
            known.push(one);
        }
    }
    out
}
