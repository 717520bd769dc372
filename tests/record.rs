//! The PDF as a record: what it carries comes out byte for byte, what it says about itself agrees, and a file found later
//! is read back against the sources in it. Outside readers: qpdf, poppler, and the PyPI package `pypdf` that `tests/run`
//! installs.

#[path = "record/form.rs"]
mod form;
mod library;
#[path = "record/structure.rs"]
mod structure;
#[path = "record/tamper.rs"]
mod tamper;

use library::{DEMOS, folder};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use surehand::session::{Bytes, DiskWorld, MemoryWorld, Prints, Session, Wish, World, recall};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The print of a procedure as PDF and as data, from a world, under a folder of templates.
fn printed(world: &dyn World, procedure: &Path, site: Option<&Path>, draft: bool) -> (Vec<u8>, Vec<u8>) {
    let session = Session::new(world);
    let compiled = session.compile(procedure).unwrap_or_else(|e| panic!("{}: {e}", procedure.display()));
    let wish = Wish { site, draft, ..Wish::default() };
    match session.print(&compiled, &["pdf", "json"], &wish) {
        Ok(Prints::Made(outputs)) => {
            let [pdf, json] = <[_; 2]>::try_from(outputs).expect("two files");
            (pdf.bytes, json.bytes)
        }
        other => panic!("{}: {other:?}", procedure.display()),
    }
}

fn demo(name: &str) -> (Vec<u8>, Vec<u8>) {
    printed(&DiskWorld, &folder().join(name), None, false)
}

/// Runs a program on a file; what it printed, as bytes.
fn told(program: impl AsRef<Path>, arguments: &[&str], pdf: &Path) -> Vec<u8> {
    let program = program.as_ref();
    let arguments: Vec<String> = arguments.iter().map(|a| a.replace("PDF", &pdf.display().to_string())).collect();
    let run =
        Command::new(program).args(&arguments).output().unwrap_or_else(|e| panic!("{} is needed (tests/run): {e}", program.display()));
    assert!(run.status.success(), "{} {arguments:?}: {}", program.display(), String::from_utf8_lossy(&run.stderr));
    run.stdout
}

fn kept(pdf: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("print.pdf");
    std::fs::write(&path, pdf).expect("written");
    (folder, path)
}

/// What the package `pypdf` reads: attachments as hexadecimal digits, metadata, labels, fields.
fn second_reader(pdf: &Path) -> Value {
    let script = root().join("tests/outside/record.py").display().to_string();
    let said = told(root().join("target/outside/bin/python"), &[&script, "PDF"], pdf);
    serde_json::from_slice(&said).expect("JSON")
}

/// What a print of a demo must carry, by name: from the front matter, read by hand.
fn expected(name: &str, json: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut out = BTreeMap::from([("compiled.json".to_owned(), json.to_vec())]);
    let mut files = vec![name.to_owned()];
    let mut at = 0;
    while let Some(file) = files.get(at).cloned() {
        let bytes = std::fs::read(folder().join(&file)).unwrap_or_else(|e| panic!("{file}: {e}"));
        for line in String::from_utf8_lossy(&bytes).lines() {
            let model = ["arm = \"", "cell = \"", "policy = \""].iter().find_map(|k| line.strip_prefix(k)?.strip_suffix('"'));
            let performed = line.split_once("`perform`").and_then(|(_, l)| l.split_once("](")).and_then(|(_, l)| l.strip_suffix(')'));
            files.extend(performed.filter(|p| !p.starts_with('#') && !files.iter().any(|f| f == p)).map(str::to_owned));
            files.extend(model.map(str::to_owned).filter(|m| file.ends_with(".md") && !files.contains(m)));
        }
        out.insert(format!("project/{file}"), bytes);
        at += 1;
    }
    out
}

#[test]
fn every_attachment_comes_out_byte_for_byte() {
    for name in DEMOS {
        let (pdf, json) = demo(name);
        let (_folder, path) = kept(&pdf);
        told("qpdf", &["--check", "PDF"], &path);
        let listed = String::from_utf8(told("qpdf", &["--list-attachments", "PDF"], &path)).expect("text");
        let mut expected = expected(name, &json);
        let names: Vec<&str> = listed.lines().filter_map(|l| l.split_once(" -> ")).map(|(n, _)| n).collect();
        let wanted: Vec<&str> = expected.keys().map(String::as_str).chain(["record.json"]).collect();
        assert_eq!(names, wanted, "{name}");
        let second = second_reader(&path);
        let record = told("qpdf", &["PDF", "--show-attachment=record.json"], &path);
        let list: Value = serde_json::from_slice(&record).expect("JSON");
        assert_eq!(list["procedure"], format!("project/{name}"), "{name}");
        expected.insert("record.json".to_owned(), record);
        for (file, bytes) in &expected {
            assert!(told("qpdf", &["PDF", &format!("--show-attachment={file}")], &path) == *bytes, "{name}: {file} by qpdf");
            let hex: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
            assert!(second["attachments"][file]["hex"] == hex, "{name}: {file} by pypdf");
            let relation = if file.starts_with("project/") { "/Source" } else { "/Data" };
            assert_eq!(second["attachments"][file]["relation"], relation, "{name}: {file}");
            assert!(second["attachments"][file]["about"].as_str().is_some_and(|a| a.len() > 5), "{name}: {file} is not described");
            let mime = match file.rsplit('.').next() {
                Some("md") => "/text/markdown",
                Some("toml") => "/application/toml",
                _ => "/application/json",
            };
            assert_eq!(second["attachments"][file]["mime"], mime, "{name}: {file}");
            assert_eq!(second["attachments"][file]["date"], second["info"]["/CreationDate"], "{name}: {file}");
        }
        assert_eq!(second["associated"], expected.len(), "{name}: the document is associated with every attachment");
    }
}

#[test]
fn what_a_file_says_about_itself_agrees_with_its_front_matter() {
    for name in DEMOS {
        let (pdf, _) = demo(name);
        let (_folder, path) = kept(&pdf);
        let text = std::fs::read_to_string(folder().join(name)).expect("text");
        let front = |key: &str| {
            let line = text.lines().find_map(|l| l.strip_prefix(key)?.trim_start().strip_prefix("= \""));
            line.and_then(|l| l.strip_suffix('"')).unwrap_or_else(|| panic!("{name} has no {key}")).to_owned()
        };
        let (id, title, revision, date) = (front("id"), front("title"), front("revision"), front("date"));
        let second = second_reader(&path);
        let info = &second["info"];
        assert_eq!(info["/Title"], format!("{id} {title}, revision {revision}"), "{name}");
        assert_eq!(info["/Subject"], format!("{id}, revision {revision}"), "{name}");
        assert_eq!(info["/CreationDate"], format!("D:{}000000Z", date.replace('-', "")), "{name}");
        assert_eq!(info["/ModDate"], info["/CreationDate"], "{name}");
        assert!(info["/Keywords"].is_null(), "{name}");
        let xmp = &second["xmp"];
        assert_eq!(xmp["title"], info["/Title"], "{name}");
        assert_eq!(xmp["subject"], info["/Subject"], "{name}");
        assert_eq!(xmp["producer"], info["/Producer"], "{name}");
        assert_eq!((&xmp["created"], &xmp["modified"]), (&Value::from(format!("{date} 00:00:00")), &xmp["created"]), "{name}");
        assert_eq!((&second["language"], &second["shows_title"]), (&Value::from("en"), &Value::Bool(true)), "{name}");
        let labels = second["labels"].as_array().expect("labels");
        let pages: Vec<Value> = (1..=labels.len()).map(|n| Value::from(n.to_string())).collect();
        assert_eq!(*labels, pages, "{name}: pages are called as they are printed");
    }
}

#[test]
fn a_print_agrees_with_the_sources_in_it() {
    for name in DEMOS {
        let (pdf, _) = demo(name);
        let found = recall(Path::new("print.pdf"), &pdf).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(found.differences, Vec::<String>::new(), "{name}");
        assert_eq!(found.bytes, Bytes::Same, "{name}");
        assert!(found.values > 60 && found.pages.is_some_and(|p| p >= 4), "{name}: {found:?}");
        // What is added behind it, as a viewer does that fills in a form, changes nothing of what was printed.
        let longer = [pdf.as_slice(), b"% later\n"].concat();
        let found = recall(Path::new("print.pdf"), &longer).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((found.differences, found.bytes), (Vec::new(), Bytes::Added(8)), "{name}");
    }
}

/// A project somewhere else: models in other folders, a site's theme, a draft, a byte order mark.
#[test]
fn a_draft_under_a_sites_templates_agrees_too() {
    let text = |name: &str| std::fs::read_to_string(folder().join(name)).expect("text");
    let procedure = text("stow-heron.md").replace("arm = \"arms/", "arm = \"../models/").replace("cell = \"cells/", "cell = \"../models/");
    let procedure = procedure.replace("policy = \"policy.toml\"", "policy = \"../models/rules.toml\"");
    let wrong = procedure.replacen("shoulder raise from", "shoulder lower from", 1);
    assert_ne!(procedure, wrong);
    let mut world = MemoryWorld::default().with("/site/.git", "").with("/site/jobs/stow.md", format!("\u{feff}{wrong}"));
    for (from, to) in [("arms/heron.toml", "heron.toml"), ("cells/bay-3.toml", "bay-3.toml"), ("policy.toml", "rules.toml")] {
        world = world.with(format!("/site/models/{to}"), text(from));
    }
    let theme = std::fs::read_to_string(root().join("templates/theme.toml")).expect("text");
    let world = world.with("/look/theme.toml", theme.replace("paper = \"a4\"", "paper = \"letter\""));
    let (pdf, _) = printed(&world, Path::new("/site/jobs/stow.md"), Some(Path::new("/look")), true);
    let (_folder, path) = kept(&pdf);
    assert!(String::from_utf8_lossy(&told("pdfinfo", &["PDF"], &path)).contains("612 x 792"), "the site's theme is not in use");
    let shown = told("qpdf", &["PDF", "--show-attachment=project/jobs/stow.md"], &path);
    assert_eq!(shown, format!("\u{feff}{wrong}").into_bytes());
    let found = recall(Path::new("print.pdf"), &pdf).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((found.differences, found.bytes), (Vec::new(), Bytes::Same));
}
