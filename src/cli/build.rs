//! `surehand build`: a checked procedure as a numbered work instruction.

use super::deliver::{Asked, deliver, wanted};
use super::show::{self, Format};
use crate::diag::Severity;
use crate::document::build::{Edition, Figures};
use crate::error::Error;
use crate::session::{Prints, Session, Wish, World, formats};
use crate::template;
use crate::template::theme::{PRESETS, preset};
use crate::words::LANGUAGES;
use clap::builder::{PossibleValue, PossibleValuesParser};
use std::io;
use std::mem::ManuallyDrop;
use std::path::PathBuf;

/// Print a procedure as a numbered work instruction
///
/// Nothing is written while an error stands, unless a draft is asked for; a draft says so on every page. Each file
/// is put in place whole: a print that fails leaves the earlier one as it was.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The procedure
    #[arg(value_name = "PATH")]
    path: PathBuf,
    /// What to write: a file (with one format), a folder, or - for the standard output
    ///
    /// A name without an ending is a folder, which is made if it is not there. Without it the print stands beside the procedure under the same name.
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// The formats to write, several with commas; that by which OUT ends, or pdf, if left out
    #[arg(long, value_name = "FORMAT", value_delimiter = ',', value_parser = names())]
    format: Vec<String>,
    /// Write even while errors stand, marked DRAFT on every page
    #[arg(long)]
    draft: bool,
    /// A folder of the site's own templates and words (*.html, theme.toml, words.toml, words.TAG.toml), laid over the built-in ones
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,
    /// Which steps are drawn, from above and from the side, under their row
    ///
    /// If left out: near; in the training edition, all.
    #[arg(long, value_name = "WHICH", value_parser = figures())]
    figures: Option<String>,
    /// For whom the print is made
    #[arg(long, value_name = "EDITION", default_value = Edition::default().word(), value_parser = editions())]
    edition: String,
    /// Sizes of the print, for whom it is; the policy's if left out
    #[arg(long, value_name = "PRESET", value_parser = presets())]
    preset: Option<String>,
    #[arg(long, value_name = "TAG", help = language("the policy's"))]
    language: Option<String>,
    /// An earlier revision, its source or its print (PDF): what differs from it gets a bar in the margin and is listed
    #[arg(long, value_name = "EARLIER")]
    since: Option<PathBuf>,
}

/// On the language of a print, with those that are built in.
pub(super) fn language(otherwise: &str) -> String {
    let built_in: Vec<String> = LANGUAGES.iter().map(|l| format!("{} ({})", l.tag, l.name)).collect();
    format!(
        "The language of what is printed and neither procedure nor models say: {}, or a site's own; {otherwise} if left out",
        built_in.join(", ")
    )
}

fn presets() -> PossibleValuesParser {
    PRESETS.iter().map(|p| PossibleValue::new(p.name).help(p.about)).collect::<Vec<_>>().into()
}

fn editions() -> PossibleValuesParser {
    Edition::ALL.map(|(name, _, about)| PossibleValue::new(name).help(about)).to_vec().into()
}

fn figures() -> PossibleValuesParser {
    Figures::ALL.map(|(name, _, about)| PossibleValue::new(name).help(about)).to_vec().into()
}

fn names() -> PossibleValuesParser {
    formats().map(|(name, about)| PossibleValue::new(name).help(about)).collect::<Vec<_>>().into()
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let names = wanted(&args.format, args.output.as_deref(), formats());
    // This thread works with the others: to hand work over and wait for it costs a short run more than it gains.
    let _ = rayon::ThreadPoolBuilder::new().use_current_thread().build_global();
    // The process ends with them: the system takes back at once what would be let go of piece by piece.
    let session = ManuallyDrop::new(Session::new(world));
    let (compilation, ()) = rayon::join(|| session.compile(&args.path), template::read_ahead);
    let compilation = ManuallyDrop::new(compilation?);
    let style = show::style(world, &io::stderr());
    let tell = |findings: &[_]| show::message(show::findings(findings, session.files(), Format::Text, style).trim_end_matches('\n'));
    if !compilation.findings.is_empty() {
        tell(&compilation.findings);
    }
    let since = args.since.as_ref().map(|path| session.revision(path)).transpose()?;
    let edition = Edition::named(&args.edition).unwrap_or_default();
    let wish = Wish {
        site: args.templates.as_deref(),
        draft: args.draft,
        figures: args.figures.as_deref().and_then(Figures::named).unwrap_or(edition.figures()),
        edition,
        preset: args.preset.as_deref().and_then(preset).map(|p| p.name),
        since: since.as_ref(),
        language: args.language.as_deref(),
    };
    match session.print(&compilation, &names, &wish)? {
        Prints::Made(outputs) => {
            deliver(&Asked { name: &args.path, output: args.output.as_deref() }, world, &outputs)?;
            Ok(u8::from(compilation.findings.iter().any(|f| f.severity == Severity::Error)))
        }
        Prints::Withheld(errors) => {
            let stand = if errors == 1 { "1 error stands".into() } else { format!("{errors} errors stand") };
            let way = if args.draft {
                "a draft needs models that can be read"
            } else {
                "mend what is said above, or add --draft for pages marked DRAFT"
            };
            show::message(&format!("nothing was written: {stand}; {way}"));
            Ok(1)
        }
        Prints::Refused(problems) => {
            tell(&problems);
            show::message("nothing was written: the templates are at fault");
            Ok(1)
        }
    }
}
