//! What a sentence does: gives an order, states something, joins two orders.
//!
//! Invariant: an ambiguous verb counts as an order only where what follows says so: an article, a number, an identifier or
//! a pronoun within two words. Where in doubt nothing is an order, so that a warning is worth reading.

use super::reading::{Kind, Token};
use super::verbs::{Verb, Verbs, is_participle};
use crate::model::policy::VerbClass;

/// Words that begin a noun with something meant by it.
const DETERMINERS: &[&str] = &[
    "the", "a", "an", "this", "that", "these", "those", "each", "every", "both", "all", "any", "no", "its", "your", "their", "our", "his",
    "her", "one", "two", "three", "it", "them", "which", "what", "whether",
];
/// Words that begin another clause or another part of the sentence.
const BOUNDS: &[&str] = &[
    "that", "which", "who", "whether", "if", "when", "whenever", "until", "before", "after", "because", "while", "as", "unless", "since",
    "once", "where", "why", "what", "so", "than", "then",
];
/// Words behind which an order often follows a comma.
const OPENERS: &[&str] = &["if", "when", "whenever", "once", "before", "after", "prior", "while", "during", "until", "unless", "at"];
const PREPOSITIONS: &[&str] = &["of", "in", "on", "at", "by", "with", "from", "for", "to", "between", "under", "above", "below"];

/// One sentence with the verbs in force.
#[derive(Clone, Copy)]
pub(in crate::writing) struct Sentence<'s, 't> {
    /// Its tokens.
    pub tokens: &'s [Token<'t>],
    /// The verbs.
    pub verbs: &'s Verbs<'s>,
}

/// How sure an order must be.
#[derive(Clone, Copy, PartialEq)]
pub(in crate::writing) enum Expect {
    /// An order is to be expected here: a step.
    Order,
    /// A statement is to be expected here: an alert, a note, an observation.
    Statement,
}

impl<'t> Sentence<'_, 't> {
    /// The token at `i`; an empty one behind the end.
    pub fn at(&self, i: usize) -> Token<'t> {
        self.tokens.get(i).copied().unwrap_or(Token { text: "", at: 0, kind: Kind::Mark })
    }
    /// How many words and numbers it has; an identifier is one.
    pub fn words(&self) -> usize {
        self.tokens.iter().filter(|t| t.kind != Kind::Mark).count()
    }
    /// The first token that is one of these words, from `from` on.
    pub fn find(&self, from: usize, words: &[&str]) -> Option<usize> {
        (from..self.tokens.len()).find(|i| self.at(*i).any(words))
    }
    /// Where these words stand one after the other.
    pub fn phrase(&self, words: &[&str]) -> Option<usize> {
        (0..self.tokens.len()).find(|i| words.iter().enumerate().all(|(n, w)| self.at(i + n).is(w)))
    }
    /// Where the clause that `i` stands in ends.
    pub fn clause_end(&self, i: usize) -> usize {
        let ends = |t: &Token<'_>| t.any(BOUNDS) || t.kind == Kind::Mark && matches!(t.text, "," | ";" | ":" | "." | "!" | "(");
        (i + 1..self.tokens.len()).find(|n| ends(&self.tokens[*n])).unwrap_or(self.tokens.len())
    }
    /// Whether the clause behind `i` states something.
    pub fn stated(&self, i: usize) -> bool {
        let ordered = |n: usize| self.at(n - 1).any(&["and", "then"]) && self.verbs.order(self.at(n).text).is_some();
        (i + 1..self.clause_end(i)).any(|n| self.verbs.finite(self.at(n).text) && !self.at(n).is_capitals() && !ordered(n))
    }
    /// Something meant by an order at `i` follows within two words.
    fn target_follows(&self, i: usize) -> bool {
        let meant = |t: Token<'_>| t.any(DETERMINERS) || t.is_id() || t.kind == Kind::Number;
        meant(self.at(i + 1)) || self.at(i + 1).kind == Kind::Word && !self.at(i + 1).any(PREPOSITIONS) && meant(self.at(i + 2))
    }
    /// "wait for", "look at", "switch off": a verb with the small word that belongs to it.
    fn with_particle(&self, i: usize) -> bool {
        let (verb, next) = (self.at(i), self.at(i + 1));
        verb.any(&["wait", "look", "listen", "call", "ask", "zoom"]) && next.any(&["for", "at", "to"])
            || verb.any(&["switch", "turn", "put", "take", "shut", "power", "write", "lift", "set", "pull", "move", "go"])
                && next.any(&["on", "off", "out", "down", "up", "back", "away"])
    }
    /// "stop work if", "lock hatches before": a verb, one word, and a condition.
    fn waits(&self, i: usize) -> bool {
        self.at(i + 1).kind == Kind::Word && self.at(i + 2).any(&["if", "when", "before", "until", "unless"])
    }
    /// The verb at `i` if it gives an order there.
    pub fn order_at(&self, i: usize, expect: Expect) -> Option<Verb> {
        let token = self.at(i);
        let verb = self.verbs.order(token.text)?;
        if self.at(i + 1).is("of") {
            return None;
        }
        let asks = matches!(verb.class, VerbClass::Observe | VerbClass::Record | VerbClass::Communicate);
        let takes_clause = asks && !verb.ambiguous || token.any(&["check", "note", "read", "record", "monitor", "watch", "report"]);
        let gives = match (expect, verb.ambiguous) {
            (Expect::Order, _) => takes_clause || !self.stated(i),
            (Expect::Statement, false) => verb.class == VerbClass::Observe || !self.stated(i),
            (Expect::Statement, true) => (self.target_follows(i) || self.with_particle(i) || self.waits(i)) && !self.stated(i),
        };
        gives.then_some(verb)
    }
    /// Where the sentence's own first word stands, behind "please", "now" and adverbs.
    pub fn head(&self) -> usize {
        let passed = |t: Token<'_>| {
            t.any(&["please", "now", "then", "first", "next", "finally", "\"", "("]) || t.text.len() > 4 && t.text.ends_with("ly")
        };
        (0..self.tokens.len()).find(|i| !passed(self.at(*i))).unwrap_or(0)
    }
    /// The order that opens the sentence, with its place.
    pub fn opening(&self, expect: Expect) -> Option<(usize, Verb)> {
        let head = self.head();
        Some((head, self.order_at(head, expect)?))
    }
    /// The order behind an introductory clause: "Before lifting, set speed to LOW".
    pub fn behind_opener(&self) -> Option<(usize, Verb)> {
        if !self.at(0).any(OPENERS) {
            return None;
        }
        let comma = self.tokens.iter().position(|t| t.text == ",")?;
        let at = comma + 1;
        let verb = self.verbs.order(self.at(at).text)?;
        let named = self.at(at + 1).kind != Kind::Mark && !self.at(at + 1).is("of");
        (named && !self.stated(at)).then_some((at, verb))
    }
    /// "must be switched off", "needs to obtain", "is to be lowered": from its first to its last word.
    pub fn demand(&self) -> Option<(usize, usize)> {
        let acts = |i: usize| {
            let be = self.at(i).is("be");
            be && is_participle(self.at(i + 1).text) || !be && self.verbs.order(self.at(i).text).is_some()
        };
        for i in 0..self.tokens.len() {
            let t = self.at(i);
            let to = self.at(i + 1).is("to");
            let from = if t.any(&["must", "shall", "should"]) {
                i + 1
            } else if to
                && (t.any(&["has", "have", "need", "needs", "necessary", "required"]) || t.any(&["is", "are"]) && self.at(i + 2).is("be"))
            {
                i + 2
            } else {
                continue;
            };
            if acts(from) {
                return Some((i, if self.at(from).is("be") { from + 1 } else { from }));
            }
        }
        None
    }
    /// Where a second order is joined on: the joining mark or word, the verb's place, and the verb.
    pub fn joined_order(&self, from: usize) -> Option<(usize, usize, Verb)> {
        let shouted = self.at(from).is_capitals();
        for i in from + 1..self.tokens.len() {
            let joiner = self.at(i);
            if !(joiner.any(&["and", "then"]) || matches!(joiner.text, "," | ";")) {
                continue;
            }
            let passed = |t: Token<'_>| t.any(&["and", "then", "afterwards"]);
            let at = (i + 1..self.tokens.len()).find(|n| !passed(self.at(*n))).unwrap_or(self.tokens.len());
            let token = self.at(at);
            if token.is_capitals() && !shouted {
                continue;
            }
            let Some(verb) = self.verbs.order(token.text) else { continue };
            let ends = self.at(at + 1).text.is_empty() || self.at(at + 1).text == ".";
            let alone = ends && !verb.ambiguous && joiner.any(&["and", "then"]);
            let preceded = i > 0 && self.at(i - 1).any(&["the", "a", "an"]);
            if !preceded && (self.with_particle(at) || (self.target_follows(at) || alone) && !self.at(at + 1).is("of") && !self.stated(at))
            {
                return Some((i, at, verb));
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::reading::Reading;
    use super::*;

    fn with<T>(text: &str, ask: impl Fn(Sentence<'_, '_>) -> T) -> T {
        let verbs = Verbs::of(&[]);
        let reading = Reading::of(text, false);
        let tokens = reading.sentences().next().unwrap_or(&[]);
        ask(Sentence { tokens, verbs: &verbs })
    }

    #[test]
    fn a_noun_that_could_be_a_verb_gives_no_order() {
        for text in
            ["Lift of the lid exposes the source.", "Return flow line is hot.", "Grip loss drops the load.", "Switch S3 has no guard."]
        {
            assert!(with(text, |s| s.opening(Expect::Statement)).is_none(), "{text}");
        }
        for text in ["Close VAL3 before the hatch is opened.", "Open the drain first, the hose is hot.", "Verify the speed is LOW."] {
            assert!(with(text, |s| s.opening(Expect::Statement)).is_some(), "{text}");
        }
    }

    #[test]
    fn two_orders_are_told_from_two_things() {
        for text in ["Open VAL3 and close VAL4.", "Close the hatch, then tell the shift lead.", "Lift the cover and look for drops."] {
            assert!(with(text, |s| s.joined_order(0)).is_some(), "{text}");
        }
        for text in
            ["Check hold and release lamps are lit.", "Record the pressure and lift height.", "Set the selector to JOINT and speed to LOW."]
        {
            assert!(with(text, |s| s.joined_order(0)).is_none(), "{text}");
        }
    }

    #[test]
    fn a_demand_is_found_and_a_prohibition_is_none() {
        assert!(with("J2 is to be lowered first.", |s| s.demand()).is_some());
        assert!(with("Operators need to obtain a permit.", |s| s.demand()).is_some());
        assert!(with("The key must not be in the lock.", |s| s.demand()).is_none());
    }
}
