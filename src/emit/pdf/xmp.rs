//! Who the file is: the information dictionary and the same as XMP, from one value, so that they cannot differ.

use super::objects::{Id, Objects};
use std::fmt::Write as _;

/// What made the file.
const PRODUCER: &str = concat!("surehand ", env!("CARGO_PKG_VERSION"));

/// What the file says about itself.
pub(super) struct About<'a> {
    pub title: &'a str,
    /// Document number and revision.
    pub subject: &'a str,
    pub date: (u16, u8, u8),
    /// The tag of its language.
    pub language: &'a str,
}

impl About<'_> {
    /// The date as a PDF writes it.
    pub(super) fn stamp(&self) -> String {
        let (year, month, day) = self.date;
        format!("D:{year:04}{month:02}{day:02}000000Z")
    }

    /// Writes the information dictionary.
    pub(super) fn info(&self, out: &mut Objects) -> Id {
        let stamp = self.stamp();
        out.add(|t| {
            t.raw("<</Title").words(self.title).raw("/Subject").words(self.subject).raw("/Producer").words(PRODUCER);
            t.raw("/CreationDate").words(&stamp).raw("/ModDate").words(&stamp).raw(">>");
        })
    }

    /// Writes the metadata stream, uncompressed as other programs look for it. `id` is the digest of the content.
    pub(super) fn metadata(&self, id: &[u8], out: &mut Objects) -> Id {
        let (year, month, day) = self.date;
        let date = format!("{year:04}-{month:02}-{day:02}T00:00:00Z");
        let (title, subject, producer) = (escaped(self.title), escaped(self.subject), escaped(PRODUCER));
        let language = self.language;
        let mut hex = String::new();
        for (i, byte) in id.iter().take(16).enumerate() {
            if matches!(i, 4 | 6 | 8 | 10) {
                hex.push('-');
            }
            let _ = write!(hex, "{byte:02x}");
        }
        let text = format!(
            "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
             <x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
             <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" \
             xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:xmpMM=\"http://ns.adobe.com/xap/1.0/mm/\">\n\
             <dc:format>application/pdf</dc:format>\n\
             <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\n\
             <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{subject}</rdf:li></rdf:Alt></dc:description>\n\
             <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>\n\
             <pdf:Producer>{producer}</pdf:Producer>\n\
             <xmp:CreateDate>{date}</xmp:CreateDate>\n<xmp:ModifyDate>{date}</xmp:ModifyDate>\n<xmp:MetadataDate>{date}</xmp:MetadataDate>\n\
             <xmpMM:DocumentID>uuid:{hex}</xmpMM:DocumentID>\n\
             </rdf:Description>\n</rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>"
        );
        let object = out.reserve();
        out.stream(object, "/Type/Metadata/Subtype/XML", text.into_bytes());
        object
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
