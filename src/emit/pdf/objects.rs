//! Numbered objects to the bytes of a file: packed into compressed object streams, found through a cross-reference stream.
//!
//! Objects are written down as text once, into one buffer. A tree of them, as a PDF library keeps it, costs a work
//! instruction of a thousand steps more memory than all its pages and more time than its layout.

use super::content::{numbers, whole};
use crate::error::Error;
use flate2::{Compress, Compression, FlushCompress, Status};
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::cell::RefCell;
use std::fmt::Write as _;
use std::ops::Range;

/// The number of an object.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Id(u32);

impl Id {
    /// As a plain number.
    pub(super) fn number(self) -> u32 {
        self.0
    }
}

/// Objects in one object stream: few enough that a reader who wants one does not unpack the whole file.
const PACKED: usize = 200;

thread_local! {
    /// At the level that pays: at 6 a print of 50 steps takes 4 % longer and is 4 % smaller, at 9 the time doubles for nothing.
    /// The tables are greater than most streams, and are set up once a thread.
    static DEFLATER: RefCell<Compress> = RefCell::new(Compress::new(Compression::new(4), true));
}

/// Compresses a stream.
pub(super) fn deflate(bytes: &[u8]) -> Result<Vec<u8>, Error> {
    DEFLATER.with_borrow_mut(|deflater| {
        deflater.reset();
        let mut out = Vec::with_capacity(bytes.len() / 4 + 256);
        loop {
            let rest = usize::try_from(deflater.total_in()).ok().and_then(|at| bytes.get(at..)).unwrap_or_default();
            let status = deflater.compress_vec(rest, &mut out, FlushCompress::Finish);
            match status.map_err(|e| Error::Internal(format!("a page could not be compressed: {e}")))? {
                Status::StreamEnd => return Ok(out),
                Status::Ok | Status::BufError => out.reserve(out.capacity()),
            }
        }
    })
}

/// Where an object is written down.
enum Place {
    /// Nowhere yet.
    Open,
    /// Into the pool.
    Pool(Range<usize>),
    /// Into the streams.
    Stream(usize),
}

/// Text of objects. Everything is written as ASCII; what is not stands as hexadecimal digits.
#[derive(Debug, Default)]
pub(super) struct Text(String);

impl Text {
    pub(super) fn into_string(self) -> String {
        self.0
    }
    /// Writes as it stands.
    pub(super) fn raw(&mut self, words: &str) -> &mut Text {
        self.0.push_str(words);
        self
    }
    /// A whole number, with a space in front.
    pub(super) fn int(&mut self, value: usize) -> &mut Text {
        self.0.push(' ');
        whole(&mut self.0, value as u64);
        self
    }
    /// A reference.
    pub(super) fn to(&mut self, id: Id) -> &mut Text {
        self.0.push(' ');
        whole(&mut self.0, u64::from(id.0));
        self.0.push_str(" 0 R");
        self
    }
    /// Lengths in points, to a hundredth.
    pub(super) fn lengths<const N: usize>(&mut self, values: [f32; N]) -> &mut Text {
        numbers(&mut self.0, values, "");
        self.0.truncate(self.0.trim_end().len());
        self
    }
    /// Words for people.
    pub(super) fn words(&mut self, words: &str) -> &mut Text {
        if words.bytes().all(|b| matches!(b, b' '..=b'~')) {
            self.0.push('(');
            for c in words.chars() {
                if matches!(c, '(' | ')' | '\\') {
                    self.0.push('\\');
                }
                self.0.push(c);
            }
            self.0.push(')');
        } else {
            self.0.push_str("<FEFF");
            for unit in words.encode_utf16() {
                let _ = write!(self.0, "{unit:04X}");
            }
            self.0.push('>');
        }
        self
    }
    /// A name.
    pub(super) fn name(&mut self, name: &str) -> &mut Text {
        self.0.push('/');
        for b in name.bytes() {
            match b {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'+' | b'.' => self.0.push(char::from(b)),
                _ => drop(write!(self.0, "#{b:02X}")),
            }
        }
        self
    }
}

/// A file in the making.
#[derive(Default)]
pub(super) struct Objects {
    places: Vec<Place>,
    pool: Text,
    /// Each stream: its dictionary without the length, and its bytes as they stand in the file.
    streams: Vec<(String, Vec<u8>)>,
}

impl Objects {
    /// The number of an object that is written later.
    pub(super) fn reserve(&mut self) -> Id {
        self.places.push(Place::Open);
        Id(u32::try_from(self.places.len()).unwrap_or(u32::MAX))
    }

    fn place(&mut self, id: Id, place: Place) {
        if let Some(slot) = usize::try_from(id.0).ok().and_then(|n| self.places.get_mut(n - 1)) {
            *slot = place;
        }
    }

    /// Writes an object under its number.
    pub(super) fn put(&mut self, id: Id, write: impl FnOnce(&mut Text)) {
        let start = self.pool.0.len();
        write(&mut self.pool);
        let end = self.pool.0.len();
        self.place(id, Place::Pool(start..end));
    }

    /// Writes an object under the next number.
    pub(super) fn add(&mut self, write: impl FnOnce(&mut Text)) -> Id {
        let id = self.reserve();
        self.put(id, write);
        id
    }

    /// Writes a stream: what stands in its dictionary beside its length, and its bytes.
    pub(super) fn stream(&mut self, id: Id, dictionary: &str, bytes: Vec<u8>) {
        let place = Place::Stream(self.streams.len());
        self.streams.push((dictionary.to_owned(), bytes));
        self.place(id, place);
    }

    /// A digest of all that was written so far.
    pub(super) fn digest(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        hash.update(self.pool.0.as_bytes());
        for (dictionary, bytes) in &self.streams {
            hash.update(dictionary.as_bytes());
            hash.update(bytes);
        }
        hash.finalize().into()
    }

    /// The finished file.
    pub(super) fn finish(mut self, root: Id, info: Id, id: &[u8]) -> Result<Vec<u8>, Error> {
        let in_pool: Vec<(u32, Range<usize>)> = (1_u32..)
            .zip(&self.places)
            .filter_map(|(n, place)| match place {
                Place::Pool(range) => Some((n, range.clone())),
                _ => None,
            })
            .collect();
        let packs = in_pool.par_chunks(PACKED).map(|chunk| pack(chunk, &self.pool.0)).collect::<Result<Vec<_>, Error>>()?;
        self.pool.0 = String::new();
        // Kind of entry, offset or number of the object stream, index in it.
        let mut entries: Vec<(u8, u32, u16)> = vec![(0, 0, u16::MAX); self.places.len() + 1];
        let length: usize = packs.iter().map(|(_, p)| p.len()).sum::<usize>() + self.streams.iter().map(|(_, b)| b.len()).sum::<usize>();
        let mut out = Vec::with_capacity(length + (64 << 10));
        out.extend_from_slice(b"%PDF-1.7\n%\xE2\xE3\xCF\xD3\n");
        for (n, place) in (1_u32..).zip(&self.places) {
            match place {
                Place::Stream(at) => {
                    entries[n as usize] = (1, offset(&out)?, 0);
                    let (dictionary, bytes) = &self.streams[*at];
                    stream(&mut out, n, dictionary, bytes);
                }
                Place::Pool(_) => {}
                Place::Open => return Err(Error::Internal(format!("object {n} of the PDF was never written"))),
            }
        }
        let mut next = u32::try_from(self.places.len() + 1).map_err(|_| Error::Internal("the PDF has too many objects".to_owned()))?;
        for ((dictionary, bytes), chunk) in packs.iter().zip(in_pool.chunks(PACKED)) {
            for (index, (n, _)) in (0_u16..).zip(chunk) {
                entries[*n as usize] = (2, next, index);
            }
            entries.push((1, offset(&out)?, 0));
            stream(&mut out, next, dictionary, bytes);
            next += 1;
        }
        let start = offset(&out)?;
        entries.push((1, start, 0));
        let table = deflate(&table(&entries))?;
        let mut dictionary = Text::default();
        dictionary.raw("/Type/XRef/W[1 4 2]/Filter/FlateDecode/DecodeParms<</Predictor 12/Columns 7>>/Size").int(entries.len());
        dictionary.raw("/Root").to(root).raw("/Info").to(info).raw("/ID[");
        for _ in 0..2 {
            let hex: String = id.iter().map(|b| format!("{b:02X}")).collect();
            dictionary.raw("<").raw(&hex).raw(">");
        }
        dictionary.raw("]");
        stream(&mut out, next, &dictionary.0, &table);
        out.extend_from_slice(format!("startxref\n{start}\n%%EOF\n").as_bytes());
        Ok(out)
    }
}

fn offset(out: &[u8]) -> Result<u32, Error> {
    u32::try_from(out.len()).map_err(|_| Error::Internal("the PDF is longer than 4 GiB".to_owned()))
}

fn stream(out: &mut Vec<u8>, n: u32, dictionary: &str, bytes: &[u8]) {
    out.extend_from_slice(format!("{n} 0 obj\n<<{dictionary}/Length {}>>\nstream\n", bytes.len()).as_bytes());
    out.extend_from_slice(bytes);
    out.extend_from_slice(b"\nendstream\nendobj\n");
}

/// Objects in one compressed stream: dictionary and bytes.
fn pack(objects: &[(u32, Range<usize>)], pool: &str) -> Result<(String, Vec<u8>), Error> {
    let mut head = String::new();
    let mut body = String::new();
    for (n, range) in objects {
        let _ = write!(head, "{n} {} ", body.len());
        body.push_str(&pool[range.clone()]);
        body.push('\n');
    }
    let first = head.len();
    head.push_str(&body);
    Ok((format!("/Type/ObjStm/N {}/First {first}/Filter/FlateDecode", objects.len()), deflate(head.as_bytes())?))
}

/// The cross-reference table, each row as the difference from the one above it: so it packs to almost nothing.
fn table(entries: &[(u8, u32, u16)]) -> Vec<u8> {
    let mut out = Vec::with_capacity(entries.len() * 8);
    let mut above = [0_u8; 7];
    for (kind, place, index) in entries {
        let [a, b, c, d] = place.to_be_bytes();
        let [e, f] = index.to_be_bytes();
        let row = [*kind, a, b, c, d, e, f];
        out.push(2);
        out.extend(row.iter().zip(above).map(|(new, old)| new.wrapping_sub(old)));
        above = row;
    }
    out
}
