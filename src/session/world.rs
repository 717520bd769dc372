//! The world: the only door to files and environment.
//!
//! Invariant: [`World::read`] reaches nothing outside the root it is given, whatever a procedure writes as a
//! path, and never more than [`MAX_SOURCE`] bytes. Paths below a root are [`Inside`] values, which cannot
//! be made from a path that climbs out.

use crate::error::Error;
use std::fmt;
use std::path::{Path, PathBuf};

/// The largest source that is read: 4 MiB.
pub const MAX_SOURCE: u64 = 4 * 1024 * 1024;

/// The largest compiled procedure or print that is read: 512 MiB.
pub const MAX_DATA: u64 = 512 * 1024 * 1024;

/// What stands at a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A regular file.
    File,
    /// A folder.
    Folder,
    /// A device, pipe or socket.
    Other,
    /// Nothing, or nothing that may be seen.
    Absent,
}

/// Files and environment. Everything that reads or writes goes through here, so that tests and editors can
/// put a world of their own in its place.
pub trait World: Send + Sync {
    /// The bytes of the regular file `path` beneath `root`. Symbolic links may not lead out of the root.
    fn read(&self, root: &Path, path: &Inside) -> Result<Vec<u8>, Error>;
    /// The bytes of a compiled procedure or a print, which may be longer than a source: at most [`MAX_DATA`].
    fn read_data(&self, path: &Path) -> Result<Vec<u8>, Error>;
    /// Writes a file whole or not at all: a reader sees the old content or the new, never a mixture. Returns the names
    /// of what runs that were cut off had left in the folder, and which is gone now.
    fn write(&self, path: &Path, bytes: &[u8]) -> Result<Vec<String>, Error>;
    /// Makes a folder and those above it.
    fn make_folder(&self, path: &Path) -> Result<(), Error>;
    /// What stands at `path`, links followed.
    fn kind(&self, path: &Path) -> Kind;
    /// The names in a folder, sorted; links to folders are not among them, so that a walk ends.
    fn list(&self, folder: &Path) -> Result<Vec<(String, Kind)>, Error>;
    /// The full path of something that exists, for finding the folders above it.
    fn absolute(&self, path: &Path) -> Result<PathBuf, Error>;
    /// A variable of the environment.
    fn variable(&self, name: &str) -> Option<String>;
}

/// A file error about `path`.
pub fn file_error(path: &Path, what: impl fmt::Display) -> Error {
    Error::File { path: path.display().to_string(), what: what.to_string() }
}

/// The limit error of a source that is too large.
pub fn too_large(path: &Path, most: u64) -> Error {
    let mib = most / 1024 / 1024;
    let what = if most == MAX_SOURCE {
        format!("a source file may have at most {mib} MiB; split the procedure and use perform")
    } else {
        format!("a compiled procedure or a print may have at most {mib} MiB")
    };
    Error::Limit { place: path.display().to_string(), what }
}

/// A path beneath some root: relative, with `/` between the parts, without `.` or `..`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Inside(String);

impl Inside {
    /// The root itself.
    pub const ROOT: Inside = Inside(String::new());

    /// Follows `written`, a path as an author wrote it, from this folder. The error says what is wrong with it.
    pub fn join(&self, written: &str) -> Result<Inside, &'static str> {
        if written.is_empty() {
            return Err("the path is empty");
        }
        if written.contains(|c: char| c.is_control()) {
            return Err("a path has no control characters");
        }
        if written.contains('\\') {
            return Err("write / between the parts of a path, so that it means the same on every machine");
        }
        if written.contains(':') {
            return Err("a path names a file of this project: no drive letter and no address");
        }
        if written.contains('%') {
            return Err("a path has no % escapes: write the characters themselves");
        }
        if written.starts_with('/') {
            return Err("a path is relative to the file it stands in, so that the project can be moved");
        }
        let mut parts: Vec<&str> = self.0.split('/').filter(|p| !p.is_empty()).collect();
        for part in written.split('/') {
            match part {
                "" | "." => {}
                ".." => {
                    parts.pop().ok_or("the path leads out of the project")?;
                }
                part if part.ends_with(['.', ' ']) || part.starts_with(' ') => {
                    return Err("no part of a path begins or ends in a space or ends in a dot");
                }
                part => parts.push(part),
            }
        }
        Ok(Inside(parts.join("/")))
    }
    /// The folder that holds this.
    #[must_use]
    pub fn folder(&self) -> Inside {
        Inside(self.0.rsplit_once('/').map_or(String::new(), |(folder, _)| folder.to_owned()))
    }
    /// As text with `/`.
    pub fn as_str(&self) -> &str {
        &self.0
    }
    /// The path of an existing file known to lie beneath `root`.
    pub fn beneath(root: &Path, path: &Path) -> Option<Inside> {
        let rest = path.strip_prefix(root).ok()?;
        let parts: Option<Vec<&str>> = rest
            .components()
            .map(|c| match c {
                std::path::Component::Normal(part) => part.to_str(),
                _ => None,
            })
            .collect();
        Some(Inside(parts?.join("/")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_paths_stay_inside() {
        let folder = Inside::ROOT.join("jobs/bay-3").unwrap_or(Inside::ROOT);
        let good = [("b.md", "jobs/bay-3/b.md"), ("../../arms/x.toml", "arms/x.toml"), ("./a/../b.md", "jobs/bay-3/b.md")];
        for (written, expected) in good {
            assert_eq!(folder.join(written).as_ref().map(Inside::as_str), Ok(expected));
        }
        let bad = [
            "",
            "../../../x",
            "/etc/passwd",
            "C:/x",
            "c:x",
            "..\\x",
            "\\\\host\\share",
            "a\0b",
            "a\nb",
            "%2e%2e/x",
            "x.toml.",
            "x ",
            "../../.. /x",
            "https://x.example/y",
        ];
        for written in bad {
            assert!(folder.join(written).is_err(), "{written:?} was let through");
        }
    }
}
