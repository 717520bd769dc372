//! `surehand readback`: a print found later, against the sources it carries.

use super::show;
use crate::diag::render::clean;
use crate::error::Error;
use crate::session::{Bytes, World, recall};
use std::path::PathBuf;

/// Compare a print (PDF) with the sources it carries
///
/// Takes the sources out of the file, compiles them again in memory with this program, compares what comes out with the
/// compiled procedure in the file, and reads every printed value back from the pages. Nothing but the file is read.
///
/// That the sources are those that were approved, this does not tell: compare the content digest on page 1 with that of the
/// approval.
///
/// Exit code 0: everything agrees. 1: something differs. 3: the file cannot be read, is no print of this program, or one of
/// another version of it.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The print
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

/// Most differences that are written.
const MOST_SHOWN: usize = 40;

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let path = args.file.display();
    let bytes = world.read_data(&args.file)?;
    let found = recall(&args.file, &bytes)?;
    let mut lines: Vec<String> = Vec::new();
    lines.extend(Some(found.title.clone()).filter(|t| !t.is_empty()));
    lines.extend(found.differences.iter().take(MOST_SHOWN).map(|difference| format!("differs: {difference}")));
    let more = found.differences.len().checked_sub(MOST_SHOWN).filter(|n| *n > 0);
    lines.extend(more.map(|n| format!("and {n} more")));
    lines.extend(found.filled.iter().map(|(name, value)| format!("filled in: {name}: {value}")));
    lines.extend(match found.bytes {
        Bytes::Same => Some("the file is what this program prints from the sources in it, byte for byte".to_owned()),
        Bytes::Added(n) => {
            let behind = show::count(n, "byte was", "bytes were");
            Some(format!("the file begins with the print, byte for byte; {behind} added behind it, as by filling it in"))
        }
        Bytes::Others => Some("the file is not the print byte for byte: another program has written it anew, or it was changed".to_owned()),
        Bytes::Unknown => None,
    });
    show::output(&lines.iter().map(|line| clean(line) + "\n").collect::<String>())?;
    let pages = found.pages.map_or(String::new(), |n| format!(" on {}", show::count(n, "page", "pages")));
    show::message(&match found.differences.len() {
        0 => format!("{path}: the print agrees with the sources in it: {}{pages}", show::count(found.values, "value", "values")),
        n => format!("{path}: {} between the print and the sources in it", show::count(n, "difference", "differences")),
    });
    Ok(u8::from(!found.differences.is_empty()))
}
