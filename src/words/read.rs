//! Files of words to a whole set.

use super::ids::Declared;
use super::rules::{LANGUAGE, MARKING, MISSING, SLOTS, UNKNOWN, UNREADABLE};
use super::{LANGUAGES, Language, Own, PLACES, Piece, Sentence, Words, declared, judge, language};
use crate::diag::{Diagnostic, suggest};
use crate::text::{File, FileId, Files, Span};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Most bytes of a sentence.
const LONGEST: usize = 1000;

/// What stands in a file, each at its place.
#[derive(Default)]
pub(super) struct Written {
    pub language: Option<(String, Span)>,
    pub forbidden: Vec<String>,
    /// By place in the list of all declared ones.
    pub sentences: Vec<Option<(String, Span)>>,
    pub problems: Vec<Diagnostic>,
    /// Its file, at its start.
    pub start: Option<Span>,
}

pub(super) fn load(tag: Option<&str>, own: Option<Own<'_>>, files: &Files) -> Result<Words, Vec<Diagnostic>> {
    let own = own.map(|own| read(own.file, own.text));
    if let Some(own) = own.as_ref().filter(|o| !o.problems.is_empty()) {
        return Err(own.problems.clone());
    }
    let says = own.as_ref().and_then(|o| o.language.clone());
    let base = match (tag, &says) {
        (Some(tag), Some((says, span))) if tag != says => {
            let what = format!("these words are in the language `{says}`, and the print is to be in `{tag}`");
            return Err(vec![
                UNREADABLE.at(*span, what).help(format!("ask for the language `{says}`, or name this file words.{says}.toml")),
            ]);
        }
        (Some(tag), _) => language(tag),
        (None, Some((says, _))) => language(says),
        (None, None) => LANGUAGES.first(),
    };
    let built_in = base.map(|language| built_in(language, files));
    let named = says.map(|s| s.0).or_else(|| base.map(|l| l.tag.to_owned()));
    let Some(tag) = named.or_else(|| tag.filter(|_| own.is_some()).map(str::to_owned)) else {
        let span = Span::new(files.add(File::new("words.toml", "")), 0, 0);
        return Err(vec![LANGUAGE.at(span, "there are no words in this language").help("ask for another, or write its whole set")]);
    };
    whole(tag, built_in, own)
}

fn built_in(language: &Language, files: &Files) -> Written {
    read(files.add(File::new(language.path, language.text)), language.text)
}

/// The set that the built-in one and a site's make together, judged.
fn whole(language: String, built_in: Option<Written>, own: Option<Written>) -> Result<Words, Vec<Diagnostic>> {
    let mut all = built_in.unwrap_or_default();
    // What is built in alone is judged by a test, as what a site might write.
    let judged = own.is_some();
    if let Some(own) = own {
        all.sentences.resize(own.sentences.len(), None);
        for (there, over) in all.sentences.iter_mut().zip(own.sentences) {
            *there = over.or(there.take());
        }
        all.forbidden.extend(own.forbidden);
        all.start = own.start;
    }
    let start = all.start.unwrap_or(Span::new(FileId(0), 0, 0));
    let mut problems = all.problems;
    let mut sentences = Vec::new();
    for (declared, written) in declared().zip(all.sentences.iter()) {
        match written {
            None => problems.push(missing(declared, start)),
            Some((text, span)) => match sentence(declared, text, *span) {
                Ok(sentence) => sentences.push(sentence),
                Err(problem) => problems.push(*problem),
            },
        }
    }
    if judged {
        problems.extend(judge::problems(&all.sentences, &language, &all.forbidden, start));
    }
    if problems.is_empty() { Ok(Words { language, sentences }) } else { Err(problems) }
}

fn missing(declared: &Declared, start: Span) -> Diagnostic {
    let slots: Vec<String> = declared.slots.iter().map(|s| format!("{{{s}}}")).collect();
    let with = if slots.is_empty() { String::new() } else { format!(" with {}", slots.join(", ")) };
    MISSING
        .at(start, format!("the sentence `{}` is not there", declared.id))
        .help(format!("write it{with}; a file without a `language` of its own is laid over the built-in set and may leave it out"))
}

fn read(file: FileId, text: &str) -> Written {
    let at = |range: Range<usize>| Span::new(file, range.start, range.end);
    let mut out = Written { sentences: declared().map(|_| None).collect(), start: Some(Span::new(file, 0, 0)), ..Written::default() };
    let table = match DeTable::parse(text) {
        Ok(table) => table.into_inner(),
        Err(e) => {
            out.problems.push(UNREADABLE.at(at(e.span().unwrap_or(0..0)), e.message().to_owned()).help("mend the TOML"));
            return out;
        }
    };
    for (key, value) in table {
        let (name, span) = (key.get_ref().to_string(), at(value.span()));
        match (name.as_str(), value.into_inner()) {
            ("language", DeValue::String(tag)) if is_tag(&tag) => out.language = Some((tag.into_owned(), span)),
            ("language", _) => {
                out.problems.push(UNREADABLE.at(span, "`language` is the tag of a language").help("write it as \"en\" or \"de-CH\""));
            }
            ("forbidden", DeValue::Array(list)) => {
                for entry in list {
                    let span = at(entry.span());
                    match entry.into_inner() {
                        DeValue::String(word) if !word.trim().is_empty() => out.forbidden.push(word.into_owned()),
                        _ => out.problems.push(UNREADABLE.at(span, "`forbidden` is a list of words").help("write each as \"word\"")),
                    }
                }
            }
            ("forbidden", _) => out.problems.push(UNREADABLE.at(span, "`forbidden` is a list of words").help("write [\"word\", \"word\"]")),
            (table, DeValue::Table(keys)) => {
                for (key, value) in keys {
                    let (id, name, span) = (format!("{table}.{}", key.get_ref()), at(key.span()), at(value.span()));
                    match (PLACES.get(id.as_str()), value.into_inner()) {
                        (Some(place), DeValue::String(text)) => out.sentences[*place] = Some((text.into_owned(), span)),
                        (Some(_), _) => out.problems.push(UNREADABLE.at(span, format!("`{id}` is a sentence")).help("write it in quotes")),
                        (None, _) => out.problems.push(unknown(&id, name)),
                    }
                }
            }
            (name, _) => out.problems.push(unknown(name, at(key.span()))),
        }
    }
    out
}

fn is_tag(tag: &str) -> bool {
    let mut parts = tag.split('-');
    parts.next().is_some_and(|p| (2..=3).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_lowercase()))
        && parts.all(|p| (2..=8).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_alphanumeric()))
}

fn unknown(id: &str, span: Span) -> Diagnostic {
    let finding = UNKNOWN.at(span, format!("there is no sentence `{id}`"));
    match suggest(id, declared().map(|d| d.id)) {
        Some(near) => finding.help(format!("`{near}` is meant?")),
        None => finding.help("take it out; templates/words.toml shows every sentence"),
    }
}

/// A written sentence as its pieces.
fn sentence(declared: &Declared, text: &str, span: Span) -> Result<Sentence, Box<Diagnostic>> {
    let id = declared.id;
    let refuse = |finding: Diagnostic| Err(Box::new(finding));
    if !text.chars().any(char::is_alphanumeric) && !id.starts_with("list.") {
        return refuse(
            MISSING.at(span, format!("the sentence `{id}` says nothing")).help("say it in your own words; no sentence may be taken away"),
        );
    }
    if text.len() > LONGEST {
        return refuse(MARKING.at(span, format!("the sentence `{id}` is longer than {LONGEST} bytes")).help("say it in fewer words"));
    }
    if let Some(odd) = text.chars().find(|c| is_hidden(*c)) {
        let what = format!("the sentence `{id}` holds U+{:04X}, which is not seen or turns the words around it", u32::from(odd));
        return refuse(MARKING.at(span, what).help("take it out"));
    }
    let pieces =
        pieces(declared, text).map_err(|(what, help)| Box::new(MARKING.at(span, format!("the sentence `{id}` {what}")).help(help)))?;
    for slot in declared.slots {
        let times = pieces.iter().filter(|p| matches!(p, Piece::Slot(name) if name == slot)).count();
        if times != 1 {
            let what = if times == 0 { "has no".to_owned() } else { format!("has {times} times") };
            return refuse(SLOTS.at(span, format!("the sentence `{id}` {what} {{{slot}}}")).help(format!("put {{{slot}}} into it once")));
        }
    }
    if let Some(stranger) = pieces.iter().find_map(|p| match p {
        Piece::Slot(name) if !declared.slots.contains(&name.as_str()) => Some(name),
        _ => None,
    }) {
        let known: Vec<String> = declared.slots.iter().map(|s| format!("{{{s}}}")).collect();
        let help = if known.is_empty() { "it has no slots".to_owned() } else { format!("its slots are {}", known.join(", ")) };
        return refuse(SLOTS.at(span, format!("the sentence `{id}` has no slot {{{stranger}}}")).help(help));
    }
    Ok(Sentence { text: text.to_owned(), pieces })
}

/// What is not seen, or turns the words around it. A no-break space is seen as one.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}')
}

fn pieces(declared: &Declared, text: &str) -> Result<Vec<Piece>, (&'static str, &'static str)> {
    let mut out: Vec<Piece> = Vec::new();
    let mut open: Option<char> = None;
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let behind = &rest[c.len_utf8()..];
        match c {
            '{' => {
                let (name, behind) = behind.split_once('}').ok_or(("has a { without its }", "write a slot as {name}"))?;
                out.push(Piece::Slot(name.to_owned()));
                rest = behind;
                continue;
            }
            '}' => return Err(("has a } without its {", "write a slot as {name}")),
            '*' | '_' if !declared.marked => {
                return Err(("has a star or an underline", "only sentences of templates are marked; write words alone"));
            }
            '*' | '_' => {
                out.push(if c == '*' { Piece::Bold } else { Piece::Light });
                open = match open {
                    None => Some(c),
                    Some(other) if other == c => None,
                    Some(_) => return Err(("has bold within light or light within bold", "close one before the other begins")),
                };
            }
            c => match out.last_mut() {
                Some(Piece::Text(text)) => text.push(c),
                _ => out.push(Piece::Text(c.to_string())),
            },
        }
        rest = behind;
    }
    match open {
        Some(_) => Err(("has a star or an underline that nothing closes", "close it, or take it out")),
        None => Ok(out),
    }
}

/// The language that a file names.
pub(super) fn language_of(text: &str) -> Option<String> {
    read(FileId(0), text).language.map(|(tag, _)| tag)
}

/// The sentences of a file as they are written, in the order in which they are declared.
pub(super) fn texts(text: &str) -> Vec<String> {
    read(FileId(0), text).sentences.into_iter().map(|s| s.map_or_else(String::new, |(text, _)| text)).collect()
}
