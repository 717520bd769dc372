//! The project's own number production; a library's float parser would accept `nan`, `1e3` and `.5`.

use super::Round;
use std::fmt;

/// A decimal as it was written: at most four digits, at most three places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Number {
    /// The value in thousandths.
    pub thousandths: i64,
    /// How many decimal places were written.
    pub decimals: u8,
    /// Whether a sign was written.
    pub signed: bool,
}

/// Why a text is not a number here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberError {
    /// Nothing that starts like a number.
    Missing,
    /// `00045`: a leading zero could hide a slip of a digit.
    LeadingZero,
    /// More than four digits before the point.
    TooManyDigits,
    /// More than three places after the point.
    TooManyPlaces,
    /// `5.` or `.5`.
    BarePoint,
    /// `-0` says nothing and often hides a lost digit.
    MinusZero,
    /// `1e3`, `0x10`, `1_000`, `1,5`, `nan`, `inf`.
    Notation,
}

/// A value in base units as a decimal of a unit that is `per` of them, with so many decimals, rounded as told: what a print shows.
pub fn shown(value: i64, per: i64, decimals: u32, round: Round) -> String {
    let scale = 10_i128.pow(decimals.min(9));
    let (top, per) = (i128::from(value) * scale, i128::from(per.max(1)));
    let whole = top.div_euclid(per) + i128::from(round == Round::Up && top.rem_euclid(per) != 0);
    let (sign, size, scale) = (if whole < 0 { "-" } else { "" }, whole.unsigned_abs(), scale.unsigned_abs());
    match decimals {
        0 => format!("{sign}{size}"),
        n => format!("{sign}{}.{:0n$}", size / scale, size % scale, n = n as usize),
    }
}

impl fmt::Display for NumberError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NumberError::Missing => "a number is expected here",
            NumberError::LeadingZero => "a number has no leading zero",
            NumberError::TooManyDigits => "a number has at most four digits before the point",
            NumberError::TooManyPlaces => "a number has at most three decimal places",
            NumberError::BarePoint => "a decimal point needs a digit on both sides",
            NumberError::MinusZero => "-0 is not a number; write 0",
            NumberError::Notation => "write a plain decimal: an optional sign, up to four digits, and optionally a point with up to three",
        })
    }
}

impl Number {
    /// Reads a number at the start of `text`; returns it and how many bytes it took.
    ///
    /// Production: `[ "+" / "-" ] ( "0" / nonzero *3DIGIT ) [ "." 1*3DIGIT ]`, not followed by a letter
    /// directly, another point, a comma with a digit, or an underscore.
    pub fn read(text: &str) -> Result<(Number, usize), (NumberError, usize)> {
        let bytes = text.as_bytes();
        let mut at = 0;
        let negative = bytes.first() == Some(&b'-');
        let signed = negative || bytes.first() == Some(&b'+');
        if signed {
            at = 1;
        }
        let digits = |from: usize| bytes[from.min(bytes.len())..].iter().take_while(|b| b.is_ascii_digit()).count();
        // The whole word that stands there, so that one mistake is marked whole.
        let word = || bytes.iter().take_while(|b| !b.is_ascii_whitespace() && !b";)`\"".contains(b)).count().max(1);
        let whole = digits(at);
        if whole == 0 {
            return Err(match bytes.get(at) {
                Some(b'.') if digits(at + 1) > 0 => (NumberError::BarePoint, word()),
                Some(b) if signed && (*b == b'+' || *b == b'-') => (NumberError::Notation, word()),
                _ if text.get(at..word()).is_some_and(|w| ["nan", "inf", "NaN", "Inf", "infinity"].contains(&w)) => {
                    (NumberError::Notation, word())
                }
                _ => (NumberError::Missing, word()),
            });
        }
        if whole > 1 && bytes[at] == b'0' {
            return Err((NumberError::LeadingZero, word()));
        }
        if whole > 4 {
            return Err((NumberError::TooManyDigits, word()));
        }
        let mut value: i64 = text[at..at + whole].parse().map_err(|_| (NumberError::Notation, word()))?;
        value *= 1000;
        at += whole;
        let mut decimals = 0;
        if bytes.get(at) == Some(&b'.') {
            let places = digits(at + 1);
            if places == 0 {
                return Err((NumberError::BarePoint, word()));
            }
            if places > 3 {
                return Err((NumberError::TooManyPlaces, word()));
            }
            let part: i64 = text[at + 1..at + 1 + places].parse().map_err(|_| (NumberError::Notation, word()))?;
            value += part * [100, 10, 1][places - 1];
            decimals = u8::try_from(places).unwrap_or(3);
            at += 1 + places;
        }
        let next = bytes.get(at).copied();
        let comma = next == Some(b',') && bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
        if comma || matches!(next, Some(b'.' | b'_')) || exponent(&bytes[at..]) || hex(&text[..at], next) {
            return Err((NumberError::Notation, word()));
        }
        if negative && value == 0 {
            return Err((NumberError::MinusZero, at));
        }
        let thousandths = if negative { -value } else { value };
        Ok((Number { thousandths, decimals, signed }, at))
    }
}

fn exponent(rest: &[u8]) -> bool {
    matches!(rest.first(), Some(b'e' | b'E'))
        && rest.get(1).is_some_and(|b| b.is_ascii_digit() || ((*b == b'+' || *b == b'-') && rest.get(2).is_some_and(u8::is_ascii_digit)))
}

fn hex(read: &str, next: Option<u8>) -> bool {
    read.ends_with('0') && matches!(next, Some(b'x' | b'X' | b'o' | b'b'))
}

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match (self.thousandths < 0, self.signed) {
            (true, _) => "-",
            (false, true) => "+",
            (false, false) => "",
        };
        let (whole, part) = (self.thousandths.abs() / 1000, self.thousandths.abs() % 1000);
        let digits = format!("{part:03}");
        let digits = &digits[..usize::from(self.decimals)];
        let point = if digits.is_empty() { "" } else { "." };
        write!(f, "{sign}{whole}{point}{digits}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accepts_plain_decimals_and_writes_them_back() {
        for text in ["0", "+5", "-5", "42", "+12.25", "-0.5", "9999.999", "0.0"] {
            let (n, used) = Number::read(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            assert_eq!(used, text.len(), "{text}");
            assert_eq!(n.to_string(), text);
        }
        assert_eq!(Number::read("-5.25 deg").map(|r| (r.0.thousandths, r.1)), Ok((-5250, 5)));
    }

    #[test]
    fn refuses_what_other_readers_would_take() {
        use NumberError::*;
        let cases = [
            ("nan", Notation),
            ("inf", Notation),
            ("1e308", Notation),
            ("1e-400", Notation),
            ("0x10", Notation),
            ("1_000", Notation),
            ("1,5", Notation),
            ("5.", BarePoint),
            (".5", BarePoint),
            ("--5", Notation),
            ("00045", LeadingZero),
            ("-0", MinusZero),
            ("-0.000", MinusZero),
            ("12345", TooManyDigits),
            ("1.2345", TooManyPlaces),
            ("", Missing),
            ("x", Missing),
            ("1.2.3", Notation),
        ];
        for (text, why) in cases {
            assert_eq!(Number::read(text).map_err(|e| e.0), Err(why), "{text}");
        }
    }
}
