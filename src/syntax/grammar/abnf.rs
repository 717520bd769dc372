//! The grammar file: the productions in ABNF (RFC 5234, case-sensitive strings by RFC 7405).

use super::{Kind, MOVE, Named, PRODUCTIONS, Part, Slot};
use crate::units::{Dimension, UNITS};
use std::fmt::Write;

/// The whole grammar of statements and labelled lines.
pub fn abnf() -> String {
    let mut out = String::from(HEAD);
    let all: Vec<&str> = [MOVE.id].into_iter().chain(PRODUCTIONS.iter().map(|p| p.id)).collect();
    define(&mut out, "statement", &all.join(" / "), "");
    out.push_str("\n; Statements\n\n");
    let mut named: Vec<&'static Named> = Vec::new();
    rule(&mut out, MOVE.id, MOVE.parts, "any move of one joint", &mut named);
    for p in PRODUCTIONS {
        rule(&mut out, p.id, p.parts, p.about, &mut named);
    }
    out.push_str("\n; Parts of statements\n\n");
    let mut done = 0;
    while let Some(n) = named.get(done).copied() {
        if n.id != MOVE.id {
            rule(&mut out, n.id, n.parts, "", &mut named);
        }
        done += 1;
    }
    out.push_str("\n; What the writer chooses\n\n");
    for slot in Slot::ALL {
        let _ = writeln!(out, "{:<13} = {}", slot.name(), kind(slot.kind()));
    }
    out.push_str(LEXEMES);
    out.push('\n');
    let mut dimensions: Vec<Dimension> = Vec::new();
    for u in UNITS {
        if !dimensions.contains(&u.dimension) {
            dimensions.push(u.dimension);
        }
    }
    let all = dimensions.iter().map(|d| rule_name(*d)).collect::<Vec<_>>().join(" / ");
    define(&mut out, "unit", &all, "");
    for d in dimensions {
        let names: Vec<String> = UNITS.iter().filter(|u| u.dimension == d).map(|u| format!("%s\"{}\"", u.name)).collect();
        let _ = writeln!(out, "{:<13} = {}", rule_name(d), names.join(" / "));
    }
    out.push_str(LINES);
    out
}

fn rule_name(d: Dimension) -> String {
    let name = d.a_name().split_once(' ').map_or("", |(_, n)| n);
    format!("{}-unit", name.replace(' ', "-"))
}

fn kind(kind: Kind) -> String {
    match kind {
        Kind::Name => "name".into(),
        Kind::Level => "( ALPHA / DIGIT ) *nchar".into(),
        Kind::Phrase => "phrase".into(),
        Kind::Angle => "number SP degree".into(),
        Kind::Amount => "unsigned SP degree".into(),
        Kind::Of(d) => format!("number SP {}", rule_name(d)),
        Kind::Quantity => "number SP unit".into(),
        Kind::Count => "nonzero *3DIGIT".into(),
        Kind::Unit => "unit".into(),
    }
}

fn rule(out: &mut String, id: &str, parts: &'static [Part], about: &str, named: &mut Vec<&'static Named>) {
    let mut body = String::new();
    sequence(&mut body, parts, true, named);
    define(out, id, &body, about);
}

/// Writes one rule, continued on further lines where it is long.
fn define(out: &mut String, id: &str, body: &str, about: &str) {
    let mut lines = vec![format!("{id:<13} =")];
    let mut quoted = false;
    let tokens = body.split(|c| {
        quoted ^= c == '"';
        c == ' ' && !quoted
    });
    for token in tokens {
        match lines.last_mut() {
            Some(line) if line.len() + token.len() < 116 => {
                line.push(' ');
                line.push_str(token);
            }
            _ => lines.push(format!("                {token}")),
        }
    }
    match lines.as_slice() {
        [line] if !about.is_empty() && line.len().max(60) + about.len() < 116 => {
            let _ = writeln!(out, "{line:<60} ; {about}");
        }
        _ => {
            if !about.is_empty() {
                let _ = writeln!(out, "; {about}");
            }
            let _ = writeln!(out, "{}", lines.join("\n"));
        }
    }
}

/// Appends parts; `start` says that no blank comes before the first.
fn sequence(out: &mut String, parts: &'static [Part], start: bool, named: &mut Vec<&'static Named>) {
    let mut first = start;
    for part in parts {
        let join = |out: &mut String, blank: bool| {
            if !out.is_empty() && !out.ends_with(' ') {
                out.push(' ');
            }
            if blank && !first {
                out.push_str("SP ");
            }
        };
        match part {
            Part::Words(w) | Part::Flag(w) => {
                join(out, true);
                let _ = write!(out, "%s\"{w}\"");
            }
            Part::Mark(m) => {
                join(out, false);
                let _ = write!(out, "\"{m}\"");
            }
            Part::Slot(slot) => {
                join(out, true);
                out.push_str(slot.name());
            }
            Part::Maybe(inner) => {
                join(out, false);
                out.push_str("[ ");
                sequence(out, inner, first, named);
                out.push_str(if first { " SP ]" } else { " ]" });
                // Where it stands first, the blank after it goes with it.
                continue;
            }
            Part::UpTo(most, inner) => {
                join(out, false);
                let _ = write!(out, "*{most}( ");
                sequence(out, inner, first, named);
                out.push_str(" )");
            }
            Part::Choice(choices) => {
                join(out, false);
                let group = parts.len() > 1;
                out.push_str(if group { "( " } else { "" });
                for (n, c) in choices.iter().enumerate() {
                    if n > 0 {
                        out.push_str(" / ");
                    }
                    sequence(out, c, first, named);
                }
                out.push_str(if group { " )" } else { "" });
            }
            Part::Named(n) => {
                join(out, true);
                out.push_str(n.id);
                if !named.iter().any(|k| k.id == n.id) {
                    named.push(n);
                }
            }
        }
        first = false;
    }
}

const HEAD: &str = "\
; The notation of surehand: statements and labelled lines.
;
; ABNF by RFC 5234 with the case-sensitive strings of RFC 7405. Core rules ALPHA, DIGIT and SP are those of RFC 5234.
; Generated from the table of productions that drives the parser; do not edit.
;
; One statement stands in one code span at the start of a list item. Between two lexemes one blank or more may be
; written, also a line end; the formatter writes one. Choices are tried in order. The degree sign U+00B0 and the micro
; sign U+00B5 are read as the deg and u of a unit; the formatter writes the ASCII form.

";

const LEXEMES: &str = "
; Lexemes

name          = ALPHA *nchar                ; a joint is not called like the first word of a statement,
                                            ; and a signal is not called contact
nchar         = ALPHA / DIGIT / \"-\" / \"_\"
phrase        = name *( SP ( ALPHA / DIGIT ) *nchar )
number        = [ \"+\" / \"-\" ] unsigned      ; but not -0
unsigned      = ( \"0\" / nonzero *3DIGIT ) [ \".\" 1*3DIGIT ]
nonzero       = %x31-39
degree        = %s\"deg\"                   ; statements give angles in degrees only
";

const LINES: &str = "
; Labelled lines: what stands after the label and its colon

line          = words-line / if-not-line / second-person-line / touching-line
words-line    = ( %s\"Watch\" / %s\"Proof\" / %s\"Must be true\" / %s\"Say\" / %s\"Reply\" / %s\"Why\" ) \":\" SP words
if-not-line   = ( %s\"If not\" / %s\"Stop if\" ) \":\" SP ( [ words SP ] link [ \".\" ] / hold-and-tell / words )
hold-and-tell = [ %s\"hold and\" SP ] %s\"tell\" SP [ %s\"the\" SP ] phrase [ ( %s\" and\" / \",\" / \";\" / \".\" ) words ]
second-person-line = %s\"Second person:\" SP phrase [ \",\" SP %s\"agree before the act\" [ SP %s\"that\" SP words ] ] [ \".\" ]
touching-line = %s\"Touching allowed:\" SP pair *( \",\" SP pair ) [ \".\" ]
pair          = phrase SP %s\"and\" SP phrase
link          = \"[\" words \"](\" link-target \")\"
link-target   = \"#\" anchor / path [ \"#\" anchor ]
anchor        = ALPHA *( ALPHA / DIGIT / \"-\" )
words         = 1*%x20-10FFFF               ; Markdown on one line or continued
path          = 1*( ALPHA / DIGIT / \"-\" / \"_\" / \".\" / \"/\" )
";
