//! The PDF file: fonts and page objects from printpdf, outline and metadata through lopdf. No clock, no random number.

use super::content::Used;
use super::setter::FONTS;
use crate::error::Error;
use lopdf::{Dictionary, Object, ObjectId, Stream, dictionary};
use printpdf::{
    Codepoint, CustomPdfConformance, FontId, Op, ParsedFont, PdfConformance, PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions,
    Pt, Rect, TextItem,
};
use sha2::{Digest, Sha256};
use std::io::Write;

/// A line of the outline.
pub(super) struct Entry {
    pub level: u8,
    pub words: String,
    pub page: usize,
    /// From the bottom of the page.
    pub y: f32,
}

/// An area that leads elsewhere.
pub(super) struct Link {
    pub page: usize,
    /// Left, bottom, right, top.
    pub area: [f32; 4],
    /// Page and height above its foot.
    pub to: (usize, f32),
}

/// What a file is made of.
pub(super) struct Parts<'a> {
    pub title: &'a str,
    pub date: (u16, u8, u8),
    pub size: (f32, f32),
    /// Deflated content streams, a page each.
    pub streams: Vec<Vec<u8>>,
    pub used: &'a Used,
    pub outline: Vec<Entry>,
    pub links: Vec<Link>,
}

/// Compresses at the level that pays: 9 costs twice the time for nothing.
pub(super) fn deflate(bytes: &[u8]) -> Result<Vec<u8>, Error> {
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::with_capacity(bytes.len() / 4), flate2::Compression::new(6));
    encoder.write_all(bytes).and_then(|()| encoder.finish()).map_err(|e| Error::Internal(format!("a page could not be compressed: {e}")))
}

fn internal(what: impl std::fmt::Display) -> Error {
    Error::Internal(format!("the PDF could not be put together: {what}"))
}

/// Puts the file together.
pub(super) fn assemble(parts: Parts<'_>) -> Result<Vec<u8>, Error> {
    let mut pdf = PdfDocument::new(parts.title);
    pdf.metadata.info.conformance = PdfConformance::Custom(CustomPdfConformance {
        requires_icc_profile: false,
        requires_xmp_metadata: false,
        ..CustomPdfConformance::default()
    });
    // printpdf finds the glyphs of a font in the operations of its pages. Our streams are written already,
    // so the first page shows each glyph once with its text and is then given its own stream like the rest.
    let mut specimen = vec![Op::StartTextSection];
    for (i, id) in ["R", "B"].into_iter().enumerate() {
        let subset = subsetter::subset(FONTS[i].1, 0, &parts.used.remappers[i]).map_err(internal)?;
        let mut font = ParsedFont::from_bytes(&subset, 0, &mut Vec::new()).ok_or_else(|| internal("the cut font cannot be read"))?;
        font.font_name = Some(format!("{}+{}", tag(&subset), FONTS[i].0));
        let id = FontId(id.to_owned());
        pdf.resources.fonts.map.insert(id.clone(), PdfFont::new(font));
        specimen.push(Op::SetFont { font: PdfFontHandle::External(id), size: Pt(10.0) });
        let glyphs = parts.used.texts[i].iter().map(|(gid, text)| Codepoint::with_cid(*gid, 0.0, text.clone())).collect();
        specimen.push(Op::ShowText { items: vec![TextItem::GlyphIds(glyphs)] });
    }
    specimen.push(Op::EndTextSection);
    let sheet = Rect::from_wh(Pt(parts.size.0), Pt(parts.size.1));
    let page = |ops| PdfPage { media_box: sheet.clone(), trim_box: sheet.clone(), crop_box: sheet.clone(), ops };
    pdf.pages = (0..parts.streams.len()).map(|i| page(if i == 0 { specimen.clone() } else { Vec::new() })).collect();
    let mut warnings = Vec::new();
    let options = PdfSaveOptions { optimize: false, subset_fonts: false, ..PdfSaveOptions::default() };
    let mut file = printpdf::to_lopdf_doc(&pdf, &options, &mut warnings);
    let pages: Vec<ObjectId> = file.get_pages().into_values().collect();
    if pages.len() != parts.streams.len() {
        return Err(internal("pages were lost"));
    }
    let mut hash = Sha256::new();
    hash.update(parts.title.as_bytes());
    let resources = shared_resources(&mut file, pages.first().copied())?;
    for (page, content) in pages.iter().zip(parts.streams) {
        hash.update(&content);
        let dict = file.get_object_mut(*page).and_then(Object::as_dict_mut).map_err(internal)?;
        dict.remove(b"Annots");
        dict.set("Resources", resources.clone());
        let id = dict.get(b"Contents").and_then(Object::as_reference).map_err(internal)?;
        let mut stream = Stream::new(dictionary! { "Filter" => "FlateDecode" }, content);
        stream.allows_compression = false;
        file.set_object(id, stream);
    }
    links(&mut file, &parts.links, &pages)?;
    outline(&mut file, &parts.outline, &pages)?;
    metadata(&mut file, parts.title, parts.date, &hash.finalize())?;
    file.prune_objects();
    file.renumber_objects();
    for object in file.objects.values_mut() {
        if let Object::Stream(stream) = object
            && stream.dict.get(b"Filter").is_err()
        {
            let packed = deflate(&stream.content)?;
            stream.dict.set("Filter", "FlateDecode");
            stream.set_content(packed);
        }
    }
    file.version = "1.7".to_owned();
    let options = lopdf::SaveOptions::builder().use_object_streams(true).use_xref_streams(true).compression_level(6).build();
    let mut out = Vec::new();
    file.save_with_options(&mut out, options).map_err(internal)?;
    Ok(out)
}

/// Six capitals from the content of the cut font.
fn tag(subset: &[u8]) -> String {
    Sha256::digest(subset).iter().take(6).map(|b| char::from(b'A' + b % 26)).collect()
}

/// One resource dictionary for all pages, with the fonts alone.
fn shared_resources(file: &mut lopdf::Document, first: Option<ObjectId>) -> Result<Object, Error> {
    let first = first.ok_or_else(|| internal("there is no page"))?;
    let own = file.get_dictionary(first).and_then(|d| d.get(b"Resources")).and_then(Object::as_reference).map_err(internal)?;
    let fonts = file.get_dictionary(own).and_then(|d| d.get(b"Font")).cloned().map_err(internal)?;
    Ok(Object::Reference(file.add_object(dictionary! { "Font" => fonts })))
}

fn text(words: &str) -> Object {
    lopdf::text_string(words)
}

/// Links between items, as annotations without a border.
fn links(file: &mut lopdf::Document, links: &[Link], pages: &[ObjectId]) -> Result<(), Error> {
    for on_page in links.chunk_by(|a, b| a.page == b.page) {
        let annotations = on_page.iter().map(|link| {
            Object::Dictionary(dictionary! {
                "Type" => "Annot",
                "Subtype" => "Link",
                "F" => 4,
                "Rect" => link.area.map(Object::Real).to_vec(),
                "Border" => vec![0.into(), 0.into(), 0.into()],
                "Dest" => vec![Object::Reference(pages[link.to.0]), "XYZ".into(), Object::Null, Object::Real(link.to.1), Object::Null],
            })
        });
        let annotations: Vec<Object> = annotations.collect();
        let page = file.get_object_mut(pages[on_page[0].page]).and_then(Object::as_dict_mut).map_err(internal)?;
        page.set("Annots", annotations);
    }
    Ok(())
}

/// Outline entries, nested by heading level.
fn outline(file: &mut lopdf::Document, entries: &[Entry], pages: &[ObjectId]) -> Result<(), Error> {
    if entries.is_empty() {
        return Ok(());
    }
    let root = file.new_object_id();
    let ids: Vec<ObjectId> = entries.iter().map(|_| file.new_object_id()).collect();
    let parent = |i: usize| (0..i).rev().find(|j| entries[*j].level < entries[i].level);
    let parents: Vec<Option<usize>> = (0..entries.len()).map(parent).collect();
    let mut children = vec![Vec::new(); entries.len() + 1];
    for (i, p) in parents.iter().enumerate() {
        children[p.map_or(0, |p| p + 1)].push(i);
    }
    let ends = |dict: &mut Dictionary, list: &[usize], open: bool| {
        if let (Some(first), Some(last)) = (list.first(), list.last()) {
            dict.set("First", Object::Reference(ids[*first]));
            dict.set("Last", Object::Reference(ids[*last]));
            let count = i64::try_from(list.len()).unwrap_or(0);
            dict.set("Count", if open { count } else { -count });
        }
    };
    for (i, entry) in entries.iter().enumerate() {
        let siblings = &children[parents[i].map_or(0, |p| p + 1)];
        let at = siblings.iter().position(|s| *s == i).unwrap_or(0);
        let mut dict = dictionary! {
            "Title" => text(&entry.words),
            "Parent" => Object::Reference(parents[i].map_or(root, |p| ids[p])),
            "Dest" => vec![Object::Reference(pages[entry.page]), "XYZ".into(), Object::Null, Object::Real(entry.y), Object::Null],
        };
        if let Some(before) = at.checked_sub(1) {
            dict.set("Prev", Object::Reference(ids[siblings[before]]));
        }
        if let Some(after) = siblings.get(at + 1) {
            dict.set("Next", Object::Reference(ids[*after]));
        }
        ends(&mut dict, &children[i + 1], false);
        file.set_object(ids[i], dict);
    }
    let mut dict = dictionary! { "Type" => "Outlines" };
    ends(&mut dict, &children[0], true);
    file.set_object(root, dict);
    let catalog = file.catalog_mut().map_err(internal)?;
    catalog.set("Outlines", Object::Reference(root));
    catalog.set("PageMode", "UseOutlines");
    Ok(())
}

/// Title and dates of the document itself; the file id from its content.
fn metadata(file: &mut lopdf::Document, title: &str, date: (u16, u8, u8), hash: &[u8]) -> Result<(), Error> {
    let stamp = format!("D:{:04}{:02}{:02}000000Z", date.0, date.1, date.2);
    let info = dictionary! {
        "Title" => text(title),
        "Producer" => text(concat!("surehand ", env!("CARGO_PKG_VERSION"))),
        "CreationDate" => Object::string_literal(stamp.clone()),
        "ModDate" => Object::string_literal(stamp),
    };
    let info = file.add_object(info);
    file.trailer.set("Info", Object::Reference(info));
    let id = Object::String(hash.iter().take(16).copied().collect(), lopdf::StringFormat::Hexadecimal);
    file.trailer.set("ID", vec![id.clone(), id]);
    let catalog = file.catalog_mut().map_err(internal)?;
    catalog.set("Lang", Object::string_literal("en"));
    catalog.set("PageLayout", "SinglePage");
    catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
    Ok(())
}
