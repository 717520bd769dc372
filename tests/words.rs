//! The sets of words: the built-in one is whole and said; a site's is laid over it; each way to spoil one is refused at its place.

mod sample;

use std::fs;
use std::path::Path;
use surehand::document::build::Instruction;
use surehand::emit::{Format, Print};
use surehand::model::Standing;
use surehand::proof::QUESTIONS;
use surehand::readback::{self, Item, Said};
use surehand::template::{Pages, Templates, render};
use surehand::text::{File, Files};
use surehand::words::{LANGUAGES, Own, Words, declared};

/// What a site's file gives, laid over the built-in set: the words, or each refusal as `line: rule: message`.
fn load(tag: Option<&str>, text: &str) -> Result<Words, Vec<String>> {
    let files = Files::default();
    let file = files.add(File::new("site/words.toml", text));
    let say = |d: surehand::diag::Diagnostic| {
        let at = files.get(d.span.file);
        assert!(!d.help.is_empty(), "{} says what to do", d.rule.id);
        format!("{}:{}: {}: {}", at.name, at.position(d.span.start).line, d.rule.id, d.message)
    };
    Words::load(tag, Some(Own { file, text }), &files).map_err(|list| list.into_iter().map(say).collect())
}

fn refused(text: &str, at: &str, names: &str) {
    let Err(problems) = load(None, text) else { panic!("must be refused: {text}") };
    assert!(problems.iter().any(|p| p.starts_with(at) && p.contains(names)), "no {at:?} with {names:?} in:\n{}", problems.join("\n"));
}

/// Every text file below a folder.
fn texts(folder: &Path, out: &mut String) {
    for entry in fs::read_dir(folder).expect("a folder").flatten() {
        match fs::read_to_string(entry.path()) {
            // Where sentences are declared they are not said.
            Ok(text) if !entry.path().parent().is_some_and(|p| p.ends_with("words/ids")) => out.push_str(&text),
            _ if entry.path().is_dir() => texts(&entry.path(), out),
            _ => {}
        }
    }
}

#[test]
fn the_built_in_set_is_whole_and_each_sentence_is_said() {
    let english = Words::load(None, None, &Files::default()).expect("the built-in set");
    assert_eq!(english.language(), LANGUAGES[0].tag);
    assert_eq!(english.entries().count(), declared().count());
    assert!(declared().count() > 450, "{}", declared().count());
    let (mut sources, mut pages) = (String::new(), String::new());
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    texts(&top.join("src"), &mut sources);
    texts(&top.join("templates"), &mut pages);
    // Asked for by a part of their id: by the id of a proof, of a question, of a label or of a signature.
    let gathered = ["checked.", "gap.", "question.", "signal.", "reason.", "trial.", "weight."];
    // Asked for by data, or by the bar of the screen page.
    let named = |id: &str| sources.contains(&format!("\"{id}\"")) || pages.contains(&format!("{{{id}"));
    for sentence in declared().filter(|d| !gathered.iter().any(|g| d.id.starts_with(g))) {
        let name = format!("ids::{}", sentence.id.to_uppercase().replace(['.', '-'], "_"));
        let in_page = pages.contains(&format!("\"{}\"", sentence.id)) || sentence.id.starts_with("blank.");
        let is_said = in_page || !sentence.marked && (sources.contains(&name) || named(sentence.id));
        assert!(is_said, "nothing says {}", sentence.id);
    }
}

#[test]
fn a_sentence_by_its_id_is_said_whole_or_not_at_all() {
    let words = Words::english();
    assert_eq!(words.by_id("phrase.force", &[("force", "12 N")]), Ok("12 N per jaw".to_owned()));
    assert_eq!(
        words.by_id("phrase.force", &[("angle", "12 deg")]).map_err(|e| e.to_string()),
        Err("the sentence \"phrase.force\" is said without its force".to_owned())
    );
    assert_eq!(words.by_id("phrase.farce", &[]).map_err(|e| e.to_string()), Err("there is no sentence \"phrase.farce\" to say".to_owned()));
}

/// At each run a set that is built in is taken as it is; here it is judged as what a site might write.
#[test]
fn every_built_in_set_is_judged_as_a_sites_own() {
    for language in LANGUAGES {
        let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(language.path)).expect("a set");
        let judged = load(Some(language.tag), &text).unwrap_or_else(|problems| panic!("{}:\n{}", language.path, problems.join("\n")));
        let taken = Words::load(Some(language.tag), None, &Files::default()).expect("the built-in set");
        assert!(judged.entries().eq(taken.entries()), "{} is another set than the one in the program", language.path);
        // The same set with one word too much is judged too.
        let spoilt = text.replacen("CHECKED, NOT APPROVED", "PROVED", 1);
        assert!(language.tag != "en" || spoilt != text, "the status stands in the set");
        assert!(spoilt == text || load(Some(language.tag), &spoilt).is_err(), "{}: a set that claims", language.path);
    }
}

#[test]
fn what_is_asked_of_a_reviewer_is_asked_alike_by_rules_and_words() {
    for question in QUESTIONS {
        let said = |more: &str| Words::english().by_id(&format!("question.{}{more}", question.id), &[]).ok();
        assert_eq!((said("").as_deref(), said("-why").as_deref()), (Some(question.words), Some(question.why)));
    }
}

#[test]
fn a_spoilt_set_is_refused_at_its_place() {
    let site = "site/words.toml";
    refused("[status]\nchecked = \n", &format!("{site}:2: words-unreadable"), "");
    refused("[status]\nchecked = 1\n", &format!("{site}:2: words-unreadable"), "status.checked");
    refused("language = \"English\"\n", &format!("{site}:1: words-unreadable"), "language");
    refused("[status]\ncheked = \"CHECKED, NOT APPROVED\"\n", &format!("{site}:2: words-unknown"), "status.cheked");
    refused("[caution]\nisolation = \"\"\n", &format!("{site}:2: words-missing"), "caution.isolation");
    refused("[caution]\nisolation = \" ... \"\n", &format!("{site}:2: words-missing"), "says nothing");
    refused("[caution]\nisolation = \"See the manual.\"\n", &format!("{site}:2: words-missing"), "letters");
    refused("[told]\ngoes = \"{joint}: look.\"\n", &format!("{site}:2: words-slots"), "{way}");
    refused("[told]\ngoes = \"{joint} {joint}: {way}.\"\n", &format!("{site}:2: words-slots"), "2 times");
    refused("[told]\ngoes = \"{joint}: {way} {far}.\"\n", &format!("{site}:2: words-slots"), "{far}");
    refused("[told]\ngoes = \"{joint: {way}.\"\n", &format!("{site}:2: words-"), "told.goes");
    refused("[told]\ngoes = \"*{joint}*: {way}.\"\n", &format!("{site}:2: words-marking"), "star");
    refused("[act]\ntell = \"TELL *{role}\"\n", &format!("{site}:2: words-marking"), "nothing closes");
    refused("[act]\ntell = \"TELL \\u202e{role}\"\n", &format!("{site}:2: words-marking"), "U+202E");
    refused("[assumed]\nslow = \"Moves are slow and proved.\"\n", &format!("{site}:2: words-claims"), "proved");
    refused("forbidden = [\"swings\"]\n", "templates/words.toml:", "words-claims: the sentence `assumed.slow`");
    refused("[bind]\nand = \"between\"\n", &format!("{site}:2: words-confusable"), "bind.between");
    let Err(twice) = load(None, "[bind]\nand = \"between\"\n") else { panic!("must be refused") };
    assert_eq!(twice.len(), 1, "told once: {}", twice.join("\n"));
    refused("[bind]\nlimit = \"is\"\n", &format!("{site}:2: words-confusable"), "bind.past");
    refused("[bind]\nbelow = \"not above\"\n", &format!("{site}:2: words-confusable"), "end alike");
    refused("[bind]\nto = \"->\"\n", &format!("{site}:2: words-confusable"), "binds a value");
    refused("[step]\noff = \"ON {arm}\"\n", &format!("{site}:2: words-confusable"), "step.on");
    // A set of another language stands alone.
    let Err(alone) = load(None, "language = \"fr\"\n[bind]\nto = \"vers\"\n") else { panic!("a set must be whole") };
    assert!(alone.iter().any(|p| p.contains("words-missing: the sentence `caution.isolation`")), "{}", alone.join("\n"));
    assert!(alone.iter().any(|p| p.contains("words-claims: the set does not say")), "{}", alone.join("\n"));
    let Err(none) = Words::load(Some("it"), None, &Files::default()) else { panic!("there is no Italian") };
    assert_eq!(none.iter().map(|d| format!("it: {}", d.rule.id)).collect::<Vec<_>>(), ["it: words-language"]);
    let Err(other) = load(Some("en"), "language = \"fr\"\n") else { panic!("another language than is asked for") };
    assert!(other[0].contains("words-unreadable"), "{}", other[0]);
}

fn pages(words: &str) -> Pages {
    let templates = Templates::new(vec![("site/words.toml".to_owned(), words.to_owned())], &Files::default()).expect("words");
    let instruction = Instruction::draft(sample::document(), 3, Standing::Invented, templates.words());
    render(&instruction, &templates).unwrap_or_else(|e| panic!("{e:#?}"))
}

/// A site says otherwise what binds values, and all else follows: the templates, what holds them to the document, and the read-back.
#[test]
fn values_are_bound_and_read_back_in_the_words_of_the_set() {
    let site = "[bind]\nbetween = \"from at least\"\nand = \"as far as\"\nleast = \"no less than\"\nmost = \"no more than\"\n[hold]\nhold-point = \"WAIT HERE {name} {role}\"\n";
    let pages = pages(site);
    let items: Vec<Item> = pages.values.iter().cloned().map(|(id, values)| Item { id, values }).collect();
    let (own, english) = (Said::new(pages.words.entries()), Said::new(Words::english().entries()));
    let print = |name: &str| Format::named(name).expect("a format").emit(&Print::new(&pages, (2026, 11, 20))).expect("emits");
    for name in ["pdf", "html"] {
        let bytes = print(name);
        readback::check(name, &bytes, &items, &own).unwrap_or_else(|e| panic!("{name}: {e}"));
        let error = readback::check(name, &bytes, &items, &english).expect_err("bound by other words").to_string();
        assert!(error.contains("must stand behind"), "{name}: {error}");
    }
    let text = String::from_utf8(print("text")).expect("UTF-8");
    assert!(text.contains("WAIT HERE H1") && !text.contains("HOLD POINT H1"));
}
