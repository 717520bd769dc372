//! Every sentence there is: its id, its slots, and what it is for. A set of another language holds the same ones.
//!
//! A sentence that the program says has a name here, so that none can be said that no set holds. One that only a template of
//! the page says has an id alone.

/// What is asked of a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// It says something.
    Plain,
    /// Somebody may come to harm without it: it may be worded otherwise, and not cut short.
    Safety,
    /// It binds a value to its place, and is read right before it.
    Bind,
}

/// A sentence as every set must hold it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Declared {
    /// Its id: table, point, key.
    pub id: &'static str,
    /// What is asked of it.
    pub kind: Kind,
    /// What is put into it, each once.
    pub slots: &'static [&'static str],
    /// Whether it stands on a page through a template, and can have words set bold or light.
    pub marked: bool,
}

/// A sentence that the program says, with as many slots as it has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry<const N: usize> {
    pub(in crate::words) at: usize,
}

/// A list of sentences with a name each; `before` counts those of the lists before it.
macro_rules! spoken {
    ($list:ident, $before:expr; $($name:ident $kind:ident $id:literal [$($slot:literal)*];)*) => {
        #[allow(non_camel_case_types, clippy::upper_case_acronyms, reason = "the names are those of the sentences")]
        enum At { $($name,)* }
        $(
            #[doc = concat!("`", $id, "`")]
            pub const $name: Entry<{ const SLOTS: &[&str] = &[$($slot),*]; SLOTS.len() }> = Entry { at: $before + At::$name as usize };
        )*
        /// Sentences that the program says.
        pub(in crate::words) const $list: &[Declared] =
            &[$(Declared { id: $id, kind: Kind::$kind, slots: &[$($slot),*], marked: false },)*];
    };
}

macro_rules! paged {
    ($($kind:ident $id:literal [$($slot:literal)*];)*) => {
        /// Sentences that templates say.
        pub(in crate::words) const PAGED: &[Declared] = &[$(Declared { id: $id, kind: Kind::$kind, slots: &[$($slot),*], marked: true },)*];
    };
}

mod paged;
mod reviewed;
mod spoken;
mod taught;

pub(super) use paged::PAGED;
pub use reviewed::*;
pub use spoken::*;
pub use taught::*;

/// The slots of a sentence that the program says.
pub(super) fn slots<const N: usize>(entry: Entry<N>) -> &'static [&'static str] {
    match entry.at.checked_sub(SPOKEN.len()) {
        None => SPOKEN[entry.at].slots,
        Some(at) => match at.checked_sub(REVIEWED.len()) {
            None => REVIEWED[at].slots,
            Some(at) => TAUGHT[at].slots,
        },
    }
}
