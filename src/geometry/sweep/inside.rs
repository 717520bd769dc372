//! Whether a point is within a closed mesh: its surface is no solid, so that what lies wholly within is clear of it.

use super::super::Vec3;
use super::super::solid::Form;
use super::moment::Moment;
use super::scene::{Holds, Scene};

/// Directions of rays; the next is taken where one passes too near an edge to count.
const RAYS: [[f64; 3]; 6] = [
    [0.571, 0.327, 0.753],
    [-0.439, 0.687, 0.579],
    [0.167, -0.859, 0.481],
    [0.719, 0.139, -0.681],
    [-0.277, -0.311, -0.907],
    [0.907, -0.409, 0.097],
];

impl Scene {
    /// Of two bodies at the middle of a box, a part of the one and a point of it that is within the other's closed mesh.
    pub(super) fn one_inside_other(&self, moment: &mut Moment<'_>, a: usize, b: usize) -> Option<((usize, usize), Vec3)> {
        for (mesh, other) in [(a, b), (b, a)] {
            if !self.bodies[mesh].closed_mesh {
                continue;
            }
            let back = moment.placed.carriers[self.bodies[mesh].carrier].inverse();
            for seed in &self.seeds[other] {
                let part = self.first[other] + seed;
                let point = moment.points(part)[0];
                let solid = !matches!(self.parts[part].form, Form::HalfSpace { .. });
                if solid && self.inside(mesh, back.point(point)) {
                    let whole = self.first[mesh];
                    return Some((if mesh == a { (whole, part) } else { (part, whole) }, point));
                }
            }
        }
        None
    }

    /// Whether a point in the coordinates of a mesh's carrier is within the mesh, or cannot be told from within.
    fn inside(&self, mesh: usize, p: Vec3) -> bool {
        let root = self.balls[self.roots[mesh]];
        if (p - root.centre).length() > root.radius {
            return false;
        }
        for ray in RAYS {
            let ray = Vec3::from_array(ray);
            if let Some(turns) = self.turns(mesh, p, ray / ray.length()) {
                return turns != 0;
            }
        }
        true
    }

    /// How often the surface winds about the point: passages of a ray out less those in. `None` where the ray passes
    /// too near an edge.
    fn turns(&self, mesh: usize, p: Vec3, ray: Vec3) -> Option<i32> {
        let mut todo = vec![self.roots[mesh]];
        let mut turns = 0;
        while let Some(g) = todo.pop() {
            let group = self.balls[g];
            let to = group.centre - p;
            if to.cross(ray).length() > group.radius + 1e-9 || to.dot(ray) < -group.radius - 1e-9 {
                continue;
            }
            match group.holds {
                Holds::Groups(left, right) => todo.extend([left, right]),
                Holds::Part(part) => {
                    let first = self.parts[part].first;
                    let [a, b, c] = [0, 1, 2].map(|i| self.points[first + i] - p);
                    let sides = [ray.dot(a.cross(b)), ray.dot(b.cross(c)), ray.dot(c.cross(a))];
                    let size = a.length().max(b.length()).max(c.length());
                    if sides.iter().all(|s| s.abs() > 1e-13 * size * size) {
                        let out = sides.iter().all(|s| *s > 0.0);
                        if out || sides.iter().all(|s| *s < 0.0) {
                            // Ahead of the point or behind it: the sign of the height over the triangle along the ray.
                            let ahead = a.dot((b - a).cross(c - a)) > 0.0;
                            turns += i32::from(out == ahead) * if out { 1 } else { -1 };
                        }
                    } else if sides.iter().all(|s| *s > -1e-12 * size * size) || sides.iter().all(|s| *s < 1e-12 * size * size) {
                        return None;
                    }
                }
            }
        }
        Some(turns)
    }
}
