//! The scene and the certificates as data.

use crate::compiled::{Margin, space as data};
use crate::geometry::solid::{Form, Solid};
use crate::geometry::sweep::{self, Verdict};
use crate::model::procedure::{LineForm, Procedure, Step};
use crate::model::touch::Touch;
use crate::space::clearance::{By, Contact};
use crate::space::near::Near;
use crate::space::scene::{Scene, Thing, What};
use crate::space::{Stretch, Survey};
use crate::trace::RowId;

/// The scene; none where nothing was looked at.
pub(super) fn space(p: &Procedure, survey: &Survey) -> Option<data::Space> {
    let scene = survey.scene.as_deref().ok()?;
    let (chain, solids) = (scene.chain(), scene.solids.bodies());
    let hinge = |h: &crate::geometry::chain::Hinge| data::Hinge { origin: h.origin, turn: h.turn, axis: h.axis };
    let meeting = |m: &crate::space::scene::Meeting| data::Meeting { a: m.a, b: m.b, point: m.point };
    Some(data::Space {
        mount: data::Mount { position: chain.mount().position, turn: chain.mount().turn },
        hinges: chain.hinges().iter().map(hinge).collect(),
        grip_centre: scene.grip,
        margin: scene.margin,
        contact_travel: scene.contact_travel,
        bodies: scene.things.iter().zip(solids).map(|(t, b)| body(p, t, b)).collect(),
        meeting: scene.meetings.iter().map(meeting).collect(),
        stations: (0..p.cell.stations.len()).map(|i| station(p, scene, i)).collect(),
    })
}

fn body(p: &Procedure, thing: &Thing, body: &crate::geometry::body::Body) -> data::Body {
    let station = |id: crate::model::StationId| p.cell.stations[id.at()].name.value.clone();
    let (name, kind) = match &thing.what {
        What::Link(id) => (&p.arm.links[id.at()].name.value, data::BodyKind::Link),
        What::Tool(id) => (&p.arm.tools[id.at()].name.value, data::BodyKind::Tool),
        What::Rest(load, at) => (&p.cell.loads[load.at()].name.value, data::BodyKind::Rest { station: station(*at) }),
        What::Held(grip) => {
            let kind = data::BodyKind::Held {
                station: grip.from.filter(|_| !grip.gripped.is_empty()).map(station),
                gripped: grip.gripped.clone(),
            };
            (&p.cell.loads[grip.load.at()].name.value, kind)
        }
        What::Solid(id) => {
            let obstacle = &p.cell.obstacles[id.at()];
            let when = obstacle.when.iter().map(|(e, s)| {
                let e = &p.cell.equipment[e.value.at()];
                (e.name.value.clone(), e.states[s.value.at()].value.clone())
            });
            (&obstacle.name.value, data::BodyKind::Obstacle { when: when.collect() })
        }
        What::KeepOut(id) => (&p.cell.obstacles[id.at()].name.value, data::BodyKind::KeepOut),
        What::Unsurveyed(id) => (&p.cell.obstacles[id.at()].name.value, data::BodyKind::Unsurveyed),
    };
    data::Body { name: name.clone(), kind, carrier: body.carrier, parts: body.parts.iter().map(part).collect(), mesh: body.closed_mesh }
}

fn part(solid: &Solid) -> data::Part {
    let points = solid.points();
    match solid.form() {
        Form::Round => data::Part::Round { points: points.to_vec(), radius: solid.radius() },
        Form::Cylinder => data::Part::Cylinder { a: points[0], b: points[1], radius: solid.radius() },
        Form::HalfSpace { normal } => data::Part::HalfSpace { point: points[0], normal },
    }
}

fn station(p: &Procedure, scene: &Scene, at: usize) -> data::Station {
    let station = &p.cell.stations[at];
    let pose = station.pose.as_ref().and_then(|name| p.arm.find_pose(&name.value)).map(|id| &p.arm.poses[id.at()]);
    let within = |angle: &Option<crate::text::Spanned<crate::units::Angle>>| {
        pose.zip(*angle).map(|(pose, a)| [a.value.0 - pose.band.value.0, a.value.0 + pose.band.value.0])
    };
    let spot = scene.spots[at].as_ref();
    data::Station {
        name: station.name.value.clone(),
        pose: pose.map_or_else(Vec::new, |pose| pose.angles.iter().map(within).collect()),
        point: spot.map(|s| s.point),
        approach_within: spot.map_or(0, |s| s.approach_within),
        support: spot.map_or_else(Vec::new, |s| s.support.clone()),
        approach: spot.map_or_else(Vec::new, |s| s.approach.iter().map(|(a, b)| [*a, *b]).collect()),
    }
}

/// Pairs of bodies that the lines of a step allow to touch.
pub(super) fn touching(survey: &Survey, step: &Step) -> Vec<[usize; 2]> {
    let Ok(scene) = &survey.scene else { return Vec::new() };
    let lines = step.lines.iter().filter_map(|l| match &l.form {
        LineForm::Touching(touches) => Some(touches),
        _ => None,
    });
    scene.pairs(lines.flatten().flat_map(Touch::pairs)).into_iter().map(|(a, b)| [a, b]).collect()
}

/// How near anything comes over the motion of a step, of all that it moves against each other but for links among themselves.
pub(super) fn nearest(survey: &Survey, row: RowId) -> Option<Margin> {
    let (scene, (_, near)) = (survey.scene.as_ref().ok()?, survey.tightest(row)?);
    let (of, value) = match near {
        Near::Nothing => return None,
        Near::Apart { least, .. } => ("clearance", *least),
        Near::Close(distance, _) => ("gap", *distance),
    };
    let title = |i: usize| scene.things[i].title.as_str();
    let subject = near.place().map_or(String::new(), |((moving, other), _)| format!("{} and {}", title(*moving), title(*other)));
    Some(Margin { of: of.to_string(), subject, value })
}

/// The certificates of a step.
pub(super) fn sweeps(survey: &Survey, row: RowId) -> Vec<data::Sweep> {
    let Ok(scene) = &survey.scene else { return Vec::new() };
    survey.of(row).iter().filter_map(|stretch| sweep(scene, stretch)).collect()
}

fn sweep(scene: &Scene, stretch: &Stretch) -> Option<data::Sweep> {
    let Verdict::Clear(clear) = &stretch.answer.verdict else { return None };
    let node = |node: &sweep::Node| data::Node {
        planes: node.planes.iter().filter_map(|plane| self::plane(stretch, plane)).collect(),
        split: node.split.map(|(joint, at)| data::Split { joint, at }),
        outside: node.outside,
    };
    Some(data::Sweep {
        state: stretch.entry,
        within: stretch.leg.root.0.clone(),
        contacts: stretch.contacts.iter().map(contact).collect(),
        nodes: clear.tree.iter().map(node).collect(),
        // What was found holds to less than a micrometre; one less holds for whoever rounds otherwise.
        least: clear.least.map_or(scene.margin, |least| (least - 1).max(scene.margin)),
        distances: clear.evaluations,
    })
}

fn plane(stretch: &Stretch, plane: &sweep::Plane) -> Option<data::Plane> {
    let pair = stretch.answer.pairs.get(plane.pair)?;
    Some(data::Plane { a: pair.a, a_part: Some(plane.a), b: pair.b, b_part: Some(plane.b), n: plane.n })
}

fn contact(contact: &Contact) -> data::Contact {
    data::Contact {
        a: contact.a,
        b: contact.b,
        by: match contact.by {
            By::Line => data::Allowed::Line,
            By::Transfer => data::Allowed::Transfer,
            By::Approach => data::Allowed::Approach,
        },
        around: contact.around.map(|(station, within)| data::Around { station: station.at(), within }),
    }
}
