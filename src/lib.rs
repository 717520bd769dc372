//! surehand
pub mod diag;
pub mod error;
pub mod syntax;
pub mod text;
pub mod units;
