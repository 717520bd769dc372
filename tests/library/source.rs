//! A procedure as lines of text, read with no help from the compiler, so that a defect can be put in by hand.

use std::collections::BTreeMap;
use std::ops::Range;

/// The two direction words of every joint, by joint.
pub type Words = BTreeMap<String, (String, String)>;

/// A step as it stands in the source.
#[derive(Clone, Debug)]
pub struct Step {
    /// Its first line, from 0.
    pub line: usize,
    /// The line behind its last.
    pub end: usize,
    /// Leading spaces.
    pub indent: usize,
    /// Bytes of the statement without its ticks; empty for a plain instruction.
    pub statement: Range<usize>,
}

/// A change of one number or word: bytes of the text and what stands there.
#[derive(Clone, Debug)]
pub struct Piece {
    pub at: Range<usize>,
    /// The line, from 0.
    pub line: usize,
}

/// One motion in a statement.
#[derive(Clone, Debug)]
pub struct Motion {
    pub joint: Piece,
    pub direction: Piece,
    /// The angle it ends at or must not pass, with its sign, without unit; not for taps.
    pub target: Option<Piece>,
}

/// A text taken apart.
pub struct Source<'t> {
    pub text: &'t str,
    /// Bytes of each line, without its end.
    pub lines: Vec<Range<usize>>,
    pub steps: Vec<Step>,
}

impl<'t> Source<'t> {
    pub fn of(text: &'t str) -> Source<'t> {
        let mut at = 0;
        let mut lines = Vec::new();
        for line in text.split_inclusive('\n') {
            lines.push(at..at + line.trim_end().len());
            at += line.len();
        }
        let mut source = Source { text, lines, steps: Vec::new() };
        source.steps = (0..source.lines.len()).filter_map(|i| source.step(i)).collect();
        source
    }
    pub fn line(&self, i: usize) -> &'t str {
        &self.text[self.lines[i].clone()]
    }
    pub fn statement(&self, step: &Step) -> &'t str {
        &self.text[step.statement.clone()]
    }
    /// Leading spaces of a line.
    pub fn indent(&self, i: usize) -> usize {
        let line = self.line(i);
        line.len() - line.trim_start().len()
    }
    fn step(&self, i: usize) -> Option<Step> {
        let line = self.line(i);
        let indent = self.indent(i);
        let rest = line[indent..].trim_start_matches(|c: char| c.is_ascii_digit());
        if rest.len() == line.len() - indent || !rest.starts_with(". ") {
            return None;
        }
        let start = self.lines[i].end - rest.len() + 2;
        let statement = match rest[2..].strip_prefix('`').and_then(|s| s.find('`')) {
            Some(close) => start + 1..start + 1 + close,
            None => start..start,
        };
        let mut end = i + 1;
        while end < self.lines.len() && !self.line(end).trim().is_empty() && self.indent(end) > indent {
            end += 1;
        }
        Some(Step { line: i, end, indent, statement })
    }
    /// The line of a byte, from 0.
    pub fn line_at(&self, byte: usize) -> usize {
        self.lines.iter().position(|l| byte <= l.end).unwrap_or(self.lines.len())
    }
    /// The text with lines `cut` taken out and `put` in their place.
    pub fn with_lines(&self, cut: Range<usize>, put: &[&str]) -> String {
        let mut out: Vec<&str> = (0..cut.start).map(|i| self.line(i)).collect();
        out.extend(put);
        out.extend((cut.end..self.lines.len()).map(|i| self.line(i)));
        out.join("\n") + "\n"
    }
    /// The text with bytes `at` replaced.
    pub fn with(&self, at: Range<usize>, put: &str) -> String {
        format!("{}{put}{}", &self.text[..at.start], &self.text[at.end..])
    }
    /// The lines of a step.
    pub fn block(&self, step: &Step) -> Vec<&'t str> {
        (step.line..step.end).map(|i| self.line(i)).collect()
    }
    fn piece(&self, at: Range<usize>) -> Piece {
        Piece { line: self.line_at(at.start), at }
    }
    /// The words of a statement with their places.
    pub fn words(&self, step: &Step) -> Vec<(Range<usize>, &'t str)> {
        let text = self.statement(step);
        let mut out = Vec::new();
        let mut at = 0;
        for part in text.split(' ') {
            let word = part.trim_end_matches([',', ';', ':']);
            let start = step.statement.start + at;
            out.push((start..start + word.len(), word));
            at += part.len() + 1;
        }
        out
    }
    /// Every motion of a step's statement.
    pub fn motions(&self, step: &Step, joints: &Words) -> Vec<Motion> {
        let words = self.words(step);
        let mut out = Vec::new();
        for (i, pair) in words.windows(2).enumerate() {
            let [(joint, name), (direction, word)] = pair else { continue };
            let Some((up, down)) = joints.get(*name) else { continue };
            if word != up && word != down {
                continue;
            }
            let stop = words[i + 2..].windows(2).position(|w| joints.get(w[0].1).is_some_and(|(u, d)| w[1].1 == u || w[1].1 == d));
            let own = &words[i + 2..stop.map_or(words.len(), |s| i + 2 + s)];
            let after = |key: &str| {
                own.windows(2).find(|w| w[0].1 == key && w[1].1.trim_start_matches(['+', '-']).starts_with(|c: char| c.is_ascii_digit()))
            };
            let target = ["to", "ending", "past"].iter().find_map(|k| after(k)).map(|w| self.piece(w[1].0.clone()));
            let taps = own.first().is_some_and(|w| w.1 == "by") && own.get(1).is_some_and(|w| w.1 == "taps");
            out.push(Motion {
                joint: self.piece(joint.clone()),
                direction: self.piece(direction.clone()),
                target: target.filter(|_| !taps),
            });
        }
        out
    }
    /// Every number of a step's statement that has a unit behind it: the number, and the blank with the unit.
    pub fn quantities(&self, step: &Step) -> Vec<(Piece, Range<usize>)> {
        let words = self.words(step);
        let units = ["deg", "mm", "s", "min", "uSv/h", "degC", "kg", "bar"];
        let is = |w: &str| w.trim_start_matches(['+', '-']).starts_with(|c: char| c.is_ascii_digit());
        let pairs = words.windows(2).filter(|p| is(p[0].1) && units.contains(&p[1].1));
        pairs.map(|p| (self.piece(p[0].0.clone()), p[0].0.end..p[1].0.end)).collect()
    }
}
