//! Document in, page tree out: templates decide arrangement, a set of words says it in a language, and both are then held to the
//! document.
//!
//! A site may put its own files before the built-in ones. Content reaches a template as data, escaped; a template
//! reads no file. Its output must be strict XHTML of the page vocabulary, and every step, alert, hold point, sign-off
//! and checked value must stand in it once, in order, with its exact text; otherwise there is no tree.

mod ledger;
pub mod manual;
mod parse;
pub mod rules;
pub mod theme;
pub mod tree;

use crate::diag::{Diagnostic, Rule};
use crate::document::Stamp;
use crate::document::build::Instruction;
use crate::document::card::Card;
use crate::text::{File, FileId, Files, Span};
use crate::words::{self, LANGUAGES, Own, Piece, Words};
use minijinja::value::{Kwargs, Serde};
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value};
use serde::Serialize;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};
use theme::{Look, Theme};
use tree::Tree;

/// The built-in files, by name.
pub const BUILT_IN: &[(&str, &str)] = &[
    ("instruction.html", include_str!("../templates/instruction.html")),
    ("card.html", include_str!("../templates/card.html")),
    ("console.html", include_str!("../templates/console.html")),
    ("training.html", include_str!("../templates/training.html")),
    ("front.html", include_str!("../templates/front.html")),
    ("changes.html", include_str!("../templates/changes.html")),
    ("record.html", include_str!("../templates/record.html")),
    ("sheet.html", include_str!("../templates/sheet.html")),
    ("start.html", include_str!("../templates/start.html")),
    ("package.html", include_str!("../templates/package.html")),
    ("review.html", include_str!("../templates/review.html")),
    ("acts.html", include_str!("../templates/acts.html")),
    ("theme.toml", include_str!("../templates/theme.toml")),
];

/// The parts of a work instruction in printed order, behind its identity, and what each is.
const PARTS: [(&str, &str); 16] = [
    ("front", "the first page: purpose, posts, use level, models, what was checked and what not, findings, approvals"),
    ("qr", "the square code of number, revision and digest"),
    ("contents", "what stands on which page"),
    ("changes", "what differs from an earlier revision"),
    ("record", "the cover of the record of the run"),
    ("training", "the instructor's page"),
    ("plan", "the cell from above, with the views"),
    ("console", "the console as the procedure needs it"),
    ("start", "what must be so before the first step"),
    ("blocks", "the steps and the contingencies"),
    ("power", "what to do if power is lost"),
    ("after", "the read-outs after each step"),
    ("sheets", "the data sheets"),
    ("package", "what a reviewer decides on: evidence, safety, who signs"),
    ("summary", "what is accepted, and by whom"),
    ("review", "what no rule decides, and the signatures"),
];

/// Most instructions a template may run; a thousand steps take about a hundredth of it.
const FUEL: u64 = 100_000_000;
/// Most bytes a template may write.
const OUTPUT_CAP: usize = 64 << 20;

/// The built-in templates, compiled; those of a site are laid over a copy.
static COMPILED: LazyLock<Result<Environment<'static>, minijinja::Error>> = LazyLock::new(|| {
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_fuel(Some(FUEL));
    environment.add_filter("field", |value: &Value| field(value, ""));
    environment.add_filter("solid", |value: &Value| field(value, " class=\"solid\""));
    let mut templates = BUILT_IN.iter().filter(|(name, _)| *name != "theme.toml");
    templates.try_for_each(|(name, text)| environment.add_template(name, text)).map(|()| environment)
});

/// Reads what is built in, which takes as long as checking a short procedure: worth doing beside it. What prints waits for it.
pub fn read_ahead() {
    rayon::join(|| LazyLock::force(&COMPILED).is_ok(), Words::english);
}

/// Templates and theme, ready to run.
#[derive(Debug)]
pub struct Templates {
    environment: Environment<'static>,
    files: BTreeMap<String, FileId>,
    theme: Theme,
    words: Arc<Words>,
}

/// A finished page tree with the theme it is laid out in.
#[derive(Debug)]
pub struct Pages {
    /// What is printed.
    pub tree: Tree,
    /// In which sizes.
    pub theme: Theme,
    /// In which words.
    pub words: Arc<Words>,
    /// What the document demands, by item in printed order: ids and exact texts of its values, to read a file back against.
    pub values: Vec<(String, Vec<(String, String)>)>,
}

impl Templates {
    /// The built-in templates with a site's `(name, text)` files laid over them. Each file is added to `files` for messages.
    pub fn new(site: Vec<(String, String)>, files: &Files) -> Result<Templates, Vec<Diagnostic>> {
        Templates::with_look(site, Look::default(), files)
    }

    /// The same in another look; a site's own theme goes before it.
    pub fn with_look(site: Vec<(String, String)>, look: Look<'_>, files: &Files) -> Result<Templates, Vec<Diagnostic>> {
        let mut sources: BTreeMap<Cow<'_, str>, (String, Cow<'_, str>)> =
            BUILT_IN.iter().map(|(name, text)| (Cow::from(*name), (format!("templates/{name}"), Cow::from(*text)))).collect();
        let built_in = sources.get("theme.toml").map(|(_, text)| text.clone()).unwrap_or_default();
        let (own_words, site): (Vec<_>, Vec<_>) = site.into_iter().partition(|(path, _)| is_words(file_name(path)));
        let words = words(own_words, look.language, files)?;
        for (path, text) in site {
            sources.insert(file_name(&path).to_owned().into(), (path, text.into()));
        }
        let mut environment = COMPILED.as_ref().map_err(|e| vec![failed(e, &BTreeMap::new())])?.clone();
        let spoken = Arc::clone(&words);
        environment.add_function("text", move |id: &str, values: Kwargs| say(&spoken, id, &values));
        let mut out = BTreeMap::new();
        let mut theme = None;
        let mut problems = Vec::new();
        for (name, (path, text)) in sources {
            let is_own = matches!(text, Cow::Owned(_));
            let id = files.add(File::new(path, &*text));
            out.insert(name.to_string(), id);
            if name == "theme.toml" {
                match Theme::of(&built_in, look, is_own.then_some(&*text)) {
                    Ok(parsed) => theme = Some(parsed),
                    Err((range, what)) => {
                        let range = range.unwrap_or(0..text.len().min(1));
                        problems.push(rules::THEME.at(Span::new(id, range.start, range.end), what));
                    }
                }
            } else if is_own && let Err(error) = environment.add_template_owned(name, text) {
                problems.push(failed(&error, &out));
            }
        }
        match theme {
            Some(theme) if problems.is_empty() => Ok(Templates { environment, files: out, theme, words }),
            _ => Err(problems),
        }
    }
}

impl Templates {
    /// The sizes in force.
    pub fn theme(&self) -> &Theme {
        &self.theme
    }
    /// The words in force.
    pub fn words(&self) -> &Arc<Words> {
        &self.words
    }
    /// Every template in use, built in or the site's.
    pub fn files(&self) -> impl Iterator<Item = FileId> {
        self.files.values().copied()
    }
}

/// Runs the templates over a work instruction and holds the result to it.
pub fn render(instruction: &Instruction, templates: &Templates) -> Result<Pages, Vec<Diagnostic>> {
    if !instruction.unsaid().is_empty() {
        let refused = |unsaid: &words::Unsaid| rules::FAILS.at(templates.start("instruction.html"), unsaid.to_string());
        return Err(instruction.unsaid().iter().map(refused).collect());
    }
    let document = instruction.document();
    let drawings = document.drawings().into_iter().collect();
    let parts = PARTS.map(|(name, _)| name);
    let print = Print { template: "instruction.html", parts: &parts, drawings };
    let mut pages = print.run(document, instruction.stamp(), templates)?;
    pages.tree.mark(&document.changed);
    Ok(pages)
}

/// The same for the console card of an arm.
pub fn render_card(card: &Card, templates: &Templates) -> Result<Pages, Vec<Diagnostic>> {
    let print = Print { template: "card.html", parts: &["blocks"], drawings: card.content().drawings().collect() };
    print.run(card.content(), card.stamp(), templates)
}

/// What is to be printed through which template.
struct Print<'d> {
    template: &'static str,
    /// The parts of the document in printed order, behind its identity.
    parts: &'d [&'static str],
    drawings: parse::Drawings<'d>,
}

impl Print<'_> {
    fn run(&self, document: &impl Serialize, stamp: &Stamp, templates: &Templates) -> Result<Pages, Vec<Diagnostic>> {
        let given = Given { document: Value::from(Serde(document)), stamp: Value::from(Serde(stamp)) };
        // What is demanded is read off what the templates are given, beside their work on it.
        let (printed, demand) =
            rayon::join(|| self.print(&given, templates), || ledger::Demand::of(&given.document, &given.stamp, self.parts));
        let Printed { output, tree, found } = printed?;
        let failures = ledger::compare(&demand, &found, &output, &templates.words);
        if failures.is_empty() {
            // Letting go of it takes as long as making it, and nothing waits for that.
            rayon::spawn(|| drop(given));
            return Ok(Pages { tree, theme: templates.theme.clone(), words: Arc::clone(&templates.words), values: demand.values() });
        }
        let places: Vec<usize> = failures.iter().map(|f| f.at).collect();
        let spans = self.locate(&places, &given, templates);
        let refused = failures.into_iter().zip(spans).map(|(f, span)| {
            let finding = refusal(f.rule, span, f.what);
            match f.step {
                Some(step) => finding.step(step),
                None => finding,
            }
        });
        Err(refused.collect())
    }

    /// What a template makes of the document.
    fn print(&self, given: &Given, templates: &Templates) -> Result<Printed, Vec<Diagnostic>> {
        let template = templates.environment.get_template(self.template).map_err(|e| vec![failed(&e, &templates.files)])?;
        let mut output = Capped(Vec::new());
        template.render_captured_to(given.context(), &mut output).map_err(|e| vec![failed(&e, &templates.files)])?;
        let output = String::from_utf8(output.0)
            .map_err(|e| vec![rules::FAILS.at(templates.start(self.template), format!("the templates write no text: {e}"))])?;
        let (tree, found) = parse::parse(&output, &self.drawings).map_err(|r| {
            let at = self.locate(&[r.at], given, templates);
            at.into_iter().map(|at| rules::MARKUP.at(at, r.what.clone())).collect::<Vec<_>>()
        })?;
        Ok(Printed { output, tree, found })
    }

    /// Places of the output in the templates. Only a failing template pays for the map between them: it is run once more.
    fn locate(&self, places: &[usize], given: &Given, templates: &Templates) -> Vec<Span> {
        let template = templates.environment.get_template(self.template);
        let spans = template.and_then(|t| t.render_with_spans(given.context())).map(|(_, spans)| spans).unwrap_or_default();
        let locate = |at: &usize| {
            let within = spans.iter().find(|s| s.output_range().contains(at));
            let hit = within.or_else(|| spans.iter().rev().find(|s| s.output_range().start <= *at))?;
            let id = *templates.files.get(hit.name())?;
            let source = hit.source_range();
            let inside = if source.len() == hit.output_range().len() { at.saturating_sub(hit.output_range().start) } else { 0 };
            Some(Span::new(id, (source.start + inside).min(source.end), source.end))
        };
        places.iter().map(|at| locate(at).unwrap_or_else(|| templates.start(self.template))).collect()
    }
}

/// What templates are given.
struct Given {
    document: Value,
    stamp: Value,
}

impl Given {
    fn context(&self) -> Value {
        minijinja::context! { doc => &self.document, stamp => &self.stamp }
    }
}

/// What the templates made, and what was found in it.
struct Printed {
    output: String,
    tree: Tree,
    found: ledger::Ledger,
}

fn refusal(rule: &'static Rule, span: Span, what: String) -> Diagnostic {
    rule.at(span, what)
        .help("a site template may reword and rearrange a print; it must print every item and every checked value once, in order")
}

impl Templates {
    fn start(&self, template: &str) -> Span {
        Span::new(self.files.get(template).copied().unwrap_or(FileId(0)), 0, 0)
    }
}

/// A failure of the templating language, at the innermost template and line.
fn failed(error: &minijinja::Error, files: &BTreeMap<String, FileId>) -> Diagnostic {
    let mut inner = error;
    while let Some(cause) = std::error::Error::source(inner).and_then(|e| e.downcast_ref::<minijinja::Error>()) {
        inner = cause;
    }
    let id = inner.name().and_then(|n| files.get(n)).or_else(|| files.get("instruction.html")).copied().unwrap_or(FileId(0));
    let range = inner.range().unwrap_or(0..0);
    let what = match (inner.detail(), std::error::Error::source(inner)) {
        (Some(detail), _) => format!("{}: {detail}", inner.kind()),
        (None, Some(cause)) => format!("{}: {cause}", inner.kind()),
        (None, None) => inner.kind().to_string(),
    };
    rules::FAILS.at(Span::new(id, range.start, range.end), what)
}

/// Writes a value or sentence with its id. The one place where content becomes markup.
fn field(value: &Value, attributes: &str) -> Result<Value, minijinja::Error> {
    let attr = |v: &Value, name: &str| v.get_attr(name).ok().filter(|v| !v.is_undefined());
    let wrong = || minijinja::Error::new(minijinja::ErrorKind::InvalidOperation, "the filter `field` takes a value with an id");
    let id = attr(value, "id").ok_or_else(wrong)?;
    let mut out = format!("<span{attributes} data-field=\"");
    escape(id.as_str().unwrap_or(""), &mut out);
    out.push_str("\">");
    if let Some(text) = attr(value, "text") {
        escape(text.as_str().unwrap_or(""), &mut out);
    } else {
        for span in attr(value, "spans").ok_or_else(wrong)?.try_iter()? {
            let text = attr(&span, "text").unwrap_or_default();
            let style = attr(&span, "style").unwrap_or_default();
            let (open, close) = match style.as_str() {
                Some("strong" | "code") => ("<strong>".to_owned(), "</strong>"),
                Some("link") => {
                    let mut open = "<a href=\"#".to_owned();
                    escape(attr(&span, "to").unwrap_or_default().as_str().unwrap_or(""), &mut open);
                    open.push_str("\">");
                    (open, "</a>")
                }
                _ => (String::new(), ""),
            };
            out.push_str(&open);
            escape(text.as_str().unwrap_or(""), &mut out);
            out.push_str(close);
        }
    }
    out.push_str("</span>");
    Ok(Value::from_safe_string(out))
}

fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}

/// Whether a file holds words: `words.toml`, or `words.de.toml` for one language.
fn is_words(name: &str) -> bool {
    name == "words.toml" || name.starts_with("words.") && name.ends_with(".toml")
}

/// The language of a file of words: that in its name, or what `words.toml` names, or the first built-in one.
fn language_of(name: &str, text: &str) -> String {
    let tag = name.strip_prefix("words.").and_then(|rest| rest.strip_suffix(".toml")).map(str::to_owned);
    tag.or_else(|| words::named(text)).unwrap_or_else(|| LANGUAGES[0].tag.to_owned())
}

/// The tags of all languages that a print can be made in: built in, or in a site's files.
pub fn languages(site: &[(String, String)]) -> BTreeSet<String> {
    let own = site.iter().filter(|(path, _)| is_words(file_name(path))).map(|(path, text)| language_of(file_name(path), text));
    LANGUAGES.iter().map(|l| l.tag.to_owned()).chain(own).collect()
}

/// The words of a language with a site's own laid over them: `words.TAG.toml`, or else `words.toml` if it is in that language.
/// Where no language is asked for, that of the site's `words.toml` is.
fn words(own: Vec<(String, String)>, language: Option<&str>, files: &Files) -> Result<Arc<Words>, Vec<Diagnostic>> {
    let of = |wanted: &str| own.iter().find(|(path, _)| file_name(path) == wanted);
    let general = of("words.toml");
    let named = language.map_or_else(|| general.map(|(path, text)| language_of(file_name(path), text)), |tag| Some(tag.to_owned()));
    let tag = named.unwrap_or_else(|| LANGUAGES[0].tag.to_owned());
    let same = |(path, text): &&(String, String)| language_of(file_name(path), text) == tag;
    let found = of(&format!("words.{tag}.toml")).or_else(|| general.filter(same));
    let own = found.map(|(path, text)| Own { file: files.add(File::new(path.as_str(), text.as_str())), text });
    if own.is_none() && tag == LANGUAGES[0].tag {
        return Ok(Arc::clone(Words::english()));
    }
    Words::load(Some(&tag), own, files).map(Arc::new)
}

/// A sentence of the set of words as markup: its slots filled with values, each with its id, or with words.
fn say(words: &Words, id: &str, values: &Kwargs) -> Result<Value, minijinja::Error> {
    let wrong = |what: String| minijinja::Error::new(minijinja::ErrorKind::InvalidOperation, what);
    let pieces = words.find(id).ok_or_else(|| wrong(format!("there is no sentence {id:?} to say")))?;
    let mut out = String::new();
    let (mut bold, mut light) = (false, false);
    for piece in pieces {
        match piece {
            Piece::Text(text) => escape(text, &mut out),
            Piece::Slot(name) => {
                let value: Value = values.get(name).map_err(|_| wrong(format!("the sentence {id:?} is said without its {name}")))?;
                if value.get_attr("id").is_ok_and(|id| !id.is_undefined()) {
                    out.push_str(field(&value, "")?.as_str().unwrap_or_default());
                } else if value.is_safe() {
                    out.push_str(value.as_str().unwrap_or_default());
                } else {
                    escape(&value.to_string(), &mut out);
                }
            }
            Piece::Bold => {
                bold = !bold;
                out.push_str(if bold { "<strong>" } else { "</strong>" });
            }
            Piece::Light => {
                light = !light;
                out.push_str(if light { "<span class=\"plain\">" } else { "</span>" });
            }
        }
    }
    values.assert_all_used()?;
    Ok(Value::from_safe_string(out))
}

/// The one escape for markup. White space is written as references, so that a value keeps it exactly.
pub fn escape(text: &str, out: &mut String) {
    let mut rest = text;
    while let Some(at) = rest.bytes().position(|b| matches!(b, b'&' | b'<' | b'>' | b'"' | b'\n' | b'\r' | b'\t')) {
        out.push_str(&rest[..at]);
        out.push_str(match rest.as_bytes()[at] {
            b'&' => "&amp;",
            b'<' => "&lt;",
            b'>' => "&gt;",
            b'"' => "&quot;",
            b'\n' => "&#10;",
            b'\r' => "&#13;",
            _ => "&#9;",
        });
        rest = &rest[at + 1..];
    }
    out.push_str(rest);
}

/// A buffer that refuses to grow past the cap.
struct Capped(Vec<u8>);

impl std::io::Write for Capped {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        if self.0.len() + bytes.len() > OUTPUT_CAP {
            return Err(std::io::Error::other("the templates write more than 64 MiB"));
        }
        self.0.extend_from_slice(bytes);
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}
