//! Where text goes: the two streams, colours, counts in words.

use crate::diag::json::Summary;
use crate::diag::render::{self, Style};
use crate::diag::{Diagnostic, Severity};
use crate::error::Error;
use crate::session::World;
use crate::text::Files;
use std::io::{self, Write as _};
use std::path::Path;

/// How findings are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Format {
    /// With source excerpts, for people
    Text,
    /// One line each: file:line:column: weight[rule]: message
    Short,
    /// One JSON object (schema surehand-findings/1)
    Json,
}

/// The weights of findings as the command line spells them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum FailOn {
    Error,
    Warning,
    Advice,
}

impl From<FailOn> for Severity {
    fn from(f: FailOn) -> Severity {
        match f {
            FailOn::Error => Severity::Error,
            FailOn::Warning => Severity::Warning,
            FailOn::Advice => Severity::Advice,
        }
    }
}

/// The style for a stream.
pub(super) fn style(world: &dyn World, stream: &impl io::IsTerminal) -> Style {
    let set = |name| world.variable(name).filter(|v| !v.is_empty());
    let colour = stream.is_terminal() && set("NO_COLOR").is_none() && set("TERM").is_none_or(|t| t != "dumb");
    let width = set("COLUMNS").and_then(|c| c.parse().ok()).filter(|w| (40..1000).contains(w)).unwrap_or(Style::PLAIN.width);
    Style { colour, width }
}

/// Writes output. A reader that has gone away is no failure.
pub(super) fn output(text: &str) -> Result<(), Error> {
    output_bytes(text.as_bytes())
}

/// The same for what is no text.
pub(super) fn output_bytes(bytes: &[u8]) -> Result<(), Error> {
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(Error::File { path: "standard output".into(), what: e.to_string() }),
        _ => Ok(()),
    }
}

/// Writes a message; where even that fails there is nobody left to tell.
pub(super) fn message(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// Writes a file, and says what an earlier run that was cut off had left beside it.
pub(super) fn write(world: &dyn World, path: &Path, bytes: &[u8]) -> Result<(), Error> {
    for name in world.write(path, bytes)? {
        let leftover = path.with_file_name(name);
        message(&render::clean(&format!("removed {}: an earlier run was cut off while it wrote", leftover.display())));
    }
    Ok(())
}

/// A failure of the environment as one line.
pub(super) fn failure(error: &Error) -> String {
    render::clean(&format!("surehand: {error}"))
}

/// Findings in one of the two forms for people.
pub(super) fn findings<'a>(findings: impl IntoIterator<Item = &'a Diagnostic>, files: &Files, format: Format, style: Style) -> String {
    findings
        .into_iter()
        .map(|f| match format {
            Format::Short => render::short(f, files),
            _ => render::full(f, files, style) + "\n",
        })
        .collect()
}

/// "3 errors, 2 warnings (1 without disposition)"; empty for none.
pub(super) fn counts(summary: &Summary) -> String {
    let open = match summary.undispositioned {
        0 => " (all with disposition)".to_owned(),
        open => format!(" ({open} without disposition)"),
    };
    let parts = [
        (summary.errors, "error", "errors", ""),
        (summary.warnings, "warning", "warnings", open.as_str()),
        (summary.advice, "piece of advice", "pieces of advice", ""),
    ];
    parts.iter().filter(|p| p.0 > 0).map(|(n, one, many, more)| count(*n, one, many) + more).collect::<Vec<_>>().join(", ")
}

/// "1 procedure", "12 procedures".
pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
