//! Changes to a finished PDF.

use super::{Change, Dice, Made};
use lopdf::content::{Content, Operation};
use lopdf::{Document, Object, ObjectId, Stream, StringFormat, dictionary};
use std::collections::BTreeMap;

/// How often each kind is tried on one file.
const TIMES: usize = 8;

/// A value's words on a page: where its marked content opens, which operation shows it, and what it shows.
#[derive(Clone, Debug)]
pub(super) struct Shown {
    pub(super) page: usize,
    pub(super) open: usize,
    pub(super) show: usize,
    pub(super) id: String,
    font: String,
    size: f32,
    at: (f32, f32),
    text: String,
}

pub(super) struct Paper {
    file: Document,
    pub(super) pages: Vec<(ObjectId, Vec<Operation>)>,
    pub(super) shown: Vec<Shown>,
    /// Glyph of each character, by font.
    glyphs: BTreeMap<String, BTreeMap<char, u16>>,
}

impl Paper {
    pub(super) fn open(bytes: &[u8]) -> Paper {
        let file = Document::load_mem(bytes).expect("opens");
        let ids: Vec<ObjectId> = file.get_pages().into_values().collect();
        let pages: Vec<_> = ids.iter().map(|id| (*id, Content::decode(&file.get_page_content(*id)).expect("decodes").operations)).collect();
        let mut glyphs: BTreeMap<String, BTreeMap<char, u16>> = BTreeMap::new();
        for (name, font) in file.get_page_fonts(ids[0]).expect("fonts") {
            let encoding = font.get_font_encoding(&file).expect("a map");
            let map = glyphs.entry(String::from_utf8(name).expect("a name")).or_default();
            for glyph in 1_u16..400 {
                let text = Document::decode_text(&encoding, &glyph.to_be_bytes()).unwrap_or_default();
                if let Some(c) = text.chars().next() {
                    map.entry(c).or_insert(glyph);
                }
            }
        }
        let mut paper = Paper { file, pages, shown: Vec::new(), glyphs };
        paper.shown = paper.find();
        paper
    }

    fn find(&self) -> Vec<Shown> {
        let mut out = Vec::new();
        for (page, (_, ops)) in self.pages.iter().enumerate() {
            let (mut id, mut open, mut font, mut size, mut at) = (None, 0, String::new(), 0.0, (0.0, 0.0));
            for (i, op) in ops.iter().enumerate() {
                match op.operator.as_str() {
                    "Tf" => {
                        font = String::from_utf8(op.operands[0].as_name().expect("a name").to_vec()).expect("text");
                        size = op.operands[1].as_float().expect("a size");
                    }
                    "Tm" => at = (op.operands[4].as_float().expect("x"), op.operands[5].as_float().expect("y")),
                    "DP" => {
                        if let Ok(d) = op.operands[1].as_dict()
                            && let Ok(value) = d.get(b"Id").and_then(Object::as_str)
                        {
                            (id, open) = (Some(String::from_utf8_lossy(value).into_owned()), i);
                        }
                    }
                    "TJ" => {
                        if let Some(id) = id.take() {
                            let text = self.text(&font, &op.operands[0]);
                            out.push(Shown { page, open, show: i, id, font: font.clone(), size, at, text });
                        }
                    }
                    _ => {}
                }
            }
        }
        out
    }

    pub(super) fn text(&self, font: &str, list: &Object) -> String {
        let back: BTreeMap<u16, char> = self.glyphs[font].iter().map(|(c, g)| (*g, *c)).collect();
        let strings = list.as_array().expect("a list").iter().filter_map(|o| o.as_str().ok());
        strings
            .flat_map(|s| {
                s.as_chunks::<2>().0.iter().map(|b| back.get(&u16::from_be_bytes(*b)).copied().unwrap_or('?')).collect::<Vec<_>>()
            })
            .collect()
    }

    /// The file with the operations of some pages replaced.
    pub(super) fn with(&self, edit: impl FnOnce(&mut Vec<(ObjectId, Vec<Operation>)>)) -> Vec<u8> {
        let mut pages = self.pages.clone();
        edit(&mut pages);
        let mut file = self.file.clone();
        for ((id, ops), (_, old)) in pages.iter().zip(&self.pages) {
            if ops.len() != old.len() || ops.iter().zip(old).any(|(a, b)| a.operator != b.operator || a.operands != b.operands) {
                let bytes = Content { operations: ops.clone() }.encode().expect("encodes");
                file.change_page_content(*id, bytes).expect("takes");
            }
        }
        save(file)
    }

    fn with_file(&self, edit: impl FnOnce(&mut Document)) -> Vec<u8> {
        let mut file = self.file.clone();
        edit(&mut file);
        save(file)
    }
}

fn save(mut file: Document) -> Vec<u8> {
    let mut out = Vec::new();
    file.save_to(&mut out).expect("saves");
    out
}

fn op(operator: &str, operands: Vec<Object>) -> Operation {
    Operation::new(operator, operands)
}

fn reals(list: &[f32]) -> Vec<Object> {
    list.iter().map(|n| Object::Real(*n)).collect()
}

fn width(s: &Shown) -> f32 {
    s.text.chars().count() as f32 * s.size * 0.5
}

/// Changes of one run among the values of steps.
type Edit = fn(&Paper, &Shown, &mut Vec<Operation>, &mut Dice);

const RUNS: [(&str, Edit); 20] = [
    ("a run dropped", |_, s, ops, _| drop(ops.drain(s.open..=s.show))),
    ("a run moved off the sheet", |_, s, ops, d| {
        let tm = (0..s.show).rev().find(|i| ops[*i].operator == "Tm").expect("a place");
        ops[tm].operands[4] = Object::Real(if d.upto(2) == 0 { 900.0 } else { -300.0 });
    }),
    ("a run moved along or across the sheet", |_, s, ops, d| {
        let tm = (0..s.show).rev().find(|i| ops[*i].operator == "Tm").expect("a place");
        let by = 30.0 + d.upto(120) as f32;
        let place = 4 + d.upto(2);
        let old = ops[tm].operands[place].as_float().expect("a number");
        ops[tm].operands[place] = Object::Real(if old > 300.0 { old - by } else { old + by });
    }),
    ("a run made white", |_, s, ops, _| {
        ops.insert(s.show + 1, op("g", reals(&[0.0])));
        ops.insert(s.show, op("g", reals(&[1.0])));
    }),
    ("a run made red", |_, s, ops, _| ops.insert(s.show, op("rg", reals(&[1.0, 0.9, 0.9])))),
    ("a run not painted", |_, s, ops, _| {
        ops.insert(s.show + 1, op("Tr", vec![Object::Integer(0)]));
        ops.insert(s.show, op("Tr", vec![Object::Integer(3)]));
    }),
    ("a run of no size", |_, s, ops, _| ops.insert(s.show, op("Tf", vec![s.font.as_str().into(), Object::Real(0.0)]))),
    ("a run of tiny size", |_, s, ops, _| ops.insert(s.show, op("Tf", vec![s.font.as_str().into(), Object::Real(0.4)]))),
    ("a run squeezed", |_, s, ops, _| {
        let tm = (0..s.show).rev().find(|i| ops[*i].operator == "Tm").expect("a place");
        ops[tm].operands[0] = Object::Real(0.01);
    }),
    ("a run mirrored", |_, s, ops, _| {
        let tm = (0..s.show).rev().find(|i| ops[*i].operator == "Tm").expect("a place");
        ops[tm].operands[0] = Object::Real(-1.0);
    }),
    ("letters scaled away", |_, s, ops, _| ops.insert(s.show, op("Tz", vec![Object::Integer(1)]))),
    ("words clipped", |_, s, ops, _| {
        let bt = ops[..s.show].iter().position(|o| o.operator == "BT").expect("text");
        for (i, o) in [op("re", reals(&[0.0, 0.0, 10.0, 10.0])), op("W", vec![]), op("n", vec![])].into_iter().enumerate() {
            ops.insert(bt + i, o);
        }
    }),
    ("a white area over a run", |_, s, ops, _| {
        ops.push(op("g", reals(&[1.0])));
        ops.push(op("re", reals(&[s.at.0 - 1.0, s.at.1 - 3.0, width(s) + 4.0, s.size])));
        ops.push(op("f", vec![]));
    }),
    ("a black area under a run", |_, s, ops, _| {
        let bt = ops[..s.show].iter().position(|o| o.operator == "BT").expect("text");
        ops.insert(bt, op("f", vec![]));
        ops.insert(bt, op("re", reals(&[s.at.0 - 1.0, s.at.1 - 3.0, width(s) + 4.0, s.size])));
    }),
    ("a line through a run", |_, s, ops, _| {
        let bt = ops[..s.show].iter().position(|o| o.operator == "BT").expect("text");
        let y = s.at.1 + 0.25 * s.size;
        for o in [op("S", vec![]), op("l", reals(&[s.at.0 + width(s), y])), op("m", reals(&[s.at.0, y])), op("w", reals(&[1.0]))] {
            ops.insert(bt, o);
        }
    }),
    ("other words over a run", |p, s, ops, _| {
        let digit = p.glyphs[&s.font][&'8'].to_be_bytes();
        let words = Object::Array(vec![Object::String([digit, digit].concat(), StringFormat::Hexadecimal)]);
        let at = op("Tm", reals(&[1.0, 0.0, 0.0, 1.0, s.at.0 + 1.0, s.at.1]));
        ops.insert(s.show + 1, op("TJ", vec![words]));
        ops.insert(s.show + 1, at);
    }),
    ("a digit of no value behind a run", |p, s, ops, _| {
        let digit = p.glyphs[&s.font][&'8'].to_be_bytes();
        let words = Object::Array(vec![Object::String(digit.to_vec(), StringFormat::Hexadecimal)]);
        let at = op("Tm", reals(&[1.0, 0.0, 0.0, 1.0, s.at.0 + width(s), s.at.1]));
        ops.insert(s.show + 1, op("TJ", vec![words]));
        ops.insert(s.show + 1, at);
    }),
    ("letters pushed over each other", |_, s, ops, _| {
        let Object::Array(list) = &mut ops[s.show].operands[0] else { panic!("a list") };
        list.insert(0, Object::Integer(4000));
    }),
    ("a layer that can be switched off", |_, s, ops, _| {
        ops.insert(s.show + 1, op("EMC", vec![]));
        ops.insert(s.show, op("BDC", vec!["OC".into(), "Layer".into()]));
    }),
    ("a run read as other words", |_, s, ops, _| {
        ops.insert(s.show + 1, op("EMC", vec![]));
        let text = Object::String(
            [&[0xFE, 0xFF][..], &"+99.0 deg".encode_utf16().flat_map(u16::to_be_bytes).collect::<Vec<_>>()].concat(),
            StringFormat::Hexadecimal,
        );
        ops.insert(s.show, op("BDC", vec!["Span".into(), Object::Dictionary(dictionary! { "ActualText" => text })]));
    }),
];

pub(super) fn changes(made: &Made, dice: &mut Dice) -> Vec<Change> {
    let paper = Paper::open(&made.files["pdf"]);
    // The file taken apart and put together again passes: what is refused below is refused for its change.
    let again = paper.with_file(|file| {
        for (id, ops) in &paper.pages {
            file.change_page_content(*id, Content { operations: ops.clone() }.encode().expect("encodes")).expect("takes");
        }
    });
    super::check("pdf", &again, &made.items).unwrap_or_else(|e| panic!("{}: {e}", made.name));
    let mut out = Vec::new();
    let name = |s: &Shown| s.id.rsplit('.').next().unwrap_or("").trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    let checked = ["joint", "direction", "target", "low", "high", "limit", "from", "past"];
    let steps: Vec<Shown> = paper
        .shown
        .iter()
        .filter(|s| s.id.starts_with('s') && !s.id.starts_with("st") && checked.contains(&name(s).as_str()))
        .cloned()
        .collect();
    let numbers: Vec<Shown> = steps.iter().filter(|s| s.text.contains(|c: char| c.is_ascii_digit())).cloned().collect();
    // A digit of a number, a sign turned.
    for (kind, times) in [("a digit changed", 5 * TIMES), ("a sign turned", 3 * TIMES)] {
        for _ in 0..times {
            let s = dice.one(&numbers).clone();
            let map = &paper.glyphs[&s.font];
            let back: BTreeMap<u16, char> = map.iter().map(|(c, g)| (*g, *c)).collect();
            let roll = dice.upto(9);
            let mut done = false;
            let bytes = paper.with(|pages| {
                let Object::Array(list) = &mut pages[s.page].1[s.show].operands[0] else { panic!("a list") };
                for object in list {
                    let Object::String(bytes, _) = object else { continue };
                    for pair in bytes.as_chunks_mut::<2>().0 {
                        let c = back.get(&u16::from_be_bytes(*pair)).copied().unwrap_or('?');
                        let new = match (kind, c) {
                            ("a sign turned", '+') => map.get(&'-'),
                            ("a sign turned", '-') => map.get(&'+'),
                            ("a digit changed", '0'..='9') => {
                                map.get(&char::from(b'0' + (c as u8 - b'0' + 1 + u8::try_from(roll).unwrap_or(0) % 9) % 10))
                            }
                            _ => None,
                        };
                        if let (false, Some(new)) = (done, new) {
                            *pair = new.to_be_bytes();
                            done = true;
                        }
                    }
                }
            });
            if done {
                out.push(Change { kind, bytes, names: s.id });
            }
        }
    }
    // Two values exchanged: words alone, words with their ids, ids alone, places alone.
    for _ in 0..3 * TIMES {
        let a = dice.one(&steps).clone();
        let others: Vec<&Shown> = steps.iter().filter(|b| b.font == a.font && b.text != a.text).collect();
        let b = (*dice.one(&others)).clone();
        let bytes = paper.with(|pages| {
            let (x, y) = (pages[a.page].1[a.show].operands.clone(), pages[b.page].1[b.show].operands.clone());
            (pages[a.page].1[a.show].operands, pages[b.page].1[b.show].operands) = (y, x);
        });
        out.push(Change { kind: "two values exchanged", bytes, names: String::new() });
        let bytes = paper.with(|pages| {
            let (x, y) = (pages[a.page].1[a.open].operands.clone(), pages[b.page].1[b.open].operands.clone());
            (pages[a.page].1[a.open].operands, pages[b.page].1[b.open].operands) = (y, x);
        });
        out.push(Change { kind: "two ids exchanged", bytes, names: String::new() });
    }
    let pairs: Vec<(Shown, Shown)> =
        [("low", "high"), ("target", "from1"), ("a.joint", "b.joint"), ("a.target", "b.target"), ("target", "low")]
            .iter()
            .flat_map(|(x, y)| {
                let of = |s: &Shown, n: &str| s.id.strip_suffix(n).filter(|g| g.ends_with('.')).map(str::to_owned);
                let (shown, all) = (&steps, &steps);
                shown
                    .iter()
                    .filter_map(move |a| {
                        let group = of(a, x)?;
                        let b = all.iter().find(|b| b.id == format!("{group}{y}") && b.page == a.page && b.text != a.text)?;
                        Some((a.clone(), b.clone()))
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
    for _ in 0..6 * TIMES {
        let (a, b) = dice.one(&pairs).clone();
        let bytes = paper.with(|pages| {
            let ops = &mut pages[a.page].1;
            ops.swap(a.show, b.show);
            ops.swap(a.open, b.open);
        });
        out.push(Change { kind: "two values of a step exchanged with their ids", bytes, names: String::new() });
        let bytes = paper.with(|pages| {
            let ops = &mut pages[a.page].1;
            let place = |ops: &[Operation], at: usize| (0..at).rev().find(|i| ops[*i].operator == "Tm").expect("a place");
            let (x, y) = (place(ops, a.show), place(ops, b.show));
            ops.swap(x, y);
        });
        out.push(Change { kind: "two values of a step exchanged by their places", bytes, names: String::new() });
    }
    // What cannot be read, behind words that were: a reader that stops there, or goes on behind it, sees less than the paper shows.
    let unread: [&[u8]; 12] = [
        b"(not closed",
        b"<12zz> 0 g",
        b"<0001",
        b"[<0001>",
        b"<</Id (a)/Id (b)>> 0 g",
        b"<</Id>> 0 g",
        b"1.2.3 g",
        b"--1 g",
        b") 0 g",
        b"{ 0 g }",
        b"/A#zz gs",
        b"0 g 1",
    ];
    for bytes in unread {
        let s = dice.one(&steps).clone();
        let (id, ops) = &paper.pages[s.page];
        let content = [&Content { operations: ops.clone() }.encode().expect("encodes"), bytes].join(&b'\n');
        let bytes = paper.with_file(|file| file.change_page_content(*id, content).expect("takes"));
        out.push(Change { kind: "what cannot be read", bytes, names: format!("page {} ", s.page + 1) });
    }
    for (kind, edit) in RUNS {
        for _ in 0..TIMES {
            let s = dice.one(&steps).clone();
            let bytes = paper.with(|pages| edit(&paper, &s, &mut pages[s.page].1, dice));
            out.push(Change { kind, bytes, names: String::new() });
        }
    }
    heads(&paper, dice, &mut out);
    sheets(&paper, dice, &mut out);
    fonts(&paper, dice, &mut out);
    out
}

/// Status and banner of one page, or of all.
fn heads(paper: &Paper, dice: &mut Dice, out: &mut Vec<Change>) {
    for id in ["stamp.banner", "stamp.status", "doc.revision", "doc.number"] {
        let all: Vec<&Shown> = paper.shown.iter().filter(|s| s.id == id).collect();
        for turn in 0..TIMES {
            let one = dice.upto(paper.pages.len());
            let bytes = paper.with(|pages| {
                for s in all.iter().rev().filter(|s| turn == 0 || s.page == one) {
                    pages[s.page].1.drain(s.open..=s.show);
                }
            });
            out.push(Change { kind: "a running value dropped", bytes, names: id.to_owned() });
        }
    }
    let status: Vec<&Shown> = paper.shown.iter().filter(|s| s.id == "stamp.status").collect();
    for _ in 0..TIMES {
        let s = *dice.one(&status);
        let map = &paper.glyphs[&s.font];
        let words: Vec<u8> = "CHECKED, ED".chars().filter_map(|c| map.get(&c)).flat_map(|g| g.to_be_bytes()).collect();
        let bytes = paper.with(|pages| {
            pages[s.page].1[s.show].operands = vec![Object::Array(vec![Object::String(words, StringFormat::Hexadecimal)])];
        });
        out.push(Change { kind: "the status word changed", bytes, names: "stamp.status".to_owned() });
    }
}

/// Whole pages, and what lies on them.
fn sheets(paper: &Paper, dice: &mut Dice, out: &mut Vec<Change>) {
    let count = paper.pages.len();
    let mut add = |kind, bytes| out.push(Change { kind, bytes, names: String::new() });
    for _ in 0..TIMES {
        let a = dice.upto(count);
        let b = (a + 1 + dice.upto(count - 1)) % count;
        add(
            "two pages exchanged",
            paper.with(|pages| {
                let (x, y) = (pages[a].1.clone(), pages[b].1.clone());
                (pages[a].1, pages[b].1) = (y, x);
            }),
        );
        add("a page shown twice in place of another", paper.with(|pages| pages[a].1 = pages[b].1.clone()));
        add("a page deleted", paper.with_file(|file| file.delete_pages(&[u32::try_from(a).unwrap_or(0) + 1])));
        add(
            "a page doubled",
            paper.with_file(|file| {
                let page = paper.pages[a].0;
                let parent = file.get_dictionary(page).and_then(|d| d.get(b"Parent")).and_then(Object::as_reference).expect("a parent");
                let copy = file.get_object(page).expect("a page").clone();
                let copy = file.add_object(copy);
                let pages = file.get_object_mut(parent).and_then(Object::as_dict_mut).expect("pages");
                let mut kids = pages.get(b"Kids").and_then(Object::as_array).expect("kids").clone();
                let at = kids.iter().position(|k| k.as_reference().ok() == Some(page)).expect("the page");
                kids.insert(at + 1, Object::Reference(copy));
                let count = kids.len() as i64;
                pages.set("Kids", kids);
                pages.set("Count", count);
            }),
        );
        let page = paper.pages[a].0;
        let set = |key: &str, value: Object| {
            paper.with_file(|file| file.get_object_mut(page).and_then(Object::as_dict_mut).expect("a page").set(key, value))
        };
        add("a page cut off", set("CropBox", vec![0.into(), 400.into(), 595.into(), 842.into()].into()));
        add("a page turned", set("Rotate", 180.into()));
        add("a page shrunk", set("UserUnit", Object::Real(0.05)));
        let cover = paper.with_file(|file| {
            let form = Stream::new(
                dictionary! { "Type" => "XObject", "Subtype" => "Form", "BBox" => reals(&[0.0, 0.0, 300.0, 300.0]) },
                b"1 g 0 0 300 300 re f".to_vec(),
            );
            let form = file.add_object(form);
            let note = dictionary! {
                "Type" => "Annot", "Subtype" => "Stamp", "Rect" => reals(&[100.0, 200.0, 400.0, 500.0]),
                "F" => 4, "AP" => dictionary! { "N" => Object::Reference(form) },
            };
            file.get_object_mut(page).and_then(Object::as_dict_mut).expect("a page").set("Annots", vec![Object::Dictionary(note)]);
        });
        add("a page covered by a note", cover);
        add(
            "a second stream over a page",
            paper.with_file(|file| {
                let own = file.get_dictionary(page).and_then(|d| d.get(b"Contents")).expect("contents").clone();
                let more = file.add_object(Stream::new(dictionary! {}, b"\n1 g 100 200 300 300 re f\n".to_vec()));
                let page = file.get_object_mut(page).and_then(Object::as_dict_mut).expect("a page");
                page.set("Contents", vec![own, Object::Reference(more)]);
            }),
        );
        add(
            "a page moved under its words",
            paper.with(|pages| {
                pages[a].1.insert(0, op("cm", reals(&[1.0, 0.0, 0.0, 1.0, 0.0, 60.0])));
            }),
        );
    }
}

/// Fonts that show other than they say.
fn fonts(paper: &Paper, dice: &mut Dice, out: &mut Vec<Change>) {
    let fonts: Vec<(String, ObjectId)> = {
        let resources =
            paper.file.get_dictionary(paper.pages[0].0).and_then(|d| d.get_deref(b"Resources", &paper.file)).and_then(Object::as_dict);
        let list = resources.and_then(|r| r.get_deref(b"Font", &paper.file)).and_then(Object::as_dict).expect("fonts");
        list.iter().map(|(n, o)| (String::from_utf8_lossy(n).into_owned(), o.as_reference().expect("a font"))).collect()
    };
    let descendant = |font: ObjectId| {
        let list = paper.file.get_dictionary(font).and_then(|d| d.get_deref(b"DescendantFonts", &paper.file)).and_then(Object::as_array);
        match &list.expect("a list")[0] {
            Object::Reference(id) => Err(*id),
            Object::Dictionary(d) => Ok(d.clone()),
            other => panic!("{other:?}"),
        }
    };
    for turn in 0..3 * TIMES {
        let (name, font) = dice.one(&fonts).clone();
        let map = &paper.glyphs[&name];
        let digits: Vec<(char, u16)> = map.iter().filter(|(c, _)| c.is_ascii_digit()).map(|(c, g)| (*c, *g)).collect();
        let a = *dice.one(&digits);
        let others: Vec<(char, u16)> = digits.iter().copied().filter(|d| *d != a).collect();
        let b = *dice.one(&others);
        // What is read differs from what is shown.
        let unicode = paper.file.get_dictionary(font).and_then(|d| d.get(b"ToUnicode")).and_then(Object::as_reference).expect("a map");
        let text = paper.file.get_object(unicode).and_then(Object::as_stream).expect("a stream").decompressed_content().expect("text");
        let text = String::from_utf8(text).expect("text");
        let entry = |(c, g): (char, u16)| {
            let (g, c) = (format!("{g:04x}"), format!("{:04x}", u32::from(c)));
            let line = text.lines().find(|l| {
                let l = l.to_lowercase();
                l.starts_with(&format!("<{g}>")) && l.contains(&format!("<{c}>"))
            });
            line.unwrap_or_else(|| panic!("no entry for {g} {c} in {text}")).to_owned()
        };
        let (line_a, line_b) = (entry(a), entry(b));
        let end = |l: &str| l.rsplit_once('<').map(|(_, e)| e.to_owned()).expect("an entry");
        let swapped = text
            .replace(&line_a, "\u{1}")
            .replace(&line_b, &line_b.replace(&end(&line_b), &end(&line_a)))
            .replace('\u{1}', &line_a.replace(&end(&line_a), &end(&line_b)));
        let bytes =
            paper.with_file(|file| drop(file.objects.insert(unicode, Object::Stream(Stream::new(dictionary! {}, swapped.into_bytes())))));
        out.push(Change { kind: "two digits of a text map exchanged", bytes, names: String::new() });
        // The map and the words exchanged: read as before, shown otherwise.
        let below = match descendant(font) {
            Ok(d) => d,
            Err(id) => paper.file.get_dictionary(id).expect("a font").clone(),
        };
        let descriptor = below.get(b"FontDescriptor").and_then(Object::as_reference).expect("a descriptor");
        let program =
            paper.file.get_dictionary(descriptor).and_then(|d| d.get(b"FontFile2")).and_then(Object::as_reference).expect("a program");
        let data = paper.file.get_object(program).and_then(Object::as_stream).expect("a stream").decompressed_content().expect("a font");
        let changed = if turn % 2 == 0 {
            outlines(&data, |list| list.swap(a.1.into(), b.1.into()))
        } else {
            outlines(&data, |list| list[usize::from(a.1)] = Vec::new())
        };
        let bytes = paper.with_file(|file| {
            drop(file.objects.insert(program, Object::Stream(Stream::new(dictionary! { "Length1" => changed.len() as i64 }, changed))))
        });
        out.push(Change {
            kind: if turn % 2 == 0 { "two glyphs of a font exchanged" } else { "a glyph of a font emptied" },
            bytes,
            names: String::new(),
        });
        if turn < TIMES {
            let bytes = paper.with_file(|file| {
                let narrow = vec![Object::Integer(a.1.into()), Object::Array(vec![Object::Integer(1)])];
                match descendant(font) {
                    Ok(mut d) => {
                        d.set("W", narrow);
                        file.get_object_mut(font)
                            .and_then(Object::as_dict_mut)
                            .expect("a font")
                            .set("DescendantFonts", vec![Object::Dictionary(d)]);
                    }
                    Err(id) => file.get_object_mut(id).and_then(Object::as_dict_mut).expect("a font").set("W", narrow),
                }
            });
            out.push(Change { kind: "widths of a font changed", bytes, names: String::new() });
            let bytes = paper.with_file(|file| {
                let map = file.add_object(Stream::new(
                    dictionary! {},
                    (0..400_u16).flat_map(|g| (if g == a.1 { b.1 } else { g }).to_be_bytes()).collect(),
                ));
                match descendant(font) {
                    Ok(mut d) => {
                        d.set("CIDToGIDMap", Object::Reference(map));
                        file.get_object_mut(font)
                            .and_then(Object::as_dict_mut)
                            .expect("a font")
                            .set("DescendantFonts", vec![Object::Dictionary(d)]);
                    }
                    Err(id) => {
                        file.get_object_mut(id).and_then(Object::as_dict_mut).expect("a font").set("CIDToGIDMap", Object::Reference(map))
                    }
                }
            });
            out.push(Change { kind: "a glyph map put between", bytes, names: String::new() });
        }
    }
}

/// A font program with its outlines rearranged: `glyf` and `loca` written anew, all else kept.
fn outlines(font: &[u8], edit: impl FnOnce(&mut Vec<Vec<u8>>)) -> Vec<u8> {
    let u16_at = |at: usize| u16::from_be_bytes([font[at], font[at + 1]]);
    let u32_at = |at: usize| u32::from_be_bytes([font[at], font[at + 1], font[at + 2], font[at + 3]]) as usize;
    let tables: Vec<([u8; 4], usize, usize)> = (0..usize::from(u16_at(4)))
        .map(|i| 12 + 16 * i)
        .map(|at| ([font[at], font[at + 1], font[at + 2], font[at + 3]], u32_at(at + 8), u32_at(at + 12)))
        .collect();
    let table = |tag: &[u8; 4]| tables.iter().find(|t| t.0 == *tag).map(|t| (t.1, t.2)).expect("a table");
    let (head, glyf, loca) = (table(b"head").0, table(b"glyf"), table(b"loca"));
    let long = u16_at(head + 50) == 1;
    let count = if long { loca.1 / 4 } else { loca.1 / 2 };
    let offset = |i: usize| if long { u32_at(loca.0 + 4 * i) } else { usize::from(u16_at(loca.0 + 2 * i)) * 2 };
    let mut glyphs: Vec<Vec<u8>> = (0..count - 1).map(|i| font[glyf.0 + offset(i)..glyf.0 + offset(i + 1)].to_vec()).collect();
    edit(&mut glyphs);
    let mut out = font.to_vec();
    let mut at = 0;
    for i in 0..count {
        if long {
            out[loca.0 + 4 * i..loca.0 + 4 * i + 4].copy_from_slice(&u32::try_from(at).expect("small").to_be_bytes());
        } else {
            out[loca.0 + 2 * i..loca.0 + 2 * i + 2].copy_from_slice(&u16::try_from(at / 2).expect("small").to_be_bytes());
        }
        if let Some(glyph) = glyphs.get(i) {
            out[glyf.0 + at..glyf.0 + at + glyph.len()].copy_from_slice(glyph);
            at += glyph.len();
        }
    }
    out
}
