//! `surehand audit`: the certificates of a compiled procedure, worked out again.

use super::show;
use crate::audit::{self, Refusal, Report};
use crate::document::build::Figures;
use crate::error::Error;
use crate::session::{Digested, Prints, Session, Wish, World, data_differences, digests};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Check the certificates of a compiled procedure with arithmetic of its own
///
/// Reads the file that `surehand build --format json` writes and nothing of what made it. Every motion from every state must
/// have a certificate that holds all bodies apart, and whatever a step leaves must be what the next one was checked from.
///
/// Exit code 0: everything holds. 1: something does not, is missing, or the file claims nothing in space. 3: a file could not
/// be read.
#[derive(clap::Args)]
pub(super) struct Args {
    /// The compiled procedure
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// How the outcome is written
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// Compare the digests in the file with the model files of this folder
    #[arg(long, value_name = "DIR")]
    models: Option<PathBuf>,
    /// Compile the procedure anew and compare everything but the certificates: scene, tolerances, steps and states
    ///
    /// The certificates are audited independently of what made them; this comparison rests on the compiler.
    #[arg(long, value_name = "PROCEDURE")]
    source: Option<PathBuf>,
    /// Accept a file that claims nothing in space: limits, directions and the chain of states are audited alone
    #[arg(long)]
    without_space: bool,
}

/// How the outcome is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// For people
    Text,
    /// One JSON object (schema surehand-audit/1)
    Json,
}

/// Longer than this, and a terminal shows how far the audit is.
const PATIENCE: Duration = Duration::from_millis(500);

/// Most refusals that are written for people.
const MOST_SHOWN: usize = 40;

pub(super) fn run(args: &Args, world: &dyn World) -> Result<u8, Error> {
    let path = args.file.display();
    let bytes = world.read_data(&args.file)?;
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    if let Ok(style) = ProgressStyle::with_template("auditing {bar:40} {pos} of {len} steps") {
        bar.set_style(style);
    }
    let report = audit::audit(&bytes, &mut |done, of| {
        bar.set_length(of as u64);
        bar.set_position(done as u64);
        if bar.is_hidden() && bar.elapsed() > PATIENCE {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
    });
    bar.finish_and_clear();
    let report = report.map_err(|what| Error::File { path: path.to_string(), what })?;
    let models = match &args.models {
        Some(folder) => Some(digests(world, folder, &report.models)?),
        None => None,
    };
    let anew = match &args.source {
        Some(source) => Some(compared(world, source, &bytes)?),
        None => None,
    };
    let differs = models.iter().flatten().any(|m| m.file.is_none()) || anew.iter().any(|off| !off.is_empty());
    let silent = !report.space && !args.without_space;
    let text = match args.format {
        Format::Json => json(&report, models.as_deref(), anew.as_deref(), silent || differs)?,
        Format::Text => text(&report, models.as_deref(), anew.as_deref()),
    };
    show::output(&text)?;
    if args.format == Format::Text {
        show::message(&conclusion(&path.to_string(), &report, silent, differs));
    }
    Ok(u8::from(silent || differs || !report.refusals.is_empty()))
}

/// Where a file is not what the compiler makes of a procedure now; the certificates and digests are passed over.
fn compared(world: &dyn World, source: &Path, bytes: &[u8]) -> Result<Vec<String>, Error> {
    let session = Session::new(world);
    let compilation = session.compile(source)?;
    let Prints::Made(made) = session.print(&compilation, &["json"], &Wish { draft: true, figures: Figures::None, ..Wish::default() })?
    else {
        return Err(Error::File { path: source.display().to_string(), what: "cannot be compiled; check it".into() });
    };
    let read = |bytes: &[u8]| serde_json::from_slice::<Value>(bytes).map_err(|e| Error::Internal(e.to_string()));
    let mut out = Vec::new();
    data_differences(&read(bytes)?, &read(made.first().map_or(&[][..], |o| &o.bytes))?, &["sweeps", "digests"], &mut out);
    Ok(out)
}

fn json(report: &Report, models: Option<&[Digested]>, anew: Option<&[String]>, refused: bool) -> Result<String, Error> {
    let value = serde_json::json!({
        "schema": "surehand-audit/1",
        "holds": !refused && report.refusals.is_empty(),
        "report": report,
        "model_files": models.map(|all| all.iter().map(|m| (&m.kind, &m.file)).collect::<Vec<_>>()),
        "differs_from_source": anew,
        "taken_as_stated": anew.is_none().then_some(TAKEN),
    });
    serde_json::to_string_pretty(&value).map(|s| s + "\n").map_err(|e| Error::Internal(e.to_string()))
}

/// What an audit takes from the file as it stands.
const TAKEN: &str = "the scene (chain, shapes, stations, margin), the tolerances and limits of the joints, and the steps are as the file \
states them; whether they are those of the procedure and its models, --source tells";

fn text(report: &Report, models: Option<&[Digested]>, anew: Option<&[String]>) -> String {
    let mut out = format!("{}\n", report.document);
    for refusal in report.refusals.iter().take(MOST_SHOWN) {
        out += &format!("refused: {}\n", said(refusal));
    }
    if let Some(more) = report.refusals.len().checked_sub(MOST_SHOWN).filter(|n| *n > 0) {
        out += &format!("and {more} more; --format json lists all\n");
    }
    match anew {
        None => out += &format!("taken as stated: {TAKEN}\n"),
        Some([]) => out += "same scene, tolerances, steps and states: the compiler makes them of the procedure and its models now\n",
        Some(off) => {
            let more = if off.len() > MOST_SHOWN { " and more" } else { "" };
            let off = off.iter().take(MOST_SHOWN).map(String::as_str).collect::<Vec<_>>().join(", ");
            out += &format!("refused: the compiler makes another file of the procedure and its models now: {off}{more}\n");
        }
    }
    match models {
        None => {
            for (kind, name, digest) in &report.models {
                out += &format!("not compared: {kind} {name}, SHA-256 {}\n", digest.as_deref().unwrap_or("not told"));
            }
        }
        Some(models) => {
            for model in models {
                out += &match &model.file {
                    Some(file) => format!("same digest: {} {} is {file}\n", model.kind, model.name),
                    None => format!(
                        "refused: {} {}: no file there has the digest that the procedure was checked against\n",
                        model.kind, model.name
                    ),
                };
            }
        }
    }
    for load in &report.unplaced {
        out += &format!("not looked at: {load}, in states that do not say where it is\n");
    }
    out
}

/// "step 7, state 1: jaw and rack: nothing holds them apart over the whole motion".
fn said(refusal: &Refusal) -> String {
    let place = match (&refusal.step, refusal.state) {
        (Some(step), Some(state)) => format!("step {step}, state {}", state + 1),
        (Some(step), None) => format!("step {step}"),
        _ => "scene".to_string(),
    };
    let pair = refusal.pair.as_ref().map_or_else(String::new, |(a, b)| format!("{a} and {b}: "));
    format!("{place}: {pair}{}", refusal.reason)
}

fn conclusion(path: &str, report: &Report, silent: bool, differs: bool) -> String {
    let sweeps = format!("{} and {}", counted(report.sweeps, "sweep", "sweeps"), counted(report.planes, "plane", "planes"));
    match report.refusals.len() {
        0 if !report.space => {
            let rest = "limits, directions and the chain of states hold";
            let way = if silent { "; add --without-space if that is all that is wanted" } else { "" };
            format!("{path}: nothing to audit in space: the file has no scene; {rest}{way}")
        }
        0 if differs => {
            format!("{path}: every move's certificate holds ({sweeps}), but for another procedure or other models than those given")
        }
        0 => format!("{path}: every move's certificate holds: {sweeps}"),
        n => format!("{path}: {} refused; {sweeps} hold", show::count(n, "claim", "claims")),
    }
}

fn counted(n: u64, one: &str, many: &str) -> String {
    show::count(usize::try_from(n).unwrap_or(usize::MAX), one, many)
}
