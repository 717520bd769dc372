//! The PDF file: pages, links, outline, catalog. No clock, no random number: the same parts give the same bytes.

use super::content::{Piece, Pieces};
use super::fonts::Fonts;
use super::forms::Widget;
use super::objects::{Id, Objects, Text};
use super::setter::Setter;
use super::tags::{Belongs, Tag};
use super::xmp::About;
use super::{attach, forms, tags};
use crate::error::Error;
use std::collections::HashMap;

/// A line of the outline.
pub(super) struct Entry {
    pub level: u8,
    pub words: String,
    pub page: usize,
    /// From the bottom of the page.
    pub y: f32,
}

/// What a file is made of.
pub(super) struct Parts<'a> {
    pub about: About<'a>,
    /// Width and height of each page.
    pub sizes: Vec<(f32, f32)>,
    /// Of each page the deflated content, and what belongs to which element.
    pub pages: Vec<(Vec<u8>, Pieces)>,
    pub fonts: Fonts,
    pub outline: Vec<Entry>,
    /// Where each item begins: its page and the height above its foot.
    pub places: HashMap<&'a str, (usize, f32)>,
    pub setter: &'a Setter,
    pub attachments: Vec<attach::Packed<'a>>,
}

/// Puts the file together.
pub(super) fn assemble(parts: Parts<'_>) -> Result<Vec<u8>, Error> {
    let mut out = Objects::default();
    let (catalog, tree) = (out.reserve(), out.reserve());
    let resources = parts.fonts.write(&mut out)?;
    let count = parts.pages.len();
    let pages: Vec<Id> = (0..count).map(|_| out.reserve()).collect();
    let mut widgets = Vec::new();
    let mut belongs: Vec<(Id, Vec<(Tag, Belongs)>)> = Vec::with_capacity(count);
    // Keys of fields and links run on behind those of the pages.
    let mut key = count;
    for (i, (content, pieces)) in parts.pages.into_iter().enumerate() {
        let stream = out.reserve();
        out.stream(stream, "/Filter/FlateDecode", content);
        let mut own = Vec::with_capacity(pieces.len());
        let mut annotations = Vec::new();
        for (tag, piece) in pieces {
            let id = match piece {
                Piece::Content(n) => {
                    own.push((tag, Belongs::Content(n)));
                    continue;
                }
                Piece::Entry(entry, area) => {
                    let id = out.reserve();
                    widgets.push(Widget { id, entry, area, key });
                    id
                }
                Piece::Link(to, area) => {
                    let item = parts.setter.fields[to as usize].as_str();
                    let place = parts.places.get(item);
                    let (page, y) = *place.ok_or_else(|| Error::Internal(format!("a link leads to {item}, which is not printed")))?;
                    out.add(|t| {
                        t.raw("<</Type/Annot/Subtype/Link/F 4/Border[0 0 0]/Rect[").lengths(area).raw("]/Dest[").to(pages[page]);
                        t.raw("/XYZ null ").lengths([y]).raw(" null]/StructParent").int(key).raw("/Contents").words(item).raw(">>");
                    })
                }
            };
            annotations.push(id);
            own.push((tag, Belongs::Object(id, key)));
            key += 1;
        }
        belongs.push((pages[i], own));
        out.put(pages[i], |t| {
            let (width, height) = parts.sizes[i];
            t.raw("<</Type/Page/Parent").to(tree).raw("/MediaBox[").lengths([0.0, 0.0, width, height]);
            t.raw("]/CropBox[").lengths([0.0, 0.0, width, height]).raw("]/Resources").to(resources).raw("/Contents").to(stream);
            t.raw("/StructParents").int(i).raw("/Tabs/S");
            if !annotations.is_empty() {
                t.raw("/Annots[");
                for id in annotations {
                    t.to(id);
                }
                t.raw("]");
            }
            t.raw(">>");
        });
    }
    out.put(tree, |t| {
        t.raw("<</Type/Pages/Count").int(count).raw("/Kids[");
        for page in &pages {
            t.to(*page);
        }
        t.raw("]>>");
    });
    let form = forms::write(&widgets, parts.setter, &mut out)?;
    let structure = tags::write(&parts.setter.tags, &belongs, key, &mut out);
    let outline = outline(&parts.outline, &pages, &mut out);
    let attached = attach::write(parts.attachments, &parts.about, &mut out);
    let info = parts.about.info(&mut out);
    let digest = out.digest();
    let id = &digest[..16];
    let metadata = parts.about.metadata(id, &mut out);
    out.put(catalog, |t| {
        t.raw("<</Type/Catalog/Pages").to(tree).raw("/Lang(").raw(parts.about.language).raw(")");
        t.raw("/PageLayout/SinglePage/ViewerPreferences<</DisplayDocTitle true>>");
        // Printed as "Page 1 of 9": numbered from the first sheet on.
        t.raw("/PageLabels<</Nums[0<</S/D>>]>>/Metadata").to(metadata);
        t.raw("/MarkInfo<</Marked true>>/StructTreeRoot").to(structure);
        if let Some(form) = form {
            t.raw("/AcroForm").to(form);
        }
        if let Some(outline) = outline {
            t.raw("/Outlines").to(outline).raw("/PageMode/UseOutlines");
        }
        if let Some(attached) = &attached {
            t.raw("/Names<</EmbeddedFiles").to(attached.names).raw(">>/AF[");
            for file in &attached.files {
                t.to(*file);
            }
            t.raw("]");
        }
        t.raw(">>");
    });
    out.finish(catalog, info, id)
}

/// Outline entries, nested by heading level.
fn outline(entries: &[Entry], pages: &[Id], out: &mut Objects) -> Option<Id> {
    if entries.is_empty() {
        return None;
    }
    let root = out.reserve();
    let ids: Vec<Id> = entries.iter().map(|_| out.reserve()).collect();
    // The entries that are still open, one a level, and what each has below it.
    let mut open: Vec<usize> = Vec::new();
    let mut parents = Vec::with_capacity(entries.len());
    let mut children = vec![Vec::new(); entries.len() + 1];
    let mut places = Vec::with_capacity(entries.len());
    for (i, entry) in entries.iter().enumerate() {
        while open.last().is_some_and(|o| entries[*o].level >= entry.level) {
            open.pop();
        }
        let parent = open.last().copied();
        let siblings: &mut Vec<usize> = &mut children[parent.map_or(0, |p| p + 1)];
        places.push(siblings.len());
        siblings.push(i);
        parents.push(parent);
        open.push(i);
    }
    let ends = |t: &mut Text, list: &[usize], is_open: bool| {
        if let (Some(first), Some(last)) = (list.first(), list.last()) {
            t.raw("/First").to(ids[*first]).raw("/Last").to(ids[*last]);
            t.raw(if is_open { "/Count " } else { "/Count -" }).raw(&list.len().to_string());
        }
    };
    for (i, entry) in entries.iter().enumerate() {
        let siblings = &children[parents[i].map_or(0, |p| p + 1)];
        out.put(ids[i], |t| {
            t.raw("<</Title").words(&entry.words).raw("/Parent").to(parents[i].map_or(root, |p| ids[p]));
            t.raw("/Dest[").to(pages[entry.page]).raw("/XYZ null ").lengths([entry.y]).raw(" null]");
            if let Some(before) = places[i].checked_sub(1) {
                t.raw("/Prev").to(ids[siblings[before]]);
            }
            if let Some(after) = siblings.get(places[i] + 1) {
                t.raw("/Next").to(ids[*after]);
            }
            ends(t, &children[i + 1], false);
            t.raw(">>");
        });
    }
    out.put(root, |t| {
        t.raw("<</Type/Outlines");
        ends(t, &children[0], true);
        t.raw(">>");
    });
    Some(root)
}
