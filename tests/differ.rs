//! Two entries of one model: what is a difference, what is none, and in which words it is told.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use surehand::model::differ::{self, Change, Class, Comparison, Difference, Kind, Within};
use surehand::model::keys::{Form, Key, Table};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::text::FileId;
use surehand::units::UNITS;

fn compare(kind: Kind, a: &str, b: &str) -> Comparison {
    differ::compare(kind.table(), (FileId(0), a), (FileId(1), b), &Within::default())
}

fn told(kind: Kind, a: &str, b: &str) -> Vec<String> {
    compare(kind, a, b).differences.iter().map(ToString::to_string).collect()
}

/// A model file that holds every key of its tables.
#[derive(Clone)]
enum Tree {
    Value(String),
    List(Vec<Tree>),
    Table(Vec<(&'static str, Tree)>),
}

impl Tree {
    fn write(&self, out: &mut String) {
        let mut between = "";
        match self {
            Tree::Value(value) => *out += value,
            Tree::List(items) => {
                out.push('[');
                for item in items {
                    *out += std::mem::replace(&mut between, ", ");
                    item.write(out);
                }
                out.push(']');
            }
            Tree::Table(entries) => {
                out.push('{');
                for (key, value) in entries {
                    *out += std::mem::replace(&mut between, ", ");
                    *out += &format!("{key} = ");
                    value.write(out);
                }
                out.push('}');
            }
        }
    }
    /// As a file.
    fn text(&self) -> String {
        let Tree::Table(entries) = self else { panic!("a file is a table") };
        let line = |(key, value): &(&str, Tree)| {
            let mut out = format!("{key} = ");
            value.write(&mut out);
            out + "\n"
        };
        entries.iter().map(line).collect()
    }
    fn at(&mut self, path: &[usize]) -> &mut Tree {
        let Some((first, rest)) = path.split_first() else { return self };
        match self {
            Tree::List(items) => items[*first].at(rest),
            Tree::Table(entries) => entries[*first].1.at(rest),
            Tree::Value(_) => panic!("nothing is inside a value"),
        }
    }
}

/// Makes values, no two of one kind alike.
struct Maker(usize);

impl Maker {
    fn table(&mut self, table: &Table) -> Tree {
        Tree::Table(table.keys.iter().map(|k| (k.name, self.value(k.form))).collect())
    }
    fn value(&mut self, form: Form) -> Tree {
        self.0 += 1;
        let n = self.0;
        let value = |text: String| Tree::Value(text);
        let list = |items: [String; 2]| Tree::List(items.map(Tree::Value).to_vec());
        let unit = |dimension| UNITS.iter().find(|u| u.dimension == dimension).map_or("", |u| u.name);
        match form {
            Form::Name => value(format!("\"name-{}\"", letters(n))),
            Form::Names => list([format!("\"name-{}\"", letters(n)), "\"other\"".into()]),
            Form::Words => value(format!("\"Words {n}.\"")),
            Form::Lines => list([format!("\"Line {n}.\""), "\"Last line.\"".into()]),
            Form::Date => value(format!("\"20{:02}-01-01\"", n % 100)),
            Form::Count(least, _) => value(least.to_string()),
            Form::Factor(_) => value(format!("{n}.5")),
            Form::Flag => value("true".into()),
            Form::Word(words) => value(format!("\"{}\"", words()[n % words().len()])),
            Form::Quantity(dimension, ..) => value(format!("\"{n} {}\"", unit(dimension))),
            Form::Point => Tree::List([1, 2, 3].map(|i| value(format!("\"{n}.{i} mm\""))).to_vec()),
            Form::Turn => Tree::List([1, 2, 3].map(|i| value(format!("\"{n}.{i} deg\""))).to_vec()),
            Form::Unit => value("\"bar\"".into()),
            Form::Amount => value(format!("\"{n} bar\"")),
            Form::Axis => value("\"+x\"".into()),
            Form::Pairs => Tree::List(vec![Tree::List(vec![value(format!("\"name-{}\"", letters(n))), value("\"other\"".into())])]),
            Form::Map(_) => Tree::Table(vec![("one", value(format!("\"{n} deg\""))), ("two", value("\"any\"".into()))]),
            Form::Table(table) => self.table(table),
            Form::Tables(table) => Tree::List(vec![self.table(table), self.table(table)]),
        }
    }
    /// The same, changed in one place.
    fn change(&mut self, form: Form, old: &Tree) -> Tree {
        let mut new = old.clone();
        match (form, &mut new) {
            (Form::Names | Form::Pairs, Tree::List(items)) => {
                let extra = self.value(Form::Name);
                items.push(if matches!(form, Form::Pairs) { Tree::List(vec![extra, Tree::Value("\"more\"".into())]) } else { extra });
            }
            (Form::Lines, Tree::List(items)) => items.push(Tree::Value("\"New.\"".into())),
            (Form::Point, Tree::List(items)) => items[1] = Tree::Value("\"7 m\"".into()),
            (Form::Turn, Tree::List(items)) => items[1] = Tree::Value("\"7 rad\"".into()),
            (Form::Map(_), Tree::Table(entries)) => entries[0].1 = Tree::Value("\"77 deg\"".into()),
            (Form::Word(words), Tree::Value(value)) => {
                let other = words().into_iter().find(|w| !value.contains(&format!("\"{w}\""))).unwrap_or("none");
                *value = format!("\"{other}\"");
            }
            (Form::Flag, Tree::Value(value)) => *value = "false".into(),
            (Form::Axis, Tree::Value(value)) => *value = "\"-z\"".into(),
            (Form::Unit, Tree::Value(value)) => *value = "\"mm\"".into(),
            (Form::Count(_, most), Tree::Value(value)) => *value = most.to_string(),
            (form, new) => *new = self.value(form),
        }
        new
    }
}

/// A number as letters: two numbered names would be a typing slip apart.
fn letters(n: usize) -> String {
    let mut out = String::new();
    let mut rest = n * 7919;
    while out.len() < 6 {
        out.push(char::from(b'a' + u8::try_from(rest % 26).unwrap_or(0)));
        rest /= 26;
    }
    out
}

/// Every key of a table and those inside, with the place of its value in the tree.
fn leaves(table: &Table, path: &[usize], out: &mut Vec<(&'static Key, Vec<usize>)>) {
    for (at, key) in table.keys.iter().enumerate() {
        let here: Vec<usize> = path.iter().copied().chain([at]).collect();
        match key.form {
            Form::Table(inner) => leaves(inner, &here, out),
            // The second of two rows, so that a place in the file cannot stand for a name.
            Form::Tables(inner) => leaves(inner, &[here, vec![1]].concat(), out),
            _ => out.push((static_key(table, at), here)),
        }
    }
}

fn static_key(table: &Table, at: usize) -> &'static Key {
    &table.keys[at]
}

#[test]
fn every_key_of_every_table_changed_once_is_one_difference_in_plain_words() {
    let mut seen = 0;
    for kind in Kind::ALL {
        let mut maker = Maker(0);
        let tree = maker.table(kind.table());
        let text = tree.text();
        assert_eq!(told(kind, &text, &text), Vec::<String>::new());
        let mut keys = Vec::new();
        leaves(kind.table(), &[], &mut keys);
        for (key, path) in keys {
            let mut other = tree.clone();
            let place = other.at(&path);
            *place = maker.change(key.form, place);
            let changed = other.text();
            let comparison = compare(kind, &text, &changed);
            let [difference] = &comparison.differences[..] else {
                panic!("{kind:?} `{}`: {:#?}", key.name, comparison.differences);
            };
            let message = difference.to_string();
            assert!(comparison.whole == [true, true] && comparison.compared > 30, "{message}");
            assert!(difference.meaning == key.meaning, "{message}");
            let place = difference.place.last().map_or("", String::as_str);
            assert!(!place.is_empty() && place.chars().filter(|c| *c == '`').count() % 2 == 0, "{message}");
            assert!(place.contains('`') || !place.contains('_'), "{message}");
            let sides = [&difference.a, &difference.b];
            for (side, text) in sides.into_iter().zip([&text, &changed]) {
                // What is given is shown as it is written, and its place is where it is written.
                let bare = side.shown.as_deref().unwrap_or("").trim_matches(['`', '"']).split("` with `").next().unwrap_or("").to_owned();
                let there = side.span.of(text);
                let as_flag = matches!(key.form, Form::Flag);
                assert!(as_flag || there.contains(&bare), "{message}: `{bare}` is not in `{there}`");
            }
            if matches!(key.form, Form::Quantity(..) | Form::Point | Form::Turn | Form::Factor(_) | Form::Count(..) | Form::Amount) {
                assert!(message.ends_with("apart") || message.contains("apart ("), "{message}");
            }
            seen += 1;
        }
    }
    assert!(seen > 150, "the tables were not found: {seen} keys");
}

#[test]
fn every_key_that_may_be_left_out_is_missed_when_it_is() {
    for kind in Kind::ALL {
        let tree = Maker(0).table(kind.table());
        let text = tree.text();
        let mut keys = Vec::new();
        leaves(kind.table(), &[], &mut keys);
        for (key, path) in keys.into_iter().filter(|(k, _)| !k.must) {
            let mut other = tree.clone();
            let Some((last, above)) = path.split_last() else { continue };
            if let Tree::Table(entries) = other.at(above) {
                entries.remove(*last);
            }
            let there = told(kind, &text, &other.text());
            let many = if matches!(key.form, Form::Map(_)) { 1..=2 } else { 1..=1 };
            assert!(many.contains(&there.len()), "`{}`: {there:#?}", key.name);
            assert!(there[0].contains("not given in B") || there[0].contains("yes in A, no in B"), "{there:#?}");
            let back = told(kind, &other.text(), &text);
            assert!(back[0].contains("not given in A") || back[0].contains("no in A, yes in B"), "{back:#?}");
        }
    }
}

/// One edit of an example model, and all that is said of it.
fn edited(model: &str, edits: &[(&str, &str)]) -> Vec<String> {
    let (kind, text) = match model {
        "arm" => (Kind::Arm, EXAMPLE_ARM),
        "cell" => (Kind::Cell, EXAMPLE_CELL),
        _ => (Kind::Policy, EXAMPLE_POLICY),
    };
    let mut other = text.to_owned();
    for (old, new) in edits {
        assert_eq!(other.matches(old).count(), 1, "{old}");
        other = other.replace(old, new);
    }
    told(kind, text, &other)
}

#[test]
fn a_difference_reads_as_a_surveyor_would_say_it() {
    for (model, old, new, says) in [
        (
            "cell",
            "centre = [\"1200 mm\", \"0 mm\", \"-350 mm\"]",
            "centre = [\"1.26 m\", \"0 mm\", \"-350 mm\"]",
            "obstacle `bench`, box 1, centre x: 1200 mm in A, 1.26 m in B, 60 mm apart",
        ),
        (
            "cell",
            "grip-width = \"60 mm\"",
            "grip-width = \"600 mm\"",
            "load `cup`, grip width: 60 mm in A, 600 mm in B, 540 mm apart (the decimal point stands elsewhere)",
        ),
        (
            "cell",
            "mass = \"5.8 kg\"",
            "mass = \"8.5 kg\"",
            "load `flask`, mass: 5.8 kg in A, 8.5 kg in B, 2.7 kg apart (two digits have changed places)",
        ),
        (
            "cell",
            "margin = \"25 mm\"",
            "margin = \"25 cm\"",
            "margin: 25 mm in A, 25 cm in B, 225 mm apart (the same figure in another unit)",
        ),
        ("cell", "mirrored = true\n", "", "view `camera-2`, mirrored: yes in A, no in B"),
        ("cell", "crush = \"120 N\"\n", "", "load `cup`, crush limit: 120 N in A, not given in B"),
        ("cell", "takes = [\"flask\"]", "takes = [\"flask\", \"cup\"]", "station `shelf`, takes, `cup`: only in B"),
        (
            "cell",
            "name = \"bench\"\nkind = \"solid\"",
            "name = \"bench\"\nkind = \"slow\"",
            "obstacle `bench`, kind: `solid` in A, `slow` in B",
        ),
        (
            "cell",
            "severity = 2\n[[obstacle.shape]]\nkind = \"box\"",
            "severity = 2\n[[obstacle.shape]]\nkind = \"sphere\"",
            "obstacle `bench`, box 1, kind: `box` in A, `sphere` in B",
        ),
        ("cell", "[\"jaw pads and cradle\"]", "[\"the pin\", \"jaw pads and cradle\"]", "station `cradle`, approach, `the pin`: only in B"),
        (
            "cell",
            "name = \"bench\"",
            "name = \"Bench\"",
            "obstacle `bench`: called `bench` in A and `Bench` in B; all else is equal, so it is probably one thing under two names",
        ),
        (
            "arm",
            "low = \"-40 deg\"",
            "low = \"40 deg\"",
            "joint `shoulder`, hard stops, low end: -40 deg in A, 40 deg in B, 80 deg apart (the same figure with the other sign)",
        ),
        ("arm", "base = \"-90 deg\"", "base = \"-91 deg\"", "pose `stowed`, angle of `base`: -90 deg in A, -91 deg in B, 1 deg apart"),
        (
            "arm",
            "positive = \"push left\"",
            "positive = \"push right\"",
            "console, stick `left stick`, axis `base`, stick movement for positive: \"push left\" in A, \"push right\" in B",
        ),
        ("arm", "word = \"extend\"", "word = \"fold\"", "joint `elbow`, positive direction, word: `extend` in A, `fold` in B"),
        ("arm", "value = 0.3,", "value = 0.25,", "jaw, friction, value: 0.3 in A, 0.25 in B, 0.05 apart"),
        (
            "arm",
            "[[\"shoulder\", \"wrist-pitch\"]]",
            "[[\"shoulder\", \"wrist-pitch\"], [\"base\", \"elbow\"]]",
            "console, joints that may move together, `base` with `elbow`: only in B",
        ),
        (
            "policy",
            "longest-run = 10",
            "longest-run = 100",
            "longest run: 10 in A, 100 in B, 90 apart (the decimal point stands elsewhere)",
        ),
        ("policy", "needs = \"witness\"", "needs = \"hold\"", "demand `lift` 1, needs: `witness` in A, `hold` in B"),
    ] {
        assert_eq!(edited(model, &[(old, new)]), [says], "{model}: {old}");
    }
}

#[test]
fn how_a_value_is_written_is_no_difference() {
    for (model, old, new) in [
        ("cell", "margin = \"25 mm\"", "margin = \"0.025 m\" # as agreed"),
        ("cell", "mass-at-most = \"6 kg\"", "mass-at-most = \"6000 g\""),
        ("cell", "monitors = [\"monitor-1\", \"monitor-2\"]", "monitors = [\n  \"monitor-2\", # left\n  \"monitor-1\",\n]"),
        ("cell", "critical = true\nrests-at = \"shelf\"\n", "rests-at = \"shelf\"\ncritical = true\n"),
        (
            "cell",
            "[[view]]\nname = \"window-1\"\ntitle = \"window 1\"\nkind = \"window\"\n",
            "[[view]]\nname = \"window-1\"\ntitle = \"window 1\"\nkind = \"window\"\nmirrored = false\n",
        ),
        (
            "cell",
            "interlock = \"Cell door locked while console power is on.\"",
            "interlock = \"\"\"\nCell door locked\nwhile console power is on.\"\"\"",
        ),
        ("arm", "rate = \"8 deg/s\"", "rate = \"8.000 deg/s\""),
        ("arm", "[[\"shoulder\", \"wrist-pitch\"]]", "[[\"wrist-pitch\", \"shoulder\"]]"),
        ("arm", "{ base = \"-90 deg\", shoulder = \"80 deg\",", "{ shoulder = \"80 deg\", base = \"-90 deg\","),
    ] {
        assert_eq!(edited(model, &[(old, new)]), Vec::<String>::new(), "{model}: {old}");
    }
}

#[test]
fn rows_are_found_again_wherever_they_stand() {
    let station = |name: &str, title: &str| format!("[[station]]\nname = \"{name}\"\ntitle = \"{title}\"\nsupports = true\n");
    let one = [station("rack", "drain rack"), station("shelf", "back shelf"), station("hook", "wall hook")];
    let text = |order: &[usize]| order.iter().map(|i| one[*i].as_str()).collect::<String>();
    let cell = |a: &str, b: &str| told(Kind::Cell, a, b);
    assert_eq!(cell(&text(&[0, 1, 2]), &text(&[2, 0, 1])), Vec::<String>::new());
    assert_eq!(cell(&text(&[0, 1, 2]), &text(&[0, 2])), ["station `shelf`: only in A"]);
    // Twice the same name: the second is left over, whichever was written twice.
    assert_eq!(cell(&text(&[0, 1]), &text(&[1, 0, 0])), ["station `rack` (number 2 of that name): only in B"]);
    let other = text(&[0, 1]) + &station("rack", "front rack");
    assert_eq!(cell(&other, &(station("rack", "front rack") + &text(&[0, 1]))), Vec::<String>::new());
    // A name that is spelt otherwise, with a value that differs too.
    let spelt = text(&[0, 1]) + &station("wall-hook", "wall hook");
    let spelt_b = text(&[0, 1]) + &station("wall_hook", "the wall hook");
    assert_eq!(
        cell(&spelt, &spelt_b),
        [
            "station `wall-hook`: spelt `wall-hook` in A and `wall_hook` in B, and taken for one thing",
            "station `wall-hook`, title: \"wall hook\" in A, \"the wall hook\" in B",
        ]
    );
    // Two that only look alike are two.
    assert_eq!(
        cell(&station("window-1", "one"), &station("window-2", "two")),
        ["station `window-1`: only in A", "station `window-2`: only in B"]
    );
}

#[test]
fn a_new_name_is_told_once_and_not_at_every_place_that_names_it() {
    let renamed = EXAMPLE_ARM.replace("wrist-turn", "wrist-roll");
    assert_eq!(
        told(Kind::Arm, EXAMPLE_ARM, &renamed),
        [
            "joint `wrist-turn`: called `wrist-turn` in A and `wrist-roll` in B; all else is equal, so it is probably one thing under two names"
        ]
    );
    // A place that still names the old one is told.
    let half = renamed.replacen("joint = \"wrist-roll\"", "joint = \"elbow\"", 1);
    assert!(told(Kind::Arm, EXAMPLE_ARM, &half).len() > 1);
}

#[test]
fn the_order_of_joints_and_levels_counts() {
    let at = |name: &str| EXAMPLE_ARM.find(&format!("[[joint]]\nname = \"{name}\"")).unwrap_or(0);
    let (elbow, pitch, turn) = (at("elbow"), at("wrist-pitch"), at("wrist-turn"));
    let swapped = [&EXAMPLE_ARM[..elbow], &EXAMPLE_ARM[pitch..turn], &EXAMPLE_ARM[elbow..pitch], &EXAMPLE_ARM[turn..]].concat();
    let all = compare(Kind::Arm, EXAMPLE_ARM, &swapped).differences;
    let [order] = &all[..] else { panic!("{all:#?}") };
    assert_eq!((order.change, order.class), (Change::Order, Class::Limits));
    assert_eq!(
        order.to_string(),
        "order of the joints: base, shoulder, elbow, wrist-pitch, wrist-turn in A, base, shoulder, wrist-pitch, elbow, wrist-turn in B"
    );
}

#[test]
fn shapes_without_names_are_told_apart_by_what_they_are() {
    let sphere = |x: u32| format!("[[obstacle.shape]]\nkind = \"sphere\"\ncentre = [\"{x} mm\", \"0 mm\", \"0 mm\"]\nradius = \"50 mm\"\n");
    let obstacle = "[[obstacle]]\nname = \"post\"\nkind = \"solid\"\nseverity = 1\n";
    let text = |xs: &[u32]| xs.iter().fold(obstacle.to_owned(), |t, x| t + &sphere(*x));
    let cell = |a: &[u32], b: &[u32]| told(Kind::Cell, &text(a), &text(b));
    assert_eq!(cell(&[100, 200, 300], &[300, 100, 200]), Vec::<String>::new());
    assert_eq!(cell(&[100, 200, 300], &[300, 100]), ["obstacle `post`, sphere 2: only in A"]);
    assert_eq!(cell(&[100, 200], &[200, 130]), ["obstacle `post`, sphere 1, centre x: 100 mm in A, 130 mm in B, 30 mm apart"]);
}

#[test]
fn what_matters_most_comes_first_and_words_last() {
    let edits = [
        ("title = \"Example cell\"", "title = \"Another cell\""),
        ("margin = \"25 mm\"", "margin = \"20 mm\""),
        ("mass = \"2 kg\"", "mass = \"3 kg\""),
        ("size = [\"600 mm\",", "size = [\"660 mm\","),
        ("crush = \"120 N\"", "crush = \"130 N\""),
        ("name = \"bench\"\nkind = \"solid\"", "name = \"bench\"\nkind = \"slow\""),
    ];
    let other = edits.iter().fold(EXAMPLE_CELL.to_owned(), |t, (old, new)| t.replace(old, new));
    let classes: Vec<Class> = compare(Kind::Cell, EXAMPLE_CELL, &other).differences.iter().map(|d| d.class).collect();
    assert_eq!(classes, Class::ALL);
}

#[test]
fn a_key_weighs_by_what_it_stands_for() {
    let class = |kind: Kind, a: &str, b: &str| compare(kind, a, b).differences.first().map(|d| d.class);
    for (a, b, expected) in [
        ("[jaw]\ngrip-centre = [\"1 mm\", \"0 mm\", \"0 mm\"]", "[jaw]\ngrip-centre = [\"2 mm\", \"0 mm\", \"0 mm\"]", Class::Shapes),
        ("[[pose]]\nname = \"a\"\nangles = { j = \"1 deg\" }", "[[pose]]\nname = \"a\"\nangles = { j = \"2 deg\" }", Class::Shapes),
        (
            "[[link]]\nname = \"a\"\ncentre = [\"1 mm\", \"0 mm\", \"0 mm\"]",
            "[[link]]\nname = \"a\"\ncentre = [\"2 mm\", \"0 mm\", \"0 mm\"]",
            Class::Masses,
        ),
    ] {
        assert_eq!(class(Kind::Arm, a, b), Some(expected), "{a}");
    }
    for (a, b, expected) in [
        ("[[obstacle]]\nname = \"a\"\nwhen = { door = \"shut\" }", "[[obstacle]]\nname = \"a\"\nwhen = { door = \"open\" }", Class::Kinds),
        ("[[station]]\nname = \"a\"\nsupport = [\"plate\"]", "[[station]]\nname = \"a\"\nsupport = [\"wall\"]", Class::Kinds),
        ("[[load]]\nname = \"a\"\ncrush = \"9 N\"", "[[load]]\nname = \"a\"\ncrush = \"8 N\"", Class::Limits),
    ] {
        assert_eq!(class(Kind::Cell, a, b), Some(expected), "{a}");
    }
    // What may be touched stands in no order.
    let touch = |list: &str| format!("[[station]]\nname = \"a\"\napproach = [{list}]\n");
    assert_eq!(told(Kind::Cell, &touch("\"pads\", \"pin\""), &touch("\"pin\", \"pads\"")), Vec::<String>::new());
}

#[test]
fn a_file_with_mistakes_is_compared_as_far_as_it_goes() {
    let broken = EXAMPLE_CELL.replace("crush = \"120 N\"", "crush = 120").replace("drop-height", "drop-hight");
    let all = compare(Kind::Cell, EXAMPLE_CELL, &broken).differences;
    let told: Vec<String> = all.iter().map(Difference::to_string).collect();
    assert_eq!(
        told,
        [
            "load `cup`, crush limit: 120 N in A, 120 in B (cannot be read in B)",
            "load `flask`, greatest drop height: 300 mm in A, not given in B",
            "load `flask`, `drop-hight` (no key of this table): not given in A, \"300 mm\" in B",
        ]
    );
    // Both entered the same mistake: that is no difference, though it is a mistake.
    assert_eq!(compare(Kind::Cell, &broken, &broken).differences, []);
    let torn = format!("{EXAMPLE_CELL}\nx = = 3\n");
    assert_eq!(compare(Kind::Cell, EXAMPLE_CELL, &torn).whole, [true, false]);
}

fn run(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surehand"));
    command.current_dir(folder).args(args).stdin(Stdio::null());
    command.output().unwrap_or_else(|e| panic!("the program did not start: {e}"))
}

fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    folder
}

#[test]
fn the_command_prints_a_sheet_to_work_through() {
    let other = EXAMPLE_CELL.replace("\"1200 mm\", \"0 mm\"", "\"1260 mm\", \"0.5 mm\"").replace("Example cell", "Other cell");
    let folder = folder(&[("a.toml", EXAMPLE_CELL), ("b.toml", &other), ("arm.toml", EXAMPLE_ARM), ("odd.toml", "x = 1\n")]);
    let done = run(folder.path(), &["diff", "a.toml", "b.toml", "--within", "1 mm,0.1 deg"]);
    let text = String::from_utf8_lossy(&done.stdout);
    assert_eq!(done.status.code(), Some(1));
    let line = |what: &str| EXAMPLE_CELL.lines().position(|l| l.contains(what)).map_or(0, |n| n + 1);
    let (box_at, title_at) = (line("\"1200 mm\", \"0 mm\""), line("Example cell"));
    let expected = format!(
        "\
A: a.toml
B: b.toml

shapes and places: 1
  obstacle `bench`, box 1, centre x: 1200 mm in A, 1260 mm in B, 60 mm apart
      A a.toml:{box_at}   B b.toml:{box_at}

words and dates: 1
  title: \"Example cell\" in A, \"Other cell\" in B
      A a.toml:{title_at}   B b.toml:{title_at}

no more than the tolerance of entry, 1 mm and 0.1 deg: 1
  obstacle `bench`, box 1, centre y: 0 mm in A, 0.5 mm in B, 0.5 mm apart
      A a.toml:{box_at}   B b.toml:{box_at}

3 differences in "
    );
    assert!(text.starts_with(&expected), "{text}");
    assert!(text.contains("shapes and places 2, words and dates 1; 1 of them within the tolerance of entry\n"), "{text}");
    assert!(text.contains("Measure again") && text.contains("Do not average"), "{text}");

    let done = run(folder.path(), &["diff", "a.toml", "b.toml", "--format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap_or_default();
    assert_eq!(report["schema"], "surehand-differences/1");
    assert_eq!((report["kind"].as_str(), report["counts"]["shapes"].as_u64()), (Some("cell"), Some(2)), "{report}");
    let first = &report["differences"][0];
    assert_eq!(
        (first["apart"].as_str(), first["a"]["line"].as_u64(), first["b"]["value"].as_str()),
        (Some("60 mm"), Some(box_at as u64), Some("1260 mm"))
    );
    assert_eq!(first["place"], serde_json::json!(["obstacle `bench`", "box 1", "centre x"]));

    for (args, code, says) in [
        (&["a.toml", "a.toml"][..], 0, "a copy is no second entry"),
        (&["a.toml", "arm.toml"], 2, "name two files of one kind"),
        (&["a.toml", "b.toml", "--within", "2"], 2, "the unit is missing"),
        (&["a.toml"], 2, "required"),
        (&["a.toml", "gone.toml"], 3, "gone.toml"),
        (&["a.toml", "."], 3, "is a folder"),
        (&["a.toml", "odd.toml"], 3, "recognised"),
    ] {
        let done = run(folder.path(), &[&["diff"], args].concat());
        let all = String::from_utf8_lossy(&done.stdout) + String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(code), "{args:?}: {all}");
        assert!(all.contains(says), "{args:?}: {all}");
    }
}

#[test]
fn mistakes_in_a_file_are_told_and_never_pass_for_no_difference() {
    let torn = format!("{EXAMPLE_CELL}\nx = = 3\n");
    let hostile = EXAMPLE_CELL.replace("Example cell", "red \\u001b[31m cell");
    let folder = folder(&[("a.toml", EXAMPLE_CELL), ("torn.toml", &torn), ("hostile.toml", &hostile)]);
    let done = run(folder.path(), &["diff", "a.toml", "torn.toml"]);
    let text = String::from_utf8_lossy(&done.stdout);
    assert_eq!(done.status.code(), Some(1), "{text}");
    assert!(text.contains("B is not valid TOML"), "{text}");
    let last = torn.lines().count();
    assert!(String::from_utf8_lossy(&done.stderr).contains(&format!("torn.toml:{last}:")), "{}", String::from_utf8_lossy(&done.stderr));
    let done = run(folder.path(), &["diff", "a.toml", "hostile.toml"]);
    let text = String::from_utf8_lossy(&done.stdout);
    assert!(text.contains("U+001B") && !text.contains('\u{1b}'), "{text}");
}
