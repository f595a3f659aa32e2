"""An outside light for the fellow eye: where it hangs, and whether nose, face or instrument would hide it."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .clearance import Body, capsule_clearances
from .eye import Eye, entrance_pupil_mm
from .fit import LightRefusal

Array = NDArray[np.floating[Any]]
FARTHEST_DEG = 60.0
"""Beyond this a target plane straight before the face makes no sense: the offset runs away."""
NOSE = frozenset({"nasal_root", "bridge", "tip", "nasal_flank", "glabella"})


def offset_cm(h_deg: float, v_deg: float, target_cm: float, right_eye: bool) -> tuple[float, float]:
    """[right, up] as the patient sees it, from the point straight before the fellow eye, at the target's
    distance.

    The fellow eye makes the same rotation as the imaged eye. For a right imaged eye nasal is the patient's
    left.
    """
    h, v = np.radians(h_deg), np.radians(v_deg)
    nasal, up = target_cm * np.tan(h), target_cm * np.tan(v) / np.cos(h)
    # Adding zero turns a minus zero into a plain one.
    return (float(-nasal if right_eye else nasal) + 0.0, float(up) + 0.0)


def sight_line_mm(
    eye: Eye, pd_mm: float, h_deg: float, v_deg: float, target_cm: float
) -> tuple[Array, Array]:
    """The fellow eye's line of sight in the head frame, from its entrance pupil to the light; two points, mm.

    The fellow eye is the mirror image about the mid-plane, pd/2 to the nasal side; its own nasal side is -x.
    """
    own = entrance_pupil_mm(eye, -h_deg, v_deg)
    start = np.array([pd_mm - own[0], own[1], own[2]])
    h, v = np.radians(h_deg), np.radians(v_deg)
    target = 10.0 * target_cm * np.array([np.tan(h), np.tan(v) / np.cos(h), 1.0])
    return start, np.array([pd_mm, 0.0, 0.0]) + target


def gap_to_line_mm(capsules: Array, start: Array, end: Array) -> Array:
    """Least distance from each capsule's surface to a straight piece of line, mm; capsules (C, 8).

    The distance between two straight pieces, less the larger radius where it changes: the careful side by
    less than the difference of the two radii.
    """
    axis, line = capsules[:, 4:7] - capsules[:, 0:3], end - start
    between = capsules[:, 0:3] - start
    a, b, c = (axis * axis).sum(1), axis @ line, line @ line
    d, e = (axis * between).sum(1), between @ line
    parallel = a * c - b * b
    safe = np.where(parallel > 1e-12, parallel, 1.0)
    s = np.clip(np.where(parallel > 1e-12, (b * e - c * d) / safe, 0.0), 0.0, 1.0)
    t = np.clip((b * s + e) / c, 0.0, 1.0)
    s = np.clip((b * t - d) / np.where(a > 0.0, a, 1.0), 0.0, 1.0)
    gap = between + s[:, None] * axis - t[:, None] * line
    return np.asarray(np.linalg.norm(gap, axis=1) - np.maximum(capsules[:, 3], capsules[:, 7]))


def refusal(
    capsules: Array,
    names: Sequence[tuple[str, str]],
    body: Body,
    rotation: Array,
    translation: Array,
    line: tuple[Array, Array],
    pd_mm: float,
    sight_radius_mm: float,
    eye_in_head_deg: tuple[float, float],
) -> LightRefusal | None:
    """Why the light would be hidden at this pose, or None. The face is taken as symmetric about its mid-
    plane."""
    if max(abs(eye_in_head_deg[0]), abs(eye_in_head_deg[1])) > FARTHEST_DEG:
        return LightRefusal(code="too_far_aside", sentence="The light would hang too far aside.")
    start, end = line
    mirrored = capsules.copy()
    mirrored[:, 0], mirrored[:, 4] = pd_mm - capsules[:, 0], pd_mm - capsules[:, 4]
    for side in (capsules, mirrored):
        hidden = np.flatnonzero(gap_to_line_mm(side, start, end) < sight_radius_mm)
        if hidden.size:
            if NOSE.issuperset(names[int(hidden[0])]):
                return LightRefusal(code="hidden_by_nose", sentence="The nose would hide the light.")
            return LightRefusal(code="hidden_by_face", sentence="Brow or cheek would hide the light.")
    ends = np.stack([start, end]) @ rotation.T + translation
    radius = np.array([sight_radius_mm])
    if capsule_clearances(body, ends[:1], ends[1:], radius, radius)[0][0] < 0.0:
        return LightRefusal(code="hidden_by_instrument", sentence="The instrument would hide the light.")
    return None
