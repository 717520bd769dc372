//! `surehand import`: an open robot description as the skeleton of an arm profile.

use super::show;
use crate::diag::render;
use crate::error::Error;
use crate::session::{Kind, Session, World};
use std::path::{Path, PathBuf};

/// Make the skeleton of an arm profile from an open robot description (URDF)
///
/// Joints, axes, limits, rates, masses, centres and collision shapes are carried over. What no description can say
/// (direction words, engraved names, stopping tolerances, the console, the jaw) stands in the skeleton as lines to be
/// filled in, and is listed. The skeleton is marked as invented: nothing over it can be approved. What stands where it
/// is to be written stays, unless --force is given.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The description
    #[arg(value_name = "FILE.urdf")]
    path: PathBuf,
    /// Where to write, or - for the standard output; without it, beside the description with the ending .toml
    #[arg(short, long, value_name = "OUT.toml")]
    output: Option<PathBuf>,
    /// Write over a file that is there already
    #[arg(long)]
    force: bool,
}

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let skeleton = Session::new(world).import(&args.path)?;
    if args.output.as_deref() == Some(Path::new("-")) {
        return show::output(&skeleton.text).map(|()| 0);
    }
    let target = args.output.clone().unwrap_or_else(|| args.path.with_extension("toml"));
    if world.kind(&target) != Kind::Absent && !args.force {
        let what = "is there already; nothing was written. Name another file with --output, or write over it with --force";
        return Err(Error::File { path: target.display().to_string(), what: what.into() });
    }
    show::write(world, &target, skeleton.text.as_bytes())?;
    let (joints, links) = (show::count(skeleton.joints, "joint", "joints"), show::count(skeleton.links, "link", "links"));
    let mut out = format!(
        "wrote {}: {joints}, {links}; marked as invented, nothing over it can be approved\n",
        render::clean(&target.display().to_string())
    );
    out += "\nMust be added or settled before it is a profile (the lines that begin with #? in the file):\n";
    for line in &skeleton.to_add {
        out += &format!("- {}\n", render::clean(line));
    }
    show::output(&out).map(|()| 0)
}
