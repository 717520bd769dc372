//! `surehand diff`: two entries of one model, what differs, and what to do about it.

mod report;

use super::show;
use crate::diag::Severity;
use crate::error::Error;
use crate::model::differ::Within;
use crate::session::{Session, World};
use std::io;
use std::path::PathBuf;

/// Compare two entries of an arm, cell or policy file, made independently of each other
///
/// Values are compared, not how they are written: units, comments and the order of keys do not count. Things are found
/// again by their names. What matters most for safety comes first. The exit code is 0 only if nothing differs and both
/// files could be read to the end.
#[derive(clap::Args)]
pub(super) struct Args {
    /// One entry
    #[arg(value_name = "A.toml")]
    a: PathBuf,
    /// The other
    #[arg(value_name = "B.toml")]
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
    /// One JSON object (schema surehand-differences/1)
    Json,
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let session = Session::new(world);
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
