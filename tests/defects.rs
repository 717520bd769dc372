//! Slips put into the worked library by hand: every one must be refused.

#![allow(clippy::print_stdout, reason = "the tallies are for whoever reads the output of the test")]

mod library;

#[path = "defects/everywhere.rs"]
mod everywhere;

use everywhere::{Mutant, SLIPS, swaps};
use library::source::{self, Source};
use library::{DEMOS, Found, check, profile, text, words};
use rayon::prelude::*;
use surehand::syntax::grammar::PRODUCTIONS;
use surehand::syntax::tree::Label;

#[test]
fn the_library_is_clean() {
    for demo in DEMOS {
        assert_eq!(check(demo, &[]), [], "{demo}");
    }
}

#[test]
fn the_library_shows_every_statement_and_every_line() {
    let all: Vec<String> = DEMOS.iter().map(|d| text(d)).collect();
    for production in PRODUCTIONS {
        let keyword = production.keyword();
        let used = all.iter().any(|t| Source::of(t).steps.iter().any(|s| t[s.statement.clone()].starts_with(keyword)));
        assert!(used, "no procedure of the library shows `{keyword}`");
    }
    let lines = Label::ALL.map(|l| format!("- {}: ", l.word()));
    let alerts = ["WARNING", "CAUTION", "NOTE"].map(|w| format!("> [!{w}]\n"));
    let moves =
        [" from ", " by ", " ending ", " within ", " slow`", " inch`", " until contact, not past", " by taps of ", " first;", " not past "];
    for shown in lines.iter().chain(&alerts).map(String::as_str).chain(moves) {
        assert!(all.iter().any(|t| t.contains(shown)), "no procedure of the library shows `{shown}`");
    }
}

/// Slips that nothing can refuse yet, or that spoil nothing, with the reason. One that is no longer accepted must go.
const LET_THROUGH: &[(&[&str], &str, &str)] = &[
    (
        &["sign flipped", "decimal point shifted", "ten degrees too far"],
        "until load-lamp, not past",
        "the bound of a guarded move is held against limits and cell, and there is nothing near",
    ),
    (&["move deleted"], "until contact, not past", "nothing that follows says that it must touch; tools are changed at no named station"),
    (&["move deleted"], "until load-lamp, not past", "the same"),
    (&["move deleted"], "until touch-tone, not past", "the same"),
    (&["digits transposed"], "+23 deg, wrist-pitch raise from +24 deg", "a lower or higher start of the guarded move that follows"),
    (&["hold point after the act"], "hold point: Radiation protection", "the policy demands no hold before a carry or a raise"),
    (&["hold point after the act"], "39. `hold point: Shift lead`", "the same"),
    (&["hold point after the act"], "80. `hold point: Shift lead`", "the same"),
    (&["hold point deleted"], "2. `hold point: Radiation protection`", "the policy demands no hold of this post before a return"),
    (&["hold point deleted"], "3. `hold point: Radiation protection`", "the same"),
    (
        &["act deleted"],
        "`perform` [the trial lift](#trial-lift)",
        "the policy demands no trial lift; its steps come back to where they began",
    ),
    (&["act deleted"], "73. `grip level 2`", "the level that was set before stands"),
    (
        &["caution deleted", "caution after its step"],
        "> [!CAUTION]",
        "the policy demands no caution before these acts, so nobody can miss it",
    ),
    (
        &["caution deleted", "caution after its step"],
        "a lid that lies askew slides",
        "the policy demands no alert where a load that lies is let go",
    ),
    (&["act deleted"], "3. `let go of well-lid on well", "told at the steps that it goes on to, which stand above it"),
];

#[test]
fn every_slip_at_every_place_is_refused() {
    let mut accepted = Vec::new();
    let mut used = [false; LET_THROUGH.len()];
    let (mut all, mut excused) = (0, 0);
    for demo in DEMOS {
        let text = text(demo);
        let (source, joints) = (Source::of(&text), words(&profile(&text)));
        for slip in SLIPS {
            let mutants = (slip.make)(&source, &joints);
            let through: Vec<&Mutant> = mutants.par_iter().filter(|m| !refused(demo, m)).collect();
            println!("{demo:<20} {:<38} {:>4} places, {:>3} accepted", slip.name, mutants.len(), through.len());
            all += mutants.len();
            for m in through {
                match LET_THROUGH.iter().position(|(slips, what, _)| slips.contains(&slip.name) && m.what.contains(what)) {
                    Some(reason) => (used[reason], excused) = (true, excused + 1),
                    None => accepted.push(format!("{demo}:{}: {}: {}", m.line, slip.name, m.what)),
                }
            }
        }
    }
    println!("{all} slips, {excused} let through for a reason");
    assert!(all > 2_000, "the slips find their places");
    assert!(accepted.is_empty(), "{} accepted:\n{}", accepted.len(), accepted.join("\n"));
    let stale: Vec<&str> = LET_THROUGH.iter().zip(used).filter(|(_, used)| !used).map(|((_, what, _), _)| *what).collect();
    assert!(stale.is_empty(), "refused by now: {stale:?}");
}

/// Whether an error stands at the slip or behind it, in what is performed, at the declared end, or at the head of the section:
/// another step before the slip cannot be blamed.
fn refused(demo: &str, m: &Mutant) -> bool {
    let declared = m.text.lines().skip(1).position(|l| l == "+++").map_or(0, |i| i + 2);
    let head = (m.text.lines().zip(1..).take(m.line)).filter(|(l, _)| l.starts_with("# ")).last().map_or(0, |(_, i)| i);
    let blamed = |f: &Found| f.is_error() && (f.file != demo || f.line >= m.line || f.line <= declared || f.line == head);
    check(demo, &[(demo, &m.text)]).iter().any(blamed)
}

/// Moves of one joint in the wrong order are refused. Which of two joints goes first matters only in space.
#[test]
fn neighbouring_moves_exchanged() {
    let (mut same, mut other) = (0, 0);
    for demo in DEMOS {
        let text = text(demo);
        for (m, one_joint) in swaps(&Source::of(&text), &words(&profile(&text))) {
            match refused(demo, &m) {
                true => same += 1,
                false => {
                    assert!(!one_joint, "{demo}:{}: accepted: {}", m.line, m.what);
                    other += 1;
                }
            }
        }
    }
    println!("{same} exchanges refused, {other} of different joints accepted until shapes are checked");
    assert!(same > 0);
}

/// Whether a finding is told at the slip, or is about what the slip left wrong: a joint of the move, the load it lifts or
/// lowers, the anchor that went with it, or what comes to stand where a deleted step stood.
fn placed(demo: &str, slip: &str, m: &Mutant, joints: &source::Words, first: &Found) -> bool {
    let at_the_slip = first.file == demo && first.line == m.line;
    let about = |what: &str| m.what.contains(what) && first.message.contains(what);
    let loads = ["spent-cartridge", "fresh-cartridge", "well-lid"];
    let leads_to_it =
        first.rule == "dangling-anchor" && first.message.split('`').nth(1).is_some_and(|anchor| m.what.contains(&format!("{{#{anchor}}}")));
    at_the_slip || leads_to_it || slip != "direction flipped" && (joints.keys().any(|j| about(j)) || loads.iter().any(|l| about(l)))
}

/// The slips of one number, word or step of a move.
const OF_A_MOVE: [&str; 4] = ["sign flipped", "digits transposed", "direction flipped", "move deleted"];

/// One mistake is told once: where it is, or at the first step where a missing or misplaced move shows. What follows from it
/// is counted there and not told.
#[test]
fn one_slip_gives_one_finding() {
    let mut shown: std::collections::BTreeMap<usize, usize> = std::collections::BTreeMap::new();
    let (mut many, mut astray) = (Vec::new(), Vec::new());
    for slip in SLIPS.iter().filter(|s| OF_A_MOVE.contains(&s.name)) {
        let mut of_slip = std::collections::BTreeMap::<usize, usize>::new();
        for demo in DEMOS {
            let text = text(demo);
            let (source, joints) = (Source::of(&text), words(&profile(&text)));
            let mutants = (slip.make)(&source, &joints);
            let found: Vec<Vec<Found>> =
                mutants.par_iter().map(|m| check(demo, &[(demo, &m.text)]).into_iter().filter(Found::is_error).collect()).collect();
            for (m, errors) in mutants.iter().zip(found) {
                // What is let through is held by the test above.
                if errors.is_empty() {
                    continue;
                }
                *of_slip.entry(errors.len()).or_default() += 1;
                let place = format!("{demo}:{}: {}: {}", m.line, slip.name, m.what);
                if errors.len() > 1 {
                    let all: Vec<String> = errors.iter().map(|e| format!("    {}:{} {}: {}", e.file, e.line, e.rule, e.message)).collect();
                    many.push((errors.len(), format!("{place}\n{}", all.join("\n"))));
                }
                let first = errors.iter().find(|e| e.rule != "criterion-not-observed").unwrap_or(&errors[0]);
                if !placed(demo, slip.name, m, &joints, first) {
                    astray.push(format!("{place}\n    {}:{} {}: {}", first.file, first.line, first.rule, first.message));
                }
            }
        }
        println!("{:<20} findings shown: slips {of_slip:?}", slip.name);
        of_slip.into_iter().for_each(|(n, slips)| *shown.entry(n).or_default() += slips);
    }
    for (_, what) in &many {
        println!("{what}");
    }
    let all: usize = shown.values().sum();
    let few: usize = shown.range(..=2).map(|(_, slips)| slips).sum();
    println!("{all} slips, {} give one finding, {few} at most two: {shown:?}", shown.get(&1).copied().unwrap_or(0));
    assert!(all > 300, "the slips find their places");
    assert!(few * 100 >= all * 95, "{few} of {all} slips give at most two findings");
    assert!(astray.is_empty(), "{} told elsewhere:\n{}", astray.len(), astray.join("\n"));
}
