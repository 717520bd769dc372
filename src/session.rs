//! One run over a project: finds files, reads each once, and takes procedures through every floor.
//!
//! Invariant: this floor alone touches files and the environment, through [`World`]. A file is read
//! once a session, however many procedures name it and on however many threads.

mod compare;
mod compile;
mod digest;
mod disk;
mod earlier;
mod find;
mod import;
mod memory;
mod mesh;
mod print;
mod recall;
mod record;
pub mod rules;
mod sensitivity;
mod source;
mod whereabouts;
mod world;
mod write;

pub use compare::Compared;
pub use compile::Compilation;
pub use digest::{Digested, digests};
pub use disk::DiskWorld;
pub use earlier::Earlier;
pub use find::{Found, find};
pub use memory::MemoryWorld;
pub use print::{Output, Prints, Wish, formats, of_ending, printed};
pub use recall::{Bytes, Recall, data_differences, recall};
pub use source::Source;
pub use world::{Inside, Kind, MAX_SOURCE, World};

use crate::diag::{Diagnostic, Rule};
use crate::error::Error;
use crate::model::ModelFile;
use crate::model::arm::Arm;
use crate::model::cell::Cell;
use crate::model::policy::Policy;
use crate::syntax::tree::Parsed;
use crate::text::{File, Files};
use crate::{model, proof, space, syntax, template, trace, words, writing};
use rayon::prelude::*;
use source::{Folder, Location};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock, Mutex, OnceLock, PoisonError};

/// Every rule of every floor, by floor from the ground up.
pub static RULES: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| {
    [
        syntax::RULES,
        rules::OWN,
        model::RULES,
        writing::RULES,
        trace::RULES,
        space::RULES,
        proof::RULES,
        words::rules::RULES,
        template::rules::RULES,
    ]
    .concat()
});

/// The rule of an id.
pub fn rule(id: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|r| r.id == id)
}

/// One batch over one world.
pub struct Session<'w> {
    world: &'w dyn World,
    files: Files,
    folders: Shared<Folder>,
    arms: Shared<Option<Loaded<Arm>>>,
    cells: Shared<Option<Loaded<Cell>>>,
    policies: Shared<Option<Loaded<Policy>>>,
    procedures: Shared<Source>,
    no_cell: Arc<Cell>,
    /// The folder the user stands in, where there is one.
    standing: Option<PathBuf>,
}

/// Things made once by whoever comes first; others wait for it.
type Shared<T> = Mutex<HashMap<PathBuf, Arc<OnceLock<Result<Arc<T>, Error>>>>>;

/// A model file as it was read.
struct Loaded<T> {
    /// The file, then the mesh files it names.
    sources: Vec<Source>,
    value: Option<Arc<T>>,
    problems: Vec<Diagnostic>,
}

/// A procedure file, parsed.
struct Unit {
    source: Arc<Source>,
    file: Arc<File>,
    parsed: Parsed,
}

impl<'w> Session<'w> {
    /// A fresh session.
    pub fn new(world: &'w dyn World) -> Session<'w> {
        let files = Files::default();
        let no_cell = Arc::new(Cell::none(files.add(File::new("(no cell)", ""))));
        Session {
            world,
            files,
            folders: Shared::default(),
            arms: Shared::default(),
            cells: Shared::default(),
            policies: Shared::default(),
            procedures: Shared::default(),
            no_cell,
            standing: world.absolute(Path::new(".")).ok(),
        }
    }
    /// The texts that findings point into.
    pub fn files(&self) -> &Files {
        &self.files
    }
    /// The same, when nothing more is to be compiled.
    pub fn into_files(self) -> Files {
        self.files
    }
    /// The world of this session.
    pub fn world(&self) -> &'w dyn World {
        self.world
    }
    /// Takes one procedure through every floor.
    pub fn compile(&self, path: &Path) -> Result<Compilation, Error> {
        let location = self.locate(path, None)?;
        let unit = self.unit(&location, &location.inside, None)?;
        compile::compile(self, &location, &unit)
    }
    /// Takes many procedures through every floor, in parallel. `keep` is given each as it is done (`None`: found in a
    /// folder and without front matter, so no procedure) and says what is kept of it; the rest is let go at once,
    /// which is what keeps a large batch small. Results come in the order of `found`.
    pub fn compile_all<T: Send>(&self, found: &[Found], keep: impl Fn(Result<Option<Compilation>, Error>) -> T + Sync) -> Vec<T> {
        found.par_iter().map(|f| keep(self.compile_found(f))).collect()
    }
    fn compile_found(&self, found: &Found) -> Result<Option<Compilation>, Error> {
        let Some(given) = &found.given else { return self.compile(&found.path).map(Some) };
        let location = self.locate(&found.path, Some(given))?;
        let bytes = self.read(&location, &location.inside)?;
        if !find::looks_like_procedure(&bytes) {
            return Ok(None);
        }
        let unit = self.unit(&location, &location.inside, Some(bytes))?;
        compile::compile(self, &location, &unit).map(Some)
    }
    /// The canonical spelling of a procedure, if it is not spelled so already.
    pub fn format(&self, found: &Found) -> Result<Option<String>, Error> {
        let location = self.locate(&found.path, found.given.as_deref())?;
        let bytes = self.read(&location, &location.inside)?;
        if found.given.is_some() && !find::looks_like_procedure(&bytes) {
            return Ok(None);
        }
        let unit = self.unit(&location, &location.inside, Some(bytes))?;
        let text = syntax::format(&unit.parsed, &unit.file.text);
        Ok((text != unit.file.text || unit.source.marked).then_some(text))
    }
    fn locate(&self, path: &Path, given: Option<&Path>) -> Result<Location, Error> {
        let folder = |written: &Path| once(&self.folders, written.to_owned(), || Folder::of(self.world, written));
        Location::of(self.world, self.standing.as_deref(), path, given, folder)
    }
    fn exists(&self, location: &Location, inside: &Inside) -> bool {
        self.world.kind(&location.full(inside)) != Kind::Absent
    }
    /// The bytes of a file of the project; errors name it as the user would.
    fn read(&self, location: &Location, inside: &Inside) -> Result<Vec<u8>, Error> {
        self.world.read(&location.root, inside).map_err(|e| match e {
            Error::File { what, .. } => Error::File { path: location.shown(inside), what },
            Error::Limit { what, .. } => Error::Limit { place: location.shown(inside), what },
            other => other,
        })
    }
    fn source(&self, location: &Location, inside: &Inside, bytes: Vec<u8>) -> Result<Source, Error> {
        let name = location.shown(inside);
        match source::decode(bytes) {
            Ok((text, digest, marked)) => {
                let file = self.files.add(File::new(name, text));
                Ok(Source { file, inside: inside.clone(), digest, marked, data: None })
            }
            Err(what) => Err(Error::File { path: name, what }),
        }
    }
    /// A procedure file, parsed; from `bytes` if they were read already. The text is kept for the session, the tree
    /// only as long as it is used.
    fn unit(&self, location: &Location, inside: &Inside, bytes: Option<Vec<u8>>) -> Result<Unit, Error> {
        let source = once(&self.procedures, location.full(inside), || {
            let bytes = bytes.map_or_else(|| self.read(location, inside), Ok)?;
            self.source(location, inside, bytes)
        })?;
        let file = self.files.get(source.file);
        let parsed = syntax::parse(source.file, &file.text);
        Ok(Unit { source, file, parsed })
    }
    /// A model file with the mesh files it names, if there is one.
    fn model<T: ModelFile>(
        &self,
        cache: &Shared<Option<Loaded<T>>>,
        location: &Location,
        inside: &Inside,
    ) -> Result<Arc<Option<Loaded<T>>>, Error> {
        once(cache, location.full(inside), || {
            if !self.exists(location, inside) {
                return Ok(None);
            }
            let source = self.source(location, inside, self.read(location, inside)?)?;
            let text = self.files.get(source.file);
            let (mut value, mut problems) = T::load(source.file, &text.text);
            let mut sources = vec![source];
            if let Some(value) = &mut value {
                let (meshes, missing) = mesh::fill(self, location, inside, value.mesh_files())?;
                sources.extend(meshes);
                problems.extend(missing);
                problems.extend(value.judge(&text.text));
            }
            Ok(Some(Loaded { sources, value: value.map(Arc::new), problems }))
        })
    }
}

fn once<T>(cache: &Shared<T>, path: PathBuf, make: impl FnOnce() -> Result<T, Error>) -> Result<Arc<T>, Error> {
    let cell = cache.lock().unwrap_or_else(PoisonError::into_inner).entry(path).or_default().clone();
    cell.get_or_init(|| make().map(Arc::new)).clone()
}
