"""Poses and holding torques of open arms by pinocchio (PyPI `pin`): prints the content of poses.json.

The descriptions are URDF files of the packages `example-robot-data` and `rtb-data`, and one beside this script. Of each
arm, twice: as described (`described`), and with every placement on whole micrometres and thousandths of a degree, as this
project keeps them. Rotations are three angles about the fixed axes x, y, z, or nine numbers row by row. The mass of a
joint is all that moves with it (links fixed to one another are one body, as pinocchio merges them). At each pose: where
every joint is in the world, how the last is turned, and the torque that holds each against gravity. Metres, radians,
kilograms, newton metres where no other unit is said; g = 9.80665 m/s2 along -z.

With paths of arm profiles: the same of those, read here by a reader of its own.
"""
import json
import os
import random
import site
import sys
import tomllib
import numpy
import pinocchio

ROBOTS = "cmeel.prefix/share/example-robot-data/robots"
ARMS = [
    ("UR10", f"{ROBOTS}/ur_description/urdf/ur10_robot.urdf"),
    ("xArm 7", f"{ROBOTS}/xarm_description/urdf/xarm7.urdf"),
    ("Jaco", f"{ROBOTS}/kinova_description/robots/kinova.urdf"),
    ("KR 210 L150", "rtbdata/xacro/kuka_description/kuka_kr210/urdf/kr210l150.urdf"),
    ("IRB 140", "rtbdata/xacro/abb_irb140_description/urdf/irb140.urdf"),
    ("slanted", "slanted.urdf"),
]
# No zero in it: at a zero pose an error of sign does not show.
FIRST = [0.3, -0.4, 0.5, -0.6, 0.7, -0.8, 0.9]
MORE = 5


def listed(array):
    return [float(x) for x in numpy.asarray(array).flatten()]


def whole(array, parts):
    return [round(float(x) * parts) for x in numpy.asarray(array).flatten()]


def turned(turn):
    """The rotation of three angles in degrees about fixed x, y and z; right angles exact."""
    out = numpy.eye(3)
    for i, degrees in enumerate(turn):
        sine, cosine = {0: (0, 1), 90: (1, 0), 180: (0, -1), 270: (-1, 0)}.get(
            degrees % 360, (numpy.sin(numpy.radians(degrees)), numpy.cos(numpy.radians(degrees))))
        about = numpy.eye(3)
        j, k = (i + 1) % 3, (i + 2) % 3
        about[j, j] = about[k, k] = cosine
        about[j, k], about[k, j] = -sine, sine
        out = about @ out
    return out


def chain(joints, bodies):
    """A pinocchio model of serial joints `{name, origin um, turn mdeg, axis}` and bodies `(joint, mass, centre)`."""
    model = pinocchio.Model()
    for at, joint in enumerate(joints):
        axis = numpy.array(joint["axis"], dtype=float)
        placement = pinocchio.SE3(turned([a / 1000 for a in joint["turn"]]), numpy.array(joint["origin"]) / 1e6)
        model.addJoint(at, pinocchio.JointModelRevoluteUnaligned(axis / numpy.linalg.norm(axis)), placement, joint["name"])
    for joint, mass, centre in bodies:
        model.appendBodyToJoint(joint, pinocchio.Inertia(mass, numpy.array(centre), numpy.eye(3)), pinocchio.SE3.Identity())
    model.gravity.linear = numpy.array([0, 0, -9.80665])
    return model


def at(model, angles):
    """Where every joint is, how the last is turned, what holds them."""
    data = model.createData()
    q = pinocchio.integrate(model, pinocchio.neutral(model), numpy.array(angles))
    torque = listed(pinocchio.computeGeneralizedGravity(model, data, q))
    pinocchio.forwardKinematics(model, data, q)
    origins = [listed(data.oMi[i].translation) for i in range(1, model.njoints)]
    return {"origins": origins, "turn": listed(data.oMi[model.njoints - 1].rotation), "torque": torque}


def tried(name, count):
    pick = random.Random(name)
    return [FIRST[:count]] + [[round(6 * pick.random() - 3, 3) for _ in range(count)] for _ in range(MORE)]


def open_arm(name, path):
    folders = site.getsitepackages() + [os.path.dirname(os.path.abspath(__file__))]
    model = pinocchio.buildModelFromUrdf(next(f"{f}/{path}" for f in folders if os.path.exists(f"{f}/{path}")))
    model.gravity.linear = numpy.array([0, 0, -9.80665])
    data = model.createData()
    pinocchio.computeJointJacobians(model, data, pinocchio.neutral(model))
    joints = []
    for i in range(1, model.njoints):
        joint, placement = model.joints[i], model.jointPlacements[i]
        assert model.parents[i] == i - 1, "not serial"
        # A joint without limits has two coordinates, a cosine and a sine.
        limits = [float(limit[joint.idx_q]) for limit in (model.lowerPositionLimit, model.upperPositionLimit)]
        joints.append({
            "name": model.names[i],
            "origin": whole(placement.translation, 1e6),
            "turn": whole(numpy.degrees(pinocchio.rpy.matrixToRpy(placement.rotation)), 1e3),
            "axis": whole(pinocchio.getJointJacobian(model, data, i, pinocchio.LOCAL)[3:, i - 1], 1e6),
            "limits": limits if joint.nq == 1 else None,
            "rate": float(model.velocityLimit[i - 1]),
            "mass": float(model.inertias[i].mass),
            "centre": listed(model.inertias[i].lever),
        })
    kept = chain(joints, [(i, joint["mass"], joint["centre"]) for i, joint in enumerate(joints, start=1)])
    poses = [{"angles": angles, **at(kept, angles), "described": at(model, angles)} for angles in tried(name, model.nv)]
    return {"name": name, "path": path, "joints": joints, "poses": poses}


UNITS = {"mm": 1e3, "cm": 1e4, "m": 1e6, "in": 25400, "kg": 1.0, "g": 1e-3, "lb": 0.45359237, "deg": 1e3}


def size(text):
    """Micrometres, kilograms, thousandths of a degree."""
    number, unit = text.split()
    return float(number) * UNITS[unit]


def profile(path):
    """The chain and masses of an arm profile of this project."""
    with open(path, "rb") as file:
        arm = tomllib.load(file)
    joints = []
    for joint in arm["joint"]:
        mounting = joint["mounting"]
        sign = -1 if mounting["axis"][0] == "-" else 1
        joints.append({
            "name": joint["name"],
            "origin": [round(size(x)) for x in mounting["origin"]],
            "turn": [round(size(x)) for x in mounting.get("turn", ["0 deg"] * 3)],
            "axis": [sign * int(letter == mounting["axis"][1]) for letter in "xyz"],
        })
    number = {joint["name"]: i for i, joint in enumerate(arm["joint"], start=1)}
    bodies = [
        (number[link["joint"]], size(link["mass"]), [size(x) / 1e6 for x in link["centre"]])
        for link in arm.get("link", []) if "joint" in link and "mass" in link
    ]
    model = chain(joints, bodies)
    poses = [{"angles": angles, **at(model, angles)} for angles in tried(arm["name"], len(joints))]
    return {"name": arm["name"], "path": path, "joints": joints, "poses": poses}


arms = [profile(path) for path in sys.argv[1:]] or [open_arm(*arm) for arm in ARMS]
rows = ",\n".join(json.dumps(arm) for arm in arms)
print(f'{{"arms": [\n{rows}\n]}}')
