//! One run over a project: finds files, reads each once, and takes procedures through every floor.
//!
//! Invariant: this floor alone touches files and the environment, through [`World`]. A model is read once a
//! session, however many procedures name it and on however many threads.

mod disk;
mod memory;
mod source;
mod world;
mod write;

pub use disk::DiskWorld;
pub use memory::MemoryWorld;
pub use source::Source;
pub use world::{Inside, Kind, MAX_SOURCE, World};
