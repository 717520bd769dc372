//! One sweep: its box, the contacts it allows, and the tree of boxes that holds every pair apart.

use super::drive::{Drive, idle, widened};
use super::frame::{length, metres, norm, radians, stand, sub, unit};
use super::read::{Act, Allowed, Around, Body, Contact, Gate, Kind, Plane, State, Station, Step, Sweep};
use super::scene::Scene;
use super::solid::{Facing, Middle, Placed};
use std::collections::BTreeSet;

/// What rounding may have taken, metres.
const SLACK: f64 = 1e-9;

/// What is wrong, and between which bodies.
pub(super) type Fault = (Option<(usize, usize)>, String);

/// Two parts of two bodies, the inboard one first.
type Pair = ((usize, usize), (usize, usize));

/// A body and one of its parts, or all of them.
type Named = (usize, Option<usize>);

/// A motion from one state.
struct Motion<'s, 'a> {
    scene: &'s Scene<'a>,
    step: &'s Step,
    state: &'s State,
    sweep: &'s Sweep,
    drives: Vec<Drive>,
    /// The pairs of bodies that are to be held apart, the inboard one first.
    pairs: Vec<(usize, usize)>,
}

/// The middle of a box, and where the parts of every body are there.
struct Here {
    middle: Middle,
    placed: Vec<Vec<Placed>>,
}

/// Holds one sweep against the scene; counts the planes that hold.
pub(super) fn check(scene: &Scene<'_>, step: &Step, sweep: &Sweep, drives: Vec<Drive>, planes: &mut u64) -> Vec<Fault> {
    let state = &step.before[sweep.state];
    let each = state.joints.iter().zip(&scene.document.joints).enumerate();
    let within = each.map(|(i, (r, joint))| {
        let moves = drives.iter().find(|d| d.joint == i);
        widened(moves.map_or_else(|| idle(joint, r), |d| d.all(joint)), joint.error)
    });
    if !within.eq(sweep.within.iter().copied()) {
        return vec![(None, "its box is not what follows from the state, the target, the drift and the read-out errors".to_string())];
    }
    if sweep.least < scene.space.margin {
        return vec![(None, "the clearance it states is less than the margin".to_string())];
    }
    let mut faults = Vec::new();
    let whole = scene.pairs(state).map_err(|what| (None, what.to_string())).and_then(|pairs| {
        let motion = Motion { scene, step, state, sweep, drives, pairs };
        let of = |c: &Contact| motion.contact(c).map_err(|what| (Some((c.a, c.b)), what.to_string()));
        sweep.contacts.iter().try_for_each(of).and_then(|()| motion.tree(&mut faults, planes))
    });
    faults.into_iter().chain(whole.err()).collect()
}

impl Motion<'_, '_> {
    fn here(&self, within: &[[i64; 2]]) -> Here {
        let angles: Vec<f64> = within.iter().map(|b| radians(b[0] + b[1]) / 2.0).collect();
        let half = within.iter().map(|b| radians(b[1] - b[0]) / 2.0).collect();
        let middle = Middle { stand: stand(&self.scene.space.mount, &self.scene.space.hinges, &angles), half };
        Here { placed: self.scene.things.iter().map(|t| t.place(&middle)).collect(), middle }
    }
    /// Whether a contact is declared, and no farther from its station than the cell allows.
    fn contact(&self, c: &Contact) -> Result<(), &'static str> {
        let (space, pair) = (self.scene.space, [[c.a, c.b], [c.b, c.a]]);
        let (a, b) = space.bodies.get(c.a).zip(space.bodies.get(c.b)).ok_or("a contact names a body that is not there")?;
        let transfer = match &self.step.act {
            Act::Lift { station, .. } | Act::Lower { station, .. } => Some(station),
            _ => None,
        };
        // Where a load stands, was taken from or is set on; where an obstacle bears one.
        let belongs = |i: usize, body: &Body, s: &Station| match &body.kind {
            Kind::Link | Kind::Tool => false,
            Kind::Rest { station } => *station == s.name,
            Kind::Held { .. } => transfer.or(self.state.held.as_ref().and_then(|h| h.from.as_ref())) == Some(&s.name),
            Kind::Obstacle { .. } | Kind::KeepOut | Kind::Unsurveyed => s.support.contains(&i),
        };
        let line = pair.iter().any(|p| self.step.touching.contains(p));
        let both = |s: &Station| [belongs(c.a, a, s), belongs(c.b, b, s)];
        let Some(around) = &c.around else {
            let line = c.by == Allowed::Line && line;
            let free = space.stations.iter().filter(|s| s.point.is_some()).all(|s| both(s) == [false, false]);
            return if line && free { Ok(()) } else { Err("a contact is allowed everywhere that nothing declares so") };
        };
        let station = space.stations.get(around.station).filter(|s| s.point.is_some()).ok_or("a contact lies at no station")?;
        let (declared, within) = match c.by {
            Allowed::Approach => (pair.iter().any(|p| station.approach.contains(p)), station.approach_within),
            Allowed::Line => {
                let shared = space.stations.iter().any(|s| s.point.is_some() && both(s) == [true, true]);
                let here = if shared { both(station) == [true, true] } else { both(station) != [false, false] };
                (here && line, space.contact_travel)
            }
            Allowed::Transfer => {
                let held = |body: &Body| matches!(body.kind, Kind::Held { .. });
                let borne = (held(a) && station.support.contains(&c.b)) || (held(b) && station.support.contains(&c.a));
                (borne && transfer == Some(&station.name), space.contact_travel)
            }
        };
        if declared && around.within <= within { Ok(()) } else { Err("a contact is allowed that neither step nor station declares so far") }
    }
    /// Whether a pair may touch anywhere in a box: everywhere, or because the grip centre is certain to be near its station.
    fn may_touch(&self, (a, b): (usize, usize), middle: &Middle) -> bool {
        let (space, last) = (self.scene.space, self.scene.space.hinges.len());
        let grip = middle.stand.frames[last].point(metres(space.grip_centre));
        let near = |around: &Around| {
            let point = space.stations.get(around.station).and_then(|s| s.point);
            let farthest = point.map(|p| norm(sub(grip, metres(p))) + middle.plain(grip, 0, last));
            farthest.is_some_and(|far| far <= length(around.within) + SLACK)
        };
        let here = |c: &&Contact| [(c.a, c.b), (c.b, c.a)].contains(&(a, b));
        self.sweep.contacts.iter().filter(here).any(|c| c.around.as_ref().is_none_or(near))
    }
    /// Walks the boxes, each before its parts. What no box holds apart goes to `faults`, each pair once.
    fn tree(&self, faults: &mut Vec<Fault>, planes: &mut u64) -> Result<(), Fault> {
        let need = (length(self.scene.space.margin) + SLACK).max(length(self.sweep.least) - SLACK);
        let (mut told, mut nodes) = (BTreeSet::new(), self.sweep.nodes.iter());
        let parts = |i: usize| 0..self.scene.things[i].parts.len();
        let all = self.pairs.iter().flat_map(|(a, b)| parts(*a).flat_map(move |i| parts(*b).map(move |j| ((*a, i), (*b, j)))));
        let shells = self.pairs.iter().copied().filter(|(a, b)| self.scene.things[*a].mesh || self.scene.things[*b].mesh);
        let mut todo = vec![(self.sweep.within.clone(), all.collect::<Vec<Pair>>(), shells.collect::<Vec<_>>())];
        while let Some((within, mut open, mut shells)) = todo.pop() {
            let node = nodes.next().ok_or((None, "a box of it is missing".to_string()))?;
            if node.outside {
                if node.split.is_some() || !node.planes.is_empty() || !self.is_outside(&within) {
                    return Err((None, "a box is left out that the motion can come into".to_string()));
                }
                continue;
            }
            let here = self.here(&within);
            open.retain(|pair| self.facing(*pair, &here).by_balls(&here.middle) < need);
            // Where a pair may touch all over a box, it may in each of its parts.
            open.retain(|((a, _), (b, _))| !self.may_touch((*a, *b), &here.middle));
            shells.retain(|pair| !self.may_touch(*pair, &here.middle));
            for plane in &node.planes {
                let names = |what: &'static str| (Some((plane.a, plane.b)), what.to_string());
                let (a, b) = self.plane(plane, &here, need).map_err(names)?;
                let named = |(body, part): (usize, Option<usize>), at, of| body == at && part.is_none_or(|p| p == of);
                open.retain(|((x, i), (y, j))| !named(a, *x, *i) || !named(b, *y, *j));
                *planes += 1;
            }
            if let Some(split) = &node.split {
                let cut = within.get(split.joint).filter(|b| b[0] < split.at && split.at < b[1]);
                let [low, high] = *cut.ok_or((None, "a box is cut where it is not".to_string()))?;
                for stretch in [[split.at, high], [low, split.at]] {
                    let mut part = within.clone();
                    part[split.joint] = stretch;
                    todo.push((part, open.clone(), shells.clone()));
                }
                continue;
            }
            let near = open.into_iter().map(|((a, _), (b, _))| ((a, b), "nothing holds them apart over the whole motion"));
            let shut = shells.into_iter().filter(|p| self.encloses(*p, &here));
            for (pair, what) in near.chain(shut.map(|p| (p, "one lies within the closed surface of the other"))) {
                if told.insert(pair) {
                    faults.push((Some(pair), what.to_string()));
                }
            }
        }
        if nodes.next().is_some() { Err((None, "it has more boxes than it is cut into".to_string())) } else { Ok(()) }
    }
    fn facing<'p>(&'p self, ((a, i), (b, j)): Pair, here: &'p Here) -> Facing<'p> {
        let one = |body: usize, part: usize| {
            let thing = &self.scene.things[body];
            (&thing.parts[part], &thing.at(&here.placed[body])[part], thing.carrier)
        };
        Facing { inner: one(a, i), outer: one(b, j) }
    }
    /// Whether a plane holds its parts apart over the box; then which, the inboard ones first.
    fn plane(&self, plane: &Plane, here: &Here, need: f64) -> Result<(Named, Named), &'static str> {
        let (a, b) = ((plane.a, plane.a_part), (plane.b, plane.b_part));
        let n = unit(plane.n).ok_or("a plane has no direction")?;
        // The direction is told from b to a; here it goes from the inboard part to the outboard one.
        let (a, b, n) = match self.pairs.iter().find(|p| **p == (a.0, b.0) || **p == (b.0, a.0)) {
            Some((first, _)) if *first == a.0 => (a, b, n.map(|x| -x)),
            Some(_) => (b, a, n),
            None => return Err("a plane stands between bodies that are no pair here"),
        };
        let parts = |(body, part): Named| {
            let all = self.scene.things[body].parts.len();
            let named = part.map_or(0..all, |p| p..p.saturating_add(1));
            if named.end <= all { Ok(named) } else { Err("a plane names a part that is not there") }
        };
        for i in parts(a)? {
            for j in parts(b)? {
                if self.facing(((a.0, i), (b.0, j)), here).along(n, &here.middle) < need {
                    return Err("a plane does not hold them apart over its whole box");
                }
            }
        }
        Ok((a, b))
    }
    /// Whether some part of one body begins within the closed surface of the other, at the middle of a box.
    fn encloses(&self, (a, b): (usize, usize), here: &Here) -> bool {
        [(a, b), (b, a)].into_iter().any(|(shell, other)| {
            let ([shell, other], placed) = ([shell, other].map(|i| &self.scene.things[i]), &here.placed[other]);
            let Some((centre, radius)) = shell.ball.filter(|_| shell.mesh) else { return false };
            other.at(placed).iter().any(|part| {
                let point = here.middle.stand.frames[shell.carrier].back(part.points[0]);
                norm(sub(point, centre)) <= radius && shell.winds_about(point)
            })
        })
    }
    /// Whether no execution of a two-axis move comes into a box.
    fn is_outside(&self, within: &[[i64; 2]]) -> bool {
        let Act::Together { first, gates, .. } = &self.step.act else { return false };
        let drive = |joint: usize| self.drives.iter().find(|d| d.joint == joint);
        let lags = first.is_some_and(|first| {
            let other = self.drives.iter().find(|d| d.joint != first);
            drive(first).zip(other).is_some_and(|(x, y)| self.is_ahead(x, y, within))
        });
        lags || gates.iter().any(|g| drive(g.held).zip(drive(g.until)).is_some_and(|(y, x)| self.is_shut(g, y, x, within)))
    }
    /// Whether `y` would be further along its way than `x`, which goes first, can be.
    fn is_ahead(&self, x: &Drive, y: &Drive, within: &[[i64; 2]]) -> bool {
        let [jx, jy] = [x, y].map(|d| &self.scene.document.joints[d.joint]);
        let (begins, last) = (x.along(x.start)[0], y.along(y.start)[1]);
        let gone = x.along(within[x.joint])[1] + jx.error + jx.hold - begins;
        let came = y.along(within[y.joint])[0] - jy.error - jy.hold - last;
        let (whole, all) = (x.along(x.band)[0] - begins, y.along(y.band)[1] - last);
        whole > 0 && came > 0 && all > 0 && i128::from(gone) * i128::from(all) < i128::from(came) * i128::from(whole)
    }
    /// Whether `y` would be past its gate while `x` has not opened it.
    fn is_shut(&self, gate: &Gate, y: &Drive, x: &Drive, within: &[[i64; 2]]) -> bool {
        let [jx, jy] = [x, y].map(|d| &self.scene.document.joints[d.joint]);
        let off = (y.nominal - y.band[0]).max(y.band[1] - y.nominal).max(jy.stop);
        let mark = |d: &Drive, a: i64| if d.positive { a } else { -a };
        let waits = (mark(y, gate.not_past.value) + off + jy.hold).max(y.along(y.start)[1]);
        y.along(within[y.joint])[0] > waits + jy.error && x.along(within[x.joint])[1] < mark(x, gate.past.value) - jx.error - jx.hold
    }
}
