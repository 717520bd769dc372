//! How a print looks and what binds its pages together: sizes against the published figure, paper, the QR code read by another
//! program, check values of blocks.

mod library;

use library::{folder, replace, text};
use rustybuzz::ttf_parser::Face;
use std::path::Path;
use std::process::Command;
use surehand::document::build::{Figures, Sources, build};
use surehand::document::{Block, Document};
use surehand::model::policy::Preset;
use surehand::session::{DiskWorld, MemoryWorld, Prints, Session, Wish};
use surehand::template::Templates;
use surehand::template::theme::{Look, PRESETS};
use surehand::template::tree::Style;
use surehand::text::Files;

const DEMO: &str = "stow-heron.md";

/// A print of the library with some of its files changed.
fn printed(changes: &[(&str, String)], wish: &Wish<'_>, format: &str) -> Vec<u8> {
    let world = changes.iter().fold(MemoryWorld::over(DiskWorld), |w, (file, text)| w.with(folder().join(file), text.as_bytes()));
    let session = Session::new(&world);
    let compiled = session.compile(&folder().join(DEMO)).expect("compiles");
    match session.print(&compiled, &[format], wish).expect("prints") {
        Prints::Made(files) => files.into_iter().next().expect("a file").bytes,
        other => panic!("{other:#?}"),
    }
}

fn document(changes: &[(&str, String)]) -> Document {
    let world = changes.iter().fold(MemoryWorld::over(DiskWorld), |w, (file, text)| w.with(folder().join(file), text.as_bytes()));
    let session = Session::new(&world);
    let compiled = session.compile(&folder().join(DEMO)).expect("compiles");
    let checked = compiled.examined.and_then(|e| e.checked).expect("no error stands");
    let sources = Sources { figures: Figures::None, ..Sources::of(session.files()) };
    build(&checked, &sources).document().clone()
}

fn run(program: &str, args: &[&str], file: &Path) -> String {
    let out = Command::new(program).args(args).arg(file).output().unwrap_or_else(|e| panic!("{program}: {e}"));
    assert!(out.status.success(), "{program}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// x-height of at least 0.10 in for what matters most: NASA CR-177605 (typography of flight-deck documents), known through its
/// list of recommendations, not read in the original. At 12 pt the fonts at hand give 0.087 to 0.091 in; at a call line of 14 to
/// 16 pt more than 0.10 in.
#[test]
fn letters_are_as_tall_as_the_published_figure_asks() {
    let inches = |points: f32, file: &str| {
        let bytes = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/fonts").join(file)).expect("a font");
        let face = Face::parse(&bytes, 0).expect("a font");
        f32::from(face.x_height().expect("an x-height")) / f32::from(face.units_per_em()) * points / 72.0
    };
    let theme = |preset: &'static str| {
        let look = Look { preset: Some(preset), ..Look::default() };
        let templates = Templates::with_look(Vec::new(), look, &Files::default()).expect("built-in templates");
        templates.theme().clone()
    };
    let mut seen = Vec::new();
    for preset in &PRESETS {
        let theme = theme(preset.name);
        let (call, line) = (theme.size(Style::Call), theme.size(Style::Line));
        assert!(inches(call, "IBMPlexSans-Bold.ttf") >= 0.10, "{}: the call line has {call} pt", preset.name);
        assert!(line >= 12.0 && theme.size(Style::Small) >= 10.0, "{}: text of {line} pt", preset.name);
        seen.push((preset.name, inches(line, "IBMPlexSans-Regular.ttf")));
    }
    // What a reader who holds the page has in hand, and what is read standing back.
    assert!(seen[0].1 > 0.085 && seen[1].1 >= 0.10, "{seen:?}");
    assert_eq!(seen.len(), 3);
}

#[test]
fn a_policy_names_the_presets_that_there_are() {
    let named: Vec<&str> = Preset::ALL.iter().map(|p| p.word()).collect();
    assert_eq!(named, PRESETS.each_ref().map(|p| p.name));
}

#[test]
fn paper_and_preset_come_from_the_policy_and_a_site_lays_a_few_keys_over_them() {
    let place = tempfile::tempdir().expect("a folder");
    let file = place.path().join("print.pdf");
    let pages = |changes: &[(&str, String)], wish: &Wish<'_>| {
        std::fs::write(&file, printed(changes, wish, "pdf")).expect("written");
        let said = run("pdfinfo", &[], &file);
        let of = |key: &str| said.lines().find_map(|l| l.strip_prefix(key)).expect("a line").trim().to_owned();
        (of("Page size:"), of("Pages:").parse::<u32>().expect("a number"))
    };
    let (size, count) = pages(&[], &Wish::default());
    assert!(size.contains("A4"), "{size}");
    let letter = replace(&text("policy.toml"), "preset = \"reader\"", "preset = \"stand-back\"");
    let letter = replace(&letter, "paper = \"A4\"", "paper = \"Letter\"");
    let (size, larger) = pages(&[("policy.toml", letter.clone())], &Wish::default());
    assert!(size.contains("612 x 792") && larger > count, "{size}, {count} and {larger} pages");
    // What is asked for on the command line goes before the policy, and a site's own theme before both.
    let (_, held) = pages(&[("policy.toml", letter.clone())], &Wish { preset: Some("reader"), ..Wish::default() });
    assert!(held < larger, "{held} and {larger} pages");
    let site = place.path().join("site");
    std::fs::create_dir(&site).expect("a folder");
    std::fs::write(site.join("theme.toml"), "paper = \"a4\"\n[text]\ncall = 18\n").expect("written");
    let (size, _) = pages(&[("policy.toml", letter)], &Wish { site: Some(&site), ..Wish::default() });
    assert!(size.contains("A4"), "{size}");
}

#[test]
fn a_wrong_theme_is_refused_at_its_key() {
    let wrong = |theme: &str| {
        let files = Files::default();
        let found = Templates::new(vec![("site/theme.toml".to_owned(), theme.to_owned())], &files).expect_err("refused");
        let file = files.get(found[0].span.file);
        (file.position(found[0].span.start).line, found[0].message.clone())
    };
    assert_eq!(wrong("scale = 1.1\n\n[text]\ncal = 18.0\n").0, 4);
    assert_eq!(wrong("scale = \"large\"\n"), (1, "`scale` must be a number of points".to_owned()));
    assert_eq!(wrong("paper = \"a5\"\n").0, 1);
    assert!(wrong("[text]\nsmall = 6.0\n").1.contains("between 8 and 40 pt"));
}

#[test]
fn another_program_reads_the_code_on_page_one() {
    let place = tempfile::tempdir().expect("a folder");
    let file = place.path().join("print.pdf");
    let bytes = printed(&[], &Wish::default(), "pdf");
    std::fs::write(&file, &bytes).expect("written");
    let picture = place.path().join("page");
    let made = Command::new("pdftoppm").args(["-r", "200", "-f", "1", "-l", "1", "-singlefile", "-png"]).arg(&file).arg(&picture).status();
    assert!(made.expect("pdftoppm").success());
    let read = run("zbarimg", &["-q", "--raw"], &picture.with_extension("png"));
    run("pdftotext", &["-l", "3"], &file);
    let text = std::fs::read_to_string(file.with_extension("txt")).expect("the text beside the print");
    let digest = read.trim().rsplit(' ').next().expect("a digest");
    assert!(read.contains(" rev ") && digest.len() == 64, "{read}");
    let text: String = text.split_whitespace().collect();
    assert!(text.contains(&format!("Contentdigest{digest}")), "the digest of the page is not {digest}");
}

/// Words of a block, its check value, and everything it prints in between.
fn codes(document: &Document) -> Vec<(String, String)> {
    fn add(blocks: &[Block], out: &mut Vec<(String, String)>) {
        for block in blocks {
            match block {
                Block::Strip(s) => out.extend(s.code.as_ref().map(|c| (s.block_number.text.clone(), c.text.clone()))),
                Block::Section(s) => add(&s.blocks, out),
                Block::Condition(c) => c.arms.iter().for_each(|a| add(&a.blocks, out)),
                Block::Repeat(r) => add(&r.blocks, out),
                Block::Perform(p) => add(&p.blocks, out),
                _ => {}
            }
        }
    }
    let mut out = Vec::new();
    add(&document.blocks, &mut out);
    out
}

#[test]
fn a_check_value_changes_with_what_its_block_prints_and_with_nothing_else() {
    let plain = codes(&document(&[]));
    assert!(plain.len() >= 2, "{plain:?}");
    assert!(plain.iter().all(|(_, c)| c.len() == 4 && c.chars().all(|c| "ACDEFHJKLMNPQRTUVWXY34679".contains(c))), "{plain:?}");
    let source = text(DEMO);
    // One sentence of one step.
    let line = source.lines().find(|l| l.trim_start().starts_with("- Watch:")).expect("a line to change");
    let changed = codes(&document(&[(DEMO, source.replacen(line, &format!("{line} Look twice."), 1))]));
    let differs = plain.iter().zip(&changed).filter(|(a, b)| a != b).count();
    assert_eq!((plain.len(), differs), (changed.len(), 1), "{plain:?}\n{changed:?}");
    // The title is no part of any block.
    let titled = replace(&source, "title = \"", "title = \"Again: ");
    assert_eq!(codes(&document(&[(DEMO, titled)])), plain);
    // The reader's list says the same.
    let listed: Vec<String> = document(&[]).record.codes.iter().map(|f| f.text.rsplit(' ').next().unwrap_or_default().to_owned()).collect();
    assert_eq!(listed, plain.iter().map(|(_, c)| c.clone()).collect::<Vec<_>>());
}
