//! The house rules as a test: which floor may import which, who touches the outside, how long a file may be,
//! and words that stand nowhere. Each check is also fed planted violations, so that it cannot go blind.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Each floor and the floors it may import. A floor that does not exist yet may stand here.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("text", &[]),
    ("units", &[]),
    ("error", &[]),
    ("diag", &["text"]),
    ("words", &["text", "diag"]),
    ("geometry", &["units"]),
    ("syntax", &["text", "units", "diag"]),
    ("model", &["text", "units", "diag", "syntax", "geometry"]),
    ("trace", &["text", "units", "diag", "model", "geometry"]),
    ("space", &["text", "units", "diag", "model", "geometry", "trace"]),
    ("writing", &["text", "diag", "model"]),
    ("planning", &["units", "diag", "model", "geometry", "trace", "space"]),
    ("slips", &["units", "diag", "model", "geometry", "trace", "space"]),
    ("compiled", &["units"]),
    ("proof", &["text", "units", "diag", "model", "trace", "geometry", "space", "writing", "planning", "slips", "compiled"]),
    ("document", &["text", "units", "diag", "words", "model", "geometry", "trace", "space", "planning", "slips", "proof", "compiled"]),
    ("template", &["text", "diag", "words", "document"]),
    ("emit", &["error", "words", "document", "template", "compiled"]),
    ("readback", &["error", "diag", "compiled"]),
    ("review", &["text", "diag", "error", "proof", "compiled"]),
    ("audit", &["error"]),
    ("session", BELOW_SESSION),
    ("cli", ALL),
    ("lsp", ALL),
];

const BELOW_SESSION: &[&str] = &[
    "text", "units", "error", "diag", "words", "geometry", "syntax", "model", "trace", "space", "writing", "planning", "slips", "compiled",
    "proof", "document", "template", "emit", "readback", "review", "audit",
];

const ALL: &[&str] = &[
    "text", "units", "error", "diag", "words", "geometry", "syntax", "model", "trace", "space", "writing", "planning", "slips", "compiled",
    "proof", "document", "template", "emit", "readback", "review", "audit", "session",
];

/// The longest source file.
const MOST_LINES: usize = 600;

/// What only some floors may name, and why.
const RESERVED: &[(&[&str], &[&str], &str)] = &[
    (
        &["std::fs", "std::env", "std::net", "SystemTime", "std::process::Command"],
        &["session"],
        "the world in session is the only door to the outside",
    ),
    (
        &[
            ".sin()",
            ".cos()",
            ".tan()",
            ".asin()",
            ".acos()",
            ".atan()",
            ".atan2(",
            ".sin_cos()",
            "f64::sin",
            "f64::cos",
            "f64::tan",
            "f64::atan2",
        ],
        &["units"],
        "trigonometry differs in the last bit between platforms; it lives in units alone",
    ),
    (&["libm::"], &["units", "audit"], "trigonometry lives in units; the audit shares nothing and has its own"),
];

/// The most lines of the audit in all: small enough to be read in one go by someone who trusts nothing else.
const MOST_AUDIT_LINES: usize = 1500;

/// What the audit may name beside the failures of the environment: the data format and a library of plain functions.
const AUDIT_LIBRARIES: &[&str] = &["std", "serde", "serde_json", "libm"];

/// Words that stand nowhere in the project, each cut in two so that this file may hold them.
const NEVER: &[(&str, &str)] = &[
    ("/wo", "rk/"),
    ("/tm", "p/"),
    ("/ro", "ot/"),
    ("/ho", "me/"),
    ("complies ", "with"),
    ("trans", "cript"),
    ("sub", "agent"),
    ("seed ", "document"),
];

/// Words that never stand in what is printed.
const NEVER_PRINTED: &[&str] = &["proved", "proven", "guarantee", "guaranteed"];

/// One token of Rust source that matters here.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Token<'a> {
    Word(&'a str),
    Mark(char),
}

/// Words and marks of Rust source, without comments, strings and characters.
fn tokens(source: &str) -> Vec<Token<'_>> {
    let bytes = source.as_bytes();
    let at = |i: usize| bytes.get(i).copied().unwrap_or(0);
    let find = |from: usize, what: &str| source.get(from..).and_then(|s| s.find(what)).map_or(source.len(), |n| from + n + what.len());
    let word = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b >= 0x80;
    let (mut out, mut i) = (Vec::new(), 0);
    while i < bytes.len() {
        match bytes[i] {
            b'/' if at(i + 1) == b'/' => i = find(i, "\n"),
            b'/' if at(i + 1) == b'*' => i = find(i, "*/"),
            b'"' => {
                i += 1;
                while i < bytes.len() && bytes[i] != b'"' {
                    i += if bytes[i] == b'\\' { 2 } else { 1 };
                }
                i += 1;
            }
            b'r' if matches!(at(i + 1), b'"' | b'#') && (i == 0 || !word(bytes[i - 1])) => {
                let hashes = bytes[i + 1..].iter().take_while(|b| **b == b'#').count();
                match at(i + 1 + hashes) {
                    b'"' => i = find(i + 2 + hashes, &format!("\"{}", "#".repeat(hashes))),
                    _ => i += 1 + hashes,
                }
            }
            b'\'' if at(i + 1) == b'\\' => i = find(i + 3, "'"),
            b'\'' => {
                // A character ends in a quote after one character; otherwise this is a lifetime.
                let len = source[i + 1..].chars().next().map_or(1, char::len_utf8);
                i += if at(i + 1 + len) == b'\'' { len + 2 } else { 1 };
            }
            b if word(b) => {
                let end = i + bytes[i..].iter().take_while(|b| word(**b)).count();
                out.push(Token::Word(&source[i..end]));
                i = end;
            }
            b if b.is_ascii_whitespace() => i += 1,
            b => {
                out.push(Token::Mark(char::from(b)));
                i += 1;
            }
        }
    }
    out
}

/// The floor names that follow a path to the crate's root at `tokens[i..]`: one word, or each of a group.
fn roots<'a>(tokens: &[Token<'a>], i: usize) -> Vec<&'a str> {
    match tokens.get(i) {
        Some(Token::Word(word)) => vec![word],
        Some(Token::Mark('{')) => {
            let (mut depth, mut fresh, mut out) = (0, true, Vec::new());
            for token in &tokens[i..] {
                match token {
                    Token::Mark('{') => depth += 1,
                    Token::Mark('}') if depth == 1 => break,
                    Token::Mark('}') => depth -= 1,
                    Token::Mark(',') if depth == 1 => fresh = true,
                    Token::Word(word) if fresh => {
                        out.push(*word);
                        fresh = false;
                    }
                    _ => {}
                }
            }
            out
        }
        _ => vec!["*"],
    }
}

/// The floors that a source file names, from the crate's root or by climbing to it.
fn imports(module_depth: usize, source: &str) -> Vec<&str> {
    let tokens = tokens(source);
    let colons = |i: usize| tokens.get(i) == Some(&Token::Mark(':')) && tokens.get(i + 1) == Some(&Token::Mark(':'));
    let (mut out, mut inline, mut braces) = (Vec::new(), Vec::new(), 0);
    for (i, token) in tokens.iter().enumerate() {
        match token {
            Token::Mark('{') => {
                braces += 1;
                if i >= 2 && tokens[i - 2] == Token::Word("mod") {
                    inline.push(braces);
                }
            }
            Token::Mark('}') => {
                if inline.last() == Some(&braces) {
                    inline.pop();
                }
                braces -= 1;
            }
            Token::Word("crate") if colons(i + 1) => out.extend(roots(&tokens, i + 3)),
            // `pub(crate)` and `$crate::x` in a macro are the only other uses.
            Token::Word("crate") if i == 0 || tokens[i - 1] != Token::Mark('(') => out.push("crate by another name"),
            Token::Word("super") if i < 3 || tokens[i - 3] != Token::Word("super") => {
                let climbs = (0..).take_while(|n| tokens.get(i + 3 * n) == Some(&Token::Word("super")) && colons(i + 3 * n + 1)).count();
                if climbs >= module_depth + inline.len() {
                    out.extend(roots(&tokens, i + 3 * climbs));
                }
            }
            _ => {}
        }
    }
    out
}

/// What is wrong with one source file; `path` is relative to `src`.
fn faults(path: &str, source: &str) -> Vec<String> {
    let mut out = Vec::new();
    let parts: Vec<&str> = path.trim_end_matches(".rs").split('/').collect();
    let floor = parts[0];
    let lines = source.lines().count();
    if lines > MOST_LINES {
        out.push(format!("src/{path}: {lines} lines, at most {MOST_LINES}"));
    }
    let code: String = tokens(source)
        .iter()
        .map(|t| match t {
            Token::Word(w) => format!(" {w}"),
            Token::Mark(m) => m.to_string(),
        })
        .collect::<String>()
        .replace(":: ", "::")
        .replace(". ", ".");
    for (names, floors, why) in RESERVED {
        for name in names.iter().filter(|name| !floors.contains(&floor) && code.contains(*name)) {
            out.push(format!("src/{path}: names {name}; {why}"));
        }
    }
    if matches!(path, "lib.rs" | "main.rs") {
        return out;
    }
    let Some((_, allowed)) = MAY_IMPORT.iter().find(|(name, _)| *name == floor) else {
        out.push(format!("src/{path}: floor {floor} is not in the table"));
        return out;
    };
    for import in imports(parts.len(), source) {
        if import != floor && !allowed.contains(&import) {
            out.push(format!("src/{path}: {floor} may not import {import}"));
        }
    }
    out
}

fn walk(folder: &Path, out: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path()).collect();
    entries.sort();
    for path in entries {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if path.is_dir() && !matches!(&*name, "target" | ".git" | "node_modules") {
            walk(&path, out);
        } else if path.is_file() && name != "Cargo.lock" && name != ".git" {
            out.push(path);
        }
    }
}

/// Every text file of the project, by its path with `/`.
fn project() -> BTreeMap<String, String> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    walk(top, &mut paths);
    let name = |p: &PathBuf| p.strip_prefix(top).unwrap_or(p).to_string_lossy().replace('\\', "/");
    paths.iter().filter_map(|p| Some((name(p), fs::read_to_string(p).ok()?))).collect()
}

#[test]
fn every_floor_imports_only_what_it_may() {
    let project = project();
    let sources: Vec<_> =
        project.iter().filter_map(|(p, s)| Some((p.strip_prefix("src/")?, s))).filter(|(p, _)| p.ends_with(".rs")).collect();
    assert!(sources.len() > 10, "the sources were not found");
    let faults: Vec<_> = sources.iter().flat_map(|(path, source)| faults(path, source)).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn the_table_has_no_cycle() {
    for (i, (floor, allowed)) in MAY_IMPORT.iter().enumerate() {
        for import in *allowed {
            let at = MAY_IMPORT.iter().position(|(name, _)| name == import);
            assert!(at.is_some_and(|at| at < i), "{floor} may import {import}, which does not stand below it");
        }
    }
}

#[test]
fn planted_violations_are_refused() {
    let long = "//\n".repeat(MOST_LINES + 1);
    for (path, source, fault) in [
        ("syntax/parse.rs", "use crate::model::arm::Arm;", "syntax may not import model"),
        ("units.rs", "use crate::{\n    text::{Span, Spanned},\n};", "units may not import text"),
        ("writing/words.rs", "use crate::{diag::Rule, trace::Trace};", "writing may not import trace"),
        ("trace.rs", "fn f() { let x: crate :: writing::X = y; }", "trace may not import writing"),
        ("emit/pdf.rs", "use super::super::model::arm;", "emit may not import model"),
        ("emit.rs", "mod tests { use super::super::proof::Checked; }", "emit may not import proof"),
        ("cli.rs", "use crate::lsp;", "cli may not import lsp"),
        ("lsp/server.rs", "use crate::cli::run;", "lsp may not import cli"),
        ("audit.rs", "use crate as c;", "crate by another name"),
        ("readback.rs", "use crate::*;", "readback may not import *"),
        ("attic.rs", "", "not in the table"),
        ("model/arm.rs", "let x = std::fs::read(p);", "names std::fs"),
        ("proof.rs", "use std::time::SystemTime;", "names SystemTime"),
        ("geometry.rs", "let y = angle . sin ();", "names .sin()"),
        ("geometry.rs", "let y = libm::sin(x);", "names libm::"),
        ("text.rs", &long, "601 lines"),
    ] {
        let found = faults(path, source);
        assert!(found.iter().any(|f| f.contains(fault)), "{path}: wanted {fault:?}, found {found:?}");
    }
}

#[test]
fn what_is_allowed_is_not_refused() {
    for (path, source) in [
        ("syntax/parse.rs", "//! See [`crate::model`].\nuse crate::text::Span; /* crate::model */ const X: &str = \"crate::model\";"),
        ("syntax/parse.rs", "const X: &str = r#\"crate::model \"x\" \"#; const C: char = '\"'; use crate::diag;"),
        ("syntax/parse.rs", "fn f<'a>(x: &'a str) {} pub(crate) fn g() {} use super::front; mod tests { use super::super::front; }"),
        ("session/disk.rs", "use std::fs; use crate::proof;"),
        ("units.rs", "let y = x.sin();"),
        ("cli/check.rs", "use crate::session::Session;"),
    ] {
        assert_eq!(faults(path, source), Vec::<String>::new(), "{path}: {source}");
    }
}

fn said(text: &str) -> Vec<String> {
    let low = text.to_lowercase();
    NEVER
        .iter()
        .map(|(a, b)| format!("{a}{b}"))
        .filter(|w| if w.chars().any(char::is_uppercase) { text.contains(w.as_str()) } else { low.contains(w.as_str()) })
        .collect()
}

/// Lines that a merge left behind; seven equal signs alone may underline a heading.
fn left_by_a_merge(text: &str) -> usize {
    let marks = ["<", ">", "|"].map(|mark| format!("{} ", mark.repeat(7)));
    text.lines().filter(|line| marks.iter().any(|mark| line.starts_with(mark))).count()
}

#[test]
fn no_file_holds_both_sides_of_a_merge() {
    let faults: Vec<_> = project().into_iter().filter(|(_, text)| left_by_a_merge(text) > 0).map(|(path, _)| path).collect();
    assert!(faults.is_empty(), "{faults:?}");
    let planted = format!("{0} ours\none\n{1}\ntwo\n{2} theirs\n", "<".repeat(7), "=".repeat(7), ">".repeat(7));
    assert_eq!(left_by_a_merge(&planted), 2);
}

#[test]
fn words_that_stand_nowhere() {
    let project = project();
    let faults: Vec<_> = project.iter().flat_map(|(path, text)| said(text).into_iter().map(move |w| format!("{path}: {w}"))).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert_eq!(said(&format!("see {}{}notes", "/tm", "p/")).len(), 1);
    let printed = |text: &str| {
        let text = text.to_lowercase();
        NEVER_PRINTED.iter().find(|w| text.split(|c: char| !c.is_alphanumeric()).any(|t| t == **w)).copied()
    };
    for (path, text) in project.iter().filter(|(p, _)| p.starts_with("templates/")) {
        assert_eq!(printed(text), None, "{path}: never in print");
    }
    assert_eq!((printed("This step is Proved."), printed("Approved.")), (Some("proved"), None));
}

/// The crates that a source file names: what stands first in a path and is no module of the crate, no type and no variable.
fn libraries<'a>(source: &'a str, known: &[&str]) -> Vec<&'a str> {
    let tokens = tokens(source);
    let colons = |i: usize| tokens.get(i) == Some(&Token::Mark(':')) && tokens.get(i + 1) == Some(&Token::Mark(':'));
    let first = |i: usize| i == 0 || !(tokens[i - 1] == Token::Mark('.') || (i > 1 && colons(i - 2)));
    let mut out: Vec<&str> = (0..tokens.len())
        .filter(|i| colons(i + 1) && first(*i))
        .filter_map(|i| match tokens[i] {
            Token::Word(w) if w.starts_with(|c: char| c.is_ascii_lowercase()) => Some(w),
            _ => None,
        })
        .filter(|w| !["clippy", "crate", "super", "self", "f64", "i64", "i128", "u32", "u64", "usize"].contains(w) && !known.contains(w))
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

#[test]
fn the_audit_is_small_and_stands_alone() {
    let project = project();
    let audit: Vec<_> = project.iter().filter(|(p, _)| *p == "src/audit.rs" || p.starts_with("src/audit/")).collect();
    let lines: usize = audit.iter().map(|(_, s)| s.lines().count()).sum();
    assert!(audit.len() > 5 && lines <= MOST_AUDIT_LINES, "{lines} lines in {} files, at most {MOST_AUDIT_LINES}", audit.len());
    let own: Vec<&str> = audit.iter().filter_map(|(p, _)| p.strip_prefix("src/audit/")?.strip_suffix(".rs")).collect();
    for (path, source) in &audit {
        let others: Vec<_> = libraries(source, &own).into_iter().filter(|l| !AUDIT_LIBRARIES.contains(l)).collect();
        assert!(others.is_empty(), "{path} names {others:?}");
    }
    let planted = "use parry3d_f64::shape; fn f() { let x: sha2::Sha256 = std::mem::take(y); drive::hull(a, b); f64::max(a, b) }";
    assert_eq!(libraries(planted, &["drive"]), ["parry3d_f64", "sha2", "std"]);
}

#[test]
fn the_top_level_holds_only_what_it_should() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "LICENSE",
        "clippy.toml",
        "rustfmt.toml",
        "deny.toml",
        "src",
        "grammar",
        "procedures",
        "templates",
        "tests",
    ];
    for path in project().keys() {
        let top = path.split('/').next().unwrap_or_default();
        assert!(allowed.contains(&top) || top.starts_with('.'), "{path} does not belong at the top level");
    }
}
