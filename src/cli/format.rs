//! `surehand fmt`: steps renumbered, statements in their canonical spelling.

use super::show;
use crate::error::Error;
use crate::session::{Session, World, find};
use std::path::PathBuf;

/// Renumber steps and write statements in their canonical spelling
///
/// Words are not touched, and what cannot be read as notation is left as it stands.
#[derive(clap::Args)]
pub(super) struct Args {
    /// Procedures, or folders of procedures
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Write nothing; exit with 1 if a file would change
    #[arg(long)]
    check: bool,
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let (found, mut failures) = find(world, &args.paths);
    let session = Session::new(world);
    let (mut code, mut changed) = (0, 0);
    for file in &found {
        match session.format(file) {
            Ok(None) => {}
            Ok(Some(_)) if args.check => {
                show::message(&format!("{}: would change", file.path.display()));
                code = 1;
            }
            Ok(Some(text)) => match show::write(world, &file.path, text.as_bytes()) {
                Ok(()) => {
                    changed += 1;
                    show::message(&format!("{}: formatted", file.path.display()));
                }
                Err(error) => failures.push(error),
            },
            Err(error) => failures.push(error),
        }
    }
    for failure in &failures {
        show::message(&show::failure(failure));
    }
    if !args.check {
        show::message(&format!("{} changed", show::count(changed, "file", "files")));
    }
    Ok(failures.iter().map(Error::exit_code).fold(code, u8::max))
}
