//! A finished PDF as another program sees it: words with their places, page by page (poppler's `pdftotext -bbox`).

use std::process::Command;

/// A word on a page, in points from the top left corner.
#[derive(Debug, Clone)]
pub struct Word {
    pub text: String,
    pub left: f32,
    pub top: f32,
    pub right: f32,
    pub bottom: f32,
}

/// A page: its size and its words.
#[derive(Debug, Clone)]
pub struct Page {
    pub width: f32,
    pub height: f32,
    pub words: Vec<Word>,
}

impl Page {
    /// The first word of this text.
    pub fn find(&self, text: &str) -> Option<&Word> {
        self.words.iter().find(|w| w.text == text)
    }

    /// Whether no word stands right before this one.
    pub fn begins(&self, word: &Word) -> bool {
        !self.words.iter().any(|w| beside(w, word) && w.right <= word.left && word.left - w.right < 3.2)
    }

    /// Where these words stand one after the other on a line.
    pub fn phrase(&self, phrase: &str) -> Vec<&Word> {
        let wanted: Vec<&str> = phrase.split(' ').collect();
        let same = |run: &[Word]| run.iter().map(|w| w.text.as_str()).eq(wanted.iter().copied()) && run.iter().all(|w| beside(w, &run[0]));
        self.words.windows(wanted.len()).filter(|run| same(run)).map(|run| &run[0]).collect()
    }
}

/// Whether two words stand on one line.
pub fn beside(a: &Word, b: &Word) -> bool {
    (a.bottom - b.bottom).abs() < 1.0
}

pub fn read(pdf: &[u8]) -> Vec<Page> {
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), pdf).expect("written");
    let out = Command::new("pdftotext").arg("-bbox").arg(file.path()).arg("-").output();
    let out = out.unwrap_or_else(|e| panic!("pdftotext is needed by this test (Debian: poppler-utils): {e}"));
    assert!(out.status.success(), "pdftotext: {}", String::from_utf8_lossy(&out.stderr));
    let text = String::from_utf8(out.stdout).expect("UTF-8");
    let mut pages: Vec<Page> = Vec::new();
    for line in text.lines().map(str::trim) {
        let number = |key: &str| -> f32 {
            let at = line.find(&format!("{key}=\"")).expect("a number") + key.len() + 2;
            line[at..].split('"').next().and_then(|n| n.parse().ok()).expect("a number")
        };
        if line.starts_with("<page ") {
            pages.push(Page { width: number("width"), height: number("height"), words: Vec::new() });
        } else if line.starts_with("<word ") {
            let words = line.split_once('>').and_then(|(_, rest)| rest.strip_suffix("</word>")).expect("a word");
            let (left, top, right, bottom) = (number("xMin"), number("yMin"), number("xMax"), number("yMax"));
            pages.last_mut().expect("a page").words.push(Word { text: unescaped(words), left, top, right, bottom });
        }
    }
    pages
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// The tree of structure with its words.
pub fn structure(pdf: &[u8]) -> String {
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), pdf).expect("written");
    let out = Command::new("pdfinfo").arg("-struct-text").arg(file.path()).output().expect("pdfinfo");
    String::from_utf8_lossy(&out.stdout).into_owned()
}
