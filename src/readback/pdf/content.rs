//! What stands in a stream: the operators of a page with what is before each, and the objects that are packed together.
//!
//! What is not written as the format asks refuses the stream: a reader that goes on behind what it cannot read, or stops there,
//! sees less than the paper shows. A library's parser of pages does either, and takes a fifth of the time of a print.

use lopdf::{Dictionary, Object, StringFormat};
use std::borrow::Cow;

/// Lists and dictionaries within each other deeper than this are refused.
const DEEPEST: usize = 16;

/// A name, without its stroke.
pub(super) type Name<'p> = Cow<'p, [u8]>;

/// One thing before an operator.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Operand<'p> {
    Integer(i64),
    Real(f32),
    Name(Name<'p>),
    Text(Vec<u8>),
    List(Vec<Operand<'p>>),
    /// Each key once.
    Dictionary(Vec<(Name<'p>, Operand<'p>)>),
    /// `true` and `false`; none for `null`.
    Constant(Option<bool>),
    /// To an object, in objects alone.
    Reference(u32, u16),
}

impl<'p> Operand<'p> {
    pub(super) fn number(&self) -> Option<f32> {
        match self {
            Operand::Integer(n) => Some(*n as f32),
            Operand::Real(n) => Some(*n),
            _ => None,
        }
    }
    pub(super) fn name(&self) -> Option<&[u8]> {
        if let Operand::Name(name) = self { Some(name) } else { None }
    }
    pub(super) fn text(&self) -> Option<&[u8]> {
        if let Operand::Text(text) = self { Some(text) } else { None }
    }
    pub(super) fn list(&self) -> Option<&[Operand<'p>]> {
        if let Operand::List(list) = self { Some(list) } else { None }
    }
    /// What stands at a key of a dictionary.
    pub(super) fn at(&self, key: &str) -> Option<&Operand<'p>> {
        let Operand::Dictionary(entries) = self else { return None };
        entries.iter().find(|(k, _)| **k == *key.as_bytes()).map(|(_, value)| value)
    }

    fn object(self) -> Object {
        match self {
            Operand::Integer(n) => Object::Integer(n),
            Operand::Real(n) => Object::Real(n),
            Operand::Name(name) => Object::Name(name.into_owned()),
            Operand::Text(text) => Object::String(text, StringFormat::Literal),
            Operand::List(list) => Object::Array(list.into_iter().map(Operand::object).collect()),
            Operand::Dictionary(entries) => {
                let mut out = Dictionary::new();
                entries.into_iter().for_each(|(key, value)| out.set(key.into_owned(), value.object()));
                Object::Dictionary(out)
            }
            Operand::Constant(value) => value.map_or(Object::Null, Object::Boolean),
            Operand::Reference(number, generation) => Object::Reference((number, generation)),
        }
    }
}

/// The object at the start of some bytes.
pub(super) fn object(bytes: &[u8]) -> Result<Object, String> {
    let mut stream = Stream { bytes, at: 0, refers: true };
    stream.space();
    stream.operand(0).map(Operand::object)
}

/// A content stream being read.
pub(super) struct Stream<'p> {
    bytes: &'p [u8],
    at: usize,
    /// Whether references can stand in it.
    refers: bool,
}

const SPACE: u8 = 1;
const DELIMITER: u8 = 2;
/// White space of the format, and what else ends a name, number or operator.
const KINDS: [u8; 256] = {
    let mut out = [0; 256];
    let (mut i, spaces) = (0, b"\0\t\n\x0c\r ");
    while i < spaces.len() {
        out[spaces[i] as usize] = SPACE;
        i += 1;
    }
    let (mut i, delimiters) = (0, b"()<>[]{}/%");
    while i < delimiters.len() {
        out[delimiters[i] as usize] = DELIMITER;
        i += 1;
    }
    out
};

fn kind(b: u8) -> u8 {
    KINDS[usize::from(b)]
}

fn digit(b: u8) -> Option<u8> {
    match b {
        b'0'..=b'9' => Some(b - b'0'),
        b'A'..=b'F' => Some(b - b'A' + 10),
        b'a'..=b'f' => Some(b - b'a' + 10),
        _ => None,
    }
}

impl<'p> Stream<'p> {
    pub(super) fn new(bytes: &'p [u8]) -> Stream<'p> {
        Stream { bytes, at: 0, refers: false }
    }

    /// The next operator; what stands before it goes into `operands`. None at the end.
    pub(super) fn next(&mut self, operands: &mut Vec<Operand<'p>>) -> Result<Option<&'p str>, String> {
        operands.clear();
        loop {
            self.space();
            let Some(first) = self.peek() else {
                return if operands.is_empty() { Ok(None) } else { Err("ends before an operator".to_owned()) };
            };
            if kind(first) == DELIMITER || matches!(first, b'0'..=b'9' | b'+' | b'-' | b'.') {
                operands.push(self.operand(0)?);
                continue;
            }
            let word = self.regular();
            match constant(word) {
                Some(constant) => operands.push(constant),
                None => return std::str::from_utf8(word).map(Some).map_err(|_| self.unreadable()),
            }
        }
    }

    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn unreadable(&self) -> String {
        format!("cannot be read at byte {} of a stream", self.at)
    }

    /// Passes over white space and comments.
    fn space(&mut self) {
        while let Some(b) = self.peek() {
            if kind(b) == SPACE {
                self.at += 1;
            } else if b == b'%' {
                while self.peek().is_some_and(|b| !matches!(b, b'\n' | b'\r')) {
                    self.at += 1;
                }
            } else {
                return;
            }
        }
    }

    /// Bytes up to white space or a delimiter.
    fn regular(&mut self) -> &'p [u8] {
        let rest = &self.bytes[self.at..];
        let length = rest.iter().position(|b| kind(*b) != 0).unwrap_or(rest.len());
        self.at += length;
        &rest[..length]
    }

    fn operand(&mut self, depth: usize) -> Result<Operand<'p>, String> {
        if depth > DEEPEST {
            return Err(self.unreadable());
        }
        match (self.peek(), self.bytes.get(self.at + 1)) {
            (Some(b'/'), _) => self.name().map(Operand::Name),
            (Some(b'('), _) => self.literal().map(Operand::Text),
            (Some(b'['), _) => self.list(depth).map(Operand::List),
            (Some(b'<'), Some(b'<')) => self.dictionary(depth).map(Operand::Dictionary),
            (Some(b'<'), _) => self.hexadecimal().map(Operand::Text),
            (Some(b'0'..=b'9' | b'+' | b'-' | b'.'), _) => {
                let number = self.number()?;
                Ok(self.reference(&number).unwrap_or(number))
            }
            (Some(b't' | b'f' | b'n'), _) => constant(self.regular()).ok_or_else(|| self.unreadable()),
            _ => Err(self.unreadable()),
        }
    }

    /// Digits with at most one point and one sign in front.
    fn number(&mut self) -> Result<Operand<'p>, String> {
        /// Up to here every whole number is one of 32 bits with a point, and so is every power of ten.
        const EXACT: (u32, usize) = (1 << 24, 10);
        const POWERS: [f32; 11] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10];
        let word = self.regular();
        let (minus, digits) = match word {
            [b'-', digits @ ..] => (true, digits),
            [b'+', digits @ ..] => (false, digits),
            digits => (false, digits),
        };
        let (mut value, mut point) = (0_u32, None);
        for (at, b) in digits.iter().enumerate() {
            match b {
                b'0'..=b'9' => value = value.saturating_mul(10).saturating_add(u32::from(b - b'0')),
                b'.' if point.is_none() => point = Some(at),
                _ => return Err(self.unreadable()),
            }
        }
        if digits.len() <= usize::from(point.is_some()) {
            return Err(self.unreadable());
        }
        let behind = point.map_or(0, |at| digits.len() - at - 1);
        let text = || std::str::from_utf8(word).map_err(|_| self.unreadable());
        Ok(match point {
            None if value < u32::MAX => Operand::Integer(if minus { -i64::from(value) } else { i64::from(value) }),
            None => text()?.parse().map(Operand::Integer).map_err(|_| self.unreadable())?,
            // One rounding of exact numbers is what the nearest number is.
            Some(_) if value <= EXACT.0 && behind <= EXACT.1 => {
                let value = value as f32 / POWERS[behind];
                Operand::Real(if minus { -value } else { value })
            }
            Some(_) => text()?.parse().map(Operand::Real).map_err(|_| self.unreadable())?,
        })
    }

    /// The reference that begins with this number, if it is one.
    fn reference(&mut self, number: &Operand<'p>) -> Option<Operand<'p>> {
        let &Operand::Integer(number) = number else { return None };
        let start = self.at;
        let rest = |stream: &mut Self| {
            let number = u32::try_from(number).ok().filter(|_| stream.refers)?;
            stream.space();
            let generation = std::str::from_utf8(stream.regular()).ok()?.parse().ok()?;
            stream.space();
            (stream.regular() == b"R").then_some(Operand::Reference(number, generation))
        };
        let found = rest(self);
        if found.is_none() {
            self.at = start;
        }
        found
    }

    fn name(&mut self) -> Result<Name<'p>, String> {
        self.at += 1;
        let word = self.regular();
        if !word.contains(&b'#') {
            return Ok(Cow::Borrowed(word));
        }
        let mut out = Vec::with_capacity(word.len());
        let mut rest = word.iter();
        while let Some(b) = rest.next() {
            let b = match b {
                b'#' => rest.next().and_then(|a| digit(*a)).zip(rest.next().and_then(|b| digit(*b))).map(|(a, b)| a << 4 | b),
                b => Some(*b),
            };
            out.push(b.ok_or_else(|| self.unreadable())?);
        }
        Ok(Cow::Owned(out))
    }

    fn hexadecimal(&mut self) -> Result<Vec<u8>, String> {
        self.at += 1;
        let rest = &self.bytes[self.at..];
        let length = rest.iter().position(|b| *b == b'>').ok_or_else(|| self.unreadable())?;
        let mut out = Vec::with_capacity(length.div_ceil(2));
        let mut half = None;
        for b in &rest[..length] {
            match (digit(*b), half) {
                (Some(low), Some(high)) => {
                    out.push(high << 4 | low);
                    half = None;
                }
                (Some(high), None) => half = Some(high),
                (None, _) if kind(*b) == SPACE => {}
                (None, _) => return Err(self.unreadable()),
            }
        }
        // The last half of a byte may be left out; it is 0.
        out.extend(half.map(|high: u8| high << 4));
        self.at += length + 1;
        Ok(out)
    }

    fn literal(&mut self) -> Result<Vec<u8>, String> {
        self.at += 1;
        let mut out = Vec::new();
        let mut open = 0_usize;
        loop {
            let b = self.byte()?;
            match b {
                b'(' => open += 1,
                b')' if open == 0 => return Ok(out),
                b')' => open -= 1,
                b'\\' => {
                    out.extend(self.escaped()?);
                    continue;
                }
                // However a line ends, it is one line feed.
                b'\r' => {
                    self.line_feed();
                    out.push(b'\n');
                    continue;
                }
                _ => {}
            }
            out.push(b);
        }
    }

    fn byte(&mut self) -> Result<u8, String> {
        let b = self.peek().ok_or_else(|| self.unreadable())?;
        self.at += 1;
        Ok(b)
    }

    fn line_feed(&mut self) {
        if self.peek() == Some(b'\n') {
            self.at += 1;
        }
    }

    /// What stands behind a backslash; none at the end of a line.
    fn escaped(&mut self) -> Result<Option<u8>, String> {
        Ok(Some(match self.byte()? {
            b'n' => b'\n',
            b'r' => b'\r',
            b't' => b'\t',
            b'b' => 8,
            b'f' => 12,
            b'\n' => return Ok(None),
            b'\r' => {
                self.line_feed();
                return Ok(None);
            }
            first @ b'0'..=b'7' => {
                let mut value = u16::from(first - b'0');
                for _ in 0..2 {
                    let Some(b @ b'0'..=b'7') = self.peek() else { break };
                    value = value << 3 | u16::from(b - b'0');
                    self.at += 1;
                }
                // What is more than a byte is left out, as the format says.
                (value & 0xff) as u8
            }
            other => other,
        }))
    }

    fn list(&mut self, depth: usize) -> Result<Vec<Operand<'p>>, String> {
        self.at += 1;
        let mut out = Vec::new();
        loop {
            self.space();
            if self.peek() == Some(b']') {
                self.at += 1;
                return Ok(out);
            }
            out.push(self.operand(depth + 1)?);
        }
    }

    fn dictionary(&mut self, depth: usize) -> Result<Vec<(Name<'p>, Operand<'p>)>, String> {
        self.at += 2;
        let mut out: Vec<(Name<'p>, Operand<'p>)> = Vec::new();
        loop {
            self.space();
            match self.peek() {
                Some(b'/') => {
                    let key = self.name()?;
                    self.space();
                    let value = self.operand(depth + 1)?;
                    // Of two under one key each reader takes another.
                    if out.iter().any(|(k, _)| *k == key) {
                        return Err(self.unreadable());
                    }
                    out.push((key, value));
                }
                Some(b'>') if self.bytes.get(self.at + 1) == Some(&b'>') => {
                    self.at += 2;
                    return Ok(out);
                }
                _ => return Err(self.unreadable()),
            }
        }
    }
}

fn constant<'p>(word: &[u8]) -> Option<Operand<'p>> {
    Some(Operand::Constant(match word {
        b"true" => Some(true),
        b"false" => Some(false),
        b"null" => None,
        _ => return None,
    }))
}
