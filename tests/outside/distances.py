"""Distances of random pairs of convex solids by coal (PyPI `coal`): prints the content of distances.json.

Every pair of kinds occurs, save two half-spaces. Points and radii are metres; a box is its eight corners, a half-space
a point of its face and the normal that points out of it. `distance` is negative where the two overlap, and then only
its sign is to be relied on. `short` is by how much the gap along the normal that coal gives falls short of its distance:
between the two lies the true one.
"""
import itertools
import json
import random
import coal
import numpy

EACH = 6
PICK = random.Random(20260101)


def somewhere(reach):
    """A point on whole micrometres."""
    return [round(reach * (2 * PICK.random() - 1), 6) for _ in range(3)]


def length():
    return round(0.03 + 0.3 * PICK.random(), 6)


def capsule(near):
    solid = {"kind": "capsule", "points": [near(), near()], "radius": length()}
    return solid, *rod(solid, coal.Capsule)


def cylinder(near):
    solid = {"kind": "cylinder", "points": [near(), near()], "radius": length()}
    return solid, *rod(solid, coal.Cylinder)


def rod(solid, shape):
    """A shape along z, laid between two points."""
    a, b = numpy.array(solid["points"])
    along = b - a
    z = along / numpy.linalg.norm(along)
    x = numpy.cross(z, numpy.eye(3)[numpy.argmin(abs(z))])
    x /= numpy.linalg.norm(x)
    turn = numpy.column_stack([x, numpy.cross(z, x), z])
    return shape(solid["radius"], float(numpy.linalg.norm(along))), coal.Transform3s(turn, (a + b) / 2)


def sphere(near):
    solid = {"kind": "sphere", "points": [near()], "radius": length()}
    return solid, coal.Sphere(solid["radius"]), coal.Transform3s(numpy.eye(3), numpy.array(solid["points"][0]))


def box(near):
    centre, sizes = numpy.array(near()), numpy.array([length(), length(), length()])
    quaternion = numpy.array(somewhere(1) + [PICK.random()])
    quaternion /= numpy.linalg.norm(quaternion)
    turn = coal.Quaternion(*quaternion.tolist()).toRotationMatrix()
    corners = [centre + turn @ (sizes / 2 * signs) for signs in itertools.product((-1, 1), repeat=3)]
    solid = {"kind": "box", "points": [c.tolist() for c in corners], "radius": 0.0}
    return solid, coal.Box(*sizes.tolist()), coal.Transform3s(turn, centre)


def hull(near):
    centre = numpy.array(near())
    points = [(centre + somewhere(0.4)).round(6).tolist() for _ in range(9)]
    solid = {"kind": "hull", "points": points, "radius": 0.0}
    vertices = coal.StdVec_Vec3s()
    vertices.extend([numpy.array(p) for p in points])
    return solid, coal.Convex.convexHull(vertices, True, None), coal.Transform3s.Identity()


def triangle(near):
    centre = numpy.array(near())
    points = [(centre + somewhere(0.6)).round(6).tolist() for _ in range(3)]
    solid = {"kind": "triangle", "points": points, "radius": 0.0}
    # coal has no distances for its own triangle: a flat convex solid with two faces.
    vertices, faces = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    vertices.extend([numpy.array(p) for p in points])
    faces.extend([coal.Triangle(0, 1, 2), coal.Triangle(0, 2, 1)])
    return solid, coal.Convex(vertices, faces), coal.Transform3s.Identity()


def half_space(near):
    point, normal = somewhere(0.3), numpy.array(somewhere(1))
    normal /= numpy.linalg.norm(normal)
    # Behind what stands near, mostly.
    point = (numpy.array(near()) - normal * 3 * PICK.random()).round(6)
    solid = {"kind": "half-space", "points": [point.tolist()], "radius": 0.0, "normal": normal.tolist()}
    return solid, coal.Halfspace(normal, float(normal @ point)), coal.Transform3s.Identity()


def highest(solid, n):
    """How far a solid reaches along a unit direction."""
    points, radius = numpy.array(solid["points"]), solid["radius"]
    if solid["kind"] == "half-space":
        return float(points[0] @ n) if numpy.allclose(n, solid["normal"], atol=1e-9) else float("inf")
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
    return {"a": a[0], "b": b[0], "distance": distance, "short": max(0.0, distance - gap) if distance > 0 else None}


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
