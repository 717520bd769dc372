//! Whether the geometry of a model is whole: one that begins to describe shapes is told what the proofs in space need besides.

use super::arm::{Actuator, Arm};
use super::cell::Cell;
use super::rules::{ARM_AS_IT_STANDS, CELL_AS_IT_STANDS, defect};
use super::solid::last_joint;
use crate::diag::ExampleFile::{Arm as ArmFile, Cell as CellFile};
use crate::diag::{Diagnostic, Example, Rule, Severity};
use crate::text::Span;

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&INCOMPLETE_GEOMETRY];

/// Shapes without what belongs to them.
pub static INCOMPLETE_GEOMETRY: Rule = Rule {
    severity: Severity::Warning,
    bad: &[
        Example::patch(ArmFile, "name = \"forearm\"\njoint = \"elbow\"\nmass = \"8 kg\"", "name = ⟦\"forearm\"⟧\njoint = \"elbow\""),
        Example::patch(
            ArmFile,
            "name = \"hook\"\nmass = \"0.8 kg\"\nleaves-jaw-free = false\ncentre = [\"60 mm\", \"0 mm\", \"0 mm\"]",
            "name = ⟦\"hook\"⟧\nmass = \"0.8 kg\"\nleaves-jaw-free = false",
        ),
        Example::patch(
            CellFile,
            "name = \"rack\"\ntitle = \"drain rack\"\npose = \"at-rack\"\nsupports = true\ntolerance = \"40 mm\"\ntolerance-turn = \"5 deg\"\nsupport = [\"rack plate\"]",
            "name = ⟦\"rack\"⟧\ntitle = \"drain rack\"\npose = \"at-rack\"\nsupports = true\ntolerance = \"40 mm\"\ntolerance-turn = \"5 deg\"",
        ),
        Example::patch(
            CellFile,
            "name = \"camera-1\"\ntitle = \"camera 1\"\nkind = \"camera\"\nposition = [\"1800 mm\", \"-1800 mm\", \"2600 mm\"]",
            "name = ⟦\"camera-1\"⟧\ntitle = \"camera 1\"\nkind = \"camera\"",
        ),
    ],
    good: &[ARM_AS_IT_STANDS, CELL_AS_IT_STANDS],
    ..defect(
        "incomplete-geometry",
        "a model describes shapes and leaves out what a proof in space needs besides",
        "What is missing is not checked, for any step. A model without any shape is a decision; one with gaps is most often a slip.",
    )
};

/// What one thing lacks: the keys, and what cannot be checked without them.
struct Gaps<'a> {
    at: Span,
    what: String,
    missing: Vec<&'a str>,
    then: &'static str,
}

impl<'a> Gaps<'a> {
    fn of(at: Span, what: String, keys: &[(&'a str, bool)], then: &'static str) -> Gaps<'a> {
        Gaps { at, what, missing: keys.iter().filter(|k| !k.1).map(|k| k.0).collect(), then }
    }
    fn tell(self, found: &mut Vec<Diagnostic>) {
        if self.missing.is_empty() {
            return;
        }
        let keys = self.missing.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>().join(", ");
        let finding = INCOMPLETE_GEOMETRY.at(self.at, format!("{} has no {keys}: {}", self.what, self.then));
        found.push(finding.help("write what was measured; grammar/models.md says what each key means"));
    }
}

/// What an arm that has shapes lacks.
pub(super) fn arm(arm: &Arm) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut tell = |at, what: String, keys: &[(&str, bool)], then| Gaps::of(at, what, keys, then).tell(&mut found);
    if arm.links.iter().all(|l| l.shapes.is_empty()) {
        return found;
    }
    for link in &arm.links {
        let what = || format!("the link \"{}\"", link.name.value);
        tell(link.name.span, what(), &[("shape", !link.shapes.is_empty())], "nothing is held away from it");
        if link.joint.is_some() {
            let keys = [("mass", link.mass.is_some()), ("centre", link.centre.is_some())];
            tell(link.name.span, what(), &keys, "what it weighs on the joints is not checked");
        }
    }
    let jaw = &arm.jaw;
    let keys = [("grip-centre", jaw.grip_centre.is_some()), ("closing", jaw.closing.is_some())];
    tell(jaw.span, "the jaw".into(), &keys, "where the tool point is cannot be known");
    let last = last_joint(arm);
    let jaw_moves = arm.links.iter().any(|l| l.joint == last && !l.shapes.is_empty());
    tell(
        jaw.span,
        "the arm".into(),
        &[("link", jaw_moves)],
        "no link with a shape moves with the last joint, so that the jaw is not there",
    );
    for joint in &arm.joints {
        let what = format!("the joint \"{}\"", joint.name.value);
        tell(joint.name.span, what, &[("actuator", joint.actuator.is_some())], "whether it can hold what hangs on it is not checked");
    }
    let by_pressure = |j: &super::arm::Joint| matches!(j.actuator, Some(Actuator::Linear { .. } | Actuator::Rotary { .. }));
    let keys = [("supply", arm.supply.is_some() || !arm.joints.iter().any(by_pressure)), ("ramp", arm.ramp.is_some())];
    tell(arm.name.span, "the arm".into(), &keys, "pressure and the jerk of starting and stopping are not checked");
    for tool in &arm.tools {
        let keys = [("shape", !tool.shapes.is_empty()), ("mass", tool.mass.is_some()), ("centre", tool.centre.is_some())];
        tell(tool.name.span, format!("the tool \"{}\"", tool.name.value), &keys, "it is carried as if it were not there");
    }
    found
}

/// What a cell that has shapes lacks.
pub(super) fn cell(cell: &Cell) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut tell = |at, what: String, keys: &[(&str, bool)], then| Gaps::of(at, what, keys, then).tell(&mut found);
    if cell.obstacles.is_empty() && cell.loads.iter().all(|l| l.shapes.is_empty()) {
        return found;
    }
    for load in &cell.loads {
        let what = || format!("the {}", load.title);
        let keys = [("shape", !load.shapes.is_empty()), ("seating", load.seating.is_some())];
        tell(load.name.span, what(), &keys, "nothing is held away from it where it really is");
        let keys = [("centre", load.centre.is_some()), ("centre-within", load.centre_within.is_some())];
        tell(load.name.span, what(), &keys, "what it weighs on the joints is not checked");
    }
    for station in &cell.stations {
        let what = || format!("the {}", station.title);
        let placed = station.pose.is_some() || station.position.is_some();
        tell(station.name.span, what(), &[("pose", placed)], "where a load rests there cannot be known");
        let support = !station.supports || !station.support.is_empty();
        tell(station.name.span, what(), &[("support", support)], "no step can set a load down on what bears it");
        let keys = [("tolerance", station.tolerance.is_some()), ("tolerance-turn", station.tolerance_turn.is_some())];
        tell(station.name.span, what(), &keys, "whether the jaw is there cannot be judged");
    }
    for view in &cell.views {
        let keys = [("position", view.position.is_some()), ("looks-at", view.looks_at.is_some()), ("field", view.field.is_some())];
        tell(view.name.span, view.title.clone(), &keys, "what can be seen through it is not checked");
    }
    found
}
