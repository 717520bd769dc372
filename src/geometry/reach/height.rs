//! How high a carried body is above what is below it.

use super::top::{Top, View};
use super::{Carried, GUARD, Look, Middle, greatest};
use crate::geometry::body::Body;
use crate::geometry::chain::{Chain, JointBox};
use crate::geometry::solid::{Form, Solid};
use crate::geometry::{Fault, Vec3};
use std::cell::OnceCell;

/// How far a body can fall.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Height {
    /// The greatest fall before it meets something, from anywhere in the box: micrometres, rounded up. None if somewhere
    /// nothing is certain to be below it.
    pub most: Option<i64>,
    /// The bodies that it may meet first, by their place in the list, with the greatest height of its lowest point above their
    /// top there, in micrometres, rounded up; no more than the greatest fall there.
    pub onto: Vec<(usize, i64)>,
}

/// A fall is known well enough to this, in metres.
const FINE: f64 = 2e-3;

/// So deep, in metres, shapes may overlap where one thing stands on another: what seats and angles are off.
const SUNK: f64 = 0.05;

/// The most boxes one question is cut into.
const MOST_BOXES: usize = 64;

/// Over the box, how far a carried body is above the highest of the fixed bodies below it, any of which may lie `lower` than it
/// stands in the list: metres.
pub fn height(chain: &Chain, root: &JointBox, carried: &Body, below: &[&Body], lower: f64) -> Result<Height, Fault> {
    root.check(chain)?;
    carried.check(chain)?;
    for body in below {
        body.check(chain)?;
        if body.carrier != 0 {
            return Err(Fault::Degenerate("what a body falls onto must not move"));
        }
    }
    let tops: Vec<Support> = below.iter().flat_map(|b| &b.parts).filter_map(Support::of).collect();
    let what = Carried::Point(carried.parts[0].ball().centre);
    let most = greatest(chain, root, FINE, MOST_BOXES, |middle, part| {
        let point: Vec<i64> = part.0.iter().map(|[low, high]| low + (high - low) / 2).collect();
        let there = Middle::of(chain, &JointBox::point(&point));
        Look {
            most: fall(middle, carried, &tops),
            reached: fall(&there, carried, &tops),
            halve: middle.widest(part, carried.carrier, what),
        }
    });
    let told = |fall: f64| ((fall + lower + GUARD) * 1e6).ceil() as i64;
    let most = most.is_finite().then(|| told(most));
    let heights = onto(chain, root, carried, (below, &tops), lower).into_iter().enumerate();
    let onto =
        heights.filter_map(|(i, height)| height.map(|height| (i, most.map_or(told(height), |most| told(height).min(most))))).collect();
    Ok(Height { most, onto })
}

/// A solid that a body may come down on.
struct Support<'a> {
    solid: &'a Solid,
    top: Top,
    /// Its under side, seen from below, worked out where it is asked for; none where it is not known.
    under: OnceCell<Option<Top>>,
}

impl<'a> Support<'a> {
    /// None where its upper side is not known.
    fn of(solid: &'a Solid) -> Option<Support<'a>> {
        Some(Support { solid, top: seen(solid, Vec3::Z)?, under: OnceCell::new() })
    }

    /// How high it stands at the least below a point that is in the rectangle and no lower than `least`; none if the point may be
    /// beside it, below it, or deep in it. A point that is not below and not deep is above: what stands there stands on it. The shape
    /// of a thing that is entered deeper has a hollow there.
    fn below(&self, x: [f64; 2], y: [f64; 2], least: f64) -> Option<f64> {
        let [low, high] = self.top.under(x, y)?;
        (high <= least || high - least <= SUNK && self.is_over_under_side(x, y, least)).then_some(low)
    }

    /// Whether nothing in the rectangle that is no lower than `least` is below the solid; a half-space has nothing below it.
    fn is_over_under_side(&self, x: [f64; 2], y: [f64; 2], least: f64) -> bool {
        let under = || self.under.get_or_init(|| seen(self.solid, -Vec3::Z)).as_ref().and_then(|u| u.under(x, y));
        self.solid.is_half_space() || under().is_some_and(|[highest, _]| -highest <= least)
    }
}

/// The side of a solid that is seen from this way up.
fn seen(solid: &Solid, up: Vec3) -> Option<Top> {
    Top::of(solid, &View { axes: [Vec3::X, Vec3::Y, up] })
}

/// The greatest fall over one box; infinite if nothing is certain to be below. Any point of the body that is certain to be
/// above something bounds the fall of the whole.
fn fall(middle: &Middle, carried: &Body, tops: &[Support]) -> f64 {
    let mut least = f64::INFINITY;
    for part in &carried.parts {
        let r = if part.form() == Form::Round { part.r() } else { 0.0 };
        for p in part.core() {
            let range = |n| {
                let rise = middle.rise(carried.carrier, Carried::Point(*p), n);
                [rise.at - rise.down, rise.at + rise.up]
            };
            let (x, y, z) = (range(Vec3::X), range(Vec3::Y), range(Vec3::Z));
            for support in tops {
                let solid = support.solid;
                if z[1] - r - solid.support(Vec3::Z) >= least || (!solid.is_half_space() && is_beside([x, y], solid)) {
                    continue; // no nearer than what is known, or not below it
                }
                if let Some(low) = support.below(x, y, z[0]) {
                    least = least.min((z[1] - r - low).max(0.0));
                }
            }
        }
    }
    least
}

/// Whether a rectangle lies beside the box of a solid.
fn is_beside(flat: [[f64; 2]; 2], solid: &Solid) -> bool {
    [Vec3::X, Vec3::Y].iter().zip(flat).any(|(n, [low, high])| low > solid.support(*n) || high < -solid.support(-*n))
}

/// In pieces of the way, what the body may meet first, and how high it is above that at most where it may.
fn onto(chain: &Chain, root: &JointBox, carried: &Body, (below, tops): (&[&Body], &[Support]), lower: f64) -> Vec<Option<f64>> {
    let mut heights: Vec<Option<f64>> = vec![None; below.len()];
    let what = Carried::Point(carried.parts[0].ball().centre);
    let mut open = vec![root.clone()];
    let mut pieces = 1;
    while let Some(part) = open.pop() {
        let middle = Middle::of(chain, &part);
        let wide = (0..carried.carrier).any(|i| part.0[i][1] - part.0[i][0] > 4000);
        if let (true, true, Some(joint)) = (wide, pieces < MOST_BOXES, middle.widest(&part, carried.carrier, what)) {
            pieces += 1;
            let [low, high] = part.0[joint];
            let half = low + (high - low) / 2;
            for interval in [[low, half], [half, high]] {
                let mut piece = part.clone();
                piece.0[joint] = interval;
                open.push(piece);
            }
            continue;
        }
        let extent = |n: Vec3| {
            let end = |s: &Solid, p: &Vec3| {
                let rise = middle.rise(carried.carrier, Carried::Point(*p), n);
                rise.at + rise.up + s.r()
            };
            carried.parts.iter().flat_map(|s| s.core().iter().map(move |p| end(s, p))).fold(f64::NEG_INFINITY, f64::max)
        };
        let flat = [[-extent(-Vec3::X), extent(Vec3::X)], [-extent(-Vec3::Y), extent(Vec3::Y)]];
        let ([least, most], fall) = (lowest(&middle, carried), fall(&middle, carried, tops));
        for (known, body) in heights.iter_mut().zip(below) {
            // A wall is not passed over; and what lies lower than the fall goes is met by nothing.
            let above = |s: &Solid| {
                let top = s.support(Vec3::Z);
                let met = top.is_finite() && top <= most && least - top <= fall + lower && (s.is_half_space() || !is_beside(flat, s));
                met.then_some((most - top).min(fall))
            };
            *known = body.parts.iter().filter_map(above).chain(*known).reduce(f64::max);
        }
    }
    heights
}

/// The lowest and the highest that the lowest point of a body can be over a box.
fn lowest(middle: &Middle, carried: &Body) -> [f64; 2] {
    let mut least = [f64::INFINITY; 2];
    for part in &carried.parts {
        let r = if part.form() == Form::Round { part.r() } else { 0.0 };
        for p in part.core() {
            let rise = middle.rise(carried.carrier, Carried::Point(*p), Vec3::Z);
            least = [least[0].min(rise.at - rise.down - r), least[1].min(rise.at + rise.up - r)];
        }
    }
    least
}
