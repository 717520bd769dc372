//! Places to fill in: a text field over each blank, a check box over each box to tick.
//!
//! An empty field shows nothing, so the page looks as it is printed. Boxes share their two appearances; a blank has none until
//! it is filled in, since programs that fill one in write over the appearance they find, and with it over all that share it. Names come
//! from the ids of the items, so that a value found in a filled form is known by its step.

use super::objects::{Id, Objects};
use super::setter::Setter;
use crate::error::Error;
use crate::words::{Words, ids};
use std::collections::BTreeMap;

/// A place to fill in, before it stands on a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Entry {
    /// Its name, such as `s12.actual`: by number among the ids of the print.
    pub name: u32,
    /// What it is for, in words: by number among the ids of the print.
    pub words: u32,
    /// A box to tick rather than a blank.
    pub tick: bool,
}

/// An entry as it stands on a page.
#[derive(Debug, Clone, Copy)]
pub(super) struct Widget {
    pub id: Id,
    pub entry: Entry,
    /// Left, bottom, right, top.
    pub area: [f32; 4],
    /// Its key among the parents.
    pub key: usize,
}

/// Size of what is typed into a blank, in points.
const TYPED: f32 = 10.0;

/// Writes all fields, each under a name of its own; gives the number of the form. None if there is no field.
pub(super) fn write(widgets: &[Widget], setter: &Setter, out: &mut Objects) -> Result<Option<Id>, Error> {
    if widgets.is_empty() {
        return Ok(None);
    }
    let nothing = out.reserve();
    out.stream(nothing, "/Type/XObject/Subtype/Form/BBox[0 0 10 10]", Vec::new());
    let cross = out.reserve();
    let strokes = b"1.3 w 1.6 1.6 m 8.4 8.4 l 1.6 8.4 m 8.4 1.6 l S";
    out.stream(cross, "/Type/XObject/Subtype/Form/BBox[0 0 10 10]", strokes.to_vec());
    let font = out.add(|t| {
        t.raw("<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding>>");
    });
    let mut tree = Node::default();
    let mut seen: BTreeMap<u32, usize> = BTreeMap::new();
    for widget in widgets {
        let times = seen.entry(widget.entry.name).or_default();
        *times += 1;
        let name = setter.fields.get(widget.entry.name as usize).map_or("", String::as_str);
        // The second blank of one name in one item.
        let name = if *times > 1 { format!("{name}-{times}") } else { name.to_owned() };
        tree.put(&name, widget);
    }
    let fields = tree.write(None, setter, [nothing, cross], out);
    Ok(Some(out.add(|t| {
        t.raw("<</Fields[");
        for field in fields {
            t.to(field);
        }
        t.raw("]/DA(/Helv ").lengths([TYPED]).raw(" Tf 0 g)/DR<</Font<</Helv").to(font).raw(">>>>>>");
    })))
}

/// Fields by the parts of their names: `s12.actual` stands below `s12`.
#[derive(Default)]
struct Node<'w> {
    /// In order of appearance.
    below: Vec<(String, Node<'w>)>,
    by_name: BTreeMap<String, usize>,
    widget: Option<&'w Widget>,
}

impl<'w> Node<'w> {
    fn put(&mut self, name: &str, widget: &'w Widget) {
        let (first, rest) = name.split_once('.').map_or((name, None), |(a, b)| (a, Some(b)));
        let next = self.below.len();
        let at = *self.by_name.entry(first.to_owned()).or_insert(next);
        if at == next {
            self.below.push((first.to_owned(), Node::default()));
        }
        match rest {
            Some(rest) => self.below[at].1.put(rest, widget),
            None => self.below[at].1.widget = Some(widget),
        }
    }

    /// Writes the fields below; gives their numbers.
    fn write(&self, above: Option<Id>, setter: &Setter, [nothing, cross]: [Id; 2], out: &mut Objects) -> Vec<Id> {
        let mut ids = Vec::with_capacity(self.below.len());
        for (name, node) in &self.below {
            if let Some(widget) = node.widget {
                let words = setter.fields.get(widget.entry.words as usize).map_or("", String::as_str);
                out.put(widget.id, |t| {
                    t.raw("<</Type/Annot/Subtype/Widget/F 4/FT").raw(if widget.entry.tick { "/Btn/V/Off/AS/Off" } else { "/Tx" });
                    t.raw("/T").words(name).raw("/TU").words(words).raw("/Rect[").lengths(widget.area).raw("]");
                    if widget.entry.tick {
                        t.raw("/AP<</N<</Yes").to(cross).raw("/Off").to(nothing).raw(">>>>");
                    }
                    t.raw("/StructParent").int(widget.key);
                    if let Some(above) = above {
                        t.raw("/Parent").to(above);
                    }
                    t.raw(">>");
                });
                ids.push(widget.id);
            }
            if !node.below.is_empty() {
                let id = out.reserve();
                let kids = node.write(Some(id), setter, [nothing, cross], out);
                out.put(id, |t| {
                    t.raw("<</T").words(name).raw("/Kids[");
                    for kid in kids {
                        t.to(kid);
                    }
                    t.raw("]");
                    if let Some(above) = above {
                        t.raw("/Parent").to(above);
                    }
                    t.raw(">>");
                });
                ids.push(id);
            }
        }
        ids
    }
}

/// The item that a value's id belongs to, as far as a box beside it goes: `s2.j1.joint` is of `s2.j1`.
pub(super) fn owner(id: &str) -> &str {
    match id.rsplit_once('.') {
        Some((owner, last)) if last == "number" || owner.contains('.') => owner,
        _ => id,
    }
}

/// An item in words: `s12` is "Step 12".
pub(super) fn spoken(item: &str, words: &Words) -> String {
    match item.strip_prefix('s').filter(|n| n.starts_with(|c: char| c.is_ascii_digit() || c == 'C')) {
        Some(number) => words.fill(ids::STEP_HEAD, [number]),
        None => match item {
            "front" => words.say(ids::PAGE_FRONT).to_owned(),
            "start" => words.say(ids::PAGE_START).to_owned(),
            "power" => words.say(ids::PAGE_POWER).to_owned(),
            "record" => words.say(ids::PAGE_RECORD).to_owned(),
            "review" => words.say(ids::PAGE_REVIEW).to_owned(),
            "package" => words.say(ids::PAGE_PACKAGE).to_owned(),
            _ => String::new(),
        },
    }
}
