//! The serial chain of a description: what turns about what, and what each joint carries.
//!
//! Links that are fixed to one another move as one. A joint's frame is that of the description, unless its axis is slanted:
//! a profile has axes along x, y or z, so that frame is turned to have the axis along z, and all in it with it.

use super::Trouble;
use super::read::Description;
use crate::geometry::chain::MOST_JOINTS;
use crate::geometry::{Frame, Mat3, Vec3, rotation};
use crate::units::trig::{atan2, cos, sin};
use std::collections::{BTreeMap, BTreeSet};
use urdf_rs::{Collision, Joint, JointType, Pose};

/// How far an axis may lie from x, y or z and still be that one: a tenth of a thousandth of a degree.
const ALONG: f64 = 1.7e-6;

/// A serial arm.
pub(super) struct Arm<'d> {
    pub(super) name: &'d str,
    pub(super) joints: Vec<Turning<'d>>,
    pub(super) links: Vec<Part<'d>>,
}

/// A joint that turns.
pub(super) struct Turning<'d> {
    pub(super) joint: &'d Joint,
    /// From the frame of the joint before it, at zero.
    pub(super) frame: Frame,
    /// `+x` to `-z`.
    pub(super) axis: &'static str,
    /// The frame is not that of the description.
    pub(super) slanted: bool,
}

/// A link in the frame of the joint it moves with.
pub(super) struct Part<'d> {
    pub(super) name: &'d str,
    /// Index of that joint; none for what never moves.
    pub(super) joint: Option<usize>,
    /// Mass, kg, and centre, m, where the description gives them.
    pub(super) mass: Option<(f64, Vec3)>,
    /// Its shapes with where their frames stand.
    pub(super) shapes: Vec<(&'d Collision, Frame)>,
}

pub(super) fn serial(description: &Description) -> Result<Arm<'_>, Trouble> {
    let robot = &description.robot;
    let root = root(description)?;
    let mut arm = Arm { name: &robot.name, joints: Vec::new(), links: Vec::new() };
    // The frame of each link that is fixed to the joint before, in that joint's frame; nearest to the root first.
    let mut here = vec![(root, Frame::IDENTITY)];
    loop {
        let mut onward = None;
        let mut at = 0;
        while let Some((link, frame)) = here.get(at).copied() {
            arm.links.push(part(description, link, frame, arm.joints.len().checked_sub(1)));
            for joint in robot.joints.iter().filter(|j| j.parent.link == link) {
                let inner = frame.then(&placed(&joint.origin));
                match joint.joint_type {
                    JointType::Fixed => here.push((&joint.child.link, inner)),
                    JointType::Revolute | JointType::Continuous if joint.mimic.is_some() => {
                        let what = format!(
                            "joint `{}` follows another joint; a profile has joints that move by themselves. Leave it out, or set it fixed",
                            joint.name
                        );
                        return Err(description.joint(&joint.name, what));
                    }
                    JointType::Revolute | JointType::Continuous => match onward {
                        None => onward = Some((joint, inner)),
                        Some((other, _)) => return Err(branches(description, other, joint)),
                    },
                    _ => return Err(no_hinge(description, joint)),
                }
            }
            at += 1;
        }
        let Some((joint, frame)) = onward else { break };
        if arm.joints.len() == MOST_JOINTS {
            return Err(description.joint(&joint.name, format!("a chain has at most {MOST_JOINTS} joints")));
        }
        let (axis, turn) = axis(description, joint)?;
        // What hangs on the joint stands in the description's frame; the way back from the one chosen here leads to it.
        let back = Frame { turn: turn.transpose(), at: Vec3::ZERO };
        let slanted = turn != Mat3::IDENTITY;
        arm.joints.push(Turning { joint, frame: Frame { turn: frame.turn * turn, at: frame.at }, axis, slanted });
        here = vec![(&joint.child.link, back)];
    }
    if arm.joints.is_empty() {
        return Err(Trouble::new("no joint of this description turns: there is no arm in it"));
    }
    Ok(arm)
}

/// The one link that hangs on nothing. Every link has one place.
fn root(description: &Description) -> Result<&str, Trouble> {
    let robot = &description.robot;
    let mut links = BTreeSet::new();
    for link in &robot.links {
        if !links.insert(link.name.as_str()) {
            return Err(Trouble::new(format!("there are two links `{}`", link.name)));
        }
    }
    let (mut names, mut parents) = (BTreeSet::new(), BTreeMap::new());
    for joint in &robot.joints {
        if !names.insert(joint.name.as_str()) {
            return Err(description.joint(&joint.name, format!("there are two joints `{}`", joint.name)));
        }
        for end in [&joint.parent.link, &joint.child.link] {
            if !links.contains(end.as_str()) {
                return Err(
                    description.joint(&joint.name, format!("joint `{}` names the link `{end}`, which is not described", joint.name))
                );
            }
        }
        if let Some(other) = parents.insert(joint.child.link.as_str(), joint.name.as_str()) {
            let what = format!("link `{}` hangs on two joints, `{other}` and `{}`: the chain is closed", joint.child.link, joint.name);
            return Err(description.joint(&joint.name, what));
        }
    }
    let mut roots = links.iter().filter(|l| !parents.contains_key(*l));
    let (first, second) = (roots.next(), roots.next());
    match (first, second) {
        (Some(root), None) => {
            // A ring of joints hangs on no root and would never be met.
            let mut met = BTreeSet::from([*root]);
            while let Some(joint) =
                robot.joints.iter().find(|j| met.contains(j.parent.link.as_str()) && !met.contains(j.child.link.as_str()))
            {
                met.insert(&joint.child.link);
            }
            match robot.joints.iter().find(|j| !met.contains(j.child.link.as_str())) {
                None => Ok(*root),
                Some(joint) => {
                    Err(description.joint(&joint.name, format!("joint `{}` is part of a ring that hangs on nothing", joint.name)))
                }
            }
        }
        (Some(a), Some(b)) => {
            Err(Trouble::new(format!("the links `{a}` and `{b}` both hang on nothing: there is more than one robot here")))
        }
        _ => Err(Trouble::new("every link hangs on another: the description has no base")),
    }
}

fn branches(description: &Description, one: &Joint, other: &Joint) -> Trouble {
    let what = format!(
        "the chain is not serial: joint `{}` and joint `{}` both turn on what moves with link `{}`. A profile has one chain from the \
         mount outward; leave the other branch out (fingers belong to [jaw])",
        one.name, other.name, other.parent.link
    );
    description.joint(&other.name, what)
}

fn no_hinge(description: &Description, joint: &Joint) -> Trouble {
    let kind = match joint.joint_type {
        JointType::Prismatic => "prismatic",
        JointType::Floating => "floating",
        JointType::Planar => "planar",
        JointType::Spherical => "spherical",
        _ => "unknown",
    };
    let what = format!(
        "joint `{}` is {kind}; a profile has joints that turn about one axis. A finger of the gripper belongs to [jaw]: leave the joint and \
         what hangs on it out",
        joint.name
    );
    description.joint(&joint.name, what)
}

fn part<'d>(description: &'d Description, name: &'d str, frame: Frame, joint: Option<usize>) -> Part<'d> {
    let link = description.robot.links.iter().find(|l| l.name == name);
    let mass = link.filter(|l| l.inertial.mass.value > 0.0).map(|l| {
        let centre = frame.point(Vec3::from_array(*l.inertial.origin.xyz));
        (l.inertial.mass.value, centre)
    });
    let shapes = link.map_or(&[][..], |l| &l.collision).iter().map(|c| (c, frame.then(&placed(&c.origin)))).collect();
    Part { name, joint, mass, shapes }
}

/// A pose of the description: metres, and radians about the fixed axes x, then y, then z.
fn placed(pose: &Pose) -> Frame {
    let [x, y, z] = *pose.rpy;
    let about = |axis, angle| rotation(axis, sin(angle), cos(angle));
    Frame { turn: about(Vec3::Z, z) * about(Vec3::Y, y) * about(Vec3::X, x), at: Vec3::from_array(*pose.xyz) }
}

/// The axis as a profile has it, and how the joint's frame is turned for it.
fn axis(description: &Description, joint: &Joint) -> Result<(&'static str, Mat3), Trouble> {
    let axis = Vec3::from_array(*joint.axis.xyz);
    if !(1e-6..1e6).contains(&axis.length()) {
        return Err(description.joint(&joint.name, format!("the axis of joint `{}` has no direction", joint.name)));
    }
    let axis = axis.normalize();
    let names = [(Vec3::X, "+x"), (-Vec3::X, "-x"), (Vec3::Y, "+y"), (-Vec3::Y, "-y"), (Vec3::Z, "+z"), (-Vec3::Z, "-z")];
    if let Some((_, name)) = names.iter().find(|(along, _)| (axis - *along).length() < ALONG) {
        return Ok((name, Mat3::IDENTITY));
    }
    // The shortest turn that takes z to the axis; a slanted axis is never z or its opposite.
    let across = Vec3::Z.cross(axis);
    Ok(("+z", rotation(across.normalize(), across.length(), axis.z)))
}

/// Three angles, rad, about the fixed axes x, then y, then z, that make a rotation.
pub(super) fn angles(turn: &Mat3) -> [f64; 3] {
    let (x, y, z) = (turn.x_axis, turn.y_axis, turn.z_axis);
    let level = (x.x * x.x + x.y * x.y).sqrt();
    if level < 1e-6 {
        // Turned by a right angle about y, x and z are one: all of it is given to x.
        return [atan2(-z.y, y.y), atan2(-x.z, level), 0.0];
    }
    [atan2(y.z, z.z), atan2(-x.z, level), atan2(x.y, x.x)]
}
