//! Line of sight and pictures against arithmetic of their own: what is reported seen is sampled densely, with places,
//! solids and lines computed here from the numbers alone.

mod common;

use surehand::geometry::body::Body;
use surehand::geometry::chain::{Chain, Hinge, JointBox, Mount};
use surehand::geometry::mesh::Mesh;
use surehand::geometry::picture::{Agreement, Picture, Way};
use surehand::geometry::sight::{self, Cause, Field, Mark, Opaque, Question, Verdict};
use surehand::geometry::solid::Solid;
use surehand::geometry::{Frame, Vec3};

type V = [f64; 3];

fn add(a: V, b: V) -> V {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
fn sub(a: V, b: V) -> V {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
fn times(a: V, s: f64) -> V {
    [a[0] * s, a[1] * s, a[2] * s]
}
fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
fn norm(a: V) -> f64 {
    dot(a, a).sqrt()
}
fn cross(a: V, b: V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
fn metres(p: [i64; 3]) -> V {
    p.map(|c| c as f64 / 1e6)
}

/// Turns a vector about a unit axis.
fn turned(v: V, axis: V, angle: f64) -> V {
    let (s, c) = (libm::sin(angle), libm::cos(angle));
    add(add(times(v, c), times(cross(axis, v), s)), times(axis, dot(axis, v) * (1.0 - c)))
}

/// SplitMix64 (Steele, Lea, Flood, 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn between(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }
    fn point(&mut self, far: i64) -> [i64; 3] {
        [0; 3].map(|_| self.between(-far, far))
    }
}

/// What is in the way, as plain numbers.
#[derive(Clone, Debug)]
enum Thing {
    /// All within a radius of a segment.
    Capsule(V, V, f64),
    /// Flat-ended.
    Cylinder(V, V, f64),
    /// Sides along the axes of its carrier; also stands for the mesh of its faces.
    Box(V, V),
    /// Below a level.
    Floor(f64),
}

impl Thing {
    /// How deep a point lies inside; negative outside. A distance for balls, a bound for the others.
    fn depth(&self, p: V) -> f64 {
        match *self {
            Thing::Capsule(a, b, r) => {
                let along = sub(b, a);
                let t = (dot(sub(p, a), along) / dot(along, along).max(1e-30)).clamp(0.0, 1.0);
                r - norm(sub(p, add(a, times(along, t))))
            }
            Thing::Cylinder(a, b, r) => {
                let length = norm(sub(b, a));
                let axis = times(sub(b, a), 1.0 / length);
                let t = dot(sub(p, a), axis);
                let off = norm(sub(sub(p, a), times(axis, t)));
                (r - off).min(t).min(length - t)
            }
            Thing::Box(middle, half) => (0..3).map(|k| half[k] - (p[k] - middle[k]).abs()).fold(f64::MAX, f64::min),
            Thing::Floor(level) => level - p[2],
        }
    }
}

struct Case {
    hinges: Vec<Hinge>,
    things: Vec<(usize, Thing)>,
    bodies: Vec<Body>,
    eye: [i64; 3],
    field: Option<Field>,
    mark: Mark,
    root: JointBox,
}

/// The mesh of a box: each face two triangles, turned outward.
fn shell(middle: [i64; 3], half: [i64; 3]) -> Mesh {
    let vertices = (0..8).map(|i| [0, 1, 2].map(|k| middle[k] + if i >> k & 1 == 0 { -half[k] } else { half[k] })).collect();
    let faces: [[u32; 4]; 6] = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    Mesh { vertices, triangles: faces.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect() }
}

fn case(dice: &mut Dice) -> Case {
    let joints = dice.between(1, 5) as usize;
    let hinges: Vec<Hinge> = (0..joints)
        .map(|k| {
            let mut axis = [0; 3];
            axis[dice.between(0, 2) as usize] = if dice.between(0, 1) == 0 { 1 } else { -1 };
            let origin = if k == 0 { [0, 0, 400_000] } else { [dice.between(200_000, 800_000), 0, dice.between(-50_000, 50_000)] };
            let turn = if dice.between(0, 3) == 0 { [0; 3].map(|_| dice.between(-40_000, 40_000)) } else { [0; 3] };
            Hinge { axis, origin, turn }
        })
        .collect();
    let mut things = Vec::new();
    let mut bodies = Vec::new();
    for n in 0..dice.between(2, 9) {
        // The last carrier holds the mark: what moves with it is not in its way.
        let carrier = if n < 2 && joints > 1 { dice.between(1, joints as i64 - 1) as usize } else { 0 };
        let far = if carrier == 0 { 1_800_000 } else { 250_000 };
        let (at, r) = (dice.point(far), dice.between(20_000, if carrier == 0 { 300_000 } else { 90_000 }));
        let to = [0, 1, 2].map(|k| at[k] + dice.between(-400_000, 400_000));
        let half = [0; 3].map(|_| dice.between(10_000, 350_000));
        let radius = r as f64 / 1e6;
        let kinds = if carrier == 0 { 5 } else { 3 };
        let (thing, body) = match dice.between(0, kinds) {
            0 => (Thing::Capsule(metres(at), metres(at), radius), Body::new(carrier, vec![Solid::round(vec![at], r).unwrap()])),
            1 => (Thing::Capsule(metres(at), metres(to), radius), Body::new(carrier, vec![Solid::round(vec![at, to], r).unwrap()])),
            2 => (Thing::Cylinder(metres(at), metres(to), radius), Body::new(carrier, vec![Solid::cylinder(at, to, r).unwrap()])),
            3 => {
                let frame = Frame::of(at, [0; 3]);
                (Thing::Box(metres(at), metres(half)), Body::new(carrier, vec![Solid::cuboid(half, &frame).unwrap()]))
            }
            4 => (Thing::Box(metres(at), metres(half)), shell(at, half).surface(carrier, &Frame::IDENTITY).unwrap()),
            _ => {
                let level = dice.between(-2_000_000, -900_000);
                (Thing::Floor(level as f64 / 1e6), Body::new(0, vec![Solid::half_space([0, 0, level], [0, 0, 1]).unwrap()]))
            }
        };
        things.push((carrier, thing));
        bodies.push(body);
    }
    let wide = dice.between(0, joints as i64 - 1) as usize;
    let root = (0..joints)
        .map(|k| {
            let (from, by) = (dice.between(-170_000, 170_000), dice.between(0, if k == wide { 90_000 } else { 900 }));
            [from, from + by]
        })
        .collect();
    let eye = dice.point(2_500_000);
    let field = (dice.between(0, 1) == 0).then(|| Field { looks_at: dice.point(600_000), half: dice.between(300, 1100) as f64 / 1000.0 });
    let mark = Mark { carrier: joints, point: [dice.between(50_000, 300_000), 0, dice.between(-30_000, 30_000)] };
    Case { hinges, things, bodies, eye, field, mark, root: JointBox(root) }
}

impl Case {
    /// A point of a carrier, in the cell: the turns applied from the outermost joint inward.
    fn place(&self, carrier: usize, p: V, angles: &[f64]) -> V {
        let deg = |mdeg: i64| mdeg as f64 / 1000.0 * std::f64::consts::PI / 180.0;
        let mut p = p;
        for k in (0..carrier).rev() {
            let hinge = &self.hinges[k];
            p = turned(p, hinge.axis.map(|c| c as f64), angles[k]);
            for (axis, angle) in [([1.0, 0.0, 0.0], hinge.turn[0]), ([0.0, 1.0, 0.0], hinge.turn[1]), ([0.0, 0.0, 1.0], hinge.turn[2])] {
                p = turned(p, axis, deg(angle));
            }
            p = add(p, metres(hinge.origin));
        }
        p
    }

    /// The same backwards: from the cell into a carrier.
    fn within(&self, carrier: usize, p: V, angles: &[f64]) -> V {
        let deg = |mdeg: i64| mdeg as f64 / 1000.0 * std::f64::consts::PI / 180.0;
        let mut p = p;
        for (hinge, angle) in self.hinges.iter().zip(angles).take(carrier) {
            p = sub(p, metres(hinge.origin));
            for (axis, angle) in [([0.0, 0.0, 1.0], hinge.turn[2]), ([0.0, 1.0, 0.0], hinge.turn[1]), ([1.0, 0.0, 0.0], hinge.turn[0])] {
                p = turned(p, axis, -deg(angle));
            }
            p = turned(p, hinge.axis.map(|c| c as f64), -angle);
        }
        p
    }

    /// By how much the mark is hidden at angles in radians: the deepest point of its line inside anything, or how far it is
    /// outside the picture in radians. Negative where it is seen.
    fn hidden(&self, angles: &[f64], points: usize) -> f64 {
        let (eye, mark) = (metres(self.eye), self.place(self.mark.carrier, metres(self.mark.point), angles));
        let mut most = f64::MIN;
        if let Some(field) = self.field {
            let (ahead, line) = (sub(metres(field.looks_at), eye), sub(mark, eye));
            most = libm::atan2(norm(cross(ahead, line)), dot(ahead, line)) - field.half;
        }
        for (carrier, thing) in &self.things {
            let (a, b) = (self.within(*carrier, eye, angles), self.within(*carrier, mark, angles));
            let at = |t: f64| thing.depth(add(a, times(sub(b, a), t)));
            let (mut best, mut near) = (f64::MIN, 0.0);
            for i in 0..=points {
                let t = i as f64 / points as f64;
                if at(t) > best {
                    (best, near) = (at(t), t);
                }
            }
            // Depth along a line through a convex thing has one crest: searched on around the best point.
            let (mut low, mut high) = ((near - 1.0 / points as f64).max(0.0), (near + 1.0 / points as f64).min(1.0));
            for _ in 0..14 {
                let (x, y) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
                if at(x) < at(y) { low = x } else { high = y }
            }
            most = most.max(best).max(at((low + high) / 2.0));
        }
        most
    }

    fn judge(&self, root: &JointBox) -> Verdict {
        let chain = Chain::new(Mount::default(), self.hinges.clone()).unwrap();
        let opaque: Vec<Opaque<'_>> = self.bodies.iter().map(|body| Opaque { body, spared: Vec::new() }).collect();
        let (eye, field, mark) = (self.eye, self.field, self.mark);
        sight::judge(&Question { chain: &chain, eye, field, mark, opaque: &opaque, root, region: None, cap: 4096 }).unwrap()
    }

    fn angles(&self, dice: &mut Dice, corner: bool) -> Vec<f64> {
        let each = self.root.0.iter().map(|[low, high]| match corner {
            true => [*low, *high][dice.between(0, 1) as usize],
            false => dice.between(*low, *high),
        });
        each.map(|mdeg| mdeg as f64 / 1000.0 * std::f64::consts::PI / 180.0).collect()
    }
}

fn radians(mdeg: &[i64]) -> Vec<f64> {
    mdeg.iter().map(|a| *a as f64 / 1000.0 * std::f64::consts::PI / 180.0).collect()
}

#[test]
fn nothing_reported_seen_is_hidden_in_a_dense_sample() {
    let (mut seen, mut hidden, mut open, mut edges) = (0, 0, 0, 0);
    for n in 0..5000_u64 {
        let mut dice = Dice(n * 7919 + 17);
        let case = case(&mut dice);
        match case.judge(&case.root) {
            Verdict::Seen => {
                seen += 1;
                for i in 0..40 {
                    let angles = case.angles(&mut dice, i % 4 == 0);
                    let by = case.hidden(&angles, 16);
                    assert!(by < 1e-6, "case {n}: hidden by {by} at {angles:?}");
                }
            }
            Verdict::Hidden(blocked) => {
                hidden += 1;
                edges += usize::from(blocked.by == Cause::Edge);
                let inside = blocked.at.iter().zip(&case.root.0).all(|(a, [low, high])| (low..=high).contains(&a));
                assert!(inside, "case {n}: {blocked:?}");
                // Half a thousandth of a degree lies between the middle of a box and the whole angle that is told.
                let by = case.hidden(&radians(&blocked.at), 400);
                assert!(by > -1e-4, "case {n}: said to be hidden, but seen by {by}: {blocked:?}");
            }
            Verdict::Open(_) => open += 1,
        }
    }
    assert!(seen >= 2000 && hidden >= 1000 && edges >= 100, "{seen} seen, {hidden} hidden, {edges} by the edge");
    assert!(open * 100 < seen + hidden, "{open} of {} too close to call", seen + hidden + open);
}

/// The sample above has teeth: a judge that looks at the middle of the box alone is caught.
#[test]
fn the_sample_catches_a_judge_that_looks_at_one_pose() {
    let mut caught = 0;
    for n in 0..600_u64 {
        let mut dice = Dice(n * 7919 + 17);
        let case = case(&mut dice);
        let middle: Vec<i64> = case.root.0.iter().map(|[low, high]| low + (high - low) / 2).collect();
        if case.judge(&JointBox::point(&middle)) == Verdict::Seen {
            caught += usize::from((0..40).any(|i| case.hidden(&case.angles(&mut dice, i % 4 == 0), 16) > 1e-6));
        }
    }
    assert!(caught >= 10, "{caught}");
}

/// A mast that turns, and a boom that is raised from level: 1 m long, hinged 1 m up.
fn boom() -> (Chain, Mark) {
    let mast = Hinge { axis: [0, 0, 1], origin: [0, 0, 0], turn: [0; 3] };
    let boom = Hinge { axis: [0, -1, 0], origin: [0, 0, 1_000_000], turn: [0; 3] };
    (Chain::new(Mount::default(), vec![mast, boom]).unwrap(), Mark { carrier: 2, point: [1_000_000, 0, 0] })
}

#[test]
fn a_picture_shows_what_a_person_there_would_see() {
    let (chain, mark) = boom();
    let z = Vec3::new(0.0, 0.0, 1.0);
    let behind = |mirrored| Picture::new([-3_000_000, 0, 1_000_000], [0, 0, 1_000_000], z, mirrored).unwrap();
    let ahead = |mirrored| Picture::new([4_000_000, 0, 1_000_000], [0, 0, 1_000_000], z, mirrored).unwrap();
    let beside = Picture::new([0, 4_000_000, 1_000_000], [0, 0, 1_000_000], z, false).unwrap();
    let above = Picture::new([0, 0, 5_000_000], [0, 0, 0], Vec3::new(1.0, 0.0, 0.0), false).unwrap();
    let turn = |picture: &Picture| picture.watch(&chain, mark, &[0, 0], 0, 40_000).unwrap();
    let raise = |picture: &Picture, from, to| picture.watch(&chain, mark, &[0, from], 1, to).unwrap();
    // The mast turns left as seen from behind; who stands before it, or sees it mirrored, sees the opposite.
    for (picture, way) in
        [(behind(false), Way::Left), (behind(true), Way::Right), (ahead(false), Way::Right), (ahead(true), Way::Left), (above, Way::Left)]
    {
        let motion = turn(&picture);
        let opposite = if way == Way::Left { Way::Right } else { Way::Left };
        assert_eq!((motion.ways()[0], motion.agrees(way), motion.agrees(opposite)), (way, Agreement::Agrees, Agreement::Reversed));
    }
    assert_eq!(turn(&beside).recedes(), Some(false));
    // 1 m ahead of the mast to 40 deg: tan of the angle from 3 m behind is sin 40 / (3 + cos 40).
    assert!((turn(&behind(false)).shift.right + 0.642_787_609_7 / 3.766_044_443_1).abs() < 1e-9);
    // Up to plumb the boom goes up; past it, down again.
    assert_eq!(raise(&beside, 10_000, 80_000).agrees(Way::Up), Agreement::Agrees);
    assert_eq!(raise(&beside, 100_000, 170_000).agrees(Way::Up), Agreement::Reversed);
    assert_eq!(raise(&beside, 40_000, 140_000).agrees(Way::Up), Agreement::Partly(90_000, 140_000));
    // Level with the eye and straight ahead, what goes away shows no direction.
    let level = Picture::new([-3_000_000, 0, 2_000_000], [0, 0, 2_000_000], z, false).unwrap();
    let over = raise(&level, 95_000, 85_000);
    assert_eq!((over.agrees(Way::Up), over.ways(), over.recedes()), (Agreement::Aside, vec![], Some(true)));
    // What lies on the axis of a joint does not move with it.
    let still = beside.watch(&chain, Mark { carrier: 2, point: [0; 3] }, &[0, 0], 0, 90_000).unwrap();
    assert_eq!((still.ways(), still.agrees(Way::Left), still.recedes()), (vec![], Agreement::Aside, None));
    // A view straight down has no up of its own; behind the eye there is no picture.
    assert!(Picture::new([0, 0, 5_000_000], [0, 0, 0], z, false).is_err());
    assert_eq!(behind(false).spot(Vec3::new(-3.5, 0.0, 1.0)), None);
    assert!(Picture::new([1, 2, 3], [1, 2, 3], z, false).is_err());
}

#[test]
fn a_post_hides_the_point_from_the_angle_at_which_the_line_meets_it() {
    let (chain, mark) = boom();
    // Eye 3 m behind; a post of 50 mm radius stands 0.8 m to the left of the mast, 0.4 m behind the circle of the point.
    let post = Body::new(0, vec![Solid::cylinder([300_000, 800_000, 0], [300_000, 800_000, 3_000_000], 50_000).unwrap()]);
    let ask = |root: &JointBox, spared: Vec<([i64; 3], i64)>| {
        let opaque = [Opaque { body: &post, spared }];
        let q =
            Question { chain: &chain, eye: [-3_000_000, 0, 1_000_000], field: None, mark, opaque: &opaque, root, region: None, cap: 4096 };
        (sight::judge(&q).unwrap(), sight::seen_until(&q, 0, true).unwrap(), sight::seen_until(&q, 0, false).unwrap())
    };
    // The lines that touch the post: bearing of its axis from the eye, and asin of its radius over its distance.
    let (bearing, half) = (libm::atan2(0.8, 3.3), libm::asin(0.05 / libm::sqrt(3.3 * 3.3 + 0.8 * 0.8)));
    // The point at angle a has the bearing atan2(sin a, 3 + cos a); solved for a by halving.
    let angle = |wanted: f64| {
        let (mut low, mut high) = (0.0_f64, 1.6_f64);
        for _ in 0..60 {
            let a = (low + high) / 2.0;
            if libm::atan2(libm::sin(a), 3.0 + libm::cos(a)) < wanted { low = a } else { high = a }
        }
        low.to_degrees() * 1000.0
    };
    let (first, last) = (angle(bearing - half), angle(bearing + half));
    let (verdict, up, down) = ask(&JointBox(vec![[0, 90_000], [0, 0]]), Vec::new());
    let Verdict::Hidden(blocked) = verdict else { panic!("{verdict:?}") };
    assert_eq!(blocked.by, Cause::Body(0));
    assert!(first < blocked.at[0] as f64 && (blocked.at[0] as f64) < last, "{first} {last} {blocked:?}");
    let (up, down) = (up.unwrap() as f64, down.unwrap() as f64);
    assert!(up < first && up > first - 200.0, "{up} {first}");
    assert!(down > last && down < last + 200.0, "{down} {last}");
    // A jaw that reaches around the post is not hidden by it; the ball holds the point over the whole box.
    assert_eq!(ask(&JointBox(vec![[50_000, 52_000], [0, 0]]), vec![([630_000, 777_000, 1_000_000], 60_000)]).0, Verdict::Seen);
    assert_eq!(ask(&JointBox(vec![[0, 20_000], [0, 0]]), Vec::new()).0, Verdict::Seen);
    assert_eq!(ask(&JointBox(vec![[55_000, 56_000], [0, 0]]), Vec::new()).1, None);
}

#[test]
fn an_eye_inside_a_closed_mesh_sees_nothing_outside_it() {
    let (chain, mark) = boom();
    let root = JointBox(vec![[0, 1000], [0, 1000]]);
    let around = |eye: [i64; 3]| {
        let body = shell([-3_000_000, 0, 1_000_000], [400_000; 3]).surface(0, &Frame::IDENTITY).unwrap();
        let opaque = [Opaque { body: &body, spared: Vec::new() }];
        sight::judge(&Question { chain: &chain, eye, field: None, mark, opaque: &opaque, root: &root, region: None, cap: 4096 }).unwrap()
    };
    assert!(matches!(around([-3_000_000, 0, 1_000_000]), Verdict::Hidden(_)));
    assert_eq!(around([-2_500_000, 0, 1_000_000]), Verdict::Seen);
    // Eye and point both inside: the line meets no face, and still lies in what is solid.
    let body = shell([0, 0, 1_000_000], [1_500_000; 3]).surface(0, &Frame::IDENTITY).unwrap();
    let opaque = [Opaque { body: &body, spared: Vec::new() }];
    let inside =
        Question { chain: &chain, eye: [-500_000, 0, 1_200_000], field: None, mark, opaque: &opaque, root: &root, region: None, cap: 4096 };
    assert!(matches!(sight::judge(&inside).unwrap(), Verdict::Hidden(_)));
}

#[test]
fn what_cannot_be_judged_is_refused() {
    let (chain, mark) = boom();
    let root = JointBox(vec![[0, 1000], [0, 1000]]);
    let ask = |eye, field, mark, root: &JointBox| {
        sight::judge(&Question { chain: &chain, eye, field, mark, opaque: &[], root, region: None, cap: 64 })
    };
    let eye = [2_000_000, 0, 0];
    assert_eq!(ask(eye, None, mark, &root), Ok(Verdict::Seen));
    assert!(ask([i64::MAX, 0, 0], None, mark, &root).is_err());
    assert!(ask(eye, Some(Field { looks_at: eye, half: 0.5 }), mark, &root).is_err());
    assert!(ask(eye, None, Mark { carrier: 3, ..mark }, &root).is_err());
    assert!(ask(eye, None, mark, &JointBox(vec![[0, 1000]])).is_err());
}

mod views {
    //! Views over the cell of the examples.

    use super::common::{Case, procedure};
    use surehand::diag::{Diagnostic, Severity};
    use surehand::geometry::Vec3;
    use surehand::geometry::picture::Way;
    use surehand::space::sight::{Shows, Sighted, sees, sense};
    use surehand::space::{self, Survey};
    use surehand::trace;

    fn run(case: &Case) -> (Survey, Vec<Diagnostic>) {
        let (p, found) = procedure(case);
        assert!(found.iter().all(|d| d.severity != Severity::Error), "{found:#?}");
        let trace = trace::trace(&p);
        let survey = space::survey(&p, &trace);
        assert_eq!(survey.lack(), None);
        let findings = space::check(&p, &trace, &survey);
        (survey, findings)
    }

    fn of<'a>(findings: &'a [Diagnostic], rule: &str) -> Vec<&'a Diagnostic> {
        findings.iter().filter(|d| d.rule.id == rule).collect()
    }

    #[test]
    fn a_lost_view_names_what_hides_the_jaw_from_which_angle_on_and_which_view_shows_it() {
        let case = Case::steps("1. `power on arm`\n2. `view window-1`\n3. `base left to +20 deg`\n");
        let (_, findings) = run(&case);
        let [lost] = of(&findings, "view-lost")[..] else { panic!("{findings:#?}") };
        assert!(!lost.rule.is_fixed(), "a policy may soften it");
        assert_eq!(lost.span.of(&case.texts[3]), "+20 deg");
        assert!(
            lost.message
                .starts_with("window 1 does not show the jaw over this whole move: the shielded flask is in the way with base at +"),
            "{}",
            lost.message
        );
        // From the eye at x -2.5 m the flask (45 mm, 2 mm of seating) at the shelf is touched by the line to the jaw 3 deg on; bands take some.
        let until = lost.numbers.iter().find(|(name, _)| *name == "in sight to").map(|(_, n)| n.as_str());
        assert!(until.is_some_and(|n| ["+2.9 deg", "+3 deg", "+3.1 deg"].contains(&n)), "{until:?}");
        assert!(lost.help.iter().any(|h| h.starts_with("`window-2` or `camera-1` or `camera-2` shows it")), "{:?}", lost.help);
        // A view that looks through it, and one whose picture ends before it.
        let (_, findings) = run(&Case::steps("1. `power on arm`\n2. `view window-2`\n3. `shoulder raise to +30 deg`\n").patched(
            1,
            "looks-at = [\"600 mm\", \"0 mm\", \"1400 mm\"]\nfield = \"90 deg\"",
            "looks-at = [\"600 mm\", \"0 mm\", \"1400 mm\"]\nfield = \"12 deg\"",
        ));
        let [lost] = of(&findings, "view-lost")[..] else { panic!("{findings:#?}") };
        assert!(lost.message.contains("it leaves the picture with shoulder at"), "{}", lost.message);
    }

    #[test]
    fn what_is_not_known_of_a_view_is_not_told_as_seen() {
        let steps = "1. `power on arm`\n2. `view window-2`\n3. `shoulder raise to +30 deg`\n";
        let place = "kind = \"window\"\nposition = [\"600 mm\", \"2600 mm\", \"1500 mm\"]\n";
        let sighted = |case: &Case| run(case).0.stretches[0].sight.clone();
        assert!(matches!(sighted(&Case::steps(steps).patched(1, place, "kind = \"window\"\n")), Sighted::NoPlace(_)));
        assert!(matches!(sighted(&Case::steps("1. `power on arm`\n2. `shoulder raise to +30 deg`\n")), Sighted::NoView));
        let blank = "looks-at = [\"600 mm\", \"0 mm\", \"1400 mm\"]\nfield = \"90 deg\"\n";
        let Sighted::Through(look, None) = sighted(&Case::steps(steps).patched(1, blank, "")) else { panic!("it has a place") };
        assert_eq!((&look.shows, look.edge, look.motions.len()), (&Shows::All, false, 0));
    }

    #[test]
    fn a_policy_may_want_the_nearest_thing_seen_too() {
        // Turned 30 deg to the right, the forearm comes within six margins of the plate of the rack.
        let steps = "1. `power on arm`\n2. `view camera-1 on monitor-1`\n3. `base right to -30 deg`\n";
        let asked = |wall: &str| {
            let case = Case::steps(steps).patched(2, "sight = \"tool-point\"\nnear = 3", "sight = \"nearest-too\"\nnear = 6");
            let first = "[[obstacle]]\nname = \"bench\"";
            run(&case.patched(1, first, &format!("{wall}{first}")))
        };
        let (survey, findings) = asked("");
        let Sighted::Through(_, Some(gap)) = &survey.stretches[0].sight else { panic!("{:?}", survey.stretches[0].sight) };
        assert!(gap.seen && of(&findings, "view-lost").is_empty(), "{gap:?} {findings:#?}");
        // A ball of 40 mm before that place, off the line to the jaw.
        let eye = [1.8, -1.8, 2.6];
        let at: Vec<i64> = (0..3).map(|k| ((gap.middle[k] + (eye[k] - gap.middle[k]) * 0.3) * 1000.0).round() as i64).collect();
        let ball = format!(
            "[[obstacle]]\nname = \"ball\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"sphere\"\ncentre = [\"{} mm\", \"{} mm\", \"{} mm\"]\nradius = \"40 mm\"\n\n",
            at[0], at[1], at[2]
        );
        let (survey, findings) = asked(&ball);
        let Sighted::Through(look, Some(gap)) = &survey.stretches[0].sight else { panic!("{:?}", survey.stretches[0].sight) };
        assert_eq!((&look.shows, gap.seen), (&Shows::All, false));
        let [lost] = of(&findings, "view-lost")[..] else { panic!("{findings:#?}") };
        assert!(lost.message.contains("does not show where"), "{}", lost.message);
    }

    #[test]
    fn a_place_is_seen_from_the_side_its_surface_faces() {
        let (p, _) = procedure(&Case::steps("1. `power on arm`\n2. `view window-2`\n3. `shoulder raise to +30 deg`\n"));
        let trace = trace::trace(&p);
        let survey = space::survey(&p, &trace);
        let (scene, stretch) = (survey.scene.as_ref().expect("a scene"), &survey.stretches[0]);
        let view = p.cell.find_view("window-2").expect("the window");
        let see = |point: Vec3| sees(scene, &p.cell, view, point, &[0, 20_000, 60_000, 0, 0], &stretch.present).expect("judged");
        // The plate of the rack, 50 by 50 by 20 mm about x 628, y -628, z 1350 mm, is looked at from y 2600 mm, past the forearm.
        assert_eq!(see(Vec3::new(0.628, -0.603, 1.350)), Some(true));
        assert_eq!(see(Vec3::new(0.628, -0.653, 1.350)), Some(false));
        assert_eq!(see(Vec3::new(0.628, -0.628, 1.360)), Some(true));
        assert_eq!(see(Vec3::new(0.628, -0.628, 1.340)), Some(false));
    }

    #[test]
    fn words_have_a_sense_in_a_picture_or_none() {
        for (words, way) in [
            ("left", Some(Way::Left)),
            ("Raise", Some(Way::Up)),
            ("push left", Some(Way::Left)),
            ("swing-right", Some(Way::Right)),
            ("twist down", Some(Way::Down)),
            ("fold", None),
            ("clockwise", None),
            ("pull back", None),
            ("push the left lever up", None),
            ("upper", None),
            ("", None),
        ] {
            assert_eq!(sense(words), way, "{words}");
        }
    }
}
