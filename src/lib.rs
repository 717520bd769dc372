//! surehand
pub mod diag;
pub mod error;
pub mod model;
pub mod session;
pub mod syntax;
pub mod text;
pub mod units;
