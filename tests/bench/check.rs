//! How long a full check takes beside reading the same text as Markdown, on one thread and on two; and, for the record, how
//! long whole processes take: the version, a check, a print.
//!
//! `cargo bench --bench check` prints the machine, medians of interleaved runs and their ratios. It asserts that
//! the generated procedures have no error and never how long anything took. Both sides read the same texts from memory, with the
//! same options of the Markdown reader; the check's own copy of each text, its findings and their release count as its time.

#![allow(clippy::print_stdout, reason = "a benchmark is read on the terminal")]

#[path = "generate.rs"]
mod generate;

use generate::procedure;
use pulldown_cmark::{Options, Parser};
use rayon::prelude::*;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use surehand::diag::Severity;
use surehand::model::{EXAMPLE_ARM, EXAMPLE_POLICY};
use surehand::session::{Found, MemoryWorld, Session};

const PROCEDURES: usize = 1_000;
const STEPS: usize = 100;
const ROUNDS: usize = 15;

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
    let texts: Vec<String> = (0..PROCEDURES as u64).map(|seed| procedure(seed, STEPS)).collect();
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
    if let Err(e) = processes() {
        println!("whole processes were not measured: {e}");
    }
}

/// Times whole processes: a start that does nothing, the version, a check of 50 steps, a print of 1,000.
fn processes() -> std::io::Result<()> {
    let folder = tempfile::tempdir()?;
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("arm.toml"), EXAMPLE_ARM)?;
    std::fs::write(at("policy.toml"), EXAMPLE_POLICY)?;
    std::fs::write(at("fifty.md"), procedure(1, 50))?;
    std::fs::write(at("thousand.md"), procedure(1, 1_000))?;
    let own = |arguments: &[&str]| command(env!("CARGO_BIN_EXE_surehand"), folder.path(), arguments);
    let print = ["build", "thousand.md", "--output", "thousand.pdf"];
    let mut each = [
        ("nothing", command("true", folder.path(), &[]), Vec::new()),
        ("--version", own(&["--version"]), Vec::new()),
        ("check of 50 steps", own(&["check", "fifty.md"]), Vec::new()),
        ("PDF of 1,000 steps", own(&print), Vec::new()),
    ];
    for _ in 0..ROUNDS {
        for (_, command, times) in &mut each {
            let start = Instant::now();
            let status = command.status()?;
            times.push(start.elapsed());
            assert!(status.success(), "{command:?} ended with {status}");
        }
    }
    let shown: Vec<String> = each.into_iter().map(|(name, _, times)| format!("{name} {:.1} ms", median(times))).collect();
    let peak = peak(own(&print))?.map_or(String::new(), |kib| format!(" (at most {:.0} MiB held)", kib as f64 / 1024.0));
    println!("whole processes: {}{peak}", shown.join(", "));
    Ok(())
}

fn command(program: &str, folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(program);
    command.args(arguments).current_dir(folder).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// The most memory a process held, in KiB, where the system tells: asked every millisecond while it runs.
fn peak(mut command: Command) -> std::io::Result<Option<u64>> {
    let mut child = command.spawn()?;
    let status = format!("/proc/{}/status", child.id());
    let mut most = None;
    while child.try_wait()?.is_none() {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
        most = most.max(line.and_then(|l| l.trim().split(' ').next()?.parse().ok()));
        std::thread::sleep(Duration::from_millis(1));
    }
    Ok(most)
}
