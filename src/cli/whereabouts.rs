//! `surehand where`: where the arm is before and after a step.

mod sheet;

use super::show;
use crate::diag::Severity;
use crate::error::Error;
use crate::session::{Session, World};
use std::path::PathBuf;

/// Tell where the arm is before and after a step, or draw it
///
/// For every way that leads to the step: each joint's read-out and what it may show, jaw, load, tool, view and power. The
/// step is named as it is printed: 12, 12.1, 13A.2, C1.1; or by its anchor, "#grip-lid". The exit code is 1 while an error
/// stands in the procedure: nothing told is checked then.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The procedure
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The step's printed number, or its anchor with a # in front
    #[arg(value_name = "STEP")]
    step: String,
    /// How it is told
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
}

/// How whereabouts are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// For people
    Text,
    /// One JSON object (schema surehand-where/1, grammar/where.schema.json)
    Json,
    /// A drawing of the step from above and from the side, as a file of vector graphics
    Svg,
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let session = Session::new(world);
    let compilation = session.compile(&args.file)?;
    if args.format == Format::Svg {
        let errors = compilation.findings.iter().filter(|f| f.severity == Severity::Error).count();
        return match session.drawing(&compilation, &args.step)? {
            Ok(file) => show::output(&file).map(|()| u8::from(errors > 0)),
            Err(why) => {
                show::message(&format!("there is nothing to draw: {why}"));
                Ok(1)
            }
        };
    }
    let Some(found) = session.whereabouts(&compilation, &args.step)? else {
        let style = show::style(world, &std::io::stderr());
        let told = show::findings(&compilation.findings, session.files(), show::Format::Short, style);
        show::message(&format!("{told}nothing is known of the arm: its models could not be read"));
        return Ok(1);
    };
    let text = if args.format == Format::Json {
        serde_json::to_string_pretty(&found).map_err(|e| Error::Internal(e.to_string()))? + "\n"
    } else {
        sheet::text(&found)
    };
    show::output(&text)?;
    if found.errors > 0 {
        let errors = show::count(found.errors, "error stands", "errors stand");
        show::message(&format!("{errors} in the procedure: nothing of this is checked; see `surehand check`"));
    }
    Ok(u8::from(found.errors > 0))
}
