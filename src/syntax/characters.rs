//! Characters that are refused everywhere, and characters that look like others.
//!
//! Invariant: nothing is ever normalised here. A look-alike is reported with its code point and the ASCII
//! form as a fix; the writer decides.

use super::error;
use crate::diag::{Diagnostic, Example, Family, Rule};
use crate::text::{FileId, Span};

/// Every rule of this file.
pub static RULES: &[&Rule] = &[
    &CONFUSABLE_CHARACTER,
    &FOREIGN_CHARACTER,
    &BIDI_MARK,
    &TAG_CHARACTER,
    &VARIATION_SELECTOR,
    &CONTROL_CHARACTER,
    &NUL_CHARACTER,
    &LONE_CARRIAGE_RETURN,
];

/// Looks like an ASCII character where only ASCII has a meaning.
pub static CONFUSABLE_CHARACTER: Rule = Rule {
    bad: &[
        Example::steps("1. `base right to ⟦\u{2212}⟧42 deg`\n"),
        Example::steps("1. `base right to ⟦\u{2013}⟧42 deg`\n"),
        Example::steps("1. `base left to +⟦\u{ff14}⟧2 deg`\n"),
        Example::steps("1. `base left to +42⟦\u{a0}⟧deg`\n"),
        Example::steps("1. `b⟦\u{430}⟧se left to +42 deg`\n"),
        Example::steps("1. `base left to +42 deg` {#gr⟦\u{456}⟧p}\n"),
    ],
    good: &[
        Example::steps("1. `base right to -42 deg`\n   - Why: a move of 30 \u{2013} 40 seconds.\n"),
        Example::steps("1. `base left to +42 \u{b0}`\n"),
    ],
    ..error(
        "confusable-character",
        Family::Notation,
        "a character looks like another one that would have a meaning here",
        "A dash that is no minus sign, or a letter of another alphabet, reads right on paper and means something else to every machine. \
         Nothing is corrected silently: the sign of an angle is the writer's to state.",
    )
};

/// Not ASCII and no look-alike.
pub static FOREIGN_CHARACTER: Rule = Rule {
    bad: &[Example::steps("1. `tell op⟦\u{e9}⟧rateur`\n")],
    good: &[Example::steps("1. `tell operator` Say d\u{e9}part.\n")],
    ..error(
        "foreign-character",
        Family::Notation,
        "a character outside ASCII stands in a statement or a name",
        "Statements and names are spoken over the phone and typed on any keyboard; their alphabet is ASCII.",
    )
};

/// Changes the direction of reading.
pub static BIDI_MARK: Rule = Rule {
    bad: &[Example::steps("1. Watch the⟦\u{202e}⟧ elbow.\n"), Example::steps("1. `base left to ⟦\u{2067}⟧+42 deg`\n")],
    good: &[Example::steps("1. Watch the elbow.\n")],
    ..error(
        "bidi-mark",
        Family::File,
        "a bidirectional control character reorders the text on the screen",
        "What the reviewer sees is then not what the compiler reads.",
    )
};

/// U+E0000 and following.
pub static TAG_CHARACTER: Rule = Rule {
    bad: &[Example::steps("1. Watch the⟦\u{e0041}⟧ elbow.\n")],
    good: &[Example::steps("1. Watch the elbow.\n")],
    ..error(
        "tag-character",
        Family::File,
        "an invisible tag character stands in the text",
        "It carries text that nobody can see on the page.",
    )
};

/// U+FE00 and following.
pub static VARIATION_SELECTOR: Rule = Rule {
    bad: &[Example::steps("1. Watch the⟦\u{fe0f}⟧ elbow.\n")],
    good: &[Example::steps("1. Watch the elbow.\n")],
    ..error(
        "variation-selector",
        Family::File,
        "an invisible variation selector stands in the text",
        "It makes two texts that look the same differ, and pictures take the place of signs.",
    )
};

/// C0 and C1 controls.
pub static CONTROL_CHARACTER: Rule = Rule {
    bad: &[Example::steps("1. Watch the⟦\u{1b}⟧ elbow.\n"), Example::steps("1. Watch the⟦\u{85}⟧ elbow.\n")],
    good: &[Example::steps("1. Watch\tthe elbow.\n")],
    ..error(
        "control-character",
        Family::File,
        "a control character stands in the text",
        "It can rewrite what a terminal or a printer shows.",
    )
};

/// U+0000.
pub static NUL_CHARACTER: Rule = Rule {
    bad: &[Example::steps("1. Watch the⟦\0⟧ elbow.\n")],
    good: &[Example::steps("1. Watch the elbow.\n")],
    ..error(
        "nul-character",
        Family::File,
        "a NUL character stands in the text",
        "Many programs stop reading there, so that two readers see two texts.",
    )
};

/// A carriage return without line feed.
pub static LONE_CARRIAGE_RETURN: Rule = Rule {
    bad: &[Example::steps("1. Watch the elbow.⟦\r⟧2. Watch the jaw.\n")],
    good: &[Example::steps("1. Watch the elbow.\r\n2. Watch the jaw.\r\n")],
    ..error(
        "lone-carriage-return",
        Family::File,
        "a carriage return stands without its line feed",
        "Some programs show a new line there and others overwrite the line; the steps a person counts would differ.",
    )
};

/// The rule a character breaks wherever it stands, if it does. Tab, line feed and carriage return are not judged here.
pub fn refused(c: char) -> Option<&'static Rule> {
    Some(match c {
        '\0' => &NUL_CHARACTER,
        '\t' | '\n' | '\r' => return None,
        '\u{1}'..='\u{1f}' | '\u{7f}'..='\u{9f}' => &CONTROL_CHARACTER,
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' | '\u{61c}' => &BIDI_MARK,
        '\u{e0000}'..='\u{e007f}' => &TAG_CHARACTER,
        '\u{fe00}'..='\u{fe0f}' | '\u{e0100}'..='\u{e01ef}' | '\u{180b}'..='\u{180f}' => &VARIATION_SELECTOR,
        _ => return None,
    })
}

/// The finding for a character that is refused everywhere.
pub fn refuse(rule: &'static Rule, c: char, span: Span) -> Diagnostic {
    let what = if rule == &LONE_CARRIAGE_RETURN { "a carriage return without line feed" } else { rule.summary };
    rule.at(span, format!("U+{:04X}: {what}", c as u32)).fix(span, if c == '\r' { "\n" } else { "" }, format!("remove U+{:04X}", c as u32))
}

/// The ASCII text a character can be mistaken for.
///
/// The letters are those of the Cyrillic, Greek and Armenian alphabets that are drawn like a Latin letter, chosen
/// after the confusables of Unicode Technical Standard 39, from memory.
pub fn lookalike(c: char) -> Option<&'static str> {
    const ASCII: &str = "!\"#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`abcdefghijklmnopqrstuvwxyz{|}~";
    let ascii = |i: u32| ASCII.get(i as usize..=i as usize);
    Some(match c {
        '\u{ff01}'..='\u{ff5e}' => return ascii(c as u32 - 0xff01),
        '\u{660}'..='\u{669}' => return ascii(c as u32 - 0x660 + 15),
        '\u{6f0}'..='\u{6f9}' => return ascii(c as u32 - 0x6f0 + 15),
        '\u{1d7ce}'..='\u{1d7ff}' => return ascii((c as u32 - 0x1d7ce) % 10 + 15),
        '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{fe63}' | '\u{2043}' | '\u{fe58}' | '\u{2796}' => "-",
        '\u{2795}' | '\u{fe62}' => "+",
        '\u{a0}' | '\u{1680}' | '\u{2000}'..='\u{200a}' | '\u{202f}' | '\u{205f}' | '\u{3000}' => " ",
        '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{2060}'..='\u{2064}' | '\u{feff}' | '\u{34f}' => "",
        '\u{ba}' | '\u{2da}' | '\u{2218}' | '\u{309c}' => "deg",
        '\u{3bc}' => "u",
        '\u{2018}' | '\u{2019}' | '\u{2b9}' => "'",
        '\u{201c}' | '\u{201d}' => "\"",
        '\u{2024}' | '\u{3002}' => ".",
        '\u{201a}' | '\u{66b}' => ",",
        '\u{2236}' | '\u{fe55}' | '\u{5c3}' => ":",
        '\u{37e}' => ";",
        '\u{2044}' | '\u{2215}' => "/",
        '\u{fb00}' => "ff",
        '\u{fb01}' => "fi",
        '\u{fb02}' => "fl",
        '\u{fb03}' => "ffi",
        '\u{fb04}' => "ffl",
        'а' | 'α' => "a",
        'с' | 'ϲ' => "c",
        'ԁ' => "d",
        'е' => "e",
        'һ' => "h",
        'і' | 'ι' | 'ı' => "i",
        'ј' => "j",
        'ӏ' | 'ⅼ' => "l",
        'ո' => "n",
        'о' | 'ο' | 'օ' => "o",
        'р' | 'ρ' => "p",
        'ѕ' => "s",
        'υ' | 'ս' => "u",
        'ν' | 'ѵ' => "v",
        'ѡ' => "w",
        'х' => "x",
        'у' => "y",
        'А' | 'Α' => "A",
        'В' | 'Β' => "B",
        'С' => "C",
        'Е' | 'Ε' => "E",
        'Н' | 'Η' => "H",
        'І' | 'Ι' | 'Ӏ' => "I",
        'Ј' => "J",
        'К' | 'Κ' | '\u{212a}' => "K",
        'М' | 'Μ' => "M",
        'Ν' => "N",
        'О' | 'Ο' => "O",
        'Р' | 'Ρ' => "P",
        'Ѕ' => "S",
        'Т' | 'Τ' => "T",
        'Х' | 'Χ' => "X",
        'У' | 'Υ' => "Y",
        'Ζ' => "Z",
        _ => return None,
    })
}

/// The first character of a piece of text whose alphabet is ASCII that may not stand there, as a finding.
/// `°` and `µ` in their canonical code points are allowed. `None` also for a character that [`refused`] has
/// reported already; then the boolean says that the piece cannot be read.
pub fn judge(file: FileId, base: usize, piece: &str) -> (bool, Option<Diagnostic>) {
    if piece.is_ascii() {
        return (false, None);
    }
    let mut unreadable = false;
    for (i, c) in piece.char_indices() {
        if c.is_ascii() || c == '\u{b0}' || c == '\u{b5}' {
            continue;
        }
        if refused(c).is_some() {
            unreadable = true;
            continue;
        }
        let span = Span::new(file, base + i, base + i + c.len_utf8());
        let code = c as u32;
        return (
            true,
            Some(match lookalike(c) {
                Some("") => CONFUSABLE_CHARACTER.at(span, format!("U+{code:04X} is an invisible character")).fix(
                    span,
                    "",
                    "remove the invisible character",
                ),
                Some(" ") => CONFUSABLE_CHARACTER.at(span, format!("U+{code:04X} is a blank that is not the plain space")).fix(
                    span,
                    " ",
                    "write a plain space",
                ),
                Some(ascii) => CONFUSABLE_CHARACTER.at(span, format!("`{c}` is U+{code:04X} and only looks like `{ascii}`")).fix(
                    span,
                    ascii,
                    format!("write `{ascii}`"),
                ),
                None => FOREIGN_CHARACTER
                    .at(span, format!("`{}` (U+{code:04X}) cannot stand in a statement or a name", c.escape_debug()))
                    .help("use plain letters, digits and signs here; words for people after the statement may use any alphabet"),
            }),
        );
    }
    (unreadable, None)
}

/// Reports what [`judge`] finds in a span; says whether the text there cannot be used.
pub fn report(text: &str, span: Span, problems: &mut Vec<Diagnostic>) -> bool {
    let (unreadable, problem) = judge(span.file, span.start as usize, span.of(text));
    problems.extend(problem);
    unreadable
}
