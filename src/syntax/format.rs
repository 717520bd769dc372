//! The canonical spelling of a procedure: spacing and ASCII units of statements, and step numbers.
//!
//! Invariant: prose is not touched, a statement that could not be read is left as it stands, and reading the
//! result gives the same tree. Formatting twice gives what formatting once gives.

use super::reader::ticks;
use super::tree::{Block, Parsed, SectionKind, Step};
use std::collections::BTreeMap;
use std::ops::Range;

/// The text of `parsed` in canonical spelling.
pub fn format(parsed: &Parsed, text: &str) -> String {
    let mut edits = Edits { text, edits: Vec::new(), lines: BTreeMap::new() };
    let mut ordinary = 0;
    edits.blocks(&parsed.preamble, &mut ordinary);
    for section in &parsed.sections {
        if section.kind == SectionKind::Ordinary {
            edits.blocks(&section.blocks, &mut ordinary);
        } else {
            edits.blocks(&section.blocks, &mut 0);
        }
    }
    edits.apply()
}

struct Edits<'t> {
    text: &'t str,
    edits: Vec<(Range<usize>, String)>,
    /// By how many columns a line moves, by its first byte: several items may move one line.
    lines: BTreeMap<usize, isize>,
}

impl Edits<'_> {
    fn blocks(&mut self, blocks: &[Block], number: &mut u32) {
        for block in blocks {
            if let Block::Step(step) = block {
                self.step(step, number);
            }
        }
    }

    fn step(&mut self, step: &Step, number: &mut u32) {
        *number += 1;
        let numeral = step.numeral.span;
        let written = numeral.of(self.text).len();
        let printed = number.to_string();
        if numeral.of(self.text) != printed {
            self.indent(step.span.range(), written, printed.len());
            self.edits.push((numeral.range(), printed));
        }
        if let Some(statement) = &step.statement {
            let (inside, _) = ticks(self.text, statement.span.range());
            let spelled = canonical(&self.text[inside.clone()]);
            if spelled != self.text[inside.clone()] {
                self.edits.push((inside, spelled));
            }
        }
        for arm in &step.arms {
            let mut inner = 0;
            arm.steps.iter().for_each(|s| self.step(s, &mut inner));
        }
        let mut inner = 0;
        step.body.iter().for_each(|s| self.step(s, &mut inner));
    }

    /// Moves the lines under an item with its number's width, so that they stay under it.
    fn indent(&mut self, item: Range<usize>, before: usize, after: usize) {
        let mut at = item.start;
        for (i, line) in self.text[item].split_inclusive('\n').enumerate() {
            if i > 0 && !line.trim().is_empty() {
                *self.lines.entry(at).or_default() += after.cast_signed() - before.cast_signed();
            }
            at += line.len();
        }
    }

    fn apply(mut self) -> String {
        let mut edits = Vec::with_capacity(self.lines.len() + self.edits.len());
        for (line, columns) in self.lines {
            let rest = &self.text[line..];
            let first = line + rest.len() - rest.trim_start_matches([' ', '\t']).len();
            let blanks = self.text[line..first].len() - self.text[line..first].trim_end_matches(' ').len();
            let less = columns.min(0).unsigned_abs().min(blanks);
            edits.push((first - less..first, " ".repeat(columns.max(0).unsigned_abs())));
        }
        edits.append(&mut self.edits);
        // Stable, so that a line moves before the number at its beginning changes.
        edits.sort_by_key(|(range, _)| range.start);
        let mut out = String::with_capacity(self.text.len() + 64);
        let mut at = 0;
        for (range, text) in edits {
            // A statement written over two lines becomes one line: what moved its second line is void.
            if range.start < at {
                continue;
            }
            out.push_str(&self.text[at..range.start]);
            out.push_str(&text);
            at = range.end;
        }
        out.push_str(&self.text[at..]);
        out
    }
}

/// A statement with one blank between lexemes, none before a mark, and units in ASCII.
fn canonical(statement: &str) -> String {
    let mut out = String::with_capacity(statement.len());
    for c in statement.trim().chars() {
        match c {
            ' ' | '\t' | '\r' | '\n' => {
                if !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            ',' | ';' | ':' => {
                out.truncate(out.trim_end().len());
                out.push(c);
                out.push(' ');
            }
            '\u{b0}' => {
                if !out.ends_with(' ') {
                    out.push(' ');
                }
                out.push_str("deg");
            }
            '\u{b5}' => out.push('u'),
            c => out.push(c),
        }
    }
    out.truncate(out.trim_end().len());
    out
}
