//! Each procedure of the library in each format: what the source says stands in the print, in its order; the same bytes
//! come out twice; the pages are counted.
//!
//! What is expected is read from the source by hand, with no help from the compiler that made the print.

mod library;

use library::source::{Piece, Source};
use library::{DEMOS, folder, profile, text, words};
use std::collections::BTreeMap;
use std::io::Write as _;
use std::process::{Command, Stdio};
use surehand::session::{DiskWorld, Prints, Session, Wish, formats};

/// The prints of a procedure by the ending of their names, with their pages.
fn prints(demo: &str) -> BTreeMap<&'static str, (Vec<u8>, Option<usize>)> {
    let session = Session::new(&DiskWorld);
    let compiled = session.compile(&folder().join(demo)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    let names: Vec<&str> = formats().map(|(name, _)| name).collect();
    match session.print(&compiled, &names, &Wish::default()) {
        Ok(Prints::Made(outputs)) => outputs.into_iter().map(|o| (o.extension, (o.bytes, o.pages))).collect(),
        other => panic!("{demo}: {other:?}"),
    }
}

fn plain(words: &str) -> String {
    words.replace(['\u{b0}', '\u{2212}'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What must follow each other in a print: numbers of steps, engraved joints with their direction, angles with as many
/// decimals as the read-out has, roles, and the words of labelled lines.
fn expected(text: &str) -> Vec<String> {
    let arm = profile(text);
    let joints = words(&arm);
    let source = Source::of(text);
    let mut out = Vec::new();
    // On-call sections are printed where they are performed, contingencies under numbers of their own.
    let end =
        (0..source.lines.len()).find(|i| source.line(*i).starts_with("# ") && source.line(*i).contains("{.")).unwrap_or(source.lines.len());
    for step in source.steps.iter().filter(|s| s.indent == 0 && s.line < end) {
        let statement = source.statement(step);
        let number = source.line(step.line).split('.').next().unwrap_or("");
        out.push(format!("{number} "));
        if let Some(role) = ["hold point: ", "witness point: ", "verify after: "].iter().find_map(|w| statement.strip_prefix(w)) {
            out.push(role.to_string());
        }
        let of = |p: &Piece| &text[p.at.clone()];
        // The joint that leads is printed first.
        let part =
            |p: &'_ str| p.strip_suffix(" first").or_else(|| Some(p.split_once(" until ")?.1.split_once(" past ")?.0)).map(str::to_owned);
        let leads = statement.split("; ").skip(1).find_map(part);
        let mut motions = source.motions(step, &joints);
        motions.sort_by_key(|m| leads.as_ref().is_some_and(|leads| of(&m.joint) != leads));
        for motion in motions {
            let joint = arm.joints.iter().find(|j| j.name.value == of(&motion.joint)).expect("a joint");
            out.push(format!("{} {}", joint.engraved, of(&motion.direction).to_uppercase()));
            if let Some(target) = &motion.target {
                let angle: f64 = of(target).parse().expect("an angle");
                let decimals = usize::from(joint.decimals);
                let shown = if joint.is_signed() && angle != 0.0 { format!("{angle:+.decimals$}") } else { format!("{angle:.decimals$}") };
                out.push(format!("{shown} deg"));
            }
        }
        // One line is enough to show that lines are there; their order in print is that of the labels.
        let proof = (step.line + 1..step.end)
            .map(|i| source.line(i))
            .find_map(|l| l.strip_prefix(&" ".repeat(source.indent(step.line + 1)))?.strip_prefix("- Proof: "));
        out.extend(proof.map(plain));
    }
    out
}

/// The first thing that does not stand behind the one before it.
fn missing<'e>(print: &str, expected: &'e [String]) -> Option<&'e String> {
    let mut at = 0;
    expected.iter().find(|wanted| match print[at..].find(wanted.as_str()) {
        Some(found) => {
            at += found + wanted.len();
            false
        }
        None => true,
    })
}

fn by_reader(program: &str, arguments: &[&str], input: &[u8]) -> String {
    let mut child = Command::new(program).args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap_or_else(|e| {
        panic!("{program} is needed by this test (Debian: poppler-utils): {e}");
    });
    let mut pipe = child.stdin.take().expect("a pipe");
    let input = input.to_vec();
    let feeder = std::thread::spawn(move || pipe.write_all(&input));
    let output = child.wait_with_output().expect("it ends");
    feeder.join().expect("joins").expect("reads");
    assert!(output.status.success(), "{program} fails");
    String::from_utf8(output.stdout).expect("text")
}

/// The words of a page for a screen, tags taken out.
fn untagged(html: &str) -> String {
    let body = html.find("<body").map_or(html, |i| &html[i..]);
    let mut out = String::new();
    for (i, piece) in body.split('<').enumerate() {
        let words = if i == 0 { piece } else { piece.split_once('>').map_or("", |(_, words)| words) };
        out.push_str(words);
        out.push(' ');
    }
    out.replace("&#34;", "\"").replace("&quot;", "\"").replace("&#39;", "'").replace("&#x27;", "'").replace("&amp;", "&")
}

#[test]
fn every_print_says_what_the_source_says_in_its_order() {
    for demo in DEMOS {
        let expected = expected(&text(demo));
        assert!(expected.len() > 12, "{demo}: {expected:?}");
        let made = prints(demo);
        let as_text = |extension: &str| String::from_utf8(made[extension].0.clone()).expect("text");
        let shown = [
            ("text", as_text("txt")),
            ("html", untagged(&as_text("html"))),
            ("pdf", by_reader("pdftotext", &["-raw", "-enc", "UTF-8", "-", "-"], &made["pdf"].0)),
        ];
        for (format, print) in shown {
            assert_eq!(missing(&plain(&print), &expected), None, "{demo} as {format}");
        }
        let steps: serde_json::Value = serde_json::from_slice(&made["json"].0).expect("JSON");
        let numbers: Vec<&str> = steps["steps"].as_array().expect("steps").iter().filter_map(|s| s["number"].as_str()).collect();
        let printed = expected.iter().filter(|e| e.trim_end().parse::<u32>().is_ok()).map(|e| e.trim_end());
        let top: Vec<&str> = numbers.iter().copied().filter(|n| n.parse::<u32>().is_ok()).collect();
        assert_eq!(top, printed.collect::<Vec<_>>(), "{demo} as data");
    }
}

/// The test above must be able to fail: a print that lacks one thing is seen.
#[test]
fn a_print_that_lacks_a_field_is_seen() {
    let expected = expected(&text("stow-heron.md"));
    let print = plain(&String::from_utf8(prints("stow-heron.md")["txt"].0.clone()).expect("text"));
    for (lost, other) in [("+75.0 deg", "+57.0 deg"), ("SHOULDER RAISE", "SHOULDER LOWER"), ("ELBOW FOLD", "FOLD")] {
        assert!(print.contains(lost));
        assert!(missing(&print.replace(lost, other), &expected).is_some(), "{lost}");
    }
}

#[test]
fn the_same_source_gives_the_same_bytes() {
    for demo in DEMOS {
        assert!(prints(demo) == prints(demo), "{demo}");
    }
}

#[test]
fn pages_are_as_many_as_the_reader_counts() {
    for demo in DEMOS {
        let (pdf, pages) = &prints(demo)["pdf"];
        let told = by_reader("pdfinfo", &["-"], pdf);
        let counted = told.lines().find_map(|l| l.strip_prefix("Pages:")).map(|n| n.trim().parse::<usize>());
        assert_eq!(counted, Some(Ok(pages.expect("pages"))), "{demo}");
        let steps = Source::of(&text(demo)).steps.len();
        // Three pages go before the first step and one for lost power behind the last; between them a page holds two steps or more, less
        // what stays free above a step that is on one page with its drawing. The read-outs after a dozen steps or more are on a page.
        assert!(pages.is_some_and(|p| p <= 6 + steps / 2 + steps.div_ceil(12)), "{demo}: {pages:?} pages for {steps} steps");
    }
}
