//! What can be wrong with the blocks of a procedure and the inline pieces in them.

use crate::diag::{Example, Family, Rule};
use crate::syntax::error;

/// Every rule of this file.
pub static RULES: &[&Rule] = &[
    &SHADOWED_STATEMENT,
    &STRAY_TICK,
    &STRAY_LABEL,
    &STRAY_BLOCK,
    &MISPLACED_ALERT,
    &UNKNOWN_ALERT,
    &UNKNOWN_CLASS,
    &SPLIT_SECTION,
    &UNCLOSED_ANCHOR,
    &RAW_HTML,
    &REMOTE_IMAGE,
    &OUTSIDE_LINK,
];

/// Looks like a statement and is none.
pub static SHADOWED_STATEMENT: Rule = Rule {
    bad: &[
        Example::steps("Then ⟦`base left to +42 deg`⟧ as before.\n"),
        Example::steps("1. Now ⟦`power on arm`⟧.\n"),
        Example::steps("1. ⟦hold point: Shift lead⟧\n"),
        Example::steps("1. ⟦read joints For the crew that takes over.⟧\n"),
        Example::steps("1. `view window-2` ⟦`power on arm`⟧\n"),
        Example::steps("1. `view window-2`\n   - Watch: ⟦`base left to +42`⟧\n"),
        Example::steps("```\nfirst\n⟦base left to +42 deg⟧\n```\n"),
        Example::steps("| joint | do |\n|---|---|\n| base | ⟦`base left to +42 deg`⟧ |\n"),
        Example::steps("> [!WARNING]\n> Hazard: heavy.\n> Consequence: it falls.\n> ⟦`hold point: Quality`⟧\n"),
        Example::steps("# Take it, ⟦`power on arm`⟧\n"),
        Example::steps("Some words\n7. ⟦`base left to +42 deg`⟧\n"),
        Example::steps("- ⟦`base left to +42 deg`⟧\n"),
    ],
    good: &[
        Example::steps("Lower the load to the rack; the lamp `PWR` is lit.\n"),
        Example::steps("```\nthe reading\n```\n"),
        Example::steps("1. View the jaw from window 2.\n2. Lower to the rack what hangs free.\n"),
        Example::steps("1. `view window-2` The **lamp** is lit.\n"),
    ],
    ..error(
        "shadowed-statement",
        Family::Notation,
        "text looks like a statement but was not read as one",
        "A person would do it and the compiler has not checked it: the worst that can happen to a step.",
    )
};

/// A backtick without its partner.
pub static STRAY_TICK: Rule = Rule {
    bad: &[
        Example::steps("1. ⟦`⟧power on arm\n"),
        Example::steps("1. power on arm⟦`⟧ and look.\n"),
        Example::steps("The lamp ⟦`⟧PWR is lit.\n"),
    ],
    good: &[Example::steps("1. `power on arm`\n"), Example::steps("A tick is written \\`.\n")],
    ..error(
        "stray-tick",
        Family::Notation,
        "a backtick stands without its partner",
        "One of the two that mark a statement was lost, so that the statement became words: nobody checks it, and everybody does it.",
    )
};

/// A labelled line outside a step.
pub static STRAY_LABEL: Rule = Rule {
    bad: &[
        Example::steps("1. `view window-2`\n\n⟦- Watch: the jaw.⟧\n"),
        Example::steps("1. `view window-2`\n ⟦- Proof: the jaw is open.⟧\n"),
        Example::steps("1. `view window-2` Look.\n   ⟦Proof: the jaw is open.⟧\n"),
        Example::steps("1.   `view window-2`\n    ⟦- Proof: the jaw is open.⟧\n"),
    ],
    good: &[Example::steps("1. `view window-2`\n   - Watch: the jaw.\n"), Example::steps("- Gloves, one pair.\n")],
    ..error(
        "stray-label",
        Family::Notation,
        "a labelled line does not stand under a step",
        "It would be printed somewhere, and belong to nothing.",
    )
};

/// A block in a step that has no place there.
pub static STRAY_BLOCK: Rule = Rule {
    bad: &[
        Example::steps("1. `view window-2`\n\n   ⟦> The hatch is closed.⟧\n"),
        Example::steps("1. `view window-2`\n   - Watch: the jaw.\n\n   ⟦And the elbow.⟧\n"),
        Example::steps("1. `view window-2`\n\n   ⟦| a | b |⟧\n   |---|---|\n   | 1 | 2 |\n"),
        Example::steps("1. `view window-2`\n   - Watch: the jaw.\n     ⟦- and the elbow⟧\n"),
    ],
    good: &[Example::steps("1. `view window-2` Look at the jaw.\n\n   Look twice.\n   - Watch: the jaw.\n")],
    ..error(
        "stray-block",
        Family::Notation,
        "a block stands inside a step that a step cannot hold",
        "A step is one row of the page: what does not fit it would be lost or moved.",
    )
};

/// An alert that is not before a step.
pub static MISPLACED_ALERT: Rule = Rule {
    bad: &[
        Example::steps("1. `view window-2`\n\n   ⟦> [!WARNING]⟧\n   > Hazard: heavy.\n"),
        Example::steps("- Tools\n\n  ⟦> [!WARNING]⟧\n  > Hazard: heavy.\n"),
    ],
    good: &[Example::steps("> [!WARNING]\n> Hazard: heavy.\n> Consequence: it falls.\n\n1. `view window-2`\n")],
    ..error(
        "misplaced-alert",
        Family::Alert,
        "an alert stands inside a step or another block",
        "An alert is read before the act it guards; inside the step it is read while the arm already moves.",
    )
};

/// Another signal word.
pub static UNKNOWN_ALERT: Rule = Rule {
    bad: &[
        Example::steps("> ⟦[!DANGER]⟧\n> Hazard: heavy.\n"),
        Example::steps("> ⟦[!TIP]⟧\n> Look twice.\n"),
        Example::steps("> ⟦**Warning:** heavy.⟧\n"),
    ],
    good: &[Example::steps("> [!CAUTION]\n> Hazard: heavy.\n> Consequence: it bends.\n\n1. `view window-2`\n")],
    ..error(
        "unknown-alert",
        Family::Alert,
        "a signal word is none of WARNING, CAUTION and NOTE",
        "Each word has one meaning in the site's scheme; another would have none.",
    )
};

/// A class or attribute of a heading that means nothing.
pub static UNKNOWN_CLASS: Rule = Rule {
    bad: &[Example::steps("# Back out {⟦.contingancy⟧}\n"), Example::steps("# Back out ⟦{kind=contingency}⟧\n")],
    good: &[Example::steps("# Back out {#back-out .contingency}\n")],
    ..error(
        "unknown-class",
        Family::Notation,
        "a heading carries a class or an attribute that is not known",
        "A misspelt class would turn a contingency into steps that are performed in the ordinary order.",
    )
};

/// A heading inside a contingency.
pub static SPLIT_SECTION: Rule = Rule {
    bad: &[Example::steps("# Back out {.contingency}\n\n1. `read joints`\n\n⟦## Unload⟧\n\n1. `view window-2`\n")],
    good: &[Example::steps("# Back out {.contingency}\n\n1. `read joints`\n\n# Finish\n\n1. `view window-2`\n")],
    ..error(
        "split-section",
        Family::Flow,
        "a plain heading stands inside a contingency or an on-call section",
        "Its steps would belong to the ordinary order, although the reader sees them inside the contingency.",
    )
};

/// An anchor without its end.
pub static UNCLOSED_ANCHOR: Rule = Rule {
    bad: &[Example::steps("1. `view window-2` ⟦{#look⟧\n")],
    good: &[Example::steps("1. `view window-2` {#look}\n")],
    ..error(
        "unclosed-anchor",
        Family::Reference,
        "an anchor has no closing bracket",
        "Links, waivers and revisions find a step by its anchor; half of one would be printed as words.",
    )
};

/// HTML.
pub static RAW_HTML: Rule = Rule {
    bad: &[
        Example::steps("Some ⟦<b>⟧words.\n"),
        Example::steps("⟦<div>⟧\nwords\n</div>\n"),
        Example::steps("1. `view window-2` ⟦<!-- power on arm -->⟧\n"),
    ],
    good: &[Example::steps("The reading is < 5 and > 3.\n")],
    ..error(
        "raw-html",
        Family::Notation,
        "raw HTML stands in the text",
        "It is shown by one reader, hidden by another, and can hide or run anything.",
    )
};

/// A picture from elsewhere.
pub static REMOTE_IMAGE: Rule = Rule {
    bad: &[Example::steps("⟦![Jaw](https://example.org/jaw.png)⟧\n"), Example::steps("⟦![Jaw](data:image/png;base64,AAAA)⟧\n")],
    good: &[Example::steps("![Jaw](pictures/jaw.png)\n")],
    ..error(
        "remote-image",
        Family::Reference,
        "a picture is not a file beside the procedure",
        "What is fetched from elsewhere can change or vanish after the procedure was approved; nothing is fetched.",
    )
};

/// A link out of the procedure.
pub static OUTSIDE_LINK: Rule = Rule {
    bad: &[
        Example::steps("See ⟦[this](javascript:alert(1))⟧.\n"),
        Example::steps("See ⟦[this](https://example.org/)⟧.\n"),
        Example::steps("See ⟦<https://example.org/>⟧.\n"),
        Example::steps("See ⟦[this]()⟧.\n"),
    ],
    good: &[Example::steps("See [this](#this) and [that](other.md#that).\n\n# This {#this}\n")],
    ..error(
        "outside-link",
        Family::Reference,
        "a link leads out of the procedure's files, or nowhere",
        "A printed page cannot be clicked, and what stands at the other end is not under revision control.",
    )
};
