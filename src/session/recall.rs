//! A print found later: its sources taken out of it, compiled again in memory, and everything compared.
//!
//! Nothing is read but the bytes of the print, and nothing is written.

use super::digest::hex;
use super::print::{Prepared, Ready, Wish};
use super::record::{COMPILED, PROJECT, RECORD, Record, SCHEMA, TEMPLATES};
use super::world::file_error;
use super::{MemoryWorld, Session};
use crate::diag::Severity;
use crate::document::build::{Edition, Figures};
use crate::error::Error;
use crate::readback::{self, Blank};
use crate::template::theme::preset;
use serde::Deserialize;
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What came of a print that was found later.
#[derive(Debug)]
pub struct Recall {
    /// Title of the print, number and revision with it; from the sources it carries.
    pub title: String,
    /// Its pages, where they could be counted.
    pub pages: Option<usize>,
    /// How many printed values were asked for.
    pub values: usize,
    /// Whether the bytes are those that this program prints.
    pub bytes: Bytes,
    /// What is filled in: the name of each place and what stands in it.
    pub filled: Vec<(String, String)>,
    /// Each way in which it differs from what its sources give: by attachment, by place in the compiled data, or by the
    /// id of a printed value. Empty if all agrees.
    pub differences: Vec<String>,
}

/// How the bytes of a print compare with those that its sources give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bytes {
    /// The same.
    Same,
    /// The same, and so many behind them: a form that was filled in, a mark that was added.
    Added(usize),
    /// Others: another program has written the file anew, or it was changed.
    Others,
    /// There is nothing to compare with.
    Unknown,
}

/// What must be known of a record before the rest of it is read.
#[derive(Deserialize)]
struct Head {
    schema: String,
    version: String,
}

/// Where the sources lie while they are compiled.
const ROOT: &str = "/record/";

/// Reads a print back. An error if it is no print of this program, or one of another version, or `path` stands for
/// bytes that are no PDF.
pub fn recall(path: &Path, bytes: &[u8]) -> Result<Recall, Error> {
    let files = readback::attachments(bytes).map_err(|what| file_error(path, what))?;
    let record = record(path, &files)?;
    let mut differences = attachments(&record, &files);
    let mut world = MemoryWorld::default().with(format!("{ROOT}{PROJECT}.git"), "");
    for (name, content) in &files {
        world = world.with(format!("{ROOT}{name}"), content.as_slice());
    }
    let own = |name: &str| name.strip_prefix(PROJECT).is_some_and(|n| super::Inside::ROOT.join(n).is_ok());
    if !files.contains_key(&record.procedure) || !own(&record.procedure) {
        differences.push(format!("{}, the procedure, is not among the attachments", record.procedure));
        return Ok(nothing(differences));
    }
    let session = Session::new(&world);
    let site = files.keys().any(|n| n.starts_with(TEMPLATES)).then(|| format!("{ROOT}{TEMPLATES}"));
    let figures = Figures::named(&record.figures).ok_or_else(|| file_error(path, "its record names figures that do not exist"))?;
    let edition = Edition::named(&record.edition).ok_or_else(|| file_error(path, "its record names an edition that does not exist"))?;
    let compilation = match session.compile(Path::new(&format!("{ROOT}{}", record.procedure))) {
        Ok(compilation) => compilation,
        Err(error) => {
            differences.push(format!("the attached sources cannot be compiled: {error}"));
            return Ok(nothing(differences));
        }
    };
    let preset = record.preset.as_deref().map(|name| preset(name).map(|p| p.name).ok_or(name)).transpose();
    let preset = preset.map_err(|name| file_error(path, format!("its record names a preset {name} that does not exist")))?;
    let since = record.since.as_ref().map(|s| s.revision(path, &files)).transpose()?;
    let wish = Wish {
        site: site.as_deref().map(Path::new),
        draft: record.draft,
        figures,
        edition,
        preset,
        since: since.as_ref(),
        language: record.language.as_deref(),
    };
    let ready = match session.prepare(&compilation, &wish, true)? {
        Prepared::Ready(ready) => ready,
        Prepared::Withheld(errors) => {
            let first = compilation.findings.iter().find(|f| f.severity == Severity::Error).map_or("", |f| f.message.as_str());
            differences.push(format!("the attached sources are refused, errors {errors}: {first}"));
            return Ok(nothing(differences));
        }
        Prepared::Refused(problems) => {
            let first = problems.first().map_or("", |f| f.message.as_str());
            differences.push(format!("the attached templates are refused: {first}"));
            return Ok(nothing(differences));
        }
    };
    ready.agree()?;
    compare(&session, &ready, &files, bytes, differences)
}

/// Nothing could be made to compare the print with.
fn nothing(differences: Vec<String>) -> Recall {
    Recall { title: String::new(), pages: None, values: 0, bytes: Bytes::Unknown, filled: Vec::new(), differences }
}

fn record(path: &Path, files: &BTreeMap<String, Vec<u8>>) -> Result<Record, Error> {
    let foreign = |what: &str| file_error(path, what);
    let bytes = files.get(RECORD).ok_or_else(|| foreign("is no print of surehand: it carries no record of what it was made from"))?;
    let head: Head =
        serde_json::from_slice(bytes).map_err(|e| foreign(&format!("its record of what it was made from cannot be read: {e}")))?;
    let own = env!("CARGO_PKG_VERSION");
    if head.version != own {
        let version = head.version.escape_debug();
        return Err(foreign(&format!("was printed by surehand {version} and this is {own}: read it back with that version")));
    }
    if head.schema != SCHEMA {
        return Err(foreign(&format!("has a record of the unknown form {}", head.schema.escape_debug())));
    }
    serde_json::from_slice(bytes).map_err(|e| foreign(&format!("its record of what it was made from cannot be read: {e}")))
}

/// What is wrong with the attachments by the record of them.
fn attachments(record: &Record, files: &BTreeMap<String, Vec<u8>>) -> Vec<String> {
    let mut out = Vec::new();
    for kept in &record.files {
        match files.get(&kept.name) {
            None => out.push(format!("the attachment {} is missing", kept.name)),
            Some(bytes) if hex(&Sha256::digest(bytes)) != kept.sha256 => {
                out.push(format!("the attachment {} is not what it was when the record was written", kept.name));
            }
            Some(_) => {}
        }
    }
    let known: BTreeSet<&str> = record.files.iter().map(|k| k.name.as_str()).chain([RECORD]).collect();
    out.extend(files.keys().filter(|n| !known.contains(n.as_str())).map(|n| format!("the attachment {n} is not in the record")));
    out
}

fn compare(
    session: &Session<'_>,
    ready: &Ready<'_>,
    files: &BTreeMap<String, Vec<u8>>,
    bytes: &[u8],
    mut differences: Vec<String>,
) -> Result<Recall, Error> {
    let made = session.emit(ready, "pdf")?;
    if let Some(attached) = files.get(COMPILED)
        && attached.as_slice() != ready.data()?.as_ref()
    {
        let value = |bytes: &[u8]| serde_json::from_slice::<Value>(bytes).ok();
        match (value(attached), value(ready.data()?)) {
            (Some(is), Some(of)) => {
                let mut off = Vec::new();
                data_differences(&is, &of, &[], &mut off);
                off.truncate(MOST);
                differences.extend(off.into_iter().map(|place| format!("{COMPILED} differs from what the sources give at {place}")));
            }
            _ => differences.push(format!("{COMPILED} cannot be read")),
        }
    }
    let found = readback::look("pdf", bytes, ready.items(), ready.said())?;
    differences.extend(found.differences);
    // A place to fill in may hold anything, where the print has it.
    let places = |all: &[Blank]| all.iter().map(|b| Blank { value: None, ..b.clone() }).collect::<Vec<_>>();
    let is = places(&found.blanks);
    let of =
        if bytes == made.bytes { is.clone() } else { places(&readback::look("pdf", &made.bytes, ready.items(), ready.said())?.blanks) };
    let stray = |blank: &Blank, what: &str| format!("{} on page {} is a place to fill in that {what}", blank.name, blank.page);
    differences.extend(is.iter().filter(|b| !of.contains(b)).map(|b| stray(b, "the print does not have there")));
    differences.extend(of.iter().filter(|b| !is.contains(b)).map(|b| stray(b, "is gone or stands elsewhere")));
    let filled = found.blanks.into_iter().filter_map(|b| Some((b.name, b.value?))).collect();
    let bytes = match bytes.strip_prefix(made.bytes.as_slice()) {
        Some([]) => Bytes::Same,
        Some(behind) => Bytes::Added(behind.len()),
        None => Bytes::Others,
    };
    let values = ready.items().iter().map(|i| i.values.len()).sum();
    Ok(Recall { title: ready.title().to_owned(), pages: found.pages, values, bytes, filled, differences })
}

/// Most places named in compiled data that differs.
const MOST: usize = 40;

/// Where two pieces of compiled data differ, but for the values of some keys.
pub fn data_differences(is: &Value, made: &Value, without: &[&str], out: &mut Vec<String>) {
    differ(is, made, without, "", out);
}

fn differ(is: &Value, made: &Value, without: &[&str], at: &str, out: &mut Vec<String>) {
    match (is, made) {
        (Value::Object(a), Value::Object(b)) => {
            let keys: BTreeSet<&String> = a.keys().chain(b.keys()).filter(|k| !without.contains(&k.as_str())).collect();
            let of = |object: &serde_json::Map<String, Value>, key: &String| object.get(key).cloned().unwrap_or(Value::Null);
            keys.into_iter().for_each(|key| differ(&of(a, key), &of(b, key), without, &format!("{at}.{key}"), out));
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().for_each(|(i, (a, b))| differ(a, b, without, &format!("{at}[{i}]"), out));
        }
        _ if is == made => {}
        _ => out.push(at.trim_start_matches('.').to_string()),
    }
}
