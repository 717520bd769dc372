//! The reference for whoever writes templates for a site.

use super::{BUILT_IN, FUEL, OUTPUT_CAP, PARTS};
use std::fmt::Write as _;

const ABOUT: &str = "# Templates of a site

Printed from the code; `tests/manual.rs` holds it current. A site that wants another arrangement, a logo in words, a block of its own or other
wording lays files over the built-in ones:

```sh
mkdir site && cp templates/front.html site/ && surehand build procedures/stow-heron.md --templates site -o out/own.pdf
```

A file of the same name takes the place of the built-in one, all others stay. To change words alone, write a `words.toml` with those sentences
([templates/words.toml](../templates/words.toml) has them all, by id, with their slots); to change sizes alone, a `theme.toml` with those keys
([templates/theme.toml](../templates/theme.toml)). Copy a file before writing one: the built-in ones print every value that there is.

The language of the templates is that of minijinja (Jinja2): `{{ value }}`, `{% if %}`, `{% for %}`, `{% include %}`, `{% macro %}`. A name that is not
there is an error, not an empty place. A template reads no file but those it includes by name.

";

const RULES: &str = "
## What a template may not do

It is run, and its print is held against the procedure before anything is written. Refused, with the line of the template, are:

- a step, alert, hold point, section or box that is left out, printed twice or out of order (`data-item`);
- a value that is left out, changed or printed twice, or stands behind another word than the one that binds it (`data-field`);
- a sign-off or a blank that is left out; a status, a banner or a word on safety that is left out;
- markup that is not in the table above, and text outside a paragraph.
";

/// What a template is given beside the parts.
const GIVEN: [(&str, &str); 5] = [
    ("doc.identity", "number, title, revision, date, use level, check code: for head and foot of the pages"),
    ("stamp", "status, edition, banner, and of an issued copy its number, work order and last day"),
    ("value|field", "prints a value with its id; every value that is checked goes through it, or into a sentence"),
    ("value|solid", "the same, white on black"),
    ("text(\"id\", slot=value)", "a sentence of the set of words, its slots filled with values or with words"),
];

/// The blocks of the body: `b.block`.
const BLOCKS: [(&str, &str); 16] = [
    ("section", "a heading and what stands under it; `kind` tells a contingency"),
    ("checks", "things to find true, each with a box"),
    ("strip", "view, load and number of the block, repeated above its later pages"),
    ("alert", "WARNING, CAUTION or NOTE before its step"),
    ("step", "a numbered row: what is done (`act`), its lines and its sign-off"),
    ("hold", "a hold point or a witness point"),
    ("verify", "an independent verification"),
    ("reading", "a value to be read and written down, with its band"),
    ("wait", "a time to wait"),
    ("turnover", "another crew takes over"),
    ("condition", "a question with an arm for yes and one for no"),
    ("repeat", "steps done again, with a blank for each pass"),
    ("perform", "a section done at this place"),
    ("text", "paragraphs of the writer"),
    ("table", "a table of the writer"),
    ("figure", "a step drawn"),
];

/// Markup and what it prints. Each stands below a `<main>` with head and foot.
const FORMS: [(&str, &str); 32] = [
    (
        "<header><p class=\"banner solid\">...</p><div class=\"left\"><p>...</p></div><div class=\"middle\"><p>...</p></div><div class=\"right\"><p>...</p></div></header><footer/>",
        "head and foot of every page, once each and made alike; a `banner` lies across, `solid` white on black",
    ),
    ("<title>B7-011</title>", "the title of the file, once"),
    ("<section data-item=\"x\"><p>...</p></section>", "things that belong to one item"),
    (
        "<section class=\"front\" data-item=\"x\"><h1>...</h1></section>",
        "matter before or behind the steps; starts a page where one is mostly full",
    ),
    ("<section class=\"contingency\" data-item=\"x\"><h1>...</h1></section>", "starts a page, marked at the edge"),
    ("<section class=\"sheet\" data-item=\"x\"><h1>...</h1></section>", "a page that lies across"),
    (
        "<section class=\"inset\" data-item=\"x\"><p class=\"lead\">...</p></section>",
        "set in beside a rail; its lead is repeated on every page it reaches",
    ),
    ("<h1>...</h1>", "headings: `h1`, `h2`, `h3`; each stands with what follows"),
    ("<p>...</p>", "a paragraph"),
    ("<p class=\"title\">...</p>", "the title on the first page"),
    ("<p class=\"call\">...</p>", "what is called out, in the size that is read from afar"),
    ("<p class=\"band\">...</p>", "what must be met"),
    ("<p class=\"push\">...</p>", "which stick, and which way"),
    ("<p class=\"line\">...</p>", "a line of a step"),
    ("<p class=\"small\">...</p>", "small print"),
    ("<p class=\"label\">...</p>", "a bold line"),
    ("<p class=\"mark\">...</p>", "what marks a page"),
    ("<p class=\"end\">...</p>", "the line at the end of the steps"),
    ("<p class=\"struck\">...</p>", "a place that is struck through"),
    ("<ul><li>...</li></ul>", "a list; `class=\"small\"` small, `class=\"ticks\"` a box before each"),
    (
        "<table data-widths=\"2 5\"><thead><tr><th>...</th><th>...</th></tr></thead><tbody><tr><td>...</td><td>...</td></tr></tbody></table>",
        "a table; its head is repeated on every page it reaches; `class=\"plain\"` without lines",
    ),
    (
        "<article data-item=\"x\"><div class=\"number\"><p>1</p></div><div class=\"body\"><p>...</p></div><div class=\"actual\"><p>...</p></div><div class=\"sign\"><p>...</p></div></article>",
        "a numbered row, never split where a page takes it; `actual` may be left out",
    ),
    (
        "<aside class=\"warning\" data-item=\"x\"><h4>...</h4><p>...</p></aside>",
        "a box: `warning`, `caution`, `note`, `hold`, `witness`, or no class",
    ),
    ("<figure data-item=\"x\"><p class=\"small\">...</p></figure>", "the drawing of an item, with its caption"),
    (
        "<div class=\"strip\"><p>...</p><p class=\"line\">...</p><p class=\"again\">...</p></div>",
        "what is in force, repeated above the pages that follow; `line` below it, `again` on those pages only, where there is room",
    ),
    ("<div class=\"grid\"><p>...</p></div>", "short things side by side"),
    (
        "<div class=\"blanks\"><p data-weight=\"3\" data-name=\"date\">...</p></div>",
        "spaces to write in, side by side; the name is that of the field in the file",
    ),
    ("<p><span data-field=\"x\">...</span></p>", "a value with its id: what the filter `field` writes"),
    ("<p><strong>...</strong> <span class=\"plain\">...</span> <span class=\"solid\">...</span></p>", "bold, not bold, white on black"),
    ("<p><a href=\"#s12\">...</a></p>", "a link to an item"),
    ("<p><i class=\"tick\" data-name=\"na\"/> <i class=\"big tick\"/></p>", "a box to tick, and a large one"),
    ("<p><i class=\"page\"/> <i class=\"pages\"/><br/></p>", "the number of the page, of how many; a new line"),
];

/// The page `grammar/templates.md`.
pub fn page() -> String {
    let mut out = ABOUT.to_owned();
    let files: Vec<String> = BUILT_IN.iter().map(|(name, _)| format!("`{name}`")).collect();
    let _ = writeln!(
        out,
        "The built-in files are {}. `instruction.html` prints a procedure and includes the others; `card.html` prints a console card. \
         A template stops after {} million instructions (a thousand steps take a hundredth of it) or {} MiB.\n",
        files.join(", "),
        FUEL / 1_000_000,
        OUTPUT_CAP >> 20,
    );
    table(&mut out, "What a template is given", ["name", "what it is"], GIVEN.iter().copied());
    out.push_str(
        "The document has these parts, which are printed in this order; a part that a procedure or an edition does not have is none.\n",
    );
    let parts: Vec<(String, &str)> = PARTS.iter().map(|(name, about)| (format!("doc.{name}"), *about)).collect();
    table(&mut out, "", ["part", "what it is"], parts.iter().map(|(name, about)| (name.as_str(), *about)));
    table(&mut out, "Blocks of the body", ["block", "what it is"], BLOCKS.iter().copied());
    table(&mut out, "Markup", ["markup", "what it prints"], FORMS.iter().copied());
    out.pop();
    out.push_str(RULES);
    out
}

fn table<'a>(out: &mut String, title: &str, head: [&str; 2], rows: impl Iterator<Item = (&'a str, &'a str)>) {
    if !title.is_empty() {
        let _ = writeln!(out, "## {title}\n");
    } else {
        out.push('\n');
    }
    let _ = writeln!(out, "| {} | {} |\n|---|---|", head[0], head[1]);
    rows.for_each(|(name, about)| {
        let _ = writeln!(out, "| `{name}` | {about} |");
    });
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::super::parse::parse;
    use super::*;
    use crate::document::figure::Drawing;
    use std::collections::{BTreeSet, HashMap};
    use std::sync::Arc;

    #[test]
    fn every_form_is_read() {
        let drawing = Arc::new(Drawing { views: Vec::new(), key: Vec::new(), description: String::new() });
        for (form, _) in FORMS {
            let own = if form.contains("<header>") { "" } else { "<header/><footer/>" };
            let page = format!("<main>{form}{own}</main>");
            parse(&page, &HashMap::from([("x", &drawing)])).unwrap_or_else(|e| panic!("{form}: {}", e.what));
        }
        assert!(parse("<main><p class=\"own\">...</p><header/><footer/></main>", &HashMap::new()).is_err());
    }

    /// The names behind each of these marks.
    fn names<'t>(text: &'t str, mark: &str) -> BTreeSet<&'t str> {
        text.match_indices(mark).filter_map(|(at, _)| text[at + mark.len()..].split('"').next()).flat_map(str::split_whitespace).collect()
    }

    #[test]
    fn what_the_built_in_templates_use_is_told() {
        let page = page();
        let told = names(&page, "class=\"");
        for (name, text) in BUILT_IN.iter().filter(|(name, _)| name.ends_with(".html")) {
            for class in names(text, " class=\"").into_iter().filter(|c| c.bytes().all(|b| b.is_ascii_lowercase())) {
                assert!(told.contains(class) || page.contains(&format!("`{class}`")), "{name}: {class}");
            }
        }
        let instruction = BUILT_IN.iter().find(|(name, _)| *name == "instruction.html").expect("the template").1;
        assert_eq!(names(instruction, "b.block == \""), BLOCKS.iter().map(|(name, _)| *name).collect());
    }
}
