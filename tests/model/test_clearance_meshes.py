"""Clearance against meshes of both bodies (trimesh), built from nothing but the printed JSON."""

import json
from typing import Any

import msgspec
import numpy as np
import pytest
import trimesh
from chinrest.model.answer import fit_request
from model_demo import FACES, LIMITS, OPTICS, request
from scipy.spatial import cKDTree

SECTIONS = 256
FINE_MM = 0.6
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


def capsule_points(row: list[float], matrix: np.ndarray) -> np.ndarray:
    """A dense set of points on a capsule's surface, in the instrument frame: the hull of two spheres."""
    ends = []
    for centre, radius in ((row[0:3], row[3]), (row[4:7], row[7])):
        ball = trimesh.creation.icosphere(subdivisions=4, radius=radius)
        ends.append(ball.vertices + centre)
    hull = trimesh.convex.convex_hull(np.vstack(ends))
    return np.asarray(trimesh.transform_points(hull.subdivide_to_size(FINE_MM).vertices, matrix))


def optic_mesh(profile: list[list[float]]) -> trimesh.Trimesh:
    outline = [(0.0, profile[0][0]), *((radius, z) for z, radius in profile), (0.0, profile[-1][0])]
    mesh = trimesh.creation.revolve(np.array(outline), sections=SECTIONS)
    assert mesh.is_watertight
    assert mesh.is_convex
    return mesh


def mesh_clearance(answer: dict[str, Any]) -> float:
    """Least distance from the capsules' points to the optic's mesh."""
    mesh = optic_mesh(answer["optic_profile"])
    near = cKDTree(mesh.subdivide_to_size(3.0).vertices)
    matrix = np.array(answer["head_to_instrument"])
    least = np.inf
    for row in answer["capsules"]:
        points = capsule_points(row, matrix)
        rough = near.query(points)[0]
        some = points[np.argsort(rough)[:60]]
        least = min(least, float(trimesh.proximity.closest_point_naive(mesh, some)[1].min()))
    return least


def inside_any(answer: dict[str, Any]) -> bool:
    """Whether any capsule point is within the optic: behind every face plane of its convex mesh."""
    mesh, matrix = optic_mesh(answer["optic_profile"]), np.array(answer["head_to_instrument"])
    normals, origins = mesh.face_normals, mesh.triangles_center
    offsets = np.einsum("ij,ij->i", normals, origins)
    for row in answer["capsules"]:
        for part in np.array_split(capsule_points(row, matrix), 8):
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
