//! What the words on the pages are: a tree of structure elements over them, in reading order.
//!
//! Elements are noted while nodes are laid out. Much is laid out more than once to find the better way, so only what is
//! drawn in the end is written: an element exists because words, a field or a link on a page belong to it.

use super::objects::{Id, Objects, Text};
use std::collections::BTreeMap;

/// Kinds of elements; the standard ones of PDF 1.7, so that no map of roles is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Document,
    /// A section with its heading.
    Sect,
    /// A box or an inset.
    Div,
    Heading(u8),
    P,
    /// A list with dots or boxes.
    L,
    /// The numbered rows of a procedure.
    Rows,
    LI,
    Lbl,
    LBody,
    Table,
    TR,
    TH,
    TD,
    Figure,
    Form,
    Link,
}

impl Kind {
    /// Its name in the file.
    pub(super) fn name(self) -> &'static str {
        match self {
            Kind::Document => "Document",
            Kind::Sect => "Sect",
            Kind::Div => "Div",
            Kind::Heading(1) => "H1",
            Kind::Heading(2) => "H2",
            Kind::Heading(_) => "H3",
            Kind::P => "P",
            Kind::L | Kind::Rows => "L",
            Kind::LI => "LI",
            Kind::Lbl => "Lbl",
            Kind::LBody => "LBody",
            Kind::Table => "Table",
            Kind::TR => "TR",
            Kind::TH => "TH",
            Kind::TD => "TD",
            Kind::Figure => "Figure",
            Kind::Form => "Form",
            Kind::Link => "Link",
        }
    }
}

/// The number of an element. [`Tag::NONE`] stands for what only decorates the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Tag(u32);

impl Tag {
    pub(super) const NONE: Tag = Tag(0);
    const DOCUMENT: Tag = Tag(1);

    fn at(self) -> usize {
        self.0 as usize
    }

    /// Its number in the document, where so many elements of other parts come before those of its own.
    pub(super) fn moved(self, by: u32) -> Tag {
        if self <= Tag::DOCUMENT { self } else { Tag(self.0 + by) }
    }
}

/// Every element noted so far.
#[derive(Debug)]
pub(super) struct Tags {
    list: Vec<(Kind, Tag)>,
    /// What a figure shows, in words.
    alternates: BTreeMap<u32, String>,
    /// The element that is being filled.
    current: Tag,
}

impl Tags {
    pub(super) fn new() -> Tags {
        Tags { list: vec![(Kind::Document, Tag::NONE), (Kind::Document, Tag::NONE)], alternates: BTreeMap::new(), current: Tag::DOCUMENT }
    }

    /// The element that words belong to now.
    pub(super) fn current(&self) -> Tag {
        self.current
    }

    /// Notes an element within the current one; within decoration all is decoration.
    pub(super) fn add(&mut self, kind: Kind) -> Tag {
        if self.current == Tag::NONE {
            return Tag::NONE;
        }
        self.list.push((kind, self.current));
        Tag(u32::try_from(self.list.len() - 1).unwrap_or(u32::MAX))
    }

    /// Notes an element and goes into it; gives the one to come back to.
    pub(super) fn open(&mut self, kind: Kind) -> Tag {
        let new = self.add(kind);
        self.enter(new)
    }

    /// Goes into an element; gives the one to come back to.
    pub(super) fn enter(&mut self, tag: Tag) -> Tag {
        std::mem::replace(&mut self.current, tag)
    }

    /// Takes in the elements of a part of the document; gives by how much their numbers grow.
    pub(super) fn append(&mut self, part: &Tags) -> u32 {
        let own = Tag::DOCUMENT.at() + 1;
        let by = u32::try_from(self.list.len() - own).unwrap_or(u32::MAX);
        self.list.extend(part.list[own..].iter().map(|(kind, parent)| (*kind, parent.moved(by))));
        self.alternates.extend(part.alternates.iter().map(|(tag, words)| (Tag(*tag).moved(by).0, words.clone())));
        by
    }

    /// Says in words what the current element shows.
    pub(super) fn describe(&mut self, words: String) {
        self.alternates.insert(self.current.0, words);
    }

    /// The name of an element in a page's stream.
    pub(super) fn name(&self, tag: Tag) -> &'static str {
        self.list.get(tag.at()).map_or("P", |(kind, _)| kind.name())
    }
}

/// Something on a page that belongs to an element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Belongs {
    /// Words or lines, by their number on the page.
    Content(usize),
    /// A field or link, and its key among the parents.
    Object(Id, usize),
}

#[derive(Clone, Copy)]
enum Kid {
    Element(Tag),
    Content(usize, usize),
    Object(usize, Id),
}

/// Writes the tree. `pages` holds for each page its number as an object and what belongs to which element, in reading order;
/// keys of fields and links run on from the number of pages to `keys`.
pub(super) fn write(tags: &Tags, pages: &[(Id, Vec<(Tag, Belongs)>)], keys: usize, out: &mut Objects) -> Id {
    let root = out.reserve();
    let mut ids: Vec<Option<Id>> = vec![None; tags.list.len()];
    let mut kids: Vec<Vec<Kid>> = vec![Vec::new(); tags.list.len()];
    for (page, (_, belongs)) in pages.iter().enumerate() {
        for (tag, what) in belongs {
            attach(tags, *tag, &mut ids, &mut kids, out);
            kids[tag.at()].push(match what {
                Belongs::Content(n) => Kid::Content(page, *n),
                Belongs::Object(id, _) => Kid::Object(page, *id),
            });
        }
    }
    attach(tags, Tag::DOCUMENT, &mut ids, &mut kids, out);
    for (at, id) in ids.iter().enumerate() {
        let Some(id) = id else { continue };
        let (kind, parent) = tags.list[at];
        let above = ids[parent.at()].filter(|_| parent != Tag::NONE).unwrap_or(root);
        out.put(*id, |t| {
            t.raw("<</S").name(kind.name()).raw("/P").to(above);
            t.raw(match kind {
                Kind::TH => "/A<</O/Table/Scope/Column>>",
                Kind::Rows => "/A<</O/List/ListNumbering/Decimal>>",
                _ => "",
            });
            if let Some(words) = u32::try_from(at).ok().and_then(|n| tags.alternates.get(&n)) {
                t.raw("/Alt").words(words);
            }
            children(&kids[at], pages, &ids, t);
            t.raw(">>");
        });
    }
    let parents = parents(pages, keys, &ids, out);
    out.put(root, |t| {
        t.raw("<</Type/StructTreeRoot/K[").to(ids[Tag::DOCUMENT.at()].unwrap_or(root));
        t.raw("]/ParentTree").to(parents).raw("/ParentTreeNextKey").int(keys).raw(">>");
    });
    root
}

/// Hangs an element into the tree where its first content stands, and those above it.
fn attach(tags: &Tags, tag: Tag, ids: &mut [Option<Id>], kids: &mut [Vec<Kid>], out: &mut Objects) {
    let mut tag = tag;
    while ids[tag.at()].is_none() {
        ids[tag.at()] = Some(out.reserve());
        let parent = tags.list[tag.at()].1;
        if parent == Tag::NONE {
            return;
        }
        kids[parent.at()].push(Kid::Element(tag));
        tag = parent;
    }
}

fn children(kids: &[Kid], pages: &[(Id, Vec<(Tag, Belongs)>)], ids: &[Option<Id>], t: &mut Text) {
    let home = kids.iter().find_map(|k| match k {
        Kid::Content(page, _) | Kid::Object(page, _) => Some(*page),
        Kid::Element(_) => None,
    });
    if let Some(page) = home {
        t.raw("/Pg").to(pages[page].0);
    }
    t.raw("/K[");
    for kid in kids {
        match kid {
            Kid::Element(tag) => {
                if let Some(id) = ids[tag.at()] {
                    t.to(id);
                }
            }
            Kid::Content(page, n) if Some(*page) == home => {
                t.int(*n);
            }
            Kid::Content(page, n) => {
                t.raw("<</Type/MCR/Pg").to(pages[*page].0).raw("/MCID").int(*n).raw(">>");
            }
            Kid::Object(page, id) => {
                t.raw("<</Type/OBJR/Obj").to(*id);
                if Some(*page) != home {
                    t.raw("/Pg").to(pages[*page].0);
                }
                t.raw(">>");
            }
        }
    }
    t.raw("]");
}

/// Keys in one leaf of the tree of parents.
const LEAF: usize = 128;

/// From each page's contents, fields and links back to their elements.
fn parents(pages: &[(Id, Vec<(Tag, Belongs)>)], keys: usize, ids: &[Option<Id>], out: &mut Objects) -> Id {
    let mut entries: Vec<(usize, Vec<Id>)> = Vec::with_capacity(keys);
    let mut objects: Vec<(usize, Id)> = Vec::new();
    for (page, (_, belongs)) in pages.iter().enumerate() {
        let mut own = Vec::new();
        for (tag, what) in belongs {
            let Some(id) = ids[tag.at()] else { continue };
            match what {
                Belongs::Content(n) => own.push((*n, id)),
                Belongs::Object(_, key) => objects.push((*key, id)),
            }
        }
        own.sort_unstable();
        entries.push((page, own.into_iter().map(|(_, id)| id).collect()));
    }
    objects.sort_unstable();
    let lone = entries.len();
    entries.extend(objects.into_iter().map(|(key, id)| (key, vec![id])));
    let mut leaves = Vec::new();
    for (n, leaf) in entries.chunks(LEAF).enumerate() {
        let (Some(first), Some(last)) = (leaf.first(), leaf.last()) else { continue };
        let id = out.add(|t| {
            t.raw("<</Limits[").int(first.0).int(last.0).raw("]/Nums[");
            for (i, (key, list)) in leaf.iter().enumerate() {
                t.int(*key);
                if n * LEAF + i < lone {
                    t.raw("[");
                }
                for id in list {
                    t.to(*id);
                }
                if n * LEAF + i < lone {
                    t.raw("]");
                }
            }
            t.raw("]>>");
        });
        leaves.push(id);
    }
    out.add(|t| {
        t.raw("<</Kids[");
        for leaf in leaves {
            t.to(leaf);
        }
        t.raw("]>>");
    })
}
