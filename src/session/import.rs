//! A robot description, read like every other file and made into a profile's skeleton.

use super::{Kind, Session};
use crate::error::Error;
use crate::model::import::{Skeleton, skeleton};
use std::path::Path;

impl Session<'_> {
    /// The skeleton of an arm profile from the robot description (URDF) at `path`.
    pub fn import(&self, path: &Path) -> Result<Skeleton, Error> {
        if self.world.kind(path) == Kind::Folder {
            return Err(Error::File { path: path.display().to_string(), what: "is a folder; name the description in it".into() });
        }
        let location = self.locate(path, None)?;
        let source = self.source(&location, &location.inside, self.read(&location, &location.inside)?)?;
        let file = self.files.get(source.file);
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        skeleton(&file.text, &name).map_err(|trouble| {
            let path = trouble.line.map_or_else(|| file.name.clone(), |line| format!("{}:{line}", file.name));
            Error::File { path, what: trouble.what }
        })
    }
}
