//! A compiler for remote-handling task procedures.
//!
//! A procedure is Markdown with a small move-step notation. This crate reads it, follows every state the arm can be in
//! from the first step to the last, holds each step against arm, cell and the site's policy, and prints a numbered work
//! instruction in which every value is one that was checked. The way of a procedure through the floors:
//!
//! ```text
//! bytes ──session──► text ──syntax──► Parsed ──model──► Procedure ──trace──► Trace ──proof──► Checked
//!                                     no arm yet        names resolved       states           no error stands
//!
//! Checked ──document──► blocks ──template──► page tree ──emit──► bytes ──readback──► the same values, or nothing
//! ```
//!
//! | floor | what it is for |
//! |---|---|
//! | [`text`], [`units`], [`error`] | files and byte spans; exact quantities; the environment's failures |
//! | [`geometry`] | solids, the chain of joints, certified sweeps; pure maths, knows no procedure |
//! | [`diag`] | findings and the rules they come from; terminal and JSON forms |
//! | [`words`] | every printed sentence, one set a language; judged before anything is printed |
//! | [`syntax`] | Markdown, front matter and statements, read into a tree; never fails, knows no arm |
//! | [`model`] | arm, cell, policy, and the procedure with every name resolved |
//! | [`trace`] | the set of states at each step, and the rules over states |
//! | [`space`] | where everything is at each step: clearance, reach, loads, sight, and the rules over them |
//! | [`writing`] | the rules over what is written: holds, alerts, references, demands, words |
//! | [`compiled`] | the checked procedure as plain data under a published schema |
//! | [`proof`] | every floor's rules run, severities and waivers applied; alone makes [`proof::Checked`]; how wrong inputs may be |
//! | [`document`], [`template`], [`emit`] | what is printed, how it is arranged, and its bytes |
//! | [`readback`] | a finished file against what was checked; shares nothing with the floors that made it |
//! | [`audit`] | the certificates of a compiled file, worked out again; shares nothing with the floors that made them |
//! | [`session`] | the only door to files; reads, caches, compiles, prints |
//! | [`cli`] | the command line |
//!
//! Invariants that shape everything: the writer's mistakes are [`diag::Diagnostic`]s and a failed environment is an
//! [`error::Error`], never mixed; state rules see effects and never step kinds; no verdict depends on the order of a
//! hash or on a platform's mathematics; nothing is printed as checked that was not. Which floor may import which is held
//! by `tests/floors.rs`.

pub mod audit;
pub mod cli;
pub mod compiled;
pub mod diag;
pub mod document;
pub mod emit;
pub mod error;
pub mod geometry;
pub mod model;
pub mod proof;
pub mod readback;
pub mod session;
pub mod space;
pub mod syntax;
pub mod template;
pub mod text;
pub mod trace;
pub mod units;
pub mod words;
pub mod writing;
