//! Where finished files go: a file, a folder, beside their source, or the standard output.

use super::show;
use crate::error::Error;
use crate::session::{Kind, Output, World, of_ending};
use std::path::{Path, PathBuf};

/// What a command that makes files was told.
pub(super) struct Asked<'a> {
    /// The file whose name the outputs take where no name was given.
    pub name: &'a Path,
    /// A file, a folder, or -.
    pub output: Option<&'a Path>,
}

/// Puts every output in its place; all were made before the first is written.
pub(super) fn deliver(asked: &Asked<'_>, world: &dyn World, outputs: &[Output]) -> Result<(), Error> {
    if asked.output == Some(Path::new("-")) {
        let [one] = outputs else {
            return Err(Error::Usage("the standard output takes one format".into()));
        };
        return show::output_bytes(&one.bytes);
    }
    let targets = outputs.iter().map(|o| target(asked, world, o.extension, outputs.len())).collect::<Result<Vec<_>, _>>()?;
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

/// The formats to write, each once, out of those there are: those named; else that by which the output ends, or the first.
pub(super) fn wanted<'a>(
    named: &'a [String],
    output: Option<&Path>,
    there_are: impl Iterator<Item = (&'static str, &'static str)>,
) -> Vec<&'a str> {
    let mut names: Vec<&str> = Vec::new();
    for name in named {
        if !names.contains(&name.as_str()) {
            names.push(name);
        }
    }
    if names.is_empty() {
        let there_are: Vec<&str> = there_are.map(|(name, _)| name).collect();
        let ending = output.and_then(Path::extension).and_then(|e| e.to_str()).and_then(of_ending);
        names.extend(ending.filter(|e| there_are.contains(e)).or(there_are.first().copied()));
    }
    names
}

/// The file that an output goes to. Its ending is the format's, so that no print replaces a procedure or a model.
fn target(asked: &Asked<'_>, world: &dyn World, extension: &str, count: usize) -> Result<PathBuf, Error> {
    let Some(out) = asked.output else { return Ok(asked.name.with_extension(extension)) };
    let name = Path::new(asked.name.file_name().unwrap_or_default()).with_extension(extension);
    let ending = out.extension().and_then(|e| e.to_str());
    if world.kind(out) == Kind::Folder || out.to_string_lossy().ends_with(['/', '\\']) || ending.is_none() {
        return Ok(out.join(name));
    }
    if count > 1 {
        return Err(Error::Usage(format!("several formats go into a folder, and {} is none", out.display())));
    }
    if ending != Some(extension) {
        return Err(Error::Usage(format!("{} must end in .{extension}, or be a folder", out.display())));
    }
    Ok(out.to_owned())
}
