//! Paper, margins and sizes, from `theme.toml`.

use super::tree::Style;
use serde::Deserialize;

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

/// Smallest text that may be printed.
const FLOOR: f32 = 8.0;

impl Theme {
    /// Reads and judges a theme file.
    pub(super) fn parse(text: &str) -> Result<Theme, (Option<std::ops::Range<usize>>, String)> {
        let theme: Theme = toml::from_str(text).map_err(|e| (e.span(), e.message().to_owned()))?;
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
        if ![m.top, m.bottom, m.left, m.right].iter().all(|m| (14.0..=100.0).contains(m)) {
            return refuse("every margin must be between 14 and 100 pt (5 to 35 mm)");
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
                Style::Line => s.line,
                Style::Small => s.small,
                Style::Label => s.label,
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
