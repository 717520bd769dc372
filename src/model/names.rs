//! Names in model files: what may be one, and that each means one thing.

use super::rules::{ALIKE_NAMES, BAD_NAME, DUPLICATE_NAME, RESERVED_NAME, UNKNOWN_MODEL_NAME};
use crate::diag::{Diagnostic, suggest};
use crate::syntax::grammar::{self, PRODUCTIONS, Part};
use crate::syntax::record::Record;
use crate::text::{Span, Spanned};

/// What a name is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum For {
    /// A joint: the first word of a move.
    Joint,
    /// A direction word.
    Direction,
    /// A grip level, perhaps a number.
    Level,
    /// A signal of a guarded move.
    Signal,
    /// A station.
    Station,
    /// What an instrument reads.
    Reading,
    /// A post, perhaps several words.
    Role,
    /// A state of equipment, the last word of a statement.
    State,
    /// Anything else, called so in messages.
    Thing(&'static str),
}

impl For {
    fn word(self) -> &'static str {
        match self {
            For::Joint => "joint",
            For::Direction => "direction word",
            For::Level => "grip level",
            For::Signal => "signal",
            For::Station => "station",
            For::Reading => "reading",
            For::Role => "role",
            For::State => "state",
            For::Thing(word) => word,
        }
    }
    fn reserves(self, word: &str) -> bool {
        let word = word.to_ascii_lowercase();
        let word = word.as_str();
        let own = match self {
            For::Joint => grammar::reserved().any(|w| w == word),
            // A state ends its statement, so that no word can follow it: "open" may be one.
            For::State => return ["until", "to", "from", "by"].contains(&word),
            For::Direction => ["jaw", "grip", "together"].contains(&word),
            For::Signal => word == "contact",
            For::Station => word == "held",
            For::Reading => word == "joints",
            For::Role | For::Level | For::Thing(_) => false,
        };
        own || behind_names().contains(&word)
    }
}

/// The fixed words of the notation that can stand behind a name: where one ends and the other begins must be plain.
fn behind_names() -> Vec<&'static str> {
    fn walk(parts: &'static [Part], named: &mut bool, words: &mut Vec<&'static str>) {
        for part in parts {
            match part {
                Part::Words(w) | Part::Flag(w) if *named => words.extend(w.split(' ')),
                Part::Words(_) | Part::Flag(_) | Part::Mark(_) => {}
                Part::Slot(_) => *named = true,
                Part::Maybe(inner) | Part::UpTo(_, inner) => walk(inner, named, words),
                Part::Choice(choices) => choices.iter().for_each(|c| walk(c, named, words)),
                Part::Named(inner) => walk(inner.parts, named, words),
            }
        }
    }
    let mut words = Vec::new();
    PRODUCTIONS.iter().for_each(|p| walk(p.parts, &mut false, &mut words));
    words
}

/// Reports a name that cannot be one.
pub(super) fn check(r: &Record<'_>, what: For, name: &Spanned<String>) {
    let word = |w: &str, digit: bool| {
        w.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_') && w.starts_with(|c: char| c.is_ascii_alphabetic() || digit)
    };
    let fits = match what {
        For::Role => name.value.split(' ').all(|w| word(w, true)),
        For::Level => word(&name.value, true),
        _ => word(&name.value, false),
    };
    if !fits {
        let help = match what {
            For::Role => "a post is one or more words of letters, digits, - and _ with one blank between them",
            For::Level => "a grip level is letters, digits, - and _",
            _ => "a name is a letter, then letters, digits, - and _; people read the title instead, where there is one",
        };
        let message = format!("\"{}\" cannot be the name of a {}", name.value.escape_debug(), what.word());
        r.report(BAD_NAME.at(name.span, message).help(help));
    } else if what.reserves(&name.value) {
        r.report(RESERVED_NAME.at(name.span, format!("\"{}\" is a word of the notation and cannot be a {}", name.value, what.word())));
    }
}

/// Checks each name and that no two are one, or look like one.
pub(super) fn check_all<'n>(r: &Record<'_>, what: For, names: impl IntoIterator<Item = &'n Spanned<String>>) {
    let mut seen: Vec<&Spanned<String>> = Vec::new();
    for name in names {
        check(r, what, name);
        if let Some(first) = seen.iter().find(|s| s.value == name.value) {
            let message = format!("there are two of the kind {} with the name \"{}\"", what.word(), name.value);
            r.report(DUPLICATE_NAME.at(name.span, message).label(first.span, "the first"));
        } else if let Some(first) = seen.iter().find(|s| skeleton(&s.value) == skeleton(&name.value)) {
            let message = format!("the names \"{}\" and \"{}\" are too much alike", first.value, name.value);
            r.report(ALIKE_NAMES.at(name.span, message).label(first.span, "the other").help("choose names that sound and look different"));
        }
        seen.push(name);
    }
}

/// The nearest name a joint may have to what another file calls it, unlike those in use: `Shoulder_Pan` is `shoulder-pan`.
pub(super) fn fit_joint(raw: &str, used: &[String]) -> String {
    let mut name = String::new();
    for c in raw.chars() {
        match c.to_ascii_lowercase() {
            c if c.is_ascii_alphanumeric() => name.push(c),
            _ if name.is_empty() || name.ends_with('-') => {}
            _ => name.push('-'),
        }
    }
    let name = name.trim_end_matches('-');
    let named = name.starts_with(|c: char| c.is_ascii_alphabetic()) && !For::Joint.reserves(name);
    let name = if named { name.to_string() } else { format!("joint-{name}").trim_end_matches('-').to_string() };
    let free = |n: &String| used.iter().all(|u| skeleton(u) != skeleton(n));
    let numbered = (2..).map(|n| format!("{name}-{n}"));
    std::iter::once(name.clone()).chain(numbered).find(free).unwrap_or(name)
}

/// What is left of a name for a hurried eye. Unicode's table of look-alikes (UTS 39, from memory), its ASCII part.
fn skeleton(name: &str) -> String {
    let plain = |c: char| match c {
        '0' => 'o',
        '1' | 'I' => 'l',
        '_' => '-',
        c => c.to_ascii_lowercase(),
    };
    name.chars().map(plain).collect()
}

/// The finding for a name that nothing has.
pub(super) fn unknown<'n>(span: Span, what: &str, name: &str, known: impl IntoIterator<Item = &'n str>) -> Diagnostic {
    let known: Vec<&str> = known.into_iter().collect();
    let problem = UNKNOWN_MODEL_NAME.at(span, format!("there is no {what} \"{}\"", name.escape_debug()));
    match suggest(name, known.iter().copied()) {
        Some(near) => {
            let quoted = if (span.end - span.start) as usize == name.len() { near.to_string() } else { format!("\"{near}\"") };
            problem.help(format!("did you mean \"{near}\"?")).fix(span, quoted, format!("write \"{near}\""))
        }
        None if known.is_empty() => problem.help(format!("no {what} is described")),
        None => problem.help(format!("described are: {}", known.join(", "))),
    }
}
