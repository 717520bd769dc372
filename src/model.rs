//! The things a procedure speaks of: arm, cell, policy, and the procedure itself with every name resolved.
//!
//! Invariant: after lowering, a name is a typed index that cannot miss; no later floor looks a name up.
//! Every value of a model file knows its place, so that a finding can show the step *and* the line that forbids it.

mod agree;
pub mod arm;
pub mod cell;
pub mod circles;
mod complete;
pub mod differ;
pub mod import;
pub mod keys;
pub mod lower;
pub mod mesh;
mod names;
pub mod number;
pub mod policy;
pub mod procedure;
mod read;
pub mod reference;
pub mod rules;
pub mod shape;
pub mod solid;
pub mod touch;
pub mod vary;

pub use agree::{FRICTION_UNSTATED, LOAD_WIDER_THAN_JAW, NO_FITTING_GRIP_LEVEL, agree, force_to_hold};

use crate::diag::{Diagnostic, Rule, count, gather};
use crate::text::FileId;

const FAMILIES: &[&[&Rule]] =
    &[rules::RULES, arm::rules::RULES, cell::rules::RULES, mesh::RULES, complete::RULES, policy::rules::RULES, agree::RULES, lower::RULES];

/// Every rule of this floor.
pub static RULES: &[&Rule] = &gather::<{ count(FAMILIES) }>(FAMILIES);

/// The invented arm that all rule examples share.
pub const EXAMPLE_ARM: &str = include_str!("model/example/arm.toml");
/// The invented cell that all rule examples share.
pub const EXAMPLE_CELL: &str = include_str!("model/example/cell.toml");
/// The invented policy that all rule examples share.
pub const EXAMPLE_POLICY: &str = include_str!("model/example/policy.toml");

/// Typed indices into the model's tables.
macro_rules! index {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub u16);
        impl $name {
            /// As an index of the table.
            pub fn at(self) -> usize {
                usize::from(self.0)
            }
        }
    )*};
}
index!(
    /** A joint, from the mount outward. */ JointId,
    /** A link. */ LinkId,
    /** A named pose of the arm. */ PoseId,
    /** A grip level. */ LevelId,
    /** A tool. */ ToolId,
    /** A signal a guarded move can stop on. */ SignalId,
    /** A load. */ LoadId,
    /** A station. */ StationId,
    /** Something that stands in the way. */ ObstacleId,
    /** A window or a camera. */ ViewId,
    /** A monitor. */ MonitorId,
    /** A piece of equipment with states. */ EquipmentId,
    /** A state of one piece of equipment. */ StateId,
    /** An instrument. */ InstrumentId,
    /** A role. */ RoleId,
    /** A section of the procedure. */ SectionId,
    /** A step, counted over the whole procedure in source order. */ StepId,
);

/// Data whose origin matters: where it comes from and when it was taken.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Origin {
    /// Document, measurement or supplier.
    pub source: String,
    /// `YYYY-MM-DD`.
    pub date: String,
}

/// A kind of model file.
pub trait ModelFile: Sized {
    /// Reads it. Every problem is reported; there is a model only if all of the file could be read.
    fn load(file: FileId, text: &str) -> (Option<Self>, Vec<Diagnostic>);
    /// The mesh files it names, to be filled before [`ModelFile::judge`].
    fn mesh_files(&mut self) -> Vec<&mut mesh::MeshFile> {
        Vec::new()
    }
    /// What can only be judged with its mesh files at hand.
    fn judge(&mut self, _text: &str) -> Vec<Diagnostic> {
        Vec::new()
    }
}

impl ModelFile for arm::Arm {
    fn load(file: FileId, text: &str) -> (Option<Self>, Vec<Diagnostic>) {
        arm::load(file, text)
    }
    fn mesh_files(&mut self) -> Vec<&mut mesh::MeshFile> {
        let links = self.links.iter_mut().map(|l| l.shapes.as_mut_slice());
        links.chain(self.tools.iter_mut().map(|t| t.shapes.as_mut_slice())).flat_map(shape::mesh_files).collect()
    }
    fn judge(&mut self, text: &str) -> Vec<Diagnostic> {
        let mut meshes: Vec<mesh::MeshFile> = self.mesh_files().into_iter().map(|m| m.clone()).collect();
        meshes.sort_by_key(|m| m.path.span.start);
        let found = arm::accept::judge(self, text, &meshes.iter().collect::<Vec<_>>());
        if self.standing == Standing::Unaccepted && self.acceptance.is_some() && found.is_empty() {
            self.standing = Standing::Accepted;
        }
        found
    }
}

impl ModelFile for cell::Cell {
    fn load(file: FileId, text: &str) -> (Option<Self>, Vec<Diagnostic>) {
        cell::load(file, text)
    }
    fn mesh_files(&mut self) -> Vec<&mut mesh::MeshFile> {
        let loads = self.loads.iter_mut().map(|l| l.shapes.as_mut_slice());
        loads.chain(self.obstacles.iter_mut().map(|o| o.shapes.as_mut_slice())).flat_map(shape::mesh_files).collect()
    }
}

impl ModelFile for policy::Policy {
    fn load(file: FileId, text: &str) -> (Option<Self>, Vec<Diagnostic>) {
        policy::load(file, text)
    }
}

/// Whether a model file describes something real.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Data of a real arm or cell, with an acceptance record.
    Accepted,
    /// Real data without an acceptance record: NOT FOR USE, cannot be approved.
    Unaccepted,
    /// Invented for demonstration or import: never approvable.
    Invented,
}
