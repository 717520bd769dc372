//! Rules on templates: a site may rearrange and reword a print, never shorten or change it.

use crate::diag::Rule;

/// The templating language itself refused.
pub static FAILS: Rule = Rule::of_print(
    "template-fails",
    "a template cannot be run",
    "A print from a template that stopped half-way would look complete. Nothing is printed until it runs to its end.",
);
/// Outside the page vocabulary.
pub static MARKUP: Rule = Rule::of_print(
    "template-markup",
    "a template writes markup outside the page vocabulary",
    "Every element and class has one meaning in print, screen and text. One that is not known would be dropped by one of them.",
);
/// The theme file is wrong.
pub static THEME: Rule = Rule::of_print(
    "template-theme",
    "the theme has an unknown key or a size that cannot be printed",
    "Sizes below the legibility floor or margins off the paper make a page that cannot be read at the console.",
);
/// An item is missing.
pub static DROPS_ITEM: Rule = Rule::of_print(
    "template-drops-item",
    "a template leaves out a step, alert, hold point or section",
    "A hold point that is not printed is not held. A site may word and arrange a print, never shorten it.",
);
/// An item is there twice.
pub static REPEATS_ITEM: Rule =
    Rule::of_print("template-repeats-item", "a template prints an item more than once", "A step printed twice is done twice.");
/// Items in another order.
pub static REORDERS: Rule = Rule::of_print(
    "template-reorders",
    "a template prints items in another order than the procedure",
    "Only the order of the procedure was checked.",
);
/// An item of its own.
pub static ADDS_ITEM: Rule = Rule::of_print(
    "template-adds-item",
    "a template prints an item the procedure does not have",
    "What is printed as a step must have been checked as one.",
);
/// A value is missing.
pub static DROPS_FIELD: Rule = Rule::of_print(
    "template-drops-field",
    "a template leaves out a checked value",
    "A target without its band, or a first page without its cautions, is not the document that was checked.",
);
/// A value is changed.
pub static ALTERS_FIELD: Rule = Rule::of_print(
    "template-alters-field",
    "a template changes a checked value",
    "The value printed must be the value checked, to the last sign and decimal.",
);
/// A value stands where another belongs.
pub static MISPLACES_FIELD: Rule = Rule::of_print(
    "template-misplaces-field",
    "A template puts a checked value where another belongs",
    "Low and high, target and start, a joint and the one moved with it are told apart by their order and by the words before them alone.",
);
/// A place to sign or write is missing.
pub static DROPS_BLANK: Rule = Rule::of_print(
    "template-drops-blank",
    "a template leaves out a sign-off or a blank",
    "A step that cannot be marked cannot be shown to be done.",
);

/// Every rule of this floor.
pub static RULES: &[&Rule] = &[
    &FAILS,
    &MARKUP,
    &THEME,
    &DROPS_ITEM,
    &REPEATS_ITEM,
    &REORDERS,
    &ADDS_ITEM,
    &DROPS_FIELD,
    &ALTERS_FIELD,
    &MISPLACES_FIELD,
    &DROPS_BLANK,
];
