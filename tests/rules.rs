//! Every rule's own examples, run: a bad one gives exactly that rule at exactly the marked place, a good one
//! gives none of it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use surehand::diag::{Diagnostic, Example, ExampleFile, Family, Rule};
use surehand::model::{EXAMPLE_ARM, EXAMPLE_CELL, EXAMPLE_POLICY};
use surehand::session::rules::EXAMPLE_NAME;
use surehand::session::{MemoryWorld, RULES, Session};
use surehand::syntax::front;
use surehand::{model, session, syntax, trace, writing};

/// The files an example stands for, with the marks still in.
type Project = BTreeMap<&'static str, String>;

fn models() -> Project {
    Project::from([
        ("arm.toml", EXAMPLE_ARM.to_owned()),
        ("cell.toml", EXAMPLE_CELL.to_owned()),
        ("policy.toml", EXAMPLE_POLICY.to_owned()),
        (EXAMPLE_NAME, format!("{}\n1. `view window-1`\n", front::EXAMPLE)),
    ])
}

fn assemble(rule: &Rule, example: &Example) -> Result<Project, String> {
    let mut files = models();
    let subject = match example.file {
        ExampleFile::Steps | ExampleFile::Procedure => EXAMPLE_NAME,
        ExampleFile::Arm => "arm.toml",
        ExampleFile::Cell => "cell.toml",
        ExampleFile::Policy => "policy.toml",
    };
    let text = match example.file {
        ExampleFile::Steps => format!("{}\n{}", front::EXAMPLE, example.text),
        ExampleFile::Procedure => example.text.to_owned(),
        _ => {
            let whole = &files[subject];
            if whole.matches(example.replace).count() != 1 {
                return Err(format!("{:?} must stand exactly once in {subject}", example.replace));
            }
            whole.replace(example.replace, example.text)
        }
    };
    files.insert(subject, with_digest(text));
    // Patterns in plain words are looked at where a policy asks for it.
    if rule.family == Family::Prose {
        files.entry("policy.toml").or_default().push_str(writing::prose::EXAMPLE);
    }
    Ok(files)
}

/// Puts the digest of an arm profile in the place of the words that stand for it.
fn with_digest(text: String) -> String {
    use model::arm::{accept, load, rules::RIGHT_DIGEST};
    if !text.contains(RIGHT_DIGEST) {
        return text;
    }
    let plain = unmark(&text).0;
    let (arm, found) = load(surehand::text::FileId(0), &plain);
    let record = arm.and_then(|a| a.acceptance).unwrap_or_else(|| panic!("an arm with a record: {found:?}"));
    text.replace(RIGHT_DIGEST, &accept::digest(&plain, Some(&record), &[]))
}

/// Takes the marks out of a text and returns the byte ranges between them.
fn unmark(text: &str) -> (String, Vec<(u32, u32)>) {
    let (mut out, mut open, mut ranges) = (String::new(), 0, Vec::new());
    // A byte order mark is no part of the text that places count in.
    let at = |out: &String| u32::try_from(out.trim_start_matches('\u{feff}').len()).unwrap_or(u32::MAX);
    for c in text.chars() {
        match c {
            '⟦' => open = at(&out),
            '⟧' => ranges.push((open, at(&out))),
            c => out.push(c),
        }
    }
    (out, ranges)
}

struct Outcome {
    findings: Vec<Diagnostic>,
    /// The file name and text that each finding lies in.
    places: Vec<(String, String)>,
}

fn run(project: &Project) -> Result<Outcome, String> {
    let meshes = model::mesh::EXAMPLES.iter().fold(MemoryWorld::default(), |w, (name, text)| w.with(format!("/p/{name}"), *text));
    let world = project.iter().fold(meshes, |w, (name, text)| w.with(format!("/p/{name}"), unmark(text).0));
    let session = Session::new(&world);
    let compilation = session.compile(&Path::new("/p").join(EXAMPLE_NAME)).map_err(|e| e.to_string())?;
    let place = |d: &Diagnostic| {
        let file = session.files().get(d.span.file);
        (file.name.rsplit('/').next().unwrap_or_default().to_owned(), d.span.of(&file.text).to_owned())
    };
    Ok(Outcome { places: compilation.findings.iter().map(place).collect(), findings: compilation.findings })
}

fn list(outcome: &Outcome) -> String {
    let line = |(d, (file, text)): (&Diagnostic, &(String, String))| {
        format!("      {}[{}] in {file} at {:?} {text:?}: {}\n", d.severity.word(), d.rule.id, (d.span.start, d.span.end), d.message)
    };
    outcome.findings.iter().zip(&outcome.places).map(line).collect()
}

/// How high a rule's floor lies, and which it is. `writing` and `trace` stand side by side. An example of the
/// notation is a fragment, and floors above or beside may rightly miss the rest of the procedure in it; what its
/// own floor or one below finds beside the rule is a flaw of the example.
fn floor(rule: &Rule) -> (usize, usize) {
    let floors = [(0, syntax::RULES), (1, session::rules::OWN), (2, model::RULES), (3, writing::RULES), (3, trace::RULES)];
    let at = floors.iter().position(|(_, rules)| rules.iter().any(|r| r.id == rule.id)).unwrap_or(floors.len());
    (floors.get(at).map_or(4, |f| f.0), at)
}

/// Whether a finding is of the rule's own floor or of one below. What the front matter of the example accepts is none.
fn flaws(rule: &Rule, found: &Diagnostic) -> bool {
    if found.accepted.is_some() {
        return false;
    }
    let ((height, own), (at, which)) = (floor(rule), floor(found.rule));
    at < height || which == own
}

/// Demands findings of `rule` at the marks of `project` and nowhere else, and (if `alone`) nothing else that is wrong.
fn judge_bad(rule: &Rule, project: &Project, alone: bool) -> Result<(), String> {
    let marks =
        |(name, text): (&&'static str, &String)| unmark(text).1.into_iter().map(|range| ((*name).to_owned(), range)).collect::<Vec<_>>();
    let marks: BTreeSet<_> = project.iter().flat_map(marks).collect();
    let outcome = run(project)?;
    let own = outcome.findings.iter().zip(&outcome.places).filter(|(d, _)| d.rule.id == rule.id);
    let found: BTreeSet<_> = own.map(|(d, (file, _))| (file.clone(), (d.span.start, d.span.end))).collect();
    if marks.is_empty() || found != marks {
        return Err(format!("wanted it at {marks:?}, found\n{}", list(&outcome)));
    }
    if alone && outcome.findings.iter().any(|d| d.rule.id != rule.id && flaws(rule, d)) {
        return Err(format!("shows another error of its floor or below\n{}", list(&outcome)));
    }
    Ok(())
}

fn judge_good(rule: &Rule, project: &Project) -> Result<(), String> {
    if project.values().any(|text| text.contains(['⟦', '⟧'])) {
        return Err("a good example has no marks".into());
    }
    let outcome = run(project)?;
    if outcome.findings.iter().any(|d| d.rule.id == rule.id || flaws(rule, d)) {
        return Err(format!("is refused\n{}", list(&outcome)));
    }
    Ok(())
}

/// What takes more than one file to show: the rule, and the files that differ from the example models.
fn wide_examples() -> Vec<(&'static str, Vec<(&'static str, String)>)> {
    let steps = |text: &str| format!("{}\n{text}", front::EXAMPLE);
    let swap = |whole: &str, from: &str, to: &str| {
        assert_eq!(whole.matches(from).count(), 1, "{from:?} must stand exactly once");
        whole.replace(from, to)
    };
    let main = |text: &str| (EXAMPLE_NAME, steps(text));
    let part = |from: &str, to: &str| ("part.md", swap(&steps("1. `read joints`\n"), from, to));
    let arm = |from: &str, to: &str| ("arm.toml", swap(EXAMPLE_ARM, from, to));
    let cell = |from: &str, to: &str| ("cell.toml", swap(EXAMPLE_CELL, from, to));
    let policy = |from: &str, to: &str| ("policy.toml", swap(EXAMPLE_POLICY, from, to));
    // Two states more from each condition; the last is one too many.
    let acts = [
        "base left to +30 deg",
        "shoulder raise to +30 deg",
        "elbow extend to 90 deg",
        "wrist-pitch raise to +30 deg",
        "wrist-turn clockwise to +30 deg",
        "jaw open to 90 mm",
        "grip level 1",
    ];
    let branch = |(n, act): (usize, &&str)| {
        let mark = if n == 6 { "⟦`if`⟧" } else { "`if`" };
        format!("{0}. {mark} Lamp {0} is lit, seen in window 1.\n   - then\n     1. `{act}`\n   - otherwise: go on\n", n + 2)
    };
    let branches: String = acts.iter().enumerate().map(branch).collect();
    // A section of 200 steps performed again and again: the hundredth call passes 20 000.
    let call = |n: usize| format!("{n}. `perform` [a]({})\n", if n == 100 { "⟦#a⟧" } else { "#a" });
    let calls: String = (1..=100).map(call).collect();
    let long: String = (1..=200).map(|n| format!("{n}. `turnover`\n")).collect();
    let lane = "[[obstacle]]\nname = \"lane\"\nkind = \"slow\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"box\"\ncentre = [\"800 mm\", \"0 mm\", \"1600 mm\"]\nsize = [\"800 mm\", \"800 mm\", \"900 mm\"]\n\n[[obstacle]]\nname = \"back wall\"";
    let stick = "[[console.stick]]\nname = \"rocker\"\n[[console.stick.axis]]\njoint = \"wrist-turn\"\npositive = \"press the right half\"\nnegative = \"press the left half\"\n";
    let coarse = (
        "stop-by-readout = \"0.5 deg\"\nstop-by-eye = \"2 deg\"\nhold = \"0.2 deg\"\nreadout-error = \"0.1 deg\"\ndecimals = 1\nrate = \"12 deg/s\"",
        "stop-by-readout = \"0.2 deg\"\nstop-by-eye = \"2 deg\"\nhold = \"0.2 deg\"\nreadout-error = \"0.1 deg\"\ndecimals = 0\nrate = \"12 deg/s\"",
    );
    let alert =
        "> [!CAUTION]\n> Hazard: the plate is hot.\n> Consequence: the pads melt.\n> Avoid: ⟦keep clear of it.⟧\n\n1. `view window-1`\n";
    let lower = "1. `power on arm`\n2. `shoulder lower to ⟦-5 deg⟧`\n";
    let held = swap(
        &steps("1. `power on arm`\n2. `grip level 2`\n3. `wrist-pitch raise to ⟦+20 deg⟧`\n"),
        "jaw = \"50 mm\"\npower = \"off\"\n",
        "jaw = \"60 mm\"\npower = \"off\"\nloads = { cup = \"held\" }\n",
    );
    let waiver = "power = \"off\"\n[[waiver]]\nrule = ⟦\"open-wait\"⟧\nreason = \"The bath has no upper limit.\"\npost = \"Shift lead\"\nexpires = \"2027-11-19\"\n";
    vec![
        (
            "other-models",
            vec![main("1. `perform` [part](⟦part.md⟧)\n"), part("\"arm.toml\"", "\"arm-2.toml\""), ("arm-2.toml", EXAMPLE_ARM.to_owned())],
        ),
        ("start-not-met", vec![main("1. ⟦`perform`⟧ [part](part.md)\n"), part("\"home\"", "\"stowed\"")]),
        ("station-without-pose", vec![main("1. `power on arm`\n2. `expect at ⟦cradle⟧`\n"), cell("pose = \"at-cradle\"\n", "")]),
        (
            "band-finer-than-readout",
            vec![main("1. `power on arm`\n2. `base left to ⟦+42.5 deg⟧ within 0.4 deg`\n"), arm(coarse.0, coarse.1)],
        ),
        ("not-driven", vec![main("1. `power on arm`\n2. `⟦wrist-turn⟧ clockwise to +30 deg`\n"), arm(stick, "")]),
        ("too-many-states", vec![main(&format!("1. `power on arm`\n{branches}9. `read joints`\n"))]),
        ("too-long", vec![main(&format!("{calls}\n# A {{.on-call #a}}\n\n{long}"))]),
        (
            "missing-section",
            vec![
                (EXAMPLE_NAME, format!("⟦{}⟧\n\n# Work\n\n1. `view window-1`\n", front::EXAMPLE.trim_end())),
                policy("paper = \"A4\"", "paper = \"A4\"\nsections = [\"Before the work\"]"),
            ],
        ),
        (
            "unused-waiver",
            vec![
                (EXAMPLE_NAME, swap(&steps("1. `turnover`\n"), "power = \"off\"\n", waiver)),
                policy("paper = \"A4\"", "paper = \"A4\"\nwaivable = [\"open-wait\"]"),
            ],
        ),
        (
            "elapsed-off-estimate",
            vec![
                (
                    EXAMPLE_NAME,
                    swap(
                        &steps("1. `turnover`\n"),
                        "power = \"off\"\n",
                        "power = \"off\"\n[[validation]]\nhow = \"mock-up\"\ndate = \"2026-11-18\"\npost = \"Operator\"\nelapsed = ⟦\"13 min\"⟧\nresult = \"As written.\"\n",
                    ),
                ),
                policy("paper = \"A4\"", "paper = \"A4\"\ntimes = { step = \"5 min\", turnover = \"10 min\" }"),
            ],
        ),
        // Jaw and forearm are 89.9 mm apart at their nearest in this motion.
        (
            "too-close-to-call",
            vec![main("1. `power on arm`\n2. `base right to ⟦-30 deg⟧`\n"), cell("margin = \"25 mm\"", "margin = \"89.8 mm\"")],
        ),
        (
            "motion-not-looked-at",
            vec![main(&format!(
                "{AT_CUP}7. `if` The cup stands askew, seen in window 1.\n   - then\n     1. `wrist-turn clockwise to +20 deg`\n   - otherwise: go on\n8. `grip level 2`\n9. `close on cup`\n10. `lift cup clear of cradle: shoulder raise to ⟦+20 deg⟧`\n"
            ))],
        ),
        (
            "scene-not-usable",
            vec![
                (
                    EXAMPLE_NAME,
                    format!(
                        "{}\n\n# Work\n\n1. `view window-1`\n",
                        front::EXAMPLE.trim_end().replace("cell = \"cell.toml\"", "cell = ⟦\"cell.toml\"⟧")
                    ),
                ),
                arm("grip-centre = [\"150 mm\", \"0 mm\", \"0 mm\"]\n", ""),
            ],
        ),
        (
            "article-in-step",
            vec![
                main("1. Take ⟦the⟧ cup from tray 2.\n2. Observe lamp L2 blinks.\n"),
                policy("paper = \"A4\"", "paper = \"A4\"\nwriting = { prose = \"warning\", articles = \"omit\" }"),
            ],
        ),
        (
            "unlisted-verb",
            vec![
                main("1. ⟦Defenestrate⟧ the cup.\n2. Snip wire W3.\n"),
                policy(
                    "paper = \"A4\"",
                    "paper = \"A4\"\nwriting = { prose = \"warning\", listed-verbs-only = true, verbs = { manipulate = [\"snip\"] } }",
                ),
            ],
        ),
        (
            "two-names",
            vec![
                main("1. Put the cup on rack R2.\n2. Turn the ⟦specimen⟧ by half a turn.\n"),
                cell("title = \"sample cup\"", "title = \"specimen\""),
            ],
        ),
        ("avoid-not-allowed", vec![main(alert), policy("avoid-allowed = true", "avoid-allowed = false")]),
        (
            "fast-in-slow-zone",
            vec![
                main(
                    "1. `power on arm`\n2. `base right to ⟦-30 deg⟧`\n3. `shoulder raise to +45 deg slow`\n4. `base right to -45 deg inch`\n",
                ),
                cell("[[obstacle]]\nname = \"back wall\"", lane),
            ],
        ),
        ("joint-overloaded", vec![main(lower), arm("rod = \"28 mm\", rated = \"160 bar\"", "rod = \"28 mm\", rated = \"5 bar\"")]),
        ("pressure-short", vec![main(lower), arm("supply = \"150 bar\"", "supply = \"5 bar\"")]),
        ("crushed-in-motion", vec![(EXAMPLE_NAME, held), cell("crush = \"120 N\"", "crush = \"100.4 N\"")]),
    ]
}

/// Steps that bring the open jaw down around the cup.
const AT_CUP: &str = "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 90 mm`\n6. `shoulder lower to -10 deg`\n";

#[test]
fn every_example_shows_its_rule() {
    let mut faults = Vec::new();
    for rule in RULES.iter() {
        for (i, example) in rule.bad.iter().enumerate() {
            faults.extend(
                assemble(rule, example).and_then(|p| judge_bad(rule, &p, true)).err().map(|e| format!("{}, bad {}: {e}", rule.id, i + 1)),
            );
        }
        for (i, example) in rule.good.iter().enumerate() {
            faults.extend(
                assemble(rule, example).and_then(|p| judge_good(rule, &p)).err().map(|e| format!("{}, good {}: {e}", rule.id, i + 1)),
            );
        }
    }
    for (id, files) in wide_examples() {
        // An arm with an undriven joint, one stopped finer than it is read, or one that leaves out what shapes need is wrong itself.
        let Some(rule) = session::rule(id) else { panic!("there is no rule {id}") };
        let project = models().into_iter().chain(files).collect();
        faults.extend(
            judge_bad(rule, &project, !["not-driven", "band-finer-than-readout", "scene-not-usable", "motion-not-looked-at"].contains(&id))
                .err()
                .map(|e| format!("{id}, over several files: {e}")),
        );
    }
    assert!(faults.is_empty(), "{} faults\n\n{}", faults.len(), faults.join("\n\n"));
}

#[test]
fn every_rule_is_whole() {
    let mut ids = BTreeSet::new();
    let wide: BTreeSet<_> = wide_examples().into_iter().map(|(id, _)| id).collect();
    let mut faults = Vec::new();
    for rule in RULES.iter() {
        let id = rule.id;
        let kebab = id.split('-').all(|w| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit()));
        // The rules over templates and sets of words need one to be spoiled: the tests of these do that and name each.
        // Some rules of reach need a cell of their own: the test of that does the same.
        let shown = |test: &str| test.contains(&format!("\"{id}\""));
        let elsewhere = wide.contains(id)
            || id.starts_with("template-") && include_str!("print.rs").contains(id)
            || id.starts_with("words-") && include_str!("words.rs").contains(&format!(": {id}\""))
            || rule.family == Family::Reach && shown(include_str!("reach/floor.rs"));
        for (fault, is) in [
            ("declared twice", !ids.insert(id)),
            ("not kebab-case", !kebab),
            ("no summary", rule.summary.is_empty()),
            ("the summary is a phrase without a full stop", rule.summary.ends_with('.')),
            ("no reason", rule.why.len() < 20),
            ("the reason ends in a full stop", !rule.why.ends_with('.')),
            ("no bad example", rule.bad.is_empty() && !elsewhere),
            ("no good example", rule.good.is_empty() && !elsewhere),
        ] {
            if is {
                faults.push(format!("{id}: {fault}"));
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert!(RULES.len() > 50, "only {} rules were found", RULES.len());
}

/// The judge itself: it must tell a wrong place, a silent rule and a good example that is refused.
#[test]
fn the_judge_is_not_blind() {
    let Some(rule) = session::rule("unknown-key") else { panic!("no rule unknown-key") };
    let key = |text: &'static str| Example::patch(ExampleFile::Policy, "longest-run = 10", text);
    let right = key("longest-run = 10\n⟦coffee⟧ = 2");
    let (wrong, silent, unmarked) = (key("⟦longest-run⟧ = 10\ncoffee = 2"), key("⟦longest-run⟧ = 10"), key("longest-run = 10\ncoffee = 2"));
    let bad = |example: &Example| assemble(rule, example).and_then(|p| judge_bad(rule, &p, true));
    let good = |example: &Example| assemble(rule, example).and_then(|p| judge_good(rule, &p));
    assert_eq!(bad(&right), Ok(()));
    assert!(bad(&wrong).is_err() && bad(&silent).is_err() && bad(&unmarked).is_err());
    assert!(good(&unmarked).is_err() && good(&right).is_err() && good(&key("longest-run = 11")).is_ok());
    assert!(bad(&Example::patch(ExampleFile::Arm, "no such text", "")).is_err());
}
