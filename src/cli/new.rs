//! `surehand new`: a first project that checks clean.

use super::show;
use crate::error::Error;
use crate::session::{Kind, World};
use std::path::PathBuf;

/// Lay out a first project: an arm, a cell, a policy and a procedure, all invented and all explained
///
/// Writes into a folder that does not exist yet or is empty.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The folder
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

/// The files of the starter.
pub(super) const STARTER: &[(&str, &str)] = &[
    ("arms/starter.toml", include_str!("../../templates/starter/arms/starter.toml")),
    ("cells/starter.toml", include_str!("../../templates/starter/cells/starter.toml")),
    ("policy.toml", include_str!("../../templates/starter/policy.toml")),
    ("first.md", include_str!("../../templates/starter/first.md")),
];

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let folder = &args.folder;
    let refuse = |what: &str| Error::File { path: folder.display().to_string(), what: what.into() };
    match world.kind(folder) {
        Kind::Absent => {}
        Kind::Folder if world.list(folder)?.is_empty() => {}
        Kind::Folder => return Err(refuse("is not empty; nothing was written. Name a new folder")),
        Kind::File | Kind::Other => return Err(refuse("is there already and is no folder")),
    }
    for (name, text) in STARTER {
        let path = folder.join(name);
        if let Some(parent) = path.parent() {
            world.make_folder(parent)?;
        }
        show::write(world, &path, text.as_bytes())?;
    }
    let shown = folder.display();
    let mut out: String = STARTER.iter().map(|(name, _)| format!("wrote {shown}/{name}\n")).collect();
    out += &format!("\nEverything in it is invented. Next:\n  surehand check {shown}\n  surehand build {shown}/first.md\n");
    show::output(&out).map(|()| 0)
}
