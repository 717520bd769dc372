//! Reach against plain trigonometry: whatever is said of a box of angles holds for every set of angles that is tried in it.
//!
//! The arithmetic here is written from the definition of a chain of joints alone: three by three matrices of sines and
//! cosines, one random set of angles after another. No case may lie outside what was certified.

#[path = "reach/chains.rs"]
mod chains;
mod common;
#[path = "reach/floor.rs"]
mod floor;
#[path = "reach/held.rs"]
mod held;
#[path = "reach/pure.rs"]
mod pure;
