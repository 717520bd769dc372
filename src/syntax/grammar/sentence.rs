//! Sentences made from the productions: what the parser must accept, for tests.

use super::{Kind, MOVE, PRODUCTIONS, Part, Slot, reserved};
use crate::units::{Dimension, UNITS};

/// A random statement. `pick(n)` returns a number below `n`; the same picks give the same sentence.
pub fn sentence(pick: &mut dyn FnMut(usize) -> usize) -> String {
    let mut out = String::new();
    let n = pick(PRODUCTIONS.len() + 6);
    let parts = PRODUCTIONS.get(n).map_or(MOVE.parts, |p| p.parts);
    append(parts, pick, &mut out);
    out
}

fn append(parts: &[Part], pick: &mut dyn FnMut(usize) -> usize, out: &mut String) {
    for part in parts {
        match part {
            Part::Words(w) | Part::Flag(w) => word(w, out),
            Part::Mark(m) => out.push_str(m),
            Part::Slot(slot) => {
                let text = fill(*slot, pick);
                word(&text, out);
            }
            Part::Maybe(inner) => {
                if pick(2) == 1 {
                    append(inner, pick, out);
                }
            }
            Part::UpTo(most, inner) => {
                for _ in 0..pick(most + 1) {
                    append(inner, pick, out);
                }
            }
            Part::Choice(choices) => append(choices[pick(choices.len())], pick, out),
            Part::Named(named) => append(named.parts, pick, out),
        }
    }
}

fn word(text: &str, out: &mut String) {
    if !out.is_empty() {
        out.push(' ');
    }
    out.push_str(text);
}

fn fill(slot: Slot, pick: &mut dyn FnMut(usize) -> usize) -> String {
    match slot.kind() {
        Kind::Name => loop {
            let made = name(pick);
            // The two comments of the grammar: a joint bears no statement's word, a signal is not called contact.
            let taken = slot == Slot::Joint && reserved().any(|r| r == made) || slot == Slot::Signal && made == "contact";
            if !taken {
                return made;
            }
        },
        Kind::Level => {
            if pick(2) == 0 {
                pick(100).to_string()
            } else {
                name(pick)
            }
        }
        Kind::Phrase => (0..=pick(3)).map(|_| name(pick)).collect::<Vec<_>>().join(" "),
        Kind::Angle => format!("{} deg", number(pick, true)),
        Kind::Amount => format!("{} deg", number(pick, false)),
        Kind::Of(dimension) => format!("{} {}", number(pick, true), unit(Some(dimension), pick)),
        Kind::Quantity => format!("{} {}", number(pick, true), unit(None, pick)),
        Kind::Count => (1 + pick(9999)).to_string(),
        Kind::Unit => unit(None, pick).to_string(),
    }
}

fn name(pick: &mut dyn FnMut(usize) -> usize) -> String {
    const LETTERS: &[u8] = b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    const REST: &[u8] = b"abcdefghijklmnopqrstuvwxyz0123456789-_";
    // The notation's own words are names too, where no choice makes them something else.
    if pick(8) == 0 {
        let words: Vec<&str> = super::words_of().collect();
        return words[pick(words.len())].to_string();
    }
    let mut made = String::from(char::from(LETTERS[pick(LETTERS.len())]));
    for _ in 0..pick(8) {
        made.push(char::from(REST[pick(REST.len())]));
    }
    made
}

fn number(pick: &mut dyn FnMut(usize) -> usize, sign: bool) -> String {
    let digits = [10, 100, 1000, 10_000][pick(4)];
    let whole = pick(digits);
    let part: String = match pick(3) {
        0 => (0..=pick(3).min(2)).map(|_| char::from(b"0123456789"[pick(10)])).collect(),
        _ => String::new(),
    };
    let zero = whole == 0 && part.bytes().all(|b| b == b'0');
    let sign = match pick(3) {
        1 if sign => "+",
        2 if sign && !zero => "-",
        _ => "",
    };
    let point = if part.is_empty() { "" } else { "." };
    format!("{sign}{whole}{point}{part}")
}

fn unit(dimension: Option<Dimension>, pick: &mut dyn FnMut(usize) -> usize) -> &'static str {
    let units: Vec<&str> = UNITS.iter().filter(|u| dimension.is_none_or(|d| u.dimension == d)).map(|u| u.name).collect();
    units[pick(units.len())]
}
