//! Plain words against published guides and labelled lines.

#![allow(clippy::print_stdout, reason = "the counts are for whoever reads the output of the test")]

mod common;
#[path = "prose/measure.rs"]
mod measure;

use measure::{found, held, lines};
use std::fmt::Write as _;

/// What differs on the half that the checks are tuned on, for whoever tunes them.
#[test]
fn the_tuned_half_differs_only_where_it_is_known_to() {
    let mut out = String::new();
    for line in lines().iter().filter(|l| !held(l.text)) {
        let found = found(line);
        let wanted = &line.expected;
        let extra: Vec<_> = found.keys().filter(|id| !wanted.contains(**id)).collect();
        let missed: Vec<_> = wanted.iter().filter(|id| !found.contains_key(**id)).collect();
        if !extra.is_empty() || !missed.is_empty() {
            let _ = writeln!(out, "{} {:?}: extra {extra:?}, missed {missed:?}", line.place, line.text);
        }
    }
    println!("{out}{}", measure::page());
}
