"""Poses: Fick rotations of the head, where the eye then points in it, and the way from head to instrument.

Signs: yaw + turns the face toward the fellow eye's side, pitch + lifts the chin. R = Ry(yaw) Rx(-pitch)
carries directions from the head frame to the instrument frame (both: x nasal, y up, z from the patient's
face outward).
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from .eye import Eye, entrance_pupil_mm

Array = NDArray[np.floating[Any]]


def head_rotation(yaw_deg: Array | float, pitch_deg: Array | float) -> Array:
    """Rotation matrices, shape (..., 3, 3)."""
    yaw, pitch = np.radians(yaw_deg), np.radians(pitch_deg)
    cy, sy, cp, sp = np.cos(yaw), np.sin(yaw), np.cos(pitch), np.sin(pitch)
    matrix = np.empty((*np.broadcast(yaw, pitch).shape, 3, 3))
    matrix[..., 0, 0] = cy
    matrix[..., 0, 1] = -sy * sp
    matrix[..., 0, 2] = sy * cp
    matrix[..., 1, 0] = 0.0
    matrix[..., 1, 1] = cp
    matrix[..., 1, 2] = sp
    matrix[..., 2, 0] = -sy
    matrix[..., 2, 1] = -cy * sp
    matrix[..., 2, 2] = cy * cp
    return matrix


def gaze_direction(h_deg: float, v_deg: float) -> Array:
    """Unit vector of a gaze (h nasal+, v up+), shape (3,)."""
    h, v = np.radians(h_deg), np.radians(v_deg)
    return np.array([np.sin(h) * np.cos(v), np.sin(v), np.cos(h) * np.cos(v)])


def eye_in_head_deg(rotation: Array, gaze_deg: tuple[float, float]) -> tuple[Array, Array]:
    """Where the eye points in its head (h nasal+, v up+) for a gaze given from the instrument's axis."""
    # rotation^T applied to the gaze: sum over the instrument's axes.
    direction = np.einsum("...ij,i->...j", rotation, gaze_direction(*gaze_deg))
    h = np.degrees(np.arctan2(direction[..., 0], direction[..., 2]))
    v = np.degrees(np.arcsin(np.clip(direction[..., 1], -1.0, 1.0)))
    return h, v


def eye_turn_deg(yaw_deg: Array, pitch_deg: Array, gaze_deg: tuple[float, float]) -> Array:
    """Whole angle between the eye and straight ahead in the head: the great circle from (yaw, pitch) to the
    gaze."""
    yaw, pitch = np.radians(yaw_deg), np.radians(pitch_deg)
    h, v = np.radians(gaze_deg[0]), np.radians(gaze_deg[1])
    # Haversine: exact near zero, where the arc cosine loses half its digits.
    haversine = np.sin((pitch - v) / 2.0) ** 2 + np.cos(pitch) * np.cos(v) * np.sin((yaw - h) / 2.0) ** 2
    return np.asarray(np.degrees(2.0 * np.arcsin(np.sqrt(np.minimum(1.0, haversine)))))


def head_to_instrument(
    eye: Eye, yaw_deg: Array, pitch_deg: Array, working_distance_mm: float, gaze_deg: tuple[float, float]
) -> tuple[Array, Array]:
    """Rotation (..., 3, 3) and translation (..., 3), mm: p_instrument = R p_head + t.

    The entrance pupil is on the axis, its depth and the working distance before the plane of the front rim;
    it moves in the head as the eye turns.
    """
    rotation = head_rotation(yaw_deg, pitch_deg)
    h, v = eye_in_head_deg(rotation, gaze_deg)
    translation = -np.einsum("...ij,...j->...i", rotation, entrance_pupil_mm(eye, h, v))
    translation[..., 2] -= working_distance_mm + eye.pupil_depth_mm
    return rotation, translation


def matrix4(rotation: Array, translation: Array) -> list[list[float]]:
    """One pose as a 4 x 4 matrix."""
    full = np.eye(4)
    full[:3, :3] = rotation
    full[:3, 3] = translation
    return [[float(v) for v in row] for row in full]
