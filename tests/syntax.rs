//! The notation as a whole: the grammar file, generated sentences, formatting, and hostile input.

use surehand::diag::Diagnostic;
use surehand::syntax::tree::{Block, Parsed, Step};
use surehand::syntax::{self, front};
use surehand::text::{File, FileId};

fn show(text: &str, problems: &[Diagnostic]) -> String {
    let file = File::new("example.md", text);
    let line = |p: &Diagnostic| {
        let at = file.position(p.span.start);
        format!("{}:{} {} [{}] {} {:?}\n", at.line, at.column, p.rule.id, p.span.of(text).escape_debug(), p.message, p.help)
    };
    problems.iter().map(line).collect()
}

/// The worked example of the notation.
const SAMPLE: &str = include_str!("fixtures/syntax/cartridge.md");

#[test]
fn the_worked_example_reads_without_a_finding() {
    let parsed = syntax::parse(FileId(0), SAMPLE);
    assert!(parsed.problems.is_empty(), "{}", show(SAMPLE, &parsed.problems));
    let front = parsed.front.as_ref().expect("front matter");
    assert_eq!(front.id.as_ref().map(|i| i.value.as_str()), Some("B3-014"));
    assert_eq!(parsed.sections.len(), 3);
    let steps: Vec<_> = parsed.blocks().filter(|b| matches!(b, Block::Step(_))).collect();
    assert_eq!(steps.len(), 26);
}

/// Numbers from a seed (a linear congruential generator, Knuth's constants), so that failures can be repeated.
struct Seed(u64);

impl Seed {
    fn pick(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap_or(0) % n.max(1)
    }
}

#[test]
fn every_generated_sentence_is_accepted() {
    let mut seed = Seed(20_261_120);
    let mut kinds = std::collections::BTreeSet::new();
    for _ in 0..4000 {
        let sentence = syntax::grammar::sentence(&mut |n| seed.pick(n));
        match syntax::statement::parse(FileId(0), 0, &sentence) {
            Ok(statement) => {
                kinds.insert(format!("{statement:?}").split(['(', ' ']).next().map(str::to_string));
            }
            Err(problem) => panic!("{sentence}\n{problem:?}"),
        }
        assert!(syntax::statement::looks_like(&sentence), "{sentence}");
    }
    assert_eq!(kinds.len(), syntax::grammar::PRODUCTIONS.len() + 1, "every kind of statement was made: {kinds:?}");
}

#[test]
fn every_production_reads_its_own_example() {
    for production in syntax::grammar::PRODUCTIONS {
        let read = syntax::statement::parse(FileId(0), 0, production.example);
        assert!(read.is_ok(), "{}: {read:?}", production.example);
        assert!(production.example.starts_with(production.keyword()));
    }
    assert!(syntax::statement::parse(FileId(0), 0, syntax::grammar::MOVE_EXAMPLE).is_ok());
}

#[test]
fn the_grammar_defines_every_rule_once_and_names_no_other() {
    let made = syntax::grammar::abnf();
    let mut defined = vec!["ALPHA", "DIGIT", "SP"];
    let mut used = Vec::new();
    for line in made.lines() {
        assert!(line.chars().count() <= 130, "{line}");
        let code = strip(line);
        let (name, body) = match code.split_once(" =") {
            Some((name, body)) if !code.starts_with(' ') => (Some(name.trim()), body),
            _ => (None, code.as_str()),
        };
        if let Some(name) = name {
            assert!(!defined.iter().any(|d| d.eq_ignore_ascii_case(name)), "{name} is defined twice");
            defined.push(Box::leak(name.to_string().into_boxed_str()));
        }
        let words = body.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-' || c == '%'));
        used.extend(words.filter(|w| w.starts_with(|c: char| c.is_ascii_alphabetic())).map(str::to_string));
    }
    for name in used {
        let repeated = name.trim_start_matches(|c: char| c.is_ascii_digit());
        assert!(defined.contains(&repeated), "{name} is not defined");
    }
    assert!(defined.len() > 80);
}

/// A line of ABNF without its strings, values and comment.
fn strip(line: &str) -> String {
    let mut out = String::new();
    let mut quoted = false;
    let line = line.replace("%s\"", "\"");
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ';' if !quoted => break,
            c if !quoted => out.push(c),
            _ => {}
        }
    }
    out.split(" ")
        .filter(|w| w.contains("=") || !w.contains("%"))
        .map(|w| w.trim_start_matches(|c: char| c.is_ascii_digit() || c == '*'))
        .collect::<Vec<_>>()
        .join(" ")
}

/// A tree without its places: what every node says, blanks and the spelling of units aside.
fn outline(parsed: &Parsed, text: &str) -> String {
    let mut out = String::new();
    for (n, section) in parsed.sections.iter().enumerate() {
        out += &format!("section {n} {:?} {:?} {:?}\n", section.kind, section.level, said(text, &format!("{:?}", section.title)));
    }
    for block in parsed.blocks() {
        match block {
            Block::Step(step) => outline_step(step, text, 0, &mut out),
            other => out += &format!("{}\n", said(text, &format!("{other:?}"))),
        }
    }
    out
}

fn outline_step(step: &Step, text: &str, depth: usize, out: &mut String) {
    let own = format!("{:?} {:?} {} {:?} {:?}", step.anchor, step.statement, step.broken, step.text, step.lines);
    *out += &format!("{depth} {}\n", said(text, &own));
    for arm in &step.arms {
        *out += &format!("{depth} arm {} {}\n", arm.otherwise, arm.go_on);
        arm.steps.iter().for_each(|s| outline_step(s, text, depth + 1, out));
    }
    step.body.iter().for_each(|s| outline_step(s, text, depth + 1, out));
}

/// A debug print with the text of each span in place of its numbers.
fn said(text: &str, debug: &str) -> String {
    let span = |word: &str| {
        let (start, end) = word.split_once("..")?;
        Some(
            text.get(start.parse().ok()?..end.parse().ok()?)?
                .replace('\u{b0}', "deg")
                .replace('\u{b5}', "u")
                .split_whitespace()
                .collect::<String>(),
        )
    };
    let spans = debug.split("0:").map(|piece| {
        let end = piece.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(piece.len());
        match span(&piece[..end]) {
            Some(found) => format!("<{found}>{}", &piece[end..]),
            None => piece.to_string(),
        }
    });
    spans.collect()
}

/// A procedure of random steps, badly spaced and numbered.
fn scribble(seed: &mut Seed) -> String {
    let mut out = format!("{}\n", front::EXAMPLE);
    for _ in 0..1 + seed.pick(14) {
        if seed.pick(6) == 0 {
            out += "\n> [!WARNING]\n> Hazard: heavy.\n> Consequence: it falls\n> on the bench.\n\n";
        }
        scribble_step(seed, "", 0, &mut out);
    }
    out
}

fn scribble_step(seed: &mut Seed, indent: &str, depth: usize, out: &mut String) {
    // A list that may begin with any number starts after an empty line.
    let numeral = [1, 2, 9, 10, 11, 99, 100][seed.pick(7)];
    let marker = format!("{numeral}. ");
    let inner = format!("{indent}{}", " ".repeat(marker.len()));
    let statement = match (seed.pick(8), depth) {
        (0, 0 | 1) => "if".to_string(),
        (1, 0 | 1) => format!("repeat at most {} until", 1 + seed.pick(9)),
        _ => loop {
            let made = syntax::grammar::sentence(&mut |n| seed.pick(n));
            if !["if", "repeat", "perform", "go to"].iter().any(|w| made.starts_with(w)) {
                break made;
            }
        },
    };
    let spaced: String = statement
        .split(' ')
        .map(|w| match seed.pick(9) {
            0 => format!("{w}  "),
            1 => format!("{w}\n{inner}"),
            _ => format!("{w} "),
        })
        .collect();
    let spaced = if seed.pick(3) == 0 { spaced.replace(" deg", "\u{b0}").replace(", ", " ,").replace("uSv", "\u{b5}Sv") } else { spaced };
    let words = ["The lamp is lit.", "It is `still` open?", "It *leans*,\n{i}seen twice. {#a}"][seed.pick(3)]
        .replace("`still`", "still")
        .replace("{i}", &inner);
    *out += &format!("{indent}{marker}`{}` {words}\n", spaced.trim());
    for line in ["Watch: the elbow,\n{i}  camera 2.", "Proof: it is steady.", "If not: [back out](#back-out)"] {
        if seed.pick(4) == 0 {
            *out += &format!("{inner}- {}\n", line.replace("{i}", &inner));
        }
    }
    if statement == "if" {
        *out += &format!("{inner}- then\n");
        for _ in 0..1 + seed.pick(3) {
            scribble_nested(seed, &format!("{inner}  "), depth, out);
        }
        *out += &format!("{inner}- otherwise: go on\n");
    } else if statement.starts_with("repeat ") {
        for _ in 0..1 + seed.pick(12) {
            scribble_nested(seed, &inner, depth, out);
        }
    }
}

/// Nested steps are numbered as a list that interrupts words must be: the first with 1.
fn scribble_nested(seed: &mut Seed, indent: &str, depth: usize, out: &mut String) {
    *out += "\n";
    scribble_step(seed, indent, depth + 1, out);
}

#[test]
fn formatting_keeps_the_tree_and_is_done_once() {
    let mut renumbered = 0;
    for n in 0..400 {
        let mut seed = Seed(n);
        let text = scribble(&mut seed);
        let parsed = syntax::parse(FileId(0), &text);
        let real = |p: &Parsed| p.problems.iter().filter(|p| p.rule.id != "renumbered-step").cloned().collect::<Vec<_>>();
        assert!(real(&parsed).is_empty(), "{n}: {text}\n{}", show(&text, &real(&parsed)));
        let made = syntax::format(&parsed, &text);
        let again = syntax::parse(FileId(0), &made);
        assert!(again.problems.is_empty(), "{n}: {text}\n-->\n{made}\n{}", show(&made, &again.problems));
        assert_eq!(outline(&parsed, &text), outline(&again, &made), "{n}: {text}\n-->\n{made}");
        assert_eq!(syntax::format(&again, &made), made);
        renumbered += usize::from(!parsed.problems.is_empty());
    }
    assert!(renumbered > 200, "the procedures are badly numbered, as meant: {renumbered}");
    let parsed = syntax::parse(FileId(0), SAMPLE);
    assert_eq!(syntax::format(&parsed, SAMPLE), SAMPLE);
}

/// What must hold for any text at all.
fn survive(text: &str) {
    let parsed = syntax::parse(FileId(0), text);
    let within = |span: surehand::text::Span| {
        assert!(text.get(span.range()).is_some(), "{span:?} in {text:?}");
    };
    for problem in &parsed.problems {
        within(problem.span);
        problem.labels.iter().for_each(|l| within(l.span));
        problem.fix.iter().for_each(|f| within(f.span));
        assert!(!problem.message.is_empty());
    }
    let made = syntax::format(&parsed, text);
    assert!(made.len() < 2 * text.len() + 4096);
}

#[test]
fn mutated_procedures_are_survived() {
    const PIECES: [&str; 28] = [
        "`",
        "``",
        "\n",
        "\r",
        "\t",
        "1. ",
        "- ",
        "> ",
        "[!NOTE]",
        "{#",
        "}",
        "[",
        "](",
        ")",
        "+++",
        "\u{2212}",
        "\u{202e}",
        "\0",
        "<b>",
        "&minus;",
        "```",
        "|",
        "# ",
        "*",
        "\u{fe0f}",
        "99999999999.",
        "-0 deg",
        "\u{1f9be}",
    ];
    for n in 0..1500 {
        let mut seed = Seed(n);
        let mut text = SAMPLE.to_string();
        for _ in 0..1 + seed.pick(12) {
            let at = text.floor_char_boundary(seed.pick(text.len()));
            match seed.pick(3) {
                0 => text.insert_str(at, PIECES[seed.pick(PIECES.len())]),
                1 => {
                    let end = text.floor_char_boundary((at + seed.pick(40)).min(text.len()));
                    text.replace_range(at..end.max(at), "");
                }
                _ => {
                    let end = text.floor_char_boundary((at + seed.pick(80)).min(text.len()));
                    let copy = text[at..end.max(at)].to_string();
                    let to = text.floor_char_boundary(seed.pick(text.len()));
                    text.insert_str(to, &copy);
                }
            }
        }
        survive(&text);
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { cases: 256, failure_persistence: None, ..Default::default() })]
    #[test]
    fn any_text_is_survived(text in "\\PC*", body in "[ -~\n`\u{b0}]{0,200}", statement in "[a-z0-9+\\-.,;: \u{b0}]{0,60}") {
        survive(&text);
        survive(&format!("{}\n{body}", front::EXAMPLE));
        survive(&format!("{}\n1. `{statement}`\n", front::EXAMPLE));
    }
}

#[test]
fn limits_are_found_before_anything_is_read() {
    let over = |text: &str| {
        let limit = syntax::limits(FileId(0), text).map(|d| d.rule.id);
        let parsed = syntax::parse(FileId(0), text);
        assert_eq!(limit.is_some(), parsed.problems.iter().any(|p| p.rule.id == "over-limit"));
        if limit.is_some() {
            assert!(parsed.problems.len() == 1 && parsed.blocks().count() == 0 && parsed.front.is_none());
        }
        limit.is_some()
    };
    let steps = |n: usize| (1..=n).fold(format!("{}\n", front::EXAMPLE), |text, i| text + &format!("{i}. `turnover`\n"));
    assert!(!over(&steps(10_000)));
    assert!(over(&steps(10_001)));
    assert!(!over(&format!("{}\n{}", front::EXAMPLE, "x".repeat(16 << 10))));
    assert!(over(&format!("{}\n{}", front::EXAMPLE, "x".repeat((16 << 10) + 1))));
    assert!(over(&"words\n".repeat((4 << 20) / 6 + 1)));
    assert!(over(&"[".repeat(10_000)) && over(&">".repeat(10_000)) && over(&"1. ".repeat(5_000)));
    let nested: String = (0..60).map(|i| format!("{}1. x\n", " ".repeat(3 * i))).collect();
    assert!(over(&nested));
    assert!(!over(SAMPLE));
}

#[test]
fn one_mistake_gives_one_finding_and_the_steps_around_it_are_read() {
    let mistakes = [
        ("`base left to +42 deg`", "`base left to +42`", "missing-unit"),
        ("`base left to +42 deg`", "`base left to \u{2212}42 deg`", "confusable-character"),
        ("`base left to +42 deg`", "`base lft 42 deg`", "unreadable-statement"),
        ("`hold point: Radiation protection`", "`hold piont: Radiation protection`", "unknown-statement"),
        ("`if` The", "`iff` The", "unknown-statement"),
        ("`repeat at most 3 until` The", "`repeat at most three until` The", "unreadable-statement"),
        ("- otherwise: go on", "- otherwise go on", "unreadable-arm"),
        ("    - Proof: grip", "   - Proof: grip", "stray-label"),
        ("- Watch: the elbow", "- Wach: the elbow", "unknown-label"),
        ("> [!WARNING]", "> [!WARNNG]", "unknown-alert"),
        ("5. `base", "5. Now `base", "shadowed-statement"),
        ("`wait at least 1 min`", "`wait at least 1min`", "bad-number"),
        ("4. `hold", "6. `hold", "renumbered-step"),
        ("tell the shift lead and stay out", "stay out", "unreadable-line"),
        ("(#back-out)\n18", "(http://example.org/)\n18", "outside-link"),
        ("[Back out](#back-out)\n25", "[Back out](http://example.org/)\n25", "outside-link"),
        ("jaw = \"90 mm\"", "jaw = \"90\"", "bad-quantity"),
        ("revision = \"C\"\ndate = \"2026-11-20\"\nuse", "revision = \"C\ndate = \"2026-11-20\"\nuse", "invalid-toml"),
    ];
    for (right, wrong, rule) in mistakes {
        assert!(SAMPLE.contains(right), "{right}");
        let text = SAMPLE.replacen(right, wrong, 1);
        let parsed = syntax::parse(FileId(0), &text);
        let found: Vec<&str> = parsed.problems.iter().map(|p| p.rule.id).collect();
        assert_eq!(found, [rule], "{wrong}\n{}", show(&text, &parsed.problems));
        assert_eq!(parsed.sections.len(), 3, "{wrong}");
        let fixed = parsed.problems[0].fix.as_ref().map(|f| {
            let mut mended = text.clone();
            mended.replace_range(f.span.range(), &f.text);
            syntax::parse(FileId(0), &mended).problems.iter().filter(|p| p.rule.id == rule).count()
        });
        assert!(fixed.is_none_or(|n| n == 0 || rule == "renumbered-step"), "the fix for {rule} mends it");
    }
}

#[test]
fn messages_say_what_was_expected_and_what_to_write() {
    let says = |statement: &str, wanted: &str| match syntax::statement::parse(FileId(0), 0, statement) {
        Err(Some(problem)) => {
            let all = format!("{} {}", problem.message, problem.help.join(" "));
            assert!(all.contains(wanted), "{statement}: {all}");
        }
        other => panic!("{statement}: {other:?}"),
    };
    says("base left to", "expected an angle such as +12 deg after `to`");
    says("base left to +42", "an angle needs its unit: write `to +42 deg`");
    says("base left 42 deg", "expected `from`, `to`, `by taps of`, `by` or `until` after `left`, found `42`");
    says("base left by +5 deg, ending +12 deg", "the direction word gives the sign; write `by 5`");
    says("wait 30 s", "`wait at least AT-LEAST[, at most AT-MOST]`");
    says("close cartridge", "close on LOAD");
    says("check the lamp", "words for people stand after the statement");
    says("read dose-rate below 50 uSv/h", "expected `on` after");
    says("jaw open to 120 kg", "`kg` is a unit of mass; a length is wanted here");
    says("shoulder lower until contact, not past -12", "write `past -12 deg`");
    assert_eq!(syntax::statement::expected_at("base left to "), ["<target>"]);
    assert!(syntax::statement::expected_at("base left to +4 deg ").contains(&"within".to_string()));
    assert!(syntax::statement::expected_at("po").contains(&"power on".to_string()));
}
