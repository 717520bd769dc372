//! Reading an arm profile.

mod acceptance;
mod console;
mod jaw;
mod joint;
mod pose;

pub use pose::narrow_bands;

use super::keys::*;
use super::*;
use crate::diag::Diagnostic;
use crate::model::complete;
use crate::model::keys::key;
use crate::model::names::{self, For};
use crate::model::read::{self, Read};
use crate::syntax::record::Record;

/// Reads an arm profile. Every problem is reported; there is an arm only if all of the file could be read.
pub fn load(file: FileId, text: &str) -> (Option<Arm>, Vec<Diagnostic>) {
    read::whole(file, text, "the arm profile", |r| build(r, text))
}

fn build(r: &Record<'_>, text: &str) -> Option<Arm> {
    let name = r.name(key!(ARM, "name"));
    let title = r.words(key!(ARM, "title"));
    let revision = r.words(key!(ARM, "revision"));
    let date = r.date(key!(ARM, "date"));
    let invented = r.flag(key!(ARM, "invented"));
    let origin = r.origin(key!(ARM, "origin"));
    let includes = r.words(key!(ARM, "includes"));
    let (supply, ramp) = (r.quantity(key!(ARM, "supply")), r.quantity(key!(ARM, "ramp")));
    name.iter().for_each(|n| names::check(r, For::Thing("arm"), n));

    let placed = r.has(key!(ARM, "link").name);
    let joints = r.rows(key!(ARM, "joint"), |r| joint::joint(r, placed));
    let known = Known::of(&joints);
    names::check_all(r, For::Joint, known.names.iter().flatten());
    let console = r.get(key!(ARM, "console")).table(|r| console::console(r, &known)).flatten();
    let jaw = r.get(key!(ARM, "jaw")).table(jaw::jaw).flatten();
    let signals = r.rows(key!(ARM, "signal"), |r| {
        let (name, cue) = (r.name(key!(SIGNAL, "name")), r.words(key!(SIGNAL, "cue")));
        Some(Signal { name: name?, cue: cue?.value })
    });
    let tools = r.rows(key!(ARM, "tool"), |r| {
        let (name, mass) = (r.name(key!(TOOL, "name")), r.quantity(key!(TOOL, "mass")));
        let leaves_jaw_free = r.flag(key!(TOOL, "leaves-jaw-free"));
        let (centre, point) = (r.point(key!(TOOL, "centre")), r.point(key!(TOOL, "point")));
        let shapes = r.shapes(key!(TOOL, "shape"));
        Some(Tool { name: name?, mass, leaves_jaw_free, shapes: shapes?, centre, point })
    });
    let poses = r.rows(key!(ARM, "pose"), |r| pose::pose(r, text, &known));
    let links = r.rows(key!(ARM, "link"), |r| link(r, &known));
    names::check_all(r, For::Signal, signals.iter().flatten().map(|s| &s.name));
    names::check_all(r, For::Thing("tool"), tools.iter().flatten().map(|t| &t.name));
    names::check_all(r, For::Thing("pose"), poses.iter().flatten().map(|p| &p.name));
    let acceptance = r.get(key!(ARM, "acceptance")).table(|r| acceptance::acceptance(r, invented, &poses, &known)).flatten();
    // Whether the record holds is judged with the mesh files at hand.
    let standing = if invented { Standing::Invented } else { Standing::Unaccepted };
    let arm = Arm {
        file: r.file(),
        name: name?,
        title: title?.value,
        revision: revision?,
        date: date?,
        standing,
        origin: origin?,
        includes: includes?.value,
        supply,
        ramp,
        joints: joints.into_iter().collect::<Option<_>>()?,
        console: console?,
        jaw: jaw?,
        signals: signals.into_iter().collect::<Option<_>>()?,
        tools: tools.into_iter().collect::<Option<_>>()?,
        poses: poses.into_iter().collect::<Option<_>>()?,
        links: links.into_iter().collect::<Option<_>>()?,
        acceptance,
    };
    complete::arm(&arm).into_iter().for_each(|gap| r.report(gap));
    Some(arm)
}

/// The joints so far, by name, whether or not the rest of them could be read.
struct Known<'j> {
    names: Vec<Option<Spanned<String>>>,
    joints: Vec<Option<&'j Joint>>,
}

impl<'j> Known<'j> {
    fn of(joints: &'j [Option<Joint>]) -> Known<'j> {
        Known {
            names: joints.iter().map(|j| j.as_ref().map(|j| j.name.clone())).collect(),
            joints: joints.iter().map(Option::as_ref).collect(),
        }
    }
    fn words(&self) -> impl Iterator<Item = &str> {
        self.names.iter().flatten().map(|n| n.value.as_str())
    }
    /// The joint of a written name. An unknown one is reported, unless a joint could not be read and may have been it.
    fn find(&self, r: &Record<'_>, name: &Spanned<String>) -> Option<JointId> {
        let at = self.names.iter().position(|n| n.as_ref().is_some_and(|n| n.value == name.value));
        if at.is_none() && self.names.iter().all(Option::is_some) {
            r.report(names::unknown(name.span, "joint", &name.value, self.words()));
        }
        at.and_then(|i| u16::try_from(i).ok()).map(JointId)
    }
    fn name(&self, id: JointId) -> &str {
        self.names[id.at()].as_ref().map_or("", |n| &n.value)
    }
}

fn link(r: &Record<'_>, known: &Known<'_>) -> Option<Link> {
    let name = r.words(key!(LINK, "name"));
    let joint = r.name(key!(LINK, "joint"));
    let id = joint.as_ref().and_then(|n| known.find(r, n));
    let (mass, centre) = (r.quantity(key!(LINK, "mass")), r.point(key!(LINK, "centre")));
    let shapes = r.shapes(key!(LINK, "shape"));
    Some(Link { joint: id, name: name?, mass, centre, shapes: shapes? })
}
