//! The mesh files that a model names: read through the world like every other file, beneath the root of the project.

use super::Session;
use super::compile::missing;
use super::rules::UNUSABLE_PATH;
use super::source::{Location, Source};
use super::world::{Inside, MAX_SOURCE};
use crate::diag::Diagnostic;
use crate::error::Error;
use crate::model::mesh::MeshFile;
use crate::text::File;
use sha2::{Digest as _, Sha256};

/// Fills `files`, which the model file `from` names. Gives what was read, and what cannot be had.
pub(super) fn fill(
    session: &Session<'_>,
    location: &Location,
    from: &Inside,
    files: Vec<&mut MeshFile>,
) -> Result<(Vec<Source>, Vec<Diagnostic>), Error> {
    let (mut sources, mut problems) = (Vec::new(), Vec::new());
    for file in files {
        let (written, span) = (file.path.value.clone(), file.path.span);
        let inside = match from.folder().join(&written) {
            Ok(inside) => inside,
            Err(why) => {
                problems.push(UNUSABLE_PATH.at(span, format!("`{}` cannot be followed: {why}", written.escape_debug())));
                continue;
            }
        };
        if !session.exists(location, &inside) {
            problems.push(missing(session, location, &inside, span));
            continue;
        }
        let bytes = session.read(location, &inside).map_err(|e| match e {
            Error::Limit { place, .. } => {
                let most = MAX_SOURCE / 1024 / 1024;
                Error::Limit {
                    place,
                    what: format!("a mesh file may have at most {most} MiB; export a coarser mesh that encloses the part"),
                }
            }
            other => other,
        })?;
        let digest = Sha256::digest(&bytes).into();
        problems.extend(file.fill(&bytes, digest).err().map(|d| *d));
        // No finding points into it: it is here to be listed and for its digest.
        let name = session.files.add(File::new(location.shown(&inside), ""));
        sources.push(Source { file: name, inside, digest, marked: false, data: Some(bytes.into()) });
    }
    Ok((sources, problems))
}
