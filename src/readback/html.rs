//! Values of a screen page, by their `data-field`.
//!
//! What can hide words is not looked for; what cannot is listed, and the rest is refused: elements, attributes, the one
//! style sheet, the two fonts and the one script of the program.

use super::{Found, Reading, Said};
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use roxmltree::Node;
use rustc_hash::FxHashSet;
use std::sync::LazyLock;

const SHEET: &str = concat!(include_str!("../../templates/screen.css"), include_str!("../../templates/figure.css"));
/// The bar for marks, which stands before the content, and the script, which ends the page.
const BAR: &str = concat!("</header>\n", include_str!("../../templates/screen.html"), "<main>\n");
const SCRIPT: &str = concat!("</footer>\n<script>", include_str!("../../templates/screen.js"), "</script>\n</body>\n</html>\n");
/// The fonts as they stand in a page, with their weights.
static FONTS: LazyLock<[(&str, String); 2]> = LazyLock::new(|| {
    [
        ("400", BASE64_STANDARD.encode(include_bytes!("../../templates/fonts/IBMPlexSans-Regular.woff2"))),
        ("700", BASE64_STANDARD.encode(include_bytes!("../../templates/fonts/IBMPlexSans-Bold.woff2"))),
    ]
});
const ELEMENTS: [&str; 30] = [
    "figure", "body", "header", "footer", "main", "section", "article", "aside", "div", "p", "span", "strong", "a", "br", "h1", "h2", "h3",
    "h4", "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "html", "head", "colgroup", "col",
];
const ATTRIBUTES: [&str; 7] = ["class", "id", "href", "data-field", "role", "aria-label", "lang"];

pub(super) fn read(bytes: &[u8], said: &Said) -> Result<Reading, String> {
    let text = std::str::from_utf8(bytes).map_err(|e| format!("it is not UTF-8: {e}"))?;
    let text = &without_marks(text, said)?;
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let page = roxmltree::Document::parse_with_options(text, options).map_err(|e| format!("it is not well-formed: {e}"))?;
    let head = page.root_element().first_element_child().filter(|n| n.has_tag_name("head")).ok_or("it has no head")?;
    let body = head.next_sibling_element().filter(|n| n.has_tag_name("body")).ok_or("it has no body")?;
    only_the_style_sheet(head)?;
    let values = || {
        let (mut found, mut before) = (Vec::new(), String::new());
        walk(body, &mut before, &mut found).map(|()| found)
    };
    let (known, found) = rayon::join(|| hold(page.root_element(), head), values);
    known?;
    Ok(Reading { pages: None, found: found?, sizes: Vec::new(), tails: Vec::new(), blanks: Vec::new(), problems: Vec::new() })
}

/// Holds every element to those that cannot hide words, each with an id of its own.
fn hold(root: Node<'_, '_>, head: Node<'_, '_>) -> Result<(), String> {
    let mut ids = FxHashSet::default();
    let mut open = vec![(root, false)];
    while let Some((node, in_drawing)) = open.pop() {
        let in_drawing = in_drawing || node.has_tag_name("svg");
        // The head and what stands in it are looked at by themselves.
        match (in_drawing, node == head || node.parent() == Some(head)) {
            (_, true) => {}
            (true, false) => drawn(node)?,
            (false, false) => plain(node)?,
        }
        if let Some(id) = node.attribute("id").filter(|id| !ids.insert(*id)) {
            return Err(format!("it holds two elements {id}"));
        }
        open.extend(node.children().filter(Node::is_element).map(|n| (n, in_drawing)));
    }
    Ok(())
}

/// The bar in the words of the print; each stands at its id, its slots numbered.
fn bar(said: &Said) -> String {
    let mut pieces = BAR.split(['{', '}']);
    let mut out = pieces.next().unwrap_or_default().to_owned();
    while let Some(place) = pieces.next() {
        let words: Vec<&str> = place.split_whitespace().collect();
        let numbers: Vec<String> = (1..words.len()).map(|n| format!("%{n}")).collect();
        let slots: Vec<(&str, &str)> = words.iter().skip(1).copied().zip(numbers.iter().map(String::as_str)).collect();
        let sentence = said.fill(words.first().copied().unwrap_or_default(), &slots);
        out += &sentence.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;");
        out += pieces.next().unwrap_or_default();
    }
    out
}

/// The page without what keeps marks: both pieces as the program has them, once and in their places, or neither on a page
/// without steps.
fn without_marks(text: &str, said: &Said) -> Result<String, String> {
    let bar = bar(said);
    let once = |piece: &str| text.matches(piece).count() == 1;
    match rayon::join(|| once(&bar), || text.ends_with(SCRIPT) && once(SCRIPT)) {
        (true, true) => {
            let end = text.len() - SCRIPT.len();
            Ok(text[..end].replacen(&bar, "</header>\n<main>\n", 1) + "</footer>\n</body>\n</html>\n")
        }
        (false, false) if !text.contains("<article") && !text.contains("<script") => Ok(text.to_owned()),
        (_, true) => Err("its bar for marks is not that of the program".to_owned()),
        (_, false) => Err("its script is not that of the program".to_owned()),
    }
}

/// Holds an element outside drawings to those that cannot hide words.
fn plain(node: Node<'_, '_>) -> Result<(), String> {
    let name = node.tag_name().name();
    if !ELEMENTS.contains(&name) {
        return Err(format!("it holds a <{name}>, which can hide words"));
    }
    let share = |v: &str| v.strip_suffix('%').and_then(|n| n.parse::<u8>().ok()).is_some_and(|n| (1..=100).contains(&n));
    let known =
        |a: &roxmltree::Attribute<'_, '_>| ATTRIBUTES.contains(&a.name()) || (name == "col" && a.name() == "width" && share(a.value()));
    match node.attributes().find(|a| !known(a)) {
        Some(attribute) => Err(format!("it holds a {} on a <{name}>, which can hide words", attribute.name())),
        None => Ok(()),
    }
}

/// Elements of a drawing with the attributes each may have.
const DRAWN: [(&str, &[&str]); 6] = [
    ("svg", &["class", "width", "viewBox", "role", "aria-labelledby"]),
    ("title", &["id"]),
    ("desc", &[]),
    ("path", &["class", "d"]),
    ("text", &["class", "x", "y", "data-field"]),
    ("tspan", &["x", "dy"]),
];

/// Holds an element of a drawing to what cannot hide words: known elements, words within the sheet, no line over them.
fn drawn(node: Node<'_, '_>) -> Result<(), String> {
    let name = node.tag_name().name();
    let Some((_, attributes)) = DRAWN.iter().find(|(n, _)| *n == name) else {
        return Err(format!("it holds a <{name}> in a drawing, which can hide words"));
    };
    if let Some(stranger) = node.attributes().find(|a| !attributes.contains(&a.name())) {
        return Err(format!("it holds a {} on a <{name}> in a drawing, which can hide words", stranger.name()));
    }
    let class = node.attribute("class").unwrap_or("");
    match name {
        "svg" => {
            let width = node.attribute("viewBox").and_then(|b| b.split(' ').nth(2));
            let shown = node.attribute("width").and_then(|w| w.strip_suffix("mm"));
            if class != "drawing" || width.is_none() || shown != width {
                return Err("it holds a drawing of an unknown look".to_owned());
            }
        }
        "path" if node.prev_siblings().skip(1).any(|n| n.has_tag_name("text")) => {
            return Err("it holds a drawing with lines over its words".to_owned());
        }
        "text" => {
            let sheet: Vec<f32> = node
                .parent_element()
                .and_then(|p| p.attribute("viewBox"))
                .map(|b| b.split(' ').filter_map(|n| n.parse().ok()).collect())
                .unwrap_or_default();
            let at = |key: &str| node.attribute(key).and_then(|v| v.parse::<f32>().ok());
            let (Some(x), Some(y), [0.0, 0.0, width, height]) = (at("x"), at("y"), sheet.as_slice()) else {
                return Err("it holds words of a drawing without a place".to_owned());
            };
            let known = class.split(' ').all(|c| ["", "strong", "call", "middle", "end"].contains(&c));
            if !known || !(0.0..=*width).contains(&x) || !(0.0..=*height).contains(&y) {
                return Err("it holds words outside their drawing".to_owned());
            }
        }
        _ => {}
    }
    Ok(())
}

/// Values in reading order, with the words between them.
fn walk(node: Node<'_, '_>, before: &mut String, out: &mut Vec<Found>) -> Result<(), String> {
    for child in node.children() {
        if let Some(text) = child.text().filter(|_| child.is_text()) {
            before.push_str(text);
        } else if let Some(id) = child.attribute("data-field") {
            if child.descendants().skip(1).any(|n| n.has_attribute("data-field")) {
                return Err(format!("{id} holds another value"));
            }
            let text = child.descendants().filter(Node::is_text).filter_map(|n| n.text()).collect();
            out.push(Found { id: id.to_owned(), text, before: std::mem::take(before), place: None, behind: None, follows: true });
        } else {
            if child.has_tag_name("p") {
                before.push('\n');
            }
            walk(child, before, out)?;
            if !matches!(child.tag_name().name(), "span" | "strong" | "a") {
                before.push('\n');
            }
        }
    }
    Ok(())
}

/// The head holds one style: fonts, the running words of a sheet, and the sheet of the program to its end.
fn only_the_style_sheet(head: Node<'_, '_>) -> Result<(), String> {
    let mut styles = 0;
    for child in head.children().filter(Node::is_element) {
        match child.tag_name().name() {
            "meta" | "title" => {}
            "style" => {
                styles += 1;
                let own = child.text().and_then(|t| t.strip_suffix(SHEET)).ok_or("its style sheet is not that of the program")?;
                let mut lines = own.lines();
                for (weight, data) in FONTS.iter() {
                    let face = format!(
                        "@font-face{{font-family:\"Print Sans\";font-weight:{weight};src:url(data:font/woff2;base64,{data}) format(\"woff2\")}}"
                    );
                    if lines.next() != Some(face.as_str()) {
                        return Err("its fonts are not those of the program".to_owned());
                    }
                }
                let rest: Vec<&str> = lines.filter(|l| !l.is_empty()).collect();
                // Strings in it hold letters, digits, spaces and code points alone, so that the braces can be counted.
                if !matches!(rest.as_slice(), [page] if page.starts_with("@page{") && page.matches('}').count() == page.matches('{').count() && page.ends_with("}}"))
                {
                    return Err("its style sheet holds more than fonts, page and sheet".to_owned());
                }
            }
            other => return Err(format!("its head holds a <{other}>")),
        }
    }
    if styles == 1 { Ok(()) } else { Err(format!("it holds {styles} style sheets")) }
}
