//! What a revision changes: step by step, in the margin, in the list of page 2, and as data.

mod library;

use library::{folder, text};
use std::path::Path;
use surehand::document::Block;
use surehand::document::build::{Edition, Figures};
use surehand::document::revision::{self, Change, Difference, Fate};
use surehand::session::{Bytes, DiskWorld, Earlier, MemoryWorld, Prints, Session, Wish, recall};
use surehand::words::Words;

const DEMO: &str = "stow-heron.md";
const LATER: &str = "stow-heron-later.md";

/// The library with a later revision of the demo, each edit found once.
fn world(edits: &[(&str, &str)]) -> MemoryWorld {
    let change = "[[change]]\nrevision = \"B\"\ndate = \"2026-11-20\"\ntext = \"Tried out.\"\n+++\n\nThis";
    let mut later = text(DEMO).replace("revision = \"A\"", "revision = \"B\"").replace("+++\n\nThis", change);
    for (old, new) in edits {
        assert_eq!(later.matches(old).count(), 1, "must stand once: {old}");
        later = later.replace(old, new);
    }
    MemoryWorld::over(DiskWorld).with(folder().join(LATER), later.into_bytes())
}

fn revision(world: &MemoryWorld, name: &str) -> Earlier {
    Session::new(world).revision(&folder().join(name)).expect("compiles")
}

/// What a later revision changes, in English.
fn changes(earlier: &Earlier, later: &Earlier) -> Difference {
    let words = Words::english();
    revision::difference(
        &earlier.document(words, Edition::default(), Figures::None),
        &later.document(words, Edition::default(), Figures::None),
        words,
    )
}

fn difference(edits: &[(&str, &str)]) -> Difference {
    let world = world(edits);
    changes(&revision(&world, DEMO), &revision(&world, LATER))
}

/// "changed 4, new 5, removed 6".
fn fates(difference: &Difference) -> String {
    let place = |c: &Change| c.now.as_ref().or(c.before.as_ref()).expect("a place").trim_start_matches("Step ").to_owned();
    let each = |c: &Change| {
        let fate = match c.fate {
            Fate::Changed => "changed",
            Fate::New => "new",
            Fate::Moved => "moved",
            Fate::Removed => "removed",
        };
        format!("{fate} {}", place(c))
    };
    difference.changes.iter().map(each).collect::<Vec<_>>().join(", ")
}

#[test]
fn the_same_words_are_no_change() {
    let found = difference(&[]);
    assert!(found.is_empty() && found.renumbered.is_empty(), "{found:#?}");
    // Written otherwise, printed alike.
    let found = difference(&[("# Stow\n", "Stow\n====\n"), ("`elbow fold from -95 deg to -130 deg`", "`elbow fold to -130 deg`")]);
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn another_target_is_told_with_what_it_was_and_wherever_it_prints() {
    let found = difference(&[("from +55 deg to +75 deg", "from +55 deg to +74 deg"), ("pose stowed`\n\n", "pose transit`\n\n")]);
    let four = found.changes.iter().find(|c| c.now.as_deref() == Some("Step 4")).expect("step 4");
    let target = four.details.iter().find(|d| d.of.ends_with("target")).expect("the target");
    assert_eq!((target.was.as_deref(), target.is.as_deref()), (Some("+75.0 deg"), Some("+74.0 deg")));
    // Its band, and the pose that was asserted instead.
    assert!(four.details.iter().any(|d| d.of.ends_with("low") && d.is.as_deref() == Some("+73.5")), "{four:#?}");
    assert!(fates(&found).contains("changed 4, changed 6"), "{}", fates(&found));
}

#[test]
fn a_revision_with_an_error_is_compared_in_what_both_can_tell() {
    // Of a procedure with an error no way is looked at, so nothing is told of stops, limits and pictures there.
    let wrong = [("`elbow fold from -95 deg to -130 deg`", "`elbow extend from -95 deg to -130 deg`")];
    let found = difference(&wrong);
    assert!(found.untold && fates(&found) == "changed 3", "{}", fates(&found));
    let [one] = &found.changes[..] else { panic!("{found:#?}") };
    assert!(one.details.iter().all(|d| d.of.starts_with("act")), "{one:#?}");
    assert!(!difference(&[]).untold);
}

#[test]
fn a_step_put_in_is_new_and_those_behind_it_are_only_renumbered() {
    let found = difference(&[(
        "2. `expect pose transit`\n",
        "2. `tell Shift lead`\n   - Say: \"Stowing the arm of bay 3.\"\n3. `expect pose transit`\n",
    )]);
    assert_eq!(fates(&found), "new 2");
    let renumbered: Vec<_> = found.renumbered.iter().map(|(a, b)| format!("{a}>{b}")).collect();
    assert_eq!(renumbered, ["2>3", "3>4", "4>5", "5>6", "6>7", "7>8", "8>9", "9>10"]);
}

#[test]
fn a_step_taken_out_is_named_by_its_old_number_and_what_it_said() {
    let found = difference(&[("1. `check` The jaw is empty and no tool is fitted, seen in window 1.\n", "")]);
    assert_eq!(fates(&found), "removed 1");
    assert!(found.changes[0].gist.contains("The jaw is empty"), "{found:#?}");
    assert!(found.changes[0].item.is_none());
}

#[test]
fn a_step_at_another_place_has_moved() {
    let check = "1. `check` The jaw is empty and no tool is fitted, seen in window 1.\n";
    let found = difference(&[(check, "1. `tell Shift lead`\n"), ("8. `verify after", &format!("{check}8. `verify after"))]);
    // What follows `verify after` verifies another step now: that is a difference of its own.
    assert!(fates(&found).contains("new 1"), "{}", fates(&found));
    assert!(fates(&found).contains("moved 8"), "{}", fates(&found));
}

#[test]
fn an_alert_and_a_labelled_line_count() {
    let found = difference(&[
        (
            "3. `elbow fold",
            "> [!CAUTION]\n> Hazard: the elbow folds towards the window.\n> Consequence: the window can crack.\n\n3. `elbow fold",
        ),
        ("the green lamp ARM is out", "the green lamp ARM and the red one are out"),
    ]);
    assert_eq!(fates(&found), "new CAUTION before step 3, changed 9");
}

#[test]
fn references_are_followed_to_where_the_step_stands_now() {
    let linked = "   - If not: hold and tell the shift lead.\n";
    let before = text(DEMO)
        .replace(linked, "   - If not: [check again](#jaw)\n")
        .replace("seen in window 1.\n\n# Stow", "seen in window 1. {#jaw}\n\n# Stow");
    let after = before.replace("revision = \"A\"", "revision = \"B\"").replace("1. `check`", "1. `tell Shift lead`\n2. `check`");
    let world = MemoryWorld::over(DiskWorld).with(folder().join(DEMO), before.into_bytes()).with(folder().join(LATER), after.into_bytes());
    let found = changes(&revision(&world, DEMO), &revision(&world, LATER));
    assert_eq!(fates(&found), "new 1", "{found:#?}");
}

#[test]
fn models_and_what_comes_before_the_first_step_count() {
    let arm = text("arms/heron.toml");
    let line = arm.lines().find(|l| l.starts_with("revision = ")).expect("a revision");
    let changed = arm.replace(line, "revision = \"99\"");
    let world = world(&[("jaw = \"60 mm\"\npower = \"on\"", "jaw = \"61 mm\"\npower = \"on\"")])
        .with(folder().join("arms/later.toml"), changed.into_bytes());
    let later = String::from_utf8(world.get(folder().join(LATER)).expect("there")).expect("text");
    let world = world.with(folder().join(LATER), later.replace("arms/heron.toml", "arms/later.toml").into_bytes());
    let found = changes(&revision(&world, DEMO), &revision(&world, LATER));
    let of: Vec<&str> = found.around.iter().map(|d| d.of.as_str()).collect();
    assert!(of.iter().any(|o| o.starts_with("model.arm") && o.ends_with("revision")), "{of:?}");
    assert!(of.iter().any(|o| o.starts_with("start.jaw")), "{of:?}");
}

/// Every step deleted in turn: exactly that step is told to be gone, and none to be new.
#[test]
fn each_step_that_goes_is_missed() {
    let source = text(DEMO);
    let steps: Vec<(usize, &str)> = source.lines().enumerate().filter(|(_, l)| l.starts_with(|c: char| c.is_ascii_digit())).collect();
    assert_eq!(steps.len(), 9);
    for (at, line) in &steps {
        let kept: Vec<&str> =
            source.lines().enumerate().filter(|(i, l)| !(i == at || *i == at + 1 && l.starts_with("   - "))).map(|(_, l)| l).collect();
        let later = kept.join("\n") + "\n";
        let world = MemoryWorld::over(DiskWorld).with(folder().join(LATER), later.into_bytes());
        let found = changes(&revision(&world, DEMO), &revision(&world, LATER));
        let removed: Vec<&str> = found.changes.iter().filter(|c| c.fate == Fate::Removed).filter_map(|c| c.before.as_deref()).collect();
        let number = line.split('.').next().expect("a number");
        assert_eq!(removed, [format!("Step {number}")], "{line}: {}", fates(&found));
        assert!(!found.changes.iter().any(|c| c.fate == Fate::New), "{line}: {}", fates(&found));
    }
}

/// Prints the later revision held against the earlier one.
fn print(world: &MemoryWorld, formats: &[&str], since: &Earlier) -> Result<Vec<Vec<u8>>, String> {
    let session = Session::new(world);
    let compiled = session.compile(&folder().join(LATER)).map_err(|e| e.to_string())?;
    match session.print(&compiled, formats, &Wish { since: Some(since), ..Wish::default() }).map_err(|e| e.to_string())? {
        Prints::Made(files) => Ok(files.into_iter().map(|f| f.bytes).collect()),
        other => Err(format!("{other:#?}")),
    }
}

const EDITS: [(&str, &str); 3] = [
    ("2. `expect pose transit`\n", "2. `tell Shift lead`\n   - Say: \"Stowing the arm of bay 3.\"\n3. `expect pose transit`\n"),
    ("the forearm and the upper arm, window 1", "the forearm, window 1"),
    ("the green lamp ARM is out", "the green lamp ARM is dark"),
];

#[test]
fn bars_stand_beside_what_is_listed_and_beside_nothing_else() {
    let world = world(&EDITS);
    let earlier = revision(&world, DEMO);
    let later = revision(&world, LATER);
    let listed: Vec<String> = changes(&earlier, &later).changes.iter().filter_map(|c| c.item.clone()).collect();
    assert_eq!(listed, ["s2", "s4", "s10"]);
    assert!(matches!(&later.document(Words::english(), Edition::default(), Figures::None).blocks[..], [.., Block::Section(_)]));
    let [html, words] = <[_; 2]>::try_from(print(&world, &["html", "text"], &earlier).expect("prints")).expect("two");
    let html = String::from_utf8(html).expect("text");
    let marked: Vec<&str> = html
        .split('<')
        .filter(|tag| tag.split('>').next().is_some_and(|t| t.contains("class=\"") && t.contains("changed")))
        .filter_map(|tag| tag.split("id=\"").nth(1)?.split('"').next())
        .collect();
    assert_eq!(marked, listed);
    let words = String::from_utf8(words).expect("text");
    let barred: Vec<&str> = words
        .lines()
        .filter_map(|l| l.strip_prefix('|'))
        .map(|l| l.split(' ').next().unwrap_or_default())
        .filter(|n| n.parse::<u32>().is_ok())
        .collect();
    assert_eq!(barred, ["2", "4", "10"]);
    assert!(words.contains("Changed since revision A, 2026-11-20") || words.contains("CHANGED SINCE REVISION A, 2026-11-20"), "{words}");
    assert!(words.contains("2 to 9 are now 3 to 10"), "{words}");
}

/// What a change does to margins stands beside it for reviewers, of steps that are not changed too.
#[test]
fn what_follows_from_a_change_stands_with_it() {
    let source = text("lid-lift.md");
    // One joint of two that move at once goes less far, which the next step takes on.
    let edits = [
        ("`together: boom up from 47 deg to 52 deg slow, jib in", "`together: boom up from 47 deg to 51 deg slow, jib in"),
        ("`together: boom down from 52 deg to 43 deg slow", "`together: boom down from 51 deg to 43 deg slow"),
        ("revision = \"B\"", "revision = \"C\""),
    ];
    let later = edits.iter().fold(source, |text, (old, new)| {
        assert!(text.contains(old), "{old}");
        text.replace(old, new)
    });
    let world = MemoryWorld::over(DiskWorld).with(folder().join(LATER), later.into_bytes());
    let earlier = revision(&world, "lid-lift.md");
    let session = Session::new(&world);
    let compiled = session.compile(&folder().join(LATER)).expect("compiles");
    let made = |edition| {
        let wish = Wish { since: Some(&earlier), edition, ..Wish::default() };
        let Prints::Made(files) = session.print(&compiled, &["text"], &wish).expect("prints") else { panic!("withheld") };
        let text = String::from_utf8(files[0].bytes.clone()).expect("text");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let read = made(Edition::Review);
    assert!(read.contains("2 BOOM target \"+51.00 deg\", was \"+52.00 deg\""), "{read}");
    // The margins of a step in both revisions, as their own tables of evidence have them.
    let evidence = |procedure: &str| {
        let compiled = session.compile(&folder().join(procedure)).expect("compiles");
        let compiled = compiled.examined.expect("models").compile(session.files());
        let of = compiled.package.evidence.iter().find(|e| e.step == "44").expect("step 44").clone();
        of.clearance.expect("looked at").least.expect("something near") / 1000
    };
    let [now, was] = [LATER, "lid-lift.md"].map(evidence);
    assert_ne!(now, was);
    let rows =
        read.split_once("What this does to margins and time").or(read.split_once("WHAT THIS DOES TO MARGINS AND TIME")).expect("a table").1;
    let row = rows.split("Step ").find(|row| row.starts_with("44 ") && row.contains("Clearance")).expect("step 44");
    assert!(row.contains(&format!("{now}, wanted 20")) && row.contains(&format!("{was}, wanted 20")), "{row}");
    assert!(!made(Edition::Operator).to_lowercase().contains("what this does to margins"), "operators are not told of margins");
}

/// What is said below a drawing is held against what was said below the same one.
#[test]
fn a_drawn_step_is_no_change() {
    let source = text("lid-lift.md");
    let wait = "`wait at least 30 s, at most 1 min`";
    assert_eq!(source.matches(wait).count(), 1);
    let later = source.replace(wait, "`wait at least 45 s, at most 1 min`").replace("revision = \"B\"", "revision = \"C\"");
    let world = MemoryWorld::over(DiskWorld).with(folder().join(LATER), later.into_bytes());
    let words = print(&world, &["text"], &revision(&world, "lid-lift.md")).expect("prints").remove(0);
    let words = String::from_utf8(words).expect("text");
    let barred: Vec<&str> = words.lines().filter_map(|l| l.strip_prefix('|')).filter_map(|l| l.split(' ').next()).collect();
    assert!(words.contains("\"45 s\", was \"30 s\""));
    assert_eq!(barred.iter().filter(|n| n.ends_with(|c: char| c.is_ascii_digit())).collect::<Vec<_>>(), [&"31"]);
}

#[test]
fn a_print_carries_the_earlier_revision_and_is_made_again_from_it() {
    let world = world(&EDITS);
    let earlier = revision(&world, DEMO);
    let pdf = print(&world, &["pdf"], &earlier).expect("prints").remove(0);
    let found = recall(Path::new("print.pdf"), &pdf).expect("reads");
    assert_eq!((found.bytes, found.differences), (Bytes::Same, Vec::new()));
    // The print itself can be the earlier revision of the next one.
    let kept = world.with(folder().join("print.pdf"), pdf);
    let again = Session::new(&kept).revision(&folder().join("print.pdf")).expect("compiles");
    assert!(changes(&again, &revision(&kept, LATER)).is_empty());
    // Without it, the same revision prints other bytes: the earlier one is part of the content.
    let session = Session::new(&kept);
    let compiled = session.compile(&folder().join(LATER)).expect("compiles");
    let code = |since| match session.print(&compiled, &["json"], &Wish { since, ..Wish::default() }) {
        Ok(Prints::Made(files)) => files[0].bytes.clone(),
        other => panic!("{other:?}"),
    };
    assert_ne!(code(None), code(Some(&earlier)));
}

#[test]
fn what_is_no_earlier_revision_is_refused() {
    let world = world(&EDITS);
    let other = Session::new(&world).revision(&folder().join("swab-survey.md")).expect("compiles");
    let refused = print(&world, &["text"], &other).expect_err("another procedure");
    assert!(refused.contains("name an earlier revision of B3-002"), "{refused}");
    let same = revision(&world, LATER);
    let refused = print(&world, &["text"], &same).expect_err("the same revision");
    assert!(refused.contains("both say revision B"), "{refused}");
    let missing = Session::new(&world).revision(&folder().join("nothing.md")).expect_err("no file").to_string();
    assert!(missing.contains("nothing.md"), "{missing}");
}
