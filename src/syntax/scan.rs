//! One pass over the bytes before Markdown is read: limits, and characters that are refused everywhere.
//!
//! Invariant: what passes here is small and shallow enough for the Markdown parser and for the recursion over
//! its lists.

use super::{characters, error};
use crate::diag::{Diagnostic, Example, Family, Rule};
use crate::text::{FileId, Span};

/// Every rule of this file.
pub static RULES: &[&Rule] = &[&OVER_LIMIT];

/// Longest source, in bytes.
pub const MOST_BYTES: usize = 4 << 20;
/// Longest line, in bytes.
pub const MOST_IN_LINE: usize = 16 << 10;
/// Most steps of one file.
pub const MOST_STEPS: usize = 10_000;
/// Deepest nesting of quotations and lists, and of brackets in a line.
pub const DEEPEST: usize = 32;

/// A limit was passed; the command ends with its own exit code.
pub static OVER_LIMIT: Rule = Rule {
    bad: &[
        Example::steps("⟦>⟧>>>>>>>>>>>>>>>>>>>>>>>>>>>>>>>>> deep\n"),
        Example::steps("⟦[⟧[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[ deep\n"),
        Example::steps("⟦-⟧ - - - - - - - - - - - - - - - - - - - - - - - - - - - - - - - - - deep\n"),
    ],
    good: &[Example::steps("> > A quotation in a quotation.\n\n1. See [the list](#list).\n")],
    ..error(
        "over-limit",
        Family::File,
        "the file is larger or more deeply nested than any procedure",
        "A file that no person could have written is more likely broken than meant, and reading it could take the machine down.",
    )
};

/// What the pass saw.
pub struct Scan {
    /// What is wrong with single characters.
    pub problems: Vec<Diagnostic>,
    /// The limit that was passed, if one was. Nothing else should be read then.
    pub limit: Option<Diagnostic>,
}

/// The limit that a text passes, if any: to be asked before anything else is done with it.
pub fn limits(file: FileId, text: &str) -> Option<Diagnostic> {
    scan(file, text).limit
}

#[derive(Clone, Copy, PartialEq)]
enum Class {
    Plain,
    LineEnd,
    Return,
    Open,
    Close,
    Control,
    High,
}

static CLASSES: [Class; 256] = {
    let mut table = [Class::Plain; 256];
    let mut b = 0;
    while b < 256 {
        table[b] = match b as u8 {
            b'\n' => Class::LineEnd,
            b'\r' => Class::Return,
            b'[' => Class::Open,
            b']' => Class::Close,
            b'\t' => Class::Plain,
            0..=0x1f | 0x7f => Class::Control,
            0x80.. => Class::High,
            _ => Class::Plain,
        };
        b += 1;
    }
    table
};

const PIECE: usize = 16;

/// Whether [`CLASSES`] calls a byte plain, in a form that compilers turn into vector instructions. A tab is left to the table.
fn is_plain(b: u8) -> bool {
    (b' '..0x7f).contains(&b) & (b != b'[') & (b != b']')
}

/// Scans a text.
pub fn scan(file: FileId, text: &str) -> Scan {
    let mut seen = Scan { problems: Vec::new(), limit: None };
    if text.len() > MOST_BYTES {
        let message = format!("the file has {} bytes; at most {MOST_BYTES} are read", text.len());
        seen.limit = Some(OVER_LIMIT.at(Span::new(file, 0, 0), message));
        return seen;
    }
    let bytes = text.as_bytes();
    let (mut line, mut steps, mut open) = (0, 0, 0_usize);
    let mut at = 0;
    let over = |start: usize, message: String| Some(OVER_LIMIT.at(Span::new(file, start, start + 1), message));
    seen.limit = begin_line(bytes, 0, &mut steps).and_then(|(mark, message)| over(mark, message));
    while seen.limit.is_none() {
        // Most of a text is plain; whole pieces of it are passed over at once.
        while bytes.get(at..at + PIECE).is_some_and(|piece| piece.iter().fold(true, |plain, b| plain & is_plain(*b))) {
            at += PIECE;
        }
        let Some(ahead) = bytes[at..].iter().position(|b| CLASSES[usize::from(*b)] != Class::Plain) else { break };
        at += ahead;
        match CLASSES[usize::from(bytes[at])] {
            Class::Plain => {}
            Class::LineEnd => {
                if at - line > MOST_IN_LINE {
                    seen.limit =
                        over(text.floor_char_boundary(line), format!("the line has {} bytes; at most {MOST_IN_LINE} are read", at - line));
                }
                line = at + 1;
                open = 0;
                if seen.limit.is_none() {
                    seen.limit = begin_line(bytes, line, &mut steps).and_then(|(mark, message)| over(mark, message));
                }
            }
            Class::Open => {
                open += 1;
                if open > DEEPEST {
                    let first = bytes[line..at].iter().position(|b| *b == b'[').unwrap_or(0);
                    seen.limit = over(line + first, format!("more than {DEEPEST} brackets are open in this line"));
                }
            }
            Class::Close => open = open.saturating_sub(1),
            Class::Return => {
                if bytes.get(at + 1) != Some(&b'\n') {
                    seen.problems.push(characters::refuse(&characters::LONE_CARRIAGE_RETURN, '\r', Span::new(file, at, at + 1)));
                }
            }
            Class::Control | Class::High => {
                let c = text[at..].chars().next().unwrap_or('\u{fffd}');
                if let Some(rule) = characters::refused(c) {
                    seen.problems.push(characters::refuse(rule, c, Span::new(file, at, at + c.len_utf8())));
                }
                at += c.len_utf8() - 1;
            }
        }
        at += 1;
    }
    if seen.limit.is_none() && bytes.len() - line > MOST_IN_LINE {
        seen.limit = over(line, format!("the line has {} bytes; at most {MOST_IN_LINE} are read", bytes.len() - line));
    }
    seen
}

/// Looks at the marks a line begins with: how deep they nest, and whether it is an ordered item. Where a limit is passed,
/// the mark and what to say.
fn begin_line(bytes: &[u8], start: usize, steps: &mut usize) -> Option<(usize, String)> {
    let (mut at, mut depth, mut columns) = (start, 0, 0);
    let mut first = None;
    loop {
        match bytes.get(at) {
            Some(b' ') => columns += 1,
            Some(b'\t') => columns += 4,
            Some(b'>') => {
                first.get_or_insert(at);
                depth += 1;
            }
            Some(b'-' | b'*' | b'+') if matches!(bytes.get(at + 1), Some(b' ' | b'\t')) => {
                first.get_or_insert(at);
                depth += 1;
            }
            Some(b'0'..=b'9') => {
                let digits = bytes[at..].iter().take_while(|b| b.is_ascii_digit()).count();
                let marked =
                    matches!(bytes.get(at + digits), Some(b'.' | b')')) && matches!(bytes.get(at + digits + 1), Some(b' ' | b'\t' | b'\n'));
                if !marked {
                    break;
                }
                first.get_or_insert(at);
                depth += 1;
                *steps += 1;
                at += digits;
            }
            _ => break,
        }
        at += 1;
    }
    // Two columns are the least that nests a list in a list; blanks alone nest nothing, however many there are.
    if depth > DEEPEST || first.is_some() && depth + columns / 2 > DEEPEST {
        let mark = first.unwrap_or(start);
        return Some((mark, format!("quotations or lists are nested more than {DEEPEST} deep")));
    }
    if *steps > MOST_STEPS {
        let mark = first.unwrap_or(start);
        return Some((mark, format!("more than {MOST_STEPS} steps stand in this file; divide it into procedures")));
    }
    None
}
