//! How to write a procedure, by example: the page printed from the productions beside the grammar file.

use super::{ABSOLUTE, AXIS, GATE, GUARDED, MOVE, Named, PRODUCTIONS, RELATIVE, TAPS, pattern};
use crate::syntax::tree::Label;
use std::fmt::Write;

/// The four ways to say how far a joint goes, each with an example of a move.
const GOALS: [(&Named, &str, &str); 4] = [
    (
        &ABSOLUTE,
        "to an angle; `from` is checked, `within` narrows the band, `slow` and `inch` are printed",
        "shoulder lower from +55 deg to +36 deg within 0.5 deg slow",
    ),
    (
        &TAPS,
        "by taps until it touches, where contact is expected",
        "shoulder lower by taps of 0.5 deg, 14 at most, contact between -11 deg and -9 deg",
    ),
    (&RELATIVE, "by an amount; both the amount and the angle at the end are written", "base left by 5 deg, ending +35 deg"),
    (&GUARDED, "until it touches or a signal comes, with a bound", "shoulder lower until contact, not past -12 deg"),
];

/// Two axes, one waiting for the other.
const GATE_EXAMPLE: &str =
    "together: shoulder lower to +24 deg, wrist raise to +40 deg; shoulder first; wrist not past +32 deg until shoulder past +28 deg";

/// Every key of the front matter: name, value, whether it must be written, meaning.
const FRONT: [(&str, &str, bool, &str); 22] = [
    ("id", "mark", true, "Document number: letters, digits, `-`, `.`, `_`, `/`."),
    ("title", "text", true, "At most 120 characters."),
    ("revision", "mark", true, "Such as `A` or `2.1`."),
    ("date", "`\"YYYY-MM-DD\"`", true, "Date of this revision; the age of the model files is counted up to it."),
    (
        "use",
        "`\"continuous\"` `\"reference\"` `\"information\"`",
        true,
        "How the page is held: in hand and marked at every step; looked at before each section; for information.",
    ),
    ("purpose", "text", false, "What is done and when it is done, in one or two sentences."),
    ("performer", "role", true, "The role that drives the arm, from the policy."),
    ("arm", "path", true, "The arm profile, relative to this file."),
    ("cell", "path", false, "The cell; needed as soon as a load, station, view, instrument or equipment is named."),
    ("policy", "path", true, "The site's policy."),
    ("start", "table", true, "What is so before the first step."),
    ("end", "table", false, "What must be so after the last step; checked."),
    ("waiver", "tables", false, "Findings that a post accepts: `rule`, `reason`, `post`, `expires`, and `step`, the anchor of one step."),
    (
        "disposition",
        "tables",
        false,
        "Warnings that a post has looked at and accepts: `rule`, `reason`, `post`, `date`, and `step`, the anchor of one step. They stand, and say who accepted them.",
    ),
    ("prerequisites", "sentences", false, "What must be so before the work; each gets a blank in the work package."),
    (
        "permit",
        "tables",
        false,
        "Permits that must be there: `name`, and `by`, who gives it; the work package has room for number and term.",
    ),
    ("qualification", "tables", false, "What whoever holds a post must be qualified for: `post`, `needs`."),
    ("reference", "tables", false, "Documents that are referred to: `number`, `title`, `revision`."),
    (
        "limit",
        "tables",
        false,
        "What must not be exceeded, for the work package: `limit`, `consequence`, `correction`, and `source`, what sets it.",
    ),
    ("criterion", "tables", false, "What makes the result acceptable: `text`, and `source`, the requirement that asks for it."),
    (
        "validation",
        "tables",
        false,
        "Trials of the procedure: `how` (`\"mock-up\"`, `\"dry-run\"` or `\"walk-through\"`), `date`, `post`, `result`, and `elapsed`, which is held against the estimate of the time.",
    ),
    ("change", "tables", false, "The record of revisions, newest last: `revision`, `date`, `text`."),
];

/// The keys of `[start]` and `[end]`; the flag says that `[start]` must have it.
const STATE: [(&str, &str, bool, &str); 7] = [
    ("pose", "name", true, "A pose of the arm profile."),
    ("jaw", "length", true, "Opening of the jaw: `\"50 mm\"`."),
    ("power", "`\"on\"` `\"off\"`", true, "Console power."),
    ("tool", "name", false, "The tool that is fitted."),
    ("view", "name", false, "What the operator looks through."),
    ("loads", "table", false, "Where each load is, by station, or `\"held\"`: `{ cup = \"tray\" }`."),
    ("equipment", "table", false, "States that differ from the cell's: `{ hatch = \"closed\" }`."),
];

/// What each label is for, with an example.
fn about(label: Label) -> (&'static str, &'static str) {
    match label {
        Label::MustBeTrue => {
            ("under `hold point`: what the role looks at before it clears the hold", "the cup stands by itself (step 12).")
        }
        Label::SecondPerson => {
            ("a second person agrees before the act", "Second operator, agree before the act that the rack bears the cup.")
        }
        Label::TouchingAllowed => ("what may touch during the step, in pairs", "jaw pads and cup, cup and rack."),
        Label::Watch => ("where to look while it moves", "the elbow and the window."),
        Label::Proof => ("what is seen when it went well", "the grip read-out is steady."),
        Label::StopIf => ("what stops the step, and where to go", "a pad touches the rim; then [back out](#back-out)."),
        Label::IfNot => ("what to do if the step does not come out: go somewhere, or tell a role", "hold and tell the shift lead."),
        Label::Say => ("the words to be spoken", "\"Starting the lift.\""),
        Label::Reply => ("the words to be heard back", "\"Start the lift.\""),
        Label::Why => ("the reason, for the reader", "the wrist alone would swing the pads into the rim."),
    }
}

/// The page.
pub fn page() -> String {
    let mut out = String::from(HEAD);
    keys(&mut out, &FRONT);
    out.push_str("\n`[start]` and `[end]` take the same keys:\n");
    keys(&mut out, &STATE);
    out.push_str(STATEMENTS);
    out.push_str("\n### Moves\n\nA move is joint, direction word, goal. Both words are the arm profile's.\n");
    out.push_str("\n| for | form | example |\n|---|---|---|\n");
    for (named, about, example) in GOALS {
        let _ = writeln!(out, "| {about} | `JOINT DIRECTION {}` | `{example}` |", cell(&pattern(named.parts)));
    }
    let _ = writeln!(out, "\n### Everything else\n\nWhere a form says `{}`, any of the moves above may stand.", MOVE.id.to_uppercase());
    out.push_str("\n| for | form | example |\n|---|---|---|\n");
    for p in PRODUCTIONS {
        let _ = writeln!(out, "| {} | `{}` | `{}` |", p.about, cell(&pattern(p.parts)), p.example);
    }
    let parts =
        format!("`AXIS-MOVE` is `{}`, with `ABSOLUTE` the first kind of goal; `GATE` is `{}`", pattern(AXIS.parts), pattern(GATE.parts));
    let _ = writeln!(out, "\n{parts}: `{GATE_EXAMPLE}`.");
    out.push_str(WORDS_AFTER);
    out.push_str("\n| label | for | example |\n|---|---|---|\n");
    for label in Label::ALL {
        let (about, example) = about(label);
        let _ = writeln!(out, "| `{}` | {about} | `- {}: {example}` |", label.word(), label.word());
    }
    out.push_str(REST);
    out
}

fn keys(out: &mut String, list: &[(&str, &str, bool, &str)]) {
    out.push_str("\n| key | value | must | meaning |\n|---|---|---|---|\n");
    for (name, value, must, meaning) in list {
        let _ = writeln!(out, "| `{name}` | {value} | {} | {meaning} |", if *must { "yes" } else { "" });
    }
}

/// A bar inside a table's cell would end it.
fn cell(text: &str) -> String {
    text.replace('|', " \\| ")
}

const HEAD: &str = "\
# Writing a procedure

<!-- Printed from the productions the parser reads by (src/syntax/grammar). Do not edit: run the tests with UPDATE_MANUAL=1. -->

Everything that can be written, by example. [notation.abnf](notation.abnf) is the same as a grammar; [models.md](models.md) describes the files
that a procedure names. The names in the examples are invented: yours come from your own arm, cell and policy.

A procedure is one Markdown file: front matter between two `+++` lines, then headings, alerts and steps.

```markdown
+++
id = \"S-001\"
title = \"Move a sample cup from the tray to the rack\"
revision = \"A\"
date = \"2026-02-01\"
use = \"continuous\"
performer = \"Operator\"
arm = \"arms/starter.toml\"
cell = \"cells/starter.toml\"
policy = \"policy.toml\"

[start]
pose = \"stowed\"
jaw = \"50 mm\"
power = \"off\"
loads = { cup = \"tray\" }
+++

# Take the cup

1. `view window-1`
2. `power on arm`
   - Proof: the lamp ARM is lit.
3. `check` Both pads are whole, seen in window 1.
4. `base left to +30 deg`
   - Watch: the elbow stays clear of the window.
```

## Front matter

It is TOML: texts stand in quotes, and a quantity is a text with its unit.
";

const STATEMENTS: &str = "
## Steps

- A step is an item of a numbered list. What is to be checked is its *statement*: it stands between backticks, right after the number.
- An item without backticks is an instruction in words. It is printed as it stands, and nothing of it is checked.
- Statements are written in small letters. Names are the model files' own, letter for letter, and have no blanks: `window-1`, `dose-rate`.
  Roles may have them: `Shift lead`.
- A number and its unit have one blank between them: `120 mm`. Angles are in `deg`, and carry a sign where the joint has negative angles too.
- One statement moves one joint, or two at once with `together`.
- A number out of order is a warning; `surehand fmt` renumbers the whole file.

In the forms, capitals are what you choose, brackets may be left out, and `|` parts choices.
";

const WORDS_AFTER: &str = "
`arm` stands for the arm of the front matter; its own name can be written as well.

`check`, `if`, `repeat`, `perform` and `go to` need words or a link after the backticks:

```markdown
1. `check` The rim is free all round, seen in window 1.
2. `if` The cup leans, seen in window 1.
   - then
     1. `tell Shift lead`
        - Say: the cup leans, correcting.
     2. `wrist lower to -30 deg`
   - otherwise: go on
3. `repeat at most 3 until` No drop falls for 10 s, seen in window 1.
   1. `wait at least 20 s, at most 1 min`
   - If not: hold and tell the shift lead.
4. `perform` [the trial lift](#trial-lift)
5. `perform` [stow the arm](stow.md)
6. `go to` [the stow](#stow)
```

A grip goes in this order: open the jaw, drive to the station's pose, `grip level`, `close on`, `lift ... clear of`; then `lower ... onto`, and only
then `let go of`.

## Lines under a step

Bullets that begin with one of the labels below. The dash stands under the first character of the step: after 3 blanks under `1.` to `9.`, after 4
under `10.` to `99.`.

```markdown
9. `jaw open to 120 mm`
   - Proof: the jaw read-out shows between 118 and 122 mm.
10. `hold point: Shift lead`
    - Must be true: the pads sit below the rim.
```
";

const REST: &str = "
## Headings

A plain heading begins a section that is performed in the order of the page; its steps count on from the section before. Two classes change that,
and each of their sections counts from 1:

```markdown
# Trial lift {.on-call #trial-lift}

1. `wait at least 30 s, at most 2 min`

# Back out {.contingency #back-out}

1. `shoulder raise to +45 deg`
2. `tell Shift lead`
   - Say: backed out of the cradle.
```

- `.on-call`: performed only where a `perform` names it.
- `.contingency`: entered only from an `If not:` or `Stop if:` that links to it. It must end in a pose marked safe, or with a `go to`. It is checked
  from every state in which it can be entered, also in the middle of the step that leads there.

`{#name}` at the end of a heading or of a step's words is what links lead to.

## Alerts

Before the step they guard, with an empty line on both sides. Nothing else is an alert: `> WARNING: ...` without brackets is not read as one.

```markdown
> [!WARNING]
> Hazard: the dose rate rises when the cup leaves the tray.
> Consequence: a person at the window takes a dose.

> [!CAUTION]
> Hazard: the pads pass the rim with 12 mm to spare on each side.
> Consequence: a bent rim.

> [!NOTE]
> The crew may have changed.

1. `read joints`
```
";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{self, statement};
    use crate::text::FileId;

    /// Every example of a form stands in the page and is read as a statement.
    #[test]
    fn every_example_is_read() {
        for example in GOALS.iter().map(|g| g.2).chain(PRODUCTIONS.iter().map(|p| p.example)).chain([GATE_EXAMPLE]) {
            assert!(statement::parse(FileId(0), 0, example).is_ok(), "{example}");
        }
        for label in Label::ALL {
            let text = format!("{}\n1. `view window-1`\n   - {}: {}\n", syntax::front::EXAMPLE, label.word(), about(label).1);
            let problems = syntax::parse(FileId(0), &text).problems;
            assert!(problems.is_empty(), "{text}{problems:?}");
        }
    }

    /// The blocks of the page are read without a finding.
    #[test]
    fn every_block_is_read() {
        let page = page();
        let blocks: Vec<&str> = page.split("```markdown\n").skip(1).filter_map(|b| b.split("```").next()).collect();
        assert_eq!(blocks.len(), 5);
        for block in blocks {
            let text = if block.starts_with("+++") { block.to_string() } else { format!("{}\n{block}", syntax::front::EXAMPLE) };
            let problems = syntax::parse(FileId(0), &text).problems;
            // A block that shows two numbers of a long list does not begin at 1.
            let told: Vec<_> = problems.iter().filter(|p| p.rule.id != "renumbered-step").collect();
            assert!(told.is_empty(), "{block}{told:?}");
        }
    }

    /// The tables of keys are the keys that the reader asks for.
    #[test]
    fn the_keys_are_those_that_are_read() {
        let asked = |text: &str, extra: &str| {
            let text = text.replacen(extra, &format!("{extra}\nqqqqqqqq = 1"), 1);
            let problems = syntax::parse(FileId(0), &text).problems;
            let unknown = problems.iter().find(|p| p.rule.id == "unknown-key").expect("it is refused");
            format!("{:?}", unknown.help)
        };
        for (list, after) in [(&FRONT[..], "+++"), (&STATE[..], "[start]")] {
            let mut names: Vec<&str> = list.iter().map(|k| k.0).collect();
            names.sort_unstable();
            let told = asked(syntax::front::EXAMPLE, after);
            assert!(told.contains(&format!("keys are: {}\"", names.join(", "))), "{told}");
            for (name, _, must, _) in list {
                let without: Vec<&str> = syntax::front::EXAMPLE.lines().filter(|l| !l.starts_with(&format!("{name} = "))).collect();
                let problems = syntax::parse(FileId(0), &without.join("\n")).problems;
                let missing = problems.iter().any(|p| p.rule.id == "missing-key");
                assert_eq!(missing, *must && *name != "start", "{name}");
            }
        }
    }
}
