//! Widths of words in the print's fonts, so that labels can be placed before anything is emitted.

use super::scene::Type;
use rustybuzz::ttf_parser::Face;
use std::sync::LazyLock;

static FACES: LazyLock<[Option<Face<'static>>; 2]> = LazyLock::new(|| {
    [
        Face::parse(include_bytes!("../../../templates/fonts/IBMPlexSans-Regular.ttf"), 0).ok(),
        Face::parse(include_bytes!("../../../templates/fonts/IBMPlexSans-Bold.ttf"), 0).ok(),
    ]
});

/// A letter's share of the size where the font has none: wider than any letter of it.
const UNKNOWN: i64 = 1000;

/// The width of a line in thousandths of a millimetre. Kerning only brings letters nearer, so it is left out.
pub(super) fn width(line: &str, size: Type) -> i32 {
    let face = FACES[usize::from(size.bold())].as_ref();
    let advance = |c: char| {
        let glyph = face.and_then(|f| f.glyph_index(c).and_then(|g| f.glyph_hor_advance(g)));
        glyph.map_or(UNKNOWN, i64::from)
    };
    let total: i64 = line.chars().map(advance).sum();
    i32::try_from(total * i64::from(size.size()) / 1000).unwrap_or(i32::MAX / 4)
}

/// The pieces of a line that are not broken: words, and the parts of words with hyphens, each with its hyphen.
pub(super) fn pieces(words: &str) -> impl Iterator<Item = &str> {
    words.split_whitespace().flat_map(|word| word.split_inclusive('-'))
}

/// The same as [`wrapped`], a word without room broken behind its hyphens.
pub(super) fn hyphenated(words: &str, size: Type, most: i32) -> Vec<String> {
    let fits = |word: &str| width(word, size) <= most;
    let mut out = String::new();
    for word in words.split_whitespace() {
        let parts: Vec<&str> = if fits(word) || word.len() == 1 { vec![word] } else { word.split_inclusive('-').collect() };
        out.push(' ');
        out.push_str(&parts.join(" "));
    }
    wrapped(&out, size, most)
}

/// The words in lines no wider than this, broken at spaces only.
pub(super) fn wrapped(words: &str, size: Type, most: i32) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match out.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size) <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}
