//! What the view in force shows of a motion: whether the tool point stays in sight, and which way it goes in the picture.
//!
//! Links, tools and loads that move with the last joint hide nothing: the tool point is seen on them. All else that is there
//! does, zones that nobody may enter included, unless the view looks through it. What is reached around or touched at a
//! station hides nothing there: within the station's approach.
//!
//! Invariant: what is told as seen is certified for every angle of the stretch; a view without a place shows nothing.

use super::clearance::{Nearest, stations};
use super::leg::Leg;
use super::scene::{Scene, What};
use crate::geometry::chain::JointBox;
use crate::geometry::picture::{Agreement, Motion, Picture, Way};
use crate::geometry::region::Region;
use crate::geometry::sight::{self, Blocked, Field, Mark, Opaque, Question, Verdict};
use crate::geometry::{Fault, Vec3, metres, micrometres};
use crate::model::arm::Arm;
use crate::model::cell::{Cell, View};
use crate::model::solid::{direction, um};
use crate::model::{JointId, StationId, ToolId, ViewId};
use crate::units::{Angle, Ratio, radians};
use std::collections::HashMap;
use std::sync::Arc;

/// The most boxes one stretch may be cut into.
const CAP: usize = 4096;

/// What is to be seen stands off the surface it belongs to by this much, in metres.
const OFF: f64 = 0.002;

/// What the view in force shows of a stretch.
#[derive(Clone, Debug)]
pub enum Sighted {
    /// No view is in force.
    NoView,
    /// The view in force has no place in the cell.
    NoPlace(ViewId),
    /// It was looked through; and where the policy wants the nearest thing seen, whether it is.
    Through(Arc<Look>, Option<Gap>),
}

/// The gap between something that moves and what it comes nearest to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// The two, by their place in the scene; the second moves.
    pub pair: (usize, usize),
    /// The middle of the gap in the cell, metres.
    pub middle: Vec3,
    /// Whether the view shows it.
    pub seen: bool,
}

/// What a view shows of a stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// The view.
    pub view: ViewId,
    /// Whether the tool point stays in sight.
    pub shows: Shows,
    /// Whether the edge of its picture is known.
    pub edge: bool,
    /// How the tool point moves in the picture with each joint that moves; empty if it is not known what it looks at.
    pub motions: Vec<Seen>,
}

/// Whether the tool point stays in sight.
#[derive(Clone, Debug, PartialEq)]
pub enum Shows {
    /// Over the whole stretch.
    All,
    /// Not certainly.
    Lost(Lost),
}

/// Where the tool point is lost from sight.
#[derive(Clone, Debug, PartialEq)]
pub struct Lost {
    /// What is in the way, by its place in the scene; none where the picture ends.
    pub by: Option<usize>,
    /// A set of angles at which it is lost, or cannot be told from lost.
    pub at: Vec<i64>,
    /// Whether it is lost there, or only too close to call.
    pub certain: bool,
    /// Of one joint that moves, how far it can go with the tool point in sight; none if not even at the start, or of two.
    pub until: Option<i64>,
}

/// How one joint moves the tool point in the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// The joint.
    pub joint: JointId,
    /// What it looks like.
    pub motion: Motion,
    /// What the direction word says in plain sense, if it says a direction of a picture, and whether the picture agrees.
    pub word: Option<(Way, Agreement)>,
    /// The same of what is done with the stick.
    pub stick: Option<(Way, Agreement)>,
}

/// Words with a plain sense in a picture. Others (fold, extend, in, out, clockwise, push, pull) have none: what they do in a
/// picture depends on the arm and on where the eye is, and nobody expects one direction of them.
const SENSES: [(&str, Way); 8] = [
    ("left", Way::Left),
    ("right", Way::Right),
    ("up", Way::Up),
    ("raise", Way::Up),
    ("lift", Way::Up),
    ("down", Way::Down),
    ("lower", Way::Down),
    ("sink", Way::Down),
];

/// The plain sense of a direction word or of what is done with a stick: of the one direction it names.
pub fn sense(words: &str) -> Option<Way> {
    let each = words.split(|c: char| !c.is_alphanumeric());
    let mut found = each.filter_map(|word| SENSES.iter().find(|(w, _)| w.eq_ignore_ascii_case(word)).map(|(_, way)| *way));
    let first = found.next()?;
    found.all(|way| way == first).then_some(first)
}

/// Looks through the views of one scene.
pub struct Watcher<'a> {
    scene: &'a Scene,
    known: HashMap<Key, Arc<Look>>,
}

#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    root: JointBox,
    region: Option<Region>,
    ends: Vec<i64>,
    present: Vec<usize>,
    view: ViewId,
    tool: Option<ToolId>,
}

impl<'a> Watcher<'a> {
    /// One that has looked at nothing yet.
    pub fn new(scene: &'a Scene) -> Watcher<'a> {
        Watcher { scene, known: HashMap::new() }
    }

    /// What a view shows of a stretch.
    pub fn look(
        &mut self,
        (arm, cell): (&Arm, &Cell),
        view: Option<ViewId>,
        tool: Option<ToolId>,
        leg: &Leg,
        present: &[usize],
    ) -> Result<Sighted, Fault> {
        let Some(view) = view else { return Ok(Sighted::NoView) };
        let data = &cell.views[view.at()];
        if data.position.is_none() {
            return Ok(Sighted::NoPlace(view));
        }
        let ends = leg.start.iter().chain(&leg.end).map(|a| a.0).collect();
        let key = Key { root: leg.root.clone(), region: leg.region.clone(), ends, present: present.to_vec(), view, tool };
        if let Some(known) = self.known.get(&key) {
            return Ok(Sighted::Through(known.clone(), None));
        }
        let mark = tool_point(self.scene, arm, tool);
        let shows = shows(self.scene, cell, view, mark, leg, present)?;
        let motions = picture(data)?.map(|p| motions(self.scene, arm, &p, mark, leg)).unwrap_or_default();
        let look = Arc::new(Look { view, shows, edge: field(data).is_some(), motions });
        self.known.insert(key, look.clone());
        Ok(Sighted::Through(look, None))
    }
}

impl Sighted {
    /// Looks whether the view shows what comes nearest too, where it comes within `near` margins.
    pub fn look_at_gap(
        &mut self,
        scene: &Scene,
        cell: &Cell,
        nearest: Option<Nearest>,
        near: Ratio,
        present: &[usize],
    ) -> Result<(), Fault> {
        let within = |n: &Nearest| i128::from(n.distance) * 1_000_000 <= i128::from(scene.margin) * i128::from(near.0);
        if let (Sighted::Through(look, seen), Some(nearest)) = (self, nearest.filter(within)) {
            *seen = gap(scene, cell, look.view, &nearest, present)?;
        }
        Ok(())
    }
}

/// Whether a view shows the gap between what moves and what it comes nearest to.
fn gap(scene: &Scene, cell: &Cell, view: ViewId, nearest: &Nearest, present: &[usize]) -> Result<Option<Gap>, Fault> {
    let Nearest { pair, angles, .. } = nearest;
    let bodies = scene.solids.bodies();
    let Some([a, b]) = sight::nearest_points(scene.chain(), &bodies[pair.0], &bodies[pair.1], angles) else { return Ok(None) };
    let middle = (a + b) / 2.0;
    Ok(sees(scene, cell, view, middle, angles, present)?.map(|seen| Gap { pair: *pair, middle, seen }))
}

/// Whether a view shows the gap between two that come near to each other; none if the view has no place.
pub fn seen_gap(scene: &Scene, cell: &Cell, view: ViewId, nearest: &Nearest, present: &[usize]) -> Result<Option<bool>, Fault> {
    Ok(gap(scene, cell, view, nearest, present)?.map(|gap| gap.seen))
}

/// The point that does the work: of the tool fitted, else between the pads.
pub fn tool_point(scene: &Scene, arm: &Arm, tool: Option<ToolId>) -> Mark {
    let of_tool = tool.and_then(|t| arm.tools[t.at()].point);
    Mark { carrier: scene.chain().joints(), point: of_tool.map_or(scene.grip, um) }
}

/// The views that show the tool point over the whole of a stretch.
pub fn others(scene: &Scene, arm: &Arm, cell: &Cell, tool: Option<ToolId>, leg: &Leg, present: &[usize]) -> Vec<ViewId> {
    let mark = tool_point(scene, arm, tool);
    let views = (0u16..).zip(&cell.views).filter(|(_, v)| v.position.is_some()).map(|(i, _)| ViewId(i));
    views.filter(|view| matches!(shows(scene, cell, *view, mark, leg, present), Ok(Shows::All))).collect()
}

/// Whether a view shows a point of the cell (metres) with the joints at these angles; none if the view has no place. A point on
/// a surface is seen from the side the surface faces.
pub fn sees(scene: &Scene, cell: &Cell, view: ViewId, point: Vec3, angles: &[i64], present: &[usize]) -> Result<Option<bool>, Fault> {
    let data = &cell.views[view.at()];
    let Some(eye) = data.position.map(um) else { return Ok(None) };
    let back = metres(eye) - point;
    let off = if back.length() > OFF { back * (OFF / back.length()) } else { Vec3::ZERO };
    let mark = Mark { carrier: 0, point: micrometres(point + off, "a point to be seen")? };
    let (_, mut opaque) = opaque(scene, data, present, None);
    // Nothing reaches around anything here: a place behind a support is not seen.
    opaque.iter_mut().for_each(|o| o.spared.clear());
    let root = JointBox::point(angles);
    let question = question(scene, eye, data, mark, &opaque, &root, None);
    Ok(Some(sight::judge(&question)? == Verdict::Seen))
}

fn shows(scene: &Scene, cell: &Cell, view: ViewId, mark: Mark, leg: &Leg, present: &[usize]) -> Result<Shows, Fault> {
    let data = &cell.views[view.at()];
    let Some(eye) = data.position.map(um) else { return Err(Fault::Missing("the place of a view")) };
    let (things, opaque) = opaque(scene, data, present, Some(mark.carrier));
    let question = question(scene, eye, data, mark, &opaque, &leg.root, leg.region.as_ref());
    let (Blocked { by, at }, certain) = match sight::judge(&question)? {
        Verdict::Seen => return Ok(Shows::All),
        Verdict::Hidden(blocked) => (blocked, true),
        Verdict::Open(blocked) => (blocked, false),
    };
    let until = match leg.moving[..] {
        [joint] => sight::seen_until(&question, joint.at(), leg.end[joint.at()] > leg.start[joint.at()])?,
        _ => None,
    };
    let by = match by {
        sight::Cause::Body(i) => things.get(i).copied(),
        sight::Cause::Edge => None,
    };
    Ok(Shows::Lost(Lost { by, at, certain, until }))
}

fn question<'q>(
    scene: &'q Scene,
    eye: [i64; 3],
    view: &View,
    mark: Mark,
    opaque: &'q [Opaque<'q>],
    root: &'q JointBox,
    region: Option<&'q Region>,
) -> Question<'q> {
    Question { chain: scene.chain(), eye, field: field(view), mark, opaque, root, region, cap: CAP }
}

/// The cone that a view takes in, if the cell says.
fn field(view: &View) -> Option<Field> {
    let (looks_at, field) = (view.looks_at?, view.field?.value);
    Some(Field { looks_at: um(looks_at), half: radians(field) / 2.0 })
}

/// How a view shows the cell; none if it does not say what it looks at, or which way is up.
pub fn picture(view: &View) -> Result<Option<Picture>, Fault> {
    let (Some(eye), Some(looks_at)) = (view.position, view.looks_at) else { return Ok(None) };
    let up = metres(view.up.map_or([0, 0, 1], |axis| direction(axis.value)).map(|c| c * 1_000_000));
    match Picture::new(um(eye), um(looks_at), up, view.mirrored) {
        Err(Fault::Degenerate(_)) => Ok(None),
        picture => picture.map(Some),
    }
}

/// What can be in the way, with its place in the scene.
fn opaque<'s>(scene: &'s Scene, view: &View, present: &[usize], carrier: Option<usize>) -> (Vec<usize>, Vec<Opaque<'s>>) {
    let looks_through = |what: &What| match what {
        What::Solid(id) | What::KeepOut(id) | What::Unsurveyed(id) => view.through.iter().any(|o| o.value == *id),
        _ => false,
    };
    let mut out = (Vec::new(), Vec::new());
    for &i in present {
        let thing = &scene.things[i];
        if Some(thing.carrier) == carrier || looks_through(&thing.what) {
            continue;
        }
        out.0.push(i);
        out.1.push(Opaque { body: &scene.solids.bodies()[i], spared: spared(scene, i) });
    }
    out
}

/// Where a body hides nothing: near the stations at which it is reached around or touched.
pub(super) fn spared(scene: &Scene, thing: usize) -> Vec<([i64; 3], i64)> {
    let at = |station: StationId| scene.spots[station.at()].iter().map(|spot| (spot.point, spot.approach_within)).collect();
    match scene.things[thing].what {
        What::Rest(_, station) => at(station),
        _ => stations(scene)
            .filter(|(_, spot)| spot.support.contains(&thing) || spot.approach.iter().any(|(a, b)| *a == thing || *b == thing))
            .map(|(_, spot)| (spot.point, spot.approach_within))
            .collect(),
    }
}

fn motions(scene: &Scene, arm: &Arm, picture: &Picture, mark: Mark, leg: &Leg) -> Vec<Seen> {
    let start: Vec<i64> = leg.start.iter().map(|a| a.0).collect();
    let each = leg.moving.iter().filter_map(|joint| {
        let to = leg.end[joint.at()];
        let motion = picture.watch(scene.chain(), mark, &start, joint.at(), to.0)?;
        let positive = to > leg.start[joint.at()];
        let data = arm.joint(*joint);
        let word = if positive { &data.positive.word.value } else { &data.negative.word.value };
        let stick = arm.console.drive(*joint).map(|(_, axis)| axis.act(positive));
        let told = |words: &str| sense(words).map(|way| (way, motion.agrees(way)));
        let (word, stick) = (told(word), stick.and_then(told));
        Some(Seen { joint: *joint, motion, word, stick })
    });
    each.collect()
}

fn is_against(told: &Option<(Way, Agreement)>) -> bool {
    matches!(told, Some((_, Agreement::Reversed | Agreement::Partly(..))))
}

impl Seen {
    /// Whether the picture shows the opposite of what word or stick say, over the whole way or a part of it.
    pub fn is_reversed(&self) -> bool {
        is_against(&self.word) || is_against(&self.stick)
    }

    /// What the eye sees: "left and up, away from the eye"; none if next to nothing.
    pub fn words(&self) -> Option<String> {
        let ways: Vec<&str> = self.motion.ways().into_iter().map(say).collect();
        let deep = self.motion.recedes().map(|away| if away { "away from you" } else { "nearer to you" });
        match (ways.is_empty(), deep) {
            (true, None) => None,
            (true, Some(deep)) => Some(deep.to_owned()),
            (false, None) => Some(ways.join(" and ")),
            (false, Some(deep)) => Some(format!("{}, {deep}", ways.join(" and "))),
        }
    }
}

/// An angle for people, to a tenth of a degree; nobody drives finer than that.
pub fn tenths(mdeg: i64) -> String {
    Angle((mdeg + 50).div_euclid(100) * 100).show()
}

/// A direction in words.
pub fn say(way: Way) -> &'static str {
    match way {
        Way::Right => "right",
        Way::Left => "left",
        Way::Up => "up",
        Way::Down => "down",
    }
}
