//! Convex solids on whole micrometres: hulls of points with a radius, flat-ended cylinders, half-spaces.
//!
//! Each keeps the whole numbers it was made of, so that a certificate can carry them, and has an exact support function.

use super::{FARTHEST, Fault, Frame, Vec3, metres, micrometres, unit, within};

/// The most points of one solid.
pub const MOST_POINTS: usize = 4096;

/// What kind of solid the points and the radius make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// All within the radius of the hull of the points: a ball, a capsule, a box, a rounded hull.
    Round,
    /// Flat-ended: two points, the middles of its ends, and a radius.
    Cylinder,
    /// All on the side of one point that the outward normal points away from.
    HalfSpace {
        /// The outward normal, three whole numbers of any length.
        normal: [i64; 3],
    },
}

/// A convex solid in the coordinates of its carrier.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    form: Form,
    points: Vec<[i64; 3]>,
    radius: i64,
    core: Vec<Vec3>,
    r: f64,
    direction: Vec3,
    ball: Ball,
}

/// A ball that holds something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ball {
    /// The middle, in metres.
    pub centre: Vec3,
    /// The radius, in metres.
    pub radius: f64,
}

impl Solid {
    /// All within `radius` of the hull of `points` (micrometres).
    pub fn round(points: Vec<[i64; 3]>, radius: i64) -> Result<Solid, Fault> {
        if points.is_empty() || points.len() > MOST_POINTS {
            return Err(Fault::Degenerate("a solid needs between 1 and 4096 points"));
        }
        Solid::new(Form::Round, points, radius)
    }

    /// A flat-ended cylinder from `a` to `b` (micrometres).
    pub fn cylinder(a: [i64; 3], b: [i64; 3], radius: i64) -> Result<Solid, Fault> {
        Solid::new(Form::Cylinder, vec![a, b], radius)
    }

    /// Everything on the side of `point` (micrometres) that `normal` points away from. Only the cell can carry it.
    pub fn half_space(point: [i64; 3], normal: [i64; 3]) -> Result<Solid, Fault> {
        Solid::new(Form::HalfSpace { normal }, vec![point], 0)
    }

    /// A box by its middle and half its lengths (micrometres), turned by `frame` and rounded as [`Solid::moved`] does.
    pub fn cuboid(half: [i64; 3], frame: &Frame) -> Result<Solid, Fault> {
        let corner = |i: usize| [0, 1, 2].map(|k| if i >> k & 1 == 0 { -half[k] } else { half[k] });
        Solid::round((0..8).map(corner).collect(), 0)?.moved(frame)
    }

    fn new(form: Form, points: Vec<[i64; 3]>, radius: i64) -> Result<Solid, Fault> {
        for point in &points {
            within(point, "a point of a solid")?;
        }
        if !(0..=FARTHEST).contains(&radius) {
            return Err(Fault::OutOfRange("a radius"));
        }
        let core: Vec<Vec3> = points.iter().map(|p| metres(*p)).collect();
        let r = radius as f64 / 1e6;
        let direction = match form {
            Form::Round => Vec3::ZERO,
            Form::Cylinder => {
                let along = [0, 1, 2].map(|k| points[1][k] - points[0][k]);
                if radius == 0 || along == [0; 3] {
                    return Err(Fault::Degenerate("a cylinder needs a length and a radius"));
                }
                let along = metres(along);
                along / along.dot(along).sqrt()
            }
            Form::HalfSpace { normal } => unit(normal)?,
        };
        let ball = ball(form, &points, &core, r);
        Ok(Solid { form, points, radius, core, r, direction, ball })
    }

    /// What kind it is.
    #[must_use]
    pub fn form(&self) -> Form {
        self.form
    }

    /// Its points in micrometres: of the hull, or the two ends of a cylinder, or the one on a half-space.
    #[must_use]
    pub fn points(&self) -> &[[i64; 3]] {
        &self.points
    }

    /// Its radius in micrometres.
    #[must_use]
    pub fn radius(&self) -> i64 {
        self.radius
    }

    /// Its points in metres.
    #[must_use]
    pub fn core(&self) -> &[Vec3] {
        &self.core
    }

    /// Its radius in metres.
    #[must_use]
    pub fn r(&self) -> f64 {
        self.r
    }

    /// The unit axis of a cylinder, the outward unit normal of a half-space, zero for a round solid.
    #[must_use]
    pub fn direction(&self) -> Vec3 {
        self.direction
    }

    /// Whether it is a half-space.
    #[must_use]
    pub fn is_half_space(&self) -> bool {
        matches!(self.form, Form::HalfSpace { .. })
    }

    /// A ball that holds it: about the middle of the box of its points along the axes; of a half-space, its point alone.
    #[must_use]
    pub fn ball(&self) -> Ball {
        self.ball
    }

    /// The greatest `n · x` over the solid, for a unit `n`; infinite for a half-space in any direction but its own.
    #[must_use]
    pub fn support(&self, n: Vec3) -> f64 {
        let most = self.core.iter().map(|p| p.dot(n)).fold(f64::NEG_INFINITY, f64::max);
        match self.form {
            Form::Round => most + self.r,
            Form::Cylinder => most + self.r * n.cross(self.direction).length(),
            Form::HalfSpace { .. } if n == self.direction => most,
            Form::HalfSpace { .. } => f64::INFINITY,
        }
    }

    /// The solid carried elsewhere, on whole micrometres again: grown by 1 um, so that nothing of it is lost. A cylinder
    /// also grows in length, as far as rounding can tilt its flat ends. A half-space stays where it was made.
    pub fn moved(&self, frame: &Frame) -> Result<Solid, Fault> {
        if *frame == Frame::IDENTITY {
            return Ok(self.clone());
        }
        if !frame.is_finite() {
            return Err(Fault::OutOfRange("a frame"));
        }
        match self.form {
            Form::Round => {
                let place = |p: &Vec3| micrometres(frame.point(*p), "a point of a solid that was moved");
                Solid::new(Form::Round, self.core.iter().map(place).collect::<Result<_, _>>()?, self.radius + 1)
            }
            Form::Cylinder => self.cover([self.core[0], self.core[1]].map(|p| frame.point(p)), 0),
            Form::HalfSpace { .. } => Err(Fault::Degenerate("a half-space belongs to the cell and cannot be moved")),
        }
    }

    /// The solid with `by` micrometres more on every side; a cylinder stays flat-ended. A half-space is not grown.
    pub fn grown(&self, by: i64) -> Result<Solid, Fault> {
        match self.form {
            Form::Round => Solid::new(Form::Round, self.points.clone(), self.radius.saturating_add(by)),
            Form::Cylinder => self.cover([self.core[0], self.core[1]], by),
            Form::HalfSpace { .. } => Err(Fault::Degenerate("a half-space cannot be grown")),
        }
    }

    /// A cylinder on whole micrometres that holds this one, grown by `by`, with its axis at `ends`. Rounding moves each end
    /// by at most 0.87 um, which can also tilt the flat ends: over a length L that lifts their rim by 1.74 r / L um.
    fn cover(&self, ends: [Vec3; 2], by: i64) -> Result<Solid, Fault> {
        let along = ends[1] - ends[0];
        let length = along.dot(along).sqrt();
        let radius = self.radius.saturating_add(by).saturating_add(1);
        let longer = (2.0 + (2.0 * radius as f64 / (length * 1e6)).ceil() + by as f64) / 1e6;
        let place = |p: Vec3| micrometres(p, "an end of a cylinder");
        let out = along * (longer / length);
        Solid::cylinder(place(ends[0] - out)?, place(ends[1] + out)?, radius)
    }
}

fn ball(form: Form, points: &[[i64; 3]], core: &[Vec3], r: f64) -> Ball {
    let mut ends = [points[0], points[0]];
    for point in points {
        for k in 0..3 {
            ends[0][k] = ends[0][k].min(point[k]);
            ends[1][k] = ends[1][k].max(point[k]);
        }
    }
    let centre = metres([0, 1, 2].map(|k| ends[0][k] + ends[1][k])) / 2.0;
    let far = core.iter().map(|p| (*p - centre).length()).fold(0.0, f64::max);
    let radius = match form {
        Form::Round => far + r,
        Form::Cylinder => (far * far + r * r).sqrt(),
        Form::HalfSpace { .. } => 0.0,
    };
    Ball { centre, radius }
}
