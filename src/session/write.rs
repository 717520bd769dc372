//! Putting a file in place whole or not at all.
//!
//! Invariant: whatever fails, the old content stands untouched and no part of the new one can be taken for an
//! output: the new bytes are written and flushed under another name in the same folder, then renamed. What a run that
//! was cut off has left under such a name is swept by the next that writes to the folder.

use super::world::file_error;
use crate::error::Error;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;

/// The stages of one write, in order; a test can make each of them fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stage {
    Create,
    Write,
    Flush,
    Rename,
    FlushFolder,
}

/// The ending of the names that unfinished files have.
const ENDING: &str = ".surehand-tmp";
/// How old a leftover is before it is swept, so that nothing is taken from a run on another machine that shares the folder.
const STALE: Duration = Duration::from_secs(60);

/// Replaces or creates `target`. `before` is asked before each stage. Returns the names of the leftovers it has swept.
pub(super) fn replace(target: &Path, bytes: &[u8], before: &dyn Fn(Stage) -> io::Result<()>) -> Result<Vec<String>, Error> {
    let mode = admit(target)?;
    let folder = folder_of(target);
    let temporary = temporary_name(target);
    let failed = |e: io::Error| file_error(target, format!("not written, and what stood there before is untouched: {e}"));
    before(Stage::Create).and_then(|()| create(&temporary)).map_err(failed).and_then(|file| {
        let done = fill(file, bytes, mode, before).and_then(|()| {
            before(Stage::Rename)?;
            fs::rename(&temporary, target)
        });
        if done.is_err() {
            // The first failure is the one to report; a leftover is harmless and named as ours.
            let _ = fs::remove_file(&temporary);
        }
        done.map_err(failed)
    })?;
    let swept = sweep(folder, target);
    let flushed = before(Stage::FlushFolder).and_then(|()| File::open(folder)?.sync_all());
    flushed.map(|()| swept).map_err(|e| file_error(target, format!("written, but the folder could not be flushed to disk: {e}")))
}

/// Removes what runs that are no more have left in a folder. `fresh` was just written there: its time is the folder's
/// own now. What cannot be looked at or removed stays; it is harmless.
fn sweep(folder: &Path, fresh: &Path) -> Vec<String> {
    let Some(now) = fs::metadata(fresh).and_then(|m| m.modified()).ok() else { return Vec::new() };
    let mut swept = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let Some(name) = entry.file_name().to_str().filter(|n| writer(n).is_some_and(is_gone)).map(str::to_owned) else { continue };
        // Of the entry itself, not of what a link leads to.
        let Some(meta) = entry.metadata().ok().filter(fs::Metadata::is_file) else { continue };
        let stale = meta.modified().ok().and_then(|then| now.duration_since(then).ok()).is_some_and(|age| age > STALE);
        if stale && fs::remove_file(entry.path()).is_ok() {
            swept.push(name);
        }
    }
    swept.sort_unstable();
    swept
}

/// The process that gave an unfinished file its name: `.NAME.PID-N.surehand-tmp`.
fn writer(name: &str) -> Option<u32> {
    let (name, unique) = name.strip_prefix('.')?.strip_suffix(ENDING)?.rsplit_once('.')?;
    let (process, count) = unique.split_once('-')?;
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    (!name.is_empty() && digits(process) && digits(count)).then(|| process.parse().ok()).flatten()
}

/// Whether a process has ended. Where that cannot be told, none has.
fn is_gone(process: u32) -> bool {
    let processes = Path::new("/proc");
    processes.join("self").exists() && !processes.join(process.to_string()).exists()
}

fn fill(mut file: File, bytes: &[u8], mode: u32, before: &dyn Fn(Stage) -> io::Result<()>) -> io::Result<()> {
    before(Stage::Write)?;
    file.write_all(bytes)?;
    set_mode(&file, mode)?;
    before(Stage::Flush)?;
    file.sync_all()
}

/// Refuses targets that are not plain files; returns the permissions the new file gets.
fn admit(target: &Path) -> Result<u32, Error> {
    if target.file_name().is_none() {
        return Err(file_error(target, "not the name of a file"));
    }
    match fs::symlink_metadata(target) {
        Ok(meta) if meta.is_file() => Ok(mode_of(&meta)),
        Ok(meta) if meta.is_dir() => Err(file_error(target, "is a folder; name a file to write")),
        Ok(meta) if meta.is_symlink() => Err(file_error(target, "is a symbolic link; name the file itself")),
        Ok(_) => Err(file_error(target, "is a device, pipe or socket; name a plain file")),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            // Never more readable than the folder it stands in.
            fs::metadata(folder_of(target)).map(|m| mode_of(&m) & 0o666).map_err(|e| file_error(folder_of(target), e))
        }
        Err(e) => Err(file_error(target, e)),
    }
}

fn folder_of(target: &Path) -> &Path {
    target.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A name in the same folder that two runs, or two threads of one run, cannot share.
fn temporary_name(target: &Path) -> PathBuf {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    target.with_file_name(format!(".{name}.{}-{}{ENDING}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed)))
}

fn create(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

#[cfg(unix)]
fn mode_of(meta: &fs::Metadata) -> u32 {
    std::os::unix::fs::PermissionsExt::mode(&meta.permissions())
}
#[cfg(unix)]
fn set_mode(file: &File, mode: u32) -> io::Result<()> {
    file.set_permissions(std::os::unix::fs::PermissionsExt::from_mode(mode & 0o777))
}
#[cfg(not(unix))]
fn mode_of(_: &fs::Metadata) -> u32 {
    0
}
#[cfg(not(unix))]
fn set_mode(_: &File, _: u32) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        entries.map(|e| e.file_name().to_string_lossy().into_owned()).collect()
    }

    #[test]
    fn each_failing_stage_leaves_the_old_file_or_the_whole_new_one() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let target = folder.path().join("b3.pdf");
        for stage in [Stage::Create, Stage::Write, Stage::Flush, Stage::Rename, Stage::FlushFolder] {
            fs::write(&target, "old")?;
            let result = replace(&target, b"new", &|s| if s == stage { Err(io::ErrorKind::StorageFull.into()) } else { Ok(()) });
            let message = result.err().map(|e| e.to_string()).unwrap_or_default();
            assert!(message.contains("b3.pdf") && message.contains("no storage space"), "{stage:?}: {message}");
            let expected = if stage == Stage::FlushFolder { "new" } else { "old" };
            assert_eq!(fs::read_to_string(&target)?, expected, "{stage:?}");
            assert_eq!(names(folder.path()), ["b3.pdf"], "{stage:?} left something behind");
        }
        assert!(replace(&target, b"new", &|_| Ok(())).is_ok());
        assert_eq!(fs::read_to_string(&target)?, "new");
        Ok(())
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn only_leftovers_of_ended_runs_are_swept() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let mut ended = std::process::Command::new("true").spawn()?;
        let (dead, alive) = (ended.id(), std::process::id());
        ended.wait()?;
        let old = File::open(folder.path())?.metadata()?.modified()? - 2 * STALE;
        let leave = |name: String, stale: bool| -> io::Result<()> {
            let file = File::create(folder.path().join(name))?;
            if stale { file.set_modified(old) } else { Ok(()) }
        };
        let gone = [format!(".a.pdf.{dead}-0.surehand-tmp"), format!(".b.v2.html.{dead}-17.surehand-tmp")];
        let kept = [
            format!(".a.pdf.{alive}-9999.surehand-tmp"),
            format!("a.pdf.{dead}-0.surehand-tmp"),
            format!(".a.pdf.{dead}-0.other-tmp"),
            format!(".a.pdf.{dead}-x.surehand-tmp"),
            format!(".a.pdf.+{dead}-0.surehand-tmp"),
            ".notes.surehand-tmp".to_owned(),
        ];
        gone.iter().chain(&kept).try_for_each(|name| leave(name.clone(), true))?;
        let young = format!(".a.pdf.{dead}-1.surehand-tmp");
        leave(young.clone(), false)?;
        let link = format!(".a.pdf.{dead}-2.surehand-tmp");
        std::os::unix::fs::symlink(folder.path().join(&kept[0]), folder.path().join(&link))?;
        let swept = replace(&folder.path().join("c.txt"), b"new", &|_| Ok(())).map_err(io::Error::other)?;
        assert_eq!(swept, gone);
        let mut left = names(folder.path());
        let mut expected: Vec<_> = kept.into_iter().chain([young, link, "c.txt".to_owned()]).collect();
        left.sort();
        expected.sort();
        assert_eq!(left, expected);
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn links_folders_and_devices_are_no_targets() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let real = folder.path().join("real");
        fs::write(&real, "old")?;
        std::os::unix::fs::symlink(&real, folder.path().join("link"))?;
        std::os::unix::fs::symlink("nowhere", folder.path().join("dangling"))?;
        for (target, word) in
            [("link", "symbolic link"), ("dangling", "symbolic link"), (".", "folder"), ("/dev/null", "device"), ("no/such", "No such")]
        {
            let error = replace(&folder.path().join(target), b"new", &|_| Ok(())).err().map(|e| e.to_string());
            assert!(error.as_deref().unwrap_or("").contains(word), "{target}: {error:?}");
        }
        assert_eq!(fs::read_to_string(&real)?, "old");
        Ok(())
    }
}
