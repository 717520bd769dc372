//! Meshes on whole micrometres: their triangles as parts of a closed surface, or their convex hull.

use super::body::Body;
use super::nearest::{Core, nearest};
use super::solid::{MOST_POINTS, Solid};
use super::{Fault, Frame, Vec3, metres, within};

/// The most triangles of a mesh.
pub const MOST_TRIANGLES: usize = 200_000;

/// Vertices in micrometres and triangles of their indices, turned anticlockwise as seen from outside.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mesh {
    /// Micrometres.
    pub vertices: Vec<[i64; 3]>,
    /// Indices into the vertices.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// Refuses an index that does not exist, a coordinate beyond 1 km, and a surface that is not closed and consistently
    /// turned: each edge must be passed once each way. Vertices at one place count as one; triangles that rounding to
    /// micrometres has brought to a line are kept, for they close the surface.
    pub fn check_closed(&self) -> Result<(), Fault> {
        self.check()?;
        let mut order: Vec<u32> = (0..self.vertices.len() as u32).collect();
        order.sort_by_key(|v| (self.vertices[*v as usize], *v));
        let mut same: Vec<u32> = (0..self.vertices.len() as u32).collect();
        for pair in order.windows(2) {
            if self.vertices[pair[0] as usize] == self.vertices[pair[1] as usize] {
                same[pair[1] as usize] = same[pair[0] as usize];
            }
        }
        let mut edges = Vec::with_capacity(self.triangles.len() * 3);
        for triangle in &self.triangles {
            let t = triangle.map(|v| same[v as usize]);
            for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                if a != b {
                    edges.push((a.min(b), a.max(b), if a < b { 1_i32 } else { -1 }));
                }
            }
        }
        edges.sort_unstable();
        for run in edges.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            if run.iter().map(|e| e.2).sum::<i32>() != 0 {
                return Err(Fault::OpenMesh(run[0].0, run[0].1));
            }
        }
        if self.six_volumes() <= 0.0 {
            return Err(Fault::Degenerate("the triangles of the mesh are turned inside out, or enclose nothing"));
        }
        Ok(())
    }

    fn check(&self) -> Result<(), Fault> {
        if self.triangles.is_empty() || self.triangles.len() > MOST_TRIANGLES {
            return Err(Fault::Degenerate("a mesh needs between 1 and 200000 triangles"));
        }
        if self.triangles.iter().flatten().any(|v| *v as usize >= self.vertices.len()) {
            return Err(Fault::Missing("a vertex of a triangle"));
        }
        self.vertices.iter().try_for_each(|v| within(v, "a vertex of a mesh"))
    }

    fn six_volumes(&self) -> f64 {
        let from = metres(self.vertices[0]);
        let corner = |v: u32| metres(self.vertices[v as usize]) - from;
        self.triangles.iter().map(|t| corner(t[0]).dot(corner(t[1]).cross(corner(t[2])))).sum()
    }

    /// Each triangle a part of a closed surface, carried by `carrier` and put there by `frame`.
    pub fn surface(&self, carrier: usize, frame: &Frame) -> Result<Body, Fault> {
        self.check_closed()?;
        let part = |t: &[u32; 3]| Solid::round(t.map(|v| self.vertices[v as usize]).to_vec(), 0)?.moved(frame);
        Ok(Body { carrier, parts: self.triangles.iter().map(part).collect::<Result<_, _>>()?, closed_mesh: true })
    }

    /// The convex hull of the vertices as one solid. Its points are vertices of the mesh, as few as hold every other vertex
    /// within a micrometre; its radius is that micrometre.
    pub fn hull(&self) -> Result<Solid, Fault> {
        for vertex in &self.vertices {
            within(vertex, "a vertex of a mesh")?;
        }
        let mut vertices = self.vertices.clone();
        vertices.sort_unstable();
        vertices.dedup();
        let all: Vec<Vec3> = vertices.iter().map(|v| metres(*v)).collect();
        let mut kept = vec![false; all.len()];
        let mut corners: Vec<Vec3> = Vec::new();
        let farthest = |n: Vec3| {
            let along = |i: &usize| all[*i].dot(n);
            (0..all.len()).reduce(|best, i| if along(&i) > along(&best) { i } else { best })
        };
        for n in [Vec3::X, Vec3::Y, Vec3::Z, Vec3::NEG_X, Vec3::NEG_Y, Vec3::NEG_Z] {
            let i = farthest(n).ok_or(Fault::Degenerate("a mesh needs a vertex"))?;
            if !kept[i] {
                kept[i] = true;
                corners.push(all[i]);
            }
        }
        for i in 0..all.len() {
            // Each round adds a vertex that the hull so far does not hold, so the rounds end.
            while !kept[i] && corners.len() <= MOST_POINTS {
                let found = nearest(&Core { points: &corners, cylinder: None }, &Core { points: &all[i..=i], cylinder: None });
                if found.is_some_and(|f| (f.a - f.b).length() < WITHIN) {
                    break;
                }
                let next = found.and_then(|f| farthest(-f.direction?)).filter(|far| !kept[*far]).unwrap_or(i);
                kept[next] = true;
                corners.push(all[next]);
            }
        }
        Solid::round(vertices.into_iter().zip(kept).filter_map(|(v, kept)| kept.then_some(v)).collect(), 1)
    }
}

/// How far outside a hull a vertex may be and still count as held: less than the micrometre the radius grows by.
const WITHIN: f64 = 0.9e-6;
