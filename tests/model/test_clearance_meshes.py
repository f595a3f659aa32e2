"""Clearance against meshes of both bodies (trimesh), built from nothing but the printed JSON."""

import json
from functools import cache
from typing import Any

import msgspec
import numpy as np
import pytest
import trimesh
from model_demo import FACES, LIMITS, OPTICS, request
from scipy.spatial import cKDTree

from chinrest.model.answer import fit_request

SECTIONS = 256
ALLOWED_MM = 0.05  # a mesh of this fineness lies up to about 0.02 mm inside the true surface

POSES: list[dict[str, Any]] = [
    {"at_deg": (0.0, 0.0)},
    {"at_deg": (14.0, 0.0)},
    {"at_deg": (25.0, -8.0), "exophthalmometry": 10.0},
    {"at_deg": (-12.0, 6.0), "nose": "low", "exophthalmometry": "prominent"},
    {"at_deg": (9.0, 10.0), "brow": "heavy", "gaze_deg": (15.0, -12.0)},
    {"at_deg": (20.0, -3.0), "at_distance_mm": 33.0, "pd_mm": 71.5, "gaze_deg": (-20.0, 10.0)},
    {"eye": "left"},
    {"eye": "left", "exophthalmometry": "deep-set", "nose": "high"},
]


def printed(optic: str, given: dict[str, Any]) -> dict[str, Any]:
    """The answer as it is printed, and nothing more."""
    text = msgspec.json.encode(fit_request(request(optic, **given), OPTICS, FACES, LIMITS))
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def capsule_mesh(row: list[float], matrix: np.ndarray) -> trimesh.Trimesh:
    """A capsule in the instrument frame: the hull of two finely cut spheres."""
    ends = []
    for centre, radius in ((row[0:3], row[3]), (row[4:7], row[7])):
        ends.append(trimesh.creation.icosphere(subdivisions=4, radius=radius).vertices + centre)
    hull = trimesh.convex.convex_hull(np.vstack(ends))
    hull.apply_transform(matrix)
    return hull


@cache
def optic_mesh(profile: tuple[tuple[float, float], ...]) -> tuple[trimesh.Trimesh, cKDTree]:
    """The body, and a tree of points over its surface."""
    outline = [(0.0, profile[0][0]), *((radius, z) for z, radius in profile), (0.0, profile[-1][0])]
    mesh = trimesh.creation.revolve(np.array(outline), sections=SECTIONS)
    assert mesh.is_watertight
    assert mesh.is_convex
    return mesh, cKDTree(mesh.subdivide_to_size(3.0).vertices)


def mesh_of(answer: dict[str, Any]) -> tuple[trimesh.Trimesh, cKDTree]:
    return optic_mesh(tuple((z, radius) for z, radius in answer["optic_profile"]))


def mesh_clearance(answer: dict[str, Any]) -> float:
    """Least distance between the capsules' meshes and the optic's.

    From the nearest of many points, going to and fro between the two surfaces' nearest points: for two convex
    bodies that ends at their distance.
    """
    mesh, near = mesh_of(answer)
    matrix = np.array(answer["head_to_instrument"])
    capsules = [capsule_mesh(row, matrix) for row in answer["capsules"]]
    points = [trimesh.sample.sample_surface(capsule, 2000, seed=5)[0] for capsule in capsules]
    rough = [near.query(some)[0] for some in points]
    least = min(float(distances.min()) for distances in rough)
    for capsule, some, distances in zip(capsules, points, rough, strict=True):
        if distances.min() > least + 6.0:
            continue  # the sampled points err by a few millimetres at most
        point, before, gap = some[[int(distances.argmin())]], np.inf, np.inf
        while gap == np.inf or before - gap > 1e-5:
            before = gap
            on_optic = trimesh.proximity.closest_point_naive(mesh, point)[0]
            point, there, _ = trimesh.proximity.closest_point_naive(capsule, on_optic)
            gap = float(there[0])
        least = min(least, gap)
    return least


def inside_any(answer: dict[str, Any]) -> bool:
    """Whether any capsule point is within the optic: behind every face plane of its convex mesh."""
    mesh, matrix = mesh_of(answer)[0], np.array(answer["head_to_instrument"])
    normals, origins = mesh.face_normals, mesh.triangles_center
    offsets = np.einsum("ij,ij->i", normals, origins)
    for row in answer["capsules"]:
        capsule = capsule_mesh(row, matrix)
        points = np.vstack([capsule.vertices, trimesh.sample.sample_surface(capsule, 3000, seed=5)[0]])
        for part in np.array_split(points, 8):
            if ((part @ normals.T - offsets).max(axis=1) < 0.0).any():
                return True
    return False


@pytest.mark.parametrize("optic", [optic.id for optic in OPTICS])
@pytest.mark.parametrize("given", POSES, ids=lambda given: "-".join(map(str, given.values())))
def test_clearance_is_the_meshes_distance(optic: str, given: dict[str, Any]) -> None:
    answer = printed(optic, given)
    if answer["clearance_mm"] is None:
        pytest.fail("every pose here is meant to be given or feasible")
    if answer["clearance_mm"] > 0.0:
        assert mesh_clearance(answer) == pytest.approx(answer["clearance_mm"], abs=ALLOWED_MM)
    else:
        assert inside_any(answer), "a negative clearance means that the bodies overlap"


def test_overlap_is_told_from_a_gap() -> None:
    """Same face, brought nearer: the meshes overlap exactly where the printed clearance falls below zero."""
    seen = set()
    for distance in (4.0, 7.0, 10.0, 13.0, 16.0, 20.0):
        answer = printed("ultrawide", {"at_deg": (3.0, 0.0), "at_distance_mm": distance})
        if abs(answer["clearance_mm"]) > ALLOWED_MM:
            assert inside_any(answer) == (answer["clearance_mm"] < 0.0)
            seen.add(answer["clearance_mm"] < 0.0)
    assert seen == {True, False}
