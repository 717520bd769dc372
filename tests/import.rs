//! Robot descriptions (URDF) as skeletons of arm profiles: what is carried over, what is refused, and how the program
//! answers. Descriptions here are invented.

#[path = "common/fill.rs"]
mod fill;

use fill::fill;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use surehand::model::arm::{self, Travel};
use surehand::model::import::skeleton;
use surehand::text::FileId;
use surehand::units::Angle;

const SLANTED: &str = include_str!("outside/slanted.urdf");

#[test]
fn a_filled_skeleton_is_a_profile() {
    let made = skeleton(SLANTED, "slanted.urdf").unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((made.joints, made.links), (3, 5));
    let text = fill(&made.text);
    let (loaded, problems) = arm::load(FileId(0), &text);
    let errors: Vec<_> = problems.iter().filter(|p| p.severity == surehand::diag::Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:#?}\n{text}");
    let arm = loaded.unwrap_or_else(|| panic!("{text}"));
    assert_eq!(arm.standing, surehand::model::Standing::Invented);
    let names: Vec<&str> = arm.joints.iter().map(|j| j.name.value.as_str()).collect();
    assert_eq!(names, ["swing", "spin", "nod"]);
    let Travel::Stops { low, high } = arm.joints[0].travel else { panic!("it has stops") };
    // -2.5 rad is -143.2394... deg, 2 rad is 114.5915... deg: both to the inside.
    assert_eq!((low.value, high.value), (Angle(-143_239), Angle(114_591)));
    assert!(matches!(arm.joints[1].travel, Travel::Turns { .. }));
    assert_eq!(arm.links[3].mass.map(|m| m.value.0), Some(9_125_000));
}

/// What a table of a profile must hold and no description says is asked for, each once.
#[test]
fn what_must_be_added_is_listed() {
    let made = skeleton(SLANTED, "slanted.urdf").unwrap_or_else(|e| panic!("{e}"));
    let wanted = [
        "`revision`",
        "`includes`",
        "joint `engraved`",
        "joint `hold`",
        "joint `positive`",
        "joint `zero-mark`",
        "joint `spin` turns without stops",
        "console `deflection`",
        "console.stick.axis `positive`",
        "jaw `control`",
        "jaw.level `most`",
        "pose `band`",
        "link `wrist` has no shape",
        "settle for every joint",
    ];
    for want in wanted {
        let count = made.to_add.iter().filter(|line| line.starts_with(want)).count();
        assert!(count >= 1 && (count == 1 || want.starts_with("settle")), "{want}: {count} in {:#?}", made.to_add);
        assert!(made.text.contains(&format!("# - {want}")), "{want}");
    }
    // As it is, it is no profile.
    assert!(arm::load(FileId(0), &made.text).0.is_none());
}

fn robot(body: &str) -> String {
    format!("<robot name=\"r\">\n{body}\n</robot>\n")
}

/// A joint between two links.
fn joint(name: &str, kind: &str, parent: &str, child: &str, inside: &str) -> String {
    format!(
        "<joint name=\"{name}\" type=\"{kind}\">\n<parent link=\"{parent}\"/><child link=\"{child}\"/>\n<axis xyz=\"0 0 1\"/>\n\
         <limit lower=\"-1\" upper=\"1\" effort=\"10\" velocity=\"1\"/>{inside}\n</joint>\n"
    )
}

fn links(names: &[&str]) -> String {
    names.iter().map(|n| format!("<link name=\"{n}\"/>\n")).collect()
}

/// Each with the line it is told at, and words of what is told.
#[test]
fn what_is_no_serial_chain_of_hinges_is_refused_by_name() {
    let two = |kind: &str, inside: &str| {
        robot(&(links(&["a", "b", "c"]) + &joint("one", "revolute", "a", "b", "") + &joint("two", kind, "b", "c", inside)))
    };
    let cases: Vec<(String, Option<u32>, &[&str])> = vec![
        (two("prismatic", ""), Some(10), &["joint `two` is prismatic", "[jaw]"]),
        (two("floating", ""), Some(10), &["joint `two` is floating"]),
        (two("planar", ""), Some(10), &["joint `two` is planar"]),
        (two("revolute", "<mimic joint=\"one\"/>"), Some(10), &["joint `two` follows another joint"]),
        (
            robot(&(links(&["a", "b", "c"]) + &joint("one", "revolute", "a", "b", "") + &joint("two", "revolute", "a", "c", ""))),
            Some(10),
            &["not serial", "joint `one` and joint `two`", "link `a`"],
        ),
        (robot(&(links(&["a", "b"]) + &joint("one", "fixed", "a", "b", ""))), None, &["no joint of this description turns"]),
        (robot(&(links(&["a", "b", "c"]) + &joint("one", "revolute", "a", "b", ""))), None, &["`a` and `c` both hang on nothing"]),
        (
            robot(&(links(&["a", "b"]) + &joint("one", "revolute", "a", "b", "") + &joint("two", "revolute", "b", "a", ""))),
            None,
            &["every link hangs on another"],
        ),
        (
            robot(&(links(&["a", "b", "c"]) + &joint("one", "revolute", "b", "c", "") + &joint("two", "revolute", "c", "b", ""))),
            Some(5),
            &["joint `one` is part of a ring"],
        ),
        (robot(&(links(&["a"]) + &joint("one", "revolute", "a", "z", ""))), Some(3), &["names the link `z`, which is not described"]),
        (two("revolute", "").replacen("0 0 1", "0 0 0", 1), Some(5), &["axis of joint `one` has no direction"]),
        (two("revolute", "").replacen("0 0 1", "0 0", 1), Some(7), &["`xyz` of `axis` is to be three numbers"]),
        (two("revolute", "").replacen("0 0 1", "0 0 1 x", 1), Some(7), &["`xyz` of `axis` is to be three numbers"]),
        (two("revolute", "").replacen("lower=\"-1\"", "lower=\"nan\"", 1), Some(8), &["`lower` of `limit` is to be a number, not \"nan\""]),
        (two("revolute", "").replacen("lower=\"-1\"", "lower=\"${low}\"", 1), Some(8), &["`lower` of `limit` is to be a number"]),
        (two("revolute", "").replacen("0 0 1", "1e200 0 0", 1), Some(5), &["has no direction"]),
        (two("turning", ""), None, &["cannot be read as a robot description"]),
        (robot("<link name=\"a\">"), Some(3), &["this is no XML"]),
        ("<html/>".into(), Some(1), &["the outermost element is `html`"]),
        ("not XML".into(), Some(1), &["this is no XML"]),
        (String::new(), None, &["this is no XML"]),
        (robot(&"<link name=\"a\"/>\n".repeat(501)), Some(502), &["more than 500 elements `link`"]),
        (robot(&("<g>".repeat(40) + &"</g>".repeat(40))), Some(2), &["more than 32 deep"]),
        ("<!DOCTYPE r [<!ENTITY a \"aaaa\">]><robot name=\"&a;\"/>".into(), Some(1), &["this is no XML"]),
        (
            "<robot name=\"r\" xmlns:xacro=\"http://www.ros.org/wiki/xacro\">\n<xacro:arm/>\n</robot>".into(),
            Some(2),
            &["expand the file with xacro first"],
        ),
    ];
    for (text, line, words) in cases {
        let trouble = skeleton(&text, "r.urdf").expect_err(&text);
        assert!(words.iter().all(|w| trouble.what.contains(w)), "{words:?}: {trouble}");
        assert!(line.is_none() || trouble.line == line, "{trouble}: {:?}, not {line:?}\n{text}", trouble.line);
        assert!(!trouble.what.contains('\n'));
    }
}

#[test]
fn names_are_made_fit_and_words_are_kept_whole() {
    let body = links(&["a \"b\" \\", "b", "c", "d"]).replace("\"a \"b\" \\\"", "'a \"b\" \\ \u{202e}'")
        + &joint("Shoulder_Pan.Joint", "revolute", "b", "c", "").replace("parent link=\"b\"", "parent link='a \"b\" \\ \u{202e}'")
        + &joint("shoulder pan  joint", "revolute", "c", "d", "")
        + &joint("grip", "revolute", "d", "b", "");
    let made = skeleton(&robot(&body), "x\ny.urdf").unwrap_or_else(|e| panic!("{e}"));
    let joints: Vec<&str> = made.text.lines().filter_map(|l| l.strip_prefix("name = \"")).map(|l| l.trim_end_matches('"')).collect();
    assert_eq!(&joints[1..4], ["shoulder-pan-joint", "shoulder-pan-joint-2", "joint-grip"]);
    let parsed: Result<toml::Table, _> = made.text.parse();
    assert!(parsed.is_ok(), "{parsed:?}\n{}", made.text);
}

fn run(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surehand"));
    command.current_dir(folder).args(args).output().unwrap_or_else(|e| panic!("the program did not start: {e}"))
}

#[test]
fn the_program_writes_a_skeleton_and_nothing_over_a_file() {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    let at = |name: &str| folder.path().join(name);
    fs::write(at("slanted.urdf"), SLANTED).unwrap_or_else(|e| panic!("{e}"));
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let done = run(folder.path(), &["import", "slanted.urdf"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let said = text(&done.stdout);
    assert!(said.starts_with("wrote slanted.toml: 3 joints, 5 links; marked as invented"), "{said}");
    assert!(said.contains("\n- joint `engraved`: What is engraved"), "{said}");
    let written = fs::read_to_string(at("slanted.toml")).unwrap_or_default();
    assert!(written.contains("invented = true"), "{written}");
    fs::write(at("slanted.toml"), "mine").unwrap_or_else(|e| panic!("{e}"));
    let again = run(folder.path(), &["import", "slanted.urdf"]);
    assert_eq!((again.status.code(), text(&again.stdout)), (Some(3), String::new()));
    assert!(text(&again.stderr).contains("slanted.toml: is there already; nothing was written"), "{}", text(&again.stderr));
    assert_eq!(fs::read_to_string(at("slanted.toml")).unwrap_or_default(), "mine");
    let forced = run(folder.path(), &["import", "slanted.urdf", "--force"]);
    assert_eq!(forced.status.code(), Some(0));
    assert_eq!(fs::read_to_string(at("slanted.toml")).unwrap_or_default(), written);
    let shown = run(folder.path(), &["import", "slanted.urdf", "-o", "-"]);
    assert_eq!(text(&shown.stdout), written);
    fs::write(at("bad.urdf"), SLANTED.replace("\"revolute\"", "\"prismatic\"")).unwrap_or_else(|e| panic!("{e}"));
    let bad = run(folder.path(), &["import", "bad.urdf"]);
    assert_eq!(bad.status.code(), Some(3));
    assert!(text(&bad.stderr).starts_with("surehand: bad.urdf:8: joint `swing` is prismatic"), "{}", text(&bad.stderr));
    assert!(!at("bad.toml").exists());
    for args in [["import", "none.urdf"], ["import", "."]] {
        assert_eq!(run(folder.path(), &args).status.code(), Some(3), "{args:?}");
    }
}

/// Limits that are none, and numbers a profile cannot hold, are asked for instead of carried over.
#[test]
fn what_cannot_be_carried_over_is_asked_for() {
    for (limit, blanks) in [
        ("<limit effort=\"1\" velocity=\"1\"/>", &["stops"][..]),
        ("<limit lower=\"1\" upper=\"-1\" effort=\"1\" velocity=\"1\"/>", &["stops"]),
        ("<limit lower=\"-1e6\" upper=\"1e6\" effort=\"1e9\" velocity=\"1e6\"/>", &["stops", "rate"]),
        ("<limit lower=\"-1\" upper=\"1\" effort=\"0\" velocity=\"0\"/>", &["rate"]),
    ] {
        let one =
            joint("one", "revolute", "a", "b", "").lines().map(|l| if l.starts_with("<limit") { limit } else { l }).collect::<String>();
        let made = skeleton(&robot(&(links(&["a", "b"]) + &one)), "r.urdf").unwrap_or_else(|e| panic!("{e}"));
        for key in ["stops", "rate"] {
            assert_eq!(made.text.contains(&format!("\n#? {key} = ")), blanks.contains(&key), "{limit}: {key}\n{}", made.text);
        }
    }
    let far = robot(&(links(&["a", "b"]) + &joint("one", "revolute", "a", "b", "<origin xyz=\"0 0 12\"/>")));
    let trouble = skeleton(&far, "r.urdf").expect_err("12 m");
    assert!(trouble.what.contains("`one` has 12000 mm"), "{trouble}");
}

/// A description torn or changed anywhere is told or read, and what is read gives a file that can be parsed.
#[test]
fn no_damage_to_a_description_breaks_anything() {
    let (mut read, mut told) = (0, 0);
    let mut damaged: Vec<String> = (0..SLANTED.len()).step_by(37).filter_map(|at| SLANTED.get(..at).map(str::to_string)).collect();
    let marks = ["\"", "<", ">", "/", "=", " ", "-", "0", "1e308", "-1e308", "nan", "inf", "&", "]]>", "\u{0}", "\u{202e}", "é"];
    for (i, at) in (0..SLANTED.len()).step_by(23).enumerate() {
        let mark = marks[i % marks.len()];
        if let (Some(before), Some(after)) = (SLANTED.get(..at), SLANTED.get(at + 1..)) {
            damaged.push(format!("{before}{mark}{after}"));
            damaged.push(format!("{before}{mark}{}", &SLANTED[at..]));
        }
    }
    for (i, _) in SLANTED.match_indices('"').enumerate().filter(|(i, _)| i % 2 == 0) {
        let mut parts: Vec<&str> = SLANTED.split('"').collect();
        parts[i + 1] = marks[i / 2 % marks.len()].trim_matches(['"', '<', '&', '\u{0}']);
        damaged.push(parts.join("\""));
    }
    for text in damaged {
        match skeleton(&text, "d.urdf") {
            Ok(made) => {
                let parsed: Result<toml::Table, _> = made.text.parse();
                assert!(parsed.is_ok(), "{parsed:?}\n{}", made.text);
                read += 1;
            }
            Err(trouble) => {
                assert!(!trouble.what.is_empty() && !trouble.what.contains('\n'), "{trouble:?}");
                told += 1;
            }
        }
    }
    assert!(read > 50 && told > 250, "{read} {told}");
}
