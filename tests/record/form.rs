//! Places to fill in: named by their steps, filled by another program, found again.

use super::{demo, kept, root, second_reader, told};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use surehand::session::{Bytes, recall};

const NAME: &str = "stow-heron.md";

#[test]
fn every_step_has_its_fields_under_names_of_their_own() {
    for name in [NAME, "swab-survey.md"] {
        let (pdf, json) = demo(name);
        let (_folder, path) = kept(&pdf);
        let second = second_reader(&path);
        let fields = second["fields"].as_object().expect("fields");
        let data: Value = serde_json::from_slice(&json).expect("JSON");
        for step in data["steps"].as_array().expect("steps") {
            let number = step["number"].as_str().expect("a number");
            let own = |end: &str| fields.contains_key(&format!("s{number}.{end}"));
            let is_signed =
                own("tick") || own("initials") || own("name") || own("signature") || own("done") || own("pass-1") || own("taking-over");
            assert!(is_signed, "{name}: nothing to fill in at step {number}");
        }
        for (field, about) in fields {
            assert!(about["words"].as_str().is_some_and(|w| w.len() > 3), "{name}: {field} is not described");
            assert!(["/Tx", "/Btn"].contains(&about["kind"].as_str().unwrap_or("")), "{name}: {field}");
            assert!(about["value"].is_null() || about["value"] == "/Off", "{name}: {field} is filled in");
        }
        // As many widgets as fields: none shares the name of another.
        assert_eq!(second["widgets"], fields.len(), "{name}");
        assert!(fields.len() > 20, "{name}: {}", fields.len());
        assert_eq!(second["tab_orders"], serde_json::json!(["/S"]), "{name}");
        assert!(second["need_appearances"].is_null(), "{name}");
    }
    let (pdf, _) = demo(NAME);
    let (_folder, path) = kept(&pdf);
    let second = second_reader(&path);
    let words = |field: &str| second["fields"][field]["words"].as_str().unwrap_or("is not there").to_owned();
    assert_eq!(words("s3.tick"), "Step 3: done");
    assert_eq!(words("s3.na"), "Step 3: N/A");
    assert_eq!(words("s1.initials"), "Step 1: Initials");
    assert_eq!(words("s2.j1.tick"), "Step 2: BASE 0.0 deg -1.5 to +1.5");
    assert_eq!(words("start.jaw.tick"), "Before the first step: Jaw opening: 60 mm, between 57 mm and 63 mm");
    assert!(words("s8.name").starts_with("8 VERIFY step 7, independently"), "{}", words("s8.name"));
}

/// Fills two fields and ticks one with `pypdf`; `how` is `anew` or `behind`.
fn filled(pdf: &Path, how: &str) -> Vec<u8> {
    let script = root().join("tests/outside/fill.py").display().to_string();
    let out = pdf.with_file_name(format!("{how}.pdf"));
    told(root().join("target/outside/bin/python"), &[&script, "PDF", &out.display().to_string(), how], pdf);
    // What pypdf puts behind a file counts its objects wrongly.
    if how == "anew" {
        told("qpdf", &["--check", "PDF"], &out);
    }
    std::fs::read(out).expect("a file")
}

#[test]
fn what_is_filled_in_comes_back_and_the_print_still_agrees() {
    let (pdf, _) = demo(NAME);
    let (_folder, path) = kept(&pdf);
    for how in ["anew", "behind"] {
        let bytes = filled(&path, how);
        let found = recall(Path::new("filled.pdf"), &bytes).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(found.differences, Vec::<String>::new(), "{how}");
        let got: BTreeSet<(String, String)> = found.filled.into_iter().collect();
        let wanted = [("s1.initials", "A. B."), ("s2.tick", "ticked"), ("s8.name", "Ada Byron")];
        assert_eq!(got, wanted.map(|(a, b)| (a.to_owned(), b.to_owned())).into(), "{how}");
        match found.bytes {
            Bytes::Added(n) => assert!(how == "behind" && n > 100),
            other => assert!(how == "anew" && other == Bytes::Others, "{how}: {other:?}"),
        }
        // A filled form is no fresh print.
        let error = surehand::readback::look("pdf", &bytes, &[], &surehand::readback::Said::default())
            .expect("is read")
            .blanks
            .iter()
            .filter(|b| b.value.is_some())
            .count();
        assert_eq!(error, 3, "{how}");
    }
}
