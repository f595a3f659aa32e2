"""Clearance: the least signed distance between rounded capsules and a convex body of revolution.

A capsule whose radius changes evenly is the union of balls along its axis, so its distance from the body is
the least over t of d(p(t)) - r(t), d being the body's signed distance. d is convex in space, the axis is
straight and r is even, so this is a convex problem of one variable: its slope is halved in on, a fixed
number of times. When the solids overlap, the value is minus the deepest ball's depth.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]
HALVINGS = 18  # 60 mm / 2^18 = 0.2 micrometre along the axis


class Body(NamedTuple):
    """The outline as edges in the half plane (distance from the axis, z), from axis to axis; each (K, 1)."""

    rho: Array
    z: Array
    along_rho: Array
    along_z: Array
    length: Array
    out_rho: Array
    out_z: Array


def body_of(profile: list[tuple[float, float]]) -> Body:
    """Edges of the body given by its (z, radius) profile, closed by a flat front and a flat back."""
    z = np.array([profile[0][0], *(p[0] for p in profile), profile[-1][0]])
    rho = np.array([0.0, *(p[1] for p in profile), 0.0])
    step_rho, step_z = np.diff(rho), np.diff(z)
    length = np.hypot(step_rho, step_z)
    along_rho, along_z = step_rho / length, step_z / length
    # Walking from the front of the axis outward and back, the outside is on the side (-dz, drho) turned.
    columns = (rho[:-1], z[:-1], along_rho, along_z, length, along_z, -along_rho)
    return Body(*(c[:, None] for c in columns))


def _distance_and_slope(
    body: Body, rho: Array, z: Array, rho_step: Array, z_step: Array
) -> tuple[Array, Array]:
    """Signed distance of points (M,) from the body, and its rate of change when the point moves by (step)."""
    from_rho, from_z = rho - body.rho, z - body.z
    deepest = (from_rho * body.out_rho + from_z * body.out_z).max(axis=0)
    along = np.minimum(np.maximum(from_rho * body.along_rho + from_z * body.along_z, 0.0), body.length)
    gap_rho = from_rho - along * body.along_rho
    gap_z = from_z - along * body.along_z
    square = gap_rho * gap_rho + gap_z * gap_z
    nearest = square.argmin(axis=0) * rho.size + np.arange(rho.size)
    distance = np.sqrt(square.ravel().take(nearest))
    slope = gap_rho.ravel().take(nearest) * rho_step + gap_z.ravel().take(nearest) * z_step
    slope /= np.where(distance > 0.0, distance, 1.0)
    inside = np.flatnonzero(deepest <= 0.0)
    if inside.size:
        # Within the body the nearest way out is through the face whose plane is least deep.
        face = (from_rho[:, inside] * body.out_rho + from_z[:, inside] * body.out_z).argmax(axis=0)
        distance[inside] = deepest[inside]
        slope[inside] = body.out_rho[face, 0] * rho_step[inside] + body.out_z[face, 0] * z_step[inside]
    return distance, slope


def capsule_clearances(
    body: Body, start: Array, end: Array, r0: Array, r1: Array, halvings: int = HALVINGS
) -> tuple[Array, Array]:
    """Clearance of each capsule (mm), and where along it (0 start, 1 end) it is nearest.

    start, end: (M, 3) mm in the instrument frame; r0, r1: (M,) mm. The value is too great by at most
    (length of the axis + change of radius) / 2^(halvings + 1).
    """
    x0, y0, z0 = start[:, 0], start[:, 1], start[:, 2]
    dx, dy, dz = end[:, 0] - x0, end[:, 1] - y0, end[:, 2] - z0
    widening = r1 - r0

    def at(t: Array) -> tuple[Array, Array]:
        x, y = x0 + t * dx, y0 + t * dy
        rho = np.hypot(x, y)
        rho_step = (x * dx + y * dy) / np.where(rho > 0.0, rho, 1.0)
        distance, slope = _distance_and_slope(body, rho, z0 + t * dz, rho_step, dz)
        return distance - (r0 + t * widening), slope - widening

    t = np.full(r0.shape, 0.5)
    width = 0.25
    for _ in range(halvings):
        t = np.where(at(t)[1] > 0.0, t - width, t + width)
        width *= 0.5
    # The halving nears an end without reaching it; a step this small is beyond the model's meaning.
    t = np.where(t < 2.0 * width, 0.0, np.where(t > 1.0 - 2.0 * width, 1.0, t))
    return at(t)[0], t


def clearances_at(body: Body, capsules: Array, rotation: Array, translation: Array) -> tuple[Array, Array]:
    """Clearance of every capsule at every pose.

    capsules: (C, 8) or (N, C, 8) in the head frame; rotation (N, 3, 3), translation (N, 3). Returns two (N,
    C).
    """
    many = np.broadcast_to(capsules, (rotation.shape[0], *capsules.shape[-2:]))
    start = np.einsum("nij,ncj->nci", rotation, many[..., 0:3]) + translation[:, None, :]
    end = np.einsum("nij,ncj->nci", rotation, many[..., 4:7]) + translation[:, None, :]
    clearance, t = capsule_clearances(
        body, start.reshape(-1, 3), end.reshape(-1, 3), many[..., 3].reshape(-1), many[..., 7].reshape(-1)
    )
    return clearance.reshape(many.shape[:2]), t.reshape(many.shape[:2])
