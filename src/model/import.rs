//! An open robot description (URDF) as the skeleton of an arm profile.
//!
//! Invariant: nothing is guessed. What a description says is carried over, rounded to the safe side; what a profile needs
//! and no description can say stands as a line that is not read, and is listed. The skeleton is marked as invented.

mod blank;
mod chain;
mod read;
mod write;

use std::fmt;

/// A profile to be filled in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skeleton {
    /// The file's text.
    pub text: String,
    /// What must be added or settled before it is a profile, each a sentence or a key with its meaning.
    pub to_add: Vec<String>,
    /// How many joints it has.
    pub joints: usize,
    /// How many links with a mass or a shape.
    pub links: usize,
}

/// Why a description cannot become a profile.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// The line at fault, from one, where it is known.
    pub line: Option<u32>,
    /// What is wrong and what to do.
    pub what: String,
}

impl Trouble {
    fn new(what: impl Into<String>) -> Trouble {
        Trouble { line: None, what: what.into() }
    }
    fn at(line: u32, what: impl Into<String>) -> Trouble {
        Trouble { line: Some(line), what: what.into() }
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

/// The skeleton of the description `text`, which stands in a file called `file`.
pub fn skeleton(text: &str, file: &str) -> Result<Skeleton, Trouble> {
    let description = read::read(text)?;
    let arm = chain::serial(&description)?;
    write::write(&arm, file)
}
