//! The environment failed: a file could not be read, a limit of the tool was met, an invariant broke.
//!
//! Invariant: the writer's mistakes never travel here; they are diagnostics.

use thiserror::Error;

/// What went wrong around the tool, by the exit code it ends with.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum Error {
    /// A file could not be read or written (exit 3).
    #[error("{path}: {what}")]
    File {
        /// The path as the user gave it.
        path: String,
        /// What happened and what to do.
        what: String,
    },
    /// A declared limit of the tool was met (exit 4).
    #[error("{place}: limit reached: {what}")]
    Limit {
        /// File, and line where known.
        place: String,
        /// Which limit, its value, and what to do.
        what: String,
    },
    /// The command line asks for something impossible (exit 2).
    #[error("{0}")]
    Usage(String),
    /// A broken invariant of the tool itself (exit 5). Nothing was printed or written.
    #[error("internal error: {0}. Nothing was written. Please report this with the input that caused it")]
    Internal(String),
}

impl Error {
    /// The process exit code of this kind of failure.
    pub fn exit_code(&self) -> u8 {
        match self {
            Error::Usage(_) => 2,
            Error::File { .. } => 3,
            Error::Limit { .. } => 4,
            Error::Internal(_) => 5,
        }
    }
}
