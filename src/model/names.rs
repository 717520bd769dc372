//! Names in model files: what may be one, and that each means one thing.

use super::rules::{ALIKE_NAMES, BAD_NAME, DUPLICATE_NAME, RESERVED_NAME, UNKNOWN_MODEL_NAME};
use crate::diag::{Diagnostic, suggest};
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
        let own: &[&str] = match self {
            For::Joint => OPENERS,
            For::Direction => &["jaw", "grip", "together"],
            For::Signal => &["contact"],
            For::Station => &["held"],
            For::Reading => &["joints"],
            For::Role | For::State | For::Level | For::Thing(_) => &[],
        };
        let connective = self != For::State || !["open", "on"].contains(&word.as_str());
        own.contains(&word.as_str()) || (connective && CONNECTIVES.contains(&word.as_str()))
    }
}

/// Words that open a statement.
const OPENERS: &[&str] = &[
    "jaw",
    "grip",
    "close",
    "lift",
    "lower",
    "let",
    "hold",
    "witness",
    "verify",
    "check",
    "read",
    "record",
    "view",
    "tell",
    "wait",
    "turnover",
    "power",
    "fit",
    "put",
    "set",
    "if",
    "then",
    "otherwise",
    "repeat",
    "perform",
    "go",
    "expect",
    "together",
];

/// Words inside statements.
const CONNECTIVES: &[&str] = &[
    "to", "from", "by", "until", "within", "slow", "inch", "not", "past", "first", "and", "at", "on", "of", "onto", "clear", "open",
    "ending", "taps", "between", "below", "above", "most", "least",
];

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
