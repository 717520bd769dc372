//! Shapes that stand in files of their own.

use super::keys::{SHAPE, key};
use super::read::Read;
use crate::syntax::record::Record;
use crate::text::Spanned;
use std::sync::Arc;

/// A mesh file that a shape names.
#[derive(Clone, Debug, PartialEq)]
pub struct MeshFile {
    /// As written, relative to the model file.
    pub path: Spanned<String>,
    /// What one unit of the file's numbers is; mesh files do not say it.
    pub unit: Spanned<Scale>,
    /// What the file holds, once it was read; without it nothing is proved about the shape.
    pub mesh: Option<Arc<Mesh>>,
}

/// What one unit of a mesh file's numbers is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// A millimetre.
    Millimetre,
    /// A metre.
    Metre,
    /// An inch of 25.4 mm.
    Inch,
}

/// Triangles. A corner is given in whole micrometres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mesh {
    /// Corners in micrometres.
    pub vertices: Vec<[i64; 3]>,
    /// Three corners each, counter-clockwise as seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

impl MeshFile {
    pub(super) fn read(r: &Record<'_>) -> Option<MeshFile> {
        let path = r.key(key!(SHAPE, "path").name).needed().prose();
        let unit = r.key(key!(SHAPE, "unit").name).needed().present();
        let unit = if unit { r.word(key!(SHAPE, "unit"), &[Scale::Millimetre, Scale::Metre, Scale::Inch]) } else { None };
        Some(MeshFile { path: path?, unit: unit?, mesh: None })
    }
}
