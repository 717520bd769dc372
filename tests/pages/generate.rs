//! Procedures for the layout: every kind of block in any order and length, with words that are found again on the page.
//!
//! They need not be right: they are printed as drafts. A word such as `k12x` stands in one line of one step; `p4w17` is a word of the
//! fourth paragraph.

use std::fmt::Write as _;

/// A seeded choice.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }
    pub fn upto(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 20).unwrap_or(0) % n.max(1)
    }
    fn one_in(&mut self, n: usize) -> bool {
        self.upto(n) == 0
    }
}

/// A row, box or alert of the page by the words in it.
#[derive(Debug, Default, Clone)]
pub struct Written {
    /// Its number as printed; empty for an alert.
    pub number: String,
    /// The words that are in it, in order.
    pub words: Vec<String>,
    /// Words of the alerts and of the heading directly before it.
    pub led: Vec<String>,
    pub hold: bool,
    /// A numbered row with a sign-off.
    pub row: bool,
}

/// A procedure with what must be found on its pages.
#[derive(Debug, Default)]
pub struct Generated {
    pub text: String,
    pub steps: Vec<Written>,
    /// Paragraphs: how many words each has.
    pub paragraphs: Vec<usize>,
    /// Tables: how many rows each has.
    pub tables: Vec<usize>,
    /// Words that stand on one page, the first above the second.
    pub together: Vec<(String, String)>,
    pending: Vec<String>,
    alerts: usize,
    headings: usize,
    lines: usize,
}

const FRONT: &str = "+++\nid = \"L-1\"\ntitle = \"Pages of every shape\"\nrevision = \"A\"\ndate = \"2026-11-20\"\nuse = \"continuous\"\n\
     performer = \"Operator\"\narm = \"arm.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n\n";

const FILL: [&str; 8] = ["the", "read-out", "of", "elbow", "is", "steady", "beside", "window"];

impl Generated {
    /// A procedure without steps.
    pub fn empty() -> Generated {
        Generated { text: FRONT.to_owned(), ..Generated::default() }
    }

    /// A procedure of so many steps.
    pub fn new(dice: &mut Dice, steps: usize) -> Generated {
        let mut out = Generated::empty();
        out.heading(dice);
        let mut number = 0;
        while number < steps {
            match dice.upto(24) {
                0 => out.heading(dice),
                1 | 2 => out.paragraph(dice),
                3 => out.table(dice),
                4..=6 => {
                    for _ in 0..=dice.upto(2) {
                        out.alert(dice);
                    }
                    number += 1;
                    out.step(dice, number);
                }
                _ => {
                    number += 1;
                    out.step(dice, number);
                }
            }
        }
        out
    }

    fn filler(dice: &mut Dice, most: usize) -> String {
        (0..dice.upto(most)).map(|_| FILL[dice.upto(FILL.len())]).collect::<Vec<_>>().join(" ")
    }

    fn heading(&mut self, dice: &mut Dice) {
        self.headings += 1;
        let word = format!("h{}x", self.headings);
        let marks = if dice.one_in(3) { "##" } else { "#" };
        let _ = writeln!(self.text, "\n{marks} Part {word} {}\n", Self::filler(dice, 14));
        self.leads(&word);
        self.pending = vec![word];
    }

    /// What waits for what comes next stands on its page.
    fn leads(&mut self, next: &str) {
        let pending = std::mem::take(&mut self.pending);
        self.together.extend(pending.into_iter().map(|word| (word, next.to_owned())));
    }

    fn paragraph(&mut self, dice: &mut Dice) {
        let n = self.paragraphs.len();
        let count = 1 + dice.upto(90);
        let words: Vec<String> = (0..count).map(|w| format!("p{n}w{w}")).collect();
        self.paragraphs.push(count);
        self.leads(&format!("p{n}w0"));
        let _ = writeln!(self.text, "\n{}.\n", words.join(" "));
    }

    fn table(&mut self, dice: &mut Dice) {
        let n = self.tables.len();
        let rows = if dice.one_in(3) { 20 + dice.upto(40) } else { 1 + dice.upto(8) };
        self.tables.push(rows);
        self.leads(&format!("t{n}head"));
        let _ = writeln!(self.text, "\n| t{n}head | what |\n|---|---|");
        for row in 0..rows {
            let _ = writeln!(self.text, "| t{n}r{row} | {} |", Self::filler(dice, 20));
        }
        self.text.push('\n');
    }

    fn alert(&mut self, dice: &mut Dice) {
        self.alerts += 1;
        let word = format!("A{}x", self.alerts);
        let _ = match dice.upto(3) {
            0 => write!(
                self.text,
                "\n> [!WARNING]\n> Hazard: {word} {}.\n> Consequence: {}.\n",
                Self::filler(dice, 30),
                Self::filler(dice, 20)
            ),
            1 => write!(
                self.text,
                "\n> [!CAUTION]\n> Hazard: {word} {}.\n> Consequence: {}.\n",
                Self::filler(dice, 30),
                Self::filler(dice, 20)
            ),
            _ => write!(self.text, "\n> [!NOTE]\n> {word} {}.\n", Self::filler(dice, 30)),
        };
        self.text.push('\n');
        self.pending.push(word);
    }

    /// Labelled lines under a step, each with a word of its own.
    fn lines(&mut self, dice: &mut Dice, indent: usize, least: usize, most: usize) -> Vec<String> {
        let mut out = Vec::new();
        for _ in 0..(least + dice.upto(most + 1 - least)) {
            self.lines += 1;
            let word = format!("k{}x", self.lines);
            let label = ["Watch", "Proof", "Reply", "Say"][dice.upto(4)];
            let _ = writeln!(self.text, "{}- {label}: {word} {}", " ".repeat(indent), Self::filler(dice, 32));
            out.push(word);
        }
        out
    }

    fn row(&mut self, dice: &mut Dice, number: &str, indent: usize, statement: &str, most: usize) {
        let last = number.rsplit('.').next().unwrap_or(number);
        let numeral = format!("{last}. ");
        let _ = writeln!(self.text, "{}{numeral}{statement}", " ".repeat(indent));
        let least = usize::from(!statement.contains("hold point"));
        let words = self.lines(dice, indent + numeral.len(), least, most);
        let led = std::mem::take(&mut self.pending);
        let hold = statement.contains("hold point") && !indent.ne(&0);
        let boxed = ["hold point", "witness point", "verify after", "turnover", "repeat at most"].iter().any(|s| statement.contains(s));
        self.steps.push(Written { number: number.to_owned(), words, led, hold, row: !boxed });
    }

    /// One step with so many lines, guarded by as many alerts as were written before it.
    pub fn long_step(&mut self, dice: &mut Dice, number: usize, lines: usize) {
        self.row(dice, &number.to_string(), 0, "`elbow extend to +80 deg`", 1);
        let indent = number.to_string().len() + 2;
        let more = self.lines(dice, indent, lines, lines);
        self.steps.last_mut().expect("a step").words.extend(more);
    }

    /// An alert before the next step.
    pub fn guard(&mut self, dice: &mut Dice) {
        self.alert(dice);
    }

    pub fn step(&mut self, dice: &mut Dice, number: usize) {
        let own = number.to_string();
        let most = if dice.one_in(6) { 9 } else { 3 };
        match dice.upto(22) {
            0 => self.row(dice, &own, 0, "`read joints`", 2),
            1..=3 => {
                self.lines += 1;
                let criterion = format!("k{}x", self.lines);
                self.row(dice, &own, 0, "`hold point: Shift lead`", 1);
                let indent = " ".repeat(own.len() + 2);
                let _ = writeln!(self.text, "{indent}- Must be true: {criterion} {}", Self::filler(dice, 30));
                self.steps.last_mut().expect("a step").words.push(criterion);
            }
            4 => self.row(dice, &own, 0, "`witness point: Shift lead`", 2),
            5 => self.row(dice, &own, 0, "`verify after: Shift lead`", 2),
            6 => self.row(dice, &own, 0, "`wait at least 30 s, at most 2 min`", 2),
            7 => self.row(dice, &own, 0, "`record oil-temperature degC`", 3),
            8 => {
                self.row(dice, &own, 0, "`repeat at most 3 until` No drop falls, seen from the window.", 1);
                self.nested(dice, &own, own.len() + 2);
            }
            9 => {
                self.row(dice, &own, 0, "`if` The cup leans, seen from the window.", 1);
                let indent = own.len() + 2;
                let _ = writeln!(self.text, "{}- then", " ".repeat(indent));
                self.nested(dice, &format!("{own}A"), indent + 2);
                let _ = writeln!(self.text, "{}- otherwise: go on", " ".repeat(indent));
            }
            10 => self.row(dice, &own, 0, "`check` The read-out of the elbow is steady.", most),
            11 => self.row(dice, &own, 0, "`turnover`", 1),
            _ => {
                let moves = ["`base left to +30 deg`", "`elbow extend to +80 deg slow`", "`shoulder lower to -5 deg within 0.5 deg`"];
                let statement = moves[dice.upto(3)];
                self.row(dice, &own, 0, statement, most);
            }
        }
    }

    fn nested(&mut self, dice: &mut Dice, above: &str, indent: usize) {
        for n in 1..=1 + dice.upto(8) {
            self.row(dice, &format!("{above}.{n}"), indent, "`wrist-pitch raise to +12 deg`", 4);
        }
    }
}
