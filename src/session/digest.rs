//! Which file of a folder a digest belongs to.

use super::world::{Kind, World, file_error};
use crate::error::Error;
use sha2::{Digest as _, Sha256};
use std::path::{Path, PathBuf};

/// A model, and the file that has its digest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Digested {
    /// `arm`, `cell` or `policy`.
    pub kind: String,
    /// Its name.
    pub name: String,
    /// The file; none if no file of the folder has the digest, or none was told.
    pub file: Option<String>,
}

/// Folders deeper than this below the given one are not searched.
const DEEPEST: usize = 16;

/// Looks in `folder` and below for the model files (`*.toml`) of `models`: kind, name, SHA-256 in hexadecimal.
pub fn digests(world: &dyn World, folder: &Path, models: &[(String, String, Option<String>)]) -> Result<Vec<Digested>, Error> {
    if world.kind(folder) != Kind::Folder {
        return Err(file_error(folder, "is no folder of model files"));
    }
    let mut files = Vec::new();
    walk(world, folder, 0, &mut files)?;
    let named = |(kind, name, digest): &(String, String, Option<String>)| {
        let file = digest.as_ref().and_then(|d| files.iter().find(|(_, is)| is.eq_ignore_ascii_case(d)));
        Digested { kind: kind.clone(), name: name.clone(), file: file.map(|(path, _)| path.display().to_string()) }
    };
    Ok(models.iter().map(named).collect())
}

fn walk(world: &dyn World, folder: &Path, depth: usize, out: &mut Vec<(PathBuf, String)>) -> Result<(), Error> {
    for (name, kind) in world.list(folder)?.into_iter().filter(|(name, _)| !name.starts_with('.')) {
        let path = folder.join(&name);
        match kind {
            Kind::Folder if depth < DEEPEST => walk(world, &path, depth + 1, out)?,
            Kind::File if name.ends_with(".toml") => {
                let digest = hex(&Sha256::digest(world.read_data(&path)?));
                out.push((path, digest));
            }
            _ => {}
        }
    }
    Ok(())
}

/// Hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
