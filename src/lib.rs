//! surehand
