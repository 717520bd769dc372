//! How often the checks of plain words are right, on the labelled lines, and how long a line takes beside the rest of a check.

#![allow(clippy::print_stdout, reason = "a benchmark is read")]

#[path = "../common/mod.rs"]
mod common;
#[path = "../prose/measure.rs"]
mod measure;

use std::time::Instant;
use surehand::writing;

fn main() {
    print!("{}", measure::page());
    // The same lines, all in one procedure, with the patterns and without.
    let steps: String =
        (1..).zip(measure::lines().iter().filter(|l| l.place == "step")).map(|(n, l)| format!("{n}. {}\n", l.text)).collect();
    let mut took = [f64::INFINITY; 2];
    for (slot, more) in ["", writing::prose::EXAMPLE].into_iter().enumerate() {
        let mut case = common::Case::steps(&steps);
        case.texts[2] += more;
        let (procedure, _) = common::procedure(&case);
        for _ in 0..20 {
            let start = Instant::now();
            let found = writing::check(&procedure, &case.texts[3]);
            took[slot] = took[slot].min(start.elapsed().as_secs_f64());
            assert!(!found.is_empty());
        }
    }
    println!("\nRules over what is written, with patterns in plain words beside without: {:.1} times as long", took[1] / took[0]);
}
