//! A scene as vector graphics: a file of its own with its fonts, or part of a screen page.

use crate::document::figure::{Anchor, Dash, Ink, Mark, Path, Pen, Scene, Step, Text, Type, Weight};
use crate::template::escape;
use std::fmt::Write;

/// How classes of a drawing look.
pub(super) const CSS: &str = include_str!("../../templates/figure.css");

/// A file of its own, with title, description and fonts.
pub fn file(scene: &Scene, description: &str) -> String {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" class=\"drawing\" role=\"img\" aria-labelledby=\"title desc\">\n<title id=\"title\">",
        w = mm(scene.width),
        h = mm(scene.height),
    );
    escape(&scene.title, &mut out);
    out.push_str("</title>\n<desc id=\"desc\">");
    escape(description, &mut out);
    out.push_str("</desc>\n<style>");
    out.push_str(&super::html::faces());
    out.push_str(CSS);
    out.push_str("</style>\n");
    marks(scene, &mut out);
    out.push_str("</svg>\n");
    out
}

/// Part of a screen page: `id` is unique in it.
pub(super) fn inline(scene: &Scene, id: &str, description: Option<&str>, out: &mut String) {
    let _ = write!(
        out,
        "<svg class=\"drawing\" width=\"{0}mm\" viewBox=\"0 0 {0} {1}\" role=\"img\" aria-labelledby=\"",
        mm(scene.width),
        mm(scene.height)
    );
    escape(id, out);
    out.push_str("\"><title id=\"");
    escape(id, out);
    out.push_str("\">");
    escape(&scene.title, out);
    out.push_str("</title>");
    if let Some(words) = description {
        out.push_str("<desc>");
        escape(words, out);
        out.push_str("</desc>");
    }
    out.push('\n');
    marks(scene, out);
    out.push_str("</svg>\n");
}

/// Millimetres, with no more digits than are needed.
fn mm(thousandths: i32) -> String {
    let sign = if thousandths < 0 { "-" } else { "" };
    // A hundredth of a millimetre is finer than any printer.
    let n = (thousandths.unsigned_abs() + 5) / 10;
    match (n / 100, n % 100) {
        (0, 0) => "0".to_owned(),
        (whole, 0) => format!("{sign}{whole}"),
        (whole, part) if part % 10 == 0 => format!("{sign}{whole}.{}", part / 10),
        (whole, part) => format!("{sign}{whole}.{part:02}"),
    }
}

fn marks(scene: &Scene, out: &mut String) {
    for mark in &scene.marks {
        match mark {
            Mark::Lines { paths, pen } => path(paths, &pen_class(*pen), out),
            Mark::Fill { paths, ink: Ink::Black } => path(paths, "black", out),
            Mark::Fill { paths, ink: Ink::White } => path(paths, "white", out),
            Mark::Text(t) => text(t, out),
        }
    }
}

fn pen_class(pen: Pen) -> String {
    let weight = match pen.weight {
        Weight::Fine => "fine",
        Weight::Thin => "thin",
        Weight::Medium => "medium",
        Weight::Thick => "thick",
    };
    match pen.dash {
        Dash::Solid => weight.to_owned(),
        Dash::Dashed => format!("{weight} dashed"),
        Dash::Dotted => format!("{weight} dotted"),
        Dash::Chain => format!("{weight} chain"),
        Dash::Long => format!("{weight} long"),
    }
}

fn path(paths: &[Path], class: &str, out: &mut String) {
    let _ = write!(out, "<path class=\"{class}\" d=\"");
    for path in paths {
        let _ = write!(out, "M{} {}", mm(path.start.x), mm(path.start.y));
        for step in &path.steps {
            match step {
                Step::To(p) => drop(write!(out, "L{} {}", mm(p.x), mm(p.y))),
                Step::Arc { to, radius } => drop(write!(out, "A{r} {r} 0 0 0 {} {}", mm(to.x), mm(to.y), r = mm(*radius))),
                Step::Curve { first, second, to } => {
                    let _ = write!(out, "C{} {} {} {} {} {}", mm(first.x), mm(first.y), mm(second.x), mm(second.y), mm(to.x), mm(to.y));
                }
            }
        }
        if path.closed {
            out.push('Z');
        }
    }
    out.push_str("\"/>\n");
}

fn text(t: &Text, out: &mut String) {
    let mut class: Vec<&str> = Vec::new();
    match t.size {
        Type::Name => {}
        Type::Strong => class.push("strong"),
        Type::Call => class.push("call"),
    }
    match t.anchor {
        Anchor::Start => {}
        Anchor::Middle => class.push("middle"),
        Anchor::End => class.push("end"),
    }
    out.push_str("<text");
    if !class.is_empty() {
        let _ = write!(out, " class=\"{}\"", class.join(" "));
    }
    let _ = write!(out, " x=\"{}\" y=\"{}\"", mm(t.at.x), mm(t.at.y));
    if let Some(id) = &t.field {
        out.push_str(" data-field=\"");
        escape(id, out);
        out.push('"');
    }
    out.push('>');
    for (i, line) in t.lines.iter().enumerate() {
        if i > 0 {
            let _ = write!(out, " <tspan x=\"{}\" dy=\"{}\">", mm(t.at.x), mm(t.size.leading()));
        }
        escape(line, out);
        if i > 0 {
            out.push_str("</tspan>");
        }
    }
    out.push_str("</text>\n");
}
