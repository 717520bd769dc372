"""The sweeps of sweep.rs, halved the same way through the Python interface of pinocchio and coal.

A box is clear of a pair if the distance at its middle, less the sum over the joints of 2 rho sin(h/2), is at least the margin;
pairs are first thrown out by their bounding balls, all at once. Prints the time of a sweep in microseconds, how many were
clear, and how many distances were asked for."""

import json
import math
import sys
import time

import coal
import numpy as np
import pinocchio as pin

data = json.load(open(sys.argv[1], encoding="utf-8"))
LIMIT = math.radians(0.05)


def shape(part):
    points = [np.array(p) / 1e6 for p in part["points"]]
    r = part["radius"] / 1e6
    if part["form"] == "box":
        low, high = np.min(points, axis=0), np.max(points, axis=0)
        return coal.Box(*(high - low)), pin.SE3(np.eye(3), (low + high) / 2), (low + high) / 2, np.linalg.norm(high - low) / 2
    if len(points) == 1:
        return coal.Sphere(r), pin.SE3(np.eye(3), points[0]), points[0], r
    a, b = points
    length = np.linalg.norm(b - a)
    z = (b - a) / length
    x = np.cross(z, [1.0, 0, 0] if abs(z[0]) < 0.9 else [0, 1.0, 0])
    x /= np.linalg.norm(x)
    place = pin.SE3(np.column_stack([x, np.cross(z, x), z]), (a + b) / 2)
    if part["form"] == "cylinder":
        return coal.Cylinder(r, length), place, (a + b) / 2, math.hypot(length / 2, r)
    return coal.Capsule(r, length), place, (a + b) / 2, length / 2 + r


def run(world):
    model = pin.Model()
    joint = 0
    for hinge in world["hinges"]:
        kind = [pin.JointModelRX, pin.JointModelRY, pin.JointModelRZ][hinge["axis"]]()
        joint = model.addJoint(joint, kind, pin.SE3(np.eye(3), np.array(hinge["origin"]) / 1e6), "")
    state = model.createData()
    parts = [(p["carrier"], *shape(p)) for p in world["parts"]]
    moving = [i for i, p in enumerate(parts) if p[0] > 0]
    fixed = [i for i, p in enumerate(parts) if p[0] == 0]
    centres = np.array([parts[i][3] for i in fixed])
    radii = np.array([parts[i][4] for i in fixed])
    places = {i: coal.Transform3s(parts[i][2].rotation, parts[i][2].translation) for i in fixed}
    margin = world["margin"] / 1e6
    request, asked, clear = coal.DistanceRequest(), 0, 0

    def visit(low, high, pairs):
        nonlocal asked
        q, h = (low + high) / 2, (high - low) / 2
        pin.forwardKinematics(model, state, q)
        chord = 2 * np.sin(np.minimum(h, math.pi) / 2)
        axes = [(state.oMi[k + 1].translation, state.oMi[k + 1].rotation[:, world["hinges"][k]["axis"]]) for k in range(model.nq)]
        left, most = [], np.zeros(model.nq)
        for i, others in pairs:
            carrier, body, local, centre, radius = parts[i]
            frame = state.oMi[carrier]
            at = frame.act(centre)
            shares = [c * (np.linalg.norm(np.cross(a, at - o)) + radius) for c, (o, a) in zip(chord[:carrier], axes)]
            moves = sum(shares)
            apart = np.linalg.norm(centres[others] - at, axis=1) - radii[others] - radius - moves
            near = others[apart < margin]
            if not len(near):
                continue
            full = frame * local
            place = coal.Transform3s(full.rotation, full.translation)
            still = []
            for other in near:
                j = fixed[other]
                asked += 1
                found = coal.distance(body, place, parts[j][1], places[j], request, coal.DistanceResult())
                if found < margin:
                    return False
                if found - moves < margin:
                    still.append(other)
            if still:
                left.append((i, np.array(still)))
                most[:carrier] = np.maximum(most[:carrier], shares)
        if not left:
            return True
        k = int(np.argmax(most))
        if h[k] < LIMIT:
            return False
        middle_low, middle_high = high.copy(), low.copy()
        middle_low[k] = middle_high[k] = q[k]
        return visit(low, middle_low, left) and visit(middle_high, high, left)

    everything = [(i, np.arange(len(fixed))) for i in moving]
    started = time.perf_counter()
    for box in world["sweeps"]:
        low, high = np.radians(np.array(box, dtype=float) / 1000).T
        clear += visit(low.copy(), high.copy(), everything)
    return time.perf_counter() - started, clear, asked


spent, clear, asked, count = 0.0, 0, 0, 0
for world in data:
    result = run(world)
    spent, clear, asked, count = spent + result[0], clear + result[1], asked + result[2], count + len(world["sweeps"])
print(json.dumps({"us": spent / count * 1e6, "clear": clear, "asked": asked, "sweeps": count}))
