//! What must hold on the pages of any procedure.

use super::generate::{Generated, Written};
use super::paper::{Page, Word};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use surehand::words::{Piece, Words};

/// Distance of baselines in sizes of letters, at most: what lies farther below is another line.
const SAME_LINE: f32 = 3.0;
/// Frames and spaces round the words of a step, its alerts and the head of its block, at most.
const ROUND_A_STEP: f32 = 60.0;
/// A page filled less than this may end with a step below a hold point.
const MOSTLY_EMPTY: f32 = 0.35;

/// Pages with the places of their words.
pub struct Book<'w> {
    pages: Vec<Page>,
    places: HashMap<String, Vec<(usize, Word)>>,
    said: &'w Words,
}

impl<'w> Book<'w> {
    /// Pages that are printed in these words.
    pub fn new(pages: Vec<Page>, said: &'w Words) -> Book<'w> {
        let mut places: HashMap<String, Vec<(usize, Word)>> = HashMap::new();
        for (n, page) in pages.iter().enumerate() {
            for word in &page.words {
                let key = word.text.trim_end_matches('.').to_owned();
                places.entry(key).or_default().push((n, word.clone()));
            }
        }
        Book { pages, places, said }
    }

    /// How a sentence of the print begins: what stands before its first slot.
    fn said(&self, id: &str) -> &str {
        match self.said.find(id).and_then(|pieces| pieces.first()) {
            Some(Piece::Text(text)) => text.trim(),
            _ => panic!("{id} begins with no words"),
        }
    }

    fn all(&self, word: &str) -> &[(usize, Word)] {
        self.places.get(word).map_or(&[], Vec::as_slice)
    }

    fn one(&self, word: &str) -> Option<&(usize, Word)> {
        self.all(word).first()
    }

    /// Words made up for paragraphs, tables, headings and alerts, by their letters.
    fn made<'s>(&'s self, letters: &'s [char]) -> impl Iterator<Item = &'s (usize, Word)> {
        let one = move |key: &str| key.starts_with(letters) && key.contains(|c: char| c.is_ascii_digit());
        self.places.iter().filter(move |(key, _)| one(key)).flat_map(|(_, all)| all)
    }

    /// Where a heading stands: the estimate of the time names it too, on an earlier page.
    fn last(&self, word: &str) -> Option<&(usize, Word)> {
        self.all(word).last()
    }

    /// Top and bottom of the body of a page.
    fn body(&self, page: usize) -> (f32, f32) {
        let page = &self.pages[page];
        let date = page.words.iter().filter(|w| w.text == "2026-11-20").map(|w| w.bottom).fold(f32::INFINITY, f32::min);
        let check = self.said("head.code").split(' ').next().unwrap_or_default();
        let foot = page.words.iter().filter(|w| w.text == check).map(|w| w.top).fold(0.0, f32::max);
        (date, foot)
    }

    /// The pages on which a step's number stands in the column of numbers, and where.
    fn numbers(&self, step: &Written) -> Vec<(usize, &Word)> {
        let mut pages: BTreeSet<usize> = step.words.iter().flat_map(|w| self.all(w)).map(|(p, _)| *p).collect();
        let first = |page: &usize| {
            let words = step.words.iter().flat_map(|w| self.all(w)).filter(|(p, _)| p == page);
            let top = words.map(|(_, w)| w.top).fold(f32::INFINITY, f32::min);
            let own = self.all(&step.number).iter().filter(|(p, w)| p == page && w.left < 110.0 && w.top < top + SAME_LINE);
            own.max_by(|a, b| a.1.top.total_cmp(&b.1.top)).map(|(p, w)| (*p, w))
        };
        let found: Vec<(usize, &Word)> = pages.iter().filter_map(first).collect();
        // The first part of a long step may hold none of its words, for they stand behind what it drives.
        let goes_on = found.first().is_some_and(|(page, number)| {
            self.pages[*page].find(self.said("page.continued")).is_some_and(|w| (w.top - number.top).abs() < 12.0)
        });
        match found.first().filter(|_| goes_on).and_then(|(page, _)| page.checked_sub(1)) {
            Some(before) if self.parts(&step.number).contains(&before) => {
                pages.insert(before);
                pages.iter().filter_map(first).collect()
            }
            _ => found,
        }
    }

    /// The pages on which a step stands, by its number.
    pub fn parts(&self, number: &str) -> Vec<usize> {
        // A page across lists steps by their numbers; none stands there.
        let upright = |page: usize| self.pages[page].width < self.pages[page].height;
        let own = self.all(number).iter().filter(|(p, w)| w.left < 110.0 && w.bottom - w.top > 14.0 && upright(*p));
        own.map(|(p, _)| *p).collect::<BTreeSet<_>>().into_iter().collect()
    }

    /// Whether a page ends with a heading and the head of a block because the step behind them, all together, is taller than a page.
    fn parted(&self, of: &Generated, (page, heading): (usize, &Word), step: &Written, (next, number): (usize, &Word)) -> bool {
        let (top, bottom) = self.body(page);
        let below = |w: &&Word| w.top > heading.top && w.bottom < bottom;
        let head = self.pages[page].words.iter().filter(below);
        let ends = head.clone().map(|w| w.bottom).fold(0.0, f32::max);
        // Alerts lead the step, below what is repeated.
        let begins = step.led.iter().flat_map(|w| self.all(w)).filter(|(p, _)| *p == next).map(|(_, w)| w.top).fold(number.top, f32::min);
        // It ends above what comes next: another step, an alert, words or a heading.
        let others = self.made(&['p', 't', 'h', 'A']);
        let rows = of.steps.iter().flat_map(|s| self.numbers(s)).map(|(p, w)| (p, w.top));
        let foot = self.body(next).1;
        let last = others.map(|(p, w)| (*p, w.top)).chain(rows).filter(|(p, top)| *p == next && *top > number.top + SAME_LINE);
        let last = last.map(|(_, top)| top).fold(foot, f32::min);
        let block = self.said("strip.block").split(' ').next().unwrap_or_default();
        head.clone().any(|w| w.text == block) && ends - heading.top + last - begins > bottom - top - ROUND_A_STEP
    }

    /// Everything that is not as it must be.
    pub fn faults(&self, of: &Generated) -> Vec<String> {
        let mut out = Vec::new();
        self.once(of, &mut out);
        self.steps(of, &mut out);
        for (above, below) in &of.together {
            match (self.last(above), if below.starts_with('h') { self.last(below) } else { self.one(below) }) {
                (Some((p, a)), Some((q, b))) if p == q && a.top < b.top => {}
                (a, b) => out.push(format!("{above} does not stand above {below} on one page: {:?}, {:?}", place(a), place(b))),
            }
        }
        self.paragraphs(of, &mut out);
        self.tables(of, &mut out);
        self.repeated(of, &mut out);
        self.signed(of, &mut out);
        self.holds(of, &mut out);
        for (n, page) in self.pages.iter().enumerate() {
            sheet(n + 1, page, &mut out);
        }
        out
    }

    /// Every word is there, and no more than once.
    fn once(&self, of: &Generated, out: &mut Vec<String>) {
        let paragraphs = of.paragraphs.iter().enumerate().flat_map(|(n, count)| (0..*count).map(move |w| format!("p{n}w{w}")));
        let rows = of.tables.iter().enumerate().flat_map(|(n, count)| (0..*count).map(move |r| format!("t{n}r{r}")));
        for word in of.steps.iter().flat_map(|s| s.words.iter().cloned()).chain(paragraphs).chain(rows) {
            if self.all(&word).len() != 1 {
                out.push(format!("{word} is printed {} times", self.all(&word).len()));
            }
        }
    }

    fn steps(&self, of: &Generated, out: &mut Vec<String>) {
        let mut last = 0;
        for step in &of.steps {
            let numbers = self.numbers(step);
            let (Some((first, number)), Some((end, _))) = (numbers.first(), numbers.last()) else {
                out.push(format!("step {} has no number beside its words", step.number));
                continue;
            };
            if *first < last {
                out.push(format!("step {} stands on a page before the step above it", step.number));
            }
            last = *end;
            for word in &step.led {
                let parted =
                    |(p, w): &(usize, Word)| word.starts_with('h') && p + 1 == *first && self.parted(of, (*p, w), step, (*first, number));
                if !self.all(word).iter().any(|at| (at.0 == *first && at.1.top < number.top) || parted(at)) {
                    out.push(format!("{word} does not stand above step {} on its page", step.number));
                }
            }
            if numbers.len() > 1 {
                self.split(step, &numbers, out);
            }
        }
    }

    /// A step on several pages is too tall for one, begins its page, and says on each that it goes on.
    fn split(&self, step: &Written, numbers: &[(usize, &Word)], out: &mut Vec<String>) {
        let (top, bottom) = self.body(numbers[0].0);
        let mut tall = 0.0;
        let alerts: Vec<&String> = step.led.iter().filter(|w| w.starts_with('A')).collect();
        for (n, (page, number)) in numbers.iter().enumerate() {
            let sheet = &self.pages[*page];
            let own = step.words.iter().flat_map(|w| self.all(w)).filter(|(p, _)| p == page);
            let lowest = own.map(|(_, w)| w.bottom).fold(number.bottom, f32::max);
            tall += lowest - if n == 0 { top } else { number.top };
            let more = sheet.phrase(self.said("page.more"));
            let again = sheet.find(self.said("page.continued")).filter(|w| (w.top - number.top).abs() < 12.0);
            if (n + 1 < numbers.len()) != more.iter().any(|w| w.top > lowest - SAME_LINE) {
                out.push(format!("step {} on page {}: what goes on does not say so below", step.number, page + 1));
            }
            if (n > 0) != again.is_some() {
                out.push(format!("step {} on page {}: what goes on does not say so above", step.number, page + 1));
            }
            for word in &alerts {
                if !self.all(word).iter().any(|(p, w)| p == page && w.top < number.top) {
                    out.push(format!("{word} is not repeated above step {} on page {}", step.number, page + 1));
                }
            }
        }
        // What stands beside the words of the generator takes some room too.
        if tall < 0.75 * (bottom - top) {
            out.push(format!("step {} is split and would go on one page: {tall:.0} of {:.0} pt", step.number, bottom - top));
        }
        if !numbers.windows(2).all(|w| w[0].0 + 1 == w[1].0) {
            out.push(format!("step {} leaves a page out", step.number));
        }
    }

    /// No line of a paragraph stands alone at the head or foot of a page.
    fn paragraphs(&self, of: &Generated, out: &mut Vec<String>) {
        for (n, count) in of.paragraphs.iter().enumerate() {
            let mut lines: BTreeMap<usize, BTreeSet<i32>> = BTreeMap::new();
            for (page, word) in (0..*count).filter_map(|w| self.one(&format!("p{n}w{w}"))) {
                lines.entry(*page).or_default().insert((word.top * 10.0) as i32);
            }
            if lines.len() > 1 && lines.values().any(|l| l.len() < 2) {
                out.push(format!(
                    "a line of paragraph {n} stands alone: {:?}",
                    lines.iter().map(|(p, l)| (p + 1, l.len())).collect::<Vec<_>>()
                ));
            }
        }
    }

    /// The head of a table stands on every page with rows of it, above them, and never without rows.
    fn tables(&self, of: &Generated, out: &mut Vec<String>) {
        for (n, count) in of.tables.iter().enumerate() {
            let heads: BTreeMap<usize, f32> = self.all(&format!("t{n}head")).iter().map(|(p, w)| (*p, w.top)).collect();
            let mut pages = BTreeSet::new();
            for (page, word) in (0..*count).filter_map(|r| self.one(&format!("t{n}r{r}"))) {
                pages.insert(*page);
                if heads.get(page).is_none_or(|top| *top > word.top) {
                    out.push(format!("rows of table {n} on page {} have no head", page + 1));
                }
            }
            if !heads.keys().eq(pages.iter()) {
                out.push(format!("table {n} has heads on pages {:?} and rows on {pages:?}", heads.keys()));
            }
        }
    }

    /// View and load stand above the first step of every page, and the line of a repeat or branch above what goes on of it.
    fn repeated(&self, of: &Generated, out: &mut Vec<String>) {
        let mut firsts: BTreeMap<usize, (&Written, f32)> = BTreeMap::new();
        for step in &of.steps {
            for (page, number) in self.numbers(step) {
                let first = firsts.entry(page).or_insert((step, number.top));
                if number.top < first.1 {
                    *first = (step, number.top);
                }
            }
        }
        for (page, (step, top)) in firsts {
            if !self.pages[page].phrase(self.said("head.in-jaw")).iter().any(|w| w.top < top) {
                out.push(format!("page {}: view and load do not stand above step {}", page + 1, step.number));
            }
            // As far to the right as the words before the number may reach.
            let far = 120.0 + 6.7 * self.said("act.each-pass").chars().count() as f32;
            if let Some((outer, _)) = step.number.split_once('.') {
                let named = |w: &&Word| w.text == outer && w.top < top && w.left < far;
                if !self.pages[page].words.iter().any(|w| named(&w)) {
                    out.push(format!("page {}: nothing says that step {} is part of {outer}", page + 1, step.number));
                }
            }
        }
    }

    /// As many boxes for N/A as rows that end on a page, as many signatures as points to sign.
    fn signed(&self, of: &Generated, out: &mut Vec<String>) {
        let mut rows: BTreeMap<usize, usize> = BTreeMap::new();
        let mut first = usize::MAX;
        for step in &of.steps {
            let numbers = self.numbers(step);
            first = numbers.first().map_or(first, |(p, _)| first.min(*p));
            if let Some((page, _)) = numbers.last().filter(|_| step.row) {
                *rows.entry(*page).or_default() += 1;
            }
        }
        for n in first..self.pages.len() {
            let page = &self.pages[n];
            let marked = page.words.iter().filter(|w| w.text == self.said("blank.not-applicable") && w.left > page.width * 0.7).count();
            if marked != rows.get(&n).copied().unwrap_or(0) {
                out.push(format!("page {} has {marked} sign-offs for {:?} rows", n + 1, rows.get(&n)));
            }
            let points = ["hold.hold-point", "hold.witness-point", "hold.verify"].iter().flat_map(|id| page.phrase(self.said(id))).count();
            let names = page.phrase(self.said("blank.name")).iter().filter(|w| page.begins(w)).count();
            if points != names {
                out.push(format!("page {} has {points} points to sign and {names} places for it", n + 1));
            }
        }
    }

    /// Below a hold point, the next step is not all that is left on a page.
    fn holds(&self, of: &Generated, out: &mut Vec<String>) {
        let others: Vec<&(usize, Word)> = self.made(&['p', 't', 'h']).collect();
        for pair in of.steps.windows(2) {
            let [hold, step] = pair else { continue };
            let (Some((page, above)), Some((next, below))) = (self.numbers(hold).last().copied(), self.numbers(step).first().copied())
            else {
                continue;
            };
            if !hold.hold || page != next {
                continue;
            }
            let later = of.steps.iter().any(|s| self.numbers(s).iter().any(|(p, w)| *p == page && w.top > below.top + SAME_LINE));
            let words = others.iter().any(|(p, w)| *p == page && w.top > below.top);
            let between = others.iter().any(|(p, w)| *p == page && w.top > above.top && w.top < below.top);
            let (top, bottom) = self.body(page);
            // The box ends a blank below the labels of its places to sign.
            let labels =
                self.pages[page].words.iter().filter(|w| w.text == self.said("blank.signature") && w.top > above.top).map(|w| w.top);
            let end = labels.fold(f32::INFINITY, f32::min) + 44.0;
            if !later && !words && !between && end - top > MOSTLY_EMPTY * (bottom - top) {
                out.push(format!("step {} is the last thing below hold point {} on page {}", step.number, hold.number, page + 1));
            }
        }
    }
}

/// Words lie within the margins, and none on another.
fn sheet(number: usize, page: &Page, out: &mut Vec<String>) {
    // The binding edge of a page that lies across is its upper one.
    let (left, right) = if page.width > page.height { (18.0, 18.0) } else { (40.0, 24.0) };
    for word in &page.words {
        if word.left < left || word.right > page.width - right || word.top < 20.0 || word.bottom > page.height - 18.0 {
            out.push(format!("page {number}: {:?} stands in the margin", word.text));
        }
    }
    let mut words: Vec<&Word> = page.words.iter().collect();
    words.sort_by(|a, b| a.top.total_cmp(&b.top));
    for (i, a) in words.iter().enumerate() {
        for b in words[i + 1..].iter().take_while(|b| b.top < a.bottom - 3.0) {
            if a.left + 0.5 < b.right && b.left + 0.5 < a.right {
                out.push(format!("page {number}: {:?} lies on {:?}", a.text, b.text));
            }
        }
    }
}

fn place(word: Option<&(usize, Word)>) -> Option<(usize, f32)> {
    word.map(|(page, w)| (page + 1, w.top))
}
