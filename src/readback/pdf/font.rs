//! Whether a glyph shows the character it is read as: its outline against the outline in the whole font.
//!
//! Words are found in a PDF through a map that no reader of paper sees. Each glyph in use is therefore compared, curve
//! by curve, with the shape which the vendored font gives to that character.

use lopdf::{Dictionary, Document, Object};
use rustybuzz::ttf_parser::{self, GlyphId, OutlineBuilder};
use rustybuzz::{Face, Feature, UnicodeBuffer};
use std::collections::HashMap;

/// The fonts as their maker ships them.
const WHOLE: [&[u8]; 2] =
    [include_bytes!("../../../templates/fonts/IBMPlexSans-Regular.ttf"), include_bytes!("../../../templates/fonts/IBMPlexSans-Bold.ttf")];

/// Points of the curves of a glyph, in font units.
type Shape = Vec<(u8, [i32; 6])>;

/// A font of the file: for each glyph its text, its advance in thousandths, and its shape.
pub(super) struct Font {
    glyphs: Vec<Glyph>,
    whole: Face<'static>,
}

struct Glyph {
    text: Option<char>,
    advance: f32,
    shape: Shape,
    /// Whether the shape is that of the text.
    shows: bool,
}

impl Font {
    /// Reads a font dictionary and compares every glyph with the font it claims to be.
    pub(super) fn read(file: &Document, font: &Dictionary) -> Result<Font, String> {
        let at = |what: &str| format!("has a font whose {what} cannot be read");
        let name = |d: &Dictionary, key: &[u8]| d.get(key).and_then(Object::as_name).map(<[u8]>::to_vec).unwrap_or_default();
        if name(font, b"Subtype") != b"Type0" || name(font, b"Encoding") != b"Identity-H" {
            return Err(at("encoding"));
        }
        let below = font.get_deref(b"DescendantFonts", file).and_then(Object::as_array).map_err(|_| at("descendant"))?;
        let [below] = below.as_slice() else { return Err(at("descendant")) };
        let below = file.dereference(below).and_then(|(_, o)| o.as_dict()).map_err(|_| at("descendant"))?;
        if name(below, b"CIDToGIDMap") != b"Identity" || name(below, b"Subtype") != b"CIDFontType2" {
            return Err(at("glyph map"));
        }
        let descriptor = below.get_deref(b"FontDescriptor", file).and_then(Object::as_dict).map_err(|_| at("descriptor"))?;
        let program = descriptor.get_deref(b"FontFile2", file).and_then(Object::as_stream).map_err(|_| at("program"))?;
        let program = program.decompressed_content().map_err(|_| at("program"))?;
        let cut = ttf_parser::Face::parse(&program, 0).map_err(|_| at("program"))?;
        let bold = String::from_utf8_lossy(&name(font, b"BaseFont")).ends_with("-Bold");
        let whole = Face::from_slice(WHOLE[usize::from(bold)], 0).ok_or_else(|| at("whole font"))?;
        let encoding = font.get_font_encoding(file).map_err(|_| at("text map"))?;
        let widths = widths(file, below).ok_or_else(|| at("widths"))?;
        let mut out = Font { glyphs: Vec::new(), whole };
        for id in 0..cut.number_of_glyphs() {
            let text = Document::decode_text(&encoding, &id.to_be_bytes()).unwrap_or_default();
            let mut chars = text.chars();
            let text = chars.next().filter(|_| chars.next().is_none());
            let shape = shape(&cut, GlyphId(id));
            let shows = id != 0 && text.is_some_and(|c| out.can_show(c, &shape));
            let set = f32::from(cut.glyph_hor_advance(GlyphId(id)).unwrap_or(0)) * 1000.0 / f32::from(cut.units_per_em());
            let advance = widths.get(&id).copied().unwrap_or(1000.0);
            if shows && (advance - set).abs() > 1.5 {
                return Err(format!("has a font in which {text:?} is {advance} wide and drawn for {set}"));
            }
            out.glyphs.push(Glyph { text, advance, shape, shows });
        }
        Ok(out)
    }

    /// The character a glyph is read as and shows.
    pub(super) fn char(&self, glyph: u16) -> Result<char, String> {
        match self.glyphs.get(usize::from(glyph)) {
            Some(Glyph { text: Some(c), shows: true, .. }) => Ok(*c),
            Some(Glyph { text, .. }) => Err(format!("shows a glyph that does not look like {text:?}, as which it is read")),
            None => Err("shows a glyph that its font lacks".to_owned()),
        }
    }

    /// Whether a glyph shows this character, whatever the font's own text for it.
    pub(super) fn is(&self, glyph: u16, c: char) -> bool {
        glyph != 0 && self.glyphs.get(usize::from(glyph)).is_some_and(|g| g.shows && g.text == Some(c) || self.can_show(c, &g.shape))
    }

    /// The advance of a glyph in thousandths of the size.
    pub(super) fn advance(&self, glyph: u16) -> f32 {
        self.glyphs.get(usize::from(glyph)).map_or(0.0, |g| g.advance)
    }

    /// Whether a glyph leaves no ink.
    pub(super) fn is_space(&self, glyph: u16) -> bool {
        self.glyphs.get(usize::from(glyph)).is_some_and(|g| g.shape.is_empty())
    }

    /// The plain shape of a character, or the one with a slashed zero.
    fn can_show(&self, c: char, seen: &Shape) -> bool {
        if self.whole.glyph_index(c).is_some_and(|g| shape(&self.whole, g) == *seen) {
            return true;
        }
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(c.encode_utf8(&mut [0; 4]));
        buffer.guess_segment_properties();
        let zero = Feature::new(ttf_parser::Tag::from_bytes(b"zero"), 1, ..);
        let shaped = rustybuzz::shape(&self.whole, &[zero], buffer);
        match shaped.glyph_infos() {
            [one] => u16::try_from(one.glyph_id).is_ok_and(|id| id != 0 && shape(&self.whole, GlyphId(id)) == *seen),
            _ => false,
        }
    }
}

/// `W`: a first glyph and the list of widths from it, or a range and one width.
fn widths(file: &Document, font: &Dictionary) -> Option<HashMap<u16, f32>> {
    let list = font.get_deref(b"W", file).and_then(Object::as_array).ok()?;
    let number = |o: &Object| u16::try_from(o.as_i64().ok()?).ok();
    let mut out = HashMap::new();
    let mut rest = list.iter();
    while let Some(first) = rest.next() {
        let first = number(first)?;
        match rest.next()? {
            Object::Array(widths) => {
                for (i, width) in widths.iter().enumerate() {
                    out.insert(first.checked_add(u16::try_from(i).ok()?)?, width.as_float().ok()?);
                }
            }
            last => {
                let width = rest.next()?.as_float().ok()?;
                out.extend((first..=number(last)?).map(|id| (id, width)));
            }
        }
    }
    Some(out)
}

fn shape(face: &ttf_parser::Face<'_>, glyph: GlyphId) -> Shape {
    struct Pen(Shape);
    impl Pen {
        fn put(&mut self, kind: u8, points: [f32; 6]) {
            // Sixty-fourths: a composite glyph scales its parts.
            self.0.push((kind, points.map(|p| (p * 64.0).round() as i32)));
        }
    }
    impl OutlineBuilder for Pen {
        fn move_to(&mut self, x: f32, y: f32) {
            self.put(0, [x, y, 0.0, 0.0, 0.0, 0.0]);
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.put(1, [x, y, 0.0, 0.0, 0.0, 0.0]);
        }
        fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
            self.put(2, [a, b, x, y, 0.0, 0.0]);
        }
        fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
            self.put(3, [a, b, c, d, x, y]);
        }
        fn close(&mut self) {
            self.put(4, [0.0; 6]);
        }
    }
    let mut pen = Pen(Vec::new());
    face.outline_glyph(glyph, &mut pen);
    pen.0
}
