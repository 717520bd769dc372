//! Which procedures the paths of a command line mean.

use super::world::{Kind, World, file_error};
use crate::error::Error;
use std::path::{Path, PathBuf};

/// A file to check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its path, as the user would write it.
    pub path: PathBuf,
    /// The folder it was found in; `None` if it was named itself. A found file without front matter is passed over.
    pub given: Option<PathBuf>,
}

/// Folders deeper than this below the given one are not searched.
const DEEPEST: usize = 64;

/// Files named by `paths`, and `*.md` in folders among them and below, each once: in the order given, and by name
/// within a folder. Hidden files and folders are passed over.
pub fn find(world: &dyn World, paths: &[PathBuf]) -> (Vec<Found>, Vec<Error>) {
    let (mut found, mut errors) = (Vec::new(), Vec::new());
    for path in paths {
        match world.kind(path) {
            Kind::Folder => {
                let before = found.len();
                walk(world, path, path, 0, &mut found, &mut errors);
                if found.len() == before && errors.is_empty() {
                    errors.push(file_error(path, "holds no Markdown file; name a procedure or a folder of procedures"));
                }
            }
            Kind::File | Kind::Other => found.push(Found { path: path.clone(), given: None }),
            Kind::Absent => errors.push(file_error(path, "there is no such file or folder")),
        }
    }
    let mut seen = std::collections::BTreeSet::new();
    found.retain(|f| seen.insert(f.path.clone()));
    (found, errors)
}

fn walk(world: &dyn World, given: &Path, folder: &Path, depth: usize, found: &mut Vec<Found>, errors: &mut Vec<Error>) {
    if depth > DEEPEST {
        errors.push(Error::Limit { place: folder.display().to_string(), what: format!("folders are searched {DEEPEST} deep") });
        return;
    }
    let entries = match world.list(folder) {
        Ok(entries) => entries,
        Err(error) => return errors.push(error),
    };
    for (name, kind) in entries.into_iter().filter(|(name, _)| !name.starts_with('.')) {
        let path = folder.join(&name);
        match kind {
            Kind::Folder => walk(world, given, &path, depth + 1, found, errors),
            Kind::File if name.ends_with(".md") => found.push(Found { path, given: Some(given.to_owned()) }),
            _ => {}
        }
    }
}

/// Whether bytes found in a folder are meant as a procedure. UTF-16 is let through, to be refused by name.
pub(super) fn looks_like_procedure(bytes: &[u8]) -> bool {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    text.starts_with(b"+++") || text.starts_with(b"\xff\xfe+") || text.starts_with(b"\xfe\xff\0+")
}

#[cfg(test)]
mod tests {
    use super::super::MemoryWorld;
    use super::*;

    #[test]
    fn folders_are_searched_in_order_and_nothing_is_checked_twice() {
        let world =
            MemoryWorld::default().with("p/b.md", "").with("p/a/c.md", "").with("p/.git/d.md", "").with("p/e.toml", "").with("q/x", "");
        let (found, errors) = find(&world, &["p/b.md".into(), "p".into(), "none".into(), "q".into()]);
        let found: Vec<_> = found.iter().map(|f| (f.path.to_str().unwrap_or(""), f.given.is_some())).collect();
        assert_eq!(found, [("p/b.md", false), ("p/a/c.md", true)]);
        let errors: Vec<_> = errors.iter().map(ToString::to_string).collect();
        assert_eq!(errors, ["none: there is no such file or folder"]);
        assert!(find(&world, &["q".into()]).1[0].to_string().contains("holds no Markdown"));
    }
}
