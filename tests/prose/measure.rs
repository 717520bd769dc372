//! The labelled lines and how the rules over plain words do on them, for the test and for the benchmark.

use crate::common::{Case, procedure};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use surehand::diag::{Family, Rule, Severity};
use surehand::session::RULES;
use surehand::syntax::front;
use surehand::writing;

/// A line with the findings it must give.
pub struct Line {
    pub place: &'static str,
    pub expected: BTreeSet<&'static str>,
    pub from: &'static str,
    pub text: &'static str,
}

/// The rules outside of the chapter on plain words that judge words alone and are measured with it.
const BESIDE: [&str; 11] = [
    "step-not-an-order",
    "condition-after-action",
    "unmarked-condition",
    "endless-repeat",
    "any-order-in-words",
    "time-limit-without-answer",
    "bare-value",
    "many-conditions",
    "too-many-conditions",
    "mixed-and-or",
    "acceptance-word",
];

/// Every rule that is measured.
pub fn measured() -> Vec<&'static Rule> {
    RULES.iter().copied().filter(|r| r.family == Family::Prose || BESIDE.contains(&r.id)).collect()
}

/// The labelled lines in their order.
pub fn lines() -> Vec<Line> {
    let rows = include_str!("lines.tsv").lines().filter(|l| !l.starts_with('#') && !l.is_empty());
    let line = |row: &'static str| {
        let [place, rules, from, text] = row.split('\t').collect::<Vec<_>>()[..] else { panic!("four columns: {row}") };
        let expected = rules.split(',').filter(|r| *r != "-").collect();
        Line { place, expected, from, text }
    };
    rows.map(line).collect()
}

/// Whether a line is only measured: a bit of a hash of its text decides. Published lines are known to whoever writes a check,
/// and those written afterwards were never tuned on.
pub fn held(line: &Line) -> bool {
    is_afterwards(line) || is_invented(line) && Sha256::digest(line.text)[0] & 1 == 1
}

/// The procedure that shows a line at its place.
pub fn case(line: &Line) -> Case {
    let text = line.text;
    let steps = match line.place {
        "step" | "terse" | "listed" => format!("1. {text}\n"),
        "check" => format!("1. `check` {text}\n"),
        "proof" => format!("1. `set port-plate open`\n   - Proof: {text}\n"),
        "condition" => format!("1. `if` {text}\n   - then\n     1. `read joints`\n   - otherwise: go on\n"),
        "alert" => format!("> [!WARNING]\n> Hazard: {text}\n> Consequence: the work stops.\n\n1. `read joints`\n"),
        "caution" => format!("> [!CAUTION]\n> Hazard: {text}\n> Consequence: the work stops.\n\n1. `read joints`\n"),
        "note" => format!("> [!NOTE]\n> {text}\n\n1. `read joints`\n"),
        "prose" => format!("{text}\n\n1. `read joints`\n"),
        other => panic!("no such place: {other}"),
    };
    let mut case = Case::procedure(&format!("{}\n{steps}", front::EXAMPLE));
    case.texts[2] += writing::prose::EXAMPLE;
    let more = match line.place {
        "terse" => "articles = \"omit\"\n",
        "listed" => "listed-verbs-only = true\n",
        _ => "",
    };
    case.texts[2] = case.texts[2].replace("prose = \"warning\"\n", &format!("prose = \"warning\"\n{more}"));
    case
}

/// What is found in a line, by rule, with the weight. What reading and lowering find would be a fault of the line.
pub fn found(line: &Line) -> BTreeMap<&'static str, Severity> {
    let case = case(line);
    let (p, problems) = procedure(&case);
    assert!(problems.is_empty(), "{}: {problems:#?}", line.text);
    writing::check(&p, &case.texts[3]).into_iter().map(|d| (d.rule.id, d.severity)).collect()
}

/// How often a rule was right.
#[derive(Clone, Copy, Default)]
pub struct Score {
    /// It spoke and should.
    pub right: u32,
    /// It spoke and should not.
    pub wrong: u32,
    /// It should have spoken.
    pub missed: u32,
}

impl Score {
    /// The share of its findings that are right; one that never spoke was never wrong.
    pub fn precision(&self) -> f64 {
        if self.right + self.wrong == 0 { 1.0 } else { f64::from(self.right) / f64::from(self.right + self.wrong) }
    }
    /// The share of its faults that it finds.
    pub fn recall(&self) -> f64 {
        if self.right + self.missed == 0 { 1.0 } else { f64::from(self.right) / f64::from(self.right + self.missed) }
    }
}

/// The scores of the half that was tuned on, and of the other, by rule.
pub fn scores() -> BTreeMap<&'static str, [Score; 2]> {
    let mut scores: BTreeMap<_, _> = measured().into_iter().map(|r| (r.id, [Score::default(); 2])).collect();
    for line in lines() {
        let found = found(&line);
        for (id, both) in &mut scores {
            let score = &mut both[usize::from(held(&line))];
            match (line.expected.contains(id), found.contains_key(id)) {
                (true, true) => score.right += 1,
                (false, true) => score.wrong += 1,
                (true, false) => score.missed += 1,
                (false, false) => {}
            }
        }
    }
    scores
}

/// The page on how often each rule is right.
pub fn page() -> String {
    let lines = lines();
    let (published, held_lines) = (lines.iter().filter(|l| !is_invented(l)).count(), lines.iter().filter(|l| held(l)).count());
    let mut page = format!(
        "# How often the checks of plain words are right\n\n\
         <!-- Printed by tests/prose.rs. Do not edit: run the tests with UPDATE_MANUAL=1. -->\n\n\
         Measured on {} labelled lines ([tests/prose/lines.tsv](../tests/prose/lines.tsv)): {published} with a published or earlier verdict, the rest invented. \
         The checks were tuned on {} of them and only counted on the other {held_lines}: a hash parts the invented lines that were written, with their \
         labels, before the checks; {afterwards} more were written when the checks stood, to be harder. All have one writer, who wrote the checks too; \
         so this tells how the checks do on such lines, not how they do at a site.\n\n\
         *Right* and *wrong* count findings that should and should not be there, *missed* those that should. A rule whose findings on the second part \
         are right less than nine times in ten is advice. A rule with fewer than ten lines to find is hardly measured at all.\n\n\
         | rule | weight | right, wrong, missed: tuned on | only measured | precision there | recall there |\n|---|---|---|---|---|---|\n",
        lines.len(),
        lines.len() - held_lines,
        afterwards = lines.iter().filter(|l| is_afterwards(l)).count(),
    );
    let mut total = [Score::default(); 2];
    let counts = |s: &Score| format!("{}, {}, {}", s.right, s.wrong, s.missed);
    let share = |x: f64| format!("{:.0} %", x * 100.0);
    for (id, both) in scores() {
        let weight = RULES.iter().find(|r| r.id == id).map_or("", |r| r.severity.word());
        let [tuned, other] = &both;
        let (p, r) = (share(other.precision()), share(other.recall()));
        let _ = writeln!(page, "| `{id}` | {weight} | {} | {} | {p} | {r} |", counts(tuned), counts(other));
        for (sum, one) in total.iter_mut().zip(both) {
            *sum = Score { right: sum.right + one.right, wrong: sum.wrong + one.wrong, missed: sum.missed + one.missed };
        }
    }
    let [tuned, other] = &total;
    let (p, r) = (share(other.precision()), share(other.recall()));
    let _ = writeln!(page, "| all | | {} | {} | {p} | {r} |", counts(tuned), counts(other));
    page
}

/// Whether the checks stood when the line was written.
fn is_afterwards(line: &Line) -> bool {
    line.from.ends_with("afterwards")
}

/// Whether nobody but the writer of the set has judged the line.
pub fn is_invented(line: &Line) -> bool {
    line.from.starts_with("invented")
}
