//! Two model files side by side.

use super::{Kind as Found, Session, Source};
use crate::diag::Diagnostic;
use crate::error::Error;
use crate::model::differ::{self, Comparison, Kind, Within};
use std::path::Path;

/// Two entries of one model, compared.
#[derive(Debug)]
pub struct Compared {
    /// What both files describe.
    pub kind: Kind,
    /// The two files.
    pub sources: [Source; 2],
    /// What is wrong with each of them.
    pub problems: [Vec<Diagnostic>; 2],
    /// What differs.
    pub comparison: Comparison,
}

impl Session<'_> {
    /// Compares two model files of one kind, which they show by their keys.
    pub fn compare(&self, a: &Path, b: &Path, within: &Within) -> Result<Compared, Error> {
        let sources = [self.entry(a)?, self.entry(b)?];
        let files = [0, 1].map(|i| self.files.get(sources[i].file));
        let kind = |i: usize| {
            let what = "is no arm profile, cell or policy that can be recognised by its keys; see grammar/models.md";
            Kind::of(sources[i].file, &files[i].text).ok_or_else(|| Error::File { path: files[i].name.clone(), what: what.into() })
        };
        let (kind, other) = (kind(0)?, kind(1)?);
        if kind != other {
            let (a, b) = (&files[0].name, &files[1].name);
            return Err(Error::Usage(format!("{a} is {} and {b} is {}: name two files of one kind", kind.a_name(), other.a_name())));
        }
        let side = |i: usize| (sources[i].file, files[i].text.as_str());
        let comparison = differ::compare(kind.table(), side(0), side(1), within);
        let problems = [0, 1].map(|i| kind.problems(sources[i].file, &files[i].text));
        Ok(Compared { kind, sources, problems, comparison })
    }
    fn entry(&self, path: &Path) -> Result<Source, Error> {
        if self.world.kind(path) == Found::Folder {
            return Err(Error::File { path: path.display().to_string(), what: "is a folder; name the model file in it".into() });
        }
        let location = self.locate(path, None)?;
        self.source(&location, &location.inside, self.read(&location, &location.inside)?)
    }
}
