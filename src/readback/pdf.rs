//! Values of a PDF: the words inside each value's marked content, as a reader of the paper would see them.
//!
//! The reader knows the few operators that a print needs and refuses a file with any other: what it does not know could
//! hide, move or cover words. Words are decoded through the fonts' own text maps, and every glyph must have the shape of
//! the character it is read as.

pub(super) mod attached;
mod blanks;
mod content;
mod file;
mod font;
mod sheet;

use super::{Blank, Found, Place, Reading};
use content::{Operand, Stream};
use font::Font;
use lopdf::{Dictionary, Document, Object, ObjectId, StringFormat};
use rayon::prelude::*;
use sheet::{Area, Ground, Run};
use std::collections::BTreeMap;

/// What the catalog may have: nothing that acts by itself.
const CATALOG: [&str; 14] = [
    "Type",
    "Pages",
    "Outlines",
    "PageMode",
    "Lang",
    "PageLayout",
    "ViewerPreferences",
    "PageLabels",
    "Metadata",
    "Names",
    "AF",
    "MarkInfo",
    "StructTreeRoot",
    "AcroForm",
];
/// The smallest letters a page may have, in points; a theme's floor lies above.
const SMALLEST: f32 = 6.0;
const LARGEST: f32 = 60.0;
/// Most that a letter may be moved towards or away from the one before, in thousandths of the size.
const KERN: f32 = 250.0;
/// Baselines nearer than this are one line, in points.
const LINE: f32 = 0.6;

/// Every value found, page by page.
pub(super) fn read(bytes: &[u8]) -> Result<Reading, String> {
    let file = file::open(bytes).map_err(|e| format!("it cannot be opened: {e}"))?;
    let catalog = file.catalog().map_err(|e| format!("it has no catalog: {e}"))?;
    known(catalog, &CATALOG).map_err(|key| format!("its catalog has {key}, which can change what is shown"))?;
    if let Ok(names) = catalog.get_deref(b"Names", &file).and_then(Object::as_dict) {
        known(names, &["EmbeddedFiles"]).map_err(|key| format!("its catalog has names of {key}, which can change what is shown"))?;
    }
    blanks::form(&file, catalog)?;
    let pages: Vec<_> = file.get_pages().into_iter().collect();
    // Each font with the first page that names it.
    let mut named: BTreeMap<ObjectId, u32> = BTreeMap::new();
    for (number, page) in &pages {
        let names = font_names(&file, *page).ok_or_else(|| format!("page {number} has no fonts"))?;
        for (_, font) in names {
            named.entry(font).or_insert(*number);
        }
    }
    let font = |(font, number): (ObjectId, u32)| {
        let dictionary = file.get_dictionary(font).map_err(|e| format!("page {number} has a broken font: {e}"))?;
        Ok((font, Font::read(&file, dictionary).map_err(|e| format!("page {number} {e}"))?))
    };
    let fonts: Vec<Result<_, String>> = named.into_par_iter().map(font).collect();
    let fonts = fonts.into_iter().collect::<Result<BTreeMap<_, _>, String>>()?;
    let count = pages.len();
    let one = |(number, page): &(u32, ObjectId)| {
        let runs = read_page(&file, *page, &fonts).map_err(|e| format!("page {number} {e}"))?;
        columns(&runs).map_err(|e| format!("page {number} {e}"))?;
        let own = file.get_dictionary(*page).map_err(|e| format!("page {number} cannot be read: {e}"))?;
        let blanks = blanks::read(&file, own, *number as usize, &runs).map_err(|e| format!("page {number} {e}"));
        Ok((is_counted(&runs, *number, count), found(runs, *number as usize), blanks))
    };
    let read: Vec<Result<Seen, String>> = pages.par_iter().map(one).collect();
    let size = |page: &ObjectId| sheet(&file, *page).map_or((0, 0), |s| (tenths(s.right - s.left), tenths(s.top - s.bottom)));
    let sizes = pages.iter().map(|(_, page)| size(page)).collect();
    // Letting go of it takes a while, and nothing waits for that.
    rayon::spawn(|| drop(file));
    let mut out = Reading { pages: Some(count), found: Vec::new(), sizes, tails: Vec::new(), blanks: Vec::new(), problems: Vec::new() };
    for (page, number) in read.into_iter().zip(1..) {
        match page {
            Ok((is_counted, (found, tail), blanks)) => {
                match blanks {
                    Ok(blanks) => out.blanks.extend(blanks),
                    Err(what) => out.problems.push(what),
                }
                if !is_counted {
                    out.problems.push(format!("page {number} does not say that it is page {number} of {count}"));
                }
                out.found.extend(found);
                out.tails.push(tail);
            }
            Err(what) => {
                out.tails.push(String::new());
                out.problems.push(what);
            }
        }
    }
    Ok(out)
}

/// The name of a read-out stands in the column of its limits, or on their line: over another's it would be read as that one's.
fn columns(runs: &[Run]) -> Result<(), String> {
    let mut first: BTreeMap<&str, &Run> = BTreeMap::new();
    for run in runs {
        if let Some(id) = run.id.as_deref() {
            first.entry(id).or_insert(run);
        }
    }
    for (id, name) in &first {
        let Some(of) = id.strip_suffix(".joint") else { continue };
        let [expected, low] = ["expected", "low"].map(|key| first.get(format!("{of}.{key}").as_str()));
        let (Some(_), Some(low)) = (expected, low) else { continue };
        let (aside, above) = (name.left - low.left, name.baseline - low.baseline);
        if above.abs() > 1.0 && !(-1.0..=2.0 * name.size).contains(&aside) {
            return Err(format!("has the name of {of} away from its limits"));
        }
    }
    Ok(())
}

fn tenths(points: f32) -> i32 {
    (points * 10.0).round() as i32
}

/// A page as seen: whether it says its number, its values, its places to fill in.
type Seen = (bool, (Vec<Found>, String), Result<Vec<Blank>, String>);

/// The first key that is not among those known.
fn known<'d>(dictionary: &'d Dictionary, keys: &[&str]) -> Result<(), std::borrow::Cow<'d, str>> {
    let stranger = dictionary.iter().map(|(key, _)| key).find(|key| !keys.iter().any(|k| k.as_bytes() == key.as_slice()));
    stranger.map_or(Ok(()), |key| Err(String::from_utf8_lossy(key)))
}

/// Names of a page's fonts and where they stand.
fn font_names(file: &Document, page: ObjectId) -> Option<Vec<(Vec<u8>, ObjectId)>> {
    let resources = file.get_dictionary(page).ok()?.get_deref(b"Resources", file).and_then(Object::as_dict).ok()?;
    known(resources, &["Font"]).ok()?;
    let fonts = resources.get_deref(b"Font", file).and_then(Object::as_dict).ok()?;
    fonts.iter().map(|(name, font)| Some((name.clone(), font.as_reference().ok()?))).collect()
}

/// What of a page is seen. Nothing may turn it, scale it, cut it off, or lie on top.
fn sheet(file: &Document, page: ObjectId) -> Result<Area, String> {
    let page = file.get_dictionary(page).map_err(|e| format!("cannot be read: {e}"))?;
    known(page, &["Type", "Parent", "MediaBox", "CropBox", "TrimBox", "Resources", "Contents", "Annots", "StructParents", "Tabs"])
        .map_err(|key| format!("has {key}, which can change what is shown"))?;
    let corner = |key: &[u8]| -> Option<Area> {
        match page.get_deref(key, file).and_then(Object::as_array).ok()?.as_slice() {
            [a, b, c, d] => {
                let number = |o: &Object| o.as_float().ok();
                Area::around(&[(number(a)?, number(b)?), (number(c)?, number(d)?)])
            }
            _ => None,
        }
    };
    let (media, crop) = (corner(b"MediaBox").ok_or("has no size")?, corner(b"CropBox").ok_or("has no crop box")?);
    Ok(Area {
        left: media.left.max(crop.left),
        bottom: media.bottom.max(crop.bottom),
        right: media.right.min(crop.right),
        top: media.top.min(crop.top),
    })
}

/// The pen of a page: graphics and text state as far as a print uses them.
struct Pen<'f> {
    ground: Ground,
    path: Vec<Vec<(f32, f32)>>,
    white: bool,
    line: f32,
    in_text: bool,
    text_done: bool,
    font: Option<(&'f Font, f32)>,
    at: Option<(f32, f32)>,
    /// What each level of marked content gives to read instead.
    levels: Vec<Option<String>>,
    /// The id of the value whose words come next.
    next: Option<String>,
    runs: Vec<Run>,
}

fn read_page(file: &Document, page: ObjectId, fonts: &BTreeMap<ObjectId, Font>) -> Result<Vec<Run>, String> {
    let sheet = sheet(file, page)?;
    let names: BTreeMap<Vec<u8>, &Font> =
        font_names(file, page).into_iter().flatten().filter_map(|(name, id)| Some((name, fonts.get(&id)?))).collect();
    let content = file.get_page_content(page);
    let mut pen = Pen {
        ground: Ground::default(),
        path: Vec::new(),
        white: false,
        line: 1.0,
        in_text: false,
        text_done: false,
        font: None,
        at: None,
        levels: Vec::new(),
        next: None,
        runs: Vec::new(),
    };
    let mut stream = Stream::new(&content);
    let mut operands = Vec::new();
    while let Some(operator) = stream.next(&mut operands)? {
        pen.take(operator, &operands, &names)?;
    }
    if pen.in_text || !pen.levels.is_empty() || pen.next.is_some() {
        return Err("ends inside its words".to_owned());
    }
    pen.ground.shows(&pen.runs, sheet)?;
    Ok(pen.runs)
}

fn numbers<const N: usize>(operands: &[Operand<'_>]) -> Result<[f32; N], String> {
    let mut out = [0.0; N];
    let list = || operands.iter().filter_map(Operand::number).filter(|n| n.is_finite());
    let count = list().count();
    if count != N || operands.len() != N {
        return Err(format!("has {count} numbers for {N}"));
    }
    out.iter_mut().zip(list()).for_each(|(to, n)| *to = n);
    Ok(out)
}

impl<'f> Pen<'f> {
    fn take(&mut self, operator: &str, operands: &[Operand<'_>], fonts: &BTreeMap<Vec<u8>, &'f Font>) -> Result<(), String> {
        match operator {
            "g" => match numbers(operands)? {
                [0.0] => self.white = false,
                [1.0] => self.white = true,
                [grey] => return Err(format!("uses the grey {grey}")),
            },
            // Shapes stand before the words, so that none can lie on them.
            "w" | "re" | "m" | "l" | "c" | "h" | "f" | "S" | "s" | "d" if self.in_text || self.text_done => {
                return Err("draws over its words".to_owned());
            }
            "w" => [self.line] = numbers(operands)?,
            "re" => {
                let [x, y, width, height] = numbers(operands)?;
                self.path.push(vec![(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]);
            }
            "m" => {
                let [x, y] = numbers(operands)?;
                self.path.push(vec![(x, y)]);
            }
            "l" => {
                let [x, y] = numbers(operands)?;
                self.line()?.push((x, y));
            }
            "c" => {
                let [a, b, c, d, x, y] = numbers(operands)?;
                let line = self.line()?;
                let Some(from) = line.last().copied() else { return Err("draws a curve from nowhere".to_owned()) };
                bend([from, (a, b), (c, d), (x, y)], line);
            }
            "h" => self.close()?,
            // Strokes and gaps: as a line without gaps it covers more, never less.
            "d" => {
                let lengths = operands.first().and_then(Operand::list).ok_or("breaks its lines in an unknown way")?;
                if lengths.iter().any(|l| !l.number().is_some_and(|l| l > 0.0)) {
                    return Err("breaks its lines in an unknown way".to_owned());
                }
            }
            "f" => self.ground.fill(&std::mem::take(&mut self.path), self.white),
            "s" => {
                self.close()?;
                self.ground.stroke(&std::mem::take(&mut self.path), self.line);
            }
            "S" => self.ground.stroke(&std::mem::take(&mut self.path), self.line),
            "BT" if !self.text_done && !self.in_text => self.in_text = true,
            "ET" if self.in_text => (self.in_text, self.text_done) = (false, true),
            "Tf" => {
                let [name, size] = operands else { return Err("sets no font".to_owned()) };
                let font = name.name().and_then(|n| fonts.get(n)).ok_or("has words in an unknown font")?;
                let [size] = numbers(std::slice::from_ref(size))?;
                if !(SMALLEST..=LARGEST).contains(&size) {
                    return Err(format!("has letters of {size} points"));
                }
                self.font = Some((font, size));
            }
            "Tm" => match numbers(operands)? {
                [1.0, 0.0, 0.0, 1.0, x, y] => self.at = Some((x, y)),
                _ => return Err("turns or scales its words".to_owned()),
            },
            "BMC" if matches!(operands, [Operand::Name(name)] if **name == *b"Artifact") => self.levels.push(None),
            "DP" if self.next.is_none() => self.value(operands)?,
            "BDC" => self.open(operands)?,
            "EMC" => drop(self.levels.pop().ok_or("closes what was not opened")?),
            "TJ" if self.in_text => self.show(operands)?,
            other => return Err(format!("uses {other}, which can hide or move words")),
        }
        Ok(())
    }

    /// The line being drawn.
    fn line(&mut self) -> Result<&mut Vec<(f32, f32)>, String> {
        self.path.last_mut().ok_or_else(|| "draws a line from nowhere".to_owned())
    }

    /// Leads the line being drawn back to its start.
    fn close(&mut self) -> Result<(), String> {
        let line = self.line()?;
        line.extend(line.first().copied());
        Ok(())
    }

    /// The id of the value that comes next.
    fn value(&mut self, operands: &[Operand<'_>]) -> Result<(), String> {
        let [Operand::Name(tag), properties @ Operand::Dictionary(_)] = operands else {
            return Err("marks a place without a name".to_owned());
        };
        let id = properties.at("Id").and_then(Operand::text).ok_or("has a value without an id")?;
        if **tag != *b"Value" {
            return Err("marks a place of an unknown kind".to_owned());
        }
        self.next = Some(id.iter().map(|b| char::from(*b)).collect());
        Ok(())
    }

    /// Marked content: which element of the structure it is part of, and how it is read.
    fn open(&mut self, operands: &[Operand<'_>]) -> Result<(), String> {
        let [Operand::Name(tag), properties @ Operand::Dictionary(entries)] = operands else {
            return Err("has marked content of an unknown kind".to_owned());
        };
        let spelled = properties.at("ActualText").filter(|_| **tag == *b"Span");
        let known = |key: &[u8]| key == b"MCID" || spelled.is_some() && key == b"ActualText";
        if entries.is_empty() || !entries.iter().all(|(key, _)| known(key)) {
            return Err("has marked content of an unknown kind".to_owned());
        }
        let text = |spelled: &Operand<'_>| {
            let text = Object::String(spelled.text()?.to_vec(), StringFormat::Hexadecimal);
            lopdf::decode_text_string(&text).ok()
        };
        self.levels.push(spelled.map(|s| text(s).ok_or("has a span without a text")).transpose()?);
        Ok(())
    }

    fn show(&mut self, operands: &[Operand<'_>]) -> Result<(), String> {
        let ([Operand::List(list)], Some((font, size)), Some((x, y))) = (operands, self.font, self.at.take()) else {
            return Err("has words without a font or a place of their own".to_owned());
        };
        let mut glyphs = Vec::new();
        let (mut advance, mut ink) = (0.0, 0.0);
        for part in list {
            match part {
                Operand::Text(bytes) => {
                    let (pairs, rest) = bytes.as_chunks::<2>();
                    if !rest.is_empty() {
                        return Err("shows half a glyph".to_owned());
                    }
                    for pair in pairs {
                        let glyph = u16::from_be_bytes(*pair);
                        glyphs.push(glyph);
                        advance += font.advance(glyph);
                        if !font.is_space(glyph) {
                            ink = advance;
                        }
                    }
                }
                other => {
                    let [shift] = numbers(std::slice::from_ref(other))?;
                    if shift.abs() > KERN {
                        return Err(format!("pushes letters {shift} apart"));
                    }
                    advance -= shift;
                }
            }
        }
        let id = self.next.take();
        let name = || id.clone().unwrap_or_else(|| "a run".to_owned());
        let text: String = match self.levels.iter().rev().find_map(Option::as_ref) {
            Some(text) if text.chars().count() == glyphs.len() && text.chars().zip(&glyphs).all(|(c, g)| font.is(*g, c)) => text.clone(),
            Some(text) => return Err(format!("has {} which is read as {text:?} and does not look like it", name())),
            None => glyphs.iter().map(|g| font.char(*g)).collect::<Result<_, _>>().map_err(|e| format!("{e}, in {}", name()))?,
        };
        self.runs.push(Run {
            id,
            text,
            left: x,
            right: x + advance * size / 1000.0,
            ink: x + ink * size / 1000.0,
            baseline: y,
            size,
            white: self.white,
        });
        Ok(())
    }
}

/// Pieces that a curve is taken as; with so many the error is far below the thickness of a line.
const PIECES: u8 = 12;

/// Adds places along a cubic curve, its end included.
fn bend([a, b, c, d]: [(f32, f32); 4], out: &mut Vec<(f32, f32)>) {
    for i in 1..=PIECES {
        let t = f32::from(i) / f32::from(PIECES);
        let s = 1.0 - t;
        let (w0, w1, w2, w3) = (s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t);
        let at = |f: fn((f32, f32)) -> f32| w0 * f(a) + w1 * f(b) + w2 * f(c) + w3 * f(d);
        out.push((at(|p| p.0), at(|p| p.1)));
    }
}

/// Whether the words of a page that are no values say its number and the number of pages, one near the other.
fn is_counted(runs: &[Run], number: u32, count: usize) -> bool {
    let own = runs.iter().filter(|r| r.id.is_none());
    let words: Vec<&str> = own.flat_map(|r| r.text.split(|c: char| !c.is_alphanumeric())).filter(|w| !w.is_empty()).collect();
    let (number, count) = (number.to_string(), count.to_string());
    words.iter().enumerate().any(|(i, w)| *w == number && words[i + 1..].iter().take(2).any(|w| *w == count))
}

/// The values of a page with the words before each, and the words behind the last.
fn found(runs: Vec<Run>, page: usize) -> (Vec<Found>, String) {
    let mut out = Vec::new();
    let mut before = String::new();
    let (mut follows, mut number) = (true, false);
    let mut last: Option<Place> = None;
    for run in runs {
        let place = Place { page, left: run.left, right: run.right, baseline: run.baseline, size: run.size };
        if last.is_some_and(|l| (l.baseline - place.baseline).abs() > LINE) {
            before.push('\n');
        }
        // From the number of a step to the words of its row is another column, and from what a data sheet asks to its band.
        follows = last.is_none_or(|l| is_behind(place, l)) && follows || number;
        number = run.id.as_ref().is_some_and(|id| id.ends_with(".number") || id.ends_with(".function"));
        match run.id {
            Some(id) => {
                out.push(Found { id, text: run.text, before: std::mem::take(&mut before), place: Some(place), behind: last, follows });
                follows = true;
            }
            None => {
                before.push_str(&run.text);
                before.push(' ');
            }
        }
        last = Some(place);
    }
    (out, before)
}

/// Whether a run is read directly after another: to its right, or from the left edge of the next line.
fn is_behind(here: Place, there: Place) -> bool {
    let (step, size) = (here.baseline - there.baseline, here.size.max(there.size));
    if step.abs() <= LINE {
        return (-1.0..=1.2 * size).contains(&(here.left - there.right));
    }
    (-2.6 * size..0.0).contains(&step) && here.left <= there.left + 1.0
}
