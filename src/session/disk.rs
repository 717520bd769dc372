//! The real world.

use super::world::{Inside, Kind, MAX_DATA, MAX_SOURCE, World, file_error, too_large};
use super::write;
use crate::error::Error;
use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// Files on disk and the process environment.
#[derive(Clone, Copy, Debug, Default)]
pub struct DiskWorld;

impl World for DiskWorld {
    fn read(&self, root: &Path, path: &Inside) -> Result<Vec<u8>, Error> {
        let full = root.join(path.as_str());
        // Resolve every link first and judge where it really leads, then open that and nothing else.
        let real_root = fs::canonicalize(root).map_err(|e| file_error(root, explain(&e)))?;
        let real = fs::canonicalize(&full).map_err(|e| file_error(&full, explain(&e)))?;
        if !real.starts_with(&real_root) {
            return Err(file_error(&full, "is a link that leads out of the project; put the file itself there"));
        }
        plain(&full, &real, MAX_SOURCE)
    }
    fn read_data(&self, path: &Path) -> Result<Vec<u8>, Error> {
        let real = fs::canonicalize(path).map_err(|e| file_error(path, explain(&e)))?;
        plain(path, &real, MAX_DATA)
    }
    fn write(&self, path: &Path, bytes: &[u8]) -> Result<Vec<String>, Error> {
        write::replace(path, bytes, &|_| Ok(()))
    }
    fn make_folder(&self, path: &Path) -> Result<(), Error> {
        fs::create_dir_all(path).map_err(|e| file_error(path, explain(&e)))
    }
    fn kind(&self, path: &Path) -> Kind {
        fs::metadata(path).map_or(Kind::Absent, |m| kind_of(m.file_type()))
    }
    fn list(&self, folder: &Path) -> Result<Vec<(String, Kind)>, Error> {
        let failed = |e: io::Error| file_error(folder, explain(&e));
        let mut out = Vec::new();
        for entry in fs::read_dir(folder).map_err(failed)? {
            let entry = entry.map_err(failed)?;
            let kind = match kind_of(entry.file_type().map_err(failed)?) {
                Kind::Other => match self.kind(&entry.path()) {
                    Kind::Folder => continue,
                    kind => kind,
                },
                kind => kind,
            };
            // A name that is not text cannot be cited in a message or a link.
            if let Ok(name) = entry.file_name().into_string() {
                out.push((name, kind));
            }
        }
        out.sort_unstable_by(|a, b| a.0.cmp(&b.0));
        Ok(out)
    }
    fn absolute(&self, path: &Path) -> Result<PathBuf, Error> {
        fs::canonicalize(path).map_err(|e| file_error(path, explain(&e)))
    }
    fn variable(&self, name: &str) -> Option<String> {
        std::env::var(name).ok()
    }
}

fn kind_of(kind: fs::FileType) -> Kind {
    if kind.is_file() {
        Kind::File
    } else if kind.is_dir() {
        Kind::Folder
    } else {
        Kind::Other
    }
}

fn regular(path: &Path, meta: &fs::Metadata) -> Result<(), Error> {
    match kind_of(meta.file_type()) {
        Kind::File => Ok(()),
        Kind::Folder => Err(file_error(path, "is a folder where a file is wanted")),
        _ => Err(file_error(path, "is a device, pipe or socket; only plain files are read")),
    }
}

/// The bytes of the plain file at `real`, whose links are resolved; errors name it `shown`.
fn plain(shown: &Path, real: &Path, most: u64) -> Result<Vec<u8>, Error> {
    let failed = |e: io::Error| file_error(shown, explain(&e));
    // Looked at before opening, because opening a pipe waits for a writer.
    let before = fs::symlink_metadata(real).map_err(failed)?;
    regular(shown, &before)?;
    let file = File::open(real).map_err(failed)?;
    let opened = file.metadata().map_err(failed)?;
    regular(shown, &opened)?;
    if !same_file(&before, &opened) {
        return Err(file_error(shown, "was exchanged while it was being opened; try again"));
    }
    bounded(file, opened.len(), shown, most)
}

/// Reads at most the limit, judging the size first and never trusting it.
fn bounded(file: impl io::Read, size: u64, path: &Path, most: u64) -> Result<Vec<u8>, Error> {
    if size > most {
        return Err(too_large(path, most));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(size).unwrap_or(0) + 1);
    file.take(most + 1).read_to_end(&mut bytes).map_err(|e| file_error(path, explain(&e)))?;
    if bytes.len() as u64 > most { Err(too_large(path, most)) } else { Ok(bytes) }
}

#[cfg(unix)]
fn same_file(a: &fs::Metadata, b: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    (a.dev(), a.ino()) == (b.dev(), b.ino())
}
#[cfg(not(unix))]
fn same_file(a: &fs::Metadata, b: &fs::Metadata) -> bool {
    a.len() == b.len() && a.created().ok() == b.created().ok()
}

/// The usual failures in words; others as the system says them.
fn explain(e: &io::Error) -> String {
    match e.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".into(),
        io::ErrorKind::PermissionDenied => "may not be read: permission denied".into(),
        io::ErrorKind::NotADirectory => "a part of the path is a file where a folder is wanted".into(),
        _ => e.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(root: &Path, path: &str) -> Result<Vec<u8>, String> {
        let inside = Inside::ROOT.join(path).map_err(str::to_owned)?;
        DiskWorld.read(root, &inside).map_err(|e| e.to_string())
    }

    #[cfg(unix)]
    #[test]
    fn links_may_not_lead_out_and_only_plain_files_are_read() -> io::Result<()> {
        let outer = tempfile::tempdir()?;
        let root = outer.path().join("project");
        fs::create_dir_all(root.join("arms"))?;
        fs::write(outer.path().join("secret"), "secret")?;
        fs::write(root.join("arms/x.toml"), "inside")?;
        std::os::unix::fs::symlink("../secret", root.join("out"))?;
        std::os::unix::fs::symlink("..", root.join("up"))?;
        std::os::unix::fs::symlink("arms/x.toml", root.join("in"))?;
        std::os::unix::fs::symlink("/dev/zero", root.join("zero"))?;
        let _socket = std::os::unix::net::UnixListener::bind(root.join("socket"))?;
        assert_eq!(read(&root, "in").as_deref(), Ok(&b"inside"[..]));
        for (path, word) in [
            ("out", "leads out"),
            ("up/secret", "leads out"),
            ("zero", "leads out"),
            ("arms", "is a folder"),
            ("socket", "device, pipe or socket"),
            ("none", "no such file"),
            ("in/x", "where a folder is wanted"),
        ] {
            let error = read(&root, path).err().unwrap_or_default();
            assert!(error.contains(word), "{path}: {error}");
        }
        Ok(())
    }

    #[test]
    fn the_size_is_judged_before_and_while_reading() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let file = File::create(folder.path().join("big"))?;
        file.set_len(MAX_SOURCE)?;
        assert_eq!(read(folder.path(), "big").map(|b| b.len() as u64), Ok(MAX_SOURCE));
        file.set_len(1 << 40)?;
        assert!(read(folder.path(), "big").is_err_and(|e| e.contains("4 MiB")));
        // A source that says it is small and never ends.
        let endless = bounded(io::repeat(b'x'), 0, Path::new("pipe"), MAX_SOURCE);
        assert!(endless.is_err_and(|e| e.to_string().contains("4 MiB")));
        Ok(())
    }
}
