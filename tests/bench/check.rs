//! How long a full check takes beside reading the same text as Markdown, on one thread and on two.
//!
//! `cargo bench --bench check` prints the machine, medians of interleaved runs and their ratios. It asserts that
//! the generated procedures are clean and never how long anything took.

#![allow(clippy::print_stdout, reason = "a benchmark is read on the terminal")]

use pulldown_cmark::{Options, Parser};
use rayon::prelude::*;
use std::fmt::Write as _;
use std::hint::black_box;
use std::time::{Duration, Instant};
use surehand::diag::Severity;
use surehand::model::{EXAMPLE_ARM, EXAMPLE_POLICY};
use surehand::session::{Found, MemoryWorld, Session};

const PROCEDURES: usize = 1_000;
const STEPS: usize = 100;
const ROUNDS: usize = 15;

/// Small and the same everywhere: the next number of a linear congruence (Knuth's constants for 64 bits).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(self.0 >> 33).unwrap_or(0) % sides
    }
}

/// Joints of the example arm: name, words up and down, the range used, the angle at home.
const JOINTS: [(&str, &str, &str, i64, i64, i64); 4] = [
    ("base", "left", "right", -160, 160, 0),
    ("shoulder", "raise", "lower", -30, 85, 20),
    ("elbow", "extend", "fold", 20, 140, 60),
    ("wrist-pitch", "raise", "lower", -70, 70, 0),
];

/// A clean procedure without a cell: moves of every joint, sign-offs, reads, words.
fn procedure(seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut angles = JOINTS.map(|j| j.5);
    let mut out = format!(
        "+++\nid = \"B-{seed}\"\ntitle = \"Drive the joints, set {seed}\"\nrevision = \"A\"\ndate = \"2026-05-01\"\nuse = \"continuous\"\n\
         performer = \"Operator\"\narm = \"arm.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n"
    );
    for step in 1..=STEPS {
        if step % 20 == 1 {
            let _ = write!(
                out,
                "\n# Part {}\n\nThe arm is driven joint by joint. Watch the *read-out* and say what it shows.\n\n",
                step / 20 + 1
            );
        }
        let text: String = match (step, step % 10) {
            (1, _) => "`power on arm`".into(),
            (_, 8) => "`check` The read-out of the elbow is steady.".into(),
            (_, 9) => "`hold point: Shift lead`\n- Must be true: the read-out of the elbow is steady.".into(),
            (_, 5) => "`read joints`".into(),
            _ => {
                let at = usize::try_from(dice.roll(4)).unwrap_or(0);
                let (name, up, down, low, high, _) = JOINTS[at];
                let middle = (low + high) / 2;
                let change = 4 + dice.roll((high - low) / 2 - 4);
                let (word, target) = if angles[at] < middle { (up, angles[at] + change) } else { (down, angles[at] - change) };
                angles[at] = target;
                let sign = if target > 0 { "+" } else { "" };
                format!("`{name} {word} to {sign}{target} deg`\n- Watch: the elbow, from behind the arm.")
            }
        };
        // What belongs to a step stands under its first word.
        let numeral = format!("{step}. ");
        let text = text.replace('\n', &format!("\n{}", " ".repeat(numeral.len())));
        let _ = writeln!(out, "{numeral}{text}");
    }
    out
}

fn median(mut times: Vec<Duration>) -> f64 {
    times.sort();
    times[times.len() / 2].as_secs_f64() * 1e3
}

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

fn machine() -> String {
    let cpu = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model =
        cpu.lines().find_map(|l| l.strip_prefix("model name")).map_or("unknown processor", |m| m.trim_start_matches([' ', '\t', ':']));
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    format!("{model}, {cores} cores, {} {}", std::env::consts::OS, std::env::consts::ARCH)
}

fn main() {
    let texts: Vec<String> = (0..PROCEDURES as u64).map(procedure).collect();
    let bytes: usize = texts.iter().map(String::len).sum();
    let mut world = MemoryWorld::default().with("/p/arm.toml", EXAMPLE_ARM).with("/p/policy.toml", EXAMPLE_POLICY);
    let mut found = Vec::new();
    for (i, text) in texts.iter().enumerate() {
        let path = format!("/p/{i}.md");
        world = world.with(path.as_str(), text.as_str());
        found.push(Found { path: path.into(), given: None });
    }
    let parse = || {
        texts.par_iter().for_each(|t| {
            black_box(Parser::new_ext(t, Options::ENABLE_TABLES | Options::ENABLE_HEADING_ATTRIBUTES | Options::ENABLE_GFM).count());
        });
    };
    let check = || {
        let session = Session::new(&world);
        let findings = session.compile_all(&found, |done| match done {
            Ok(Some(c)) => c.findings,
            other => panic!("a generated procedure was not checked: {:?}", other.err()),
        });
        let errors = findings.iter().flatten().filter(|f| f.severity == Severity::Error).map(|f| format!("{}: {}", f.rule.id, f.message));
        let errors: Vec<_> = errors.take(5).collect();
        assert!(errors.is_empty(), "a generated procedure is not clean: {errors:#?}");
        black_box(findings);
    };
    println!("{}", machine());
    println!("{PROCEDURES} procedures of {STEPS} steps, {:.1} MB; medians of {ROUNDS} interleaved runs", bytes as f64 / 1e6);
    let mut alone = None;
    for threads in [1, 2] {
        let Ok(pool) = rayon::ThreadPoolBuilder::new().num_threads(threads).build() else { continue };
        let (mut parses, mut checks) = (Vec::new(), Vec::new());
        for round in 0..=ROUNDS {
            let (p, c) = pool.install(|| (timed(parse), timed(check)));
            // The first round warms caches and allocator.
            if round > 0 {
                parses.push(p);
                checks.push(c);
            }
        }
        let (p, c) = (median(parses), median(checks));
        let gain = alone.map_or(String::new(), |one: f64| format!("; {:.2} times its speed on one", one / c));
        println!("{threads} thread(s): Markdown alone {p:.1} ms, full check {c:.1} ms: {:.2} times{gain}", c / p);
        alone = Some(c);
    }
}
