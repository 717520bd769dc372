//! `surehand card`: the console card of an arm profile.

use super::deliver::{Asked, deliver, wanted};
use super::show::{self, Format};
use crate::error::Error;
use crate::session::{Prints, Session, World, printed};
use clap::builder::{PossibleValue, PossibleValuesParser};
use std::io;
use std::path::PathBuf;

/// Print the console card of an arm: sticks, travel, direction words, jaw, power
///
/// Everything on it comes from the arm profile, so that it cannot disagree with a procedure over the same profile. Compare it with
/// the console itself before use.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The arm profile
    #[arg(value_name = "ARM.toml")]
    arm: PathBuf,
    /// What to write: a file (with one format), a folder, or - for the standard output
    ///
    /// Without it the card stands beside the profile, its name ending in -card.
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// The formats to write, several with commas; that by which OUT ends, or pdf, if left out
    #[arg(long, value_name = "FORMAT", value_delimiter = ',', value_parser = names())]
    format: Vec<String>,
    /// A folder of the site's own templates and words (card.html, console.html, theme.toml, words.toml, words.TAG.toml), laid over the built-in ones
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,
    #[arg(long, value_name = "TAG", help = super::build::language("that of the site's words.toml, or English"))]
    language: Option<String>,
}

fn names() -> PossibleValuesParser {
    printed().map(|(name, about)| PossibleValue::new(name).help(about)).collect::<Vec<_>>().into()
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let names = wanted(&args.format, args.output.as_deref(), printed());
    let session = Session::new(world);
    let style = show::style(world, &io::stderr());
    let tell = |findings: &[_]| show::message(show::findings(findings, session.files(), Format::Text, style).trim_end_matches('\n'));
    let (problems, prints) = session.card(&args.arm, &names, args.templates.as_deref(), args.language.as_deref())?;
    if !problems.is_empty() {
        tell(&problems);
    }
    match prints {
        Prints::Made(outputs) => {
            let stem = args.arm.file_stem().unwrap_or_default().to_string_lossy();
            let name = args.arm.with_file_name(format!("{stem}-card.toml"));
            deliver(&Asked { name: &name, output: args.output.as_deref() }, world, &outputs)?;
            Ok(0)
        }
        Prints::Withheld(_) => {
            show::message("nothing was written: mend what is said above");
            Ok(1)
        }
        Prints::Refused(problems) => {
            tell(&problems);
            show::message("nothing was written: the templates are at fault");
            Ok(1)
        }
    }
}
