//! Files that a PDF carries, by name.

use lopdf::{Dictionary, Document, Object};
use std::collections::BTreeMap;
use std::io::Read as _;

/// Most bytes of all attachments together, unpacked.
const MOST: u64 = 512 << 20;
/// Deeper trees of names are refused.
const DEEPEST: usize = 16;

/// Every attached file. An error if the bytes are no PDF, or a file cannot be taken out.
pub(in crate::readback) fn read(bytes: &[u8]) -> Result<BTreeMap<String, Vec<u8>>, String> {
    let file = super::file::open(bytes).map_err(|e| format!("cannot be opened as a PDF: {e}"))?;
    let catalog = file.catalog().map_err(|e| format!("has no catalog: {e}"))?;
    let mut out = Taken { file: &file, files: BTreeMap::new(), left: MOST };
    if let Ok(names) = catalog.get_deref(b"Names", &file).and_then(Object::as_dict)
        && let Ok(tree) = names.get_deref(b"EmbeddedFiles", &file).and_then(Object::as_dict)
    {
        out.walk(tree, 0)?;
    }
    Ok(out.files)
}

struct Taken<'f> {
    file: &'f Document,
    files: BTreeMap<String, Vec<u8>>,
    left: u64,
}

impl Taken<'_> {
    fn walk(&mut self, tree: &Dictionary, depth: usize) -> Result<(), String> {
        if depth > DEEPEST {
            return Err("has names of attachments within each other".to_owned());
        }
        if let Ok(kids) = tree.get_deref(b"Kids", self.file).and_then(Object::as_array) {
            for kid in kids {
                let kid = self.file.dereference(kid).and_then(|(_, o)| o.as_dict()).map_err(|_| "has broken names of attachments")?;
                self.walk(kid, depth + 1)?;
            }
        }
        let Ok(list) = tree.get_deref(b"Names", self.file).and_then(Object::as_array) else { return Ok(()) };
        for pair in list.as_chunks::<2>().0 {
            let [name, file] = pair;
            let name = lopdf::decode_text_string(name).map_err(|_| "has an attachment without a name")?;
            let broken = || format!("has an attachment {name} that cannot be taken out");
            let file = self.file.dereference(file).and_then(|(_, o)| o.as_dict()).map_err(|_| broken())?;
            let content = file.get_deref(b"EF", self.file).and_then(Object::as_dict);
            let content = content.and_then(|e| e.get_deref(b"F", self.file)).and_then(Object::as_stream).map_err(|_| broken())?;
            let packed = content.dict.get(b"Filter").is_ok();
            let mut bytes = Vec::new();
            match packed {
                true => flate2::read::ZlibDecoder::new(content.content.as_slice()).take(self.left + 1).read_to_end(&mut bytes),
                false => content.content.as_slice().take(self.left + 1).read_to_end(&mut bytes),
            }
            .map_err(|_| broken())?;
            self.left = self.left.checked_sub(bytes.len() as u64).ok_or("has more than 512 MiB of attachments")?;
            if self.files.insert(name.clone(), bytes).is_some() {
                return Err(format!("has two attachments called {name}"));
            }
        }
        Ok(())
    }
}
