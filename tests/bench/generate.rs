//! Procedures for benchmarks: as long as asked, without errors, without a cell, the same every time.

use std::fmt::Write as _;

/// Small and the same everywhere: the next number of a linear congruence (Knuth's constants for 64 bits).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(self.0 >> 33).unwrap_or(0) % sides
    }
}

/// Joints of the example arm: name, words up and down, the range used, the angle at home.
const JOINTS: [(&str, &str, &str, i64, i64, i64); 4] = [
    ("base", "left", "right", -160, 160, 0),
    ("shoulder", "raise", "lower", -30, 85, 20),
    ("elbow", "extend", "fold", 20, 140, 60),
    ("wrist-pitch", "raise", "lower", -70, 70, 0),
];

/// A procedure without errors and without a cell: moves of every joint, sign-offs, reads, words.
pub(crate) fn procedure(seed: u64, steps: usize) -> String {
    let mut dice = Dice(seed);
    let mut angles = JOINTS.map(|j| j.5);
    let mut out = format!(
        "+++\nid = \"B-{seed}\"\ntitle = \"Drive the joints, set {seed}\"\nrevision = \"A\"\ndate = \"2026-05-01\"\nuse = \"continuous\"\n\
         performer = \"Operator\"\narm = \"arm.toml\"\npolicy = \"policy.toml\"\n[start]\npose = \"home\"\njaw = \"50 mm\"\npower = \"off\"\n+++\n"
    );
    for step in 1..=steps {
        if step % 20 == 1 {
            let _ = write!(
                out,
                "\n# Part {}\n\nThe arm is driven joint by joint. Watch the *read-out* and say what it shows.\n\n",
                step / 20 + 1
            );
        }
        let text: String = match (step, step % 10) {
            (1, _) => "`power on arm`".into(),
            (_, 8) => "`check` The read-out of the elbow is steady.".into(),
            (_, 9) => "`hold point: Shift lead`\n- Must be true: the read-out of the elbow is steady.".into(),
            (_, 5) => "`read joints`".into(),
            _ => {
                let at = usize::try_from(dice.roll(4)).unwrap_or(0);
                let (name, up, down, low, high, _) = JOINTS[at];
                let middle = (low + high) / 2;
                let change = 4 + dice.roll((high - low) / 2 - 4);
                let (word, target) = if angles[at] < middle { (up, angles[at] + change) } else { (down, angles[at] - change) };
                angles[at] = target;
                let sign = if target > 0 { "+" } else { "" };
                format!("`{name} {word} to {sign}{target} deg`\n- Watch: the elbow, from behind the arm.")
            }
        };
        // What belongs to a step stands under its first word.
        let numeral = format!("{step}. ");
        let text = text.replace('\n', &format!("\n{}", " ".repeat(numeral.len())));
        let _ = writeln!(out, "{numeral}{text}");
    }
    out
}
