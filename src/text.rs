//! Source files and byte spans: the ground every message stands on.
//!
//! Invariant: a [`Span`] always lies on character boundaries of the file it names, and a [`FileId`]
//! is never reused within one [`Files`] table, so a message can cite several files at once.

use std::ops::Range;
use std::sync::{Arc, OnceLock, RwLock};

/// Index of a file in a [`Files`] table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// A half-open range of bytes in one file.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl std::fmt::Debug for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}..{}", self.file.0, self.start, self.end)
    }
}

impl Span {
    /// A span of `file` from byte `start` to byte `end`. Files are at most 4 MiB, so `u32` cannot overflow.
    pub fn new(file: FileId, start: usize, end: usize) -> Span {
        let clamp = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span { file, start: clamp(start), end: clamp(end) }
    }
    /// The bytes as a range.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
    /// The text of this span in the text of its own file; empty if it lies outside.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or("")
    }
    /// The smallest span that covers both; both must be of one file.
    pub fn to(self, other: Span) -> Span {
        Span { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

/// A value together with the place it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Pairs a value with its place.
    pub fn new(value: T, span: Span) -> Self {
        Spanned { value, span }
    }
    /// The same place, another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: f(self.value), span: self.span }
    }
    /// Borrows the value.
    pub fn as_ref(&self) -> Spanned<&T> {
        Spanned { value: &self.value, span: self.span }
    }
}

/// One file held in memory.
#[derive(Debug)]
pub struct File {
    /// The name shown in messages, relative to where the user stands.
    pub name: String,
    /// Its text, valid UTF-8 without a byte order mark.
    pub text: String,
    lines: OnceLock<Vec<u32>>,
}

/// A place as people count it: both from 1, columns in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl File {
    /// A file called `name` with `text`.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> File {
        File { name: name.into(), text: text.into(), lines: OnceLock::new() }
    }
    fn line_starts(&self) -> &[u32] {
        self.lines.get_or_init(|| {
            let ends = self.text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
            std::iter::once(0).chain(ends.map(|(i, _)| u32::try_from(i + 1).unwrap_or(u32::MAX))).collect()
        })
    }
    /// The line and column of a byte offset.
    pub fn position(&self, offset: u32) -> Position {
        let starts = self.line_starts();
        let line = starts.partition_point(|s| *s <= offset).max(1);
        let begin = starts[line - 1] as usize;
        let column = self.text.get(begin..offset as usize).map_or(0, |t| t.chars().count()) + 1;
        Position { line, column }
    }
    /// The byte range of a line (from 1) without its line end.
    pub fn line_range(&self, line: usize) -> Range<usize> {
        let starts = self.line_starts();
        let begin = starts.get(line.saturating_sub(1)).map_or(self.text.len(), |s| *s as usize);
        let end = starts.get(line).map_or(self.text.len(), |s| *s as usize);
        begin..begin + self.text[begin..end].trim_end_matches(['\n', '\r']).len()
    }
}

/// Every file of one run. Append-only and shared between worker threads.
#[derive(Debug, Default)]
pub struct Files {
    files: RwLock<Vec<Arc<File>>>,
}

impl Files {
    /// Adds a file and returns its index.
    pub fn add(&self, file: File) -> FileId {
        let mut files = self.files.write().unwrap_or_else(std::sync::PoisonError::into_inner);
        files.push(Arc::new(file));
        FileId(u32::try_from(files.len() - 1).unwrap_or(u32::MAX))
    }
    /// The file of an index given out by [`Files::add`].
    pub fn get(&self, id: FileId) -> Arc<File> {
        let files = self.files.read().unwrap_or_else(std::sync::PoisonError::into_inner);
        files[id.0 as usize].clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn positions_count_characters_not_bytes() {
        let file = File::new("a.md", "one\n2 ° x\n");
        assert_eq!(file.position(0), Position { line: 1, column: 1 });
        let x = u32::try_from(file.text.find('x').unwrap_or(0)).unwrap_or(0);
        assert_eq!(file.position(x), Position { line: 2, column: 5 });
        assert_eq!(&file.text[file.line_range(2)], "2 ° x");
    }
}
