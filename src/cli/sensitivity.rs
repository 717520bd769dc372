//! `surehand sensitivity`: how wrong each input may be before a step fails.

mod sheet;

use super::progress::Progress;
use super::show;
use crate::diag::Severity;
use crate::error::Error;
use crate::session::{Session, World};
use std::path::PathBuf;

/// Tell how wrong each input may be before a step fails
///
/// Tolerances, the margin, places of stations, sizes of what stands in the way, masses, frictions, pressures and ratings are made
/// worse one at a time, and every rule over states and space is asked again. Told are those that may be least wrong, with the step that
/// fails first. A procedure with errors is not looked at.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The procedure
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Tell of every input, and of what was not varied
    #[arg(long)]
    all: bool,
    /// How it is told; as data always of every input
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// How it is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// For people
    Text,
    /// One JSON object (schema surehand-sensitivity/1, grammar/sensitivity.schema.json)
    Json,
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let session = Session::new(world);
    let compilation = session.compile(&args.file)?;
    let progress = Progress::new("varying", 0);
    let found = session.sensitivity(&compilation, |_| true, |all| progress.all(all), || progress.step());
    progress.end();
    let Some(found) = found else {
        let count = compilation.findings.iter().filter(|f| f.severity == Severity::Error).count();
        let (errors, they) = (show::count(count, "error stands", "errors stand"), if count == 1 { "it is" } else { "they are" });
        let name = &session.files().get(compilation.file).name;
        show::message(&format!(
            "{name}: {errors} in the procedure; how wrong its inputs may be can be told once {they} mended: see `surehand check`"
        ));
        return Ok(1);
    };
    show::output(&match args.format {
        Format::Text => sheet::text(&found, args.all),
        Format::Json => serde_json::to_string_pretty(&found).map_err(|e| Error::Internal(e.to_string()))? + "\n",
    })?;
    Ok(0)
}
