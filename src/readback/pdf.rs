//! Values of a PDF: the words inside each value's marked content, decoded through the fonts' own Unicode maps.

use super::Found;
use lopdf::content::Content;
use lopdf::{Document, Encoding, Object};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What text drawing needs to know.
struct State {
    /// The value being read and its words so far.
    value: Option<(String, String)>,
    /// Nesting of marked content: whether each level opened a value.
    levels: Vec<bool>,
}

/// The number of pages and every value found on them.
pub(super) fn read(bytes: &[u8]) -> Result<(usize, Vec<Found>), String> {
    let file = Document::load_mem(bytes).map_err(|e| format!("it cannot be opened: {e}"))?;
    let pages: Vec<_> = file.get_pages().into_iter().collect();
    let found = pages.par_iter().map(|(number, page)| read_page(&file, *page).map_err(|e| format!("page {number} {e}")));
    Ok((pages.len(), found.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect()))
}

fn read_page(file: &Document, page: lopdf::ObjectId) -> Result<Vec<Found>, String> {
    let at = |e: lopdf::Error| format!("cannot be read: {e}");
    let size = media_box(file, page).ok_or("has no size")?;
    let fonts = file.get_page_fonts(page).map_err(at)?;
    let encodings = fonts.iter().map(|(name, font)| Ok((name.clone(), font.get_font_encoding(file)?)));
    let encodings = encodings.collect::<Result<BTreeMap<Vec<u8>, Encoding<'_>>, lopdf::Error>>().map_err(at)?;
    let content = Content::decode(&file.get_page_content(page)).map_err(at)?;
    let mut out = Vec::new();
    let mut state = State { value: None, levels: Vec::new() };
    let mut font = None;
    for op in &content.operations {
        match op.operator.as_str() {
            "BDC" | "BMC" => state.open(&op.operands),
            "EMC" => out.extend(state.close()),
            "Tf" => font = op.operands.first().and_then(|o| o.as_name().ok()).and_then(|n| encodings.get(n)),
            "Tm" => {
                let number = |i: usize| op.operands.get(i).and_then(|o| o.as_float().ok()).unwrap_or(f32::NAN);
                let (x, y) = (number(4), number(5));
                if !((0.0..size.0).contains(&x) && (0.0..size.1).contains(&y)) {
                    return Err(format!("has words outside the sheet at {x}, {y}"));
                }
            }
            "TJ" | "Tj" => {
                let encoding = font.ok_or("has words in an unknown font")?;
                state.show(op.operands.first(), encoding).map_err(at)?;
            }
            "'" | "\"" | "Tr" | "Tz" | "W" | "W*" => return Err(format!("uses {}, which can hide words", op.operator)),
            _ => {}
        }
    }
    Ok(out)
}

fn media_box(file: &Document, page: lopdf::ObjectId) -> Option<(f32, f32)> {
    let numbers = file.get_dictionary(page).ok()?.get(b"MediaBox").ok()?.as_array().ok()?;
    match numbers.as_slice() {
        [_, _, x, y] => Some((x.as_float().ok()?, y.as_float().ok()?)),
        _ => None,
    }
}

impl State {
    fn open(&mut self, operands: &[Object]) {
        let id = match operands {
            [tag, Object::Dictionary(properties)] if tag.as_name().is_ok_and(|t| t == b"Value") => {
                properties.get(b"Id").and_then(Object::as_str).ok().map(|id| String::from_utf8_lossy(id).into_owned())
            }
            _ => None,
        };
        self.levels.push(id.is_some());
        if let Some(id) = id {
            self.value = Some((id, String::new()));
        }
    }

    fn close(&mut self) -> Option<Found> {
        let value = self.levels.pop()?.then(|| self.value.take()).flatten();
        value.map(|(id, text)| Found { id, text })
    }

    fn show(&mut self, operand: Option<&Object>, encoding: &Encoding<'_>) -> Result<(), lopdf::Error> {
        let Some((_, words)) = &mut self.value else { return Ok(()) };
        let strings: &[Object] = match operand {
            Some(Object::Array(list)) => list,
            Some(one) => std::slice::from_ref(one),
            None => &[],
        };
        for string in strings {
            if let Object::String(bytes, _) = string {
                words.push_str(&Document::decode_text(encoding, bytes)?);
            }
        }
        Ok(())
    }
}
