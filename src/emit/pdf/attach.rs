//! Files within the file: what the print was made from and what was made of it, so that it can be made again.

use super::objects::{Id, Objects, deflate};
use super::xmp::About;
use crate::emit::{Attachment, Relation};
use crate::error::Error;
use rayon::prelude::*;

/// What the catalog says about the attachments: where they are found by name, and that they belong to the document.
pub(super) struct Attached {
    /// The name tree.
    pub names: Id,
    /// Each file's specification, in order of the names.
    pub files: Vec<Id>,
}

/// An attachment with its bytes as they stand in the file.
pub(super) type Packed<'a> = (&'a Attachment, Vec<u8>);

/// Packs the attachments, in the order of their names.
pub(super) fn pack(attachments: &[Attachment]) -> Result<Vec<Packed<'_>>, Error> {
    let mut order: Vec<&Attachment> = attachments.iter().collect();
    // Readers look a name up by halves.
    order.sort_by(|a, b| a.name.cmp(&b.name));
    if let Some(twice) = order.windows(2).find(|w| w[0].name == w[1].name) {
        return Err(Error::Internal(format!("two attachments are called {}", twice[0].name)));
    }
    order.par_iter().map(|a| Ok((*a, deflate(&a.bytes)?))).collect()
}

/// Writes the attachments; none if there are none.
pub(super) fn write(attachments: Vec<Packed<'_>>, about: &About<'_>, out: &mut Objects) -> Option<Attached> {
    if attachments.is_empty() {
        return None;
    }
    let order: Vec<&Attachment> = attachments.iter().map(|(a, _)| *a).collect();
    let stamp = about.stamp();
    let mut files = Vec::with_capacity(order.len());
    for (attachment, packed) in attachments {
        let content = out.reserve();
        let kind = attachment.mime.replace('/', "#2F");
        let dictionary = format!(
            "/Type/EmbeddedFile/Subtype/{kind}/Params<</Size {}/CreationDate({stamp})/ModDate({stamp})>>/Filter/FlateDecode",
            attachment.bytes.len()
        );
        out.stream(content, &dictionary, packed);
        let relation = match attachment.relation {
            Relation::Source => "/Source",
            Relation::Data => "/Data",
        };
        files.push(out.add(|t| {
            t.raw("<</Type/Filespec/F").words(&attachment.name).raw("/UF").words(&attachment.name);
            t.raw("/Desc").words(&attachment.about).raw("/AFRelationship").raw(relation);
            t.raw("/EF<</F").to(content).raw("/UF").to(content).raw(">>>>");
        }));
    }
    let names = out.add(|t| {
        t.raw("<</Names[");
        for (attachment, file) in order.iter().zip(&files) {
            t.words(&attachment.name).to(*file);
        }
        t.raw("]>>");
    });
    Some(Attached { names, files })
}
