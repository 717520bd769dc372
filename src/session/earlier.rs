//! An earlier revision of a procedure, from its source or out of its print, with all that it was made from.
//!
//! It is compiled by this program from its own sources and models, so that what differs is the procedure and its models, and
//! not the program that printed it.

use super::compile::Compilation;
use super::record::{PROJECT, RECORD};
use super::world::{Inside, file_error};
use super::{MemoryWorld, Session};
use crate::document::Document;
use crate::document::build::{self, Edition, Figures, Sources};
use crate::error::Error;
use crate::proof::Examined;
use crate::readback;
use crate::text::Files;
use crate::words::Words;
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// A revision with what it was made from.
#[derive(Debug)]
pub struct Earlier {
    /// The procedure, by its name among the files.
    pub(super) procedure: String,
    /// Every file that took part, by its name in a record.
    pub(super) files: BTreeMap<String, Arc<[u8]>>,
    examined: Examined,
    texts: Files,
}

/// Where the sources lie while they are compiled.
const ROOT: &str = "/earlier/";

/// What must be known of the record of an earlier print; a later form of it may hold more.
#[derive(Deserialize)]
struct Head {
    procedure: String,
}

impl Earlier {
    /// Compiles the files of a revision; `path` is what messages call it.
    pub(super) fn of(path: &Path, procedure: String, files: BTreeMap<String, Arc<[u8]>>) -> Result<Earlier, Error> {
        let cannot = |what: String| file_error(path, format!("cannot be compiled as an earlier revision: {what}"));
        let own = procedure.strip_prefix(PROJECT).is_some_and(|n| Inside::ROOT.join(n).is_ok());
        if !own || !files.contains_key(&procedure) {
            return Err(cannot(format!("{procedure}, the procedure, is not among its files")));
        }
        let mut world = MemoryWorld::default().with(format!("{ROOT}{PROJECT}.git"), "");
        for (name, bytes) in &files {
            world = world.with(format!("{ROOT}{name}"), &**bytes);
        }
        let session = Session::new(&world);
        let compilation = session.compile(Path::new(&format!("{ROOT}{procedure}"))).map_err(|e| cannot(e.to_string()))?;
        let Some(examined) = compilation.examined else {
            let first = compilation.findings.first().map_or("its models cannot be read", |f| &f.message);
            return Err(cannot(first.to_owned()));
        };
        Ok(Earlier { procedure, files, examined, texts: session.into_files() })
    }
    /// What it prints, in these words, this edition and with these steps drawn: only what is made alike can be compared.
    pub fn document(&self, words: &Words, edition: Edition, figures: Figures) -> Document {
        // What reviewers hold against each other was worked out for both.
        let compiled = edition.is_reviewed().then(|| self.examined.compile_untold(&self.texts));
        let sources = Sources { figures, words, edition, compiled: compiled.as_ref(), ..Sources::of(&self.texts) };
        build::draft(&self.examined, &sources).into_document()
    }
    /// Over all that it was made from.
    pub(super) fn digest(&self) -> Vec<u8> {
        let mut out = Sha256::new();
        for (name, bytes) in &self.files {
            out.update((name.len() as u64).to_be_bytes());
            out.update(name);
            out.update(Sha256::digest(bytes));
        }
        out.finalize().to_vec()
    }
}

impl Session<'_> {
    /// A revision from its source, or from the sources that its print (PDF) carries.
    pub fn revision(&self, path: &Path) -> Result<Earlier, Error> {
        if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("pdf")) {
            let mut all = readback::attachments(&self.world.read_data(path)?).map_err(|what| file_error(path, what))?;
            let record = all
                .remove(RECORD)
                .ok_or_else(|| file_error(path, "is no print of surehand: it carries no record of what it was made from"))?;
            let head: Head =
                serde_json::from_slice(&record).map_err(|e| file_error(path, format!("has a record that cannot be read: {e}")))?;
            let files = all.into_iter().filter(|(name, _)| name.starts_with(PROJECT)).map(|(name, bytes)| (name, bytes.into())).collect();
            return Earlier::of(path, head.procedure, files);
        }
        let session = Session::new(self.world);
        let compilation = session.compile(path)?;
        let (procedure, files) = session.bundle(&compilation);
        Earlier::of(path, procedure, files)
    }

    /// Every file that took part, as it was on disk, by its name in a record; and which of them is the procedure.
    pub(super) fn bundle(&self, compilation: &Compilation) -> (String, BTreeMap<String, Arc<[u8]>>) {
        let mut procedure = String::new();
        let mut out = BTreeMap::new();
        for source in &compilation.sources {
            let name = format!("{PROJECT}{}", source.inside.as_str());
            if source.file == compilation.file {
                procedure.clone_from(&name);
            }
            out.insert(name, self.bytes(source));
        }
        (procedure, out)
    }
}
