//! Reads a finished file back and compares it, value by value, with what was checked.
//!
//! It shares nothing with the floors that made the file: it sees bytes and the values they must show. A print whose
//! reading differs is withheld; that is a fault of the tool, never of the writer.

mod html;
mod pdf;

use crate::error::Error;
use std::collections::HashMap;

/// What must be printed for one item, in printed order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The item's id.
    pub id: String,
    /// Ids and exact texts of its values.
    pub values: Vec<(String, String)>,
}

/// A piece of a value as found in a file, in the file's order.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Found {
    id: String,
    text: String,
}

/// Most differences named in a message.
const NAMED: usize = 5;

/// Reads `bytes` back in the format of this name and holds it to `items`. Formats without value ids are not read back.
/// Returns the number of pages where the format has pages.
pub fn check(format: &str, bytes: &[u8], items: &[Item]) -> Result<Option<usize>, Error> {
    let mut pages = None;
    let found = match format {
        "pdf" => pdf::read(bytes).map(|(count, found)| {
            pages = Some(count);
            found
        }),
        "html" => html::read(bytes),
        _ => return Ok(None),
    };
    let differences = match found {
        Ok(found) => compare(&found, items),
        Err(what) => vec![what],
    };
    if differences.is_empty() {
        return Ok(pages);
    }
    let more = differences.len().saturating_sub(NAMED);
    let mut what = differences.into_iter().take(NAMED).collect::<Vec<_>>().join("; ");
    if more > 0 {
        what = format!("{what}; and {more} more");
    }
    Err(Error::Internal(format!("the {format} file does not read back as what was checked: {what}")))
}

/// Text without white space: where a line ends is not part of a value.
fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// A value may be found in several pieces, one a line, and in several places; each place must show all of it.
fn compare(found: &[Found], items: &[Item]) -> Vec<String> {
    let mut differences = Vec::new();
    let wanted: HashMap<&str, String> = items.iter().flat_map(|i| &i.values).map(|(id, text)| (id.as_str(), bare(text))).collect();
    let mut first: HashMap<&str, usize> = HashMap::new();
    let mut open: HashMap<&str, (String, usize)> = HashMap::new();
    for (at, piece) in found.iter().enumerate() {
        let Some(text) = wanted.get(piece.id.as_str()) else {
            differences.push(format!("{:?} is printed under the unknown id {}", piece.text, piece.id));
            continue;
        };
        let (so_far, start) = open.remove(piece.id.as_str()).unwrap_or((String::new(), at));
        let so_far = so_far + &bare(&piece.text);
        if so_far == *text {
            first.entry(&piece.id).or_insert(start);
        } else if text.starts_with(&so_far) {
            open.insert(&piece.id, (so_far, start));
        } else {
            differences.push(format!("{} reads {:?}", piece.id, piece.text));
        }
    }
    let mut last = (0, "");
    for item in items {
        for (id, text) in &item.values {
            match first.get(id.as_str()) {
                None if text.trim().is_empty() => {}
                None => differences.push(format!("{id} must read {text:?} and is not there")),
                Some(_) => {}
            }
        }
        let begins = item.values.iter().filter_map(|(id, _)| first.get(id.as_str())).min();
        if let Some(begins) = begins {
            if *begins < last.0 {
                differences.push(format!("{} is printed before {}", item.id, last.1));
            }
            last = (*begins, &item.id);
        }
    }
    for item in items {
        differences
            .extend(item.values.iter().filter_map(|(id, _)| open.get(id.as_str()).map(|(text, _)| format!("{id} ends after {text:?}"))));
    }
    differences
}
