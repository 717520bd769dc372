//! `surehand check`: every procedure through every floor.

use super::progress::Progress;
use super::show::{self, FailOn, Format};
use crate::diag::fold::fold;
use crate::diag::json::{self, Summary};
use crate::diag::{Diagnostic, Severity};
use crate::error::Error;
use crate::session::{Compilation, Session, World, find};
use crate::syntax::scan::OVER_LIMIT;
use std::cmp::Reverse;
use std::collections::HashSet;
use std::io;
use std::path::PathBuf;

/// Check procedures against their arm, cell and policy
///
/// Names files or folders. In a folder, every *.md file that begins with front matter (+++) is checked, in
/// subfolders too. Findings go to the standard output, the summary to the standard error.
#[derive(clap::Args)]
pub(super) struct Args {
    /// Procedures, or folders of procedures
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// How findings are written
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// The least weight of a finding that makes the exit code 1
    #[arg(long, value_enum, default_value = "error", value_name = "WEIGHT")]
    fail_on: FailOn,
    /// Procedures checked at once; 0 is one for each processor
    #[arg(long, default_value_t = 0, value_name = "N", value_parser = clap::value_parser!(u16).range(..=256))]
    threads: u16,
}

/// The exit code of a limit, as of [`Error::Limit`].
const LIMIT: u8 = 4;

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let (found, mut failures) = find(world, &args.paths);
    let session = Session::new(world);
    let progress = Progress::new("checking", found.len() as u64);
    let keep = |result: Result<Option<Compilation>, Error>| {
        progress.step();
        result.map(|done| done.map(|c| c.findings))
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(args.threads.into()).build();
    let pool = pool.map_err(|e| Error::Usage(format!("{} threads cannot be started: {e}", args.threads)))?;
    let results = pool.install(|| session.compile_all(&found, keep));
    progress.end();

    let (mut checked, mut passed_over, mut findings, mut shown) = (0, 0, Vec::new(), Vec::new());
    for result in results {
        match result {
            Ok(Some(own)) => {
                checked += 1;
                if args.format == Format::Text {
                    // People read from the top: what stops the print comes first, then the rest by its place.
                    let mut read = fold(own.clone());
                    read.sort_by_key(|f| Reverse(f.severity));
                    shown.extend(read);
                }
                findings.extend(own);
            }
            Ok(None) => passed_over += 1,
            Err(error) => failures.push(error),
        }
    }
    once_each(&mut findings);
    once_each(&mut shown);
    if checked == 0 && failures.is_empty() {
        let paths = args.paths.iter().map(|p| p.display().to_string()).collect::<Vec<_>>().join(", ");
        let what = "holds no procedure: no Markdown file there begins with front matter (+++)";
        failures.push(Error::File { path: paths, what: what.into() });
    }

    let summary = Summary::of(&findings, checked);
    let text = match args.format {
        Format::Json => {
            let mut report = json::report(&findings, session.files(), checked);
            report.failures = failures.iter().map(ToString::to_string).collect();
            serde_json::to_string_pretty(&report).map_err(|e| Error::Internal(e.to_string()))? + "\n"
        }
        Format::Text => show::findings(&shown, session.files(), args.format, show::style(world, &io::stdout())),
        format => show::findings(&findings, session.files(), format, show::style(world, &io::stdout())),
    };
    show::output(&text)?;
    for failure in &failures {
        show::message(&show::failure(failure));
    }
    if args.format == Format::Text {
        show::message(&conclusion(&summary, failures.len(), passed_over));
    }
    let found = u8::from(summary.at_least(Severity::from(args.fail_on)) > 0);
    let limit = if findings.iter().any(|f| f.rule == &OVER_LIMIT) { LIMIT } else { 0 };
    Ok(failures.iter().map(Error::exit_code).fold(found.max(limit), u8::max))
}

/// A finding in a model file belongs to every procedure that names it and is shown once.
fn once_each(findings: &mut Vec<Diagnostic>) {
    let mut seen = HashSet::new();
    findings.retain(|f| seen.insert((f.rule.id, f.span, f.message.clone(), f.path.clone())));
}

fn conclusion(summary: &Summary, failed: usize, passed_over: usize) -> String {
    let checked = show::count(summary.files, "procedure", "procedures");
    let counts = show::counts(summary);
    let mut out = if counts.is_empty() { format!("{checked} checked: no findings") } else { format!("{checked} checked: {counts}") };
    if failed > 0 {
        out += &format!("; {} not read or not checked, see above", show::count(failed, "path", "paths"));
    }
    if passed_over > 0 {
        out += &format!("; {} without front matter passed over", show::count(passed_over, "Markdown file", "Markdown files"));
    }
    out
}
