//! What to say about a statement that could not be read.

use super::*;
use crate::diag::suggest;
use crate::syntax::grammar::{MOVE_EXAMPLE, Production, pattern, words_of};

/// A mistake that was recognised for what it is.
#[derive(Clone, Copy, Debug)]
pub(super) enum Specific {
    Number(NumberError),
    NoCount,
    SignedAmount(Slot),
    MissingUnit(Slot, Number),
    UnknownUnit(Option<Slot>),
    WrongUnit(Slot, &'static Unit),
    /// The unit follows its number without a blank; the number ends here.
    GluedUnit(usize),
}

/// The furthest place the walk came to, and what it looked for there.
#[derive(Debug, Default)]
pub(super) struct Trouble {
    at: usize,
    expected: [Option<&'static Part>; 8],
    count: usize,
    end: bool,
    specific: Option<(usize, usize, Specific)>,
}

impl Trouble {
    pub(super) fn begin(&mut self) {
        (self.at, self.count, self.end, self.specific) = (0, 0, false, None);
    }
    fn reach(&mut self, at: usize) -> bool {
        if at > self.at {
            self.begin();
            self.at = at;
        }
        at == self.at
    }
    pub(super) fn expected(&mut self, at: usize, part: &'static Part) -> Option<usize> {
        if self.reach(at) && self.count < self.expected.len() {
            self.expected[self.count] = Some(part);
            self.count += 1;
        }
        None
    }
    pub(super) fn specific(&mut self, start: usize, end: usize, what: Specific) -> Option<usize> {
        if self.reach(end) {
            self.specific.get_or_insert((start, end, what));
        }
        None
    }
    fn wanted(&self) -> impl Iterator<Item = &'static Part> {
        self.expected[..self.count].iter().copied().flatten()
    }
    pub(super) fn end(&mut self, at: usize) {
        if self.reach(at) {
            self.end = true;
        }
    }

    /// The one finding for this statement.
    pub(super) fn explain(&self, file: FileId, base: usize, text: &str, begun: bool) -> Diagnostic {
        let at = Place { file, base, text };
        if let Some(problem) = at.capital() {
            return problem;
        }
        if let Some((start, end, what)) = self.specific {
            return at.specific(start, end, what);
        }
        if let Some(problem) = at.entity() {
            return problem;
        }
        let lead = text.len() - text.trim_start_matches(blank).len();
        if self.at <= lead || !begun && !self.in_a_goal(text) {
            return at.unknown(begun);
        }
        let (start, end) = at.token(self.at);
        let before = text[..self.at].trim_end_matches(blank);
        let previous = before.rsplit(blank).next().unwrap_or("");
        let mut wanted: Vec<String> = Vec::new();
        for part in self.wanted() {
            let say = match part {
                Part::Words(w) | Part::Flag(w) | Part::Mark(w) => format!("`{w}`"),
                Part::Slot(slot) => slot.wanted().to_string(),
                _ => continue,
            };
            if !wanted.contains(&say) {
                wanted.push(say);
            }
        }
        if self.end {
            wanted.push("the end of the statement".to_string());
        }
        let wanted = either(&wanted);
        let found = &text[start..end];
        let mut problem = if self.at >= text.trim_end_matches(blank).len() {
            UNREADABLE_STATEMENT.at(at.span(start, end), format!("the statement breaks off: expected {wanted} after `{previous}`"))
        } else {
            UNREADABLE_STATEMENT.at(at.span(start, end), format!("expected {wanted} after `{previous}`, found `{}`", found.escape_debug()))
        };
        let literals = self.wanted().flat_map(|p| match p {
            Part::Words(w) | Part::Flag(w) => w.split(' ').next(),
            _ => None,
        });
        if let Some(near) = suggest(found, literals) {
            problem = problem.help(format!("did you mean `{near}`?"));
        } else if self.end && self.count == 0 {
            problem = problem.help("words for people stand after the statement, outside the backticks");
        }
        if self.parted_name(text, previous, found) {
            problem = problem.help(format!(
                "a name has no blanks; if `{previous} {found}` is one name, write it as the model files do: `{previous}-{found}`"
            ));
        }
        if begun && let Some(production) = nearest(text) {
            problem = problem.help(format!("the form is `{}`, such as `{}`", pattern(production.parts), production.example));
        }
        problem
    }

    /// Whether a name that the writer chooses seems to go on after a blank. Behind a colon stands a role or a move.
    fn parted_name(&self, text: &str, previous: &str, found: &str) -> bool {
        let named = |w: &str| w.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_') && !is_keyword(w);
        let unit = crate::units::UNITS.iter().any(|u| u.name == previous);
        let begun = PRODUCTIONS.iter().any(|p| text.trim_start_matches(blank).starts_with(p.keyword()));
        let starts = previous.starts_with(|c: char| c.is_ascii_alphabetic()) && !matches!(previous, "the" | "a" | "an");
        begun && starts && !unit && named(previous) && !found.is_empty() && named(found) && !text[..self.at].contains(':')
    }

    /// Whether the walk came past joint and direction into something that tells a move.
    fn in_a_goal(&self, text: &str) -> bool {
        let words: Vec<&str> = text[..self.at].split(blank).filter(|w| !w.is_empty()).collect();
        let next = text[self.at..].trim_start_matches(blank);
        match words.len() {
            0 | 1 => false,
            2 => {
                let short = next.is_empty() || next.starts_with(['+', '-']) || next.starts_with(|c: char| c.is_ascii_digit());
                let goal = suggest(next.split(blank).next().unwrap_or(""), ["from", "to", "by", "until"]).is_some();
                short || goal
            }
            _ => true,
        }
    }
}

/// A statement in its file.
struct Place<'t> {
    file: FileId,
    base: usize,
    text: &'t str,
}

impl Place<'_> {
    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.file, self.base + start, self.base + end)
    }
    /// The word at an offset, or the last word where the statement ends.
    fn token(&self, at: usize) -> (usize, usize) {
        let start = at + self.text[at..].len() - self.text[at..].trim_start_matches(blank).len();
        let stop = |c: char| blank(c) || matches!(c, ',' | ';' | ':');
        if start < self.text.len() {
            let rest = &self.text[start..];
            let first = rest.chars().next().map_or(1, char::len_utf8);
            return (start, start + rest.find(stop).unwrap_or(rest.len()).max(first));
        }
        let end = self.text.trim_end_matches(blank).len();
        let start = self.text[..end].rfind(blank).map_or(0, |i| i + 1);
        if start < end { (start, end) } else { (0, self.text.len()) }
    }
    fn entity(&self) -> Option<Diagnostic> {
        let start = self.text.find('&')?;
        let length = self.text[start..].find(';')? + 1;
        let entity = &self.text[start..start + length];
        let named = entity[1..length - 1].chars().all(|c| c.is_ascii_alphanumeric() || c == '#');
        let problem =
            ENTITY_IN_STATEMENT.at(self.span(start, start + length), format!("`{entity}` is not read as a character in a statement"));
        named.then(|| problem.help("write the character itself, from the ASCII alphabet"))
    }
    /// A statement that begins with a capital letter, and would not be read as a move of a joint of that name.
    fn capital(&self) -> Option<Diagnostic> {
        let body = self.text.trim_start_matches(blank);
        let start = self.text.len() - body.len();
        let first = body.split(|c| blank(c) || c == ':').next().filter(|w| !w.is_empty())?;
        let small = first.to_ascii_lowercase();
        let known = small != first && PRODUCTIONS.iter().any(|p| p.first_word() == small);
        let span = self.span(start, start + first.len());
        known.then(|| {
            let problem =
                UNKNOWN_STATEMENT.at(span, format!("no statement starts with `{first}`: statements are written in small letters"));
            problem.fix(span, &*small, format!("write `{small}`"))
        })
    }
    fn unknown(&self, begun: bool) -> Diagnostic {
        let lead = self.text.len() - self.text.trim_start_matches(blank).len();
        let body = self.text.trim_matches(blank);
        if body.is_empty() {
            // The backticks themselves are all there is to mark.
            return UNKNOWN_STATEMENT
                .at(self.span(0, self.text.len()), "the code span is empty")
                .help("write a statement in it or remove the backticks");
        }
        let two = body.match_indices(blank).nth(1).map_or(body.len(), |(i, _)| i);
        let length = body[..two].trim_end_matches([',', ';', ':']).len();
        let head = &body[..length];
        let span = self.span(lead, lead + length);
        let problem = UNKNOWN_STATEMENT.at(span, format!("no statement starts with `{}`", head.escape_debug()));
        match nearest(body) {
            Some(p) => problem.help(format!("the nearest statement is `{}`, such as `{}`", pattern(p.parts), p.example)),
            None if begun => problem,
            None => problem
                .help(format!("a move is written joint, direction, goal: `{MOVE_EXAMPLE}`"))
                .help("words for people are written without backticks"),
        }
    }
    fn specific(&self, start: usize, end: usize, what: Specific) -> Diagnostic {
        let span = self.span(start, end);
        let written = self.text[start..end].escape_debug();
        let before = self.text[..start].trim_end_matches(blank).rsplit(blank).next().unwrap_or("");
        match what {
            Specific::Number(NumberError::MinusZero) => {
                BAD_NUMBER.at(span, format!("`{written}`: {}", NumberError::MinusZero)).fix(span, "0", "write 0")
            }
            Specific::Number(why) => BAD_NUMBER.at(span, format!("`{written}`: {why}")),
            Specific::NoCount => BAD_NUMBER.at(span, format!("`{written}`: a whole number from 1 is expected here")),
            Specific::SignedAmount(slot) => {
                let bare = self.text[start + 1..end].to_string();
                let why = if slot == Slot::Within { "a band goes both ways" } else { "the direction word gives the sign" };
                let problem = SIGNED_AMOUNT.at(span, format!("`{written}`: {why}; write `{before} {bare}`"));
                // A minus may have been meant as the direction: no certain fix there.
                if written.to_string().starts_with('+') { problem.fix(span, bare, "leave the sign out") } else { problem }
            }
            Specific::MissingUnit(slot, number) => {
                match slot.kind() {
                    Kind::Angle | Kind::Amount => MISSING_UNIT
                        .at(span, format!("an angle needs its unit: write `{before} {number} deg`"))
                        .fix(self.span(end, end), " deg", "add the unit deg"),
                    Kind::Of(d) => MISSING_UNIT.at(span, format!("{} needs its unit: {}", d.a_name(), d.units())),
                    _ => MISSING_UNIT.at(span, format!("`{number}` needs its unit, at each end of a range")),
                }
            }
            Specific::UnknownUnit(slot) => {
                let problem = WRONG_UNIT.at(span, format!("`{written}` is not a unit known here"));
                match slot.map(Slot::kind) {
                    Some(Kind::Angle | Kind::Amount) => {
                        let problem = problem.help("angles of a statement are in deg");
                        let degrees = ["degree", "degrees", "degs", "Deg", "DEG"].contains(&&self.text[start..end]);
                        if degrees { problem.fix(span, "deg", "write deg") } else { problem }
                    }
                    Some(Kind::Of(d)) => problem.help(format!("{} is in {}", d.a_name(), d.units())),
                    _ => match suggest(&self.text[start..end], crate::units::UNITS.iter().map(|u| u.name)) {
                        Some(near) => problem.help(format!("did you mean `{near}`?")),
                        None => problem,
                    },
                }
            }
            Specific::WrongUnit(slot, unit) => {
                let wanted = match slot.kind() {
                    Kind::Of(d) => format!("{} is wanted here, in {}", d.a_name(), d.units()),
                    _ if unit.dimension == Dimension::Angle => "angles of a statement are in deg, as the read-outs are".to_string(),
                    _ => "an angle in deg is wanted here".to_string(),
                };
                let measures = unit.dimension.a_name().split_once(' ').map_or("", |(_, name)| name);
                let problem = WRONG_UNIT.at(span, format!("`{}` is a unit of {measures}; {wanted}", unit.name));
                let jaw = slot.kind() == Kind::Angle && unit.dimension == Dimension::Length;
                if jaw { problem.help("the jaw is driven by `jaw open to 120 mm` and `jaw close to 20 mm`") } else { problem }
            }
            Specific::GluedUnit(after) => {
                let (number, unit) = (&self.text[start..after], &self.text[after..end]);
                BAD_NUMBER.at(span, format!("one blank stands between a number and its unit: write `{number} {unit}`")).fix(
                    span,
                    format!("{number} {unit}"),
                    "put a blank before the unit",
                )
            }
        }
    }
}

/// The production whose words are most like the start of a text, if any is near.
fn nearest(text: &str) -> Option<&'static Production> {
    let words: Vec<&str> = text.split(|c| blank(c) || matches!(c, ':' | ',' | ';')).filter(|w| !w.is_empty()).collect();
    let head = |n: usize| words[..n.min(words.len())].join(" ");
    let by_words = suggest_production(&head);
    by_words.or_else(|| PRODUCTIONS.iter().find(|p| Some(p.first_word()) == words.first().copied()))
}

fn suggest_production(head: &dyn Fn(usize) -> String) -> Option<&'static Production> {
    let distance = |p: &Production| {
        let keyword = p.keyword();
        let written = head(keyword.split(' ').count());
        suggest(&written, [keyword]).map(|_| strsim::damerau_levenshtein(&written, keyword))
    };
    PRODUCTIONS.iter().filter_map(|p| distance(p).map(|d| (d, p))).min_by_key(|(d, _)| *d).map(|(_, p)| p)
}

/// Whether a word is one of the notation's own.
pub(super) fn is_keyword(word: &str) -> bool {
    words_of().any(|w| w == word)
}

/// `a, b or c`.
fn either(list: &[String]) -> String {
    match list.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => "the end of the statement".to_string(),
    }
}

/// What may come next after `text`, the beginning of a statement: for completion in an editor. Fixed words stand
/// as they are written, slots as their name in angle brackets.
pub fn expected_at(text: &str) -> Vec<String> {
    if !text.trim_start_matches(blank).contains(blank) {
        let begun = PRODUCTIONS.iter().map(Production::keyword).filter(|k| k.starts_with(text.trim_start_matches(blank)));
        return begun.map(str::to_string).collect();
    }
    let mut walk = Walk::new(FileId(0));
    walk.begin(0, text);
    for production in PRODUCTIONS {
        walk.whole(production.parts, |_| None);
    }
    walk.whole(MOVE.parts, |_| None);
    if walk.trouble.at < text.trim_end_matches(blank).len() {
        return Vec::new();
    }
    let mut list = Vec::new();
    for part in walk.trouble.wanted() {
        let say = match part {
            Part::Words(w) | Part::Flag(w) | Part::Mark(w) => (*w).to_string(),
            Part::Slot(slot) => format!("<{}>", slot.name()),
            _ => continue,
        };
        if !list.contains(&say) {
            list.push(say);
        }
    }
    list
}
