//! Plain words, cut into sentences and tokens. Code spans and the targets of links are passed over.

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::writing) enum Kind {
    /// A word, an identifier or a name: `valve`, `VAL3`, `B3-002`, `drain-rack`.
    Word,
    /// Digits with perhaps a point: `40`, `0.5`, `.5`, `10,000`.
    Number,
    /// Any other character.
    Mark,
}

/// A word, a number or a mark of a text.
#[derive(Clone, Copy, Debug)]
pub(in crate::writing) struct Token<'t> {
    /// As written.
    pub text: &'t str,
    /// Its first byte in the text.
    pub at: usize,
    /// What it is.
    pub kind: Kind,
}

impl<'t> Token<'t> {
    /// One past its last byte.
    pub fn end(&self) -> usize {
        self.at + self.text.len()
    }
    /// Whether it is this word, in any case.
    pub fn is(&self, word: &str) -> bool {
        self.text.eq_ignore_ascii_case(word)
    }
    /// Whether it is one of these words, in any case.
    pub fn any(&self, words: &[&str]) -> bool {
        words.iter().any(|w| self.is(w))
    }
    /// Capital letters only, two at least: a label or a keyword.
    pub fn is_capitals(&self) -> bool {
        self.kind == Kind::Word
            && self.text.bytes().filter(u8::is_ascii_uppercase).count() > 1
            && !self.text.bytes().any(|b| b.is_ascii_lowercase())
    }
    /// A word with a digit in it, or a single capital: the name of one thing.
    pub fn is_id(&self) -> bool {
        self.kind == Kind::Word
            && (self.text.bytes().any(|b| b.is_ascii_digit()) || self.text.len() == 1 && self.text.bytes().all(|b| b.is_ascii_uppercase()))
    }
}

/// A text in tokens, with the places where its sentences end.
#[derive(Default)]
pub(in crate::writing) struct Reading<'t> {
    tokens: Vec<Token<'t>>,
    ends: Vec<usize>,
}

impl<'t> Reading<'t> {
    /// Reads `raw`. In lists and tables (`by_line`) a line end ends a sentence.
    pub fn of(raw: &'t str, by_line: bool) -> Reading<'t> {
        let mut reading = Reading::default();
        let bytes = raw.as_bytes();
        let mut i = 0;
        while i < bytes.len() {
            let b = bytes[i];
            match b {
                b'`' => i += bytes[i + 1..].iter().position(|b| *b == b'`').map_or(0, |n| n + 1),
                b']' if bytes.get(i + 1) == Some(&b'(') => i += bytes[i..].iter().position(|b| *b == b')').unwrap_or(0),
                b'[' | b']' | b'*' | b'_' | b'>' | b'#' => {}
                b'.' | b'!' | b'?' | b':' if bytes.get(i + 1).is_none_or(u8::is_ascii_whitespace) => {
                    reading.tokens.push(Token { text: &raw[i..=i], at: i, kind: Kind::Mark });
                    if b != b':' && !is_point_of_number(&reading.tokens, raw, i) {
                        reading.end();
                    }
                }
                b'\n' if by_line || bytes.get(i + 1) == Some(&b'\n') => reading.end(),
                b if b.is_ascii_whitespace() => {}
                _ => {
                    let end = token_end(raw, i);
                    let text = &raw[i..end];
                    reading.tokens.push(Token { text, at: i, kind: kind(text) });
                    i = end;
                    continue;
                }
            }
            i += 1;
        }
        reading.end();
        reading
    }
    fn end(&mut self) {
        if self.ends.last().copied().unwrap_or(0) < self.tokens.len() {
            self.ends.push(self.tokens.len());
        }
    }
    /// Its sentences, none of them empty.
    pub fn sentences(&self) -> impl Iterator<Item = &[Token<'t>]> {
        let starts = std::iter::once(0).chain(self.ends.iter().copied());
        starts.zip(&self.ends).map(|(from, to)| &self.tokens[from..*to])
    }
}

/// Whether the full stop at `i`, just read, belongs to the number before it: "40. bar".
fn is_point_of_number(tokens: &[Token<'_>], raw: &str, i: usize) -> bool {
    let number = tokens.len().checked_sub(2).is_some_and(|n| tokens[n].kind == Kind::Number && tokens[n].end() == i);
    number && raw[i + 1..].trim_start().starts_with(|c: char| c.is_ascii_lowercase())
}

fn kind(text: &str) -> Kind {
    let mut chars = text.chars();
    match chars.next() {
        Some(c) if c.is_ascii_digit() || c == '.' => {
            if text.chars().all(|c| c.is_ascii_digit() || ".,".contains(c)) {
                Kind::Number
            } else {
                Kind::Word
            }
        }
        Some(c) if c.is_alphabetic() || c == '%' || c == '\u{b0}' => Kind::Word,
        _ => Kind::Mark,
    }
}

/// Where the token ends that begins at `start`.
fn token_end(raw: &str, start: usize) -> usize {
    let letter = |c: char| c.is_alphanumeric();
    let rest = &raw[start..];
    let mut chars = rest.char_indices().peekable();
    let Some((_, first)) = chars.next() else { return start };
    let point = first == '.' && chars.peek().is_some_and(|(_, c)| c.is_ascii_digit());
    if !letter(first) && !point {
        return start + first.len_utf8();
    }
    while let Some((i, c)) = chars.next() {
        let inner = "-._/'\u{2019},".contains(c);
        let next = chars.peek().map(|(_, c)| *c);
        let numeral = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        // A comma belongs to a number only between digits.
        let comma = c == ',' && !(rest[..i].ends_with(|c: char| c.is_ascii_digit()) && numeral(next) && kind(&rest[..i]) == Kind::Number);
        if letter(c) || inner && !comma && next.is_some_and(letter) {
            continue;
        }
        return start + i;
    }
    raw.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<Vec<&str>> {
        Reading::of(text, false).sentences().map(|s| s.iter().map(|t| t.text).collect()).collect()
    }

    #[test]
    fn sentences_end_at_full_stops_and_numbers_keep_their_points() {
        assert_eq!(words("Take cup 3. Read it!"), [vec!["Take", "cup", "3", "."], vec!["Read", "it", "!"]]);
        assert_eq!(words("below 40. bar"), [vec!["below", "40", ".", "bar"]]);
        assert_eq!(words("10,000 yds, .01 V \u{b1} .001 V"), [vec!["10,000", "yds", ",", ".01", "V", "\u{b1}", ".001", "V"]]);
        assert_eq!(words("see [the rack](#rack) and `power on arm`."), [vec!["see", "the", "rack", "and", "."]]);
        assert_eq!(words("drain-rack, uSv/h, SAT/UNSAT"), [vec!["drain-rack", ",", "uSv/h", ",", "SAT/UNSAT"]]);
    }

    #[test]
    fn an_id_is_a_word_with_a_digit_or_one_capital() {
        let token = |text| Token { text, at: 0, kind: kind(text) };
        assert!(token("VAL3").is_id() && token("A").is_id() && token("S-7").is_id());
        assert!(!token("valve").is_id() && !token("40").is_id() && !token("a").is_id());
    }
}
