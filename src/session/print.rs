//! From a compiled procedure to finished files in memory: document, templates, formats, and the reading back.
//!
//! Invariant: a file that would say "checked" is made from a [`crate::proof::Checked`] value and is given out only
//! after it was read back and compared with what was checked. Nothing is written here.

use super::compile::Compilation;
use super::digest::hex;
use super::record::Making;
use super::world::{Inside, Kind, file_error};
use super::{Earlier, Session, source};
use crate::compiled::{self, Compiled};
use crate::diag::{Diagnostic, Severity};
use crate::document::Identity;
use crate::document::build::{self, Digests, Edition, Figures, Sources};
use crate::emit::{self, FORMATS, Format, Print};
use crate::error::Error;
use crate::model::{self, arm::Arm};
use crate::proof::Examined;
use crate::readback::{self, Item, Said};
use crate::template::theme::{Look, Paper};
use crate::template::{self, Pages, Templates, languages};
use crate::text::FileId;
use crate::words::ids;
use crate::words::rules::LANGUAGE;
use sha2::{Digest as _, Sha256};
use std::path::Path;
use std::sync::{Arc, OnceLock};

/// The name of the compiled form among the formats.
const JSON: &str = "json";

/// The formats of a print for people, by name, with one line on each.
pub fn printed() -> impl Iterator<Item = (&'static str, &'static str)> {
    FORMATS.iter().map(|f| (f.name, f.about))
}

/// Every format by name, with one line on each.
pub fn formats() -> impl Iterator<Item = (&'static str, &'static str)> {
    printed().chain([(JSON, "the compiled procedure as data (schema surehand-compiled/2)")])
}

/// The format whose files end so.
pub fn of_ending(ending: &str) -> Option<&'static str> {
    FORMATS.iter().find(|f| f.extension == ending).map(|f| f.name).or((ending == JSON).then_some(JSON))
}

/// A finished file.
#[derive(Debug)]
pub struct Output {
    /// The file name's ending, without the point.
    pub extension: &'static str,
    /// Its content.
    pub bytes: Vec<u8>,
    /// Its pages, where the format has pages.
    pub pages: Option<usize>,
}

/// How a print is wished for.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wish<'a> {
    /// A folder of a site's templates, laid over the built-in ones.
    pub site: Option<&'a Path>,
    /// Even while errors stand, marked so on every page.
    pub draft: bool,
    /// Which steps are drawn.
    pub figures: Figures,
    /// For whom it is made.
    pub edition: Edition,
    /// The name of a preset of sizes; the policy's if none.
    pub preset: Option<&'static str>,
    /// An earlier revision: what differs from it is marked and listed.
    pub since: Option<&'a Earlier>,
    /// The tag of a language; the policy's if none, and else that of the site's own words, or English.
    pub language: Option<&'a str>,
}

/// What came of a print.
#[derive(Debug)]
pub enum Prints {
    /// One file for each format asked for.
    Made(Vec<Output>),
    /// Nothing, because this many errors stand.
    Withheld(usize),
    /// Nothing, because the templates are at fault.
    Refused(Vec<Diagnostic>),
}

/// A print that is arranged, before it takes the form of any file.
pub(super) struct Ready<'a> {
    compilation: &'a Compilation,
    examined: &'a Examined,
    compiled: Compiled,
    pages: Pages,
    items: Vec<Item>,
    said: Said,
    subject: String,
    date: (u16, u8, u8),
    site: Vec<(String, String)>,
    figures: Figures,
    edition: Edition,
    draft: bool,
    preset: Option<&'static str>,
    language: Option<&'a str>,
    since: Option<&'a Earlier>,
    data: OnceLock<Result<Arc<[u8]>, Error>>,
}

/// What came of arranging a print.
pub(super) enum Prepared<'a> {
    Ready(Box<Ready<'a>>),
    Withheld(usize),
    Refused(Vec<Diagnostic>),
}

/// A document arranged for pages.
struct Arranged {
    pages: Pages,
    subject: String,
    date: (u16, u8, u8),
}

impl Ready<'_> {
    /// Holds what must be printed to what was checked. The files are held to what must be printed.
    pub(super) fn agree(&self) -> Result<(), Error> {
        readback::agree(&self.items, &self.compiled, &self.said)
    }
    /// What must be printed.
    pub(super) fn items(&self) -> &[Item] {
        &self.items
    }
    /// In which words.
    pub(super) fn said(&self) -> &Said {
        &self.said
    }
    /// The title of the file.
    pub(super) fn title(&self) -> &str {
        &self.pages.tree.title
    }
    /// The compiled procedure as it is written.
    pub(super) fn data(&self) -> Result<&Arc<[u8]>, Error> {
        self.data.get_or_init(|| json(&self.compiled).map(Into::into)).as_ref().map_err(Clone::clone)
    }
}

impl Session<'_> {
    /// Makes the files of a procedure in `formats` (names of [`formats`]), as wished. While an error stands nothing is made,
    /// except a draft.
    pub fn print(&self, compilation: &Compilation, formats: &[&str], wish: &Wish<'_>) -> Result<Prints, Error> {
        let written = formats.iter().any(|name| *name == JSON || Format::named(name).is_some_and(|f| f.carries));
        let ready = match self.prepare(compilation, wish, written)? {
            Prepared::Ready(ready) => ready,
            Prepared::Withheld(errors) => return Ok(Prints::Withheld(errors)),
            Prepared::Refused(problems) => return Ok(Prints::Refused(problems)),
        };
        // Files are made and read back while what they must show is held to what was checked; none is given out unless both hold.
        let make = |name: &&str| {
            let output = self.emit(&ready, name)?;
            let pages = if *name == JSON { None } else { readback::check(name, &output.bytes, &ready.items, &ready.said)? };
            Ok(Output { pages, ..output })
        };
        let (agreed, made) = rayon::join(|| ready.agree(), || formats.iter().map(make).collect::<Result<Vec<_>, Error>>());
        // Letting go of it takes a while, and nothing waits for that.
        let Ready { compiled, pages, items, .. } = *ready;
        rayon::spawn(|| drop((compiled, pages, items)));
        agreed?;
        Ok(Prints::Made(made?))
    }

    /// Arranges a print; with the compiled procedure as it is written, if it is `written`.
    pub(super) fn prepare<'a>(&self, compilation: &'a Compilation, wish: &Wish<'a>, written: bool) -> Result<Prepared<'a>, Error> {
        let Wish { draft, edition, .. } = *wish;
        let errors = compilation.findings.iter().filter(|f| f.severity == Severity::Error).count();
        let Some(examined) = compilation.examined.as_ref().filter(|e| draft || e.checked.is_some()) else {
            return Ok(Prepared::Withheld(errors));
        };
        let policy = &examined.procedure.policy;
        let paper = match policy.paper {
            Some(model::policy::Paper::Letter) => Some(Paper::Letter),
            Some(model::policy::Paper::A4) => Some(Paper::A4),
            None => None,
        };
        let site = self.site(wish.site)?;
        known(wish.language, &site)?;
        if let Some(tag) = policy.language.as_ref().filter(|tag| wish.language.is_none() && !languages(&site).contains(&tag.value)) {
            return Ok(Prepared::Refused(vec![LANGUAGE.at(tag.span, unknown(&tag.value)).help(there_are(&site))]));
        }
        let language = wish.language.or(policy.language.as_ref().map(|tag| tag.value.as_str()));
        let preset = wish.preset.or(policy.preset.map(|p| p.word()));
        let look = Look { preset, edition: Some(edition.word()), paper, language };
        let embedded = || emit::embedded().map(|(name, bytes)| (name, Sha256::digest(bytes).into())).collect::<Vec<_>>();
        let data = || examined.compile(&self.files);
        let (templates, (embedded, data)) =
            rayon::join(|| Templates::with_look(site.clone(), look, &self.files), || rayon::join(embedded, data));
        let templates = match templates {
            Ok(templates) => templates,
            Err(problems) => return Ok(Prepared::Refused(problems)),
        };
        let digests = self.digests(compilation, examined, &templates, &embedded, wish, look.preset);
        let compiled = digested(data, compilation, &digests);
        let arrange = || self.arrange(examined, wish, digests, &compiled, &templates);
        let (arranged, data) = rayon::join(arrange, || written.then(|| json(&compiled).map(Into::into)));
        let Arranged { mut pages, subject, date } = match arranged? {
            Ok(arranged) => arranged,
            Err(problems) => return Ok(Prepared::Refused(problems)),
        };
        Ok(Prepared::Ready(Box::new(Ready {
            compilation,
            examined,
            compiled,
            items: demanded(&mut pages),
            said: Said::new(pages.words.entries()),
            pages,
            subject,
            date,
            site,
            figures: wish.figures,
            edition,
            draft,
            preset: wish.preset,
            language: wish.language,
            since: wish.since,
            data: data.map_or_else(OnceLock::new, OnceLock::from),
        })))
    }

    /// The document of a procedure, through its templates.
    fn arrange(
        &self,
        examined: &Examined,
        wish: &Wish<'_>,
        digests: Digests,
        compiled: &Compiled,
        templates: &Templates,
    ) -> Result<Result<Arranged, Vec<Diagnostic>>, Error> {
        let Wish { draft, figures, edition, .. } = *wish;
        let earlier = wish.since.map(|earlier| earlier.document(templates.words(), edition, figures));
        let since = earlier.as_ref();
        let sources = Sources { files: &self.files, digests, figures, edition, since, compiled: Some(compiled), words: templates.words() };
        let instruction = match examined.checked.as_ref().filter(|_| !draft) {
            Some(checked) => build::build(checked, &sources),
            None => build::draft(examined, &sources),
        };
        let identity = &instruction.document().identity;
        if let Some(earlier) = &earlier {
            succeeds(&earlier.identity, identity, draft)?;
        }
        let arranged = template::render(&instruction, templates).map(|pages| Arranged {
            pages,
            subject: templates.words().fill(ids::PAGE_SUBJECT, [&identity.number.text, &identity.revision.text]),
            date: (identity.date.year, identity.date.month, identity.date.day),
        });
        Ok(arranged)
    }

    /// The bytes of a print in one format, not read back yet.
    pub(super) fn emit(&self, ready: &Ready<'_>, name: &str) -> Result<Output, Error> {
        if name == JSON {
            return Ok(Output { extension: JSON, bytes: ready.data()?.to_vec(), pages: None });
        }
        let format = format(name)?;
        let attachments = match format.carries {
            true => {
                let making = Making {
                    site: &ready.site,
                    words: &ready.pages.words,
                    figures: ready.figures,
                    edition: ready.edition,
                    draft: ready.draft,
                    preset: ready.preset,
                    language: ready.language,
                    since: ready.since,
                };
                self.attachments(ready.compilation, ready.examined, &making, Arc::clone(ready.data()?))?
            }
            false => Vec::new(),
        };
        let print = Print { subject: &ready.subject, attachments: &attachments, ..Print::new(&ready.pages, ready.date) };
        Ok(Output { extension: format.extension, bytes: format.emit(&print)?, pages: None })
    }

    /// The console card of an arm in `formats`, with what is wrong with its profile. While an error stands nothing is made.
    pub fn card(
        &self,
        path: &Path,
        formats: &[&str],
        site: Option<&Path>,
        language: Option<&str>,
    ) -> Result<(Vec<Diagnostic>, Prints), Error> {
        if self.world.kind(path) == Kind::Folder {
            return Err(file_error(path, "is a folder; name the arm profile in it"));
        }
        let location = self.locate(path, None)?;
        let loaded = self.model::<Arm>(&self.arms, &location, &location.inside)?;
        let Some(loaded) = &*loaded else { return Err(file_error(path, "does not exist")) };
        let problems = loaded.problems.clone();
        let errors = problems.iter().filter(|f| f.severity == Severity::Error).count();
        let (Some(arm), Some(source), 0) = (&loaded.value, loaded.sources.first(), errors) else {
            return Ok((problems, Prints::Withheld(errors.max(1))));
        };
        let site = self.site(site)?;
        known(language, &site)?;
        let templates = match Templates::with_look(site, Look { language, ..Look::default() }, &self.files) {
            Ok(templates) => templates,
            Err(found) => return Ok((problems, Prints::Refused(found))),
        };
        let card = build::card(arm, &hex(&source.digest), templates.words());
        let mut pages = match template::render_card(&card, &templates) {
            Ok(pages) => pages,
            Err(found) => return Ok((problems, Prints::Refused(found))),
        };
        let items = demanded(&mut pages);
        let said = Said::new(pages.words.entries());
        let date = card.content().identity.date;
        let print = Print::new(&pages, (date.year, date.month, date.day));
        let made = formats.iter().map(|name| emitted(name, &print, &items, &said)).collect::<Result<_, _>>()?;
        Ok((problems, Prints::Made(made)))
    }

    /// The templates of a site's folder.
    fn site(&self, folder: Option<&Path>) -> Result<Vec<(String, String)>, Error> {
        let Some(folder) = folder else { return Ok(Vec::new()) };
        let root = self.world.absolute(folder)?;
        let mut out = Vec::new();
        for (name, kind) in self.world.list(folder)? {
            let shown = folder.join(&name);
            let wanted = kind == Kind::File && [".html", ".toml"].iter().any(|e| name.ends_with(e));
            if let Some(inside) = wanted.then(|| Inside::ROOT.join(&name)).and_then(Result::ok) {
                let (text, ..) = source::decode(self.world.read(&root, &inside)?).map_err(|what| file_error(&shown, what))?;
                out.push((shown.display().to_string(), text));
            }
        }
        if out.is_empty() {
            return Err(file_error(folder, "holds no template (*.html), no theme.toml and no words.toml"));
        }
        Ok(out)
    }

    fn digests(
        &self,
        compilation: &Compilation,
        examined: &Examined,
        templates: &Templates,
        embedded: &[(&str, [u8; 32])],
        wish: &Wish<'_>,
        preset: Option<&str>,
    ) -> Digests {
        let mut content = Sha256::new();
        let mut part = |name: &str, bytes: &[u8]| {
            // Lengths first, so that no two lists of parts run together into the same bytes.
            for field in [name.as_bytes(), bytes] {
                content.update((field.len() as u64).to_be_bytes());
                content.update(field);
            }
        };
        part("surehand", env!("CARGO_PKG_VERSION").as_bytes());
        part("figures", wish.figures.word().as_bytes());
        part("edition", wish.edition.word().as_bytes());
        part("preset", preset.unwrap_or_default().as_bytes());
        if let Some(earlier) = wish.since {
            part("since", &earlier.digest());
        }
        part("language", templates.words().language().as_bytes());
        templates.words().entries().for_each(|(id, text)| part(id, text.as_bytes()));
        compilation.sources.iter().for_each(|s| part(s.inside.as_str(), &s.digest));
        let mut texts: Vec<_> = templates.files().map(|id| self.files.get(id)).collect();
        let name = |path: &str| path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned();
        texts.sort_by_key(|f| name(&f.name));
        texts.iter().for_each(|f| part(&name(&f.name), f.text.as_bytes()));
        embedded.iter().for_each(|(name, digest)| part(name, digest));
        let p = &examined.procedure;
        Digests {
            content: hex(&content.finalize()),
            arm: digest(compilation, p.arm.file),
            cell: digest(compilation, p.cell.file),
            policy: digest(compilation, p.policy.file),
        }
    }
}

/// A compiled procedure with the digests of what took part.
fn digested(mut data: Compiled, compilation: &Compilation, digests: &Digests) -> Compiled {
    data.digests = compiled::Digests { content: Some(digests.content.clone()), source: Some(digest(compilation, compilation.file)) };
    for model in &mut data.models {
        let digest = match model.kind.as_str() {
            "arm" => &digests.arm,
            "cell" => &digests.cell,
            _ => &digests.policy,
        };
        model.digest = Some(digest.clone());
    }
    data
}

/// Whether one document can be a later revision of another.
fn succeeds(earlier: &Identity, now: &Identity, draft: bool) -> Result<(), Error> {
    let (was, is) = (&earlier.number.text, &now.number.text);
    if was != is {
        return Err(Error::Usage(format!("the earlier revision is of {was} and this is {is}: name an earlier revision of {is}")));
    }
    if earlier.revision == now.revision && !draft {
        let both = &now.revision.text;
        return Err(Error::Usage(format!("both say revision {both}: give this one its own, or add --draft while it is worked on")));
    }
    Ok(())
}

fn unknown(tag: &str) -> String {
    format!("there are no words in the language `{}`", tag.escape_debug())
}

fn there_are(site: &[(String, String)]) -> String {
    format!("there are {}; a site may have its own, as words.TAG.toml among its templates", Vec::from_iter(languages(site)).join(", "))
}

/// Whether a language that was asked for has words.
fn known(language: Option<&str>, site: &[(String, String)]) -> Result<(), Error> {
    match language.filter(|tag| !languages(site).contains(*tag)) {
        Some(tag) => Err(Error::Usage(format!("{}: {}", unknown(tag), there_are(site)))),
        None => Ok(()),
    }
}

/// What a finished file must show.
fn demanded(pages: &mut Pages) -> Vec<Item> {
    std::mem::take(&mut pages.values).into_iter().map(|(id, values)| Item { id, values }).collect()
}

fn format(name: &str) -> Result<&'static Format, Error> {
    Format::named(name).ok_or_else(|| Error::Usage(format!("there is no format {name}")))
}

/// A file in a format, read back.
fn emitted(name: &str, print: &Print<'_>, items: &[Item], said: &Said) -> Result<Output, Error> {
    let format = format(name)?;
    let bytes = format.emit(print)?;
    let pages = readback::check(format.name, &bytes, items, said)?;
    Ok(Output { extension: format.extension, bytes, pages })
}

fn json(compiled: &Compiled) -> Result<Vec<u8>, Error> {
    let mut bytes = serde_json::to_vec_pretty(compiled).map_err(|e| Error::Internal(e.to_string()))?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// The digest of a file that took part; empty for one that is not on disk.
fn digest(compilation: &Compilation, file: FileId) -> String {
    compilation.sources.iter().find(|s| s.file == file).map_or(String::new(), |s| hex(&s.digest))
}
