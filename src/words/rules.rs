//! Rules on the words of a print: a site may say everything otherwise, and leave nothing out.

use crate::diag::Rule;

/// The file cannot be read as a set.
pub static UNREADABLE: Rule = Rule::of_print(
    "words-unreadable",
    "a file of words cannot be read",
    "A set of words is TOML: a language, and tables of sentences. What cannot be read cannot be printed.",
);
/// A key that no print asks for.
pub static UNKNOWN: Rule = Rule::of_print(
    "words-unknown",
    "a file of words holds a sentence that no print asks for",
    "A sentence under a name that is not quite right would never be printed, and the built-in one would stand in its place unnoticed.",
);
/// A sentence is not there.
pub static MISSING: Rule = Rule::of_print(
    "words-missing",
    "a sentence is missing, empty or cut short",
    "A caution that is left out in one language is not given. Words may change; what they say stays.",
);
/// Slots are not as declared.
pub static SLOTS: Rule = Rule::of_print(
    "words-slots",
    "a sentence does not hold each of its slots once",
    "What is put into a slot is a value, a name or a number that was checked. A sentence without it says less, and one with it twice says it twice.",
);
/// Stars and underlines that do not close.
pub static MARKING: Rule = Rule::of_print(
    "words-marking",
    "a sentence is marked in a way that cannot be printed",
    "A word is set bold between two stars and light between two underlines, in sentences of templates only. Hidden characters could turn the words \
     around them.",
);
/// A claim that no check makes.
pub static CLAIMS: Rule = Rule::of_print(
    "words-claims",
    "a sentence claims more than was done",
    "A print says what was checked against which models. Nothing printed is proved or safe, in any language.",
);
/// Two meanings in one form.
pub static CONFUSABLE: Rule = Rule::of_print(
    "words-confusable",
    "two meanings cannot be told apart by their words",
    "Low and high, until and past, a target and a start are told apart by the words before them alone.",
);

/// No set of words in a language.
pub static LANGUAGE: Rule = Rule::of_print(
    "words-language",
    "a print is asked for in a language that no set of words has",
    "Nothing is printed half in one language and half in another, or in another one than was asked for.",
);

/// Every rule of this floor.
pub static RULES: &[&Rule] = &[&LANGUAGE, &UNREADABLE, &UNKNOWN, &MISSING, &SLOTS, &MARKING, &CLAIMS, &CONFUSABLE];
