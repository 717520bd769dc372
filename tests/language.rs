//! Prints in other languages: a language made by a program from the English one shows that nothing printed is hard-coded; the
//! German one goes all the way, is read back, and says the same values.

mod common;
mod library;

use common::{Case, START, examine};
use library::{DEMOS, folder, text};
use roxmltree::{Document, Node, ParsingOptions};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use surehand::diag::Diagnostic;
use surehand::document::build::{Digests, Edition, Figures, Sources, build};
use surehand::emit::{Format, Print};
use surehand::session::{Bytes, DiskWorld, MemoryWorld, Prints, Session, Wish, World, recall};
use surehand::template::theme::Look;
use surehand::template::{Templates, render};
use surehand::text::Files;
use surehand::words::{LANGUAGES, Words};

const LATER: &str = "stow-heron-later.md";

/// A letter of the made language for each that most words have; it keeps its case.
fn other(c: char) -> char {
    let from = "abcdefghijklnorstuwyzABCDEFGHIJKLNORSTUWYZ";
    let to = "äþçðëφğħïĵķłñöřšťüŵÿžÄÞÇÐËΦĞĦÏĴĶŁÑÖŘŠŤÜŴŸŽ";
    from.chars().position(|f| f == c).and_then(|at| to.chars().nth(at)).unwrap_or(c)
}

/// A set of words made from the English one, letter by letter; slots and marks stay.
fn made() -> String {
    let mut tables: BTreeMap<&str, String> = BTreeMap::new();
    for (id, sentence) in Words::english().entries() {
        let (table, key) = id.split_once('.').expect("a table");
        let mut words = String::new();
        for (n, part) in sentence.split('{').enumerate() {
            let (slot, text) = if n == 0 { ("", part) } else { part.split_once('}').expect("a slot") };
            let _ = if n == 0 { Ok(()) } else { write!(words, "{{{slot}}}") };
            words.extend(text.chars().map(other));
        }
        let quoted = words.replace('\\', "\\\\").replace('"', "\\\"");
        let _ = writeln!(tables.entry(table).or_default(), "{key} = \"{quoted}\"");
    }
    let mut out = "language = \"qps\"\nforbidden = [\"proved\"]\n".to_owned();
    for (table, keys) in &tables {
        let _ = writeln!(out, "[{table}]\n{keys}");
    }
    out
}

/// Every word of the library as it stands in its files, in small letters, one space between them.
fn written() -> String {
    fn add(folder: &Path, out: &mut String) {
        for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
            match std::fs::read_to_string(entry.path()) {
                Ok(text) => *out += &text,
                Err(_) if entry.path().is_dir() => add(&entry.path(), out),
                Err(_) => {}
            }
        }
    }
    let mut out = String::new();
    add(&folder(), &mut out);
    bare(&out)
}

/// Words in small letters, one space between them and at both ends.
fn bare(text: &str) -> String {
    let words = text.to_lowercase();
    format!(" {} ", words.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" "))
}

/// Units, and what the QR code says to a machine: the same in every language.
const ANYWHERE: [&str; 14] = ["deg", "mm", "m", "kg", "g", "n", "nm", "s", "min", "h", "bar", "ms", "rev", "content"];

/// Runs of words in plain letters that nobody wrote in the library: hard-coded ones.
fn strange(text: &str, written: &str) -> Vec<String> {
    let mut out = Vec::new();
    let mut run: Vec<String> = Vec::new();
    let mut end = |run: &mut Vec<String>| {
        let words = std::mem::take(run).join(" ");
        if words.len() > 1 && !written.contains(&format!(" {words} ")) {
            out.push(words);
        }
    };
    let mut token = String::new();
    for c in text.chars().chain(['\n']) {
        if c.is_alphanumeric() {
            token.push(c);
            continue;
        }
        let word = std::mem::take(&mut token).to_lowercase();
        let plain = !word.is_empty() && word.bytes().all(|b| b.is_ascii_alphabetic());
        if plain && !ANYWHERE.contains(&word.as_str()) {
            run.push(word);
        } else if !word.is_empty() {
            end(&mut run);
        }
        if !matches!(c, ' ' | '-' | '\'' | '\u{a0}') {
            end(&mut run);
        }
    }
    out
}

/// Values that are no words: digests, check values, and findings, which say what the program says at the terminal.
fn is_told(id: &str) -> bool {
    let digest =
        ["doc.digest", "doc.content"].contains(&id) || id.ends_with(".digest") || id.ends_with(".code") || id.starts_with("record.code");
    digest || id.starts_with("package.finding") && [".of-message", ".of-rule"].iter().any(|end| id.ends_with(end))
}

fn page(html: &str) -> Document<'_> {
    Document::parse_with_options(html, ParsingOptions { allow_dtd: true, ..Default::default() }).expect("well-formed")
}

fn words_of(node: Node<'_, '_>) -> String {
    node.descendants().filter(Node::is_text).filter_map(|n| n.text()).collect::<Vec<_>>().join(" ")
}

/// What a screen page says that nobody wrote: in its words, and in what is said of its parts.
fn strange_in_page(html: &str, written: &str) -> BTreeSet<String> {
    let page = page(html);
    let mut out = BTreeSet::new();
    let skipped = |n: &Node<'_, '_>| {
        n.ancestors().any(|a| a.has_tag_name("style") || a.has_tag_name("script") || a.attribute("data-field").is_some_and(is_told))
    };
    for node in page.descendants().filter(|n| !skipped(n)) {
        let said = node.attributes().filter(|a| a.name() == "aria-label" || a.name().starts_with("data-") && a.name() != "data-field");
        // What may touch is a statement of the writer, with the titles of things in place of their names.
        let touching = node.ancestors().filter_map(|a| a.attribute("data-field")).any(|id| id.contains(".touching-allowed"));
        for text in said.map(|a| a.value()).chain(node.text().filter(|_| node.is_text())) {
            out.extend(if touching { strange(&text.replace(" and ", ", "), written) } else { strange(text, written) });
        }
    }
    // Digests in what is said of the QR code.
    out.retain(|run| !run.bytes().all(|b| b"abcdef ".contains(&b)));
    out
}

fn printed(session: &Session<'_>, name: &str, formats: &[&str], wish: &Wish<'_>) -> Vec<Vec<u8>> {
    let compiled = session.compile(&folder().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
    let show = |list: Vec<Diagnostic>| list.into_iter().map(|d| d.message).collect::<Vec<_>>();
    match session.print(&compiled, formats, wish).unwrap_or_else(|e| panic!("{name}: {e}")) {
        Prints::Made(files) => files.into_iter().map(|f| f.bytes).collect(),
        Prints::Refused(problems) => panic!("{name}: {:#?}", show(problems)),
        Prints::Withheld(errors) => panic!("{name}: {errors} errors"),
    }
}

fn utf8(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

/// The library with a later revision of a procedure, a folder of templates with the made set, and all words that are written.
fn site() -> (MemoryWorld, PathBuf, String) {
    let change = "[[change]]\nrevision = \"B\"\ndate = \"2026-11-20\"\ntext = \"Tried out.\"\n+++\n\nThis";
    let later = text("stow-heron.md").replace("revision = \"A\"", "revision = \"B\"").replace("+++\n\nThis", change);
    let later = later
        .replace("2. `expect pose transit`\n", "2. `tell Shift lead`\n   - Say: \"Stowing the arm of bay 3.\"\n3. `expect pose transit`\n");
    let later = later
        .replace("the forearm and the upper arm, window 1", "the forearm, window 1")
        .replace("jaw = \"60 mm\"\npower", "jaw = \"61 mm\"\npower");
    let always = text("policy.toml") + "\n";
    let always = always.replacen("site = ", "data-sheets = \"always\"\nsite = ", 1);
    let sheets = text("swab-survey.md").replace("policy = \"policy.toml\"", "policy = \"always.toml\"");
    let written = written() + &bare(&later);
    let world = MemoryWorld::over(DiskWorld)
        .with(folder().join(LATER), later.into_bytes())
        .with(folder().join("always.toml"), always.into_bytes())
        .with(folder().join("sheets.md"), sheets.into_bytes());
    (world.with("/made/words.qps.toml", made()), PathBuf::from("/made"), written)
}

#[test]
fn no_word_of_a_print_is_hard_coded() {
    let (world, made, written) = site();
    let session = Session::new(&world);
    let wish = Wish { site: Some(&made), language: Some("qps"), ..Wish::default() };
    let earlier = session.revision(&folder().join("stow-heron.md")).expect("compiles");
    let mut cases: Vec<(&str, Wish<'_>)> = DEMOS.iter().map(|name| (*name, wish)).collect();
    cases.push(("lid-lift.md", Wish { edition: Edition::Review, ..wish }));
    cases.push(("stow-heron.md", Wish { edition: Edition::Training, draft: true, ..wish }));
    cases.push((LATER, Wish { since: Some(&earlier), ..wish }));
    cases.push(("sheets.md", wish));
    let mut seen = 0;
    for (name, wish) in cases {
        let [html, words] = <[Vec<u8>; 2]>::try_from(printed(&session, name, &["html", "text"], &wish)).expect("two");
        let (html, words) = (utf8(&html), utf8(&words));
        assert!(html.contains("<html lang=\"qps\">"), "{name}");
        let found = strange_in_page(&html, &written);
        assert!(found.is_empty(), "{name}, {}: {found:#?}", wish.edition.word());
        seen += words.chars().filter(|c| *c == 'ë').count();
        // A text has no ids: findings, and what may touch, are taken for written, and lines end where they end.
        let page = page(&html);
        let known = |id: &str| is_told(id) || id.contains(".touching-allowed");
        let told: Vec<String> = page.descendants().filter(|n| n.attribute("data-field").is_some_and(known)).map(words_of).collect();
        let known = format!("{written}{}", bare(&told.join(" ")));
        let runs = words.lines().flat_map(|l| strange(l, &known)).filter(|run| run.contains(' ') && !in_pieces(run, &known));
        let found: Vec<String> = runs.filter(|run| !run.bytes().all(|b| b"abcdef ".contains(&b))).collect();
        assert!(found.is_empty(), "{name}, {}, text: {found:#?}", wish.edition.word());
    }
    assert!(seen > 5_000, "the made language is printed: {seen}");
}

#[test]
fn no_word_of_a_card_is_hard_coded() {
    let (world, made, written) = site();
    let session = Session::new(&world);
    for arm in ["arms/heron.toml", "arms/osprey.toml"] {
        let made = session.card(&folder().join(arm), &["html"], Some(&made), Some("qps"));
        let Ok((_, Prints::Made(files))) = made else { panic!("{arm}: {made:#?}") };
        let page = utf8(&files[0].bytes);
        assert!(page.matches('ë').count() > 50, "{arm}: the made language is printed");
        // A joint and its direction word stand in one value.
        let mut found = strange_in_page(&page, &written);
        found.retain(|run| !in_pieces(run, &written));
        assert!(found.is_empty(), "{arm}: {found:#?}");
    }
}

/// Whether a run is two pieces of what is written, one behind the other: a value that ends a line and the next.
fn in_pieces(run: &str, written: &str) -> bool {
    run.match_indices(' ').any(|(at, _)| [&run[..at], &run[at + 1..]].iter().all(|piece| written.contains(&format!(" {piece} "))))
}

/// A file of pages says nothing of its own either: bookmarks, fields, attachments, structure, metadata.
#[test]
fn no_word_within_a_file_of_pages_is_hard_coded() {
    let (world, made, written) = site();
    let session = Session::new(&world);
    let earlier = session.revision(&folder().join("stow-heron.md")).expect("compiles");
    let wish = Wish { site: Some(&made), language: Some("qps"), edition: Edition::Review, since: Some(&earlier), ..Wish::default() };
    let pdf = printed(&session, LATER, &["pdf"], &wish).remove(0);
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("print.pdf");
    std::fs::write(&path, &pdf).expect("written");
    let told = |program: &str, args: &[&str]| {
        let out = Command::new(program).args(args).arg(&path).output().unwrap_or_else(|e| panic!("{program}: {e}"));
        assert!(out.status.success(), "{program}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8_lossy(&out.stdout).into_owned()
    };
    let data: serde_json::Value = serde_json::from_str(&told("qpdf", &["--json", "--json-key=qpdf"])).expect("JSON");
    let mut strings = Vec::new();
    gather(&data, "", &mut strings);
    assert!(
        strings.iter().any(|(key, _)| key == "/TU") && strings.iter().any(|(key, _)| key == "/Desc"),
        "fields and attachments are there"
    );
    // Names of fields and files, targets of links, dates and what made the file are the same in every language.
    let same = [
        "/T",
        "/F",
        "/UF",
        "/Names",
        "/Contents",
        "/Producer",
        "/DA",
        "/CreationDate",
        "/ModDate",
        "/P",
        "/S",
        "/Lang",
        "/Ordering",
        "/Registry",
    ];
    let said = strings.iter().filter(|(key, _)| !same.contains(&key.as_str()));
    let found: BTreeSet<(String, String)> =
        said.flat_map(|(key, text)| strange(text, &written).into_iter().map(move |run| (key.clone(), run))).collect();
    let found: Vec<_> =
        found.into_iter().filter(|(_, run)| !in_pieces(run, &written) && !run.bytes().all(|b| b"abcdef ".contains(&b))).collect();
    assert!(found.is_empty(), "{found:#?}");
    assert_eq!(strings.iter().find(|(key, _)| key == "/Lang").map(|(_, text)| text.as_str()), Some("qps"));
    let found = recall(&path, &pdf).expect("reads");
    assert_eq!((found.bytes, found.differences), (Bytes::Same, Vec::new()));
}

/// The texts of a PDF's objects with their keys.
fn gather(value: &serde_json::Value, key: &str, out: &mut Vec<(String, String)>) {
    match value {
        serde_json::Value::Object(object) => object.iter().for_each(|(key, value)| gather(value, key, out)),
        serde_json::Value::Array(list) => list.iter().for_each(|value| gather(value, key, out)),
        serde_json::Value::String(text) => out.extend(text.strip_prefix("u:").map(|text| (key.to_owned(), text.to_owned()))),
        _ => {}
    }
}

/// The test above must be able to fail: a sentence put into a template is seen, and one put into a value too.
#[test]
fn a_planted_sentence_is_seen() {
    let (world, made, written) = site();
    let (name, front) = surehand::template::BUILT_IN.iter().find(|(name, _)| *name == "front.html").expect("a template");
    let planted = front.replace("{{ text(\"front.roles\") }}", "Who takes part in it");
    assert_ne!(planted, *front);
    let world = world.with(made.join(name), planted);
    let wish = Wish { site: Some(&made), language: Some("qps"), figures: Figures::None, ..Wish::default() };
    let html = utf8(&printed(&Session::new(&world), "stow-heron.md", &["html"], &wish)[0]);
    assert_eq!(strange_in_page(&html, &written).into_iter().collect::<Vec<_>>(), ["who takes part in it"]);
    let value = html.replacen("data-field=\"front.standing\">", "data-field=\"front.standing\">Two warnings remain. ", 1);
    assert!(strange_in_page(&value, &written).contains("two warnings remain"), "in a value");
    // So is an English sentence where another language was asked for.
    let english = utf8(&printed(&Session::new(&DiskWorld), "stow-heron.md", &["html"], &Wish::default())[0]);
    assert!(strange_in_page(&english, &written).len() > 50);
}

fn german() -> Wish<'static> {
    Wish { language: Some("de"), ..Wish::default() }
}

/// Values of a screen page by their ids.
fn values(html: &str) -> BTreeMap<String, String> {
    let page = page(html);
    let fields = page.descendants().filter_map(|n| Some((n.attribute("data-field")?.to_owned(), n)));
    fields.map(|(id, n)| (id, words_of(n).split_whitespace().collect::<Vec<_>>().join(" "))).collect()
}

/// Ends of the ids of values that no language changes.
const VALUES: [&str; 23] = [
    "number",
    "name",
    "role",
    "joint",
    "direction",
    "target",
    "low",
    "high",
    "limit",
    "past",
    "until",
    "tap",
    "most",
    "least",
    "level",
    "load",
    "view",
    "tool",
    "equipment",
    "stick",
    "push",
    "rule",
    "instrument",
];

#[test]
fn a_german_print_has_the_values_of_the_english_one_and_reads_back() {
    let session = Session::new(&DiskWorld);
    for name in DEMOS {
        let [english, page] = <[Vec<u8>; 2]>::try_from(printed(&session, name, &["json", "html"], &Wish::default())).expect("two");
        let [data, german, pdf] = <[Vec<u8>; 3]>::try_from(printed(&session, name, &["json", "html", "pdf"], &german())).expect("three");
        let compiled = |bytes: &[u8]| -> serde_json::Value {
            let mut data: serde_json::Value = serde_json::from_slice(bytes).expect("JSON");
            data["digests"]["content"] = serde_json::Value::Null;
            data
        };
        assert_eq!(compiled(&english), compiled(&data), "{name}: what is compiled knows no language");
        let (page, german) = (values(&utf8(&page)), utf8(&german));
        assert!(german.contains("<html lang=\"de\">"));
        let german = values(&german);
        // A drawing names what it has room to name, and words are not as long in every language.
        let fixed = |values: &BTreeMap<String, String>| values.keys().filter(|id| !id.contains(".label")).cloned().collect::<Vec<_>>();
        assert_eq!(fixed(&page), fixed(&german), "{name}: the same values are printed");
        let mut same = 0;
        for (id, value) in page.iter().filter(|(id, _)| id.starts_with('s') && !id.starts_with("st")) {
            let end = id.rsplit('.').next().unwrap_or_default().trim_end_matches(|c: char| c.is_ascii_digit());
            if VALUES.contains(&end) {
                assert_eq!(value, &german[id], "{name}: {id}");
                same += 1;
            }
        }
        assert!(same > 30, "{name}: {same}");
        assert!(german["stamp.status"] == "GEPRÜFT, NICHT FREIGEGEBEN" && german["front.caution1"].contains("nicht geprüft"), "{name}");
        let found = recall(Path::new("print.pdf"), &pdf).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((found.bytes, found.differences), (Bytes::Same, Vec::new()), "{name}");
    }
}

/// Words of a card stand beside each other in drawings, and German ones are longer.
#[test]
fn german_cards_are_made_in_every_format() {
    let session = Session::new(&DiskWorld);
    for arm in ["arms/heron.toml", "arms/osprey.toml"] {
        let (_, prints) =
            session.card(&folder().join(arm), &["pdf", "html", "text"], None, Some("de")).unwrap_or_else(|e| panic!("{arm}: {e}"));
        let Prints::Made(files) = prints else { panic!("{arm}: {prints:#?}") };
        assert!(utf8(&files[1].bytes).contains("AUS DEM ARMPROFIL, NICHT FREIGEGEBEN"), "{arm}");
        let english = session.card(&folder().join(arm), &["pdf"], None, None);
        let Ok((_, Prints::Made(english))) = english else { panic!("{arm}") };
        assert_eq!(files[0].pages, english[0].pages, "{arm}: German takes as many sheets");
    }
}

/// Margins to write in leave less room for running heads and feet, which stand at one place on every page.
#[test]
fn german_editions_are_made() {
    let session = Session::new(&DiskWorld);
    for edition in [Edition::Review, Edition::Training] {
        let pdf = printed(&session, "swab-survey.md", &["pdf"], &Wish { edition, ..german() }).remove(0);
        let found = recall(Path::new("print.pdf"), &pdf).unwrap_or_else(|e| panic!("{}: {e}", edition.word()));
        assert_eq!((found.bytes, found.differences), (Bytes::Same, Vec::new()), "{}", edition.word());
    }
}

/// A small procedure in every line of its plain text.
#[test]
fn a_small_procedure_reads_in_german_as_it_did() {
    let steps = "1. `view window-2`\n2. `power on arm`\n\n> [!WARNING]\n> Hazard: the arm swings towards the window.\n> Consequence: the window can crack.\n\n3. `base left to +30 deg slow`\n   - Watch: the elbow.\n   - If not: hold and tell Shift lead\n4. `read joints`\n5. `hold point: Shift lead`\n   - Must be true: the arm stands clear.\n6. `wait at least 30 s, at most 50 s`\n7. `if` The lamp is lit, seen in window 1.\n   - then\n     1. `check` The lamp is whole.\n   - otherwise: go on\n8. `repeat at most 2 until` The lamp is out, seen in window 1.\n   1. `check` The lamp is whole.\n   - If not: hold and tell Shift lead\n9. `turnover`\n";
    let case = Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}"));
    let (examined, files) = examine(&case);
    let checked = examined
        .checked
        .as_ref()
        .unwrap_or_else(|| panic!("{:#?}", examined.findings.iter().map(|f| (f.rule.id, &f.message)).collect::<Vec<_>>()));
    let templates = Templates::with_look(Vec::new(), Look { language: Some("de"), ..Look::default() }, &files).expect("the German set");
    let compiled = examined.compile(&files);
    let digests = Digests { content: "4f1c09aa7d20b3e6".repeat(4), ..Digests::default() };
    let sources = Sources { digests, figures: Figures::None, compiled: Some(&compiled), words: templates.words(), ..Sources::of(&files) };
    let pages = render(&build(checked, &sources), &templates).unwrap_or_else(|e| panic!("{e:#?}"));
    let text = utf8(&Format::named("text").expect("a format").emit(&Print::new(&pages, (2026, 11, 20))).expect("emits"));
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/language/small.de.txt");
    if std::env::var_os("UPDATE_MANUAL").is_some() {
        std::fs::write(&kept, &text).expect("written");
    }
    let expected = std::fs::read_to_string(&kept).unwrap_or_default();
    let first = text.lines().zip(expected.lines()).find(|(a, b)| a != b);
    assert!(text == expected, "not as kept; UPDATE_MANUAL=1 keeps it anew: {first:?}");
}

#[test]
fn a_policy_or_the_command_line_names_the_language() {
    let policy = text("policy.toml");
    let with = |language: &str| policy.replacen("site = ", &format!("language = \"{language}\"\nsite = "), 1);
    let world = |language: &str| MemoryWorld::over(DiskWorld).with(folder().join("policy.toml"), with(language).into_bytes());
    let status = |world: &dyn World, wish: &Wish<'_>| {
        values(&utf8(&printed(&Session::new(world), "stow-heron.md", &["html"], wish)[0]))["stamp.status"].clone()
    };
    assert_eq!(status(&world("de"), &Wish::default()), "GEPRÜFT, NICHT FREIGEGEBEN");
    assert_eq!(status(&world("de"), &Wish { language: Some("en"), ..Wish::default() }), "CHECKED, NOT APPROVED");
    // What is not there is said, with what is: at the policy's place, or as a wrong command line.
    let other = world("fr");
    let session = Session::new(&other);
    let compiled = session.compile(&folder().join("stow-heron.md")).expect("compiles");
    let Ok(Prints::Refused(problems)) = session.print(&compiled, &["text"], &Wish::default()) else { panic!("must be refused") };
    let [problem] = problems.as_slice() else { panic!("{problems:#?}") };
    let file = session.files().get(problem.span.file);
    assert!(
        problem.rule.id == "words-language" && file.name.ends_with("policy.toml") && &file.text[problem.span.range()] == "\"fr\"",
        "{problem:#?}"
    );
    assert!(problem.help[0].contains("there are de, en"), "{:?}", problem.help);
    let error = session.print(&compiled, &["text"], &Wish { language: Some("it"), ..Wish::default() }).expect_err("no Italian").to_string();
    assert!(error.contains("`it`") && error.contains("there are de, en"), "{error}");
}

/// A site's folder: a file for each language, and `words.toml` for the one it names.
#[test]
fn a_site_words_each_language_in_a_file_of_its_own() {
    let english = "[status]\nchecked = \"LOOKED AT, NOT APPROVED\"\n";
    let own = "[status]\nchecked = \"ANGESEHEN, NICHT FREIGEGEBEN\"\n";
    let said = |files: &[(&str, &str)], language: Option<&str>| {
        let site = files.iter().map(|(name, text)| (format!("site/{name}"), (*text).to_owned())).collect();
        let look = Look { language, ..Look::default() };
        let show = |list: Vec<Diagnostic>| list.into_iter().map(|d| format!("{}: {}", d.rule.id, d.message)).collect::<Vec<_>>();
        let templates = Templates::with_look(site, look, &Files::default()).map_err(show)?;
        Ok::<_, Vec<String>>(templates.words().by_id("status.checked", &[]).expect("a sentence"))
    };
    let both = [("words.toml", english), ("words.de.toml", own)];
    let is = |text: &str| Ok(text.to_owned());
    assert_eq!(said(&both, None), is("LOOKED AT, NOT APPROVED"));
    assert_eq!(said(&both, Some("de")), is("ANGESEHEN, NICHT FREIGEGEBEN"));
    assert_eq!(said(&both[..1], Some("de")), is("GEPRÜFT, NICHT FREIGEGEBEN"), "English words are not laid over German ones");
    let german = format!("language = \"de\"\n{own}");
    assert_eq!(said(&[("words.toml", &german)], None), is("ANGESEHEN, NICHT FREIGEGEBEN"), "the site's own language");
    assert_eq!(said(&[("words.toml", &german)], Some("en")), is("CHECKED, NOT APPROVED"));
    let wrong = said(&[("words.de.toml", "language = \"en\"\n")], Some("de")).expect_err("another language than its name");
    assert!(wrong[0].starts_with("words-unreadable"), "{wrong:?}");
    // Another language is whole and says what claims too much in it.
    let part = said(&[("words.fr.toml", own)], Some("fr")).expect_err("a set must be whole");
    assert!(part.iter().any(|p| p.contains("words-missing")) && part.iter().any(|p| p.contains("words-claims")), "{part:?}");
    assert_eq!(said(&[("words.qps.toml", &made())], Some("qps")), is("ÇĦËÇĶËÐ, ÑÖŤ ÄPPŘÖVËÐ"));
}

#[test]
fn german_claims_no_more_than_english() {
    for (sentence, word) in [
        ("[assumed]\nslow = \"Bewegungen sind langsam und sicher, nichts pendelt.\"\n", "sicher"),
        ("[checked]\nload = \"Statische Last der Gelenke garantiert.\"\n", "garantiert"),
        ("[checked]\nload = \"Statische Last der Gelenke, einwandfrei.\"\n", "einwandfrei"),
    ] {
        let site = vec![("site/words.de.toml".to_owned(), sentence.to_owned())];
        let found =
            Templates::with_look(site, Look { language: Some("de"), ..Look::default() }, &Files::default()).expect_err("claims too much");
        assert!(found.iter().any(|d| d.rule.id == "words-claims" && d.message.contains(word)), "{found:#?}");
    }
    assert_eq!(LANGUAGES.iter().map(|l| l.tag).collect::<Vec<_>>(), ["en", "de"]);
}
