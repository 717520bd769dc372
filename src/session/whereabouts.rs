//! One step of a procedure by its printed number or anchor, and where the arm is before and after it.

mod space;

use super::{Compilation, Session};
use crate::compiled::Compiled;
use crate::compiled::whereabouts::{SCHEMA, Stance, Whereabouts};
use crate::diag::{Severity, suggest};
use crate::document::Prose;
use crate::document::build::figure;
use crate::emit::svg;
use crate::error::Error;
use crate::proof::Examined;
use crate::trace::RowId;
use space::Sides;

impl Session<'_> {
    /// Where the arm is around the step that `asked` names: a printed number (`12`, `12.1`, `C1.1`) or an anchor
    /// (`#grip-lid`). None if the models could not be read.
    pub fn whereabouts(&self, compilation: &Compilation, asked: &str) -> Result<Option<Whereabouts>, Error> {
        let Some(examined) = &compilation.examined else { return Ok(None) };
        let compiled = examined.compile_untold(&self.files);
        let at = find(examined, &compiled, asked).map_err(Error::Usage)?;
        let step = compiled.steps.into_iter().nth(at).ok_or_else(|| Error::Internal("a printed step is missing".into()))?;
        let row = row(examined, &step.number).ok_or_else(|| Error::Internal("a printed step has no row".into()))?;
        let (frame, id) = examined.trace.step_of(row);
        let source = examined.trace.procedure_of(&examined.procedure, frame).step(id);
        let file = self.files.get(source.head.file);
        let head = source.head.of(&file.text);
        let Sides { before, after, lacks } = space::look(examined, row);
        let stance = |(state, space)| Stance { state, space };
        Ok(Some(Whereabouts {
            schema: SCHEMA.to_owned(),
            identity: compiled.identity,
            file: self.files.get(compilation.file).name.clone(),
            line: file.position(source.head.start).line,
            step: step.number,
            anchor: step.anchor,
            section: step.section,
            statement: head.strip_prefix('`').and_then(|h| h.strip_suffix('`')).map(str::to_owned),
            words: step.words,
            errors: compilation.findings.iter().filter(|f| f.severity == Severity::Error).count(),
            joints: compiled.joints,
            titles: compiled.titles,
            before: step.before.into_iter().zip(before).map(stance).collect(),
            after: step.after.into_iter().zip(after).map(stance).collect(),
            not_looked_at: lacks,
        }))
    }
    /// The drawing of a step as a file; what `asked` may be is as for [`Session::whereabouts`]. The inner error is why there is
    /// none.
    pub fn drawing(&self, compilation: &Compilation, asked: &str) -> Result<Result<String, String>, Error> {
        let Some(examined) = &compilation.examined else { return Ok(Err("the models could not be read".into())) };
        let compiled = examined.compile_untold(&self.files);
        let at = find(examined, &compiled, asked).map_err(Error::Usage)?;
        let number = compiled.steps.get(at).map_or("", |s| s.number.as_str());
        let row = row(examined, number).ok_or_else(|| Error::Internal("a printed step has no row".into()))?;
        if let Some(lack) = examined.survey.lack() {
            return Ok(Err(space::why(lack).join(", ")));
        }
        let Some(figure) = figure(examined, &self.files, row) else { return Ok(Err(format!("step {number} moves no joint"))) };
        let caption = figure.caption.iter().map(Prose::text).collect::<Vec<_>>().join(" ");
        Ok(Ok(svg::file(&figure.drawing.sheet(), &format!("{} {caption}", figure.drawing.description))))
    }
}

/// The row that is printed under a number.
fn row(examined: &Examined, number: &str) -> Option<RowId> {
    let (root, trace) = (&*examined.procedure, &examined.trace);
    let rows = trace.frames().flat_map(|(id, _)| trace.rows_of(id));
    rows.into_iter().find(|r| trace.number(root, *r).to_string() == number)
}

/// Which printed step is meant; else what to ask for instead.
fn find(examined: &Examined, compiled: &Compiled, asked: &str) -> Result<usize, String> {
    let steps = &compiled.steps;
    if let Some(anchor) = asked.strip_prefix('#') {
        let at: Vec<usize> = (0..steps.len()).filter(|i| steps[*i].anchor.as_deref() == Some(anchor)).collect();
        return match at[..] {
            [one] => Ok(one),
            [] => Err(no_anchor(compiled, anchor)),
            _ => Err(format!("#{anchor} is printed as steps {}; name one of them", list(at.iter().map(|i| steps[*i].number.as_str())))),
        };
    }
    let number = asked.trim().trim_end_matches('.').to_ascii_uppercase();
    steps.iter().position(|s| s.number == number).ok_or_else(|| no_number(examined, compiled, &number))
}

fn no_anchor(compiled: &Compiled, anchor: &str) -> String {
    let mut known: Vec<&str> = Vec::new();
    for own in compiled.steps.iter().filter_map(|s| s.anchor.as_deref()) {
        if !known.contains(&own) {
            known.push(own);
        }
    }
    match suggest(anchor, known.iter().copied()) {
        Some(near) => format!("no step has the anchor #{anchor}; did you mean #{near}?"),
        None if known.is_empty() => format!("no step has the anchor #{anchor}; no step has any: name it by its number"),
        None => format!("no step has the anchor #{anchor}; there are {}", list(known.iter().map(|a| format!("#{a}")))),
    }
}

/// Most numbers that a message lists.
const MOST_LISTED: usize = 12;

fn no_number(examined: &Examined, compiled: &Compiled, number: &str) -> String {
    let numbers: Vec<&str> = compiled.steps.iter().map(|s| s.number.as_str()).collect();
    let (root, trace) = (&*examined.procedure, &examined.trace);
    // A step of an on-call section is printed under the number of each step that performs it.
    let rows = trace.frames().flat_map(|(id, _)| trace.rows_of(id));
    let own = rows.filter(|r| {
        let (frame, step) = trace.step_of(*r);
        trace.procedure_of(root, frame).step(step).number.to_string() == number
    });
    let printed: Vec<String> = own.map(|r| trace.number(root, r).to_string()).filter(|n| numbers.contains(&n.as_str())).collect();
    if !printed.is_empty() {
        return format!("step {number} is printed where it is performed: {}", list(printed.iter()));
    }
    let first = |n: &str| n.split(|c: char| !c.is_ascii_digit()).next().and_then(|d| d.parse::<u64>().ok());
    let mut above = number;
    while let Some((outer, _)) = above.rsplit_once('.') {
        let below: Vec<&str> =
            numbers.iter().copied().filter(|n| n.strip_prefix(outer).is_some_and(|rest| rest.starts_with('.'))).collect();
        if !below.is_empty() {
            return format!("there is no step {number}; there are {}", list(below.iter()));
        }
        above = outer;
    }
    let last = numbers.iter().filter_map(|n| n.parse::<u64>().ok()).max().unwrap_or(0);
    match first(number) {
        Some(n) if (1..=last).contains(&n) => {
            let near = |x: &&&str| first(x).is_some_and(|m| m.abs_diff(n) <= 1);
            format!("there is no step {number}; near it there are {}", list(numbers.iter().filter(near)))
        }
        _ => {
            let others: Vec<&&str> = numbers.iter().filter(|n| !n.starts_with(|c: char| c.is_ascii_digit())).collect();
            let more = if others.is_empty() { String::new() } else { format!(", and {}", list(others.iter())) };
            format!("there is no step {number}; the steps are 1 to {last}{more}")
        }
    }
}

/// "3, 4, 5"; of many the first ones.
fn list(items: impl Iterator<Item = impl ToString>) -> String {
    let items: Vec<String> = items.map(|i| i.to_string()).collect();
    if items.len() <= MOST_LISTED {
        return items.join(", ");
    }
    format!("{} ... {}", items[..MOST_LISTED - 1].join(", "), items[items.len() - 1])
}
