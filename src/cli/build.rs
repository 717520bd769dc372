//! `surehand build`: a checked procedure as a numbered work instruction.

use super::show::{self, Format};
use crate::diag::Severity;
use crate::document::build::Figures;
use crate::error::Error;
use crate::session::{Kind, Output, Prints, Session, World, formats};
use clap::builder::{PossibleValue, PossibleValuesParser};
use std::io;
use std::path::{Path, PathBuf};

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
    /// Without it the print stands beside the procedure under the same name.
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// The formats to write, several with commas
    #[arg(long, value_name = "FORMAT", value_delimiter = ',', default_value = "pdf", value_parser = names())]
    format: Vec<String>,
    /// Write even while errors stand, marked DRAFT on every page
    #[arg(long)]
    draft: bool,
    /// A folder of the site's own templates (*.html, theme.toml), laid over the built-in ones
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,
    /// Which steps are drawn, from above and from the side, under their row
    #[arg(long, value_name = "WHICH", default_value = Figures::default().word(), value_parser = figures())]
    figures: String,
}

fn figures() -> PossibleValuesParser {
    Figures::ALL.map(|(name, _, about)| PossibleValue::new(name).help(about)).to_vec().into()
}

fn names() -> PossibleValuesParser {
    formats().map(|(name, about)| PossibleValue::new(name).help(about)).collect::<Vec<_>>().into()
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let mut names: Vec<&str> = Vec::new();
    for name in &args.format {
        if !names.contains(&name.as_str()) {
            names.push(name);
        }
    }
    let session = Session::new(world);
    let compilation = session.compile(&args.path)?;
    let style = show::style(world, &io::stderr());
    let tell = |findings: &[_]| show::message(show::findings(findings, session.files(), Format::Text, style).trim_end_matches('\n'));
    if !compilation.findings.is_empty() {
        tell(&compilation.findings);
    }
    match session.print(&compilation, &names, args.templates.as_deref(), args.draft, Figures::named(&args.figures).unwrap_or_default())? {
        Prints::Made(outputs) => {
            deliver(args, world, &outputs)?;
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

/// Puts every output in its place; all were made before the first is written.
fn deliver(args: &Args, world: &dyn World, outputs: &[Output]) -> Result<(), Error> {
    if args.output.as_deref() == Some(Path::new("-")) {
        let [one] = outputs else {
            return Err(Error::Usage("the standard output takes one format".into()));
        };
        return show::output_bytes(&one.bytes);
    }
    let targets = outputs.iter().map(|o| target(args, world, o.extension, outputs.len())).collect::<Result<Vec<_>, _>>()?;
    for (output, target) in outputs.iter().zip(&targets) {
        if let Some(folder) = target.parent().filter(|f| !f.as_os_str().is_empty()) {
            world.make_folder(folder)?;
        }
        show::write(world, target, &output.bytes)?;
        let pages = output.pages.map_or(String::new(), |n| format!(" ({})", show::count(n, "page", "pages")));
        show::output(&format!("wrote {}{pages}\n", target.display()))?;
    }
    Ok(())
}

/// The file that an output goes to. Its ending is the format's, so that no print replaces a procedure or a model.
fn target(args: &Args, world: &dyn World, extension: &str, count: usize) -> Result<PathBuf, Error> {
    let Some(out) = &args.output else { return Ok(args.path.with_extension(extension)) };
    let name = Path::new(args.path.file_name().unwrap_or_default()).with_extension(extension);
    let ending = out.extension().and_then(|e| e.to_str());
    if world.kind(out) == Kind::Folder || out.to_string_lossy().ends_with(['/', '\\']) || (count > 1 && ending.is_none()) {
        return Ok(out.join(name));
    }
    if count > 1 {
        return Err(Error::Usage(format!("several formats go into a folder, and {} is none", out.display())));
    }
    if ending != Some(extension) {
        return Err(Error::Usage(format!("{} must end in .{extension}, or be a folder", out.display())));
    }
    Ok(out.clone())
}
