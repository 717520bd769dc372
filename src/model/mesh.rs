//! Shapes that stand in files of their own: STL and OBJ.
//!
//! Invariant: a mesh that is here can be judged: its corners are whole micrometres, and where it is to enclose something it
//! is closed and its triangles are turned outward. What cannot be read is told and leaves nothing.

use super::keys::{SHAPE, key};
use super::read::Read;
use super::rules::{CELL_AS_IT_STANDS, limit};
use crate::diag::ExampleFile::Cell;
use crate::diag::{Diagnostic, Example, Rule};
use crate::geometry::mesh::{MOST_TRIANGLES, Mesh};
use crate::geometry::solid::MOST_POINTS;
use crate::geometry::{FARTHEST, Fault};
use crate::syntax::record::Record;
use crate::text::Spanned;
use crate::units::Length;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&UNFIT_MESH];

macro_rules! sump {
    ($kind:literal, $path:literal, $unit:literal) => {
        Example::patch(
            Cell,
            "kind = \"box\"\ncentre = [\"1200 mm\", \"0 mm\", \"-350 mm\"]\nsize = [\"600 mm\", \"1800 mm\", \"100 mm\"]",
            concat!("kind = \"", $kind, "\"\npath = ", $path, "\nunit = ", $unit),
        )
    };
}

/// A mesh that encloses nothing that can be known.
pub static UNFIT_MESH: Rule = Rule {
    bad: &[
        sump!("mesh", "⟦\"open.obj\"⟧", "\"mm\""),
        sump!("mesh", "⟦\"inverted.obj\"⟧", "\"mm\""),
        sump!("mesh", "⟦\"block.obj\"⟧", "\"m\""),
        sump!("hull", "⟦\"torn.stl\"⟧", "\"mm\""),
        sump!("hull", "⟦\"policy.toml\"⟧", "\"mm\""),
    ],
    good: &[sump!("mesh", "\"block.obj\"", "\"mm\""), sump!("hull", "\"open.obj\"", "\"mm\""), CELL_AS_IT_STANDS],
    ..limit(
        "unfit-mesh",
        "a mesh file cannot be read, is not closed, or has an impossible size",
        "What a mesh encloses is solid. Where its surface has a hole or is turned inside out nobody can say what that is, and numbers in the \
         wrong unit make a pump the size of a thimble, which nothing would ever touch.",
    )
};

/// The mesh files of the examples, as OBJ and STL text; invented.
pub const EXAMPLES: [(&str, &str); 4] = [
    (
        "block.obj",
        concat!("# a tetrahedron\nv 1000 0 -400\nv 1400 0 -400\nv 1000 400 -400\nv 1000 0 -300\n", "f 1 3 2\nf 1 2 4\nf 2 3 4\nf 1 4 3\n"),
    ),
    (
        "open.obj",
        concat!("# the same without a face\nv 1000 0 -400\nv 1400 0 -400\nv 1000 400 -400\nv 1000 0 -300\n", "f 1 2 4\nf 2 3 4\nf 1 4 3\n"),
    ),
    (
        "inverted.obj",
        concat!(
            "# the same inside out\nv 1000 0 -400\nv 1400 0 -400\nv 1000 400 -400\nv 1000 0 -300\n",
            "f 1 2 3\nf 1 4 2\nf 2 4 3\nf 1 3 4\n"
        ),
    ),
    ("torn.stl", "solid torn\nfacet normal 0 0 1\n outer loop\n  vertex 0 0 0\n  vertex 1 0 0\n  vertex 0 1 0\n endloop\nendfacet\n"),
];

/// A mesh file that a shape names.
#[derive(Clone, Debug, PartialEq)]
pub struct MeshFile {
    /// As written, relative to the model file.
    pub path: Spanned<String>,
    /// What one unit of the file's numbers is; mesh files do not say it.
    pub unit: Spanned<Scale>,
    /// Whether it must enclose something, or only its corners count.
    pub closed: bool,
    /// What the file holds, once it was read; without it nothing is proved about the shape.
    pub mesh: Option<Arc<Mesh>>,
    /// SHA-256 of the file, once it was read.
    pub digest: Option<[u8; 32]>,
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

impl Scale {
    /// As written.
    pub fn word(self) -> &'static str {
        match self {
            Scale::Millimetre => "mm",
            Scale::Metre => "m",
            Scale::Inch => "in",
        }
    }
    fn micrometres(self) -> f64 {
        match self {
            Scale::Millimetre => 1e3,
            Scale::Metre => 1e6,
            Scale::Inch => 25_400.0,
        }
    }
}

/// The extents a mesh can have, in micrometres: anything else was most likely read in the wrong unit.
const EXTENTS: std::ops::RangeInclusive<i64> = 1_000..=50_000_000;

impl MeshFile {
    pub(super) fn read(r: &Record<'_>, closed: bool) -> Option<MeshFile> {
        let path = r.key(key!(SHAPE, "path").name).needed().prose();
        let unit = r.key(key!(SHAPE, "unit").name).needed().present();
        let unit = if unit { r.word(key!(SHAPE, "unit"), &[Scale::Millimetre, Scale::Metre, Scale::Inch]) } else { None };
        Some(MeshFile { path: path?, unit: unit?, closed, mesh: None, digest: None })
    }

    /// Takes the bytes of the file and their SHA-256. What is wrong with them is told at the path.
    pub fn fill(&mut self, bytes: &[u8], digest: [u8; 32]) -> Result<(), Box<Diagnostic>> {
        self.digest = Some(digest);
        match mesh(&self.path.value, self.unit.value, self.closed, bytes) {
            Ok(mesh) => {
                self.mesh = Some(Arc::new(mesh));
                Ok(())
            }
            Err((what, help)) => {
                let message = format!("{} {what}", self.path.value.escape_debug());
                Err(Box::new(UNFIT_MESH.at(self.path.span, message).help(help)))
            }
        }
    }
}

/// What is wrong with a file, and what to do.
type Fit<T> = Result<T, (String, String)>;

fn unfit<T>(what: impl Into<String>, help: impl Into<String>) -> Fit<T> {
    Err((what.into(), help.into()))
}

fn mesh(path: &str, scale: Scale, closed: bool, bytes: &[u8]) -> Fit<Mesh> {
    let triangles = triangles(path, bytes)?;
    if triangles.is_empty() {
        return unfit("has no triangles", "export the part as a triangle mesh");
    }
    if triangles.len() > MOST_TRIANGLES {
        return unfit(
            format!("has {} triangles; at most {MOST_TRIANGLES} are read", triangles.len()),
            "export a coarser mesh that encloses the part",
        );
    }
    let mut corners: BTreeMap<[i64; 3], u32> = BTreeMap::new();
    let mut mesh = Mesh::default();
    for triangle in triangles {
        let mut corner = [0; 3];
        for (at, point) in triangle.into_iter().enumerate() {
            let point = micrometres(point, scale)?;
            corner[at] = *corners.entry(point).or_insert_with(|| {
                mesh.vertices.push(point);
                u32::try_from(mesh.vertices.len() - 1).unwrap_or(u32::MAX)
            });
        }
        mesh.triangles.push(corner);
    }
    let extent = (0..3).map(|k| {
        let along = || mesh.vertices.iter().map(|v| v[k]);
        along().max().unwrap_or(0) - along().min().unwrap_or(0)
    });
    let extent = extent.max().unwrap_or(0);
    if !EXTENTS.contains(&extent) {
        let what = format!("measures {} at most, read in {}", Length(extent), scale.word());
        return unfit(what, "check `unit`: the file itself does not say what its numbers are");
    }
    if closed {
        enclosing(&mesh)?;
    } else if mesh.vertices.len() > MOST_POINTS {
        let what = format!("has {} different corners; a hull takes at most {MOST_POINTS}", mesh.vertices.len());
        return unfit(what, "export a coarser mesh that encloses the part");
    }
    Ok(mesh)
}

fn enclosing(mesh: &Mesh) -> Fit<()> {
    let repair = "close the surface in the program that made it, or use `kind = \"hull\"`, which takes the corners only";
    match mesh.check_closed() {
        Ok(()) => Ok(()),
        Err(Fault::OpenMesh(a, b)) => {
            let place = |v: u32| {
                mesh.vertices.get(v as usize).map_or(String::new(), |p| format!("({})", p.map(|c| Length(c).to_string()).join(", ")))
            };
            let what = format!("is not closed, or not turned one way, at the edge from {} to {}", place(a), place(b));
            unfit(what, repair)
        }
        Err(Fault::Degenerate(_)) => {
            unfit("is turned inside out, or encloses nothing", "turn its triangles round, so that they face outward")
        }
        Err(other) => unfit(format!("cannot be used: {other}"), repair),
    }
}

/// A coordinate of a mesh file on whole micrometres.
fn micrometres(point: [f32; 3], scale: Scale) -> Fit<[i64; 3]> {
    let um = point.map(|c| (f64::from(c) * scale.micrometres()).round());
    if um.iter().all(|c| c.abs() <= FARTHEST as f64) {
        return Ok(um.map(|c| c as i64));
    }
    let written = point.map(|c| c.to_string()).join(", ");
    unfit(format!("has a corner ({written}) that is not a number within 1 km"), "export it again; check `unit` too")
}

/// The triangles of a file as they are written.
fn triangles(path: &str, bytes: &[u8]) -> Fit<Vec<[[f32; 3]; 3]>> {
    let name = path.to_ascii_lowercase();
    let scene = if name.ends_with(".stl") {
        whole_stl(bytes)?;
        mesh_loader::stl::from_slice(bytes)
    } else if name.ends_with(".obj") {
        // Materials stand in other files and say nothing of the shape.
        let no_other_file = |_: &std::path::Path| Err::<&[u8], _>(std::io::ErrorKind::NotFound.into());
        mesh_loader::obj::from_slice(bytes, None, no_other_file)
    } else {
        return unfit("is neither .stl nor .obj", "export the part as STL or OBJ");
    };
    let scene = scene.or_else(|e| unfit(format!("cannot be read: {e}"), "export it again as STL or OBJ"))?;
    let mut all = Vec::new();
    for part in &scene.meshes {
        for face in &part.faces {
            let corner = |v: u32| part.vertices.get(v as usize).copied();
            match face.map(corner) {
                [Some(a), Some(b), Some(c)] => all.push([a, b, c]),
                _ => return unfit("names a corner that it does not have", "export it again"),
            }
        }
    }
    Ok(all)
}

/// An STL file that was cut off between two triangles reads like a smaller part.
fn whole_stl(bytes: &[u8]) -> Fit<()> {
    let cut = |what: &str| unfit(what, "it was cut off or damaged; export or copy it again");
    let text = bytes.trim_ascii_start().starts_with(b"solid");
    let counted = bytes.get(80..84).and_then(|c| c.try_into().ok()).map(u32::from_le_bytes);
    let holds = bytes.len().saturating_sub(84) / 50;
    if counted.is_some_and(|c| c as usize == holds) {
        return Ok(());
    }
    match text {
        true if bytes.windows(8).any(|w| w == b"endsolid") => Ok(()),
        true => cut("has no end (`endsolid`)"),
        false => cut(&format!("says it has {} triangles, but holds {holds}", counted.unwrap_or(0))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BLOCK: &str = EXAMPLES[0].1;

    /// The tetrahedron of the examples as a binary STL, written by hand after the layout of the format: 80 bytes of header, a count,
    /// 50 bytes a triangle.
    fn binary() -> Vec<u8> {
        let corners: [[f32; 3]; 4] = [[1000., 0., -400.], [1400., 0., -400.], [1000., 400., -400.], [1000., 0., -300.]];
        let mut bytes = vec![b' '; 80];
        bytes.extend(4_u32.to_le_bytes());
        for face in [[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]] {
            bytes.extend([0; 12]);
            face.iter().flat_map(|v| corners[*v]).for_each(|c| bytes.extend(c.to_le_bytes()));
            bytes.extend([0; 2]);
        }
        bytes
    }

    #[test]
    fn both_formats_give_the_same_mesh_in_micrometres() {
        let obj = mesh("block.OBJ", Scale::Millimetre, true, BLOCK.as_bytes());
        let stl = mesh("block.stl", Scale::Millimetre, true, &binary());
        assert_eq!(obj.as_ref().map(|m| m.triangles.len()), Ok(4));
        let corners = |m: &Fit<Mesh>| m.as_ref().map(|m| m.vertices.iter().copied().collect::<std::collections::BTreeSet<_>>()).ok();
        assert_eq!(corners(&obj), corners(&stl));
        assert!(corners(&obj).is_some_and(|c| c.contains(&[1_400_000, 0, -400_000])));
        let inch = mesh("block.obj", Scale::Inch, true, BLOCK.as_bytes());
        assert!(corners(&inch).is_some_and(|c| c.contains(&[35_560_000, 0, -10_160_000])));
    }

    #[test]
    fn damage_is_told_and_never_a_smaller_part() {
        let whole = binary();
        for cut in 0..whole.len() {
            assert!(mesh("a.stl", Scale::Millimetre, false, &whole[..cut]).is_err(), "cut at {cut}");
        }
        let said = |name: &str, text: &str| mesh(name, Scale::Millimetre, true, text.as_bytes()).err().map_or(String::new(), |e| e.0);
        assert!(
            said("a.obj", &BLOCK.replace("v 1400", "v nan")).contains("not a number"),
            "{}",
            said("a.obj", &BLOCK.replace("v 1400", "v nan"))
        );
        assert!(said("a.obj", &BLOCK.replace("f 1 3 2", "f 1 3 9")).contains("cannot be read"));
        assert_eq!(said("a.obj", ""), "has no triangles");
        assert_eq!(said("a.step", BLOCK), "is neither .stl nor .obj");
        // A byte exchanged anywhere gives a mesh or a finding, never a panic.
        for at in 0..whole.len() {
            for byte in [0, 0x7f, 0xff] {
                let mut bytes = whole.clone();
                bytes[at] = byte;
                _ = mesh("a.stl", Scale::Millimetre, true, &bytes);
            }
        }
        for at in 0..BLOCK.len() {
            for byte in *b"-/9e \n" {
                let mut bytes = BLOCK.as_bytes().to_vec();
                bytes[at] = byte;
                _ = mesh("a.obj", Scale::Millimetre, true, &bytes);
            }
        }
    }
}
