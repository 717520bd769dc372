//! A world in memory, alone or laid over another: for tests, and for an editor's unsaved files.

use super::world::{Inside, Kind, MAX_SOURCE, World, file_error, too_large};
use crate::error::Error;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Files in memory. What is not here is looked for in the world beneath, if there is one.
#[derive(Default)]
pub struct MemoryWorld {
    files: Mutex<BTreeMap<PathBuf, Vec<u8>>>,
    beneath: Option<Box<dyn World>>,
}

impl MemoryWorld {
    /// An empty world over another one.
    pub fn over(beneath: impl World + 'static) -> MemoryWorld {
        MemoryWorld { beneath: Some(Box::new(beneath)), ..MemoryWorld::default() }
    }
    /// Puts a file in place.
    #[must_use]
    pub fn with(self, path: impl Into<PathBuf>, bytes: impl Into<Vec<u8>>) -> MemoryWorld {
        self.files().insert(path.into(), bytes.into());
        self
    }
    /// The content of a file of this world itself.
    pub fn get(&self, path: impl AsRef<Path>) -> Option<Vec<u8>> {
        self.files().get(path.as_ref()).cloned()
    }
    fn files(&self) -> MutexGuard<'_, BTreeMap<PathBuf, Vec<u8>>> {
        self.files.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl World for MemoryWorld {
    fn read(&self, root: &Path, path: &Inside) -> Result<Vec<u8>, Error> {
        let full = root.join(path.as_str());
        match (self.get(&full), &self.beneath) {
            (Some(bytes), _) if bytes.len() as u64 > MAX_SOURCE => Err(too_large(&full, MAX_SOURCE)),
            (Some(bytes), _) => Ok(bytes),
            (None, Some(beneath)) => beneath.read(root, path),
            (None, None) => Err(file_error(&full, "there is no such file or folder")),
        }
    }
    fn read_data(&self, path: &Path) -> Result<Vec<u8>, Error> {
        match (self.get(path), &self.beneath) {
            (Some(bytes), _) => Ok(bytes),
            (None, Some(beneath)) => beneath.read_data(path),
            (None, None) => Err(file_error(path, "there is no such file or folder")),
        }
    }
    fn write(&self, path: &Path, bytes: &[u8]) -> Result<Vec<String>, Error> {
        self.files().insert(path.to_owned(), bytes.to_owned());
        Ok(Vec::new())
    }
    fn make_folder(&self, _: &Path) -> Result<(), Error> {
        Ok(())
    }
    fn kind(&self, path: &Path) -> Kind {
        let files = self.files();
        if files.contains_key(path) {
            Kind::File
        } else if files.range(path.to_owned()..).next().is_some_and(|(k, _)| k.starts_with(path)) {
            Kind::Folder
        } else {
            self.beneath.as_ref().map_or(Kind::Absent, |b| b.kind(path))
        }
    }
    fn list(&self, folder: &Path) -> Result<Vec<(String, Kind)>, Error> {
        let mut out: BTreeMap<String, Kind> = match &self.beneath {
            Some(beneath) if beneath.kind(folder) == Kind::Folder => beneath.list(folder)?.into_iter().collect(),
            _ => BTreeMap::new(),
        };
        for key in self.files().keys() {
            let mut rest = key.strip_prefix(folder).into_iter().flat_map(Path::components);
            if let Some(name) = rest.next() {
                let kind = if rest.next().is_some() { Kind::Folder } else { Kind::File };
                out.insert(name.as_os_str().to_string_lossy().into_owned(), kind);
            }
        }
        Ok(out.into_iter().collect())
    }
    fn absolute(&self, path: &Path) -> Result<PathBuf, Error> {
        match (self.kind(path), &self.beneath) {
            (Kind::Absent, _) => Err(file_error(path, "there is no such file or folder")),
            (_, Some(beneath)) => Ok(beneath.absolute(path).unwrap_or_else(|_| path.to_owned())),
            (_, None) => Ok(path.to_owned()),
        }
    }
    fn variable(&self, name: &str) -> Option<String> {
        self.beneath.as_ref().and_then(|b| b.variable(name))
    }
}
