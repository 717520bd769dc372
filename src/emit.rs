//! Page tree to bytes. An output is one file here and one line in [`FORMATS`].

mod html;
mod pdf;
pub mod svg;
mod text;

use crate::error::Error;
use crate::template::Pages;
use std::sync::Arc;

/// What prints carry beside their content, by name: fonts and the style sheet. For the digest of a print's content.
pub fn embedded() -> impl Iterator<Item = (&'static str, &'static [u8])> {
    pdf::FONTS.into_iter().chain(html::EMBEDDED)
}

/// What an output is made from.
#[derive(Debug, Clone, Copy)]
pub struct Print<'a> {
    /// The arranged document.
    pub pages: &'a Pages,
    /// Document number and revision, for what the file says about itself.
    pub subject: &'a str,
    /// The date written into the file as (year, month, day); never the clock's.
    pub date: (u16, u8, u8),
    /// Files that go with the print, where its format can carry any.
    pub attachments: &'a [Attachment],
}

impl<'a> Print<'a> {
    /// A print without attachments.
    pub fn new(pages: &'a Pages, date: (u16, u8, u8)) -> Print<'a> {
        Print { pages, subject: "", date, attachments: &[] }
    }
}

/// A file that goes with a print.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its name, with `/` between folders; no two are alike.
    pub name: String,
    /// Its media type, such as `text/markdown`.
    pub mime: &'static str,
    /// One line for people.
    pub about: String,
    /// What it is to the print.
    pub relation: Relation,
    /// Its content.
    pub bytes: Arc<[u8]>,
}

/// What an attached file is to the print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// The print was made from it.
    Source,
    /// The print shows what is in it.
    Data,
}

/// A format a print can be written in.
pub struct Format {
    /// The word on the command line.
    pub name: &'static str,
    /// The file name's ending, without the point.
    pub extension: &'static str,
    /// One line for help.
    pub about: &'static str,
    /// Whether it can carry attachments.
    pub carries: bool,
    write: fn(&Print<'_>) -> Result<Vec<u8>, Error>,
}

/// Every format. Help, completions and tests iterate over this list.
pub static FORMATS: &[Format] = &[
    Format {
        name: "pdf",
        extension: "pdf",
        about: "pages for paper, with the fonts and all that it was made from in the file",
        carries: true,
        write: pdf::write,
    },
    Format { name: "html", extension: "html", about: "one self-contained page for a screen", carries: false, write: html::write },
    Format { name: "text", extension: "txt", about: "plain text for a terminal or a pipe", carries: false, write: text::write },
];

impl Format {
    /// The format of a name.
    pub fn named(name: &str) -> Option<&'static Format> {
        FORMATS.iter().find(|f| f.name == name)
    }

    /// Writes a print. The same print gives the same bytes.
    pub fn emit(&self, print: &Print<'_>) -> Result<Vec<u8>, Error> {
        (self.write)(print)
    }
}

impl std::fmt::Debug for Format {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Format").field(&self.name).finish()
    }
}
