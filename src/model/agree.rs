//! What arm, cell and policy must say alike.

use super::arm::Arm;
use super::cell::{Cell, Load};
use super::policy::Policy;
use super::rules::{CELL_AS_IT_STANDS, defect, limit};
use super::{names, touch};
use crate::diag::ExampleFile::{Arm as ArmFile, Cell as CellFile};
use crate::diag::{Diagnostic, Evidence, Example, Rule, Severity};
use crate::units::{Force, Length, Mass, Ratio};

/// The rules of this file.
pub(super) const RULES: &[&Rule] = &[&LOAD_WIDER_THAN_JAW, &FRICTION_UNSTATED, &NO_FITTING_GRIP_LEVEL];

/// The jaw cannot go over a load.
pub static LOAD_WIDER_THAN_JAW: Rule = Rule {
    bad: &[
        Example::patch(CellFile, "grip-width = \"90 mm\"", "grip-width = ⟦\"141 mm\"⟧"),
        Example::patch(CellFile, "grip-width = \"90 mm\"\ngrip-clearance = \"20 mm\"", "grip-width = ⟦\"161 mm\"⟧"),
    ],
    good: &[Example::patch(CellFile, "grip-width = \"90 mm\"", "grip-width = \"140 mm\"")],
    ..limit("load-wider-than-jaw", "a load does not fit the jaw", "The jaw cannot be closed on it, whatever the steps say.")
};

/// Nobody knows how it holds.
pub static FRICTION_UNSTATED: Rule = Rule {
    bad: &[Example::patch(
        ArmFile,
        "[jaw]\nengraved = \"JAW\"\nleast = \"0 mm\"\nmost = \"160 mm\"\ntolerance = \"2 mm\"\nfriction = { value = 0.3, source = \"invented: dry rubber on painted steel\" }\n",
        "⟦[jaw]⟧\nengraved = \"JAW\"\nleast = \"0 mm\"\nmost = \"160 mm\"\ntolerance = \"2 mm\"\n",
    )],
    good: &[CELL_AS_IT_STANDS],
    ..limit(
        "friction-unstated",
        "neither the jaw nor a load states the friction",
        "Whether a grip holds depends on it. There is no default: it differs several times over between dry and greased pads.",
    )
};

/// No level holds without crushing.
pub static NO_FITTING_GRIP_LEVEL: Rule = Rule {
    severity: Severity::Warning,
    evidence: Evidence::Memory("two-jaw grip, force per jaw = mass x gravity x factor / (2 x friction), as in handbooks of grippers"),
    bad: &[
        Example::patch(CellFile, "crush = \"120 N\"", "crush = ⟦\"90 N\"⟧"),
        Example::patch(CellFile, "mass = \"5.8 kg\"\nmass-at-most = \"6 kg\"", "mass = \"5.8 kg\"\nmass-at-most = ⟦\"7 kg\"⟧"),
    ],
    good: &[CELL_AS_IT_STANDS],
    ..defect(
        "no-fitting-grip-level",
        "no grip level holds a load without crushing it",
        "Every step that closes on this load will be refused; the load needs another way to be carried.",
    )
};

/// Checks the three files against each other.
pub fn agree(arm: &Arm, cell: &Cell, policy: &Policy) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for pose in cell.stations.iter().filter_map(|s| s.pose.as_ref()) {
        if arm.find_pose(&pose.value).is_none() {
            found.push(names::unknown(pose.span, "pose", &pose.value, arm.poses.iter().map(|p| p.name.value.as_str())));
        }
    }
    for name in cell.stations.iter().flat_map(|s| &s.approach).flatten() {
        if touch::bodies(arm, cell, &name.value).is_none() {
            found.push(names::unknown(name.span, "part or thing", &name.value, touch::names(arm, cell)));
        }
    }
    for load in &cell.loads {
        check_width(arm, load, &mut found);
        check_grip(arm, load, policy, &mut found);
    }
    let unstated: Vec<&Load> = cell.loads.iter().filter(|l| l.friction.is_none() && arm.jaw.friction.is_none()).collect();
    if let Some(first) = unstated.first() {
        let names: Vec<&str> = unstated.iter().map(|l| l.title.as_str()).collect();
        let message = format!("neither the jaw nor the load states the friction for {}", names.join(", "));
        let problem = FRICTION_UNSTATED.at(arm.jaw.span, message).label(first.name.span, "a load without its own");
        found.push(problem.help("add `friction = { value = ..., source = \"...\" }` to the jaw or to each of these loads"));
    }
    found
}

fn check_width(arm: &Arm, load: &Load, found: &mut Vec<Diagnostic>) {
    let most = arm.jaw.most;
    let needed = load.grip_width.value + load.grip_clearance.map_or(Length::ZERO, |c| c.value);
    if arm.jaw.least.value < most.value && needed > most.value {
        let message = format!("the jaw opens to {}, but the {} needs {needed}", most.value, load.title);
        found.push(
            LOAD_WIDER_THAN_JAW
                .at(load.grip_width.span, message)
                .label(most.span, "the greatest opening")
                .number("needed", needed)
                .number("most", most.value),
        );
    }
}

fn check_grip(arm: &Arm, load: &Load, policy: &Policy, found: &mut Vec<Diagnostic>) {
    let Some(friction) = load.friction.as_ref().or(arm.jaw.friction.as_ref()) else { return };
    let Some(needed) = force_to_hold(load.mass_at_most.value, policy.grip_factor.value, friction.value.value) else { return };
    let fits = |least: Force, most: Force| least >= needed && load.crush.is_none_or(|c| most <= c.value);
    if !arm.jaw.levels.iter().any(|l| fits(l.least.value, l.most.value)) {
        let crush = load.crush.map_or(String::new(), |c| format!(" and bears at most {}", c.value));
        let message = format!("the {} needs at least {needed} per jaw{crush}; no grip level gives that", load.title);
        let at = load.crush.map_or(load.mass_at_most.span, |c| c.span);
        found.push(NO_FITTING_GRIP_LEVEL.at(at, message).label(arm.jaw.span, "the grip levels").number("needed", needed));
    }
}

/// The force per jaw that holds a load between two pads, rounded up: mass x gravity x factor / (2 x friction).
/// `None` where the friction is not above zero. Gravity is the standard 9.80665 m/s2.
pub fn force_to_hold(mass: Mass, factor: Ratio, friction: Ratio) -> Option<Force> {
    // A milligram at 1 m/s2 weighs a thousandth of a millinewton; gravity is in hundred-thousandths.
    let bottom = 2 * i128::from(friction.0) * 100_000 * 1000;
    let top = i128::from(mass.0) * 980_665 * i128::from(factor.0);
    if bottom <= 0 {
        return None;
    }
    let up = top.div_euclid(bottom) + i128::from(top.rem_euclid(bottom) != 0);
    i64::try_from(up).ok().map(Force)
}
