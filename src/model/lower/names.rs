//! Names of the models: looked up once, and if they are not there, what is.

use super::Problem;
use crate::diag::{Evidence, Example, Family, Rule, Severity, suggest};
use crate::model::arm::Arm;
use crate::model::cell::Cell;
use crate::model::policy::Policy;
use crate::model::touch::{self, Body};
use crate::model::{
    EquipmentId, InstrumentId, JointId, LevelId, LoadId, MonitorId, PoseId, RoleId, SignalId, StateId, StationId, ToolId, ViewId,
};
use crate::text::{Span, Spanned};

/// A rule about a name that its model file does not have.
const fn unknown(id: &'static str, summary: &'static str, bad: &'static [Example], good: &'static [Example]) -> Rule {
    Rule {
        id,
        family: Family::Reference,
        severity: Severity::Error,
        physical: true,
        summary,
        why: "A name that no model file defines cannot be checked against anything, and the operator cannot find it at the console or in the cell. \
              Names in a procedure are those engraved or agreed, letter for letter.",
        evidence: Evidence::CommonPractice,
        bad,
        good,
    }
}

/// A joint the arm does not have.
pub static UNKNOWN_JOINT: Rule = unknown(
    "unknown-joint",
    "the arm has no joint of this name",
    &[Example::steps("1. `power on arm`\n2. `⟦sholder⟧ lower to -5 deg`\n")],
    &[Example::steps("1. `power on arm`\n2. `shoulder lower to -5 deg`\n")],
);
/// A pose the arm does not have.
pub static UNKNOWN_POSE: Rule = unknown(
    "unknown-pose",
    "the arm profile names no such pose",
    &[Example::steps("1. `expect pose ⟦parked⟧`\n")],
    &[Example::steps("1. `expect pose home`\n")],
);
/// A grip level the jaw does not have.
pub static UNKNOWN_LEVEL: Rule = unknown(
    "unknown-grip-level",
    "the jaw has no such grip level",
    &[Example::steps("1. `grip level ⟦9⟧`\n")],
    &[Example::steps("1. `grip level 2`\n")],
);
/// A tool the arm does not have.
pub static UNKNOWN_TOOL: Rule = unknown(
    "unknown-tool",
    "the arm profile names no such tool",
    &[Example::steps("1. `fit ⟦ladle⟧`\n")],
    &[Example::steps("1. `fit hook`\n")],
);
/// A signal the arm does not have.
pub static UNKNOWN_SIGNAL: Rule = unknown(
    "unknown-signal",
    "a guarded move waits for a signal the arm profile does not define",
    &[Example::steps("1. `power on arm`\n2. `shoulder lower until ⟦chime⟧, not past -5 deg`\n   - If not: hold and tell Shift lead\n")],
    &[Example::steps("1. `power on arm`\n2. `shoulder lower until lamp-2, not past -5 deg`\n   - If not: hold and tell Shift lead\n")],
);
/// A power statement that names another arm.
pub static UNKNOWN_ARM: Rule = unknown(
    "unknown-arm",
    "power is switched on an arm that is not the one of this procedure",
    &[Example::steps("1. `power on ⟦condor⟧`\n")],
    &[Example::steps("1. `power on arm`\n")],
);
/// A load the cell does not have.
pub static UNKNOWN_LOAD: Rule = unknown(
    "unknown-load",
    "the cell names no such load",
    &[Example::steps("1. `close on ⟦bucket⟧`\n")],
    &[Example::steps("1. `close on cup`\n")],
);
/// A station the cell does not have.
pub static UNKNOWN_STATION: Rule = unknown(
    "unknown-station",
    "the cell names no such station",
    &[Example::steps("1. `expect at ⟦cradel⟧`\n")],
    &[Example::steps("1. `expect at cradle`\n")],
);
/// A view the cell does not have.
pub static UNKNOWN_VIEW: Rule = unknown(
    "unknown-view",
    "the cell has no such window or camera",
    &[Example::steps("1. `view ⟦window-9⟧`\n")],
    &[Example::steps("1. `view window-2`\n")],
);
/// A monitor the cell does not have.
pub static UNKNOWN_MONITOR: Rule = unknown(
    "unknown-monitor",
    "the cell has no such monitor",
    &[Example::steps("1. `view camera-1 on ⟦monitor-9⟧`\n")],
    &[Example::steps("1. `view camera-1 on monitor-1`\n")],
);
/// An instrument the cell does not have.
pub static UNKNOWN_INSTRUMENT: Rule = unknown(
    "unknown-instrument",
    "the cell has no such instrument",
    &[Example::steps("1. `read dose-rate below 50 uSv/h on ⟦RM-9⟧`\n   - If not: hold and tell Shift lead\n")],
    &[Example::steps("1. `read dose-rate at port-3 below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
);
/// A place the cell does not have.
pub static UNKNOWN_PLACE: Rule = unknown(
    "unknown-place",
    "a reading is taken at a place the cell does not name",
    &[Example::steps("1. `read dose-rate at ⟦port-9⟧ below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
    &[Example::steps("1. `read dose-rate at port-3 below 50 uSv/h on RM-2`\n   - If not: hold and tell Shift lead\n")],
);
/// Equipment the cell does not have.
pub static UNKNOWN_EQUIPMENT: Rule = unknown(
    "unknown-equipment",
    "the cell names no such equipment",
    &[Example::steps("1. `set ⟦sluice⟧ open`\n   - Proof: the plate stands open.\n")],
    &[Example::steps("1. `set port-plate open`\n   - Proof: the plate stands open.\n")],
);
/// A state the equipment does not have.
pub static UNKNOWN_STATE: Rule = unknown(
    "unknown-state",
    "the equipment has no such state",
    &[Example::steps("1. `set port-plate ⟦ajar⟧`\n   - Proof: the plate stands open.\n")],
    &[Example::steps("1. `set port-plate open`\n   - Proof: the plate stands open.\n")],
);
/// A role the policy does not have.
pub static UNKNOWN_ROLE: Rule = unknown(
    "unknown-role",
    "the policy names no such role",
    &[Example::steps("1. `tell ⟦Shift leader⟧`\n")],
    &[Example::steps("1. `tell Shift lead`\n")],
);
/// A thing named as touching that neither model file has.
pub static UNKNOWN_PART: Rule = unknown(
    "unknown-part",
    "`Touching allowed:` names a thing that neither the arm nor the cell has",
    &[Example::steps("1. `power on arm`\n2. `base left to +15 deg`\n   - Touching allowed: jaw and ⟦table⟧\n")],
    &[Example::steps("1. `power on arm`\n2. `base left to +15 deg`\n   - Touching allowed: jaw and cradle\n")],
);

/// Everything the rules of this file are.
pub(super) const RULES: &[&Rule] = &[
    &UNKNOWN_JOINT,
    &UNKNOWN_POSE,
    &UNKNOWN_LEVEL,
    &UNKNOWN_TOOL,
    &UNKNOWN_SIGNAL,
    &UNKNOWN_ARM,
    &UNKNOWN_LOAD,
    &UNKNOWN_STATION,
    &UNKNOWN_VIEW,
    &UNKNOWN_MONITOR,
    &UNKNOWN_INSTRUMENT,
    &UNKNOWN_PLACE,
    &UNKNOWN_EQUIPMENT,
    &UNKNOWN_STATE,
    &UNKNOWN_ROLE,
    &UNKNOWN_PART,
];

/// A list of names in a model file, for the message about one that is not in it.
pub(super) struct Known<'a> {
    /// Which rule speaks.
    pub rule: &'static Rule,
    /// "joint".
    pub noun: &'static str,
    /// "the arm heron".
    pub holder: String,
    /// The names there are.
    pub names: Vec<&'a str>,
    /// Where the list is written, or the file's name where the list is empty.
    pub place: Span,
}

impl Known<'_> {
    /// The finding for `written` at `span`.
    pub(super) fn refuse(self, written: &str, span: Span) -> Problem {
        let Known { rule, noun, holder, names, place } = self;
        let mut found = rule.at(span, format!("{holder} has no {noun} `{written}`")).mark(format!("no such {noun}"));
        if place.start == place.end {
            // There is no cell file to show.
            return Box::new(found.help("name the cell in the front matter: cell = \"cells/....toml\""));
        }
        found = if names.is_empty() {
            found.label(place, format!("no {noun} is defined here"))
        } else {
            found.label(place, format!("defined here: {}", names.join(", ")))
        };
        found = match suggest(written, names.iter().copied()).filter(|near| !differ_by_number(written, near)) {
            Some(near) => found.help(format!("did you mean `{near}`?")),
            None if names.is_empty() => found.help(format!("define the {noun} in the model file before a procedure uses it")),
            None => found.help(format!("write one of: {}", names.join(", "))),
        };
        Box::new(found)
    }
}

/// `window-9` and `window-1` are two windows, not a slip of the keyboard.
fn differ_by_number(a: &str, b: &str) -> bool {
    let letters = |s: &str| s.chars().filter(|c| !c.is_ascii_digit()).collect::<String>();
    letters(a) == letters(b)
}

fn list<'a, T>(items: &'a [T], name: impl Fn(&'a T) -> &'a Spanned<String>, otherwise: Span) -> (Vec<&'a str>, Span) {
    (items.iter().map(|i| name(i).value.as_str()).collect(), items.first().map_or(otherwise, |i| name(i).span))
}

/// The three model files of a procedure, to look names up in.
#[derive(Clone, Copy)]
pub(super) struct Names<'a> {
    pub arm: &'a Arm,
    pub cell: &'a Cell,
    pub policy: &'a Policy,
}

/// A look-up that either gives an index or the finding.
pub(super) type Found<T> = Result<Spanned<T>, Problem>;

macro_rules! look_up {
    ($(#[$doc:meta])* $name:ident -> $id:ty, $find:ident of $file:ident . $($list:ident).+ by $key:expr, $rule:ident, $noun:literal, $holder:expr) => {
        $(#[$doc])*
        pub(super) fn $name(&self, written: &str, span: Span) -> Found<$id> {
            match self.$file.$find(written) {
                Some(id) => Ok(Spanned::new(id, span)),
                None => {
                    let (names, place) = list(&self.$file.$($list).+, $key, $holder(self).1);
                    Err(Known { rule: &$rule, noun: $noun, holder: $holder(self).0, names, place }.refuse(written, span))
                }
            }
        }
    };
}

/// "the arm heron"; a thing whose name is what it is needs no name.
fn called(what: &str, name: &str) -> String {
    if what.ends_with(name) { what.to_string() } else { format!("{what} {name}") }
}
fn the_arm(names: &Names<'_>) -> (String, Span) {
    (called("the arm", &names.arm.name.value), names.arm.name.span)
}
fn the_cell(names: &Names<'_>) -> (String, Span) {
    if names.cell.name.value.is_empty() {
        return ("a procedure without a cell".to_string(), names.cell.name.span);
    }
    (called("the cell", &names.cell.name.value), names.cell.name.span)
}
fn the_policy(names: &Names<'_>) -> (String, Span) {
    (format!("the policy of {}", names.policy.site.value), names.policy.site.span)
}

impl<'a> Names<'a> {
    look_up!(/** A joint. */ joint -> JointId, find_joint of arm.joints by |j| &j.name, UNKNOWN_JOINT, "joint", the_arm);
    look_up!(/** A pose. */ pose -> PoseId, find_pose of arm.poses by |p| &p.name, UNKNOWN_POSE, "pose", the_arm);
    look_up!(/** A grip level. */ level -> LevelId, find_level of arm.jaw.levels by |l| &l.name, UNKNOWN_LEVEL, "grip level", the_arm);
    look_up!(/** A tool. */ tool -> ToolId, find_tool of arm.tools by |t| &t.name, UNKNOWN_TOOL, "tool", the_arm);
    look_up!(/** A signal. */ signal -> SignalId, find_signal of arm.signals by |s| &s.name, UNKNOWN_SIGNAL, "signal", the_arm);
    look_up!(/** A load. */ load -> LoadId, find_load of cell.loads by |l| &l.name, UNKNOWN_LOAD, "load", the_cell);
    look_up!(/** A station. */ station -> StationId, find_station of cell.stations by |s| &s.name, UNKNOWN_STATION, "station", the_cell);
    look_up!(/** A window or camera. */ view -> ViewId, find_view of cell.views by |v| &v.name, UNKNOWN_VIEW, "window or camera", the_cell);
    look_up!(/** A monitor. */ monitor -> MonitorId, find_monitor of cell.monitors by |m| m, UNKNOWN_MONITOR, "monitor", the_cell);
    look_up!(/** An instrument. */ instrument -> InstrumentId, find_instrument of cell.instruments by |i| &i.name, UNKNOWN_INSTRUMENT, "instrument", the_cell);
    look_up!(/** Equipment. */ equipment -> EquipmentId, find_equipment of cell.equipment by |e| &e.name, UNKNOWN_EQUIPMENT, "equipment", the_cell);
    look_up!(/** A role, in any case of letters. */ role_exactly -> RoleId, find_role of policy.roles by |r| &r.name, UNKNOWN_ROLE, "role", the_policy);

    /// A role, with or without "the" before it.
    pub(super) fn role(&self, written: &str, span: Span) -> Found<RoleId> {
        let bare = ["the ", "The "].iter().find_map(|the| written.strip_prefix(the)).unwrap_or(written);
        self.role_exactly(bare, span)
    }

    /// A state of one piece of equipment.
    pub(super) fn state(&self, of: EquipmentId, written: &str, span: Span) -> Found<StateId> {
        let Some(equipment) = self.cell.equipment.get(of.at()) else {
            return self.equipment(written, span).map(|s| s.map(|_| StateId(0)));
        };
        match equipment.states.iter().position(|s| s.value == written).and_then(|i| u16::try_from(i).ok()) {
            Some(i) => Ok(Spanned::new(StateId(i), span)),
            None => {
                let (names, place) = list(&equipment.states, |s| s, equipment.name.span);
                Err(Known { rule: &UNKNOWN_STATE, noun: "state", holder: equipment.name.value.clone(), names, place }.refuse(written, span))
            }
        }
    }

    /// A place of readings.
    pub(super) fn place(&self, written: &str, span: Span) -> Result<Span, Problem> {
        if self.cell.places.iter().any(|p| p.value == written) {
            return Ok(span);
        }
        let (names, place) = list(&self.cell.places, |p| p, self.cell.name.span);
        Err(Known { rule: &UNKNOWN_PLACE, noun: "place", holder: the_cell(self).0, names, place }.refuse(written, span))
    }

    /// The arm of a power statement: its name, or the word `arm`.
    pub(super) fn this_arm(&self, written: &str, span: Span) -> Result<(), Problem> {
        let name = &self.arm.name;
        if written == "arm" || written == name.value {
            return Ok(());
        }
        let message = format!("this procedure drives {}, not `{written}`", called("the arm", &name.value));
        Err(Box::new(
            UNKNOWN_ARM
                .at(span, message)
                .mark("another arm")
                .label(name.span, "the arm of this procedure")
                .help("write `arm`, or its name"),
        ))
    }

    /// The bodies of a thing that may touch.
    pub(super) fn bodies(&self, written: &str, span: Span) -> Result<Vec<Body>, Problem> {
        touch::bodies(self.arm, self.cell, written).ok_or_else(|| {
            let place = self.cell.stations.first().map_or(self.cell.name.span, |s| s.name.span);
            let names = touch::names(self.arm, self.cell);
            Known { rule: &UNKNOWN_PART, noun: "part or thing", holder: "the arm or cell".into(), names, place }.refuse(written, span)
        })
    }
}
