//! Prints changed after they were made: each is refused, by the name of what was changed.

use super::{demo, folder};
use lopdf::content::{Content, Operation};
use lopdf::{Document, Object, ObjectId, Stream};
use std::path::Path;
use surehand::session::{Bytes, Recall, recall};

fn look(pdf: &[u8]) -> Recall {
    recall(Path::new("found.pdf"), pdf).unwrap_or_else(|e| panic!("{e}"))
}

/// Writes a changed file.
fn changed(pdf: &[u8], change: impl FnOnce(&mut Document)) -> Vec<u8> {
    let mut file = Document::load_mem(pdf).expect("opens");
    change(&mut file);
    let mut out = Vec::new();
    file.save_to(&mut out).expect("saves");
    out
}

/// Holds a changed file to be refused, and one of the differences to say all these words.
fn refused(pdf: &[u8], words: &[&str]) {
    let found = look(pdf);
    let named = found.differences.iter().any(|d| words.iter().all(|w| d.contains(w)));
    assert!(named, "nothing says {words:?} in {:#?}", found.differences.iter().take(12).collect::<Vec<_>>());
    assert!(matches!(found.bytes, Bytes::Others | Bytes::Unknown));
}

/// The stream of an attachment.
fn content_of(file: &Document, name: &str) -> ObjectId {
    let catalog = file.catalog().expect("a catalog");
    let names = catalog.get_deref(b"Names", file).and_then(Object::as_dict).expect("names");
    let tree = names.get_deref(b"EmbeddedFiles", file).and_then(Object::as_dict).expect("a tree");
    let list = tree.get(b"Names").and_then(Object::as_array).expect("a list");
    let at = list.iter().position(|o| o.as_str().is_ok_and(|s| s == name.as_bytes())).expect("the attachment");
    let file_of = file.dereference(&list[at + 1]).and_then(|(_, o)| o.as_dict()).expect("a file");
    file_of.get_deref(b"EF", file).and_then(Object::as_dict).and_then(|e| e.get(b"F")).and_then(Object::as_reference).expect("a stream")
}

fn attachment(file: &Document, name: &str) -> String {
    let stream = file.get_object(content_of(file, name)).and_then(Object::as_stream).expect("a stream");
    String::from_utf8(stream.decompressed_content().expect("unpacks")).expect("text")
}

fn replace_attachment(file: &mut Document, name: &str, text: &str) {
    let id = content_of(file, name);
    let mut dictionary = file.get_object(id).and_then(Object::as_stream).expect("a stream").dict.clone();
    dictionary.remove(b"Filter");
    file.set_object(id, Stream::new(dictionary, text.as_bytes().to_vec()));
}

/// Changes the first run of a value's words on any page.
fn change_value(file: &mut Document, id: &str, change: impl Fn(&mut Operation)) {
    for page in file.get_pages().into_values() {
        let mut content = Content::decode(&file.get_page_content(page)).expect("decodes");
        let mut inside = false;
        for op in &mut content.operations {
            if op.operator == "DP" {
                let own = op.operands[1].as_dict().ok().and_then(|d| d.get(b"Id").and_then(Object::as_str).ok());
                inside = own.is_some_and(|own| own == id.as_bytes());
            } else if op.operator == "TJ" && inside {
                change(op);
                file.change_page_content(page, content.encode().expect("encodes")).expect("takes");
                return;
            }
        }
    }
    panic!("{id} is not printed");
}

/// The other print that a changed one is put together from.
const NAME: &str = "stow-heron.md";

#[test]
fn a_file_written_anew_without_a_change_agrees() {
    let (pdf, _) = demo(NAME);
    let again = changed(&pdf, |_| {});
    let found = look(&again);
    assert_eq!((found.differences, found.bytes), (Vec::new(), Bytes::Others));
}

#[test]
fn a_changed_word_is_refused_by_the_name_of_its_value() {
    let (pdf, _) = demo(NAME);
    // The last two glyphs of the target change places.
    let turned = changed(&pdf, |file| {
        change_value(file, "s3.target", |op| {
            let list = op.operands[0].as_array_mut().expect("a list");
            let Some(Object::String(bytes, _)) = list.iter_mut().find(|o| o.as_str().is_ok_and(|s| s.len() >= 4)) else { panic!("glyphs") };
            let (a, b) = (bytes[0..2].to_vec(), bytes[2..4].to_vec());
            assert_ne!(a, b);
            bytes.splice(0..4, [b, a].concat());
        });
    });
    refused(&turned, &["s3.target", "must read"]);
    let lost = changed(&pdf, |file| change_value(file, "s3.direction", |op| op.operands = vec![Object::Array(Vec::new())]));
    refused(&lost, &["s3.direction"]);
}

#[test]
fn a_changed_attachment_is_refused_by_its_name() {
    let (pdf, _) = demo(NAME);
    let name = format!("project/{NAME}");
    let text = std::fs::read_to_string(folder().join(NAME)).expect("text");
    let line = text.lines().find(|l| l.starts_with("title = ")).expect("a title");
    let other = text.replace(line, "title = \"Stow another arm\"");
    let forged = changed(&pdf, |file| replace_attachment(file, &name, &other));
    refused(&forged, &[&name, "is not what it was"]);
    refused(&forged, &["doc.title", "must read \"Stow another arm\""]);
    // The record is mended too: what is printed and what was compiled still give it away.
    let forged = changed(&pdf, |file| {
        let digest = |text: &str| {
            use sha2::Digest as _;
            sha2::Sha256::digest(text.as_bytes()).iter().map(|b| format!("{b:02x}")).collect::<String>()
        };
        let record = attachment(file, "record.json").replace(&digest(&text), &digest(&other));
        replace_attachment(file, &name, &other);
        replace_attachment(file, "record.json", &record);
    });
    refused(&forged, &["doc.content", "must read"]);
    refused(&forged, &["compiled.json", "identity.title"]);
    let found = look(&forged);
    assert!(!found.differences.iter().any(|d| d.contains("is not what it was")), "{:#?}", found.differences);
    // What was compiled alone.
    let forged = changed(&pdf, |file| {
        let data = attachment(file, "compiled.json");
        let forged = data.replacen("\"direction\": \"fold\"", "\"direction\": \"unfold\"", 1);
        assert_ne!(data, forged);
        replace_attachment(file, "compiled.json", &forged);
    });
    refused(&forged, &["compiled.json", "is not what it was"]);
    refused(&forged, &["compiled.json differs", "steps[2].act.move.direction"]);
    let model = "project/arms/heron.toml";
    let forged = changed(&pdf, |file| {
        let text = attachment(file, model);
        replace_attachment(file, model, &format!("{text}# a word more\n"));
    });
    refused(&forged, &[model, "is not what it was"]);
    refused(&forged, &["doc.content"]);
}

#[test]
fn an_attachment_that_is_gone_or_too_many_is_named() {
    let (pdf, _) = demo(NAME);
    let list = |file: &mut Document, change: &dyn Fn(&mut Vec<Object>)| {
        let id = file.catalog().and_then(|c| c.get_deref(b"Names", file)).and_then(Object::as_dict).expect("names");
        let id = id.get(b"EmbeddedFiles").and_then(Object::as_reference).expect("a tree");
        let tree = file.get_object_mut(id).and_then(Object::as_dict_mut).expect("a tree");
        change(tree.get_mut(b"Names").and_then(Object::as_array_mut).expect("a list"));
    };
    let position = |names: &[Object], name: &str| names.iter().position(|o| o.as_str().is_ok_and(|s| s == name.as_bytes())).expect("there");
    let lost = changed(&pdf, |file| {
        list(file, &|names| {
            let at = position(names, "project/policy.toml");
            names.drain(at..at + 2);
        });
    });
    refused(&lost, &["project/policy.toml is missing"]);
    let more = changed(&pdf, |file| {
        list(file, &|names| {
            let at = position(names, "project/policy.toml");
            let twin = names[at + 1].clone();
            names.extend([Object::string_literal("project/zone.toml"), twin]);
        });
    });
    refused(&more, &["project/zone.toml is not in the record"]);
}

#[test]
fn a_page_that_is_gone_or_stands_elsewhere_is_refused_by_what_it_held() {
    let (pdf, _) = demo(NAME);
    let with_step = |file: &Document, id: &str| {
        let pages = file.get_pages();
        let holds = |page: ObjectId| {
            let content = Content::decode(&file.get_page_content(page)).expect("decodes");
            content.operations.iter().any(|op| {
                op.operator == "DP"
                    && op.operands[1].as_dict().is_ok_and(|d| d.get(b"Id").and_then(Object::as_str).is_ok_and(|i| i == id.as_bytes()))
            })
        };
        pages.into_iter().find(|(_, page)| holds(*page)).expect("a page").0
    };
    let lost = changed(&pdf, |file| {
        let page = with_step(file, "s3.target");
        file.delete_pages(&[page]);
    });
    refused(&lost, &["s3.target", "is not there"]);
    refused(&lost, &["does not say that it is page"]);
    let swapped = changed(&pdf, |file| {
        let page = with_step(file, "s3.target");
        let pages = file.get_pages();
        let (one, other) = (pages[&page], pages[&(page + 1)]);
        let contents = |file: &Document, page| file.get_dictionary(page).and_then(|d| d.get(b"Contents")).cloned().expect("contents");
        let (a, b) = (contents(file, one), contents(file, other));
        for (page, content) in [(one, b), (other, a)] {
            file.get_object_mut(page).and_then(Object::as_dict_mut).expect("a page").set("Contents", content);
        }
    });
    refused(&swapped, &["does not say that it is page"]);
    refused(&swapped, &["is printed after", "which comes later"]);
}

#[test]
fn what_is_not_ours_is_no_print() {
    let (pdf, _) = demo(NAME);
    let error = |bytes: &[u8]| recall(Path::new("found.pdf"), bytes).expect_err("is refused");
    for (bytes, words) in [
        (b"no PDF at all".to_vec(), "cannot be opened as a PDF"),
        (changed(&pdf, |file| drop(file.catalog_mut().expect("a catalog").remove(b"Names"))), "carries no record"),
        (
            changed(&pdf, |file| {
                let record = attachment(file, "record.json").replace(env!("CARGO_PKG_VERSION"), "7.8.9");
                replace_attachment(file, "record.json", &record);
            }),
            "was printed by surehand 7.8.9 and this is",
        ),
        (
            changed(&pdf, |file| {
                let record = attachment(file, "record.json").replace("\"draft\"", "\"rough\"");
                replace_attachment(file, "record.json", &record);
            }),
            "cannot be read",
        ),
    ] {
        let error = error(&bytes);
        assert!(error.to_string().contains(words), "{error}");
        assert_eq!(error.exit_code(), 3);
    }
}
