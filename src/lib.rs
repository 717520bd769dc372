//! surehand
pub mod cli;
pub mod compiled;
pub mod diag;
pub mod document;
pub mod emit;
pub mod error;
pub mod model;
pub mod proof;
pub mod readback;
pub mod session;
pub mod syntax;
pub mod template;
pub mod text;
pub mod trace;
pub mod units;
pub mod writing;
