//! State rules: each settled rule of meaning as a small case, and independent attacks.

#[path = "trace/attack.rs"]
mod attack;
mod common;
#[path = "trace/meaning.rs"]
mod meaning;
