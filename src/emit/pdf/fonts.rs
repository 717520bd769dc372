//! Fonts of the file: cut to the glyphs in use, their dictionaries made by printpdf, taken over object by object.

use super::content::Used;
use super::objects::{Id, Objects, Text, deflate};
use super::setter::FONTS;
use crate::error::Error;
use lopdf::{Document, Object, ObjectId};
use printpdf::{
    Codepoint, CustomPdfConformance, FontId, Op, ParsedFont, PdfConformance, PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions,
    Pt, Rect, TextItem,
};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// Names of the fonts on every page, by weight.
const NAMES: [&str; 2] = ["R", "B"];

fn internal(what: impl std::fmt::Display) -> Error {
    Error::Internal(format!("the fonts of the PDF could not be put together: {what}"))
}

/// The fonts of a print, as they stand in its file.
pub(super) struct Fonts {
    file: Document,
    /// What the resources of a page name.
    named: Object,
}

impl Fonts {
    /// Cuts the fonts to what is used.
    pub(super) fn cut(used: &Used) -> Result<Fonts, Error> {
        let mut pdf = PdfDocument::new("");
        pdf.metadata.info.conformance = PdfConformance::Custom(CustomPdfConformance {
            requires_icc_profile: false,
            requires_xmp_metadata: false,
            ..CustomPdfConformance::default()
        });
        // printpdf finds the glyphs of a font in the operations of its pages: one page shows each glyph once with its text.
        let mut specimen = vec![Op::StartTextSection];
        for (i, id) in NAMES.into_iter().enumerate() {
            let subset = subsetter::subset(FONTS[i].1, 0, &used.remappers[i]).map_err(internal)?;
            let mut font = ParsedFont::from_bytes(&subset, 0, &mut Vec::new()).ok_or_else(|| internal("the cut font cannot be read"))?;
            font.font_name = Some(format!("{}+{}", tag(&subset), FONTS[i].0));
            let id = FontId(id.to_owned());
            pdf.resources.fonts.map.insert(id.clone(), PdfFont::new(font));
            specimen.push(Op::SetFont { font: PdfFontHandle::External(id), size: Pt(10.0) });
            let glyphs = used.texts[i].iter().map(|(gid, text)| Codepoint::with_cid(*gid, 0.0, text.clone())).collect();
            specimen.push(Op::ShowText { items: vec![TextItem::GlyphIds(glyphs)] });
        }
        specimen.push(Op::EndTextSection);
        let sheet = Rect::from_wh(Pt(100.0), Pt(100.0));
        pdf.pages = vec![PdfPage { media_box: sheet.clone(), trim_box: sheet.clone(), crop_box: sheet, ops: specimen }];
        let options = PdfSaveOptions { optimize: false, subset_fonts: false, ..PdfSaveOptions::default() };
        let mut file = printpdf::to_lopdf_doc(&pdf, &options, &mut Vec::new());
        let page = file.get_pages().into_values().next().ok_or_else(|| internal("there is no page"))?;
        let own = file.get_dictionary(page).and_then(|d| d.get_deref(b"Resources", &file)).and_then(Object::as_dict).map_err(internal)?;
        let named = own.get_deref(b"Font", &file).cloned().map_err(internal)?;
        for stream in file.objects.values_mut().filter_map(|o| o.as_stream_mut().ok()) {
            stream.dict.remove(b"Length");
            if !stream.dict.has(b"Filter") {
                stream.content = deflate(&stream.content)?;
                stream.dict.set("Filter", Object::Name(b"FlateDecode".to_vec()));
            }
        }
        Ok(Fonts { file, named })
    }

    /// Writes them; gives the number of the resources that all pages share.
    pub(super) fn write(mut self, out: &mut Objects) -> Result<Id, Error> {
        let mut copier = Copier { from: &mut self.file, to: out, known: BTreeMap::new() };
        copier.take(&mut self.named)?;
        let fonts = written(&self.named)?;
        Ok(out.add(|t| {
            t.raw("<</Font").raw(&fonts).raw(">>");
        }))
    }
}

/// Six capitals from the content of the cut font.
fn tag(subset: &[u8]) -> String {
    Sha256::digest(subset).iter().take(6).map(|b| char::from(b'A' + b % 26)).collect()
}

/// Takes objects over with all they refer to.
struct Copier<'a> {
    from: &'a mut Document,
    to: &'a mut Objects,
    known: BTreeMap<ObjectId, Id>,
}

impl Copier<'_> {
    /// Gives every reference in an object its new number, and copies what it leads to.
    fn take(&mut self, object: &mut Object) -> Result<(), Error> {
        match object {
            Object::Reference(id) => *id = (self.copy(*id)?.number(), 0),
            Object::Array(list) => list.iter_mut().try_for_each(|o| self.take(o))?,
            Object::Dictionary(dictionary) => dictionary.iter_mut().try_for_each(|(_, o)| self.take(o))?,
            _ => {}
        }
        Ok(())
    }

    fn copy(&mut self, old: ObjectId) -> Result<Id, Error> {
        if let Some(known) = self.known.get(&old) {
            return Ok(*known);
        }
        let new = self.to.reserve();
        self.known.insert(old, new);
        match self.from.objects.remove(&old).ok_or_else(|| internal("an object is missing"))? {
            Object::Stream(stream) => {
                let mut dictionary = Object::Dictionary(stream.dict);
                self.take(&mut dictionary)?;
                let text = written(&dictionary)?;
                let inner = text.strip_prefix("<<").and_then(|t| t.strip_suffix(">>")).unwrap_or_default();
                self.to.stream(new, inner, stream.content);
            }
            mut object => {
                self.take(&mut object)?;
                let text = written(&object)?;
                self.to.put(new, |t| {
                    t.raw(&text);
                });
            }
        }
        Ok(new)
    }
}

/// An object as text. Fonts have no bytes outside ASCII in their dictionaries.
fn written(object: &Object) -> Result<String, Error> {
    let mut out = Text::default();
    write_object(object, &mut out)?;
    Ok(out.into_string())
}

fn write_object(object: &Object, out: &mut Text) -> Result<(), Error> {
    match object {
        Object::Null => out.raw(" null"),
        Object::Boolean(b) => out.raw(if *b { " true" } else { " false" }),
        Object::Integer(n) => out.raw(&format!(" {n}")),
        Object::Real(n) => out.raw(&format!(" {n}")),
        Object::Name(name) => out.name(&String::from_utf8_lossy(name)),
        Object::String(bytes, _) => out.words(&String::from_utf8_lossy(bytes)),
        Object::Reference((number, _)) => out.raw(&format!(" {number} 0 R")),
        Object::Array(list) => {
            out.raw("[");
            list.iter().try_for_each(|o| write_object(o, out))?;
            out.raw("]")
        }
        Object::Dictionary(dictionary) => {
            out.raw("<<");
            for (key, value) in dictionary {
                out.name(&String::from_utf8_lossy(key));
                write_object(value, out)?;
            }
            out.raw(">>")
        }
        Object::Stream(_) => return Err(internal("a stream stands within an object")),
    };
    Ok(())
}
