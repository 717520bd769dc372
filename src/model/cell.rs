//! The cell: stations, loads, views, instruments, equipment, and what stands in the way.

pub(super) mod keys;
mod load;
pub mod rules;

pub use load::load;

use super::arm::{Axis, Friction, find};
use super::shape::Shape;
use super::{EquipmentId, InstrumentId, LoadId, MonitorId, ObstacleId, Origin, Standing, StateId, StationId, ViewId};
use crate::text::{FileId, Span, Spanned};
use crate::units::{Angle, Dimension, Force, Length, Mass};

/// A cell file.
#[derive(Clone, Debug)]
pub struct Cell {
    /// The file.
    pub file: FileId,
    /// `name`.
    pub name: Spanned<String>,
    /// `title`: for people.
    pub title: String,
    /// `revision`.
    pub revision: Spanned<String>,
    /// `surveyed`: date of the survey.
    pub surveyed: Spanned<String>,
    /// Real or invented.
    pub standing: Standing,
    /// Where the data come from.
    pub origin: Origin,
    /// Where the arm stands in the cell.
    pub mount: Option<Mount>,
    /// Clearance to keep.
    pub margin: Option<Spanned<Length>>,
    /// How far the grip centre may travel with things touching, before a move's end or after its start.
    pub contact_travel: Option<Spanned<Length>>,
    /// Where loads rest.
    pub stations: Vec<Station>,
    /// What can be held.
    pub loads: Vec<Load>,
    /// Windows and cameras.
    pub views: Vec<View>,
    /// Monitors cameras can be put on.
    pub monitors: Vec<Spanned<String>>,
    /// Instruments that are read.
    pub instruments: Vec<Instrument>,
    /// Places readings are taken at.
    pub places: Vec<Spanned<String>>,
    /// Equipment with states.
    pub equipment: Vec<Equipment>,
    /// What stands in the way, for the proofs in space.
    pub obstacles: Vec<Obstacle>,
    /// Area interlock, as stated on page 1.
    pub interlock: String,
}

/// The arm's mount: position and heading.
#[derive(Clone, Debug)]
pub struct Mount {
    /// x, y, z of the first frame.
    pub position: [Length; 3],
    /// Turn about the vertical.
    pub heading: Angle,
}

/// Where a load can rest.
#[derive(Clone, Debug)]
pub struct Station {
    /// Name.
    pub name: Spanned<String>,
    /// For people: "inlet cradle".
    pub title: String,
    /// The table.
    pub span: Span,
    /// A named pose of the arm at which the jaw is at the station; checked against joints where given.
    pub pose: Option<Spanned<String>>,
    /// The loads it can take; empty means any.
    pub takes: Vec<Spanned<String>>,
    /// Whether a load can be let go there.
    pub supports: bool,
    /// What may touch in moves that start or end here: `jaw pads and cradle`. Resolved in [`super::procedure::Procedure::approaches`].
    pub approach: Vec<[Spanned<String>; 2]>,
    /// Where the grip centre is with the jaw at the station, in cell coordinates. Without it, where the pose brings it.
    pub position: Option<[Length; 3]>,
    /// Turn of the jaw about the vertical there, 0 where the jaw's x points along the cell's x.
    pub heading: Option<Spanned<Angle>>,
    /// How far the station may really be from its position.
    pub position_within: Option<Spanned<Length>>,
    /// How far from the position the grip centre may be and still be at the station.
    pub tolerance: Option<Spanned<Length>>,
    /// How far the jaw may be turned or tilted against the station, and still be at it.
    pub tolerance_turn: Option<Spanned<Angle>>,
    /// How near to its place the grip centre must be for the things of `approach` to touch; left out, as near as for any
    /// contact.
    pub approach_within: Option<Spanned<Length>>,
    /// The obstacles that bear a load there.
    pub support: Vec<Spanned<ObstacleId>>,
    /// When it was taught or measured.
    pub measured: Option<Spanned<String>>,
}

impl Station {
    /// Whether it has room for a load of this name.
    pub fn has_room_for(&self, load: &str) -> bool {
        self.takes.is_empty() || self.takes.iter().any(|t| t.value == load)
    }
}

/// A thing that can be held.
#[derive(Clone, Debug)]
pub struct Load {
    /// Name.
    pub name: Spanned<String>,
    /// For people: "filter cartridge".
    pub title: String,
    /// The table.
    pub span: Span,
    /// Mass as stated.
    pub mass: Spanned<Mass>,
    /// Upper bound of the mass: what checks use.
    pub mass_at_most: Spanned<Mass>,
    /// Width between the pads when gripped.
    pub grip_width: Spanned<Length>,
    /// How much wider than the grip width the jaw must be to go over it.
    pub grip_clearance: Option<Spanned<Length>>,
    /// Friction against the pads, if the load says its own.
    pub friction: Option<Friction>,
    /// Greatest force per jaw it bears.
    pub crush: Option<Spanned<Force>>,
    /// Greatest tilt from plumb.
    pub tilt: Option<Spanned<Angle>>,
    /// Greatest height above what is below it.
    pub drop_height: Option<Spanned<Length>>,
    /// Dropping it is in the worst class.
    pub critical: bool,
    /// Shapes, in the jaw's frame moved to the grip centre.
    pub shapes: Vec<Shape>,
    /// Centre of mass in that frame.
    pub centre: Option<[Length; 3]>,
    /// How far the true centre of mass may be from it.
    pub centre_within: Option<Spanned<Length>>,
    /// How far it may sit off its place in the jaw; its shapes are grown by it.
    pub seating: Option<Spanned<Length>>,
    /// Where it rests unless the procedure says otherwise.
    pub rests_at: Option<Spanned<String>>,
}

/// A window or a camera.
#[derive(Clone, Debug)]
pub struct View {
    /// Name: `window-2`, `camera-1`.
    pub name: Spanned<String>,
    /// For people: "window 2".
    pub title: String,
    /// A camera needs a monitor; a window does not.
    pub camera: bool,
    /// The picture is mirrored.
    pub mirrored: bool,
    /// Eye or lens position.
    pub position: Option<[Length; 3]>,
    /// The point in the middle of the picture.
    pub looks_at: Option<[Length; 3]>,
    /// The full angle of what is seen.
    pub field: Option<Spanned<Angle>>,
    /// What is up in the picture; left out, the cell's z.
    pub up: Option<Spanned<Axis>>,
    /// Obstacles it looks through: the wall of its window.
    pub through: Vec<Spanned<ObstacleId>>,
}

/// An instrument.
#[derive(Clone, Debug)]
pub struct Instrument {
    /// Name.
    pub name: Spanned<String>,
    /// What it reads.
    pub reads: Spanned<String>,
    /// In which dimension.
    pub dimension: Dimension,
    /// The unit on its face.
    pub unit: Spanned<String>,
    /// Smallest step it shows, in thousandths of its unit.
    pub resolution: Option<Spanned<crate::units::Quantity>>,
}

/// A piece of equipment.
#[derive(Clone, Debug)]
pub struct Equipment {
    /// Name.
    pub name: Spanned<String>,
    /// States by name.
    pub states: Vec<Spanned<String>>,
    /// State at the start unless the procedure says otherwise.
    pub initial: Spanned<StateId>,
}

/// Something not to be touched.
#[derive(Clone, Debug)]
pub struct Obstacle {
    /// Name in messages.
    pub name: Spanned<String>,
    /// What it is.
    pub kind: ObstacleKind,
    /// Severity class of touching it, 0 to 4.
    pub severity: u8,
    /// Shapes in cell coordinates.
    pub shapes: Vec<Shape>,
    /// It is there only while each of these is in the state; empty is always.
    pub when: Vec<(Spanned<EquipmentId>, Spanned<StateId>)>,
}

/// What an obstacle is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ObstacleKind {
    /// A solid thing.
    Solid,
    /// A zone nothing may enter.
    KeepOut,
    /// A zone to be crossed slowly.
    Slow,
    /// Not surveyed: counts as occupied.
    Unsurveyed,
}

impl Cell {
    /// The cell of a procedure that names none: holds nothing, and was surveyed by nobody. `file` is empty.
    pub fn none(file: FileId) -> Cell {
        let nothing = Spanned::new(String::new(), Span::new(file, 0, 0));
        Cell {
            file,
            name: nothing.clone(),
            title: String::new(),
            revision: nothing.clone(),
            surveyed: nothing,
            standing: Standing::Unaccepted,
            origin: Origin::default(),
            mount: None,
            margin: None,
            contact_travel: None,
            stations: Vec::new(),
            loads: Vec::new(),
            views: Vec::new(),
            monitors: Vec::new(),
            instruments: Vec::new(),
            places: Vec::new(),
            equipment: Vec::new(),
            obstacles: Vec::new(),
            interlock: String::new(),
        }
    }
    /// Looks a station up.
    pub fn find_station(&self, name: &str) -> Option<StationId> {
        find(&self.stations, |s| &s.name.value, name).map(StationId)
    }
    /// Looks a load up.
    pub fn find_load(&self, name: &str) -> Option<LoadId> {
        find(&self.loads, |l| &l.name.value, name).map(LoadId)
    }
    /// Looks a window or camera up.
    pub fn find_view(&self, name: &str) -> Option<ViewId> {
        find(&self.views, |v| &v.name.value, name).map(ViewId)
    }
    /// Looks a monitor up.
    pub fn find_monitor(&self, name: &str) -> Option<MonitorId> {
        find(&self.monitors, |m| &m.value, name).map(MonitorId)
    }
    /// Looks an obstacle up.
    pub fn find_obstacle(&self, name: &str) -> Option<ObstacleId> {
        find(&self.obstacles, |o| &o.name.value, name).map(ObstacleId)
    }
    /// Looks an instrument up.
    pub fn find_instrument(&self, name: &str) -> Option<InstrumentId> {
        find(&self.instruments, |i| &i.name.value, name).map(InstrumentId)
    }
    /// Looks a piece of equipment up.
    pub fn find_equipment(&self, name: &str) -> Option<EquipmentId> {
        find(&self.equipment, |e| &e.name.value, name).map(EquipmentId)
    }
}
