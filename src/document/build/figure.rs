//! The figure of a step: what the survey of space found, as a subject to be drawn.
//!
//! Invariant: the distance marked is the one the sweep gave for the whole move, with all bands in it, rounded down; where no
//! certificate stands, it is said how near something comes.

use super::place::At;
use super::situation::{angle, view_title};
use super::told::apart;
use super::{Basis, Sources};
use crate::document::figure::{Body, Cone, Nearest, Role, Side, Stance, Subject, distance, draw};
use crate::document::{Field, Figure, Prose};
use crate::geometry::chain::{JointBox, Placed};
use crate::geometry::sight::nearest_points;
use crate::geometry::solid::Solid;
use crate::geometry::{Frame, Vec3, metres};
use crate::model::cell::Cell;
use crate::model::solid::um;
use crate::proof::Examined;
use crate::space::Stretch;
use crate::space::leg::nominal;
use crate::space::near::Near;
use crate::space::scene::{Scene, What};
use crate::space::sight::tool_point;
use crate::text::Files;
use crate::trace::RowId;
use crate::trace::state::{Known, Readout};
use crate::units::{Angle, sin_cos};
use crate::words::{Words, ids};
use std::sync::Arc;

/// Which steps get a figure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Figures {
    /// None.
    None,
    /// Those that enter or leave a station, come near to something, or carry a load where it can fall farthest.
    #[default]
    Near,
    /// Every step that moves the arm.
    All,
}

impl Figures {
    /// Each with its word and one line on it.
    pub const ALL: [(&'static str, Figures, &'static str); 3] = [
        ("none", Figures::None, "no drawings"),
        ("near", Figures::Near, "steps that enter or leave a station, come near to something, or carry a load where it can fall farthest"),
        ("all", Figures::All, "every step that moves the arm"),
    ];

    /// The choice of a word.
    pub fn named(word: &str) -> Option<Figures> {
        Figures::ALL.iter().find(|(name, ..)| *name == word).map(|(_, figures, _)| *figures)
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        Figures::ALL.iter().find(|(_, figures, _)| *figures == self).map_or("", |(name, ..)| name)
    }
}

/// The widest part of a turn that is drawn in one, in thousandths of a degree; twice that where two joints move.
const PART: i64 = 4000;
/// The most parts of a turn.
const PARTS: i64 = 48;
/// An eye nearer than this to the plane of the arm is on neither side, in metres.
const ASIDE: f64 = 0.3;
/// A jaw nearer than this to the axis of the arm gives no direction, in metres.
const ON_AXIS: f64 = 0.05;

/// The figure of one step in English, whatever it comes near to; none if it moves nothing, or if nothing was looked at.
pub fn figure(examined: &Examined, files: &Files, row: RowId) -> Option<Figure> {
    let sources = Sources { figures: Figures::All, ..Sources::of(files) };
    let basis = Basis::examined(examined, &sources);
    let (frame, step) = basis.trace.step_of(row);
    let at = basis.at(frame);
    basis.figure(at, row, &basis.number(at, at.procedure.step(step)))
}

impl Basis<'_> {
    /// The figure of a step, if it is to have one.
    pub(super) fn figure(&self, at: At<'_>, row: RowId, number: &str) -> Option<Figure> {
        let scene = self.survey.scene.as_deref().ok()?;
        let stretches = self.survey.of(row);
        if self.sources.figures == Figures::None {
            return None;
        }
        let (stretch, near) = self.survey.tightest(row)?;
        let words = self.words();
        let drafted = Drafter { at, scene, stretch, near, words };
        let within = scene.near(at.procedure.policy.near);
        let wanted = || drafted.near.room() <= within || stretches.iter().any(|s| is_at_station(scene, s)) || self.falls_farthest(row);
        if self.sources.figures == Figures::Near && !wanted() {
            return None;
        }
        let item = format!("f{number}");
        let subject = drafted.subject(&item, number);
        let drawing = draw(&subject, self.sources.edition.size_of_figures(), words)?;
        let mut caption = Vec::new();
        let mut say = |words: String| caption.push(Prose::plain(format!("{item}.caption{}", caption.len() + 1), words));
        say(drafted.nearest_words());
        // A joint left somewhere in a stretch is drawn at one of its places.
        let leg = &stretch.leg;
        for (i, joint) in at.procedure.arm.joints.iter().enumerate().filter(|(i, _)| leg.moving.iter().all(|j| j.at() != *i)) {
            let open = |r: &Readout| matches!(r.known, Known::Range | Known::UnreadRange) && nominal(r) == leg.start[i];
            if self.trace.before(row).any(|e| open(&e.state.joints()[i])) {
                say(words.fill(ids::FIGURE_LEFT_OPEN, [&joint.engraved, &angle(joint, leg.start[i])]));
            }
        }
        if stretches.len() > 1 {
            say(words.say(ids::FIGURE_SEVERAL).to_owned());
        }
        Some(Figure {
            step: Field::new(format!("{item}.step"), words.fill(ids::STEP_HEAD, [number])),
            caption,
            drawing: Arc::new(drawing),
            item,
        })
    }

    /// Whether a load can nowhere fall farther than at a step.
    fn falls_farthest(&self, row: RowId) -> bool {
        let most = |load| self.survey.reach.carries.iter().filter(|c| c.load == load).filter_map(|c| c.fall).max();
        self.survey.carries(row).iter().any(|c| c.fall.is_some() && c.fall == most(c.load))
    }
}

/// Whether a stretch enters or leaves a station.
fn is_at_station(scene: &Scene, stretch: &Stretch) -> bool {
    let ends = [&stretch.leg.start, &stretch.leg.end].map(|angles| scene.grip_centre(&placed(scene, &mdeg(angles))));
    let near = scene.spots.iter().flatten().any(|spot| {
        let reach = spot.approach_within.max(scene.contact_travel) as f64 / 1e6;
        ends.iter().any(|end| end.distance(metres(spot.point)) <= reach)
    });
    stretch.leg.transfer.is_some() || near
}

fn mdeg(angles: &[Angle]) -> Vec<i64> {
    angles.iter().map(|a| a.0).collect()
}

fn placed(scene: &Scene, angles: &[i64]) -> Placed {
    scene.chain().place_exact(angles)
}

/// One figure in the making.
struct Drafter<'a> {
    at: At<'a>,
    scene: &'a Scene,
    stretch: &'a Stretch,
    near: &'a Near,
    words: &'a Words,
}

impl Drafter<'_> {
    fn subject(&self, item: &str, number: &str) -> Subject {
        let (start, end) = (mdeg(&self.stretch.leg.start), mdeg(&self.stretch.leg.end));
        let (first, last) = (placed(self.scene, &start), placed(self.scene, &end));
        Subject {
            item: item.to_owned(),
            step: number.to_owned(),
            stance: self.stance(&last),
            bodies: self.bodies(&first, &last),
            swept: self.swept(),
            path: self.along().iter().map(|angles| self.tool(&placed(self.scene, angles))).collect(),
            joints: last.axes.iter().map(|a| (a.origin, a.direction)).collect(),
            nearest: self.nearest(item),
            sight: self.sight(&last),
        }
    }

    fn tool(&self, at: &Placed) -> Vec3 {
        let mark = tool_point(self.scene, &self.at.procedure.arm, self.stretch.tool);
        at.carriers[mark.carrier].point(metres(mark.point))
    }

    fn bodies(&self, first: &Placed, last: &Placed) -> Vec<Body> {
        let cell = &self.at.procedure.cell;
        bodies((self.scene, cell), &self.stretch.present, last, Some((self.stretch.leg.moved(), first)))
    }

    /// Angles along the way, its ends included; of two joints, as they would go in step.
    fn along(&self) -> Vec<Vec<i64>> {
        let (start, end) = (&self.stretch.leg.start, &self.stretch.leg.end);
        let widest = start.iter().zip(end).map(|(a, b)| (b.0 - a.0).abs()).max().unwrap_or(0);
        let parts = (widest / PART + 1).min(PARTS);
        (0..=parts).map(|k| start.iter().zip(end).map(|(a, b)| a.0 + (b.0 - a.0) * k / parts).collect()).collect()
    }

    /// Every solid that moves, along the way; of two joints, along many ways side by side, as far as their order permits.
    fn swept(&self) -> Vec<Vec<Solid>> {
        let leg = &self.stretch.leg;
        let ways: Vec<Vec<Vec<i64>>> = match leg.moving[..] {
            [one, two] => {
                let span = |j: crate::model::JointId| (leg.start[j.at()].0, leg.end[j.at()].0 - leg.start[j.at()].0);
                let parts = |j| (span(j).1.abs() / (2 * PART) + 1).min(PARTS / 4);
                let at = |k: i64, m: i64| {
                    let mut angles = mdeg(&leg.start);
                    angles[one.at()] = span(one).0 + span(one).1 * k / parts(one);
                    angles[two.at()] = span(two).0 + span(two).1 * m / parts(two);
                    angles
                };
                let permitted = |angles: &Vec<i64>| !leg.region.as_ref().is_some_and(|r| r.excludes(&JointBox::point(angles)));
                (0..=parts(one)).map(|k| (0..=parts(two)).map(|m| at(k, m)).filter(permitted).collect()).collect()
            }
            _ => vec![self.along()],
        };
        let moves = |i: &&usize| self.scene.things[**i].carrier >= self.stretch.leg.moved();
        let mut out = Vec::new();
        for way in &ways {
            let places: Vec<Placed> = way.iter().map(|angles| placed(self.scene, angles)).collect();
            for i in self.stretch.present.iter().filter(moves) {
                let body = &self.scene.solids.bodies()[*i];
                for part in &body.parts {
                    out.push(places.iter().flat_map(|at| carried(std::slice::from_ref(part), &at.carriers[body.carrier])).collect());
                }
            }
        }
        out
    }

    fn stance(&self, last: &Placed) -> Stance {
        let foot = self.scene.chain().base().at;
        let out = self.scene.grip_centre(last) - foot;
        let length = (out.x * out.x + out.y * out.y).sqrt();
        let heading = if length > ON_AXIS {
            [out.x / length, out.y / length]
        } else {
            let (sine, cosine) = sin_cos(self.at.procedure.cell.mount.as_ref().map_or(Angle(0), |m| m.heading));
            [cosine, sine]
        };
        // From the side on which the operator looks.
        let eye = self.view().and_then(|v| v.position).map(|p| metres(um(p)) - foot);
        let left = eye.is_some_and(|e| heading[0] * e.y - heading[1] * e.x > ASIDE);
        Stance { foot, heading, side: if left { Side::Left } else { Side::Right } }
    }

    fn view(&self) -> Option<&crate::model::cell::View> {
        match &self.stretch.sight {
            crate::space::sight::Sighted::Through(look, _) => Some(&self.at.procedure.cell.views[look.view.at()]),
            _ => None,
        }
    }

    fn sight(&self, last: &Placed) -> Option<Cone> {
        let view = self.view()?;
        let half = view.field.map_or((0.0, 1.0), |f| sin_cos(Angle(f.value.0 / 2)));
        Some(Cone {
            name: self.words.fill(ids::FIGURE_IN_VIEW, [&view_title(view, self.words)]),
            eye: metres(um(view.position?)),
            at: view.looks_at.map_or_else(|| self.tool(last), |p| metres(um(p))),
            half,
        })
    }

    fn nearest(&self, item: &str) -> Option<Nearest> {
        let ((moving, other), angles) = self.near.place()?;
        let bodies = self.scene.solids.bodies();
        let [a, b] = nearest_points(self.scene.chain(), &bodies[*moving], &bodies[*other], angles)?;
        let title = |i: usize| self.scene.things[i].title.clone();
        Some(Nearest {
            moving: a,
            other: b,
            bodies: [title(*moving), title(*other)],
            distance: distance(item, apart(self.near, self.words)),
        })
    }

    fn nearest_words(&self) -> String {
        let (title, words, far) = (|i: usize| self.scene.things[i].title.as_str(), self.words, apart(self.near, self.words));
        match self.near.place() {
            Some(((moving, other), _)) => {
                let left_out = matches!(self.near, Near::Apart { but_touching: true, .. });
                let said = if left_out { ids::FIGURE_NEAREST_UNTOUCHED } else { ids::FIGURE_NEAREST };
                words.fill(said, [&words.fill(ids::LIST_AND, [title(*moving), title(*other)]), &far])
            }
            None if *self.near == Near::Nothing => words.say(ids::FIGURE_NOTHING_NEAR).to_owned(),
            None => words.fill(ids::FIGURE_APART, [&far]),
        }
    }
}

/// Each thing that is there, its parts of one name together, with the arm placed; what moves also where it was placed before, from a
/// carrier on.
pub(super) fn bodies((scene, cell): (&Scene, &Cell), present: &[usize], last: &Placed, before: Option<(usize, &Placed)>) -> Vec<Body> {
    let mut out: Vec<Body> = Vec::new();
    let mut put = |name: &str, key: String, role: Role, parts: Vec<Solid>| match out.iter_mut().find(|b| b.role == role && b.name == name) {
        Some(body) => body.parts.extend(parts),
        None => out.push(Body { name: name.to_owned(), key, role, parts }),
    };
    for (id, body) in &scene.slow {
        put(&cell.obstacles[id.at()].name.value, "slow".to_owned(), Role::Slow, body.parts.clone());
    }
    for (i, thing) in present.iter().map(|i| (*i, &scene.things[*i])) {
        let here = |at: &Placed| carried(&scene.solids.bodies()[i].parts, &at.carriers[thing.carrier]);
        let (still, moving) = match thing.what {
            What::Link(_) | What::Tool(_) => (Role::End, Some(Role::Start)),
            What::Held(_) => (Role::Held, Some(Role::HeldAtStart)),
            What::Rest(..) => (Role::Resting, None),
            What::Solid(_) => (Role::Obstacle, None),
            What::KeepOut(_) => (Role::KeepOut, None),
            What::Unsurveyed(_) => (Role::Unsurveyed, None),
        };
        if let (Some(role), Some((_, first))) = (moving, before.filter(|(from, _)| thing.carrier >= *from)) {
            put(&thing.title, format!("body{i}"), role, here(first));
        }
        put(&thing.title, format!("body{i}"), still, here(last));
    }
    out
}

/// Solids carried elsewhere; one that cannot be carried there, beyond all bounds, is left out.
fn carried(parts: &[Solid], frame: &Frame) -> Vec<Solid> {
    parts.iter().filter_map(|s| if s.is_half_space() { Some(s.clone()) } else { s.moved(frame).ok() }).collect()
}
