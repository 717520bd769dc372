//! From bytes to text: the encodings that are refused, and where a file lies in its project.

use super::world::{Inside, Kind, World};
use crate::error::Error;
use crate::text::FileId;
use sha2::{Digest as _, Sha256};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// A file as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// Its text, in the session's table.
    pub file: FileId,
    /// Its place in the project.
    pub inside: Inside,
    /// SHA-256 of the very bytes the text was decoded from.
    pub digest: [u8; 32],
    /// A byte order mark stood in front and was taken off.
    pub marked: bool,
    /// Its bytes, where it is no text.
    pub data: Option<Arc<[u8]>>,
}

/// Text and digest of `bytes`, or what is wrong with them.
pub(super) fn decode(bytes: Vec<u8>) -> Result<(String, [u8; 32], bool), String> {
    let digest = Sha256::digest(&bytes).into();
    let marked = bytes.starts_with(b"\xef\xbb\xbf");
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err("is UTF-16; save it as UTF-8".into());
    }
    // Other NULs are a finding with a place; this is a whole file in another encoding, saved without a mark.
    if let [first, second, ..] = bytes[..]
        && (first == 0 || second == 0)
    {
        return Err("begins with a NUL and looks like UTF-16; save it as UTF-8".into());
    }
    let mut text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let bytes = e.as_bytes();
        format!("byte {} (line {}), 0x{:02X}, is not UTF-8; save the file as UTF-8", at + 1, line(&bytes[..at]), bytes[at])
    })?;
    if marked {
        text.drain(..3);
    }
    Ok((text, digest, marked))
}

fn line(before: &[u8]) -> usize {
    before.iter().filter(|b| **b == b'\n').count() + 1
}

/// A folder that procedures lie in.
#[derive(Debug)]
pub(super) struct Folder {
    full: PathBuf,
    /// The nearest folder at or above it that holds a root mark.
    marked: Option<PathBuf>,
}

/// A folder that holds one of these is the root of a project.
const ROOT_MARKS: [&str; 2] = ["policy.toml", ".git"];

impl Folder {
    /// The folder a user calls `written`; nothing is the one they stand in.
    pub(super) fn of(world: &dyn World, written: &Path) -> Result<Folder, Error> {
        let full = world.absolute(if written.as_os_str().is_empty() { Path::new(".") } else { written })?;
        let marked = full.ancestors().find(|a| ROOT_MARKS.iter().any(|m| world.kind(&a.join(m)) != Kind::Absent));
        let marked = marked.map(Path::to_owned);
        Ok(Folder { full, marked })
    }
}

/// Where a procedure lies: the root of its project, its place beneath it, and how the user named its folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Location {
    /// The project root, as a full path.
    pub(super) root: PathBuf,
    /// The file beneath the root.
    pub(super) inside: Inside,
    /// The file's folder as the user wrote it.
    shown_folder: PathBuf,
}

impl Location {
    /// Locates `path` for a user who stands in `standing`. The root is the nearest folder at or above it that holds a root mark; else `given`, the
    /// folder named on the command line; else the folder of the file. `folder` looks at the folder of the file.
    pub(super) fn of(
        world: &dyn World,
        standing: Option<&Path>,
        path: &Path,
        given: Option<&Path>,
        folder: impl FnOnce(&Path) -> Result<Arc<Folder>, Error>,
    ) -> Result<Location, Error> {
        let name = path.file_name().and_then(|n| n.to_str());
        let Some(name) = name.filter(|_| world.kind(path) != Kind::Folder) else {
            let what = "is no file that can be read; name a procedure, or a folder to `check`".into();
            return Err(Error::File { path: path.display().to_string(), what });
        };
        let written = path.parent().unwrap_or(Path::new(""));
        // One name for one file, whether it was given with a full path, with ./ or without.
        let shown = standing.and_then(|s| written.strip_prefix(s).ok()).unwrap_or(written);
        let shown_folder = shown.strip_prefix(".").unwrap_or(shown).to_owned();
        let folder = folder(written)?;
        let root = match (&folder.marked, given) {
            (Some(root), _) => root.clone(),
            (None, Some(given)) => world.absolute(given)?,
            (None, None) => folder.full.clone(),
        };
        let inside = Inside::beneath(&root, &folder.full.join(name));
        let inside = inside.ok_or_else(|| Error::File { path: path.display().to_string(), what: "the path is not valid text".into() })?;
        Ok(Location { root, inside, shown_folder })
    }
    /// The full path of a file of the project.
    pub(super) fn full(&self, inside: &Inside) -> PathBuf {
        self.root.join(inside.as_str())
    }
    /// The name of another file of the project, relative to where the user stands.
    pub(super) fn shown(&self, other: &Inside) -> String {
        let own = self.inside.folder();
        let own: Vec<&str> = own.as_str().split('/').filter(|p| !p.is_empty()).collect();
        let other: Vec<&str> = other.as_str().split('/').collect();
        let common = own.iter().zip(&other).take_while(|(a, b)| a == b).count();
        let mut shown = self.shown_folder.clone();
        for _ in common..own.len() {
            match shown.components().next_back() {
                Some(Component::Normal(_)) => drop(shown.pop()),
                _ => shown.push(".."),
            }
        }
        shown.extend(&other[common..]);
        shown.to_str().unwrap_or_default().replace('\\', "/")
    }
}

#[cfg(test)]
mod tests {
    use super::super::MemoryWorld;
    use super::*;

    #[test]
    fn every_wrong_encoding_is_named_with_its_place() {
        for (bytes, word) in [
            (&b"\xff\xfea\0"[..], "UTF-16"),
            (b"\xfe\xff\0a", "UTF-16"),
            (b"a\0b\0", "looks like UTF-16"),
            (b"\0a\0b", "looks like UTF-16"),
            (b"one\ncaf\xe9\n", "byte 8 (line 2), 0xE9"),
        ] {
            let error = decode(bytes.to_vec()).err().unwrap_or_default();
            assert!(error.contains(word), "{bytes:?}: {error}");
        }
        let (text, digest, marked) = decode(b"\xef\xbb\xbfone".to_vec()).unwrap_or_default();
        assert_eq!((text.as_str(), marked), ("one", true));
        assert_ne!(digest, decode(b"one".to_vec()).unwrap_or_default().1, "the digest is of the bytes on disk");
    }

    #[test]
    fn the_project_root_is_found_and_names_stay_as_the_user_wrote_them() -> Result<(), Error> {
        let world = MemoryWorld::default().with("/p/policy.toml", "").with("/p/jobs/bay/a.md", "").with("/q/jobs/a.md", "");
        let of = |standing: Option<&str>, path: &str, given: Option<&str>| {
            let look = |folder: &Path| Folder::of(&world, folder).map(Arc::new);
            Location::of(&world, standing.map(Path::new), Path::new(path), given.map(Path::new), look)
        };
        let a = of(None, "/p/jobs/bay/a.md", None)?;
        assert_eq!((a.root.as_path(), a.inside.as_str()), (Path::new("/p"), "jobs/bay/a.md"));
        let arm = a.inside.folder().join("../../arms/x.toml").map_err(|e| Error::Usage(e.into()))?;
        assert_eq!(a.shown(&arm), "/p/arms/x.toml");
        let q = of(None, "/q/jobs/a.md", None)?;
        assert_eq!(q.root, Path::new("/q/jobs"));
        let q = of(None, "/q/jobs/a.md", Some("/q"))?;
        assert_eq!(q.root, Path::new("/q"));
        let shown = Location { root: "/p".into(), inside: a.inside.clone(), shown_folder: "bay".into() }.shown(&arm);
        assert_eq!(shown, "../arms/x.toml");
        let named = of(Some("/p"), "/p/jobs/bay/a.md", None)?;
        assert_eq!(named.shown(&arm), "arms/x.toml");
        Ok(())
    }
}
