//! Opens a file as far as it is looked at: of the objects that are packed into streams, those that the catalog leads to.
//!
//! The tree of structure, most of what is packed in a print with tags, is no part of what is read back; it stays packed.

use super::content;
use lopdf::xref::XrefEntry;
use lopdf::{Dictionary, Document, LoadOptions, Object, ObjectId, Stream};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use std::collections::{BTreeMap, BTreeSet};

/// The key under which the catalog names the tree of structure.
const STRUCTURE: &[u8] = b"StructTreeRoot";
/// The type of what stays packed while a file is opened.
const PACKED: &[u8] = b"Packed";

/// A file with everything that its catalog leads to but for the tree of structure.
pub(super) fn open(bytes: &[u8]) -> Result<Document, String> {
    let options = LoadOptions { filter: Some(leave_packed), ..LoadOptions::default() };
    let mut file = Document::load_mem_with_options(bytes, options).map_err(|e| e.to_string())?;
    let mut packs: BTreeMap<u32, Pack> = BTreeMap::new();
    let mut open: Vec<ObjectId> = file.trailer.get(b"Root").and_then(Object::as_reference).into_iter().collect();
    let mut seen: FxHashSet<ObjectId> = open.iter().copied().collect();
    // What one round leads to is the next.
    while !open.is_empty() {
        let packed: Vec<Place> = open.iter().filter_map(|id| Place::of(&file, *id)).collect();
        let new: BTreeSet<u32> = packed.iter().map(|p| p.pack).filter(|pack| !packs.contains_key(pack)).collect();
        packs.par_extend(new.into_par_iter().filter_map(|number| Some((number, Pack::of(&file, number)?))));
        // Of a few, waking another thread takes longer than reading them.
        let objects: Vec<Result<Object, String>> = packed.par_iter().with_min_len(64).map(|place| place.object(&packs)).collect();
        for (place, object) in packed.iter().zip(objects) {
            file.objects.insert(place.id, object?);
        }
        let mut next = Vec::new();
        for object in open.iter().filter_map(|id| file.objects.get(id)) {
            references(object, &mut |to| next.extend(seen.insert(to).then_some(to)));
        }
        open = next;
    }
    Ok(file)
}

/// Keeps the library from unpacking a stream of objects.
fn leave_packed(id: ObjectId, object: &mut Object) -> Option<(ObjectId, Object)> {
    if let Ok(stream) = object.as_stream_mut()
        && stream.dict.has_type(b"ObjStm")
    {
        stream.dict.set("Type", Object::Name(PACKED.to_vec()));
    }
    // The library takes the object as it is now, and of this only that there is one.
    Some((id, Object::Null))
}

/// A stream of objects, unpacked: the number of each with its place.
struct Pack {
    bytes: Vec<u8>,
    places: Vec<(u32, usize)>,
}

impl Pack {
    /// The stream of this number; none if it is no stream of objects, or cannot be read as one.
    fn of(file: &Document, number: u32) -> Option<Pack> {
        let stream = packed_stream(file, number)?;
        let bytes =
            stream.decompressed_content().or_else(|e| if stream.dict.has(b"Filter") { Err(e) } else { Ok(stream.content.clone()) }).ok()?;
        let first = usize::try_from(stream.dict.get(b"First").and_then(Object::as_i64).ok()?).ok()?;
        let head = std::str::from_utf8(bytes.get(..first)?).ok()?;
        let numbers: Vec<usize> = head.split_ascii_whitespace().map(|n| n.parse().ok()).collect::<Option<_>>()?;
        let place = |pair: &[usize; 2]| Some((u32::try_from(pair[0]).ok()?, first.checked_add(pair[1])?));
        let places = numbers.as_chunks::<2>().0.iter().map(place).collect::<Option<_>>()?;
        Some(Pack { bytes, places })
    }
}

fn packed_stream(file: &Document, number: u32) -> Option<&Stream> {
    file.objects.get(&(number, 0)).and_then(|o| o.as_stream().ok()).filter(|s| s.dict.has_type(PACKED))
}

/// Where the table of the file says that a packed object is.
struct Place {
    id: ObjectId,
    pack: u32,
    index: usize,
}

impl Place {
    /// None for an object that is not packed, or is there already.
    fn of(file: &Document, id: ObjectId) -> Option<Place> {
        match file.reference_table.get(id.0) {
            Some(XrefEntry::Compressed { container, index }) if id.1 == 0 && !file.objects.contains_key(&id) => {
                packed_stream(file, *container)?;
                Some(Place { id, pack: *container, index: usize::from(*index) })
            }
            _ => None,
        }
    }

    fn object(&self, packs: &BTreeMap<u32, Pack>) -> Result<Object, String> {
        let pack = packs.get(&self.pack);
        let place = pack.and_then(|p| p.places.get(self.index).filter(|(number, _)| *number == self.id.0));
        let bytes = pack.zip(place).and_then(|(pack, (_, at))| pack.bytes.get(*at..));
        content::object(bytes.ok_or_else(|| format!("object {} is not where its table says", self.id.0))?)
    }
}

/// Everything that an object refers to itself.
fn references(object: &Object, to: &mut impl FnMut(ObjectId)) {
    match object {
        Object::Reference(id) => to(*id),
        Object::Array(list) => list.iter().for_each(|o| references(o, to)),
        Object::Dictionary(dictionary) => entries(dictionary, to),
        Object::Stream(stream) => entries(&stream.dict, to),
        _ => {}
    }
}

fn entries(dictionary: &Dictionary, to: &mut impl FnMut(ObjectId)) {
    dictionary.iter().filter(|(key, _)| key.as_slice() != STRUCTURE).for_each(|(_, value)| references(value, to));
}
