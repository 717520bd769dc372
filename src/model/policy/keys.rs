//! What may be written in a policy.

use super::{Act, Preset};
use crate::model::keys::{Bound, Form, Side, Table, may, must};
use crate::syntax::tree::Label;
use crate::units::Dimension;

fn papers() -> Vec<&'static str> {
    vec!["A4", "Letter"]
}

fn data_sheets() -> Vec<&'static str> {
    vec!["always", "never"]
}

fn presets() -> Vec<&'static str> {
    Preset::ALL.iter().map(|p| p.word()).collect()
}

fn sights() -> Vec<&'static str> {
    vec!["tool-point", "nearest-too"]
}

fn acts() -> Vec<&'static str> {
    Act::ALL.iter().map(|a| a.word()).collect()
}

fn labels() -> Vec<&'static str> {
    Label::ALL.iter().map(|l| l.word()).collect()
}

fn weights() -> Vec<&'static str> {
    vec!["off", "advice", "warning"]
}

fn articles() -> Vec<&'static str> {
    vec!["any", "omit"]
}

fn needs() -> Vec<&'static str> {
    vec!["hold", "witness", "second-person", "verify-after", "warning", "caution", "note"]
}

pub(in crate::model) const POLICY: Table = Table {
    head: "",
    meaning: "The site's own rules. A rule that guards a physical limit can be neither softened nor waived here.",
    keys: &[
        must("site", Form::Words, "The site."),
        must("revision", Form::Words, "Revision of this file."),
        must("date", Form::Date, "Date of this revision."),
        must("stop-word", Form::Words, "The word at which everybody stops."),
        must("role", Form::Tables(&ROLE), "The posts that appear in procedures."),
        must("alerts", Form::Table(&ALERTS), "What the signal words mean at this site; printed on page 1."),
        may("sections", Form::Lines, "Titles of sections that every procedure must have, in order."),
        may("writing", Form::Table(&WRITING), "How the words of a procedure are looked at."),
        must("longest-run", Form::Count(1, 9999), "Longest run of steps without a sign-off."),
        must("grip-factor", Form::Factor(Bound::AtLeastOne), "Safety factor on the grip force."),
        may("sight", Form::Word(sights), "What the view in force must show over a move; the tool point if left out."),
        may(
            "advise-reversed",
            Form::Flag,
            "`true` if each motion that a view shows the other way round is a finding too; the print says so either way.",
        ),
        may(
            "near",
            Form::Factor(Bound::AtLeastOne),
            "A step that comes within this many margins of something has a figure, or a line where none is drawn; 3 if left out.",
        ),
        may(
            "model-age",
            Form::Quantity(Dimension::Time, Side::Down, Bound::Positive),
            "Greatest age of arm and cell data at the date of a procedure.",
        ),
        may("line", Form::Tables(&LINE), "Labelled lines wanted under an act."),
        may("demand", Form::Tables(&DEMAND), "What certain acts need before or with them."),
        may("times", Form::Table(&TIMES), "How long acts take, for the estimate of a procedure's time."),
        may("severities", Form::Map("`\"error\"`, `\"warning\"` or `\"advice\"` for a rule"), "Severities the site sets, by rule."),
        may("waivable", Form::Names, "Rules that a procedure may waive with a reason, a post and a date."),
        may("paper", Form::Word(papers), "Paper of the print; A4 if left out."),
        may("preset", Form::Word(presets), "Sizes of the print, for whom it is; `reader` if left out."),
        may(
            "language",
            Form::Words,
            "Language of the print, by its tag, such as `\"de\"`; English if left out. What is written in procedures and models stays as written.",
        ),
        may("data-sheets", Form::Word(data_sheets), "Whether readings are written on data sheets; if left out, from five readings on."),
    ],
};

pub(super) const ROLE: Table = Table {
    head: "[[role]]",
    meaning: "A post.",
    keys: &[
        must("name", Form::Name, "As written in statements, one or more words: \"Radiation protection\"."),
        may("performs", Form::Flag, "`true` if it may drive the arm."),
        may("clears", Form::Flag, "`true` if it may clear hold points."),
        may(
            "decides",
            Form::Flag,
            "`true` of the one post that decides how the work goes on after a stop. On the record it signs for interruptions, deviations and the result.",
        ),
    ],
};

pub(super) const ALERTS: Table = Table {
    head: "[alerts]",
    meaning: "The alert scheme. Published schemes disagree, so the site states its own.",
    keys: &[
        must("warning", Form::Words, "Meaning of WARNING."),
        must("caution", Form::Words, "Meaning of CAUTION."),
        must("note", Form::Words, "Meaning of NOTE."),
        may("avoid-allowed", Form::Flag, "`true` if an alert may carry an `Avoid:` line."),
    ],
};

pub(super) const LINE: Table = Table {
    head: "[[line]]",
    meaning: "A labelled line that must stand under every step of an act.",
    keys: &[must("act", Form::Word(acts), "The act."), must("label", Form::Word(labels), "The label.")],
};

pub(super) const DEMAND: Table = Table {
    head: "[[demand]]",
    meaning: "Something an act needs. `hold` and `witness` also take `role`.",
    keys: &[
        must("act", Form::Word(acts), "The act."),
        may("critical-only", Form::Flag, "`true` if only for critical loads."),
        must("needs", Form::Word(needs), "What must stand before, with or behind the act."),
        may("role", Form::Name, "The post that clears the hold point or is invited to witness."),
        must("reason", Form::Words, "Why; shown with the finding."),
    ],
};

pub(super) const WRITING: Table = Table {
    head: "[writing]",
    meaning: "How plain words are looked at. What the notation knows exactly is always checked; patterns in plain words can be wrong, so \
              they are asked for here. `grammar/prose.md` says how often each is right.",
    keys: &[
        may(
            "prose",
            Form::Word(weights),
            "`\"advice\"` shows every finding about plain words as advice, `\"warning\"` with its own weight; off if left out.",
        ),
        may("strict", Form::Flag, "`true` if what would be a warning about plain words stands as an error."),
        may(
            "articles",
            Form::Word(articles),
            "`\"omit\"` if steps of this site stand without articles; published guides disagree. Any if left out.",
        ),
        may("longest-sentence", Form::Count(8, 60), "Most words of a sentence; 20 if left out."),
        may(
            "plumb",
            Form::Quantity(Dimension::Angle, Side::Down, Bound::Positive),
            "How far a held load may lean that a line `Proof:` calls plumb, level or upright; 5 deg if left out.",
        ),
        may("verbs", Form::Table(&VERBS), "Verbs of the site that may open a step, beside those surehand knows."),
        may("listed-verbs-only", Form::Flag, "`true` if a plain step must open with a verb of the site or one that surehand knows."),
        may("term", Form::Tables(&TERM), "One name for a thing, and what it is not to be called."),
    ],
};

/// A time of the site.
const TIME: Form = Form::Quantity(Dimension::Time, Side::Up, Bound::Positive);

pub(super) const TIMES: Table = Table {
    head: "[times]",
    meaning: "How long acts take, beside motion and waits. Without this table an estimate is of motion and waits alone, and says so; an act \
              whose time is left out is named as not in it.",
    keys: &[
        may("full", Form::Factor(Bound::AtLeastOne), "How many times longer than at full stick a move takes; 1 if left out."),
        may("slow", Form::Factor(Bound::AtLeastOne), "The same for a move marked `slow`."),
        may("inch", Form::Factor(Bound::AtLeastOne), "The same for a move that is inched, guarded or made in taps."),
        may("step", TIME, "Every step: it is called, repeated back and marked."),
        may("instruction", TIME, "A plain instruction."),
        may("check", TIME, "An observation; a condition too."),
        may("read", TIME, "A reading, or a value written down."),
        may("compare", TIME, "All read-outs compared."),
        may("grip", TIME, "The jaw opens, closes, lets go, or a grip level is set."),
        may("view", TIME, "Another view is chosen."),
        may("tell", TIME, "Somebody is told something and answers."),
        may("second-person", TIME, "A second person agrees before the act."),
        may("hold", TIME, "A hold point is cleared."),
        may("witness", TIME, "A witness point."),
        may("verify", TIME, "An independent verification."),
        may("power", TIME, "Console power goes on or off."),
        may("tool", TIME, "A tool is fitted or put down."),
        may("equipment", TIME, "A piece of equipment is set."),
        may("turnover", TIME, "Crews change."),
    ],
};

pub(super) const VERBS: Table = Table {
    head: "[writing.verbs]",
    meaning: "Verbs by what they ask for, each as one word in the form of an order: `snip`.",
    keys: &[
        may("manipulate", Form::Names, "Something is moved, opened, switched or changed."),
        may("observe", Form::Names, "Something is looked at or compared."),
        may("record", Form::Names, "Something is written down."),
        may("communicate", Form::Names, "Somebody is told or asked."),
        may("branch", Form::Names, "The reader goes on elsewhere."),
        may("hold", Form::Names, "Nothing is done until something has happened."),
    ],
};

pub(super) const TERM: Table = Table {
    head: "[[writing.term]]",
    meaning: "A thing and its one name in plain words.",
    keys: &[must("use", Form::Words, "The name."), must("not", Form::Lines, "Other names that are not to be used for it.")],
};
