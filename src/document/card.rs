//! The console card: what each stick does, how far each joint goes, which words name its directions, what the jaw and the
//! power switch do. Made from the arm profile alone, so that it cannot disagree with a procedure that uses that profile.

use super::figure::{self, Drawing};
use super::{Date, Field, Prose, Stamp};
use serde::Serialize;
use std::sync::Arc;

/// A console card with what is laid over it.
#[derive(Debug)]
pub struct Card {
    pub(super) content: Content,
    pub(super) stamp: Stamp,
}

impl Card {
    /// What it says.
    pub fn content(&self) -> &Content {
        &self.content
    }
    /// What is laid over it.
    pub fn stamp(&self) -> &Stamp {
        &self.stamp
    }
}

/// What a card says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Content {
    /// Printed at the head of every page.
    pub identity: Identity,
    /// The parts in printed order.
    pub blocks: Vec<Part>,
}

impl Content {
    /// Every drawing with the item that prints it.
    pub fn drawings(&self) -> impl Iterator<Item = (&str, &Arc<Drawing>)> {
        drawings(&self.blocks)
    }
}

/// Every drawing of some parts with the item that prints it.
pub(super) fn drawings(blocks: &[Part]) -> impl Iterator<Item = (&str, &Arc<Drawing>)> {
    blocks.iter().filter_map(|part| match part {
        Part::Drawn(drawn) => Some((drawn.item.as_str(), &drawn.drawing)),
        Part::Controls(_) => None,
    })
}

/// Which arm it is of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Identity {
    /// `doc.title`: the arm.
    pub title: Field,
    /// `doc.revision` of the profile.
    pub revision: Field,
    /// `doc.date` of the profile.
    pub date: Date,
    /// `doc.digest`: the short code of the profile's digest.
    pub code: Field,
}

/// A part of a card.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "block", rename_all = "kebab-case")]
pub enum Part {
    /// A drawing: the sticks, or the travel.
    Drawn(Drawn),
    /// Power, stop and jaw.
    Controls(Box<Controls>),
}

/// A drawing under its heading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Drawn {
    /// Its id: `sticks` or `travel`.
    pub item: String,
    /// What is to be known about it.
    pub notes: Vec<Prose>,
    /// What is drawn.
    #[serde(serialize_with = "figure::values")]
    pub drawing: Arc<Drawing>,
}

/// A grip level.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Level {
    /// As engraved.
    pub engraved: Field,
    /// Force of each jaw.
    pub force: Field,
}

/// Power, stop and jaw.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Controls {
    /// Always `controls`.
    pub item: &'static str,
    /// What to find true before power on; each has a box to tick.
    pub checks: Vec<Prose>,
    /// How power goes on.
    pub on: Prose,
    /// How it goes off, and what that is not.
    pub off: Vec<Prose>,
    /// Where the stop control is.
    pub stop: Prose,
    /// What arm and jaw do when power is lost.
    pub loss: Prose,
    /// The engraved name of the jaw.
    pub jaw: Field,
    /// How to work it.
    pub control: Prose,
    /// How far it opens.
    pub range: Field,
    /// Its grip levels.
    pub levels: Vec<Level>,
}
