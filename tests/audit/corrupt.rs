//! The kinds of corruption, each with the reason why nothing it makes can still be a valid certificate, or with the test that
//! passes over what may be one.

use super::pieces::{Piece, bytes};
use std::collections::BTreeSet;
use surehand::compiled::space::{Allowed, Around, BodyKind, Contact, Meeting, Node, Part, Space, Split, Sweep, Triple};
use surehand::compiled::{Act, Compiled, Ends, Motion, State, Step};
use surehand::geometry::chain::{Chain, Hinge, Mount};
use surehand::geometry::solid::Solid;
use surehand::geometry::{metres, unit};

/// A sequence of draws that is the same on every machine (SplitMix64).
pub struct Random(u64);

impl Random {
    pub fn new(kind: u64, draw: u64) -> Random {
        Random(kind.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ draw.wrapping_mul(0xd1b5_4a32_d192_ed03))
    }
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n.max(1) as u64).expect("small")
    }
    /// From 1 to `most`.
    fn some(&mut self, most: i64) -> i64 {
        i64::try_from(self.next() % u64::try_from(most).expect("positive")).expect("small") + 1
    }
    fn sign(&mut self) -> i64 {
        if self.next() & 1 == 0 { 1 } else { -1 }
    }
    pub fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }
}

/// Why nothing was made of a piece.
type Passed = &'static str;
const NOT_THERE: Passed = "the piece has nothing of the kind";

/// A kind of corruption.
pub struct Kind {
    pub name: &'static str,
    /// Made on whole procedures, because it is about the ways between steps.
    pub whole: bool,
    how: How,
}

enum How {
    Data(fn(&mut Compiled, &mut Random) -> Result<(), Passed>),
    Text(fn(&str, &mut Random) -> Result<String, Passed>),
}

impl Kind {
    pub fn make(&self, piece: &Piece, random: &mut Random) -> Result<Vec<u8>, Passed> {
        match self.how {
            How::Data(change) => {
                let mut compiled = piece.compiled.clone();
                change(&mut compiled, random)?;
                if compiled == piece.compiled { Err("nothing changed") } else { Ok(bytes(&compiled)) }
            }
            How::Text(change) => change(std::str::from_utf8(&bytes(&piece.compiled)).expect("text"), random).map(String::into_bytes),
        }
    }
}

const fn data(name: &'static str, change: fn(&mut Compiled, &mut Random) -> Result<(), Passed>) -> Kind {
    Kind { name, whole: false, how: How::Data(change) }
}
const fn ways(name: &'static str, change: fn(&mut Compiled, &mut Random) -> Result<(), Passed>) -> Kind {
    Kind { name, whole: true, how: How::Data(change) }
}
const fn text(name: &'static str, change: fn(&str, &mut Random) -> Result<String, Passed>) -> Kind {
    Kind { name, whole: false, how: How::Text(change) }
}

fn pick<T>(mut list: Vec<T>, r: &mut Random) -> Result<T, Passed> {
    if list.is_empty() {
        return Err(NOT_THERE);
    }
    let at = r.below(list.len());
    Ok(list.swap_remove(at))
}
fn moving<'a>(c: &'a mut Compiled, r: &mut Random) -> Result<&'a mut Step, Passed> {
    pick(c.steps.iter_mut().filter(|s| !s.sweeps.is_empty()).collect(), r)
}
fn sweep<'a>(c: &'a mut Compiled, r: &mut Random) -> Result<&'a mut Sweep, Passed> {
    pick(c.steps.iter_mut().flat_map(|s| &mut s.sweeps).collect(), r)
}
fn cut<'a>(c: &'a mut Compiled, r: &mut Random) -> Result<&'a mut Sweep, Passed> {
    pick(c.steps.iter_mut().flat_map(|s| &mut s.sweeps).filter(|s| s.nodes.len() > 1).collect(), r)
}
fn motion<'a>(c: &'a mut Compiled, r: &mut Random) -> Result<&'a mut Motion, Passed> {
    pick(c.steps.iter_mut().flat_map(|s| motions(&mut s.act)).collect(), r)
}
fn motions(act: &mut Act) -> Vec<&mut Motion> {
    match act {
        Act::Move(m) | Act::Lift { motion: m, .. } | Act::Lower { motion: m, .. } => vec![m],
        Act::Together { motions, .. } => motions.iter_mut().collect(),
        _ => Vec::new(),
    }
}
fn before<'a>(c: &'a mut Compiled, r: &mut Random) -> Result<&'a mut State, Passed> {
    // What stands before a step that moves, or after another step: both are looked at.
    pick(c.steps.iter_mut().flat_map(|s| &mut s.before).collect(), r)
}
fn space(c: &mut Compiled) -> &mut Space {
    c.space.as_mut().expect("a scene")
}
/// A leaf with a plane: the prover found that the balls do not clear its parts there.
fn leaf<'a>(c: &'a mut Compiled, r: &mut Random) -> Result<&'a mut Node, Passed> {
    let leaves = c.steps.iter_mut().flat_map(|s| &mut s.sweeps).flat_map(|s| &mut s.nodes);
    pick(leaves.filter(|n| n.split.is_none() && !n.planes.is_empty()).collect(), r)
}
/// Indices of bodies that are there over a sweep of the piece and stand in a plane of it.
fn named(c: &Compiled) -> BTreeSet<usize> {
    let nodes = c.steps.iter().flat_map(|s| &s.sweeps).flat_map(|s| &s.nodes);
    nodes.flat_map(|n| &n.planes).flat_map(|p| [p.a, p.b]).collect()
}
/// Of each sweep the boxes of its nodes, in their order.
fn boxes(sweep: &Sweep) -> Vec<Vec<[i64; 2]>> {
    let (mut out, mut todo) = (Vec::new(), vec![sweep.within.clone()]);
    for node in &sweep.nodes {
        let Some(here) = todo.pop() else { break };
        if let Some(Split { joint, at }) = node.split {
            let [low, high] = here[joint];
            for part in [[at, high], [low, at]] {
                todo.push(here.iter().enumerate().map(|(k, b)| if k == joint { part } else { *b }).collect());
            }
        }
        out.push(here);
    }
    out
}

/// How far apart a direction holds two parts with the arm at the middle of a box, metres: by the prover's geometry.
fn gap(space: &Space, within: &[[i64; 2]], (a, i): (usize, usize), (b, j): (usize, usize), n: Triple) -> Option<f64> {
    let hinges = space.hinges.iter().map(|h| Hinge { axis: h.axis, origin: h.origin, turn: h.turn }).collect();
    let chain = Chain::new(Mount { position: space.mount.position, turn: space.mount.turn }, hinges).ok()?;
    let placed = chain.place_exact(&within.iter().map(|b| (b[0] + b[1]).div_euclid(2)).collect::<Vec<_>>());
    let n = unit(n).ok()?;
    let far = |body: usize, part: usize, n: surehand::geometry::Vec3| {
        let frame = placed.carriers[space.bodies[body].carrier];
        let solid = match &space.bodies[body].parts[part] {
            Part::Round { points, radius } => Solid::round(points.clone(), *radius),
            Part::Cylinder { a, b, radius } => Solid::cylinder(*a, *b, *radius),
            Part::HalfSpace { point, normal } if unit(*normal).ok()? == n => return Some(metres(*point).dot(n)),
            Part::HalfSpace { .. } => return Some(f64::INFINITY),
        };
        Some(solid.ok()?.support(frame.inverse().direction(n)) + frame.at.dot(n))
    };
    Some(-far(a, i, -n)? - far(b, j, n)?)
}

/// Turns a direction somewhere else; passed over if it still holds its parts apart at the middle of the box, where nothing has
/// moved yet.
fn turned(c: &mut Compiled, r: &mut Random, turn: fn(Triple, &mut Random) -> Triple) -> Result<(), Passed> {
    let scene = space(c).clone();
    let sweep = sweep(c, r)?;
    let places = boxes(sweep);
    let at: Vec<(usize, usize)> = (0..sweep.nodes.len()).flat_map(|i| (0..sweep.nodes[i].planes.len()).map(move |j| (i, j))).collect();
    let (i, j) = pick(at, r)?;
    let plane = &mut sweep.nodes[i].planes[j];
    plane.n = turn(plane.n, r);
    let (Some(x), Some(y)) = (plane.a_part, plane.b_part) else { return Err("the plane is of all parts") };
    // A thousandth of a degree off the middle and a few micrometres of motion at most.
    match gap(&scene, &places[i], (plane.a, x), (plane.b, y), plane.n) {
        Some(gap) if gap >= scene.margin as f64 / 1e6 - 1e-3 => Err("the turned direction still holds them apart at the middle"),
        _ => Ok(()),
    }
}

/// Whether every plane holds two parts apart at the middle of its box.
fn hold_at_the_middle(c: &Compiled) -> bool {
    let scene = c.space.as_ref().expect("a scene");
    c.steps.iter().flat_map(|s| &s.sweeps).all(|sweep| {
        boxes(sweep).iter().zip(&sweep.nodes).all(|(within, node)| {
            node.planes.iter().all(|p| {
                let part = |body: usize, part: Option<usize>| {
                    Some((body, part.filter(|i| *i < scene.bodies.get(body).map_or(0, |b| b.parts.len()))?))
                };
                let (Some(a), Some(b)) = (part(p.a, p.a_part), part(p.b, p.b_part)) else { return false };
                gap(scene, within, a, b, p.n).is_some_and(|gap| gap >= scene.margin as f64 / 1e6 - 1e-3)
            })
        })
    })
}

fn shift(range: &mut [i64; 2], r: &mut Random, inward: bool) {
    let by = r.some(400) * if inward { 1 } else { -1 };
    if r.next() & 1 == 0 { range[0] += by } else { range[1] -= by }
}

/// Every key of the schema that must be there.
const KEYS: &[&str] = &[
    "schema",
    "identity",
    "models",
    "joints",
    "space",
    "steps",
    "hinges",
    "bodies",
    "stations",
    "margin",
    "contact_travel",
    "mount",
    "number",
    "act",
    "before",
    "after",
    "lines",
    "within",
    "nodes",
    "least",
    "state",
    "carrier",
    "parts",
    "kind",
    "hold",
    "error",
    "stop_by_eye",
    "low",
    "high",
    "nominal",
    "known",
    "loads",
    "equipment",
    "tool",
    "held",
    "target",
    "positive",
    "ends",
    "grip_centre",
    "meeting",
];

fn places(text: &str, what: &str) -> Vec<usize> {
    text.match_indices(what).map(|(i, _)| i).collect()
}
/// Where the value that begins at `at` ends.
fn value_end(text: &str, at: usize) -> usize {
    let (mut depth, mut quoted, mut escaped) = (0, false, false);
    for (i, b) in text.bytes().enumerate().skip(at) {
        match b {
            _ if escaped => escaped = false,
            b'\\' if quoted => escaped = true,
            b'"' => quoted = !quoted,
            _ if quoted => {}
            b'{' | b'[' => depth += 1,
            b'}' | b']' if depth == 0 => return i,
            b'}' | b']' => depth -= 1,
            b',' if depth == 0 => return i,
            _ => {}
        }
    }
    text.len()
}
/// Where the object begins in which the key at `at` stands.
fn object(text: &str, at: usize) -> usize {
    let mut open = Vec::new();
    let (mut quoted, mut escaped) = (false, false);
    for (i, b) in text.bytes().enumerate().take(at) {
        match b {
            _ if escaped => escaped = false,
            b'\\' if quoted => escaped = true,
            b'"' => quoted = !quoted,
            _ if quoted => {}
            b'{' => open.push(i),
            b'}' => drop(open.pop()),
            _ => {}
        }
    }
    open.last().copied().unwrap_or(0)
}
/// Passes over what fills a sentence: which slots it has is not known to who audits, and `--source` compares it.
fn no_slot(text: &str, at: usize) -> Result<(), Passed> {
    if text[..object(text, at)].ends_with("\"with\":") { Err("it fills a sentence") } else { Ok(()) }
}
fn number(text: &str, r: &mut Random) -> Result<(usize, usize), Passed> {
    let key = *r.of(&["\"low\":", "\"high\":", "\"least\":", "\"value\":", "\"radius\":", "\"margin\":", "\"nominal\":", "\"error\":"]);
    let at = pick(places(text, key), r)? + key.len();
    let end = value_end(text, at);
    if text[at..end].parse::<i64>().is_ok() { Ok((at, end)) } else { Err("no number there") }
}

/// All of them.
pub static KINDS: &[Kind] = &[
    // The form of the file: any of these is no compiled procedure of this schema.
    text("a key that the schema does not have", |t, r| {
        let at = pick(places(t, "{\""), r)? + 1;
        Ok(format!("{}\"x{}\":{},{}", &t[..at], r.some(999), r.some(999), &t[at..]))
    }),
    text("a key twice", |t, r| {
        let key = format!("\"{}\":", r.of(KEYS));
        let at = pick(places(t, &key), r)?;
        no_slot(t, at)?;
        let end = value_end(t, at + key.len());
        Ok(format!("{}{},{}", &t[..at], &t[at..end], &t[at..]))
    }),
    text("a key left out", |t, r| {
        let key = format!("\"{}\":", r.of(KEYS));
        let at = pick(places(t, &key), r)?;
        no_slot(t, at)?;
        let end = value_end(t, at + key.len());
        let (from, to) = if t.as_bytes()[end] == b',' { (at, end + 1) } else { (at - usize::from(t.as_bytes()[at - 1] == b','), end) };
        Ok(format!("{}{}", &t[..from], &t[to..]))
    }),
    text("a fraction, not a number, or far too large", |t, r| {
        let (at, end) = number(t, r)?;
        let other =
            [format!("{}.5", &t[at..end]), "NaN".into(), "1e300".into(), "-Infinity".into(), format!("{}0000000000", 1 + r.below(99))];
        Ok(format!("{}{}{}", &t[..at], r.of(&other), &t[end..]))
    }),
    text("a number as text or in a list", |t, r| {
        let (at, end) = number(t, r)?;
        let other = [format!("\"{}\"", &t[at..end]), format!("[{}]", &t[at..end]), "null".into(), "{}".into()];
        let other = r.of(&other);
        // Of a step whose clearance was not looked at there is none.
        if other == "null" && t[object(t, at)..].starts_with("{\"between\":") {
            return Err("it may be null");
        }
        Ok(format!("{}{other}{}", &t[..at], &t[end..]))
    }),
    text("another version of the schema", |t, r| {
        Ok(t.replacen("surehand-compiled/2", &format!("surehand-compiled/{}", 2 + r.some(999)), 1))
    }),
    text("the end torn off", |t, r| {
        let at = t.len() - 1 - r.below(t.len() / 2);
        t.get(..at).map(str::to_string).ok_or("within a letter")
    }),
    // The box of a sweep is worked out anew and must be equal.
    data("a box shrunk", |c, r| {
        let s = sweep(c, r)?;
        let at = r.below(s.within.len());
        shift(&mut s.within[at], r, true);
        Ok(())
    }),
    data("a box widened", |c, r| {
        let s = sweep(c, r)?;
        let at = r.below(s.within.len());
        shift(&mut s.within[at], r, false);
        Ok(())
    }),
    data("boxes of two joints exchanged", |c, r| {
        let s = sweep(c, r)?;
        let (a, b) = (r.below(s.within.len()), r.below(s.within.len()));
        s.within.swap(a, b);
        Ok(())
    }),
    data("a box in degrees or radians", |c, r| {
        let s = sweep(c, r)?;
        let radians = r.next() & 1 == 0;
        let one = |x: &mut i64| *x = if radians { *x * 3_141_593 / 180_000_000 } else { *x / 1000 };
        s.within.iter_mut().flatten().for_each(one);
        Ok(())
    }),
    data("a joint missing from a box", |c, r| {
        let s = sweep(c, r)?;
        let at = r.below(s.within.len());
        s.within.remove(at);
        Ok(())
    }),
    data("a sweep dropped", |c, r| {
        let s = moving(c, r)?;
        let at = r.below(s.sweeps.len());
        s.sweeps.remove(at);
        Ok(())
    }),
    data("a sweep twice", |c, r| {
        let s = moving(c, r)?;
        let at = r.below(s.sweeps.len());
        s.sweeps.push(s.sweeps[at].clone());
        Ok(())
    }),
    data("a sweep for a state that is not there", |c, r| {
        let s = moving(c, r)?;
        let (at, n) = (r.below(s.sweeps.len()), s.before.len());
        s.sweeps[at].state = n + r.below(999);
        Ok(())
    }),
    data("a sweep of another step", |c, r| {
        let other = sweep(c, r)?.clone();
        let s = sweep(c, r)?;
        if s.within == other.within {
            return Err("the two sweeps have one box");
        }
        *s = other;
        Ok(())
    }),
    data("a clearance below the margin", |c, r| {
        let least = space(c).margin - r.some(20_000);
        sweep(c, r)?.least = least;
        Ok(())
    }),
    // Nothing in the cells of the library is 40 m away from everything.
    data("a clearance of many metres", |c, r| {
        sweep(c, r)?.least = 40_000_000 + r.some(1_000_000);
        Ok(())
    }),
    // A direction that holds parts apart points the wrong way once it is turned about.
    data("a direction turned about", |c, r| {
        let n = pick(sweep(c, r)?.nodes.iter_mut().flat_map(|n| &mut n.planes).collect(), r)?;
        n.n = n.n.map(|x| -x);
        Ok(())
    }),
    data("the bodies of a plane exchanged", |c, r| {
        let p = pick(sweep(c, r)?.nodes.iter_mut().flat_map(|n| &mut n.planes).collect(), r)?;
        (p.a, p.b, p.a_part, p.b_part) = (p.b, p.a, p.b_part, p.a_part);
        Ok(())
    }),
    data("a direction of length zero", |c, r| {
        pick(sweep(c, r)?.nodes.iter_mut().flat_map(|n| &mut n.planes).collect(), r)?.n = [0; 3];
        Ok(())
    }),
    data("a direction turned a quarter", |c, r| {
        turned(c, r, |n, r| {
            let k = r.below(3);
            let mut other = [-n[(k + 1) % 3], n[k], 0];
            other.rotate_right(k);
            other
        })
    }),
    data("a direction anywhere", |c, r| turned(c, r, |_, r| [0; 3].map(|_| r.some(2_000_000) - 1_000_000))),
    data("two components of a direction exchanged", |c, r| {
        turned(c, r, |mut n, r| {
            let k = r.below(3);
            n.swap(k, (k + 1) % 3);
            n
        })
    }),
    // A leaf of the library has a plane only where the balls do not clear its parts.
    data("a plane dropped", |c, r| {
        let node = leaf(c, r)?;
        let at = r.below(node.planes.len());
        node.planes.remove(at);
        Ok(())
    }),
    data("a plane moved to other bodies", |c, r| {
        let bodies = space(c).bodies.len();
        let node = leaf(c, r)?;
        let at = r.below(node.planes.len());
        let (plane, other) = (&mut node.planes[at], r.below(bodies));
        if r.next() & 1 == 0 {
            plane.a = other
        } else {
            plane.b = other
        }
        Ok(())
    }),
    data("a plane moved to another part", |c, r| {
        let node = leaf(c, r)?;
        let at = r.below(node.planes.len());
        let (plane, by) = (&mut node.planes[at], 1 + r.below(999));
        let part = if r.next() & 1 == 0 { &mut plane.a_part } else { &mut plane.b_part };
        *part = part.map(|p| p + by);
        Ok(())
    }),
    // A tree with a cut more or less than parts has boxes too many or too few.
    data("a box of the tree dropped", |c, r| {
        let s = sweep(c, r)?;
        let at = r.below(s.nodes.len());
        s.nodes.remove(at);
        Ok(())
    }),
    data("a box of the tree twice", |c, r| {
        let s = sweep(c, r)?;
        let at = r.below(s.nodes.len());
        s.nodes.insert(at, s.nodes[at].clone());
        Ok(())
    }),
    data("a cut taken out", |c, r| {
        let s = cut(c, r)?;
        pick(s.nodes.iter_mut().filter(|n| n.split.is_some()).collect(), r)?.split = None;
        Ok(())
    }),
    data("a cut put in", |c, r| {
        let s = sweep(c, r)?;
        let joint = r.below(s.within.len());
        let [low, high] = s.within[joint];
        let node = pick(s.nodes.iter_mut().filter(|n| n.split.is_none()).collect(), r)?;
        node.split = Some(Split { joint, at: low + r.some((high - low).max(1)) });
        Ok(())
    }),
    data("a cut outside its box", |c, r| {
        let s = cut(c, r)?;
        let places = boxes(s);
        let at = pick((0..s.nodes.len()).filter(|i| s.nodes[*i].split.is_some()).collect(), r)?;
        let split = s.nodes[at].split.as_mut().expect("a cut");
        let [low, high] = places[at][split.joint];
        split.at = if r.next() & 1 == 0 { low - r.some(5000) + 1 } else { high + r.some(5000) - 1 };
        Ok(())
    }),
    data("a cut of another joint", |c, r| {
        let s = cut(c, r)?;
        let places = boxes(s);
        let at = pick((0..s.nodes.len()).filter(|i| s.nodes[*i].split.is_some()).collect(), r)?;
        let (split, other) = (s.nodes[at].split.as_mut().expect("a cut"), r.below(s.within.len() + 2));
        split.joint = other;
        let inside = places[at].get(other).is_some_and(|b| b[0] < split.at && split.at < b[1]);
        if inside { Err("the other joint can be cut there as well") } else { Ok(()) }
    }),
    // Where one joint moves, or two without an order, nothing may be left out.
    data("a box left out", |c, r| {
        let plain = |s: &Step| !matches!(&s.act, Act::Together { first, gates, .. } if first.is_some() || !gates.is_empty());
        let s = pick(c.steps.iter_mut().filter(|s| plain(s)).flat_map(|s| &mut s.sweeps).collect(), r)?;
        let node = pick(s.nodes.iter_mut().filter(|n| n.split.is_none()).collect(), r)?;
        node.outside = true;
        if r.next() & 1 == 0 {
            node.planes.clear();
        }
        Ok(())
    }),
    data("the order of two joints taken back", |c, r| {
        let left_out = |s: &Step| s.sweeps.iter().flat_map(|s| &s.nodes).any(|n| n.outside);
        let s = pick(c.steps.iter_mut().filter(|s| left_out(s)).collect(), r)?;
        let Act::Together { first, gates, .. } = &mut s.act else { return Err(NOT_THERE) };
        (*first, *gates) = (None, Vec::new());
        s.words = format!("{} {}", s.words, r.next());
        Ok(())
    }),
    // The bodies, as far as the rest of the file tells that they are others.
    data("a body taken out", |c, r| {
        let one = pick(named(c).into_iter().collect(), r)?;
        space(c).bodies.remove(one);
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        // What comes next takes its place, and its planes: the same as a scene without it, if they hold there.
        if hold_at_the_middle(c) { Err("the planes hold for what takes its place") } else { Ok(()) }
    }),
    data("a load without its body", |c, r| {
        let here: BTreeSet<(String, String)> = c
            .steps
            .iter()
            .filter(|s| !s.sweeps.is_empty())
            .flat_map(|s| &s.before)
            .flat_map(|s| &s.loads)
            .filter_map(|(l, at)| Some((l.clone(), at.clone()?)))
            .collect();
        let is = |k: &BodyKind, name: &str| matches!(k, BodyKind::Rest { station } if here.contains(&(name.to_string(), station.clone())));
        let body = pick(space(c).bodies.iter_mut().filter(|b| is(&b.kind, &b.name)).collect(), r)?;
        body.name = format!("{} {}", body.name, r.some(999));
        Ok(())
    }),
    data("a tool without its body", |c, r| {
        let fitted: BTreeSet<String> =
            c.steps.iter().filter(|s| !s.sweeps.is_empty()).flat_map(|s| &s.before).filter_map(|s| s.tool.clone()).collect();
        let body = pick(space(c).bodies.iter_mut().filter(|b| b.kind == BodyKind::Tool && fitted.contains(&b.name)).collect(), r)?;
        body.name = format!("{} {}", body.name, r.some(999));
        Ok(())
    }),
    data("the held load another body", |c, r| {
        let s = pick(
            c.steps.iter_mut().filter(|s| !s.sweeps.is_empty()).flat_map(|s| &mut s.before).filter_map(|s| s.held.as_mut()).collect(),
            r,
        )?;
        s.body = if r.next() & 1 == 0 { None } else { Some(r.below(99)) };
        Ok(())
    }),
    data("the load in the jaw shrunk", |c, r| {
        let body = pick(space(c).bodies.iter_mut().filter(|b| taken(&b.kind)).collect(), r)?;
        match pick(body.parts.iter_mut().collect(), r)? {
            Part::Round { radius, .. } | Part::Cylinder { radius, .. } => *radius -= 9 + r.some(2000),
            Part::HalfSpace { .. } => return Err(NOT_THERE),
        }
        Ok(())
    }),
    data("the load in the jaw moved", |c, r| {
        let body = pick(space(c).bodies.iter_mut().filter(|b| taken(&b.kind)).collect(), r)?;
        let (k, by) = (r.below(3), r.sign() * (60 + r.some(50_000)));
        for part in &mut body.parts {
            match part {
                Part::Round { points, .. } => points.iter_mut().for_each(|p| p[k] += by),
                Part::Cylinder { a, b, .. } => (a[k], b[k]) = (a[k] + by, b[k] + by),
                Part::HalfSpace { .. } => return Err(NOT_THERE),
            }
        }
        Ok(())
    }),
    data("gripped elsewhere", |c, r| {
        let body = pick(space(c).bodies.iter_mut().filter(|b| taken(&b.kind)).collect(), r)?;
        let BodyKind::Held { gripped, .. } = &mut body.kind else { return Err(NOT_THERE) };
        let at = r.below(gripped.len() - 1);
        gripped[at] += r.sign() * (100 + r.some(20_000));
        Ok(())
    }),
    data("a body on another carrier", |c, r| {
        let (one, last) = (pick(named(c).into_iter().collect(), r)?, space(c).hinges.len());
        let body = &mut space(c).bodies[one];
        if body.kind == BodyKind::Link {
            return Err("a link may be carried by any joint");
        }
        body.carrier = (body.carrier + 1 + r.below(last)) % (last + 3);
        Ok(())
    }),
    data("a body of no parts or of an impossible one", |c, r| {
        let body = pick(space(c).bodies.iter_mut().collect(), r)?;
        body.parts = match r.below(4) {
            0 => Vec::new(),
            1 => vec![Part::Round { points: Vec::new(), radius: r.some(999) }],
            2 => vec![Part::Round { points: vec![[0; 3]], radius: -r.some(999) }],
            _ => vec![Part::Cylinder { a: [1; 3], b: [1; 3], radius: r.some(999) }],
        };
        Ok(())
    }),
    // Ten metres more reach everything in a cell of the library.
    data("a body in a plane ten metres larger", |c, r| {
        let one = pick(named(c).into_iter().collect(), r)?;
        match pick(space(c).bodies[one].parts.iter_mut().collect(), r)? {
            Part::Round { radius, .. } | Part::Cylinder { radius, .. } => *radius += 10_000_000 + r.some(1_000_000),
            Part::HalfSpace { point, normal } => {
                let k = (0..3).max_by_key(|k| normal[*k].abs()).unwrap_or(0);
                point[k] += normal[k].signum() * (10_000_000 + r.some(1_000_000));
            }
        }
        Ok(())
    }),
    data("the margin raised", |c, r| {
        let most = c.steps.iter().flat_map(|s| &s.sweeps).map(|s| s.least).max().unwrap_or(0);
        space(c).margin = most + r.some(500_000);
        Ok(())
    }),
    data("links left out that do not meet", |c, r| {
        let links: Vec<(usize, usize)> =
            space(c).bodies.iter().enumerate().filter(|(_, b)| b.kind == BodyKind::Link).map(|(i, b)| (i, b.carrier)).collect();
        let pairs = links.iter().flat_map(|a| links.iter().map(move |b| (*a, *b))).filter(|(a, b)| b.1 > a.1 + 1).collect();
        let ((a, _), (b, _)) = pick(pairs, r)?;
        let point = [0; 3].map(|_| r.some(4_000_000) - 2_000_000);
        space(c).meeting.push(Meeting { a, b, point });
        Ok(())
    }),
    data("bodies left out that are no links", |c, r| {
        let n = space(c).bodies.len();
        let (a, b) = (r.below(n), r.below(n + 3));
        let links = |c: &mut Compiled, i: usize| space(c).bodies.get(i).is_some_and(|x| x.kind == BodyKind::Link);
        if links(c, a) && links(c, b) {
            return Err("both are links");
        }
        space(c).meeting.push(Meeting { a, b, point: [0, 0, r.some(1_000_000)] });
        Ok(())
    }),
    // Contacts: the pair or the reach is no longer what step and station declare.
    data("a contact nobody declares", |c, r| {
        let scene = space(c).clone();
        let declared: BTreeSet<[usize; 2]> =
            scene.stations.iter().flat_map(|s| s.approach.clone()).flat_map(|[a, b]| [[a, b], [b, a]]).collect();
        let (a, b) = (r.below(scene.bodies.len()), r.below(scene.bodies.len()));
        if declared.contains(&[a, b]) {
            return Err("some station declares the pair");
        }
        let station = pick((0..scene.stations.len()).collect(), r)?;
        let around = if r.next() & 1 == 0 { None } else { Some(Around { station, within: r.some(40_000) }) };
        sweep(c, r)?.contacts.push(Contact { a, b, by: Allowed::Approach, around });
        Ok(())
    }),
    data("a contact reaching farther", |c, r| {
        let contacts = c.steps.iter_mut().flat_map(|s| &mut s.sweeps).flat_map(|s| &mut s.contacts);
        pick(contacts.filter_map(|c| c.around.as_mut()).collect(), r)?.within += r.some(50_000);
        Ok(())
    }),
    data("a contact everywhere", |c, r| {
        let contacts = c.steps.iter_mut().flat_map(|s| &mut s.sweeps).flat_map(|s| &mut s.contacts);
        let one = pick(contacts.filter(|c| c.around.is_some()).collect(), r)?;
        one.around = None;
        one.by = *r.of(&[Allowed::Approach, Allowed::Transfer]);
        Ok(())
    }),
    data("a contact at a station that is not there", |c, r| {
        let n = space(c).stations.len();
        let contacts = c.steps.iter_mut().flat_map(|s| &mut s.sweeps).flat_map(|s| &mut s.contacts);
        pick(contacts.filter_map(|c| c.around.as_mut()).collect(), r)?.station = n + r.below(99);
        Ok(())
    }),
    data("a contact for another reason", |c, r| {
        let transfer = |s: &Step| matches!(s.act, Act::Lift { .. } | Act::Lower { .. });
        let s = pick(c.steps.iter_mut().filter(|s| !transfer(s) && s.touching.is_empty()).flat_map(|s| &mut s.sweeps).collect(), r)?;
        pick(s.contacts.iter_mut().collect(), r)?.by = *r.of(&[Allowed::Line, Allowed::Transfer]);
        Ok(())
    }),
    data("touching allowed by no line", |c, r| {
        let n = space(c).bodies.len();
        let s = moving(c, r)?;
        s.lines.retain(|l| l.label != "Touching allowed");
        s.touching.push([r.below(n), r.below(n)]);
        Ok(())
    }),
    // Tolerances: the boxes follow from them.
    data("a read-out error reduced", |c, r| {
        let j = pick(c.joints.iter_mut().filter(|j| j.error > 0).collect(), r)?;
        j.error -= r.some(j.error);
        Ok(())
    }),
    data("a hold tolerance reduced", |c, r| {
        let j = pick(c.joints.iter_mut().filter(|j| j.hold > 0).collect(), r)?;
        j.hold -= r.some(j.hold);
        Ok(())
    }),
    data("a stopping tolerance wider than a band", |c, r| {
        let driven: BTreeSet<usize> =
            c.steps.iter_mut().flat_map(|s| motions(&mut s.act)).filter(|m| m.ends == Ends::Target).map(|m| m.joint).collect();
        let j = pick(driven.into_iter().collect(), r)?;
        c.joints[j].stop += 5000 + r.some(5000);
        Ok(())
    }),
    data("a limit that is passed", |c, r| {
        let m = motion(c, r)?.clone();
        let j = &mut c.joints[m.joint];
        if r.next() & 1 == 0 {
            j.high = m.high.value - r.some(500)
        } else {
            j.low = m.low.value + r.some(500)
        }
        Ok(())
    }),
    // The chain: a load that was gripped tells where the jaw was.
    data("a link of the chain shortened", |c, r| {
        if !space(c).bodies.iter().any(|b| taken(&b.kind)) {
            return Err("nothing is gripped, so the chain is as the file states it");
        }
        let h = pick(space(c).hinges.iter_mut().collect(), r)?;
        h.origin[r.below(3)] -= 1000 + r.some(100_000);
        Ok(())
    }),
    data("an axis turned about", |c, r| {
        let gripped: Vec<Vec<i64>> = space(c)
            .bodies
            .iter()
            .filter_map(|b| if let BodyKind::Held { gripped, station: Some(_) } = &b.kind { Some(gripped.clone()) } else { None })
            .collect();
        let at = r.below(space(c).hinges.len() - 1);
        if !gripped.iter().any(|g| g[at].abs() > 1000) {
            return Err("nothing was gripped with that joint turned");
        }
        let h = &mut space(c).hinges[at];
        if r.next() & 1 == 0 {
            h.axis = h.axis.map(|x| -x)
        } else {
            h.axis.rotate_left(1)
        }
        h.turn[0] += 360_000 * (r.some(90) - 45);
        Ok(())
    }),
    data("an axis of no direction, or a hinge missing", |c, r| {
        let at = r.below(space(c).hinges.len());
        if r.next() & 1 == 0 {
            space(c).hinges[at].axis = [0; 3];
        } else {
            space(c).hinges.remove(at);
        }
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    // States: they follow from each other and from the start; the boxes follow from them.
    data("a state narrowed", |c, r| {
        let s = before(c, r)?;
        let at = r.below(s.joints.len());
        let j = &mut s.joints[at];
        if j.high - j.low < 2 {
            return Err("the joint stands at one angle");
        }
        let by = r.some((j.high - j.low) / 2);
        if r.next() & 1 == 0 {
            j.low += by
        } else {
            j.high -= by
        }
        Ok(())
    }),
    data("a state narrowed, its box with it", |c, r| {
        let s = moving(c, r)?;
        let driven: Vec<usize> = motions(&mut s.act).iter().map(|m| m.joint).collect();
        let at = pick((0..s.before[0].joints.len()).filter(|j| !driven.contains(j)).collect(), r)?;
        let j = &mut s.before[0].joints[at];
        if j.high - j.low < 2 {
            return Err("the joint stands at one angle");
        }
        let by = r.some((j.high - j.low) / 2);
        (j.low, j.high) = (j.low + by, j.high - by / 2);
        let sweep = s.sweeps.iter_mut().find(|s| s.state == 0).ok_or(NOT_THERE)?;
        sweep.within[at] = [sweep.within[at][0] + by, sweep.within[at][1] - by / 2];
        Ok(())
    }),
    data("a state elsewhere", |c, r| {
        let s = before(c, r)?;
        let (at, by) = (r.below(s.joints.len()), r.sign() * r.some(90_000));
        let j = &mut s.joints[at];
        (j.low, j.high, j.nominal) = (j.low + by, j.high + by, j.nominal + by);
        Ok(())
    }),
    data("what a step leaves elsewhere", |c, r| {
        let s = pick(c.steps.iter_mut().flat_map(|s| &mut s.after).collect(), r)?;
        let (at, by) = (r.below(s.joints.len()), r.sign() * r.some(90_000));
        let j = &mut s.joints[at];
        (j.low, j.high, j.nominal) = (j.low + by, j.high + by, j.nominal + by);
        Ok(())
    }),
    data("a state of a step dropped", |c, r| {
        let s = pick(c.steps.iter_mut().filter(|s| s.before.len() == 1).collect(), r)?;
        s.before.clear();
        s.sweeps.clear();
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a joint missing from a state", |c, r| {
        let s = before(c, r)?;
        let at = r.below(s.joints.len());
        s.joints.remove(at);
        Ok(())
    }),
    data("a joint that nobody has read", |c, r| {
        let s = moving(c, r)?;
        let state = &mut s.before[0];
        let at = r.below(state.joints.len());
        state.joints[at].known = r.of(&["unread", "unread-range", "unknown", "guessed"]).to_string();
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a held load forgotten", |c, r| {
        let s = pick(c.steps.iter_mut().flat_map(|s| &mut s.before).filter(|s| s.held.is_some()).collect(), r)?;
        s.held = None;
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a load elsewhere in a state", |c, r| {
        let stations: Vec<String> = space(c).stations.iter().map(|s| s.name.clone()).collect();
        let s = before(c, r)?;
        let place = pick(s.loads.iter_mut().filter(|l| l.1.is_some()).collect(), r)?;
        let other = r.of(&stations).clone();
        if place.1.as_ref() == Some(&other) {
            return Err("the load is there");
        }
        place.1 = Some(other);
        Ok(())
    }),
    data("another tool, or none", |c, r| {
        let s = before(c, r)?;
        s.tool = match &s.tool {
            Some(_) if r.next() & 1 == 0 => None,
            _ => Some(format!("tool {}", r.some(999))),
        };
        Ok(())
    }),
    data("equipment in another state", |c, r| {
        let s = before(c, r)?;
        pick(s.equipment.iter_mut().collect(), r)?.1 = format!("state {}", r.some(999));
        Ok(())
    }),
    data("another start", |c, r| {
        let start = c.start.as_mut().expect("a start");
        let at = r.below(start.joints.len());
        let j = start.joints[at].as_mut().expect("an angle");
        let by = r.sign() * r.some(5000);
        (j[0], j[1]) = (j[0] + by, j[1] + by);
        Ok(())
    }),
    // Motions.
    data("a direction flipped", |c, r| {
        let m = motion(c, r)?;
        m.positive = !m.positive;
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a direction flipped, its word with it", |c, r| {
        let words: Vec<(String, String)> = c.joints.iter().map(|j| (j.positive.clone(), j.negative.clone())).collect();
        let m = motion(c, r)?;
        m.positive = !m.positive;
        let (positive, negative) = &words[m.joint];
        m.direction = if m.positive { positive.clone() } else { negative.clone() };
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("another word for a direction", |c, r| {
        motion(c, r)?.direction = format!("word {}", r.some(999));
        Ok(())
    }),
    data("another joint driven", |c, r| {
        let n = c.joints.len();
        let m = motion(c, r)?;
        m.joint = (m.joint + 1 + r.below(n)) % (n + 2);
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a target moved", |c, r| {
        let m = motion(c, r)?;
        let by = r.sign() * r.some(90) * 1000;
        let said = |v: i64| format!("{}{}.{:03}", if v < 0 { "-" } else { "+" }, v.abs() / 1000, v.abs() % 1000);
        for a in [&mut m.target, &mut m.low, &mut m.high] {
            a.value += by;
            a.text = said(a.value);
        }
        Ok(())
    }),
    data("a band changed", |c, r| {
        let m = motion(c, r)?;
        if matches!(m.ends, Ends::Contact | Ends::Signal { .. }) {
            return Err("a guarded move may stop anywhere short of its bound");
        }
        let by = r.sign() * r.some(400);
        if r.next() & 1 == 0 {
            m.low.value += by
        } else {
            m.high.value += by
        }
        Ok(())
    }),
    data("a printed angle that was not checked", |c, r| {
        let m = motion(c, r)?;
        m.target.text = match r.below(4) {
            0 => m.target.text.replace('+', "-"),
            1 => format!("{}{}", m.target.text, r.some(9)),
            2 => m.target.text.replace('.', ""),
            _ => format!("{}", r.some(400)),
        };
        let text = m.target.text.clone();
        let same = text.parse::<f64>().is_ok_and(|v| (v * 1000.0 - m.target.value as f64).abs() < 0.5);
        if same { Err("the text says the same angle") } else { Ok(()) }
    }),
    data("a printed start that is none", |c, r| {
        let m = motion(c, r)?;
        match r.below(2) {
            0 => m.from.clear(),
            _ => m.from.push(surehand::compiled::From::Between(
                m.target.clone(),
                surehand::compiled::Angle { value: r.some(400_000), text: String::new() },
            )),
        }
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a motion that ends otherwise", |c, r| {
        let m = motion(c, r)?;
        m.ends = match m.ends {
            Ends::Contact | Ends::Signal { .. } => return Err("the states after a guarded move hold those after any other"),
            Ends::Target => r.of(&[Ends::ByEye, Ends::Contact, Ends::Signal { name: "lamp".into(), cue: "lit".into() }]).clone(),
            _ => Ends::Target,
        };
        if let (Ends::Contact | Ends::Signal { .. }, Some(_)) = (&m.ends, &m.pace) {
            m.pace = None;
        }
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    // The order of steps.
    data("a step taken for an instruction", |c, r| {
        let s = moving(c, r)?;
        s.act = Act::Instruction;
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("a step that was not read", |c, r| {
        let s = pick(c.steps.iter_mut().collect(), r)?;
        s.act = Act::Broken;
        c.identity.title = format!("{} {}", c.identity.title, r.next());
        Ok(())
    }),
    data("another number on a step", |c, r| {
        let s = pick(c.steps.iter_mut().collect(), r)?;
        s.number = r
            .of(&[
                format!("{}", 9 + r.0 % 90),
                format!("{}A.1", s.number),
                format!("{}.1", s.number),
                format!("C{}.1", 1 + r.0 % 9),
                String::new(),
            ])
            .clone();
        Ok(())
    }),
    ways("a step dropped", |c, r| {
        let list = |s: &Step| s.number.rsplit_once('.').map_or("", |(list, _)| list).to_string();
        let at = r.below(c.steps.len() - 1);
        if !c.steps[at + 1..].iter().any(|s| list(s) == list(&c.steps[at])) {
            return Err("nothing follows the step in its list");
        }
        c.steps.remove(at);
        Ok(())
    }),
    ways("two steps exchanged", |c, r| {
        let (a, b) = (r.below(c.steps.len()), r.below(c.steps.len()));
        c.steps.swap(a, b);
        Ok(())
    }),
    ways("a step twice", |c, r| {
        let at = r.below(c.steps.len());
        c.steps.insert(at, c.steps[at].clone());
        Ok(())
    }),
    ways("a line that leads nowhere", |c, r| {
        pick(c.steps.iter_mut().flat_map(|s| &mut s.lines).filter_map(|l| l.leads_to.as_mut()).collect(), r)?
            .push_str(&format!(" {}", r.some(999)));
        Ok(())
    }),
    ways("a contingency that is not checked from all it is entered in", |c, r| {
        let steps =
            c.steps.iter_mut().filter(|s| s.number.starts_with('C') && s.number.ends_with(".1") && s.number.matches('.').count() == 1);
        let s = pick(steps.filter(|s| !s.before.is_empty()).collect(), r)?;
        let k = r.below(s.before[0].joints.len());
        // The state it is entered in that reaches lowest is held by none any more.
        let least = s.before.iter().map(|s| s.joints[k].low).min().unwrap_or(0);
        let by = r.some(900);
        for state in &mut s.before {
            let j = &mut state.joints[k];
            j.low = j.low.max(least + by);
            j.high = j.high.max(j.low);
        }
        Ok(())
    }),
    ways("a line that leads to an ordinary step", |c, r| {
        let numbers: Vec<String> =
            c.steps.iter().filter(|s| s.before.len() == 1 && !s.sweeps.is_empty()).map(|s| s.number.clone()).collect();
        let number = pick(numbers, r)?;
        let step = c.steps.iter().find(|s| s.number == number).expect("the step").before[0].clone();
        let from = pick(c.steps.iter_mut().filter(|s| s.lines.iter().any(|l| l.leads_to.is_some())).collect(), r)?;
        let far = |s: &State| s.joints.iter().zip(&step.joints).any(|(a, b)| a.low > b.high || a.high < b.low);
        if !from.before.iter().any(far) {
            return Err("the step may be entered in the state");
        }
        from.lines.iter_mut().for_each(|l| l.leads_to = l.leads_to.as_ref().map(|_| number.clone()));
        Ok(())
    }),
];

fn taken(kind: &BodyKind) -> bool {
    matches!(kind, BodyKind::Held { station: Some(_), .. })
}
