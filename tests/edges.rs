//! A second opinion on moves: random procedures at the edge of what is accepted, judged by arithmetic of its own.
//!
//! The arithmetic below was written from the rules of motion and knows nothing of the trace: where each joint can be, by
//! how much it drifts, what lies ahead of it. Verdicts are compared both ways, so that a procedure accepted wrongly shows
//! as well as one refused wrongly. Most targets stand on an edge or one thousandth of a degree beside it.

#![allow(clippy::print_stdout, reason = "the counts are for whoever reads the output of the test")]

use std::fmt::Write as _;
use std::path::Path;
use surehand::diag::{Family, Severity};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::session::{MemoryWorld, Session};
use surehand::syntax::front;

/// How many procedures are tried; enough for hundreds of each verdict.
const TRIES: u64 = 2000;

/// A joint of the example arm, in thousandths of a degree, soft margin taken off: written down here a second time.
struct Joint {
    name: &'static str,
    limits: (i64, i64),
    words: (&'static str, &'static str),
    by_eye: i64,
    home: i64,
    signed: bool,
}

const fn joint(name: &'static str, limits: (i64, i64), words: (&'static str, &'static str), by_eye: i64, home: i64) -> Joint {
    Joint { name, limits, words, by_eye, home, signed: limits.0 < 0 }
}

const JOINTS: [Joint; 5] = [
    joint("base", (-168_000, 168_000), ("left", "right"), 2000, 0),
    joint("shoulder", (-38_000, 93_000), ("raise", "lower"), 2000, 20_000),
    joint("elbow", (12_000, 148_000), ("extend", "fold"), 2000, 60_000),
    joint("wrist-pitch", (-78_000, 78_000), ("raise", "lower"), 2000, 0),
    joint("wrist-turn", (-710_000, 710_000), ("clockwise", "counter-clockwise"), 3000, 0),
];
const BY_READOUT: i64 = 500;
const HOLD: i64 = 200;
const START_BAND: i64 = 1000;

/// Where a joint can be: lowest, highest, and its one printed angle if it has one.
#[derive(Clone, Copy, PartialEq)]
struct At(i64, i64, Option<i64>);

type State = [At; 5];

/// A xorshift generator (Marsaglia 2003), so that every run tries the same procedures.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: i64) -> i64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        i64::try_from(self.0 >> 33).unwrap_or(0) % n
    }
    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[usize::try_from(self.below(i64::try_from(from.len()).unwrap_or(1))).unwrap_or(0)]
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Way {
    To,
    Inch,
    Within(i64),
    By,
    Until,
}

fn angle(thousandths: i64, signed: bool) -> String {
    let sign = if thousandths < 0 {
        "-"
    } else if signed && thousandths > 0 {
        "+"
    } else {
        ""
    };
    let (whole, rest) = (thousandths.abs() / 1000, thousandths.abs() % 1000);
    let decimals = if rest == 0 { String::new() } else { format!(".{rest:03}").trim_end_matches('0').to_owned() };
    format!("{sign}{whole}{decimals} deg")
}

struct Move {
    words: String,
    guarded: bool,
    sound: bool,
    ends: Vec<State>,
}

fn random_move(dice: &mut Dice, states: &[State]) -> Move {
    let n = usize::try_from(dice.below(5)).unwrap_or(0);
    let (j, seen) = (&JOINTS[n], states[usize::try_from(dice.below(i64::try_from(states.len()).unwrap_or(1))).unwrap_or(0)][n]);
    let up = dice.below(2) == 0;
    let band = dice.pick(&[BY_READOUT, BY_READOUT - 1, BY_READOUT + 1, 3000]);
    let mut way = dice.pick(&[Way::To, Way::To, Way::Inch, Way::Within(band), Way::By, Way::Until]);
    let stop = |way: Way| match way {
        Way::To | Way::By => BY_READOUT,
        Way::Inch | Way::Until => j.by_eye,
        Way::Within(band) => band,
    };
    let (b, off) = (stop(way), dice.pick(&[-1, 0, 1]));
    let target = match (dice.below(3), up) {
        (0, true) => j.limits.1 - b - HOLD + off,
        (0, false) => j.limits.0 + b + HOLD - off,
        (1, true) => seen.1 + HOLD + 1 + off,
        (1, false) => seen.0 - HOLD - 1 - off,
        _ => 1000 * (j.limits.0 / 1000 + dice.below((j.limits.1 - j.limits.0) / 1000)),
    };
    let change = target - seen.2.unwrap_or(seen.0);
    if way == Way::By && (change == 0 || (change > 0) != up) {
        way = Way::To;
    }
    let b = stop(way);
    let start = format!("{} {}", j.name, if up { j.words.0 } else { j.words.1 });
    let to = angle(target, j.signed);
    let words = match way {
        Way::To => format!("{start} to {to}"),
        Way::Inch => format!("{start} to {to} inch"),
        Way::Within(band) => format!("{start} to {to} within {}", angle(band, false)),
        Way::By => format!("{start} by {}, ending {to}", angle(change.abs(), false)),
        Way::Until => format!("{start} until contact, not past {to}"),
    };
    let mut sound = target - b - HOLD >= j.limits.0 && target + b + HOLD <= j.limits.1 && b >= BY_READOUT;
    let mut ends = Vec::new();
    for state in states {
        let At(low, high, printed) = state[n];
        sound &= if up { target > high + HOLD } else { target < low - HOLD };
        sound &= way != Way::By || printed.is_some_and(|p| p + change == target);
        let mut end = *state;
        end[n] = match (way, up) {
            (Way::Until, true) => At(low - HOLD, (high + HOLD).max(target + b), None),
            (Way::Until, false) => At((low - HOLD).min(target - b), high + HOLD, None),
            _ => At(target - b, target + b, Some(target)),
        };
        if !ends.contains(&end) {
            ends.push(end);
        }
    }
    Move { words, guarded: way == Way::Until, sound, ends }
}

/// A procedure, and whether it is sound.
fn random_procedure(seed: u64) -> (String, bool) {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    (0..8).for_each(|_| _ = dice.below(2));
    let mut states = vec![JOINTS.each_ref().map(|j| At(j.home - START_BAND, j.home + START_BAND, Some(j.home)))];
    let mut text = format!("{}\n1. `power on arm`\n", front::EXAMPLE);
    let mut sound = true;
    for n in 2..4 + dice.below(5) {
        let made = random_move(&mut dice, &states);
        if dice.below(5) == 0 && !made.guarded {
            let _ =
                writeln!(text, "{n}. `if` Lamp {n} is lit, seen in window 1.\n   - then\n     1. `{}`\n   - otherwise: go on", made.words);
            let stay = made.ends.into_iter().filter(|e| !states.contains(e)).collect::<Vec<_>>();
            states.extend(stay);
        } else {
            let _ = writeln!(text, "{n}. `{}`", made.words);
            if made.guarded {
                text.push_str("   - If not: hold and tell Shift lead\n");
            }
            states = made.ends;
        }
        sound &= made.sound;
        if !sound {
            break;
        }
    }
    (text, sound)
}

#[test]
fn verdicts_at_the_edge_agree_with_a_second_arithmetic() {
    let (mut accepted, mut refused) = (0, 0);
    for seed in 0..TRIES {
        let (text, sound) = random_procedure(seed);
        let files = [("arm.toml", EXAMPLE_ARM), ("cell.toml", EXAMPLE_CELL), ("policy.toml", EXAMPLE_POLICY), ("try.md", &text)];
        let world = files.into_iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(format!("/p/{name}"), text.to_owned()));
        let made = Session::new(&world).compile(Path::new("/p/try.md"));
        let made = made.unwrap_or_else(|e| panic!("seed {seed}: {e}\n{text}"));
        // What moves comes near to is another arithmetic's business.
        let of_states =
            |f: &&surehand::diag::Diagnostic| !matches!(f.rule.family, Family::Clearance | Family::Reach | Family::Load | Family::Sight);
        let errors: Vec<_> =
            made.findings.iter().filter(of_states).filter(|f| f.severity == Severity::Error).map(|f| (f.rule.id, &f.message)).collect();
        assert_eq!(errors.is_empty(), sound, "seed {seed}: {errors:?}\n{text}");
        if sound { accepted += 1 } else { refused += 1 }
    }
    println!("{TRIES} procedures at the edge: {accepted} accepted and {refused} refused, as the second arithmetic has it");
    assert!(accepted > 150 && refused > 150, "{accepted} accepted, {refused} refused: one side is hardly tried");
}
