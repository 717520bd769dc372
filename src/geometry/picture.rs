//! What a point that moves does in the picture of an eye: right, left, up or down, and away or nearer.
//!
//! A picture is a central projection on a plane across the line of sight: right and up are told in tangents of the angle off that
//! line, away in metres from the eye. A mirrored picture has right and left exchanged.
//!
//! Invariant: a direction is told of the whole way of a motion, from its start to its end with every other joint where it
//! is printed to be, and not of its ends alone.

use super::chain::Chain;
use super::sight::Mark;
use super::{Fault, Vec3, metres, within};

/// A direction in a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Way {
    /// To the right.
    Right,
    /// To the left.
    Left,
    /// Up.
    Up,
    /// Down.
    Down,
}

/// How a picture shows the cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picture {
    eye: Vec3,
    ahead: Vec3,
    right: Vec3,
    up: Vec3,
}

/// Where something is in a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Tangent of the angle to the right of the middle.
    pub right: f64,
    /// Tangent of the angle above the middle.
    pub up: f64,
    /// From the eye, metres.
    pub away: f64,
}

/// A share of a picture's motion below which nobody calls it a direction: the sine of 15 deg.
const PLAIN: f64 = 0.258_819;

/// Less motion than this, in tangents, is none: about a third of a degree as seen from the eye.
const STILL: f64 = 0.005;

/// Steps of a motion are at most this long, in thousandths of a degree.
const STEP: i64 = 250;

/// A motion as it looks.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// From start to end, in the picture.
    pub shift: Spot,
    /// The distance from the eye to where the motion starts, metres.
    pub from: f64,
    /// By step: the angles it goes between in thousandths of a degree, and how far it goes to the right and up.
    steps: Vec<([i64; 2], f64, f64)>,
}

/// Whether a picture shows what a word says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Agreement {
    /// It does, or at least nothing else.
    Agrees,
    /// It shows the opposite.
    Reversed,
    /// It shows the opposite over a part of the way: from the one angle to the other, in thousandths of a degree.
    Partly(i64, i64),
    /// The motion goes too little along the word's direction for one to be seen.
    Aside,
}

impl Picture {
    /// The picture of an eye that looks at a point, both in micrometres; `up` is the direction that is up in the picture.
    pub fn new(eye: [i64; 3], looks_at: [i64; 3], up: Vec3, mirrored: bool) -> Result<Picture, Fault> {
        within(&eye, "the place of an eye")?;
        within(&looks_at, "the point that an eye looks at")?;
        let (eye, line) = (metres(eye), metres(looks_at) - metres(eye));
        let far = line.length();
        if far < 1e-6 {
            return Err(Fault::Degenerate("an eye looks at the point where it is"));
        }
        let ahead = line / far;
        let right = ahead.cross(up);
        if right.length() < 1e-3 {
            return Err(Fault::Degenerate("what is up in the picture is the direction of the view"));
        }
        let right = right.normalize();
        let up = right.cross(ahead);
        Ok(Picture { eye, ahead, right: if mirrored { -right } else { right }, up })
    }

    /// What is to the right in the picture, in the cell; of length 1.
    pub fn right(&self) -> Vec3 {
        self.right
    }

    /// Where a point is; none behind the eye.
    #[must_use]
    pub fn spot(&self, p: Vec3) -> Option<Spot> {
        let line = p - self.eye;
        let deep = line.dot(self.ahead);
        (deep > 1e-6).then(|| Spot { right: line.dot(self.right) / deep, up: line.dot(self.up) / deep, away: line.length() })
    }

    /// How the mark moves while one joint turns from where `start` has it to an angle, in thousandths of a degree; none if it comes behind
    /// the eye, or nothing turns.
    #[must_use]
    pub fn watch(&self, chain: &Chain, mark: Mark, start: &[i64], joint: usize, to: i64) -> Option<Motion> {
        let from = *start.get(joint)?;
        let count = (to.abs_diff(from)).div_ceil(STEP as u64).max(8) as i64;
        let mut angles = start.to_vec();
        let point = metres(mark.point);
        let mut at = |angle: i64| {
            angles[joint] = angle;
            self.spot(chain.place_exact(&angles).carriers.get(mark.carrier)?.point(point))
        };
        let first = at(from)?;
        let (mut last, mut steps) = (first, Vec::new());
        let mut before = from;
        for i in 1..=count {
            let angle = from + ((i128::from(to) - i128::from(from)) * i128::from(i) / i128::from(count)) as i64;
            let here = at(angle)?;
            steps.push(([before, angle], here.right - last.right, here.up - last.up));
            (last, before) = (here, angle);
        }
        let shift = Spot { right: last.right - first.right, up: last.up - first.up, away: last.away - first.away };
        (from != to).then_some(Motion { shift, from: first.away, steps })
    }
}

impl Motion {
    /// Whether it goes the way a word says.
    #[must_use]
    pub fn agrees(&self, word: Way) -> Agreement {
        let along = |right: f64, up: f64| match word {
            Way::Right => right,
            Way::Left => -right,
            Way::Up => up,
            Way::Down => -up,
        };
        let each = || self.steps.iter().map(|(angle, right, up)| (*angle, along(*right, *up), (right * right + up * up).sqrt()));
        // What goes forth and what goes back are each held against their own way: a motion that ends where it began has both.
        let told = |sign: f64| {
            let some = |(_, s, _): &([i64; 2], f64, f64)| s * sign > 0.0;
            let part: f64 = each().filter(some).map(|(_, s, _)| s.abs()).sum();
            let way: f64 = each().filter(some).map(|(_, _, length)| length).sum();
            part > STILL && part > PLAIN * way
        };
        match (told(1.0), told(-1.0)) {
            (false, false) => Agreement::Aside,
            (true, false) => Agreement::Agrees,
            (false, true) => Agreement::Reversed,
            (true, true) => {
                let back = || each().filter(|(_, s, _)| *s < 0.0);
                let (first, last) = (back().next().map_or(0, |x| x.0[0]), back().next_back().map_or(0, |x| x.0[1]));
                Agreement::Partly(first, last)
            }
        }
    }

    /// The directions in the picture that are plain to see over the whole of it, the greater first.
    #[must_use]
    pub fn ways(&self) -> Vec<Way> {
        let Spot { right, up, .. } = self.shift;
        let length = (right * right + up * up).sqrt();
        if length <= STILL {
            return Vec::new();
        }
        let across = (right.abs(), if right < 0.0 { Way::Left } else { Way::Right });
        let upright = (up.abs(), if up < 0.0 { Way::Down } else { Way::Up });
        let both = if across.0 >= upright.0 { [across, upright] } else { [upright, across] };
        both.into_iter().filter(|(part, _)| *part > PLAIN * length).map(|(_, way)| way).collect()
    }

    /// Whether it goes away from the eye (true) or nearer (false), where that is plain against what it does in the picture.
    #[must_use]
    pub fn recedes(&self) -> Option<bool> {
        let Spot { right, up, away } = self.shift;
        let across = (right * right + up * up).sqrt() * self.from;
        (away.abs() > STILL * self.from && away.abs() > PLAIN * (away * away + across * across).sqrt()).then_some(away > 0.0)
    }
}
