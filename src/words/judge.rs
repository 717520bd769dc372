//! What a set of words as a whole must be: it claims nothing, cuts no caution short, and keeps meanings apart.

use super::ids::Kind;
use super::rules::{CLAIMS, CONFUSABLE, MISSING};
use super::{LANGUAGES, PLACES, declared, language, read};
use crate::diag::Diagnostic;
use crate::text::Span;
use std::collections::HashSet;
use std::sync::LazyLock;

/// Words that no set may hold, whatever its language: they claim what no check can claim.
const NEVER: [&str; 28] = [
    "proved",
    "proven",
    "guarantee",
    "guaranteed",
    "guarantees",
    "safe",
    "safely",
    "safest",
    "complies",
    "compliant",
    "sicher",
    "sichere",
    "sicheren",
    "sicherer",
    "sicheres",
    "sicherem",
    "bewiesen",
    "erwiesen",
    "garantiert",
    "garantie",
    "gewährleistet",
    "nachgewiesen",
    "gefahrlos",
    "ungefährlich",
    "unbedenklich",
    "risikofrei",
    "konform",
    "zertifiziert",
];

/// Meanings that a reader tells apart by these words alone, and what they are.
const APART: [(&str, &[&str]); 16] = [
    (
        "words that bind a value to its place",
        &[
            "bind.to",
            "bind.until",
            "bind.tap",
            "bind.level",
            "bind.limit",
            "bind.past",
            "bind.least",
            "bind.most",
            "bind.between",
            "bind.and",
            "bind.above",
            "bind.below",
            "bind.from",
            "bind.or",
        ],
    ),
    (
        "words that bind a value to its place",
        &["bind.range", "bind.and", "bind.or", "bind.from", "bind.between", "bind.above", "bind.below"],
    ),
    ("the status of a print", &["status.draft", "status.checked", "status.card"]),
    ("the banner of a print", &["status.invented", "status.unaccepted"]),
    ("signal words", &["signal.warning", "signal.caution", "signal.note"]),
    ("power", &["step.on", "step.off"]),
    ("power at the start", &["start.on", "start.off"]),
    ("the jaw", &["step.open", "step.close", "act.close"]),
    ("the pace of a move", &["step.slow", "step.inch"]),
    ("ways in the cell", &["way.up", "way.down", "way.toward-arm", "way.away-from-arm", "way.left", "way.right"]),
    ("ways in a picture", &["picture.left", "picture.right", "picture.up", "picture.down", "picture.away", "picture.nearer"]),
    (
        "labels of lines",
        &[
            "label.watch",
            "label.proof",
            "label.stop-if",
            "label.if-not",
            "label.touching-allowed",
            "label.second-person",
            "label.must-be-true",
            "label.say",
            "label.reply",
            "label.why",
            "label.waived",
            "label.accepted",
        ],
    ),
    ("branches", &["hold.if-yes", "hold.if-no"]),
    ("points", &["hold.hold-point", "hold.witness-point", "hold.verify"]),
    ("what was checked and what was not", &["front.checked", "front.looked-at", "front.not-checked", "front.assumed"]),
    (
        "acts",
        &[
            "act.grip",
            "act.close",
            "act.lift",
            "act.lower",
            "act.let-go",
            "act.power",
            "act.view",
            "act.tell",
            "act.read-joints",
            "act.expect",
            "act.fit",
            "act.put-down",
            "act.set",
            "act.go-to",
            "act.record",
            "act.read",
            "act.if",
            "act.perform",
        ],
    ),
];

/// The least share of the English sentence that a caution has in another wording.
const SHARE: usize = 2;

/// Sentences as written, by place in the list of all declared ones.
type Written = [Option<(String, Span)>];

pub(super) fn problems(written: &Written, tag: &str, forbidden: &[String], start: Span) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    if language(tag).is_none() && forbidden.is_empty() {
        out.push(
            CLAIMS
                .at(start, format!("the set does not say which words of the language `{tag}` claim too much"))
                .help("write forbidden = [\"...\"], with the words for proved and safe at least"),
        );
    }
    claims(written, forbidden, &mut out);
    cautions(written, &mut out);
    apart(written, start, &mut out);
    out
}

/// Words in small letters, without slots and marks.
pub(super) fn words(text: &str) -> Vec<String> {
    let mut plain = String::new();
    for (i, part) in text.split('{').enumerate() {
        plain.push_str(if i == 0 { part } else { part.split_once('}').map_or("", |(_, behind)| behind) });
        plain.push(' ');
    }
    plain.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}

fn claims(written: &Written, forbidden: &[String], out: &mut Vec<Diagnostic>) {
    let never: Vec<String> = NEVER.into_iter().map(str::to_owned).chain(forbidden.iter().map(|w| w.to_lowercase())).collect();
    for (declared, (text, span)) in declared().zip(written).filter_map(|(d, w)| Some((d, w.as_ref()?))) {
        let said = words(text);
        if let Some(word) = never.iter().find(|word| said.contains(word)) {
            let what = format!("the sentence `{}` says {word:?}, which no check can claim", declared.id);
            out.push(CLAIMS.at(*span, what).help("say what was checked, against what; never that something is proved or safe"));
        }
    }
}

/// A caution may be worded otherwise, but not in half as many letters.
fn cautions(written: &Written, out: &mut Vec<Diagnostic>) {
    for ((declared, (text, span)), english) in
        declared().zip(written).zip(ENGLISH.iter()).filter_map(|((d, w), e)| Some(((d, w.as_ref()?), e)))
    {
        let letters = |text: &str| words(text).iter().map(|w| w.chars().count()).sum::<usize>();
        let (is, of) = (letters(text), letters(english));
        if declared.kind == Kind::Safety && is > 0 && is * SHARE < of {
            let what = format!("the sentence `{}` has {is} letters; the built-in one has {of} and says: {english}", declared.id);
            out.push(MISSING.at(*span, what).help("say all of it, in your own words"));
        }
    }
}

static ENGLISH: LazyLock<Vec<String>> = LazyLock::new(|| {
    let text = LANGUAGES.first().map_or("", |l| l.text);
    read::texts(text)
});

fn apart(written: &Written, start: Span, out: &mut Vec<Diagnostic>) {
    let mut seen: HashSet<[&str; 2]> = HashSet::new();
    let of = |id: &str| written.get(*PLACES.get(id)?)?.as_ref();
    for (what, ids) in APART {
        for (n, one) in ids.iter().enumerate() {
            for other in &ids[..n] {
                let (Some((a, span)), Some((b, place))) = (of(one), of(other)) else { continue };
                let (said, there) = (words(a), words(b));
                if said.is_empty() || there.is_empty() || !(said.ends_with(&there) || there.ends_with(&said)) {
                    continue;
                }
                let how = if said == there { "read alike" } else { "end alike" };
                if !seen.insert(if one < other { [one, other] } else { [other, one] }) {
                    continue;
                }
                // Of the two, a site wrote at least one.
                let (at, from) = if span.file == start.file { (*span, *place) } else { (*place, *span) };
                out.push(
                    CONFUSABLE
                        .at(at, format!("`{other}` and `{one}` {how}: {b:?} and {a:?}; they are {what}"))
                        .label(from, "the other one")
                        .help("say one of them so that neither can be taken for the other"),
                );
            }
        }
    }
    // What binds a value is compared word by word with what stands before it.
    for (declared, (text, span)) in declared().zip(written).filter_map(|(d, w)| Some((d, w.as_ref()?))) {
        if declared.kind == Kind::Bind && !text.chars().all(|c| c.is_alphabetic() || c == ' ') {
            let what = format!("`{}` binds a value to its place and is {text:?}", declared.id);
            out.push(CONFUSABLE.at(*span, what).help("use letters and spaces alone"));
        }
    }
}
