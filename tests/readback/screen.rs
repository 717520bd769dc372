//! Changes to a finished screen page.

use super::{Change, Dice, Made};
use std::ops::Range;

const TIMES: usize = 12;

/// A value in the page: its element, its id, its words.
#[derive(Clone, Debug)]
struct Value {
    whole: Range<usize>,
    id: String,
    words: Range<usize>,
}

fn values(page: &str) -> Vec<Value> {
    const OPEN: &str = "<span data-field=\"";
    page.match_indices(OPEN)
        .filter_map(|(at, _)| {
            let id = at + OPEN.len();
            let end = id + page[id..].find("\">")?;
            let words = end + 2..end + page[end..].find("</span>")?;
            Some(Value { whole: at..words.end + 7, id: page[id..end].to_owned(), words })
        })
        .collect()
}

fn put(page: &str, at: Range<usize>, text: &str) -> String {
    format!("{}{text}{}", &page[..at.start], &page[at.end..])
}

fn exchanged(page: &str, a: Range<usize>, b: Range<usize>) -> String {
    let (a, b) = if a.start < b.start { (a, b) } else { (b, a) };
    format!("{}{}{}{}{}", &page[..a.start], &page[b.clone()], &page[a.end..b.start], &page[a.clone()], &page[b.end..])
}

/// The element of a tag around or behind a place.
fn element(page: &str, tag: &str, from: usize) -> Option<Range<usize>> {
    let start = from + page[from..].find(&format!("<{tag}"))?;
    let end = start + page[start..].find(&format!("</{tag}>"))? + tag.len() + 3;
    Some(start..end)
}

pub(super) fn changes(made: &Made, dice: &mut Dice) -> Vec<Change> {
    let page = String::from_utf8(made.files["html"].clone()).expect("UTF-8");
    let all = values(&page);
    let checked = ["joint", "direction", "target", "low", "high", "limit", "from", "past"];
    let name = |v: &Value| v.id.rsplit('.').next().unwrap_or("").trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    let steps: Vec<Value> =
        all.iter().filter(|v| v.id.starts_with('s') && !v.id.starts_with("st") && checked.contains(&name(v).as_str())).cloned().collect();
    let numbers: Vec<Value> = steps.iter().filter(|v| page[v.words.clone()].contains(|c: char| c.is_ascii_digit())).cloned().collect();
    let mut out = Vec::new();
    let mut add = |kind, text: String, names: &str| {
        assert_ne!(text, page, "{kind} changes something");
        out.push(Change { kind, bytes: text.into_bytes(), names: names.to_owned() });
    };
    for _ in 0..4 * TIMES {
        let v = dice.one(&numbers).clone();
        let words = &page[v.words.clone()];
        let digits: Vec<usize> = words.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(i, _)| v.words.start + i).collect();
        let at = *dice.one(&digits);
        let new = char::from(b'0' + (page.as_bytes()[at] - b'0' + 1 + u8::try_from(dice.upto(9)).unwrap_or(0) % 9) % 10);
        add("a digit changed", put(&page, at..at + 1, &new.to_string()), &v.id);
        if at > v.words.start {
            add("a digit parted from its number", put(&page, at..at, " "), &v.id);
        }
        if let Some(sign) = words.find(['+', '-']) {
            let at = v.words.start + sign;
            add("a sign turned", put(&page, at..at + 1, if &page[at..=at] == "+" { "-" } else { "+" }), &v.id);
            add("a sign dropped", put(&page, at..at + 1, ""), &v.id);
        }
        let a = dice.one(&steps).clone();
        let others: Vec<&Value> = steps.iter().filter(|b| page[b.words.clone()] != page[a.words.clone()]).collect();
        let b = (*dice.one(&others)).clone();
        add("two values exchanged", exchanged(&page, a.words.clone(), b.words.clone()), "");
        let of = |v: &Value| v.whole.start + 18..v.words.start - 2;
        add("two ids exchanged", exchanged(&page, of(&a), of(&b)), "");
        add("two values exchanged with their ids", exchanged(&page, a.whole.clone(), b.whole.clone()), "");
        add("an id changed", put(&page, of(&a), &format!("{}x", a.id)), &a.id);
        add("an id taken away", put(&page, a.whole.start + 5..a.words.start - 1, ""), &a.id);
    }
    let pair = |x: &str, y: &str| {
        let of = |v: &Value, n: &str| v.id.strip_suffix(n).filter(|g| g.ends_with('.')).map(str::to_owned);
        steps
            .iter()
            .filter_map(|a| {
                let group = of(a, x)?;
                let b = steps.iter().find(|b| b.id == format!("{group}{y}"))?;
                Some((a.clone(), b.clone()))
            })
            .collect::<Vec<_>>()
    };
    for (x, y) in [("low", "high"), ("target", "from1"), ("target", "low"), ("a.joint", "b.joint"), ("a.target", "b.target")] {
        let pairs = pair(x, y);
        for _ in 0..if pairs.is_empty() { 0 } else { TIMES } {
            let (a, b) = dice.one(&pairs).clone();
            add("two values of a step exchanged with their ids", exchanged(&page, a.whole, b.whole), "");
        }
    }
    for _ in 0..TIMES {
        let v = dice.one(&steps).clone();
        let words = page[v.words.clone()].to_owned();
        let hidden = |with: &str| put(&page, v.whole.start + 5..v.whole.start + 5, with);
        add("a value hidden by its style", hidden(" style=\"display:none\""), "style");
        add("a value hidden by an attribute", hidden(" hidden=\"hidden\""), "hidden");
        add("a value hidden from a helper's voice", hidden(" aria-hidden=\"true\""), "aria-hidden");
        add("a value in a note that browsers skip", put(&page, v.whole.clone(), &format!("<!-- {words} -->")), &v.id);
        add("a value in a template", put(&page, v.whole.clone(), &format!("<template>{}</template>", &page[v.whole.clone()])), "template");
        add("a value in folded details", put(&page, v.whole.clone(), &format!("<details>{}</details>", &page[v.whole.clone()])), "details");
        add("a value struck through", put(&page, v.whole.clone(), &format!("<s>{}</s>", &page[v.whole.clone()])), "<s>");
        add("a value doubled", put(&page, v.whole.clone(), &format!("{0} {0}", &page[v.whole.clone()])), &v.id);
        add("a value dropped", put(&page, v.whole.clone(), ""), &v.id);
        add("a number put beside a value", put(&page, v.whole.end..v.whole.end, "9"), "");
        add("a script", put(&page, v.whole.start..v.whole.start, "<script>1</script>"), "script");
        let sheet = page.find("</style>").expect("a sheet");
        add("a rule added to the sheet", put(&page, sheet..sheet, "[data-field=\"s3.target\"]{display:none}"), "style");
        let rule = page.find(":root{").expect("the sheet");
        add("a rule before the sheet", put(&page, rule..rule, ".call{visibility:hidden}\n"), "style");
        add("a second sheet", put(&page, sheet + 8..sheet + 8, "<style>.call{color:white}</style>"), "style");
        add(
            "words of the sheet changed",
            page.replacen("*{box-sizing:border-box}", "*{box-sizing:border-box}.call span{font-size:0}", 1),
            "style",
        );
        let font = page.find("base64,").expect("a font") + 2000 + dice.upto(9000);
        let other = if &page[font..=font] == "A" { "B" } else { "A" };
        add("a font changed", put(&page, font..font + 1, other), "font");
        let script = page.find("<script>").expect("the script");
        let code = script + 8 + dice.upto(page[script..].find("</script>").expect("its end") - 9);
        let code = (code..).find(|i| page.is_char_boundary(*i) && page.as_bytes()[*i] != b'x').expect("a place");
        add("a letter of the script changed", put(&page, code..code + 1, "x"), "script");
        add("more behind the script", put(&page, script..script, "<script>document.title='x'</script>"), "script");
        add("the script taken out", put(&page, script..page.find("</script>").expect("its end") + 10, ""), "script");
        add(
            "the script in another place",
            put(&put(&page, script..page.find("</script>").expect("its end") + 10, ""), sheet + 8..sheet + 8, "<script>1</script>"),
            "script",
        );
        let bar = page.find("<section id=\"marks\"").expect("the bar");
        add("a word of the bar changed", put(&page, bar + 30..bar + 31, "x"), "bar");
        add("a second bar", put(&page, bar..bar, "<section id=\"marks\"></section>"), "bar");
        let rows: Vec<usize> = page.match_indices("<article").map(|(i, _)| i).collect();
        let (a, b) = (*dice.one(&rows), *dice.one(&rows));
        if let (true, Some(x), Some(y)) = (a != b, element(&page, "article", a), element(&page, "article", b)) {
            add("two steps exchanged", exchanged(&page, x.clone(), y), "");
            add("a step dropped", put(&page, x.clone(), ""), "");
            add("a step doubled", put(&page, x.end..x.end, &page[x.clone()]), "");
        }
        let holds: Vec<usize> = page.match_indices("<aside class=\"hold\"").map(|(i, _)| i).collect();
        if let Some(hold) = (!holds.is_empty()).then(|| *dice.one(&holds)).and_then(|h| element(&page, "aside", h)) {
            add("a hold point dropped", put(&page, hold.clone(), ""), "");
            let row = element(&page, "article", hold.end).expect("a step behind the hold point");
            add("a hold point behind its step", exchanged(&page, hold, row), "");
        }
        for id in ["stamp.banner", "stamp.status"] {
            let v = all.iter().find(|v| v.id == id).expect("a running value");
            add("status or banner dropped", put(&page, v.whole.clone(), ""), id);
            add("status or banner changed", put(&page, v.words.clone(), "CHECKED AND APPROVED"), id);
        }
    }
    out
}
