"""Poses and holding torques of open arms by pinocchio (PyPI `pin`): prints the content of poses.json.

The descriptions are URDF files of the packages `example-robot-data` and `rtb-data`. Of each arm: the placement of every
joint in the frame before it, its axis and limits, the mass that moves with it (links fixed to one another are one body,
as pinocchio merges them), and at six poses where every joint is in the world and the torque that holds it against
gravity. Metres, radians, kilograms, newton metres; rotations row by row; g = 9.80665 m/s2 along -z.

With the path of an arm profile: the same of that profile, read here by a reader of its own.
"""
import json
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
]
# No zero in it: at a zero pose an error of sign does not show.
FIRST = [0.3, -0.4, 0.5, -0.6, 0.7, -0.8, 0.9]
MORE = 5


def listed(array):
    return [float(x) for x in numpy.asarray(array).flatten()]


def described(name, path, model):
    """All that poses.json says of one arm."""
    model.gravity.linear = numpy.array([0, 0, -9.80665])
    data = model.createData()
    pinocchio.computeJointJacobians(model, data, pinocchio.neutral(model))
    joints = []
    for i in range(1, model.njoints):
        joint, placement = model.joints[i], model.jointPlacements[i]
        # A joint without limits has two coordinates, a cosine and a sine.
        turns = joint.nq == 2
        joints.append({
            "name": model.names[i],
            "turn": listed(placement.rotation),
            "origin": listed(placement.translation),
            "axis": listed(pinocchio.getJointJacobian(model, data, i, pinocchio.LOCAL)[3:, i - 1]),
            "limits": None if turns else [float(limit[joint.idx_q]) for limit in (model.lowerPositionLimit, model.upperPositionLimit)],
            "rate": float(model.velocityLimit[i - 1]),
            "mass": float(model.inertias[i].mass),
            "centre": listed(model.inertias[i].lever),
        })
    pick = random.Random(name)
    poses = []
    for at in range(1 + MORE):
        angles = FIRST[:model.nv] if at == 0 else [round(6 * pick.random() - 3, 3) for _ in range(model.nv)]
        q = pinocchio.integrate(model, pinocchio.neutral(model), numpy.array(angles))
        torque = pinocchio.computeGeneralizedGravity(model, data, q)
        pinocchio.forwardKinematics(model, data, q)
        poses.append({
            "angles": angles,
            "origins": [listed(data.oMi[i].translation) for i in range(1, model.njoints)],
            "turn": listed(data.oMi[model.njoints - 1].rotation),
            "torque": listed(torque),
        })
    return {"name": name, "path": path, "joints": joints, "poses": poses}


def open_arm(name, path):
    places = [f"{folder}/{path}" for folder in site.getsitepackages()]
    return described(name, path, pinocchio.buildModelFromUrdf(places[0]))


UNITS = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "kg": 1.0, "g": 0.001, "lb": 0.45359237, "deg": numpy.pi / 180}


def size(text):
    number, unit = text.split()
    return float(number) * UNITS[unit]


def turned(turn):
    """Three angles about fixed x, y and z."""
    about = lambda i, angle: pinocchio.AngleAxis(angle, numpy.eye(3)[i]).toRotationMatrix()
    return about(2, turn[2]) @ about(1, turn[1]) @ about(0, turn[0])


def profile(path):
    """The chain and masses of an arm profile of this project."""
    with open(path, "rb") as file:
        arm = tomllib.load(file)
    model, at = pinocchio.Model(), {}
    for number, joint in enumerate(arm["joint"], start=1):
        mounting = joint["mounting"]
        sign = -1.0 if mounting["axis"][0] == "-" else 1.0
        along = sign * numpy.eye(3)["xyz".index(mounting["axis"][1])]
        placement = pinocchio.SE3(turned([size(a) for a in mounting.get("turn", ["0 deg"] * 3)]), numpy.array([size(x) for x in mounting["origin"]]))
        model.addJoint(number - 1, pinocchio.JointModelRevoluteUnaligned(along), placement, joint["name"])
        at[joint["name"]] = number
    for link in arm["link"]:
        if "joint" in link and "mass" in link:
            centre = numpy.array([size(x) for x in link["centre"]])
            body = pinocchio.Inertia(size(link["mass"]), centre, numpy.eye(3))
            model.appendBodyToJoint(at[link["joint"]], body, pinocchio.SE3.Identity())
    return described(arm["name"], "", model)


arms = [profile(path) for path in sys.argv[1:]] or [open_arm(*arm) for arm in ARMS]
rows = ",\n".join(json.dumps(arm) for arm in arms)
print(f'{{"arms": [\n{rows}\n]}}')
