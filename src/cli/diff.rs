//! `surehand diff`: two entries of one model, or two revisions of one procedure: what differs.

mod report;
mod revisions;

use super::show;
use crate::diag::Severity;
use crate::error::Error;
use crate::model::differ::Within;
use crate::session::{Session, World};
use std::io;
use std::path::{Path, PathBuf};

/// Compare two entries of an arm, cell or policy file, or two revisions of a procedure
///
/// Of two model files, made independently of each other, values are compared, not how they are written: units, comments and the order of keys do not count. Things are found
/// again by their names. What matters most for safety comes first.
///
/// Of two revisions of a procedure, by their sources (*.md) or prints (*.pdf), what they print is compared, step by step. A
/// step that only has another number is the same step.
///
/// The exit code is 0 only if nothing differs and both
/// files could be read to the end.
#[derive(clap::Args)]
pub(super) struct Args {
    /// One entry, or the earlier revision
    #[arg(value_name = "A")]
    a: PathBuf,
    /// The other, or the later one
    #[arg(value_name = "B")]
    b: PathBuf,
    /// The tolerance of entry, with commas: what differs by no more is listed apart
    #[arg(long, value_name = "QUANTITIES", value_parser = Within::parse, default_value = None)]
    within: Option<Within>,
    /// How the differences are written
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// How differences are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// For people, in the words of the trade
    Text,
    /// One JSON object (schema surehand-differences/1, of revisions surehand-revisions/1)
    Json,
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let session = Session::new(world);
    match [&args.a, &args.b].map(|p| is_revision(p)) {
        [true, true] if args.within.is_none() => return revisions::run(&session, &args.a, &args.b, args.format),
        [true, true] => return Err(Error::Usage("--within is for entries of a model: take it away".into())),
        [false, false] => {}
        _ => return Err(Error::Usage("one is a model file and the other is none: name two of one kind".into())),
    }
    let within = args.within.clone();
    let compared = session.compare(&args.a, &args.b, within.as_ref().unwrap_or(&Within::default()))?;
    let text = match args.format {
        Format::Text => {
            let style = show::style(world, &io::stderr());
            for problems in &compared.problems {
                let errors = problems.iter().filter(|p| p.severity == Severity::Error);
                let told = show::findings(errors, session.files(), show::Format::Short, style);
                if !told.is_empty() {
                    show::message(told.trim_end_matches('\n'));
                }
            }
            report::text(&compared, session.files(), within.as_ref())
        }
        Format::Json => report::json(&compared, session.files(), within.as_ref())?,
    };
    show::output(&text)?;
    let found = compared.comparison.differences.len();
    Ok(u8::from(found > 0 || compared.comparison.whole.contains(&false)))
}

/// Whether a file is a procedure or the print of one.
fn is_revision(path: &Path) -> bool {
    path.extension().is_some_and(|e| ["md", "markdown", "pdf"].iter().any(|known| e.eq_ignore_ascii_case(known)))
}
