//! The list of seeded bugs is whole: whoever changes the code around one of them changes its entry too. What sees them is found
//! out by `tests/bugs/run.py`, which takes an hour.

use std::collections::BTreeSet;
use std::path::Path;

const KEYS: [&str; 6] = ["name", "breaks", "file", "old", "new", "tests"];

#[test]
fn every_snippet_stands_once_and_every_named_test_exists() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &str| std::fs::read_to_string(root.join(path)).unwrap_or_else(|e| panic!("{path}: {e}"));
    let table: toml::Table = read("tests/bugs/bugs.toml").parse().expect("TOML");
    assert_eq!(table.keys().collect::<Vec<_>>(), ["bug"]);
    let bugs = table["bug"].as_array().expect("a list");
    assert!(bugs.len() >= 30, "{}", bugs.len());
    let (mut names, mut changes) = (BTreeSet::new(), BTreeSet::new());
    for bug in bugs {
        let bug = bug.as_table().expect("a table");
        assert_eq!(bug.keys().map(String::as_str).collect::<BTreeSet<_>>(), BTreeSet::from(KEYS), "{bug:?}");
        let text = |key: &str| bug[key].as_str().unwrap_or_else(|| panic!("{key} of {bug:?}"));
        let (name, file, old) = (text("name"), text("file"), text("old"));
        assert!(names.insert(name), "{name} is there twice");
        assert!(changes.insert((file, old, text("new"))), "{name} is another one again");
        assert!(!text("breaks").is_empty() && old != text("new"), "{name} breaks nothing");
        assert!(file.starts_with("src/") && file.ends_with(".rs"), "{name}: {file}");
        assert_eq!(read(file).matches(old).count(), 1, "{name}: the snippet must stand once in {file}");
        let tests = bug["tests"].as_array().expect("a list");
        assert!(!tests.is_empty(), "{name} names no test");
        for test in tests {
            let test = test.as_str().expect("a text");
            let (program, part) = test.split_once(' ').unwrap_or((test, ""));
            let source = match program {
                "lib" => format!("src/{}.rs", part.replace("::", "/")),
                _ => format!("tests/{program}.rs"),
            };
            assert!(root.join(&source).is_file(), "{name}: {test}: there is no {source}");
            let last = part.rsplit("::").next().unwrap_or("");
            let named = program == "lib" || last.is_empty() || stands(&root.join("tests"), &format!("fn {last}"));
            assert!(named, "{name}: no test begins with {last}");
        }
    }
}

/// Whether a piece of code stands in some test.
fn stands(folder: &Path, code: &str) -> bool {
    let entries = std::fs::read_dir(folder).expect("a folder").map(|e| e.expect("a file").path());
    entries.into_iter().any(|path| match path.is_dir() {
        true => stands(&path, code),
        false => path.extension().is_some_and(|e| e == "rs") && std::fs::read_to_string(&path).is_ok_and(|text| text.contains(code)),
    })
}
