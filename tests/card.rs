//! The console card: what it says is what the arm profile says, and its dials turn the way the joints turn.

mod library;

use library::folder;
use std::path::{Path, PathBuf};
use std::process::Command;
use surehand::document::build::card;
use surehand::document::card::{Card, Part};
use surehand::geometry::Vec3;
use surehand::model::arm::Arm;
use surehand::model::{ModelFile, solid};
use surehand::session::{DiskWorld, Prints, Session, printed};
use surehand::text::FileId;
use surehand::words::Words;

const ARMS: [&str; 2] = ["arms/heron.toml", "arms/osprey.toml"];

fn arm(name: &str) -> Arm {
    read(&std::fs::read_to_string(folder().join(name)).expect("a profile of the library"))
}

fn read(text: &str) -> Arm {
    let (arm, problems) = Arm::load(FileId(0), text);
    assert!(problems.is_empty(), "{problems:#?}");
    arm.expect("a profile")
}

fn drawn<'c>(card: &'c Card, item: &str) -> &'c surehand::document::card::Drawn {
    let found = card.content().blocks.iter().find_map(|p| match p {
        Part::Drawn(d) if d.item == item => Some(d),
        _ => None,
    });
    found.unwrap_or_else(|| panic!("no {item} on the card"))
}

/// Every format of the library's arms can be made; each is read back before it is given out.
fn made(path: &Path) -> Vec<surehand::session::Output> {
    let session = Session::new(&DiskWorld);
    let names: Vec<&str> = printed().map(|f| f.0).collect();
    match session.card(path, &names, None, None).expect("a card") {
        (problems, Prints::Made(files)) if problems.is_empty() => files,
        other => panic!("{other:#?}"),
    }
}

#[test]
fn a_card_says_what_the_profile_says() {
    for name in ARMS {
        let arm = arm(name);
        let files = made(&folder().join(name));
        let pdf = files.iter().find(|f| f.extension == "pdf").expect("a PDF");
        let place = tempfile::tempdir().expect("a folder");
        let path = place.path().join("card.pdf");
        std::fs::write(&path, &pdf.bytes).expect("written");
        let said = Command::new("qpdf").arg("--check").arg(&path).output().expect("qpdf");
        assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
        let said = Command::new("pdftotext").args(["-raw"]).arg(&path).arg("-").output().expect("pdftotext");
        let text = String::from_utf8_lossy(&said.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
        // Words broken behind a hyphen stand on two lines.
        let has = |words: &str| text.replace("- ", "-").contains(&words.replace("- ", "-"));
        for joint in &arm.joints {
            assert!(has(&joint.engraved) && has(&joint.zero_mark), "{name}: {}", joint.engraved);
            for direction in [&joint.positive, &joint.negative] {
                assert!(has(&direction.word.value.to_uppercase()), "{name}: {}", direction.word.value);
                assert!(has(&format!("word: from {}", direction.seen_from)), "{name}: {}", direction.seen_from);
            }
        }
        for axis in arm.console.sticks.iter().flat_map(|s| &s.axes) {
            let engraved = &arm.joint(axis.joint).engraved;
            let words = [&arm.joint(axis.joint).positive.word.value, &arm.joint(axis.joint).negative.word.value];
            for (word, act) in words.into_iter().zip([&axis.positive, &axis.negative]) {
                // What the arm does stands directly before what the hand does.
                assert!(has(&format!("{engraved} {} {act}", word.to_uppercase())), "{name}: {engraved} {word} {act}\n{text}");
            }
        }
        for level in &arm.jaw.levels {
            assert!(has(&format!("{} {} to {}", level.name.value, level.least.value, level.most.value)), "{name}: {}", level.name.value);
        }
        assert!(has("not isolation for entry") && has("INVENTED DATA"), "{name}");
    }
}

/// One page, to lie beside the console.
#[test]
fn a_card_is_one_page() {
    let place = tempfile::tempdir().expect("a folder");
    let session = Session::new(&DiskWorld);
    for paper in ["a4", "letter"] {
        std::fs::write(place.path().join("theme.toml"), format!("paper = \"{paper}\"\n")).expect("written");
        for (name, language) in ARMS.iter().flat_map(|n| [(n, "en"), (n, "de")]) {
            let made = session.card(&folder().join(name), &["pdf"], Some(place.path()), Some(language)).expect("a card");
            let (problems, Prints::Made(files)) = made else { panic!("{name}: {made:#?}") };
            assert!(problems.is_empty() && files[0].pages == Some(1), "{name}, {paper}, {language}: {:?} pages", files[0].pages);
        }
    }
}

/// As the eye at the stated place sees it: what lies to the right, and what lies up.
fn eye(place: &str) -> (Vec3, Vec3) {
    match place {
        "from above" => (Vec3::new(0.0, -1.0, 0.0), Vec3::new(1.0, 0.0, 0.0)),
        "from the right of the arm" => (Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 0.0, 1.0)),
        "from behind" => (Vec3::new(0.0, -1.0, 0.0), Vec3::new(0.0, 0.0, 1.0)),
        other => panic!("no such place: {other}"),
    }
}

#[test]
fn dials_turn_as_the_joints_do() {
    let mut seen = 0;
    for name in ARMS {
        let arm = arm(name);
        let chain = solid::chain(&arm, None).expect("mountings");
        let card = card(&arm, "00", Words::english());
        let said = &drawn(&card, "travel").drawing.description;
        for (i, joint) in arm.joints.iter().enumerate() {
            let word = format!("{} + turns ", joint.positive.word.value.to_uppercase());
            let start = said.find(&format!("{}: ", joint.engraved)).expect("its dial");
            let sentence = &said[start..];
            let place = sentence.split_once("Seen ").and_then(|(_, rest)| rest.split_once(", ")).expect("a place").0;
            let way = sentence.split_once(&word).expect("a way").1.split_once('.').expect("an end").0;
            // A point off the axis, before and after a small turn, as the eye sees it against the joint.
            let mut angles = vec![0; arm.joints.len()];
            let (right, up) = eye(place);
            let view = |angles: &[i64]| {
                let placed = chain.place_exact(angles);
                let off = placed.carriers[i + 1].point(Vec3::new(0.1, 0.07, 0.13)) - placed.axes[i].origin;
                (off.dot(right), off.dot(up))
            };
            let before = view(&angles);
            angles[i] = 1000;
            let after = view(&angles);
            let counter = before.0 * after.1 - before.1 * after.0 > 0.0;
            assert_eq!(way, if counter { "counter-clockwise" } else { "clockwise" }, "{name}: {}", joint.engraved);
            seen += 1;
        }
    }
    assert_eq!(seen, 11);
}

#[test]
fn an_arrow_is_never_guessed() {
    use surehand::document::figure::{Ink, Mark};
    let text = std::fs::read_to_string(folder().join("arms/heron.toml")).expect("a profile of the library");
    let heads = |text: &str| {
        let card = card(&read(text), "00", Words::english());
        let views = &drawn(&card, "sticks").drawing.views;
        let black = |m: &&Mark| matches!(m, Mark::Fill { ink: Ink::Black, .. });
        [0, 1, 2].map(|i| views[i].marks.iter().filter(black).count())
    };
    assert_eq!(heads(&text), [4, 4, 2]);
    // "twist up" names no way on the panel: it stands in words.
    assert_eq!(heads(&text.replace("twist clockwise", "twist up").replace("twist counter-clockwise", "twist down")), [4, 2, 2]);
}

#[test]
fn the_command_tells_what_is_wrong() {
    let place = tempfile::tempdir().expect("a folder");
    let run = |args: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_surehand")).args(args).current_dir(place.path()).output().expect("runs");
        (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned() + &String::from_utf8_lossy(&out.stdout))
    };
    let copy = |from: &str, to: &str, edit: &dyn Fn(String) -> String| -> PathBuf {
        let text = std::fs::read_to_string(folder().join(from)).expect("a profile");
        std::fs::write(place.path().join(to), edit(text)).expect("written");
        place.path().join(to)
    };
    assert_eq!(run(&["card", "."]).0, Some(3));
    assert_eq!(run(&["card", "none.toml"]).0, Some(3));
    copy("arms/heron.toml", "bad.toml", &|t| t.replacen("positive = \"push left\"\n", "", 1));
    let (code, said) = run(&["card", "bad.toml"]);
    assert!(code == Some(1) && said.contains("missing-key") && said.contains("nothing was written"), "{said}");
    assert!(!place.path().join("bad-card.pdf").exists());
    copy("arms/heron.toml", "good.toml", &|t| t);
    let (code, said) = run(&["card", "good.toml", "--format", "pdf,html"]);
    assert!(code == Some(0) && said.contains("wrote good-card.pdf (1 page)"), "{said}");
    std::fs::create_dir(place.path().join("site")).expect("a folder");
    let template = surehand::template::BUILT_IN.iter().find(|t| t.0 == "console.html").expect("built in").1;
    std::fs::write(place.path().join("site/console.html"), template.replace("{{ b.stop|field }}", "the red button")).expect("written");
    let (code, said) = run(&["card", "good.toml", "--templates", "site", "-o", "other.pdf"]);
    assert!(code == Some(1) && said.contains("controls.stop") && !place.path().join("other.pdf").exists(), "{said}");
}
