//! Paper, margins and sizes, from `theme.toml`.

use super::tree::Style;
use serde::Deserialize;
use std::ops::Range;
use toml::{Table, Value};

/// Sizes of a print. All lengths in points (1/72 in).
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Theme {
    /// `a4` or `letter`.
    pub paper: Paper,
    /// Multiplies every text size: 1.0 for a reader at 500 mm, 1.17 to be read standing back.
    pub scale: f32,
    /// White edges.
    pub margin: Margin,
    /// Columns of a numbered row.
    pub row: RowColumns,
    /// Least height of a space to write in.
    pub blank: f32,
    /// Sizes by style.
    pub text: Sizes,
}

/// Sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 by 297 mm.
    A4,
    /// 8.5 by 11 in.
    Letter,
}

impl Paper {
    /// Width and height.
    pub fn size(self) -> (f32, f32) {
        match self {
            Paper::A4 => (595.276, 841.89),
            Paper::Letter => (612.0, 792.0),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Paper::A4 => "a4",
            Paper::Letter => "letter",
        }
    }
}

/// White edges.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Margin {
    /// Above the running head.
    pub top: f32,
    /// Below the running foot.
    pub bottom: f32,
    /// Binding edge.
    pub left: f32,
    /// Outer edge.
    pub right: f32,
}

/// Widths of the narrow columns of a numbered row; the instruction has the rest.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RowColumns {
    /// The number.
    pub number: f32,
    /// The blank for an actual value.
    pub actual: f32,
    /// The sign-off.
    pub sign: f32,
}

/// Text sizes by style.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
#[allow(missing_docs, reason = "the names are those of the styles")]
pub struct Sizes {
    pub body: f32,
    pub title: f32,
    pub heading_1: f32,
    pub heading_2: f32,
    pub heading_3: f32,
    pub call: f32,
    pub band: f32,
    pub push: f32,
    pub line: f32,
    pub small: f32,
    pub label: f32,
    pub lead: f32,
    pub number: f32,
    pub running: f32,
}

/// A named arrangement of sizes, laid over the built-in theme.
#[derive(Debug)]
pub struct Preset {
    /// Its name.
    pub name: &'static str,
    /// For whom, in a line.
    pub about: &'static str,
    text: &'static str,
}

/// Every preset; the first is the theme as it stands.
pub const PRESETS: [Preset; 3] = [
    Preset { name: "reader", about: "for a reader who holds the page: 12 pt text, 16 pt call line", text: "" },
    Preset {
        name: "stand-back",
        about: "to be read standing back: 14 pt text, 19 pt call line",
        text: include_str!("../../templates/presets/stand-back.toml"),
    },
    Preset {
        name: "dim-gallery",
        about: "for a dim gallery: 13 pt text, 23 pt call line",
        text: include_str!("../../templates/presets/dim-gallery.toml"),
    },
];

/// What an edition asks of the sizes, by its name.
const EDITIONS: [(&str, &str); 1] = [("review", include_str!("../../templates/editions/review.toml"))];

/// The preset of a name.
pub fn preset(name: &str) -> Option<&'static Preset> {
    PRESETS.iter().find(|p| p.name == name)
}

/// What is asked of the look of a print besides a site's own theme.
#[derive(Debug, Clone, Copy, Default)]
pub struct Look<'a> {
    /// The name of a preset; the first if none is named.
    pub preset: Option<&'static str>,
    /// The name of an edition, if it is not the one for the console.
    pub edition: Option<&'static str>,
    /// The paper; the theme's if none is named.
    pub paper: Option<Paper>,
    /// The tag of a language; that of the site's words.toml, or English, if none is named.
    pub language: Option<&'a str>,
}

/// Where in a text a theme is wrong, and how.
type Wrong = (Option<Range<usize>>, String);

/// Lays `over` over `base`. A key that `base` does not have, or has with another kind of value, is refused at its place.
fn lay(base: &mut Table, over: Table, text: &str) -> Result<(), Wrong> {
    for (key, value) in over {
        let known: Vec<&str> = base.keys().map(String::as_str).collect();
        let Some(there) = base.get(&key) else {
            return Err((place(text, &key), format!("unknown key `{key}`, expected one of {}", known.join(", "))));
        };
        match (there, value) {
            (Value::Table(_), Value::Table(over)) => {
                if let Some(Value::Table(base)) = base.get_mut(&key) {
                    lay(base, over, text)?;
                }
            }
            (Value::Float(_), Value::Integer(whole)) => drop(base.insert(key, Value::Float(whole as f64))),
            (there, value) if there.same_type(&value) => drop(base.insert(key, value)),
            (there, _) => return Err((place(text, &key), format!("`{key}` must be {}", kind(there)))),
        }
    }
    Ok(())
}

fn kind(value: &Value) -> &'static str {
    match value {
        Value::Table(_) => "a table",
        Value::String(_) => "a text",
        _ => "a number of points",
    }
}

/// Where a key stands in a text.
fn place(text: &str, key: &str) -> Option<Range<usize>> {
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let blank = line.len() - line.trim_start().len();
        let rest = line[blank..].trim_start_matches('[');
        let at = start + line.len() - blank - rest.len() + blank;
        if rest.strip_prefix(key).is_some_and(|r| r.trim_start().starts_with(['=', ']'])) {
            return Some(at..at + key.len());
        }
        start += line.len();
    }
    None
}

/// Smallest text that may be printed.
const FLOOR: f32 = 8.0;

impl Theme {
    /// The built-in theme with what is asked for and then a site's own file laid over it, judged. What is wrong is wrong with the
    /// site's file.
    pub(super) fn of(built_in: &str, look: Look<'_>, site: Option<&str>) -> Result<Theme, Wrong> {
        let read = |text: &str| text.parse::<Table>().map_err(|e| (e.span(), e.message().to_owned()));
        let mut table = read(built_in)?;
        let preset = look.preset.and_then(preset).unwrap_or(&PRESETS[0]);
        lay(&mut table, read(preset.text)?, preset.text)?;
        let edition = EDITIONS.iter().find(|(name, _)| Some(*name) == look.edition).map_or("", |(_, text)| text);
        lay(&mut table, read(edition)?, edition)?;
        if let Some(paper) = look.paper {
            table.insert("paper".to_owned(), Value::String(paper.word().to_owned()));
        }
        let site = site.unwrap_or("");
        lay(&mut table, read(site)?, site)?;
        let theme: Theme = table.try_into().map_err(|e: toml::de::Error| (place(site, "paper"), e.message().to_owned()))?;
        theme.judged()
    }

    fn judged(self) -> Result<Theme, Wrong> {
        let theme = self;
        let refuse = |what: &str| Err((None, what.to_owned()));
        let s = &theme.text;
        let sizes = [
            s.body,
            s.title,
            s.heading_1,
            s.heading_2,
            s.heading_3,
            s.call,
            s.band,
            s.push,
            s.line,
            s.small,
            s.label,
            s.lead,
            s.number,
            s.running,
        ];
        if !(1.0..=1.5).contains(&theme.scale) {
            return refuse("scale must be between 1.0 and 1.5");
        }
        if !sizes.iter().all(|s| (FLOOR..=40.0).contains(s)) {
            return refuse("every text size must be between 8 and 40 pt");
        }
        let m = theme.margin;
        if ![m.top, m.bottom, m.left, m.right].iter().all(|m| (14.0..=140.0).contains(m)) {
            return refuse("every margin must be between 14 and 140 pt (5 to 49 mm)");
        }
        let r = theme.row;
        if ![r.number, r.actual, r.sign].iter().all(|w| (20.0..=120.0).contains(w)) {
            return refuse("every column of a row must be between 20 and 120 pt wide");
        }
        if !(22.7..=60.0).contains(&theme.blank) {
            return refuse("blank must be between 22.7 pt (8 mm, the least a gloved hand can write in) and 60 pt");
        }
        Ok(theme)
    }

    /// The size of a style, scaled.
    pub fn size(&self, style: Style) -> f32 {
        let s = &self.text;
        self.scale
            * match style {
                Style::Body => s.body,
                Style::Title => s.title,
                Style::Call => s.call,
                Style::Band => s.band,
                Style::Push => s.push,
                Style::Line | Style::End => s.line,
                Style::Small => s.small,
                Style::Label | Style::Struck => s.label,
                Style::Lead => s.lead,
                Style::Mark => s.small,
            }
    }

    /// The size of a heading, scaled.
    pub fn heading(&self, level: u8) -> f32 {
        self.scale
            * match level {
                1 => self.text.heading_1,
                2 => self.text.heading_2,
                _ => self.text.heading_3,
            }
    }
}
