//! Finished files of the library, changed in every way that could mislead a reader of the page: each must be refused.

#![allow(clippy::print_stdout, reason = "the counts are the result")]

mod library;
#[path = "readback/over.rs"]
mod over;
#[path = "readback/paper.rs"]
mod paper;
#[path = "readback/screen.rs"]
mod screen;

use library::{DEMOS, folder};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::Path;
use surehand::compiled::Compiled;
use surehand::document::build::{Digests, Instruction, Sources, build};
use surehand::document::{Act, Block, Document, Goal};
use surehand::emit::{FORMATS, Print};
use surehand::error::Error;
use surehand::model::Standing;
use surehand::readback::{self, Item, Said};
use surehand::session::{Compilation, DiskWorld, MemoryWorld, Session};
use surehand::template::{BUILT_IN, Templates, render};
use surehand::text::Files;
use surehand::words::Words;

/// A finished print and what it must show.
struct Made {
    name: String,
    items: Vec<Item>,
    compiled: Compiled,
    document: Document,
    files: BTreeMap<&'static str, Vec<u8>>,
}

fn said() -> Said {
    Said::new(Words::english().entries())
}

fn agree(items: &[Item], compiled: &Compiled) -> Result<(), Error> {
    readback::agree(items, compiled, &said())
}

fn check(format: &str, bytes: &[u8], items: &[Item]) -> Result<Option<usize>, Error> {
    readback::check(format, bytes, items, &said())
}

/// Values of an instruction under the built-in templates, and its files.
fn printed(instruction: &Instruction) -> (Vec<Item>, BTreeMap<&'static str, Vec<u8>>) {
    let templates = Templates::new(Vec::new(), &Files::default()).expect("built-in templates");
    let mut pages = render(instruction, &templates).unwrap_or_else(|e| panic!("{e:#?}"));
    let items = std::mem::take(&mut pages.values).into_iter().map(|(id, values)| Item { id, values }).collect();
    let print = Print::new(&pages, (2026, 11, 20));
    let files = FORMATS.iter().map(|f| (f.name, f.emit(&print).expect("emits"))).collect();
    (items, files)
}

fn made(demo: &str) -> Made {
    let session = Session::new(&DiskWorld);
    let path = folder().join(demo);
    let compilation: Compilation = session.compile(Path::new(&path)).unwrap_or_else(|e| panic!("{demo}: {e}"));
    let examined = compilation.examined.as_ref().expect("is examined");
    let checked = examined.checked.as_ref().expect("is clean");
    let sources =
        Sources { digests: Digests { content: "0123456789abcdef".repeat(4), ..Digests::default() }, ..Sources::of(session.files()) };
    let instruction = build(checked, &sources);
    let (items, files) = printed(&instruction);
    let compiled = examined.compile(session.files());
    Made { name: demo.to_owned(), items, compiled, document: instruction.document().clone(), files }
}

/// A seeded choice.
struct Dice(u64);

impl Dice {
    fn upto(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % n.max(1) as u64).unwrap_or(0)
    }
    fn one<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.upto(list.len())]
    }
}

/// What a change is called, the bytes it makes, and what a refusal must name.
struct Change {
    kind: &'static str,
    bytes: Vec<u8>,
    names: String,
}

/// Holds every change to be refused, by name where it has one; returns how many of each kind there were.
fn attack(made: &Made, format: &str, changes: Vec<Change>) -> BTreeMap<&'static str, (usize, usize)> {
    let mut counts: BTreeMap<&'static str, (usize, usize)> = BTreeMap::new();
    let mut passed = Vec::new();
    let checked: Vec<_> = changes.into_par_iter().map(|c| (check(format, &c.bytes, &made.items), c.kind, c.names)).collect();
    for (result, kind, names) in checked {
        let count = counts.entry(kind).or_default();
        count.0 += 1;
        match result {
            Ok(_) => passed.push(format!("{kind} ({names})")),
            Err(e) => {
                let said = e.to_string();
                count.1 += 1;
                assert!(said.contains(&names), "{}: {kind}: nothing names {names:?} in: {said}", made.name);
            }
        }
    }
    assert!(passed.is_empty(), "{} {format}: {} changes pass: {:#?}", made.name, passed.len(), &passed[..passed.len().min(40)]);
    counts
}

fn report(format: &str, totals: &BTreeMap<&'static str, (usize, usize)>) {
    let (all, refused) = totals.values().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    println!("{format}: {refused} of {all} changed files refused");
    for (kind, (made, refused)) in totals {
        println!("  {kind}: {refused} of {made}");
    }
}

fn every(format: &'static str, changes: fn(&Made, &mut Dice) -> Vec<Change>) {
    let mut totals: BTreeMap<&'static str, (usize, usize)> = BTreeMap::new();
    for (n, demo) in DEMOS.iter().enumerate() {
        let made = made(demo);
        check(format, &made.files[format], &made.items).unwrap_or_else(|e| panic!("{demo} unchanged: {e}"));
        let counts = attack(&made, format, changes(&made, &mut Dice(0x5eed_0000 + n as u64)));
        let all: usize = counts.values().map(|c| c.0).sum();
        println!("{demo} {format}: {all} changed files");
        assert!(all >= 100, "{demo}: only {all} changes");
        for (kind, (a, b)) in counts {
            let total = totals.entry(kind).or_default();
            *total = (total.0 + a, total.1 + b);
        }
    }
    report(format, &totals);
}

#[test]
fn paper_that_was_changed_is_refused() {
    every("pdf", paper::changes);
}

#[test]
fn a_screen_page_that_was_changed_is_refused() {
    every("html", screen::changes);
}

/// Plain text: any digit of a step's values, and any two lines of steps exchanged.
#[test]
fn text_that_was_changed_is_refused() {
    every("text", |made, dice| {
        let text = String::from_utf8(made.files["text"].clone()).expect("UTF-8");
        let lines: Vec<&str> = text.lines().collect();
        let signed = |l: &&str| {
            l.contains(" deg") && (l.contains("between +") || l.contains("between -") || l.contains("deg +") || l.contains("deg -"))
        };
        let moves: Vec<usize> = (0..lines.len()).filter(|i| signed(&lines[*i])).collect();
        let mut out = Vec::new();
        for _ in 0..120 {
            let at = *dice.one(&moves);
            let digits: Vec<usize> = lines[at].char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(i, _)| i).collect();
            let place = *dice.one(&digits);
            let old = lines[at].as_bytes()[place];
            let new = b'0' + (old - b'0' + 1 + u8::try_from(dice.upto(9)).unwrap_or(0)) % 10;
            if new == old {
                continue;
            }
            let mut changed: Vec<String> = lines.iter().map(|l| (*l).to_owned()).collect();
            changed[at].replace_range(place..=place, &char::from(new).to_string());
            out.push(Change { kind: "a digit", bytes: changed.join("\n").into_bytes(), names: String::new() });
        }
        out
    });
}

/// Puts a wrong word into a block; says whether it could.
type Fault = fn(&mut Block) -> bool;

/// One fault of each kind on the shortest procedure: the upper end of a band, and a value that lost its last letter on paper.
#[test]
fn a_wrong_end_and_a_cut_value_are_refused() {
    let made = made("stow-heron.md");
    agree(&made.items, &made.compiled).expect("agrees");
    let mut items = made.items.clone();
    let high = |id: &str, text: &str| id.starts_with('s') && id.ends_with(".high") && !id.contains(".j") && text.contains(".5");
    let (id, text) = items.iter_mut().flat_map(|i| &mut i.values).find(|(id, text)| high(id, text)).expect("a band");
    *text = text.replacen(".5", ".6", 1);
    let id = id.clone();
    let error = agree(&items, &made.compiled).expect_err("another end").to_string();
    assert!(error.contains(id.as_str()), "{id} is not named: {error}");
    let pdf = &made.files["pdf"];
    check("pdf", pdf, &made.items).expect("reads back");
    // What the file shows is then less than what it must.
    let mut longer = made.items.clone();
    let (id, text) = longer.iter_mut().flat_map(|i| &mut i.values).find(|(id, _)| id.ends_with(".target")).expect("a target");
    text.push('1');
    let id = id.clone();
    let error = check("pdf", pdf, &longer).expect_err("a cut value").to_string();
    assert!(error.contains(id.as_str()), "{id} is not named: {error}");
}

/// A fault of what builds the document: it prints another value than the one that was compiled.
#[test]
fn a_document_that_differs_from_what_was_compiled_is_refused() {
    fn blocks<'d>(list: &'d mut [Block], out: &mut Vec<&'d mut Block>) {
        for block in list {
            match block {
                Block::Section(s) => blocks(&mut s.blocks, out),
                Block::Condition(c) => c.arms.iter_mut().for_each(|a| blocks(&mut a.blocks, out)),
                Block::Repeat(r) => blocks(&mut r.blocks, out),
                Block::Perform(p) => blocks(&mut p.blocks, out),
                other => out.push(other),
            }
        }
    }
    /// Every text of a document that stands in a step or strip, with its id.
    fn texts(value: &mut serde_json::Value, out: &mut Vec<(String, String)>) {
        match value {
            serde_json::Value::Array(list) => list.iter_mut().for_each(|v| texts(v, out)),
            serde_json::Value::Object(map) => {
                if let (Some(id), Some(text)) = (map.get("id").and_then(|v| v.as_str()), map.get("text").and_then(|v| v.as_str())) {
                    out.push((id.to_owned(), text.to_owned()));
                }
                map.values_mut().for_each(|v| texts(v, out));
            }
            _ => {}
        }
    }
    let mut faults = 0;
    for demo in DEMOS {
        let made = made(demo);
        agree(&made.items, &made.compiled).unwrap_or_else(|e| panic!("{demo}: {e}"));
        // Any value of a step or strip, one at a time.
        let mut all = Vec::new();
        texts(&mut serde_json::to_value(&made.document.blocks).expect("plain data"), &mut all);
        texts(&mut serde_json::to_value(&made.document.after).expect("plain data"), &mut all);
        for (id, text) in all {
            let name = id.rsplit('.').next().unwrap_or("").trim_end_matches(|c: char| c.is_ascii_digit());
            let strip = id.starts_with('b') || id.contains("-b");
            if name == "block" || (strip && name == "joint" && text.starts_with("or ")) {
                continue;
            }
            // A pose that is asserted has its own band, and a contingency's number is a heading.
            let step = id.split('.').next().unwrap_or("");
            let asserted = made.compiled.steps.iter().any(|s| {
                matches!(s.act, surehand::compiled::Act::ExpectPose { .. })
                    && (id == format!("s{}.at", s.number) || id.starts_with(&format!("s{}.j", s.number)))
            });
            if asserted || name == "at" || (step.starts_with('C') && name == "number") {
                continue;
            }
            let mut items = made.items.clone();
            let value = items.iter_mut().flat_map(|i| &mut i.values).find(|(other, _)| *other == id).expect("a value");
            assert_eq!(value.1, text);
            value.1 = match text.find(|c: char| c.is_ascii_digit()) {
                Some(at) => {
                    let digit = (text.as_bytes()[at] - b'0' + 1) % 10;
                    format!("{}{digit}{}", &text[..at], &text[at + 1..])
                }
                None => format!("{text}x"),
            };
            let error =
                agree(&items, &made.compiled).err().unwrap_or_else(|| panic!("{demo}: {id} {text:?} may be {:?}", items.len())).to_string();
            assert!(error.contains(&id) || error.contains(step), "{demo}: {id} is not named: {error}");
            faults += 1;
        }
        // The list of check values: one changed, one more.
        let record = made.items.iter().position(|i| i.id == "record").expect("the record");
        let codes: Vec<usize> =
            (0..made.items[record].values.len()).filter(|v| made.items[record].values[*v].0.contains(".code")).collect();
        for at in codes {
            let mut items = made.items.clone();
            items[record].values[at].1.push('x');
            let error = agree(&items, &made.compiled).expect_err("refused").to_string();
            assert!(error.contains("the record lists"), "{demo}: {error}");
            let mut items = made.items.clone();
            items[record].values.push(("record.code999".to_owned(), "999 ACDE".to_owned()));
            assert!(agree(&items, &made.compiled).is_err(), "{demo}");
            faults += 2;
        }
        // A thing named by the name of any other that is there, or named in any other view, and one that is not there.
        let labels = |i: &Item| i.values.iter().map(|(id, _)| id.clone()).filter(|id| id.contains(".label")).collect::<Vec<_>>();
        for (at, id) in made.items.iter().enumerate().flat_map(|(at, i)| labels(i).into_iter().map(move |id| (at, id))) {
            let view = id.split(".label").next().unwrap_or("");
            let elsewhere = Some("plate of port 3").filter(|_| demo == "cartridge-change.md").map(str::to_owned);
            let text_of = |id: &String| made.items[at].values.iter().find(|(o, _)| o == id).map(|(_, t)| t.clone());
            let own = text_of(&id);
            let others = labels(&made.items[at])
                .iter()
                .filter_map(text_of)
                .filter(|t| Some(t) != own.as_ref())
                .collect::<std::collections::BTreeSet<_>>();
            for words in others.into_iter().chain(elsewhere) {
                let mut items = made.items.clone();
                items[at].values.iter_mut().filter(|(o, _)| *o == id).for_each(|(_, t)| t.clone_from(&words));
                let error = agree(&items, &made.compiled).expect_err("a name that is not due").to_string();
                assert!(error.contains(view), "{demo}: {id} is not named: {error}");
                faults += 1;
            }
        }
        // And whole faults of the builder: another target, ends exchanged, a step left out, a move told of another joint.
        let faulty: [(&str, Fault); 5] = [
            ("target", |b| {
                change(b, |t| match &mut t.goal {
                    Goal::To { target, .. } => {
                        target.text = "+1.0 deg".into();
                        true
                    }
                    _ => false,
                })
            }),
            ("low", |b| {
                change(b, |t| match &mut t.goal {
                    Goal::To { low, high, .. } => {
                        std::mem::swap(&mut low.text, &mut high.text);
                        true
                    }
                    _ => false,
                })
            }),
            ("direction", |b| {
                change(b, |t| {
                    t.direction.text = "ROLL".into();
                    true
                })
            }),
            ("joint", |b| match b {
                Block::Step(s) => match &mut s.act {
                    Act::Together { moves, .. } => {
                        let (a, b) = moves.split_at_mut(1);
                        std::mem::swap(&mut a[0].joint.text, &mut b[0].joint.text);
                        true
                    }
                    _ => false,
                },
                _ => false,
            }),
            ("past", |b| match b {
                Block::Step(s) => match &mut s.act {
                    Act::Together { gates, .. } => gates.first_mut().is_some_and(|gate| {
                        std::mem::swap(&mut gate.limit.text, &mut gate.past.text);
                        true
                    }),
                    _ => false,
                },
                _ => false,
            }),
        ];
        for (name, fault) in faulty {
            let mut document = made.document.clone();
            let mut list = Vec::new();
            blocks(&mut document.blocks, &mut list);
            if !list.into_iter().any(fault) {
                continue;
            }
            let (items, files) = printed(&Instruction::draft(document, 0, Standing::Invented, Words::english()));
            check("pdf", &files["pdf"], &items).unwrap_or_else(|e| panic!("the file shows the document: {e}"));
            let error = agree(&items, &made.compiled).expect_err("a fault of the builder").to_string();
            assert!(error.contains(&format!(".{name} ")), "{demo}: {name} is not named: {error}");
            faults += 1;
        }
        // A step left out, a step too many, two steps exchanged.
        let steps: Vec<usize> = (0..made.items.len())
            .filter(|i| made.items[*i].id.starts_with('s') && made.items[*i].id[1..].starts_with(|c: char| c.is_ascii_digit() || c == 'C'))
            .collect();
        for at in steps.windows(2) {
            let mut less = made.items.clone();
            less.remove(at[0]);
            agree(&less, &made.compiled).expect_err("a step less");
            let mut swapped = made.items.clone();
            swapped.swap(at[0], at[1]);
            agree(&swapped, &made.compiled).expect_err("two steps exchanged");
            let mut more = made.items.clone();
            let mut extra = more[at[0]].clone();
            extra.id = "s999".into();
            more.push(extra);
            agree(&more, &made.compiled).expect_err("a step more");
            faults += 3;
        }
    }
    println!("faults of the document seen: {faults}");
    assert!(faults > 3000, "{faults}");
}

fn change(block: &mut Block, mut with: impl FnMut(&mut surehand::document::Travel) -> bool) -> bool {
    match block {
        Block::Step(s) => match &mut s.act {
            Act::Move(t) => with(t),
            _ => false,
        },
        _ => false,
    }
}

/// Templates that print every value with its text and its id, each in the place of another.
#[test]
fn a_template_that_exchanges_values_is_refused() {
    let acts = BUILT_IN.iter().find(|(name, _)| *name == "acts.html").expect("built in").1;
    let body = BUILT_IN.iter().find(|(name, _)| *name == "instruction.html").expect("built in").1;
    // The library reads no value between two others; here one does.
    let survey = library::text("swab-survey.md");
    let between = survey.replacen(" below 0.05 mSv/h", " between 0.01 mSv/h and 0.05 mSv/h", 1);
    assert_ne!(survey, between);
    let world = MemoryWorld::over(DiskWorld).with(folder().join("swab-survey.md"), between.as_bytes());
    let session = Session::new(&world);
    let refused = |demo: &str, file: &str, text: &str, exchange: &[(&str, &str)], names: &str| {
        let mut site = text.to_owned();
        // Through a mark, so that two may change places.
        for (i, (from, _)) in exchange.iter().enumerate() {
            assert!(site.contains(from), "{file} holds {from}");
            site = site.replacen(from, &format!("@{i}@"), 1);
        }
        for (i, (_, to)) in exchange.iter().enumerate() {
            site = site.replacen(&format!("@{i}@"), to, 1);
        }
        let compilation = session.compile(&folder().join(demo)).expect("compiles");
        let checked = compilation.examined.as_ref().and_then(|e| e.checked.as_ref()).expect("is clean");
        let instruction = build(checked, &Sources::of(session.files()));
        let templates = Templates::new(vec![(format!("site/{file}"), site)], &Files::default()).expect("templates");
        let Err(problems) = render(&instruction, &templates) else { panic!("{exchange:?} must be refused") };
        let hit = problems.iter().find(|p| p.rule.id == "template-misplaces-field" && p.message.contains(names));
        assert!(hit.is_some(), "{names} is not named: {:#?}", problems.iter().map(|p| p.message.to_string()).take(5).collect::<Vec<_>>());
    };
    let swap = |a: &'static str, b: &'static str| [(a, b), (b, a)];
    let band = |low: &str, high: &str, from: &str, to: &str| {
        format!(
            "{{{{ text(\"bind.{from}\") }}}} <strong>{{{{ goal.{low}|field }}}}</strong> {{{{ text(\"bind.{to}\") }}}} <strong>{{{{ goal.{high}|field }}}}</strong>\n{{%- endif -%}}"
        )
    };
    let (plain, turned) = (band("low", "high", "between", "and"), band("high", "low", "between", "and"));
    let both = "cartridge-change.md";
    refused(both, "acts.html", acts, &[(&plain, &turned)], ".low ");
    refused(both, "acts.html", acts, &[(&plain, &band("low", "high", "and", "between"))], ".low ");
    let to = "<span class=\"plain\">{{ text(\"bind.to\") }}</span> {{ goal.target|field }}";
    let from = " {{ text(\"bind.from\") }}&#160;{{ listed(travel.from) }}";
    // The start where the target stands, and the other way round: with their words, and without.
    let target = "{% if travel.goal.goal == 'to' %}{{ travel.goal.target|field }}{% else %}{{ listed(travel.from) }}{% endif %}";
    let turned = [(to, "from {{ listed(travel.from) }}"), (from, &format!(" to&#160;{target}"))];
    refused(both, "acts.html", acts, &turned, ".target ");
    let exchanged = [(to, "to {{ listed(travel.from) }}"), (from, &format!(" from&#160;{target}"))];
    refused(both, "acts.html", acts, &exchanged, ".target ");
    let told = [(to, "<span class=\"plain\">from</span> {{ goal.target|field }}"), (from, " to&#160;{{ listed(travel.from) }}")];
    refused(both, "acts.html", acts, &told, ".target ");
    refused(
        both,
        "acts.html",
        acts,
        &[("{{ travel.joint|field }} {{ travel.direction|field }}", "{{ travel.direction|field }} {{ travel.joint|field }}")],
        ".joint ",
    );
    let two = "{%- for travel in act.moves -%}{{ move(travel) }}{%- endfor -%}";
    let joints = "<p>{{ act.moves[1].joint|field }} {{ act.moves[0].joint|field }}</p>";
    refused(
        both,
        "acts.html",
        &acts
            .replacen(
                "<p class=\"call\">{{ travel.joint|field }} {{ travel.direction|field }}",
                "<p class=\"call\">{% if not two %}{{ travel.joint|field }} {% endif %}{{ travel.direction|field }}",
                1,
            )
            .replacen("{%- macro move(travel) -%}", "{%- macro move(travel, two=false) -%}", 1),
        &[(two, &format!("{joints}{}", two.replace("move(travel)", "move(travel, true)")))],
        ".b.direction ",
    );
    refused(both, "acts.html", acts, &[(two, &two.replace("act.moves", "act.moves|reverse"))], ".a.");
    let gate = [("limit=gate.limit", "limit=gate.past"), ("past=gate.past", "past=gate.limit")];
    refused(both, "acts.html", acts, &gate, ".past ");
    let read = swap("{{ r.low|field }}", "{{ r.high|field }}");
    refused(both, "acts.html", acts, &read, ".low ");
    let band = [("low=b.band.low", "low=b.band.high"), ("high=b.band.high", "high=b.band.low")];
    refused("swab-survey.md", "instruction.html", body, &band, ".low ");
    refused(both, "instruction.html", body, &[("below=text(\"bind.below\")", "below=text(\"bind.above\")")], ".high ");
    let wait = [("least=b.least", "least=b.most"), ("most=b.most", "most=b.least")];
    refused(both, "instruction.html", body, &wait, ".least ");
}
