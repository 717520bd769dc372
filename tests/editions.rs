//! Editions of one procedure: for the console, for a reviewer, to learn from. Each says on every page what it is.

mod library;

use library::{DEMOS, folder, text};
use std::collections::BTreeMap;
use surehand::compiled::{Act, Compiled, Step};
use surehand::document::build::{Edition, Figures, Sources, build};
use surehand::readback::{self, Item, Said};
use surehand::session::{DiskWorld, MemoryWorld, Prints, Session, Wish};
use surehand::template::{BUILT_IN, Templates, render};
use surehand::text::Files;
use surehand::words::Words;

const DEMO: &str = "lid-lift.md";

/// A procedure with points of every kind in which many moves have no reason.
const WITHOUT_REASONS: &str = "tool-exchange.md";

fn printed(edition: Edition, format: &str) -> Vec<u8> {
    print(DEMO, edition, Figures::None, format)
}

fn print(demo: &str, edition: Edition, figures: Figures, format: &str) -> Vec<u8> {
    let session = Session::new(&DiskWorld);
    let compiled = session.compile(&folder().join(demo)).expect("compiles");
    let wish = Wish { edition, figures, ..Wish::default() };
    match session.print(&compiled, &[format], &wish).expect("prints") {
        Prints::Made(files) => files.into_iter().next().expect("a file").bytes,
        other => panic!("{other:#?}"),
    }
}

fn words(edition: Edition) -> String {
    let text = String::from_utf8(printed(edition, "text")).expect("text");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Words with their links as they are printed where they are the number of a step.
fn unlinked(words: &str) -> String {
    let mut parts = words.split('[');
    let first = parts.next().unwrap_or("").to_owned();
    parts.fold(first, |out, part| match part.split_once("](").and_then(|(shown, rest)| Some((shown, rest.split_once(')')?.1))) {
        Some((shown, rest)) => out + shown + rest,
        None => out + "[" + part,
    })
}

/// Reasons are for the class room: at the console they are in the way.
#[test]
fn reasons_stand_in_the_training_edition_alone() {
    let source = text(DEMO);
    let reasons: Vec<String> = source.lines().filter_map(|l| l.trim_start().strip_prefix("- Why: ").map(unlinked)).collect();
    assert!(!reasons.is_empty(), "{DEMO} gives reasons");
    let [operator, review, training] = [Edition::Operator, Edition::Review, Edition::Training].map(words);
    for reason in &reasons {
        assert!(training.contains(&format!("Why: {reason}")), "{reason}");
        assert!(!operator.contains(reason) && !review.contains(reason), "{reason}");
    }
}

/// Where no line says what is done at a hold point that is not cleared, the print does.
#[test]
fn a_hold_point_says_what_is_done_if_it_is_not_cleared() {
    let said = "Not cleared: move nothing, open nothing; hold and tell.";
    let silent = |demo: &str| {
        let source = text(demo);
        let holds = source.split("`hold point:").skip(1);
        holds.filter(|after| !after.lines().skip(1).take_while(|l| l.trim_start().starts_with("- ")).any(|l| l.contains("If not:"))).count()
    };
    for demo in [DEMO, "cartridge-change.md"] {
        let print = String::from_utf8(print(demo, Edition::Operator, Figures::None, "html")).expect("text");
        assert_eq!(print.matches(said).count(), silent(demo), "{demo}");
    }
    assert!(silent(DEMO) == 0 && silent("cartridge-change.md") > 0);
}

/// The text of each page, as another program sees it.
fn pages(pdf: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("print.pdf");
    std::fs::write(&path, pdf).expect("written");
    let out = std::process::Command::new("pdftotext").arg(&path).arg("-").output().expect("pdftotext is needed (tests/run)");
    String::from_utf8(out.stdout).expect("text").split('\u{c}').filter(|p| !p.trim().is_empty()).map(str::to_owned).collect()
}

/// Places to fill in stand below the heading, and the first value of the record on the page after it.
#[test]
fn the_contents_lead_to_a_record_whose_first_value_stands_on_its_second_page() {
    let pages = pages(&print("swab-survey.md", Edition::Training, Figures::default(), "pdf"));
    let at = pages.iter().position(|p| p.contains("A record for practice")).expect("the record");
    assert!(!pages[at].contains("Estimate") && pages[at + 1].contains("Estimate"), "{}", pages[at]);
    let line = format!("Record of the run (page {})", at + 1);
    assert!(pages.iter().any(|p| p.replace('\u{a0}', " ").contains(&line)), "{line}");
}

/// Every page of an edition that nobody may work from says so; those for the console say nothing of the kind.
#[test]
fn an_edition_is_named_on_every_page() {
    for (_, edition, _) in Edition::ALL {
        let pages = pages(&printed(edition, "pdf"));
        assert!(pages.len() > 3);
        for (n, page) in pages.iter().enumerate() {
            match edition.banner() {
                Some(banner) => assert!(page.contains(Words::english().say(banner)), "page {}", n + 1),
                None => assert!(!page.contains("NOT FOR WORK"), "page {}", n + 1),
            }
        }
    }
}

/// A template that leaves the name of the edition out is refused.
#[test]
fn no_template_takes_the_name_of_the_edition_away() {
    let site = tempfile::tempdir().expect("a folder");
    let built_in =
        std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/instruction.html")).expect("there");
    let line = "<p class=\"banner solid\">{{ stamp.edition|field }}</p>";
    assert_eq!(built_in.matches(line).count(), 1);
    std::fs::write(site.path().join("instruction.html"), built_in.replace(line, "")).expect("written");
    let session = Session::new(&DiskWorld);
    let compiled = session.compile(&folder().join(DEMO)).expect("compiles");
    let wish = Wish { edition: Edition::Training, site: Some(site.path()), ..Wish::default() };
    match session.print(&compiled, &["text"], &wish).expect("judged") {
        Prints::Refused(problems) => assert!(problems.iter().any(|p| p.message.contains("stamp.edition")), "{problems:#?}"),
        other => panic!("{other:#?}"),
    }
}

fn said() -> Said {
    Said::new(Words::english().entries())
}

/// What editions of a procedure must print, and the data it was compiled to.
fn demanded<const N: usize>(demo: &str, editions: [Edition; N]) -> ([Vec<Item>; N], Compiled) {
    let session = Session::new(&DiskWorld);
    let compilation = session.compile(&folder().join(demo)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    let examined = compilation.examined.as_ref().expect("is examined");
    let compiled = examined.compile(session.files());
    let templates = Templates::new(Vec::new(), &Files::default()).expect("built-in templates");
    let items = editions.map(|edition| {
        let sources = Sources { edition, figures: Figures::None, compiled: Some(&compiled), ..Sources::of(session.files()) };
        let instruction = build(examined.checked.as_ref().expect("is clean"), &sources);
        let pages = render(&instruction, &templates).unwrap_or_else(|e| panic!("{e:#?}"));
        pages.values.into_iter().map(|(id, values)| Item { id, values }).collect()
    });
    (items, compiled)
}

fn value<'i>(items: &'i [Item], id: &str) -> Option<&'i str> {
    items.iter().flat_map(|i| &i.values).find(|(of, _)| of == id).map(|(_, text)| text.as_str())
}

/// Whether arm or jaw go somewhere.
fn moves(step: &Step) -> bool {
    let drives = matches!(step.act, Act::Move(_) | Act::Together { .. } | Act::Lift { .. } | Act::Lower { .. });
    drives || matches!(step.act, Act::Close { .. } | Act::Jaw { .. } | Act::LetGo { .. })
}

/// Who learns from a print finds the console, the cell and the worst of it before the first step, in every procedure; and nobody
/// who works from one is given any of that in place of a signature.
#[test]
fn the_edition_to_learn_from_shows_console_and_cell_before_the_steps() {
    for demo in DEMOS {
        let ([items, operator, review], compiled) = demanded(demo, [Edition::Training, Edition::Operator, Edition::Review]);
        readback::agree(&items, &compiled, &said()).unwrap_or_else(|e| panic!("{demo}: {e}"));
        let at = |id: &str| items.iter().position(|i| i.id == id);
        let first = at("s1").expect("a first step");
        for item in ["training", "card", "sticks", "travel", "controls"] {
            assert!(at(item).is_some_and(|n| n < first), "{demo}: {item}");
        }
        assert_eq!(at("plan").is_some_and(|n| n < first), compiled.space.is_some(), "{demo}");
        let listed = |id: &str| value(&items, &format!("contents.to-{id}")).is_some();
        assert!(at("contents").is_none() || listed("training") && listed("card"), "{demo}");
        // Windows, cameras and stations stand in the plan under their names.
        let plan: Vec<&str> = items.iter().filter(|i| i.id == "plan").flat_map(|i| &i.values).map(|(_, text)| text.as_str()).collect();
        for title in compiled.titles.iter().filter(|t| (t.kind == "view" || t.kind == "station") && !plan.is_empty()) {
            assert!(plan.contains(&title.title.as_str()), "{demo}: {} is not in the plan: {plan:?}", title.title);
        }
        for items in [operator, review] {
            let strange =
                |i: &&Item| ["training", "card"].contains(&i.id.as_str()) || i.values.iter().any(|(id, _)| id.ends_with(".unsigned"));
            assert_eq!(items.iter().find(strange), None, "{demo}");
        }
    }
}

/// A step that moves something has its reason, or room for one; at each point stands what is asked there, and that it is not signed.
#[test]
fn steps_without_a_reason_say_so_and_points_are_not_signed() {
    let ([items], compiled) = demanded(WITHOUT_REASONS, [Edition::Training]);
    let (mut without, mut points) = (0, BTreeMap::new());
    for step in &compiled.steps {
        let of = |name: &str| value(&items, &format!("s{}.{name}", step.number));
        let reasoned = step.lines.iter().any(|l| l.label == "Why");
        assert_eq!(of("why1").is_some(), reasoned, "step {}", step.number);
        assert_eq!(of("no-reason").is_some(), moves(step) && !reasoned, "step {}", step.number);
        without += usize::from(of("no-reason").is_some());
        if matches!(step.act, Act::HoldPoint { .. } | Act::WitnessPoint { .. } | Act::VerifyAfter { .. }) {
            assert_eq!(of("unsigned"), Some("TRAINING: NOT SIGNED HERE"), "step {}", step.number);
            points.insert(of("asks").expect("a question"), std::mem::discriminant(&step.act));
        }
    }
    assert!(without > 10, "{without}");
    assert_eq!(points.len(), 3, "one question for each kind of point: {points:?}");
}

/// A record of practice accepts no result.
#[test]
fn the_result_is_reviewed_in_the_edition_for_work_alone() {
    let [operator, training] = [Edition::Operator, Edition::Training].map(words);
    let (reviewed, unsigned) = ("Result reviewed: Shift lead, printed name", "NOT SIGNED HERE: for practice no result is accepted.");
    assert!(operator.contains(reviewed) && !operator.contains(unsigned));
    assert!(training.contains(unsigned) && !training.contains(reviewed));
}

/// Each place to fill in of the record says whose it is, as far as procedure and policy name a post; a change of the crew is signed
/// where the stop is written down.
#[test]
fn the_record_names_the_post_of_each_blank() {
    let spaced = |print: Vec<u8>| String::from_utf8(print).expect("text").split_whitespace().collect::<Vec<_>>().join(" ");
    let record = |text: &str| {
        let (_, rest) = text.split_once("Record of this run").expect("a record");
        rest.split_once("Check values of the blocks").expect("its end").0.to_owned()
    };
    let named = record(&spaced(printed(Edition::Operator, "text")));
    let count = |of: &str| named.matches(of).count();
    let met =
        text(DEMO).split_once("prerequisites = [").and_then(|(_, rest)| rest.split_once("\n]")).expect("a list").0.lines().count() - 1;
    assert_eq!(count("Operator, initials: ____"), met + 1, "each prerequisite and the criterion: {named}");
    assert_eq!(count("Shift lead, initials: ____"), 5, "interruptions and deviations: {named}");
    assert_eq!(count("Result reviewed: Shift lead, printed name"), 1);
    assert_eq!(count("Handed over: posts, keys: ____"), count("Stopped at step: ____"));
    assert_eq!((count("Leaving, printed name and signature"), count("Taking over, printed name and signature")), (3, 3));
    // Where no post decides, none is named.
    let policy = text("policy.toml").replace("decides = true", "decides = false");
    let world = MemoryWorld::over(DiskWorld).with(folder().join("policy.toml"), policy.into_bytes());
    let session = Session::new(&world);
    let compiled = session.compile(&folder().join(DEMO)).expect("compiles");
    let Prints::Made(files) = session.print(&compiled, &["text"], &Wish::default()).expect("prints") else { panic!("refused") };
    let open = record(&spaced(files.into_iter().next().expect("a file").bytes));
    assert!(!open.contains("Shift lead, initials") && open.contains("Result reviewed by, printed name"), "{open}");
    // Another post is refused when the print is read back.
    let ([items], compiled) = demanded(DEMO, [Edition::Operator]);
    for id in ["record.performer", "record.decides"] {
        let mut other = items.clone();
        other.iter_mut().flat_map(|i| &mut i.values).find(|(of, _)| of == id).expect("named").1 = "Quality".to_owned();
        let error = readback::agree(&other, &compiled, &said()).expect_err(id).to_string();
        assert!(error.contains(id), "{error}");
    }
}

/// The instructor finds every warning with its consequence before the steps.
#[test]
fn every_warning_stands_before_the_steps_with_its_consequence() {
    let ([items], compiled) = demanded(DEMO, [Edition::Training]);
    let source = text(DEMO);
    let harms: Vec<&str> = source.split("> [!WARNING]").skip(1).filter_map(|a| a.split_once("> Consequence: ")?.1.lines().next()).collect();
    assert!(harms.len() > 3);
    for (n, harm) in (1..).zip(&harms) {
        let line = value(&items, &format!("training.warning{n}")).expect("a line");
        assert!(line.starts_with("Before step ") && line.ends_with(&format!("Consequence: {harm}")), "{line}");
    }
    assert_eq!(value(&items, &format!("training.warning{}", harms.len() + 1)), None);
    // Of another step, or with other words, it is refused.
    for (from, to) in [("Before step ", "Before step 1"), (harms[0], "nothing.")] {
        let mut other = items.clone();
        let line = &mut other.iter_mut().flat_map(|i| &mut i.values).find(|(of, _)| of == "training.warning1").expect("a line").1;
        *line = line.replacen(from, to, 1);
        let error = readback::agree(&other, &compiled, &said()).expect_err(to).to_string();
        assert!(error.contains("training.warning1"), "{error}");
    }
}

/// What speaks of another page says which.
#[test]
fn the_pages_on_lost_power_and_of_read_outs_are_named_by_their_numbers() {
    let pages = pages(&printed(Edition::Training, "pdf"));
    // Lines are broken behind hyphens too, which are lost then.
    let tight = |words: &str| words.split_whitespace().collect::<String>();
    let pages: Vec<String> = pages.iter().map(|p| tight(p)).collect();
    for (from, to) in [
        ("are compared.", "Hands off the sticks and off whatever enables motion"),
        ("after each step).", "For whoever comes back to the arm"),
    ] {
        let at = pages.iter().position(|p| p.contains(&tight(to))).unwrap_or_else(|| panic!("no {to:?}")) + 1;
        assert!(pages.iter().any(|p| p.contains(&tight(&format!("{from} (page {at})")))), "{from:?} does not lead to page {at}");
    }
}

/// A page on which a block goes on leads back to what holds for all of its steps, and to the page on lost power.
#[test]
fn a_strip_above_a_page_leads_to_the_head_of_its_block_and_to_lost_power() {
    let tight = |words: &str| words.split_whitespace().collect::<String>();
    let pages: Vec<String> = pages(&printed(Edition::Operator, "pdf")).iter().map(|p| tight(p)).collect();
    let number = |words: &str| words.split_once(')').and_then(|(n, _)| n.parse::<usize>().ok());
    let power = pages.iter().position(|p| p.contains("Handsoffthesticksandoffwhateverenablesmotion")).expect("a page on lost power") + 1;
    let mut led = 0;
    for (i, page) in pages.iter().enumerate() {
        let strips: Vec<usize> = page.match_indices("VIEW").map(|(at, _)| at).collect();
        for (n, at) in strips.iter().enumerate() {
            let strip = &page[*at..strips.get(n + 1).copied().unwrap_or(page.len())];
            let block = |words: &str| words.split_once("BLOCK").and_then(|(_, rest)| Some(rest.split_once("of")?.0.to_owned()));
            if strip.contains("Stoppedpart-way:") {
                assert!(!strip.contains("headofblock"), "page {} leads to itself", i + 1);
                continue;
            }
            let from = strip.split_once("headofblock(page").and_then(|(_, n)| number(n));
            let from = from.unwrap_or_else(|| panic!("page {} does not lead to the head of its block: {strip}", i + 1));
            let head = pages[from - 1].rsplit_once("Stoppedpart-way:").unwrap_or_else(|| panic!("page {from} is no head of a block")).0;
            let opens = head.rsplit_once("VIEW").expect("a strip").1;
            assert_eq!(block(strip), block(opens), "page {} leads to page {from}", i + 1);
            assert_eq!(strip.split_once("Ifpowerislost(page").and_then(|(_, n)| number(n)), Some(power), "page {}", i + 1);
            led += 1;
        }
    }
    assert!(led > 20, "only {led} strips lead anywhere");
}

/// In plain text a row of a table that does not fit lines keeps the heads of its columns.
#[test]
fn a_table_of_several_lines_keeps_its_heads_in_plain_text() {
    let text = words(Edition::Review);
    for cell in [
        "What must be so: The bench was wiped",
        "Met: Operator, initials: ________ When: Date, time: ________",
        "Question, and why no rule answers it: ",
    ] {
        assert!(text.contains(cell), "{cell}");
    }
}

/// What an instructor teaches from cannot be lost on the way: neither by a document nor by a template.
#[test]
fn nothing_that_is_taught_from_can_be_left_out() {
    let ([items], compiled) = demanded(DEMO, [Edition::Training]);
    let refused = |items: &[Item], names: &str| {
        let error = readback::agree(items, &compiled, &said()).expect_err(names).to_string();
        assert!(error.contains(names), "{error}");
    };
    for id in ["training", "plan", "card"] {
        let less: Vec<Item> = items.iter().filter(|i| i.id != id).cloned().collect();
        refused(&less, id);
    }
    let plan = items.iter().flat_map(|i| &i.values).find(|(id, _)| id.starts_with("plan.plan.view.")).expect("a view").0.clone();
    let ids = ["training.worst1", "training.worst2", "training.worst3", "training.points1", "training.view1.of-name", "travel.1.targets"];
    let more = ["travel.2.grows", "sticks.1.1up.hand", "card.title", &plan].map(str::to_owned);
    for id in ids.map(str::to_owned).into_iter().chain(more) {
        let mut other = items.clone();
        let value = other.iter_mut().flat_map(|i| &mut i.values).find(|(of, _)| *of == id).unwrap_or_else(|| panic!("no {id}"));
        value.1 = format!("{} 7", value.1);
        assert!(readback::agree(&other, &compiled, &said()).is_err(), "{id} is changed and nobody says so");
    }
    for (file, part, names) in [
        ("training.html", "{{ console(doc.console.blocks) }}", "sticks"),
        ("training.html", "<li>{{ w|field }}</li>", "training.worst1"),
        ("training.html", "<li>{{ a|field }}</li>", "training.warning1"),
        ("training.html", "<li>{{ l|field }}</li>", "training.watch1"),
        ("training.html", "<figure data-item=\"{{ doc.plan.item }}\"><p class=\"small\">{{ doc.plan.about }}</p></figure>", "plan"),
        ("acts.html", "<p class=\"struck\">{{ taught.unsigned|field }}</p>", ".unsigned"),
        ("acts.html", "<strong>{{ taught.asks|field }}</strong>", ".asks"),
        (
            "instruction.html",
            "<div class=\"blanks\"><p data-name=\"reason\"><strong>{{ text(\"label.why\") }}:</strong> {{ b.no_reason|field }}</p></div>",
            ".no-reason",
        ),
        (
            "instruction.html",
            "<div class=\"blanks\"><p data-name=\"reason\"><strong>{{ text(\"label.why\") }}:</strong> {{ b.no_reason|field }}</p></div>",
            "places to write in",
        ),
    ] {
        let site = tempfile::tempdir().expect("a folder");
        let built_in = BUILT_IN.iter().find(|(name, _)| *name == file).expect("built in").1;
        assert_eq!(built_in.matches(part).count(), 1, "{part}");
        let instead = if names.contains(' ') { "<p>{{ b.no_reason|field }}</p>" } else { "" };
        std::fs::write(site.path().join(file), built_in.replace(part, instead)).expect("written");
        let session = Session::new(&DiskWorld);
        let demo = if part.contains("no_reason") { WITHOUT_REASONS } else { DEMO };
        let compiled = session.compile(&folder().join(demo)).expect("compiles");
        let wish = Wish { edition: Edition::Training, figures: Figures::None, site: Some(site.path()), ..Wish::default() };
        match session.print(&compiled, &["text"], &wish).expect("judged") {
            Prints::Refused(problems) => assert!(problems.iter().any(|p| p.message.contains(names)), "{names}: {problems:#?}"),
            other => panic!("{part}: {other:#?}"),
        }
    }
}

/// No block of the edition to learn from passes for one of the crew's by its check value; what was reviewed has the crew's.
#[test]
fn check_values_tell_editions_apart() {
    for demo in DEMOS {
        let (editions, _) = demanded(demo, [Edition::Operator, Edition::Review, Edition::Training]);
        let codes = |items: Vec<Item>| -> BTreeMap<String, String> {
            items.into_iter().flat_map(|i| i.values).filter(|(id, _)| id.starts_with("record.code")).collect()
        };
        let [operator, review, training] = editions.map(codes);
        assert!(!operator.is_empty(), "{demo}");
        for (id, code) in &operator {
            assert!(review[id] == *code && training[id] != *code, "{demo}: {id} {code}");
        }
    }
}
