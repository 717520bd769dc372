//! How far a long run is, on a terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::Duration;

/// Longer than this, and a terminal shows how far the run is.
const PATIENCE: Duration = Duration::from_millis(500);

/// A count that is shown once the run takes long.
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// Nothing done yet of `all`; `doing` is what is done, in one word.
    pub(super) fn new(doing: &str, all: u64) -> Progress {
        let bar = ProgressBar::with_draw_target(Some(all), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template(&format!("{doing} {{bar:40}} {{pos}} of {{len}}")) {
            bar.set_style(style);
        }
        Progress(bar)
    }
    /// How much there is to do, where that is known later.
    pub(super) fn all(&self, all: u64) {
        self.0.set_length(all);
    }
    /// One more is done.
    pub(super) fn step(&self) {
        self.0.inc(1);
        if self.0.is_hidden() && self.0.elapsed() > PATIENCE {
            self.0.set_draw_target(ProgressDrawTarget::stderr());
        }
    }
    /// Takes it from the terminal.
    pub(super) fn end(&self) {
        self.0.finish_and_clear();
    }
}
