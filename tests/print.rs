//! Prints of the sample document, judged by other people's readers: qpdf and poppler (`qpdf`, `poppler-utils`).

mod sample;

use std::collections::BTreeMap;
use std::process::Command;
use surehand::document::build::Instruction;
use surehand::document::{Act, Block, Document, Issue, Prose, Section, SectionKind};
use surehand::emit::{FORMATS, Format, Print};
use surehand::error::Error;
use surehand::model::Standing;
use surehand::template::tree::{Inline, Node, Text};
use surehand::template::{BUILT_IN, Pages, Templates, render};
use surehand::text::Files;
use surehand::words::Words;

/// Renders; findings as `file:line: rule: message`.
fn pages_of(instruction: &Instruction, site: Vec<(String, String)>) -> Result<Pages, Vec<String>> {
    let files = Files::default();
    let show = |list: Vec<surehand::diag::Diagnostic>| {
        list.into_iter()
            .map(|d| {
                let file = files.get(d.span.file);
                format!("{}:{}: {}: {}", file.name, file.position(d.span.start).line, d.rule.id, d.message)
            })
            .collect::<Vec<_>>()
    };
    let templates = Templates::new(site, &files).map_err(show)?;
    render(instruction, &templates).map_err(show)
}

fn pages(document: &Document, site: Vec<(String, String)>) -> Result<Pages, Vec<String>> {
    pages_of(&Instruction::draft(document.clone(), 3, Standing::Invented, Words::english()), site)
}

fn try_emit(pages: &Pages, format: &str) -> Result<Vec<u8>, Error> {
    Format::named(format).expect("a known format").emit(&Print::new(pages, (2026, 11, 20)))
}

fn emit(document: &Document, format: &str) -> Vec<u8> {
    let pages = pages(document, Vec::new()).unwrap_or_else(|e| panic!("{}", e.join("\n")));
    try_emit(&pages, format).unwrap_or_else(|e| panic!("{e}"))
}

/// Runs a reader on a PDF; the tool's output.
fn reader(program: &str, before: &[&str], pdf: &[u8], after: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("print.pdf");
    std::fs::write(&path, pdf).expect("written");
    let output = Command::new(program).args(before).arg(&path).args(after).output();
    let output = output.unwrap_or_else(|e| panic!("{program} is needed by this test (Debian: qpdf, poppler-utils): {e}"));
    assert!(output.status.success(), "{program}: {}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text of each page in the order it is drawn, white space squeezed.
fn page_texts(pdf: &[u8]) -> Vec<String> {
    let text = reader("pdftotext", &["-raw", "-enc", "UTF-8"], pdf, &["-"]);
    text.trim_end_matches('\u{c}').split('\u{c}').map(squeeze).collect()
}

/// A page without its running head and foot.
fn bodies(pdf: &[u8]) -> Vec<String> {
    let body = |text: String| {
        let (_, rest) = text.split_once("2026-11-20").expect("a running head");
        rest.rsplit_once("Check code").expect("a running foot").0.to_owned()
    };
    page_texts(pdf).into_iter().map(body).collect()
}

/// Where a text stands as whole words.
fn find_words(text: &str, words: &str) -> Option<usize> {
    let open = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && !matches!(c, '-' | '+'));
    text.match_indices(words).map(|(at, _)| at).find(|at| open(text[..*at].chars().last()) && open(text[at + words.len()..].chars().next()))
}

/// Every field of the body with the innermost unsplittable item it stands in, in drawing order.
fn fields(nodes: &[Node], whole: Option<&str>, out: &mut Vec<(Option<String>, String, String)>) {
    fn inline(list: &[Inline], whole: Option<&str>, out: &mut Vec<(Option<String>, String, String)>) {
        for i in list {
            match i {
                Inline::Field { id, content } => {
                    out.push((whole.map(str::to_owned), id.clone(), squeeze(&surehand::template::tree::plain_text(content))))
                }
                Inline::Strong(c) | Inline::Plain(c) | Inline::Solid(c) => inline(c, whole, out),
                _ => {}
            }
        }
    }
    for node in nodes {
        match node {
            Node::Heading { text, .. } | Node::Text(Text { text, .. }) => inline(text, whole, out),
            Node::List(list) => list.items.iter().for_each(|i| inline(i, whole, out)),
            Node::Table(t) => t.head.iter().chain(t.rows.iter().flatten()).for_each(|c| fields(c, whole, out)),
            Node::Strip(s) => s.cells.iter().chain(&s.lines).for_each(|c| inline(c, whole, out)),
            Node::Row(r) => [&r.number, &r.body, &r.actual, &r.sign].into_iter().for_each(|c| fields(c, Some(&r.item), out)),
            Node::Panel(p) => {
                let whole = p.item.as_deref().or(whole);
                inline(&p.title, whole, out);
                fields(&p.children, whole, out);
            }
            Node::Group(g) => fields(&g.children, whole, out),
            Node::Blanks(b) => b.iter().for_each(|b| inline(&b.label, whole, out)),
            Node::Grid(g) => g.iter().for_each(|c| inline(c, whole, out)),
            Node::Figure(f) => {
                let whole = Some(f.item.as_str());
                f.caption.iter().for_each(|t| inline(&t.text, whole, out));
                out.extend(f.drawing.fields().map(|v| (whole.map(str::to_owned), v.id, v.text)));
            }
        }
    }
}

/// A long document: the sample's steps many times over.
fn long(times: usize) -> Document {
    let mut document = sample::document();
    document.blocks = (0..times)
        .map(|n| {
            let blocks = (0..10)
                .map(|i| {
                    let step = sample::step(&format!("{}", n * 10 + i + 1), |item| {
                        Act::Move(sample::travel(
                            item,
                            "SHOULDER",
                            "LOWER",
                            "-5.0 deg",
                            "-5.5",
                            "-4.5 deg",
                            &["+20.0 deg"],
                            ("Left stick", "PUSH", "Window 2: the cup goes down, away"),
                        ))
                    });
                    Block::Step(Box::new(step))
                })
                .collect();
            Block::Section(Section {
                item: format!("sec{n}"),
                heading: Prose::plain(format!("sec{n}.heading"), format!("Part {}", n + 1)),
                kind: SectionKind::Body,
                level: 1,
                blocks,
            })
        })
        .collect();
    document
}

#[test]
fn qpdf_accepts_the_file() {
    let pdf = emit(&sample::document(), "pdf");
    let report = reader("qpdf", &["--check"], &pdf, &[]);
    assert!(report.contains("No syntax or stream encoding errors"), "{report}");
    let fonts = reader("pdffonts", &[], &pdf, &[]);
    for line in fonts.lines().skip(2) {
        assert!(line.contains("IBMPlexSans") && line.contains("yes yes yes"), "embedded, cut, with Unicode: {line}");
    }
    assert_eq!(fonts.lines().count(), 4, "{fonts}");
}

#[test]
fn every_value_extracts_in_order_and_no_item_is_split() {
    let document = sample::document();
    let rendered = pages(&document, Vec::new()).expect("renders");
    let pdf = try_emit(&rendered, "pdf").expect("pdf");
    let texts = bodies(&pdf);
    let mut wanted = Vec::new();
    fields(&rendered.tree.body, None, &mut wanted);
    assert!(wanted.len() > 200, "the sample has many values: {}", wanted.len());
    let (mut page, mut at) = (0, 0);
    let mut pages_of: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (whole, id, text) in wanted {
        loop {
            match find_words(&texts[page][at..], &text) {
                Some(offset) => {
                    at += offset + text.len();
                    break;
                }
                None => {
                    page += 1;
                    at = 0;
                    assert!(page < texts.len(), "{id} = {text:?} does not extract after the values before it");
                }
            }
        }
        if let Some(item) = whole {
            pages_of.entry(item).or_default().push(page);
        }
    }
    for (item, mut pages) in pages_of.clone() {
        pages.dedup();
        assert_eq!(pages.len(), 1, "{item} is split over pages {pages:?}");
    }
    // Alerts stand on the page of the step they guard.
    for (alert, step) in [("a1", "s8"), ("a2", "s8"), ("a3", "s16.1")] {
        assert_eq!(pages_of[alert].last(), pages_of[step].first(), "{alert} and {step}");
    }
}

#[test]
fn every_page_says_who_it_is() {
    let document = sample::document();
    let issue = Issue { copy: Some("7".into()), work_order: Some("WO-118".into()), valid_to: None };
    let instruction = Instruction::draft(document.clone(), 3, Standing::Invented, Words::english()).issued(issue);
    let rendered = pages_of(&instruction, Vec::new()).expect("renders");
    let texts = page_texts(&try_emit(&rendered, "pdf").expect("pdf"));
    assert!(texts.len() > 5);
    for (i, text) in texts.iter().enumerate() {
        let page = format!("Page {} of {}", i + 1, texts.len());
        for wanted in [
            page.as_str(),
            "B3-014",
            &document.identity.title.text,
            "Revision C",
            "2026-11-20",
            "DRAFT, 3 errors",
            "INVENTED DATA, NOT FOR ANY REAL ARM",
            "CONTINUOUS USE",
            "Copy 7",
            "WO-118",
        ] {
            assert!(text.contains(wanted), "page {}: no {wanted:?}", i + 1);
        }
    }
}

#[test]
fn links_and_outline_lead_to_their_pages() {
    let pdf = emit(&sample::document(), "pdf");
    let json: serde_json::Value =
        serde_json::from_str(&reader("qpdf", &["--json", "--json-key=pages", "--json-key=outlines", "--json-key=qpdf"], &pdf, &[]))
            .expect("JSON");
    let page_of =
        |object: &str| json["pages"].as_array().expect("pages").iter().position(|p| p["object"] == object).expect("a page of this file");
    let texts = page_texts(&pdf);
    let outline = json["outlines"].as_array().expect("an outline");
    let titles: Vec<&str> = outline.iter().map(|o| o["title"].as_str().expect("a title")).collect();
    assert!(titles.contains(&"Take the cup") && titles.iter().any(|t| t.starts_with("C1")), "{titles:?}");
    for entry in outline {
        let page = usize::try_from(entry["destpageposfrom1"].as_u64().expect("a page")).expect("small") - 1;
        assert!(texts[page].contains(&squeeze(entry["title"].as_str().expect("a title"))), "{entry}");
    }
    let objects = json["qpdf"][1].as_object().expect("objects");
    let links: Vec<_> = objects.values().filter(|o| o["value"]["/Subtype"] == "/Link").collect();
    let led = |words: &str| {
        let target = |link: &&&serde_json::Value| texts[page_of(link["value"]["/Dest"][0].as_str().expect("a page"))].contains(words);
        links.iter().filter(target).count()
    };
    assert_eq!(led("C1 Back out"), 1, "step 9 leads to the contingency");
    assert!(led("If power is lost") + led("Read-outs after each step") + 1 >= links.len(), "heads of blocks lead to what they do not say");
}

#[test]
fn what_leads_to_a_contingency_names_its_page() {
    let texts = page_texts(&emit(&sample::document(), "pdf"));
    let home = texts.iter().position(|t| t.contains("CONTINGENCY. Entered only from")).expect("a contingency") + 1;
    let named: Vec<&str> = texts
        .iter()
        .flat_map(|t| t.match_indices("(page ").map(|(at, lead)| (&t[..at], t[at + lead.len()..].split(')').next().unwrap_or(""))))
        // Heads of blocks and the line below a strip lead elsewhere.
        .filter(|(before, _)| {
            !["head of block ", "If power is lost ", "Read-outs ", "data sheet D1, line 1. "].iter().any(|l| before.ends_with(l))
        })
        .map(|(_, page)| page)
        .collect();
    assert!(!named.is_empty() && named.iter().all(|n| *n == home.to_string()), "{named:?}, but it stands on page {home}");
}

#[test]
fn the_text_keeps_values_apart_and_says_its_status_again() {
    let text = String::from_utf8(emit(&sample::document(), "text")).expect("UTF-8");
    assert!(text.contains(" deg   from "), "a band and what it is reached from stand apart");
    let chapters = text.lines().filter(|l| l.len() > 2 && l.chars().all(|c| c == '=')).count() - 2;
    let said = text.lines().filter(|l| l.starts_with('[') && l.contains(" | ")).count();
    assert!(chapters > 1 && said == chapters + 1, "{said} times for {chapters} chapters and the end");
    let hold = text.lines().position(|l| l.starts_with("# ") && l.contains("HOLD POINT")).expect("a hold point");
    assert!(text.lines().nth(hold - 1).is_some_and(|l| l.len() == 78 && l.chars().all(|c| c == '#')));
}

#[test]
fn the_strip_is_repeated_with_its_cautions() {
    let texts = page_texts(&emit(&sample::document(), "pdf"));
    let loaded: Vec<_> = texts.iter().filter(|t| t.contains("BLOCK 2 of 2")).collect();
    assert!(loaded.len() > 1, "the block runs over a page");
    assert!(loaded.iter().all(|t| t.contains("Do not open the jaw on a stop.") && t.contains("IN JAW settling cup 2.1 kg, grip 2")));
    // The head of the long table is on every page that has its rows.
    let rows: Vec<_> = texts.iter().filter(|t| t.contains("place 12") || t.contains("place 30")).collect();
    assert!(!rows.is_empty() && rows.iter().all(|t| t.contains("Cup Mass Rack place")));
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let document = sample::document();
    for format in FORMATS {
        assert!(emit(&document, format.name) == emit(&document, format.name), "{}", format.name);
    }
}

#[test]
fn long_documents_fill_pages_and_never_split_a_step() {
    let document = long(30);
    let pdf = emit(&document, "pdf");
    let texts = page_texts(&pdf);
    assert!((300 / 10..300 / 5).contains(&texts.len()), "{} pages for 300 steps", texts.len());
    let text = texts.join(" ");
    assert_eq!(text.matches("SHOULDER LOWER to -5.0 deg").count(), 300);
    // A heading is never the last thing on a page of steps; first page, words and record come before them.
    for (i, text) in texts.iter().enumerate().skip(3) {
        let body = text.split(" Check code").next().unwrap_or("");
        if body.ends_with("END OF THE STEPS. Complete the record now; strike what stays empty, with the reason.") {
            assert!(text.contains("N/A"), "it stands below the last step");
            break;
        }
        assert!(body.ends_with("N/A"), "page {} ends with {:?}", i + 1, &body[body.len().saturating_sub(40)..]);
    }
}

#[test]
fn screen_and_terminal_say_the_same() {
    let document = sample::document();
    let rendered = pages(&document, Vec::new()).expect("renders");
    let html = String::from_utf8(try_emit(&rendered, "html").expect("html")).expect("UTF-8");
    let text = squeeze(&String::from_utf8(try_emit(&rendered, "text").expect("text")).expect("UTF-8").replace(['|', '!'], " "));
    let mut wanted = Vec::new();
    fields(&rendered.tree.body, None, &mut wanted);
    for (_, id, value) in wanted {
        assert!(html.contains(&format!("data-field=\"{id}\">")), "html: {id}");
        let value = squeeze(&value.replace(['|', '!'], " "));
        assert!(text.contains(&value), "text: {id} = {value:?}");
    }
    assert!(
        html.contains("default-src 'none'")
            && html.matches("<script").count() == 1
            && html.contains("script-src 'sha256-")
            && !html.contains("http://")
            && !html.contains("https://")
    );
    assert!(!html.contains(" style=") && !html.contains("src=\""));
}

fn said() -> surehand::readback::Said {
    surehand::readback::Said::new(Words::english().entries())
}

/// A heading of the first page, as its template has it.
const WORDS: &str = "<h3>{{ text(\"front.words\") }}</h3>";

/// The built-in template with one replacement, as a site would lay it over.
fn edited(name: &str, from: &str, to: &str) -> Vec<(String, String)> {
    let source = BUILT_IN.iter().find(|(n, _)| *n == name).map(|(_, t)| *t).expect("a built-in template");
    assert_eq!(source.matches(from).count(), 1, "{from:?} occurs once in {name}");
    vec![(format!("site/{name}"), source.replace(from, to))]
}

#[track_caller]
fn refused(site: Vec<(String, String)>, rule: &str, names: &str) {
    let Err(problems) = pages(&sample::document(), site) else { panic!("a template like this must be refused") };
    let hit = problems.iter().any(|p| p.contains(&format!(": {rule}: ")) && p.contains(names));
    assert!(hit, "no {rule} naming {names:?} in:\n{}", problems.join("\n"));
    assert!(problems.iter().all(|p| p.starts_with("site/") || p.starts_with("templates/")), "{}", problems.join("\n"));
}

#[test]
fn a_template_cannot_shorten_or_change_a_print() {
    refused(
        edited("instruction.html", "{%- elif b.block == \"hold\" -%}", "{%- elif b.block == \"held\" -%}"),
        "template-drops-item",
        "s4",
    );
    refused(
        edited("instruction.html", "{%- elif b.block == \"alert\" -%}", "{%- elif b.block == \"silent\" -%}"),
        "template-drops-item",
        "a1",
    );
    refused(
        edited("instruction.html", "<p><strong>{{ text(\"label.must-be-true\") }}:</strong> {{ c|field }}</p>", ""),
        "template-drops-field",
        "s4.criterion1",
    );
    refused(
        edited("front.html", "{% for c in f.cautions %}<li>{{ c|field }}</li>{% endfor %}", "<li>See the site manual.</li>"),
        "template-drops-field",
        "front.caution1",
    );
    refused(
        edited("front.html", "{% for c in f.unchecked %}<li>{{ c|field }}</li>{% endfor %}", ""),
        "template-drops-field",
        "front.unchecked1",
    );
    refused(
        edited("instruction.html", "{% if stamp.draft %}{{ stamp.status|solid }}{% else %}{{ stamp.status|field }}{% endif %}", "APPROVED"),
        "template-drops-field",
        "stamp.status",
    );
    refused(
        edited("instruction.html", "{%- if stamp.banner %}<p class=\"banner solid\">{{ stamp.banner|field }}</p>{% endif -%}", ""),
        "template-drops-field",
        "stamp.banner",
    );
    refused(
        edited(
            "acts.html",
            "{%- macro number(value) -%}<div class=\"number\"><p class=\"call\">{{ value|field }}</p></div>",
            "{%- macro number(value) -%}<div class=\"number\"><p class=\"call\"><span data-field=\"{{ value.id }}\">9{{ value.text }}</span></p></div>",
        ),
        "template-alters-field",
        "s12.number",
    );
    refused(
        edited(
            "acts.html",
            "<strong>{{ goal.low|field }}</strong> {{ text(\"bind.and\") }} <strong>{{ goal.high|field }}</strong>\n",
            "<strong>{{ goal.high|field }}</strong> {{ text(\"bind.and\") }} <strong>{{ goal.low|field }}</strong>\n",
        ),
        "template-misplaces-field",
        "s8.a.low",
    );
    refused(
        edited("instruction.html", "{%- elif b.block == \"figure\" -%}", "{%- elif b.block == \"picture\" -%}"),
        "template-drops-item",
        "f8",
    );
    refused(
        edited(
            "instruction.html",
            "<figure data-item=\"{{ b.item }}\">",
            "<section data-item=\"{{ b.item }}\"><p class=\"small\">{{ b.drawing|length }} drawn</p></section><figure data-item=\"f9\">",
        ),
        "template-markup",
        "there is no drawing of \"f9\"",
    );
    refused(
        edited(
            "instruction.html",
            "<figure data-item=\"{{ b.item }}\"><p class=\"small\"><strong>{{ text(\"head.drawn\", step=b.step) }}</strong> {% for c in b.caption %}{{ c|field }} {% endfor %}</p></figure>",
            "<section data-item=\"{{ b.item }}\"><p class=\"label\">{{ b.step|field }}</p>{% for c in b.caption %}<p class=\"small\">{{ c|field }}</p>{% endfor %}</section>",
        ),
        "template-drops-field",
        "f8.distance",
    );
    refused(
        edited("instruction.html", "{{ actual(b.unit) }}{{ sign(\"initials\") }}", "{{ actual(b.unit) }}"),
        "template-drops-blank",
        "s3",
    );
    refused(edited("instruction.html", "{{ actual(b.unit) }}", ""), "template-drops-blank", "s3");
    refused(
        edited("instruction.html", "<ul class=\"ticks\">{% for c in b.checks %}", "<ul>{% for c in b.checks %}"),
        "template-drops-blank",
        "checks is printed with 0 boxes",
    );
    refused(
        edited("acts.html", "<p><i class=\"tick\"/> {{ r.joint|field }}", "<p>{{ r.joint|field }}"),
        "template-drops-blank",
        "start is printed with",
    );
    refused(
        edited(
            "instruction.html",
            "<p class=\"lead\"><i class=\"tick\"/> {{ arm.number|field }}",
            "<p class=\"lead\">{{ arm.number|field }}",
        ),
        "template-drops-blank",
        "s14A",
    );
    refused(
        edited("instruction.html", "{%- for b in doc.blocks recursive -%}", "{%- for b in doc.blocks|reverse recursive -%}"),
        "template-reorders",
        "sec2",
    );
    refused(
        edited("instruction.html", "{% include \"front.html\" %}", "{% include \"front.html\" %}{% include \"front.html\" %}"),
        "template-repeats-item",
        "front",
    );
    refused(
        edited(
            "instruction.html",
            "{% include \"front.html\" %}",
            "{% include \"front.html\" %}<section data-item=\"s99\"><p>Lift.</p></section>",
        ),
        "template-adds-item",
        "s99",
    );
}

#[test]
fn a_wrong_template_is_refused_at_its_line() {
    let at_line = |site: Vec<(String, String)>, needle: &str, rule: &str| {
        let line = site[0].1.lines().position(|l| l.contains(needle)).expect("in the template") + 1;
        let Err(problems) = pages(&sample::document(), site.clone()) else { panic!("a template like this must be refused") };
        let wanted = format!("{}:{line}: {rule}: ", site[0].0);
        assert!(problems.iter().any(|p| p.starts_with(&wanted)), "no {wanted:?} in:\n{}", problems.join("\n"));
    };
    at_line(edited("front.html", WORDS, "<h3 onclick=\"x\">Words and signs</h3>"), "onclick", "template-markup");
    at_line(edited("front.html", WORDS, "<script>x</script>"), "<script>", "template-markup");
    at_line(edited("front.html", WORDS, "<p class=\"tiny\">Words and signs</p>"), "tiny", "template-markup");
    refused(edited("front.html", WORDS, "<h3>Words and signs"), "template-markup", "expected 'h3' tag");
    at_line(edited("front.html", WORDS, "{{ doc.nothing }}"), "doc.nothing", "template-fails");
    at_line(edited("front.html", WORDS, "{% include \"/etc/passwd\" %}"), "passwd", "template-fails");
    // Where the fuel runs out depends on what else the templates do.
    refused(
        edited(
            "front.html",
            WORDS,
            "{% for i in range(9999) %}{% for j in range(9999) %}{% for k in range(9999) %}{% endfor %}{% endfor %}{% endfor %}",
        ),
        "template-fails",
        "ran out of fuel",
    );
    at_line(edited("theme.toml", "blank = 24.0 ", "blank = 12.0 "), "# Sizes", "template-theme");
    at_line(edited("theme.toml", "scale = 1.0\n", "scale = 1.0\nscael = 2\n"), "scael", "template-theme");
}

#[test]
fn a_site_may_reword_and_resize() {
    let document = sample::document();
    let reworded = pages(
        &document,
        edited(
            "instruction.html",
            "{{ text(\"hold.hold-point\", name=b.name, role=b.role) }}",
            "STOP AND WAIT {{ b.name|field }} {{ b.role|field }}",
        ),
    )
    .expect("renders");
    let text = String::from_utf8(try_emit(&reworded, "text").expect("text")).expect("UTF-8");
    assert!(text.contains("STOP AND WAIT H1") && !text.contains("HOLD POINT H1"));
    let letter = pages(&document, edited("theme.toml", "paper = \"a4\" ", "paper = \"letter\" ")).expect("renders");
    let info = reader("pdfinfo", &[], &try_emit(&letter, "pdf").expect("pdf"), &[]);
    assert!(info.contains("612 x 792 pts (letter)"), "{info}");
    let large = pages(&document, edited("theme.toml", "scale = 1.0\n", "scale = 1.17\n")).expect("renders");
    assert!(page_texts(&try_emit(&large, "pdf").expect("pdf")).len() > page_texts(&emit(&document, "pdf")).len());
}

#[test]
fn content_never_becomes_markup() {
    let mut document = sample::document();
    let hostile = "</p><script>alert(1)</script> {{ doc }} {% raw %} &minus; ]]> \"quoted\" 'single' #7";
    document.front.purpose[0] = Prose::plain("front.purpose1", hostile);
    let rendered = pages(&document, Vec::new()).expect("renders");
    let html = String::from_utf8(try_emit(&rendered, "html").expect("html")).expect("UTF-8");
    assert!(html.matches("<script").count() == 1 && !html.contains("<script>alert") && html.contains("&lt;script&gt;"));
    assert!(page_texts(&try_emit(&rendered, "pdf").expect("pdf"))[0].contains(hostile));
    assert!(squeeze(&String::from_utf8(try_emit(&rendered, "text").expect("text")).expect("UTF-8")).contains(hostile));
}

#[test]
fn what_cannot_be_printed_is_refused() {
    let mut document = sample::document();
    document.front.purpose[0] = Prose::plain("front.purpose1", "Lift the \u{4e2d} cup");
    let error = try_emit(&pages(&document, Vec::new()).expect("renders"), "pdf").expect_err("no shape");
    assert_eq!(error.exit_code(), 4);
    assert!(error.to_string().contains("U+4E2D"), "{error}");
    let mut document = sample::document();
    let mut tall = sample::step("1", |item| Act::Instruction { text: Prose::plain(format!("{item}.text"), "word ".repeat(3000)) });
    tall.item = "s77".into();
    document.blocks = vec![Block::Step(Box::new(tall))];
    let error = try_emit(&pages(&document, Vec::new()).expect("renders"), "pdf").expect_err("too tall");
    assert!(error.to_string().contains("step 77") && error.to_string().contains("taller than one page"), "{error}");
}

#[test]
fn special_characters_extract() {
    let mut document = sample::document();
    let special = "0O 1lI 5S 8B ° ± − → µ Ω ≤ ≥ – — … ½ fi ffl AVATAR To";
    document.front.purpose[0] = Prose::plain("front.purpose1", special);
    assert!(page_texts(&emit(&document, "pdf"))[0].contains(special));
}

/// What a print must show.
fn wanted(pages: &Pages) -> Vec<surehand::readback::Item> {
    pages.values.iter().cloned().map(|(id, values)| surehand::readback::Item { id, values }).collect()
}

#[test]
fn a_print_reads_back_and_a_changed_one_does_not() {
    let rendered = pages(&sample::document(), Vec::new()).expect("renders");
    let items = wanted(&rendered);
    assert!(items.len() > 20);
    for format in ["pdf", "html"] {
        let bytes = try_emit(&rendered, format).expect("emits");
        surehand::readback::check(format, &bytes, &items, &said()).unwrap_or_else(|e| panic!("{e}"));
        // One character of one value, an item too many, two items exchanged: each must be noticed.
        let step = items.iter().position(|i| i.id == "s8").expect("step 8");
        let mut other = items.clone();
        let target = other[step].values.iter_mut().find(|(id, _)| id == "s8.a.target").expect("its target");
        target.1 = "+5.0 deg".into();
        let error = surehand::readback::check(format, &bytes, &other, &said()).expect_err("a changed sign").to_string();
        assert!(error.contains("s8.a.target reads \"-5.0 deg\""), "{error}");
        // The distance marked in a drawing is a value like any other.
        let mut other = items.clone();
        let figure = other.iter_mut().find(|i| i.id == "f8").expect("the figure");
        figure.values.iter_mut().find(|(id, _)| id == "f8.distance").expect("its distance").1 = "at least 97 mm".into();
        let error = surehand::readback::check(format, &bytes, &other, &said()).expect_err("a changed distance").to_string();
        assert!(error.contains("f8.distance reads \"at least 79 mm\""), "{error}");
        let mut other = items.clone();
        other[step].values.push(("s8.extra".into(), "x".into()));
        let error = surehand::readback::check(format, &bytes, &other, &said()).expect_err("a missing value").to_string();
        assert!(error.contains("s8.extra must read \"x\" and is not there"), "{error}");
        let mut other = items.clone();
        let after = items.iter().position(|i| i.id == "s9").expect("step 9");
        other.swap(after, after + 1);
        let error = surehand::readback::check(format, &bytes, &other, &said()).expect_err("another order").to_string();
        assert!(error.contains("s9") && error.contains("which comes later"), "{error}");
    }
}

/// Every word of a PDF with its box: page, text, left, top, right, bottom.
fn boxes(pdf: &[u8]) -> Vec<(usize, String, [f32; 4], [f32; 2])> {
    let xml = reader("pdftotext", &["-bbox"], pdf, &["-"]);
    let (mut page, mut size) = (0, [0.0; 2]);
    let mut out = Vec::new();
    for line in xml.lines().map(str::trim) {
        let number =
            |name: &str| line.split(&format!(" {name}=\"")).nth(1).and_then(|t| t.split('"').next()?.parse().ok()).expect("a number");
        if line.starts_with("<page ") {
            page += 1;
            size = [number("width"), number("height")];
        }
        if line.starts_with("<word ") {
            let text = line.split_once('>').and_then(|(_, t)| t.strip_suffix("</word>")).expect("a word");
            out.push((page, text.to_owned(), [number("xMin"), number("yMin"), number("xMax"), number("yMax")], size));
        }
    }
    out
}

#[test]
fn nothing_runs_over_the_edge_or_into_its_neighbour() {
    let mut document = sample::document();
    let long = "SHOULDER-EXTENSION-BRACKET-LOWER-LEFT-OF-THE-SECOND-BAY";
    let digest = "0123456789abcdef".repeat(12);
    document.identity.title.text = format!("{} {long} {long}", document.identity.title.text);
    document.front.digest.text.clone_from(&digest);
    document.front.models[0].digest.text.clone_from(&digest);
    document.front.waivers[0].rule.text = long.to_owned();
    document.start.readouts[1].joint.text = long.to_owned();
    for block in &mut document.blocks {
        let Block::Section(section) = block else { continue };
        for block in &mut section.blocks {
            match block {
                Block::Strip(strip) => {
                    strip.view.text = format!("{long} on {long}");
                    strip.held.text = format!("{long} 2.1 kg, grip 2");
                }
                Block::Hold(hold) => hold.role.text = format!("{long} {long}"),
                Block::Reading(reading) => reading.unit = long.to_owned(),
                Block::Step(step) => {
                    step.number.text = "13A.12.10".to_owned();
                    if let Act::Lift { travel, .. } = &mut step.act {
                        travel.joint.text = long.to_owned();
                        travel.direction.text = "COUNTER-CLOCKWISE-AS-SEEN-FROM-ABOVE".to_owned();
                        travel.from =
                            (0..12).map(|i| surehand::document::Field::new(format!("s12.from{i}"), format!("+{i}.5 deg"))).collect();
                    }
                }
                _ => {}
            }
        }
    }
    let rendered = pages(&document, Vec::new()).expect("renders");
    let pdf = try_emit(&rendered, "pdf").expect("pdf");
    surehand::readback::check("pdf", &pdf, &wanted(&rendered), &said()).unwrap_or_else(|e| panic!("{e}"));
    let words = boxes(&pdf);
    assert!(words.len() > 900);
    let margin = &rendered.theme.margin;
    for (page, word, [left, top, right, bottom], [width, height]) in &words {
        // A page that lies across is bound at the same edge.
        let m = if width > height {
            [margin.bottom, margin.left, margin.top, margin.right]
        } else {
            [margin.left, margin.top, margin.right, margin.bottom]
        };
        let inside = *left >= m[0] - 1.0 && *right <= width - m[2] + 1.0 && *top >= m[1] - 1.0 && *bottom <= height - m[3] + 3.0;
        assert!(inside, "page {page}: {word:?} at {left} {top} {right} {bottom}");
    }
    // Words of one page never lie on each other: their middles keep apart.
    for (i, (page, word, a, _)) in words.iter().enumerate() {
        for (_, other, b, _) in words[i + 1..].iter().take_while(|w| w.0 == *page) {
            let across = a[2].min(b[2]) - a[0].max(b[0]);
            let down = a[3].min(b[3]) - a[1].max(b[1]);
            let size = (a[3] - a[1]).min(b[3] - b[1]);
            assert!(across < 1.0 || down < size * 0.4, "page {page}: {word:?} and {other:?} overlap by {across} across and {down} down");
        }
    }
}
