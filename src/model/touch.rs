//! What may touch: the names of `Touching allowed:` lines and of a station's `approach`, as bodies.
//!
//! Invariant: a name means the same bodies wherever it is written.

use super::arm::Arm;
use super::cell::Cell;
use super::{JointId, LinkId, LoadId, ObstacleId, ToolId};
use crate::text::{Span, Spanned};

/// Something with a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Body {
    /// A link of the arm.
    Link(LinkId),
    /// A tool.
    Tool(ToolId),
    /// A load.
    Load(LoadId),
    /// Something that stands in the way.
    Obstacle(ObstacleId),
}

impl Body {
    /// What people call it.
    pub fn title<'a>(self, arm: &'a Arm, cell: &'a Cell) -> &'a str {
        match self {
            Body::Link(id) => &arm.links[id.at()].name.value,
            Body::Tool(id) => &arm.tools[id.at()].name.value,
            Body::Load(id) => &cell.loads[id.at()].title,
            Body::Obstacle(id) => &cell.obstacles[id.at()].name.value,
        }
    }
}

/// Two things that may touch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Touch {
    /// Where the two names are written.
    pub names: [Span; 2],
    /// What each of them is. None where the thing has no shape: nothing was ever held away from it.
    pub bodies: [Vec<Body>; 2],
}

impl Touch {
    /// Every pair of bodies, the first name's first.
    pub fn pairs(&self) -> impl Iterator<Item = (Body, Body)> {
        self.bodies[0].iter().flat_map(|a| self.bodies[1].iter().map(|b| (*a, *b)))
    }
}

/// The words that mean the jaw on any arm.
const JAW: [&str; 3] = ["jaw", "jaw pads", "pads"];

/// The bodies of a written name; `None` if neither arm nor cell has such a thing. A joint's last link is called by its own name
/// or as the jaw; loads and stations by name or title; a station stands for what bears a load there; equipment for what is
/// there in one of its states.
pub(super) fn bodies(arm: &Arm, cell: &Cell, written: &str) -> Option<Vec<Body>> {
    let bare = ["the ", "The "].iter().find_map(|the| written.strip_prefix(the)).unwrap_or(written).trim();
    let is = |name: &str| name.eq_ignore_ascii_case(bare);
    if JAW.iter().any(|j| is(j)) {
        return Some(jaw(arm, bare));
    }
    if let Some(at) = arm.links.iter().position(|l| is(&l.name.value)) {
        return Some(Vec::from_iter(index(at).map(|i| Body::Link(LinkId(i)))));
    }
    if let Some(at) = arm.tools.iter().position(|t| is(&t.name.value)) {
        return Some(Vec::from_iter(index(at).map(|i| Body::Tool(ToolId(i)))));
    }
    if let Some(at) = cell.loads.iter().position(|l| is(&l.name.value) || is(&l.title)) {
        return Some(Vec::from_iter(index(at).map(|i| Body::Load(LoadId(i)))));
    }
    let obstacle = |at| index(at).map(|i| Body::Obstacle(ObstacleId(i)));
    let station = cell.stations.iter().find(|s| is(&s.name.value) || is(&s.title));
    if let Some(station) = station.filter(|s| !s.support.is_empty()) {
        return Some(station.support.iter().map(|o| Body::Obstacle(o.value)).collect());
    }
    if let Some(at) = cell.obstacles.iter().position(|o| is(&o.name.value)) {
        return Some(Vec::from_iter(obstacle(at)));
    }
    if station.is_some() {
        return Some(Vec::new());
    }
    let equipment = cell.equipment.iter().position(|e| is(&e.name.value))?;
    let there = |o: &super::cell::Obstacle| o.when.iter().any(|(e, _)| e.value.at() == equipment);
    Some(cell.obstacles.iter().enumerate().filter(|(_, o)| there(o)).filter_map(|(i, _)| obstacle(i)).collect())
}

/// All that moves with the last joint; for the pads, the links called so if there are any.
fn jaw(arm: &Arm, word: &str) -> Vec<Body> {
    let Some(last) = arm.joints.len().checked_sub(1).and_then(index).map(JointId) else { return Vec::new() };
    let links = || arm.links.iter().enumerate().filter(|(_, l)| l.joint == Some(last));
    let pads = |name: &str| name.to_ascii_lowercase().contains("pad");
    let only_pads = pads(word) && links().any(|(_, l)| pads(&l.name.value));
    links().filter(|(_, l)| !only_pads || pads(&l.name.value)).filter_map(|(i, _)| index(i)).map(|i| Body::Link(LinkId(i))).collect()
}

fn index(at: usize) -> Option<u16> {
    u16::try_from(at).ok()
}

/// The names there are, for messages.
pub(super) fn names<'a>(arm: &'a Arm, cell: &'a Cell) -> Vec<&'a str> {
    JAW[..2]
        .iter()
        .copied()
        .chain(cell.stations.iter().map(|s| s.name.value.as_str()))
        .chain(cell.loads.iter().map(|l| l.name.value.as_str()))
        .chain(cell.obstacles.iter().map(|o| o.name.value.as_str()))
        .chain(cell.equipment.iter().map(|e| e.name.value.as_str()))
        .chain(arm.links.iter().map(|l| l.name.value.as_str()))
        .chain(arm.tools.iter().map(|t| t.name.value.as_str()))
        .collect()
}

/// What may touch at each station, by its index. A pair with an unknown name is left out; [`super::agree`] reports it.
pub(super) fn approaches(arm: &Arm, cell: &Cell) -> Vec<Vec<Touch>> {
    let touch = |[a, b]: &[Spanned<String>; 2]| {
        Some(Touch { names: [a.span, b.span], bodies: [bodies(arm, cell, &a.value)?, bodies(arm, cell, &b.value)?] })
    };
    cell.stations.iter().map(|s| s.approach.iter().filter_map(touch).collect()).collect()
}
