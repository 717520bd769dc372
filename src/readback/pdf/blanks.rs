//! What lies on a page beside its words: links, and places to fill in. Nothing else may, and none over words.

use super::known;
use super::sheet::{Area, Run};
use crate::readback::Blank;
use lopdf::{Dictionary, Document, Object, ObjectId};

/// What an annotation may have: nothing that acts by itself.
const LINK: [&str; 8] = ["Type", "Subtype", "F", "Rect", "Border", "Dest", "StructParent", "Contents"];
const FIELD: [&str; 17] =
    ["Type", "Subtype", "F", "FT", "V", "AS", "T", "TU", "Rect", "AP", "StructParent", "Parent", "DA", "M", "NM", "P", "Q"];
/// Names within names deeper than this are refused.
const DEEPEST: usize = 16;

/// The places to fill in on a page.
pub(super) fn read(file: &Document, page: &Dictionary, number: usize, runs: &[Run]) -> Result<Vec<Blank>, String> {
    let mut out = Vec::new();
    let words: Vec<(Area, &Run)> = runs.iter().filter(|r| !r.is_blank()).map(|r| (r.space(), r)).collect();
    for annotation in page.get_deref(b"Annots", file).and_then(Object::as_array).unwrap_or(&Vec::new()) {
        let one = file.dereference(annotation).and_then(|(_, o)| o.as_dict()).map_err(|e| format!("has a broken annotation: {e}"))?;
        let is = |kind: &[u8]| one.get(b"Subtype").and_then(Object::as_name).is_ok_and(|n| n == kind);
        if is(b"Link") && known(one, &LINK).is_ok() {
            continue;
        }
        let name = name(file, one, 0);
        if !is(b"Widget") || known(one, &FIELD).is_err() {
            return Err(format!(
                "has an annotation that can cover words or act by itself{}",
                name.map_or(String::new(), |n| format!(": {n}"))
            ));
        }
        let name = name.ok_or("has a field without a name")?;
        let area = rectangle(one.get_deref(b"Rect", file).ok()).ok_or_else(|| format!("has the field {name} at no place"))?;
        // Its edge may touch letters.
        let inner = area.grown(-0.5);
        if let Some((_, run)) = words.iter().find(|(space, _)| space.meets(inner)) {
            return Err(format!("has the field {name} over {}", run.name()));
        }
        let value = value(file, one).map_err(|()| format!("has the field {name}, which is of no known kind"))?;
        let tenths = [area.left, area.bottom, area.right, area.top].map(|p| (p * 10.0).round() as i32);
        out.push(Blank { name, page: number, area: tenths, value });
    }
    Ok(out)
}

/// The whole name of a field: those above it first.
fn name(file: &Document, field: &Dictionary, depth: usize) -> Option<String> {
    let own = field.get(b"T").and_then(lopdf::decode_text_string).ok()?;
    match field.get(b"Parent") {
        Ok(parent) if depth < DEEPEST => {
            let parent = file.dereference(parent).ok()?.1.as_dict().ok()?;
            Some(format!("{}.{own}", name(file, parent, depth + 1)?))
        }
        Ok(_) => None,
        Err(_) => Some(own),
    }
}

fn rectangle(object: Option<&Object>) -> Option<Area> {
    let [a, b, c, d] = object?.as_array().ok()?.as_slice() else { return None };
    let number = |o: &Object| o.as_float().ok();
    Area::around(&[(number(a)?, number(b)?), (number(c)?, number(d)?)])
}

/// What a field holds; none if it is empty and shows nothing.
fn value(file: &Document, field: &Dictionary) -> Result<Option<String>, ()> {
    let looks = field.get_deref(b"AP", file).and_then(Object::as_dict).ok();
    let other = looks.is_some_and(|l| ["D", "R"].iter().any(|k| l.has(k.as_bytes())));
    let normal = looks.and_then(|l| l.get_deref(b"N", file).ok());
    match field.get(b"FT").and_then(Object::as_name) {
        Ok(b"Tx") => {
            let typed = field.get(b"V").and_then(lopdf::decode_text_string).unwrap_or_default();
            let shows = other || normal.is_some_and(|n| n.as_stream().map_or(true, draws));
            Ok(if typed.is_empty() && !shows { None } else { Some(typed) })
        }
        Ok(b"Btn") => {
            let off = |key: &[u8]| field.get(key).and_then(Object::as_name).map_or(true, |n| n == b"Off");
            let looks = normal.and_then(|n| n.as_dict().ok()).ok_or(())?;
            let empty = looks.get_deref(b"Off", file).and_then(Object::as_stream).is_ok_and(|s| !draws(s));
            Ok(if off(b"V") && off(b"AS") && empty && !other { None } else { Some("ticked".to_owned()) })
        }
        _ => Err(()),
    }
}

/// Whether a stream has anything in it.
fn draws(stream: &lopdf::Stream) -> bool {
    stream.decompressed_content().map_or(true, |c| !c.trim_ascii().is_empty()) && !stream.content.trim_ascii().is_empty()
}

/// The form of a file may have nothing that acts by itself.
pub(super) fn form(file: &Document, catalog: &Dictionary) -> Result<(), String> {
    let Ok(form) = catalog.get_deref(b"AcroForm", file).and_then(Object::as_dict) else { return Ok(()) };
    known(form, &["Fields", "DA", "DR", "NeedAppearances"]).map_err(|key| format!("its form has {key}, which can change what is shown"))?;
    let mut open: Vec<(ObjectId, usize)> = ids(form.get_deref(b"Fields", file).ok(), 0);
    while let Some((id, depth)) = open.pop() {
        let field = file.get_dictionary(id).map_err(|_| "its form has a broken field")?;
        let has_look = field.has(b"Rect");
        if depth > DEEPEST || (!has_look && known(field, &["T", "Kids", "Parent"]).is_err()) {
            return Err("its form has a field that can act by itself".to_owned());
        }
        open.extend(ids(field.get_deref(b"Kids", file).ok(), depth + 1));
    }
    Ok(())
}

fn ids(list: Option<&Object>, depth: usize) -> Vec<(ObjectId, usize)> {
    let list = list.and_then(|l| l.as_array().ok());
    list.into_iter().flatten().filter_map(|o| Some((o.as_reference().ok()?, depth))).collect()
}
