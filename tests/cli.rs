//! The program as its users meet it: exit codes, streams, messages, and an answer to every kind of bad input.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::syntax::front;
use tempfile::TempDir;

/// A project folder with the example models and procedures by name.
fn project(files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("no temporary folder: {e}"));
    let models = [("arm.toml", EXAMPLE_ARM), ("cell.toml", EXAMPLE_CELL), ("policy.toml", EXAMPLE_POLICY)];
    for (name, bytes) in models.iter().map(|(n, t)| (*n, t.as_bytes())).chain(files.iter().copied()) {
        let path = folder.path().join(name);
        path.parent().map(fs::create_dir_all).transpose().and_then(|_| fs::write(&path, bytes)).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    folder
}

/// Runs the program in `folder`.
fn run(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_surehand"));
    command.current_dir(folder).args(args).env_remove("NO_COLOR").env("COLUMNS", "140").stdin(Stdio::null());
    command.output().unwrap_or_else(|e| panic!("the program did not start: {e}"))
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}
fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}
fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

fn steps(text: &str) -> Vec<u8> {
    format!("{}\n{text}", front::EXAMPLE).into_bytes()
}

const CLEAN: &str = "1. `view window-1`\n2. `power on arm`\n3. `read joints`\n4. `power off arm`\n";

#[test]
fn a_clean_project_is_clean_and_says_so_on_the_error_stream() {
    let folder = project(&[("a.md", &steps(CLEAN)), ("sub/notes.md", b"# Notes\n")]);
    let done = run(folder.path(), &["check", "."]);
    assert_eq!((code(&done), out(&done).as_str()), (0, ""), "{}", err(&done));
    assert_eq!(err(&done), "1 procedure checked: no findings; 1 Markdown file without front matter passed over\n");
}

#[test]
fn usage_errors_have_their_own_code() {
    let folder = project(&[]);
    for args in [&[][..], &["chek", "."], &["check"], &["check", ".", "--format", "xml"], &["check", ".", "--fail-on", "never"]] {
        let done = run(folder.path(), args);
        assert_eq!((code(&done), out(&done).as_str()), (2, ""), "{args:?}: {}", err(&done));
    }
    for args in [&["--help"][..], &["--version"], &["check", "--help"]] {
        let done = run(folder.path(), args);
        assert_eq!((code(&done), err(&done).as_str()), (0, ""), "{args:?}");
        assert!(!out(&done).is_empty(), "{args:?}");
    }
}

/// One bad input: what the procedure holds, the exit code, the place and the words of the answer.
struct Bad<'a> {
    name: &'a str,
    bytes: Vec<u8>,
    code: i32,
    says: &'a [&'a str],
}

fn bad<'a>(name: &'a str, bytes: impl Into<Vec<u8>>, code: i32, says: &'a [&'a str]) -> Bad<'a> {
    Bad { name, bytes: bytes.into(), code, says }
}

fn with_front(from: &str, to: &str) -> Vec<u8> {
    assert!(front::EXAMPLE.contains(from), "{from}");
    format!("{}\n{CLEAN}", front::EXAMPLE.replacen(from, to, 1)).into_bytes()
}

#[test]
fn every_bad_input_gets_its_own_answer() {
    let many = (1..=10_001).map(|n| format!("{n}. `read joints`\n")).collect::<String>();
    let mut big = steps(CLEAN);
    big.resize(4 * 1024 * 1024 + 1, b'\n');
    let utf16: Vec<u8> = std::iter::once(0xfeff).chain("+++\n".encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let cases = [
        bad("empty", "", 1, &["bad.md:1:1: error[empty-file]"]),
        bad("only a mark", "\u{feff}", 1, &["bad.md:1:1: error[empty-file]", "advice[byte-order-mark]"]),
        bad("no front matter", "# Title\n\n1. `read joints`\n", 1, &["bad.md:1:1: error[no-front-matter]"]),
        bad("unterminated front matter", "+++\nid = \"x\"\n\n# Title\n", 1, &["bad.md:1:1: error[unterminated-front-matter]"]),
        bad("unknown key", with_front("use =", "colour = \"red\"\nuse ="), 1, &["bad.md:6:1: error[unknown-key]", "colour"]),
        bad("key twice", with_front("use =", "id = \"x\"\nuse ="), 1, &["bad.md:6:1: error[duplicate-key]"]),
        bad("wrong type", with_front("\"A\"", "7"), 1, &["bad.md:4:12: error[wrong-type]"]),
        bad("missing arm", with_front("arm.toml", "arn.toml"), 1, &["bad.md:8:7: error[missing-file]", "arn.toml"]),
        bad("path out", with_front("arm.toml", "../../arm.toml"), 1, &["error[unusable-path]", "out of the project"]),
        bad("absolute path", with_front("arm.toml", "/etc/passwd"), 1, &["error[unusable-path]", "relative"]),
        bad("drive", with_front("arm.toml", "C:arm.toml"), 1, &["error[unusable-path]", "drive"]),
        bad("escaped path", with_front("arm.toml", "%2e%2e/arm.toml"), 1, &["error[unusable-path]", "%"]),
        bad("not UTF-8", [&steps(CLEAN)[..], b"caf\xe9\n"].concat(), 3, &["bad.md: byte ", "0xE9, is not UTF-8"]),
        bad("UTF-16", utf16, 3, &["bad.md: is UTF-16"]),
        bad("NUL", steps("1. Look\0 here.\n"), 1, &["bad.md:17:8: error[nul-character]"]),
        bad("too large", big, 4, &["bad.md: limit reached", "4 MiB"]),
        bad("too many steps", steps(&many), 4, &["error[over-limit]", "10000"]),
        bad("deep quotations", steps(&format!("{} deep\n", ">".repeat(5000))), 4, &["error[over-limit]"]),
        bad("deep lists", steps(&format!("{}deep\n", "- ".repeat(5000))), 4, &["error[over-limit]"]),
        bad("deep brackets", steps(&format!("1. {}\n", "[".repeat(5000))), 4, &["error[over-limit]"]),
        bad("long line", steps(&format!("{}\n", "x".repeat(17 * 1024))), 4, &["error[over-limit]"]),
        bad("anchor twice", steps("# One {#a}\n\n1. `read joints`\n\n# Two {#a}\n\n2. `read joints`\n"), 1, &["error[duplicate-anchor]"]),
        bad("not a number", steps("1. `base left to NaN deg`\n"), 1, &["bad.md:17:", "error["]),
        bad("huge number", steps("1. `base left to +1e308 deg`\n"), 1, &["bad.md:17:", "error["]),
        bad("many digits", steps("1. `base left to +99999999999999999999 deg`\n"), 1, &["bad.md:17:", "error["]),
        bad("reversed text", steps("1. `base left to +5 deg` \u{202e}ged\n"), 1, &["bad.md:17:26: error[", "U+202E"]),
        bad("zero width", steps("1. `ba\u{200b}se left to +5 deg`\n"), 1, &["bad.md:17:7: error[", "U+200B"]),
        bad("escape sequence", steps("1. Look \u{1b}[2J here.\n"), 1, &["bad.md:17:9: error[", "U+001B"]),
        bad("performs itself", steps("1. `perform` [again](bad.md)\n"), 1, &["bad.md:17:22: error[perform-cycle]", "bad.md -> bad.md"]),
        bad("HTML", steps("1. Look <script>alert(1)</script> here.\n"), 1, &["bad.md:17:9: error["]),
    ];
    let mut faults = Vec::new();
    for case in &cases {
        let folder = project(&[("bad.md", &case.bytes)]);
        let done = run(folder.path(), &["check", "bad.md", "--format", "short"]);
        let said = out(&done) + &err(&done);
        let silent = case.says.iter().filter(|s| !said.contains(**s)).collect::<Vec<_>>();
        if code(&done) != case.code || !silent.is_empty() {
            let said: String = said.chars().take(600).collect();
            faults.push(format!("{}: exit {}, wanted {}; missing {silent:?} in\n{said}", case.name, code(&done), case.code));
        }
        if said.contains("panicked") || said.chars().any(|c| c.is_control() && c != '\n') {
            faults.push(format!("{}: the answer carries what it should not: {said:?}", case.name));
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n\n"));
}

#[test]
fn procedures_that_perform_each_other_are_shown_as_a_chain() {
    let call = |name: &str| steps(&format!("1. `perform` [next]({name})\n"));
    let folder = project(&[("a.md", &call("b.md")), ("b.md", &call("c.md")), ("c.md", &call("a.md"))]);
    let done = run(folder.path(), &["check", "a.md", "--format", "short"]);
    assert_eq!(code(&done), 1);
    assert!(
        out(&done).contains("c.md:17:21: error[perform-cycle]: this procedure comes to perform itself: a.md -> b.md -> c.md -> a.md"),
        "{}",
        out(&done)
    );
}

#[test]
fn depth_and_number_of_procedures_are_limited() {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for n in 0..40 {
        files.push((format!("{n}.md"), steps(&format!("1. `perform` [next]({}.md)\n", n + 1))));
    }
    // Each performs the next four times: written out, the last would stand there 4^15 times.
    for n in 100..115 {
        let calls: String = (1..5).map(|i| format!("{i}. `perform` [next]({}.md)\n", n + 1)).collect();
        files.push((format!("{n}.md"), steps(&calls)));
    }
    files.push(("115.md".into(), steps("1. `read joints`\n")));
    let wide: String = (200..270).map(|n| format!("{}. `perform` [part]({n}.md)\n", n - 199)).collect();
    files.push(("wide.md".into(), steps(&wide)));
    files.extend((200..270).map(|n| (format!("{n}.md"), steps("1. `read joints`\n"))));
    let files: Vec<(&str, &[u8])> = files.iter().map(|(n, t)| (n.as_str(), t.as_slice())).collect();
    let folder = project(&files);
    for (name, says) in [("0.md", "16 deep"), ("100.md", "16 MiB"), ("wide.md", "64 procedures")] {
        let done = run(folder.path(), &["check", name]);
        assert_eq!(code(&done), 4, "{name}: {}", err(&done));
        assert!(err(&done).contains(says), "{name}: {}", err(&done));
    }
}

#[test]
fn what_is_missing_is_named_and_the_rest_is_still_checked() {
    let folder = project(&[("a.md", &steps("1. `base lift to +5 deg`\n")), ("bytes.md", b"+++\n\xff\n+++\n")]);
    let done = run(folder.path(), &["check", "none.md", "a.md", "bytes.md"]);
    assert_eq!(code(&done), 3);
    assert!(out(&done).contains("a.md:17:10"), "{}", out(&done));
    assert!(
        err(&done).contains("none.md: there is no such file") && err(&done).contains("bytes.md: byte 5 (line 2), 0xFF"),
        "{}",
        err(&done)
    );
    let empty = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(code(&run(empty.path(), &["check", "."])), 3, "a check of nothing is not clean");
}

#[test]
fn a_performed_procedure_is_for_the_same_models() {
    let other = with_front("arm.toml", "arm-2.toml");
    let folder = project(&[("a.md", &steps("1. `perform` [part](b.md)\n")), ("b.md", &other), ("arm-2.toml", EXAMPLE_ARM.as_bytes())]);
    let done = run(folder.path(), &["check", "a.md", "--format", "json"]);
    assert_eq!(code(&done), 1, "{}", out(&done));
    assert!(out(&done).contains("\"other-models\""), "{}", out(&done));
}

#[cfg(unix)]
#[test]
fn links_out_of_the_project_are_not_followed() {
    let folder =
        project(&[("p/policy.toml", EXAMPLE_POLICY.as_bytes()), ("p/cell.toml", EXAMPLE_CELL.as_bytes()), ("p/a.md", &steps(CLEAN))]);
    std::os::unix::fs::symlink("../arm.toml", folder.path().join("p/arm.toml")).unwrap_or_else(|e| panic!("{e}"));
    let done = run(folder.path(), &["check", "p/a.md"]);
    assert_eq!(code(&done), 3);
    assert!(err(&done).contains("p/arm.toml: is a link that leads out of the project"), "{}", err(&done));
    let done = run(folder.path(), &["check", "/dev/zero"]);
    assert_eq!(code(&done), 3);
    assert!(err(&done).contains("device"), "{}", err(&done));
}

#[test]
fn the_fail_on_weight_decides_the_code() {
    let marked = [&b"\xef\xbb\xbf"[..], &steps(CLEAN)].concat();
    let folder = project(&[("a.md", &marked)]);
    for (weight, expected) in [("error", 0), ("warning", 0), ("advice", 1)] {
        let done = run(folder.path(), &["check", "a.md", "--fail-on", weight]);
        assert_eq!(code(&done), expected, "{weight}: {}", out(&done));
        assert!(out(&done).contains("byte-order-mark"));
    }
}

#[test]
fn json_is_one_object_and_the_same_on_any_number_of_threads() {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for n in 0..20 {
        files.push((format!("p/{n}.md"), steps(&format!("1. `base lift to +{n} deg`\n2. `elbow fold to 5`\n"))));
    }
    let files: Vec<(&str, &[u8])> = files.iter().map(|(n, t)| (n.as_str(), t.as_slice())).collect();
    let folder = project(&files);
    for name in ["arm.toml", "cell.toml", "policy.toml"] {
        let text = fs::read_to_string(folder.path().join(name)).unwrap_or_default();
        // A mistake in a shared model is shown once, not once for each procedure, and nothing is resolved against it.
        let text = if name == "policy.toml" { text + "\n[coffee]\n" } else { text };
        fs::write(folder.path().join("p").join(name), text).unwrap_or_else(|e| panic!("{e}"));
    }
    let one = out(&run(folder.path(), &["check", "p", "--format", "json", "--threads", "1"]));
    for _ in 0..3 {
        assert_eq!(one, out(&run(folder.path(), &["check", "p", "--format", "json", "--threads", "4"])));
    }
    let report: serde_json::Value = serde_json::from_str(&one).unwrap_or_else(|e| panic!("{e}: {one}"));
    assert_eq!(report["schema"], "surehand-findings/1");
    assert_eq!(report["summary"]["files"], 20);
    let findings = report["findings"].as_array().cloned().unwrap_or_default();
    let shared = findings.iter().filter(|f| f["file"] == "p/policy.toml").count();
    assert_eq!(shared, 1, "{one}");
    let first = &findings[0];
    assert_eq!((first["file"].as_str(), first["line"].as_u64()), (Some("p/0.md"), Some(18)), "{first}");
    assert_eq!(report["summary"]["errors"].as_u64(), Some(findings.iter().filter(|f| f["severity"] == "error").count() as u64));
}

#[test]
fn explain_knows_every_rule_and_helps_with_a_slip() {
    let folder = project(&[]);
    let index = run(folder.path(), &["explain"]);
    assert_eq!(code(&index), 0);
    assert!(out(&index).contains("unknown-key"));
    let page = run(folder.path(), &["explain", "unusable-path"]);
    assert!(out(&page).contains("Why") && out(&page).contains("^^^") && out(&page).contains("Accepted"), "{}", out(&page));
    let slip = run(folder.path(), &["explain", "unknwon-key"]);
    assert_eq!(code(&slip), 2);
    assert!(err(&slip).contains("did you mean unknown-key?"), "{}", err(&slip));
}

#[test]
fn a_new_project_checks_clean_and_nothing_is_overwritten() {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    let done = run(folder.path(), &["new", "first"]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    let done = run(folder.path(), &["check", "first", "--fail-on", "advice"]);
    assert_eq!(code(&done), 0, "{}", out(&done));
    let done = run(folder.path(), &["build", "first/first.md"]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    assert!(out(&done).starts_with("wrote first/first.pdf ("), "{}", out(&done));
    let before = fs::read(folder.path().join("first/first.md")).unwrap_or_default();
    let again = run(folder.path(), &["new", "first"]);
    assert_eq!(code(&again), 3);
    assert!(err(&again).contains("not empty"), "{}", err(&again));
    assert_eq!(before, fs::read(folder.path().join("first/first.md")).unwrap_or_default());
}

const WRONG: &str = "1. `view window-1`\n2. `power on arm`\n3. `base right to +5 deg`\n4. `power off arm`\n";

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut names: Vec<_> = entries.map(|e| e.file_name().to_string_lossy().into_owned()).filter(|n| !n.ends_with(".toml")).collect();
    names.sort();
    names
}

#[test]
fn nothing_is_printed_while_an_error_stands_except_a_marked_draft() {
    let folder = project(&[("a.md", &steps(WRONG))]);
    let done = run(folder.path(), &["build", "a.md", "--format", "pdf,html,json,text"]);
    assert_eq!((code(&done), out(&done).as_str()), (1, ""));
    assert!(err(&done).contains("nothing was written: 1 error stands") && err(&done).contains("--draft"), "{}", err(&done));
    assert_eq!(names(folder.path()), ["a.md"]);
    let done = run(folder.path(), &["build", "a.md", "--draft", "--format", "text,html"]);
    assert_eq!((code(&done), out(&done).as_str()), (1, "wrote a.txt\nwrote a.html\n"), "{}", err(&done));
    let text = fs::read_to_string(folder.path().join("a.txt")).unwrap_or_default();
    assert!(text.contains("DRAFT, 1 error") && !text.contains("CHECKED"), "{text}");
    assert!(text.contains("none of this is confirmed") && !text.contains("Checked against"), "{text}");
    let broken = with_front("arm.toml", "lost.toml");
    fs::write(folder.path().join("b.md"), broken).unwrap_or_else(|e| panic!("{e}"));
    let done = run(folder.path(), &["build", "b.md", "--draft"]);
    assert_eq!(code(&done), 1);
    assert!(err(&done).contains("a draft needs models that can be read"), "{}", err(&done));
    assert_eq!(names(folder.path()), ["a.html", "a.md", "a.txt", "b.md"]);
}

#[cfg(target_os = "linux")]
#[test]
fn what_a_cut_off_run_has_left_is_removed_with_a_note() {
    let folder = project(&[("a.md", &steps(CLEAN))]);
    // No process has a number as large as this.
    let left = folder.path().join(".a.txt.4294967295-0.surehand-tmp");
    let file = fs::File::create(&left).unwrap_or_else(|e| panic!("{e}"));
    file.set_modified(std::time::UNIX_EPOCH).unwrap_or_else(|e| panic!("{e}"));
    let done = run(folder.path(), &["build", "a.md", "--format", "text"]);
    assert_eq!((code(&done), out(&done).as_str()), (0, "wrote a.txt\n"));
    assert_eq!(err(&done), "removed .a.txt.4294967295-0.surehand-tmp: an earlier run was cut off while it wrote\n");
    assert_eq!(names(folder.path()), ["a.md", "a.txt"]);
}

#[test]
fn a_clean_procedure_is_printed_whole_and_the_same_each_time() {
    let folder = project(&[("jobs/a.md", &steps(CLEAN))]);
    for name in ["arm.toml", "cell.toml", "policy.toml"] {
        fs::rename(folder.path().join(name), folder.path().join("jobs").join(name)).unwrap_or_else(|e| panic!("{e}"));
    }
    let done = run(folder.path(), &["build", "jobs/a.md", "-o", "prints/new/", "--format", "pdf,json,html,text,pdf"]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    assert!(
        out(&done).starts_with("wrote prints/new/a.pdf (") && out(&done).contains(" pages)\nwrote prints/new/a.json\n"),
        "{}",
        out(&done)
    );
    let read = |name: &str| fs::read(folder.path().join("prints/new").join(name)).unwrap_or_default();
    assert!(read("a.pdf").starts_with(b"%PDF-1.7"));
    assert!(String::from_utf8_lossy(&read("a.txt")).contains("CHECKED, NOT APPROVED"));
    let compiled: serde_json::Value = serde_json::from_slice(&read("a.json")).unwrap_or_default();
    assert_eq!(compiled["schema"], "surehand-compiled/2");
    assert_eq!(compiled["digests"]["content"].as_str().map(str::len), Some(64), "{compiled}");
    let before = ["a.pdf", "a.html", "a.json", "a.txt"].map(read);
    // From another folder, under another name for the same place: the content is the same, so the bytes are.
    let done = run(&folder.path().join("jobs"), &["build", "./a.md", "-o", "../prints/new", "--format", "pdf,json,html,text"]);
    assert_eq!(code(&done), 0, "{}", err(&done));
    assert_eq!(before, ["a.pdf", "a.html", "a.json", "a.txt"].map(read));
    // A name without an ending is a folder, of one format and of several, and is made if need be.
    for (name, formats) in [("one", "json"), ("two", "json,text")] {
        let done = run(folder.path(), &["build", "jobs/a.md", "-o", name, "--format", formats]);
        assert!(code(&done) == 0 && out(&done).starts_with(&format!("wrote {name}/a.json\n")), "{}{}", out(&done), err(&done));
    }
    let shown = run(folder.path(), &["build", "jobs/a.md", "-o", "-", "--format", "text"]);
    assert_eq!(shown.stdout, before[3]);
    // The content digest follows every file that took part.
    let policy = EXAMPLE_POLICY.to_owned() + "\n# another byte\n";
    fs::write(folder.path().join("jobs/policy.toml"), policy).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(code(&run(folder.path(), &["build", "jobs/a.md", "-o", "prints/new", "--format", "json"])), 0);
    let other: serde_json::Value = serde_json::from_slice(&read("a.json")).unwrap_or_default();
    assert_ne!(compiled["digests"]["content"], other["digests"]["content"]);
}

#[test]
fn a_found_print_is_read_back_from_itself_alone() {
    let folder = project(&[("a.md", &steps(CLEAN))]);
    assert_eq!(code(&run(folder.path(), &["build", "a.md"])), 0);
    let bytes = fs::read(folder.path().join("a.pdf")).unwrap_or_default();
    let alone = tempfile::tempdir().unwrap_or_else(|e| panic!("no temporary folder: {e}"));
    let read_back = |bytes: &[u8]| {
        fs::write(alone.path().join("found.pdf"), bytes).unwrap_or_else(|e| panic!("not written: {e}"));
        run(alone.path(), &["readback", "found.pdf"])
    };
    let done = read_back(&bytes);
    assert_eq!(code(&done), 0, "{}{}", out(&done), err(&done));
    assert!(out(&done).contains("what this program prints from the sources in it, byte for byte\n"), "{}", out(&done));
    assert!(err(&done).starts_with("found.pdf: the print agrees with the sources in it: "), "{}", err(&done));
    assert_eq!(names(alone.path()), ["found.pdf"]);
    let mut file = lopdf::Document::load_mem(&bytes).unwrap_or_else(|e| panic!("{e}"));
    file.delete_pages(&[2]);
    let mut less = Vec::new();
    file.save_to(&mut less).unwrap_or_else(|e| panic!("{e}"));
    let done = read_back(&less);
    assert_eq!(code(&done), 1, "{}", out(&done));
    assert!(
        out(&done).contains("differs: page 1 does not say that it is page 1 of ") && out(&done).contains(" and is not there\n"),
        "{}",
        out(&done)
    );
    let done = read_back(b"%PDF-1.7 but nothing more");
    assert_eq!((code(&done), out(&done).as_str()), (3, ""));
    assert!(err(&done).contains("found.pdf: cannot be opened as a PDF"), "{}", err(&done));
}

#[test]
fn a_print_never_lands_on_a_source_a_link_or_half_way() {
    let folder = project(&[("a.md", &steps(CLEAN)), ("old.pdf", b"old"), ("plain", b"")]);
    for (args, exit, says) in [
        (&["-o", "a.md"][..], 2, "must end in .pdf"),
        (&["-o", "arm.toml", "--format", "text"], 2, "must end in .txt"),
        (&["-o", "x.pdf", "--format", "pdf,html"], 2, "several formats go into a folder"),
        (&["-o", "-", "--format", "pdf,html"], 2, "takes one format"),
        (&["-o", "plain/x.pdf"], 3, "plain"),
        (&["-o", "link.pdf"], 3, "is a symbolic link"),
        (&["--templates", "none"], 3, "no such file"),
        (&["--format", "docx"], 2, "docx"),
    ] {
        #[cfg(unix)]
        let _ = std::os::unix::fs::symlink("old.pdf", folder.path().join("link.pdf"));
        let done = run(folder.path(), &[&["build", "a.md"], args].concat());
        assert_eq!(code(&done), exit, "{args:?}: {}", err(&done));
        assert!(err(&done).contains(says), "{args:?}: {}", err(&done));
    }
    assert_eq!(fs::read(folder.path().join("a.md")).unwrap_or_default(), steps(CLEAN));
    assert_eq!(fs::read(folder.path().join("old.pdf")).unwrap_or_default(), b"old");
    assert_eq!(names(folder.path()), ["a.md", "link.pdf", "old.pdf", "plain"]);
}

#[test]
fn the_ending_of_the_output_says_its_format() {
    let folder = project(&[("a.md", &steps(CLEAN)), ("arm.toml", EXAMPLE_ARM.as_bytes())]);
    let begins = |name: &str| fs::read(folder.path().join(name)).unwrap_or_default().get(..5).map(<[u8]>::to_vec).unwrap_or_default();
    for (args, file, begin) in [
        (["build", "a.md"], "x.html", &b"<!DOC"[..]),
        (["build", "a.md"], "x.json", b"{\n  \""),
        (["build", "a.md"], "x.pdf", b"%PDF-"),
        (["card", "arm.toml"], "card.html", b"<!DOC"),
    ] {
        let done = run(folder.path(), &[&args[..], &["-o", file]].concat());
        assert_eq!(code(&done), 0, "{file}: {}", err(&done));
        assert_eq!(begins(file), begin, "{file}");
    }
    // A card is no data.
    let done = run(folder.path(), &["card", "arm.toml", "-o", "card.json"]);
    assert_eq!(code(&done), 2, "{}", err(&done));
    assert!(err(&done).contains("card.json must end in .pdf"), "{}", err(&done));
}

#[test]
fn a_sites_template_that_hides_a_step_is_refused() {
    let folder = project(&[("a.md", &steps(CLEAN)), ("site/front.html", b"<section></section>\n")]);
    let done = run(folder.path(), &["build", "a.md", "--templates", "site"]);
    assert_eq!(code(&done), 1, "{}", err(&done));
    assert!(err(&done).contains("template-") && err(&done).contains("nothing was written: the templates are at fault"), "{}", err(&done));
    assert_eq!(names(folder.path()), ["a.md", "site"]);
}

#[test]
fn fmt_renumbers_in_place_and_only_looks_when_asked_to() {
    let wild = steps("1. `view window-1`\n1. `base left to +5\u{b0}`\n");
    let folder = project(&[("a.md", &wild), ("notes.md", b"1. one\n1. two\n")]);
    let path = folder.path().join("a.md");
    let look = run(folder.path(), &["fmt", ".", "--check"]);
    assert_eq!((code(&look), fs::read(&path).ok()), (1, Some(wild)));
    assert!(err(&look).contains("a.md: would change"), "{}", err(&look));
    assert_eq!(code(&run(folder.path(), &["fmt", "."])), 0);
    let text = fs::read_to_string(&path).unwrap_or_default();
    assert!(text.ends_with("1. `view window-1`\n2. `base left to +5 deg`\n"), "{text}");
    assert_eq!(fs::read(folder.path().join("notes.md")).unwrap_or_default(), b"1. one\n1. two\n");
    assert_eq!(code(&run(folder.path(), &["fmt", ".", "--check"])), 0);
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_no_failure() {
    let folder = project(&[("a.md", &steps(CLEAN))]);
    let mut command = Command::new(env!("CARGO_BIN_EXE_surehand"));
    let child = command.current_dir(folder.path()).arg("explain").stdout(Stdio::piped()).stderr(Stdio::piped()).spawn();
    let mut child = child.unwrap_or_else(|e| panic!("{e}"));
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((code(&done), err(&done).as_str()), (0, ""));
}
