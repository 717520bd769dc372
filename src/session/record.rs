//! What a print carries of its making: every file that took part, what was compiled, and how; so that whoever finds the
//! print later can make it again and compare.

use super::compile::Compilation;
use super::digest::hex;
use super::world::file_error;
use super::{Earlier, Session, Source};
use crate::document::build::{Edition, Figures};
use crate::emit::{Attachment, Relation};
use crate::error::Error;
use crate::proof::Examined;
use crate::words::{Words, ids};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// The attachment that lists the others.
pub(super) const RECORD: &str = "record.json";
/// The attachment with the compiled procedure, the very bytes of the format `json`.
pub(super) const COMPILED: &str = "compiled.json";
/// Folders of attachments: files of the project, and the site's own templates.
pub(super) const PROJECT: &str = "project/";
pub(super) const TEMPLATES: &str = "templates/";
/// Folder of attachments: files of the earlier revision that are others now.
pub(super) const EARLIER: &str = "earlier/";
/// The schema of the list.
pub(super) const SCHEMA: &str = "surehand-record/1";

/// How a print was made: the attachment [`RECORD`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Record {
    /// [`SCHEMA`].
    pub schema: String,
    /// The version of the program.
    pub version: String,
    /// The procedure, by its name among the files.
    pub procedure: String,
    /// Which steps were drawn.
    pub figures: String,
    /// For whom it was made.
    pub edition: String,
    /// Whether it was printed as a draft.
    pub draft: bool,
    /// The preset of sizes that was asked for; the policy's if none.
    pub preset: Option<String>,
    /// The language that was asked for; the policy's if none.
    pub language: Option<String>,
    /// The earlier revision that it was held against; none if there was none.
    pub since: Option<Since>,
    /// Every other attachment.
    pub files: Vec<Kept>,
}

/// The files of an earlier revision. One that did not change since stands among the attachments once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Since {
    /// Its procedure, by its name among its files.
    pub procedure: String,
    /// Every file of it.
    pub files: Vec<String>,
}

impl Since {
    /// The revision, out of the attachments of a print.
    pub(super) fn revision(&self, path: &Path, attached: &BTreeMap<String, Vec<u8>>) -> Result<Earlier, Error> {
        let each = |name: &String| {
            let bytes = attached.get(&format!("{EARLIER}{name}")).or_else(|| attached.get(name));
            bytes
                .map(|b| (name.clone(), b.as_slice().into()))
                .ok_or_else(|| file_error(path, format!("lacks {name} of the earlier revision")))
        };
        let files = self.files.iter().map(each).collect::<Result<_, _>>()?;
        Earlier::of(path, self.procedure.clone(), files)
    }
}

/// An attachment as the list names it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Kept {
    /// Its name.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: String,
}

/// How a print is made, beside its sources.
pub(super) struct Making<'a> {
    /// The site's templates: path and text.
    pub site: &'a [(String, String)],
    pub words: &'a Words,
    pub figures: Figures,
    pub edition: Edition,
    pub draft: bool,
    pub preset: Option<&'static str>,
    pub language: Option<&'a str>,
    pub since: Option<&'a Earlier>,
}

impl Session<'_> {
    /// The attachments of a print.
    pub(super) fn attachments(
        &self,
        compilation: &Compilation,
        examined: &Examined,
        making: &Making<'_>,
        compiled: Arc<[u8]>,
    ) -> Result<Vec<Attachment>, Error> {
        let p = &examined.procedure;
        let about = |file| making.words.say(file).to_owned();
        let mut procedure = String::new();
        let mut out = Vec::with_capacity(compilation.sources.len() + making.site.len() + 2);
        for source in &compilation.sources {
            let name = format!("{PROJECT}{}", source.inside.as_str());
            let file = match source.file {
                file if file == compilation.file => {
                    procedure.clone_from(&name);
                    ids::FILE_PROCEDURE
                }
                file if file == p.arm.file => ids::FILE_ARM,
                file if file == p.cell.file => ids::FILE_CELL,
                file if file == p.policy.file => ids::FILE_POLICY,
                _ if source.data.is_some() => ids::FILE_SHAPE,
                _ => ids::FILE_PERFORMED,
            };
            let bytes = self.bytes(source);
            out.push(Attachment { mime: mime(&name), name, about: about(file), relation: Relation::Source, bytes });
        }
        for (name, bytes) in making.since.iter().flat_map(|e| &e.files) {
            if out.iter().all(|a: &Attachment| a.name != *name || a.bytes != *bytes) {
                let about = about(ids::FILE_EARLIER);
                out.push(Attachment {
                    name: format!("{EARLIER}{name}"),
                    mime: mime(name),
                    about,
                    relation: Relation::Source,
                    bytes: Arc::clone(bytes),
                });
            }
        }
        for (path, text) in making.site {
            let name = format!("{TEMPLATES}{}", path.rsplit(['/', '\\']).next().unwrap_or_default());
            let about = about(ids::FILE_TEMPLATE);
            out.push(Attachment { mime: mime(&name), name, about, relation: Relation::Source, bytes: text.as_bytes().into() });
        }
        let data = |name: &str, file, bytes| Attachment {
            name: name.to_owned(),
            mime: mime(name),
            about: about(file),
            relation: Relation::Data,
            bytes,
        };
        out.push(data(COMPILED, ids::FILE_COMPILED, compiled));
        let record = Record {
            schema: SCHEMA.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            procedure,
            figures: making.figures.word().to_owned(),
            edition: making.edition.word().to_owned(),
            draft: making.draft,
            preset: making.preset.map(str::to_owned),
            language: making.language.map(str::to_owned),
            since: making.since.map(|e| Since { procedure: e.procedure.clone(), files: e.files.keys().cloned().collect() }),
            files: out.iter().map(|a| Kept { name: a.name.clone(), sha256: hex(&Sha256::digest(&a.bytes)) }).collect(),
        };
        let mut bytes = serde_json::to_vec_pretty(&record).map_err(|e| Error::Internal(e.to_string()))?;
        bytes.push(b'\n');
        out.push(data(RECORD, ids::FILE_RECORD, bytes.into()));
        Ok(out)
    }
}

impl Session<'_> {
    /// A file as it was on disk.
    pub(super) fn bytes(&self, source: &Source) -> Arc<[u8]> {
        match &source.data {
            Some(bytes) => Arc::clone(bytes),
            None => {
                let text = &self.files.get(source.file).text;
                let mark = if source.marked { "\u{feff}" } else { "" };
                [mark.as_bytes(), text.as_bytes()].concat().into()
            }
        }
    }
}

/// The media type of a file by its ending.
fn mime(name: &str) -> &'static str {
    match name.rsplit('.').next().map(str::to_ascii_lowercase).as_deref() {
        Some("md") => "text/markdown",
        Some("toml") => "application/toml",
        Some("json") => "application/json",
        Some("html") => "text/html",
        Some("stl") => "model/stl",
        Some("obj") => "model/obj",
        _ => "application/octet-stream",
    }
}
