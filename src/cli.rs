//! The command line: arguments in, findings and prints out, one exit code.
//!
//! Invariant: output goes to the standard output, messages to the standard error; a reader that stops reading
//! (a closed pipe) ends the program quietly; nothing ends it in a page of panic text.

mod audit;
mod build;
mod card;
mod check;
mod deliver;
mod diff;
pub mod explain;
mod format;
mod import;
mod new;
mod progress;
mod readback;
mod sensitivity;
mod show;
mod whereabouts;

use crate::error::Error;
use crate::session::{DiskWorld, World};
use clap::{Parser, Subcommand};
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};

const LONG: &str = "\
A compiler for remote-handling task procedures: Markdown with a small move-step notation in; every step checked \
against the arm, the cell and the load; a numbered work instruction with hold points out.

A check compares what is written with what the model files say. It does not authorise work: local codes, licence \
conditions, the site's own rules and qualified persons do.";

const EXAMPLES: &str = "\
A first project:
  surehand new first && surehand check first && surehand build first/first.md

Every procedure below a folder, as data for another program:
  surehand check procedures --format json

A procedure on paper and for a screen, even while errors stand:
  surehand build procedures/task.md --format pdf,html --draft

The certificates of a compiled procedure, worked out again:
  surehand build procedures/task.md --format json && surehand audit procedures/task.json

What may be least wrong in the models of a procedure, and which step fails then:
  surehand sensitivity procedures/task.md

A print that was found, against the sources it carries:
  surehand readback task.pdf

Why a rule exists, with an input it refuses and one it accepts:
  surehand explain over-travel

A cell that two people have surveyed and entered, each without sight of the other's file:
  surehand diff first.toml second.toml --within '2 mm,0.1 deg'

Exit codes:
  0  clean                      3  a file could not be read or written
  1  findings (see --fail-on)   4  a limit of the tool was reached
  2  wrong command line         5  internal error; nothing was written

Colours appear on a terminal only, and never when NO_COLOR is set.";

#[derive(Parser)]
#[command(name = "surehand", version, about = "Checks and prints remote-handling task procedures", long_about = LONG, after_help = EXAMPLES)]
struct Line {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Check(check::Args),
    Build(build::Args),
    Card(card::Args),
    Explain(explain::Args),
    Diff(diff::Args),
    Where(whereabouts::Args),
    Sensitivity(sensitivity::Args),
    Import(import::Args),
    New(new::Args),
    Fmt(format::Args),
    Audit(audit::Args),
    Readback(readback::Args),
}

/// The program: reads the command line of the process and does it.
pub fn main() -> ExitCode {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(error) => {
            // Help and version are output, not mistakes; clap knows which stream and which code.
            let _ = error.print();
            return if error.use_stderr() { ExitCode::from(2) } else { ExitCode::SUCCESS };
        }
    };
    match guarded(|| line.command.run(&DiskWorld)) {
        Ok(code) => ExitCode::from(code),
        Err(error) => {
            show::message(&show::failure(&error));
            ExitCode::from(error.exit_code())
        }
    }
}

/// Runs `work`; a panic in it, on any thread it waits for, becomes an internal error of one line.
fn guarded(work: impl FnOnce() -> Result<u8, Error> + std::panic::UnwindSafe) -> Result<u8, Error> {
    static LAST: Mutex<String> = Mutex::new(String::new());
    std::panic::set_hook(Box::new(|info| {
        *LAST.lock().unwrap_or_else(PoisonError::into_inner) = info.to_string().replace('\n', " ");
    }));
    std::panic::catch_unwind(work).unwrap_or_else(|_| {
        let what = std::mem::take(&mut *LAST.lock().unwrap_or_else(PoisonError::into_inner));
        Err(Error::Internal(what))
    })
}

impl Command {
    /// Does it; the number is the exit code.
    fn run(self, world: &dyn World) -> Result<u8, Error> {
        match self {
            Command::Check(args) => check::run(&args, world),
            Command::Build(args) => build::run(&args, world),
            Command::Card(args) => card::run(&args, world),
            Command::Explain(args) => explain::run(&args),
            Command::Diff(args) => diff::run(&args, world),
            Command::Where(args) => whereabouts::run(&args, world),
            Command::Sensitivity(args) => sensitivity::run(&args, world),
            Command::Import(args) => import::run(&args, world),
            Command::New(args) => new::run(&args, world),
            Command::Fmt(args) => format::run(&args, world),
            Command::Audit(args) => audit::run(&args, world),
            Command::Readback(args) => readback::run(&args, world),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        <Line as clap::CommandFactory>::command().debug_assert();
    }

    #[test]
    fn a_panic_is_one_line_with_its_place() {
        let error = guarded(|| rayon::join(|| 0, || panic!("broken\ninvariant")).1).err();
        let message = error.as_ref().map(ToString::to_string).unwrap_or_default();
        assert_eq!(error.map(|e| e.exit_code()), Some(5));
        assert!(message.contains("broken invariant") && message.contains("cli.rs") && !message.contains('\n'), "{message}");
    }
}
