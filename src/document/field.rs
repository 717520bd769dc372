//! Printed values and sentences, each with the id by which a print is read back.

use serde::Serialize;

/// One printed value that was checked. The id is unique in the document, such as `s12.target` or `doc.revision`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Field {
    /// Where the value belongs: item, dot, name.
    pub id: String,
    /// The value exactly as printed, unit included.
    pub text: String,
}

impl Field {
    /// A value under an id.
    pub fn new(id: impl Into<String>, text: impl Into<String>) -> Self {
        Self { id: id.into(), text: visible(text.into()) }
    }
}

/// A sentence for people. It has an id too, so that a template cannot drop it unseen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Prose {
    /// Unique in the document.
    pub id: String,
    /// The sentence in runs of one style each.
    pub spans: Vec<Span>,
}

/// A run of text in one style.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "style", rename_all = "kebab-case")]
pub enum Span {
    /// Unmarked text.
    Plain {
        /// The words.
        text: String,
    },
    /// Text to be stressed.
    Strong {
        /// The words.
        text: String,
    },
    /// A term or a word from a panel.
    Code {
        /// The words.
        text: String,
    },
    /// A reference to a numbered item of the same document.
    Link {
        /// What is printed, such as "step 14" or "C1".
        text: String,
        /// The item referred to.
        to: String,
    },
}

impl Prose {
    /// Words that are found by what stands before their colon.
    pub fn led(id: impl Into<String>, text: &str) -> Prose {
        let text = &visible(text.to_owned());
        let lead = text.find(':').map_or(0, |at| at + 1);
        let (strong, rest) = text.split_at(lead);
        let strong = (lead > 0).then(|| Span::Strong { text: strong.to_owned() });
        Prose { id: id.into(), spans: strong.into_iter().chain([Span::Plain { text: rest.to_owned() }]).collect() }
    }

    /// An unmarked sentence.
    pub fn plain(id: impl Into<String>, text: impl Into<String>) -> Self {
        Self { id: id.into(), spans: vec![Span::Plain { text: visible(text.into()) }] }
    }

    /// The sentence with the first place of these words as the way to an item; as it is where they do not stand in it.
    #[must_use]
    pub fn leading(self, words: &str, to: &str) -> Self {
        let text = self.text();
        let Some((before, behind)) = text.split_once(words) else { return self };
        let plain = |text: &str| Span::Plain { text: text.to_owned() };
        let link = Span::Link { text: words.to_owned(), to: to.to_owned() };
        Self { spans: vec![plain(before), link, plain(behind)], ..self }
    }

    /// The sentence without its marking.
    pub fn text(&self) -> String {
        self.spans.iter().map(Span::text).collect()
    }
}

impl Span {
    /// The words of this run.
    pub fn text(&self) -> &str {
        match self {
            Span::Plain { text } | Span::Strong { text } | Span::Code { text } | Span::Link { text, .. } => text,
        }
    }
}

/// Names what would not be seen, or would turn the words around it: a draft of a text with hidden characters shows them.
pub(super) fn visible(text: String) -> String {
    let hidden = |c: char| {
        c.is_control()
            || matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}')
    };
    if !text.contains(hidden) {
        return text;
    }
    text.chars().map(|c| if hidden(c) { format!("[U+{:04X}]", u32::from(c)) } else { c.to_string() }).collect()
}
