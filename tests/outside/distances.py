"""Distances of random pairs of convex solids by coal (PyPI `coal`): prints the content of distances.json.

Every pair of kinds occurs, save two half-spaces. Points and radii are whole micrometres; a box is its eight corners, a
half-space a point of its face and a normal of any length that points out of it. `distance` is in metres; it is negative
where the two overlap, and then only its sign is to be relied on. `normal` points from `a` to `b`; `short` is by how much
the gap along it falls short of the distance: the true one lies between the two.
"""
import itertools
import json
import random
import coal
import numpy

EACH = 6
PICK = random.Random(20260101)


def somewhere(reach):
    """A point within so many metres along each axis."""
    return [round(1e6 * reach * (2 * PICK.random() - 1)) for _ in range(3)]


def length():
    return round(30_000 + 300_000 * PICK.random())


def metres(um):
    return numpy.array(um) / 1e6


def capsule(near):
    solid = {"kind": "capsule", "points": [near(), near()], "radius": length()}
    return solid, *rod(solid, coal.Capsule)


def cylinder(near):
    solid = {"kind": "cylinder", "points": [near(), near()], "radius": length()}
    return solid, *rod(solid, coal.Cylinder)


def rod(solid, shape):
    """A shape along z, laid between two points."""
    a, b = metres(solid["points"])
    along = b - a
    z = along / numpy.linalg.norm(along)
    x = numpy.cross(z, numpy.eye(3)[numpy.argmin(abs(z))])
    x /= numpy.linalg.norm(x)
    turn = numpy.column_stack([x, numpy.cross(z, x), z])
    return shape(solid["radius"] / 1e6, float(numpy.linalg.norm(along))), coal.Transform3s(turn, (a + b) / 2)


def sphere(near):
    solid = {"kind": "sphere", "points": [near()], "radius": length()}
    return solid, coal.Sphere(solid["radius"] / 1e6), coal.Transform3s(numpy.eye(3), metres(solid["points"][0]))


def box(near):
    """Along the axes, or turned and then given to coal by its rounded corners."""
    centre, half = numpy.array(near()), numpy.array([length() // 2 for _ in range(3)])
    signs = list(itertools.product((-1, 1), repeat=3))
    if PICK.random() < 0.5:
        solid = {"kind": "box", "points": [(centre + half * s).tolist() for s in signs], "radius": 0}
        return solid, coal.Box(*(half / 5e5).tolist()), coal.Transform3s(numpy.eye(3), metres(centre))
    quaternion = numpy.array([PICK.random() + 0.1 for _ in range(4)])
    turn = coal.Quaternion(*(quaternion / numpy.linalg.norm(quaternion)).tolist()).toRotationMatrix()
    corners = [[round(float(x)) for x in centre + turn @ (half * s)] for s in signs]
    return convex({"kind": "box", "points": corners, "radius": 0})


def convex(solid):
    vertices = coal.StdVec_Vec3s()
    vertices.extend([metres(p) for p in solid["points"]])
    return solid, coal.Convex.convexHull(vertices, True, None), coal.Transform3s.Identity()


def beside(near, reach, count):
    centre = near()
    return [[c + d for c, d in zip(centre, somewhere(reach))] for _ in range(count)]


def hull(near):
    return convex({"kind": "hull", "points": beside(near, 0.4, 9), "radius": 0})


def triangle(near):
    solid = {"kind": "triangle", "points": beside(near, 0.6, 3), "radius": 0}
    # coal has no distances for its own triangle: a flat convex solid with two faces.
    vertices, faces = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    vertices.extend([metres(p) for p in solid["points"]])
    faces.extend([coal.Triangle(0, 1, 2), coal.Triangle(0, 2, 1)])
    return solid, coal.Convex(vertices, faces), coal.Transform3s.Identity()


def half_space(near):
    whole = somewhere(0.001)
    normal = numpy.array(whole) / numpy.linalg.norm(whole)
    # Behind what stands near, mostly.
    point = [round(float(x)) for x in numpy.array(near()) - normal * 3e6 * PICK.random()]
    solid = {"kind": "half-space", "points": [point], "radius": 0, "normal": whole}
    return solid, coal.Halfspace(normal, float(normal @ metres(point))), coal.Transform3s.Identity()


def highest(solid, n):
    """How far a solid reaches along a unit direction."""
    points, radius = metres(solid["points"]), solid["radius"] / 1e6
    if solid["kind"] == "half-space":
        normal = numpy.array(solid["normal"]) / numpy.linalg.norm(solid["normal"])
        return float(points[0] @ n) if numpy.allclose(n, normal, atol=1e-9) else float("inf")
    reach = float((points @ n).max())
    if solid["kind"] == "cylinder":
        axis = (points[1] - points[0]) / numpy.linalg.norm(points[1] - points[0])
        return reach + radius * float(numpy.linalg.norm(n - axis * (axis @ n)))
    return reach + radius


def measured(a, b):
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.enable_signed_distance = True
    request.gjk_tolerance, request.gjk_max_iterations = 1e-12, 1000
    request.epa_tolerance, request.epa_max_iterations = 1e-9, 1000
    distance = coal.distance(a[1], a[2], b[1], b[2], request, result)
    # coal's normal points from the first to the second.
    n = numpy.asarray(result.normal, dtype=float)
    gap = -highest(b[0], -n) - highest(a[0], n)
    if distance <= 0:
        return {"a": a[0], "b": b[0], "distance": distance}
    return {"a": a[0], "b": b[0], "distance": distance, "normal": n.tolist(), "short": max(0.0, distance - gap)}


KINDS = [capsule, sphere, box, cylinder, hull, triangle, half_space]
pairs = []
for one, other in itertools.combinations_with_replacement(KINDS, 2):
    for number in range(EACH):
        if (one, other) == (half_space, half_space):
            continue
        # The last of each six stands close enough to overlap, mostly.
        reach = 0.25 if number == EACH - 1 else 1.5
        pairs.append(measured(one(lambda: somewhere(reach)), other(lambda: somewhere(reach))))
rows = ",\n".join(json.dumps(pair) for pair in pairs)
print(f'{{"pairs": [\n{rows}\n]}}')
